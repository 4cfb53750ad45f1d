/* Inside the job command only: the words of its command line, and its parts. */
#ifndef JOB_COMMAND_H
#define JOB_COMMAND_H

#include "arithmetic/quantity.h"
#include "job/job_finding.h"
#include "job/job_pair.h"
#include "job/job_store.h"
#include "measure/measure_options.h"

#define JOB_MAX_WORDS 256

struct job_words_given {
    const char *words[JOB_MAX_WORDS]; /* what stands behind the options, from the job file on */
    int count;
    const char *model, *plans[16], *who, *note, *output, *use, *show, *since, *fails, *arms;
    int plan_count;
    struct quantity angles[JOB_MAX_READINGS], ends[2], neutral, lengths[2]; /* u 0: see u */
    double u; /* of those that came without their own; 0: not given */
    int angle_count, length_count;
    bool have_ends, have_neutral;
    struct job_links links;
    bool have_first, have_second, have_height;
    bool json, list, all, invented;
    struct measure_words_given measure; /* how photos are to be measured */
    bool have_measure;
};

/* Opens the job named by the first word; prints the reason when it cannot. NULL then, and *status
 * is the exit status. */
struct job *job_command_open(const struct job_words_given *given, enum job_access access,
                             int *status);
/* Prints the job's trouble, closes it and answers the exit status; EXIT_DONE when there is none, or
 * only after what was asked is recorded, which is then said. */
int job_command_close(struct job *job);
/* On stdout: the state of one station after what was just recorded, and what comes next; and the
 * latter alone. */
void job_command_outcome(struct job *job, const char *key);
void job_command_next(const struct job_view *view);

/* On stdout: the stations that are to be checked again now and were not before; how many. */
int job_command_reopened(const struct job_view *before, const struct job_view *now);

/* On stdout, a line: what an entry recorded, when and who; *signs: whether its figure has one. */
void job_command_entry(const struct job_log_row *row, bool *signs);

int job_command_new(const struct job_words_given *given);
int job_command_plan(const struct job_words_given *given);
int job_command_measure(const struct job_words_given *given);
int job_command_confirm(const struct job_words_given *given);
int job_command_hardware(const struct job_words_given *given);
int job_command_recheck(const struct job_words_given *given);
int job_command_note(const struct job_words_given *given);
int job_command_mark(const struct job_words_given *given);
int job_command_undo(const struct job_words_given *given);
int job_command_check(const struct job_words_given *given);
int job_command_report(const struct job_words_given *given);
int job_command_compare(const struct job_words_given *given);
int job_command_demo(const struct job_words_given *given);
int job_command_export(const struct job_words_given *given);
int job_command_import(const struct job_words_given *given);
int job_command_status(const struct job_words_given *given);
int job_command_history(const struct job_words_given *given);

#endif
