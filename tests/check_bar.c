/* vision/part/bar.c: which bar is the slot that has been cut out of the card. */
#include "check_main.h"
#include "part/bar.h"

#include <math.h>

/* A bar as wide as the slot, to the left of (0, hub_y), with its axis along y = axis_y. Seen from
 * the hub towards the left, up is to the right: a point of the axis lies at the hub + offset
 * (-sin, cos) of its direction, so the offset is hub_y - axis_y (hand arithmetic). */
static bool is_slot(double hub_y, double axis_y)
{
    struct card_fix fix = {
        .card = vision_card_by_name("hand-duo"), .bar_scale_x = 1, .bar_scale_y = 1};
    struct part_arm bar = {.direction_rad = acos(-1),
                           .offset_mm = hub_y - axis_y,
                           .width_mm = 2 * fix.card->slot_half_width_mm,
                           .open_end = true};
    return bar_is_slot(&fix, (struct vision_point){0, hub_y}, &bar);
}

START_TEST(the_slot_lies_along_the_cards_middle_wherever_it_is_seen_from)
{
    for (int i = -8; i <= 8; i++) {
        ck_assert_msg(is_slot(i / 4.0, 0), "hub at y = %g", i / 4.0);
        ck_assert_msg(!is_slot(i / 4.0, 2.2), "hub at y = %g", i / 4.0);
        ck_assert_msg(!is_slot(i / 4.0, -2.2), "hub at y = %g", i / 4.0);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("bar");
    TCase *tc = tcase_create("slot");
    tcase_add_test(tc, the_slot_lies_along_the_cards_middle_wherever_it_is_seen_from);
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
