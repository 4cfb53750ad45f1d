#include "job_sql.h"

#include "base/clean_text.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool job_fail(struct job *job, enum job_result trouble, const char *detail)
{
    if (job->trouble == JOB_OK) {
        job->trouble = trouble;
        snprintf(job->detail, sizeof job->detail, "%s", detail ? detail : "");
        job->detail[text_cut(job->detail, sizeof job->detail)] = '\0';
    }
    return false;
}

bool job_fail_as(struct job *job, enum job_result trouble, const char *format, ...)
{
    char text[200];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    text[text_cut(text, sizeof text)] = '\0';
    return job_fail(job, trouble, text);
}

static bool means_full(int number)
{
    return number == EFBIG || number == ENOSPC || number == EDQUOT;
}

/* SQLite says "disk I/O error" for a limit on file size and a full quota; the system's own number
 * tells them from a broken disk. It is kept with the file, or with the journal. */
static enum job_result io_trouble(sqlite3 *db)
{
    int main_file = 0, journal_file = 0, last = sqlite3_system_errno(db);
    sqlite3_file *journal = NULL;
    sqlite3_file_control(db, "main", SQLITE_FCNTL_LAST_ERRNO, &main_file);
    sqlite3_file_control(db, "main", SQLITE_FCNTL_JOURNAL_POINTER, &journal);
    if (journal && journal->pMethods)
        journal->pMethods->xFileControl(journal, SQLITE_FCNTL_LAST_ERRNO, &journal_file);
    if (means_full(last) || means_full(main_file) || means_full(journal_file))
        return JOB_FULL;
    return last == EROFS || last == EACCES ? JOB_READ_ONLY : JOB_DISK_FAULT;
}

bool job_sqlite(struct job *job, int answer)
{
    switch (answer & 0xFF) {
    case SQLITE_OK:
    case SQLITE_ROW:
    case SQLITE_DONE:
        return true;
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return job_fail(job, JOB_BUSY, NULL);
    case SQLITE_FULL:
        return job_fail(job, JOB_FULL, NULL);
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_CANTOPEN: /* the journal cannot be made beside the file */
        return job_fail(job, JOB_READ_ONLY, NULL);
    case SQLITE_NOTADB:
        return job_fail(job, JOB_FOREIGN, NULL);
    case SQLITE_NOMEM:
        return job_fail(job, JOB_NO_MEMORY, NULL);
    case SQLITE_IOERR:
        return job_fail(job, io_trouble(job->db), NULL);
    case SQLITE_CONSTRAINT: /* what was asked goes against the tables' own rules */
    case SQLITE_MISMATCH:
    case SQLITE_MISUSE:
    case SQLITE_RANGE:
    case SQLITE_TOOBIG:
        return job_fail(job, JOB_PROGRAM_FAULT, sqlite3_errmsg(job->db));
    default: /* CORRUPT; and ERROR, which tables that are not ours make of a statement that is */
        return job_fail(job, JOB_DAMAGED, sqlite3_errmsg(job->db));
    }
}

static void shown(sqlite3_context *answer, int count, sqlite3_value **values)
{
    (void)count;
    const char *text = (const char *)sqlite3_value_text(values[0]);
    char *clean = NULL;
    if (!text || text_is_clean_lines(text))
        sqlite3_result_value(answer, values[0]);
    else if ((clean = clean_lines(text)))
        sqlite3_result_text(answer, clean, -1, free);
    else
        sqlite3_result_error_nomem(answer);
}

bool job_sql_functions(struct job *job)
{
    return job_sqlite(job, sqlite3_create_function_v2(job->db, "shown", 1,
                                                      SQLITE_UTF8 | SQLITE_DETERMINISTIC, NULL,
                                                      shown, NULL, NULL, NULL));
}

bool job_exec(struct job *job, const char *sql)
{
    return job->trouble == JOB_OK && job_sqlite(job, sqlite3_exec(job->db, sql, NULL, NULL, NULL));
}

static int bind_one(sqlite3_stmt *statement, int index, char type, va_list *values)
{
    switch (type) {
    case 'i':
        return sqlite3_bind_int64(statement, index, va_arg(*values, int64_t));
    case 'd':
        return sqlite3_bind_double(statement, index, va_arg(*values, double));
    case 't':
        return sqlite3_bind_text(statement, index, va_arg(*values, const char *), -1,
                                 SQLITE_STATIC);
    case 'z':
        return sqlite3_bind_zeroblob64(statement, index, (sqlite3_uint64)va_arg(*values, int64_t));
    default:
        return SQLITE_MISUSE;
    }
}

static sqlite3_stmt *query(struct job *job, const char *sql, const char *types, va_list *values)
{
    sqlite3_stmt *statement = NULL;
    if (job->trouble != JOB_OK)
        return NULL;
    int answer = sqlite3_prepare_v2(job->db, sql, -1, &statement, NULL);
    for (int i = 0; answer == SQLITE_OK && types[i]; i++)
        answer = bind_one(statement, i + 1, types[i], values);
    if (job_sqlite(job, answer))
        return statement;
    sqlite3_finalize(statement);
    return NULL;
}

sqlite3_stmt *job_query(struct job *job, const char *sql, const char *types, ...)
{
    va_list values;
    va_start(values, types);
    sqlite3_stmt *statement = query(job, sql, types, &values);
    va_end(values);
    return statement;
}

bool job_row(struct job *job, sqlite3_stmt *statement)
{
    if (!statement || job->trouble != JOB_OK)
        return false;
    int answer = sqlite3_step(statement);
    return job_sqlite(job, answer) && answer == SQLITE_ROW;
}

bool job_finish(struct job *job, sqlite3_stmt *statement)
{
    sqlite3_finalize(statement);
    return job->trouble == JOB_OK;
}

bool job_run(struct job *job, const char *sql, const char *types, ...)
{
    va_list values;
    va_start(values, types);
    sqlite3_stmt *statement = query(job, sql, types, &values);
    va_end(values);
    while (job_row(job, statement))
        continue;
    return job_finish(job, statement);
}

int64_t job_number(struct job *job, int64_t otherwise, const char *sql, const char *types, ...)
{
    va_list values;
    va_start(values, types);
    sqlite3_stmt *statement = query(job, sql, types, &values);
    va_end(values);
    int64_t number = otherwise;
    if (job_row(job, statement) && sqlite3_column_type(statement, 0) != SQLITE_NULL)
        number = sqlite3_column_int64(statement, 0);
    job_finish(job, statement);
    return number;
}

char *job_column_copy(struct job *job, sqlite3_stmt *statement, int column)
{
    const char *text = (const char *)sqlite3_column_text(statement, column);
    char *copy = strdup(text ? text : "");
    if (!copy)
        job_fail(job, JOB_NO_MEMORY, NULL);
    return copy;
}

char *job_text(struct job *job, const char *sql, const char *types, ...)
{
    va_list values;
    va_start(values, types);
    sqlite3_stmt *statement = query(job, sql, types, &values);
    va_end(values);
    char *copy = NULL;
    if (job_row(job, statement) && sqlite3_column_type(statement, 0) != SQLITE_NULL)
        copy = job_column_copy(job, statement, 0);
    job_finish(job, statement);
    return copy;
}
