/* The arms that reach in over the butt edge from a hub beyond it, where the card lies beside the
 * servo's case: as one part, if that is what the photo shows. */
#ifndef REACHING_H
#define REACHING_H

#include "stage.h"

enum reaching {
    REACHING_NONE, /* nothing, or what belongs to a part whose hub is, or may be, on the card */
    REACHING_BAR,  /* all that is before the card is a bar that may be anything */
    REACHING_ARM,  /* what can only be a horn's arm */
    REACHING_KNOB, /* an arm with a thick end on the card, a cup, or its hub after all */
    REACHING_BOTH, /* a bar as broad as an arm, and something on the card that it does not explain
                    */
};

/* places: what may be a hub on the card itself, best first. out: the arm, or arms, with
 * REACHING_ARM and REACHING_KNOB. */
enum reaching reaching_find(const struct stage *s, const struct part *places, int count,
                            struct part *out);

#endif
