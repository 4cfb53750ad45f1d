/* A linkage's results as text for the bench, as JSON and as a table of its curves. */
#ifndef LINKAGE_EXPORT_H
#define LINKAGE_EXPORT_H

#include "linkage_result.h"

#include <jansson.h>
#include <stdio.h>

/* What to do, what to watch, the numbers, and what errors cost. Lengths in mm, angles in degrees;
 * behind ± stands the expanded uncertainty for 95 %. */
void linkage_print(const struct linkage *linkage, const struct linkage_result *result, FILE *to);

/* The same as data; NULL without memory. New reference. docs/linkage.md, "JSON". */
json_t *linkage_to_json(const struct linkage *linkage, const struct linkage_result *result);

/* One line per step of the servo, step_deg > 0: position, movement, gain and transmission angle of
 * every part. RFC 4180 with a header line, '.' as decimal point. */
void linkage_print_csv(const struct linkage *linkage, const struct linkage_ready *ready,
                       double step_deg, FILE *to);

#endif
