/* Stations that are not simply square: centred, parallel, level, at a wanted angle. Pure
 * arithmetic on angles as measured in photos: degrees, counter-clockwise positive as seen in the
 * photo, each with its standard uncertainty. Uncertainties of one station are taken as independent,
 * which for differences is not too little (docs/method.md, "Correlations"); what photos surely
 * share (a sticker's own alignment, one reference in one photo) does not belong into them. */
#ifndef STATION_H
#define STATION_H

#include "quantity.h"

#include <stdbool.h>
#include <stddef.h>

/* Two arms, lines without a head: first minus second, in (-90, 90]. reference_u is the uncertainty
 * of setting up the reference, once for each photo: 0 when both arms are in one photo. */
struct quantity station_parallel(struct quantity first, struct quantity second, double reference_u);
/* No crank is set so far from its horn: beyond, the arms do not belong together, or the angles are
 * of two different things. */
#define STATION_MOST_APART_DEG 45.0
bool station_parallel_fits(struct quantity apart);

/* An edge against the reference, which lies level or, as a shaft, upright: distance from level,
 * which is along the one and across the other, in (-45, 45]. */
struct quantity station_level(struct quantity edge);
/* Beyond it is not told from its sign which of the two is meant (direction_is_half_way). */
bool station_level_fits(struct quantity off_level);
#define STATION_LEVEL_SAYS                                                                         \
    "it lies nearly half way between along and across the reference: bring the edge near the one " \
    "that is meant by eye, then measure again."
/* How much higher the right end of a level edge stands than the left one, over span_mm. */
struct quantity station_rise(struct quantity off_level, struct quantity span_mm);

/* An arm against a wanted angle: measured minus wanted, in (-180, 180]. */
struct quantity station_off(struct quantity measured, struct quantity wanted);

/* ---- Centred -------------------------------------------------------------------------------- */

struct station_centre {
    struct quantity first_throw, second_throw; /* from neutral to each end, signed */
    struct quantity travel;                    /* from end to end, not negative */
    struct quantity middle;                    /* direction half way between the ends, [0, 360) */
    struct quantity offset;                    /* neutral minus middle */
    bool between;                              /* neutral lies between the ends */
};

struct station_centre station_centre(struct quantity first_end, struct quantity second_end,
                                     struct quantity neutral);
/* Why these three tell nothing of a middle: the part did not surely move from end to end, neutral
 * does not lie between the ends, or they lie further apart than parts of models move. NULL, else
 * one sentence (static text). */
const char *station_centre_fault(const struct station_centre *centre);
/* The same as a short code for a program. NULL likewise. */
const char *station_centre_fault_code(const struct station_centre *centre);

/* ---- Binding --------------------------------------------------------------------------------- */

/* One reading: commanded percent (with sign) and where the part then stood. */
struct station_reading {
    double percent;
    struct quantity angle;
};

struct station_stop {
    bool found;
    bool
        open; /* it surely falls short, but no further than a linkage may flatten: lost is filled */
    struct quantity
        percent; /* command at which the part ran into its stop; same sign as the side */
    struct quantity per_percent; /* degrees, without sign, that it went before it */
    double neutral_share;        /* of neutral's error that is in per_percent */
    struct quantity lost; /* degrees that the last reading falls short of its line, not negative */
};

/* Both rules hold for linkages whose horn and arm stand within 5 degrees of square at neutral and
 * servos that turn 40 degrees each way; others may flatten as much without a stop (docs/linkage.md,
 * "Stop or linkage"). */

/* Share of the expected way that still counts as following. Four-bars near square at neutral go
 * 0.71 of it and more at the end of 40 degrees (docs/linkage.md, "Stop or linkage"), so less than
 * two thirds is no matter of geometry there. */
#define STATION_FOLLOWS (2.0 / 3)
#define STATION_MOST_READINGS 67

/* Looks on one side (-1 or +1) of neutral for the command beyond which the part hardly follows: to
 * none of the readings from there on does it go two thirds of what the line from neutral promises,
 * and the shortfall at the last is more than the uncertainty explains. Readings in any order; one
 * at 0 percent is needed and two on that side. false when there are too few, more than
 * STATION_MOST_READINGS, or two that share one percent. */
bool station_find_stop(const struct station_reading *readings, size_t n, int side,
                       struct station_stop *out);

/* The same from one end alone when degrees per percent are known: where the line from neutral
 * reaches the throw. Neither found nor open when the throw falls short by no more than its
 * uncertainty; open when it still goes two thirds of the way. */
struct station_stop station_stop_from_scale(struct quantity throw_deg, double percent,
                                            struct quantity deg_per_percent);

/* ---- End points ------------------------------------------------------------------------------ */

/* End points, percent of the radio's scale, both positive. */
struct station_ends {
    double first_percent, second_percent;      /* to set, whole steps */
    struct quantity first_throw, second_throw; /* what they should then give, without sign */
    struct quantity unequal;                   /* first minus second throw that is left */
    bool first_short, second_short;            /* the throw wanted is out of reach of the limit, or
                                                  lies beyond the stop */
};

struct station_ends_question {
    struct quantity first_throw, second_throw;   /* measured; signs do not matter */
    double first_percent, second_percent;        /* end points while they were measured */
    double neutral_u;                            /* neutral's own part in both throws' u */
    struct station_stop first_stop, second_stop; /* found: false where none was seen */
    double wanted_deg;                           /* throw wanted; 0: equal to the smaller one */
    double step_percent, limit_percent;          /* of the radio */
};

/* In proportion from neutral, whose error makes the one throw larger and the other smaller: a
 * curved linkage asks for a second photo. No end point lies at a stop or beyond it, by its
 * uncertainty and to a whole step below. false (out unchanged) when a throw or a percent is not
 * above 0. */
bool station_ends(const struct station_ends_question *question, struct station_ends *out);

#endif
