/* armsquare linkage parallel, level and angle: stations that are not simply square. */
#include "advice/advice.h"
#include "arithmetic/direction.h"
#include "arithmetic/plus_minus.h"
#include "arithmetic/station.h"
#include "base/answer.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "cmd_linkage.h"
#include "cmd_linkage_common.h"
#include "linkage/linkage_words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* ---- parallel -------------------------------------------------------------------------------- */

static const char parallel_help[] =
    "usage: armsquare linkage parallel FIRST SECOND [more]\n"
    "\n"
    "Two arms that must be parallel, first the horn, second the crank that its link turns: the\n"
    "angle between them, and the turns of the link that bring the second one home. FIRST and\n"
    "SECOND are degrees (\"91.3 u 0.2\") or photos: two of one reference, or one of both parts in\n"
    "which each is pointed at (\"both.jpg:X,Y,X,Y\").\n"
    "\n"
    "      --reference-u D   two photos: standard uncertainty of setting up the reference, each "
    "time\n"
    "      --tolerance D     degrees that do not matter (0.5)\n" LINK_HELP
    "  -o, --output FILE     a drawing; .svg, .pdf or .png\n"
    "      --json            as JSON\n"
    "      --help            this text\n" PHOTO_HELP "\n"
    "example:\n"
    "  armsquare linkage parallel \"90.4 u 0.2\" \"92.1 u 0.2\" --arm 13.5 --thread M2\n";

/* Arms that a photo names are all of one part. */
static bool are_of_one_part(const struct linkage_photos *photos)
{
    const struct linkage_reading *one = &photos->readings[0], *other = &photos->readings[1];
    return photos->reading_count == 2 && !one->pointed && !other->pointed &&
           linkage_words_same_photo(one->word, other->word);
}

int cmd_linkage_parallel(int argc, char **argv)
{
    struct link_words words = link_words_default();
    struct linkage_photos_room room;
    struct linkage_photos photos = linkage_photos_start(&room);
    struct quantity angles[2] = {{0}};
    double tolerance = DECISION_USUAL_DEG, reference_u = 0;
    const char *output = NULL;
    bool json = false;
    struct linkage_option_list values = {0};
    const struct linkage_option table[] = {
        LINK_OPTIONS(&words),
        PHOTO_OPTIONS(&photos),
        {"tolerance", OPTION_SIZE, QUANTITY_ANGLE, &tolerance},
        {"reference-u", OPTION_SIZE, QUANTITY_ANGLE, &reference_u},
        {"output", OPTION_TEXT, QUANTITY_NUMBER, &output},
        {"json", OPTION_FLAG, QUANTITY_NUMBER, &json},
    };
    int status;
    if (!linkage_options_begin(argc, argv, table, COUNT(table), &values, parallel_help, &status))
        return status;
    if ((status = link_words_finish(&words)) != EXIT_DONE)
        return status;
    if ((status = check_drawing(output)) != EXIT_DONE)
        return status;
    status = read_angles(&values, 2, "give two angles, numbers or photos, for example 92.1 90.4.",
                         NULL, &photos, angles);
    if (status != EXIT_DONE)
        return status;
    if (are_of_one_part(&photos))
        return fail_usage("\"%s\" and \"%s\" are arms of one part, which are parallel as they were "
                          "made: give a photo of each part, or point at both (both.jpg:X,Y,X,Y).",
                          values.items[0], values.items[1]);
    struct quantity apart = station_parallel(angles[1], angles[0], reference_u);
    words.arm.name = "the second arm";
    photos.share = M_SQRT2; /* station_parallel() */
    if (photos.unsure_count == 0 && !station_parallel_fits(apart))
        return fail_unusable(
            "these two arms lie %.1f degrees from parallel. Check that both belong "
            "to the link, and name them (both.jpg:B) where a photo shows others; "
            "what lies so far off is brought near by eye first.",
            fabs(apart.value));
    struct deviation deviation =
        judge_deviation("Second arm against the first", apart, tolerance, &photos, &words);
    struct linkage_dial dial = {.title = "Parallel arms"};
    dial_add(&dial, "second arm", angles[1].value, plot_ink, false);
    dial_add(&dial, "first arm", angles[0].value, plot_low, true);
    dial_deviation(&dial, 0, &deviation);
    if ((status = write_dial(output, &dial)) != EXIT_DONE)
        return status;
    return answer_deviation(&deviation, json);
}

/* ---- level ----------------------------------------------------------------------------------- */

static const char level_help[] =
    "usage: armsquare linkage level ANGLE [--span L] [more]\n"
    "\n"
    "The edge of a plate or disc against the reference, level or (a shaft) upright: how far from\n"
    "level, and by how much one end has to come up, seen with the shaft upright. ANGLE is\n"
    "degrees (\"0.8 u 0.1\") or a photo.\n"
    "\n"
    "      --span L          between the two points where the edge is held, mm\n"
    "      --tolerance D     degrees that do not matter (0.5)\n"
    "      --thread T, --far-thread T, --fits-every S, --turnbuckle    of the link under the low\n"
    "                        end, as for turns\n"
    "  -o, --output FILE     a drawing; .svg, .pdf or .png\n"
    "      --json            as JSON\n"
    "      --help            this text\n" PHOTO_HELP "\n"
    "example:\n"
    "  armsquare linkage level \"0.8 u 0.1\" --span 64 --thread M2.5\n";

/* "raise the left end by 0.89 mm" and, with a thread, the turns that do it. */
static void say_raise(struct quantity rise_mm, const struct thread_ends *ends, char *text,
                      size_t size)
{
    char rise[PLUS_MINUS_WORDS], turns[200];
    const char *low_end = rise_mm.value > 0 ? "left" : "right";
    struct thread_turns found;
    int length = snprintf(text, size, "raise the %s end by %s.", low_end,
                          plus_minus_quantity(quantity_size(rise_mm), 2, "mm", rise));
    if (length < 0 || (size_t)length >= size ||
        !thread_turns_for(ends, fabs(rise_mm.value), &found))
        return;
    if (thread_turns_none(&found)) {
        snprintf(text + length, size - (size_t)length,
                 " The smallest turn of the link that fits, %.2f mm, is too coarse for it.",
                 found.smallest_mm);
        return;
    }
    linkage_say_turns(ends, &found, turns, sizeof turns);
    snprintf(text + length, size - (size_t)length, " If a longer link lifts it: %s.%s", turns,
             linkage_many_turns(&found));
}

int cmd_linkage_level(int argc, char **argv)
{
    struct thread_ends ends = link_ends_default();
    struct linkage_photos_room room;
    struct linkage_photos photos = linkage_photos_start(&room);
    struct quantity edge = {0, 0}, span = {0, 0};
    const char *output = NULL;
    double tolerance = DECISION_USUAL_DEG;
    bool json = false;
    struct linkage_option_list values = {0};
    const struct linkage_option table[] = {
        LINK_END_OPTIONS(&ends),
        PHOTO_OPTIONS(&photos),
        {"span", OPTION_POSITIVE, QUANTITY_LENGTH, &span},
        {"output", OPTION_TEXT, QUANTITY_NUMBER, &output},
        {"tolerance", OPTION_SIZE, QUANTITY_ANGLE, &tolerance},
        {"json", OPTION_FLAG, QUANTITY_NUMBER, &json},
    };
    int status;
    if (!linkage_options_begin(argc, argv, table, COUNT(table), &values, level_help, &status))
        return status;
    if ((status = check_link_ends(&ends)) != EXIT_DONE ||
        (status = check_drawing(output)) != EXIT_DONE)
        return status;
    status = read_angles(&values, 1,
                         "give the edge's angle, a number or a photo, for example "
                         "\"0.8 u 0.1\".",
                         NULL, &photos, &edge);
    if (status != EXIT_DONE)
        return status;
    struct quantity off = station_level(edge), rise = station_rise(off, span);
    if (photos.unsure_count == 0 && !station_level_fits(off))
        return fail_unusable("this edge stands at %.1f degrees; " STATION_LEVEL_SAYS, edge.value);
    bool across = fabs(direction_wrap(edge.value, 180)) > 45;
    struct deviation deviation = judge_deviation(across ? "Edge, across the reference" : "Edge",
                                                 off, tolerance, &photos, NULL);
    if (span.value > 0 && deviation.decision == DECISION_REJECT)
        say_raise(rise, &ends, deviation.action, sizeof deviation.action);
    struct linkage_dial dial = {.title = "Level edge"};
    dial_add(&dial, "edge", off.value, plot_ink, false);
    dial.rays[0].edge = true;
    dial_deviation(&dial, 0, &deviation);
    if ((status = write_dial(output, &dial)) != EXIT_DONE)
        return status;
    if (!json)
        return answer_deviation(&deviation, false);
    json_t *object = json_object();
    add_deviation(object, &deviation);
    if (span.value > 0)
        json_object_set_new(object, "right_end_higher_mm", linkage_quantity_json(rise));
    return answer_json(object);
}
