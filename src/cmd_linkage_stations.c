/* armsquare linkage parallel, level and angle: stations that are not simply square. */
#include "advice.h"
#include "answer.h"
#include "cmd_linkage.h"
#include "cmd_linkage_common.h"
#include "commands.h"
#include "linkage_words.h"
#include "message.h"
#include "plus_minus.h"
#include "station.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* ---- parallel -------------------------------------------------------------------------------- */

static const char parallel_help[] =
    "usage: armsquare linkage parallel FIRST SECOND [more]\n"
    "\n"
    "Two arms that must be parallel, such as a crank and its horn: the angle between them, and "
    "the\n"
    "turns of the first one's link. Both in one photo, or in two photos of one reference.\n"
    "FIRST and SECOND are degrees (\"91.3 u 0.2\") or photos (\"crank.jpg\", \"both.jpg:B\").\n"
    "\n"
    "      --reference-u D   two photos: standard uncertainty of setting up the reference, each "
    "time\n"
    "      --tolerance D     degrees that do not matter (0.5)\n" LINK_HELP
    "  -o, --output FILE     a drawing; .svg, .pdf or .png\n"
    "      --json            as JSON\n"
    "      --help            this text\n" PHOTO_HELP "\n"
    "example:\n"
    "  armsquare linkage parallel \"92.1 u 0.2\" \"90.4 u 0.2\" --arm 13.5 --thread M2\n";

int cmd_linkage_parallel(int argc, char **argv)
{
    struct link_words words = link_words_default();
    struct linkage_photos photos = linkage_photos_start();
    struct quantity angles[2] = {{0}};
    double tolerance = ADVICE_TOLERANCE_DEG, reference_u = 0;
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
                         &photos, angles);
    if (status != EXIT_DONE)
        return status;
    struct deviation deviation = judge_deviation(
        "First arm against the second", station_parallel(angles[0], angles[1], reference_u),
        tolerance, &photos, &words);
    struct linkage_dial dial = {.title = "Parallel arms"};
    dial_add(&dial, "first arm", angles[0].value, plot_ink, false);
    dial_add(&dial, "second arm", angles[1].value, plot_low, true);
    dial_deviation(&dial, 0, &deviation);
    if ((status = write_dial(output, &dial)) != EXIT_DONE)
        return status;
    return answer_deviation(&deviation, json);
}

/* ---- level ----------------------------------------------------------------------------------- */

static const char level_help[] =
    "usage: armsquare linkage level ANGLE [--span L] [more]\n"
    "\n"
    "The edge of a plate or disc against the reference: how far from level, and by how much one\n"
    "end has to come up. ANGLE is degrees (\"0.8 u 0.1\") or a photo.\n"
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
    linkage_say_turns(ends, &found, turns, sizeof turns);
    snprintf(text + length, size - (size_t)length, " If a longer link lifts it: %s.%s", turns,
             linkage_many_turns(&found));
}

/* Beyond half a square it is the upright edge of the part, or another arm: nothing to raise. */
static int refuse_upright(double off_deg)
{
    return fail_unusable("this edge stands %.1f degrees from level, nearer to upright; give the "
                         "angle of the edge that should lie level.",
                         fabs(off_deg));
}

int cmd_linkage_level(int argc, char **argv)
{
    struct thread_ends ends = link_ends_default();
    struct linkage_photos photos = linkage_photos_start();
    struct quantity edge = {0, 0}, span = {0, 0};
    const char *output = NULL;
    double tolerance = ADVICE_TOLERANCE_DEG;
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
    if ((status = check_drawing(output)) != EXIT_DONE)
        return status;
    status = read_angles(&values, 1,
                         "give the edge's angle, a number or a photo, for example "
                         "\"0.8 u 0.1\".",
                         &photos, &edge);
    if (status != EXIT_DONE)
        return status;
    struct quantity off = station_level(edge), rise = station_rise(off, span);
    if (photos.unsure_count == 0 && fabs(off.value) > 45)
        return refuse_upright(off.value);
    struct deviation deviation = judge_deviation("Edge", off, tolerance, &photos, NULL);
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

/* ---- angle ----------------------------------------------------------------------------------- */

static const char angle_help[] =
    "usage: armsquare linkage angle [NAME=]WANTED:MEASURED ... [more]\n"
    "\n"
    "An arm at wanted angles other than square, such as a throttle arm at idle, half and full.\n"
    "WANTED is degrees; MEASURED is degrees (\"47.2 u 0.3\") or a photo.\n"
    "\n"
    "      --tolerance D     degrees that do not matter (0.5)\n" LINK_HELP
    "  -o, --output FILE     a drawing; .svg, .pdf or .png\n"
    "      --json            as JSON, a list\n"
    "      --help            this text\n" PHOTO_HELP "\n"
    "example:\n"
    "  armsquare linkage angle idle=45:\"47.2 u 0.3\" half=90:90.4u0.3 full=135:133.1u0.3\n";

struct wanted {
    char name[40];
    struct quantity wanted, measured;
    struct linkage_photos photos; /* those of this angle alone */
};

/* Takes "idle=45:47.2 u 0.3" apart; the name is "Arm" when there is none. */
static int read_wanted(const char *word, struct wanted *out)
{
    char text[64];
    const char *equals = strchr(word, '='), *start = equals ? equals + 1 : word;
    const char *colon = strchr(start, ':');
    if (!colon || (size_t)(colon - start) >= sizeof text ||
        (equals && (size_t)(equals - word) >= sizeof out->name))
        return fail_usage("\"%s\" must look like 45:47.2 or idle=45:47.2 (wanted, then measured).",
                          word);
    snprintf(out->name, sizeof out->name, "%.*s", equals ? (int)(equals - word) : 3,
             equals ? word : "Arm");
    snprintf(text, sizeof text, "%.*s", (int)(colon - start), start);
    enum quantity_fault fault = quantity_parse(text, QUANTITY_ANGLE, &out->wanted);
    if (fault != QUANTITY_FINE)
        return fail_usage("wanted angle \"%s\" %s.", text, quantity_fault_says(fault));
    if (linkage_check_angle(text, out->wanted.value) != EXIT_DONE)
        return EXIT_USAGE;
    return linkage_angle_read(colon + 1, &out->photos, &out->measured);
}

struct angle_words {
    struct link_words link;
    struct linkage_photos photos;
    double tolerance;
    const char *output;
    bool json, help;
    struct linkage_option_list values;
    struct wanted wanted[LINKAGE_OPTION_MOST];
};

static int read_angle_words(int argc, char **argv, struct angle_words *words)
{
    const struct linkage_option table[] = {
        LINK_OPTIONS(&words->link),
        PHOTO_OPTIONS(&words->photos),
        {"tolerance", OPTION_SIZE, QUANTITY_ANGLE, &words->tolerance},
        {"output", OPTION_TEXT, QUANTITY_NUMBER, &words->output},
        {"json", OPTION_FLAG, QUANTITY_NUMBER, &words->json},
    };
    int status =
        linkage_options_read(argc, argv, table, COUNT(table), &words->values, &words->help);
    if (status != EXIT_DONE || words->help)
        return status;
    if ((status = link_words_finish(&words->link)) != EXIT_DONE ||
        (status = check_drawing(words->output)) != EXIT_DONE)
        return status;
    if (words->values.count == 0)
        return fail_usage("give at least one wanted and measured angle, for example idle=45:47.2.");
    for (int i = 0; i < words->values.count && status == EXIT_DONE; i++) {
        words->wanted[i].photos = words->photos;
        status = read_wanted(words->values.items[i], &words->wanted[i]);
    }
    return status;
}

/* Each angle in a colour of its own, in turn. */
static const struct plot_colour *angle_colour(int i)
{
    static const struct plot_colour *const colours[] = {&plot_low, &plot_ink, &plot_high};
    return colours[i % 3];
}

static void draw_angles(const struct angle_words *words, struct linkage_dial *dial)
{
    for (int i = 0; i < words->values.count; i++) {
        char text[80];
        const struct wanted *w = &words->wanted[i];
        dial_add(dial, w->name, w->measured.value, *angle_colour(i), false);
        snprintf(text, sizeof text, "%s wanted", w->name);
        dial_add(dial, text, w->wanted.value, *angle_colour(i), true);
    }
}

int cmd_linkage_angle(int argc, char **argv)
{
    struct angle_words words = {.link = link_words_default(),
                                .photos = linkage_photos_start(),
                                .tolerance = ADVICE_TOLERANCE_DEG};
    struct linkage_dial dial = {.title = "Wanted angles"};
    int status = read_angle_words(argc, argv, &words);
    if (status != EXIT_DONE)
        return status;
    if (words.help)
        return answer_print_help(angle_help);
    draw_angles(&words, &dial);
    json_t *list = json_array();
    for (int i = 0; i < words.values.count; i++) {
        const struct wanted *w = &words.wanted[i];
        struct deviation deviation = judge_deviation(w->name, station_off(w->measured, w->wanted),
                                                     words.tolerance, &w->photos, &words.link);
        json_t *object = json_pack("{s:s}", "name", w->name);
        add_deviation(object, &deviation);
        json_array_append_new(list, object);
        char text[LINKAGE_DIAL_TEXT];
        snprintf(text, sizeof text, "%.40s: %s", w->name, deviation.action);
        linkage_dial_say(&dial, text);
        if (!words.json)
            print_deviation(&deviation);
    }
    status = write_dial(words.output, &dial);
    if (words.json && status == EXIT_DONE)
        return answer_json(list);
    json_decref(list);
    return status;
}
