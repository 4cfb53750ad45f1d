/* What a measurement orders: the one home of it for text, JSON and picture, lest one says "turn"
 * where another says "leave it". */
#ifndef ORDER_H
#define ORDER_H

#include <stdbool.h>

enum order {
    ORDER_TURN,        /* back, the way of order_cure() */
    ORDER_SQUARE,      /* leave it: within the usual tolerance, where none was named */
    ORDER_GOOD,        /* leave it: within the tolerance that was named */
    ORDER_CANNOT_TELL, /* the uncertainty spans the tolerance's limit */
    ORDER_HALF_WAY,    /* nearly half way between two squares: say first which one is meant */
    ORDER_NOTED,       /* measured, but not judged */
    ORDER_UNSURE,      /* something disagrees: nothing is ordered on it */
    ORDER_NONE,        /* no answer at all */
};

/* Something that is off by so much; expanded uncertainty (95 %, NAN: unknown) and tolerance in the
 * same unit. */
struct order_question {
    bool unsure;
    bool any_square; /* off is degrees from the nearest square, which nobody named */
    double off, expanded;
    double tolerance; /* 0: none was named, and all is degrees: DECISION_USUAL_DEG, as "advise" and
                         a job have it */
};

/* Decided after ISO 14253-1 (decision.h). Where any square will do and the next one may be the
 * nearer, or be meant as well (direction_is_half_way()), no way is ordered. */
enum order order_make(const struct order_question *question);

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
