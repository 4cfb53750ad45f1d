/* Linear-light samples of a decoded photo at sub-pixel photo points. */
#ifndef SAMPLE_H
#define SAMPLE_H

#include "vision.h"

/* sRGB code value to linear light, 0 to 1. IEC 61966-2-1. */
const float *sample_linear_table(void);

/* Bilinear sample at a photo point, one value per channel. false outside the image. */
bool sample_at(const struct vision_image *image, struct vision_point px, float *out);

/* sRGB code triple to linear light. */
void sample_srgb_to_linear(const uint8_t srgb[3], float out[3]);

/* The direction of brightness among colours: Rec. 709, unit length. */
#define SAMPLE_LUMINANCE                                                                           \
    {                                                                                              \
        0.2848F, 0.9536F, 0.0967F                                                                  \
    }

static inline float sample_dot(const float a[3], const float b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

#endif
