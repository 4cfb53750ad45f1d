#include "angle.h"
#include "budget.h"
#include "disc.h"
#include "linalg.h"
#include "median.h"
#include "parallel.h"
#include "pointing.h"
#include "reaching.h"
#include "stage.h"

#include <math.h>
#include <string.h>

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
    double moved = angle_apart(fit->direction_rad, arm->direction_rad);
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
    double moved = angle_apart(fit->direction_rad, arm->direction_rad);
    moved = fmin(moved, turned_from_outline(arm, fit));
    fit->u_rad = hypot(fit->u_rad, share * fmax(0, moved - usual_rad));
}

/* Moves an arm and its fit to the end of those kept. */
static void keep_arm(struct stage *s, int arm, int *kept)
{
    s->part.arms[*kept] = s->part.arms[arm];
    s->fits[(*kept)++] = s->fits[arm];
}

void stage_forget_edges(struct stage *s)
{
    for (int i = 0; i < VISION_MAX_ARMS; i++) {
        edge_fit_free(s->edges[i]);
        s->edges[i] = NULL;
    }
}

struct reading {
    struct stage *stage;
    const struct arm_shared *usual;
};

static void read_arm(void *context, size_t i)
{
    const struct reading *reading = context;
    struct stage *s = reading->stage;
    const struct edge_view view = {&s->image, &s->fix, &s->silhouette, s->camera_mm};
    s->edges[i] = edge_fit_read(&view, s->part.hub_mm, &s->part.arms[i], reading->usual);
}

/* Reads the edges of every arm of s->part; drops those that have none. */
static void read_arms(struct stage *s, const struct arm_shared *usual)
{
    struct reading reading = {s, usual};
    int kept = 0;
    stage_forget_edges(s);
    parallel_pieces(s->options->threads, (size_t)s->part.arm_count, read_arm, &reading);
    for (int i = 0; i < s->part.arm_count; i++) {
        struct arm_edges *edges = s->edges[i];
        s->edges[i] = NULL;
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

/* Sides that converge as no moulded arm's do are not both the arm's, and the middle line is off by
 * as much as that is too much; unless another arm of the part does the same. */
static void heed_odd_taper(struct stage *s)
{
    const double odd_rad = 8 / DEG, usual_rad = 6 / DEG, alike_rad = 2 / DEG;
    for (int i = 0; i < s->part.arm_count; i++) {
        struct arm_fit *fit = &s->fits[i];
        bool alike = false;
        for (int k = 0; k < s->part.arm_count; k++)
            alike = alike || (k != i && fabs(s->fits[k].taper_rad - fit->taper_rad) < alike_rad);
        if (fabs(fit->taper_rad) > odd_rad && !alike)
            fit->u_rad = hypot(fit->u_rad, fabs(fit->taper_rad) - usual_rad);
    }
}

/* Prior knowledge and what all arms show, together. */
static struct arm_shared shared_by_all(const struct stage *s, struct arm_shared usual)
{
    for (int i = 0; i < s->part.arm_count; i++) {
        estimate_combine(&usual.thickness_mm, s->fits[i].shown.thickness_mm);
        estimate_combine(&usual.tint_step_mm, s->fits[i].shown.tint_step_mm);
        estimate_combine(&usual.shade_shift_mm, s->fits[i].shown.shade_shift_mm);
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
    if (kept == 0) {
        for (int i = 0; i < s->part.arm_count; i++)
            s->fits[i].u_rad = hypot(s->fits[i].u_rad, UNCLEAN_RAD);
        return false;
    }
    kept = 0;
    for (int i = 0; i < s->part.arm_count; i++) {
        if (s->fits[i].clean)
            keep_arm(s, i, &kept);
    }
    s->part.arm_count = kept;
    return true;
}

/* A disc horn as a part whose arms run from the hub to its holes; false where there is none, or
 * none of them was pointed at by whoever pointed. */
static bool take_disc(struct stage *s)
{
    const double doubtful = 9;          /* squared misfit that no chance explains */
    const double useless_rad = 1 / DEG; /* a round hub with one hole in an arm tells no better */
    struct disc disc;
    enum vision_reason reason =
        disc_find(&s->image, &s->fix, &s->silhouette, s->field, s->camera_mm, &disc);
    s->outline = disc.outline;
    if (reason != VISION_REASON_NONE)
        return false;
    double best_rad = INFINITY;
    bool by_balls = true;
    for (int i = 0; i < disc.arm_count; i++) {
        best_rad = fmin(best_rad, disc.arms[i].u_rad);
        by_balls = by_balls && disc.arms[i].holes == 0;
    }
    if (best_rad > useless_rad && !by_balls)
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
    s->is_disc = !s->options->have_arm_hint || pointing_arm(s) >= 0;
    s->by_balls = s->is_disc && by_balls;
    if (s->is_disc && disc.misfit > doubtful)
        stage_note(s->out, VISION_UNSURE, VISION_UNSURE_PART);
    return s->is_disc;
}

/* What looks like arms on a disc without holes, and does not turn about its middle, is links. */
static bool turns_about_a_disc(const struct stage *s)
{
    double off =
        hypot(s->part.hub_mm.x - s->outline.centre_mm.x, s->part.hub_mm.y - s->outline.centre_mm.y);
    return !(s->outline.seen > 0) || off < 0.15 * s->outline.radius_mm;
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
    /* one arm says only that it has two ends; a second one that cannot be followed may be a link,
     * and this place its joint */
    const double alike = 0.8, thin = 0.7;
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
    if (ended > 1 && !part->joint)
        return true;
    return far_mm < (part->joint || ended < part->arm_count ? thin : alike) * part->hub_radius_mm;
}

/* Whether another place would give another answer: has an arm where the chosen one has none. Places
 * along one arm do not. */
static bool tells_otherwise(const struct part *chosen, const struct part *other)
{
    const double same_rad = 12 / DEG;
    for (int i = 0; i < other->arm_count; i++) {
        bool known = false;
        for (int k = 0; k < chosen->arm_count && !known; k++)
            known =
                angle_apart(other->arms[i].direction_rad, chosen->arms[k].direction_rad) < same_rad;
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
static bool is_bare_bar(const struct part *part)
{
    const double boss = 1.1;
    return part->arm_count == 1 && part->hub_radius_mm < boss * part->arms[0].width_mm / 2;
}

/* Two arms hardly thinner than where their hub should be, neither of which is seen to end: a cable
 * that passes. */
static bool passes_by(const struct part *part)
{
    const double boss = 1.35;
    for (int i = 0; i < part->arm_count; i++)
        if (part->arms[i].round_end || part->hub_radius_mm >= boss * part->arms[i].width_mm / 2)
            return false;
    return part->arm_count == 2;
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
    if (!s->silhouette.slot_cut || !in_slot_zone(s, part->hub_mm, ASIDE_MM) || is_bare_bar(part))
        return false;
    for (int i = 0; i < part->arm_count; i++)
        if (!in_slot_zone(s, tip_of(part, &part->arms[i]), ASIDE_MM))
            return false;
    return true;
}

/* Reads the arms of a place and fits lines to them. false when none has edges. */
static bool try_place(struct stage *s, const struct part *place, const struct arm_shared *usual)
{
    s->part = s->whole = *place;
    read_arms(s, usual);
    fit_arms(s, usual);
    return s->part.arm_count > 0;
}

/* Fits all arms again by what they show together. false when none is clean: all are kept then. */
static bool refine_arms(struct stage *s, const struct arm_shared *usual)
{
    struct arm_shared shared = shared_by_all(s, *usual);
    fit_arms(s, &shared);
    stage_forget_edges(s);
    heed_common_taper(s);
    heed_odd_taper(s);
    return drop_unclean_arms(s);
}

/* The person knows which end is the hub and which part is meant. */
static bool measure_pointed(struct stage *s, const struct arm_shared *usual)
{
    struct part places[PART_MAX_PLACES];
    int count = 0;
    enum vision_reason reason = pointing_find_places(s, places, &count);
    if (reason == VISION_BAD_HINT)
        return stage_fail(s->out, reason);
    if (take_disc(s))
        return true;
    for (int i = 0; i < count; i++) {
        if (!try_place(s, &places[i], usual) || pointing_arm(s) < 0 || !refine_arms(s, usual))
            continue;
        join_at_hub(s);
        if (pointing_arm(s) >= 0) {
            s->whole = s->part; /* of a link: the one that leaves this arm */
            s->whole.arms[0] = s->whole.arms[pointing_arm(s)];
            s->whole.arm_count = 1;
            return true;
        }
    }
    pointing_take_line(s);
    return true;
}

/* Why there is no arm. places: the best that was found, first; NULL: none. */
static enum vision_reason why_no_arm(const struct stage *s, const struct part *places)
{
    if (s->outline.seen > 0)
        return VISION_NO_HOLE;
    return stage_blame(s, places && lies_in_slot(s, places) ? VISION_ARM_IN_SLOT : VISION_NO_ARM);
}

/* The arms of a hub beyond the card. false when none has edges. */
static bool measure_reaching(struct stage *s, const struct part *part,
                             const struct arm_shared *usual)
{
    if (!try_place(s, part, usual)) {
        s->part.arm_count = 0;
        return false;
    }
    if (!refine_arms(s, usual))
        stage_note(s->out, VISION_UNSURE, stage_blame(s, VISION_EDGES_DISAGREE));
    join_at_hub(s);
    return true;
}

/* Whether the hub stands beyond the card. Where a thick end of the arm stands in the slot, that is
 * the hub: rings beyond the edge may be screws of the servo's lugs. */
static bool is_reaching(const struct stage *s, enum reaching beyond, const struct part *places,
                        int count)
{
    return beyond == REACHING_ARM ||
           (beyond == REACHING_MAYBE && !(count > 0 && slot_tells(s, &places[0])));
}

static bool measure_found(struct stage *s, const struct arm_shared *usual)
{
    struct part places[PART_MAX_PLACES], reaching;
    int count = 0, used = 0;
    if (take_disc(s))
        return true;
    enum vision_reason reason = part_find(s->field, &s->fix, s->options->threads, places, &count);
    enum reaching beyond = reaching_find(s, places, count, &reaching);
    if (is_reaching(s, beyond, places, count) && measure_reaching(s, &reaching, usual)) {
        if (beyond == REACHING_MAYBE)
            stage_note(s->out, VISION_UNSURE, VISION_UNSURE_HUB);
        return true;
    }
    if (beyond == REACHING_BAR)
        return stage_fail(s->out, why_no_arm(s, NULL));
    if (reason != VISION_REASON_NONE)
        return stage_fail(s->out, reason == VISION_NO_ARM ? why_no_arm(s, NULL) : reason);
    while (used < count && may_be_hub(places, used) && !try_place(s, &places[used], usual))
        used++;
    if (s->part.arm_count == 0)
        return stage_fail(s->out, why_no_arm(s, places));
    if (another_part(places, count, used))
        return stage_fail(s->out, VISION_TWO_PARTS);
    bool plain = hub_is_plain(s, &s->whole), clean = refine_arms(s, usual);
    if (passes_by(&s->whole) || (!plain && (!clean || is_bare_bar(&s->whole))))
        /* either doubt alone leaves a number worth checking */
        return stage_fail(s->out, why_no_arm(s, NULL));
    if (!clean)
        stage_note(s->out, VISION_UNSURE, stage_blame(s, VISION_EDGES_DISAGREE));
    join_at_hub(s);
    if (!plain)
        stage_note(s->out, VISION_UNSURE, VISION_UNSURE_HUB);
    if (!turns_about_a_disc(s))
        stage_note(s->out, VISION_UNSURE, VISION_UNSURE_PART);
    if (has_rival(s, places, count, used))
        stage_note(s->out, VISION_UNSURE, VISION_UNSURE_HUB);
    if (beyond == REACHING_BOTH)
        stage_note(s->out, VISION_UNSURE, VISION_UNSURE_PART);
    return true;
}

bool stage_part(struct stage *s)
{
    enum vision_reason reason =
        silhouette_build(&s->image, &s->fix, s->options->threads, &s->silhouette);
    if (reason == VISION_REASON_NONE && !(s->field = part_field_new(&s->silhouette)))
        reason = VISION_NO_MEMORY;
    if (reason != VISION_REASON_NONE)
        return stage_fail(s->out, reason);
    struct arm_shared usual = arm_shared_usual(s->image.reduce / s->out->px_per_mm);
    return s->options->have_arm_hint ? measure_pointed(s, &usual) : measure_found(s, &usual);
}
