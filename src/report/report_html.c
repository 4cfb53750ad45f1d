/* The report as one HTML page that needs nothing beside it: style, drawings and photos are inside.
 * Prints on A4; on a phone each row of a table becomes two or three lines. */
#include "report.h"

#include "arithmetic/inch.h"

#include <cairo-svg.h>
#include <stdlib.h>
#include <string.h>

struct html {
    struct report as;
    FILE *to;
    const struct report_table *table;
    bool in_body, in_figures, failed;
    unsigned char rest[3]; /* bytes that wait to make up a group of base64 */
    int rest_count;
};

static struct html *html_of(struct report *r)
{
    return (struct html *)(void *)r;
}

/* ---- Text and bytes ----------------------------------------------------------------------- */

static void put(struct html *h, const char *text)
{
    fputs(text, h->to);
}

/* Text as text: nothing in it is markup. */
static void put_text(struct html *h, const char *text)
{
    for (; *text; text++)
        switch (*text) {
        case '&':
            put(h, "&amp;");
            break;
        case '<':
            put(h, "&lt;");
            break;
        case '>':
            put(h, "&gt;");
            break;
        case '"':
            put(h, "&quot;");
            break;
        case '\n':
            put(h, "<br>");
            break;
        default:
            fputc(*text, h->to);
        }
}

static void put_element(struct html *h, const char *open, const char *text, const char *close)
{
    put(h, open);
    put_text(h, text);
    put(h, close);
}

static const char alphabet[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/* RFC 4648, section 4: three bytes make four characters. */
static void put_group(struct html *h)
{
    const unsigned char *b = h->rest;
    int n = h->rest_count;
    char group[4] = {alphabet[b[0] >> 2], alphabet[(b[0] & 3) << 4 | (n > 1 ? b[1] >> 4 : 0)],
                     n > 1 ? alphabet[(b[1] & 15) << 2 | (n > 2 ? b[2] >> 6 : 0)] : '=',
                     n > 2 ? alphabet[b[2] & 63] : '='};
    fwrite(group, 1, 4, h->to);
    h->rest_count = 0;
}

static void put_base64(struct html *h, const unsigned char *bytes, size_t size)
{
    for (size_t i = 0; i < size; i++) {
        h->rest[h->rest_count++] = bytes[i];
        if (h->rest_count == 3)
            put_group(h);
    }
}

static void end_base64(struct html *h)
{
    if (h->rest_count)
        put_group(h);
}

/* ---- Frame -------------------------------------------------------------------------------- */

static const char style[] =
    ":root{color-scheme:only light}\n"
    "*{box-sizing:border-box}\n"
    "html{-webkit-text-size-adjust:100%;font-size:16px}\n"
    "body{margin:0;background:#e9ebe8;color:#1c252e;line-height:1.45;font-family:\"Helvetica "
    "Neue\",Helvetica,\"Nimbus Sans\",Arial,sans-serif}\n"
    "main{max-width:60rem;margin:0 auto;background:#fff;padding:3.2rem 3.6rem}\n"
    "h1,h2,h3,.model,.state{font-family:\"Palatino Linotype\",Palatino,P052,\"Book "
    "Antiqua\",Georgia,serif;font-weight:normal;line-height:1.15;text-wrap:balance}\n"
    "h1{font-size:1.05rem;letter-spacing:.16em;text-transform:uppercase;margin:0;color:#5b6670}\n"
    "h2{font-size:1.55rem;margin:3rem 0 .6rem;padding-top:.7rem;border-top:2px solid #1c252e}\n"
    "h3{font-size:1.2rem;margin:0}\n"
    "a{color:inherit;text-decoration-color:#9aa5a0;text-underline-offset:.18em}\n"
    "a:focus-visible,.scroll:focus-visible{outline:3px solid #1f5fae;outline-offset:2px}\n"
    "p{margin:0}\n"
    ".cover{border:1px solid #1c252e;outline:1px solid #1c252e;outline-offset:4px;padding:1.5rem "
    "2rem;display:grid;grid-template-columns:1fr 1.15fr;gap:1.2rem 2rem;align-items:center}\n"
    ".model{font-size:2.9rem;margin:.3rem 0 .7rem}\n"
    ".state{font-size:1.6rem}\n"
    ".marks{display:flex;gap:2px;margin:.7rem 0 0;max-width:24rem}\n"
    ".marks i{flex:1;border-top:.5rem solid;min-width:1px}\n"
    ".marks .t1{opacity:.35}\n"
    ".detail{margin:.35rem 0 0}\n"
    ".cover dl{font-size:.92rem;grid-area:1/2}\n"
    ".next,.banner{grid-column:1/3}\n"
    ".next,.do{border-left:.4rem solid;padding:.1rem 0 .1rem .9rem}\n"
    ".next b,.next span,.do span{color:#1c252e;display:block}\n"
    ".next b{font-size:1.12rem}\n"
    ".next em,.do "
    "em{font-style:normal;font-weight:bold;font-size:.85rem;letter-spacing:.06em;text-transform:"
    "uppercase}\n"
    ".banner{border:1px solid #7d5800;color:#7d5800;padding:.4rem .8rem;font-weight:bold}\n"
    ".lead{color:#5b6670;margin:0 0 1.1rem;max-width:44rem}\n"
    "dl{display:grid;grid-template-columns:max-content 1fr;gap:.28rem 1.4rem;margin:0}\n"
    "dt{color:#5b6670}\n"
    "dd{margin:0;overflow-wrap:anywhere}\n"
    ".scroll{overflow-x:auto}\n"
    "table{border-collapse:collapse;width:100%;font-size:.92rem;font-variant-numeric:tabular-nums}"
    "\n"
    "th{text-align:left;font-weight:normal;color:#5b6670;border-bottom:1px solid "
    "#1c252e;padding:.3rem .8rem .3rem 0;vertical-align:bottom}\n"
    "td{border-bottom:1px solid #d6dad6;padding:.42rem .8rem .42rem "
    "0;vertical-align:top;overflow-wrap:break-word}\n"
    "th.n,td.n{text-align:right;padding-right:1.6rem}\n"
    "td.n,.c-when,.c-entry{white-space:nowrap}.compared td.n{white-space:normal}\n"
    "th:last-child,td:last-child{padding-right:0}\n"
    "td.band{font-family:\"Palatino "
    "Linotype\",Palatino,P052,Georgia,serif;font-size:1.02rem;padding-top:1.1rem;border-bottom-"
    "color:#1c252e}\n"
    ".tone{font-weight:bold;white-space:nowrap}\n"
    ".compared .tone{white-space:normal}.history .r1{color:#5b6670}.history .c-station{width:32%}\n"
    ".t1{color:#5b6670;font-weight:normal}.t2{color:#1b643c}.t3{color:#a12f1c}.t4{color:#7d5800}."
    "t5{color:#6b3a86}\n"
    ".stations .r1 .c-station a,.stations .r2 .c-station a{font-weight:normal}\n"
    ".stations .r3 .c-station,.stations .r4 .c-station,.stations .r5 .c-station{font-weight:bold}\n"
    ".noted td{border-bottom:0;padding-bottom:.1rem}.more td{padding-top:0}\n"
    ".stations .c-station{width:42%}.stations .c-found,.stations .c-asked{white-space:nowrap}\n"
    ".part{margin:2.2rem 0 0;padding-top:.8rem;border-top:1px solid "
    "#1c252e;scroll-margin-top:.5rem}\n"
    ".head{display:flex;gap:1rem;justify-content:space-between;align-items:baseline;margin-bottom:."
    "7rem}\n"
    ".head .no{color:#5b6670}\n"
    ".do{margin:0 0 .9rem}\n"
    ".part dl{font-size:.92rem;grid-template-columns:5rem 1fr;column-gap:1rem}\n"
    ".part dd:first-of-type{font-weight:bold}\n"
    ".body{display:grid;grid-template-columns:1fr 20rem;gap:0 "
    "1.6rem;align-items:start;align-content:start}\n"
    ".body .photos,.body .wide{grid-column:1/3}\n"
    ".one .body{grid-template-rows:max-content 1fr}\n"
    ".one dl,.one .ruler{grid-column:1}\n"
    ".one .photos{display:block;grid-column:2;grid-row:1/3}\n"
    "figure{margin:0}\n"
    ".ruler{margin-top:.2rem}.one .ruler{margin-top:1.1rem}\n"
    ".wide{margin-top:1.4rem}\n"
    "figcaption{font-size:.82rem;color:#5b6670;margin-top:.35rem;overflow-wrap:anywhere}\n"
    "figcaption b{display:block;color:#1c252e;font-size:.92rem}\n"
    "img{max-width:100%;height:auto;display:block}\n"
    ".photos{display:grid;grid-template-columns:repeat(auto-fill,minmax(15rem,1fr));gap:1.1rem "
    "1.2rem;align-items:start;margin-top:1.1rem}\n"
    ".one .photos{margin-top:0}\n"
    ".photos img{border:1px solid #d6dad6;width:100%}\n"
    ".stamped{position:relative}\n"
    ".stamped img{opacity:.4}\n"
    ".stamped "
    "p{position:absolute;left:0;right:0;top:32%;text-align:center;font-weight:bold;font-size:1."
    "25rem;letter-spacing:.08em;text-transform:uppercase;background:#fff;border:solid;border-width:"
    "3px 0;padding:.25rem}\n"
    "ul{margin:.4rem 0 0;padding-left:1.15rem}\n"
    "li{margin:.25rem 0}ul+.scroll{margin-top:1rem}\n"
    "p.names{color:#5b6670;margin:1.2rem 0 0}\n"
    "ul.names{columns:15rem;column-gap:1.6rem;font-size:.87rem;color:#5b6670}\n"
    "ul.names li{break-inside:avoid}\n"
    "footer{margin-top:3rem;padding-top:.6rem;border-top:1px solid "
    "#d6dad6;font-size:.8rem;color:#5b6670}\n"
    "@media screen and (max-width:44rem){\n"
    "main{padding:1.1rem}\n"
    "h2{margin-top:2.2rem}\n"
    ".cover{display:block;padding:1.1rem}\n"
    ".cover dl,.cover .banner,.next{margin-top:.9rem}\n"
    ".model{font-size:2.1rem;margin:.2rem 0 .5rem}.state{font-size:1.4rem}\n"
    ".cover dl{grid-template-columns:6.2rem 1fr;gap:.1rem 0;font-size:.85rem}\n"
    ".scroll{overflow-x:visible}\n"
    "table,tbody{display:block}\n"
    "thead{position:absolute;left:-9999px}\n"
    "tr{display:grid;border-bottom:1px solid #d6dad6;padding:.5rem 0;column-gap:.6rem}\n"
    "td,td.n{border:0;padding:0;text-align:left;min-width:0}\n"
    "td:empty{display:none}\n"
    "tr.title{display:block;padding:1rem 0 .3rem;border-bottom-color:#1c252e}td.band{padding:0}\n"
    ".compared .tone{white-space:normal}\n"
    ".stations tr.row{grid-template-columns:1.5rem auto 1fr auto}\n"
    ".c-no,.c-asked{color:#5b6670}\n"
    ".stations .c-station{grid-column:2/4;width:auto;font-weight:bold}\n"
    ".stations .r1 .c-station,.stations .r2 .c-station{font-weight:normal}\n"
    ".stations .c-state{grid-column:4;font-size:.92rem}\n"
    ".stations .c-found{grid-area:2/2;white-space:normal}\n"
    ".stations .c-asked{grid-area:2/3/3/5;white-space:normal}\n"
    ".stations .c-found:empty+td{grid-area:2/2/3/5}\n"
    ".stations .r2 .c-found:has(+ .c-asked:empty){display:none}\n"
    ".stations .more{display:block;padding:0 0 .5rem 2.1rem}\n"
    ".stations .noted{border-bottom:0;padding-bottom:.15rem}\n"
    ".stations .r3,.stations .r4,.stations .r5{border-left:.4rem solid "
    "#a12f1c;padding-left:.5rem}\n"
    ".stations .r4{border-left-color:#7d5800}.stations .r5{border-left-color:#6b3a86}\n"
    ".compared tr.row{display:flex;flex-wrap:wrap}\n"
    ".compared .c-station{flex:0 0 100%;width:auto;font-weight:bold}\n"
    ".compared .c-verdict{flex:0 0 100%}\n"
    ".c-then::before,.c-foundsince::before,.c-now::before,.c-moved::before{content:attr(data-name) "
    "\" \";color:#5b6670}\n"
    ".hardware tr{grid-template-columns:9rem 1fr;padding:.15rem 0;border:0}\n"
    ".hardware .c-station{grid-column:1/3;font-weight:bold;padding-top:.5rem}\n"
    ".hardware .c-hardware{color:#5b6670}\n"
    ".history tr{grid-template-columns:1.9rem auto 1fr}\n"
    ".history .c-entry,.history .c-when,.history .c-who{color:#5b6670;font-size:.85rem}\n"
    ".history .c-station,.history .c-what,.history .c-note{grid-column:2/4}\n"
    ".history .c-station{width:auto;font-weight:bold}\n"
    ".part dl{grid-template-columns:4.8rem 1fr;gap:.2rem 0}\n"
    ".body,.one .body{display:block}\n"
    ".one .ruler,.one .photos,.ruler{margin-top:1.1rem}.ruler img{width:100%}\n"
    ".wide .scroll{overflow-x:auto;border-right:.4rem solid #d6dad6}.wide "
    "img{max-width:none;width:44rem}\n"
    ".wide::before{content:\"Wider than the screen: move it sideways \\2194\";display:block;"
    "font-weight:bold;font-size:.92rem;margin-bottom:.35rem}\n"
    "}\n"
    "@page{size:A4;margin:15mm 18mm}\n"
    "@media print{\n"
    "html{font-size:10pt}body{background:#fff}main{max-width:none;padding:0}\n"
    ".cover{margin:6px}a{text-decoration:none}\n"
    ".marks i,.t2,.t3,.t4,.t5{-webkit-print-color-adjust:exact;print-color-adjust:exact}\n"
    "h2{margin-top:2rem}\n"
    "tr,figure,.head,.cover,.do,li{break-inside:avoid}h2,h3,.lead,.head,.do,td.band,tr.title,p."
    "names{break-after:avoid}\n"
    "p{orphans:3;widows:3}\n"
    "thead{display:table-header-group}.noted{break-after:avoid}\n"
    ".scroll{overflow:visible}td{padding-top:.28rem;padding-bottom:.28rem}tbody "
    "tr:nth-child(-n+3){break-after:avoid}.wide img{width:70%}\n"
    ".part{break-inside:avoid;margin-top:1.5rem}\n"
    ".body{grid-template-columns:1fr 7.4cm}\n"
    ".one .body{grid-template-columns:1fr 5.2cm}ul.names{break-inside:avoid}\n"
    ".photos{grid-template-columns:repeat(3,4.7cm);margin-top:.7rem}\n"
    "}\n";

static void put_head(struct html *h, const char *title)
{
    put(h, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
           "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
    put_element(h, "<title>", title, "</title>\n");
    put(h, "<style>\n");
    put(h, style);
    put(h, "</style>\n</head>\n<body>\n<main>\n");
}

static void end_figures(struct html *h)
{
    if (h->in_figures)
        put(h, "</div>\n");
    h->in_figures = false;
}

/* ---- Parts -------------------------------------------------------------------------------- */

static void put_pairs(struct html *h, const struct report_pair *pairs, int count)
{
    if (!count)
        return;
    put(h, "<dl>\n");
    for (int i = 0; i < count; i++) {
        put_element(h, "<dt>", pairs[i].name, "</dt>");
        put_element(h, "<dd>", pairs[i].value, "</dd>\n");
    }
    put(h, "</dl>\n");
}

/* A mark for each station: the eye sees how much is done; the words beside it say it. */
static void put_marks(struct html *h, const struct report_cover *c)
{
    put(h, "<p class=\"marks\" aria-hidden=\"true\">");
    for (int i = 0; i < c->mark_count; i++)
        fprintf(h->to, "<i class=\"t%d\"></i>", (int)c->marks[i]);
    put(h, "</p>\n");
}

static void put_link(struct html *h, int station, const char *text)
{
    if (station)
        fprintf(h->to, "<a href=\"#station-%d\">", station);
    put_text(h, text);
    if (station)
        put(h, "</a>");
}

static void put_next(struct html *h, const struct report_cover *c)
{
    fprintf(h->to, "<p class=\"next t%d\">", (int)c->next_tone);
    put(h, "<em>Next</em>");
    if (*c->next) {
        put(h, "<b>");
        put_link(h, c->next_station, c->next);
        put(h, "</b>");
    }
    put_element(h, "<span>", c->next_say, "</span></p>\n");
}

static void cover(struct report *r, const struct report_cover *c)
{
    struct html *h = html_of(r);
    put(h, "<header class=\"cover\">\n<div>\n");
    put_element(h, "<h1>", c->title, "</h1>\n");
    put_element(h, "<p class=\"model\">", c->model, "</p>\n");
    fprintf(h->to, "<p class=\"state t%d\">", (int)c->tone);
    put_element(h, "", c->state, "</p>\n");
    put_element(h, "<p class=\"detail\">", c->detail, "</p>\n");
    put_marks(h, c);
    put(h, "</div>\n");
    put_next(h, c);
    put_pairs(h, c->facts, c->fact_count);
    if (*c->banner)
        put_element(h, "<p class=\"banner\">", c->banner, "</p>\n");
    put(h, "</header>\n");
}

static void section(struct report *r, const char *title, const char *lead)
{
    struct html *h = html_of(r);
    put_element(h, "<h2>", title, "</h2>\n");
    if (*lead)
        put_element(h, "<p class=\"lead\">", lead, "</p>\n");
}

static void list(struct report *r, const char *const *items, int count)
{
    struct html *h = html_of(r);
    put(h, "<ul>\n");
    for (int i = 0; i < count; i++)
        put_element(h, "<li>", items[i], "</li>\n");
    put(h, "</ul>\n");
}

static void names(struct report *r, const char *title, const char *const *items, int count)
{
    struct html *h = html_of(r);
    put_element(h, "<p class=\"names\">", title, "</p>\n<ul class=\"names\">\n");
    for (int i = 0; i < count; i++)
        put_element(h, "<li>", items[i], "</li>\n");
    put(h, "</ul>\n");
}

/* What a column is called in the style sheet: its letters in lower case, "c-todo" of "To do". */
static void put_class(struct html *h, const char *name, bool number)
{
    put(h, " class=\"c-");
    for (; *name; name++)
        if ((*name >= 'a' && *name <= 'z') || (*name >= 'A' && *name <= 'Z'))
            fputc(*name | 0x20, h->to);
    put(h, number ? " n\"" : "\"");
}

/* A table wider than the screen scrolls in a place of its own, which a keyboard can reach. */
static void table(struct report *r, const struct report_table *t)
{
    struct html *h = html_of(r);
    h->table = t;
    put_element(h, "<div class=\"scroll\" role=\"group\" tabindex=\"0\" aria-label=\"", t->title,
                "\">\n");
    fprintf(h->to, "<table class=\"%s\">\n<thead>\n<tr>", t->kind);
    for (int i = 0; i < t->count; i++) {
        put(h, t->number[i] ? "<th scope=\"col\" class=\"n\">" : "<th scope=\"col\">");
        put_element(h, "", t->names[i], "</th>");
    }
    put(h, "</tr>\n</thead>\n<tbody>\n");
}

static void band(struct report *r, const char *title)
{
    struct html *h = html_of(r);
    fprintf(h->to, "<tr class=\"title\"><td class=\"band\" colspan=\"%d\">", h->table->count);
    put_element(h, "", title, "</td></tr>\n");
}

static void put_cell(struct html *h, int column, const char *text, enum report_tone tone,
                     int station)
{
    const struct report_table *t = h->table;
    put(h, "<td");
    put_class(h, t->names[column], t->number[column]);
    put_element(h, " data-name=\"", t->names[column], "\">");
    if (*text && column == t->toned)
        fprintf(h->to, "<span class=\"tone t%d\">", (int)tone);
    put_link(h, column == t->link ? station : 0, text);
    put(h, *text && column == t->toned ? "</span></td>" : "</td>");
}

static void row(struct report *r, const struct report_row *row)
{
    struct html *h = html_of(r);
    fprintf(h->to, "<tr class=\"row r%d%s\">", (int)row->tone, *row->note ? " noted" : "");
    for (int i = 0; i < h->table->count; i++)
        put_cell(h, i, row->cells[i], row->tone, row->station);
    put(h, "</tr>\n");
    if (!*row->note)
        return;
    fprintf(h->to, "<tr class=\"more r%d\"><td></td><td colspan=\"%d\">", (int)row->tone,
            h->table->count - 1);
    put_element(h, "", row->note, "</td></tr>\n");
}

static void table_end(struct report *r)
{
    put(html_of(r), "</tbody>\n</table>\n</div>\n");
}

static void station(struct report *r, const struct report_station *s)
{
    struct html *h = html_of(r);
    fprintf(h->to,
            "<section class=\"part%s\" id=\"station-%d\">\n<div class=\"head\"><h3>"
            "<span class=\"no\">%d</span> ",
            s->pictures == 1 ? " one" : "", s->number, s->number);
    put_element(h, "", s->title, "</h3>");
    fprintf(h->to, "<span class=\"tone t%d\">", (int)s->tone);
    put_element(h, "", s->state, "</span></div>\n");
    if (*s->action) {
        fprintf(h->to, "<p class=\"do t%d\">", (int)s->tone);
        put_element(h, "<em>To do</em><span>", s->action, "</span></p>\n");
    }
    put(h, "<div class=\"body\">\n");
    put_pairs(h, s->pairs, s->pair_count);
}

static cairo_status_t take_svg(void *context, const unsigned char *bytes, unsigned size)
{
    put_base64(context, bytes, size);
    return CAIRO_STATUS_SUCCESS;
}

static void drawing(struct report *r, const struct report_drawing *d)
{
    struct html *h = html_of(r);
    end_figures(h);
    bool wide = d->width_mm > REPORT_BAR_WIDTH_MM;
    put(h, wide ? "<figure class=\"wide\">" : "<figure class=\"ruler\">");
    if (wide)
        put_element(h, "<div class=\"scroll\" role=\"group\" tabindex=\"0\" aria-label=\"", d->alt,
                    "\">");
    put(h, "<img src=\"data:image/svg+xml;base64,");
    cairo_surface_t *surface = cairo_svg_surface_create_for_stream(
        take_svg, h, d->width_mm / MM_PER_POINT, d->height_mm / MM_PER_POINT);
    cairo_t *cr = cairo_create(surface);
    cairo_scale(cr, 1 / MM_PER_POINT, 1 / MM_PER_POINT);
    d->draw(cr, d->subject);
    h->failed |= cairo_status(cr) != CAIRO_STATUS_SUCCESS;
    cairo_destroy(cr);
    cairo_surface_finish(surface);
    h->failed |= cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS;
    cairo_surface_destroy(surface);
    end_base64(h);
    put_element(h, "\" alt=\"", d->alt, "\"");
    fprintf(h->to, " width=\"%.0f\" height=\"%.0f\">", d->width_mm * 96 / MM_PER_INCH,
            d->height_mm * 96 / MM_PER_INCH);
    put(h, wide ? "</div>" : "");
    if (*d->caption)
        put_element(h, "<figcaption>", d->caption, "</figcaption>");
    put(h, "</figure>\n");
}

static void picture(struct report *r, const struct report_picture *p)
{
    struct html *h = html_of(r);
    if (!h->in_figures)
        put(h, "<div class=\"photos\">\n");
    h->in_figures = true;
    put(h, "<figure>");
    if (p->jpeg) {
        put(h, p->stamp ? "<div class=\"stamped\">" : "");
        put(h, "<img src=\"data:image/jpeg;base64,");
        put_base64(h, p->jpeg, p->size);
        end_base64(h);
        put_element(h, "\" alt=\"", p->key, "\"");
        fprintf(h->to, " width=\"%d\" height=\"%d\">", p->width_px, p->height_px);
    }
    if (p->stamp) {
        fprintf(h->to, "<p class=\"t%d\">", (int)p->stamp_tone);
        put_element(h, "", p->stamp, "</p>");
    }
    put(h, p->jpeg && p->stamp ? "</div>" : "");
    put_element(h, "<figcaption><b>", p->key, "</b>");
    put_element(h, "", p->caption, "</figcaption></figure>\n");
}

static void station_end(struct report *r)
{
    end_figures(html_of(r));
    put(html_of(r), "</div>\n</section>\n");
}

static bool finish(struct report *r)
{
    struct html *h = html_of(r);
    put(h, "<footer>Written by armsquare " ARMSQUARE_VERSION ".</footer>\n</main>\n</body>\n"
           "</html>\n");
    bool good = !h->failed && !ferror(h->to) && fflush(h->to) == 0;
    free(h);
    return good;
}

struct report *report_html_open(FILE *to, const char *title)
{
    struct html *h = calloc(1, sizeof *h);
    if (!h)
        return NULL;
    h->to = to;
    h->as = (struct report){cover,     section, list,    names,   table,       band, row,
                            table_end, station, drawing, picture, station_end, true, finish};
    put_head(h, title);
    return &h->as;
}
