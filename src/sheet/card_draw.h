/* A card's face, drawn from its description in vision.h and from nothing else. */
#ifndef CARD_DRAW_H
#define CARD_DRAW_H

#include "vision.h"

#include <cairo.h>

/* Draws the card with its centre at the origin of cr, whose unit must be 1 mm with y pointing
 * down, as on paper. The tint and the strip along the butt edge run bleed_mm past the outline, so
 * that a cut beside the line shows no white; nothing else leaves the outline.
 * Saves and restores cr's state; a failure shows in cairo_status(cr). */
void card_draw(cairo_t *cr, const struct vision_card *card, double bleed_mm);

/* The card as a picture of itself, for illustrations: same frame, but the markers are blank, so
 * that nothing takes it for a card. */
void card_draw_likeness(cairo_t *cr, const struct vision_card *card);

/* A marker of the family by itself: black_mm from black edge to black edge, its quiet zone around
 * it, its middle at the point, in the same unit with y pointing up. */
void marker_draw(cairo_t *cr, int id, struct vision_point middle_mm, double black_mm);

/* A sticker's face with the middle of its marker at the origin, within its own outline. */
void sticker_draw(cairo_t *cr, const struct vision_sticker *sticker);

#endif
