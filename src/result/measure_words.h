/* The answer of a measurement in words, the same in the terminal, JSON and the picture. "±" stands
 * before the expanded uncertainty (arm_uncertainty.h): 95 of 100 photos lie within it. */
#ifndef MEASURE_WORDS_H
#define MEASURE_WORDS_H

#include "verdict.h"

#include <stdio.h>

#define MEASURE_WORDS 512 /* bytes that hold any text made here */

/* The size of an arm's deviation and its expanded uncertainty, as plus_minus.h rounds them; judged
 * against tolerance_deg, NAN: not judged. */
void measure_numbers(const struct vision_arm *arm, double tolerance_deg, char deviation[16],
                     char expanded[16]);

/* "Arm A lies 2.9 ± 0.2 degrees clockwise of square." for any arm but the one to act on. */
void measure_arm_sentence(const struct vision_arm *arm, enum vision_reference_kind reference,
                          bool unsure, char out[MEASURE_WORDS]);

/* "left", "right", "top", "bottom"; NULL where it is unknown. */
const char *measure_side(enum vision_side side);

/* What the spacing of the arms says against the card or the part; "" when there is nothing to say.
 */
void measure_witness_sentence(const struct vision_witness *witness, char out[MEASURE_WORDS]);

/* The whole answer on the arm that was judged: how it lies from what is wanted and what to do. why
 * makes it unsure, a sentence; used in no other case. */
void measure_write_verdict(FILE *to, const struct verdict *verdict, const char *why);

/* The same of a photo. verdict NULL: an arm against square, or a sticker, or why there is no
 * answer. */
void measure_message(const struct vision_result *result, const struct verdict *verdict,
                     char out[MEASURE_WORDS]);
/* That there are more arms than were measured; "" where there are none. */
void measure_untold_sentence(const struct vision_result *result, char out[MEASURE_WORDS]);
/* The arm that this message speaks of: index in the result. */
int measure_told(const struct vision_result *result, const struct verdict *verdict);

#endif
