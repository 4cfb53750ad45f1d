/* Writing into a job file. Whatever happens adds rows to the log; nothing is removed from it. */
#include "base/clean_text.h"
#include "base/input_file.h"
#include "job_sql.h"
#include "job_store.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <zlib.h>

#define PHOTO_MAX_BYTES (512LL << 20) /* as much as measuring reads of one file */

/* ---- Pieces of the log -------------------------------------------------------------------- */

/* Every row a command adds carries the number that its first one gets. */
static int64_t next_act(struct job *job)
{
    return job_number(job, 1, "SELECT max(id) + 1 FROM entry", "");
}

/* station 0: none. Answers the new row's number. */
static int64_t add_entry(struct job *job, const struct job_signature *by, int64_t act,
                         const char *kind, int64_t station, const char *note)
{
    job_run(job,
            "INSERT INTO entry (act, at, who, kind, station_id, note) "
            "VALUES (?1, ?2, shown(?3), ?4, nullif(?5, 0), shown(?6))",
            "itttit", act, by->at, by->who, kind, station, note ? note : "");
    return sqlite3_last_insert_rowid(job->db);
}

/* ---- Plans -------------------------------------------------------------------------------- */

static int64_t station_id(struct job *job, const char *key)
{
    return job_number(job, 0, "SELECT id FROM station WHERE key = ?1", "t", key);
}

static bool put_station(struct job *job, const struct plan_station *s, int place)
{
    const char *kind = plan_kind_word(s->kind);
    if (job_number(job, 0,
                   "SELECT count(*) FROM station s JOIN entry e ON e.station_id = s.id "
                   "WHERE s.key = ?1 AND s.kind <> ?2",
                   "tt", s->key, kind) > 0)
        return job_fail(job, JOB_KIND_CHANGED, s->key);
    return job_run(job,
                   "INSERT INTO station (place, key, kind, title, part, doing, target, tolerance) "
                   "VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8) ON CONFLICT (key) DO UPDATE SET "
                   "place = ?1, kind = ?3, title = ?4, part = ?5, doing = ?6, target = ?7, "
                   "tolerance = ?8",
                   "ittttt"
                   "dd",
                   (int64_t)place, s->key, kind, s->title, s->part, s->doing, s->target,
                   s->tolerance);
}

static bool put_belongings(struct job *job, const struct plan *plan, const struct plan_station *s)
{
    int64_t id = station_id(job, s->key);
    for (int i = 0; i < s->rests_on_count; i++)
        job_run(job, "INSERT INTO rests_on VALUES (?1, ?2)", "ii", id,
                station_id(job, plan->stations[s->rests_on[i]].key));
    for (int i = 0; i < s->fact_count; i++)
        job_run(job, "INSERT INTO fact VALUES (?1, ?2, ?3)", "itt", id, s->facts[i].name,
                s->facts[i].value);
    return job->trouble == JOB_OK;
}

/* Makes the tables say what the plan says. Stations it lacks lose their place and stay. */
static bool put_plan(struct job *job, const struct plan *plan)
{
    job_exec(job, "UPDATE station SET place = NULL; DELETE FROM rests_on; DELETE FROM fact;");
    for (int i = 0; i < plan->count; i++)
        put_station(job, &plan->stations[i], i);
    for (int i = 0; i < plan->count; i++)
        put_belongings(job, plan, &plan->stations[i]);
    return job_run(job, "UPDATE model SET plan_name = ?1, plan_about = ?2", "tt", plan->name,
                   plan->about);
}

bool job_fill(struct job *job, const struct job_signature *by, const char *model, bool invented,
              const struct plan *plan)
{
    if (!job_begin(job))
        return false;
    job_run(job, "INSERT INTO model VALUES (1, ?1, ?2, ?3, ?4)", "ttti", model, plan->name,
            plan->about, (int64_t)invented);
    put_plan(job, plan);
    add_entry(job, by, 1, "created", 0, "");
    return job_end(job, job->trouble == JOB_OK);
}

static bool add_refit(struct job *job, const struct job_signature *by, int64_t act, int64_t station,
                      const char *name, const char *before, const char *after, const char *note)
{
    int64_t entry = add_entry(job, by, act, "hardware", station, note);
    return job_run(job, "INSERT INTO refit VALUES (?1, ?2, ?3, ?4)", "ittt", entry, name, before,
                   after);
}

#define SCALE "degrees-per-percent"

/* Whether going from one value to another means another servo where one was measured. */
static bool is_new_servo(const char *name, const char *before, const char *after, bool done)
{
    return plan_fact_is_servo(name) && plan_fact_is_refit(name, before, after) && (*before || done);
}

/* The old servo's degrees per percent are not the new one's. */
static bool drop_scale(struct job *job, const struct job_signature *by, int64_t act,
                       int64_t station, const char *value)
{
    job_run(job, "DELETE FROM fact WHERE station_id = ?1 AND name = ?2", "it", station, SCALE);
    return add_refit(job, by, act, station, SCALE, value, "", "");
}

/* Logs what differs in hardware between two versions of one station. */
static void add_refits(struct job *job, const struct job_signature *by, int64_t act,
                       const struct plan_station *was, const struct plan_station *is, bool done)
{
    const char *name, *scale = plan_fact(is, SCALE), *old_scale = plan_fact(was, SCALE);
    bool new_servo = false;
    int64_t id = station_id(job, is->key);
    for (int i = 0; (name = plan_fact_name_at(i)); i++) {
        const char *before = plan_fact(was, name), *after = plan_fact(is, name);
        before = before ? before : "";
        after = after ? after : "";
        if (strcmp(before, after) != 0)
            add_refit(job, by, act, id, name, before, after, "");
        new_servo |= is_new_servo(name, before, after, done);
    }
    if (new_servo && scale && old_scale && strcmp(scale, old_scale) == 0)
        drop_scale(job, by, act, id, scale);
}

/* The plan as it goes in: a station for which it names no hardware keeps what was entered there,
 * for a ready-made plan knows nothing of the model. Free out with plan_clear(). */
static bool keep_facts(struct job *job, const struct plan *was, const struct plan *is,
                       struct plan *out)
{
    struct plan_trouble trouble;
    char *text = plan_write(is);
    *out = (struct plan){0};
    if (!text)
        return job_fail(job, JOB_NO_MEMORY, NULL);
    if (!plan_read_kept(text, out, &trouble))
        job_fail(job, JOB_NO_MEMORY, NULL);
    free(text);
    for (int i = 0; i < out->count; i++) {
        struct plan_station *to = &out->stations[i];
        int at = plan_find(was, to->key);
        if (at < 0 || to->fact_count || to->kind == PLAN_CONFIRM)
            continue;
        const struct plan_station *from = &was->stations[at];
        for (int f = 0; f < from->fact_count; f++)
            if (!plan_keep_fact(to, from->facts[f].name, from->facts[f].value, &trouble))
                return job_fail(job, JOB_NO_MEMORY, NULL);
    }
    return job->trouble == JOB_OK;
}

bool job_record_plan(struct job *job, const struct job_signature *by, const struct plan *given,
                     const char *note)
{
    struct job_view view = {0};
    struct plan plan = {0};
    char *before = NULL, *after = NULL;
    if (!job_begin(job))
        return false;
    if (!job_view_load(job, 0, &view))
        return job_end(job, false);
    int64_t act = next_act(job);
    keep_facts(job, &view.plan, given, &plan);
    before = plan_write(&view.plan);
    after = plan_write(&plan);
    if (!before || !after)
        job_fail(job, JOB_NO_MEMORY, NULL);
    put_plan(job, &plan);
    int64_t entry = add_entry(job, by, act, "plan", 0, note);
    job_run(job, "INSERT INTO replanned VALUES (?1, ?2, ?3)", "itt", entry, before, after);
    for (int i = 0; i < plan.count; i++) {
        int was = plan_find(&view.plan, plan.stations[i].key);
        if (was >= 0)
            add_refits(job, by, act, &view.plan.stations[was], &plan.stations[i],
                       view.standing[was].latest >= 0);
    }
    job_view_clear(&view);
    plan_clear(&plan);
    free(before);
    free(after);
    return job_end(job, job->trouble == JOB_OK);
}

/* ---- Photos ------------------------------------------------------------------------------- */

struct photo_sink {
    struct job *job;
    sqlite3_blob *blob;
    int at;
    uint32_t crc;
};

static bool sink(struct photo_sink *to, const void *bytes, size_t size)
{
    to->crc = (uint32_t)crc32(to->crc, bytes, (uInt)size);
    bool good = job_sqlite(to->job, sqlite3_blob_write(to->blob, bytes, (int)size, to->at));
    to->at += (int)size;
    return good;
}

static bool sink_memory(struct photo_sink *to, const unsigned char *bytes, size_t size)
{
    bool good = true;
    for (size_t at = 0; good && at < size; at += JOB_PIECE)
        good = sink(to, bytes + at, size - at < JOB_PIECE ? size - at : JOB_PIECE);
    return good;
}

/* Exactly size bytes: a file that grows or shrinks meanwhile is not a finished photo. */
static bool sink_file(struct photo_sink *to, FILE *from, int64_t size)
{
    unsigned char piece[JOB_PIECE];
    size_t length;
    while ((length = fread(piece, 1, sizeof piece, from)) > 0)
        if (to->at + (int64_t)length > size || !sink(to, piece, length))
            return false;
    return to->at == size && !ferror(from);
}

static bool fill(struct job *job, int64_t id, const struct job_photo *photo, FILE *from,
                 int64_t size, uint32_t *crc)
{
    struct photo_sink to = {.job = job};
    if (!job_run(job, "INSERT INTO photo_bytes VALUES (?1, ?2)", "iz", id, size) ||
        !job_sqlite(job,
                    sqlite3_blob_open(job->db, "main", "photo_bytes", "bytes", id, 1, &to.blob))) {
        sqlite3_blob_close(to.blob);
        return false;
    }
    bool good = from ? sink_file(&to, from, size) : sink_memory(&to, photo->bytes, (size_t)size);
    good = job_sqlite(job, sqlite3_blob_close(to.blob)) && good;
    *crc = to.crc;
    return good || job_fail(job, JOB_BAD_PHOTO, photo->name);
}

bool job_photo_fill(struct job *job, int64_t id, const struct job_photo *photo, int64_t *size,
                    uint32_t *crc)
{
    FILE *from = NULL;
    struct stat about;
    *size = (int64_t)photo->size;
    if (photo->path) {
        from = input_file_open(photo->path);
        if (!from || fstat(fileno(from), &about) != 0 || !S_ISREG(about.st_mode)) {
            if (from)
                fclose(from);
            return job_fail(job, JOB_BAD_PHOTO, photo->name);
        }
        *size = about.st_size;
    }
    bool good = (*size <= PHOTO_MAX_BYTES || job_fail(job, JOB_BAD_PHOTO, photo->name)) &&
                fill(job, id, photo, from, *size, crc);
    if (from)
        fclose(from);
    return good;
}

static bool add_photo(struct job *job, int64_t entry, const struct job_photo *photo)
{
    int64_t size = 0;
    uint32_t crc = 0;
    job_run(job,
            "INSERT INTO photo (entry_id, place, role, name, media, size, crc32) "
            "VALUES (?1, ?2, ?3, shown(?4), ?5, 0, 0)",
            "iittt", entry, (int64_t)photo->place, photo->role, photo->name, photo->media);
    int64_t id = sqlite3_last_insert_rowid(job->db);
    return job->trouble == JOB_OK && job_photo_fill(job, id, photo, &size, &crc) &&
           job_run(job, "UPDATE photo SET size = ?2, crc32 = ?3 WHERE id = ?1", "iii", id, size,
                   (int64_t)crc);
}

/* ---- What people record ------------------------------------------------------------------- */

/* Begins a transaction and checks that the station may be done. Answers its row number, 0 on
 * trouble (the transaction is then over). */
static int64_t begin_at(struct job *job, const char *key, bool confirmation)
{
    struct job_view view;
    int index = -1;
    int64_t id = 0;
    if (!job_begin(job))
        return 0;
    if (!job_view_load(job, 0, &view)) {
        job_end(job, false);
        return 0;
    }
    index = plan_find(&view.plan, key);
    if (index >= 0 && (view.plan.stations[index].kind == PLAN_CONFIRM) != confirmation)
        job_fail(job, confirmation ? JOB_TO_MEASURE : JOB_TO_CONFIRM, key);
    else if (job_may_do(job, &view, key, &index))
        id = view.station_ids[index];
    job_view_clear(&view);
    if (!id)
        job_end(job, false);
    return id;
}

static void add_parts(struct job *job, int64_t entry, const struct job_finding *f)
{
    for (int i = 0; i < f->reading_count; i++)
        job_run(job, "INSERT INTO reading VALUES (?1, ?2, ?3, ?4, ?5, ?6)", "iitddt", entry,
                (int64_t)i, f->readings[i].role, f->readings[i].value, f->readings[i].u,
                f->readings[i].record);
    for (int i = 0; i < f->budget_count; i++) {
        char type[2] = {f->budget[i].type, '\0'};
        job_run(job, "INSERT INTO budget VALUES (?1, ?2, ?3, ?4, ?5)", "iitdt", entry, (int64_t)i,
                f->budget[i].term, f->budget[i].u, type);
    }
    for (int i = 0; i < f->photo_count; i++)
        add_photo(job, entry, &f->photos[i]);
}

static bool words_fit(const struct job_finding *f)
{
    bool fit = text_is_utf8(f->method) && text_is_utf8(f->message);
    for (int i = 0; i < f->reading_count; i++)
        fit &= text_is_utf8(f->readings[i].role) && text_is_utf8(f->readings[i].record);
    for (int i = 0; i < f->budget_count; i++)
        fit &= text_is_utf8(f->budget[i].term);
    return fit;
}

/* Nothing goes in that could not be read again, or not be exported. */
static bool finding_fits(struct job *job, const struct job_finding *f)
{
    bool fits = job_finding_fits(f->value, f->u, f->coverage);
    for (int i = 0; i < f->reading_count; i++)
        fits &= job_finding_fits(f->readings[i].value, f->readings[i].u, f->coverage);
    for (int i = 0; i < f->budget_count; i++)
        fits &= job_finding_fits(0, f->budget[i].u, f->coverage);
    if (!fits)
        return job_fail(job, JOB_BAD_FINDING, NULL);
    return words_fit(f) || job_fail(job, JOB_PROGRAM_FAULT, "text that is not UTF-8");
}

bool job_record_finding(struct job *job, const struct job_signature *by, const char *key,
                        const struct job_finding *f, const char *note)
{
    int64_t station = finding_fits(job, f) ? begin_at(job, key, false) : 0;
    if (!station)
        return false;
    int64_t entry = add_entry(job, by, next_act(job), "measured", station, note);
    job_run(job, "INSERT INTO measurement VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)", "iddditt", entry,
            f->value, f->u, f->coverage, (int64_t)f->sure, f->method, f->message);
    add_parts(job, entry, f);
    return job_end(job, job->trouble == JOB_OK);
}

bool job_record_confirmation(struct job *job, const struct job_signature *by, const char *key,
                             bool holds, const char *note)
{
    int64_t station = begin_at(job, key, true);
    if (!station)
        return false;
    int64_t entry = add_entry(job, by, next_act(job), "confirmed", station, note);
    job_run(job, "INSERT INTO confirmation VALUES (?1, ?2)", "ii", entry, (int64_t)holds);
    return job_end(job, job->trouble == JOB_OK);
}

static bool change_fact(struct job *job, const struct job_signature *by, int64_t act,
                        int64_t station, const struct plan_station *s, const struct plan_fact *fact,
                        const char *note)
{
    const char *before = plan_fact(s, fact->name);
    struct plan_trouble trouble;
    bool taking_away = !*fact->value;
    if (s->kind == PLAN_CONFIRM && !taking_away) {
        snprintf(trouble.text, sizeof trouble.text,
                 "station \"%.60s\" is confirmed and has no hardware; enter it where something is "
                 "measured",
                 s->key);
        return job_fail(job, JOB_BAD_FACT, trouble.text);
    }
    if (!plan_fact_is_sound(fact->name, taking_away ? NULL : fact->value, &trouble))
        return job_fail(job, JOB_BAD_FACT, trouble.text);
    if (strcmp(before ? before : "", fact->value) == 0)
        return true;
    if (taking_away)
        job_run(job, "DELETE FROM fact WHERE station_id = ?1 AND name = ?2", "it", station,
                fact->name);
    else
        job_run(job, "INSERT OR REPLACE INTO fact VALUES (?1, ?2, ?3)", "itt", station, fact->name,
                fact->value);
    return add_refit(job, by, act, station, fact->name, before ? before : "", fact->value, note);
}

/* Which of two values was meant cannot be told. */
static bool each_name_once(struct job *job, const struct plan_fact *facts, int count)
{
    char text[80];
    for (int i = 1; i < count; i++)
        for (int j = 0; j < i; j++)
            if (strcmp(facts[i].name, facts[j].name) == 0) {
                snprintf(text, sizeof text, "hardware \"%.*s\" is given twice",
                         text_cut(facts[i].name, 40), facts[i].name);
                return job_fail(job, JOB_BAD_FACT, text);
            }
    return true;
}

/* Whether the old servo's degrees per percent stand, with a new servo told. */
static bool scale_is_old(const struct plan_station *s, const struct plan_fact *facts, int count,
                         bool done)
{
    bool new_servo = false;
    if (!plan_fact(s, SCALE))
        return false;
    for (int i = 0; i < count; i++) {
        const char *before = plan_fact(s, facts[i].name);
        new_servo |= is_new_servo(facts[i].name, before ? before : "", facts[i].value, done);
        if (strcmp(facts[i].name, SCALE) == 0)
            return false;
    }
    return new_servo;
}

bool job_record_facts(struct job *job, const struct job_signature *by, const char *key,
                      const struct plan_fact *facts, int count, const char *note)
{
    struct job_view view = {0};
    if (!each_name_once(job, facts, count) || !job_begin(job))
        return false;
    if (!job_view_load(job, 0, &view))
        return job_end(job, false);
    int index = plan_find(&view.plan, key);
    if (index < 0)
        job_fail(job, JOB_NO_STATION, key);
    int64_t act = next_act(job);
    for (int i = 0; i < count && job->trouble == JOB_OK; i++)
        change_fact(job, by, act, view.station_ids[index], &view.plan.stations[index], &facts[i],
                    note);
    const struct plan_station *s = index >= 0 ? &view.plan.stations[index] : NULL;
    if (job->trouble == JOB_OK && s &&
        scale_is_old(s, facts, count, view.standing[index].latest >= 0))
        drop_scale(job, by, act, view.station_ids[index], plan_fact(s, SCALE));
    job_view_clear(&view);
    return job_end(job, job->trouble == JOB_OK);
}

static bool is_named(const char *key, const char *const *keys, int count)
{
    for (int i = 0; i < count; i++)
        if (strcmp(key, keys[i]) == 0)
            return true;
    return count == 0;
}

bool job_record_recheck(struct job *job, const struct job_signature *by, const char *const *keys,
                        int count, const char *note, int *marked)
{
    struct job_view view = {0};
    *marked = 0;
    if (!job_begin(job))
        return false;
    if (!job_view_load(job, 0, &view))
        return job_end(job, false);
    for (int i = 0; i < count; i++)
        if (plan_find(&view.plan, keys[i]) < 0)
            job_fail(job, JOB_NO_STATION, keys[i]);
    int64_t act = next_act(job);
    for (int i = 0; i < view.plan.count && job->trouble == JOB_OK; i++)
        if (view.standing[i].latest >= 0 && is_named(view.plan.stations[i].key, keys, count)) {
            add_entry(job, by, act, "recheck", view.station_ids[i], note);
            ++*marked;
        }
    job_view_clear(&view);
    return job_end(job, job->trouble == JOB_OK);
}

bool job_record_note(struct job *job, const struct job_signature *by, const char *key,
                     const char *text)
{
    if (!job_begin(job))
        return false;
    int64_t station = key ? station_id(job, key) : 0;
    if (key && !station)
        job_fail(job, JOB_NO_STATION, key);
    add_entry(job, by, next_act(job), "note", station, text);
    return job_end(job, job->trouble == JOB_OK);
}

bool job_record_mark(struct job *job, const struct job_signature *by, const char *name,
                     const char *note)
{
    if (!job_begin(job))
        return false;
    if (job_number(job, 0,
                   "SELECT count(*) FROM mark k JOIN entry e ON e.id = k.entry_id "
                   "WHERE k.name = ?1 AND e.withdrawn_by IS NULL",
                   "t", name) > 0)
        job_fail(job, JOB_SAME_MARK, name);
    int64_t entry = add_entry(job, by, next_act(job), "mark", 0, note);
    job_run(job, "INSERT INTO mark VALUES (?1, ?2)", "it", entry, name);
    return job_end(job, job->trouble == JOB_OK);
}

/* ---- Undo --------------------------------------------------------------------------------- */

/* Puts the plan back as it stood before an act that replaced it; nothing when it did not. */
static bool restore_plan(struct job *job, int64_t act)
{
    struct plan plan;
    struct plan_trouble trouble;
    char *text =
        job_text(job,
                 "SELECT shown(r.before) FROM replanned r JOIN entry e ON e.id = r.entry_id "
                 "WHERE e.act = ?1",
                 "i", act);
    if (!text)
        return job->trouble == JOB_OK;
    if (plan_read_kept(text, &plan, &trouble)) {
        put_plan(job, &plan);
        plan_clear(&plan);
    } else {
        job_fail(job, JOB_DAMAGED, trouble.text);
    }
    free(text);
    return job->trouble == JOB_OK;
}

/* Puts single facts back; an act that replaced the plan has done so already. Older jobs may hold
 * one fact twice in an act: the first row of it (the bare columns of a min() are those of its row,
 * sqlite.org/lang_select.html) tells what stood before. */
static bool restore_facts(struct job *job, int64_t act)
{
    return job_run(job,
                   "DELETE FROM fact WHERE (station_id, name) IN (SELECT e.station_id, r.name "
                   "FROM refit r JOIN entry e ON e.id = r.entry_id WHERE e.act = ?1)",
                   "i", act) &&
           job_run(job,
                   "INSERT INTO fact SELECT station_id, name, before FROM "
                   "(SELECT e.station_id, r.name, r.before, min(e.id) FROM refit r "
                   "JOIN entry e ON e.id = r.entry_id WHERE e.act = ?1 "
                   "GROUP BY e.station_id, r.name) WHERE before <> ''",
                   "i", act);
}

bool job_undo(struct job *job, const struct job_signature *by, int64_t *undo)
{
    if (!job_begin(job))
        return false;
    int64_t act = job_number(job, 0,
                             "SELECT max(act) FROM entry WHERE withdrawn_by IS NULL AND kind IN "
                             "('measured', 'confirmed', 'hardware', 'recheck', 'plan', 'note', "
                             "'mark')",
                             "");
    if (!act) {
        job_fail(job, JOB_NOTHING_LEFT, NULL);
        return job_end(job, false);
    }
    if (job_number(job, 0, "SELECT count(*) FROM entry WHERE id = ?1", "i", act) == 0)
        job_fail(job, JOB_DAMAGED, "the newest entries belong to one that is not there");
    *undo = add_entry(job, by, next_act(job), "undo", 0, "");
    job_run(job, "UPDATE entry SET withdrawn_by = ?2 WHERE act = ?1", "ii", act, *undo);
    restore_facts(job, act);
    restore_plan(job, act);
    return job_end(job, job->trouble == JOB_OK);
}
