/* What to do at the bench about a station, with its hardware known: which tooth and arm, how many
 * turns of a link, and what then remains. */
#ifndef JOB_ADVICE_H
#define JOB_ADVICE_H

#include "advice/advice_words.h"
#include "job_words.h"

struct job_advice {
    char *action;                   /* sentences; "" when there is nothing to do; owned */
    char besides[2 * ADVICE_WORDS]; /* of what remains, sentences: what would do away with it */
    double remains; /* deg or mm, signed as the finding: what is off now or, when there is an action
                     * in whole teeth, percent or turns, after it */
    double expanded; /* U of that; NAN when not known, as of an arm that was only counted */
    bool known;      /* false: remains means nothing */
    bool after;      /* remains is after the action */
};

/* What to do, in sentences: as job_action_words(), and where teeth (a servo's horn) or a thread
 * (pairs, and with crank-arm-mm what else a link moves) are entered, in teeth and turns; where it
 * cannot be told, what would decide it (job_undecided_words). A string that the caller frees, NULL
 * when out of memory. */
char *job_advice_words(struct job *job, const struct job_view *view, int station,
                       enum job_script script);

/* What to tell under the title of the station that job_next() names: what to do about what was
 * found, and where it is to be done (again) the plan's own words, with what was noted at a
 * confirmation; next -1: that all is done. Likewise. */
char *job_next_words(struct job *job, const struct job_view *view, int next,
                     enum job_script script);

#endif
