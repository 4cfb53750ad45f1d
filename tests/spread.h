/* Figures that describe a sample. */
#ifndef SPREAD_H
#define SPREAD_H

#include <stddef.h>

/* Sorts upwards. */
void spread_sort(double *values, size_t n);
/* Smallest value that at least this share of the sorted values does not exceed; 0 when n is 0. */
double spread_quantile(const double *sorted, size_t n, double share);
/* Limits of a share of which `part` in `whole` were seen, 95 % confidence: Wilson's score interval.
 * E. B. Wilson, "Probable inference, the law of succession, and statistical inference", Journal of
 * the American Statistical Association 22 (1927). whole > 0. */
void spread_share_limits(int part, int whole, double *low, double *high);

#endif
