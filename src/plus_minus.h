/* How a number and the uncertainty behind its "±" are rounded, wherever the program prints them. */
#ifndef PLUS_MINUS_H
#define PLUS_MINUS_H

/* Decimals worth showing of an angle (degrees): one, but two where the expanded uncertainty lies
 * below a tenth. One where it is not known (NAN). */
int plus_minus_decimals(double expanded);

/* An expanded uncertainty (> 0) to so many decimals: to the nearest, unless that takes more than a
 * twentieth off it, then up; and never 0. So "±" promises at most 5 % more than was found. (EA-4/02
 * M:2022, 6.3; from memory.) */
double plus_minus_rounded(double expanded, int decimals);

/* The size of an angle and its expanded uncertainty in those decimals: "2.9" and "0.2". */
void plus_minus(double deg, double expanded_deg, char size[16], char expanded[16]);

#endif
