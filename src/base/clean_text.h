/* Text from outside (names of files and parts, plans): whether it is fit to show, and made so. */
#ifndef CLEAN_TEXT_H
#define CLEAN_TEXT_H

#include <stdbool.h>

/* Well-formed UTF-8 (The Unicode Standard 15, table 3-7): neither overlong forms nor surrogates,
 * which JSON and cairo refuse, too. */
bool text_is_utf8(const char *text);
/* The same, and without control characters: C0, DEL and C1. One line. */
bool text_is_clean(const char *text);
/* The same, but line ends ("\n") and tabs may stand in it. */
bool text_is_clean_lines(const char *text);
/* A copy that is clean: each byte or character that is not fit becomes '?'. Owned by the caller
 * (free); NULL when there is no memory. */
char *clean_text(const char *text);
char *clean_lines(const char *text);

#endif
