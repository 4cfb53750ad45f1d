#include "median.h"

static void swap(double *a, double *b)
{
    const double kept = *a;
    *a = *b;
    *b = kept;
}

double median_select(double *v, int n, int rank)
{
    int low = 0, high = n - 1;
    while (low < high) {
        const double pivot = v[rank];
        int i = low, j = high;
        while (i <= j) {
            while (v[i] < pivot)
                i++;
            while (pivot < v[j])
                j--;
            if (i <= j)
                swap(&v[i++], &v[j--]);
        }
        if (j < rank)
            low = i;
        if (rank < i)
            high = j;
    }
    return v[rank];
}

double median_upper(double *v, int n)
{
    return n > 0 ? median_select(v, n, n / 2) : 0;
}

double median_mean(double *v, int n)
{
    const double upper = median_upper(v, n);
    if (n % 2 || n == 0)
        return upper;
    double lower = v[0];
    for (int i = 1; i < n / 2; i++)
        lower = v[i] > lower ? v[i] : lower;
    return (lower + upper) / 2;
}
