/* For tests: running other programs, ours among them, and judging files by them. */
#ifndef OUTSIDE_H
#define OUTSIDE_H

#include <stddef.h>

/* Runs a shell command and gives its exit status, -1 when it died otherwise. What it printed on
 * both streams goes to said, cut to fit; NULL when that does not matter. */
int outside_run(char *said, size_t said_size, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* A new empty directory, removed with all it holds when the test program ends. Stops the program
 * on failure. Static storage; one per program. */
const char *outside_directory(void);

#endif
