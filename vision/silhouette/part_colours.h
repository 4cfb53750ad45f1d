/* Where no tint tells part from card, in a slot that was cut out and on the markers, the colours do
 * that the part shows elsewhere. */
#ifndef PART_COLOURS_H
#define PART_COLOURS_H

#include "cells.h"

#define PART_COLOURS_SHADES 16 /* levels of each channel that are told apart */
#define PART_COLOURS_COUNT (PART_COLOURS_SHADES * PART_COLOURS_SHADES * PART_COLOURS_SHADES)
#define PART_COLOURS_LEAST 300 /* cells of the part over the card, to know its colours by */

/* Which of these colours a cell has. */
int part_colours_of(const struct look *look);

/* How many cells of the part, over the card, have each colour. */
struct part_colours {
    int count[PART_COLOURS_COUNT], total;
};

void part_colours_learn(const struct silhouette *s, const struct vision_card *card,
                        const struct look *looks, struct part_colours *out);

/* Whether the part has the colour, on more than its odd cell. */
bool part_colours_has(const struct part_colours *colours, const struct look *look);

/* Classes the cells on markers that the part comes near, as far as print and colours agree: those
 * of the part about the marker, or the ones given where too little of it lies there, or on one that
 * was not read the print alone. Sets thin, one byte a cell, where a cell may go by its neighbours
 * instead. */
void part_colours_on_markers(struct silhouette *s, const struct card_fix *fix,
                             const struct look *looks, const struct part_colours *colours,
                             uint8_t *thin);

#endif
