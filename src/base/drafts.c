#include "drafts.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <pthread.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define MOST_DRAFTS 256 /* at once, some a thread; any more would be left behind */
#define MOST_FOLDERS 4  /* at once; a program builds one */
#define LONGEST_WAIT_MS 500

/* Whoever takes a place out of its slot, by exchange, owns it: a thread that is done with the
 * draft, or the handler. So the handler never reads what was freed. */
static _Atomic(char *) places[MOST_DRAFTS];

/* What was made for a folder, the newest first and the folder itself last, so that each folder is
 * empty when its turn comes. As many as there are photos in a job, so they have no slots. */
struct item {
    struct item *below;
    bool is_folder;
    char place[];
};

/* Whoever takes the top, by exchange, owns all of its items. NULL: nobody builds here. */
struct draft_folder {
    _Atomic(struct item *) top;
    const char *place; /* the lowest item's */
};
static struct draft_folder folders[MOST_FOLDERS];

static atomic_int beginning; /* threads between making a file and noting it */
static atomic_bool stopping;

static const int stops[] = {SIGINT, SIGTERM, SIGHUP, SIGPIPE};

static void remove_items(const struct item *item)
{
    for (; item; item = item->below)
        (void)(item->is_folder ? rmdir(item->place) : unlink(item->place));
}

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
    for (size_t i = 0; i < MOST_FOLDERS; i++)
        remove_items(atomic_exchange(&folders[i].top, NULL));
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

/* The handler waits for those who begin, so it must not run in the middle of one. false when the
 * program is being stopped: nothing may be made any more. End with end(). */
static bool begin(sigset_t *before)
{
    static pthread_once_t once = PTHREAD_ONCE_INIT;
    sigset_t all;
    pthread_once(&once, watch);
    sigfillset(&all);
    pthread_sigmask(SIG_SETMASK, &all, before);
    atomic_fetch_add(&beginning, 1);
    return !atomic_load(&stopping);
}

/* Keeps errno. */
static void end(const sigset_t *before)
{
    int saved = errno;
    atomic_fetch_sub(&beginning, 1);
    pthread_sigmask(SIG_SETMASK, before, NULL);
    end_if_stopping();
    errno = saved;
}

/* ---- Files -------------------------------------------------------------------------------- */

static void note(char *place)
{
    for (size_t i = 0; i < MOST_DRAFTS; i++) {
        char *none = NULL;
        if (atomic_compare_exchange_strong(&places[i], &none, place))
            return;
    }
}

int drafts_make(char *place, int suffix)
{
    sigset_t before;
    int fd = begin(&before) ? mkstemps(place, suffix) : -1;
    if (fd >= 0)
        note(place);
    end(&before);
    return fd;
}

void drafts_note(char *place)
{
    sigset_t before;
    if (begin(&before))
        note(place);
    end(&before);
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

/* ---- Folders ------------------------------------------------------------------------------ */

/* folder, a slash and name; folder alone where name is "". */
static struct item *item_new(const char *folder, const char *name, bool is_folder)
{
    size_t length = strlen(folder) + strlen(name) + 2;
    struct item *item = malloc(sizeof *item + length);
    if (!item)
        return NULL;
    item->below = NULL;
    item->is_folder = is_folder;
    stpcpy(stpcpy(stpcpy(item->place, folder), *name ? "/" : ""), name);
    return item;
}

/* The first place where nobody builds; NULL when there is none. */
static struct draft_folder *take_folder(struct item *item)
{
    for (size_t i = 0; i < MOST_FOLDERS; i++) {
        struct item *none = NULL;
        if (atomic_compare_exchange_strong(&folders[i].top, &none, item))
            return &folders[i];
    }
    rmdir(item->place);
    errno = EMFILE;
    return NULL;
}

struct draft_folder *draft_folder_new(const char *place)
{
    sigset_t before;
    struct draft_folder *folder = NULL;
    struct item *item = item_new(place, "", true);
    if (!item)
        return NULL;
    if (begin(&before) && mkdtemp(item->place))
        folder = take_folder(item);
    end(&before);
    if (folder)
        folder->place = item->place;
    else
        free(item);
    return folder;
}

const char *draft_folder_place(const struct draft_folder *folder)
{
    return folder->place;
}

static int new_file(const char *place)
{
    return open(place, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
}

static int new_folder(const char *place)
{
    return mkdir(place, 0777);
}

/* Notes it, then makes it: what make answered, negative (and errno) when it could not. */
static int put(struct draft_folder *folder, const char *name, bool is_folder,
               int (*make)(const char *place))
{
    sigset_t before;
    int made = -1;
    struct item *item = item_new(folder->place, name, is_folder);
    if (!item)
        return -1;
    bool going_on = begin(&before);
    item->below = atomic_load(&folder->top);
    /* It fails if the handler lost patience and took all: then the program ends. */
    bool noted =
        going_on && item->below && atomic_compare_exchange_strong(&folder->top, &item->below, item);
    if (noted)
        made = make(item->place);
    end(&before);
    if (!noted)
        free(item);
    return made;
}

FILE *draft_folder_open(struct draft_folder *folder, const char *name)
{
    int fd = put(folder, name, false, new_file);
    FILE *to = fd >= 0 ? fdopen(fd, "wb") : NULL;
    if (fd >= 0 && !to)
        close(fd);
    return to;
}

bool draft_folder_add(struct draft_folder *folder, const char *name)
{
    return put(folder, name, true, new_folder) == 0;
}

void draft_folder_end(struct draft_folder *folder, bool kept)
{
    if (!kept) /* while it is noted still: who stops the program now has the rest removed */
        remove_items(atomic_load(&folder->top));
    struct item *item = atomic_exchange(&folder->top, NULL);
    end_if_stopping(); /* it may be the handler that took it, and reads it now */
    while (item) {
        struct item *below = item->below;
        free(item);
        item = below;
    }
}
