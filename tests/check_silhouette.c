/* vision/silhouette.c: what of the card is bare, on made-up photos whose truth is exact. */
#include "check_main.h"
#include "flat_scene.h"
#include "stage.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>

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

int main(void)
{
    Suite *suite = suite_create("silhouette");
    TCase *tests = tcase_create("cells");
    tcase_add_test(tests, shade_on_a_burnt_out_tint_is_no_part);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
