#include "job_reading.h"

#include "job_finding.h"
#include "result/arm_uncertainty.h"
#include "result/measure_json.h"

const struct vision_arm *job_reading_arm(const struct job_reading_row *row,
                                         struct vision_result *result)
{
    int arm = measure_from_record(row->record, result) ? measure_arm_read(result, row->value) : -1;
    return arm >= 0 && result->arms[arm].budget_count > 0 ? &result->arms[arm] : NULL;
}

double job_reading_expanded(enum plan_kind kind, const struct job_reading_row *row, double coverage)
{
    struct vision_result result;
    const struct vision_arm *arm = kind == PLAN_PAIR ? NULL : job_reading_arm(row, &result);
    if (arm)
        return arm_expanded_deg(arm);
    bool alone = job_roles_of(kind).most == 1;
    return (alone ? coverage : uncertainty_normal_coverage()) * row->u;
}
