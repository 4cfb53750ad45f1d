/* Which arm of its photo each reading of a station takes. */
#ifndef JOB_ARMS_H
#define JOB_ARMS_H

#include "job_finding.h"
#include "vision.h"

#define JOB_ARMS_SAID 512

/* What the photos show, one for each reading. Borrowed. */
struct job_arms_question {
    const struct plan_station *station;
    const char *named; /* by a person: "A" or "A,C", the last one for all that follow; NULL: nobody
                          named one */
    bool stickers;     /* they have names of their own, so the first is taken */
    int readings;
    const char *paths[JOB_MAX_READINGS];
    const struct vision_result *results[JOB_MAX_READINGS];
};

/* arm[i]: index in results[i]->arms. What is named is taken. Else
 *   square, level  that of order_first(), as `measure` does
 *   angle          the nearest to the target, as `measure --target` does
 *   parallel       the first of each, unless others lie so much nearer to parallel that they must
 *                  be meant (order_first())
 *   centred        the first in neutral, and at the ends the one that it can have turned to
 * and said tells which where the photos show others, "" where they do not (JOB_ARMS_SAID bytes).
 * Answers EXIT_DONE, or says why none can be taken and answers the program's exit status. */
int job_arms_choose(const struct job_arms_question *question, int arm[JOB_MAX_READINGS],
                    char *said);

#endif
