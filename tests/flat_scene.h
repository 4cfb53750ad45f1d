/* A made-up photo with known truth: a card from straight above, drawn by the program's own print
 * code, and before it a horn of one or several arms. No perspective, no shadow, no noise: enough to
 * run the whole program, not to judge its accuracy. */
#ifndef FLAT_SCENE_H
#define FLAT_SCENE_H

#include "photo_maker.h"

#define FLAT_SCENE_PX_PER_MM 14.0

/* The hand card with its x axis to the right, the horn's hub in its middle, black arms of 15 mm at
 * these angles from the x axis, counter-clockwise. Stops the test program on failure. */
struct picture flat_scene(const double *arm_deg, int arm_count);
/* What hides a part of the first arm: a round joint off its middle line, and a rod that leads from
 * there out of the picture. */
struct flat_link {
    double along_mm, aside_mm; /* of the joint, from the hub */
    double radius_mm, rod_mm;  /* width */
    double rod_deg;            /* from the x axis */
};
struct picture flat_scene_with_link(const double *arm_deg, int arm_count,
                                    const struct flat_link *link);
/* Two of these horns side by side, their hubs at x_mm on the card's x axis. */
struct picture flat_scene_two_parts(const double *arm_deg, int arm_count, const double x_mm[2]);

/* The same photo without a horn, and one of a bench without a card. */
struct picture flat_scene_bare_card(void);
struct picture flat_scene_bench(void);

/* A camera with a lens that bends, and where it stands. Lens: D. C. Brown, "Close-range camera
 * calibration", Photogrammetric Engineering 37 (1971), radial terms: what lies at (x, y) at unit
 * distance is shown at centre_px + focal_px * (x, y) * (1 + k1 r^2 + k2 r^4). */
struct flat_camera {
    int width, height;
    double focal_px, centre_x_px, centre_y_px, k1, k2;
};

/* The card turned by roll about its normal, then leaning so that it faces to the right and up in
 * the photo, then put so that its middle lies at (x, y, distance) from the camera, mm, x right and
 * y down. */
struct flat_pose {
    double roll_deg, right_deg, up_deg, x_mm, y_mm, distance_mm;
};

/* Where the camera shows a point of the card (mm); picture coordinates as in vision.h. */
void flat_camera_project(const struct flat_camera *camera, const struct flat_pose *pose,
                         double x_mm, double y_mm, double *x_px, double *y_px);
/* The card, with a horn before it when there are arms, as that camera sees it. */
struct picture flat_scene_through(const struct flat_camera *camera, const struct flat_pose *pose,
                                  const double *arm_deg, int arm_count);

#endif
