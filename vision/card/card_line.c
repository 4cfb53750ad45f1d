#include "card_line.h"

struct card_line card_line_start(const struct vision_image *image, const struct vision_plane *plane,
                                 struct vision_point from_mm, struct vision_point step_mm)
{
    const double *h = plane->h, shrink = 1.0 / image->reduce;
    return (struct card_line){.plane = plane,
                              .linear = sample_linear_table(),
                              .pixels = image->pixels,
                              .stride = image->stride,
                              .most_x = image->width - 1,
                              .most_y = image->height - 1,
                              .shrink = shrink,
                              .shift_x = (0.5 - image->x0_px) * shrink - 0.5,
                              .shift_y = (0.5 - image->y0_px) * shrink - 0.5,
                              .x = h[0] * from_mm.x + h[1] * from_mm.y + h[2],
                              .y = h[3] * from_mm.x + h[4] * from_mm.y + h[5],
                              .w = h[6] * from_mm.x + h[7] * from_mm.y + h[8],
                              .step_x = h[0] * step_mm.x + h[1] * step_mm.y,
                              .step_y = h[3] * step_mm.x + h[4] * step_mm.y,
                              .step_w = h[6] * step_mm.x + h[7] * step_mm.y,
                              .bent = plane->k1 != 0 || plane->k2 != 0};
}
