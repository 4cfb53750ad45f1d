/* A parallel projection of a small scene in millimetres: x right along the card, y up the card,
 * z towards the camera. Things are painted from far to near, each covering what lies behind. */
#include "sheet_picture.h"

#include "arithmetic/direction.h"
#include "card_draw.h"
#include "drawing/lettering.h"

#include <math.h>

/* The viewer stands to the right in front of the card, 38 degrees above it. */
static const double turn_deg = 28, rise_deg = 38;

/* A servo of the small common size, to the millimetre or so: nothing is measured here. */
#define CASE_LENGTH_MM 32.0
#define CASE_WIDTH_MM 16.0
#define CASE_DEPTH_MM 17.0 /* cut short: the rest stands in the model */
#define SHAFT_IN_MM 8.0    /* from the case's end and from both its sides */
#define LUG_MM 5.0
#define LUG_DEPTH_MM 6.0 /* below the case's top */

#define ABOVE_CARD_MM 1.5  /* the case's top, where the card is pushed against its side */
#define BELOW_CARD_MM 0.8  /* the case's top, where the card lies on it */
#define HORN_HEIGHT_MM 7.0 /* its face above the card */
#define HORN_THICK_MM 2.0
#define HORN_LENGTH_MM 19.0

#define SCENE_MM 38.5 /* width of each of the two */
#define SCENE_SCALE 0.47

/* One scene on the paper: where its origin lies and how large it is. */
struct view {
    cairo_t *cr;
    double x0, y0, scale;
};

struct spot {
    double x, y, z;
};

static struct vision_point project(const struct view *view, struct spot p)
{
    double c = cos(turn_deg * RAD_PER_DEG), s = sin(turn_deg * RAD_PER_DEG);
    double right = p.x * c + p.y * s;
    double up =
        (p.y * c - p.x * s) * sin(rise_deg * RAD_PER_DEG) + p.z * cos(rise_deg * RAD_PER_DEG);
    return (struct vision_point){view->x0 + view->scale * right, view->y0 - view->scale * up};
}

static void move_to(const struct view *view, struct spot p)
{
    struct vision_point at = project(view, p);
    cairo_move_to(view->cr, at.x, at.y);
}

static void line_to(const struct view *view, struct spot p)
{
    struct vision_point at = project(view, p);
    cairo_line_to(view->cr, at.x, at.y);
}

/* Makes cr draw on the level plane through origin, from there: scene x to the right, scene y down
 * the paper negative, as card_draw's callers expect. Undo with cairo_restore. */
static void enter_plane(const struct view *view, struct spot origin)
{
    struct vision_point o = project(view, origin);
    struct vision_point x = project(view, (struct spot){origin.x + 1, origin.y, origin.z});
    struct vision_point y = project(view, (struct spot){origin.x, origin.y - 1, origin.z});
    cairo_matrix_t plane;
    cairo_matrix_init(&plane, x.x - o.x, x.y - o.y, y.x - o.x, y.y - o.y, o.x, o.y);
    cairo_save(view->cr);
    cairo_transform(view->cr, &plane);
}

/* Keeps the path. */
static void ink_outline(cairo_t *cr, double line_mm)
{
    cairo_set_source_rgb(cr, 0.1, 0.1, 0.1);
    cairo_set_line_width(cr, line_mm);
    cairo_set_line_join(cr, CAIRO_LINE_JOIN_ROUND);
    cairo_stroke_preserve(cr);
}

static void fill_and_outline(const struct view *view, double level, double line_mm)
{
    cairo_set_source_rgb(view->cr, level, level, level);
    cairo_fill_preserve(view->cr);
    ink_outline(view->cr, line_mm);
    cairo_new_path(view->cr);
}

static void quad(const struct view *view, struct spot a, struct spot b, struct spot c,
                 struct spot d, double level)
{
    move_to(view, a);
    line_to(view, b);
    line_to(view, c);
    line_to(view, d);
    cairo_close_path(view->cr);
    fill_and_outline(view, level, 0.18);
}

/* A box seen from above: its front (towards -y), its right side and its top. */
static void box(const struct view *view, struct spot low, struct spot high)
{
    struct spot top_a = {low.x, low.y, high.z}, top_b = {high.x, low.y, high.z};
    struct spot top_c = high, top_d = {low.x, high.y, high.z};
    struct spot foot_a = low, foot_b = {high.x, low.y, low.z}, foot_c = {high.x, high.y, low.z};
    quad(view, foot_a, foot_b, top_b, top_a, 0.86);
    quad(view, foot_b, foot_c, top_c, top_b, 0.76);
    quad(view, top_a, top_b, top_c, top_d, 0.96);
}

/* The outline of the card on its own plane, with the slot cut out or whole. */
static void trace_card(cairo_t *cr, const struct vision_card *card, bool cut)
{
    double w = card->width_mm / 2, h = card->height_mm / 2, half = card->slot_half_width_mm;
    cairo_new_path(cr);
    cairo_move_to(cr, -w, h);
    cairo_line_to(cr, w, h);
    cairo_line_to(cr, w, -h);
    cairo_line_to(cr, -w, -h);
    if (cut) {
        cairo_line_to(cr, -w, -half);
        cairo_arc(cr, 0, 0, half, -90 * RAD_PER_DEG, 90 * RAD_PER_DEG);
        cairo_line_to(cr, -w, half);
    }
    cairo_close_path(cr);
}

static void draw_card(const struct view *view, const struct vision_card *card, bool cut)
{
    cairo_t *cr = view->cr;
    cairo_save(cr);
    enter_plane(view, (struct spot){0, 0, 0});
    trace_card(cr, card, cut);
    cairo_restore(cr);
    cairo_clip_preserve(cr);
    enter_plane(view, (struct spot){0, 0, 0});
    cairo_new_path(cr);
    card_draw_likeness(cr, card);
    cairo_restore(cr);
    cairo_restore(cr);
    enter_plane(view, (struct spot){0, 0, 0});
    trace_card(cr, card, cut);
    cairo_restore(cr);
    ink_outline(cr, 0.15);
    cairo_new_path(cr);
}

/* Which way the card is moved: an arrow that lies on it, from a point along a direction. */
static void draw_move(const struct view *view, double x, double y, double turn)
{
    static const double outline[][2] = {{0, -1.3}, {9, -1.3}, {9, -3.4}, {15, 0},
                                        {9, 3.4},  {9, 1.3},  {0, 1.3}};
    cairo_t *cr = view->cr;
    enter_plane(view, (struct spot){x, y, 0});
    cairo_rotate(cr, -turn * RAD_PER_DEG);
    cairo_new_path(cr);
    for (size_t i = 0; i < sizeof outline / sizeof outline[0]; i++)
        cairo_line_to(cr, outline[i][0], outline[i][1]);
    cairo_close_path(cr);
    cairo_restore(cr);
    cairo_set_source_rgb(cr, 1, 1, 1);
    cairo_set_line_width(cr, 0.7);
    cairo_stroke_preserve(cr);
    cairo_set_source_rgb(cr, 0.1, 0.1, 0.1);
    cairo_fill(cr);
}

/* A horn with one arm, seen from above: round hub, tapering sides, round tip. */
static void trace_horn(cairo_t *cr)
{
    const double hub = 4.2, tip = 2.3;
    double lean = asin((hub - tip) / HORN_LENGTH_MM); /* of the sides, which touch both circles */
    cairo_new_path(cr);
    cairo_arc(cr, 0, 0, hub, -lean, M_PI + lean);
    cairo_arc(cr, 0, -HORN_LENGTH_MM, tip, M_PI + lean, 2 * M_PI - lean);
    cairo_close_path(cr);
}

/* at: the axis, on the horn's face. */
static void draw_horn(const struct view *view, struct spot at)
{
    cairo_t *cr = view->cr;
    for (int layer = 0; layer < 2; layer++) {
        enter_plane(view, (struct spot){at.x, at.y, at.z + (layer - 1) * HORN_THICK_MM});
        trace_horn(cr);
        cairo_restore(cr);
        fill_and_outline(view, layer ? 1.0 : 0.5, 0.18);
    }
    enter_plane(view, at);
    cairo_new_path(cr);
    for (int i = 0; i < 3; i++) {
        cairo_new_sub_path(cr);
        cairo_arc(cr, 0, -9.5 - 4.4 * i, 0.75, 0, 2 * M_PI);
    }
    cairo_new_sub_path(cr);
    cairo_arc(cr, 0, 0, 1.8, 0, 2 * M_PI);
    cairo_restore(cr);
    fill_and_outline(view, 0.35, 0.1);
}

/* A standing cylinder, from foot up to the height top. */
static void draw_post(const struct view *view, struct spot foot, double top, double radius,
                      double level)
{
    cairo_t *cr = view->cr;
    /* Discs one on the other, close enough to look like one body; the last one is its face. */
    const int discs = 24;
    for (int i = 0; i <= discs; i++) {
        enter_plane(view, (struct spot){foot.x, foot.y, foot.z + (top - foot.z) * i / discs});
        cairo_new_path(cr);
        cairo_arc(cr, 0, 0, radius, 0, 2 * M_PI);
        cairo_restore(cr);
        if (i == 0)
            ink_outline(cr, 0.36); /* half of it shows, below the body */
        cairo_set_source_rgb(cr, level, level, level);
        cairo_fill_preserve(cr);
        if (i == discs)
            ink_outline(cr, 0.12);
        cairo_new_path(cr);
    }
}

/* The servo with its shaft's axis at (shaft.x, shaft.y) and the top of its case at shaft.z. Its
 * long side lies along x, and the shaft stands near its right end. */
static void draw_servo(const struct view *view, struct spot shaft)
{
    double right = shaft.x + SHAFT_IN_MM, left = right - CASE_LENGTH_MM;
    double front = shaft.y - CASE_WIDTH_MM / 2, back = shaft.y + CASE_WIDTH_MM / 2;
    double lug = shaft.z - LUG_DEPTH_MM, foot = shaft.z - CASE_DEPTH_MM;
    box(view, (struct spot){left - LUG_MM, front, lug - 1.6}, (struct spot){left, back, lug});
    box(view, (struct spot){left, front, foot}, (struct spot){right, back, shaft.z});
    box(view, (struct spot){right, front, lug - 1.6}, (struct spot){right + LUG_MM, back, lug});
    draw_post(view, shaft, shaft.z + 0.6, 5, 0.86);
}

/* The card beside the servo: pushed against the case's side, the arm reaching in over the dark edge
 * between two markers. */
static void draw_beside(const struct view *view, const struct vision_card *card)
{
    struct spot shaft = {0, -card->height_mm / 2 - CASE_WIDTH_MM / 2, ABOVE_CARD_MM};
    draw_card(view, card, false);
    draw_move(view, 14, 9, -90);
    draw_servo(view, shaft);
    draw_post(view, shaft, HORN_HEIGHT_MM - HORN_THICK_MM, 2.4, 0.3);
    draw_horn(view, (struct spot){shaft.x, shaft.y, HORN_HEIGHT_MM});
}

/* The card between horn and case, its slot slipped round the shaft. */
static void draw_round_shaft(const struct view *view, const struct vision_card *card)
{
    struct spot shaft = {0, 0, -BELOW_CARD_MM};
    draw_servo(view, shaft);
    draw_card(view, card, true);
    draw_move(view, 22, -8, 180);
    draw_post(view, shaft, HORN_HEIGHT_MM - HORN_THICK_MM, 2.4, 0.3);
    draw_horn(view, (struct spot){0, 0, HORN_HEIGHT_MM});
}

/* ---- On the paper ------------------------------------------------------------------------------
 */

static void write_caption(cairo_t *cr, double x, double y, const char *heading, const char *text)
{
    static const struct lettering_style bold = {.size_pt = 6.6, .bold = true, .level = 15};
    static const struct lettering_style plain = {.size_pt = 6.2, .level = 60};
    lettering_draw(cr, &bold, LETTERING_LEFT, x, y, heading);
    lettering_paragraph(cr, &plain, x, y + 3.1, SCENE_MM, text);
}

void sheet_picture_draw(cairo_t *cr, const struct sheet_rect *place, const struct vision_card *card)
{
    double left = place->x, right = place->x + place->width - SCENE_MM;
    double words = place->y + place->height - 5.6, middle = SCENE_MM / 2;
    cairo_save(cr);
    draw_beside(&(struct view){cr, left + middle + 1, place->y + 16, SCENE_SCALE}, card);
    draw_round_shaft(&(struct view){cr, right + middle - 1.5, place->y + 18.5, SCENE_SCALE}, card);
    write_caption(cr, left, words, "Beside the servo",
                  "dark edge against the servo case,\nhub on the servo");
    write_caption(cr, right, words, "Round the shaft",
                  "slot cut, leads away from the arm,\ndark edge along the case");
    cairo_restore(cr);
}
