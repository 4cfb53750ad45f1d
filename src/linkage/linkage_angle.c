#include "linkage_angle.h"

#include "base/clean_text.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "measure/photo_arms.h"
#include "measure/same_photo.h"
#include "result/arm_uncertainty.h"
#include "result/reasons.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define NAME_SHOWN 80 /* of a photo's name within a sentence */

struct linkage_photos linkage_photos_start(struct linkage_photos_room *room)
{
    return (struct linkage_photos){
        .given = measure_options_start(), .readings = room->readings, .unsure = room->unsure};
}

struct linkage_photos linkage_photos_since(const struct linkage_photos *photos,
                                           const struct linkage_photos *before)
{
    struct linkage_photos since = *photos;
    since.readings += before->reading_count;
    since.reading_count -= before->reading_count;
    since.unsure += before->unsure_count;
    since.unsure_count -= before->unsure_count;
    return since;
}

bool linkage_photos_decide(const struct linkage_photos *photos)
{
    return photos->unsure_count == 0 && !photos->bare;
}

/* Here --arm is a length, and pointing stands behind the photo. */
static const char *linkage_photo_says(enum vision_reason reason, char text[LINKAGE_PHOTO_SAYS])
{
    const char *sentence = reason_sentence(reason);
    snprintf(text, LINKAGE_PHOTO_SAYS, "%s%s", sentence,
             strstr(sentence, "--arm") ? " (Here that is written PHOTO:X,Y,X,Y.)" : "");
    return text;
}

const char *linkage_unsure_says(const struct linkage_unsure *unsure, char text[LINKAGE_PHOTO_SAYS])
{
    if (!unsure->unlike)
        return linkage_photo_says(unsure->reason, text);
    char *name = clean_text(unsure->unlike);
    const char *other = name ? name : "the first photo";
    snprintf(text, LINKAGE_PHOTO_SAYS,
             "It shows another part than %.*s, or an arm is hidden in one of them: the number of "
             "arms, or the length of the arm taken, differs. Take both again, or point at the arm "
             "(PHOTO:X,Y,X,Y).",
             text_cut(other, NAME_SHOWN), other);
    free(name);
    return text;
}

const char *linkage_unsure_code(const struct linkage_unsure *unsure)
{
    return unsure->unlike ? "different-parts" : vision_reason_code(unsure->reason);
}

static struct arm_shown shown_of(const struct linkage_reading *reading)
{
    struct arm_shown shown = reading->shown;
    if (reading->pointed) /* the others were not looked for */
        shown.arms = 0;
    return shown;
}

void linkage_photos_of_one_part(struct linkage_photos *photos, int from)
{
    for (int i = from > 0 ? from : 1; i < photos->reading_count; i++) {
        const struct arm_shown first = shown_of(&photos->readings[0]);
        const struct arm_shown shown = shown_of(&photos->readings[i]);
        if (!photo_arms_may_be_one(&first, &shown) && photos->unsure_count < LINKAGE_MOST_UNSURE)
            photos->unsure[photos->unsure_count++] = (struct linkage_unsure){
                .word = photos->readings[i].word, .unlike = photos->readings[0].word};
    }
}

/* "412,300,1630,322": hub and tip, in place of an arm's letter. */
static bool is_pointing(const char *arm)
{
    return strchr(arm, ',') != NULL;
}

static int take_pointing(const char *word, const char *arm, struct vision_options *options)
{
    struct vision_point points[2];
    if (!measure_points_parse(arm, points))
        return fail_usage("\"%s\": behind the colon stands an arm's letter, or its hub and tip as "
                          "X,Y,X,Y in pixels, such as 412,300,1630,322.",
                          word);
    options->have_arm_hint = true;
    options->hub_hint_px = points[0];
    options->tip_hint_px = points[1];
    return EXIT_DONE;
}

/* Both ends within a quarter of its length: other arms of a part have their tips elsewhere, those
 * of other parts their hubs. */
static bool same_arm(const struct photo_trace *a, const struct photo_trace *b)
{
    double near = hypot(b->tip_px.x - b->hub_px.x, b->tip_px.y - b->hub_px.y) / 4;
    return hypot(a->hub_px.x - b->hub_px.x, a->hub_px.y - b->hub_px.y) < near &&
           hypot(a->tip_px.x - b->tip_px.x, a->tip_px.y - b->tip_px.y) < near;
}

bool linkage_words_same_photo(const char *one, const char *other)
{
    char a[PHOTO_PATH], b[PHOTO_PATH];
    const char *unused;
    return photo_arms_word(one, a, &unused) && photo_arms_word(other, b, &unused) &&
           same_photo(a, b);
}

/* Compared with itself an arm agrees, whatever it is like. */
static int refuse_same_arm(const char *word, const char *path, const struct photo_trace *trace,
                           const struct linkage_photos *photos)
{
    for (int i = 0; i < photos->reading_count; i++) {
        const struct linkage_reading *reading = &photos->readings[i];
        if (same_arm(&reading->trace, trace) && linkage_words_same_photo(word, reading->word))
            return fail_usage("\"%s\" and \"%s\" are the same arm in the same photo; give another "
                              "photo, or another arm such as \"%s:B\".",
                              reading->word, word, path);
        if (photo_trace_same(&reading->trace, trace))
            return fail_usage("\"%s\" and \"%s\" are one photo: " SAME_MEASURED
                              "; give another photo, or another arm such as \"%s:B\".",
                              reading->word, word, path);
    }
    return EXIT_DONE;
}

static void note(struct linkage_photos *photos, const struct linkage_reading *reading,
                 const struct vision_result *result)
{
    if (photos->reading_count < LINKAGE_MOST_READINGS)
        photos->readings[photos->reading_count++] = *reading;
    if (result->status == VISION_UNSURE && photos->unsure_count < LINKAGE_MOST_UNSURE)
        photos->unsure[photos->unsure_count++] =
            (struct linkage_unsure){.word = reading->word, .reason = result->reason};
}

/* The arm named, or the only one when it was pointed at, or the one that is asked for. -1: none of
 * that name. */
static int find_arm(const struct vision_result *result, const char *arm_name,
                    const struct verdict_asked *asked)
{
    if (*arm_name && !is_pointing(arm_name))
        return photo_arms_find(result, arm_name);
    return *arm_name || !asked ? 0 : verdict_arm(result->arms, result->arm_count, asked);
}

static int measure(const char *word, const char *path, const char *arm_name,
                   const struct verdict_asked *asked, struct linkage_photos *photos,
                   struct quantity *out)
{
    struct measure_words_given given = photos->given;
    struct vision_result result;
    char text[LINKAGE_PHOTO_SAYS];
    int status = is_pointing(arm_name) ? take_pointing(word, arm_name, &given.options) : EXIT_DONE;
    if (status != EXIT_DONE)
        return status;
    const char *trouble = photo_arms_measure(path, &given, &result);
    if (trouble == reason_sentence(result.reason))
        trouble = linkage_photo_says(result.reason, text);
    if (trouble)
        return photo_arms_refuse(path, &result, trouble);
    int at = find_arm(&result, arm_name, asked);
    if (at < 0)
        return photo_arms_missing(path, result.arms[0].name, result.arms[result.arm_count - 1].name,
                                  arm_name, false);
    const struct vision_arm *arm = &result.arms[at];
    struct linkage_reading reading = {.word = word,
                                      .trace = photo_trace_of(&result, arm),
                                      .shown = photo_arm_shown(&result, at),
                                      .arm = *arm,
                                      .obliquity_deg = result.obliquity_deg,
                                      .closer = sharpen_closer(&result),
                                      .pointed = is_pointing(arm_name),
                                      .chosen = !*arm_name};
    if ((status = refuse_same_arm(word, path, &reading.trace, photos)) != EXIT_DONE)
        return status;
    note(photos, &reading, &result);
    *out = (struct quantity){arm->angle_deg, arm_normal_u_deg(arm)};
    return EXIT_DONE;
}

int linkage_angle_read(const char *word, const struct verdict_asked *asked,
                       struct linkage_photos *photos, struct quantity *out)
{
    char path[PHOTO_PATH];
    const char *arm;
    enum quantity_fault fault = quantity_parse(word, QUANTITY_ANGLE, out);
    if (fault == QUANTITY_FINE && !(out->u > 0) && !photos->bare)
        photos->bare = word;
    if (fault == QUANTITY_FINE)
        return linkage_check_angle(word, out->value);
    if (photo_arms_word(word, path, &arm) && photo_arms_like_file(path))
        return measure(word, path, arm, asked, photos, out);
    if (fault == QUANTITY_COMMA ||
        (isdigit((unsigned char)word[0]) && fault != QUANTITY_NO_NUMBER && !strchr(word, '.')))
        return fail_usage("\"%s\" %s.", word, quantity_fault_says(fault));
    return fail_usage("\"%s\" is neither an angle such as \"91.3 u 0.2\" nor the name of a photo.",
                      word);
}

/* Whether all that is doubted of what is off is that photo's. */
static bool is_all_of(const struct linkage_reading *reading, struct quantity off)
{
    return fabs(off.u - arm_normal_u_deg(&reading->arm)) < 1e-9;
}

void linkage_photos_undecided(const struct linkage_photos *photos, struct quantity off,
                              double tolerance_deg, bool nearer, char *text, size_t size)
{
    const struct linkage_reading *reading = &photos->readings[0];
    const double share = photos->share > 0 ? photos->share : 1;
    const double settles = floor(fabs(tolerance_deg - fabs(off.value)) / share * 100 + 1e-6) / 100;
    char undecided[VERDICT_UNDECIDED], way[48] = "";
    if (photos->reading_count == 1 && is_all_of(reading, off)) {
        const struct verdict_asked asked = {tolerance_deg, true,
                                            reading->arm.angle_deg - off.value};
        struct verdict verdict;
        verdict_make(&reading->arm, 1, false, reading->obliquity_deg, reading->closer, false,
                     &asked, &verdict);
        verdict_undecided(&verdict, undecided);
        snprintf(text, size, "%c%s", tolower((unsigned char)undecided[0]), undecided + 1);
        return;
    }
    if (nearer && fabs(off.value) > quantity_expanded(off))
        snprintf(way, sizeof way, ", or set it nearer, %s", order_cure(off.value));
    if (photos->reading_count > 0)
        snprintf(text, size,
                 "measure better before deciding: squarer to the card, closer, several "
                 "photos%s.",
                 way);
    else if (settles > 0)
        snprintf(text, size, "measure better before deciding,%s to ± %.2f or less%s.",
                 photos->share > 0 ? " each angle" : "", settles, way);
    else
        snprintf(text, size,
                 "it lies at the limit, which no measurement settles: allow a larger "
                 "one%s.",
                 way);
}

static bool is_chosen(const struct linkage_reading *reading)
{
    return reading->chosen && reading->shown.arms > 1;
}

const char *linkage_photos_arm(const struct linkage_photos *photos, char text[8])
{
    text[0] = '\0';
    if (photos->reading_count == 1 && is_chosen(&photos->readings[0]))
        snprintf(text, 8, " %s", photos->readings[0].arm.name);
    return text;
}

char *linkage_photos_chosen(const struct linkage_photos *photos, int i)
{
    const struct linkage_reading *reading = &photos->readings[i];
    char *name = is_chosen(reading) ? clean_text(reading->word) : NULL, *text = NULL;
    if (name &&
        asprintf(&text,
                 "In %s this is arm %s, one of %d; for another write :%s behind the photo's name.",
                 name, reading->arm.name, reading->shown.arms,
                 reading->arm.name[0] == 'A' ? "B" : "A") < 0)
        text = NULL;
    free(name);
    return text;
}
