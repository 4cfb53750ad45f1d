#include "edge_fit.h"

#include "body_line.h"
#include "budget/budget.h"
#include "maths/angle.h"
#include "maths/median.h"
#include "maths/robust_line.h"
#include "photo/sample.h"
#include "profile.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MAX_SECTIONS PROFILE_MAX_SECTIONS

struct outline_point {
    int side;
    struct vision_point mm;
};

struct work {
    struct outline_point outline[2 * MAX_SECTIONS]; /* where the edges roughly lie */
    int outline_count;
    double predicted[2][MAX_SECTIONS];
    struct sides sides;
    struct edge_point other[2][MAX_SECTIONS];
};

/* ---- Edges ----------------------------------------------------------------------------------- */

/* The rough edges seen along an axis: for each section the median of the outline points nearby,
 * carried on over gaps. */
static void predict(const struct axis *axis, double from, double to, struct work *work)
{
    double c = cos(axis->direction_rad), s = sin(axis->direction_rad);
    double step = (to - from) / work->sides.sections;
    for (int side = 0; side < 2; side++) {
        for (int i = 0; i < work->sides.sections; i++) {
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
        if (count_found(work->sides.edge[side], work->sides.sections) < work->sides.sections / 2)
            return;
    work->outline_count = 0;
    for (int side = 0; side < 2; side++)
        for (int i = 0; i < work->sides.sections; i++) {
            const struct edge_point *e = &work->sides.edge[side][i];
            if (e->found)
                work->outline[work->outline_count++] = (struct outline_point){
                    side ? -1 : 1, axis_point(axis, e->u, side ? -e->v : e->v)};
        }
}

static bool find_edges(const struct edge_view *view, const struct axis *axis, double inside_mm,
                       double outside_mm, double pixel_mm, struct work *work)
{
    for (int i = 0; i < work->sides.sections; i++)
        work->sides.u[i] = work->sides.from +
                           (work->sides.to - work->sides.from) * (i + 0.5) / work->sides.sections;
    predict(axis, work->sides.from, work->sides.to, work);
    for (int k = 0; k < 2; k++) {
        const struct profile_side side = {.image = view->image,
                                          .fix = view->fix,
                                          .silhouette = view->silhouette,
                                          .axis = axis,
                                          .side = k ? -1 : 1,
                                          .pixel_mm = pixel_mm,
                                          .n = work->sides.sections,
                                          .u = work->sides.u,
                                          .predicted_mm = work->predicted[k]};
        if (!profile_find_edges(&side, inside_mm, outside_mm, work->sides.edge[k], work->other[k]))
            return false;
    }
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
    /* gloss and shade may double or halve an arm's own brightness */
    return sample_apart(e->inside, usual) > 0.4 * brightness(usual) + 0.05;
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

/* ---- One arm --------------------------------------------------------------------------------- */

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
    double left = edge_wander_px(work->sides.edge[0], work->sides.sections) * pixel_mm;
    double right = edge_wander_px(work->sides.edge[1], work->sides.sections) * pixel_mm;
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
    struct robust_line line = {.middle_u = (work->sides.from + work->sides.to) / 2,
                               .half_u = (work->sides.to - work->sides.from) / 2,
                               .slip_u_mm = 1,
                               .step_u_mm = 0.01,
                               .shift_u_mm = 0.01};
    int n = 0;
    for (int i = 0; i < work->sides.sections; i++) {
        const struct edge_point *e = &work->sides.edge[side][i], *other = &work->other[side][i];
        if (e->found && other->found)
            p[n++] = (struct robust_point){.u = e->u, .v = other->v - e->v};
    }
    double first = 0, last = 0;
    if (n < work->sides.sections / 2 || !robust_line_fit(&line, p, n, tolerance_mm))
        return 0;
    robust_line_used(p, n, &first, &last);
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

/* How bright a side's inside is, and the share of it that lies over a slot that was cut out, behind
 * which anything may lie. */
static double inside_brightness(const struct edge_point *e, int n, double *over_slot)
{
    double bright[MAX_SECTIONS];
    int found = 0, slot = 0;
    for (int i = 0; i < n; i++)
        if (e[i].found) {
            bright[found++] = brightness(e[i].inside);
            slot += e[i].tint == SILHOUETTE_SLOT;
        }
    *over_slot = found > 0 ? (double)slot / found : 0;
    return median_upper(bright, found);
}

/* The card's tints tell shadow from part; what lies behind the slot does not: there edges of the
 * bench and of shadows may pass for the side's, which turns it by so much (rms on rendered photos).
 * And it tells only bright parts from shadow: a dark side over the slot, much darker than the other
 * one, is likelier where a shadow ends. */
static void heed_slot(const struct work *work, struct arm_fit *out)
{
    const double darker = 0.5, dark = 0.3, unseen_rad = 0.8 / DEG, usual_rad = 0.3 / DEG;
    const int n = work->sides.sections;
    double share[2], bright[2];
    for (int side = 0; side < 2; side++)
        bright[side] = inside_brightness(work->sides.edge[side], n, &share[side]);
    out->u_rad = hypot(out->u_rad, usual_rad * hypot(share[0], share[1]) / 2);
    for (int side = 0; side < 2; side++)
        if (share[side] > 0.5 && bright[side] < fmin(dark, darker * bright[1 - side]))
            out->u_rad = hypot(out->u_rad, unseen_rad);
}

/* Grey, as a shadow on white paper is, in whatever light. Roots of light. */
static bool is_neutral(const float rgb[3])
{
    const double alike_rad = 0.1;
    return (rgb[0] + rgb[1] + rgb[2]) / sqrt(3) > cos(alike_rad) * brightness(rgb);
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
    if (e->tint == SILHOUETTE_PAPER)
        return is_neutral(e->inside);
    for (int t = 0; t < 2; t++) {
        if (t == s->blind_tint && e->tint != t)
            continue; /* the part is of that colour, and stands out from the other */
        double along = 0, root = 0;
        for (int c = 0; c < 3; c++) {
            double tint = sqrtf(fmaxf(0, s->tints[t].unit[c])); /* e holds roots of light */
            along += tint * e->inside[c];
            root += tint * tint;
        }
        if (along > cos(alike_rad * s->tints[t].pale) * length * sqrt(root))
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
        out->points[side] = out->told[side] = 0;
        for (int i = 0; i < work->sides.sections; i++) {
            const struct edge_point *e = &work->sides.edge[side][i];
            out->told[side] += e->tint >= 0;
            if (!e->found)
                continue;
            out->points[side]++;
            rise[n++] = e->rise_mm;
        }
    }
    out->blur_mm = median_upper(rise, n);
}

static void take_line(const struct body_line *line, int first, bool blind, double tolerance_mm,
                      struct arm_fit *out)
{
    /* of what can be seen at all */
    const double share = blind ? 0.45 : fmax(0.5, 1 - out->tinted);
    const double seen = share * (out->told[0] + out->told[1]) / 2;
    out->clean = (out->tinted < 0.3 || blind) && line->scale_mm < 2.5 * tolerance_mm &&
                 out->points[0] > 0.3 * share * out->told[0] &&
                 out->points[1] > 0.3 * share * out->told[1] && line->symmetric &&
                 line->used > 0.35 * (seen - first);
    out->body_mm = fmax(0, line->last_u - line->first_u);
    out->bend = line->bend;
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
        drop_foreign_colour(work->sides.edge[side], work->sides.edge[1 - side],
                            work->sides.sections);
    int like_card = 0;
    for (int side = 0; side < 2; side++)
        like_card += choose_side(work->sides.edge[side], work->other[side], work->sides.sections,
                                 view->silhouette);
    stretch->tinted = like_card / (2.0 * work->sides.sections);
    return true;
}

static bool fit_stretch_body(struct stretch *stretch, const struct arm_shared *known,
                             struct body_line *line)
{
    return body_line_fit(&stretch->work.sides, &stretch->axis, stretch->width_mm,
                         stretch->camera_mm, known, stretch->tolerance_mm, line);
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
    work->sides.from = arm->start_mm;
    work->sides.to = to_mm;
    double length = work->sides.to - work->sides.from;
    if (!(length > 0))
        return false;
    double px_per_mm = plane_px_per_mm(
        &view->fix->plane, axis_point(&out->axis, (work->sides.from + work->sides.to) / 2, 0));
    out->width_mm = arm->width_mm;
    out->pixel_mm = view->image->reduce / px_per_mm;
    out->tolerance_mm = fmax(0.03, 0.4 * out->pixel_mm);
    out->blind = view->silhouette->blind_tint >= 0;
    memcpy(out->camera_mm, view->camera_mm, sizeof out->camera_mm);
    work->sides.sections = (int)fmin(MAX_SECTIONS, fmax(24, length / fmax(out->pixel_mm, 0.02)));
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
    take_line(&line, stretch->work.sides.first, stretch->blind, stretch->tolerance_mm, out);
    add_wander(&stretch->work, stretch->pixel_mm, out);
    heed_witnesses(&stretch->work, stretch->tolerance_mm, out);
    heed_slot(&stretch->work, out);
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
        double apart = angle_apart(fits[i].direction_rad, out->direction_rad);
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
