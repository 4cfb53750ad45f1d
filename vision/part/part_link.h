/* The link or pushrod joined to a part. Card frame. */
#ifndef PART_LINK_H
#define PART_LINK_H

#include "part.h"

/* The link or pushrod that leaves the tip of one of the part's arms sideways, or another joint that
 * hangs together with the hub: the longest such bar. *link is laid out from *from_mm, the joint.
 * Returns VISION_REASON_NONE or VISION_NO_LINK. */
enum vision_reason part_find_link(const struct part_field *f, const struct card_fix *fix,
                                  const struct part *part, struct vision_point *from_mm,
                                  struct part_arm *link);

#endif
