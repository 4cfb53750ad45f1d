/* Lines and labels on the photo. Directions live in the card's plane: every line is laid there and
 * brought into the photo by the card's homography, so that it stands where the eye expects it. */
#include "annotate_internal.h"
#include "arithmetic/direction.h"
#include "drawing/lettering.h"
#include "result/measure_words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* How far things reach from the hub, in lengths of the arm. */
#define FIRST_REACH 1.75 /* lines of the first arm; its label follows */
#define OTHER_REACH 1.45 /* the same for the others */
#define CURE_RADIUS 1.36
#define CURE_SWEEP_DEG 26.0 /* long enough to show its way, whatever the deviation */

/* ---- Plane -------------------------------------------------------------------------------- */

struct vision_point annotate_from_hub(const struct annotate_scene *o, const struct vision_arm *arm,
                                      double card_deg, double lengths)
{
    struct vision_point at = vision_plane_to_card(&o->result->plane, arm->hub_px);
    at.x += cos(card_deg * RAD_PER_DEG) * lengths * arm->length_mm;
    at.y += sin(card_deg * RAD_PER_DEG) * lengths * arm->length_mm;
    return annotate_place(o->view, vision_plane_to_photo(&o->result->plane, at));
}

double annotate_arm_direction(const struct annotate_scene *o, const struct vision_arm *arm)
{
    return o->result->reference_deg + arm->angle_deg;
}

/* Where it should lie. */
static double wanted_direction(const struct annotate_scene *o, const struct vision_arm *arm)
{
    return annotate_arm_direction(o, arm) - arm->deviation_deg;
}

double annotate_reach(const struct annotate_scene *o, const struct vision_arm *arm)
{
    return arm == &o->result->arms[0] ? FIRST_REACH : OTHER_REACH;
}

struct vision_point annotate_line_end(const struct annotate_scene *o, const struct vision_arm *arm)
{
    return annotate_from_hub(o, arm, annotate_arm_direction(o, arm), annotate_reach(o, arm));
}

double annotate_cure_from(const struct annotate_scene *o, const struct vision_arm *arm)
{
    double sweep = fmax(CURE_SWEEP_DEG, fabs(arm->deviation_deg));
    return wanted_direction(o, arm) + copysign(sweep, arm->deviation_deg);
}

/* ---- Strokes ------------------------------------------------------------------------------ */

void annotate_stroke(cairo_t *cr, struct annotate_colour colour, double width_mm)
{
    cairo_set_line_width(cr, width_mm + 0.5);
    annotate_set(cr, annotate_ink, 0.6);
    cairo_stroke_preserve(cr);
    cairo_set_line_width(cr, width_mm);
    annotate_set(cr, colour, 1);
    cairo_stroke(cr);
}

static void line_to(cairo_t *cr, struct vision_point at)
{
    cairo_line_to(cr, at.x, at.y);
}

static void draw_card_outline(const struct annotate_scene *o)
{
    for (int i = 0; i < 4; i++)
        line_to(o->cr, annotate_place(o->view, o->result->corners_px[i]));
    cairo_close_path(o->cr);
    cairo_set_line_width(o->cr, 0.55);
    annotate_set(o->cr, annotate_ink, 0.35);
    cairo_stroke_preserve(o->cr);
    cairo_set_line_width(o->cr, 0.25);
    cairo_set_source_rgba(o->cr, 1, 1, 1, 0.9);
    cairo_stroke(o->cr);
}

static const struct annotate_colour white = {1, 1, 1};

static void draw_reference(const struct annotate_scene *o)
{
    for (int i = 0; i < 2; i++)
        line_to(o->cr, annotate_place(o->view, o->result->reference_px[i]));
    annotate_stroke(o->cr, white, 0.9);
}

/* Dashed, from the hub to well beyond the tip. */
static void draw_wanted(const struct annotate_scene *o, const struct vision_arm *arm, double reach,
                        double width_mm)
{
    static const double dashes[] = {2.6, 1.5};
    double deg = wanted_direction(o, arm);
    line_to(o->cr, annotate_from_hub(o, arm, deg, 0.25));
    line_to(o->cr, annotate_from_hub(o, arm, deg, reach));
    cairo_set_dash(o->cr, dashes, 2, 0);
    annotate_stroke(o->cr, white, width_mm);
    cairo_set_dash(o->cr, NULL, 0, 0);
}

static void draw_arm(const struct annotate_scene *o, const struct vision_arm *arm, double reach,
                     double width_mm)
{
    double deg = annotate_arm_direction(o, arm);
    line_to(o->cr, annotate_from_hub(o, arm, deg, 0));
    line_to(o->cr, annotate_from_hub(o, arm, deg, reach));
    annotate_stroke(o->cr, annotate_arm, width_mm);
}

static void draw_hub(const struct annotate_scene *o, const struct vision_arm *arm)
{
    struct vision_point hub = annotate_place(o->view, arm->hub_px);
    cairo_new_sub_path(o->cr);
    cairo_arc(o->cr, hub.x, hub.y, 1.1, 0, 360 * RAD_PER_DEG);
    annotate_stroke(o->cr, annotate_arm, 0.6);
}

/* An arc about the hub at so many lengths, from one direction to another. */
static void trace_arc(const struct annotate_scene *o, const struct vision_arm *arm, double from_deg,
                      double to_deg, double lengths)
{
    const int steps = 24;
    for (int i = 0; i <= steps; i++)
        line_to(o->cr,
                annotate_from_hub(o, arm, from_deg + (to_deg - from_deg) * i / steps, lengths));
}

/* The deviation itself, between where the arm lies and where it should. */
static void draw_wedge(const struct annotate_scene *o, const struct vision_arm *arm)
{
    double is = annotate_arm_direction(o, arm), should = wanted_direction(o, arm);
    trace_arc(o, arm, should, is, ANNOTATE_WEDGE_FROM);
    trace_arc(o, arm, is, should, ANNOTATE_WEDGE_TO);
    cairo_close_path(o->cr);
    annotate_set(o->cr, annotate_arm, 0.45);
    cairo_fill(o->cr);
    trace_arc(o, arm, should, is, ANNOTATE_WEDGE_TO);
    annotate_stroke(o->cr, annotate_arm, 0.6);
}

/* Which way to turn: an arrow beyond the tip that ends where the arm should lie. Of a small
 * deviation it begins behind the arm, so as to be long enough. */
static void draw_cure(const struct annotate_scene *o, const struct vision_arm *arm)
{
    double to = wanted_direction(o, arm), from = annotate_cure_from(o, arm);
    struct vision_point end = annotate_from_hub(o, arm, to, CURE_RADIUS);
    struct vision_point before = annotate_from_hub(o, arm, to + (from - to) * 0.07, CURE_RADIUS);
    double heading = atan2(end.y - before.y, end.x - before.x);
    double neck = to + (from - to) * 0.14;
    trace_arc(o, arm, from, neck, CURE_RADIUS);
    cairo_set_line_width(o->cr, 2.3);
    cairo_set_source_rgba(o->cr, 1, 1, 1, 0.95);
    cairo_stroke(o->cr); /* a path kept would be filled with the arrowhead */
    annotate_arrowhead(o->cr, end.x + 0.6 * cos(heading), end.y + 0.6 * sin(heading), heading, 6.6);
    trace_arc(o, arm, from, neck, CURE_RADIUS);
    annotate_set(o->cr, annotate_action, 1);
    cairo_set_line_width(o->cr, 1.5);
    cairo_stroke(o->cr);
    annotate_arrowhead(o->cr, end.x, end.y, heading, 5.0);
}

/* ---- Links -------------------------------------------------------------------------------- */

/* A link from ball to ball, with its number in its middle. */
static void draw_link(const struct annotate_scene *o, const struct vision_point *balls_px,
                      const char *number)
{
    struct vision_point a = annotate_place(o->view, balls_px[0]);
    struct vision_point b = annotate_place(o->view, balls_px[1]);
    cairo_new_path(o->cr); /* text leaves its end behind as a point */
    line_to(o->cr, a);
    line_to(o->cr, b);
    annotate_stroke(o->cr, annotate_arm, 0.8);
    for (int i = 0; i < 2; i++) {
        struct vision_point at = i ? b : a;
        cairo_new_sub_path(o->cr);
        cairo_arc(o->cr, at.x, at.y, 1.3, 0, 360 * RAD_PER_DEG);
        annotate_stroke(o->cr, annotate_arm, 0.6);
    }
    struct lettering_style style = {.size_pt = 13, .bold = true, .level = 255};
    double height = annotate_pill_height(style.size_pt), x = (a.x + b.x) / 2, y = (a.y + b.y) / 2;
    annotate_words(o->cr, &style,
                   (struct annotate_box){x - 0.7 * height, y - height / 2, 1.4 * height, height},
                   number);
}

/* ---- All ---------------------------------------------------------------------------------- */

static void draw_arms(const struct annotate_scene *o)
{
    const struct vision_arm *arms = o->result->arms;
    int count = o->result->arm_count;
    const struct annotate_goal *goal = o->answer->goal;
    for (int i = count - 1; i > 0; i--) {
        if (annotate_all_square(o->answer))
            draw_wanted(o, &arms[i], OTHER_REACH, 0.35);
        draw_arm(o, &arms[i], OTHER_REACH, 0.5);
    }
    if (!goal || goal->judged) {
        draw_wanted(o, &arms[0], FIRST_REACH, 0.6);
        draw_wedge(o, &arms[0]);
    }
    draw_arm(o, &arms[0], FIRST_REACH, 0.8);
    if (o->answer->order == ORDER_TURN)
        draw_cure(o, &arms[0]);
    for (int i = 0; i < count; i++)
        draw_hub(o, &arms[i]);
    annotate_label_all(o);
}

void annotate_overlay(cairo_t *cr, const struct annotate_view *view,
                      const struct annotate_answer *answer)
{
    const struct vision_result *result = &answer->result;
    if (!(result->px_per_mm > 0))
        return;
    struct annotate_scene o = {.cr = cr, .view = view, .answer = answer, .result = result};
    cairo_save(cr);
    cairo_rectangle(cr, view->x_mm, view->y_mm, view->width_mm, view->height_mm);
    cairo_clip(cr);
    cairo_set_line_cap(cr, CAIRO_LINE_CAP_ROUND);
    cairo_set_line_join(cr, CAIRO_LINE_JOIN_ROUND);
    draw_card_outline(&o);
    if (answer->goal && answer->goal->balls_px) {
        draw_link(&o, answer->goal->balls_px, "1");
        draw_link(&o, answer->goal->balls_px + 2, "2");
    } else if (result->status != VISION_FAILED && result->arm_count > 0) {
        draw_reference(&o);
        draw_arms(&o);
    } else {
        annotate_looked_at(&o);
    }
    cairo_restore(cr);
}
