/* The printed card as a picture for the scene: the colours of the print as a printer lays them
 * down, not as the screen shows them. */
#ifndef CARD_PICTURE_H
#define CARD_PICTURE_H

#include "vision.h"

#include <stdbool.h>

struct card_print {
    double black;      /* linear reflectance of full black */
    double fade;       /* 0: tints as specified, 1: grey */
    double tone[2][3]; /* linear factor on each tint */
};

/* Writes the card as the program prints it as an 8-bit sRGB PNG, edge to edge, at dots per inch.
 * false when it cannot. */
bool card_picture_write(const struct vision_card *card, const struct card_print *print, double dpi,
                        const char *path);
/* The same of a sticker. */
bool sticker_picture_write(const struct vision_sticker *sticker, const struct card_print *print,
                           double dpi, const char *path);

#endif
