/* The chain: that it finds an edge where it is, and stays on one where there are several. */
#include "check_main.h"
#include "edge/edge_chain.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>

#define SECTIONS 90
#define MIDDLE 45.0
#define PIXEL_MM 0.08
#define STEP_MM (0.8 / CHAIN_OUTSIDE)

/* Light of a step blurred by a lens of half a pixel: integral of a Gaussian. */
static double blurred(double from, double to, double off_mm)
{
    return from + (to - from) * 0.5 * erfc(-off_mm / (0.5 * PIXEL_MM) / sqrt(2));
}

/* Sections whose colour changes at v = level + slope k for each of the steps, each adding what it
 * changes by. */
static struct chain_section *make_sections(const double *levels_mm, double slope_mm,
                                           const double (*light)[3], int steps, double sigma)
{
    struct chain_section *s = calloc(SECTIONS, sizeof *s);
    for (int k = 0; k < SECTIONS; k++) {
        s[k] = (struct chain_section){.predicted_mm = 2, .tint = 0, .last = CHAIN_SAMPLES - 1};
        for (int i = 0; i < CHAIN_SAMPLES; i++) {
            double v = 2 + (i - CHAIN_INSIDE) * STEP_MM;
            for (int c = 0; c < 3; c++) {
                double sum = light[0][c];
                for (int e = 0; e < steps; e++)
                    sum += blurred(0, light[e + 1][c] - light[e][c],
                                   v - levels_mm[e] - slope_mm * (k - MIDDLE));
                s[k].rgb[i][c] = (float)(sqrt(fmax(0, sum)) + sigma * noise());
            }
        }
    }
    return s;
}

static double place_mm(double crossing)
{
    return 2 + (crossing - CHAIN_INSIDE) * STEP_MM;
}

/* A blurred step of light is half covered where the step is: closed form. */
START_TEST(an_edge_is_found_where_it_is)
{
    const double light[2][3] = {{0.01, 0.01, 0.01}, {0.7, 0.25, 0.45}};
    const double at[1] = {2.05}, slope = 0.002;
    double crossing[SECTIONS], second[SECTIONS];
    srand(5);
    struct chain_section *s = make_sections(at, slope, light, 1, 0.004);
    ck_assert(edge_chain_find(s, SECTIONS, STEP_MM, PIXEL_MM, crossing, second));
    for (int k = 0; k < SECTIONS; k++) {
        ck_assert(crossing[k] >= 0);
        ck_assert_double_eq_tol(place_mm(crossing[k]), at[0] + slope * (k - MIDDLE),
                                0.1 * PIXEL_MM);
    }
    free(s);
}
END_TEST

/* White face, grey wall of two and a half pixels, card; in the middle a stretch that must not be
 * used. On one half the face is as dark as the wall, on the other the card: the clearer edge
 * changes from one to the other. Whichever is chosen, it must be one and the same throughout. */
START_TEST(a_chain_keeps_to_one_edge_across_a_gap)
{
    const double light[2][3][3] = {{{0.25, 0.25, 0.25}, {0.2, 0.2, 0.2}, {0.7, 0.25, 0.45}},
                                   {{0.9, 0.9, 0.9}, {0.2, 0.2, 0.2}, {0.26, 0.2, 0.22}}};
    const double at[2] = {1.9, 2.1};
    double crossing[SECTIONS], second[SECTIONS];
    for (int first = 0; first < 2; first++) {
        srand(7);
        struct chain_section *s = make_sections(at, 0, light[first], 2, 0.002);
        struct chain_section *other = make_sections(at, 0, light[1 - first], 2, 0.002);
        for (int k = SECTIONS / 2; k < SECTIONS; k++)
            s[k] = other[k];
        free(other);
        for (int k = SECTIONS / 2 - 6; k < SECTIONS / 2 + 6; k++)
            s[k].tint = -1;
        ck_assert(edge_chain_find(s, SECTIONS, STEP_MM, PIXEL_MM, crossing, second));
        int used[2] = {0, 0};
        for (int k = 0; k < SECTIONS; k++)
            if (crossing[k] >= 0)
                used[fabs(place_mm(crossing[k]) - at[0]) > fabs(place_mm(crossing[k]) - at[1])]++;
        ck_assert_msg(used[0] == 0 || used[1] == 0, "%d of one edge, %d of the other", used[0],
                      used[1]);
        ck_assert_int_gt(used[0] + used[1], SECTIONS / 3);
        /* the witness is the other one */
        int witnesses = 0;
        double own = at[used[0] == 0];
        for (int k = 0; k < SECTIONS; k++)
            if (second[k] >= 0) {
                ck_assert_double_gt(fabs(place_mm(second[k]) - own), PIXEL_MM);
                witnesses++;
            }
        ck_assert_int_gt(witnesses, SECTIONS / 3);
        free(s);
    }
}
END_TEST

/* Grey against a tint of its own brightness, where the light fades all the way inwards. */
START_TEST(a_soft_shadow_hides_no_edge)
{
    const double light[2][3] = {{0.20, 0.20, 0.20}, {0.26, 0.17, 0.22}}, at[1] = {2.02};
    const double shade_per_mm = 0.2; /* of the root of light */
    double crossing[SECTIONS], second[SECTIONS];
    srand(11);
    struct chain_section *s = make_sections(at, 0, light, 1, 0.004);
    for (int k = 0; k < SECTIONS; k++)
        for (int i = 0; i < CHAIN_SAMPLES; i++)
            for (int c = 0; c < 3; c++)
                s[k].rgb[i][c] += (float)(shade_per_mm * (i - CHAIN_INSIDE) * STEP_MM);
    ck_assert(edge_chain_find(s, SECTIONS, STEP_MM, PIXEL_MM, crossing, second));
    int right = 0;
    for (int k = 0; k < SECTIONS; k++)
        right += crossing[k] >= 0 && fabs(place_mm(crossing[k]) - at[0]) < PIXEL_MM;
    ck_assert_int_gt(right, SECTIONS * 2 / 3);
    free(s);
}
END_TEST

START_TEST(plain_noise_has_no_edge)
{
    const double light[1][3] = {{0.4, 0.4, 0.4}};
    double crossing[SECTIONS], second[SECTIONS];
    srand(9);
    struct chain_section *s = make_sections(NULL, 0, light, 0, 0.006);
    ck_assert(edge_chain_find(s, SECTIONS, STEP_MM, PIXEL_MM, crossing, second));
    int found = 0;
    for (int k = 0; k < SECTIONS; k++)
        found += crossing[k] >= 0;
    ck_assert_int_le(found, SECTIONS / 10);
    free(s);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("edge chain");
    TCase *t = tcase_create("chain");
    tcase_add_test(t, an_edge_is_found_where_it_is);
    tcase_add_test(t, a_chain_keeps_to_one_edge_across_a_gap);
    tcase_add_test(t, a_soft_shadow_hides_no_edge);
    tcase_add_test(t, plain_noise_has_no_edge);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
