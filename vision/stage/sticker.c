/* Both poses from all corners at once, by least squares. Derived in docs/method.md, "Stickers". */
#include "sticker.h"

#include "maths/angle.h"
#include "maths/linalg.h"

#include <math.h>
#include <string.h>

/* The unknowns: pose of the fixed plane, turn and slope of the sticker against it, the sticker's
 * place, and what is held by priors. The last ones come last so that they can be left out. */
enum {
    REF_TURN = 0,  /* 3: rotation vector in the camera's frame, added to the start */
    REF_PLACE = 3, /* 3: mm, camera frame */
    PLACE = 6,     /* 3: of the sticker */
    DIRECTION = 9, /* rad */
    SLOPE = 10,    /* 2: rotation vector about the fixed plane's x and y, rad */
    FOCAL = 12,    /* logarithm of the focal length against what was given */
    LENS = 13,     /* k1 */
    UNKNOWNS = 14,
    MAX_ROWS = 2 * (MARKERS_MAX_CORNERS + 4) + 4
};

typedef double matrix[3][3];

struct state {
    matrix
        turn; /* columns: axes of the fixed plane in the camera's frame, x right, y down, z away */
    double x[UNKNOWNS];
};

static void multiply(matrix a, matrix b, matrix out)
{
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            out[i][j] = a[i][0] * b[0][j] + a[i][1] * b[1][j] + a[i][2] * b[2][j];
}

static struct vision_point show(const struct sticker_question *q, const struct state *s,
                                matrix turn, const double *place, double x_mm, double y_mm)
{
    double p[3], f = q->focal_px * exp(s->x[FOCAL]);
    for (int i = 0; i < 3; i++)
        p[i] = turn[i][0] * x_mm + turn[i][1] * y_mm + place[i];
    struct vision_plane lens = {.k1 = s->x[LENS],
                                .k2 = q->lens.k2,
                                .centre_px = q->lens.centre_px,
                                .radius_px = q->lens.radius_px};
    struct vision_point straight = {q->lens.centre_px.x + f * p[0] / p[2],
                                    q->lens.centre_px.y + f * p[1] / p[2]};
    return plane_bend(&lens, straight);
}

/* Corners of an upright marker, clockwise from the top left. */
static struct vision_point sticker_corner(const struct sticker_question *q, int k)
{
    double half = q->sticker->sticker->face.marker_mm / 2;
    return (struct vision_point){k == 1 || k == 2 ? half : -half, k < 2 ? half : -half};
}

static void sticker_turn(const struct state *s, matrix ref, matrix out)
{
    const double slope[3] = {s->x[SLOPE], s->x[SLOPE + 1], 0}, about[3] = {0, 0, s->x[DIRECTION]};
    matrix lean, spin, both;
    linalg_rotation(slope, lean);
    linalg_rotation(about, spin);
    multiply(lean, spin, both);
    multiply(ref, both, out);
}

/* How well k1 is known beforehand. */
static double known_k1(const struct sticker_question *q)
{
    return q->lens.unknowns > 0 ? sqrt(q->lens.cov[0]) : 1e-6;
}

/* What is left, each in units of its standard uncertainty: coordinates, then priors. */
static int residuals(const struct sticker_question *q, const struct state *s, double *out)
{
    matrix moved, begun, ref, sticker;
    int n = 0;
    linalg_rotation(s->x + REF_TURN, moved);
    memcpy(begun, s->turn, sizeof begun);
    multiply(moved, begun, ref);
    sticker_turn(s, ref, sticker);
    for (int i = 0; i < q->count; i++) {
        struct vision_point p = show(q, s, ref, s->x + REF_PLACE, q->mm[i].x, q->mm[i].y);
        out[n++] = (p.x - q->px[i].x) / q->sigma_px;
        out[n++] = (p.y - q->px[i].y) / q->sigma_px;
    }
    for (int k = 0; k < 4; k++) {
        struct vision_point c = sticker_corner(q, k), px = q->sticker->corners_px[k];
        struct vision_point p = show(q, s, sticker, s->x + PLACE, c.x, c.y);
        out[n++] = (p.x - px.x) / q->sticker->sigma_px;
        out[n++] = (p.y - px.y) / q->sticker->sigma_px;
    }
    out[n++] = s->x[SLOPE] * DEG / q->tilt_deg;
    out[n++] = s->x[SLOPE + 1] * DEG / q->tilt_deg;
    out[n++] = s->x[FOCAL] / q->focal_u;
    out[n++] = (s->x[LENS] - q->lens.k1) / known_k1(q);
    return n;
}

struct normal {
    double matrix[UNKNOWNS * UNKNOWNS], right[UNKNOWNS], cost;
    int rows;
};

static void normal_equations(const struct sticker_question *q, const struct state *s,
                             struct normal *out)
{
    static const double steps[UNKNOWNS] = {1e-5, 1e-5, 1e-5, 1e-3, 1e-3, 1e-3, 1e-3,
                                           1e-3, 1e-3, 1e-5, 1e-5, 1e-5, 1e-5, 1e-5};
    double at[MAX_ROWS], up[MAX_ROWS], down[MAX_ROWS], j[UNKNOWNS][MAX_ROWS];
    out->rows = residuals(q, s, at);
    out->cost = 0;
    for (int r = 0; r < out->rows; r++)
        out->cost += at[r] * at[r];
    for (int k = 0; k < UNKNOWNS; k++) {
        struct state moved = *s;
        moved.x[k] = s->x[k] + steps[k];
        residuals(q, &moved, up);
        moved.x[k] = s->x[k] - steps[k];
        residuals(q, &moved, down);
        for (int r = 0; r < out->rows; r++)
            j[k][r] = (up[r] - down[r]) / (2 * steps[k]);
    }
    for (int a = 0; a < UNKNOWNS; a++) {
        out->right[a] = 0;
        for (int r = 0; r < out->rows; r++)
            out->right[a] -= j[a][r] * at[r];
        for (int b = 0; b < UNKNOWNS; b++) {
            double sum = 0;
            for (int r = 0; r < out->rows; r++)
                sum += j[a][r] * j[b][r];
            out->matrix[a * UNKNOWNS + b] = sum;
        }
    }
}

/* The first n unknowns' normal matrix, scaled to a unit diagonal with lambda added to it. */
static bool scaled(const struct normal *eq, int n, double lambda, double *out, double *scale)
{
    for (int a = 0; a < n; a++) {
        double diagonal = eq->matrix[a * UNKNOWNS + a];
        if (!(diagonal > 0) || !isfinite(diagonal))
            return false;
        scale[a] = 1 / sqrt(diagonal);
    }
    for (int a = 0; a < n; a++)
        for (int b = 0; b < n; b++)
            out[a * n + b] =
                eq->matrix[a * UNKNOWNS + b] * scale[a] * scale[b] + (a == b ? lambda : 0);
    return true;
}

/* Levenberg-Marquardt (Hartley and Zisserman, A6.2). */
static bool descend(const struct sticker_question *q, struct state *s, struct normal *eq)
{
    double lambda = 1e-3;
    normal_equations(q, s, eq);
    for (int round = 0; round < 60 && lambda < 1e9; round++) {
        double m[UNKNOWNS * UNKNOWNS], scale[UNKNOWNS], step[UNKNOWNS], left[MAX_ROWS], cost = 0;
        if (!scaled(eq, UNKNOWNS, lambda, m, scale))
            return false;
        for (int k = 0; k < UNKNOWNS; k++)
            step[k] = eq->right[k] * scale[k];
        struct state moved = *s;
        if (linalg_solve(UNKNOWNS, m, step, step)) {
            for (int k = 0; k < UNKNOWNS; k++)
                moved.x[k] += step[k] * scale[k];
            for (int r = residuals(q, &moved, left); r-- > 0;)
                cost += left[r] * left[r];
            if (cost < eq->cost) {
                bool settled = eq->cost - cost < 1e-10 * (1 + cost);
                *s = moved;
                normal_equations(q, s, eq);
                lambda /= 10;
                if (settled)
                    break;
                continue;
            }
        }
        lambda *= 10;
    }
    return isfinite(eq->cost) && s->x[REF_PLACE + 2] > 0 && s->x[PLACE + 2] > 0;
}

/* Covariance of unknown k by unknown l when only the first n are unknown. */
static double covariance(const struct normal *eq, int n, int k, int l)
{
    double m[UNKNOWNS * UNKNOWNS], scale[UNKNOWNS], inverse[UNKNOWNS * UNKNOWNS];
    if (!scaled(eq, n, 0, m, scale) || !linalg_invert(n, m, inverse))
        return INFINITY;
    return inverse[k * n + l] * scale[k] * scale[l];
}

/* ---- Where to start -------------------------------------------------------------------------- */

/* The pose that a homography has, its axes made square. */
static bool pose_of(const struct sticker_question *q, const struct vision_plane *plane, matrix turn,
                    double place[3])
{
    double axes[2][3], y[3], along = 0, rest = 0;
    if (!plane_pose(plane, q->focal_px, q->lens.centre_px, axes, place))
        return false;
    for (int i = 0; i < 3; i++)
        along += axes[0][i] * axes[1][i];
    for (int i = 0; i < 3; i++) {
        y[i] = axes[1][i] - along * axes[0][i];
        rest += y[i] * y[i];
    }
    for (int i = 0; i < 3; i++) {
        turn[i][0] = axes[0][i];
        turn[i][1] = y[i] / sqrt(rest);
    }
    for (int i = 0; i < 3; i++) {
        int j = (i + 1) % 3, k = (i + 2) % 3;
        turn[i][2] = turn[j][0] * turn[k][1] - turn[k][0] * turn[j][1];
    }
    return rest > 0 && place[2] > 0;
}

static bool plane_of(const struct sticker_question *q, const struct vision_point *mm,
                     const struct vision_point *px, int n, double sigma_px,
                     struct vision_plane *out)
{
    struct plane_lens as_known = q->lens;
    as_known.unknowns = 0;
    return plane_fit(mm, px, n, sigma_px, &as_known, out);
}

static bool start(const struct sticker_question *q, struct state *s, struct sticker_answer *answer)
{
    struct vision_plane ref, own;
    struct vision_point mm[4], at[4];
    matrix unused;
    for (int k = 0; k < 4; k++)
        mm[k] = sticker_corner(q, k);
    *s = (struct state){0};
    if (!plane_of(q, q->mm, q->px, q->count, q->sigma_px, &ref) ||
        !plane_of(q, mm, q->sticker->corners_px, 4, q->sticker->sigma_px, &own) ||
        !pose_of(q, &ref, s->turn, s->x + REF_PLACE) || !pose_of(q, &own, unused, s->x + PLACE))
        return false;
    answer->at_mm = (struct vision_point){0};
    for (int k = 0; k < 4; k++) {
        at[k] = vision_plane_to_card(&ref, q->sticker->corners_px[k]);
        answer->at_mm.x += at[k].x / 4;
        answer->at_mm.y += at[k].y / 4;
    }
    s->x[DIRECTION] =
        atan2(at[1].y + at[2].y - at[0].y - at[3].y, at[1].x + at[2].x - at[0].x - at[3].x);
    s->x[LENS] = q->lens.k1;
    return true;
}

/* A small square seen nearly square on looks the same leaning the one way as the other: the same
 * pose turned half round the line of sight and half round its own axis. */
static void lean_other_way(struct state *s)
{
    const double *t = s->x + REF_PLACE;
    double square = t[0] * t[0] + t[1] * t[1] + t[2] * t[2];
    matrix half, turned;
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            half[i][j] = 2 * t[i] * t[j] / square - (i == j);
    multiply(half, s->turn, turned);
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            s->turn[i][j] = j < 2 ? -turned[i][j] : turned[i][j];
}

/* ---- The answer ------------------------------------------------------------------------------ */

static double u_deg(double variance)
{
    return sqrt(fmax(0, variance)) * DEG;
}

/* The lens' unknowns p come out off by C P^-1 times what was wrong about them beforehand, C their
 * covariance now and P (diagonal) then, and the direction goes with them by c C^-1, c its
 * covariance with them: together by c P^-1, so by c / sqrt(P) for each standard uncertainty. */
static void share_lens(const struct sticker_question *q, const struct normal *eq,
                       struct sticker_answer *out)
{
    out->shared_deg[0] = covariance(eq, UNKNOWNS, DIRECTION, FOCAL) / q->focal_u * DEG;
    out->shared_deg[1] = covariance(eq, UNKNOWNS, DIRECTION, LENS) / known_k1(q) * DEG;
}

static bool answer_from(const struct sticker_question *q, const struct state *s,
                        const struct normal *eq, struct sticker_answer *out)
{
    int spare = eq->rows - UNKNOWNS;
    double misfit = spare > 0 ? eq->cost / spare : 1, birge = fmax(1, misfit);
    double all = covariance(eq, UNKNOWNS, DIRECTION, DIRECTION);
    double lens_known = covariance(eq, FOCAL, DIRECTION, DIRECTION);
    double parallel = covariance(eq, SLOPE, DIRECTION, DIRECTION);
    double a = s->x[SLOPE], b = s->x[SLOPE + 1];
    double va = covariance(eq, UNKNOWNS, SLOPE, SLOPE);
    double vb = covariance(eq, UNKNOWNS, SLOPE + 1, SLOPE + 1);
    if (!isfinite(all) || !isfinite(lens_known) || !isfinite(parallel))
        return false;
    /* Two slopes one after the other turn the sticker, too: by half their product at most. */
    double second_order = (a * a + b * b + va + vb) / 4;
    out->direction_deg = angle_wrap_360(s->x[DIRECTION] * DEG);
    out->corners_deg = u_deg(parallel * birge);
    out->tilt_u_deg = hypot(u_deg((lens_known - parallel) * birge), second_order * DEG);
    out->lens_deg = u_deg(all - lens_known);
    share_lens(q, eq, out);
    out->slope_deg = hypot(a, b) * DEG;
    out->slope_u_deg = u_deg((va + vb) / 2 * birge);
    out->misfit = sqrt(misfit);
    return true;
}

/* Two leans that explain the corners nearly as well, each as likely as exp(-cost / 2) says: the
 * root mean square about the better one, which is the one given (about their mean it would be less,
 * but that mean is not what is told: JCGM 100:2008, F.2.4.5). Costs count half, as the corners'
 * uncertainty is itself known to a quarter or so. */
static double doubt(double costs_apart, double apart)
{
    double p_other = 1 / (1 + exp(fmin(700, fabs(costs_apart) / 4)));
    return sqrt(p_other) * fabs(apart);
}

bool sticker_solve(const struct sticker_question *q, struct sticker_answer *out)
{
    struct state one, other;
    struct normal eq, eq_other;
    if (!start(q, &one, out))
        return false;
    other = one;
    lean_other_way(&other);
    bool good = descend(q, &one, &eq), good_other = descend(q, &other, &eq_other);
    if (good && good_other) {
        bool better = eq_other.cost < eq.cost;
        if (!answer_from(q, better ? &other : &one, better ? &eq_other : &eq, out))
            return false;
        double apart = remainder(other.x[DIRECTION] - one.x[DIRECTION], 2 * PI);
        out->tilt_u_deg = hypot(out->tilt_u_deg, doubt(eq.cost - eq_other.cost, apart) * DEG);
        return true;
    }
    return good ? answer_from(q, &one, &eq, out)
                : good_other && answer_from(q, &other, &eq_other, out);
}
