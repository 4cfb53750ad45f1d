/* Draws the page: heading, cards with cut marks, print-check bars, how to use it, cautions. */
#include "sheet.h"

#include "base/cautions.h"
#include "card_draw.h"
#include "drawing/lettering.h"
#include "sheet_picture.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define BLEED_MM 0.5
#define CUT_OFFSET_MM 1.2 /* clear of the bleed, so that a mark never touches the card */
#define CUT_LENGTH_MM 3.0
#define BESIDE_BAR_MM 8.0  /* from the standing bar's left side: with its figures */
#define BAR_CAPTION_MM 7.5 /* from its end to a line below its name */

static const struct lettering_style title = {.size_pt = 20, .bold = true, .level = 15};
static const struct lettering_style subtitle = {.size_pt = 7.6, .level = 70};
static const struct lettering_style strong = {.size_pt = 9, .bold = true, .level = 15};
static const struct lettering_style heading = {.size_pt = 7.4, .bold = true, .level = 15};
static const struct lettering_style body = {.size_pt = 6.6, .level = 45};
static const struct lettering_style command = {.size_pt = 5.9, .mono = true, .level = 15};
static const struct lettering_style numeral = {.size_pt = 9.5, .bold = true, .level = 140};
static const struct lettering_style small = {.size_pt = 5.8, .level = 100};
static const struct lettering_style caption = {.size_pt = 6.2, .bold = true, .level = 15};

static void set_level(cairo_t *cr, int level)
{
    cairo_set_source_rgb(cr, level / 255.0, level / 255.0, level / 255.0);
}

static void rule(cairo_t *cr, double x0, double y0, double x1, double y1, double width_mm,
                 int level)
{
    set_level(cr, level);
    cairo_set_line_width(cr, width_mm);
    cairo_move_to(cr, x0, y0);
    cairo_line_to(cr, x1, y1);
    cairo_stroke(cr);
}

static void draw_header(cairo_t *cr, const struct sheet *sheet)
{
    const struct sheet_rect *at = &sheet->header;
    double right = at->x + at->width;
    lettering_draw(cr, &title, LETTERING_LEFT, at->x - 0.4, at->y + 5.6, "armsquare");
    lettering_draw(cr, &subtitle, LETTERING_LEFT, at->x, at->y + 9.8,
                   "Cards for measuring servo horns, cranks and arms from a photo");
    lettering_draw(cr, &strong, LETTERING_RIGHT, right, at->y + 5.6,
                   "Print at 100 %, not “fit to page”");
    char line[80];
    snprintf(line, sizeof line, "%s, %g \u00d7 %g mm", sheet->paper->title, sheet->paper->width_mm,
             sheet->paper->height_mm);
    lettering_draw(cr, &subtitle, LETTERING_RIGHT, right, at->y + 9.8, line);
    rule(cr, at->x, at->y + at->height, right, at->y + at->height, 0.25, 15);
}

/* What a card is for and how large it is, under the card. */
static void draw_caption(cairo_t *cr, const struct vision_card *card, const struct sheet_rect *at)
{
    static const struct {
        const char *size, *use;
    } uses[] = {
        {"hand", "most horns (ISO/IEC 7810 ID-1)"},
        {"long", "long horns and cranks (ISO 216 A6)"},
        {"frame", "a servo inside frames"},
        {"mini", "tail cranks"},
    };
    char line[96];
    double x = at->x, y = at->y + at->height + 3.5;
    lettering_draw(cr, &caption, LETTERING_LEFT, x + 1, y, card->size);
    x += lettering_width(cr, &caption, card->size) + 2.4;
    const char *use = "";
    for (size_t i = 0; i < sizeof uses / sizeof uses[0]; i++)
        if (strcmp(uses[i].size, card->size) == 0)
            use = uses[i].use;
    snprintf(line, sizeof line, "%g \u00d7 %g mm, %s", card->width_mm, card->height_mm, use);
    lettering_draw(cr, &small, LETTERING_LEFT, x, y, line);
}

static void draw_cut_marks(cairo_t *cr, const struct sheet_rect *at)
{
    for (int corner = 0; corner < 4; corner++) {
        int sx = corner & 1 ? 1 : -1, sy = corner & 2 ? 1 : -1;
        double x = at->x + (sx > 0 ? at->width : 0), y = at->y + (sy > 0 ? at->height : 0);
        rule(cr, x + sx * CUT_OFFSET_MM, y, x + sx * (CUT_OFFSET_MM + CUT_LENGTH_MM), y, 0.1, 40);
        rule(cr, x, y + sy * CUT_OFFSET_MM, x, y + sy * (CUT_OFFSET_MM + CUT_LENGTH_MM), 0.1, 40);
    }
}

static void draw_cards(cairo_t *cr, const struct sheet *sheet)
{
    for (int i = 0; i < sheet->card_count; i++) {
        const struct sheet_rect *at = &sheet->cards[i].at;
        draw_cut_marks(cr, at);
        cairo_save(cr);
        cairo_translate(cr, at->x + at->width / 2, at->y + at->height / 2);
        card_draw(cr, sheet->cards[i].card, BLEED_MM);
        cairo_restore(cr);
        draw_caption(cr, sheet->cards[i].card, at);
    }
}

/* "A, B": the letters of the sheet's stickers for cranks, or of those that stay where they are, as
 * the alphabet has them. Each comes in several sizes. */
static void list_letters(const struct sheet *sheet, bool fixed, char *out, size_t size)
{
    out[0] = '\0';
    for (const char *letter = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"; *letter; letter++) {
        bool there = false;
        for (int i = 0; i < sheet->sticker_count; i++)
            there = there || (sheet->stickers[i].sticker->fixed == fixed &&
                              sheet->stickers[i].sticker->name[0] == *letter);
        size_t length = strlen(out);
        if (there)
            snprintf(out + length, size - length, "%s%c", length > 0 ? ", " : "", *letter);
    }
}

/* A hairline round each is enough to cut along: they are white to the edge. */
static void draw_stickers(cairo_t *cr, const struct sheet *sheet)
{
    if (sheet->sticker_count < 1)
        return;
    for (int i = 0; i < sheet->sticker_count; i++) {
        const struct sheet_rect *at = &sheet->stickers[i].at;
        const struct vision_sticker *sticker = sheet->stickers[i].sticker;
        cairo_save(cr);
        cairo_translate(cr, at->x - sticker->x0_mm, at->y + at->height / 2);
        sticker_draw(cr, sticker);
        cairo_restore(cr);
        set_level(cr, 130);
        cairo_set_line_width(cr, 0.1);
        cairo_rectangle(cr, at->x, at->y, at->width, at->height);
        cairo_stroke(cr);
    }
    const struct sheet_rect *block = &sheet->sticker_block;
    double x = block->x, y = block->y + block->height + 3.5;
    lettering_draw(cr, &caption, LETTERING_LEFT, x, y, "stickers");
    x += lettering_width(cr, &caption, "stickers") + 1.4;
    char cranks[32], fixed[32], text[120];
    list_letters(sheet, false, cranks, sizeof cranks);
    list_letters(sheet, true, fixed, sizeof fixed);
    snprintf(text, sizeof text, "%s on hidden cranks, %s fixed beside", cranks, fixed);
    lettering_draw(cr, &small, LETTERING_LEFT, x, y, text);
}

/* A bar of ten steps in two rows, black and white by turns, so that both its ends are sharp black
 * edges. Drawn lying along +x from the origin. */
static void draw_bar(cairo_t *cr)
{
    const double step = SHEET_BAR_MM / 10, half = SHEET_BAR_THICK_MM / 2, line = 0.15;
    /* One fill for all: drawn one over the other, the shades of their edges would add up and move
     * the ends; a stroke would do so too, as readers put strokes on whole pixels. */
    for (int i = 0; i < 10; i++)
        cairo_rectangle(cr, i * step, (i & 1) * half, step, half);
    cairo_rectangle(cr, 0, 0, SHEET_BAR_MM, line);
    cairo_rectangle(cr, 0, SHEET_BAR_THICK_MM - line, SHEET_BAR_MM, line);
    cairo_rectangle(cr, 0, 0, line, SHEET_BAR_THICK_MM);
    cairo_rectangle(cr, SHEET_BAR_MM - line, 0, line, SHEET_BAR_THICK_MM);
    set_level(cr, 0);
    cairo_fill(cr);
    for (int i = 0; i <= 20; i++) {
        double length = i % 10 == 0 ? 1.6 : i % 2 == 0 ? 1.1 : 0.6;
        double x = i == 0 ? 0.05 : i == 20 ? SHEET_BAR_MM - 0.05 : i * step / 2;
        rule(cr, x, SHEET_BAR_THICK_MM + 0.5, x, SHEET_BAR_THICK_MM + 0.5 + length, 0.1, 15);
    }
    static const char *const figures[] = {"0", "50", "100"};
    for (int i = 0; i < 3; i++)
        lettering_draw(cr, &small, LETTERING_MIDDLE, i * SHEET_BAR_MM / 2, SHEET_BAR_THICK_MM + 4.3,
                       figures[i]);
}

static void draw_bars(cairo_t *cr, const struct sheet *sheet)
{
    const struct sheet_rect *x_bar = &sheet->bar_x, *y_bar = &sheet->bar_y;
    cairo_save(cr);
    cairo_translate(cr, x_bar->x, x_bar->y);
    draw_bar(cr);
    cairo_restore(cr);
    cairo_save(cr);
    cairo_translate(cr, y_bar->x, y_bar->y + y_bar->height);
    cairo_rotate(cr, -M_PI / 2);
    draw_bar(cr);
    cairo_restore(cr);

    lettering_draw(cr, &caption, LETTERING_LEFT, x_bar->x + SHEET_BAR_MM + 4, x_bar->y + 1.9,
                   "x bar");
    lettering_draw(cr, &small, LETTERING_LEFT, x_bar->x + SHEET_BAR_MM + 4, x_bar->y + 4.7,
                   "100.0 mm from end to end");
    lettering_draw(cr, &caption, LETTERING_LEFT, y_bar->x, y_bar->y + y_bar->height + 2.9, "y bar");
}

struct step {
    const char *heading, *text, *command;
};

static const struct step steps[] = {
    {"Print", "At 100 % (“actual size”), on matt paper: gloss mirrors the lamp.", NULL},
    {"Check",
     "Measure both bars with calipers, end to end. Each should be 100.0 mm. If not, tell "
     "the program what you read, x bar first:",
     "armsquare measure\n --bars 99.6,100.2\n photo.jpg"},
    {"Glue and cut",
     "Glue to flat card stock, cut from corner mark to corner mark. Cut the dashed "
     "slot only where a shaft is in the way.",
     NULL},
    {"Place",
     "Servo at neutral. Card behind the arm, flat and level with it, dark edge against the servo "
     "case: that edge is the reference. The hub stands beside the card, the arm best between two "
     "markers; or in the cut slot, which leads away from the arm.",
     NULL},
    {"Shoot",
     "Roughly square on, whole card and hub in the picture, all of it sharp. Soft light, no flash.",
     NULL},
    {"Measure", "How far the arm is from square, how sure that is, and which way to turn it:",
     "armsquare measure photo.jpg"},
    {"Set", "Which arm on which tooth of the spline, and what sub-trim is left:",
     "armsquare advise photo.jpg\n --teeth 25"},
};

static double draw_step(cairo_t *cr, const struct step *step, int number, double x, double y,
                        double width)
{
    char figure[4];
    snprintf(figure, sizeof figure, "%d", number);
    lettering_draw(cr, &numeral, LETTERING_LEFT, x, y, figure);
    lettering_draw(cr, &heading, LETTERING_LEFT, x + 3.6, y, step->heading);
    y = lettering_paragraph(cr, &body, x, y + 3.4, width, step->text);
    if (step->command)
        y = lettering_paragraph(cr, &command, x, y + 0.6, width, step->command);
    return y + 2.4;
}

/* The usual sign for "take care": a triangle with an exclamation mark. (x, y): left end of its
 * foot. */
static void draw_care(cairo_t *cr, double x, double y, double side)
{
    set_level(cr, 15);
    cairo_move_to(cr, x, y);
    cairo_line_to(cr, x + side, y);
    cairo_line_to(cr, x + side / 2, y - side * 0.866);
    cairo_close_path(cr);
    cairo_set_line_join(cr, CAIRO_LINE_JOIN_ROUND);
    cairo_set_line_width(cr, 0.09 * side);
    cairo_stroke(cr);
    cairo_rectangle(cr, x + 0.46 * side, y - 0.58 * side, 0.08 * side, 0.29 * side);
    cairo_rectangle(cr, x + 0.46 * side, y - 0.21 * side, 0.08 * side, 0.08 * side);
    cairo_fill(cr);
}

/* Returns the baseline that a following line would have. */
static double draw_cautions(cairo_t *cr, double x, double y, double width)
{
    rule(cr, x, y, x + width, y, 0.25, 15);
    draw_care(cr, x + 0.2, y + 5, 3.4);
    lettering_draw(cr, &heading, LETTERING_LEFT, x + 5, y + 4.7, "Before power");
    y = lettering_paragraph(cr, &body, x, y + 8.8, width, CAUTION_POWER);
    return lettering_paragraph(cr, &body, x, y + 0.9, width, CAUTION_RULES_IN_PRINT);
}

/* How high they are in so wide a column: drawn where nothing shows. */
static double cautions_height(cairo_t *cr, double width)
{
    cairo_save(cr);
    cairo_rectangle(cr, 0, 0, 0, 0);
    cairo_clip(cr);
    double height = draw_cautions(cr, 0, 0, width);
    cairo_restore(cr);
    return height;
}

static void draw_sticker_use(cairo_t *cr, double x, double y, double width)
{
    lettering_draw(cr, &heading, LETTERING_LEFT, x, y, "Stickers");
    y = lettering_paragraph(cr, &body, x, y + 3.4, width,
                            "For a crank that no card fits behind: tape A on it and F on the frame "
                            "beside it. Photograph both ends of its way, and neutral:");
    lettering_paragraph(cr, &command, x, y + 0.6, width,
                        "armsquare measure --sticker\n --centred l.jpg r.jpg n.jpg");
}

/* Steps that begin beside the standing bar stand clear of it, the others take the whole width; the
 * cautions close the column. */
static void draw_column(cairo_t *cr, const struct sheet *sheet)
{
    const struct sheet_rect *at = &sheet->column;
    double y = at->y + 4.5, bar_end = sheet->bar_y.y + sheet->bar_y.height;
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        double aside = y < bar_end ? BESIDE_BAR_MM : 0;
        if (y >= bar_end)
            y = fmax(y, bar_end + BAR_CAPTION_MM);
        y = draw_step(cr, &steps[i], (int)i + 1, at->x + aside, y, at->width - aside);
    }
    if (sheet->sticker_count > 0)
        draw_sticker_use(cr, at->x, y, at->width);
    draw_cautions(cr, at->x, at->y + at->height - cautions_height(cr, at->width), at->width);
}

static void draw_footer(cairo_t *cr, const struct sheet *sheet)
{
    const struct sheet_rect *at = &sheet->footer;
    char line[96];
    double y = at->y + at->height;
    rule(cr, at->x, at->y, at->x + at->width, at->y, 0.12, 120);
    snprintf(line, sizeof line, "armsquare %s", ARMSQUARE_VERSION);
    lettering_draw(cr, &small, LETTERING_LEFT, at->x, y - 0.8, line);
    snprintf(line, sizeof line, "tint %s", sheet->tint);
    lettering_draw(cr, &small, LETTERING_RIGHT, at->x + at->width, y - 0.8, line);
}

/* The illustration is made for a card of the frame size; any other is better than none. */
static const struct vision_card *shown_card(const struct sheet *sheet)
{
    char name[sizeof sheet->cards[0].card->name];
    snprintf(name, sizeof name, "frame-%s", sheet->tint);
    const struct vision_card *card = vision_card_by_name(name);
    return card ? card : sheet->cards[0].card;
}

void sheet_draw(cairo_t *cr, const void *subject)
{
    const struct sheet *sheet = subject;
    cairo_save(cr);
    lettering_prepare(cr);
    draw_header(cr, sheet);
    draw_cards(cr, sheet);
    draw_stickers(cr, sheet);
    draw_bars(cr, sheet);
    draw_column(cr, sheet);
    if (sheet->picture.width > 0)
        sheet_picture_draw(cr, &sheet->picture, shown_card(sheet));
    draw_footer(cr, sheet);
    cairo_restore(cr);
}
