/* Small plots and lettering for drawings in millimetres (cairo, unit 1 mm, y down). */
#ifndef PLOT_H
#define PLOT_H

#include <cairo.h>
#include <stddef.h>

struct plot_colour {
    double r, g, b;
};
extern const struct plot_colour plot_ink, plot_soft, plot_faint, plot_low, plot_high, plot_warn;

void plot_set_colour(cairo_t *cr, struct plot_colour colour, double alpha);

/* A white disc with a rim, for balls, hubs and marks. */
void plot_disc(cairo_t *cr, double x_mm, double y_mm, double radius_mm, struct plot_colour rim,
               double rim_mm);

enum plot_align { PLOT_LEFT, PLOT_MIDDLE, PLOT_RIGHT };
enum plot_weight { PLOT_NORMAL, PLOT_BOLD };

/* One line of text with its baseline at y_mm; height_mm is the letters' size (em). UTF-8. */
void plot_text(cairo_t *cr, double x_mm, double y_mm, double height_mm, enum plot_align align,
               enum plot_weight weight, const char *text);
/* Its width in mm. */
double plot_text_width(cairo_t *cr, double height_mm, enum plot_weight weight, const char *text);
/* Text broken at blanks to width_mm, whole: it may be an instruction. Returns the baseline after
 * the last line. */
double plot_paragraph(cairo_t *cr, double x_mm, double y_mm, double width_mm, double height_mm,
                      const char *text);
/* How far that goes down on a context that lettering_prepare has made ready. */
double plot_paragraph_height(double width_mm, double height_mm, const char *text);

/* A plot's place on the paper and the ranges of its two axes (x0 < x1, y0 < y1). */
struct plot {
    double left_mm, top_mm, width_mm, height_mm;
    double x0, x1, y0, y1;
};

double plot_x(const struct plot *plot, double x);
double plot_y(const struct plot *plot, double y);

/* Frame, grid and numbers at round steps, and a heading over the top left corner. */
void plot_frame(cairo_t *cr, const struct plot *plot, const char *heading);
/* A line through n points, clipped to the frame. */
void plot_line(cairo_t *cr, const struct plot *plot, const double *x, const double *y, size_t n);
/* Shades the part of the plot between two values of y. */
void plot_band(cairo_t *cr, const struct plot *plot, double from_y, double to_y,
               struct plot_colour colour);

/* 1, 2 or 5 times a power of ten: about wanted steps over the range. */
double plot_step(double range, int wanted);

#endif
