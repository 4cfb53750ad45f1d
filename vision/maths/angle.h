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

#endif
