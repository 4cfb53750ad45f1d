#include "photo_set.h"
#include "parallel.h"

#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FAR_OFF_DEG 20 /* further from every true arm: not a badly measured arm but none at all */

/* ---- one photo ------------------------------------------------------------------------------ */

static double apart_deg(double a, double b)
{
    return fabs(remainder(a - b, 360));
}

/* Lines have no head: against an edge or link an arm's angle is the same 180 degrees on. */
static double apart_half_deg(double a, double b)
{
    return fabs(remainder(a - b, 180));
}

/* The closest pair first, each arm once. partner[i] is the true arm of reported arm i, or -1. */
static void match_arms(const struct truth *truth, const struct vision_result *result, int *partner)
{
    bool taken[VISION_MAX_ARMS] = {false};
    for (int i = 0; i < VISION_MAX_ARMS; i++)
        partner[i] = -1;
    for (;;) {
        double best = FAR_OFF_DEG;
        int found = -1, with = -1;
        for (int i = 0; i < result->arm_count; i++)
            for (int j = 0; j < truth->arm_count && partner[i] < 0; j++) {
                double apart = apart_deg(result->arms[i].angle_deg, truth->arms[j].angle_deg);
                if (!taken[j] && apart < best) {
                    best = apart;
                    found = i;
                    with = j;
                }
            }
        if (found < 0)
            return;
        partner[found] = with;
        taken[with] = true;
    }
}

static bool badly_wrong(double error_deg, double u_deg)
{
    return error_deg > fmax(1, 4 * u_deg);
}

/* NULL where nothing can be measured. */
static const struct truth_arm *nearest_arm(const struct truth *truth, double angle_deg)
{
    const struct truth_arm *nearest = NULL;
    for (int i = 0; i < truth->arm_count; i++)
        if (!nearest || apart_deg(angle_deg, truth->arms[i].angle_deg) <
                            apart_deg(angle_deg, nearest->angle_deg))
            nearest = &truth->arms[i];
    return nearest;
}

static double nearest_arm_deg(const struct truth *truth, double angle_deg)
{
    const struct truth_arm *arm = nearest_arm(truth, angle_deg);
    return arm ? apart_deg(angle_deg, arm->angle_deg) : 180;
}

static void judge(struct outcome *o)
{
    int partner[VISION_MAX_ARMS] = {0};
    const struct vision_result *r = &o->result;
    if (r->status == VISION_FAILED)
        return;
    match_arms(&o->truth, r, partner);
    for (int i = 0; i < r->arm_count; i++) {
        const struct vision_arm *arm = &r->arms[i];
        bool real = partner[i] >= 0;
        double error = real ? apart_deg(arm->angle_deg, o->truth.arms[partner[i]].angle_deg)
                            : nearest_arm_deg(&o->truth, arm->angle_deg);
        if (real)
            o->signed_error_deg[i] =
                remainder(arm->angle_deg - o->truth.arms[partner[i]].angle_deg, 360);
        o->real[i] = real;
        o->invented += !real;
        o->compared += real;
        o->covered += real && error <= 2 * arm->u_deg;
        o->silent_wrong |= r->status == VISION_OK && (!real || badly_wrong(error, arm->u_deg));
        if (error >= o->worst_deg) {
            o->worst_deg = error;
            o->worst_u_deg = arm->u_deg;
        }
    }
    o->missed = o->truth.arm_count - o->compared;
}

static void judge_other(struct outcome *o)
{
    const struct vision_result *r = &o->other;
    if (r->status == VISION_FAILED)
        return;
    for (int i = 0; i < r->arm_count; i++) {
        /* which arm it is its place on the card tells; a reference line has no sense of its own */
        const struct truth_arm *arm =
            nearest_arm(&o->truth, r->arms[i].angle_deg + r->reference_deg);
        double error =
            arm ? apart_half_deg(r->arms[i].angle_deg, arm->angle_deg - o->truth.reference_deg)
                : 90;
        o->other_worst_deg = fmax(o->other_worst_deg, error);
        o->other_silent_wrong |= r->status == VISION_OK && badly_wrong(error, r->arms[i].u_deg);
    }
}

static double corner_error_px(const struct outcome *o)
{
    double worst = o->result.card ? 0 : -1;
    for (int i = 0; i < 4 && o->result.card; i++)
        worst = fmax(worst, hypot(o->result.corners_px[i].x - o->truth.corners_px[i].x,
                                  o->result.corners_px[i].y - o->truth.corners_px[i].y));
    return worst;
}

/* The lens the photo was made with, known as nine good photos of a card make it known
 * (tests/check_lens_program.c): 0.2 %, 2 px and 0.003, k1 and k2 mostly against each other. */
static struct vision_lens lens_of(const struct truth *truth, const struct vision_photo_info *info)
{
    enum { N = VISION_LENS_UNKNOWNS };
    struct vision_lens lens = {
        .name = "true lens", .focal_px = truth->focal_px, .k1 = truth->k1, .k2 = truth->k2};
    const double u[N] = {0.002 * truth->focal_px, 2, 2, 0.003, 0.006};
    vision_sensor_size(info, &lens.width_px, &lens.height_px);
    lens.centre_px = (struct vision_point){(lens.width_px - 1) / 2.0, (lens.height_px - 1) / 2.0};
    for (int j = 0; j < N; j++)
        lens.cov[j * N + j] = u[j] * u[j];
    lens.cov[3 * N + 4] = lens.cov[4 * N + 3] = -0.9 * u[3] * u[4];
    return lens;
}

/* A finger on a screen misses by a few pixels: as far each time, in directions spread evenly. */
static struct vision_point missed(struct vision_point at, int i)
{
    const double miss_px = 4, golden_rad = 2.39996;
    return (struct vision_point){at.x + miss_px * cos(golden_rad * i),
                                 at.y + miss_px * sin(golden_rad * i)};
}

static void point_at_arms(const struct vision_photo *photo, struct vision_options options,
                          struct outcome *o)
{
    options.have_arm_hint = true;
    options.reference = VISION_REFERENCE_CARD;
    for (int i = 0; i < o->truth.arm_count; i++) {
        struct vision_result r;
        struct pointed_outcome *p = &o->pointed[i];
        options.hub_hint_px = missed(o->truth.hub_px, 2 * i);
        options.tip_hint_px = missed(o->truth.arms[i].tip_px, 2 * i + 1);
        vision_measure(photo, &options, &r);
        *p = (struct pointed_outcome){.status = r.status, .error_deg = NAN, .u_deg = NAN};
        if (r.status == VISION_FAILED || r.arm_count == 0)
            continue;
        p->error_deg = apart_deg(r.arms[0].angle_deg, o->truth.arms[i].angle_deg);
        p->u_deg = r.arms[0].u_deg;
        p->silent_wrong = r.status == VISION_OK && badly_wrong(p->error_deg, p->u_deg);
    }
}

static void measure_one(void *context, size_t i)
{
    struct outcome *o = &((struct outcome *)context)[i];
    struct vision_options options = vision_options_default();
    struct vision_photo *photo;
    enum vision_reason reason = vision_photo_open(o->path, &photo);
    if (reason != VISION_REASON_NONE) {
        o->result = o->other = (struct vision_result){.status = VISION_FAILED, .reason = reason};
        o->corner_px = -1;
        return;
    }
    struct vision_lens lens = lens_of(&o->truth, vision_photo_get_info(photo));
    options.lens = o->true_lens ? &lens : o->lens;
    vision_measure(photo, &options, &o->result);
    if (o->truth.reference != VISION_REFERENCE_CARD) {
        options.reference = o->truth.reference;
        memcpy(options.hint_px, o->truth.hint_px, sizeof options.hint_px);
        vision_measure(photo, &options, &o->other);
        judge_other(o);
    }
    if (o->point)
        point_at_arms(photo, options, o);
    vision_photo_free(photo);
    judge(o);
    o->corner_px = corner_error_px(o);
}

/* ---- the folder ----------------------------------------------------------------------------- */

static int is_truth(const struct dirent *entry)
{
    size_t n = strlen(entry->d_name);
    return n > 5 && strcmp(entry->d_name + n - 5, ".json") == 0;
}

static bool wanted(const struct truth *truth, const char *set)
{
    return strcmp(set, "all") == 0 || strcmp(set, truth->set) == 0;
}

/* Reads one truth file. Counts the photo where its set is wanted. */
static bool read_truth(const char *folder, const char *name, const char *set,
                       struct outcome *outcome, size_t *count)
{
    char path[600];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    if (!truth_read(path, &outcome->truth)) {
        fprintf(stderr, "%s is no truth file\n", path);
        return false;
    }
    if (wanted(&outcome->truth, set)) {
        snprintf(outcome->path, sizeof outcome->path, "%s/%s", folder, outcome->truth.photo);
        ++*count;
    }
    return true;
}

struct outcome *photo_set_read(const char *folder, const char *set, size_t *count_out)
{
    struct dirent **names;
    int n = scandir(folder, &names, is_truth, alphasort);
    struct outcome *outcomes = n > 0 ? calloc((size_t)n, sizeof *outcomes) : NULL;
    bool good = outcomes != NULL;
    *count_out = 0;
    for (int i = 0; i < n; i++) {
        good = good && read_truth(folder, names[i]->d_name, set, &outcomes[*count_out], count_out);
        free(names[i]);
    }
    if (n >= 0)
        free(names);
    if (good)
        return outcomes;
    free(outcomes);
    return NULL;
}

static void nothing_more(void *context, size_t i)
{
    (void)context;
    (void)i;
}

void photo_set_measure(struct outcome *outcomes, size_t count, bool true_lens, bool pointed)
{
    for (size_t i = 0; i < count; i++) {
        outcomes[i].true_lens = true_lens;
        outcomes[i].point = pointed && outcomes[i].truth.measurable;
    }
    parallel_in_order(0, count, measure_one, nothing_more, outcomes);
}
