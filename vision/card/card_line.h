/* The photo along a straight line of the card, in even steps: as sample_at on vision_plane_to_photo
 * of each point to a hundredth of a pixel, at a quarter of the cost: a short piece of a line
 * of the card is nearly one of the photo, whatever the lens. */
#ifndef CARD_LINE_H
#define CARD_LINE_H

#include "photo/sample.h"
#include "plane.h"

struct card_line {
    const struct vision_plane *plane;
    const float *linear;
    const uint8_t *pixels;
    size_t stride;
    int channels;
    double most_x, most_y;                  /* of the middles of four pixels that can be blended */
    double shrink, shift_x, shift_y;        /* photo point to place among the image's pixels */
    double x, y, w, step_x, step_y, step_w; /* homogeneous photo point, and its change each step */
};

/* The line from_mm + k step_mm, true millimetres of the card, steps of a sixth of a millimetre at
 * most. Both borrowed. */
struct card_line card_line_start(const struct vision_image *image, const struct vision_plane *plane,
                                 struct vision_point from_mm, struct vision_point step_mm);

/* Linear light of the n points from step first on: RGB, of a grey image the first alone. That is
 * CARD_LINE_OUTSIDE outside the image. */
void card_line_read(const struct card_line *line, int first, int n, float (*light)[3]);

#define CARD_LINE_OUTSIDE (-1.0F)

#endif
