/* vision/parallel.c: each item worked once, answers in order whatever the order of the work. */
#include "check_main.h"
#include "parallel.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <unistd.h>

#define MANY 300

struct tally {
    atomic_int worked[MANY];
    size_t next;
    pthread_t caller;
    bool every_item_ready, on_caller;
};

static void work(void *context, size_t i)
{
    struct tally *tally = context;
    usleep(i % 7 == 0 ? 700 : 20); /* so that later items are often done first */
    atomic_fetch_add(&tally->worked[i], 1);
}

static void done(void *context, size_t i)
{
    struct tally *tally = context;
    ck_assert_uint_eq(i, tally->next);
    tally->next++;
    if (atomic_load(&tally->worked[i]) != 1)
        tally->every_item_ready = false;
    if (!pthread_equal(pthread_self(), tally->caller))
        tally->on_caller = false;
}

START_TEST(answers_come_in_order_on_the_calling_thread)
{
    static const size_t counts[] = {0, 1, 2, 3, MANY};
    for (size_t c = 0; c < sizeof counts / sizeof counts[0]; c++) {
        struct tally tally = {
            .caller = pthread_self(), .every_item_ready = true, .on_caller = true};
        parallel_in_order(0, counts[c], work, done, &tally);
        ck_assert_uint_eq(tally.next, counts[c]);
        ck_assert(tally.every_item_ready);
        ck_assert(tally.on_caller);
        parallel_in_order(counts[c], MANY, work, done, &tally);
        ck_assert_uint_eq(tally.next, MANY);
        for (size_t i = 0; i < MANY; i++)
            ck_assert_int_eq(atomic_load(&tally.worked[i]), 1);
    }
}
END_TEST

START_TEST(each_piece_is_worked_once_before_it_returns)
{
    static const size_t counts[] = {0, 1, 5, MANY}, threads[] = {0, 1, 2, 9, 100000};
    for (size_t c = 0; c < sizeof counts / sizeof counts[0]; c++)
        for (size_t t = 0; t < sizeof threads / sizeof threads[0]; t++) {
            struct tally tally = {.next = 0};
            parallel_pieces(threads[t], counts[c], work, &tally);
            for (size_t i = 0; i < MANY; i++)
                ck_assert_int_eq(atomic_load(&tally.worked[i]), i < counts[c] ? 1 : 0);
        }
}
END_TEST

START_TEST(processors_are_shared_out_and_nobody_gets_none)
{
    size_t all = parallel_processors();
    ck_assert_uint_ge(all, 1);
    ck_assert_uint_eq(parallel_share(1), all);
    ck_assert_uint_eq(parallel_share(0), 1);
    for (size_t things = 1; things < 3 * all; things++) {
        ck_assert_uint_ge(parallel_share(things), 1);
        ck_assert(parallel_share(things) == 1 || parallel_share(things) * things <= all);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("parallel");
    TCase *tcase = tcase_create("order");
    tcase_set_timeout(tcase, 120); /* sanitizers on a busy machine */
    tcase_add_test(tcase, answers_come_in_order_on_the_calling_thread);
    tcase_add_test(tcase, each_piece_is_worked_once_before_it_returns);
    tcase_add_test(tcase, processors_are_shared_out_and_nobody_gets_none);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
