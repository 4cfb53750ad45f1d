#include "spread.h"

#include <math.h>
#include <stdlib.h>

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

void spread_sort(double *values, size_t n)
{
    qsort(values, n, sizeof *values, by_size);
}

double spread_quantile(const double *sorted, size_t n, double share)
{
    long i = lround(ceil(share * (double)n)) - 1;
    return n == 0 ? 0 : sorted[i < 0 ? 0 : i];
}

void spread_share_limits(int part, int whole, double *low, double *high)
{
    const double z = 1.959963984540054; /* of the normal distribution, two-sided 95 % */
    double n = whole, p = part / n, z2 = z * z;
    double middle = (p + z2 / (2 * n)) / (1 + z2 / n);
    double half = z / (1 + z2 / n) * sqrt(p * (1 - p) / n + z2 / (4 * n * n));
    *low = fmax(middle - half, 0);
    *high = fmin(middle + half, 1);
}
