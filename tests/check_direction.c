/* Directions on a circle against published examples of directional statistics. */
#include "arithmetic/direction.h"
#include "check_main.h"

/* K. V. Mardia and P. E. Jupp, Directional Statistics, Example 1.1 (roulette wheel): mean 51 deg,
 * resultant 0.711. */
static const double roulette[] = {43, 45, 52, 61, 75, 88, 88, 279, 357};

/* J. C. Davis, Statistics and Data Analysis in Geology (1986), p. 316, 51 glacial striations:
 * resultant 0.800. */
static const double striations[] = {23,  27,  53,  58,  64,  83,  85,  88,  93,  99,  100, 105, 113,
                                    113, 114, 117, 121, 123, 125, 126, 126, 126, 127, 127, 128, 128,
                                    129, 132, 132, 132, 134, 135, 137, 144, 145, 145, 146, 153, 155,
                                    155, 155, 157, 163, 165, 171, 172, 179, 181, 186, 190, 212};

/* J. H. Zar, Biostatistical Analysis (quoted from memory): mean 99 deg, resultant 0.825. */
static const double zar[] = {45, 55, 81, 96, 110, 117, 132, 154};

#define COUNT(array) (sizeof(array) / sizeof *(array))

START_TEST(mean_matches_published_examples)
{
    struct direction_mean m;
    ck_assert(direction_mean(roulette, COUNT(roulette), 360, &m));
    assert_near(m.mean_deg, 51, 0.5);
    assert_near(m.resultant, 0.711, 0.0005);
    assert_near(m.mean_deg, 51.05017711, 1e-8); /* recomputed independently */
    ck_assert(direction_mean(striations, COUNT(striations), 360, &m));
    assert_near(m.resultant, 0.800, 0.0005);
    assert_near(m.mean_deg, 129.19027459, 1e-8);
    ck_assert(direction_mean(zar, COUNT(zar), 360, &m));
    assert_near(m.mean_deg, 99, 0.5);
    assert_near(m.resultant, 0.825, 0.0005);
}
END_TEST

START_TEST(mean_crosses_zero)
{
    const double pair[] = {359, 1}, three[] = {355, 5, 15};
    struct direction_mean m;
    ck_assert(direction_mean(pair, 2, 360, &m));
    assert_near(direction_turn(m.mean_deg), 0, 1e-12);
    assert_near(m.resultant, 0.99984770, 5e-9); /* cos 1 deg */
    ck_assert(direction_mean(three, 3, 360, &m));
    assert_near(m.mean_deg, 5, 1e-12);
    assert_near(m.resultant, 0.98987184, 5e-9);
}
END_TEST

/* Lines without a head repeat after 180 degrees: 179 and 3 lie about 1. */
START_TEST(mean_of_lines_crosses_180)
{
    const double lines[] = {179, 3};
    struct direction_mean m;
    ck_assert(direction_mean(lines, 2, 180, &m));
    assert_near(m.mean_deg, 1, 1e-12);
    assert_near(m.resultant, cos(4 * M_PI / 180), 1e-12);
}
END_TEST

START_TEST(mean_refuses_directions_that_cancel)
{
    const double opposite[] = {10, 190}, cross[] = {0, 90, 180, 270}, bad[] = {1, INFINITY};
    struct direction_mean m = {7, 7};
    ck_assert(!direction_mean(opposite, 2, 360, &m));
    ck_assert(!direction_mean(cross, 4, 360, &m));
    ck_assert(!direction_mean(bad, 2, 360, &m));
    ck_assert(!direction_mean(bad, 0, 360, &m));
    ck_assert(m.mean_deg == 7);
    ck_assert(direction_mean(opposite, 2, 180, &m));
    assert_near(m.mean_deg, 10, 1e-12);
}
END_TEST

static const struct {
    double deg, normal, turn, deviation, square;
} wrapped[] = {
    {0, 0, 0, 0, 0},
    {90, 90, 90, 0, 90},
    {91.5, 91.5, 91.5, 1.5, 90},
    {88, 88, 88, -2, 90},
    {45, 45, 45, 45, 0},
    {-45, 315, -45, 45, 270},
    {135, 135, 135, 45, 90},
    {180, 180, 180, 0, 180},
    {-180, 180, 180, 0, 180},
    {359, 359, -1, -1, 0},
    {-1, 359, -1, -1, 0},
    {271, 271, -89, 1, 270},
    {725, 5, 5, 5, 0},
    {314.5, 314.5, -45.5, 44.5, 270},
};

START_TEST(angles_wrap_into_their_ranges)
{
    double deg = wrapped[_i].deg;
    assert_near(direction_normal(deg), wrapped[_i].normal, 0);
    assert_near(direction_turn(deg), wrapped[_i].turn, 0);
    assert_near(direction_deviation(deg), wrapped[_i].deviation, 0);
    assert_near(direction_square(deg), wrapped[_i].square, 0);
}
END_TEST

START_TEST(a_hair_below_a_full_turn_stays_in_range)
{
    ck_assert_double_lt(direction_normal(-1e-20), 360);
    ck_assert_double_ge(direction_normal(-1e-20), 0);
    ck_assert(!signbit(direction_normal(-360.0)));
}
END_TEST

/* The convention of this program: counter-clockwise is positive. What is way back is the other. */
START_TEST(positive_is_counter_clockwise)
{
    ck_assert_str_eq(direction_way(0.001), "counter-clockwise");
    ck_assert_str_eq(direction_way(-0.001), "clockwise");
    for (int way = -1; way <= 1; way += 2)
        ck_assert_str_ne(direction_way(way), direction_way(-way));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("direction");
    TCase *t = tcase_create("direction");
    tcase_add_test(t, mean_matches_published_examples);
    tcase_add_test(t, mean_crosses_zero);
    tcase_add_test(t, mean_of_lines_crosses_180);
    tcase_add_test(t, mean_refuses_directions_that_cancel);
    tcase_add_loop_test(t, angles_wrap_into_their_ranges, 0, COUNT(wrapped));
    tcase_add_test(t, a_hair_below_a_full_turn_stays_in_range);
    tcase_add_test(t, positive_is_counter_clockwise);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
