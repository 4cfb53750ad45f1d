/* The arms that reach in over an edge of the card from a hub beyond it, where the card lies beside
 * the servo's case: as one part, if that is what the photo shows. */
#ifndef REACHING_H
#define REACHING_H

#include "stage.h"

enum reaching {
    REACHING_NONE,   /* nothing, or what belongs to a part whose hub is, or may be, on the card */
    REACHING_BAR,    /* all that is before the card is a bar that may be anything */
    REACHING_ARM,    /* what can only be a horn's arm */
    REACHING_EITHER, /* an arm whose two ends may both be the hub: one stands in the slot */
    REACHING_MAYBE,  /* an arm whose hub is in doubt: a thick end on the card may be it, or the ring
                        beyond the edge is poorly seen */
    REACHING_BOTH,   /* a bar as broad as an arm, and something on the card that it does not explain
                      */
};

/* places: what may be a hub on the card itself, best first. out: the arm, or arms, with
 * REACHING_ARM and REACHING_MAYBE. */
enum reaching reaching_find(const struct stage *s, const struct part *places, int count,
                            struct part *out);

#endif
