/* The straight-line fit against NIST's certified "Norris" data set and the GUM's thermometer. */
#include "arithmetic/linear_fit.h"
#include "check_main.h"
#include "norris.h"

START_TEST(fit_matches_nist_norris_to_ten_digits)
{
    struct linear_fit fit;
    ck_assert(linear_fit(norris_x, norris_y, NULL, NORRIS_N, &fit));
    assert_relative(fit.intercept, -0.262323073774029, 1e-10);
    assert_relative(fit.slope, 1.00211681802045, 1e-10);
    assert_relative(fit.u_intercept, 0.232818234301152, 1e-10);
    assert_relative(fit.u_slope, 0.429796848199937E-03, 1e-10);
    assert_relative(fit.residual_sd, 0.884796396144373, 1e-10);
    assert_relative(fit.ss_residual, 26.6173985294224, 1e-10);
    assert_near(fit.dof, 34, 0);
    /* not certified: from the GNU Scientific Library's own test of its linear fit */
    assert_relative(fit.covariance, -7.74327536339570e-05, 1e-10);
}
END_TEST

/* JCGM 100:2008 (GUM) H.3, Table H.6: corrections of a thermometer, about t0 = 20 degC. */
#define H3_N 11
static const double h3_t[H3_N] = {21.521, 22.012, 22.512, 23.003, 23.507, 23.999,
                                  24.513, 25.002, 25.503, 26.010, 26.511};
static const double h3_b[H3_N] = {-0.171, -0.169, -0.166, -0.159, -0.164, -0.165,
                                  -0.156, -0.157, -0.159, -0.161, -0.160};

static struct linear_fit h3_fit(void)
{
    double x[H3_N];
    for (int i = 0; i < H3_N; i++)
        x[i] = h3_t[i] - 20;
    struct linear_fit fit;
    ck_assert(linear_fit(x, h3_b, NULL, H3_N, &fit));
    return fit;
}

START_TEST(fit_matches_gum_h3)
{
    struct linear_fit fit = h3_fit();
    assert_near(fit.intercept, -0.1712, 0.00005);
    assert_near(fit.slope, 0.00218, 0.000005);
    assert_near(fit.u_intercept, 0.0029, 0.00005);
    assert_near(fit.u_slope, 0.00067, 0.000005);
    assert_near(fit.covariance / (fit.u_intercept * fit.u_slope), -0.930, 0.0005);
    assert_near(fit.residual_sd, 0.0035, 0.00005);
    assert_near(fit.dof, 9, 0);
    /* recomputed independently in double precision */
    assert_relative(fit.intercept, -0.17120379013135, 1e-9);
    assert_relative(fit.slope, 0.0021826977398872, 1e-9);
    assert_relative(fit.u_slope, 0.00066793877322783, 1e-9);
}
END_TEST

START_TEST(prediction_counts_the_covariance_as_in_gum_h3)
{
    struct linear_fit fit = h3_fit();
    struct uncertainty at_30;
    assert_near(linear_fit_at(&fit, 10, &at_30), -0.1494, 0.00005);
    assert_near(at_30.u, 0.0041, 0.00005);
    assert_relative(at_30.u, 0.00413859575, 1e-8);
    assert_near(at_30.dof, 9, 0);
    /* without it u would be 0.00727: the two must stay apart */
    fit.covariance = 0;
    linear_fit_at(&fit, 10, &at_30);
    assert_near(at_30.u, 0.00727288, 5e-9);
}
END_TEST

/* Going to a value and back: u(x) |slope| must be u(y) at that x. */
START_TEST(inverse_undoes_prediction)
{
    struct linear_fit fit = h3_fit();
    struct uncertainty forth, back;
    double y = linear_fit_at(&fit, 4.321, &forth);
    assert_near(linear_fit_inverse(&fit, y, &back), 4.321, 1e-12);
    assert_relative(back.u * fabs(fit.slope), forth.u, 1e-12);
    assert_near(back.dof, 9, 0);
}
END_TEST

/* A reading with half the u counts like four readings. */
START_TEST(weights_act_like_repeated_readings)
{
    const double x[] = {0, 10, 20, 30}, y[] = {1.0, 2.2, 2.9, 4.4}, u[] = {0.5, 1, 1, 0.5};
    const double x2[] = {0, 0, 0, 0, 10, 20, 30, 30, 30, 30};
    const double y2[] = {1, 1, 1, 1, 2.2, 2.9, 4.4, 4.4, 4.4, 4.4};
    struct linear_fit weighted, repeated;
    ck_assert(linear_fit(x, y, u, 4, &weighted));
    ck_assert(linear_fit(x2, y2, NULL, 10, &repeated));
    assert_relative(weighted.slope, repeated.slope, 1e-14);
    assert_relative(weighted.intercept, repeated.intercept, 1e-13);
    assert_relative(weighted.ss_residual, repeated.ss_residual, 1e-12);
}
END_TEST

START_TEST(given_uncertainty_is_kept_or_widened_never_narrowed)
{
    double u[NORRIS_N];
    struct linear_fit by_scatter, fit;
    ck_assert(linear_fit(norris_x, norris_y, NULL, NORRIS_N, &by_scatter));
    for (int i = 0; i < NORRIS_N; i++)
        u[i] = 0.1; /* far less than the scatter of 0.88 */
    ck_assert(linear_fit(norris_x, norris_y, u, NORRIS_N, &fit));
    assert_relative(fit.u_slope, by_scatter.u_slope, 1e-12);
    /* Welch-Satterthwaite: dof (s^2 / (s^2 - 1))^2, s = 0.88 / 0.1 */
    double square = pow(by_scatter.residual_sd / 0.1, 2);
    assert_relative(fit.dof, 34 * pow(square / (square - 1), 2), 1e-9);
    for (int i = 0; i < NORRIS_N; i++)
        u[i] = 5 * by_scatter.residual_sd;
    ck_assert(linear_fit(norris_x, norris_y, u, NORRIS_N, &fit));
    assert_relative(fit.u_slope, 5 * by_scatter.u_slope, 1e-12);
    ck_assert(isinf(fit.dof));
}
END_TEST

/* Residuals of three points at -1, 0, 1 are e (1, -2, 1): chi^2 = 6 e^2 / u^2, one degree of
 * freedom. By hand, Welch-Satterthwaite and GUM Table G.2, for s^2 = chi^2: 1.01 gives 1 (1.01 /
 * 0.01)^2 degrees, k = 1.96; 2 gives 4, k = 2.78; 100 gives 1.02, k = 12.71. U = k s u / sqrt 2. */
START_TEST(the_uncertainty_of_three_points_grows_without_a_leap)
{
    static const struct {
        double chi_square, k;
    } rows[] = {{0.5, 1.96}, {0.99, 1.96}, {1.01, 1.96}, {2, 2.78}, {100, 12.71}};
    const double x[] = {-1, 0, 1}, u[] = {0.1, 0.1, 0.1};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const double e = 0.1 * sqrt(rows[i].chi_square / 6);
        const double y[] = {-1 + e, -2 * e, 1 + e};
        struct linear_fit fit;
        ck_assert(linear_fit(x, y, u, 3, &fit));
        assert_relative(uncertainty_expand((struct uncertainty){fit.u_slope, fit.dof}),
                        rows[i].k * sqrt(fmax(1, rows[i].chi_square)) * 0.1 / sqrt(2), 0.002);
    }
}
END_TEST

START_TEST(two_points_give_a_slope_without_uncertainty_unless_u_is_given)
{
    const double x[] = {-5, 5}, y[] = {1, 2}, u[] = {0.1, 0.1};
    struct linear_fit fit;
    ck_assert(linear_fit(x, y, NULL, 2, &fit));
    assert_near(fit.slope, 0.1, 1e-15);
    ck_assert(isnan(fit.u_slope) && fit.dof == 0);
    ck_assert(linear_fit(x, y, u, 2, &fit));
    assert_near(fit.u_slope, 0.1 * sqrt(2) / 10, 1e-15); /* u sqrt(2) over the span */
}
END_TEST

START_TEST(fit_refuses_what_has_no_slope)
{
    const double same[] = {0.1, 0.1, 0.1}, y[] = {1, 2, 3}, bad[] = {1, NAN, 3};
    const double none[] = {1, 0, 1}, tiny[] = {1e-200, 1e-200, 1e-200}, x[] = {1, 2, 3};
    struct linear_fit fit = {.n = 77};
    ck_assert(!linear_fit(same, y, NULL, 3, &fit));
    ck_assert(!linear_fit(x, y, NULL, 1, &fit));
    ck_assert(!linear_fit(bad, y, NULL, 3, &fit));
    ck_assert(!linear_fit(x, bad, NULL, 3, &fit));
    ck_assert(!linear_fit(x, y, none, 3, &fit));
    ck_assert(!linear_fit(x, y, tiny, 3, &fit));
    ck_assert_uint_eq(fit.n, 77);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("linear_fit");
    TCase *t = tcase_create("fit");
    tcase_add_test(t, fit_matches_nist_norris_to_ten_digits);
    tcase_add_test(t, fit_matches_gum_h3);
    tcase_add_test(t, prediction_counts_the_covariance_as_in_gum_h3);
    tcase_add_test(t, inverse_undoes_prediction);
    tcase_add_test(t, weights_act_like_repeated_readings);
    tcase_add_test(t, given_uncertainty_is_kept_or_widened_never_narrowed);
    tcase_add_test(t, the_uncertainty_of_three_points_grows_without_a_leap);
    tcase_add_test(t, two_points_give_a_slope_without_uncertainty_unless_u_is_given);
    tcase_add_test(t, fit_refuses_what_has_no_slope);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
