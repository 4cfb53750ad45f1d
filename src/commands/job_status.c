/* "armsquare job status" and "history": where the work stands, and what happened. */
#include "base/answer.h"
#include "base/paragraph.h"
#include "base/shell_word.h"
#include "base/utc_clock.h"
#include "job/job_advice.h"
#include "job_command.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- Text --------------------------------------------------------------------------------- */

/* As it was measured before, a crank by its sticker. */
static const char *option_words(const struct job_view *view, int station)
{
    int latest = view->standing[station].latest;
    return latest >= 0 && view->events[latest].of_sticker ? " --sticker" : "";
}

static void print_next(struct job *job, const struct job_view *view, int next)
{
    char *say = job_next_words(job, view, next, JOB_TEXT);
    if (next < 0) {
        puts(say ? say : "");
    } else {
        const struct plan_station *s = &view->plan.stations[next];
        printf("NEXT  %s\n", s->title);
        if (say && *say)
            paragraph_text(stdout, "      ", say);
        char *word = shell_word(job_path(job));
        printf("      armsquare job %s %s %s%s%s\n",
               s->kind == PLAN_CONFIRM ? "confirm" : "measure", word ? word : job_path(job), s->key,
               option_words(view, next), job_takes(s->kind)->command);
        free(word);
    }
    free(say);
}

static void print_station(struct job *job, const struct job_view *view, int i)
{
    const struct plan_station *s = &view->plan.stations[i];
    char *found = job_found_words(view, i, JOB_TEXT);
    char *why = job_why_words(job, view, i, JOB_TEXT);
    printf("%3d  %-11s  %-22s %s", i + 1, job_state_words(view->standing[i].state), s->key,
           s->title);
    if (found && *found && s->kind != PLAN_CONFIRM)
        printf(": %s", found);
    putchar('\n');
    if (why && *why)
        paragraph_text(stdout, "                  ", why);
    free(found);
    free(why);
}

static bool any_figure(const struct job_view *view)
{
    for (int i = 0; i < view->plan.count; i++)
        if (view->standing[i].latest >= 0 && view->plan.stations[i].kind != PLAN_CONFIRM)
            return true;
    return false;
}

static void print_status(struct job *job, const struct job_view *view)
{
    const char *part = "";
    char *count = job_count_words(view);
    printf("%s%s\n%s\n\n", view->model,
           view->invented ? "  (demonstration with invented data)" : "", count ? count : "");
    free(count);
    print_next(job, view, job_next(&view->plan, view->standing));
    for (int i = 0; i < view->plan.count; i++) {
        if (strcmp(part, view->plan.stations[i].part) != 0)
            printf("\n%s\n", view->plan.stations[i].part);
        part = view->plan.stations[i].part;
        print_station(job, view, i);
    }
    if (any_figure(view))
        puts("\n" JOB_SIGNS_MEAN);
}

/* ---- JSON --------------------------------------------------------------------------------- */

static void set_text(json_t *to, const char *name, char *owned)
{
    json_object_set_new(to, name, owned && *owned ? json_string(owned) : json_null());
    free(owned);
}

static json_t *station_json(struct job *job, const struct job_view *view, int i)
{
    const struct plan_station *s = &view->plan.stations[i];
    const struct job_standing *standing = &view->standing[i];
    json_t *to = json_pack("{s:s, s:s, s:s, s:s, s:s, s:b}", "key", s->key, "title", s->title,
                           "part", s->part, "kind", plan_kind_word(s->kind), "state",
                           job_state_words(standing->state), "ready", standing->ready);
    json_t *rests = json_array();
    for (int r = 0; r < s->rests_on_count; r++)
        json_array_append_new(rests, json_string(view->plan.stations[s->rests_on[r]].key));
    json_object_set_new(to, "rests_on", rests);
    if (s->kind != PLAN_CONFIRM) {
        json_object_set_new(to, "unit", json_string(plan_kind_unit(s->kind)));
        json_object_set_new(to, "target", json_real(s->target));
        json_object_set_new(to, "tolerance", json_real(s->tolerance));
    }
    if (standing->latest >= 0 && view->events[standing->latest].kind == JOB_MEASURED) {
        const struct job_event *e = &view->events[standing->latest];
        json_object_set_new(to, "found", json_real(e->value));
        json_object_set_new(to, "off", json_real(standing->off));
        json_object_set_new(to, "u", json_real(e->u));
        json_object_set_new(to, "U", json_real(e->coverage * e->u));
        json_object_set_new(to, "sure", json_boolean(e->sure));
        json_object_set_new(to, "reference",
                            e->has_reference && !e->of_sticker
                                ? json_string(reference_name(e->reference))
                                : json_null());
    }
    set_text(to, "why", job_why_words(job, view, i, JOB_TEXT));
    set_text(to, "action", job_advice_words(job, view, i, JOB_TEXT));
    return to;
}

static int print_json(struct job *job, const struct job_view *view)
{
    int next = job_next(&view->plan, view->standing);
    json_t *stations = json_array();
    for (int i = 0; i < view->plan.count; i++)
        json_array_append_new(stations, station_json(job, view, i));
    json_t *all = json_pack("{s:s, s:b, s:s, s:s?, s:o}", "model", view->model, "invented",
                            view->invented, "plan", view->plan.name, "next",
                            next >= 0 ? view->plan.stations[next].key : NULL, "stations", stations);
    return answer_print_json(all, JSON_INDENT(2) | JSON_REAL_PRECISION(9));
}

int job_command_status(const struct job_words_given *given)
{
    struct job_view view;
    int status;
    struct job *job = job_command_open(given, JOB_READ, &status);
    if (!job)
        return status;
    if (job_view_load(job, 0, &view)) {
        if (given->json)
            status = print_json(job, &view);
        else
            print_status(job, &view);
        job_view_clear(&view);
    }
    int closing = job_command_close(job);
    return closing ? closing : status;
}

/* ---- History ------------------------------------------------------------------------------ */

static void print_row_detail(const struct job_log_row *row)
{
    enum plan_kind kind = PLAN_SQUARE;
    const char *first = "; "; /* before the note */
    if (strcmp(row->kind, "measured") == 0 && plan_kind_by_word(row->station_kind, &kind)) {
        char *figure = job_number_words(kind, row->value, row->coverage * row->u, JOB_TEXT);
        char *found = job_sure_words(job_against_words(figure, kind, row->reference), row->sure);
        printf(": %s (%s)", found ? found : "", row->method);
        free(found);
    } else if (strcmp(row->kind, "confirmed") == 0) {
        fputs(row->holds ? ": holds" : ": does not hold", stdout);
    } else if (strcmp(row->kind, "hardware") == 0) {
        printf(": %s %s -> %s", row->fact, *row->before ? row->before : "(none)",
               *row->after ? row->after : "(none)");
    } else if (strcmp(row->kind, "mark") == 0) {
        printf(": \"%s\"", row->mark);
    } else if (row->withdraws) {
        printf(" of entry %lld", (long long)row->withdraws);
    } else
        first = ": ";
    if (*row->note)
        printf("%s%s", first, row->note);
    if (row->withdrawn_by)
        fputs("  [withdrawn]", stdout);
    putchar('\n');
}

void job_command_entry(const struct job_log_row *row, bool *signs)
{
    char when[UTC_SHOWN];
    *signs |= strcmp(row->kind, "measured") == 0;
    printf("%4lld  %s  %-10s %s", (long long)row->id, utc_shown(row->at, when), row->who,
           row->kind);
    if (*row->key)
        printf("%*s %s", 9 - (int)strlen(row->kind), "", row->key);
    print_row_detail(row);
}

int job_command_history(const struct job_words_given *given)
{
    struct job_log_row row;
    int status;
    bool signs = false;
    struct job *job = job_command_open(given, JOB_READ, &status);
    if (!job)
        return status;
    struct job_log *log = job_log_open(job, given->count > 1 ? given->words[1] : NULL);
    while (log && job_log_next(log, &row))
        job_command_entry(&row, &signs);
    job_log_close(log);
    if (signs)
        puts("\n" JOB_SIGNS_MEAN);
    return job_command_close(job);
}
