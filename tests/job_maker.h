/* Jobs that tests make up themselves, in a folder of their own. */
#ifndef JOB_MAKER_H
#define JOB_MAKER_H

#include "job/job_store.h"

/* Signals stop this process and its children as they stop a program: Check catches some of them
 * itself. Before anything is made, which is when the program sets its own handlers. */
void job_maker_as_a_program(void);
/* A new empty folder; static storage, good until the next call. */
const char *job_maker_folder(void);
/* Removes it with all that is in it. */
void job_maker_clean(const char *folder);
/* A path in a folder; the caller frees it. */
char *job_maker_path(const char *folder, const char *name);

/* Makes a job file with this plan text; fails the test when it cannot. */
void job_maker_new(const char *path, const char *plan_text);
/* Opens or fails the test. */
struct job *job_maker_open(const char *path, enum job_access access);

/* A finding with readings, budget and two photos of size bytes, whose content tells the number:
 * see job_maker_photo_byte(). Owned by the maker until the next call. */
const struct job_finding *job_maker_finding(double value, int number, size_t size);
/* Byte at of the photo that belongs to number. */
unsigned char job_maker_photo_byte(int number, size_t at);

#endif
