#include "plot.h"

#include "lettering.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>

/* Ink for what is, blue and orange for the two ends: told apart in print and by colour-blind eyes
 * (they differ in lightness against ink and in hue along blue - yellow). */
const struct plot_colour plot_ink = {0.10, 0.13, 0.18}, plot_soft = {0.36, 0.40, 0.46},
                         plot_faint = {0.83, 0.85, 0.88}, plot_low = {0.13, 0.42, 0.74},
                         plot_high = {0.83, 0.40, 0.06}, plot_warn = {0.78, 0.12, 0.16};

#define TICK_TEXT_MM 2.5
#define HEADING_TEXT_MM 2.7
#define LINE_STEP 1.35 /* of the letters' size */

void plot_set_colour(cairo_t *cr, struct plot_colour colour, double alpha)
{
    cairo_set_source_rgba(cr, colour.r, colour.g, colour.b, alpha);
}

void plot_disc(cairo_t *cr, double x_mm, double y_mm, double radius_mm, struct plot_colour rim,
               double rim_mm)
{
    cairo_new_path(cr);
    cairo_arc(cr, x_mm, y_mm, radius_mm, 0, 2 * M_PI);
    cairo_set_source_rgb(cr, 1, 1, 1);
    cairo_fill_preserve(cr);
    plot_set_colour(cr, rim, 1);
    cairo_set_line_width(cr, rim_mm);
    cairo_stroke(cr);
}

double plot_text_width(cairo_t *cr, double height_mm, enum plot_weight weight, const char *text)
{
    lettering_font(cr, weight == PLOT_BOLD, false, height_mm);
    return lettering_advance(cr, text);
}

void plot_text(cairo_t *cr, double x_mm, double y_mm, double height_mm, enum plot_align align,
               enum plot_weight weight, const char *text)
{
    double width = plot_text_width(cr, height_mm, weight, text);
    cairo_move_to(cr,
                  x_mm - (align == PLOT_LEFT     ? 0
                          : align == PLOT_MIDDLE ? width / 2
                                                 : width),
                  y_mm);
    cairo_show_text(cr, text);
}

double plot_paragraph(cairo_t *cr, double x_mm, double y_mm, double width_mm, double height_mm,
                      const char *text)
{
    char line[LETTERING_LINE];
    lettering_font(cr, false, false, height_mm);
    while (*text) {
        lettering_line(cr, &text, width_mm, line);
        plot_text(cr, x_mm, y_mm, height_mm, PLOT_LEFT, PLOT_NORMAL, line);
        y_mm += height_mm * LINE_STEP;
    }
    return y_mm;
}

/* How text breaks a context of one pixel can tell. */
double plot_paragraph_height(double width_mm, double height_mm, const char *text)
{
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 1, 1);
    cairo_t *cr = cairo_create(surface);
    lettering_prepare(cr);
    double height = plot_paragraph(cr, 0, 0, width_mm, height_mm, text);
    cairo_destroy(cr);
    cairo_surface_destroy(surface);
    return height;
}

double plot_x(const struct plot *plot, double x)
{
    return plot->left_mm + plot->width_mm * (x - plot->x0) / (plot->x1 - plot->x0);
}

double plot_y(const struct plot *plot, double y)
{
    return plot->top_mm + plot->height_mm * (plot->y1 - y) / (plot->y1 - plot->y0);
}

double plot_step(double range, int wanted)
{
    double raw = range / wanted, power = pow(10, floor(log10(raw))), mantissa = raw / power;
    return power * (mantissa < 1.5 ? 1 : mantissa < 3.5 ? 2 : mantissa < 7.5 ? 5 : 10);
}

static void tick_label(double value, double step, char *text, size_t size)
{
    int decimals = step < 1 ? (int)ceil(-log10(step) - 1e-9) : 0;
    if (fabs(value) < step / 1000)
        value = 0;
    snprintf(text, size, "%s%.*f", value < 0 ? "\xe2\x88\x92" : "", decimals, fabs(value));
}

static void stroke_line(cairo_t *cr, double x0, double y0, double x1, double y1)
{
    cairo_move_to(cr, x0, y0);
    cairo_line_to(cr, x1, y1);
    cairo_stroke(cr);
}

static void draw_x_ticks(cairo_t *cr, const struct plot *plot)
{
    char label[32];
    double bottom = plot->top_mm + plot->height_mm;
    double step = plot_step(plot->x1 - plot->x0, 8);
    long last = lround(floor(plot->x1 / step + 1e-9));
    for (long tick = lround(ceil(plot->x0 / step - 1e-9)); tick <= last; tick++) {
        double x = (double)tick * step;
        bool zero = tick == 0;
        plot_set_colour(cr, zero ? plot_soft : plot_faint, 1);
        cairo_set_line_width(cr, zero ? 0.16 : 0.12);
        stroke_line(cr, plot_x(plot, x), plot->top_mm, plot_x(plot, x), bottom);
        tick_label(x, step, label, sizeof label);
        plot_set_colour(cr, plot_soft, 1);
        plot_text(cr, plot_x(plot, x), bottom + 3.2, TICK_TEXT_MM, PLOT_MIDDLE, PLOT_NORMAL, label);
    }
}

static void draw_y_ticks(cairo_t *cr, const struct plot *plot)
{
    char label[32];
    double step = plot_step(plot->y1 - plot->y0, plot->height_mm > 25 ? 5 : 3);
    long last = lround(floor(plot->y1 / step + 1e-9));
    for (long tick = lround(ceil(plot->y0 / step - 1e-9)); tick <= last; tick++) {
        double y = (double)tick * step;
        bool zero = tick == 0;
        plot_set_colour(cr, zero ? plot_soft : plot_faint, 1);
        cairo_set_line_width(cr, zero ? 0.16 : 0.12);
        stroke_line(cr, plot->left_mm, plot_y(plot, y), plot->left_mm + plot->width_mm,
                    plot_y(plot, y));
        tick_label(y, step, label, sizeof label);
        plot_set_colour(cr, plot_soft, 1);
        plot_text(cr, plot->left_mm - 1.2, plot_y(plot, y) + TICK_TEXT_MM * 0.36, TICK_TEXT_MM,
                  PLOT_RIGHT, PLOT_NORMAL, label);
    }
}

void plot_frame(cairo_t *cr, const struct plot *plot, const char *heading)
{
    cairo_save(cr);
    draw_x_ticks(cr, plot);
    draw_y_ticks(cr, plot);
    plot_set_colour(cr, plot_soft, 1);
    cairo_set_line_width(cr, 0.2);
    cairo_rectangle(cr, plot->left_mm, plot->top_mm, plot->width_mm, plot->height_mm);
    cairo_stroke(cr);
    plot_set_colour(cr, plot_ink, 1);
    plot_text(cr, plot->left_mm, plot->top_mm - 1.4, HEADING_TEXT_MM, PLOT_LEFT, PLOT_NORMAL,
              heading);
    cairo_restore(cr);
}

void plot_line(cairo_t *cr, const struct plot *plot, const double *x, const double *y, size_t n)
{
    cairo_save(cr);
    cairo_rectangle(cr, plot->left_mm, plot->top_mm, plot->width_mm, plot->height_mm);
    cairo_clip(cr);
    cairo_new_path(cr);
    for (size_t i = 0; i < n; i++)
        cairo_line_to(cr, plot_x(plot, x[i]), plot_y(plot, y[i]));
    cairo_stroke(cr);
    cairo_restore(cr);
}

void plot_band(cairo_t *cr, const struct plot *plot, double from_y, double to_y,
               struct plot_colour colour)
{
    double low = fmax(from_y, plot->y0), high = fmin(to_y, plot->y1);
    if (!(high > low))
        return;
    cairo_save(cr);
    plot_set_colour(cr, colour, 0.10);
    cairo_rectangle(cr, plot->left_mm, plot_y(plot, high), plot->width_mm,
                    plot_y(plot, low) - plot_y(plot, high));
    cairo_fill(cr);
    cairo_restore(cr);
}
