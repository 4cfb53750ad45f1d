#include "sheet_text.h"

#include <math.h>
#include <string.h>

#define MM_PER_POINT (25.4 / 72.0)
#define LEADING 1.38 /* of the size: the face is broad and wants air */

void sheet_text_prepare(cairo_t *cr)
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
void sheet_text_font(cairo_t *cr, bool bold, bool mono, double size_mm)
{
    cairo_select_font_face(cr, mono ? "DejaVu Sans Mono" : "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL,
                           bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(cr, size_mm);
}

static void choose(cairo_t *cr, const struct sheet_style *style)
{
    sheet_text_font(cr, style->bold, style->mono, style->size_pt * MM_PER_POINT);
    cairo_set_source_rgb(cr, style->level / 255.0, style->level / 255.0, style->level / 255.0);
}

static double measure(cairo_t *cr, const struct sheet_style *style, const char *text)
{
    cairo_text_extents_t extents;
    cairo_text_extents(cr, text, &extents);
    double tracked = style->tracking_mm * ((double)strlen(text) - 1);
    return extents.x_advance + (style->tracking_mm > 0 && tracked > 0 ? tracked : 0);
}

double sheet_text_width(cairo_t *cr, const struct sheet_style *style, const char *text)
{
    choose(cr, style);
    return measure(cr, style, text);
}

static void show(cairo_t *cr, const struct sheet_style *style, double x, double y, const char *text)
{
    if (style->tracking_mm <= 0) {
        cairo_move_to(cr, x, y);
        cairo_show_text(cr, text);
        return;
    }
    for (; *text; text++) {
        char letter[2] = {*text, 0};
        cairo_text_extents_t extents;
        cairo_text_extents(cr, letter, &extents);
        cairo_move_to(cr, x, y);
        cairo_show_text(cr, letter);
        x += extents.x_advance + style->tracking_mm;
    }
}

void sheet_text(cairo_t *cr, const struct sheet_style *style, enum sheet_align align, double x,
                double y, const char *text)
{
    choose(cr, style);
    double width = align == SHEET_LEFT ? 0 : measure(cr, style, text);
    show(cr, style, x - width * (int)align / 2, y, text);
}

/* How many bytes of text go on one line; at least one word. */
static size_t line_length(cairo_t *cr, const struct sheet_style *style, const char *text,
                          double width)
{
    size_t taken = 0;
    for (;;) {
        size_t next = taken + strspn(text + taken, " ");
        next += strcspn(text + next, " \n");
        char line[256];
        if (next >= sizeof line)
            return taken ? taken : next;
        memcpy(line, text, next);
        line[next] = 0;
        if (taken > 0 && measure(cr, style, line) > width)
            return taken;
        taken = next;
        if (text[taken] != ' ')
            return taken;
    }
}

double sheet_paragraph(cairo_t *cr, const struct sheet_style *style, double x, double y,
                       double width, const char *text)
{
    choose(cr, style);
    while (*text) {
        size_t length = line_length(cr, style, text, width);
        char line[256];
        size_t kept = length < sizeof line - 1 ? length : sizeof line - 1;
        memcpy(line, text, kept);
        line[kept] = 0;
        show(cr, style, x, y, line);
        y += style->size_pt * MM_PER_POINT * LEADING;
        text += length;
        text += strspn(text, " ");
        if (*text == '\n')
            text++;
    }
    return y;
}

void sheet_text_fitted(cairo_t *cr, const struct sheet_style *style, double x, double y,
                       double width, double height, const char *text)
{
    struct sheet_style fitted = *style;
    fitted.size_pt = 10;
    choose(cr, &fitted);
    cairo_text_extents_t capital;
    cairo_text_extents(cr, "H", &capital);
    double scale = fmin(height / capital.height, width / measure(cr, &fitted, text));
    fitted.size_pt *= scale;
    fitted.tracking_mm *= scale;
    sheet_text(cr, &fitted, SHEET_MIDDLE, x, y + capital.height * scale / 2, text);
}
