/* Runs the program as a person would, and keeps what it says. */
#ifndef PROGRAM_H
#define PROGRAM_H

#include <stdbool.h>

struct run {
    int status; /* exit status; -1 when it did not exit by itself */
    char out[1 << 17], err[1 << 13];
};

/* Runs "armsquare ARGUMENTS" through the shell, in a directory of its own that is empty. */
void run_program(const char *arguments, struct run *run);

/* Is err exactly one line that starts with "armsquare: "? */
bool run_says_one_sentence(const struct run *run);

#endif
