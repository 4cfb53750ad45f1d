/* Spline arithmetic against number theory and against trying everything. */
#include "arithmetic/direction.h"
#include "arithmetic/spline.h"
#include "check_main.h"

/* lcm(teeth, arms): distinct directions of evenly spaced arms. Elementary number theory; tabled
 * here from an independent calculation. */
static const struct {
    int teeth, arms, directions;
    double step_deg; /* rounded to 1e-6 */
} lcm_table[] = {
    {21, 1, 21, 17.142857}, {21, 2, 42, 8.571429},  {21, 3, 21, 17.142857}, {21, 4, 84, 4.285714},
    {21, 6, 42, 8.571429},  {23, 1, 23, 15.652174}, {23, 2, 46, 7.826087},  {23, 3, 69, 5.217391},
    {23, 4, 92, 3.913043},  {23, 6, 138, 2.608696}, {24, 1, 24, 15},        {24, 2, 24, 15},
    {24, 3, 24, 15},        {24, 4, 24, 15},        {24, 6, 24, 15},        {25, 1, 25, 14.4},
    {25, 2, 50, 7.2},       {25, 3, 75, 4.8},       {25, 4, 100, 3.6},      {25, 6, 150, 2.4},
    {27, 1, 27, 13.333333}, {27, 2, 54, 6.666667},  {27, 3, 27, 13.333333}, {27, 4, 108, 3.333333},
    {27, 6, 54, 6.666667},
};
#define LCM_ROWS (sizeof lcm_table / sizeof *lcm_table)

static struct spline_horn even_horn(int teeth, int arms, double first_deg)
{
    struct spline_horn horn = {.teeth = teeth, .arm_count = arms};
    for (int i = 0; i < arms; i++)
        horn.arm_deg[i] = direction_normal(first_deg + 360.0 * i / arms);
    return horn;
}

static int by_value(const void *left, const void *right)
{
    double a = *(const double *)left;
    double b = *(const double *)right;
    return (a > b) - (a < b);
}

START_TEST(directions_match_the_lcm_table)
{
    int teeth = lcm_table[_i].teeth;
    int arms = lcm_table[_i].arms;
    ck_assert_int_eq(spline_directions(teeth, arms), lcm_table[_i].directions);
    assert_near(360.0 / spline_directions(teeth, arms), lcm_table[_i].step_deg, 5e-7);
}
END_TEST

/* The same count once more, from the angles of all positions. */
START_TEST(positions_of_even_arms_reach_as_many_directions_as_the_table_says)
{
    struct spline_horn horn = even_horn(lcm_table[_i].teeth, lcm_table[_i].arms, 17.3);
    static struct spline_position all[SPLINE_MAX_ARMS * SPLINE_MAX_TEETH];
    static double deg[SPLINE_MAX_ARMS * SPLINE_MAX_TEETH];
    size_t n = spline_positions(&horn, 0, all, SPLINE_MAX_ARMS * SPLINE_MAX_TEETH);
    ck_assert_uint_eq(n, (size_t)horn.teeth * (size_t)horn.arm_count);
    for (size_t i = 0; i < n; i++)
        deg[i] = direction_normal(all[i].remains_deg + 1e-7);
    qsort(deg, n, sizeof *deg, by_value);
    int distinct = 1;
    double narrowest = 360 - deg[n - 1] + deg[0];
    double widest = narrowest;
    for (size_t i = 1; i < n; i++)
        if (deg[i] - deg[i - 1] > 1e-6) {
            distinct++;
            narrowest = fmin(narrowest, deg[i] - deg[i - 1]);
            widest = fmax(widest, deg[i] - deg[i - 1]);
        }
    ck_assert_int_eq(distinct, lcm_table[_i].directions);
    assert_near(narrowest, lcm_table[_i].step_deg, 1e-6);
    assert_near(widest, lcm_table[_i].step_deg, 1e-6);
}
END_TEST

/* What remains of an arm on the tooth that brings it nearest, without trying them all: the referee
 * of spline_positions(). docs/advice.md, "Where the arms of a horn can point". */
static double nearest_remains(const struct spline_horn *horn, int arm, bool turned_over,
                              double wanted_deg)
{
    double turn = direction_turn(wanted_deg - spline_arm_deg(horn, arm, turned_over));
    return direction_turn(360 * round(turn * horn->teeth / 360) / horn->teeth - turn);
}

/* The worst wanted direction lies half a step off: 180 / lcm. */
START_TEST(even_arms_never_miss_by_more_than_half_a_step)
{
    struct spline_horn horn = even_horn(lcm_table[_i].teeth, lcm_table[_i].arms, 0);
    double half_step = 180.0 / lcm_table[_i].directions;
    double worst = 0;
    for (int k = 0; k < 16 * lcm_table[_i].directions; k++) {
        double wanted = k * half_step / 8;
        double least = 360;
        for (int arm = 0; arm < horn.arm_count; arm++)
            least = fmin(least, fabs(nearest_remains(&horn, arm, false, wanted)));
        worst = fmax(worst, least);
    }
    assert_near(worst, half_step, 1e-9);
}
END_TEST

/* A small generator of its own, so that a failing row can be met again. */
static double next_random(unsigned long long *state)
{
    *state = *state * 6364136223846793005ULL + 1442695040888963407ULL;
    return (double)(*state >> 11) / 9007199254740992.0;
}

static struct spline_horn random_horn(unsigned long long *state)
{
    struct spline_horn horn = {.teeth = 1 + (int)(next_random(state) * SPLINE_MAX_TEETH),
                               .arm_count = 1 + (int)(next_random(state) * SPLINE_MAX_ARMS),
                               .may_turn_over = next_random(state) < 0.5,
                               .turned_deg = 360 * next_random(state)};
    for (int i = 0; i < horn.arm_count; i++)
        horn.arm_deg[i] = 360 * next_random(state);
    horn.turned_arm = (int)(next_random(state) * horn.arm_count);
    return horn;
}

/* Uneven arms, any tooth count, both sides: the closed form finds what trying every tooth finds. */
START_TEST(nearest_tooth_is_the_best_of_all_teeth)
{
    unsigned long long state = 20240501;
    static struct spline_position all[2 * SPLINE_MAX_ARMS * SPLINE_MAX_TEETH];
    for (int trial = 0; trial < 500; trial++) {
        struct spline_horn horn = random_horn(&state);
        double wanted = 720 * next_random(&state) - 360;
        size_t n = spline_positions(&horn, wanted, all, sizeof all / sizeof *all);
        ck_assert_uint_eq(n, (size_t)(horn.teeth * horn.arm_count * (horn.may_turn_over ? 2 : 1)));
        for (size_t i = 0; i < n; i++)
            ck_assert(2 * all[i].teeth > -horn.teeth && 2 * all[i].teeth <= horn.teeth);
        for (int arm = 0; arm < horn.arm_count; arm++)
            for (int side = 0; side <= horn.may_turn_over; side++) {
                double least = 360;
                for (size_t i = 0; i < n; i++)
                    if (all[i].arm == arm && all[i].turned_over == side)
                        least = fmin(least, fabs(all[i].remains_deg));
                double remains = nearest_remains(&horn, arm, side, wanted);
                ck_assert_msg(fabs(fabs(remains) - least) < 1e-9,
                              "trial %d, arm %d, side %d: %.12g, but %.12g is possible", trial, arm,
                              side, remains, least);
            }
    }
}
END_TEST

/* What a position promises must be what a protractor would find after the horn is turned. */
START_TEST(positions_keep_their_promise)
{
    unsigned long long state = 7;
    static struct spline_position all[2 * SPLINE_MAX_ARMS * SPLINE_MAX_TEETH];
    for (int trial = 0; trial < 100; trial++) {
        struct spline_horn horn = random_horn(&state);
        size_t n = spline_positions(&horn, 90, all, sizeof all / sizeof *all);
        for (size_t i = 0; i < n; i++) {
            if (all[i].turned_over)
                continue;
            double after = horn.arm_deg[all[i].arm] + all[i].teeth * (360.0 / horn.teeth);
            assert_near(direction_turn(after - 90 - all[i].remains_deg), 0, 1e-9);
        }
    }
}
END_TEST

/* Turning over, from first principles: a horn is a set of arms at fixed angles from its own first
 * groove, and sits where groove and tooth meet. Turned over, the angles run the other way. Take
 * one reading turned over on some tooth, and every other arm and tooth must follow. */
START_TEST(one_reading_turned_over_tells_all_arms_turned_over)
{
    const double shaft_tooth_deg = 4.321, pitch = 360.0 / 25;
    const double arm_from_groove[] = {1.7, 92.0, 180.9, 269.4};
    struct spline_horn horn = {.teeth = 25, .arm_count = 4, .may_turn_over = true};
    for (int i = 0; i < 4; i++)
        horn.arm_deg[i] = direction_normal(shaft_tooth_deg + 3 * pitch + arm_from_groove[i]);
    horn.turned_arm = 2;
    horn.turned_deg = direction_normal(shaft_tooth_deg + 11 * pitch - arm_from_groove[2]);
    for (int i = 0; i < 4; i++) {
        double true_deg = shaft_tooth_deg + 11 * pitch - arm_from_groove[i];
        assert_near(direction_turn(spline_arm_deg(&horn, i, true) - true_deg), 0, 1e-9);
        assert_near(direction_turn(spline_arm_deg(&horn, i, false) - horn.arm_deg[i]), 0, 1e-9);
    }
}
END_TEST

/* A horn with an arm centred on a tooth and even arms is its own mirror image: turning it over
 * adds no direction. The same horn moulded a little off centre gains as many again. */
START_TEST(turning_over_adds_directions_only_to_a_horn_that_is_not_its_own_mirror_image)
{
    const double off_centre[] = {0, 1.3};
    const int expected[] = {100, 200};
    static struct spline_position all[2 * 4 * 25];
    for (int k = 0; k < 2; k++) {
        struct spline_horn horn = even_horn(25, 4, off_centre[k]);
        horn.may_turn_over = true;
        horn.turned_deg = -off_centre[k];
        size_t n = spline_positions(&horn, 0, all, 200);
        int distinct = 0;
        for (size_t i = 0; i < n; i++) {
            size_t j = 0;
            while (j < i && fabs(direction_turn(all[i].remains_deg - all[j].remains_deg)) > 1e-6)
                j++;
            distinct += j == i;
        }
        ck_assert_int_eq(distinct, expected[k]);
    }
}
END_TEST

START_TEST(a_short_list_still_counts_all)
{
    struct spline_horn horn = even_horn(25, 2, 0);
    struct spline_position three[4] = {{.arm = 77}, {.arm = 77}, {.arm = 77}, {.arm = 77}};
    ck_assert_uint_eq(spline_positions(&horn, 0, three, 3), 50);
    ck_assert_int_eq(three[2].arm, 0);
    ck_assert_int_eq(three[3].arm, 77);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("spline");
    TCase *t = tcase_create("spline");
    tcase_add_loop_test(t, directions_match_the_lcm_table, 0, LCM_ROWS);
    tcase_add_loop_test(t, positions_of_even_arms_reach_as_many_directions_as_the_table_says, 0,
                        LCM_ROWS);
    tcase_add_loop_test(t, even_arms_never_miss_by_more_than_half_a_step, 0, LCM_ROWS);
    tcase_add_test(t, nearest_tooth_is_the_best_of_all_teeth);
    tcase_add_test(t, positions_keep_their_promise);
    tcase_add_test(t, one_reading_turned_over_tells_all_arms_turned_over);
    tcase_add_test(t, turning_over_adds_directions_only_to_a_horn_that_is_not_its_own_mirror_image);
    tcase_add_test(t, a_short_list_still_counts_all);
    tcase_set_timeout(t, 60); /* on a busy machine, under the sanitizers */
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
