#include "silhouette.h"

#include "angle.h"
#include "linalg.h"
#include "median.h"
#include "parallel.h"
#include "sample.h"
#include "shadow.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Cells of this size show a 1.5 mm link six cells wide; finer ones cost time and gain nothing, as
 * angles come from the photo itself later. */
#define PITCH_SMALL_MM 0.125
#define PITCH_LARGE_MM 0.16
#define LARGE_CARD_MM 100.0

#define LEARN_STRIDE 5 /* every fifth cell tells a tint's look as well as all */

/* ---- Light --------------------------------------------------------------------------------- */

/* Median linear RGB of a marker's quiet zone, sampled along its middle line. */
static bool paper_white(const struct vision_image *image, const struct card_fix *fix, int which,
                        float out[3])
{
    double values[3][40];
    int n = 0;
    double cell = fix->card->marker_mm / 8;
    struct vision_point centre = fix->card->markers[which].centre_mm;
    for (int i = 0; i < 40; i++) {
        int side = i / 10;
        double along = (i % 10 - 4.5) * cell, across = 4.5 * cell;
        double x = side == 0 ? along : side == 1 ? across : side == 2 ? -along : -across;
        double y = side == 0 ? across : side == 1 ? along : side == 2 ? -across : -along;
        float rgb[3];
        struct vision_point mm = {(centre.x + x) * fix->bar_scale_x,
                                  (centre.y + y) * fix->bar_scale_y};
        if (!sample_at(image, vision_plane_to_photo(&fix->plane, mm), rgb))
            continue;
        for (int c = 0; c < 3; c++)
            values[c][n] = rgb[c];
        n++;
    }
    if (n < 20)
        return false;
    for (int c = 0; c < 3; c++)
        out[c] = (float)median_upper(values[c], n);
    return out[0] > 0.002F && out[1] > 0.002F && out[2] > 0.002F;
}

/* Log-linear light through the white of the markers. With fewer than four markers only its level
 * is taken: three points carry a slope but cannot show that it is wrong. */
static bool measure_light(const struct vision_image *image, const struct card_fix *fix,
                          struct light *out)
{
    double normal[9] = {0}, right[3][3] = {{0}};
    int n = 0;
    memset(out, 0, sizeof *out);
    for (int i = 0; i < fix->markers; i++) {
        float white[3];
        if (!paper_white(image, fix, fix->which[i], white))
            continue;
        struct vision_point p = fix->card->markers[fix->which[i]].centre_mm;
        double row[3] = {1, p.x, p.y};
        for (int j = 0; j < 3; j++) {
            for (int k = 0; k < 3; k++)
                normal[j * 3 + k] += row[j] * row[k];
            for (int c = 0; c < 3; c++)
                right[c][j] += row[j] * log((double)white[c]);
        }
        n++;
    }
    if (n == 0)
        return false;
    for (int c = 0; c < 3; c++)
        if (n < 4 || !linalg_solve(3, normal, right[c], out->log_rgb[c])) {
            out->log_rgb[c][0] = right[c][0] / n;
            out->log_rgb[c][1] = out->log_rgb[c][2] = 0;
        }
    return true;
}

void silhouette_paper(const struct silhouette *s, struct vision_point mm, double out[3])
{
    for (int c = 0; c < 3; c++) {
        const double *l = s->light.log_rgb[c];
        out[c] = exp(l[0] + l[1] * mm.x / s->scale_x + l[2] * mm.y / s->scale_y);
    }
}

/* ---- The expected print -------------------------------------------------------------------- */

static bool near_marker_or_mark(const struct vision_card *card, struct vision_point at,
                                double clear_mm)
{
    double half = card->marker_mm * 0.625 + clear_mm;
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

/* Distance to the slot's printed outline. */
static double slot_outline_distance(const struct vision_card *card, struct vision_point at)
{
    double to_axis = at.x > 0 ? hypot(at.x, at.y) : fabs(at.y);
    return fabs(to_axis - card->slot_half_width_mm);
}

/* The tint at a point clear of markers and marks; -1 near a border of stripe or card. */
static int tint_of_face(const struct vision_card *card, struct vision_point at, double clear_mm)
{
    double inset = clear_mm + 0.3; /* cut a little inside the line */
    if (fabs(at.x) > card->width_mm / 2 - inset || fabs(at.y) > card->height_mm / 2 - inset)
        return -1;
    if (memcmp(card->tint_srgb[0], card->tint_srgb[1], 3) == 0)
        return 0;
    double along = vision_card_stripe_at(card, at);
    double to_border = fabs(along - round(along)) * card->stripe_mm;
    if (to_border < clear_mm)
        return -1;
    return (int)((long)floor(along) & 1);
}

/* How deep inside the slot's printed outline; negative outside. */
static double slot_depth(const struct vision_card *card, struct vision_point print)
{
    double to_axis = print.x > 0 ? hypot(print.x, print.y) : fabs(print.y);
    return card->slot_half_width_mm - to_axis;
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
    double depth = slot_depth(fix->card, print);
    if (s->slot_cut && depth > -clear_mm - 0.3)
        return depth > clear_mm + cut_mm ? SILHOUETTE_SLOT : -1;
    /* the outline of a slot that was not cut is a thin dashed line: too little to move an edge */
    return tint_in_print(fix->card, print, clear_mm);
}

/* ---- The map ------------------------------------------------------------------------------- */

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

static struct vision_point cell_centre(const struct silhouette *s, int i, int j)
{
    return (struct vision_point){s->x0_mm + i * s->pitch_mm, s->y0_mm + j * s->pitch_mm};
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
    double half = card->marker_mm * 0.625 + clear_mm;
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
    const double y = cell_centre(s, 0, j).y;
    const bool near_slot = fabs(y) < fix->card->slot_half_width_mm + clear_mm;
    find_covers(fix->card, y, clear_mm, &covers);
    for (int i = 0; i < s->width; i++) {
        struct vision_point mm = cell_centre(s, i, j);
        bool told = !is_covered(&covers, mm.x) &&
                    !(near_slot && slot_outline_distance(fix->card, mm) < clear_mm);
        row[i].tint = told ? tint_of_face(fix->card, mm, clear_mm) : -1;
    }
}

/* The mean of two points of a cell; false when one lies outside the image. */
static bool sample_cell(const struct vision_image *image, const struct card_fix *fix,
                        const struct silhouette *s, int i, int j, float out[3])
{
    const double quarter = s->pitch_mm / 4;
    struct vision_point mm = cell_centre(s, i, j);
    float rgb[2][3];
    for (int k = 0; k < 2; k++) {
        double side = k ? quarter : -quarter;
        struct vision_point at = {(mm.x + side) * fix->bar_scale_x,
                                  (mm.y + side) * fix->bar_scale_y};
        if (!sample_at(image, vision_plane_to_photo(&fix->plane, at), rgb[k]))
            return false;
    }
    for (int c = 0; c < 3; c++)
        out[c] = rgb[0][c] / 2 + rgb[1][c] / 2;
    return true;
}

#define BURNT 0.95F /* of the most that a photo can show, linear: 250 of 255 */

/* Along a row the light changes by the same factor from cell to cell. */
static void colours_of_row(const struct vision_image *image, const struct card_fix *fix,
                           const struct silhouette *s, int j, struct look *row)
{
    const struct vision_point first = cell_centre(s, 0, j), second = cell_centre(s, 1, j);
    double paper[3], factor[3], per_paper[3];
    silhouette_paper(s, (struct vision_point){first.x * s->scale_x, first.y * s->scale_y}, paper);
    silhouette_paper(s, (struct vision_point){second.x * s->scale_x, second.y * s->scale_y},
                     factor);
    for (int c = 0; c < 3; c++) {
        factor[c] = paper[c] / factor[c];
        per_paper[c] = 1 / paper[c];
    }
    for (int i = 0; i < s->width; i++) {
        float rgb[3];
        bool seen = sample_cell(image, fix, s, i, j, rgb);
        for (int c = 0; c < 3; c++) {
            row[i].rgb[c] = seen ? rgb[c] * (float)per_paper[c] : -1;
            row[i].burnt[c] = seen && rgb[c] > BURNT;
            per_paper[c] *= factor[c];
        }
    }
}

/* Rows of cells that are worked on together. */
#define STRIP_ROWS 16

static size_t count_strips(const struct silhouette *s)
{
    return ((size_t)s->height + STRIP_ROWS - 1) / STRIP_ROWS;
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
    const int first = (int)strip * STRIP_ROWS;
    for (int j = first; j < first + STRIP_ROWS && j < of->s->height; j++) {
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
    parallel_pieces(threads, count_strips(s), look_at_strip, &strips);
}

static float length3(const float v[3])
{
    return sqrtf(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]);
}

static float angle_to(const float v[3], const float unit[3])
{
    float along = v[0] * unit[0] + v[1] * unit[1] + v[2] * unit[2];
    float square = v[0] * v[0] + v[1] * v[1] + v[2] * v[2] - along * along;
    return atan2f(sqrtf(fmaxf(0, square)), along);
}

/* The tint's look starts from its print colour and follows the cells that resemble it: printers,
 * cameras and lamps all bend colours. A narrowing search keeps parts of similar colour out. */
static void learn_tint(const struct look *looks, size_t n, int which, const float nominal[3],
                       struct tint_look *out)
{
    float strength = length3(nominal);
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
            float l = length3(looks[i].rgb);
            if (l < 0.12F * strength || l > 2.5F * strength)
                continue;
            float angle = angle_to(looks[i].rgb, out->unit);
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
        float norm = length3(mean);
        for (int c = 0; c < 3; c++) {
            out->unit[c] = mean[c] / norm;
            out->burnt[c] = burnt[c] > count / 2;
        }
        out->strength = (float)(length / count);
        out->spread_rad = (float)(spread / count);
    }
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
    const float darkest = 0.055F, brightest = 1.9F;
    float along = 0;
    for (int c = 0; c < 3; c++)
        along += look->rgb[c] * tint->unit[c];
    if (along < darkest * tint->strength || along > brightest * tint->strength)
        return CELL_PART;
    float limit = fmaxf(0.16F, fminf(0.24F, 4 * tint->spread_rad));
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

/* The slot where no hub can cover it. */
static bool in_slot(const struct silhouette *s, const struct vision_card *card, int i, int j)
{
    const double hub_mm = 9.0;
    struct vision_point at = cell_centre(s, i, j);
    return at.x < 0 && fabs(at.y) < card->slot_half_width_mm + 0.2 && hypot(at.x, at.y) > hub_mm;
}

/* ---- The slot ---------------------------------------------------------------------------------
 *
 * In a slot that has been cut out the part stands before the servo or the bench, of which nothing
 * is known but what of it shows. So the part is told there by its own colours, as seen over the
 * card: what has none of them and hangs together with the open slot is not part. Where much of the
 * open slot has them too, a black servo behind a black horn say, what lies there stays unknown. */

#define PALETTE_LEAST 300 /* cells of the part over the card, to know its colours by */
#define SHADES 16         /* levels of each channel that are told apart */

struct palette {
    int count[SHADES * SHADES * SHADES], total;
};

static void shades(const struct look *look, int out[3])
{
    for (int c = 0; c < 3; c++) {
        float root = sqrtf(fmaxf(0, look->rgb[c])); /* white paper is 1, glare a little more */
        int shade = (int)(root * (SHADES / 1.3F));
        out[c] = shade < SHADES ? shade : SHADES - 1;
    }
}

static bool in_band(const struct silhouette *s, const struct vision_card *card, int i, int j)
{
    struct vision_point at = cell_centre(s, i, j);
    double half = card->slot_half_width_mm + 0.2;
    return fabs(at.y) < half && (at.x < 0 || hypot(at.x, at.y) < half);
}

static void collect_palette(const struct silhouette *s, const struct vision_card *card,
                            const struct look *looks, struct palette *out)
{
    const double near_mm = 25;
    memset(out, 0, sizeof *out);
    for (int j = 0; j < s->height; j++)
        for (int i = 0; i < s->width; i++) {
            size_t at = (size_t)j * (size_t)s->width + (size_t)i;
            struct vision_point mm = cell_centre(s, i, j);
            int shade[3];
            if (s->cells[at] != CELL_PART || looks[at].rgb[0] < 0 || in_band(s, card, i, j) ||
                hypot(mm.x, mm.y) > near_mm)
                continue;
            shades(&looks[at], shade);
            out->count[(shade[0] * SHADES + shade[1]) * SHADES + shade[2]]++;
            out->total++;
        }
}

/* Whether the part shows this colour elsewhere, on more than its odd cell. */
static bool in_palette(const struct palette *palette, const struct look *look)
{
    const double least = 0.003;
    int shade[3];
    shades(look, shade);
    return palette->count[(shade[0] * SHADES + shade[1]) * SHADES + shade[2]] >
           least * palette->total;
}

/* Where most of the slot, or of what should be one of its tints, shows something else than the card
 * it was cut out, unless pieces of it show the card all across: then an arm lies along the rest. A
 * bench seen through a cut slot may have the colour of one tint but not of both, and a piece holds
 * both. */
static void find_out_whether_cut(struct silhouette *s, const struct vision_card *card,
                                 const struct look *looks)
{
    enum { MOST_PIECES = 32 };
    const double piece_mm = 4, bare = 0.97;
    int tint[MOST_PIECES] = {0}, other[MOST_PIECES] = {0}, all_tint[2] = {0}, all_other[2] = {0};
    int whole = 0;
    for (int j = 0; j < s->height; j++)
        for (int i = 0; i < s->width; i++) {
            size_t at = (size_t)j * (size_t)s->width + (size_t)i;
            int piece = (int)(i * s->pitch_mm / piece_mm);
            if (!in_slot(s, card, i, j) || piece >= MOST_PIECES)
                continue;
            const bool bare_card = s->cells[at] == CELL_TINT, shows = s->cells[at] == CELL_PART;
            tint[piece] += bare_card;
            other[piece] += shows;
            if (looks[at].tint >= 0) {
                all_tint[looks[at].tint] += bare_card;
                all_other[looks[at].tint] += shows;
            }
        }
    const double least = piece_mm * card->slot_half_width_mm / (s->pitch_mm * s->pitch_mm);
    for (int k = 0; k < MOST_PIECES; k++)
        whole += tint[k] > fmax(least, bare * (tint[k] + other[k]));
    bool hides = all_tint[0] + all_tint[1] <= all_other[0] + all_other[1];
    for (int t = 0; t < 2; t++)
        hides = hides || (all_other[t] > 0 && all_tint[t] <= all_other[t]);
    s->slot_cut = hides && whole < 2;
}

/* Classes the far slot by the part's colours. queue gets the cells that are not part; returns how
 * many. */
static size_t class_far_slot(struct silhouette *s, const struct vision_card *card,
                             const struct look *looks, const struct palette *palette, size_t *queue)
{
    const double much_alike = 0.35; /* of the far slot */
    size_t alike = 0, other = 0;
    for (int pass = 0; pass < 2; pass++) {
        bool telling =
            palette->total >= PALETTE_LEAST && (double)alike < much_alike * (double)(alike + other);
        for (int j = 0; j < s->height; j++)
            for (int i = 0; i < s->width; i++) {
                size_t at = (size_t)j * (size_t)s->width + (size_t)i;
                if (!in_slot(s, card, i, j) || looks[at].rgb[0] < 0)
                    continue;
                bool part = in_palette(palette, &looks[at]);
                if (pass == 0) {
                    alike += part;
                    queue[other] = at;
                    other += !part;
                } else if (palette->total < PALETTE_LEAST || (part && !telling)) {
                    s->cells[at] = CELL_UNKNOWN;
                } else {
                    s->cells[at] = part ? CELL_PART : CELL_TINT;
                }
            }
    }
    return palette->total < PALETTE_LEAST ? 0 : other;
}

/* From the open slot towards the hub, as far as it is not of the part's colours. */
static void clear_towards_hub(struct silhouette *s, const struct vision_card *card,
                              const struct look *looks, const struct palette *palette,
                              size_t *queue, size_t waiting)
{
    static const int di[4] = {1, -1, 0, 0}, dj[4] = {0, 0, 1, -1};
    for (size_t next = 0; next < waiting; next++) {
        int i = (int)(queue[next] % (size_t)s->width), j = (int)(queue[next] / (size_t)s->width);
        for (int k = 0; k < 4; k++) {
            int x = i + di[k], y = j + dj[k];
            if (x < 0 || y < 0 || x >= s->width || y >= s->height || !in_band(s, card, x, y))
                continue;
            size_t at = (size_t)y * (size_t)s->width + (size_t)x;
            if (s->cells[at] != CELL_PART || in_palette(palette, &looks[at]))
                continue;
            s->cells[at] = CELL_TINT;
            queue[waiting++] = at;
        }
    }
}

static bool class_slot(struct silhouette *s, const struct vision_card *card,
                       const struct look *looks, const struct palette *palette)
{
    if (!s->slot_cut)
        return true;
    size_t *queue = malloc((size_t)s->width * (size_t)s->height * sizeof *queue);
    if (!queue)
        return false;
    size_t waiting = class_far_slot(s, card, looks, palette, queue);
    clear_towards_hub(s, card, looks, palette, queue, waiting);
    free(queue);
    return true;
}

/* ---- Over the markers ------------------------------------------------------------------------
 *
 * An arm's tip that runs onto a marker can be followed, since the print is known: where the print
 * shows as expected and has no colour of the part, it is bare; where it does not and has, it is
 * part. Where both or neither hold, a black arm over a black cell, the cell goes by its neighbours.
 */

/* Paper or ink, alone within the blur; PRINT_MARK where they meet. */
static enum vision_print plain_print(const struct vision_card *card, struct vision_point at)
{
    const double clear_mm = 0.25;
    enum vision_print middle = vision_card_print_at(card, at);
    for (int k = 0; k < 4; k++) {
        struct vision_point beside = {at.x + (k & 1 ? clear_mm : -clear_mm),
                                      at.y + (k & 2 ? clear_mm : -clear_mm)};
        if (vision_card_print_at(card, beside) != middle)
            return VISION_PRINT_MARK;
    }
    return middle;
}

static enum cell class_print(enum vision_print print, const struct look *look,
                             const struct palette *palette)
{
    const float bright = 0.3F, dark = 0.2F, neutral = 1.5F; /* relative to lit paper */
    float low = fminf(look->rgb[0], fminf(look->rgb[1], look->rgb[2]));
    float high = fmaxf(look->rgb[0], fmaxf(look->rgb[1], look->rgb[2]));
    bool expected =
        print == VISION_PRINT_WHITE ? low > bright && high < neutral * low : high < dark;
    bool part = in_palette(palette, look);
    if (expected == part)
        return CELL_UNKNOWN;
    return part ? CELL_PART : CELL_TINT;
}

/* Cells from left to right and from bottom to top, both ends included. */
struct block {
    int left, right, bottom, top;
};

static struct block block_about(const struct silhouette *s, struct vision_point centre,
                                double reach_mm)
{
    double i = (centre.x - s->x0_mm) / s->pitch_mm, j = (centre.y - s->y0_mm) / s->pitch_mm;
    double reach = reach_mm / s->pitch_mm;
    return (struct block){(int)fmax(0, ceil(i - reach)), (int)fmin(s->width - 1, floor(i + reach)),
                          (int)fmax(0, ceil(j - reach)),
                          (int)fmin(s->height - 1, floor(j + reach))};
}

/* Whether part lies in the block. */
static bool reaches_block(const struct silhouette *s, const struct block *b)
{
    for (int j = b->bottom; j <= b->top; j++)
        for (int i = b->left; i <= b->right; i++)
            if (s->cells[(size_t)j * (size_t)s->width + (size_t)i] == CELL_PART)
                return true;
    return false;
}

/* Of a marker that no part comes near nothing needs to be known. */
static void class_markers(struct silhouette *s, const struct vision_card *card,
                          const struct look *looks, const struct palette *palette, uint8_t *thin)
{
    const double reach_mm = card->marker_mm * 0.625 + 0.4; /* quiet zone and the blur about it */
    const double beside_mm = 1.6; /* further than an arm is followed beyond its end */
    if (palette->total < PALETTE_LEAST)
        return;
    for (int m = 0; m < card->marker_count; m++) {
        struct vision_point centre = card->markers[m].centre_mm;
        struct block b = block_about(s, centre, reach_mm);
        struct block about = block_about(s, centre, reach_mm + beside_mm);
        if (!reaches_block(s, &about))
            continue;
        for (int j = b.bottom; j <= b.top; j++)
            for (int i = b.left; i <= b.right; i++) {
                size_t at = (size_t)j * (size_t)s->width + (size_t)i;
                if (s->cells[at] != CELL_UNKNOWN || looks[at].rgb[0] < 0)
                    continue;
                enum vision_print print = plain_print(card, cell_centre(s, i, j));
                thin[at] = 1;
                if (print == VISION_PRINT_WHITE || print == VISION_PRINT_BLACK)
                    s->cells[at] = (uint8_t)class_print(print, &looks[at], palette);
            }
    }
}

static bool classify_cells(struct silhouette *s, const struct vision_card *card,
                           const struct look *looks)
{
    struct palette palette;
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
                thin[at] = !near_marker_or_mark(card, cell_centre(s, i, j), 0.25);
            }
        }
    struct shadow shadow;
    shadow_learn(s, looks, &shadow);
    bool good = shadow_clear(&shadow, looks, thin, s) && fill_thin_gaps(s, thin);
    find_out_whether_cut(s, card, looks);
    collect_palette(s, card, looks, &palette);
    good = good && class_slot(s, card, looks, &palette);
    memset(thin, 0, n);
    class_markers(s, card, looks, &palette, thin);
    good = good && fill_thin_gaps(s, thin);
    free(thin);
    return good;
}

/* ---- A part in the colour of one tint --------------------------------------------------------
 *
 * Over its own tint such a part cannot be seen, over the other it can. The silhouette then comes in
 * pieces, cut by the stripes; what lies between two pieces across a stripe is taken for part. */

/* Whether what covers the cell has, by its hue, the colour of tint t, over the other tint. */
static bool alike(const struct silhouette *s, const struct look *looks, size_t at, int t)
{
    const float alike_rad = 0.3F, darkest = 0.02F;
    return s->cells[at] == CELL_PART && looks[at].tint == 1 - t && looks[at].rgb[0] >= 0 &&
           length3(looks[at].rgb) > darkest &&
           angle_to(looks[at].rgb, s->tints[t].unit) < alike_rad;
}

/* The tint over which a part goes unseen: the one in whose colour most is seen over the other; -1
 * when that is next to nothing, or when both are: bright metal mirrors the card. And how much of
 * what is seen over the other it is. */
static int blind_tint(const struct silhouette *s, const struct look *looks, double *share)
{
    const double least_mm2 = 8;
    size_t n = (size_t)s->width * (size_t)s->height;
    const double cell_mm2 = s->pitch_mm * s->pitch_mm;
    double seen_mm2[2] = {0}, part_mm2[2] = {0};
    for (int t = 0; t < 2; t++)
        for (size_t i = 0; i < n; i++) {
            part_mm2[t] += s->cells[i] == CELL_PART && looks[i].tint == 1 - t ? cell_mm2 : 0;
            seen_mm2[t] += alike(s, looks, i, t) ? cell_mm2 : 0;
        }
    int most = seen_mm2[1] > seen_mm2[0];
    *share = part_mm2[most] > 0 ? seen_mm2[most] / part_mm2[most] : 0;
    return seen_mm2[most] > fmax(least_mm2, 3 * seen_mm2[1 - most]) ? most : -1;
}

enum end { END_NONE, END_PART, END_ALIKE };

#define DIRECTIONS 16
#define MOST_STEPS 96

/* Steps from a cell in sixteen directions, in whole cells. */
struct strides {
    int count; /* 10 mm */
    int x[DIRECTIONS][MOST_STEPS], y[DIRECTIONS][MOST_STEPS];
};

static void make_strides(const struct silhouette *s, struct strides *out)
{
    out->count = (int)(10 / s->pitch_mm);
    if (out->count > MOST_STEPS)
        out->count = MOST_STEPS;
    for (int d = 0; d < DIRECTIONS; d++)
        for (int k = 0; k < out->count; k++) {
            out->x[d][k] = (int)lround(k * cos(d * 2 * PI / DIRECTIONS));
            out->y[d][k] = (int)lround(k * sin(d * 2 * PI / DIRECTIONS));
        }
}

/* Whether a walk may take notice of the cell; all others it passes by. */
static bool is_noticed(const struct silhouette *s, const struct look *looks, size_t at)
{
    return s->cells[at] == CELL_PART || s->cells[at] == CELL_OFF ||
           (s->cells[at] == CELL_TINT && looks[at].tint == 1 - s->blind_tint);
}

/* For each cell how many steps of one cell, aslant too, the nearest that is noticed lies away: so
 * far a walk may go at once. Two passes (A. Rosenfeld, J. L. Pfaltz, "Sequential operations in
 * digital picture processing", JACM 13(4), 1966). */
static void measure_freedom(const struct silhouette *s, const struct look *looks, uint8_t *out)
{
    const int w = s->width, h = s->height, far = UINT8_MAX;
    for (int pass = 0; pass < 2; pass++) {
        const int sign = pass ? -1 : 1;
        for (int jj = 0; jj < h; jj++)
            for (int ii = 0; ii < w; ii++) {
                const int i = pass ? w - 1 - ii : ii, j = pass ? h - 1 - jj : jj;
                const size_t at = (size_t)j * (size_t)w + (size_t)i;
                int least = pass ? out[at] : is_noticed(s, looks, at) ? 0 : far;
                if (ii > 0 && out[at - (size_t)sign] + 1 < least)
                    least = out[at - (size_t)sign] + 1;
                for (int k = -1; jj > 0 && k <= 1; k++) {
                    const int i_back = i + k, j_back = j - sign;
                    const size_t back = (size_t)j_back * (size_t)w + (size_t)i_back;
                    if (i_back >= 0 && i_back < w && out[back] + 1 < least)
                        least = out[back] + 1;
                }
                out[at] = (uint8_t)least;
            }
    }
}

struct walks {
    struct strides strides;
    uint8_t *freedom;
};

/* What a walk from (i, j) through cells over the blind tint ends on. */
static enum end walk(const struct silhouette *s, const struct look *looks,
                     const struct walks *walks, int i, int j, int direction)
{
    const int *dx = walks->strides.x[direction], *dy = walks->strides.y[direction];
    int border = (int)(1.5 / s->pitch_mm), deep = 0;
    int blind = s->blind_tint, speck = (int)(0.6 / s->pitch_mm); /* dust is smaller */
    for (int k = 1; k < walks->strides.count;) {
        int x = i + dx[k], y = j + dy[k];
        if (x < 0 || y < 0 || x >= s->width || y >= s->height)
            return END_NONE;
        size_t at = (size_t)y * (size_t)s->width + (size_t)x;
        const int freedom = walks->freedom[at];
        k += freedom > 1 ? freedom : 1;
        if (freedom > 0)
            continue;
        /* on the border between stripes the colour is not told: look behind it */
        if (s->cells[at] == CELL_PART && looks[at].tint < 0 && border-- > 0)
            continue;
        if (s->cells[at] == CELL_PART && ++deep == speck)
            return alike(s, looks, at, blind) ? END_ALIKE : END_PART;
        if (s->cells[at] != CELL_PART)
            return END_NONE;
    }
    return END_NONE;
}

/* Whether the cell lies between two pieces of the part. */
static bool is_between(const struct silhouette *s, const struct look *looks,
                       const struct walks *walks, int i, int j)
{
    for (int k = 0; k < DIRECTIONS / 2; k++) {
        enum end one = walk(s, looks, walks, i, j, k);
        enum end other = one ? walk(s, looks, walks, i, j, k + DIRECTIONS / 2) : END_NONE;
        if (other && (one == END_ALIKE || other == END_ALIKE))
            return true;
    }
    return false;
}

/* What every strip is bridged by. */
struct bridges {
    const struct silhouette *s;
    const struct look *looks;
    struct walks walks;
    uint8_t *filled; /* the cells to be */
};

static void bridge_strip(void *context, size_t strip)
{
    const struct bridges *of = context;
    const struct silhouette *s = of->s;
    const int first = (int)strip * STRIP_ROWS;
    for (int j = first; j < first + STRIP_ROWS && j < s->height; j++)
        for (int i = 0; i < s->width; i++) {
            size_t at = (size_t)j * (size_t)s->width + (size_t)i;
            if (of->looks[at].tint != 1 - s->blind_tint && s->cells[at] == CELL_TINT &&
                is_between(s, of->looks, &of->walks, i, j))
                of->filled[at] = CELL_PART;
        }
}

static bool bridge_stripes(struct silhouette *s, const struct look *looks, size_t threads)
{
    size_t n = (size_t)s->width * (size_t)s->height;
    struct bridges of = {.s = s, .looks = looks, .filled = malloc(n)};
    of.walks.freedom = malloc(n);
    bool good = of.filled && of.walks.freedom;
    if (!good)
        goto done;
    make_strides(s, &of.walks.strides);
    measure_freedom(s, looks, of.walks.freedom);
    memcpy(of.filled, s->cells, n);
    parallel_pieces(threads, count_strips(s), bridge_strip, &of);
    memcpy(s->cells, of.filled, n);
done:
    free(of.filled);
    free(of.walks.freedom);
    return good;
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
    if (!(looks = calloc(n, sizeof *looks)))
        goto done;
    reason = VISION_BAD_LIGHT;
    if (!measure_light(image, fix, &out->light))
        goto done;
    look_at_cells(image, fix, out, threads, looks);
    for (int t = 0; t < 2; t++) {
        float nominal[3];
        sample_srgb_to_linear(fix->card->tint_srgb[t], nominal);
        learn_tint(looks, n, t, nominal, &out->tints[t]);
    }
    reason = VISION_NO_MEMORY;
    if (!classify_cells(out, fix->card, looks))
        goto done;
    out->blind_tint = blind_tint(out, looks, &out->blind_share);
    if (out->blind_tint >= 0 && !bridge_stripes(out, looks, threads))
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
    double i = floor((mm.x / s->scale_x - s->x0_mm) / s->pitch_mm + 0.5);
    double j = floor((mm.y / s->scale_y - s->y0_mm) / s->pitch_mm + 0.5);
    if (!(i >= 0 && j >= 0 && i < s->width && j < s->height))
        return CELL_OFF;
    return (enum cell)s->cells[(size_t)j * (size_t)s->width + (size_t)i];
}
