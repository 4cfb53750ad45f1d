/* The door to OpenCV: what many photos at once need of it. */
#include "card/shim.h"
#include "check_main.h"

#include <pthread.h>
#include <stdint.h>
#include <string.h>

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

int main(void)
{
    Suite *suite = suite_create("shim");
    TCase *tcase = tcase_create("threads");
    tcase_add_test(tcase, many_threads_may_look_for_markers_at_once);
    tcase_add_test(tcase, a_circle_is_found_where_it_was_drawn);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
