/* Is the arm within its tolerance (ISO 14253-1), and if that cannot be told, what would settle it.
 */
#ifndef VERDICT_H
#define VERDICT_H

#include "decision.h"
#include "sharpen.h"

#include <jansson.h>

struct verdict_asked {
    double tolerance_deg; /* > 0 */
    bool have_target;     /* false: the nearest right angle */
    double target_deg;
};

struct verdict {
    struct vision_arm arm; /* the one judged: nearest the target, or the first */
    struct verdict_asked asked;
    double off_deg, expanded_deg;
    enum decision decision; /* never accept or reject where the measurement is unsure */
    bool unsure;
    int step_count; /* where it cannot be told and the measurement is sure */
    struct sharpen_step steps[SHARPEN_WAY_COUNT];
    struct sharpen_step all; /* of all steps at once */
};

/* arms: one at least. obliquity_deg, closer, is_together: as in sharpen_question. */
void verdict_make(const struct vision_arm *arms, int count, bool unsure, double obliquity_deg,
                  double closer, bool is_together, const struct verdict_asked *asked,
                  struct verdict *out);

/* The answer and what to do, a line each. The string is the caller's; NULL without memory. */
char *verdict_words(const struct verdict *verdict);
/* The object, the caller's; NULL without memory. */
json_t *verdict_json(const struct verdict *verdict);

#endif
