#include "parallel.h"

#include <pthread.h>
#include <sched.h>
#include <stdbool.h>
#include <stdlib.h>

#define MAX_THREADS 256

struct crew {
    pthread_mutex_t lock;
    pthread_cond_t finished; /* an item was worked */
    size_t next, end;
    bool *worked;
    void (*work)(void *context, size_t i);
    void *context;
};

/* Those this process may run on, which containers and taskset cut below those of the machine. */
size_t parallel_processors(void)
{
    cpu_set_t set;
    int count = sched_getaffinity(0, sizeof set, &set) == 0 ? CPU_COUNT(&set) : 1;
    return count < 1 ? 1 : count > MAX_THREADS ? MAX_THREADS : (size_t)count;
}

size_t parallel_share(size_t things)
{
    size_t processors = parallel_processors();
    return things < processors && things > 0 ? processors / things : 1;
}

/* Works the next item nobody has taken; false when none is left. Called with the lock held. */
static bool work_one(struct crew *crew)
{
    if (crew->next >= crew->end)
        return false;
    size_t i = crew->next++;
    pthread_mutex_unlock(&crew->lock);
    crew->work(crew->context, i);
    pthread_mutex_lock(&crew->lock);
    crew->worked[i] = true;
    pthread_cond_signal(&crew->finished);
    return true;
}

static void *member(void *argument)
{
    struct crew *crew = argument;
    pthread_mutex_lock(&crew->lock);
    while (work_one(crew))
        ;
    pthread_mutex_unlock(&crew->lock);
    return NULL;
}

static void report_in_order(struct crew *crew, size_t first, bool alone,
                            void (*done)(void *context, size_t i))
{
    for (size_t i = first; i < crew->end; i++) {
        pthread_mutex_lock(&crew->lock);
        while (!crew->worked[i]) {
            if (!alone || !work_one(crew))
                pthread_cond_wait(&crew->finished, &crew->lock);
        }
        pthread_mutex_unlock(&crew->lock);
        if (done)
            done(crew->context, i);
    }
}

static void one_by_one(size_t first, size_t end, void (*work)(void *context, size_t i),
                       void (*done)(void *context, size_t i), void *context)
{
    for (size_t i = first; i < end; i++) {
        work(context, i);
        if (done)
            done(context, i);
    }
}

/* done: may be NULL */
static void run(size_t wanted, size_t first, size_t end, void (*work)(void *context, size_t i),
                void (*done)(void *context, size_t i), void *context)
{
    wanted = wanted < end - first ? wanted : end - first;
    wanted = wanted < MAX_THREADS ? wanted : MAX_THREADS;
    struct crew crew = {.lock = PTHREAD_MUTEX_INITIALIZER,
                        .finished = PTHREAD_COND_INITIALIZER,
                        .next = first,
                        .end = end,
                        .work = work,
                        .context = context};
    crew.worked = wanted > 1 ? calloc(end, sizeof *crew.worked) : NULL;
    if (!crew.worked) {
        one_by_one(first, end, work, done, context);
        return;
    }
    pthread_t threads[MAX_THREADS];
    size_t started = 0;
    while (started < wanted && pthread_create(&threads[started], NULL, member, &crew) == 0)
        started++;
    report_in_order(&crew, first, started == 0, done);
    for (size_t i = 0; i < started; i++)
        pthread_join(threads[i], NULL);
    pthread_cond_destroy(&crew.finished);
    pthread_mutex_destroy(&crew.lock);
    free(crew.worked);
}

void parallel_in_order(size_t first, size_t end, void (*work)(void *context, size_t i),
                       void (*done)(void *context, size_t i), void *context)
{
    run(parallel_processors(), first, end, work, done, context);
}

void parallel_pieces(size_t threads, size_t count, void (*work)(void *context, size_t i),
                     void *context)
{
    run(threads, 0, count, work, NULL, context);
}
