/* The only door to OpenCV: plain C types in and out, no exception passes. */
#ifndef SHIM_H
#define SHIM_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

enum shim_status {
    SHIM_OK,
    SHIM_FULL,      /* more found than fits: the first cap are given */
    SHIM_NO_MEMORY, /* nothing is given, and that says nothing of the picture */
    SHIM_FAILED,    /* OpenCV threw something else; nothing is given */
};

struct shim_marker {
    int id;            /* AprilTag 36h11 */
    double x[4], y[4]; /* of the upright tag: top left, top right, bottom right, bottom left; px */
};

/* Sides of the squares, odd and 10 apart, over which black is told from white. Each costs as much
 * again. */
struct shim_windows {
    int smallest_px, largest_px;
};

/* Finds markers with id below id_count in an 8-bit grey picture (borrowed).
 * *n is the number found, even when it exceeds cap. Corners are good to about a pixel. */
enum shim_status shim_find_markers(const uint8_t *grey, int width, int height, size_t stride,
                                   struct shim_windows windows, int id_count,
                                   struct shim_marker *out, int cap, int *n);

/* A camera with square pixels, in OpenCV's terms. */
struct shim_camera {
    double focal_px, centre_x, centre_y, k1, k2;
};

/* Camera and poses from views of flat cards, by least squares. mm and px: x, y of every point, view
 * after view; counts: points of each view. Focal length, principal point and k1 are estimated, k2
 * if asked for, else 0. pose: 6 values a view, rotation vector and translation in mm. Unless
 * SHIM_OK, outputs hold nothing. */
enum shim_status shim_calibrate(const double *mm, const double *px, const int *counts, int views,
                                int width, int height, bool k2, struct shim_camera *out,
                                double *pose);

struct shim_circle {
    double x, y, radius; /* px */
};

/* Finds circles in an 8-bit grey picture (borrowed), the clearest first, their middles at least the
 * least radius and a half apart. *n is the number found, even when it exceeds cap. Edges that are
 * softer than a seventh of the range count for nothing. */
enum shim_status shim_find_circles(const uint8_t *grey, int width, int height, size_t stride,
                                   double least_px, double most_px, struct shim_circle *out,
                                   int cap, int *n);

#ifdef __cplusplus
}
#endif
#endif
