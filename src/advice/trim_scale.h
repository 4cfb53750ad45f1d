/* How far one percent of sub-trim turns a horn, learned from readings of its angle. Degrees are
 * counter-clockwise positive as seen in the photos. Nothing here reads or prints. */
#ifndef TRIM_SCALE_H
#define TRIM_SCALE_H

#include "arithmetic/linear_fit.h"

#include <stdbool.h>
#include <stddef.h>

/* That part of a reading's u which is the same in all that were measured like it, such as how
 * straight the arm is. Zeros for one of which nothing is known. */
struct trim_shared {
    double surely_deg; /* from wherever the photos were taken */
    double all_deg;    /* with what may be, such as the card's tilt */
};

struct trim_reading {
    double angle_deg; /* any turn: 359 and 1 are two degrees apart */
    double u_deg;     /* standard uncertainty; NAN when not known */
    double percent;
    struct trim_shared shared;
};

struct trim_scale {
    /* angle = intercept + slope percent. Weighted by u when every reading has one. */
    struct linear_fit fit;
    double common_deg;          /* what all readings surely share: it shifts the line as a whole */
    struct linear_fit others;   /* a line through what some of them may share besides */
    struct uncertainty u_slope; /* of fit.slope, with that: NAN when two readings leave nothing to
                                 * judge by */
    double expanded;            /* U (95 %) of it */
    /* Readings at the same percent, taken on the way up and on the way down */
    bool repeated;           /* is there any such pair */
    double backlash_deg;     /* largest difference among readings at one percent, of those that */
    double backlash_percent; /* show where some do; where */
    bool backlash_shows;     /* more than the readings' own uncertainty allows */
    bool u_known;            /* of every reading */
    size_t worst;            /* the reading farthest from the line, by what it should lie off */
    double worst_share;      /* how many standard deviations of that; degrees without u */
    bool tied;               /* others lie as far off: which is wrong nobody can tell */
    /* The readings are no line, and the slope is none of the horn's anywhere */
    bool stops[2];           /* towards the least and the largest percent: it no longer follows */
    double stops_percent[2]; /* from there on */
    bool bent;               /* a curve goes through them surely better */
    double *residuals_deg;   /* reading minus line; owned: trim_scale_clear() */
};

enum trim_scale_status {
    TRIM_SCALE_OK,
    TRIM_SCALE_FEW,       /* fewer than two readings */
    TRIM_SCALE_ONE_SPOT,  /* all readings at the same percent */
    TRIM_SCALE_SCATTERED, /* angles too far apart to be one arm moved by sub-trim */
    TRIM_SCALE_STILL,     /* the slope cannot be told from zero */
    TRIM_SCALE_UNTOLD,    /* nor that, although the arm moves: too few readings without u */
    TRIM_SCALE_TANGLED,   /* nor that, although the arm moves: not in step with the percent */
    TRIM_SCALE_WILD,      /* one percent would turn the horn further than any servo does */
    TRIM_SCALE_NO_MEMORY,
    TRIM_SCALE_COUNT
};

/* Fits n readings. out is filled on TRIM_SCALE_OK, _STILL, _UNTOLD, _TANGLED and _WILD (clear it
 * then), and empty otherwise. */
enum trim_scale_status trim_scale_learn(const struct trim_reading *readings, size_t n,
                                        struct trim_scale *out);
void trim_scale_clear(struct trim_scale *scale);
/* Whether a reading lies further off the line than chance or, without u, an eye lets it. */
bool trim_scale_stands_out(const struct trim_scale *scale);
/* Whether it is a line's: otherwise nothing is to be worked out from it. */
bool trim_scale_is_straight(const struct trim_scale *scale);

/* The arm's angle at 0 %, and the percent at which it would stand square: *off_deg is how far from
 * square it is at 0 %. With what all readings share, which averaging does not reduce. */
double trim_scale_at_zero(const struct trim_scale *scale, struct uncertainty *out);
double trim_scale_square(const struct trim_scale *scale, double *off_deg, struct uncertainty *out);

#endif
