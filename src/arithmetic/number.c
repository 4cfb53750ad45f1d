#include "number.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>

bool number_take(const char **text, double *out)
{
    /* strtod alone would take hexadecimal, "inf" and "nan". */
    const char *start = *text;
    while (isspace((unsigned char)*start))
        start++;
    const char *digits = start + (*start == '-' || *start == '+');
    if (!isdigit((unsigned char)*digits) && !(*digits == '.' && isdigit((unsigned char)digits[1])))
        return false;
    if (digits[0] == '0' && (digits[1] == 'x' || digits[1] == 'X'))
        return false;
    char *rest;
    double value = strtod(start, &rest);
    if (!isfinite(value))
        return false;
    *out = value;
    *text = rest;
    return true;
}

bool number_parse(const char *text, double *out)
{
    double value;
    if (isspace((unsigned char)*text) || !number_take(&text, &value) || *text)
        return false;
    *out = value;
    return true;
}

bool number_parse_whole(const char *text, int low, int high, int *out)
{
    double value;
    if (!number_parse(text, &value) || value < low || value > high || value != floor(value))
        return false;
    *out = (int)value;
    return true;
}
