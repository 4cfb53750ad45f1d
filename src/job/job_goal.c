#include "job_goal.h"

#include "arithmetic/decision.h"
#include "job_words.h"
#include "result/sharpen.h"

#include <stdio.h>

static double off_of(const struct job_goal_question *q)
{
    return job_difference(q->station->kind, q->finding->value, q->station->target);
}

static double expanded_of(const struct job_goal_question *q)
{
    return q->finding->coverage * q->finding->u;
}

/* What to tell of the photo in place of a verdict; NULL: the verdict. */
static const char *role_of(const struct job_goal_question *q)
{
    static const char *const roles[PLAN_KIND_COUNT][3] = {
        [PLAN_PARALLEL] = {"The first arm, which the other is compared with."},
        [PLAN_CENTRED] = {"One end of the travel.", "The other end of the travel."},
    };
    const struct plan_station *s = q->station;
    if (q->reading < q->readings - 1)
        return roles[s->kind][q->reading];
    if (!q->finding->sure && (q->photos > 1 || q->balls_px))
        return "A photo of this station was unsure, so nothing is decided.";
    if (s->kind == PLAN_CENTRED &&
        decision_make(off_of(q), expanded_of(q), s->tolerance) == DECISION_REJECT)
        return "Neutral, not in the middle of both ends. The job says what to do.";
    return NULL;
}

/* What would tell, where it cannot be told: of one photo what "measure" says of it. */
static void say_undecided(const struct job_goal_question *q, char out[VERDICT_UNDECIDED])
{
    const struct plan_station *s = q->station;
    struct verdict_asked asked = {s->tolerance, s->kind == PLAN_ANGLE, s->target};
    struct verdict verdict;
    snprintf(out, VERDICT_UNDECIDED, "The job says what would tell.");
    if (q->readings > 1)
        return;
    verdict_make(&q->seen->arms[q->arm], 1, false, q->seen->obliquity_deg, sharpen_closer(q->seen),
                 false, &asked, &verdict);
    if (verdict.order == ORDER_HALF_WAY)
        snprintf(out, VERDICT_UNDECIDED, JOB_BRING_NEAR);
    else
        verdict_undecided(&verdict, out);
}

void job_goal_make(const struct job_goal_question *q, struct job_goal *out)
{
    const struct plan_station *s = q->station;
    const char *zero = job_zero_words(s->kind), *role = role_of(q);
    snprintf(out->from, sizeof out->from, "the wanted %g°", s->target);
    say_undecided(q, out->undecided);
    out->goal = (struct annotate_goal){
        .arm = q->arm,
        .role = role,
        .judged = !role,
        .from = *zero ? zero : out->from,
        .off_deg = off_of(q),
        .expanded_deg = expanded_of(q),
        .tolerance_deg = s->tolerance,
        .undecided = out->undecided,
        .balls_px = q->balls_px,
        .any_square = job_kind_any_square(s->kind),
    };
}
