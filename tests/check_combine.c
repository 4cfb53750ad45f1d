/* src/arithmetic/combine.c: several photos of one arm put together. */
#include "arithmetic/combine.h"
#include "check_main.h"
#include "result/arm_uncertainty.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>

static void near(double found, double want, double tolerance, const char *what)
{
    ck_assert_msg(fabs(found - want) <= tolerance, "%s: %.9g, expected %.9g", what, found, want);
}

/* An arm whose error is its photo's own. */
static struct vision_arm arm_of(double angle_deg, double u_deg)
{
    return (struct vision_arm){.angle_deg = angle_deg,
                               .u_deg = u_deg,
                               .budget_count = 1,
                               .budget = {{.name = "edge noise",
                                           .u_deg = u_deg,
                                           .type = 'A',
                                           .dof = INFINITY,
                                           .term = VISION_TERM_EDGE,
                                           .scope = VISION_SCOPE_OWN}}};
}

static void add_line(struct vision_arm *arm, enum vision_term term, enum vision_scope scope,
                     double u_deg)
{
    arm->budget[arm->budget_count++] = (struct vision_budget_line){
        .name = "shared", .u_deg = u_deg, .type = 'B', .dof = 8, .term = term, .scope = scope};
    arm->u_deg = hypot(arm->u_deg, u_deg);
}

/* A tilt of 0.25 degrees seen with this gain. */
static void add_tilt(struct vision_arm *arm, double gain)
{
    arm->tilt_gain[0] = gain;
    add_line(arm, VISION_TERM_TILT, VISION_SCOPE_PLACE, 0.25 * fabs(gain));
}

/* As these readings of one arm tell it. */
static struct lean lean_of(const struct vision_arm *arms, const enum combine_side *sides, int n)
{
    struct lean_reading readings[COMBINE_MAX_PHOTOS];
    double photo_deg[COMBINE_MAX_PHOTOS] = {0};
    for (int i = 0; i < n; i++) {
        double own = 0;
        for (int k = 0; k < arms[i].budget_count; k++)
            if (arms[i].budget[k].scope == VISION_SCOPE_OWN)
                own = hypot(own, arms[i].budget[k].u_deg);
        readings[i] = (struct lean_reading){sides && sides[i] == COMBINE_CLOCKWISE,
                                            i,
                                            arms[i].angle_deg,
                                            own,
                                            {arms[i].tilt_gain[0], arms[i].tilt_gain[1]}};
    }
    struct lean_question q = {readings, n, 2, n, photo_deg, 0.25};
    return lean_find(&q);
}

static struct combined put(const struct vision_arm *arms, const enum combine_side *sides, int n,
                           bool card_moved)
{
    struct combine_reading readings[COMBINE_MAX_PHOTOS];
    for (int i = 0; i < n; i++)
        readings[i] = (struct combine_reading){&arms[i], sides ? sides[i] : COMBINE_SIDE_UNKNOWN};
    struct lean lean = lean_of(arms, sides, n);
    struct combine_question q = {readings, n, card_moved ? NULL : &lean, 1};
    struct combined out;
    combine(&q, &out);
    return out;
}

/* J. R. Taylor, An Introduction to Error Analysis, 2nd ed., 7.3: three measurements of a
 * resistance, 11 +- 1, 12 +- 1 and 10 +- 3 ohm, give 11.42 +- 0.69, quoted as 11.4 +- 0.7 (from
 * memory). */
START_TEST(weighted_mean_agrees_with_a_textbook)
{
    const struct vision_arm arms[3] = {arm_of(11, 1), arm_of(12, 1), arm_of(10, 3)};
    struct combined c = put(arms, NULL, 3, false);
    near(c.arm.angle_deg, 11.42, 0.005, "mean");
    near(c.arm.u_deg, 0.69, 0.005, "u");
    ck_assert(!c.disagree);
}
END_TEST

/* The sixteen values of the Newtonian constant (1e-11 m^3 kg^-1 s^-2) behind the CODATA 2018 value
 * 6.674 30(15), whose uncertainty is that of the weighted mean times 3.9, the factor that brings
 * every value within two (E. Tiesinga et al., Rev. Mod. Phys. 93, 025010, 2021, table XXIX and
 * section XIV; from memory). Correlations of two pairs are left out here: less than one in the
 * last digit. */
static const double newton[][2] = {
    {6.67248, 0.00043}, {6.6729, 0.0005},   {6.67398, 0.00070},   {6.674255, 0.000092},
    {6.67559, 0.00027}, {6.67422, 0.00098}, {6.67387, 0.00027},   {6.67222, 0.00087},
    {6.67425, 0.00012}, {6.67349, 0.00018}, {6.67260, 0.00025},   {6.67554, 0.00016},
    {6.67191, 0.00099}, {6.67435, 0.00013}, {6.674184, 0.000078}, {6.674484, 0.000078},
};

START_TEST(values_that_disagree_are_told_as_in_the_codata_adjustment)
{
    struct vision_arm arms[16];
    for (int i = 0; i < 16; i++)
        arms[i] = arm_of(newton[i][0], newton[i][1]);
    struct combined c = put(arms, NULL, 16, false);
    near(c.arm.angle_deg, 6.67430, 0.000015, "mean");
    near(c.arm.u_deg / c.birge * 3.9, 0.00015, 0.000005, "u times the published factor");
    ck_assert(c.disagree);
    ck_assert_int_eq(c.dof, 15);
    ck_assert(c.birge > 3 && c.birge < 3.9);
    ck_assert(c.probability < 1e-6);
}
END_TEST

/* What every photo has in common stays, however many there are. */
START_TEST(shared_terms_do_not_average_out)
{
    struct vision_arm arms[9];
    for (int i = 0; i < 9; i++) {
        arms[i] = arm_of(90, 0.3);
        add_line(&arms[i], VISION_TERM_STRAIGHTNESS, VISION_SCOPE_ARM, 0.08);
        add_line(&arms[i], VISION_TERM_PRINT, VISION_SCOPE_PRINT, 0.03);
        add_line(&arms[i], VISION_TERM_LENS, VISION_SCOPE_CAMERA, 0.02);
        add_line(&arms[i], VISION_TERM_FLATNESS, VISION_SCOPE_PLACE, 0.05);
        add_tilt(&arms[i], 0.4);
    }
    struct combined c = put(arms, NULL, 9, false);
    double shared = sqrt(0.08 * 0.08 + 0.03 * 0.03 + 0.02 * 0.02 + 0.05 * 0.05 + 0.1 * 0.1);
    near(c.arm.u_deg, hypot(0.3 / 3, shared), 1e-9, "card that lay still");
    c = put(arms, NULL, 9, true);
    double stays = sqrt(0.08 * 0.08 + 0.03 * 0.03 + 0.02 * 0.02);
    double own = sqrt(0.3 * 0.3 + 0.05 * 0.05 + 0.1 * 0.1);
    near(c.arm.u_deg, hypot(own / 3, stays), 1e-9, "card laid anew");
}
END_TEST

/* Photos from both sides of a card that leans by 0.25 degrees: the errors are opposite. */
START_TEST(views_from_opposite_sides_cancel_the_tilt)
{
    struct vision_arm arms[2] = {arm_of(90.1, 0.02), arm_of(89.9, 0.02)};
    add_tilt(&arms[0], 0.4);
    add_tilt(&arms[1], -0.4);
    struct combined c = put(arms, NULL, 2, false);
    near(c.arm.angle_deg, 90, 1e-9, "mean");
    near(c.arm.u_deg, 0.02 / sqrt(2), 1e-9, "u");
    ck_assert_msg(!c.disagree, "a tilt of one standard uncertainty explains the difference");
    struct vision_arm same[2] = {arm_of(90.1, 0.02), arm_of(89.9, 0.02)};
    add_tilt(&same[0], 0.4);
    add_tilt(&same[1], 0.4);
    ck_assert_msg(put(same, NULL, 2, false).disagree, "from one side nothing explains it");
}
END_TEST

/* By Monte Carlo (JCGM 101:2008): the mean scatters by what is said, and where nothing is wrong one
 * in twenty is called a disagreement. */
START_TEST(mean_and_test_hold_for_many_draws)
{
    enum { DRAWS = 4000, PHOTOS = 4 };
    static const double gains[PHOTOS] = {0.3, 0.1, -0.2, 0.5}, own[PHOTOS] = {0.1, 0.2, 0.1, 0.15};
    double square = 0, u = 0;
    int disagree = 0;
    srand(7);
    for (int d = 0; d < DRAWS; d++) {
        double draw[PHOTOS + 2];
        for (int i = 0; i < PHOTOS + 2; i++)
            draw[i] = noise();
        struct vision_arm arms[PHOTOS];
        for (int i = 0; i < PHOTOS; i++) {
            double turn =
                own[i] * draw[i] + 0.25 * gains[i] * draw[PHOTOS] + 0.08 * draw[PHOTOS + 1];
            arms[i] = arm_of(359.9 + turn, own[i]);
            add_line(&arms[i], VISION_TERM_STRAIGHTNESS, VISION_SCOPE_ARM, 0.08);
            add_tilt(&arms[i], gains[i]);
        }
        struct combined c = put(arms, NULL, PHOTOS, false);
        disagree += c.disagree;
        if (c.disagree)
            continue;
        double error = remainder(c.arm.angle_deg - 359.9, 360);
        square += error * error;
        u = c.arm.u_deg;
    }
    near(sqrt(square / (DRAWS - disagree)) / u, 1, 0.05, "scatter over u");
    near(disagree / (double)DRAWS, 0.05, 0.015, "false alarms");
}
END_TEST

/* 0.8 degrees of play, photos of 0.1 degrees: seen, and the middle is the mean. */
START_TEST(backlash_is_told_apart_from_noise)
{
    static const enum combine_side sides[4] = {COMBINE_CLOCKWISE, COMBINE_COUNTER_CLOCKWISE,
                                               COMBINE_CLOCKWISE, COMBINE_COUNTER_CLOCKWISE};
    struct vision_arm arms[4] = {arm_of(90.45, 0.1), arm_of(89.55, 0.1), arm_of(90.35, 0.1),
                                 arm_of(89.65, 0.1)};
    for (int i = 0; i < 4; i++)
        add_line(&arms[i], VISION_TERM_STRAIGHTNESS, VISION_SCOPE_ARM, 0.5);
    struct combined c = put(arms, sides, 4, false);
    ck_assert(c.have_backlash && c.backlash_shows && !c.disagree);
    near(c.backlash_deg, 0.8, 1e-9, "backlash");
    near(c.backlash_u.u, 0.1, 1e-9, "u: the arm's own shape cancels");
    near(c.arm.angle_deg, 90, 1e-9, "middle");
    ck_assert_int_eq(c.dof, 2);
    c = put(arms, NULL, 4, false);
    ck_assert_msg(c.disagree, "without marks the spread is more than noise");
    for (int i = 0; i < 4; i++)
        arms[i].angle_deg = 90 + (i % 2 ? 0.05 : -0.05);
    c = put(arms, sides, 4, false);
    ck_assert(c.have_backlash && !c.backlash_shows);
}
END_TEST

/* By hand: sqrt(0.1^2 + 0.1^2 + 0.3^2 + 0.1^2). Taken as the same in all photos the last two would
 * count as 0.3 - 0.1, and equal ones not at all. */
START_TEST(what_photos_perhaps_share_does_not_cancel_in_backlash)
{
    static const struct {
        enum vision_term term;
        enum vision_scope scope;
    } perhaps[] = {{VISION_TERM_LENS, VISION_SCOPE_CAMERA},
                   {VISION_TERM_FLATNESS, VISION_SCOPE_PLACE}};
    for (int i = 0; i < 2; i++) {
        struct vision_arm arms[2] = {arm_of(91, 0.1), arm_of(90, 0.1)};
        const enum combine_side sides[2] = {COMBINE_CLOCKWISE, COMBINE_COUNTER_CLOCKWISE};
        add_line(&arms[0], perhaps[i].term, perhaps[i].scope, 0.3);
        add_line(&arms[1], perhaps[i].term, perhaps[i].scope, 0.1);
        struct combined c = put(arms, sides, 2, false);
        near(c.backlash_u.u, sqrt(0.12), 1e-9, "u of backlash");
    }
}
END_TEST

START_TEST(the_odd_photo_out_is_named)
{
    const struct vision_arm arms[4] = {arm_of(0.1, 0.1), arm_of(359.9, 0.1), arm_of(1.2, 0.1),
                                       arm_of(0, 0.1)};
    struct combined c = put(arms, NULL, 4, false);
    ck_assert(c.disagree);
    ck_assert_int_eq(c.odd_one, 2);
    ck_assert(c.odd_share > 0.5);
    near(c.arm.u_deg, 0.05 * c.birge, 1e-9, "enlarged");
    struct uncertainty u = arm_uncertainty(&c.arm);
    near(u.dof, 3, 1e-9, "known as well as a spread of four");
}
END_TEST

/* Two photos, one from each side: nothing is left over to test. */
START_TEST(two_photos_from_two_sides_leave_nothing_to_test)
{
    static const enum combine_side sides[2] = {COMBINE_COUNTER_CLOCKWISE, COMBINE_CLOCKWISE};
    const struct vision_arm arms[2] = {arm_of(10, 0.1), arm_of(11, 0.1)};
    struct combined c = put(arms, sides, 2, false);
    ck_assert_int_eq(c.dof, 0);
    ck_assert(!c.disagree && c.backlash_shows && isnan(c.birge));
    near(c.backlash_deg, 1, 1e-9, "backlash");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("combine");
    TCase *t = tcase_create("photos together");
    tcase_add_test(t, weighted_mean_agrees_with_a_textbook);
    tcase_add_test(t, values_that_disagree_are_told_as_in_the_codata_adjustment);
    tcase_add_test(t, shared_terms_do_not_average_out);
    tcase_add_test(t, views_from_opposite_sides_cancel_the_tilt);
    tcase_add_test(t, mean_and_test_hold_for_many_draws);
    tcase_add_test(t, backlash_is_told_apart_from_noise);
    tcase_add_test(t, what_photos_perhaps_share_does_not_cancel_in_backlash);
    tcase_add_test(t, the_odd_photo_out_is_named);
    tcase_add_test(t, two_photos_from_two_sides_leave_nothing_to_test);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
