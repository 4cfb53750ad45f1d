#include "pointing.h"

#include "budget/budget.h"
#include "maths/angle.h"
#include "part/part_reach.h"

#include <math.h>

/* Hub and tip as pointed at, card frame. */
struct pointed {
    struct vision_point hub_mm, tip_mm;
    double length_mm, direction_rad;
};

static struct pointed where(const struct stage *s)
{
    struct pointed p = {.hub_mm = vision_plane_to_card(&s->fix.plane, s->options->hub_hint_px),
                        .tip_mm = vision_plane_to_card(&s->fix.plane, s->options->tip_hint_px)};
    p.length_mm = hypot(p.tip_mm.x - p.hub_mm.x, p.tip_mm.y - p.hub_mm.y);
    p.direction_rad = atan2(p.tip_mm.y - p.hub_mm.y, p.tip_mm.x - p.hub_mm.x);
    return p;
}

static double aside_rad(const struct pointed *p, double direction_rad)
{
    return angle_apart(direction_rad, p->direction_rad);
}

/* The nearest arm, -1 when there is none that near or the hub is another. */
static int nearest_arm(const struct pointed *p, const struct part *part)
{
    const double hub_mm = 2.5, missed_mm = 1, missed_rad = 4 / DEG;
    double best = missed_rad + missed_mm / fmax(1, p->length_mm);
    int nearest = -1;
    if (hypot(part->hub_mm.x - p->hub_mm.x, part->hub_mm.y - p->hub_mm.y) > hub_mm)
        return -1;
    for (int i = 0; i < part->arm_count; i++) {
        double aside = aside_rad(p, part->arms[i].direction_rad);
        if (aside < best) {
            best = aside;
            nearest = i;
        }
    }
    return nearest;
}

/* Adds the arms that reach in over an edge from a hub beyond it, with the hub as pointed at. */
static void add_reaching(const struct stage *s, const struct pointed *p,
                         struct part out[PART_MAX_PLACES], int *count)
{
    struct part_reach reaches[PART_REACH_MAX];
    int side = 0;
    while (side < CARD_SIDES && part_reach_beyond_mm(&s->fix, (enum card_side)side, p->hub_mm) < 0)
        side++;
    if (side == CARD_SIDES)
        return;
    const int n = part_reach_find(s->field, &s->fix, (enum card_side)side, reaches);
    for (int i = 0; i < n && *count < PART_MAX_PLACES; i++) {
        struct part *part = &reaches[i].part;
        const double c = cos(part->arms[0].direction_rad), si = sin(part->arms[0].direction_rad);
        const double along =
            (p->hub_mm.x - part->hub_mm.x) * c + (p->hub_mm.y - part->hub_mm.y) * si;
        part_move_hub(part, along * c, along * si);
        if (nearest_arm(p, part) >= 0)
            out[(*count)++] = *part;
    }
}

enum vision_reason pointing_find_places(const struct stage *s, struct part out[PART_MAX_PLACES],
                                        int *count)
{
    const struct pointed p = where(s);
    struct part alone;
    int found = 0;
    enum vision_reason reason = part_find_hinted(s->field, p.hub_mm, p.tip_mm, &alone);
    *count = 0;
    if (reason == VISION_BAD_HINT)
        return reason;
    if (part_find(s->field, &s->fix, s->options->threads, out, &found) != VISION_REASON_NONE)
        found = 0;
    for (int i = 0; i < found; i++)
        if (nearest_arm(&p, &out[i]) >= 0)
            out[(*count)++] = out[i];
    if (reason == VISION_REASON_NONE && *count < PART_MAX_PLACES && nearest_arm(&p, &alone) >= 0)
        out[(*count)++] = alone;
    add_reaching(s, &p, out, count);
    return *count > 0 ? VISION_REASON_NONE : VISION_NO_ARM;
}

int pointing_arm(const struct stage *s)
{
    const struct pointed p = where(s);
    return nearest_arm(&p, &s->part);
}

double pointing_aside_rad(const struct stage *s, double direction_rad)
{
    const struct pointed p = where(s);
    return aside_rad(&p, direction_rad);
}

/* Each point is good to a few pixels, and the tip may stand a few millimetres above the hub, a ball
 * on a disc say, which a slanting view turns into an angle. */
void pointing_take_line(struct stage *s)
{
    const double placed_px = 2 * VISION_POINTED_PX, height_mm = 3;
    const struct pointed p = where(s);
    double placed = placed_px * sqrt(2) / s->out->px_per_mm;
    double lean = height_mm * tan(s->out->obliquity_deg / DEG) / sqrt(2);
    s->part = (struct part){.hub_mm = p.hub_mm, .arm_count = 1};
    s->part.arms[0] = (struct part_arm){.direction_rad = p.direction_rad, .tip_mm = p.length_mm};
    s->whole = s->part;
    s->fits[0] = (struct arm_fit){.direction_rad = p.direction_rad,
                                  .u_rad = hypot(placed, lean) / p.length_mm,
                                  .body_mm = p.length_mm,
                                  .dof = BUDGET_JUDGED_DOF,
                                  .clean = true};
    stage_note(s->out, VISION_UNSURE, VISION_POINTS_ONLY);
}
