/* From the finding of a servo's horn to arm, tooth and sub-trim. */
#include "job_teeth.h"

#include "arithmetic/direction.h"
#include "base/text_end.h"
#include "result/arm_uncertainty.h"
#include "result/measure_json.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- The question ------------------------------------------------------------------------- */

/* The reading of a square station, and the horn's arms where a photo showed them: real horns are
 * moulded unevenly. */
struct horn_read {
    double used_deg; /* the arm the finding is about; NAN where no reading is kept */
    struct vision_result result;
};

static bool take_horn(void *context, const struct job_reading_row *row)
{
    struct horn_read *read = context;
    read->used_deg = row->value;
    (void)measure_from_record(row->record, &read->result); /* no arm in it: read by eye */
    return false;                                          /* a square station has one reading */
}

/* false when it cannot be told which of the arms was measured: a tooth for another one would be
 * wrong by the angle between them. */
static bool take_arms(const struct horn_read *read, struct advice_question *q)
{
    const struct vision_result *result = &read->result;
    q->used = measure_arm_read(result, read->used_deg);
    if (q->used < 0 || result->arm_count > SPLINE_MAX_ARMS)
        return false;
    q->arm_count = result->arm_count;
    for (int i = 0; i < q->arm_count; i++) {
        const struct vision_arm *arm = &result->arms[i];
        q->arms[i] = (struct advice_arm){
            .name = "?", .angle_deg = arm->angle_deg, .u_deg = arm_normal_u_deg(arm)};
        if (*arm->name)
            memcpy(q->arms[i].name, arm->name, sizeof q->arms[i].name);
    }
    return true;
}

/* What is asked where a finding counts. false when the station's hardware or the finding does not
 * make a question. */
static bool make_question(struct job *job, const struct job_view *view, const struct job_event *e,
                          struct advice_question *q)
{
    const struct plan_station *s = &view->plan.stations[e->station];
    struct horn_read read = {.used_deg = NAN};
    *q = advice_question_default();
    q->teeth = (int)plan_fact_number(s, "teeth", 0);
    if (s->kind != PLAN_SQUARE || q->teeth < 1)
        return false;
    if (!job_readings(job, e->entry, take_horn, &read) || isnan(read.used_deg))
        return false;
    if (!read.result.arm_count) {
        q->arms[0] = (struct advice_arm){"A", read.used_deg, e->u, false};
        q->arm_count = 1;
    } else if (!take_arms(&read, q)) {
        return false;
    }
    /* As it was found: its record is rounded. */
    q->arms[q->used].angle_deg = read.used_deg;
    q->arms[q->used].u_deg = e->coverage * e->u / uncertainty_normal_coverage();
    if (q->arm_count == 1)
        advice_assume_even_arms(q, (int)plan_fact_number(s, "arms", 1));
    q->wanted_deg = direction_square(q->arms[q->used].angle_deg);
    q->tolerance_deg = s->tolerance;
    double scale = plan_fact_number(s, "degrees-per-percent", 0);
    if (scale != 0) {
        q->scale.known = true;
        q->scale.deg_per_percent = scale;
        q->scale.u = (struct uncertainty){0.02 * fabs(scale), INFINITY}; /* read to a few percent */
    }
    return true;
}

/* ---- What was ordered before ---------------------------------------------------------------- */

/* Since when the orders were made from what is known now: the newest entry at the station that
 * changed its hardware, or changed the plan. 0 when there is none. */
static int64_t known_since(struct job *job, const char *key)
{
    struct job_log_row row;
    int64_t since = 0;
    struct job_log *log = job_log_open(job, NULL);
    while (log && job_log_next(log, &row))
        if (!row.withdrawn_by && (strcmp(row.kind, "plan") == 0 ||
                                  (strcmp(row.kind, "hardware") == 0 && strcmp(row.key, key) == 0)))
            since = row.id;
    job_log_close(log);
    return since;
}

/* Sub-trim that the findings before this one ordered: its sum, and of the one right before it what
 * was to remain, where that left the horn on its tooth. */
struct ordered {
    double sum_percent, last_percent;
    double remains_deg, expanded_deg; /* after last_percent */
    int64_t last;                     /* its entry; 0: there is none */
};

static bool ordered_by(struct job *job, const struct job_view *view, const struct job_event *e,
                       struct ordered *out)
{
    struct advice_question q;
    struct advice advice;
    if (!make_question(job, view, e, &q) || !advice_make(&q, &advice))
        return false;
    const struct advice_option *best = &advice.options[0];
    bool trims = best->trim.kind == ADVICE_TRIM_USE;
    bool stays = trims && advice_is_leave(&q, best);
    if (trims)
        out->sum_percent += best->trim.percent;
    out->last = stays ? e->entry : 0;
    out->last_percent = best->trim.percent;
    out->remains_deg = best->trim.remains_deg;
    out->expanded_deg = best->trim.expanded_deg;
    advice_clear(&advice);
    return trims;
}

static struct ordered ordered_before(struct job *job, const struct job_view *view,
                                     const struct job_event *now)
{
    struct ordered ordered = {.last = 0};
    const struct plan_station *s = &view->plan.stations[now->station];
    int64_t since = known_since(job, s->key);
    for (const struct job_event *e = view->events; e < now; e++) {
        if (e->station != now->station || e->entry <= since)
            continue;
        ordered.last = 0; /* what came between may have moved it */
        double off = job_difference(s->kind, e->value, s->target);
        if (e->kind == JOB_MEASURED && e->sure &&
            decision_make(off, e->coverage * e->u, s->tolerance) == DECISION_REJECT)
            ordered_by(job, view, e, &ordered);
    }
    return ordered;
}

/* What to see to before more sub-trim is set: that what was ordered did what it should, and that
 * all of it together is not too much. "" where there is nothing; NULL without memory. */
static char *before_words(struct job *job, const struct job_view *view, const struct job_event *now,
                          const struct advice_question *q, double percent)
{
    struct ordered ordered = ordered_before(job, view, now);
    double off = job_difference(PLAN_SQUARE, now->value, 0);
    double both = hypot(ordered.expanded_deg, now->coverage * now->u);
    char *text = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    if (!to)
        return NULL;
    if (ordered.last && fabs(off - ordered.remains_deg) > both)
        fprintf(to,
                "Entry %lld ordered %+g %%, which was to leave %.1f degrees and not %.1f. If it "
                "was set, the arm does not follow as degrees-per-percent says: see that the radio "
                "took it, and learn the scale and its sign anew (\"armsquare trim-scale\") before "
                "you set more. ",
                (long long)ordered.last, ordered.last_percent, fabs(ordered.remains_deg),
                fabs(off));
    if (ordered.sum_percent != 0 && advice_over_limit(q, ordered.sum_percent + percent))
        fprintf(to,
                "This job ordered %+g %% here before; with what follows it would be %+g %%, more "
                "than %g %%. If that was set, check that the servo is centred, or find another "
                "tooth, arm or horn. ",
                ordered.sum_percent, ordered.sum_percent + percent, q->limit_percent);
    return text_end(to, &text);
}

/* ---- The order ---------------------------------------------------------------------------- */

/* What is told of sub-trim where it is not ordered: it would do away with what remains, or not. ""
 * in out where there is nothing to explain. */
static void trim_besides(const struct advice_question *q, const struct advice_option *option,
                         struct job_advice *out)
{
    char told[ADVICE_WORDS];
    enum advice_trim_kind kind = option->trim.kind;
    if (kind == ADVICE_TRIM_NO_SCALE || kind == ADVICE_TRIM_OVER_LIMIT ||
        kind == ADVICE_TRIM_TOO_FINE)
        snprintf(out->besides, sizeof out->besides, "%s%s", advice_trim_action(q, option, told),
                 kind == ADVICE_TRIM_NO_SCALE
                     ? " For percents, enter degrees-per-percent as hardware here; \"armsquare "
                       "trim-scale\" finds it."
                     : "");
}

char *job_teeth_words(struct job *job, const struct job_view *view, int station,
                      struct job_advice *out)
{
    const struct job_event *e = &view->events[view->standing[station].latest];
    struct advice_question q = advice_question_default();
    struct advice advice;
    char action[ADVICE_WORDS], trim[ADVICE_WORDS] = "", other[ADVICE_WORDS] = "", *before = NULL,
                               *text = NULL;
    int arms = (int)plan_fact_number(&view->plan.stations[station], "arms", 0);
    if (!make_question(job, view, e, &q) || !advice_make(&q, &advice))
        return NULL;
    const struct advice_option *best = &advice.options[0];
    advice_action(&q, &advice, best, action);
    out->remains = best->at.remains_deg;
    out->expanded = best->assumed ? NAN : best->expanded_deg;
    if (best->trim.kind == ADVICE_TRIM_USE) {
        advice_trim_change(best, trim);
        out->remains = best->trim.remains_deg;
        out->expanded = best->trim.expanded_deg;
        before = before_words(job, view, e, &q, best->trim.percent);
    }
    trim_besides(&q, best, out);
    advice_clear(&advice);
    if (arms > 0 && arms != q.arm_count)
        snprintf(other, sizeof other,
                 "The photo shows %d arms, but arms=%d is entered: only those in the photo were "
                 "weighed. If this is the horn, put right what is entered. ",
                 q.arm_count, arms);
    if (asprintf(&text, "%s%s%s%s%s", other, before ? before : "", action, *trim ? " " : "", trim) <
        0)
        text = NULL;
    free(before);
    return text;
}
