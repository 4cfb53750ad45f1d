/* The light on the card, from the white of its markers. */
#ifndef LIGHT_H
#define LIGHT_H

#include "card/markers.h"
#include "vision.h"

/* Linear-light RGB of bare paper, log-linear over the card, in print. */
struct light {
    double log_rgb[3][3]; /* per channel: constant, per mm of x, per mm of y */
};

/* false when no marker's white is bright enough to tell. */
bool light_measure(const struct vision_image *image, const struct card_fix *fix, struct light *out);

#endif
