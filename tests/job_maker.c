#include "job_maker.h"

#include <check.h>
#include <ftw.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

void job_maker_as_a_program(void)
{
    static const int stops[] = {SIGINT, SIGTERM, SIGHUP, SIGPIPE};
    for (size_t i = 0; i < sizeof stops / sizeof stops[0]; i++)
        signal(stops[i], SIG_DFL);
}

const char *job_maker_folder(void)
{
    static char folder[64];
    strcpy(folder, "/tmp/armsquare-job-XXXXXX");
    ck_assert(mkdtemp(folder) != NULL);
    return folder;
}

static int remove_one(const char *path, const struct stat *about, int type, struct FTW *where)
{
    (void)about;
    (void)type;
    (void)where;
    return remove(path);
}

void job_maker_clean(const char *folder)
{
    nftw(folder, remove_one, 16, FTW_DEPTH | FTW_PHYS);
}

char *job_maker_path(const char *folder, const char *name)
{
    char *path = NULL;
    ck_assert_int_gt(asprintf(&path, "%s/%s", folder, name), 0);
    return path;
}

void job_maker_new(const char *path, const char *plan_text)
{
    struct plan plan;
    struct plan_trouble trouble;
    struct job *job;
    struct job_signature by = job_sign("tester");
    ck_assert_msg(plan_read(plan_text, &plan, &trouble), "%s", trouble.text);
    ck_assert_int_eq(job_create(path, &job), JOB_OK);
    ck_assert(job_fill(job, &by, "Test model", true, &plan));
    ck_assert_int_eq(job_publish(job), JOB_OK);
    plan_clear(&plan);
}

struct job *job_maker_open(const char *path, enum job_access access)
{
    struct job *job;
    ck_assert_int_eq(job_open(path, access, &job), JOB_OK);
    return job;
}

unsigned char job_maker_photo_byte(int number, size_t at)
{
    return (unsigned char)((size_t)number * 131 + at * 7 + (at >> 8));
}

const struct job_finding *job_maker_finding(double value, int number, size_t size)
{
    static unsigned char *bytes;
    static struct job_reading reading;
    static const struct job_budget_line budget[2] = {{"edge noise", 0.03, 'A'},
                                                     {"card tilt", 0.04, 'B'}};
    static struct job_photo photos[2];
    static struct job_finding finding;
    unsigned char *more = realloc(bytes, size + 1);
    ck_assert(more != NULL);
    bytes = more;
    for (size_t i = 0; i < size; i++)
        bytes[i] = job_maker_photo_byte(number, i);
    reading = (struct job_reading){"arm", value, 0.05, "{\"photo\": \"made up\"}"};
    photos[0] = (struct job_photo){0, "taken", "a.jpg", "image/jpeg", NULL, bytes, size};
    photos[1] = (struct job_photo){0, "annotated", "a.png", "image/png", NULL, bytes, size};
    finding =
        (struct job_finding){value, 0.05, 2, true, "photo", "", &reading, 1, budget, 2, photos, 2};
    return &finding;
}
