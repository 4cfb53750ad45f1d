/* How good lens profiles are, end to end: of ray-traced series by one camera each (make_photos
 * --fresh --lens) `armsquare lens` makes a profile of the photos of the card alone, and the parts
 * are measured without and with it.
 * usage: lens_table [--verbose] DIR...
 * build: cmake --build build --target lens_table */
#include "lens/lens_profile.h"
#include "photo_set.h"
#include "program.h"
#include "spread.h"

#include <getopt.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define MAX_ARMS_TOLD 2000

/* Errors of arms. */
struct column {
    int photos, ok, arms, within, silent;
    double error[MAX_ARMS_TOLD], u[MAX_ARMS_TOLD];
};

static struct column without_profile, with_profile;
static int lens_values, lens_within; /* of k1, k2 and focal length, within 2 u */

/* ---- The profile ---------------------------------------------------------------------------- */

/* In single quotes for the shell, so that it must have none itself. */
static bool add_word(char *command, size_t size, const char *path)
{
    size_t n = strlen(command);
    int more = snprintf(command + n, size - n, " '%s'", path);
    return !strchr(path, '\'') && more > 0 && (size_t)more < size - n;
}

static json_t *make_profile(const struct outcome *photos, size_t count, const char *file)
{
    static char command[20000];
    static struct run run;
    snprintf(command, sizeof command, "lens --json -o '%s'", file);
    for (size_t i = 0; i < count; i++)
        if (photos[i].truth.arm_count == 0 && !add_word(command, sizeof command, photos[i].path))
            return NULL;
    run_program(command, &run);
    if (run.status != 0)
        fputs(run.err, stderr);
    return run.status == 0 ? json_loads(run.out, 0, NULL) : NULL;
}

static double number(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    return json_is_number(value) ? json_number_value(value) : NAN;
}

static void tell_value(const char *name, double found, double truth, double u)
{
    printf("  %-8s %10.5g  true %10.5g  u %8.2g  off by %5.2f u\n", name, found, truth, u,
           (found - truth) / u);
    lens_values++;
    lens_within += fabs(found - truth) <= 2 * u;
}

/* By how many pixels the profile shows a point elsewhere than the lens does that far from the
 * middle of the picture: what k1, k2 and the focal length do together. */
static double bend_off_px(const struct vision_lens *found, const struct truth *truth, double r_px)
{
    double r = r_px / found->focal_px, t = r_px / truth->focal_px;
    return r_px * (found->k1 * r * r + found->k2 * r * r * r * r - truth->k1 * t * t -
                   truth->k2 * t * t * t * t);
}

static void tell_profile(const json_t *told, const struct lens_profile *p,
                         const struct truth *truth)
{
    double half = hypot(truth->width_px, truth->height_px) / 2;
    tell_value("focal px", p->lens.focal_px, truth->focal_px, number(told, "u_focal_px"));
    tell_value("k1", p->lens.k1, truth->k1, number(told, "u_k1"));
    tell_value("k2", p->lens.k2, truth->k2, number(told, "u_k2"));
    double x = p->lens.centre_px.x - (truth->width_px - 1) / 2.0,
           y = p->lens.centre_px.y - (truth->height_px - 1) / 2.0;
    printf(
        "  middle off by %.2f, %.2f px (u %.2f); a point is shown off by %.2f px half way to the "
        "corner, %.2f px at 0.8 of it; the lens bends it there by %.2f px\n",
        x, y, number(told, "u_centre_px"), bend_off_px(&p->lens, truth, 0.5 * half),
        bend_off_px(&p->lens, truth, 0.8 * half),
        0.8 * half *
            (truth->k1 * pow(0.8 * half / truth->focal_px, 2) +
             truth->k2 * pow(0.8 * half / truth->focal_px, 4)));
    printf("  corners fit to %.3f px, held out %.3f px\n", p->rms_px, p->held_out_px);
}

/* ---- The parts ------------------------------------------------------------------------------ */

static void add_photo(struct column *c, const struct outcome *o)
{
    const struct vision_result *r = &o->result;
    c->photos++;
    c->silent += o->silent_wrong;
    c->ok += r->status == VISION_OK;
    for (int i = 0; i < r->arm_count && r->status == VISION_OK && c->arms < MAX_ARMS_TOLD; i++) {
        if (!o->real[i])
            continue;
        c->within += fabs(o->signed_error_deg[i]) <= 2 * r->arms[i].u_deg;
        c->u[c->arms] = r->arms[i].u_deg;
        c->error[c->arms++] = fabs(o->signed_error_deg[i]);
    }
}

static void measure_parts(struct outcome *photos, size_t count, const struct vision_lens *lens,
                          struct column *into, bool verbose)
{
    for (size_t i = 0; i < count; i++) {
        struct outcome fresh = {.truth = photos[i].truth, .lens = lens};
        memcpy(fresh.path, photos[i].path, sizeof fresh.path);
        photos[i] = fresh;
    }
    photo_set_measure(photos, count, false, false);
    for (size_t i = 0; i < count; i++) {
        if (photos[i].truth.arm_count == 0)
            continue;
        add_photo(into, &photos[i]);
        if (verbose)
            printf("  %-36s %s worst %.3f u %.3f, corner off by %.2f px\n", photos[i].truth.photo,
                   lens ? "with   " : "without", photos[i].worst_deg, photos[i].worst_u_deg,
                   photos[i].corner_px);
    }
}

static void tell(const char *name, struct column *c)
{
    size_t n = (size_t)c->arms;
    spread_sort(c->error, n);
    spread_sort(c->u, n);
    printf("%-16s %6d %4d %5d %7.3f %7.3f %7.3f %5.0f%% %7.3f %6d\n", name, c->photos, c->ok,
           c->arms, spread_quantile(c->error, n, 0.5), spread_quantile(c->error, n, 0.95),
           spread_quantile(c->error, n, 1), n ? 100.0 * c->within / c->arms : 0,
           spread_quantile(c->u, n, 0.5), c->silent);
}

static bool run_folder(const char *folder, bool verbose)
{
    char file[] = "/tmp/armsquare-lens-table-XXXXXX", problem[LENS_PROFILE_PROBLEM];
    struct lens_profile profile;
    size_t count;
    char *path = realpath(folder, NULL); /* the program runs elsewhere */
    struct outcome *photos = path ? photo_set_read(path, "all", &count) : NULL;
    int handle = photos ? mkstemp(file) : -1;
    json_t *told = handle >= 0 ? make_profile(photos, count, file) : NULL;
    bool good = told && lens_profile_read(file, &profile, problem);
    if (good) {
        printf("%s\n", folder);
        tell_profile(told, &profile, &photos[0].truth);
        measure_parts(photos, count, NULL, &without_profile, verbose);
        measure_parts(photos, count, &profile.lens, &with_profile, verbose);
    } else {
        fprintf(stderr, "%s gives no profile.\n", folder);
    }
    if (handle >= 0) {
        close(handle);
        unlink(file);
    }
    json_decref(told);
    free(photos);
    free(path);
    return good;
}

int main(int argc, char **argv)
{
    static const struct option longs[] = {{"verbose", 0, 0, 'v'}, {0, 0, 0, 0}};
    bool verbose = false, good = true;
    for (int word; (word = getopt_long(argc, argv, "", longs, NULL)) != -1;) {
        if (word != 'v')
            return 2;
        verbose = true;
    }
    if (optind == argc) {
        fputs("usage: lens_table [--verbose] DIR...\n", stderr);
        return 2;
    }
    for (int i = optind; i < argc; i++)
        good = run_folder(argv[i], verbose) && good;
    printf("\nk1, k2 and focal length: %d of %d within 2 u\n", lens_within, lens_values);
    printf("%-16s %6s %4s %5s %7s %7s %7s %6s %7s %6s\n", "arms, degrees", "photos", "ok", "arms",
           "median", "p95", "max", "in 2u", "med. u", "silent");
    tell("without profile", &without_profile);
    tell("with profile", &with_profile);
    return good ? 0 : 1;
}
