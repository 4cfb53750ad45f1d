/* What two job files differ in besides what was found (job_compare.h): the hardware at a station,
 * and how it stands. */
#ifndef JOB_OTHER_H
#define JOB_OTHER_H

#include "job_store.h"

/* Strings are borrowed from the views. */
struct job_other_fact {
    const char *key, *title, *name;
    const char *there, *here; /* "" where none is entered */
};
struct job_other_state {
    const char *key, *title;
    enum job_state there, here;
};
struct job_other {
    struct job_other_fact *facts;
    int fact_count;
    struct job_other_state *states; /* of stations done in both */
    int state_count;
    int fitted; /* stations with other hardware */
};

/* Stations are matched by key and kind, and come in the order of here. false when out of memory.
 * Free with job_other_clear(). */
bool job_other_find(const struct job_view *there, const struct job_view *here,
                    struct job_other *out);
void job_other_clear(struct job_other *other);

#endif
