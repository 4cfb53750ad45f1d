/* The job file: what it holds comes back, and nothing that is wrong with a file loses anything. */
#include "base/exit_status.h"
#include "check_main.h"
#include "commands/job_command.h"
#include "job/job_sql.h"
#include "job_maker.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <sched.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <string.h>
#include <sys/mount.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static const char *const plan_text = "plan: small\n"
                                     "[safe]\ntitle: Safe\nkind: confirm\n"
                                     "[horn]\ntitle: Horn\nkind: square\nrests on: safe\n"
                                     "hardware: teeth = 25\n"
                                     "[crank]\ntitle: Crank\nkind: square\nrests on: horn\n";
static const char *folder;
static char *path;
static struct job_signature by;

static void set_up(void)
{
    job_maker_as_a_program();
    folder = job_maker_folder();
    path = job_maker_path(folder, "a.job");
    by = job_sign("tester");
    job_maker_new(path, plan_text);
}

static void tear_down(void)
{
    job_maker_clean(folder);
    free(path);
}

static void assert_good(struct job *job)
{
    ck_assert_msg(job_trouble(job) == JOB_OK, "trouble %d (%s)", job_trouble(job),
                  job_trouble_detail(job));
}

static struct job *with_horn_measured(void)
{
    struct job *job = job_maker_open(path, JOB_WRITE);
    ck_assert(job_record_confirmation(job, &by, "safe", true, ""));
    ck_assert(job_record_finding(job, &by, "horn", job_maker_finding(0.2, 1, 200000), "first"));
    return job;
}

static enum job_state state_of(struct job *job, const char *key)
{
    struct job_view view;
    ck_assert(job_view_load(job, 0, &view));
    enum job_state state = view.standing[plan_find(&view.plan, key)].state;
    job_view_clear(&view);
    return state;
}

/* The whole file, to compare byte for byte. */
static char *slurp(const char *from, size_t *size)
{
    struct stat about;
    FILE *file = fopen(from, "rb");
    ck_assert(file && fstat(fileno(file), &about) == 0);
    char *bytes = malloc((size_t)about.st_size + 1);
    *size = fread(bytes, 1, (size_t)about.st_size, file);
    fclose(file);
    return bytes;
}

static void spill(const char *to, const char *bytes, size_t size)
{
    FILE *file = fopen(to, "wb");
    ck_assert(file && fwrite(bytes, 1, size, file) == size && fclose(file) == 0);
}

/* ---- The file itself ---------------------------------------------------------------------- */

/* SQLite's file format document, section 1.3: user version at byte 60, application id at byte 68,
 * both big-endian; bytes 18 and 19 are 1 for a rollback journal and 2 for a write-ahead log. */
START_TEST(the_header_names_program_version_and_journal)
{
    size_t size;
    unsigned char *b = (unsigned char *)slurp(path, &size);
    ck_assert_int_eq(memcmp(b, "SQLite format 3", 16), 0);
    ck_assert_int_eq(b[60] << 24 | b[61] << 16 | b[62] << 8 | b[63], job_version_now());
    ck_assert_int_eq(b[68] << 24 | b[69] << 16 | b[70] << 8 | b[71], JOB_APPLICATION_ID);
    ck_assert_int_eq(b[18], 1);
    ck_assert_int_eq(b[19], 1);
    free(b);
}
END_TEST

START_TEST(references_are_enforced)
{
    struct job *job = job_maker_open(path, JOB_WRITE);
    sqlite3 *db;
    ck_assert_int_eq(sqlite3_open(path, &db), SQLITE_OK);
    sqlite3_exec(db, "PRAGMA foreign_keys = ON", NULL, NULL, NULL);
    ck_assert_int_eq(sqlite3_exec(db,
                                  "INSERT INTO entry (act, at, who, kind, station_id, note) "
                                  "VALUES (9, '', '', 'note', 99, '')",
                                  NULL, NULL, NULL),
                     SQLITE_CONSTRAINT);
    sqlite3_close(db);
    ck_assert(job_check(job));
    job_close(job);
}
END_TEST

static bool compare_photo(void *context, const void *bytes, size_t size)
{
    size_t *at = context;
    for (size_t i = 0; i < size; i++, ++*at)
        ck_assert_int_eq(((const unsigned char *)bytes)[i], job_maker_photo_byte(1, *at));
    return true;
}

static bool stream_photo(void *context, const struct job_photo_row *row)
{
    size_t at = 0;
    ck_assert_int_eq(row->size, 200000);
    ck_assert_str_eq(row->name, row->role[0] == 't' ? "a.jpg" : "a.png");
    ck_assert(job_photo_stream(context, row->id, compare_photo, &at));
    ck_assert_uint_eq(at, 200000);
    return true;
}

START_TEST(what_was_recorded_comes_back)
{
    struct job *job = with_horn_measured();
    struct job_view view;
    job_close(job);
    job = job_maker_open(path, JOB_READ);
    ck_assert(job_view_load(job, 0, &view));
    ck_assert_str_eq(view.model, "Test model");
    ck_assert(view.invented);
    ck_assert_int_eq(view.event_count, 2);
    assert_near(view.events[1].value, 0.2, 0);
    ck_assert_int_eq(view.standing[1].state, JOB_GOOD);
    ck_assert(job_photos(job, view.events[1].entry, stream_photo, job));
    ck_assert(job_check(job));
    job_view_clear(&view);
    job_close(job);
}
END_TEST

START_TEST(an_existing_file_is_never_replaced)
{
    struct job *job;
    size_t size, after;
    char *before = slurp(path, &size);
    ck_assert_int_eq(job_create(path, &job), JOB_EXISTS);
    /* And neither when it appears while the job is being made. */
    char *other = job_maker_path(folder, "b.job");
    struct plan plan;
    struct plan_trouble trouble;
    ck_assert(plan_read(plan_text, &plan, &trouble));
    ck_assert_int_eq(job_create(other, &job), JOB_OK);
    ck_assert(job_fill(job, &by, "x", false, &plan));
    spill(other, "mine", 4);
    ck_assert_int_eq(job_publish(job), JOB_EXISTS);
    free(before);
    before = slurp(other, &after);
    ck_assert_uint_eq(after, 4);
    free(before);
    plan_clear(&plan);
    free(other);
}
END_TEST

START_TEST(a_job_given_up_leaves_nothing_behind)
{
    struct job *job;
    char *other = job_maker_path(folder, "b.job");
    ck_assert_int_eq(job_create(other, &job), JOB_OK);
    job_close(job);
    ck_assert_int_eq(unlink(path), 0);
    ck_assert_int_eq(rmdir(folder), 0); /* so it was empty */
    free(other);
}
END_TEST

/* ---- Recording ---------------------------------------------------------------------------- */

/* Ctrl-C and the like while a job is being made and its journal stands beside it. */
START_TEST(a_job_whose_making_is_stopped_leaves_nothing_behind)
{
    static const int stops[] = {SIGINT, SIGTERM, SIGHUP, SIGPIPE};
    char *empty = job_maker_path(folder, "empty"), *new = job_maker_path(empty, "new.job");
    ck_assert_int_eq(mkdir(empty, 0777), 0);
    for (size_t i = 0; i < sizeof stops / sizeof stops[0]; i++) {
        int status;
        pid_t child = fork();
        if (child == 0) {
            struct job *job;
            if (job_create(new, &job) == JOB_OK && job_begin(job) &&
                job_run(job, "CREATE TABLE more (x)", ""))
                raise(stops[i]);
            _exit(1);
        }
        ck_assert_int_eq(waitpid(child, &status, 0), child);
        ck_assert_msg(WIFSIGNALED(status) && WTERMSIG(status) == stops[i], "status %x", status);
        ck_assert_msg(rmdir(empty) == 0 && mkdir(empty, 0777) == 0, "drafts are left in %s", empty);
    }
    free(empty);
    free(new);
}
END_TEST

START_TEST(a_station_that_waits_takes_nothing)
{
    struct job *job = job_maker_open(path, JOB_WRITE);
    ck_assert(!job_record_finding(job, &by, "crank", job_maker_finding(0, 1, 10), ""));
    ck_assert_int_eq(job_trouble(job), JOB_NOT_READY);
    ck_assert_str_eq(job_trouble_detail(job), "safe");
    job_clear_trouble(job);
    ck_assert(!job_record_finding(job, &by, "safe", job_maker_finding(0, 1, 10), ""));
    ck_assert_int_eq(job_trouble(job), JOB_TO_CONFIRM);
    job_clear_trouble(job);
    ck_assert(!job_record_confirmation(job, &by, "nowhere", true, ""));
    ck_assert_int_eq(job_trouble(job), JOB_NO_STATION);
    job_close(job);
}
END_TEST

START_TEST(undo_takes_back_one_act_and_keeps_it_in_the_log)
{
    struct job *job = with_horn_measured();
    int64_t undo;
    struct job_log_row row;
    int rows = 0, withdrawn = 0;
    ck_assert(job_record_finding(job, &by, "horn", job_maker_finding(3, 2, 10), ""));
    ck_assert_int_eq(state_of(job, "horn"), JOB_ADJUST);
    ck_assert(job_undo(job, &by, &undo));
    ck_assert_int_eq(state_of(job, "horn"), JOB_GOOD);
    struct job_log *log = job_log_open(job, NULL);
    for (; job_log_next(log, &row); rows++)
        withdrawn += row.withdrawn_by != 0;
    ck_assert(job_log_close(log));
    ck_assert_int_eq(rows, 5);
    ck_assert_int_eq(withdrawn, 1);
    for (int i = 0; i < 2; i++) {
        ck_assert(job_undo(job, &by, &undo));
    }
    ck_assert(!job_undo(job, &by, &undo));
    ck_assert_int_eq(job_trouble(job), JOB_NOTHING_LEFT);
    job_close(job);
}
END_TEST

START_TEST(other_hardware_asks_for_a_check_and_can_be_undone)
{
    struct job *job = with_horn_measured();
    struct plan_fact facts[] = {{"horn-arm-mm", "13.5"}, {"teeth", "24"}};
    struct plan_fact wrong = {"teeth", "many"};
    int64_t undo;
    ck_assert(job_record_facts(job, &by, "horn", facts, 2, ""));
    ck_assert_int_eq(state_of(job, "horn"), JOB_CHECK_AGAIN);
    ck_assert(!job_record_facts(job, &by, "horn", &wrong, 1, ""));
    ck_assert_int_eq(job_trouble(job), JOB_BAD_FACT);
    job_clear_trouble(job);
    ck_assert(job_undo(job, &by, &undo));
    struct job_view view;
    ck_assert(job_view_load(job, 0, &view));
    ck_assert_str_eq(plan_fact(&view.plan.stations[1], "teeth"), "25");
    ck_assert_ptr_null(plan_fact(&view.plan.stations[1], "horn-arm-mm"));
    ck_assert_int_eq(view.standing[1].state, JOB_GOOD);
    job_view_clear(&view);
    job_close(job);
}
END_TEST

static void change_tables(const char *sql)
{
    sqlite3 *db;
    ck_assert_int_eq(sqlite3_open(path, &db), SQLITE_OK);
    ck_assert_msg(sqlite3_exec(db, sql, NULL, NULL, NULL) == SQLITE_OK, "%s", sqlite3_errmsg(db));
    sqlite3_close(db);
}

/* Two values at once have no order; a job that holds them goes back to what stood before both. */
START_TEST(hardware_given_twice_at_once_is_refused_and_undone_where_it_stands)
{
    struct job *job = with_horn_measured();
    struct plan_fact twice[] = {{"teeth", "23"}, {"arms", "2"}, {"teeth", "24"}};
    struct job_view view;
    int64_t undo;
    ck_assert(!job_record_facts(job, &by, "horn", twice, 3, ""));
    ck_assert_int_eq(job_trouble(job), JOB_BAD_FACT);
    ck_assert_str_eq(job_trouble_detail(job), "hardware \"teeth\" is given twice");
    job_clear_trouble(job);
    ck_assert(job_record_facts(job, &by, "horn", twice, 2, ""));
    job_close(job);
    change_tables("INSERT INTO entry (act, at, who, kind, station_id, note) SELECT act, at, who, "
                  "kind, station_id, '' FROM entry ORDER BY id DESC LIMIT 1;"
                  "INSERT INTO refit SELECT max(id), 'teeth', '23', '24' FROM entry;"
                  "UPDATE fact SET value = '24' WHERE name = 'teeth'");
    job = job_maker_open(path, JOB_WRITE);
    ck_assert(job_undo(job, &by, &undo));
    ck_assert(job_view_load(job, 0, &view));
    ck_assert_str_eq(plan_fact(&view.plan.stations[1], "teeth"), "25");
    ck_assert_ptr_null(plan_fact(&view.plan.stations[1], "arms"));
    job_view_clear(&view);
    job_close(job);
}
END_TEST

START_TEST(an_act_without_its_first_entry_is_told_and_not_undone)
{
    job_close(with_horn_measured());
    change_tables("UPDATE entry SET act = 999 WHERE kind = 'measured'");
    struct job *job = job_maker_open(path, JOB_WRITE);
    int64_t undo;
    ck_assert(!job_undo(job, &by, &undo));
    ck_assert_int_eq(job_trouble(job), JOB_DAMAGED);
    job_clear_trouble(job);
    ck_assert_int_eq(state_of(job, "horn"), JOB_GOOD);
    job_close(job);
}
END_TEST

/* No export could hold it (RFC 8259, 8.1), and history is never taken back. */
START_TEST(text_that_is_no_utf8_is_not_taken_in)
{
    struct job *job = with_horn_measured();
    int64_t before = job_number(job, 0, "SELECT max(id) FROM entry", "");
    for (int i = 0; i < 4; i++) {
        struct job_finding finding = *job_maker_finding(90, 1, 10);
        struct job_reading reading = finding.readings[0];
        struct job_budget_line line = finding.budget[0];
        *(const char **[]){&finding.message, &finding.method, &reading.role, &line.term}[i] =
            "a\xc3";
        finding.readings = &reading;
        finding.budget = &line;
        finding.budget_count = 1;
        ck_assert(!job_record_finding(job, &by, "horn", &finding, ""));
        ck_assert_int_eq(job_trouble(job), JOB_PROGRAM_FAULT);
        job_clear_trouble(job);
    }
    ck_assert_int_eq(job_number(job, 0, "SELECT max(id) FROM entry", ""), before);
    job_close(job);
}
END_TEST

/* Going back to a copy would lose work for nothing. */
START_TEST(a_rule_of_the_tables_that_is_broken_is_no_damage)
{
    change_tables("CREATE UNIQUE INDEX odd ON entry(kind)");
    struct job *job = job_maker_open(path, JOB_WRITE);
    ck_assert(job_record_note(job, &by, NULL, "one"));
    ck_assert(!job_record_note(job, &by, NULL, "two"));
    ck_assert_int_eq(job_trouble(job), JOB_PROGRAM_FAULT);
    job_clear_trouble(job);
    ck_assert(job_check(job));
    job_close(job);
}
END_TEST

/* What job_say() says on stderr. */
static void hear(enum job_result result, const char *of, char *text, size_t size)
{
    FILE *file = tmpfile();
    int kept = dup(STDERR_FILENO);
    ck_assert(file && kept >= 0 && dup2(fileno(file), STDERR_FILENO) >= 0);
    job_say(result, of, "horn");
    ck_assert_int_ge(dup2(kept, STDERR_FILENO), 0);
    close(kept);
    rewind(file);
    text[fread(text, 1, size - 1, file)] = '\0';
    fclose(file);
}

/* A name with a blank is one word of a POSIX shell's command in quotes (POSIX.1-2017,
 * shell, 2.2.2).
 */
START_TEST(a_job_in_a_command_that_is_suggested_can_be_pasted)
{
    for (int r = JOB_OK + 1; r < JOB_RESULT_COUNT; r++) {
        char text[1024];
        hear((enum job_result)r, "my model.job", text, sizeof text);
        const char *command = strstr(text, "\"armsquare ");
        const char *end = command ? strchr(command + 1, '"') : NULL;
        const char *name = command ? strstr(command, "my model.job") : NULL;
        if (name && name < end)
            ck_assert_msg(name[-1] == '\'', "%s", text);
    }
}
END_TEST

/* What was measured stays measured when more is written down, or figures for advice change. */
START_TEST(hardware_that_nobody_changed_leaves_the_work_as_it_stands)
{
    static const struct {
        struct plan_fact fact;
        enum job_state after;
    } rows[] = {
        {{"horn-arm-mm", "13.5"}, JOB_GOOD},
        {{"horn-arm-mm", "13.50"}, JOB_GOOD},
        {{"degrees-per-percent", "0.4"}, JOB_GOOD},
        {{"degrees-per-percent", "0.5"}, JOB_GOOD},
        {{"step-turns", "1"}, JOB_GOOD},
        {{"step-turns", "0.5"}, JOB_GOOD},
        {{"teeth", ""}, JOB_GOOD},
        {{"teeth", "24"}, JOB_GOOD},
        {{"part", "short horn"}, JOB_CHECK_AGAIN}, /* the first that is named: another one */
    };
    struct job *job = with_horn_measured();
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ck_assert(job_record_facts(job, &by, "horn", &rows[i].fact, 1, ""));
        ck_assert_msg(state_of(job, "horn") == rows[i].after, "row %zu", i);
    }
    job_close(job);
}
END_TEST

/* As a file of a version with wider limits may hold it: it opens, and nobody counts on the number.
 */
START_TEST(hardware_out_of_range_keeps_no_job_shut)
{
    change_tables("UPDATE fact SET value = '1'");
    struct job *job = job_maker_open(path, JOB_READ);
    struct job_view view;
    ck_assert(job_view_load(job, 0, &view));
    ck_assert_str_eq(plan_fact(&view.plan.stations[1], "teeth"), "1");
    assert_near(plan_fact_number(&view.plan.stations[1], "teeth", 7), 7, 0);
    job_view_clear(&view);
    job_close(job);
}
END_TEST

/* What was taken in would keep the job shut. */
START_TEST(a_finding_that_no_model_has_is_not_taken_in)
{
    struct job *job = with_horn_measured();
    struct job_finding finding = *job_maker_finding(0.2, 1, 10);
    struct job_reading reading = finding.readings[0];
    finding.u = 1e308;
    ck_assert(!job_record_finding(job, &by, "horn", &finding, ""));
    ck_assert_int_eq(job_trouble(job), JOB_BAD_FINDING);
    job_clear_trouble(job);
    finding.u = 0.1;
    reading.value = NAN;
    finding.readings = &reading;
    ck_assert(!job_record_finding(job, &by, "horn", &finding, ""));
    ck_assert_int_eq(job_trouble(job), JOB_BAD_FINDING);
    job_clear_trouble(job);
    ck_assert_int_eq(state_of(job, "horn"), JOB_GOOD);
    job_close(job);
}
END_TEST

START_TEST(a_plan_with_hardware_out_of_range_can_be_taken_back)
{
    change_tables("UPDATE fact SET value = '9999'");
    struct job *job = job_maker_open(path, JOB_WRITE);
    struct plan plan;
    struct plan_trouble trouble;
    struct job_view view;
    int64_t undo;
    ck_assert(plan_read("[safe]\ntitle: Safe\nkind: confirm\n", &plan, &trouble));
    ck_assert(job_record_plan(job, &by, &plan, ""));
    plan_clear(&plan);
    ck_assert(job_undo(job, &by, &undo));
    ck_assert(job_view_load(job, 0, &view));
    ck_assert_int_eq(view.plan.count, 3);
    ck_assert_str_eq(plan_fact(&view.plan.stations[1], "teeth"), "9999");
    job_view_clear(&view);
    job_close(job);
}
END_TEST

/* A file may come from elsewhere: words are made fit to show, numbers and keys must be right. */
START_TEST(a_file_that_no_version_wrote_shows_nothing_unfit)
{
    static const char *const damage[] = {
        "UPDATE station SET tolerance = -5 WHERE key = 'horn'",
        "UPDATE station SET key = char(27) || 'orn' WHERE key = 'horn'",
        "UPDATE measurement SET value = 1e308",
        "UPDATE measurement SET coverage = 1e308",
    };
    struct job_view view;
    struct job_log_row row;
    job_close(with_horn_measured());
    change_tables("UPDATE station SET title = char(27) || '[2J' WHERE key = 'horn';"
                  "UPDATE model SET name = char(155) || '2J';"
                  "UPDATE entry SET note = char(27) || 'c' || char(10) || 'x'");
    struct job *job = job_maker_open(path, JOB_READ);
    ck_assert(job_view_load(job, 0, &view));
    ck_assert_str_eq(view.model, "?2J");
    ck_assert_str_eq(view.plan.stations[1].title, "?[2J");
    job_view_clear(&view);
    struct job_log *log = job_log_open(job, "horn");
    ck_assert(job_log_next(log, &row));
    ck_assert_str_eq(row.title, "?[2J");
    ck_assert_str_eq(row.note, "?c\nx");
    ck_assert(job_log_close(log));
    job_close(job);
    size_t size;
    char *whole = slurp(path, &size);
    for (size_t i = 0; i < sizeof damage / sizeof *damage; i++) {
        spill(path, whole, size);
        change_tables(damage[i]);
        job = job_maker_open(path, JOB_READ);
        ck_assert_msg(!job_view_load(job, 0, &view), "row %zu", i);
        ck_assert_int_eq(job_trouble(job), JOB_DAMAGED);
        job_close(job);
    }
    free(whole);
}
END_TEST

/* A plan is edited as text: a station leaves, another comes, hardware differs. Undo brings back
 * the old plan with what had been found. */
START_TEST(an_edited_plan_can_be_taken_back)
{
    struct job *job = with_horn_measured();
    struct plan plan;
    struct plan_trouble trouble;
    struct job_view view;
    int64_t undo;
    ck_assert(plan_read("plan: other\n[safe]\ntitle: Safe\nkind: confirm\n"
                        "[new]\ntitle: New\nkind: level\nrests on: safe\n"
                        "[crank]\ntitle: Crank\nkind: square\nrests on: new\n"
                        "hardware: crank-arm-mm = 20\n",
                        &plan, &trouble));
    ck_assert(job_record_plan(job, &by, &plan, ""));
    ck_assert(job_view_load(job, 0, &view));
    ck_assert_int_eq(view.plan.count, 3);
    ck_assert_int_eq(plan_find(&view.plan, "horn"), -1);
    ck_assert_int_eq(view.standing[1].state, JOB_OPEN);
    job_view_clear(&view);
    ck_assert(job_undo(job, &by, &undo));
    ck_assert_int_eq(state_of(job, "horn"), JOB_GOOD);
    ck_assert_int_eq(state_of(job, "crank"), JOB_OPEN);
    plan_clear(&plan);
    ck_assert(plan_read("[safe]\ntitle: Safe\nkind: level\n", &plan, &trouble));
    ck_assert(!job_record_plan(job, &by, &plan, ""));
    ck_assert_int_eq(job_trouble(job), JOB_KIND_CHANGED);
    plan_clear(&plan);
    job_close(job);
}
END_TEST

START_TEST(the_state_at_a_mark_can_be_seen_again)
{
    struct job *job = with_horn_measured();
    struct job_view view;
    ck_assert(job_record_mark(job, &by, "first flight", ""));
    ck_assert(job_record_finding(job, &by, "horn", job_maker_finding(-0.3, 2, 10), ""));
    int64_t mark = job_mark_find(job, "first flight");
    ck_assert(job_view_load(job, mark, &view));
    assert_near(view.events[view.standing[1].latest].value, 0.2, 0);
    job_view_clear(&view);
    ck_assert(!job_record_mark(job, &by, "first flight", ""));
    ck_assert_int_eq(job_trouble(job), JOB_SAME_MARK);
    job_clear_trouble(job);
    ck_assert_int_eq(job_mark_find(job, "never"), 0);
    ck_assert_int_eq(job_trouble(job), JOB_NO_MARK);
    job_close(job);
}
END_TEST

START_TEST(a_photo_that_cannot_be_read_leaves_no_trace)
{
    struct job *job = with_horn_measured();
    struct job_photo photo = {0, "taken", "gone.jpg", "image/jpeg", "/nowhere/gone.jpg", NULL, 0};
    struct job_finding finding = *job_maker_finding(0.1, 3, 10);
    finding.photos = &photo;
    finding.photo_count = 1;
    ck_assert(!job_record_finding(job, &by, "horn", &finding, ""));
    ck_assert_int_eq(job_trouble(job), JOB_BAD_PHOTO);
    ck_assert_str_eq(job_trouble_detail(job), "gone.jpg");
    job_clear_trouble(job);
    struct job_view view;
    ck_assert(job_view_load(job, 0, &view));
    ck_assert_int_eq(view.event_count, 2);
    job_view_clear(&view);
    job_close(job);
}
END_TEST

/* ---- Files that are not as they should be ------------------------------------------------- */

static void assert_refused(const char *file, enum job_result expected)
{
    struct job *job;
    size_t size = 0, size_after = 0;
    bool there = access(file, R_OK) == 0;
    char *before = there ? slurp(file, &size) : NULL;
    for (int access_wanted = JOB_READ; access_wanted <= JOB_WRITE; access_wanted++) {
        enum job_result result = job_open(file, (enum job_access)access_wanted, &job);
        struct job_view view;
        if (result == JOB_OK) { /* damage may lie where opening does not look */
            if (job_view_load(job, 0, &view))
                job_view_clear(&view);
            job_check(job);
            result = job_trouble(job);
            job_close(job);
        }
        ck_assert_msg(result == expected, "%s: %d, not %d", file, result, expected);
    }
    if (there) {
        char *after = slurp(file, &size_after);
        ck_assert_uint_eq(size, size_after);
        ck_assert_int_eq(memcmp(before, after, size), 0);
        free(after);
        free(before);
    }
}

START_TEST(foreign_files_are_told_and_left_alone)
{
    char *other = job_maker_path(folder, "other");
    sqlite3 *db;
    assert_refused(other, JOB_NO_FILE);
    spill(other, "", 0);
    assert_refused(other, JOB_FOREIGN);
    spill(other, "a text\n", 7);
    assert_refused(other, JOB_FOREIGN);
    char big[9000];
    memset(big, 0x5A, sizeof big);
    spill(other, big, sizeof big);
    assert_refused(other, JOB_FOREIGN);
    unlink(other);
    ck_assert_int_eq(sqlite3_open(other, &db), SQLITE_OK);
    sqlite3_exec(db, "CREATE TABLE model (name TEXT); PRAGMA user_version = 1", NULL, NULL, NULL);
    sqlite3_close(db);
    assert_refused(other, JOB_FOREIGN);
    struct job *job;
    ck_assert_int_eq(job_open(folder, JOB_READ, &job), JOB_FOREIGN);
    free(other);
}
END_TEST

START_TEST(a_newer_version_is_told_and_left_alone)
{
    sqlite3 *db;
    ck_assert_int_eq(sqlite3_open(path, &db), SQLITE_OK);
    sqlite3_exec(db, "PRAGMA user_version = 99", NULL, NULL, NULL);
    sqlite3_close(db);
    assert_refused(path, JOB_NEWER);
}
END_TEST

/* Cut at every page and at odd places: from a job with a photo, so most cuts fall into it. */
START_TEST(truncated_files_are_told_and_left_alone)
{
    size_t size;
    job_close(with_horn_measured());
    char *whole = slurp(path, &size);
    char *cut = job_maker_path(folder, "cut.job");
    for (size_t length = 4096; length < size; length += 12288 + 100) {
        spill(cut, whole, length);
        assert_refused(cut, JOB_DAMAGED);
    }
    spill(cut, whole, 300);
    assert_refused(cut, JOB_DAMAGED);
    free(whole);
    free(cut);
}
END_TEST

/* Overwritten bytes anywhere: an answer or a refusal, never a crash. */
START_TEST(overwritten_files_never_crash)
{
    size_t size;
    job_close(with_horn_measured());
    char *whole = slurp(path, &size);
    char *bad = job_maker_path(folder, "bad.job");
    char *copy = malloc(size);
    srand(11);
    for (int run = 0; run < 300; run++) {
        struct job *job;
        struct job_view view;
        memcpy(copy, whole, size);
        size_t at = (size_t)rand() % (run % 3 ? 65536 : size);
        for (size_t i = at; i < size && i < at + 64; i++)
            copy[i] = (char)rand();
        spill(bad, copy, size);
        if (job_open(bad, JOB_WRITE, &job) != JOB_OK)
            continue;
        if (job_view_load(job, 0, &view))
            job_view_clear(&view);
        job_clear_trouble(job);
        (void)job_record_finding(job, &by, "horn", job_maker_finding(0.1, 4, 5000), "");
        job_close(job);
        unlink(bad);
    }
    free(copy);
    free(whole);
    free(bad);
}
END_TEST

/* Runs act in a process of its own, as nobody when this one is root (whom no permission stops). */
static void in_child(bool as_nobody, void (*act)(void))
{
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        if (as_nobody && getuid() == 0 && (setgid(65534) != 0 || setuid(65534) != 0))
            _exit(9);
        act();
        _exit(0);
    }
    int status;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert_msg(WIFEXITED(status) && WEXITSTATUS(status) == 0, "the child ended with %x", status);
}

#define child_assert(condition)                                                                    \
    do {                                                                                           \
        if (!(condition)) {                                                                        \
            fprintf(stderr, "line %d: %s\n", __LINE__, #condition);                                \
            _exit(1);                                                                              \
        }                                                                                          \
    } while (0)

static void read_but_not_write(void)
{
    struct job *job;
    struct job_view view;
    child_assert(job_open(path, JOB_WRITE, &job) == JOB_READ_ONLY && !job);
    child_assert(job_open(path, JOB_READ, &job) == JOB_OK);
    child_assert(job_view_load(job, 0, &view));
    child_assert(view.standing[1].state == JOB_GOOD);
    job_view_clear(&view);
    child_assert(!job_record_note(job, &by, NULL, "x"));
    child_assert(job_trouble(job) == JOB_READ_ONLY);
    job_close(job);
}

START_TEST(a_read_only_file_can_be_read)
{
    job_close(with_horn_measured());
    ck_assert_int_eq(chmod(path, 0444), 0);
    ck_assert_int_eq(chmod(folder, 0555), 0);
    in_child(true, read_but_not_write);
    chmod(folder, 0755);
}
END_TEST

/* The file may be written but its folder takes no journal: a stick with a locked folder. */
static void write_without_journal(void)
{
    struct job *job;
    child_assert(job_open(path, JOB_WRITE, &job) == JOB_OK);
    child_assert(!job_record_note(job, &by, NULL, "x"));
    child_assert(job_trouble(job) == JOB_READ_ONLY);
    job_close(job);
}

START_TEST(a_folder_that_takes_no_journal_is_told)
{
    job_close(with_horn_measured());
    ck_assert_int_eq(chmod(path, 0666), 0);
    ck_assert_int_eq(chmod(folder, 0555), 0);
    in_child(true, write_without_journal);
    chmod(folder, 0755);
}
END_TEST

/* ---- A full disk -------------------------------------------------------------------------- */

/* Fills until a write fails, and checks that all before it is whole and that more fits later. */
static void fill_up(struct job *job)
{
    struct job_view view;
    int good = 0;
    while (good < 100 &&
           job_record_finding(job, &by, "horn", job_maker_finding(0.2, 1, 200000), ""))
        good++;
    child_assert(job_trouble(job) == JOB_FULL);
    job_clear_trouble(job);
    child_assert(job_view_load(job, 0, &view));
    child_assert(view.event_count == 2 + good);
    job_view_clear(&view);
    child_assert(job_check(job));
}

static void hit_a_size_limit(void)
{
    struct rlimit limit = {3 << 20, 3 << 20};
    signal(SIGXFSZ, SIG_IGN);
    child_assert(setrlimit(RLIMIT_FSIZE, &limit) == 0);
    struct job *job;
    child_assert(job_open(path, JOB_WRITE, &job) == JOB_OK);
    fill_up(job);
    job_close(job);
}

START_TEST(a_limit_on_file_size_loses_nothing)
{
    job_close(with_horn_measured());
    in_child(false, hit_a_size_limit);
    struct job *job = job_maker_open(path, JOB_WRITE);
    ck_assert(job_record_finding(job, &by, "horn", job_maker_finding(0.2, 1, 200000), ""));
    ck_assert(job_check(job));
    job_close(job);
}
END_TEST

/* A disk of 2 MiB of its own; needs the right to mount, which a plain user lacks. */
static void fill_a_small_disk(void)
{
    if (unshare(CLONE_NEWNS) != 0 || mount(NULL, "/", NULL, MS_REC | MS_PRIVATE, NULL) != 0 ||
        mount("tmpfs", folder, "tmpfs", 0, "size=2m") != 0) {
        fprintf(stderr, "no right to mount: the small disk was not tried\n");
        _exit(0);
    }
    struct plan plan;
    struct plan_trouble trouble;
    struct job *job;
    child_assert(plan_read(plan_text, &plan, &trouble));
    child_assert(job_create(path, &job) == JOB_OK);
    child_assert(job_fill(job, &by, "x", false, &plan));
    child_assert(job_publish(job) == JOB_OK);
    child_assert(job_open(path, JOB_WRITE, &job) == JOB_OK);
    child_assert(job_record_confirmation(job, &by, "safe", true, ""));
    child_assert(job_record_finding(job, &by, "horn", job_maker_finding(0.2, 1, 200000), ""));
    fill_up(job);
    job_close(job);
    plan_clear(&plan);
}

START_TEST(a_full_disk_loses_nothing)
{
    in_child(false, fill_a_small_disk);
}
END_TEST

/* ---- Two programs at once ----------------------------------------------------------------- */

static void record_fifty(void)
{
    struct job *job;
    child_assert(job_open(path, JOB_WRITE, &job) == JOB_OK);
    for (int i = 0; i < 50; i++)
        child_assert(job_record_finding(job, &by, "horn", job_maker_finding(0.2, 1, 3000), ""));
    job_close(job);
}

START_TEST(two_writers_take_turns)
{
    job_close(with_horn_measured());
    pid_t other = fork();
    ck_assert_int_ge(other, 0);
    if (other == 0) {
        record_fifty();
        _exit(0);
    }
    in_child(false, record_fifty);
    int status;
    waitpid(other, &status, 0);
    ck_assert(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    struct job *job = job_maker_open(path, JOB_READ);
    struct job_view view;
    ck_assert(job_view_load(job, 0, &view));
    ck_assert_int_eq(view.event_count, 102);
    job_view_clear(&view);
    ck_assert(job_check(job));
    job_close(job);
}
END_TEST

START_TEST(a_writer_that_does_not_come_to_an_end_is_told)
{
    struct job *holder = with_horn_measured();
    struct job *job = job_maker_open(path, JOB_WRITE);
    struct job_view view;
    ck_assert(job_begin(holder));
    ck_assert(job_view_load(job, 0, &view)); /* reading goes on */
    job_view_clear(&view);
    ck_assert(!job_record_note(job, &by, NULL, "x"));
    ck_assert_int_eq(job_trouble(job), JOB_BUSY);
    job_end(holder, false);
    job_clear_trouble(job);
    ck_assert(job_record_note(job, &by, NULL, "x"));
    job_close(job);
    assert_good(holder);
    job_close(holder);
}
END_TEST

/* What was recorded is not told as refused because it could not be shown afterwards. */
START_TEST(what_is_recorded_is_told_so_whatever_comes_after)
{
    struct job *holder = with_horn_measured(), *job = job_maker_open(path, JOB_WRITE);
    char text[1024], *said = job_maker_path(folder, "said");
    ck_assert(!job_record_finding(job, &by, "safe", job_maker_finding(0.1, 1, 9), ""));
    ck_assert(!job_recorded(job));
    job_clear_trouble(job);
    ck_assert(job_record_note(job, &by, NULL, "x"));
    ck_assert(job_recorded(job));
    ck_assert(job_exec(holder, "BEGIN EXCLUSIVE"));
    job_command_outcome(job, "horn");
    ck_assert_int_eq(job_trouble(job), JOB_BUSY);
    ck_assert_ptr_nonnull(freopen(said, "w+", stderr));
    ck_assert_int_eq(job_command_close(job), EXIT_DONE);
    rewind(stderr);
    ck_assert_ptr_nonnull(fgets(text, sizeof text, stderr));
    ck_assert_msg(strstr(text, "it is recorded") && !strstr(text, "nothing was changed"), "%s",
                  text);
    job_close(holder);
    free(said);
}
END_TEST

/* ---- Older versions ----------------------------------------------------------------------- */

/* tests/job_versions/N.sql is a job of version N as the sqlite3 shell dumped it; the files are
 * never made again. Each must come up to date with everything it held. */
static void make_old(const char *file, int version)
{
    char dump[256];
    size_t size;
    sqlite3 *db;
    snprintf(dump, sizeof dump, "%s/%d.sql", JOB_VERSIONS, version);
    char *sql = slurp(dump, &size);
    sql[size] = '\0';
    unlink(file);
    ck_assert_int_eq(sqlite3_open(file, &db), SQLITE_OK);
    ck_assert_int_eq(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
    free(sql);
}

START_TEST(every_older_version_comes_up_to_date)
{
    struct job_view view;
    make_old(path, _i);
    struct job *job = job_maker_open(path, JOB_READ);
    ck_assert_int_eq(job_version_found(job), _i);
    ck_assert(job_view_load(job, 0, &view));
    ck_assert_str_eq(view.model, "Old model");
    ck_assert_int_eq(view.plan.count, 3);
    ck_assert_int_eq(view.standing[1].state, JOB_GOOD);
    assert_near(view.events[view.standing[1].latest].value, 0.25, 0);
    job_view_clear(&view);
    job_close(job);
    job = job_maker_open(path, JOB_WRITE);
    ck_assert_int_eq(job_version_found(job), job_version_now());
    ck_assert(job_record_mark(job, &by, "now", ""));
    ck_assert(job_check(job));
    job_close(job);
}
END_TEST

static void refuse_old(void)
{
    struct job *job;
    child_assert(job_open(path, JOB_READ, &job) == JOB_READ_ONLY);
}

START_TEST(an_older_version_that_cannot_be_written_is_told)
{
    make_old(path, 1);
    chmod(path, 0444);
    chmod(folder, 0555);
    in_child(true, refuse_old);
    chmod(folder, 0755);
}
END_TEST

static void add_tests(TCase *file, TCase *work, TCase *bad)
{
    tcase_add_test(file, the_header_names_program_version_and_journal);
    tcase_add_test(file, references_are_enforced);
    tcase_add_test(file, what_was_recorded_comes_back);
    tcase_add_test(file, an_existing_file_is_never_replaced);
    tcase_add_test(file, a_job_given_up_leaves_nothing_behind);
    tcase_add_test(file, a_job_whose_making_is_stopped_leaves_nothing_behind);
    tcase_add_loop_test(file, every_older_version_comes_up_to_date, 1, job_version_now());
    tcase_add_test(file, an_older_version_that_cannot_be_written_is_told);
    tcase_add_test(work, a_station_that_waits_takes_nothing);
    tcase_add_test(work, hardware_given_twice_at_once_is_refused_and_undone_where_it_stands);
    tcase_add_test(work, an_act_without_its_first_entry_is_told_and_not_undone);
    tcase_add_test(work, a_rule_of_the_tables_that_is_broken_is_no_damage);
    tcase_add_test(work, a_job_in_a_command_that_is_suggested_can_be_pasted);
    tcase_add_test(work, text_that_is_no_utf8_is_not_taken_in);
    tcase_add_test(work, hardware_that_nobody_changed_leaves_the_work_as_it_stands);
    tcase_add_test(work, hardware_out_of_range_keeps_no_job_shut);
    tcase_add_test(work, a_finding_that_no_model_has_is_not_taken_in);
    tcase_add_test(work, a_plan_with_hardware_out_of_range_can_be_taken_back);
    tcase_add_test(work, a_file_that_no_version_wrote_shows_nothing_unfit);
    tcase_add_test(work, undo_takes_back_one_act_and_keeps_it_in_the_log);
    tcase_add_test(work, other_hardware_asks_for_a_check_and_can_be_undone);
    tcase_add_test(work, an_edited_plan_can_be_taken_back);
    tcase_add_test(work, the_state_at_a_mark_can_be_seen_again);
    tcase_add_test(work, a_photo_that_cannot_be_read_leaves_no_trace);
    tcase_add_test(bad, foreign_files_are_told_and_left_alone);
    tcase_add_test(bad, a_newer_version_is_told_and_left_alone);
    tcase_add_test(bad, truncated_files_are_told_and_left_alone);
    tcase_add_test(bad, overwritten_files_never_crash);
    tcase_add_test(bad, a_read_only_file_can_be_read);
    tcase_add_test(bad, a_folder_that_takes_no_journal_is_told);
    tcase_add_test(bad, a_limit_on_file_size_loses_nothing);
    tcase_add_test(bad, a_full_disk_loses_nothing);
    tcase_add_test(bad, two_writers_take_turns);
    tcase_add_test(bad, a_writer_that_does_not_come_to_an_end_is_told);
    tcase_add_test(bad, what_is_recorded_is_told_so_whatever_comes_after);
}

int main(void)
{
    Suite *suite = suite_create("job_file");
    TCase *cases[3] = {tcase_create("file"), tcase_create("work"), tcase_create("trouble")};
    for (int i = 0; i < 3; i++) {
        tcase_add_checked_fixture(cases[i], set_up, tear_down);
        tcase_set_timeout(cases[i], 120);
        suite_add_tcase(suite, cases[i]);
    }
    add_tests(cases[0], cases[1], cases[2]);
    return run_suite(suite);
}
