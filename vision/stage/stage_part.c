#include "arm_lines.h"
#include "budget/budget.h"
#include "disc/disc.h"
#include "hub_doubt.h"
#include "maths/angle.h"
#include "part/part_reach.h"
#include "pointing.h"
#include "reaching.h"
#include "stage.h"

#include <math.h>

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
    s->disc_untold = disc.untold_arms;
    if (s->is_disc && (disc.crowded || disc.misfit > doubtful))
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

/* Whether an arm leaves a disc: a bar about its middle, broader than rods to its end, that stands
 * out of its rim by more than its width, as no ball link's cup does (common practice, no source).
 */
static bool arm_leaves_disc(const struct stage *s, const struct part *place)
{
    const double centred = 0.15;
    if (hypot(place->hub_mm.x - s->outline.centre_mm.x, place->hub_mm.y - s->outline.centre_mm.y) >
        centred * s->outline.radius_mm)
        return false;
    for (int i = 0; i < place->arm_count; i++) {
        const struct part_arm *arm = &place->arms[i];
        if (fmin(arm->width_mm, arm->tip_width_mm) > PART_THICK_ROD_MM &&
            arm->tip_mm - s->outline.radius_mm > arm->width_mm)
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
        if (!arm_lines_try(s, &places[i], usual) || pointing_arm(s) < 0 ||
            !arm_lines_refine(s, usual))
            continue;
        arm_lines_join(s);
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

static bool disc_comes_in(const struct stage *s)
{
    for (int side = 0; side < CARD_SIDES; side++)
        if (part_reach_is_round(s->field, &s->fix, (enum card_side)side))
            return true;
    return false;
}

/* Why there is no arm. places: the best that was found, first; NULL: none. */
static enum vision_reason why_no_arm(const struct stage *s, const struct part *places)
{
    const bool in_slot = places && hub_arms_in_slot(s, places);
    if (places && !in_slot && arm_lines_on_stripes(s, places))
        return VISION_ARM_ON_STRIPE;
    if (s->outline.seen > 0)
        return VISION_NO_HOLE;
    if (disc_comes_in(s))
        return VISION_DISC_BEYOND;
    return stage_blame(s, in_slot ? VISION_ARM_IN_SLOT : VISION_NO_ARM);
}

static enum vision_reason why_edges_disagree(const struct stage *s)
{
    return arm_lines_on_stripes(s, &s->whole) ? VISION_ARM_ON_STRIPE
                                              : stage_blame(s, VISION_EDGES_DISAGREE);
}

/* The arms of a hub beyond the card. false when none has edges. */
static bool measure_reaching(struct stage *s, const struct part *part,
                             const struct arm_shared *usual)
{
    if (!arm_lines_try(s, part, usual)) {
        s->part.arm_count = 0;
        return false;
    }
    if (!arm_lines_refine(s, usual))
        stage_note(s->out, VISION_UNSURE, why_edges_disagree(s));
    arm_lines_join(s);
    return true;
}

/* Whether the hub stands beyond the card. Where a thick end of the arm stands in the slot, that is
 * the hub: rings beyond the edge may be screws of the servo's lugs. */
static bool is_reaching(const struct stage *s, enum reaching beyond, const struct part *places,
                        int count)
{
    return beyond == REACHING_ARM ||
           (beyond == REACHING_MAYBE && !(count > 0 && hub_in_slot(s, &places[0])));
}

/* Notes what else the places before the card may mean. used: which of them was measured. */
static void note_doubts(struct stage *s, const struct part *places, int count, int used, bool plain)
{
    if (!plain)
        stage_note(s->out, VISION_UNSURE, VISION_UNSURE_HUB);
    if (!turns_about_a_disc(s))
        stage_note(s->out, VISION_UNSURE, VISION_UNSURE_PART);
    const bool link_end = places[used].joint && places[used].arm_count == 1; /* and its sleeve */
    if (link_end || hub_has_rival(s, places, count, used) || hub_is_outdone(s, &places[used]))
        stage_note(s->out, VISION_UNSURE, VISION_UNSURE_HUB);
}

/* The arms of the best of the places before the card whose arms have edges. */
static bool measure_on_card(struct stage *s, const struct part *places, int count,
                            const struct arm_shared *usual)
{
    int used = 0;
    while (used < count && may_be_hub(places, used) && !arm_lines_try(s, &places[used], usual))
        used++;
    if (s->part.arm_count == 0)
        return stage_fail(s->out, why_no_arm(s, places));
    if (places[used].gripped)
        return stage_fail(s->out, why_no_arm(s, NULL));
    if (hub_of_another_part(places, count, used)) /* a joint has its link's other end */
        return stage_fail(s->out, places[used].joint ? why_no_arm(s, NULL) : VISION_TWO_PARTS);
    bool plain = hub_is_plain(s, &s->whole), clean = arm_lines_refine(s, usual);
    if (hub_passes_by(&s->whole) || (!plain && (!clean || hub_is_bare_bar(&s->whole)))) {
        /* either doubt alone leaves a number worth checking; of the arm a piece may tell more */
        const int next = used + 1;
        return next < count && places[next].piece
                   ? measure_on_card(s, &places[next], count - next, usual)
                   : stage_fail(s->out, why_no_arm(s, NULL));
    }
    if (!clean)
        stage_note(s->out, VISION_UNSURE, why_edges_disagree(s));
    arm_lines_join(s);
    note_doubts(s, places, count, used, plain);
    return true;
}

static bool measure_found(struct stage *s, const struct arm_shared *usual)
{
    struct part places[PART_MAX_PLACES], reaching;
    int count = 0;
    const bool disc = take_disc(s);
    enum vision_reason reason = part_find(s->field, &s->fix, s->options->threads, places, &count);
    if (disc && !(count > 0 && arm_leaves_disc(s, &places[0])))
        return true;
    s->is_disc = s->by_balls = false;
    enum reaching beyond = reaching_find(s, places, count, &reaching);
    if (is_reaching(s, beyond, places, count) && measure_reaching(s, &reaching, usual)) {
        if (beyond == REACHING_MAYBE)
            stage_note(s->out, VISION_UNSURE, VISION_UNSURE_HUB);
        return true;
    }
    if (beyond == REACHING_BAR)
        return stage_fail(s->out, why_no_arm(s, NULL));
    if (reason != VISION_REASON_NONE)
        return stage_fail(s->out,
                          reason == VISION_NO_ARM ? why_no_arm(s, NULL) : stage_blame(s, reason));
    if (!measure_on_card(s, places, count, usual))
        return false;
    if (beyond == REACHING_BOTH)
        stage_note(s->out, VISION_UNSURE, VISION_UNSURE_PART);
    if (beyond == REACHING_EITHER)
        stage_note(s->out, VISION_UNSURE, VISION_UNSURE_HUB);
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
