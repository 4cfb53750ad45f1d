/* Shadows that have a colour: where two lamps of different colours shine, or lamp and window, each
 * one's shadow is lit by the other alone. Such a shadow turns the hue of what it falls on, so its
 * hue does not tell it from a part. That it does the same to both tints does. */
#ifndef SHADOW_H
#define SHADOW_H

#include "cells.h"

/* A shadow takes away its lamp's share of the light: lit by (1 - a removes) of it in each channel,
 * where a runs from 0 at the shadow's outer edge to its depth. */
struct shadow {
    float removes[3]; /* unit length */
    bool seen;
};

/* Learns it from cells that the map has for part, in pairs across stripe borders: over the two
 * tints a part keeps its colour, a shadow its share of the tint's. */
void shadow_learn(const struct silhouette *s, const struct look *looks, struct shadow *out);

/* Gives cells that shadow on the bare card explains back to it, from the cells that are known to be
 * bare inwards, across stripe borders (thin): a dark patch within the part is the part's. false
 * when memory is short. */
bool shadow_clear(const struct shadow *shadow, const struct look *looks, const uint8_t *thin,
                  struct silhouette *s);

#endif
