/* What a measurement orders: the one home of it for text, JSON and picture, lest one says "turn"
 * where another says "leave it". */
#ifndef ORDER_H
#define ORDER_H

#include <stdbool.h>

enum order {
    ORDER_TURN,        /* back, the way of order_cure() */
    ORDER_SQUARE,      /* leave it: square, as far as the photo can tell */
    ORDER_GOOD,        /* leave it: within the tolerance */
    ORDER_CANNOT_TELL, /* the uncertainty spans the tolerance's limit */
    ORDER_NOTED,       /* measured, but not judged */
    ORDER_UNSURE,      /* something disagrees: nothing is ordered on it */
    ORDER_NONE,        /* no answer at all */
};

/* Of something that is off by so much, expanded uncertainty (95 %) and tolerance in the same unit;
 * tolerance 0: none was asked for, what lies within its uncertainty is left. Otherwise decided
 * after ISO 14253-1 (decision.h). */
enum order order_make(bool unsure, double off, double expanded, double tolerance);

/* "clockwise" or "counter-clockwise": how something that is off by so much (counter-clockwise
 * positive) lies, and how to turn it back. */
const char *order_lies(double off_deg);
const char *order_cure(double off_deg);

#endif
