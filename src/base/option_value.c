#include "option_value.h"

#include "arithmetic/direction.h"
#include "arithmetic/number.h"
#include "exit_status.h"
#include "message.h"
#include "safe_file.h"

#include <ctype.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

#define LIMIT 40

/* A limit as a person writes it, 1000000 and 0.000001. */
static const char *limit(double value, char out[LIMIT])
{
    snprintf(out, LIMIT, "%.6f", value);
    char *end = out + strlen(out);
    while (end[-1] == '0')
        *--end = '\0';
    if (end[-1] == '.')
        end[-1] = '\0';
    return out;
}

int option_quantity(const char *name, const char *word, enum quantity_kind kind, double low,
                    double high, struct quantity *out)
{
    enum quantity_fault fault = quantity_parse(word, kind, out);
    if (fault == QUANTITY_FINE && out->u > high)
        fault = QUANTITY_WIDE_UNCERTAINTY;
    if (fault != QUANTITY_FINE)
        return fail_usage("--%s: \"%s\" %s.", name, word, quantity_fault_says(fault));
    if (fabs(out->value) < low || fabs(out->value) > high) {
        char least[LIMIT], most[LIMIT];
        return fail_usage("--%s must be between %s and %s, with either sign, not %s.", name,
                          limit(low, least), limit(high, most), word);
    }
    return EXIT_DONE;
}

int option_off_square(const char *name, double off_deg)
{
    if (fabs(off_deg) <= 45)
        return EXIT_DONE;
    return fail_usage("--%s %.4g: no arm is more than 45 degrees off square. If that is its angle, "
                      "it is %.4g off.",
                      name, off_deg, direction_deviation(off_deg));
}

int option_number(const char *name, const char *word, double low, double high, double *out)
{
    double value;
    if (!number_parse(word, &value))
        return fail_usage(
            "--%s: \"%s\" %s.", name, word,
            quantity_fault_says(quantity_has_comma(word) ? QUANTITY_COMMA : QUANTITY_NO_NUMBER));
    if (value < low || value > high) {
        char least[LIMIT], most[LIMIT];
        return fail_usage("--%s must be between %s and %s, not %s.", name, limit(low, least),
                          limit(high, most), word);
    }
    *out = value;
    return EXIT_DONE;
}

/* ---- Files to write ----------------------------------------------------------------------- */

static bool ends_in_one_of(const char *path, const char *suffixes)
{
    size_t length = strlen(path);
    for (const char *at = strchr(suffixes, '.'); at; at = strchr(at + 1, '.')) {
        size_t tail = strcspn(at, ", ");
        if (length > tail && strncasecmp(path + length - tail, at, tail) == 0)
            return true;
    }
    return false;
}

int option_output(const char *option, const char *path, const char *suffixes)
{
    if (!ends_in_one_of(path, suffixes))
        return fail_usage("\"%s\" must end in %s, as what is written there does; name the file so "
                          "with %s.",
                          path, suffixes, option);
    const char *kept = safe_file_keeps(path);
    return kept ? fail_kept(path, kept, option) : EXIT_DONE;
}

/* ---- Unknown options ---------------------------------------------------------------------- */

/* The word that getopt_long() is in or has just left. Of a row of short options it stays in the
 * word until the last letter. */
static const char *word_at_fault(char **argv)
{
    const char *here = argv[optind];
    if (optopt != 0 && optopt < 256 && here && here[0] == '-' && here[1] != '-' &&
        strchr(here + 1, (char)optopt))
        return here;
    return argv[optind - 1];
}

int option_once(const char *name, bool *seen)
{
    if (*seen)
        return fail_usage("--%s is given twice; give it once.", name);
    *seen = true;
    return EXIT_DONE;
}

int option_taken(const struct option *options, int option, int *index, bool *seen)
{
    int i = options[*index].val == option ? *index : 0;
    while (options[i].name && options[i].val != option)
        i++;
    if (!options[i].name)
        return EXIT_DONE;
    *index = i;
    return option_once(options[i].name, &seen[i]);
}

/* A photo may well be called "-dash.jpg". */
static const char *file_hint(const char *word)
{
    return access(word, F_OK) == 0 ? " A file of that name is written with ./ before it." : "";
}

int usage_unknown_option(const char *command, int option, char **argv)
{
    const char *word = word_at_fault(argv);
    bool is_long = strncmp(word, "--", 2) == 0;
    int name = (int)strcspn(word, "=");
    if (option == ':' && is_long)
        return fail_usage("%.*s wants a value after it; \"armsquare %s --help\" tells which.", name,
                          word, command);
    if (option == ':')
        return fail_usage("-%c wants a value after it; \"armsquare %s --help\" tells which.",
                          optopt, command);
    if (is_long && optopt != 0)
        return fail_usage("%.*s takes no word after it: leave out \"%s\".", name, word,
                          word + name);
    if (is_long || optopt < 0 || !isgraph(optopt)) /* a letter of several bytes cannot be cut out */
        return fail_usage("there is no option \"%s\"; \"armsquare %s --help\" lists them.%s", word,
                          command, file_hint(word));
    return fail_usage("there is no option \"-%c\"; \"armsquare %s --help\" lists them.%s", optopt,
                      command, file_hint(word));
}
