/* Learning degrees per percent: unwrapping, uncertainty, backlash, refusals. The fit itself is
 * checked in check_linear_fit. */
#include "advice/trim_scale.h"
#include "arithmetic/direction.h"
#include "check_main.h"
#include "norris.h"

/* Readings that share nothing do not say so. */
#pragma GCC diagnostic ignored "-Wmissing-field-initializers"

#define LEARN(scale, ...)                                                                          \
    trim_scale_learn(                                                                              \
        (const struct trim_reading[]){__VA_ARGS__},                                                \
        sizeof((const struct trim_reading[]){__VA_ARGS__}) / sizeof(struct trim_reading), scale)

/* "Norris" as a horn: y in hundredths of a degree against x in percent. */
START_TEST(scale_matches_nist_norris)
{
    struct trim_reading readings[NORRIS_N];
    for (int i = 0; i < NORRIS_N; i++)
        readings[i] =
            (struct trim_reading){direction_normal(358 + norris_y[i] / 100), NAN, norris_x[i]};
    struct trim_scale scale;
    ck_assert_int_eq(trim_scale_learn(readings, NORRIS_N, &scale), TRIM_SCALE_OK);
    assert_relative(scale.fit.slope, 1.00211681802045e-2, 1e-10);
    assert_relative(scale.fit.u_slope, 0.429796848199937e-5, 1e-9);
    /* k(95 %, 34 dof) = 2.0322, from the t-distribution; GUM Table G.2 has 2.03 for 35 */
    assert_relative(scale.expanded, 2.0322 * 0.429796848199937e-5, 1e-4);
    trim_scale_clear(&scale);
}
END_TEST

START_TEST(readings_across_zero_give_the_same_scale_as_elsewhere)
{
    struct trim_scale here, there;
    ck_assert_int_eq(LEARN(&here, {91, .1, 0}, {95.4, .1, 10}, {86.3, .1, -10}), TRIM_SCALE_OK);
    ck_assert_int_eq(LEARN(&there, {1, .1, 0}, {5.4, .1, 10}, {356.3, .1, -10}), TRIM_SCALE_OK);
    assert_near(there.fit.slope, here.fit.slope, 1e-12);
    assert_near(there.fit.u_slope, here.fit.u_slope, 1e-12);
    assert_near(direction_turn(there.fit.intercept + 90 - here.fit.intercept), 0, 1e-9);
    trim_scale_clear(&here);
    trim_scale_clear(&there);
}
END_TEST

/* By hand: three readings of u 0.116, of which 0.086 is the same in all. Averaging leaves
 * sqrt(0.116^2 - 0.086^2) / sqrt(3) of the rest, and all of that (JCGM 100:2008, 5.2.2). */
START_TEST(what_all_readings_share_stays_in_the_angle_at_zero)
{
    struct trim_scale scale;
    struct uncertainty at_zero, at_square;
    double off;
    const double common = 0.086, own = sqrt(0.116 * 0.116 - common * common);
    ck_assert_int_eq(LEARN(&scale, {97.3, .116, 0, {0, common}}, {101.8, .116, 10, {0, common}},
                           {92.8, .116, -10, {0, common}}),
                     TRIM_SCALE_OK);
    assert_near(trim_scale_at_zero(&scale, &at_zero), 97.3, 1e-9);
    assert_near(at_zero.u, hypot(own / sqrt(3), common), 1e-9);
    assert_near(trim_scale_square(&scale, &off, &at_square), -7.3 / 0.45, 1e-9);
    assert_near(off, 7.3, 1e-9);
    ck_assert_double_gt(at_square.u, at_zero.u / 0.45);
    trim_scale_clear(&scale);
}
END_TEST

/* By hand: u 0.25, of which 0.24 is the same in both: by their own 0.07 each, two readings at one
 * percent that are 0.6 degrees apart show backlash (U of the difference 1.96 x 0.07 x sqrt(2) =
 * 0.19), and the slope between 0 and 10 % is known to 0.07 sqrt(2) / 10. */
START_TEST(what_all_readings_surely_share_hides_neither_slope_nor_backlash)
{
    const double own = sqrt(0.25 * 0.25 - 0.24 * 0.24);
    const struct trim_shared all = {0.24, 0.24};
    struct trim_scale scale;
    struct uncertainty at_zero;
    ck_assert_int_eq(LEARN(&scale, {90, .25, 0, all}, {94.5, .25, 10, all}), TRIM_SCALE_OK);
    assert_near(scale.u_slope.u, own * sqrt(2) / 10, 1e-9);
    trim_scale_at_zero(&scale, &at_zero);
    assert_near(at_zero.u, 0.25, 1e-9);
    trim_scale_clear(&scale);
    LEARN(&scale, {90, .25, 0, all}, {94.5, .25, 10, all}, {90.6, .25, 0, all});
    ck_assert(scale.backlash_shows);
    trim_scale_clear(&scale);
}
END_TEST

/* By hand: of two photos at 10 and two numbers at 0 %, the photos' common error e is in the slope
 * as e / 10, and in the angle at 0 % not at all. */
START_TEST(what_photos_share_is_not_shared_by_numbers)
{
    for (int sure = 0; sure < 2; sure++) {
        const struct trim_shared photo = {sure * 0.24, 0.24};
        struct trim_scale scale;
        struct uncertainty at_zero;
        LEARN(&scale, {94.5, .25, 10, photo}, {94.5, .25, 10, photo}, {90, .05, 0}, {90, .05, 0});
        const double own = (0.25 * 0.25 - 0.24 * 0.24) / 2 + 0.05 * 0.05 / 2;
        ck_assert_double_ge(scale.u_slope.u, sqrt(own + 0.24 * 0.24) / 10);
        ck_assert_double_le(scale.u_slope.u, 1.2 * sqrt(own + 0.24 * 0.24) / 10);
        trim_scale_at_zero(&scale, &at_zero);
        assert_near(at_zero.u, 0.05 / sqrt(2), 1e-9);
        trim_scale_clear(&scale);
    }
}
END_TEST

START_TEST(a_reversed_servo_has_a_negative_scale)
{
    struct trim_scale scale;
    ck_assert_int_eq(LEARN(&scale, {90, .1, 0}, {85.5, .1, 10}, {94.5, .1, -10}), TRIM_SCALE_OK);
    assert_near(scale.fit.slope, -0.45, 1e-12);
    trim_scale_clear(&scale);
}
END_TEST

START_TEST(different_readings_at_one_percent_show_as_backlash_beyond_their_uncertainty)
{
    struct trim_scale scale;
    LEARN(&scale, {90, .1, 0}, {94.5, .1, 10}, {85.5, .1, -10}, {90.4, .1, 0});
    ck_assert(scale.repeated && scale.backlash_shows); /* U of the difference: 0.277 */
    assert_near(scale.backlash_deg, 0.4, 1e-9);
    assert_near(scale.backlash_percent, 0, 0);
    trim_scale_clear(&scale);
    LEARN(&scale, {90, .1, 0}, {94.5, .1, 10}, {85.5, .1, -10}, {90.2, .1, 0});
    ck_assert(scale.repeated && !scale.backlash_shows);
    trim_scale_clear(&scale);
    LEARN(&scale, {90, .1, 0}, {94.5, .1, 10}, {85.5, .1, -10});
    ck_assert(!scale.repeated);
    trim_scale_clear(&scale);
}
END_TEST

/* Of sound series, each with readings of its own u at 0 % and one at either side, one in twenty
 * shows backlash by chance and one in 370 has a reading that stands out, however many there are. */
START_TEST(many_readings_show_nothing_by_chance)
{
    enum { SERIES = 3000 };
    srand(5);
    for (size_t at_zero = 2; at_zero <= 8; at_zero += 3) {
        int shows = 0, stands_out = 0;
        for (int k = 0; k < SERIES; k++) {
            struct trim_reading readings[10];
            struct trim_scale scale;
            for (size_t i = 0; i < at_zero + 2; i++) {
                double percent = i < at_zero ? 0 : i > at_zero ? 10 : -10;
                double u = 0.05 * (double)(1 + i % 3);
                readings[i] = (struct trim_reading){90 + 0.45 * percent + u * noise(), u, percent};
            }
            ck_assert_int_eq(trim_scale_learn(readings, at_zero + 2, &scale), TRIM_SCALE_OK);
            shows += scale.backlash_shows;
            stands_out += trim_scale_stands_out(&scale);
            trim_scale_clear(&scale);
        }
        ck_assert_msg(shows > 0.035 * SERIES && shows < 0.065 * SERIES, "%d show", shows);
        ck_assert_msg(stands_out < 0.006 * SERIES, "%d stand out", stands_out);
    }
}
END_TEST

/* The second is seven of its u off the line of the others, the fourth, vague, less than one and yet
 * further in degrees. Of three all are as far off: by hand (a - 2 b + c) / (sqrt(6) u). */
START_TEST(the_reading_that_stands_out_is_found)
{
    struct trim_scale scale;
    LEARN(&scale, {90, .05, 0}, {92.6, .05, 5}, {94.5, .05, 10}, {84.6, 1, -10}, {87.75, .05, -5},
          {88.65, .05, -3});
    ck_assert(trim_scale_stands_out(&scale) && scale.worst == 1 && !scale.tied);
    trim_scale_clear(&scale);
    LEARN(&scale, {90, .1, 0}, {94.5, .1, 10}, {85, .1, -10});
    ck_assert(!trim_scale_stands_out(&scale)); /* 2.0 */
    trim_scale_clear(&scale);
    LEARN(&scale, {90, .1, 0}, {95.5, .1, 10}, {85.5, .1, -10});
    ck_assert(trim_scale_stands_out(&scale) && scale.tied); /* 4.1 */
    trim_scale_clear(&scale);
}
END_TEST

START_TEST(residuals_add_up_to_the_readings)
{
    struct trim_scale scale;
    const struct trim_reading readings[] = {
        {359, NAN, 0}, {4, NAN, 10}, {355, NAN, -10}, {1, NAN, 3}};
    ck_assert_int_eq(trim_scale_learn(readings, 4, &scale), TRIM_SCALE_OK);
    for (int i = 0; i < 4; i++) {
        double line = scale.fit.intercept + scale.fit.slope * readings[i].percent;
        assert_near(direction_turn(line + scale.residuals_deg[i] - readings[i].angle_deg), 0, 1e-9);
    }
    trim_scale_clear(&scale);
}
END_TEST

#define assert_refused(status, ...)                                                                \
    do {                                                                                           \
        struct trim_scale scale_;                                                                  \
        ck_assert_int_eq(LEARN(&scale_, __VA_ARGS__), status);                                     \
        trim_scale_clear(&scale_);                                                                 \
    } while (0)

START_TEST(nonsense_is_refused_by_name)
{
    assert_refused(TRIM_SCALE_FEW, {90, .1, 0});
    assert_refused(TRIM_SCALE_ONE_SPOT, {90, .1, 5}, {91, .1, 5});
    assert_refused(TRIM_SCALE_SCATTERED, {0, .1, 0}, {180, .1, 5});
    assert_refused(TRIM_SCALE_SCATTERED, {0, .1, 0}, {90, .1, 5}, {200, .1, 10});
    assert_refused(TRIM_SCALE_STILL, {90, .1, 0}, {90.1, .1, 5}, {90, .1, 10});
    /* one percent's sign turned about; with a known u and without */
    assert_refused(TRIM_SCALE_TANGLED, {90.3, .1, 0}, {94.9, .1, 10}, {100, .1, -10});
    assert_refused(TRIM_SCALE_TANGLED, {90.3, NAN, 0}, {94.9, NAN, 10}, {100, NAN, -10});
    assert_refused(TRIM_SCALE_STILL, {90, NAN, 0}, {90.3, NAN, 10}, {90.1, NAN, -10});
    /* 4.5 degrees and 2.5 for the next 10 %: 7 are seen by any eye, t(1) is 12.7 */
    assert_refused(TRIM_SCALE_UNTOLD, {90, NAN, 0}, {94.5, NAN, 10}, {97, NAN, 20});
    assert_refused(TRIM_SCALE_WILD, {90, .1, 0}, {95, .1, 0.01});
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("trim_scale");
    TCase *t = tcase_create("trim_scale");
    tcase_add_test(t, scale_matches_nist_norris);
    tcase_add_test(t, readings_across_zero_give_the_same_scale_as_elsewhere);
    tcase_add_test(t, a_reversed_servo_has_a_negative_scale);
    tcase_add_test(t, what_all_readings_share_stays_in_the_angle_at_zero);
    tcase_add_test(t, what_all_readings_surely_share_hides_neither_slope_nor_backlash);
    tcase_add_test(t, what_photos_share_is_not_shared_by_numbers);
    tcase_add_test(t, different_readings_at_one_percent_show_as_backlash_beyond_their_uncertainty);
    tcase_add_test(t, many_readings_show_nothing_by_chance);
    tcase_add_test(t, the_reading_that_stands_out_is_found);
    tcase_add_test(t, residuals_add_up_to_the_readings);
    tcase_add_test(t, nonsense_is_refused_by_name);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
