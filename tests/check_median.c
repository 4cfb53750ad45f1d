/* Medians against sorting with the C library. */
#include "maths/median.h"

#include "check_main.h"

#include <stdlib.h>
#include <string.h>

#define MOST 200

static int by_value(const void *a, const void *b)
{
    const double d = *(const double *)a - *(const double *)b;
    return (d > 0) - (d < 0);
}

/* Values of few and of many kinds, rising, falling and mixed. */
static void make_values(int kind, int n, double *v)
{
    for (int i = 0; i < n; i++)
        v[i] = kind == 0   ? rand() % 5
               : kind == 1 ? rand() / (double)RAND_MAX
               : kind == 2 ? i
               : kind == 3 ? -i
                           : 7;
}

START_TEST(medians_are_those_of_sorted_values)
{
    double v[MOST], sorted[MOST], mixed[MOST];
    srand(1);
    for (int kind = 0; kind < 5; kind++)
        for (int n = 1; n <= MOST; n++) {
            make_values(kind, n, v);
            memcpy(sorted, v, sizeof v);
            qsort(sorted, (size_t)n, sizeof *sorted, by_value);
            memcpy(mixed, v, sizeof v);
            ck_assert_double_eq(median_upper(mixed, n), sorted[n / 2]);
            memcpy(mixed, v, sizeof v);
            ck_assert_double_eq(median_mean(mixed, n), (sorted[(n - 1) / 2] + sorted[n / 2]) / 2);
            const int rank = rand() % n;
            memcpy(mixed, v, sizeof v);
            ck_assert_double_eq(median_select(mixed, n, rank), sorted[rank]);
            qsort(mixed, (size_t)n, sizeof *mixed, by_value);
            ck_assert_msg(memcmp(mixed, sorted, (size_t)n * sizeof *mixed) == 0,
                          "kind %d, %d values: some were lost", kind, n);
        }
}
END_TEST

START_TEST(no_values_have_median_zero)
{
    double none = 3;
    ck_assert_double_eq(median_upper(&none, 0), 0);
    ck_assert_double_eq(median_mean(&none, 0), 0);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("median");
    TCase *tests = tcase_create("median");
    tcase_add_test(tests, medians_are_those_of_sorted_values);
    tcase_add_test(tests, no_values_have_median_zero);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
