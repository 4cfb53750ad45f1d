#include "bend.h"

#include "linalg.h"

#include <math.h>
#include <string.h>

void bend_add(struct bend_sums *sums, double u, double off_mm)
{
    const double x = (2 * u - sums->first_u - sums->last_u) / (sums->last_u - sums->first_u);
    const double row[BEND_ORDERS] = {1, x, (3 * x * x - 1) / 2, (5 * x * x - 3) * x / 2};
    for (int j = 0; j < BEND_ORDERS; j++) {
        sums->right[j] += row[j] * off_mm;
        for (int k = 0; k < BEND_ORDERS; k++)
            sums->normal[j * BEND_ORDERS + k] += row[j] * row[k];
    }
    sums->n++;
}

struct bend bend_of(const struct bend_sums *sums, double scatter_mm)
{
    const int least = 16;
    const double usual_mm = 0.05;
    double normal[BEND_ORDERS * BEND_ORDERS], p[BEND_ORDERS];
    memcpy(normal, sums->normal, sizeof normal);
    for (int j = 2; j < BEND_ORDERS; j++)
        normal[j * (BEND_ORDERS + 1)] += pow(scatter_mm / usual_mm, 2);
    if (sums->n < least || !linalg_solve(BEND_ORDERS, normal, sums->right, p))
        return (struct bend){0};
    return (struct bend){true, hypot(p[2], p[3]) / sqrt(2)};
}
