#include "decision.h"

#include <math.h>
#include <stddef.h>

enum decision decision_make(double deviation, double expanded, double tolerance)
{
    if (fabs(deviation) <= tolerance - expanded)
        return DECISION_ACCEPT;
    if (fabs(deviation) >= tolerance + expanded)
        return DECISION_REJECT;
    return DECISION_CANNOT_TELL;
}

const char *decision_name(enum decision decision)
{
    switch (decision) {
    case DECISION_ACCEPT:
        return "accept";
    case DECISION_REJECT:
        return "reject";
    case DECISION_CANNOT_TELL:
        return "cannot tell";
    default:
        return NULL;
    }
}
