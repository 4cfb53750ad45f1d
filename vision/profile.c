#include "profile.h"

#include "linalg.h"
#include "robust_line.h"
#include "sample.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Why not one fixed threshold: the same edge runs from lit into shaded card, over two tints and
 * past highlights on the part. Each profile across the edge is therefore read against its own
 * neighbourhood: what the part looks like just inside, what the card looks like just outside. */

#define HALF_SAMPLES 24
#define SAMPLES (2 * HALF_SAMPLES + 1)
#define MIN_CLEAR_SAMPLES 8 /* outside the predicted edge */
#define POOL_SECTIONS 4     /* neighbours on each side that share their levels */
#define MIN_CONTRAST 0.02F  /* of paper white: below, noise decides where the edge is */

static const double luminance[3] = {0.2848, 0.9536, 0.0967}; /* Rec. 709, unit length */

struct profile {
    double u;              /* along the axis, mm */
    double predicted_mm;   /* edge, distance from the axis */
    int tint;              /* that lies behind the edge; -1: none in the clear, profile not used */
    int clear;             /* samples up to this one lie over that tint */
    float rgb[SAMPLES][3]; /* from inside to outside: square root of light */
    float inside[3], outside[3]; /* levels of part and card */
    bool levels;
    float shade_sum, shade_square; /* brightness of the card's samples, for its wavering */
    int shade_count;
    double crossing, rise; /* sample index of the edge, negative when not found; its width */
    double bright_share, shade;
};

/* Which single tint lies behind the edge, and how far outwards it goes on. A stripe border close
 * to the edge would look like an edge itself. */
static void look_behind(const struct silhouette *s, const struct card_fix *fix,
                        const struct axis *axis, int side, double step_mm, double pixel_mm,
                        struct profile *p)
{
    const double border_mm = fmax(0.08, 0.8 * pixel_mm), hidden_mm = 1.5 * border_mm;
    double v = p->predicted_mm;
    p->tint = silhouette_tint_at(s, fix, axis_point(axis, p->u, side * v), border_mm);
    if (p->tint < 0 || silhouette_tint_at(s, fix, axis_point(axis, p->u, side * (v - hidden_mm)),
                                          border_mm) != p->tint) {
        p->tint = -1;
        return;
    }
    for (p->clear = HALF_SAMPLES; p->clear + 1 < SAMPLES; p->clear++) {
        v += step_mm;
        if (silhouette_tint_at(s, fix, axis_point(axis, p->u, side * v), border_mm) != p->tint)
            break;
    }
    if (p->clear < HALF_SAMPLES + MIN_CLEAR_SAMPLES)
        p->tint = -1;
}

static void read_profile(const struct vision_image *image, const struct card_fix *fix,
                         const struct silhouette *s, const struct axis *axis, int side,
                         double step_mm, double pixel_mm, struct profile *p)
{
    look_behind(s, fix, axis, side, step_mm, pixel_mm, p);
    p->crossing = -1;
    p->levels = false;
    memset(p->inside, 0, sizeof p->inside);
    memset(p->outside, 0, sizeof p->outside);
    p->rise = p->bright_share = p->shade = 0;
    for (int i = 0; i < SAMPLES && p->tint >= 0; i++) {
        double v = p->predicted_mm + step_mm * (i - HALF_SAMPLES);
        struct vision_point mm = axis_point(axis, p->u, side * v);
        float rgb[3];
        if (!sample_at(image, vision_plane_to_photo(&fix->plane, mm), rgb))
            p->tint = -1;
        else
            silhouette_relative(s, mm, rgb, p->rgb[i]);
        for (int c = 0; c < 3; c++)
            p->rgb[i][c] = sqrtf(fmaxf(0, p->rgb[i][c]));
    }
}

static void mean_of(const struct profile *p, int from, int to, float out[3])
{
    memset(out, 0, 3 * sizeof *out);
    for (int i = from; i <= to; i++)
        for (int c = 0; c < 3; c++)
            out[c] += p->rgb[i][c] / (float)(to - from + 1);
}

static float dot(const float a[3], const float b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

static void watch_shade(struct profile *p, int from)
{
    p->shade_sum = p->shade_square = 0;
    p->shade_count = 0;
    for (int i = from; i <= p->clear; i++) {
        float v = sqrtf(dot(p->rgb[i], p->rgb[i]));
        p->shade_sum += v;
        p->shade_square += v * v;
        p->shade_count++;
    }
}

/* Levels from close by on either side of the expected edge: shadows, bevels and side walls change
 * within tenths of a millimetre, and further in lies the edge between wall and face, which is not
 * the one where the card begins. gap keeps clear of the blur. */
static void near_levels(struct profile *p, int gap, int span)
{
    p->levels = false;
    if (p->crossing < 0)
        return;
    int in = (int)floor(p->crossing) - gap, out = (int)ceil(p->crossing) + gap;
    int first = in - span < 0 ? 0 : in - span, last = out + span;
    last = last > p->clear ? p->clear : last;
    if (in < first + 1 || last < out + 1)
        return;
    mean_of(p, first, in, p->inside);
    mean_of(p, out, last, p->outside);
    watch_shade(p, out);
    p->levels = true;
}

struct levels {
    float inside[3], outside[3];
    float shade; /* relative standard deviation of the card's brightness */
};

/* Levels shared with neighbouring profiles over the same tint: less noise, same place. */
static bool pool_levels(const struct profile *p, int n, int at, struct levels *out)
{
    float count = 0, sum = 0, square = 0;
    int samples = 0;
    memset(out, 0, sizeof *out);
    for (int k = at - POOL_SECTIONS; k <= at + POOL_SECTIONS; k++) {
        if (k < 0 || k >= n || !p[k].levels || p[k].tint != p[at].tint)
            continue;
        for (int c = 0; c < 3; c++) {
            out->inside[c] += p[k].inside[c];
            out->outside[c] += p[k].outside[c];
        }
        sum += p[k].shade_sum;
        square += p[k].shade_square;
        samples += p[k].shade_count;
        count++;
    }
    if (count == 0 || samples == 0)
        return false;
    for (int c = 0; c < 3; c++) {
        out->inside[c] /= count;
        out->outside[c] /= count;
    }
    float mean = sum / (float)samples;
    out->shade = sqrtf(fmaxf(0, square / (float)samples - mean * mean)) / fmaxf(1e-6F, mean);
    return true;
}

/* The linear measure of colour that tells part from card best when the card's brightness wavers by
 * the relative amount shade and everything else by noise: g solves (N + shade^2 B B^T) g = F - B,
 * Fisher's discriminant (R. A. Fisher, "The use of multiple measurements in taxonomic problems",
 * Annals of Eugenics 7, 1936). In even light that is nearly the plain difference; next to a
 * shadow, which dims the card and keeps its hue, it turns to the component of the part across the
 * card's colour, which a shadow does not touch. Photos store colour at half the resolution of
 * brightness, so N is larger across the brightness axis than along it. */
static bool choose_axis(const float inside[3], const float outside[3], float shade, float out[3])
{
    double length = sqrtf(dot(outside, outside));
    double bright = 0.008 + 0.006 * length, colour = 2.5 * bright;
    double m[9], d[3], g[3];
    for (int i = 0; i < 3; i++) {
        d[i] = inside[i] - outside[i];
        for (int j = 0; j < 3; j++)
            m[3 * i + j] = (i == j) * colour * colour -
                           (colour * colour - bright * bright) * luminance[i] * luminance[j] +
                           shade * shade * outside[i] * outside[j];
    }
    if (!linalg_solve(3, m, d, g))
        return false;
    double norm = sqrt(g[0] * g[0] + g[1] * g[1] + g[2] * g[2]);
    for (int c = 0; c < 3; c++)
        out[c] = norm > 0 ? (float)(g[c] / norm) : 0;
    return norm > 0;
}

/* Where the share of part in the profile falls through level, nearest to start, as a sample
 * index; negative when it never does. */
static double crossing(const float *share, int n, float level, double start)
{
    double best = -1;
    for (int i = 0; i + 1 < n; i++) {
        if (!(share[i] >= level && share[i + 1] < level))
            continue;
        double at = i + (share[i] - level) / (share[i] - share[i + 1]);
        if (best < 0 || fabs(at - start) < fabs(best - start))
            best = at;
    }
    return best;
}

/* Levels are roots of light. */
static double doublings(const struct levels *l)
{
    const float least = 1e-4F;
    return log2((double)fmaxf(least, dot(l->outside, l->outside)) /
                fmaxf(least, dot(l->inside, l->inside)));
}

static double share_of_brightness(const struct levels *l)
{
    float d[3], grey[3] = {(float)luminance[0], (float)luminance[1], (float)luminance[2]};
    for (int c = 0; c < 3; c++)
        d[c] = l->inside[c] - l->outside[c];
    float length = sqrtf(dot(d, d));
    return length > 0 ? fabsf(dot(d, grey)) / length : 0;
}

/* The measure of a pixel that part and card share equally: lenses mix light, not its root. */
static float half_covered(const struct levels *l, const float axis[3], float low, float high)
{
    float mixed[3];
    for (int c = 0; c < 3; c++)
        mixed[c] = sqrtf((l->inside[c] * l->inside[c] + l->outside[c] * l->outside[c]) / 2);
    return fminf(0.75F, fmaxf(0.25F, (dot(mixed, axis) - low) / (high - low)));
}

/* The edge of one profile against the pooled levels. */
static void locate(struct profile *profiles, int n, int at, double start)
{
    struct profile *p = &profiles[at];
    struct levels l;
    float axis[3], share[SAMPLES], smooth[SAMPLES];
    p->crossing = -1;
    if (p->tint < 0 || !pool_levels(profiles, n, at, &l))
        return;
    if (!choose_axis(l.inside, l.outside, fmaxf(0.02F, 1.5F * l.shade), axis))
        return;
    float low = dot(l.outside, axis), high = dot(l.inside, axis);
    float length = sqrtf(dot(axis, axis));
    if (!(length > 0) || (high - low) / length < MIN_CONTRAST)
        return;
    int count = p->clear + 1;
    for (int i = 0; i < count; i++)
        share[i] = (dot(p->rgb[i], axis) - low) / (high - low);
    for (int i = 0; i < count; i++) {
        int a = i > 0 ? i - 1 : 0, b = i + 1 < count ? i + 1 : i;
        smooth[i] = (share[a] + share[i] + share[b]) / 3;
    }
    float level = half_covered(&l, axis, low, high);
    p->crossing = crossing(smooth, count, level, start);
    double early = crossing(smooth, count, 0.75F, p->crossing);
    double late = crossing(smooth, count, 0.25F, p->crossing);
    p->rise = early >= 0 && late >= early ? late - early : 0;
    p->bright_share = share_of_brightness(&l);
    p->shade = doublings(&l);
}

static double typical_rise(const struct profile *profiles, int n)
{
    double rises[PROFILE_MAX_SECTIONS];
    int found = 0;
    for (int i = 0; i < n; i++)
        if (profiles[i].crossing >= 0)
            rises[found++] = profiles[i].rise;
    return robust_median(rises, found);
}

/* All profiles of one side: first about the predicted edge, then about the edge just found. */
static void locate_all(struct profile *profiles, int n, double pixel_samples)
{
    double start[PROFILE_MAX_SECTIONS];
    double gap = 1.6 * pixel_samples;
    int span = (int)ceil(fmax(2.5 * pixel_samples, 4));
    for (int i = 0; i < n; i++)
        profiles[i].crossing = profiles[i].tint >= 0 ? HALF_SAMPLES : -1;
    for (int round = 0; round < 3; round++) {
        for (int i = 0; i < n; i++) {
            start[i] = profiles[i].crossing;
            near_levels(&profiles[i], (int)ceil(gap), span);
        }
        for (int i = 0; i < n; i++)
            if (start[i] >= 0)
                locate(profiles, n, i, start[i]);
        gap = fmax(1.2 * pixel_samples, 0.9 * typical_rise(profiles, n));
    }
}

struct vision_point axis_point(const struct axis *axis, double u, double left)
{
    double c = cos(axis->direction_rad), s = sin(axis->direction_rad);
    double v = axis->offset_mm + left;
    return (struct vision_point){axis->hub_mm.x + u * c - v * s, axis->hub_mm.y + u * s + v * c};
}

bool profile_find_edges(const struct vision_image *image, const struct card_fix *fix,
                        const struct silhouette *s, const struct axis *axis, int side,
                        double reach_mm, double pixel_mm, const double *u, const double *predicted,
                        int n, struct edge_point *out)
{
    struct profile *profiles = calloc((size_t)n, sizeof *profiles);
    const double step_mm = reach_mm / HALF_SAMPLES;
    if (!profiles)
        return false;
    for (int i = 0; i < n; i++) {
        profiles[i].u = u[i];
        profiles[i].predicted_mm = predicted[i];
        read_profile(image, fix, s, axis, side, step_mm, pixel_mm, &profiles[i]);
    }
    locate_all(profiles, n, pixel_mm / step_mm);
    for (int i = 0; i < n; i++) {
        const struct profile *p = &profiles[i];
        out[i] = (struct edge_point){.found = p->crossing >= 0,
                                     .u = p->u,
                                     .tint = p->tint,
                                     .v = p->predicted_mm + (p->crossing - HALF_SAMPLES) * step_mm,
                                     .rise_mm = p->rise * step_mm,
                                     .bright_share = p->bright_share,
                                     .shade = p->shade};
        memcpy(out[i].inside, p->inside, sizeof out[i].inside);
    }
    free(profiles);
    return true;
}
