/* Type on paper: a few styles, single lines and wrapped paragraphs, in paper millimetres. */
#ifndef SHEET_TEXT_H
#define SHEET_TEXT_H

#include <cairo.h>
#include <stdbool.h>

struct sheet_style {
    double size_pt;
    bool bold, mono;
    int level;          /* grey, 0 black to 255 */
    double tracking_mm; /* extra space after each character (ASCII only) */
};

enum sheet_align { SHEET_LEFT, SHEET_MIDDLE, SHEET_RIGHT };

/* The one home of the typeface of everything the program draws: the one that the installation
 * brings, with every sign used here (a minus among them, which many others show as an empty box).
 * size_mm is the em. */
void sheet_text_font(cairo_t *cr, bool bold, bool mono, double size_mm);

/* Text that looks and measures the same in every format: no rounding to pixels. */
void sheet_text_prepare(cairo_t *cr);
double sheet_text_width(cairo_t *cr, const struct sheet_style *style, const char *text);
/* One line; x is its left end, middle or right end, y its baseline. */
void sheet_text(cairo_t *cr, const struct sheet_style *style, enum sheet_align align, double x,
                double y, const char *text);
/* Words wrapped to width, a newline in text begins a new line. y is the first baseline; returns
 * the baseline a following line would have. */
double sheet_paragraph(cairo_t *cr, const struct sheet_style *style, double x, double y,
                       double width, const char *text);
/* One line without descenders, as large as width and height allow, in the middle of that box around
 * (x, y). style's size is ignored, its tracking scaled: tracking_mm at 10 pt. */
void sheet_text_fitted(cairo_t *cr, const struct sheet_style *style, double x, double y,
                       double width, double height, const char *text);

#endif
