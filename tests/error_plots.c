#include "error_plots.h"
#include "base/safe_file.h"
#include "drawing/plot.h"
#include "spread.h"

#include <cairo-svg.h>
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846
#define PAGE_MM 160.0
#define TEXT_MM 3.0
#define SMALL_TEXT_MM 2.6
#define NO_ANSWER_MM 3.0 /* above a plot, where photos without an answer are marked */

struct subject {
    const struct outcome *outcomes;
    size_t count;
    const struct cause_table *table;
};

/* ---- frames and axes ------------------------------------------------------------------------ */

static void line(cairo_t *cr, double x0, double y0, double x1, double y1)
{
    cairo_move_to(cr, x0, y0);
    cairo_line_to(cr, x1, y1);
    cairo_stroke(cr);
}

static void clear_page(cairo_t *cr)
{
    cairo_set_source_rgb(cr, 1, 1, 1);
    cairo_paint(cr);
}

static void frame(cairo_t *cr, const struct plot *plot)
{
    plot_set_colour(cr, plot_soft, 1);
    cairo_set_line_width(cr, 0.25);
    cairo_rectangle(cr, plot->left_mm, plot->top_mm, plot->width_mm, plot->height_mm);
    cairo_stroke(cr);
}

static void x_tick(cairo_t *cr, const struct plot *plot, double at, const char *label)
{
    double x = plot_x(plot, at), bottom = plot->top_mm + plot->height_mm;
    plot_set_colour(cr, plot_faint, 1);
    cairo_set_line_width(cr, 0.15);
    line(cr, x, plot->top_mm, x, bottom);
    plot_set_colour(cr, plot_ink, 1);
    plot_text(cr, x, bottom + 4, SMALL_TEXT_MM, PLOT_MIDDLE, PLOT_NORMAL, label);
}

static void y_tick(cairo_t *cr, const struct plot *plot, double at, const char *label)
{
    double y = plot_y(plot, at);
    plot_set_colour(cr, plot_faint, 1);
    cairo_set_line_width(cr, 0.15);
    line(cr, plot->left_mm, y, plot->left_mm + plot->width_mm, y);
    plot_set_colour(cr, plot_ink, 1);
    plot_text(cr, plot->left_mm - 1.5, y + SMALL_TEXT_MM * 0.36, SMALL_TEXT_MM, PLOT_RIGHT,
              PLOT_NORMAL, label);
}

static void x_ticks(cairo_t *cr, const struct plot *plot, double step)
{
    long last = lround(floor(plot->x1 / step + 1e-9));
    for (long i = lround(ceil(plot->x0 / step - 1e-9)); i <= last; i++) {
        char label[16];
        snprintf(label, sizeof label, "%.0f", (double)i * step);
        x_tick(cr, plot, (double)i * step, label);
    }
}

static void y_ticks(cairo_t *cr, const struct plot *plot, double step)
{
    long last = lround(floor(plot->y1 / step + 1e-9));
    for (long i = lround(ceil(plot->y0 / step - 1e-9)); i <= last; i++) {
        char label[16];
        snprintf(label, sizeof label, "%.0f", (double)i * step);
        y_tick(cr, plot, (double)i * step, label);
    }
}

/* Errors stand on logarithmic axes; below the first tick they are drawn on it. */
static const struct {
    double deg;
    const char *label;
} error_ticks[] = {{0.003, "0.003"}, {0.01, "0.01"}, {0.03, "0.03"}, {0.1, "0.1"},
                   {0.3, "0.3"},     {1, "1"},       {3, "3"},       {10, "10"}};
#define ERROR_TICKS (sizeof error_ticks / sizeof error_ticks[0])

static double error_axis(double error_deg)
{
    return log10(fmin(fmax(error_deg, error_ticks[0].deg), error_ticks[ERROR_TICKS - 1].deg));
}

static void x_name(cairo_t *cr, const struct plot *plot, const char *name)
{
    plot_set_colour(cr, plot_ink, 1);
    plot_text(cr, plot->left_mm + plot->width_mm / 2, plot->top_mm + plot->height_mm + 9.5, TEXT_MM,
              PLOT_MIDDLE, PLOT_NORMAL, name);
}

static void y_name(cairo_t *cr, const struct plot *plot, const char *name)
{
    cairo_save(cr);
    cairo_translate(cr, plot->left_mm - 12, plot->top_mm + plot->height_mm / 2);
    cairo_rotate(cr, -PI / 2);
    plot_set_colour(cr, plot_ink, 1);
    plot_text(cr, 0, 0, TEXT_MM, PLOT_MIDDLE, PLOT_NORMAL, name);
    cairo_restore(cr);
}

static void title(cairo_t *cr, const struct plot *plot, const char *text)
{
    plot_set_colour(cr, plot_ink, 1);
    plot_text(cr, plot->left_mm, 7, 3.6, PLOT_LEFT, PLOT_BOLD, text);
}

/* ---- points --------------------------------------------------------------------------------- */

static bool is_kept(const struct outcome *o)
{
    return strcmp(o->truth.set, "kept") == 0;
}

/* Adds a dot to the path, for draw_dots(): many in one path take a tenth of the file's bytes. */
static void add_dot(cairo_t *cr, double x, double y)
{
    cairo_move_to(cr, x, y);
    cairo_line_to(cr, x, y);
}

/* Photos to tune on are full, those kept aside hollow: told apart without colour too. */
static void draw_dots(cairo_t *cr, bool kept)
{
    const double width = 2.1, hollow = 1.4;
    cairo_save(cr);
    cairo_set_line_cap(cr, CAIRO_LINE_CAP_ROUND);
    cairo_set_line_width(cr, width);
    plot_set_colour(cr, kept ? plot_high : plot_low, 1);
    cairo_stroke_preserve(cr);
    if (kept) {
        cairo_set_line_width(cr, hollow);
        cairo_set_source_rgb(cr, 1, 1, 1);
        cairo_stroke_preserve(cr);
    }
    cairo_new_path(cr);
    cairo_restore(cr);
}

static void cross(cairo_t *cr, double x, double y, bool kept)
{
    plot_set_colour(cr, kept ? plot_high : plot_low, 1);
    cairo_set_line_width(cr, 0.3);
    line(cr, x - 0.8, y - 0.8, x + 0.8, y + 0.8);
    line(cr, x - 0.8, y + 0.8, x + 0.8, y - 0.8);
}

static void legend(cairo_t *cr, double x, double y, bool median)
{
    add_dot(cr, x, y - 1);
    draw_dots(cr, false);
    plot_set_colour(cr, plot_ink, 1);
    plot_text(cr, x + 2.5, y, SMALL_TEXT_MM, PLOT_LEFT, PLOT_NORMAL, "to tune on");
    add_dot(cr, x + 22, y - 1);
    draw_dots(cr, true);
    plot_set_colour(cr, plot_ink, 1);
    plot_text(cr, x + 24.5, y, SMALL_TEXT_MM, PLOT_LEFT, PLOT_NORMAL, "kept aside");
    if (!median)
        return;
    cairo_set_line_width(cr, 0.6);
    line(cr, x + 43, y - 1, x + 49, y - 1);
    plot_text(cr, x + 50.5, y, SMALL_TEXT_MM, PLOT_LEFT, PLOT_NORMAL, "median of both");
}

typedef double value_fn(const struct truth *truth);

static double obliquity_of(const struct truth *truth)
{
    return truth->obliquity_deg;
}

static double resolution_of(const struct truth *truth)
{
    return truth->px_per_mm;
}

/* The median of the errors between two values of x, over its stretch; three photos at least. */
static void median_step(cairo_t *cr, const struct plot *plot, const struct subject *s,
                        value_fn *value, double from, double to)
{
    double *errors = calloc(s->count + 1, sizeof *errors);
    size_t n = 0;
    for (size_t i = 0; i < s->count && errors; i++) {
        const struct outcome *o = &s->outcomes[i];
        double x = value(&o->truth);
        if (o->truth.measurable && o->result.status == VISION_OK && x >= from && x < to)
            errors[n++] = o->worst_deg;
    }
    if (n >= 3) {
        spread_sort(errors, n);
        double y = plot_y(plot, error_axis(spread_quantile(errors, n, 0.5)));
        plot_set_colour(cr, plot_ink, 1);
        cairo_set_line_width(cr, 0.6);
        line(cr, plot_x(plot, from), y, plot_x(plot, to), y);
    }
    free(errors);
}

static void scatter_set(cairo_t *cr, const struct plot *plot, const struct subject *s,
                        value_fn *value, bool kept)
{
    for (int answered = 0; answered < 2; answered++) { /* crosses first: each ends a path */
        for (size_t i = 0; i < s->count; i++) {
            const struct outcome *o = &s->outcomes[i];
            const double x = plot_x(plot, fmin(value(&o->truth), plot->x1));
            if (!o->truth.measurable || is_kept(o) != kept ||
                (o->result.status == VISION_OK) != answered)
                continue;
            if (answered)
                add_dot(cr, x, plot_y(plot, error_axis(o->worst_deg)));
            else
                cross(cr, x, plot->top_mm - NO_ANSWER_MM, kept);
        }
    }
    draw_dots(cr, kept);
}

static void scatter(cairo_t *cr, const struct plot *plot, const struct subject *s, value_fn *value)
{
    scatter_set(cr, plot, s, value, false);
    scatter_set(cr, plot, s, value, true);
    plot_set_colour(cr, plot_ink, 1);
    plot_text(cr, plot->left_mm - 1.5, plot->top_mm - NO_ANSWER_MM + 0.9, SMALL_TEXT_MM, PLOT_RIGHT,
              PLOT_NORMAL, "no answer");
}

static void error_y_axis(cairo_t *cr, const struct plot *plot)
{
    for (size_t i = 0; i < ERROR_TICKS; i++)
        y_tick(cr, plot, log10(error_ticks[i].deg), error_ticks[i].label);
    y_name(cr, plot, "error of the worst arm (degrees)");
}

static struct plot error_plot(double x0, double x1)
{
    return (struct plot){22, 19, 132, 68, x0, x1, log10(0.003), log10(10)};
}

static void draw_obliquity(cairo_t *cr, const struct subject *s)
{
    struct plot plot = error_plot(0, 36);
    title(cr, &plot, "Error and how slantwise the photo was taken");
    x_ticks(cr, &plot, 6);
    error_y_axis(cr, &plot);
    x_name(cr, &plot, "obliquity: line of sight against the card's normal (degrees)");
    frame(cr, &plot);
    scatter(cr, &plot, s, obliquity_of);
    for (int i = 0; i < 6; i++)
        median_step(cr, &plot, s, obliquity_of, i * 6, i * 6 + 6);
    legend(cr, 75, 12, true);
}

static void draw_resolution(cairo_t *cr, const struct subject *s)
{
    struct plot plot = error_plot(2, 30);
    title(cr, &plot, "Error and resolution");
    x_ticks(cr, &plot, 4);
    error_y_axis(cr, &plot);
    x_name(cr, &plot, "resolution on the card (pixels per millimetre)");
    frame(cr, &plot);
    scatter(cr, &plot, s, resolution_of);
    for (int i = 0; i < 7; i++)
        median_step(cr, &plot, s, resolution_of, 2 + i * 4, 6 + i * 4);
    legend(cr, 75, 12, true);
}

/* ---- share of photos below an error --------------------------------------------------------- */

/* Of all measurable photos of a set: the curve ends at the share that is answered. */
static int share_curve(cairo_t *cr, const struct plot *plot, const struct subject *s,
                       const char *set, bool plain_only)
{
    double *errors = calloc(s->count + 1, sizeof *errors);
    size_t n = 0;
    int whole = 0;
    for (size_t i = 0; i < s->count && errors; i++) {
        const struct outcome *o = &s->outcomes[i];
        bool wanted =
            plain_only ? truth_has_tag(&o->truth, "plain") : strcmp(o->truth.set, set) == 0;
        if (!wanted || !o->truth.measurable)
            continue;
        whole++;
        if (o->result.status == VISION_OK)
            errors[n++] = o->worst_deg;
    }
    spread_sort(errors, n);
    cairo_new_path(cr);
    cairo_move_to(cr, plot_x(plot, plot->x0), plot_y(plot, 0));
    for (size_t i = 0; i < n; i++) {
        double x = plot_x(plot, error_axis(errors[i]));
        cairo_line_to(cr, x, plot_y(plot, 100.0 * (double)i / whole));
        cairo_line_to(cr, x, plot_y(plot, 100.0 * (double)(i + 1) / whole));
    }
    if (whole > 0)
        cairo_line_to(cr, plot_x(plot, plot->x1), plot_y(plot, 100.0 * (double)n / whole));
    cairo_stroke(cr);
    free(errors);
    return whole;
}

static void share_legend(cairo_t *cr, int line_no, const char *name, int whole)
{
    char text[64];
    double x = 28, y = 26 + line_no * 5;
    snprintf(text, sizeof text, "%s (%d photos)", name, whole);
    line(cr, x, y - 1, x + 9, y - 1);
    cairo_set_dash(cr, NULL, 0, 0);
    plot_set_colour(cr, plot_ink, 1);
    plot_text(cr, x + 11, y, SMALL_TEXT_MM, PLOT_LEFT, PLOT_NORMAL, text);
}

static void draw_share(cairo_t *cr, const struct subject *s)
{
    struct plot plot = {22, 13, 132, 74, log10(0.003), log10(10), 0, 100};
    static const double dashes[] = {2.2, 1.2}, dots[] = {0.5, 1.1};
    title(cr, &plot, "Share of measurable photos answered, with an error of at most ...");
    for (size_t i = 0; i < ERROR_TICKS; i++)
        x_tick(cr, &plot, log10(error_ticks[i].deg), error_ticks[i].label);
    y_ticks(cr, &plot, 20);
    x_name(cr, &plot, "error of the worst arm (degrees)");
    y_name(cr, &plot, "share of photos (%)");
    frame(cr, &plot);
    cairo_set_line_width(cr, 0.7);
    plot_set_colour(cr, plot_low, 1);
    share_legend(cr, 0, "to tune on", share_curve(cr, &plot, s, "tune", false));
    plot_set_colour(cr, plot_high, 1);
    cairo_set_dash(cr, dashes, 2, 0);
    share_legend(cr, 1, "kept aside", share_curve(cr, &plot, s, "kept", false));
    plot_set_colour(cr, plot_ink, 1);
    cairo_set_dash(cr, dots, 2, 0);
    share_legend(cr, 2, "ordinary photos of both", share_curve(cr, &plot, s, "", true));
}

/* ---- coverage ------------------------------------------------------------------------------- */

#define COVERAGE_ROW_MM 3.9

static bool shown(const struct cause_row *row)
{
    return row->arms >= 10;
}

static int shown_rows(const struct cause_table *table)
{
    int n = 0;
    for (int i = 0; i < table->count; i++)
        n += shown(&table->rows[i]);
    return n;
}

static void coverage_row(cairo_t *cr, const struct plot *plot, const struct cause_row *row,
                         bool new_cause, double y)
{
    double low, high;
    char n[16];
    spread_share_limits(row->covered, row->arms, &low, &high);
    snprintf(n, sizeof n, "%d", row->arms);
    plot_set_colour(cr, plot_faint, 1);
    cairo_set_line_width(cr, new_cause ? 0.25 : 0.1);
    if (new_cause)
        line(cr, 4, y - COVERAGE_ROW_MM + 1.1, plot->left_mm + plot->width_mm,
             y - COVERAGE_ROW_MM + 1.1);
    plot_set_colour(cr, plot_ink, 1);
    if (new_cause)
        plot_text(cr, 4, y, SMALL_TEXT_MM, PLOT_LEFT, PLOT_BOLD, row->cause);
    plot_text(cr, 36, y, SMALL_TEXT_MM, PLOT_LEFT, PLOT_NORMAL, row->group);
    plot_text(cr, plot->left_mm - 2, y, SMALL_TEXT_MM, PLOT_RIGHT, PLOT_NORMAL, n);
    plot_set_colour(cr, plot_low, 1);
    cairo_set_line_width(cr, 0.5);
    double from = fmax(100 * low, plot->x0), middle = y - 0.9;
    line(cr, plot_x(plot, from), middle, plot_x(plot, 100 * high), middle);
    cairo_new_path(cr);
    cairo_arc(cr, plot_x(plot, fmax(100.0 * row->covered / row->arms, plot->x0)), middle, 1.0, 0,
              2 * PI);
    cairo_fill(cr);
}

static void draw_coverage(cairo_t *cr, const struct subject *s)
{
    int rows = shown_rows(s->table), at = 0;
    struct plot plot = {84, 20, 70, rows * COVERAGE_ROW_MM + 1, 40, 100, 0, 1};
    const char *cause = "";
    plot_set_colour(cr, plot_ink, 1);
    plot_text(cr, 4, 7, 3.6, PLOT_LEFT, PLOT_BOLD, "Does the stated uncertainty hold?");
    plot_text(cr, 4, 12, SMALL_TEXT_MM, PLOT_LEFT, PLOT_NORMAL,
              "Share of arms whose error is within 2 u, by cause, with 95 % confidence interval; "
              "groups of ten arms and more.");
    plot_text(cr, plot.left_mm - 2, 18, SMALL_TEXT_MM, PLOT_RIGHT, PLOT_BOLD, "arms");
    x_ticks(cr, &plot, 10);
    plot_set_colour(cr, plot_warn, 1);
    cairo_set_line_width(cr, 0.4);
    line(cr, plot_x(&plot, 95), plot.top_mm - 1.5, plot_x(&plot, 95), plot.top_mm + plot.height_mm);
    plot_text(cr, plot_x(&plot, 95), plot.top_mm - 2.2, SMALL_TEXT_MM, PLOT_MIDDLE, PLOT_NORMAL,
              "95 %");
    for (int i = 0; i < s->table->count; i++) {
        const struct cause_row *row = &s->table->rows[i];
        if (!shown(row))
            continue;
        coverage_row(cr, &plot, row, strcmp(cause, row->cause) != 0,
                     plot.top_mm + ++at * COVERAGE_ROW_MM);
        cause = row->cause;
    }
    x_name(cr, &plot, "share of arms within 2 u (%)");
    frame(cr, &plot);
}

static double coverage_height_mm(const struct subject *s)
{
    return shown_rows(s->table) * COVERAGE_ROW_MM + 34;
}

/* ---- error / u ------------------------------------------------------------------------------ */

#define BIN 0.5 /* of u */
#define REACH 4 /* bins to either side, in u; what lies beyond is counted in the last */

static void normal_curve(cairo_t *cr, const struct plot *plot)
{
    cairo_new_path(cr);
    for (int i = -80; i <= 80; i++) {
        double z = i * REACH / 80.0;
        double share = 100 * BIN * exp(-z * z / 2) / sqrt(2 * PI);
        cairo_line_to(cr, plot_x(plot, z), plot_y(plot, share));
    }
    plot_set_colour(cr, plot_high, 1);
    cairo_set_line_width(cr, 0.7);
    cairo_stroke(cr);
}

static void draw_normalised(cairo_t *cr, const struct subject *s)
{
    enum { BINS = (int)(2 * REACH / BIN) };
    int counts[BINS] = {0}, n = s->table->z_count;
    double most = 100 * BIN / sqrt(2 * PI);
    for (int i = 0; i < n; i++) {
        int bin = (int)floor((s->table->z[i] + REACH) / BIN);
        counts[bin < 0 ? 0 : bin >= BINS ? BINS - 1 : bin]++;
    }
    for (int b = 0; b < BINS && n > 0; b++)
        most = fmax(most, 100.0 * counts[b] / n);
    struct plot plot = {22, 13, 132, 74, -REACH, REACH, 0, ceil(most / 5) * 5};
    char heading[96];
    snprintf(heading, sizeof heading, "Errors in units of their stated uncertainty, %d arms", n);
    title(cr, &plot, heading);
    x_ticks(cr, &plot, 1);
    y_ticks(cr, &plot, 5);
    x_name(cr, &plot, "error / u (no unit); the outermost bars hold all beyond");
    y_name(cr, &plot, "share of arms in a bar (%)");
    for (int b = 0; b < BINS && n > 0; b++) {
        double share = 100.0 * counts[b] / n, x = plot_x(&plot, -REACH + b * BIN);
        cairo_rectangle(cr, x + 0.3, plot_y(&plot, share),
                        plot_x(&plot, -REACH + (b + 1) * BIN) - x - 0.6,
                        plot_y(&plot, 0) - plot_y(&plot, share));
        plot_set_colour(cr, plot_low, 1);
        cairo_fill(cr);
    }
    normal_curve(cr, &plot);
    frame(cr, &plot);
    plot_set_colour(cr, plot_high, 1);
    plot_text(cr, plot_x(&plot, 1.6), plot_y(&plot, 14), SMALL_TEXT_MM, PLOT_LEFT, PLOT_NORMAL,
              "normal distribution");
}

/* ---- files ---------------------------------------------------------------------------------- */

struct svg_stream {
    FILE *file;
    int decimals; /* of the number being written; -1: before its point */
    bool matrix;  /* within a transformation, which carries far */
    bool blank;   /* one that waits for what comes next */
    bool closed;  /* a path just was */
    bool opened;  /* a path whose style is not seen yet */
    int skipped;  /* of "lyph" or "link", what is still to come */
    int lines;
    char zeros[8]; /* a point and zeros of a number that ends with them, it seems */
    size_t zeroed;
    bool naught; /* a zero before the point, it seems */
    unsigned char last, before;
    char move[32];
    size_t moved;  /* bytes of it that wait */
    char said[24]; /* of a declaration that may be left out; what is longer is written already */
    size_t length;
};

/* What a path has unless told otherwise (SVG 1.1, 11.3 and 11.4: initial values). */
static bool goes_without_saying(const char *said, size_t length)
{
    static const char *const initial[] = {"stroke-linecap:butt;", "stroke-linejoin:miter;",
                                          "stroke-opacity:1;",    "fill-opacity:1;",
                                          "fill-rule:nonzero;",   "stroke:none;"};
    if (length && *said == ' ') {
        said++;
        length--;
    }
    for (size_t i = 0; i < sizeof initial / sizeof *initial; i++)
        if (strlen(initial[i]) == length && memcmp(initial[i], said, length) == 0)
            return true;
    return false;
}

/* What is said of each letter, and for all of them at once. */
static const char *said_once(const char *said, size_t length)
{
    static const char *const once[][2] = {
        {"<defs>\n", "<defs><style>symbol{overflow:visible}</style>\n"},
        {"<symbol overflow=\"", "<symbol"},
        {"visible\"", ""}};
    for (size_t i = 0; i < sizeof once / sizeof *once; i++)
        if (strlen(once[i][0]) == length && memcmp(once[i][0], said, length) == 0)
            return once[i][1];
    return NULL;
}

#define PATH "<path style=\""

static void say(struct svg_stream *out, unsigned char byte)
{
    if (out->length == sizeof out->said) {
        fwrite(out->said, 1, out->length, out->file);
        out->length = 0;
    }
    out->said[out->length++] = (char)byte;
    if (byte != ';' && byte != '"' && byte != '\n')
        return;
    const char *instead = said_once(out->said, out->length);
    if (instead) {
        fputs(instead, out->file);
        out->length = 0;
        return;
    }
    const bool opens = out->length == strlen(PATH) && memcmp(out->said, PATH, out->length) == 0;
    if (!opens && !goes_without_saying(out->said, out->length)) {
        if (out->opened)
            fputs(out->length == 1 ? "<path" : PATH, out->file);
        if (!out->opened || out->length > 1)
            fwrite(out->said, 1, out->length, out->file);
        out->opened = false;
    }
    out->opened = out->opened || opens;
    out->length = 0;
}

/* A move behind the end of a closed path draws nothing: it waits until a line follows. */
static void say_path(struct svg_stream *out, unsigned char byte)
{
    bool starts = byte == 'M' && out->closed;
    bool goes_on = out->moved > 0 && strchr("0123456789.- ", byte) != NULL;
    out->closed = byte == 'Z';
    if ((starts || goes_on) && out->moved < sizeof out->move) {
        out->move[out->moved++] = (char)byte;
        return;
    }
    for (size_t i = 0; i < out->moved && byte != '"'; i++)
        say(out, (unsigned char)out->move[i]);
    out->moved = 0;
    say(out, byte);
}

static bool is_path_command(unsigned char c)
{
    return c == 'M' || c == 'L' || c == 'C' || c == 'Z';
}

static bool is_digit(unsigned char c)
{
    return c >= '0' && c <= '9';
}

/* Whether the byte waits, being the first of "0.5" or part of ".00" that may end a number, behind
 * the head of the file. */
static bool is_zero_kept(struct svg_stream *out, unsigned char byte)
{
    const bool part = byte == '.' || (byte == '0' && out->decimals > 0);
    if (out->lines > 1 && part && out->zeroed < sizeof out->zeros) {
        out->zeros[out->zeroed++] = (char)byte;
        return true;
    }
    const bool goes_on = out->zeroed > 0 && is_digit(byte);
    if (out->naught && !goes_on)
        say_path(out, '0');
    for (size_t i = 0; i < out->zeroed && goes_on; i++)
        say_path(out, (unsigned char)out->zeros[i]);
    out->zeroed = 0;
    out->naught = out->lines > 1 && byte == '0' && !is_digit(out->before) && out->before != '.';
    if (out->naught)
        return true;
    out->lines += byte == '\n';
    return false;
}

/* Leaves out initial values, zeros behind the point and one alone before it, "lyph" of names,
 * "link" of the prefix "xlink" (not of what it stands for), indentation and the blanks that a path
 * needs neither beside a command nor before a minus (SVG 1.1, 8.3.9) nor at its end, and cuts
 * numbers after two decimals, a hundredth of a point: no eye sees more, and half of the file is
 * saved. The last byte is a line's end. */
static cairo_status_t to_stream(void *context, const unsigned char *bytes, unsigned size)
{
    struct svg_stream *out = context;
    for (unsigned i = 0; i < size; i++) {
        const bool digit = is_digit(bytes[i]);
        if (bytes[i] == 'l' && (out->last == 'g' || (out->last == 'x' && out->before != '/')))
            out->skipped = 4;
        out->before = out->last;
        if (out->skipped > 0) {
            out->last = bytes[i];
            out->skipped--;
            continue;
        }
        if (out->blank && !is_path_command(bytes[i]) && bytes[i] != '-' && bytes[i] != '"')
            say_path(out, ' ');
        out->blank =
            bytes[i] == ' ' && !is_path_command(out->last) && out->last != ' ' && out->last != '\n';
        if (bytes[i] == '(' || bytes[i] == ')')
            out->matrix = bytes[i] == '(' && out->last == 'x';
        out->last = bytes[i];
        if (!digit)
            out->decimals = bytes[i] == '.' ? 0 : -1;
        else if (out->decimals >= 0 && out->decimals++ >= (out->matrix ? 5 : 2))
            continue;
        if (!is_zero_kept(out, bytes[i]) &&
            bytes[i] != ' ') /* which waits until it is seen to be needed */
            say_path(out, bytes[i]);
    }
    return ferror(out->file) ? CAIRO_STATUS_WRITE_ERROR : CAIRO_STATUS_SUCCESS;
}

typedef void draw_fn(cairo_t *cr, const struct subject *s);

static bool write_svg(const char *folder, const char *name, double height_mm, draw_fn *draw,
                      const struct subject *s)
{
    const double pt_per_mm = 72 / 25.4;
    char path[600];
    struct safe_file file;
    snprintf(path, sizeof path, "%s/%s", folder, name);
    bool good = safe_file_open(&file, path);
    if (good) {
        struct svg_stream out = {.file = file.stream, .decimals = -1};
        cairo_surface_t *surface = cairo_svg_surface_create_for_stream(
            to_stream, &out, PAGE_MM * pt_per_mm, height_mm * pt_per_mm);
        cairo_t *cr = cairo_create(surface);
        cairo_scale(cr, pt_per_mm, pt_per_mm);
        clear_page(cr);
        draw(cr, s);
        good = cairo_status(cr) == CAIRO_STATUS_SUCCESS;
        cairo_destroy(cr);
        cairo_surface_finish(surface);
        good = cairo_surface_status(surface) == CAIRO_STATUS_SUCCESS && good;
        cairo_surface_destroy(surface);
        good = safe_file_commit(&file) && good;
    }
    if (!good)
        fprintf(stderr, "error_table: cannot write %s: %s\n", path, strerror(errno));
    return good;
}

bool error_plots_write(const char *folder, const struct outcome *outcomes, size_t count,
                       const struct cause_table *table)
{
    const struct subject s = {outcomes, count, table};
    return write_svg(folder, "error-obliquity.svg", 100, draw_obliquity, &s) &&
           write_svg(folder, "error-resolution.svg", 100, draw_resolution, &s) &&
           write_svg(folder, "error-share.svg", 100, draw_share, &s) &&
           write_svg(folder, "error-coverage.svg", coverage_height_mm(&s), draw_coverage, &s) &&
           write_svg(folder, "error-normalised.svg", 100, draw_normalised, &s);
}
