/* Arms that reach in over an edge of the card: it lies beside the servo's case, and the hub stands
 * on the servo, beyond the card. */
#ifndef PART_REACH_H
#define PART_REACH_H

#include "part.h"

/* Over one edge: more than an arm or two, fingers, wires and a tool together, since they are taken
 * from one end of the edge on and the arm may be the last. */
#define PART_REACH_MAX 16
#define PART_REACH_NARROWER 0.06 /* share of its width by which a body surely narrows or widens */

enum card_side {
    CARD_BUTT, /* the dark edge, meant for this */
    CARD_RIGHT,
    CARD_TOP,
    CARD_LEFT, /* where the slot opens */
    CARD_SIDES
};

struct part_reach {
    enum card_side side;
    struct part
        part;       /* hub_mm: where the arm's axis crosses the edge; one arm, which begins there */
    double narrows; /* see part_reach_narrows */
    bool knob;      /* a thicker place at its end: ball, cup, or after all a hub */
    bool holed;     /* the card shows through it near the tip */
    bool hub_like;  /* much thicker than the arm and not holed, as hubs are and some cups */
};

/* Every bar that comes in over a side's edge and is seen to end on the card, as an arm. Their
 * number. */
int part_reach_find(const struct part_field *f, const struct card_fix *fix, enum card_side side,
                    struct part_reach out[PART_REACH_MAX]);

/* The same arm from its end on the card, should that be the hub. false, out unchanged, where
 * nothing leaves it. */
bool part_reach_turn(const struct part_field *f, const struct card_fix *fix,
                     const struct part_reach *reach, struct part *out);

/* By what share of its width an arm's body narrows from its beginning towards the tip, ball and
 * link left out; below 0: it widens. */
double part_reach_narrows(const struct part_arm *arm);

/* How far a place lies beyond a side's edge, mm; below 0 on the card. */
double part_reach_beyond_mm(const struct card_fix *fix, enum card_side side,
                            struct vision_point mm);

/* Whether what comes in over a side's edge is round, about a middle beyond it: a disc or a wheel.
 */
bool part_reach_is_round(const struct part_field *f, const struct card_fix *fix,
                         enum card_side side);

/* Whether a place that was found on the card is but a piece of such an arm: nothing leaves it that
 * does not lie along the arm. */
bool part_reach_explains(const struct part_reach *reach, const struct part *place);

#endif
