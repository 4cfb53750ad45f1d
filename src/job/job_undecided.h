/* What would decide a station of which a measurement cannot tell whether it is good. */
#ifndef JOB_UNDECIDED_H
#define JOB_UNDECIDED_H

#include "job_words.h"

/* For a station that stands at JOB_CANNOT_TELL: why its photo was unsure and what to do about it;
 * or what would make its uncertainty smaller, by how it was measured; or, where nothing of that
 * would settle it, nearer: sentences that say how to bring it nearer to what is asked, "" where it
 * is not seen to be off. A string that the caller frees, NULL when out of memory. */
char *job_undecided_words(struct job *job, const struct job_view *view, int station,
                          const char *nearer, enum job_script script);

#endif
