/* Inside the job file only: SQL in one line. Every function leaves trouble in the job's handle and
 * does nothing once there is some, so a run of calls needs one check at its end. */
#ifndef JOB_SQL_H
#define JOB_SQL_H

#include "job_file.h"

#include <sqlite3.h>

struct job {
    sqlite3 *db;
    char *path;    /* as the person named it */
    char *draft;   /* where a new job is being made; NULL for an opened one */
    char *journal; /* where the draft's journal comes and goes */
    bool writing;  /* opened for writing */
    bool in_write; /* the transaction that runs is a writer's */
    bool recorded; /* see job_recorded() */
    int version_found;
    enum job_result trouble;
    char detail[256];
};

/* Records trouble, keeping the first. Always false. */
bool job_fail(struct job *job, enum job_result trouble, const char *detail);
/* The same, the detail as printf() makes it. */
__attribute__((format(printf, 3, 4))) bool job_fail_as(struct job *job, enum job_result trouble,
                                                       const char *format, ...);
/* The same for what SQLite answered; true for SQLITE_OK, SQLITE_ROW and SQLITE_DONE. */
bool job_sqlite(struct job *job, int answer);

/* Gives SQL the function shown(text): the text as a terminal and a page may get it, line ends and
 * tabs kept and whatever else is unfit made '?' (clean_lines). For each text that comes from
 * outside, on its way in and on its way out: a file may come from elsewhere. */
bool job_sql_functions(struct job *job);

/* Runs statements that need no values. */
bool job_exec(struct job *job, const char *sql);
/* Prepares a statement and binds values by types: 'i' int64_t, 'd' double, 't' text (NULL is
 * NULL), 'z' int64_t length of a blob of zeros. Text is borrowed until the statement is reset.
 * NULL on trouble; else end with job_finish(). */
sqlite3_stmt *job_query(struct job *job, const char *sql, const char *types, ...);
/* Steps; true while there is a row. */
bool job_row(struct job *job, sqlite3_stmt *statement);
/* Finalizes; NULL is harmless. true when there is no trouble. */
bool job_finish(struct job *job, sqlite3_stmt *statement);
/* job_query, to its end, and job_finish. */
bool job_run(struct job *job, const char *sql, const char *types, ...);
/* The first column of the first row; otherwise when there is no row or it is NULL. */
int64_t job_number(struct job *job, int64_t otherwise, const char *sql, const char *types, ...);
/* The same for text; a copy that the caller frees. NULL when there is none. */
char *job_text(struct job *job, const char *sql, const char *types, ...);
/* A copy of a column's text, "" for NULL. NULL (trouble) when out of memory. */
char *job_column_copy(struct job *job, sqlite3_stmt *statement, int column);

struct job_photo;
/* Stores a photo's bytes under its row's number, from its file or from memory, piece by piece, and
 * answers how many there were and their CRC-32 (as in PNG and ZIP). */
bool job_photo_fill(struct job *job, int64_t id, const struct job_photo *photo, int64_t *size,
                    uint32_t *crc);

#endif
