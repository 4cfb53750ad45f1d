/* armsquare linkage angle: one arm at wanted angles, and the one link that serves them all. */
#include "advice/advice.h"
#include "arithmetic/direction.h"
#include "arithmetic/plus_minus.h"
#include "arithmetic/station.h"
#include "base/answer.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "base/paragraph.h"
#include "base/text_end.h"
#include "cmd_linkage.h"
#include "cmd_linkage_common.h"
#include "linkage/link_shared.h"
#include "linkage/linkage_words.h"
#include "result/order.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

static const char angle_help[] =
    "usage: armsquare linkage angle [NAME=]WANTED:MEASURED ... [more]\n"
    "\n"
    "An arm at wanted angles other than square, such as a throttle arm at idle, half and full.\n"
    "WANTED is degrees; MEASURED is degrees (\"47.2 u 0.3\") or a photo. One link serves all "
    "angles\n"
    "of an arm: at most one change of it is told, the best for all, and what it leaves at each.\n"
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
    struct linkage_photos photos; /* those of this angle alone, within those of all */
};

/* Further off than a right angle it is another end that was read. */
static int check_end_read(const struct wanted *w)
{
    double off_deg = station_off(w->measured, w->wanted).value;
    if (w->photos.unsure_count > 0 || fabs(off_deg) <= 90)
        return EXIT_DONE;
    return fail_unusable(
        "%s: the arm lies %.1f degrees from the wanted %g. Was its other end read, "
        "or the reference from its other end? Then %g is wanted.",
        w->name, fabs(off_deg), w->wanted.value, direction_normal(w->wanted.value + 180));
}

/* Takes "idle=45:47.2 u 0.3" apart. Without a name it is "Arm" where it stands alone, else called
 * by what is wanted. Its photo is held against those of the angles before, which show the same arm
 * at another time. */
static int read_wanted(const char *word, bool alone, struct linkage_photos *photos,
                       struct wanted *out)
{
    const struct linkage_photos before = *photos;
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
    if (!equals && !alone)
        snprintf(out->name, sizeof out->name, "%g degrees", out->wanted.value);
    const struct verdict_asked asked = {.have_target = true, .target_deg = out->wanted.value};
    photos->bare = NULL; /* each angle has its own */
    int status = linkage_angle_read(colon + 1, &asked, photos, &out->measured);
    if (status != EXIT_DONE)
        return status;
    linkage_photos_of_one_part(photos, before.reading_count);
    out->photos = linkage_photos_since(photos, &before);
    return check_end_read(out);
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
    for (int i = 0; i < words->values.count && status == EXIT_DONE; i++)
        status = read_wanted(words->values.items[i], words->values.count == 1, &words->photos,
                             &words->wanted[i]);
    return status;
}

/* Each angle in a colour of its own, in turn. */
static const struct plot_colour *angle_colour(int i)
{
    static const struct plot_colour *const colours[] = {&plot_low, &plot_ink, &plot_high};
    return colours[i % 3];
}

/* ---- One link for all ------------------------------------------------------------------------ */

#define SOME_THROW_DEG 1.0 /* less is one wanted angle, written twice */

/* All angles of one arm, judged together. */
struct angle_answer {
    struct deviation deviations[LINKAGE_OPTION_MOST];
    bool changes; /* the link is to be changed: cures are filled */
    struct linkage_cure cures[LINKAGE_OPTION_MOST];
    bool has_throw;
    struct quantity throw_off;
    char *action; /* the answer's own: an order, and what it leaves at each angle */
};
_Static_assert(LINK_SHARED_MOST >= LINKAGE_OPTION_MOST, "each angle has a place");

static int count_decided(const struct angle_words *words, const struct angle_answer *answer,
                         enum decision decision)
{
    int count = 0;
    for (int i = 0; i < words->values.count; i++)
        count += answer->deviations[i].decision == decision;
    return count;
}

static bool is_any_unsure(const struct angle_words *words)
{
    for (int i = 0; i < words->values.count; i++)
        if (words->wanted[i].photos.unsure_count > 0)
            return true;
    return false;
}

/* The one change as the cure of every angle: what differs is what remains there. */
static void take_cures(const struct angle_words *words, const struct link_shared *shared,
                       struct angle_answer *answer)
{
    answer->changes = words->link.arm.arm_mm.value > 0;
    for (int i = 0; i < words->values.count; i++)
        answer->cures[i] = (struct linkage_cure){.change_mm = shared->change_mm,
                                                 .turnable = shared->turnable,
                                                 .turns = shared->turns,
                                                 .remains_deg = shared->remains_deg[i]};
}

static void say_change(FILE *to, const struct angle_words *words, const struct link_shared *shared,
                       const struct angle_answer *answer)
{
    char text[LINKAGE_SENTENCE_SIZE], amount[PLUS_MINUS_WORDS];
    if (answer->changes)
        linkage_cure_order(&words->link.arm, shared->all_deg, &answer->cures[0], text, sizeof text);
    else
        snprintf(
            text, sizeof text,
            "change the link so that the arm goes %s %s as seen in the photo, half way between "
            "the angles",
            plus_minus_angle(quantity_size(shared->all_deg), amount),
            order_cure(shared->all_deg.value));
    fprintf(to, "%s.%s That leaves", text,
            answer->changes && shared->turnable ? linkage_many_turns(&shared->turns) : "");
    for (int i = 0; i < words->values.count; i++) {
        linkage_say_off(shared->remains_deg[i], false, 1, text, sizeof text);
        fprintf(to, "%s %s at %s", i ? "," : "", text, words->wanted[i].name);
    }
    fprintf(to, ". It moves the arm at all other angles as well, such as neutral.%s",
            linkage_short_says(shared->short_deg));
}

/* Whether the change takes some angle further off that does not surely pass then. */
static bool spoils(const struct angle_words *words, const struct link_shared *shared)
{
    for (int i = 0; i < words->values.count; i++) {
        const struct wanted *w = &words->wanted[i];
        struct quantity off = station_off(w->measured, w->wanted), left = shared->remains_deg[i];
        if (fabs(left.value) > fabs(off.value) &&
            decision_make(left.value, quantity_expanded(left), words->tolerance) != DECISION_ACCEPT)
            return true;
    }
    return false;
}

/* Whether what is left at some angle, the link being changed or not, does not pass. */
static bool leaves_work(const struct angle_words *words, const struct link_shared *shared,
                        bool changed)
{
    for (int i = 0; i < words->values.count; i++) {
        const struct wanted *w = &words->wanted[i];
        struct quantity left =
            changed ? shared->remains_deg[i] : station_off(w->measured, w->wanted);
        if (decision_make(left.value, quantity_expanded(left), words->tolerance) == DECISION_REJECT)
            return true;
    }
    return false;
}

static void say_throw(FILE *to, const struct angle_words *words, const struct link_shared *shared)
{
    char throw[PLUS_MINUS_WORDS];
    const struct quantity goes = {shared->throw_deg + shared->throw_off.value, shared->throw_off.u};
    bool small = shared->throw_off.value < 0;
    if (shared->throw_deg < SOME_THROW_DEG ||
        fabs(shared->throw_off.value) <= quantity_expanded(shared->throw_off)) {
        fputs(" What is left no length of the link cures: look at the end points, and at the holes "
              "of horn and arm.",
              to);
        return;
    }
    fprintf(to,
            " From %s to %s the arm goes %s where %.1f are wanted: too %s, and no length of the "
            "link cures that. %s end points do, or another hole: further %s on the horn, or "
            "further %s on the arm.",
            words->wanted[shared->first].name, words->wanted[shared->last].name,
            plus_minus_angle(goes, throw), shared->throw_deg, small ? "little" : "far",
            small ? "Larger" : "Smaller", small ? "out" : "in", small ? "in" : "out");
}

/* At least one angle is surely outside its tolerance. */
static void say_cure(FILE *to, const struct angle_words *words, struct angle_answer *answer)
{
    struct link_position positions[LINKAGE_OPTION_MOST];
    struct link_shared shared;
    for (int i = 0; i < words->values.count; i++)
        positions[i] =
            (struct link_position){words->wanted[i].wanted.value, answer->deviations[i].off};
    if (!link_shared(&words->link.arm, positions, words->values.count, &shared)) {
        fputs("leave the link as it is: at one of these angles it lies nearly in one line with its "
              "arm; check the angles.",
              to);
        return;
    }
    answer->has_throw = shared.throw_deg >= SOME_THROW_DEG;
    answer->throw_off = shared.throw_off;
    bool changed = link_shared_wants_change(&shared) && !spoils(words, &shared);
    if (changed) {
        take_cures(words, &shared, answer);
        say_change(to, words, &shared, answer);
    } else {
        fputs("leave the link as it is: one length serves all these angles, and no change of it "
              "brings all of them nearer.",
              to);
    }
    if (leaves_work(words, &shared, changed))
        say_throw(to, words, &shared);
}

static bool is_any_bare(const struct angle_words *words)
{
    for (int i = 0; i < words->values.count; i++)
        if (words->wanted[i].photos.bare)
            return true;
    return false;
}

static void say_all(FILE *to, const struct angle_words *words, struct angle_answer *answer)
{
    if (is_any_unsure(words))
        fputs(
            "change nothing yet, for a photo is unsure and one link serves all these angles: take "
            "that photo again.",
            to);
    else if (is_any_bare(words))
        fputs(LINKAGE_BARE, to);
    else if (count_decided(words, answer, DECISION_REJECT) > 0)
        say_cure(to, words, answer);
    else if (count_decided(words, answer, DECISION_CANNOT_TELL) > 0)
        fputs("measure better, to a smaller ±, before deciding.", to);
    else
        fputs("leave the link as it is.", to);
}

/* false without memory. Clear answer by freeing its action either way. */
static bool judge_angles(const struct angle_words *words, struct angle_answer *answer)
{
    bool alone = words->values.count == 1;
    *answer = (struct angle_answer){.changes = false};
    for (int i = 0; i < words->values.count; i++) {
        const struct wanted *w = &words->wanted[i];
        answer->deviations[i] =
            judge_deviation(w->name, station_off(w->measured, w->wanted), words->tolerance,
                            &w->photos, alone ? &words->link : NULL);
    }
    const struct deviation *first = &answer->deviations[0];
    if (alone) {
        answer->changes = first->cured;
        answer->cures[0] = first->cure;
        answer->action = strdup(first->action);
        return answer->action != NULL;
    }
    size_t size = 0;
    FILE *to = open_memstream(&answer->action, &size);
    if (to)
        say_all(to, words, answer);
    return text_end(to, &answer->action) != NULL;
}

static void print_angles(const struct angle_words *words, const struct angle_answer *answer)
{
    for (int i = 0; i < words->values.count; i++)
        print_finding(&answer->deviations[i]);
    if (words->values.count > 1)
        puts("One link serves all these angles.");
    paragraph_text(stdout, "  Do: ", answer->action);
}

static json_t *angles_json(const struct angle_words *words, const struct angle_answer *answer)
{
    json_t *list = json_array();
    for (int i = 0; i < words->values.count; i++) {
        json_t *object = json_pack("{s:o}", "name", answer_text(words->wanted[i].name));
        add_deviation(object, &answer->deviations[i]);
        json_object_set_new(object, "cure",
                            answer->changes ? linkage_cure_json(&answer->cures[i]) : json_null());
        json_object_set_new(object, "action", json_string(answer->action));
        json_object_set_new(object, "throw_off_deg",
                            answer->has_throw ? linkage_quantity_json(answer->throw_off)
                                              : json_null());
        json_array_append_new(list, object);
    }
    return list;
}

static int draw_angles(const struct angle_words *words, const struct angle_answer *answer)
{
    struct linkage_dial dial = {.title = "Wanted angles"};
    for (int i = 0; i < words->values.count; i++) {
        char text[80], arm[8];
        const struct wanted *w = &words->wanted[i];
        linkage_photos_arm(&w->photos, arm);
        snprintf(text, sizeof text, "%s%s%s", w->name, *arm ? ", arm" : "", arm);
        dial_add(&dial, text, w->measured.value, *angle_colour(i), false);
        snprintf(text, sizeof text, "%s wanted", w->name);
        dial_add(&dial, text, w->wanted.value, *angle_colour(i), true);
    }
    char *action = strdup(answer->action);
    if (!action)
        return fail_trouble("there is not enough memory for the drawing.");
    action[0] = (char)toupper((unsigned char)action[0]);
    dial.last = action;
    int status = write_dial(words->output, &dial);
    free(action);
    return status;
}

int cmd_linkage_angle(int argc, char **argv)
{
    struct linkage_photos_room room;
    struct angle_words words = {.link = link_words_default(),
                                .photos = linkage_photos_start(&room),
                                .tolerance = DECISION_USUAL_DEG};
    int status = read_angle_words(argc, argv, &words);
    if (status != EXIT_DONE)
        return status;
    if (words.help)
        return answer_print_help(angle_help);
    struct angle_answer answer;
    if (!judge_angles(&words, &answer))
        status = fail_trouble("there is not enough memory for the answer.");
    else if ((status = draw_angles(&words, &answer)) == EXIT_DONE && words.json)
        status = answer_json(angles_json(&words, &answer));
    else if (status == EXIT_DONE)
        print_angles(&words, &answer);
    free(answer.action);
    return status;
}
