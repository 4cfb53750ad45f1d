/* How a sticker lies against a card or another sticker, from the corners of both in one photo. */
#ifndef STICKER_H
#define STICKER_H

#include "card/markers.h"
#include "card/plane.h"

struct sticker_question {
    struct plane_lens lens;
    double focal_px, focal_u; /* focal_u: relative standard uncertainty */
    /* what does not turn; mm in its own frame */
    int count; /* corners, at most MARKERS_MAX_CORNERS */
    struct vision_point mm[MARKERS_MAX_CORNERS], px[MARKERS_MAX_CORNERS];
    double sigma_px;
    /* the crank's sticker */
    const struct sticker_fix *sticker;
    double tilt_deg; /* standard uncertainty of its slope against the other, any way */
};

struct sticker_answer {
    double direction_deg;                     /* of its x axis, in the other's frame, [0, 360) */
    double corners_deg, tilt_u_deg, lens_deg; /* what u is made of, see docs/method.md */
    /* Of lens_deg what focal length and k1 turn the direction by, were they off by as much as they
     * are doubted beforehand: signed, the same error in all photos of a camera. */
    double shared_deg[2];
    double slope_deg, slope_u_deg; /* of its plane against the other's */
    double misfit;             /* root of the squared misfit per observation to spare: about 1 */
    struct vision_point at_mm; /* its middle, where the other's plane shows it */
};

/* false when the corners have no pose. */
bool sticker_solve(const struct sticker_question *question, struct sticker_answer *out);

#endif
