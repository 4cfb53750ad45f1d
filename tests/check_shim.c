/* The door to OpenCV: what many photos at once need of it. */
#include "card/markers.h"
#include "card/shim.h"
#include "check_main.h"

#include <errno.h>
#include <pthread.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define THREADS 8
#define ROUNDS 2000
#define SIDE 16

/* A bare picture: nothing is found, but every call goes through all that calls share. */
static void *look_often(void *argument)
{
    static const struct shim_windows windows = {3, 3};
    uint8_t grey[SIDE * SIDE];
    bool *good = argument;
    memset(grey, 200, sizeof grey);
    *good = true;
    for (int i = 0; i < ROUNDS; i++) {
        struct shim_marker markers[4];
        int n = -1;
        if (shim_find_markers(grey, SIDE, SIDE, SIDE, windows, 1, markers, 4, &n) != SHIM_OK ||
            n != 0)
            *good = false;
    }
    return NULL;
}

START_TEST(many_threads_may_look_for_markers_at_once)
{
    pthread_t threads[THREADS];
    bool good[THREADS];
    for (int i = 0; i < THREADS; i++)
        ck_assert_int_eq(pthread_create(&threads[i], NULL, look_often, &good[i]), 0);
    for (int i = 0; i < THREADS; i++) {
        ck_assert_int_eq(pthread_join(threads[i], NULL), 0);
        ck_assert(good[i]);
    }
}
END_TEST

/* A bright round thing on grey is found where it was drawn. */
START_TEST(a_circle_is_found_where_it_was_drawn)
{
    enum { WIDE = 160 };
    static uint8_t grey[WIDE * WIDE];
    const double x0 = 93.4, y0 = 61.7, radius = 23;
    struct shim_circle found[8];
    int n = 0;
    for (int y = 0; y < WIDE; y++)
        for (int x = 0; x < WIDE; x++)
            grey[y * WIDE + x] = hypot(x - x0, y - y0) < radius ? 210 : 40;
    ck_assert_int_ne(shim_find_circles(grey, WIDE, WIDE, WIDE, 18, 30, found, 8, &n), SHIM_FAILED);
    ck_assert_int_ge(n, 1);
    ck_assert_double_le(hypot(found[0].x - x0, found[0].y - y0), 1.5);
    ck_assert_double_le(fabs(found[0].radius - radius), 2);
}
END_TEST

static bool memory_is_short;

/* Where OpenCV takes the memory of its pictures from, asked to by OPENCV_ENABLE_MEMALIGN
 * (docs.opencv.org, "OpenCV environment variables reference"). */
int posix_memalign(void **out, size_t alignment, size_t size)
{
    if (memory_is_short)
        return ENOMEM;
    *out = aligned_alloc(alignment, (size + alignment - 1) / alignment * alignment);
    return *out ? 0 : ENOMEM;
}

/* Who reads "no card" takes another photo, and another, of which none can do better. */
START_TEST(lack_of_memory_is_not_a_picture_without_a_card)
{
    uint8_t grey[SIDE * SIDE] = {0};
    const struct vision_image picture = {SIDE, SIDE, 1, SIDE, grey, 1, 0, 0};
    const struct shim_windows windows = {3, 3};
    const struct vision_options options = vision_options_default();
    struct shim_marker markers[4];
    struct shim_circle circles[4];
    struct sticker_fix stickers[MARKERS_MAX_STICKERS];
    struct card_fix fix;
    bool twice;
    for (int shortage = 0; shortage < 2; shortage++) {
        int n;
        memory_is_short = shortage;
        ck_assert_int_eq(shim_find_markers(grey, SIDE, SIDE, SIDE, windows, 1, markers, 4, &n),
                         shortage ? SHIM_NO_MEMORY : SHIM_OK);
        ck_assert_int_eq(shim_find_circles(grey, SIDE, SIDE, SIDE, 3, 6, circles, 4, &n),
                         shortage ? SHIM_NO_MEMORY : SHIM_OK);
        ck_assert_int_eq(markers_find(&picture, MARKERS_QUICK, &options, &fix),
                         shortage ? VISION_NO_MEMORY : VISION_NO_CARD);
        ck_assert_int_eq(markers_find_stickers(&picture, MARKERS_QUICK, stickers, &n, &twice),
                         shortage ? VISION_NO_MEMORY : VISION_REASON_NONE);
    }
    memory_is_short = false;
}
END_TEST

int main(int argc, char **argv)
{
    (void)argc;
    if (!getenv("OPENCV_ENABLE_MEMALIGN")) { /* which is asked for once, while libraries load */
        setenv("OPENCV_ENABLE_MEMALIGN", "1", 1);
        execv("/proc/self/exe", argv);
    }
    Suite *suite = suite_create("shim");
    TCase *tcase = tcase_create("threads");
    tcase_add_test(tcase, many_threads_may_look_for_markers_at_once);
    tcase_add_test(tcase, a_circle_is_found_where_it_was_drawn);
    tcase_add_test(tcase, lack_of_memory_is_not_a_picture_without_a_card);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
