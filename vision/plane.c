#include "plane.h"

#include "linalg.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DEG (180 / 3.14159265358979323846)
#define PARAMETERS PLANE_PARAMETERS

static struct vision_point apply(const double h[9], struct vision_point p)
{
    double w = h[6] * p.x + h[7] * p.y + h[8];
    return (struct vision_point){(h[0] * p.x + h[1] * p.y + h[2]) / w,
                                 (h[3] * p.x + h[4] * p.y + h[5]) / w};
}

struct vision_point vision_plane_to_photo(const struct vision_plane *plane, struct vision_point mm)
{
    struct vision_point p = apply(plane->h, mm);
    if (plane->k1 == 0)
        return p;
    double dx = p.x - plane->centre_px.x, dy = p.y - plane->centre_px.y;
    double stretch = 1 + plane->k1 * (dx * dx + dy * dy) / (plane->radius_px * plane->radius_px);
    return (struct vision_point){plane->centre_px.x + dx * stretch,
                                 plane->centre_px.y + dy * stretch};
}

struct vision_point vision_plane_to_card(const struct vision_plane *plane, struct vision_point px)
{
    struct vision_point p = px;
    if (plane->k1 != 0) {
        /* Fixed point: |k1| r^2 < 0.3 in any photo, so each round gains half a digit or more. */
        double dx = px.x - plane->centre_px.x, dy = px.y - plane->centre_px.y;
        double ux = dx, uy = dy;
        for (int i = 0; i < 12; i++) {
            double stretch =
                1 + plane->k1 * (ux * ux + uy * uy) / (plane->radius_px * plane->radius_px);
            ux = dx / stretch;
            uy = dy / stretch;
        }
        p = (struct vision_point){plane->centre_px.x + ux, plane->centre_px.y + uy};
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

/* Derivatives of one photo point by the nine parameters: rows x and y. */
static void derivatives(const struct vision_plane *plane, struct vision_point mm,
                        double d[2][PARAMETERS])
{
    const double *h = plane->h;
    double w = h[6] * mm.x + h[7] * mm.y + h[8];
    struct vision_point p = apply(h, mm);
    double basis[2][8] = {{mm.x, mm.y, 1, 0, 0, 0, -p.x * mm.x, -p.x * mm.y},
                          {0, 0, 0, mm.x, mm.y, 1, -p.y * mm.x, -p.y * mm.y}};
    double r = plane->radius_px;
    double dx = (p.x - plane->centre_px.x) / r, dy = (p.y - plane->centre_px.y) / r;
    double q = dx * dx + dy * dy, k = plane->k1;
    double lens[2][2] = {{1 + k * (q + 2 * dx * dx), 2 * k * dx * dy},
                         {2 * k * dx * dy, 1 + k * (q + 2 * dy * dy)}};
    for (int j = 0; j < 8; j++) {
        d[0][j] = (lens[0][0] * basis[0][j] + lens[0][1] * basis[1][j]) / w;
        d[1][j] = (lens[1][0] * basis[0][j] + lens[1][1] * basis[1][j]) / w;
    }
    d[0][8] = r * dx * q;
    d[1][8] = r * dy * q;
}

struct normal_equations {
    double matrix[PARAMETERS * PARAMETERS], right[PARAMETERS], cost;
};

static void accumulate(const struct vision_plane *plane, const struct vision_point *mm,
                       const struct vision_point *px, int n, struct normal_equations *out)
{
    memset(out, 0, sizeof *out);
    for (int i = 0; i < n; i++) {
        double d[2][PARAMETERS];
        derivatives(plane, mm[i], d);
        struct vision_point at = vision_plane_to_photo(plane, mm[i]);
        double e[2] = {px[i].x - at.x, px[i].y - at.y};
        for (int r = 0; r < 2; r++) {
            out->cost += e[r] * e[r];
            for (int j = 0; j < PARAMETERS; j++) {
                out->right[j] += d[r][j] * e[r];
                for (int k = 0; k < PARAMETERS; k++)
                    out->matrix[j * PARAMETERS + k] += d[r][j] * d[r][k];
            }
        }
    }
}

/* The prior on k1 enters as one more observation of standard uncertainty u_k1, in units of the
 * coordinate's sigma. u_k1 = 0 nails k1 down. */
static void add_prior(struct normal_equations *eq, const struct vision_plane *plane,
                      const struct plane_lens *lens, double sigma_px)
{
    int last = PARAMETERS * PARAMETERS - 1;
    if (lens->u_k1 > 0) {
        double weight = sigma_px * sigma_px / (lens->u_k1 * lens->u_k1);
        eq->matrix[last] += weight;
        eq->right[8] += weight * (lens->k1 - plane->k1);
        return;
    }
    for (int j = 0; j < PARAMETERS; j++)
        eq->matrix[8 * PARAMETERS + j] = eq->matrix[j * PARAMETERS + 8] = 0;
    eq->matrix[last] = 1;
    eq->right[8] = 0;
}

/* Scales to a unit diagonal: mm^2 and 1/px differ by many orders. */
static bool scaled(const double *matrix, double *out, double scale[PARAMETERS])
{
    for (int j = 0; j < PARAMETERS; j++) {
        double diagonal = matrix[j * PARAMETERS + j];
        if (!(diagonal > 0) || !isfinite(diagonal))
            return false;
        scale[j] = 1 / sqrt(diagonal);
    }
    for (int j = 0; j < PARAMETERS; j++)
        for (int k = 0; k < PARAMETERS; k++)
            out[j * PARAMETERS + k] = matrix[j * PARAMETERS + k] * scale[j] * scale[k];
    return true;
}

static bool gauss_newton_step(struct vision_plane *plane, const struct normal_equations *eq)
{
    double m[PARAMETERS * PARAMETERS], scale[PARAMETERS], step[PARAMETERS];
    if (!scaled(eq->matrix, m, scale))
        return false;
    for (int j = 0; j < PARAMETERS; j++)
        step[j] = eq->right[j] * scale[j];
    if (!linalg_solve(PARAMETERS, m, step, step))
        return false;
    for (int j = 0; j < 8; j++)
        plane->h[j] += step[j] * scale[j];
    plane->k1 += step[8] * scale[8];
    return true;
}

static bool set_covariance(struct vision_plane *plane, const struct normal_equations *eq,
                           double sigma_px)
{
    double m[PARAMETERS * PARAMETERS], scale[PARAMETERS];
    if (!scaled(eq->matrix, m, scale) || !linalg_invert(PARAMETERS, m, plane->cov))
        return false;
    for (int j = 0; j < PARAMETERS; j++)
        for (int k = 0; k < PARAMETERS; k++)
            plane->cov[j * PARAMETERS + k] *= scale[j] * scale[k] * sigma_px * sigma_px;
    return true;
}

bool plane_fit(const struct vision_point *mm, const struct vision_point *px, int n, double sigma_px,
               const struct plane_lens *lens, struct vision_plane *out)
{
    struct vision_plane plane = {
        .k1 = lens->k1, .centre_px = lens->centre_px, .radius_px = lens->radius_px};
    if (n < 4 || !linear_homography(mm, px, n, plane.h))
        return false;
    double assumed = sigma_px > 0 ? sigma_px : 0.1;
    struct normal_equations eq;
    for (int round = 0; round < 12; round++) {
        accumulate(&plane, mm, px, n, &eq);
        add_prior(&eq, &plane, lens, assumed);
        if (!gauss_newton_step(&plane, &eq))
            return false;
    }
    accumulate(&plane, mm, px, n, &eq);
    if (!isfinite(eq.cost))
        return false;
    int freedom = 2 * n - 8;
    plane.rms_px = sqrt(eq.cost / (2.0 * n));
    double sigma = sigma_px > 0 ? sigma_px : freedom > 0 ? sqrt(eq.cost / freedom) : 0;
    add_prior(&eq, &plane, lens, sigma > 0 ? sigma : assumed);
    if (!set_covariance(&plane, &eq, sigma))
        return false;
    if (!(lens->u_k1 > 0))
        for (int j = 0; j < PARAMETERS; j++)
            plane.cov[8 * PARAMETERS + j] = plane.cov[j * PARAMETERS + 8] = 0;
    if (!linalg_invert3(plane.h, plane.inverse))
        return false;
    *out = plane;
    return true;
}

bool vision_plane_fit(const struct vision_point *plane_mm, const struct vision_point *photo_px,
                      int n, double sigma_px, struct vision_plane *out)
{
    struct plane_lens none = {.radius_px = 1};
    return plane_fit(plane_mm, photo_px, n, sigma_px, &none, out);
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

/* Columns of K^-1 H with the principal point in the middle of the photo. */
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

bool plane_obliquity(const struct vision_plane *plane, double focal_px, struct vision_point middle,
                     struct vision_point at_mm, double *obliquity_deg, double camera_mm[3])
{
    double m[3][3];
    normalised_columns(plane, focal_px, middle, m);
    double n1 = sqrt(dot3(m[0], m[0])), n2 = sqrt(dot3(m[1], m[1]));
    if (!(n1 > 0) || !(n2 > 0))
        return false;
    double scale = 2 / (n1 + n2);
    double r1[3], r2[3], t[3];
    for (int i = 0; i < 3; i++) {
        r1[i] = m[0][i] / n1;
        r2[i] = m[1][i] / n2;
        t[i] = m[2][i] * scale;
    }
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
                              double direction_deg, double gradient[PARAMETERS])
{
    const double half_mm = 5;
    double c = cos(direction_deg / DEG) * half_mm, s = sin(direction_deg / DEG) * half_mm;
    struct vision_point px[2] = {
        vision_plane_to_photo(plane, (struct vision_point){at.x - c, at.y - s}),
        vision_plane_to_photo(plane, (struct vision_point){at.x + c, at.y + s})};
    double nominal = card_direction(plane, px);
    for (int j = 0; j < PARAMETERS; j++) {
        double step = sqrt(plane->cov[j * PARAMETERS + j]);
        gradient[j] = 0;
        if (!(step > 0))
            continue;
        struct vision_plane moved = *plane;
        *(j < 8 ? &moved.h[j] : &moved.k1) += step;
        if (!linalg_invert3(moved.h, moved.inverse))
            return false;
        gradient[j] = remainder(card_direction(&moved, px) - nominal, 2 * 3.14159265358979) / step;
    }
    return true;
}

/* With c the covariance of the angle with k1, c^2 / var(k1) is what knowing k1 takes away: the
 * conditional variance of a normal distribution (T. W. Anderson, An Introduction to Multivariate
 * Statistical Analysis, 3rd ed., 2.5; from memory). */
void plane_gradient_u(const struct vision_plane *plane, const double gradient[PARAMETERS],
                      double *lens_known_deg, double *lens_deg)
{
    double variance = 0, with_k1 = 0, k1 = plane->cov[PARAMETERS * PARAMETERS - 1];
    for (int j = 0; j < PARAMETERS; j++) {
        for (int k = 0; k < PARAMETERS; k++)
            variance += gradient[j] * plane->cov[j * PARAMETERS + k] * gradient[k];
        with_k1 += gradient[j] * plane->cov[j * PARAMETERS + 8];
    }
    double lens = k1 > 0 ? with_k1 * with_k1 / k1 : 0;
    *lens_known_deg = sqrt(fmax(0, variance - lens)) * DEG;
    *lens_deg = sqrt(lens) * DEG;
}

double plane_direction_u(const struct vision_plane *plane, struct vision_point at,
                         double direction_deg)
{
    double gradient[PARAMETERS], plain, lens;
    if (!plane_direction_gradient(plane, at, direction_deg, gradient))
        return 90;
    plane_gradient_u(plane, gradient, &plain, &lens);
    return hypot(plain, lens);
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
