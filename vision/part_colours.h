/* Where no tint tells part from card, in a slot that was cut out and on the markers, the colours do
 * that the part shows elsewhere. */
#ifndef PART_COLOURS_H
#define PART_COLOURS_H

#include "cells.h"

#define PART_COLOURS_SHADES 16 /* levels of each channel that are told apart */

/* How many cells of the part, over the card, have each colour. */
struct part_colours {
    int count[PART_COLOURS_SHADES * PART_COLOURS_SHADES * PART_COLOURS_SHADES], total;
};

void part_colours_learn(const struct silhouette *s, const struct vision_card *card,
                        const struct look *looks, struct part_colours *out);

/* Finds out whether the slot was cut out: s->slot_cut. */
void part_colours_slot_cut(struct silhouette *s, const struct vision_card *card,
                           const struct look *looks);

/* Classes the cells of a slot that was cut out. false when memory is short. */
bool part_colours_in_slot(struct silhouette *s, const struct vision_card *card,
                          const struct look *looks, const struct part_colours *colours);

/* Classes the cells on markers that the part comes near, as far as print and colours agree, and
 * sets thin, one byte a cell, where a cell may go by its neighbours instead. */
void part_colours_on_markers(struct silhouette *s, const struct vision_card *card,
                             const struct look *looks, const struct part_colours *colours,
                             uint8_t *thin);

#endif
