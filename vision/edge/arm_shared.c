#include "arm_shared.h"

#include <math.h>

#define SHIFT_PX 0.08 /* of an edge for each doubling, as a standard deviation over photos */

void estimate_combine(struct estimate *sum, struct estimate more)
{
    if (!(more.u > 0))
        return;
    double w = sum->u > 0 ? 1 / (sum->u * sum->u) : 0, v = 1 / (more.u * more.u);
    sum->value = (w * sum->value + v * more.value) / (w + v);
    sum->u = 1 / sqrt(w + v);
}

struct arm_shared arm_shared_usual(double pixel_mm)
{
    return (struct arm_shared){.thickness_mm = {1.5, 0.6},
                               .tint_step_mm = {0, 0.1 * pixel_mm},
                               .shade_shift_mm = {0, SHIFT_PX * pixel_mm}};
}
