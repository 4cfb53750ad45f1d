#include "trim_scale.h"

#include "advice.h"
#include "arithmetic/direction.h"
#include "arithmetic/station.h"
#include "arithmetic/uncertainty.h"

#include <math.h>
#include <stdlib.h>

/* Sub-trim moves a horn by a few degrees, at its very end by some tens. Readings further apart
 * than this are not one arm. */
#define MAX_SPREAD_DEG 120.0

/* The readings as columns, angles on one unbroken scale. */
struct columns {
    double *percent, *deg, *u_deg; /* u: all alike, 1, where any is unknown */
    double *others_deg;            /* what may be shared, less what all surely share */
    double common_deg;             /* that */
    bool u_known;
};

static void columns_clear(struct columns *c)
{
    free(c->percent);
    free(c->deg);
    free(c->u_deg);
    free(c->others_deg);
    *c = (struct columns){0};
}

/* Without a part of it, but for a tenth: no budget is known so well that less is left. */
static double less(double u, double part)
{
    return isnan(u) ? NAN : sqrt(fmax(u * u - part * part, pow(0.1 * u, 2)));
}

/* What all surely share shows neither in the slope nor between two of them. A number among photos
 * shares nothing with them. */
static double common_of(const struct trim_reading *readings, size_t n)
{
    double least = INFINITY;
    for (size_t i = 0; i < n; i++)
        least = fmin(least, readings[i].shared.surely_deg);
    return least;
}

/* What may be shared besides, v, the fit takes for each reading's own, sum c^2 v^2 of an answer
 * sum c angle. Shared it is (sum c v)^2, which a line through v says where it is asked; the n-th
 * part of that at least is in the fit already (Cauchy's inequality).
 * Angles are counted from their common mean direction, so that none jumps at a full turn; the
 * mean itself is added back. */
static enum trim_scale_status columns_fill(const struct trim_reading *readings, size_t n,
                                           struct columns *c)
{
    *c = (struct columns){calloc(n, sizeof(double)), calloc(n, sizeof(double)),
                          calloc(n, sizeof(double)), calloc(n, sizeof(double)),
                          common_of(readings, n),    true};
    if (!c->percent || !c->deg || !c->u_deg || !c->others_deg)
        return TRIM_SCALE_NO_MEMORY;
    for (size_t i = 0; i < n; i++) {
        const double all = readings[i].shared.all_deg;
        c->percent[i] = readings[i].percent;
        c->deg[i] = readings[i].angle_deg;
        c->u_deg[i] = less(readings[i].u_deg, c->common_deg);
        c->others_deg[i] =
            sqrt(fmax(0, all * all - c->common_deg * c->common_deg) * (1 - 1.0 / (double)n));
        c->u_known = c->u_known && readings[i].u_deg > 0;
    }
    struct direction_mean mean;
    if (!direction_mean(c->deg, n, 360, &mean))
        return TRIM_SCALE_SCATTERED;
    for (size_t i = 0; i < n; i++) {
        double off = direction_turn(c->deg[i] - mean.mean_deg);
        if (fabs(off) > MAX_SPREAD_DEG / 2)
            return TRIM_SCALE_SCATTERED;
        c->deg[i] = mean.mean_deg + off;
        if (!c->u_known)
            c->u_deg[i] = 1;
    }
    return TRIM_SCALE_OK;
}

/* What a practised eye sees (common practice, no source): for readings without u. */
#define SEEN_DEG 1.0

/* In the standard deviation that its residual should have. One that the line follows all the way
 * tells nothing. */
static double share_off(const struct columns *c, size_t i, const struct trim_scale *scale)
{
    double left = 1 - linear_fit_leverage(&scale->fit, c->percent[i], c->u_deg[i]);
    return left > 1e-9 ? fabs(scale->residuals_deg[i]) / (c->u_deg[i] * sqrt(left)) : 0;
}

static void fill_residuals(const struct columns *c, size_t n, struct trim_scale *out)
{
    for (size_t i = 0; i < n; i++) {
        out->residuals_deg[i] = c->deg[i] - out->fit.intercept - out->fit.slope * c->percent[i];
        double share = share_off(c, i, out);
        if (i > 0 && fabs(share - out->worst_share) <= 1e-6 * share)
            out->tied = true;
        else if (share > out->worst_share) {
            out->worst = i;
            out->worst_share = share;
            out->tied = false;
        }
    }
}

#define LINE_LEVEL 0.0027 /* by chance once in 370, as 3 u of one reading */

bool trim_scale_stands_out(const struct trim_scale *scale)
{
    double level = 1 - uncertainty_level_of_each(LINE_LEVEL, scale->fit.n);
    return scale->worst_share > (scale->u_known ? uncertainty_coverage(level, INFINITY) : SEEN_DEG);
}

/* ---- A line, or not ------------------------------------------------------------------------- */

/* All readings at one percent as one. */
struct setting {
    double percent, deg, u_deg;
    size_t many;
    double apart_deg, chi_square; /* they among themselves */
};

static int by_percent(const void *left, const void *right)
{
    double a = ((const struct setting *)left)->percent;
    double b = ((const struct setting *)right)->percent;
    return (a > b) - (a < b);
}

static struct setting as_one(const struct setting *of, size_t many)
{
    struct setting one = {.percent = of->percent, .many = many};
    double weight = 0, sum = 0, low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < many; i++) {
        double w = 1 / (of[i].u_deg * of[i].u_deg);
        weight += w;
        sum += w * of[i].deg;
        low = fmin(low, of[i].deg);
        high = fmax(high, of[i].deg);
    }
    one.deg = sum / weight;
    one.u_deg = 1 / sqrt(weight);
    one.apart_deg = high - low;
    for (size_t i = 0; i < many; i++)
        one.chi_square += pow((of[i].deg - one.deg) / of[i].u_deg, 2);
    return one;
}

/* Returns how many there are. */
static size_t settings_of(const struct columns *c, size_t n, struct setting *out)
{
    size_t count = 0;
    for (size_t i = 0; i < n; i++)
        out[i] = (struct setting){.percent = c->percent[i],
                                  .deg = c->deg[i],
                                  .u_deg = c->u_known ? c->u_deg[i] : SEEN_DEG / 2};
    qsort(out, n, sizeof *out, by_percent);
    for (size_t i = 0, next; i < n; i = next) {
        for (next = i; next < n && out[next].percent == out[i].percent; next++)
            ;
        out[count++] = as_one(&out[i], next - i);
    }
    return count;
}

/* More than chi-square lets them differ: by chance at any setting in one series of twenty. */
static void find_backlash(const struct setting *settings, size_t count, struct trim_scale *out)
{
    size_t tests = 0;
    for (size_t i = 0; i < count; i++)
        tests += settings[i].many > 1;
    for (size_t i = 0; i < count; i++) {
        const struct setting *s = &settings[i];
        if (s->many == 1)
            continue;
        bool shows = out->u_known && uncertainty_chi_square_tail(s->chi_square, (int)s->many - 1) <
                                         uncertainty_level_of_each(0.05, tests);
        if (!out->repeated || shows > out->backlash_shows ||
            (shows == out->backlash_shows && s->apart_deg > out->backlash_deg)) {
            out->backlash_deg = s->apart_deg;
            out->backlash_percent = s->percent;
            out->backlash_shows = shows;
        }
        out->repeated = true;
    }
}

/* Whether the arm surely goes too little way, or back, between the two settings at one end, by the
 * line through all but the last. end 0: the first ones; x and y are scratch for count numbers. */
static bool falls_short(const struct setting *s, size_t count, int end, double *x, double *y)
{
    for (size_t i = 0; i + 1 < count; i++) {
        x[i] = s[end ? i : i + 1].percent;
        y[i] = s[end ? i : i + 1].deg;
    }
    struct linear_fit rest;
    const struct setting *last = &s[end ? count - 1 : 0], *before = &s[end ? count - 2 : 1];
    if (!linear_fit(x, y, NULL, count - 1, &rest))
        return false;
    double promised = rest.slope * (last->percent - before->percent);
    double moved = copysign(1, promised) * (last->deg - before->deg);
    double expanded =
        uncertainty_expand((struct uncertainty){hypot(last->u_deg, before->u_deg), INFINITY});
    return moved + expanded < STATION_FOLLOWS * fabs(promised);
}

/* From each end inwards, as long as three settings are left. */
static void find_stops(const struct setting *settings, size_t count, double *scratch,
                       struct trim_scale *out)
{
    size_t n = count;
    for (int end = 0; end < 2; end++)
        while (count > 2 && falls_short(settings, count, end, scratch, scratch + n)) {
            count--;
            settings += !end;
            out->stops[end] = true;
            out->stops_percent[end] = settings[end ? count - 1 : 0].percent;
        }
}

/* The term that a curve has more than a line, q (x^2 - its own line), and whether it is more than
 * its own uncertainty: N. R. Draper and H. Smith, Applied Regression Analysis, 3rd ed. 1998, 6.1
 * (extra sum of squares). What scatters beside the curve counts as it does beside the line; where
 * three readings leave none of that, nobody can tell. */
static bool is_bent(const struct columns *c, size_t n, const struct trim_scale *scale,
                    double *square)
{
    double top = 0, bottom = 0, left = 0;
    struct linear_fit line;
    for (size_t i = 0; i < n; i++)
        square[i] = pow(c->percent[i] - c->percent[0], 2);
    if (n < 4 || !linear_fit(c->percent, square, c->u_known ? c->u_deg : NULL, n, &line))
        return false;
    for (size_t i = 0; i < n; i++) {
        double weight = 1 / (c->u_deg[i] * c->u_deg[i]);
        square[i] -= line.intercept + line.slope * c->percent[i];
        top += weight * square[i] * scale->residuals_deg[i];
        bottom += weight * square[i] * square[i];
    }
    if (!(bottom > 1e-9 * line.ss_residual) || line.ss_residual < 1e-9)
        return false; /* two settings */
    for (size_t i = 0; i < n; i++) {
        double weight = 1 / (c->u_deg[i] * c->u_deg[i]);
        left += weight * pow(scale->residuals_deg[i] - top / bottom * square[i], 2);
    }
    double dof = (double)n - 3;
    const struct uncertainty terms[] = {
        {c->u_known ? 1 : sqrt(left / dof), c->u_known ? INFINITY : dof},
        {sqrt(fmax(0, left / dof - 1)), dof}};
    struct uncertainty unit = uncertainty_combine(terms, c->u_known ? 2 : 1);
    return fabs(top / bottom) >
           uncertainty_coverage(1 - LINE_LEVEL, unit.dof) * unit.u / sqrt(bottom);
}

static bool judge_settings(const struct columns *c, size_t n, struct trim_scale *out)
{
    struct setting *settings = calloc(n, sizeof *settings);
    double *scratch = calloc(2 * n, sizeof *scratch);
    bool fine = settings && scratch;
    if (fine) {
        const size_t count = settings_of(c, n, settings);
        find_backlash(settings, count, out);
        find_stops(settings, count, scratch, out);
        out->bent = is_bent(c, n, out, scratch);
    }
    free(settings);
    free(scratch);
    return fine;
}

bool trim_scale_is_straight(const struct trim_scale *scale)
{
    return !scale->stops[0] && !scale->stops[1] && !scale->bent;
}

/* Of where the line lies: what all surely share the fit leaves out altogether. */
static double left_out_at(const struct trim_scale *scale, double percent)
{
    return hypot(scale->common_deg, scale->others.intercept + scale->others.slope * percent);
}

double trim_scale_at_zero(const struct trim_scale *scale, struct uncertainty *out)
{
    double deg = linear_fit_at(&scale->fit, 0, out);
    out->u = hypot(out->u, left_out_at(scale, 0));
    return deg;
}

double trim_scale_square(const struct trim_scale *scale, double *off_deg, struct uncertainty *out)
{
    *off_deg = direction_deviation(scale->fit.intercept);
    double percent = linear_fit_inverse(&scale->fit, scale->fit.intercept - *off_deg, out);
    out->u = hypot(out->u, left_out_at(scale, percent) / scale->fit.slope);
    return percent;
}

static bool moves_visibly(const struct columns *c, size_t n)
{
    double least = INFINITY, most = -INFINITY;
    for (size_t i = 0; i < n; i++) {
        least = fmin(least, c->deg[i]);
        most = fmax(most, c->deg[i]);
    }
    return most - least > SEEN_DEG;
}

static enum trim_scale_status learn(const struct columns *c, size_t n, struct trim_scale *out)
{
    const double *u = c->u_known ? c->u_deg : NULL;
    if (!linear_fit(c->percent, c->deg, u, n, &out->fit) ||
        !linear_fit(c->percent, c->others_deg, u, n, &out->others))
        return TRIM_SCALE_ONE_SPOT;
    out->residuals_deg = calloc(n, sizeof *out->residuals_deg);
    if (!out->residuals_deg)
        return TRIM_SCALE_NO_MEMORY;
    out->common_deg = c->common_deg;
    const struct uncertainty terms[] = {{out->fit.u_slope, out->fit.dof},
                                        {fabs(out->others.slope), INFINITY}};
    out->u_slope = terms[1].u > 0 ? uncertainty_combine(terms, 2) : terms[0];
    out->expanded = uncertainty_expand(out->u_slope);
    out->u_known = c->u_known;
    fill_residuals(c, n, out);
    if (!judge_settings(c, n, out))
        return TRIM_SCALE_NO_MEMORY;
    double slope = fabs(out->fit.slope);
    if (slope < ADVICE_SCALE_MIN || slope <= out->expanded)
        return trim_scale_stands_out(out)           ? TRIM_SCALE_TANGLED
               : !c->u_known && moves_visibly(c, n) ? TRIM_SCALE_UNTOLD
                                                    : TRIM_SCALE_STILL;
    return slope > ADVICE_SCALE_MAX ? TRIM_SCALE_WILD : TRIM_SCALE_OK;
}

enum trim_scale_status trim_scale_learn(const struct trim_reading *readings, size_t n,
                                        struct trim_scale *out)
{
    *out = (struct trim_scale){0};
    if (n < 2)
        return TRIM_SCALE_FEW;
    struct columns columns;
    enum trim_scale_status status = columns_fill(readings, n, &columns);
    if (status == TRIM_SCALE_OK)
        status = learn(&columns, n, out);
    columns_clear(&columns);
    return status;
}

void trim_scale_clear(struct trim_scale *scale)
{
    free(scale->residuals_deg);
    *scale = (struct trim_scale){0};
}
