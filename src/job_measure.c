#include "job_measure.h"

#include "annotate.h"
#include "arm_uncertainty.h"
#include "commands.h"
#include "job_finding.h"
#include "measure_json.h"
#include "measure_photo.h"
#include "measure_words.h"
#include "message.h"
#include "reasons.h"

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
        free(m->pictures[i]);
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
    FILE *from = fopen(path, "rb");
    size_t size = from ? fread(start, 1, sizeof start, from) : 0;
    if (from)
        fclose(from);
    /* The PNG signature begins with 89 50 4E 47; what else vision reads is JPEG. */
    return size == 4 && memcmp(start, "\x89PNG", 4) == 0 ? "image/png" : "image/jpeg";
}

/* The picture with the lines drawn in, in a place of its own until it is recorded. */
static int draw_picture(struct job_measured *m, int i, const char *path,
                        const struct vision_photo *photo, const struct vision_result *result,
                        const json_t *json)
{
    const char *folder = getenv("TMPDIR");
    char *place = NULL;
    if (asprintf(&place, "%s/armsquare-XXXXXX.png", folder && *folder ? folder : "/tmp") < 0)
        return fail_trouble("there is not enough memory.");
    int fd = mkstemps(place, 4);
    if (fd < 0) {
        int status = fail_trouble("%s cannot be written: %s.", place, strerror(errno));
        free(place);
        return status;
    }
    close(fd);
    m->pictures[i] = place;
    switch (annotate_write(place, base_name(path), photo, result, json)) {
    case ANNOTATE_FINE:
        return EXIT_DONE;
    case ANNOTATE_WRITE:
        return fail_trouble("%s cannot be written: %s.", place, strerror(errno));
    default:
        return fail_trouble("the picture of %s cannot be drawn.", path);
    }
}

static int keep_photo(struct job_measured *m, int i, const char *path,
                      const struct vision_photo *photo, const struct vision_result *result)
{
    json_t *json = measure_json(base_name(path), result);
    m->records[i] = json ? json_dumps(json, MEASURE_JSON_FLAGS) : NULL;
    m->names[i] = strdup(base_name(path));
    int status = m->records[i] && m->names[i] ? draw_picture(m, i, path, photo, result, json)
                                              : fail_trouble("there is not enough memory.");
    json_decref(json);
    if (status == EXIT_DONE &&
        asprintf(&m->picture_names[i], "%s.armsquare.png", m->names[i]) < 0) {
        m->picture_names[i] = NULL;
        status = fail_trouble("there is not enough memory.");
    }
    if (status != EXIT_DONE)
        return status;
    int n = m->finding.photo_count;
    m->photos[n] = (struct job_photo){i, "taken", m->names[i], media_of(path), path, NULL, 0};
    m->photos[n + 1] = (struct job_photo){
        i, "annotated", m->picture_names[i], "image/png", m->pictures[i], NULL, 0};
    m->finding.photo_count = n + 2;
    return EXIT_DONE;
}

static int measure_one(struct job_measured *m, int i, const char *path,
                       const struct measure_words_given *given, struct vision_result *result)
{
    struct vision_photo *photo = NULL;
    enum vision_reason reason = vision_photo_open(path, &photo);
    if (reason != VISION_REASON_NONE)
        return fail_unusable("%s: %s", path, reason_sentence(reason));
    measure_photo(photo, given, result);
    int status = EXIT_DONE;
    if (result->status == VISION_FAILED || result->arm_count < 1)
        status = fail_unusable("%s: %s Nothing was recorded.", path,
                               reason_sentence(result->reason ? result->reason : VISION_NO_ARM));
    else
        status = keep_photo(m, i, path, photo, result);
    if (result->status == VISION_UNSURE) {
        m->finding.sure = false;
        snprintf(m->message, sizeof m->message, "%s: %s", base_name(path),
                 reason_sentence(result->reason));
    }
    vision_photo_free(photo);
    return status;
}

/* The which-th name of "A,C"; the last one when there are fewer; "" when none is given. */
static void arm_name(const char *arms, int which, char name[8])
{
    snprintf(name, 8, "%.7s", arms ? arms : "");
    name[strcspn(name, ",")] = '\0';
    for (int i = 0; arms && i < which; i++) {
        arms = strchr(arms, ',');
        if (!arms)
            break;
        snprintf(name, 8, "%.7s", ++arms);
        name[strcspn(name, ",")] = '\0';
    }
}

/* The arm that a reading takes from a photo. otherwise: the one when none is named. NULL (said
 * why) when the photo shows no such arm. */
static const struct vision_arm *choose_arm(const struct job_measure_question *q,
                                           const struct vision_result *result, const char *path,
                                           int which, int otherwise)
{
    char name[8];
    arm_name(q->arms, which, name);
    if (!*name && otherwise < result->arm_count)
        return &result->arms[otherwise];
    for (int i = 0; i < result->arm_count; i++)
        if (strcmp(result->arms[i].name, name) == 0)
            return &result->arms[i];
    if (*name)
        fail_unusable("%s: there is no arm %s in this photo; it shows arms A to %s.", path, name,
                      result->arms[result->arm_count - 1].name);
    else
        fail_unusable("%s: this photo shows one arm; the station compares two. Give a photo of "
                      "each, or one that shows both.",
                      path);
    return NULL;
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

/* Each reading's own contribution, where several make up the finding. */
static void keep_shares(struct job_measured *m)
{
    for (int i = 0; i < m->finding.reading_count; i++) {
        snprintf(m->terms[i], sizeof m->terms[i], "%s", m->readings[i].role);
        m->budget[i] = (struct job_budget_line){m->terms[i], m->readings[i].u, 'B'};
    }
    m->finding.budget_count = m->finding.reading_count;
}

/* expanded[i]: the U of each reading. */
static int measure_all(const struct job_measure_question *q, int readings, struct job_measured *m,
                       double expanded[JOB_MAX_PHOTOS])
{
    struct job_roles roles = job_roles_of(q->station->kind);
    struct vision_result result = {0};
    const struct vision_arm *arm = NULL;
    int status = EXIT_DONE;
    for (int i = 0; i < readings && status == EXIT_DONE; i++) {
        bool own_photo = q->photo_count == readings;
        const char *path = q->photos[own_photo ? i : 0];
        if (own_photo || i == 0)
            status = measure_one(m, i, path, q->given, &result);
        if (status != EXIT_DONE)
            break;
        arm = choose_arm(q, &result, path, i, own_photo ? 0 : i);
        if (!arm)
            return EXIT_UNUSABLE;
        m->readings[i] = (struct job_reading){roles.name[i], arm->angle_deg, arm->u_deg,
                                              m->records[own_photo ? i : 0]};
        expanded[i] = arm_expanded_deg(arm);
    }
    m->finding.reading_count = readings;
    if (readings == 1 && status == EXIT_DONE)
        keep_budget(m, arm);
    else if (status == EXIT_DONE)
        keep_shares(m);
    return status;
}

/* Value, u and k. For several readings their U are combined as their u are, which is never less
 * than effective degrees of freedom would give. */
static void find(const struct job_measure_question *q, int readings,
                 const double expanded[JOB_MAX_PHOTOS], struct job_measured *m)
{
    struct job_reading wide[JOB_MAX_PHOTOS];
    struct job_finding of_wide = {0};
    for (int i = 0; i < readings; i++) {
        wide[i] = m->readings[i];
        wide[i].u = expanded[i];
    }
    job_finding_from_readings(q->station->kind, m->readings, readings, &m->finding);
    job_finding_from_readings(q->station->kind, wide, readings, &of_wide);
    m->finding.coverage = of_wide.u / m->finding.u;
}

int job_measure_photos(const struct job_measure_question *q, struct job_measured *out)
{
    int readings = job_roles_of(q->station->kind).most;
    *out = (struct job_measured){0};
    if (q->station->kind == PLAN_PAIR)
        return fail_usage("links are measured with calipers: --lengths MM,MM --u MM");
    if (q->photo_count != readings && !(readings == 2 && q->photo_count == 1))
        return fail_usage("station \"%s\" (%s) takes %d photo%s.", q->station->key,
                          plan_kind_word(q->station->kind), readings,
                          readings == 1   ? ""
                          : readings == 3 ? "s: one end, the other end, neutral"
                                          : "s, one of each arm, or one that shows both");
    double expanded[JOB_MAX_PHOTOS] = {0};
    out->finding = (struct job_finding){.sure = true,
                                        .method = "photo",
                                        .message = out->message,
                                        .readings = out->readings,
                                        .budget = out->budget,
                                        .photos = out->photos};
    int status = measure_all(q, readings, out, expanded);
    if (status == EXIT_DONE)
        find(q, readings, expanded, out);
    else
        job_measure_clear(out);
    return status;
}
