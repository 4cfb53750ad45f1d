/* The part in the silhouette: where its hub lies and which bars leave it as arms. */
#ifndef PART_H
#define PART_H

#include "part_field.h"

#define PART_THIN_ROD_MM 0.6  /* no link's rod is thinner */
#define PART_ROD_MM 2.9       /* links' rods are thinner */
#define PART_THICK_ROD_MM 5.2 /* and so is what may be one */

/* What leaves an arm's far end sideways: a link's rod tells that this end is not the hub. */
enum far_end {
    FAR_END_FREE,
    FAR_END_MAYBE_JOINT, /* a bar that cannot be followed: rod, or another arm */
    FAR_END_JOINT,
};

/* One arm, roughly: good to a few tenths of a millimetre, for the fine fit to start from.
 * The axis runs from the hub along direction_rad; offset is how far it misses the hub. */
#define PART_MAX_OUTLINE 240

struct part_arm {
    double direction_rad;    /* card frame, hub to tip */
    double offset_mm;        /* of the axis to the left of the hub */
    double start_mm, end_mm; /* stretch of body along the axis, from the hub */
    double clear_mm;         /* up to where neither ball nor link end covers it; else end_mm */
    double tip_mm;           /* where the arm ends, from the hub */
    double width_mm;         /* in the middle of the body */
    double tip_width_mm;     /* just before its end */
    double spread_mm;        /* scatter of the middle line */
    double far_radius_mm;    /* of the thickest place in the outer half */
    bool covered_end;        /* runs onto a marker, where it cannot be followed */
    bool open_end;           /* runs on beyond the card */
    bool round_end;          /* closes in at its end, so is seen to end */
    double holes_mm;         /* how far out round holes lie through which the card shows; 0: none */
    enum far_end far_end;
    int outline_count; /* cross-sections of the body: edges to either side of the axis */
    struct {
        float u_mm, left_mm, right_mm;
    } outline[PART_MAX_OUTLINE];
};

struct part {
    struct vision_point hub_mm;
    double hub_radius_mm;
    int arm_count;
    struct part_arm arms[VISION_MAX_ARMS]; /* counter-clockwise by direction */
    bool joint;   /* a thin bar leads out of the picture from here: more likely a link's joint */
    bool piece;   /* of an arm of a better place */
    bool gripped; /* two bars side by side lead from here off the card: handles of a tool */
    double score; /* as hub: long clean arms, and a boss thicker than they are */
};

/* Moves the hub by so much and has its arms, which stay where they are, begin there. */
void part_move_hub(struct part *part, double x_mm, double y_mm);

#define PART_MAX_PLACES 4

/* Finds the places that could be the hub of the part, best first, at most PART_MAX_PLACES, on so
 * many threads. Returns VISION_REASON_NONE (*count > 0), VISION_NO_PART, VISION_NO_ARM or
 * VISION_NO_MEMORY. */
enum vision_reason part_find(const struct part_field *f, const struct card_fix *fix, size_t threads,
                             struct part out[PART_MAX_PLACES], int *count);

/* The one arm between a hub and a tip that a person pointed at, each to a millimetre or two.
 * Returns VISION_REASON_NONE, VISION_BAD_HINT or VISION_NO_ARM. */
enum vision_reason part_find_hinted(const struct part_field *f, struct vision_point hub_mm,
                                    struct vision_point tip_mm, struct part *out);

#endif
