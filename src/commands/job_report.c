/* "armsquare job report" and "compare". */
#include "base/answer.h"
#include "base/clean_text.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "base/option_value.h"
#include "base/safe_file.h"
#include "base/shell_word.h"
#include "job/job_compare.h"
#include "job/job_other.h"
#include "job/job_words.h"
#include "job_command.h"
#include "report/report.h"

#include <errno.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

static const char no_memory[] = "there is not enough memory; close other programs and try again.";

static bool ends_in(const char *path, const char *suffix)
{
    size_t length = strlen(path), tail = strlen(suffix);
    return length > tail && strcasecmp(path + length - tail, suffix) == 0;
}

/* ---- What to compare with ----------------------------------------------------------------- */

/* An older state: of the same job at a mark, or of another job file. */
struct against {
    char *name; /* fit to show, whatever the file is called */
    struct job_view then, now;
    struct job_comparison comparison;
    struct job_other other; /* of another job file */
};

static bool load_other(const char *path, struct job_view *out, int *status)
{
    struct job *other;
    enum job_result result = job_open(path, JOB_READ, &other);
    if (result != JOB_OK) {
        *status = job_say(result, path, "");
        return false;
    }
    bool good = job_view_load(other, 0, out);
    if (!good)
        *status = job_say(job_trouble(other), path, job_trouble_detail(other));
    job_close(other);
    return good;
}

static void against_clear(struct against *a)
{
    job_comparison_clear(&a->comparison);
    job_other_clear(&a->other);
    job_view_clear(&a->then);
    job_view_clear(&a->now);
    free(a->name);
    a->name = NULL;
}

/* since: a mark; other: a job file; one of them is NULL. false: the trouble is in the job, or said
 * already when *status says so. */
static bool against_load(struct job *job, const char *since, const char *other, struct against *a,
                         int *status)
{
    *a = (struct against){0};
    if (since) {
        int64_t mark = job_mark_find(job, since);
        if (!mark || !job_view_load(job, mark, &a->then))
            return false;
    } else if (!load_other(other, &a->then, status)) {
        return false;
    }
    a->name = clean_text(since ? since : other);
    if (a->name && job_view_load(job, 0, &a->now) &&
        job_compare(&a->then, &a->now, a->name, !since, &a->comparison) &&
        (since || job_other_find(&a->then, &a->now, &a->other)))
        return true;
    if (job_trouble(job) == JOB_OK)
        *status = fail_trouble(no_memory);
    against_clear(a);
    return false;
}

/* ---- Report ------------------------------------------------------------------------------- */

/* Writes into the open file; false: see the job's trouble, else errno. */
static bool write_report(struct job *job, FILE *to, const struct job_words_given *given,
                         const char *title, const struct job_comparison *comparison)
{
    int pages = 0;
    struct report *r;
    if (ends_in(given->output, ".html") || ends_in(given->output, ".htm")) {
        r = report_html_open(to, title);
        return r && report_write(job, r, given->all, comparison);
    }
    /* Once without photos to count the pages, once for good. */
    r = report_pdf_count(title, &pages);
    if (!r || !report_write(job, r, given->all, comparison))
        return false;
    r = report_pdf_open(to, title, pages);
    return r && report_write(job, r, given->all, comparison);
}

/* NULL: see the job's trouble, else there is no memory. */
static char *report_title(struct job *job)
{
    struct job_view view;
    char *title = NULL;
    if (!job_view_load(job, 0, &view))
        return NULL;
    if (asprintf(&title, "Set-up record: %s", view.model) < 0)
        title = NULL;
    job_view_clear(&view);
    return title;
}

static int make_report(struct job *job, const struct job_words_given *given,
                       const struct job_comparison *comparison)
{
    struct safe_file file;
    char *title = report_title(job);
    if (!title)
        return job_trouble(job) != JOB_OK ? EXIT_TROUBLE : fail_trouble(no_memory);
    if (!safe_file_open(&file, given->output)) {
        free(title);
        return fail_unwritten(given->output, errno, "-o FILE");
    }
    bool good = write_report(job, file.stream, given, title, comparison);
    free(title);
    if (!good) {
        int saved = errno;
        safe_file_abandon(&file);
        return job_trouble(job) != JOB_OK ? EXIT_TROUBLE
                                          : fail_unwritten(given->output, saved, "-o FILE");
    }
    if (!safe_file_commit(&file))
        return fail_unwritten(given->output, errno, "-o FILE");
    printf("%s is written.\n", given->output);
    return EXIT_DONE;
}

static int ask_for_output(const char *path)
{
    char *word = shell_word(path);
    fail_usage("say where the report goes, with the ending .html or .pdf, for example: "
               "armsquare job report %s -o report.pdf",
               word ? word : path);
    free(word);
    return EXIT_USAGE;
}

int job_command_report(const struct job_words_given *given)
{
    struct against against = {0};
    int status;
    if (!given->output)
        return ask_for_output(given->words[0]);
    status = option_output("-o FILE", given->output, ".html, .htm or .pdf");
    if (status != EXIT_DONE)
        return status;
    struct job *job = job_command_open(given, JOB_READ, &status);
    if (!job)
        return status;
    if (!given->since || against_load(job, given->since, NULL, &against, &status))
        status = make_report(job, given, given->since ? &against.comparison : NULL);
    against_clear(&against);
    int closing = job_command_close(job);
    return closing ? closing : status;
}

/* ---- Comparison --------------------------------------------------------------------------- */

/* Below the verdict that they share. */
static void print_row(const struct job_comparison_row *row, bool of_files)
{
    printf("  %s", row->title);
    if (!isnan(row->then) && !isnan(row->now) && row->change != JOB_UNTOUCHED) {
        char *moved = job_row_moved_words(row, JOB_TEXT);
        char *then = job_then_words(row, JOB_TEXT);
        char *found = job_since_words(row, JOB_TEXT);
        char *now = row->again ? job_now_words(row, JOB_TEXT) : strdup("");
        printf(of_files                      ? "%s%s (%s there, %s here)"
               : row->change == JOB_REPLACED ? "%s%s (%s then, %s now)"
                                             : "%s%s (from %s to %s%s%s)",
               moved && *moved ? ": " : "", moved ? moved : "", then ? then : "",
               found ? found : "", row->again ? "; now " : "", now ? now : "");
        free(moved);
        free(then);
        free(found);
        free(now);
    }
    putchar('\n');
}

static const char *or_none(const char *value)
{
    return *value ? value : "none";
}

/* What two files differ in besides what was found. */
static void print_other(const struct job_other *o)
{
    if (o->fact_count)
        puts("\nOther hardware:");
    for (int i = 0; i < o->fact_count; i++)
        printf("  %s, %s: %s there, %s here\n", o->facts[i].title, o->facts[i].name,
               or_none(o->facts[i].there), or_none(o->facts[i].here));
    if (o->state_count)
        puts("\nIn another state:");
    for (int i = 0; i < o->state_count; i++)
        printf("  %s: %s there, %s here\n", o->states[i].title, job_state_words(o->states[i].there),
               job_state_words(o->states[i].here));
}

static void print_comparison(const struct against *a, const char *file)
{
    const struct job_comparison *c = &a->comparison;
    if (c->of_files)
        printf("%s against \"%s\"", file, c->name);
    else
        printf("Since \"%s\"", c->name);
    for (int o = 0; o < JOB_CHANGE_COUNT; o++) {
        int count = job_comparison_count(c, job_change_order[o]);
        if (o == 0 || count)
            printf("%s %d %s", o ? ";" : ":", count,
                   job_change_words(job_change_order[o], c->of_files, count));
    }
    if (a->other.fitted)
        printf("; %d with other hardware", a->other.fitted);
    if (a->other.state_count)
        printf("; %d in another state", a->other.state_count);
    puts(c->of_files ? ".\nWhat differs by less than the ± behind it cannot be told from the same."
                     : ".\nWhat moved by less than the ± behind it cannot be told from not having "
                       "moved. It is told as it was found first; \"now\" is what was made of it.");
    puts(JOB_SIGNS_MEAN);
    for (int o = 0; o < JOB_CHANGE_COUNT; o++) {
        int count = job_comparison_count(c, job_change_order[o]);
        if (count)
            printf("\n%d %s\n", count, job_change_words(job_change_order[o], c->of_files, count));
        for (int i = 0; i < c->count; i++)
            if (c->rows[i].change == job_change_order[o])
                print_row(&c->rows[i], c->of_files);
    }
    print_other(&a->other);
}

static json_t *other_facts(const struct job_other *o)
{
    json_t *list = json_array();
    for (int i = 0; i < o->fact_count; i++)
        json_array_append_new(list,
                              json_pack("{s:s, s:s, s:s, s:s, s:s}", "key", o->facts[i].key,
                                        "title", o->facts[i].title, "name", o->facts[i].name,
                                        "there", o->facts[i].there, "here", o->facts[i].here));
    return list;
}

static json_t *other_states(const struct job_other *o)
{
    json_t *list = json_array();
    for (int i = 0; i < o->state_count; i++)
        json_array_append_new(list, json_pack("{s:s, s:s, s:s, s:s}", "key", o->states[i].key,
                                              "title", o->states[i].title, "there",
                                              job_state_words(o->states[i].there), "here",
                                              job_state_words(o->states[i].here)));
    return list;
}

static int print_comparison_json(const struct against *a)
{
    const struct job_comparison *c = &a->comparison;
    json_t *list = json_array();
    for (int i = 0; i < c->count; i++) {
        const struct job_comparison_row *row = &c->rows[i];
        json_array_append_new(
            list, json_pack("{s:s, s:s, s:s, s:s, s:o, s:o, s:o, s:o, s:o}", "key", row->key,
                            "title", row->title, "unit", plan_kind_unit(row->kind), "change",
                            job_change_code(row->change), "then", answer_number(row->then), "found",
                            answer_number(row->found), "now", answer_number(row->now), "moved",
                            answer_number(row->moved), "U", answer_number(row->moved_expanded)));
    }
    json_t *all = json_pack("{s:o, s:o}", c->of_files ? "against" : "since", answer_text(c->name),
                            "stations", list);
    if (c->of_files) {
        json_object_set_new(all, "hardware", other_facts(&a->other));
        json_object_set_new(all, "states", other_states(&a->other));
    }
    return answer_print_json(all, JSON_INDENT(2) | JSON_REAL_PRECISION(9));
}

int job_command_compare(const struct job_words_given *given)
{
    struct against against = {0};
    int status;
    if ((given->count == 2) == (given->since != NULL))
        return fail_usage("say what to compare with: --since and the name of a mark, or another "
                          "job file behind the first.");
    struct job *job = job_command_open(given, JOB_READ, &status);
    if (!job)
        return status;
    if (against_load(job, given->since, given->words[1], &against, &status)) {
        if (strcmp(against.then.model, against.now.model) != 0)
            fprintf(
                stderr,
                "armsquare: these are jobs of different models, \"%s\" and \"%s\"; stations with "
                "the same key are compared all the same.\n",
                against.now.model, against.then.model);
        if (given->json)
            status = print_comparison_json(&against);
        else
            print_comparison(&against, given->words[0]);
        against_clear(&against);
    }
    int closing = job_command_close(job);
    return closing ? closing : status;
}
