/* The report as one HTML page that needs nothing beside it: style, drawings and photos are inside.
 * Prints on A4; on a phone the tables become a list of cards. */
#include "report.h"

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
    "*{box-sizing:border-box}\n"
    "html{-webkit-text-size-adjust:100%;font-size:16px}\n"
    "body{margin:0;background:#e9ebe8;color:#1c252e;line-height:1.45;"
    "font-family:\"Helvetica Neue\",Helvetica,\"Nimbus Sans\",Arial,sans-serif}\n"
    "main{max-width:58rem;margin:0 auto;background:#fff;padding:3.2rem 3.6rem}\n"
    "h1,h2,h3,.model,.state{font-family:\"Palatino Linotype\",Palatino,P052,\"Book Antiqua\","
    "Georgia,serif;font-weight:normal;line-height:1.15;text-wrap:balance}\n"
    "h1{font-size:1.05rem;letter-spacing:.16em;text-transform:uppercase;margin:0;color:#5b6670}\n"
    "h2{font-size:1.55rem;margin:3.2rem 0 .6rem;padding-top:.7rem;"
    "border-top:2px solid #1c252e}\n"
    "h3{font-size:1.2rem;margin:0}\n"
    ".cover{border:1px solid #1c252e;outline:1px solid #1c252e;outline-offset:4px;"
    "padding:1.5rem 2rem;display:grid;grid-template-columns:1fr 1.15fr;gap:1.2rem 2rem;"
    "align-items:center}\n"
    ".model{font-size:2.9rem;margin:.3rem 0 .9rem}\n"
    ".state{font-size:1.6rem;margin:0}\n"
    ".detail{margin:.2rem 0 0}\n"
    ".cover dl{font-size:.92rem}\n"
    ".banner{border:1px solid #7d5800;color:#7d5800;padding:.4rem .8rem;margin:0;"
    "font-weight:bold;grid-column:1/3}\n"
    ".lead{color:#5b6670;margin:0 0 1.1rem;max-width:44rem}\n"
    "dl{display:grid;grid-template-columns:max-content 1fr;gap:.28rem 1.4rem;margin:0}\n"
    "dt{color:#5b6670}\n"
    "dd{margin:0;overflow-wrap:anywhere}\n"
    "table{border-collapse:collapse;width:100%;font-size:.92rem;font-variant-numeric:tabular-nums}"
    "\n"
    "th{text-align:left;font-weight:normal;color:#5b6670;border-bottom:1px solid #1c252e;"
    "padding:.3rem .7rem .3rem 0;vertical-align:bottom}\n"
    "td{border-bottom:1px solid #d6dad6;padding:.42rem .7rem .42rem 0;vertical-align:top;"
    "overflow-wrap:break-word}\n"
    "th.n,td.n{text-align:right}\n"
    "td.n{white-space:nowrap}\n"
    "th:last-child,td:last-child{padding-right:0}\n"
    "td.band{font-family:Palatino,P052,Georgia,serif;font-size:1.02rem;padding-top:1.1rem;"
    "border-bottom-color:#1c252e}\n"
    ".tone{font-weight:bold;white-space:nowrap}\n"
    ".t1{color:#5b6670;font-weight:normal}.t2{color:#1b643c}.t3{color:#a12f1c}.t4{color:#7d5800}"
    ".t5{color:#6b3a86}\n"
    ".station{margin:2.2rem 0 0;padding-top:.8rem;border-top:1px solid #1c252e}\n"
    ".head{display:flex;gap:1rem;justify-content:space-between;align-items:baseline;"
    "margin-bottom:.7rem}\n"
    ".head .no{color:#5b6670}\n"
    ".station dl{font-size:.92rem}\n"
    "figure{margin:1.1rem 0 0}\n"
    "figcaption{font-size:.82rem;color:#5b6670;margin-top:.3rem}\n"
    "img{max-width:100%;height:auto;display:block}\n"
    ".photos{display:grid;grid-template-columns:repeat(auto-fill,minmax(15rem,1fr));gap:0 1.2rem;"
    "align-items:start}\n"
    ".photos img{border:1px solid #d6dad6;width:100%}\n"
    ".one{display:grid;grid-template-columns:1fr 20rem;column-gap:1.6rem;align-content:start;"
    "grid-template-rows:repeat(2,max-content) 1fr}\n"
    ".one .head,.one .wide{grid-column:1/3}.one dl,.one figure{grid-column:1}\n"
    ".one dl{grid-template-columns:5rem 1fr;column-gap:1rem}\n"
    ".one .photos{display:block;grid-column:2;grid-row:2/4}.one .photos figure{margin:0}\n"
    "ul{margin:.4rem 0 0;padding-left:1.15rem}\n"
    "li{margin:.25rem 0}\n"
    "p.names{color:#5b6670;margin:1.2rem 0 0}\n"
    "ul.names{columns:15rem;column-gap:1.6rem;font-size:.87rem;color:#5b6670}\n"
    "ul.names li{break-inside:avoid}\n"
    "footer{margin-top:3rem;padding-top:.6rem;border-top:1px solid #d6dad6;font-size:.8rem;"
    "color:#5b6670}\n"
    "@media(max-width:44rem){main{padding:1.1rem}.cover{display:block;padding:1.3rem 1.1rem}"
    ".cover dl,.cover .banner{margin-top:1rem}"
    ".model{font-size:2.2rem}.state{font-size:1.4rem}"
    "table,tbody,tr,td{display:block;width:100%}"
    "thead{position:absolute;left:-9999px}"
    "tr{border-bottom:1px solid #1c252e;padding:.55rem 0}"
    "td,td.n{border:0;padding:.08rem 0;text-align:left}"
    "td:empty{display:none}"
    "td[data-name]{display:grid;grid-template-columns:6.2rem 1fr}"
    "td[data-name]::before{content:attr(data-name);color:#5b6670}"
    "td[data-name=\"No.\"],td[data-name=Entry]{display:block;float:left;"
    "width:auto;padding-right:.6rem;"
    "color:#5b6670}td[data-name=Station]{display:block;font-weight:bold}"
    "td[data-name=\"No.\"]::before,td[data-name=Entry]::before,"
    "td[data-name=Station]::before{content:none}"
    "td.band{padding-top:.8rem}.tone{white-space:normal}"
    "dl,.one dl{grid-template-columns:6.2rem 1fr;gap:.25rem 0}.head{flex-wrap:wrap}"
    ".one{display:block}.one .photos figure{margin:1.1rem 0 0}}\n"
    "@page{size:A4;margin:16mm 18mm}\n"
    "@media print{html{font-size:10.2pt}body{background:#fff}main{max-width:none;padding:0}"
    ".cover{margin:6px}"
    "tr,figure,.head,.cover{break-inside:avoid}h2,h3,.head,td.band{break-after:avoid}"
    "thead{display:table-header-group}"
    ".station{break-inside:avoid}"
    ".photos{grid-template-columns:1fr 1fr 1fr}.one{grid-template-columns:1fr 6.2cm}}\n";

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

static void cover(struct report *r, const struct report_cover *c)
{
    struct html *h = html_of(r);
    put(h, "<header class=\"cover\">\n<div>\n");
    put_element(h, "<h1>", c->title, "</h1>\n");
    put_element(h, "<p class=\"model\">", c->model, "</p>\n");
    fprintf(h->to, "<p class=\"state t%d\">", (int)c->tone);
    put_element(h, "", c->state, "</p>\n");
    put_element(h, "<p class=\"detail\">", c->detail, "</p>\n</div>\n");
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

static void table(struct report *r, const struct report_table *t)
{
    struct html *h = html_of(r);
    h->table = t;
    put(h, "<table>\n<thead>\n<tr>");
    for (int i = 0; i < t->count; i++) {
        put(h, t->number[i] ? "<th scope=\"col\" class=\"n\">" : "<th scope=\"col\">");
        put_element(h, "", t->names[i], "</th>");
    }
    put(h, "</tr>\n</thead>\n<tbody>\n");
}

static void band(struct report *r, const char *title)
{
    struct html *h = html_of(r);
    fprintf(h->to, "<tr><td class=\"band\" colspan=\"%d\">", h->table->count);
    put_element(h, "", title, "</td></tr>\n");
}

static void row(struct report *r, const char *const *cells, enum report_tone tone)
{
    struct html *h = html_of(r);
    put(h, "<tr>");
    for (int i = 0; i < h->table->count; i++) {
        if (!*cells[i]) {
            put(h, "<td></td>");
            continue;
        }
        put(h, h->table->number[i] ? "<td class=\"n\"" : "<td");
        put_element(h, " data-name=\"", h->table->names[i], "\">");
        if (i == h->table->toned)
            fprintf(h->to, "<span class=\"tone t%d\">", (int)tone);
        else
            put(h, "<span>");
        put_element(h, "", cells[i], "</span></td>");
    }
    put(h, "</tr>\n");
}

static void table_end(struct report *r)
{
    put(html_of(r), "</tbody>\n</table>\n");
}

static void station(struct report *r, const struct report_station *s)
{
    struct html *h = html_of(r);
    fprintf(h->to,
            "<section class=\"station%s\">\n<div class=\"head\"><h3><span class=\"no\">%d</span> ",
            s->pictures == 1 ? " one" : "", s->number);
    put_element(h, "", s->title, "</h3>");
    fprintf(h->to, "<span class=\"tone t%d\">", (int)s->tone);
    put_element(h, "", s->state, "</span></div>\n");
    put_pairs(h, s->pairs, s->pair_count);
}

static cairo_status_t take_svg(void *context, const unsigned char *bytes, unsigned size)
{
    put_base64(context, bytes, size);
    return CAIRO_STATUS_SUCCESS;
}

static void drawing(struct report *r, const struct report_drawing *d)
{
    const double pt_per_mm = 72 / 25.4;
    struct html *h = html_of(r);
    end_figures(h);
    put(h, d->width_mm > REPORT_BAR_WIDTH_MM ? "<figure class=\"wide\">" : "<figure>");
    put(h, "<img src=\"data:image/svg+xml;base64,");
    cairo_surface_t *surface = cairo_svg_surface_create_for_stream(
        take_svg, h, d->width_mm * pt_per_mm, d->height_mm * pt_per_mm);
    cairo_t *cr = cairo_create(surface);
    cairo_scale(cr, pt_per_mm, pt_per_mm);
    d->draw(cr, d->subject);
    h->failed |= cairo_status(cr) != CAIRO_STATUS_SUCCESS;
    cairo_destroy(cr);
    cairo_surface_finish(surface);
    h->failed |= cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS;
    cairo_surface_destroy(surface);
    end_base64(h);
    put_element(h, "\" alt=\"", d->alt, "\"");
    fprintf(h->to, " width=\"%.0f\" height=\"%.0f\"></figure>\n", d->width_mm * 96 / 25.4,
            d->height_mm * 96 / 25.4);
}

static void picture(struct report *r, const struct report_picture *p)
{
    struct html *h = html_of(r);
    if (!h->in_figures)
        put(h, "<div class=\"photos\">\n");
    h->in_figures = true;
    put(h, "<figure>");
    if (p->jpeg) {
        put(h, "<img src=\"data:image/jpeg;base64,");
        put_base64(h, p->jpeg, p->size);
        end_base64(h);
        put_element(h, "\" alt=\"", p->caption, "\"");
        fprintf(h->to, " width=\"%d\" height=\"%d\">", p->width_px, p->height_px);
    }
    put_element(h, "<figcaption>", p->caption, "</figcaption></figure>\n");
}

static void station_end(struct report *r)
{
    end_figures(html_of(r));
    put(html_of(r), "</section>\n");
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
