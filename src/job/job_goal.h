/* What the picture of a station's photo says: what is asked there, and the station's own verdict.
 */
#ifndef JOB_GOAL_H
#define JOB_GOAL_H

#include "job_store.h"
#include "picture/annotate.h"
#include "result/verdict.h"

/* A photo of a finding. Borrowed. */
struct job_goal_question {
    const struct plan_station *station;
    const struct job_finding *finding;
    const struct vision_result *seen; /* in this photo */
    int arm;                          /* the one that was read: index in seen->arms */
    int reading, readings;            /* which of how many this photo is; the last one is judged */
    int photos;
    const struct vision_point *balls_px; /* of a pair of links; NULL otherwise */
};

struct job_goal {
    struct annotate_goal goal; /* borrows what follows: do not copy it without */
    char from[64], undecided[VERDICT_UNDECIDED];
};

/* An end of the travel and the first of two arms are noted and not judged; nor is anything of a
 * finding that is unsure for another photo's sake, nor neutral where it is not in the middle of
 * both ends, for the cure of that is not in this photo. */
void job_goal_make(const struct job_goal_question *question, struct job_goal *out);

#endif
