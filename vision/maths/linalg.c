#include "linalg.h"

#include <math.h>

/* Lower factor of a = l l^T. Golub and Van Loan, Matrix Computations, 4.2 (from memory). */
static bool factor(int n, const double *a, double *l)
{
    for (int i = 0; i < n; i++) {
        for (int j = 0; j <= i; j++) {
            double sum = a[i * n + j];
            for (int k = 0; k < j; k++)
                sum -= l[i * n + k] * l[j * n + k];
            if (i == j) {
                if (!(sum > 1e-300) || sum < 1e-14 * a[i * n + i])
                    return false;
                l[i * n + i] = sqrt(sum);
            } else {
                l[i * n + j] = sum / l[j * n + j];
            }
        }
    }
    return true;
}

static void substitute(int n, const double *l, const double *b, double *x)
{
    for (int i = 0; i < n; i++) {
        double sum = b[i];
        for (int k = 0; k < i; k++)
            sum -= l[i * n + k] * x[k];
        x[i] = sum / l[i * n + i];
    }
    for (int i = n - 1; i >= 0; i--) {
        double sum = x[i];
        for (int k = i + 1; k < n; k++)
            sum -= l[k * n + i] * x[k];
        x[i] = sum / l[i * n + i];
    }
}

bool linalg_solve(int n, const double *a, const double *b, double *x)
{
    double l[LINALG_MAX * LINALG_MAX];
    if (n > LINALG_MAX || !factor(n, a, l))
        return false;
    substitute(n, l, b, x);
    return true;
}

bool linalg_invert(int n, const double *a, double *out)
{
    double l[LINALG_MAX * LINALG_MAX];
    if (n > LINALG_MAX || !factor(n, a, l))
        return false;
    for (int j = 0; j < n; j++) {
        double e[LINALG_MAX] = {0}, x[LINALG_MAX];
        e[j] = 1;
        substitute(n, l, e, x);
        for (int i = 0; i < n; i++)
            out[i * n + j] = x[i];
    }
    return true;
}

bool linalg_invert3(const double a[9], double out[9])
{
    double c[9] = {a[4] * a[8] - a[5] * a[7], a[2] * a[7] - a[1] * a[8], a[1] * a[5] - a[2] * a[4],
                   a[5] * a[6] - a[3] * a[8], a[0] * a[8] - a[2] * a[6], a[2] * a[3] - a[0] * a[5],
                   a[3] * a[7] - a[4] * a[6], a[1] * a[6] - a[0] * a[7], a[0] * a[4] - a[1] * a[3]};
    double det = a[0] * c[0] + a[1] * c[3] + a[2] * c[6];
    if (!isfinite(det) || fabs(det) < 1e-300)
        return false;
    double scale = fabs(c[8]) > 1e-300 * fabs(det) && c[8] != 0 ? 1 / c[8] : 1 / det;
    for (int i = 0; i < 9; i++)
        out[i] = c[i] * scale;
    return true;
}

void linalg_rotation(const double v[3], double r[3][3])
{
    double angle = sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]);
    double c = cos(angle), s = angle > 1e-12 ? sin(angle) / angle : 1;
    double t = angle > 1e-12 ? (1 - c) / (angle * angle) : 0.5;
    const double cross[3][3] = {{0, -v[2], v[1]}, {v[2], 0, -v[0]}, {-v[1], v[0], 0}};
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            r[i][j] = (i == j ? c : 0) + s * cross[i][j] + t * v[i] * v[j];
}

void linalg_line_add(struct linalg_line *sums, double x, double y)
{
    sums->n++;
    sums->x += x;
    sums->y += y;
    sums->xx += x * x;
    sums->xy += x * y;
    sums->yy += y * y;
}

bool linalg_line_fit(const struct linalg_line *s, double *level, double *slope)
{
    double det = s->n * s->xx - s->x * s->x;
    if (!(det > 1e-12))
        return false;
    *level = (s->xx * s->y - s->x * s->xy) / det;
    *slope = (s->n * s->xy - s->x * s->y) / det;
    return true;
}

double linalg_line_scatter(const struct linalg_line *s, double level, double slope)
{
    /* the residuals are orthogonal to the line */
    return sqrt(fmax(0, s->yy - level * s->y - slope * s->xy) / s->n);
}
