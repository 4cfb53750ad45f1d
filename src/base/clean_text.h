/* Text from outside (names of files and parts, plans): whether it is fit to show, and made so. */
#ifndef CLEAN_TEXT_H
#define CLEAN_TEXT_H

#include <stdbool.h>
#include <stddef.h>

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
/* Where to cut text so that a character stays whole: the longest beginning of at most `most` bytes
 * that does not end inside one, also where text itself ends inside one. As a precision,
 * "%.*s", text_cut(name, 80), name; and for a buffer that may have been too small,
 * line[text_cut(line, sizeof line)] = '\0'. Half a character is no UTF-8: JSON, cairo and a job's
 * export refuse the whole text for it. */
int text_cut(const char *text, size_t most);

#endif
