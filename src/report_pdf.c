/* The report as PDF on A4. Everything flows down the page; what does not fit begins the next one.
 * cairo writes each page out when it is shown, so only the photos of one page are held. */
#include "report.h"

#include "lettering.h"

#include <cairo-pdf.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PT_PER_MM (72 / 25.4) /* ISO 32000-1, 8.3.2.3 */
#define PAGE_WIDTH_MM 210.0   /* ISO 216, A4 */
#define PAGE_HEIGHT_MM 297.0
#define LEFT_MM 18.0
#define TOP_MM 20.0
#define BOTTOM_MM 277.0
#define INDENT_MM 11.0 /* of what belongs to a station, behind its number */
#define ROW_PICTURES 3
#define PICTURE_GAP_MM 5.0
#define PICTURE_WIDTH_MM 51.0 /* three side by side */
#define PICTURE_HEIGHT_MM 50.0
#define CAPTION_MM 8.5
#define SIDE_MM 56.0        /* a picture that has the station's right side to itself */
#define SIDE_HEIGHT_MM 57.0 /* three such stations fill a page */
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
    unsigned char *blank; /* pixels that every photo's surface shares and nothing reads or writes */
    cairo_surface_t *shown[PAGE_PICTURES]; /* on this page */
    int shown_count;
    char waiting_title[200], waiting_lead[500]; /* "": no heading waits */
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

/* Below the row of pictures and below the place beside the text. */
static void end_pictures(struct pdf *p)
{
    if (p->column)
        p->y = p->picture_y + PICTURE_HEIGHT_MM + CAPTION_MM;
    p->column = 0;
    if (p->side_y > 0 && p->side_page == p->page)
        p->y = fmax(p->y, p->side_y + SIDE_HEIGHT_MM + CAPTION_MM);
    p->side_y = 0;
}

static void put_heading(struct pdf *p)
{
    const char *title = p->waiting_title, *lead = p->waiting_lead;
    if (p->y > TOP_MM)
        p->y += 6;
    rule(p, p->y, 0.45, REPORT_INK, 1);
    p->y += 2.5;
    p->y += set_text(p, &heading, REPORT_INK, LEFT_MM, p->y, REPORT_WIDTH_MM, false, title, true);
    p->y += 0.5;
    if (*lead)
        p->y += set_text(p, &body, REPORT_QUIET, LEFT_MM, p->y, LEAD_MM, false, lead, true);
    p->y += 2.5;
    p->waiting_title[0] = '\0';
}

/* Makes room for height_mm, and for a heading that waits, on this page or the next. true when a
 * page was begun. */
static bool need(struct pdf *p, double height_mm)
{
    bool waits = p->waiting_title[0] != '\0', begun = false;
    if (waits)
        height_mm +=
            19.5 + set_text(p, &body, REPORT_QUIET, 0, 0, LEAD_MM, false, p->waiting_lead, false);
    if (p->y + height_mm > BOTTOM_MM) {
        new_page(p);
        begun = true;
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
    double bottom = p->y;
    p->y = top + 8;
    put_pairs(p, c->facts, c->fact_count, x + left_mm + gap_mm, 25, facts_mm);
    p->y = fmax(bottom, p->y) + 4;
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
    snprintf(p->waiting_title, sizeof p->waiting_title, "%s", title);
    snprintf(p->waiting_lead, sizeof p->waiting_lead, "%s", lead);
}

static void list(struct report *r, const char *const *items, int count)
{
    struct pdf *p = pdf_of(r);
    for (int i = 0; i < count; i++) {
        need(p, set_text(p, &body, REPORT_INK, 0, 0, 155, false, items[i], false));
        set_text(p, &body, REPORT_INK, LEFT_MM, p->y, 5, false, "•", true);
        p->y += set_text(p, &body, REPORT_INK, LEFT_MM + 4, p->y, 155, false, items[i], true) + 1;
    }
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

static void table_head(struct pdf *p)
{
    const struct report_table *t = &p->table;
    double x = LEFT_MM;
    for (int i = 0; i < t->count; i++) {
        set_text(p, &cell, REPORT_QUIET, x, p->y, t->width_mm[i] - CELL_GAP_MM, t->number[i],
                 t->names[i], true);
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

static void row(struct report *r, const char *const *cells, enum report_tone tone)
{
    struct pdf *p = pdf_of(r);
    const struct report_table *t = &p->table;
    double height = cell.leading_mm, x = LEFT_MM;
    for (int i = 0; i < t->count; i++)
        height = fmax(height, set_text(p, i == t->toned ? &cell_bold : &cell, tone, 0, 0,
                                       t->width_mm[i] - CELL_GAP_MM, false, cells[i], false));
    if (need(p, height + 2))
        table_head(p);
    for (int i = 0; i < t->count; i++) {
        set_text(p, i == t->toned && tone != REPORT_QUIET ? &cell_bold : &cell,
                 i == t->toned ? tone : REPORT_INK, x, p->y, t->width_mm[i] - CELL_GAP_MM,
                 t->number[i], cells[i], true);
        x += t->width_mm[i];
    }
    p->y += height + 1;
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

/* Heading, text, ruler and a single picture or the first row of them stay together. */
static void station(struct report *r, const struct report_station *s)
{
    struct pdf *p = pdf_of(r);
    char text[8];
    bool beside = s->pictures == 1;
    double width = REPORT_WIDTH_MM - INDENT_MM - (beside ? SIDE_MM + PICTURE_GAP_MM : 0);
    double height =
        pairs_height(p, s->pairs, s->pair_count, width - NAME_MM) + REPORT_BAR_HEIGHT_MM;
    if (beside)
        height = fmax(height, SIDE_HEIGHT_MM + CAPTION_MM);
    else if (s->pictures)
        height += PICTURE_HEIGHT_MM + CAPTION_MM + 2;
    end_pictures(p);
    need(p, STATION_HEAD_MM + height);
    p->y += 4;
    rule(p, p->y, 0.2, REPORT_INK, 1);
    p->y += 1.8;
    snprintf(text, sizeof text, "%d", s->number);
    set_text(p, &head_type, REPORT_QUIET, LEFT_MM, p->y, 12, false, text, true);
    set_text(p, &small_bold, s->tone, LEFT_MM + 139, p->y + 1.2, 35, true, s->state, true);
    p->y +=
        set_text(p, &head_type, REPORT_INK, LEFT_MM + INDENT_MM, p->y, 125, false, s->title, true) +
        1.2;
    p->side_y = beside ? p->y + 1 : 0;
    p->side_page = p->page;
    put_pairs(p, s->pairs, s->pair_count, LEFT_MM + INDENT_MM, NAME_MM, width);
}

/* A small one stands under the text, a large one below a picture beside it. */
static void drawing(struct report *r, const struct report_drawing *d)
{
    struct pdf *p = pdf_of(r);
    double scale = fmin(1, REPORT_WIDTH_MM / d->width_mm);
    bool small_one = d->width_mm <= REPORT_BAR_WIDTH_MM;
    if (!small_one && p->side_y > 0 && p->side_page == p->page)
        p->y = fmax(p->y, p->side_y + SIDE_HEIGHT_MM + CAPTION_MM);
    if (p->column)
        end_pictures(p);
    need(p, d->height_mm * scale + 2);
    cairo_save(p->cr);
    cairo_translate(p->cr,
                    d->width_mm <= REPORT_WIDTH_MM - INDENT_MM ? LEFT_MM + INDENT_MM : LEFT_MM,
                    p->y + 1);
    cairo_scale(p->cr, scale, scale);
    cairo_rectangle(p->cr, 0, 0, d->width_mm, d->height_mm);
    cairo_clip(p->cr); /* a drawing that paints its paper must not paint the page */
    d->draw(p->cr, d->subject);
    cairo_restore(p->cr);
    p->y += d->height_mm * scale + 2;
}

/* The JPEG goes into the PDF as it is; cairo only has to know its size. So the surface's pixels are
 * never looked at, and all photos of a page can have the same, which the system never has to
 * provide: what a report takes does not depend on the photos' size. The surface lives until its
 * page is shown: cairo copies the pixels of one that goes before. */
static void paint_jpeg(struct pdf *p, const struct report_picture *picture, double x, double y,
                       double width_mm, double height_mm)
{
    double scale = fmin(width_mm / picture->width_px, height_mm / picture->height_px);
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

/* A picture with its caption close below it; the place's height is kept free in any case, as a run
 * that only counts pages does not know the picture's. */
static void put_picture(struct pdf *p, const struct report_picture *picture, double x, double y,
                        double width_mm, double height_mm)
{
    double shown = height_mm;
    if (p->to && picture->jpeg) {
        paint_jpeg(p, picture, x, y, width_mm, height_mm);
        shown = fmin(height_mm, width_mm * picture->height_px / picture->width_px);
    }
    set_text(p, &small, REPORT_QUIET, x, y + shown + 0.6, width_mm, false, picture->caption, true);
}

static void picture(struct report *r, const struct report_picture *picture)
{
    struct pdf *p = pdf_of(r);
    if (p->side_y > 0 && p->side_page == p->page) {
        put_picture(p, picture, LEFT_MM + REPORT_WIDTH_MM - SIDE_MM, p->side_y, SIDE_MM,
                    SIDE_HEIGHT_MM);
        return;
    }
    if (p->column == 0) {
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
}

static bool finish(struct report *r)
{
    struct pdf *p = pdf_of(r);
    need(p, 0);
    end_page(p);
    bool good = cairo_status(p->cr) == CAIRO_STATUS_SUCCESS;
    cairo_destroy(p->cr);
    cairo_surface_finish(p->surface);
    good = good && cairo_surface_status(p->surface) == CAIRO_STATUS_SUCCESS;
    cairo_surface_destroy(p->surface);
    good = good && (!p->to || (!ferror(p->to) && fflush(p->to) == 0));
    if (p->count_out)
        *p->count_out = p->page;
    free(p->blank);
    free(p);
    return good;
}

static cairo_status_t take(void *context, const unsigned char *bytes, unsigned size)
{
    struct pdf *p = context;
    return !p->to || fwrite(bytes, 1, size, p->to) == size ? CAIRO_STATUS_SUCCESS
                                                           : CAIRO_STATUS_WRITE_ERROR;
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
    p->surface = cairo_pdf_surface_create_for_stream(take, p, PAGE_WIDTH_MM * PT_PER_MM,
                                                     PAGE_HEIGHT_MM * PT_PER_MM);
    cairo_pdf_surface_set_metadata(p->surface, CAIRO_PDF_METADATA_TITLE, title);
    cairo_pdf_surface_set_metadata(p->surface, CAIRO_PDF_METADATA_CREATOR,
                                   "armsquare " ARMSQUARE_VERSION);
    p->cr = cairo_create(p->surface);
    cairo_scale(p->cr, PT_PER_MM, PT_PER_MM);
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
