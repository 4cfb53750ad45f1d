#include "sample.h"

#include <math.h>
#include <pthread.h>

static float table[256];
static pthread_once_t table_once = PTHREAD_ONCE_INIT;

static void build_table(void)
{
    for (int i = 0; i < 256; i++) {
        double v = i / 255.0;
        table[i] = (float)(v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4));
    }
}

const float *sample_linear_table(void)
{
    pthread_once(&table_once, build_table);
    return table;
}

void sample_srgb_to_linear(const uint8_t srgb[3], float out[3])
{
    const float *linear = sample_linear_table();
    for (int c = 0; c < 3; c++)
        out[c] = linear[srgb[c]];
}

bool sample_at(const struct vision_image *image, struct vision_point px, float *out)
{
    const float *linear = sample_linear_table();
    double x = (px.x - image->x0_px + 0.5) / image->reduce - 0.5;
    double y = (px.y - image->y0_px + 0.5) / image->reduce - 0.5;
    if (!(x >= 0 && y >= 0 && x < image->width - 1 && y < image->height - 1))
        return false;
    int ix = (int)x, iy = (int)y, n = image->channels;
    float fx = (float)(x - ix), fy = (float)(y - iy);
    const uint8_t *row = image->pixels + (size_t)iy * image->stride + (size_t)ix * (size_t)n;
    if (n == 3)
        sample_blend(linear, row, image->stride, 3, fx, fy, out);
    else
        sample_blend(linear, row, image->stride, n, fx, fy, out);
    return true;
}
