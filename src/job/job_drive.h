/* What to do about a part that no turn of one link brings to what is asked. */
#ifndef JOB_DRIVE_H
#define JOB_DRIVE_H

#include "job_words.h"

/* Whether one link moves the part (plan_drive): only then can turns of "the link" be ordered. */
bool job_has_one_link(const struct job_view *view, int station);

/* How a measured station is brought to what is asked, sentences: as job_cure_words(), and where
 * stations of their own set what moves it, or several links do, what is to be done in place of
 * turning one link. A string that the caller frees, NULL when out of memory. */
char *job_drive_words(const struct job_view *view, int station, enum job_script script);

#endif
