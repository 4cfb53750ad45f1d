#include "job_state.h"

#include "arithmetic/decision.h"
#include "arithmetic/direction.h"

#include <math.h>
#include <stdlib.h>

const char *job_state_words(enum job_state state)
{
    static const char *const words[JOB_STATE_COUNT] = {
        [JOB_WAITS] = "waits",
        [JOB_OPEN] = "to do",
        [JOB_GOOD] = "good",
        [JOB_ADJUST] = "adjust",
        [JOB_CANNOT_TELL] = "cannot tell",
        [JOB_CHECK_AGAIN] = "check again",
    };
    return words[state];
}

bool job_finding_fits(double value, double u, double coverage)
{
    return fabs(value) <= JOB_VALUE_MOST && u >= 0 && u <= JOB_VALUE_MOST && coverage > 0 &&
           coverage <= JOB_COVERAGE_MOST;
}

bool job_kind_has_reference(enum plan_kind kind)
{
    return job_kind_any_square(kind) || kind == PLAN_ANGLE;
}

bool job_kind_any_square(enum plan_kind kind)
{
    return kind == PLAN_SQUARE || kind == PLAN_LEVEL;
}

bool job_same_reference(enum plan_kind kind, const struct job_event *a, const struct job_event *b)
{
    return !job_kind_has_reference(kind) || a->reference == b->reference;
}

/* After how many degrees a kind's finding comes again: what job_finding.h says of each. */
static double period_deg(enum plan_kind kind)
{
    return job_kind_any_square(kind) ? 90 : kind == PLAN_PARALLEL ? 180 : 360;
}

double job_difference(enum plan_kind kind, double a, double b)
{
    return kind == PLAN_PAIR ? a - b : direction_wrap(a - b, period_deg(kind));
}

/* above[s * n + a]: station s rests on station a, directly or through others. */
struct replay {
    const struct plan *plan;
    const struct job_event *events;
    struct job_standing *out;
    bool *above;
    int *decisive; /* [s]: the last event at s that decides anything; -1 none */
    int *basis;    /* [s * n + a]: the decisive event at a when s was last done; -1 none */
};

static void mark(struct replay *r, int station, int event, double moved)
{
    struct job_standing *s = &r->out[station];
    if (s->latest < 0 || s->cause >= 0)
        return;
    s->cause = event;
    s->moved = moved;
    s->elsewhere = false;
}

/* An unsure measurement is the newest of its station and no more: nothing follows from it. */
static bool decides(const struct job_event *e)
{
    return e->kind != JOB_MEASURED || e->sure;
}

/* A station is done anew: its mark goes, and it now rests on what counts at this moment. */
static void done_anew(struct replay *r, int station, int event)
{
    int n = r->plan->count;
    r->out[station].latest = event;
    r->out[station].cause = -1;
    r->out[station].moved = NAN;
    if (decides(&r->events[event]))
        r->decisive[station] = event;
    for (int a = 0; a < station; a++)
        r->basis[station * n + a] = r->decisive[a];
}

/* Whether a station that lay as was lies elsewhere now: further than its tolerance, and than the
 * uncertainty of both together (JCGM 100:2008, 5.1.2) lets it seem to. */
static bool has_moved(const struct plan_station *station, const struct job_event *now,
                      const struct job_event *was, double *moved)
{
    *moved = job_difference(station->kind, now->value, was->value);
    double expanded = hypot(now->coverage * now->u, was->coverage * was->u);
    return fabs(*moved) > station->tolerance && fabs(*moved) > expanded;
}

static void measured(struct replay *r, int event)
{
    const struct job_event *now = &r->events[event];
    const struct plan_station *station = &r->plan->stations[now->station];
    int n = r->plan->count;
    done_anew(r, now->station, event);
    if (!decides(now))
        return;
    for (int d = now->station + 1; d < n; d++) {
        if (!r->above[d * n + now->station])
            continue;
        int was = r->basis[d * n + now->station];
        double moved = NAN;
        bool measured_before = was >= 0 && r->events[was].kind == JOB_MEASURED;
        if (measured_before && !has_moved(station, now, &r->events[was], &moved))
            continue;
        bool elsewhere =
            measured_before && !job_same_reference(station->kind, now, &r->events[was]);
        mark(r, d, event, elsewhere ? NAN : moved);
        if (r->out[d].cause == event)
            r->out[d].elsewhere = elsewhere;
    }
}

static void mark_all_on(struct replay *r, int station, int event)
{
    for (int d = station + 1; d < r->plan->count; d++)
        if (r->above[d * r->plan->count + station])
            mark(r, d, event, NAN);
}

/* What was confirmed with the old servo is to be confirmed with the new one. */
static void mark_confirmed_above(struct replay *r, int station, int event)
{
    for (int a = 0; a < station; a++)
        if (r->above[station * r->plan->count + a] && !plan_is_momentary(r->plan, a))
            mark(r, a, event, NAN);
}

static void refitted(struct replay *r, int event)
{
    const struct job_event *e = &r->events[event];
    if (e->first && r->out[e->station].latest < 0)
        return;
    mark(r, e->station, event, NAN);
    mark_all_on(r, e->station, event);
    if (e->servo && plan_is_servo(r->plan, e->station))
        mark_confirmed_above(r, e->station, event);
}

static void apply(struct replay *r, int event)
{
    const struct job_event *e = &r->events[event];
    switch (e->kind) {
    case JOB_MEASURED:
        measured(r, event);
        break;
    case JOB_CONFIRMED:
        done_anew(r, e->station, event);
        if (!e->holds && !plan_is_momentary(r->plan, e->station))
            mark_all_on(r, e->station, event);
        break;
    case JOB_REFITTED:
        refitted(r, event);
        break;
    case JOB_RECHECK:
        mark(r, e->station, event, NAN);
        break;
    case JOB_EVENT_KIND_COUNT:
        break;
    }
}

static enum job_state judge(const struct plan_station *station, const struct job_event *e,
                            double off)
{
    if (e->kind == JOB_CONFIRMED)
        return e->holds ? JOB_GOOD : JOB_ADJUST;
    if (!e->sure)
        return JOB_CANNOT_TELL;
    switch (decision_make(off, e->coverage * e->u, station->tolerance)) {
    case DECISION_ACCEPT:
        return JOB_GOOD;
    case DECISION_REJECT:
        return JOB_ADJUST;
    default:
        return JOB_CANNOT_TELL;
    }
}

/* The first station that must be good before this one may be done, -1 when there is none. */
static int find_blocker(const struct replay *r, int station)
{
    const struct plan_station *plan = &r->plan->stations[station];
    for (int a = 0; a < station; a++)
        if (r->above[station * r->plan->count + a] && r->out[a].state != JOB_GOOD &&
            plan_is_momentary(r->plan, a))
            return a;
    for (int i = 0; i < plan->rests_on_count; i++)
        if (r->out[plan->rests_on[i]].state != JOB_GOOD)
            return plan->rests_on[i];
    return -1;
}

/* The last step: from what happened to the word for it. Stations come in order, so what a station
 * rests on has its state already. */
static void settle(struct replay *r, int station)
{
    const struct plan_station *plan = &r->plan->stations[station];
    struct job_standing *s = &r->out[station];
    int n = r->plan->count;
    s->blocker = find_blocker(r, station);
    s->ready = s->blocker < 0;
    if (s->latest < 0) {
        s->state = s->ready ? JOB_OPEN : JOB_WAITS;
        return;
    }
    for (int a = 0; a < station && s->cause < 0; a++)
        if (r->above[station * n + a] && r->decisive[a] < 0)
            s->missing = a;
    const struct job_event *e = &r->events[s->latest];
    if (e->kind == JOB_MEASURED)
        s->off = job_difference(plan->kind, e->value, plan->target);
    s->state = s->cause >= 0 || s->missing >= 0 ? JOB_CHECK_AGAIN : judge(plan, e, s->off);
}

bool job_replay(const struct plan *plan, const struct job_event *events, int n,
                struct job_standing *out)
{
    size_t cells = (size_t)plan->count * (size_t)plan->count;
    struct replay r = {.plan = plan, .events = events, .out = out};
    bool good = false;
    r.above = calloc(cells + 1, sizeof *r.above);
    r.decisive = calloc((size_t)plan->count + 1, sizeof *r.decisive);
    r.basis = malloc((cells + 1) * sizeof *r.basis);
    if (!r.above || !r.decisive || !r.basis)
        goto done;
    for (int s = 0; s < plan->count; s++)
        plan_above(plan, s, r.above + (size_t)s * (size_t)plan->count);
    for (size_t i = 0; i < cells; i++)
        r.basis[i] = -1;
    for (int s = 0; s < plan->count; s++) {
        out[s] = (struct job_standing){.latest = -1, .cause = -1, .missing = -1, .moved = NAN};
        r.decisive[s] = -1;
    }
    for (int i = 0; i < n; i++)
        apply(&r, i);
    for (int s = 0; s < plan->count; s++)
        settle(&r, s);
    good = true;
done:
    free(r.above);
    free(r.decisive);
    free(r.basis);
    return good;
}

int job_next(const struct plan *plan, const struct job_standing *standing)
{
    for (int s = 0; s < plan->count; s++)
        if (standing[s].state != JOB_GOOD && standing[s].ready)
            return s;
    return -1;
}
