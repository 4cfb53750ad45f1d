#include "develop.h"
#include "photo_file.h"
#include "scene.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RAD (3.14159265358979323846 / 180)

/* ---- lens ----------------------------------------------------------------------------------- */

static double cubic(double t)
{
    t = fabs(t); /* Catmull-Rom: passes through the samples, so that 0 distortion changes nothing */
    if (t < 1)
        return 1.5 * t * t * t - 2.5 * t * t + 1;
    return t < 2 ? -0.5 * t * t * t + 2.5 * t * t - 4 * t + 2 : 0;
}

static void sample(const struct light_map *map, double x, double y, float *out)
{
    int i0 = (int)floor(x), j0 = (int)floor(y);
    double sum[3] = {0};
    for (int j = j0 - 1; j <= j0 + 2; j++)
        for (int i = i0 - 1; i <= i0 + 2; i++) {
            int ci = i < 0 ? 0 : i >= map->width ? map->width - 1 : i;
            int cj = j < 0 ? 0 : j >= map->height ? map->height - 1 : j;
            double w = cubic(x - i) * cubic(y - j);
            for (int k = 0; k < 3; k++)
                sum[k] += w * map->rgb[((size_t)cj * map->width + ci) * 3 + k];
        }
    for (int k = 0; k < 3; k++)
        out[k] = (float)fmax(sum[k], 0);
}

static bool bend_through_lens(const struct photo_case *c, const struct light_map *render,
                              struct light_map *out)
{
    const struct camera *camera = &c->camera;
    int margin = (render->width - camera->width_px) / 2;
    *out = (struct light_map){camera->width_px, camera->height_px, NULL};
    out->rgb = malloc((size_t)out->width * out->height * 3 * sizeof *out->rgb);
    if (!out->rgb)
        return false;
    for (int j = 0; j < out->height; j++)
        for (int i = 0; i < out->width; i++) {
            struct vision_point p = camera_undistort(camera, (struct vision_point){i, j});
            sample(render, p.x + margin, p.y + margin, &out->rgb[((size_t)j * out->width + i) * 3]);
        }
    return true;
}

/* ---- blur ----------------------------------------------------------------------------------- */

/* One-dimensional filter along x (step 3) or y, edges repeated. */
static bool filter_lines(struct light_map *map, const double *weights, int half, bool along_y)
{
    int n = along_y ? map->height : map->width, lines = along_y ? map->width : map->height;
    size_t step = along_y ? (size_t)map->width * 3 : 3,
           line_step = along_y ? 3 : (size_t)map->width * 3;
    float *copy = malloc((size_t)n * 3 * sizeof *copy);
    if (!copy)
        return false;
    for (int l = 0; l < lines; l++) {
        float *line = map->rgb + l * line_step;
        for (int i = 0; i < n; i++)
            memcpy(copy + (size_t)i * 3, line + i * step, 3 * sizeof *copy);
        for (int i = 0; i < n; i++)
            for (int k = 0; k < 3; k++) {
                double sum = 0;
                for (int w = -half; w <= half; w++) {
                    int at = i + w < 0 ? 0 : i + w >= n ? n - 1 : i + w;
                    sum += weights[w + half] * copy[(size_t)at * 3 + k];
                }
                line[i * step + k] = (float)sum;
            }
    }
    free(copy);
    return true;
}

static bool gaussian(struct light_map *map, double sigma)
{
    double weights[65] = {0}, total = 0;
    int half = (int)ceil(sigma * 3.5);
    if (sigma <= 0)
        return true;
    if (half > 32)
        half = 32;
    for (int i = -half; i <= half; i++)
        weights[i + half] = exp(-0.5 * i * i / (sigma * sigma));
    for (int i = 0; i <= 2 * half; i++)
        total += weights[i];
    for (int i = 0; i <= 2 * half; i++)
        weights[i] /= total;
    return filter_lines(map, weights, half, false) && filter_lines(map, weights, half, true);
}

/* Mean over a disc (defocus) or a line (motion), given as offsets. */
static bool mean_of_shifts(struct light_map *map, const struct vision_point *shifts, int n)
{
    size_t count = (size_t)map->width * map->height * 3;
    float *sum = calloc(count, sizeof *sum);
    if (!sum)
        return false;
    for (int j = 0; j < map->height; j++)
        for (int i = 0; i < map->width; i++)
            for (int s = 0; s < n; s++) {
                double x = fmin(fmax(i + shifts[s].x, 0), map->width - 1.001);
                double y = fmin(fmax(j + shifts[s].y, 0), map->height - 1.001);
                int xi = (int)x, yi = (int)y;
                float fx = (float)(x - xi), fy = (float)(y - yi);
                const float *p = map->rgb + ((size_t)yi * map->width + xi) * 3,
                            *q = p + (size_t)map->width * 3;
                for (int k = 0; k < 3; k++)
                    sum[((size_t)j * map->width + i) * 3 + k] +=
                        (1 - fy) * ((1 - fx) * p[k] + fx * p[k + 3]) +
                        fy * ((1 - fx) * q[k] + fx * q[k + 3]);
            }
    for (size_t i = 0; i < count; i++)
        map->rgb[i] = sum[i] / (float)n;
    free(sum);
    return true;
}

static struct vision_point polar(double r, double a_rad)
{
    struct vision_point p;
    p.x = r * cos(a_rad);
    p.y = r * sin(a_rad);
    return p;
}

/* Points spread evenly over a disc (sunflower pattern), symmetric about the centre. */
static bool defocus(struct light_map *map, double radius)
{
    struct vision_point shifts[128];
    int half = radius > 8 ? 64 : 24;
    if (radius <= 0)
        return true;
    for (int i = 0; i < half; i++) {
        double r = radius * sqrt((i + 0.5) / half), a = i * 2.39996322972865332;
        shifts[2 * i] = polar(r, a);
        shifts[2 * i + 1] = polar(-r, a);
    }
    return mean_of_shifts(map, shifts, 2 * half);
}

static bool motion(struct light_map *map, double length, double angle_deg)
{
    struct vision_point shifts[24];
    int n = 24;
    if (length <= 0)
        return true;
    for (int i = 0; i < n; i++) {
        double s = length * ((i + 0.5) / n - 0.5);
        shifts[i] = polar(s, angle_deg * RAD);
    }
    return mean_of_shifts(map, shifts, n);
}

/* Radius of the circle of confusion at a photo position, for what lies in the plane of the arms. */
static double depth_radius_px(const struct photo_case *c, double x, double y)
{
    struct vec3 ray = camera_ray(&c->camera, (struct vision_point){x, y});
    if (ray.z > -1e-3)
        return 0;
    /* camera_ray advances by 1 along the optical axis, so that this is the depth. */
    double depth = (c->hub.z - c->camera.position.z) / ray.z;
    return fmin(c->depth_blur_px * fabs(1 - c->focus_mm / depth), 12);
}

double develop_depth_blur_px(const struct photo_case *c)
{
    double most = 0;
    for (int i = 0; i < c->shape.arm_count && c->has_part && c->depth_blur_px > 0; i++) {
        const struct shape_arm *arm = &c->shape.arms[i];
        struct vec3 tip = {arm->reach_mm * cos(arm->angle_deg * RAD),
                           arm->reach_mm * sin(arm->angle_deg * RAD), 0};
        struct vision_point px = camera_project(&c->camera, case_part_to_card(c, tip));
        most = fmax(most, depth_radius_px(c, px.x, px.y));
    }
    return most;
}

/* A disc whose radius grows with the distance from the plane in focus. */
static bool depth_blur(const struct photo_case *c, struct light_map *map)
{
    enum { SHIFTS = 32 };
    size_t count = (size_t)map->width * map->height * 3;
    float *out = c->depth_blur_px > 0 ? malloc(count * sizeof *out) : NULL;
    if (!out)
        return c->depth_blur_px <= 0;
    for (int j = 0; j < map->height; j++)
        for (int i = 0; i < map->width; i++) {
            double r = depth_radius_px(c, i, j), sum[3] = {0};
            for (int s = 0; s < SHIFTS; s++) {
                /* Even over the disc: Vogel's spiral, golden angle 2.39996 rad. */
                struct vision_point p = polar(r * sqrt((s + 0.5) / SHIFTS), s * 2.39996323);
                float rgb[3];
                sample(map, i + p.x, j + p.y, rgb);
                for (int k = 0; k < 3; k++)
                    sum[k] += rgb[k] / SHIFTS;
            }
            for (int k = 0; k < 3; k++)
                out[((size_t)j * map->width + i) * 3 + k] = (float)sum[k];
        }
    memcpy(map->rgb, out, count * sizeof *out);
    free(out);
    return true;
}

/* ---- exposure and colour -------------------------------------------------------------------- */

static double luma(const float *p)
{
    return 0.2126 * p[0] + 0.7152 * p[1] + 0.0722 * p[2];
}

static int by_value(const void *a, const void *b)
{
    float x = *(const float *)a, y = *(const float *)b;
    return x < y ? -1 : x > y;
}

/* Bright paper of the card: the level that seven in a hundred points of the card exceed, and the
 * mean colour there. Meters on the whole photo when there is no card to speak of. */
static void meter(const struct photo_case *c, const struct light_map *map, double *level,
                  double *rgb)
{
    enum { N = 128 };
    static float values[N * N];
    static float samples[N * N][3];
    int n = 0;
    bool whole = !case_shows_card(c) || c->negative == NEGATIVE_FAR;
    for (int j = 0; j < N; j++)
        for (int i = 0; i < N; i++) {
            double u = (i + 0.5) / N, v = (j + 0.5) / N;
            struct vec3 at = {(u - 0.5) * c->card->width_mm, (v - 0.5) * c->card->height_mm, 0};
            struct vision_point p = {u * map->width, v * map->height};
            if (!whole)
                p = camera_project(&c->camera, at);
            if (p.x < 0 || p.y < 0 || p.x >= map->width || p.y >= map->height)
                continue;
            memcpy(samples[n], map->rgb + ((size_t)p.y * map->width + (size_t)p.x) * 3,
                   sizeof samples[0]);
            values[n] = (float)luma(samples[n]);
            n++;
        }
    static float sorted[N * N];
    memcpy(sorted, values, sizeof sorted);
    qsort(sorted, (size_t)n, sizeof *sorted, by_value);
    *level = n > 0 ? sorted[(int)(n * 0.93)] : 1;
    double sum[3] = {0}, total = 0;
    for (int i = 0; i < n; i++)
        if (values[i] >= *level && values[i] <= *level * 1.5)
            for (int k = 0; k < 3; k++)
                sum[k] += samples[i][k], total += samples[i][k] / 3;
    for (int k = 0; k < 3; k++)
        rgb[k] = total > 0 ? sum[k] * 1.0 / total : 1;
}

static void expose(const struct photo_case *c, struct light_map *map)
{
    double level, rgb[3];
    meter(c, map, &level, rgb);
    double gain = 0.80 / fmax(level, 1e-4) * pow(2, c->stops);
    size_t n = (size_t)map->width * map->height;
    for (size_t i = 0; i < n; i++) {
        size_t row = i / map->width;
        double x = (double)(i % map->width) / map->width - 0.5;
        double y = (double)row / map->height - 0.5;
        double vignette = 1 - 0.22 * (x * x + y * y);
        for (int k = 0; k < 3; k++)
            map->rgb[i * 3 + k] *= (float)(gain * vignette / pow(rgb[k], c->white_balance));
    }
}

/* Shot noise grows with the light, read noise does not; demosaicing and the phone's own smoothing
 * spread both over neighbours. */
static bool add_noise(const struct photo_case *c, struct light_map *map, struct draw *d)
{
    size_t n = (size_t)map->width * map->height * 3;
    struct light_map grain = {map->width, map->height, malloc(n * sizeof *grain.rgb)};
    if (!grain.rgb)
        return false;
    for (size_t i = 0; i < n; i++)
        grain.rgb[i] = (float)draw_normal(d);
    bool good = gaussian(&grain, 0.7);
    for (size_t i = 0; i < n && good; i++) {
        double light = map->rgb[i], shot = 0.0010 * light, read = 0.0018;
        map->rgb[i] +=
            (float)(2.4 * c->noise * 0.5 * sqrt(shot * 0.5 + read * read) * grain.rgb[i]);
    }
    light_map_clear(&grain);
    return good;
}

static double tone_curve(double v, double strength)
{
    double s = v * v * (3 - 2 * v);
    return v + strength * (s - v);
}

static bool encode(const struct photo_case *c, struct light_map *map, uint8_t *out)
{
    size_t n = (size_t)map->width * map->height * 3;
    for (size_t i = 0; i < n; i++)
        map->rgb[i] = (float)tone_curve(photo_srgb(map->rgb[i]), c->tone);
    struct light_map soft = {map->width, map->height, malloc(n * sizeof *soft.rgb)};
    if (!soft.rgb)
        return false;
    memcpy(soft.rgb, map->rgb, n * sizeof *soft.rgb);
    bool good = c->sharpen <= 0 || gaussian(&soft, 1.2);
    for (size_t i = 0; i < n && good; i++) {
        double v = map->rgb[i] + c->sharpen * (map->rgb[i] - soft.rgb[i]);
        out[i] = (uint8_t)lround(255 * fmin(fmax(v, 0), 1));
    }
    light_map_clear(&soft);
    return good;
}

/* ---- the file ------------------------------------------------------------------------------- */

/* As stored by a camera that writes this orientation: where stored pixel (i, j) shows in the
 * viewed photo of w x h. EXIF (CIPA DC-008) tag 0x0112. */
static void viewed_from_stored(int orientation, int w, int h, int i, int j, int *x, int *y)
{
    int a = orientation >= 5 ? j : i, b = orientation >= 5 ? i : j;
    bool flip_x = orientation == 2 || orientation == 3 || orientation == 6 || orientation == 7;
    bool flip_y = orientation == 3 || orientation == 4 || orientation == 7 || orientation == 8;
    *x = flip_x ? w - 1 - a : a;
    *y = flip_y ? h - 1 - b : b;
}

static bool store(const struct photo_case *c, const uint8_t *viewed, const char *path)
{
    int w = c->camera.width_px, h = c->camera.height_px;
    int sw = c->orientation >= 5 ? h : w, sh = c->orientation >= 5 ? w : h;
    uint8_t *stored = malloc((size_t)w * h * 3);
    if (!stored)
        return false;
    for (int j = 0; j < sh; j++)
        for (int i = 0; i < sw; i++) {
            int x, y;
            viewed_from_stored(c->orientation, w, h, i, j, &x, &y);
            memcpy(stored + ((size_t)j * sw + i) * 3, viewed + ((size_t)y * w + x) * 3, 3);
        }
    /* A phone sensor of 7.0 mm diagonal. */
    struct jpeg_papers papers = {.quality = c->quality,
                                 .full_chroma = c->full_chroma,
                                 .exif = c->exif_any,
                                 .orientation = c->orientation};
    if (c->exif_focal) {
        papers.focal_mm = c->equivalent_mm * 7.0 / 43.27;
        papers.equivalent_mm = (int)lround(c->equivalent_mm);
    }
    bool good = photo_write_jpeg(path, stored, sw, sh, &papers);
    free(stored);
    return good;
}

bool develop_geometry(const struct photo_case *c, const char *render_png, struct light_map *out)
{
    struct light_map render = {0};
    *out = (struct light_map){0};
    bool good = photo_read_linear_png(render_png, &render) && bend_through_lens(c, &render, out);
    light_map_clear(&render);
    return good;
}

bool develop_photo(const struct photo_case *c, const char *render_png, const char *photo_jpg)
{
    struct light_map photo;
    struct draw d = draw_seeded(c->seed ^ 0x5eedf00dULL);
    uint8_t *pixels = NULL;
    bool good = develop_geometry(c, render_png, &photo);
    good = good && gaussian(&photo, c->soft_px) && defocus(&photo, c->defocus_px) &&
           motion(&photo, c->motion_px, c->motion_deg) && depth_blur(c, &photo);
    if (good)
        expose(c, &photo);
    good = good && add_noise(c, &photo, &d);
    good = good && (pixels = malloc((size_t)photo.width * photo.height * 3)) &&
           encode(c, &photo, pixels) && store(c, pixels, photo_jpg);
    free(pixels);
    light_map_clear(&photo);
    return good;
}
