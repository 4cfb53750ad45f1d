/* OpenCV as an independent referee for tests: its own homography and chessboard corners. */
#ifndef OPENCV_PEER_H
#define OPENCV_PEER_H

#include <stdbool.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* n point pairs as x, y, x, y...; h row-major with h[8] = 1. */
bool opencv_homography(const double *from, const double *to, int n, double h[9]);
/* Inner corners of a chessboard, row by row, refined; out holds columns * rows * 2 values. */
bool opencv_chessboard(const uint8_t *grey, int width, int height, int columns, int rows,
                       double *out);
/* Takes k = k1 k2 p1 p2 k3 out of pixel points, in place. */
void opencv_undistort(double *points, int n, const double camera[9], const double k[5]);

#ifdef __cplusplus
}
#endif
#endif
