#include "cmd_linkage_common.h"
#include "arithmetic/plus_minus.h"
#include "base/answer.h"
#include "base/clean_text.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "base/option_value.h"
#include "base/paragraph.h"
#include "drawing/drawing_file.h"
#include "result/order.h"

#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

struct thread_ends link_ends_default(void)
{
    return (struct thread_ends){.step_turns = -1};
}

struct link_words link_words_default(void)
{
    return (struct link_words){.arm = {.arm_to_link_deg = {90, 0}, .ends = link_ends_default()}};
}

int check_link_ends(const struct thread_ends *ends)
{
    const char *fault = thread_ends_fault(ends);
    return fault ? fail_usage("%s", fault) : EXIT_DONE;
}

int link_words_finish(struct link_words *words)
{
    int status = check_link_ends(&words->arm.ends);
    if (status != EXIT_DONE)
        return status;
    if (!words->longer)
        return words->arm.arm_to_link_deg.value == 90
                   ? EXIT_DONE
                   : fail_usage("with --link-angle say which way a longer link turns the arm, as "
                                "seen in the photo: --longer ccw or --longer cw.");
    if (strcasecmp(words->longer, "ccw") == 0)
        words->arm.longer = LONGER_CCW;
    else if (strcasecmp(words->longer, "cw") == 0)
        words->arm.longer = LONGER_CW;
    else
        return fail_usage("--longer must be ccw or cw (which way a longer link turns the arm, as "
                          "seen in the photo), not \"%s\".",
                          words->longer);
    return EXIT_DONE;
}

int answer_json(json_t *json)
{
    return answer_print_json(json, JSON_INDENT(2) | JSON_REAL_PRECISION(9));
}

int read_angles(const struct linkage_option_list *values, int n, const char *usage,
                const struct verdict_asked *asked, struct linkage_photos *photos,
                struct quantity *out)
{
    if (values->count != n)
        return fail_usage("%s", usage);
    for (int i = 0; i < n; i++) {
        int status = linkage_angle_read(values->items[i], asked, photos, &out[i]);
        if (status != EXIT_DONE)
            return status;
    }
    return EXIT_DONE;
}

/* "within the tolerance of 0.5 degrees." and the like. */
static void say_judged(const struct deviation *d, char *text, size_t size)
{
    static const char *const says[] = {
        [DECISION_ACCEPT] = "within",
        [DECISION_REJECT] = "outside",
        [DECISION_CANNOT_TELL] = "too near to call against",
    };
    if (d->photos->unsure_count > 0)
        snprintf(text, size, "not judged, as the photo is unsure.");
    else if (d->photos->bare)
        snprintf(text, size,
                 "not to be judged against the tolerance of %g %s without an uncertainty.",
                 d->tolerance_deg, plus_minus_degree_word(d->tolerance_deg));
    else
        snprintf(text, size, "%s the tolerance of %g %s.", says[d->decision], d->tolerance_deg,
                 plus_minus_degree_word(d->tolerance_deg));
}

/* "Arm: 1.8 ± 0.4 degrees counter-clockwise as seen in the photo: outside the tolerance ..." */
static void say_finding(const char *what, struct deviation *d)
{
    char off[PLUS_MINUS_WORDS], judged[120];
    int decimals = plus_minus_decimals_judged(
        d->off.value, d->photos->bare ? NAN : quantity_expanded(d->off), d->tolerance_deg);
    bool off_it = quantity_rounded(d->off.value, decimals) != 0;
    say_judged(d, judged, sizeof judged);
    snprintf(d->finding, sizeof d->finding, "%s: %s %s%s: %s", what,
             plus_minus_quantity(quantity_size(d->off), decimals, "degrees", off),
             plus_minus_side(d->off.value, decimals), off_it ? " as seen in the photo" : "",
             judged);
}

/* What to do about something outside its tolerance. */
static void say_cure(const struct link_words *words, struct deviation *d, char *text, size_t size)
{
    char too_much[LINKAGE_TOO_MUCH_WORDS];
    if (d->cured) {
        linkage_cure_say(&words->arm, d->off, &d->cure, text, size);
        if (d->cure.turnable && !thread_turns_none(&d->cure.turns)) {
            linkage_too_much_remains(d->cure.remains_deg, d->tolerance_deg, &d->cure.turns,
                                     too_much);
            size_t length = strlen(text);
            snprintf(text + length, size - length, "%s", too_much);
        }
    } else
        snprintf(text, size, "turn %s %s by %.1f degrees as seen in the photo.",
                 words && words->arm.name ? words->arm.name : "it", order_cure(d->off.value),
                 fabs(d->off.value));
}

/* How good a bare number is nobody knows; what it would ask of the link is no order yet. */
static void say_bare(const struct link_words *words, struct deviation *d)
{
    char cure[LINKAGE_SENTENCE_SIZE - LINKAGE_BARE_WORDS] = "leave it.";
    if (!words) { /* the mode has a cure of its own */
        snprintf(d->action, sizeof d->action, LINKAGE_BARE);
        return;
    }
    if (fabs(d->off.value) > d->tolerance_deg)
        say_cure(words, d, cure, sizeof cure);
    snprintf(d->action, sizeof d->action, LINKAGE_BARE " If the numbers are right: %s", cure);
}

static void say_action(const struct link_words *words, struct deviation *d)
{
    if (d->photos->unsure_count > 0)
        snprintf(d->action, sizeof d->action,
                 "change nothing yet, for the photo is unsure: take it again.");
    else if (d->photos->bare)
        say_bare(words, d);
    else if (d->decision == DECISION_ACCEPT)
        snprintf(d->action, sizeof d->action, "leave it.");
    else if (d->decision == DECISION_CANNOT_TELL)
        linkage_photos_undecided(d->photos, d->off, d->tolerance_deg, words != NULL, d->action,
                                 sizeof d->action);
    else
        say_cure(words, d, d->action, sizeof d->action);
}

struct deviation judge_deviation(const char *what, struct quantity off, double tolerance_deg,
                                 const struct linkage_photos *photos,
                                 const struct link_words *words)
{
    struct deviation d = {.off = off,
                          .tolerance_deg = tolerance_deg,
                          .decision = DECISION_CANNOT_TELL,
                          .photos = photos};
    if (linkage_photos_decide(photos))
        d.decision = decision_make(off.value, quantity_expanded(off), tolerance_deg);
    if (photos->unsure_count == 0)
        d.cured = words && linkage_cure(&words->arm, off, &d.cure);
    say_finding(what, &d);
    say_action(words, &d);
    return d;
}

void print_finding(const struct deviation *d)
{
    puts(d->finding);
    for (int i = 0; i < d->photos->reading_count; i++) {
        char *arm = linkage_photos_chosen(d->photos, i);
        if (arm)
            paragraph(stdout, "  ", "%s", arm);
        free(arm);
    }
    for (int i = 0; i < d->photos->unsure_count; i++) {
        const struct linkage_unsure *unsure = &d->photos->unsure[i];
        char *name = clean_text(unsure->word), text[LINKAGE_PHOTO_SAYS];
        printf("  Unsure: %s: %s\n", name ? name : "photo", linkage_unsure_says(unsure, text));
        free(name);
    }
}

void print_deviation(const struct deviation *d)
{
    print_finding(d);
    printf("  Do: %s\n", d->action);
}

static json_t *unsure_json(const struct linkage_photos *photos)
{
    json_t *list = json_array();
    for (int i = 0; i < photos->unsure_count; i++) {
        const struct linkage_unsure *unsure = &photos->unsure[i];
        char *name = clean_text(unsure->word), text[LINKAGE_PHOTO_SAYS];
        json_array_append_new(list, json_pack("{s:s, s:s, s:s}", "photo", name ? name : "photo",
                                              "reason", linkage_unsure_code(unsure), "message",
                                              linkage_unsure_says(unsure, text)));
        free(name);
    }
    return list;
}

static json_t *arms_json(const struct linkage_photos *photos)
{
    json_t *list = json_array();
    for (int i = 0; i < photos->reading_count; i++) {
        const struct linkage_reading *reading = &photos->readings[i];
        char *name = clean_text(reading->word);
        json_array_append_new(list,
                              json_pack("{s:s, s:s, s:i}", "photo", name ? name : "photo", "arm",
                                        reading->arm.name, "arms_shown", reading->shown.arms));
        free(name);
    }
    return list;
}

void add_deviation(json_t *object, const struct deviation *d)
{
    json_object_set_new(object, "status", json_string(d->photos->unsure_count ? "unsure" : "ok"));
    json_object_set_new(object, "unsure_photos", unsure_json(d->photos));
    json_object_set_new(object, "arms", arms_json(d->photos));
    json_object_set_new(object, "off_deg", linkage_quantity_json(d->off));
    json_object_set_new(object, "tolerance_deg", json_real(d->tolerance_deg));
    json_object_set_new(object, "decision", json_string(decision_name(d->decision)));
    json_object_set_new(object, "cure", d->cured ? linkage_cure_json(&d->cure) : json_null());
    json_object_set_new(object, "action", json_string(d->action));
}

int answer_deviation(const struct deviation *d, bool json)
{
    if (!json) {
        print_deviation(d);
        return EXIT_DONE;
    }
    json_t *object = json_object();
    add_deviation(object, d);
    return answer_json(object);
}

/* ---- Drawing a station ----------------------------------------------------------------------- */

int check_drawing(const char *path)
{
    return path ? option_output("-o FILE", path, DRAWING_SUFFIXES) : EXIT_DONE;
}

int write_drawing(const char *path, const struct drawing *drawing, double dpi)
{
    if (drawing_file_write(path, drawing_format_of(path), drawing, dpi))
        return EXIT_DONE;
    return fail_unwritten(path, errno, "-o FILE");
}

int write_dial(const char *path, const struct linkage_dial *dial)
{
    if (!path)
        return EXIT_DONE;
    struct drawing drawing = linkage_dial_drawing(dial);
    return write_drawing(path, &drawing, DRAWING_DPI);
}

void dial_add(struct linkage_dial *dial, const char *what, double deg, struct plot_colour colour,
              bool wanted)
{
    char label[64];
    snprintf(label, sizeof label, "%.40s %.1f\xc2\xb0", what, deg);
    linkage_dial_add(dial, deg, colour, label);
    if (dial->ray_count > 0)
        dial->rays[dial->ray_count - 1].wanted = wanted;
}

void dial_deviation(struct linkage_dial *dial, int ray, const struct deviation *d)
{
    char action[LINKAGE_DIAL_TEXT];
    dial->has_turn = d->decision == DECISION_REJECT;
    dial->turn_ray = ray;
    dial->off_deg = d->off.value;
    snprintf(action, sizeof action, "%s", d->action);
    action[0] = (char)toupper((unsigned char)action[0]);
    linkage_dial_say(dial, d->finding);
    char why[LINKAGE_PHOTO_SAYS];
    if (d->photos->unsure_count > 0)
        linkage_dial_say(dial, linkage_unsure_says(&d->photos->unsure[0], why));
    linkage_dial_say(dial, action);
}
