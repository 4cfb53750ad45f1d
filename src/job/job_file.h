/* The job file: one SQLite database for one model. Making, opening, bringing up to date, locking.
 *
 * A job file has SQLite's application_id JOB_APPLICATION_ID and a user_version: the version of its
 * tables. It keeps a rollback journal (journal_mode DELETE, synchronous EXTRA), not a write-ahead
 * log: so it is a single file whenever nothing is being written, survives being copied to a stick
 * that knows no shared memory, and a photo's bytes are written once. docs/job.md has the reasons.
 *
 * Functions that answer bool leave the trouble in the handle; job_trouble() tells it. */
#ifndef JOB_FILE_H
#define JOB_FILE_H

#include <stdbool.h>
#include <stdint.h>

#define JOB_APPLICATION_ID 0x41534A62 /* "ASJb" */

enum job_result {
    JOB_OK,
    JOB_NO_FILE,    /* there is none of that name */
    JOB_NO_FOLDER,  /* a new one is to be made in a folder that is not there */
    JOB_NO_ACCESS,  /* may not be read */
    JOB_EXISTS,     /* a file of that name stands in the way */
    JOB_FOREIGN,    /* not a job file */
    JOB_DAMAGED,    /* cut short or overwritten */
    JOB_UNFIT,      /* whole as a file, but its rows do not fit together */
    JOB_NEWER,      /* made by a newer version of the program */
    JOB_READ_ONLY,  /* may be read but not written */
    JOB_BUSY,       /* another program is writing */
    JOB_FULL,       /* the disk is full, or a limit on file size is reached */
    JOB_DISK_FAULT, /* reading or writing failed otherwise */
    JOB_NO_MEMORY,
    JOB_PROGRAM_FAULT, /* a statement of this program goes against the rules of the tables */
    /* requests that the job cannot grant; nothing was changed */
    JOB_NO_STATION,   /* there is none with that key */
    JOB_TO_CONFIRM,   /* a finding for a station that is confirmed */
    JOB_TO_MEASURE,   /* a confirmation of a station that is measured */
    JOB_NOT_READY,    /* what it rests on is not good yet */
    JOB_NOTHING_LEFT, /* nothing to undo */
    JOB_KIND_CHANGED, /* a plan gives a measured station another kind */
    JOB_BAD_FACT,     /* hardware with an unknown name or a value out of range */
    JOB_BAD_FINDING,  /* numbers that no model has (job_finding_fits) */
    JOB_NO_MARK,      /* no state of that name was marked */
    JOB_SAME_MARK,    /* a state of that name is marked already */
    JOB_BAD_PHOTO,    /* a photo's file cannot be read */
    JOB_BAD_EXPORT,   /* a folder is not an export, or not a whole one */
    JOB_NOT_WRITTEN,  /* a file or folder outside the job could not be written */
    JOB_RESULT_COUNT
};

struct job;

enum job_access { JOB_READ, JOB_WRITE };

/* How long a writer waits for another one before it gives up, ms. */
#define JOB_PATIENCE_MS 5000

/* Starts a new job file beside its place; it appears at path only with job_publish().
 * On failure out is NULL. */
enum job_result job_create(const char *path, struct job **out);
/* Puts a created job in its place, never over another file. Frees job either way. */
enum job_result job_publish(struct job *job);

/* Opens an existing job file and brings older tables up to date (they must be writable for that).
 * On failure out is NULL and nothing is changed. */
enum job_result job_open(const char *path, enum job_access access, struct job **out);
/* Closes and frees; a created job that was not published disappears. NULL is harmless. */
void job_close(struct job *job);

const char *job_path(const struct job *job);
/* The version of the tables before job_open() brought them up to date; the present one if it
 * needed not. */
int job_version_found(const struct job *job);
int job_version_now(void);

/* The first trouble since the last job_clear_trouble(); JOB_OK when there was none. */
enum job_result job_trouble(const struct job *job);
/* A detail to go with it: the photo's or station's name; "" when there is none. */
const char *job_trouble_detail(const struct job *job);
void job_clear_trouble(struct job *job);

/* One transaction, begun as a writer so that two programs queue and never deadlock.
 * job_end() commits when good, else rolls back; it returns whether the work is now safe on disk. */
bool job_begin(struct job *job);
bool job_end(struct job *job, bool good);

/* Whether a writer's transaction was committed since the job was opened: what was asked is then on
 * disk, whatever trouble came after it. */
bool job_recorded(const struct job *job);

/* A reader's transaction: a whole report sees one state. End with job_end(job, true). */
bool job_begin_reading(struct job *job);

/* Looks at every page, reference, row and photo of the file. false with JOB_DAMAGED or JOB_UNFIT
 * when any is wrong. */
bool job_check(struct job *job);

/* The sentence for a person: what is wrong and what to do. path names the job file; detail as in
 * job_trouble_detail(). Prints it on stderr and returns the program's exit status for it. */
int job_say(enum job_result result, const char *path, const char *detail);

#endif
