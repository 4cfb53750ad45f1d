/* How an arm stands against what is asked of it, what that orders (order.h), and where a tolerance
 * (ISO 14253-1) cannot be decided on, what would settle it. */
#ifndef VERDICT_H
#define VERDICT_H

#include "arithmetic/decision.h"
#include "order.h"
#include "sharpen.h"

#include <jansson.h>

#define VERDICT_FROM 48       /* bytes */
#define VERDICT_OFF 96        /* bytes */
#define VERDICT_UNDECIDED 192 /* bytes */

struct verdict_asked {
    double tolerance_deg; /* 0: none was named, and the usual one counts (order_make()) */
    bool have_target;     /* false: the nearest right angle */
    double target_deg;
};

extern const struct verdict_asked verdict_square; /* nothing was asked */

struct verdict {
    struct vision_arm arm; /* the one judged */
    int index;             /* of that arm: verdict_arm() */
    struct verdict_asked asked;
    enum vision_reference_kind reference; /* that of the photo; the card unless told */
    double off_deg, expanded_deg;
    enum decision decision; /* never accept or reject where the measurement is unsure, or without
                               a tolerance */
    enum order order;
    bool unsure;
    int step_count; /* where it cannot be told and the measurement is sure */
    struct sharpen_step steps[SHARPEN_WAY_COUNT];
    struct sharpen_step all; /* of all steps at once */
};

/* The tolerance that the order rests on, named or not. */
double verdict_held_to_deg(const struct verdict *verdict);

/* Which of the arms is judged: the nearest to the target, or without one that of order_first(). */
int verdict_arm(const struct vision_arm *arms, int count, const struct verdict_asked *asked);

/* arms: one at least. obliquity_deg, closer, is_together: as in sharpen_question. */
void verdict_make(const struct vision_arm *arms, int count, bool unsure, double obliquity_deg,
                  double closer, bool is_together, const struct verdict_asked *asked,
                  struct verdict *out);

/* The same of a photo's arms, one at least. */
void verdict_of_photo(const struct vision_result *result, const struct verdict_asked *asked,
                      struct verdict *out);

/* "0.4 ± 0.3 degrees clockwise", or "0.0 ± 0.3 degrees off", in digits that decide as it was
 * decided (plus_minus.h). Returns out. */
const char *verdict_off(const struct verdict *verdict, char out[VERDICT_OFF]);
/* The same to be followed by what it is off, such as verdict_from(): "... degrees clockwise of". */
const char *verdict_off_from(const struct verdict *verdict, char out[VERDICT_OFF]);
/* "square", or "the wanted 45" with the unit after it: "°" or " degrees". What of, reference_to()
 * adds. */
void verdict_from(const struct verdict *verdict, const char *unit, char out[VERDICT_FROM]);
/* What to do where it cannot be told, a sentence: name the square that is meant; a better photo
 * where one may settle it, better in every way at once where none of them is enough alone; set it
 * nearer where the way is sure, else leave it or allow a larger limit. */
void verdict_undecided(const struct verdict *verdict, char out[VERDICT_UNDECIDED]);

/* The decision on the tolerance and what would settle it, a line each. The string is the caller's;
 * NULL without memory. */
char *verdict_words(const struct verdict *verdict);
/* The object, the caller's; NULL without memory. */
json_t *verdict_json(const struct verdict *verdict);

#endif
