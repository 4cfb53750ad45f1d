#include "job_compare.h"

#include "arithmetic/decision.h"
#include "arithmetic/plus_minus.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const struct {
    const char *code;
    struct change_words {
        const char *one, *many; /* many: NULL, the same */
    } since, of_files;
} changes[JOB_CHANGE_COUNT] = {
    [JOB_UNTOUCHED] = {"untouched",
                       {"was not done again", "were not done again"},
                       {"is the same entry in both", "are the same entry in both"}},
    [JOB_SAME] = {"not-shown",
                  {"shows no movement", "show no movement"},
                  {"shows no difference", "show no difference"}},
    [JOB_MAY_HAVE] = {"perhaps", {"may have moved", NULL}, {"may differ", NULL}},
    [JOB_MOVED] = {"moved", {"moved", NULL}, {"differs", "differ"}},
    [JOB_MOVED_FAR] = {"beyond-tolerance",
                       {"moved by more than its tolerance", "moved by more than their tolerance"},
                       {"differs by more than tolerated", "differ by more than tolerated"}},
    [JOB_NEW] = {"new",
                 {"is new since then", "are new since then"},
                 {"is done in the first alone", "are done in the first alone"}},
    [JOB_GONE] = {"gone",
                  {"is not done now", "are not done now"},
                  {"is done in the second alone", "are done in the second alone"}},
    [JOB_HOLDS] = {"holds",
                   {"holds as before", "hold as before"},
                   {"is the same in both", "are the same in both"}},
    [JOB_TURNED] = {"turned",
                    {"is no longer the same", "are no longer the same"},
                    {"holds in one alone", "hold in one alone"}},
    [JOB_UNSURE] = {"unsure",
                    {"cannot be told: a photo was unsure", NULL},
                    {"cannot be told: a photo was unsure", NULL}},
    [JOB_AGAINST] = {"against",
                     {"cannot be told: measured against something else", NULL},
                     {"cannot be told: measured against something else", NULL}},
    [JOB_SET_ANEW] = {"set-anew", /* never of two files */
                      {"cannot be told: what it rests on was set anew first",
                       "cannot be told: what they rest on was set anew first"},
                      {"cannot be told", NULL}},
    [JOB_REPLACED] = {"replaced",
                      {"is another part since then", "are other parts since then"},
                      {"is another part", "are other parts"}},
};

const enum job_change job_change_order[JOB_CHANGE_COUNT] = {
    JOB_MOVED_FAR, JOB_TURNED, JOB_MOVED,    JOB_MAY_HAVE, JOB_UNSURE, JOB_AGAINST,  JOB_SET_ANEW,
    JOB_GONE,      JOB_NEW,    JOB_REPLACED, JOB_SAME,     JOB_HOLDS,  JOB_UNTOUCHED};

const char *job_change_words(enum job_change change, bool of_files, int count)
{
    const struct change_words *words =
        of_files ? &changes[change].of_files : &changes[change].since;
    return count != 1 && words->many ? words->many : words->one;
}

const char *job_change_code(enum job_change change)
{
    return changes[change].code;
}

static char *figure(enum plan_kind kind, double value, double expanded, bool unsure,
                    enum vision_reference_kind reference, enum job_script script)
{
    if (isnan(value))
        return strdup("");
    char *text = job_value_words(kind, value, expanded, kind != PLAN_ANGLE, script);
    return job_sure_words(job_against_words(text, kind, reference), !unsure);
}

char *job_then_words(const struct job_comparison_row *row, enum job_script script)
{
    return figure(row->kind, row->then, row->then_expanded, row->then_unsure, row->then_against,
                  script);
}

char *job_since_words(const struct job_comparison_row *row, enum job_script script)
{
    return figure(row->kind, row->found, row->found_expanded, row->found_unsure, row->found_against,
                  script);
}

char *job_now_words(const struct job_comparison_row *row, enum job_script script)
{
    return figure(row->kind, row->now, row->now_expanded, row->now_unsure, row->now_against,
                  script);
}

char *job_row_moved_words(const struct job_comparison_row *row, enum job_script script)
{
    return isnan(row->moved) ? strdup("")
                             : job_moved_words(row->kind, row->shown_moved, row->shown_expanded,
                                               row->shown_decimals, script);
}

static const struct job_event *latest(const struct job_view *view, int station)
{
    return station >= 0 && view->standing[station].latest >= 0
               ? &view->events[view->standing[station].latest]
               : NULL;
}

/* The first sure measurement since then, as the crash left it; NULL where something else was fitted
 * before that, which sits as it was put on. Else what counts now. */
static const struct job_event *first_since(const struct job_view *view, int64_t then,
                                           const struct job_event *now)
{
    for (int i = 0; now && i < view->event_count; i++) {
        const struct job_event *e = &view->events[i];
        if (e->station != now->station || e->entry <= then || e->entry > now->entry)
            continue;
        if (e->kind == JOB_REFITTED)
            return NULL;
        if (e->kind == JOB_MEASURED && e->sure)
            return e;
    }
    return now;
}

/* Whether an event tells that hands were at its station since then: another part, or two sure
 * measurements further apart than their uncertainty lets them seem. last: the sure one before it
 * since then, NULL none. */
static bool tells_of_hands(const struct plan *plan, const struct job_event *e,
                           const struct job_event *last)
{
    if (e->kind != JOB_MEASURED)
        return e->kind == JOB_REFITTED;
    return last && e->sure &&
           fabs(job_difference(plan->stations[e->station].kind, e->value, last->value)) >
               hypot(e->coverage * e->u, last->coverage * last->u);
}

/* Whether anything that found's station rests on was set between then and found. *good: false
 * without memory. */
static bool set_above(const struct job_view *view, int64_t then, const struct job_event *found,
                      bool *good)
{
    size_t room = (size_t)view->plan.count + 1;
    bool *above = calloc(room, sizeof *above), set = false;
    int *last = calloc(room, sizeof *last); /* 1 + the last sure measurement there; 0 none */
    if (above && last)
        plan_above(&view->plan, found->station, above);
    else
        *good = false;
    for (int i = 0; *good && !set && i < view->event_count; i++) {
        const struct job_event *e = &view->events[i];
        if (e->entry <= then || e->entry >= found->entry || !above[e->station])
            continue;
        int before = last[e->station];
        set = tells_of_hands(&view->plan, e, before ? &view->events[before - 1] : NULL);
        if (e->kind == JOB_MEASURED && e->sure)
            last[e->station] = i + 1;
    }
    free(above);
    free(last);
    return set;
}

static void show_moved(enum plan_kind kind, struct job_comparison_row *row)
{
    int then = plus_minus_decimals(row->then_expanded),
        found = plus_minus_decimals(row->found_expanded);
    int decimals = row->shown_decimals = then < found ? then : found;
    double moved = job_difference(kind, plus_minus_as_printed(row->found, found),
                                  plus_minus_as_printed(row->then, then));
    row->shown_moved = plus_minus_as_printed(moved, decimals);
    row->shown_expanded = plus_minus_rounded(row->moved_expanded, decimals);
}

/* Negative: less than its uncertainty; 0: the same in the digits shown. */
static int beyond(double moved, double expanded)
{
    double excess = fabs(moved) - expanded;
    return excess > 1e-9 ? 1 : excess < -1e-9 ? -1 : 0;
}

/* A verdict holds for the figures as they are and as they are shown, or it is none. */
static enum job_change change_of(const struct plan_station *station,
                                 const struct job_comparison_row *row)
{
    int is = beyond(row->moved, row->moved_expanded);
    int shown = beyond(row->shown_moved, row->shown_expanded);
    if (decision_make(row->moved, row->moved_expanded, station->tolerance) == DECISION_REJECT)
        return JOB_MOVED_FAR;
    return is > 0 && shown > 0 ? JOB_MOVED : is < 0 && shown < 0 ? JOB_SAME : JOB_MAY_HAVE;
}

/* Independent findings: the uncertainty of a difference is the root of the sum of squares
 * (JCGM 100:2008, 5.1.2). */
static void compare_findings(const struct plan_station *station, const struct job_event *then,
                             const struct job_event *found, bool set_anew,
                             struct job_comparison_row *row)
{
    if (!then->sure || !found->sure) {
        row->change = JOB_UNSURE;
        return;
    }
    if (!job_same_reference(station->kind, then, found)) {
        row->change = JOB_AGAINST;
        return;
    }
    if (set_anew && station->kind != PLAN_PAIR) {
        row->change = JOB_SET_ANEW;
        return;
    }
    row->moved = job_difference(station->kind, found->value, then->value);
    row->moved_expanded = hypot(row->then_expanded, row->found_expanded);
    show_moved(station->kind, row);
    row->change = change_of(station, row);
}

/* What was recorded once tells nothing of what happened since, in whichever file it is read. */
static bool is_same_entry(const struct job_event *a, const struct job_event *b)
{
    return a->entry == b->entry && a->kind == b->kind && strcmp(a->at, b->at) == 0 &&
           a->value == b->value && a->u == b->u && a->holds == b->holds;
}

/* One row; false when the station is done in neither state. found: see first_since(); set_anew: see
 * set_above(). */
static bool compare_station(const struct plan_station *station, const struct job_event *then,
                            const struct job_event *found, const struct job_event *now,
                            bool set_anew, struct job_comparison_row *row)
{
    if (!then && !now)
        return false;
    *row = (struct job_comparison_row){
        .key = station->key, .title = station->title, .kind = station->kind};
    row->then = row->found = row->now = row->moved = row->moved_expanded = NAN;
    bool replaced = now && !found;
    if (replaced)
        found = now;
    bool measured = station->kind != PLAN_CONFIRM;
    if (then && measured) {
        row->then = then->value;
        row->then_unsure = !then->sure;
        row->then_against = then->reference;
        row->then_expanded = then->coverage * then->u;
    }
    if (now && measured) {
        row->found = found->value;
        row->found_unsure = !found->sure;
        row->found_against = found->reference;
        row->found_expanded = found->coverage * found->u;
        row->again = found != now;
        row->now = now->value;
        row->now_unsure = !now->sure;
        row->now_against = now->reference;
        row->now_expanded = now->coverage * now->u;
    }
    if (!then || !now)
        row->change = now ? JOB_NEW : JOB_GONE;
    else if (is_same_entry(then, now))
        row->change = JOB_UNTOUCHED;
    else if (!measured)
        row->change = then->holds == now->holds ? JOB_HOLDS : JOB_TURNED;
    else if (replaced)
        row->change = JOB_REPLACED;
    else
        compare_findings(station, then, found, set_anew, row);
    return true;
}

bool job_compare(const struct job_view *then, const struct job_view *now, const char *name,
                 bool of_files, struct job_comparison *out)
{
    size_t room = (size_t)then->plan.count + (size_t)now->plan.count + 1;
    *out = (struct job_comparison){
        .name = name, .of_files = of_files, .rows = calloc(room, sizeof *out->rows)};
    if (!out->rows)
        return false;
    bool good = true;
    for (int i = 0; i < now->plan.count; i++) {
        const struct plan_station *station = &now->plan.stations[i];
        int old = plan_find(&then->plan, station->key);
        if (old >= 0 && then->plan.stations[old].kind != station->kind)
            old = -1;
        const struct job_event *last = latest(now, i);
        const struct job_event *found = of_files ? last : first_since(now, then->newest, last);
        bool set_anew = found && !of_files && set_above(now, then->newest, found, &good);
        out->count += compare_station(station, latest(then, old), found, last, set_anew,
                                      &out->rows[out->count]);
    }
    for (int i = 0; i < then->plan.count; i++)
        if (plan_find(&now->plan, then->plan.stations[i].key) < 0)
            out->count += compare_station(&then->plan.stations[i], latest(then, i), NULL, NULL,
                                          false, &out->rows[out->count]);
    if (!good)
        job_comparison_clear(out);
    return good;
}

int job_comparison_count(const struct job_comparison *comparison, enum job_change change)
{
    int count = 0;
    for (int i = 0; i < comparison->count; i++)
        count += comparison->rows[i].change == change;
    return count;
}

void job_comparison_clear(struct job_comparison *comparison)
{
    free(comparison->rows);
    *comparison = (struct job_comparison){0};
}
