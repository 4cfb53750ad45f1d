#include "direction.h"

#include <math.h>

/* Below this length the sum is rounding error and points nowhere. */
static const double no_resultant = 1e-12;

double direction_wrap(double deg, double period_deg)
{
    double rest = remainder(deg, period_deg); /* exact; a tie may come out as -period / 2 */
    return rest <= -period_deg / 2 ? rest + period_deg : rest;
}

double direction_normal(double deg)
{
    double rest = fmod(deg, 360);
    if (rest < 0)
        rest += 360;
    return rest < 360 ? rest + 0.0 : 0; /* + 0.0 turns -0 into 0 */
}

double direction_turn(double deg)
{
    return direction_wrap(deg, 360);
}

double direction_deviation(double deg)
{
    return direction_wrap(deg, 90);
}

bool direction_is_half_way(double deg)
{
    const double half_way_deg = 40;
    return fabs(direction_deviation(deg)) > half_way_deg;
}

double direction_square(double deg)
{
    return direction_normal(90 * round((deg - direction_deviation(deg)) / 90));
}

double direction_next_square(double deg)
{
    return direction_normal(direction_square(deg) + copysign(90, direction_deviation(deg)));
}

const char *direction_way(double deg)
{
    return deg > 0 ? "counter-clockwise" : "clockwise";
}

/* Direction of the sum of unit vectors; angles are first stretched so that a period is a full
 * turn. Source: K. V. Mardia and P. E. Jupp, Directional Statistics (2000), 2.2 and 9.5 (axes). */
bool direction_mean(const double *deg, size_t n, double period_deg, struct direction_mean *out)
{
    double c = 0;
    double s = 0;
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(deg[i]))
            return false;
        double angle = 2 * M_PI * direction_wrap(deg[i], period_deg) / period_deg;
        c += cos(angle);
        s += sin(angle);
    }
    double length = n > 0 ? hypot(c, s) / (double)n : 0;
    if (!(length > no_resultant))
        return false;
    double mean = atan2(s, c) / (2 * M_PI) * period_deg;
    out->mean_deg = mean < 0 ? mean + period_deg : mean;
    if (out->mean_deg >= period_deg)
        out->mean_deg = 0;
    out->resultant = length;
    return true;
}
