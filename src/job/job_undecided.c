#include "job_undecided.h"

#include "arithmetic/decision.h"
#include "base/clean_text.h"
#include "base/shell_word.h"
#include "base/text_end.h"
#include "job_finding.h"
#include "job_reading.h"
#include "result/arm_uncertainty.h"
#include "result/sharpen.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- The readings behind a finding -------------------------------------------------------- */

struct reading {
    char role[40];
    struct vision_result result;  /* of its photo, as recorded */
    const struct vision_arm *arm; /* the one that was read; NULL: not known */
    char *record;
};

struct readings {
    int count;
    struct reading of[JOB_MAX_READINGS];
};

static bool take_reading(void *context, const struct job_reading_row *row)
{
    struct readings *all = context;
    if (all->count == JOB_MAX_READINGS)
        return false;
    struct reading *to = &all->of[all->count++];
    snprintf(to->role, sizeof to->role, "%s", row->role);
    to->role[text_cut(to->role, sizeof to->role)] = '\0';
    to->record = strdup(row->record);
    to->arm = job_reading_arm(row, &to->result);
    return true;
}

static void readings_clear(struct readings *all)
{
    for (int i = 0; i < all->count; i++)
        free(all->of[i].record);
}

/* ---- A photo that was unsure -------------------------------------------------------------- */

static char *unsure_words(const char *message)
{
    char *text = NULL;
    if (!*message)
        return strdup("measure again: the last measurement was not sure of itself");
    return asprintf(&text, "measure again, for the photo was unsure. %s", message) < 0 ? NULL
                                                                                       : text;
}

/* ---- An uncertainty that is too large ----------------------------------------------------- */

/* Where what would not settle it as it lies: to be moved, or lived with. otherwise: what to do
 * where the way to move it is not seen. */
static char *at_the_limit(const char *what, const char *nearer, const char *otherwise)
{
    char *text = NULL;
    if (!*nearer)
        return strdup(otherwise);
    return asprintf(&text,
                    "it lies too near the limit for %s to tell. %s After a change measure again; "
                    "or allow a larger tolerance in the plan",
                    what, nearer) < 0
               ? NULL
               : text;
}

/* How much of U of each reading, all alike, is in the finding's. */
static double share_of_each(enum plan_kind kind, int count)
{
    double one[JOB_MAX_READINGS];
    for (int i = 0; i < JOB_MAX_READINGS; i++)
        one[i] = 1;
    return job_finding_expanded(kind, one, count);
}

/* A sentence around the U at which the same deviation would be accepted or rejected, rounded down
 * to what is shown; share: how much of it is in the finding's. At the limit itself no U settles it.
 */
static char *settled_by(const struct plan_station *s, double off, double share, const char *nearer,
                        enum job_script script, const char *otherwise, const char *before)
{
    double settling = floor(fabs(s->tolerance - fabs(off)) / share * 100 + 1e-6) / 100;
    char *text = NULL;
    if (!(settling > 0))
        return at_the_limit("any measurement", nearer, otherwise);
    char *amount = job_given_words(s->kind, settling, false, script);
    bool finest = s->kind == PLAN_PAIR && *nearer; /* others may take a photo yet */
    if (amount && asprintf(&text, "%s ± %s to tell%s%s", before, amount,
                           finest ? ". If no calipers tell that, allow more in the plan, or change "
                                    "the links. "
                                  : "",
                           finest ? nearer : "") < 0)
        text = NULL;
    free(amount);
    return text;
}

static char *without_photo_words(const struct plan_station *s, double off, const char *nearer,
                                 enum job_script script)
{
    int count = job_roles_of(s->kind).most;
    if (s->kind == PLAN_PAIR)
        return settled_by(s, off, 1, nearer, script,
                          "measure both links again, with finer calipers",
                          "measure both links again with calipers, from ball centre to ball "
                          "centre: the difference must be known to");
    return settled_by(
        s, off, share_of_each(s->kind, count), nearer, script,
        "measure from a photo before the card",
        count > 1 ? "measure from photos before the card: each reading by eye must be good to"
                  : "measure from a photo before the card: a reading by eye must be good to");
}

/* A photo of links is good to some 0.3 mm (docs/job.md). */
static char *pair_words(const struct plan_station *s, double off, const char *nearer,
                        enum job_script script)
{
    return settled_by(s, off, 1, nearer, script, "measure both links with calipers",
                      "measure both links with calipers: a photo tells only pairs that are plainly "
                      "unequal, and the difference must be known to");
}

/* The steps for one arm. A station takes one photo for a reading, but the mean of several as a
 * number. all: U with all of them. */
static int steps_for(const struct reading *r, double off, double tolerance,
                     struct sharpen_step steps[SHARPEN_WAY_COUNT], struct sharpen_step *all)
{
    struct sharpen_question q = {
        r->arm, r->result.obliquity_deg, sharpen_closer(&r->result), false, off, tolerance};
    return sharpen_steps(&q, steps, all);
}

/* Whether better photos of all readings may well settle it, as `measure` asks of its one. */
static bool may_settle(const struct plan_station *s, double off, const struct readings *all)
{
    struct sharpen_step steps[SHARPEN_WAY_COUNT], best;
    double now[JOB_MAX_READINGS], then[JOB_MAX_READINGS];
    int ways = 0;
    for (int i = 0; i < all->count; i++) {
        ways += steps_for(&all->of[i], off, s->tolerance, steps, &best);
        now[i] = arm_expanded_deg(all->of[i].arm);
        then[i] = best.expanded_deg;
    }
    best.expanded_deg = job_finding_expanded(s->kind, then, all->count);
    best.settles = decision_make(off, best.expanded_deg, s->tolerance) != DECISION_CANNOT_TELL;
    return ways > 0 &&
           sharpen_may_settle(&best, job_finding_expanded(s->kind, now, all->count), s->tolerance);
}

/* How the mean of several photos gets into the job. NULL without memory, "" where it is no way. */
static char *mean_words(struct job *job, const struct plan_station *s, bool together,
                        enum job_script script)
{
    const char *numbers = job_takes(s->kind)->means;
    char *text = NULL;
    if (!together || !numbers)
        return strdup("");
    char *word = script == JOB_TEXT ? shell_word(job_path(job)) : NULL;
    int made = word ? asprintf(&text, ". A mean goes in by \"armsquare job measure %s %s %s\"",
                               word, s->key, numbers)
                    : asprintf(&text, ". A mean goes in with its ±, as %s", numbers);
    free(word);
    return made < 0 ? NULL : text;
}

/* Whether photos put together are among the steps. */
static bool has_together(const struct sharpen_step *steps, int n)
{
    for (int i = 0; i < n; i++)
        if (steps[i].way == SHARPEN_TOGETHER)
            return true;
    return false;
}

/* One reading: each way with what it would bring; all at once where none is enough alone. Whether
 * several photos together are one. */
static bool write_one(FILE *to, const struct reading *r, const struct plan_station *s, double off,
                      enum job_script script)
{
    struct sharpen_step steps[SHARPEN_WAY_COUNT], all;
    int n = steps_for(r, off, s->tolerance, steps, &all);
    if (!sharpen_one_settles(steps, n)) {
        char words[SHARPEN_ALL_WORDS];
        char *expanded = job_expanded_words(PLAN_SQUARE, all.expanded_deg, script);
        fprintf(to, "measure again, all at once (± %s%s): %s", expanded ? expanded : "?",
                all.settles ? ", should settle it" : ", may settle it",
                sharpen_all(steps, n, words));
        free(expanded);
        return has_together(steps, n);
    }
    for (int i = 0; i < n; i++) {
        char *expanded = job_expanded_words(PLAN_SQUARE, steps[i].expanded_deg, script);
        fprintf(to, "%s %s (± %s%s)", i == 0 ? "measure again:" : "; or",
                sharpen_says(steps[i].way), expanded ? expanded : "?",
                steps[i].settles ? ", should settle it" : "");
        free(expanded);
    }
    return has_together(steps, n);
}

/* How much of a reading's U is in the finding's (station.c). */
static double share_of(const struct plan_station *s, const struct readings *all, int i)
{
    double expanded = arm_expanded_deg(all->of[i].arm);
    return s->kind == PLAN_CENTRED && i < 2 ? expanded / 2 : expanded;
}

/* Whether it is settled with one reading at this U, and the others as they are. */
static bool settled_with(const struct plan_station *s, double off, const struct readings *all,
                         int which, double expanded_deg)
{
    double with[JOB_MAX_READINGS];
    for (int i = 0; i < all->count; i++)
        with[i] = i == which ? expanded_deg : arm_expanded_deg(all->of[i].arm);
    return decision_make(off, job_finding_expanded(s->kind, with, all->count), s->tolerance) !=
           DECISION_CANNOT_TELL;
}

/* Several readings: the photo that the uncertainty mostly comes from, and how to better it. Whether
 * several photos together are a way. */
static bool write_weakest(FILE *to, const struct readings *all, const struct plan_station *s,
                          double off)
{
    struct sharpen_step steps[SHARPEN_WAY_COUNT], at_best;
    int weakest = 0;
    bool one_photo = true;
    for (int i = 1; i < all->count; i++) {
        if (share_of(s, all, i) > share_of(s, all, weakest))
            weakest = i;
        one_photo &= all->of[i].record && all->of[0].record &&
                     strcmp(all->of[i].record, all->of[0].record) == 0;
    }
    const struct reading *r = &all->of[weakest];
    int n = steps_for(r, 0, s->tolerance, steps, &at_best);
    if (n == 0) {
        fputs("measure again, with photos from closer and squarer on to the card", to);
        return false;
    }
    char words[SHARPEN_ALL_WORDS];
    bool one_way = settled_with(s, off, all, weakest, steps[0].expanded_deg);
    if (one_photo)
        fputs("measure again", to);
    else if (one_way || settled_with(s, off, all, weakest, at_best.expanded_deg))
        fprintf(to, "measure again; most of the uncertainty is in the photo of \"%s\"", r->role);
    else
        fprintf(to, "measure again, with all photos better, \"%s\" above all", r->role);
    if (one_way)
        fputc(':', to);
    else
        fprintf(to, ", all at once: %s", sharpen_all(steps, n, words));
    for (int i = 0; one_way && i < n; i++)
        fprintf(to, "%s%s %s", i == 0 ? "" : "; or",
                one_photo || steps[i].way == SHARPEN_TOGETHER ? "" : " take it",
                sharpen_says(steps[i].way));
    return has_together(steps, n);
}

/* What better photos would bring, all arms known. */
static char *better_words(struct job *job, const struct plan_station *s, double off,
                          const struct readings *all, enum job_script script)
{
    char *text = NULL, *mean = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    if (!to)
        return NULL;
    bool together = all->count == 1 ? write_one(to, &all->of[0], s, off, script)
                                    : write_weakest(to, all, s, off);
    mean = mean_words(job, s, together, script);
    fputs(mean ? mean : "", to);
    if (!text_end(to, &text) || !mean) {
        free(text);
        text = NULL;
    }
    free(mean);
    return text;
}

static char *photo_words(struct job *job, const struct plan_station *s, double off,
                         const struct readings *all, const char *nearer, enum job_script script)
{
    bool known = all->count > 0;
    for (int i = 0; i < all->count; i++)
        known &= all->of[i].arm != NULL;
    if (!known)
        return strdup(all->count > 1
                          ? "measure again, with photos from closer and squarer on to the card"
                          : "measure again, with a photo from closer and squarer on to the card");
    if (!may_settle(s, off, all))
        return at_the_limit("better photos", nearer,
                            "it is as near as a photo can see, and no better one would "
                            "tell: allow a larger tolerance in the plan");
    return better_words(job, s, off, all, script);
}

char *job_undecided_words(struct job *job, const struct job_view *view, int station,
                          const char *nearer, enum job_script script)
{
    const struct job_standing *at = &view->standing[station];
    const struct plan_station *s = &view->plan.stations[station];
    const struct job_event *e = &view->events[at->latest];
    struct readings all = {0};
    char *method = NULL, *message = NULL, *text = NULL;
    if (job_measurement_words(job, e->entry, &method, &message) &&
        job_readings(job, e->entry, take_reading, &all)) {
        if (!e->sure)
            text = unsure_words(message);
        else if (strcmp(method, "photo") != 0)
            text = without_photo_words(s, at->off, nearer, script);
        else if (s->kind == PLAN_PAIR)
            text = pair_words(s, at->off, nearer, script);
        else
            text = photo_words(job, s, at->off, &all, nearer, script);
    }
    readings_clear(&all);
    free(method);
    free(message);
    return text;
}
