/* Linkages: published examples, exact identities, propagated uncertainty against Monte Carlo, the
 * description file, and everything that must be refused. */
#include "check_main.h"
#include "linkage/linkage.h"
#include "linkage/linkage_file.h"
#include "linkage/linkage_result.h"
#include "linkage/linkage_words.h"

#include <stdio.h>
#include <string.h>

#define DEG (M_PI / 180)
#define COUNT(array) (sizeof(array) / sizeof *(array))

static struct linkage described(const char *text)
{
    char problem[LINKAGE_PROBLEM_SIZE];
    struct linkage linkage = linkage_empty();
    ck_assert_msg(linkage_take_text(&linkage, text, problem, sizeof problem), "%s", problem);
    return linkage;
}

static struct linkage_result analysed(const struct linkage *linkage)
{
    struct linkage_result result;
    struct linkage_fault fault;
    char text[LINKAGE_PROBLEM_SIZE] = "";
    if (linkage_analyse(linkage, &result, &fault) != LINKAGE_OK)
        linkage_say_fault(linkage, &fault, text, sizeof text);
    ck_assert_msg(!*text, "%s", text);
    return result;
}

/* R. L. Norton, Design of Machinery, Example 4-1 (a 40, b 120, c 80, d 100 mm, theta2 40 deg), as a
 * described linkage: open and crossed are told apart by where the arm is wanted. */
START_TEST(norton_example_4_1_as_a_linkage)
{
    struct linkage open = described("travel 1 deg\ncrank c\nhorn 40\nhorn angle 40\nalong 100\n"
                                    "arm 80\nlink 120\narm angle 60");
    struct linkage crossed = described("travel 1 deg\ncrank c\nhorn 40\nhorn angle 40\nalong 100\n"
                                       "arm 80\nlink 120\narm angle -90");
    assert_near(analysed(&open).stages[0].neutral.value, 57.33, 0.01); /* printed */
    assert_near(analysed(&open).stages[0].neutral.value, 57.32488007, 1e-8);
    assert_near(analysed(&crossed).stages[0].neutral.value, -98.01, 0.01); /* printed */
    assert_near(analysed(&crossed).stages[0].neutral.value, -98.00496408, 1e-8);
}
END_TEST

/* Norton, Example 4-2: offset slider-crank, a 40, b 120, offset -20 mm, theta2 60 deg: d 126.84 mm
 * open, -86.84 mm crossed. */
START_TEST(norton_example_4_2_as_a_linkage)
{
    struct linkage open =
        described("travel 1\nslider s\nhorn 40\nhorn angle 60\nacross -20\nlink 120");
    struct linkage crossed =
        described("travel 1\nslider s\nhorn 40\nhorn angle 60\nacross -20\nlink 120\nalong -80");
    assert_near(analysed(&open).stages[0].neutral.value, 126.83800520, 1e-8);
    assert_near(analysed(&crossed).stages[0].neutral.value, -86.83800520, 1e-8);
}
END_TEST

/* The base need not lie along the reference line: a mechanism turned as a whole turns its answers
 * as a whole. */
START_TEST(a_turned_mechanism_gives_turned_angles)
{
    for (int turn = -150; turn <= 150; turn += 37) {
        char text[300];
        snprintf(text, sizeof text,
                 "travel 20\ncrank c\nhorn 10\nhorn angle %.12f\nalong %.12f\nacross %.12f\n"
                 "arm 15\nlink 60.208\narm angle %.12f",
                 90.0 + turn, 60 * cos(turn * DEG), 60 * sin(turn * DEG), 90.0 + turn);
        struct linkage turned = described(text);
        struct linkage straight = described("travel 20\ncrank c\nhorn 10\nalong 60\narm 15\n"
                                            "link 60.208");
        assert_near(analysed(&turned).stages[0].neutral.value - turn,
                    analysed(&straight).stages[0].neutral.value, 1e-8);
        assert_near(analysed(&turned).stages[0].high.value,
                    analysed(&straight).stages[0].high.value, 1e-8);
    }
}
END_TEST

/* Own example worked out outside this project: a 10, b 60, c 15, d 60.208: input 90, 45, 135
 * degrees give 91.5900, 64.2507, 120.2998: throws -27.3393 and +28.7098. */
START_TEST(throws_and_differential_of_an_unequal_pair)
{
    struct linkage linkage =
        described("travel 45\ncrank c\nhorn 10\nalong 60.208\narm 15\nlink 60");
    struct linkage_result result = analysed(&linkage);
    assert_near(result.stages[0].neutral.value, 91.5900, 5e-5);
    assert_near(result.stages[0].low.value, -27.3393, 1e-4);
    assert_near(result.stages[0].high.value, 28.7098, 1e-4);
    assert_near(result.stages[0].differential.value, 100 * (28.7098 - 27.3393) / 28.7098, 1e-3);
}
END_TEST

START_TEST(a_parallelogram_chain_passes_the_angle_on)
{
    struct linkage linkage = described("travel 60\ncrank one\nhorn 12\nalong 60\narm 12\n"
                                       "crank two\nhorn 15\nalong 600\narm 15");
    struct linkage_result result = analysed(&linkage);
    for (int i = 0; i < 2; i++) {
        assert_near(result.stages[i].low.value, -60, 1e-9);
        assert_near(result.stages[i].high.value, 60, 1e-9);
        assert_near(result.stages[i].differential.value, 0, 1e-9);
        assert_near(result.stages[i].gain_neutral, 1, 1e-12);
    }
}
END_TEST

/* A square arm with a pin in a slot: travel = r sin(theta). 15 mm and 0.5 mm: 1.91021317 deg;
 * 20 mm: 1.43254374 deg (arcsine, recomputed). And a pitch arm undoes it. */
START_TEST(yoke_travels_r_sin_theta_and_a_pitch_arm_inverts_it)
{
    static const double arms[][2] = {{15, 1.91021317}, {20, 1.43254374}};
    for (size_t i = 0; i < COUNT(arms); i++) {
        char text[200];
        snprintf(text, sizeof text, "travel %.8f\nyoke y\nhorn %g\npitch arm p\narm %g", arms[i][1],
                 arms[i][0], arms[i][0]);
        struct linkage linkage = described(text);
        struct linkage_result result = analysed(&linkage);
        assert_near(result.stages[0].high.value, -0.5, 1e-8);
        assert_near(result.stages[0].low.value, 0.5, 1e-8);
        assert_near(result.stages[1].high.value, arms[i][1], 1e-8);
    }
}
END_TEST

/* With a very long link a slider too follows r sin(theta) (and its dead point moves away). */
START_TEST(a_long_link_slider_tends_to_r_sin_theta)
{
    struct linkage linkage = described("travel 40\nslider s\nhorn 12\nacross 12\nlink 9000");
    struct linkage_result result = analysed(&linkage);
    assert_near(result.stages[0].high.value, -12 * sin(40 * DEG), 2e-3);
}
END_TEST

START_TEST(seen_from_behind_swaps_the_throws)
{
    struct linkage front = described("travel 30\ncrank c\nhorn 10\nalong 60\narm 15\nlink 60");
    struct linkage back = described("travel 30\ncrank c\nhorn 10\nalong 60\narm 15\nlink 60\n"
                                    "seen from behind yes");
    struct linkage_result f = analysed(&front), b = analysed(&back);
    assert_near(f.stages[0].low.value, b.stages[0].high.value, 1e-12);
    assert_near(f.stages[0].high.value, b.stages[0].low.value, 1e-12);
}
END_TEST

/* The gains through a chain against the difference quotient of the far end. */
START_TEST(chain_gain_is_the_derivative_of_the_far_end)
{
    struct linkage linkage = described("crank a\nhorn 12\nalong 58\nacross 4\narm 15\n"
                                       "crank b\nhorn 15\nalong 600\narm 12\narm angle 85\n"
                                       "slider c\nhorn 10\nacross 9\nalong 14\n"
                                       "pitch arm d\narm 11");
    struct linkage_ready ready;
    struct linkage_pose here[4], up[4], down[4];
    ck_assert_int_eq(linkage_prepare(&linkage, &ready, NULL), LINKAGE_OK);
    for (int servo = -35; servo <= 35; servo += 7) {
        ck_assert_int_eq(linkage_pose(&ready, servo, here, NULL), LINKAGE_OK);
        ck_assert_int_eq(linkage_pose(&ready, servo + 1e-4, up, NULL), LINKAGE_OK);
        ck_assert_int_eq(linkage_pose(&ready, servo - 1e-4, down, NULL), LINKAGE_OK);
        for (int i = 0; i < 4; i++)
            assert_near(here[i].servo_gain, (up[i].out - down[i].out) / (2e-4 * DEG), 1e-6);
    }
}
END_TEST

/* ---- Link advice */

START_TEST(turns_bring_the_cranks_home_in_order)
{
    struct linkage linkage = described("crank front\nhorn 12\nalong 58\narm 15\n"
                                       "measured 94 u 0.1\nthread M2\nfits every half turn\n"
                                       "crank tail\nhorn 15\nalong 640\narm 14\nmeasured 93 u 0.1\n"
                                       "thread M2.5\nfits every half turn");
    struct linkage_result result = analysed(&linkage);
    double change[LINKAGE_MAX_STAGES] = {0};
    struct linkage_ready turned = result.ready;
    for (int i = 0; i < 2; i++) {
        ck_assert(result.stages[i].turnable);
        assert_near(fmod(result.stages[i].turns.turns, 0.5), 0, 1e-12);
        change[i] = result.stages[i].turns.change_mm;
    }
    /* The turns really done leave what was promised, and no half turn more or less is better. */
    ck_assert_int_eq(linkage_adjust(&turned, change, NULL), LINKAGE_OK);
    for (int i = 0; i < 2; i++) {
        double left = (turned.stages[i].neutral - turned.stages[i].wanted) / DEG;
        assert_near(left, result.stages[i].remaining.value, 1e-9);
        for (int side = -1; side <= 1; side += 2) {
            struct linkage_ready other = result.ready;
            double more[LINKAGE_MAX_STAGES] = {change[0], change[1]};
            more[i] += side * (i ? 0.45 : 0.4) / 2;
            ck_assert_int_eq(linkage_adjust(&other, more, NULL), LINKAGE_OK);
            double worse = (other.stages[i].neutral - other.stages[i].wanted) / DEG;
            ck_assert_double_ge(fabs(worse) + 0.02, fabs(left));
        }
    }
}
END_TEST

START_TEST(a_link_worked_out_stands_where_wanted)
{
    struct linkage linkage = described("crank c\nhorn 12\nhorn angle 88\nalong 58\nacross 5\n"
                                       "arm 15\narm angle 97");
    struct linkage_result result = analysed(&linkage);
    assert_near(result.stages[0].neutral.value, 97, 1e-9);
    assert_near(result.stages[0].off.value, 0, 1e-9);
    assert_near(result.stages[0].link_mm.value,
                hypot(58 + 15 * cos(97 * DEG) - 12 * cos(88 * DEG),
                      5 + 15 * sin(97 * DEG) - 12 * sin(88 * DEG)),
                1e-9);
}
END_TEST

/* The wanted length of a later link is the one for when the links before it have been turned. */
START_TEST(later_links_are_wanted_for_after_the_turns_before)
{
    struct linkage linkage = described("crank front\nhorn 12\nalong 58\narm 15\n"
                                       "measured 94 u 0.1\nthread M2\nfits every any\n"
                                       "crank tail\nhorn 15\nalong 640\narm 14\nmeasured 90\n"
                                       "crank last\nhorn 15\nalong 60\narm 15");
    struct linkage_result result = analysed(&linkage);
    /* front square again: the tail's link must be what joins two square arms, hypot(640, 1) */
    assert_near(result.stages[1].link_wanted_mm.value, hypot(640, 1), 1e-9);
    /* the tail cannot be turned and then stands off; a link only planned is made to suit that */
    assert_near(result.stages[2].remaining.value, 0, 1e-9);
    ck_assert_double_gt(fabs(result.stages[1].remaining.value), 2);
}
END_TEST

/* What a horn angle of a later part is: measured at neutral as the linkage stands, so the error of
 * the crank that carries it is in it already. Hand arithmetic: front crank and its second arm stand
 * at 80, so the balls of the rear link lie at (15 cos 80, 15 sin 80) = (2.6047, 14.7721) and
 * (100, 15): hypot(97.3953, 0.2279) = 97.3955 mm. With the front crank turned home both lie at a
 * height of 15, 100.00 apart. Unmeasured, the second arm is square where its crank stands as
 * wanted: at 80 now as well. Measured at 90, it goes to 100: (-2.6047, 14.7721), 102.6050 apart. */
START_TEST(a_horn_angle_is_measured_as_the_linkage_stands)
{
    static const struct {
        const char *horn_angle;
        double link_mm, wanted_mm, now_deg;
    } rows[] = {
        {"horn angle 80", 97.3955, 100, 80},
        {"", 97.3955, 100, 80},
        {"horn angle 90", 100, 102.6050, 90},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        char text[400];
        snprintf(text, sizeof text,
                 "crank front\nhorn 12\nalong 58\narm 15\nmeasured 80 u 0.2\nthread M2\n"
                 "fits every any\ncrank rear\nhorn 15\n%s\nalong 100\narm 15\n"
                 "measured 90 u 0.2\nthread M2.5",
                 rows[i].horn_angle);
        struct linkage linkage = described(text);
        struct linkage_result result = analysed(&linkage);
        assert_near(result.stages[1].link_mm.value, rows[i].link_mm, 1e-4);
        assert_near(result.stages[1].link_wanted_mm.value, rows[i].wanted_mm, 1e-4);
        assert_near(result.stages[1].horn_deg, rows[i].now_deg, 1e-9);
    }
}
END_TEST

/* The same linkage with that link by calipers: the rear crank stands at 90 within 0.05 mm of 15 mm,
 * 0.2 degrees; 2.60 mm are 5.8 turns of M2.5 (0.45 mm, ISO 261), and half turns fit: 6, 2.70 mm. */
START_TEST(a_horn_angle_beside_a_link_by_calipers)
{
    struct linkage linkage = described(
        "crank front\nhorn 12\nalong 58\narm 15\nmeasured 80 u 0.2\nthread M2\nfits every any\n"
        "crank rear\nhorn 15\nhorn angle 80\nalong 100\narm 15\nlink 97.40 u 0.05\n"
        "thread M2.5");
    struct linkage_result result = analysed(&linkage);
    assert_near(result.stages[1].neutral.value, 90, 0.05);
    ck_assert(result.stages[1].turnable);
    assert_near(result.stages[1].turns.change_mm, 2.70, 1e-9);
}
END_TEST

/* A slider whose place nobody gave is wanted nowhere: no length of its link is better than another,
 * whatever is done before it. */
START_TEST(nothing_is_wanted_where_no_place_is_given)
{
    struct linkage linkage = described("crank front\nhorn 12\nalong 58\narm 15\nmeasured 94\n"
                                       "thread M2\nslider pin\nhorn 10\nlink 12\nthread M2");
    struct linkage_result result = analysed(&linkage);
    char text[LINKAGE_SENTENCE_SIZE];
    ck_assert(result.stages[0].turnable);
    ck_assert(isnan(result.stages[1].link_wanted_mm.value));
    ck_assert(!result.stages[1].turnable);
    ck_assert(!linkage_say_action(&linkage, &result, 1, text, sizeof text));
}
END_TEST

/* 2 degrees off with U = 1.96 x 1.2 may be nothing; the second is 2 off as well, surely, for it was
 * measured itself. U = 0.98 is surely less than 2. */
START_TEST(what_may_be_nothing_orders_no_turn)
{
    static const struct {
        const char *u;
        bool first;
    } rows[] = {{"1.2", true}, {"0.5", false}};
    for (size_t i = 0; i < COUNT(rows); i++) {
        char described_as[400], text[LINKAGE_SENTENCE_SIZE];
        snprintf(described_as, sizeof described_as,
                 "crank front\nhorn 12\nalong 58\narm 15\nmeasured 92 u %s\nthread M2\n"
                 "crank tail\nhorn 15\nalong 640\narm 14\nmeasured 92 u 0.1\nthread M2",
                 rows[i].u);
        struct linkage linkage = described(described_as);
        struct linkage_result result = analysed(&linkage);
        ck_assert(result.stages[0].measure_first == rows[i].first);
        ck_assert(result.stages[0].turnable != rows[i].first);
        ck_assert(!result.stages[1].measure_first);
        linkage_say_action(&linkage, &result, 0, text, sizeof text);
        ck_assert_msg((strstr(text, "turn the link end") == NULL) == rows[i].first, "%s", text);
        ck_assert_msg((strstr(text, "Measure again") != NULL) == rows[i].first, "%s", text);
        /* left alone, the first still stands as it did */
        if (rows[i].first)
            assert_near(result.stages[0].remaining.value, 2, 1e-9);
    }
}
END_TEST

/* Where a crank stands at neutral, and how well that is known, the travel does not decide, though
 * some of the lengths that the uncertainties allow jam near an end of it (hand arithmetic: the same
 * lengths at the same servo angle). Off by less than that, its link is left. */
START_TEST(a_jam_at_an_end_of_the_travel_takes_nothing_from_neutral)
{
    static const char *const travels[] = {"travel 30\n", "travel 40\n"};
    struct quantity due[2];
    for (size_t i = 0; i < COUNT(travels); i++) {
        char described_as[200], text[LINKAGE_SENTENCE_SIZE];
        snprintf(described_as, sizeof described_as,
                 "%scrank c\nhorn 12 u 0.3\nalong 40 u 0.3\narm 8 u 0.4\nlink 40.8 u 0.3\n"
                 "thread M2",
                 travels[i]);
        struct linkage linkage = described(described_as);
        struct linkage_result result = analysed(&linkage);
        due[i] = result.stages[0].due;
        ck_assert(isnan(result.stages[0].high.u + result.stages[0].low.u) == (i == 1));
        ck_assert(result.stages[0].measure_first);
        ck_assert(!result.stages[0].turnable);
        linkage_say_action(&linkage, &result, 0, text, sizeof text);
        ck_assert_msg(strstr(text, "4.3 ± 6.0 degrees clockwise may be nothing at all"), "%s",
                      text);
    }
    assert_near(due[1].value, due[0].value, 1e-12);
    assert_near(due[1].u, due[0].u, 1e-12);
}
END_TEST

/* The same jam orders a turn as before where the crank is surely off. */
START_TEST(a_jam_at_an_end_of_the_travel_forbids_no_turn)
{
    struct linkage linkage = described("travel 40\ncrank c\nhorn 12\nalong 40\narm 8\n"
                                       "link 41.5 u 0.15\nthread M2");
    struct linkage_result result = analysed(&linkage);
    ck_assert(isnan(result.stages[0].low.u));
    ck_assert(!result.stages[0].measure_first);
    ck_assert(result.stages[0].turnable);
}
END_TEST

/* Horn up, crank 40 off: its arm of 8 and the link in one line span hypot(40, 12) = 41.76, so that
 * a link of 49.76 is the longest that goes in: no 48 + 2 (hand arithmetic). */
START_TEST(near_a_dead_point_at_neutral_no_turn_is_ordered)
{
    struct linkage linkage = described("travel 8\ncrank c\nhorn 12\nalong 40\narm 8\n"
                                       "link 48 u 2\nthread M2");
    struct linkage_result result = analysed(&linkage);
    char text[LINKAGE_SENTENCE_SIZE];
    ck_assert(isnan(result.stages[0].due.u));
    ck_assert(result.stages[0].measure_first);
    ck_assert(!result.stages[0].turnable);
    linkage_say_action(&linkage, &result, 0, text, sizeof text);
    ck_assert_msg(strstr(text, "c: leave its link for now: a dead point is so near") == text, "%s",
                  text);
    ck_assert_msg(strstr(text, "Measure again, better, first.") && !strstr(text, "nan"), "%s",
                  text);
}
END_TEST

/* Both cranks stand 2 off; with the first one home the second, of which the chain passes about one
 * degree for one, is off by nothing that can be told. */
START_TEST(a_later_link_is_judged_after_the_turns_before)
{
    struct linkage linkage = described("crank front\nhorn 15\nalong 600\narm 15\n"
                                       "measured 92 u 0.05\nthread M2\nfits every any\n"
                                       "crank tail\nhorn 15\nalong 600\narm 15\n"
                                       "measured 92.1 u 0.25\nthread M2\nfits every any");
    struct linkage_result result = analysed(&linkage);
    ck_assert(result.stages[0].turnable);
    assert_near(result.stages[1].due.value, 0.1, 0.01);
    ck_assert(result.stages[1].measure_first);
}
END_TEST

/* ISO 14253-1: within the tolerance of 0.5 is what is so by its U, whatever turns its thread
 * allows. By a number that nobody knows how good it is, nothing is, and no link behind counts on
 * its turns.
 */
START_TEST(a_part_is_within_by_its_uncertainty_alone)
{
    static const struct {
        const char *measured;
        bool within, bare;
    } rows[] = {{"90 u 0.05", true, false},
                {"90.3 u 0.05", true, false},
                {"90.3 u 0.2", false, false},
                {"90.3", true, true},
                {"93", false, true}};
    static const char *const fits[] = {"thread M2\nfits every half turn",
                                       "thread M2\nfits every any", "arm angle 90"};
    for (size_t i = 0; i < COUNT(rows) * COUNT(fits); i++) {
        char described_as[400], text[LINKAGE_SENTENCE_SIZE];
        const char *measured = rows[i / COUNT(fits)].measured;
        snprintf(described_as, sizeof described_as,
                 "crank front\nhorn 12\nalong 60\narm 12\nmeasured %s\n%s\n"
                 "crank tail\nhorn 15\nalong 600\narm 15\nmeasured 93 u 0.1\nthread M2",
                 measured, fits[i % COUNT(fits)]);
        struct linkage linkage = described(described_as);
        struct linkage_result result = analysed(&linkage);
        const struct linkage_stage_result *front = &result.stages[0];
        ck_assert_msg(front->within == rows[i / COUNT(fits)].within, "%s", described_as);
        ck_assert_msg(front->bare == rows[i / COUNT(fits)].bare, "%s", described_as);
        linkage_say_action(&linkage, &result, 0, text, sizeof text);
        ck_assert_msg((strstr(text, "change nothing yet") != NULL) == front->bare, "%s", text);
        if (front->bare) /* the tail stands where it was measured */
            assert_near(result.stages[1].due.value, 3, 1e-6);
    }
}
END_TEST

/* One degree at the horn of a parallelogram is one degree at the crank; half a turn of M2 on a
 * square 15 mm arm is asin(0.2 / 15) to first order. */
START_TEST(costs_of_errors_at_the_far_end)
{
    struct linkage linkage = described("crank c\nhorn 15\nalong 300\narm 15\nlink 300\nthread M2");
    struct linkage_result result = analysed(&linkage);
    ck_assert_int_eq(result.cost_count, 2);
    ck_assert_int_eq(result.costs[0].part, LINKAGE_HORN_ANGLE);
    assert_near(result.costs[0].neutral, 1, 1e-6);
    ck_assert_int_eq(result.costs[1].part, LINKAGE_LINK);
    assert_near(result.costs[1].link_mm, 0.2, 1e-12);
    assert_near(fabs(result.costs[1].neutral), asin(0.2 / 15) / DEG, 1e-3);
}
END_TEST

/* ---- Dead points and limits */

START_TEST(dead_points_beyond_the_travel_are_found)
{
    struct linkage linkage =
        described("travel 30\ncrank c\nhorn 20\nalong 50\narm 15\nlink 48\narm angle 80");
    struct linkage_result result = analysed(&linkage);
    ck_assert(result.dead[1].found);
    /* link and arm in one line, 48 + 15 from the horn's ball to the crank's axis */
    double horn_deg = acos((20.0 * 20 + 50 * 50 - 63 * 63) / (2 * 20 * 50)) / DEG;
    assert_near(result.dead[1].servo_deg, horn_deg - 90, 1e-4);
}
END_TEST

START_TEST(a_dead_point_inside_the_travel_is_refused_with_its_place)
{
    struct linkage linkage =
        described("travel 80\ncrank c\nhorn 20\nalong 50\narm 15\nlink 48\narm angle 80");
    struct linkage_result result;
    struct linkage_fault fault;
    char text[LINKAGE_PROBLEM_SIZE];
    ck_assert_int_eq(linkage_analyse(&linkage, &result, &fault), LINKAGE_DEAD_POINT);
    ck_assert_int_eq(fault.stage, 0);
    struct linkage_ready ready;
    struct linkage_pose poses[LINKAGE_MAX_STAGES];
    ck_assert_int_eq(linkage_prepare(&linkage, &ready, NULL), LINKAGE_OK);
    double beyond = fault.servo_deg > 0 ? 0.01 : -0.01;
    ck_assert_int_eq(linkage_pose(&ready, fault.servo_deg - beyond, poses, NULL), LINKAGE_OK);
    ck_assert_int_eq(linkage_pose(&ready, fault.servo_deg + beyond, poses, NULL),
                     LINKAGE_DEAD_POINT);
    linkage_say_fault(&linkage, &fault, text, sizeof text);
    ck_assert_ptr_nonnull(strstr(text, "jams"));
}
END_TEST

START_TEST(warnings_name_the_danger)
{
    char text[LINKAGE_SENTENCE_SIZE];
    struct linkage near_dead =
        described("travel 25\ncrank c\nhorn 20\nalong 50\narm 15\nlink 48\narm angle 80");
    struct linkage calm = described("travel 30\ncrank c\nhorn 12\nalong 60\narm 15");
    struct linkage_result result = analysed(&near_dead);
    ck_assert(linkage_say_warning(&near_dead, &result, 0, text, sizeof text));
    ck_assert_ptr_nonnull(strstr(text, "jams"));
    result = analysed(&calm);
    ck_assert(!linkage_say_warning(&calm, &result, 0, text, sizeof text));
}
END_TEST

/* ---- Uncertainty */

static const char uncertain_chain[] =
    "travel 35\n"
    "crank front\nhorn 12 u 0.04\nhorn angle 90 u 0.2\nalong 58 u 0.12\nacross 2 u 0.1\n"
    "arm 15 u 0.04\nlink 58.3 u 0.06\n"
    "crank tail\nhorn 15 u 0.03\nhorn angle 91 u 0.15\nalong 640 u 0.2\narm 14 u 0.05\n"
    "link 639.6 u 0.15\n"
    "slider pitch\nhorn 10 u 0.05\nacross 10 u 0.05\nlink 12 u 0.05";

struct moments {
    double sum, squares;
};

static void add(struct moments *m, double value)
{
    m->sum += value;
    m->squares += value * value;
}

static double spread(const struct moments *m, int n)
{
    return sqrt((m->squares - m->sum * m->sum / n) / (n - 1));
}

/* JCGM 101:2008: draw every given number from its distribution, put each draw through the whole
 * linkage, and compare the spread of the far end with the propagated uncertainty. 20000 draws tell
 * a standard deviation to 0.5 % (1 / sqrt(2 n)); 3 % leaves room for that and for curvature. */
START_TEST(monte_carlo_agrees_with_the_propagated_uncertainty)
{
    enum { DRAWS = 20000 };
    struct linkage linkage = described(uncertain_chain);
    struct linkage_result result = analysed(&linkage);
    struct moments neutral[3] = {{0}}, low[3] = {{0}}, high[3] = {{0}}, wanted[3] = {{0}};
    srand(3);
    for (int draw = 0; draw < DRAWS; draw++) {
        struct linkage drawn = linkage;
        for (int i = 0; i < drawn.stage_count; i++)
            for (int p = 0; p < LINKAGE_PART_COUNT; p++)
                drawn.stages[i].parts[p].value += drawn.stages[i].parts[p].u * noise();
        struct linkage_ready ready;
        struct linkage_pose at_low[3], at_high[3];
        ck_assert_int_eq(linkage_prepare(&drawn, &ready, NULL), LINKAGE_OK);
        ck_assert_int_eq(linkage_pose(&ready, -35, at_low, NULL), LINKAGE_OK);
        ck_assert_int_eq(linkage_pose(&ready, 35, at_high, NULL), LINKAGE_OK);
        for (int i = 0; i < 3; i++) {
            enum linkage_kind kind = ready.stages[i].kind;
            add(&neutral[i], linkage_shown(kind, ready.stages[i].neutral));
            add(&low[i], linkage_shown(kind, at_low[i].moved));
            add(&high[i], linkage_shown(kind, at_high[i].moved));
            add(&wanted[i], linkage_link_wanted(&ready, i));
        }
    }
    for (int i = 0; i < 3; i++) {
        assert_relative(spread(&neutral[i], DRAWS), result.stages[i].neutral.u, 0.03);
        assert_relative(spread(&low[i], DRAWS), result.stages[i].low.u, 0.03);
        assert_relative(spread(&high[i], DRAWS), result.stages[i].high.u, 0.03);
        if (linkage_has_wish(&linkage.stages[i]))
            assert_relative(spread(&wanted[i], DRAWS), result.stages[i].link_wanted_mm.u, 0.03);
    }
}
END_TEST

/* The shares of the budget add up, root of squares, to the uncertainty of the far end. */
START_TEST(shares_add_up)
{
    struct linkage linkage = described(uncertain_chain);
    struct linkage_result result = analysed(&linkage);
    double squares = 0;
    for (int i = 0; i < result.share_count; i++)
        squares += result.shares[i].u * result.shares[i].u;
    assert_relative(sqrt(squares), result.stages[2].neutral.u, 1e-6);
}
END_TEST

/* What is trimmed until it reads square carries the reading's uncertainty and no length's. */
START_TEST(a_measured_crank_is_as_uncertain_as_its_reading)
{
    struct linkage linkage = described("crank c\nhorn 12 u 0.5\nalong 58 u 1\narm 15 u 0.2\n"
                                       "measured 91.2 u 0.15");
    struct linkage_result result = analysed(&linkage);
    assert_near(result.stages[0].neutral.value, 91.2, 1e-9);
    assert_near(result.stages[0].neutral.u, 0.15, 1e-6);
}
END_TEST

START_TEST(uncertainty_near_a_dead_point_cannot_be_told)
{
    struct linkage linkage = described("travel 31\ncrank c\nhorn 20\nalong 50\narm 15\n"
                                       "link 48 u 2\narm angle 80");
    struct linkage_result result = analysed(&linkage);
    char text[LINKAGE_SENTENCE_SIZE];
    bool said = false;
    ck_assert(isnan(result.stages[0].high.u) || isnan(result.stages[0].low.u));
    for (int i = 0; linkage_say_warning(&linkage, &result, i, text, sizeof text); i++)
        said = said || strstr(text, "cannot be told");
    ck_assert(said);
}
END_TEST

/* ---- Whole turns */

/* Of a drag link horn and crank go round together: what the crank has moved is the integral of its
 * gain (Norton, Design of Machinery, 6.7), by Simpson's rule. */
START_TEST(a_crank_that_goes_round_moves_on_without_a_step)
{
    static const char *const seen[] = {"", "\nseen from behind yes"};
    enum { STEPS = 2000 };
    for (size_t i = 0; i < COUNT(seen); i++)
        for (int sign = -1; sign <= 1; sign += 2) {
            char described_as[120];
            snprintf(described_as, sizeof described_as,
                     "travel 170\ncrank c\nhorn 20\narm 20\nlink 20\nalong 5%s", seen[i]);
            struct linkage linkage = described(described_as);
            struct linkage_result result = analysed(&linkage);
            struct linkage_pose pose;
            double sum = 0, step_deg = sign * 170.0 / STEPS;
            for (int k = 0; k <= STEPS; k++) {
                ck_assert_int_eq(linkage_pose(&result.ready, k * step_deg, &pose, NULL),
                                 LINKAGE_OK);
                sum += pose.gain * (k == 0 || k == STEPS ? 1 : k % 2 ? 4 : 2);
            }
            const struct linkage_stage_result *it = &result.stages[0];
            assert_near(sign < 0 ? it->low.value : it->high.value, sum * step_deg / 3, 1e-6);
        }
}
END_TEST

/* ---- Descriptions */

/* Every line is refused with a sentence; nothing crashes. */
static const char *const refused_lines[] = {
    "crank c\nhorn 12\nalong 58\narm 15\ncrank c\n",
    "horn 12",
    "crank",
    "crank c\nhorn twelve",
    "crank c\nhorn 12 deg",
    "crank c\nhorn 12\nhorn 13",
    "crank c\nhorn 0x10",
    "crank c\nhorn nan",
    "crank c\nhorn 12 u -1",
    "crank c\nhorn 12 u",
    "crank c\nhorn angle 90 mm",
    "crank c\nthread M99",
    "crank c\nfits every now and then",
    "crank c\nfits every 1/0 turn",
    "crank c\nturnbuckle perhaps",
    "yoke y\nlink 12",
    "pitch arm p\nhorn 12",
    "bellcrank c",
    "travel fast",
    "travel 40 deg u 5", /* what cannot be carried on is not taken */
    "travel -30 ± 1 to 45",
    "travel -30 to 45 deg +- 1 deg",
    "crank a name far too long for what can be drawn beside a part",
    "crank c\xff\xfe",
    "crank c\xed\xa0\x80", /* a surrogate: JSON and cairo refuse it */
    "crank c\xc2\x9b",     /* C1 control CSI */
    "crank \x01",
    "crank a\ncrank b\ncrank c\ncrank d\ncrank e\ncrank f\ncrank g\ncrank h\ncrank i",
};

START_TEST(bad_lines_are_refused_with_a_sentence)
{
    char problem[LINKAGE_PROBLEM_SIZE] = "";
    struct linkage linkage = linkage_empty();
    ck_assert_msg(!linkage_take_text(&linkage, refused_lines[_i], problem, sizeof problem),
                  "accepted: %s", refused_lines[_i]);
    ck_assert_int_eq(strncmp(problem, "line ", 5), 0);
    ck_assert_int_gt((int)strlen(problem), 20);
}
END_TEST

START_TEST(remarks_blanks_and_units_are_read)
{
    struct linkage linkage = described("# a remark\n\n  name \t Tail of Dunlin # and another\r\n"
                                       "travel -30 deg to 45 deg\ncrank c\n\thorn 0.5 in\n"
                                       "along 58mm +- 0.3 mm\narm 15 U 0.196\nthread m3 fine\n"
                                       "fits every 1/6 turn\nturnbuckle");
    ck_assert_str_eq(linkage.name, "Tail of Dunlin");
    assert_near(linkage.low_deg, -30, 0);
    assert_near(linkage.high_deg, 45, 0);
    const struct linkage_stage *stage = &linkage.stages[0];
    assert_near(stage->parts[LINKAGE_HORN].value, 12.7, 1e-12);
    assert_near(stage->parts[LINKAGE_ALONG].u, 0.3 / sqrt(3), 1e-12); /* GUM 4.3.7 */
    assert_near(stage->parts[LINKAGE_ARM].u, 0.1, 1e-5);              /* k = 1.960 */
    assert_near(stage->ends.pitch_mm, 0.35, 1e-12);
    assert_near(stage->ends.step_turns, 1.0 / 6, 1e-12);
    ck_assert(stage->ends.turnbuckle);
}
END_TEST

static const struct {
    const char *text;
    enum linkage_status status;
} impossible[] = {
    {"travel 40", LINKAGE_EMPTY},
    {"travel 0\ncrank c\nhorn 12\nalong 58\narm 15", LINKAGE_BAD_TRAVEL},
    {"travel 200\ncrank c\nhorn 12\nalong 58\narm 15", LINKAGE_BAD_TRAVEL},
    {"crank c\nhorn 12\nalong 58", LINKAGE_MISSING},
    {"slider s\nhorn 12", LINKAGE_MISSING},
    {"crank c\nhorn 12\nalong 58\narm 15\nlink 58\nmeasured 91", LINKAGE_CLASH},
    {"crank c\nhorn -12\nalong 58\narm 15", LINKAGE_BAD_LENGTH},
    {"crank c\nhorn 12\nalong 58\narm 0", LINKAGE_BAD_LENGTH},
    {"crank c\nhorn 12\nalong 1e9\narm 15", LINKAGE_BAD_LENGTH},
    {"crank c\nhorn 12\nhorn angle 1000\nalong 58\narm 15", LINKAGE_BAD_ANGLE},
    {"pitch arm p\narm 12", LINKAGE_BAD_ORDER},
    {"yoke y\nhorn 12\ncrank c\nhorn 12\nalong 58\narm 15", LINKAGE_BAD_ORDER},
    {"crank c\nhorn 12\nalong 0\narm 15", LINKAGE_SAME_AXIS},
    {"crank c\nhorn 12\nalong 58\narm 15\nlink 90", LINKAGE_CANNOT_CLOSE},
    {"crank c\nhorn 12\nalong 58\narm 15\nlink 20", LINKAGE_CANNOT_CLOSE},
    {"crank c\nhorn 12\nalong 58\narm 15\nlink 80", LINKAGE_DEAD_POINT},
    {"slider s\nhorn 12\nacross 0\nlink 5", LINKAGE_DEAD_POINT},
    {"yoke y\nhorn 12\npitch arm p\narm 3", LINKAGE_OUT_OF_RANGE},
};

START_TEST(impossible_linkages_are_refused_with_a_sentence)
{
    struct linkage linkage = described(impossible[_i].text);
    struct linkage_result result;
    struct linkage_fault fault;
    char text[LINKAGE_PROBLEM_SIZE];
    ck_assert_msg(linkage_analyse(&linkage, &result, &fault) == impossible[_i].status, "%s: %d",
                  impossible[_i].text, (int)fault.status);
    linkage_say_fault(&linkage, &fault, text, sizeof text);
    ck_assert_ptr_null(strstr(text, "nothing is wrong"));
    ck_assert_int_gt((int)strlen(text), 30);
}
END_TEST

/* ---- Actions in words */

START_TEST(actions_read_like_the_bench)
{
    struct linkage linkage = described("crank front crank\nhorn 12\nalong 58\narm 15\n"
                                       "link 58.6 u 0.05\nthread M2");
    struct linkage_result result = analysed(&linkage);
    char text[LINKAGE_SENTENCE_SIZE];
    ck_assert(linkage_say_action(&linkage, &result, 0, text, sizeof text));
    /* wanted hypot(58, 3) = 58.078: 0.52 mm too long, 1 1/2 turns of 0.4 mm are nearest */
    ck_assert_msg(strstr(text, "front crank: turn the link end in by 1 1/2 turns (0.60 mm "
                               "shorter); 0.3 ± 0.4 degrees counter-clockwise remain.") == text,
                  "%s", text);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("linkage");
    TCase *tc = tcase_create("linkage");
    tcase_set_timeout(tc, 60);
    tcase_add_test(tc, norton_example_4_1_as_a_linkage);
    tcase_add_test(tc, norton_example_4_2_as_a_linkage);
    tcase_add_test(tc, a_turned_mechanism_gives_turned_angles);
    tcase_add_test(tc, throws_and_differential_of_an_unequal_pair);
    tcase_add_test(tc, a_parallelogram_chain_passes_the_angle_on);
    tcase_add_test(tc, yoke_travels_r_sin_theta_and_a_pitch_arm_inverts_it);
    tcase_add_test(tc, a_long_link_slider_tends_to_r_sin_theta);
    tcase_add_test(tc, seen_from_behind_swaps_the_throws);
    tcase_add_test(tc, chain_gain_is_the_derivative_of_the_far_end);
    tcase_add_test(tc, turns_bring_the_cranks_home_in_order);
    tcase_add_test(tc, a_link_worked_out_stands_where_wanted);
    tcase_add_test(tc, later_links_are_wanted_for_after_the_turns_before);
    tcase_add_test(tc, a_horn_angle_is_measured_as_the_linkage_stands);
    tcase_add_test(tc, a_horn_angle_beside_a_link_by_calipers);
    tcase_add_test(tc, nothing_is_wanted_where_no_place_is_given);
    tcase_add_test(tc, what_may_be_nothing_orders_no_turn);
    tcase_add_test(tc, a_jam_at_an_end_of_the_travel_takes_nothing_from_neutral);
    tcase_add_test(tc, a_jam_at_an_end_of_the_travel_forbids_no_turn);
    tcase_add_test(tc, near_a_dead_point_at_neutral_no_turn_is_ordered);
    tcase_add_test(tc, a_part_is_within_by_its_uncertainty_alone);
    tcase_add_test(tc, a_later_link_is_judged_after_the_turns_before);
    tcase_add_test(tc, costs_of_errors_at_the_far_end);
    tcase_add_test(tc, dead_points_beyond_the_travel_are_found);
    tcase_add_test(tc, a_dead_point_inside_the_travel_is_refused_with_its_place);
    tcase_add_test(tc, warnings_name_the_danger);
    tcase_add_test(tc, monte_carlo_agrees_with_the_propagated_uncertainty);
    tcase_add_test(tc, shares_add_up);
    tcase_add_test(tc, a_measured_crank_is_as_uncertain_as_its_reading);
    tcase_add_test(tc, uncertainty_near_a_dead_point_cannot_be_told);
    tcase_add_test(tc, a_crank_that_goes_round_moves_on_without_a_step);
    tcase_add_loop_test(tc, bad_lines_are_refused_with_a_sentence, 0, COUNT(refused_lines));
    tcase_add_test(tc, remarks_blanks_and_units_are_read);
    tcase_add_loop_test(tc, impossible_linkages_are_refused_with_a_sentence, 0, COUNT(impossible));
    tcase_add_test(tc, actions_read_like_the_bench);
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
