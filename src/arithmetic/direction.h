/* Directions on a circle, in degrees, counter-clockwise positive as seen in the photo. */
#ifndef DIRECTION_H
#define DIRECTION_H

#include <stdbool.h>
#include <stddef.h>

/* Radians of a degree, for sines and the like: angle_deg * RAD_PER_DEG, angle_rad / RAD_PER_DEG. */
#define RAD_PER_DEG 0.017453292519943295769

/* deg less whole periods, in (-period / 2, period / 2]. */
double direction_wrap(double deg, double period_deg);
/* The same direction in [0, 360). */
double direction_normal(double deg);
/* The same turn in (-180, 180]. */
double direction_turn(double deg);
/* Distance from the nearest multiple of 90, in (-45, 45]; positive: counter-clockwise of it. */
double direction_deviation(double deg);
/* That nearest multiple of 90: 0, 90, 180 or 270. */
double direction_square(double deg);
/* The one on its other side. */
double direction_next_square(double deg);

/* Whether a direction lies so nearly half way between two multiples of 90, more than 40 degrees
 * from either, that the nearest one may not be the one meant. */
bool direction_is_half_way(double deg);

/* "counter-clockwise" for what is above 0, else "clockwise": which way a turn goes, or how
 * something that is off by so much lies. -deg: the way back. The one home of that sign's words. */
const char *direction_way(double deg);

struct direction_mean {
    double mean_deg;  /* in [0, period) */
    double resultant; /* mean resultant length: 1 all alike, towards 0 spread all round */
};

/* Mean of n directions that repeat every period_deg (360 for arms; 180 for lines without a head).
 * false (out unchanged) when there is none: no angle, one that is not finite, or angles that
 * cancel each other. */
bool direction_mean(const double *deg, size_t n, double period_deg, struct direction_mean *out);

#endif
