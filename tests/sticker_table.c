/* How good changes of angle by stickers are, and the table of their errors: of pairs of flat
 * pictures made up with exact truth, views and gluing drawn at random; or of ray-traced series.
 * usage: sticker_table [PAIRS] [SEED]
 *        sticker_table [--set tune|kept] [--verbose] DIR     of make_photos --stickers */
#include "arithmetic/direction.h"
#include "flat_scene.h"
#include "result/arm_uncertainty.h"
#include "spread.h"
#include "sticker_series.h"
#include "vision.h"

#include <getopt.h>
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

static void tell(struct column *c)
{
    if (c->taken < 1) {
        printf("%-24s %5d %5d\n", c->name, c->pairs, 0);
        return;
    }
    spread_sort(c->error, (size_t)c->taken);
    spread_sort(c->u, (size_t)c->taken);
    printf("%-24s %5d %5d %7d %7.3f %7.3f %7.3f %8.3f %6.1f %6.1f\n", c->name, c->pairs, c->taken,
           c->unsure, c->error[c->taken / 2], c->error[c->taken * 95 / 100], c->error[c->taken - 1],
           c->u[c->taken / 2], 100.0 * c->within / c->taken, 100.0 * c->within_expanded / c->taken);
}

static void pairs_table(int pairs)
{
    static struct column columns[] = {
        {.name = "A12 by hand card", .sticker = "A12", .fixed = "hand-duo", .card = true},
        {.name = "A8 by hand card", .sticker = "A8", .fixed = "hand-duo", .card = true},
        {.name = "A8 by mini card", .sticker = "A8", .fixed = "mini-duo", .card = true},
        {.name = "A12 by F12", .sticker = "A12", .fixed = "F12"},
        {.name = "A8 by F12", .sticker = "A8", .fixed = "F12"},
        {.name = "A8 by F8", .sticker = "A8", .fixed = "F8"},
    };
    pairs = pairs < 1 ? 1 : pairs > MAX_PAIRS ? MAX_PAIRS : pairs;
    printf("%-24s %5s %5s %7s %7s %7s %7s %8s %6s %6s\n", "change of angle, degrees", "pairs", "ok",
           "unsure", "median", "p95", "worst", "median u", "2u %", "U %");
    for (size_t c = 0; c < sizeof columns / sizeof columns[0]; c++) {
        for (int i = 0; i < pairs; i++)
            run_pair(&columns[c]);
        tell(&columns[c]);
        fflush(stdout);
    }
}

/* ---- Ray-traced series ---------------------------------------------------------------------- */

/* Throws and offsets of the series of one group. */
struct group {
    const char *name;
    bool (*has)(const struct sticker_series *series);
};

static bool any(const struct sticker_series *s)
{
    (void)s;
    return true;
}
static bool tuned(const struct sticker_series *s)
{
    return strcmp(s->set, "tune") == 0;
}
static bool kept(const struct sticker_series *s)
{
    return strcmp(s->set, "kept") == 0;
}
static bool by_card(const struct sticker_series *s)
{
    return s->by_card;
}
static bool by_12_mm(const struct sticker_series *s)
{
    return !s->by_card && strstr(s->sticker, "12");
}
static bool small_by_sticker(const struct sticker_series *s)
{
    return !s->by_card && !by_12_mm(s);
}
static bool framed(const struct sticker_series *s)
{
    return !s->boom;
}
static bool on_boom(const struct sticker_series *s)
{
    return s->boom;
}
static bool poorly_lit(const struct sticker_series *s)
{
    return s->shaded || s->raking;
}
static bool shiny(const struct sticker_series *s)
{
    return s->shiny;
}
static bool steep(const struct sticker_series *s)
{
    return s->steepest_deg > 24;
}

struct tally {
    int n, within;
    double error[MAX_PAIRS], ratio[MAX_PAIRS];
};

static void add(struct tally *t, double error, double u)
{
    if (t->n == MAX_PAIRS)
        return;
    t->within += fabs(error) <= 2 * u;
    t->ratio[t->n] = u / fmax(fabs(error), 1e-9);
    t->error[t->n++] = fabs(error);
}

static void print_tally(struct tally *t)
{
    size_t n = (size_t)t->n;
    spread_sort(t->error, n);
    spread_sort(t->ratio, n);
    printf(" %6.3f %6.3f %6.3f %5.0f%% %7.1f", spread_quantile(t->error, n, 0.5),
           spread_quantile(t->error, n, 0.95), spread_quantile(t->error, n, 1),
           t->n ? 100.0 * t->within / t->n : 0, spread_quantile(t->ratio, n, 0.5));
}

static void print_group(const struct group *g, const struct sticker_series *series, size_t count)
{
    static struct tally throws, offsets;
    int all = 0, ok = 0, unsure = 0, wrong = 0;
    throws = offsets = (struct tally){0};
    for (size_t i = 0; i < count; i++) {
        const struct sticker_series *s = &series[i];
        if (!g->has(s))
            continue;
        all++;
        ok += s->ok;
        unsure += s->unsure;
        wrong += s->silent_wrong;
        for (int k = 0; k < SERIES_TOLD && s->ok; k++)
            add(k == SERIES_OFFSET ? &offsets : &throws, s->error_deg[k], s->told[k].u);
    }
    if (all == 0)
        return;
    printf("%-22s %4d %3d %6d", g->name, all, ok, unsure);
    print_tally(&throws);
    fputs("  ", stdout);
    print_tally(&offsets);
    printf(" %6d\n", wrong);
}

static void print_series(const struct sticker_series *s)
{
    printf("%-4s %2d %-3s by %-9s %s", s->set, s->number, s->sticker, s->fixed,
           s->ok       ? "ok    "
           : s->unsure ? "unsure"
                       : "failed");
    for (int k = 0; k < SERIES_TOLD && (s->ok || s->unsure); k++)
        printf(" %+.3f (u %.3f)", s->error_deg[k], s->told[k].u);
    for (int k = 0; k < SERIES_SHOTS; k++)
        if (s->results[k].reason != VISION_REASON_NONE)
            printf("  %s: %s", s->photos[k], vision_reason_code(s->results[k].reason));
    printf("%s\n", s->silent_wrong ? "  WRONG IN SILENCE" : "");
    for (int k = 0; k < SERIES_SHOTS; k++) {
        const struct vision_result *r = &s->results[k];
        if (r->status == VISION_FAILED || r->arm_count == 0)
            continue;
        printf("        ");
        for (int b = 0; b < r->arms[0].budget_count; b++)
            printf(" %s %.3f", vision_term_name(r->arms[0].budget[b].term),
                   r->arms[0].budget[b].u_deg);
        printf("  u %.3f  slope %.1f (u %.1f)\n", r->arms[0].u_deg, r->slopes[0].deg,
               r->slopes[0].u_deg);
    }
}

static int series_table(const char *folder, const char *set, bool verbose)
{
    static const struct group groups[] = {{"all", any},
                                          {"to tune on", tuned},
                                          {"kept aside", kept},
                                          {"by a card", by_card},
                                          {"12 mm by 12 mm", by_12_mm},
                                          {"8 mm by a sticker", small_by_sticker},
                                          {"in a frame", framed},
                                          {"on a boom", on_boom},
                                          {"raking light or shade", poorly_lit},
                                          {"gloss", shiny},
                                          {"over 24 degrees aside", steep}};
    size_t count, used = 0;
    struct sticker_series *series = sticker_series_read(folder, &count);
    if (!series)
        return 1;
    for (size_t i = 0; i < count; i++)
        if (!set || strcmp(series[i].set, set) == 0)
            series[used++] = series[i];
    sticker_series_measure(series, used);
    for (size_t i = 0; i < used && verbose; i++)
        print_series(&series[i]);
    printf("%-37s %36s %38s\n%-22s %4s %3s %6s", "degrees", "throws", "neutral off the middle", "",
           "all", "ok", "unsure");
    for (int k = 0; k < 2; k++)
        printf(" %6s %6s %6s %6s %7s%s", "median", "p95", "max", "in 2u", "u/error",
               k == 0 ? "  " : "");
    printf(" %6s\n", "silent");
    for (size_t g = 0; g < sizeof groups / sizeof groups[0]; g++)
        print_group(&groups[g], series, used);
    free(series);
    return 0;
}

int main(int argc, char **argv)
{
    static const struct option longs[] = {{"set", 1, 0, 's'}, {"verbose", 0, 0, 'v'}, {0, 0, 0, 0}};
    const char *set = NULL;
    bool verbose = false;
    for (int word; (word = getopt_long(argc, argv, "", longs, NULL)) != -1;) {
        if (word == 's')
            set = optarg;
        else if (word == 'v')
            verbose = true;
        else
            return 2;
    }
    char *end = NULL;
    long pairs = optind < argc ? strtol(argv[optind], &end, 10) : 40;
    if (end && *end)
        return series_table(argv[optind], set, verbose);
    state = optind + 1 < argc ? strtoull(argv[optind + 1], NULL, 10) : 1;
    pairs_table((int)pairs);
    return 0;
}
