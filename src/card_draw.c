#include "card_draw.h"

#include "tag36h11.h"

#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846

/* Card to paper: y turns round. Everything below speaks card millimetres and passes through these.
 */
static void rectangle(cairo_t *cr, double x0_mm, double y0_mm, double x1_mm, double y1_mm)
{
    cairo_rectangle(cr, x0_mm, -y1_mm, x1_mm - x0_mm, y1_mm - y0_mm);
}

static void set_srgb(cairo_t *cr, const uint8_t srgb[3])
{
    cairo_set_source_rgb(cr, srgb[0] / 255.0, srgb[1] / 255.0, srgb[2] / 255.0);
}

static void set_level(cairo_t *cr, int level)
{
    cairo_set_source_rgb(cr, level / 255.0, level / 255.0, level / 255.0);
}

/* Luma of the darker tint: tells whether lines on it must be light or dark. */
static bool tint_is_dark(const struct vision_card *card)
{
    const uint8_t *t = card->tint_srgb[0];
    return 0.299 * t[0] + 0.587 * t[1] + 0.114 * t[2] < 110;
}

static void set_ink(cairo_t *cr, const struct vision_card *card)
{
    set_level(cr, tint_is_dark(card) ? 235 : 20);
}

/* Stripes number i = floor(along / stripe_mm), where along is the distance from the centre in the
 * direction stripe_deg; odd ones carry the second tint. */
static void draw_tint(cairo_t *cr, const struct vision_card *card, double bleed_mm)
{
    double half_w = card->width_mm / 2 + bleed_mm, half_h = card->height_mm / 2 + bleed_mm;
    cairo_save(cr);
    rectangle(cr, -half_w, -half_h, half_w, half_h);
    cairo_clip(cr);
    set_srgb(cr, card->tint_srgb[0]);
    cairo_paint(cr);
    if (memcmp(card->tint_srgb[0], card->tint_srgb[1], 3) != 0) {
        double reach = hypot(half_w, half_h);
        int last = (int)ceil(reach / card->stripe_mm);
        cairo_rotate(cr, -card->stripe_deg * PI / 180);
        for (int i = -last; i <= last; i++)
            if (i & 1)
                cairo_rectangle(cr, i * card->stripe_mm, -reach, card->stripe_mm, 2 * reach);
        set_srgb(cr, card->tint_srgb[1]);
        cairo_fill(cr);
    }
    cairo_restore(cr);
}

/* The black cells go into one path and are filled at once: cells filled one by one would show
 * hairlines between them where a viewer smooths their edges. */
static void draw_marker(cairo_t *cr, const struct vision_card *card, int which)
{
    double cell = card->marker_mm / 8;
    struct vision_point centre = card->markers[which].centre_mm;
    double left = centre.x - 5 * cell, top = centre.y + 5 * cell;
    rectangle(cr, left, top - 10 * cell, left + 10 * cell, top);
    set_level(cr, 255);
    cairo_fill(cr);
    for (int row = 1; row < 9; row++) {
        for (int column = 1, end; column < 9; column = end + 1) {
            for (end = column;
                 end < 9 && !tag36h11_cell_is_white(card->markers[which].id, row, end); end++)
                ;
            if (end > column)
                rectangle(cr, left + column * cell, top - (row + 1) * cell, left + end * cell,
                          top - row * cell);
        }
    }
    set_level(cr, 0);
    cairo_fill(cr);
}

/* Text as large as fits the box, its middle in the box's middle. */
static void draw_words(cairo_t *cr, const char *words, double middle_x_mm, double middle_y_mm,
                       double width_mm, double height_mm)
{
    cairo_font_extents_t font;
    cairo_text_extents_t text;
    cairo_select_font_face(cr, "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(cr, height_mm);
    cairo_font_extents(cr, &font);
    cairo_text_extents(cr, words, &text);
    double shrink = fmin(height_mm / (font.ascent + font.descent), width_mm / text.x_advance);
    cairo_set_font_size(cr, height_mm * shrink);
    cairo_font_extents(cr, &font);
    cairo_text_extents(cr, words, &text);
    cairo_move_to(cr, middle_x_mm - text.x_advance / 2,
                  -middle_y_mm + (font.ascent - font.descent) / 2);
    cairo_show_text(cr, words);
}

static void draw_butt(cairo_t *cr, const struct vision_card_mark *mark, double bleed_mm)
{
    double height = mark->y1_mm - mark->y0_mm, middle_y = (mark->y0_mm + mark->y1_mm) / 2;
    double middle_x = (mark->x0_mm + mark->x1_mm) / 2;
    rectangle(cr, mark->x0_mm - bleed_mm, mark->y0_mm - bleed_mm, mark->x1_mm + bleed_mm,
              mark->y1_mm);
    set_level(cr, 32);
    cairo_fill(cr);
    set_level(cr, 255);
    draw_words(cr, "this edge to the servo case", middle_x, middle_y,
               0.8 * (mark->x1_mm - mark->x0_mm), height);
}

static void draw_mark(cairo_t *cr, const struct vision_card *card,
                      const struct vision_card_mark *mark, double bleed_mm)
{
    if (mark->kind == VISION_MARK_BUTT) {
        draw_butt(cr, mark, bleed_mm);
    } else if (mark->kind == VISION_MARK_NAME) {
        set_ink(cr, card);
        draw_words(cr, card->name, (mark->x0_mm + mark->x1_mm) / 2, (mark->y0_mm + mark->y1_mm) / 2,
                   mark->x1_mm - mark->x0_mm, mark->y1_mm - mark->y0_mm);
    } else {
        set_level(cr, mark->kind == VISION_MARK_WHITE  ? 255
                      : mark->kind == VISION_MARK_GREY ? 128
                                                       : 32);
        rectangle(cr, mark->x0_mm, mark->y0_mm, mark->x1_mm, mark->y1_mm);
        cairo_fill(cr);
    }
}

/* Thin and broken, so that it can be cut along and yet hardly changes the tint. */
static void draw_slot(cairo_t *cr, const struct vision_card *card)
{
    static const double dashes_mm[] = {1.2, 1.2};
    double half = card->slot_half_width_mm;
    cairo_move_to(cr, -card->width_mm / 2, -half);
    cairo_arc(cr, 0, 0, half, -PI / 2, PI / 2);
    cairo_line_to(cr, -card->width_mm / 2, half);
    cairo_set_dash(cr, dashes_mm, 2, 0);
    cairo_set_line_width(cr, 0.12);
    set_ink(cr, card);
    cairo_stroke(cr);
}

void card_draw(cairo_t *cr, const struct vision_card *card, double bleed_mm)
{
    cairo_save(cr);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_set_font_options(cr, options);
    cairo_font_options_destroy(options);
    cairo_set_antialias(cr, CAIRO_ANTIALIAS_BEST);
    draw_tint(cr, card, bleed_mm);
    draw_slot(cr, card);
    for (int i = 0; i < card->mark_count; i++)
        draw_mark(cr, card, &card->marks[i], bleed_mm);
    for (int i = 0; i < card->marker_count; i++)
        draw_marker(cr, card, i);
    cairo_restore(cr);
}
