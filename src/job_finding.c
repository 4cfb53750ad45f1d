#include "job_finding.h"

#include "direction.h"
#include "station.h"

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

static struct quantity quantity_of(const struct job_reading *reading)
{
    return (struct quantity){reading->value, reading->u};
}

bool job_finding_from_readings(enum plan_kind kind, const struct job_reading *r, int count,
                               struct job_finding *out)
{
    struct job_roles roles = job_roles_of(kind);
    if (count < roles.least || count > roles.most || count < 1)
        return false;
    struct quantity found = quantity_of(&r[0]);
    switch (kind) {
    case PLAN_SQUARE:
    case PLAN_LEVEL: /* a plate is level along its reference or across it, as with a shaft */
        found.value = direction_deviation(found.value);
        break;
    case PLAN_ANGLE:
        found.value = direction_normal(found.value);
        break;
    case PLAN_PARALLEL:
        found = count == 2 ? station_parallel(quantity_of(&r[1]), quantity_of(&r[0]), 0)
                           : station_parallel(found, (struct quantity){0, 0}, 0);
        break;
    case PLAN_CENTRED:
        found = station_centre(quantity_of(&r[0]), quantity_of(&r[1]), quantity_of(&r[2])).offset;
        break;
    case PLAN_PAIR:
        if (count == 2)
            found = (struct quantity){r[0].value - r[1].value, hypot(r[0].u, r[1].u)};
        break;
    default:
        return false;
    }
    out->value = found.value;
    out->u = found.u;
    return true;
}
