#include "plus_minus.h"

#include <math.h>
#include <stdio.h>

#define MAX_SHARE_DOWN 0.05 /* of the uncertainty */
#define EXACT_SHARE 0.001   /* of the last decimal */

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

const char *plus_minus_words(double value, double expanded, int decimals, const char *unit,
                             char text[PLUS_MINUS_WORDS])
{
    const char *blank = *unit ? " " : "";
    double shown = fabs(value) * pow(10, decimals) < 0.5 ? 0 : value; /* no "-0.0" */
    if (expanded > EXACT_SHARE * pow(10, -decimals))
        snprintf(text, PLUS_MINUS_WORDS, "%.*f ± %.*f%s%s", decimals, shown, decimals,
                 plus_minus_rounded(expanded, decimals), blank, unit);
    else
        snprintf(text, PLUS_MINUS_WORDS, "%.*f%s%s", decimals, shown, blank, unit);
    return text;
}

const char *plus_minus_quantity(struct quantity quantity, int decimals, const char *unit,
                                char text[PLUS_MINUS_WORDS])
{
    return plus_minus_words(quantity.value, quantity_expanded(quantity), decimals, unit, text);
}

const char *plus_minus_degrees(double deg, double expanded_deg, char text[PLUS_MINUS_WORDS])
{
    return plus_minus_words(fabs(deg), expanded_deg, plus_minus_decimals(expanded_deg), "degrees",
                            text);
}

void plus_minus(double deg, double expanded_deg, char size[16], char expanded[16])
{
    int decimals = plus_minus_decimals(expanded_deg);
    snprintf(size, 16, "%.*f", decimals, fabs(deg));
    snprintf(expanded, 16, "%.*f", decimals, plus_minus_rounded(expanded_deg, decimals));
}
