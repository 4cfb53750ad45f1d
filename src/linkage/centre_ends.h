/* What ends the travel of a centred part decides what puts neutral in the middle.
 *
 * Where the servo makes both ends, all three angles are the linkage's at three angles of the servo.
 * A link that becomes longer by db turns the part by dt4 = -db / (c sin(t4 - t3)) (docs/linkage.md,
 * "Method") at each of them: the middle goes along with neutral, and the offset changes only by
 * what those three gains differ, to either side. Unequal throws come from horn and arm that are not
 * square at neutral, and are made equal by end points.
 *
 * Where the part stands at stops of its own, they stay where they are whatever the link: neutral
 * alone moves, and the link is the cure.
 *
 * Three angles do not tell the one from the other. */
#ifndef CENTRE_ENDS_H
#define CENTRE_ENDS_H

#include "arithmetic/quantity.h"

#include <stdbool.h>
#include <stddef.h>

enum centre_ends {
    CENTRE_ENDS_UNKNOWN,
    CENTRE_ENDS_SERVO,
    CENTRE_ENDS_STOPS, /* both of them */
};

/* "servo" or "stops". false (out unchanged) for anything else. */
bool centre_ends_parse(const char *word, enum centre_ends *out);
/* The same word; NULL when unknown. */
const char *centre_ends_word(enum centre_ends ends);

/* How to find out, at the bench: the beginning of a sentence, to be followed by what the one and
 * the other means. */
#define CENTRE_FIND_OUT                                                                            \
    "first find out what ends the travel: power off, link off its ball, move the part by hand. "

/* What to do about neutral that lies surely off the middle, without an order to the link: to follow
 * "Do: ". binds: a stop was seen on the way to that end ("first" or "second"), NULL for none. With
 * CENTRE_ENDS_STOPS the link's own cure is the answer, and text is "". */
void centre_ends_say(enum centre_ends ends, struct quantity offset, const char *binds, char *text,
                     size_t size);

#endif
