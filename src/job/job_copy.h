/* A photo that a station was measured from before, as a copy with other bytes; an arm in it that
 * another station was measured from. */
#ifndef JOB_COPY_H
#define JOB_COPY_H

#include "job_measure.h"
#include "job_store.h"

/* Entry in which the station was measured from a photo with the same pixels as one of those just
 * measured, told by what was measured in it (same_photo.h), and not yet withdrawn; 0 when there is
 * none. *which: the index of that photo among those just measured. */
int64_t job_copy_find(struct job *job, const struct job_view *view,
                      const struct plan_station *station, const struct job_measured *measured,
                      int *which);

/* An arm that stands for two stations. */
struct job_arm_seen {
    int reading;   /* which of those just measured */
    int station;   /* where it is what counts, index in the plan */
    int64_t entry; /* as which */
};
/* Whether what counts at another station was read from the same arm of the same photo as one of the
 * readings just measured. out is unchanged where not. */
bool job_arm_seen(struct job *job, const struct job_view *view, const struct plan_station *station,
                  const struct job_measured *measured, struct job_arm_seen *out);

#endif
