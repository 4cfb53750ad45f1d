/* The measurement that travels inside an annotated picture, as two iTXt chunks:
 *   armsquare          the measurement as JSON, in ASCII
 *   armsquare-sha256   "pixels=HEX text=HEX": digests of what follows
 * text is the JSON as it stands; pixels is the picture as a binary PPM file ("P6\n", width, height,
 * "\n255\n", rows of R, G, B), so that any machine can check it with a converter and sha256sum.
 *
 * The digests reveal accidents: a picture resized, recompressed, cropped or painted over. They
 * prove nothing against someone who writes new ones. */
#ifndef PICTURE_RECORD_H
#define PICTURE_RECORD_H

#include "drawing/png_write.h"
#include "vision.h"

#include <jansson.h>
#include <stdbool.h>

/* Writes opaque pixels in cairo's layout with the measurement inside, whole or not at all.
 * false and errno when it cannot be written. */
bool picture_record_write(const char *path, int width_px, int height_px, const uint8_t *xrgb,
                          size_t stride_bytes, const json_t *measurement);

enum picture_record_fault {
    PICTURE_RECORD_FINE,
    PICTURE_RECORD_NO_FILE, /* cannot be read; reason_unopened() says why */
    PICTURE_RECORD_EMPTY,   /* zero bytes */
    PICTURE_RECORD_NO_PNG,  /* not a PNG, or a damaged one */
    PICTURE_RECORD_NONE,    /* carries no measurement, or is too small to */
};

struct picture_record {
    json_t *measurement; /* NULL when the text is no JSON object any more */
    bool pixels_altered, text_altered;
};

/* Reads one back. On a fault out is zeroed. */
enum picture_record_fault picture_record_read(const char *path, struct picture_record *out);
void picture_record_clear(struct picture_record *record);

/* Is this a picture that carries a measurement, so no photo to measure? Reads no pixels. */
bool picture_record_is_in(const struct vision_photo *photo);

#endif
