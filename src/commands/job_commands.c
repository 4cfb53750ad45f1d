/* The parts of "armsquare job" that record something. */
#include "arithmetic/uncertainty.h"
#include "base/exit_status.h"
#include "base/input_file.h"
#include "base/message.h"
#include "base/shell_word.h"
#include "job/job_advice.h"
#include "job/job_copy.h"
#include "job/job_export.h"
#include "job/job_finding.h"
#include "job/job_measure.h"
#include "job_command.h"
#include "measure/same_photo.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define PLAN_FILE_MAX (4 << 20)
/* Ten times what a ruler held to a link is misread by: more is a slip of the keys, or no reading.
 */
#define LENGTH_U_MOST_MM 5.0

struct job *job_command_open(const struct job_words_given *given, enum job_access access,
                             int *status)
{
    struct job *job;
    enum job_result result = job_open(given->words[0], access, &job);
    *status = result == JOB_OK ? EXIT_DONE : job_say(result, given->words[0], "");
    if (job && job_version_found(job) < job_version_now())
        fprintf(stderr,
                "armsquare: %s was brought up to date from version %d to %d of its tables.\n",
                given->words[0], job_version_found(job), job_version_now());
    return job;
}

/* Whoever takes it for not recorded enters it twice. */
static void tell_recorded(const struct job *job)
{
    char *word = shell_word(job_path(job));
    message_note("it is recorded in %s, but how things stand now could not be shown. Do not enter "
                 "it again; \"armsquare job status %s\" shows it in a moment.",
                 job_path(job), word ? word : job_path(job));
    free(word);
}

int job_command_close(struct job *job)
{
    enum job_result trouble = job_trouble(job);
    int status = EXIT_DONE;
    if (trouble != JOB_OK && job_recorded(job))
        tell_recorded(job);
    else if (trouble != JOB_OK)
        status = job_say(trouble, job_path(job), job_trouble_detail(job));
    job_close(job);
    return status;
}

/* ---- Plans -------------------------------------------------------------------------------- */

/* The whole of a text file; NULL with errno set. The caller frees it. */
static char *read_text_file(const char *path)
{
    FILE *from = input_file_open(path);
    char *text = from ? malloc(PLAN_FILE_MAX + 1) : NULL;
    size_t size = text ? fread(text, 1, PLAN_FILE_MAX + 1, from) : 0;
    int saved = errno;
    if (text && (ferror(from) || size > PLAN_FILE_MAX || memchr(text, '\0', size))) {
        free(text);
        text = NULL;
        saved = ferror(from) ? EIO : EINVAL;
    }
    if (from)
        fclose(from);
    if (text)
        text[size] = '\0';
    errno = saved;
    return text;
}

/* A plan by the name of a ready-made one or by its file. Answers EXIT_DONE or prints why not. */
static int plan_by_name(const char *name, struct plan *out)
{
    struct plan_trouble trouble;
    char *own = NULL;
    const char *text = plan_ready_made(name);
    if (!text)
        text = own = read_text_file(name);
    if (!text)
        return fail_unusable(
            "the plan \"%s\" is neither a ready-made one (see \"armsquare job plan "
            "--list\") nor a text file that can be read.",
            name);
    bool good = plan_read(text, out, &trouble);
    free(own);
    if (good)
        return EXIT_DONE;
    if (trouble.line)
        return fail_unusable("plan %s, line %d: %s.", name, trouble.line, trouble.text);
    return fail_unusable("plan %s: %s.", name, trouble.text);
}

static int joined_plan(const struct job_words_given *given, struct plan *out)
{
    struct plan_trouble trouble;
    int status = plan_by_name(given->plans[0], out);
    for (int i = 1; i < given->plan_count && status == EXIT_DONE; i++) {
        struct plan more;
        status = plan_by_name(given->plans[i], &more);
        if (status != EXIT_DONE)
            break;
        if (!plan_append(out, &more, &trouble))
            status = fail_unusable("plan %s cannot be joined: %s.", given->plans[i], trouble.text);
        plan_clear(&more);
    }
    if (status != EXIT_DONE)
        plan_clear(out);
    return status;
}

int job_command_new(const struct job_words_given *given)
{
    struct plan plan = {0};
    struct job *job;
    if (!given->model)
        return fail_usage("say which model the job is for, for example --model Dunlin");
    if (!given->plan_count)
        return fail_usage("say which plan to work to, for example --plan tail-pushrod; \"armsquare "
                          "job plan --list\" shows the ready-made ones.");
    int status = joined_plan(given, &plan);
    if (status != EXIT_DONE)
        return status;
    struct job_signature by = job_sign(given->who);
    enum job_result result = job_create(given->words[0], &job);
    if (result == JOB_OK) {
        job_fill(job, &by, given->model, given->invented, &plan);
        result = job_publish(job);
    }
    int count = plan.count;
    plan_clear(&plan);
    if (result != JOB_OK)
        return job_say(result, given->words[0], "");
    char *word = shell_word(given->words[0]);
    printf("%s: a job for %s with %d station%s.\n"
           "Next: armsquare job status %s\n",
           given->words[0], given->model, count, count == 1 ? "" : "s",
           word ? word : given->words[0]);
    free(word);
    return EXIT_DONE;
}

static int list_plans(void)
{
    const char *name = NULL, *text = NULL;
    struct plan plan;
    struct plan_trouble trouble;
    for (int i = 0; plan_ready_made_at(i, &name, &text); i++) {
        if (!plan_read(text, &plan, &trouble))
            return fail_trouble("the ready-made plan %s: %s.", name, trouble.text);
        printf("%-22s %2d stations  %s\n", name, plan.count, plan.name);
        plan_clear(&plan);
    }
    return EXIT_DONE;
}

/* "rudder-horn: teeth=25 arms=4" behind what became of them, of those facts of a station that the
 * other version of it has not alike, or (alike) has. */
static void tell_facts(const char *what, const struct plan_station *s,
                       const struct plan_station *other, bool alike)
{
    int said = 0;
    for (int f = 0; f < s->fact_count; f++) {
        const char *value = other ? plan_fact(other, s->facts[f].name) : NULL;
        if ((value && strcmp(value, s->facts[f].value) == 0) != alike)
            continue;
        if (!said++)
            printf("%s at %s:", what, s->key);
        printf(" %s=%s", s->facts[f].name, s->facts[f].value);
    }
    if (said)
        putchar('\n');
}

/* Whether the plan has the station, without any hardware. */
static bool names_none(const struct plan *plan, const char *key)
{
    for (int i = 0; i < plan->count; i++)
        if (strcmp(plan->stations[i].key, key) == 0)
            return plan->stations[i].fact_count == 0;
    return false;
}

/* What the new plan means for hardware and for what was done. */
static void tell_plan(struct job *job, const struct job_view *before, const struct plan *given)
{
    struct job_view now;
    if (!job_view_load(job, 0, &now))
        return;
    for (int i = 0; i < before->plan.count; i++) {
        const struct plan_station *was = &before->plan.stations[i];
        int at = plan_find(&now.plan, was->key);
        const struct plan_station *is = at < 0 ? NULL : &now.plan.stations[at];
        if (names_none(given, was->key))
            tell_facts("Hardware kept, for the plan names none", was, is, true);
        tell_facts(is ? "No longer" : "Not in this plan, and taken away", was, is, false);
        if (is)
            tell_facts("Now", is, was, false);
    }
    job_command_reopened(before, &now);
    job_view_clear(&now);
}

static int use_plan(const struct job_words_given *given)
{
    struct plan plan = {0};
    struct job_view before = {0};
    int status = plan_by_name(given->use, &plan);
    if (status != EXIT_DONE)
        return status;
    struct job_signature by = job_sign(given->who);
    struct job *job = job_command_open(given, JOB_WRITE, &status);
    char *word = shell_word(given->words[0]);
    if (job && job_view_load(job, 0, &before) && job_record_plan(job, &by, &plan, given->note)) {
        printf("The job now has %d station%s. \"armsquare job undo %s\" takes the old plan back.\n",
               plan.count, plan.count == 1 ? "" : "s", word ? word : given->words[0]);
        tell_plan(job, &before, &plan);
    }
    job_view_clear(&before);
    free(word);
    plan_clear(&plan);
    return job ? job_command_close(job) : status;
}

static int write_plan(const struct job_words_given *given)
{
    struct job_view view;
    int status;
    struct job *job = job_command_open(given, JOB_READ, &status);
    if (!job)
        return status;
    if (job_view_load(job, 0, &view)) {
        char *text = plan_write(&view.plan);
        if (text)
            fputs(text, stdout);
        else
            status = fail_trouble("there is not enough memory.");
        free(text);
        job_view_clear(&view);
    }
    int closing = job_command_close(job);
    return closing ? closing : status;
}

/* Nothing that was asked for may be left out in silence. */
static int check_plan_words(const struct job_words_given *given)
{
    if (given->list + (given->show != NULL) + (given->use != NULL) > 1)
        return fail_usage("--list, --show and --use do different things: give one of them.");
    if ((given->list || given->show) && given->count)
        return fail_usage("%s shows a ready-made plan, whatever the job: leave out %s, or %s.",
                          given->list ? "--list" : "--show", given->words[0],
                          given->list ? "--list" : "--show");
    if (!given->use && (given->note || given->who))
        return fail_usage("%s goes with --use: nothing else is recorded here.",
                          given->note ? "--note" : "--who");
    if (!given->count && !given->list && !given->show)
        return fail_usage("say which job file, or use --list or --show NAME.");
    return EXIT_DONE;
}

int job_command_plan(const struct job_words_given *given)
{
    int status = check_plan_words(given);
    if (status != EXIT_DONE)
        return status;
    if (given->list)
        return list_plans();
    if (given->show) {
        const char *text = plan_ready_made(given->show);
        if (!text)
            return fail_usage("there is no ready-made plan \"%s\"; \"armsquare job plan --list\" "
                              "shows them.",
                              given->show);
        fputs(text, stdout);
        return EXIT_DONE;
    }
    return given->use ? use_plan(given) : write_plan(given);
}

/* ---- Recording ---------------------------------------------------------------------------- */

void job_command_next(const struct job_view *view)
{
    int next = job_next(&view->plan, view->standing);
    if (next >= 0)
        printf("Next: %s (%s)\n", view->plan.stations[next].title, view->plan.stations[next].key);
    else
        puts("Every station is good.");
}

void job_command_outcome(struct job *job, const char *key)
{
    struct job_view view;
    if (!job_view_load(job, 0, &view))
        return;
    int at = plan_find(&view.plan, key), next = job_next(&view.plan, view.standing);
    if (at >= 0) {
        char *found = job_lies_words(&view, at, JOB_TEXT);
        char *action = job_advice_words(job, &view, at, JOB_TEXT);
        printf("%s: %s%s%s\n", view.plan.stations[at].title,
               job_state_words(view.standing[at].state), found && *found ? "  " : "",
               found ? found : "");
        if (action && *action)
            printf("  %s\n", action);
        free(found);
        free(action);
    }
    if (next < 0 || next != at)
        job_command_next(&view);
    job_view_clear(&view);
}

/* Readings given as numbers, in the order of job_roles_of(). -1 when they do not fit the kind, or
 * nobody said how well one is known. */
static int readings_given(const struct job_words_given *given, enum plan_kind kind,
                          struct job_reading readings[JOB_MAX_READINGS])
{
    struct quantity read[JOB_MAX_READINGS];
    int count = 0;
    bool angles = given->angle_count > 0, lengths = given->length_count > 0;
    if (kind == PLAN_CENTRED && given->have_ends && given->have_neutral && !angles && !lengths) {
        memcpy(read, given->ends, sizeof given->ends);
        read[2] = given->neutral;
        count = 3;
    } else if (kind == PLAN_CENTRED || given->have_ends || given->have_neutral) {
        return -1;
    } else if (kind == PLAN_PAIR && !angles) {
        count = given->length_count;
        memcpy(read, given->lengths, sizeof given->lengths);
    } else if (kind != PLAN_PAIR && !lengths) {
        count = given->angle_count;
        memcpy(read, given->angles, sizeof read);
    }
    struct job_roles roles = job_roles_of(kind);
    if (count < roles.least || count > roles.most)
        return -1;
    for (int i = 0; i < count; i++) {
        double u = read[i].u > 0 ? read[i].u : given->u;
        if (!(u > 0))
            return -1;
        readings[i] = (struct job_reading){roles.name[i], read[i].value, u, ""};
    }
    return count;
}

static int wrong_readings(const struct plan_station *station)
{
    const struct job_takes *takes = job_takes(station->kind);
    return fail_usage("station \"%s\" (%s) takes %s; or %s, with the ± behind each number, or --u "
                      "for all.",
                      station->key, plan_kind_word(station->kind), takes->photos, takes->numbers);
}

/* Records numbers at a station; prints what is wrong with them. */
static int measure_numbers(struct job *job, const struct job_words_given *given,
                           const struct plan_station *station)
{
    struct job_reading readings[JOB_MAX_READINGS];
    struct job_finding finding = {.coverage = uncertainty_normal_coverage(),
                                  .sure = true,
                                  .method = "by eye",
                                  .message = "",
                                  .readings = readings};
    finding.reading_count = readings_given(given, station->kind, readings);
    if (finding.reading_count < 0)
        return wrong_readings(station);
    for (int i = 0; i < finding.reading_count; i++)
        if (station->kind == PLAN_PAIR && readings[i].u > LENGTH_U_MOST_MM)
            return fail_usage("--u of a length is at most %g mm, not %g.", LENGTH_U_MOST_MM,
                              readings[i].u);
    const char *fault =
        job_finding_from_readings(station, readings, finding.reading_count, &finding);
    if (fault)
        return fail_unusable("%s Nothing was recorded.", fault);
    if (station->kind == PLAN_PAIR)
        finding.method = "calipers";
    struct job_signature by = job_sign(given->who);
    if (job_record_finding(job, &by, station->key, &finding, given->note))
        job_command_outcome(job, station->key);
    return EXIT_DONE;
}

/* The photo may be fine and only its arm a slip: then it is the entry that goes. */
static int refuse_old(struct job *job, const char *photo, const char *what, int64_t entry,
                      const char *because)
{
    char *word = shell_word(job_path(job));
    int status = fail_unusable("\"%s\" %s %lld%s; take a new photo, or take that entry back first, "
                               "and what was recorded after it: armsquare job undo %s",
                               photo, what, (long long)entry, because, word ? word : job_path(job));
    free(word);
    return status;
}

/* A photo shows how things stood when it was taken: it is no new measurement of them. At another
 * station it may well show another arm. */
static int refuse_old_photo(struct job *job, const struct job_words_given *given,
                            const struct plan_station *station)
{
    for (int i = 2; i < given->count; i++) {
        int64_t entry = job_photo_find(job, station->key, given->words[i]);
        if (entry)
            return refuse_old(job, given->words[i], "was measured here as entry", entry, "");
    }
    return EXIT_DONE;
}

/* The same of a copy with other bytes. */
static int refuse_old_copy(struct job *job, const struct job_view *view,
                           const struct job_measure_question *question,
                           const struct job_measured *measured)
{
    int which;
    int64_t entry = job_copy_find(job, view, question->station, measured, &which);
    return entry ? refuse_old(job, question->photos[which],
                              "is a copy of the photo that was measured here as entry", entry,
                              ": " SAME_MEASURED)
                 : EXIT_DONE;
}

/* A horn's arm may be squared at one station and be the first of two at another, but no arm is to
 * be square at two: that photo is another part's. */
static int refuse_seen(const struct job_view *view, const struct job_measure_question *question,
                       const struct job_arm_seen *seen)
{
    const struct plan_station *other = &view->plan.stations[seen->station];
    if (other->kind != question->station->kind || job_roles_of(other->kind).most > 1)
        return EXIT_DONE;
    return fail_unusable("\"%s\": this arm of this photo is what counts at \"%s\", as entry %lld, "
                         "and one arm is not two. Nothing was recorded; give the photo of this "
                         "part, or name another arm with --arms. If it is the other station that "
                         "got the wrong photo, measure that one again first.",
                         question->photos[seen->reading], other->key, (long long)seen->entry);
}

static void tell_seen(struct job *job, const struct job_view *view,
                      const struct job_measure_question *question, const struct job_arm_seen *seen)
{
    char *word = shell_word(job_path(job));
    printf("  This arm of \"%s\" is what counts at \"%s\" as well, as entry %lld. If another photo "
           "was meant: armsquare job undo %s, then measure again.\n",
           question->photos[seen->reading], view->plan.stations[seen->station].key,
           (long long)seen->entry, word ? word : job_path(job));
    free(word);
}

/* How many arms "A,B" names. */
static int arms_named(const char *arms)
{
    int count = arms != NULL;
    for (; arms && *arms; arms++)
        count += *arms == ',';
    return count;
}

static int check_links(const struct job_words_given *given)
{
    const struct job_links *links = &given->links;
    if (!given->have_first || !given->have_second || !given->have_height ||
        !(links->distance_mm.value > 0))
        return fail_usage("to measure a pair of links in a photo, say where they are: --first-link "
                          "X,Y,X,Y --second-link X,Y,X,Y, the middles of their balls in pixels, "
                          "--height MM and --distance MM; or give what calipers say: --lengths "
                          "MM,MM --u MM.");
    /* Beyond, a length at one standard uncertainty more or less tells nothing of what lies between.
     */
    if (fmax(links->height_mm.u, links->distance_mm.u) > links->distance_mm.value / 3)
        return fail_usage(
            "--height and --distance must be known to a third of the distance, or the "
            "photo tells no length: measure them with a ruler.");
    if (given->arms)
        return fail_usage("links have no arms to choose from: leave out --arms.");
    return EXIT_DONE;
}

/* A number where a photo is looked for. */
static int check_lone_numbers(const struct job_words_given *given,
                              const struct plan_station *station)
{
    const char *forms = job_takes(station->kind)->numbers;
    enum quantity_kind what = station->kind == PLAN_PAIR ? QUANTITY_LENGTH : QUANTITY_ANGLE;
    struct quantity number;
    for (int i = 2; i < given->count && forms; i++)
        if (quantity_parse(given->words[i], what, &number) == QUANTITY_FINE &&
            access(given->words[i], F_OK) != 0)
            return fail_usage("\"%s\" stands alone; station \"%s\" (%s) takes numbers as %s.",
                              given->words[i], station->key, plan_kind_word(station->kind), forms);
    return EXIT_DONE;
}

/* Nothing that was asked for may be left out in silence. */
static int check_photo_words(const struct job_words_given *given,
                             const struct plan_station *station)
{
    bool pair = station->kind == PLAN_PAIR;
    int most = job_roles_of(station->kind).most;
    int status = check_lone_numbers(given, station);
    if (status == EXIT_DONE && pair)
        status = check_links(given);
    if (status != EXIT_DONE)
        return status;
    if (!pair && given->links.given)
        return fail_usage("--first-link, --second-link, --height and --distance are for pairs of "
                          "links; station \"%s\" is of another kind (%s).",
                          station->key, plan_kind_word(station->kind));
    if (given->measure.stickers && station->kind != PLAN_CENTRED)
        return fail_usage("a sticker tells changes of angle, so --sticker is for centred stations; "
                          "station \"%s\" is of another kind (%s).",
                          station->key, plan_kind_word(station->kind));
    if (arms_named(given->arms) > most)
        return fail_usage("--arms %s names too many arms: station \"%s\" (%s) takes %d.",
                          given->arms, station->key, plan_kind_word(station->kind), most);
    if (given->u > 0 || given->angle_count || given->have_ends || given->have_neutral ||
        given->length_count)
        return fail_usage("give photos or numbers, not both.");
    return EXIT_DONE;
}

/* Which arms were taken of several, and the way to others. */
static void tell_arms(struct job *job, const char *said)
{
    if (!*said)
        return;
    char *word = shell_word(job_path(job));
    printf("  %s If another is meant: armsquare job undo %s, then measure again with --arms.\n",
           said, word ? word : job_path(job));
    free(word);
}

static int measure_photos(struct job *job, const struct job_words_given *given,
                          const struct job_view *view, const struct plan_station *station)
{
    struct job_measured measured;
    struct job_measure_question question = {station,         given->words + 2, given->count - 2,
                                            &given->measure, given->arms,      &given->links};
    int status = check_photo_words(given, station);
    if (status == EXIT_DONE)
        status = refuse_old_photo(job, given, station);
    if (status == EXIT_DONE)
        status = job_measure_photos(&question, &measured);
    if (status != EXIT_DONE)
        return status;
    struct job_arm_seen seen;
    bool is_seen = job_arm_seen(job, view, station, &measured, &seen);
    status = refuse_old_copy(job, view, &question, &measured);
    if (status == EXIT_DONE && is_seen)
        status = refuse_seen(view, &question, &seen);
    struct job_signature by = job_sign(given->who);
    if (status == EXIT_DONE &&
        job_record_finding(job, &by, station->key, &measured.finding, given->note)) {
        job_command_outcome(job, station->key);
        tell_arms(job, measured.arms);
        if (is_seen)
            tell_seen(job, view, &question, &seen);
    }
    job_measure_clear(&measured);
    return status;
}

static int measure_station(struct job *job, const struct job_words_given *given,
                           const struct job_view *view, const struct plan_station *station)
{
    if (station->kind == PLAN_CONFIRM)
        return job_say(JOB_TO_CONFIRM, given->words[0], given->words[1]);
    if (given->count > 2)
        return measure_photos(job, given, view, station);
    if (given->have_measure || given->measure.stickers || given->arms || given->links.given)
        return fail_usage("options for photos go with photos.");
    return measure_numbers(job, given, station);
}

int job_command_measure(const struct job_words_given *given)
{
    struct job_view view;
    int status, index;
    struct job *job = job_command_open(given, JOB_WRITE, &status);
    if (!job)
        return status;
    if (job_view_load(job, 0, &view)) {
        if (job_may_do(job, &view, given->words[1], &index))
            status = measure_station(job, given, &view, &view.plan.stations[index]);
        job_view_clear(&view);
    }
    int closing = job_command_close(job);
    return closing ? closing : status;
}

/* Why it does not hold, and the note; the caller frees it. NULL without memory. */
static char *confirm_words(const struct job_words_given *given)
{
    char *both = NULL;
    if (!given->fails || !given->note)
        return strdup(given->fails ? given->fails : given->note ? given->note : "");
    return asprintf(&both, "%s; %s", given->fails, given->note) < 0 ? NULL : both;
}

int job_command_confirm(const struct job_words_given *given)
{
    int status;
    struct job *job = job_command_open(given, JOB_WRITE, &status);
    if (!job)
        return status;
    struct job_signature by = job_sign(given->who);
    char *note = confirm_words(given);
    if (!note)
        status = fail_trouble("there is not enough memory; nothing was recorded.");
    else if (job_record_confirmation(job, &by, given->words[1], !given->fails, note))
        job_command_outcome(job, given->words[1]);
    free(note);
    int closing = job_command_close(job);
    return closing ? closing : status;
}

/* A station's key alone is no note on the job as a whole, but one whose text was forgotten. */
static int check_note(struct job *job, const struct job_words_given *given)
{
    struct job_view view;
    bool key = false;
    if (given->count > 2)
        return EXIT_DONE;
    if (job_view_load(job, 0, &view)) {
        key = plan_find(&view.plan, given->words[1]) >= 0;
        job_view_clear(&view);
    }
    return key ? fail_usage("say what to note at \"%s\", behind it; nothing was recorded.",
                            given->words[1])
               : EXIT_DONE;
}

int job_command_note(const struct job_words_given *given)
{
    int status;
    const char *text = given->words[given->count - 1];
    if (!plan_text_is_plain(text))
        return fail_usage("a note is a line of text, at most %d bytes.", PLAN_MAX_TEXT);
    struct job *job = job_command_open(given, JOB_WRITE, &status);
    if (!job)
        return status;
    struct job_signature by = job_sign(given->who);
    status = check_note(job, given);
    if (status == EXIT_DONE &&
        job_record_note(job, &by, given->count == 3 ? given->words[1] : NULL, text))
        puts("Noted.");
    int closing = job_command_close(job);
    return closing ? closing : status;
}

int job_command_mark(const struct job_words_given *given)
{
    int status;
    if (!plan_text_is_plain(given->words[1]))
        return fail_usage("a mark's name is a line of text, at most %d bytes.", PLAN_MAX_TEXT);
    struct job *job = job_command_open(given, JOB_WRITE, &status);
    if (!job)
        return status;
    struct job_signature by = job_sign(given->who);
    if (job_record_mark(job, &by, given->words[1], given->note))
        printf("The present state is marked as \"%s\".\n", given->words[1]);
    return job_command_close(job);
}

/* What was withdrawn is often another person's, or not what was meant. */
static void tell_withdrawn(struct job *job, int64_t undo)
{
    struct job_log_row row;
    bool signs = false;
    struct job_log *log = job_log_open(job, NULL);
    puts("Withdrawn; it stays in the history:");
    while (log && job_log_next(log, &row))
        if (row.withdrawn_by == undo)
            job_command_entry(&row, &signs);
    job_log_close(log);
    puts("If that was not meant to go, enter it again; the same photo will do.");
}

int job_command_undo(const struct job_words_given *given)
{
    int status;
    int64_t undo;
    struct job *job = job_command_open(given, JOB_WRITE, &status);
    if (!job)
        return status;
    struct job_signature by = job_sign(given->who);
    if (job_undo(job, &by, &undo))
        tell_withdrawn(job, undo);
    return job_command_close(job);
}

int job_command_check(const struct job_words_given *given)
{
    int status;
    struct job *job = job_command_open(given, JOB_READ, &status);
    if (!job)
        return status;
    if (job_check(job))
        printf("%s is whole.\n", given->words[0]);
    return job_command_close(job);
}

/* ---- Plain files -------------------------------------------------------------------------- */

int job_command_export(const struct job_words_given *given)
{
    int status;
    struct job *job = job_command_open(given, JOB_READ, &status);
    if (!job)
        return status;
    if (job_export(job, given->words[1])) {
        printf("%s holds all of %s.\n", given->words[1], given->words[0]);
        return job_command_close(job);
    }
    /* The one that stands in the way is the folder, not the job. */
    if (job_trouble(job) != JOB_EXISTS)
        return job_command_close(job);
    job_close(job);
    return job_say(JOB_EXISTS, given->words[1], "");
}

int job_command_import(const struct job_words_given *given)
{
    char detail[256] = "";
    const char *folder = given->words[0], *file = given->words[1];
    enum job_result result = job_import(folder, file, detail, sizeof detail);
    if (result == JOB_OK) {
        printf("%s was made from %s.\n", file, folder);
        return EXIT_DONE;
    }
    bool about_export = result == JOB_BAD_EXPORT || result == JOB_NEWER;
    return job_say(result, about_export ? folder : file, detail);
}
