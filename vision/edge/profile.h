/* Where the part ends and the card begins, on lines across an edge. */
#ifndef PROFILE_H
#define PROFILE_H

#include "silhouette/silhouette.h"

#define PROFILE_MAX_SECTIONS 600

/* A directed line in the card frame: u runs along it from the foot of the hub, v to its left. Or,
 * round, a circle about the hub: u is the angle in radians, v the distance beyond the circle. */
struct axis {
    struct vision_point hub_mm;
    double direction_rad,
        offset_mm; /* the line passes the hub at this distance, hub to its right; the radius */
    bool round;    /* direction_rad plays no part */
};

struct vision_point axis_point(const struct axis *axis, double u, double left);

struct edge_point {
    bool found;
    double u, v;         /* mm along the axis; distance from it to this side */
    double rise_mm;      /* width of the edge, a quarter to three quarters */
    double shade;        /* brightness of the card against the part, in doublings */
    double bright_share; /* of that step that is brightness, not colour: 0 to 1 */
    int tint;        /* behind the edge, silhouette_print_at(): a tint if below SILHOUETTE_SLOT */
    float inside[3]; /* just inside: root of the light, relative to paper; 0 where not known */
};

/* Lines across one side of something, and what they are read from; all borrowed. */
struct profile_side {
    const struct vision_image *image;
    const struct card_fix *fix;
    const struct silhouette *silhouette;
    const struct axis *axis;
    int side;                   /* +1 left, -1 right of the axis */
    double pixel_mm;            /* size of an image pixel there */
    int n;                      /* lines */
    const double *u;            /* n: where along the axis each lies, */
    const double *predicted_mm; /* and at which distance from it the edge is expected */
};

/* Looks for the edge of the part on each line.
 * inside_mm, outside_mm   how far to look on either side of the predicted edge; inside at most
 *            CHAIN_INSIDE / CHAIN_OUTSIDE times as far as outside
 * out        n points, in order; found is false where a stripe border, a marker or weak contrast
 *            leaves none
 * other      n more: another edge of the same side, of the wall, a bevel or the shadow
 * false when memory is short. */
bool profile_find_edges(const struct profile_side *side, double inside_mm, double outside_mm,
                        struct edge_point *out, struct edge_point *other);

#define PROFILE_MAX_EDGES 5 /* on one line */

struct any_edge {
    int line; /* index into u */
    double v;
    int tint;
    double shade;
    float inside[3], outside[3]; /* square root of light, relative to paper */
};

/* The same, but every edge on every line within reach_mm of the predicted one, for who can tell
 * which of them it is.
 * out    room for PROFILE_MAX_EDGES * n; *count are filled, line by line
 * false when memory is short. */
bool profile_all_edges(const struct profile_side *side, double reach_mm, struct any_edge *out,
                       int *count);

#endif
