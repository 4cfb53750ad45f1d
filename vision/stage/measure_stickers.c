/* The turn of stickers against what does not turn: card, or a fixed sticker. */
#include "budget/budget.h"
#include "maths/angle.h"
#include "stage.h"
#include "sticker.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define MIN_STICKER_PX 24.0 /* side of its black square: three pixels a cell */
/* Of one that others are measured against: below, its pose may be off by more than its corners
 * tell. docs/decisions.md, "Stickers". */
#define SURE_FIXED_PX 65.0
/* Paper glued by hand on a moulded face, and a card held or laid beside it: common practice. */
#define STICKER_TILT_DEG 3.0

struct sticker_set {
    int count;
    struct sticker_fix fixes[MARKERS_MAX_STICKERS];
    bool twice;
};

static int count_of(const struct sticker_set *set, bool fixed)
{
    int n = 0;
    for (int i = 0; i < set->count; i++)
        n += set->fixes[i].sticker->fixed == fixed;
    return n;
}

/* The same order in every photo, whatever was found first. */
static int by_id(const void *a, const void *b)
{
    return ((const struct sticker_fix *)a)->sticker->face.markers[0].id -
           ((const struct sticker_fix *)b)->sticker->face.markers[0].id;
}

/* Ever finer until there is one that turns and something fixed to compare it with. */
static enum vision_reason find_stickers(const struct stage *s, bool have_card,
                                        struct sticker_set *out)
{
    int side = stage_long_side_px(s);
    enum markers_effort effort = MARKERS_QUICK;
    *out = (struct sticker_set){0};
    for (int reduce = stage_reduce_for(side, STAGE_SEARCH_SIDE_PX);
         reduce > 0 && (effort == MARKERS_QUICK || side / reduce <= STAGE_FINEST_SIDE_PX);
         reduce /= 2, effort = MARKERS_THOROUGH) {
        struct vision_image grey;
        struct sticker_set found = {0};
        enum vision_reason reason = vision_photo_decode(s->photo, reduce, NULL, 1, &grey);
        if (reason != VISION_REASON_NONE)
            return reason;
        reason = markers_find_stickers(&grey, effort, found.fixes, &found.count, &found.twice);
        vision_image_clear(&grey);
        if (reason != VISION_REASON_NONE)
            return reason;
        qsort(found.fixes, (size_t)found.count, sizeof found.fixes[0], by_id);
        if (found.count >= out->count)
            *out = found;
        if (count_of(out, false) > 0 && (have_card || count_of(out, true) > 0))
            break;
    }
    return VISION_REASON_NONE;
}

/* Decodes a sticker's surroundings as finely as its edges need and refines it. */
static enum vision_reason refine_sticker(const struct stage *s, const struct plane_lens *lens,
                                         struct sticker_fix *fix)
{
    double side = markers_side_px(fix->corners_px), x0 = 1e9, y0 = 1e9, x1 = -1e9, y1 = -1e9;
    int reduce = stage_reduce_for(side / fix->sticker->face.marker_mm, 2 * STAGE_FINE_PX_PER_MM);
    for (int k = 0; k < 4; k++) {
        x0 = fmin(x0, fix->corners_px[k].x - side / 4);
        y0 = fmin(y0, fix->corners_px[k].y - side / 4);
        x1 = fmax(x1, fix->corners_px[k].x + side / 4);
        y1 = fmax(y1, fix->corners_px[k].y + side / 4);
    }
    struct vision_rect area = {(int)fmax(0, x0), (int)fmax(0, y0),
                               (int)fmin(s->out->photo.width_px, x1 + 1),
                               (int)fmin(s->out->photo.height_px, y1 + 1)};
    struct vision_image image;
    if (side < MIN_STICKER_PX)
        return VISION_SMALL_STICKER;
    enum vision_reason reason = vision_photo_decode(s->photo, reduce, &area, 1, &image);
    if (reason != VISION_REASON_NONE)
        return reason;
    bool good = markers_refine_sticker(&image, lens, fix);
    vision_image_clear(&image);
    if (good && fix->uneven_light)
        stage_note(s->out, VISION_UNSURE, VISION_SMALL_STICKER);
    return good ? VISION_REASON_NONE : VISION_HIDDEN_STICKER;
}

/* The card, where there is a good one, as what does not turn. */
static bool fixed_by_card(struct stage *s, struct sticker_question *q)
{
    struct vision_result none = *s->out;
    if (!stage_card(s)) {
        enum vision_reason reason = s->out->reason;
        const bool camera = reason == VISION_OTHER_LENS || reason == VISION_OTHER_FOCAL;
        none.reason = camera || stage_is_file_reason(reason) ? reason : VISION_REASON_NONE;
        *s->out = none;
        return false;
    }
    q->count = 4 * s->fix.markers;
    for (int i = 0; i < q->count; i++) {
        q->mm[i] = markers_corner_mm(&s->fix, i / 4, i % 4);
        q->px[i] = s->fix.corners_px[i];
    }
    /* eight of the coordinates went into the plane */
    q->sigma_px = fmax(0.04, s->fix.plane.rms_px * sqrt(q->count / fmax(1, q->count - 4.0)));
    return true;
}

/* The largest fixed sticker. */
static enum vision_reason fixed_by_sticker(struct stage *s, struct sticker_set *set,
                                           struct sticker_question *q)
{
    struct vision_result *out = s->out;
    struct sticker_fix *best = NULL;
    for (int i = 0; i < set->count; i++)
        if (set->fixes[i].sticker->fixed && (!best || markers_side_px(set->fixes[i].corners_px) >
                                                          markers_side_px(best->corners_px)))
            best = &set->fixes[i];
    if (!best)
        return VISION_NO_FIXED;
    enum vision_reason reason = refine_sticker(s, &q->lens, best);
    if (reason != VISION_REASON_NONE)
        return reason;
    if (markers_side_px(best->corners_px) < SURE_FIXED_PX)
        stage_note(out, VISION_UNSURE, VISION_SMALL_STICKER);
    const struct vision_sticker *sticker = out->fixed = best->sticker;
    double half = sticker->face.marker_mm / 2;
    static const struct vision_point square[4] = {{-1, 1}, {1, 1}, {1, -1}, {-1, -1}};
    struct plane_lens as_known = q->lens;
    as_known.unknowns = 0;
    q->count = 4;
    q->sigma_px = best->sigma_px;
    for (int k = 0; k < 4; k++) {
        q->mm[k] = (struct vision_point){square[k].x * half, square[k].y * half};
        q->px[k] = best->corners_px[k];
        out->corners_px[3 - k] = best->corners_px[k]; /* bottom left, ..., top left */
    }
    if (!plane_fit(q->mm, q->px, 4, q->sigma_px, &as_known, &s->fix.plane))
        return VISION_HIDDEN_STICKER;
    stage_describe_view(s);
    return stage_is_too_steep(s) ? VISION_STEEP_VIEW : VISION_REASON_NONE;
}

static void judge_sticker(struct stage *s, const struct sticker_answer *a)
{
    const double bent = 3, /* times what the sides' scatter explains */
        steep_deg = 3 * STICKER_TILT_DEG;
    if (a->misfit > bent)
        stage_note(s->out, VISION_UNSURE, VISION_HIDDEN_STICKER);
    if (a->slope_deg - 2 * a->slope_u_deg > fmax(steep_deg, 3 * s->options->card_tilt_deg))
        stage_note(s->out, VISION_UNSURE, VISION_TILTED_STICKER);
}

static void take_sticker(struct stage *s, const struct sticker_fix *fix,
                         const struct sticker_answer *a)
{
    struct vision_result *out = s->out;
    struct vision_arm *arm = &out->arms[out->arm_count];
    struct vision_point centre = {0};
    for (int k = 0; k < 4; k++) {
        centre.x += fix->corners_px[k].x / 4;
        centre.y += fix->corners_px[k].y / 4;
    }
    double c = cos(a->direction_deg / DEG), d = sin(a->direction_deg / DEG);
    *arm = (struct vision_arm){
        .angle_deg = a->direction_deg, .length_mm = fix->sticker->face.height_mm, .hub_px = centre};
    snprintf(arm->name, sizeof arm->name, "%s", fix->sticker->name);
    arm->tip_px =
        vision_plane_to_photo(&out->plane, (struct vision_point){a->at_mm.x + arm->length_mm * c,
                                                                 a->at_mm.y + arm->length_mm * d});
    budget_add(arm, VISION_TERM_CORNERS, a->corners_deg, BUDGET_JUDGED_DOF);
    budget_add(arm, VISION_TERM_STICKER_TILT, a->tilt_u_deg, BUDGET_JUDGED_DOF);
    budget_add(arm, VISION_TERM_LENS, a->lens_deg, BUDGET_JUDGED_DOF);
    budget_add(arm, VISION_TERM_PRINT, budget_print_deg(a->direction_deg / DEG, 0),
               BUDGET_JUDGED_DOF);
    budget_sum(arm);
    out->slopes[out->arm_count++] =
        (struct vision_slope){a->slope_deg, a->slope_u_deg, {a->shared_deg[0], a->shared_deg[1]}};
}

static enum vision_reason measure_stickers(struct stage *s)
{
    struct sticker_question q = {.tilt_deg = fmax(STICKER_TILT_DEG, s->options->card_tilt_deg)};
    struct sticker_set set;
    enum vision_reason reason;
    if (!stage_choose_lens(s, &q.lens))
        return VISION_OTHER_LENS;
    bool card = fixed_by_card(s, &q);
    if (!card && s->out->reason != VISION_REASON_NONE)
        return s->out->reason;
    if ((reason = find_stickers(s, card, &set)) != VISION_REASON_NONE)
        return reason;
    if (set.twice)
        return VISION_SAME_STICKERS;
    if (count_of(&set, false) == 0)
        return VISION_NO_STICKER;
    if (!card && (reason = fixed_by_sticker(s, &set, &q)) != VISION_REASON_NONE)
        return reason;
    q.focal_px = s->focal_px;
    q.focal_u = s->focal_u;
    for (int i = 0; i < set.count && s->out->arm_count < VISION_MAX_ARMS; i++) {
        struct sticker_answer answer;
        if (set.fixes[i].sticker->fixed)
            continue;
        if ((reason = refine_sticker(s, &q.lens, &set.fixes[i])) != VISION_REASON_NONE)
            return reason;
        q.sticker = &set.fixes[i];
        if (!sticker_solve(&q, &answer))
            return VISION_HIDDEN_STICKER;
        judge_sticker(s, &answer);
        take_sticker(s, &set.fixes[i], &answer);
    }
    return VISION_REASON_NONE;
}

void vision_measure_stickers(const struct vision_photo *photo, const struct vision_options *options,
                             struct vision_result *out)
{
    struct stage s = stage_start(photo, options, out);
    out->of_stickers = true;
    enum vision_reason reason = measure_stickers(&s);
    if (reason != VISION_REASON_NONE) {
        stage_fail(out, reason);
        out->arm_count = 0;
    }
    for (int k = 0; k < 2; k++) /* its x axis, for drawing */
        if (out->px_per_mm > 0)
            out->reference_px[k] = out->corners_px[k];
    stage_end(&s);
}
