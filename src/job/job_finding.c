#include "job_finding.h"

#include "arithmetic/direction.h"
#include "arithmetic/station.h"
#include "linkage/link_pair.h"

#include <math.h>

struct job_roles job_roles_of(enum plan_kind kind)
{
    static const struct job_roles roles[PLAN_KIND_COUNT] = {
        [PLAN_SQUARE] = {1, 1, {"arm"}},
        [PLAN_PARALLEL] = {2, 2, {"first arm", "second arm"}},
        [PLAN_LEVEL] = {1, 1, {"edge"}},
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

/* Each kind's formula, whatever its numbers mean. */
static struct quantity combine(enum plan_kind kind, const struct quantity *r, int count)
{
    struct quantity found = r[0];
    switch (kind) {
    case PLAN_SQUARE:
    case PLAN_LEVEL: /* a plate is level along its reference or across it, as with a shaft */
        found.value = direction_deviation(found.value);
        break;
    case PLAN_ANGLE:
        found.value = direction_normal(found.value);
        break;
    case PLAN_PARALLEL:
        found = station_parallel(r[1], r[0], 0);
        break;
    case PLAN_CENTRED:
        found = station_centre(r[0], r[1], r[2]).offset;
        break;
    case PLAN_PAIR:
        if (count == 2)
            found = (struct quantity){r[0].value - r[1].value, hypot(r[0].u, r[1].u)};
        break;
    default:
        break;
    }
    return found;
}

static bool count_fits(enum plan_kind kind, int count)
{
    struct job_roles roles = job_roles_of(kind);
    return count >= roles.least && count <= roles.most && count >= 1;
}

/* Of two links, or of their difference alone. */
static bool links_fit(const struct plan_station *station, const struct quantity *r, int count)
{
    double arm = plan_fact_number(station, "horn-arm-mm", 0);
    double most = arm > 0 ? arm : LINK_MOST_MM;
    return count == 2 ? link_pair_fits(r[0].value, r[1].value, arm) : fabs(r[0].value) < most;
}

/* No arm of a model is brought so far round by its link or its end points: common practice, no
 * source. */
#define MOST_TURN_DEG 90.0

/* NULL when the readings can be what their roles say. */
static const char *fault_of(const struct plan_station *station, const struct quantity *r, int count)
{
    struct station_centre centre;
    switch (station->kind) {
    case PLAN_PARALLEL:
        return station_parallel_fits(combine(PLAN_PARALLEL, r, count))
                   ? NULL
                   : "these two arms lie more than 45 degrees from parallel. Check that both "
                     "belong "
                     "to the link, and name them with --arms where a photo shows others; what lies "
                     "so far off is brought near by eye first.";
    case PLAN_LEVEL:
        return station_level_fits(combine(PLAN_LEVEL, r, count)) ? NULL : STATION_LEVEL_SAYS;
    case PLAN_ANGLE:
        return fabs(direction_turn(r[0].value - station->target)) <= MOST_TURN_DEG
                   ? NULL
                   : "this arm lies more than 90 degrees from the wanted angle. Was its other end "
                     "read, or the reference from its other side? Read it again, or name another "
                     "arm with --arms; what lies so far off is brought near by eye first.";
    case PLAN_CENTRED:
        centre = station_centre(r[0], r[1], r[2]);
        return station_centre_fault(&centre);
    case PLAN_PAIR:
        return links_fit(station, r, count)
                   ? NULL
                   : "these two links cannot hold a crank between them; check both lengths.";
    default:
        return NULL;
    }
}

const char *job_finding_from_readings(const struct plan_station *station,
                                      const struct job_reading *readings, int count,
                                      struct job_finding *out)
{
    struct quantity r[JOB_MAX_READINGS] = {{0}};
    if (!count_fits(station->kind, count))
        return "the number of readings does not fit the station.";
    for (int i = 0; i < count; i++)
        r[i] = quantity_of(&readings[i]);
    const char *fault = fault_of(station, r, count);
    if (fault)
        return fault;
    struct quantity found = combine(station->kind, r, count);
    out->value = found.value;
    out->u = found.u;
    return NULL;
}

bool job_finding_follows(enum plan_kind kind, const struct job_reading *readings, int count,
                         double value, double u)
{
    struct quantity r[JOB_MAX_READINGS] = {{0}};
    bool photos = false;
    if (!count_fits(kind, count))
        return false;
    for (int i = 0; i < count; i++) {
        r[i] = quantity_of(&readings[i]);
        photos |= readings[i].record[0] != '\0';
    }
    struct quantity found = combine(kind, r, count);
    return fabs(job_difference(kind, found.value, value)) < 1e-6 &&
           (photos || fabs(found.u - u) < 1e-6);
}

double job_finding_expanded(enum plan_kind kind, const double *expanded, int count)
{
    struct quantity r[JOB_MAX_READINGS] = {{0}};
    if (!count_fits(kind, count))
        return NAN;
    for (int i = 0; i < count; i++)
        r[i].u = expanded[i];
    return combine(kind, r, count).u;
}
