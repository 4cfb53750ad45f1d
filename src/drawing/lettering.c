#include "lettering.h"

#include "arithmetic/inch.h"

#include <math.h>
#include <string.h>

#define LEADING 1.38 /* of the size: the face is broad and wants air */

void lettering_prepare(cairo_t *cr)
{
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    cairo_set_font_options(cr, options);
    cairo_font_options_destroy(options);
}

/* cairo's own text calls serve: one face, Latin text, no shaping. A machine without this face
 * gets the nearest that it has, and lines are measured before they are broken. */
void lettering_font(cairo_t *cr, bool bold, bool mono, double size_mm)
{
    cairo_select_font_face(cr, mono ? "DejaVu Sans Mono" : "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL,
                           bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(cr, size_mm);
}

static void choose(cairo_t *cr, const struct lettering_style *style)
{
    lettering_font(cr, style->bold, style->mono, style->size_pt * MM_PER_POINT);
    cairo_set_source_rgb(cr, style->level / 255.0, style->level / 255.0, style->level / 255.0);
}

double lettering_advance(cairo_t *cr, const char *text)
{
    cairo_text_extents_t extents;
    cairo_text_extents(cr, text, &extents);
    return extents.x_advance;
}

static double measure(cairo_t *cr, const struct lettering_style *style, const char *text)
{
    double tracked = style->tracking_mm * ((double)strlen(text) - 1);
    return lettering_advance(cr, text) + (style->tracking_mm > 0 && tracked > 0 ? tracked : 0);
}

double lettering_width(cairo_t *cr, const struct lettering_style *style, const char *text)
{
    choose(cr, style);
    return measure(cr, style, text);
}

static void show(cairo_t *cr, const struct lettering_style *style, double x, double y,
                 const char *text)
{
    if (style->tracking_mm <= 0) {
        cairo_move_to(cr, x, y);
        cairo_show_text(cr, text);
        return;
    }
    for (; *text; text++) {
        char letter[2] = {*text, 0};
        cairo_move_to(cr, x, y);
        cairo_show_text(cr, letter);
        x += lettering_advance(cr, letter) + style->tracking_mm;
    }
}

void lettering_draw(cairo_t *cr, const struct lettering_style *style, enum lettering_align align,
                    double x, double y, const char *text)
{
    choose(cr, style);
    double width = align == LETTERING_LEFT ? 0 : measure(cr, style, text);
    show(cr, style, x - width * (int)align / 2, y, text);
}

/* Whether the first length bytes of text go on a line; they are then in it. */
static bool fits(cairo_t *cr, const char *text, size_t length, double width,
                 char line[LETTERING_LINE])
{
    if (length >= LETTERING_LINE)
        return false;
    memcpy(line, text, length);
    line[length] = '\0';
    return lettering_advance(cr, line) <= width;
}

/* Bytes of a word too wide for the line that go on it: whole characters, at least one. */
static size_t piece_length(cairo_t *cr, const char *word, double width, char line[LETTERING_LINE])
{
    size_t taken = 0;
    for (size_t next = 0; word[next]; taken = next) {
        do
            next++;
        while (((unsigned char)word[next] & 0xC0) == 0x80);
        if (taken > 0 && !fits(cr, word, next, width, line))
            break;
    }
    return taken;
}

#define PLUS_MINUS "±"

static bool ends_in_plus_minus(const char *text, size_t length)
{
    size_t sign = strlen(PLUS_MINUS);
    return length >= sign && memcmp(text + length - sign, PLUS_MINUS, sign) == 0;
}

static bool starts_with(const char *text, const char *word)
{
    return strncmp(text, word, strlen(word)) == 0;
}

static bool is_unit(const char *text)
{
    static const char *const units[] = {"mm", "degree", "turn", "%"};
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (starts_with(text, units[i]))
            return true;
    return false;
}

/* Whether a line may end at the blank behind so many bytes of text: not beside a "±", and not
 * between a figure and its unit. */
static bool may_end(const char *text, size_t blank)
{
    const char *next = text + blank + strspn(text + blank, " ");
    bool figure = blank > 0 && text[blank - 1] >= '0' && text[blank - 1] <= '9';
    return !starts_with(next, PLUS_MINUS) && !ends_in_plus_minus(text, blank) &&
           !(figure && is_unit(next));
}

/* Bytes of the words that fit; together: what may_end holds together stays so. */
static size_t words_length(cairo_t *cr, const char *text, double width, bool together,
                           char line[LETTERING_LINE])
{
    size_t taken = 0;
    do {
        size_t next = taken;
        do {
            next += strspn(text + next, " ");
            next += strcspn(text + next, " \n");
        } while (together && text[next] == ' ' && !may_end(text, next));
        if (!fits(cr, text, next, width, line))
            break;
        taken = next;
    } while (text[taken] == ' ');
    return taken;
}

void lettering_line(cairo_t *cr, const char **text, double width, char line[LETTERING_LINE])
{
    const char *from = *text;
    size_t taken = words_length(cr, from, width, true, line);
    if (taken == 0)
        taken = words_length(cr, from, width, false, line);
    if (taken == 0 && *from != '\n')
        taken = piece_length(cr, from, width, line);
    memcpy(line, from, taken);
    line[taken] = '\0';
    from += taken;
    from += strspn(from, " ");
    *text = from + (*from == '\n');
}

double lettering_paragraph(cairo_t *cr, const struct lettering_style *style, double x, double y,
                           double width, const char *text)
{
    char line[LETTERING_LINE];
    choose(cr, style);
    while (*text) {
        lettering_line(cr, &text, width, line);
        show(cr, style, x, y, line);
        y += style->size_pt * MM_PER_POINT * LEADING;
    }
    return y;
}

void lettering_fitted(cairo_t *cr, const struct lettering_style *style, double x, double y,
                      double width, double height, const char *text)
{
    struct lettering_style fitted = *style;
    fitted.size_pt = 10;
    choose(cr, &fitted);
    cairo_text_extents_t capital;
    cairo_text_extents(cr, "H", &capital);
    double scale = fmin(height / capital.height, width / measure(cr, &fitted, text));
    fitted.size_pt *= scale;
    fitted.tracking_mm *= scale;
    lettering_draw(cr, &fitted, LETTERING_MIDDLE, x, y + capital.height * scale / 2, text);
}
