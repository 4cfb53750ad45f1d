/* What to do at the bench about a station, with its hardware known: which tooth and arm, how many
 * turns of a link, and what then remains. */
#ifndef JOB_ADVICE_H
#define JOB_ADVICE_H

#include "job_words.h"

/* As job_action_words(), and where teeth (square stations) or a thread (link pairs) are entered, in
 * teeth and turns, with what remains; where a photo cannot tell, what would make it surer and by
 * how much (sharpen.h). A string that the caller frees, NULL when out of memory. */
char *job_advice_words(struct job *job, const struct job_view *view, int station,
                       enum job_script script);

#endif
