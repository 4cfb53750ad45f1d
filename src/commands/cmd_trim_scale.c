/* armsquare trim-scale: how many degrees one percent of sub-trim turns the horn. */
#include "advice/trim_scale.h"
#include "advice/trim_scale_report.h"
#include "arithmetic/combine.h"
#include "arithmetic/direction.h"
#include "base/answer.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "base/option_value.h"
#include "commands.h"
#include "measure/measure_options.h"
#include "measure/photo_arms.h"
#include "measure/same_photo.h"
#include "parallel.h"
#include "result/arm_uncertainty.h"

#include <ctype.h>
#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define MAX_PERCENT 200.0 /* beyond any radio's scale */
#define MAX_STEP_DEG 45.0 /* from one reading to the next; further off, it is another arm */

static const char help_start[] =
    "usage: armsquare trim-scale PHOTO@PERCENT... [OPTIONS]\n"
    "       armsquare trim-scale ANGLE@PERCENT... [OPTIONS]\n"
    "\n"
    "Learns how many degrees one percent of sub-trim turns the horn. Photograph the horn at three\n"
    "or more settings of sub-trim, far apart; card and servo stay where they are. Give the "
    "readings\n"
    "in the order they were taken. Repeat the first at the end, coming from the other side, and\n"
    "backlash shows. Set sub-trim back afterwards.\n"
    "\n" QUANTITY_HELP
    "It stands before the @: 90.2u0.1@10. A photo whose name is a number is written ./90@10.\n"
    "\n"
    "      --use NAME        the arm to follow, as named in the first photo (A)\n"
    "      --u DEG           standard uncertainty of angles given as numbers\n";
static const char help_end[] =
    "      --json            as JSON\n"
    "  -h, --help            this text\n"
    "\n"
    "Rotor blades and propeller off, or motor and drive made unable to turn, before power is\n"
    "applied.\n"
    "\n"
    "examples:\n"
    "  armsquare trim-scale a.jpg@0 b.jpg@10 c.jpg@-10 d.jpg@0\n"
    "  armsquare trim-scale 90.3@0 94.9@10 85.8@-10 --u 0.1\n";

/* One word of the command line, such as "a.jpg@10". */
struct word {
    const char *text; /* as typed; borrowed */
    char *path;       /* the photo, owned; NULL for an angle */
    const char *trouble;
    struct vision_result result; /* of the photo */
    struct arm_shown shown;      /* of the arm followed in it */
};

struct request {
    struct measure_words_given measure; /* how to read the photos */
    const char *use;
    double u_deg; /* NAN: not given */
    bool have_measure, json;
    const char *stray; /* a word that is neither option nor reading */
    size_t count;
    struct word *words;            /* owned, count of them */
    struct trim_reading *readings; /* owned, count of them */
    const char **texts;            /* owned; the words as typed */
    size_t unsure;                 /* how many photos were */
    int status;                    /* of reading the photos */
};

enum { USE = 256, U, JSON };

/* ---- Command line -------------------------------------------------------------------------- */

/* Not an option: a reading may begin with a minus, as in -5@10. */
static bool is_plain(const char *word)
{
    return word[0] != '-' || !word[1] || isdigit((unsigned char)word[1]) || word[1] == '.';
}

/* A reading; of the words that are none the first is kept. */
static void take_plain(struct request *r, const char *word)
{
    if (strchr(word, '@'))
        r->words[r->count++].text = word;
    else if (!r->stray)
        r->stray = word;
}

static int take_option(struct request *r, int option, char **argv)
{
    switch (option) {
    case USE:
        r->use = optarg;
        return EXIT_DONE;
    case U:
        return option_number("u", optarg, 1e-6, 45, &r->u_deg);
    case JSON:
        r->json = true;
        return EXIT_DONE;
    case ':':
    case '?':
        return usage_unknown_option("trim-scale", option, argv);
    default:
        r->have_measure = true;
        return measure_options_take(&r->measure, option, optarg);
    }
}

static int parse(int argc, char **argv, struct request *r)
{
    static const struct option options[] = {
        {"use", required_argument, NULL, USE},
        {"u", required_argument, NULL, U},
        {"json", no_argument, NULL, JSON},
        {"help", no_argument, NULL, 'h'},
        MEASURE_LONG_OPTIONS,
        {NULL, 0, NULL, 0},
    };
    bool seen[sizeof options / sizeof *options] = {false};
    opterr = 0;
    while (optind < argc) {
        if (is_plain(argv[optind])) {
            take_plain(r, argv[optind++]);
            continue;
        }
        int index = 0;
        int option = getopt_long(argc, argv, "+:h", options, &index); /* "+": in order */
        if (option == 'h')
            return -1;
        if (option == -1) /* "--" */
            break;
        int status = option_taken(options, option, &index, seen);
        if (status == EXIT_DONE)
            status = take_option(r, option, argv);
        if (status != EXIT_DONE)
            return status;
    }
    while (optind < argc)
        take_plain(r, argv[optind++]);
    if (r->stray)
        return fail_usage("\"%s\" needs its percent of sub-trim behind it, such as %s@10.",
                          r->stray, r->stray);
    return measure_options_check(&r->measure);
}

/* ---- Readings ------------------------------------------------------------------------------ */

static bool is_first_photo(const struct request *r, size_t index)
{
    for (size_t i = 0; i < index; i++)
        if (r->words[i].path)
            return false;
    return true;
}

/* The arm to follow: by name in the first photo, then the one nearest to the last reading, for
 * names count from the reference and may change as an arm passes it. -1: no such name. */
static int pick_arm(const struct request *r, const struct vision_result *result, size_t index)
{
    if (r->use && is_first_photo(r, index))
        return photo_arms_find(result, r->use);
    int picked = 0;
    double last = index > 0 ? r->readings[index - 1].angle_deg : result->arms[0].angle_deg;
    for (int i = 1; i < result->arm_count; i++)
        if (fabs(direction_turn(result->arms[i].angle_deg - last)) <
            fabs(direction_turn(result->arms[picked].angle_deg - last)))
            picked = i;
    return picked;
}

/* The text before the "@" is an angle, or else the path of a photo. */
static int take_angle_or_path(struct request *r, size_t index, const char *before)
{
    struct quantity angle;
    if (*before == '\0')
        return fail_usage("before the @ stands a photo or an angle, such as 90.2@10.");
    enum quantity_fault fault = quantity_parse(before, QUANTITY_ANGLE, &angle);
    bool slip = fault == QUANTITY_COMMA || fault == QUANTITY_WIDE_UNCERTAINTY;
    if (slip && access(before, F_OK) != 0)
        return fail_usage("\"%s\" %s.", before, quantity_fault_says(fault));
    if (fault != QUANTITY_FINE) {
        r->words[index].path = strdup(before);
        return r->words[index].path ? EXIT_DONE
                                    : fail_trouble("there is not enough memory to start.");
    }
    if (fabs(angle.value) > 360)
        return fail_usage("\"%s\" is no angle between -360 and 360 degrees.", before);
    r->readings[index].angle_deg = angle.value;
    r->readings[index].u_deg = angle.u > 0 ? angle.u : r->u_deg;
    return EXIT_DONE;
}

/* "90.2u0.1@10" or "a.jpg@10" */
static int take_word(struct request *r, size_t index)
{
    const char *text = r->words[index].text;
    const char *at = strrchr(text, '@');
    struct quantity percent;
    enum quantity_fault fault = quantity_parse(at + 1, QUANTITY_PERCENT, &percent);
    if (fault == QUANTITY_COMMA)
        return fail_usage("\"%s\": \"%s\" %s.", text, at + 1, quantity_fault_says(fault));
    if (fault != QUANTITY_FINE || percent.u > 0 || fabs(percent.value) > MAX_PERCENT)
        return fail_usage("\"%s\": behind the @ stands the percent of sub-trim, a number from "
                          "-%g to %g.",
                          text, MAX_PERCENT, MAX_PERCENT);
    char *before = strndup(text, (size_t)(at - text));
    if (!before)
        return fail_trouble("there is not enough memory to start.");
    r->readings[index].percent = percent.value;
    int status = take_angle_or_path(r, index, before);
    free(before);
    return status;
}

/* Nothing that was asked for may be left out in silence. */
static int check_together(const struct request *r)
{
    size_t photos = 0;
    for (size_t i = 0; i < r->count; i++)
        photos += r->words[i].path != NULL;
    if (photos == 0 && r->have_measure)
        return measure_options_idle();
    if (photos == 0 && r->use)
        return fail_usage("--use names an arm in a photo, and these readings are numbers: leave "
                          "it out.");
    if (photos == r->count && !isnan(r->u_deg))
        return fail_usage("--u is for angles given as numbers, and photos tell how well they are "
                          "read themselves: leave it out.");
    return EXIT_DONE;
}

static void measure_word(void *context, size_t index)
{
    struct request *r = context;
    struct word *word = &r->words[index];
    if (word->path)
        word->trouble = photo_arms_measure(word->path, &r->measure, &word->result);
}

/* What is the same in photos of one arm before a card that stays where it is; surely: from wherever
 * they were taken. */
static double common_deg(const struct vision_arm *arm, bool surely)
{
    double variance = 0;
    for (int k = 0; k < arm->budget_count; k++) {
        enum combine_share share = combine_share_of(&arm->budget[k], false);
        if (surely ? share == COMBINE_ALL : share != COMBINE_OWN && share != COMBINE_PHOTO)
            variance += arm->budget[k].u_deg * arm->budget[k].u_deg;
    }
    return sqrt(variance);
}

/* In the order of the readings. The first fault is told, the rest is then of no use. */
static void take_result(void *context, size_t index)
{
    struct request *r = context;
    struct word *word = &r->words[index];
    const struct vision_result *result = &word->result;
    if (!word->path || r->status != EXIT_DONE)
        return;
    if (word->trouble) {
        r->status = photo_arms_refuse_answer(word->path, result, word->trouble, r->json);
        return;
    }
    int arm = pick_arm(r, result, index);
    if (arm < 0) {
        r->status = photo_arms_missing(word->path, result->arms[0].name,
                                       result->arms[result->arm_count - 1].name, r->use, r->json);
        return;
    }
    if (index > 0 && fabs(direction_turn(result->arms[arm].angle_deg -
                                         r->readings[index - 1].angle_deg)) > MAX_STEP_DEG) {
        r->status = answer_refuse(r->json,
                                  "%s: the arm followed so far is not among those found in this "
                                  "photo; take it again, or follow another arm with --use.",
                                  word->path);
        return;
    }
    r->unsure += result->status == VISION_UNSURE;
    r->readings[index].angle_deg = result->arms[arm].angle_deg;
    r->readings[index].u_deg = arm_normal_u_deg(&result->arms[arm]);
    r->readings[index].shared = (struct trim_shared){common_deg(&result->arms[arm], true),
                                                     common_deg(&result->arms[arm], false)};
    word->shown = photo_arm_shown(result, arm);
}

static struct measured_photo photo_at(const void *context, size_t i)
{
    const struct request *r = context;
    return (struct measured_photo){r->words[i].path, &r->words[i].result};
}

/* Readings up to the first photo, where points are looked up in it and carried over to the others,
 * which wait for it; 0: none wait. */
static size_t lead_of(struct request *r)
{
    size_t lead = 0;
    r->measure.carried = measure_options_point(&r->measure);
    while (r->measure.carried && lead < r->count && !r->words[lead++].path)
        ;
    return lead;
}

static int read_all(struct request *r)
{
    if (r->count < 2)
        return fail_usage("a scale needs at least two readings, better three: for example a.jpg@0 "
                          "b.jpg@10 c.jpg@-10.");
    for (size_t i = 0; i < r->count; i++) {
        r->texts[i] = r->words[i].text;
        int status = take_word(r, i);
        if (status != EXIT_DONE)
            return status;
    }
    int status = check_together(r);
    /* A photo taken twice would count twice, or stand for two percents. */
    if (status == EXIT_DONE)
        status = refuse_same_photo(&r->words[0].path, r->count, sizeof r->words[0]);
    if (status != EXIT_DONE)
        return status;
    r->measure.options.threads = parallel_share(r->count);
    const size_t lead = lead_of(r);
    parallel_in_order(0, lead, measure_word, take_result, r);
    if (lead > 0 && r->status == EXIT_DONE)
        r->measure.seen_in = r->words[lead - 1].result.plane;
    parallel_in_order(lead, r->count, measure_word, take_result, r);
    return r->status == EXIT_DONE ? refuse_same_measured(photo_at, r, r->count) : r->status;
}

/* ---- Answer -------------------------------------------------------------------------------- */

static int refuse(enum trim_scale_status status, bool as_json)
{
    switch (status) {
    case TRIM_SCALE_FEW:
    case TRIM_SCALE_ONE_SPOT:
        return fail_usage("all readings are at the same percent; change the sub-trim between them, "
                          "for example 0, 10 and -10.");
    case TRIM_SCALE_SCATTERED:
        return answer_refuse(as_json,
                             "the angles lie too far apart to be one arm moved by sub-trim; look "
                             "for a wrong arm or photo among them.");
    case TRIM_SCALE_STILL:
        return answer_refuse(as_json,
                             "the arm does not visibly move with the percent; check that it was "
                             "this servo's sub-trim that was changed, and change it by more.");
    case TRIM_SCALE_UNTOLD:
        return answer_refuse(as_json,
                             "the arm moves, but so few readings without their uncertainty do not "
                             "tell how far for one percent: add how well they are read, such as "
                             "--u 0.5, or take more of them, further apart.");
    case TRIM_SCALE_TANGLED:
        return answer_refuse(as_json,
                             "the arm moves, but not in step with the percent: the readings "
                             "contradict each other. Check the sign of each percent and that each "
                             "belongs to its reading, or take them again.");
    case TRIM_SCALE_WILD:
        return answer_refuse(as_json,
                             "no servo turns this far for one percent; check the percents.");
    default:
        return fail_trouble("there is not enough memory for so many readings.");
    }
}

/* The first two photos that hardly show one part, if any do. */
static void find_other_part(const struct request *r, struct trim_scale_source *source)
{
    for (size_t i = 0; i < r->count; i++)
        for (size_t j = 0; j < i && !source->one; j++)
            if (r->words[i].path && r->words[j].path &&
                !photo_arms_may_be_one(&r->words[j].shown, &r->words[i].shown)) {
                source->one = r->words[j].text;
                source->other = r->words[i].text;
            }
}

static int answer(const struct request *r)
{
    struct trim_scale scale;
    enum trim_scale_status status = trim_scale_learn(r->readings, r->count, &scale);
    struct trim_scale_source source = {
        .readings = r->readings, .words = r->texts, .count = r->count, .unsure = r->unsure};
    find_other_part(r, &source);
    int done = EXIT_DONE;
    if (status != TRIM_SCALE_OK)
        done = refuse(status, r->json);
    else if (!r->json)
        trim_scale_print(stdout, &scale, &source);
    else
        done = answer_print_json(trim_scale_json(&scale, &source),
                                 JSON_INDENT(2) | JSON_REAL_PRECISION(10));
    trim_scale_clear(&scale);
    return done;
}

static int run(int argc, char **argv, struct request *r)
{
    int status = parse(argc, argv, r);
    if (status < 0) {
        printf("%s%s%s", help_start, measure_options_help, help_end);
        return EXIT_DONE;
    }
    if (status == EXIT_DONE)
        status = read_all(r);
    return status == EXIT_DONE ? answer(r) : status;
}

int cmd_trim_scale(int argc, char **argv)
{
    struct request r = {.measure = measure_options_start(), .u_deg = NAN};
    size_t room = (size_t)argc; /* no more readings than words */
    r.words = calloc(room, sizeof *r.words);
    r.readings = calloc(room, sizeof *r.readings);
    r.texts = calloc(room, sizeof *r.texts);
    int status = r.words && r.readings && r.texts
                     ? run(argc, argv, &r)
                     : fail_trouble("there is not enough memory to start.");
    for (size_t i = 0; i < r.count; i++)
        free(r.words[i].path);
    free(r.words);
    free(r.readings);
    free(r.texts);
    return status;
}
