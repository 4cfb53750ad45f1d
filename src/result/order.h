/* What a measurement orders: the one home of it for text, JSON and picture, lest one says "turn"
 * where another says "leave it". */
#ifndef ORDER_H
#define ORDER_H

#include <stdbool.h>

enum order {
    ORDER_TURN,        /* back, the way of order_cure() */
    ORDER_SQUARE,      /* leave it: within the usual tolerance, where none was named */
    ORDER_GOOD,        /* leave it: within the tolerance that was named */
    ORDER_CANNOT_TELL, /* the uncertainty spans the tolerance's limit, or two squares */
    ORDER_NOTED,       /* measured, but not judged */
    ORDER_UNSURE,      /* something disagrees: nothing is ordered on it */
    ORDER_NONE,        /* no answer at all */
};

/* Of something that is off by so much, expanded uncertainty (95 %) and tolerance in the same unit,
 * decided after ISO 14253-1 (decision.h). tolerance 0: none was named, all is degrees; then it is
 * decided against DECISION_USUAL_DEG, as "advise" and a job do. */
enum order order_make(bool unsure, double off, double expanded, double tolerance);

/* Whether what is off square by so much may lie as near to the next square: then neither way back
 * is ordered before somebody says which one is meant. */
bool order_half_way(double off_deg, double expanded_deg);

/* Which of n arms, off square by so much, is spoken of first: the first, unless another stands so
 * much nearer that it must be the one in use. Of a star's arms some are far from square always. */
int order_first(const double *off_deg, int n);

#define ORDER_SQUARE_WORDS 80 /* bytes */

/* What to call something that is off by so much and left: "square as far as the photo can tell",
 * or "as good as square" where it is surely off. to: reference_to(), after "square". */
void order_square(double off_deg, double expanded_deg, const char *to,
                  char out[ORDER_SQUARE_WORDS]);

/* "clockwise" or "counter-clockwise": how something that is off by so much (counter-clockwise
 * positive) lies, and how to turn it back. */
const char *order_lies(double off_deg);
const char *order_cure(double off_deg);

#endif
