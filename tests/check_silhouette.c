/* vision/silhouette/silhouette.c: what of the card is bare, on made-up photos whose truth is exact.
 */
#include "check_main.h"
#include "flat_scene.h"
#include "stage/stage.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The map of a picture, which is freed. */
static struct silhouette map_of(struct picture picture)
{
    struct jpeg_settings settings = {.quality = 92, .h_samp = 2, .v_samp = 2};
    struct vision_options options = vision_options_default();
    struct bytes file = jpeg_encode(&picture, &settings);
    struct vision_photo *photo = NULL;
    struct vision_result result;
    struct silhouette map;
    ck_assert_int_eq(vision_photo_open_bytes(file.data, file.size, &photo), VISION_REASON_NONE);
    struct stage s = stage_start(photo, &options, &result);
    ck_assert(stage_card(&s));
    ck_assert_int_eq(silhouette_build(&s.image, &s.fix, 1, &map), VISION_REASON_NONE);
    stage_end(&s);
    vision_photo_free(photo);
    bytes_free(&file);
    picture_free(&picture);
    return map;
}

/* Share of the cells of a rectangle of the card, mm, that are taken for part. */
static double part_in(const struct silhouette *map, double x0, double y0, double x1, double y1)
{
    enum { STEPS = 40 };
    int part = 0;
    for (int j = 0; j < STEPS; j++)
        for (int i = 0; i < STEPS; i++) {
            struct vision_point mm = {x0 + (i + 0.5) / STEPS * (x1 - x0),
                                      y0 + (j + 0.5) / STEPS * (y1 - y0)};
            part += silhouette_at(map, mm) == CELL_PART;
        }
    return (double)part / (STEPS * STEPS);
}

/* Twice the light, more than the photo can show of the card's brightest colour, but in a band
 * beside an arm that stands upright, where a shadow leaves half. */
static void overexpose_but_for_a_shadow(struct picture *p)
{
    for (int y = 0; y < p->height; y++)
        for (int x = 0; x < p->width; x++) {
            bool shade = x > 750 - 75 && x < 750 - 15 && y > 260 && y < 480;
            uint8_t *rgb = &p->rgb[3 * ((size_t)y * (size_t)p->width + (size_t)x)];
            for (int c = 0; c < 3; c++)
                rgb[c] = (uint8_t)fmin(
                    255, 255 * pow(pow(rgb[c] / 255.0, 2.2) * (shade ? 0.5 : 2), 1 / 2.2));
        }
}

START_TEST(shade_on_a_burnt_out_tint_is_no_part)
{
    const double arms[2] = {91, 271};
    struct picture picture = flat_scene(arms, 2);
    overexpose_but_for_a_shadow(&picture);
    struct silhouette map = map_of(picture);
    ck_assert_double_lt(part_in(&map, -5.2, 4, -2.2, 15), 0.15);
    ck_assert_double_gt(part_in(&map, -0.8, 4, 0.4, 12), 0.95);
    silhouette_clear(&map);
}
END_TEST

/* The slot of the hand card shows something of one colour. */
static void cut_slot(struct picture *p, const uint8_t rgb[3])
{
    const struct vision_card *card = NULL;
    for (size_t i = 0; i < vision_card_count(); i++)
        if (strcmp(vision_card_at(i)->name, "hand-duo") == 0)
            card = vision_card_at(i);
    ck_assert_ptr_nonnull(card);
    for (int y = 0; y < p->height; y++)
        for (int x = 0; x < p->width; x++) {
            const struct vision_point mm = flat_scene_mm(p, x, y);
            uint8_t *at = &p->rgb[3 * ((size_t)y * (size_t)p->width + (size_t)x)];
            bool part = at[0] < 60 && hypot(mm.x, mm.y) < 8;
            if (mm.x < 0 && mm.x > -card->width_mm / 2 && fabs(mm.y) < card->slot_half_width_mm &&
                !part)
                memcpy(at, rgb, 3);
        }
}

/* A bench has one colour, be it one of the card's: the card has both. */
START_TEST(a_cut_slot_is_told_from_a_printed_one)
{
    static const uint8_t benches[][3] = {
        {120, 90, 60}, {95, 165, 80}, {215, 95, 150}, {40, 40, 45}};
    const double arms[2] = {91, 271};
    struct silhouette printed = map_of(flat_scene(arms, 2));
    ck_assert(!printed.slot_cut);
    silhouette_clear(&printed);
    for (size_t i = 0; i < sizeof benches / sizeof benches[0]; i++) {
        struct picture picture = flat_scene(arms, 2);
        cut_slot(&picture, benches[i]);
        struct silhouette map = map_of(picture);
        ck_assert_msg(map.slot_cut, "bench %zu", i);
        silhouette_clear(&map);
    }
}
END_TEST

static void paint(struct picture *p, double x0, double y0, double x1, double y1,
                  const uint8_t rgb[3])
{
    for (int y = 0; y < p->height; y++)
        for (int x = 0; x < p->width; x++) {
            const struct vision_point mm = flat_scene_mm(p, x, y);
            if (mm.x > x0 && mm.x < x1 && mm.y > y0 && mm.y < y1)
                memcpy(&p->rgb[3 * ((size_t)y * (size_t)p->width + (size_t)x)], rgb, 3);
        }
}

/* Over a bench of its own colour a part cannot be told, but where it comes out on both sides of the
 * slot it lies between them. */
START_TEST(a_part_goes_on_across_the_slot)
{
    static const uint8_t black[3] = {40, 40, 45};
    const double arms[2] = {91, 271};
    struct picture picture = flat_scene(arms, 2);
    cut_slot(&picture, black);
    paint(&picture, -17, -12, -11, 12, black);
    struct silhouette map = map_of(picture);
    ck_assert(map.slot_cut);
    ck_assert_double_gt(part_in(&map, -16.5, -3, -11.5, 3), 0.95);
    ck_assert_double_lt(part_in(&map, -35, -3, -18, 3), 0.05);
    silhouette_clear(&map);
}
END_TEST

/* Wherever the shaft stands in the slot: what shows beyond the hub is as open as what shows before
 * it, an arm that lies along the slot is part though the card beside it is bare, and so is a screw
 * that looks like the bench. */
START_TEST(a_horn_in_the_middle_of_the_slot_is_told_from_the_bench)
{
    static const uint8_t black[3] = {40, 40, 45}, benches[][3] = {{120, 90, 60}, {205, 205, 200}};
    const double arms[1] = {91};
    for (size_t i = 0; i < sizeof benches / sizeof benches[0]; i++) {
        struct picture picture = flat_scene(arms, 1);
        paint(&picture, -10, -10, 10, 1, (const uint8_t[3]){60, 160, 70}); /* no hub at its end */
        cut_slot(&picture, benches[i]);
        paint(&picture, -8, -4, 5, 4, benches[i]);
        paint(&picture, -23, -9, -15, 12, black);
        paint(&picture, -34, -2, -15, 2, black);
        paint(&picture, -20.5, -1.5, -17.5, 1.5, benches[i]);
        struct silhouette map = map_of(picture);
        ck_assert(map.slot_cut);
        ck_assert_double_gt(part_in(&map, -22.5, -3, -15.5, 3), 0.95);
        ck_assert_double_gt(part_in(&map, -33, -1.7, -24, 1.7), 0.95);
        ck_assert_double_lt(part_in(&map, -33, 2.4, -24, 3.6), 0.1);
        ck_assert_double_lt(part_in(&map, -14, -2, -2, 2), 0.1);
        silhouette_clear(&map);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("silhouette");
    TCase *tests = tcase_create("cells");
    tcase_add_test(tests, shade_on_a_burnt_out_tint_is_no_part);
    tcase_add_test(tests, a_cut_slot_is_told_from_a_printed_one);
    tcase_add_test(tests, a_part_goes_on_across_the_slot);
    tcase_add_test(tests, a_horn_in_the_middle_of_the_slot_is_told_from_the_bench);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
