/* The plane of the card in the photo: homography with the lens' radial terms, covariance, pose. */
#ifndef PLANE_H
#define PLANE_H

#include "vision.h"

#define PLANE_LENS_UNKNOWNS (VISION_PLANE_UNKNOWNS - 8)

/* What is known of the lens before the card is fitted. Of k1, k2, centre x and y the first
 * `unknowns` are estimated with the plane, held by a prior of this covariance; the others stay. */
struct plane_lens {
    struct vision_point centre_px;
    double radius_px;
    double k1, k2;
    int unknowns;                                          /* 0 to PLANE_LENS_UNKNOWNS */
    double cov[PLANE_LENS_UNKNOWNS * PLANE_LENS_UNKNOWNS]; /* unknowns x unknowns, row-major */
};

/* Least-squares homography of n >= 4 point pairs, with what is unknown of the lens. sigma_px is the
 * standard uncertainty of a coordinate; 0 takes it from the residuals. false when the points are
 * degenerate or the covariance, inverse normal matrix times sigma^2, is none; out is then
 * unchanged. */
bool plane_fit(const struct vision_point *plane_mm, const struct vision_point *photo_px, int n,
               double sigma_px, const struct plane_lens *lens, struct vision_plane *out);

/* The two steps of vision_plane_to_photo: to where a lens without distortion would show a point of
 * the card, and from there to where this one does. Straight lines are straight in between. */
struct vision_point plane_pinhole(const struct vision_plane *plane, struct vision_point mm);
struct vision_point plane_bend(const struct vision_plane *plane, struct vision_point pinhole_px);

/* Photo pixels per millimetre at a point of the card: square root of the area ratio. */
double plane_px_per_mm(const struct vision_plane *plane, struct vision_point at_mm);

/* Where the camera sees the card's axes and its origin: camera frame, x right, y down, z away. The
 * axes have unit length but stand at right angles only as far as homography and focal_px are true.
 * Z. Zhang, "A flexible new technique for camera calibration", PAMI 22(11), 2000, 3.1. focal_px >
 * 0; middle_px is the principal point. false when the homography has no pose. */
bool plane_pose(const struct vision_plane *plane, double focal_px, struct vision_point middle_px,
                double axes[2][3], double origin_mm[3]);

/* Angle between the line of sight and the card's normal at a point of the card, degrees.
 * *camera_mm gets the camera centre in the card frame, z > 0 towards the camera. Otherwise as
 * plane_pose. */
bool plane_obliquity(const struct vision_plane *plane, double focal_px,
                     struct vision_point middle_px, struct vision_point at_mm,
                     double *obliquity_deg, double camera_mm[3]);

/* How far the card seems to be from a card under this focal length: its axes should be equally long
 * and stand at right angles. e[0] is the difference of their squares by the mean of these, e[1]
 * twice the cosine between them; 0 and 0 for the true one. Grows with the square of the slant's
 * sine: square on every focal length fits. The two equations of plane_focal_px. false when the
 * homography has no pose. */
bool plane_misfit(const struct vision_plane *plane, double focal_px, struct vision_point middle_px,
                  double e[2]);

/* Focal length that makes the homography a rotation best; 0 when the view is too square on to
 * tell. Z. Zhang, "A flexible new technique for camera calibration", PAMI 22(11), 2000, eq. 3-4. */
double plane_focal_px(const struct vision_plane *plane, struct vision_point middle_px);

/* How the direction (card frame, rad) of a line at at_mm along direction_deg, fixed in the photo,
 * changes with each parameter of the plane. Differences of gradients belong to angles between
 * lines. false when the plane is degenerate. */
bool plane_direction_gradient(const struct vision_plane *plane, struct vision_point at_mm,
                              double direction_deg, double gradient[VISION_PLANE_UNKNOWNS]);

/* Standard uncertainty (degrees) that the plane's covariance gives to a direction or angle with
 * this gradient: what would stay if the lens were known, and what its unknowns add. Root of
 * the sum of squares is the whole. */
void plane_gradient_u(const struct vision_plane *plane,
                      const double gradient[VISION_PLANE_UNKNOWNS], double *lens_known_deg,
                      double *lens_deg);

#endif
