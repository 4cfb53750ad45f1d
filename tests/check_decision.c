/* Accept, reject or cannot tell, after ISO 14253-1. */
#include "arithmetic/decision.h"
#include "check_main.h"

/* The rule itself: tolerance zone narrowed by U for accepting, widened by U for rejecting; in
 * between neither can be proved. Deviations have either sign. */
static const struct {
    double deviation, expanded, tolerance;
    enum decision expected;
} rows[] = {
    {0, 0.2, 0.5, DECISION_ACCEPT},
    {0.25, 0.25, 0.5, DECISION_ACCEPT},
    {-0.25, 0.25, 0.5, DECISION_ACCEPT},
    {0.26, 0.25, 0.5, DECISION_CANNOT_TELL},
    {-0.5, 0.25, 0.5, DECISION_CANNOT_TELL},
    {0.74, 0.25, 0.5, DECISION_CANNOT_TELL},
    {0.75, 0.25, 0.5, DECISION_REJECT},
    {-3, 0.25, 0.5, DECISION_REJECT},
    {0, 0.6, 0.5, DECISION_CANNOT_TELL},
    {0, 0, 0, DECISION_ACCEPT},
    {0.1, 0, 0, DECISION_REJECT},
    {58.2 - 58.1, 0, 0.1, DECISION_ACCEPT},
    {0.1, 0.2, 0.3, DECISION_ACCEPT},
    {0, NAN, 0.5, DECISION_CANNOT_TELL},
    {9, NAN, 0.5, DECISION_CANNOT_TELL},
};

START_TEST(tolerance_is_narrowed_to_accept_and_widened_to_reject)
{
    ck_assert_int_eq(decision_make(rows[_i].deviation, rows[_i].expanded, rows[_i].tolerance),
                     rows[_i].expected);
}
END_TEST

/* JCGM 106:2012, 8.3.2: with a guard band of U = 2u an accepted item lies outside its tolerance
 * with a probability of at most 2.3 % (quoted from memory; it is the normal tail beyond 2). */
START_TEST(an_accepted_deviation_is_rarely_out_of_tolerance)
{
    const double u = 0.1, tolerance = 1;
    double worst = 0;
    for (int i = 0; i <= 1000; i++) {
        double d = i * tolerance / 1000;
        if (decision_make(d, 2 * u, tolerance) == DECISION_ACCEPT)
            worst = fmax(worst, erfc((tolerance - d) / u / sqrt(2)) / 2);
    }
    assert_near(worst, 0.0228, 0.0005);
}
END_TEST

START_TEST(every_decision_has_a_name)
{
    for (int d = 0; d < DECISION_COUNT; d++)
        ck_assert_ptr_nonnull(decision_name((enum decision)d));
    ck_assert_ptr_null(decision_name(DECISION_COUNT));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("decision");
    TCase *t = tcase_create("decision");
    tcase_add_loop_test(t, tolerance_is_narrowed_to_accept_and_widened_to_reject, 0,
                        sizeof rows / sizeof *rows);
    tcase_add_test(t, an_accepted_deviation_is_rarely_out_of_tolerance);
    tcase_add_test(t, every_decision_has_a_name);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
