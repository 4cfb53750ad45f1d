/* Link ends: ISO 261 pitches and what turns do. */
#include "arithmetic/thread.h"
#include "check_main.h"

/* ISO 261 (selected in ISO 262), coarse and fine pitch, from a published chart of the standard;
 * the inch thread is 25.4 mm / 56 by definition. */
static const struct {
    const char *name;
    double pitch_mm;
} pitches[] = {
    {"M1.6", 0.35},    {"M2", 0.4},         {"M2.5", 0.45},        {"M3", 0.5}, {"M1.6 fine", 0.2},
    {"M2 fine", 0.25}, {"M2.5 fine", 0.35}, {"M3 fine", 0.35},     {"m3", 0.5}, {"M 3 x 0.35", .35},
    {"M2x0.4", 0.4},   {"0.45 mm", 0.45},   {"56 tpi", 25.4 / 56},
};

START_TEST(pitches_of_iso_261)
{
    double pitch = 0;
    ck_assert_msg(thread_pitch(pitches[_i].name, &pitch), "%s", pitches[_i].name);
    assert_near(pitch, pitches[_i].pitch_mm, 1e-12);
}
END_TEST

static const char *const nonsense[] = {"",
                                       "M",
                                       "M0",
                                       "M7.77",
                                       "M3x",
                                       "M3x0",
                                       "M3x5",
                                       "3",
                                       "-1 mm",
                                       "nan mm",
                                       "inf mm",
                                       "M3x0.5mm",
                                       "0x1mm",
                                       "M0x3x0.2",
                                       "M3x0x.4p0",
                                       "0 tpi",
                                       "100 mm",
                                       "screw",
                                       "M3 coarse fine, whatever that may be, and a lot more"};

START_TEST(nonsense_is_no_thread)
{
    double pitch = 42;
    ck_assert_msg(!thread_pitch(nonsense[_i], &pitch), "%s", nonsense[_i]);
    ck_assert_double_eq(pitch, 42);
}
END_TEST

/* ISO 261: M8, the largest in the table, has 1.25 mm, M10 1.5 mm. "3 mm" is somebody's M3, of 0.5
 * mm. */
START_TEST(a_diameter_is_no_pitch)
{
    double pitch = 0;
    ck_assert(thread_pitch("1.25 mm", &pitch) && thread_pitch("1.5mm", &pitch));
    ck_assert(!thread_pitch("2 mm", &pitch) && !thread_pitch("3mm", &pitch));
    ck_assert(!thread_pitch("10 tpi", &pitch) && !thread_pitch("M8x2", &pitch));
}
END_TEST

START_TEST(a_turnbuckle_has_no_far_thread)
{
    struct thread_ends ends = {.pitch_mm = 0.4, .other_mm = 0.5, .turnbuckle = true};
    ck_assert_ptr_nonnull(thread_ends_fault(&ends));
    ends.other_mm = 0;
    ck_assert_ptr_null(thread_ends_fault(&ends));
    ends = (struct thread_ends){.pitch_mm = 0.4, .other_mm = 0.5};
    ck_assert_ptr_null(thread_ends_fault(&ends));
}
END_TEST

/* Turns for 1 mm, from the pitches: 2.857143, 2.5, 2.222222, 2. */
static const struct {
    double pitch_mm, turns;
} per_mm[] = {{0.35, 2.857143}, {0.4, 2.5}, {0.45, 2.222222}, {0.5, 2}};

START_TEST(turns_for_one_millimetre)
{
    struct thread_ends ends = {.pitch_mm = per_mm[_i].pitch_mm};
    struct thread_turns turns;
    ck_assert(thread_turns_for(&ends, 1, &turns));
    assert_near(turns.turns, per_mm[_i].turns, 5e-7);
    assert_near(turns.remaining_mm, 0, 1e-12);
    ends.turnbuckle = true; /* opposite hands: twice the pitch for each turn */
    ck_assert(thread_turns_for(&ends, 1, &turns));
    assert_near(turns.turns, per_mm[_i].turns / 2, 5e-7);
}
END_TEST

/* Every result of rounding is a whole number of steps, and no step more comes nearer. */
START_TEST(rounding_leaves_at_most_half_a_step)
{
    static const double steps[] = {1, 0.5, 1.0 / 6};
    for (int s = 0; s < 3; s++)
        for (int i = -154; i <= 154; i++) {
            double change = 0.013 * i;
            struct thread_ends ends = {.pitch_mm = 0.4, .step_turns = steps[s]};
            struct thread_turns turns;
            ck_assert(thread_turns_for(&ends, change, &turns));
            assert_near(turns.turns / steps[s], round(turns.turns / steps[s]), 1e-9);
            ck_assert_double_le(fabs(turns.remaining_mm), 0.2 * steps[s] + 1e-12);
            assert_near(turns.change_mm + turns.remaining_mm, change, 1e-12);
            ck_assert(turns.turns == 0 || (turns.turns > 0) == (change > 0));
        }
}
END_TEST

/* 0.15 mm with half turns of M2 alone: half a turn, 0.2 mm. M2 and M2.5 together reach
 * 2 x 0.4 - 1.5 x 0.45 = 0.125 mm and others; the search must beat either end alone and never be
 * worse than one end. */
/* M2 has 0.4 mm: 0.1 mm lies half way between no turn and half a turn, 0.5 mm between one turn and
 * one and a half. The quotients come out a rounding error to either side. */
START_TEST(of_two_equally_near_the_fewer_turns)
{
    static const double rows[][2] = {{0.1, 0}, {0.3, 0.5}, {0.5, 1}, {0.7, 1.5}, {0.11, 0.5}};
    struct thread_ends ends = {.pitch_mm = 0.4, .step_turns = 0.5};
    struct thread_turns turns;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        for (int way = -1; way <= 1; way += 2) {
            ck_assert(thread_turns_for(&ends, way * rows[i][0], &turns));
            ck_assert_double_eq_tol(turns.turns, way * rows[i][1], 1e-12);
        }
    ck_assert(thread_turns_for(&ends, -0.1, &turns));
    ck_assert(!signbit(turns.turns));
}
END_TEST

START_TEST(two_different_ends_come_nearer_than_one)
{
    struct thread_ends one = {.pitch_mm = 0.4, .step_turns = 0.5};
    struct thread_ends two = {.pitch_mm = 0.4, .other_mm = 0.45, .step_turns = 0.5};
    struct thread_turns alone, both;
    for (int i = -100; i <= 100; i++) {
        double change = 0.01 * i;
        ck_assert(thread_turns_for(&one, change, &alone));
        ck_assert(thread_turns_for(&two, change, &both));
        ck_assert_double_le(fabs(both.remaining_mm), fabs(alone.remaining_mm) + 1e-12);
        ck_assert_double_le(fabs(both.remaining_mm), 0.1 * 0.75 + 1e-9);
        assert_near(both.turns * 0.4 + both.other_turns * 0.45 + both.remaining_mm, change, 1e-9);
    }
}
END_TEST

START_TEST(unsaid_steps_are_half_turns_and_any_for_a_turnbuckle)
{
    struct thread_ends ends = {.pitch_mm = 0.5, .step_turns = -1};
    struct thread_turns turns;
    ck_assert(thread_turns_for(&ends, 0.61, &turns));
    assert_near(turns.turns, 1, 1e-12);
    ends.turnbuckle = true;
    ck_assert(thread_turns_for(&ends, 0.61, &turns));
    assert_near(turns.turns, 0.61, 1e-12);
}
END_TEST

START_TEST(useless_ends_are_refused)
{
    struct thread_ends none = {.pitch_mm = 0}, sound = {.pitch_mm = 0.4};
    struct thread_turns turns;
    ck_assert(!thread_turns_for(&none, 1, &turns));
    ck_assert(!thread_turns_for(&sound, NAN, &turns));
    ck_assert(!thread_turns_for(&sound, 1e9, &turns));
}
END_TEST

static const struct {
    double turns;
    const char *text;
} said[] = {
    {0.5, "1/2 turn"},    {1, "1 turn"},          {1.5, "1 1/2 turns"},
    {-2, "2 turns"},      {0, "0 turns"},         {1.0 / 3, "1/3 turn"},
    {0.83, "0.83 turns"}, {-1.25, "1 1/4 turns"}, {2.9999999999, "3 turns"},
};

START_TEST(turns_in_words)
{
    char text[32];
    thread_say_turns(said[_i].turns, text, sizeof text);
    ck_assert_str_eq(text, said[_i].text);
}
END_TEST

#define COUNT(array) (sizeof(array) / sizeof *(array))

int main(void)
{
    Suite *suite = suite_create("thread");
    TCase *tc = tcase_create("thread");
    tcase_add_loop_test(tc, pitches_of_iso_261, 0, COUNT(pitches));
    tcase_add_loop_test(tc, nonsense_is_no_thread, 0, COUNT(nonsense));
    tcase_add_test(tc, a_diameter_is_no_pitch);
    tcase_add_test(tc, a_turnbuckle_has_no_far_thread);
    tcase_add_loop_test(tc, turns_for_one_millimetre, 0, COUNT(per_mm));
    tcase_add_test(tc, rounding_leaves_at_most_half_a_step);
    tcase_add_test(tc, of_two_equally_near_the_fewer_turns);
    tcase_add_test(tc, two_different_ends_come_nearer_than_one);
    tcase_add_test(tc, unsaid_steps_are_half_turns_and_any_for_a_turnbuckle);
    tcase_add_test(tc, useless_ends_are_refused);
    tcase_add_loop_test(tc, turns_in_words, 0, COUNT(said));
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
