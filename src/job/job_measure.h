/* Measuring a station from photos: angles by vision, pictures with the lines drawn in, and all of
 * it made ready to be recorded. */
#ifndef JOB_MEASURE_H
#define JOB_MEASURE_H

#include "job_arms.h"
#include "job_finding.h"
#include "job_pair.h"
#include "job_store.h"
#include "measure/measure_options.h"
#include "vision.h"

#define JOB_MAX_PHOTOS JOB_MAX_READINGS

struct job_measure_question {
    const struct plan_station *station;
    const char *const *photos; /* paths; one for each reading, one of both links */
    int photo_count;
    const struct measure_words_given *given; /* how photos are to be measured */
    const char *arms;              /* which arm in each photo, "A" or "A,C"; NULL: job_arms.h */
    const struct job_links *links; /* where the links of a pair are; NULL otherwise */
};

/* Owned by job_measure_clear(); finding points into it. */
struct job_measured {
    struct job_finding finding;
    struct job_reading readings[JOB_MAX_PHOTOS];
    struct job_photo photos[2 * JOB_MAX_PHOTOS];
    struct job_budget_line budget[VISION_MAX_BUDGET];
    char terms[VISION_MAX_BUDGET][64];
    char *records[JOB_MAX_PHOTOS];
    char *names[JOB_MAX_PHOTOS], *picture_names[JOB_MAX_PHOTOS], *pictures[JOB_MAX_PHOTOS];
    char message[1024];       /* why each photo that is unsure is so */
    char arms[JOB_ARMS_SAID]; /* which arms were taken where nobody named them and there are others
                               */
};

/* Measures every photo. A photo without a number, a wrong number of photos or an arm that is not
 * there: prints why and answers the program's exit status; out is then empty. A photo that is
 * unsure of itself is taken, and the finding says so. */
int job_measure_photos(const struct job_measure_question *question, struct job_measured *out);
/* Removes the pictures and frees what belongs to out. */
void job_measure_clear(struct job_measured *measured);

#endif
