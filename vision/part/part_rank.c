#include "part_rank.h"

#include "maths/angle.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Keeps the best places, best first. */
static void keep_best(const struct part *part, struct part out[PART_MAX_PLACES], int *count)
{
    int at = *count;
    while (at > 0 && out[at - 1].score < part->score)
        at--;
    if (at >= PART_MAX_PLACES)
        return;
    int last = *count < PART_MAX_PLACES ? (*count)++ : PART_MAX_PLACES - 1;
    memmove(&out[at + 1], &out[at], (size_t)(last - at) * sizeof *out);
    out[at] = *part;
}

/* Whether an arm of hub ends in the other place. */
static bool ends_in(const struct part_arm *arm, struct vision_point hub_mm,
                    const struct part *other)
{
    double c = cos(arm->direction_rad), s = sin(arm->direction_rad);
    double x = other->hub_mm.x - hub_mm.x, y = other->hub_mm.y - hub_mm.y;
    double along = x * c + y * s, aside = -x * s + y * c - arm->offset_mm;
    return fabs(along - arm->tip_mm + other->hub_radius_mm) < other->hub_radius_mm &&
           fabs(aside) < 0.7 * other->hub_radius_mm;
}

/* Whether an arm of the place is the outer part of this arm of the hub. */
static bool continues(const struct part_arm *inner, const struct part *hub,
                      const struct part_arm *outer, const struct part *place)
{
    const double along_rad = 6 / DEG, aside_mm = 1.5, same_tip_mm = 3;
    const double c = cos(inner->direction_rad), s = sin(inner->direction_rad);
    const double x = place->hub_mm.x - hub->hub_mm.x, y = place->hub_mm.y - hub->hub_mm.y;
    const double along = x * c + y * s;
    return angle_apart(inner->direction_rad, outer->direction_rad) < along_rad &&
           fabs(-x * s + y * c - inner->offset_mm) < aside_mm && along > 0.5 * hub->hub_radius_mm &&
           fabs(along + outer->tip_mm - inner->tip_mm) < same_tip_mm;
}

/* Whether a place is but a piece of a hub's arm: it lies on it, has nothing else, and is no thicker
 * than the arm is on the way there. */
static bool is_piece_of(const struct part_field *f, const struct part *place,
                        const struct part *hub)
{
    const double thinner = 0.96, bulge = 1.04;
    const double x = (place->hub_mm.x + hub->hub_mm.x) / 2,
                 y = (place->hub_mm.y + hub->hub_mm.y) / 2;
    const long between = part_field_index(f, x, y);
    if (hub->joint || place->hub_radius_mm > thinner * hub->hub_radius_mm || between < 0 ||
        place->hub_radius_mm > bulge * f->depth_mm[between])
        return false;
    for (int i = 0; i < place->arm_count; i++) {
        bool known = false;
        for (int k = 0; k < hub->arm_count && !known; k++)
            known = continues(&hub->arms[k], hub, &place->arms[i], place);
        if (!known)
            return false;
    }
    return true;
}

/* Pieces of an arm lie nearer to the card's middle than its hub where that stands elsewhere, and
 * would be preferred for it. Where the part has a tint's colour how thick it is is told too poorly.
 */
static void lower_pieces(const struct part_field *f, struct part *places, int count)
{
    const double piece_score = 0.4, serious = 0.3;
    bool piece[PART_FIELD_MAX_LUMPS] = {false};
    for (int i = 0; i < count; i++)
        for (int k = 0; k < count && !piece[i]; k++)
            piece[i] = k != i && places[i].arm_count > 0 && places[k].arm_count > 0 &&
                       places[k].score > serious * places[i].score &&
                       is_piece_of(f, &places[i], &places[k]);
    for (int i = 0; i < count; i++) {
        places[i].piece = piece[i];
        places[i].score *= piece[i] ? piece_score : 1;
    }
}

static void take_for_joint(struct part *place)
{
    place->joint = true;
    place->score *= PART_JOINT_SCORE;
}

/* Where one place has an arm that ends in another, and a bar that may be a rod leaves that one
 * sideways, either may be the hub. The one clearly nearer to the slot's end is taken for it, the
 * other for a joint; and one that is clearly thinner and has that bar alone is a joint wherever it
 * lies. */
static bool is_joint_of(const struct part *place, const struct part *hub)
{
    const double clearly_mm = 3, thinner = 0.87;
    double near = hypot(hub->hub_mm.x, hub->hub_mm.y);
    double far = hypot(place->hub_mm.x, place->hub_mm.y);
    return near + clearly_mm <= far || (!hub->joint && place->arm_count == 1 &&
                                        place->hub_radius_mm <= thinner * hub->hub_radius_mm);
}

static void tell_joints(struct part *places, int count)
{
    for (int i = 0; i < count; i++)
        for (int j = 0; j < count; j++) {
            if (i == j || places[j].joint || !is_joint_of(&places[j], &places[i]))
                continue;
            for (int k = 0; k < places[i].arm_count && !places[j].joint; k++) {
                struct part_arm *arm = &places[i].arms[k];
                if (arm->far_end != FAR_END_MAYBE_JOINT ||
                    !ends_in(arm, places[i].hub_mm, &places[j]))
                    continue;
                arm->far_end = FAR_END_JOINT;
                take_for_joint(&places[j]);
            }
        }
}

static int better_first(const void *a, const void *b)
{
    double d = ((const struct part *)b)->score - ((const struct part *)a)->score;
    return (d > 0) - (d < 0);
}

void part_rank(const struct part_field *f, struct part *places, int found,
               struct part out[PART_MAX_PLACES], int *count)
{
    *count = 0;
    if (!silhouette_is_blind(f->s))
        lower_pieces(f, places, found);
    for (int i = 0; i < found; i++)
        if (places[i].arm_count > 0)
            keep_best(&places[i], out, count);
    tell_joints(out, *count);
    qsort(out, (size_t)*count, sizeof *out, better_first);
}
