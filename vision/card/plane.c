#include "plane.h"

#include "maths/angle.h"
#include "maths/linalg.h"

#include <math.h>
#include <string.h>

#define UNKNOWNS VISION_PLANE_UNKNOWNS /* h[0..7], k1, k2, centre x, y */

static struct vision_point apply(const double h[9], struct vision_point p)
{
    double w = h[6] * p.x + h[7] * p.y + h[8];
    return (struct vision_point){(h[0] * p.x + h[1] * p.y + h[2]) / w,
                                 (h[3] * p.x + h[4] * p.y + h[5]) / w};
}

struct vision_point plane_pinhole(const struct vision_plane *plane, struct vision_point mm)
{
    return apply(plane->h, mm);
}

struct vision_point plane_bend(const struct vision_plane *plane, struct vision_point p)
{
    if (plane->k1 == 0 && plane->k2 == 0)
        return p;
    double dx = p.x - plane->centre_px.x, dy = p.y - plane->centre_px.y;
    double q = (dx * dx + dy * dy) / (plane->radius_px * plane->radius_px);
    double stretch = 1 + q * (plane->k1 + q * plane->k2);
    return (struct vision_point){plane->centre_px.x + dx * stretch,
                                 plane->centre_px.y + dy * stretch};
}

struct vision_point vision_plane_to_photo(const struct vision_plane *plane, struct vision_point mm)
{
    return plane_bend(plane, apply(plane->h, mm));
}

/* Newton on r (1 + k1 r^2 + k2 r^4) = bent. Where the lens would fold the picture, beyond any point
 * it shows, r stays at the fold. */
static double straight_radius(const struct vision_plane *plane, double bent)
{
    double r = bent;
    for (int i = 0; i < 30; i++) {
        double q = r * r;
        double slope = 1 + q * (3 * plane->k1 + 5 * q * plane->k2);
        if (slope < 0.05) {
            r *= 0.8;
            continue;
        }
        double step = (r * (1 + q * (plane->k1 + q * plane->k2)) - bent) / slope;
        r -= step;
        if (fabs(step) < 1e-13)
            break;
    }
    return r;
}

struct vision_point vision_plane_to_card(const struct vision_plane *plane, struct vision_point px)
{
    struct vision_point p = px;
    if (plane->k1 != 0 || plane->k2 != 0) {
        double dx = px.x - plane->centre_px.x, dy = px.y - plane->centre_px.y;
        double bent = hypot(dx, dy) / plane->radius_px;
        double back = bent > 0 ? straight_radius(plane, bent) / bent : 1;
        p = (struct vision_point){plane->centre_px.x + dx * back, plane->centre_px.y + dy * back};
    }
    return apply(plane->inverse, p);
}

struct normaliser {
    double x, y, scale;
};

static bool make_normaliser(const struct vision_point *p, int n, struct normaliser *out)
{
    *out = (struct normaliser){0};
    for (int i = 0; i < n; i++) {
        out->x += p[i].x / n;
        out->y += p[i].y / n;
    }
    double spread = 0;
    for (int i = 0; i < n; i++)
        spread += hypot(p[i].x - out->x, p[i].y - out->y) / n;
    if (!isfinite(spread) || !(spread > 0))
        return false;
    out->scale = sqrt(2) / spread;
    return true;
}

/* Linear estimate in centred, scaled coordinates with h[8] = 1, which holds at the centroid of
 * any visible set of points. Hartley and Zisserman, Multiple View Geometry, 2nd ed., 4.1, 4.4. */
static bool linear_homography(const struct vision_point *mm, const struct vision_point *px, int n,
                              double h[9])
{
    struct normaliser a, b;
    if (!make_normaliser(mm, n, &a) || !make_normaliser(px, n, &b))
        return false;
    double normal[64] = {0}, right[8] = {0};
    for (int i = 0; i < n; i++) {
        double x = (mm[i].x - a.x) * a.scale, y = (mm[i].y - a.y) * a.scale;
        double u = (px[i].x - b.x) * b.scale, v = (px[i].y - b.y) * b.scale;
        double rows[2][9] = {{x, y, 1, 0, 0, 0, -u * x, -u * y, u},
                             {0, 0, 0, x, y, 1, -v * x, -v * y, v}};
        for (int r = 0; r < 2; r++)
            for (int j = 0; j < 8; j++) {
                right[j] += rows[r][j] * rows[r][8];
                for (int k = 0; k < 8; k++)
                    normal[j * 8 + k] += rows[r][j] * rows[r][k];
            }
    }
    double g[9];
    if (!linalg_solve(8, normal, right, g))
        return false;
    g[8] = 1;
    /* h = B^-1 g A, with A and B the normalising maps */
    double ga[9];
    for (int r = 0; r < 3; r++) {
        ga[r * 3] = g[r * 3] * a.scale;
        ga[r * 3 + 1] = g[r * 3 + 1] * a.scale;
        ga[r * 3 + 2] = g[r * 3 + 2] - a.scale * (g[r * 3] * a.x + g[r * 3 + 1] * a.y);
    }
    for (int c = 0; c < 3; c++) {
        h[c] = ga[c] / b.scale + b.x * ga[6 + c];
        h[3 + c] = ga[3 + c] / b.scale + b.y * ga[6 + c];
        h[6 + c] = ga[6 + c];
    }
    if (fabs(h[8]) < 1e-9)
        return false;
    for (int i = 0; i < 9; i++)
        h[i] /= h[8];
    return true;
}

/* Derivatives of one photo point by the unknowns: rows x and y. */
static void derivatives(const struct vision_plane *plane, struct vision_point mm,
                        double d[2][UNKNOWNS])
{
    const double *h = plane->h;
    double w = h[6] * mm.x + h[7] * mm.y + h[8];
    struct vision_point p = apply(h, mm);
    double basis[2][8] = {{mm.x, mm.y, 1, 0, 0, 0, -p.x * mm.x, -p.x * mm.y},
                          {0, 0, 0, mm.x, mm.y, 1, -p.y * mm.x, -p.y * mm.y}};
    double r = plane->radius_px;
    double dx = (p.x - plane->centre_px.x) / r, dy = (p.y - plane->centre_px.y) / r;
    double q = dx * dx + dy * dy;
    double stretch = 1 + q * (plane->k1 + q * plane->k2);
    double grow = 2 * (plane->k1 + 2 * q * plane->k2);
    double lens[2][2] = {{stretch + grow * dx * dx, grow * dx * dy},
                         {grow * dx * dy, stretch + grow * dy * dy}};
    for (int j = 0; j < 8; j++) {
        d[0][j] = (lens[0][0] * basis[0][j] + lens[0][1] * basis[1][j]) / w;
        d[1][j] = (lens[1][0] * basis[0][j] + lens[1][1] * basis[1][j]) / w;
    }
    double of_lens[2][PLANE_LENS_UNKNOWNS] = {
        {r * dx * q, r * dx * q * q, 1 - lens[0][0], -lens[0][1]},
        {r * dy * q, r * dy * q * q, -lens[1][0], 1 - lens[1][1]}};
    memcpy(&d[0][8], of_lens[0], sizeof of_lens[0]);
    memcpy(&d[1][8], of_lens[1], sizeof of_lens[1]);
}

/* The j-th unknown, in the order of vision_plane.cov. */
static double *unknown(struct vision_plane *plane, int j)
{
    switch (j) {
    case 8:
        return &plane->k1;
    case 9:
        return &plane->k2;
    case 10:
        return &plane->centre_px.x;
    case 11:
        return &plane->centre_px.y;
    default:
        return &plane->h[(unsigned)j % 8];
    }
}

/* size x size, row-major; the lens' unknowns that are not estimated are left out. */
struct normal_equations {
    int size;
    double matrix[UNKNOWNS * UNKNOWNS], right[UNKNOWNS], cost;
};

static void accumulate(const struct vision_plane *plane, const struct vision_point *mm,
                       const struct vision_point *px, int n, struct normal_equations *out)
{
    memset(out->matrix, 0, sizeof out->matrix);
    memset(out->right, 0, sizeof out->right);
    out->cost = 0;
    for (int i = 0; i < n; i++) {
        double d[2][UNKNOWNS];
        derivatives(plane, mm[i], d);
        struct vision_point at = vision_plane_to_photo(plane, mm[i]);
        double e[2] = {px[i].x - at.x, px[i].y - at.y};
        for (int r = 0; r < 2; r++) {
            out->cost += e[r] * e[r];
            for (int j = 0; j < out->size; j++) {
                out->right[j] += d[r][j] * e[r];
                for (int k = 0; k < out->size; k++)
                    out->matrix[j * out->size + k] += d[r][j] * d[r][k];
            }
        }
    }
}

/* What is known of the lens enters as one more observation; weights are in units of the
 * coordinate's sigma. information: inverse of the prior's covariance. */
static void add_prior(struct normal_equations *eq, struct vision_plane *plane,
                      const struct plane_lens *lens, const double *information, double sigma_px)
{
    const double prior[PLANE_LENS_UNKNOWNS] = {lens->k1, lens->k2, lens->centre_px.x,
                                               lens->centre_px.y};
    for (int j = 0; j < lens->unknowns; j++)
        for (int k = 0; k < lens->unknowns; k++) {
            double weight = sigma_px * sigma_px * information[j * lens->unknowns + k];
            eq->matrix[(8 + j) * eq->size + 8 + k] += weight;
            eq->right[8 + j] += weight * (prior[k] - *unknown(plane, 8 + k));
        }
}

/* Scales to a unit diagonal: mm^2 and 1/px differ by many orders. */
static bool scaled(const struct normal_equations *eq, double *out, double scale[UNKNOWNS])
{
    int n = eq->size;
    for (int j = 0; j < n; j++) {
        double diagonal = eq->matrix[j * n + j];
        if (!(diagonal > 0) || !isfinite(diagonal))
            return false;
        scale[j] = 1 / sqrt(diagonal);
    }
    for (int j = 0; j < n; j++)
        for (int k = 0; k < n; k++)
            out[j * n + k] = eq->matrix[j * n + k] * scale[j] * scale[k];
    return true;
}

static bool gauss_newton_step(struct vision_plane *plane, const struct normal_equations *eq)
{
    double m[UNKNOWNS * UNKNOWNS], scale[UNKNOWNS], step[UNKNOWNS];
    if (!scaled(eq, m, scale))
        return false;
    for (int j = 0; j < eq->size; j++)
        step[j] = eq->right[j] * scale[j];
    if (!linalg_solve(eq->size, m, step, step))
        return false;
    for (int j = 0; j < eq->size; j++)
        *unknown(plane, j) += step[j] * scale[j];
    return true;
}

static bool set_covariance(struct vision_plane *plane, const struct normal_equations *eq,
                           double sigma_px)
{
    double m[UNKNOWNS * UNKNOWNS], inverse[UNKNOWNS * UNKNOWNS], scale[UNKNOWNS];
    int n = eq->size;
    if (!scaled(eq, m, scale) || !linalg_invert(n, m, inverse))
        return false;
    memset(plane->cov, 0, sizeof plane->cov);
    for (int j = 0; j < n; j++)
        for (int k = 0; k < n; k++)
            plane->cov[j * UNKNOWNS + k] =
                inverse[j * n + k] * scale[j] * scale[k] * sigma_px * sigma_px;
    return true;
}

bool plane_fit(const struct vision_point *mm, const struct vision_point *px, int n, double sigma_px,
               const struct plane_lens *lens, struct vision_plane *out)
{
    double information[PLANE_LENS_UNKNOWNS * PLANE_LENS_UNKNOWNS];
    struct vision_plane plane = {
        .k1 = lens->k1, .k2 = lens->k2, .centre_px = lens->centre_px, .radius_px = lens->radius_px};
    if (n < 4 || !linear_homography(mm, px, n, plane.h) ||
        !linalg_invert(lens->unknowns, lens->cov, information))
        return false;
    double assumed = sigma_px > 0 ? sigma_px : 0.1;
    struct normal_equations eq = {.size = 8 + lens->unknowns};
    for (int round = 0; round < 12; round++) {
        accumulate(&plane, mm, px, n, &eq);
        add_prior(&eq, &plane, lens, information, assumed);
        if (!gauss_newton_step(&plane, &eq))
            return false;
    }
    accumulate(&plane, mm, px, n, &eq);
    if (!isfinite(eq.cost))
        return false;
    int freedom = 2 * n - 8;
    plane.rms_px = sqrt(eq.cost / (2.0 * n));
    double sigma = sigma_px > 0 ? sigma_px : freedom > 0 ? sqrt(eq.cost / freedom) : 0;
    add_prior(&eq, &plane, lens, information, sigma > 0 ? sigma : assumed);
    if (!set_covariance(&plane, &eq, sigma) || !linalg_invert3(plane.h, plane.inverse))
        return false;
    *out = plane;
    return true;
}

double plane_px_per_mm(const struct vision_plane *plane, struct vision_point at)
{
    const double step = 0.5;
    struct vision_point l = vision_plane_to_photo(plane, (struct vision_point){at.x - step, at.y});
    struct vision_point r = vision_plane_to_photo(plane, (struct vision_point){at.x + step, at.y});
    struct vision_point d = vision_plane_to_photo(plane, (struct vision_point){at.x, at.y - step});
    struct vision_point u = vision_plane_to_photo(plane, (struct vision_point){at.x, at.y + step});
    return sqrt(fabs((r.x - l.x) * (u.y - d.y) - (r.y - l.y) * (u.x - d.x)));
}

/* Columns of K^-1 H, with the principal point at middle. */
static void normalised_columns(const struct vision_plane *plane, double focal_px,
                               struct vision_point middle, double m[3][3])
{
    for (int c = 0; c < 3; c++) {
        m[c][0] = (plane->h[c] - middle.x * plane->h[6 + c]) / focal_px;
        m[c][1] = (plane->h[3 + c] - middle.y * plane->h[6 + c]) / focal_px;
        m[c][2] = plane->h[6 + c];
    }
}

static double dot3(const double a[3], const double b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

bool plane_pose(const struct vision_plane *plane, double focal_px, struct vision_point middle,
                double axes[2][3], double origin_mm[3])
{
    double m[3][3];
    normalised_columns(plane, focal_px, middle, m);
    double length[2] = {sqrt(dot3(m[0], m[0])), sqrt(dot3(m[1], m[1]))};
    if (!(length[0] > 0) || !(length[1] > 0))
        return false;
    double scale = 2 / (length[0] + length[1]);
    for (int i = 0; i < 3; i++) {
        for (int k = 0; k < 2; k++)
            axes[k][i] = m[k][i] / length[k];
        origin_mm[i] = m[2][i] * scale;
    }
    return true;
}

bool plane_misfit(const struct vision_plane *plane, double focal_px, struct vision_point middle,
                  double e[2])
{
    double m[3][3];
    normalised_columns(plane, focal_px, middle, m);
    double first = dot3(m[0], m[0]), second = dot3(m[1], m[1]), mean = (first + second) / 2;
    if (!(mean > 0))
        return false;
    e[0] = (first - second) / mean;
    e[1] = 2 * dot3(m[0], m[1]) / mean;
    return isfinite(e[0]) && isfinite(e[1]);
}

bool plane_obliquity(const struct vision_plane *plane, double focal_px, struct vision_point middle,
                     struct vision_point at_mm, double *obliquity_deg, double camera_mm[3])
{
    double axes[2][3], t[3];
    if (!plane_pose(plane, focal_px, middle, axes, t))
        return false;
    const double *r1 = axes[0], *r2 = axes[1];
    double r3[3] = {r1[1] * r2[2] - r1[2] * r2[1], r1[2] * r2[0] - r1[0] * r2[2],
                    r1[0] * r2[1] - r1[1] * r2[0]};
    /* Camera centre C = -R^T t. The photo's y runs down, so z = r3 points away from the camera
     * when the print is seen from its front; turn it round. */
    camera_mm[0] = -dot3(r1, t);
    camera_mm[1] = -dot3(r2, t);
    camera_mm[2] = fabs(dot3(r3, t) / fmax(1e-12, sqrt(dot3(r3, r3))));
    double dx = camera_mm[0] - at_mm.x, dy = camera_mm[1] - at_mm.y;
    *obliquity_deg = atan2(hypot(dx, dy), camera_mm[2]) * DEG;
    return isfinite(*obliquity_deg) && camera_mm[2] > 0;
}

double plane_focal_px(const struct vision_plane *plane, struct vision_point middle)
{
    double m[3][3];
    normalised_columns(plane, 1, middle, m);
    /* r1.r2 = 0 and |r1| = |r2| with (x, y) scaled by 1/f: two equations linear in 1/f^2 */
    double a1 = m[0][0] * m[1][0] + m[0][1] * m[1][1], b1 = -m[0][2] * m[1][2];
    double a2 = m[0][0] * m[0][0] + m[0][1] * m[0][1] - m[1][0] * m[1][0] - m[1][1] * m[1][1];
    double b2 = m[1][2] * m[1][2] - m[0][2] * m[0][2];
    double inverse_square = (a1 * b1 + a2 * b2) / (a1 * a1 + a2 * a2);
    if (!(inverse_square > 0) || !isfinite(inverse_square))
        return 0;
    return 1 / sqrt(inverse_square);
}

/* Direction in the card frame of two photo points fixed in the photo. */
static double card_direction(const struct vision_plane *plane, const struct vision_point px[2])
{
    struct vision_point a = vision_plane_to_card(plane, px[0]);
    struct vision_point b = vision_plane_to_card(plane, px[1]);
    return atan2(b.y - a.y, b.x - a.x);
}

bool plane_direction_gradient(const struct vision_plane *plane, struct vision_point at,
                              double direction_deg, double gradient[UNKNOWNS])
{
    const double half_mm = 5;
    double c = cos(direction_deg / DEG) * half_mm, s = sin(direction_deg / DEG) * half_mm;
    struct vision_point px[2] = {
        vision_plane_to_photo(plane, (struct vision_point){at.x - c, at.y - s}),
        vision_plane_to_photo(plane, (struct vision_point){at.x + c, at.y + s})};
    double nominal = card_direction(plane, px);
    for (int j = 0; j < UNKNOWNS; j++) {
        double step = sqrt(plane->cov[j * UNKNOWNS + j]);
        gradient[j] = 0;
        if (!(step > 0))
            continue;
        struct vision_plane moved = *plane;
        *unknown(&moved, j) += step;
        if (!linalg_invert3(moved.h, moved.inverse))
            return false;
        gradient[j] = remainder(card_direction(&moved, px) - nominal, 2 * PI) / step;
    }
    return true;
}

/* With c the covariance of the angle with the lens' unknowns and L their own, c^T L^-1 c is what
 * knowing them takes away: the conditional variance of a normal distribution (T. W. Anderson, An
 * Introduction to Multivariate Statistical Analysis, 3rd ed., 2.5; from memory). */
void plane_gradient_u(const struct vision_plane *plane, const double gradient[UNKNOWNS],
                      double *lens_known_deg, double *lens_deg)
{
    double variance = 0, with[PLANE_LENS_UNKNOWNS] = {0}, lens = 0;
    double block[PLANE_LENS_UNKNOWNS * PLANE_LENS_UNKNOWNS], solved[PLANE_LENS_UNKNOWNS];
    int n = 0;
    while (n < PLANE_LENS_UNKNOWNS && plane->cov[(8 + n) * (UNKNOWNS + 1)] > 0)
        n++;
    for (int j = 0; j < UNKNOWNS; j++) {
        for (int k = 0; k < UNKNOWNS; k++)
            variance += gradient[j] * plane->cov[j * UNKNOWNS + k] * gradient[k];
        for (int k = 0; k < n; k++)
            with[k] += gradient[j] * plane->cov[j * UNKNOWNS + 8 + k];
    }
    for (int j = 0; j < n; j++)
        for (int k = 0; k < n; k++)
            block[j * n + k] = plane->cov[(8 + j) * UNKNOWNS + 8 + k];
    if (n > 0 && linalg_solve(n, block, with, solved))
        for (int k = 0; k < n; k++)
            lens += with[k] * solved[k];
    lens = fmin(fmax(lens, 0), fmax(variance, 0));
    *lens_known_deg = sqrt(fmax(0, variance - lens)) * DEG;
    *lens_deg = sqrt(lens) * DEG;
}

bool vision_line_fit(const struct vision_point *points, int n, double *direction_deg, double *u_deg)
{
    if (n < 2)
        return false;
    double mx = 0, my = 0, sxx = 0, sxy = 0, syy = 0;
    for (int i = 0; i < n; i++) {
        mx += points[i].x / n;
        my += points[i].y / n;
    }
    for (int i = 0; i < n; i++) {
        double dx = points[i].x - mx, dy = points[i].y - my;
        sxx += dx * dx;
        sxy += dx * dy;
        syy += dy * dy;
    }
    /* Eigenvalues of the scatter matrix: along (major) and across (minor). The direction's
     * variance for isotropic noise is minor / ((n - 2) major). K. Kanatani, Statistical
     * Optimization for Geometric Computation, 1996 (from memory). */
    double half = hypot((sxx - syy) / 2, sxy), mean = (sxx + syy) / 2;
    double major = mean + half, minor = fmax(0, mean - half);
    if (!(major > 0) || minor > 0.5 * major || !isfinite(major))
        return false; /* a round cloud has no direction */
    double direction = atan2(2 * sxy, sxx - syy) / 2 * DEG;
    *direction_deg = direction <= -90 ? direction + 180 : direction;
    *u_deg = n > 2 ? sqrt(minor / ((n - 2) * major)) * DEG : 0;
    return true;
}
