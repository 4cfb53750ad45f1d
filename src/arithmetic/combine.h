/* Several photos of one arm put together: weighted mean, uncertainty that shrinks only as far as
 * the errors are each photo's own, a test whether the photos agree, and backlash. Pure arithmetic.
 */
#ifndef COMBINE_H
#define COMBINE_H

#include "lean.h"
#include "uncertainty.h"
#include "vision.h"

#include <stdbool.h>

#define COMBINE_MAX_PHOTOS 64

/* From which side the part came to rest, as seen in the photo. */
enum combine_side { COMBINE_SIDE_UNKNOWN, COMBINE_CLOCKWISE, COMBINE_COUNTER_CLOCKWISE };

struct combine_reading {
    const struct vision_arm *arm; /* borrowed; u_deg > 0 */
    enum combine_side side;
};

struct combine_question {
    const struct combine_reading *readings;
    int count; /* 2 to COMBINE_MAX_PHOTOS; sides: all unknown, or both sides present */
    /* What is known of how the card leans, the same in all photos. NULL: it was laid anew for each,
     * and its tilt and bulge differ. */
    const struct lean *lean;
    int tested; /* arms of the same photos that are tested for agreement: one in twenty sound sets
                 * of photos fails in any of them. 0: this one alone */
};

struct combined {
    /* angle_deg, deviation_deg, u_deg, tilt_gain and budget of the mean, which for readings from
     * both sides is the middle between the sides' means; the rest is the first reading's. */
    struct vision_arm arm;
    double spread_deg;  /* standard deviation of the readings about their (side's) mean */
    double chi_square;  /* of the readings about their means, the best lean taken out */
    int dof;            /* count less the means: 0 when nothing is left over to test */
    double birge;       /* sqrt(chi_square / dof): 1 expected; NAN for dof 0 */
    double probability; /* of a chi_square at least as large by chance; 1 for dof 0 */
    bool disagree;      /* less probable than that: own errors in arm are then enlarged by birge */
    int odd_one;        /* index of the reading furthest from its mean, in its own u */
    double odd_share;   /* of the readings' part of chi_square that is its doing */
    bool have_backlash; /* readings from both sides */
    /* Clockwise arrivals less counter-clockwise ones: with play the part stops short, so it is
     * positive. */
    double backlash_deg;
    struct uncertainty backlash_u;
    bool backlash_shows; /* larger than its expanded uncertainty */
};

/* What shares the error of a term of the budget, over several photos of one part. */
enum combine_share {
    COMBINE_OWN,     /* nothing: this arm's in this photo */
    COMBINE_PHOTO,   /* all arms of the photo */
    COMBINE_TILT,    /* all photos, by the lean of a card that lay still */
    COMBINE_ALL,     /* all readings of the arm, to the same amount */
    COMBINE_PERHAPS, /* all photos in part: nobody knows how far */
};
enum combine_share combine_share_of(const struct vision_budget_line *line, bool card_moved);

/* Method and sources: docs/method.md, "Several photos together". */
void combine(const struct combine_question *question, struct combined *out);

#endif
