/* What of a slot that has been cut out of the card is part. */
#ifndef SLOT_H
#define SLOT_H

#include "part_colours.h"

/* Finds out whether it was cut out: s->slot_cut. */
void slot_find_out(struct silhouette *s, const struct vision_card *card, const struct look *looks);

/* Classes the cells of a slot that was cut out, on so many threads; colours of the part. false when
 * memory is short. */
bool slot_class(struct silhouette *s, const struct vision_card *card, const struct look *looks,
                const struct part_colours *colours, size_t threads);

#endif
