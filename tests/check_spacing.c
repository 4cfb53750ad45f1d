/* Arms of an even part against each other: the estimate by hand for two arms in line, and its
 * errors against draws. Estimator: C. R. Henderson, "Best linear unbiased estimation and prediction
 * under a selection model", Biometrics 31, 1975 (from memory). */
#include "budget/budget.h"
#include "budget/spacing.h"
#include "check_main.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>

#define DRAWS 20000
#define TILT_DEG 0.4

static const double tilt_cov[4] = {TILT_DEG * TILT_DEG, 0, 0, TILT_DEG *TILT_DEG};

static double uniform(void)
{
    return (rand() + 0.5) / ((double)RAND_MAX + 1);
}

static double normal(void)
{
    return sqrt(-2 * log(uniform())) * cos(2 * 3.14159265358979323846 * uniform());
}

static struct vision_arm arm_at(double deg, double edge_deg, const double gain[2])
{
    struct vision_arm arm = {.angle_deg = deg, .tilt_gain = {gain[0], gain[1]}};
    budget_add(&arm, VISION_TERM_EDGE, edge_deg, 10);
    budget_add(&arm, VISION_TERM_TILT, TILT_DEG * hypot(gain[0], gain[1]), 8);
    budget_add(&arm, VISION_TERM_PRINT, 0.02, 8);
    budget_sum(&arm);
    return arm;
}

static const double none[2] = {0, 0};

/* Each arm is told to 0.3 and made to 0.15 degrees. Of what it differs from the mean of both,
 * 0.09 / (0.09 + 0.0225) = 0.8 is taken back, so the arms come in by 0.8 and 0.2 on themselves:
 * 0.6 of the own error and 0.4 of the other's, and 0.4 of how each was made; and 0.3 of the 0.12
 * degrees that each is drawn in by. */
START_TEST(two_arms_in_line_by_hand)
{
    struct vision_arm arms[2] = {arm_at(80.2, 0.3, none), arm_at(259.9, 0.3, none)};
    ck_assert(vision_space_arms(arms, 2, tilt_cov));
    ck_assert_double_eq_tol(arms[0].angle_deg, 80.08, 1e-9);
    ck_assert_double_eq_tol(arms[1].angle_deg, 260.02, 1e-9);
    for (int i = 0; i < 2; i++) {
        ck_assert_double_eq_tol(budget_line(&arms[i], VISION_TERM_EDGE)->u_deg, 0.3 * sqrt(0.52),
                                1e-9);
        ck_assert_double_eq_tol(budget_line(&arms[i], VISION_TERM_SPACING)->u_deg,
                                hypot(SPACING_MOULDED_DEG * sqrt(0.32), 0.036), 1e-9);
        ck_assert_double_eq_tol(budget_line(&arms[i], VISION_TERM_PRINT)->u_deg, 0.02, 1e-12);
        /* Welch-Satterthwaite of two with 10 each: (0.36 + 0.16)^2 / (0.36^2 + 0.16^2) times 10 */
        ck_assert_double_eq_tol(budget_line(&arms[i], VISION_TERM_EDGE)->dof, 17.42, 0.01);
    }
}
END_TEST

/* The same two arms before a card whose slope turns them against each other. Of their difference
 * that adds 4 (0.5 * 0.4)^2 = 0.16 to 2 * 0.3^2 of the edges, all of which is taken back but for
 * 2 * 0.15^2 / (0.16 + 0.18 + 0.045); and of what the slope does to each, that same share stays. */
START_TEST(slope_in_arms_in_line_by_hand)
{
    const double gain[2][2] = {{0.5, 0}, {-0.5, 0}}, stays = 0.045 / 0.385;
    struct vision_arm arms[2] = {arm_at(80.2, 0.3, gain[0]), arm_at(259.9, 0.3, gain[1])};
    ck_assert(vision_space_arms(arms, 2, tilt_cov));
    for (int i = 0; i < 2; i++) {
        ck_assert_double_eq_tol(arms[i].tilt_gain[0], stays * gain[i][0], 1e-9);
        ck_assert_double_eq_tol(budget_line(&arms[i], VISION_TERM_TILT)->u_deg,
                                TILT_DEG * stays * 0.5, 1e-9);
    }
}
END_TEST

START_TEST(other_parts_are_left_as_they_are)
{
    struct vision_arm lone = arm_at(80, 0.3, none);
    ck_assert(!vision_space_arms(&lone, 1, tilt_cov));
    struct vision_arm odd[2] = {arm_at(80, 0.3, none), arm_at(182, 0.3, none)};
    ck_assert(!vision_space_arms(odd, 2, tilt_cov));
    /* an unevenly made cross: 1.2 degrees are six times what is left open */
    struct vision_arm uneven[4] = {arm_at(1, 0.1, none), arm_at(92.2, 0.1, none),
                                   arm_at(181, 0.1, none), arm_at(271, 0.1, none)};
    ck_assert(!vision_space_arms(uneven, 4, tilt_cov));
    ck_assert_double_eq_tol(uneven[1].angle_deg, 92.2, 1e-12);
    ck_assert_int_eq(uneven[1].budget_count, 3);
    /* two arms told so poorly that 1.8 degrees would pass: they may as well be made that way */
    struct vision_arm vague[2] = {arm_at(80, 0.9, none), arm_at(261.8, 0.9, none)};
    ck_assert(!vision_space_arms(vague, 2, tilt_cov));
    ck_assert_double_eq_tol(odd[1].angle_deg, 182, 1e-12);
    /* a crank of 72 degrees is no wheel with five arms */
    struct vision_arm crank[2] = {arm_at(80, 0.3, none), arm_at(152.2, 0.3, none)};
    ck_assert(!vision_space_arms(crank, 2, tilt_cov));
}
END_TEST

struct part {
    int count, spacing_deg;
    double edge_deg[6], gain[6][2];
};

static const struct part parts[] = {
    {2, 180, {0.3, 0.15}, {{0.2, 0.1}, {0.2, 0.1}}},
    {2, 90, {0.2, 0.4}, {{0.3, 0}, {0, 0.3}}},
    {3, 120, {0.3, 0.2, 0.1}, {{0.2, 0}, {-0.1, 0.2}, {-0.1, -0.2}}},
    {4, 90, {0.2, 0.2, 0.8, 0.2}, {{0, 0.3}, {0.3, 0}, {0, 0.3}, {0.3, 0}}},
    {5, 72, {0.2, 0.3, 0.3, 0.2, 0.3}, {{0}}},
    {6, 60, {0.1, 0.2, 0.3, 0.1, 0.2, 0.3}, {{0}}},
};

/* How arms were made, what edges and a leaning card add: where the arms agree, the errors that come
 * out scatter by the budget's u, and by less than before. */
START_TEST(errors_are_as_large_as_the_budget_says)
{
    const struct part *part = &parts[_i];
    double square[6] = {0}, before[6] = {0}, u[6] = {0}, agreed = 0;
    srand(77);
    for (int draw = 0; draw < DRAWS; draw++) {
        struct vision_arm arms[6];
        double made[6] = {0}, off[6] = {0}, slope[2] = {TILT_DEG * normal(), TILT_DEG * normal()};
        for (int i = 0; i < part->count; i++) {
            made[i] = 10 + i * part->spacing_deg + SPACING_MOULDED_DEG * normal();
            double tilt = slope[0] * part->gain[i][0] + slope[1] * part->gain[i][1];
            arms[i] = arm_at(made[i] + tilt + part->edge_deg[i] * normal(), part->edge_deg[i],
                             part->gain[i]);
            off[i] = arms[i].angle_deg - made[i];
            budget_line(&arms[i], VISION_TERM_PRINT)->u_deg = 0;
        }
        if (!vision_space_arms(arms, part->count, tilt_cov))
            continue;
        agreed++;
        for (int i = 0; i < part->count; i++) {
            before[i] += off[i] * off[i];
            square[i] += pow(arms[i].angle_deg - made[i], 2);
            u[i] += arms[i].u_deg * arms[i].u_deg;
        }
    }
    /* one in twenty is taken for uneven, but where an arm is told poorly that one is doubted */
    const bool poor = part->edge_deg[2] > 0.5;
    ck_assert_double_gt(agreed / DRAWS, 0.9);
    ck_assert_double_lt(agreed / DRAWS, poor ? 1 : 0.96);
    for (int i = 0; i < part->count; i++) {
        double rms = sqrt(square[i] / agreed), had = sqrt(before[i] / agreed);
        double said = sqrt(u[i] / agreed);
        /* the draws that agree are those with the smaller errors, and some doubt is added */
        ck_assert_msg(rms < said && rms > 0.75 * said, "part %d arm %d: %.4f, u %.4f", _i, i, rms,
                      said);
        ck_assert_double_lt(rms, had);
    }
}
END_TEST

START_TEST(an_arm_told_poorly_and_out_of_line_is_doubted)
{
    struct vision_arm arms[3] = {arm_at(39.1, 0.25, none), arm_at(127.2, 0.6, none),
                                 arm_at(309.3, 0.28, none)};
    ck_assert(vision_space_arms(arms, 3, tilt_cov));
    for (int i = 0; i < 3; i++) {
        if (fabs(arms[i].angle_deg - 127.2) < 1e-9)
            ck_assert_double_gt(arms[i].u_deg, 1.9);
        else
            ck_assert_double_lt(arms[i].u_deg, 0.25);
    }
    /* told well, it is made that way */
    struct vision_arm made[3] = {arm_at(39.1, 0.25, none), arm_at(127.2, 0.2, none),
                                 arm_at(309.3, 0.28, none)};
    ck_assert(!vision_space_arms(made, 3, tilt_cov));
}
END_TEST

/* By the slope that they share the three are drawn away from the fourth, until all of them lie in
 * no pattern any more: it stays off by what it is off a right angle from them. */
START_TEST(a_doubted_arm_is_off_the_spacing_that_the_others_have)
{
    const double gain[4][2] = {{-1, 0}, {-0.5, 0}, {-1, 0}, {0.5, 0}};
    struct vision_arm arms[4] = {arm_at(0.3, 0.1, gain[0]), arm_at(89.9, 0.1, gain[1]),
                                 arm_at(180.6, 0.1, gain[2]), arm_at(272.9, 0.5, gain[3])};
    double off_deg[VISION_MAX_ARMS];
    ck_assert(vision_space_arms(arms, 4, tilt_cov));
    ck_assert_int_eq(spacing_of(arms, 4, off_deg), 0);
    ck_assert_double_eq_tol(budget_line(&arms[3], VISION_TERM_EDGE)->u_deg,
                            hypot(0.5, arms[3].angle_deg - arms[0].angle_deg - 270), 1e-9);
}
END_TEST

/* Which of the two is out of line cannot be told: the doubt adds to both by squares. Told well they
 * are made that way, and so may two arms of a crank be. */
START_TEST(two_arms_told_poorly_doubt_each_other)
{
    struct vision_arm arms[2] = {arm_at(148.3, 0.45, none), arm_at(330.1, 0.57, none)};
    ck_assert(!vision_space_arms(arms, 2, tilt_cov));
    ck_assert_double_eq_tol(budget_line(&arms[0], VISION_TERM_EDGE)->u_deg, hypot(0.45, 1.8), 1e-9);
    ck_assert_double_eq_tol(budget_line(&arms[1], VISION_TERM_EDGE)->u_deg, hypot(0.57, 1.8), 1e-9);
    struct vision_arm made[2] = {arm_at(148.3, 0.25, none), arm_at(330.1, 0.25, none)},
                      crank[2] = {arm_at(148.3, 0.45, none), arm_at(240.1, 0.57, none)};
    ck_assert(!vision_space_arms(made, 2, tilt_cov) && !vision_space_arms(crank, 2, tilt_cov));
    ck_assert_double_eq_tol(budget_line(&made[0], VISION_TERM_EDGE)->u_deg, 0.25, 1e-12);
    ck_assert_double_eq_tol(budget_line(&crank[0], VISION_TERM_EDGE)->u_deg, 0.45, 1e-12);
}
END_TEST

/* One hole of a disc is a crescent in a shadow: its direction is off by 2.6 degrees. */
START_TEST(a_hole_out_of_line_is_doubted)
{
    struct vision_arm holes[3] = {arm_at(92.7, 0.4, none), arm_at(182.3, 0.3, none),
                                  arm_at(275.3, 0.55, none)};
    const double before[2] = {holes[0].u_deg, holes[1].u_deg};
    spacing_doubt_holes(holes, 3);
    for (int i = 0; i < 2; i++)
        ck_assert_double_eq_tol(holes[i].u_deg, before[i], 1e-12);
    ck_assert_double_gt(holes[2].u_deg, 2.6);
    ck_assert_double_eq_tol(holes[2].angle_deg, 275.3, 1e-12);
    /* of two nobody knows which is wrong, and holes of another pattern stand where they stand */
    struct vision_arm two[2] = {arm_at(92.7, 0.4, none), arm_at(185.3, 0.3, none)};
    spacing_doubt_holes(two, 2);
    ck_assert_double_lt(two[1].u_deg, 0.31);
    struct vision_arm odd[3] = {arm_at(10, 0.1, none), arm_at(60, 0.1, none),
                                arm_at(110, 0.1, none)};
    spacing_doubt_holes(odd, 3);
    ck_assert_double_lt(odd[2].u_deg, 0.11);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("spacing");
    TCase *t = tcase_create("spacing");
    tcase_add_test(t, two_arms_in_line_by_hand);
    tcase_add_test(t, slope_in_arms_in_line_by_hand);
    tcase_add_test(t, other_parts_are_left_as_they_are);
    tcase_add_test(t, an_arm_told_poorly_and_out_of_line_is_doubted);
    tcase_add_test(t, a_doubted_arm_is_off_the_spacing_that_the_others_have);
    tcase_add_test(t, two_arms_told_poorly_doubt_each_other);
    tcase_add_test(t, a_hole_out_of_line_is_doubted);
    tcase_add_loop_test(t, errors_are_as_large_as_the_budget_says, 0,
                        sizeof parts / sizeof parts[0]);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
