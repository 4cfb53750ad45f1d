#include "edge_fit.h"

#include "linalg.h"
#include "sample.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Why not one fixed threshold: the same edge runs from lit into shaded card, over two tints and
 * past highlights on the part. Each profile across the edge is therefore read against its own
 * neighbourhood: what the part looks like just inside, what the card looks like just outside. */

#define MAX_SECTIONS 600
#define HALF_SAMPLES 24
#define SAMPLES (2 * HALF_SAMPLES + 1)
#define LEVEL_SAMPLES 8    /* at each end of a profile, for the levels of part and card */
#define POOL_SECTIONS 4    /* neighbours on each side that share their levels */
#define MIN_CONTRAST 0.02F /* of paper white: below, noise decides where the edge is */
#define MODEL 5            /* left and right offset, turn, taper, waist */

struct profile {
    double u;            /* along the axis, mm */
    double predicted_mm; /* edge, distance from the axis */
    bool seen;
    int tint;
    float rgb[SAMPLES][3]; /* from inside to outside, relative to the light */
    float inside[3], outside[3];
};

struct edge_point {
    int side;    /* +1 left, -1 right */
    double u, v; /* mm along the axis; distance from the axis */
    double rise_mm;
    double contrast;
    double weight;
};

struct axis {
    struct vision_point hub_mm;
    double direction_rad, offset_mm;
};

static struct vision_point on_axis(const struct axis *axis, double u, double left)
{
    double c = cos(axis->direction_rad), s = sin(axis->direction_rad);
    double v = axis->offset_mm + left;
    return (struct vision_point){axis->hub_mm.x + u * c - v * s, axis->hub_mm.y + u * s + v * c};
}

/* One tint, in the clear, all the way from just outside the edge to the profile's end; -1 if not.
 */
static int tint_outside(const struct card_fix *fix, const struct axis *axis, double u, int side,
                        double edge_mm, double reach_mm)
{
    int tint = -2;
    for (int k = 0; k <= 4; k++) {
        double v = edge_mm + reach_mm * k / 4;
        int here = silhouette_tint_at(fix, on_axis(axis, u, side * v), 0.12);
        if (here < 0 || (tint != -2 && here != tint))
            return -1;
        tint = here;
    }
    return tint;
}

static void read_profile(const struct vision_image *image, const struct card_fix *fix,
                         const struct silhouette *s, const struct axis *axis, int side,
                         double reach_mm, struct profile *p)
{
    p->tint = tint_outside(fix, axis, p->u, side, p->predicted_mm, reach_mm);
    p->seen = p->tint >= 0;
    for (int i = 0; i < SAMPLES && p->seen; i++) {
        double v = p->predicted_mm + reach_mm * (i - HALF_SAMPLES) / HALF_SAMPLES;
        struct vision_point mm = on_axis(axis, p->u, side * v);
        float rgb[3];
        p->seen = sample_at(image, vision_plane_to_photo(&fix->plane, mm), rgb);
        silhouette_relative(s, mm, rgb, p->rgb[i]);
    }
    memset(p->inside, 0, sizeof p->inside);
    memset(p->outside, 0, sizeof p->outside);
    for (int i = 0; i < LEVEL_SAMPLES && p->seen; i++)
        for (int c = 0; c < 3; c++) {
            p->inside[c] += p->rgb[i][c] / LEVEL_SAMPLES;
            p->outside[c] += p->rgb[SAMPLES - 1 - i][c] / LEVEL_SAMPLES;
        }
}

/* Levels shared with neighbouring profiles over the same tint: less noise, same place. */
static void pool_levels(const struct profile *p, int n, int at, float inside[3], float outside[3])
{
    int count = 0;
    memset(inside, 0, 3 * sizeof *inside);
    memset(outside, 0, 3 * sizeof *outside);
    for (int k = at - POOL_SECTIONS; k <= at + POOL_SECTIONS; k++) {
        if (k < 0 || k >= n || !p[k].seen || p[k].tint != p[at].tint)
            continue;
        for (int c = 0; c < 3; c++) {
            inside[c] += p[k].inside[c];
            outside[c] += p[k].outside[c];
        }
        count++;
    }
    for (int c = 0; c < 3; c++) {
        inside[c] /= (float)count;
        outside[c] /= (float)count;
    }
}

static float dot(const float a[3], const float b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/* The direction in colour along which part and card are told apart. Card in shadow is the same
 * colour dimmed, so the component across the card's own colour is blind to shadow; it is used
 * where the part has enough of it. Black parts have none: then plain difference. */
static void choose_axis(const float inside[3], const float outside[3], float out[3])
{
    float difference[3], length2 = dot(outside, outside);
    for (int c = 0; c < 3; c++)
        difference[c] = inside[c] - outside[c];
    float along = length2 > 0 ? dot(difference, outside) / length2 : 0;
    float across[3];
    for (int c = 0; c < 3; c++)
        across[c] = difference[c] - along * outside[c];
    float share = sqrtf(dot(across, across) / fmaxf(1e-12F, dot(difference, difference)));
    memcpy(out, share > 0.3F ? across : difference, sizeof across);
}

/* Where the share of part in the profile falls through level, nearest the prediction, as a sample
 * index; negative when it never does. */
static double crossing(const float *share, float level)
{
    double best = -1;
    for (int i = 0; i + 1 < SAMPLES; i++) {
        if (!(share[i] >= level && share[i + 1] < level))
            continue;
        double at = i + (share[i] - level) / (share[i] - share[i + 1]);
        if (best < 0 || fabs(at - HALF_SAMPLES) < fabs(best - HALF_SAMPLES))
            best = at;
    }
    return best;
}

static bool locate(const struct profile *profiles, int n, int at, double reach_mm, int side,
                   struct edge_point *out)
{
    const struct profile *p = &profiles[at];
    float inside[3], outside[3], axis[3], share[SAMPLES], smooth[SAMPLES];
    if (!p->seen)
        return false;
    pool_levels(profiles, n, at, inside, outside);
    choose_axis(inside, outside, axis);
    float low = dot(outside, axis), high = dot(inside, axis);
    float length = sqrtf(dot(axis, axis));
    if (!(length > 0) || (high - low) / length < MIN_CONTRAST)
        return false;
    for (int i = 0; i < SAMPLES; i++)
        share[i] = (dot(p->rgb[i], axis) - low) / (high - low);
    for (int i = 0; i < SAMPLES; i++) {
        int a = i > 0 ? i - 1 : 0, b = i + 1 < SAMPLES ? i + 1 : i;
        smooth[i] = (share[a] + share[i] + share[b]) / 3;
    }
    double middle = crossing(smooth, 0.5F);
    double early = crossing(smooth, 0.75F), late = crossing(smooth, 0.25F);
    if (middle < 0)
        return false;
    double step = reach_mm / HALF_SAMPLES;
    *out = (struct edge_point){.side = side,
                               .u = p->u,
                               .v = p->predicted_mm + (middle - HALF_SAMPLES) * step,
                               .rise_mm = early >= 0 && late >= 0 ? fabs(late - early) * step : 0,
                               .contrast = (high - low) / length};
    return true;
}

/* ---- The fit -------------------------------------------------------------------------------- */

struct model {
    double middle_u, half_u; /* u is scaled to -1..1 over the body */
    double p[MODEL];         /* left, right, turn, taper, waist; mm */
    double cov[MODEL * MODEL];
    double scale_mm;
};

static void model_row(const struct model *m, const struct edge_point *e, double row[MODEL])
{
    double x = (e->u - m->middle_u) / m->half_u;
    row[0] = e->side > 0;
    row[1] = e->side < 0;
    row[2] = e->side * x;
    row[3] = x;
    row[4] = x * x;
}

static double residual(const struct model *m, const struct edge_point *e)
{
    double row[MODEL], at = 0;
    model_row(m, e, row);
    for (int j = 0; j < MODEL; j++)
        at += row[j] * m->p[j];
    return e->v - at;
}

/* Weighted least squares. The weak priors on taper and waist decide nothing while both edges are
 * seen; with one edge they keep turn and taper apart, at the price of a large u. */
static bool solve_model(struct model *m, const struct edge_point *e, int n)
{
    double normal[MODEL * MODEL] = {0}, right[MODEL] = {0}, row[MODEL];
    const double prior_taper = 0.035 * m->half_u, prior_waist = 0.03 * m->half_u;
    for (int i = 0; i < n; i++) {
        model_row(m, &e[i], row);
        for (int j = 0; j < MODEL; j++) {
            right[j] += e[i].weight * row[j] * e[i].v;
            for (int k = 0; k < MODEL; k++)
                normal[j * MODEL + k] += e[i].weight * row[j] * row[k];
        }
    }
    double s2 = m->scale_mm * m->scale_mm;
    normal[3 * MODEL + 3] += s2 / (prior_taper * prior_taper);
    normal[4 * MODEL + 4] += s2 / (prior_waist * prior_waist);
    normal[0] += 1e-9;
    normal[MODEL + 1] += 1e-9;
    if (!linalg_solve(MODEL, normal, right, m->p) || !linalg_invert(MODEL, normal, m->cov))
        return false;
    return true;
}

static int by_value(const void *a, const void *b)
{
    double d = *(const double *)a - *(const double *)b;
    return (d > 0) - (d < 0);
}

static double robust_scale(const struct model *m, const struct edge_point *e, int n)
{
    double r[2 * MAX_SECTIONS];
    for (int i = 0; i < n; i++)
        r[i] = fabs(residual(m, &e[i]));
    qsort(r, (size_t)n, sizeof *r, by_value);
    return 1.4826 * r[n / 2];
}

/* Tukey's biweight, c = 4.685 (P. J. Huber, Robust Statistics, 1981; from memory). */
static void reweight(const struct model *m, struct edge_point *e, int n, double scale)
{
    for (int i = 0; i < n; i++) {
        double z = residual(m, &e[i]) / (4.685 * scale);
        e[i].weight = fabs(z) < 1 ? (1 - z * z) * (1 - z * z) : 0;
    }
}

/* Neighbouring edge points share pixels, so they count less than their number: for residuals with
 * lag-one correlation rho the variance of a fitted slope grows by about (1 + rho) / (1 - rho).
 * G. E. P. Box, G. M. Jenkins, Time Series Analysis (from memory). */
static double correlation_factor(const struct model *m, const struct edge_point *e, int n)
{
    double product = 0, square = 0;
    for (int i = 0; i + 1 < n; i++) {
        if (e[i].weight <= 0 || e[i + 1].weight <= 0 || e[i].side != e[i + 1].side)
            continue;
        double a = residual(m, &e[i]), b = residual(m, &e[i + 1]);
        product += a * b;
        square += (a * a + b * b) / 2;
    }
    double rho = square > 0 ? fmin(0.97, fmax(0, product / square)) : 0;
    return (1 + rho) / (1 - rho);
}

static bool fit_model(struct model *m, struct edge_point *e, int n)
{
    const double floor_mm = 0.002;
    for (int i = 0; i < n; i++)
        e[i].weight = 1;
    m->scale_mm = 0.05;
    for (int round = 0; round < 15; round++) {
        if (!solve_model(m, e, n))
            return false;
        /* start wide, so that a crossing link does not capture the fit */
        m->scale_mm = fmax(floor_mm, robust_scale(m, e, n));
        reweight(m, e, n, m->scale_mm);
    }
    return solve_model(m, e, n);
}

/* ---- One arm -------------------------------------------------------------------------------- */

struct work {
    struct profile profiles[MAX_SECTIONS];
    struct edge_point points[2 * MAX_SECTIONS];
};

static int collect(const struct vision_image *image, const struct card_fix *fix,
                   const struct silhouette *s, const struct axis *axis, const struct part_arm *arm,
                   double from, double to, struct work *work, struct arm_fit *out)
{
    double px_per_mm = plane_px_per_mm(&fix->plane, on_axis(axis, (from + to) / 2, 0));
    double pixel_mm = image->reduce / px_per_mm;
    int sections = (int)fmin(MAX_SECTIONS, fmax(24, (to - from) / fmax(pixel_mm, 0.02)));
    double reach_mm = fmax(fmin(0.8, 0.42 * arm->width_mm), 4 * pixel_mm);
    int n = 0;
    for (int side = 1; side >= -1; side -= 2) {
        const double *edge = side > 0 ? arm->left_mm : arm->right_mm;
        for (int i = 0; i < sections; i++) {
            struct profile *p = &work->profiles[i];
            p->u = from + (to - from) * (i + 0.5) / sections;
            p->predicted_mm = edge[0] + edge[1] * p->u;
            read_profile(image, fix, s, axis, side, reach_mm, p);
        }
        for (int i = 0; i < sections; i++)
            n += locate(work->profiles, sections, i, reach_mm, side, &work->points[n]);
        out->tried[side < 0] = sections;
    }
    return n;
}

static double median_of(const struct edge_point *e, int n, bool rise)
{
    double v[2 * MAX_SECTIONS];
    int kept = 0;
    for (int i = 0; i < n; i++)
        if (e[i].weight > 0)
            v[kept++] = rise ? e[i].rise_mm : e[i].contrast;
    qsort(v, (size_t)kept, sizeof *v, by_value);
    return kept ? v[kept / 2] : 0;
}

static void summarise(const struct model *m, const struct edge_point *e, int n, struct arm_fit *out)
{
    double sum = 0, first = 1e9, last = -1e9;
    int used = 0;
    out->points[0] = out->points[1] = 0;
    for (int i = 0; i < n; i++) {
        if (e[i].weight <= 0)
            continue;
        double r = residual(m, &e[i]);
        sum += e[i].weight * r * r;
        used++;
        out->points[e[i].side < 0]++;
        first = fmin(first, e[i].u);
        last = fmax(last, e[i].u);
    }
    out->rms_mm = used > MODEL ? sqrt(sum / (used - MODEL)) : 1;
    out->body_mm = fmax(0, last - first);
    double variance =
        m->cov[2 * MODEL + 2] * out->rms_mm * out->rms_mm * correlation_factor(m, e, n);
    out->u_rad = sqrt(variance) / m->half_u;
    out->blur_mm = median_of(e, n, true);
    out->contrast = median_of(e, n, false);
}

bool edge_fit_arm(const struct vision_image *image, const struct card_fix *fix,
                  const struct silhouette *s, struct vision_point hub_mm,
                  const struct part_arm *arm, struct arm_fit *out)
{
    *out = (struct arm_fit){.direction_rad = arm->direction_rad, .offset_mm = arm->offset_mm};
    struct work *work = malloc(sizeof *work);
    if (!work)
        return false;
    bool good = false;
    struct part_arm rough = *arm;
    struct axis axis = {hub_mm, arm->direction_rad, arm->offset_mm};
    double inset = fmin(0.12 * (arm->end_mm - arm->start_mm), 0.8);
    double from = arm->start_mm + inset, to = arm->end_mm - inset;
    /* The second round starts from the first one's edges, so every profile is centred. */
    for (int round = 0; round < 2; round++) {
        int n = collect(image, fix, s, &axis, &rough, from, to, work, out);
        struct model m = {.middle_u = (from + to) / 2, .half_u = (to - from) / 2};
        good = n >= 16 && fit_model(&m, work->points, n);
        if (!good)
            break;
        double turn = m.p[2] / m.half_u, taper = m.p[3] / m.half_u;
        double middle = (m.p[0] - m.p[1]) / 2 - turn * m.middle_u;
        axis.direction_rad += atan(turn);
        axis.offset_mm += middle * cos(atan(turn));
        double half = (m.p[0] + m.p[1]) / 2 - taper * m.middle_u;
        rough.left_mm[0] = rough.right_mm[0] = half;
        rough.left_mm[1] = rough.right_mm[1] = taper;
        rough.width_mm = m.p[0] + m.p[1];
        summarise(&m, work->points, n, out);
    }
    free(work);
    out->direction_rad = axis.direction_rad;
    out->offset_mm = axis.offset_mm;
    return good;
}
