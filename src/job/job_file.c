#include "job_file.h"

#include "base/drafts.h"
#include "base/exit_status.h"
#include "base/file_mode.h"
#include "base/message.h"
#include "base/shell_word.h"
#include "base/text_end.h"
#include "job_rows.h"
#include "job_schema.h"
#include "job_sql.h"

#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Enough for the pages a status reads; photos stream past it. */
#define CACHE_KIB "4096"

const char *job_path(const struct job *job)
{
    return job->path;
}

int job_version_found(const struct job *job)
{
    return job->version_found;
}

int job_version_now(void)
{
    return job_schema_version();
}

enum job_result job_trouble(const struct job *job)
{
    return job->trouble;
}

const char *job_trouble_detail(const struct job *job)
{
    return job->detail;
}

void job_clear_trouble(struct job *job)
{
    job->trouble = JOB_OK;
    job->detail[0] = '\0';
}

/* ---- Opening ------------------------------------------------------------------------------ */

static struct job *handle_new(const char *path)
{
    struct job *job = calloc(1, sizeof *job);
    if (job && !(job->path = strdup(path))) {
        free(job);
        return NULL;
    }
    return job;
}

void job_close(struct job *job)
{
    if (!job)
        return;
    sqlite3_close(job->db);
    if (job->draft)
        unlink(job->draft);
    drafts_forget(job->journal);
    drafts_forget(job->draft);
    free(job->path);
    free(job);
}

/* Hands over a handle that opened well; otherwise closes it and answers its trouble. */
static enum job_result hand_over(struct job *job, struct job **out)
{
    enum job_result trouble = job->trouble;
    if (trouble == JOB_OK)
        *out = job;
    else
        job_close(job);
    return trouble;
}

/* SQLite has names of its own, such as ":memory:" and "file:...", and none of them begins with a
 * folder. */
static int open_file(const char *path, int flags, sqlite3 **db)
{
    char *plain = NULL;
    if (asprintf(&plain, "%s%s", *path == '/' ? "" : "./", path) < 0)
        return SQLITE_NOMEM;
    int answer = sqlite3_open_v2(plain, db, flags, NULL);
    free(plain);
    return answer;
}

static bool connect(struct job *job, const char *path, int flags)
{
    int answer = open_file(path, flags, &job->db);
    if (answer != SQLITE_OK)
        return job_sqlite(job, answer);
    sqlite3_extended_result_codes(job->db, 1);
    sqlite3_busy_timeout(job->db, JOB_PATIENCE_MS);
    /* A file from elsewhere may carry triggers and views; none of ours does, so none may run. */
    sqlite3_db_config(job->db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    sqlite3_db_config(job->db, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);
    sqlite3_db_config(job->db, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, NULL);
    sqlite3_db_config(job->db, SQLITE_DBCONFIG_ENABLE_VIEW, 0, NULL);
    return job_sql_functions(job) &&
           job_exec(job, "PRAGMA foreign_keys = ON; PRAGMA synchronous = EXTRA;"
                         "PRAGMA cache_size = -" CACHE_KIB "; PRAGMA temp_store = MEMORY;"
                         "PRAGMA cell_size_check = ON; PRAGMA mmap_size = 0;");
}

static bool migrate(struct job *job, int from)
{
    char pragma[64];
    for (int version = from; version < job_schema_version(); version++)
        job_exec(job, job_schema_step(version));
    snprintf(pragma, sizeof pragma, "PRAGMA user_version = %d", job_schema_version());
    return job_exec(job, pragma);
}

/* The file must be there and a plain file, so that a folder or nothing gets its own sentence. */
static bool look_at(struct job *job)
{
    struct stat about;
    if (stat(job->path, &about) != 0)
        return job_fail(job, errno == EACCES ? JOB_NO_ACCESS : JOB_NO_FILE, NULL);
    if (!S_ISREG(about.st_mode) || about.st_size == 0)
        return job_fail(job, JOB_FOREIGN, NULL);
    if (access(job->path, R_OK) != 0)
        return job_fail(job, JOB_NO_ACCESS, NULL);
    return true;
}

/* Tells our files from others and from newer ones, and brings older ones up to date. */
static bool know(struct job *job)
{
    if (job_number(job, 0, "PRAGMA application_id", "") != JOB_APPLICATION_ID)
        return job_fail(job, JOB_FOREIGN, NULL);
    int version = (int)job_number(job, 0, "PRAGMA user_version", "");
    job->version_found = version;
    if (job->trouble == JOB_OK && version > job_schema_version())
        return job_fail(job, JOB_NEWER, NULL);
    if (job->trouble == JOB_OK && version < 1)
        return job_fail(job, JOB_DAMAGED, NULL);
    if (job->trouble != JOB_OK || version == job_schema_version())
        return job->trouble == JOB_OK;
    if (!job_begin(job))
        return false;
    /* Another program may have done it while this one waited for the lock. */
    version = (int)job_number(job, 0, "PRAGMA user_version", "");
    bool good = job_end(job, version >= job_schema_version() || migrate(job, version));
    job->recorded = false; /* nobody asked for that */
    return good;
}

enum job_result job_open(const char *path, enum job_access access_wanted, struct job **out)
{
    *out = NULL;
    struct job *job = handle_new(path);
    if (!job)
        return JOB_NO_MEMORY;
    job->writing = access_wanted == JOB_WRITE;
    /* A reader, too, opens for writing where it may: a write that a crash cut short is undone by
     * whoever comes next. SQLite falls back to reading by itself. */
    if (look_at(job) && connect(job, path, SQLITE_OPEN_READWRITE) && know(job) && job->writing &&
        sqlite3_db_readonly(job->db, "main") == 1)
        job_fail(job, JOB_READ_ONLY, NULL);
    return hand_over(job, out);
}

/* ---- Making ------------------------------------------------------------------------------- */

/* The new file, empty, and the name that SQLite will give its journal ("Temporary Files Used By
 * SQLite", 2.1). */
static bool make_draft(struct job *job)
{
    char *place = NULL, *journal = NULL;
    if (asprintf(&place, "%s.XXXXXX", job->path) < 0)
        return job_fail(job, JOB_NO_MEMORY, NULL);
    int fd = drafts_make(place, 0);
    if (fd < 0) {
        job_fail(job, errno == ENOENT || errno == ENOTDIR ? JOB_NO_FOLDER : JOB_READ_ONLY, NULL);
        free(place);
        return false;
    }
    (void)fchmod(fd, file_mode(0666)); /* mkstemp makes files private */
    close(fd);
    job->draft = place;
    if (asprintf(&journal, "%s-journal", place) < 0)
        return job_fail(job, JOB_NO_MEMORY, NULL);
    job->journal = journal;
    drafts_note(journal);
    return true;
}

enum job_result job_create(const char *path, struct job **out)
{
    char pragma[64];
    *out = NULL;
    if (access(path, F_OK) == 0)
        return JOB_EXISTS;
    struct job *job = handle_new(path);
    if (!job)
        return JOB_NO_MEMORY;
    job->writing = true;
    if (!make_draft(job))
        return hand_over(job, out);
    snprintf(pragma, sizeof pragma, "PRAGMA application_id = %d", JOB_APPLICATION_ID);
    job->version_found = job_schema_version();
    if (connect(job, job->draft, SQLITE_OPEN_READWRITE) &&
        job_exec(job, "PRAGMA journal_mode = DELETE") && job_begin(job) && job_exec(job, pragma))
        job_end(job, migrate(job, 0));
    return hand_over(job, out);
}

/* Makes the new name itself survive a loss of power. */
static void sync_folder(const char *path)
{
    char *copy = strdup(path);
    int fd = copy ? open(dirname(copy), O_RDONLY | O_DIRECTORY | O_CLOEXEC) : -1;
    if (fd >= 0) {
        (void)fsync(fd);
        close(fd);
    }
    free(copy);
}

static bool place(struct job *job)
{
    if (renameat2(AT_FDCWD, job->draft, AT_FDCWD, job->path, RENAME_NOREPLACE) == 0)
        return true;
    /* File systems of sticks and shares that cannot rename without replacing. */
    if ((errno == EINVAL || errno == ENOSYS) && access(job->path, F_OK) != 0)
        return rename(job->draft, job->path) == 0 || job_fail(job, JOB_DISK_FAULT, strerror(errno));
    return job_fail(
        job, errno == EEXIST || access(job->path, F_OK) == 0 ? JOB_EXISTS : JOB_DISK_FAULT, NULL);
}

enum job_result job_publish(struct job *job)
{
    if (sqlite3_close(job->db) == SQLITE_OK)
        job->db = NULL;
    if (job->trouble == JOB_OK && place(job)) {
        sync_folder(job->path);
        drafts_forget(job->draft);
        job->draft = NULL;
    }
    enum job_result trouble = job->trouble;
    job_close(job);
    return trouble;
}

/* ---- Transactions ------------------------------------------------------------------------- */

bool job_begin(struct job *job)
{
    job->in_write = job_exec(job, "BEGIN IMMEDIATE");
    return job->in_write;
}

bool job_recorded(const struct job *job)
{
    return job->recorded;
}

bool job_begin_reading(struct job *job)
{
    return job_exec(job, "BEGIN DEFERRED");
}

bool job_end(struct job *job, bool good)
{
    bool in_write = job->in_write;
    job->in_write = false;
    if (good && job_exec(job, "COMMIT")) {
        job->recorded |= in_write;
        return true;
    }
    /* A failed COMMIT leaves the transaction open, some other failures end it by themselves. */
    if (!sqlite3_get_autocommit(job->db))
        sqlite3_exec(job->db, "ROLLBACK", NULL, NULL, NULL);
    return false;
}

bool job_check(struct job *job)
{
    sqlite3_stmt *statement = job_query(job, "PRAGMA integrity_check(1)", "");
    if (job_row(job, statement) &&
        strcmp((const char *)sqlite3_column_text(statement, 0), "ok") != 0)
        job_fail(job, JOB_DAMAGED, (const char *)sqlite3_column_text(statement, 0));
    job_finish(job, statement);
    statement = job_query(job, "PRAGMA foreign_key_check", "");
    if (job_row(job, statement))
        job_fail(job, JOB_DAMAGED, "a row refers to one that is not there");
    return job_finish(job, statement) && job_rows_fit(job) && job_photos_fit(job);
}

/* ---- Words -------------------------------------------------------------------------------- */

/* %1 the job file, %2 the detail, %3 the job file's folder, %4 the job file in a command. */
static const struct {
    int status;
    const char *sentence;
} words[JOB_RESULT_COUNT] = {
    [JOB_NO_FILE] = {EXIT_UNUSABLE, "%1 is not there; \"armsquare job new\" starts a job, or check "
                                    "the name and its folder."},
    [JOB_NO_FOLDER] = {EXIT_UNUSABLE,
                       "there is no folder %3 to make %1 in; make it first, or choose "
                       "another place."},
    [JOB_NO_ACCESS] = {EXIT_UNUSABLE, "%1 may not be read; ask its owner for a copy."},
    [JOB_EXISTS] = {EXIT_UNUSABLE, "%1 is there already and was left as it is; choose another "
                                   "name."},
    [JOB_FOREIGN] = {EXIT_UNUSABLE, "%1 is not a job file of this program; nothing was changed in "
                                    "it."},
    [JOB_DAMAGED] = {EXIT_UNUSABLE, "%1 is damaged (cut short or overwritten); nothing was changed "
                                    "in it. Go back to a copy or import an export."},
    [JOB_UNFIT] = {EXIT_UNUSABLE, "%1 does not fit together: %2. Something other than this program "
                                  "changed it; go back to a copy or import an export."},
    [JOB_NEWER] = {EXIT_UNUSABLE, "%1 was written by a newer version of the program; bring "
                                  "armsquare up to date to open it. Nothing was changed in it."},
    [JOB_READ_ONLY] = {EXIT_TROUBLE, "%1 or its folder cannot be written to; nothing was changed. "
                                     "Copy the job file to a place where you may write."},
    [JOB_BUSY] = {EXIT_TROUBLE, "another program is writing to %1; nothing was changed. Try again "
                                "in a moment."},
    [JOB_FULL] = {EXIT_TROUBLE, "the disk with %1 is full; nothing was changed. Make room and "
                                "repeat the command."},
    [JOB_DISK_FAULT] = {EXIT_TROUBLE, "reading or writing %1 failed; nothing was changed. Check "
                                      "the disk, then repeat the command."},
    [JOB_NO_MEMORY] = {EXIT_TROUBLE, "there is not enough memory; nothing was changed."},
    [JOB_PROGRAM_FAULT] = {EXIT_TROUBLE, "the program could not do that with %1 (%2); nothing was "
                                         "changed. \"armsquare job check %4\" tells whether the "
                                         "file is whole; if it is, please report this as a fault "
                                         "of the program."},
    [JOB_NO_STATION] = {EXIT_UNUSABLE, "there is no station \"%2\" in %1; \"armsquare job status "
                                       "%4\" lists them."},
    [JOB_TO_CONFIRM] = {EXIT_UNUSABLE, "station \"%2\" is confirmed, not measured: \"armsquare job "
                                       "confirm %4 %2\"."},
    [JOB_TO_MEASURE] = {EXIT_UNUSABLE, "station \"%2\" is measured, not confirmed: \"armsquare job "
                                       "measure %4 %2\" with a photo or with what you read."},
    [JOB_NOT_READY] = {EXIT_UNUSABLE, "it is too early for that station: do \"%2\" first, it rests "
                                      "on it."},
    [JOB_NOTHING_LEFT] = {EXIT_UNUSABLE, "there is nothing left to undo in %1."},
    [JOB_KIND_CHANGED] = {EXIT_UNUSABLE, "the plan gives station \"%2\" another kind although it "
                                         "has been done; give the new station another key."},
    [JOB_BAD_FACT] = {EXIT_USAGE, "%2."},
    [JOB_BAD_FINDING] = {EXIT_UNUSABLE,
                         "what was measured is out of all range for a model; nothing "
                         "was recorded. Check the numbers that were given."},
    [JOB_NO_MARK] = {EXIT_UNUSABLE, "no state called \"%2\" was marked in %1; \"armsquare job "
                                    "history %4\" shows the marks."},
    [JOB_SAME_MARK] = {EXIT_UNUSABLE, "a state called \"%2\" is marked in %1 already; choose "
                                      "another name."},
    [JOB_BAD_EXPORT] = {EXIT_UNUSABLE, "%1 cannot be imported: %2. Nothing was made; export again "
                                       "from the job file if you have it."},
    [JOB_NOT_WRITTEN] = {EXIT_TROUBLE, "%2 could not be written; the job itself is as it was. Make "
                                       "room or choose another place."},
    [JOB_BAD_PHOTO] = {EXIT_UNUSABLE, "the photo %2 cannot be read; nothing was changed."},
};

int job_say(enum job_result result, const char *path, const char *detail)
{
    char *text = NULL, *copy = strdup(path), *word = shell_word(path);
    size_t size = 0;
    FILE *to = copy && word ? open_memstream(&text, &size) : NULL;
    const char *const parts[] = {path, detail, copy ? dirname(copy) : NULL, word};
    for (const char *c = words[result].sentence; to && *c; c++)
        if (*c == '%')
            fputs(parts[*++c - '1'], to);
        else
            fputc(*c, to);
    free(copy);
    free(word);
    if (!text_end(to, &text))
        return EXIT_TROUBLE;
    switch (words[result].status) {
    case EXIT_USAGE:
        fail_usage("%s", text);
        break;
    case EXIT_UNUSABLE:
        fail_unusable("%s", text);
        break;
    default:
        fail_trouble("%s", text);
    }
    free(text);
    return words[result].status;
}
