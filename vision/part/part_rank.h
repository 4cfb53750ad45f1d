/* The places of a part that may be its hub, held against each other. */
#ifndef PART_RANK_H
#define PART_RANK_H

#include "part.h"

#define PART_JOINT_SCORE 0.3 /* of a place where a rod is joined on */

/* Keeps the best of the places found, best first: *count of them, 0 where none has arms. Places
 * that are but pieces of another's arm, or joints of its link, count less; their own scores change.
 */
void part_rank(const struct part_field *f, struct part *places, int found,
               struct part out[PART_MAX_PLACES], int *count);

#endif
