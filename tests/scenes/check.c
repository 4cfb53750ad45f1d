#include "check.h"
#include "develop.h"
#include "photo_file.h"
#include "scene.h"

#include <math.h>
#include <string.h>
#include <unistd.h>

#define RAD (3.14159265358979323846 / 180)
#define MAX_BEADS 64

struct bead {
    struct vec3 at;
    bool on_part; /* local frame of the part; otherwise card frame */
};

static int place_beads(const struct photo_case *c, struct bead *beads)
{
    const struct vision_card *card = c->card;
    int n = 0;
    double half = card->marker_mm / 2;
    for (int i = 0; i < card->marker_count; i++)
        for (int k = 0; k < 4; k++)
            beads[n++].at = (struct vec3){card->markers[i].centre_mm.x + (k & 1 ? half : -half),
                                          card->markers[i].centre_mm.y + (k & 2 ? half : -half), 0};
    for (int i = 0; i < c->shape.arm_count; i++) {
        double a = c->shape.arms[i].angle_deg * RAD, r = c->shape.arms[i].reach_mm;
        beads[n++] = (struct bead){{r * cos(a), r * sin(a), 0}, true};
    }
    beads[n++] = (struct bead){{0, 0, 0}, true};
    half = c->crank.sticker ? c->crank.sticker->face.marker_mm / 2 : 0;
    for (int k = 0; k < 4 && half > 0; k++)
        beads[n++].at = case_sticker_to_card(c, k & 1 ? half : -half, k & 2 ? half : -half);
    return n;
}

static struct vec3 bead_place(const struct photo_case *c, const struct bead *bead)
{
    return bead->on_part ? case_part_to_card(c, bead->at) : bead->at;
}

static double bead_radius_px(void)
{
    return 4;
}

/* Two renders would cost twice: beads glow red, the silhouette green. */
static bool write_check_scene(const struct photo_case *c, const struct bead *beads, int n,
                              bool silhouette, const char *path)
{
    FILE *to = fopen(path, "w");
    if (!to)
        return false;
    fputs("#version 3.7;\nglobal_settings { assumed_gamma 1.0 }\n", to);
    scene_write_camera(c, to);
    for (int i = 0; i < n && !silhouette; i++) {
        struct vec3 p = bead_place(c, &beads[i]);
        double depth = vec3_dot(vec3_add(p, vec3_scale(c->camera.position, -1)), c->camera.forward);
        fprintf(to,
                "sphere { <%.9g, %.9g, %.9g>, %.9g pigment { rgb 1 } finish { ambient 0 diffuse 0 "
                "emission 1 }\n",
                beads[i].at.x, beads[i].at.y, beads[i].at.z,
                bead_radius_px() * depth / c->camera.focal_px);
        if (beads[i].on_part)
            scene_write_part_matrix(c, to);
        fputs("}\n", to);
    }
    bool good = true;
    if (silhouette) {
        good =
            shape_write_mesh(&c->shape, strcmp(c->card->size, "long") == 0 ? 0.24 : 0.15, to) > 0;
        fputs("pigment { rgb 1 } finish { ambient 0 diffuse 0 emission 1 }\n", to);
        scene_write_part_matrix(c, to);
        fputs("}\n", to);
    }
    return fclose(to) == 0 && good;
}

static double light_at(const struct light_map *photo, int x, int y)
{
    if (x < 0 || y < 0 || x >= photo->width || y >= photo->height)
        return 0;
    return photo->rgb[((size_t)y * photo->width + x) * 3];
}

/* Centroid of the glow near a place; false when it is cut off or shares the place. */
static bool find_bead(const struct light_map *photo, struct vision_point near,
                      struct vision_point *out)
{
    double sum = 0, sx = 0, sy = 0, area = 3.14159 * bead_radius_px() * bead_radius_px();
    for (int j = -8; j <= 8; j++)
        for (int i = -8; i <= 8; i++) {
            int x = (int)lround(near.x) + i, y = (int)lround(near.y) + j;
            double v = light_at(photo, x, y);
            sum += v;
            sx += v * x;
            sy += v * y;
        }
    if (sum < 0.9 * area || sum > 1.1 * area)
        return false;
    *out = (struct vision_point){sx / sum, sy / sum};
    return true;
}

static void check_beads(const struct photo_case *c, const struct light_map *photo,
                        const struct bead *beads, int n, struct check_result *out)
{
    for (int i = 0; i < n; i++) {
        struct vision_point want = camera_project(&c->camera, bead_place(c, &beads[i])), found;
        if (!find_bead(photo, want, &found))
            continue;
        out->beads++;
        out->worst_px = fmax(out->worst_px, hypot(found.x - want.x, found.y - want.y));
    }
}

static double smooth_light(const struct light_map *photo, struct vision_point p)
{
    int x = (int)floor(p.x), y = (int)floor(p.y);
    double fx = p.x - x, fy = p.y - y;
    return (1 - fy) * ((1 - fx) * light_at(photo, x, y) + fx * light_at(photo, x + 1, y)) +
           fy * ((1 - fx) * light_at(photo, x, y + 1) + fx * light_at(photo, x + 1, y + 1));
}

static struct vec3 on_arm(const struct shape_arm *arm, double s, double n)
{
    double k = cos(arm->angle_deg * RAD), d = sin(arm->angle_deg * RAD);
    return (struct vec3){s * k - n * d, s * d + n * k, 0};
}

/* Where the silhouette ends when walking outwards from the axis at s; side is +1 or -1. */
static bool edge_at(const struct photo_case *c, const struct light_map *photo,
                    const struct shape_arm *arm, double s, int side, double *n_mm)
{
    const double step = 0.01, from = arm->tip_mm * 0.75;
    const int steps = (int)((arm->root_mm + 3 - from) / step);
    double before = 1;
    for (int i = 0; i < steps; i++) {
        double n = from + i * step;
        struct vec3 at = case_part_to_card(c, on_arm(arm, s, side * n));
        double v = smooth_light(photo, camera_project(&c->camera, at));
        if (v < 0.5) {
            *n_mm = side * (n - step * (0.5 - v) / fmax(before - v, 1e-9));
            return before > v;
        }
        before = v;
    }
    return false;
}

/* Slope of both sides together: a taper cancels, a turn does not. */
static bool arm_turn(const struct photo_case *c, const struct light_map *photo,
                     const struct shape_arm *arm, double *turn_deg, double *shift_mm)
{
    double s0 = fmax(arm->reach_mm * 0.5, c->shape.hub_mm + c->shape.blend_mm + 0.8),
           s1 = arm->reach_mm - arm->tip_mm - 1.2;
    if (c->shape.rim_mm > 0) /* a spoke is straight up to the fillet at the rim */
        s1 = c->shape.rim_mm - c->shape.rim_wide_mm - c->shape.blend_mm - 0.8;
    double mean = (s0 + s1) / 2, top = 0, bottom = 0;
    enum { STEPS = 60 };
    for (int i = 0; i < STEPS; i++) {
        double s = s0 + (s1 - s0) * i / (STEPS - 1), left, right;
        if (!edge_at(c, photo, arm, s, 1, &left) || !edge_at(c, photo, arm, s, -1, &right))
            return false;
        top += (s - mean) * (left + right) / 2;
        bottom += (s - mean) * (s - mean);
    }
    *turn_deg = atan(top / bottom) / RAD;
    *shift_mm = fabs(top / bottom) * (s1 - s0);
    return s1 > s0 + 1.5;
}

/* Holes reach the photo as dark spots, so edges are looked for from three quarters of the half
 * width outwards; fillets spoil what is near the hub, which is left out. */
static void check_arms(const struct photo_case *c, const struct light_map *photo,
                       struct check_result *out)
{
    struct vec3 to_hub = vec3_add(c->hub, vec3_scale(c->camera.position, -1));
    double px_per_mm = c->camera.focal_px / vec3_dot(to_hub, c->camera.forward);
    for (int i = 0; i < c->shape.arm_count && c->shape.disc_mm <= 0; i++) {
        double turn, shift;
        struct vec3 tip = on_arm(&c->shape.arms[i], c->shape.arms[i].reach_mm, 0);
        if (!camera_shows(&c->camera, case_part_to_card(c, tip)))
            continue;
        if (!arm_turn(c, photo, &c->shape.arms[i], &turn, &shift))
            continue;
        out->arms++;
        out->worst_arm_deg = fmax(out->worst_arm_deg, fabs(turn));
        out->worst_arm_px = fmax(out->worst_arm_px, shift * px_per_mm);
    }
}

/* Curved sides seen at an angle shift against each other along the arm, which turns the line
 * midway between them although the arm has not turned; so the check looks at straight ones. */
static struct photo_case straightened(const struct photo_case *c)
{
    struct photo_case straight = *c;
    for (int i = 0; i < straight.shape.arm_count; i++)
        straight.shape.arms[i].concave_mm = 0;
    return straight;
}

bool check_case(const struct photo_case *curved, const char *work_dir, render_fn *render,
                struct check_result *out)
{
    const struct photo_case straight = straightened(curved), *c = &straight;
    struct bead beads[MAX_BEADS] = {0};
    int n = place_beads(c, beads);
    char scene[700], png[700], log[700];
    bool good = true;
    *out = (struct check_result){0};
    snprintf(scene, sizeof scene, "%s/%s.check.pov", work_dir, curved->name);
    snprintf(png, sizeof png, "%s/%s.check.png", work_dir, curved->name);
    snprintf(log, sizeof log, "%s/%s.check.log", work_dir, curved->name);
    /* Of a hidden crank the sticker alone counts. */
    const int passes = c->crank.sticker ? 1 : 2;
    for (int pass = 0; pass < passes && good; pass++) {
        struct light_map photo = {0};
        good = write_check_scene(c, beads, n, pass == 1, scene) &&
               render(c, true, scene, png, log) && develop_geometry(c, png, &photo);
        if (good && pass == 0)
            check_beads(c, &photo, beads, n, out);
        else if (good)
            check_arms(c, &photo, out);
        light_map_clear(&photo);
    }
    if (good) {
        unlink(scene);
        unlink(png);
        unlink(log);
    }
    return good;
}
