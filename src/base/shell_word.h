/* Names in commands that a person is to paste into a shell. */
#ifndef SHELL_WORD_H
#define SHELL_WORD_H

/* A name as one word of a POSIX shell's command: as it is where it is plain, in single quotes where
 * it holds blanks or signs that mean something to the shell, after "./" where it would be taken for
 * an option. What is not fit for a terminal is made so (clean_text.h), and names no file then.
 * Owned by the caller (free); NULL when there is no memory. */
char *shell_word(const char *name);

#endif
