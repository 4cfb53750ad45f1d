#include "order.h"

#include "arithmetic/decision.h"
#include "arithmetic/direction.h"

#include <math.h>
#include <stdio.h>

enum order order_make(bool unsure, double off, double expanded, double tolerance)
{
    const bool named = tolerance > 0;
    const enum order judged[DECISION_COUNT] = {
        [DECISION_ACCEPT] = named ? ORDER_GOOD : ORDER_SQUARE,
        [DECISION_REJECT] = ORDER_TURN,
        [DECISION_CANNOT_TELL] = ORDER_CANNOT_TELL,
    };
    if (unsure)
        return ORDER_UNSURE;
    return judged[decision_make(off, expanded, named ? tolerance : DECISION_USUAL_DEG)];
}

bool order_half_way(double off_deg, double expanded_deg)
{
    return fabs(off_deg) > expanded_deg && fabs(off_deg) + expanded_deg > 45;
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
