/* A number with its standard uncertainty, read as a person writes it at the bench. */
#ifndef QUANTITY_H
#define QUANTITY_H

#include <stdbool.h>
#include <stddef.h>

struct quantity {
    double value;
    double u; /* standard uncertainty, same unit, >= 0; 0 taken as exact */
};

enum quantity_kind {
    QUANTITY_LENGTH,  /* mm; "in" is turned into mm */
    QUANTITY_ANGLE,   /* degrees */
    QUANTITY_PERCENT, /* percent of the radio's scale */
    QUANTITY_NUMBER,  /* no unit */
};

enum quantity_fault {
    QUANTITY_FINE,
    QUANTITY_NO_NUMBER,       /* does not start with a finite number */
    QUANTITY_COMMA,           /* a decimal comma where a point belongs */
    QUANTITY_WRONG_UNIT,      /* a unit of another kind, or an unknown word */
    QUANTITY_BAD_UNCERTAINTY, /* what follows u, U, ± or +- is not a number, or is negative */
    QUANTITY_WIDE_UNCERTAINTY /* u beyond 45 degrees, 1000 mm, 100 percent or 1000 */
};

/* Reads "12", "12 mm", "0.5 in", "90 deg", "91.3u0.2" or "12 mm +- 0.1 mm" from the whole text.
 *   u 0.1    standard uncertainty 0.1
 *   U 0.2    expanded uncertainty for 95 %: u = 0.2 / 1.96. "11.3 ± 0.2 degrees" means the same,
 *            so that what the program printed is taken back as it was
 *   +- 0.1   surely within these limits: u = 0.1 / sqrt(3), JCGM 100:2008, 4.3.7. Who types it for
 *            ± is given a little more, never less
 * A unit behind one of the two numbers alone is that of both: "0.5 ± 0.01 in" as it is printed.
 * out is unchanged unless QUANTITY_FINE. */
enum quantity_fault quantity_parse(const char *text, enum quantity_kind kind, struct quantity *out);
/* The same for the help of commands that read them. */
#define QUANTITY_HELP                                                                              \
    "A number may carry how well it is known: 91.3U0.2 or 91.3±0.2, as this program\n"            \
    "prints it (for 95 %); 91.3u0.1, standard uncertainty; 91.3+-0.2, sure limits.\n"

/* What is wrong, to follow a quoted text: "is not a number" and so on. "" for QUANTITY_FINE. */
const char *quantity_fault_says(enum quantity_fault fault);

/* Is the word a number but for its decimal comma? */
bool quantity_has_comma(const char *word);

/* A function of n numbers with the uncertainty that theirs give it. Each number is moved one
 * standard uncertainty up and down while the others stay (JCGM 100:2008, 5.1.4, note 2); they must
 * be independent. n is at most QUANTITY_MAX_INPUTS. u is NAN when f cannot be told (NAN) there. */
#define QUANTITY_MAX_INPUTS 16
struct quantity quantity_carry(double (*f)(const double *values, const void *context),
                               const struct quantity *inputs, size_t n, const void *context);

/* Rounded for printing, so that what rounds to zero has no minus sign. */
double quantity_rounded(double value, int decimals);

/* Without its sign. */
struct quantity quantity_size(struct quantity quantity);

/* Expanded uncertainty for 95 %, u taken as well known. */
double quantity_expanded(struct quantity quantity);

#endif
