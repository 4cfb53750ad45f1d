/* A straight line through points of which up to a third may belong to something else. */
#ifndef ROBUST_LINE_H
#define ROBUST_LINE_H

#include <stdbool.h>

#define ROBUST_MAX_POINTS 600
#define ROBUST_UNKNOWNS 5 /* level, turn, slip, step, shift */

/* v = level + turn x + slip * slope / 2 + step * tint + shift * shade, x = u scaled to -1..1 */
struct robust_point {
    double u, v;
    double slope;  /* 0 where slip plays no part */
    double tint;   /* which tint lies behind: where the edge seems to be differs a little */
    double shade;  /* brightness of the card against the part there, in doublings */
    double weight; /* out: 0 for points left out */
};

struct robust_line {
    double middle_u, half_u;                       /* in: x = (u - middle_u) / half_u */
    double slip_mm, slip_u_mm;                     /* in: prior of slip; slip_u_mm > 0 */
    double step_mm, step_u_mm;                     /* in: prior of step; step_u_mm > 0 */
    double shift_mm, shift_u_mm;                   /* in: prior of shift; shift_u_mm > 0 */
    double p[ROBUST_UNKNOWNS];                     /* mm; turn per half_u */
    double cov[ROBUST_UNKNOWNS * ROBUST_UNKNOWNS]; /* times scale_mm^2 */
    double scale_mm;                               /* robust standard deviation of the points */
};

/* Fits by iteratively reweighted least squares from a consensus start. tolerance_mm: how far a
 * point may lie off the line at the start. n <= ROBUST_MAX_POINTS. false when degenerate. */
bool robust_line_fit(struct robust_line *line, struct robust_point *points, int n,
                     double tolerance_mm);

/* Weighs the points anew by how far they lie off the line: Tukey's biweight, c = 4.685 (P. J.
 * Huber, Robust Statistics, 1981; from memory). */
void robust_line_weigh(const struct robust_line *line, struct robust_point *points, int n);

/* Once more, with the weights as they are now. */
bool robust_line_solve(struct robust_line *line, const struct robust_point *points, int n);

double robust_line_residual(const struct robust_line *line, const struct robust_point *point);

/* By how much the variance of a fitted slope exceeds that of independent points. */
double robust_line_correlation(const struct robust_line *line, const struct robust_point *points,
                               int n);

/* Degrees of freedom, >= 1, of the standard uncertainty that scale_mm, cov and the correlation
 * give the slope together. */
double robust_line_dof(const struct robust_line *line, const struct robust_point *points, int n);

/* How far the points bow off the line: from the middle to the ends of a parabola through them, mm,
 * with its standard uncertainty. */
double robust_line_bend(const struct robust_line *line, const struct robust_point *points, int n,
                        double *u);

/* Points of more weight than this are relied on. */
#define ROBUST_COUNTS 0.1

/* How many points the fit relies on, and the u of the first and the last of them. */
int robust_line_used(const struct robust_point *points, int n, double *first, double *last);

#endif
