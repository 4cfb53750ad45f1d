#include "plus_minus.h"

#include <math.h>
#include <stdio.h>

#define MAX_SHARE_DOWN 0.05 /* of the uncertainty */

int plus_minus_decimals(double expanded)
{
    return expanded < 0.095 ? 2 : 1;
}

double plus_minus_rounded(double expanded, int decimals)
{
    double unit = pow(10, -decimals);
    double nearest = unit * round(expanded / unit);
    if (nearest < expanded * (1 - MAX_SHARE_DOWN))
        nearest = unit * ceil(expanded / unit);
    return fmax(unit, nearest);
}

void plus_minus(double deg, double expanded_deg, char size[16], char expanded[16])
{
    int decimals = plus_minus_decimals(expanded_deg);
    snprintf(size, 16, "%.*f", decimals, fabs(deg));
    snprintf(expanded, 16, "%.*f", decimals, plus_minus_rounded(expanded_deg, decimals));
}
