/* Checks spread.c against published values. */
#include "spread.h"

#include "check_main.h"

/* R. G. Newcombe, "Two-sided confidence intervals for the single proportion: comparison of seven
 * methods", Statistics in Medicine 17 (1998), table I, method 3 (score); quoted from memory, and
 * computed anew from the formula. */
static const struct {
    int part, whole;
    double low, high;
} newcombe[] = {
    {81, 263, 0.2553, 0.3662},
    {15, 148, 0.0624, 0.1605},
    {0, 20, 0.0000, 0.1611},
    {1, 29, 0.0061, 0.1718},
};

START_TEST(share_limits_are_those_published)
{
    double low, high;
    spread_share_limits(newcombe[_i].part, newcombe[_i].whole, &low, &high);
    ck_assert_double_eq_tol(low, newcombe[_i].low, 0.00005);
    ck_assert_double_eq_tol(high, newcombe[_i].high, 0.00005);
}
END_TEST

START_TEST(quantile_is_a_value_of_the_sample)
{
    double values[] = {5, 1, 4, 2, 3};
    spread_sort(values, 5);
    ck_assert_double_eq(spread_quantile(values, 5, 0.5), 3);
    ck_assert_double_eq(spread_quantile(values, 4, 0.5), 2);
    ck_assert_double_eq(spread_quantile(values, 5, 0.95), 5);
    ck_assert_double_eq(spread_quantile(values, 5, 0), 1);
    ck_assert_double_eq(spread_quantile(values, 0, 0.5), 0);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("spread");
    TCase *t = tcase_create("spread");
    tcase_add_loop_test(t, share_limits_are_those_published, 0,
                        (int)(sizeof newcombe / sizeof newcombe[0]));
    tcase_add_test(t, quantile_is_a_value_of_the_sample);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
