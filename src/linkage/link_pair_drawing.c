#include "link_pair_drawing.h"

#include "arithmetic/direction.h"
#include "arithmetic/plus_minus.h"
#include "drawing/lettering.h"
#include "drawing/plot.h"

#include <math.h>
#include <stdio.h>

#define SHEET_WIDTH 150.0
#define MARGIN 10.0
#define HORN_X 34.0
#define CRANK_X 116.0
#define AXIS_Y 56.0
#define TEXT_Y 102.0
#define TEXT_WIDTH (SHEET_WIDTH - 2 * MARGIN)
#define TEXT 3.4
#define TEXT_GAP 1.2
#define ARM 26.0 /* both arms, as drawn: not to scale with the links */
/* The crank is drawn turned this many times as much as it is, at most to LARGEST_DEG. */
#define EXAGGERATED 10.0
#define LARGEST_DEG 14.0

#define DEGREE "\xc2\xb0"

struct tip {
    double x, y;
};

static struct tip tip_at(double axis_x, double deg)
{
    return (struct tip){axis_x + ARM * cos(deg * RAD_PER_DEG),
                        AXIS_Y - ARM * sin(deg * RAD_PER_DEG)};
}

static void stroke(cairo_t *cr, struct tip a, struct tip b, double width, struct plot_colour colour)
{
    plot_set_colour(cr, colour, 1);
    cairo_set_line_cap(cr, CAIRO_LINE_CAP_ROUND);
    cairo_set_line_width(cr, width);
    cairo_move_to(cr, a.x, a.y);
    cairo_line_to(cr, b.x, b.y);
    cairo_stroke(cr);
}

static void ring(cairo_t *cr, struct tip at, double radius)
{
    plot_disc(cr, at.x, at.y, radius, plot_ink, 0.5);
}

static void draw_arms(cairo_t *cr, double axis_x, struct tip first, struct tip second)
{
    stroke(cr, first, second, 3, plot_ink);
    ring(cr, (struct tip){axis_x, AXIS_Y}, 3);
    ring(cr, (struct tip){axis_x, AXIS_Y}, 0.5);
    ring(cr, first, 1.2);
    ring(cr, second, 1.2);
}

static void label_link(cairo_t *cr, const char *which, struct quantity length, double y,
                       struct plot_colour colour)
{
    char text[80], long_mm[PLUS_MINUS_WORDS];
    snprintf(text, sizeof text, "%s %s", which, plus_minus_quantity(length, 2, "mm", long_mm));
    plot_set_colour(cr, colour, 1);
    plot_text(cr, (HORN_X + CRANK_X) / 2, y, 3.6, PLOT_MIDDLE, PLOT_BOLD, text);
}

/* Where equal links would hold the crank: dashed. */
static void draw_square_position(cairo_t *cr, double deg)
{
    static const double dashes[] = {1.6, 1.2};
    struct tip up = tip_at(CRANK_X, deg), down = tip_at(CRANK_X, deg + 180);
    cairo_set_dash(cr, dashes, 2, 0);
    stroke(cr, up, down, 0.4, plot_soft);
    cairo_set_dash(cr, NULL, 0, 0);
}

static void draw_note(cairo_t *cr, double bias_deg)
{
    char text[120];
    plot_set_colour(cr, plot_soft, 1);
    snprintf(text, sizeof text, "crank turned %.2f" DEGREE " %s (drawn about ten times as much)",
             fabs(bias_deg), direction_way(bias_deg));
    plot_text(cr, SHEET_WIDTH / 2, 93.5, 3, PLOT_MIDDLE, PLOT_NORMAL, text);
}

static void draw_sheet(cairo_t *cr, const void *subject)
{
    const struct link_pair_sheet *sheet = subject;
    lettering_prepare(cr);
    const struct link_pair_result *r = sheet->result;
    bool turns = link_pair_wants_change(r);
    double horn = sheet->pair->horn_deg, bias = r->neutral.bias_deg;
    double shown = fmax(-LARGEST_DEG, fmin(LARGEST_DEG, EXAGGERATED * bias));
    struct plot_colour first = turns && r->turn_first ? plot_warn : plot_low;
    struct plot_colour second = turns && !r->turn_first ? plot_warn : plot_low;
    struct tip horn_up = tip_at(HORN_X, horn), horn_down = tip_at(HORN_X, horn + 180);
    struct tip crank_up = tip_at(CRANK_X, horn + shown);
    struct tip crank_down = tip_at(CRANK_X, horn + shown + 180);
    cairo_set_source_rgb(cr, 1, 1, 1);
    cairo_paint(cr);
    plot_set_colour(cr, plot_ink, 1);
    plot_text(cr, MARGIN, 13, 5.2, PLOT_LEFT, PLOT_BOLD, "Two links side by side");
    draw_square_position(cr, horn);
    stroke(cr, horn_up, crank_up, 1, first);
    stroke(cr, horn_down, crank_down, 1, second);
    draw_arms(cr, HORN_X, horn_up, horn_down);
    draw_arms(cr, CRANK_X, crank_up, crank_down);
    label_link(cr, "first", sheet->pair->first_mm, AXIS_Y - ARM - 4, first);
    label_link(cr, "second", sheet->pair->second_mm, AXIS_Y + ARM + 7, second);
    draw_note(cr, bias);
    plot_set_colour(cr, plot_ink, 1);
    double y = plot_paragraph(cr, MARGIN, TEXT_Y, TEXT_WIDTH, TEXT, sheet->finding);
    plot_paragraph(cr, MARGIN, y + TEXT_GAP, TEXT_WIDTH, TEXT, sheet->action);
}

struct drawing link_pair_drawing(const struct link_pair_sheet *sheet)
{
    double text = plot_paragraph_height(TEXT_WIDTH, TEXT, sheet->finding) + TEXT_GAP +
                  plot_paragraph_height(TEXT_WIDTH, TEXT, sheet->action);
    return (struct drawing){
        .width_mm = SHEET_WIDTH,
        .height_mm = TEXT_Y + text + 4,
        .draw = draw_sheet,
        .subject = sheet,
        .title = "Two links side by side",
    };
}
