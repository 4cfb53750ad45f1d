/* The part in the silhouette: where its hub lies and which bars leave it as arms. */
#ifndef PART_H
#define PART_H

#include "silhouette.h"

/* One arm, roughly: good to a few tenths of a millimetre, for the fine fit to start from.
 * The axis runs from the hub along direction_rad; offset is how far it misses the hub. */
struct part_arm {
    double direction_rad;           /* card frame, hub to tip */
    double offset_mm;               /* of the axis to the left of the hub */
    double start_mm, end_mm;        /* stretch of straight body along the axis, from the hub */
    double tip_mm;                  /* where the arm ends, from the hub */
    double width_mm;                /* in the middle of the body */
    double left_mm[2], right_mm[2]; /* edges at distance [0] + [1] u to either side of the axis */
    double spread_mm;               /* scatter of the middle line */
    bool open_end;                  /* runs on beyond what can be told */
};

struct part {
    struct vision_point hub_mm;
    double hub_radius_mm;
    int arm_count;
    struct part_arm arms[VISION_MAX_ARMS]; /* counter-clockwise by direction */
    double score, rival_score;             /* of the hub, and of the best other place for it */
};

/* Finds the part. Returns VISION_REASON_NONE, VISION_NO_PART, VISION_NO_ARM or VISION_NO_MEMORY;
 * *out is filled only on VISION_REASON_NONE. */
enum vision_reason part_find(const struct silhouette *s, const struct card_fix *fix,
                             struct part *out);

/* The one arm between a hub and a tip that a person pointed at, each to a millimetre or two.
 * Returns VISION_REASON_NONE, VISION_BAD_HINT, VISION_NO_ARM or VISION_NO_MEMORY. */
enum vision_reason part_find_hinted(const struct silhouette *s, struct vision_point hub_mm,
                                    struct vision_point tip_mm, struct part *out);

/* The link or pushrod that leaves the tip of one of the part's arms sideways: the longest such
 * bar. *link is laid out from *from_mm, the joint. Returns VISION_REASON_NONE, VISION_NO_LINK or
 * VISION_NO_MEMORY. */
enum vision_reason part_find_link(const struct silhouette *s, const struct part *part,
                                  struct vision_point *from_mm, struct part_arm *link);

#endif
