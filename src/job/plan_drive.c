#include "plan_drive.h"

/* What is measured right before this station, with nothing that it rests on in between: where one
 * of two rests on the other, that is only the order of work along one chain. */
static int count_before(const struct plan *plan, const struct plan_station *s)
{
    int count = 0;
    for (int i = 0; i < s->rests_on_count; i++) {
        bool between = false;
        for (int j = i + 1; j < s->rests_on_count; j++)
            between |= plan_rests_directly(&plan->stations[s->rests_on[j]], s->rests_on[i]);
        count += plan->stations[s->rests_on[i]].kind != PLAN_CONFIRM && !between;
    }
    return count;
}

static int count_pairs(const struct plan *plan, const struct plan_station *s)
{
    int count = 0;
    for (int i = 0; i < s->rests_on_count; i++)
        count += plan->stations[s->rests_on[i]].kind == PLAN_PAIR;
    return count;
}

static int count_servos(const struct plan *plan, const struct plan_station *s)
{
    int count = 0;
    for (int i = 0; i < s->rests_on_count; i++)
        count += plan_is_servo(plan, s->rests_on[i]);
    return count;
}

enum plan_drive plan_drive(const struct plan *plan, int station)
{
    const struct plan_station *s = &plan->stations[station];
    if (s->kind != PLAN_SQUARE && s->kind != PLAN_PARALLEL && s->kind != PLAN_LEVEL)
        return PLAN_DRIVE_OTHER;
    if (plan_is_servo(plan, station))
        return PLAN_DRIVE_SPLINE;
    if (count_pairs(plan, s))
        return PLAN_DRIVE_PAIR;
    if (s->kind == PLAN_PARALLEL && count_servos(plan, s) > 1)
        return PLAN_DRIVE_SPLINES;
    return s->kind == PLAN_LEVEL && count_before(plan, s) > 1 ? PLAN_DRIVE_SEVERAL
                                                              : PLAN_DRIVE_LINK;
}

bool plan_is_set_at(const struct plan *plan, int station, int on)
{
    enum plan_drive drive = plan_drive(plan, station);
    return plan_rests_directly(&plan->stations[station], on) &&
           ((drive == PLAN_DRIVE_PAIR && plan->stations[on].kind == PLAN_PAIR) ||
            (drive == PLAN_DRIVE_SPLINES && plan_is_servo(plan, on)));
}
