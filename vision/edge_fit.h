/* The two long edges of an arm to a fraction of a pixel, and its direction from both. */
#ifndef EDGE_FIT_H
#define EDGE_FIT_H

#include "part.h"

/* How thick the part is between the edges that the two sides of an arm show, and how surely.
 * Starts from what arms usually are; waisted arms of one part improve it for each other. */
struct arm_thickness {
    double mm, u_mm;
};

struct arm_thickness edge_fit_usual_thickness(void);

struct arm_fit {
    double direction_rad;           /* of the middle line, hub to tip, card frame */
    double offset_mm;               /* of the middle line to the left of the hub */
    double u_rad;                   /* from the scatter of the edge points, correlation included */
    double rms_mm;                  /* scatter of the edge points */
    double body_mm;                 /* stretch of arm that carries edge points */
    int tried;                      /* sections looked at */
    int points[2];                  /* sections with a left and a right edge point */
    int pairs;                      /* sections that agree with the result */
    bool straight;                  /* each edge taken as a line of its own */
    struct arm_thickness thickness; /* as this arm shows it; u_mm 0 when it shows nothing */
    double blur_mm;                 /* median rise of the edges, quarter to three quarters */
    double contrast;                /* median step between part and card, relative to paper white */
};

/* Fits the edges of one arm in the photo. camera_mm is the camera's centre in the card frame.
 * false when too few edge points are found; out is then filled as far as known. */
bool edge_fit_arm(const struct vision_image *image, const struct card_fix *fix,
                  const struct silhouette *s, const double camera_mm[3], struct vision_point hub_mm,
                  const struct part_arm *arm, struct arm_thickness thickness, struct arm_fit *out);

#endif
