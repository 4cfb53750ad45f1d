#include "part_field.h"

#include "maths/angle.h"
#include "maths/linalg.h"

#include <math.h>
#include <stdlib.h>

#define MAX_HOLE_MM2 14.0  /* screw and link holes are smaller; gaps between arms larger */
#define MAX_SLOT_MM2 140.0 /* but slots are long */
#define MAX_SLOT_MM 4.5
#define MAX_ROUND_MM2 60.0 /* nor are those round that make plates lighter */
#define STRIP_MM 2.0       /* along the butt edge, print and its soft border */

/* ---- The solid part: small holes filled ------------------------------------------------------ */

struct patch {
    size_t cells; /* the first so many of the stack */
    bool touches; /* something other than part and card, so is not a hole */
};

/* Labels the connected patch of cells equal to want that contains start. A slot in an arm that
 * reaches in over the butt edge is open to the strip there, which does not count. */
static struct patch flood(const struct silhouette *s, size_t start, uint8_t want, uint8_t *seen,
                          size_t *stack)
{
    const size_t width = (size_t)s->width, strip = (size_t)(STRIP_MM / s->pitch_mm);
    struct patch patch = {0};
    size_t n = 0, top = 0;
    stack[top++] = start;
    seen[start] = 1;
    while (n < top) {
        size_t at = stack[n++];
        size_t i = at % width, j = at / width;
        const long step[4] = {-1, 1, -(long)width, (long)width};
        const bool inside[4] = {i > 0, i + 1 < width, j > 0, j + 1 < (size_t)s->height};
        for (int k = 0; k < 4; k++) {
            if (!inside[k]) {
                patch.touches = true;
                continue;
            }
            size_t next = (size_t)((long)at + step[k]);
            if (s->cells[next] == want) {
                if (!seen[next]) {
                    seen[next] = 1;
                    stack[top++] = next;
                }
                continue;
            }
            if (s->cells[next] != CELL_PART && s->cells[next] != CELL_TINT)
                patch.touches = patch.touches || s->cells[next] == CELL_OFF || j >= strip;
        }
    }
    patch.cells = n;
    return patch;
}

/* Standard deviations of its cells along its longer and its shorter axis, in cells. */
static void spread_of(const struct silhouette *s, const size_t *cells, size_t count, double *along,
                      double *across)
{
    const double n = (double)count;
    const size_t width_cells = (size_t)s->width;
    const long i0 = (long)(cells[0] % width_cells), j0 = (long)(cells[0] / width_cells);
    struct linalg_line sums = {0};
    for (size_t k = 0; k < count; k++)
        linalg_line_add(&sums, (double)((long)(cells[k] % width_cells) - i0),
                        (double)((long)(cells[k] / width_cells) - j0));
    const double xx = sums.xx / n - sums.x * sums.x / n / n;
    const double xy = sums.xy / n - sums.x * sums.y / n / n;
    const double yy = sums.yy / n - sums.y * sums.y / n / n;
    const double mean = (xx + yy) / 2, half = hypot((xx - yy) / 2, xy);
    *along = sqrt(mean + half);
    *across = sqrt(fmax(0, mean - half));
}

/* Whether it is long, narrow and straight: fills the rectangle that its spread is that of (12 times
 * the variance along a side is the square of its length). Openings between the spokes of a wheel
 * are bent. */
static bool is_slot(const struct silhouette *s, const size_t *cells, size_t count)
{
    const double slender = 3, filled = 0.8;
    double along, across;
    spread_of(s, cells, count, &along, &across);
    const double length = sqrt(12) * along, width = sqrt(12) * across;
    return width * s->pitch_mm < MAX_SLOT_MM && length > slender * width &&
           (double)count > filled * length * width;
}

/* Whether it is round: fills the ellipse that its spread is that of (4 times the variance along an
 * axis is the square of its half length), which a square fills to 0.955 and a sector to less. */
static bool is_round(const struct silhouette *s, const size_t *cells, size_t count)
{
    const double slender = 1.4, filled = 0.975;
    double along, across;
    spread_of(s, cells, count, &along, &across);
    return along < slender * across && (double)count > filled * 4 * PI * along * across;
}

static bool is_hole(const struct silhouette *s, const struct patch *patch, const size_t *cells)
{
    const double area = (double)patch->cells * s->pitch_mm * s->pitch_mm;
    return !patch->touches &&
           (area < MAX_HOLE_MM2 || (area < MAX_SLOT_MM2 && is_slot(s, cells, patch->cells)) ||
            (area < MAX_ROUND_MM2 && is_round(s, cells, patch->cells)));
}

static bool fill_solid(struct part_field *f)
{
    const struct silhouette *s = f->s;
    size_t n = (size_t)s->width * (size_t)s->height;
    uint8_t *seen = calloc(n, 1);
    size_t *stack = malloc(n * sizeof *stack);
    bool good = seen && stack;
    double cell_mm2 = s->pitch_mm * s->pitch_mm;
    for (size_t i = 0; good && i < n; i++) {
        if (s->cells[i] == CELL_PART)
            f->solid[i] = 1;
        if (seen[i] || (s->cells[i] != CELL_TINT && s->cells[i] != CELL_PART))
            continue;
        const struct patch patch = flood(s, i, s->cells[i], seen, stack);
        bool hole = s->cells[i] == CELL_TINT && is_hole(s, &patch, stack);
        bool dirt = s->cells[i] == CELL_PART && (double)patch.cells * cell_mm2 < 1.0;
        for (size_t k = 0; (hole || dirt) && k < patch.cells; k++)
            f->solid[stack[k]] = hole ? 1 : 2;
    }
    for (size_t i = 0; good && i < n; i++)
        if (f->solid[i] == 2)
            f->solid[i] = 0;
    free(seen);
    free(stack);
    return good;
}

/* Two-pass chamfer distance with weights 5, 7, 11 (G. Borgefors, "Distance transformations in
 * digital images", CVGIP 34, 1986): within 2 % of Euclid. */
static void measure_depth(struct part_field *f)
{
    const int w = f->s->width, h = f->s->height;
    static const int near[8][2] = {{-1, 0},  {0, -1}, {-1, -1}, {1, -1},
                                   {-1, -2}, {1, -2}, {-2, -1}, {2, -1}};
    static const float cost[8] = {5, 5, 7, 7, 11, 11, 11, 11};
    for (int i = 0; i < w * h; i++)
        f->depth_mm[i] = f->solid[i] ? 1e9F : 0;
    for (int pass = 0; pass < 2; pass++) {
        int sign = pass ? -1 : 1;
        for (int jj = 0; jj < h; jj++)
            for (int ii = 0; ii < w; ii++) {
                int i = pass ? w - 1 - ii : ii, j = pass ? h - 1 - jj : jj;
                float *d = &f->depth_mm[j * w + i];
                for (int k = 0; k < 8 && *d > 0; k++) {
                    int ni = i + sign * near[k][0], nj = j + sign * near[k][1];
                    /* beyond the map counts as not solid */
                    float from =
                        ni < 0 || nj < 0 || ni >= w || nj >= h ? 0 : f->depth_mm[nj * w + ni];
                    if (from + cost[k] < *d)
                        *d = from + cost[k];
                }
            }
    }
    float to_mm = (float)(f->s->pitch_mm / 5);
    for (int i = 0; i < w * h; i++)
        f->depth_mm[i] *= to_mm;
}

void part_field_free(struct part_field *field)
{
    if (!field)
        return;
    free(field->solid);
    free(field->depth_mm);
    free(field);
}

/* ---- Ways through it ------------------------------------------------------------------------- */

struct part_way part_field_way(const struct part_field *f, double x_mm, double y_mm, double dx,
                               double dy)
{
    const struct silhouette *s = f->s;
    return (struct part_way){(x_mm / s->scale_x - s->x0_mm) / s->pitch_mm + 0.5,
                             (y_mm / s->scale_y - s->y0_mm) / s->pitch_mm + 0.5,
                             dx / s->scale_x / s->pitch_mm, dy / s->scale_y / s->pitch_mm};
}

long part_field_index(const struct part_field *f, double x_mm, double y_mm)
{
    struct part_way here = part_field_way(f, x_mm, y_mm, 0, 0);
    return part_field_along(f, &here, 0);
}

/* Off the card, or at its very edge. */
bool part_field_off(const struct part_field *f, double x_mm, double y_mm)
{
    const double edge_mm = 1.5;
    const struct silhouette *s = f->s;
    double x = fabs(x_mm / s->scale_x), y = fabs(y_mm / s->scale_y);
    long at = part_field_index(f, x_mm, y_mm);
    return at < 0 || s->cells[at] == CELL_OFF || x > -s->x0_mm - edge_mm || y > -s->y0_mm - edge_mm;
}

/* Cannot tell: off the card, or on a marker. */
bool part_field_blind(const struct part_field *f, double x_mm, double y_mm)
{
    long at = part_field_index(f, x_mm, y_mm);
    return at < 0 || f->s->cells[at] == CELL_OFF || f->s->cells[at] == CELL_UNKNOWN;
}

/* A way through the map in even steps, in whole 65536ths of a cell, which take half the time. */
struct walk {
    int64_t i, j, di, dj;
};

static struct walk walk_along(const struct part_way *way, double step_mm)
{
    const double cell = 65536, far = 1e6; /* cells; nothing lies there */
    return (struct walk){llrint(fmin(fmax(way->i, -far), far) * cell),
                         llrint(fmin(fmax(way->j, -far), far) * cell),
                         llrint(way->di * step_mm * cell), llrint(way->dj * step_mm * cell)};
}

/* The cell k steps along; -1 off the map. */
static inline long walk_cell(const struct part_field *f, const struct walk *walk, int k)
{
    const int64_t i = walk->i + k * walk->di, j = walk->j + k * walk->dj;
    if (i < 0 || j < 0 || i >> 16 >= f->s->width || j >> 16 >= f->s->height)
        return -1;
    return (long)((j >> 16) * f->s->width + (i >> 16));
}

/* How many steps one may go on from a solid cell without leaving the part. Depth is right to 2 %
 * and told between centres of cells, of which the point and what it meets may each lie most of a
 * cell off. */
static inline int steps_ahead(const struct part_field *f, long at, double steps_per_mm)
{
    const int ahead = (int)((0.97 * f->depth_mm[at] - 2 * f->s->pitch_mm) * steps_per_mm);
    return ahead > 0 ? ahead : 0;
}

/* How far the part reaches from a point in a direction: up to the first gap wider than gap_mm. */
double part_field_reach_over(const struct part_field *f, struct vision_point from, double rad,
                             double gap_mm)
{
    const double step = f->s->pitch_mm, per_mm = 1 / step;
    const int most = (int)(90 * per_mm), gap = (int)(gap_mm * per_mm);
    const struct part_way way = part_field_way(f, from.x, from.y, cos(rad), sin(rad));
    const struct walk walk = walk_along(&way, step);
    int last = 0;
    for (int k = 0; k < most; k++) {
        const long at = walk_cell(f, &walk, k);
        if (at < 0)
            break;
        if (f->solid[at])
            last = k += steps_ahead(f, at, per_mm);
        else if (k - last > gap)
            break;
    }
    return last * step;
}

double part_field_reach(const struct part_field *f, struct vision_point from, double rad)
{
    return part_field_reach_over(f, from, rad, 0.6);
}

/* Distance from an axis point sideways to the end of the solid part; limit when there is none. */
double part_field_walk_out(const struct part_field *f, double x, double y, double dx, double dy,
                           double limit_mm)
{
    const double step = f->s->pitch_mm / 2, per_mm = 1 / step, gap_mm = 0.3;
    const int most = (int)ceil(limit_mm * per_mm), gap = (int)(gap_mm * per_mm);
    const struct part_way way = part_field_way(f, x, y, dx, dy);
    const struct walk walk = walk_along(&way, step);
    int last = 0;
    for (int k = 0; k < most; k++) {
        const long at = walk_cell(f, &walk, k);
        if (at >= 0 && f->solid[at])
            last = k += steps_ahead(f, at, per_mm);
        else if (k - last > gap)
            return (last + 1) * step;
    }
    return limit_mm;
}

/* ---- The thickest places --------------------------------------------------------------------- */

static int thicker_first(const void *a, const void *b)
{
    double d = ((const struct lump *)b)->radius_mm - ((const struct lump *)a)->radius_mm;
    return (d > 0) - (d < 0);
}

static bool is_local_maximum(const struct part_field *f, int i, int j)
{
    const int w = f->s->width, h = f->s->height;
    float d = f->depth_mm[j * w + i];
    for (int dj = -2; dj <= 2; dj++)
        for (int di = -2; di <= 2; di++) {
            int ni = i + di, nj = j + dj;
            if (ni >= 0 && nj >= 0 && ni < w && nj < h && f->depth_mm[nj * w + ni] > d)
                return false;
        }
    return true;
}

/* Local maxima of depth, row by row. A plateau, as along a bar of even width, is one maximum a
 * cell: a few long ones make thousands, so that no number of them may end the search before all of
 * the map was seen. The caller's; NULL without memory. */
static struct lump *gather_maxima(const struct part_field *f, size_t *count)
{
    const struct silhouette *s = f->s;
    size_t n = 0, room = 1024;
    struct lump *pool = malloc(room * sizeof *pool);
    for (int j = 0; pool && j < s->height; j++)
        for (int i = 0; pool && i < s->width; i++) {
            double r = f->depth_mm[j * s->width + i];
            if (r < PART_FIELD_MIN_LUMP_MM || !is_local_maximum(f, i, j))
                continue;
            if (n == room) {
                room *= 2;
                struct lump *more = realloc(pool, room * sizeof *pool);
                if (!more)
                    free(pool);
                pool = more;
            }
            if (pool)
                pool[n++] = (struct lump){{(s->x0_mm + i * s->pitch_mm) * s->scale_x,
                                           (s->y0_mm + j * s->pitch_mm) * s->scale_y},
                                          r};
        }
    *count = n;
    return pool;
}

/* The thickest places; false without memory. */
static bool find_lumps(struct part_field *f)
{
    size_t n;
    struct lump *pool = gather_maxima(f, &n);
    if (!pool)
        return false;
    qsort(pool, n, sizeof *pool, thicker_first);
    for (size_t i = 0; i < n && f->lump_count < PART_FIELD_MAX_LUMPS; i++) {
        bool claimed = false;
        for (int k = 0; k < f->lump_count && !claimed; k++)
            claimed = hypot(pool[i].at_mm.x - f->lumps[k].at_mm.x,
                            pool[i].at_mm.y - f->lumps[k].at_mm.y) < 0.8 * f->lumps[k].radius_mm;
        if (!claimed)
            f->lumps[f->lump_count++] = pool[i];
    }
    free(pool);
    return true;
}

struct part_field *part_field_new(const struct silhouette *s)
{
    size_t n = (size_t)s->width * (size_t)s->height;
    struct part_field *f = calloc(1, sizeof *f);
    if (!f)
        return NULL;
    f->s = s;
    f->solid = calloc(n, 1);
    f->depth_mm = calloc(n, sizeof(float));
    if (!f->solid || !f->depth_mm || !fill_solid(f)) {
        part_field_free(f);
        return NULL;
    }
    measure_depth(f);
    if (!find_lumps(f)) {
        part_field_free(f);
        return NULL;
    }
    return f;
}

/* Things that reach in from outside, fingers and frames, are thickest at the card's rim. */
bool part_field_at_rim(const struct card_fix *fix, const struct lump *c)
{
    double x = fix->card->width_mm / 2 - fabs(c->at_mm.x / fix->bar_scale_x);
    double y = fix->card->height_mm / 2 - fabs(c->at_mm.y / fix->bar_scale_y);
    return fmin(x, y) < c->radius_mm + 1.5;
}
