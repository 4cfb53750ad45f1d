/* The mechanism that a station's hardware describes: horn, link and crank. */
#ifndef JOB_LINKAGE_H
#define JOB_LINKAGE_H

#include "linkage/linkage.h"
#include "plan.h"

/* What a servo is assumed to turn each way, for nobody measured it. */
#define JOB_LINKAGE_TRAVEL_DEG 40.0

/* false where horn, crank and base are not all entered: then there is none. name: of the whole. */
bool job_linkage_make(const struct plan_station *station, const char *name, struct linkage *out);

/* Why the lengths that are entered make no mechanism, sentences; "" where they make one, or are not
 * all entered. A string that the caller frees, NULL when out of memory. */
char *job_linkage_fault(const struct plan_station *station);

#endif
