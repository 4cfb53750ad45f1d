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

/* A camera after Brown's model, with the terms that are worth their price: docs/decisions.md, "Two
 * radial terms". */
struct lens_camera {
    double focal_px, k1, k2;
    struct vision_point centre_px;
    double pose[VISION_LENS_MAX_VIEWS][6]; /* rotation vector, translation in mm: card to camera */
};

/* Where a camera shows a point of the card in view i. Radial terms of Brown 1971, as in OpenCV's
 * documentation of calib3d. */
struct vision_point lens_project(const struct lens_camera *camera, int i, struct vision_point mm);

#endif
