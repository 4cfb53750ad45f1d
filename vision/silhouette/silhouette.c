#include "silhouette.h"

#include "blind_tint.h"
#include "card/card_line.h"
#include "parallel.h"
#include "photo/large_memory.h"
#include "photo/sample.h"
#include "shadow.h"
#include "slot.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Cells of this size show a 1.5 mm link six cells wide; finer ones cost time and gain nothing, as
 * angles come from the photo itself later. */
#define PITCH_SMALL_MM 0.125
#define PITCH_LARGE_MM 0.16
#define LARGE_CARD_MM 100.0

#define LEARN_STRIDE 5 /* every fifth cell tells a tint's look as well as all */

/* ---- The expected print ---------------------------------------------------------------------- */

static bool near_marker_or_mark(const struct vision_card *card, struct vision_point at,
                                double clear_mm)
{
    double half = markers_half_mm(card) + clear_mm;
    for (int i = 0; i < card->marker_count; i++) {
        struct vision_point c = card->markers[i].centre_mm;
        if (fabs(at.x - c.x) <= half && fabs(at.y - c.y) <= half)
            return true;
    }
    for (int i = 0; i < card->mark_count; i++) {
        const struct vision_card_mark *m = &card->marks[i];
        if (at.x >= m->x0_mm - clear_mm && at.x <= m->x1_mm + clear_mm &&
            at.y >= m->y0_mm - clear_mm && at.y <= m->y1_mm + clear_mm)
            return true;
    }
    return false;
}

static bool has_stripes(const struct vision_card *card)
{
    return memcmp(card->tint_srgb[0], card->tint_srgb[1], 3) != 0;
}

/* along: vision_card_stripe_at(). */
static bool is_at_border(const struct vision_card *card, double along, double clear_mm)
{
    return fabs(along - round(along)) * card->stripe_mm < clear_mm;
}

/* The tint at a point clear of markers and marks; -1 near a border of stripe or card. */
static int tint_of_face(const struct vision_card *card, struct vision_point at, double clear_mm)
{
    double inset = clear_mm + 0.3; /* cut a little inside the line */
    if (fabs(at.x) > card->width_mm / 2 - inset || fabs(at.y) > card->height_mm / 2 - inset)
        return -1;
    if (!has_stripes(card))
        return 0;
    double along = vision_card_stripe_at(card, at);
    return is_at_border(card, along, clear_mm) ? -1 : (int)((long)floor(along) & 1);
}

/* Point in print: as the card is described, before the printer stretched it. */
static int tint_in_print(const struct vision_card *card, struct vision_point at, double clear_mm)
{
    return near_marker_or_mark(card, at, clear_mm) ? -1 : tint_of_face(card, at, clear_mm);
}

int silhouette_tint_at(const struct silhouette *s, const struct card_fix *fix,
                       struct vision_point mm, double clear_mm)
{
    const double cut_mm = 0.4; /* scissors and the card's thickness */
    struct vision_point print = {mm.x / fix->bar_scale_x, mm.y / fix->bar_scale_y};
    double depth = cells_slot_depth(fix->card, print);
    if (s->slot_cut && depth > -clear_mm - 0.3)
        return depth > clear_mm + cut_mm ? SILHOUETTE_SLOT : -1;
    /* the outline of a slot that was not cut is a thin dashed line: too little to move an edge */
    return tint_in_print(fix->card, print, clear_mm);
}

int silhouette_print_at(const struct silhouette *s, const struct card_fix *fix,
                        struct vision_point mm, double clear_mm)
{
    const int tint = silhouette_tint_at(s, fix, mm, clear_mm);
    const struct vision_point at = {mm.x / fix->bar_scale_x, mm.y / fix->bar_scale_y};
    if (tint >= 0)
        return tint;
    const enum vision_print print = cells_plain_print(fix->card, at, clear_mm);
    return print == VISION_PRINT_WHITE   ? SILHOUETTE_PAPER
           : print == VISION_PRINT_BLACK ? SILHOUETTE_INK
                                         : -1;
}

bool silhouette_is_at_border(const struct silhouette *s, const struct card_fix *fix,
                             struct vision_point mm, double clear_mm)
{
    struct vision_point print = {mm.x / fix->bar_scale_x, mm.y / fix->bar_scale_y};
    return has_stripes(fix->card) && !(s->slot_cut && cells_in_slot(fix->card, print)) &&
           is_at_border(fix->card, vision_card_stripe_at(fix->card, print), clear_mm);
}

/* ---- The map --------------------------------------------------------------------------------- */

static bool map_size(const struct card_fix *fix, struct silhouette *out)
{
    double w = fix->card->width_mm, h = fix->card->height_mm;
    out->scale_x = fix->bar_scale_x;
    out->scale_y = fix->bar_scale_y;
    out->pitch_mm = w > LARGE_CARD_MM ? PITCH_LARGE_MM : PITCH_SMALL_MM;
    out->width = (int)(w / out->pitch_mm);
    out->height = (int)(h / out->pitch_mm);
    out->x0_mm = -(out->width - 1) * out->pitch_mm / 2;
    out->y0_mm = -(out->height - 1) * out->pitch_mm / 2;
    out->cells = calloc((size_t)out->width * (size_t)out->height, 1);
    return out->cells != NULL;
}

/* Pieces of one row of cells that lie on or near markers and marks. */
struct covers {
    double x0[VISION_CARD_MAX_MARKERS + VISION_CARD_MAX_MARKS];
    double x1[VISION_CARD_MAX_MARKERS + VISION_CARD_MAX_MARKS];
    int count;
};

/* What near_marker_or_mark says, for all points of the row at y. */
static void find_covers(const struct vision_card *card, double y, double clear_mm,
                        struct covers *out)
{
    double half = markers_half_mm(card) + clear_mm;
    out->count = 0;
    for (int i = 0; i < card->marker_count; i++) {
        struct vision_point c = card->markers[i].centre_mm;
        if (fabs(y - c.y) > half)
            continue;
        out->x0[out->count] = c.x - half;
        out->x1[out->count++] = c.x + half;
    }
    for (int i = 0; i < card->mark_count; i++) {
        const struct vision_card_mark *m = &card->marks[i];
        if (y < m->y0_mm - clear_mm || y > m->y1_mm + clear_mm)
            continue;
        out->x0[out->count] = m->x0_mm - clear_mm;
        out->x1[out->count++] = m->x1_mm + clear_mm;
    }
}

static bool is_covered(const struct covers *covers, double x)
{
    for (int i = 0; i < covers->count; i++)
        if (x >= covers->x0[i] && x <= covers->x1[i])
            return true;
    return false;
}

static void tints_of_row(const struct card_fix *fix, const struct silhouette *s, double clear_mm,
                         int j, struct look *row)
{
    struct covers covers;
    const double y = cells_centre(s, 0, j).y;
    const bool near_slot = fabs(y) < fix->card->slot_half_width_mm + clear_mm;
    find_covers(fix->card, y, clear_mm, &covers);
    for (int i = 0; i < s->width; i++) {
        struct vision_point mm = cells_centre(s, i, j);
        bool told = !is_covered(&covers, mm.x) &&
                    !(near_slot && fabs(cells_slot_depth(fix->card, mm)) < clear_mm);
        row[i].tint = told ? tint_of_face(fix->card, mm, clear_mm) : -1;
    }
}

/* Two lines along a row of cells: each cell is looked at in two points, a quarter of it off its
 * middle on either side. */
struct row_lines {
    struct card_line line[2];
};

static struct row_lines lines_of_row(const struct vision_image *image, const struct card_fix *fix,
                                     const struct silhouette *s, int j)
{
    const double quarter = s->pitch_mm / 4;
    const struct vision_point first = cells_centre(s, 0, j);
    struct row_lines out;
    for (int k = 0; k < 2; k++) {
        double side = k ? quarter : -quarter;
        out.line[k] = card_line_start(image, &fix->plane,
                                      (struct vision_point){(first.x + side) * fix->bar_scale_x,
                                                            (first.y + side) * fix->bar_scale_y},
                                      (struct vision_point){s->pitch_mm * fix->bar_scale_x, 0});
    }
    return out;
}

#define CELLS_AT_A_TIME 64

#define BURNT 0.95F /* of the most that a photo can show, linear: 250 of 255 */

/* Along a row the light changes by the same factor from cell to cell. */
static void colours_of_row(const struct vision_image *image, const struct card_fix *fix,
                           const struct silhouette *s, int j, struct look *row)
{
    const struct vision_point first = cells_centre(s, 0, j), second = cells_centre(s, 1, j);
    double paper[3], factor[3], per_paper[3];
    silhouette_paper(s, (struct vision_point){first.x * s->scale_x, first.y * s->scale_y}, paper);
    silhouette_paper(s, (struct vision_point){second.x * s->scale_x, second.y * s->scale_y},
                     factor);
    for (int c = 0; c < 3; c++) {
        factor[c] = paper[c] / factor[c];
        per_paper[c] = 1 / paper[c];
    }
    const struct row_lines lines = lines_of_row(image, fix, s, j);
    for (int from = 0; from < s->width; from += CELLS_AT_A_TIME) {
        const int n = s->width - from < CELLS_AT_A_TIME ? s->width - from : CELLS_AT_A_TIME;
        float points[2][CELLS_AT_A_TIME][3];
        for (int k = 0; k < 2; k++)
            card_line_read(&lines.line[k], from, n, points[k]);
        for (int i = 0; i < n; i++) {
            const float *one = points[0][i], *two = points[1][i];
            const bool seen = one[0] >= 0 && two[0] >= 0;
            struct look *look = &row[from + i];
            for (int c = 0; c < 3; c++) {
                const float light = one[c] / 2 + two[c] / 2;
                look->rgb[c] = seen ? light * (float)per_paper[c] : -1;
                look->burnt[c] = seen && light > BURNT;
                per_paper[c] *= factor[c];
            }
        }
    }
}

/* What every strip of rows is made from. */
struct strips {
    const struct vision_image *image;
    const struct card_fix *fix;
    const struct silhouette *s;
    double clear_mm;
    struct look *looks;
};

static void look_at_strip(void *context, size_t strip)
{
    const struct strips *of = context;
    const int first = (int)strip * CELLS_STRIP_ROWS;
    for (int j = first; j < first + CELLS_STRIP_ROWS && j < of->s->height; j++) {
        struct look *row = &of->looks[(size_t)j * (size_t)of->s->width];
        tints_of_row(of->fix, of->s, of->clear_mm, j, row);
        colours_of_row(of->image, of->fix, of->s, j, row);
    }
}

static void look_at_cells(const struct vision_image *image, const struct card_fix *fix,
                          const struct silhouette *s, size_t threads, struct look *looks)
{
    /* stripe borders are as soft as the photo is */
    double px_per_mm = plane_px_per_mm(&fix->plane, (struct vision_point){0, 0});
    double clear_mm = fmax(0.25, 1.4 / px_per_mm * image->reduce);
    struct strips strips = {image, fix, s, clear_mm, looks};
    parallel_pieces(threads, cells_strips(s), look_at_strip, &strips);
}

/* ---- What is part ---------------------------------------------------------------------------- */

/* cells_angle of a colour of that length, within a hundredth up to half a radian, more than that
 * beyond: arc sine to third order, at a tenth of the time. */
static float small_angle(const float rgb[3], float length, const float unit[3])
{
    const float along = sample_dot(rgb, unit);
    const float sine = along > 0 ? sqrtf(fmaxf(0, length * length - along * along)) / length : 1;
    return sine + sine * sine * sine / 6;
}

/* The tint's look starts from its print colour and follows the cells that resemble it: printers,
 * cameras and lamps all bend colours. A narrowing search keeps parts of similar colour out. */
static void learn_tint(const struct look *looks, size_t n, int which, const float nominal[3],
                       struct tint_look *out)
{
    float strength = cells_length(nominal);
    for (int c = 0; c < 3; c++)
        out->unit[c] = nominal[c] / strength;
    out->strength = strength;
    static const float radius_rad[4] = {0.55F, 0.35F, 0.22F, 0.18F};
    for (int round = 0; round < 4; round++) {
        double sum[3] = {0}, length = 0, spread = 0;
        int count = 0, burnt[3] = {0};
        for (size_t i = 0; i < n; i += LEARN_STRIDE) {
            if (looks[i].tint != which || looks[i].rgb[0] < 0)
                continue;
            float l = cells_length(looks[i].rgb);
            if (l < 0.12F * strength || l > 2.5F * strength)
                continue;
            float angle = small_angle(looks[i].rgb, l, out->unit);
            if (angle > radius_rad[round])
                continue;
            for (int c = 0; c < 3; c++) {
                sum[c] += looks[i].rgb[c] / l;
                burnt[c] += looks[i].burnt[c];
            }
            length += l;
            spread += angle;
            count++;
        }
        out->cells = count;
        if (count == 0)
            return;
        float mean[3] = {(float)sum[0], (float)sum[1], (float)sum[2]};
        float norm = cells_length(mean);
        for (int c = 0; c < 3; c++) {
            out->unit[c] = mean[c] / norm;
            out->burnt[c] = burnt[c] > count / 2;
        }
        out->strength = (float)(length / count);
        out->spread_rad = (float)(spread / count);
    }
}

#define FULL_PRINT_RAD 0.48F /* a full print lies this far off white */

/* Inks differ, and so does what cameras make of them: a pale tint is not far from grey, so less off
 * its hue is foreign to it. */
static float paleness(const struct tint_look *tint)
{
    const float palest = 0.3F, white[3] = {0.57735F, 0.57735F, 0.57735F};
    return fmaxf(palest, fminf(1, cells_angle(tint->unit, white) / FULL_PRINT_RAD));
}

/* tan x to third order: enough for a limit of a quarter radian. */
static float tangent(float rad)
{
    return rad + rad * rad * rad / 3;
}

/* Where a tint is burnt out in a channel, its shade has more of that than the tint seems to have,
 * by as much as the photo could not show. */
static bool is_burnt_tint_in_shade(const struct look *look, const struct tint_look *tint,
                                   float within)
{
    const float least = 0.85F, most = 2.0F;
    float along = 0, square = 0;
    for (int c = 0; c < 3; c++)
        if (!tint->burnt[c]) {
            along += look->rgb[c] * tint->unit[c];
            square += tint->unit[c] * tint->unit[c];
        }
    if (!(square > 0 && square < 0.999F))
        return false;
    const float shade = along / square;
    if (shade > tint->strength)
        return false;
    for (int c = 0; c < 3; c++) {
        const float want = shade * tint->unit[c];
        if (tint->burnt[c] ? look->rgb[c] < least * want || look->rgb[c] > most * want
                           : fabsf(look->rgb[c] - want) > within * shade)
            return false;
    }
    return true;
}

/* A cell is bare card when its colour, whatever its brightness, points the way of the tint: a
 * shadow dims a tint and keeps its hue, a part does not. Very dark cells carry no hue: black
 * plastic is darker than any shadow on paper. Very bright ones are glare or white parts. */
static enum cell classify(const struct look *look, const struct tint_look *tint)
{
    const float darkest = 0.055F, brightest = 1.9F, nearest_grey = 0.6F * FULL_PRINT_RAD;
    float along = 0;
    for (int c = 0; c < 3; c++)
        along += look->rgb[c] * tint->unit[c];
    if (along < darkest * tint->strength || along > brightest * tint->strength)
        return CELL_PART;
    /* a pale tint itself is not far from grey: what lies nearer to that is a grey part */
    float limit =
        fminf(nearest_grey * tint->pale, fmaxf(0.16F, fminf(0.24F, 4 * tint->spread_rad)));
    float floor_rad = 0.006F / along; /* code-value noise grows in the dark */
    float square = 0;
    for (int c = 0; c < 3; c++)
        square += look->rgb[c] * look->rgb[c];
    float across2 = square - along * along;
    float most = along * tangent(limit + floor_rad);
    return across2 > most * most && !is_burnt_tint_in_shade(look, tint, tangent(limit)) ? CELL_PART
                                                                                        : CELL_TINT;
}

/* What most of the cells around one are; CELL_UNKNOWN where too few tell. */
static uint8_t class_of_neighbours(const struct silhouette *s, size_t at)
{
    int part = 0, tint = 0;
    for (int dj = -1; dj <= 1; dj++)
        for (int di = -1; di <= 1; di++) {
            uint8_t c = s->cells[at + (size_t)(dj * s->width + di)];
            part += c == CELL_PART;
            tint += c == CELL_TINT;
        }
    if (part + tint < 2)
        return CELL_UNKNOWN;
    return part > tint ? CELL_PART : CELL_TINT;
}

/* Stripe borders and the slot's outline are too thin to hide anything: each takes the class of
 * most of its neighbours, from both sides inwards. */
static bool fill_thin_gaps(struct silhouette *s, const uint8_t *thin)
{
    size_t n = (size_t)s->width * (size_t)s->height, open = 0, width = (size_t)s->width;
    size_t *gaps = malloc(n * sizeof *gaps);
    uint8_t *filled = malloc(n);
    if (!gaps || !filled) {
        free(gaps);
        free(filled);
        return false;
    }
    for (size_t row = width; row + width < n; row += width)
        for (size_t at = row + 1; at + 1 < row + width; at++)
            if (thin[at] && s->cells[at] == CELL_UNKNOWN)
                gaps[open++] = at;
    for (int round = 0; round < 6; round++) {
        size_t left = 0;
        for (size_t g = 0; g < open; g++)
            filled[g] = class_of_neighbours(s, gaps[g]);
        for (size_t g = 0; g < open; g++) {
            if (filled[g] == CELL_UNKNOWN)
                gaps[left++] = gaps[g];
            else
                s->cells[gaps[g]] = filled[g];
        }
        open = left;
    }
    free(gaps);
    free(filled);
    return true;
}

static bool classify_cells(struct silhouette *s, const struct card_fix *fix,
                           const struct look *looks, size_t threads)
{
    const struct vision_card *card = fix->card;
    struct part_colours colours;
    size_t n = (size_t)s->width * (size_t)s->height;
    uint8_t *thin = calloc(n, 1);
    if (!thin)
        return false;
    for (int j = 0; j < s->height; j++)
        for (int i = 0; i < s->width; i++) {
            size_t at = (size_t)j * (size_t)s->width + (size_t)i;
            const struct look *look = &looks[at];
            if (look->rgb[0] < 0) {
                s->cells[at] = CELL_OFF;
            } else if (look->tint >= 0) {
                s->cells[at] = (uint8_t)classify(look, &s->tints[look->tint]);
            } else {
                s->cells[at] = CELL_UNKNOWN;
                thin[at] = !near_marker_or_mark(card, cells_centre(s, i, j), 0.25);
            }
        }
    struct shadow shadow;
    shadow_learn(s, looks, &shadow);
    bool good = shadow_clear(&shadow, looks, thin, s) && fill_thin_gaps(s, thin);
    slot_find_out(s, card, looks);
    part_colours_learn(s, card, looks, &colours);
    good = good && slot_class(s, card, looks, &colours, threads);
    memset(thin, 0, n);
    part_colours_on_markers(s, fix, looks, &colours, thin);
    good = good && fill_thin_gaps(s, thin);
    free(thin);
    return good;
}

/* ---- The whole ------------------------------------------------------------------------------- */

void silhouette_paper(const struct silhouette *s, struct vision_point mm, double out[3])
{
    for (int c = 0; c < 3; c++) {
        const double *l = s->light.log_rgb[c];
        out[c] = exp(l[0] + l[1] * mm.x / s->scale_x + l[2] * mm.y / s->scale_y);
    }
}

static double share_of_part(const struct silhouette *s)
{
    size_t n = (size_t)s->width * (size_t)s->height, part = 0, tint = 0;
    for (size_t i = 0; i < n; i++) {
        part += s->cells[i] == CELL_PART;
        tint += s->cells[i] == CELL_TINT;
    }
    return part + tint ? (double)part / (double)(part + tint) : 1;
}

enum vision_reason silhouette_build(const struct vision_image *image, const struct card_fix *fix,
                                    size_t threads, struct silhouette *out)
{
    *out = (struct silhouette){0};
    enum vision_reason reason = VISION_NO_MEMORY;
    struct look *looks = NULL;
    if (!map_size(fix, out))
        goto done;
    size_t n = (size_t)out->width * (size_t)out->height;
    if (!(looks = large_memory(n * sizeof *looks)))
        goto done;
    reason = VISION_BAD_LIGHT;
    if (!light_measure(image, fix, &out->light))
        goto done;
    look_at_cells(image, fix, out, threads, looks);
    for (int t = 0; t < 2; t++) {
        float nominal[3];
        sample_srgb_to_linear(fix->card->tint_srgb[t], nominal);
        learn_tint(looks, n, t, nominal, &out->tints[t]);
        out->tints[t].pale = paleness(&out->tints[t]);
    }
    reason = VISION_NO_MEMORY;
    if (!classify_cells(out, fix, looks, threads))
        goto done;
    out->blind_tint = blind_tint_find(out, looks, &out->blind_share);
    if (out->blind_tint >= 0 && !blind_tint_bridge(out, looks, threads))
        goto done;
    out->part_share = share_of_part(out);
    reason = out->part_share > 0.8 ? VISION_BAD_LIGHT : VISION_REASON_NONE;
done:
    free(looks);
    if (reason != VISION_REASON_NONE)
        silhouette_clear(out);
    return reason;
}

void silhouette_clear(struct silhouette *s)
{
    free(s->cells);
    *s = (struct silhouette){0};
}

enum cell silhouette_at(const struct silhouette *s, struct vision_point mm)
{
    return cells_at(s, (struct vision_point){mm.x / s->scale_x, mm.y / s->scale_y});
}
