#include "disc.h"

#include "budget/spacing.h"
#include "disc_ball.h"
#include "disc_face.h"
#include "maths/angle.h"
#include "maths/linalg.h"
#include "maths/median.h"
#include "maths/robust_line.h"
#include "part/part_round.h"
#include "photo/sample.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MIN_HOLE_RADIUS_MM 0.35
#define MAX_HOLE_RADIUS_MM 2.6
#define INNERMOST 0.3 /* of the disc's radius: further in is the screw */
#define OUTERMOST 0.97

/* ---- Where holes may be: a map of the disc's face -------------------------------------------- */

struct map {
    struct disc_face face;
    uint8_t *open; /* 1 where the card seems to show */
};

static const float axes[3][3] = {SAMPLE_LUMINANCE,
                                 {0.9582F, -0.2814F, -0.0477F}, /* two across it */
                                 {-0.0183F, 0.1062F, -0.9942F}};

struct face_look {
    double middle[3], spread[3]; /* along the axes */
};

static double from_hub(const struct rim *outline, struct vision_point mm)
{
    return hypot(mm.x - outline->centre_mm.x, mm.y - outline->centre_mm.y) / outline->radius_mm;
}

static void map_free(struct map *map)
{
    disc_face_clear(&map->face);
    free(map->open);
}

/* What most of the face looks like. */
static bool learn_face(const struct map *map, const struct rim *outline, struct face_look *out)
{
    if (!disc_face_usual(&map->face, outline, INNERMOST, OUTERMOST, axes, out->middle, out->spread))
        return false;
    double bright = 0.008 + 0.006 * out->middle[0]; /* noise, as in profile.c */
    for (int a = 0; a < 3; a++)
        out->spread[a] = fmax(out->spread[a], a ? 2.5 * bright : bright);
    return true;
}

/* Whether a look belongs to the tint, at any strength that a shadow leaves. */
static bool is_tint(const float look[3], const struct tint_look *tint, double *distance)
{
    const double faintest = 0.15, strongest = 1.4, near = 3;
    float root[3];
    for (int c = 0; c < 3; c++)
        root[c] = sqrtf(fmaxf(0, tint->unit[c] * tint->strength));
    double length = sqrtf(sample_dot(root, root)), along = sample_dot(look, root) / length;
    double across = sqrt(fmax(0, sample_dot(look, look) - along * along));
    double noise = 2.5 * (0.008 + 0.006 * along) + tint->spread_rad * along;
    *distance = across / noise;
    return along > faintest * length && along < strongest * length && *distance < near;
}

static bool is_open(const struct card_fix *fix, const struct silhouette *s,
                    const struct face_look *face, struct vision_point mm, const float look[3])
{
    const double unlike_face = 4, border_mm = 0.1;
    double square = 0, from_tint = 0;
    for (int a = 0; a < 3; a++)
        square += pow((sample_dot(look, axes[a]) - face->middle[a]) / face->spread[a], 2);
    double from_face = sqrt(square);
    if (from_face < unlike_face)
        return false;
    int tint = silhouette_tint_at(s, fix, mm, border_mm);
    /* where two stripes meet their mixture looks like neither, and the slot shows anything */
    return tint < 0 || tint == SILHOUETTE_SLOT ||
           (is_tint(look, &s->tints[tint], &from_tint) && from_tint < from_face);
}

/* false when memory is short or too little of the face is seen. */
static bool mark_open(const struct card_fix *fix, const struct silhouette *s,
                      const struct rim *outline, struct map *map)
{
    struct face_look usual;
    const struct disc_face *face = &map->face;
    size_t n = (size_t)face->side * (size_t)face->side;
    map->open = calloc(n, 1);
    if (!map->open || !learn_face(map, outline, &usual))
        return false;
    for (size_t i = 0; i < n; i++)
        map->open[i] = disc_face_has(face, outline, i, INNERMOST, OUTERMOST) &&
                       is_open(fix, s, &usual, disc_face_point(face, i), face->look[i]);
    return true;
}

/* ---- From the map to rims -------------------------------------------------------------------- */

/* Takes the connected open cells that contain start off the map; their number. */
static size_t flood(struct map *map, size_t start, size_t *cells)
{
    size_t n = 0, top = 0, side = (size_t)map->face.side;
    cells[top++] = start;
    map->open[start] = 0;
    while (n < top) {
        size_t at = cells[n++], i = at % side, j = at / side;
        const size_t next[4] = {at - 1, at + 1, at - side, at + side};
        const bool inside[4] = {i > 0, i + 1 < side, j > 0, j + 1 < side};
        for (int k = 0; k < 4; k++)
            if (inside[k] && map->open[next[k]]) {
                map->open[next[k]] = 0;
                cells[top++] = next[k];
            }
    }
    return n;
}

/* A patch that may be a hole, seen aslant and perhaps half in shadow: neither a slit nor a
 * crescent. */
static bool may_be_hole(const struct map *map, const size_t *cells, size_t n, struct rim *out)
{
    const double longest = 3; /* ratio of the axes */
    double x0 = 0, y0 = 0, xx = 0, xy = 0, yy = 0;
    for (size_t i = 0; i < n; i++) {
        struct vision_point p = disc_face_point(&map->face, cells[i]);
        x0 += p.x / (double)n;
        y0 += p.y / (double)n;
    }
    for (size_t i = 0; i < n; i++) {
        struct vision_point p = disc_face_point(&map->face, cells[i]);
        xx += pow(p.x - x0, 2);
        xy += (p.x - x0) * (p.y - y0);
        yy += pow(p.y - y0, 2);
    }
    double mean = (xx + yy) / 2, half = hypot((xx - yy) / 2, xy);
    out->centre_mm = (struct vision_point){x0, y0};
    /* the long half axis: an ellipse has a quarter of its square for variance along it */
    out->radius_mm = 2 * sqrt((mean + half) / (double)n);
    return mean + half < longest * longest * (mean - half) &&
           out->radius_mm > 0.7 * MIN_HOLE_RADIUS_MM && out->radius_mm < MAX_HOLE_RADIUS_MM;
}

struct view {
    const struct vision_image *image;
    const struct card_fix *fix;
    const struct silhouette *s;
    const double *camera_mm;
    double pixel_mm;
    struct estimate rise;
    struct rim patches[DISC_MAX_HOLES]; /* of disc->holes, as the map shows them */
};

static enum vision_reason fit(const struct view *v, enum rim_kind kind, struct rim *rim)
{
    rim->rise = v->rise;
    return rim_fit(v->image, v->fix, v->s, v->camera_mm, kind, rim);
}

/* Every patch that may be a hole, with its rim as the patch alone shows it. */
static enum vision_reason find_holes(struct view *v, struct map *map, struct disc *disc)
{
    size_t n = (size_t)map->face.side * (size_t)map->face.side;
    size_t *cells = malloc(n * sizeof *cells);
    if (!cells)
        return VISION_NO_MEMORY;
    enum vision_reason reason = VISION_REASON_NONE;
    for (size_t i = 0; i < n && reason != VISION_NO_MEMORY; i++) {
        struct rim patch = {0};
        if (!map->open[i])
            continue;
        size_t size = flood(map, i, cells);
        if (!may_be_hole(map, cells, size, &patch))
            continue;
        disc->crowded = disc->hole_count == DISC_MAX_HOLES;
        if (disc->crowded)
            break;
        struct rim hole = patch;
        reason = fit(v, RIM_HOLE, &hole);
        v->patches[disc->hole_count] = patch;
        if (reason == VISION_REASON_NONE)
            disc->holes[disc->hole_count++] = hole;
    }
    free(cells);
    return reason == VISION_NO_MEMORY ? reason : VISION_REASON_NONE;
}

/* Round, and seen well enough round about. */
static bool is_hole(const struct disc *disc, const struct rim *hole, double pixel_mm)
{
    const double seen = 0.3, scatter_px = 0.45;
    double r = from_hub(&disc->outline, hole->centre_mm);
    return hole->radius_mm > MIN_HOLE_RADIUS_MM && hole->radius_mm < MAX_HOLE_RADIUS_MM &&
           r > INNERMOST && r < OUTERMOST && hole->seen > seen &&
           hole->scatter_mm < fmax(0.025, scatter_px * pixel_mm);
}

/* What the holes that are seen well tell about the others: most discs have holes of one size. */
static struct estimate usual_radius(const struct view *v, const struct disc *disc)
{
    const double least_u_mm = 0.03;
    double r[DISC_MAX_HOLES];
    int n = 0;
    for (int i = 0; i < disc->hole_count; i++)
        if (is_hole(disc, &disc->holes[i], v->pixel_mm))
            r[n++] = disc->holes[i].radius_mm;
    if (n < 2)
        return (struct estimate){0, 0};
    double middle = median_upper(r, n);
    for (int i = 0; i < n; i++)
        r[i] = fabs(r[i] - middle);
    return (struct estimate){middle, fmax(least_u_mm, 2 * median_upper(r, n))};
}

/* Thickness as outline and holes show it: the middle of what each says, as any of them may have
 * been led astray by a shadow or a bright wall. */
static void learn_rise(struct view *v, const struct disc *disc)
{
    double rise[DISC_MAX_HOLES + 2];
    int n = 0;
    rise[n++] = v->rise.value;
    if (disc->outline.rise_shown)
        rise[n++] = disc->outline.rise.value;
    for (int i = 0; i < disc->hole_count; i++)
        if (is_hole(disc, &disc->holes[i], v->pixel_mm) && disc->holes[i].rise_shown)
            rise[n++] = disc->holes[i].rise.value;
    if (n < 2)
        return;
    v->rise.value = median_upper(rise, n);
    for (int i = 0; i < n; i++)
        rise[i] = fabs(rise[i] - v->rise.value);
    /* rims are rounded, not all alike */
    v->rise.u = fmax(0.1 / v->camera_mm[2], 1.5 * median_upper(rise, n) / sqrt(n));
}

static bool found_before(const struct disc *disc, int count, const struct rim *hole)
{
    const double apart_mm = 0.6;
    for (int i = 0; i < count; i++)
        if (hypot(hole->centre_mm.x - disc->holes[i].centre_mm.x,
                  hole->centre_mm.y - disc->holes[i].centre_mm.y) < apart_mm)
            return true;
    return false;
}

/* Once more, with what all show together; keeps what is a hole. */
static enum vision_reason fit_again(struct view *v, struct disc *disc)
{
    struct estimate usual = usual_radius(v, disc);
    learn_rise(v, disc);
    int kept = 0;
    enum vision_reason reason = fit(v, RIM_OUTLINE, &disc->outline);
    for (int i = 0; i < disc->hole_count && reason == VISION_REASON_NONE; i++) {
        bool plain = is_hole(disc, &disc->holes[i], v->pixel_mm);
        struct rim hole = plain ? disc->holes[i] : v->patches[i];
        hole.usual = usual;
        if (usual.u > 0)
            hole.radius_mm = usual.value;
        enum vision_reason seen = fit(v, RIM_HOLE, &hole);
        if (seen == VISION_NO_MEMORY)
            reason = seen;
        else if (seen == VISION_REASON_NONE && is_hole(disc, &hole, v->pixel_mm) &&
                 !found_before(disc, kept, &hole))
            disc->holes[kept++] = hole;
    }
    disc->hole_count = kept;
    return reason;
}

/* ---- Hub and directions ---------------------------------------------------------------------- */

#define MAX_RINGS 6
#define MAX_UNKNOWNS (2 + VISION_MAX_ARMS + MAX_RINGS)

struct pattern {
    int arm_of[DISC_MAX_HOLES], ring_of[DISC_MAX_HOLES]; /* -1: none */
    double direction_rad[VISION_MAX_ARMS], ring_mm[MAX_RINGS];
    int arms, untold, rings; /* untold: directions beyond these */
};

/* How well the centre of a rim is known. */
static double centre_u_mm(const struct rim *rim)
{
    return hypot(rim->centre_u_mm, 0.5 * rim->scatter_mm);
}

static double direction_of(struct vision_point hub, const struct rim *hole)
{
    return atan2(hole->centre_mm.y - hub.y, hole->centre_mm.x - hub.x);
}

static double distance_of(struct vision_point hub, const struct rim *hole)
{
    return hypot(hole->centre_mm.x - hub.x, hole->centre_mm.y - hub.y);
}

/* Holes one behind the other are one direction. */
static void group_arms(const struct disc *disc, struct pattern *p)
{
    const double same_rad = 6 * PI / 180;
    double known_rad[DISC_MAX_HOLES];
    int known = 0;
    for (int i = 0; i < disc->hole_count; i++) {
        double rad = direction_of(disc->hub_mm, &disc->holes[i]);
        int k = 0;
        while (k < known && angle_apart(rad, known_rad[k]) > same_rad)
            k++;
        p->arm_of[i] = k < VISION_MAX_ARMS ? k : -1;
        if (k == known)
            known_rad[known++] = rad;
    }
    p->arms = known < VISION_MAX_ARMS ? known : VISION_MAX_ARMS;
    p->untold = known - p->arms;
    for (int k = 0; k < p->arms; k++)
        p->direction_rad[k] = known_rad[k];
}

/* Holes equally far from the hub lie on a circle about it. */
static void group_rings(const struct disc *disc, struct pattern *p)
{
    const double same_mm = 0.2;
    for (int i = 0; i < disc->hole_count; i++)
        p->ring_of[i] = -1;
    for (int i = 0; i < disc->hole_count; i++) {
        double r = distance_of(disc->hub_mm, &disc->holes[i]);
        if (p->ring_of[i] >= 0 || p->rings == MAX_RINGS)
            continue;
        int alike = 0;
        for (int k = i + 1; k < disc->hole_count; k++)
            if (p->ring_of[k] < 0 &&
                fabs(distance_of(disc->hub_mm, &disc->holes[k]) - r) < same_mm) {
                p->ring_of[k] = p->rings;
                alike++;
            }
        if (alike == 0)
            continue;
        p->ring_of[i] = p->rings;
        p->ring_mm[p->rings++] = r;
    }
}

struct system {
    int size, observations;
    double normal[MAX_UNKNOWNS * MAX_UNKNOWNS], right[MAX_UNKNOWNS], misfit;
};

/* Adds an observation: row over hub x, hub y and one more unknown. */
static void observe(struct system *sys, double x, double y, int other, double slope, double off,
                    double u)
{
    const int at[3] = {0, 1, other};
    const double row[3] = {x, y, slope};
    double w = 1 / (u * u);
    for (int j = 0; j < (other < 0 ? 2 : 3); j++) {
        sys->right[at[j]] += w * row[j] * off;
        for (int k = 0; k < (other < 0 ? 2 : 3); k++)
            sys->normal[at[j] * sys->size + at[k]] += w * row[j] * row[k];
    }
    sys->misfit += w * off * off;
    sys->observations++;
}

/* Unknown are the hub, a direction for each row of holes and a radius for each circle of holes.
 * Observed are the hub, as the middle of the outline, and each hole across and along its direction.
 */
static double hole_u_mm(const struct rim *hole)
{
    const double drilled_mm = 0.015; /* how true holes sit where they were meant to */
    /* where much of the rim is in shadow, what is left may be the rim of the light */
    double doubt_mm = 0.25 * hole->radius_mm * fmax(0, 0.6 - hole->seen);
    return hypot(centre_u_mm(hole), hypot(drilled_mm, doubt_mm));
}

/* What light does to the look of one hole, shadow on one side of the card behind it and a bright
 * wall on the other, it does to all: they seem displaced together, by about so much. */
static double common_u_mm(const struct disc *disc)
{
    double u[DISC_MAX_HOLES];
    for (int i = 0; i < disc->hole_count; i++)
        u[i] = hole_u_mm(&disc->holes[i]);
    return median_upper(u, disc->hole_count);
}

static void build(const struct disc *disc, const struct pattern *p, double hub_u_mm,
                  struct system *sys)
{
    *sys = (struct system){.size = 2 + p->arms + p->rings};
    observe(sys, 1, 0, -1, 0, disc->outline.centre_mm.x - disc->hub_mm.x, hub_u_mm);
    observe(sys, 0, 1, -1, 0, disc->outline.centre_mm.y - disc->hub_mm.y, hub_u_mm);
    for (int i = 0; i < disc->hole_count; i++) {
        const struct rim *hole = &disc->holes[i];
        int arm = p->arm_of[i], ring = p->ring_of[i];
        if (arm < 0)
            continue;
        double u = hole_u_mm(hole);
        double c = cos(p->direction_rad[arm]), s = sin(p->direction_rad[arm]);
        double dx = hole->centre_mm.x - disc->hub_mm.x, dy = hole->centre_mm.y - disc->hub_mm.y;
        double along = dx * c + dy * s, across = -dx * s + dy * c;
        observe(sys, -s, c, 2 + arm, along, across, u);
        if (ring >= 0)
            observe(sys, c, s, 2 + p->arms + ring, 1, along - p->ring_mm[ring], u);
    }
}

static bool solve(struct disc *disc, struct pattern *p, double hub_u_mm, struct system *sys)
{
    for (int round = 0; round < 6; round++) {
        build(disc, p, hub_u_mm, sys);
        double step[MAX_UNKNOWNS];
        if (!linalg_solve(sys->size, sys->normal, sys->right, step))
            return false;
        disc->hub_mm.x += step[0];
        disc->hub_mm.y += step[1];
        for (int k = 0; k < p->arms; k++)
            p->direction_rad[k] += step[2 + k];
        for (int k = 0; k < p->rings; k++)
            p->ring_mm[k] += step[2 + p->arms + k];
    }
    build(disc, p, hub_u_mm, sys);
    return true;
}

bool disc_join(struct disc *disc, double obliquity_rad)
{
    /* the middle of the outline's height and that of the holes' differ where rims are not rounded
     * alike above and below */
    const double uneven_mm = 0.08;
    double hub_u_mm = hypot(centre_u_mm(&disc->outline),
                            hypot(common_u_mm(disc), uneven_mm * tan(obliquity_rad)));
    struct pattern p = {0};
    struct system sys;
    double inverse[MAX_UNKNOWNS * MAX_UNKNOWNS];
    disc->hub_mm = disc->outline.centre_mm;
    disc->arm_count = disc->untold_arms = 0;
    disc->misfit = 0;
    group_arms(disc, &p);
    group_rings(disc, &p);
    if (p.arms == 0 || !solve(disc, &p, hub_u_mm, &sys) ||
        !linalg_invert(sys.size, sys.normal, inverse))
        return false;
    int spare = sys.observations - sys.size;
    if (spare > 0)
        disc->misfit = sys.misfit / spare;
    for (int k = 0; k < p.arms; k++) {
        double variance = inverse[(2 + k) * (sys.size + 1)] * fmax(1, disc->misfit);
        disc->arms[k] =
            (struct disc_arm){.direction_rad = p.direction_rad[k], .u_rad = sqrt(variance)};
    }
    disc->arm_count = p.arms;
    disc->untold_arms = p.untold;
    for (int i = 0; i < disc->hole_count; i++) {
        if (p.arm_of[i] < 0)
            continue;
        struct disc_arm *arm = &disc->arms[p.arm_of[i]];
        arm->reach_mm = fmax(arm->reach_mm, distance_of(disc->hub_mm, &disc->holes[i]));
        arm->holes++;
    }
    return true;
}

/* ---- Balls ----------------------------------------------------------------------------------- */

/* A ball stands higher than the disc, so it is seen displaced from the camera's foot
 * (docs/method.md, section 1), by an amount that is known as well as its height is. */
static struct disc_arm arm_to_ball(const struct view *v, const struct disc *disc,
                                   const struct disc_ball *ball)
{
    const double over_mm = 4.3, over_u_mm = 1.0; /* middle of a ball over the middle of the disc */
    const double ball_u_mm = 0.2;                /* of its centre */
    const double away_x = ball->centre_mm.x - v->camera_mm[0];
    const double away_y = ball->centre_mm.y - v->camera_mm[1], rise = 1 / v->camera_mm[2];
    const double x = ball->centre_mm.x - over_mm * rise * away_x - disc->hub_mm.x;
    const double y = ball->centre_mm.y - over_mm * rise * away_y - disc->hub_mm.y;
    const double reach = hypot(x, y);
    const double askew_mm = over_u_mm * rise * fabs(away_x * y - away_y * x) / reach;
    const double hub_u_mm = centre_u_mm(&disc->outline);
    return (struct disc_arm){.direction_rad = atan2(y, x),
                             .u_rad = hypot(hypot(ball_u_mm, hub_u_mm), askew_mm) / reach,
                             .reach_mm = reach};
}

/* A ball sits in a hole: where its direction continues the spacing of the holes that are seen,
 * these tell it better, to how true discs are drilled. */
static void heed_spacing(const struct disc *disc, struct disc_arm *ball)
{
    struct vision_arm arms[VISION_MAX_ARMS];
    double off_deg[VISION_MAX_ARMS], mean_deg = 0, square = 0;
    const int holes = disc->arm_count;
    if (holes < 2 || holes >= VISION_MAX_ARMS)
        return;
    for (int i = 0; i < holes; i++)
        arms[i].angle_deg = disc->arms[i].direction_rad * DEG;
    arms[holes].angle_deg = ball->direction_rad * DEG;
    if (!spacing_of(arms, holes + 1, off_deg))
        return;
    for (int i = 0; i < holes; i++) {
        mean_deg += off_deg[i] / holes;
        square += disc->arms[i].u_rad * disc->arms[i].u_rad;
    }
    ball->direction_rad -= (off_deg[holes] - mean_deg) / DEG;
    ball->u_rad = hypot(sqrt(square) / holes, SPACING_DRILLED_DEG / DEG);
}

/* A ball tells which arm of the disc is in use: its direction is the answer, unless it stands in a
 * hole that is seen. Several balls that no hole tells are further arms. */
static enum vision_reason add_balls(const struct view *v, struct disc *disc)
{
    const double same_rad = 6 / DEG;
    struct disc_ball balls[DISC_MAX_BALLS];
    int count = 0;
    enum vision_reason reason =
        disc_balls_find(v->image, v->fix, v->s, &disc->outline, balls, &count);
    if (disc->arm_count == 0)
        disc->hub_mm = disc->outline.centre_mm;
    struct disc_arm unknown[DISC_MAX_BALLS];
    int more = 0;
    for (int i = 0; i < count; i++) {
        const struct disc_arm arm = arm_to_ball(v, disc, &balls[i]);
        bool known = false;
        for (int k = 0; k < disc->arm_count; k++)
            known = known || angle_apart(arm.direction_rad, disc->arms[k].direction_rad) < same_rad;
        if (!known)
            unknown[more++] = arm;
    }
    if (more == 1) {
        heed_spacing(disc, &unknown[0]);
        disc->arm_count = disc->untold_arms = 0;
    }
    for (int i = 0; i < more; i++) {
        if (disc->arm_count < VISION_MAX_ARMS)
            disc->arms[disc->arm_count++] = unknown[i];
        else
            disc->untold_arms++;
    }
    return reason;
}

/* ---- All of it ------------------------------------------------------------------------------- */

static double obliquity(const struct view *v, struct vision_point at)
{
    return atan2(hypot(at.x - v->camera_mm[0], at.y - v->camera_mm[1]), v->camera_mm[2]);
}

enum vision_reason disc_find(const struct vision_image *image, const struct card_fix *fix,
                             const struct silhouette *s, const struct part_field *field,
                             const double camera_mm[3], struct disc *out)
{
    const double round_share = 0.35, usual_mm = 1.5, usual_u_mm = 0.6; /* thickness */
    const double plainly_round = 0.03;
    struct part_circle circle;
    struct map map = {0};
    *out = (struct disc){0};
    if (!(camera_mm[2] > 0) || !part_find_round(field, fix, &circle))
        return VISION_NO_ARM;
    struct view view = {
        .image = image,
        .fix = fix,
        .s = s,
        .camera_mm = camera_mm,
        .pixel_mm = image->reduce / plane_px_per_mm(&fix->plane, circle.centre_mm),
        .rise = {usual_mm / camera_mm[2], usual_u_mm / camera_mm[2]},
    };
    out->outline.centre_mm = circle.centre_mm;
    out->outline.radius_mm = circle.radius_mm;
    enum vision_reason reason = fit(&view, RIM_OUTLINE, &out->outline);
    if (reason == VISION_REASON_NONE && out->outline.seen < round_share)
        reason = VISION_NO_ARM;
    if (reason != VISION_REASON_NONE) {
        out->outline.seen = 0;
        return reason;
    }
    reason = VISION_NO_MEMORY;
    if (!disc_face_read(image, fix, s, &out->outline, 1, &map.face))
        goto done;
    reason = VISION_NO_ARM;
    if (!mark_open(fix, s, &out->outline, &map))
        goto done;
    reason = find_holes(&view, &map, out);
    if (reason == VISION_REASON_NONE)
        reason = fit_again(&view, out);
    if (reason == VISION_REASON_NONE && !disc_join(out, obliquity(&view, circle.centre_mm)))
        reason = VISION_NO_ARM;
    const bool plain = circle.scatter_mm < plainly_round * circle.radius_mm;
    if (reason == VISION_REASON_NONE || (reason == VISION_NO_ARM && plain)) {
        if (add_balls(&view, out) != VISION_REASON_NONE)
            reason = VISION_NO_MEMORY;
        else if (out->arm_count > 0)
            reason = VISION_REASON_NONE;
    }
done:
    if (reason != VISION_REASON_NONE && circle.scatter_mm > plainly_round * circle.radius_mm)
        out->outline.seen = 0; /* a hub may be as round */
    map_free(&map);
    return reason;
}
