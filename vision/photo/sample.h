/* Linear-light samples of a decoded photo at sub-pixel photo points. */
#ifndef SAMPLE_H
#define SAMPLE_H

#include "vision.h"

#include <math.h>

/* sRGB code value to linear light, 0 to 1. IEC 61966-2-1. */
const float *sample_linear_table(void);

/* Bilinear sample at a photo point, one value per channel. false outside the image. */
bool sample_at(const struct vision_image *image, struct vision_point px, float *out);

/* sRGB code triple to linear light. */
void sample_srgb_to_linear(const uint8_t srgb[3], float out[3]);

/* Between four pixels of n channels each, of which at is the upper left one. Inline, so that the
 * usual three channels become a loop of known length. */
static inline void sample_blend(const float *linear, const uint8_t *at, size_t stride, int n,
                                float fx, float fy, float *out)
{
    const uint8_t *below = at + stride;
    for (int c = 0; c < n; c++) {
        float top = linear[at[c]] + fx * (linear[at[n + c]] - linear[at[c]]);
        float bottom = linear[below[c]] + fx * (linear[below[n + c]] - linear[below[c]]);
        out[c] = top + fy * (bottom - top);
    }
}

/* The direction of brightness among colours: Rec. 709, unit length. */
#define SAMPLE_LUMINANCE                                                                           \
    {                                                                                              \
        0.2848F, 0.9536F, 0.0967F                                                                  \
    }

static inline float sample_dot(const float a[3], const float b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/* Distance of two colours. */
static inline float sample_apart(const float a[3], const float b[3])
{
    float square = 0;
    for (int c = 0; c < 3; c++)
        square += (a[c] - b[c]) * (a[c] - b[c]);
    return sqrtf(square);
}

#endif
