/* Arms of an evenly spaced part tell each other's angle (vision_space_arms()). docs/method.md, 6b.
 */
#ifndef SPACING_H
#define SPACING_H

#include "vision.h"

/* Moulded arms keep their spacing to about this (standard uncertainty; judged). */
#define SPACING_MOULDED_DEG 0.15

/* And holes of discs, drilled or moulded, to this (judged). */
#define SPACING_DRILLED_DEG 0.25

/* Whether the arms (angle_deg) lie within 3 degrees of one even spacing of 90, 120 or 60 degrees,
 * or three and more of 72: then off_deg holds how far each is from its place in it, the first one's
 * being 0. Returns the spacing, 0 for another part or fewer than two arms. */
int spacing_of(const struct vision_arm *arms, int count, double off_deg[VISION_MAX_ARMS]);

/* Holes of a disc are spaced less evenly, and one of which a shadow shows a crescent may be taken
 * for a whole one: where three or more lie in a pattern, what one stands off the middle of them by
 * adds to its edge noise, if that is more than its u and how discs are made explain. */
void spacing_doubt_holes(struct vision_arm *arms, int count);

#endif
