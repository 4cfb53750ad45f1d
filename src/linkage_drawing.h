/* A sheet about a linkage: for each part the mechanism at neutral and both ends, to scale, beside
 * the curve of its movement and the angle between link and arm. */
#ifndef LINKAGE_DRAWING_H
#define LINKAGE_DRAWING_H

#include "linkage_result.h"
#include "sheet_file.h"

struct linkage_sheet {
    const struct linkage *linkage;       /* borrowed */
    const struct linkage_result *result; /* borrowed */
};

/* The drawing, for sheet_file_write or for a page of a report; sheet is borrowed. */
struct sheet_drawing linkage_drawing(const struct linkage_sheet *sheet);

#endif
