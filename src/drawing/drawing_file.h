/* A drawing on paper, in millimetres, written true to scale as PDF, SVG or PNG. */
#ifndef DRAWING_FILE_H
#define DRAWING_FILE_H

#include <cairo.h>
#include <stdbool.h>

struct drawing {
    double width_mm, height_mm;
    /* Draws everything; may be called several times. Unit 1 mm, origin at the top left corner of
     * the paper, y down. */
    void (*draw)(cairo_t *cr, const void *subject);
    const void *subject; /* borrowed */
    const char *title;   /* for the file's own description */
};

enum drawing_format { DRAWING_PDF, DRAWING_SVG, DRAWING_PNG, DRAWING_UNKNOWN };

/* By the suffix of the path, in either case. */
#define DRAWING_SUFFIXES ".pdf, .svg or .png"
enum drawing_format drawing_format_of(const char *path);

/* Writes the drawing; the file appears whole or not at all. dpi is used by PNG alone: the picture
 * is the paper's size in pixels to the nearest, one millimetre is exactly dpi / 25.4 pixels, and
 * the middle of the paper is the middle of the picture.
 * Memory stays below some 50 MB at any size and dpi. false and errno. */
bool drawing_file_write(const char *path, enum drawing_format format, const struct drawing *drawing,
                        double dpi);

#endif
