/* The sheet's one illustration: card behind a horn, camera above. */
#ifndef SHEET_PICTURE_H
#define SHEET_PICTURE_H

#include "sheet.h"

/* Draws it into a place on the paper, with card as the card shown. */
void sheet_picture_draw(cairo_t *cr, const struct sheet_rect *place,
                        const struct vision_card *card);

#endif
