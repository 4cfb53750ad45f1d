#include "job_rows.h"

#include "base/clean_text.h"
#include "base/utc_clock.h"
#include "job_finding.h"
#include "job_sql.h"
#include "job_store.h"

#include <stdio.h>
#include <stdlib.h>
#include <zlib.h>

/* The rows of one command carry the number of its first: undo goes by it. */
static bool acts_fit(struct job *job)
{
    int64_t act = job_number(job, 0,
                             "SELECT act FROM (SELECT act, min(id) AS first FROM entry "
                             "GROUP BY act) WHERE act <> first",
                             "");
    return act ? job_fail_as(job, JOB_UNFIT, "no entry of act %lld has its number", (long long)act)
               : job->trouble == JOB_OK;
}

static bool times_fit(struct job *job)
{
    sqlite3_stmt *s = job_query(job, "SELECT at, id FROM entry", "");
    while (job_row(job, s)) {
        const char *at = (const char *)sqlite3_column_text(s, 0);
        if (at && !utc_is_text(at))
            job_fail_as(job, JOB_UNFIT, "the time of entry %lld is none, \"%.*s\"",
                        (long long)sqlite3_column_int64(s, 1), text_cut(at, 40), at);
    }
    return job_finish(job, s);
}

/* Of withdrawn measurements too, which no view of the job holds. */
static bool numbers_fit(struct job *job)
{
    int64_t entry = job_number(
        job, 0,
        "SELECT entry_id FROM measurement WHERE abs(value) > ?1 OR u > ?1 OR coverage > ?2 UNION "
        "SELECT entry_id FROM reading WHERE abs(value) > ?1 OR abs(u) > ?1 UNION "
        "SELECT entry_id FROM budget WHERE abs(u) > ?1 LIMIT 1",
        "dd", JOB_VALUE_MOST, JOB_COVERAGE_MOST);
    return entry ? job_fail_as(job, JOB_UNFIT, "the numbers of entry %lld are no measurement",
                               (long long)entry)
                 : job->trouble == JOB_OK;
}

/* An entry without what its kind tells would be taken for one that tells zero. */
static bool entries_are_whole(struct job *job)
{
    int64_t entry = job_number(
        job, 0,
        "SELECT e.id FROM entry e LEFT JOIN measurement m ON m.entry_id = e.id "
        "LEFT JOIN confirmation c ON c.entry_id = e.id LEFT JOIN refit r ON r.entry_id = e.id "
        "LEFT JOIN replanned p ON p.entry_id = e.id LEFT JOIN mark k ON k.entry_id = e.id "
        "WHERE (e.kind = 'measured') <> (m.entry_id NOT NULL) "
        "OR (e.kind = 'confirmed') <> (c.entry_id NOT NULL) "
        "OR (e.kind = 'hardware') <> (r.entry_id NOT NULL) "
        "OR (e.kind = 'plan') <> (p.entry_id NOT NULL) "
        "OR (e.kind = 'mark') <> (k.entry_id NOT NULL) ORDER BY e.id LIMIT 1",
        "");
    return entry ? job_fail_as(job, JOB_UNFIT, "entry %lld has not what its kind of entry tells",
                               (long long)entry)
                 : job->trouble == JOB_OK;
}

struct entry_readings {
    struct job_reading of[JOB_MAX_READINGS];
    int count;
};

static bool take_reading(void *context, const struct job_reading_row *row)
{
    struct entry_readings *all = context;
    if (all->count < JOB_MAX_READINGS)
        all->of[all->count] =
            (struct job_reading){"", row->value, row->u, *row->record ? "{}" : ""};
    all->count++;
    return true;
}

/* A number changed by hand in one place would make a report that contradicts itself. */
static bool findings_follow(struct job *job)
{
    sqlite3_stmt *s = job_query(job,
                                "SELECT m.entry_id, m.value, m.u, s.kind FROM measurement m "
                                "JOIN entry e ON e.id = m.entry_id "
                                "LEFT JOIN station s ON s.id = e.station_id",
                                "");
    while (job_row(job, s)) {
        struct entry_readings all = {.count = 0};
        int64_t entry = sqlite3_column_int64(s, 0);
        const char *word = (const char *)sqlite3_column_text(s, 3);
        enum plan_kind kind;
        if (job_readings(job, entry, take_reading, &all) &&
            !(word && plan_kind_by_word(word, &kind) &&
              job_finding_follows(kind, all.of, all.count, sqlite3_column_double(s, 1),
                                  sqlite3_column_double(s, 2))))
            job_fail_as(job, JOB_UNFIT, "what entry %lld found does not follow from its readings",
                        (long long)entry);
    }
    return job_finish(job, s);
}

/* What stood before is put back by undo: it must be fit to. */
static bool facts_fit(struct job *job)
{
    struct plan scratch = {.stations = calloc(1, sizeof *scratch.stations), .count = 1};
    struct plan_trouble trouble;
    if (!scratch.stations)
        return job_fail(job, JOB_NO_MEMORY, NULL);
    sqlite3_stmt *s = job_query(job,
                                "SELECT r.name, r.before, e.station_id, e.id FROM refit r "
                                "JOIN entry e ON e.id = r.entry_id",
                                "");
    while (job_row(job, s)) {
        const char *name = (const char *)sqlite3_column_text(s, 0);
        const char *before = (const char *)sqlite3_column_text(s, 1);
        if (sqlite3_column_type(s, 2) == SQLITE_NULL)
            job_fail_as(job, JOB_UNFIT, "entry %lld changes hardware at no station",
                        (long long)sqlite3_column_int64(s, 3));
        else if (!plan_fact_is_sound(name, NULL, &trouble) ||
                 (*before && !plan_keep_fact(scratch.stations, name, before, &trouble)))
            job_fail_as(job, JOB_UNFIT, "entry %lld: %s", (long long)sqlite3_column_int64(s, 3),
                        trouble.text);
    }
    plan_clear(&scratch);
    return job_finish(job, s);
}

static bool plans_fit(struct job *job)
{
    struct plan plan;
    struct plan_trouble trouble;
    sqlite3_stmt *s = job_query(job, "SELECT before, entry_id FROM replanned", "");
    while (job_row(job, s))
        if (plan_read_kept((const char *)sqlite3_column_text(s, 0), &plan, &trouble))
            plan_clear(&plan);
        else
            job_fail_as(job, JOB_UNFIT, "the plan before entry %lld: %s",
                        (long long)sqlite3_column_int64(s, 1), trouble.text);
    return job_finish(job, s);
}

bool job_rows_fit(struct job *job)
{
    return acts_fit(job) && times_fit(job) && entries_are_whole(job) && numbers_fit(job) &&
           findings_follow(job) && facts_fit(job) && plans_fit(job);
}

/* ---- Photos ------------------------------------------------------------------------------- */

static bool add_piece(void *context, const void *bytes, size_t size)
{
    uLong *crc = context;
    *crc = crc32(*crc, bytes, (uInt)size);
    return true;
}

static bool photo_fits(void *context, const struct job_photo_row *row)
{
    struct job *job = context;
    uLong crc = crc32(0, NULL, 0);
    bool fits = job_photo_length(job, row->id) == row->size &&
                job_photo_stream(job, row->id, add_piece, &crc) && crc == row->crc32;
    return fits ||
           job_fail_as(job, JOB_UNFIT,
                       "the %s photo \"%.*s\" of entry %lld is not as it was recorded", row->role,
                       text_cut(row->name, 80), row->name, (long long)row->entry);
}

bool job_photos_fit(struct job *job)
{
    return job_photos(job, 0, photo_fits, job);
}
