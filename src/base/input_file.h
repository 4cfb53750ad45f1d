/* Files that a person named, opened for reading. */
#ifndef INPUT_FILE_H
#define INPUT_FILE_H

#include <stdio.h>

/* As fopen(path, "rb"), but does not wait for a writer where path is a named pipe that has none: it
 * then reads as an empty file. The caller's to close; NULL with errno. */
FILE *input_file_open(const char *path);

/* What follows "NAME cannot be read: " where opening or reading ended with that errno: what is
 * wrong; what to do, as far as the usual ones tell. */
const char *input_file_says(int error);

#endif
