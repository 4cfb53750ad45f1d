/* The photo along a straight line of the card, in even steps: as sample_at on vision_plane_to_photo
 * of each point, at a third of the cost, since a line of the card is one of the photo but for the
 * lens' bend, and much of the work is the same for all its points. */
#ifndef CARD_LINE_H
#define CARD_LINE_H

#include "photo/sample.h"
#include "plane.h"

struct card_line {
    const struct vision_plane *plane;
    const float *linear;
    const uint8_t *pixels;
    size_t stride;
    double most_x, most_y;                  /* of the middles of four pixels that can be blended */
    double shrink, shift_x, shift_y;        /* photo point to place among the image's pixels */
    double x, y, w, step_x, step_y, step_w; /* homogeneous photo point, and its change each step */
    bool bent;
};

/* The line from_mm + k step_mm, true millimetres of the card. image: RGB; borrowed like plane. */
struct card_line card_line_start(const struct vision_image *image, const struct vision_plane *plane,
                                 struct vision_point from_mm, struct vision_point step_mm);

/* Linear-light RGB k steps along. false outside the image. */
static inline bool card_line_sample(const struct card_line *line, double k, float rgb[3])
{
    double per_w = 1 / (line->w + k * line->step_w);
    struct vision_point px = {(line->x + k * line->step_x) * per_w,
                              (line->y + k * line->step_y) * per_w};
    if (line->bent)
        px = plane_bend(line->plane, px);
    double x = px.x * line->shrink + line->shift_x, y = px.y * line->shrink + line->shift_y;
    if (!(x >= 0 && y >= 0 && x < line->most_x && y < line->most_y))
        return false;
    int ix = (int)x, iy = (int)y;
    float fx = (float)(x - ix), fy = (float)(y - iy);
    const uint8_t *at = line->pixels + (size_t)iy * line->stride + (size_t)ix * 3;
    sample_blend(line->linear, at, line->stride, 3, fx, fy, rgb);
    return true;
}

#endif
