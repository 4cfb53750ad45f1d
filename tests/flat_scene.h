/* A made-up photo with known truth: a card from straight above, drawn by the program's own print
 * code, and before it a horn of one or several arms. No perspective, no shadow, no noise: enough to
 * run the whole program, not to judge its accuracy. */
#ifndef FLAT_SCENE_H
#define FLAT_SCENE_H

#include "photo_maker.h"
#include "vision.h"

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
/* An arm made otherwise. Half widths at the root and at the tip are those of its left and right
 * side, seen from the hub; with wave_mm both sides run from side to side by as much, once every 4
 * mm. */
struct flat_arm {
    double deg, length_mm, root_mm[2], tip_mm[2], wave_mm;
    double
        slot_mm; /* width of a slot along its middle, from the hub's rim to the tip's round end */
    double hole_mm[4]; /* from the hub to round holes of 1.6 mm; 0: none */
};
struct flat_arm flat_arm_usual(double deg);
struct picture flat_scene_of_arms(const struct flat_arm *arms, int count);
/* The hub elsewhere than in the card's middle, on a dark servo case where that is beyond the butt
 * edge, with a bright screw of this radius in it; 0: none. */
struct picture flat_scene_with_hub_at(const struct flat_arm *arms, int count,
                                      struct vision_point hub_mm, double screw_mm);
/* A disc of 8 mm radius instead, with holes 6.3 mm from its hub in these directions. */
struct picture flat_scene_disc(const double *hole_deg, int count);
/* The place on the card, mm, of a pixel of these pictures. */
struct vision_point flat_scene_mm(const struct picture *p, int x, int y);
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

/* ---- Plates in space: a card or stickers, each in a plane of its own ------------------------ */

/* A printed face: its x and y axis and its middle, mm, in the camera's frame (x right, y down, z
 * away). */
struct flat_plate {
    const struct vision_card *face;
    double axes[3][3];
};

struct flat_plate flat_plate_at(const struct vision_card *face, const struct flat_pose *pose);

/* A sticker on a crank before a plate. The crank turns about an axis that leans by axis_lean_deg
 * (about the plate's x and y) against the plate's normal and passes through hub_mm (plate's frame,
 * z towards the camera); the sticker lies radius_mm from it, leans by own_lean_deg against the
 * plane in which the crank turns, and was glued turned by glued_deg. */
struct flat_crank {
    double axis_lean_deg[2], own_lean_deg[2];
    double hub_mm[3], radius_mm, glued_deg;
};
struct flat_plate flat_plate_on_crank(const struct flat_plate *base, const struct vision_card *face,
                                      const struct flat_crank *crank, double turned_deg);

/* What the camera sees of them, the last one on top, on a bench; light adds up as it does in a lens
 * that blurs by a Gaussian of blur_px, noise_code is the standard deviation of each pixel's code
 * value, seed tells one picture's noise from another's. */
struct picture flat_scene_plates(const struct flat_camera *camera, const struct flat_plate *plates,
                                 int count, double blur_px, double noise_code, uint64_t seed);

#endif
