/* Type on paper, in sheets, pictures, plots and the report: a few styles, single lines and wrapped
 * paragraphs, in paper millimetres. */
#ifndef LETTERING_H
#define LETTERING_H

#include <cairo.h>
#include <stdbool.h>

struct lettering_style {
    double size_pt;
    bool bold, mono;
    int level;          /* grey, 0 black to 255 */
    double tracking_mm; /* extra space after each character (ASCII only) */
};

enum lettering_align { LETTERING_LEFT, LETTERING_MIDDLE, LETTERING_RIGHT };

/* The one home of the typeface of all that the program draws but the report, which is set as a
 * document (report_pdf.c, report_bar.c): the one that the installation brings, with every sign used
 * here (a minus among them, which many others show as an empty box). size_mm is the em. */
void lettering_font(cairo_t *cr, bool bold, bool mono, double size_mm);

/* Width of one line in the font that is set, in the unit of cr. */
double lettering_advance(cairo_t *cr, const char *text);

#define LETTERING_LINE 512 /* bytes of a line, more than a page is wide */

/* The next line of running text in the font that is set: the words from *text on that fit into
 * width, up to a line's end; a word wider than the line is cut between characters. A figure stays
 * with its unit and its "±", unless those alone are wider than the line. Blanks at the text's
 * beginning stay. */
void lettering_line(cairo_t *cr, const char **text, double width, char line[LETTERING_LINE]);

/* Text that looks and measures the same in every format: no rounding to pixels. */
void lettering_prepare(cairo_t *cr);
double lettering_width(cairo_t *cr, const struct lettering_style *style, const char *text);
/* One line; x is its left end, middle or right end, y its baseline. */
void lettering_draw(cairo_t *cr, const struct lettering_style *style, enum lettering_align align,
                    double x, double y, const char *text);
/* Lines after lettering_line; the style's tracking is not for them. y is the first baseline;
 * returns the baseline a following line would have. */
double lettering_paragraph(cairo_t *cr, const struct lettering_style *style, double x, double y,
                           double width, const char *text);
/* One line without descenders, as large as width and height allow, in the middle of that box around
 * (x, y). style's size is ignored, its tracking scaled: tracking_mm at 10 pt. */
void lettering_fitted(cairo_t *cr, const struct lettering_style *style, double x, double y,
                      double width, double height, const char *text);

#endif
