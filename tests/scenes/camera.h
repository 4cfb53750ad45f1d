/* The camera of a scene: where each point of the scene lands in the photo, exactly.
 * Scene frame = card frame: millimetres, x right, y up, z out of the print towards the viewer.
 * Photo frame as in vision.h. */
#ifndef CAMERA_H
#define CAMERA_H

#include "vision.h"

#include <stdbool.h>

struct vec3 {
    double x, y, z;
};

struct vec3 vec3_add(struct vec3 a, struct vec3 b);
struct vec3 vec3_scale(struct vec3 a, double k);
double vec3_dot(struct vec3 a, struct vec3 b);
struct vec3 vec3_cross(struct vec3 a, struct vec3 b);
struct vec3 vec3_unit(struct vec3 a);

/* Lens: Brown's radial model, r^2 = x^2 + y^2 of the undistorted point at unit distance,
 * distorted = undistorted * (1 + k1 r^2 + k2 r^4). D. C. Brown, "Close-range camera
 * calibration", Photogrammetric Engineering 37 (1971). */
struct camera {
    struct vec3 position, right, up, forward; /* unit vectors, right-handed with -forward */
    double focal_px, k1, k2;
    int width_px, height_px; /* as viewed */
};

/* Turns the camera to look at a point; roll 0 keeps the card's y axis upright in the photo,
 * positive roll turns the scene counter-clockwise in the photo. */
void camera_aim(struct camera *camera, struct vec3 at, double roll_deg);
/* Undistorted photo position, as a pinhole would see it. */
struct vision_point camera_pinhole(const struct camera *camera, struct vec3 at);
/* Photo position with lens distortion. */
struct vision_point camera_project(const struct camera *camera, struct vec3 at);
/* Whether that is inside the photo. */
bool camera_shows(const struct camera *camera, struct vec3 at);
/* From a photo position with distortion to the pinhole's. */
struct vision_point camera_undistort(const struct camera *camera, struct vision_point px);
/* Direction (not unit length) in which the camera looks at a photo position. */
struct vec3 camera_ray(const struct camera *camera, struct vision_point px);
/* Between the card's normal and the line from the card's centre to the camera. */
double camera_obliquity_deg(const struct camera *camera);

#endif
