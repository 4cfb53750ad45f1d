/* How good changes of angle by stickers are: pairs of pictures rendered with exact truth, views and
 * gluing drawn at random, and the table of their errors.
 * usage: sticker_table [PAIRS] [SEED] */
#include "arm_uncertainty.h"
#include "direction.h"
#include "flat_scene.h"
#include "vision.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MAX_PAIRS 1000

static uint64_t state;

static double between(double low, double high)
{
    state = state * 6364136223846793005U + 1442695040888963407U;
    return low + (high - low) * (double)(state >> 11) / 9007199254740992.0;
}

/* Gathered by what the picture was measured against. */
struct column {
    const char *name, *sticker, *fixed;
    bool card;
    double error[MAX_PAIRS], u[MAX_PAIRS];
    int pairs, taken, within, within_expanded, unsure;
};

static struct picture take(const struct column *column, const struct flat_camera *camera,
                           const struct flat_pose *pose, const struct flat_crank *crank,
                           double turned_deg, double blur_px, double noise_code)
{
    const struct vision_card *face = column->card ? vision_card_by_name(column->fixed)
                                                  : &vision_sticker_by_name(column->fixed)->face;
    struct flat_plate plates[2];
    plates[0] = flat_plate_at(face, pose);
    plates[1] = flat_plate_on_crank(&plates[0], &vision_sticker_by_name(column->sticker)->face,
                                    crank, turned_deg);
    return flat_scene_plates(camera, plates, 2, blur_px, noise_code, state);
}

static bool measure(const struct picture *picture, struct vision_result *out)
{
    struct bytes file = jpeg_encode(picture, &(struct jpeg_settings){.quality = 92});
    struct vision_photo *photo = NULL;
    struct vision_options options = vision_options_default();
    if (vision_photo_open_bytes(file.data, file.size, &photo) != VISION_REASON_NONE)
        abort();
    vision_measure_stickers(photo, &options, out);
    vision_photo_free(photo);
    bytes_free(&file);
    return out->status != VISION_FAILED;
}

/* Obliquity up to 35 degrees, any way round. */
static struct flat_pose draw_pose(double distance_mm)
{
    double tilt = between(0, 35), way = between(0, 6.2831853);
    return (struct flat_pose){between(-180, 180), tilt * cos(way), tilt * sin(way),
                              between(-8, 8),     between(-8, 8),  distance_mm};
}

static void run_pair(struct column *column)
{
    const struct flat_camera camera = {1200, 900, 1000, 599.5, 449.5, between(-0.05, 0.05), 0};
    double distance = between(90, 160), blur = between(0.4, 1.3), noise = between(0.5, 4);
    double aside = column->card ? 0 : 24; /* clear of the fixed sticker */
    struct flat_crank crank = {{between(-3, 3), between(-3, 3)},
                               {between(-4, 4), between(-4, 4)},
                               {aside + between(-2, 2), between(-4, 4), between(1, 12)},
                               6,
                               between(-180, 180)};
    struct flat_pose pose = draw_pose(distance);
    double from = between(-45, 45), turn = between(-50, 50);
    struct vision_result results[2];
    column->pairs++;
    for (int i = 0; i < 2; i++) {
        if (i == 1 && between(0, 1) < 0.5) /* a hand-held camera does not stay */
            pose = draw_pose(distance);
        struct picture picture = take(column, &camera, &pose, &crank, from + i * turn, blur, noise);
        bool good = measure(&picture, &results[i]);
        picture_free(&picture);
        if (!good) {
            if (getenv("STICKER_VERBOSE"))
                printf("  %s: %s\n", column->name, vision_reason_code(results[i].reason));
            return;
        }
    }
    if (results[0].status != VISION_OK || results[1].status != VISION_OK) {
        column->unsure++;
        return;
    }
    const struct vision_arm *a = &results[0].arms[0], *b = &results[1].arms[0];
    double error = direction_turn(b->angle_deg - a->angle_deg - turn);
    double expanded = hypot(arm_expanded_deg(a), arm_expanded_deg(b));
    column->u[column->taken] = hypot(a->u_deg, b->u_deg);
    column->within += fabs(error) <= 2 * column->u[column->taken];
    column->within_expanded += fabs(error) <= expanded;
    if (getenv("STICKER_VERBOSE"))
        printf("  %s: error %+.3f u %.3f (corners %.3f tilt %.3f lens %.3f) slope %.1f\n",
               column->name, error, column->u[column->taken], b->budget[0].u_deg,
               b->budget[1].u_deg, b->budget[2].u_deg, results[1].slopes[0].deg);
    column->error[column->taken++] = fabs(error);
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void tell(struct column *c)
{
    if (c->taken < 1) {
        printf("%-24s %5d %5d\n", c->name, c->pairs, 0);
        return;
    }
    qsort(c->error, (size_t)c->taken, sizeof c->error[0], by_size);
    qsort(c->u, (size_t)c->taken, sizeof c->u[0], by_size);
    printf("%-24s %5d %5d %7d %7.3f %7.3f %7.3f %8.3f %6.1f %6.1f\n", c->name, c->pairs, c->taken,
           c->unsure, c->error[c->taken / 2], c->error[c->taken * 95 / 100], c->error[c->taken - 1],
           c->u[c->taken / 2], 100.0 * c->within / c->taken, 100.0 * c->within_expanded / c->taken);
}

int main(int argc, char **argv)
{
    static struct column columns[] = {
        {.name = "A12 by hand card", .sticker = "A12", .fixed = "hand-duo", .card = true},
        {.name = "A8 by hand card", .sticker = "A8", .fixed = "hand-duo", .card = true},
        {.name = "A8 by mini card", .sticker = "A8", .fixed = "mini-duo", .card = true},
        {.name = "A12 by F12", .sticker = "A12", .fixed = "F12"},
        {.name = "A8 by F12", .sticker = "A8", .fixed = "F12"},
        {.name = "A8 by F8", .sticker = "A8", .fixed = "F8"},
    };
    int pairs = argc > 1 ? (int)strtol(argv[1], NULL, 10) : 40;
    state = argc > 2 ? strtoull(argv[2], NULL, 10) : 1;
    pairs = pairs < 1 ? 1 : pairs > MAX_PAIRS ? MAX_PAIRS : pairs;
    printf("%-24s %5s %5s %7s %7s %7s %7s %8s %6s %6s\n", "change of angle, degrees", "pairs", "ok",
           "unsure", "median", "p95", "worst", "median u", "2u %", "U %");
    for (size_t c = 0; c < sizeof columns / sizeof columns[0]; c++) {
        for (int i = 0; i < pairs; i++)
            run_pair(&columns[c]);
        tell(&columns[c]);
        fflush(stdout);
    }
    return 0;
}
