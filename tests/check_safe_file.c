/* Output files: whole or not at all, and with the permissions that the umask gives, also where many
 * threads write at once. */
#include "base/safe_file.h"

#include "base/drafts.h"
#include "base/file_mode.h"
#include "check_main.h"
#include "parallel.h"

#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
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
    ck_assert_msg(rmdir(folder) == 0, "a draft is left in %s", folder);
}

static void path_of(size_t i, char path[100])
{
    snprintf(path, 100, "%s/%zu", folder, i);
}

/* Threads that are stopped must not be stopped while they tell Check of what holds. */
static bool wrote_one(size_t i)
{
    char path[100];
    struct safe_file file;
    path_of(i, path);
    if (!safe_file_open(&file, path))
        return false;
    fputs("whole\n", file.stream);
    return safe_file_commit(&file);
}

static void write_one(size_t i)
{
    ck_assert(wrote_one(i));
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
    write_one(0);
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
    write_one(0);
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

static void check_still_whole(const char *path)
{
    char text[20] = "";
    FILE *there = fopen(path, "r");
    ck_assert_ptr_nonnull(there);
    ck_assert_ptr_nonnull(fgets(text, sizeof text, there));
    fclose(there);
    ck_assert_str_eq(text, "whole\n");
}

START_TEST(a_file_given_up_leaves_what_was_there)
{
    char path[100];
    struct safe_file file;
    path_of(0, path);
    write_one(0);
    ck_assert(safe_file_open(&file, path));
    fputs("half", file.stream);
    safe_file_abandon(&file);
    check_still_whole(path);
    unlink(path);
}
END_TEST

/* A limit on the size of files stands for a full disk: the write fails in the middle. */
START_TEST(a_file_that_cannot_be_finished_leaves_what_was_there)
{
    static const char much[1 << 16];
    const struct rlimit small = {4096, RLIM_INFINITY}, none = {RLIM_INFINITY, RLIM_INFINITY};
    char path[100];
    struct safe_file file;
    path_of(0, path);
    write_one(0);
    signal(SIGXFSZ, SIG_IGN);
    ck_assert(safe_file_open(&file, path));
    ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &small), 0);
    fwrite(much, 1, sizeof much, file.stream);
    bool done = safe_file_commit(&file);
    int reason = errno;
    ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &none), 0);
    ck_assert(!done);
    ck_assert_int_eq(reason, EFBIG);
    check_still_whole(path);
    unlink(path);
}
END_TEST

/* A folder that came to stand there meanwhile: it cannot be renamed over. */
START_TEST(a_file_whose_place_is_taken_is_told)
{
    char path[100];
    struct safe_file file;
    path_of(0, path);
    ck_assert(safe_file_open(&file, path));
    fputs("whole\n", file.stream);
    ck_assert_int_eq(mkdir(path, 0777), 0);
    ck_assert(!safe_file_commit(&file));
    ck_assert_int_eq(errno, EISDIR);
    ck_assert_int_eq(rmdir(path), 0);
}
END_TEST

/* ---- Stopped -------------------------------------------------------------------------------- */

static const int stops[] = {SIGINT, SIGTERM, SIGHUP, SIGPIPE};

/* Check catches some of them itself. */
static pid_t fork_as_a_program(void)
{
    pid_t child = fork();
    for (size_t i = 0; child == 0 && i < sizeof stops / sizeof *stops; i++)
        signal(stops[i], SIG_DFL);
    return child;
}

/* Ctrl-C and the like, between the first byte and the last. */
START_TEST(a_program_that_is_stopped_leaves_what_was_there)
{
    char path[100], other[100];
    int status;
    path_of(0, path);
    path_of(1, other);
    pid_t child = fork_as_a_program();
    if (child == 0) {
        struct safe_file files[2];
        write_one(0);
        if (safe_file_open(&files[0], path) && safe_file_open(&files[1], other))
            raise(stops[_i]);
        _exit(0);
    }
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert_msg(WIFSIGNALED(status) && WTERMSIG(status) == stops[_i], "status %d", status);
    check_still_whole(path);
    unlink(path);
    ck_assert_int_ne(access(other, F_OK), 0);
}
END_TEST

#define MANY 300 /* more than there are places for single drafts */

/* NULL when any of it cannot be made. */
static struct draft_folder *build_folder(void)
{
    char place[100], name[100];
    snprintf(place, sizeof place, "%s/built.XXXXXX", folder);
    struct draft_folder *built = draft_folder_new(place);
    bool good = built && draft_folder_add(built, "inner");
    for (int i = 0; good && i < MANY; i++) {
        snprintf(name, sizeof name, "%s%d", i % 2 ? "inner/" : "", i);
        FILE *to = draft_folder_open(built, name);
        good = to && fputs("half", to) >= 0 && fclose(to) == 0;
    }
    return good ? built : NULL;
}

START_TEST(a_folder_that_is_stopped_in_the_making_goes_with_all_in_it)
{
    int status;
    pid_t child = fork_as_a_program();
    if (child == 0) {
        char *picture = NULL;
        if (asprintf(&picture, "%s/a-XXXXXX.png", folder) > 0 && drafts_make(picture, 4) >= 0 &&
            strcmp(strrchr(picture, '.'), ".png") == 0 && build_folder())
            raise(stops[_i]);
        _exit(0);
    }
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert_msg(WIFSIGNALED(status) && WTERMSIG(status) == stops[_i], "status %d", status);
}
END_TEST

START_TEST(a_folder_given_up_goes_and_one_that_has_its_name_stays)
{
    char path[100], command[120];
    struct stat about;
    draft_folder_end(build_folder(), false);
    ck_assert_msg(rmdir(folder) == 0 && mkdir(folder, 0777) == 0, "something is left");
    struct draft_folder *built = build_folder();
    ck_assert_ptr_nonnull(built);
    path_of(0, path);
    ck_assert_int_eq(rename(draft_folder_place(built), path), 0);
    draft_folder_end(built, true);
    snprintf(command, sizeof command, "%s/inner/%d", path, MANY - 1);
    ck_assert_int_eq(stat(command, &about), 0);
    ck_assert_int_eq(about.st_size, 4);
    snprintf(command, sizeof command, "rm -r '%s'", path);
    ck_assert_int_eq(system(command), 0);
}
END_TEST

/* What may be built at once is little; more is refused and leaves nothing. */
START_TEST(folders_beyond_the_places_for_them_are_refused)
{
    char place[100];
    struct draft_folder *built[64];
    int count = 0;
    snprintf(place, sizeof place, "%s/built.XXXXXX", folder);
    while (count < 64 && (built[count] = draft_folder_new(place)))
        count++;
    ck_assert_int_lt(count, 64);
    ck_assert_int_eq(errno, EMFILE);
    while (count)
        draft_folder_end(built[--count], false);
    draft_folder_end(draft_folder_new(place), false);
}
END_TEST

static void write_for_ever(void *context, size_t i)
{
    (void)context;
    while (wrote_one(i))
        ;
    abort();
}

START_TEST(threads_that_are_stopped_while_they_write_leave_whole_files)
{
    for (int round = 0; round < 50; round++) {
        int status;
        char path[100];
        pid_t child = fork_as_a_program();
        if (child == 0)
            parallel_pieces(THREADS, THREADS, write_for_ever, NULL);
        path_of(0, path);
        while (access(path, F_OK) != 0) /* until it writes */
            usleep(100);
        usleep((useconds_t)(100 * round));
        ck_assert_int_eq(kill(child, SIGINT), 0);
        ck_assert_int_eq(waitpid(child, &status, 0), child);
        ck_assert(WIFSIGNALED(status) && WTERMSIG(status) == SIGINT);
        for (size_t i = 0; i < THREADS; i++) {
            path_of(i, path);
            if (access(path, F_OK) == 0)
                check_still_whole(path);
            unlink(path);
        }
        ck_assert_msg(rmdir(folder) == 0 && mkdir(folder, 0777) == 0, "round %d", round);
    }
}
END_TEST

/* As nohup does it. */
START_TEST(a_stop_that_is_ignored_stays_ignored)
{
    int status;
    pid_t child = fork_as_a_program();
    if (child == 0) {
        struct safe_file file;
        char path[100];
        path_of(0, path);
        signal(SIGHUP, SIG_IGN);
        bool good = safe_file_open(&file, path) && raise(SIGHUP) == 0 &&
                    fputs("whole\n", file.stream) > 0 && safe_file_commit(&file);
        _exit(good ? 0 : 1);
    }
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    (void)mode_of(0);
}
END_TEST

/* JPEG, PNG and HEIF by their signatures (T.81, B.1.1.3; PNG 1.2, 3.1; ISO/IEC 14496-12, 4.3), an
 * SQLite database by "Database File Format", 1.3. A picture of this program says so. */
static const struct {
    const char *bytes;
    size_t size;
    const char *says; /* NULL: may be replaced */
} contents[] = {
    {"", 0, NULL},
    {"servo_deg,out\n", 14, NULL},
    {"SQLite format 3", 16, "a job file"},
    {"SQLite format 3 is what this text is about", 42, NULL},
    {"\xff\xd8\xff\xe1 and so on", 14, "a photo"},
    {"\0\0\0\x18"
     "ftypheic",
     12, "a photo"},
    {"\x89PNG\r\n\x1a\n and so on", 18, "a photo"},
    {"\x89PNG\r\n\x1a\n and armsquare so on", 28, NULL},
};

START_TEST(a_job_or_a_photo_is_never_replaced)
{
    char path[100], after[64];
    struct safe_file file;
    path_of(0, path);
    FILE *there = fopen(path, "wb");
    fwrite(contents[_i].bytes, 1, contents[_i].size, there);
    fclose(there);
    const char *says = safe_file_keeps(path);
    ck_assert_msg((says != NULL) == (contents[_i].says != NULL), "%d: %s", _i, says);
    ck_assert_msg(!says || strstr(says, contents[_i].says), "%d: %s", _i, says);
    ck_assert_int_eq(safe_file_open(&file, path), says == NULL);
    ck_assert(!says || errno == EEXIST);
    safe_file_abandon(&file);
    there = fopen(path, "rb");
    ck_assert_uint_eq(fread(after, 1, sizeof after, there), contents[_i].size);
    fclose(there);
    ck_assert_mem_eq(after, contents[_i].bytes, contents[_i].size);
    unlink(path);
}
END_TEST

START_TEST(what_is_no_ordinary_file_is_never_replaced)
{
    char pipe[100], link[100], loose[100], device[100];
    path_of(0, pipe);
    path_of(1, link);
    path_of(2, loose);
    path_of(3, device);
    ck_assert_int_eq(mkfifo(pipe, 0600), 0);
    ck_assert_int_eq(symlink("0", link), 0);
    ck_assert_int_eq(symlink("nothing", loose), 0);
    ck_assert_int_eq(symlink("/dev/null", device), 0);
    const char *const places[] = {pipe, link, loose, device, "/dev/null", folder};
    for (size_t i = 0; i < sizeof places / sizeof *places; i++) {
        struct safe_file file;
        struct stat before, after;
        ck_assert_ptr_nonnull(safe_file_keeps(places[i]));
        ck_assert_int_eq(lstat(places[i], &before), 0);
        ck_assert_msg(!safe_file_open(&file, places[i]) && errno == EEXIST, "%s", places[i]);
        ck_assert_int_eq(lstat(places[i], &after), 0);
        ck_assert_uint_eq(before.st_ino, after.st_ino);
    }
    for (int i = 0; i < 4; i++)
        unlink(places[i]);
    path_of(9, pipe);
    ck_assert_ptr_null(safe_file_keeps(pipe)); /* nothing is there */
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
    tcase_add_test(tcase, a_file_that_cannot_be_finished_leaves_what_was_there);
    tcase_add_test(tcase, a_file_whose_place_is_taken_is_told);
    tcase_add_loop_test(tcase, a_program_that_is_stopped_leaves_what_was_there, 0,
                        sizeof stops / sizeof *stops);
    tcase_add_loop_test(tcase, a_folder_that_is_stopped_in_the_making_goes_with_all_in_it, 0,
                        sizeof stops / sizeof *stops);
    tcase_add_test(tcase, a_folder_given_up_goes_and_one_that_has_its_name_stays);
    tcase_add_test(tcase, folders_beyond_the_places_for_them_are_refused);
    tcase_add_test(tcase, threads_that_are_stopped_while_they_write_leave_whole_files);
    tcase_add_test(tcase, a_stop_that_is_ignored_stays_ignored);
    tcase_add_loop_test(tcase, a_job_or_a_photo_is_never_replaced, 0,
                        sizeof contents / sizeof *contents);
    tcase_add_test(tcase, what_is_no_ordinary_file_is_never_replaced);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
