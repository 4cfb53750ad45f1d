/* "armsquare job hardware" and "recheck": what makes stations to be checked again, and which. */
#include "arithmetic/number.h"
#include "arithmetic/quantity.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "base/shell_word.h"
#include "job/job_linkage.h"
#include "job_command.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int job_command_reopened(const struct job_view *before, const struct job_view *now)
{
    int count = 0;
    for (int i = 0; i < now->plan.count; i++) {
        int was = plan_find(&before->plan, now->plan.stations[i].key);
        if (now->standing[i].state != JOB_CHECK_AGAIN ||
            (was >= 0 && before->standing[was].state == JOB_CHECK_AGAIN))
            continue;
        if (!count++)
            puts("To be checked again now:");
        printf("  %-22s  %s\n", now->plan.stations[i].key, now->plan.stations[i].title);
    }
    return count;
}

/* The way back, where nothing was changed at the model after all. */
static void tell_way_back(struct job *job, const char *when)
{
    char *word = shell_word(job_path(job));
    printf("%s armsquare job undo %s\n", when, word ? word : job_path(job));
    free(word);
}

static void show_hardware(const struct plan_station *station)
{
    for (int i = 0; i < station->fact_count; i++)
        printf("%s=%s\n", station->facts[i].name, station->facts[i].value);
    if (!station->fact_count)
        puts("No hardware is entered here yet.");
}

#define NUMBER_ROOM 32 /* bytes that hold any number written here */

/* A length may carry its unit, as in all commands, but no uncertainty, which nothing here would
 * use: "1.9 in" becomes "48.26". value has NUMBER_ROOM bytes. Others stay as they are. */
static void take_unit(const char *name, char *value)
{
    const char *unit;
    struct quantity length;
    double number;
    plan_fact_label(name, &unit);
    if (strcmp(unit, "mm") == 0 && !number_parse(value, &number) &&
        quantity_parse(value, QUANTITY_LENGTH, &length) == QUANTITY_FINE && length.u == 0)
        snprintf(value, NUMBER_ROOM, "%.9g", length.value);
}

/* Splits "name=value" words; the caller frees the names. false on a word of another form. */
static bool facts_given(const struct job_words_given *given, struct plan_fact *facts, int *count)
{
    for (*count = 0; *count < given->count - 2; ++*count) {
        const char *said = given->words[*count + 2];
        char *word = malloc(strlen(said) + NUMBER_ROOM);
        char *equals = word ? strchr(memcpy(word, said, strlen(said) + 1), '=') : NULL;
        if (!equals) {
            free(word);
            return false;
        }
        *equals = '\0';
        take_unit(word, equals + 1);
        facts[*count] = (struct plan_fact){word, equals + 1};
    }
    return true;
}

static void tell_facts(const struct plan_fact *facts, int count)
{
    for (int i = 0; i < count; i++)
        if (*facts[i].value)
            printf("Recorded: %s=%s\n", facts[i].name, facts[i].value);
        else
            printf("Taken away: %s\n", facts[i].name);
}

static bool tells_what_is_fitted(const struct plan_fact *facts, int count)
{
    for (int i = 0; i < count; i++)
        if (plan_fact_is_fitted(facts[i].name))
            return true;
    return false;
}

/* What the new hardware means for what was done, now that it is recorded. */
static void tell_meaning(struct job *job, const struct job_view *before, const char *key,
                         const struct plan_fact *facts, int count)
{
    struct job_view now;
    int at = plan_find(&before->plan, key);
    if (at < 0 || !job_view_load(job, 0, &now))
        return;
    const char *scale = plan_fact(&before->plan.stations[at], "degrees-per-percent");
    bool given = false;
    for (int i = 0; i < count; i++)
        given |= strcmp(facts[i].name, "degrees-per-percent") == 0;
    if (scale && !given && !plan_fact(&now.plan.stations[at], "degrees-per-percent"))
        printf("Taken away: degrees-per-percent=%s was the old servo's; \"armsquare trim-scale\" "
               "finds the new one's.\n",
               scale);
    if (job_command_reopened(before, &now))
        tell_way_back(job, "If nothing else was fitted, take this back:");
    else if (before->standing[at].latest >= 0 && before->standing[at].state != JOB_CHECK_AGAIN &&
             tells_what_is_fitted(facts, count))
        printf("What was measured stands. If another part was fitted, say so with part=, in your "
               "words.\n");
    job_view_clear(&now);
}

/* Lengths that cannot be are a slip, which nobody sees in a report without a drawing. */
static void tell_linkage(struct job *job, const char *key)
{
    struct job_view view;
    if (!job_view_load(job, 0, &view))
        return;
    int at = plan_find(&view.plan, key);
    char *fault = at < 0 ? NULL : job_linkage_fault(&view.plan.stations[at]);
    if (fault && *fault)
        puts(fault);
    free(fault);
    job_view_clear(&view);
}

static void change_hardware(struct job *job, const struct job_words_given *given,
                            const struct plan_fact *facts, int count)
{
    struct job_view before;
    struct job_signature by = job_sign(given->who);
    if (!job_view_load(job, 0, &before))
        return;
    if (job_record_facts(job, &by, given->words[1], facts, count, given->note)) {
        tell_facts(facts, count);
        tell_meaning(job, &before, given->words[1], facts, count);
        tell_linkage(job, given->words[1]);
        job_command_outcome(job, given->words[1]);
    }
    job_view_clear(&before);
}

int job_command_hardware(const struct job_words_given *given)
{
    struct plan_fact facts[JOB_MAX_WORDS];
    struct job_view view;
    int status, count = 0;
    if (given->count == 2 && (given->note || given->who))
        return fail_usage("%s goes with a change of hardware, NAME=VALUE: nothing else is recorded "
                          "here.",
                          given->note ? "--note" : "--who");
    struct job *job = job_command_open(given, given->count > 2 ? JOB_WRITE : JOB_READ, &status);
    if (!job)
        return status;
    if (!facts_given(given, facts, &count)) {
        status = fail_usage("hardware is given as NAME=VALUE, not \"%s\"; see \"armsquare job "
                            "hardware --help\".",
                            given->words[count + 2]);
    } else if (count) {
        change_hardware(job, given, facts, count);
    } else if (job_view_load(job, 0, &view)) {
        int at = plan_find(&view.plan, given->words[1]);
        if (at >= 0)
            show_hardware(&view.plan.stations[at]);
        else
            status = job_say(JOB_NO_STATION, given->words[0], given->words[1]);
        job_view_clear(&view);
    }
    for (int i = 0; i < count; i++)
        free(facts[i].name);
    int closing = job_command_close(job);
    return closing ? closing : status;
}

int job_command_recheck(const struct job_words_given *given)
{
    struct job_view before, now;
    int status, marked = 0;
    struct job *job = job_command_open(given, JOB_WRITE, &status);
    if (!job)
        return status;
    struct job_signature by = job_sign(given->who);
    if (job_view_load(job, 0, &before)) {
        if (!job_record_recheck(job, &by, given->words + 1, given->count - 1, given->note,
                                &marked)) {
            /* the job's trouble says why */
        } else if (!marked) {
            status = fail_unusable("nothing that was done is there to be checked again; nothing "
                                   "was recorded.");
        } else if (job_view_load(job, 0, &now)) {
            if (job_command_reopened(&before, &now))
                tell_way_back(job, "To take this back:");
            else
                puts("All of it was to be checked again already.");
            job_command_next(&now);
            job_view_clear(&now);
        }
        job_view_clear(&before);
    }
    int closing = job_command_close(job);
    return closing ? closing : status;
}
