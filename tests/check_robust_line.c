/* The robust line: what it ignores, what it corrects, and that its uncertainty is honest. */
#include "check_main.h"
#include "maths/robust_line.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>

#define POINTS 200

static struct robust_line over_ten_mm(void)
{
    return (struct robust_line){
        .middle_u = 5, .half_u = 5, .slip_u_mm = 0.5, .step_u_mm = 0.5, .shift_u_mm = 0.5};
}

static void make_points(struct robust_point *p, double level, double turn_per_mm, double sigma)
{
    for (int i = 0; i < POINTS; i++) {
        double u = 10.0 * (i + 0.5) / POINTS;
        p[i] = (struct robust_point){.u = u, .v = level + turn_per_mm * (u - 5) + sigma * noise()};
    }
}

START_TEST(a_clean_line_is_given_back)
{
    struct robust_point p[POINTS];
    struct robust_line line = over_ten_mm();
    make_points(p, 2.5, 0.03, 0);
    ck_assert(robust_line_fit(&line, p, POINTS, 0.03));
    ck_assert_double_eq_tol(line.p[0], 2.5, 1e-9);
    ck_assert_double_eq_tol(line.p[1] / line.half_u, 0.03, 1e-9);
}
END_TEST

START_TEST(a_third_of_outliers_on_one_side_moves_nothing)
{
    struct robust_point p[POINTS];
    struct robust_line line = over_ten_mm();
    srand(11);
    make_points(p, 2.5, 0.03, 0.005);
    for (int i = 2 * POINTS / 3; i < POINTS; i++)
        p[i].v += 0.4 + 0.3 * sin(i * 0.2); /* a ball that sticks out */
    ck_assert(robust_line_fit(&line, p, POINTS, 0.03));
    ck_assert_double_eq_tol(line.p[1] / line.half_u, 0.03, 0.001);
    for (int i = 2 * POINTS / 3; i < POINTS; i++)
        ck_assert(p[i].weight < 1e-6);
}
END_TEST

/* Slip, step and shift each leave a pattern of their own, which must not turn the line. */
START_TEST(slip_step_and_shift_are_taken_out)
{
    struct robust_point p[POINTS];
    struct robust_line line = over_ten_mm();
    make_points(p, 1, -0.02, 0);
    for (int i = 0; i < POINTS; i++) {
        p[i].slope = 0.3 * sin(p[i].u);
        p[i].tint = (i / 30) % 2;
        p[i].shade = p[i].u > 6 ? 2 : 0;
        p[i].v += 0.2 * p[i].slope / 2 + 0.05 * p[i].tint + 0.01 * p[i].shade;
    }
    ck_assert(robust_line_fit(&line, p, POINTS, 0.1));
    ck_assert_double_eq_tol(line.p[1] / line.half_u, -0.02, 1e-4);
    ck_assert_double_eq_tol(line.p[2], 0.2, 0.01);
    ck_assert_double_eq_tol(line.p[3], 0.05, 0.001);
    ck_assert_double_eq_tol(line.p[4], 0.01, 0.001);
}
END_TEST

/* JCGM 101:2008: draw, fit, compare the spread of the slopes with the stated uncertainty. */
START_TEST(stated_uncertainty_agrees_with_the_spread_of_many_fits)
{
    enum { DRAWS = 400 };
    double sum = 0, square = 0, stated = 0;
    srand(17);
    for (int k = 0; k < DRAWS; k++) {
        struct robust_point p[POINTS];
        struct robust_line line = over_ten_mm();
        make_points(p, 0, 0, 0.02);
        ck_assert(robust_line_fit(&line, p, POINTS, 0.03));
        double slope = line.p[1] / line.half_u;
        sum += slope;
        square += slope * slope;
        stated += sqrt(line.cov[ROBUST_UNKNOWNS + 1]) * line.scale_mm / line.half_u / DRAWS;
    }
    double spread = sqrt(square / DRAWS - sum / DRAWS * (sum / DRAWS));
    ck_assert_double_eq_tol(stated / spread, 1, 0.15);
}
END_TEST

START_TEST(a_bend_is_seen_and_a_straight_line_has_none)
{
    struct robust_point p[POINTS];
    struct robust_line line = over_ten_mm();
    double u;
    srand(19);
    make_points(p, 0, 0.01, 0.004);
    ck_assert(robust_line_fit(&line, p, POINTS, 0.1));
    ck_assert(fabs(robust_line_bend(&line, p, POINTS, &u)) < 3 * u);
    for (int i = 0; i < POINTS; i++)
        p[i].v += 0.05 * pow((p[i].u - 5) / 5, 2);
    ck_assert(robust_line_fit(&line, p, POINTS, 0.1));
    ck_assert_double_eq_tol(robust_line_bend(&line, p, POINTS, &u), 0.05, 0.01);
    ck_assert(u < 0.03);
}
END_TEST

START_TEST(too_few_points_are_refused)
{
    struct robust_point p[POINTS];
    struct robust_line line = over_ten_mm();
    make_points(p, 0, 0, 0);
    ck_assert(!robust_line_fit(&line, p, 5, 0.03));
    ck_assert(!robust_line_fit(&line, p, ROBUST_MAX_POINTS + 1, 0.03));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("robust line");
    TCase *tests = tcase_create("line");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, a_clean_line_is_given_back);
    tcase_add_test(tests, a_third_of_outliers_on_one_side_moves_nothing);
    tcase_add_test(tests, slip_step_and_shift_are_taken_out);
    tcase_add_test(tests, stated_uncertainty_agrees_with_the_spread_of_many_fits);
    tcase_add_test(tests, a_bend_is_seen_and_a_straight_line_has_none);
    tcase_add_test(tests, too_few_points_are_refused);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
