/* From what square or a wanted angle counts, in words. */
#ifndef REFERENCE_WORDS_H
#define REFERENCE_WORDS_H

#include "vision.h"

/* To follow "square" or "the wanted 45 degrees": " to the link", " to the edge pointed at", " to
 * the line of the two points". "" for the card, whose dark edge is what square is from unless
 * somebody asks for something else. */
const char *reference_to(enum vision_reference_kind reference);

/* What the JSON calls it: "card", "edge", "link", "points". */
const char *reference_name(enum vision_reference_kind reference);
/* The one of that name; the card where there is none, or NULL. */
enum vision_reference_kind reference_by_name(const char *name);

#endif
