#include "edge_chain.h"

#include "maths/linalg.h"
#include "maths/median.h"
#include "photo/sample.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Noise of brightness and of colour, roots of light. Photos store colour at half the resolution of
 * brightness and smooth it, so a step of colour alone tells less well where it is. */
#define BRIGHT_NOISE 0.01F
#define COLOUR_NOISE 0.025F
#define LEAST_STRENGTH 4.0F /* in units of noise */
#define AVERAGED 2          /* neighbours on each side that a section is averaged with */

static const float luminance[3] = SAMPLE_LUMINANCE;

struct edge {
    double at, v;    /* sample index; distance from the axis, mm */
    double reward;   /* for leading the chain through it, at most 1 */
    float colour[3]; /* outside less inside, unit length */
    float inside[3], outside[3];
    double best; /* of all chains that end here, their reward less their costs */
    int from_section, from_edge;
};

struct row {
    float rgb[CHAIN_SAMPLES][3], strength[CHAIN_SAMPLES];
    struct edge edges[CHAIN_MAX_EDGES];
    int count;
};

/* ---- The edges of one section ---------------------------------------------------------------- */

/* A section averaged with its neighbours over the same tint, each shifted by how far its middle
 * lies from this one's. */
static void average(const struct chain_section *sections, int n, int at, double step_mm,
                    float out[CHAIN_SAMPLES][3])
{
    const struct chain_section *s = &sections[at];
    float count[CHAIN_SAMPLES] = {0};
    memset(out, 0, sizeof(float) * CHAIN_SAMPLES * 3);
    for (int k = at - AVERAGED; k <= at + AVERAGED; k++) {
        if (k < 0 || k >= n || sections[k].tint != s->tint)
            continue;
        double shift = (s->predicted_mm - sections[k].predicted_mm) / step_mm;
        if (fabs(shift) > 3)
            continue; /* the prediction jumped there */
        int whole = (int)floor(shift);
        float f = (float)(shift - whole);
        const int first = sections[k].first - whole, last = sections[k].last - whole - 1;
        const int from = s->first > first ? s->first : first, to = s->last < last ? s->last : last;
        for (int i = from; i <= to; i++)
            count[i]++;
        /* one loop over all values, three a sample: several go into one instruction */
        const float *rgb = sections[k].rgb[0];
        float *sum = out[0];
        for (int i = 3 * from, a = 3 * (from + whole); i < 3 * (to + 1); i++, a++)
            sum[i] += (1 - f) * rgb[a] + f * rgb[a + 3];
    }
    for (int i = s->first; i <= s->last; i++)
        for (int c = 0; c < 3; c++)
            out[i][c] = count[i] > 0 ? out[i][c] / count[i] : s->rgb[i][c];
}

/* The step between the means of span samples on either side. */
static void step_at(float rgb[CHAIN_SAMPLES][3], int i, int span, float out[3])
{
    memset(out, 0, 3 * sizeof *out);
    for (int k = 1; k <= span; k++)
        for (int c = 0; c < 3; c++)
            out[c] += (rgb[i + k][c] - rgb[i - k][c]) / (float)span;
}

/* Square of a step, in units of noise. */
static float strength_of(const float step[3])
{
    float bright = sample_dot(step, luminance),
          colour2 = fmaxf(0, sample_dot(step, step) - bright * bright);
    return bright * bright / (BRIGHT_NOISE * BRIGHT_NOISE) +
           colour2 / (COLOUR_NOISE * COLOUR_NOISE);
}

static void find_strength(float rgb[CHAIN_SAMPLES][3], int first, int last, int span, float *out)
{
    memset(out, 0, sizeof(float) * CHAIN_SAMPLES);
    for (int i = first + span; i + span <= last; i++) {
        float step[3];
        step_at(rgb, i, span, step);
        out[i] = strength_of(step);
    }
}

/* Samples on either side whose means make a step. */
static int span_of(double pixel_samples)
{
    return (int)lround(fmax(1, 1.2 * pixel_samples));
}

/* How far the flank of a peak of strength goes in one direction: down to where it has ended or the
 * next one begins. */
static int flank(const float *strength, int first, int last, int peak, int reach, int direction)
{
    const float ended = 0.02F;
    int i = peak;
    for (int k = 0; k < reach; k++) {
        int next = i + direction;
        if (next < first || next > last || strength[next] >= strength[i] ||
            strength[i] <= ended * strength[peak])
            break;
        i = next;
    }
    return i;
}

/* What tells how far a sample has come along a step of colours. Where most of the step is
 * brightness, that counts by what it is known better than colour (the inverse of the noise's
 * covariance); where most is colour, other things than the edge may change the brightness, and both
 * count alike. */
static void weigh_step(const float step[3], float out[3])
{
    const float colour = BRIGHT_NOISE * BRIGHT_NOISE / (COLOUR_NOISE * COLOUR_NOISE);
    const float some = 0.7F, most = 0.9F;
    const float bright = sample_dot(step, luminance);
    const float share = fabsf(bright) / sqrtf(fmaxf(1e-12F, sample_dot(step, step)));
    const float told = fmaxf(0, fminf(1, (share - some) / (most - some)));
    const float weight = 1 - told * (1 - colour);
    for (int c = 0; c < 3; c++)
        out[c] = weight * step[c] + (1 - weight) * bright * luminance[c];
}

/* Where the profile passes the colour of a pixel that both sides share equally, between samples in
 * and out and nearest to peak: lenses mix light, not its root. Negative when nowhere. */
static double half_covered(float rgb[CHAIN_SAMPLES][3], int in, int out, int peak, float step[3])
{
    float mixed[3], axis[3];
    for (int c = 0; c < 3; c++) {
        float a = rgb[in][c], b = rgb[out][c];
        step[c] = b - a;
        mixed[c] = sqrtf((a * a + b * b) / 2);
    }
    weigh_step(step, axis);
    float low = sample_dot(rgb[in], axis), high = sample_dot(rgb[out], axis);
    float level = fminf(0.25F * low + 0.75F * high,
                        fmaxf(0.75F * low + 0.25F * high, sample_dot(mixed, axis)));
    double best = -1;
    for (int k = in; k < out; k++) {
        float x = sample_dot(rgb[k], axis), y = sample_dot(rgb[k + 1], axis);
        if (!(x < level && y >= level))
            continue;
        double at = k + (level - x) / (y - x);
        if (best < 0 || fabs(at - peak) < fabs(best - peak))
            best = at;
    }
    return best;
}

static void keep_best(struct row *row, const struct edge *edge)
{
    if (row->count < CHAIN_MAX_EDGES) {
        row->edges[row->count++] = *edge;
        return;
    }
    int worst = 0;
    for (int k = 1; k < CHAIN_MAX_EDGES; k++)
        if (row->edges[k].reward < row->edges[worst].reward)
            worst = k;
    if (row->edges[worst].reward < edge->reward)
        row->edges[worst] = *edge;
}

/* Strength that an edge must have to be one, from how strong noise comes out here: half the steps
 * differ by less between sections that share no pixels, whatever shadow or edge both show. */
static float least_strength(const struct chain_section *sections, struct row *rows, int n, int span)
{
    enum { MOST = 4096, APART = 2 * AVERAGED + 1 };
    const float least = LEAST_STRENGTH * LEAST_STRENGTH, over_noise = 4.2F;
    double drawn[MOST];
    int count = 0;
    for (int i = 0; i + APART < n; i++) {
        const struct chain_section *s = &sections[i], *other = &sections[i + APART];
        if (s->tint < 0 || other->tint != s->tint)
            continue;
        int first = s->first > other->first ? s->first : other->first;
        int last = s->last < other->last ? s->last : other->last;
        for (int k = first + span; k + span <= last && count < MOST; k += 4) {
            float a[3], b[3];
            step_at(rows[i].rgb, k, span, a);
            step_at(rows[i + APART].rgb, k, span, b);
            for (int c = 0; c < 3; c++)
                a[c] -= b[c];
            drawn[count++] = strength_of(a) / 2;
        }
    }
    if (count == 0)
        return least;
    return fmaxf(least, over_noise * (float)median_upper(drawn, count));
}

static void find_edges(const struct chain_section *s, double step_mm, double pixel_samples,
                       float least, struct row *out)
{
    const float *strength = out->strength;
    const double being_there = 0.3;
    int span = span_of(pixel_samples), reach = (int)lround(2.2 * pixel_samples) + 1;
    for (int i = s->first + span + 1; i + span + 1 <= s->last; i++) {
        if (!(strength[i] > strength[i - 1] && strength[i] >= strength[i + 1]) ||
            strength[i] < least)
            continue;
        int in = flank(strength, s->first, s->last, i, reach, -1);
        int outer = flank(strength, s->first, s->last, i, reach, 1);
        struct edge edge = {.at = half_covered(out->rgb, in, outer, i, edge.colour)};
        if (edge.at < 0)
            continue;
        memcpy(edge.inside, out->rgb[in], sizeof edge.inside);
        memcpy(edge.outside, out->rgb[outer], sizeof edge.outside);
        float norm = sqrtf(sample_dot(edge.colour, edge.colour));
        for (int c = 0; c < 3; c++)
            edge.colour[c] /= norm;
        double off = (edge.at - CHAIN_INSIDE) / CHAIN_OUTSIDE;
        edge.v = s->predicted_mm + (edge.at - CHAIN_INSIDE) * step_mm;
        /* a long faint edge is worth more than a short clear one; eight times the least is as clear
         * as an edge need be; some for being expected */
        edge.reward = being_there + fmin(1, 0.5F * logf(strength[i] / least) / logf(8)) -
                      0.5 * fmin(1, 4 * off * off);
        keep_best(out, &edge);
    }
}

static void read_row(const struct chain_section *sections, int n, int at, double step_mm,
                     double pixel_mm, struct row *out)
{
    average(sections, n, at, step_mm, out->rgb);
    find_strength(out->rgb, sections[at].first, sections[at].last, span_of(pixel_mm / step_mm),
                  out->strength);
}

int edge_chain_edges(const struct chain_section *sections, int n, int at, double step_mm,
                     double pixel_mm, struct chain_edge out[CHAIN_MAX_EDGES])
{
    struct row row = {.count = 0};
    if (sections[at].tint >= 0) {
        read_row(sections, n, at, step_mm, pixel_mm, &row);
        find_edges(&sections[at], step_mm, pixel_mm / step_mm, LEAST_STRENGTH * LEAST_STRENGTH,
                   &row);
    }
    for (int k = 0; k < row.count; k++) {
        out[k].at = row.edges[k].at;
        memcpy(out[k].inside, row.edges[k].inside, sizeof out[k].inside);
        memcpy(out[k].outside, row.edges[k].outside, sizeof out[k].outside);
    }
    return row.count;
}

/* ---- The chain ------------------------------------------------------------------------------- */

/* The predicted side as a parabola: what it jumps by is a matter of the rough outline. */
static void smooth_prediction(const struct chain_section *sections, int n, double *out)
{
    double normal[9] = {0}, right[3] = {0};
    for (int i = 0; i < n; i++) {
        double x = 2.0 * i / (n - 1) - 1, row[3] = {1, x, x * x};
        for (int j = 0; j < 3; j++) {
            right[j] += row[j] * sections[i].predicted_mm;
            for (int k = 0; k < 3; k++)
                normal[3 * j + k] += row[j] * row[k];
        }
    }
    bool good = linalg_solve(3, normal, right, right);
    for (int i = 0; i < n; i++) {
        double x = 2.0 * i / (n - 1) - 1;
        out[i] = good ? right[0] + x * (right[1] + x * right[2]) : 0;
    }
}

/* The best chain that ends in an edge: alone, or as the end of one that came through an earlier
 * section. Gaps are bridged, as over a stripe border, but a chain that has been out of sight must
 * come out on the line it went in on. */
static void extend(struct row *rows, const double *expected, int i, int e, double pixel_mm)
{
    const int furthest = 40;
    const double step_cost = 0.3, gap_cost = 0.04, turn_cost = 0.5, most_z = 3;
    struct edge *here = &rows[i].edges[e];
    here->from_section = -1;
    here->best = here->reward;
    for (int j = i - 1; j >= 0 && j >= i - furthest; j--) {
        int gap = i - j - 1;
        double moved = expected[i] - expected[j];
        double sigma = pixel_mm * fmin(0.4, 0.3 + 0.02 * gap) + 0.15 * fabs(moved);
        for (int k = 0; k < rows[j].count; k++) {
            const struct edge *there = &rows[j].edges[k];
            double z = (here->v - there->v - moved) / sigma;
            if (fabs(z) > most_z)
                continue;
            double total = there->best + here->reward - step_cost * z * z - gap_cost * gap -
                           turn_cost * (1 - sample_dot(here->colour, there->colour));
            if (total <= here->best)
                continue;
            here->best = total;
            here->from_section = j;
            here->from_edge = k;
        }
    }
}

/* Index of the chain's edge on each section, -1 where it has none. */
static void best_chain(struct row *rows, const double *expected, int n, double pixel_mm,
                       int *chosen)
{
    int end = -1, edge = 0;
    for (int i = 0; i < n; i++) {
        chosen[i] = -1;
        for (int e = 0; e < rows[i].count; e++) {
            extend(rows, expected, i, e, pixel_mm);
            if (end < 0 || rows[i].edges[e].best > rows[end].edges[edge].best) {
                end = i;
                edge = e;
            }
        }
    }
    while (end >= 0) {
        const struct edge *here = &rows[end].edges[edge];
        chosen[end] = edge;
        end = here->from_section;
        edge = here->from_edge;
    }
}

/* Where the chain passes section i: a line through its edges near by. */
static bool chain_at(const struct row *rows, const int *chosen, int n, int i, double *v)
{
    const int reach = 20, least = 8;
    struct linalg_line edges = {0};
    double slope;
    for (int k = i - reach; k <= i + reach; k++)
        if (k >= 0 && k < n && chosen[k] >= 0)
            linalg_line_add(&edges, k - i, rows[k].edges[chosen[k]].v);
    return edges.n >= least && linalg_line_fit(&edges, v, &slope);
}

/* Takes up the edges that lie on the chain's line but were left out, and drops those beside it. */
static bool complete(const struct row *rows, int n, double pixel_mm, int *chosen)
{
    int *next = malloc((size_t)n * sizeof *next);
    if (!next)
        return false;
    for (int i = 0; i < n; i++) {
        double v, nearest = pixel_mm;
        next[i] = chosen[i];
        if (!chain_at(rows, chosen, n, i, &v))
            continue;
        next[i] = -1;
        for (int e = 0; e < rows[i].count; e++)
            if (fabs(rows[i].edges[e].v - v) < nearest) {
                nearest = fabs(rows[i].edges[e].v - v);
                next[i] = e;
            }
    }
    memcpy(chosen, next, (size_t)n * sizeof *next);
    free(next);
    return true;
}

static bool find_chain(struct row *rows, const double *expected, int n, double pixel_mm,
                       int *chosen, double *crossing)
{
    best_chain(rows, expected, n, pixel_mm, chosen);
    for (int round = 0; round < 2; round++)
        if (!complete(rows, n, pixel_mm, chosen))
            return false;
    for (int i = 0; i < n; i++)
        crossing[i] = chosen[i] < 0 ? -1 : rows[i].edges[chosen[i]].at;
    return true;
}

/* Takes away every edge as close to the chain as its blur, and where the chain has none. v is
 * working space for n. */
static void take_away(struct row *rows, const int *chosen, int n, double pixel_mm, double *v)
{
    const double blur_px = 1.5;
    for (int i = 0; i < n; i++)
        if (!chain_at(rows, chosen, n, i, &v[i]))
            v[i] = NAN;
    for (int i = 0; i < n; i++) {
        int kept = 0;
        for (int e = 0; e < rows[i].count; e++)
            if (fabs(rows[i].edges[e].v - v[i]) > blur_px * pixel_mm)
                rows[i].edges[kept++] = rows[i].edges[e];
        rows[i].count = kept;
    }
}

bool edge_chain_find(const struct chain_section *sections, int n, double step_mm, double pixel_mm,
                     double *crossing, double *other)
{
    bool good = false;
    struct row *rows = calloc((size_t)n, sizeof *rows);
    double *expected = calloc((size_t)n, sizeof *expected);
    int *chosen = malloc((size_t)n * sizeof *chosen);
    if (!rows || !expected || !chosen)
        goto done;
    for (int i = 0; i < n; i++)
        if (sections[i].tint >= 0)
            read_row(sections, n, i, step_mm, pixel_mm, &rows[i]);
    float least = least_strength(sections, rows, n, span_of(pixel_mm / step_mm));
    for (int i = 0; i < n; i++)
        if (sections[i].tint >= 0)
            find_edges(&sections[i], step_mm, pixel_mm / step_mm, least, &rows[i]);
    smooth_prediction(sections, n, expected);
    if (!find_chain(rows, expected, n, pixel_mm, chosen, crossing))
        goto done;
    take_away(rows, chosen, n, pixel_mm, other);
    if (!find_chain(rows, expected, n, pixel_mm, chosen, other))
        goto done;
    good = true;
done:
    free(rows);
    free(expected);
    free(chosen);
    return good;
}
