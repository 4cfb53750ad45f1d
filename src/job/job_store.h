/* What a job file holds, read (job_store.c) and written (job_record.c). With job_schema.c, which
 * makes the tables, and job_tables.c, which lists them for export and import, the only places that
 * know them. */
#ifndef JOB_STORE_H
#define JOB_STORE_H

#include "base/utc_clock.h"
#include "job_file.h"
#include "job_state.h"

#include <stddef.h>

/* Who did it and when: UTC, "2026-03-01T14:05:00Z". */
struct job_signature {
    const char *who;
    char at[UTC_TEXT];
};

/* Now (utc_now_text), by who; NULL takes ARMSQUARE_WHO, else the login name. who is borrowed. */
struct job_signature job_sign(const char *who);

/* ---- Reading ------------------------------------------------------------------------------ */

/* A job as it stands. events[i].station and standing[s] use the indexes of plan.stations. */
struct job_view {
    char *model;
    bool invented; /* a demonstration with made-up data */
    struct plan plan;
    int64_t *station_ids;
    struct job_event *events;
    int event_count;
    struct job_standing *standing;
    int64_t newest; /* number of the newest entry seen */
};

/* Loads the job as it stood after entry number until (0: now), with today's plan. false leaves
 * out zeroed. Free with job_view_clear(). Reads no photos, so it costs the same with or without. */
bool job_view_load(struct job *job, int64_t until, struct job_view *out);
void job_view_clear(struct job_view *view);

/* One line of the log. Text is borrowed until the next call; "" where a column does not apply. */
struct job_log_row {
    int64_t id, act, withdrawn_by; /* withdrawn_by 0: it counts */
    int64_t withdraws;             /* "undo": the first entry it took back; 0 otherwise */
    const char *at, *who, *note;
    const char *kind; /* "created", "measured", "confirmed", "hardware", "recheck", "plan", "note",
                         "mark", "undo", "imported" */
    const char *key, *title, *station_kind; /* "" when it concerns no station */
    double value, u, coverage;              /* measured */
    bool sure, holds;
    const char *method, *message;
    enum vision_reference_kind reference; /* measured: as in job_event */
    const char *fact, *before, *after;    /* hardware */
    const char *mark;
};

struct job_log;
/* Opens the log, oldest first; key NULL for all stations and what concerns none. NULL on trouble:
 * JOB_NO_STATION where the job never had one of that key. */
struct job_log *job_log_open(struct job *job, const char *key);
bool job_log_next(struct job_log *log, struct job_log_row *out);
/* false when reading failed on the way. NULL is harmless. */
bool job_log_close(struct job_log *log);

struct job_reading_row {
    int place;
    const char *role, *record; /* borrowed until the next row */
    double value, u;
};
/* Calls take for every reading of a measurement, in order, until it answers false. */
bool job_readings(struct job *job, int64_t entry,
                  bool (*take)(void *context, const struct job_reading_row *row), void *context);

/* How a measurement was made ("photo", "by eye", "calipers") and what it said of itself, "" when it
 * was sure. Copies that the caller frees, also after false. */
bool job_measurement_words(struct job *job, int64_t entry, char **method, char **message);

/* The note beside an entry, "" where there is none; a copy that the caller frees. NULL on trouble.
 */
char *job_note_of(struct job *job, int64_t entry);

/* The notes at a station, oldest first, "; " between them; a copy that the caller frees, "" where
 * there are none. NULL on trouble. */
char *job_notes_at(struct job *job, const char *key);

/* What an entry of hardware changed; before and after are "" where nothing was, or is, entered. */
struct job_refit {
    char *name, *before, *after;
};
/* false when the entry changed none. Free with job_refit_clear(), also after false. */
bool job_refit(struct job *job, int64_t entry, struct job_refit *out);
void job_refit_clear(struct job_refit *refit);

struct job_budget_line {
    const char *term;
    double u;
    char type; /* 'A' or 'B' */
};
bool job_budget(struct job *job, int64_t entry,
                bool (*take)(void *context, const struct job_budget_line *line), void *context);

struct job_photo_row {
    int64_t id, entry, size; /* size: as recorded; what there is tells job_photo_length() */
    uint32_t crc32;
    int place;
    const char *role, *name, *media; /* borrowed until the next row */
};
/* Photos of one measurement (entry 0: of all), in order of entry, place, role. */
bool job_photos(struct job *job, int64_t entry,
                bool (*take)(void *context, const struct job_photo_row *row), void *context);
/* How many bytes of a photo are there, whatever its row says of them; 0 where there are none. */
int64_t job_photo_length(struct job *job, int64_t photo);
/* Hands over a photo's bytes piece by piece, at most JOB_PIECE bytes each; never the whole. */
#define JOB_PIECE 65536
bool job_photo_stream(struct job *job, int64_t photo,
                      bool (*take)(void *context, const void *bytes, size_t size), void *context);

/* Entry in which the station was measured from a photo with the same bytes as this file (size and
 * CRC-32, which the job keeps of each photo); 0 when there is none, or only one withdrawn, or the
 * file cannot be read. */
int64_t job_photo_find(struct job *job, const char *key, const char *path);

/* Entry number that a mark names, 0 (JOB_NO_MARK) when there is none. */
int64_t job_mark_find(struct job *job, const char *name);

/* ---- Writing ------------------------------------------------------------------------------ */
/* Each is one transaction: whole on disk when it answers true, and otherwise not there at all. */

struct job_reading {
    const char *role; /* "arm", "first", "second", "one end", "other end", "neutral", "link" */
    double value, u;
    const char *record; /* measurement of its photo as JSON; "" when read by eye */
};

/* A photo to keep. Either path (read in pieces) or bytes. */
struct job_photo {
    int place;        /* index of its reading */
    const char *role; /* "taken" or "annotated" */
    const char *name, *media;
    const char *path;
    const void *bytes;
    size_t size;
};

struct job_finding {
    double value, u, coverage;
    bool sure;
    const char *method, *message;
    const struct job_reading *readings;
    int reading_count;
    const struct job_budget_line *budget;
    int budget_count;
    const struct job_photo *photos;
    int photo_count;
};

/* Fills a job just made by job_create(). plan is borrowed. */
bool job_fill(struct job *job, const struct job_signature *by, const char *model, bool invented,
              const struct plan *plan);
bool job_record_finding(struct job *job, const struct job_signature *by, const char *key,
                        const struct job_finding *finding, const char *note);
bool job_record_confirmation(struct job *job, const struct job_signature *by, const char *key,
                             bool holds, const char *note);
/* name and value pairs; an empty value takes the fact away. Degrees per percent of a servo that is
 * there no longer are taken away with it. */
bool job_record_facts(struct job *job, const struct job_signature *by, const char *key,
                      const struct plan_fact *facts, int count, const char *note);
/* What is done at the stations named (count 0: at all) is to be done again. *marked: how many that
 * are; where there are none, nothing is recorded. */
bool job_record_recheck(struct job *job, const struct job_signature *by, const char *const *keys,
                        int count, const char *note, int *marked);
/* Another plan takes the place of the present one. Stations it lacks leave the order, but what was
 * found at them stays in the log. Where it names no hardware, what was entered at the station
 * stays. */
bool job_record_plan(struct job *job, const struct job_signature *by, const struct plan *plan,
                     const char *note);
/* key NULL: about the job as a whole. */
bool job_record_note(struct job *job, const struct job_signature *by, const char *key,
                     const char *text);
/* Names the present state, to compare with later. */
bool job_record_mark(struct job *job, const struct job_signature *by, const char *name,
                     const char *note);
/* Withdraws the newest act that still counts. *undo: the entry that does so; the log names it in
 * withdrawn_by of what it took back. */
bool job_undo(struct job *job, const struct job_signature *by, int64_t *undo);

/* Whether a station may be done now; JOB_NO_STATION, JOB_NOT_READY otherwise. *index is set. */
bool job_may_do(struct job *job, const struct job_view *view, const char *key, int *index);

#endif
