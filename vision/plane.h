/* The plane of the card in the photo: homography with one radial lens term, covariance, pose. */
#ifndef PLANE_H
#define PLANE_H

#include "vision.h"

/* A lens of unknown distortion: k1 has the prior k1 +- u_k1 (u_k1 = 0 holds it fixed). */
struct plane_lens {
    struct vision_point centre_px;
    double radius_px;
    double k1, u_k1;
};

/* As vision_plane_fit, estimating k1 together with the homography. */
bool plane_fit(const struct vision_point *plane_mm, const struct vision_point *photo_px, int n,
               double sigma_px, const struct plane_lens *lens, struct vision_plane *out);

/* Photo pixels per millimetre at a point of the card: square root of the area ratio. */
double plane_px_per_mm(const struct vision_plane *plane, struct vision_point at_mm);

/* Angle between the line of sight and the card's normal at a point of the card, degrees.
 * focal_px > 0; principal point in the middle of the photo. *camera_mm gets the camera centre
 * in the card frame, z > 0 towards the camera. false when the homography has no pose. */
bool plane_obliquity(const struct vision_plane *plane, double focal_px,
                     struct vision_point middle_px, struct vision_point at_mm,
                     double *obliquity_deg, double camera_mm[3]);

/* Focal length that makes the homography a rotation best; 0 when the view is too square on to
 * tell. Z. Zhang, "A flexible new technique for camera calibration", PAMI 22(11), 2000, eq. 3-4. */
double plane_focal_px(const struct vision_plane *plane, struct vision_point middle_px);

/* Standard uncertainty of the direction of a line at at_mm along direction_deg, from the
 * plane's covariance alone, degrees. */
double plane_direction_u(const struct vision_plane *plane, struct vision_point at_mm,
                         double direction_deg);

#endif
