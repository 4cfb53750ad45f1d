/* From a measured horn to the next thing to do: which arm on which tooth, how much sub-trim.
 * Degrees are counter-clockwise positive as seen in the photo. Nothing here reads or prints. */
#ifndef ADVICE_H
#define ADVICE_H

#include "arithmetic/decision.h"
#include "arithmetic/spline.h"
#include "arithmetic/uncertainty.h"

#include <stdbool.h>
#include <stddef.h>

#define ADVICE_TRIM_LIMIT 2.0 /* percent; "a couple of percent": common practice, no source */
#define ADVICE_TRIM_STEP 1.0  /* percent; whole percents: common practice, no source */

/* Degrees that one percent may turn a horn, either sign. Beyond: no servo's doing, for 100 % would
 * be a tenth of a degree, or most of a turn. */
#define ADVICE_SCALE_MIN 0.001
#define ADVICE_SCALE_MAX 3.0
/* What one percent turns most servos' horns at the most; common practice, no source. */
#define ADVICE_SCALE_USUAL 0.6
/* Percent that a radio's smallest change may be; common practice, no source. */
#define ADVICE_STEP_MIN 0.01
#define ADVICE_STEP_MAX 25.0

struct advice_arm {
    char name[4];     /* "A" */
    double angle_deg; /* from the reference, as the horn sits now */
    double u_deg;     /* NAN: not known; nothing is then accepted or rejected */
    bool assumed;     /* not measured, placed by even spacing: never accepted unmeasured */
};

/* What one percent of sub-trim does. */
struct advice_scale {
    bool known;
    double deg_per_percent; /* positive: positive percent turns the horn counter-clockwise */
    struct uncertainty u;   /* of deg_per_percent; u 0: nobody knows; dof INFINITY when not known
                             * better */
};
/* Whether it came without its uncertainty: then nothing is judged by it. */
bool advice_scale_is_bare(const struct advice_scale *scale);

struct advice_question {
    int teeth; /* SPLINE_MIN_TEETH to SPLINE_MAX_TEETH */
    int arm_count;
    struct advice_arm arms[SPLINE_MAX_ARMS];
    bool unsure;          /* the reading is in doubt: it accepts and rejects nothing */
    bool half_way;        /* nor does one between two squares, none of which was named (order.h) */
    int used;             /* the arm in use now */
    double wanted_deg;    /* where the arm in use, or the one that replaces it, is to point */
    double wanted_u_deg;  /* standard uncertainty of wanted_deg; 0: exact, as square is */
    bool wanted_named;    /* somebody named it: it is not simply called square */
    const char *from;     /* what it counts from, after "square": " to the link"; NULL: the card */
    bool link_swings;     /* that is the link on the arm, which swings as the arm goes elsewhere */
    double tolerance_deg; /* >= 0 */
    bool may_turn_over;   /* nothing on the horn forbids it, and turned_deg is known */
    double turned_deg;    /* the arm in use, read with the horn turned over, on any tooth */
    double turned_u_deg;  /* NAN: not known */
    struct advice_scale scale;
    double step_percent;  /* > 0: the radio's smallest change */
    double limit_percent; /* >= 0: more sub-trim than this is warned about */
};

/* Whether the question is yet too open for any order. */
bool advice_is_open(const struct advice_question *question);

/* Neutral question: tolerance, step and limit as above, no scale, no arm. */
struct advice_question advice_question_default(void);

/* Whether so many degrees are more than the limit on most servos, for where the scale is not known.
 */
bool advice_over_usual_limit(const struct advice_question *question, double remains_deg);

/* Whether sub-trim of so many percent is more than the limit; whole steps may miss it by rounding,
 * as three times 0.1 does 0.3. */
bool advice_over_limit(const struct advice_question *question, double percent);

enum advice_trim_kind {
    ADVICE_TRIM_NOT_NEEDED,    /* within tolerance, or nothing remains that could be read */
    ADVICE_TRIM_MEASURE_FIRST, /* arm or link were not measured so yet, or the reading is unsure
                                * or half way */
    ADVICE_TRIM_NOT_SEEN,      /* what remains is within its own uncertainty of nothing */
    ADVICE_TRIM_TOO_FINE,      /* less than half a step */
    ADVICE_TRIM_USE,           /* percent, within the limit */
    ADVICE_TRIM_OVER_LIMIT,    /* beyond the limit; at any scale where none is known (no percent) */
    ADVICE_TRIM_NO_SCALE,      /* wanted, but degrees per percent are not known */
    ADVICE_TRIM_COUNT
};

/* Sub-trim against what remains, as a change from its setting at the time of the measurement.
 * The numbers are filled whenever the scale is known, whatever the kind; NAN otherwise. */
struct advice_trim {
    enum advice_trim_kind kind;
    double exact_percent; /* would leave nothing */
    double percent;     /* to be used, or over the limit: nearest whole step; where that is over the
                         * limit the last one within it, if that leaves the arm surely within
                         * tolerance. 0 of any other kind */
    double remains_deg; /* after percent */
    double expanded_deg; /* U for 95 %, with the scale's uncertainty; NAN when not known */
    enum decision decision;
};

/* One way to put the horn on, judged. */
struct advice_option {
    struct spline_position at;
    bool assumed; /* rests on an arm that was not measured */
    bool swings;  /* against a link that will lie elsewhere: nothing is decided before it does */
    double u_deg; /* standard uncertainty of at.remains_deg; NAN when not known */
    double expanded_deg;
    enum decision decision;
    struct advice_trim trim;
};

struct advice {
    struct advice_option now; /* the arm in use, left as it is */
    /* Every arm on every tooth on every side allowed. options[0] is what to do; the others follow
     * by what remains. Owned: free with advice_clear(). */
    struct advice_option *options;
    size_t count;
};

/* Is it within tolerance, or once its sub-trim is set? */
bool advice_ends_within(const struct advice_option *option);

/* Ranks all positions: least remaining deviation first, equals by least work.
 * options[0] is the horn left alone when that is within tolerance; else of the positions that leave
 * as little as the least, within their uncertainty, the one that ends best, is judged best, and is
 * least work.
 * Least work: the same side before turned over, the arm in use before another, fewer teeth.
 * false when there is no memory; out is then empty. */
bool advice_make(const struct advice_question *question, struct advice *out);
void advice_clear(struct advice *advice);

/* Is nothing to be done: same arm, same tooth, same side. */
bool advice_is_leave(const struct advice_question *question, const struct advice_option *option);

/* Does no earlier option use the same arm on the same side? True for the best tooth of each. */
bool advice_is_best_tooth(const struct advice *advice, size_t index);

/* Of count arms spaced evenly those that are not among arms yet, one of which is, are added where
 * they must lie: counter-clockwise from the first, named on, "C", ..., marked assumed, with its u.
 * false, and nothing is added, where the arms are none of count that are spaced so. */
bool advice_assume_even_arms(struct advice_question *question, int count);
/* Whether the arms are spaced evenly, as those of a horn all of which are known. */
bool advice_arms_are_even(const struct advice_question *question);

#endif
