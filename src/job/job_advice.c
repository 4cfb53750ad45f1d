#include "job_advice.h"

#include "arithmetic/decision.h"
#include "arithmetic/plus_minus.h"
#include "arithmetic/thread.h"
#include "base/shell_word.h"
#include "base/text_end.h"
#include "job_drive.h"
#include "job_teeth.h"
#include "job_undecided.h"
#include "linkage/linkage_cure.h"
#include "linkage/linkage_words.h"
#include "result/order.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- Turns -------------------------------------------------------------------------------- */

/* What one link turns at the station: a crank stands on its axis, and a plate or surface on its
 * own. NULL where it is not one link alone. */
static const char *moved_by_link(const struct job_view *view, int station)
{
    static const char *const moved[PLAN_KIND_COUNT] = {
        [PLAN_SQUARE] = "the arm", [PLAN_PARALLEL] = "the second arm", [PLAN_LEVEL] = "the edge"};
    return job_has_one_link(view, station) ? moved[view->plan.stations[station].kind] : NULL;
}

/* The nearest turns of a station's link, and what they leave. */
struct link_turns {
    struct thread_turns turns;
    struct quantity remains; /* deg or mm, signed as the finding */
};

/* The longer link of a pair is turned in: its change is minus what it is too long. */
static bool find_pair_turns(const struct thread_ends *ends, struct quantity off,
                            struct link_turns *out)
{
    bool found = thread_turns_for(ends, -off.value, &out->turns);
    /* what remains was wanted of the change, not of the pair */
    out->remains = (struct quantity){-out->turns.remaining_mm, off.u};
    return found;
}

/* As "linkage turns" has it, for a link square to its arm. */
static bool find_arm_turns(const struct plan_station *s, const struct thread_ends *ends,
                           struct quantity off, struct link_turns *out)
{
    const struct linkage_arm arm = {.arm_mm = {plan_fact_number(s, "crank-arm-mm", 0), 0},
                                    .arm_to_link_deg = {90, 0},
                                    .ends = *ends};
    struct linkage_cure cure;
    if (!linkage_cure(&arm, off, &cure) || !cure.turnable)
        return false;
    *out = (struct link_turns){cure.turns, cure.remains_deg};
    return true;
}

/* false where thread or arm are not known, or the station has no link. */
static bool find_turns(const struct job_view *view, int station, struct link_turns *out)
{
    const struct plan_station *s = &view->plan.stations[station];
    const struct job_standing *at = &view->standing[station];
    const struct job_event *e = &view->events[at->latest];
    const char *thread = plan_fact(s, "thread");
    struct thread_ends ends = {.step_turns = plan_fact_number(s, "step-turns", -1)};
    struct quantity off = {at->off, e->coverage * e->u / uncertainty_normal_coverage()};
    *out = (struct link_turns){.remains = off};
    if (!thread || !thread_pitch(thread, &ends.pitch_mm))
        return false;
    return s->kind == PLAN_PAIR
               ? find_pair_turns(&ends, off, out)
               : moved_by_link(view, station) != NULL && find_arm_turns(s, &ends, off, out);
}

/* The order alone. NULL without memory. */
static char *say_turns(const struct job_view *view, int station, const struct link_turns *link)
{
    const struct thread_turns *turns = &link->turns;
    bool pair = view->plan.stations[station].kind == PLAN_PAIR;
    char say[LINKAGE_SENTENCE_SIZE], *text = NULL;
    int made;
    if (thread_turns_none(turns)) {
        made = asprintf(&text,
                        "Turn no link: the smallest turn that fits, %.2f mm, brings it no nearer.",
                        turns->smallest_mm);
    } else if (pair) {
        linkage_say_turns(&(struct thread_ends){0}, turns, say, sizeof say);
        made = asprintf(&text, "First link: %s.%s", say, linkage_many_turns(turns));
    } else {
        thread_say_turns(turns->turns, say, sizeof say);
        made = asprintf(&text,
                        "Turn the link end by %s (%.2f mm), the way that moves %s %s as seen in "
                        "the photo.%s",
                        say, fabs(turns->change_mm), moved_by_link(view, station),
                        order_cure(view->standing[station].off), linkage_many_turns(turns));
    }
    return made < 0 ? NULL : text;
}

#define OTHER_THREADS "a finer thread, or a far end of another pitch, comes nearer"

/* Where what remains is not surely within the tolerance: no turn that fits is better, so it is told
 * before anybody turns. */
static void turns_besides(const struct plan_station *s, struct quantity remains,
                          enum job_script script, struct job_advice *out)
{
    enum decision decision = decision_make(remains.value, quantity_expanded(remains), s->tolerance);
    char *asked = job_given_words(s->kind, s->tolerance, false, script);
    if (decision != DECISION_ACCEPT && asked)
        snprintf(out->besides, sizeof out->besides,
                 "That %s more than the %s allowed, and no turn that fits leaves less: allow more "
                 "in the plan, or fit other link ends (" OTHER_THREADS "%s).",
                 decision == DECISION_REJECT ? "is" : "may be", asked,
                 plan_fact_number(s, "step-turns", 0) > 0.5 ? "; so do half turns, step-turns=0.5"
                                                            : "");
    free(asked);
}

static char *turns_words(const struct job_view *view, int station, enum job_script script,
                         struct job_advice *out)
{
    struct link_turns link;
    if (!find_turns(view, station, &link))
        return NULL;
    out->remains = link.remains.value;
    out->expanded = quantity_expanded(link.remains);
    turns_besides(&view->plan.stations[station], link.remains, script, out);
    return say_turns(view, station, &link);
}

/* ---- Both --------------------------------------------------------------------------------- */

/* What to enter for an order in teeth or turns: a servo's horn on a spline cannot be turned by so
 * many degrees, nor a crank on its axis. "" where there is nothing; NULL without memory. */
static char *enter_words(struct job *job, const struct job_view *view, int station,
                         enum job_script script)
{
    static const struct to_enter {
        const char *where, *facts, *says;
    } horn = {"If it sits on a spline", "teeth=N", "which arm and tooth"},
      pair = {"Where their ends turn on a thread", "thread=M2", "how many turns"},
      link = {"It is moved by its link", "crank-arm-mm=MM thread=M2", "how many turns"};
    const struct plan_station *s = &view->plan.stations[station];
    bool servo = plan_is_servo(&view->plan, station), thread = plan_fact(s, "thread");
    const struct to_enter *enter =
        servo && !plan_fact(s, "teeth")                                             ? &horn
        : s->kind == PLAN_PAIR && !thread                                           ? &pair
        : moved_by_link(view, station) && !(thread && plan_fact(s, "crank-arm-mm")) ? &link
                                                                                    : NULL;
    char *text = NULL;
    if (view->standing[station].state != JOB_ADJUST || !enter)
        return strdup("");
    char *word = script == JOB_TEXT ? shell_word(job_path(job)) : NULL;
    int made = word ? asprintf(&text, " %s: \"armsquare job hardware %s %s %s\" lets this say %s.",
                               enter->where, word, s->key, enter->facts, enter->says)
                    : asprintf(&text, " %s: enter %s as hardware here, and this says %s.",
                               enter->where, enter->facts, enter->says);
    free(word);
    return made < 0 ? NULL : text;
}

/* What is told without teeth and turns. */
static char *plain_words(struct job *job, const struct job_view *view, int station,
                         enum job_script script)
{
    const struct job_standing *at = &view->standing[station];
    bool off = at->state == JOB_ADJUST && view->events[at->latest].kind == JOB_MEASURED;
    char *action = off ? job_drive_words(view, station, script)
                       : job_sentence(job_action_words(view, station));
    char *enter = enter_words(job, view, station, script), *text = NULL;
    if (!action || !enter || asprintf(&text, "%s%s", action, enter) < 0)
        text = NULL;
    free(action);
    free(enter);
    return text;
}

/* How to bring a station nearer of which it cannot be told whether it is good: as where it is out
 * of tolerance. "" where it is not surely off; NULL without memory. */
static char *nearer_words(struct job *job, const struct job_view *view, int station,
                          enum job_script script)
{
    const struct job_standing *at = &view->standing[station];
    const struct job_event *e = &view->events[at->latest];
    struct job_advice found = {.action = NULL};
    struct link_turns link;
    char *text = NULL;
    if (!e->sure || fabs(at->off) <= e->coverage * e->u)
        return strdup("");
    found.action = job_teeth_words(job, view, station, &found);
    if (!found.action && find_turns(view, station, &link)) {
        found.action = say_turns(view, station, &link);
        if (thread_turns_none(&link.turns))
            snprintf(found.besides, sizeof found.besides, "Of other link ends " OTHER_THREADS ".");
    }
    if (!found.action)
        return job_drive_words(view, station, script);
    if (asprintf(&text, "%s%s%s", found.action, *found.besides ? " " : "", found.besides) < 0)
        text = NULL;
    free(found.action);
    return text;
}

static char *undecided_words(struct job *job, const struct job_view *view, int station,
                             enum job_script script)
{
    char *nearer = nearer_words(job, view, station, script);
    char *text = nearer ? job_undecided_words(job, view, station, nearer, script) : NULL;
    free(nearer);
    return text;
}

/* As "measure" and the picture have it. */
static bool is_half_way(const struct job_view *view, int station)
{
    const struct plan_station *s = &view->plan.stations[station];
    const struct job_standing *at = &view->standing[station];
    const struct job_event *e = &view->events[at->latest];
    const struct order_question question = {!e->sure, job_kind_any_square(s->kind), at->off,
                                            e->coverage * e->u, s->tolerance};
    return order_make(&question) == ORDER_HALF_WAY;
}

/* false when out of memory. */
static bool make_advice(struct job *job, const struct job_view *view, int station,
                        enum job_script script, struct job_advice *out)
{
    const struct job_standing *standing = &view->standing[station];
    bool measured = standing->latest >= 0 && view->events[standing->latest].kind == JOB_MEASURED;
    *out = (struct job_advice){.remains = standing->off, .expanded = NAN};
    if (measured) {
        const struct job_event *e = &view->events[standing->latest];
        out->expanded = e->coverage * e->u;
    }
    const bool adjust = standing->state == JOB_ADJUST && measured;
    const bool half_way = adjust && is_half_way(view, station);
    if (adjust && !half_way) {
        out->action = job_teeth_words(job, view, station, out);
        if (!out->action)
            out->action = turns_words(view, station, script, out);
    }
    out->after = out->action != NULL;
    out->known = measured && (out->after || standing->state != JOB_ADJUST);
    if (half_way)
        out->action = strdup("It lies nearly half way between two squares. " JOB_BRING_NEAR);
    else if (standing->state == JOB_CANNOT_TELL)
        out->action = undecided_words(job, view, station, script);
    else if (!out->action)
        out->action = plain_words(job, view, station, script);
    out->action = job_sentence(out->action);
    return out->action != NULL;
}

/* ", the first link longer,": of a pair that is to differ, too long for that. */
static const char *longer_link(const struct plan_station *s, double remains)
{
    if (s->target != 0)
        return remains > 0 ? ", the first link too long," : ", the second link too long,";
    return remains > 0 ? ", the first link longer," : ", the second link longer,";
}

/* "0.1 ± 0.2 degrees clockwise remain."; of an arm that nobody measured, about how much. */
static char *remains_words(const struct plan_station *s, const struct job_advice *advice,
                           enum job_script script)
{
    enum plan_kind kind = s->kind;
    double shown = round(advice->remains * pow(10, plus_minus_decimals(advice->expanded)));
    const char *side = shown == 0            ? ""
                       : kind == PLAN_PAIR   ? longer_link(s, advice->remains)
                       : advice->remains > 0 ? " counter-clockwise"
                                             : " clockwise";
    char *text = NULL;
    bool assumed = isnan(advice->expanded);
    char *size = assumed ? job_value_words(kind, fabs(advice->remains), NAN, false, script)
                         : job_size_words(kind, advice->remains, advice->expanded, script);
    if (size &&
        asprintf(&text, "%s%s%s remain%s.", assumed ? "About " : "", size, side,
                 assumed ? ", if the arms are evenly moulded: measure that arm then" : "") < 0)
        text = NULL;
    free(size);
    return text;
}

char *job_advice_words(struct job *job, const struct job_view *view, int station,
                       enum job_script script)
{
    struct job_advice advice;
    char *text = NULL;
    if (!make_advice(job, view, station, script, &advice))
        return NULL;
    if (!advice.after)
        return advice.action;
    /* What does away with it stands behind what remains, or it would read as done already. */
    char *remains = remains_words(&view->plan.stations[station], &advice, script);
    if (remains && asprintf(&text, "%s %s%s%s", advice.action, remains, *advice.besides ? " " : "",
                            advice.besides) < 0)
        text = NULL;
    free(remains);
    free(advice.action);
    return text;
}

char *job_next_words(struct job *job, const struct job_view *view, int next, enum job_script script)
{
    if (next < 0)
        return strdup("Every station is good. For the first run follow the model maker's "
                      "instructions.");
    const struct plan_station *s = &view->plan.stations[next];
    bool again = view->standing[next].state == JOB_CHECK_AGAIN;
    char *action = job_advice_words(job, view, next, script);
    char *why = job_why_words(job, view, next, script);
    char *noted = again && s->kind == PLAN_CONFIRM ? job_notes_at(job, s->key) : strdup("");
    const char *doing = again || (action && !*action) ? s->doing : "";
    const char *parts[] = {action, why, doing, noted && *noted ? "Noted here:" : "", noted};
    char *text = NULL;
    size_t size = 0;
    FILE *to = action && why && noted ? open_memstream(&text, &size) : NULL;
    for (size_t i = 0; to && i < sizeof parts / sizeof *parts; i++)
        if (*parts[i])
            fprintf(to, "%s%s", ftell(to) > 0 ? " " : "", parts[i]);
    free(action);
    free(why);
    free(noted);
    return text_end(to, &text);
}
