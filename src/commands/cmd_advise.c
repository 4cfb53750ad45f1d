/* armsquare advise: a measured horn in, the next thing to do out. */
#include "advice/advice.h"
#include "advice/advice_report.h"
#include "advise_options.h"
#include "arithmetic/direction.h"
#include "arithmetic/number.h"
#include "base/answer.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "base/option_value.h"
#include "commands.h"
#include "measure/photo_arms.h"
#include "measure/same_photo.h"
#include "result/arm_uncertainty.h"
#include "result/order.h"
#include "result/reasons.h"
#include "result/reference_words.h"
#include "result/verdict.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

/* Arms nearer to each other than this are none of one horn: eight even ones, the most there are,
 * lie 45 degrees apart. */
#define MIN_ARM_GAP_DEG 20.0

static const char help_start[] =
    "usage: armsquare advise PHOTO --teeth N [OPTIONS]\n"
    "       armsquare advise --arms A,B,... --teeth N [OPTIONS]\n"
    "       armsquare advise --deviation DEG --teeth N [OPTIONS]\n"
    "\n"
    "Says which arm to put on which spline tooth, and what sub-trim is left to do.\n"
    "Degrees count counter-clockwise as seen in the photo.\n" QUANTITY_HELP "\n"
    "the horn\n"
    "      --teeth N         teeth of the servo's spline; count them\n"
    "      --arms A,B,...    angle of each arm from the reference\n"
    "      --arms N          or how many arms, evenly spaced (with --deviation, or a\n"
    "                        photo that does not show all); as many as it shows, or 1\n"
    "      --deviation DEG   how far the arm in use is off, 45 at most; + lies\n"
    "                        counter-clockwise\n"
    "      --u DEG           standard uncertainty of these angles\n"
    "      --use NAME        the arm in use (the first, or one far nearer to square; with\n"
    "                        --target the one nearest to it)\n"
    "      --turn-over allowed\n"
    "                        the horn may also be turned over\n"
    "      --turn-over PHOTO and this shows it so, on any tooth; of several arms PHOTO:B is\n"
    "                        the one in use; or its angle from the reference, 0 to 360\n"
    "what is wanted\n"
    "      --target DEG      direction from the reference (the nearest square one)\n"
    "      --tolerance DEG   deviation that is good enough (0.5)\n"
    "sub-trim\n"
    "      --scale DEG       degrees per percent, from armsquare trim-scale; + when\n"
    "                        positive percent turns the horn counter-clockwise\n"
    "      --deg-per-us DEG --us-per-percent US\n"
    "                        or degrees per microsecond and microseconds per percent\n"
    "      --step P          smallest change the radio can make, percent (1)\n"
    "      --limit P         more sub-trim than this is warned about, percent (2)\n"
    "reading the photo\n";
static const char help_end[] =
    "answer\n"
    "      --all             every arm on every tooth, not only the best of each\n"
    "      --json            as JSON\n"
    "  -h, --help            this text\n"
    "\n"
    "examples:\n"
    "  armsquare advise horn.jpg --teeth 25 --scale 0.45u0.01\n"
    "  armsquare advise --deviation 6.8u0.1 --teeth 25 --arms 4\n"
    "  armsquare advise --arms 96.8,187.1,276.6,6.9 --u 0.1 --teeth 25\n";

/* ---- The horn ------------------------------------------------------------------------------ */

/* u of a reading: its own, else --u, else unknown. */
static double u_or_default(double own, const struct advise_options *o)
{
    return own > 0 ? own : o->u_deg;
}

static int add_arm(struct advice_question *q, double angle_deg, double u_deg)
{
    if (q->arm_count == SPLINE_MAX_ARMS)
        return fail_usage("--arms: a horn has at most %d arms.", SPLINE_MAX_ARMS);
    struct advice_arm *arm = &q->arms[q->arm_count];
    *arm = (struct advice_arm){.angle_deg = direction_normal(angle_deg), .u_deg = u_deg};
    arm->name[0] = (char)('A' + q->arm_count);
    for (int i = 0; i < q->arm_count; i++) {
        double gap_deg = fabs(direction_turn(q->arms[i].angle_deg - angle_deg));
        if (gap_deg < MIN_ARM_GAP_DEG)
            return fail_usage(
                "--arms: arms %s and %s would lie %.4g degrees apart, nearer than arms "
                "of a horn are; check the angles, and write decimals with a point, "
                "as in 96.8,187.1.",
                q->arms[i].name, arm->name, gap_deg);
    }
    q->arm_count++;
    return EXIT_DONE;
}

/* "90.2,181,269.5u0.1" */
static int arms_from_list(const struct advise_options *o, struct advice_question *q)
{
    char word[64];
    const char *at = o->arms;
    for (;;) {
        size_t length = strcspn(at, ",");
        struct quantity angle;
        if (length >= sizeof word)
            return fail_usage("--arms: \"%s\" is not a list of angles such as 90.2,181,269.5.",
                              o->arms);
        memcpy(word, at, length);
        word[length] = '\0';
        int status = option_quantity("arms", word, QUANTITY_ANGLE, 0, 360, &angle);
        if (status == EXIT_DONE)
            status = add_arm(q, angle.value, u_or_default(angle.u, o));
        if (status != EXIT_DONE || at[length] == '\0')
            return status;
        at += length + 1;
    }
}

/* Is --arms a plain count, such as "4"? An angle alone is written with a point. */
static bool arms_is_count(const struct advise_options *o)
{
    return o->arms && *o->arms && strspn(o->arms, "0123456789") == strlen(o->arms);
}

/* untold: arms that the photo shows besides. */
static int arms_from_count(const struct advise_options *o, struct advice_question *q, int untold)
{
    int count;
    if (!number_parse_whole(o->arms, 1, SPLINE_MAX_ARMS, &count))
        return fail_usage("--arms: %s is no number of arms from 1 to %d; one angle alone is "
                          "written with a point, such as 92.0.",
                          o->arms, SPLINE_MAX_ARMS);
    if (count == q->arm_count + untold && untold == 0)
        return EXIT_DONE;
    if (count < q->arm_count + untold)
        return fail_usage("the photo shows %d arms already: leave out --arms, or count them all.",
                          q->arm_count + untold);
    if (!advice_assume_even_arms(q, count))
        return fail_usage("arms %s to %s in the photo do not lie as those of %d evenly spaced ones "
                          "do: count the arms again, or take a photo in which no arm is "
                          "hidden.",
                          q->arms[0].name, q->arms[q->arm_count - 1].name, count);
    return EXIT_DONE;
}

/* Only how far off is known: the wanted direction may as well be called 90. */
static int arms_from_deviation(const struct advise_options *o, struct advice_question *q)
{
    if (o->arms && !arms_is_count(o))
        return fail_usage("the angles in --arms already tell the deviation: leave out one of "
                          "--deviation and --arms, or give --arms a plain number of arms.");
    if (o->have_target)
        return fail_usage("--deviation is counted from the wanted direction already: leave out "
                          "--target.");
    q->wanted_deg = 90;
    int status = add_arm(q, q->wanted_deg + o->deviation.value, u_or_default(o->deviation.u, o));
    return status == EXIT_DONE && o->arms ? arms_from_count(o, q, 0) : status;
}

/* The deviation is that of the arm in use: the others, evenly spaced, lie where they do from it. */
static void move_deviation_to(struct advice_question *q, int used)
{
    const double back_deg = q->arms[0].angle_deg - q->arms[used].angle_deg;
    for (int i = 0; i < q->arm_count; i++) {
        q->arms[i].angle_deg = direction_normal(q->arms[i].angle_deg + back_deg);
        q->arms[i].assumed = i != used;
    }
}

static int find_arm(const char *name, const struct advice_question *q)
{
    for (int i = 0; i < q->arm_count; i++)
        if (strcasecmp(q->arms[i].name, name) == 0)
            return i;
    return -1;
}

/* Those that were read, which stand first. */
static int read_arms(const struct advice_question *q)
{
    int n = 0;
    while (n < q->arm_count && !q->arms[n].assumed)
        n++;
    return n;
}

static int nearest_arm(const struct advice_question *q, double deg)
{
    int nearest = 0;
    for (int i = 1; i < read_arms(q); i++)
        if (fabs(direction_turn(q->arms[i].angle_deg - deg)) <
            fabs(direction_turn(q->arms[nearest].angle_deg - deg)))
            nearest = i;
    return nearest;
}

/* Without a word about it: the one that measure speaks of first. */
static int likeliest_arm(const struct advice_question *q)
{
    double off_deg[SPLINE_MAX_ARMS];
    for (int i = 0; i < q->arm_count; i++)
        off_deg[i] = direction_deviation(q->arms[i].angle_deg);
    return order_first(off_deg, read_arms(q));
}

/* An arm that the photo does not show. */
static int refuse_arm(const struct advise_options *o, const struct advice_question *q)
{
    return photo_arms_missing(o->photo, q->arms[0].name, q->arms[read_arms(q) - 1].name, o->use,
                              o->json);
}

/* Whether nobody can know to which square the arm in use is to go, as "measure" has it. */
static bool is_half_way(const struct advice_question *q)
{
    const struct advice_arm *arm = &q->arms[q->used];
    const double expanded = uncertainty_expand((struct uncertainty){arm->u_deg, INFINITY});
    const struct order_question question = {q->unsure, true, direction_deviation(arm->angle_deg),
                                            expanded, q->tolerance_deg};
    return order_make(&question) == ORDER_HALF_WAY;
}

/* Which arm is in use, and where it is to point. */
static int choose_arm(const struct advise_options *o, struct advice_question *q)
{
    if (o->use) {
        q->used = find_arm(o->use, q);
        if (o->photo && (q->used < 0 || q->arms[q->used].assumed))
            return refuse_arm(o, q);
        if (q->used < 0)
            return fail_usage("there is no arm \"%s\"; this horn has arms %s to %s.", o->use,
                              q->arms[0].name, q->arms[q->arm_count - 1].name);
        if (o->have_deviation)
            move_deviation_to(q, q->used);
    } else if (o->have_target) {
        q->used = nearest_arm(q, o->target.value);
    } else if (!o->have_deviation) {
        q->used = likeliest_arm(q);
    }
    q->wanted_named = o->have_target;
    if (o->have_target) {
        q->wanted_deg = direction_normal(o->target.value);
        q->wanted_u_deg = o->target.u;
    } else if (!o->have_deviation) {
        q->wanted_deg = direction_square(q->arms[q->used].angle_deg);
        q->half_way = is_half_way(q);
    }
    return EXIT_DONE;
}

/* The horn turned over in a photo of its own; name: the arm in use, "" where it shows no other. */
static int read_turned(const struct advise_options *o, const char *path, const char *name,
                       struct quantity *out)
{
    struct vision_result turned;
    if (o->measure.have_hint || o->measure.options.have_arm_hint ||
        o->measure.options.reference != VISION_REFERENCE_CARD)
        return fail_usage("--turn-over takes a photo where the card is the reference, without "
                          "--hint and --arm, which belong to the first photo; give the angle "
                          "instead, angle_deg of \"armsquare measure --json\".");
    if (o->photo && same_photo(o->photo, path))
        return fail_usage("--turn-over takes another photo, of the horn turned over.");
    const char *trouble = photo_arms_measure(path, &o->measure, &turned);
    if (trouble)
        return photo_arms_refuse_answer(path, &turned, trouble, o->json);
    if (turned.status == VISION_UNSURE)
        return answer_refuse(o->json, "%s: the photo is unsure: %s", path,
                             reason_sentence(turned.reason));
    if (!*name && turned.arm_count + turned.untold_arms > 1)
        return fail_usage("%s shows %d arms: say which of them is the one in use, as in "
                          "--turn-over %s:B; turned over it may go by another letter.",
                          path, turned.arm_count + turned.untold_arms, path);
    int at = *name ? photo_arms_find(&turned, name) : 0;
    if (at < 0)
        return photo_arms_missing(path, turned.arms[0].name, turned.arms[turned.arm_count - 1].name,
                                  name, o->json);
    *out = (struct quantity){turned.arms[at].angle_deg, arm_normal_u_deg(&turned.arms[at])};
    return EXIT_DONE;
}

static int take_turn_over(const struct advise_options *o, struct advice_question *q,
                          struct advice_source *source)
{
    if (!o->turn_over)
        return EXIT_DONE;
    if (strcmp(o->turn_over, "allowed") == 0) {
        source->could_turn_over = true;
        return EXIT_DONE;
    }
    struct quantity angle;
    char path[PHOTO_PATH];
    const char *name;
    bool number = quantity_parse(o->turn_over, QUANTITY_ANGLE, &angle) == QUANTITY_FINE;
    bool photo =
        !number && photo_arms_word(o->turn_over, path, &name) && photo_arms_like_file(path);
    if (number ? fabs(angle.value) > 360 : !photo)
        return fail_usage("--turn-over is \"allowed\", or a photo of the horn turned over, or the "
                          "angle of the arm in use in it, 0 to 360, not \"%s\".",
                          o->turn_over);
    if (!source->arms_have_angles)
        return fail_usage("--turn-over with a photo or an angle needs the angles of the arms too: "
                          "a photo, or --arms.");
    int status = photo ? read_turned(o, path, name, &angle) : EXIT_DONE;
    if (status != EXIT_DONE)
        return status;
    q->may_turn_over = true;
    q->turned_deg = direction_normal(angle.value);
    q->turned_u_deg = angle.u > 0 ? angle.u : q->arms[q->used].u_deg;
    source->turned_by_number = number;
    return EXIT_DONE;
}

static struct advice_scale scale_of(const struct advise_options *o)
{
    if (o->have_scale)
        return (struct advice_scale){true, o->scale.value, {o->scale.u, INFINITY}};
    if (!o->have_deg_per_us)
        return (struct advice_scale){.u.dof = INFINITY};
    double a = o->deg_per_us.value;
    double b = o->us_per_percent.value;
    const struct uncertainty terms[] = {{b * o->deg_per_us.u, INFINITY},
                                        {a * o->us_per_percent.u, INFINITY}};
    return (struct advice_scale){true, a * b, uncertainty_combine(terms, 2)};
}

/* result: of the photo. */
static int arms_from_photo(const struct advise_options *o, struct advice_question *q,
                           struct advice_source *source, struct vision_result *result)
{
    if (o->have_deviation || (o->arms && !arms_is_count(o)))
        return fail_usage("the photo tells the angles: leave out --deviation, and --arms but for "
                          "a plain number of arms.");
    const char *trouble = photo_arms_measure(o->photo, &o->measure, result);
    if (trouble)
        return photo_arms_refuse_answer(o->photo, result, trouble, o->json);
    source->photo = o->photo;
    q->from = reference_to(result->reference);
    q->link_swings = result->reference == VISION_REFERENCE_LINK;
    if (result->status == VISION_UNSURE) {
        q->unsure = true;
        source->unsure = reason_sentence(result->reason);
        source->unsure_code = vision_reason_code(result->reason);
    }
    for (int i = 0; i < result->arm_count && i < SPLINE_MAX_ARMS; i++) {
        const struct vision_arm *arm = &result->arms[i];
        q->arms[i] =
            (struct advice_arm){.angle_deg = arm->angle_deg, .u_deg = arm_normal_u_deg(arm)};
        snprintf(q->arms[i].name, sizeof q->arms[i].name, "%s", arm->name);
        q->arm_count = i + 1;
    }
    return o->arms ? arms_from_count(o, q, result->untold_arms) : EXIT_DONE;
}

/* "96,8,187,1" may be two arms with decimals as well as four; an arm at a single whole degree is
 * rare, a decimal digit is not. */
static bool may_be_decimal_comma(const char *arms)
{
    if (strchr(arms, '.'))
        return false;
    for (const char *comma = strchr(arms, ','); comma; comma = strchr(comma + 1, ','))
        if (comma[1] >= '0' && comma[1] <= '9' && !(comma[2] >= '0' && comma[2] <= '9'))
            return true;
    return false;
}

static int gather_arms(const struct advise_options *o, struct advice_question *q,
                       struct advice_source *source, struct vision_result *result)
{
    source->arms_have_angles = !o->have_deviation;
    source->arms_by_default = !o->arms;
    source->arm_by_default = !o->use && !o->have_target && !o->have_deviation;
    if (o->photo)
        return arms_from_photo(o, q, source, result);
    if (o->have_deviation)
        return arms_from_deviation(o, q);
    if (!o->arms)
        return fail_usage("give a photo, or the angles of the arms (--arms 96.8,187.1), or how "
                          "far the arm is off (--deviation 6.8).");
    if (arms_is_count(o))
        return fail_usage("a number of arms needs --deviation or a photo beside it; one angle "
                          "alone is written with a point, such as --arms 92.0.");
    if (may_be_decimal_comma(o->arms))
        return fail_usage("--arms: \"%s\" may be written with decimal commas; use a point in each "
                          "angle, as in 96.8,187.1, and in a whole one too, as in 8.0.",
                          o->arms);
    return arms_from_list(o, q);
}

/* As "measure" says it of the same photo. */
static void tell_undecided(const struct advice_question *q, const struct vision_result *result,
                           struct advice_source *source)
{
    const struct verdict_asked asked = {q->tolerance_deg, true, q->wanted_deg};
    struct verdict verdict;
    if (q->used >= result->arm_count || !(q->tolerance_deg > 0) || q->wanted_u_deg > 0)
        return; /* a photo is not all that it hangs on */
    verdict_make(&result->arms[q->used], 1, q->unsure, result->obliquity_deg,
                 sharpen_closer(result), false, &asked, &verdict);
    if (verdict.order == ORDER_CANNOT_TELL)
        verdict_undecided(&verdict, source->undecided);
}

static int put_question(const struct advise_options *o, struct advice_question *q,
                        struct vision_result *result, struct advice_source *source)
{
    *q = advice_question_default();
    q->teeth = o->teeth;
    q->tolerance_deg = o->tolerance_deg;
    q->step_percent = o->step_percent;
    q->limit_percent = o->limit_percent;
    q->scale = scale_of(o);
    source->list_all = o->all;
    int status = gather_arms(o, q, source, result);
    if (status == EXIT_DONE)
        status = choose_arm(o, q);
    if (status == EXIT_DONE)
        tell_undecided(q, result, source);
    return status == EXIT_DONE ? take_turn_over(o, q, source) : status;
}

static int print_json(const struct advice_question *q, const struct advice *advice,
                      const struct advice_source *source)
{
    return answer_print_json(advice_to_json(q, advice, source),
                             JSON_INDENT(2) | JSON_REAL_PRECISION(10));
}

int cmd_advise(int argc, char **argv)
{
    struct advise_options o;
    int status = advise_options_parse(argc, argv, &o);
    if (status < 0) {
        printf("%s%s%s", help_start, measure_options_help, help_end);
        return EXIT_DONE;
    }
    struct advice_question question;
    struct vision_result result = {0};
    struct advice_source source = {.result = &result};
    if (status == EXIT_DONE)
        status = put_question(&o, &question, &result, &source);
    if (status != EXIT_DONE)
        return status;
    struct advice advice;
    if (!advice_make(&question, &advice))
        return fail_trouble("there is not enough memory to rank the positions.");
    if (o.json)
        status = print_json(&question, &advice, &source);
    else
        advice_print(stdout, &question, &advice, &source);
    advice_clear(&advice);
    return status;
}
