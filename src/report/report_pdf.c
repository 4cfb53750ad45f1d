/* The report as PDF on A4. Everything flows down the page; what does not fit begins the next one.
 * cairo writes each page out when it is shown, so only the photos of one page are held. */
#include "report.h"

#include "arithmetic/inch.h"
#include "drawing/cairo_good.h"
#include "drawing/lettering.h"

#include <cairo-pdf.h>
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PAGE_WIDTH_MM 210.0 /* ISO 216, A4 */
#define PAGE_HEIGHT_MM 297.0
#define LEFT_MM 18.0
#define TOP_MM 20.0
#define BOTTOM_MM 277.0
#define INDENT_MM 11.0 /* of what belongs to a station, behind its number */
#define ROW_PICTURES 3
#define PICTURE_GAP_MM 5.0
#define PICTURE_WIDTH_MM 51.0 /* three side by side */
#define PICTURE_HEIGHT_MM 44.0
#define CAPTION_MM 12.5
#define SIDE_MM 48.0        /* a picture that has the station's right side to itself */
#define SIDE_HEIGHT_MM 50.0 /* three such stations fill a page */
#define RULER_SCALE 0.9     /* of a ruler at that side */
#define LEAD_MM 150.0
#define COVER_PAD_MM 9.0
#define PAGE_PICTURES 24 /* more than a page has room for */

enum face { SANS, SANS_BOLD, SERIF };

struct type {
    enum face face;
    double size_mm, leading_mm;
};
static const struct type body = {SANS, 3.3, 4.7}, small = {SANS, 2.75, 3.9},
                         small_bold = {SANS_BOLD, 2.75, 3.9}, cell = {SANS, 3.0, 4.1},
                         cell_bold = {SANS_BOLD, 3.0, 4.1}, heading = {SERIF, 6.4, 8},
                         band_type = {SERIF, 3.7, 5}, head_type = {SERIF, 4.6, 6};

#define BLANK_BYTES ((size_t)REPORT_PICTURE_PX * REPORT_PICTURE_PX * 4)

struct pdf {
    struct report as;
    FILE *to; /* NULL: only counts */
    cairo_surface_t *surface;
    cairo_t *cr;
    const char *title;
    int page, pages, *count_out;
    double y;
    struct report_table table;
    bool in_table;
    int column; /* of the next picture in its row; 0: a new row */
    double picture_y;
    double side_y; /* top of the place beside the station's text; 0: there is none */
    int side_page;
    bool side_picture; /* a picture goes there; else the ruler */
    double side_bottom;
    unsigned char *blank; /* pixels that every photo's surface shares and nothing reads or writes */
    cairo_surface_t *shown[PAGE_PICTURES]; /* on this page */
    int shown_count;
    char *waiting_title, *waiting_lead;        /* NULL: no heading waits */
    const struct report_station *open_station; /* NULL: none; borrowed until its end */
    int fault;                                 /* errno of what failed first; 0: nothing yet */
};

static struct pdf *pdf_of(struct report *r)
{
    return (struct pdf *)(void *)r;
}

/* ---- Type --------------------------------------------------------------------------------- */

static void set_type(struct pdf *p, const struct type *type, enum report_tone tone)
{
    const unsigned char *c = report_colour[tone];
    cairo_select_font_face(
        p->cr, type->face == SERIF ? "Palatino" : "Helvetica", CAIRO_FONT_SLANT_NORMAL,
        type->face == SANS_BOLD ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(p->cr, type->size_mm);
    cairo_set_source_rgb(p->cr, c[0] / 255.0, c[1] / 255.0, c[2] / 255.0);
}

/* Sets text in lines of width. draw false only measures. Answers the height. */
static double set_text(struct pdf *p, const struct type *type, enum report_tone tone, double x,
                       double y, double width, bool flush_right, const char *text, bool draw)
{
    char line[LETTERING_LINE];
    double height = 0;
    set_type(p, type, tone);
    while (*text) {
        text += strspn(text, " ");
        lettering_line(p->cr, &text, width, line);
        height += type->leading_mm;
        if (!draw)
            continue;
        double at = flush_right ? x + width - lettering_advance(p->cr, line) : x;
        cairo_move_to(p->cr, at,
                      y + height - (type->leading_mm - type->size_mm) / 2 - 0.22 * type->size_mm);
        cairo_show_text(p->cr, line);
    }
    return height;
}

static void rule(struct pdf *p, double y, double width_mm, enum report_tone tone, double alpha)
{
    const unsigned char *c = report_colour[tone];
    cairo_set_source_rgba(p->cr, c[0] / 255.0, c[1] / 255.0, c[2] / 255.0, alpha);
    cairo_set_line_width(p->cr, width_mm);
    cairo_move_to(p->cr, LEFT_MM, y);
    cairo_line_to(p->cr, LEFT_MM + REPORT_WIDTH_MM, y);
    cairo_stroke(p->cr);
}

/* ---- Pages -------------------------------------------------------------------------------- */

static void footer(struct pdf *p)
{
    char text[64];
    double y = BOTTOM_MM + 4;
    rule(p, y, 0.15, REPORT_QUIET, 0.6);
    set_text(p, &small, REPORT_QUIET, LEFT_MM, y + 1, 130, false, p->title, true);
    if (p->pages)
        snprintf(text, sizeof text, "Page %d of %d", p->page, p->pages);
    else
        snprintf(text, sizeof text, "Page %d", p->page);
    set_text(p, &small, REPORT_QUIET, LEFT_MM + 134, y + 1, 40, true, text, true);
}

static void end_page(struct pdf *p)
{
    footer(p);
    cairo_show_page(p->cr);
    while (p->shown_count)
        cairo_surface_destroy(p->shown[--p->shown_count]);
}

static void new_page(struct pdf *p)
{
    if (p->page)
        end_page(p);
    p->page++;
    p->y = TOP_MM;
    p->column = 0;
}

static bool beside_text(const struct pdf *p)
{
    return p->side_y > 0 && p->side_page == p->page;
}

/* Below what stands beside the text. */
static void clear_side(struct pdf *p)
{
    if (beside_text(p))
        p->y = fmax(p->y, p->side_bottom);
}

/* Below the row of pictures and below the place beside the text. */
static void end_pictures(struct pdf *p)
{
    if (p->column)
        p->y = p->picture_y + PICTURE_HEIGHT_MM + CAPTION_MM;
    p->column = 0;
    clear_side(p);
    p->side_y = 0;
}

static void put_heading(struct pdf *p)
{
    char *title = p->waiting_title, *lead = p->waiting_lead;
    p->waiting_title = p->waiting_lead = NULL;
    if (p->y > TOP_MM)
        p->y += 6;
    rule(p, p->y, 0.45, REPORT_INK, 1);
    p->y += 2.5;
    p->y += set_text(p, &heading, REPORT_INK, LEFT_MM, p->y, REPORT_WIDTH_MM, false, title, true);
    p->y += 0.5;
    if (*lead)
        p->y += set_text(p, &body, REPORT_QUIET, LEFT_MM, p->y, LEAD_MM, false, lead, true);
    p->y += 2.5;
    free(title);
    free(lead);
}

/* What stands on a page without its station's head says whose it is. */
static void put_continued(struct pdf *p)
{
    char *text = NULL;
    if (asprintf(&text, "%d  %s, continued", p->open_station->number, p->open_station->title) < 0) {
        p->fault = p->fault ? p->fault : ENOMEM;
        return;
    }
    p->y +=
        set_text(p, &small, REPORT_QUIET, LEFT_MM, p->y, REPORT_WIDTH_MM, false, text, true) + 1;
    free(text);
}

/* Makes room for height_mm, and for a heading that waits, on this page or the next. true when a
 * page was begun. */
static bool need(struct pdf *p, double height_mm)
{
    bool waits = p->waiting_title, begun = false;
    if (waits)
        height_mm += 11.5 +
                     set_text(p, &heading, REPORT_INK, 0, 0, REPORT_WIDTH_MM, false,
                              p->waiting_title, false) +
                     set_text(p, &body, REPORT_QUIET, 0, 0, LEAD_MM, false, p->waiting_lead, false);
    if (p->y + height_mm > BOTTOM_MM) {
        new_page(p);
        begun = true;
        if (p->open_station)
            put_continued(p);
    }
    if (waits)
        put_heading(p);
    return begun;
}

/* ---- Parts -------------------------------------------------------------------------------- */

static void put_pairs(struct pdf *p, const struct report_pair *pairs, int count, double x,
                      double name_mm, double width_mm)
{
    for (int i = 0; i < count; i++) {
        double height =
            set_text(p, &body, REPORT_INK, 0, 0, width_mm - name_mm, false, pairs[i].value, false);
        need(p, height + 1);
        set_text(p, &body, REPORT_QUIET, x, p->y, name_mm, false, pairs[i].name, true);
        set_text(p, &body, REPORT_INK, x + name_mm, p->y, width_mm - name_mm, false, pairs[i].value,
                 true);
        p->y += fmax(height, body.leading_mm) + 0.5;
    }
}

static void frame(struct pdf *p, double top, double bottom)
{
    cairo_set_source_rgb(p->cr, 0.11, 0.145, 0.18);
    cairo_set_line_width(p->cr, 0.2);
    for (int i = 0; i < 2; i++) {
        double out = i * 1.4;
        cairo_rectangle(p->cr, LEFT_MM - out, top - out, REPORT_WIDTH_MM + 2 * out,
                        bottom - top + 2 * out);
        cairo_stroke(p->cr);
    }
}

static void spaced(struct pdf *p, double x, double y, const char *text)
{
    char one[2] = {0};
    for (; *text; text++) {
        one[0] = *text >= 'a' && *text <= 'z' ? (char)(*text - 32) : *text;
        cairo_move_to(p->cr, x, y);
        cairo_show_text(p->cr, one);
        x += lettering_advance(p->cr, one) + 0.65;
    }
}

static void fill(struct pdf *p, double x, double y, double width, double height,
                 enum report_tone tone, double alpha)
{
    const unsigned char *c = report_colour[tone];
    cairo_set_source_rgba(p->cr, c[0] / 255.0, c[1] / 255.0, c[2] / 255.0, alpha);
    cairo_rectangle(p->cr, x, y, width, height);
    cairo_fill(p->cr);
}

/* A mark for each station: the eye sees how much is done; the words beside it say it. */
static void marks(struct pdf *p, const struct report_cover *c, double x, double width)
{
    double step = c->mark_count ? width / c->mark_count : 0, gap = fmin(0.5, step / 3);
    p->y += 1.6;
    for (int i = 0; i < c->mark_count; i++)
        fill(p, x + i * step, p->y, step - gap, 2, c->marks[i],
             c->marks[i] == REPORT_QUIET ? 0.35 : 1);
    p->y += 2.4;
}

/* What must stand out: a bar in the tone, a label, a title ("" none), and what it says. */
static void notice(struct pdf *p, double x, double width, enum report_tone tone, const char *label,
                   const char *title, const char *say)
{
    static const struct type title_type = {SANS_BOLD, 3.9, 5.4};
    double top = p->y, text_x = x + 4.5, text_mm = width - 4.5;
    p->y += set_text(p, &small_bold, tone, text_x, p->y, text_mm, false, label, true);
    p->y += set_text(p, &title_type, REPORT_INK, text_x, p->y, text_mm, false, title, true);
    p->y += set_text(p, &body, REPORT_INK, text_x, p->y, text_mm, false, say, true);
    fill(p, x, top + 0.5, 1.6, p->y - top - 0.5, tone, 1);
    p->y += 2;
}

static double notice_height(struct pdf *p, double width, const char *say)
{
    return small_bold.leading_mm + 2 +
           set_text(p, &body, REPORT_INK, 0, 0, width - 4.5, false, say, false);
}

/* Model and state at the left, facts at the right, what must not be overlooked below both. */
static void cover(struct report *r, const struct report_cover *c)
{
    static const struct type model = {SERIF, 12, 15}, state = {SERIF, 7, 9.5},
                             label = {SERIF, 3.7, 5};
    const double left_mm = 66, gap_mm = 10,
                 facts_mm = REPORT_WIDTH_MM - 2 * COVER_PAD_MM - left_mm - gap_mm;
    struct pdf *p = pdf_of(r);
    double top = p->y, x = LEFT_MM + COVER_PAD_MM;
    set_type(p, &label, REPORT_QUIET);
    spaced(p, x, top + 11, c->title);
    p->y = top + 14;
    p->y += set_text(p, &model, REPORT_INK, x, p->y, left_mm, false, c->model, true) + 2;
    p->y += set_text(p, &state, c->tone, x, p->y, left_mm, false, c->state, true);
    p->y += set_text(p, &body, REPORT_INK, x, p->y, left_mm, false, c->detail, true);
    marks(p, c, x, left_mm);
    double bottom = p->y;
    p->y = top + 8;
    put_pairs(p, c->facts, c->fact_count, x + left_mm + gap_mm, 25, facts_mm);
    p->y = fmax(bottom, p->y) + 3;
    notice(p, x, REPORT_WIDTH_MM - 2 * COVER_PAD_MM, c->next_tone, "Next", c->next, c->next_say);
    if (*c->banner)
        p->y += set_text(p, &body, REPORT_DOUBT, x, p->y, REPORT_WIDTH_MM - 2 * COVER_PAD_MM, false,
                         c->banner, true);
    p->y += 3;
    frame(p, top, p->y);
    p->y += 3;
}

/* A heading waits for what comes under it, so that it never stands alone at the foot. */
static void section(struct report *r, const char *title, const char *lead)
{
    struct pdf *p = pdf_of(r);
    end_pictures(p);
    need(p, 0);
    p->waiting_title = strdup(title);
    p->waiting_lead = strdup(lead);
    if (p->waiting_title && p->waiting_lead)
        return;
    free(p->waiting_title);
    free(p->waiting_lead);
    p->waiting_title = p->waiting_lead = NULL;
    p->fault = p->fault ? p->fault : ENOMEM;
}

#define LIST_TOGETHER_MM 130.0 /* half a page: what is longer begins where it stands */

/* Kept together, so that no page begins with the end of one. */
static void list(struct report *r, const char *const *items, int count)
{
    struct pdf *p = pdf_of(r);
    double height = 0;
    for (int i = 0; i < count; i++)
        height += set_text(p, &body, REPORT_INK, 0, 0, 155, false, items[i], false) + 1;
    need(p, height > LIST_TOGETHER_MM ? 0 : height);
    for (int i = 0; i < count; i++) {
        need(p, set_text(p, &body, REPORT_INK, 0, 0, 155, false, items[i], false));
        set_text(p, &body, REPORT_INK, LEFT_MM, p->y, 5, false, "•", true);
        p->y += set_text(p, &body, REPORT_INK, LEFT_MM + 4, p->y, 155, false, items[i], true) + 1;
    }
    p->y += 1.5;
}

#define NAME_COLUMNS 3
#define NAME_COLUMN_MM (REPORT_WIDTH_MM / NAME_COLUMNS)

/* Row by row, as they are read. */
static void names(struct report *r, const char *title, const char *const *items, int count)
{
    struct pdf *p = pdf_of(r);
    const double width = NAME_COLUMN_MM - 5;
    end_pictures(p);
    need(p, body.leading_mm + 3 * cell.leading_mm);
    p->y += set_text(p, &body, REPORT_QUIET, LEFT_MM, p->y, LEAD_MM, false, title, true) + 0.8;
    for (int first = 0; first < count; first += NAME_COLUMNS) {
        int end = first + NAME_COLUMNS < count ? first + NAME_COLUMNS : count;
        double height = 0;
        for (int i = first; i < end; i++)
            height =
                fmax(height, set_text(p, &cell, REPORT_INK, 0, 0, width, false, items[i], false));
        need(p, height);
        for (int i = first; i < end; i++)
            set_text(p, &cell, REPORT_INK, LEFT_MM + (i - first) * NAME_COLUMN_MM, p->y, width,
                     false, items[i], true);
        p->y += height + 0.8;
    }
    p->y += 2;
}

#define CELL_GAP_MM 2.5
#define NUMBER_GAP_MM 3.5 /* behind what is set flush right */

static double cell_mm(const struct report_table *t, int i)
{
    return t->width_mm[i] - (t->number[i] ? NUMBER_GAP_MM : CELL_GAP_MM);
}

static void table_head(struct pdf *p)
{
    const struct report_table *t = &p->table;
    double x = LEFT_MM;
    for (int i = 0; i < t->count; i++) {
        set_text(p, &cell, REPORT_QUIET, x, p->y, cell_mm(t, i), t->number[i], t->names[i], true);
        x += t->width_mm[i];
    }
    p->y += cell.leading_mm + 1;
    rule(p, p->y, 0.25, REPORT_INK, 1);
    p->y += 1;
}

static void table(struct report *r, const struct report_table *t)
{
    struct pdf *p = pdf_of(r);
    end_pictures(p);
    p->table = *t;
    need(p, 25);
    table_head(p);
}

static void band(struct report *r, const char *title)
{
    struct pdf *p = pdf_of(r);
    if (need(p, 20))
        table_head(p);
    p->y += 2.2;
    p->y += set_text(p, &band_type, REPORT_INK, LEFT_MM, p->y, REPORT_WIDTH_MM, false, title, true);
    p->y += 0.6;
    rule(p, p->y, 0.15, REPORT_INK, 1);
    p->y += 0.8;
}

static double row_height(struct pdf *p, const struct report_row *row)
{
    const struct report_table *t = &p->table;
    double height = cell.leading_mm;
    for (int i = 0; i < t->count; i++)
        height = fmax(height, set_text(p, i == t->toned ? &cell_bold : &cell, row->tone, 0, 0,
                                       cell_mm(t, i), false, row->cells[i], false));
    return height;
}

/* Under the row, from its second column on, behind a bar in its tone. */
static void row_note(struct pdf *p, const struct report_row *row, double width)
{
    double top = p->y, x = LEFT_MM + p->table.width_mm[0];
    p->y += set_text(p, &cell, REPORT_INK, x + 3, p->y, width - 3, false, row->note, true);
    fill(p, x, top + 0.4, 1, p->y - top - 0.4, row->tone, 1);
    p->y += 0.6;
}

static void row(struct report *r, const struct report_row *row)
{
    struct pdf *p = pdf_of(r);
    const struct report_table *t = &p->table;
    double x = LEFT_MM, width = REPORT_WIDTH_MM - t->width_mm[0], height = row_height(p, row);
    double note = set_text(p, &cell, REPORT_INK, 0, 0, width - 3, false, row->note, false);
    if (need(p, height + note + 2.6))
        table_head(p);
    for (int i = 0; i < t->count; i++) {
        set_text(p, i == t->toned && row->tone != REPORT_QUIET ? &cell_bold : &cell,
                 i == t->toned ? row->tone : REPORT_INK, x, p->y, cell_mm(t, i), t->number[i],
                 row->cells[i], true);
        x += t->width_mm[i];
    }
    p->y += height + (note > 0 ? 0 : 1);
    if (note > 0)
        row_note(p, row, width);
    rule(p, p->y, 0.12, REPORT_QUIET, 0.45);
    p->y += 1;
}

static void table_end(struct report *r)
{
    pdf_of(r)->y += 2;
}

/* Heights of what put_pairs() sets. */
static double pairs_height(struct pdf *p, const struct report_pair *pairs, int count,
                           double value_mm)
{
    double height = 0;
    for (int i = 0; i < count; i++)
        height += fmax(body.leading_mm, set_text(p, &body, REPORT_INK, 0, 0, value_mm, false,
                                                 pairs[i].value, false)) +
                  0.5;
    return height;
}

#define NAME_MM 22.0         /* of a pair */
#define STATION_HEAD_MM 15.5 /* with the space around ruler and pictures */
#define DRAWING_SCALE 0.8    /* of a sheet of its own, so that it fits under a station's text */

static double ruler_mm(bool beside)
{
    return REPORT_BAR_HEIGHT_MM * (beside ? RULER_SCALE : 1) + 2;
}

/* Of the text with what stands beside it: a single picture, else the ruler. */
static double station_top_height(struct pdf *p, const struct report_station *s, double width)
{
    double text = pairs_height(p, s->pairs, s->pair_count, width - NAME_MM);
    double top = s->pictures == 1 ? fmax(text + ruler_mm(false), SIDE_HEIGHT_MM + CAPTION_MM)
                                  : fmax(text, ruler_mm(true));
    if (*s->action)
        top += notice_height(p, REPORT_WIDTH_MM - INDENT_MM, s->action);
    return top;
}

#define WIDE_CAPTION_MM 10.0

/* All of it, but for pictures beyond their first row, and for what is longer than a page. */
static double station_height(struct pdf *p, const struct report_station *s, double width)
{
    double height = STATION_HEAD_MM + station_top_height(p, s, width);
    if (s->pictures > 1)
        height += PICTURE_HEIGHT_MM + CAPTION_MM + 2;
    if (s->drawing_mm > 0 && s->pictures <= ROW_PICTURES)
        height += s->drawing_mm * DRAWING_SCALE + WIDE_CAPTION_MM;
    return fmin(height, BOTTOM_MM - TOP_MM);
}

#define BLANK_MOST_MM 60.0 /* less than a quarter of a page */

/* It stays together where that leaves no more of the page blank; else its pictures and its drawing
 * may follow on the next one. */
static double height_together(struct pdf *p, const struct report_station *s, double width)
{
    double whole = station_height(p, s, width), left = BOTTOM_MM - p->y;
    double text = STATION_HEAD_MM + station_top_height(p, s, width);
    return whole > left && left > BLANK_MOST_MM && text < left ? text : whole;
}

static void station_head(struct pdf *p, const struct report_station *s)
{
    char text[8];
    p->y += p->y > TOP_MM ? 4 : 0;
    rule(p, p->y, 0.2, REPORT_INK, 1);
    p->y += 1.8;
    snprintf(text, sizeof text, "%d", s->number);
    set_text(p, &head_type, REPORT_QUIET, LEFT_MM, p->y, 12, false, text, true);
    set_text(p, &small_bold, s->tone, LEFT_MM + 139, p->y + 1.2, 35, true, s->state, true);
    p->y +=
        set_text(p, &head_type, REPORT_INK, LEFT_MM + INDENT_MM, p->y, 125, false, s->title, true) +
        1.2;
}

static void station(struct report *r, const struct report_station *s)
{
    struct pdf *p = pdf_of(r);
    bool picture = s->pictures == 1;
    double side = picture ? SIDE_MM : REPORT_BAR_WIDTH_MM * RULER_SCALE;
    double width = REPORT_WIDTH_MM - INDENT_MM - side - PICTURE_GAP_MM;
    end_pictures(p);
    need(p, height_together(p, s, width));
    p->open_station = s;
    station_head(p, s);
    if (*s->action)
        notice(p, LEFT_MM + INDENT_MM, REPORT_WIDTH_MM - INDENT_MM, s->tone, "To do", "",
               s->action);
    p->side_y = p->side_bottom = p->y + 1;
    p->side_page = p->page;
    p->side_picture = picture;
    put_pairs(p, s->pairs, s->pair_count, LEFT_MM + INDENT_MM, NAME_MM, width);
}

static void put_drawing(struct pdf *p, const struct report_drawing *d, double x, double y,
                        double scale)
{
    cairo_save(p->cr);
    cairo_translate(p->cr, x, y);
    cairo_scale(p->cr, scale, scale);
    cairo_rectangle(p->cr, 0, 0, d->width_mm, d->height_mm);
    cairo_clip(p->cr); /* a drawing that paints its paper must not paint the page */
    d->draw(p->cr, d->subject);
    cairo_restore(p->cr);
}

/* The ruler: beside the text, or under it where a picture stands there. */
static void put_ruler(struct pdf *p, const struct report_drawing *d)
{
    if (beside_text(p) && !p->side_picture) {
        double width = d->width_mm * RULER_SCALE;
        put_drawing(p, d, LEFT_MM + REPORT_WIDTH_MM - width, p->side_y, RULER_SCALE);
        p->side_bottom = p->side_y + ruler_mm(true);
        return;
    }
    need(p, d->height_mm + 2);
    put_drawing(p, d, LEFT_MM + INDENT_MM, p->y + 1, 1);
    p->y += d->height_mm + 2;
}

static void drawing(struct report *r, const struct report_drawing *d)
{
    struct pdf *p = pdf_of(r);
    double scale = fmin(DRAWING_SCALE, REPORT_WIDTH_MM / d->width_mm);
    if (d->width_mm <= REPORT_BAR_WIDTH_MM) {
        put_ruler(p, d);
        return;
    }
    end_pictures(p);
    need(p, d->height_mm * scale + WIDE_CAPTION_MM);
    put_drawing(p, d, LEFT_MM, p->y + 1, scale);
    p->y += d->height_mm * scale + 1;
    p->y += set_text(p, &small, REPORT_QUIET, LEFT_MM, p->y, LEAD_MM, false, d->caption, true) + 1;
}

/* The JPEG goes into the PDF as it is; cairo only has to know its size. So the surface's pixels are
 * never looked at, and all photos of a page can have the same, which the system never has to
 * provide: what a report takes does not depend on the photos' size. The surface lives until its
 * page is shown: cairo copies the pixels of one that goes before. */
static void paint_jpeg(struct pdf *p, const struct report_picture *picture, double x, double y,
                       double scale)
{
    int stride = cairo_format_stride_for_width(CAIRO_FORMAT_RGB24, picture->width_px);
    if ((size_t)stride * (size_t)picture->height_px > BLANK_BYTES)
        return;
    unsigned char *copy = malloc(picture->size);
    cairo_surface_t *image = cairo_image_surface_create_for_data(
        p->blank, CAIRO_FORMAT_RGB24, picture->width_px, picture->height_px, stride);
    if (!copy || cairo_surface_status(image) != CAIRO_STATUS_SUCCESS) {
        free(copy);
        cairo_surface_destroy(image);
        return;
    }
    memcpy(copy, picture->jpeg, picture->size);
    if (cairo_surface_set_mime_data(image, CAIRO_MIME_TYPE_JPEG, copy, picture->size, free, copy) !=
        CAIRO_STATUS_SUCCESS)
        free(copy);
    cairo_save(p->cr);
    cairo_translate(p->cr, x, y);
    cairo_scale(p->cr, scale, scale);
    cairo_set_source_surface(p->cr, image, 0, 0);
    cairo_paint(p->cr);
    cairo_restore(p->cr);
    if (p->shown_count < PAGE_PICTURES)
        p->shown[p->shown_count++] = image;
    else
        cairo_surface_destroy(image);
}

/* Pales the picture and sets its word across it. */
static void stamp(struct pdf *p, const struct report_picture *picture, double x, double y,
                  double width_mm, double height_mm)
{
    static const struct type word = {SANS_BOLD, 5, 7};
    cairo_set_source_rgba(p->cr, 1, 1, 1, 0.6);
    cairo_rectangle(p->cr, x, y, width_mm, height_mm);
    cairo_fill(p->cr);
    set_type(p, &word, picture->stamp_tone);
    double wide = lettering_advance(p->cr, picture->stamp), top = y + 0.32 * height_mm;
    cairo_set_source_rgb(p->cr, 1, 1, 1);
    cairo_rectangle(p->cr, x, top, width_mm, 10);
    cairo_fill(p->cr);
    fill(p, x, top, width_mm, 0.7, picture->stamp_tone, 1);
    fill(p, x, top + 9.3, width_mm, 0.7, picture->stamp_tone, 1);
    set_text(p, &word, picture->stamp_tone, x + (width_mm - wide) / 2, top + 1.5, wide + 1, false,
             picture->stamp, true);
}

/* A picture with its caption close below it; the place's height is kept free in any case, as a run
 * that only counts pages does not know the picture's. */
static void put_picture(struct pdf *p, const struct report_picture *picture, double x, double y,
                        double width_mm, double height_mm)
{
    double tall = height_mm, wide = width_mm;
    if (p->to && picture->jpeg) {
        double scale = fmin(width_mm / picture->width_px, height_mm / picture->height_px);
        tall = scale * picture->height_px;
        wide = scale * picture->width_px;
        paint_jpeg(p, picture, x, y, scale);
    }
    if (picture->stamp)
        stamp(p, picture, x, y, wide, tall);
    y += tall + 0.8;
    y += set_text(p, &small_bold, REPORT_INK, x, y, width_mm, false, picture->key, true);
    set_text(p, &small, REPORT_QUIET, x, y, width_mm, false, picture->caption, true);
}

static void picture(struct report *r, const struct report_picture *picture)
{
    struct pdf *p = pdf_of(r);
    if (beside_text(p) && p->side_picture) {
        p->side_bottom = p->side_y + SIDE_HEIGHT_MM + CAPTION_MM;
        put_picture(p, picture, LEFT_MM + REPORT_WIDTH_MM - SIDE_MM, p->side_y, SIDE_MM,
                    SIDE_HEIGHT_MM);
        return;
    }
    if (p->column == 0) {
        clear_side(p);
        p->y += 1.5;
        need(p, PICTURE_HEIGHT_MM + CAPTION_MM);
        p->picture_y = p->y;
    }
    double x = LEFT_MM + INDENT_MM + p->column * (PICTURE_WIDTH_MM + PICTURE_GAP_MM);
    put_picture(p, picture, x, p->picture_y, PICTURE_WIDTH_MM, PICTURE_HEIGHT_MM);
    p->column = (p->column + 1) % ROW_PICTURES;
    if (p->column == 0)
        p->y = p->picture_y + PICTURE_HEIGHT_MM + CAPTION_MM;
}

static void station_end(struct report *r)
{
    end_pictures(pdf_of(r));
    pdf_of(r)->open_station = NULL;
}

static void note_fault(struct pdf *p, bool good)
{
    if (!good && !p->fault)
        p->fault = errno ? errno : EIO;
}

/* Ends the file and notes whether all of it is there. */
static void end_file(struct pdf *p)
{
    cairo_status_t drawn = cairo_status(p->cr);
    cairo_destroy(p->cr);
    cairo_surface_finish(p->surface);
    note_fault(p, cairo_is_good(drawn));
    note_fault(p, cairo_is_good(cairo_surface_status(p->surface)));
    cairo_surface_destroy(p->surface);
    errno = 0;
    note_fault(p, !p->to || (fflush(p->to) == 0 && !ferror(p->to)));
}

static bool finish(struct report *r)
{
    struct pdf *p = pdf_of(r);
    need(p, 0);
    end_page(p);
    end_file(p);
    if (p->count_out)
        *p->count_out = p->page;
    int fault = p->fault;
    free(p->waiting_title);
    free(p->waiting_lead);
    free(p->blank);
    free(p);
    errno = fault ? fault : errno;
    return !fault;
}

static cairo_status_t take(void *context, const unsigned char *bytes, unsigned size)
{
    struct pdf *p = context;
    bool good = !p->to || fwrite(bytes, 1, size, p->to) == size;
    note_fault(p, good);
    return good ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

static struct report *open_pdf(FILE *to, const char *title, int pages, int *count)
{
    struct pdf *p = calloc(1, sizeof *p);
    if (p && to && !(p->blank = calloc(BLANK_BYTES, 1))) {
        free(p);
        p = NULL;
    }
    if (!p)
        return NULL;
    p->to = to;
    p->title = title;
    p->pages = pages;
    p->count_out = count;
    p->as = (struct report){cover,     section, list,    names,   table,       band,       row,
                            table_end, station, drawing, picture, station_end, to != NULL, finish};
    p->surface = cairo_pdf_surface_create_for_stream(take, p, PAGE_WIDTH_MM / MM_PER_POINT,
                                                     PAGE_HEIGHT_MM / MM_PER_POINT);
    cairo_pdf_surface_set_metadata(p->surface, CAIRO_PDF_METADATA_TITLE, title);
    cairo_pdf_surface_set_metadata(p->surface, CAIRO_PDF_METADATA_CREATOR,
                                   "armsquare " ARMSQUARE_VERSION);
    p->cr = cairo_create(p->surface);
    cairo_scale(p->cr, 1 / MM_PER_POINT, 1 / MM_PER_POINT);
    new_page(p);
    return &p->as;
}

struct report *report_pdf_open(FILE *to, const char *title, int pages)
{
    return open_pdf(to, title, pages, NULL);
}

struct report *report_pdf_count(const char *title, int *pages)
{
    return open_pdf(NULL, title, 0, pages);
}
