/* Export and import: all of a job as plain files and back, to the byte; and every way in which a
 * folder can be wrong. */
#include "check_main.h"
#include "job/job_export.h"
#include "job_maker.h"

#include <glob.h>
#include <jansson.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static const char *const plan_text = "plan: small\nabout: with \"quotes\", commas and é\n"
                                     "[safe]\ntitle: Safe, \"really\"\nkind: confirm\n"
                                     "[horn]\ntitle: Horn\nkind: square\nrests on: safe\n"
                                     "hardware: teeth = 25\n"
                                     "[pair]\ntitle: Pair\nkind: link pair\nrests on: horn\n"
                                     "tolerance: 0.1\n";
static const char *folder;
static char *path, *out;

/* A job with everything in it: findings with photos, refit, replan, note, mark, undo. */
static void set_up(void)
{
    job_maker_as_a_program();
    folder = job_maker_folder();
    path = job_maker_path(folder, "a.job");
    out = job_maker_path(folder, "out");
    job_maker_new(path, plan_text);
    struct job_signature by = job_sign("Ann \"B\", C");
    struct job *job = job_maker_open(path, JOB_WRITE);
    struct plan_fact fact = {"horn-arm-mm", "13.5"};
    struct plan plan;
    struct plan_trouble trouble;
    int64_t undo;
    ck_assert(job_record_confirmation(job, &by, "safe", true, "ok"));
    ck_assert(job_record_finding(job, &by, "horn", job_maker_finding(0.1 + 0.2, 1, 70000), "a\nb"));
    ck_assert(job_record_facts(job, &by, "horn", &fact, 1, ""));
    ck_assert(job_record_finding(job, &by, "horn", job_maker_finding(1e-9, 2, 9), ""));
    ck_assert(job_record_mark(job, &by, "first", ""));
    ck_assert(job_record_note(job, &by, NULL, "=1+1"));
    ck_assert(plan_read("plan: next\n[safe]\ntitle: Safe\nkind: confirm\n", &plan, &trouble));
    ck_assert(job_record_plan(job, &by, &plan, ""));
    ck_assert(job_undo(job, &by, &undo));
    plan_clear(&plan);
    ck_assert(job_export(job, out));
    job_close(job);
}

static void tear_down(void)
{
    job_maker_clean(folder);
    free(path);
    free(out);
}

static void assert_same_folders(const char *a, const char *b)
{
    char command[600];
    snprintf(command, sizeof command, "diff -r '%s' '%s'", a, b);
    ck_assert_int_eq(system(command), 0);
}

static void import_fails(const char *says)
{
    char detail[256] = "";
    char *again = job_maker_path(folder, "again.job");
    ck_assert_int_eq(job_import(out, again, detail, sizeof detail), JOB_BAD_EXPORT);
    ck_assert_msg(strstr(detail, says), "\"%s\" does not say \"%s\"", detail, says);
    ck_assert_int_ne(access(again, F_OK), 0);
    free(again);
}

START_TEST(a_round_trip_is_identical_to_the_byte)
{
    char detail[256];
    char *again = job_maker_path(folder, "again.job"), *out_again = job_maker_path(folder, "out2");
    ck_assert_int_eq(job_import(out, again, detail, sizeof detail), JOB_OK);
    struct job *job = job_maker_open(again, JOB_WRITE);
    ck_assert(job_check(job));
    ck_assert(job_export(job, out_again));
    assert_same_folders(out, out_again);
    /* And the copy goes on living: the next entry gets the next number. */
    struct job_signature by = job_sign("x");
    struct job_view view;
    ck_assert(job_record_note(job, &by, NULL, "more"));
    ck_assert(job_view_load(job, 0, &view));
    ck_assert_int_eq(view.newest, 10);
    job_view_clear(&view);
    job_close(job);
    free(again);
    free(out_again);
}
END_TEST

START_TEST(nothing_is_overwritten)
{
    char detail[256];
    struct job *job = job_maker_open(path, JOB_READ);
    ck_assert(!job_export(job, out));
    ck_assert_int_eq(job_trouble(job), JOB_EXISTS);
    job_close(job);
    ck_assert_int_eq(job_import(out, path, detail, sizeof detail), JOB_EXISTS);
}
END_TEST

static void rewrite(const char *name, const char *text)
{
    char *file = job_maker_path(out, name);
    FILE *to = fopen(file, "wb");
    ck_assert_ptr_nonnull(to);
    int written = fputs(text, to);
    ck_assert_int_eq(fclose(to), 0);
    ck_assert_int_ge(written, 0);
    free(file);
}

/* How many folders in the making stand beside their place. */
static size_t drafts_there(const char *pattern)
{
    glob_t found;
    size_t count = glob(pattern, 0, NULL, &found) == 0 ? found.gl_pathc : 0;
    globfree(&found);
    return count;
}

/* Stopped later and later in the making, until it is done before: whole or not there. How often it
 * is met in the making is the machine's affair; check_safe_file stops folders without racing. */
START_TEST(an_export_that_is_stopped_leaves_nothing_behind)
{
    char *place = job_maker_path(folder, "stopped"), *drafts = job_maker_path(folder, "stopped.*");
    for (int round = 0; round < 60; round++) {
        int status = 0;
        bool ended = false;
        pid_t child = fork();
        if (child == 0) {
            struct job *job = job_maker_open(path, JOB_READ);
            _exit(job_export(job, place) ? 0 : 1);
        }
        while (!ended && drafts_there(drafts) == 0)
            ended = waitpid(child, &status, WNOHANG) == child;
        if (!ended) {
            usleep((useconds_t)(50 * round));
            kill(child, SIGTERM);
            ck_assert_int_eq(waitpid(child, &status, 0), child);
        }
        ck_assert(WIFSIGNALED(status) || (WIFEXITED(status) && WEXITSTATUS(status) == 0));
        ck_assert_msg(drafts_there(drafts) == 0, "round %d leaves a folder", round);
        if (access(place, F_OK) == 0) {
            assert_same_folders(out, place);
            job_maker_clean(place);
        }
    }
    free(place);
    free(drafts);
}
END_TEST

START_TEST(a_folder_that_is_no_export_is_told)
{
    rewrite("job.json", "{");
    import_fails("line");
    rewrite("job.json", "{\"format\": \"other\"}");
    import_fails("not an export");
    rewrite("job.json", "{\"format\": \"armsquare job export\", \"version\": 1}");
    import_fails("no list \"model\"");
    char *json = job_maker_path(out, "job.json");
    unlink(json);
    free(json);
    import_fails("no job.json");
}
END_TEST

START_TEST(a_newer_export_is_told)
{
    char detail[256], *again = job_maker_path(folder, "again.job");
    rewrite("job.json", "{\"format\": \"armsquare job export\", \"version\": 99}");
    ck_assert_int_eq(job_import(out, again, detail, sizeof detail), JOB_NEWER);
    free(again);
}
END_TEST

START_TEST(a_photo_that_is_missing_or_another_is_told)
{
    char *photo = job_maker_path(out, "photos/00001-taken.jpg");
    FILE *to = fopen(photo, "r+b");
    ck_assert_ptr_nonnull(to);
    int written = fputc('x', to);
    ck_assert_int_eq(fclose(to), 0);
    ck_assert_int_ne(written, EOF);
    import_fails("not the photo that was exported");
    unlink(photo);
    import_fails("missing");
    free(photo);
}
END_TEST

/* Sets table[row].name of job.json, owned here; without a name the row goes. */
static void edit(const char *table, size_t row, const char *name, json_t *value)
{
    char *json = job_maker_path(out, "job.json");
    json_t *all = json_load_file(json, 0, NULL);
    json_t *rows = json_object_get(all, table);
    ck_assert_int_eq(name ? json_object_set_new(json_array_get(rows, row), name, value)
                          : json_array_remove(rows, row),
                     0);
    ck_assert_int_eq(json_dump_file(all, json, 0), 0);
    json_decref(all);
    free(json);
}

START_TEST(an_act_that_is_not_the_number_of_its_first_entry_is_told)
{
    edit("entry", 6, "act", json_integer(999));
    import_fails("act 999");
}
END_TEST

/* Keys, words and numbers of a job keep the rules of plans and findings, whoever wrote the file. */
START_TEST(what_no_job_holds_is_told)
{
    const struct {
        const char *table;
        size_t row;
        const char *name;
        json_t *value;
        const char *says;
    } rows[] = {
        {"station", 0, "key", json_string("EVIL"), "the key of station 1 is none"},
        {"station", 1, "title", json_string("\x1b[31mred"), "control characters in \"title\""},
        {"station", 1, "title", json_string("two\nlines"), "\"horn\" are not plain text"},
        {"model", 0, "name", json_string("\x1b]0;x\a"), "control characters in \"name\""},
        {"entry", 3, "note",
         json_string("\xc2\x9b"
                     "2J"),
         "control characters in \"note\""},
        {"entry", 2, "at", json_string("x"), "the time of entry 3 is none, \"x\""},
        {"entry", 2, "at", json_string(""), "the time of entry 3 is none, \"\""},
        {"entry", 2, "at", json_string("2026-02-30T14:05:00Z"), "the time of entry 3 is none"},
        {"station", 1, "tolerance", json_real(-5), "cannot have the tolerance -5"},
        {"station", 2, "target", json_real(1e308), "cannot have the target 1e+308"},
        {"measurement", 0, "value", json_real(1e308), "entry 3 are no measurement"},
        {"measurement", 0, "u", json_real(1e308), "entry 3 are no measurement"},
        {"measurement", 0, "coverage", json_real(1e308), "entry 3 are no measurement"},
        {"reading", 0, "value", json_real(-1e308), "entry 3 are no measurement"},
        {"reading", 0, "value", json_real(5.3), "what entry 3 found does not follow from its"},
        {"measurement", 0, "value", json_real(0.2), "what entry 3 found does not follow from its"},
        {"reading", 0, NULL, NULL, "what entry 3 found does not follow from its readings"},
        {"measurement", 0, NULL, NULL, "entry 3 has not what its kind of entry tells"},
        {"confirmation", 0, NULL, NULL, "entry 2 has not what its kind of entry tells"},
        {"refit", 0, NULL, NULL, "entry 4 has not what its kind of entry tells"},
        {"mark", 0, NULL, NULL, "entry 6 has not what its kind of entry tells"},
        {"entry", 6, "kind", json_string("measured"), "entry 7 has not what its kind of entry"},
        {"budget", 0, "u", json_real(1e308), "entry 3 are no measurement"},
        {"refit", 0, "name", json_string("wheels"), "no hardware called \"wheels\""},
        {"refit", 0, "before", json_string("a;b"), "entry 4: \"horn-arm-mm\" needs a value"},
        {"entry", 3, "station_id", json_null(), "entry 4 changes hardware at no station"},
        {"replanned", 0, "before", json_string("[a"),
         "the plan before entry 8: a station's heading"},
    };
    char *json = job_maker_path(out, "job.json");
    json_t *whole = json_load_file(json, 0, NULL);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        edit(rows[i].table, rows[i].row, rows[i].name, rows[i].value);
        import_fails(rows[i].says);
        ck_assert_int_eq(json_dump_file(whole, json, 0), 0);
    }
    json_decref(whole);
    free(json);
}
END_TEST

/* As versions before it was refused could record it. The Unicode Standard 15, table 3-7: no
 * character is C3 alone. */
START_TEST(half_a_character_in_old_history_does_not_stop_an_export)
{
    sqlite3 *db;
    char *again = job_maker_path(folder, "healed"), *taken = job_maker_path(folder, "b.job");
    char detail[256] = "";
    ck_assert_int_eq(sqlite3_open(path, &db), SQLITE_OK);
    ck_assert_int_eq(
        sqlite3_exec(db, "UPDATE measurement SET message = CAST(x'613AC3' AS TEXT)", 0, 0, 0),
        SQLITE_OK);
    sqlite3_close(db);
    struct job *job = job_maker_open(path, JOB_READ);
    ck_assert_msg(job_export(job, again), "%s", job_trouble_detail(job));
    job_close(job);
    ck_assert_int_eq(job_import(again, taken, detail, sizeof detail), JOB_OK);
    free(again);
    free(taken);
}
END_TEST

/* Every value of job.json in turn becomes something else: taken in only when it makes sense, and
 * then it can be shown; never a crash. */
START_TEST(changed_values_are_refused_or_make_sense)
{
    static const char *const others[] = {"null", "-1", "\"x\"", "{}", "1e308", "999999"};
    char *json = job_maker_path(out, "job.json"), detail[256];
    char *again = job_maker_path(folder, "again.job");
    json_t *all = json_load_file(json, 0, NULL), *rows, *row, *value;
    const char *table, *name;
    void *next;
    size_t number;
    int refused = 0, taken = 0;
    json_object_foreach_safe(all, next, table, rows)
    {
        row = json_array_get(rows, 0);
        for (void *at = json_object_iter(row); at; at = json_object_iter_next(row, at)) {
            name = json_object_iter_key(at);
            value = json_incref(json_object_iter_value(at));
            for (number = 0; number < sizeof others / sizeof *others; number++) {
                json_object_set_new(row, name, json_loads(others[number], JSON_DECODE_ANY, NULL));
                json_dump_file(all, json, 0);
                if (job_import(out, again, detail, sizeof detail) == JOB_OK) {
                    struct job *job = job_maker_open(again, JOB_READ);
                    ck_assert(job_check(job));
                    job_close(job);
                    unlink(again);
                    taken++;
                } else {
                    refused++;
                }
            }
            json_object_set_new(row, name, value);
        }
    }
    ck_assert_int_gt(refused, taken);
    ck_assert_int_gt(taken, 0);
    json_decref(all);
    free(json);
    free(again);
}
END_TEST

/* RFC 4180, section 2: fields with commas, quotes or line breaks stand in quotes, quotes inside
 * are doubled, lines end in CR LF. */
START_TEST(csv_is_quoted_as_rfc_4180_says)
{
    char *file = job_maker_path(out, "measurements.csv"), text[4096] = "";
    FILE *from = fopen(file, "rb");
    ck_assert(from && fread(text, 1, sizeof text - 1, from) > 0);
    fclose(from);
    ck_assert(strstr(text, ",\"Ann \"\"B\"\", C\",horn,square,0.30000000000000004,"));
    ck_assert(strstr(text, ",\"a\nb\",\r\n"));
    free(file);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("job_export");
    TCase *all = tcase_create("folder");
    tcase_add_checked_fixture(all, set_up, tear_down);
    tcase_set_timeout(all, 120);
    tcase_add_test(all, a_round_trip_is_identical_to_the_byte);
    tcase_add_test(all, nothing_is_overwritten);
    tcase_add_test(all, an_export_that_is_stopped_leaves_nothing_behind);
    tcase_add_test(all, a_folder_that_is_no_export_is_told);
    tcase_add_test(all, a_newer_export_is_told);
    tcase_add_test(all, a_photo_that_is_missing_or_another_is_told);
    tcase_add_test(all, an_act_that_is_not_the_number_of_its_first_entry_is_told);
    tcase_add_test(all, what_no_job_holds_is_told);
    tcase_add_test(all, half_a_character_in_old_history_does_not_stop_an_export);
    tcase_add_test(all, changed_values_are_refused_or_make_sense);
    tcase_add_test(all, csv_is_quoted_as_rfc_4180_says);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
