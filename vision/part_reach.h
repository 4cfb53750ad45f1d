/* Arms that reach in over the butt edge: the card lies beside the servo's case, and the hub stands
 * on the servo, beyond the card. */
#ifndef PART_REACH_H
#define PART_REACH_H

#include "part.h"

#define PART_REACH_MAX 4

struct part_reach {
    struct part
        part; /* hub_mm: where the arm's axis crosses the butt edge; one arm, which begins there */
    double narrows; /* along its body, towards the tip, as a share of its width; below 0: widens */
    bool knob;      /* a thicker place at its end: ball, cup, or after all a hub */
    bool hub_like;  /* one much thicker than the arm, as hubs are and some cups */
    bool holed;     /* the card shows through it near the tip */
};

/* Every bar that comes in over the butt edge and is seen to end on the card, as an arm. Their
 * number.
 */
int part_reach_find(const struct part_field *f, const struct card_fix *fix,
                    struct part_reach out[PART_REACH_MAX]);

/* Whether a place that was found on the card is but a piece of such an arm: nothing leaves it that
 * does not lie along the arm. */
bool part_reach_explains(const struct part_reach *reach, const struct part *place);

#endif
