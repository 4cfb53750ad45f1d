/* Angles are radians inside and degrees where people or budgets read them. */
#ifndef ANGLE_H
#define ANGLE_H

#include <math.h>

#define PI 3.14159265358979323846
#define DEG (180 / PI) /* degrees in one radian: a_rad * DEG, a_deg / DEG */

/* How far two directions are apart: 0 to PI. */
static inline double angle_apart(double a_rad, double b_rad)
{
    return fabs(remainder(a_rad - b_rad, 2 * PI));
}

/* How far two lines are apart, which point both ways: 0 to PI / 2. */
static inline double angle_between_lines(double a_rad, double b_rad)
{
    return fabs(remainder(a_rad - b_rad, PI));
}

/* The same direction in (-180, 180]. */
static inline double angle_wrap_180(double deg)
{
    double within = remainder(deg, 360);
    return within <= -180 ? within + 360 : within;
}

/* And in [0, 360). */
static inline double angle_wrap_360(double deg)
{
    double within = fmod(deg, 360);
    within = within < 0 ? within + 360 : within;
    return within >= 360 ? 0 : within;
}

/* How far it lies from the nearest multiple of 90, in (-45, 45]. */
static inline double angle_from_square(double deg)
{
    double off = deg - 90 * floor(deg / 90 + 0.5);
    return off <= -45 ? off + 90 : off;
}

#endif
