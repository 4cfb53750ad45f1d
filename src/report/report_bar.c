/* Where a finding lies against its tolerance, as a ruler. */
#include "report.h"

#include "drawing/lettering.h"
#include "drawing/plot.h"

#include <math.h>
#include <stdio.h>

static void set_tone(cairo_t *cr, enum report_tone tone, double alpha)
{
    const unsigned char *c = report_colour[tone];
    cairo_set_source_rgba(cr, c[0] / 255.0, c[1] / 255.0, c[2] / 255.0, alpha);
}

static void line(cairo_t *cr, double x0, double y0, double x1, double y1, double width)
{
    cairo_set_line_width(cr, width);
    cairo_move_to(cr, x0, y0);
    cairo_line_to(cr, x1, y1);
    cairo_stroke(cr);
}

#define TYPE_MM 3.5 /* 13 px on a phone, where the ruler is shown at its size */
#define SIDE_MM 8.0 /* half a figure with its unit at either end */
#define FIGURE_GAP_MM 2.0

static void label(cairo_t *cr, double x, double y, const char *text)
{
    cairo_move_to(cr, x - lettering_advance(cr, text) / 2, y);
    cairo_show_text(cr, text);
}

static void figure_words(double value, int decimals, const char *unit, char text[32])
{
    snprintf(text, 32, "%s%.*f%s",
             value > 0   ? "+"
             : value < 0 ? "−"
                         : "",
             value != 0 ? decimals : 0, fabs(value), unit);
}

/* Decimals that show multiples of step as they are. */
static int decimals_of(double step)
{
    for (int decimals = 0; decimals < 2; decimals++)
        if (fabs(remainder(step, pow(10, -decimals))) < 1e-6)
            return decimals;
    return 2;
}

/* At how many ticks from each other figures have room. */
static int figure_ticks(cairo_t *cr, double step, double scale, double reach, const char *unit)
{
    for (int every = 1;; every++) {
        char text[32];
        double apart = every * step;
        figure_words(floor(reach / apart + 1e-9) * apart, decimals_of(apart), unit, text);
        if (lettering_advance(cr, text) + FIGURE_GAP_MM <= apart * scale || apart >= reach)
            return every;
    }
}

/* Every figure has its unit. */
static void ruler(cairo_t *cr, double centre, double scale, double reach, double y,
                  const char *unit)
{
    char text[32];
    double step = plot_step(2 * reach, 8);
    int ticks = (int)floor(reach / step + 1e-9);
    int every = figure_ticks(cr, step, scale, reach, unit), decimals = decimals_of(every * step);
    set_tone(cr, REPORT_INK, 1);
    line(cr, centre - reach * scale, y, centre + reach * scale, y, 0.25);
    for (int i = -ticks; i <= ticks; i++) {
        double x = centre + i * step * scale;
        bool main_tick = i % every == 0;
        line(cr, x, y, x, y + (main_tick ? 1.8 : 1.1), i ? 0.2 : 0.35);
        figure_words(i * step, decimals, unit, text);
        if (main_tick)
            label(cr, x, y + 5.6, text);
    }
}

/* From the guard-banded zone outwards: accept within T - U, the tolerance itself within T. */
static void zones(cairo_t *cr, const struct report_bar *bar, double centre, double scale, double y)
{
    double accept = bar->tolerance - bar->expanded, t = bar->tolerance * scale;
    set_tone(cr, REPORT_GOOD, 0.13);
    cairo_rectangle(cr, centre - t, y - 7.4, 2 * t, 7.4);
    cairo_fill(cr);
    if (accept > 0) {
        set_tone(cr, REPORT_GOOD, 0.2);
        cairo_rectangle(cr, centre - accept * scale, y - 7.4, 2 * accept * scale, 7.4);
        cairo_fill(cr);
    }
    set_tone(cr, REPORT_GOOD, 1);
    line(cr, centre - t, y - 8.4, centre - t, y, 0.25);
    line(cr, centre + t, y - 8.4, centre + t, y, 0.25);
}

static void finding(cairo_t *cr, const struct report_bar *bar, double x, double scale, double y)
{
    double u = fmin(bar->expanded * scale, REPORT_BAR_WIDTH_MM);
    set_tone(cr, bar->tone, 1);
    line(cr, x - u, y - 3.7, x + u, y - 3.7, 0.5);
    line(cr, x - u, y - 4.8, x - u, y - 2.6, 0.5);
    line(cr, x + u, y - 4.8, x + u, y - 2.6, 0.5);
    cairo_move_to(cr, x, y - 0.2);
    cairo_line_to(cr, x - 1.3, y - 3.7);
    cairo_line_to(cr, x, y - 7.2);
    cairo_line_to(cr, x + 1.3, y - 3.7);
    cairo_close_path(cr);
    cairo_fill(cr);
}

void report_bar_draw(cairo_t *cr, const void *subject)
{
    const struct report_bar *bar = subject;
    double centre = REPORT_BAR_WIDTH_MM / 2, y = 10.2;
    double reach = fmax(2 * bar->tolerance, (fabs(bar->off) + bar->expanded) * 1.12);
    double scale = (REPORT_BAR_WIDTH_MM / 2 - SIDE_MM) / reach;
    cairo_save(cr);
    cairo_select_font_face(cr, "Helvetica", CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(cr, TYPE_MM);
    cairo_rectangle(cr, 0, 0, REPORT_BAR_WIDTH_MM, REPORT_BAR_HEIGHT_MM);
    cairo_clip(cr);
    zones(cr, bar, centre, scale, y);
    ruler(cr, centre, scale, reach, y, bar->unit);
    finding(cr, bar, centre + bar->off * scale, scale, y);
    cairo_restore(cr);
}
