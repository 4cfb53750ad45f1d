#include "decision.h"

#include <math.h>
#include <stddef.h>

/* What is written as lying at a limit may come out just beside it: 58.2 - 58.1 is more than 0.1 in
 * binary digits. Far less than anyone measures. */
#define ROUNDING_SHARE 1e-9

enum decision decision_make(double deviation, double expanded, double tolerance)
{
    if (fabs(deviation) <= tolerance - expanded + ROUNDING_SHARE * tolerance)
        return DECISION_ACCEPT;
    if (fabs(deviation) >= tolerance + expanded - ROUNDING_SHARE * tolerance)
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
