/* What a reading was taken from, and how well it is known. */
#ifndef JOB_READING_H
#define JOB_READING_H

#include "job_store.h"
#include "vision.h"

/* The arm that a reading is of, in the result that the record of its photo holds and that this puts
 * into *result. NULL when there is none: it was read by eye or with calipers. */
const struct vision_arm *job_reading_arm(const struct job_reading_row *row,
                                         struct vision_result *result);

/* The reading's expanded uncertainty, deg or mm for link pairs: its photo's own, as the picture
 * shows it. Without a photo k u, with the finding's coverage where a station of this kind has one
 * reading and else a normal distribution's. */
double job_reading_expanded(enum plan_kind kind, const struct job_reading_row *row,
                            double coverage);

#endif
