#include "quantity.h"

#include "inch.h"
#include "number.h"
#include "uncertainty.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

static const char *skip_blanks(const char *text)
{
    while (isspace((unsigned char)*text))
        text++;
    return text;
}

/* Steps over a word and the blanks before it; false (text unchanged) when another stands there. */
static bool skip_word(const char **text, const char *word)
{
    const char *at = skip_blanks(*text);
    size_t length = strlen(word);
    if (strncmp(at, word, length) != 0)
        return false;
    *text = at + length;
    return true;
}

static const struct {
    const char *word;
    enum quantity_kind kind;
    double factor;
} units[] = {
    {"mm", QUANTITY_LENGTH, 1},           {"inch", QUANTITY_LENGTH, MM_PER_INCH},
    {"in", QUANTITY_LENGTH, MM_PER_INCH}, {"degrees", QUANTITY_ANGLE, 1},
    {"degree", QUANTITY_ANGLE, 1},        {"deg", QUANTITY_ANGLE, 1},
    {"\xc2\xb0", QUANTITY_ANGLE, 1}, /* the degree sign in UTF-8 */
    {"percent", QUANTITY_PERCENT, 1},     {"%", QUANTITY_PERCENT, 1},
};

/* Steps over a unit of the right kind and gives its factor; false (unchanged) without one. */
static bool take_unit(const char **text, enum quantity_kind kind, double *factor)
{
    for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
        if (units[i].kind != kind || !skip_word(text, units[i].word))
            continue;
        *factor = units[i].factor;
        return true;
    }
    return false;
}

/* Steps over "u", "U", the plus-minus sign or "+-"; gives what to multiply the number with. */
static bool take_spread(const char **text, double *to_standard)
{
    if (skip_word(text, "u"))
        *to_standard = 1;
    else if (skip_word(text, "U") || skip_word(text, "\xc2\xb1")) /* the sign in UTF-8 */
        *to_standard = 1 / uncertainty_normal_coverage();
    else if (skip_word(text, "+-"))
        *to_standard = 1 / sqrt(3);
    else
        return false;
    return true;
}

/* Beyond these nothing is told: an arm may be square to either side, no part is as long, no scale
 * as wide. They also keep what is made of u finite. */
static const double most_u[] = {[QUANTITY_LENGTH] = 1000,
                                [QUANTITY_ANGLE] = 45,
                                [QUANTITY_PERCENT] = 100,
                                [QUANTITY_NUMBER] = 1000};

enum quantity_fault quantity_parse(const char *text, enum quantity_kind kind, struct quantity *out)
{
    struct quantity read = {0};
    double factor = 1, to_standard = 0;
    if (!number_take(&text, &read.value))
        return QUANTITY_NO_NUMBER;
    const bool has_own = take_unit(&text, kind, &factor);
    double u_factor = factor;
    if (take_spread(&text, &to_standard)) {
        if (!number_take(&text, &read.u) || read.u < 0)
            return QUANTITY_BAD_UNCERTAINTY;
        if (take_unit(&text, kind, &u_factor) && !has_own)
            factor = u_factor; /* "0.5 ± 0.01 in": the unit of both */
        read.u *= u_factor * to_standard;
    }
    read.value *= factor;
    if (text[0] == ',' && isdigit((unsigned char)text[1])) /* the rest of the last number */
        return QUANTITY_COMMA;
    if (*skip_blanks(text) != '\0')
        return QUANTITY_WRONG_UNIT;
    if (read.u > most_u[kind])
        return QUANTITY_WIDE_UNCERTAINTY;
    *out = read;
    return QUANTITY_FINE;
}

const char *quantity_fault_says(enum quantity_fault fault)
{
    switch (fault) {
    case QUANTITY_NO_NUMBER:
        return "is not a number";
    case QUANTITY_COMMA:
        return "is written with a decimal comma; use a point, as in 0.4";
    case QUANTITY_WRONG_UNIT:
        return "has a unit or a word that does not belong there";
    case QUANTITY_BAD_UNCERTAINTY:
        return "needs a number that is not negative as its uncertainty";
    case QUANTITY_WIDE_UNCERTAINTY:
        return "has an uncertainty too large to tell anything";
    case QUANTITY_FINE:
        break;
    }
    return "";
}

bool quantity_has_comma(const char *word)
{
    struct quantity unused;
    return quantity_parse(word, QUANTITY_NUMBER, &unused) == QUANTITY_COMMA;
}

struct quantity quantity_carry(double (*f)(const double *values, const void *context),
                               const struct quantity *inputs, size_t n, const void *context)
{
    double values[QUANTITY_MAX_INPUTS] = {0}, squares = 0;
    for (size_t i = 0; i < n; i++)
        values[i] = inputs[i].value;
    struct quantity out = {.value = f(values, context)};
    for (size_t i = 0; i < n; i++) {
        if (inputs[i].u == 0)
            continue;
        values[i] = inputs[i].value + inputs[i].u;
        double up = f(values, context);
        values[i] = inputs[i].value - inputs[i].u;
        double half = (up - f(values, context)) / 2;
        values[i] = inputs[i].value;
        squares += half * half;
    }
    out.u = sqrt(squares);
    return out;
}

struct quantity quantity_size(struct quantity quantity)
{
    return (struct quantity){fabs(quantity.value), quantity.u};
}

double quantity_expanded(struct quantity quantity)
{
    return uncertainty_expand((struct uncertainty){quantity.u, INFINITY});
}

double quantity_rounded(double value, int decimals)
{
    double scale = pow(10, decimals);
    return round(value * scale) / scale + 0.0; /* -0 + 0 is 0 */
}
