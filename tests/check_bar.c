/* vision/part/bar.c: which bar is the slot that has been cut out of the card; and part_reach.c:
 * which bars come in over an edge. */
#include "check_main.h"
#include "part/bar.h"
#include "part/part_reach.h"

#include <math.h>
#include <stdlib.h>

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

/* Fingers and wires that come in beside it do not keep an arm out, at whichever end it is. */
START_TEST(every_bar_over_an_edge_is_found)
{
    enum { BARS = 6 };
    const double pitch = 0.125, half_width = 2, apart = 12, length = 22;
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
    ck_assert_int_eq(part_reach_find(field, &fix, CARD_BUTT, reaches), BARS);
    part_field_free(field);
    free(map.cells);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("bar");
    TCase *tc = tcase_create("slot");
    tcase_add_test(tc, the_slot_lies_along_the_cards_middle_wherever_it_is_seen_from);
    tcase_add_test(tc, every_bar_over_an_edge_is_found);
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
