/* The demonstration's camera: exposure, sensor and JPEG. */
#include "job_demo_photo.h"

#include "arithmetic/direction.h"
#include "base/safe_file.h"
#include "drawing/jpeg_write.h"
#include "job_demo_world.h"
#include "parallel.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>

#define WIDTH 2016
#define HEIGHT 1512
#define QUALITY 90
#define DISTANCE_MM 260.0
#define FOCAL_PX 4700.0
#define EXPOSURE 1.08   /* a white sheet facing the lamp comes out just below white */
#define BLUR_PX 0.5     /* standard deviation of what lens and sensor spread a point to */
#define ELECTRONS 9000. /* of a full pixel: its noise is the root of those counted */
#define DARK_NOISE 0.002

struct camera {
    double centre[3];                /* card frame, mm */
    double right[3], up[3], look[3]; /* unit vectors */
};

static struct camera camera_of(const struct demo_scene *s)
{
    double t = s->tilt_deg * RAD_PER_DEG, a = s->tilt_toward_deg * RAD_PER_DEG;
    double r = s->roll_deg * RAD_PER_DEG;
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

/* ---- Samples ------------------------------------------------------------------------------ */

#define RINGS 4 /* of four samples each, the first alone where nothing changes */

/* Samples of a Gaussian spread: rings of equal share, each centred on its pixel, turned against
 * each other. The radius that holds the share q of it is sigma sqrt(-2 ln(1 - q)). */
static void spread(double out[RINGS * 4][2])
{
    static const double share[RINGS] = {0.625, 0.125, 0.375, 0.875}; /* the middling one first */
    for (int i = 0; i < RINGS * 4; i++) {
        int ring = i / 4;
        double radius = BLUR_PX * sqrt(-2 * log(1 - share[ring]));
        double turn = (i % 4) * M_PI / 2 + ring * M_PI / 8 + 0.2;
        out[i][0] = radius * cos(turn);
        out[i][1] = radius * sin(turn);
    }
}

static void see(const struct camera *c, const struct demo_world *world, double x, double y,
                double light[3])
{
    double across = (x - WIDTH / 2.0) / FOCAL_PX, down = (y - HEIGHT / 2.0) / FOCAL_PX, ray[3];
    for (int i = 0; i < 3; i++)
        ray[i] = c->look[i] + across * c->right[i] - down * c->up[i];
    demo_world_look(world, c->centre, ray, light);
}

/* The light on the pixel whose centre is (x, y): four samples, sixteen where they differ. */
static void gather(const struct camera *c, const struct demo_world *world,
                   const double at[RINGS * 4][2], double x, double y, double light[3])
{
    double sum[3] = {0}, least[3] = {9, 9, 9}, most[3] = {0}, one[3];
    int count = 4;
    for (int i = 0; i < count; i++) {
        see(c, world, x + at[i][0], y + at[i][1], one);
        for (int k = 0; k < 3; k++) {
            sum[k] += one[k];
            least[k] = one[k] < least[k] ? one[k] : least[k];
            most[k] = one[k] > most[k] ? one[k] : most[k];
        }
        if (i == 3 && fmax(most[0] - least[0], fmax(most[1] - least[1], most[2] - least[2])) > 0.01)
            count = RINGS * 4;
    }
    for (int k = 0; k < 3; k++)
        light[k] = sum[k] / count;
}

/* ---- Sensor ------------------------------------------------------------------------------- */

/* Nearly normal, mean 0, deviation 1: the sum of three uniform numbers has the variance 1/4. */
static double nearly_normal(uint32_t *seed)
{
    return 2 * (demo_chance(seed) + demo_chance(seed) + demo_chance(seed) - 1.5);
}

#define CODES                                                                                      \
    8192 /* steps of linear light: finer than a step of 8 bits everywhere but in black             \
          */

static void set_codes(unsigned char codes[CODES + 1])
{
    for (int i = 0; i <= CODES; i++)
        codes[i] = (unsigned char)lround(255 * demo_coded((double)i / CODES));
}

/* Lenses darken towards the corners with the fourth power of the cosine. */
static double falloff(double x, double y)
{
    double across = (x - WIDTH / 2.0) / FOCAL_PX, down = (y - HEIGHT / 2.0) / FOCAL_PX;
    double cosine2 = 1 / (1 + across * across + down * down);
    return cosine2 * cosine2;
}

#define BAND 64 /* rows that are looked at together, by all processors */

/* A photo while it is developed, row by row. */
struct film {
    const struct camera *camera;
    const struct demo_world *world;
    uint32_t seed;
    double at[RINGS * 4][2];
    unsigned char codes[CODES + 1];
    int first_row; /* of the band */
    double light[BAND][WIDTH][3];
    unsigned char row[3 * WIDTH];
};

static void gather_row(void *context, size_t i)
{
    struct film *film = context;
    for (int x = 0; x < WIDTH; x++)
        gather(film->camera, film->world, film->at, x + 0.5, film->first_row + (double)i + 0.5,
               film->light[i][x]);
}

/* Noise is dealt out in the order of the pixels, whatever the number of processors. */
static const unsigned char *expose_row(void *context, int y)
{
    struct film *film = context;
    if (y % BAND == 0) {
        const int rows = HEIGHT - y < BAND ? HEIGHT - y : BAND;
        film->first_row = y;
        parallel_pieces(parallel_processors(), (size_t)rows, gather_row, film);
    }
    for (int x = 0; x < WIDTH; x++) {
        const double *light = film->light[y % BAND][x], exposure = EXPOSURE * falloff(x, y);
        for (int c = 0; c < 3; c++) {
            double value = exposure * light[c];
            value += nearly_normal(&film->seed) * sqrt(value / ELECTRONS + DARK_NOISE * DARK_NOISE);
            film->row[3 * x + c] = film->codes[(int)(CODES * fmin(fmax(value, 0), 1))];
        }
    }
    return film->row;
}

static bool write_bytes(const char *path, const unsigned char *bytes, size_t size)
{
    struct safe_file file;
    if (!safe_file_open(&file, path))
        return false;
    fwrite(bytes, 1, size, file.stream);
    return safe_file_commit(&file);
}

bool job_demo_photo(const struct demo_scene *scene, const char *path)
{
    struct camera camera = camera_of(scene);
    struct demo_world *world = demo_world_new(scene);
    struct film *film = malloc(sizeof *film);
    unsigned char *bytes = NULL;
    size_t size = 0;
    bool good = film && world;
    if (good) {
        film->camera = &camera;
        film->world = world;
        film->seed = scene->seed * 747796405u + 12345;
        spread(film->at);
        set_codes(film->codes);
        good = jpeg_write(WIDTH, HEIGHT, QUALITY, expose_row, film, &bytes, &size);
    }
    if (!good)
        errno = ENOMEM;
    good = good && write_bytes(path, bytes, size);
    int saved = errno;
    demo_world_free(world);
    free(film);
    free(bytes);
    errno = saved;
    return good;
}
