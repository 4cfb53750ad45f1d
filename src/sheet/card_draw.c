#include "card_draw.h"

#include "arithmetic/direction.h"
#include "drawing/lettering.h"
#include "tag36h11.h"

#include <math.h>
#include <string.h>

#define NAME_MAX_MM 1.6  /* height of capitals: larger only costs window */
#define WORDS_MIN_MM 0.9 /* height of a butt strip: in a lower one nobody could read words */
#define DARK_LEVEL 32    /* of the dark patch, as vision.h says; the butt strip matches it */

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

static int ink_level(const struct vision_card *card)
{
    return tint_is_dark(card) ? 235 : 20;
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
        cairo_rotate(cr, -card->stripe_deg * RAD_PER_DEG);
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
void marker_draw(cairo_t *cr, int id, struct vision_point middle_mm, double black_mm)
{
    double cell = black_mm / 8;
    double left = middle_mm.x - 5 * cell, top = middle_mm.y + 5 * cell;
    rectangle(cr, left, top - 10 * cell, left + 10 * cell, top);
    set_level(cr, 255);
    cairo_fill(cr);
    for (int row = 1; row < 9; row++) {
        for (int column = 1, end; column < 9; column = end + 1) {
            for (end = column; end < 9 && !tag36h11_cell_is_white(id, row, end); end++)
                ;
            if (end > column)
                rectangle(cr, left + column * cell, top - (row + 1) * cell, left + end * cell,
                          top - row * cell);
        }
    }
    set_level(cr, 0);
    cairo_fill(cr);
}

/* Points at the butt edge: a triangle hanging from the top of the strip. */
static void draw_pointer(cairo_t *cr, double x_mm, const struct vision_card_mark *strip)
{
    double height = strip->y1_mm - strip->y0_mm, half = 0.6 * height;
    cairo_move_to(cr, x_mm - half, -strip->y1_mm + 0.12 * height);
    cairo_line_to(cr, x_mm + half, -strip->y1_mm + 0.12 * height);
    cairo_line_to(cr, x_mm, -strip->y0_mm);
    cairo_close_path(cr);
    cairo_fill(cr);
}

static void draw_butt(cairo_t *cr, const struct vision_card_mark *strip, double bleed_mm)
{
    /* Capitals: in so low a strip they come out half as large again as small letters. The pointers
     * alone stand where even those would be too small. */
    static const char words[] = "THIS EDGE TO THE SERVO CASE";
    static const struct lettering_style style = {.bold = true, .level = 255, .tracking_mm = 0.35};
    double width = strip->x1_mm - strip->x0_mm, height = strip->y1_mm - strip->y0_mm;
    double middle = (strip->x0_mm + strip->x1_mm) / 2;
    rectangle(cr, strip->x0_mm - bleed_mm, strip->y0_mm - bleed_mm, strip->x1_mm + bleed_mm,
              strip->y1_mm);
    set_level(cr, DARK_LEVEL);
    cairo_fill(cr);
    if (height >= WORDS_MIN_MM)
        lettering_fitted(cr, &style, middle, -(strip->y0_mm + strip->y1_mm) / 2, 0.6 * width,
                         0.72 * height, words);
    set_level(cr, 255);
    for (int side = -1; side <= 1; side += 2)
        for (int i = 0; i < 2; i++)
            draw_pointer(cr, middle + side * width * (0.36 + 0.1 * i), strip);
}

static void draw_mark(cairo_t *cr, const struct vision_card *card,
                      const struct vision_card_mark *mark, double bleed_mm)
{
    if (mark->kind == VISION_MARK_BUTT) {
        draw_butt(cr, mark, bleed_mm);
    } else if (mark->kind == VISION_MARK_NAME) {
        struct lettering_style style = {.level = ink_level(card)};
        lettering_fitted(cr, &style, (mark->x0_mm + mark->x1_mm) / 2,
                         -(mark->y0_mm + mark->y1_mm) / 2, mark->x1_mm - mark->x0_mm,
                         fmin(0.6 * (mark->y1_mm - mark->y0_mm), NAME_MAX_MM), card->name);
    } else {
        set_level(cr, mark->kind == VISION_MARK_WHITE  ? 255
                      : mark->kind == VISION_MARK_GREY ? 128
                                                       : DARK_LEVEL);
        rectangle(cr, mark->x0_mm, mark->y0_mm, mark->x1_mm, mark->y1_mm);
        cairo_fill(cr);
    }
}

/* Thin and broken, so that it can be cut along and yet hardly changes the tint. Drawn in two halves
 * from the tip, so that the dashes mirror each other. */
static void draw_slot(cairo_t *cr, const struct vision_card *card)
{
    static const double dash_mm = 1.2;
    double half = card->slot_half_width_mm;
    cairo_set_dash(cr, &dash_mm, 1, dash_mm / 2);
    cairo_set_line_width(cr, 0.12);
    set_level(cr, ink_level(card));
    for (int side = -1; side <= 1; side += 2) {
        if (side < 0)
            cairo_arc_negative(cr, 0, 0, half, 0, -M_PI / 2);
        else
            cairo_arc(cr, 0, 0, half, 0, M_PI / 2);
        cairo_line_to(cr, -card->width_mm / 2, side * half);
        cairo_stroke(cr);
    }
}

void card_draw(cairo_t *cr, const struct vision_card *card, double bleed_mm)
{
    cairo_save(cr);
    lettering_prepare(cr);
    cairo_set_antialias(cr, CAIRO_ANTIALIAS_BEST);
    draw_tint(cr, card, bleed_mm);
    draw_slot(cr, card);
    for (int i = 0; i < card->mark_count; i++)
        draw_mark(cr, card, &card->marks[i], bleed_mm);
    for (int i = 0; i < card->marker_count; i++)
        marker_draw(cr, card->markers[i].id, card->markers[i].centre_mm, card->marker_mm);
    cairo_restore(cr);
}

void card_draw_likeness(cairo_t *cr, const struct vision_card *card)
{
    cairo_save(cr);
    draw_tint(cr, card, 0);
    for (int i = 0; i < card->mark_count; i++)
        if (card->marks[i].kind == VISION_MARK_BUTT) {
            const struct vision_card_mark *strip = &card->marks[i];
            /* Twice as high as it is, or it would be lost at the size of an illustration. */
            rectangle(cr, strip->x0_mm, strip->y0_mm, strip->x1_mm,
                      2 * strip->y1_mm - strip->y0_mm);
            set_level(cr, DARK_LEVEL);
            cairo_fill(cr);
        }
    for (int i = 0; i < card->marker_count; i++) {
        struct vision_point centre = card->markers[i].centre_mm;
        for (int white = 1; white >= 0; white--) {
            double half = card->marker_mm * (white ? 1.25 : 1) / 2;
            rectangle(cr, centre.x - half, centre.y - half, centre.x + half, centre.y + half);
            set_level(cr, white ? 255 : 0);
            cairo_fill(cr);
        }
    }
    cairo_restore(cr);
}

/* From the marker towards the edge: a line with an arrowhead, and above it the name. What is fixed
 * has a bar across instead of the head. */
void sticker_draw(cairo_t *cr, const struct vision_sticker *sticker)
{
    const struct vision_card *face = &sticker->face;
    double half = face->height_mm / 2, left = half, right = sticker->x1_mm - 0.04 * half;
    double head = 0.5 * (right - left), line_mm = 0.03 * face->height_mm;
    struct lettering_style style = {.bold = true, .level = 15};
    cairo_save(cr);
    lettering_prepare(cr);
    rectangle(cr, sticker->x0_mm, -half, sticker->x1_mm, half);
    set_level(cr, 255);
    cairo_fill(cr);
    marker_draw(cr, face->markers[0].id, face->markers[0].centre_mm, face->marker_mm);
    set_level(cr, 15);
    if (sticker->fixed) {
        rectangle(cr, left, -line_mm / 2, right, line_mm / 2);
        rectangle(cr, right - line_mm, -head, right, head);
    } else {
        rectangle(cr, left, -line_mm / 2, right - head, line_mm / 2);
        cairo_move_to(cr, right, 0);
        cairo_line_to(cr, right - head, -0.6 * head);
        cairo_line_to(cr, right - head, 0.6 * head);
        cairo_close_path(cr);
    }
    cairo_fill(cr);
    lettering_fitted(cr, &style, (left + sticker->x1_mm) / 2 - 0.03 * half, -0.62 * half,
                     0.86 * (sticker->x1_mm - left), 0.4 * half, sticker->name);
    if (sticker->fixed)
        lettering_fitted(cr, &style, (left + sticker->x1_mm) / 2 - 0.03 * half, 0.66 * half,
                         0.86 * (sticker->x1_mm - left), 0.3 * half, "FIX");
    cairo_restore(cr);
}
