#include "camera.h"

#include <math.h>

#define RAD (3.14159265358979323846 / 180)

struct vec3 vec3_add(struct vec3 a, struct vec3 b)
{
    return (struct vec3){a.x + b.x, a.y + b.y, a.z + b.z};
}

struct vec3 vec3_scale(struct vec3 a, double k)
{
    return (struct vec3){a.x * k, a.y * k, a.z * k};
}

double vec3_dot(struct vec3 a, struct vec3 b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

struct vec3 vec3_cross(struct vec3 a, struct vec3 b)
{
    return (struct vec3){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}

struct vec3 vec3_unit(struct vec3 a)
{
    return vec3_scale(a, 1 / sqrt(vec3_dot(a, a)));
}

void camera_aim(struct camera *camera, struct vec3 at, double roll_deg)
{
    struct vec3 forward = vec3_unit(vec3_add(at, vec3_scale(camera->position, -1)));
    struct vec3 right = vec3_unit(vec3_cross(forward, (struct vec3){0, 1, 0}));
    struct vec3 up = vec3_cross(right, forward);
    double c = cos(roll_deg * RAD), s = sin(roll_deg * RAD);
    camera->forward = forward;
    camera->right = vec3_add(vec3_scale(right, c), vec3_scale(up, -s));
    camera->up = vec3_add(vec3_scale(right, s), vec3_scale(up, c));
}

static struct vision_point at_unit_distance(const struct camera *camera, struct vec3 at)
{
    struct vec3 d = vec3_add(at, vec3_scale(camera->position, -1));
    double depth = vec3_dot(d, camera->forward);
    return (struct vision_point){vec3_dot(d, camera->right) / depth,
                                 vec3_dot(d, camera->up) / depth};
}

static struct vision_point to_photo(const struct camera *camera, struct vision_point p, double k)
{
    return (struct vision_point){(camera->width_px - 1) / 2.0 + camera->focal_px * p.x * k,
                                 (camera->height_px - 1) / 2.0 - camera->focal_px * p.y * k};
}

static double stretch(const struct camera *camera, double r2)
{
    return 1 + camera->k1 * r2 + camera->k2 * r2 * r2;
}

struct vision_point camera_pinhole(const struct camera *camera, struct vec3 at)
{
    return to_photo(camera, at_unit_distance(camera, at), 1);
}

struct vision_point camera_project(const struct camera *camera, struct vec3 at)
{
    struct vision_point p = at_unit_distance(camera, at);
    return to_photo(camera, p, stretch(camera, p.x * p.x + p.y * p.y));
}

bool camera_shows(const struct camera *camera, struct vec3 at)
{
    struct vision_point p = camera_project(camera, at);
    return p.x > 0 && p.y > 0 && p.x < camera->width_px - 1 && p.y < camera->height_px - 1;
}

struct vision_point camera_undistort(const struct camera *camera, struct vision_point px)
{
    double x = (px.x - (camera->width_px - 1) / 2.0) / camera->focal_px;
    double y = (px.y - (camera->height_px - 1) / 2.0) / camera->focal_px;
    double rd = sqrt(x * x + y * y), r = rd;
    /* Newton on r (1 + k1 r^2 + k2 r^4) = rd; |k| < 0.1 and r < 1 converge in a few steps. */
    for (int i = 0; i < 8; i++) {
        double f = r * stretch(camera, r * r) - rd;
        double df = 1 + 3 * camera->k1 * r * r + 5 * camera->k2 * r * r * r * r;
        r -= f / df;
    }
    double k = rd > 0 ? r / rd : 1;
    return (struct vision_point){(camera->width_px - 1) / 2.0 + camera->focal_px * x * k,
                                 (camera->height_px - 1) / 2.0 + camera->focal_px * y * k};
}

struct vec3 camera_ray(const struct camera *camera, struct vision_point px)
{
    struct vision_point p = camera_undistort(camera, px);
    double x = (p.x - (camera->width_px - 1) / 2.0) / camera->focal_px;
    double y = ((camera->height_px - 1) / 2.0 - p.y) / camera->focal_px;
    return vec3_add(camera->forward,
                    vec3_add(vec3_scale(camera->right, x), vec3_scale(camera->up, y)));
}

double camera_obliquity_deg(const struct camera *camera)
{
    return acos(vec3_unit(camera->position).z) / RAD;
}
