#include "job_measure.h"

#include "arithmetic/uncertainty.h"
#include "base/clean_text.h"
#include "base/drafts.h"
#include "base/exit_status.h"
#include "base/input_file.h"
#include "base/message.h"
#include "job_arms.h"
#include "job_finding.h"
#include "job_goal.h"
#include "measure/measure_photo.h"
#include "measure/photo_arms.h"
#include "measure/same_photo.h"
#include "picture/annotate.h"
#include "result/arm_uncertainty.h"
#include "result/measure_json.h"
#include "result/measure_words.h"
#include "result/reasons.h"
#include "result/sticker_turn.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

void job_measure_clear(struct job_measured *m)
{
    for (int i = 0; i < JOB_MAX_PHOTOS; i++) {
        if (m->pictures[i])
            unlink(m->pictures[i]);
        drafts_forget(m->pictures[i]);
        free(m->picture_names[i]);
        free(m->names[i]);
        free(m->records[i]);
    }
    *m = (struct job_measured){0};
}

static const char *base_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

static const char *media_of(const char *path)
{
    unsigned char start[4] = {0};
    FILE *from = input_file_open(path);
    size_t size = from ? fread(start, 1, sizeof start, from) : 0;
    if (from)
        fclose(from);
    /* The PNG signature begins with 89 50 4E 47; what else vision reads is JPEG. */
    return size == 4 && memcmp(start, "\x89PNG", 4) == 0 ? "image/png" : "image/jpeg";
}

/* A photo that was measured. */
struct taken {
    struct vision_photo *photo;
    struct vision_result result;
    json_t *json;
};

/* What is asked, what was seen, and which arm each reading takes from its photo. */
struct measuring {
    const struct job_measure_question *q;
    struct taken taken[JOB_MAX_PHOTOS];
    int readings, arm[JOB_MAX_PHOTOS];
};

#define PICTURE_SUFFIX ".png"

/* Where pictures wait until they are recorded. */
static const char *waiting_room(void)
{
    const char *folder = getenv("TMPDIR");
    return folder && *folder ? folder : "/tmp";
}

static int fail_waiting(const char *path, int reason)
{
    return fail_trouble("the picture of \"%s\" could not be kept in the folder \"%s\" for the "
                        "moment: %s. Nothing was recorded; make room there, or name another folder "
                        "in TMPDIR.",
                        path, waiting_room(), strerror(reason));
}

/* The picture with the lines drawn in, in a place of its own until it is recorded. */
static int draw_picture(struct job_measured *m, int i, const char *path, const struct taken *taken,
                        const struct annotate_goal *goal)
{
    char *place = NULL;
    if (asprintf(&place, "%s/armsquare-XXXXXX" PICTURE_SUFFIX, waiting_room()) < 0)
        return fail_trouble("there is not enough memory.");
    int fd = drafts_make(place, (int)strlen(PICTURE_SUFFIX));
    if (fd < 0) {
        int status = fail_waiting(path, errno);
        free(place);
        return status;
    }
    close(fd);
    m->pictures[i] = place;
    switch (
        annotate_write(place, base_name(path), taken->photo, &taken->result, taken->json, goal)) {
    case ANNOTATE_FINE:
        return EXIT_DONE;
    case ANNOTATE_WRITE:
        return fail_waiting(path, errno);
    default:
        return fail_trouble("the picture of \"%s\" cannot be drawn for lack of memory. Nothing was "
                            "recorded; close other programs, or save the photo smaller.",
                            path);
    }
}

static void measuring_clear(struct measuring *w)
{
    for (int i = 0; i < JOB_MAX_PHOTOS; i++) {
        json_decref(w->taken[i].json);
        vision_photo_free(w->taken[i].photo);
    }
}

/* links: what was pointed at goes into the record, too. */
static int keep_record(struct job_measured *m, int i, const char *path,
                       const struct job_links *links, struct taken *taken)
{
    taken->json = measure_json(base_name(path), &taken->result);
    if (taken->json && links) {
        json_t *balls = json_array();
        for (int b = 0; b < 4; b++)
            json_array_append_new(balls,
                                  json_pack("[f, f]", links->balls_px[b].x, links->balls_px[b].y));
        json_object_set_new(taken->json, "balls_px", balls);
        json_object_set_new(taken->json, "height_mm", json_real(links->height_mm.value));
        json_object_set_new(taken->json, "distance_mm", json_real(links->distance_mm.value));
    }
    m->records[i] = taken->json ? json_dumps(taken->json, MEASURE_JSON_FLAGS) : NULL;
    return m->records[i] ? EXIT_DONE : fail_trouble("there is not enough memory.");
}

static int refuse_photo(const char *path, const struct vision_result *result, const char *trouble)
{
    char sentence[512];
    snprintf(sentence, sizeof sentence, "%s Nothing was recorded.", trouble);
    return photo_arms_refuse(path, result, sentence);
}

#define MOST_OF_NAME 200 /* so that the reasons of all photos have room behind their names */

/* The finding is not sure, and says why. */
static void note_unsure(struct job_measured *m, const char *path, const char *sentence)
{
    char *name = clean_text(base_name(path));
    size_t length = strlen(m->message);
    m->finding.sure = false;
    snprintf(m->message + length, sizeof m->message - length, "%s%.*s: %s", length ? " " : "",
             name ? text_cut(name, MOST_OF_NAME) : 5, name ? name : "photo", sentence);
    m->message[text_cut(m->message, sizeof m->message)] = '\0';
    free(name);
}

/* Why a photo that cannot be used was meant in another way, in the job's words. NULL: it was not.
 */
static const char *meant_otherwise(const struct measuring *w, const struct taken *taken)
{
    if (!measure_photo_meant(taken->photo, w->q->given, &taken->result))
        return NULL;
    return w->q->station->kind == PLAN_CENTRED
               ? "This photo shows a crank's sticker; add --sticker."
               : "This photo shows a crank's sticker, which tells turns between photos and never "
                 "where an arm points: it is for centred stations, with --sticker. Take a photo of "
                 "the arm itself before the card, or read it by eye.";
}

static int measure_one(const struct measuring *w, struct job_measured *m, int i,
                       const struct job_links *links, struct taken *taken)
{
    const char *path = w->q->photos[i];
    struct vision_result *result = &taken->result;
    const char *trouble = measure_photo_open(path, &taken->photo, result);
    if (trouble)
        return refuse_photo(path, result, trouble);
    measure_photo(taken->photo, w->q->given, result);
    const char *meant = links ? NULL : meant_otherwise(w, taken);
    enum vision_reason reason = result->reason;
    enum vision_status status = links ? job_pair_status(result, &reason) : result->status;
    trouble = !links                    ? photo_arms_fault(result)
              : status == VISION_FAILED ? reason_sentence(reason)
                                        : NULL;
    if (trouble)
        return refuse_photo(path, result, meant ? meant : trouble);
    if (status == VISION_UNSURE)
        note_unsure(m, path, reason_sentence(reason));
    return keep_record(m, i, path, links, taken);
}

static void keep_budget(struct job_measured *m, const struct vision_arm *arm)
{
    for (int i = 0; i < arm->budget_count; i++) {
        const struct vision_budget_line *line = &arm->budget[i];
        snprintf(m->terms[i], sizeof m->terms[i], "%s", line->name);
        m->budget[i] = (struct job_budget_line){m->terms[i], line->u_deg, line->type};
    }
    m->finding.budget_count = arm->budget_count;
}

/* What the i-th reading, known to u, adds to the u of its finding: an end counts half in a middle
 * (JCGM 100:2008, 5.1.3: |c_i| u(x_i)). */
static double share_of(enum plan_kind kind, int i, int count, double u)
{
    double alone[JOB_MAX_READINGS] = {0};
    alone[i] = u;
    return job_finding_expanded(kind, alone, count);
}

/* Each reading's own contribution, where several make up the finding. */
static void keep_shares(enum plan_kind kind, struct job_measured *m)
{
    int n = m->finding.reading_count;
    for (int i = 0; i < n; i++) {
        snprintf(m->terms[i], sizeof m->terms[i], "%s", m->readings[i].role);
        m->budget[i] =
            (struct job_budget_line){m->terms[i], share_of(kind, i, n, m->readings[i].u), 'B'};
    }
    m->finding.budget_count = n;
}

/* Which photo a reading comes from: each has its own, but both links of a pair have one. */
static int photo_of(const struct measuring *w, int reading)
{
    return w->q->photo_count == w->readings ? reading : 0;
}

static const struct vision_arm *arm_of(const struct measuring *w, int reading)
{
    return &w->taken[photo_of(w, reading)].result.arms[w->arm[reading]];
}

static struct arm_shown shown_of(const struct measuring *w, int reading)
{
    return photo_arm_shown(&w->taken[photo_of(w, reading)].result, w->arm[reading]);
}

/* A part that moves from end to end is one part in all photos. One that does not look so is enough
 * to make the finding unsure. */
static void hold_to_one_part(const struct measuring *w, struct job_measured *m)
{
    const struct arm_shown first = shown_of(w, 0);
    char *name = clean_text(base_name(w->q->photos[0]));
    bool one = true;
    for (int i = 1; i < w->readings && one; i++) {
        const struct arm_shown shown = shown_of(w, i);
        char sentence[MOST_OF_NAME + 240];
        one = photo_arms_may_be_one(&first, &shown);
        snprintf(sentence, sizeof sentence,
                 "it shows another part than %.*s, or an arm is hidden in one of them: the number "
                 "of arms, or the length of the arm taken, differs. Take them again, with all arms "
                 "to be seen, or name the same arm in each with --arms.",
                 name ? text_cut(name, MOST_OF_NAME) : 15, name ? name : "the first photo");
        if (!one)
            note_unsure(m, w->q->photos[i], sentence);
    }
    free(name);
}

/* Value, u and k; says why when the readings have none. */
static int find(const struct measuring *w, struct job_measured *m)
{
    enum plan_kind kind = w->q->station->kind;
    double expanded[JOB_MAX_READINGS];
    for (int i = 0; i < w->readings; i++)
        expanded[i] = arm_expanded_deg(arm_of(w, i));
    const char *fault =
        job_finding_from_readings(w->q->station, m->readings, w->readings, &m->finding);
    if (fault)
        return fail_unusable("%s Nothing was recorded.", fault);
    m->finding.coverage = job_finding_expanded(kind, expanded, w->readings) / m->finding.u;
    return EXIT_DONE;
}

/* Whether all readings are of one sticker, measured against one and the same thing; says if not.
 * turn: how it turned, with names that w owns. */
static bool is_one_sticker(const struct measuring *w, struct sticker_turn *turn)
{
    struct sticker_photo photos[JOB_MAX_PHOTOS];
    for (int i = 0; i < w->readings; i++) {
        photos[i] = (struct sticker_photo){w->q->photos[i], &w->taken[i].result};
        if (strcmp(arm_of(w, i)->name, arm_of(w, 0)->name) != 0) {
            char sentence[160];
            snprintf(sentence, sizeof sentence,
                     "this photo shows sticker %s, the first one sticker %s; say which one with "
                     "--arms, or take the same one into each photo.",
                     arm_of(w, i)->name, arm_of(w, 0)->name);
            photo_arms_refuse(w->q->photos[i], &w->taken[i].result, sentence);
            return false;
        }
    }
    sticker_turn_make(photos, w->readings, true, turn);
    if (turn->fault)
        fail_unusable("%s Nothing was recorded.", sticker_fault_says(turn->fault));
    return !turn->fault;
}

/* The uncertainty that the photos have together, as `measure --sticker` tells it: the lens is of
 * all of them, so it has a line of its own. */
static void take_sticker_budget(const struct measuring *w, const struct sticker_turn *turn,
                                struct job_measured *m)
{
    const struct sticker_track *track = turn->tracks;
    while (strcmp(track->name, arm_of(w, 0)->name) != 0)
        track++;
    int n = m->finding.reading_count;
    for (int i = 0; i < n; i++)
        m->budget[i].u = share_of(PLAN_CENTRED, i, n, track->own_u_deg[i]);
    snprintf(m->terms[n], sizeof m->terms[n], "%s", vision_term_name(VISION_TERM_LENS));
    m->budget[n] = (struct job_budget_line){m->terms[n], track->lens_u_deg, 'B'};
    m->finding.budget_count = n + 1;
    m->finding.u = track->centre.offset.u;
    m->finding.coverage = uncertainty_normal_coverage();
}

static struct measured_photo photo_at(const void *context, size_t i)
{
    const struct measuring *w = context;
    return (struct measured_photo){w->q->photos[i], &w->taken[i].result};
}

static int choose_arms(struct measuring *w, char *said)
{
    struct job_arms_question q = {.station = w->q->station,
                                  .named = w->q->arms,
                                  .stickers = w->q->given->stickers,
                                  .readings = w->readings};
    for (int i = 0; i < w->readings; i++) {
        q.paths[i] = w->q->photos[photo_of(w, i)];
        q.results[i] = &w->taken[photo_of(w, i)].result;
    }
    return job_arms_choose(&q, w->arm, said);
}

static int measure_all(struct measuring *w, struct job_measured *m)
{
    struct job_roles roles = job_roles_of(w->q->station->kind);
    for (int i = 0; i < w->q->photo_count; i++) {
        int status = measure_one(w, m, i, NULL, &w->taken[i]);
        if (status != EXIT_DONE)
            return status;
    }
    if (refuse_same_measured(photo_at, w, (size_t)w->q->photo_count) != EXIT_DONE)
        return EXIT_USAGE;
    int status = choose_arms(w, m->arms);
    if (status != EXIT_DONE)
        return status;
    for (int i = 0; i < w->readings; i++) {
        const struct vision_arm *arm = arm_of(w, i);
        m->readings[i] = (struct job_reading){roles.name[i], arm->angle_deg, arm->u_deg,
                                              m->records[photo_of(w, i)]};
    }
    if (w->q->station->kind == PLAN_CENTRED && !w->q->given->stickers)
        hold_to_one_part(w, m);
    struct sticker_turn turn = {.track_count = 0};
    if (w->q->given->stickers && !is_one_sticker(w, &turn))
        return EXIT_UNUSABLE;
    m->finding.reading_count = w->readings;
    if (w->readings == 1)
        keep_budget(m, arm_of(w, 0));
    else
        keep_shares(w->q->station->kind, m);
    status = find(w, m);
    if (status == EXIT_DONE && w->q->given->stickers)
        take_sticker_budget(w, &turn, m);
    return status;
}

/* Both links of a pair from one photo. */
static int measure_links(struct measuring *w, struct job_measured *m)
{
    struct job_roles roles = job_roles_of(PLAN_PAIR);
    struct quantity length_mm[2];
    const char *path = w->q->photos[0];
    int status = measure_one(w, m, 0, w->q->links, &w->taken[0]);
    if (status != EXIT_DONE)
        return status;
    const char *wrong = job_pair_lengths(w->q->links, &w->taken[0].result, length_mm);
    if (wrong)
        return refuse_photo(path, &w->taken[0].result, wrong);
    for (int i = 0; i < 2; i++)
        m->readings[i] =
            (struct job_reading){roles.name[i], length_mm[i].value, length_mm[i].u, m->records[0]};
    m->finding.reading_count = 2;
    m->finding.coverage = uncertainty_normal_coverage();
    keep_shares(PLAN_PAIR, m);
    const char *fault = job_finding_from_readings(w->q->station, m->readings, 2, &m->finding);
    return fault ? refuse_photo(path, &w->taken[0].result, fault) : EXIT_DONE;
}

/* ---- Pictures ----------------------------------------------------------------------------- */

static int keep_photo(const struct measuring *w, int i, struct job_measured *m)
{
    const int last = w->readings - 1, reading = photo_of(w, last) == i ? last : i;
    struct job_goal_question asked = {
        .station = w->q->station,
        .finding = &m->finding,
        .seen = &w->taken[i].result,
        .arm = w->arm[reading],
        .reading = reading,
        .readings = w->readings,
        .photos = w->q->photo_count,
        .balls_px = w->q->station->kind == PLAN_PAIR ? w->q->links->balls_px : NULL,
    };
    struct job_goal goal = {.from = ""};
    const char *path = w->q->photos[i];
    job_goal_make(&asked, &goal);
    m->names[i] = strdup(base_name(path));
    if (!m->names[i] || asprintf(&m->picture_names[i], "%s.armsquare.png", m->names[i]) < 0) {
        m->picture_names[i] = NULL;
        return fail_trouble("there is not enough memory.");
    }
    int status = draw_picture(m, i, path, &w->taken[i], &goal.goal);
    if (status != EXIT_DONE)
        return status;
    int n = m->finding.photo_count;
    m->photos[n] = (struct job_photo){i, "taken", m->names[i], media_of(path), path, NULL, 0};
    m->photos[n + 1] = (struct job_photo){
        i, "annotated", m->picture_names[i], "image/png", m->pictures[i], NULL, 0};
    m->finding.photo_count = n + 2;
    return EXIT_DONE;
}

/* All arms of one photo sit on one hub: to each other they lie as they were made, whatever horn and
 * crank do. */
static int check_photo_count(const struct job_measure_question *q, int readings)
{
    enum plan_kind kind = q->station->kind;
    if (q->photo_count == (kind == PLAN_PAIR ? 1 : readings))
        return EXIT_DONE;
    if (kind == PLAN_PAIR)
        return fail_usage("a pair of links is measured in one photo that shows both.");
    if (kind == PLAN_PARALLEL && q->photo_count == 1)
        return fail_usage("station \"%s\" compares two parts, and the arms in one photo are all of "
                          "one; give a photo of each part: the first one's, then the second one's.",
                          q->station->key);
    return fail_usage(
        "station \"%s\" (%s) takes %d photo%s.", q->station->key, plan_kind_word(kind), readings,
        readings == 1   ? "; the mean of several, which \"measure --together\" tells, "
                          "goes in with its ±, such as --angle 97.3±0.3, and --note \"mean\""
        : readings == 3 ? "s: one end, the other end, neutral"
                        : "s, one of each part");
}

int job_measure_photos(const struct job_measure_question *q, struct job_measured *out)
{
    struct measuring w = {.q = q, .readings = job_roles_of(q->station->kind).most};
    *out = (struct job_measured){0};
    int status = check_photo_count(q, w.readings);
    if (status == EXIT_DONE && q->photo_count > 1 && measure_options_point(q->given))
        status = measure_options_of_one_photo();
    if (status == EXIT_DONE)
        status = refuse_same_photo(q->photos, (size_t)q->photo_count, sizeof *q->photos);
    if (status != EXIT_DONE)
        return status;
    out->finding = (struct job_finding){.sure = true,
                                        .method = "photo",
                                        .message = out->message,
                                        .readings = out->readings,
                                        .budget = out->budget,
                                        .photos = out->photos};
    status = q->station->kind == PLAN_PAIR ? measure_links(&w, out) : measure_all(&w, out);
    for (int i = 0; i < q->photo_count && status == EXIT_DONE; i++)
        status = keep_photo(&w, i, out);
    measuring_clear(&w);
    if (status != EXIT_DONE)
        job_measure_clear(out);
    return status;
}
