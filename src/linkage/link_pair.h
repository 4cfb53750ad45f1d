/* Two links side by side between a double horn and a double crank. Equally long they form a
 * parallelogram that follows the horn exactly; unequal they turn the crank and strain each other.
 *
 * Frame: horn axis at (0, 0), crank axis at (base, 0), both arms equally long. The first link joins
 * the balls at the horn's angle, the second those on the other side. Degrees counter-clockwise. */
#ifndef LINK_PAIR_H
#define LINK_PAIR_H

#include "arithmetic/decision.h"
#include "arithmetic/quantity.h"
#include "arithmetic/thread.h"

#include <stdbool.h>

/* What a link can be, ball centre to ball centre. Common practice, no source: from the smallest
 * ball links screwed together to a pushrod through a large model. */
#define LINK_LEAST_MM 0.5
#define LINK_MOST_MM 5000.0

/* Whether two links can run side by side between arms of this length: both longer than the arm, and
 * their difference shorter, or no crank fits between them. arm_mm 0: not known; then whether they
 * can for any arm at all. */
bool link_pair_fits(double first_mm, double second_mm, double arm_mm);

struct link_pair {
    struct quantity first_mm, second_mm; /* ball centre to ball centre */
    struct quantity arm_mm;              /* axis to ball, horn and crank alike */
    struct quantity base_mm;             /* axis to axis; value 0: whatever suits both links best */
    double horn_deg;                     /* at neutral; 90 square */
    double low_deg, high_deg;            /* the servo's travel */
    double play_mm;                      /* what the ball links of one link give before they pull */
    double stiffness_n_per_mm;           /* of one link with its balls; 0 unknown */
    double equal_within_mm;              /* a difference that does not matter; 0: found below */
    struct thread_ends ends;             /* of either link; pitch 0 unknown */
};

/* Where horn and axes lie in one line both links do too: a dead point, at which nothing keeps the
 * crank from going the other way than its horn. */
enum link_pair_line {
    LINK_PAIR_CLEAR,
    LINK_PAIR_NEAR_LINE,    /* within LINKAGE_MARGIN_DEG of it */
    LINK_PAIR_THROUGH_LINE, /* reached or passed on the way from neutral */
};

/* At one servo position. */
struct link_pair_pose {
    enum link_pair_line line; /* through it: the figures hold only if the crank did not flip */
    double bias_deg;          /* crank against where equal links would put it */
    double first_strain_mm, second_strain_mm; /* longer than there is room for: > 0 pressed */
    /* Standard uncertainties, from those of lengths, arms and base; NAN, as the limits below, by a
     * length that came without its own. */
    double bias_u_deg, first_strain_u_mm, second_strain_u_mm;
    /* Of the link that is strained more, beyond its play; 0 without stiffness. Between least and
     * most it lies for 95 %. */
    double force_n, least_force_n, most_force_n;
};

struct link_pair_result {
    struct quantity difference_mm; /* first minus second */
    double within_mm;              /* what was taken as not mattering */
    const char *within_why;        /* and why: static text */
    /* accept: equal, reject: unequal, cannot tell: measure better, or a length came without its
     * uncertainty (u 0) */
    enum decision equal;
    bool bare;                /* the latter */
    struct quantity bias_deg; /* at neutral */
    struct link_pair_pose low, neutral, high;
    /* How much too long both links are for the base, beside what they differ by, which strains both
     * alike; 0 where no base was given. */
    struct quantity misfit_mm;
    /* At neutral if the crank is held square by something else; the limits as of a pose. */
    double held_force_n, least_held_n, most_held_n;
    bool turn_first;  /* which link to turn */
    double change_mm; /* longer is positive */
    bool turnable;
    struct thread_turns turns;
    struct quantity remaining_mm; /* difference after the turns, first minus second */
};

/* Is a link to be changed: unequal, and by more than the smallest turn would leave? */
bool link_pair_wants_change(const struct link_pair_result *result);

/* Nobody gets such links onto their balls: common practice, no source. */
#define LINK_PAIR_MISFIT_MM 2.0
/* Whether they surely are so much too long or short for the base. */
bool link_pair_is_absurd(const struct link_pair_result *result);
/* What of misfit_mm is left once the link that is to be turned has been. */
struct quantity link_pair_misfit_left(const struct link_pair_result *result);

/* false (out unchanged) when a length is not above 0, the arms are not shorter than the links, the
 * links differ by more than the arm's length, or no crank position fits anywhere near. */
bool link_pair_judge(const struct link_pair *pair, struct link_pair_result *out);

/* Two links measured in one photo of the card, ball centre to ball centre in card millimetres.
 * Both lie height_mm in front of the card and distance_mm from the camera's centre to the card:
 * what lies nearer looks longer, true = seen (1 - height / distance). The common factor hardly
 * touches the difference of nearly equal lengths, which difference_mm takes into account. */
struct link_pair_photo {
    struct quantity first_seen_mm, second_seen_mm, height_mm, distance_mm;
    double across_mm; /* of the card's plane in the picture, its longer side; 0: not known */
};
struct link_pair_lengths {
    struct quantity first_mm, second_mm, difference_mm;
};
/* Whether a lens can show as much as that from the distance: what is given in cm or metres is
 * refused with LINK_PAIR_TOO_NEAR rather than believed. */
bool link_pair_lens_could(const struct link_pair_photo *photo);
#define LINK_PAIR_TOO_NEAR                                                                         \
    "--distance is the way from camera to card in mm, and no lens shows so much from so near: "    \
    "measure it with a ruler and give mm, 110 for 11 cm."

/* false (out unchanged) unless the height lies between 0 and the distance and the lengths above 0.
 */
bool link_pair_from_photo(const struct link_pair_photo *photo, struct link_pair_lengths *out);

#endif
