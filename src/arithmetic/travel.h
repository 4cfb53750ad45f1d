/* Sub-trim and travel in the radio's whole steps: what they give, what they leave, what another
 * tooth saves. Angles in degrees of the servo, percent of the radio's scale; both have one sign. */
#ifndef TRAVEL_H
#define TRAVEL_H

#include "quantity.h"

#include <stdbool.h>

struct travel_radio {
    struct quantity deg_per_percent; /* of the servo; not 0 */
    double step_percent;             /* smallest step, usually 1 */
    double limit_percent;            /* beyond it neither end point nor servo goes, such as 150 */
};

struct travel_setting {
    double percent;              /* to set, whole steps, at most the limit */
    double exact_percent;        /* before rounding */
    bool cut;                    /* the limit cut it */
    struct quantity remains_deg; /* wanted minus given */
};

/* Where a radio of that step (0: none) can be set nearest to percent without going beyond limit,
 * which is not negative; the sign is that of percent. */
double travel_step(double percent, double step, double limit);

/* The percent that turns the servo by turn_deg. false when the scale is 0 or not finite. */
bool travel_set(const struct travel_radio *radio, struct quantity turn_deg,
                struct travel_setting *out);

/* What sub-trim leaves at the ends. */
struct travel_ends {
    double low_percent, high_percent; /* end points around the trimmed neutral, both positive */
};

struct travel_asymmetry {
    /* the ends move along with the sub-trim, until one meets the limit */
    double moving_low_deg, moving_high_deg;
    bool low_cut, high_cut;
    /* the ends stay where they were: one side loses what the other gains */
    double fixed_low_deg, fixed_high_deg;
};

/* Throws of the servo to each side of a neutral trimmed by subtrim_percent. */
struct travel_asymmetry travel_asymmetry(const struct travel_radio *radio, struct travel_ends ends,
                                         double subtrim_percent);

/* Throws of the ball at the end of an arm that stands off_deg from square at neutral, straight
 * along its link, for the servo turning low_deg and high_deg (both positive) each way:
 * r (sin(off + s) - sin(off)), not negative. */
void travel_ball_throws(double arm_mm, double off_deg, double low_deg, double high_deg,
                        double *low_mm, double *high_mm);

#endif
