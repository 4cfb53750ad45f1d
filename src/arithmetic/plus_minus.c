#include "plus_minus.h"

#include "decision.h"
#include "direction.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define MAX_SHARE_DOWN 0.05 /* of the uncertainty */
#define EXACT_SHARE 0.001   /* of the last decimal */

#define MOST_DECIMALS 5

int plus_minus_decimals(double expanded)
{
    return expanded < 0.095 ? 2 : 1;
}

double plus_minus_as_printed(double value, int decimals)
{
    char text[32];
    snprintf(text, sizeof text, "%.*f", decimals, value);
    return strtod(text, NULL);
}

static bool is_shown(double expanded, int decimals)
{
    return expanded > EXACT_SHARE * pow(10, -decimals);
}

static double expanded_shown(double expanded, int decimals)
{
    return is_shown(expanded, decimals) ? plus_minus_rounded(expanded, decimals) : 0;
}

int plus_minus_decimals_judged(double off, double expanded, double tolerance)
{
    int decimals = plus_minus_decimals(expanded);
    if (isnan(expanded) || isnan(tolerance))
        return decimals;
    const enum decision decision = decision_make(off, expanded, tolerance);
    for (; decimals < MOST_DECIMALS; decimals++) {
        double beside = expanded_shown(expanded, decimals);
        if (decision_make(plus_minus_as_printed(off, decimals), beside, tolerance) == decision)
            break;
    }
    return decimals;
}

double plus_minus_rounded(double expanded, int decimals)
{
    double unit = pow(10, -decimals);
    double nearest = unit * round(expanded / unit);
    if (nearest < expanded * (1 - MAX_SHARE_DOWN))
        nearest = unit * ceil(expanded / unit);
    return nearest < unit ? unit : nearest; /* NAN as it is */
}

const char *plus_minus_degree_word(double deg)
{
    return deg == 1 ? "degree" : "degrees";
}

const char *plus_minus_words(double value, double expanded, int decimals, const char *unit,
                             char text[PLUS_MINUS_WORDS])
{
    const char *blank = *unit ? " " : "";
    double shown = fabs(value) * pow(10, decimals) < 0.5 ? 0 : value; /* no "-0.0" */
    if (is_shown(expanded, decimals))
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
    return plus_minus_judged(deg, expanded_deg, NAN, text);
}

const char *plus_minus_judged(double off_deg, double expanded_deg, double tolerance_deg,
                              char text[PLUS_MINUS_WORDS])
{
    int decimals = plus_minus_decimals_judged(off_deg, expanded_deg, tolerance_deg);
    return plus_minus_words(fabs(off_deg), expanded_deg, decimals, "degrees", text);
}

const char *plus_minus_angle(struct quantity angle_deg, char text[PLUS_MINUS_WORDS])
{
    double expanded = quantity_expanded(angle_deg);
    int decimals = is_shown(expanded, 1) ? plus_minus_decimals(expanded) : 1;
    return plus_minus_words(angle_deg.value, expanded, decimals, "degrees", text);
}

void plus_minus(double off_deg, double expanded_deg, double tolerance_deg, char size[16],
                char expanded[16])
{
    int decimals = plus_minus_decimals_judged(off_deg, expanded_deg, tolerance_deg);
    snprintf(size, 16, "%.*f", decimals, fabs(off_deg));
    if (isnan(expanded_deg))
        snprintf(expanded, 16, "?");
    else
        snprintf(expanded, 16, "%.*f", decimals, expanded_shown(expanded_deg, decimals));
}

const char *plus_minus_side(double off_deg, int decimals)
{
    return plus_minus_as_printed(fabs(off_deg), decimals) == 0 ? "off" : direction_way(off_deg);
}

const char *plus_minus_lies(double off_deg, int decimals)
{
    if (plus_minus_as_printed(fabs(off_deg), decimals) == 0)
        return "off";
    return off_deg > 0 ? "counter-clockwise of" : "clockwise of";
}
