#include "linear_fit.h"

#include <float.h>
#include <math.h>

/* Weighted sums about the means: about the origin, digits cancel when x sits far from 0. */
struct sums {
    double weight, x_mean, y_mean;
    double xx, xy, yy;
};

static double weight_of(const double *u, size_t i)
{
    return u ? 1 / (u[i] * u[i]) : 1;
}

static bool points_usable(const double *x, const double *y, const double *u, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (!isfinite(x[i]) || !isfinite(y[i]) || (u && !(isfinite(u[i]) && u[i] > 0)))
            return false;
    return n >= 2;
}

static struct sums sums_of(const double *x, const double *y, const double *u, size_t n)
{
    struct sums s = {0};
    for (size_t i = 0; i < n; i++) {
        double w = weight_of(u, i);
        s.weight += w;
        s.x_mean += w * x[i];
        s.y_mean += w * y[i];
    }
    s.x_mean /= s.weight;
    s.y_mean /= s.weight;
    for (size_t i = 0; i < n; i++) {
        double w = weight_of(u, i);
        double dx = x[i] - s.x_mean;
        double dy = y[i] - s.y_mean;
        s.xx += w * dx * dx;
        s.xy += w * dx * dy;
        s.yy += w * dy * dy;
    }
    return s;
}

/* x all equal but for rounding: no slope can be told. */
static bool x_spread_is_nothing(const struct sums *s)
{
    double rounding = 8 * DBL_EPSILON * fabs(s->x_mean);
    return s->xx <= s->weight * rounding * rounding;
}

/* Variance of an observation of unit weight, and the degrees of freedom behind it.
 * Without u: the scatter. With u: 1, or the scatter where it is larger (the "external" variance,
 * R. T. Birge, Physical Review 40 (1932) 207). Of that 1 is known as u is, exactly, and only what
 * is more is known as well as n - 2 residuals tell it; Welch and Satterthwaite join the two (JCGM
 * 100:2008, G.4.1). n - 2 for all of it would widen U by a leap where the scatter passes u: 13
 * times with three points. docs/decisions.md, "A line through few readings". */
static struct uncertainty unit_weight(const struct linear_fit *fit, bool u_given)
{
    double from_scatter = fit->residual_sd * fit->residual_sd; /* NAN for two points */
    double dof = (double)(fit->n - 2);
    if (!u_given)
        return (struct uncertainty){fit->residual_sd, dof};
    const struct uncertainty terms[] = {{1, INFINITY}, {sqrt(from_scatter - 1), dof}};
    return uncertainty_combine(terms, from_scatter > 1 ? 2 : 1);
}

/* Slope = Sxy / Sxx, var(slope) = v / Sxx, var(intercept) = v (1 / W + xm^2 / Sxx),
 * cov = -v xm / Sxx, with v the variance of unit weight. Source: JCGM 100:2008, H.3.2 to H.3.4,
 * written about the mean of x. */
bool linear_fit(const double *x, const double *y, const double *u, size_t n, struct linear_fit *out)
{
    if (!points_usable(x, y, u, n))
        return false;
    struct sums s = sums_of(x, y, u, n);
    if (!isfinite(s.xx) || !isfinite(s.yy) || x_spread_is_nothing(&s))
        return false;
    struct linear_fit fit = {
        .n = n, .slope = s.xy / s.xx, .weight = s.weight, .x_mean = s.x_mean, .xx = s.xx};
    fit.intercept = s.y_mean - fit.slope * s.x_mean;
    for (size_t i = 0; i < n; i++) {
        double r = y[i] - s.y_mean - fit.slope * (x[i] - s.x_mean);
        fit.ss_residual += weight_of(u, i) * r * r;
    }
    fit.residual_sd = n > 2 ? sqrt(fit.ss_residual / (double)(n - 2)) : NAN;
    struct uncertainty unit = unit_weight(&fit, u);
    double variance = unit.u * unit.u;
    fit.dof = unit.dof;
    fit.u_slope = sqrt(variance / s.xx);
    fit.u_intercept = sqrt(variance * (1 / s.weight + s.x_mean * s.x_mean / s.xx));
    fit.covariance = -variance * s.x_mean / s.xx;
    *out = fit;
    return true;
}

/* u of a * intercept + b * slope. Rounding can push a vanishing variance below zero. */
static struct uncertainty combination(const struct linear_fit *fit, double a, double b)
{
    double jacobian[2] = {a, b};
    double covariance[4] = {fit->u_intercept * fit->u_intercept, fit->covariance, fit->covariance,
                            fit->u_slope * fit->u_slope};
    double variance;
    uncertainty_propagate(jacobian, covariance, 1, 2, &variance);
    return (struct uncertainty){sqrt(variance < 0 ? 0 : variance), fit->dof};
}

double linear_fit_at(const struct linear_fit *fit, double x, struct uncertainty *out)
{
    *out = combination(fit, 1, x);
    return fit->intercept + fit->slope * x;
}

double linear_fit_leverage(const struct linear_fit *fit, double x, double u)
{
    return (1 / fit->weight + pow(x - fit->x_mean, 2) / fit->xx) / (u * u);
}

/* x = (y - intercept) / slope: dx/dintercept = -1 / slope, dx/dslope = -x / slope. */
double linear_fit_inverse(const struct linear_fit *fit, double y, struct uncertainty *out)
{
    double x = (y - fit->intercept) / fit->slope;
    *out = combination(fit, -1 / fit->slope, -x / fit->slope);
    return x;
}
