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

/* The arm just read, and whether an older reading is of the same one. */
struct arm_search {
    struct photo_trace traces[JOB_MAX_READINGS];
    int count, found; /* -1: none yet */
};

/* false where a reading has no photo with its arm. */
static bool trace_of(const char *record, double value, struct photo_trace *out)
{
    struct vision_result result;
    int arm = measure_from_record(record, &result) ? measure_arm_read(&result, value) : -1;
    if (arm >= 0)
        *out = photo_trace_of(&result, &result.arms[arm]);
    return arm >= 0;
}

static bool compare_arm(void *context, const struct job_reading_row *row)
{
    struct arm_search *search = context;
    struct photo_trace old;
    if (!trace_of(row->record, row->value, &old))
        return true;
    for (int i = 0; i < search->count && search->found < 0; i++)
        if (photo_trace_same(&old, &search->traces[i]))
            search->found = i;
    return search->found < 0;
}

bool job_arm_seen(struct job *job, const struct job_view *view, const struct plan_station *station,
                  const struct job_measured *measured, struct job_arm_seen *out)
{
    struct arm_search search = {.found = -1};
    while (search.count < measured->finding.reading_count) {
        const struct job_reading *reading = &measured->readings[search.count];
        if (!trace_of(reading->record, reading->value, &search.traces[search.count]))
            return false;
        search.count++;
    }
    for (int i = 0; i < view->plan.count; i++) {
        int latest = view->standing[i].latest;
        if (&view->plan.stations[i] == station || latest < 0 ||
            view->events[latest].kind != JOB_MEASURED)
            continue;
        if (job_readings(job, view->events[latest].entry, compare_arm, &search) &&
            search.found >= 0) {
            *out = (struct job_arm_seen){search.found, i, view->events[latest].entry};
            return true;
        }
    }
    return false;
}
