#include "order.h"

#include "arithmetic/decision.h"
#include "arithmetic/direction.h"

#include <math.h>
#include <stdio.h>

/* The way is known, but not surely to the square that is meant. */
static bool is_half_way(const struct order_question *q)
{
    const double off_deg = fabs(q->off);
    return q->any_square && !(off_deg <= q->expanded) &&
           (direction_is_half_way(off_deg) || off_deg + q->expanded > 45);
}

enum order order_make(const struct order_question *q)
{
    const bool named = q->tolerance > 0;
    const enum order judged[DECISION_COUNT] = {
        [DECISION_ACCEPT] = named ? ORDER_GOOD : ORDER_SQUARE,
        [DECISION_REJECT] = ORDER_TURN,
        [DECISION_CANNOT_TELL] = ORDER_CANNOT_TELL,
    };
    const enum decision decision =
        decision_make(q->off, q->expanded, named ? q->tolerance : DECISION_USUAL_DEG);
    if (q->unsure)
        return ORDER_UNSURE;
    return decision != DECISION_ACCEPT && is_half_way(q) ? ORDER_HALF_WAY : judged[decision];
}

int order_first(const double *off_deg, int n)
{
    const double much_deg = 10;
    int nearest = 0;
    for (int i = 1; i < n; i++)
        if (fabs(off_deg[i]) < fabs(off_deg[nearest]))
            nearest = i;
    return n > 0 && fabs(off_deg[nearest]) < fabs(off_deg[0]) - much_deg ? nearest : 0;
}

void order_square(double off_deg, double expanded_deg, const char *to, char out[ORDER_SQUARE_WORDS])
{
    if (fabs(off_deg) <= expanded_deg)
        snprintf(out, ORDER_SQUARE_WORDS, "square%s as far as the photo can tell", to);
    else
        snprintf(out, ORDER_SQUARE_WORDS, "as good as square%s", to);
}

const char *order_lies(double off_deg)
{
    return direction_way(off_deg);
}

const char *order_cure(double off_deg)
{
    return direction_way(-off_deg);
}
