#include "job_demo_photo.h"

#include "card_draw.h"
#include "safe_file.h"
#include "vision.h"

#include <cairo.h>
#include <errno.h>
#include <jpeglib.h>
#include <math.h>
#include <stdlib.h>

#define WIDTH 2016
#define HEIGHT 1512
#define HALF_X_MM 78.0 /* the drawn stretch of bench around the card's centre */
#define HALF_Y_MM 60.0
#define PX_PER_MM 20.0
#define DISTANCE_MM 260.0
#define FOCAL_PX 4150.0

static const double pi = 3.14159265358979323846;

static double rad(double deg)
{
    return deg * pi / 180;
}

/* A small generator of its own, so that the photos are the same everywhere (Marsaglia, Xorshift
 * RNGs, 2003, section 3: shifts 13, 17, 5). In [0, 1). */
static double chance(uint32_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 17;
    *state ^= *state << 5;
    return *state / 4294967296.0;
}

struct camera {
    double centre[3];                /* card frame, mm */
    double right[3], up[3], look[3]; /* unit vectors */
};

static struct camera camera_of(const struct demo_scene *s)
{
    double t = rad(s->tilt_deg), a = rad(s->tilt_toward_deg), r = rad(s->roll_deg);
    struct camera c = {
        {DISTANCE_MM * sin(t) * cos(a), DISTANCE_MM * sin(t) * sin(a), DISTANCE_MM * cos(t)},
        {0},
        {0},
        {-sin(t) * cos(a), -sin(t) * sin(a), -cos(t)}};
    /* Upright first: right is horizontal in the card's plane, then turned by the roll. */
    double x[3] = {-c.look[2], 0, c.look[0]}, norm = hypot(x[0], x[2]);
    x[0] /= norm;
    x[2] /= norm;
    double y[3] = {x[1] * c.look[2] - x[2] * c.look[1], x[2] * c.look[0] - x[0] * c.look[2],
                   x[0] * c.look[1] - x[1] * c.look[0]};
    for (int i = 0; i < 3; i++) {
        c.right[i] = cos(r) * x[i] + sin(r) * y[i];
        c.up[i] = -sin(r) * x[i] + cos(r) * y[i];
    }
    return c;
}

/* ---- What lies there: drawn in the card's plane, y down ----------------------------------- */

static void draw_bench(cairo_t *cr, uint32_t *seed)
{
    cairo_set_source_rgb(cr, 0.47, 0.39, 0.31);
    cairo_paint(cr);
    for (int i = 0; i < 260; i++) {
        double y = (chance(seed) * 2 - 1) * HALF_Y_MM, bend = chance(seed) * 3 - 1.5;
        double shade = chance(seed) < 0.5 ? 0.1 : 0.75;
        cairo_set_source_rgba(cr, shade, shade * 0.85, shade * 0.7, 0.03 + 0.06 * chance(seed));
        cairo_set_line_width(cr, 0.15 + 0.7 * chance(seed));
        cairo_move_to(cr, -HALF_X_MM, y);
        cairo_curve_to(cr, -20, y + bend, 20, y - bend, HALF_X_MM, y + bend);
        cairo_stroke(cr);
    }
}

/* The servo's case, butted against the long edge below the card. */
static void draw_case(cairo_t *cr, double edge_mm)
{
    cairo_rectangle(cr, -32, edge_mm + 0.2, 50, 24);
    cairo_set_source_rgb(cr, 0.11, 0.11, 0.12);
    cairo_fill(cr);
    cairo_rectangle(cr, -32, edge_mm + 0.2, 50, 0.7);
    cairo_set_source_rgb(cr, 0.24, 0.24, 0.25);
    cairo_fill(cr);
}

/* One arm with its holes, along +x, as part of the path. */
static void arm_path(cairo_t *cr, double length)
{
    const double root = 4.1, tip = 2.9;
    cairo_move_to(cr, 0, -root);
    cairo_line_to(cr, length - tip, -tip);
    cairo_arc(cr, length - tip, 0, tip, -pi / 2, pi / 2);
    cairo_line_to(cr, 0, root);
    cairo_close_path(cr);
}

static void horn_fill(cairo_t *cr, const struct demo_scene *s)
{
    for (int i = 0; i < s->arms; i++) {
        cairo_save(cr);
        cairo_rotate(cr, -rad(s->arm_deg + 360.0 * i / s->arms));
        arm_path(cr, s->arm_mm);
        cairo_restore(cr);
        cairo_fill(cr);
    }
    cairo_arc(cr, 0, 0, 6.2, 0, 2 * pi);
    cairo_fill(cr);
}

static void horn_details(cairo_t *cr, const struct demo_scene *s, double shade)
{
    for (int i = 0; i < s->arms; i++) {
        cairo_save(cr);
        cairo_rotate(cr, -rad(s->arm_deg + 360.0 * i / s->arms));
        for (int h = 0; h < 3; h++) {
            cairo_arc(cr, s->arm_mm - 3.2 - 3.4 * h, 0, 0.8, 0, 2 * pi);
            cairo_set_source_rgb(cr, shade * 0.35, shade * 0.35, shade * 0.37);
            cairo_fill(cr);
        }
        cairo_restore(cr);
    }
    cairo_arc(cr, 0, 0, 2.9, 0, 2 * pi);
    cairo_set_source_rgb(cr, 0.62, 0.62, 0.63);
    cairo_fill(cr);
    cairo_set_source_rgb(cr, 0.25, 0.25, 0.26);
    cairo_set_line_width(cr, 0.7);
    cairo_move_to(cr, -1.7, -0.5);
    cairo_line_to(cr, 1.7, 0.5);
    cairo_move_to(cr, 0.5, -1.7);
    cairo_line_to(cr, -0.5, 1.7);
    cairo_stroke(cr);
}

/* Moves cr into the plane height_mm above the card: seen from the camera it is the card's plane
 * scaled by s = Cz / (Cz - h) away from the point below the camera. */
static void rise(cairo_t *cr, const struct camera *camera, double height_mm)
{
    double s = camera->centre[2] / (camera->centre[2] - height_mm);
    cairo_translate(cr, -(s - 1) * camera->centre[0], (s - 1) * camera->centre[1]);
    cairo_scale(cr, s, s);
}

static void draw_shadow(cairo_t *cr, const struct demo_scene *s, uint32_t *seed)
{
    double away = chance(seed) * 2 * pi, far = 0.45 * s->height_mm;
    cairo_set_source_rgba(cr, 0.05, 0.04, 0.08, 0.022);
    for (int i = 0; i < 24; i++) {
        double soft = 0.22 * s->height_mm * sqrt(chance(seed)), turn = chance(seed) * 2 * pi;
        cairo_save(cr);
        cairo_translate(cr, far * cos(away) + soft * cos(turn), far * sin(away) + soft * sin(turn));
        horn_fill(cr, s);
        cairo_restore(cr);
    }
}

static void draw_horn(cairo_t *cr, const struct demo_scene *s, const struct camera *camera)
{
    static const double colour[][3] = {[DEMO_BLACK] = {0.13, 0.13, 0.14},
                                       [DEMO_WHITE] = {0.9, 0.9, 0.88},
                                       [DEMO_SILVER] = {0.66, 0.67, 0.69},
                                       [DEMO_BLUE] = {0.1, 0.19, 0.55}};
    const double *c = colour[s->finish];
    for (int layer = 0; layer <= 8; layer++) { /* its thickness, from the back to the front */
        double shade = layer < 8 ? 0.72 : 1;
        cairo_save(cr);
        rise(cr, camera, s->height_mm - 1.6 + 0.2 * layer);
        cairo_set_source_rgb(cr, c[0] * shade, c[1] * shade, c[2] * shade);
        horn_fill(cr, s);
        if (layer == 8)
            horn_details(cr, s, c[1]);
        cairo_restore(cr);
    }
}

static cairo_surface_t *draw_plane(const struct demo_scene *s, const struct camera *camera)
{
    uint32_t seed = s->seed * 2654435761u + 1;
    const struct vision_card *card = vision_card_by_name("hand-duo");
    cairo_surface_t *plane = cairo_image_surface_create(
        CAIRO_FORMAT_RGB24, (int)(2 * HALF_X_MM * PX_PER_MM), (int)(2 * HALF_Y_MM * PX_PER_MM));
    cairo_t *cr = cairo_create(plane);
    cairo_scale(cr, PX_PER_MM, PX_PER_MM);
    cairo_translate(cr, HALF_X_MM, HALF_Y_MM);
    draw_bench(cr, &seed);
    if (card) {
        draw_case(cr, card->height_mm / 2);
        cairo_rectangle(cr, -card->width_mm / 2 + 0.5, -card->height_mm / 2 + 0.5, card->width_mm,
                        card->height_mm);
        cairo_set_source_rgba(cr, 0, 0, 0, 0.25);
        cairo_fill(cr);
        card_draw(cr, card, 0);
    }
    draw_shadow(cr, s, &seed);
    draw_horn(cr, s, camera);
    cairo_destroy(cr);
    cairo_surface_flush(plane);
    return plane;
}

/* ---- The camera --------------------------------------------------------------------------- */

/* Where the ray through a photo point meets the card's plane, in pixels of the drawing. */
static void meet_plane(const struct camera *c, double x, double y, double *px, double *py)
{
    double across = (x - WIDTH / 2.0) / FOCAL_PX, down = (y - HEIGHT / 2.0) / FOCAL_PX, ray[3];
    for (int i = 0; i < 3; i++)
        ray[i] = c->look[i] + across * c->right[i] - down * c->up[i];
    double t = -c->centre[2] / ray[2];
    *px = (c->centre[0] + t * ray[0] + HALF_X_MM) * PX_PER_MM - 0.5;
    *py = (HALF_Y_MM - c->centre[1] - t * ray[1]) * PX_PER_MM - 0.5;
}

static void sample(const unsigned char *plane, int width, int height, int stride, double x,
                   double y, double out[3])
{
    x = fmin(fmax(x, 0), width - 1.001);
    y = fmin(fmax(y, 0), height - 1.001);
    int ix = (int)x, iy = (int)y;
    double fx = x - ix, fy = y - iy;
    for (int c = 0; c < 3; c++) {
        const unsigned char *at = plane + (size_t)iy * (size_t)stride + (size_t)ix * 4 + (2 - c);
        double top = at[0] * (1 - fx) + at[4] * fx;
        double low = at[stride] * (1 - fx) + at[stride + 4] * fx;
        out[c] += top * (1 - fy) + low * fy;
    }
}

/* One row of the photo: four samples a pixel, light falling off to the corners, a little noise. */
static void expose_row(const struct camera *camera, cairo_surface_t *plane, int y, uint32_t *seed,
                       unsigned char *row)
{
    const unsigned char *pixels = cairo_image_surface_get_data(plane);
    int width = cairo_image_surface_get_width(plane),
        height = cairo_image_surface_get_height(plane);
    int stride = cairo_image_surface_get_stride(plane);
    for (int x = 0; x < WIDTH; x++) {
        double sum[3] = {0}, px, py;
        for (int i = 0; i < 4; i++) {
            meet_plane(camera, x + 0.25 + 0.5 * (i & 1), y + 0.25 + 0.5 * (i >> 1), &px, &py);
            sample(pixels, width, height, stride, px, py, sum);
        }
        double off = hypot(x - WIDTH / 2.0, y - HEIGHT / 2.0) / 1260;
        double light = (0.93 + 0.06 * x / WIDTH) * (1 - 0.12 * off * off);
        for (int c = 0; c < 3; c++) {
            double noise = chance(seed) + chance(seed) + chance(seed) - 1.5;
            row[3 * x + c] = (unsigned char)fmin(fmax(sum[c] / 4 * light + 4 * noise, 0), 255);
        }
    }
}

static void develop(const struct camera *camera, cairo_surface_t *plane, uint32_t seed, FILE *to,
                    unsigned char *row)
{
    struct jpeg_compress_struct info;
    struct jpeg_error_mgr errors;
    info.err = jpeg_std_error(&errors);
    jpeg_create_compress(&info);
    jpeg_stdio_dest(&info, to);
    info.image_width = WIDTH;
    info.image_height = HEIGHT;
    info.input_components = 3;
    info.in_color_space = JCS_RGB;
    jpeg_set_defaults(&info);
    jpeg_set_quality(&info, 88, TRUE);
    jpeg_start_compress(&info, TRUE);
    for (int y = 0; y < HEIGHT; y++) {
        JSAMPROW line = row;
        expose_row(camera, plane, y, &seed, row);
        jpeg_write_scanlines(&info, &line, 1);
    }
    jpeg_finish_compress(&info);
    jpeg_destroy_compress(&info);
}

bool job_demo_photo(const struct demo_scene *scene, const char *path)
{
    struct safe_file file;
    struct camera camera = camera_of(scene);
    cairo_surface_t *plane = draw_plane(scene, &camera);
    unsigned char *row = malloc(3 * WIDTH);
    bool good = row && cairo_surface_status(plane) == CAIRO_STATUS_SUCCESS;
    if (!good)
        errno = ENOMEM;
    good = good && safe_file_open(&file, path);
    if (good) {
        develop(&camera, plane, scene->seed * 747796405u + 12345, file.stream, row);
        good = safe_file_commit(&file);
    }
    cairo_surface_destroy(plane);
    free(row);
    return good;
}
