/* A trim scale for reading: at the bench, or by another program. */
#ifndef TRIM_SCALE_REPORT_H
#define TRIM_SCALE_REPORT_H

#include "trim_scale.h"

#include <jansson.h>
#include <stdio.h>

/* What the scale was learned from. All borrowed. */
struct trim_scale_source {
    const struct trim_reading *readings;
    const char *const *words; /* as typed: "a.jpg@10" */
    size_t count;
    size_t unsure; /* photos among them that were unsure */
    /* Words of two photos that hardly show one part, for their numbers of arms or the lengths of
     * the arm followed; NULL when all may. */
    const char *one, *other;
};

void trim_scale_print(FILE *to, const struct trim_scale *scale,
                      const struct trim_scale_source *source);
/* One object, the caller's; NULL without memory. */
json_t *trim_scale_json(const struct trim_scale *scale, const struct trim_scale_source *source);

#endif
