#include "edge_fit.h"

#include "angle.h"
#include "budget.h"
#include "linalg.h"
#include "median.h"
#include "profile.h"
#include "robust_line.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MAX_SECTIONS PROFILE_MAX_SECTIONS
#define SHIFT_PX 0.08 /* of an edge for each doubling, as a standard deviation over photos */

struct outline_point {
    int side;
    struct vision_point mm;
};

struct work {
    struct outline_point outline[2 * MAX_SECTIONS]; /* where the edges roughly lie */
    int outline_count, sections;
    int first; /* sections before this one are left out of the fit */
    double from, to, u[MAX_SECTIONS], predicted[2][MAX_SECTIONS];
    struct edge_point edge[2][MAX_SECTIONS]; /* left, right */
    struct edge_point other[2][MAX_SECTIONS];
    struct robust_point points[2][MAX_SECTIONS];
};

/* What a fit of the body says: the middle line against the present axis. */
struct body_line {
    double turn_rad, offset_mm; /* at the hub */
    double taper_rad;           /* NAN where the sides bend */
    double u_rad, dof, scale_mm;
    double first_u, last_u;
    int used;
    bool symmetric; /* the middle line does not bend */
    struct arm_shared shown;
};

/* ---- Edges ---------------------------------------------------------------------------------- */

/* The rough edges seen along an axis: for each section the median of the outline points nearby,
 * carried on over gaps. */
static void predict(const struct axis *axis, double from, double to, struct work *work)
{
    double c = cos(axis->direction_rad), s = sin(axis->direction_rad);
    double step = (to - from) / work->sections;
    for (int side = 0; side < 2; side++) {
        for (int i = 0; i < work->sections; i++) {
            double u = from + step * (i + 0.5), near[64];
            int n = 0;
            for (int wider = 0; n < 3 && wider < 8; wider++) {
                double window = 0.25 * (1 << wider);
                n = 0;
                for (int k = 0; k < work->outline_count && n < 64; k++) {
                    const struct outline_point *p = &work->outline[k];
                    double dx = p->mm.x - axis->hub_mm.x, dy = p->mm.y - axis->hub_mm.y;
                    if ((p->side > 0) != (side == 0) || fabs(dx * c + dy * s - u) > window)
                        continue;
                    near[n++] = p->side * (-dx * s + dy * c - axis->offset_mm);
                }
            }
            work->predicted[side][i] = median_upper(near, n);
        }
    }
}

static void take_rough_outline(const struct axis *axis, const struct part_arm *arm,
                               struct work *work)
{
    work->outline_count = 0;
    for (int i = 0; i < arm->outline_count; i++)
        for (int side = 1; side >= -1; side -= 2) {
            double v = side > 0 ? arm->outline[i].left_mm : -arm->outline[i].right_mm;
            work->outline[work->outline_count++] =
                (struct outline_point){side, axis_point(axis, arm->outline[i].u_mm, v)};
        }
}

static int count_found(const struct edge_point *e, int n)
{
    int found = 0;
    for (int i = 0; i < n; i++)
        found += e[i].found;
    return found;
}

/* Edge points found so far replace the rough outline where there are enough of them. */
static void take_found_outline(const struct axis *axis, struct work *work)
{
    for (int side = 0; side < 2; side++)
        if (count_found(work->edge[side], work->sections) < work->sections / 2)
            return;
    work->outline_count = 0;
    for (int side = 0; side < 2; side++)
        for (int i = 0; i < work->sections; i++) {
            const struct edge_point *e = &work->edge[side][i];
            if (e->found)
                work->outline[work->outline_count++] = (struct outline_point){
                    side ? -1 : 1, axis_point(axis, e->u, side ? -e->v : e->v)};
        }
}

static bool find_edges(const struct edge_view *view, const struct axis *axis, double inside_mm,
                       double outside_mm, double pixel_mm, struct work *work)
{
    for (int i = 0; i < work->sections; i++)
        work->u[i] = work->from + (work->to - work->from) * (i + 0.5) / work->sections;
    predict(axis, work->from, work->to, work);
    for (int side = 0; side < 2; side++)
        if (!profile_find_edges(view->image, view->fix, view->silhouette, axis, side ? -1 : 1,
                                inside_mm, outside_mm, pixel_mm, work->u, work->predicted[side],
                                work->sections, work->edge[side], work->other[side]))
            return false;
    return true;
}

static double brightness(const float rgb[3])
{
    return sqrtf(rgb[0] * rgb[0] + rgb[1] * rgb[1] + rgb[2] * rgb[2]);
}

/* The median colour inside the inner part of a side; false where too few points tell. */
static bool usual_colour(const struct edge_point *e, int n, float out[3])
{
    const int least = 8;
    double channel[3][MAX_SECTIONS];
    int inner = 0;
    for (int i = 0; i < (n * 3) / 5; i++)
        if (e[i].found) {
            for (int c = 0; c < 3; c++)
                channel[c][inner] = e[i].inside[c];
            inner++;
        }
    for (int c = 0; c < 3; c++)
        out[c] = (float)median_upper(channel[c], inner);
    return inner >= least;
}

static bool is_foreign(const struct edge_point *e, const float usual[3])
{
    float off[3];
    for (int c = 0; c < 3; c++)
        off[c] = e->inside[c] - usual[c];
    /* gloss and shade may double or halve an arm's own brightness */
    return brightness(off) > 0.4 * brightness(usual) + 0.05;
}

static int count_foreign(const struct edge_point *e, int n, const float usual[3])
{
    int foreign = 0;
    for (int i = 0; i < n; i++)
        foreign += e[i].found && is_foreign(&e[i], usual);
    return foreign;
}

/* Balls, cups and links at the tip mostly differ from the arm in colour. Edge points whose inside
 * is clearly unlike the inner part of the same edge belong to something else. Unless that leaves
 * most of the edge out: where the inner part lies over a cut slot, it may be the edge of what the
 * slot shows, and the other side tells the arm's colour better. */
static void drop_foreign_colour(struct edge_point *e, const struct edge_point *other, int n)
{
    float usual[3], others[3];
    if (!usual_colour(e, n, usual))
        return;
    int foreign = count_foreign(e, n, usual);
    if (2 * foreign > count_found(e, n) && usual_colour(other, n, others) &&
        count_foreign(e, n, others) < foreign)
        memcpy(usual, others, sizeof usual);
    for (int i = 0; i < n; i++)
        e[i].found = e[i].found && !is_foreign(&e[i], usual);
}

/* ---- Straight sides --------------------------------------------------------------------------
 *
 * Each edge of an arm with straight sides is a line in one plane, so its direction is right
 * whatever its height; the middle line halves the angle between the two. */

static int line_points(const struct work *work, int side, struct robust_point *out)
{
    int n = 0;
    for (int i = work->first; i < work->sections; i++)
        if (work->edge[side][i].found)
            out[n++] = (struct robust_point){.u = work->u[i],
                                             .v = work->edge[side][i].v,
                                             .tint = work->edge[side][i].tint == 1,
                                             .shade = work->edge[side][i].shade};
    return n;
}

/* A walk along the sections of the body: the point of each side, NULL where there is none. Starts
 * as {0}. */
struct both_sides {
    int passed, points[2];
    struct robust_point *left, *right;
};

static bool next_section(struct work *work, struct both_sides *at)
{
    const int i = work->first + at->passed++;
    if (i >= work->sections)
        return false;
    at->left = work->edge[0][i].found ? &work->points[0][at->points[0]++] : NULL;
    at->right = work->edge[1][i].found ? &work->points[1][at->points[1]++] : NULL;
    return true;
}

/* Where one side leaves its line, into a fillet or the round tip, the other one does, or would if
 * it were seen there: so a section counts as little on either side as on the side where it counts
 * less, and where only one side is seen it counts a third. What bends both sides alike then turns
 * the middle line little. */
static void share_weights(struct work *work)
{
    const double alone = 0.3;
    for (struct both_sides at = {0}; next_section(work, &at);) {
        if (at.left && at.right)
            at.left->weight = at.right->weight = fmin(at.left->weight, at.right->weight);
        else if (at.left)
            at.left->weight *= alone;
        else if (at.right)
            at.right->weight *= alone;
    }
}

/* Both sides at once, from where each has settled by itself. */
static bool fit_sides(struct work *work, const int count[2], struct robust_line line[2])
{
    const int rounds = 3;
    for (int k = 0; k < rounds; k++) {
        for (int side = 0; side < 2; side++)
            robust_line_weigh(&line[side], work->points[side], count[side]);
        share_weights(work);
        for (int side = 0; side < 2; side++)
            if (!robust_line_solve(&line[side], work->points[side], count[side]))
                return false;
    }
    return true;
}

static int count_used(const struct robust_point *e, int n, double *first, double *last)
{
    int used = 0;
    for (int i = 0; i < n; i++)
        if (e[i].weight > 0.1) {
            *first = used ? *first : e[i].u;
            *last = e[i].u;
            used++;
        }
    return used;
}

/* What the points alone say about one unknown: the posterior with the prior taken out again, since
 * precisions add. u = 0 when they say nothing. */
static struct estimate shown_by(const struct robust_line *line, const struct robust_point *e, int n,
                                int unknown, double prior, double prior_u)
{
    double variance = line->cov[unknown * (ROBUST_UNKNOWNS + 1)] * line->scale_mm * line->scale_mm;
    double precision = 1 / variance - 1 / (prior_u * prior_u);
    if (!(precision > 0.05 / (prior_u * prior_u)))
        return (struct estimate){0, 0};
    double value = (line->p[unknown] / variance - prior / (prior_u * prior_u)) / precision;
    return (struct estimate){value, sqrt(robust_line_correlation(line, e, n) / precision)};
}

void edge_fit_combine(struct estimate *sum, struct estimate more)
{
    if (!(more.u > 0))
        return;
    double w = sum->u > 0 ? 1 / (sum->u * sum->u) : 0, v = 1 / (more.u * more.u);
    sum->value = (w * sum->value + v * more.value) / (w + v);
    sum->u = 1 / sqrt(w + v);
}

/* Variance of the middle line against that of two sides that err each by itself, from the sections
 * where both are seen: half the difference of their residuals. What both share, such as the
 * rounding towards a fillet, is no error of the middle. */
static double middle_against_sides(struct work *work, const struct robust_line line[2])
{
    const double least = 0.3; /* few sections tell no better */
    double middle = 0, sides = 0;
    int n = 0;
    for (struct both_sides at = {0}; next_section(work, &at);) {
        if (!at.left || !at.right || !(at.left->weight > 0))
            continue;
        double a = robust_line_residual(&line[0], at.left);
        double b = robust_line_residual(&line[1], at.right);
        middle += at.left->weight * pow((a - b) / 2, 2);
        sides += at.left->weight * (a * a + b * b) / 4;
        n++;
    }
    if (n < 0.4 * (work->sections - work->first) || !(sides > 0))
        return 1;
    return fmin(1, fmax(least, middle / sides));
}

/* strict: most of each edge must lie on its line. Otherwise a good third will do, if it spans the
 * body: walls that mirror the card and shadows break an edge into pieces of two parallel lines. */
static bool fit_straight(struct work *work, const struct arm_shared *known, double tolerance_mm,
                         bool strict, struct body_line *out)
{
    struct robust_line line[2];
    int count[2];
    double first[2] = {0}, last[2] = {0}, variance = 0, fourth = 0;
    *out = (struct body_line){0};
    for (int side = 0; side < 2; side++) {
        struct robust_point *e = work->points[side];
        int n = count[side] = line_points(work, side, e);
        line[side] = (struct robust_line){.middle_u = (work->u[work->first] + work->to) / 2,
                                          .half_u = (work->to - work->u[work->first]) / 2,
                                          .slip_u_mm = 1,
                                          .step_mm = known->tint_step_mm.value,
                                          .step_u_mm = known->tint_step_mm.u,
                                          .shift_mm = known->shade_shift_mm.value,
                                          .shift_u_mm = known->shade_shift_mm.u};
        if (n < 0.3 * (work->sections - work->first) ||
            !robust_line_fit(&line[side], e, n, tolerance_mm))
            return false;
    }
    if (!fit_sides(work, count, line))
        return false;
    for (int side = 0; side < 2; side++) {
        struct robust_point *e = work->points[side];
        int n = count[side];
        int used = count_used(e, n, &first[side], &last[side]);
        double share = strict ? 0.6 : 0.35, span = strict ? 0.3 : 0.5;
        if (used < share * n || last[side] - first[side] < span * 2 * line[side].half_u ||
            line[side].scale_mm > (strict ? 2 : 3) * tolerance_mm)
            return false;
        double u =
            sqrt(line[side].cov[ROBUST_UNKNOWNS + 1] * robust_line_correlation(&line[side], e, n)) *
            line[side].scale_mm / line[side].half_u;
        variance += u * u / 4;
        fourth += pow(u, 4) / 16 / robust_line_dof(&line[side], e, n);
        edge_fit_combine(&out->shown.tint_step_mm,
                         shown_by(&line[side], e, n, 3, line[side].step_mm, line[side].step_u_mm));
        edge_fit_combine(
            &out->shown.shade_shift_mm,
            shown_by(&line[side], e, n, 4, line[side].shift_mm, line[side].shift_u_mm));
        out->used += used / 2;
        out->scale_mm += line[side].scale_mm / 2;
    }
    double shared = middle_against_sides(work, line);
    variance *= shared;
    fourth *= shared * shared;
    double half_u = line[0].half_u, middle_u = line[0].middle_u;
    double turn = (line[0].p[1] - line[1].p[1]) / 2 / half_u;
    out->turn_rad = (atan(line[0].p[1] / half_u) - atan(line[1].p[1] / half_u)) / 2;
    out->taper_rad = -(atan(line[0].p[1] / half_u) + atan(line[1].p[1] / half_u)) / 2;
    out->offset_mm = (line[0].p[0] - line[1].p[0]) / 2 - turn * middle_u;
    out->symmetric = strict;
    out->u_rad = sqrt(variance);
    out->dof = fmax(1, variance * variance / fourth); /* Welch-Satterthwaite */
    out->first_u = fmin(first[0], first[1]);
    out->last_u = fmax(last[0], last[1]);
    return true;
}

/* ---- Waisted sides ----------------------------------------------------------------------------
 *
 * Along the axis, with w(u) the half width, the edges lie at
 *
 *     left   v =  middle + turn u + w(u + slip / 2)
 *     right  v = -middle - turn u + w(u - slip / 2)
 *
 * so half their difference is middle + turn u + slip w'(u) / 2, whatever the shape w. Slip is
 * there because in an oblique view one side shows the upper edge of the arm and the other the
 * lower one, and the upper one is displaced away from the camera. For straight sides it turns
 * nothing; on a waisted arm it looks much like a turn, so it carries a prior from the view and
 * from how thick arms are. */

/* The edge of one side between two sections. false where either is missing. */
static bool edge_between(const struct work *work, int side, double at, double *v)
{
    int i = (int)floor(at);
    if (i < 0 || i + 1 >= work->sections)
        return false;
    const struct edge_point *a = &work->edge[side][i], *b = a + 1;
    *v = a->v + (at - i) * (b->v - a->v);
    return a->found && b->found && a->tint == b->tint;
}

/* The two edges that belong to one place of the arm: the expected slip, in sections, apart. */
static bool pair_at(const struct work *work, int i, double slip, double *left, double *right)
{
    return edge_between(work, 0, i - slip / 2, left) && edge_between(work, 1, i + slip / 2, right);
}

/* Slope of the half width about section i: least squares over the pairs within 0.7 mm. */
static double width_slope(const struct work *work, int i, double slip, double step_mm)
{
    int span = (int)fmax(3, 0.7 / step_mm);
    struct linalg_line widths = {0};
    double left, right, level, slope;
    for (int k = i - span; k <= i + span; k++)
        if (pair_at(work, k, slip, &left, &right))
            linalg_line_add(&widths, (k - i) * step_mm, (left + right) / 2);
    return linalg_line_fit(&widths, &level, &slope) ? slope : 0;
}

static int pair_points(const struct work *work, double slip_mm, struct robust_point *out)
{
    double step_mm = (work->to - work->from) / work->sections, slip = slip_mm / step_mm;
    int n = 0;
    for (int i = work->first; i < work->sections; i++) {
        double left, right;
        if (!pair_at(work, i, slip, &left, &right))
            continue;
        const struct edge_point *l = &work->edge[0][(int)floor(i - slip / 2)];
        const struct edge_point *r = &work->edge[1][(int)floor(i + slip / 2)];
        out[n++] = (struct robust_point){.u = work->u[i],
                                         .v = (left - right) / 2,
                                         .slope = width_slope(work, i, slip, step_mm),
                                         .tint = ((l->tint == 1) - (r->tint == 1)) / 2.0,
                                         .shade = (l->shade - r->shade) / 2};
    }
    return n;
}

struct arm_shared edge_fit_usual(double pixel_mm)
{
    return (struct arm_shared){.thickness_mm = {1.5, 0.6},
                               .tint_step_mm = {0, 0.1 * pixel_mm},
                               .shade_shift_mm = {0, SHIFT_PX * pixel_mm}};
}

/* Slip per millimetre of thickness. The top of an arm of thickness t is displaced from its bottom
 * by t (X - C) / Cz. The side that faces the camera's foot C shows the bottom edge, the other side
 * the top edge; with C over the arm both show the top. */
static double slip_per_thickness(double middle_u, const struct axis *axis, double width_mm,
                                 const double camera_mm[3])
{
    const double blur_mm = 0.03; /* walls that show less than this do not count as seen */
    double c = cos(axis->direction_rad), s = sin(axis->direction_rad);
    double dx = camera_mm[0] - axis->hub_mm.x, dy = camera_mm[1] - axis->hub_mm.y;
    double along = dx * c + dy * s, left = -dx * s + dy * c - axis->offset_mm;
    double wall_mm = fmax(0, fabs(left) - width_mm / 2) / camera_mm[2] * 1.5;
    double facing = wall_mm / (wall_mm + blur_mm) * (left > 0 ? 1 : -1);
    return facing * (middle_u - along) / camera_mm[2];
}

static bool fit_waisted(struct work *work, const struct axis *axis, double width_mm,
                        const double camera_mm[3], const struct arm_shared *known,
                        double tolerance_mm, struct body_line *out)
{
    struct robust_line line = {.middle_u = (work->u[work->first] + work->to) / 2,
                               .half_u = (work->to - work->u[work->first]) / 2};
    line.step_mm = known->tint_step_mm.value;
    line.step_u_mm = known->tint_step_mm.u;
    line.shift_mm = known->shade_shift_mm.value;
    line.shift_u_mm = known->shade_shift_mm.u;
    struct robust_point *e = work->points[0];
    double per_mm = slip_per_thickness(line.middle_u, axis, width_mm, camera_mm);
    /* the expected slip is taken out by pairing, which holds at any bend; the line keeps the rest
     */
    double expected_mm = per_mm * known->thickness_mm.value;
    int n = pair_points(work, expected_mm, e);
    line.slip_u_mm = fmax(0.01, fabs(per_mm) * known->thickness_mm.u);
    if (n < 10 || !robust_line_fit(&line, e, n, tolerance_mm))
        return false;
    double turn = line.p[1] / line.half_u;
    *out = (struct body_line){.turn_rad = atan(turn),
                              .taper_rad = NAN,
                              .offset_mm = line.p[0] - turn * line.middle_u,
                              .scale_mm = line.scale_mm};
    out->used = count_used(e, n, &out->first_u, &out->last_u);
    double bend_u, bend = robust_line_bend(&line, e, n, &bend_u);
    out->symmetric = fabs(bend) < fmax(3 * bend_u, 0.2 * tolerance_mm);
    out->shown.tint_step_mm = shown_by(&line, e, n, 3, line.step_mm, line.step_u_mm);
    out->shown.shade_shift_mm = shown_by(&line, e, n, 4, line.shift_mm, line.shift_u_mm);
    if (fabs(per_mm) > 0.03) {
        struct estimate rest = shown_by(&line, e, n, 2, 0, line.slip_u_mm);
        out->shown.thickness_mm =
            (struct estimate){(expected_mm + rest.value) / per_mm, rest.u / fabs(per_mm)};
    }
    /* the slip's prior is not noise, but inflating its share too errs on the safe side */
    out->u_rad = sqrt(line.cov[ROBUST_UNKNOWNS + 1] * robust_line_correlation(&line, e, n)) *
                 line.scale_mm / line.half_u;
    out->dof = robust_line_dof(&line, e, n);
    return true;
}

/* Straight where both edges say so; else waisted, if the middle line is straight; else the same
 * without the inner fifth or two, where a fillet to the next arm may spoil one side; else whatever
 * straight pieces there are. */
static bool fit_body(struct work *work, const struct axis *axis, double width_mm,
                     const double camera_mm[3], const struct arm_shared *known, double tolerance_mm,
                     struct body_line *out)
{
    struct body_line waisted;
    bool have_waisted = false;
    for (int fifths = 0; fifths < 3; fifths++) {
        work->first = fifths * work->sections / 5;
        if (fit_straight(work, known, tolerance_mm, true, out))
            return true;
        if (!fit_waisted(work, axis, width_mm, camera_mm, known, tolerance_mm, out))
            continue;
        if (out->symmetric && out->scale_mm < 2 * tolerance_mm &&
            out->used > 0.5 * (work->sections - work->first))
            return true;
        if (!have_waisted)
            waisted = *out;
        have_waisted = true;
    }
    work->first = 0;
    if (fit_straight(work, known, tolerance_mm, false, out))
        return true;
    *out = waisted;
    return have_waisted;
}

/* ---- One arm -------------------------------------------------------------------------------- */

/* How far off a whole stretch of edge may lie, in image pixels, where brightness tells part from
 * card, and where only colour does: photos store colour in squares of two pixels and blocks of
 * sixteen, so such errors run together over about a dozen pixels. docs/decisions.md, "Edges told by
 * colour alone". */
static double edge_wander_px(const struct edge_point *e, int n)
{
    const double bright_px = 0.06, colour_px = 0.4, enough_brightness = 0.6;
    double share[MAX_SECTIONS];
    int found = 0;
    for (int i = 0; i < n; i++)
        if (e[i].found)
            share[found++] = e[i].bright_share;
    double missing = fmax(0, 1 - median_upper(share, found) / enough_brightness);
    return bright_px + (colour_px - bright_px) * missing;
}

/* Turns the wander of both edges into an uncertainty of direction and offset: the slope of a line
 * through body / run independent stretches. */
static void add_wander(const struct work *work, double pixel_mm, struct arm_fit *out)
{
    const double run_px = 12;
    double left = edge_wander_px(work->edge[0], work->sections) * pixel_mm;
    double right = edge_wander_px(work->edge[1], work->sections) * pixel_mm;
    double both = hypot(left, right) / 2;
    double stretches = fmax(1, out->body_mm / (run_px * pixel_mm));
    double slope = both * sqrt(12 / stretches) / fmax(1, out->body_mm);
    if (slope > out->u_rad) {
        out->u_rad = slope;
        out->dof = BUDGET_JUDGED_DOF;
    }
    out->offset_u_mm = both;
}

/* By how much two edges of one side differ in direction, beyond what their scatter explains. They
 * lie in parallel planes, so they should not: but highlights on rounded and polished edges wander.
 * 0 where there are not two along half the side at least: shorter ones may be noise. */
static double side_disagrees_rad(const struct work *work, int side, double tolerance_mm)
{
    struct robust_point p[MAX_SECTIONS];
    struct robust_line line = {.middle_u = (work->from + work->to) / 2,
                               .half_u = (work->to - work->from) / 2,
                               .slip_u_mm = 1,
                               .step_u_mm = 0.01,
                               .shift_u_mm = 0.01};
    int n = 0;
    for (int i = 0; i < work->sections; i++) {
        const struct edge_point *e = &work->edge[side][i], *other = &work->other[side][i];
        if (e->found && other->found)
            p[n++] = (struct robust_point){.u = e->u, .v = other->v - e->v};
    }
    double first = 0, last = 0;
    if (n < work->sections / 2 || !robust_line_fit(&line, p, n, tolerance_mm))
        return 0;
    count_used(p, n, &first, &last);
    if (last - first < 0.4 * 2 * line.half_u)
        return 0;
    double turn = line.p[1] / line.half_u;
    double u = sqrt(line.cov[ROBUST_UNKNOWNS + 1] * robust_line_correlation(&line, p, n)) *
               line.scale_mm / line.half_u;
    return sqrt(fmax(0, turn * turn - u * u));
}

/* Each side's direction is taken for as uncertain as half of that; the middle line halves the two
 * sides. */
static void heed_witnesses(const struct work *work, double tolerance_mm, struct arm_fit *out)
{
    double left = side_disagrees_rad(work, 0, tolerance_mm) / 2;
    double right = side_disagrees_rad(work, 1, tolerance_mm) / 2;
    out->u_rad = hypot(out->u_rad, hypot(left, right) / 2);
}

/* How bright a side's inside is, and whether most of it lies over a slot that was cut out, behind
 * which anything may lie. */
static double inside_brightness(const struct edge_point *e, int n, bool *over_slot)
{
    double bright[MAX_SECTIONS];
    int found = 0, slot = 0;
    for (int i = 0; i < n; i++)
        if (e[i].found) {
            bright[found++] = brightness(e[i].inside);
            slot += e[i].tint == SILHOUETTE_SLOT;
        }
    *over_slot = 2 * slot > found;
    return median_upper(bright, found);
}

/* The card's tints tell shadow from part; what lies behind the slot tells only bright parts from
 * it. A dark side over the slot, much darker than the other one, is likelier where a shadow ends.
 */
static void heed_shadow_in_slot(const struct work *work, struct arm_fit *out)
{
    const double darker = 0.5, dark = 0.3, unseen_rad = 0.8 / DEG;
    bool over_slot[2];
    double left = inside_brightness(work->edge[0], work->sections, &over_slot[0]);
    double right = inside_brightness(work->edge[1], work->sections, &over_slot[1]);
    if ((over_slot[0] && left < fmin(dark, darker * right)) ||
        (over_slot[1] && right < fmin(dark, darker * left)))
        out->u_rad = hypot(out->u_rad, unseen_rad);
}

/* Parts in the colour of a tint, and bright metal whose walls mirror the card, have no edge that
 * can be trusted where they look like card. */
static bool looks_like_card(const struct edge_point *e, const struct silhouette *s)
{
    /* dark parts take on some of the card's colour in the photo's coarse colour squares */
    const double alike_rad = 0.17, darkest = 0.4, most_doublings = 2;
    double length = brightness(e->inside);
    if (length < darkest || e->shade > most_doublings)
        return false;
    for (int t = 0; t < 2; t++) {
        if (t == s->blind_tint && e->tint != t)
            continue; /* the part is of that colour, and stands out from the other */
        double along = 0, root = 0;
        for (int c = 0; c < 3; c++) {
            double tint = sqrtf(fmaxf(0, s->tints[t].unit[c])); /* e holds roots of light */
            along += tint * e->inside[c];
            root += tint * tint;
        }
        if (along > cos(alike_rad) * length * sqrt(root))
            return true;
    }
    return false;
}

static int drop_card_coloured(struct edge_point *e, int n, const struct silhouette *s)
{
    int dropped = 0;
    for (int i = 0; i < n; i++) {
        if (!e[i].found || !looks_like_card(&e[i], s))
            continue;
        e[i].found = false;
        dropped++;
    }
    return dropped;
}

/* Leaves out of a side what may be card: its wall where that mirrors the card, say. Where that is
 * most of it and the other edge shows the part, that one is the side. */
static int choose_side(struct edge_point *e, struct edge_point *other, int n,
                       const struct silhouette *s)
{
    int found = count_found(e, n), dropped = drop_card_coloured(e, n, s);
    if (2 * dropped < found)
        return dropped;
    drop_card_coloured(other, n, s);
    if (2 * count_found(other, n) < found)
        return dropped;
    memcpy(e, other, (size_t)n * sizeof *e);
    for (int i = 0; i < n; i++)
        other[i].found = false;
    return 0;
}

static void describe_edges(const struct work *work, struct arm_fit *out)
{
    double rise[2 * MAX_SECTIONS];
    int n = 0;
    for (int side = 0; side < 2; side++) {
        out->points[side] = 0;
        for (int i = 0; i < work->sections; i++) {
            const struct edge_point *e = &work->edge[side][i];
            if (!e->found)
                continue;
            out->points[side]++;
            rise[n++] = e->rise_mm;
        }
    }
    out->tried = work->sections;
    out->blur_mm = median_upper(rise, n);
}

static void take_line(const struct body_line *line, int first, bool blind, double tolerance_mm,
                      struct arm_fit *out)
{
    int fewer = out->points[0] < out->points[1] ? out->points[0] : out->points[1];
    /* of what can be seen at all */
    double seen = (blind ? 0.45 : fmax(0.5, 1 - out->tinted)) * out->tried;
    out->clean = (out->tinted < 0.3 || blind) && line->scale_mm < 2.5 * tolerance_mm &&
                 fewer > 0.3 * seen && line->symmetric && line->used > 0.35 * (seen - first);
    out->body_mm = fmax(0, line->last_u - line->first_u);
    out->u_rad = line->u_rad;
    out->dof = line->dof;
    out->taper_rad = line->taper_rad;
    out->shown = line->shown;
}

/* An arm's edges from the fillet at the hub up to some place along it. */
struct stretch {
    struct axis axis; /* that the sections are cut across */
    double width_mm, pixel_mm, tolerance_mm, camera_mm[3];
    double tinted; /* see arm_fit */
    bool blind;
    struct work work;
};

static bool cut(const struct edge_view *view, struct stretch *stretch)
{
    struct work *work = &stretch->work;
    double inside_mm = 0.42 * stretch->width_mm;
    double outside_mm = fmax(fmin(0.8, inside_mm), 4 * stretch->pixel_mm);
    if (!find_edges(view, &stretch->axis, inside_mm, outside_mm, stretch->pixel_mm, work))
        return false;
    for (int side = 0; side < 2; side++)
        drop_foreign_colour(work->edge[side], work->edge[1 - side], work->sections);
    int like_card = 0;
    for (int side = 0; side < 2; side++)
        like_card +=
            choose_side(work->edge[side], work->other[side], work->sections, view->silhouette);
    stretch->tinted = like_card / (2.0 * work->sections);
    return true;
}

static bool fit_stretch_body(struct stretch *stretch, const struct arm_shared *known,
                             struct body_line *line)
{
    return fit_body(&stretch->work, &stretch->axis, stretch->width_mm, stretch->camera_mm, known,
                    stretch->tolerance_mm, line);
}

static void turn_onto(const struct body_line *line, struct axis *axis)
{
    axis->direction_rad += line->turn_rad;
    axis->offset_mm += line->offset_mm * cos(line->turn_rad);
}

/* Reads the edges up to to_mm twice: the second time cuts at right angles to the first one's axis,
 * centred on its edges. */
static bool read_stretch(const struct edge_view *view, struct vision_point hub_mm,
                         const struct part_arm *arm, const struct arm_shared *usual, double to_mm,
                         struct stretch *out)
{
    struct work *work = &out->work;
    struct body_line line;
    out->axis = (struct axis){
        .hub_mm = hub_mm, .direction_rad = arm->direction_rad, .offset_mm = arm->offset_mm};
    work->from = arm->start_mm;
    work->to = to_mm;
    double length = work->to - work->from;
    if (!(length > 0))
        return false;
    double px_per_mm =
        plane_px_per_mm(&view->fix->plane, axis_point(&out->axis, (work->from + work->to) / 2, 0));
    out->width_mm = arm->width_mm;
    out->pixel_mm = view->image->reduce / px_per_mm;
    out->tolerance_mm = fmax(0.03, 0.4 * out->pixel_mm);
    out->blind = view->silhouette->blind_tint >= 0;
    memcpy(out->camera_mm, view->camera_mm, sizeof out->camera_mm);
    work->sections = (int)fmin(MAX_SECTIONS, fmax(24, length / fmax(out->pixel_mm, 0.02)));
    take_rough_outline(&out->axis, arm, work);
    if (!cut(view, out) || !fit_stretch_body(out, usual, &line))
        return false;
    take_found_outline(&out->axis, work);
    turn_onto(&line, &out->axis);
    return cut(view, out);
}

/* Where bright metal mirrors the card along a part of a side, the edges left on the rest may be
 * those of the mirror image too: by so much, for the share of points that was left out (judged on
 * rendered photos; docs/decisions.md, "Edges that mirror the card"). */
static void heed_mirror(const struct stretch *stretch, struct arm_fit *out)
{
    const double all_rad = 4 / DEG, most_rad = 0.5 / DEG;
    if (!stretch->blind)
        out->u_rad = hypot(out->u_rad, fmin(most_rad, all_rad * stretch->tinted));
}

static bool fit_stretch(struct stretch *stretch, const struct arm_shared *known,
                        struct arm_fit *out)
{
    struct axis axis = stretch->axis;
    struct body_line line;
    *out = (struct arm_fit){.tinted = stretch->tinted};
    describe_edges(&stretch->work, out);
    if (!fit_stretch_body(stretch, known, &line))
        return false;
    take_line(&line, stretch->work.first, stretch->blind, stretch->tolerance_mm, out);
    add_wander(&stretch->work, stretch->pixel_mm, out);
    heed_witnesses(&stretch->work, stretch->tolerance_mm, out);
    heed_shadow_in_slot(&stretch->work, out);
    heed_mirror(stretch, out);
    turn_onto(&line, &axis);
    out->direction_rad = axis.direction_rad;
    out->offset_mm = axis.offset_mm;
    return true;
}

/* Fits of stretches of one arm must agree. What another one differs by beyond its own uncertainty
 * is an uncertainty of the chosen one: a link's cup may pass for the arm's edges over the longer
 * stretch and fit all the better. */
static void heed_other_fits(const struct arm_fit *fits, int count, int chosen, struct arm_fit *out)
{
    const double tells_rad = 1.5 / DEG; /* a vaguer one says nothing */
    double most = 0;
    for (int i = 0; i < count; i++) {
        if (i == chosen || !(fits[i].u_rad < tells_rad))
            continue;
        double apart = fabs(remainder(fits[i].direction_rad - out->direction_rad, 360 / DEG));
        most = fmax(most, apart - fits[i].u_rad);
    }
    out->u_rad = hypot(out->u_rad, most);
}

#define MAX_STRETCHES 3

struct arm_edges {
    struct stretch *stretches[MAX_STRETCHES];
    int count;
    int clear;    /* the stretch up to where a ball or link covers the arm; -1: not seen */
    bool covered; /* whether one does */
};

void edge_fit_free(struct arm_edges *edges)
{
    for (int i = 0; edges && i < edges->count; i++)
        free(edges->stretches[i]);
    free(edges);
}

/* The round end of an arm is as symmetric as its sides and lengthens the base. A ball or a link
 * end on it is not: then the arm without its end is the better witness, or the arm up to where a
 * ball or link end begins to cover it, whichever tells more. */
struct arm_edges *edge_fit_read(const struct edge_view *view, struct vision_point hub_mm,
                                const struct part_arm *arm, const struct arm_shared *usual)
{
    const double ends_mm[MAX_STRETCHES] = {fmin(arm->end_mm, arm->tip_mm - 0.3 * arm->width_mm),
                                           fmin(arm->end_mm, arm->tip_mm - 0.8 * arm->width_mm),
                                           arm->clear_mm};
    const int tried = arm->clear_mm < ends_mm[1] ? 3 : 2;
    struct arm_edges *edges = calloc(1, sizeof *edges);
    bool clean = false;
    if (!edges)
        return NULL;
    edges->clear = -1;
    edges->covered = tried == 3;
    for (int i = 0; i < tried; i++) {
        struct arm_fit fit;
        if (i == 1 && clean)
            continue;
        struct stretch *stretch = calloc(1, sizeof *stretch);
        if (!stretch || !read_stretch(view, hub_mm, arm, usual, ends_mm[i], stretch) ||
            !fit_stretch(stretch, usual, &fit)) {
            free(stretch);
            continue;
        }
        clean = clean || fit.clean;
        if (i == 2)
            edges->clear = edges->count;
        edges->stretches[edges->count++] = stretch;
    }
    if (edges->count > 0)
        return edges;
    free(edges);
    return NULL;
}

bool edge_fit_line(struct arm_edges *edges, const struct arm_shared *known, struct arm_fit *out)
{
    const double unseen_rad = 0.8 / DEG; /* where nothing clear of ball and link tells */
    struct arm_fit fits[MAX_STRETCHES];
    bool clear_tells = false;
    int good = 0, best = 0;
    for (int i = 0; i < edges->count; i++) {
        struct arm_fit *fit = &fits[good];
        if (!fit_stretch(edges->stretches[i], known, fit))
            continue;
        clear_tells = clear_tells || (i == edges->clear && fit->u_rad < 1.5 / DEG);
        if (fit->clean > fits[best].clean ||
            (fit->clean == fits[best].clean && fit->u_rad < fits[best].u_rad))
            best = good;
        good++;
    }
    if (good == 0)
        return false;
    *out = fits[best];
    heed_other_fits(fits, good, best, out);
    if (edges->covered && !clear_tells)
        out->u_rad = fmax(out->u_rad, unseen_rad);
    return true;
}
