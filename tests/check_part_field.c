/* vision/part/part_field.c: the thickest places, whatever else is in view. */
#include "check_main.h"
#include "part/part_field.h"

#include <math.h>
#include <stdlib.h>

#define PITCH_MM 0.125
#define WIDTH_MM 100
#define HEIGHT_MM 70

/* Bars from edge to edge, one above the other from the bottom edge, and a disc above them all. */
struct scene {
    int bars;
    double bar_mm; /* their width, and their distance */
    double slant;
};

static const struct vision_point hub_mm = {20, 60};
static const double hub_radius_mm = 6;

static bool is_part(const struct scene *s, double x, double y)
{
    const double above = y - s->slant * x, pair_mm = 2 * s->bar_mm;
    if (hypot(x - hub_mm.x, y - hub_mm.y) < hub_radius_mm)
        return true;
    return above > 0 && above < s->bars * pair_mm && fmod(above, pair_mm) < s->bar_mm;
}

static const struct scene scenes[] = {{0, 4, 0}, {3, 4, 0}, {6, 4, 0}, {2, 8, 0.05}};

/* Bars of even width are as thick all along: whole rows of places of which none is thicker than its
 * neighbours. */
START_TEST(the_thickest_place_comes_first_however_many_bars_lie_before_it)
{
    const struct scene *scene = &scenes[_i];
    struct silhouette map = {.pitch_mm = PITCH_MM,
                             .scale_x = 1,
                             .scale_y = 1,
                             .width = (int)(WIDTH_MM / PITCH_MM),
                             .height = (int)(HEIGHT_MM / PITCH_MM)};
    map.cells = malloc((size_t)map.width * (size_t)map.height);
    ck_assert_ptr_nonnull(map.cells);
    for (int j = 0; j < map.height; j++)
        for (int i = 0; i < map.width; i++)
            map.cells[j * map.width + i] =
                is_part(scene, i * PITCH_MM, j * PITCH_MM) ? CELL_PART : CELL_TINT;
    struct part_field *field = part_field_new(&map);
    ck_assert_ptr_nonnull(field);
    ck_assert_int_ge(field->lump_count, 1);
    const struct lump *first = &field->lumps[0];
    /* a chamfer is right to 2 % and tells depth between centres of cells */
    ck_assert_double_le(fabs(first->radius_mm - hub_radius_mm),
                        0.02 * hub_radius_mm + 2 * PITCH_MM);
    ck_assert_double_le(hypot(first->at_mm.x - hub_mm.x, first->at_mm.y - hub_mm.y), 3 * PITCH_MM);
    part_field_free(field);
    free(map.cells);
}
END_TEST

/* Openings of 38 square millimetres in a plate: round ones make it lighter, seen aslant as well;
 * others, square here, part it into arms. */
START_TEST(round_openings_of_a_plate_are_holes)
{
    static const struct {
        double half_x_mm, half_y_mm;
        bool round, hole;
    } rows[] = {{3.5, 3.5, true, true}, {4, 3, true, true}, {3.1, 3.1, false, false}};
    struct silhouette map = {
        .pitch_mm = PITCH_MM, .scale_x = 1, .scale_y = 1, .width = 400, .height = 400};
    map.cells = malloc((size_t)map.width * (size_t)map.height);
    ck_assert_ptr_nonnull(map.cells);
    for (int j = 0; j < map.height; j++)
        for (int i = 0; i < map.width; i++) {
            const double x = i * PITCH_MM - 25, y = j * PITCH_MM - 25;
            const double dx = fabs(x) / rows[_i].half_x_mm, dy = fabs(y) / rows[_i].half_y_mm;
            const bool open = (rows[_i].round ? hypot(dx, dy) : fmax(dx, dy)) < 1;
            map.cells[j * map.width + i] =
                fmax(fabs(x), fabs(y)) < 8 && !open ? CELL_PART : CELL_TINT;
        }
    struct part_field *field = part_field_new(&map);
    ck_assert_ptr_nonnull(field);
    ck_assert_int_eq(field->solid[200 * map.width + 200], rows[_i].hole);
    part_field_free(field);
    free(map.cells);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("part_field");
    TCase *tc = tcase_create("thickest");
    tcase_add_loop_test(tc, the_thickest_place_comes_first_however_many_bars_lie_before_it, 0,
                        (int)(sizeof scenes / sizeof scenes[0]));
    tcase_add_loop_test(tc, round_openings_of_a_plate_are_holes, 0, 3);
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
