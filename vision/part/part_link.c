#include "part_link.h"

#include "bar.h"
#include "maths/angle.h"

#include <math.h>

/* A rod leaves the joint sideways, and passes the hub by: what leads to that is an arm. */
static bool may_be_link(const struct part *part, const struct part_arm *arm,
                        const struct lump *joint, const struct part_arm *bar)
{
    const double sideways_rad = 0.35, beside_hub = 0.6;
    double c = cos(bar->direction_rad), s = sin(bar->direction_rad);
    double x = part->hub_mm.x - joint->at_mm.x, y = part->hub_mm.y - joint->at_mm.y;
    double body = bar->end_mm - bar->start_mm;
    bool thin = bar->width_mm > 0.8 && bar->width_mm < 7 && body > 2 * bar->width_mm;
    return thin && fabs(bar->offset_mm) < 2.5 &&
           angle_between_lines(bar->direction_rad, arm->direction_rad) > sideways_rad &&
           fabs(-x * s + y * c - bar->offset_mm) > beside_hub * part->hub_radius_mm;
}

static void try_links(const struct part_field *f, const struct card_fix *fix,
                      const struct part *part, const struct part_arm *arm, const struct lump *joint,
                      struct vision_point *from_mm, struct part_arm *link)
{
    double directions[PART_FIELD_RAYS] = {0};
    int n = bar_directions(f, joint, directions);
    for (int i = 0; i < n; i++) {
        struct part_arm bar = {.direction_rad = directions[i]};
        if (!bar_align(f, joint->at_mm, joint->radius_mm, &bar) ||
            !may_be_link(part, arm, joint, &bar) || bar_is_slot(f, fix, joint->at_mm, &bar))
            continue;
        if (bar.end_mm - bar.start_mm > link->end_mm - link->start_mm) {
            *link = bar;
            *from_mm = joint->at_mm;
        }
    }
}

/* Whether what lies between hub and joint is part, as an arm is. */
static bool hangs_together(const struct part_field *f, struct vision_point hub_mm,
                           struct vision_point joint_mm)
{
    enum { STEPS = 40 };
    const int least = 34; /* an arm has holes */
    int solid = 0;
    for (int k = 1; k <= STEPS; k++) {
        double share = (k - 0.5) / STEPS;
        long at = part_field_index(f, hub_mm.x + share * (joint_mm.x - hub_mm.x),
                                   hub_mm.y + share * (joint_mm.y - hub_mm.y));
        solid += at >= 0 && f->solid[at];
    }
    return solid >= least;
}

/* Joints on arms that were not made out, as one whose cup covers most of it: thick places beyond
 * the hub. What leads from there back to the hub is no link. */
static void try_joints_alone(const struct part_field *f, const struct card_fix *fix,
                             const struct part *part, struct vision_point *from_mm,
                             struct part_arm *link)
{
    const double beyond_mm = 3, furthest_mm = 45, least_mm = 0.8;
    const struct lump *places = f->lumps;
    for (int i = 0; i < f->lump_count; i++) {
        double x = places[i].at_mm.x - part->hub_mm.x, y = places[i].at_mm.y - part->hub_mm.y;
        double away = hypot(x, y) - part->hub_radius_mm;
        struct part_arm arm = {.direction_rad = atan2(y, x)};
        if (away > beyond_mm && away < furthest_mm && places[i].radius_mm > least_mm &&
            !part_field_at_rim(fix, &places[i]) && hangs_together(f, part->hub_mm, places[i].at_mm))
            try_links(f, fix, part, &arm, &places[i], from_mm, link);
    }
}

enum vision_reason part_find_link(const struct part_field *f, const struct card_fix *fix,
                                  const struct part *part, struct vision_point *from_mm,
                                  struct part_arm *link)
{
    *link = (struct part_arm){0};
    for (int i = 0; i < part->arm_count; i++) {
        struct lump joint = {0};
        if (bar_end_lump(f, part->hub_mm, &part->arms[i], &joint))
            try_links(f, fix, part, &part->arms[i], &joint, from_mm, link);
    }
    if (!(link->end_mm > link->start_mm))
        try_joints_alone(f, fix, part, from_mm, link);
    return link->end_mm > link->start_mm ? VISION_REASON_NONE : VISION_NO_LINK;
}
