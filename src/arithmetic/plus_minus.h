/* A number with the uncertainty behind its "±", rounded and worded alike wherever the program
 * prints them. */
#ifndef PLUS_MINUS_H
#define PLUS_MINUS_H

#include "quantity.h"

/* Decimals worth showing of an angle (degrees) or a length (mm): one, but two where the expanded
 * uncertainty lies below a tenth. One where it is not known (NAN). */
int plus_minus_decimals(double expanded);

/* The same for something that is off by so much and was decided on (decision.h): as many more, up
 * to five, as it takes for the numbers shown to be decided alike, whoever reckons with them or
 * types them back. tolerance NAN: nothing was decided. */
int plus_minus_decimals_judged(double off, double expanded, double tolerance);

/* A value as it is printed, to the tie. */
double plus_minus_as_printed(double value, int decimals);

/* An expanded uncertainty (> 0) to so many decimals: to the nearest, unless that takes more than a
 * twentieth off it, then up; and never 0. NAN stays NAN: not known. So what was found is at most 5
 * % more than "±" says. (EA-4/02 M:2022, 6.3; from memory.) */
double plus_minus_rounded(double expanded, int decimals);

/* "degrees", or "degree" behind 1: the unit of a limit as it was given. */
const char *plus_minus_degree_word(double deg);

#define PLUS_MINUS_WORDS 64

/* "2.9 ± 0.2 mm": a value with its expanded uncertainty in so many decimals, and the unit of both
 * ("" for none). Where the uncertainty is not known (NAN), 0 or so small that only rounding errors
 * make it (a thousandth of the last decimal), the value stands alone. Returns text. */
const char *plus_minus_words(double value, double expanded, int decimals, const char *unit,
                             char text[PLUS_MINUS_WORDS]);
/* The same of a quantity, u taken as well known. */
const char *plus_minus_quantity(struct quantity quantity, int decimals, const char *unit,
                                char text[PLUS_MINUS_WORDS]);
/* "2.9 ± 0.2 degrees": the size of an angle in the decimals worth showing. */
const char *plus_minus_degrees(double deg, double expanded_deg, char text[PLUS_MINUS_WORDS]);
/* The same in the decimals of plus_minus_decimals_judged(). */
const char *plus_minus_judged(double off_deg, double expanded_deg, double tolerance_deg,
                              char text[PLUS_MINUS_WORDS]);
/* The same with its sign, of an angle whose u is well known; one decimal where it is exact. */
const char *plus_minus_angle(struct quantity angle_deg, char text[PLUS_MINUS_WORDS]);

/* That of plus_minus_judged() and its expanded uncertainty by themselves: "2.9" and "0.2"; "?"
 * where that is not known (NAN), zeros where plus_minus_words() leaves it out as too small. */
void plus_minus(double off_deg, double expanded_deg, double tolerance_deg, char size[16],
                char expanded[16]);

/* "clockwise" or "counter-clockwise": to which side something lies that is off by so much (degrees,
 * counter-clockwise positive); "off" where so many decimals show it as 0. */
const char *plus_minus_side(double off_deg, int decimals);
/* The same to be followed by what it is off: "clockwise of", "counter-clockwise of", "off". */
const char *plus_minus_lies(double off_deg, int decimals);

#endif
