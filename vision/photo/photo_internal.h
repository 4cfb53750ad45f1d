/* Inside vision only: what photo.c and the readers of each file format share.
 *
 * "Stored" is the photo as the file keeps it, "viewed" after its EXIF orientation is applied.
 * Readers know only the stored photo; photo.c turns it. */
#ifndef PHOTO_INTERNAL_H
#define PHOTO_INTERNAL_H

#include "vision.h"

#define PHOTO_MAX_CHANNELS 3

/* What EXIF says, as far as we need it. Zero or "" where it says nothing or nonsense. */
struct photo_exif {
    int orientation; /* 1 to 8; 0 unknown */
    double focal_mm, focal_35mm;
    double sensor_px_per_mm;        /* focal plane resolution along the rows */
    double exif_width, exif_height; /* pixels the two above refer to */
    char camera[96];
};

/* What stands before the pixels of a file. */
struct photo_header {
    int width, height; /* stored */
    struct photo_exif exif;
};

/* Reads EXIF data that starts with "Exif\0\0". Never fails: what is malformed is left out. */
void photo_exif_parse(const uint8_t *data, size_t size, struct photo_exif *out);
/* Focal length in pixels of a photo of this size; 0 unknown. */
double photo_exif_focal_px(const struct photo_exif *exif, double width, double height);

/* Which pixels to make, in units of reduced pixels of the stored photo, x1 and y1 excluded. */
struct photo_window {
    int reduce, channels;
    int x0, y0, x1, y1;
};

/* Takes the rows of a window from the top, each (x1 - x0) * channels bytes, and turns them into
 * the viewed image. */
struct photo_rows;
void photo_rows_put(struct photo_rows *rows, const uint8_t *row);

/* Each reader, for bytes that begin with its signature: the header, and the rows of a window.
 * They return VISION_REASON_NONE or a file reason. Sizes beyond VISION_MAX_PIXELS are refused by
 * the header, without allocating for them. */
enum vision_reason photo_jpeg_header(const uint8_t *bytes, size_t size, struct photo_header *out);
enum vision_reason photo_jpeg_decode(const uint8_t *bytes, size_t size,
                                     const struct photo_window *window, struct photo_rows *rows);
enum vision_reason photo_png_header(const uint8_t *bytes, size_t size, struct photo_header *out);
enum vision_reason photo_png_decode(const uint8_t *bytes, size_t size,
                                    const struct photo_window *window, struct photo_rows *rows);

/* vision_photo_open_bytes without the lower limit on size, for tests with small pictures. */
enum vision_reason photo_open_any_size(const uint8_t *bytes, size_t size,
                                       struct vision_photo **out);

/* ITU-R BT.601 luma, the grey that JPEG stores (JFIF 1.02), so that both formats agree. */
static inline uint8_t photo_luma(int r, int g, int b)
{
    return (uint8_t)((19595 * r + 38470 * g + 7471 * b + 32768) >> 16);
}

#endif
