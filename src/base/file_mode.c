#include "file_mode.h"

#include <pthread.h>
#include <sys/stat.h>

static pthread_once_t noted = PTHREAD_ONCE_INIT;
static mode_t mask;

static void note(void)
{
    mask = umask(0077); /* what is made just now, if anything, is too private, not too open */
    umask(mask);
}

void file_mode_note_umask(void)
{
    pthread_once(&noted, note);
}

mode_t file_mode(mode_t wanted)
{
    file_mode_note_umask();
    return wanted & ~mask;
}
