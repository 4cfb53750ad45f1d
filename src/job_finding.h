/* From the readings of a station to its finding. */
#ifndef JOB_FINDING_H
#define JOB_FINDING_H

#include "job_store.h"

/* How many readings a station of this kind may have, and what each is. */
struct job_roles {
    int least, most;
    const char *name[3];
};
struct job_roles job_roles_of(enum plan_kind kind);

/* The station's value and standard uncertainty from its readings (deg, or mm for link pairs),
 * taken as independent. One reading where two are usual is the difference itself.
 *   square, level  distance from the nearest multiple of 90
 *   parallel       second minus first, as lines without a head, in (-90, 90]
 *   centred        neutral minus the middle of both ends
 *   angle          the reading, in [0, 360)
 *   link pair      first length minus second
 * false when the number of readings does not fit; out is then unchanged. */
bool job_finding_from_readings(enum plan_kind kind, const struct job_reading *readings, int count,
                               struct job_finding *out);

#endif
