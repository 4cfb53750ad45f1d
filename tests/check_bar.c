/* vision/part/bar.c: which bar is the slot that has been cut out of the card; and part_reach.c:
 * which bars come in over an edge. */
#include "check_main.h"
#include "part/bar.h"
#include "part/part_reach.h"

#include <math.h>
#include <stdlib.h>

/* Whether a bar from (hub_x, hub_y) on is the slot of a hand card. */
static bool is_slot(bool cut, double hub_x, double hub_y, struct part_arm bar)
{
    const struct card_fix fix = {
        .card = vision_card_by_name("hand-duo"), .bar_scale_x = 1, .bar_scale_y = 1};
    const struct silhouette map = {.slot_cut = cut};
    const struct part_field field = {.s = &map};
    return bar_is_slot(&field, &fix, (struct vision_point){hub_x, hub_y}, &bar);
}

static double slot_width_mm(void)
{
    return 2 * vision_card_by_name("hand-duo")->slot_half_width_mm;
}

/* A bar as wide as the slot, to the left of (0, hub_y), with its axis along y = axis_y. Seen from
 * the hub towards the left, up is to the right: a point of the axis lies at the hub + offset
 * (-sin, cos) of its direction, so the offset is hub_y - axis_y (hand arithmetic). */
static bool is_slot_at(double hub_y, double axis_y)
{
    return is_slot(true, 0, hub_y,
                   (struct part_arm){.direction_rad = acos(-1),
                                     .offset_mm = hub_y - axis_y,
                                     .width_mm = slot_width_mm(),
                                     .open_end = true});
}

START_TEST(the_slot_lies_along_the_cards_middle_wherever_it_is_seen_from)
{
    for (int i = -8; i <= 8; i++) {
        ck_assert_msg(is_slot_at(i / 4.0, 0), "hub at y = %g", i / 4.0);
        ck_assert_msg(!is_slot_at(i / 4.0, 2.2), "hub at y = %g", i / 4.0);
        ck_assert_msg(!is_slot_at(i / 4.0, -2.2), "hub at y = %g", i / 4.0);
    }
}
END_TEST

/* Where the card was not pushed home, its slot's round end is seen beyond the shaft. An arm that
 * way is longer, or narrower, or the card has no slot. */
START_TEST(the_slots_round_end_is_the_slot)
{
    const double half = slot_width_mm() / 2;
    const struct part_arm end = {.tip_mm = 8 + half, .width_mm = 2 * half, .round_end = true},
                          longer = {.tip_mm = 15, .width_mm = 2 * half, .round_end = true},
                          narrow = {.tip_mm = 8 + half, .width_mm = 4, .round_end = true};
    ck_assert(is_slot(true, -8, 0.3, end));
    ck_assert(!is_slot(true, -8, 2, end));
    ck_assert(!is_slot(true, -8, 0.3, longer));
    ck_assert(!is_slot(true, -8, 0.3, narrow));
    ck_assert(!is_slot(false, -8, 0.3, end));
}
END_TEST

#define BARS 6

/* How many of these bars over the butt edge, side by side, are found. */
static int bars_found(double half_width, double length)
{
    const double pitch = 0.125, apart = 12;
    struct card_fix fix = {
        .card = vision_card_by_name("hand-duo"), .bar_scale_x = 1, .bar_scale_y = 1};
    const double half_x = fix.card->width_mm / 2, half_y = fix.card->height_mm / 2;
    struct silhouette map = {.pitch_mm = pitch,
                             .x0_mm = -half_x,
                             .y0_mm = -half_y,
                             .scale_x = 1,
                             .scale_y = 1,
                             .width = (int)(2 * half_x / pitch),
                             .height = (int)(2 * half_y / pitch)};
    map.cells = malloc((size_t)map.width * (size_t)map.height);
    ck_assert_ptr_nonnull(map.cells);
    for (int j = 0; j < map.height; j++)
        for (int i = 0; i < map.width; i++) {
            uint8_t *cell = &map.cells[j * map.width + i];
            *cell = CELL_TINT;
            for (int k = 0; k < BARS; k++) {
                const double x = i * pitch - half_x - apart * (k - (BARS - 1) / 2.0);
                const double beyond = fmax(0, j * pitch - length);
                if (hypot(x, beyond) < half_width)
                    *cell = CELL_PART;
            }
        }
    struct part_field *field = part_field_new(&map);
    ck_assert_ptr_nonnull(field);
    struct part_reach reaches[PART_REACH_MAX];
    const int found = part_reach_find(field, &fix, CARD_BUTT, reaches);
    part_field_free(field);
    free(map.cells);
    return found;
}

/* Fingers and wires that come in beside it do not keep an arm out, at whichever end it is. */
START_TEST(every_bar_over_an_edge_is_found)
{
    ck_assert_int_eq(bars_found(2, 22), BARS);
}
END_TEST

/* A hex key across the card, and a screw beyond the edge on its axis, were told as an arm. */
START_TEST(a_bar_far_longer_than_arms_are_is_none)
{
    ck_assert_int_eq(bars_found(1.1, 22), BARS);
    ck_assert_int_eq(bars_found(1.1, 40), 0);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("bar");
    TCase *tc = tcase_create("slot");
    tcase_add_test(tc, the_slot_lies_along_the_cards_middle_wherever_it_is_seen_from);
    tcase_add_test(tc, the_slots_round_end_is_the_slot);
    tcase_add_test(tc, a_bar_far_longer_than_arms_are_is_none);
    tcase_add_test(tc, every_bar_over_an_edge_is_found);
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
