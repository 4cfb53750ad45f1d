/* The answer of a measurement in words, the same in the terminal, JSON and the picture. "±" stands
 * before the expanded uncertainty (arm_uncertainty.h): 95 of 100 photos lie within it. */
#ifndef MEASURE_WORDS_H
#define MEASURE_WORDS_H

#include "vision.h"

#include <stddef.h>

#define MEASURE_WORDS 512 /* bytes that hold any text made here */

/* Does the arm lie within the uncertainty of square? Then there is nothing to turn. */
bool measure_is_square(const struct vision_arm *arm);
/* "clockwise" or "counter-clockwise": how the arm lies from square, and how to turn it back. */
const char *measure_lies(const struct vision_arm *arm);
const char *measure_cure(const struct vision_arm *arm);

/* The size of an angle and its expanded uncertainty, with as many decimals as the latter gives
 * reason for: "2.9" and "0.2". The uncertainty is rounded up. */
void measure_round(double deg, double expanded_deg, char size[16], char expanded[16]);

/* The same of an arm's deviation. */
void measure_numbers(const struct vision_arm *arm, char deviation[16], char expanded[16]);

/* "Arm A lies 2.9 ± 0.2 degrees clockwise of square." for any arm but the one to act on. */
void measure_arm_sentence(const struct vision_arm *arm, char out[MEASURE_WORDS]);

/* "left", "right", "top", "bottom"; NULL where it is unknown. */
const char *measure_side(enum vision_side side);

/* What the spacing of the arms says against the card or the part; "" when there is nothing to say.
 */
void measure_witness_sentence(const struct vision_witness *witness, char out[MEASURE_WORDS]);

/* The whole answer: the first arm and its cure, what makes it unsure, or why there is none. */
void measure_message(const struct vision_result *result, char out[MEASURE_WORDS]);

#endif
