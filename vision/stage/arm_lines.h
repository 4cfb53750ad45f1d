/* The middle lines of all arms of a place, fitted together. */
#ifndef ARM_LINES_H
#define ARM_LINES_H

#include "edge/arm_shared.h"
#include "stage.h"

/* Reads the edges of the place's arms and fits a line to each: s->part, s->whole, s->edges and
 * s->fits. Arms without edges are left out; false when none has any. */
bool arm_lines_try(struct stage *s, const struct part *place, const struct arm_shared *usual);
/* Fits them again by what they show together, and heeds where one differs from the others. Leaves
 * out those whose edges do not hang together; false when that is all: they are kept then. */
bool arm_lines_refine(struct stage *s, const struct arm_shared *usual);
/* The middle lines meet in the axis of the hub. A short arm, whose edges tell its direction poorly,
 * gains from the place where the others say the axis is; a long one gains nothing and loses
 * nothing. */
void arm_lines_join(struct stage *s);
/* Frees s->edges. */
void arm_lines_forget(struct stage *s);

/* Whether a side of every arm of a part runs along the edge of a stripe, which hides where it is.
 */
bool arm_lines_on_stripes(const struct stage *s, const struct part *part);

#endif
