#include "body_line.h"

#include "maths/linalg.h"
#include "maths/robust_line.h"

#include <math.h>

/* ---- Straight sides --------------------------------------------------------------------------
 *
 * Each edge of an arm with straight sides is a line in one plane, so its direction is right
 * whatever its height; the middle line halves the angle between the two. */

static int line_points(const struct sides *sides, int side, struct robust_point *out)
{
    int n = 0;
    for (int i = sides->first; i < sides->sections; i++)
        if (sides->edge[side][i].found)
            out[n++] = (struct robust_point){.u = sides->u[i],
                                             .v = sides->edge[side][i].v,
                                             .tint = sides->edge[side][i].tint == 1,
                                             .shade = sides->edge[side][i].shade};
    return n;
}

/* A walk along the sections of the body: the point of each side, NULL where there is none. Starts
 * as {0}. */
struct both_sides {
    int passed, points[2];
    struct robust_point *left, *right;
};

static bool next_section(struct sides *sides, struct both_sides *at)
{
    const int i = sides->first + at->passed++;
    if (i >= sides->sections)
        return false;
    at->left = sides->edge[0][i].found ? &sides->points[0][at->points[0]++] : NULL;
    at->right = sides->edge[1][i].found ? &sides->points[1][at->points[1]++] : NULL;
    return true;
}

/* Where one side leaves its line, into a fillet or the round tip, the other one does, or would if
 * it were seen there: so a section counts as little on either side as on the side where it counts
 * less, and where only one side is seen it counts a third. What bends both sides alike then turns
 * the middle line little. */
static void share_weights(struct sides *sides)
{
    const double alone = 0.3;
    for (struct both_sides at = {0}; next_section(sides, &at);) {
        if (at.left && at.right)
            at.left->weight = at.right->weight = fmin(at.left->weight, at.right->weight);
        else if (at.left)
            at.left->weight *= alone;
        else if (at.right)
            at.right->weight *= alone;
    }
}

/* Both sides at once, from where each has settled by itself. */
static bool fit_sides(struct sides *sides, const int count[2], struct robust_line line[2])
{
    const int rounds = 3;
    for (int k = 0; k < rounds; k++) {
        for (int side = 0; side < 2; side++)
            robust_line_weigh(&line[side], sides->points[side], count[side]);
        share_weights(sides);
        for (int side = 0; side < 2; side++)
            if (!robust_line_solve(&line[side], sides->points[side], count[side]))
                return false;
    }
    return true;
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

/* Variance of the middle line against that of two sides that err each by itself, from the sections
 * where both are seen: half the difference of their residuals. What both share, such as the
 * rounding towards a fillet, is no error of the middle. */
static double middle_against_sides(struct sides *sides, const struct robust_line line[2])
{
    const double least = 0.3; /* few sections tell no better */
    double middle = 0, each = 0;
    int n = 0;
    for (struct both_sides at = {0}; next_section(sides, &at);) {
        if (!at.left || !at.right || !(at.left->weight > 0))
            continue;
        double a = robust_line_residual(&line[0], at.left);
        double b = robust_line_residual(&line[1], at.right);
        middle += at.left->weight * pow((a - b) / 2, 2);
        each += at.left->weight * (a * a + b * b) / 4;
        n++;
    }
    if (n < 0.4 * (sides->sections - sides->first) || !(each > 0))
        return 1;
    return fmin(1, fmax(least, middle / each));
}

static struct bend bend_of_sides(struct sides *sides, const struct robust_line line[2],
                                 const struct body_line *body)
{
    struct bend_sums sums = {.first_u = body->first_u, .last_u = body->last_u};
    for (struct both_sides at = {0}; next_section(sides, &at);)
        if (at.left && at.right && fmin(at.left->weight, at.right->weight) > ROBUST_COUNTS)
            bend_add(&sums, at.left->u,
                     (robust_line_residual(&line[0], at.left) -
                      robust_line_residual(&line[1], at.right)) /
                         2);
    return bend_of(&sums, body->scale_mm);
}

static struct bend bend_of_pairs(const struct robust_line *line, const struct robust_point *pairs,
                                 int n, const struct body_line *body)
{
    struct bend_sums sums = {.first_u = body->first_u, .last_u = body->last_u};
    for (int i = 0; i < n; i++)
        if (pairs[i].weight > ROBUST_COUNTS)
            bend_add(&sums, pairs[i].u, robust_line_residual(line, &pairs[i]));
    return bend_of(&sums, body->scale_mm);
}

/* strict: most of each edge must lie on its line. Otherwise a good third will do, if it spans the
 * body: walls that mirror the card and shadows break an edge into pieces of two parallel lines. */
static bool fit_straight(struct sides *sides, const struct arm_shared *known, double tolerance_mm,
                         bool strict, struct body_line *out)
{
    struct robust_line line[2];
    int count[2];
    double first[2] = {0}, last[2] = {0}, variance = 0, fourth = 0;
    *out = (struct body_line){0};
    for (int side = 0; side < 2; side++) {
        struct robust_point *e = sides->points[side];
        int n = count[side] = line_points(sides, side, e);
        line[side] = (struct robust_line){.middle_u = (sides->u[sides->first] + sides->to) / 2,
                                          .half_u = (sides->to - sides->u[sides->first]) / 2,
                                          .slip_u_mm = 1,
                                          .step_mm = known->tint_step_mm.value,
                                          .step_u_mm = known->tint_step_mm.u,
                                          .shift_mm = known->shade_shift_mm.value,
                                          .shift_u_mm = known->shade_shift_mm.u};
        if (n < 0.3 * (sides->sections - sides->first) ||
            !robust_line_fit(&line[side], e, n, tolerance_mm))
            return false;
    }
    if (!fit_sides(sides, count, line))
        return false;
    for (int side = 0; side < 2; side++) {
        struct robust_point *e = sides->points[side];
        int n = count[side];
        int used = robust_line_used(e, n, &first[side], &last[side]);
        double share = strict ? 0.6 : 0.35, span = strict ? 0.3 : 0.5;
        if (used < share * n || last[side] - first[side] < span * 2 * line[side].half_u ||
            line[side].scale_mm > (strict ? 2 : 3) * tolerance_mm)
            return false;
        double u =
            sqrt(line[side].cov[ROBUST_UNKNOWNS + 1] * robust_line_correlation(&line[side], e, n)) *
            line[side].scale_mm / line[side].half_u;
        variance += u * u / 4;
        fourth += pow(u, 4) / 16 / robust_line_dof(&line[side], e, n);
        estimate_combine(&out->shown.tint_step_mm,
                         shown_by(&line[side], e, n, 3, line[side].step_mm, line[side].step_u_mm));
        estimate_combine(
            &out->shown.shade_shift_mm,
            shown_by(&line[side], e, n, 4, line[side].shift_mm, line[side].shift_u_mm));
        out->used += used / 2;
        out->scale_mm += line[side].scale_mm / 2;
    }
    for (int side = 0; side < 2; side++) {
        double bend_u;
        out->bow_mm += robust_line_bend(&line[side], sides->points[side], count[side], &bend_u) / 2;
        out->bow_u_mm = hypot(out->bow_u_mm, bend_u / 2);
    }
    double shared = middle_against_sides(sides, line);
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
    out->bend = bend_of_sides(sides, line, out);
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
static bool edge_between(const struct sides *sides, int side, double at, double *v)
{
    int i = (int)floor(at);
    if (i < 0 || i + 1 >= sides->sections)
        return false;
    const struct edge_point *a = &sides->edge[side][i], *b = a + 1;
    *v = a->v + (at - i) * (b->v - a->v);
    return a->found && b->found && a->tint == b->tint;
}

/* The two edges that belong to one place of the arm: the expected slip, in sections, apart. */
static bool pair_at(const struct sides *sides, int i, double slip, double *left, double *right)
{
    return edge_between(sides, 0, i - slip / 2, left) &&
           edge_between(sides, 1, i + slip / 2, right);
}

/* Slope of the half width about section i: least squares over the pairs within 0.7 mm. */
static double width_slope(const struct sides *sides, int i, double slip, double step_mm)
{
    int span = (int)fmax(3, 0.7 / step_mm);
    struct linalg_line widths = {0};
    double left, right, level, slope;
    for (int k = i - span; k <= i + span; k++)
        if (pair_at(sides, k, slip, &left, &right))
            linalg_line_add(&widths, (k - i) * step_mm, (left + right) / 2);
    return linalg_line_fit(&widths, &level, &slope) ? slope : 0;
}

static int pair_points(const struct sides *sides, double slip_mm, struct robust_point *out)
{
    double step_mm = (sides->to - sides->from) / sides->sections, slip = slip_mm / step_mm;
    int n = 0;
    for (int i = sides->first; i < sides->sections; i++) {
        double left, right;
        if (!pair_at(sides, i, slip, &left, &right))
            continue;
        const struct edge_point *l = &sides->edge[0][(int)floor(i - slip / 2)];
        const struct edge_point *r = &sides->edge[1][(int)floor(i + slip / 2)];
        out[n++] = (struct robust_point){.u = sides->u[i],
                                         .v = (left - right) / 2,
                                         .slope = width_slope(sides, i, slip, step_mm),
                                         .tint = ((l->tint == 1) - (r->tint == 1)) / 2.0,
                                         .shade = (l->shade - r->shade) / 2};
    }
    return n;
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

static bool fit_waisted(struct sides *sides, const struct axis *axis, double width_mm,
                        const double camera_mm[3], const struct arm_shared *known,
                        double tolerance_mm, struct body_line *out)
{
    struct robust_line line = {.middle_u = (sides->u[sides->first] + sides->to) / 2,
                               .half_u = (sides->to - sides->u[sides->first]) / 2};
    line.step_mm = known->tint_step_mm.value;
    line.step_u_mm = known->tint_step_mm.u;
    line.shift_mm = known->shade_shift_mm.value;
    line.shift_u_mm = known->shade_shift_mm.u;
    struct robust_point *e = sides->points[0];
    double per_mm = slip_per_thickness(line.middle_u, axis, width_mm, camera_mm);
    /* the expected slip is taken out by pairing, which holds at any bend; the line keeps the rest
     */
    double expected_mm = per_mm * known->thickness_mm.value;
    int n = pair_points(sides, expected_mm, e);
    line.slip_u_mm = fmax(0.01, fabs(per_mm) * known->thickness_mm.u);
    if (n < 10 || !robust_line_fit(&line, e, n, tolerance_mm))
        return false;
    double turn = line.p[1] / line.half_u;
    *out = (struct body_line){.turn_rad = atan(turn),
                              .taper_rad = NAN,
                              .offset_mm = line.p[0] - turn * line.middle_u,
                              .scale_mm = line.scale_mm};
    out->used = robust_line_used(e, n, &out->first_u, &out->last_u);
    out->bend = bend_of_pairs(&line, e, n, out);
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

/* Where both sides bow alike, however little, two lines that reach differently far along them turn
 * against each other; what is halved section by section does not. */
static bool is_bowed(const struct body_line *line, double tolerance_mm)
{
    return fabs(line->bow_mm) > fmax(0.3 * tolerance_mm, line->bow_u_mm);
}

bool body_line_fit(struct sides *sides, const struct axis *axis, double width_mm,
                   const double camera_mm[3], const struct arm_shared *known, double tolerance_mm,
                   struct body_line *out)
{
    struct body_line tried, waisted;
    bool have_waisted = false;
    for (int fifths = 0; fifths < 3; fifths++) {
        sides->first = fifths * sides->sections / 5;
        const bool is_straight = fit_straight(sides, known, tolerance_mm, true, out);
        if (is_straight && !is_bowed(out, tolerance_mm))
            return true;
        const bool is_waisted =
            fit_waisted(sides, axis, width_mm, camera_mm, known, tolerance_mm, &tried);
        if (is_waisted && tried.symmetric && tried.scale_mm < 2 * tolerance_mm &&
            tried.used > 0.5 * (sides->sections - sides->first)) {
            *out = tried;
            return true;
        }
        if (is_straight)
            return true;
        if (is_waisted && !have_waisted)
            waisted = tried;
        have_waisted = have_waisted || is_waisted;
    }
    sides->first = 0;
    if (fit_straight(sides, known, tolerance_mm, false, out))
        return true;
    if (have_waisted)
        *out = waisted;
    return have_waisted;
}
