/* Output files: whole or not at all, and with the permissions that the umask gives, also where many
 * threads write at once. */
#include "safe_file.h"

#include "check_main.h"
#include "file_mode.h"
#include "parallel.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define THREADS 4
#define ASKED 50000

static char folder[] = "/tmp/armsquare-safe-XXXXXX";

static void set_up(void)
{
    ck_assert_ptr_nonnull(mkdtemp(folder));
}

static void tear_down(void)
{
    rmdir(folder); /* stays, and tells, where a test left a draft */
}

static void path_of(size_t i, char path[100])
{
    snprintf(path, 100, "%s/%zu", folder, i);
}

static void write_one(void *context, size_t i)
{
    (void)context;
    char path[100];
    struct safe_file file;
    path_of(i, path);
    ck_assert(safe_file_open(&file, path));
    fputs("whole\n", file.stream);
    ck_assert(safe_file_commit(&file));
}

/* Removes the file. */
static unsigned mode_of(size_t i)
{
    char path[100];
    struct stat about;
    path_of(i, path);
    ck_assert_int_eq(stat(path, &about), 0);
    ck_assert_int_eq(unlink(path), 0);
    return about.st_mode & 0777;
}

START_TEST(a_file_gets_what_the_umask_leaves)
{
    umask(027);
    write_one(NULL, 0);
    ck_assert_uint_eq(mode_of(0), 0640);
    ck_assert_uint_eq(file_mode(0777), 0750);
}
END_TEST

/* Reading the umask sets it for a moment: a thread that reads it in another's moment would put the
 * wrong one back. So what it was when it was noted counts, and nobody sets it again. */
START_TEST(the_umask_is_read_once)
{
    umask(027);
    file_mode_note_umask();
    umask(077);
    write_one(NULL, 0);
    ck_assert_uint_eq(mode_of(0), 0640);
    ck_assert_uint_eq(umask(022), 077);
}
END_TEST

static void ask_often(void *context, size_t i)
{
    (void)context;
    (void)i;
    for (int k = 0; k < ASKED; k++)
        ck_assert_uint_eq(file_mode(0666), 0640);
}

START_TEST(threads_that_ask_leave_the_umask_alone)
{
    umask(027);
    file_mode_note_umask();
    parallel_pieces(THREADS, THREADS, ask_often, NULL);
    ck_assert_uint_eq(umask(022), 027);
}
END_TEST

START_TEST(a_file_given_up_leaves_what_was_there)
{
    char path[100], text[20] = "";
    struct safe_file file;
    path_of(0, path);
    write_one(NULL, 0);
    ck_assert(safe_file_open(&file, path));
    fputs("half", file.stream);
    safe_file_abandon(&file);
    FILE *left = fopen(path, "r");
    ck_assert_ptr_nonnull(left);
    ck_assert_ptr_nonnull(fgets(text, sizeof text, left));
    fclose(left);
    ck_assert_str_eq(text, "whole\n");
    unlink(path);
    ck_assert_int_eq(rmdir(folder), 0); /* no draft either */
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("safe_file");
    TCase *tcase = tcase_create("file");
    tcase_set_timeout(tcase, 120);
    tcase_add_checked_fixture(tcase, set_up, tear_down);
    tcase_add_test(tcase, a_file_gets_what_the_umask_leaves);
    tcase_add_test(tcase, the_umask_is_read_once);
    tcase_add_test(tcase, threads_that_ask_leave_the_umask_alone);
    tcase_add_test(tcase, a_file_given_up_leaves_what_was_there);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
