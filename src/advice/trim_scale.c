#include "trim_scale.h"

#include "advice.h"
#include "arithmetic/direction.h"
#include "arithmetic/uncertainty.h"

#include <math.h>
#include <stdlib.h>

/* Sub-trim moves a horn by a few degrees, at its very end by some tens. Readings further apart
 * than this are not one arm. */
#define MAX_SPREAD_DEG 120.0

/* The readings as columns, angles on one unbroken scale. */
struct columns {
    double *percent, *deg, *u_deg;
    bool u_known;
};

static void columns_clear(struct columns *c)
{
    free(c->percent);
    free(c->deg);
    free(c->u_deg);
    *c = (struct columns){0};
}

/* Angles are counted from their common mean direction, so that none jumps at a full turn; the
 * mean itself is added back. */
static enum trim_scale_status columns_fill(const struct trim_reading *readings, size_t n,
                                           struct columns *c)
{
    *c = (struct columns){calloc(n, sizeof(double)), calloc(n, sizeof(double)),
                          calloc(n, sizeof(double)), true};
    if (!c->percent || !c->deg || !c->u_deg)
        return TRIM_SCALE_NO_MEMORY;
    for (size_t i = 0; i < n; i++) {
        c->percent[i] = readings[i].percent;
        c->deg[i] = readings[i].angle_deg;
        c->u_deg[i] = readings[i].u_deg;
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
    }
    return TRIM_SCALE_OK;
}

static void find_backlash(const struct columns *c, size_t n, struct trim_scale *out)
{
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < i; j++) {
            if (c->percent[i] != c->percent[j])
                continue;
            double apart = fabs(c->deg[i] - c->deg[j]);
            double noise =
                uncertainty_expand((struct uncertainty){hypot(c->u_deg[i], c->u_deg[j]), INFINITY});
            out->backlash_shows = out->backlash_shows || apart > noise; /* NAN: not */
            if (!out->repeated || apart > out->backlash_deg) {
                out->backlash_deg = apart;
                out->backlash_percent = c->percent[i];
            }
            out->repeated = true;
        }
}

static void fill_residuals(const struct columns *c, size_t n, struct trim_scale *out)
{
    for (size_t i = 0; i < n; i++) {
        double line = out->fit.intercept + out->fit.slope * c->percent[i];
        out->residuals_deg[i] = c->deg[i] - line;
        if (fabs(out->residuals_deg[i]) > fabs(out->residuals_deg[out->worst]))
            out->worst = i;
    }
}

/* The fit takes each reading's error for its own. What they share it divides by their number, so
 * that the rest of it is missing from where the line lies. */
static double common_left_out(const struct trim_scale *scale)
{
    return scale->common_deg * sqrt(1 - 1.0 / (double)scale->fit.n);
}

double trim_scale_at_zero(const struct trim_scale *scale, struct uncertainty *out)
{
    double deg = linear_fit_at(&scale->fit, 0, out);
    out->u = hypot(out->u, common_left_out(scale));
    return deg;
}

double trim_scale_square(const struct trim_scale *scale, double *off_deg, struct uncertainty *out)
{
    *off_deg = direction_deviation(scale->fit.intercept);
    double percent = linear_fit_inverse(&scale->fit, scale->fit.intercept - *off_deg, out);
    out->u = hypot(out->u, common_left_out(scale) / scale->fit.slope);
    return percent;
}

/* What a practised eye sees (common practice, no source): for readings without u. */
#define SEEN_DEG 1.0

/* Whether the reading farthest from the line lies off it by more than its own U. */
static bool is_tangled(const struct columns *c, const struct trim_scale *scale)
{
    struct uncertainty own = {c->u_deg[scale->worst], INFINITY};
    return fabs(scale->residuals_deg[scale->worst]) >
           (c->u_known ? uncertainty_expand(own) : SEEN_DEG);
}

static enum trim_scale_status learn(const struct columns *c, size_t n, struct trim_scale *out)
{
    if (!linear_fit(c->percent, c->deg, c->u_known ? c->u_deg : NULL, n, &out->fit))
        return TRIM_SCALE_ONE_SPOT;
    out->residuals_deg = calloc(n, sizeof *out->residuals_deg);
    if (!out->residuals_deg)
        return TRIM_SCALE_NO_MEMORY;
    out->expanded = uncertainty_expand((struct uncertainty){out->fit.u_slope, out->fit.dof});
    fill_residuals(c, n, out);
    find_backlash(c, n, out);
    double slope = fabs(out->fit.slope);
    if (slope < ADVICE_SCALE_MIN || slope <= out->expanded)
        return is_tangled(c, out) ? TRIM_SCALE_TANGLED : TRIM_SCALE_STILL;
    return slope > ADVICE_SCALE_MAX ? TRIM_SCALE_WILD : TRIM_SCALE_OK;
}

enum trim_scale_status trim_scale_learn(const struct trim_reading *readings, size_t n,
                                        double common_deg, struct trim_scale *out)
{
    *out = (struct trim_scale){0};
    if (n < 2)
        return TRIM_SCALE_FEW;
    struct columns columns;
    enum trim_scale_status status = columns_fill(readings, n, &columns);
    if (status == TRIM_SCALE_OK)
        status = learn(&columns, n, out);
    out->common_deg = common_deg;
    columns_clear(&columns);
    return status;
}

void trim_scale_clear(struct trim_scale *scale)
{
    free(scale->residuals_deg);
    *scale = (struct trim_scale){0};
}
