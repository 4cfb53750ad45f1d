#include "number.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

bool number_parse(const char *text, double *out)
{
    /* strtod alone would take blanks, hexadecimal, "inf" and "nan". */
    if (!*text || strspn(text, "0123456789+-.eE") != strlen(text))
        return false;
    char *end;
    double value = strtod(text, &end);
    if (*end || end == text || !isfinite(value))
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
