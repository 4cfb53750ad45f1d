#include "drafts.h"

#include <poll.h>
#include <pthread.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdlib.h>
#include <unistd.h>

#define MOST_DRAFTS 256 /* at once, one a thread; any more would be left behind */
#define LONGEST_WAIT_MS 500

/* Whoever takes a place out of its slot, by exchange, owns it: a thread that is done with the
 * draft, or the handler. So the handler never reads what was freed. */
static _Atomic(char *) places[MOST_DRAFTS];
static atomic_int beginning; /* threads between making a file and noting it */
static atomic_bool stopping;

static const int stops[] = {SIGINT, SIGTERM, SIGHUP, SIGPIPE};

/* Calls only what POSIX.1-2017, 2.4.3 lists as safe in a handler. SA_RESETHAND: what is raised
 * again ends the program as if there were no handler, once this one returns. */
static void remove_all(int signal)
{
    atomic_store(&stopping, true);
    for (int ms = 0; ms < LONGEST_WAIT_MS && atomic_load(&beginning) > 0; ms++)
        poll(NULL, 0, 1);
    for (size_t i = 0; i < MOST_DRAFTS; i++) {
        char *place = atomic_exchange(&places[i], NULL);
        if (place)
            unlink(place);
    }
    raise(signal);
}

/* What was ignored when the program began (nohup) stays so. */
static void watch(void)
{
    struct sigaction action = {.sa_handler = remove_all, .sa_flags = SA_RESETHAND | SA_RESTART};
    struct sigaction before;
    for (size_t i = 0; i < sizeof stops / sizeof *stops; i++)
        sigaddset(&action.sa_mask, stops[i]);
    for (size_t i = 0; i < sizeof stops / sizeof *stops; i++)
        if (sigaction(stops[i], NULL, &before) == 0 && before.sa_handler == SIG_DFL)
            sigaction(stops[i], &action, NULL);
}

/* The program ends at once; nothing is begun or told any more. */
static void end_if_stopping(void)
{
    while (atomic_load(&stopping))
        pause();
}

static void note(char *place)
{
    for (size_t i = 0; i < MOST_DRAFTS; i++) {
        char *none = NULL;
        if (atomic_compare_exchange_strong(&places[i], &none, place))
            return;
    }
}

int drafts_make(char *place)
{
    static pthread_once_t once = PTHREAD_ONCE_INIT;
    pthread_once(&once, watch);
    /* The handler waits for those who begin, so it must not run in the middle of one. */
    sigset_t all, before;
    sigfillset(&all);
    pthread_sigmask(SIG_SETMASK, &all, &before);
    atomic_fetch_add(&beginning, 1);
    int fd = -1;
    if (!atomic_load(&stopping)) {
        fd = mkstemp(place);
        if (fd >= 0)
            note(place);
    }
    atomic_fetch_sub(&beginning, 1);
    pthread_sigmask(SIG_SETMASK, &before, NULL);
    end_if_stopping();
    return fd;
}

void drafts_forget(char *place)
{
    if (!place)
        return;
    for (size_t i = 0; i < MOST_DRAFTS; i++) {
        char *same = place;
        if (atomic_compare_exchange_strong(&places[i], &same, NULL))
            break;
    }
    end_if_stopping(); /* it may be the handler that took it, and reads it now */
    free(place);
}
