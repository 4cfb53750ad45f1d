#include "linkage_dial.h"

#include "arithmetic/direction.h"
#include "drawing/lettering.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define SHEET_WIDTH 120.0
#define MARGIN 10.0
#define CENTRE_X 60.0
#define CENTRE_Y 66.0
#define RADIUS 38.0
#define LEGEND_TOP 118.0
#define LEGEND_STEP 6.0
#define LINE_TEXT 3.4
#define TEXT_GAP 1.4   /* between two texts */
#define ARROW_DEG 16.0 /* drawn sweep: the true turn may be too small to see */

void linkage_dial_add(struct linkage_dial *dial, double deg, struct plot_colour colour,
                      const char *label)
{
    if (dial->ray_count == LINKAGE_DIAL_RAYS)
        return;
    struct linkage_dial_ray *ray = &dial->rays[dial->ray_count++];
    *ray = (struct linkage_dial_ray){.deg = deg, .colour = colour};
    snprintf(ray->label, sizeof ray->label, "%s", label);
}

void linkage_dial_say(struct linkage_dial *dial, const char *text)
{
    if (dial->line_count < LINKAGE_DIAL_LINES)
        snprintf(dial->lines[dial->line_count++], LINKAGE_DIAL_TEXT, "%s", text);
}

static int text_count(const struct linkage_dial *dial)
{
    return dial->line_count + (dial->last != NULL);
}

static const char *text_at(const struct linkage_dial *dial, int i)
{
    return i < dial->line_count ? dial->lines[i] : dial->last;
}

static double at_x(double radius, double deg)
{
    return CENTRE_X + radius * cos(deg * RAD_PER_DEG);
}

static double at_y(double radius, double deg)
{
    return CENTRE_Y - radius * sin(deg * RAD_PER_DEG);
}

/* Rim with a tick every 10 degrees, longer every 30 and at the squares. */
static void draw_rim(cairo_t *cr)
{
    for (int deg = 0; deg < 360; deg += 10) {
        double length = deg % 90 == 0 ? 3.2 : deg % 30 == 0 ? 2.2 : 1.2;
        plot_set_colour(cr, deg % 90 == 0 ? plot_soft : plot_faint, 1);
        cairo_set_line_width(cr, deg % 90 == 0 ? 0.35 : 0.25);
        cairo_move_to(cr, at_x(RADIUS, deg), at_y(RADIUS, deg));
        cairo_line_to(cr, at_x(RADIUS - length, deg), at_y(RADIUS - length, deg));
        cairo_stroke(cr);
    }
    plot_set_colour(cr, plot_faint, 1);
    cairo_set_line_width(cr, 0.25);
    cairo_arc(cr, CENTRE_X, CENTRE_Y, RADIUS, 0, 2 * M_PI);
    cairo_stroke(cr);
}

static void draw_reference(cairo_t *cr)
{
    static const double dashes[] = {3, 0.8, 0.6, 0.8};
    plot_set_colour(cr, plot_soft, 1);
    cairo_set_line_width(cr, 0.18);
    cairo_set_dash(cr, dashes, 4, 0);
    cairo_move_to(cr, CENTRE_X - RADIUS - 6, CENTRE_Y);
    cairo_line_to(cr, CENTRE_X + RADIUS + 6, CENTRE_Y);
    cairo_stroke(cr);
    cairo_set_dash(cr, NULL, 0, 0);
    plot_text(cr, CENTRE_X + RADIUS + 7, CENTRE_Y + 1, 2.6, PLOT_LEFT, PLOT_NORMAL, "0\xc2\xb0");
}

static void draw_ray(cairo_t *cr, const struct linkage_dial_ray *ray)
{
    static const double dashes[] = {1.6, 1.2};
    double tip = ray->wanted ? RADIUS + 3 : RADIUS - 5, start = ray->edge ? -tip : 0;
    plot_set_colour(cr, ray->colour, 1);
    cairo_set_line_cap(cr, ray->wanted ? CAIRO_LINE_CAP_BUTT : CAIRO_LINE_CAP_ROUND);
    cairo_set_line_width(cr, ray->wanted ? 0.5 : 2);
    cairo_set_dash(cr, dashes, ray->wanted ? 2 : 0, 0);
    cairo_move_to(cr, at_x(start, ray->deg), at_y(start, ray->deg));
    cairo_line_to(cr, at_x(tip, ray->deg), at_y(tip, ray->deg));
    cairo_stroke(cr);
    cairo_set_dash(cr, NULL, 0, 0);
    if (ray->wanted || ray->edge)
        return;
    plot_disc(cr, at_x(tip, ray->deg), at_y(tip, ray->deg), 0.9, ray->colour, 0.45);
}

static void draw_hub(cairo_t *cr)
{
    plot_disc(cr, CENTRE_X, CENTRE_Y, 3, plot_ink, 0.5);
    cairo_arc(cr, CENTRE_X, CENTRE_Y, 0.7, 0, 2 * M_PI);
    cairo_fill(cr);
}

/* The way to go, outside the rim, with its amount in words. */
static void draw_turn(cairo_t *cr, const struct linkage_dial *dial)
{
    const double radius = RADIUS + 5.5;
    double way = dial->off_deg > 0 ? -1 : 1, from = dial->rays[dial->turn_ray].deg;
    double to = from + way * ARROW_DEG, text_deg = from + way * (ARROW_DEG + 6);
    char amount[48];
    plot_set_colour(cr, plot_warn, 1);
    cairo_set_line_cap(cr, CAIRO_LINE_CAP_BUTT);
    cairo_set_line_width(cr, 0.9);
    cairo_new_path(cr);
    if (way > 0)
        cairo_arc_negative(cr, CENTRE_X, CENTRE_Y, radius, -from * RAD_PER_DEG, -to * RAD_PER_DEG);
    else
        cairo_arc(cr, CENTRE_X, CENTRE_Y, radius, -from * RAD_PER_DEG, -to * RAD_PER_DEG);
    cairo_stroke(cr);
    cairo_move_to(cr, at_x(radius, to + way * 4), at_y(radius, to + way * 4));
    cairo_line_to(cr, at_x(radius + 1.8, to), at_y(radius + 1.8, to));
    cairo_line_to(cr, at_x(radius - 1.8, to), at_y(radius - 1.8, to));
    cairo_fill(cr);
    snprintf(amount, sizeof amount, "%.1f\xc2\xb0", fabs(dial->off_deg));
    double x = at_x(radius + 2, text_deg), y = at_y(radius + 2, text_deg);
    plot_text(cr, x, y + 1.4, 4,
              x < CENTRE_X - 8   ? PLOT_RIGHT
              : x > CENTRE_X + 8 ? PLOT_LEFT
                                 : PLOT_MIDDLE,
              PLOT_BOLD, amount);
}

/* Two columns under the dial. */
static double legend_height(const struct linkage_dial *dial)
{
    return LEGEND_STEP * (dial->ray_count + dial->ray_count % 2) / 2;
}

static double draw_legend(cairo_t *cr, const struct linkage_dial *dial)
{
    static const double dashes[] = {1.6, 1.2};
    for (int i = 0; i < dial->ray_count; i++) {
        const struct linkage_dial_ray *ray = &dial->rays[i];
        double x = MARGIN + (i % 2) * (SHEET_WIDTH - 2 * MARGIN) / 2;
        double y = LEGEND_TOP + LEGEND_STEP * (i - i % 2) / 2;
        plot_set_colour(cr, ray->colour, 1);
        cairo_set_line_width(cr, ray->wanted ? 0.5 : 1.6);
        cairo_set_line_cap(cr, ray->wanted ? CAIRO_LINE_CAP_BUTT : CAIRO_LINE_CAP_ROUND);
        cairo_set_dash(cr, dashes, ray->wanted ? 2 : 0, 0);
        cairo_move_to(cr, x + 0.8, y - 1.1);
        cairo_line_to(cr, x + 6.2, y - 1.1);
        cairo_stroke(cr);
        cairo_set_dash(cr, NULL, 0, 0);
        plot_set_colour(cr, plot_ink, 1);
        plot_text(cr, x + 9, y, 3.3, PLOT_LEFT, PLOT_NORMAL, ray->label);
    }
    return LEGEND_TOP + legend_height(dial);
}

static void draw_dial(cairo_t *cr, const void *subject)
{
    const struct linkage_dial *dial = subject;
    lettering_prepare(cr);
    cairo_set_source_rgb(cr, 1, 1, 1);
    cairo_paint(cr);
    plot_set_colour(cr, plot_ink, 1);
    plot_text(cr, MARGIN, 13, 5.2, PLOT_LEFT, PLOT_BOLD, dial->title);
    draw_rim(cr);
    draw_reference(cr);
    for (int i = 0; i < dial->ray_count; i++)
        if (!dial->rays[i].wanted)
            draw_ray(cr, &dial->rays[i]);
    for (int i = 0; i < dial->ray_count; i++) /* dashed lines lie over the arms they belong to */
        if (dial->rays[i].wanted)
            draw_ray(cr, &dial->rays[i]);
    draw_hub(cr);
    if (dial->has_turn)
        draw_turn(cr, dial);
    double y = draw_legend(cr, dial) + 3;
    plot_set_colour(cr, plot_ink, 1);
    for (int i = 0; i < text_count(dial); i++)
        y = plot_paragraph(cr, MARGIN, y, SHEET_WIDTH - 2 * MARGIN, LINE_TEXT, text_at(dial, i)) +
            TEXT_GAP;
}

static double text_height(const struct linkage_dial *dial)
{
    double height = 0;
    for (int i = 0; i < text_count(dial); i++)
        height +=
            plot_paragraph_height(SHEET_WIDTH - 2 * MARGIN, LINE_TEXT, text_at(dial, i)) + TEXT_GAP;
    return height;
}

struct drawing linkage_dial_drawing(const struct linkage_dial *dial)
{
    double legend = legend_height(dial);
    return (struct drawing){
        .width_mm = SHEET_WIDTH,
        .height_mm = LEGEND_TOP + legend + text_height(dial) + 6,
        .draw = draw_dial,
        .subject = dial,
        .title = dial->title,
    };
}
