/* Labels on the photo: each arm's letter and how far it is off, and what the white line is. */
#include "annotate_internal.h"
#include "arithmetic/direction.h"
#include "drawing/lettering.h"
#include "result/measure_words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define OTHER_SIZE_PT 11.5 /* of arms beside the one that is meant */
#define REFERENCE_SIZE_PT 9.0
#define REFERENCE_CLEAR_MM 1.6 /* between the line and its label */

static const struct annotate_colour white = {1, 1, 1};

double annotate_pill_height(double size_pt)
{
    return size_pt * MM_PER_POINT * 1.7;
}

/* A dark label to write on. */
static void draw_pill(cairo_t *cr, struct annotate_box box)
{
    double r = box.height / 2;
    cairo_new_sub_path(cr);
    cairo_arc(cr, box.x + box.width - r, box.y + r, r, -90 * RAD_PER_DEG, 90 * RAD_PER_DEG);
    cairo_arc(cr, box.x + r, box.y + r, r, 90 * RAD_PER_DEG, 270 * RAD_PER_DEG);
    cairo_close_path(cr);
    annotate_set(cr, annotate_ink, 0.88);
    cairo_fill(cr);
}

struct annotate_box annotate_words_box(cairo_t *cr, const struct lettering_style *style,
                                       const char *text)
{
    double height = annotate_pill_height(style->size_pt);
    return (struct annotate_box){.width = height + lettering_width(cr, style, text),
                                 .height = height};
}

void annotate_words(cairo_t *cr, const struct lettering_style *style, struct annotate_box box,
                    const char *text)
{
    double capital = style->size_pt * MM_PER_POINT * ANNOTATE_CAPITAL;
    draw_pill(cr, box);
    lettering_draw(cr, style, LETTERING_MIDDLE, box.x + box.width / 2,
                   box.y + (box.height + capital) / 2, text);
}

/* From a label that stands away from what it means to that. */
static void draw_leader(cairo_t *cr, struct annotate_colour colour, struct vision_point to,
                        struct annotate_box box)
{
    double r = box.height / 2;
    cairo_new_path(cr);
    cairo_move_to(cr, fmin(fmax(to.x, box.x + r), box.x + box.width - r), box.y + r);
    cairo_line_to(cr, to.x, to.y);
    annotate_stroke(cr, colour, 0.4);
    cairo_new_sub_path(cr);
    cairo_arc(cr, to.x, to.y, 0.8, 0, 360 * RAD_PER_DEG);
    annotate_stroke(cr, colour, 0.4);
}

/* ---- Arms --------------------------------------------------------------------------------- */

/* What is told of an arm: how far it is off, or where it points when it is not judged. Of the arms
 * beside the one that is meant nothing is asked. */
static void arm_label_text(const struct annotate_scene *o, const struct vision_arm *arm, char *text,
                           size_t size)
{
    char deviation[16], expanded[16];
    const struct annotate_goal *goal = o->answer->goal;
    bool meant = arm == &o->result->arms[0];
    if ((!meant && !annotate_all_square(o->answer)) ||
        (goal && !goal->judged && o->result->of_stickers)) {
        *text = '\0';
    } else if (goal && !goal->judged) {
        snprintf(text, size, "%.1f°", arm->angle_deg);
    } else {
        measure_numbers(arm, annotate_limit_deg(o->answer, arm), deviation, expanded);
        snprintf(text, size, "%s°", deviation);
    }
}

/* What stands in a label: the arm's letter, and as the case may be a number. */
struct arm_label {
    char text[40];
    double size_pt;
    struct annotate_box box;
};

static struct arm_label make_arm_label(const struct annotate_scene *o, const struct vision_arm *arm,
                                       double size_pt)
{
    double height = annotate_pill_height(size_pt);
    struct arm_label label = {.size_pt = size_pt, .box = {.width = height, .height = height}};
    struct lettering_style style = {.size_pt = size_pt, .bold = true, .level = 255};
    arm_label_text(o, arm, label.text, sizeof label.text);
    if (*label.text)
        label.box.width = height * 1.55 + lettering_width(o->cr, &style, label.text);
    return label;
}

/* The arm's letter in its colour, then its deviation. */
static void write_arm_label(cairo_t *cr, const struct vision_arm *arm,
                            const struct arm_label *label)
{
    const struct annotate_box *box = &label->box;
    double size_pt = label->size_pt, height = box->height;
    struct lettering_style style = {.size_pt = size_pt, .bold = true, .level = 255};
    double middle = box->y + height / 2, capital = size_pt * MM_PER_POINT * ANNOTATE_CAPITAL;
    cairo_new_path(cr);
    cairo_arc(cr, box->x + height / 2, middle, height * 0.38, 0, 360 * RAD_PER_DEG);
    annotate_set(cr, annotate_arm, 1);
    cairo_fill(cr);
    double of_name =
        0.85 / fmax(1, 0.62 * (double)strlen(arm->name)); /* stickers have longer ones */
    struct lettering_style letter = {.size_pt = size_pt * of_name, .bold = true, .level = 20};
    lettering_draw(cr, &letter, LETTERING_MIDDLE, box->x + height / 2,
                   middle + capital * of_name / 2, arm->name);
    lettering_draw(cr, &style, LETTERING_LEFT, box->x + height * 1.1, middle + capital / 2,
                   label->text);
}

/* The ways to place a label, the best first. */
struct attempt {
    double size_pt;
    bool anywhere; /* with a line that leads to the arm's; else at the end of that */
    enum annotate_sight clear_of;
};

/* The first arm is the one that the panel speaks of: its label must be found, if need be smaller,
 * elsewhere, or over something else. */
static const struct attempt first_attempts[] = {
    {19, false, ANNOTATE_RATHER_NOT},  {15, false, ANNOTATE_RATHER_NOT},
    {19, true, ANNOTATE_RATHER_NOT},   {15, true, ANNOTATE_RATHER_NOT},
    {11.5, true, ANNOTATE_RATHER_NOT}, {19, false, ANNOTATE_HARDLY},
    {15, false, ANNOTATE_HARDLY},      {15, true, ANNOTATE_HARDLY},
    {11.5, true, ANNOTATE_HARDLY},     {15, true, ANNOTATE_NEVER},
    {11.5, true, ANNOTATE_NEVER},
};
/* The others are told in the panel too: better no label than one on an arm. */
static const struct attempt other_attempts[] = {
    {OTHER_SIZE_PT, false, ANNOTATE_RATHER_NOT},
    {OTHER_SIZE_PT, true, ANNOTATE_RATHER_NOT},
    {OTHER_SIZE_PT, false, ANNOTATE_HARDLY},
};

/* false when no attempt finds a place. */
static bool place_arm_label(const struct annotate_labels *labels, const struct vision_arm *arm,
                            const struct attempt *attempts, size_t count, struct arm_label *label)
{
    const struct annotate_scene *o = labels->scene;
    struct vision_point end = annotate_line_end(o, arm);
    for (size_t i = 0; i < count; i++) {
        *label = make_arm_label(o, arm, attempts[i].size_pt);
        if (attempts[i].anywhere
                ? annotate_find_any(labels, attempts[i].clear_of, end, &label->box)
                : annotate_find_near(labels, attempts[i].clear_of, arm, &label->box))
            return true;
    }
    return false;
}

/* A line from the label to the nearest place on its arm's, from the tip on, unless it touches. */
static void lead_to_arm(const struct annotate_scene *o, const struct vision_arm *arm,
                        struct annotate_box box)
{
    double deg = annotate_arm_direction(o, arm), reach = annotate_reach(o, arm);
    struct vision_point nearest = annotate_line_end(o, arm);
    for (int tenths = 10; tenths < 10 * reach; tenths++) {
        struct vision_point at = annotate_from_hub(o, arm, deg, tenths / 10.0);
        if (annotate_gap(box, at) < annotate_gap(box, nearest))
            nearest = at;
    }
    if (annotate_gap(box, nearest) > 0)
        draw_leader(o->cr, annotate_arm, nearest, box);
}

static void draw_arm_label(struct annotate_labels *labels, const struct vision_arm *arm)
{
    const struct annotate_scene *o = labels->scene;
    bool first = arm == &o->result->arms[0];
    const struct attempt *attempts = first ? first_attempts : other_attempts;
    size_t count = first ? sizeof first_attempts / sizeof first_attempts[0]
                         : sizeof other_attempts / sizeof other_attempts[0];
    struct arm_label label;
    if (!place_arm_label(labels, arm, attempts, count, &label)) {
        if (!first)
            return;
        annotate_force_place(labels, arm, &label.box);
    }
    lead_to_arm(o, arm, label.box);
    annotate_keep_clear(labels, ANNOTATE_NEVER, label.box);
    draw_pill(o->cr, label.box);
    write_arm_label(o->cr, arm, &label);
}

/* ---- The reference ------------------------------------------------------------------------ */

/* Beside the line between a and b, near one end, on the side away from the middle of the card where
 * that is free. */
static bool place_beside(const struct annotate_labels *labels, enum annotate_sight clear_of,
                         struct vision_point a, struct vision_point b, struct annotate_box *box)
{
    static const double along[] = {0.86, 0.14, 0.7, 0.3, 0.5};
    const struct annotate_scene *o = labels->scene;
    double length = fmax(1e-6, hypot(b.x - a.x, b.y - a.y));
    double nx = -(b.y - a.y) / length, ny = (b.x - a.x) / length;
    struct vision_point middle =
        annotate_place(o->view, vision_plane_to_photo(&o->result->plane, (struct vision_point){0}));
    double outward = (middle.x - a.x) * nx + (middle.y - a.y) * ny > 0 ? -1 : 1;
    double away = (fabs(nx) * box->width + fabs(ny) * box->height) / 2 + REFERENCE_CLEAR_MM;
    for (int side = 1; side >= -1; side -= 2)
        for (size_t i = 0; i < sizeof along / sizeof along[0]; i++) {
            double off = side * outward * away;
            box->x = a.x + (b.x - a.x) * along[i] + nx * off - box->width / 2;
            box->y = a.y + (b.y - a.y) * along[i] + ny * off - box->height / 2;
            if (annotate_is_free(labels, clear_of, NULL, *box))
                return true;
        }
    return false;
}

/* What the white line is. */
static void draw_reference_label(struct annotate_labels *labels)
{
    static const struct lettering_style style = {.size_pt = REFERENCE_SIZE_PT, .level = 255};
    static const char text[] = "reference";
    const struct annotate_scene *o = labels->scene;
    struct vision_point a = annotate_place(o->view, o->result->reference_px[0]);
    struct vision_point b = annotate_place(o->view, o->result->reference_px[1]);
    struct vision_point near_b = {a.x + 0.8 * (b.x - a.x), a.y + 0.8 * (b.y - a.y)};
    struct annotate_box box = annotate_words_box(o->cr, &style, text);
    if (!place_beside(labels, ANNOTATE_RATHER_NOT, a, b, &box)) {
        bool found = annotate_find_any(labels, ANNOTATE_RATHER_NOT, near_b, &box) ||
                     annotate_find_any(labels, ANNOTATE_HARDLY, near_b, &box);
        if (!found)
            return;
        draw_leader(o->cr, white, near_b, box);
    }
    annotate_keep_clear(labels, ANNOTATE_NEVER, box);
    annotate_words(o->cr, &style, box, text);
}

void annotate_label_all(const struct annotate_scene *scene)
{
    struct annotate_labels labels;
    annotate_labels_init(&labels, scene);
    for (int i = 0; i < scene->result->arm_count; i++)
        draw_arm_label(&labels, &scene->result->arms[i]);
    draw_reference_label(&labels);
}
