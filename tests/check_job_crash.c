/* kill -9 at random moments while a program records: the file opens, is whole, and holds each
 * measurement whole or not at all. */
#include "check_main.h"
#include "job_maker.h"

#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define KILLS 200
#define PHOTO_BYTES 150000 /* some 40 pages: most kills fall into the middle of a photo */

static const char *const plan_text = "plan: small\n"
                                     "[safe]\ntitle: Safe\nkind: confirm\n"
                                     "[horn]\ntitle: Horn\nkind: square\nrests on: safe\n"
                                     "[crank]\ntitle: Crank\nkind: square\nrests on: horn\n";

/* Records, refits, replans and undoes until it is killed. The value of each measurement is the
 * number of its photo. */
static void work_until_killed(const char *path, int from)
{
    struct job *job;
    struct job_signature by = job_sign("tester");
    if (job_open(path, JOB_WRITE, &job) != JOB_OK)
        _exit(1);
    for (int number = from;; number++) {
        struct plan_fact fact = {"teeth", number % 2 ? "24" : "25"};
        int64_t undo;
        bool good = job_record_finding(job, &by, "horn",
                                       job_maker_finding(number, number, PHOTO_BYTES), "");
        if (number % 3 == 0)
            good = good && job_record_facts(job, &by, "crank", &fact, 1, "");
        if (number % 5 == 0)
            good = good && job_undo(job, &by, &undo);
        if (!good)
            _exit(2);
    }
}

struct tally {
    struct job *job;
    int number, photos, lines;
    size_t at, wrong;
};

static bool compare(void *context, const void *bytes, size_t size)
{
    struct tally *t = context;
    for (size_t i = 0; i < size; i++, t->at++)
        t->wrong += ((const unsigned char *)bytes)[i] != job_maker_photo_byte(t->number, t->at);
    return true;
}

static bool look_at_photo(void *context, const struct job_photo_row *row)
{
    struct tally *t = context;
    t->at = 0;
    ck_assert(job_photo_stream(t->job, row->id, compare, t));
    ck_assert_uint_eq(t->at, PHOTO_BYTES);
    ck_assert_uint_eq(t->wrong, 0);
    ck_assert_uint_ne(row->crc32, 0);
    t->photos++;
    return true;
}

static bool count_reading(void *context, const struct job_reading_row *row)
{
    (void)row;
    ((struct tally *)context)->lines++;
    return true;
}

static bool count_budget(void *context, const struct job_budget_line *line)
{
    (void)line;
    ((struct tally *)context)->lines++;
    return true;
}

/* Checks the whole of the file, the newest measurements byte by byte; answers how many there are.
 * A measurement is whole with one reading, two lines of budget and two photos. */
static int look_at(const char *path)
{
    struct job *job = job_maker_open(path, JOB_WRITE);
    struct job_log_row row;
    int count = 0;
    ck_assert_msg(job_check(job), "%s", job_trouble_detail(job));
    struct job_log *log = job_log_open(job, "horn");
    while (job_log_next(log, &row)) {
        if (strcmp(row.kind, "measured") != 0)
            continue;
        struct tally t = {.job = job, .number = (int)row.value};
        count++;
        ck_assert(job_readings(job, row.id, count_reading, &t));
        ck_assert(job_budget(job, row.id, count_budget, &t));
        ck_assert(job_photos(job, row.id, look_at_photo, &t));
        ck_assert_int_eq(t.lines, 3);
        ck_assert_int_eq(t.photos, 2);
    }
    ck_assert(job_log_close(log));
    job_close(job);
    return count;
}

static void pause_us(long us)
{
    struct timespec time = {us / 1000000, us % 1000000 * 1000};
    nanosleep(&time, NULL);
}

START_TEST(two_hundred_kills_tear_nothing)
{
    const char *folder = job_maker_folder();
    char *path = job_maker_path(folder, "a.job"),
         *journal = job_maker_path(folder, "a.job-journal");
    int total = 0, torn = 0, next = 0;
    srand(20260302);
    for (int kills = 0; kills < KILLS; kills++) {
        if (kills % 20 == 0) { /* a fresh file now and then keeps the whole check short */
            unlink(path);
            job_maker_new(path, plan_text);
            struct job *job = job_maker_open(path, JOB_WRITE);
            struct job_signature by = job_sign("tester");
            ck_assert(job_record_confirmation(job, &by, "safe", true, ""));
            job_close(job);
            next = 0;
        }
        pid_t child = fork();
        ck_assert_int_ge(child, 0);
        if (child == 0)
            work_until_killed(path, next);
        pause_us(1000 + rand() % 40000);
        int status;
        kill(child, SIGKILL);
        ck_assert_int_eq(waitpid(child, &status, 0), child);
        ck_assert_msg(WIFSIGNALED(status), "the worker ended by itself with %x", status);
        struct stat about;
        torn += stat(journal, &about) == 0 && about.st_size > 0;
        next = look_at(path);
        total += kills % 20 == 19 ? next : 0;
    }
    /* The kills must have met writes: both finished ones and ones in the middle. */
    printf("%d kills: %d in the middle of a write, %d measurements whole\n", KILLS, torn, total);
    ck_assert_int_gt(torn, 20);
    ck_assert_int_gt(total, 20);
    job_maker_clean(folder);
    free(path);
    free(journal);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("job_crash");
    TCase *all = tcase_create("kill");
    tcase_set_timeout(all, 600);
    tcase_add_test(all, two_hundred_kills_tear_nothing);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
