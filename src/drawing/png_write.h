/* The program's one PNG writer: 8 bits per sample, size on paper, texts that travel inside.
 *
 * Whole pictures: png_write_file. Pictures too large to hold: png_writer_new, then rows from top to
 * bottom in pieces of any height, then png_writer_finish. Files on disk should come from
 * safe_file, so that a failure leaves nothing half-written; png_write_file does that itself. */
#ifndef PNG_WRITE_H
#define PNG_WRITE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/* How the caller's pixels lie in memory. */
enum png_pixels {
    PNG_PIXELS_GREY8, /* one byte; written as grey */
    PNG_PIXELS_RGB8,  /* three bytes R, G, B; written as RGB */
    PNG_PIXELS_XRGB,  /* a uint32_t 0xXXRRGGBB in the machine's byte order, as cairo's RGB24 and
                       * (when opaque) ARGB32; written as RGB */
};

/* A text carried in the file as an uncompressed iTXt chunk before the pixels. */
struct png_text {
    const char *keyword; /* 1 to 79 printable Latin-1 characters, no doubled or outer spaces */
    const char *text;    /* UTF-8 */
};

struct png_header {
    int width_px, height_px;
    enum png_pixels pixels;
    bool quick;                   /* a photograph: four times faster, a tenth larger */
    double dpi;                   /* both ways, written as pHYs in pixels per metre; 0: not said */
    const struct png_text *texts; /* may be NULL when text_count is 0 */
    size_t text_count;
};

struct png_writer;

/* Starts a picture on an open stream (borrowed; may be a memory stream). Everything in header may
 * go once this returns. NULL and errno: EINVAL for a header that cannot be written, ENOMEM, or
 * what the stream said. */
struct png_writer *png_writer_new(FILE *to, const struct png_header *header);
/* The next count rows, stride_bytes apart. false and errno when they could not be written or
 * are more than the header announced; the writer can then only be freed. */
bool png_writer_rows(struct png_writer *writer, const uint8_t *pixels, size_t stride_bytes,
                     int count);
/* Ends the picture and frees the writer. false and errno when rows are missing or a write failed.
 * Neither flushes nor closes the stream. */
bool png_writer_finish(struct png_writer *writer);
/* Frees a writer whose picture is given up. NULL is harmless. */
void png_writer_free(struct png_writer *writer);

/* A whole picture to an open stream; false and errno. */
bool png_write_stream(FILE *to, const struct png_header *header, const uint8_t *pixels,
                      size_t stride_bytes);
/* A whole picture to a file that appears complete or not at all; false and errno. */
bool png_write_file(const char *path, const struct png_header *header, const uint8_t *pixels,
                    size_t stride_bytes);

#endif
