/* vision/silhouette/shadow.c: shadows that have a colour, on a made-up map of stripes. */
#include "check_main.h"
#include "silhouette/shadow.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

#define WIDTH 160
#define HEIGHT 120
#define CELLS (WIDTH * HEIGHT)
#define STRIPE 24
#define BORDER 3

static uint8_t cells[CELLS], thin[CELLS];
static struct look looks[CELLS];
static struct silhouette map;

/* What a lamp that shines less blue than the other leaves of the light. */
static const float left_by_lamp[3] = {0.75F, 0.62F, 0.35F};
static const float grey[3] = {0.2F, 0.21F, 0.22F};
static const float dark[3] = {0.12F, 0.12F, 0.12F};

struct box {
    int x0, y0, x1, y1;
};

static bool in_box(const struct box *box, int i, int j)
{
    return i >= box->x0 && i < box->x1 && j >= box->y0 && j < box->y1;
}

static const struct box part = {30, 20, 80, 100}, shade = {80, 30, 110, 110},
                        island = {45, 45, 60, 60};

/* Stripes along the diagonal; a part and, light[] of it left, its shadow beside. */
static void draw(const float light[3], const float colour[3])
{
    map = (struct silhouette){.pitch_mm = 0.125,
                              .width = WIDTH,
                              .height = HEIGHT,
                              .cells = cells,
                              .tints = {{{0.42F, 0.86F, 0.29F}, 0.8F, 0.02F, 1000},
                                        {{0.85F, 0.25F, 0.46F}, 0.9F, 0.02F, 1000}}};
    for (int j = 0; j < HEIGHT; j++)
        for (int i = 0; i < WIDTH; i++) {
            int at = j * WIDTH + i, along = (i + j) % STRIPE, tint = (i + j) / STRIPE % 2;
            bool border = along < BORDER;
            const struct tint_look *look = &map.tints[tint];
            thin[at] = border;
            cells[at] = border ? CELL_UNKNOWN : CELL_TINT;
            looks[at].tint = border ? -1 : tint;
            for (int c = 0; c < 3; c++) {
                float full = look->unit[c] * look->strength;
                bool dimmed = in_box(&shade, i, j) || in_box(&island, i, j);
                looks[at].rgb[c] = dimmed ? full * light[c] : full;
                if (in_box(&part, i, j) && !in_box(&island, i, j))
                    looks[at].rgb[c] = colour[c];
            }
            if (!border && (in_box(&part, i, j) || in_box(&shade, i, j)))
                cells[at] = CELL_PART;
        }
}

static int count(const struct box *box, const struct box *but, enum cell cell)
{
    int n = 0;
    for (int j = box->y0; j < box->y1; j++)
        for (int i = box->x0; i < box->x1; i++)
            n += cells[j * WIDTH + i] == cell && !(but && in_box(but, i, j));
    return n;
}

START_TEST(a_shadow_goes_and_the_part_stays)
{
    struct shadow shadow;
    draw(left_by_lamp, grey);
    int solid = count(&part, NULL, CELL_PART);
    shadow_learn(&map, looks, &shadow);
    ck_assert(shadow.seen);
    float length = 0;
    for (int c = 0; c < 3; c++)
        length += (1 - left_by_lamp[c]) * (1 - left_by_lamp[c]);
    for (int c = 0; c < 3; c++)
        ck_assert_msg(fabsf(shadow.removes[c] - (1 - left_by_lamp[c]) / sqrtf(length)) < 0.02F,
                      "channel %d: %.3f", c, shadow.removes[c]);
    ck_assert(shadow_clear(&shadow, looks, thin, &map));
    ck_assert_int_eq(count(&shade, NULL, CELL_PART), 0);
    /* a patch of the same look within the part has no way to the card: it is the part's */
    ck_assert_int_eq(count(&part, NULL, CELL_PART), solid);
}
END_TEST

/* Low sun and a little sky: the shadow is deep, and a dark part in the sun leaves as little of the
 * light. */
START_TEST(a_dark_part_is_no_deep_shadow)
{
    static const float left_by_sun[3] = {0.20F, 0.22F, 0.25F};
    struct shadow shadow;
    draw(left_by_sun, dark);
    int solid = count(&part, &island, CELL_PART);
    shadow_learn(&map, looks, &shadow);
    ck_assert(shadow.seen);
    ck_assert(shadow_clear(&shadow, looks, thin, &map));
    ck_assert_int_eq(count(&shade, NULL, CELL_PART), 0);
    ck_assert_int_eq(count(&part, &island, CELL_PART), solid);
}
END_TEST

START_TEST(without_one_nothing_changes)
{
    static const float full[3] = {1, 1, 1};
    static uint8_t before[CELLS];
    struct shadow shadow;
    draw(full, grey);
    for (int j = shade.y0; j < shade.y1; j++) /* more part, not its shadow */
        for (int i = shade.x0; i < shade.x1; i++)
            memcpy(looks[j * WIDTH + i].rgb, grey, sizeof grey);
    memcpy(before, cells, sizeof cells);
    shadow_learn(&map, looks, &shadow);
    ck_assert(!shadow.seen);
    ck_assert(shadow_clear(&shadow, looks, thin, &map));
    ck_assert_mem_eq(before, cells, sizeof cells);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("shadow");
    TCase *tcase = tcase_create("coloured");
    tcase_add_test(tcase, a_shadow_goes_and_the_part_stays);
    tcase_add_test(tcase, a_dark_part_is_no_deep_shadow);
    tcase_add_test(tcase, without_one_nothing_changes);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
