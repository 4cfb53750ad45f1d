#include "card_line.h"

struct card_line card_line_start(const struct vision_image *image, const struct vision_plane *plane,
                                 struct vision_point from_mm, struct vision_point step_mm)
{
    const double *h = plane->h, shrink = 1.0 / image->reduce;
    return (struct card_line){.plane = plane,
                              .linear = sample_linear_table(),
                              .pixels = image->pixels,
                              .stride = image->stride,
                              .channels = image->channels,
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
                              .step_w = h[6] * step_mm.x + h[7] * step_mm.y};
}

/* Place among the image's pixels. */
static struct vision_point place_of(const struct card_line *line, double k)
{
    const double per_w = 1 / (line->w + k * line->step_w);
    const struct vision_point px =
        plane_bend(line->plane, (struct vision_point){(line->x + k * line->step_x) * per_w,
                                                      (line->y + k * line->step_y) * per_w});
    return (struct vision_point){px.x * line->shrink + line->shift_x,
                                 px.y * line->shrink + line->shift_y};
}

static inline bool is_inside(const struct card_line *line, double x, double y)
{
    return x >= 0 && y >= 0 && x < line->most_x && y < line->most_y;
}

/* Points: over half a millimetre the lens bends a line by less than a hundredth of a pixel. */
#define PIECE 4

/* Inline, so that the usual three channels become a loop of known length. */
static inline void read_points(const struct card_line *line, int first, int n, int channels,
                               float (*light)[3])
{
    struct vision_point from = place_of(line, first);
    for (int i = 0; i < n; i += PIECE) {
        const int length = n - i < PIECE ? n - i : PIECE;
        const struct vision_point to = place_of(line, first + i + length);
        const double dx = (to.x - from.x) / length, dy = (to.y - from.y) / length;
        const bool all = is_inside(line, from.x, from.y) && is_inside(line, to.x, to.y);
        for (int k = 0; k < length; k++) {
            const double x = from.x + k * dx, y = from.y + k * dy;
            if (!all && !is_inside(line, x, y)) {
                light[i + k][0] = CARD_LINE_OUTSIDE;
                continue;
            }
            const int ix = (int)x, iy = (int)y;
            const uint8_t *at =
                line->pixels + (size_t)iy * line->stride + (size_t)ix * (size_t)channels;
            sample_blend(line->linear, at, line->stride, channels, (float)(x - ix), (float)(y - iy),
                         light[i + k]);
        }
        from = to;
    }
}

void card_line_read(const struct card_line *line, int first, int n, float (*light)[3])
{
    if (line->channels == 3)
        read_points(line, first, n, 3, light);
    else
        read_points(line, first, n, 1, light);
}
