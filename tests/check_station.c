/* Centred, parallel, level and angle stations, link pairs and travel: identities, published rules
 * of uncertainty, and Monte Carlo. */
#include "arithmetic/quantity.h"
#include "arithmetic/station.h"
#include "arithmetic/travel.h"
#include "check_main.h"
#include "linkage/fourbar.h"
#include "linkage/link_pair.h"
#include "linkage/link_shared.h"
#include "linkage/linkage_cure.h"

#define DEG (M_PI / 180)
#define COUNT(array) (sizeof(array) / sizeof *(array))

static struct quantity q(double value, double u)
{
    return (struct quantity){value, u};
}

static struct quantity drawn(struct quantity from)
{
    return q(from.value + from.u * noise(), from.u);
}

struct moments {
    double sum, squares;
    int n;
};

static void add(struct moments *m, double value)
{
    m->sum += value;
    m->squares += value * value;
    m->n++;
}

static double spread(const struct moments *m)
{
    return sqrt((m->squares - m->sum * m->sum / m->n) / (m->n - 1));
}

#define DRAWS 20000 /* tell a standard deviation to 0.5 % */

/* ---- Parallel, level, angle */

START_TEST(parallel_compares_lines_across_the_turn)
{
    assert_near(station_parallel(q(92.1, 0.3), q(90.4, 0.4), 0).value, 1.7, 1e-9);
    assert_near(station_parallel(q(92.1, 0.3), q(90.4, 0.4), 0).u, 0.5, 1e-9); /* 3-4-5 */
    assert_near(station_parallel(q(359, 0), q(1, 0), 0).value, -2, 1e-9);
    assert_near(station_parallel(q(1, 0), q(180, 0), 0).value, 1, 1e-9); /* no head */
    assert_near(station_parallel(q(271, 0), q(90, 0), 0).value, 1, 1e-9);
    /* two photos: the reference is set up twice */
    assert_near(station_parallel(q(92, 0), q(90, 0), 0.2).u, 0.2 * sqrt(2), 1e-9);
}
END_TEST

START_TEST(level_and_angle_wrap)
{
    assert_near(station_level(q(179.2, 0.1)).value, -0.8, 1e-9);
    assert_near(station_level(q(0.8, 0.1)).value, 0.8, 1e-9);
    assert_near(station_off(q(1, 0), q(359, 0)).value, 2, 1e-9);
    assert_near(station_rise(q(0.8, 0.1), q(64, 0.5)).value, 64 * sin(0.8 * DEG), 1e-9);
}
END_TEST

/* ---- Centred */

START_TEST(centre_of_three_angles)
{
    struct station_centre c = station_centre(q(51, 0.2), q(128.4, 0.2), q(91.2, 0.2));
    assert_near(c.travel.value, 77.4, 1e-9);
    assert_near(c.middle.value, 89.7, 1e-9);
    assert_near(c.offset.value, 1.5, 1e-9);
    assert_near(c.first_throw.value, -40.2, 1e-9);
    assert_near(c.second_throw.value, 37.2, 1e-9);
    ck_assert(c.between);
    assert_near(c.offset.u, 0.2 * sqrt(1.5), 1e-12); /* u^2 (1 + 1/4 + 1/4) */
}
END_TEST

/* Turning everything, across 0 as well, and swapping the ends changes nothing of substance. */
START_TEST(centre_does_not_depend_on_where_zero_is)
{
    for (int turn = 0; turn < 360; turn += 11) {
        struct station_centre c =
            station_centre(q(fmod(51 + turn, 360), 0), q(fmod(128.4 + turn, 360), 0),
                           q(fmod(91.2 + turn, 360), 0));
        assert_near(c.offset.value, 1.5, 1e-9);
        assert_near(c.travel.value, 77.4, 1e-9);
        assert_near(remainder(c.middle.value - 89.7 - turn, 360), 0, 1e-9);
    }
    ck_assert(!station_centre(q(10, 0), q(20, 0), q(30, 0)).between);
}
END_TEST

/* A travel must be more than its U, sqrt(2) x 1.96 x u (JCGM 100:2008, 5.1.2 and 6.2), and neutral
 * lie inside it. That none is much more than half a turn is common practice, no source: neutral
 * read 180 degrees off makes 300 of 60. */
START_TEST(no_middle_without_a_travel_around_neutral)
{
    static const struct {
        double first, second, neutral, u;
        bool sound;
    } rows[] = {
        {51, 128, 90, 0.1, true},    {128, 51, 52, 0.1, true},      {51, 128, 200, 0.1, false},
        {51, 128, 51, 0.1, false},   {90, 90, 90, 0.1, false},      {90, 90, 90, 0, false},
        {90, 90.3, 90.1, 0.1, true}, {90, 90.27, 90.1, 0.1, false}, {350, 50, 20, 0.1, true},
        {350, 50, 200, 0.1, false},  {0, 180, 90, 0.1, true}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct station_centre c =
            station_centre(q(rows[i].first, rows[i].u), q(rows[i].second, rows[i].u),
                           q(rows[i].neutral, rows[i].u));
        ck_assert_msg(!station_centre_fault(&c) == rows[i].sound, "row %zu", i);
    }
}
END_TEST

START_TEST(centre_uncertainty_agrees_with_monte_carlo)
{
    const struct quantity a = q(51, 0.3), b = q(128.4, 0.2), n = q(91.2, 0.25);
    struct station_centre c = station_centre(a, b, n);
    struct moments offset = {0}, travel = {0}, first = {0};
    srand(5);
    for (int i = 0; i < DRAWS; i++) {
        struct station_centre d = station_centre(drawn(a), drawn(b), drawn(n));
        add(&offset, d.offset.value);
        add(&travel, d.travel.value);
        add(&first, d.first_throw.value);
    }
    assert_relative(spread(&offset), c.offset.u, 0.02);
    assert_relative(spread(&travel), c.travel.u, 0.02);
    assert_relative(spread(&first), c.first_throw.u, 0.02);
}
END_TEST

/* r sin(theta): 15 mm and 0.5 mm are 1.91021317 degrees, 20 mm 1.43254374 (recomputed). */
START_TEST(link_change_is_r_sin_theta_when_square)
{
    struct linkage_triangle t = {15, 0, 90, 90 - 1.91021317};
    assert_near(linkage_change_of(&t), 0.5, 1e-9);
    t = (struct linkage_triangle){20, 0, 90, 90 - 1.43254374};
    assert_near(linkage_change_of(&t), 0.5, 1e-9);
}
END_TEST

/* By hand, JCGM 100:2008, 5.2.2. Without a stop and at the end points as they are the throws are
 * n - 60 and 120 - n: their difference 2 n - 180 has twice neutral's u. With a stop on the first
 * side, told by a reading of 66 at 50 %, it is (n - 66) 59 / 50 - (119.4 - n) 0.96 at 59 and 96 %.
 */
START_TEST(neutral_moves_both_throws)
{
    struct station_ends_question question = {.first_throw = q(-30, hypot(0.01, 0.5)),
                                             .second_throw = q(30, hypot(0.01, 0.5)),
                                             .first_percent = 100,
                                             .second_percent = 100,
                                             .neutral_u = 0.5,
                                             .step_percent = 1,
                                             .limit_percent = 150};
    struct station_ends ends;
    ck_assert(station_ends(&question, &ends));
    assert_near(ends.unequal.value, 0, 1e-9);
    assert_near(ends.unequal.u, hypot(1, hypot(0.01, 0.01)), 1e-9);
    assert_near(ends.first_throw.u, hypot(0.01, 0.5), 1e-9);

    const struct station_reading readings[] = {
        {0, q(90, 0.1)}, {50, q(66, 0.1)}, {100, q(61, 0.1)}};
    question.first_throw = q(-29, hypot(0.1, 0.1));
    question.second_throw = q(29.4, hypot(0.1, 0.1));
    question.neutral_u = 0.1;
    ck_assert(station_find_stop(readings, 3, 1, &question.first_stop));
    ck_assert(question.first_stop.found);
    ck_assert(station_ends(&question, &ends));
    assert_near(ends.first_percent, 59, 0);
    assert_near(ends.second_percent, 96, 0);
    assert_near(ends.unequal.value, 24 * 59 / 50.0 - 29.4 * 0.96, 1e-6);
    assert_near(ends.unequal.u, 0.1 * sqrt(2.14 * 2.14 + 1.18 * 1.18 + 0.96 * 0.96), 1e-6);
}
END_TEST

START_TEST(end_points_make_throws_equal)
{
    struct station_ends_question question = {.first_throw = q(-40.2, 0.3),
                                             .second_throw = q(37.2, 0.3),
                                             .first_percent = 100,
                                             .second_percent = 100,
                                             .step_percent = 1,
                                             .limit_percent = 150};
    struct station_ends ends;
    ck_assert(station_ends(&question, &ends));
    assert_near(ends.first_percent, 93, 0); /* 100 x 37.2 / 40.2 = 92.54 */
    assert_near(ends.second_percent, 100, 0);
    ck_assert_double_le(fabs(ends.unequal.value), 0.402 / 2 + 1e-9); /* half a step */
    /* By hand: it stood from 95 % on, so it goes 37.2 / 95 = 0.3916 a percent; U = 2.5 leaves 92.5,
     * so 92 %: 36.03 deg, which the first side reaches at 36.03 / 0.402 = 89.6 %. */
    question.second_stop = (struct station_stop){
        .found = true, .percent = q(-95, 2.5 / 1.959964), .per_percent = q(37.2 / 95, 0.01)};
    ck_assert(station_ends(&question, &ends));
    assert_near(ends.second_percent, 92, 0);
    assert_near(ends.first_percent, 90, 0);
    assert_near(ends.second_throw.value, 92 * 37.2 / 95, 1e-9);
    ck_assert(!ends.first_short && !ends.second_short);
    question.wanted_deg = 37;
    ck_assert(station_ends(&question, &ends));
    assert_near(ends.second_percent, 92, 0);
    assert_near(ends.first_percent, 92, 0); /* 37 / 0.402 = 92.04 */
    ck_assert(ends.second_short && !ends.first_short);
    question.second_stop.found = false;
    question.wanted_deg = 70;
    ck_assert(station_ends(&question, &ends));
    ck_assert(ends.first_short && ends.second_short);
    assert_near(ends.first_percent, 150, 0);
    question.first_throw = q(0, 0);
    ck_assert(!station_ends(&question, &ends));
}
END_TEST

/* A part that follows 0.4 degrees per percent up to 30 degrees and then stands. */
static double stopping(double percent, double stop_deg)
{
    return 90 + copysign(fmin(0.4 * fabs(percent), stop_deg), percent);
}

START_TEST(binding_is_found_where_the_part_stands_still)
{
    struct station_reading readings[16];
    size_t n = 0;
    for (int percent = -100; percent <= 100; percent += 20)
        readings[n++] = (struct station_reading){percent, q(stopping(percent, 30), 0.1)};
    struct station_stop stop;
    for (int side = -1; side <= 1; side += 2) {
        ck_assert(station_find_stop(readings, n, side, &stop));
        ck_assert(stop.found);
        assert_near(stop.percent.value, side * 75, 1e-6); /* 30 / 0.4 */
        ck_assert_double_gt(stop.percent.u, 0);
    }
}
END_TEST

START_TEST(no_binding_is_seen_in_a_swing_of_r_sin_theta)
{
    struct station_reading readings[16];
    size_t n = 0;
    for (int percent = 0; percent <= 100; percent += 25)
        readings[n++] = (struct station_reading){
            percent, q(90 + 40 * sin(percent * 0.5 * DEG) / sin(50 * DEG), 0.1)};
    struct station_stop stop;
    ck_assert(station_find_stop(readings, n, 1, &stop));
    ck_assert(!stop.found);
    ck_assert(!station_find_stop(readings, 2, 1, &stop)); /* too few to tell */
}
END_TEST

/* The percent where it binds: its uncertainty against Monte Carlo. */
START_TEST(binding_uncertainty_agrees_with_monte_carlo)
{
    const struct station_reading true_readings[] = {
        {0, q(90, 0.2)}, {50, q(110, 0.2)}, {100, q(120, 0.2)}};
    struct station_stop stop;
    struct moments percent = {0};
    ck_assert(station_find_stop(true_readings, 3, 1, &stop));
    ck_assert(stop.found);
    srand(9);
    for (int i = 0; i < DRAWS; i++) {
        struct station_reading r[3];
        struct station_stop one;
        for (int k = 0; k < 3; k++)
            r[k] =
                (struct station_reading){true_readings[k].percent, drawn(true_readings[k].angle)};
        ck_assert(station_find_stop(r, 3, 1, &one));
        if (one.found)
            add(&percent, one.percent.value);
    }
    ck_assert_int_gt(percent.n, DRAWS * 99 / 100);
    assert_relative(spread(&percent), stop.percent.u, 0.03);
}
END_TEST

/* So many readings beyond neutral of a part that goes 40 degrees for 100 % or runs into a stop. */
static struct station_stop drawn_side(int count, double u, double stop_deg)
{
    struct station_reading readings[STATION_MOST_READINGS];
    struct station_stop stop = {0};
    for (int i = 0; i <= count; i++) {
        double percent = 100.0 * i / count;
        readings[i] = (struct station_reading){percent, drawn(q(stopping(percent, stop_deg), u))};
    }
    ck_assert(station_find_stop(readings, (size_t)count + 1, 1, &stop));
    return stop;
}

/* However many readings there are, no more sound parts seem to stop than 95 % leaves on one side,
 * and a stop is found, with its 95 % about where it is. */
START_TEST(many_readings_make_no_stop_and_hide_none)
{
    static const struct {
        int count;
        double u;
    } rows[] = {{2, 0.2}, {8, 0.2}, {8, 0.5}, {12, 0.5}, {16, 0.2}, {32, 0.2}, {64, 0.5}};
    enum { SERIES = 2000 };
    srand(11);
    for (size_t i = 0; i < COUNT(rows); i++) {
        int made = 0, found = 0, within = 0;
        for (int k = 0; k < SERIES; k++) {
            made += drawn_side(rows[i].count, rows[i].u, INFINITY).found;
            struct station_stop stop = drawn_side(rows[i].count, rows[i].u, 24);
            found += stop.found;
            within +=
                stop.found && fabs(stop.percent.value - 60) <= quantity_expanded(stop.percent);
        }
        ck_assert_msg(made <= 0.035 * SERIES, "row %zu: %d stops made", i, made);
        ck_assert_msg(found >= 0.99 * SERIES, "row %zu: %d found", i, found);
        ck_assert_msg(within >= 0.93 * found, "row %zu: %d of %d within U", i, within, found);
    }
}
END_TEST

START_TEST(a_known_scale_tells_a_stop_from_one_end)
{
    struct station_stop stop = station_stop_from_scale(q(-24, 0.2), -100, q(0.4, 0.005));
    ck_assert(stop.found && !stop.open);
    assert_near(stop.percent.value, -60, 1e-9);
    assert_near(stop.lost.value, 16, 1e-9);
    stop = station_stop_from_scale(q(-30, 0.2), -100, q(0.4, 0.005));
    ck_assert(!stop.found && stop.open);
    assert_near(stop.lost.value, 10, 1e-9);
    stop = station_stop_from_scale(q(39.8, 0.2), 100, q(0.4, 0.005));
    ck_assert(!stop.found && !stop.open);
}
END_TEST

/* The crank of a four-bar at so many percent, 100 being 40 degrees of the horn. NAN: link and crank
 * are nearer to one line than 25 degrees. */
static double crank_deg(const struct fourbar *bar, double horn_deg, double percent)
{
    struct fourbar_pose poses[2];
    if (fourbar_solve(bar, (horn_deg + 0.4 * percent) * DEG, poses) != FOURBAR_OK ||
        poses[FOURBAR_OPEN].transmission_rad < 25 * DEG)
        return NAN;
    return poses[FOURBAR_OPEN].crank_rad / DEG;
}

/* true: this linkage can be used, and was tried. */
static bool try_linkage(const struct fourbar *bar, double horn_deg, int side)
{
    static const double percents[] = {0, 25, 50, 75, 90, 100};
    struct station_reading readings[COUNT(percents)];
    for (size_t i = 0; i < COUNT(percents); i++) {
        readings[i].percent = side * percents[i];
        readings[i].angle = q(crank_deg(bar, horn_deg, readings[i].percent), 0.1);
        if (isnan(readings[i].angle.value))
            return false;
    }
    double scale = crank_deg(bar, horn_deg, 0.5) - crank_deg(bar, horn_deg, -0.5);
    double way = readings[COUNT(percents) - 1].angle.value - readings[0].angle.value;
    struct station_stop stop;
    for (size_t from = 1; from + 1 < COUNT(percents); from++) {
        struct station_reading few[] = {readings[0], readings[from], readings[COUNT(percents) - 1]};
        ck_assert(station_find_stop(few, 3, side, &stop) && !stop.found);
    }
    ck_assert(station_find_stop(readings, COUNT(percents), side, &stop) && !stop.found);
    ck_assert(!station_stop_from_scale(q(way, 0.1), side * 100, q(scale, 1e-4)).found);
    return true;
}

/* docs/linkage.md, "Stop or linkage": no four-bar (its solver is held against Norton in
 * check_fourbar) whose horn and crank stand within 5 degrees of square is taken for a stop. */
START_TEST(no_linkage_near_square_is_taken_for_a_stop)
{
    int tried = 0;
    for (int ratio = -4; ratio <= 4; ratio++)
        for (int base = 0; base <= 9; base++)
            for (int horn = 85; horn <= 95; horn += 5)
                for (int crank = 85; crank <= 95; crank += 5) {
                    double crank_mm = 12 / pow(2, ratio / 4.0);
                    double base_mm = 2.5 * pow(1.26, base) * fmax(12, crank_mm);
                    struct fourbar bar;
                    fourbar_init(&bar, 12,
                                 fourbar_link_for(12, crank_mm, base_mm, horn * DEG, crank * DEG),
                                 crank_mm, base_mm);
                    tried += try_linkage(&bar, horn, 1) + try_linkage(&bar, horn, -1);
                }
    ck_assert_int_gt(tried, 1000);
}
END_TEST

/* ---- The cure by the arm's own link */

START_TEST(cure_turns_the_way_that_helps)
{
    struct linkage_arm arm = {.arm_mm = q(15, 0.05),
                              .arm_to_link_deg = q(90, 0),
                              .ends = {.pitch_mm = 0.4, .step_turns = 0.5}};
    struct linkage_cure cure;
    arm.longer = LONGER_CW;
    ck_assert(linkage_cure(&arm, q(1.8, 0.2), &cure)); /* too far ccw: longer helps */
    assert_near(cure.change_mm.value, 15 * sin(1.8 * DEG), 1e-9);
    assert_near(cure.turns.turns, 1, 0);
    assert_near(cure.remains_deg.value, asin(sin(1.8 * DEG) - 0.4 / 15) / DEG, 1e-9);
    assert_relative(cure.remains_deg.u, 0.2, 0.01);
    arm.longer = LONGER_CCW;
    ck_assert(linkage_cure(&arm, q(1.8, 0.2), &cure));
    assert_near(cure.turns.turns, -1, 0);
    assert_near(cure.remains_deg.value, asin(sin(1.8 * DEG) - 0.4 / 15) / DEG, 1e-9);
    ck_assert(linkage_cure(&arm, q(-1.8, 0.2), &cure));
    assert_near(cure.turns.turns, 1, 0);
    assert_near(cure.remains_deg.value, -asin(sin(1.8 * DEG) - 0.4 / 15) / DEG, 1e-9);
    ck_assert(linkage_cure(&arm, q(0.19, 0.2), &cure)); /* which may lie on either side */
    assert_near(cure.remains_deg.u, 0.2, 0.01);
    ck_assert(!linkage_cure(&arm, q(100, 0), &cure)); /* past its own link */
    arm.arm_mm.value = 0;
    ck_assert(!linkage_cure(&arm, q(1.8, 0.2), &cure));
}
END_TEST

/* The triangle of axis, ball and the link's other end, 100 m away along 0 degrees: the link is as
 * long as the way from ball to end. An arm above that line turns counter-clockwise for a longer
 * link, one below it clockwise. */
static double link_of(double arm_mm, double stands_deg)
{
    return hypot(1e5 - arm_mm * cos(stands_deg * DEG), arm_mm * sin(stands_deg * DEG));
}

START_TEST(cure_leaves_nothing_however_the_link_meets_the_arm)
{
    for (int m = 30; m <= 150; m += 15)
        for (int off = -20; off <= 20; off += 5)
            for (int side = -1; side <= 1; side += 2) {
                struct linkage_arm arm = {.arm_mm = q(20, 0),
                                          .arm_to_link_deg = q(m, 0),
                                          .longer = side > 0 ? LONGER_CCW : LONGER_CW};
                struct linkage_cure cure;
                double wanted = side * m, exact = link_of(20, wanted) - link_of(20, wanted + off);
                ck_assert_msg(linkage_cure(&arm, q(off, 0), &cure), "%d %d", m, off);
                assert_near(cure.change_mm.value, exact, 0.01);
                assert_near(cure.remains_deg.value, 0, 1e-6);
            }
}
END_TEST

/* The same triangle with a link of ordinary length, which lies along 0 degrees where the arm stands
 * as wanted: the way from ball to end now and then, by their coordinates. Told its length the cure
 * is that; else it is wrong by no more than its own U. */
START_TEST(cure_allows_for_a_link_of_unknown_length)
{
    for (int m = 40; m <= 140; m += 10)
        for (int off = -20; off <= 20; off += 5)
            for (int step = 0; step < 6; step++) {
                const double link = 20 * pow(1.5, step);
                struct linkage_arm arm = {
                    .arm_mm = q(12, 0), .arm_to_link_deg = q(m, 0), .longer = LONGER_CCW};
                double now = hypot(link + 12 * (cos(m * DEG) - cos((m + off) * DEG)),
                                   12 * (sin(m * DEG) - sin((m + off) * DEG)));
                struct linkage_cure cure;
                if (now < 1.5 * 12)
                    continue;
                ck_assert(linkage_cure(&arm, q(off, 0), &cure));
                assert_near(cure.change_mm.value, link - now,
                            quantity_expanded(cure.change_mm) + 1e-9);
                if (m == 90 && abs(off) <= 10)
                    ck_assert_double_lt(cure.short_deg, 0.05); /* square it hardly matters */
                arm.link_mm.value = now;
                ck_assert(linkage_cure(&arm, q(off, 0), &cure));
                assert_near(cure.change_mm.value, link - now, 1e-9);
                assert_near(cure.remains_deg.value, 0, 1e-6);
                assert_near(cure.remains_deg.u, 0, 1e-9);
                assert_near(cure.short_deg, 0, 0);
                /* 0.3 mm longer than now: the arm stands where its ball meets the end again */
                const struct linkage_triangle t = {12, now, m, m + off};
                double stands = (m + off + linkage_turn_of(0.3, &t)) * DEG;
                assert_near(hypot(link + 12 * (cos(m * DEG) - cos(stands)),
                                  12 * (sin(m * DEG) - sin(stands))),
                            now + 0.3, 1e-9);
            }
}
END_TEST

/* 20 (cos 50 - cos 60) = 2.856 and 20 (cos 60 - cos 70) = 3.160 mm; one arm is told the same by
 * itself and beside another wanted angle. */
START_TEST(cure_away_from_square_takes_more_on_the_one_side)
{
    struct linkage_arm arm = {
        .arm_mm = q(20, 0), .arm_to_link_deg = q(60, 0), .longer = LONGER_CCW};
    struct link_position at = {90, {-10, 0.1}};
    struct linkage_cure cure;
    struct link_shared shared;
    ck_assert(linkage_cure(&arm, q(-10, 0.1), &cure));
    assert_near(cure.change_mm.value, 2.8558, 1e-3);
    ck_assert(link_shared(&arm, &at, 1, &shared));
    assert_near(shared.change_mm.value, 2.8558, 1e-3);
    ck_assert(linkage_cure(&arm, q(10, 0.1), &cure));
    assert_near(cure.change_mm.value, -3.1596, 1e-3);
    ck_assert(!linkage_cure(&arm, q(-70, 0), &cure)); /* past its link, on either side */
    ck_assert(!linkage_cure(&arm, q(130, 0), &cure));
}
END_TEST

/* ---- Pairs */

static struct link_pair pair_of(double first, double second)
{
    return (struct link_pair){.first_mm = q(first, 0.02),
                              .second_mm = q(second, 0.02),
                              .arm_mm = q(13.5, 0),
                              .horn_deg = 90,
                              .low_deg = -40,
                              .high_deg = 40,
                              .ends = {.pitch_mm = 0.4, .step_turns = 0.5}};
}

/* A parallelogram stays one: no turn, no strain, at any angle. */
START_TEST(equal_links_turn_and_strain_nothing)
{
    struct link_pair pair = pair_of(58, 58);
    struct link_pair_result r;
    ck_assert(link_pair_judge(&pair, &r));
    const struct link_pair_pose *poses[] = {&r.low, &r.neutral, &r.high};
    for (int i = 0; i < 3; i++) {
        assert_near(poses[i]->bias_deg, 0, 1e-9);
        assert_near(poses[i]->first_strain_mm, 0, 1e-9);
        assert_near(poses[i]->second_strain_mm, 0, 1e-9);
    }
    ck_assert_int_eq(r.equal, DECISION_ACCEPT);
}
END_TEST

/* Take any turn of the crank, work out the two lengths that it needs, and the pair must find it. */
START_TEST(unequal_links_turn_the_crank_by_what_they_were_made_for)
{
    const double r = 13.5, d = 58;
    for (int half = -4; half <= 4; half++) {
        double bias = half / 2.0;
        double x = r * (cos((90 + bias) * DEG) - cos(90 * DEG));
        double y = r * (sin((90 + bias) * DEG) - sin(90 * DEG));
        struct link_pair pair = pair_of(hypot(d + x, y), hypot(d - x, y));
        struct link_pair_result result;
        pair.base_mm = q(d, 0);
        ck_assert(link_pair_judge(&pair, &result));
        assert_near(result.neutral.bias_deg, bias, 1e-6);
        assert_near(result.neutral.first_strain_mm, 0, 1e-9);
        assert_near(result.bias_deg.value, bias, 1e-6);
    }
}
END_TEST

/* First order: the longer link pushes its ball by half the difference, r sin(t) being its lever. */
START_TEST(bias_is_half_the_difference_over_the_lever)
{
    struct link_pair pair = pair_of(58.1, 58.0);
    struct link_pair_result r;
    ck_assert(link_pair_judge(&pair, &r));
    assert_near(r.neutral.bias_deg, -0.05 / 13.5 / DEG, 1e-3);
    assert_near(r.low.bias_deg, -0.05 / (13.5 * cos(40 * DEG)) / DEG, 2e-3);
    assert_near(r.difference_mm.u, 0.02 * sqrt(2), 1e-12);
    assert_relative(r.bias_deg.u, 0.01 * sqrt(2) / 13.5 / DEG, 0.01);
}
END_TEST

/* Both links too long for the base by the same: pushed, equally, nothing turned; F = k s. */
START_TEST(links_too_long_for_the_base_push)
{
    struct link_pair pair = pair_of(58.1, 58.1);
    struct link_pair_result r;
    pair.base_mm = q(58, 0.05);
    pair.stiffness_n_per_mm = 200;
    pair.play_mm = 0.04;
    ck_assert(link_pair_judge(&pair, &r));
    assert_near(r.neutral.first_strain_mm, 0.1, 1e-6);
    assert_near(r.neutral.second_strain_mm, 0.1, 1e-6);
    assert_near(r.neutral.force_n, 200 * 0.06, 1e-3);
    assert_near(r.held_force_n, 0, 1e-9);
    /* strain = (L1 + L2) / 2 - base: 0.02 / sqrt(2) of the links, 0.05 of the base */
    const double u = hypot(0.02 / sqrt(2), 0.05);
    assert_near(r.neutral.first_strain_u_mm, u, 1e-5);
    assert_near(r.neutral.least_force_n, 0, 0);
    assert_near(r.neutral.most_force_n, 200 * (0.06 + 1.96 * u), 0.01);
    assert_near(r.misfit_mm.value, 0.1, 1e-6);
    assert_near(r.misfit_mm.u, u, 1e-5);
    /* half of sqrt(2) x 0.02 beyond the play */
    assert_near(r.most_held_n, 200 * fmax(0, 1.96 * 0.02 / sqrt(2) - 0.04), 1e-3);
    pair.first_mm.u = 0;
    ck_assert(link_pair_judge(&pair, &r));
    ck_assert(isnan(r.neutral.first_strain_u_mm) && isnan(r.misfit_mm.u));
}
END_TEST

START_TEST(pairs_say_which_link_to_turn)
{
    struct link_pair pair = pair_of(58.42, 58.10);
    struct link_pair_result r;
    ck_assert(link_pair_judge(&pair, &r));
    ck_assert(r.turn_first); /* the longer comes in */
    assert_near(r.turns.turns, -1, 0);
    assert_near(r.remaining_mm.value, 0.32 - 0.4, 1e-9);
    ck_assert_int_eq(r.equal, DECISION_REJECT);
    pair.base_mm = q(58.42, 0.02); /* now the first is right: the second goes out */
    ck_assert(link_pair_judge(&pair, &r));
    ck_assert(!r.turn_first);
    assert_near(r.turns.turns, 1, 0);
    assert_near(r.remaining_mm.value, 0.32 - 0.4, 1e-9);
}
END_TEST

START_TEST(hopeless_pairs_are_refused)
{
    struct link_pair_result r;
    struct link_pair pairs[] = {pair_of(10, 10), pair_of(58, -1), pair_of(58, NAN),
                                pair_of(58, 80)};
    for (size_t i = 0; i < COUNT(pairs); i++)
        ck_assert_msg(!link_pair_judge(&pairs[i], &r), "pair %zu", i);
    pairs[0] = pair_of(58, 58);
    pairs[0].base_mm.value = 100;
    ck_assert(!link_pair_judge(&pairs[0], &r));
}
END_TEST

/* A plane at height h before the card, the camera's centre at distance D: by similar triangles seen
 * lengths are D / (D - h) too long. */
START_TEST(photo_lengths_are_corrected_for_height)
{
    struct link_pair_photo photo = {q(60, 0.02), q(59.7, 0.02), q(12, 1), q(300, 10), 0};
    struct link_pair_lengths lengths;
    ck_assert(link_pair_from_photo(&photo, &lengths));
    /* similar triangles: 60 mm on the card plane span 60 x (300 - 12) / 300 at the height */
    assert_near(lengths.first_mm.value, 57.6, 1e-9);
    assert_near(lengths.difference_mm.value, 0.3 * 0.96, 1e-9);
    /* each length suffers from the height, the difference does not */
    ck_assert_double_gt(lengths.first_mm.u, 0.19);
    ck_assert_double_lt(lengths.difference_mm.u, 0.03);
    struct moments first = {0}, difference = {0};
    srand(11);
    for (int i = 0; i < DRAWS; i++) {
        struct link_pair_photo one = {drawn(photo.first_seen_mm), drawn(photo.second_seen_mm),
                                      drawn(photo.height_mm), drawn(photo.distance_mm), 0};
        struct link_pair_lengths l;
        ck_assert(link_pair_from_photo(&one, &l));
        add(&first, l.first_mm.value);
        add(&difference, l.difference_mm.value);
    }
    assert_relative(spread(&first), lengths.first_mm.u, 0.03);
    assert_relative(spread(&difference), lengths.difference_mm.u, 0.03);
    photo.height_mm = q(300, 0);
    ck_assert(!link_pair_from_photo(&photo, &lengths));
}
END_TEST

/* ---- Travel */

START_TEST(sub_trim_is_set_in_whole_steps)
{
    struct travel_radio radio = {q(0.45, 0.01), 1, 150};
    struct travel_setting s;
    ck_assert(travel_set(&radio, q(-3.2, 0.2), &s));
    assert_near(s.exact_percent, -3.2 / 0.45, 1e-12);
    assert_near(s.percent, -7, 0);
    assert_near(s.remains_deg.value, -3.2 + 7 * 0.45, 1e-12);
    assert_near(s.remains_deg.u, hypot(0.2, 7 * 0.01), 1e-9);
    radio.step_percent = 0.5;
    ck_assert(travel_set(&radio, q(-3.3, 0), &s));
    assert_near(s.percent, -7.5, 0);
    radio.limit_percent = 5;
    ck_assert(travel_set(&radio, q(-3.2, 0), &s));
    ck_assert(s.cut);
    assert_near(s.percent, -5, 0);
    radio.deg_per_percent.value = 0;
    ck_assert(!travel_set(&radio, q(1, 0), &s));
}
END_TEST

/* By hand: steps of 10 reach 120 below a limit of 125, and 130 lies beyond it. */
START_TEST(nothing_is_set_beyond_the_limit)
{
    struct travel_radio radio = {q(0.45, 0), 10, 125};
    struct travel_setting s;
    ck_assert(travel_set(&radio, q(-100, 0), &s));
    ck_assert(s.cut);
    assert_near(s.percent, -120, 0);
    ck_assert(travel_set(&radio, q(127 * 0.45, 0), &s));
    ck_assert(s.cut);
    assert_near(s.percent, 120, 0);
    ck_assert(travel_set(&radio, q(124 * 0.45, 0), &s));
    ck_assert(!s.cut);
    assert_near(s.percent, 120, 0);
    radio.step_percent = 0;
    ck_assert(travel_set(&radio, q(127 * 0.45, 0), &s));
    ck_assert(s.cut);
    assert_near(s.percent, 125, 0);
    assert_near(travel_step(5, 0.1, 0.1 * 3), 0.3, 1e-12);
    assert_near(travel_step(5, 0.1, 0.3), 0.3, 1e-12); /* 0.3 / 0.1 is a little below 3 */
    ck_assert(!signbit(travel_step(-0.2, 1, 150)));

    struct station_ends_question question = {.first_throw = q(-40, 0),
                                             .second_throw = q(40, 0),
                                             .first_percent = 100,
                                             .second_percent = 100,
                                             .wanted_deg = 60,
                                             .step_percent = 10,
                                             .limit_percent = 125};
    struct station_ends ends;
    ck_assert(station_ends(&question, &ends));
    assert_near(ends.first_percent, 120, 0);
    assert_near(ends.second_percent, 120, 0);
    ck_assert(ends.first_short && ends.second_short);
    question.wanted_deg = 0.4 * 127; /* the nearest step, 130, is out of reach */
    ck_assert(station_ends(&question, &ends));
    assert_near(ends.first_percent, 120, 0);
    ck_assert(ends.first_short);
}
END_TEST

START_TEST(sub_trim_leaves_the_ends_unequal)
{
    struct travel_radio radio = {q(0.4, 0), 1, 120};
    struct travel_ends ends = {100, 100};
    struct travel_asymmetry a = travel_asymmetry(&radio, ends, 10);
    assert_near(a.moving_low_deg, 40, 1e-12);
    assert_near(a.moving_high_deg, 40, 1e-12); /* 10 + 100 is within the limit */
    assert_near(a.fixed_low_deg, 44, 1e-12);   /* one side gains what the other loses */
    assert_near(a.fixed_high_deg, 36, 1e-12);
    a = travel_asymmetry(&radio, ends, 30);
    ck_assert(a.high_cut && !a.low_cut);
    assert_near(a.moving_high_deg, 36, 1e-12); /* 120 - 30 */
    assert_near(a.moving_low_deg, 40, 1e-12);
}
END_TEST

/* r sin(theta) again: square gives equal throws, off square gives r (sin(o + s) - sin o). */
START_TEST(ball_throws_are_equal_only_when_square)
{
    double low, high;
    travel_ball_throws(12, 0, 40, 40, &low, &high);
    assert_near(low, 12 * sin(40 * DEG), 1e-12);
    assert_near(high, 12 * sin(40 * DEG), 1e-12);
    travel_ball_throws(12, 10, 40, 40, &low, &high);
    assert_near(high, 12 * (sin(50 * DEG) - sin(10 * DEG)), 1e-12);
    assert_near(low, 12 * (sin(10 * DEG) + sin(30 * DEG)), 1e-12);
}
END_TEST

/* ---- One link for several angles ------------------------------------------------------------- */

static const double throttle[] = {45, 90, 135};

/* A long link along 0 degrees: its ball stands at r cos(angle), and a link that is longer by d than
 * it should be has moved the arm to where that is d less. Undone, nothing is left at any angle. */
START_TEST(a_link_of_wrong_length_is_found_from_all_angles)
{
    static const enum linkage_longer longer[] = {LONGER_UNKNOWN, LONGER_CCW, LONGER_CW};
    const double r = 12, d = 0.7;
    for (size_t way = 0; way < COUNT(longer); way++) {
        struct linkage_arm arm = {
            .arm_mm = {r, 0}, .arm_to_link_deg = {90, 0}, .longer = longer[way]};
        double side = longer[way] == LONGER_CW ? -1 : 1; /* the link comes from the other side */
        struct link_position at[3];
        struct link_shared shared;
        for (int i = 0; i < 3; i++) {
            double stands = acos(cos(throttle[i] * DEG) - side * d / r) / DEG;
            at[i] = (struct link_position){throttle[i], {stands - throttle[i], 0.1}};
        }
        ck_assert(link_shared(&arm, at, 3, &shared));
        assert_near(shared.change_mm.value, -d, 1e-9);
        for (int i = 0; i < 3; i++) {
            assert_near(shared.remains_deg[i].value, 0, 1e-9);
            ck_assert_double_gt(shared.remains_deg[i].u, 0.05);
        }
        ck_assert(link_shared_wants_change(&shared));
        ck_assert(shared.all_deg.value * side > 0);
    }
}
END_TEST

/* The two ends are off against each other: no length helps, the throw is 4 degrees short. */
START_TEST(a_throw_that_is_too_small_is_no_matter_of_the_link)
{
    struct linkage_arm arm = {.arm_mm = {12, 0},
                              .arm_to_link_deg = {90, 0},
                              .ends = {.pitch_mm = 0.4, .step_turns = 0.5}};
    struct link_position at[] = {{135, {-2, 0.3}}, {90, {0, 0.3}}, {45, {2, 0.3}}};
    struct link_shared shared;
    ck_assert(link_shared(&arm, at, 3, &shared));
    assert_near(shared.all_deg.value, 0, 0.05);
    ck_assert(!link_shared_wants_change(&shared));
    ck_assert_int_eq(shared.first, 2);
    ck_assert_int_eq(shared.last, 0);
    assert_near(shared.throw_deg, 90, 1e-9);
    assert_near(shared.throw_off.value, -4, 1e-9);
    assert_near(shared.throw_off.u, 0.3 * sqrt(2), 1e-9);
}
END_TEST

/* Near square a change of the link moves all angles alike: the least squares are the weighted mean,
 * (2 / 0.1^2 - 1 / 1^2) / (1 / 0.1^2 + 1 / 1^2), with u^2 = 1 / the sum of the weights. */
START_TEST(a_surer_angle_weighs_more)
{
    struct linkage_arm arm = {.arm_to_link_deg = {90, 0}};
    struct link_position at[] = {{90, {2, 0.1}}, {90.01, {-1, 1}}};
    struct link_shared shared;
    ck_assert(link_shared(&arm, at, 2, &shared));
    assert_near(shared.all_deg.value, 199.0 / 101, 0.005);
    assert_near(shared.all_deg.u, (100 * 0.1 + 1) / 101, 0.001);
    ck_assert(!shared.turnable);
    at[0].off.u = 0; /* taken as exact: then both weigh alike, and half of the other's u stays */
    ck_assert(link_shared(&arm, at, 2, &shared));
    assert_near(shared.all_deg.value, 0.5, 0.005);
    assert_near(shared.all_deg.u, 0.5, 0.005);
}
END_TEST

/* JCGM 100:2008, 5.1.2: square to its link and 2 degrees off the arm wants r sin(2), so an arm
 * known to 2 mm of 15 leaves 2 sin(2) = 0.070 mm in that, whatever the number of readings; two
 * readings of 0.1 degrees put 15 x 0.1 / sqrt(2) degrees = 0.019 mm beside it. How far all are off
 * does not depend on the arm. */
/* Straightness, print and tilt are one error in all: of nine as much stays as of one (JCGM
 * 100:2008, 5.2.2, r = 1). */
START_TEST(more_readings_do_not_average_away_what_they_share)
{
    struct linkage_arm arm = {.arm_to_link_deg = {90, 0}};
    struct link_position at[9];
    struct link_shared shared;
    for (int i = 0; i < 9; i++)
        at[i] = (struct link_position){90 + i - 4, {0.15, 0.1}};
    for (int count = 1; count <= 9; count += 4) {
        ck_assert(link_shared(&arm, at, count, &shared));
        assert_near(shared.all_deg.u, 0.1, 0.001);
        ck_assert(!link_shared_wants_change(&shared));
    }
}
END_TEST

START_TEST(more_readings_do_not_make_the_length_of_the_arm_known)
{
    struct linkage_arm arm = {.arm_mm = {15, 2}, .arm_to_link_deg = {90, 0}, .longer = LONGER_CCW};
    struct link_position at[] = {{90, {2, 0.1}}, {89, {2, 0.1}}};
    struct link_shared shared;
    ck_assert(link_shared(&arm, at, 2, &shared));
    assert_near(shared.change_mm.value, -15 * sin(2 * DEG), 0.001);
    assert_near(shared.change_mm.u, hypot(2 * sin(2 * DEG), 15 * 0.1 * DEG), 0.001);
    assert_near(shared.all_deg.u, 0.1, 0.001);
}
END_TEST

/* One arm alone and the same arm as one of several that are one: the single cure, whose parts are
 * checked above. A leaning link makes its angle count as well: d(change)/d(angle) =
 * r (sin(60) - sin(50)) = 2.0 mm a radian. And so does a link that may be as short as 30 mm: across
 * it the ball goes those 2.0 mm, and 30 - sqrt(30^2 - 2^2) is half of a rectangular distribution.
 */
START_TEST(one_reading_is_as_sure_as_the_cure_of_one_arm)
{
    struct linkage_arm arm = {
        .arm_mm = {20, 0.5}, .arm_to_link_deg = {60, 1.5}, .longer = LONGER_CCW};
    struct link_position at = {90, {-10, 0.1}};
    struct linkage_cure cure;
    struct link_shared shared;
    ck_assert(linkage_cure(&arm, at.off, &cure));
    ck_assert(link_shared(&arm, &at, 1, &shared));
    assert_near(shared.change_mm.u, cure.change_mm.u, 1e-4);
    assert_near(shared.remains_deg[0].u, cure.remains_deg.u, 1e-4);
    assert_near(shared.change_mm.u,
                sqrt(pow(0.5 * (cos(50 * DEG) - cos(60 * DEG)), 2) +
                     pow(20 * (sin(60 * DEG) - sin(50 * DEG)) * 1.5 * DEG, 2) +
                     pow(20 * sin(50 * DEG) * 0.1 * DEG, 2) +
                     pow(30 - sqrt(30 * 30 - pow(20 * (sin(60 * DEG) - sin(50 * DEG)), 2)), 2) / 3),
                1e-3);
}
END_TEST

START_TEST(an_arm_nearly_in_line_with_its_link_is_left)
{
    struct linkage_arm arm = {.arm_mm = {12, 0}, .arm_to_link_deg = {90, 0}};
    struct link_position at[] = {{10, {3, 0.1}}, {170, {3, 0.1}}};
    struct link_shared shared;
    ck_assert(!link_shared(&arm, at, 2, &shared));
    arm.arm_to_link_deg.value = 170;
    ck_assert(!link_shared(&arm, at, 1, &shared));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("station");
    TCase *tc = tcase_create("station");
    tcase_set_timeout(tc, 60);
    tcase_add_test(tc, parallel_compares_lines_across_the_turn);
    tcase_add_test(tc, level_and_angle_wrap);
    tcase_add_test(tc, centre_of_three_angles);
    tcase_add_test(tc, centre_does_not_depend_on_where_zero_is);
    tcase_add_test(tc, no_middle_without_a_travel_around_neutral);
    tcase_add_test(tc, centre_uncertainty_agrees_with_monte_carlo);
    tcase_add_test(tc, link_change_is_r_sin_theta_when_square);
    tcase_add_test(tc, neutral_moves_both_throws);
    tcase_add_test(tc, end_points_make_throws_equal);
    tcase_add_test(tc, binding_is_found_where_the_part_stands_still);
    tcase_add_test(tc, no_binding_is_seen_in_a_swing_of_r_sin_theta);
    tcase_add_test(tc, binding_uncertainty_agrees_with_monte_carlo);
    tcase_add_test(tc, many_readings_make_no_stop_and_hide_none);
    tcase_add_test(tc, a_known_scale_tells_a_stop_from_one_end);
    tcase_add_test(tc, no_linkage_near_square_is_taken_for_a_stop);
    tcase_add_test(tc, cure_turns_the_way_that_helps);
    tcase_add_test(tc, cure_leaves_nothing_however_the_link_meets_the_arm);
    tcase_add_test(tc, cure_allows_for_a_link_of_unknown_length);
    tcase_add_test(tc, cure_away_from_square_takes_more_on_the_one_side);
    tcase_add_test(tc, a_link_of_wrong_length_is_found_from_all_angles);
    tcase_add_test(tc, a_throw_that_is_too_small_is_no_matter_of_the_link);
    tcase_add_test(tc, a_surer_angle_weighs_more);
    tcase_add_test(tc, more_readings_do_not_average_away_what_they_share);
    tcase_add_test(tc, more_readings_do_not_make_the_length_of_the_arm_known);
    tcase_add_test(tc, one_reading_is_as_sure_as_the_cure_of_one_arm);
    tcase_add_test(tc, an_arm_nearly_in_line_with_its_link_is_left);
    tcase_add_test(tc, equal_links_turn_and_strain_nothing);
    tcase_add_test(tc, unequal_links_turn_the_crank_by_what_they_were_made_for);
    tcase_add_test(tc, bias_is_half_the_difference_over_the_lever);
    tcase_add_test(tc, links_too_long_for_the_base_push);
    tcase_add_test(tc, pairs_say_which_link_to_turn);
    tcase_add_test(tc, hopeless_pairs_are_refused);
    tcase_add_test(tc, photo_lengths_are_corrected_for_height);
    tcase_add_test(tc, sub_trim_is_set_in_whole_steps);
    tcase_add_test(tc, nothing_is_set_beyond_the_limit);
    tcase_add_test(tc, sub_trim_leaves_the_ends_unequal);
    tcase_add_test(tc, ball_throws_are_equal_only_when_square);
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
