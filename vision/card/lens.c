#include "lens.h"

#include "maths/angle.h"
#include "maths/linalg.h"
#include "shim.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define U VISION_LENS_UNKNOWNS
#define POSE 6

/* By the thin lens equation the image stands f (1 + f / d) behind a lens of focal length f at
 * distance d: a phone of 5 to 7 mm at 110 to 300 mm, 2 to 6 % further than at infinity. A profile
 * made at about the working distance leaves half of that spread as limits of a uniform
 * distribution. */
#define REFOCUS_U 0.012

#define UNKNOWN_K1_U 0.04 /* of half the diagonal, at the photo's corner */

#define MIN_SPREAD_DEG 15.0 /* below, focal length and distance cannot be told apart */
#define MAX_U_FOCAL 0.03    /* of the focal length */
#define MAX_HELD_OUT 4e-4   /* of the diagonal: a pixel in 2000 x 1500 */
#define MAX_GROUPS 12       /* of views, left out in turn */

/* ---- A profile in a photo -------------------------------------------------------------------- */

/* Quarter turns, clockwise, from the sensor's picture to the photo as viewed. Mirrored orientations
 * turn like their unmirrored neighbours: no camera takes mirrored photos of a card. */
static int quarter_turns(const struct vision_photo_info *info)
{
    static const int turns[9] = {0, 0, 0, 2, 2, 1, 1, 3, 3};
    return info->orientation >= 1 && info->orientation <= 8 ? turns[info->orientation] : 0;
}

void vision_sensor_size(const struct vision_photo_info *info, int *width_px, int *height_px)
{
    bool turned = quarter_turns(info) % 2 != 0;
    *width_px = turned ? info->height_px : info->width_px;
    *height_px = turned ? info->width_px : info->height_px;
}

static struct vision_point middle(int width_px, int height_px)
{
    return (struct vision_point){(width_px - 1) / 2.0, (height_px - 1) / 2.0};
}

/* cos and sin of the turn from sensor to photo; y runs down, so clockwise is positive. */
static void turn_of(const struct vision_photo_info *info, double *c, double *s)
{
    static const double cosines[4] = {1, 0, -1, 0}, sines[4] = {0, 1, 0, -1};
    *c = cosines[quarter_turns(info)];
    *s = sines[quarter_turns(info)];
}

struct vision_point vision_sensor_point(const struct vision_photo_info *info,
                                        struct vision_point px)
{
    int width, height;
    double c, s;
    vision_sensor_size(info, &width, &height);
    turn_of(info, &c, &s);
    struct vision_point from = middle(info->width_px, info->height_px), to = middle(width, height);
    double dx = px.x - from.x, dy = px.y - from.y;
    return (struct vision_point){to.x + c * dx + s * dy, to.y - s * dx + c * dy};
}

/* j cov j^T, for the rows x 5 matrix j. */
static void propagate(const double *j, int rows, const double *cov, double *out)
{
    for (int a = 0; a < rows; a++)
        for (int b = 0; b < rows; b++) {
            out[a * rows + b] = 0;
            for (int k = 0; k < U; k++)
                for (int l = 0; l < U; l++)
                    out[a * rows + b] += j[a * U + k] * cov[k * U + l] * j[b * U + l];
        }
}

bool lens_in_photo(const struct vision_lens *lens, const struct vision_photo_info *info,
                   struct plane_lens *out)
{
    int width, height;
    double c, s, f = lens->focal_px, cov[U * U];
    vision_sensor_size(info, &width, &height);
    if (width != lens->width_px || height != lens->height_px)
        return false;
    turn_of(info, &c, &s);
    struct vision_point from = middle(width, height), to = middle(info->width_px, info->height_px);
    double dx = lens->centre_px.x - from.x, dy = lens->centre_px.y - from.y;
    *out = (struct plane_lens){.centre_px = {to.x + c * dx - s * dy, to.y + s * dx + c * dy},
                               .radius_px = f,
                               .k1 = lens->k1,
                               .k2 = lens->k2,
                               .unknowns = PLANE_LENS_UNKNOWNS};
    memcpy(cov, lens->cov, sizeof cov);
    cov[0] += REFOCUS_U * REFOCUS_U * f * f;
    /* the plane keeps the radius f, so an error of f shows as one of k1 and k2 */
    const double jacobian[PLANE_LENS_UNKNOWNS * U] = {
        -2 * lens->k1 / f,
        0,
        0,
        1,
        0, /* k1 */
        -4 * lens->k2 / f,
        0,
        0,
        0,
        1, /* k2 */
        0,
        c,
        -s,
        0,
        0, /* centre x */
        0,
        s,
        c,
        0,
        0, /* centre y */
    };
    propagate(jacobian, PLANE_LENS_UNKNOWNS, cov, out->cov);
    return true;
}

struct plane_lens lens_unknown(int width_px, int height_px)
{
    return (struct plane_lens){.centre_px = middle(width_px, height_px),
                               .radius_px = hypot(width_px, height_px) / 2,
                               .unknowns = 1,
                               .cov = {UNKNOWN_K1_U * UNKNOWN_K1_U}};
}

/* Does the lens spread the whole picture outwards, without a fold? */
static bool reaches_every_corner(const struct vision_lens *lens)
{
    double x = fmax(lens->centre_px.x, lens->width_px - lens->centre_px.x);
    double y = fmax(lens->centre_px.y, lens->height_px - lens->centre_px.y);
    double corner = hypot(x, y) / lens->focal_px;
    for (int i = 0; i <= 400; i++) {
        double r = corner * i / 100, q = r * r;
        if (1 + q * (3 * lens->k1 + 5 * q * lens->k2) < 0.05)
            return false;
        if (r * (1 + q * (lens->k1 + q * lens->k2)) >= corner)
            return true;
    }
    return false;
}

bool vision_lens_is_sound(const struct vision_lens *lens)
{
    const double most_u[U] = {0.1 * lens->focal_px, 0.1 * lens->width_px, 0.1 * lens->width_px, 0.5,
                              2};
    double inverse[U * U], side = fmax(lens->width_px, lens->height_px);
    bool sized = lens->width_px > 0 && lens->height_px > 0 &&
                 (double)lens->width_px * lens->height_px <= VISION_MAX_PIXELS;
    if (!sized || !(lens->focal_px > 0.2 * side) || !(lens->focal_px < 50 * side) ||
        !(lens->centre_px.x > 0 && lens->centre_px.x < lens->width_px) ||
        !(lens->centre_px.y > 0 && lens->centre_px.y < lens->height_px) || !(fabs(lens->k1) < 2) ||
        !(fabs(lens->k2) < 10) || !reaches_every_corner(lens))
        return false;
    for (int i = 0; i < U; i++) {
        if (!(lens->cov[i * U + i] < most_u[i] * most_u[i]))
            return false;
        for (int j = 0; j < i; j++)
            if (!(fabs(lens->cov[i * U + j] - lens->cov[j * U + i]) <=
                  1e-6 * sqrt(fabs(lens->cov[i * U + i] * lens->cov[j * U + j]))))
                return false;
    }
    return linalg_invert(U, lens->cov, inverse);
}

/* ---- Solving --------------------------------------------------------------------------------- */

static bool left_out(int i, int every, int which)
{
    return every > 0 && i % every == which;
}

/* The corners of the views that are used, one after the other, as the shim takes them. */
struct corners {
    double mm[VISION_LENS_MAX_VIEWS * VISION_VIEW_CORNERS * 2];
    double px[VISION_LENS_MAX_VIEWS * VISION_VIEW_CORNERS * 2];
    int counts[VISION_LENS_MAX_VIEWS], views;
};

static void gather(const struct vision_card_view *views, int n, int every, int which,
                   struct corners *out)
{
    int at = 0;
    out->views = 0;
    for (int i = 0; i < n; i++) {
        if (left_out(i, every, which))
            continue;
        for (int k = 0; k < views[i].count; k++, at += 2) {
            out->mm[at] = views[i].mm[k].x;
            out->mm[at + 1] = views[i].mm[k].y;
            out->px[at] = views[i].px[k].x;
            out->px[at + 1] = views[i].px[k].y;
        }
        out->counts[out->views++] = views[i].count;
    }
}

/* Least squares over all views but those left out; with k2 the terms of a profile:
 * docs/decisions.md, "Two radial terms". false when there is no solution, or memory is short. */
static bool solve(const struct vision_card_view *views, int n, int every, int which, bool with_k2,
                  struct lens_camera *out)
{
    double pose[VISION_LENS_MAX_VIEWS][POSE];
    int width, height;
    struct shim_camera camera;
    struct corners *corners = malloc(sizeof *corners);
    if (!corners)
        return false;
    gather(views, n, every, which, corners);
    vision_sensor_size(&views[0].photo, &width, &height);
    bool good = corners->views >= 2 &&
                shim_calibrate(corners->mm, corners->px, corners->counts, corners->views, width,
                               height, with_k2, &camera, pose[0]) == SHIM_OK;
    free(corners);
    if (!good)
        return false;
    *out = (struct lens_camera){.focal_px = camera.focal_px,
                                .k1 = camera.k1,
                                .k2 = camera.k2,
                                .centre_px = {camera.centre_x, camera.centre_y}};
    for (int i = 0, from = 0; i < n; i++)
        if (!left_out(i, every, which))
            memcpy(out->pose[i], pose[from++], sizeof out->pose[i]);
    return isfinite(out->focal_px) && isfinite(out->k1) && isfinite(out->k2) && out->focal_px > 0;
}

static struct vision_point project(const struct lens_camera *camera, const double pose[POSE],
                                   struct vision_point mm)
{
    double r[3][3], p[3];
    linalg_rotation(pose, r);
    for (int i = 0; i < 3; i++)
        p[i] = r[i][0] * mm.x + r[i][1] * mm.y + pose[3 + i];
    double x = p[0] / p[2], y = p[1] / p[2], q = x * x + y * y;
    double stretch = 1 + q * (camera->k1 + q * camera->k2);
    return (struct vision_point){camera->centre_px.x + camera->focal_px * (x * stretch),
                                 camera->centre_px.y + camera->focal_px * (y * stretch)};
}

struct vision_point lens_project(const struct lens_camera *camera, int i, struct vision_point mm)
{
    return project(camera, camera->pose[i], mm);
}

/* ---- How well it is known -------------------------------------------------------------------- */

static double *camera_unknown(struct lens_camera *camera, int j)
{
    double *const all[U] = {&camera->focal_px, &camera->centre_px.x, &camera->centre_px.y,
                            &camera->k1, &camera->k2};
    return all[j];
}

/* Derivatives of one corner by the lens' unknowns and the pose's, by central differences. */
static void corner_derivatives(const struct lens_camera *camera, const double pose[POSE],
                               struct vision_point mm, double d[2][U + POSE])
{
    for (int j = 0; j < U + POSE; j++) {
        struct vision_point p[2];
        double size = j < 3 ? camera->focal_px : j < U + 3 ? 1 : fabs(pose[5]);
        double step = 1e-6 * size;
        for (int k = 0; k < 2; k++) {
            struct lens_camera moved = *camera;
            double moved_pose[POSE];
            memcpy(moved_pose, pose, sizeof moved_pose);
            *(j < U ? camera_unknown(&moved, j) : &moved_pose[j - U]) += k ? step : -step;
            p[k] = project(&moved, moved_pose, mm);
        }
        d[0][j] = (p[1].x - p[0].x) / (2 * step);
        d[1][j] = (p[1].y - p[0].y) / (2 * step);
    }
}

/* Adds what one view tells of the lens when its pose is left free: U - W V^-1 W^T, the Schur
 * complement. Triggs et al., "Bundle adjustment: a modern synthesis", 2000, section 6.1. */
static bool add_information(const struct lens_camera *camera, const double pose[POSE],
                            const struct vision_card_view *view, double information[U * U],
                            double *cost)
{
    double normal[U + POSE][U + POSE] = {{0}}, v[POSE * POSE], inverse[POSE * POSE];
    for (int i = 0; i < view->count; i++) {
        double d[2][U + POSE];
        corner_derivatives(camera, pose, view->mm[i], d);
        struct vision_point at = project(camera, pose, view->mm[i]);
        *cost += pow(at.x - view->px[i].x, 2) + pow(at.y - view->px[i].y, 2);
        for (int a = 0; a < U + POSE; a++)
            for (int b = 0; b < U + POSE; b++)
                normal[a][b] += d[0][a] * d[0][b] + d[1][a] * d[1][b];
    }
    for (int a = 0; a < POSE; a++)
        for (int b = 0; b < POSE; b++)
            v[a * POSE + b] = normal[U + a][U + b];
    if (!linalg_invert(POSE, v, inverse))
        return false;
    for (int a = 0; a < U; a++)
        for (int b = 0; b < U; b++) {
            information[a * U + b] += normal[a][b];
            for (int k = 0; k < POSE; k++)
                for (int l = 0; l < POSE; l++)
                    information[a * U + b] -=
                        normal[a][U + k] * inverse[k * POSE + l] * normal[U + l][b];
        }
    return true;
}

/* Least-squares covariance of the five unknowns, as if every corner erred by itself. */
static bool plain_covariance(const struct vision_card_view *views, int n,
                             const struct lens_camera *camera, double cov[U * U])
{
    double information[U * U] = {0}, cost = 0;
    int points = 0;
    for (int i = 0; i < n; i++) {
        if (!add_information(camera, camera->pose[i], &views[i], information, &cost))
            return false;
        points += views[i].count;
    }
    int freedom = 2 * points - U - POSE * n;
    if (freedom < 1 || !linalg_invert(U, information, cov))
        return false;
    for (int i = 0; i < U * U; i++)
        cov[i] *= cost / freedom;
    return true;
}

static struct plane_lens fixed_lens(const struct lens_camera *camera)
{
    return (struct plane_lens){.centre_px = camera->centre_px,
                               .radius_px = camera->focal_px,
                               .k1 = camera->k1,
                               .k2 = camera->k2};
}

static bool plane_of(const struct vision_card_view *view, const struct plane_lens *lens,
                     struct vision_plane *out)
{
    return plane_fit(view->mm, view->px, view->count, 0, lens, out);
}

/* Corners of one photo err together (a soft spot, a card that bulges), which the residuals do not
 * show. So the lens is found again without each view, or group of views, and the scatter of those
 * lenses is its variance: the jackknife, B. Efron and C. Stein, Annals of Statistics 9 (1981).
 * The views left out judge the lens on the way. */
static bool leave_out_in_turn(const struct vision_card_view *views, int n,
                              struct vision_lens_fit *fit, double variance[U])
{
    double found[MAX_GROUPS][U];
    int groups = n < MAX_GROUPS ? n : MAX_GROUPS;
    for (int g = 0; g < groups; g++) {
        struct lens_camera camera;
        if (!solve(views, n, groups, g, true, &camera))
            return false;
        for (int j = 0; j < U; j++)
            found[g][j] = *camera_unknown(&camera, j);
        struct plane_lens lens = fixed_lens(&camera);
        for (int i = g; i < n; i += groups) {
            struct vision_plane plane;
            if (!plane_of(&views[i], &lens, &plane))
                return false;
            fit->views[i].held_out_px = plane.rms_px;
        }
    }
    for (int j = 0; j < U; j++) {
        double mean = 0;
        variance[j] = 0;
        for (int g = 0; g < groups; g++)
            mean += found[g][j] / groups;
        for (int g = 0; g < groups; g++)
            variance[j] += (groups - 1.0) / groups * pow(found[g][j] - mean, 2);
    }
    return true;
}

/* The larger of the two variances of each unknown, correlated as least squares has it. */
static void join_covariance(const double plain[U * U], const double variance[U], double out[U * U])
{
    double stretch[U];
    for (int j = 0; j < U; j++)
        stretch[j] = sqrt(fmax(1, variance[j] / plain[j * U + j]));
    for (int j = 0; j < U; j++)
        for (int k = 0; k < U; k++)
            out[j * U + k] = plain[j * U + k] * stretch[j] * stretch[k];
}

/* ---- What the views show --------------------------------------------------------------------- */

static void cover(const struct vision_card_view *views, int n, struct vision_lens_fit *fit)
{
    int width, height, count = 0;
    for (int i = 0; i < n; i++) {
        vision_sensor_size(&views[i].photo, &width, &height);
        for (int k = 0; k < views[i].count; k++) {
            int x = (int)floor(views[i].px[k].x / width * VISION_LENS_GRID_X);
            int y = (int)floor(views[i].px[k].y / height * VISION_LENS_GRID_Y);
            if (x >= 0 && x < VISION_LENS_GRID_X && y >= 0 && y < VISION_LENS_GRID_Y) {
                count += !fit->field[y][x];
                fit->field[y][x] = true;
            }
        }
    }
    fit->covered = (double)count / (VISION_LENS_GRID_X * VISION_LENS_GRID_Y);
}

/* The card's normal towards the camera; sensor frame with y down and z away from the camera. */
static void card_normal(const double pose[POSE], double n[3])
{
    double r[3][3];
    linalg_rotation(pose, r);
    for (int i = 0; i < 3; i++)
        n[i] = r[2][2] > 0 ? -r[i][2] : r[i][2];
}

static void lean(const struct vision_card_view *views, int n, const struct lens_camera *camera,
                 struct vision_lens_fit *fit)
{
    for (int i = 0; i < n; i++) {
        double a[3], b[3], c, s;
        card_normal(camera->pose[i], a);
        turn_of(&views[i].photo, &c, &s);
        fit->views[i].lean_right_deg = atan2(c * a[0] - s * a[1], -a[2]) * DEG;
        fit->views[i].lean_up_deg = atan2(-(s * a[0] + c * a[1]), -a[2]) * DEG;
        for (int j = 0; j < i; j++) {
            card_normal(camera->pose[j], b);
            double cosine = a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
            fit->spread_deg = fmax(fit->spread_deg, acos(fmax(-1, fmin(1, cosine))) * DEG);
        }
    }
}

/* Largest turn of a short line on the card between two ideas of the same view. */
static double largest_turn_deg(const struct vision_card_view *view, const struct vision_plane *a,
                               const struct vision_plane *b)
{
    const int steps = 3, directions = 8;
    const double half_mm = 5, share = 0.6; /* parts keep off the border */
    double largest = 0;
    for (int i = -steps; i <= steps; i++)
        for (int j = -steps; j <= steps; j++)
            for (int k = 0; k < directions; k++) {
                double at_x = share * view->half_width_mm * i / steps;
                double at_y = share * view->half_height_mm * j / steps;
                double angle = 180 / DEG * k / directions;
                double c = half_mm * cos(angle), s = half_mm * sin(angle);
                struct vision_point from = {at_x - c, at_y - s}, to = {at_x + c, at_y + s};
                from = vision_plane_to_card(b, vision_plane_to_photo(a, from));
                to = vision_plane_to_card(b, vision_plane_to_photo(a, to));
                double turn = remainder(atan2(to.y - from.y, to.x - from.x) - angle, 360 / DEG);
                largest = fmax(largest, fabs(turn) * DEG);
            }
    return largest;
}

/* Each view with the lens, with its own idea of it, and with none. */
static bool judge_views(const struct vision_card_view *views, int n,
                        const struct lens_camera *camera, struct vision_lens_fit *fit)
{
    struct plane_lens known = fixed_lens(camera), none = {.radius_px = 1};
    struct plane_lens own = lens_unknown(fit->lens.width_px, fit->lens.height_px);
    double square = 0, held_out = 0, plain = 0;
    for (int i = 0; i < n; i++) {
        struct vision_plane with, alone, straight;
        struct vision_lens_view *view = &fit->views[i];
        if (!plane_of(&views[i], &known, &with) || !plane_of(&views[i], &own, &alone) ||
            !plane_of(&views[i], &none, &straight))
            return false;
        view->rms_px = with.rms_px;
        view->removed_deg = largest_turn_deg(&views[i], &with, &alone);
        fit->removed_deg = fmax(fit->removed_deg, view->removed_deg);
        square += with.rms_px * with.rms_px / n;
        held_out += view->held_out_px * view->held_out_px / n;
        plain += straight.rms_px * straight.rms_px / n;
    }
    fit->rms_px = sqrt(square);
    fit->held_out_px = sqrt(held_out);
    fit->plain_px = sqrt(plain);
    return true;
}

static void set_lens(const struct lens_camera *camera, struct vision_lens_fit *fit)
{
    struct vision_lens *lens = &fit->lens;
    lens->focal_px = camera->focal_px;
    lens->centre_px = camera->centre_px;
    lens->k1 = camera->k1;
    lens->k2 = camera->k2;
    fit->u_focal_px = sqrt(lens->cov[0]);
    fit->u_centre_px = sqrt(fmax(lens->cov[U + 1], lens->cov[2 * U + 2]));
    fit->u_k1 = sqrt(lens->cov[3 * U + 3]);
    fit->u_k2 = sqrt(lens->cov[4 * U + 4]);
}

static bool same_size(const struct vision_card_view *views, int n, struct vision_lens *lens)
{
    int width, height;
    vision_sensor_size(&views[0].photo, &lens->width_px, &lens->height_px);
    for (int i = 1; i < n; i++) {
        vision_sensor_size(&views[i].photo, &width, &height);
        if (width != lens->width_px || height != lens->height_px)
            return false;
    }
    return true;
}

enum vision_lens_fault vision_lens_fit(const struct vision_card_view *views, int n,
                                       struct vision_lens_fit *out)
{
    struct lens_camera camera;
    double plain[U * U], variance[U];
    *out = (struct vision_lens_fit){0};
    cover(views, n, out);
    if (n > 0 && !same_size(views, n, &out->lens))
        return VISION_LENS_MIXED;
    if (n < VISION_LENS_LEAST_VIEWS) {
        /* too few for a lens, yet enough to tell how the card leant */
        if (n >= 2 && solve(views, n, 0, 0, false, &camera))
            lean(views, n, &camera, out);
        return VISION_LENS_FEW;
    }
    if (!solve(views, n, 0, 0, true, &camera) || !plain_covariance(views, n, &camera, plain))
        return VISION_LENS_FAILED;
    lean(views, n, &camera, out);
    if (out->spread_deg < MIN_SPREAD_DEG)
        return VISION_LENS_PARALLEL;
    if (!leave_out_in_turn(views, n, out, variance))
        return VISION_LENS_FAILED;
    join_covariance(plain, variance, out->lens.cov);
    set_lens(&camera, out);
    if (!judge_views(views, n, &camera, out))
        return VISION_LENS_FAILED;
    if (out->held_out_px > MAX_HELD_OUT * hypot(out->lens.width_px, out->lens.height_px))
        return VISION_LENS_MISFIT;
    if (out->u_focal_px > MAX_U_FOCAL * out->lens.focal_px || !vision_lens_is_sound(&out->lens))
        return VISION_LENS_UNCERTAIN;
    return VISION_LENS_FINE;
}
