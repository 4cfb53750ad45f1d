/* From the readings of a station to its finding. */
#ifndef JOB_FINDING_H
#define JOB_FINDING_H

#include "job_store.h"

/* How many readings a station of this kind may have, and what each is. */
#define JOB_MAX_READINGS 3
struct job_roles {
    int least, most;
    const char *name[JOB_MAX_READINGS];
};
struct job_roles job_roles_of(enum plan_kind kind);

/* The station's value and standard uncertainty from its readings (deg, or mm for link pairs),
 * taken as independent; their number must fit job_roles_of(). One reading of a link pair is the
 * difference itself.
 *   square, level  distance from the nearest multiple of 90
 *   parallel       second minus first, as lines without a head, in [-45, 45]
 *   centred        neutral minus the middle of both ends
 *   angle          the reading, in [0, 360), at most 90 from the target
 *   link pair      first length minus second
 * NULL; else one sentence (static text) that says why the readings tell nothing of the station: out
 * is then unchanged. */
const char *job_finding_from_readings(const struct plan_station *station,
                                      const struct job_reading *readings, int count,
                                      struct job_finding *out);

/* Whether value is what job_finding_from_readings() makes of readings, to a millionth, and whether
 * u is, too, where none of them is from a photo: photos of a sticker have an uncertainty of their
 * own. false where their number fits no station of this kind. What readings mean is not judged:
 * what was once recorded stays. */
bool job_finding_follows(enum plan_kind kind, const struct job_reading *readings, int count,
                         double value, double u);

/* The finding's expanded uncertainty from each reading's. U are combined as u are, which is never
 * less than effective degrees of freedom would give. */
double job_finding_expanded(enum plan_kind kind, const double *expanded, int count);

#endif
