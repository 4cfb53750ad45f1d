/* What is advised: ranking, ties, sub-trim, uncertainty. */
#include "advice/advice.h"
#include "check_main.h"

/* One arm at deviation_deg from a wanted 90, known to u. */
static struct advice_question one_arm(double deviation_deg, double u_deg)
{
    struct advice_question q = advice_question_default();
    q.teeth = 25;
    q.arm_count = 1;
    q.arms[0] = (struct advice_arm){"A", 90 + deviation_deg, u_deg, false};
    q.wanted_deg = 90;
    return q;
}

static struct advice_question four_arms(const double deg[4], double u_deg)
{
    struct advice_question q = one_arm(0, u_deg);
    q.arm_count = 4;
    for (int i = 0; i < 4; i++)
        q.arms[i] = (struct advice_arm){{(char)('A' + i)}, deg[i], u_deg, false};
    return q;
}

static void set_scale(struct advice_question *q, double deg_per_percent, double u)
{
    q->scale = (struct advice_scale){true, deg_per_percent, {u, INFINITY}};
}

/* Runs q and returns the option to act on. */
static struct advice_option best_of(const struct advice_question *q)
{
    struct advice advice;
    ck_assert(advice_make(q, &advice));
    struct advice_option best = advice.options[0];
    advice_clear(&advice);
    return best;
}

/* Worked by hand, 25 teeth being 14.4 degrees apart. Nearest to 90 come D on 6 teeth counter-
 * clockwise, 2 + 86.4 = 88.4; B on 6 teeth clockwise, 181.5 - 86.4 = 95.1; C on 12 counter-
 * clockwise, 270.4 + 172.8 = 83.2; A on the next clockwise, 97.5 - 14.4 = 83.1. */
START_TEST(uneven_arms_are_ranked_by_what_remains)
{
    const double deg[] = {97.5, 181.5, 270.4, 2.0};
    struct advice_question q = four_arms(deg, 0.05);
    struct advice advice;
    ck_assert(advice_make(&q, &advice));
    ck_assert_uint_eq(advice.count, 100);
    ck_assert_int_eq(advice.options[0].at.arm, 3);
    ck_assert_int_eq(advice.options[0].at.teeth, 6);
    assert_near(advice.options[0].at.remains_deg, -1.6, 1e-9);
    ck_assert_int_eq(advice.options[1].at.arm, 1);
    ck_assert_int_eq(advice.options[1].at.teeth, -6);
    assert_near(advice.options[1].at.remains_deg, 5.1, 1e-9);
    ck_assert_int_eq(advice.options[2].at.arm, 2);
    ck_assert_int_eq(advice.options[2].at.teeth, 12);
    assert_near(advice.options[2].at.remains_deg, -6.8, 1e-9);
    ck_assert_int_eq(advice.options[3].at.arm, 0);
    ck_assert_int_eq(advice.options[3].at.teeth, -1);
    assert_near(advice.options[3].at.remains_deg, -6.9, 1e-9);
    for (size_t i = 1; i < advice.count; i++)
        ck_assert_double_le(fabs(advice.options[i - 1].at.remains_deg),
                            fabs(advice.options[i].at.remains_deg) + 1e-9);
    assert_near(advice.now.at.remains_deg, 7.5, 1e-9);
    ck_assert(advice_is_leave(&q, &advice.now));
    advice_clear(&advice);
}
END_TEST

START_TEST(a_square_arm_is_left_alone_even_if_another_would_be_squarer)
{
    const double deg[] = {90.3, 90 + 86.4, 270, 0};
    struct advice_question q = four_arms(deg, 0.05);
    struct advice_option best = best_of(&q);
    ck_assert(advice_is_leave(&q, &best));
    ck_assert_int_eq(best.decision, DECISION_ACCEPT);
    ck_assert_int_eq(best.trim.kind, ADVICE_TRIM_NOT_NEEDED);
}
END_TEST

/* A on the next tooth leaves 0.9, B as far round as it goes leaves 0.7: with u = 0.2 that is no
 * difference (U of it is 0.55), with u = 0.02 it is. */
START_TEST(a_tie_within_uncertainty_goes_to_the_simpler_action)
{
    const double deg[] = {90 + 14.4 + 0.9, 90 + 5 * 14.4 + 0.7, 270, 0};
    struct advice_question q = four_arms(deg, 0.2);
    q.tolerance_deg = 0.6;
    struct advice_option best = best_of(&q);
    ck_assert_int_eq(best.at.arm, 0);
    ck_assert_int_eq(best.at.teeth, -1);
    q = four_arms(deg, 0.02);
    best = best_of(&q);
    ck_assert_int_eq(best.at.arm, 1);
    ck_assert_int_eq(best.at.teeth, -5);
}
END_TEST

/* 1.2 now, 0.4 elsewhere, U of the difference 0.83: a tie, but the first is out of tolerance
 * beyond doubt and the second is not. */
START_TEST(a_tie_does_not_excuse_what_is_out_of_tolerance)
{
    const double deg[] = {91.2, 90 + 5 * 14.4 + 0.4, 270, 0};
    struct advice_question q = four_arms(deg, 0.3);
    q.tolerance_deg = 0.6;
    struct advice_option best = best_of(&q);
    ck_assert_int_eq(best.at.arm, 1);
    q.tolerance_deg = 0.7; /* now 1.2 could still be inside */
    best = best_of(&q);
    ck_assert(advice_is_leave(&q, &best));
}
END_TEST

/* By hand, 24 teeth 15 degrees apart, T = 0.5, 2 % are 1 degree: of 1.35 now, 1.17 and 1.56 all are
 * outside and none is surely nearer (U of a difference 0.28), but 2 % take 1.17 to 0.17 ± 0.2, and
 * of 1.35 they leave 0.35 ± 0.2. */
START_TEST(a_tie_goes_to_what_sub_trim_can_bring_within_tolerance)
{
    struct advice_question q = one_arm(-1.35, 0.1);
    q.arms[1] = (struct advice_arm){"B", 90 - 1.17 - 8 * 15, 0.1, false};
    q.arms[2] = (struct advice_arm){"C", 90 - 1.56 + 8 * 15, 0.1, false};
    q.arm_count = 3;
    q.teeth = 24;
    ck_assert_int_eq(best_of(&q).at.arm, 1); /* most servos do 1.2 degrees by 2 %, not 1.35 */
    set_scale(&q, 0.5, 0.005);
    struct advice_option best = best_of(&q);
    ck_assert_int_eq(best.at.arm, 1);
    ck_assert_int_eq(best.trim.kind, ADVICE_TRIM_USE);
    ck_assert_int_eq(best.trim.decision, DECISION_ACCEPT);
    /* where it ends alike, work decides: 3 % more are allowed, or nothing is known to remain */
    q.limit_percent = 3;
    ck_assert_int_eq(best_of(&q).at.arm, 0);
    q.limit_percent = 2;
    q.arms[0] = (struct advice_arm){"A", 90 - 0.3, 0.2, false};
    q.arms[1].angle_deg = 90 + 0.6 - 8 * 15;
    ck_assert_int_eq(best_of(&q).at.arm, 0);
}
END_TEST

/* +7 and -7.4 on neighbouring teeth move together: 0.4 apart is U = 2 x 1.96 x 0.05 = 0.2 away. */
START_TEST(neighbouring_teeth_of_one_arm_are_told_apart_by_their_common_reading)
{
    struct advice_question q = one_arm(7.4, 0.05);
    ck_assert_int_eq(best_of(&q).at.teeth, -1);
    q = one_arm(7.4, 0.2);
    struct advice_option best = best_of(&q);
    ck_assert(advice_is_leave(&q, &best));
}
END_TEST

/* 200 teeth, 1.8 degrees apart: 1.9 and 0.1 on one side of square differ by exactly a tooth,
 * however uncertain both are. */
START_TEST(teeth_on_one_side_of_square_are_never_a_tie)
{
    struct advice_question q = one_arm(1.9, 0.5);
    q.teeth = 200;
    q.tolerance_deg = 1.0;
    ck_assert_int_eq(best_of(&q).at.teeth, -1);
}
END_TEST

START_TEST(equal_remainders_prefer_same_arm_then_fewest_teeth)
{
    /* 24 teeth: arms 90 apart land in the same places */
    const double deg[] = {105, 195, 285, 15};
    struct advice_question q = four_arms(deg, NAN);
    q.teeth = 24;
    struct advice advice;
    ck_assert(advice_make(&q, &advice));
    ck_assert_int_eq(advice.options[0].at.arm, 0);
    ck_assert_int_eq(advice.options[0].at.teeth, -1);
    ck_assert_int_eq(advice.options[1].at.arm, 3); /* 5 teeth; B needs 7, C 11 */
    ck_assert_int_eq(advice.options[1].at.teeth, 5);
    advice_clear(&advice);
}
END_TEST

START_TEST(turned_over_is_used_only_when_allowed_and_better)
{
    struct advice_question q = one_arm(6, 0.05);
    q.turned_deg = 90 + 14.4 + 0.2;
    q.turned_u_deg = 0.05;
    struct advice_option best = best_of(&q);
    ck_assert(!best.at.turned_over);
    q.may_turn_over = true;
    best = best_of(&q);
    ck_assert(best.at.turned_over);
    ck_assert_int_eq(best.at.teeth, -1);
    assert_near(best.at.remains_deg, 0.2, 1e-9);
    assert_near(best.u_deg, 0.05, 1e-12);
}
END_TEST

START_TEST(arms_turned_over_carry_the_uncertainty_of_three_readings)
{
    const double deg[] = {96, 186, 276, 6};
    struct advice_question q = four_arms(deg, 0.1);
    q.may_turn_over = true;
    q.turned_deg = 84;
    q.turned_u_deg = 0.2;
    struct advice advice;
    ck_assert(advice_make(&q, &advice));
    for (size_t i = 0; i < advice.count; i++)
        if (advice.options[i].at.turned_over)
            assert_near(advice.options[i].u_deg,
                        advice.options[i].at.arm == 0 ? 0.2 : hypot(0.2, 0.1 + 0.1), 1e-12);
    advice_clear(&advice);
}
END_TEST

/* ---- sub-trim -------------------------------------------------------------------------------- */

START_TEST(sub_trim_turns_against_the_deviation_whatever_the_sign_of_the_scale)
{
    struct advice_question q = one_arm(0.9, 0.05); /* lies counter-clockwise */
    set_scale(&q, 0.45, 0);                        /* positive turns counter-clockwise */
    struct advice_trim trim = best_of(&q).trim;
    ck_assert_int_eq(trim.kind, ADVICE_TRIM_USE);
    assert_near(trim.percent, -2, 0);
    assert_near(trim.remains_deg, 0, 1e-12);
    set_scale(&q, -0.45, 0);
    trim = best_of(&q).trim;
    assert_near(trim.percent, 2, 0);
    assert_near(trim.remains_deg, 0, 1e-12);
}
END_TEST

START_TEST(sub_trim_is_rounded_to_whole_steps_and_the_rest_is_told)
{
    struct advice_question q = one_arm(-1.0, 0.05);
    q.tolerance_deg = 0.1; /* which 2 % do not reach */
    set_scale(&q, 0.4, 0.01);
    struct advice_trim trim = best_of(&q).trim;
    assert_near(trim.exact_percent, 2.5, 1e-12);
    assert_near(trim.percent, 3, 0);
    assert_near(trim.remains_deg, 0.2, 1e-12);
    assert_near(trim.expanded_deg, 1.959964 * sqrt(0.05 * 0.05 + 0.03 * 0.03), 1e-6);
    ck_assert_int_eq(trim.kind, ADVICE_TRIM_OVER_LIMIT);
    q.step_percent = 0.5;
    trim = best_of(&q).trim;
    assert_near(trim.percent, 2.5, 1e-12);
    assert_near(trim.remains_deg, 0, 1e-12);
}
END_TEST

/* 1.0 / 0.45 is 2.2 %, over the limit of 2 %; of a radio with whole percents as of a finer one 2 %
 * leave 0.1, which is within tolerance. 3 % of 1.0 / 0.3 do not: 0.4 ± 0.2 remain. */
START_TEST(a_finer_radio_gets_no_worse_advice)
{
    static const double steps[] = {1, 0.5, 0.3, 0.1, 0.01};
    static const double within[] = {2, 2, 1.8, 2, 2};
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        struct advice_question q = one_arm(1.0, 0.1);
        set_scale(&q, 0.45, 1e-6);
        q.step_percent = steps[i];
        struct advice_trim trim = best_of(&q).trim;
        ck_assert_int_eq(trim.kind, ADVICE_TRIM_USE);
        assert_near(trim.percent, -within[i], 1e-9);
        assert_near(trim.remains_deg, 1.0 - 0.45 * within[i], 1e-9);
        ck_assert_int_eq(trim.decision, DECISION_ACCEPT);
        set_scale(&q, 0.3, 0);
        ck_assert_int_eq(best_of(&q).trim.kind, ADVICE_TRIM_OVER_LIMIT);
        assert_near(best_of(&q).trim.percent, -1.0 / 0.3, steps[i]);
    }
}
END_TEST

/* 3 x 0.1 is a little more than 0.3. */
START_TEST(the_limit_itself_is_not_over_the_limit)
{
    struct advice_question q = one_arm(0.135, 0.01);
    set_scale(&q, 0.45, 0);
    q.step_percent = 0.1;
    q.limit_percent = 0.3;
    q.tolerance_deg = 0.01;
    ck_assert_int_eq(best_of(&q).trim.kind, ADVICE_TRIM_USE);
    assert_near(best_of(&q).trim.percent, -0.3, 1e-9);
}
END_TEST

/* A slope known from three readings has one degree of freedom: U must grow with t, by
 * Welch-Satterthwaite. u = 0.03 (exact) and 0.04 (1 dof): dof 1 x (5/4)^4 = 2.44, cut to 2, and
 * GUM Table G.2 has 4.30 for it. */
START_TEST(a_scale_from_few_readings_widens_what_remains)
{
    struct advice_question q = one_arm(0.9, 0.03);
    set_scale(&q, 0.45, 0.02);
    q.scale.u.dof = 1;
    assert_near(best_of(&q).trim.expanded_deg, 4.30 * 0.05, 0.005 * 0.05);
}
END_TEST

static const struct {
    double deviation, u, tolerance;
    bool scale;
    enum advice_trim_kind kind;
} trim_rows[] = {
    {0.3, 0.05, 0.5, true, ADVICE_TRIM_NOT_NEEDED},
    {0.3, 0.2, 0.5, true, ADVICE_TRIM_NOT_SEEN},
    {0.2, 0.05, 0.1, true, ADVICE_TRIM_TOO_FINE},
    {0.7, 0.05, 0.5, true, ADVICE_TRIM_USE},
    {3.0, 0.05, 0.5, true, ADVICE_TRIM_OVER_LIMIT},
    {0.7, 0.05, 0.5, false, ADVICE_TRIM_NO_SCALE},
    {0.3, 0.2, 0.5, false, ADVICE_TRIM_NOT_SEEN},
    {0.3, 0.05, 0.5, false, ADVICE_TRIM_NOT_NEEDED},
    /* 2 % at 3 degrees each are 6 */
    {5.9, 0.05, 0.5, false, ADVICE_TRIM_NO_SCALE},
    {6.1, 0.05, 0.5, false, ADVICE_TRIM_OVER_LIMIT},
    {-7.0, 0.05, 0.5, false, ADVICE_TRIM_OVER_LIMIT},
};

START_TEST(sub_trim_is_advised_only_where_it_helps)
{
    struct advice_question q = one_arm(trim_rows[_i].deviation, trim_rows[_i].u);
    q.tolerance_deg = trim_rows[_i].tolerance;
    if (trim_rows[_i].scale)
        set_scale(&q, 0.45, 0.005);
    struct advice_option best = best_of(&q);
    ck_assert(advice_is_leave(&q, &best));
    ck_assert_int_eq(best.trim.kind, trim_rows[_i].kind);
    ck_assert(isnan(best.trim.percent) == !trim_rows[_i].scale);
    bool told = best.trim.kind == ADVICE_TRIM_USE || best.trim.kind == ADVICE_TRIM_OVER_LIMIT;
    if (trim_rows[_i].scale && !told) /* what is not ordered leaves all as it is */
        ck_assert(best.trim.percent == 0 && best.trim.remains_deg == best.at.remains_deg);
}
END_TEST

/* ---- a wanted direction that is not exact ---------------------------------------------------- */

/* JCGM 100:2008, 5.1.2: independent errors add as squares. 1.96 hypot(0.3, 0.4) = 0.98. */
START_TEST(the_wanted_directions_uncertainty_counts)
{
    struct advice_question q = one_arm(0.2, 0.3);
    q.wanted_u_deg = 0.4;
    struct advice_option best = best_of(&q);
    assert_near(best.u_deg, 0.5, 1e-12);
    assert_near(best.expanded_deg, 0.98, 0.001);
    ck_assert_int_eq(best.decision, DECISION_CANNOT_TELL);
}
END_TEST

/* By hand: A leaves 0.8 as it is, B -0.5 (25 teeth: 6 teeth are 3.6 degrees short of a quarter
 * turn). The errors of a - w and w - b add to a + b - 2 w: a difference of 0.3 is plain with a
 * wanted direction that is exact, and within U = 1.96 * 2 * 0.2 = 0.78 with one known to u = 0.2;
 * then the arm in use is the lesser work. */
START_TEST(an_error_of_the_wanted_direction_counts_twice_across_it)
{
    struct advice_question q = one_arm(0.8, 0.01);
    q.arms[1] = (struct advice_arm){"B", 90 - 0.5 + 6 * 14.4, 0.01, false};
    q.arm_count = 2;
    ck_assert_int_eq(best_of(&q).at.arm, 1);
    q.wanted_u_deg = 0.2;
    ck_assert_int_eq(best_of(&q).at.arm, 0);
    /* across no more: 0.8 and 0.5 on one side, where the error drops out */
    q.arms[1].angle_deg = 90 + 0.5 + 6 * 14.4;
    ck_assert_int_eq(best_of(&q).at.arm, 1);
}
END_TEST

/* By hand: A leaves 2.0 as it is, B -1.0, both surely outside. One error of 0.3 in both makes
 * |a| - |b| 0.6 wrong, U 1.18: that B is nearer by 1.0 is not sure (JCGM 100:2008, 5.2.2, r = 1).
 */
START_TEST(an_error_that_two_arms_may_share_counts_in_full)
{
    struct advice_question q = one_arm(2.0, 0.3);
    q.arms[1] = (struct advice_arm){"B", 90 - 1.0 + 6 * 14.4, 0.3, false};
    q.arm_count = 2;
    q.tolerance_deg = 0.1;
    q.limit_percent = 6; /* either is within what sub-trim does */
    ck_assert_int_eq(best_of(&q).at.arm, 0);
}
END_TEST

/* ---- what is not known ----------------------------------------------------------------------- */

START_TEST(without_an_uncertainty_nothing_is_accepted_or_rejected)
{
    struct advice_question q = one_arm(0, NAN);
    ck_assert_int_eq(best_of(&q).decision, DECISION_CANNOT_TELL);
    q = one_arm(6, NAN);
    ck_assert_int_eq(best_of(&q).decision, DECISION_CANNOT_TELL);
}
END_TEST

START_TEST(arms_assumed_even_are_never_accepted_unmeasured)
{
    struct advice_question q = one_arm(7.2 / 2, 0.01);
    ck_assert(advice_assume_even_arms(&q, 4));
    ck_assert_int_eq(q.arm_count, 4);
    assert_near(q.arms[3].angle_deg, 3.6, 1e-9);
    ck_assert_str_eq(q.arms[3].name, "D");
    struct advice_option best = best_of(&q);
    assert_near(best.at.remains_deg, 0, 1e-9);
    ck_assert(best.assumed);
    ck_assert_int_eq(best.decision, DECISION_CANNOT_TELL);
}
END_TEST

/* Of three arms one is over the slot: it lies where the two leave room, half way by both. Arms of
 * no such spacing, or more than were told, are none of that horn. */
START_TEST(arms_that_were_not_read_lie_between_those_that_were)
{
    struct advice_question q = one_arm(3, 0.01);
    q.arms[1] = (struct advice_arm){"B", 333.8, 0.01, false}; /* 240.8 further on */
    q.arm_count = 2;
    ck_assert(!advice_arms_are_even(&q));
    ck_assert(!advice_assume_even_arms(&q, 4));
    ck_assert(!advice_assume_even_arms(&q, 1));
    ck_assert_int_eq(q.arm_count, 2);
    ck_assert(advice_assume_even_arms(&q, 3));
    ck_assert_int_eq(q.arm_count, 3);
    ck_assert_str_eq(q.arms[2].name, "C");
    assert_near(q.arms[2].angle_deg, 213.4, 1e-9);
    ck_assert(q.arms[2].assumed && !q.arms[1].assumed);
    ck_assert(advice_arms_are_even(&q));
}
END_TEST

/* The link hangs on the arm: where that goes, the link does not lie as it was measured. */
START_TEST(square_to_a_link_is_not_told_before_the_horn_is_turned)
{
    struct advice_question q = one_arm(14.5, 0.05);
    set_scale(&q, 0.45, 0.01);
    q.link_swings = true;
    struct advice_option best = best_of(&q);
    ck_assert_int_eq(best.at.teeth, -1);
    ck_assert_int_eq(best.decision, DECISION_CANNOT_TELL);
    ck_assert_int_eq(best.trim.kind, ADVICE_TRIM_MEASURE_FIRST);
    q.arms[0].angle_deg = 90.2; /* as it sits it was measured */
    ck_assert_int_eq(best_of(&q).decision, DECISION_ACCEPT);
}
END_TEST

START_TEST(an_unsure_reading_accepts_and_rejects_nothing)
{
    struct advice_question q = one_arm(0, 0.01);
    q.unsure = true;
    ck_assert_int_eq(best_of(&q).decision, DECISION_CANNOT_TELL);
    q = one_arm(5, 0.01);
    q.unsure = true;
    ck_assert_int_eq(best_of(&q).decision, DECISION_CANNOT_TELL);
    ck_assert_int_eq(best_of(&q).trim.kind, ADVICE_TRIM_MEASURE_FIRST);
}
END_TEST

START_TEST(best_teeth_are_one_for_each_arm_and_side)
{
    const double deg[] = {96, 186.5, 276, 6};
    struct advice_question q = four_arms(deg, 0.1);
    q.may_turn_over = true;
    q.turned_deg = 84;
    struct advice advice;
    ck_assert(advice_make(&q, &advice));
    int best = 0;
    for (size_t i = 0; i < advice.count; i++)
        if (advice_is_best_tooth(&advice, i)) {
            best++;
            ck_assert_double_le(fabs(advice.options[i].at.remains_deg), 7.2 + 1e-9);
        }
    ck_assert_int_eq(best, 8);
    advice_clear(&advice);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("advice");
    TCase *t = tcase_create("advice");
    tcase_add_test(t, uneven_arms_are_ranked_by_what_remains);
    tcase_add_test(t, a_square_arm_is_left_alone_even_if_another_would_be_squarer);
    tcase_add_test(t, a_tie_within_uncertainty_goes_to_the_simpler_action);
    tcase_add_test(t, a_tie_does_not_excuse_what_is_out_of_tolerance);
    tcase_add_test(t, a_tie_goes_to_what_sub_trim_can_bring_within_tolerance);
    tcase_add_test(t, neighbouring_teeth_of_one_arm_are_told_apart_by_their_common_reading);
    tcase_add_test(t, teeth_on_one_side_of_square_are_never_a_tie);
    tcase_add_test(t, equal_remainders_prefer_same_arm_then_fewest_teeth);
    tcase_add_test(t, turned_over_is_used_only_when_allowed_and_better);
    tcase_add_test(t, arms_turned_over_carry_the_uncertainty_of_three_readings);
    tcase_add_test(t, sub_trim_turns_against_the_deviation_whatever_the_sign_of_the_scale);
    tcase_add_test(t, sub_trim_is_rounded_to_whole_steps_and_the_rest_is_told);
    tcase_add_test(t, a_scale_from_few_readings_widens_what_remains);
    tcase_add_loop_test(t, sub_trim_is_advised_only_where_it_helps, 0,
                        sizeof trim_rows / sizeof *trim_rows);
    tcase_add_test(t, the_wanted_directions_uncertainty_counts);
    tcase_add_test(t, an_error_of_the_wanted_direction_counts_twice_across_it);
    tcase_add_test(t, an_error_that_two_arms_may_share_counts_in_full);
    tcase_add_test(t, without_an_uncertainty_nothing_is_accepted_or_rejected);
    tcase_add_test(t, arms_assumed_even_are_never_accepted_unmeasured);
    tcase_add_test(t, a_finer_radio_gets_no_worse_advice);
    tcase_add_test(t, the_limit_itself_is_not_over_the_limit);
    tcase_add_test(t, arms_that_were_not_read_lie_between_those_that_were);
    tcase_add_test(t, square_to_a_link_is_not_told_before_the_horn_is_turned);
    tcase_add_test(t, an_unsure_reading_accepts_and_rejects_nothing);
    tcase_add_test(t, best_teeth_are_one_for_each_arm_and_side);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
