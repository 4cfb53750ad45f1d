#include "measure_batch.h"

#include "base/clean_text.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "measure_photo.h"
#include "measure_places.h"
#include "parallel.h"
#include "picture/picture_path.h"
#include "result/measure_json.h"
#include "result/measure_words.h"
#include "result/reasons.h"
#include "result/sharpen.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* ---- One photo ---------------------------------------------------------------------------- */

/* false when no tolerance was asked for or there is nothing to judge. */
static bool judge(const struct vision_result *result, const struct measure_asked *asked,
                  struct verdict *out)
{
    if (!(asked->verdict.tolerance_deg > 0) || result->status == VISION_FAILED ||
        result->arm_count < 1)
        return false;
    verdict_of_photo(result, &asked->verdict, out);
    return true;
}

/* The measurement with its decision. */
static json_t *answer_json(const struct measure_shot *shot, const struct measure_asked *asked)
{
    struct verdict verdict;
    bool asks = asked->verdict.tolerance_deg > 0;
    bool judged = judge(&shot->result, asked, &verdict);
    json_t *object = asks ? measure_judged_json(shot->path, &shot->result, judged ? &verdict : NULL)
                          : measure_json(shot->path, &shot->result);
    if (object && shot->trouble)
        json_object_set_new(object, "message", json_string(shot->trouble));
    return object;
}

/* What the picture shows where a tolerance was asked for: the same as the words. */
static bool set_goal(const struct vision_result *result, const struct measure_asked *asked,
                     char from[VERDICT_FROM], char undecided[VERDICT_UNDECIDED],
                     struct annotate_goal *goal)
{
    struct verdict verdict;
    if (!judge(result, asked, &verdict))
        return false;
    verdict_from(&verdict, "°", from);
    verdict_undecided(&verdict, undecided);
    *goal = (struct annotate_goal){.arm = verdict.index,
                                   .judged = true,
                                   .from = from,
                                   .off_deg = verdict.off_deg,
                                   .expanded_deg = verdict.expanded_deg,
                                   .tolerance_deg = verdict.asked.tolerance_deg,
                                   .undecided = undecided,
                                   .any_square = !asked->verdict.have_target,
                                   .all_square = !asked->verdict.have_target};
    return true;
}

/* Another way to measure is told in place of what this one lacked. */
static bool set_meant_goal(const struct measure_shot *shot, struct annotate_goal *goal)
{
    *goal = (struct annotate_goal){.instead = shot->trouble};
    return shot->trouble != NULL;
}

/* A sticker is noted, never judged: it has a meaning beside its other photos only. */
static bool set_sticker_goal(const struct vision_result *result, struct annotate_goal *goal)
{
    *goal = (struct annotate_goal){.role = "Read. Only changes between photos count."};
    return result->status != VISION_FAILED;
}

static void draw_picture(struct measure_shot *shot, const struct vision_photo *photo,
                         const struct measure_asked *asked)
{
    char from[VERDICT_FROM], undecided[VERDICT_UNDECIDED];
    struct annotate_goal goal;
    bool wanted =
        asked->given.stickers
            ? set_sticker_goal(&shot->result, &goal)
            : set_meant_goal(shot, &goal) || set_goal(&shot->result, asked, from, undecided, &goal);
    json_t *measurement = answer_json(shot, asked);
    shot->picture_fault = measurement
                              ? annotate_write(shot->picture_path, shot->path, photo, &shot->result,
                                               measurement, wanted ? &goal : NULL)
                              : ANNOTATE_MEMORY;
    shot->picture_errno = errno;
    json_decref(measurement);
}

static void measure_shot(struct measure_shot *shot, const struct measure_asked *asked)
{
    struct vision_photo *photo;
    shot->trouble = measure_photo_open(shot->path, &photo, &shot->result);
    if (shot->trouble)
        return;
    measure_photo(photo, &asked->given, &shot->result);
    shot->trouble = measure_photo_meant(photo, &asked->given, &shot->result);
    if (shot->picture_path)
        draw_picture(shot, photo, asked);
    shot->drawn = shot->picture_path && shot->picture_fault == ANNOTATE_FINE;
    vision_photo_free(photo);
}

static void make_line(struct measure_shot *shot, const struct measure_asked *asked)
{
    json_t *object = answer_json(shot, asked);
    shot->line = object ? json_dumps(object, MEASURE_JSON_FLAGS) : NULL;
    json_decref(object);
    shot->out_of_memory = !shot->line;
}

static void work(void *context, size_t i)
{
    struct measure_batch *batch = context;
    struct measure_shot *shot = &batch->shots[i];
    measure_shot(shot, &batch->asked);
    if (batch->asked.json)
        make_line(shot, &batch->asked);
}

/* ---- The answer --------------------------------------------------------------------------- */

static void print_failure(const struct measure_shot *shot)
{
    char text[MEASURE_WORDS];
    measure_message(&shot->result, NULL, text);
    fail_unusable("%s: %s", shot->path, shot->trouble ? shot->trouble : text);
}

void measure_batch_headline(const struct measure_batch *batch, const char *name,
                            const char *sentence)
{
    char *clean = clean_text(name);
    printf("%s%s: %s%s\n", batch->bold ? "\033[1m" : "", clean ? clean : "?", sentence,
           batch->bold ? "\033[0m" : "");
    free(clean);
}

void measure_batch_lines(const char *text)
{
    while (text && *text) {
        size_t length = strcspn(text, "\n");
        printf("    %.*s\n", (int)length, text);
        text += length + (text[length] == '\n');
    }
}

static void print_below(const char *sentence)
{
    if (*sentence)
        printf("    %s\n", sentence);
}

static void print_verdict(const struct verdict *verdict)
{
    char *text = verdict_words(verdict);
    measure_batch_lines(text);
    free(text);
}

static void print_answer(const struct measure_batch *batch, const struct measure_shot *shot)
{
    char text[MEASURE_WORDS];
    struct verdict verdict;
    bool judged = judge(&shot->result, &batch->asked, &verdict);
    measure_message(&shot->result, judged ? &verdict : NULL, text);
    measure_batch_headline(batch, shot->path, text);
    int told = measure_told(&shot->result, judged ? &verdict : NULL);
    for (int i = 0; i < shot->result.arm_count && !shot->result.of_stickers; i++) {
        if (i == told)
            continue;
        measure_arm_sentence(&shot->result.arms[i], shot->result.reference,
                             shot->result.status == VISION_UNSURE, text);
        printf("    %s\n", text);
    }
    if (shot->result.status != VISION_FAILED) {
        measure_untold_sentence(&shot->result, text);
        print_below(text);
        measure_witness_sentence(&shot->result.witness, text);
        print_below(text);
    }
    if (judged)
        print_verdict(&verdict);
    if (*shot->result.lens)
        printf("    Lens: profile of %s\n", shot->result.lens);
}

/* Of a photo that gave no answer, too: it shows why. Its reason went to the other stream, so its
 * name stands here as well. */
static void tell_picture(const struct measure_shot *shot)
{
    if (!shot->drawn)
        return;
    char *name = clean_text(shot->path), *place = clean_text(shot->picture_path);
    if (shot->result.status == VISION_FAILED)
        printf("%s: no answer; its picture shows why: %s\n", name ? name : "?",
               place ? place : "?");
    else
        printf("    Picture: %s\n", place ? place : "?");
    free(name);
    free(place);
}

static void report_picture(struct measure_batch *batch, const struct measure_shot *shot)
{
    /* What keeps a photo from being drawn kept it from being measured, and was said there. */
    if (shot->picture_fault == ANNOTATE_FINE || shot->picture_fault == ANNOTATE_PHOTO)
        return;
    batch->trouble = true;
    fail_unwritten(shot->picture_path,
                   shot->picture_fault == ANNOTATE_MEMORY ? ENOMEM : shot->picture_errno,
                   batch->asked.output ? "-o FILE" : "--out DIR");
}

#define MANY 20

static void show_progress(const struct measure_batch *batch, size_t finished)
{
    if (batch->count < 2)
        return;
    if (batch->terminal) {
        fprintf(stderr, "\r\033[K");
        if (finished < batch->count)
            fprintf(stderr, "%zu of %zu photos", finished, batch->count);
    } else if (batch->count >= MANY && finished % (batch->count / 10) == 0) {
        fprintf(stderr, "armsquare: %zu of %zu photos are done.\n", finished, batch->count);
    }
}

/* Of many photos, whose failures stand scattered through the answers. */
static void tell_count(const struct measure_batch *batch)
{
    if (batch->count >= MANY)
        message_note("%zu of %zu photos gave an answer%s.", batch->count - batch->failed,
                     batch->count,
                     batch->failed ? "; what is wrong with the others stands above" : "");
}

static void done(void *context, size_t i)
{
    struct measure_batch *batch = context;
    struct measure_shot *shot = &batch->shots[i];
    if (batch->terminal && batch->count > 1)
        fprintf(stderr, "\r\033[K"); /* answers must not run into the progress line */
    if (batch->asked.json && shot->line)
        puts(shot->line);
    if (shot->result.status == VISION_FAILED) {
        batch->failed++;
        print_failure(shot);
    } else if (!batch->asked.json) {
        print_answer(batch, shot);
    }
    if (!batch->asked.json)
        tell_picture(shot);
    if (shot->out_of_memory) {
        batch->trouble = true;
        fail_trouble("there is not enough memory to show the answer.");
    }
    report_picture(batch, shot);
    fflush(stdout);
    show_progress(batch, i + 1);
    free(shot->line);
    shot->line = NULL;
}

/* ---- Where the pictures go ---------------------------------------------------------------- */

static int make_folder(const char *folder)
{
    struct stat about;
    if (mkdir(folder, 0777) == 0 ||
        (errno == EEXIST && stat(folder, &about) == 0 && S_ISDIR(about.st_mode)))
        return EXIT_DONE;
    return fail_unmade(folder, errno, " with --out DIR");
}

static int choose_places(struct measure_batch *batch)
{
    const struct measure_asked *asked = &batch->asked;
    if (asked->no_picture)
        return EXIT_DONE;
    for (size_t i = 0; i < batch->count; i++) {
        struct measure_shot *shot = &batch->shots[i];
        shot->picture_path =
            asked->output ? strdup(asked->output) : picture_path(shot->path, asked->folder);
        if (!shot->picture_path)
            return fail_trouble("there is not enough memory for so many photos.");
    }
    int status = measure_places_check(batch->shots, batch->count);
    if (status == EXIT_DONE && asked->folder)
        status = make_folder(asked->folder);
    return status;
}

/* ---- The batch ---------------------------------------------------------------------------- */

int measure_batch_start(struct measure_batch *out, const struct measure_asked *asked,
                        char *const *photos, size_t count)
{
    *out = (struct measure_batch){.asked = *asked, .count = count};
    out->asked.given.options.threads = parallel_share(count);
    out->asked.given.carried = count > 1 && measure_options_point(&asked->given);
    out->shots = calloc(count, sizeof *out->shots);
    bool copied = out->shots != NULL;
    for (size_t i = 0; copied && i < count; i++) {
        out->shots[i].path = strdup(photos[i]);
        copied = out->shots[i].path != NULL;
    }
    return copied ? EXIT_DONE : fail_trouble("there is not enough memory for so many photos.");
}

void measure_batch_clear(struct measure_batch *batch)
{
    for (size_t i = 0; batch->shots && i < batch->count; i++) {
        free(batch->shots[i].path);
        free(batch->shots[i].picture_path);
    }
    free(batch->shots);
    batch->shots = NULL;
}

int measure_batch_run(struct measure_batch *batch)
{
    int status = choose_places(batch);
    if (status != EXIT_DONE)
        return status;
    batch->terminal = isatty(STDERR_FILENO);
    batch->bold = isatty(STDOUT_FILENO) && !getenv("NO_COLOR");
    const size_t lead = batch->asked.given.carried ? 1 : 0;
    parallel_in_order(0, lead, work, done, batch);
    if (lead) {
        batch->asked.given.seen_in = batch->shots[0].result.plane;
        if (!batch->shots[0].result.card)
            return fail_unusable("--hint and --arm count in the first photo, \"%s\", and are "
                                 "carried over by its card, which was not found.",
                                 batch->shots[0].path);
    }
    parallel_in_order(lead, batch->count, work, done, batch);
    tell_count(batch);
    return batch->trouble ? EXIT_TROUBLE : EXIT_DONE;
}
