/* Reading an export back. */
#include "base/clean_text.h"
#include "job_export.h"
#include "job_rows.h"
#include "job_sql.h"
#include "job_tables.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static int bind(sqlite3_stmt *s, int index, const json_t *value)
{
    if (json_is_integer(value))
        return sqlite3_bind_int64(s, index, json_integer_value(value));
    if (json_is_real(value))
        return sqlite3_bind_double(s, index, json_real_value(value));
    if (json_is_string(value))
        return sqlite3_bind_text(s, index, json_string_value(value), -1, SQLITE_STATIC);
    return sqlite3_bind_null(s, index);
}

/* The tables' own rules (types, checks, references) refuse rows that make no sense. */
static bool put_row(struct job *job, sqlite3_stmt *s, const struct job_table *table,
                    const json_t *row, size_t number)
{
    int answer = SQLITE_OK;
    sqlite3_reset(s);
    for (int c = 0; table->columns[c] && answer == SQLITE_OK; c++) {
        const json_t *value = json_object_get(row, table->columns[c]);
        if (!value || json_is_array(value) || json_is_object(value) || json_is_boolean(value))
            return job_fail_as(job, JOB_BAD_EXPORT, "\"%s\" row %zu in job.json lacks \"%s\"",
                               table->name, number + 1, table->columns[c]);
        if (json_is_string(value) && !text_is_clean_lines(json_string_value(value)))
            return job_fail_as(job, JOB_BAD_EXPORT,
                               "\"%s\" row %zu in job.json has control characters in \"%s\"",
                               table->name, number + 1, table->columns[c]);
        answer = bind(s, c + 1, value);
    }
    if (answer == SQLITE_OK)
        answer = sqlite3_step(s);
    if ((answer & 0xFF) == SQLITE_CONSTRAINT || (answer & 0xFF) == SQLITE_MISMATCH)
        return job_fail_as(job, JOB_BAD_EXPORT, "\"%s\" row %zu in job.json does not fit (%s)",
                           table->name, number + 1, sqlite3_errmsg(job->db));
    return job_sqlite(job, answer);
}

static bool put_table(struct job *job, const json_t *all, const struct job_table *table)
{
    char sql[512];
    size_t used = (size_t)snprintf(sql, sizeof sql, "INSERT INTO %s (", table->name);
    const json_t *rows = json_object_get(all, table->name), *row;
    size_t number;
    int count = 0;
    if (!json_is_array(rows))
        return table->since > json_integer_value(json_object_get(all, "version")) ||
               job_fail_as(job, JOB_BAD_EXPORT, "job.json has no list \"%s\"", table->name);
    for (; table->columns[count]; count++)
        used += (size_t)snprintf(sql + used, sizeof sql - used, "%s%s", count ? ", " : "",
                                 table->columns[count]);
    used += (size_t)snprintf(sql + used, sizeof sql - used, ") VALUES (?");
    for (int c = 1; c < count; c++)
        used += (size_t)snprintf(sql + used, sizeof sql - used, ", ?");
    snprintf(sql + used, sizeof sql - used, ")");
    sqlite3_stmt *s = job_query(job, sql, "");
    json_array_foreach((json_t *)rows, number,
                       row) if (!s || !put_row(job, s, table, row, number)) break;
    return job_finish(job, s);
}

struct photo_list {
    struct job *job;
    const char *folder;
};

/* The bytes of one photo; they must be those that were exported. */
static bool put_photo(struct job *job, const char *folder, const struct job_photo_row *row)
{
    char name[48], *path = NULL;
    int64_t size = 0;
    uint32_t crc = 0;
    job_photo_file(name, row->id, row->role, row->media);
    if (asprintf(&path, "%s/%s", folder, name) < 0)
        return job_fail(job, JOB_NO_MEMORY, NULL);
    if (access(path, R_OK) != 0) {
        free(path);
        return job_fail_as(job, JOB_BAD_EXPORT, "%s is missing", name);
    }
    struct job_photo photo = {row->place, row->role, name, row->media, path, NULL, 0};
    bool good = job_photo_fill(job, row->id, &photo, &size, &crc);
    free(path);
    if (good && (size != row->size || crc != row->crc32))
        return job_fail_as(job, JOB_BAD_EXPORT, "%s is not the photo that was exported", name);
    return good;
}

static bool take_photo(void *context, const struct job_photo_row *row)
{
    struct photo_list *list = context;
    return put_photo(list->job, list->folder, row);
}

static bool put_all(struct job *job, const char *folder, const json_t *all)
{
    struct photo_list list = {job, folder};
    struct job_view view;
    if (!job_begin(job) || !job_exec(job, "PRAGMA defer_foreign_keys = ON"))
        return job_end(job, false);
    bool good = true;
    for (int i = 0; good && job_table_at(i); i++)
        good = put_table(job, all, job_table_at(i));
    good = good && job_rows_fit(job) && job_photos(job, 0, take_photo, &list);
    /* What cannot be shown must not be taken in. */
    if (good && job_view_load(job, 0, &view))
        job_view_clear(&view);
    else
        good = false;
    if (job->trouble == JOB_DAMAGED || job->trouble == JOB_UNFIT) {
        char why[sizeof job->detail];
        snprintf(why, sizeof why, "%s", job->detail);
        job_clear_trouble(job);
        job_fail_as(job, JOB_BAD_EXPORT, "what job.json says does not fit together%s%s",
                    *why ? ": " : "", why);
    }
    good = job_end(job, good && job->trouble == JOB_OK);
    if (!good && job->trouble == JOB_PROGRAM_FAULT) { /* the references, which a commit checks */
        job_clear_trouble(job);
        job_fail_as(job, JOB_BAD_EXPORT, "job.json refers to rows that it does not hold");
    }
    return good;
}

/* Reads job.json and checks what it says it is. NULL with the reason. */
static json_t *load(const char *folder, enum job_result *result, char *detail, size_t size)
{
    char *path = NULL;
    json_error_t error;
    *result = JOB_NO_MEMORY;
    if (asprintf(&path, "%s/job.json", folder) < 0)
        return NULL;
    json_t *all = json_load_file(path, JSON_REJECT_DUPLICATES, &error);
    const char *format = json_string_value(json_object_get(all, "format"));
    *result = JOB_BAD_EXPORT;
    if (!all && access(path, R_OK) != 0)
        snprintf(detail, size, "there is no job.json in it");
    else if (!all)
        snprintf(detail, size, "job.json, line %d: %.*s", error.line,
                 text_cut(error.text, sizeof error.text), error.text);
    else if (!format || strcmp(format, JOB_EXPORT_FORMAT) != 0)
        snprintf(detail, size, "job.json is not an export of a job");
    else if (json_integer_value(json_object_get(all, "version")) > job_version_now())
        *result = JOB_NEWER;
    else
        *result = JOB_OK;
    free(path);
    if (*result == JOB_OK)
        return all;
    json_decref(all);
    return NULL;
}

enum job_result job_import(const char *folder, const char *path, char *detail, size_t size)
{
    enum job_result result;
    struct job *job;
    json_t *all = load(folder, &result, detail, size);
    if (!all)
        return result;
    result = job_create(path, &job);
    if (result == JOB_OK) {
        put_all(job, folder, all);
        snprintf(detail, size, "%s", job_trouble_detail(job));
        result = job_publish(job);
    }
    json_decref(all);
    return result;
}
