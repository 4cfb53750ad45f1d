/* What every Check program here shares: running one suite, and comparing with a published value. */
#ifndef CHECK_MAIN_H
#define CHECK_MAIN_H

#include <check.h>
#include <math.h>
#include <stdlib.h>

/* |value - expected| <= tol, with tol as printed precision allows (half a unit of the last digit).
 */
#define assert_near(value, expected, tol)                                                          \
    do {                                                                                           \
        double value_ = (value), expected_ = (expected);                                           \
        ck_assert_msg(fabs(value_ - expected_) <= (tol), "%s is %.15g, not %.15g", #value, value_, \
                      expected_);                                                                  \
    } while (0)

/* Relative difference at most tol. */
#define assert_relative(value, expected, tol) ck_assert_double_le(fabs((value) / (expected)-1), tol)

/* Twelve uniforms: mean 0, variance 1, as good as normal to 3 of it. */
static inline double noise(void)
{
    double sum = -6;
    for (int i = 0; i < 12; i++)
        sum += rand() / (double)RAND_MAX;
    return sum;
}

static inline int run_suite(Suite *suite)
{
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}

#endif
