#include "arm_uncertainty.h"

struct uncertainty arm_uncertainty(const struct vision_arm *arm)
{
    struct uncertainty terms[VISION_MAX_BUDGET];
    for (int i = 0; i < arm->budget_count; i++)
        terms[i] = (struct uncertainty){arm->budget[i].u_deg, arm->budget[i].dof};
    struct uncertainty sum = uncertainty_combine(terms, (size_t)arm->budget_count);
    return (struct uncertainty){arm->u_deg, sum.dof};
}

double arm_expanded_deg(const struct vision_arm *arm)
{
    return uncertainty_expand(arm_uncertainty(arm));
}

double arm_normal_u_deg(const struct vision_arm *arm)
{
    return arm_expanded_deg(arm) / uncertainty_normal_coverage();
}
