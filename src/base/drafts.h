/* Files and folders that are not finished yet: none is left behind when the program is stopped
 * before its end (Ctrl-C, a closed terminal or pipe, kill; not kill -9 or a power cut). */
#ifndef DRAFTS_H
#define DRAFTS_H

#include <stdbool.h>
#include <stdio.h>

/* mkstemps() of a draft that is removed if the program is stopped. place ends in XXXXXX and suffix
 * bytes more, lies on the heap, stays where it is and is given back by drafts_forget(). The
 * descriptor, or -1 and errno; place is then the caller's to free. Safe from several threads. */
int drafts_make(char *place, int suffix);
/* A file that a library will make beside a draft, at a time of its own; place as above. */
void drafts_note(char *place);
/* The draft has its name or is removed: frees place. NULL does nothing. */
void drafts_forget(char *place);

/* A folder that gets its name once all in it is there. One thread builds it. */
struct draft_folder;

/* mkdtemp() of place, which ends in XXXXXX and is copied. End with draft_folder_end(). NULL and
 * errno, EMFILE when too many are being built. */
struct draft_folder *draft_folder_new(const char *place);
/* Where it is; its own. */
const char *draft_folder_place(const struct draft_folder *folder);
/* A new file in it, to be written; name may lead through folders that were added. NULL and errno.
 */
FILE *draft_folder_open(struct draft_folder *folder, const char *name);
/* A new folder in it; false and errno. */
bool draft_folder_add(struct draft_folder *folder, const char *name);
/* Frees it. kept: it has its name; else it is removed with all that was made in it. */
void draft_folder_end(struct draft_folder *folder, bool kept);

#endif
