/* How far a line of points bends, told apart from its level and turn: Legendre polynomials of the
 * second and third order over its length, by least squares. */
#ifndef BEND_H
#define BEND_H

#include <stdbool.h>

struct bend {
    bool seen; /* false: too few points tell */
    double mm; /* root mean square of both coefficients */
};

#define BEND_ORDERS 4

/* Starts with the ends alone. */
struct bend_sums {
    double first_u, last_u, normal[BEND_ORDERS * BEND_ORDERS], right[BEND_ORDERS];
    int n;
};

/* A point at u along the line, off_mm beside it. */
void bend_add(struct bend_sums *sums, double u, double off_mm);

/* scatter_mm: of the points; so that noise beside a gap is no bend. */
struct bend bend_of(const struct bend_sums *sums, double scatter_mm);

#endif
