#include "order.h"

#include "decision.h"

#include <math.h>

enum order order_make(bool unsure, double off, double expanded, double tolerance)
{
    static const enum order judged[DECISION_COUNT] = {
        [DECISION_ACCEPT] = ORDER_GOOD,
        [DECISION_REJECT] = ORDER_TURN,
        [DECISION_CANNOT_TELL] = ORDER_CANNOT_TELL,
    };
    if (unsure)
        return ORDER_UNSURE;
    if (tolerance > 0)
        return judged[decision_make(off, expanded, tolerance)];
    return fabs(off) <= expanded ? ORDER_SQUARE : ORDER_TURN;
}

const char *order_lies(double off_deg)
{
    return off_deg > 0 ? "counter-clockwise" : "clockwise";
}

const char *order_cure(double off_deg)
{
    return off_deg > 0 ? "clockwise" : "counter-clockwise";
}
