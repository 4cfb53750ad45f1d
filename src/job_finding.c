#include "job_finding.h"

#include "direction.h"

#include <math.h>

struct job_roles job_roles_of(enum plan_kind kind)
{
    static const struct job_roles roles[PLAN_KIND_COUNT] = {
        [PLAN_SQUARE] = {1, 1, {"arm"}},
        [PLAN_PARALLEL] = {1, 2, {"first arm", "second arm"}},
        [PLAN_LEVEL] = {1, 1, {"plate"}},
        [PLAN_CENTRED] = {3, 3, {"one end", "other end", "neutral"}},
        [PLAN_ANGLE] = {1, 1, {"arm"}},
        [PLAN_PAIR] = {1, 2, {"first link", "second link"}},
        [PLAN_CONFIRM] = {0, 0, {0}},
    };
    return roles[kind];
}

/* A line has no head: 179 and -1 are the same. In (-90, 90]. */
static double line_turn(double deg)
{
    return direction_turn(2 * deg) / 2;
}

bool job_finding_from_readings(enum plan_kind kind, const struct job_reading *r, int count,
                               struct job_finding *out)
{
    struct job_roles roles = job_roles_of(kind);
    if (count < roles.least || count > roles.most || count < 1)
        return false;
    double value = r[0].value, u = r[0].u;
    if (kind == PLAN_SQUARE || kind == PLAN_LEVEL)
        value = direction_deviation(value);
    else if (kind == PLAN_ANGLE)
        value = direction_normal(value);
    else if (kind == PLAN_PARALLEL)
        value = line_turn(count == 2 ? r[1].value - r[0].value : value);
    else if (kind == PLAN_PAIR && count == 2)
        value = r[0].value - r[1].value;
    if (count == 2)
        u = hypot(r[0].u, r[1].u);
    if (kind == PLAN_CENTRED) {
        /* JCGM 100:2008, 5.1.2 on neutral - (one + other) / 2: sensitivities 1, -1/2, -1/2. */
        double middle = r[0].value + direction_turn(r[1].value - r[0].value) / 2;
        value = direction_turn(r[2].value - middle);
        u = sqrt(r[2].u * r[2].u + (r[0].u * r[0].u + r[1].u * r[1].u) / 4);
    }
    out->value = value;
    out->u = u;
    return true;
}
