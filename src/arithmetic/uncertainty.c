#include "uncertainty.h"

#include <math.h>
#include <stdbool.h>

static const double half_pi = 1.57079632679489661923;

/* Beyond this many degrees of freedom the series in 1/dof is good to 1e-9 and the sums below
 * would only get longer. */
static const double long_dof = 1000;

/* Probability that |T| stays below sqrt(dof) tan(theta), T of Student's t with whole dof >= 1.
 * Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.3 and 26.7.4. */
static double t_probability(double theta, int dof)
{
    double cos2 = cos(theta) * cos(theta);
    double term = dof % 2 ? cos(theta) : 1;
    double sum = 0;
    for (int k = dof % 2 ? 3 : 2; k <= dof; k += 2) {
        sum += term;
        term *= cos2 * (k - 1) / k;
    }
    return dof % 2 ? (theta + sin(theta) * sum) / half_pi : sin(theta) * sum;
}

/* Halving always converges, and 60 halvings of (0, pi/2) reach the last bit. */
static double t_factor(double level, int dof)
{
    double low = 0;
    double high = half_pi;
    for (int i = 0; i < 60; i++) {
        double middle = (low + high) / 2;
        if (t_probability(middle, dof) < level)
            low = middle;
        else
            high = middle;
    }
    return sqrt(dof) * tan((low + high) / 2);
}

static double normal_factor(double level)
{
    double low = 0;
    double high = 40; /* erfc(40 / sqrt 2) is zero in double precision */
    for (int i = 0; i < 70; i++) {
        double middle = (low + high) / 2;
        if (erfc(middle / sqrt(2)) > 1 - level)
            low = middle;
        else
            high = middle;
    }
    return (low + high) / 2;
}

/* t in terms of the normal factor z, Abramowitz and Stegun 26.7.5, to the second power of 1/dof. */
static double long_t_factor(double level, double dof)
{
    double z = normal_factor(level);
    double z2 = z * z;
    double first = z * (z2 + 1) / 4;
    double second = z * ((5 * z2 + 16) * z2 + 3) / 96;
    return z + first / dof + second / (dof * dof);
}

/* An effective number of degrees of freedom that is whole in exact arithmetic may come out just
 * below: rounding must not cost a whole one. */
#define ROUNDING_SHARE 1e-9

double uncertainty_coverage(double level, double dof)
{
    double whole = floor(dof * (1 + ROUNDING_SHARE));
    if (!(level > 0 && level < 1) || !(whole >= 1))
        return NAN;
    return whole > long_dof ? long_t_factor(level, whole) : t_factor(level, (int)whole);
}

double uncertainty_normal_coverage(void)
{
    return uncertainty_coverage(0.95, INFINITY);
}

double uncertainty_expand(struct uncertainty term)
{
    return uncertainty_coverage(0.95, term.dof) * term.u;
}

/* Welch-Satterthwaite: dof = u^4 / sum(u_i^4 / dof_i). Fractions u_i / u keep u^4 from vanishing.
 */
struct uncertainty uncertainty_combine(const struct uncertainty *terms, size_t n)
{
    double variance = 0;
    for (size_t i = 0; i < n; i++)
        variance += terms[i].u * terms[i].u;
    struct uncertainty sum = {sqrt(variance), INFINITY};
    if (sum.u <= 0)
        return sum;
    double share = 0;
    for (size_t i = 0; i < n; i++)
        share += pow(terms[i].u / sum.u, 4) / terms[i].dof;
    sum.dof = share > 0 ? 1 / share : INFINITY;
    return sum;
}

double uncertainty_level_of_each(double level, size_t tests)
{
    return tests > 1 ? 1 - pow(1 - level, 1.0 / (double)tests) : level;
}

/* Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.4.4 and 26.4.5. */
double uncertainty_chi_square_tail(double x, int dof)
{
    bool odd = dof % 2;
    double root = sqrt(x);
    double tail = odd ? erfc(root / sqrt(2)) : 0;
    /* odd: 2 Z(root) (root + root^3 / 3 + root^5 / (3 5) + ...), up to root^(dof - 2)
     * even: exp(-x / 2) (1 + x / 2 + x^2 / (2 4) + ...), up to x^(dof / 2 - 1) */
    double term = odd ? root * exp(-x / 2) / sqrt(half_pi) : exp(-x / 2);
    for (int k = odd ? 1 : 0; k <= dof - 2; k += 2) {
        tail += term;
        term *= x / (k + 2);
    }
    return fmin(1, tail);
}

void uncertainty_propagate(const double *jacobian, const double *inputs, size_t m, size_t n,
                           double *outputs)
{
    for (size_t row = 0; row < m; row++)
        for (size_t column = 0; column < m; column++) {
            double sum = 0;
            for (size_t i = 0; i < n; i++)
                for (size_t j = 0; j < n; j++)
                    sum += jacobian[row * n + i] * inputs[i * n + j] * jacobian[column * n + j];
            outputs[row * m + column] = sum;
        }
}
