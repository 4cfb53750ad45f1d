/* Values of command-line options within their limits. On a fault the message is out. */
#ifndef OPTION_VALUE_H
#define OPTION_VALUE_H

#include "quantity.h"

/* A quantity whose size, whatever its sign, lies in [low, high]. name without its dashes.
 * EXIT_DONE, or what fail_usage() returned; out may then be changed. */
int option_quantity(const char *name, const char *word, enum quantity_kind kind, double low,
                    double high, struct quantity *out);

/* A plain number in [low, high]; out is changed only on EXIT_DONE. */
int option_number(const char *name, const char *word, double low, double high, double *out);

#endif
