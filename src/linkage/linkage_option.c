#include "linkage_option.h"

#include "advice/advice.h"
#include "arithmetic/thread.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "base/option_value.h"
#include "linkage.h"
#include "linkage_file.h"
#include "measure/measure_options.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

int linkage_check_angle(const char *word, double deg)
{
    return fabs(deg) <= LINKAGE_MOST_DEG
               ? EXIT_DONE
               : fail_usage("\"%s\" is no angle between %.0f and %.0f degrees.", word,
                            -LINKAGE_MOST_DEG, LINKAGE_MOST_DEG);
}

int linkage_check_length(const char *word, double mm)
{
    return fabs(mm) <= LINKAGE_LONGEST_MM
               ? EXIT_DONE
               : fail_usage("\"%s\" is no length of a model: more than %.0f mm.", word,
                            LINKAGE_LONGEST_MM);
}

int linkage_check_scale(const char *name, double deg_per_percent)
{
    double size = fabs(deg_per_percent);
    return size >= ADVICE_SCALE_MIN && size <= ADVICE_SCALE_MAX
               ? EXIT_DONE
               : fail_usage("--%s: one percent turns %g to %g degrees, whichever way, not %g.",
                            name, ADVICE_SCALE_MIN, ADVICE_SCALE_MAX, deg_per_percent);
}

int linkage_check_step(double percent)
{
    return percent >= ADVICE_STEP_MIN && percent <= ADVICE_STEP_MAX
               ? EXIT_DONE
               : fail_usage("--step: a radio's step is %g to %g percent, not %g.", ADVICE_STEP_MIN,
                            ADVICE_STEP_MAX, percent);
}

int linkage_check_percent(const char *name, double percent)
{
    return percent > 0 && percent <= LINKAGE_MOST_PERCENT
               ? EXIT_DONE
               : fail_usage("--%s must be above 0 and at most %.0f percent, not %g.", name,
                            LINKAGE_MOST_PERCENT, percent);
}

static int take_quantity(const struct linkage_option *option, const char *value)
{
    struct quantity read;
    enum quantity_fault fault = quantity_parse(value, option->kind, &read);
    if (fault != QUANTITY_FINE)
        return fail_usage("--%s: \"%s\" %s.", option->name, value, quantity_fault_says(fault));
    if (option->type == OPTION_POSITIVE && !(read.value > 0))
        return fail_usage("--%s must be above 0, not \"%s\".", option->name, value);
    if (option->kind == QUANTITY_ANGLE && linkage_check_angle(value, read.value) != EXIT_DONE)
        return EXIT_USAGE;
    if (option->kind == QUANTITY_LENGTH && linkage_check_length(value, read.value) != EXIT_DONE)
        return EXIT_USAGE;
    bool plain = option->type == OPTION_NUMBER || option->type == OPTION_SIZE;
    if (option->type == OPTION_SIZE && read.value < 0)
        return fail_usage("--%s cannot be negative, and \"%s\" is.", option->name, value);
    if (plain && read.u > 0)
        return fail_usage("--%s takes a number without uncertainty, not \"%s\".", option->name,
                          value);
    if (plain)
        *(double *)option->to = read.value;
    else
        *(struct quantity *)option->to = read;
    return EXIT_DONE;
}

static int take_list(const struct linkage_option *option, const char *value)
{
    struct linkage_option_list *list = option->to;
    if (list->count == LINKAGE_OPTION_MOST)
        return fail_usage("--%s can be given %d times at most.", option->name, LINKAGE_OPTION_MOST);
    list->items[list->count++] = value;
    return EXIT_DONE;
}

static int take_value(const struct linkage_option *option, const char *value)
{
    switch (option->type) {
    case OPTION_QUANTITY:
    case OPTION_POSITIVE:
    case OPTION_NUMBER:
    case OPTION_SIZE:
        return take_quantity(option, value);
    case OPTION_TEXT:
        *(const char **)option->to = value;
        return EXIT_DONE;
    case OPTION_THREAD:
        return thread_pitch(value, option->to)
                   ? EXIT_DONE
                   : fail_usage("--%s: \"%s\" is not a link's thread; write " THREAD_WRITTEN ".",
                                option->name, value);
    case OPTION_STEP:
        return linkage_take_step(value, option->to)
                   ? EXIT_DONE
                   : fail_usage("--%s: \"%s\" is not known; write \"half turn\", \"whole turn\", "
                                "\"1/6 turn\" or any.",
                                option->name, value);
    case OPTION_PHOTO:
        return measure_options_take(option->to, measure_options_named(option->name), value);
    case OPTION_LIST:
        return take_list(option, value);
    case OPTION_FLAG:
        break;
    }
    *(bool *)option->to = true;
    return EXIT_DONE;
}

static const struct linkage_option *find(const struct linkage_option *table, size_t n,
                                         const char *name, size_t length)
{
    for (size_t i = 0; i < n; i++)
        if (strlen(table[i].name) == length && strncmp(table[i].name, name, length) == 0)
            return &table[i];
    return NULL;
}

static bool is_value(const char *word)
{
    return word[0] != '-' || isdigit((unsigned char)word[1]) || word[1] == '.' || !word[1];
}

/* One option at argv[*at]; steps *at over a value that follows it. seen: by its place in the table.
 */
static int take_option(int argc, char **argv, int *at, const struct linkage_option *table, size_t n,
                       bool *seen)
{
    const char *word = argv[*at];
    const char *name = strcmp(word, "-o") == 0 ? "output" : word + 2;
    size_t length = strcspn(name, "=");
    const struct linkage_option *option =
        word[1] == '-' || strcmp(word, "-o") == 0 ? find(table, n, name, length) : NULL;
    if (!option)
        return fail_usage("there is no option \"%s\"; \"armsquare linkage %s --help\" lists them.",
                          word, argv[0]);
    if (option->type != OPTION_LIST &&
        option_once(option->name, &seen[option - table]) != EXIT_DONE)
        return EXIT_USAGE;
    const char *value = name[length] == '=' ? name + length + 1 : NULL;
    if (option->type == OPTION_FLAG)
        return value ? fail_usage("--%s takes no word after it: leave out \"=%s\".", option->name,
                                  value)
                     : take_value(option, NULL);
    if (!value && *at + 1 >= argc)
        return fail_usage(
            "%.*s wants a value after it; \"armsquare linkage %s --help\" tells which.",
            (int)strcspn(word, "="), word, argv[0]);
    return take_value(option, value ? value : argv[++*at]);
}

int linkage_options_read(int argc, char **argv, const struct linkage_option *table, size_t n,
                         struct linkage_option_list *values, bool *help)
{
    bool options = true, seen[LINKAGE_OPTION_MOST] = {false};
    for (int at = 1; at < argc; at++) {
        if (options && strcmp(argv[at], "--") == 0) {
            options = false;
            continue;
        }
        if (options && (strcmp(argv[at], "--help") == 0 || strcmp(argv[at], "-h") == 0)) {
            *help = true;
            return EXIT_DONE;
        }
        int status = EXIT_DONE;
        if (options && !is_value(argv[at]))
            status = take_option(argc, argv, &at, table, n, seen);
        else if (values->count == LINKAGE_OPTION_MOST)
            status = fail_usage("\"%s\" is one value too many.", argv[at]);
        else
            values->items[values->count++] = argv[at];
        if (status != EXIT_DONE)
            return status;
    }
    return EXIT_DONE;
}

bool linkage_options_begin(int argc, char **argv, const struct linkage_option *table, size_t n,
                           struct linkage_option_list *values, const char *help_text, int *status)
{
    bool help = false;
    *status = linkage_options_read(argc, argv, table, n, values, &help);
    if (*status == EXIT_DONE && help)
        fputs(help_text, stdout);
    return *status == EXIT_DONE && !help;
}
