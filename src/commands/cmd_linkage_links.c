/* armsquare linkage turns and pair: links and how to turn them. */
#include "advice/advice.h"
#include "arithmetic/direction.h"
#include "arithmetic/plus_minus.h"
#include "arithmetic/station.h"
#include "base/answer.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "base/paragraph.h"
#include "cmd_linkage.h"
#include "cmd_linkage_common.h"
#include "linkage/link_pair.h"
#include "linkage/link_pair_drawing.h"
#include "linkage/linkage_words.h"
#include "result/order.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* ---- turns ----------------------------------------------------------------------------------- */

static const char turns_help[] =
    "usage: armsquare linkage turns ANGLE --arm L --thread T [--wanted ANGLE] [more]\n"
    "\n"
    "An arm that stands off: how many turns of its link bring it home, and what then remains.\n"
    "ANGLE is a number of degrees, with its uncertainty if you like (\"91.3 u 0.2\"), or a photo.\n"
    "\n"
    "      --wanted A        where the arm should stand (the nearest square: 0, 90, 180 or 270)\n"
    "      --tolerance D     degrees that do not matter (0.5)\n" LINK_HELP
    "  -o, --output FILE     a drawing; .svg, .pdf or .png\n"
    "      --json            as JSON\n"
    "      --help            this text\n" PHOTO_HELP "\n"
    "example:\n"
    "  armsquare linkage turns \"91.8 u 0.2\" --arm 15 --thread M2 --longer cw\n";

static int refuse_half_way(double angle_deg)
{
    double below = 90 * floor(direction_normal(angle_deg) / 90);
    return fail_unusable("the arm lies at %.1f degrees, nearly half way between %.0f and %.0f "
                         "degrees; say where it should stand, such as --wanted %.0f.",
                         angle_deg, below, direction_normal(below + 90), below);
}

/* Most often another square direction is meant, as of an arm that points down. */
static int refuse_turn(double angle_deg, double wanted_deg)
{
    char other[80] = "check the angles";
    double square = direction_square(angle_deg);
    if (direction_turn(square - wanted_deg) != 0)
        snprintf(other, sizeof other, "if it should stand at %.0f, add --wanted %.0f", square,
                 square);
    return fail_unusable("no length of the link brings the arm from %.1f to %.1f degrees: it would "
                         "have to pass its own link; %s.",
                         angle_deg, wanted_deg, other);
}

struct turns_words {
    struct link_words link;
    struct linkage_photos photos;
    struct quantity wanted; /* value NAN: the nearest square */
    double tolerance;
    const char *output;
    bool json;
    struct linkage_option_list values;
};

/* false: the mode ends here, with *status. */
static bool read_turns_options(int argc, char **argv, struct turns_words *words, int *status)
{
    const struct linkage_option table[] = {
        LINK_OPTIONS(&words->link),
        PHOTO_OPTIONS(&words->photos),
        {"wanted", OPTION_QUANTITY, QUANTITY_ANGLE, &words->wanted},
        {"output", OPTION_TEXT, QUANTITY_NUMBER, &words->output},
        {"tolerance", OPTION_SIZE, QUANTITY_ANGLE, &words->tolerance},
        {"json", OPTION_FLAG, QUANTITY_NUMBER, &words->json},
    };
    if (!linkage_options_begin(argc, argv, table, COUNT(table), &words->values, turns_help, status))
        return false;
    if ((*status = link_words_finish(&words->link)) == EXIT_DONE &&
        (*status = check_drawing(words->output)) == EXIT_DONE &&
        !(words->link.arm.arm_mm.value > 0))
        *status = fail_usage("say how long the arm is from axis to ball, for example --arm 15.");
    return *status == EXIT_DONE;
}

/* The arm that measure would judge, asked the same; and where nobody said what is wanted, the
 * square that measure counts from. was_asked: somebody said. */
static int read_turns_angle(struct turns_words *words, struct quantity *angle, bool *was_asked)
{
    *was_asked = !isnan(words->wanted.value);
    const struct verdict_asked asked = {.have_target = *was_asked,
                                        .target_deg = words->wanted.value};
    int status = read_angles(&words->values, 1,
                             "give one angle, a number or a photo, for example "
                             "\"91.8 u 0.2\".",
                             &asked, &words->photos, angle);
    if (status == EXIT_DONE && !*was_asked)
        words->wanted.value = direction_square(angle->value);
    return status;
}

static int draw_turns(const struct turns_words *words, const char *arm, double angle_deg,
                      const struct deviation *deviation)
{
    struct linkage_dial dial = {.title = "Arm and its link"};
    dial_add(&dial, arm, angle_deg, plot_ink, false);
    dial_add(&dial, "wanted", words->wanted.value, plot_warn, true);
    dial_deviation(&dial, 0, deviation);
    return write_dial(words->output, &dial);
}

static int answer_turns(const struct turns_words *words, const struct deviation *deviation,
                        bool was_asked)
{
    if (words->json) {
        json_t *object = json_object();
        add_deviation(object, deviation);
        json_object_set_new(object, "wanted_deg", json_real(words->wanted.value));
        return answer_json(object);
    }
    if (!was_asked)
        printf("Wanted: %.0f degrees, the nearest square; --wanted says otherwise.\n",
               words->wanted.value);
    print_deviation(deviation);
    return EXIT_DONE;
}

int cmd_linkage_turns(int argc, char **argv)
{
    struct linkage_photos_room room;
    struct turns_words words = {.link = link_words_default(),
                                .photos = linkage_photos_start(&room),
                                .wanted = {NAN, 0},
                                .tolerance = DECISION_USUAL_DEG};
    struct quantity angle = {0, 0};
    char name[8], arm[16];
    bool was_asked;
    int status;
    if (!read_turns_options(argc, argv, &words, &status) ||
        (status = read_turns_angle(&words, &angle, &was_asked)) != EXIT_DONE)
        return status;
    struct quantity off = station_off(angle, words.wanted);
    struct linkage_cure cure;
    const struct order_question question = {words.photos.unsure_count > 0, !was_asked, off.value,
                                            quantity_expanded(off), words.tolerance};
    if (order_make(&question) == ORDER_HALF_WAY)
        return refuse_half_way(angle.value);
    if (words.photos.unsure_count == 0 && !linkage_cure(&words.link.arm, off, &cure))
        return refuse_turn(angle.value, words.wanted.value);
    snprintf(arm, sizeof arm, "Arm%s", linkage_photos_arm(&words.photos, name));
    struct deviation deviation =
        judge_deviation(arm, off, words.tolerance, &words.photos, &words.link);
    status = draw_turns(&words, arm, angle.value, &deviation);
    return status == EXIT_DONE ? answer_turns(&words, &deviation, was_asked) : status;
}

/* ---- pair ------------------------------------------------------------------------------------ */

static const char pair_help[] =
    "usage: armsquare linkage pair FIRST SECOND --arm L [more]\n"
    "\n"
    "Two links side by side between a double horn and a double crank: equally long within what\n"
    "matters? What a difference does, and which one to turn. FIRST and SECOND are lengths from\n"
    "ball centre to ball centre by calipers, mm; or as they look in a photo of both before one\n"
    "card, in mm of that card, then with --height and --distance. Write behind each how well it\n"
    "is known (\"58.42 u 0.02\"): without that nothing is decided. A photo itself is taken by\n"
    "\"armsquare job measure FILE STATION PHOTO --first-link X,Y,X,Y ...\".\n"
    "\n"
    "      --arm L           arms of horn and crank, axis to ball, mm\n"
    "      --base L          axis to axis, mm, if known\n"
    "      --angle A         horn at neutral against the line of the axes (90)\n"
    "      --travel A        of the servo each way (40)\n"
    "      --play L          what the ball links of one link give before they pull, mm\n"
    "      --stiffness N     of one link with its balls, N per mm, for the forces\n"
    "      --within L        difference that does not matter, mm\n"
    "      --height L        the links' height in front of the card, mm, for lengths as in a "
    "photo\n"
    "      --distance L      camera to card, mm, for lengths as in a photo\n"
    "      --thread T, --far-thread T, --fits-every S, --turnbuckle    of the links, as for turns\n"
    "  -o, --output FILE     a drawing; .svg, .pdf or .png\n"
    "      --json            as JSON\n"
    "      --help            this text\n"
    "\n"
    "example:\n"
    "  armsquare linkage pair \"58.42 u 0.02\" \"58.10 u 0.02\" --arm 13.5 --thread M2\n";

struct pair_words {
    struct link_pair pair;
    struct quantity height_mm, distance_mm;
    double travel_deg;
    const char *output;
    bool json, help;
    struct linkage_option_list values;
};

static int read_pair_options(int argc, char **argv, struct pair_words *words)
{
    const struct linkage_option table[] = {
        LINK_END_OPTIONS(&words->pair.ends),
        {"arm", OPTION_POSITIVE, QUANTITY_LENGTH, &words->pair.arm_mm},
        {"base", OPTION_POSITIVE, QUANTITY_LENGTH, &words->pair.base_mm},
        {"angle", OPTION_NUMBER, QUANTITY_ANGLE, &words->pair.horn_deg},
        {"travel", OPTION_SIZE, QUANTITY_ANGLE, &words->travel_deg},
        {"play", OPTION_SIZE, QUANTITY_LENGTH, &words->pair.play_mm},
        {"stiffness", OPTION_SIZE, QUANTITY_NUMBER, &words->pair.stiffness_n_per_mm},
        {"within", OPTION_SIZE, QUANTITY_LENGTH, &words->pair.equal_within_mm},
        {"height", OPTION_QUANTITY, QUANTITY_LENGTH, &words->height_mm},
        {"distance", OPTION_POSITIVE, QUANTITY_LENGTH, &words->distance_mm},
        {"output", OPTION_TEXT, QUANTITY_NUMBER, &words->output},
        {"json", OPTION_FLAG, QUANTITY_NUMBER, &words->json},
    };
    return linkage_options_read(argc, argv, table, COUNT(table), &words->values, &words->help);
}

/* Lengths from the words, corrected for their height in a photo when that is given. */
static int read_pair_lengths(struct pair_words *words)
{
    struct quantity *lengths[] = {&words->pair.first_mm, &words->pair.second_mm};
    if (words->values.count != 2)
        return fail_usage("give the lengths of both links, for example 58.42u0.02 58.10u0.02.");
    for (int i = 0; i < 2; i++) {
        enum quantity_fault fault =
            quantity_parse(words->values.items[i], QUANTITY_LENGTH, lengths[i]);
        if (fault != QUANTITY_FINE)
            return fail_usage("\"%s\" %s; a length is written like \"58.4 mm u 0.02\".",
                              words->values.items[i], quantity_fault_says(fault));
        if (linkage_check_length(words->values.items[i], lengths[i]->value) != EXIT_DONE)
            return EXIT_USAGE;
    }
    if (!(words->distance_mm.value > 0))
        return words->height_mm.value == 0
                   ? EXIT_DONE
                   : fail_usage("--height needs --distance, the way from camera to card.");
    struct link_pair_photo photo = {words->pair.first_mm, words->pair.second_mm, words->height_mm,
                                    words->distance_mm, 0};
    struct link_pair_lengths made;
    if (!link_pair_lens_could(&photo))
        return fail_unusable("%s", LINK_PAIR_TOO_NEAR);
    if (!link_pair_from_photo(&photo, &made))
        return fail_unusable("the height of the links must lie between 0 and the distance of the "
                             "camera, and the lengths above 0.");
    /* What both share cancels in the difference; leave each its share of what does not. How well
     * the height is known says nothing of lengths that came without their uncertainty. */
    bool bare = !(words->pair.first_mm.u > 0 && words->pair.second_mm.u > 0);
    double u = bare ? 0 : made.difference_mm.u / sqrt(2);
    words->pair.first_mm = (struct quantity){made.first_mm.value, u};
    words->pair.second_mm = (struct quantity){made.second_mm.value, u};
    return EXIT_DONE;
}

/* Past the line of the axes nobody knows which way the crank went. */
static json_t *pose_json(const struct link_pair_pose *pose)
{
    if (pose->line == LINK_PAIR_THROUGH_LINE)
        return json_null();
    return json_pack(
        "{s:f, s:o, s:f, s:o, s:f, s:o, s:f, s:o, s:o}", "crank_turned_deg", pose->bias_deg,
        "crank_turned_u_deg", answer_number(pose->bias_u_deg), "first_strain_mm",
        pose->first_strain_mm, "first_strain_u_mm", answer_number(pose->first_strain_u_mm),
        "second_strain_mm", pose->second_strain_mm, "second_strain_u_mm",
        answer_number(pose->second_strain_u_mm), "force_n", pose->force_n, "least_force_n",
        answer_number(pose->least_force_n), "most_force_n", answer_number(pose->most_force_n));
}

/* Half of a step of 0.25 mm has three. */
static int limit_decimals(const struct link_pair_result *r)
{
    return fabs(quantity_rounded(r->within_mm, 2) - r->within_mm) < 1e-6 ? 2 : 3;
}

static void say_pair_cure(const struct link_pair *pair, const struct link_pair_result *result,
                          char *text, size_t size)
{
    const char *which = result->turn_first ? "first" : "second";
    char turns[200], rest[PLUS_MINUS_WORDS];
    if (result->equal == DECISION_ACCEPT) {
        snprintf(text, size, "leave both: they are equal within %.*f mm (%s).",
                 limit_decimals(result), result->within_mm, result->within_why);
    } else if (result->turnable && thread_turns_none(&result->turns)) {
        snprintf(text, size,
                 "turn neither: the smallest turn that fits, %.2f mm, would not bring them nearer. "
                 "A finer thread would, or one of another pitch at the far end (--far-thread).",
                 result->turns.smallest_mm);
    } else if (result->equal == DECISION_CANNOT_TELL) {
        snprintf(text, size, "turn neither: measure both again, better, first.");
    } else if (!result->turnable) {
        snprintf(text, size, "make the %s link %.2f mm %s.", which, fabs(result->change_mm),
                 result->change_mm > 0 ? "longer" : "shorter");
    } else {
        linkage_say_turns(&pair->ends, &result->turns, turns, sizeof turns);
        double left_mm = quantity_rounded(result->remaining_mm.value, 2);
        snprintf(text, size, "%s link: %s; %s%s remain.%s", which, turns,
                 plus_minus_quantity(quantity_size(result->remaining_mm), 2, "mm", rest),
                 left_mm == 0  ? ""
                 : left_mm > 0 ? ", the first link longer,"
                               : ", the second link longer,",
                 linkage_many_turns(&result->turns));
    }
}

static void say_pair_action(const struct link_pair *pair, const struct link_pair_result *result,
                            char *text, size_t size)
{
    char cure[LINKAGE_SENTENCE_SIZE - LINKAGE_BARE_WORDS];
    struct link_pair_result if_right = *result;
    if (!result->bare) {
        say_pair_cure(pair, result, text, size);
        return;
    }
    if_right.equal = decision_make(result->difference_mm.value, 0, result->within_mm);
    say_pair_cure(pair, &if_right, cure, sizeof cure);
    snprintf(text, size,
             "change nothing yet: write behind each length how well it is known, such as "
             "58.42u0.02. If the lengths are right: %s",
             cure);
}

/* Watches for the dead point, where links and axes lie in one line. false: it is far. */
static bool say_pair_line(const struct link_pair_result *r, char *text, size_t size)
{
    const enum link_pair_line lines[] = {r->low.line, r->neutral.line, r->high.line};
    enum link_pair_line worst = LINK_PAIR_CLEAR;
    for (size_t i = 0; i < COUNT(lines); i++)
        worst = lines[i] > worst ? lines[i] : worst;
    if (worst == LINK_PAIR_CLEAR)
        return false;
    snprintf(text, size,
             "Watch: within the travel the horn %s the line of the axes. There both links lie in "
             "one line with their arms, and the crank may jam or turn the other way than its horn. "
             "Turn the horn on its shaft, or make the travel smaller.",
             worst == LINK_PAIR_THROUGH_LINE ? "passes" : "comes within 10 degrees of");
    return true;
}

/* "0.26 ± 0.59 mm too long" */
static void say_misfit(struct quantity misfit_mm, char *text, size_t size)
{
    char amount[PLUS_MINUS_WORDS];
    snprintf(text, size, "%s too %s",
             plus_minus_quantity(quantity_size(misfit_mm), 2, "mm", amount),
             misfit_mm.value < 0 ? "short" : "long");
}

/* All that is to be watched for; false: nothing. What both are too long for the base counts where
 * it is more than the play for sure, as it is once the difference is mended. */
static bool say_pair_watch(const struct link_pair *pair, const struct link_pair_result *r,
                           char *text, size_t size)
{
    const struct quantity left = link_pair_misfit_left(r);
    char misfit[PLUS_MINUS_WORDS + 16];
    bool line = say_pair_line(r, text, size);
    if (r->bare || !(pair->base_mm.value > 0) ||
        fabs(left.value) - quantity_expanded(left) <= pair->play_mm)
        return line;
    say_misfit(left, misfit, sizeof misfit);
    size_t length = line ? strlen(text) : 0;
    snprintf(text + length, size - length,
             "%sWatch: %s both links are %s for the distance of the axes, more than play explains. "
             "Make both so much %s, or check --base.",
             line ? " " : "", link_pair_wants_change(r) ? "that done," : "as they are,", misfit,
             left.value < 0 ? "longer" : "shorter");
    return true;
}

/* Which link to change, and how, is told only where one has to be. */
static int answer_pair_json(const struct link_pair *pair, const struct link_pair_result *r,
                            const char *action)
{
    bool change = link_pair_wants_change(r);
    char watch[LINKAGE_SENTENCE_SIZE];
    bool warned = say_pair_watch(pair, r, watch, sizeof watch);
    return answer_json(
        json_pack("{s:o, s:f, s:s, s:s, s:o, s:o, s:o, s:o, s:f, s:o, s:o, s:o, s:o, s:s, s:s?}",
                  "difference_mm", linkage_quantity_json(r->difference_mm), "within_mm",
                  r->within_mm, "within_because", r->within_why, "equal", decision_name(r->equal),
                  "crank_turned_deg", linkage_quantity_json(r->bias_deg), "low", pose_json(&r->low),
                  "neutral", pose_json(&r->neutral), "high", pose_json(&r->high),
                  "force_if_crank_held_n", r->held_force_n, "too_long_for_base_mm",
                  pair->base_mm.value > 0 ? linkage_quantity_json(r->misfit_mm) : json_null(),
                  "turn", change ? json_string(r->turn_first ? "first" : "second") : json_null(),
                  "longer_mm", change ? json_real(r->change_mm) : json_null(), "turns_out",
                  change && r->turnable ? json_real(r->turns.turns) : json_null(), "action", action,
                  "warning", warned ? watch : NULL));
}

/* Whether it is told and shows in the decimals that are printed. */
static bool is_strained(const struct link_pair_pose *pose)
{
    return pose->line != LINK_PAIR_THROUGH_LINE &&
           (quantity_rounded(pose->first_strain_mm, 3) != 0 ||
            quantity_rounded(pose->second_strain_mm, 3) != 0);
}

/* "+0.259 ± 0.590" */
static void print_signed(const char *before, struct quantity q, int decimals)
{
    printf("%s%+.*f", before, decimals, quantity_rounded(q.value, decimals));
    if (q.u > 0)
        printf(" ± %.*f", decimals, plus_minus_rounded(quantity_expanded(q), decimals));
}

#define LIMITS_WORDS 64

/* " (0.0 to 40.0)"; "" where nobody knows. Returns text. */
static const char *say_limits(double least_n, double most_n, char text[LIMITS_WORDS])
{
    text[0] = '\0';
    if (isfinite(most_n))
        snprintf(text, LIMITS_WORDS, " (%.1f to %.1f)", least_n, most_n);
    return text;
}

static void print_strain(const struct link_pair *pair, const struct link_pair_pose *pose)
{
    print_signed(", links strained ",
                 (struct quantity){pose->first_strain_mm, pose->first_strain_u_mm}, 3);
    print_signed(" and ", (struct quantity){pose->second_strain_mm, pose->second_strain_u_mm}, 3);
    fputs(" mm", stdout);
    char limits[LIMITS_WORDS];
    if (pair->stiffness_n_per_mm > 0)
        printf(", %.1f N%s", pose->force_n,
               say_limits(pose->least_force_n, pose->most_force_n, limits));
}

static void print_pair_pose(const char *where, const struct link_pair *pair,
                            const struct link_pair_pose *pose, bool strained)
{
    double turned = quantity_rounded(pose->bias_deg, 2);
    const struct quantity bias = {fabs(pose->bias_deg), pose->bias_u_deg};
    char amount[PLUS_MINUS_WORDS];
    if (pose->line == LINK_PAIR_THROUGH_LINE) {
        printf("  %-10s cannot be told: the horn passes the line of the axes on the way\n", where);
        return;
    }
    printf("  %-10s crank turned %s%s%s", where, plus_minus_quantity(bias, 2, "degrees", amount),
           turned == 0 ? "" : " ", turned == 0 ? "" : order_lies(turned));
    if (strained)
        print_strain(pair, pose);
    putchar('\n');
}

static void say_pair_finding(const struct link_pair_result *r, char *text, size_t size)
{
    static const char *const says[] = {
        [DECISION_ACCEPT] = "equal within",
        [DECISION_REJECT] = "unequal: more than",
        [DECISION_CANNOT_TELL] = "cannot be told from",
    };
    char difference[PLUS_MINUS_WORDS];
    snprintf(text, size, "The first link is %s %s than the second: %s %.*f mm (%s)%s.",
             plus_minus_quantity(quantity_size(r->difference_mm), 3, "mm", difference),
             r->difference_mm.value >= 0 ? "longer" : "shorter",
             r->bare ? "not to be judged against" : says[r->equal], limit_decimals(r), r->within_mm,
             r->within_why, r->bare ? " without an uncertainty" : "");
}

static void print_pair(const struct link_pair *pair, const struct link_pair_result *r,
                       const char *finding, const char *action)
{
    char watch[LINKAGE_SENTENCE_SIZE], limits[LIMITS_WORDS];
    printf("%s\n  Do: %s\n", finding, action);
    if (say_pair_watch(pair, r, watch, sizeof watch))
        paragraph_text(stdout, "  ", watch);
    putchar('\n');
    printf("What %s, seen with the horn on the left and the first link %s\n",
           pair->base_mm.value > 0 ? "the difference and the base do" : "the difference does",
           sin(pair->horn_deg * RAD_PER_DEG) < 0 ? "below" : "above");
    bool strained = is_strained(&r->low) || is_strained(&r->neutral) || is_strained(&r->high);
    print_pair_pose("low end", pair, &r->low, strained);
    print_pair_pose("neutral", pair, &r->neutral, strained);
    print_pair_pose("high end", pair, &r->high, strained);
    if (strained)
        puts("  (strained: + is pressed together, - is pulled)");
    if (!strained)
        puts("  The crank gives way; the links are not strained.");
    if (pair->base_mm.value > 0) {
        char misfit[PLUS_MINUS_WORDS + 16];
        say_misfit(r->misfit_mm, misfit, sizeof misfit);
        printf("  Both links are %s for the distance of the axes: that strains both alike,\n"
               "  and turns nothing.\n",
               misfit);
    }
    if (pair->stiffness_n_per_mm > 0)
        printf("  With the crank held square at neutral the two links pull against each other "
               "with %.1f N%s.\n",
               r->held_force_n, say_limits(r->least_held_n, r->most_held_n, limits));
}

static int draw_pair(const struct pair_words *words, const struct link_pair_result *r,
                     const char *finding, const char *action)
{
    char drawn[LINKAGE_SENTENCE_SIZE];
    snprintf(drawn, sizeof drawn, "%s", action);
    drawn[0] = (char)toupper((unsigned char)drawn[0]);
    char watch[LINKAGE_SENTENCE_SIZE], below[2 * LINKAGE_SENTENCE_SIZE];
    bool warned = say_pair_watch(&words->pair, r, watch, sizeof watch);
    snprintf(below, sizeof below, "%s%s%s", finding, warned ? " " : "", warned ? watch : "");
    struct link_pair_sheet sheet = {&words->pair, r, below, drawn};
    struct drawing drawing = link_pair_drawing(&sheet);
    return write_drawing(words->output, &drawing, DRAWING_DPI);
}

static int answer_pair(const struct pair_words *words, const struct link_pair_result *r)
{
    char action[LINKAGE_SENTENCE_SIZE], finding[LINKAGE_SENTENCE_SIZE];
    say_pair_action(&words->pair, r, action, sizeof action);
    say_pair_finding(r, finding, sizeof finding);
    int status = words->output ? draw_pair(words, r, finding, action) : EXIT_DONE;
    if (status != EXIT_DONE)
        return status;
    if (words->json)
        return answer_pair_json(&words->pair, r, action);
    print_pair(&words->pair, r, finding, action);
    return EXIT_DONE;
}

int cmd_linkage_pair(int argc, char **argv)
{
    struct pair_words words = {.pair = {.horn_deg = 90, .ends = link_ends_default()},
                               .travel_deg = 40};
    int status = read_pair_options(argc, argv, &words);
    if (status != EXIT_DONE)
        return status;
    if (words.help)
        return answer_print_help(pair_help);
    if ((status = check_link_ends(&words.pair.ends)) != EXIT_DONE ||
        (status = check_drawing(words.output)) != EXIT_DONE ||
        (status = read_pair_lengths(&words)) != EXIT_DONE)
        return status;
    words.pair.low_deg = -words.travel_deg;
    words.pair.high_deg = words.travel_deg;
    if (!(words.pair.arm_mm.value > 0))
        return fail_usage("say how long the arms are from axis to ball, for example --arm 13.5.");
    struct link_pair_result result;
    if (!link_pair_judge(&words.pair, &result))
        return fail_unusable("these two links cannot hold a crank between them; check the lengths "
                             "(links longer than the arms, nearly as long as the base) and the "
                             "travel.");
    if (link_pair_is_absurd(&result)) {
        char misfit[PLUS_MINUS_WORDS + 16];
        say_misfit(result.misfit_mm, misfit, sizeof misfit);
        return fail_unusable("both links are %s for a --base of %g mm: nobody gets such links onto "
                             "their balls; check the distance of the axes and the lengths.",
                             misfit, words.pair.base_mm.value);
    }
    return answer_pair(&words, &result);
}
