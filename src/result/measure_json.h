/* A measurement as JSON: what "measure --json" prints and what travels inside the picture. */
#ifndef MEASURE_JSON_H
#define MEASURE_JSON_H

#include "verdict.h"
#include "vision.h"

#include <jansson.h>

/* The object, owned by the caller (json_decref); NULL when there is no memory. photo is the name
 * to show. card and reference are null when there is none, arms and budget then empty. */
json_t *measure_json(const char *photo, const struct vision_result *result);

/* The same where a tolerance was asked for: the message speaks of what was judged, and "decision"
 * is added. verdict NULL: there was nothing to judge. */
json_t *measure_judged_json(const char *photo, const struct vision_result *result,
                            const struct verdict *verdict);

/* That "decision": the verdict, and as "message" the lines that the text has of it. Likewise. */
json_t *measure_decision_json(const struct verdict *verdict);

/* Its "reference" and one arm of it, likewise. */
json_t *measure_reference_json(const struct vision_result *result);
json_t *measure_arm_json(const struct vision_arm *arm);

/* Back again: obliquity, scale, corners, size of the photo, the reference, and the arms with their
 * places and their budgets as far as the record has them, for advice on how to measure better.
 * false when it has no arm, as one of stickers: of those, only that it is of them. */
bool measure_from_json(const json_t *record, struct vision_result *out);

/* The same of a record as text; NULL is one without an arm. */
bool measure_from_record(const char *record, struct vision_result *out);

/* Index of the arm of such a result that an angle was read of before it was rounded for the record;
 * -1 when none lies there. */
int measure_arm_read(const struct vision_result *recorded, double angle_deg);

/* How to dump it: one line, no digits that are only an echo of binary. */
#define MEASURE_JSON_FLAGS (JSON_COMPACT | JSON_REAL_PRECISION(9))

#endif
