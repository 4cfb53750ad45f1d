/* Files that appear whole or not at all: written beside their place, renamed when complete. They
 * take the place of ordinary files alone, and never that of what nobody could make again. */
#ifndef SAFE_FILE_H
#define SAFE_FILE_H

#include <stdbool.h>
#include <stdio.h>

struct safe_file {
    FILE *stream;            /* write here */
    char *path, *draft_path; /* the draft goes when the program is stopped: drafts.h */
};

/* Why what stands at path is never replaced, to follow its name: "is a job file". NULL when nothing
 * stands there or it may be replaced: an ordinary file that is neither a job nor a photo. */
const char *safe_file_keeps(const char *path);

/* Starts a file that will stand at path. false (and errno, EEXIST for what is never replaced) when
 * it cannot; nothing to clean up. */
bool safe_file_open(struct safe_file *file, const char *path);
/* Flushes to disk and puts the file in its place. false (and errno) when any write failed; the
 * place then holds what it held before. Either way nothing is left to clean up. */
bool safe_file_commit(struct safe_file *file);
/* Gives up: removes the draft. Harmless on a file that was never opened or is already closed. */
void safe_file_abandon(struct safe_file *file);

#endif
