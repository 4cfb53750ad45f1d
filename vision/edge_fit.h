/* The two long edges of an arm to a fraction of a pixel, and its direction from both. */
#ifndef EDGE_FIT_H
#define EDGE_FIT_H

#include "part.h"

struct arm_fit {
    double direction_rad; /* of the middle line, hub to tip, card frame */
    double offset_mm;     /* of the middle line to the left of the hub */
    double u_rad;         /* from the scatter of the edge points, correlation included */
    double rms_mm;        /* scatter of the edge points */
    double body_mm;       /* stretch of arm that carries edge points */
    int points[2];        /* used on the left and right edge */
    int tried[2];         /* looked at */
    double blur_mm;       /* median rise of the edges, quarter to three quarters */
    double contrast;      /* median step between part and card, relative to paper white */
};

/* Fits the edges of one arm in the photo. false when too few edge points are found; out is then
 * filled as far as known. */
bool edge_fit_arm(const struct vision_image *image, const struct card_fix *fix,
                  const struct silhouette *s, struct vision_point hub_mm,
                  const struct part_arm *arm, struct arm_fit *out);

#endif
