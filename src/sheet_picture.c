/* A parallel projection of a small scene in millimetres: x right along the card, y up the card,
 * z towards the camera. Things are painted from far to near, each covering what lies behind. */
#include "sheet_picture.h"

#include "card_draw.h"
#include "direction.h"
#include "lettering.h"

#include <math.h>

/* The viewer stands to the right in front of the card, 33 degrees above it. */
static const double turn_deg = 33, rise_deg = 33;

#define CASE_MM 12.0       /* the servo's case reaches so far below the card */
#define HORN_HEIGHT_MM 7.0 /* above the card */
#define CAMERA_HEIGHT_MM 48.0

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

/* Makes cr draw on the plane at height z: scene x to the right, scene y down the paper negative, as
 * card_draw's callers expect. Undo with cairo_restore. */
static void enter_plane(const struct view *view, double z)
{
    struct vision_point o = project(view, (struct spot){0, 0, z});
    struct vision_point x = project(view, (struct spot){1, 0, z});
    struct vision_point y = project(view, (struct spot){0, -1, z});
    cairo_matrix_t plane;
    cairo_matrix_init(&plane, x.x - o.x, x.y - o.y, y.x - o.x, y.y - o.y, o.x, o.y);
    cairo_save(view->cr);
    cairo_transform(view->cr, &plane);
}

static void fill_and_outline(const struct view *view, double level, double line_mm)
{
    cairo_set_source_rgb(view->cr, level, level, level);
    cairo_fill_preserve(view->cr);
    cairo_set_source_rgb(view->cr, 0.1, 0.1, 0.1);
    cairo_set_line_width(view->cr, line_mm);
    cairo_set_line_join(view->cr, CAIRO_LINE_JOIN_ROUND);
    cairo_stroke(view->cr);
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

static void outline_card(const struct view *view, const struct vision_card *card)
{
    double w = card->width_mm / 2, h = card->height_mm / 2;
    enter_plane(view, 0);
    card_draw_likeness(view->cr, card);
    cairo_restore(view->cr);
    move_to(view, (struct spot){-w, -h, 0});
    line_to(view, (struct spot){w, -h, 0});
    line_to(view, (struct spot){w, h, 0});
    line_to(view, (struct spot){-w, h, 0});
    cairo_close_path(view->cr);
    cairo_set_source_rgb(view->cr, 0.1, 0.1, 0.1);
    cairo_set_line_width(view->cr, 0.15);
    cairo_stroke(view->cr);
}

/* A horn with one arm, seen from above: round hub, tapering sides, round tip, three holes. */
static void trace_horn(cairo_t *cr)
{
    const double hub = 4.4, tip = 2.3, length = 17;
    double lean = asin((hub - tip) / length); /* of the sides, which touch both circles */
    cairo_new_path(cr);
    cairo_arc(cr, 0, 0, hub, -lean, M_PI + lean);
    cairo_arc(cr, 0, -length, tip, M_PI + lean, 2 * M_PI - lean);
    cairo_close_path(cr);
}

static void draw_horn(const struct view *view)
{
    cairo_t *cr = view->cr;
    static const double thickness_mm = 2;
    for (int layer = 0; layer < 2; layer++) {
        enter_plane(view, HORN_HEIGHT_MM + (layer - 1) * thickness_mm);
        trace_horn(cr);
        cairo_restore(cr);
        fill_and_outline(view, layer ? 1.0 : 0.5, 0.18);
    }
    enter_plane(view, HORN_HEIGHT_MM);
    cairo_new_path(cr);
    for (int i = 0; i < 3; i++) {
        cairo_new_sub_path(cr);
        cairo_arc(cr, 0, -8.5 - 4.2 * i, 0.75, 0, 2 * M_PI);
    }
    cairo_new_sub_path(cr);
    cairo_arc(cr, 0, 0, 1.8, 0, 2 * M_PI);
    cairo_restore(cr);
    fill_and_outline(view, 0.35, 0.1);
}

static void draw_shaft(const struct view *view)
{
    cairo_t *cr = view->cr;
    /* Discs one on the other, close enough to look like one body. */
    const int discs = 24;
    for (int i = 0; i <= discs; i++) {
        enter_plane(view, (HORN_HEIGHT_MM - 2) * i / discs);
        cairo_new_path(cr);
        cairo_arc(cr, 0, 0, 2.6, 0, 2 * M_PI);
        cairo_restore(cr);
        cairo_set_source_rgb(cr, 0.3, 0.3, 0.3);
        cairo_fill(cr);
    }
}

static void draw_sight(const struct view *view, const struct vision_card *card)
{
    static const double dash_mm[] = {0.9, 0.7};
    struct spot lens = {0, 0, CAMERA_HEIGHT_MM};
    cairo_set_source_rgb(view->cr, 0.35, 0.35, 0.35);
    cairo_set_line_width(view->cr, 0.12);
    cairo_set_dash(view->cr, dash_mm, 2, 0);
    for (int i = 0; i < 4; i++) {
        double x = (i & 1 ? 0.5 : -0.5) * card->width_mm,
               y = (i & 2 ? 0.5 : -0.5) * card->height_mm;
        move_to(view, lens);
        line_to(view, (struct spot){x, y, 0});
    }
    cairo_stroke(view->cr);
    cairo_set_dash(view->cr, NULL, 0, 0);
}

/* A telephone held level, and on its screen what it should show: the whole card and the horn. */
static void draw_camera(const struct view *view, const struct vision_card *card)
{
    const double z = CAMERA_HEIGHT_MM, top = CAMERA_HEIGHT_MM + 3;
    box(view, (struct spot){-34, -17, z}, (struct spot){34, 17, top});
    quad(view, (struct spot){-31, -15, top}, (struct spot){31, -15, top},
         (struct spot){31, 15, top}, (struct spot){-31, 15, top}, 0.9);
    enter_plane(view, top);
    cairo_scale(view->cr, 0.55, 0.55);
    card_draw_likeness(view->cr, card);
    trace_horn(view->cr);
    cairo_restore(view->cr);
    fill_and_outline(view, 1, 0.12);
}

static void label(const struct view *view, struct spot at, double x, double y,
                  enum lettering_align align, const char *heading, const char *text)
{
    static const struct lettering_style bold = {.size_pt = 6.2, .bold = true, .level = 20};
    static const struct lettering_style plain = {.size_pt = 6.0, .level = 80};
    cairo_t *cr = view->cr;
    double lead = align == LETTERING_LEFT ? -1.2 : 1.2;
    move_to(view, at);
    cairo_line_to(cr, x + lead, y - 0.8);
    cairo_set_source_rgb(cr, 0.1, 0.1, 0.1);
    cairo_set_line_width(cr, 0.12);
    cairo_stroke(cr);
    struct vision_point dot = project(view, at);
    cairo_arc(cr, dot.x, dot.y, 0.4, 0, 2 * M_PI);
    cairo_fill(cr);
    lettering_draw(cr, &bold, align, x, y, heading);
    lettering_draw(cr, &plain, align, x, y + 2.7, text);
}

void sheet_picture_draw(cairo_t *cr, const struct sheet_rect *place, const struct vision_card *card)
{
    struct view view = {cr, place->x + 30, place->y + place->height - 14.8, 0.5};
    double half_h = card->height_mm / 2, half_w = card->width_mm / 2;
    cairo_save(cr);
    /* The servo: its case under the card, and the part of it that the dark edge meets. */
    box(&view, (struct spot){-16, -half_h, -CASE_MM}, (struct spot){16, 12, -4});
    box(&view, (struct spot){-16, -half_h - 9, -CASE_MM}, (struct spot){16, -half_h, 0});
    outline_card(&view, card);
    draw_shaft(&view);
    draw_sight(&view, card);
    draw_horn(&view);
    draw_camera(&view, card);
    double x = place->x + 60, y = place->y + 3;
    label(&view, (struct spot){34, 12, CAMERA_HEIGHT_MM + 1.5}, x, y, LETTERING_LEFT, "camera",
          "roughly square on");
    label(&view, (struct spot){0, 17, HORN_HEIGHT_MM}, x, y + 13, LETTERING_LEFT, "horn",
          "flat above the card");
    label(&view, (struct spot){half_w, 0, 0}, x, y + 24, LETTERING_LEFT, "card",
          "all of it in view");
    label(&view, (struct spot){half_w / 2, -half_h, 0}, x, y + 35, LETTERING_LEFT, "dark edge",
          "against the servo case");
    cairo_restore(cr);
}
