#include "advise_options.h"

#include "advice/advice.h"
#include "arithmetic/number.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "base/option_value.h"

#include <getopt.h>
#include <math.h>
#include <stddef.h>

static int take_teeth(const char *word, int *teeth)
{
    if (!number_parse_whole(word, SPLINE_MIN_TEETH, SPLINE_MAX_TEETH, teeth))
        return fail_usage("--teeth must be a whole number from %d to %d, not \"%s\": count the "
                          "teeth of the servo's spline.",
                          SPLINE_MIN_TEETH, SPLINE_MAX_TEETH, word);
    return EXIT_DONE;
}

enum {
    TEETH = 256,
    ARMS,
    DEVIATION,
    U,
    USE,
    TURN_OVER,
    TARGET,
    TOLERANCE,
    SCALE,
    DEG_PER_US,
    US_PER_PERCENT,
    STEP,
    LIMIT,
    ALL,
    JSON,
    HELP,
};

static int take_deviation(const char *word, struct advise_options *o)
{
    int status = option_quantity("deviation", word, QUANTITY_ANGLE, 0, 360, &o->deviation);
    o->have_deviation = true;
    return status == EXIT_DONE ? option_off_square("deviation", o->deviation.value) : status;
}

static const struct option known[] = {
    {"teeth", required_argument, NULL, TEETH},
    {"arms", required_argument, NULL, ARMS},
    {"deviation", required_argument, NULL, DEVIATION},
    {"u", required_argument, NULL, U},
    {"use", required_argument, NULL, USE},
    {"turn-over", required_argument, NULL, TURN_OVER},
    {"target", required_argument, NULL, TARGET},
    {"tolerance", required_argument, NULL, TOLERANCE},
    {"scale", required_argument, NULL, SCALE},
    {"deg-per-us", required_argument, NULL, DEG_PER_US},
    {"us-per-percent", required_argument, NULL, US_PER_PERCENT},
    {"step", required_argument, NULL, STEP},
    {"limit", required_argument, NULL, LIMIT},
    {"all", no_argument, NULL, ALL},
    {"json", no_argument, NULL, JSON},
    {"help", no_argument, NULL, HELP},
    MEASURE_LONG_OPTIONS,
    {NULL, 0, NULL, 0},
};

/* One option with its word. */
static int take_option(struct advise_options *o, int option, const char *word)
{
    switch (option) {
    case TEETH:
        return take_teeth(word, &o->teeth);
    case ARMS:
        o->arms = word;
        return EXIT_DONE;
    case DEVIATION:
        return take_deviation(word, o);
    case U:
        return option_number("u", word, 1e-6, 45, &o->u_deg);
    case USE:
        o->use = word;
        return EXIT_DONE;
    case TURN_OVER:
        o->turn_over = word;
        return EXIT_DONE;
    case TARGET:
        o->have_target = true;
        return option_quantity("target", word, QUANTITY_ANGLE, 0, 360, &o->target);
    case TOLERANCE:
        return option_number("tolerance", word, 0, 45, &o->tolerance_deg);
    case SCALE:
        o->have_scale = true;
        return option_quantity("scale", word, QUANTITY_NUMBER, ADVICE_SCALE_MIN, ADVICE_SCALE_MAX,
                               &o->scale);
    case DEG_PER_US:
        o->have_deg_per_us = true;
        return option_quantity("deg-per-us", word, QUANTITY_NUMBER, 0.001, 2, &o->deg_per_us);
    case US_PER_PERCENT:
        o->have_us_per_percent = true;
        return option_quantity("us-per-percent", word, QUANTITY_NUMBER, 0.1, 50,
                               &o->us_per_percent);
    case STEP:
        o->have_trim_words = true;
        return option_number("step", word, ADVICE_STEP_MIN, ADVICE_STEP_MAX, &o->step_percent);
    case LIMIT:
        o->have_trim_words = true;
        return option_number("limit", word, 0, 100, &o->limit_percent);
    case ALL:
        o->all = true;
        return EXIT_DONE;
    case JSON:
        o->json = true;
        return EXIT_DONE;
    default:
        return measure_options_take(&o->measure, option, word);
    }
}

/* Do the words go together? */
static int check(const struct advise_options *o, bool have_measure)
{
    if (have_measure && !o->photo)
        return measure_options_idle();
    if (o->photo && !isnan(o->u_deg))
        return fail_usage("--u is for angles given as numbers, and the photo tells how well it is "
                          "read itself: leave out --u.");
    if (o->have_trim_words && !o->have_scale && !o->have_deg_per_us)
        return fail_usage("--step and --limit are about sub-trim, which takes --scale: add it "
                          "(armsquare trim-scale learns it), or leave them out.");
    if (o->have_deg_per_us != o->have_us_per_percent)
        return fail_usage("--deg-per-us and --us-per-percent go together.");
    if (o->have_scale && o->have_deg_per_us)
        return fail_usage("give either --scale or --deg-per-us with --us-per-percent, not both.");
    if (o->teeth == 0)
        return fail_usage("say how many teeth the servo's spline has, for example --teeth 25; "
                          "count them with the horn off.");
    return measure_options_check(&o->measure);
}

int advise_options_parse(int argc, char **argv, struct advise_options *o)
{
    *o = (struct advise_options){.measure = measure_options_start(),
                                 .u_deg = NAN,
                                 .tolerance_deg = DECISION_USUAL_DEG,
                                 .step_percent = ADVICE_TRIM_STEP,
                                 .limit_percent = ADVICE_TRIM_LIMIT};
    bool seen[sizeof known / sizeof *known] = {false};
    bool have_measure = false;
    int option;
    int index = 0;
    opterr = 0;
    while ((option = getopt_long(argc, argv, ":h", known, &index)) != -1) {
        if (option == HELP || option == 'h')
            return -1;
        if (option == ':' || option == '?')
            return usage_unknown_option("advise", option, argv);
        have_measure = have_measure || option >= MEASURE_REFERENCE;
        int status = option_taken(known, option, &index, seen);
        if (status == EXIT_DONE)
            status = take_option(o, option, optarg);
        if (status != EXIT_DONE)
            return status;
    }
    if (optind + 1 < argc)
        return fail_usage("give one photo, not several: \"%s\" is one word too many; the mean that "
                          "\"measure --together\" tells goes in as a number, such as --deviation "
                          "2.7±0.4.",
                          argv[optind + 1]);
    o->photo = argv[optind]; /* NULL at the end of argv */
    return check(o, have_measure);
}
