/* Balls on a disc horn: round things that stand out from its face all round. */
#ifndef DISC_BALL_H
#define DISC_BALL_H

#include "rim.h"

#define DISC_MAX_BALLS 6

/* As seen on the card. */
struct disc_ball {
    struct vision_point centre_mm;
    double radius_mm;
};

/* Finds the balls on a disc of this outline, at most DISC_MAX_BALLS, clear of its hub. Centres are
 * good to about two tenths of a millimetre. Returns VISION_REASON_NONE or VISION_NO_MEMORY. */
enum vision_reason disc_balls_find(const struct vision_image *image, const struct card_fix *fix,
                                   const struct silhouette *s, const struct rim *outline,
                                   struct disc_ball out[DISC_MAX_BALLS], int *count);

#endif
