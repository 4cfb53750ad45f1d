/* Words of the linkage modes: options in tables, and values that may be negative numbers ("-3 deg"
 * is a value here, never a row of one-letter options). */
#ifndef LINKAGE_OPTION_H
#define LINKAGE_OPTION_H

#include "arithmetic/quantity.h"

#include <stdbool.h>
#include <stddef.h>

/* What is beyond is no angle of an arm, but a slip of the keys. */
#define LINKAGE_MOST_DEG 360.0
/* Beyond any radio's scale; common practice, no source. */
#define LINKAGE_MOST_PERCENT 300.0

/* The same of a length that no model has (LINKAGE_LONGEST_MM), whatever its sign. */
int linkage_check_length(const char *word, double mm);

/* What servos and radios can be set to. Each: EXIT_DONE, or EXIT_USAGE for what none has, the
 * message being out; name without its dashes. */
int linkage_check_scale(const char *name, double deg_per_percent); /* as advise takes it */
int linkage_check_step(double percent);                            /* of --step, likewise */
int linkage_check_percent(const char *name, double percent);       /* above 0 */

enum linkage_option_type {
    OPTION_QUANTITY, /* struct quantity, of the kind given */
    OPTION_POSITIVE, /* struct quantity above 0, of the kind given */
    OPTION_NUMBER,   /* double, of the kind given, without uncertainty */
    OPTION_SIZE,     /* the same, not negative */
    OPTION_TEXT,     /* const char *, borrowed from argv */
    OPTION_FLAG,     /* bool */
    OPTION_THREAD,   /* double, pitch in mm */
    OPTION_STEP,     /* double, turns */
    OPTION_PHOTO,    /* struct measure_words_given: how photos are to be measured */
    OPTION_LIST,     /* struct linkage_option_list: may be given several times */
};

#define LINKAGE_OPTION_MOST 64
struct linkage_option_list {
    int count;
    const char *items[LINKAGE_OPTION_MOST];
};

struct linkage_option {
    const char *name; /* without the dashes */
    enum linkage_option_type type;
    enum quantity_kind kind;
    void *to;
};

/* A number as an angle. EXIT_DONE, or EXIT_USAGE for one beyond LINKAGE_MOST_DEG, the message being
 * out; word is what the person gave. */
int linkage_check_angle(const char *word, double deg);

/* Reads "--name VALUE", "--name=VALUE" and "-o FILE" into the table of n, at most
 * LINKAGE_OPTION_MOST, each but a list once; everything else goes to values, as does all behind
 * "--" (POSIX.1-2017, 12.2, guideline 10). Returns EXIT_DONE, or another status after a message.
 * help is set by -h or --help. */
int linkage_options_read(int argc, char **argv, const struct linkage_option *table, size_t n,
                         struct linkage_option_list *values, bool *help);

/* The same, and answers -h and --help with the text given. true: the mode goes on. false: it ends
 * here, with *status. */
bool linkage_options_begin(int argc, char **argv, const struct linkage_option *table, size_t n,
                           struct linkage_option_list *values, const char *help_text, int *status);

#endif
