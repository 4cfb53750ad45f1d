/* The lens: a profile turned into the photo at hand, and how one is found. */
#ifndef LENS_H
#define LENS_H

#include "plane.h"
#include "vision.h"

/* The lens as a photo shows it after its EXIF orientation: the radius is the focal length, and k1,
 * k2 and centre are known as well as the profile knows them and refocusing leaves them. false when
 * the photo is of another size. */
bool lens_in_photo(const struct vision_lens *lens, const struct vision_photo_info *info,
                   struct plane_lens *out);

/* A lens nobody has a profile of: its middle is the photo's, and k1 is found with the plane, held
 * by what a phone's own software leaves, a few percent at the corner. */
struct plane_lens lens_unknown(int width_px, int height_px);

/* Terms of Brown's model beside focal length, principal point and k1. */
enum lens_terms {
    LENS_K2 = 1,
    LENS_TANGENTIAL = 2,
    LENS_K3 = 4,
    LENS_TERMS = LENS_K2, /* those of a profile: docs/decisions.md, "Two radial terms" */
};

/* A camera with the terms asked for; the others are 0. */
struct lens_camera {
    double focal_px, k1, k2, p1, p2, k3;
    struct vision_point centre_px;
    double pose[VISION_LENS_MAX_VIEWS][6]; /* rotation vector, translation in mm: card to camera */
};

/* Least squares over all views but those for which skip(i) = i % every == which (every 0: none).
 * false when there is no solution, or memory is short. */
bool lens_solve(const struct vision_card_view *views, int n, int every, int which, unsigned terms,
                struct lens_camera *out);

/* Where a camera shows a point of the card in view i. Brown 1971 with tangential terms as in
 * OpenCV's documentation of calib3d. */
struct vision_point lens_project(const struct lens_camera *camera, int i, struct vision_point mm);

#endif
