/* Disc horns: round outline, holes, and the directions from the hub to the holes. */
#ifndef DISC_H
#define DISC_H

#include "part/part.h"
#include "rim.h"

#define DISC_MAX_HOLES 64 /* eight rows of five, and as much again that turns out to be none */

struct disc_arm {
    double direction_rad, u_rad;
    double reach_mm; /* hub to the outermost hole of this direction, or to the ball */
    int holes;       /* one behind the other; 0: told by a ball, which stands above the disc */
};

struct disc {
    struct rim outline;
    int hole_count;
    struct rim holes[DISC_MAX_HOLES];
    struct vision_point hub_mm; /* from the outline and from the circles on which holes lie */
    int arm_count;
    struct disc_arm arms[VISION_MAX_ARMS]; /* the first found, when there are more */
    int untold_arms;                       /* how many more */
    bool crowded; /* more may be holes than were looked at: directions may be missing */
    /* Squared misfit per observation to spare of outline, circles of holes and rows of holes; near
     * 1 when they agree within their uncertainties, 0 when there is none to spare. Above 1 it is
     * already in u_rad. */
    double misfit;
};

/* Finds a disc horn and measures it. camera_mm is the camera's centre in the card frame.
 * Returns VISION_REASON_NONE (arm_count > 0), VISION_NO_ARM (no disc; or, with outline.seen > 0,
 * one without balls or holes that show the card) or VISION_NO_MEMORY. Method: docs/method.md,
 * "Discs". */
enum vision_reason disc_find(const struct vision_image *image, const struct card_fix *fix,
                             const struct silhouette *s, const struct part_field *field,
                             const double camera_mm[3], struct disc *out);

/* Hub and arms from outline and holes, which are filled in; the rest is overwritten. false when
 * they carry no direction. */
bool disc_join(struct disc *disc, double obliquity_rad);

#endif
