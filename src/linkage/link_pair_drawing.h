/* Two links side by side as a picture: what their difference does to the crank, and which to turn.
 */
#ifndef LINK_PAIR_DRAWING_H
#define LINK_PAIR_DRAWING_H

#include "drawing/drawing_file.h"
#include "link_pair.h"

struct link_pair_sheet {
    const struct link_pair *pair;          /* borrowed */
    const struct link_pair_result *result; /* borrowed */
    const char *finding, *action;          /* sentences under the picture, borrowed */
};

/* The drawing; sheet is borrowed. */
struct drawing link_pair_drawing(const struct link_pair_sheet *sheet);

#endif
