/* For tests: pictures made in memory, encoded as JPEG or PNG, with EXIF written byte by byte.
 * Everything here stops the test program on failure. */
#ifndef PHOTO_MAKER_H
#define PHOTO_MAKER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* 8-bit RGB, rows top to bottom, no padding. */
struct picture {
    int width, height;
    uint8_t *rgb;
};

struct bytes {
    uint8_t *data;
    size_t size;
};

struct picture picture_new(int width, int height); /* black */
void picture_free(struct picture *picture);
/* The picture as a file stores it when it is to be viewed as given, after EXIF tag 0x0112:
 *   1 top/left, 2 top/right, 3 bottom/right, 4 bottom/left, 5 left/top, 6 right/top,
 *   7 right/bottom, 8 left/bottom (where stored row 0 / column 0 are seen). */
struct picture picture_stored(const struct picture *viewed, int orientation);

struct jpeg_settings {
    int quality;        /* 0: 95 */
    int h_samp, v_samp; /* of luma against chroma; 0: 1 */
    bool progressive, grey;
    bool cmyk;         /* inverted inks with an Adobe marker */
    int restart_rows;  /* restart interval in block rows; 0 none */
    struct bytes exif; /* borrowed; "Exif\0\0" first; empty: none */
};
struct bytes jpeg_encode(const struct picture *picture, const struct jpeg_settings *settings);

struct png_settings {
    bool interlaced;
    struct bytes exif; /* borrowed; as for JPEG */
};
struct bytes png_encode(const struct picture *picture, const struct png_settings *settings);
/* With 60 texts more behind the header, of 8 kB each that unpack to 8 MB. */
struct bytes png_with_texts(const struct bytes *png);
/* The most memory that this process ever had. */
double peak_megabytes(void);

/* One EXIF entry. text for ASCII (type 2); value, and denominator for RATIONAL (type 5), for
 * numbers: SHORT 3, LONG 4. */
struct exif_entry {
    uint16_t tag;
    uint16_t type;
    uint32_t value, denominator;
    const char *text;
};
/* A big-endian TIFF block after "Exif\0\0": IFD 0 with the first entries, EXIF IFD with the rest.
 */
struct bytes exif_build(const struct exif_entry *ifd0, int ifd0_count,
                        const struct exif_entry *exif, int exif_count);
struct bytes exif_with_orientation(int orientation);

void bytes_free(struct bytes *bytes);
/* The whole file; size 0 when it cannot be read. */
struct bytes bytes_read(const char *path);
void bytes_write(const struct bytes *bytes, const char *path);

#endif
