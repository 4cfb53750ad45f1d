#include "robust_line.h"

#include "linalg.h"
#include "median.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void model_row(const struct robust_line *m, const struct robust_point *e,
                      double row[ROBUST_UNKNOWNS])
{
    row[0] = 1;
    row[1] = (e->u - m->middle_u) / m->half_u;
    row[2] = e->slope / 2;
    row[3] = e->tint;
    row[4] = e->shade;
}

double robust_line_residual(const struct robust_line *m, const struct robust_point *e)
{
    double row[ROBUST_UNKNOWNS];
    model_row(m, e, row);
    double at = 0;
    for (int j = 0; j < ROBUST_UNKNOWNS; j++)
        at += row[j] * m->p[j];
    return e->v - at;
}

bool robust_line_solve(struct robust_line *m, const struct robust_point *e, int n)
{
    double normal[ROBUST_UNKNOWNS * ROBUST_UNKNOWNS] = {0}, right[ROBUST_UNKNOWNS] = {0},
                                    row[ROBUST_UNKNOWNS];
    for (int i = 0; i < n; i++) {
        model_row(m, &e[i], row);
        for (int j = 0; j < ROBUST_UNKNOWNS; j++) {
            right[j] += e[i].weight * row[j] * e[i].v;
            for (int k = 0; k < ROBUST_UNKNOWNS; k++)
                normal[j * ROBUST_UNKNOWNS + k] += e[i].weight * row[j] * row[k];
        }
    }
    const double prior[3] = {m->slip_mm, m->step_mm, m->shift_mm};
    const double prior_u[3] = {m->slip_u_mm, m->step_u_mm, m->shift_u_mm};
    for (int k = 0; k < 3; k++) {
        double w = m->scale_mm * m->scale_mm / (prior_u[k] * prior_u[k]);
        normal[(2 + k) * (ROBUST_UNKNOWNS + 1)] += w;
        right[2 + k] += w * prior[k];
    }
    return linalg_solve(ROBUST_UNKNOWNS, normal, right, m->p) &&
           linalg_invert(ROBUST_UNKNOWNS, normal, m->cov);
}

static double robust_scale(const struct robust_line *m, const struct robust_point *e, int n)
{
    double r[ROBUST_MAX_POINTS];
    for (int i = 0; i < n; i++)
        r[i] = fabs(robust_line_residual(m, &e[i]));
    return 1.4826 * median_upper(r, n);
}

void robust_line_weigh(const struct robust_line *m, struct robust_point *e, int n)
{
    for (int i = 0; i < n; i++) {
        double z = robust_line_residual(m, &e[i]) / (4.685 * m->scale_mm);
        e[i].weight = fabs(z) < 1 ? (1 - z * z) * (1 - z * z) : 0;
    }
}

/* What the priors say about a point, level and turn aside. */
static double nuisance(const struct robust_line *m, const struct robust_point *e)
{
    return e->slope / 2 * m->slip_mm + e->tint * m->step_mm + e->shade * m->shift_mm;
}

/* The line through two pairs that most others agree with: a ball or link that covers a third of
 * the arm must not draw the start of the fit (M. A. Fischler, R. C. Bolles, "Random sample
 * consensus", CACM 24(6), 1981; here all pairs of a coarse subset, so no randomness). */
static void start_model(struct robust_line *m, const struct robust_point *e, int n,
                        double tolerance_mm)
{
    enum { STARTS = 36, STRIDE = 16 }; /* gives up on a pair by strides */
    int best = -1;
    double x[ROBUST_MAX_POINTS] = {0}, y[ROBUST_MAX_POINTS] = {0}; /* left to the line alone */
    for (int i = 0; i < n; i++) {
        x[i] = (e[i].u - m->middle_u) / m->half_u;
        y[i] = e[i].v - nuisance(m, &e[i]);
    }
    for (int a = 0; a < STARTS; a++)
        for (int b = a + STARTS / 4; b < STARTS; b++) {
            const size_t p = (size_t)a * (size_t)n / STARTS, q = (size_t)b * (size_t)n / STARTS;
            if (x[q] - x[p] < 0.2)
                continue;
            const double turn = (y[q] - y[p]) / (x[q] - x[p]), level = y[p] - turn * x[p];
            int votes = 0;
            for (int from = 0; from < n && votes + n - from > best; from += STRIDE)
                for (int i = from; i < from + STRIDE && i < n; i++)
                    votes += fabs(y[i] - level - turn * x[i]) < tolerance_mm;
            if (votes > best) {
                const double start[ROBUST_UNKNOWNS] = {level, turn, m->slip_mm, m->step_mm,
                                                       m->shift_mm};
                best = votes;
                memcpy(m->p, start, sizeof m->p);
            }
        }
}

bool robust_line_fit(struct robust_line *m, struct robust_point *e, int n, double tolerance_mm)
{
    const double floor_mm = 0.08 * tolerance_mm; /* no photo is better than that */
    if (n < 6 || n > ROBUST_MAX_POINTS)
        return false;
    start_model(m, e, n, tolerance_mm);
    m->scale_mm = fmax(0.6 * tolerance_mm, fmin(0.5 * robust_scale(m, e, n), 2 * tolerance_mm));
    for (int round = 0; round < 20; round++) {
        robust_line_weigh(m, e, n);
        if (!robust_line_solve(m, e, n))
            return false;
        double scale = fmax(floor_mm, robust_scale(m, e, n));
        m->scale_mm = fmax(scale, 0.7 * m->scale_mm); /* tighten slowly */
    }
    return true;
}

/* Correlation of neighbouring residuals, which share pixels: 0 to 0.97. */
static double lag_one(const struct robust_line *m, const struct robust_point *e, int n)
{
    double product = 0, square = 0;
    for (int i = 0; i + 1 < n; i++) {
        if (e[i].weight <= 0 || e[i + 1].weight <= 0)
            continue;
        double a = robust_line_residual(m, &e[i]), b = robust_line_residual(m, &e[i + 1]);
        product += a * b;
        square += (a * a + b * b) / 2;
    }
    return square > 0 ? fmin(0.97, fmax(0, product / square)) : 0;
}

/* Neighbouring pairs count less than their number. With residuals of a first-order autoregression,
 * correlation rho^k between points k apart, the slope sum a_i v_i / sum a_i x_i has the variance of
 * independent points times sum_ij a_i a_j rho^|i-j| / sum a_i^2. For long lines that is nearly
 * (1 + rho) / (1 - rho) (G. E. P. Box, G. M. Jenkins, Time Series Analysis; from memory), for lines
 * hardly longer than the correlation it is less. */
double robust_line_correlation(const struct robust_line *m, const struct robust_point *e, int n)
{
    double rho = lag_one(m, e, n), sum = 0, mean = 0;
    for (int i = 0; i < n; i++) {
        sum += e[i].weight;
        mean += e[i].weight * e[i].u;
    }
    if (!(sum > 0))
        return 1;
    double before = 0, all = 0, own = 0;
    for (int i = 0; i < n; i++) {
        double a = e[i].weight * (e[i].u - mean / sum);
        all += a * (a + 2 * rho * before);
        own += a * a;
        before = a + rho * before;
    }
    return own > 0 ? fmax(1, all / own) : 1;
}

/* u of the slope is scale x sqrt((1 + rho) / (1 - rho)) x what the design gives; the relative
 * variances of both factors add (JCGM 100:2008, E.4.3: 1 / (2 dof) each).
 * Scale: correlated points tell a variance as n (1 - rho^2) / (1 + rho^2) independent ones would,
 * and rho is known to sqrt((1 - rho^2) / n) (M. S. Bartlett, JRSS Suppl. 8, 1946; from memory). A
 * median of absolute residuals tells it as 0.37 times as many would (P. J. Rousseeuw, C. Croux,
 * JASA 88, 1993, 1.1).
 * The factor with rho: relative u = u(rho) / (1 - rho^2) = 1 / sqrt(n (1 - rho^2)). */
double robust_line_dof(const struct robust_line *m, const struct robust_point *e, int n)
{
    const double efficiency = 0.37;
    double points = 0, rho = lag_one(m, e, n), rho2 = rho * rho;
    for (int i = 0; i < n; i++)
        points += e[i].weight;
    double of_scale = fmax(1, efficiency * (points * (1 - rho2) / (1 + rho2) - 2));
    double of_rho = fmax(1, points * (1 - rho2) / 2);
    return fmax(1, 1 / (1 / of_scale + 1 / of_rho));
}

double robust_line_bend(const struct robust_line *line, const struct robust_point *points, int n,
                        double *u)
{
    double zz = 0, rz = 0;
    for (int i = 0; i < n; i++) {
        double x = (points[i].u - line->middle_u) / line->half_u;
        double z = x * x - 1.0 / 3; /* square to level and turn on an even spread */
        zz += points[i].weight * z * z;
        rz += points[i].weight * z * robust_line_residual(line, &points[i]);
    }
    *u = zz > 0 ? line->scale_mm * sqrt(robust_line_correlation(line, points, n) / zz) : 1e9;
    return zz > 0 ? rz / zz : 0;
}

int robust_line_used(const struct robust_point *e, int n, double *first, double *last)
{
    int used = 0;
    for (int i = 0; i < n; i++)
        if (e[i].weight > ROBUST_COUNTS) {
            *first = used ? *first : e[i].u;
            *last = e[i].u;
            used++;
        }
    return used;
}
