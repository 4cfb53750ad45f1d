/* Medians without sorting. */
#ifndef MEDIAN_H
#define MEDIAN_H

/* The rank-th smallest of n > rank values, from rank 0; reorders v so that it stands at v[rank], no
 * greater value before it and no smaller one behind. In linear time on the whole (C. A. R. Hoare,
 * "Algorithm 65: Find", CACM 4(7), 1961). */
double median_select(double *v, int n, int rank);

/* The upper of the two middle values; 0 when n is 0. Reorders v. */
double median_upper(double *v, int n);

/* The mean of the two middle values; 0 when n is 0. Reorders v. */
double median_mean(double *v, int n);

#endif
