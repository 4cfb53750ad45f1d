/* A part in the colour of one tint. Over its own tint such a part cannot be seen, over the other it
 * can. The silhouette then comes in pieces, cut by the stripes; what lies between two pieces across
 * a stripe is taken for part. */
#ifndef BLIND_TINT_H
#define BLIND_TINT_H

#include "cells.h"

/* The tint over which a part goes unseen: the one in whose colour most is seen over the other; -1
 * when that is next to nothing, or when both are: bright metal mirrors the card. share: how much of
 * what is seen over the other it is. */
int blind_tint_find(const struct silhouette *s, const struct look *looks, double *share);

/* Fills what lies between pieces of the part, over s->blind_tint. false when memory is short. */
bool blind_tint_bridge(struct silhouette *s, const struct look *looks, size_t threads);

#endif
