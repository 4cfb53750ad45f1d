/* The two long edges of an arm to a fraction of a pixel, and its direction from both. */
#ifndef EDGE_FIT_H
#define EDGE_FIT_H

#include "arm_shared.h"
#include "maths/bend.h"
#include "part/part.h"

struct arm_fit {
    double direction_rad; /* of the middle line, hub to tip, card frame */
    double offset_mm;     /* of the middle line to the left of the hub */
    double offset_u_mm;   /* of offset_mm, from how well the edges can be placed at all */
    double u_rad;         /* from the scatter of the edge points, correlation included */
    double dof;           /* degrees of freedom of u_rad */
    double taper_rad;     /* of each side against the middle line, inwards; NAN where they bend */
    double body_mm;       /* stretch of arm that carries edge points */
    int told[2];          /* sections where it is known what lies behind the left and right edge */
    int points[2];        /* sections with a left and a right edge point */
    double tinted;        /* share of edge points whose inside has the colour of the card */
    bool clean;           /* a fair part of both edges was seen and agrees with the result */
    struct arm_shared shown; /* as this arm alone shows it, less what was known before */
    struct bend bend;        /* of the middle line */
    double blur_mm;          /* median rise of the edges, quarter to three quarters */
};

/* What edges are read from; borrowed. */
struct edge_view {
    const struct vision_image *image;
    const struct card_fix *fix;
    const struct silhouette *silhouette;
    const double *camera_mm; /* camera's centre in the card frame, 3 */
};

/* The edge points of one arm, as found in the photo: reading them takes time, fitting lines to them
 * hardly any. */
struct arm_edges;

/* NULL when too few are found. usual: what is known beforehand. The caller frees. */
struct arm_edges *edge_fit_read(const struct edge_view *view, struct vision_point hub_mm,
                                const struct part_arm *arm, const struct arm_shared *usual);
void edge_fit_free(struct arm_edges *edges);

/* The middle line by what is known now. edges: their weights change. false when the points do not
 * make a line; out is then undefined. */
bool edge_fit_line(struct arm_edges *edges, const struct arm_shared *known, struct arm_fit *out);

#endif
