#include "measure_several.h"

#include "base/answer.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "result/measure_json.h"
#include "result/sharpen.h"
#include "result/sticker_turn.h"
#include "result/together.h"
#include "same_photo.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

/* ---- Which photos ------------------------------------------------------------------------- */

/* "a.jpg@cw", in capitals or not, is a.jpg, come to rest clockwise; a file that has the whole name
 * is taken as it is. *mark: where in path the mark begins, NULL without one. */
static enum combine_side find_mark(char *path, char **mark)
{
    static const struct {
        const char *mark;
        enum combine_side side;
    } marks[] = {{"@cw", COMBINE_CLOCKWISE}, {"@ccw", COMBINE_COUNTER_CLOCKWISE}};
    char *at = strrchr(path, '@');
    *mark = NULL;
    for (size_t i = 0; at && i < sizeof marks / sizeof marks[0]; i++) {
        if (strcasecmp(at, marks[i].mark) != 0 || access(path, F_OK) == 0)
            continue;
        *mark = at;
        return marks[i].side;
    }
    return COMBINE_SIDE_UNKNOWN;
}

static enum combine_side take_mark(char *path)
{
    char *mark;
    enum combine_side side = find_mark(path, &mark);
    if (mark)
        *mark = '\0';
    return side;
}

static int refuse_marks(const struct measure_batch *batch)
{
    for (size_t i = 0; i < batch->count; i++) {
        char *mark;
        find_mark(batch->shots[i].path, &mark);
        if (mark)
            return fail_usage(
                "\"%s\": a photo is marked %s only where several are put together; add "
                "--together, or leave out the mark.",
                batch->shots[i].path, mark);
    }
    return EXIT_DONE;
}

static int check_marks(const struct measure_batch *batch)
{
    size_t marked[3] = {0};
    for (size_t i = 0; i < batch->count; i++)
        marked[batch->shots[i].side]++;
    size_t unmarked = marked[COMBINE_SIDE_UNKNOWN];
    if (unmarked == batch->count)
        return EXIT_DONE;
    if (unmarked > 0)
        return fail_usage(
            "mark every photo with @cw or @ccw, the way the part turned as it came to "
            "rest, or none.");
    if (!marked[COMBINE_CLOCKWISE] || !marked[COMBINE_COUNTER_CLOCKWISE])
        return fail_usage(
            "backlash shows between photos from both sides: mark at least one @cw and "
            "one @ccw.");
    return EXIT_DONE;
}

int measure_several_start(struct measure_batch *batch)
{
    if (!batch->asked.together && !batch->asked.given.stickers)
        return refuse_marks(batch);
    for (size_t i = 0; batch->asked.together && i < batch->count; i++)
        batch->shots[i].side = take_mark(batch->shots[i].path);
    int status = check_marks(batch);
    if (status != EXIT_DONE)
        return status;
    /* Each photo counts for something of its own. */
    return refuse_same_photo(&batch->shots[0].path, batch->count, sizeof batch->shots[0]);
}

/* ---- All photos as one -------------------------------------------------------------------- */

/* Judges the means of photos that can be put together. How square and close the photos were is that
 * of the first one used. */
static void judge_together(const struct measure_batch *batch, const struct together *t,
                           struct verdict *out)
{
    struct vision_arm arms[VISION_MAX_ARMS];
    const struct vision_result *first = &batch->shots[t->arms[0].photos[0]].result;
    for (int i = 0; i < t->arm_count; i++)
        arms[i] = t->arms[i].all.arm;
    verdict_make(arms, t->arm_count, t->disagree || t->unsure_photos, first->obliquity_deg,
                 sharpen_closer(first), true, &batch->asked.verdict, out);
    out->reference = first->reference;
}

static int print_together(const struct measure_batch *batch, const struct together *t,
                          const struct together_photo *photos)
{
    struct verdict verdict = {0};
    const bool asked = !t->fault && batch->asked.verdict.tolerance_deg > 0;
    if (!t->fault)
        judge_together(batch, t, &verdict);
    if (batch->asked.json) {
        json_t *json = together_json(t, photos, &verdict);
        if (json && asked)
            json_object_set_new(json_object_get(json, "together"), "decision",
                                measure_decision_json(&verdict));
        return answer_print_json(json, MEASURE_JSON_FLAGS);
    }
    char *message = together_message(t, photos, &verdict);
    char *details = together_details(t, photos, verdict.index);
    char *decision = asked ? verdict_words(&verdict) : NULL;
    bool good = message && details;
    if (good) {
        measure_batch_headline(batch, "Together", message);
        measure_batch_lines(details);
        measure_batch_lines(decision);
    }
    free(message);
    free(details);
    free(decision);
    return good ? EXIT_DONE : fail_trouble("there is not enough memory to show the answer.");
}

static int put_together(const struct measure_batch *batch)
{
    struct together_photo photos[COMBINE_MAX_PHOTOS];
    struct together *t = malloc(sizeof *t);
    int status = EXIT_DONE;
    if (!t)
        return fail_trouble("there is not enough memory to put the photos together.");
    for (size_t i = 0; i < batch->count; i++) {
        const struct measure_shot *shot = &batch->shots[i];
        photos[i] = (struct together_photo){shot->path, &shot->result, shot->side};
    }
    together_make(photos, (int)batch->count, batch->asked.given.options.card_tilt_deg,
                  batch->asked.card_moved, t);
    if (!t->fault || batch->asked.json)
        status = print_together(batch, t, photos);
    if (t->fault && status == EXIT_DONE)
        status = fail_unusable("together: %s", together_fault_says(t->fault));
    free(t);
    return status;
}

/* ---- Stickers ----------------------------------------------------------------------------- */

static int print_turns(const struct measure_batch *batch, const struct sticker_turn *turn,
                       const struct sticker_photo *photos)
{
    if (batch->asked.json) {
        int status = answer_print_json(sticker_turn_json(turn, photos), MEASURE_JSON_FLAGS);
        if (status != EXIT_DONE)
            return status;
    } else if (!turn->fault) {
        char *text = sticker_turn_words(turn, photos);
        if (!text)
            return fail_trouble("there is not enough memory to compare the photos.");
        fputs(text, stdout);
        free(text);
    }
    const char *name, *fault = sticker_turn_centre_fault(turn, &name);
    if (turn->fault)
        return fail_unusable("stickers: %s", sticker_fault_says(turn->fault));
    return fault ? fail_unusable("sticker %s: %s", name, fault) : EXIT_DONE;
}

static int compare_stickers(const struct measure_batch *batch)
{
    struct sticker_photo photos[STICKER_MAX_PHOTOS];
    struct sticker_turn turn;
    for (size_t i = 0; i < batch->count; i++)
        photos[i] = (struct sticker_photo){batch->shots[i].path, &batch->shots[i].result};
    sticker_turn_make(photos, (int)batch->count, batch->asked.centred, &turn);
    return print_turns(batch, &turn, photos);
}

static struct measured_photo photo_at(const void *context, size_t i)
{
    const struct measure_batch *batch = context;
    return (struct measured_photo){batch->shots[i].path, &batch->shots[i].result};
}

int measure_several_answer(const struct measure_batch *batch)
{
    int status = refuse_same_measured(photo_at, batch, batch->count);
    if (status != EXIT_DONE)
        return status;
    return batch->asked.together ? put_together(batch) : compare_stickers(batch);
}
