/* Do two names mean one file? */
#ifndef SAME_FILE_H
#define SAME_FILE_H

#include <stdbool.h>

/* By device and inode, so that links and other ways of writing a path do not deceive. A name is the
 * same file as itself even where there is none; a copy is another file. */
bool same_file(const char *a, const char *b);

#endif
