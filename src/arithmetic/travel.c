#include "travel.h"

#include "direction.h"

#include <math.h>

double travel_step(double percent, double step, double limit)
{
    double size = fabs(percent);
    if (!(step > 0))
        return copysign(fmin(size, limit), percent);
    /* A limit of whole steps may come out just below them, as 0.3 / 0.1 does. */
    double most = floor(limit / step + 1e-9);
    return copysign(step * fmin(round(size / step), most), percent) + 0.0; /* never -0 */
}

/* What is left of the turn: v[0] turn, v[1] degrees per percent, for a percent that is set. */
static double remains(const double *v, const void *percent)
{
    return v[0] - v[1] * *(const double *)percent;
}

bool travel_set(const struct travel_radio *radio, struct quantity turn_deg,
                struct travel_setting *out)
{
    double scale = radio->deg_per_percent.value;
    if (!(fabs(scale) > 0) || !isfinite(scale) || !isfinite(turn_deg.value))
        return false;
    double exact = turn_deg.value / scale;
    double percent = travel_step(exact, radio->step_percent, radio->limit_percent);
    double unlimited = travel_step(exact, radio->step_percent, INFINITY);
    const struct quantity inputs[] = {turn_deg, radio->deg_per_percent};
    *out = (struct travel_setting){
        .percent = percent,
        .exact_percent = exact,
        .cut = fabs(percent) < fabs(unlimited),
        .remains_deg = quantity_carry(remains, inputs, 2, &percent),
    };
    return true;
}

struct travel_asymmetry travel_asymmetry(const struct travel_radio *radio, struct travel_ends ends,
                                         double subtrim_percent)
{
    double scale = fabs(radio->deg_per_percent.value), limit = radio->limit_percent;
    /* Where the ends lie on the radio's own scale, neutral without sub-trim being 0. */
    double low = subtrim_percent - ends.low_percent, high = subtrim_percent + ends.high_percent;
    struct travel_asymmetry out = {
        .low_cut = low<-limit, .high_cut = high> limit,
    };
    out.moving_low_deg = scale * (subtrim_percent - fmax(low, -limit));
    out.moving_high_deg = scale * (fmin(high, limit) - subtrim_percent);
    out.fixed_low_deg = scale * (fmin(ends.low_percent, limit) + subtrim_percent);
    out.fixed_high_deg = scale * (fmin(ends.high_percent, limit) - subtrim_percent);
    return out;
}

void travel_ball_throws(double arm_mm, double off_deg, double low_deg, double high_deg,
                        double *low_mm, double *high_mm)
{
    double off = off_deg * RAD_PER_DEG;
    *low_mm = arm_mm * fabs(sin(off) - sin(off - low_deg * RAD_PER_DEG));
    *high_mm = arm_mm * fabs(sin(off + high_deg * RAD_PER_DEG) - sin(off));
}
