/* Numbers from words on the command line. '.' is the decimal point whatever the locale. */
#ifndef NUMBER_H
#define NUMBER_H

#include <stdbool.h>

/* A finite number that fills the whole text: "90", "-1.5", "1e-3", not "", "90 ", "0x10", "nan".
 * false leaves out unchanged. */
bool number_parse(const char *text, double *out);

/* The same for a whole number within [low, high]. */
bool number_parse_whole(const char *text, int low, int high, int *out);

#endif
