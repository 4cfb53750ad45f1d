/* The sentences about a linkage, one home for text, JSON, drawing and report. English. */
#ifndef LINKAGE_WORDS_H
#define LINKAGE_WORDS_H

#include "linkage_result.h"

#include <stdbool.h>
#include <stddef.h>

#define LINKAGE_SENTENCE_SIZE 768

/* What to do about one stage: "front crank: turn the link end out by 1 1/2 turns (0.60 mm longer);
 * 0.2 ± 0.4 degrees clockwise remain." Always fills text. false when there is nothing to do or to
 * say. */
bool linkage_say_action(const struct linkage *linkage, const struct linkage_result *result,
                        int stage, char *text, size_t size);

/* How the horn of one stage is taken to stand, where the crank that carries it does not stand as
 * wanted, so that it matters. false (text is "") where it does not. */
bool linkage_say_horn(const struct linkage *linkage, const struct linkage_result *result, int stage,
                      char *text, size_t size);

/* The index-th warning, most dangerous first; false past the last. */
bool linkage_say_warning(const struct linkage *linkage, const struct linkage_result *result,
                         int index, char *text, size_t size);

/* One sentence for a person, what is wrong and what to do, about this linkage. */
void linkage_say_fault(const struct linkage *linkage, const struct linkage_fault *fault, char *text,
                       size_t size);

/* What turns do to a link: "turn the link end out by 1 1/2 turns (0.60 mm longer)", or that it
 * stays. Shared with the other link advice. */
void linkage_say_turns(const struct thread_ends *ends, const struct thread_turns *turns, char *text,
                       size_t size);

/* "0.3 ± 0.4 degrees counter-clockwise": a deviation (measured minus wanted); of what slides, in
 * mm, "0.12 mm too far along". */
void linkage_say_off(struct quantity off, bool slides, int decimals, char *text, size_t size);
/* The same with "remain" behind it. */
void linkage_say_remains(struct quantity remains, bool slides, int decimals, char *text,
                         size_t size);

/* "" or, to follow the order of so many turns that the thread may not have them, " Watch: ...". */
const char *linkage_many_turns(const struct thread_turns *turns);

/* "" or, to follow an order of turns that leaves the part out of its tolerance (degrees), or maybe
 * so: that no turn which fits leaves less, and what may. Returns text. */
#define LINKAGE_TOO_MUCH_WORDS 240
const char *linkage_too_much_remains(struct quantity remains, double tolerance_deg,
                                     const struct thread_turns *turns,
                                     char text[LINKAGE_TOO_MUCH_WORDS]);

/* "the horn's angle", "the link" and so on. */
const char *linkage_part_name(enum linkage_part part);

/* Decimals worth showing: two of what slides, in mm; else as of any angle (plus_minus.h), and one
 * where it is exact. */
int linkage_decimals(struct quantity quantity, bool slides);

/* "degrees" or "mm". */
const char *linkage_unit(enum linkage_kind kind);

#endif
