/* The line that the arms are measured against. */
#ifndef REFERENCE_H
#define REFERENCE_H

#include "part/part.h"

struct reference_line {
    double u_deg, dof; /* of its direction as found in the photo; 0 and 1 for the card's axis */
    enum vision_reason doubt; /* whether it is the line that was meant; VISION_REASON_NONE */
    bool shared;              /* places of the card, pointed at once for several photos */
    bool joined;              /* it is a link, joined to the part at joint_mm */
    struct vision_point joint_mm;
};

/* An edge of the case is looked for this far to either side of the hint, at most. */
#define REFERENCE_REACH_PX 60

/* Fills reference, reference_deg and reference_px of out.
 * Returns VISION_REASON_NONE, VISION_NO_EDGE, VISION_NO_LINK or VISION_BAD_HINT. */
enum vision_reason reference_find(const struct vision_image *image, const struct card_fix *fix,
                                  const struct silhouette *silhouette,
                                  const struct part_field *field, const double camera_mm[3],
                                  const struct part *part, const struct vision_options *options,
                                  struct vision_result *out, struct reference_line *line);

#endif
