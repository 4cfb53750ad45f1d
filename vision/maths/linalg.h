/* Small dense symmetric systems (n <= 16), row-major, rotations, and straight lines by least
 * squares.
 */
#ifndef LINALG_H
#define LINALG_H

#include <stdbool.h>

#define LINALG_MAX 16

/* Cholesky: solves a x = b for symmetric positive definite a (n x n). false when a is not.
 * x may be b. */
bool linalg_solve(int n, const double *a, const double *b, double *x);
/* Inverse of symmetric positive definite a. false when a is not; out is then undefined. */
bool linalg_invert(int n, const double *a, double *out);
/* Inverse of a 3 x 3 matrix, scaled so that out[8] = 1 where possible. false when singular. */
bool linalg_invert3(const double a[9], double out[9]);

/* Rotation matrix of a rotation vector (its length the angle, rad). O. Rodrigues, 1840; in this
 * form e.g. Hartley and Zisserman, Multiple View Geometry, 2nd ed., A4.3.2. */
void linalg_rotation(const double v[3], double r[3][3]);

/* A straight line y = level + slope x by least squares, from its sums. */
struct linalg_line {
    double n, x, y, xx, xy, yy;
};

void linalg_line_add(struct linalg_line *sums, double x, double y);

/* false where the points do not make a line. */
bool linalg_line_fit(const struct linalg_line *sums, double *level, double *slope);
/* Root mean square of the residuals of that line; the sums lose what is far below y itself. */
double linalg_line_scatter(const struct linalg_line *sums, double level, double slope);

#endif
