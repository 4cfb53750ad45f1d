/* A drawing on paper, in millimetres, written true to scale as PDF, SVG or PNG. */
#ifndef SHEET_FILE_H
#define SHEET_FILE_H

#include <cairo.h>
#include <stdbool.h>

struct sheet_drawing {
    double width_mm, height_mm;
    /* Draws everything; may be called several times. Unit 1 mm, origin at the top left corner of
     * the paper, y down. */
    void (*draw)(cairo_t *cr, const void *subject);
    const void *subject; /* borrowed */
    const char *title;   /* for the file's own description */
};

enum sheet_format { SHEET_PDF, SHEET_SVG, SHEET_PNG, SHEET_UNKNOWN };

/* By the suffix of the path, in either case. */
enum sheet_format sheet_format_of(const char *path);

/* Writes the drawing; the file appears whole or not at all. dpi is used by PNG alone: the picture
 * is the paper's size in pixels to the nearest, one millimetre is exactly dpi / 25.4 pixels, and
 * the middle of the paper is the middle of the picture.
 * Memory stays below some 50 MB at any size and dpi. false and errno. */
bool sheet_file_write(const char *path, enum sheet_format format,
                      const struct sheet_drawing *drawing, double dpi);

#endif
