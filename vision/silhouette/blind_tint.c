#include "blind_tint.h"

#include "maths/angle.h"
#include "parallel.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Whether what covers the cell has, by its hue, the colour of tint t, over the other tint. */
static bool alike(const struct silhouette *s, const struct look *looks, size_t at, int t)
{
    const float alike_rad = 0.3F * s->tints[t].pale, darkest = 0.02F;
    return s->cells[at] == CELL_PART && looks[at].tint == 1 - t && looks[at].rgb[0] >= 0 &&
           cells_length(looks[at].rgb) > darkest &&
           cells_angle(looks[at].rgb, s->tints[t].unit) < alike_rad;
}

/* The tint over which a part goes unseen: the one in whose colour most is seen over the other; -1
 * when that is next to nothing, or when both are: bright metal mirrors the card. And how much of
 * what is seen over the other it is. */
int blind_tint_find(const struct silhouette *s, const struct look *looks, double *share)
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
    const int first = (int)strip * CELLS_STRIP_ROWS;
    for (int j = first; j < first + CELLS_STRIP_ROWS && j < s->height; j++)
        for (int i = 0; i < s->width; i++) {
            size_t at = (size_t)j * (size_t)s->width + (size_t)i;
            if (of->looks[at].tint != 1 - s->blind_tint && s->cells[at] == CELL_TINT &&
                is_between(s, of->looks, &of->walks, i, j))
                of->filled[at] = CELL_PART;
        }
}

bool blind_tint_bridge(struct silhouette *s, const struct look *looks, size_t threads)
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
    parallel_pieces(threads, cells_strips(s), bridge_strip, &of);
    memcpy(s->cells, of.filled, n);
done:
    free(of.filled);
    free(of.walks.freedom);
    return good;
}
