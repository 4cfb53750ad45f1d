#include "option_value.h"

#include "commands.h"
#include "message.h"
#include "number.h"

#include <math.h>

int option_quantity(const char *name, const char *word, enum quantity_kind kind, double low,
                    double high, struct quantity *out)
{
    enum quantity_fault fault = quantity_parse(word, kind, out);
    if (fault != QUANTITY_FINE)
        return fail_usage("--%s: \"%s\" %s.", name, word, quantity_fault_says(fault));
    if (fabs(out->value) < low || fabs(out->value) > high)
        return fail_usage("--%s must be between %g and %g, with either sign, not %s.", name, low,
                          high, word);
    return EXIT_DONE;
}

int option_number(const char *name, const char *word, double low, double high, double *out)
{
    double value;
    if (!number_parse(word, &value))
        return fail_usage("--%s: \"%s\" is not a number.", name, word);
    if (value < low || value > high)
        return fail_usage("--%s must be between %g and %g, not %s.", name, low, high, word);
    *out = value;
    return EXIT_DONE;
}
