/* A sheet about a linkage: for each part the mechanism at neutral and both ends, to scale, beside
 * the curve of its movement and the angle between link and arm. */
#ifndef LINKAGE_DRAWING_H
#define LINKAGE_DRAWING_H

#include "drawing/drawing_file.h"
#include "linkage_result.h"

struct linkage_sheet {
    const struct linkage *linkage;       /* borrowed */
    const struct linkage_result *result; /* borrowed */
    bool only_shows; /* no word of what to do about a part: others know better */
};

/* The drawing, for drawing_file_write or for a page of a report; sheet is borrowed. */
struct drawing linkage_drawing(const struct linkage_sheet *sheet);

#endif
