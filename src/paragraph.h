/* Running text for a terminal. */
#ifndef PARAGRAPH_H
#define PARAGRAPH_H

#include <stdio.h>

/* Prints mark, then the text broken between words at 78 columns and indented to where mark ends.
 * Text past 1023 bytes is cut. Counts UTF-8 characters as one column each. */
void paragraph(FILE *to, const char *mark, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

#endif
