/* The order of stations: what opens, what must be checked again, and why. The rules come from the
 * way the work rests on itself (common practice, no source): a crank squared to a horn is worth
 * nothing once the horn has moved. */
#include "check_main.h"
#include "job/job_state.h"

/* horn <- crank <- tail, and a throttle that rests on nothing of it. */
static const char *const text = "plan: chain\n"
                                "[safe]\ntitle: Safe\nkind: confirm\n"
                                "[horn]\ntitle: Horn\nkind: square\nrests on: safe\n"
                                "tolerance: 0.5\n"
                                "[crank]\ntitle: Crank\nkind: parallel\nrests on: horn\n"
                                "tolerance: 0.5\n"
                                "[tail]\ntitle: Tail\nkind: square\nrests on: crank\n"
                                "tolerance: 1\n"
                                "[throttle]\ntitle: Throttle\nkind: angle\ntarget: 359\n"
                                "rests on: safe\ntolerance: 2\n";
enum { SAFE, HORN, CRANK, TAIL, THROTTLE, COUNT };

static struct plan plan;
static struct job_event events[32];
static int event_count;
static struct job_standing standing[COUNT];

static void set_up(void)
{
    struct plan_trouble trouble;
    ck_assert_msg(plan_read(text, &plan, &trouble), "%s", trouble.text);
    event_count = 0;
}

static void tear_down(void)
{
    plan_clear(&plan);
}

static void confirm(int station, bool holds)
{
    events[event_count++] =
        (struct job_event){.kind = JOB_CONFIRMED, .station = station, .holds = holds};
}

static void measure(int station, double value, double u)
{
    events[event_count++] = (struct job_event){.kind = JOB_MEASURED,
                                               .station = station,
                                               .value = value,
                                               .u = u,
                                               .coverage = 2,
                                               .sure = true};
}

static void replay(void)
{
    ck_assert(job_replay(&plan, events, event_count, standing));
}

static void assert_state(int station, enum job_state state)
{
    ck_assert_msg(standing[station].state == state, "%s is \"%s\", not \"%s\"",
                  plan.stations[station].key, job_state_words(standing[station].state),
                  job_state_words(state));
}

/* safe, horn, crank and tail done and good. */
static void do_chain(void)
{
    confirm(SAFE, true);
    measure(HORN, 0.1, 0.05);
    measure(CRANK, 0.1, 0.05);
    measure(TAIL, 0.1, 0.05);
}

START_TEST(only_what_rests_on_good_stations_is_open)
{
    replay();
    assert_state(SAFE, JOB_OPEN);
    assert_state(HORN, JOB_WAITS);
    ck_assert_int_eq(job_next(&plan, standing), SAFE);
    confirm(SAFE, true);
    replay();
    assert_state(HORN, JOB_OPEN);
    assert_state(CRANK, JOB_WAITS);
    assert_state(THROTTLE, JOB_OPEN);
    ck_assert_int_eq(job_next(&plan, standing), HORN);
}
END_TEST

/* From another reference another angle is told, wherever the part is: 2 degrees between two edges
 * look like 2 degrees that it moved (hand arithmetic). */
START_TEST(another_reference_tells_no_movement)
{
    do_chain();
    measure(HORN, 2.1, 0.01);
    events[event_count - 1].reference = VISION_REFERENCE_POINTS;
    replay();
    assert_state(CRANK, JOB_CHECK_AGAIN);
    ck_assert(standing[CRANK].elsewhere);
    ck_assert(isnan(standing[CRANK].moved));
    measure(HORN, 0.1, 0.01);
    measure(CRANK, 0.1, 0.01);
    replay();
    assert_state(CRANK, JOB_GOOD);
    measure(HORN, 0.2, 0.01);
    events[event_count - 1].reference = VISION_REFERENCE_POINTS;
    replay();
    assert_state(CRANK, JOB_GOOD);
    measure(HORN, 2.1, 0.01);
    replay();
    ck_assert(!standing[CRANK].elsewhere);
    assert_near(standing[CRANK].moved, 2.0, 1e-12);
}
END_TEST

START_TEST(a_rejected_station_opens_nothing)
{
    confirm(SAFE, true);
    measure(HORN, 1.2, 0.1);
    replay();
    assert_state(HORN, JOB_ADJUST);
    assert_state(CRANK, JOB_WAITS);
    ck_assert(!standing[CRANK].ready);
    ck_assert_int_eq(job_next(&plan, standing), HORN);
}
END_TEST

START_TEST(an_uncertain_station_opens_nothing)
{
    confirm(SAFE, true);
    measure(HORN, 0.4, 0.1);
    replay();
    assert_state(HORN, JOB_CANNOT_TELL);
    assert_state(CRANK, JOB_WAITS);
    measure(HORN, 0.0, 0.01);
    events[event_count - 1].sure = false;
    replay();
    assert_state(HORN, JOB_CANNOT_TELL);
}
END_TEST

START_TEST(all_that_rests_on_a_moved_station_is_to_be_checked_again)
{
    do_chain();
    measure(HORN, -0.41, 0.01); /* moved by 0.51, still within tolerance itself */
    replay();
    assert_state(HORN, JOB_GOOD);
    assert_state(CRANK, JOB_CHECK_AGAIN);
    assert_state(TAIL, JOB_CHECK_AGAIN);
    assert_state(SAFE, JOB_GOOD);
    ck_assert_int_eq(standing[TAIL].cause, event_count - 1);
    assert_near(standing[TAIL].moved, -0.51, 1e-12);
    ck_assert_int_eq(job_next(&plan, standing), CRANK);
}
END_TEST

START_TEST(a_move_within_tolerance_disturbs_nothing)
{
    do_chain();
    measure(HORN, -0.39, 0.01);
    replay();
    assert_state(CRANK, JOB_GOOD);
    assert_state(TAIL, JOB_GOOD);
}
END_TEST

/* Each step is small, but the crank was set to the horn as it stood at first. */
START_TEST(small_moves_add_up)
{
    do_chain();
    measure(HORN, -0.2, 0.01);
    measure(HORN, -0.45, 0.01);
    replay();
    assert_state(CRANK, JOB_CHECK_AGAIN);
}
END_TEST

static void measure_unsure(int station, double value, double u)
{
    measure(station, value, u);
    events[event_count - 1].sure = false;
}

/* Nothing was turned; one photo could not tell the hub, and took another arm's end for it. */
START_TEST(an_unsure_measurement_moves_nothing)
{
    do_chain();
    measure_unsure(HORN, 7.4, 0.05);
    replay();
    assert_state(HORN, JOB_CANNOT_TELL);
    assert_state(CRANK, JOB_GOOD);
    assert_state(TAIL, JOB_GOOD);
    /* what is done meanwhile still rests on the last sure one */
    measure(TAIL, 0.1, 0.05);
    measure(HORN, 0.1, 0.05);
    replay();
    for (int s = SAFE; s <= TAIL; s++)
        assert_state(s, JOB_GOOD);
    measure(HORN, -0.45, 0.01);
    replay();
    assert_state(CRANK, JOB_CHECK_AGAIN);
    assert_state(TAIL, JOB_CHECK_AGAIN);
}
END_TEST

/* Undone, then measured by an unsure photo: the crank still rests on nothing. */
START_TEST(an_unsure_measurement_is_no_ground)
{
    confirm(SAFE, true);
    measure(CRANK, 0.1, 0.05);
    measure_unsure(HORN, 0.1, 0.05);
    replay();
    assert_state(CRANK, JOB_CHECK_AGAIN);
    ck_assert_int_eq(standing[CRANK].missing, HORN);
    measure(HORN, 0.1, 0.05);
    replay();
    assert_state(CRANK, JOB_CHECK_AGAIN);
    ck_assert_int_eq(standing[CRANK].cause, event_count - 1);
}
END_TEST

/* JCGM 100:2008, 5.1.2: the difference of two findings has U = sqrt(U1^2 + U2^2). 0.7 apart with
 * U = sqrt(6^2 + 0.1^2) is no movement; with U = sqrt(0.5^2 + 0.1^2) = 0.51 it is one. */
START_TEST(what_cannot_be_seen_to_move_has_not_moved)
{
    do_chain();
    measure(HORN, 0.8, 3);
    replay();
    assert_state(CRANK, JOB_GOOD);
    measure(HORN, 0.1, 0.05);
    replay();
    assert_state(CRANK, JOB_GOOD);
    measure(HORN, 0.8, 0.25);
    replay();
    assert_state(CRANK, JOB_CHECK_AGAIN);
}
END_TEST

START_TEST(moving_back_does_not_clear_the_mark)
{
    do_chain();
    measure(HORN, 3, 0.01);
    measure(HORN, 0.1, 0.01);
    replay();
    assert_state(CRANK, JOB_CHECK_AGAIN);
    measure(CRANK, 0.1, 0.01);
    replay();
    assert_state(CRANK, JOB_GOOD);
    assert_state(TAIL, JOB_CHECK_AGAIN);
}
END_TEST

START_TEST(other_hardware_marks_the_station_and_what_rests_on_it)
{
    do_chain();
    events[event_count++] = (struct job_event){.kind = JOB_REFITTED, .station = CRANK};
    replay();
    assert_state(HORN, JOB_GOOD);
    assert_state(CRANK, JOB_CHECK_AGAIN);
    assert_state(TAIL, JOB_CHECK_AGAIN);
    assert_state(THROTTLE, JOB_OPEN);
}
END_TEST

/* What is asked of the moment is nothing of the model: in "off" it is that the blades are off. */
static const char *const bench_text = "plan: bench\n"
                                      "[off]\ntitle: Blades off\nkind: confirm\n"
                                      "[ways]\ntitle: Directions\nkind: confirm\nrests on: off\n"
                                      "[horn]\ntitle: Horn\nkind: square\nrests on: ways\n"
                                      "[other]\ntitle: Other\nkind: square\nrests on: ways\n"
                                      "[crank]\ntitle: Crank\nkind: square\nrests on: horn\n";
enum { OFF, WAYS, BENCH_HORN, OTHER, BENCH_CRANK };

static void bench(void)
{
    struct plan_trouble trouble;
    plan_clear(&plan);
    ck_assert_msg(plan_read(bench_text, &plan, &trouble), "%s", trouble.text);
    confirm(OFF, true);
    confirm(WAYS, true);
    measure(BENCH_HORN, 0.1, 0.05);
    measure(OTHER, 0.1, 0.05);
    measure(BENCH_CRANK, 0.1, 0.05);
}

static void refit(int station, bool first)
{
    events[event_count++] =
        (struct job_event){.kind = JOB_REFITTED, .station = station, .servo = true, .first = first};
}

START_TEST(what_holds_for_the_moment_voids_nothing)
{
    bench();
    confirm(OFF, false);
    replay();
    assert_state(OFF, JOB_ADJUST);
    for (int s = WAYS; s <= BENCH_CRANK; s++)
        assert_state(s, JOB_GOOD);
    for (int s = WAYS; s <= BENCH_CRANK; s++)
        ck_assert_int_eq(standing[s].blocker, OFF);
    confirm(WAYS, false);
    replay();
    assert_state(BENCH_HORN, JOB_CHECK_AGAIN);
    assert_state(BENCH_CRANK, JOB_CHECK_AGAIN);
}
END_TEST

START_TEST(another_servo_is_to_be_confirmed_too)
{
    bench();
    refit(BENCH_HORN, false);
    replay();
    assert_state(OFF, JOB_GOOD);
    assert_state(WAYS, JOB_CHECK_AGAIN);
    assert_state(BENCH_HORN, JOB_CHECK_AGAIN);
    assert_state(OTHER, JOB_GOOD);
    assert_state(BENCH_CRANK, JOB_CHECK_AGAIN);
    ck_assert_int_eq(job_next(&plan, standing), WAYS);
}
END_TEST

START_TEST(another_part_behind_a_servo_is_no_other_servo)
{
    bench();
    refit(BENCH_CRANK, true);
    replay();
    assert_state(WAYS, JOB_GOOD);
    assert_state(BENCH_HORN, JOB_GOOD);
    assert_state(BENCH_CRANK, JOB_CHECK_AGAIN);
}
END_TEST

START_TEST(what_is_told_before_it_is_done_marks_nothing)
{
    bench();
    event_count = 2;
    refit(BENCH_HORN, true);
    replay();
    assert_state(WAYS, JOB_GOOD);
    assert_state(BENCH_HORN, JOB_OPEN);
    refit(BENCH_HORN, false);
    replay();
    assert_state(WAYS, JOB_CHECK_AGAIN);
}
END_TEST

START_TEST(what_is_asked_to_be_checked_marks_itself_alone)
{
    bench();
    events[event_count++] = (struct job_event){.kind = JOB_RECHECK, .station = BENCH_HORN};
    replay();
    assert_state(BENCH_HORN, JOB_CHECK_AGAIN);
    assert_state(BENCH_CRANK, JOB_GOOD);
    measure(BENCH_HORN, 0.1, 0.05);
    replay();
    assert_state(BENCH_HORN, JOB_GOOD);
}
END_TEST

START_TEST(a_confirmation_that_fails_marks_what_rests_on_it)
{
    do_chain();
    confirm(SAFE, false);
    replay();
    assert_state(SAFE, JOB_ADJUST);
    assert_state(HORN, JOB_CHECK_AGAIN);
    ck_assert(!standing[HORN].ready);
    confirm(SAFE, true);
    replay();
    assert_state(HORN, JOB_CHECK_AGAIN);
    ck_assert(standing[HORN].ready);
}
END_TEST

/* Undo leaves an event out of the replay; what was done on top of it stands on nothing. */
START_TEST(a_station_whose_ground_was_withdrawn_is_to_be_checked_again)
{
    confirm(SAFE, true);
    measure(CRANK, 0.1, 0.05);
    replay();
    assert_state(CRANK, JOB_CHECK_AGAIN);
    ck_assert_int_eq(standing[CRANK].missing, HORN);
}
END_TEST

START_TEST(angles_are_compared_the_short_way_round)
{
    confirm(SAFE, true);
    measure(THROTTLE, 0.5, 0.1);
    replay();
    assert_state(THROTTLE, JOB_GOOD);
    assert_near(standing[THROTTLE].off, 1.5, 1e-12);
    assert_near(job_difference(PLAN_ANGLE, 359, 1), -2, 1e-12);
    assert_near(job_difference(PLAN_PAIR, 359, 1), 358, 1e-12);
    assert_near(job_difference(PLAN_CENTRED, 100, -100), -160, 1e-12);
}
END_TEST

/* How far off square an arm is repeats every 90 degrees, how far off parallel a line without a head
 * every 180: an arm that turns 0.2 degrees past the end has turned 0.2 degrees. */
START_TEST(a_move_past_the_end_of_the_scale_is_as_small_as_it_is)
{
    assert_near(job_difference(PLAN_SQUARE, -44.9, 44.9), 0.2, 1e-12);
    assert_near(job_difference(PLAN_LEVEL, 44.9, -44.9), -0.2, 1e-12);
    assert_near(job_difference(PLAN_PARALLEL, -44.9, 44.9), -89.8, 1e-12);
    assert_near(job_difference(PLAN_PARALLEL, -89.9, 89.9), 0.2, 1e-12);
    do_chain();
    measure(HORN, 44.9, 0.05);
    measure(CRANK, 0.1, 0.05);
    measure(HORN, -44.9, 0.05);
    replay();
    ck_assert_int_eq(standing[CRANK].cause, -1);
}
END_TEST

/* Every step of a random history: a good station rests on done ones, and one marked has a cause
 * that lies above it. Seeded, so that a failure comes back. */
START_TEST(random_histories_keep_the_rules)
{
    srand(20260301);
    for (int run = 0; run < 2000; run++) {
        event_count = 0;
        for (int i = 0; i < 24; i++) {
            int station = rand() % COUNT;
            replay();
            if (!standing[station].ready)
                continue;
            if (station == SAFE)
                confirm(SAFE, rand() % 8 != 0);
            else
                measure(station, (rand() % 200 - 100) / 100.0, 0.05);
        }
        replay();
        for (int s = 0; s < COUNT; s++) {
            if (standing[s].state == JOB_CHECK_AGAIN)
                ck_assert_int_lt(events[standing[s].cause].station, s);
            if (standing[s].state == JOB_GOOD)
                for (int r = 0; r < plan.stations[s].rests_on_count; r++)
                    ck_assert_int_ge(standing[plan.stations[s].rests_on[r]].latest, 0);
        }
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("job_state");
    TCase *all = tcase_create("order");
    tcase_add_checked_fixture(all, set_up, tear_down);
    tcase_add_test(all, only_what_rests_on_good_stations_is_open);
    tcase_add_test(all, another_reference_tells_no_movement);
    tcase_add_test(all, a_rejected_station_opens_nothing);
    tcase_add_test(all, an_uncertain_station_opens_nothing);
    tcase_add_test(all, all_that_rests_on_a_moved_station_is_to_be_checked_again);
    tcase_add_test(all, a_move_within_tolerance_disturbs_nothing);
    tcase_add_test(all, small_moves_add_up);
    tcase_add_test(all, an_unsure_measurement_moves_nothing);
    tcase_add_test(all, an_unsure_measurement_is_no_ground);
    tcase_add_test(all, what_cannot_be_seen_to_move_has_not_moved);
    tcase_add_test(all, moving_back_does_not_clear_the_mark);
    tcase_add_test(all, other_hardware_marks_the_station_and_what_rests_on_it);
    tcase_add_test(all, a_confirmation_that_fails_marks_what_rests_on_it);
    tcase_add_test(all, what_holds_for_the_moment_voids_nothing);
    tcase_add_test(all, another_servo_is_to_be_confirmed_too);
    tcase_add_test(all, another_part_behind_a_servo_is_no_other_servo);
    tcase_add_test(all, what_is_told_before_it_is_done_marks_nothing);
    tcase_add_test(all, what_is_asked_to_be_checked_marks_itself_alone);
    tcase_add_test(all, a_station_whose_ground_was_withdrawn_is_to_be_checked_again);
    tcase_add_test(all, angles_are_compared_the_short_way_round);
    tcase_add_test(all, a_move_past_the_end_of_the_scale_is_as_small_as_it_is);
    tcase_add_test(all, random_histories_keep_the_rules);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
