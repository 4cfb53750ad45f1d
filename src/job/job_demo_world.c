#include "job_demo_world.h"

#include "arithmetic/direction.h"
#include "sheet/card_draw.h"
#include "vision.h"

#include <cairo.h>
#include <math.h>
#include <stdlib.h>

#define CARD_PX_PER_MM 40.0 /* twice what the photo resolves */
#define BENCH_PX_PER_MM 8.0 /* wood has no sharp edges */
#define BENCH_HALF_X_MM 110.0
#define BENCH_HALF_Y_MM 90.0
#define BENCH_Z_MM (-19.0)
#define CASE_Z_MM (-1.6) /* the servo's top, seen through the card's slot */
#define THICKNESS_MM 1.8 /* of the part */
#define CHAMFER_MM 0.16
#define LAMP_RADIUS_MM 55.0
#define LAMP 0.74 /* of the light; the rest comes from all around */

/* Nothing here is NaN, which fmin() and fmax() look after in calls of their own. */
static double smaller(double a, double b)
{
    return a < b ? a : b;
}

static double larger(double a, double b)
{
    return a > b ? a : b;
}

struct finish {
    double albedo[3], shine; /* linear reflectance; share of light that is mirrored */
    double sharpness;        /* of the highlight: Phong's exponent */
};
static const struct finish finishes[] = {
    [DEMO_BLACK] = {{0.020, 0.020, 0.022}, 0.10, 26},
    [DEMO_WHITE] = {{0.74, 0.74, 0.71}, 0.05, 40},
    [DEMO_SILVER] = {{0.36, 0.37, 0.39}, 0.38, 22},
};
static const struct finish steel = {{0.30, 0.30, 0.31}, 0.40, 34};
static const struct finish dark = {{0.03, 0.03, 0.032}, 0.05, 12};
static const struct finish servo_case = {{0.035, 0.035, 0.038}, 0.03, 12};

/* A plan of the part: each arm is a bar with round ends about root and tip. */
struct outline {
    double root_mm, tip_mm, hub_mm; /* radii */
    int holes;
    double hole_mm, pitch_mm; /* radius; distance from hole to hole, from the tip inwards */
};
static const struct outline outlines[] = {
    [DEMO_HORN] = {3.5, 2.5, 5.0, 3, 0.75, 3.3},
    [DEMO_CRANK] = {3.2, 2.2, 5.4, 2, 0.75, 3.4},
    [DEMO_PLATE] = {2.7, 2.5, 6.2, 0, 0, 0},
};

struct demo_world {
    struct demo_scene scene;
    const struct outline *outline;
    const struct vision_card *card;
    double arm_cos[6], arm_sin[6], taper; /* tangent of a side's slant */
    double lamp_mm[3], lamp_far_mm;       /* its distance from the origin */
    cairo_surface_t *print, *bench;
    double linear[256];
};

double demo_chance(uint32_t *state)
{
    /* Marsaglia, Xorshift RNGs, Journal of Statistical Software 8 (14), 2003, section 3: shifts
     * 13, 17, 5; the same on every machine. */
    *state ^= *state << 13;
    *state ^= *state >> 17;
    *state ^= *state << 5;
    return *state / 4294967296.0;
}

/* The same curve back: 4.2. */
static double linear_of(double coded)
{
    return coded <= 0.04045 ? coded / 12.92 : pow((coded + 0.055) / 1.055, 2.4);
}

double demo_coded(double linear)
{
    return linear <= 0.0031308 ? 12.92 * linear : 1.055 * pow(linear, 1 / 2.4) - 0.055;
}

/* ---- Drawn once --------------------------------------------------------------------------- */

/* Fine fibres along the planks, long and faint, with a few darker ones. */
static void draw_grain(cairo_t *cr, uint32_t *seed)
{
    for (int i = 0; i < 2600; i++) {
        double y = (demo_chance(seed) * 2 - 1) * BENCH_HALF_Y_MM, bend = demo_chance(seed) * 4 - 2;
        double from = (demo_chance(seed) * 3 - 2) * BENCH_HALF_X_MM;
        double to = from + (0.6 + 1.2 * demo_chance(seed)) * BENCH_HALF_X_MM;
        double shade = demo_chance(seed) < 0.55 ? 0.22 : 0.9;
        cairo_set_source_rgba(cr, shade, shade * 0.72, shade * 0.48,
                              0.02 + 0.05 * demo_chance(seed));
        cairo_set_line_width(cr, 0.1 + 0.35 * demo_chance(seed));
        cairo_move_to(cr, from, y);
        cairo_curve_to(cr, from + (to - from) / 3, y + bend, to - (to - from) / 3, y - bend / 2, to,
                       y + bend / 3);
        cairo_stroke(cr);
    }
}

#define PLANK_MM 46.0
#define PLANKS 5 /* cover the bench from any first one */

/* Planks across the bench, each of its own tone, with dark joints. */
static void draw_bench(cairo_t *cr, uint32_t *seed)
{
    cairo_set_source_rgb(cr, 0.76, 0.60, 0.42);
    cairo_paint(cr);
    double first = -BENCH_HALF_Y_MM - 30 * demo_chance(seed);
    for (int i = 0; i < PLANKS; i++) {
        cairo_rectangle(cr, -BENCH_HALF_X_MM, first + i * PLANK_MM, 2 * BENCH_HALF_X_MM, PLANK_MM);
        cairo_set_source_rgba(cr, 0.3, 0.18, 0.08, 0.08 * demo_chance(seed));
        cairo_fill(cr);
    }
    draw_grain(cr, seed);
    for (int i = 0; i < PLANKS; i++) {
        cairo_rectangle(cr, -BENCH_HALF_X_MM, first + i * PLANK_MM - 0.2, 2 * BENCH_HALF_X_MM, 0.4);
        cairo_set_source_rgba(cr, 0.12, 0.07, 0.03, 0.7);
        cairo_fill(cr);
    }
}

/* A canvas in mm, y down, with its origin in the middle. */
static cairo_t *canvas(cairo_surface_t *surface, double half_x_mm, double half_y_mm,
                       double px_per_mm)
{
    cairo_t *cr = cairo_create(surface);
    cairo_scale(cr, px_per_mm, px_per_mm);
    cairo_translate(cr, half_x_mm, half_y_mm);
    return cr;
}

/* The print is sampled many times a pixel in linear light; cairo's own smoothing mixes coded
 * values, which makes black squares smaller than they are. */
static cairo_surface_t *draw_print(const struct vision_card *card)
{
    cairo_surface_t *surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)ceil(card->width_mm * CARD_PX_PER_MM),
                                   (int)ceil(card->height_mm * CARD_PX_PER_MM));
    cairo_t *cr = canvas(surface, card->width_mm / 2, card->height_mm / 2, CARD_PX_PER_MM);
    cairo_set_antialias(cr, CAIRO_ANTIALIAS_NONE);
    card_draw(cr, card, 0);
    cairo_destroy(cr);
    cairo_surface_flush(surface);
    return surface;
}

static cairo_surface_t *draw_wood(uint32_t seed)
{
    cairo_surface_t *surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)(2 * BENCH_HALF_X_MM * BENCH_PX_PER_MM),
                                   (int)(2 * BENCH_HALF_Y_MM * BENCH_PX_PER_MM));
    cairo_t *cr = canvas(surface, BENCH_HALF_X_MM, BENCH_HALF_Y_MM, BENCH_PX_PER_MM);
    cairo_rotate(cr, (demo_chance(&seed) - 0.5) * 0.5);
    cairo_scale(cr, 1.3, 1.3);
    draw_bench(cr, &seed);
    cairo_destroy(cr);
    cairo_surface_flush(surface);
    return surface;
}

static void set_light(struct demo_world *w)
{
    uint32_t seed = w->scene.seed * 2246822519u + 5;
    double turn = (100 + 70 * demo_chance(&seed)) * RAD_PER_DEG,
           away = 150 + 60 * demo_chance(&seed);
    w->lamp_mm[0] = away * cos(turn);
    w->lamp_mm[1] = away * sin(turn);
    w->lamp_mm[2] = 360;
    w->lamp_far_mm = hypot(away, w->lamp_mm[2]);
}

struct demo_world *demo_world_new(const struct demo_scene *scene)
{
    struct demo_world *w = calloc(1, sizeof *w);
    if (!w)
        return NULL;
    w->scene = *scene;
    w->outline = &outlines[scene->part];
    w->card = vision_card_by_name("hand-duo");
    for (int i = 0; i < scene->arms; i++) {
        double turn = (scene->arm_deg + 360.0 * i / scene->arms) * RAD_PER_DEG;
        w->arm_cos[i] = cos(turn);
        w->arm_sin[i] = sin(turn);
    }
    const double sine =
        (w->outline->root_mm - w->outline->tip_mm) / (scene->arm_mm - w->outline->tip_mm);
    w->taper = sine / sqrt(1 - sine * sine); /* sine: of the bar's length */
    for (int i = 0; i < 256; i++)
        w->linear[i] = linear_of(i / 255.0);
    set_light(w);
    w->print = draw_print(w->card);
    w->bench = draw_wood(scene->seed * 2654435761u + 1);
    if (cairo_surface_status(w->print) == CAIRO_STATUS_SUCCESS &&
        cairo_surface_status(w->bench) == CAIRO_STATUS_SUCCESS)
        return w;
    demo_world_free(w);
    return NULL;
}

void demo_world_free(struct demo_world *w)
{
    if (!w)
        return;
    cairo_surface_destroy(w->print);
    cairo_surface_destroy(w->bench);
    free(w);
}

/* ---- Shapes ------------------------------------------------------------------------------- */

static double length_of(double x, double y)
{
    return sqrt(x * x + y * y); /* nothing here is so large or small that hypot() is needed */
}

/* Signed distance of a point from a tapered bar along +x, negative inside. The bar is all circles
 * about (c, 0), 0 <= c <= length, whose radius goes evenly from root to tip. The nearest of them is
 * the one whose normal to the slanted side meets the point: tangent is that of the taper. */
static double bar_distance(double x, double y, double length, double root, double tip,
                           double tangent)
{
    double c = smaller(larger(x - fabs(y) * tangent, 0), length);
    return length_of(x - c, y) - (root + (tip - root) * c / length);
}

#define FAR_MM 6.0 /* beyond the tips */

/* Signed distance from the part's plan, holes taken out. Far outside a lower bound of it. */
static double part_distance(const struct demo_world *w, double x, double y)
{
    const struct outline *o = w->outline;
    double from_hub = length_of(x, y), reach = w->scene.arm_mm;
    if (from_hub > reach + FAR_MM)
        return from_hub - reach;
    double best = from_hub - o->hub_mm;
    for (int i = 0; i < w->scene.arms; i++) {
        double along = x * w->arm_cos[i] + y * w->arm_sin[i];
        double across = y * w->arm_cos[i] - x * w->arm_sin[i];
        double d = bar_distance(along, across, reach - o->tip_mm, o->root_mm, o->tip_mm, w->taper);
        for (int h = 0; h < o->holes; h++)
            d = larger(d, o->hole_mm -
                              length_of(along - (reach - o->tip_mm - h * o->pitch_mm), across));
        best = smaller(best, d);
    }
    return best;
}

static void part_gradient(const struct demo_world *w, double x, double y, double out[2])
{
    const double step = 0.01;
    double dx = part_distance(w, x + step, y) - part_distance(w, x - step, y);
    double dy = part_distance(w, x, y + step) - part_distance(w, x, y - step);
    double norm = larger(1e-9, length_of(dx, dy));
    out[0] = dx / norm;
    out[1] = dy / norm;
}

static double card_distance(const struct vision_card *card, double x, double y)
{
    double dx = fabs(x) - card->width_mm / 2, dy = fabs(y) - card->height_mm / 2;
    return smaller(larger(dx, dy), 0) + length_of(larger(dx, 0), larger(dy, 0));
}

/* A horn's shaft stands in the cut slot; behind cranks and plates the card is whole. */
static bool in_slot(const struct demo_world *w, double x, double y)
{
    double half = w->card->slot_half_width_mm;
    return w->scene.part == DEMO_HORN && ((x < 0 && fabs(y) < half) || length_of(x, y) < half);
}

/* ---- Light -------------------------------------------------------------------------------- */

/* Share of the lamp seen past an edge that is distance_mm away (negative: behind it) and lies
 * rise_mm higher: the lamp is a disc, taken as evenly bright across the edge. */
static double past_edge(const struct demo_world *w, double distance_mm, double rise_mm)
{
    double half = rise_mm * LAMP_RADIUS_MM / w->lamp_mm[2];
    double t = smaller(larger(0.5 + distance_mm / (2 * half), 0), 1);
    return t * t * (3 - 2 * t);
}

/* Where the ray from a point to the lamp passes z_mm. */
static void toward_lamp(const struct demo_world *w, const double at[3], double z_mm, double out[2])
{
    double t = (z_mm - at[2]) / (w->lamp_mm[2] - at[2]);
    for (int i = 0; i < 2; i++)
        out[i] = at[i] + t * (w->lamp_mm[i] - at[i]);
}

static double part_shadow(const struct demo_world *w, const double at[3])
{
    double z = w->scene.height_mm - THICKNESS_MM / 2, over[2];
    toward_lamp(w, at, z, over);
    return past_edge(w, part_distance(w, over[0], over[1]), z - at[2]);
}

static double card_shadow(const struct demo_world *w, const double at[3])
{
    double over[2];
    toward_lamp(w, at, 0, over);
    return past_edge(w, card_distance(w->card, over[0], over[1]), -at[2]);
}

/* What a surface sends towards the eye. lit: share of the lamp it sees; open: share of the light
 * from all around. Diffuse after Lambert, highlight after Phong, light falling off with the
 * square of the distance. */
static void shade(const struct demo_world *w, const struct finish *finish, const double at[3],
                  const double normal[3], const double ray[3], double lit, double open,
                  double light[3])
{
    double to[3], far = 0, cosine = 0, along = 0, mirror = 0, size = 0;
    for (int i = 0; i < 3; i++) {
        to[i] = w->lamp_mm[i] - at[i];
        far += to[i] * to[i];
        cosine += to[i] * normal[i];
        along += ray[i] * normal[i];
        size += ray[i] * ray[i];
    }
    far = sqrt(far);
    for (int i = 0; i < 3; i++)
        mirror += (ray[i] - 2 * along * normal[i]) / sqrt(size) * to[i] / far;
    double fall = w->lamp_far_mm * w->lamp_far_mm / (far * far);
    double diffuse = LAMP * lit * fall * larger(0, cosine / far) / (w->lamp_mm[2] / w->lamp_far_mm);
    double around = (1 - LAMP) * open * (0.6 + 0.4 * normal[2]);
    double gloss = 0;
    if (finish->shine > 0)
        gloss = finish->shine * (0.22 * open * (0.4 + 0.6 * normal[2]) +
                                 lit * pow(larger(0, mirror), finish->sharpness));
    for (int i = 0; i < 3; i++)
        light[i] = finish->albedo[i] * (diffuse + around) + gloss;
}

/* ---- Surfaces ----------------------------------------------------------------------------- */

static const double upright[3] = {0, 0, 1};

static bool in_cross(double x, double y)
{
    double u = fabs(0.94 * x + 0.34 * y), v = fabs(0.94 * y - 0.34 * x);
    return smaller(u, v) < 0.36 && larger(u, v) < 1.55;
}

/* What is fitted in the hub: a screw's domed head, or a bearing around a shaft. NULL outside. */
static const struct finish *hub_detail(const struct demo_world *w, double x, double y,
                                       double normal[3])
{
    double r = length_of(x, y), dome = 0;
    const struct finish *finish = NULL;
    if (w->scene.part == DEMO_CRANK) {
        static const double rings_mm[] = {1.5, 2.1, 3.4, 4.1,
                                          4.3}; /* shaft, race, seal, race, gap */
        static const struct finish *const of[] = {&dark, &steel, &dark, &steel, &dark};
        for (int i = 0; i < 5 && !finish; i++)
            finish = r < rings_mm[i] ? of[i] : NULL;
        dome = finish == &steel ? 0.12 : 0;
    } else if (r < 2.8) {
        finish = r > 2.55 || in_cross(x, y) ? &dark : &steel;
        dome = finish == &steel ? 0.16 : 0;
    }
    if (finish && r > 0) {
        normal[0] = dome * x;
        normal[1] = dome * y;
        normal[2] = sqrt(larger(0.1, 1 - dome * dome * r * r));
    }
    return finish;
}

static void look_at_face(const struct demo_world *w, const double at[3], double distance,
                         const double ray[3], double light[3])
{
    double normal[3] = {0, 0, 1}, out[2];
    const struct finish *finish = hub_detail(w, at[0], at[1], normal);
    if (!finish && distance > -CHAMFER_MM) {
        double lean = 0.7 * (1 + distance / CHAMFER_MM);
        part_gradient(w, at[0], at[1], out);
        normal[0] = lean * out[0];
        normal[1] = lean * out[1];
        normal[2] = sqrt(1 - lean * lean);
    }
    shade(w, finish ? finish : &finishes[w->scene.finish], at, normal, ray, 1, 1, light);
}

/* The part, its face first, then its walls: down the ray between both planes in steps that cannot
 * pass the outline. false when the ray misses it. */
static bool look_at_part(const struct demo_world *w, const double eye[3], const double ray[3],
                         double light[3])
{
    double t = (w->scene.height_mm - eye[2]) / ray[2];
    double end = (w->scene.height_mm - THICKNESS_MM - eye[2]) / ray[2];
    double sideways = larger(1e-9, length_of(ray[0], ray[1]));
    for (int step = 0; step < 12 && t <= end; step++) {
        double at[3] = {eye[0] + t * ray[0], eye[1] + t * ray[1], eye[2] + t * ray[2]};
        double distance = part_distance(w, at[0], at[1]);
        if (distance < 1e-3 && step == 0) {
            look_at_face(w, at, distance, ray, light);
            return true;
        }
        if (distance < 1e-3) {
            double normal[3] = {0, 0, 0};
            part_gradient(w, at[0], at[1], normal);
            shade(w, &finishes[w->scene.finish], at, normal, ray, 1, 0.7, light);
            return true;
        }
        t += distance / sideways;
    }
    return false;
}

static void look_at_card(const struct demo_world *w, const double at[3], const double ray[3],
                         double light[3])
{
    int width = cairo_image_surface_get_width(w->print);
    int height = cairo_image_surface_get_height(w->print);
    int x = (int)((at[0] + w->card->width_mm / 2) * CARD_PX_PER_MM);
    int y = (int)((w->card->height_mm / 2 - at[1]) * CARD_PX_PER_MM);
    x = x < 0 ? 0 : x >= width ? width - 1 : x;
    y = y < 0 ? 0 : y >= height ? height - 1 : y;
    const unsigned char *pixel = cairo_image_surface_get_data(w->print) +
                                 (size_t)y * (size_t)cairo_image_surface_get_stride(w->print) +
                                 4 * (size_t)x;
    struct finish paper = {{0}, 0, 1};
    for (int i = 0; i < 3; i++) /* ink is never quite black, paper never quite white */
        paper.albedo[i] = 0.022 + 0.80 * w->linear[pixel[2 - i]];
    /* Near the part less light comes in from around; nothing where its distance is not known. */
    double near = larger(0, part_distance(w, at[0], at[1]));
    double fade = larger(0, 1 - length_of(at[0], at[1]) / (w->scene.arm_mm + FAR_MM));
    double open = fade > 0 ? 1 - 0.5 * fade * exp(-near / w->scene.height_mm) : 1;
    shade(w, &paper, at, upright, ray, part_shadow(w, at), open, light);
}

/* The servo's top, in the shade of the card. */
static void look_at_case(const struct demo_world *w, const double at[3], const double ray[3],
                         double light[3])
{
    double past = w->card->slot_half_width_mm - fabs(at[1]);
    shade(w, &servo_case, at, upright, ray, past_edge(w, past - 0.8, 1.6) * part_shadow(w, at), 0.5,
          light);
}

static void look_at_bench(const struct demo_world *w, const double at[3], const double ray[3],
                          double light[3])
{
    int width = cairo_image_surface_get_width(w->bench);
    int height = cairo_image_surface_get_height(w->bench);
    int stride = cairo_image_surface_get_stride(w->bench);
    double x = smaller(larger((at[0] + BENCH_HALF_X_MM) * BENCH_PX_PER_MM - 0.5, 0), width - 1.01);
    double y = smaller(larger((BENCH_HALF_Y_MM - at[1]) * BENCH_PX_PER_MM - 0.5, 0), height - 1.01);
    int ix = (int)x, iy = (int)y;
    struct finish wood = {{0}, 0, 1};
    for (int i = 0; i < 3; i++) {
        const unsigned char *p = cairo_image_surface_get_data(w->bench) +
                                 (size_t)iy * (size_t)stride + 4 * (size_t)ix + (2 - i);
        double top = w->linear[p[0]] + (x - ix) * (w->linear[p[4]] - w->linear[p[0]]);
        double low =
            w->linear[p[stride]] + (x - ix) * (w->linear[p[stride + 4]] - w->linear[p[stride]]);
        wood.albedo[i] = 0.85 * (top + (y - iy) * (low - top));
    }
    double near = larger(0, card_distance(w->card, at[0], at[1]));
    shade(w, &wood, at, upright, ray, card_shadow(w, at), 1 - 0.55 * exp(-near / 14), light);
}

/* Where the ray passes the height z_mm. */
static void meet(const double eye[3], const double ray[3], double z_mm, double at[3])
{
    double t = (z_mm - eye[2]) / ray[2];
    for (int i = 0; i < 3; i++)
        at[i] = eye[i] + t * ray[i];
}

void demo_world_look(const struct demo_world *w, const double eye[3], const double ray[3],
                     double light[3])
{
    double at[3];
    if (look_at_part(w, eye, ray, light))
        return;
    meet(eye, ray, 0, at);
    if (card_distance(w->card, at[0], at[1]) < 0 && !in_slot(w, at[0], at[1])) {
        look_at_card(w, at, ray, light);
        return;
    }
    meet(eye, ray, CASE_Z_MM, at);
    if (at[0] > -31 && at[0] < 10 && fabs(at[1]) < 10) {
        look_at_case(w, at, ray, light);
        return;
    }
    meet(eye, ray, BENCH_Z_MM, at);
    look_at_bench(w, at, ray, light);
}
