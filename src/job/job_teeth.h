/* What to do about a servo's horn that is off: which arm on which tooth, how much sub-trim. */
#ifndef JOB_TEETH_H
#define JOB_TEETH_H

#include "job_advice.h"

/* The order, with what out tells of what remains (remains, expanded, besides), and before it what
 * to see to where sub-trim was ordered by findings before this one: that the arm followed, and that
 * all of it is not more than the limit. NULL, with out as it was, where teeth are not entered, the
 * arm cannot be told or there is no memory. A string that the caller frees. */
char *job_teeth_words(struct job *job, const struct job_view *view, int station,
                      struct job_advice *out);

#endif
