#include "job_copy.h"

#include "measure/same_photo.h"
#include "result/measure_json.h"

/* The photos just measured, and which of them an older reading was taken from. Both sides as
 * records keep them. */
struct search {
    struct vision_result results[JOB_MAX_PHOTOS]; /* without arms: like no other photo */
    int found;                                    /* -1: none yet */
};

static bool compare(void *context, const struct job_reading_row *row)
{
    struct search *search = context;
    struct vision_result old;
    (void)measure_from_record(row->record, &old);
    for (int i = 0; i < JOB_MAX_PHOTOS && search->found < 0; i++)
        if (same_measured(&old, &search->results[i]))
            search->found = i;
    return search->found < 0;
}

int64_t job_copy_find(struct job *job, const struct job_view *view,
                      const struct plan_station *station, const struct job_measured *measured,
                      int *which)
{
    struct search search = {.found = -1};
    for (int i = 0; i < JOB_MAX_PHOTOS; i++)
        (void)measure_from_record(measured->records[i], &search.results[i]);
    for (int i = 0; i < view->event_count; i++) {
        const struct job_event *event = &view->events[i];
        if (event->kind != JOB_MEASURED || &view->plan.stations[event->station] != station)
            continue;
        if (job_readings(job, event->entry, compare, &search) && search.found >= 0) {
            *which = search.found;
            return event->entry;
        }
    }
    return 0;
}
