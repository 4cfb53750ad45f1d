/* Straight line y = intercept + slope x by least squares, with the covariance of its two numbers.
 */
#ifndef LINEAR_FIT_H
#define LINEAR_FIT_H

#include "uncertainty.h"

#include <stdbool.h>
#include <stddef.h>

struct linear_fit {
    double intercept, slope;
    /* Standard uncertainties and covariance; NAN when two points leave nothing to judge by. */
    double u_intercept, u_slope, covariance;
    double dof;         /* behind them: n - 2; with u given INFINITY, falling towards n - 2 as the
                           points scatter more than u allows; 0 unknown */
    double residual_sd; /* sqrt(ss_residual / (n - 2)); NAN for two points */
    double ss_residual; /* sum of squared residuals, divided by u^2 when u is given */
    size_t n;
    double weight, x_mean, xx; /* sum of 1 / u^2, mean of x by them, sum of (x - mean)^2 / u^2 */
};

/* Fits n >= 2 points.
 * u    standard uncertainty of each y, > 0, or NULL: then the scatter about the line tells it.
 *      With u given the result rests on u, unless the points scatter more than u allows: then it
 *      is widened to what the scatter shows, never narrowed.
 * false (out unchanged) for fewer than two points, x all equal, or a number that is not finite. */
bool linear_fit(const double *x, const double *y, const double *u, size_t n,
                struct linear_fit *out);

/* The line at x, with its uncertainty; intercept and slope are correlated and that is counted. */
double linear_fit_at(const struct linear_fit *fit, double x, struct uncertainty *out);

/* How far, 0 to 1, the line at x follows its point there of this u (1 when none were given): the
 * residual scatters by u sqrt(1 - that). N. R. Draper and H. Smith, Applied Regression Analysis,
 * 3rd ed. 1998, 8.1. */
double linear_fit_leverage(const struct linear_fit *fit, double x, double u);

/* Where the line reaches y, with its uncertainty to first order (slope well apart from 0). */
double linear_fit_inverse(const struct linear_fit *fit, double y, struct uncertainty *out);

#endif
