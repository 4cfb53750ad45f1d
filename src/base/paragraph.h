/* Running text for a terminal. */
#ifndef PARAGRAPH_H
#define PARAGRAPH_H

#include <stdio.h>

/* Prints mark, then the text broken between words at 78 columns and indented to where mark ends; a
 * line's end in it counts as a blank. Counts UTF-8 characters as one column each. */
void paragraph_text(FILE *to, const char *mark, const char *text);
/* The same of what is formatted; past 1023 bytes it is cut. */
void paragraph(FILE *to, const char *mark, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

#endif
