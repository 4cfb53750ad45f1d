/* Reading a job file. Writing is in job_record.c. */
#include "job_store.h"

#include "base/input_file.h"
#include "job_sql.h"

#include <pwd.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <zlib.h>

static const char *login_name(void)
{
    const char *name = getenv("ARMSQUARE_WHO");
    if (name && *name)
        return name;
    const struct passwd *entry = getpwuid(getuid());
    return entry ? entry->pw_name : "unknown";
}

struct job_signature job_sign(const char *who)
{
    struct job_signature by = {.who = who ? who : login_name()};
    utc_now_text(by.at);
    return by;
}

/* A text, "" where there is none. */
static const char *column(sqlite3_stmt *statement, int index)
{
    const char *text = (const char *)sqlite3_column_text(statement, index);
    return text ? text : "";
}

/* ---- The view ----------------------------------------------------------------------------- */

void job_view_clear(struct job_view *view)
{
    plan_clear(&view->plan);
    free(view->model);
    free(view->station_ids);
    free(view->events);
    free(view->standing);
    *view = (struct job_view){0};
}

static bool load_model(struct job *job, struct job_view *view)
{
    sqlite3_stmt *s = job_query(
        job, "SELECT shown(name), shown(plan_name), shown(plan_about), invented FROM model", "");
    if (job_row(job, s)) {
        view->model = job_column_copy(job, s, 0);
        view->plan.name = job_column_copy(job, s, 1);
        view->plan.about = job_column_copy(job, s, 2);
        view->invented = sqlite3_column_int(s, 3) != 0;
    } else {
        job_fail(job, JOB_DAMAGED, NULL);
    }
    return job_finish(job, s);
}

static void load_station(struct job *job, sqlite3_stmt *s, struct plan_station *to)
{
    const char *kind = (const char *)sqlite3_column_text(s, 2);
    to->key = job_column_copy(job, s, 1);
    if (!kind || !plan_kind_by_word(kind, &to->kind))
        job_fail(job, JOB_DAMAGED, NULL);
    to->title = job_column_copy(job, s, 3);
    to->part = job_column_copy(job, s, 4);
    to->doing = job_column_copy(job, s, 5);
    to->target = sqlite3_column_double(s, 6);
    to->tolerance = sqlite3_column_double(s, 7);
}

static bool load_stations(struct job *job, struct job_view *view)
{
    int count = (int)job_number(job, 0, "SELECT count(*) FROM station WHERE place NOT NULL", "");
    view->plan.stations = calloc((size_t)count + 1, sizeof *view->plan.stations);
    view->station_ids = calloc((size_t)count + 1, sizeof *view->station_ids);
    view->standing = calloc((size_t)count + 1, sizeof *view->standing);
    if (!view->plan.stations || !view->station_ids || !view->standing)
        return job_fail(job, JOB_NO_MEMORY, NULL);
    sqlite3_stmt *s =
        job_query(job,
                  "SELECT id, key, kind, shown(title), shown(part), shown(doing), target, "
                  "tolerance FROM station WHERE place NOT NULL ORDER BY place",
                  "");
    while (view->plan.count < count && job_row(job, s)) {
        int at = view->plan.count++;
        view->station_ids[at] = sqlite3_column_int64(s, 0);
        load_station(job, s, &view->plan.stations[at]);
    }
    return job_finish(job, s);
}

/* Index of a station by its row number, -1 when it is not in the plan. */
static int station_index(const struct job_view *view, int64_t id)
{
    /* Plans are entered in order, so the number is nearly always place + 1. */
    if (id >= 1 && id <= view->plan.count && view->station_ids[id - 1] == id)
        return (int)id - 1;
    for (int i = 0; i < view->plan.count; i++)
        if (view->station_ids[i] == id)
            return i;
    return -1;
}

static bool load_rests(struct job *job, struct job_view *view)
{
    sqlite3_stmt *s = job_query(job,
                                "SELECT r.station_id, r.on_id FROM rests_on r JOIN station o "
                                "ON o.id = r.on_id ORDER BY r.station_id, o.place",
                                "");
    while (job_row(job, s)) {
        int station = station_index(view, sqlite3_column_int64(s, 0));
        int on = station_index(view, sqlite3_column_int64(s, 1));
        if (station < 0 || on < 0 || on >= station) {
            job_fail(job, JOB_DAMAGED, NULL);
            break;
        }
        struct plan_station *to = &view->plan.stations[station];
        int *grown = realloc(to->rests_on, (size_t)(to->rests_on_count + 1) * sizeof *grown);
        if (!grown) {
            job_fail(job, JOB_NO_MEMORY, NULL);
            break;
        }
        to->rests_on = grown;
        grown[to->rests_on_count++] = on;
    }
    return job_finish(job, s);
}

static bool load_facts(struct job *job, struct job_view *view)
{
    struct plan_trouble trouble;
    sqlite3_stmt *s = job_query(job, "SELECT station_id, name, shown(value) FROM fact", "");
    while (job_row(job, s)) {
        int station = station_index(view, sqlite3_column_int64(s, 0));
        const char *name = (const char *)sqlite3_column_text(s, 1);
        const char *value = (const char *)sqlite3_column_text(s, 2);
        if (station >= 0 && (!name || !value ||
                             !plan_keep_fact(&view->plan.stations[station], name, value, &trouble)))
            job_fail(job, JOB_DAMAGED, NULL);
    }
    return job_finish(job, s);
}

static bool event_kind_by_word(const char *word, enum job_event_kind *kind)
{
    static const char *const words[JOB_EVENT_KIND_COUNT] = {[JOB_MEASURED] = "measured",
                                                            [JOB_CONFIRMED] = "confirmed",
                                                            [JOB_REFITTED] = "hardware",
                                                            [JOB_RECHECK] = "recheck"};
    for (int k = 0; k < JOB_EVENT_KIND_COUNT; k++)
        if (word && strcmp(word, words[k]) == 0) {
            *kind = (enum job_event_kind)k;
            return true;
        }
    return false;
}

static bool add_event(struct job *job, struct job_view *view, const struct job_event *event,
                      size_t *room)
{
    if ((size_t)view->event_count == *room) {
        size_t wanted = *room ? *room * 2 : 64;
        struct job_event *grown = realloc(view->events, wanted * sizeof *grown);
        if (!grown)
            return job_fail(job, JOB_NO_MEMORY, NULL);
        view->events = grown;
        *room = wanted;
    }
    view->events[view->event_count++] = *event;
    return true;
}

/* Of the record of an entry's first photo; all its photos are measured alike. NULL without one. */
#define OF_RECORD(what)                                                                            \
    "(SELECT " what " FROM reading g WHERE g.entry_id = e.id AND g.place = 0 "                     \
    "AND json_valid(g.record))"
#define REFERENCE_OF_ENTRY OF_RECORD("json_extract(g.record, '$.reference.kind')")
#define STICKERS_OF_ENTRY OF_RECORD("json_type(g.record, '$.stickers')")

static bool load_events(struct job *job, int64_t until, struct job_view *view)
{
    size_t room = 0;
    sqlite3_stmt *s = job_query(
        job,
        "SELECT e.id, e.kind, e.station_id, m.value, m.u, m.coverage, m.sure, c.holds, r.name, "
        "r.before, r.after, shown(e.at), " REFERENCE_OF_ENTRY ", " STICKERS_OF_ENTRY
        " FROM entry e LEFT JOIN measurement m ON m.entry_id = e.id "
        "LEFT JOIN confirmation c ON c.entry_id = e.id LEFT JOIN refit r ON r.entry_id = e.id "
        "WHERE e.kind IN ('measured', 'confirmed', 'hardware', 'recheck') AND e.id <= ?1 "
        "AND (e.withdrawn_by IS NULL OR e.withdrawn_by > ?1) ORDER BY e.id",
        "i", until);
    while (job_row(job, s)) {
        struct job_event event = {.entry = sqlite3_column_int64(s, 0)};
        event.station = station_index(view, sqlite3_column_int64(s, 2));
        if (!event_kind_by_word((const char *)sqlite3_column_text(s, 1), &event.kind) ||
            event.station < 0)
            continue; /* a station that left the plan */
        if (event.kind == JOB_REFITTED &&
            !plan_fact_is_refit(column(s, 8), column(s, 9), column(s, 10)))
            continue; /* nothing else is fitted: only more is known */
        snprintf(event.at, sizeof event.at, "%s", column(s, 11));
        event.first = !*column(s, 9);
        event.servo = plan_fact_is_servo(column(s, 8));
        event.value = sqlite3_column_double(s, 3);
        event.u = sqlite3_column_double(s, 4);
        event.coverage = sqlite3_column_double(s, 5);
        event.sure = sqlite3_column_int(s, 6) != 0;
        event.holds = sqlite3_column_int(s, 7) != 0;
        event.has_reference = sqlite3_column_type(s, 12) == SQLITE_TEXT;
        event.reference = reference_by_name(column(s, 12));
        event.of_sticker = sqlite3_column_type(s, 13) == SQLITE_TEXT;
        if (event.kind == JOB_MEASURED && !job_finding_fits(event.value, event.u, event.coverage))
            job_fail(job, JOB_DAMAGED, "the numbers of an entry are no measurement");
        add_event(job, view, &event, &room);
    }
    return job_finish(job, s);
}

/* Plans come in through plan_read(), unless the file comes from elsewhere. */
static bool check_plan(struct job *job, const struct plan *plan)
{
    struct plan_trouble trouble;
    return plan_is_sound(plan, &trouble) || job_fail(job, JOB_DAMAGED, trouble.text);
}

bool job_view_load(struct job *job, int64_t until, struct job_view *out)
{
    *out = (struct job_view){0};
    /* One state throughout, unless the caller holds a transaction already. */
    bool own = job->trouble == JOB_OK && sqlite3_get_autocommit(job->db);
    bool good = !own || job_begin_reading(job);
    out->newest = until ? until : job_number(job, 0, "SELECT max(id) FROM entry", "");
    good = good && load_model(job, out) && load_stations(job, out) && load_rests(job, out) &&
           load_facts(job, out) && check_plan(job, &out->plan) &&
           load_events(job, out->newest, out);
    if (own)
        good = job_end(job, good) && good;
    if (good && !job_replay(&out->plan, out->events, out->event_count, out->standing))
        good = job_fail(job, JOB_NO_MEMORY, NULL);
    if (!good)
        job_view_clear(out);
    return good;
}

bool job_may_do(struct job *job, const struct job_view *view, const char *key, int *index)
{
    *index = plan_find(&view->plan, key);
    if (*index < 0)
        return job_fail(job, JOB_NO_STATION, key);
    int start = *index, below;
    while ((below = view->standing[start].blocker) >= 0)
        start = below; /* always a station higher up, so this ends */
    return start == *index || job_fail(job, JOB_NOT_READY, view->plan.stations[start].key);
}

/* ---- The log ------------------------------------------------------------------------------ */

struct job_log {
    struct job *job;
    sqlite3_stmt *statement;
    char *key;
};

struct job_log *job_log_open(struct job *job, const char *key)
{
    struct job_log *log = calloc(1, sizeof *log);
    if (!log || !(log->key = strdup(key ? key : ""))) {
        free(log);
        job_fail(job, JOB_NO_MEMORY, NULL);
        return NULL;
    }
    if (*log->key &&
        !job_number(job, 0, "SELECT count(*) FROM station WHERE key = ?1", "t", log->key)) {
        job_fail(job, JOB_NO_STATION, log->key);
        free(log->key);
        free(log);
        return NULL;
    }
    log->job = job;
    log->statement = job_query(
        job,
        "SELECT e.id, e.act, e.withdrawn_by, shown(e.at), shown(e.who), shown(e.note), "
        "shown(e.kind), shown(s.key), shown(s.title), s.kind, m.value, m.u, m.coverage, m.sure, "
        "shown(m.method), shown(m.message), c.holds, shown(r.name), shown(r.before), "
        "shown(r.after), shown(k.name), CASE e.kind WHEN 'undo' THEN (SELECT min(w.id) FROM "
        "entry w WHERE w.withdrawn_by = e.id) END, " REFERENCE_OF_ENTRY
        " FROM entry e LEFT JOIN station s ON s.id = "
        "e.station_id "
        "LEFT JOIN measurement m ON m.entry_id = e.id "
        "LEFT JOIN confirmation c ON c.entry_id = e.id LEFT JOIN refit r ON r.entry_id = e.id "
        "LEFT JOIN mark k ON k.entry_id = e.id WHERE ?1 = '' OR s.key = ?1 ORDER BY e.id",
        "t", log->key);
    return log;
}

bool job_log_next(struct job_log *log, struct job_log_row *out)
{
    sqlite3_stmt *s = log->statement;
    if (!job_row(log->job, s))
        return false;
    *out = (struct job_log_row){
        .id = sqlite3_column_int64(s, 0),
        .act = sqlite3_column_int64(s, 1),
        .withdrawn_by = sqlite3_column_int64(s, 2),
        .at = column(s, 3),
        .who = column(s, 4),
        .note = column(s, 5),
        .kind = column(s, 6),
        .key = column(s, 7),
        .title = column(s, 8),
        .station_kind = column(s, 9),
        .value = sqlite3_column_double(s, 10),
        .u = sqlite3_column_double(s, 11),
        .coverage = sqlite3_column_double(s, 12),
        .sure = sqlite3_column_int(s, 13) != 0,
        .method = column(s, 14),
        .message = column(s, 15),
        .holds = sqlite3_column_int(s, 16) != 0,
        .fact = column(s, 17),
        .before = column(s, 18),
        .after = column(s, 19),
        .mark = column(s, 20),
        .withdraws = sqlite3_column_int64(s, 21),
        .reference = reference_by_name(column(s, 22)),
    };
    return true;
}

bool job_log_close(struct job_log *log)
{
    if (!log)
        return false;
    bool good = job_finish(log->job, log->statement);
    free(log->key);
    free(log);
    return good;
}

/* ---- What belongs to a measurement -------------------------------------------------------- */

bool job_readings(struct job *job, int64_t entry,
                  bool (*take)(void *context, const struct job_reading_row *row), void *context)
{
    sqlite3_stmt *s = job_query(job,
                                "SELECT place, shown(role), value, u, record FROM reading "
                                "WHERE entry_id = ?1 ORDER BY place",
                                "i", entry);
    while (job_row(job, s)) {
        struct job_reading_row row = {
            .place = sqlite3_column_int(s, 0),
            .role = column(s, 1),
            .value = sqlite3_column_double(s, 2),
            .u = sqlite3_column_double(s, 3),
            .record = column(s, 4),
        };
        if (!take(context, &row))
            break;
    }
    return job_finish(job, s);
}

bool job_measurement_words(struct job *job, int64_t entry, char **method, char **message)
{
    *method = *message = NULL;
    sqlite3_stmt *s =
        job_query(job, "SELECT shown(method), shown(message) FROM measurement WHERE entry_id = ?1",
                  "i", entry);
    if (job_row(job, s)) {
        *method = job_column_copy(job, s, 0);
        *message = job_column_copy(job, s, 1);
    }
    return job_finish(job, s) && *method && *message;
}

char *job_note_of(struct job *job, int64_t entry)
{
    return job_text(job, "SELECT shown(note) FROM entry WHERE id = ?1", "i", entry);
}

char *job_notes_at(struct job *job, const char *key)
{
    return job_text(job,
                    "SELECT coalesce(group_concat(note, '; '), '') FROM (SELECT shown(e.note) AS "
                    "note FROM entry e JOIN station s ON s.id = e.station_id WHERE s.key = ?1 AND "
                    "e.kind = 'note' AND e.withdrawn_by IS NULL ORDER BY e.id)",
                    "t", key);
}

bool job_refit(struct job *job, int64_t entry, struct job_refit *out)
{
    *out = (struct job_refit){0};
    sqlite3_stmt *s = job_query(job,
                                "SELECT shown(name), shown(before), shown(after) FROM refit "
                                "WHERE entry_id = ?1",
                                "i", entry);
    if (job_row(job, s)) {
        out->name = job_column_copy(job, s, 0);
        out->before = job_column_copy(job, s, 1);
        out->after = job_column_copy(job, s, 2);
    }
    return job_finish(job, s) && out->name;
}

void job_refit_clear(struct job_refit *refit)
{
    free(refit->name);
    free(refit->before);
    free(refit->after);
    *refit = (struct job_refit){0};
}

bool job_budget(struct job *job, int64_t entry,
                bool (*take)(void *context, const struct job_budget_line *line), void *context)
{
    sqlite3_stmt *s =
        job_query(job, "SELECT shown(term), u, type FROM budget WHERE entry_id = ?1 ORDER BY place",
                  "i", entry);
    while (job_row(job, s)) {
        struct job_budget_line line = {column(s, 0), sqlite3_column_double(s, 1), *column(s, 2)};
        if (!take(context, &line))
            break;
    }
    return job_finish(job, s);
}

bool job_photos(struct job *job, int64_t entry,
                bool (*take)(void *context, const struct job_photo_row *row), void *context)
{
    sqlite3_stmt *s =
        job_query(job,
                  "SELECT id, entry_id, size, crc32, place, role, shown(name), shown(media) "
                  "FROM photo WHERE ?1 = 0 OR entry_id = ?1 "
                  "ORDER BY entry_id, place, role DESC",
                  "i", entry);
    while (job_row(job, s)) {
        struct job_photo_row row = {
            .id = sqlite3_column_int64(s, 0),
            .entry = sqlite3_column_int64(s, 1),
            .size = sqlite3_column_int64(s, 2),
            .crc32 = (uint32_t)sqlite3_column_int64(s, 3),
            .place = sqlite3_column_int(s, 4),
            .role = column(s, 5),
            .name = column(s, 6),
            .media = column(s, 7),
        };
        if (!take(context, &row))
            break;
    }
    return job_finish(job, s);
}

int64_t job_photo_length(struct job *job, int64_t photo)
{
    return job_number(job, 0, "SELECT length(bytes) FROM photo_bytes WHERE photo_id = ?1", "i",
                      photo);
}

bool job_photo_stream(struct job *job, int64_t photo,
                      bool (*take)(void *context, const void *bytes, size_t size), void *context)
{
    unsigned char piece[JOB_PIECE];
    sqlite3_blob *blob = NULL;
    bool going =
        job->trouble == JOB_OK && job_sqlite(job, sqlite3_blob_open(job->db, "main", "photo_bytes",
                                                                    "bytes", photo, 0, &blob));
    int size = going ? sqlite3_blob_bytes(blob) : 0;
    for (int at = 0; going && at < size; at += JOB_PIECE) {
        int length = size - at < JOB_PIECE ? size - at : JOB_PIECE;
        going = job_sqlite(job, sqlite3_blob_read(blob, piece, length, at)) &&
                take(context, piece, (size_t)length);
    }
    sqlite3_blob_close(blob);
    return going;
}

int64_t job_photo_find(struct job *job, const char *key, const char *path)
{
    unsigned char piece[JOB_PIECE];
    int64_t size = 0;
    uLong crc = crc32(0, NULL, 0);
    FILE *from = input_file_open(path);
    size_t length;
    while (from && (length = fread(piece, 1, sizeof piece, from)) > 0) {
        crc = crc32(crc, piece, (uInt)length);
        size += (int64_t)length;
    }
    bool whole = from && !ferror(from);
    if (from)
        fclose(from);
    if (!whole)
        return 0;
    return job_number(job, 0,
                      "SELECT max(e.id) FROM photo p JOIN entry e ON e.id = p.entry_id "
                      "JOIN station s ON s.id = e.station_id WHERE s.key = ?1 "
                      "AND p.role = 'taken' AND p.size = ?2 AND p.crc32 = ?3 "
                      "AND e.withdrawn_by IS NULL",
                      "tii", key, size, (int64_t)crc);
}

int64_t job_mark_find(struct job *job, const char *name)
{
    int64_t entry = job_number(job, 0,
                               "SELECT k.entry_id FROM mark k JOIN entry e ON e.id = k.entry_id "
                               "WHERE k.name = ?1 AND e.withdrawn_by IS NULL",
                               "t", name);
    if (!entry)
        job_fail(job, JOB_NO_MARK, name);
    return entry;
}
