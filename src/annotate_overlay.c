/* Lines and labels on the photo. Directions live in the card's plane: every line is laid there and
 * brought into the photo by the card's homography, so that it stands where the eye expects it. */
#include "annotate_internal.h"
#include "direction.h"
#include "lettering.h"
#include "measure_words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define MM_PER_POINT (25.4 / 72)

/* How far things reach from the hub, in lengths of the arm. */
#define FIRST_REACH 1.75 /* lines of the first arm; its label follows */
#define OTHER_REACH 1.45 /* the same for the others */
#define WEDGE_FROM 1.10  /* clear of the tip */
#define WEDGE_TO 1.62
#define CURE_RADIUS 1.36
#define CURE_SWEEP_DEG 26.0 /* long enough to show its way, whatever the deviation */

struct overlay {
    cairo_t *cr;
    const struct annotate_view *view;
    const struct annotate_answer *answer;
    const struct vision_result *result; /* the answer's */
};

/* ---- Plane -------------------------------------------------------------------------------- */

/* The picture's point at a direction (card frame) and distance from the arm's hub. */
static struct vision_point from_hub(const struct overlay *o, const struct vision_arm *arm,
                                    double card_deg, double lengths)
{
    struct vision_point at = vision_plane_to_card(&o->result->plane, arm->hub_px);
    at.x += cos(card_deg * RAD_PER_DEG) * lengths * arm->length_mm;
    at.y += sin(card_deg * RAD_PER_DEG) * lengths * arm->length_mm;
    return annotate_place(o->view, vision_plane_to_photo(&o->result->plane, at));
}

static double arm_direction(const struct overlay *o, const struct vision_arm *arm)
{
    return o->result->reference_deg + arm->angle_deg;
}

/* Where it should lie. */
static double wanted_direction(const struct overlay *o, const struct vision_arm *arm)
{
    return arm_direction(o, arm) - arm->deviation_deg;
}

/* ---- Strokes ------------------------------------------------------------------------------ */

/* The current path with a dark rim, so that it shows on any photo. */
static void stroke_with_halo(cairo_t *cr, struct annotate_colour colour, double width_mm)
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

static void draw_card_outline(const struct overlay *o)
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

static void draw_reference(const struct overlay *o)
{
    for (int i = 0; i < 2; i++)
        line_to(o->cr, annotate_place(o->view, o->result->reference_px[i]));
    stroke_with_halo(o->cr, white, 0.9);
}

/* Dashed, from the hub to well beyond the tip. */
static void draw_wanted(const struct overlay *o, const struct vision_arm *arm, double reach,
                        double width_mm)
{
    static const double dashes[] = {2.6, 1.5};
    double deg = wanted_direction(o, arm);
    line_to(o->cr, from_hub(o, arm, deg, 0.25));
    line_to(o->cr, from_hub(o, arm, deg, reach));
    cairo_set_dash(o->cr, dashes, 2, 0);
    stroke_with_halo(o->cr, white, width_mm);
    cairo_set_dash(o->cr, NULL, 0, 0);
}

static void draw_arm(const struct overlay *o, const struct vision_arm *arm, double reach,
                     double width_mm)
{
    double deg = arm_direction(o, arm);
    line_to(o->cr, from_hub(o, arm, deg, 0));
    line_to(o->cr, from_hub(o, arm, deg, reach));
    stroke_with_halo(o->cr, annotate_arm, width_mm);
}

static void draw_hub(const struct overlay *o, const struct vision_arm *arm)
{
    struct vision_point hub = annotate_place(o->view, arm->hub_px);
    cairo_new_sub_path(o->cr);
    cairo_arc(o->cr, hub.x, hub.y, 1.1, 0, 360 * RAD_PER_DEG);
    stroke_with_halo(o->cr, annotate_arm, 0.6);
}

/* An arc about the hub at so many lengths, from one direction to another. */
static void trace_arc(const struct overlay *o, const struct vision_arm *arm, double from_deg,
                      double to_deg, double lengths)
{
    const int steps = 24;
    for (int i = 0; i <= steps; i++)
        line_to(o->cr, from_hub(o, arm, from_deg + (to_deg - from_deg) * i / steps, lengths));
}

/* The deviation itself, between where the arm lies and where it should. */
static void draw_wedge(const struct overlay *o, const struct vision_arm *arm)
{
    double is = arm_direction(o, arm), should = wanted_direction(o, arm);
    trace_arc(o, arm, should, is, WEDGE_FROM);
    trace_arc(o, arm, is, should, WEDGE_TO);
    cairo_close_path(o->cr);
    annotate_set(o->cr, annotate_arm, 0.45);
    cairo_fill(o->cr);
    trace_arc(o, arm, should, is, WEDGE_TO);
    stroke_with_halo(o->cr, annotate_arm, 0.6);
}

/* Which way to turn: an arrow beyond the tip, from the arm's line to where it should lie. */
static void draw_cure(const struct overlay *o, const struct vision_arm *arm)
{
    double is = arm_direction(o, arm);
    double sweep = fmax(CURE_SWEEP_DEG, fabs(arm->deviation_deg));
    double to = arm->deviation_deg > 0 ? is - sweep : is + sweep;
    struct vision_point end = from_hub(o, arm, to, CURE_RADIUS);
    struct vision_point before = from_hub(o, arm, is + (to - is) * 0.93, CURE_RADIUS);
    double heading = atan2(end.y - before.y, end.x - before.x);
    trace_arc(o, arm, is, is + (to - is) * 0.86, CURE_RADIUS);
    cairo_set_line_width(o->cr, 2.3);
    cairo_set_source_rgba(o->cr, 1, 1, 1, 0.95);
    cairo_stroke(o->cr); /* a path kept would be filled with the arrowhead */
    annotate_arrowhead(o->cr, end.x + 0.6 * cos(heading), end.y + 0.6 * sin(heading), heading, 6.6);
    trace_arc(o, arm, is, is + (to - is) * 0.86, CURE_RADIUS);
    annotate_set(o->cr, annotate_action, 1);
    cairo_set_line_width(o->cr, 1.5);
    cairo_stroke(o->cr);
    annotate_arrowhead(o->cr, end.x, end.y, heading, 5.0);
}

/* ---- Labels ------------------------------------------------------------------------------- */

struct box {
    double x, y, width, height;
};

static bool boxes_touch(struct box a, struct box b)
{
    return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height &&
           b.y < a.y + a.height;
}

static bool box_inside(struct box a, const struct annotate_view *view)
{
    return a.x >= view->x_mm + 1 && a.y >= view->y_mm + 1 &&
           a.x + a.width <= view->x_mm + view->width_mm - 1 &&
           a.y + a.height <= view->y_mm + view->height_mm - 1;
}

#define ARM_HALF_WIDTH_MM 3.5 /* wide arms with their balls */

/* Does the box cover any of the arms between hub and tip, with room for their width? */
static bool box_covers_arm(const struct overlay *o, struct box box)
{
    for (int i = 0; i < o->result->arm_count; i++) {
        const struct vision_arm *arm = &o->result->arms[i];
        for (int tenths = 0; tenths <= 12; tenths++) {
            struct vision_point at = from_hub(o, arm, arm_direction(o, arm), tenths / 10.0);
            double half_width_mm = fmin(ARM_HALF_WIDTH_MM, 0.25 * arm->length_mm);
            double room = half_width_mm * o->result->px_per_mm * o->view->mm_per_px;
            if (boxes_touch(box, (struct box){at.x - room, at.y - room, 2 * room, 2 * room}))
                return true;
        }
    }
    return false;
}

struct labels {
    struct box taken[VISION_MAX_ARMS + 1];
    int count;
};

static bool is_free(const struct overlay *o, const struct labels *labels, struct box box)
{
    if (!box_inside(box, o->view) || box_covers_arm(o, box))
        return false;
    for (int i = 0; i < labels->count; i++)
        if (boxes_touch(box, labels->taken[i]))
            return false;
    return true;
}

/* Puts the box where the arm's line, drawn on to so many lengths, would run into it. */
static void set_box(const struct overlay *o, const struct vision_arm *arm, double card_deg,
                    double lengths, struct box *box)
{
    struct vision_point at = from_hub(o, arm, card_deg, lengths);
    struct vision_point hub = annotate_place(o->view, arm->hub_px);
    double dx = at.x - hub.x, dy = at.y - hub.y, r = fmax(1e-6, hypot(dx, dy));
    box->x = at.x + dx / r * box->width / 2 - box->width / 2;
    box->y = at.y + dy / r * box->height / 2 - box->height / 2;
}

/* A free place for a label, first on the arm's own line beyond its end, then ever further to the
 * sides. false when there is none: better no label than one on an arm. */
static bool find_place(const struct overlay *o, const struct labels *labels,
                       const struct vision_arm *arm, double reach, struct box *box)
{
    double is = arm_direction(o, arm);
    for (int aside_deg = 0; aside_deg <= 80; aside_deg += 10) {
        for (int step = 0; step < 15; step++) {
            for (int side = -1; side <= 1; side += 2) {
                set_box(o, arm, is + side * aside_deg, reach + 0.15 * step, box);
                if (is_free(o, labels, *box))
                    return true;
            }
        }
    }
    return false;
}

/* Does the box cover the arrow that says which way to turn, or the sector that shows the deviation?
 */
static bool box_covers_action(const struct overlay *o, struct box box)
{
    const struct vision_arm *arm = &o->result->arms[0];
    double is = arm_direction(o, arm), sweep = fmax(CURE_SWEEP_DEG, fabs(arm->deviation_deg));
    if (o->answer->order != ORDER_TURN)
        return false;
    for (int i = 0; i <= 12; i++)
        for (int j = 0; j <= 4; j++) {
            double lengths = WEDGE_FROM + (WEDGE_TO - WEDGE_FROM) * j / 4;
            double deg = arm->deviation_deg > 0 ? is - sweep * i / 12 : is + sweep * i / 12;
            struct vision_point at = from_hub(o, arm, deg, lengths);
            if (boxes_touch(box, (struct box){at.x - 2, at.y - 2, 4, 4}))
                return true;
        }
    return false;
}

/* The free place nearest to the arm's tip, wherever that is. false when there is none. */
static bool find_any_place(const struct overlay *o, const struct labels *labels,
                           const struct vision_arm *arm, struct box *box)
{
    const double step_mm = 1.5;
    const int columns = (int)(o->view->width_mm / step_mm),
              rows = (int)(o->view->height_mm / step_mm);
    struct vision_point tip = annotate_place(o->view, arm->tip_px);
    double nearest = INFINITY;
    for (int i = 0; i < columns * rows; i++) {
        int column = i % columns, row = i / columns;
        struct box at = {o->view->x_mm + 1 + step_mm * column, o->view->y_mm + 1 + step_mm * row,
                         box->width, box->height};
        double away = hypot(at.x + at.width / 2 - tip.x, at.y + at.height / 2 - tip.y);
        if (away >= nearest || !is_free(o, labels, at) || box_covers_action(o, at))
            continue;
        nearest = away;
        *box = at;
    }
    return isfinite(nearest);
}

/* As near to the end of the arm's line as the picture allows, whatever lies below. */
static void force_place(const struct overlay *o, const struct vision_arm *arm, double reach,
                        struct box *box)
{
    const struct annotate_view *view = o->view;
    set_box(o, arm, arm_direction(o, arm), reach, box);
    box->x = fmin(fmax(box->x, view->x_mm + 1), view->x_mm + view->width_mm - 1 - box->width);
    box->y = fmin(fmax(box->y, view->y_mm + 1), view->y_mm + view->height_mm - 1 - box->height);
}

/* From a label that stands away from its arm to the arm's tip. */
static void draw_leader(const struct overlay *o, const struct vision_arm *arm, struct box box)
{
    struct vision_point tip = annotate_place(o->view, arm->tip_px);
    line_to(o->cr, (struct vision_point){box.x + box.width / 2, box.y + box.height / 2});
    line_to(o->cr, tip);
    stroke_with_halo(o->cr, annotate_arm, 0.4);
    cairo_new_sub_path(o->cr);
    cairo_arc(o->cr, tip.x, tip.y, 0.8, 0, 360 * RAD_PER_DEG);
    stroke_with_halo(o->cr, annotate_arm, 0.4);
}

static void draw_pill(cairo_t *cr, struct box box)
{
    double r = box.height / 2;
    cairo_new_sub_path(cr);
    cairo_arc(cr, box.x + box.width - r, box.y + r, r, -90 * RAD_PER_DEG, 90 * RAD_PER_DEG);
    cairo_arc(cr, box.x + r, box.y + r, r, 90 * RAD_PER_DEG, 270 * RAD_PER_DEG);
    cairo_close_path(cr);
    annotate_set(cr, annotate_ink, 0.88);
    cairo_fill(cr);
}

static double pill_height(double size_pt)
{
    return size_pt * MM_PER_POINT * 1.7;
}

/* What is told of an arm: how far it is off, or where it points when it is not judged. Of the arms
 * beside the one that is meant nothing is asked. */
static void arm_label_text(const struct overlay *o, const struct vision_arm *arm, char *text,
                           size_t size)
{
    char deviation[16], expanded[16];
    const struct annotate_goal *goal = o->answer->goal;
    bool meant = arm == &o->result->arms[0];
    if (goal && (!meant || (!goal->judged && o->result->of_stickers))) {
        *text = '\0';
    } else if (goal && !goal->judged) {
        snprintf(text, size, "%.1f°", arm->angle_deg);
    } else {
        measure_numbers(arm, deviation, expanded);
        snprintf(text, size, "%s°", deviation);
    }
}

/* What stands in a label: the arm's letter, and as the case may be a number and a sign. */
struct arm_label {
    char text[40];
    double size_pt, height, width;
    bool sign; /* says which way the number counts */
};

#define SIGN_WIDTH 1.15 /* of a label's height */

bool annotate_has_sign(const struct annotate_answer *answer, int arm)
{
    char deviation[16], expanded[16];
    if (arm == 0 || answer->goal)
        return false;
    measure_numbers(&answer->result.arms[arm], deviation, expanded);
    return strpbrk(deviation, "123456789") != NULL;
}

static struct arm_label make_arm_label(const struct overlay *o, const struct vision_arm *arm,
                                       double size_pt)
{
    struct arm_label label = {.size_pt = size_pt, .height = pill_height(size_pt)};
    struct lettering_style style = {.size_pt = size_pt, .bold = true, .level = 255};
    arm_label_text(o, arm, label.text, sizeof label.text);
    label.sign = annotate_has_sign(o->answer, (int)(arm - o->result->arms));
    label.width = label.height;
    if (*label.text)
        label.width = label.height * 1.55 + lettering_width(o->cr, &style, label.text);
    if (label.sign)
        label.width += label.height * SIGN_WIDTH;
    return label;
}

void annotate_lie_sign(cairo_t *cr, double x, double y, double size, double deviation_deg)
{
    const double radius = size * 0.46, half = 72 * RAD_PER_DEG, head = size * 0.40;
    double way = deviation_deg > 0 ? -1 : 1; /* y runs down the page: clockwise is positive */
    double start = -90 * RAD_PER_DEG - way * half, end = -90 * RAD_PER_DEG + way * half;
    double stop = end - way * 0.7 * head / radius, middle = y + size * 0.16;
    cairo_new_path(cr);
    if (way > 0)
        cairo_arc(cr, x, middle, radius, start, stop);
    else
        cairo_arc_negative(cr, x, middle, radius, start, stop);
    cairo_set_line_width(cr, size * 0.15);
    annotate_set(cr, annotate_arm, 1);
    cairo_stroke(cr);
    annotate_arrowhead(cr, x + radius * cos(end), middle + radius * sin(end),
                       end + way * (90 * RAD_PER_DEG - head / radius / 2), head);
    cairo_move_to(cr, x + 0.65 * radius * cos(start), middle + 0.65 * radius * sin(start));
    cairo_line_to(cr, x + 1.35 * radius * cos(start), middle + 1.35 * radius * sin(start));
    annotate_set(cr, white, 1);
    cairo_stroke(cr);
}

/* The first arm is the one that the panel speaks of: its label must be found, if need be smaller,
 * elsewhere with a line that leads to it, or over something else. */
static bool place_first_label(const struct overlay *o, struct labels *labels,
                              const struct vision_arm *arm, struct arm_label *label,
                              struct box *box)
{
    static const double sizes_pt[] = {19, 15, 11.5};
    for (int any = 0; any <= 1; any++)
        for (size_t i = 0; i < sizeof sizes_pt / sizeof sizes_pt[0]; i++) {
            *label = make_arm_label(o, arm, sizes_pt[i]);
            *box = (struct box){.width = label->width, .height = label->height};
            if (any ? find_any_place(o, labels, arm, box)
                    : find_place(o, labels, arm, FIRST_REACH, box))
                return any;
        }
    force_place(o, arm, FIRST_REACH, box);
    return false;
}

/* The arm's letter in its colour, then its deviation. */
static void write_arm_label(cairo_t *cr, const struct vision_arm *arm,
                            const struct arm_label *label, struct box box)
{
    double size_pt = label->size_pt, height = label->height;
    struct lettering_style style = {.size_pt = size_pt, .bold = true, .level = 255};
    double middle = box.y + height / 2, capital = size_pt * MM_PER_POINT * 0.73;
    cairo_new_path(cr);
    cairo_arc(cr, box.x + height / 2, middle, height * 0.38, 0, 360 * RAD_PER_DEG);
    annotate_set(cr, annotate_arm, 1);
    cairo_fill(cr);
    double of_name =
        0.85 / fmax(1, 0.62 * (double)strlen(arm->name)); /* stickers have longer ones */
    struct lettering_style letter = {.size_pt = size_pt * of_name, .bold = true, .level = 20};
    lettering_draw(cr, &letter, LETTERING_MIDDLE, box.x + height / 2,
                   middle + capital * of_name / 2, arm->name);
    lettering_draw(cr, &style, LETTERING_LEFT, box.x + height * 1.1, middle + capital / 2,
                   label->text);
    if (label->sign)
        annotate_lie_sign(cr, box.x + box.width - height * (0.22 + SIGN_WIDTH / 2), middle,
                          height * 0.82, arm->deviation_deg);
}

static void draw_arm_label(const struct overlay *o, struct labels *labels,
                           const struct vision_arm *arm)
{
    struct arm_label label;
    struct box box;
    if (arm == &o->result->arms[0]) {
        if (place_first_label(o, labels, arm, &label, &box))
            draw_leader(o, arm, box);
    } else {
        label = make_arm_label(o, arm, 11.5);
        box = (struct box){.width = label.width, .height = label.height};
        if (!find_place(o, labels, arm, OTHER_REACH, &box))
            return;
    }
    labels->taken[labels->count++] = box;
    draw_pill(o->cr, box);
    write_arm_label(o->cr, arm, &label, box);
}

/* What the white line is: on it, near an end if that is free. */
static void draw_reference_label(const struct overlay *o, struct labels *labels)
{
    static const struct lettering_style style = {.size_pt = 9, .level = 255};
    static const char text[] = "reference";
    struct vision_point a = annotate_place(o->view, o->result->reference_px[0]);
    struct vision_point b = annotate_place(o->view, o->result->reference_px[1]);
    struct box box = {.height = pill_height(style.size_pt)};
    box.width = box.height + lettering_width(o->cr, &style, text);
    static const double tries[] = {0.88, 0.12, 0.75, 0.25, 0.5};
    for (size_t i = 0; i < sizeof tries / sizeof tries[0]; i++) {
        box.x = a.x + (b.x - a.x) * tries[i] - box.width / 2;
        box.y = a.y + (b.y - a.y) * tries[i] - box.height / 2;
        if (!is_free(o, labels, box))
            continue;
        labels->taken[labels->count++] = box;
        draw_pill(o->cr, box);
        double capital = style.size_pt * MM_PER_POINT * 0.73;
        lettering_draw(o->cr, &style, LETTERING_MIDDLE, box.x + box.width / 2,
                       box.y + (box.height + capital) / 2, text);
        return;
    }
}

/* ---- Links -------------------------------------------------------------------------------- */

/* A link from ball to ball, with its number in its middle. */
static void draw_link(const struct overlay *o, const struct vision_point *balls_px,
                      const char *number)
{
    struct vision_point a = annotate_place(o->view, balls_px[0]);
    struct vision_point b = annotate_place(o->view, balls_px[1]);
    cairo_new_path(o->cr); /* text leaves its end behind as a point */
    line_to(o->cr, a);
    line_to(o->cr, b);
    stroke_with_halo(o->cr, annotate_arm, 0.8);
    for (int i = 0; i < 2; i++) {
        struct vision_point at = i ? b : a;
        cairo_new_sub_path(o->cr);
        cairo_arc(o->cr, at.x, at.y, 1.3, 0, 360 * RAD_PER_DEG);
        stroke_with_halo(o->cr, annotate_arm, 0.6);
    }
    struct lettering_style style = {.size_pt = 13, .bold = true, .level = 255};
    double height = pill_height(style.size_pt), x = (a.x + b.x) / 2, y = (a.y + b.y) / 2;
    draw_pill(o->cr, (struct box){x - 0.7 * height, y - height / 2, 1.4 * height, height});
    lettering_draw(o->cr, &style, LETTERING_MIDDLE, x, y + style.size_pt * MM_PER_POINT * 0.73 / 2,
                   number);
}

/* ---- All ---------------------------------------------------------------------------------- */

static void draw_arms(const struct overlay *o)
{
    const struct vision_arm *arms = o->result->arms;
    int count = o->result->arm_count;
    const struct annotate_goal *goal = o->answer->goal;
    for (int i = count - 1; i > 0; i--) {
        if (!goal)
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
    struct labels labels = {.count = 0};
    for (int i = 0; i < count; i++)
        draw_arm_label(o, &labels, &arms[i]);
    draw_reference_label(o, &labels);
}

void annotate_overlay(cairo_t *cr, const struct annotate_view *view,
                      const struct annotate_answer *answer)
{
    const struct vision_result *result = &answer->result;
    if (!(result->px_per_mm > 0))
        return;
    struct overlay o = {.cr = cr, .view = view, .answer = answer, .result = result};
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
    }
    cairo_restore(cr);
}
