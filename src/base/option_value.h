/* Command-line options: values within their limits, and what to say of a word that is none of them.
 * On a fault the message is out. */
#ifndef OPTION_VALUE_H
#define OPTION_VALUE_H

#include "arithmetic/quantity.h"

#include <getopt.h>
#include <stdbool.h>

/* A quantity whose size, whatever its sign, lies in [low, high], u at most high. name without its
 * dashes.
 * EXIT_DONE, or what fail_usage() returned; out may then be changed. */
int option_quantity(const char *name, const char *word, enum quantity_kind kind, double low,
                    double high, struct quantity *out);

/* Can this be how far an arm lies off square? Beyond 45 degrees another square is nearer: most
 * likely it is the arm's angle. EXIT_DONE, or what fail_usage() returned. */
int option_off_square(const char *name, double off_deg);

/* A file to write: does path end in one of the suffixes, in either case, and does nothing stand
 * there that is never replaced (safe_file.h)? option as in "name another place with -o FILE";
 * suffixes as they are told, such as ".pdf, .svg or .png". EXIT_DONE, or what fail_usage()
 * returned. */
int option_output(const char *option, const char *path, const char *suffixes);

/* What getopt_long() found wrong, as one sentence: an option that there is none of, one that lacks
 * its word, or one that takes none. To be called right after it returned '?' or ':' (option), with
 * opterr 0 and ':' before the short options. command as in "armsquare COMMAND --help". EXIT_USAGE.
 */
int usage_unknown_option(const char *command, int option, char **argv);

/* Of two values for one option the one would be left out in silence. *seen tells whether it was
 * given before, and is true afterwards. name without its dashes. EXIT_DONE, or what fail_usage()
 * returned. */
int option_once(const char *name, bool *seen);
/* The same of what getopt_long() returned, with its table and its index, which a short option
 * leaves as it was and is set here. seen: for each entry of the table, false at first. EXIT_DONE
 * for what is not in the table. */
int option_taken(const struct option *options, int option, int *index, bool *seen);

/* A plain number in [low, high]; out is changed only on EXIT_DONE. */
int option_number(const char *name, const char *word, double low, double high, double *out);

#endif
