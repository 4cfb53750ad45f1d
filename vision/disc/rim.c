#include "rim.h"

#include "edge/profile.h"
#include "maths/angle.h"
#include "maths/linalg.h"
#include "maths/median.h"
#include "maths/robust_line.h"

#include <math.h>
#include <string.h>

#define MAX_RAYS 240
#define MAX_POINTS (MAX_RAYS * PROFILE_MAX_EDGES)
#define UNKNOWNS 6 /* centre x, y, radius, rise, tint step, shade shift */
enum { CENTRE_X, CENTRE_Y, RADIUS, RISE, STEP, SHIFT };

/* Neighbouring points err alike, as light does not change from pixel to pixel: so many of them tell
 * about as much as one. */
#define ALIKE 8

/* ---- The model ------------------------------------------------------------------------------- */

/* Upper and lower face are circles at two heights. Seen through the card's homography each is a
 * circle again, scaled about the camera's foot C by its own factor (docs/method.md, section 1), so
 * with rise = thickness / height of the camera, c and r half way between the faces,
 *
 *     c +- rise / 2 (c - C),   r (1 +- rise / 2).
 *
 * A disc covers what lies in either circle; a hole shows what lies in both. */
struct face {
    struct vision_point centre;
    double radius;
};

static struct face face_of(const struct rim *rim, const double camera_mm[3], int which)
{
    double half = (which ? -0.5 : 0.5) * rim->rise.value;
    return (struct face){{rim->centre_mm.x + half * (rim->centre_mm.x - camera_mm[0]),
                          rim->centre_mm.y + half * (rim->centre_mm.y - camera_mm[1])},
                         rim->radius_mm * (1 + half)};
}

/* Distance from the centre to the rim as seen in a direction, by the model. */
static double reach_of(const struct rim *rim, const double camera_mm[3], enum rim_kind kind,
                       double rad)
{
    double c = cos(rad), s = sin(rad), reach[2];
    for (int which = 0; which < 2; which++) {
        struct face face = face_of(rim, camera_mm, which);
        double dx = face.centre.x - rim->centre_mm.x, dy = face.centre.y - rim->centre_mm.y;
        double along = dx * c + dy * s, across = -dx * s + dy * c;
        reach[which] = along + sqrt(fmax(0, face.radius * face.radius - across * across));
    }
    return kind == RIM_OUTLINE ? fmax(reach[0], reach[1]) : fmin(reach[0], reach[1]);
}

struct point {
    struct vision_point at;
    int ray;
    double tint, shade; /* what lies behind, see arm_shared */
    double trust;       /* that it is where card and part meet, 0 to 1 */
};

struct work {
    enum rim_kind kind;
    const double *camera_mm;
    const struct silhouette *s;
    double pixel_mm;
    struct arm_shared usual;
    struct any_edge edges[MAX_POINTS];
    struct point points[MAX_POINTS];
    int rays, count;
    int chosen[MAX_RAYS];                          /* point of each ray, -1: none */
    double weight[MAX_RAYS], residual[MAX_RAYS];   /* of those */
    double unknown[UNKNOWNS];                      /* step and shift; the rest is in the rim */
    double inverse[UNKNOWNS * UNKNOWNS], scale_mm; /* of the last solution */
};

/* Radial distance of a point beyond the model's rim, and how it changes with each unknown. */
static double residual_of(const struct work *w, const struct rim *rim, const struct point *p,
                          double row[UNKNOWNS])
{
    double off[2], n[2][2];
    for (int which = 0; which < 2; which++) {
        struct face face = face_of(rim, w->camera_mm, which);
        double dx = p->at.x - face.centre.x, dy = p->at.y - face.centre.y, d = hypot(dx, dy);
        off[which] = d - face.radius;
        n[which][0] = d > 0 ? dx / d : 1;
        n[which][1] = d > 0 ? dy / d : 0;
    }
    int which = w->kind == RIM_OUTLINE ? off[1] < off[0] : off[1] > off[0];
    double sign = which ? -0.5 : 0.5, grown = 1 + sign * rim->rise.value;
    row[CENTRE_X] = grown * n[which][0];
    row[CENTRE_Y] = grown * n[which][1];
    row[RADIUS] = grown;
    row[RISE] = sign * (n[which][0] * (rim->centre_mm.x - w->camera_mm[0]) +
                        n[which][1] * (rim->centre_mm.y - w->camera_mm[1]) + rim->radius_mm);
    /* edges seem to lie further out over the second tint, out being towards the card */
    double outwards = w->kind == RIM_OUTLINE ? 1 : -1;
    row[STEP] = outwards * p->tint;
    row[SHIFT] = outwards * p->shade;
    return off[which] - row[STEP] * w->unknown[STEP] - row[SHIFT] * w->unknown[SHIFT];
}

/* ---- Points ---------------------------------------------------------------------------------- */

/* How far a look is from the hue of a tint, at whatever strength, against noise. */
static double from_hue(const float look[3], const struct tint_look *tint)
{
    float along = 0, square = 0, length = 0;
    for (int c = 0; c < 3; c++) {
        float root = sqrtf(fmaxf(0, tint->unit[c] * tint->strength));
        length += root * root;
        along += root * look[c];
        square += look[c] * look[c];
    }
    along /= sqrtf(length);
    float across = sqrtf(fmaxf(0, square - along * along));
    return across / (0.012 + 0.05 * along);
}

/* Whether an edge is where card and part meet. Outside it must have the hue of the card; the wall
 * of a part only takes on some of it. Inside it must not, or be darker than shadows are: otherwise
 * the edge is that of a shadow. */
static double trust_in(const struct work *w, const struct any_edge *e)
{
    const double deepest_shadow = 3.3; /* doublings */
    const double before_anything = 0.1;
    if (e->tint >= SILHOUETTE_SLOT)
        return before_anything; /* no hue tells what slot or marker shows from a part */
    const struct tint_look *tint = &w->s->tints[e->tint];
    double outside = from_hue(e->outside, tint), inside = from_hue(e->inside, tint);
    double is_card = outside < 1.5 ? 1 : outside < 3 ? 0.5 : 0.2;
    double is_part = inside > 3 ? 1 : e->shade > deepest_shadow ? 0.8 : inside > 1.5 ? 0.6 : 0.35;
    return is_card * is_part;
}

/* Edges on rays from the present centre. profile.c reads outwards from the part to the card, which
 * for a hole is towards its centre. */
static bool read_edges(const struct vision_image *image, const struct card_fix *fix,
                       const struct rim *rim, double reach_mm, struct work *w)
{
    bool hole = w->kind == RIM_HOLE;
    struct axis axis = {
        .hub_mm = rim->centre_mm, .round = true, .offset_mm = hole ? 3 * rim->radius_mm : 0};
    double rad[MAX_RAYS], predicted[MAX_RAYS];
    w->rays = (int)fmin(MAX_RAYS, fmax(24, 2 * PI * rim->radius_mm / w->pixel_mm));
    for (int i = 0; i < w->rays; i++) {
        rad[i] = 2 * PI * i / w->rays;
        double reach = reach_of(rim, w->camera_mm, w->kind, rad[i]);
        predicted[i] = hole ? axis.offset_mm - reach : reach;
    }
    const struct profile_side side = {.image = image,
                                      .fix = fix,
                                      .silhouette = w->s,
                                      .axis = &axis,
                                      .side = hole ? -1 : 1,
                                      .pixel_mm = w->pixel_mm,
                                      .n = w->rays,
                                      .u = rad,
                                      .predicted_mm = predicted};
    if (!profile_all_edges(&side, reach_mm, w->edges, &w->count))
        return false;
    for (int i = 0; i < w->count; i++) {
        const struct any_edge *e = &w->edges[i];
        w->points[i] = (struct point){.at = axis_point(&axis, rad[e->line], hole ? -e->v : e->v),
                                      .ray = e->line,
                                      .tint = e->tint == 1,
                                      .shade = e->shade,
                                      .trust = trust_in(w, e)};
    }
    return true;
}

/* Takes on each ray the point that fits best; their support for the model, at most one a ray. */
static double choose(struct work *w, const struct rim *rim, double limit_mm)
{
    double row[UNKNOWNS], gain[MAX_RAYS] = {0}, sum = 0;
    for (int i = 0; i < w->rays; i++)
        w->chosen[i] = -1;
    for (int i = 0; i < w->count; i++) {
        const struct point *p = &w->points[i];
        double e = residual_of(w, rim, p, row), g = p->trust * (1 - pow(e / limit_mm, 2));
        if (g <= gain[p->ray])
            continue;
        sum += g - gain[p->ray];
        gain[p->ray] = g;
        w->chosen[p->ray] = i;
        w->residual[p->ray] = e;
    }
    return sum;
}

/* ---- The fit --------------------------------------------------------------------------------- */

/* The rim through three points with its present rise. */
static bool through_three(const struct work *w, const struct point *p[3], struct rim *rim)
{
    double row[UNKNOWNS];
    for (int step = 0; step < 4; step++) {
        double normal[9] = {0}, right[3] = {0};
        for (int i = 0; i < 3; i++) {
            double e = residual_of(w, rim, p[i], row);
            for (int j = 0; j < 3; j++) {
                right[j] += row[j] * e;
                for (int k = 0; k < 3; k++)
                    normal[3 * j + k] += row[j] * row[k];
            }
        }
        if (!linalg_solve(3, normal, right, right))
            return false;
        rim->centre_mm.x += right[CENTRE_X];
        rim->centre_mm.y += right[CENTRE_Y];
        rim->radius_mm += right[RADIUS];
    }
    return isfinite(rim->radius_mm) && rim->radius_mm > 0;
}

static bool is_plausible(const struct rim *rim, const struct rim *start)
{
    double moved =
        hypot(rim->centre_mm.x - start->centre_mm.x, rim->centre_mm.y - start->centre_mm.y);
    if (rim->usual.u > 0 && fabs(rim->radius_mm - rim->usual.value) > 3 * rim->usual.u)
        return false;
    return fabs(rim->radius_mm - start->radius_mm) < 0.5 * start->radius_mm &&
           moved < 0.6 * start->radius_mm;
}

/* Starts from the rim that most points agree on. M. A. Fischler, R. C. Bolles, "Random sample
 * consensus", Comm. ACM 24(6), 1981; the same draws every time. */
static void start_from_consensus(struct work *w, double limit_mm, struct rim *rim)
{
    enum { DRAWS = 210 };
    const struct rim start = *rim;
    double most = choose(w, rim, limit_mm);
    uint32_t draw = 1;
    for (int k = 0; k < DRAWS; k++) {
        struct rim guess = start;
        const struct point *p[3];
        for (int i = 0; i < 3; i++) {
            draw = draw * 1664525U + 1013904223U; /* Numerical Recipes, 3rd ed., 7.1 */
            p[i] = &w->points[(uint64_t)draw * (uint64_t)w->count >> 32];
        }
        guess.rise.value = fmax(0, start.rise.value + (k % 7 - 3) * 0.6 * start.rise.u);
        if (!through_three(w, p, &guess) || !is_plausible(&guess, &start))
            continue;
        double support = choose(w, &guess, limit_mm);
        if (support > most) {
            most = support;
            *rim = guess;
        }
    }
}

/* Tukey's biweight about the scatter of the chosen points. */
static void reweight(struct work *w, double least_mm)
{
    double off[MAX_RAYS];
    int n = 0;
    for (int i = 0; i < w->rays; i++)
        if (w->chosen[i] >= 0)
            off[n++] = fabs(w->residual[i]);
    w->scale_mm = fmax(least_mm, n > 0 ? 1.4826 * median_upper(off, n) : least_mm);
    for (int i = 0; i < w->rays; i++) {
        double t = w->residual[i] / (4.685 * w->scale_mm);
        w->weight[i] = w->chosen[i] >= 0 && fabs(t) < 1
                           ? w->points[w->chosen[i]].trust * pow(1 - t * t, 2)
                           : 0;
    }
}

/* One Gauss-Newton step with what is known of radius, rise, step and shift. */
static bool improve(struct work *w, struct rim *rim, const struct estimate *rise)
{
    double normal[UNKNOWNS * UNKNOWNS] = {0}, right[UNKNOWNS] = {0}, row[UNKNOWNS];
    for (int i = 0; i < w->rays; i++) {
        if (!(w->weight[i] > 0))
            continue;
        double e = residual_of(w, rim, &w->points[w->chosen[i]], row);
        for (int j = 0; j < UNKNOWNS; j++) {
            right[j] += w->weight[i] * row[j] * e;
            for (int k = 0; k < UNKNOWNS; k++)
                normal[j * UNKNOWNS + k] += w->weight[i] * row[j] * row[k];
        }
    }
    const struct estimate *prior[UNKNOWNS] = {[RADIUS] = &rim->usual,
                                              [RISE] = rise,
                                              [STEP] = &w->usual.tint_step_mm,
                                              [SHIFT] = &w->usual.shade_shift_mm};
    double now[UNKNOWNS] = {[RADIUS] = rim->radius_mm,
                            [RISE] = rim->rise.value,
                            [STEP] = w->unknown[STEP],
                            [SHIFT] = w->unknown[SHIFT]};
    for (int j = RADIUS; j < UNKNOWNS; j++) {
        if (!(prior[j]->u > 0))
            continue;
        double precision = ALIKE * pow(w->scale_mm / prior[j]->u, 2);
        normal[j * UNKNOWNS + j] += precision;
        right[j] += precision * (prior[j]->value - now[j]);
    }
    if (!linalg_solve(UNKNOWNS, normal, right, right) ||
        !linalg_invert(UNKNOWNS, normal, w->inverse))
        return false;
    rim->centre_mm.x += right[CENTRE_X];
    rim->centre_mm.y += right[CENTRE_Y];
    rim->radius_mm += right[RADIUS];
    rim->rise.value = fmin(0.1, fmax(0, rim->rise.value + right[RISE]));
    w->unknown[STEP] += right[STEP];
    w->unknown[SHIFT] += right[SHIFT];
    return isfinite(rim->radius_mm) && rim->radius_mm > 0;
}

/* ---- What it is worth ------------------------------------------------------------------------ */

/* How far the centre may be off, from waves in the residual: what shadow, wall or gloss does to
 * the rim comes as slow waves round it, of which the first is not to be told from a shift. So the
 * next few, which nothing explains, say how large that first one may be. */
static double wave_mm(const struct work *w, double used)
{
    enum { FIRST = 2, LAST = 5 };
    double power = 0;
    for (int m = FIRST; m <= LAST; m++) {
        double a = 0, b = 0;
        for (int i = 0; i < w->rays; i++) {
            double e = w->weight[i] > 0 ? w->residual[i] : 0, rad = 2 * PI * i / w->rays;
            a += 2 * e * cos(m * rad) / used;
            b += 2 * e * sin(m * rad) / used;
        }
        power += (a * a + b * b) / 2 / (LAST - FIRST + 1);
    }
    return sqrt(power);
}

/* Variance of neighbours that share pixels, against independent ones. */
static double correlation(const struct work *w)
{
    double product = 0, square = 0;
    for (int i = 0; i + 1 < w->rays; i++)
        if (w->weight[i] > 0 && w->weight[i + 1] > 0) {
            product += w->residual[i] * w->residual[i + 1];
            square += w->residual[i] * w->residual[i];
        }
    double rho = square > 0 ? fmin(0.9, fmax(0, product / square)) : 0;
    return (1 + rho) / (1 - rho);
}

static void describe(const struct work *w, const struct estimate *prior, struct rim *rim)
{
    double used = 0, trusted = 0;
    for (int i = 0; i < w->rays; i++) {
        used += w->weight[i] > 0;
        trusted += w->weight[i] > 0 ? w->points[w->chosen[i]].trust : 0;
    }
    double variance = w->inverse[CENTRE_X * (UNKNOWNS + 1)] + w->inverse[CENTRE_Y * (UNKNOWNS + 1)];
    double white_mm = w->scale_mm * sqrt(variance / 2);
    rim->centre_u_mm = hypot(white_mm * sqrt(correlation(w)), used > 0 ? wave_mm(w, used) : 0);
    rim->scatter_mm = w->scale_mm;
    rim->seen = trusted / w->rays;
    rim->rise.u = w->scale_mm * sqrt(ALIKE * w->inverse[RISE * (UNKNOWNS + 1)]);
    rim->rise_shown = rim->rise.u < 0.8 * prior->u;
}

enum vision_reason rim_fit(const struct vision_image *image, const struct card_fix *fix,
                           const struct silhouette *s, const double camera_mm[3],
                           enum rim_kind kind, struct rim *rim)
{
    const struct estimate rise = rim->rise;
    struct work w = {.kind = kind, .camera_mm = camera_mm, .s = s};
    w.pixel_mm = image->reduce / plane_px_per_mm(&fix->plane, rim->centre_mm);
    w.usual = arm_shared_usual(w.pixel_mm);
    const double limit_mm = 1.2 * w.pixel_mm;
    for (int round = 0; round < 2; round++) {
        double reach = kind == RIM_OUTLINE ? 1.2 : 0.9 * rim->radius_mm;
        if (!read_edges(image, fix, rim, fmin(1.2, fmax(reach, 5 * w.pixel_mm)), &w))
            return VISION_NO_MEMORY;
        if (w.count < 12)
            return VISION_NO_ARM;
        if (round == 0)
            start_from_consensus(&w, limit_mm, rim);
        for (int step = 0; step < 8; step++) {
            choose(&w, rim, limit_mm);
            reweight(&w, 0.05 * w.pixel_mm);
            if (!improve(&w, rim, &rise))
                return VISION_NO_ARM;
        }
    }
    choose(&w, rim, limit_mm);
    reweight(&w, 0.05 * w.pixel_mm);
    describe(&w, &rise, rim);
    return VISION_REASON_NONE;
}
