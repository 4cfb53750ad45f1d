/* For tests: a plane from points seen without distortion, and how well a direction is known by it.
 */
#ifndef PLANE_MAKER_H
#define PLANE_MAKER_H

#include "card/plane.h"

#include <math.h>

/* As plane_fit(). */
static inline bool plane_of_points(const struct vision_point *mm, const struct vision_point *px,
                                   int n, double sigma_px, struct vision_plane *out)
{
    return plane_fit(mm, px, n, sigma_px, &(struct plane_lens){.radius_px = 1}, out);
}

/* Standard uncertainty of a direction at a point, the lens' share and the rest together. */
static inline double plane_direction_u(const struct vision_plane *plane, struct vision_point at_mm,
                                       double direction_deg)
{
    double gradient[VISION_PLANE_UNKNOWNS], plain = 90, lens = 0;
    if (plane_direction_gradient(plane, at_mm, direction_deg, gradient))
        plane_gradient_u(plane, gradient, &plain, &lens);
    return hypot(plain, lens);
}

#endif
