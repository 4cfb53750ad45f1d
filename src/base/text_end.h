/* The end of text that was written piece by piece into memory. */
#ifndef TEXT_END_H
#define TEXT_END_H

#include <stdio.h>

/* Closes what open_memstream(text, size) made, NULL if that failed; *text was NULL before. Returns
 * *text, the caller's: NULL where not all of it was written. */
char *text_end(FILE *to, char **text);

#endif
