#include "job_pair.h"

#include "linkage/link_pair.h"

#include <math.h>

/* The two links lie at the same height to about a quarter of a millimetre (common practice, no
 * source): what lies nearer looks longer. */
#define UNEVEN_MM 0.25

/* Does the reason speak of what lies before the card, not of the card, the lens or the file? */
static bool is_of_part(enum vision_reason reason)
{
    switch (reason) {
    case VISION_NO_PART:
    case VISION_NO_ARM:
    case VISION_ARM_IN_SLOT:
    case VISION_ARM_ON_STRIPE:
    case VISION_ARM_ON_SQUARE:
    case VISION_NO_HOLE:
    case VISION_DISC_BEYOND:
    case VISION_BALL_ASKEW:
    case VISION_POOR_HOLES:
    case VISION_SHORT_ARM:
    case VISION_UNSURE_HUB:
    case VISION_EDGES_DISAGREE:
    case VISION_UNSURE_PART:
    case VISION_TWO_PARTS:
    case VISION_NO_EDGE:
    case VISION_TWO_EDGES:
    case VISION_THIN_LINE:
    case VISION_NO_LINK:
    case VISION_LINKS_ARM:
    case VISION_BAD_HINT:
        return true;
    default:
        return false;
    }
}

enum vision_status job_pair_status(const struct vision_result *result, enum vision_reason *reason)
{
    *reason = result->reason;
    if (result->status != VISION_FAILED || !is_of_part(result->reason))
        return result->status;
    *reason = VISION_STEEP_VIEW;
    /* where the arms failed that is no longer told */
    return result->obliquity_deg > VISION_UNSURE_OBLIQUITY_DEG ? VISION_UNSURE : VISION_OK;
}

/* Between two points of the photo, x, y, x, y, on the card's plane. */
static double length_mm(const double *px, const void *plane)
{
    struct vision_point a = vision_plane_to_card(plane, (struct vision_point){px[0], px[1]});
    struct vision_point b = vision_plane_to_card(plane, (struct vision_point){px[2], px[3]});
    return hypot(b.x - a.x, b.y - a.y);
}

/* A length on the card's plane, where pixels of one photo are not all of one size. */
static struct quantity seen(const struct vision_plane *plane, const struct vision_point px[2])
{
    const struct quantity pointed[4] = {{px[0].x, VISION_POINTED_PX},
                                        {px[0].y, VISION_POINTED_PX},
                                        {px[1].x, VISION_POINTED_PX},
                                        {px[1].y, VISION_POINTED_PX}};
    return quantity_carry(length_mm, pointed, 4, plane);
}

/* Centres of two balls lie further apart: each is wider than this (common practice, no source). */
#define ONE_BALL_MM 2.0

static bool share_a_ball(const struct job_links *links, const struct vision_plane *plane)
{
    for (int i = 0; i < 2; i++)
        for (int j = 2; j < 4; j++) {
            struct vision_point a = vision_plane_to_card(plane, links->balls_px[i]);
            struct vision_point b = vision_plane_to_card(plane, links->balls_px[j]);
            if (hypot(b.x - a.x, b.y - a.y) < ONE_BALL_MM)
                return true;
        }
    return false;
}

/* The longer side of the picture, as much as it shows of the card's plane. */
static double across_mm(const struct vision_result *result)
{
    int px = result->photo.width_px > result->photo.height_px ? result->photo.width_px
                                                              : result->photo.height_px;
    return px / result->px_per_mm;
}

const char *job_pair_lengths(const struct job_links *links, const struct vision_result *result,
                             struct quantity out_mm[2])
{
    if (!result->card || !(result->px_per_mm > 0) || result->markers_found < 3)
        return "Too little of the card is seen to measure lengths; take the photo again with the "
               "whole card in it.";
    if (share_a_ball(links, &result->plane))
        return "--first-link and --second-link name the same ball; point at four different ones, "
               "two of each link.";
    struct link_pair_photo photo = {seen(&result->plane, links->balls_px),
                                    seen(&result->plane, links->balls_px + 2), links->height_mm,
                                    links->distance_mm, across_mm(result)};
    struct link_pair_lengths made;
    if (!link_pair_lens_could(&photo))
        return LINK_PAIR_TOO_NEAR;
    if (!link_pair_from_photo(&photo, &made))
        return "The height of the links must lie between 0 and the distance of the camera, and "
               "the two ends of a link apart.";
    double uneven = UNEVEN_MM * made.first_mm.value / links->distance_mm.value;
    double u = hypot(made.difference_mm.u, sqrt(2) * uneven) / sqrt(2);
    out_mm[0] = (struct quantity){made.first_mm.value, u};
    out_mm[1] = (struct quantity){made.second_mm.value, u};
    return NULL;
}
