/* What was looked at where there is no answer, and pixels along the rim for who can point at what
 * was not found. */
#include "annotate_internal.h"
#include "arithmetic/direction.h"
#include "drawing/lettering.h"
#include "drawing/plot.h"
#include "result/reasons.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define RIM_MM 4.2  /* width of the rim's bands */
#define RIM_TICKS 9 /* about as many numbers along the longer side */

static const struct annotate_colour white = {1, 1, 1};

static void trace_card(const struct annotate_scene *o)
{
    for (int i = 0; i < 4; i++) {
        struct vision_point at = annotate_place(o->view, o->result->corners_px[i]);
        cairo_line_to(o->cr, at.x, at.y);
    }
    cairo_close_path(o->cr);
}

/* The middle of the side of the card that lies highest in the picture. */
static struct vision_point highest_side(const struct annotate_scene *o)
{
    struct vision_point best = {0, INFINITY};
    for (int i = 0; i < 4; i++) {
        struct vision_point a = annotate_place(o->view, o->result->corners_px[i]);
        struct vision_point b = annotate_place(o->view, o->result->corners_px[(i + 1) % 4]);
        struct vision_point middle = {(a.x + b.x) / 2, (a.y + b.y) / 2};
        if (middle.y < best.y)
            best = middle;
    }
    return best;
}

bool annotate_shows_hint(const struct vision_result *result)
{
    return result->status == VISION_FAILED && result->reason == VISION_NO_EDGE;
}

/* The two points that were given, and the line on which an edge was looked for. */
static void draw_hint(const struct annotate_scene *o)
{
    const double dot_mm = 1.3;
    for (int i = 0; i < 2; i++) {
        struct vision_point at = annotate_place(o->view, o->result->reference_px[i]);
        cairo_line_to(o->cr, at.x, at.y);
    }
    annotate_stroke(o->cr, white, 0.6);
    for (int i = 0; i < 2; i++) {
        struct vision_point at = annotate_place(o->view, o->result->reference_px[i]);
        cairo_new_sub_path(o->cr);
        cairo_arc(o->cr, at.x, at.y, dot_mm, 0, 360 * RAD_PER_DEG);
        annotate_stroke(o->cr, white, 0.6);
    }
}

/* What the card's bright place in the picture means; "" where something else was looked at. */
static const char *looked_for(enum vision_reason reason)
{
    if (reason >= VISION_NO_CARD && reason <= VISION_BAD_LIGHT)
        return "this card was found";
    return reason >= VISION_NO_PART && reason <= VISION_LEANING_CARD ? "looked for an arm here"
                                                                     : "";
}

static void draw_name(const struct annotate_scene *o, const char *text)
{
    static const struct lettering_style style = {.size_pt = 11.5, .level = 255};
    struct annotate_labels labels = {.scene = o};
    struct annotate_box box = annotate_words_box(o->cr, &style, text);
    annotate_keep_rim_clear(&labels);
    struct vision_point near_to = highest_side(o);
    near_to.y -= box.height / 2 + 1.5;
    if (!annotate_find_any(&labels, ANNOTATE_NEVER, near_to, &box))
        return;
    annotate_words(o->cr, &style, box, text);
}

void annotate_looked_at(const struct annotate_scene *scene)
{
    cairo_t *cr = scene->cr;
    const struct annotate_view *view = scene->view;
    const char *text = looked_for(scene->result->reason);
    if (annotate_shows_hint(scene->result))
        draw_hint(scene);
    if (!*text || annotate_instead(scene->answer))
        return;
    cairo_save(cr);
    cairo_new_path(cr);
    trace_card(scene);
    cairo_rectangle(cr, view->x_mm, view->y_mm, view->width_mm, view->height_mm);
    cairo_set_fill_rule(cr, CAIRO_FILL_RULE_EVEN_ODD);
    annotate_set(cr, annotate_ink, 0.6);
    cairo_fill(cr);
    trace_card(scene);
    annotate_stroke(cr, white, 0.9);
    cairo_restore(cr);
    draw_name(scene, text);
}

/* ---- The rim ------------------------------------------------------------------------------ */

bool annotate_wants_points(const struct annotate_answer *answer)
{
    enum vision_reason reason = answer->result.reason;
    bool asks = answer->order == ORDER_NONE || answer->order == ORDER_UNSURE;
    return asks && !annotate_instead(answer) &&
           (reason == VISION_BAD_HINT || reason == VISION_NO_EDGE ||
            strstr(reason_sentence(reason), "--arm") != NULL);
}

void annotate_keep_rim_clear(struct annotate_labels *labels)
{
    const struct annotate_view *view = labels->scene->view;
    if (!annotate_wants_points(labels->scene->answer))
        return;
    annotate_keep_clear(labels, ANNOTATE_NEVER,
                        (struct annotate_box){view->x_mm, view->y_mm, view->width_mm, RIM_MM});
    annotate_keep_clear(labels, ANNOTATE_NEVER,
                        (struct annotate_box){view->x_mm, view->y_mm, RIM_MM, view->height_mm});
}

/* Behind its tick, or before the last one, where there is no room behind. */
static void write_number(cairo_t *cr, int px, double at, bool room)
{
    static const struct lettering_style style = {.size_pt = 7.5, .level = 255};
    char text[16];
    snprintf(text, sizeof text, "%d", px);
    lettering_draw(cr, &style, room ? LETTERING_LEFT : LETTERING_RIGHT, room ? at + 0.9 : at - 0.9,
                   RIM_MM - 1.1, text);
}

/* Along one side of the photo, from its corner to the right. */
static void draw_side(cairo_t *cr, double length_mm, double mm_per_px, int first_px, int step_px)
{
    const double number_mm = 8; /* of up to five digits */
    annotate_set(cr, annotate_ink, 0.75);
    cairo_rectangle(cr, 0, 0, length_mm, RIM_MM);
    cairo_fill(cr);
    int last_px = first_px + (int)(length_mm / mm_per_px);
    for (int px = (first_px / step_px + 1) * step_px; px < last_px; px += step_px) {
        double at = (px + 0.5 - first_px) * mm_per_px;
        annotate_set(cr, white, 1);
        cairo_rectangle(cr, at - 0.15, 0, 0.3, RIM_MM);
        cairo_fill(cr);
        const bool room = at + number_mm < length_mm;
        if (at > RIM_MM && (room || step_px * mm_per_px > 2 * number_mm))
            write_number(cr, px, at, room);
    }
}

void annotate_pixel_rim(cairo_t *cr, const struct annotate_view *view)
{
    int width = view->area.x1 - view->area.x0, height = view->area.y1 - view->area.y0;
    int step = (int)fmax(1, plot_step(fmax(width, height), RIM_TICKS));
    cairo_save(cr);
    cairo_translate(cr, view->x_mm, view->y_mm);
    draw_side(cr, view->width_mm, view->mm_per_px, view->area.x0, step);
    cairo_translate(cr, RIM_MM, 0);
    cairo_rotate(cr, 90 * RAD_PER_DEG); /* the same down the left side */
    draw_side(cr, view->height_mm, view->mm_per_px, view->area.y0, step);
    cairo_restore(cr);
}
