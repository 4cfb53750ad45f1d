/* src/result/together.c: which photos count, which arms are one, and what is said of how the card
 * leans. The photos' results are made by hand. */
#include "result/together.h"

#include "check_main.h"
#include "lean_scene.h"

#include <stdlib.h>
#include <string.h>

#define MANY 8
#define TILT_DEG 0.4

static struct vision_result results[MANY];
static struct together_photo photos[MANY];
static struct together t;

static void set_up(void)
{
    static const char *const names[MANY] = {"a", "b", "c", "d", "e", "f", "g", "h"};
    memset(results, 0, sizeof results);
    for (int i = 0; i < MANY; i++) {
        results[i].plane = lean_scene_plane;
        photos[i] = (struct together_photo){.name = names[i], .result = &results[i]};
    }
    srand(1);
}

static void look(int photo, const struct lean_scene *scene, const double *made_deg)
{
    results[photo].status = VISION_OK;
    results[photo].arm_count = scene->count;
    lean_scene_look(scene, made_deg, results[photo].arms);
}

/* One more arm, seen at this angle from straight above. */
static void add_arm(int photo, double angle_deg)
{
    const struct lean_scene scene = {.count = 1, .first_deg = angle_deg, .noise_deg = 0.1};
    struct vision_arm *arm = &results[photo].arms[results[photo].arm_count++];
    lean_scene_look(&scene, (const double[]){0}, arm);
    arm->angle_deg = angle_deg;
}

static void unsure(int photo, enum vision_reason reason)
{
    results[photo].status = VISION_UNSURE;
    results[photo].reason = reason;
}

static void make(int count, bool card_moved)
{
    together_make(photos, count, TILT_DEG, card_moved, &t);
}

/* ---- Which photos ---------------------------------------------------------------------------- */

START_TEST(two_sure_photos_leave_the_unsure_ones_out)
{
    add_arm(0, 90);
    add_arm(1, 95);
    add_arm(2, 90);
    unsure(1, VISION_SHORT_ARM);
    make(3, false);
    ck_assert_int_eq(t.fault, TOGETHER_FINE);
    ck_assert_int_eq(t.photo_count, 3);
    ck_assert_int_eq(t.used, 2);
    ck_assert(!t.unsure_photos);
    ck_assert_int_eq(t.reason, VISION_REASON_NONE);
    ck_assert_int_eq(t.arms[0].photo_count, 2);
    ck_assert_int_eq(t.arms[0].photos[0], 0);
    ck_assert_int_eq(t.arms[0].photos[1], 2);
    assert_near(t.arms[0].all.arm.angle_deg, 90, 1e-9);
}
END_TEST

START_TEST(one_sure_photo_takes_the_unsure_ones_along_and_says_so)
{
    add_arm(0, 90);
    add_arm(1, 90.1);
    add_arm(2, 90.2);
    unsure(1, VISION_STEEP_VIEW);
    unsure(2, VISION_SHORT_ARM);
    make(3, false);
    ck_assert_int_eq(t.used, 3);
    ck_assert(t.unsure_photos);
    ck_assert_int_eq(t.reason, VISION_STEEP_VIEW); /* the first one's */
    ck_assert_int_eq(t.arms[0].photo_count, 3);
}
END_TEST

START_TEST(failed_photos_and_those_without_arms_are_not_counted)
{
    add_arm(0, 90);
    add_arm(1, 90.1);
    results[2].status = VISION_FAILED;
    make(4, false); /* the fourth is sure of itself, and shows no arm */
    ck_assert_int_eq(t.photo_count, 4);
    ck_assert_int_eq(t.used, 2);
    ck_assert_int_eq(t.fault, TOGETHER_FINE);
    results[1].status = VISION_FAILED;
    make(4, false);
    ck_assert_int_eq(t.fault, TOGETHER_FEW);
    ck_assert_int_eq(t.used, 1);
    ck_assert_int_eq(t.arm_count, 0);
}
END_TEST

/* Others can answer whether a card that lay still leans; of one laid anew they know nothing. */
START_TEST(a_photo_that_suspects_a_lean_counts_while_the_card_lay_still)
{
    add_arm(0, 90);
    add_arm(1, 90.1);
    add_arm(2, 90.1);
    unsure(2, VISION_LEANING_CARD);
    make(3, false);
    ck_assert_int_eq(t.used, 3);
    ck_assert_int_eq(t.arms[0].photo_count, 3);
    make(3, true);
    ck_assert_int_eq(t.used, 2);
    ck_assert_int_eq(t.arms[0].photo_count, 2);
    unsure(1, VISION_LEANING_CARD);
    make(3, false);
    ck_assert(!t.unsure_photos); /* nor did a witness say so */
    make(3, true);
    ck_assert_int_eq(t.used, 3);
    ck_assert(t.unsure_photos);
    ck_assert_int_eq(t.reason, VISION_LEANING_CARD);
}
END_TEST

/* ---- Which arms ------------------------------------------------------------------------------ */

START_TEST(arms_within_ten_degrees_are_the_same)
{
    static const struct {
        double one_deg, other_deg;
        bool same;
    } rows[] = {
        {90, 99.5, true}, {90, 80.5, true}, {90, 110.5, false}, {90, 100.5, false}, {359, 3, true}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        set_up();
        add_arm(0, rows[i].one_deg);
        add_arm(1, rows[i].other_deg);
        make(2, false);
        ck_assert_msg(t.fault == (rows[i].same ? TOGETHER_FINE : TOGETHER_NO_ARM), "row %zu", i);
        ck_assert_msg(t.arm_count == rows[i].same, "row %zu", i);
    }
}
END_TEST

START_TEST(arms_are_matched_to_the_nearest_and_named_counter_clockwise)
{
    add_arm(0, 200);
    add_arm(0, 20);
    add_arm(0, 28); /* within ten degrees of another arm of the same photo */
    add_arm(1, 20.1);
    add_arm(1, 27.9);
    add_arm(1, 199.9);
    make(2, false);
    ck_assert_int_eq(t.arm_count, 3);
    ck_assert_int_eq(t.lonely, 0);
    static const double wanted[] = {20.05, 27.95, 199.95};
    static const char *const names[] = {"A", "B", "C"};
    for (int i = 0; i < 3; i++) {
        assert_near(t.arms[i].all.arm.angle_deg, wanted[i], 1e-6);
        ck_assert_str_eq(t.arms[i].all.arm.name, names[i]);
    }
}
END_TEST

START_TEST(arms_seen_once_are_left_out_and_counted)
{
    add_arm(0, 90);
    add_arm(0, 180);
    add_arm(1, 90);
    add_arm(1, 270);
    make(2, false);
    ck_assert_int_eq(t.fault, TOGETHER_FINE);
    ck_assert_int_eq(t.arm_count, 1);
    ck_assert_int_eq(t.lonely, 2);
    ck_assert_int_eq(t.arms[0].photo_count, 2);
}
END_TEST

/* Eight arms, and in two more photos a ninth and a tenth between them. */
START_TEST(arms_in_more_directions_than_there_is_room_for_are_told)
{
    for (int i = 0; i < 8; i++)
        add_arm(0, 45 * i);
    add_arm(1, 0.1);
    add_arm(1, 22.5);
    add_arm(2, 0.2);
    add_arm(2, 67.5);
    make(3, false);
    ck_assert_int_eq(t.fault, TOGETHER_FINE);
    ck_assert_int_eq(t.arm_count, 1);
    ck_assert_int_eq(t.lonely, 7);
    ck_assert_int_eq(t.crowded, 2);
    char *said = together_details(&t, photos, 0);
    ck_assert_ptr_nonnull(said);
    ck_assert_ptr_nonnull(strstr(said, "2 arms beyond the 8 directions"));
    free(said);
}
END_TEST

/* ---- Sides ----------------------------------------------------------------------------------- */

static void mark(int photo, enum combine_side side)
{
    photos[photo].side = side;
}

START_TEST(sides_are_told_apart)
{
    add_arm(0, 90.5);
    add_arm(1, 89.5);
    make(2, false);
    ck_assert(!t.sided);
    ck_assert(!t.arms[0].all.have_backlash);
    mark(0, COMBINE_CLOCKWISE);
    mark(1, COMBINE_COUNTER_CLOCKWISE);
    make(2, false);
    ck_assert(t.sided);
    ck_assert(t.arms[0].all.have_backlash);
    assert_near(t.arms[0].all.backlash_deg, 1, 1e-9);
    mark(0, COMBINE_COUNTER_CLOCKWISE);
    mark(1, COMBINE_CLOCKWISE);
    make(2, false);
    assert_near(t.arms[0].all.backlash_deg, -1, 1e-9);
}
END_TEST

/* Play lets a part stop short, never beyond (docs/method.md, section 8): that is swapped marks or
 * another part. Within its uncertainty it is noise. */
START_TEST(play_the_wrong_way_round_is_no_play)
{
    static const double apart_deg[] = {1.5, 0.1, -0.1, -1.5};
    for (size_t i = 0; i < sizeof apart_deg / sizeof *apart_deg; i++) {
        results[0].arm_count = results[1].arm_count = 0;
        add_arm(0, 90 + apart_deg[i] / 2);
        add_arm(1, 90 - apart_deg[i] / 2);
        mark(0, COMBINE_CLOCKWISE);
        mark(1, COMBINE_COUNTER_CLOCKWISE);
        make(2, false);
        ck_assert_int_eq(t.backwards, apart_deg[i] < -1);
        ck_assert_int_eq(t.disagree, apart_deg[i] < -1);
    }
}
END_TEST

/* An arm that shows but could not be measured counts; without marks the photos' own agreement is
 * the judge. */
START_TEST(sides_with_other_numbers_of_arms_are_other_parts)
{
    add_arm(0, 91);
    add_arm(0, 181);
    add_arm(1, 90);
    mark(0, COMBINE_CLOCKWISE);
    mark(1, COMBINE_COUNTER_CLOCKWISE);
    make(2, false);
    ck_assert(t.other_parts && t.disagree);
    ck_assert_int_eq(t.least_arms, 1);
    ck_assert_int_eq(t.most_arms, 2);
    results[1].untold_arms = 1;
    make(2, false);
    ck_assert(!t.other_parts && !t.disagree);
    results[1].untold_arms = 0;
    mark(0, COMBINE_SIDE_UNKNOWN);
    mark(1, COMBINE_SIDE_UNKNOWN);
    make(2, false);
    ck_assert(!t.other_parts);
}
END_TEST

START_TEST(an_arm_from_one_side_only_is_lonely)
{
    for (int i = 0; i < 4; i++) {
        mark(i, i % 2 ? COMBINE_CLOCKWISE : COMBINE_COUNTER_CLOCKWISE);
        add_arm(i, 90);
        add_arm(i, i % 2 ? 180 : 270);
    }
    make(4, false);
    ck_assert_int_eq(t.arm_count, 1);
    ck_assert_int_eq(t.lonely, 2);
}
END_TEST

START_TEST(photos_of_one_side_alone_are_a_fault)
{
    for (int i = 0; i < 3; i++) {
        mark(i, i == 2 ? COMBINE_CLOCKWISE : COMBINE_COUNTER_CLOCKWISE);
        add_arm(i, 90);
    }
    make(3, false);
    ck_assert_int_eq(t.fault, TOGETHER_FINE);
    results[2].status = VISION_FAILED;
    make(3, false);
    ck_assert_int_eq(t.fault, TOGETHER_ONE_SIDE);
    ck_assert_int_eq(t.used, 2);
    unsure(2, VISION_SHORT_ARM); /* nor does an unsure one help beside two sure ones */
    make(3, false);
    ck_assert_int_eq(t.fault, TOGETHER_ONE_SIDE);
}
END_TEST

/* ---- The lean -------------------------------------------------------------------------------- */

#define SLOPE_DEG 5.0

/* A cross seen from these sides. */
static void look_around(double slope_deg, double toward_deg, const double *made_deg,
                        const double *from_deg, int count)
{
    for (int i = 0; i < count; i++) {
        const struct lean_scene scene = {.spacing_deg = 90,
                                         .count = 4,
                                         .first_deg = 5,
                                         .oblique_deg = 30,
                                         .from_deg = from_deg[i],
                                         .slope_deg = slope_deg,
                                         .toward_deg = toward_deg,
                                         .noise_deg = 0.05};
        look(i, &scene, made_deg);
    }
}

/* As the photo's own witness would say where its arms look as if the card did. */
static void suspect(int photo, double slope_x_deg, double slope_y_deg)
{
    unsure(photo, VISION_LEANING_CARD);
    results[photo].witness = (struct vision_witness){
        .verdict = VISION_WITNESS_LEANS, .seen = 2, .slope_deg = {slope_x_deg, slope_y_deg}};
}

static const double even[4] = {0}, around[4] = {0, 40, 80, 130}, one_side[3] = {40, 41, 42};

/* The part rises to the right in the photo: the card's left side is the nearer one; likewise
 * upwards. */
START_TEST(a_lean_is_found_taken_out_and_its_side_told)
{
    static const struct {
        double toward_deg;
        enum vision_side nearer;
    } rows[] = {{0, VISION_SIDE_LEFT},
                {90, VISION_SIDE_BOTTOM},
                {180, VISION_SIDE_RIGHT},
                {270, VISION_SIDE_TOP}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        for (int suspected = 0; suspected < 2; suspected++) {
            set_up();
            look_around(SLOPE_DEG, rows[i].toward_deg, even, around, 4);
            if (suspected)
                suspect(1, SLOPE_DEG, 0);
            make(4, false);
            ck_assert_int_eq(t.leans, LEAN_SO);
            ck_assert_msg(t.nearer == rows[i].nearer, "row %zu: side %d", i, t.nearer);
            ck_assert_int_eq(t.shown_in, 0);
            ck_assert(!t.unsure_photos);
            ck_assert_int_eq(t.reason, VISION_REASON_NONE);
            for (int k = 0; k < 4; k++) /* their mean would be off by 0.27 */
                assert_near(t.arms[k].all.arm.angle_deg, 5 + 90 * k, 0.15);
        }
}
END_TEST

START_TEST(the_photo_shown_is_one_that_was_used)
{
    look_around(SLOPE_DEG, 0, even, around, 4);
    unsure(0, VISION_SHORT_ARM);
    make(4, false);
    ck_assert_int_eq(t.leans, LEAN_SO);
    ck_assert_int_eq(t.shown_in, 1);
}
END_TEST

START_TEST(a_flat_card_that_no_photo_suspects_is_not_asked_about)
{
    look_around(0, 0, even, around, 4);
    make(4, false);
    ck_assert_int_eq(t.leans, LEAN_NOT_ASKED);
    ck_assert_int_eq(t.nearer, VISION_SIDE_UNKNOWN);
}
END_TEST

START_TEST(uneven_arms_before_a_flat_card_are_told_as_made_so)
{
    const double made[4] = {0, 2, 0, -2};
    look_around(0, 0, made, around, 4);
    suspect(0, SLOPE_DEG, 0);
    make(4, false);
    ck_assert_int_eq(t.leans, LEAN_MOULDED);
    ck_assert(!t.unsure_photos);
    ck_assert_int_eq(t.reason, VISION_REASON_NONE);
    for (int k = 0; k < 4; k++)
        assert_near(t.arms[k].all.arm.angle_deg, 5 + 90 * k + made[k], 0.3);
}
END_TEST

/* From one side a lean and arms made that way look alike. */
START_TEST(photos_from_one_side_leave_a_suspicion_open)
{
    look_around(SLOPE_DEG, 0, even, one_side, 3);
    suspect(2, SLOPE_DEG, 0);
    make(3, false);
    ck_assert_int_eq(t.leans, LEAN_OPEN);
    ck_assert(t.unsure_photos);
    ck_assert_int_eq(t.reason, VISION_LEANING_CARD);
    set_up();
    look_around(SLOPE_DEG, 0, even, one_side, 3);
    make(3, false);
    ck_assert_int_eq(t.leans, LEAN_NOT_ASKED);
}
END_TEST

/* It turns the arm as a lean would that both sides' photos see from opposite sides. */
START_TEST(backlash_is_not_taken_for_a_lean)
{
    for (int i = 0; i < 6; i++) {
        const bool clockwise = i < 3;
        const struct lean_scene scene = {.count = 1,
                                         .first_deg = 45 + (clockwise ? 2 : 0),
                                         .oblique_deg = 30,
                                         .from_deg = (clockwise ? 0 : 180) + i,
                                         .noise_deg = 0.05};
        look(i, &scene, even);
        mark(i, clockwise ? COMBINE_CLOCKWISE : COMBINE_COUNTER_CLOCKWISE);
    }
    make(6, false);
    ck_assert_int_eq(t.fault, TOGETHER_FINE);
    ck_assert(!t.lean.found);
    ck_assert_int_eq(t.leans, LEAN_NOT_ASKED);
    assert_near(t.arms[0].all.backlash_deg, 2, 0.5);
}
END_TEST

/* A nudge of the part between two photos turns an arm as a lean might; the mean lies between. */
START_TEST(a_part_that_was_turned_is_not_taken_for_a_lean)
{
    const double from_deg[2] = {0, 180};
    for (int arms = 1; arms <= 4; arms += 3) {
        set_up();
        for (int i = 0; i < 2; i++) {
            const struct lean_scene scene = {.spacing_deg = 90,
                                             .count = arms,
                                             .first_deg = 45 + 1.2 * i,
                                             .oblique_deg = 30,
                                             .from_deg = from_deg[i],
                                             .noise_deg = 0.05};
            look(i, &scene, even);
        }
        make(2, false);
        ck_assert_msg(t.disagree, "%d arms", arms);
        ck_assert(!t.lean.found);
        ck_assert_int_eq(t.leans, LEAN_NOT_ASKED);
        for (int k = 0; k < arms; k++)
            assert_near(t.arms[k].all.arm.angle_deg, 45.6 + 90 * k, 0.4);
        if (arms > 1)
            continue;
        static const struct verdict_asked square = {0};
        struct verdict verdict;
        verdict_make(&t.arms[0].all.arm, 1, true, 30, 1, true, &square, &verdict);
        char *says = together_message(&t, photos, &verdict);
        ck_assert(t.lean.perhaps && says);
        ck_assert_msg(strstr(says, "or the card leans against the part"), "%s", says);
        free(says);
    }
}
END_TEST

START_TEST(several_degrees_are_no_play)
{
    add_arm(0, 93.5);
    add_arm(1, 89);
    mark(0, COMBINE_CLOCKWISE);
    mark(1, COMBINE_COUNTER_CLOCKWISE);
    make(2, false);
    ck_assert(t.turned && t.disagree);
    results[0].arms[0].angle_deg = 92;
    make(2, false);
    ck_assert(!t.turned && !t.disagree);
}
END_TEST

START_TEST(nothing_is_said_of_a_card_laid_anew)
{
    look_around(SLOPE_DEG, 0, even, around, 4);
    results[1].witness.verdict = VISION_WITNESS_LEANS;
    make(4, true);
    ck_assert_int_eq(t.fault, TOGETHER_FINE);
    ck_assert(t.card_moved);
    ck_assert_int_eq(t.leans, LEAN_NOT_ASKED);
    ck_assert_int_eq(t.reason, VISION_REASON_NONE);
}
END_TEST

/* ---- Words ----------------------------------------------------------------------------------- */

/* An arm that scatters by noise alone says nothing of the one that moved, whichever is told. */
START_TEST(the_agreement_told_is_that_of_the_arm_in_question)
{
    static const double first_deg[] = {1.00, 1.02, 1.04}, second_deg[] = {90, 90, 93};
    for (int told = 0; told < 2; told++)
        for (int moved = 0; moved < 2; moved++) {
            set_up();
            for (int i = 0; i < 3; i++) {
                add_arm(i, first_deg[i]);
                add_arm(i, moved ? second_deg[i] : 90);
            }
            make(3, false);
            ck_assert_int_eq(t.disagree, moved);
            char *said = together_details(&t, photos, told);
            ck_assert_ptr_nonnull(said);
            ck_assert_ptr_nonnull(strstr(said, moved || told ? " in arm B, " : " in arm A, "));
            ck_assert_ptr_nonnull(strstr(said, moved ? ", more than such" : ", no more than such"));
            free(said);
        }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("together");
    TCase *tcase = tcase_create("together");
    tcase_add_checked_fixture(tcase, set_up, NULL);
    tcase_add_test(tcase, two_sure_photos_leave_the_unsure_ones_out);
    tcase_add_test(tcase, one_sure_photo_takes_the_unsure_ones_along_and_says_so);
    tcase_add_test(tcase, failed_photos_and_those_without_arms_are_not_counted);
    tcase_add_test(tcase, a_photo_that_suspects_a_lean_counts_while_the_card_lay_still);
    tcase_add_test(tcase, arms_within_ten_degrees_are_the_same);
    tcase_add_test(tcase, arms_are_matched_to_the_nearest_and_named_counter_clockwise);
    tcase_add_test(tcase, arms_seen_once_are_left_out_and_counted);
    tcase_add_test(tcase, arms_in_more_directions_than_there_is_room_for_are_told);
    tcase_add_test(tcase, sides_are_told_apart);
    tcase_add_test(tcase, play_the_wrong_way_round_is_no_play);
    tcase_add_test(tcase, sides_with_other_numbers_of_arms_are_other_parts);
    tcase_add_test(tcase, an_arm_from_one_side_only_is_lonely);
    tcase_add_test(tcase, photos_of_one_side_alone_are_a_fault);
    tcase_add_test(tcase, a_lean_is_found_taken_out_and_its_side_told);
    tcase_add_test(tcase, the_photo_shown_is_one_that_was_used);
    tcase_add_test(tcase, a_flat_card_that_no_photo_suspects_is_not_asked_about);
    tcase_add_test(tcase, uneven_arms_before_a_flat_card_are_told_as_made_so);
    tcase_add_test(tcase, photos_from_one_side_leave_a_suspicion_open);
    tcase_add_test(tcase, backlash_is_not_taken_for_a_lean);
    tcase_add_test(tcase, a_part_that_was_turned_is_not_taken_for_a_lean);
    tcase_add_test(tcase, several_degrees_are_no_play);
    tcase_add_test(tcase, nothing_is_said_of_a_card_laid_anew);
    tcase_add_test(tcase, the_agreement_told_is_that_of_the_arm_in_question);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
