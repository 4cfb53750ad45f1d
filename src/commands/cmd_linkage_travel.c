/* armsquare linkage travel: sub-trim and end points in the radio's whole steps. */
#include "advice/advice.h"
#include "arithmetic/decision.h"
#include "arithmetic/plus_minus.h"
#include "arithmetic/spline.h"
#include "arithmetic/travel.h"
#include "base/answer.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "base/option_value.h"
#include "base/paragraph.h"
#include "cmd_linkage.h"
#include "cmd_linkage_common.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

static const char help[] =
    "usage: armsquare linkage travel --scale N [--off D] [--throw D] [more]\n"
    "\n"
    "What sub-trim and end points do in whole steps: the percent that squares a horn, what is "
    "left\n"
    "over, how unequal it makes the ends, and what another tooth saves.\n"
    "\n"
    "      --scale N            degrees of the servo per percent (\"0.45 u 0.01\"), positive when\n"
    "                           more percent turns it counter-clockwise as seen in the photo;\n"
    "                           or --degrees-per-us N and --us-per-percent N\n"
    "      --off D              how far the horn stands off square, counter-clockwise positive,\n"
    "                           and how well that is known (\"3.2 u 0.2\"): without that no\n"
    "                           sub-trim is ordered\n"
    "      --tolerance D        degrees off square that do not matter (0.5)\n"
    "      --throw D            servo angle wanted to each side\n"
    "      --low-percent N, --high-percent N    end points as they are (100)\n"
    "      --step N             whole steps of the radio, percent (1)\n"
    "      --limit N            neither end point nor servo goes beyond, percent (150)\n"
    "      --arm L              horn, axis to ball, mm: throws of the ball\n"
    "      --teeth N, --arms N  of the shaft and the horn: what another tooth saves\n"
    "      --json               as JSON\n"
    "      --help               this text\n"
    "\n"
    "example:\n"
    "  armsquare linkage travel --scale \"0.45 u 0.01\" --off \"3.2 u 0.2\" --teeth 25 --arms 4\n";

struct travel_words {
    struct travel_radio radio;
    struct quantity off, deg_per_us, us_per_percent, arm;
    double throw_deg, teeth, arms, tolerance_deg;
    struct travel_ends ends;
    bool json, help;
};

static double product(const double *v, const void *unused)
{
    (void)unused;
    return v[0] * v[1];
}

static int read_words(int argc, char **argv, struct travel_words *words)
{
    struct linkage_option_list values = {0};
    const struct linkage_option table[] = {
        {"scale", OPTION_QUANTITY, QUANTITY_NUMBER, &words->radio.deg_per_percent},
        {"degrees-per-us", OPTION_QUANTITY, QUANTITY_NUMBER, &words->deg_per_us},
        {"us-per-percent", OPTION_QUANTITY, QUANTITY_NUMBER, &words->us_per_percent},
        {"off", OPTION_QUANTITY, QUANTITY_ANGLE, &words->off},
        {"tolerance", OPTION_SIZE, QUANTITY_ANGLE, &words->tolerance_deg},
        {"throw", OPTION_SIZE, QUANTITY_ANGLE, &words->throw_deg},
        {"low-percent", OPTION_NUMBER, QUANTITY_PERCENT, &words->ends.low_percent},
        {"high-percent", OPTION_NUMBER, QUANTITY_PERCENT, &words->ends.high_percent},
        {"step", OPTION_NUMBER, QUANTITY_PERCENT, &words->radio.step_percent},
        {"limit", OPTION_NUMBER, QUANTITY_PERCENT, &words->radio.limit_percent},
        {"arm", OPTION_POSITIVE, QUANTITY_LENGTH, &words->arm},
        {"teeth", OPTION_NUMBER, QUANTITY_NUMBER, &words->teeth},
        {"arms", OPTION_NUMBER, QUANTITY_NUMBER, &words->arms},
        {"json", OPTION_FLAG, QUANTITY_NUMBER, &words->json},
    };
    int status = linkage_options_read(argc, argv, table, COUNT(table), &values, &words->help);
    if (status == EXIT_DONE && values.count > 0)
        return fail_usage("\"%s\" is one word too many; --help shows the options.",
                          values.items[0]);
    return status;
}

static bool is_whole(double value, double low, double high)
{
    return value >= low && value <= high && value == floor(value);
}

static int check_percents(const struct travel_words *words)
{
    int status = linkage_check_percent("low-percent", words->ends.low_percent);
    if (status == EXIT_DONE)
        status = linkage_check_percent("high-percent", words->ends.high_percent);
    if (status == EXIT_DONE)
        status = linkage_check_percent("limit", words->radio.limit_percent);
    return status == EXIT_DONE ? linkage_check_step(words->radio.step_percent) : status;
}

static int check_words(struct travel_words *words)
{
    struct quantity *scale = &words->radio.deg_per_percent;
    if (scale->value == 0) {
        const struct quantity factors[] = {words->deg_per_us, words->us_per_percent};
        *scale = quantity_carry(product, factors, 2, NULL);
    }
    if (scale->value == 0)
        return fail_usage("say how many degrees the servo turns per percent, for example --scale "
                          "0.45; \"armsquare trim-scale\" finds it from photos.");
    int status = linkage_check_scale("scale", scale->value);
    if (status != EXIT_DONE || (status = check_percents(words)) != EXIT_DONE ||
        (status = option_off_square("off", words->off.value)) != EXIT_DONE)
        return status;
    if (words->teeth != 0 && (!is_whole(words->teeth, SPLINE_MIN_TEETH, SPLINE_MAX_TEETH) ||
                              !is_whole(words->arms, 1, SPLINE_MAX_ARMS)))
        return fail_usage("--teeth must be a whole number from %d to %d and --arms from 1 to %d.",
                          SPLINE_MIN_TEETH, SPLINE_MAX_TEETH, SPLINE_MAX_ARMS);
    return EXIT_DONE;
}

/* What is left of the deviation on the best tooth and arm, evenly spaced arms. */
static double best_tooth(const struct travel_words *words)
{
    double step = 360.0 / spline_directions((int)words->teeth, (int)words->arms);
    return remainder(words->off.value, step);
}

/* What to do about a horn that is off, in the order of less to be had by sub-trim. */
enum trim_plan {
    TRIM_WITHIN,   /* surely within the tolerance */
    TRIM_NOT_SEEN, /* off by no more than its uncertainty */
    TRIM_TOO_FINE, /* less than half a step */
    TRIM_SET,
    TRIM_TOOTH_FIRST, /* too much for sub-trim, but not on the best tooth and arm */
    TRIM_TOO_MUCH,
};

struct travel_answer {
    struct travel_setting trim, better; /* as the horn sits; on the best tooth */
    bool has_better;
    enum trim_plan plan; /* if --off is right */
    const char *bare;    /* the option that came without its uncertainty: then the plan is no order;
                          * NULL */
    double set_percent;  /* what the throws are told for: to be set, or that would have to be */
    struct travel_asymmetry unequal;
    struct travel_setting end; /* for the throw wanted, on a radio whose ends move along */
    struct travel_setting low_end, high_end; /* on one whose ends stay */
    bool has_end;
};

static bool is_too_much(const struct travel_setting *setting)
{
    return setting->cut || fabs(setting->percent) > ADVICE_TRIM_LIMIT;
}

/* What a percent does nobody knows how well, so neither what it leaves. */
static bool is_scale_bare(const struct travel_words *words)
{
    return !(words->radio.deg_per_percent.u > 0);
}

static bool set_trim(const struct travel_words *words, const struct travel_radio *radio,
                     double off_deg, struct travel_setting *out)
{
    bool fine = travel_set(radio, (struct quantity){-off_deg, words->off.u}, out);
    if (fine && is_scale_bare(words) && out->percent != 0)
        out->remains_deg.u = NAN;
    return fine;
}

static bool is_off_given(const struct travel_words *words)
{
    return words->off.value != 0 || words->off.u > 0;
}

/* As "advise" has it: more than sub-trim is for gives way to the last whole step within that, where
 * this leaves the horn surely within the tolerance. false (setting unchanged) where it does not. */
static bool keep_within_limit(const struct travel_words *words, double off_deg,
                              struct travel_setting *setting)
{
    struct travel_radio radio = words->radio;
    struct travel_setting less;
    radio.limit_percent = fmin(radio.limit_percent, ADVICE_TRIM_LIMIT);
    set_trim(words, &radio, off_deg, &less);
    if (decision_make(less.remains_deg.value, quantity_expanded(less.remains_deg),
                      words->tolerance_deg) != DECISION_ACCEPT)
        return false;
    less.cut = false; /* not by the radio's limit */
    *setting = less;
    return true;
}

/* The settings of a that would be too much become those that do. */
static enum trim_plan plan_trim(const struct travel_words *words, struct travel_answer *a)
{
    double expanded = quantity_expanded(words->off);
    if (is_off_given(words) &&
        decision_make(words->off.value, expanded, words->tolerance_deg) == DECISION_ACCEPT)
        return TRIM_WITHIN;
    if (words->off.u > 0 && fabs(words->off.value) <= expanded)
        return TRIM_NOT_SEEN;
    if (a->trim.percent == 0)
        return TRIM_TOO_FINE;
    if (!is_too_much(&a->trim))
        return TRIM_SET;
    if (a->has_better && !is_too_much(&a->better))
        return TRIM_TOOTH_FIRST;
    if (keep_within_limit(words, words->off.value, &a->trim))
        return TRIM_SET;
    bool helps = a->has_better && keep_within_limit(words, best_tooth(words), &a->better);
    return helps ? TRIM_TOOTH_FIRST : TRIM_TOO_MUCH;
}

/* Whether set_percent is no order. */
static bool only_would(const struct travel_answer *a)
{
    return a->plan == TRIM_TOO_MUCH || (a->bare && a->set_percent != 0);
}

/* Ends that move along with the sub-trim have so much less to the limit on its side. Where they
 * stay, it has taken its own percent off the one and given it to the other. */
static void set_ends(const struct travel_words *words, struct travel_answer *out)
{
    struct travel_radio radio = words->radio;
    double scale = radio.deg_per_percent.value = fabs(radio.deg_per_percent.value);
    double subtrim = only_would(out) ? 0 : out->set_percent, moved = scale * subtrim;
    radio.limit_percent = fmax(0, words->radio.limit_percent - fabs(subtrim));
    travel_set(&radio, (struct quantity){words->throw_deg, 0}, &out->end);
    radio.limit_percent = words->radio.limit_percent;
    travel_set(&radio, (struct quantity){words->throw_deg - moved, 0}, &out->low_end);
    travel_set(&radio, (struct quantity){words->throw_deg + moved, 0}, &out->high_end);
}

static bool work_out(const struct travel_words *words, struct travel_answer *out)
{
    *out = (struct travel_answer){.has_better = words->teeth > 0, .has_end = words->throw_deg > 0};
    if (!set_trim(words, &words->radio, words->off.value, &out->trim))
        return false;
    if (out->has_better)
        set_trim(words, &words->radio, best_tooth(words), &out->better);
    out->plan = plan_trim(words, out);
    out->bare = words->off.value != 0 && !(words->off.u > 0)    ? "--off"
                : out->plan == TRIM_SET && is_scale_bare(words) ? "--scale"
                                                                : NULL;
    out->set_percent = out->plan == TRIM_NOT_SEEN || out->plan == TRIM_WITHIN ? 0
                       : out->plan == TRIM_TOOTH_FIRST                        ? out->better.percent
                                                                              : out->trim.percent;
    out->unequal = travel_asymmetry(&words->radio, words->ends, out->set_percent);
    if (out->has_end)
        set_ends(words, out);
    return true;
}

/* "+2 %", "-2 %", "0 %" */
static const char *signed_percent(double percent, char out[24])
{
    snprintf(out, 24, percent == 0 ? "%.4g %%" : "%+.4g %%", percent);
    return out;
}

/* Beyond what sub-trim is for: no order of it. */
static void say_too_much(const struct travel_words *words, const struct travel_answer *answer,
                         char *text, size_t size)
{
    char percent[24];
    int length = snprintf(text, size, "no sub-trim yet: it would take %+.4g %%, more than %g %%; ",
                          answer->trim.percent, ADVICE_TRIM_LIMIT);
    text += length;
    size -= (size_t)length;
    if (answer->plan == TRIM_TOOTH_FIRST)
        snprintf(text, size,
                 "another tooth or arm first (\"armsquare advise\" says which). The best is about "
                 "%.1f degrees off, which takes %s: measure again there.",
                 fabs(best_tooth(words)), signed_percent(answer->better.percent, percent));
    else if (answer->has_better)
        snprintf(
            text, size,
            "even the best tooth and arm would take %+.4g %%. Check that the servo is centred; "
            "if it is, another horn may come nearer.",
            answer->better.percent);
    else
        snprintf(text, size,
                 "look for a better tooth or arm first (--teeth and --arms tell what that saves).");
}

/* Why that is enough, of a sub-trim that could not be set to the nearest step. */
static void end_set(const struct travel_words *words, const struct travel_setting *trim, char *text,
                    size_t size)
{
    size_t length = strlen(text);
    double wanted = travel_step(trim->exact_percent, words->radio.step_percent, INFINITY);
    if (fabs(trim->percent) < fabs(wanted))
        snprintf(text + length, size - length, ", within the tolerance of %g %s.",
                 words->tolerance_deg, plus_minus_degree_word(words->tolerance_deg));
    else
        snprintf(text + length, size - length, ".");
}

static void say_plan(const struct travel_words *words, const struct travel_answer *answer,
                     char *text, size_t size)
{
    const struct travel_setting *trim = &answer->trim;
    char rest[PLUS_MINUS_WORDS + 48];
    struct quantity off = {-trim->remains_deg.value, trim->remains_deg.u}; /* of the arm */
    switch (answer->plan) {
    case TRIM_WITHIN:
        snprintf(text, size, "no sub-trim: the horn is within the tolerance of %g %s.",
                 words->tolerance_deg, plus_minus_degree_word(words->tolerance_deg));
        break;
    case TRIM_NOT_SEEN:
        snprintf(text, size,
                 "no sub-trim: what is off is no more than the measurement may be wrong.");
        break;
    case TRIM_TOO_FINE:
        snprintf(text, size, "no sub-trim: what is off is less than half a step of %g %%.",
                 words->radio.step_percent);
        break;
    case TRIM_SET:
        linkage_say_remains(off, false, 2, rest, sizeof rest);
        snprintf(text, size, "sub-trim %+.4g %% (exactly %+.2f); %s", trim->percent,
                 trim->exact_percent, rest);
        end_set(words, trim, text, size);
        break;
    default:
        say_too_much(words, answer, text, size);
    }
}

/* The whole sentence, to follow "Do: ". */
static void say_trim(const struct travel_words *words, const struct travel_answer *answer,
                     char *text, size_t size)
{
    char plan[LINKAGE_SENTENCE_SIZE - LINKAGE_BARE_WORDS];
    if (!answer->bare) {
        say_plan(words, answer, text, size);
        return;
    }
    say_plan(words, answer, plan, sizeof plan);
    snprintf(text, size,
             "change nothing yet: write behind %s how well it is known, such as %s. If the number "
             "is right: %s",
             answer->bare,
             strcmp(answer->bare, "--off") == 0 ? "--off 3.2u0.2" : "--scale 0.45u0.01", plan);
}

static void print_asymmetry(const struct travel_words *words, const struct travel_answer *answer)
{
    const struct travel_asymmetry *u = &answer->unequal;
    char percent[24];
    printf("With sub-trim %s the servo %s\n"
           "  %.1f and %.1f degrees (low, high) on a radio whose ends move along%s\n"
           "  %.1f and %.1f degrees on a radio whose ends stay where they were\n",
           signed_percent(answer->set_percent, percent),
           only_would(answer) ? "would turn" : "turns", u->moving_low_deg, u->moving_high_deg,
           u->low_cut || u->high_cut ? ", cut by its limit" : "", u->fixed_low_deg,
           u->fixed_high_deg);
    if (!(words->arm.value > 0))
        return;
    double low, high, off_low, off_high;
    travel_ball_throws(words->arm.value, 0, u->moving_low_deg, u->moving_high_deg, &low, &high);
    /* low and high change places with the sense in which the servo turns, and so does the arm */
    travel_ball_throws(
        words->arm.value, copysign(1, words->radio.deg_per_percent.value) * words->off.value,
        fabs(words->radio.deg_per_percent.value) * words->ends.low_percent,
        fabs(words->radio.deg_per_percent.value) * words->ends.high_percent, &off_low, &off_high);
    printf("  ball: %.2f and %.2f mm; left off square it would be %.2f and %.2f mm\n", low, high,
           off_low, off_high);
}

static json_t *setting_json(const struct travel_setting *s)
{
    return json_pack("{s:f, s:f, s:b, s:o}", "percent", s->percent, "exact_percent",
                     s->exact_percent, "cut_by_limit", s->cut, "remains_deg",
                     linkage_quantity_json(s->remains_deg));
}

static const char *plan_name(enum trim_plan plan)
{
    static const char *const names[] = {
        [TRIM_WITHIN] = "within",           [TRIM_NOT_SEEN] = "not seen",
        [TRIM_TOO_FINE] = "too fine",       [TRIM_SET] = "use",
        [TRIM_TOOTH_FIRST] = "tooth first", [TRIM_TOO_MUCH] = "over limit",
    };
    return names[plan];
}

/* None is below 0: so little beside the sub-trim no end point gives. */
static json_t *end_number(const struct travel_setting *end)
{
    return answer_number(end->percent > 0 ? end->percent : NAN);
}

static int answer_travel_json(const struct travel_answer *a, const char *action)
{
    return answer_json(json_pack(
        "{s:o, s:o, s:s, s:s?, s:o, s:o, s:f, s:{s:[f, f], s:[f, f]}}", "sub_trim",
        setting_json(&a->trim), "sub_trim_on_best_tooth",
        a->has_better ? setting_json(&a->better) : json_null(), "sub_trim_kind",
        a->bare ? decision_name(DECISION_CANNOT_TELL) : plan_name(a->plan), "action", action,
        "end_point", a->has_end ? setting_json(&a->end) : json_null(), "end_points_if_ends_stay",
        a->has_end ? json_pack("[o, o]", end_number(&a->low_end), end_number(&a->high_end))
                   : json_null(),
        "servo_throws_at_percent", a->set_percent, "servo_throws_deg", "ends_move_along",
        a->unequal.moving_low_deg, a->unequal.moving_high_deg, "ends_stay",
        a->unequal.fixed_low_deg, a->unequal.fixed_high_deg));
}

static void print_end(const struct travel_words *words, const struct travel_answer *answer)
{
    const struct travel_setting *end = &answer->end, *low = &answer->low_end,
                                *high = &answer->high_end;
    char remains[PLUS_MINUS_WORDS];
    double left = quantity_rounded(end->remains_deg.value, 2);
    printf("Do: end points %.4g %% for %.1f degrees each way; %s%s.%s\n", end->percent,
           words->throw_deg,
           plus_minus_quantity(quantity_size(end->remains_deg), 2, "degrees", remains),
           left == 0  ? " remain"
           : left > 0 ? " too little"
                      : " too much",
           end->cut ? " The radio's limit is too small for that throw." : "");
    if (low->exact_percent == high->exact_percent)
        return;
    if (low->percent <= 0 || high->percent <= 0)
        puts("  So on a radio whose ends move along with sub-trim. Where they stay, no end point "
             "gives so small a throw beside that sub-trim.");
    else
        printf(
            "  So on a radio whose ends move along with sub-trim. Where they stay: %.4g %% (low) "
            "and %.4g %% (high).%s\n",
            low->percent, high->percent,
            low->cut || high->cut ? " The radio's limit is too small there." : "");
}

int cmd_linkage_travel(int argc, char **argv)
{
    struct travel_words words = {
        .radio = {.step_percent = 1, .limit_percent = 150},
        .ends = {100, 100},
        .arms = 1,
        .tolerance_deg = DECISION_USUAL_DEG,
    };
    int status = read_words(argc, argv, &words);
    if (status != EXIT_DONE)
        return status;
    if (words.help)
        return answer_print_help(help);
    if ((status = check_words(&words)) != EXIT_DONE)
        return status;
    struct travel_answer answer;
    if (!work_out(&words, &answer))
        return fail_unusable("this scale is not usable; check --scale.");
    char action[LINKAGE_SENTENCE_SIZE];
    say_trim(&words, &answer, action, sizeof action);
    if (words.json)
        return answer_travel_json(&answer, is_off_given(&words) ? action : NULL);
    if (is_off_given(&words))
        paragraph_text(stdout, "Do: ", action);
    print_asymmetry(&words, &answer);
    if (answer.has_end)
        print_end(&words, &answer);
    return EXIT_DONE;
}
