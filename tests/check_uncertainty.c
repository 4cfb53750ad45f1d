/* Uncertainty arithmetic against the worked examples and tables of JCGM 100:2008 (GUM). */
#include "arithmetic/uncertainty.h"
#include "check_main.h"

/* GUM Table G.2 (= NIST Technical Note 1297, Table B.1). Printed digits; half a unit of the last.
 */
static const struct {
    double dof, p95, p9545, p99, half_digit;
} table_g2[] = {
    {1, 12.71, 13.97, 63.66, 0.005},    {2, 4.30, 4.53, 9.92, 0.005},
    {3, 3.18, 3.31, 5.84, 0.005},       {4, 2.78, 2.87, 4.60, 0.005},
    {5, 2.57, 2.65, 4.03, 0.005},       {6, 2.45, 2.52, 3.71, 0.005},
    {8, 2.31, 2.37, 3.36, 0.005},       {10, 2.23, 2.28, 3.17, 0.005},
    {15, 2.13, 2.18, 2.95, 0.005},      {20, 2.09, 2.13, 2.85, 0.005},
    {30, 2.04, 2.09, 2.75, 0.005},      {50, 2.01, 2.05, 2.68, 0.005},
    {100, 1.984, 2.025, 2.626, 0.0005}, {INFINITY, 1.960, 2.000, 2.576, 0.0005},
};

START_TEST(coverage_factors_match_gum_table_g2)
{
    double dof = table_g2[_i].dof;
    double tol = table_g2[_i].half_digit * 1.0001;
    assert_near(uncertainty_coverage(0.95, dof), table_g2[_i].p95, tol);
    assert_near(uncertainty_coverage(0.9545, dof), table_g2[_i].p9545, tol);
    assert_near(uncertainty_coverage(0.99, dof), table_g2[_i].p99, tol);
}
END_TEST

/* With 1 and 2 degrees of freedom the t-distribution has a closed form: tan(pi p / 2) (Cauchy) and
 * p sqrt(2 / (1 - p^2)). */
START_TEST(coverage_factors_match_closed_forms)
{
    static const double levels[] = {0.5, 0.6827, 0.95, 0.99, 0.9973};
    double p = levels[_i];
    assert_relative(uncertainty_coverage(p, 1), tan(M_PI_2 * p), 1e-12);
    assert_relative(uncertainty_coverage(p, 2), p * sqrt(2 / (1 - p * p)), 1e-12);
}
END_TEST

/* P(|T| <= k) by Simpson's rule over the density, which is written down here anew. */
static double t_probability_by_quadrature(double k, double dof)
{
    const int panels = 20000;
    double norm = exp(lgamma((dof + 1) / 2) - lgamma(dof / 2)) / sqrt(dof * M_PI);
    double sum = 0;
    for (int i = 0; i <= panels; i++) {
        double t = k * i / panels;
        int weight = i == 0 || i == panels ? 1 : i % 2 ? 4 : 2;
        sum += weight * pow(1 + t * t / dof, -(dof + 1) / 2);
    }
    return 2 * norm * sum * k / panels / 3;
}

START_TEST(coverage_factors_agree_with_the_density)
{
    static const double dofs[] = {1, 3, 4, 7, 16, 34, 200, 999, 1000, 1001, 5000};
    double dof = dofs[_i];
    double k = uncertainty_coverage(0.95, dof);
    assert_near(t_probability_by_quadrature(k, dof), 0.95, 1e-9);
}
END_TEST

/* NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4, critical values of chi-square at 5 %
 * and 1 %; and closed forms for 1, 2 and 4 degrees of freedom. */
START_TEST(chi_square_tails_match_the_handbook)
{
    static const struct {
        int dof;
        double at_5, at_1;
    } rows[] = {{1, 3.841, 6.635},    {2, 5.991, 9.210},   {3, 7.815, 11.345},
                {4, 9.488, 13.277},   {5, 11.070, 15.086}, {10, 18.307, 23.209},
                {15, 24.996, 30.578}, {30, 43.773, 50.892}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_near(uncertainty_chi_square_tail(rows[i].at_5, rows[i].dof), 0.05, 2e-5);
        assert_near(uncertainty_chi_square_tail(rows[i].at_1, rows[i].dof), 0.01, 6e-6);
        assert_near(uncertainty_chi_square_tail(0, rows[i].dof), 1, 1e-12);
    }
    assert_near(uncertainty_chi_square_tail(2.5, 1), erfc(sqrt(1.25)), 1e-12);
    assert_near(uncertainty_chi_square_tail(2.5, 2), exp(-1.25), 1e-12);
    assert_near(uncertainty_chi_square_tail(2.5, 4), exp(-1.25) * 2.25, 1e-12);
}
END_TEST

START_TEST(coverage_has_no_factor_without_a_degree_of_freedom)
{
    ck_assert(isnan(uncertainty_coverage(0.95, 0)));
    ck_assert(isnan(uncertainty_coverage(0.95, 0.99)));
    ck_assert(isnan(uncertainty_coverage(0.95, NAN)));
    ck_assert(isnan(uncertainty_coverage(1, 5)));
    ck_assert(isnan(uncertainty_coverage(0, 5)));
}
END_TEST

/* GUM H.1, end gauge: u = 25, 9.7, 2.9, 16.6 nm with 18, 25.6, 50, 2 degrees of freedom give
 * 32 nm and 16.7 (printed), cut to 16, k = 2.92 and U = 93 nm for 99 %. */
START_TEST(effective_degrees_of_freedom_match_gum_h1)
{
    const struct uncertainty terms[] = {{25, 18}, {9.7, 25.6}, {2.9, 50}, {16.6, 2}};
    struct uncertainty sum = uncertainty_combine(terms, 4);
    assert_near(sum.u, 31.7, 0.05);
    assert_near(sum.dof, 16.76, 0.01);
    double k = uncertainty_coverage(0.99, sum.dof);
    assert_near(k, 2.92, 0.005); /* rounding up to 17 would give 2.90 */
    assert_near(k * sum.u, 93, 0.5);
}
END_TEST

/* GUM G.4.1: n equal contributions with one degree of freedom each have (n u^2)^2 / (n u^4) = n of
 * them, in whatever unit; GUM Table G.2. */
START_TEST(equal_contributions_have_whole_degrees_of_freedom_in_any_unit)
{
    static const double k[] = {12.71, 4.30, 3.18, 2.78};
    for (int n = 1; n <= 4; n++)
        for (int i = 0; i < 132; i++) {
            const double u = 0.013 * pow(1.07, i);
            const struct uncertainty terms[] = {{u, 1}, {u, 1}, {u, 1}, {u, 1}};
            struct uncertainty sum = uncertainty_combine(terms, (size_t)n);
            ck_assert_double_eq_tol(uncertainty_coverage(0.95, sum.dof), k[n - 1], 0.005);
        }
}
END_TEST

START_TEST(contributions_known_exactly_leave_infinite_degrees_of_freedom)
{
    const struct uncertainty terms[] = {{3, INFINITY}, {4, INFINITY}};
    struct uncertainty sum = uncertainty_combine(terms, 2);
    assert_near(sum.u, 5, 1e-15);
    ck_assert(isinf(sum.dof));
    sum = uncertainty_combine(NULL, 0);
    ck_assert(sum.u == 0 && isinf(sum.dof));
    assert_near(uncertainty_expand(sum), 0, 0);
}
END_TEST

/* ---- GUM H.2: resistance, reactance and impedance from five simultaneous readings ---------- */

static const double h2_readings[3][5] = {
    {5.007, 4.994, 5.005, 4.990, 4.999},                     /* V */
    {19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3}, /* A */
    {1.0456, 1.0438, 1.0468, 1.0428, 1.0433},                /* rad */
};

static void h2_means(double mean[3], double covariance[9])
{
    for (int i = 0; i < 3; i++) {
        mean[i] = 0;
        for (int k = 0; k < 5; k++)
            mean[i] += h2_readings[i][k] / 5;
    }
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) {
            double sum = 0;
            for (int k = 0; k < 5; k++)
                sum += (h2_readings[i][k] - mean[i]) * (h2_readings[j][k] - mean[j]);
            covariance[i * 3 + j] = sum / (5 * 4); /* of the means: GUM 5.2.3 */
        }
}

/* R = V cos(phi) / I, X = V sin(phi) / I, Z = V / I: derivatives by V, I, phi. */
static void h2_jacobian(const double mean[3], double jacobian[9])
{
    double v = mean[0];
    double i = mean[1];
    double c = cos(mean[2]);
    double s = sin(mean[2]);
    const double rows[9] = {c / i, -v * c / (i * i), -v * s / i, /* R */
                            s / i, -v * s / (i * i), v * c / i,  /* X */
                            1 / i, -v / (i * i),     0};         /* Z */
    for (int k = 0; k < 9; k++)
        jacobian[k] = rows[k];
}

START_TEST(correlated_inputs_propagate_as_in_gum_h2)
{
    double mean[3], inputs[9], jacobian[9], out[9];
    h2_means(mean, inputs);
    h2_jacobian(mean, jacobian);
    uncertainty_propagate(jacobian, inputs, 3, 3, out);
    const double u[3] = {sqrt(out[0]), sqrt(out[4]), sqrt(out[8])};
    /* printed: 0.071, 0.295, 0.236 ohm; -0.588, -0.485, 0.993 (the GUM rounds on the way) */
    assert_near(u[0], 0.071, 0.0015);
    assert_near(u[1], 0.295, 0.0015);
    assert_near(u[2], 0.236, 0.0015);
    assert_near(out[1] / (u[0] * u[1]), -0.588, 0.0015);
    assert_near(out[2] / (u[0] * u[2]), -0.485, 0.0015);
    assert_near(out[5] / (u[1] * u[2]), 0.993, 0.0015);
    /* recomputed independently from the same readings in double precision */
    assert_near(u[0], 0.07107141, 1e-7);
    assert_near(u[1], 0.29558168, 1e-7);
    assert_near(u[2], 0.23633613, 1e-7);
}
END_TEST

START_TEST(dropping_the_correlations_of_gum_h2_would_be_wrong)
{
    double mean[3], inputs[9], jacobian[9], out[9];
    h2_means(mean, inputs);
    h2_jacobian(mean, jacobian);
    for (int k = 0; k < 9; k++)
        if (k % 4 != 0)
            inputs[k] = 0;
    uncertainty_propagate(jacobian, inputs, 3, 3, out);
    assert_near(sqrt(out[0]), 0.1945, 0.00005); /* too large */
    assert_near(sqrt(out[4]), 0.2009, 0.00005); /* too small */
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("uncertainty");
    TCase *t = tcase_create("gum");
    tcase_add_loop_test(t, coverage_factors_match_gum_table_g2, 0,
                        sizeof table_g2 / sizeof *table_g2);
    tcase_add_loop_test(t, coverage_factors_match_closed_forms, 0, 5);
    tcase_add_loop_test(t, coverage_factors_agree_with_the_density, 0, 11);
    tcase_add_test(t, coverage_has_no_factor_without_a_degree_of_freedom);
    tcase_add_test(t, chi_square_tails_match_the_handbook);
    tcase_add_test(t, effective_degrees_of_freedom_match_gum_h1);
    tcase_add_test(t, equal_contributions_have_whole_degrees_of_freedom_in_any_unit);
    tcase_add_test(t, contributions_known_exactly_leave_infinite_degrees_of_freedom);
    tcase_add_test(t, correlated_inputs_propagate_as_in_gum_h2);
    tcase_add_test(t, dropping_the_correlations_of_gum_h2_would_be_wrong);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
