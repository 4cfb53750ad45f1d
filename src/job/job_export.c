/* Writing an export. */
#include "job_export.h"

#include "arithmetic/quantity.h"
#include "base/clean_text.h"
#include "base/drafts.h"
#include "base/file_mode.h"
#include "job_advice.h"
#include "job_sql.h"
#include "job_tables.h"

#include <errno.h>
#include <fcntl.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* The shortest decimal that reads back to the same double. */
static void put_number(FILE *to, double value)
{
    char text[32];
    for (int digits = 15; digits <= 17; digits++) {
        snprintf(text, sizeof text, "%.*g", digits, value);
        if (strtod(text, NULL) == value)
            break;
    }
    fputs(text, to);
}

/* ---- JSON --------------------------------------------------------------------------------- */

/* JSON has no bytes that are not UTF-8. Jobs may hold some, which earlier versions took in and
 * history never gives up: they go as every other answer shows them. */
static bool put_string(struct job *job, FILE *to, const char *text)
{
    char *clean = text_is_utf8(text) ? NULL : clean_lines(text);
    json_t *string = json_string(clean ? clean : text);
    bool good = string && json_dumpf(string, to, JSON_ENCODE_ANY) == 0;
    json_decref(string);
    free(clean);
    return good || job_fail(job, JOB_NO_MEMORY, NULL);
}

static bool put_value(struct job *job, FILE *to, sqlite3_stmt *s, int column)
{
    switch (sqlite3_column_type(s, column)) {
    case SQLITE_INTEGER:
        fprintf(to, "%lld", (long long)sqlite3_column_int64(s, column));
        return true;
    case SQLITE_FLOAT:
        put_number(to, sqlite3_column_double(s, column));
        return true;
    case SQLITE_TEXT:
        return put_string(job, to, (const char *)sqlite3_column_text(s, column));
    default:
        fputs("null", to);
        return true;
    }
}

/* One table: its name and an array with a line for each row. */
static bool put_table(struct job *job, FILE *to, const struct job_table *table)
{
    char sql[512] = "SELECT ";
    size_t used = strlen(sql);
    for (int c = 0; table->columns[c]; c++)
        used += (size_t)snprintf(sql + used, sizeof sql - used, "%s%s", c ? ", " : "",
                                 table->columns[c]);
    snprintf(sql + used, sizeof sql - used, " FROM %s ORDER BY %s", table->name, table->order);
    sqlite3_stmt *s = job_query(job, sql, "");
    fprintf(to, ",\n\"%s\": [", table->name);
    for (int row = 0; job_row(job, s); row++) {
        fputs(row ? ",\n  {" : "\n  {", to);
        for (int c = 0; table->columns[c]; c++) {
            fprintf(to, "%s\"%s\": ", c ? ", " : "", table->columns[c]);
            put_value(job, to, s, c);
        }
        fputc('}', to);
    }
    fputs("\n]", to);
    return job_finish(job, s);
}

static bool put_json(struct job *job, FILE *to, const struct job_view *view)
{
    (void)view;
    fprintf(to, "{\n\"format\": \"%s\",\n\"version\": %d", JOB_EXPORT_FORMAT, job_version_now());
    bool good = true;
    for (int i = 0; good && job_table_at(i); i++)
        good = put_table(job, to, job_table_at(i));
    fputs("\n}\n", to);
    return good;
}

/* ---- CSV (RFC 4180) ----------------------------------------------------------------------- */

static void put_cell(FILE *to, const char *text)
{
    if (!text[strcspn(text, ",\"\r\n")]) {
        fputs(text, to);
        return;
    }
    fputc('"', to);
    for (; *text; text++) {
        if (*text == '"')
            fputc('"', to);
        fputc(*text, to);
    }
    fputc('"', to);
}

static void put_owned_cell(FILE *to, char *text)
{
    fputc(',', to);
    put_cell(to, text ? text : "");
    free(text);
}

static void put_number_cell(FILE *to, bool there, double value)
{
    fputc(',', to);
    if (there)
        put_number(to, value);
}

/* For people, in digits that rounding errors do not reach: 90.1 - 90 is 0.1. */
static void put_figure_cell(FILE *to, bool there, double value)
{
    fputc(',', to);
    if (there)
        fprintf(to, "%.9g", quantity_rounded(value, 9));
}

static void put_text_cell(FILE *to, const char *text)
{
    fputc(',', to);
    put_cell(to, text);
}

static bool put_stations(struct job *job, FILE *to, const struct job_view *view)
{
    fputs("place,key,part,title,kind,unit,target,tolerance,state,found,off,u,U,why,action\r\n", to);
    for (int i = 0; i < view->plan.count; i++) {
        const struct plan_station *s = &view->plan.stations[i];
        const struct job_standing *standing = &view->standing[i];
        const struct job_event *e = standing->latest >= 0 ? &view->events[standing->latest] : NULL;
        bool measured = e && e->kind == JOB_MEASURED;
        fprintf(to, "%d", i + 1);
        put_text_cell(to, s->key);
        put_text_cell(to, s->part);
        put_text_cell(to, s->title);
        put_text_cell(to, plan_kind_word(s->kind));
        put_text_cell(to, plan_kind_unit(s->kind));
        put_figure_cell(to, s->kind != PLAN_CONFIRM, s->target);
        put_figure_cell(to, s->kind != PLAN_CONFIRM, s->tolerance);
        put_text_cell(to, job_state_words(standing->state));
        put_figure_cell(to, measured, measured ? e->value : 0);
        put_figure_cell(to, measured, standing->off);
        put_figure_cell(to, measured, measured ? e->u : 0);
        put_figure_cell(to, measured, measured ? e->coverage * e->u : 0);
        put_owned_cell(to, job_why_words(job, view, i, JOB_DATA));
        put_owned_cell(to, job_advice_words(job, view, i, JOB_DATA));
        fputs("\r\n", to);
    }
    return job->trouble == JOB_OK;
}

static bool put_measurements(struct job *job, FILE *to, const struct job_view *view)
{
    struct job_log_row row;
    (void)view;
    struct job_log *log = job_log_open(job, NULL);
    fputs("entry,at,who,key,kind,value,u,coverage,sure,method,note,withdrawn_by\r\n", to);
    while (log && job_log_next(log, &row)) {
        if (strcmp(row.kind, "measured") != 0)
            continue;
        fprintf(to, "%lld", (long long)row.id);
        put_text_cell(to, row.at);
        put_text_cell(to, row.who);
        put_text_cell(to, row.key);
        put_text_cell(to, row.station_kind);
        put_number_cell(to, true, row.value);
        put_number_cell(to, true, row.u);
        put_number_cell(to, true, row.coverage);
        put_text_cell(to, row.sure ? "yes" : "no");
        put_text_cell(to, row.method);
        put_text_cell(to, row.note);
        put_number_cell(to, row.withdrawn_by != 0, (double)row.withdrawn_by);
        fputs("\r\n", to);
    }
    return job_log_close(log);
}

/* ---- The folder --------------------------------------------------------------------------- */

/* Closes a file and says whether all of it was written. */
static bool finish_file(struct job *job, FILE *to, const char *name)
{
    bool good = !ferror(to) && fflush(to) == 0;
    good = fclose(to) == 0 && good;
    return good || job_fail(job, JOB_NOT_WRITTEN, name);
}

static bool write_file(struct job *job, struct draft_folder *folder, const char *name,
                       const struct job_view *view,
                       bool (*put)(struct job *job, FILE *to, const struct job_view *view))
{
    FILE *to = draft_folder_open(folder, name);
    if (!to)
        return job_fail(job, JOB_NOT_WRITTEN, name);
    bool good = put(job, to, view);
    return finish_file(job, to, name) && good;
}

struct photo_writer {
    struct job *job;
    struct draft_folder *folder;
    FILE *to;
};

static bool write_piece(void *context, const void *bytes, size_t size)
{
    struct photo_writer *writer = context;
    return fwrite(bytes, 1, size, writer->to) == size;
}

static bool write_photo(void *context, const struct job_photo_row *row)
{
    struct photo_writer *writer = context;
    char name[48];
    job_photo_file(name, row->id, row->role, row->media);
    writer->to = draft_folder_open(writer->folder, name);
    if (!writer->to)
        return job_fail(writer->job, JOB_NOT_WRITTEN, name);
    bool good = job_photo_stream(writer->job, row->id, write_piece, writer);
    return finish_file(writer->job, writer->to, name) && good;
}

static bool write_all(struct job *job, struct draft_folder *folder)
{
    struct job_view view;
    struct photo_writer writer = {job, folder, NULL};
    if (!job_begin_reading(job))
        return false;
    if (!job_view_load(job, 0, &view))
        return job_end(job, false);
    bool good = draft_folder_add(folder, "photos") ||
                job_fail(job, JOB_NOT_WRITTEN, draft_folder_place(folder));
    good = good && write_file(job, folder, "job.json", &view, put_json) &&
           write_file(job, folder, "stations.csv", &view, put_stations) &&
           write_file(job, folder, "measurements.csv", &view, put_measurements) &&
           job_photos(job, 0, write_photo, &writer);
    job_view_clear(&view);
    return job_end(job, good);
}

/* All of it on disk, then under its name. */
static bool place_folder(struct job *job, const char *draft, const char *folder)
{
    int fd = open(draft, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    bool good = fd >= 0 && syncfs(fd) == 0;
    if (fd >= 0)
        close(fd);
    good = good && chmod(draft, file_mode(0777)) == 0 && rename(draft, folder) == 0;
    if (!good)
        job_fail(job,
                 errno == ENOTEMPTY || errno == EEXIST || errno == ENOTDIR ? JOB_EXISTS
                                                                           : JOB_NOT_WRITTEN,
                 folder);
    return good;
}

bool job_export(struct job *job, const char *folder)
{
    char *place = NULL;
    size_t length = strlen(folder);
    while (length > 1 && folder[length - 1] == '/')
        length--;
    if (asprintf(&place, "%.*s.XXXXXX", (int)length, folder) < 0)
        return job_fail(job, JOB_NO_MEMORY, NULL);
    struct draft_folder *draft = draft_folder_new(place);
    free(place);
    if (!draft)
        return job_fail(job, JOB_NOT_WRITTEN, folder);
    bool good = write_all(job, draft) && place_folder(job, draft_folder_place(draft), folder);
    draft_folder_end(draft, good);
    return good;
}
