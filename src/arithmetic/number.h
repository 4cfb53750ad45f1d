/* Numbers from words on the command line. '.' is the decimal point whatever the locale. */
#ifndef NUMBER_H
#define NUMBER_H

#include <stdbool.h>

/* A finite number that fills the whole text: "90", "-1.5", "1e-3", not "", "90 ", "0x10", "nan".
 * false leaves out unchanged. */
bool number_parse(const char *text, double *out);

/* A finite number at the start of text, blanks before it or not; text then stands behind it.
 * Neither hexadecimal nor "inf" and "nan", which are no one's habit. false leaves both unchanged.
 */
bool number_take(const char **text, double *out);

/* number_parse() for a whole number within [low, high]. */
bool number_parse_whole(const char *text, int low, int high, int *out);

#endif
