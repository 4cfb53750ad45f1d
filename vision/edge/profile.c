#include "profile.h"

#include "card/card_line.h"
#include "edge_chain.h"
#include "photo/sample.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MIN_CLEAR_SAMPLES 8 /* outside the predicted edge */
#define POOL_SECTIONS 4     /* neighbours on each side that share their levels */

static const float luminance[3] = SAMPLE_LUMINANCE;

/* What lies on either side of the edge of one section. Roots of light, relative to paper. */
struct levels {
    float inside[3], outside[3];
    bool known;
};

/* ---- Reading --------------------------------------------------------------------------------- */

/* A line across a side: where it crosses the predicted edge, and one millimetre outwards. */
struct across {
    struct vision_point edge_mm, outwards;
};

static struct vision_point point_across(const struct across *line, double out_mm)
{
    return (struct vision_point){line->edge_mm.x + out_mm * line->outwards.x,
                                 line->edge_mm.y + out_mm * line->outwards.y};
}

/* Which single tint or other print lies behind the edge, and how far outwards it goes on. A stripe
 * border close to the edge would look like an edge itself. */
static void look_behind(const struct profile_side *side, const struct across *line, double step_mm,
                        struct chain_section *out)
{
    const struct silhouette *s = side->silhouette;
    const struct card_fix *fix = side->fix;
    const double border_mm = fmax(0.08, 0.8 * side->pixel_mm), hidden_mm = 1.5 * border_mm;
    out->tint = silhouette_print_at(s, fix, point_across(line, 0), border_mm);
    if (out->tint < 0 ||
        silhouette_print_at(s, fix, point_across(line, -hidden_mm), border_mm) != out->tint) {
        out->tint = -1;
        return;
    }
    double v = 0;
    for (out->last = CHAIN_INSIDE; out->last + 1 < CHAIN_SAMPLES; out->last++) {
        v += step_mm;
        if (silhouette_print_at(s, fix, point_across(line, v), border_mm) != out->tint)
            break;
    }
    if (out->last < CHAIN_INSIDE + MIN_CLEAR_SAMPLES)
        out->tint = -1;
}

static void read_section(const struct profile_side *side, const struct across *line, double step_mm,
                         struct chain_section *out)
{
    look_behind(side, line, step_mm, out);
    if (out->tint < 0)
        return;
    double v = step_mm * (out->first - CHAIN_INSIDE), paper[3], factor[3];
    silhouette_paper(side->silhouette, point_across(line, v), paper);
    silhouette_paper(side->silhouette, point_across(line, v + step_mm), factor);
    for (int c = 0; c < 3; c++)
        factor[c] /= paper[c];
    const struct card_line samples = card_line_start(
        side->image, &side->fix->plane, point_across(line, -step_mm * CHAIN_INSIDE),
        (struct vision_point){step_mm * line->outwards.x, step_mm * line->outwards.y});
    card_line_read(&samples, out->first, CHAIN_SAMPLES - out->first, &out->rgb[out->first]);
    for (int i = out->first; i < CHAIN_SAMPLES; i++) {
        float *rgb = out->rgb[i];
        if (rgb[0] < 0) {
            out->tint = -1;
            return;
        }
        for (int c = 0; c < 3; c++) {
            rgb[c] = sqrtf(rgb[c] / (float)paper[c]);
            paper[c] *= factor[c];
        }
    }
}

/* ---- What an edge looks like ----------------------------------------------------------------- */

static void mean_of(const struct chain_section *s, int from, int to, float out[3])
{
    memset(out, 0, 3 * sizeof *out);
    for (int i = from; i <= to; i++)
        for (int c = 0; c < 3; c++)
            out[c] += s->rgb[i][c] / (float)(to - from + 1);
}

/* Levels from close by on either side of the edge: shadows, bevels and side walls change within
 * tenths of a millimetre. gap keeps clear of the blur. */
static void near_levels(const struct chain_section *s, double crossing, int gap, int span,
                        struct levels *out)
{
    *out = (struct levels){.known = false};
    if (crossing < 0)
        return;
    int in = (int)floor(crossing) - gap, outer = (int)ceil(crossing) + gap;
    int first = in - span < s->first ? s->first : in - span,
        last = outer + span > s->last ? s->last : outer + span;
    if (in < first + 1 || last < outer + 1)
        return;
    mean_of(s, first, in, out->inside);
    mean_of(s, outer, last, out->outside);
    out->known = true;
}

/* Levels shared with neighbouring sections over the same tint: less noise, same place. */
static bool pool_levels(const struct chain_section *sections, const struct levels *levels, int n,
                        int at, struct levels *out)
{
    float count = 0;
    *out = (struct levels){.known = false};
    for (int k = at - POOL_SECTIONS; k <= at + POOL_SECTIONS; k++) {
        if (k < 0 || k >= n || !levels[k].known || sections[k].tint != sections[at].tint)
            continue;
        for (int c = 0; c < 3; c++) {
            out->inside[c] += levels[k].inside[c];
            out->outside[c] += levels[k].outside[c];
        }
        count++;
    }
    for (int c = 0; c < 3 && count > 0; c++) {
        out->inside[c] /= count;
        out->outside[c] /= count;
    }
    return count > 0;
}

/* How much brighter the outside is, in powers of two. Levels are roots of light. */
static double doublings(const struct levels *l)
{
    const float least = 1e-4F;
    return log2((double)fmaxf(least, sample_dot(l->outside, l->outside)) /
                fmaxf(least, sample_dot(l->inside, l->inside)));
}

/* Where the section falls from inside to outside through a share of the inside, nearest to start,
 * as a sample index; negative when it never does. */
static double passes(const struct chain_section *s, const struct levels *l, double share,
                     double start)
{
    float step[3];
    double best = -1, before = 0;
    for (int c = 0; c < 3; c++)
        step[c] = l->inside[c] - l->outside[c];
    double low = sample_dot(l->outside, step), whole = sample_dot(step, step);
    for (int i = s->first; i <= s->last; i++) {
        double here = (sample_dot(s->rgb[i], step) - low) / whole - share;
        double at = i - here / (here - before);
        if (i > s->first && before >= 0 && here < 0 &&
            (best < 0 || fabs(at - start) < fabs(best - start)))
            best = at;
        before = here;
    }
    return best;
}

static void describe(const struct chain_section *s, const struct levels *l, double crossing,
                     double step_mm, struct edge_point *out)
{
    float step[3];
    for (int c = 0; c < 3; c++)
        step[c] = l->inside[c] - l->outside[c];
    float length = sqrtf(sample_dot(step, step));
    if (!(length > 0))
        return;
    double early = passes(s, l, 0.75, crossing), late = passes(s, l, 0.25, crossing);
    out->rise_mm = early >= 0 && late >= early ? (late - early) * step_mm : 0;
    out->bright_share = fabsf(sample_dot(step, luminance)) / length;
    out->shade = doublings(l);
}

/* ---- A side ---------------------------------------------------------------------------------- */

struct vision_point axis_point(const struct axis *axis, double u, double left)
{
    double rad = axis->round ? u : axis->direction_rad, c = cos(rad), s = sin(rad);
    double v = axis->offset_mm + left;
    if (axis->round)
        return (struct vision_point){axis->hub_mm.x + v * c, axis->hub_mm.y + v * s};
    return (struct vision_point){axis->hub_mm.x + u * c - v * s, axis->hub_mm.y + u * s + v * c};
}

static struct across line_across(const struct profile_side *side, int i)
{
    const double edge_mm = side->predicted_mm[i];
    const struct vision_point from = axis_point(side->axis, side->u[i], side->side * edge_mm);
    const struct vision_point to = axis_point(side->axis, side->u[i], side->side * (edge_mm + 1));
    return (struct across){from, {to.x - from.x, to.y - from.y}};
}

/* The sections across a side, to be looked at from first on; NULL without memory. The caller frees.
 */
static struct chain_section *read_sections(const struct profile_side *side, double step_mm,
                                           int first)
{
    struct chain_section *sections = calloc((size_t)side->n, sizeof *sections);
    for (int i = 0; sections && i < side->n; i++) {
        const struct across line = line_across(side, i);
        sections[i].predicted_mm = side->predicted_mm[i];
        sections[i].first = first;
        read_section(side, &line, step_mm, &sections[i]);
    }
    return sections;
}

/* Describes the edge that crosses each section at a sample index, negative where none does. */
static bool describe_edges(const struct profile_side *side, const struct chain_section *sections,
                           double step_mm, const double *crossing, struct edge_point *out)
{
    const double pixel_samples = side->pixel_mm / step_mm;
    const int gap = (int)ceil(1.2 * pixel_samples), span = (int)ceil(fmax(1.5 * pixel_samples, 3));
    struct levels *levels = calloc((size_t)side->n, sizeof *levels), pooled;
    if (!levels)
        return false;
    for (int i = 0; i < side->n; i++)
        near_levels(&sections[i], crossing[i], gap, span, &levels[i]);
    for (int i = 0; i < side->n; i++) {
        const struct chain_section *s = &sections[i];
        out[i] = (struct edge_point){.found = crossing[i] >= 0,
                                     .u = side->u[i],
                                     .tint = s->tint,
                                     .v = s->predicted_mm + (crossing[i] - CHAIN_INSIDE) * step_mm};
        bool known = out[i].found && pool_levels(sections, levels, side->n, i, &pooled);
        if (known)
            describe(s, &pooled, crossing[i], step_mm, &out[i]);
        memcpy(out[i].inside, known && !levels[i].known ? pooled.inside : levels[i].inside,
               sizeof out[i].inside);
    }
    free(levels);
    return true;
}

bool profile_find_edges(const struct profile_side *side, double inside_mm, double outside_mm,
                        struct edge_point *out, struct edge_point *other)
{
    const double step_mm = outside_mm / CHAIN_OUTSIDE;
    const int n = side->n, first = (int)fmax(0, CHAIN_INSIDE - inside_mm / step_mm);
    struct chain_section *sections = read_sections(side, step_mm, first);
    double *crossing = calloc((size_t)n, sizeof *crossing);
    double *second = calloc((size_t)n, sizeof *second);
    bool good = sections && crossing && second &&
                edge_chain_find(sections, n, step_mm, side->pixel_mm, crossing, second) &&
                describe_edges(side, sections, step_mm, crossing, out) &&
                describe_edges(side, sections, step_mm, second, other);
    free(sections);
    free(crossing);
    free(second);
    return good;
}

bool profile_all_edges(const struct profile_side *side, double reach_mm, struct any_edge *out,
                       int *count)
{
    _Static_assert(PROFILE_MAX_EDGES == CHAIN_MAX_EDGES, "one limit");
    const double step_mm = reach_mm / CHAIN_OUTSIDE;
    struct chain_section *sections = read_sections(side, step_mm, CHAIN_INSIDE - CHAIN_OUTSIDE);
    if (!sections)
        return false;
    *count = 0;
    for (int i = 0; i < side->n; i++) {
        struct chain_edge edges[CHAIN_MAX_EDGES];
        int found = edge_chain_edges(sections, side->n, i, step_mm, side->pixel_mm, edges);
        for (int k = 0; k < found; k++) {
            struct levels l = {.known = true};
            memcpy(l.inside, edges[k].inside, sizeof l.inside);
            memcpy(l.outside, edges[k].outside, sizeof l.outside);
            struct any_edge edge = {.line = i,
                                    .v = side->predicted_mm[i] +
                                         (edges[k].at - CHAIN_INSIDE) * step_mm,
                                    .tint = sections[i].tint,
                                    .shade = doublings(&l)};
            memcpy(edge.inside, l.inside, sizeof edge.inside);
            memcpy(edge.outside, l.outside, sizeof edge.outside);
            out[(*count)++] = edge;
        }
    }
    free(sections);
    return true;
}
