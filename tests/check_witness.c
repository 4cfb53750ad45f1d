/* The part as witness of the card, against rays from a camera to a part that leans: false alarms,
 * leans found, and the side named. Critical values: NIST/SEMATECH e-Handbook, 1.3.6.7.4. */
#include "budget/witness.h"
#include "check_main.h"
#include "lean_scene.h"

#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DRAWS 4000

static struct vision_witness look(const struct lean_scene *s)
{
    static struct vision_arm arms[VISION_MAX_ARMS];
    struct vision_witness w;
    lean_scene_look(s, NULL, arms);
    witness_judge(arms, s->count, &lean_scene_plane, (struct vision_point){0, 0}, &w);
    return w;
}

static const struct lean_scene kinds[] = {
    {90, 4, 7, 30, 20, 0, 0, 0.1, 0.15},
    {120, 3, -8, 30, 250, 0, 0, 0.1, 0.15},
    {60, 6, 11, 20, 130, 0, 0, 0.1, 0.15},
    {90, 3, 2, 35, 75, 0, 0, 0.1, 0.15},
};
#define KINDS ((int)(sizeof kinds / sizeof kinds[0]))

/* One in a hundred at most; binomial scatter of 4000 draws is 0.16 %. */
START_TEST(a_straight_card_is_called_leaning_one_time_in_a_hundred)
{
    int alarms = 0;
    srand(5);
    for (int i = 0; i < DRAWS; i++) {
        struct vision_witness w = look(&kinds[_i]);
        ck_assert_int_eq(w.spacing_deg, kinds[_i].count == 6           ? 60
                                        : kinds[_i].spacing_deg == 120 ? 120
                                                                       : 90);
        alarms += w.verdict == VISION_WITNESS_LEANS;
    }
    double share = (double)alarms / DRAWS;
    ck_assert_msg(share > 0.005 && share < 0.0155, "%d of %d", alarms, DRAWS);
}
END_TEST

/* A star seen from well aside tells which side of the card is near, all round. */
START_TEST(a_star_tells_which_side_of_the_card_is_nearer)
{
    static const enum vision_side sides[4] = {VISION_SIDE_LEFT, VISION_SIDE_BOTTOM,
                                              VISION_SIDE_RIGHT, VISION_SIDE_TOP};
    int side = _i % 4, from = _i / 4;
    struct lean_scene s = {60, 6, 11, 35, 60.0 * from, 3, 90.0 * side, 0.1, 0.15};
    int found = 0, right = 0, wrong = 0;
    srand(6);
    for (int i = 0; i < 400; i++) {
        struct vision_witness w = look(&s);
        if (w.verdict != VISION_WITNESS_LEANS)
            continue;
        found++;
        right += w.nearer == sides[side];
        wrong += w.nearer != sides[side];
    }
    ck_assert_msg(found > 340, "found %d of 400", found);
    ck_assert_msg(right > 0.95 * found, "side right in %d of %d", right, right + wrong);
}
END_TEST

/* Arms of a star off by 0.7 degrees each look like a lean by chance one time in sixteen (binomial
 * scatter of a thousand: 0.8 %); a cross names no side. */
START_TEST(uneven_arms_are_told_from_a_lean)
{
    struct lean_scene s = {60, 6, 11, 30, 40, 0, 0, 0.1, 0.7};
    int uneven = 0, leans = 0;
    srand(7);
    for (int i = 0; i < 1000; i++) {
        struct vision_witness w = look(&s);
        uneven += w.verdict == VISION_WITNESS_UNEVEN;
        leans += w.verdict == VISION_WITNESS_LEANS;
    }
    ck_assert_msg(uneven > 850 && leans < 80, "uneven %d, leans %d", uneven, leans);
    s = (struct lean_scene){90, 4, 7, 35, 20, 3, 40, 0.1, 0.1};
    struct vision_witness w = look(&s);
    ck_assert_int_eq(w.seen, 1);
    ck_assert_int_eq(w.nearer, VISION_SIDE_UNKNOWN);
}
END_TEST

/* Seen from near square on, only a lean that anyone sees would explain such spacing. */
START_TEST(a_lean_that_nobody_overlooks_is_none)
{
    static const struct {
        double lean_deg;
        enum vision_witness_verdict verdict;
    } rows[] = {{5, VISION_WITNESS_LEANS}, {9, VISION_WITNESS_UNEVEN}};
    for (int i = 0; i < 2; i++) {
        const struct lean_scene s = {60, 6, 7, 12, 20, rows[i].lean_deg, 70, 0.01, 0};
        ck_assert_int_eq(look(&s).verdict, rows[i].verdict);
    }
}
END_TEST

START_TEST(other_parts_are_no_witnesses)
{
    struct lean_scene pair = {180, 2, 7, 30, 20, 0, 0, 0.1, 0},
                      odd = {77, 4, 7, 30, 20, 0, 0, 0.1, 0},
                      above = {90, 4, 7, 0, 0, 1, 0, 0.01, 0};
    ck_assert_int_eq(look(&pair).spacing_deg, 0);
    ck_assert_int_eq(look(&odd).spacing_deg, 0);
    struct vision_witness w = look(&above);
    ck_assert_int_eq(w.verdict, VISION_WITNESS_AGREES);
    ck_assert_int_eq(w.seen, 0);
}
END_TEST

/* The example of docs/method.md: 1.5 degrees seen at 30, nothing random. */
START_TEST(the_worked_example_of_the_method_page_holds)
{
    struct lean_scene s = {60, 6, 0, 30, 0, 1.5, 90, 0, 0};
    s.noise_deg = 1e-9;
    struct vision_witness w = look(&s);
    char want[80];
    static char text[100000];
    FILE *from = fopen(METHOD_PAGE, "r");
    ck_assert_ptr_nonnull(from);
    text[fread(text, 1, sizeof text - 1, from)] = '\0';
    fclose(from);
    snprintf(want, sizeof want, "chi^2 is %.1f with 5 degrees of freedom, and %.1f with 3",
             w.chi_square, w.chi_square_leaning);
    ck_assert_msg(strstr(text, want) != NULL, "the page lacks \"%s\"", want);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("witness");
    TCase *t = tcase_create("spacing");
    tcase_add_loop_test(t, a_straight_card_is_called_leaning_one_time_in_a_hundred, 0, KINDS);
    tcase_add_loop_test(t, a_star_tells_which_side_of_the_card_is_nearer, 0, 24);
    tcase_add_test(t, uneven_arms_are_told_from_a_lean);
    tcase_add_test(t, a_lean_that_nobody_overlooks_is_none);
    tcase_add_test(t, other_parts_are_no_witnesses);
    tcase_add_test(t, the_worked_example_of_the_method_page_holds);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
