/* The stages in order: decode, card, light and silhouette, part, edges, reference, budget. */
#include "budget.h"
#include "disc.h"
#include "edge_fit.h"
#include "lens.h"
#include "linalg.h"
#include "markers.h"
#include "median.h"
#include "part.h"
#include "reference.h"
#include "silhouette.h"
#include "spacing.h"
#include "sticker.h"
#include "vision.h"
#include "witness.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define DEG (180 / 3.14159265358979323846)

/* Markers are looked for quickly in a picture of this many pixels or up to twice as many on its
 * long side; where that finds too few, thoroughly in finer ones up to FINEST_SEARCH_SIDE_PX. */
#define SEARCH_SIDE_PX 1000
#define FINEST_SEARCH_SIDE_PX 6000
/* Enough for the edges: more pixels cost time and show the same blur. docs/decisions.md. */
#define FINE_PX_PER_MM 18.0
#define MIN_PX_PER_MM 2.5
#define MAX_OBLIQUITY_DEG 55.0
#define UNSURE_OBLIQUITY_DEG 45.0

struct stage {
    const struct vision_photo *photo;
    const struct vision_options *options;
    struct vision_result *out;
    struct card_fix fix;
    struct vision_image image; /* the card's surroundings, RGB */
    struct silhouette silhouette;
    struct part_field *field;
    struct part part;                         /* arms in the order of fits, poor ones left out */
    struct part whole;                        /* as found, for links that leave an arm left out */
    struct arm_edges *edges[VISION_MAX_ARMS]; /* of its arms, while lines are fitted */
    struct arm_fit fits[VISION_MAX_ARMS];
    struct rim outline; /* of a disc, where one was seen: seen > 0 */
    double focal_px;
    double camera_mm[3]; /* card frame */
    struct vision_point middle_px;
};

struct vision_options vision_options_default(void)
{
    return (struct vision_options){.reference = VISION_REFERENCE_CARD,
                                   .bar_scale_x = 1,
                                   .bar_scale_y = 1,
                                   .card_tilt_deg = 0.4};
}

static void note(struct vision_result *out, enum vision_status status, enum vision_reason reason)
{
    if (status <= out->status)
        return; /* the first of the gravest counts */
    out->status = status;
    out->reason = reason;
}

static bool fail(struct vision_result *out, enum vision_reason reason)
{
    out->status = VISION_FAILED;
    out->reason = reason;
    return false;
}

/* ---- Card ----------------------------------------------------------------------------------- */

static int reduce_for(int long_side_px, int target_px)
{
    int reduce = 1;
    while (reduce < 8 && long_side_px / (reduce * 2) >= target_px)
        reduce *= 2;
    return reduce;
}

static int long_side_px(const struct stage *s)
{
    int width = s->out->photo.width_px, height = s->out->photo.height_px;
    return width > height ? width : height;
}

static enum vision_reason search(const struct stage *s, int reduce, enum markers_effort effort,
                                 struct card_fix *out)
{
    struct vision_image grey;
    enum vision_reason reason = vision_photo_decode(s->photo, reduce, NULL, 1, &grey);
    if (reason != VISION_REASON_NONE)
        return reason;
    reason = markers_find(&grey, effort, s->options, out);
    vision_image_clear(&grey);
    return reason;
}

static bool is_file_reason(enum vision_reason reason)
{
    return reason > VISION_REASON_NONE && reason <= VISION_NO_MEMORY;
}

static bool card_is_found(enum vision_reason reason, const struct card_fix *fix)
{
    const int enough = 4;
    return reason == VISION_REASON_NONE && fix->markers >= enough;
}

static enum vision_reason find_card(struct stage *s)
{
    int side = long_side_px(s);
    int reduce = reduce_for(side, SEARCH_SIDE_PX), finer = reduce > 1 ? reduce / 2 : 1;
    enum vision_reason best = search(s, reduce, MARKERS_QUICK, &s->fix);
    for (; finer > 0 && side / finer <= FINEST_SEARCH_SIDE_PX; finer /= 2) {
        if (card_is_found(best, &s->fix) || is_file_reason(best) || best == VISION_MIXED_CARDS)
            break;
        struct card_fix fix = {0};
        enum vision_reason reason = search(s, finer, MARKERS_THOROUGH, &fix);
        if (fix.markers < s->fix.markers)
            continue;
        s->fix = fix;
        best = reason;
    }
    return best;
}

/* The piece of the photo that holds the card, a margin, and the hints. */
static struct vision_rect area_of_interest(const struct stage *s)
{
    double w = s->fix.card->width_mm / 2 + 3, h = s->fix.card->height_mm / 2 + 3;
    double x0 = 1e9, y0 = 1e9, x1 = -1e9, y1 = -1e9;
    struct vision_point p[8];
    int n = 0;
    for (int k = 0; k < 4; k++)
        p[n++] = vision_plane_to_photo(
            &s->fix.plane, (struct vision_point){k == 1 || k == 2 ? w : -w, k >= 2 ? h : -h});
    if (s->options->reference == VISION_REFERENCE_EDGE)
        for (int k = 0; k < 4; k++) {
            const double reach = k & 1 ? REFERENCE_REACH_PX : -REFERENCE_REACH_PX;
            const struct vision_point *hint = &s->options->hint_px[k / 2];
            p[n++] = (struct vision_point){hint->x + reach, hint->y + reach};
        }
    for (int k = 0; k < n; k++) {
        x0 = fmin(x0, p[k].x);
        y0 = fmin(y0, p[k].y);
        x1 = fmax(x1, p[k].x);
        y1 = fmax(y1, p[k].y);
    }
    const double margin = 24;
    struct vision_rect area = {(int)fmax(0, x0 - margin), (int)fmax(0, y0 - margin),
                               (int)fmin(s->out->photo.width_px, x1 + margin),
                               (int)fmin(s->out->photo.height_px, y1 + margin)};
    return area;
}

/* The lens of the profile, if there is one; false when that is of other photos. */
static bool choose_lens(struct stage *s, struct plane_lens *out)
{
    const struct vision_lens *lens = s->options->lens;
    if (!lens) {
        *out = lens_unknown(s->out->photo.width_px, s->out->photo.height_px);
        return true;
    }
    if (!lens_in_photo(lens, &s->out->photo, out))
        return false;
    s->middle_px = out->centre_px;
    snprintf(s->out->lens, sizeof s->out->lens, "%s", lens->name);
    return true;
}

static double chosen_focal_px(const struct stage *s)
{
    if (s->options->focal_px > 0)
        return s->options->focal_px;
    if (s->options->lens)
        return s->options->lens->focal_px;
    if (s->out->photo.focal_px > 0)
        return s->out->photo.focal_px;
    double long_side = long_side_px(s);
    double estimate = plane_focal_px(&s->fix.plane, s->middle_px);
    /* a single view tells the focal length poorly: keep it within what cameras have */
    return fmin(3 * long_side, fmax(0.55 * long_side, estimate > 0 ? estimate : 0.8 * long_side));
}

/* How the plane is seen: focal length, scale, slant and the camera's place. */
static void describe_view(struct stage *s)
{
    struct vision_result *out = s->out;
    const struct vision_point middle = {0, 0};
    out->plane = s->fix.plane;
    out->px_per_mm = plane_px_per_mm(&out->plane, middle);
    s->focal_px = chosen_focal_px(s);
    if (!plane_obliquity(&out->plane, s->focal_px, s->middle_px, middle, &out->obliquity_deg,
                         s->camera_mm))
        out->obliquity_deg = 90;
}

/* Whether the view is too slanting for use; marks it unsure where it nearly is. */
static bool is_too_steep(struct stage *s)
{
    if (s->out->obliquity_deg > MAX_OBLIQUITY_DEG)
        return true;
    if (s->out->obliquity_deg > UNSURE_OBLIQUITY_DEG)
        note(s->out, VISION_UNSURE, VISION_STEEP_VIEW);
    return false;
}

static void describe_card(struct stage *s)
{
    struct vision_result *out = s->out;
    const struct vision_plane *plane = &s->fix.plane;
    const struct vision_card *card = s->fix.card;
    double w = card->width_mm / 2 * s->fix.bar_scale_x,
           h = card->height_mm / 2 * s->fix.bar_scale_y;
    out->card = card;
    out->markers_found = s->fix.markers;
    out->residual_px = plane->rms_px;
    for (int k = 0; k < 4; k++)
        out->corners_px[k] = vision_plane_to_photo(
            plane, (struct vision_point){k == 1 || k == 2 ? w : -w, k >= 2 ? h : -h});
    describe_view(s);
}

static bool card_stage(struct stage *s)
{
    struct plane_lens lens;
    if (!choose_lens(s, &lens))
        return fail(s->out, VISION_OTHER_LENS);
    enum vision_reason reason = find_card(s);
    s->out->card = s->fix.card;
    s->out->markers_found = s->fix.markers;
    if (reason != VISION_REASON_NONE)
        return fail(s->out, reason);
    double px_per_mm = plane_px_per_mm(&s->fix.plane, (struct vision_point){0, 0});
    int reduce = 1;
    while (reduce < 8 && px_per_mm / (reduce * 2) >= FINE_PX_PER_MM)
        reduce *= 2;
    struct vision_rect area = area_of_interest(s);
    if (area.x0 >= area.x1 || area.y0 >= area.y1)
        return fail(s->out, VISION_FEW_MARKERS);
    reason = vision_photo_decode(s->photo, reduce, &area, 3, &s->image);
    if (reason != VISION_REASON_NONE)
        return fail(s->out, reason);
    reason = markers_refine(&s->image, &lens, &s->fix);
    describe_card(s);
    if (reason != VISION_REASON_NONE)
        return fail(s->out, reason);
    if (s->out->px_per_mm < MIN_PX_PER_MM)
        return fail(s->out, VISION_SMALL_CARD);
    if (is_too_steep(s))
        return fail(s->out, VISION_STEEP_VIEW);
    if (s->fix.markers < 3)
        note(s->out, VISION_UNSURE, VISION_FEW_MARKERS);
    return true;
}

/* ---- Part ----------------------------------------------------------------------------------- */

static enum vision_reason find_places(struct stage *s, struct part places[PART_MAX_PLACES],
                                      int *count)
{
    const struct vision_options *o = s->options;
    if (!o->have_arm_hint)
        return part_find(s->field, &s->fix, places, count);
    *count = 1;
    return part_find_hinted(s->field, vision_plane_to_card(&s->fix.plane, o->hub_hint_px),
                            vision_plane_to_card(&s->fix.plane, o->tip_hint_px), &places[0]);
}

/* How far the fine line turns from the middle of the rough outline's inner part, which no ball or
 * link on the arm's end draws aside. Least squares. */
static double turned_from_outline(const struct part_arm *arm, const struct arm_fit *fit)
{
    const double inner = 0.6;
    double turn = remainder(fit->direction_rad - arm->direction_rad, 360 / DEG);
    struct linalg_line middle = {0};
    double level, slope;
    for (int i = 0; i < arm->outline_count; i++) {
        double x = arm->outline[i].u_mm, first = arm->outline[0].u_mm;
        if (x > first + inner * (arm->outline[arm->outline_count - 1].u_mm - first))
            break;
        double y = (arm->outline[i].left_mm - arm->outline[i].right_mm) / 2;
        linalg_line_add(&middle, x, y - x * tan(turn));
    }
    return linalg_line_fit(&middle, &level, &slope) ? fabs(atan(slope)) : fabs(turn);
}

/* The fine line may leave the rough one where a ball had drawn that aside, but it must lead through
 * the hub or along the outline's inner part; and edges softer than 0.7 mm belong to another
 * picture. */
static bool fits_the_part(const struct stage *s, int i, const struct arm_fit *fit)
{
    const double far_rad = 3.5 / DEG, along_rad = 1.5 / DEG;
    const struct part_arm *arm = &s->part.arms[i];
    double moved = fabs(remainder(fit->direction_rad - arm->direction_rad, 360 / DEG));
    bool astray = moved > far_rad && fabs(fit->offset_mm) > 0.15 * s->part.hub_radius_mm &&
                  turned_from_outline(arm, fit) > along_rad;
    return !astray && fit->blur_mm < 0.7;
}

/* The rough line is mostly good to the share of a cell at the ends of the body. The further the
 * fine one leaves it, the likelier that its edges are those of something else that lies along the
 * arm: a share of that is uncertainty. Unless the outline's inner part agrees with the fine line:
 * then the rough one was drawn aside. */
static void heed_rough_line(const struct part_arm *arm, struct arm_fit *fit)
{
    const double usual_mm = 0.05, share = 0.3;
    const double usual_rad = fmin(1 / DEG, usual_mm / fmax(1, fit->body_mm));
    double moved = fabs(remainder(fit->direction_rad - arm->direction_rad, 360 / DEG));
    moved = fmin(moved, turned_from_outline(arm, fit));
    fit->u_rad = hypot(fit->u_rad, share * fmax(0, moved - usual_rad));
}

/* Moves an arm and its fit to the end of those kept. */
static void keep_arm(struct stage *s, int arm, int *kept)
{
    s->part.arms[*kept] = s->part.arms[arm];
    s->fits[(*kept)++] = s->fits[arm];
}

static void forget_edges(struct stage *s)
{
    for (int i = 0; i < VISION_MAX_ARMS; i++) {
        edge_fit_free(s->edges[i]);
        s->edges[i] = NULL;
    }
}

/* Reads the edges of every arm of s->part; drops those that have none. */
static void read_arms(struct stage *s, const struct arm_shared *usual)
{
    const struct edge_view view = {&s->image, &s->fix, &s->silhouette, s->camera_mm};
    int kept = 0;
    forget_edges(s);
    for (int i = 0; i < s->part.arm_count; i++) {
        struct arm_edges *edges = edge_fit_read(&view, s->part.hub_mm, &s->part.arms[i], usual);
        if (!edges)
            continue;
        s->edges[kept] = edges;
        s->part.arms[kept++] = s->part.arms[i];
    }
    s->part.arm_count = kept;
}

/* Fits lines to the edges of every arm; drops those that make none. */
static void fit_arms(struct stage *s, const struct arm_shared *known)
{
    int kept = 0;
    for (int i = 0; i < s->part.arm_count; i++) {
        struct arm_edges *edges = s->edges[i];
        struct arm_fit fit;
        s->edges[i] = NULL;
        if (!edge_fit_line(edges, known, &fit)) {
            edge_fit_free(edges);
            continue;
        }
        fit.clean = fit.clean && fits_the_part(s, i, &fit);
        heed_rough_line(&s->part.arms[i], &fit);
        s->edges[kept] = edges;
        s->part.arms[kept] = s->part.arms[i];
        s->fits[kept++] = fit;
    }
    s->part.arm_count = kept;
}

/* Arms of one moulding taper alike. Where most of three or more do and one does not, one of its
 * sides is not the arm's, and its middle line is off by as much as its taper is. */
static void heed_common_taper(struct stage *s)
{
    const double alike_rad = 0.4 / DEG;
    double sorted[VISION_MAX_ARMS];
    int n = 0, agree = 0;
    for (int i = 0; i < s->part.arm_count; i++)
        if (isfinite(s->fits[i].taper_rad))
            sorted[n++] = s->fits[i].taper_rad;
    double common = median_mean(sorted, n);
    for (int i = 0; i < s->part.arm_count; i++)
        agree += fabs(s->fits[i].taper_rad - common) < hypot(alike_rad, s->fits[i].u_rad);
    if (n < 3 || 2 * agree <= n)
        return;
    for (int i = 0; i < s->part.arm_count; i++) {
        struct arm_fit *fit = &s->fits[i];
        double off = fabs(fit->taper_rad - common);
        if (off > fit->u_rad)
            fit->u_rad = hypot(fit->u_rad, off - fit->u_rad);
    }
}

/* Prior knowledge and what all arms show, together. */
static struct arm_shared shared_by_all(const struct stage *s, struct arm_shared usual)
{
    for (int i = 0; i < s->part.arm_count; i++) {
        edge_fit_combine(&usual.thickness_mm, s->fits[i].shown.thickness_mm);
        edge_fit_combine(&usual.tint_step_mm, s->fits[i].shown.tint_step_mm);
        edge_fit_combine(&usual.shade_shift_mm, s->fits[i].shown.shade_shift_mm);
    }
    /* arms are not that equal, nor the model that true */
    usual.thickness_mm.u = fmax(usual.thickness_mm.u, 0.15);
    return usual;
}

/* The middle lines of all arms meet in the axis of the hub. A short arm, whose edges tell its
 * direction poorly, gains from the place where the others say the axis is; a long one gains
 * nothing and loses nothing. Unknowns: the meeting point and one turn per arm; each arm
 * contributes its offset at the middle of its body and its direction, each with its u, and the
 * meeting itself is held to concentric_mm, which is how true arms are moulded. */
static void join_at_hub(struct stage *s)
{
    const double concentric_mm = 0.06;
    int n = s->part.arm_count, size = 2 + n;
    double normal[LINALG_MAX * LINALG_MAX] = {0}, right[LINALG_MAX] = {0};
    double inverse[LINALG_MAX * LINALG_MAX];
    if (n < 2)
        return;
    for (int i = 0; i < n; i++) {
        const struct arm_fit *f = &s->fits[i];
        double nx = -sin(f->direction_rad), ny = cos(f->direction_rad);
        double middle_u = (s->part.arms[i].start_mm + s->part.arms[i].end_mm) / 2;
        /* the line with its turn t about the body's middle meets the hub at offset - t middle_u */
        double w = 1 / (concentric_mm * concentric_mm + f->offset_u_mm * f->offset_u_mm);
        double row[3] = {nx, ny, middle_u};
        int at[3] = {0, 1, 2 + i};
        for (int j = 0; j < 3; j++) {
            right[at[j]] += w * row[j] * f->offset_mm;
            for (int k = 0; k < 3; k++)
                normal[at[j] * size + at[k]] += w * row[j] * row[k];
        }
        normal[(2 + i) * size + 2 + i] += 1 / (f->u_rad * f->u_rad);
    }
    normal[0] += 1e-6; /* two opposite arms leave the point free along them */
    normal[size + 1] += 1e-6;
    if (!linalg_solve(size, normal, right, right) || !linalg_invert(size, normal, inverse))
        return;
    for (int i = 0; i < n; i++) {
        struct arm_fit *f = &s->fits[i];
        double middle_u = (s->part.arms[i].start_mm + s->part.arms[i].end_mm) / 2;
        f->direction_rad += right[2 + i];
        f->offset_mm -= right[2 + i] * middle_u;
        f->u_rad = sqrt(inverse[(2 + i) * size + 2 + i]);
    }
}

/* What edges that do not hang together leave open: the median error of such answers on rendered
 * photos, about. */
#define UNCLEAN_RAD (3 / DEG)

/* Leaves out the arms whose edges do not hang together, unless that were all. */
static bool drop_unclean_arms(struct stage *s)
{
    int kept = 0;
    for (int i = 0; i < s->part.arm_count; i++)
        kept += s->fits[i].clean;
    for (int i = 0; i < s->part.arm_count && kept == 0; i++)
        s->fits[i].u_rad = hypot(s->fits[i].u_rad, UNCLEAN_RAD);
    if (kept == 0)
        return false;
    kept = 0;
    for (int i = 0; i < s->part.arm_count; i++) {
        if (s->fits[i].clean)
            keep_arm(s, i, &kept);
    }
    s->part.arm_count = kept;
    return true;
}

/* A disc horn as a part whose arms run from the hub to its holes. */
static bool take_disc(struct stage *s)
{
    const double doubtful = 9; /* squared misfit that no chance explains */
    struct disc disc;
    if (s->options->have_arm_hint)
        return false;
    enum vision_reason reason =
        disc_find(&s->image, &s->fix, &s->silhouette, s->field, s->camera_mm, &disc);
    s->outline = disc.outline;
    if (reason != VISION_REASON_NONE)
        return false;
    s->part = (struct part){.hub_mm = disc.hub_mm,
                            .hub_radius_mm = disc.outline.radius_mm,
                            .arm_count = disc.arm_count};
    for (int i = 0; i < disc.arm_count; i++) {
        const struct disc_arm *arm = &disc.arms[i];
        s->part.arms[i] =
            (struct part_arm){.direction_rad = arm->direction_rad, .tip_mm = arm->reach_mm};
        s->fits[i] = (struct arm_fit){.direction_rad = arm->direction_rad,
                                      .u_rad = arm->u_rad,
                                      .dof = BUDGET_JUDGED_DOF,
                                      .clean = true};
    }
    if (disc.misfit > doubtful)
        note(s->out, VISION_UNSURE, VISION_UNSURE_PART);
    return true;
}

/* What looks like arms on a disc without holes, and does not turn about its middle, is links. */
static bool turns_about_a_disc(const struct stage *s)
{
    double off =
        hypot(s->part.hub_mm.x - s->outline.centre_mm.x, s->part.hub_mm.y - s->outline.centre_mm.y);
    return !(s->outline.seen > 0) || off < 0.15 * s->outline.radius_mm;
}

/* Hub and tip as a person pointed at them, where no arm edges lead from one to the other: a ball
 * on a disc, say. Each point is good to about a pixel and a half, and the ball may stand a few
 * millimetres above the hub, which a slanting view turns into an angle. */
static bool take_points(struct stage *s)
{
    const double placed_px = 1.5, height_mm = 3;
    struct vision_point hub = vision_plane_to_card(&s->fix.plane, s->options->hub_hint_px);
    struct vision_point tip = vision_plane_to_card(&s->fix.plane, s->options->tip_hint_px);
    double r = hypot(tip.x - hub.x, tip.y - hub.y);
    if (!(r > 3))
        return false;
    double direction = atan2(tip.y - hub.y, tip.x - hub.x);
    double placed = placed_px * sqrt(2) / s->out->px_per_mm;
    double lean = height_mm * tan(s->out->obliquity_deg / DEG) / sqrt(2);
    s->part = (struct part){.hub_mm = hub, .arm_count = 1};
    s->part.arms[0] = (struct part_arm){.direction_rad = direction, .tip_mm = r};
    s->fits[0] = (struct arm_fit){.direction_rad = direction,
                                  .u_rad = hypot(placed, lean) / r,
                                  .body_mm = r,
                                  .dof = BUDGET_JUDGED_DOF,
                                  .clean = true};
    note(s->out, VISION_UNSURE, VISION_UNSURE_PART);
    return true;
}

/* Where the shaft can stand that a card with its slot cut out was slipped round. aside_mm: for what
 * stands above the card and is seen askew. */
static bool in_slot_zone(const struct stage *s, struct vision_point mm, double aside_mm)
{
    double reach = s->fix.card->slot_half_width_mm + aside_mm;
    return fabs(mm.y) < reach && mm.x < reach;
}

#define ASIDE_MM 2.5

static struct vision_point tip_of(const struct part *part, const struct part_arm *arm)
{
    return (struct vision_point){part->hub_mm.x + arm->tip_mm * cos(arm->direction_rad),
                                 part->hub_mm.y + arm->tip_mm * sin(arm->direction_rad)};
}

/* A cut slot tells the hub from the far ends when only the hub stands in it. */
static bool slot_tells(const struct stage *s, const struct part *part)
{
    if (!s->silhouette.slot_cut || !in_slot_zone(s, part->hub_mm, ASIDE_MM))
        return false;
    for (int i = 0; i < part->arm_count; i++) {
        if (in_slot_zone(s, tip_of(part, &part->arms[i]), ASIDE_MM))
            return false;
    }
    return true;
}

/* Whether the only thing that leaves a place goes out of sight on a marker. Under it no shaft can
 * stand. */
static bool runs_under_marker(const struct part *part)
{
    return part->arm_count == 1 && !part->joint && part->arms[0].covered_end &&
           !part->arms[0].open_end;
}

/* Whether the place can only be the hub. Of three bars that meet at most one is a link. A link may
 * pass for an arm whose end is not seen, and of an arm with a thick far end, either end may be the
 * hub, unless a rod that leaves the far end tells that it is not. Where a rod leaves the place
 * itself, an arm would end in the thicker hub. */
static bool hub_is_plain(const struct stage *s, const struct part *part)
{
    /* two arms say that the thick place between them is the hub; one says only that it has two ends
     */
    const double alike = part->arm_count > 1 ? 0.9 : 0.8, thin = 0.7;
    int ended = 0;
    double far_mm = 0;
    if (!part->joint && (part->arm_count > 2 || slot_tells(s, part)))
        return true;
    for (int i = 0; i < part->arm_count; i++) {
        if (part->arms[i].covered_end || part->arms[i].open_end)
            continue;
        ended++;
        if (part->arms[i].far_end != FAR_END_JOINT)
            far_mm = fmax(far_mm, part->arms[i].far_radius_mm);
    }
    if (ended == 0)
        return runs_under_marker(part) && part->arms[0].far_radius_mm < thin * part->hub_radius_mm;
    if (part->joint)
        return far_mm < thin * part->hub_radius_mm;
    return ended > 1 || far_mm < alike * part->hub_radius_mm;
}

/* Whether another place would give another answer: has an arm where the chosen one has none. Places
 * along one arm do not. */
static bool tells_otherwise(const struct part *chosen, const struct part *other)
{
    const double same_rad = 12 / DEG;
    for (int i = 0; i < other->arm_count; i++) {
        bool known = false;
        for (int k = 0; k < chosen->arm_count && !known; k++)
            known = fabs(remainder(other->arms[i].direction_rad - chosen->arms[k].direction_rad,
                                   360 / DEG)) < same_rad;
        if (!known)
            return true;
    }
    return false;
}

/* Whether a place may stand in for better ones whose arms show no edges: not a far weaker one, nor
 * where a rod is joined on. */
static bool may_be_hub(const struct part *places, int i)
{
    return i == 0 || (!places[i].joint && places[i].score > 0.25 * places[0].score);
}

/* Whether a cut slot tells that the shaft stands in the one place and cannot in the other, however
 * high the part lies. */
static bool slot_rules_out(const struct stage *s, const struct part *chosen,
                           const struct part *other)
{
    const double highest_mm = 14;
    double aside = ASIDE_MM + highest_mm * tan(s->out->obliquity_deg / DEG);
    return s->silhouette.slot_cut && in_slot_zone(s, chosen->hub_mm, ASIDE_MM) &&
           !in_slot_zone(s, other->hub_mm, aside);
}

/* Three arms or more make a hub, and a hub is not much thinner than what else is as thick. */
static bool is_rival(const struct stage *s, const struct part *chosen, const struct part *other)
{
    const double close = 0.8, thinner = 0.6;
    return other->score > close * chosen->score && tells_otherwise(chosen, other) &&
           !(chosen->arm_count > 2 && other->arm_count < chosen->arm_count) &&
           other->hub_radius_mm > thinner * chosen->hub_radius_mm &&
           !slot_rules_out(s, chosen, other);
}

static bool has_rival(const struct stage *s, const struct part *places, int count, int used)
{
    for (int i = used + 1; i < count; i++)
        if (is_rival(s, &places[used], &places[i]))
            return true;
    return false;
}

/* A bar as thick all along as where its hub should be: a screwdriver or a pencil. */
static bool is_bare_bar(const struct stage *s, const struct part *part)
{
    const double boss = 1.1;
    return !s->options->have_arm_hint && part->arm_count == 1 &&
           part->hub_radius_mm < boss * part->arms[0].width_mm / 2;
}

/* A good hub beyond the reach of the chosen one's arms is another part; a place much thinner is one
 * along its link. */
static bool another_part(const struct part *places, int count, int used)
{
    const double good = 0.35, clear_mm = 2, thinner = 0.5;
    double reach = 0;
    for (int k = 0; k < places[used].arm_count; k++)
        reach = fmax(reach, places[used].arms[k].tip_mm);
    for (int i = used + 1; i < count; i++) {
        double apart = hypot(places[i].hub_mm.x - places[used].hub_mm.x,
                             places[i].hub_mm.y - places[used].hub_mm.y);
        if (places[i].score > good * places[used].score && apart > reach + clear_mm &&
            places[i].hub_radius_mm > thinner * places[used].hub_radius_mm)
            return true;
    }
    return false;
}

/* Whether all that a place has for arms lies along a slot that was cut out. */
static bool lies_in_slot(const struct stage *s, const struct part *part)
{
    if (!s->silhouette.slot_cut || !in_slot_zone(s, part->hub_mm, ASIDE_MM) || is_bare_bar(s, part))
        return false;
    for (int i = 0; i < part->arm_count; i++)
        if (!in_slot_zone(s, tip_of(part, &part->arms[i]), ASIDE_MM))
            return false;
    return true;
}

static bool part_stage(struct stage *s)
{
    struct part places[PART_MAX_PLACES];
    int count = 0;
    enum vision_reason reason = silhouette_build(&s->image, &s->fix, &s->silhouette);
    if (reason == VISION_REASON_NONE && !(s->field = part_field_new(&s->silhouette)))
        reason = VISION_NO_MEMORY;
    if (reason == VISION_REASON_NONE && take_disc(s))
        return true;
    if (reason == VISION_REASON_NONE)
        reason = find_places(s, places, &count);
    if (reason == VISION_NO_ARM && s->options->have_arm_hint && take_points(s))
        return true;
    if (reason != VISION_REASON_NONE)
        return fail(s->out, reason);
    int used = 0;
    struct arm_shared usual = edge_fit_usual(s->image.reduce / s->out->px_per_mm);
    for (; used < count && may_be_hub(places, used); used++) {
        s->part = s->whole = places[used];
        read_arms(s, &usual);
        fit_arms(s, &usual);
        if (s->part.arm_count > 0)
            break;
    }
    if (s->part.arm_count == 0)
        return fail(s->out, lies_in_slot(s, &places[0]) ? VISION_ARM_IN_SLOT : VISION_NO_ARM);
    if (another_part(places, count, used))
        return fail(s->out, VISION_TWO_PARTS);
    struct arm_shared shared = shared_by_all(s, usual);
    fit_arms(s, &shared);
    forget_edges(s);
    heed_common_taper(s);
    bool plain = hub_is_plain(s, &s->whole), clean = drop_unclean_arms(s);
    if (!plain && (!clean || is_bare_bar(s, &s->whole)))
        return fail(s->out, VISION_NO_ARM); /* either doubt alone leaves a number worth checking */
    if (!clean)
        note(s->out, VISION_UNSURE, VISION_EDGES_DISAGREE);
    join_at_hub(s);
    if (!plain)
        note(s->out, VISION_UNSURE, VISION_UNSURE_HUB);
    if (!turns_about_a_disc(s))
        note(s->out, VISION_UNSURE, VISION_UNSURE_PART);
    if (has_rival(s, places, count, used))
        note(s->out, VISION_UNSURE, VISION_UNSURE_HUB);
    return true;
}

/* ---- Budget --------------------------------------------------------------------------------- */

static struct budget_question budget_of(const struct stage *s, const struct reference_line *line)
{
    const struct vision_result *out = s->out;
    const struct vision_point *ends = out->reference_px;
    struct vision_point a = vision_plane_to_card(&s->fix.plane, ends[0]),
                        b = vision_plane_to_card(&s->fix.plane, ends[1]);
    struct budget_question q = {.plane = &s->fix.plane,
                                /* eight coordinates a marker, eight unknowns; k1 has its prior */
                                .plane_dof = 8.0 * s->fix.markers - 8,
                                .residual_px = out->residual_px,
                                .px_per_mm = out->px_per_mm,
                                .card_tilt_deg = s->options->card_tilt_deg,
                                .hub_mm = s->part.hub_mm,
                                .line_reference = out->reference != VISION_REFERENCE_CARD,
                                .line_mm = {(a.x + b.x) / 2, (a.y + b.y) / 2},
                                .line_deg = out->reference_deg,
                                .line_u_deg = line->u_deg,
                                .line_dof = line->dof};
    memcpy(q.camera_mm, s->camera_mm, sizeof q.camera_mm);
    return q;
}

/* ---- Result --------------------------------------------------------------------------------- */

static double wrap_360(double deg)
{
    double r = fmod(deg, 360);
    r = r < 0 ? r + 360 : r;
    return r >= 360 ? 0 : r;
}

static double from_square(double deg)
{
    double d = deg - 90 * floor(deg / 90 + 0.5);
    return d <= -45 ? d + 90 : d;
}

/* As its own edges tell it. */
static void describe_arm(const struct stage *s, int i, double reference_deg, struct vision_arm *arm)
{
    const struct arm_fit *fit = &s->fits[i];
    struct vision_point hub = s->part.hub_mm;
    hub.x -= fit->offset_mm * sin(fit->direction_rad);
    hub.y += fit->offset_mm * cos(fit->direction_rad);
    arm->angle_deg = wrap_360(fit->direction_rad * DEG - reference_deg);
    arm->length_mm = s->part.arms[i].tip_mm;
    arm->hub_px = vision_plane_to_photo(&s->fix.plane, hub);
}

static int by_angle(const void *a, const void *b)
{
    double d =
        ((const struct vision_arm *)a)->angle_deg - ((const struct vision_arm *)b)->angle_deg;
    return (d > 0) - (d < 0);
}

/* What the arm's own edges leave open. */
static double edge_deg(struct vision_arm *arm)
{
    return budget_line(arm, VISION_TERM_EDGE)->u_deg;
}

#define POOR_DEG 0.6

/* An arm much worse told than the best one would only cloud the answer. Returns how many are kept.
 */
static int drop_poor_arms(struct vision_arm *arms, int count)
{
    const double good_deg = 0.35;
    double best = INFINITY;
    int kept = 0;
    for (int i = 0; i < count; i++)
        best = fmin(best, edge_deg(&arms[i]));
    double limit = fmin(fmax(good_deg, 2.5 * best), fmax(POOR_DEG, best));
    for (int i = 0; i < count; i++)
        if (!(edge_deg(&arms[i]) > limit))
            arms[kept++] = arms[i];
    return kept;
}

/* What the arms say of the card and of each other, and which of them are told well enough. */
static void settle_arms(const struct stage *s)
{
    struct vision_result *out = s->out;
    struct vision_arm good[VISION_MAX_ARMS];
    const bool even = !(s->outline.seen > 0); /* holes of discs are spaced less evenly */
    const double tilt_deg = s->options->card_tilt_deg;
    memcpy(good, out->arms, sizeof good);
    int count = drop_poor_arms(good, out->arm_count);
    if (!even) {
        spacing_doubt_holes(good, count);
        count = drop_poor_arms(good, count);
    }
    witness_judge(good, count, &s->fix.plane, s->part.hub_mm, &out->witness);
    const bool leans = out->witness.verdict == VISION_WITNESS_LEANS;
    if (leans)
        note(out, VISION_UNSURE, VISION_LEANING_CARD);
    if (even && !leans && spacing_combine(out->arms, out->arm_count, tilt_deg)) {
        out->arm_count = drop_poor_arms(out->arms, out->arm_count);
        return;
    }
    if (even && !leans)
        spacing_combine(good, count, tilt_deg);
    memcpy(out->arms, good, sizeof good);
    out->arm_count = count;
}

/* The arm's place in the photo and its deviation, once its angle is settled. */
static void place_arm(const struct stage *s, struct vision_arm *arm)
{
    struct vision_point hub = vision_plane_to_card(&s->fix.plane, arm->hub_px);
    double direction = (arm->angle_deg + s->out->reference_deg) / DEG;
    struct vision_point tip = {hub.x + arm->length_mm * cos(direction),
                               hub.y + arm->length_mm * sin(direction)};
    arm->angle_deg = wrap_360(arm->angle_deg);
    arm->deviation_deg = from_square(arm->angle_deg);
    arm->tip_px = vision_plane_to_photo(&s->fix.plane, tip);
}

static bool result_stage(struct stage *s)
{
    struct vision_result *out = s->out;
    struct reference_line line;
    enum vision_reason reason = reference_find(&s->image, &s->fix, &s->silhouette, s->field,
                                               s->camera_mm, &s->whole, s->options, out, &line);
    if (reason != VISION_REASON_NONE)
        return fail(out, reason);
    if (line.rival)
        note(out, VISION_UNSURE, VISION_TWO_EDGES);
    struct budget_question q = budget_of(s, &line);
    out->arm_count = s->part.arm_count;
    for (int i = 0; i < out->arm_count; i++) {
        const struct arm_fit *fit = &s->fits[i];
        q.direction_rad = fit->direction_rad;
        q.body_mm = fit->body_mm;
        q.edge_deg = fit->u_rad * DEG;
        q.edge_dof = fit->dof;
        describe_arm(s, i, out->reference_deg, &out->arms[i]);
        budget_make(&q, &out->arms[i]);
    }
    settle_arms(s);
    double best = INFINITY;
    for (int i = 0; i < out->arm_count; i++) {
        place_arm(s, &out->arms[i]);
        best = fmin(best, edge_deg(&out->arms[i]));
    }
    if (!(best < POOR_DEG))
        note(out, VISION_UNSURE, VISION_SHORT_ARM);
    qsort(out->arms, (size_t)out->arm_count, sizeof out->arms[0], by_angle);
    for (int i = 0; i < out->arm_count; i++)
        snprintf(out->arms[i].name, sizeof out->arms[i].name, "%c", 'A' + i);
    return true;
}

static struct stage start_stage(const struct vision_photo *photo,
                                const struct vision_options *options, struct vision_result *out)
{
    *out = (struct vision_result){.status = VISION_OK, .photo = *vision_photo_get_info(photo)};
    return (struct stage){
        .photo = photo,
        .options = options,
        .out = out,
        .middle_px = {(out->photo.width_px - 1) / 2.0, (out->photo.height_px - 1) / 2.0}};
}

static double since_ms(const struct timespec *begin)
{
    struct timespec end;
    clock_gettime(CLOCK_MONOTONIC, &end);
    return (double)(end.tv_sec - begin->tv_sec) * 1e3 +
           (double)(end.tv_nsec - begin->tv_nsec) / 1e6;
}

void vision_measure(const struct vision_photo *photo, const struct vision_options *options,
                    struct vision_result *out)
{
    struct timespec begin;
    clock_gettime(CLOCK_MONOTONIC, &begin);
    struct stage s = start_stage(photo, options, out);
    if (card_stage(&s) && part_stage(&s))
        result_stage(&s);
    forget_edges(&s);
    part_field_free(s.field);
    silhouette_clear(&s.silhouette);
    vision_image_clear(&s.image);
    out->elapsed_ms = since_ms(&begin);
}

/* ---- Stickers ------------------------------------------------------------------------------- */

#define MAX_STICKERS 10
#define MIN_STICKER_PX 24.0 /* side of its black square: three pixels a cell */
/* Of one that others are measured against: below, its pose may be off by more than its corners
 * tell. docs/decisions.md, "Stickers". */
#define SURE_FIXED_PX 65.0
/* Paper glued by hand on a moulded face, and a card held or laid beside it: common practice. */
#define STICKER_TILT_DEG 3.0

struct sticker_set {
    int count;
    struct sticker_fix fixes[MAX_STICKERS];
    bool twice;
};

static double side_px(const struct sticker_fix *fix)
{
    double sum = 0;
    for (int k = 0; k < 4; k++)
        sum += hypot(fix->corners_px[(k + 1) % 4].x - fix->corners_px[k].x,
                     fix->corners_px[(k + 1) % 4].y - fix->corners_px[k].y);
    return sum / 4;
}

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
    int side = long_side_px(s);
    enum markers_effort effort = MARKERS_QUICK;
    *out = (struct sticker_set){0};
    for (int reduce = reduce_for(side, SEARCH_SIDE_PX);
         reduce > 0 && (effort == MARKERS_QUICK || side / reduce <= FINEST_SEARCH_SIDE_PX);
         reduce /= 2, effort = MARKERS_THOROUGH) {
        struct vision_image grey;
        struct sticker_set found = {0};
        enum vision_reason reason = vision_photo_decode(s->photo, reduce, NULL, 1, &grey);
        if (reason != VISION_REASON_NONE)
            return reason;
        found.count = markers_find_stickers(&grey, effort, found.fixes, MAX_STICKERS, &found.twice);
        vision_image_clear(&grey);
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
    double side = side_px(fix), x0 = 1e9, y0 = 1e9, x1 = -1e9, y1 = -1e9;
    int reduce = 1;
    while (reduce < 8 && side / fix->sticker->face.marker_mm / (reduce * 2) >= 2 * FINE_PX_PER_MM)
        reduce *= 2;
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
    return good ? VISION_REASON_NONE : VISION_HIDDEN_STICKER;
}

/* The card, where there is a good one, as what does not turn. */
static bool fixed_by_card(struct stage *s, struct sticker_question *q)
{
    struct vision_result none = *s->out;
    if (!card_stage(s)) {
        enum vision_reason reason = s->out->reason;
        none.reason =
            is_file_reason(reason) || reason == VISION_OTHER_LENS ? reason : VISION_REASON_NONE;
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
        if (set->fixes[i].sticker->fixed && (!best || side_px(&set->fixes[i]) > side_px(best)))
            best = &set->fixes[i];
    if (!best)
        return VISION_NO_FIXED;
    enum vision_reason reason = refine_sticker(s, &q->lens, best);
    if (reason != VISION_REASON_NONE)
        return reason;
    if (side_px(best) < SURE_FIXED_PX)
        note(out, VISION_UNSURE, VISION_SMALL_STICKER);
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
    describe_view(s);
    return is_too_steep(s) ? VISION_STEEP_VIEW : VISION_REASON_NONE;
}

/* Relative standard uncertainty of the focal length: of a profile with its refocusing, of EXIF's
 * whole millimetres and cropping, of a guess. */
static double focal_u(const struct stage *s)
{
    if (s->options->lens || s->options->focal_px > 0)
        return 0.02;
    return s->out->photo.focal_px > 0 ? 0.04 : 0.25;
}

static void judge_sticker(struct stage *s, const struct sticker_answer *a)
{
    const double bent = 3, /* times what the sides' scatter explains */
        steep_deg = 3 * STICKER_TILT_DEG;
    if (a->misfit > bent)
        note(s->out, VISION_UNSURE, VISION_HIDDEN_STICKER);
    if (a->slope_deg - 2 * a->slope_u_deg > fmax(steep_deg, 3 * s->options->card_tilt_deg))
        note(s->out, VISION_UNSURE, VISION_TILTED_STICKER);
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
    budget_add(arm, VISION_TERM_PRINT, budget_print_deg(a->direction_deg / DEG), BUDGET_JUDGED_DOF);
    budget_sum(arm);
    out->slopes[out->arm_count++] = (struct vision_slope){a->slope_deg, a->slope_u_deg};
}

static enum vision_reason measure_stickers(struct stage *s)
{
    struct sticker_question q = {.tilt_deg = fmax(STICKER_TILT_DEG, s->options->card_tilt_deg)};
    struct sticker_set set;
    enum vision_reason reason;
    if (!choose_lens(s, &q.lens))
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
    q.focal_u = focal_u(s);
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
    struct timespec begin;
    clock_gettime(CLOCK_MONOTONIC, &begin);
    struct stage s = start_stage(photo, options, out);
    out->of_stickers = true;
    enum vision_reason reason = measure_stickers(&s);
    if (reason != VISION_REASON_NONE) {
        fail(out, reason);
        out->arm_count = 0;
    }
    for (int k = 0; k < 2; k++) /* its x axis, for drawing */
        if (out->px_per_mm > 0)
            out->reference_px[k] = out->corners_px[k];
    vision_image_clear(&s.image);
    out->elapsed_ms = since_ms(&begin);
}

enum vision_reason vision_card_view(const struct vision_photo *photo,
                                    const struct vision_options *options,
                                    struct vision_card_view *out)
{
    struct vision_result result;
    struct stage s = start_stage(photo, options, &result);
    bool good = card_stage(&s);
    vision_image_clear(&s.image);
    if (!good)
        return result.reason;
    *out = (struct vision_card_view){.photo = result.photo,
                                     .count = 4 * s.fix.markers,
                                     .half_width_mm = result.card->width_mm / 2,
                                     .half_height_mm = result.card->height_mm / 2};
    for (int i = 0; i < out->count; i++) {
        out->mm[i] = markers_corner_mm(&s.fix, i / 4, i % 4);
        out->px[i] = vision_sensor_point(&result.photo, s.fix.corners_px[i]);
    }
    return VISION_REASON_NONE;
}
