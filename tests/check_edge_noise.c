/* Does an arm's edge term cover what its direction scatters by, and not by far more? JCGM 101:2008:
 * the same arm is drawn many times with other noise and at another place among the pixels, measured
 * by the whole program, and the scatter about the truth compared with the term. The number of draws
 * and the seed are fixed. */
#include "check_main.h"
#include "flat_scene.h"
#include "vision.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>

#define DRAWS 30

/* Around the arm alone: the markers keep still, so what scatters is the edge's doing. Rows start at
 * random places of one long row of draws. */
static void add_noise(struct picture *picture, double sigma)
{
    enum { LONG = 1 << 16 };
    static float drawn[LONG];
    const int reach_px = (int)(17 * FLAT_SCENE_PX_PER_MM);
    int x0 = picture->width / 2 - reach_px, bytes = 3 * 2 * reach_px;
    for (int i = 0; drawn[LONG - 1] == 0 && i < LONG; i++)
        drawn[i] = (float)noise();
    for (int y = picture->height / 2 - reach_px; y < picture->height / 2 + reach_px; y++) {
        uint8_t *row = picture->rgb + 3 * ((size_t)y * (size_t)picture->width + (size_t)x0);
        int start = rand() % LONG;
        for (int i = 0; i < bytes; i++)
            row[i] = (uint8_t)fmin(255, fmax(0, round(row[i] + sigma * drawn[(start + i) % LONG])));
    }
}

static bool measure_arm(double angle_deg, double sigma, double *error_deg, double *edge_deg)
{
    struct picture picture = flat_scene(&angle_deg, 1);
    add_noise(&picture, sigma);
    const struct png_settings settings = {0};
    struct bytes file = png_encode(&picture, &settings);
    struct vision_options options = vision_options_default();
    struct vision_photo *photo = NULL;
    struct vision_result result;
    ck_assert_int_eq(vision_photo_open_bytes(file.data, file.size, &photo), VISION_REASON_NONE);
    vision_measure(photo, &options, &result);
    vision_photo_free(photo);
    bytes_free(&file);
    picture_free(&picture);
    if (result.status != VISION_OK || result.arm_count != 1)
        return false;
    *error_deg = remainder(result.arms[0].angle_deg - angle_deg, 360);
    *edge_deg = result.arms[0].budget[0].u_deg;
    return true;
}

/* Standard deviation of the noise, 8-bit steps. */
static const double sigmas[] = {2, 12, 30};

/* Between what the rms error over the rms of the term must lie. The term must not be too small. It
 * is not the scatter itself: it is two to three times that here and hardly grows with the noise.
 * Residuals that run together over many points (steps of the pixel grid, edges found as one path)
 * are taken for noise of that correlation, and the term allows for edges that lie off over a
 * stretch (docs/method.md), which these do not. Of 30 draws an rms is good to 13 %:
 * 1 / sqrt(2 x 30). */
#define LEAST 0.25
#define MOST 1.0

static int by_value(const void *a, const void *b)
{
    double d = *(const double *)a - *(const double *)b;
    return (d > 0) - (d < 0);
}

START_TEST(the_edge_term_covers_the_scatter_and_is_less_than_four_times_that)
{
    double error_square = 0, edge_square = 0, edges_deg[DRAWS];
    int answered = 0, covered = 0;
    const double sigma = sigmas[_i];
    srand(20);
    for (int i = 0; i < DRAWS; i++) {
        double angle_deg = 86 + 8 * (rand() / (double)RAND_MAX), error_deg, edge_deg;
        if (!measure_arm(angle_deg, sigma, &error_deg, &edge_deg))
            continue;
        answered++;
        covered += fabs(error_deg) < 2 * edge_deg;
        error_square += error_deg * error_deg;
        edge_square += edge_deg * edge_deg;
        edges_deg[answered - 1] = edge_deg;
    }
    double ratio = sqrt(error_square / edge_square);
    ck_assert_int_ge(answered, DRAWS * 9 / 10);
    ck_assert_msg(ratio > LEAST && ratio < MOST, "noise %g: rms error %.4f, term %.4f, ratio %.3f",
                  sigma, sqrt(error_square / answered), sqrt(edge_square / answered), ratio);
    ck_assert_msg(covered >= 0.95 * answered, "noise %g: 2 u hold %d of %d", sigma, covered,
                  answered);
    /* u varies by u / sqrt(2 dof) (JCGM 100:2008, E.4.3): a quarter for 8 degrees of freedom, the
     * fewest the term is ever given. By quartiles, 1.35 standard deviations of a normal
     * distribution apart: where two witnesses of an edge differ the term grows on purpose. */
    qsort(edges_deg, (size_t)answered, sizeof edges_deg[0], by_value);
    double spread =
        (edges_deg[3 * answered / 4] - edges_deg[answered / 4]) / 1.35 / edges_deg[answered / 2];
    ck_assert_msg(spread < 1 / sqrt(2 * 8.0), "noise %g: the term varies by %.0f %%", sigma,
                  100 * spread);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("edge_noise");
    TCase *t = tcase_create("monte carlo");
    tcase_set_timeout(t, 600);
    tcase_add_loop_test(t, the_edge_term_covers_the_scatter_and_is_less_than_four_times_that, 0,
                        sizeof sigmas / sizeof sigmas[0]);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
