/* The arm that a person pointed at, hub first. The points choose what is measured; its edges say
 * where it lies. Where there are none, the points themselves are the answer, for what they are
 * worth. */
#ifndef POINTING_H
#define POINTING_H

#include "stage.h"

/* The parts that have an arm where the person pointed, best first: as found in the silhouette,
 * whole, and as that arm alone. Returns VISION_REASON_NONE (*count > 0), VISION_BAD_HINT or
 * VISION_NO_ARM. */
enum vision_reason pointing_find_places(const struct stage *s, struct part out[PART_MAX_PLACES],
                                        int *count);

/* The arm of s->part that was pointed at, -1 when none has its hub and its direction. */
int pointing_arm(const struct stage *s);
/* How far a direction, card frame, lies beside the one pointed in. */
double pointing_aside_rad(const struct stage *s, double direction_rad);

/* The line from point to point as the only arm of s->part, unsure. */
void pointing_take_line(struct stage *s);

#endif
