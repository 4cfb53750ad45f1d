#include "flat_scene.h"

#include "sheet/card_draw.h"
#include "vision.h"

#include <cairo.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WIDTH_PX 1500
#define HEIGHT_PX 1000
#define RAD (3.14159265358979323846 / 180)
#define WAVE_MM 4.0
#define HUB_MM 4.2

static cairo_t *new_bench(void)
{
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, WIDTH_PX, HEIGHT_PX);
    cairo_t *cr = cairo_create(surface);
    cairo_surface_destroy(surface); /* the context keeps it */
    cairo_set_source_rgb(cr, 0.45, 0.36, 0.28);
    cairo_paint(cr);
    return cr;
}

static void draw_card(cairo_t *cr)
{
    const struct vision_card *card = vision_card_by_name("hand-duo");
    cairo_save(cr);
    cairo_translate(cr, WIDTH_PX / 2.0, HEIGHT_PX / 2.0);
    cairo_scale(cr, FLAT_SCENE_PX_PER_MM, FLAT_SCENE_PX_PER_MM);
    card_draw(cr, card, 0);
    cairo_restore(cr);
}

/* Millimetres from the card's middle, y up. */
static void use_card_frame(cairo_t *cr)
{
    cairo_translate(cr, WIDTH_PX / 2.0, HEIGHT_PX / 2.0);
    cairo_scale(cr, FLAT_SCENE_PX_PER_MM, -FLAT_SCENE_PX_PER_MM);
}

struct flat_arm flat_arm_usual(double deg)
{
    return (struct flat_arm){.deg = deg, .length_mm = 15, .root_mm = {3, 3}, .tip_mm = {2, 2}};
}

/* Its left side, or its right one, as far as the round end. */
static void arm_side(const struct flat_arm *arm, int side, double share, double *x, double *y)
{
    double end = arm->length_mm - (arm->tip_mm[0] + arm->tip_mm[1]) / 2;
    double half = arm->root_mm[side] + share * (arm->tip_mm[side] - arm->root_mm[side]);
    *x = share * end;
    *y = (side ? -half : half) + arm->wave_mm * sin(*x * 360 / WAVE_MM * RAD);
}

/* A tapered arm with a round end, along x. */
static void draw_arm(cairo_t *cr, const struct flat_arm *arm)
{
    enum { STEPS = 60 };
    const double hole_mm = 1.6;
    double x, y, round = (arm->tip_mm[0] + arm->tip_mm[1]) / 2, wave;
    const double end = arm->length_mm - round;
    for (int i = 0; i <= STEPS; i++) {
        arm_side(arm, 1, (double)i / STEPS, &x, &y);
        cairo_line_to(cr, x, y);
    }
    wave = y + arm->tip_mm[1];
    cairo_arc(cr, x, wave + (arm->tip_mm[0] - arm->tip_mm[1]) / 2, round, -90 * RAD, 90 * RAD);
    for (int i = STEPS; i >= 0; i--) {
        arm_side(arm, 0, (double)i / STEPS, &x, &y);
        cairo_line_to(cr, x, y);
    }
    cairo_close_path(cr);
    if (arm->slot_mm > 0)
        cairo_rectangle(cr, HUB_MM + 0.3, -arm->slot_mm / 2, end - HUB_MM - 0.3, arm->slot_mm);
    for (int i = 0; i < 4; i++) {
        cairo_new_sub_path(cr);
        if (arm->hole_mm[i] > 0)
            cairo_arc(cr, arm->hole_mm[i], 0, hole_mm / 2, 0, 360 * RAD);
    }
    cairo_set_fill_rule(cr, CAIRO_FILL_RULE_EVEN_ODD);
    cairo_fill(cr);
}

/* Arms around a round hub, in the present colour. */
static void draw_arms(cairo_t *cr, const struct flat_arm *arms, int count)
{
    cairo_save(cr);
    use_card_frame(cr);
    cairo_arc(cr, 0, 0, HUB_MM, 0, 360 * RAD);
    cairo_fill(cr);
    for (int i = 0; i < count; i++) {
        cairo_save(cr);
        cairo_rotate(cr, arms[i].deg * RAD);
        draw_arm(cr, &arms[i]);
        cairo_restore(cr);
    }
    cairo_restore(cr);
}

static void draw_horn(cairo_t *cr, const double *arm_deg, int arm_count)
{
    struct flat_arm arms[VISION_MAX_ARMS];
    for (int i = 0; i < arm_count; i++)
        arms[i] = flat_arm_usual(arm_deg[i]);
    draw_arms(cr, arms, arm_count);
}

static void draw_link(cairo_t *cr, double arm_deg, const struct flat_link *link)
{
    double c = cos(arm_deg * RAD), s = sin(arm_deg * RAD);
    double x = link->along_mm * c - link->aside_mm * s;
    double y = link->along_mm * s + link->aside_mm * c;
    cairo_save(cr);
    use_card_frame(cr);
    cairo_set_line_width(cr, link->rod_mm);
    cairo_move_to(cr, x, y);
    cairo_rel_line_to(cr, 90 * cos(link->rod_deg * RAD), 90 * sin(link->rod_deg * RAD));
    cairo_stroke(cr);
    cairo_arc(cr, x, y, link->radius_mm, 0, 360 * RAD);
    cairo_fill(cr);
    cairo_restore(cr);
}

static void use_part_colour(cairo_t *cr)
{
    cairo_set_source_rgb(cr, 0.06, 0.06, 0.07);
}

static struct picture take(cairo_t *cr)
{
    cairo_surface_t *surface = cairo_get_target(cr);
    cairo_surface_flush(surface);
    if (cairo_status(cr) != CAIRO_STATUS_SUCCESS) {
        fputs("flat_scene: cannot draw\n", stderr);
        abort();
    }
    const uint8_t *data = cairo_image_surface_get_data(surface);
    size_t stride = (size_t)cairo_image_surface_get_stride(surface);
    struct picture picture = picture_new(WIDTH_PX, HEIGHT_PX);
    for (size_t y = 0; y < HEIGHT_PX; y++) {
        for (size_t x = 0; x < WIDTH_PX; x++) {
            uint32_t pixel;
            memcpy(&pixel, data + y * stride + 4 * x, sizeof pixel);
            uint8_t *to = picture.rgb + (y * WIDTH_PX + x) * 3;
            to[0] = (uint8_t)(pixel >> 16);
            to[1] = (uint8_t)(pixel >> 8);
            to[2] = (uint8_t)pixel;
        }
    }
    cairo_destroy(cr);
    return picture;
}

struct vision_point flat_scene_mm(const struct picture *p, int x, int y)
{
    return (struct vision_point){(x - (p->width - 1) / 2.0) / FLAT_SCENE_PX_PER_MM,
                                 ((p->height - 1) / 2.0 - y) / FLAT_SCENE_PX_PER_MM};
}

struct picture flat_scene(const double *arm_deg, int arm_count)
{
    return flat_scene_with_link(arm_deg, arm_count, NULL);
}

struct picture flat_scene_with_link(const double *arm_deg, int arm_count,
                                    const struct flat_link *link)
{
    cairo_t *cr = new_bench();
    draw_card(cr);
    use_part_colour(cr);
    draw_horn(cr, arm_deg, arm_count);
    if (link)
        draw_link(cr, arm_deg[0], link);
    return take(cr);
}

struct picture flat_scene_of_arms(const struct flat_arm *arms, int count)
{
    cairo_t *cr = new_bench();
    draw_card(cr);
    use_part_colour(cr);
    draw_arms(cr, arms, count);
    return take(cr);
}

struct picture flat_scene_with_hub_at(const struct flat_arm *arms, int count,
                                      struct vision_point hub_mm, double screw_mm)
{
    const double edge_mm = -vision_card_by_name("hand-duo")->height_mm / 2;
    cairo_t *cr = new_bench();
    draw_card(cr);
    cairo_save(cr);
    use_card_frame(cr);
    cairo_set_source_rgb(cr, 0.16, 0.16, 0.2);
    cairo_rectangle(cr, hub_mm.x - 8, edge_mm - 40, 16, 40);
    cairo_fill(cr);
    cairo_restore(cr);
    cairo_translate(cr, hub_mm.x * FLAT_SCENE_PX_PER_MM, -hub_mm.y * FLAT_SCENE_PX_PER_MM);
    use_part_colour(cr);
    draw_arms(cr, arms, count);
    use_card_frame(cr);
    cairo_set_source_rgb(cr, 0.6, 0.6, 0.6);
    cairo_arc(cr, 0, 0, screw_mm, 0, 360 * RAD);
    cairo_fill(cr);
    return take(cr);
}

struct picture flat_scene_disc(const double *hole_deg, int count)
{
    const double radius_mm = 8, at_mm = 6.3, hole_mm = 0.8;
    cairo_t *cr = new_bench();
    draw_card(cr);
    use_part_colour(cr);
    cairo_save(cr);
    use_card_frame(cr);
    cairo_arc(cr, 0, 0, radius_mm, 0, 360 * RAD);
    for (int i = 0; i < count; i++) {
        cairo_new_sub_path(cr);
        cairo_arc_negative(cr, at_mm * cos(hole_deg[i] * RAD), at_mm * sin(hole_deg[i] * RAD),
                           hole_mm, 360 * RAD, 0);
    }
    cairo_fill(cr);
    cairo_restore(cr);
    return take(cr);
}

struct picture flat_scene_two_parts(const double *arm_deg, int arm_count, const double x_mm[2])
{
    cairo_t *cr = new_bench();
    draw_card(cr);
    for (int i = 0; i < 2; i++) {
        cairo_save(cr);
        cairo_translate(cr, x_mm[i] * FLAT_SCENE_PX_PER_MM, 0);
        draw_horn(cr, arm_deg, arm_count);
        cairo_restore(cr);
    }
    return take(cr);
}

struct picture flat_scene_bare_card(void)
{
    cairo_t *cr = new_bench();
    draw_card(cr);
    return take(cr);
}

struct picture flat_scene_bench(void)
{
    return take(new_bench());
}

/* ---- Through a camera ---------------------------------------------------------------------- */

/* Columns of the card's x and y axis and place in the camera's frame (x right, y down, z away). The
 * card's y runs up, so it starts as minus the camera's. */
static void place(const struct flat_pose *pose, double m[3][3])
{
    double a = pose->roll_deg * RAD, b = pose->right_deg * RAD, c = pose->up_deg * RAD;
    const double axes[2][3] = {{cos(a), -sin(a), 0}, {-sin(a), -cos(a), 0}};
    for (int k = 0; k < 2; k++) {
        /* about the camera's y: the card's face, -z, turns towards +x; its right side moves away */
        double x = axes[k][0] * cos(b), y = axes[k][1], z = axes[k][0] * sin(b);
        /* about the camera's x: the face turns towards -y; its upper side moves away */
        m[k][0] = x;
        m[k][1] = y * cos(c) + z * sin(c);
        m[k][2] = -y * sin(c) + z * cos(c);
    }
    m[2][0] = pose->x_mm;
    m[2][1] = pose->y_mm;
    m[2][2] = pose->distance_mm;
}

void flat_camera_project(const struct flat_camera *camera, const struct flat_pose *pose,
                         double x_mm, double y_mm, double *x_px, double *y_px)
{
    double m[3][3], p[3];
    place(pose, m);
    for (int i = 0; i < 3; i++)
        p[i] = m[0][i] * x_mm + m[1][i] * y_mm + m[2][i];
    double x = p[0] / p[2], y = p[1] / p[2], q = x * x + y * y;
    double stretch = 1 + camera->k1 * q + camera->k2 * q * q;
    *x_px = camera->centre_x_px + camera->focal_px * x * stretch;
    *y_px = camera->centre_y_px + camera->focal_px * y * stretch;
}

/* Back to unit distance, by Newton's method: lenses here bend by some percent. */
static double straight(const struct flat_camera *camera, double bent)
{
    double r = bent;
    for (int i = 0; i < 5; i++) {
        double q = r * r;
        r -= (r * (1 + q * (camera->k1 + q * camera->k2)) - bent) /
             (1 + q * (3 * camera->k1 + 5 * q * camera->k2));
    }
    return r;
}

/* The card's point (mm) at a picture point; the plane's equation solved by Cramer's rule. */
static void back_to_card(const struct flat_camera *camera, double m[3][3], double x_px, double y_px,
                         double *x_mm, double *y_mm)
{
    double x = (x_px - camera->centre_x_px) / camera->focal_px;
    double y = (y_px - camera->centre_y_px) / camera->focal_px;
    double bent = hypot(x, y), back = bent > 0 ? straight(camera, bent) / bent : 1;
    x *= back;
    y *= back;
    double a = m[0][0] - x * m[0][2], b = m[1][0] - x * m[1][2], e = x * m[2][2] - m[2][0];
    double c = m[0][1] - y * m[0][2], d = m[1][1] - y * m[1][2], f = y * m[2][2] - m[2][1];
    double det = a * d - b * c;
    *x_mm = (e * d - b * f) / det;
    *y_mm = (a * f - e * c) / det;
}

/* Between the four pixels around a point; the bench beyond the picture. */
static void mix(const struct picture *from, double x, double y, double rgb[3])
{
    x = fmin(fmax(x, 0), from->width - 1.001);
    y = fmin(fmax(y, 0), from->height - 1.001);
    size_t i = (size_t)x, j = (size_t)y;
    double u = x - (double)i, v = y - (double)j;
    const uint8_t *top = from->rgb + (j * (size_t)from->width + i) * 3;
    const uint8_t *low = top + (size_t)from->width * 3;
    for (int k = 0; k < 3; k++)
        rgb[k] +=
            (1 - v) * ((1 - u) * top[k] + u * top[3 + k]) + v * ((1 - u) * low[k] + u * low[3 + k]);
}

struct picture flat_scene_through(const struct flat_camera *camera, const struct flat_pose *pose,
                                  const double *arm_deg, int arm_count)
{
    enum { FINE = 2 }; /* by as many samples each way */
    struct picture card = arm_count > 0 ? flat_scene(arm_deg, arm_count) : flat_scene_bare_card();
    struct picture out = picture_new(camera->width, camera->height);
    double m[3][3];
    place(pose, m);
    for (int j = 0; j < out.height; j++)
        for (int i = 0; i < out.width; i++) {
            double sum[3] = {0}, x, y;
            for (int k = 0; k < FINE * FINE; k++) {
                int right = k % FINE, down = k / FINE;
                back_to_card(camera, m, i + (right + 0.5) / FINE - 0.5,
                             j + (down + 0.5) / FINE - 0.5, &x, &y);
                mix(&card, WIDTH_PX / 2.0 + FLAT_SCENE_PX_PER_MM * x - 0.5,
                    HEIGHT_PX / 2.0 - FLAT_SCENE_PX_PER_MM * y - 0.5, sum);
            }
            for (int k = 0; k < 3; k++)
                out.rgb[((size_t)j * (size_t)out.width + (size_t)i) * 3 + (size_t)k] =
                    (uint8_t)lround(sum[k] / (FINE * FINE));
        }
    picture_free(&card);
    return out;
}

/* ---- Plates in space ------------------------------------------------------------------------- */

struct flat_plate flat_plate_at(const struct vision_card *face, const struct flat_pose *pose)
{
    struct flat_plate plate = {.face = face};
    place(pose, plate.axes);
    return plate;
}

/* axes: x, y, z of a frame; turns them by deg about its own k-th axis. */
static void turn_about(double axes[3][3], int k, double deg)
{
    int a = (k + 1) % 3, b = (k + 2) % 3;
    double c = cos(deg * RAD), s = sin(deg * RAD);
    for (int i = 0; i < 3; i++) {
        double p = axes[a][i], q = axes[b][i];
        axes[a][i] = c * p + s * q;
        axes[b][i] = c * q - s * p;
    }
}

struct flat_plate flat_plate_on_crank(const struct flat_plate *base, const struct vision_card *face,
                                      const struct flat_crank *crank, double turned_deg)
{
    struct flat_plate plate = {.face = face};
    double frame[3][3];
    memcpy(frame, base->axes, 2 * sizeof frame[0]);
    for (int i = 0; i < 3; i++) { /* the third axis towards the camera: y down makes x cross y so */
        int j = (i + 1) % 3, k = (i + 2) % 3;
        frame[2][i] = frame[0][j] * frame[1][k] - frame[0][k] * frame[1][j];
    }
    for (int i = 0; i < 3; i++)
        plate.axes[2][i] = base->axes[2][i] + frame[0][i] * crank->hub_mm[0] +
                           frame[1][i] * crank->hub_mm[1] + frame[2][i] * crank->hub_mm[2];
    turn_about(frame, 0, crank->axis_lean_deg[0]);
    turn_about(frame, 1, crank->axis_lean_deg[1]);
    turn_about(frame, 2, turned_deg);
    for (int i = 0; i < 3; i++)
        plate.axes[2][i] += frame[0][i] * crank->radius_mm;
    turn_about(frame, 0, crank->own_lean_deg[0]);
    turn_about(frame, 1, crank->own_lean_deg[1]);
    turn_about(frame, 2, crank->glued_deg);
    memcpy(plate.axes, frame, 2 * sizeof frame[0]);
    return plate;
}

/* Reflectances, linear: bench, and what the prints are made of. */
static void light_at(const struct flat_camera *camera, struct flat_plate *plates, int count,
                     double x_px, double y_px, double rgb[3])
{
    static const double plain[][3] = {[VISION_PRINT_BLACK] = {0.03, 0.03, 0.03},
                                      [VISION_PRINT_WHITE] = {0.80, 0.80, 0.80},
                                      [VISION_PRINT_TINT_A] = {0.10, 0.55, 0.08},
                                      [VISION_PRINT_TINT_B] = {0.75, 0.08, 0.35},
                                      [VISION_PRINT_MARK] = {0.20, 0.20, 0.20}};
    static const double bench[3] = {0.18, 0.12, 0.08};
    const double *seen = bench;
    for (int i = count - 1; i >= 0 && seen == bench; i--) {
        struct vision_point mm;
        back_to_card(camera, plates[i].axes, x_px, y_px, &mm.x, &mm.y);
        if (fabs(mm.x) < plates[i].face->width_mm / 2 && fabs(mm.y) < plates[i].face->height_mm / 2)
            seen = plain[vision_card_print_at(plates[i].face, mm)];
    }
    for (int k = 0; k < 3; k++)
        rgb[k] += seen[k];
}

/* The mean over each pixel. Its four corners tell whether anything changes within it: what is
 * printed here is larger than a pixel. */
static void gather(const struct flat_camera *camera, struct flat_plate *plates, int count,
                   const double *corners, double *light)
{
    enum { FINE = 4 };
    size_t width = (size_t)camera->width, row = 3 * (width + 1);
    for (int y = 0; y < camera->height; y++)
        for (int x = 0; x < camera->width; x++) {
            const double *c = corners + (size_t)y * row + 3 * (size_t)x;
            double *to = light + 3 * ((size_t)y * width + (size_t)x);
            memcpy(to, c, 3 * sizeof *to);
            bool even = true;
            for (size_t k = 0; k < 3; k++)
                even = even && c[k] == c[k + 3] && c[k] == c[row + k] && c[k] == c[row + k + 3];
            if (even)
                continue;
            double sum[3] = {0};
            for (int k = 0; k < FINE * FINE; k++) {
                int right = k % FINE, down = k / FINE;
                light_at(camera, plates, count, x + (right + 0.5) / FINE - 0.5,
                         y + (down + 0.5) / FINE - 0.5, sum);
            }
            for (int k = 0; k < 3; k++)
                to[k] = sum[k] / (FINE * FINE);
        }
}

/* One pass of a Gaussian along rows or columns; light, three numbers a pixel. */
static void blur_along(double *light, size_t length, size_t step, size_t lines, size_t line_step,
                       double sigma)
{
    enum { REACH = 6 }; /* of four sigma and more */
    double weight[REACH + 1], *line = malloc(3 * length * sizeof *line);
    for (int k = 0; k <= REACH; k++)
        weight[k] = exp(-0.5 * k * k / (sigma * sigma));
    for (size_t l = 0; l < lines && line; l++) {
        double *at = light + l * line_step;
        for (size_t i = 0; i < length; i++)
            for (size_t c = 0; c < 3; c++) {
                double sum = 0, all = 0;
                for (int k = -REACH; k <= REACH; k++) {
                    long j = (long)i + k;
                    if (j < 0 || j >= (long)length)
                        continue;
                    sum += weight[abs(k)] * at[(size_t)j * step + c];
                    all += weight[abs(k)];
                }
                line[3 * i + c] = sum / all;
            }
        for (size_t i = 0; i < length; i++)
            memcpy(at + i * step, line + 3 * i, 3 * sizeof *line);
    }
    free(line);
}

/* Sum of twelve numbers between 0 and 1, less six: near enough normal, of unit variance. */
static double draw_normal(uint64_t *state)
{
    double sum = -6;
    for (int i = 0; i < 12; i++) { /* Knuth, The Art of Computer Programming 2, 3.3.4: MMIX */
        *state = *state * 6364136223846793005U + 1442695040888963407U;
        sum += (double)(*state >> 11) / 9007199254740992.0;
    }
    return sum;
}

struct picture flat_scene_plates(const struct flat_camera *camera, const struct flat_plate *plates,
                                 int count, double blur_px, double noise_code, uint64_t seed)
{
    enum { MOST = 8 };
    struct picture out = picture_new(camera->width, camera->height);
    size_t width = (size_t)out.width, pixels = width * (size_t)out.height;
    double *light = calloc(3 * pixels, sizeof *light);
    double *corners = calloc(3 * (width + 1) * ((size_t)out.height + 1), sizeof *corners);
    struct flat_plate held[MOST];
    if (!light || !corners || count > MOST) {
        fputs("flat_scene: cannot draw\n", stderr);
        abort();
    }
    memcpy(held, plates, (size_t)count * sizeof *plates);
    for (int y = 0; y <= out.height; y++)
        for (int x = 0; x <= out.width; x++)
            light_at(camera, held, count, x - 0.5, y - 0.5,
                     corners + 3 * ((size_t)y * (width + 1) + (size_t)x));
    gather(camera, held, count, corners, light);
    free(corners);
    if (blur_px > 0) {
        blur_along(light, width, 3, (size_t)out.height, 3 * width, blur_px);
        blur_along(light, (size_t)out.height, 3 * width, width, 3, blur_px);
    }
    for (size_t i = 0; i < 3 * pixels; i++) {
        double v = light[i]; /* IEC 61966-2-1 */
        double code = v <= 0.0031308 ? 12.92 * v : 1.055 * pow(v, 1 / 2.4) - 0.055;
        double noisy = 255 * code + (noise_code > 0 ? noise_code * draw_normal(&seed) : 0);
        out.rgb[i] = (uint8_t)lround(fmin(255, fmax(0, noisy)));
    }
    free(light);
    return out;
}
