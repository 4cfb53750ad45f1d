/* Arithmetic of measurement uncertainty after JCGM 100:2008 (GUM). Pure functions, no units of
 * their own: an uncertainty has the unit of the quantity it belongs to. */
#ifndef UNCERTAINTY_H
#define UNCERTAINTY_H

#include <stddef.h>

/* A standard uncertainty and how well it is known itself. */
struct uncertainty {
    double u;   /* standard uncertainty, >= 0 */
    double dof; /* degrees of freedom, >= 1; INFINITY when u is taken as exactly known */
};

/* Coverage factor k: the interval +- k u holds the value with probability level (0 < level < 1),
 * for a t-distribution. dof that is not whole is cut down to the whole number below (GUM G.4.1).
 * NAN when dof is below 1 or level outside its range. */
double uncertainty_coverage(double level, double dof);

/* The same for 95 % and a u that is taken as exactly known: 1.96. */
double uncertainty_normal_coverage(void);

/* Expanded uncertainty for 95 %: what is printed behind "+-". NAN when term.dof is below 1. */
double uncertainty_expand(struct uncertainty term);

/* Root sum of squares of n independent contributions, with the effective degrees of freedom of
 * Welch and Satterthwaite (GUM G.4.1), not cut. No contribution: u 0, dof INFINITY. */
struct uncertainty uncertainty_combine(const struct uncertainty *terms, size_t n);

/* The level of each of so many independent tests (0: one) for level that any sees something by
 * chance. Z. Sidak, Journal of the American Statistical Association 62, 1967. */
double uncertainty_level_of_each(double level, size_t tests);

/* Probability that chi-square with dof >= 1 degrees of freedom is at least x >= 0. */
double uncertainty_chi_square_tail(double x, int dof);

/* Covariance of m outputs that depend on n correlated inputs: J V J^T (GUM 5.2.2 and H.2).
 * jacobian  m x n, row-major: change of output i for input j
 * inputs    n x n covariance of the inputs
 * outputs   m x m, filled; must not overlap the others */
void uncertainty_propagate(const double *jacobian, const double *inputs, size_t m, size_t n,
                           double *outputs);

#endif
