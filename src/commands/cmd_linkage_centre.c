/* armsquare linkage centre: a part at both ends and at neutral. */
#include "advice/advice.h"
#include "arithmetic/number.h"
#include "arithmetic/plus_minus.h"
#include "arithmetic/station.h"
#include "base/answer.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "cmd_linkage.h"
#include "cmd_linkage_common.h"
#include "linkage/centre_ends.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))
/* What end points usually may be set to; common practice, no source. */
#define USUAL_LIMIT_PERCENT 150.0

static const char centre_help[] =
    "usage: armsquare linkage centre FIRST-END SECOND-END NEUTRAL [more]\n"
    "\n"
    "A part photographed at one end, the other end and neutral: does neutral lie in the middle,\n"
    "what puts it there, which end points give equal throws, and does it run into a stop. Angles\n"
    "are degrees (\"91.3 u 0.2\") or photos.\n"
    "\n"
    "      --ends servo|stops\n"
    "                        what made both ends. With its link off its ball, the part goes\n"
    "                        further by hand: servo. It does not: stops. A turn of the link moves\n"
    "                        the servo's ends along with neutral, and the part's own stops never;\n"
    "                        so turns are told only with stops\n"
    "      --tolerance D     degrees off the middle that do not matter (0.5)\n" LINK_HELP
    "      --first-percent N the radio's end point while the first end was photographed (100)\n"
    "      --second-percent N\n"
    "                        the same for the second end (100)\n"
    "      --step N          whole steps of the radio, percent (1)\n"
    "      --limit N         largest end point of the radio, percent (150)\n"
    "      --throw D         throw wanted to each side; without it: that of the smaller side\n"
    "      --scale N         degrees of the part per percent near neutral, and how well they are\n"
    "                        known (\"0.38 u 0.01\"): tells a part that runs into its stop from "
    "one\n"
    "                        that throws unequally\n"
    "      --at PERCENT:ANGLE\n"
    "                        more readings on the way to the ends, to find the stop; repeat it,\n"
    "                        each percent once.\n"
    "                        PERCENT is positive towards the first end, negative towards the\n"
    "                        second\n"
    "  -o, --output FILE     a drawing; .svg, .pdf or .png\n"
    "      --json            as JSON\n"
    "      --help            this text\n" PHOTO_HELP "\n"
    "example:\n"
    "  armsquare linkage centre \"51.0 u 0.2\" \"128.4 u 0.2\" \"91.2 u 0.2\" --arm 14 --thread "
    "M2\n";

struct centre_words {
    struct link_words link;
    struct linkage_photos photos;
    double tolerance;
    struct station_ends_question ends;
    struct quantity scale; /* value NAN: not known */
    const char *ends_word; /* of --ends; NULL: not said */
    enum centre_ends ends_are;
    struct linkage_option_list values, at;
    const char *output;
    bool json, help;
};

static int read_centre_options(int argc, char **argv, struct centre_words *words)
{
    const struct linkage_option table[] = {
        LINK_OPTIONS(&words->link),
        PHOTO_OPTIONS(&words->photos),
        {"tolerance", OPTION_SIZE, QUANTITY_ANGLE, &words->tolerance},
        {"first-percent", OPTION_NUMBER, QUANTITY_PERCENT, &words->ends.first_percent},
        {"second-percent", OPTION_NUMBER, QUANTITY_PERCENT, &words->ends.second_percent},
        {"step", OPTION_NUMBER, QUANTITY_PERCENT, &words->ends.step_percent},
        {"limit", OPTION_NUMBER, QUANTITY_PERCENT, &words->ends.limit_percent},
        {"throw", OPTION_SIZE, QUANTITY_ANGLE, &words->ends.wanted_deg},
        {"scale", OPTION_QUANTITY, QUANTITY_NUMBER, &words->scale},
        {"ends", OPTION_TEXT, QUANTITY_NUMBER, &words->ends_word},
        {"at", OPTION_LIST, QUANTITY_NUMBER, &words->at},
        {"output", OPTION_TEXT, QUANTITY_NUMBER, &words->output},
        {"json", OPTION_FLAG, QUANTITY_NUMBER, &words->json},
    };
    int status =
        linkage_options_read(argc, argv, table, COUNT(table), &words->values, &words->help);
    if (status != EXIT_DONE || words->help)
        return status;
    const struct station_ends_question *q = &words->ends;
    if ((status = linkage_check_percent("first-percent", q->first_percent)) != EXIT_DONE ||
        (status = linkage_check_percent("second-percent", q->second_percent)) != EXIT_DONE ||
        (status = linkage_check_percent("limit", q->limit_percent)) != EXIT_DONE ||
        (status = linkage_check_step(q->step_percent)) != EXIT_DONE)
        return status;
    if (!isnan(words->scale.value))
        status = linkage_check_scale("scale", words->scale.value);
    if (words->ends_word && !centre_ends_parse(words->ends_word, &words->ends_are))
        return fail_usage("--ends must be servo or stops (what made both ends of the travel), not "
                          "\"%s\".",
                          words->ends_word);
    if (status == EXIT_DONE)
        status = link_words_finish(&words->link);
    return status == EXIT_DONE ? check_drawing(words->output) : status;
}

/* Where the part runs into its stop, first side and second side. */
struct stops {
    struct station_stop side[2];
    bool looked[2];   /* enough readings or a scale to tell */
    bool bare_scale;  /* there is one, and nobody knows how good it is */
    bool bare_angles; /* as with an angle; then neither readings nor scale tell */
};

_Static_assert(LINKAGE_MOST_READINGS <= STATION_MOST_READINGS, "none is left out");

/* The three angles come first. */
enum { FIRST_END, SECOND_END, NEUTRAL, ANGLES };
struct readings {
    struct station_reading of[LINKAGE_MOST_READINGS];
    size_t count;
};

/* A stop is looked for from percent to percent: two readings at one would switch that off, and
 * which of them is right nobody can tell. */
static int check_once(const char *percent, double value, const struct readings *readings)
{
    static const char *const names[ANGLES] = {"the first end, the first",
                                              "the second end, the second", "neutral, the third"};
    for (size_t i = 0; i < readings->count; i++)
        if (value == readings->of[i].percent)
            return i < ANGLES
                       ? fail_usage("--at %s: that is %s angle, which is given already. Leave "
                                    "this one out, or give the reading as that angle.",
                                    percent, names[i])
                       : fail_usage("--at %s is given twice. Of two readings at one percent "
                                    "leave the worse one out.",
                                    percent);
    return EXIT_DONE;
}

static int read_at(const char *word, struct linkage_photos *photos, struct readings *readings)
{
    struct station_reading *out = &readings->of[readings->count];
    char percent[32];
    const char *colon = strchr(word, ':');
    if (!colon || (size_t)(colon - word) >= sizeof percent)
        return fail_usage("--at \"%s\" must look like 50:71.2 (percent, then angle).", word);
    snprintf(percent, sizeof percent, "%.*s", (int)(colon - word), word);
    if (!number_parse(percent, &out->percent) || fabs(out->percent) > LINKAGE_MOST_PERCENT)
        return fail_usage("--at: \"%s\" is not a percent.", percent);
    int status = check_once(percent, out->percent, readings);
    if (status == EXIT_DONE)
        status = linkage_angle_read(colon + 1, NULL, photos, &out->angle);
    readings->count += status == EXIT_DONE;
    return status;
}

/* The three angles are readings too: the first end on the positive side of the scale. */
static int read_more(struct centre_words *words, const struct quantity angles[ANGLES],
                     struct readings *out)
{
    *out =
        (struct readings){.of = {[FIRST_END] = {words->ends.first_percent, angles[FIRST_END]},
                                 [SECOND_END] = {-words->ends.second_percent, angles[SECOND_END]},
                                 [NEUTRAL] = {0, angles[NEUTRAL]}},
                          .count = ANGLES};
    int status = EXIT_DONE;
    for (int i = 0; i < words->at.count && status == EXIT_DONE; i++)
        status = read_at(words->at.items[i], &words->photos, out);
    return status;
}

/* Whether the reading lies surely on the other side of neutral than the end that its percent is
 * towards. */
static bool is_on_wrong_side(const struct station_reading *reading, struct quantity neutral,
                             const struct station_centre *centre)
{
    double towards_first = centre->first_throw.value > 0 ? 1 : -1;
    struct quantity way = station_off(reading->angle, neutral);
    return way.value * towards_first * reading->percent < 0 &&
           fabs(way.value) > quantity_expanded(way);
}

/* A wrong sign would show as a stop. */
static int check_sides(const struct readings *readings, const struct station_centre *centre)
{
    for (size_t i = ANGLES; i < readings->count; i++) {
        const struct station_reading *reading = &readings->of[i];
        bool first = reading->percent > 0;
        if (is_on_wrong_side(reading, readings->of[NEUTRAL].angle, centre))
            return fail_unusable("--at %g: %.1f degrees lies on the other side of neutral than the "
                                 "%s end; percent is positive towards the first end, negative "
                                 "towards the second.",
                                 reading->percent, reading->angle.value,
                                 first ? "first" : "second");
    }
    return EXIT_DONE;
}

static struct stops find_stops(const struct centre_words *words, const struct readings *readings,
                               const struct station_centre *centre)
{
    bool has_scale = !isnan(words->scale.value);
    struct stops out = {.bare_scale = has_scale && !(words->scale.u > 0),
                        .bare_angles = words->photos.bare && (has_scale || words->at.count > 0)};
    const struct quantity throws[2] = {centre->first_throw, centre->second_throw};
    const double percents[2] = {words->ends.first_percent, -words->ends.second_percent};
    for (int i = 0; i < 2 && !words->photos.bare; i++) {
        out.looked[i] = station_find_stop(readings->of, readings->count, i ? -1 : 1, &out.side[i]);
        if (out.side[i].found || !has_scale || out.bare_scale)
            continue;
        out.looked[i] = true;
        out.side[i] = station_stop_from_scale(throws[i], percents[i], words->scale);
    }
    return out;
}

static void print_short(const char *which, const struct station_stop *stop)
{
    if (stop->found)
        printf(
            "      The %s end runs into its stop before that throw: it is set as far as it goes.\n",
            which);
    else
        printf(
            "      The radio's limit is too small for that throw at the %s end: use a longer horn "
            "or a shorter arm.\n",
            which);
}

static void print_ends(const struct station_ends *ends, const struct stops *stops)
{
    char unequal[PLUS_MINUS_WORDS];
    printf("  Do: set the end points to %.4g %% (first end) and %.4g %% (second end): the throws "
           "are then\n      %.1f and %.1f degrees, unequal by %s.\n",
           ends->first_percent, ends->second_percent, ends->first_throw.value,
           ends->second_throw.value, plus_minus_angle(quantity_size(ends->unequal), unequal));
    if (ends->first_short)
        print_short("first", &stops->side[0]);
    if (ends->second_short)
        print_short("second", &stops->side[1]);
}

/* It falls short as a linkage may. */
static void print_open(const char *name, const struct quantity *lost)
{
    char short_of[PLUS_MINUS_WORDS];
    printf(
        "Stop or linkage at the %s end: cannot tell. The part goes %s less far than --scale lets "
        "expect,\n      as many linkages do towards their ends without a stop. Readings on the "
        "way (--at) tell;\n      until then listen at that end: a servo that hums there pushes "
        "against a stop.\n",
        name, plus_minus_angle(*lost, short_of));
}

static void print_stops(const struct stops *stops, bool ends_told)
{
    static const char *const names[2] = {"first", "second"};
    if (stops->bare_angles)
        puts("Stops: cannot tell, as long as nobody knows how good these numbers are.");
    else if (stops->bare_scale)
        puts("Stops by --scale: cannot tell; write behind it how well it is known, such as "
             "0.38u0.01.");
    for (int i = 0; i < 2; i++) {
        const struct station_stop *stop = &stops->side[i];
        char percent[PLUS_MINUS_WORDS];
        if (!stops->looked[i])
            continue;
        if (stop->open) {
            print_open(names[i], &stop->lost);
            continue;
        }
        if (!stop->found) {
            printf("No sign of a stop on the way to the %s end.\n", names[i]);
            continue;
        }
        printf("Binds on the way to the %s end: from %s on the part does not follow "
               "(%.1f degrees lost).\n",
               names[i], plus_minus_quantity(quantity_size(stop->percent), 0, "%", percent),
               stop->lost.value);
        if (ends_told)
            puts("      The end point above stays below that, before the servo stalls.");
        puts("      With horn or arm more than 5 degrees off square at neutral, or a servo that "
             "turns more\n      than 40 degrees, the linkage alone may do the same: look, and "
             "listen whether it hums.");
    }
}

/* Neither end points nor stops are told from a photo that is unsure. */
static bool is_sure(const struct centre_words *words)
{
    return words->photos.unsure_count == 0;
}

/* What the end points below hold for, in text and drawing; "" where they hold. A stop that was seen
 * is allowed for in them. */
static const char *ends_hold(const struct centre_words *words, const struct stops *stops)
{
    bool known =
        words->ends_are != CENTRE_ENDS_UNKNOWN || stops->side[0].found || stops->side[1].found;
    return known ? "" : "If the servo makes both ends, and no stop:";
}

/* Why no end points are told; NULL where they are. By numbers that nobody knows how good they are
 * nothing is set. At a stop nobody knows how far the servo would have gone; throws that may be
 * equal are left, unless a throw was asked for or a stop is to be kept clear of. */
static const char *why_no_ends(const struct centre_words *words, const struct stops *stops,
                               const struct deviation *deviation)
{
    if (words->ends_are == CENTRE_ENDS_STOPS)
        return "photos with the part at its stops do not tell them. Once neutral is in\n"
               "      the middle, set them so that the servo halts before both stops.";
    if (words->photos.bare)
        return "leave them until it is known how good these numbers are.";
    if (words->ends.wanted_deg > 0 || stops->side[0].found || stops->side[1].found)
        return NULL;
    if (fabs(deviation->off.value) <= quantity_expanded(deviation->off))
        return "leave them: the throws are equal as far as these angles tell.";
    if (deviation->decision == DECISION_CANNOT_TELL)
        return "leave them until neutral is known better.";
    return NULL;
}

static bool tells_ends(const struct centre_words *words, const struct stops *stops,
                       const struct deviation *deviation)
{
    return is_sure(words) && !why_no_ends(words, stops, deviation);
}

/* The link is the cure only where the ends stay when it is turned. */
static struct deviation judge_centre(const struct centre_words *words,
                                     const struct station_centre *centre, const struct stops *stops)
{
    bool fixed = words->ends_are == CENTRE_ENDS_STOPS;
    struct deviation d = judge_deviation("Neutral off the middle", centre->offset, words->tolerance,
                                         &words->photos, fixed ? &words->link : NULL);
    const char *binds = stops->side[0].found ? "first" : stops->side[1].found ? "second" : NULL;
    if (d.decision == DECISION_REJECT && !fixed)
        centre_ends_say(words->ends_are, centre->offset, binds, d.action, sizeof d.action);
    return d;
}

static void print_centre(const struct centre_words *words, const struct station_centre *centre,
                         const struct station_ends *ends, const struct stops *stops,
                         const struct deviation *deviation)
{
    char travel[PLUS_MINUS_WORDS], first[PLUS_MINUS_WORDS], second[PLUS_MINUS_WORDS];
    printf("Travel %s, middle at %.1f degrees.\n", plus_minus_angle(centre->travel, travel),
           centre->middle.value);
    print_deviation(deviation);
    printf("Throws from neutral: %s to the first end, %s to the second.\n",
           plus_minus_angle(quantity_size(centre->first_throw), first),
           plus_minus_angle(quantity_size(centre->second_throw), second));
    if (!is_sure(words))
        return;
    const char *why = why_no_ends(words, stops, deviation);
    if (!why && *ends_hold(words, stops))
        printf("  %s\n", ends_hold(words, stops));
    if (!why)
        print_ends(ends, stops);
    else
        printf("  End points: %s\n", why);
    print_stops(stops, !why);
}

static json_t *stop_json(const struct stops *stops, int i)
{
    if (!stops->looked[i])
        return json_null();
    const struct station_stop *stop = &stops->side[i];
    if (stop->open)
        return json_pack("{s:n, s:o}", "binds", "lost_deg", linkage_quantity_json(stop->lost));
    if (!stop->found)
        return json_pack("{s:b}", "binds", 0);
    return json_pack("{s:b, s:o, s:o}", "binds", 1, "from_percent",
                     linkage_quantity_json(stop->percent), "lost_deg",
                     linkage_quantity_json(stop->lost));
}

static json_t *ends_json(const struct station_ends *ends)
{
    return json_pack("{s:f, s:f, s:o, s:b}", "first_percent", ends->first_percent, "second_percent",
                     ends->second_percent, "unequal_deg", linkage_quantity_json(ends->unequal),
                     "out_of_reach", ends->first_short || ends->second_short);
}

static json_t *centre_json(const struct centre_words *words, const struct station_centre *centre,
                           const struct station_ends *ends, const struct stops *stops,
                           const struct deviation *deviation)
{
    bool sure = is_sure(words);
    json_t *object = json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "travel_deg",
                               linkage_quantity_json(centre->travel), "middle_deg",
                               linkage_quantity_json(centre->middle), "first_throw_deg",
                               linkage_quantity_json(centre->first_throw), "second_throw_deg",
                               linkage_quantity_json(centre->second_throw), "end_points",
                               tells_ends(words, stops, deviation) ? ends_json(ends) : json_null(),
                               "first_stop", sure ? stop_json(stops, 0) : json_null(),
                               "second_stop", sure ? stop_json(stops, 1) : json_null());
    if (!object)
        return NULL;
    add_deviation(object, deviation);
    const char *ends_are = centre_ends_word(words->ends_are);
    json_object_set_new(object, "ends", ends_are ? json_string(ends_are) : json_null());
    return object;
}

static int draw_centre(const struct centre_words *words, const struct quantity angles[3],
                       const struct station_centre *centre, const struct station_ends *ends,
                       const struct stops *stops, const struct deviation *deviation)
{
    char text[LINKAGE_DIAL_TEXT];
    const char *hold = ends_hold(words, stops);
    struct linkage_dial dial = {.title = "Centred part"};
    dial_add(&dial, "neutral", angles[2].value, plot_ink, false);
    dial_add(&dial, "middle of the travel", centre->middle.value, plot_warn, true);
    dial_add(&dial, "first end", angles[0].value, plot_low, false);
    dial_add(&dial, "second end", angles[1].value, plot_high, false);
    dial_deviation(&dial, 0, deviation);
    dial.has_turn = dial.has_turn && words->ends_are == CENTRE_ENDS_STOPS;
    snprintf(text, sizeof text, "%s%s %.4g %% (first), %.4g %% (second).", hold,
             *hold ? " end points" : "End points:", ends->first_percent, ends->second_percent);
    if (tells_ends(words, stops, deviation))
        linkage_dial_say(&dial, text);
    return write_dial(words->output, &dial);
}

int cmd_linkage_centre(int argc, char **argv)
{
    struct linkage_photos_room room;
    struct centre_words words = {
        .link = link_words_default(),
        .photos = linkage_photos_start(&room),
        .tolerance = DECISION_USUAL_DEG,
        .scale = {NAN, 0},
        .ends = {.first_percent = 100,
                 .second_percent = 100,
                 .step_percent = 1,
                 .limit_percent = USUAL_LIMIT_PERCENT},
    };
    struct quantity angles[3] = {{0}};
    int status = read_centre_options(argc, argv, &words);
    if (status != EXIT_DONE)
        return status;
    if (words.help)
        return answer_print_help(centre_help);
    status = read_angles(&words.values, 3,
                         "give three angles, numbers or photos: one end, the other end, neutral.",
                         NULL, &words.photos, angles);
    struct readings readings;
    if (status != EXIT_DONE || (status = read_more(&words, angles, &readings)) != EXIT_DONE)
        return status;
    linkage_photos_of_one_part(&words.photos, 0);
    words.photos.share = sqrt(1.5); /* station_centre() */
    struct station_centre centre = station_centre(angles[0], angles[1], angles[2]);
    const char *fault = station_centre_fault(&centre);
    if (fault)
        return fail_unusable("%s%s", fault,
                             is_sure(&words) ? "" : " A photo is unsure: take it again.");
    if (is_sure(&words) && (status = check_sides(&readings, &centre)) != EXIT_DONE)
        return status;
    struct stops stops = find_stops(&words, &readings, &centre);
    struct station_ends ends;
    words.ends.first_throw = centre.first_throw;
    words.ends.second_throw = centre.second_throw;
    words.ends.neutral_u = angles[2].u;
    words.ends.first_stop = stops.side[0];
    words.ends.second_stop = stops.side[1];
    if (!station_ends(&words.ends, &ends))
        return fail_unusable("the part does not move from neutral; check the three angles.");
    struct deviation deviation = judge_centre(&words, &centre, &stops);
    status = draw_centre(&words, angles, &centre, &ends, &stops, &deviation);
    if (status != EXIT_DONE)
        return status;
    if (words.json)
        return answer_json(centre_json(&words, &centre, &ends, &stops, &deviation));
    print_centre(&words, &centre, &ends, &stops, &deviation);
    return EXIT_DONE;
}
