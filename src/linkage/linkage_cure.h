/* From an arm that stands off to the turns of its own link: the last step of every station. */
#ifndef LINKAGE_CURE_H
#define LINKAGE_CURE_H

#include "arithmetic/quantity.h"
#include "arithmetic/thread.h"

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

enum linkage_longer {
    LONGER_UNKNOWN, /* nobody said which way a longer link turns the arm */
    LONGER_CCW,
    LONGER_CW,
};

struct linkage_arm {
    const char *name;                /* NULL: "the arm" */
    struct quantity arm_mm;          /* axis to ball; value 0: unknown, then there is no cure */
    struct quantity arm_to_link_deg; /* where the arm is wanted, as in station_link_change();
                                      * usually 90 */
    struct thread_ends ends;
    enum linkage_longer longer; /* known wherever arm_to_link_deg is not 90: away from square the
                                 * one way takes more of the link than the other */
};

struct linkage_cure {
    struct quantity change_mm; /* of the link; positive longer; with LONGER_UNKNOWN without sign */
    bool turnable;
    struct thread_turns turns;
    struct quantity remains_deg; /* off, after the turns (or after the exact change) */
};

/* off: measured minus wanted, degrees. false (out unchanged) without an arm length, or when the
 * arm would have to turn past its link. */
bool linkage_cure(const struct linkage_arm *arm, struct quantity off, struct linkage_cure *out);

/* How far a change of a link's length turns its arm, degrees; positive: the angle between them,
 * which is arm_to_link_deg before, grows. NAN when the arm would pass its link. */
double linkage_turn_of(double change_mm, double arm_mm, double arm_to_link_deg);

/* "turn the link end out by 1 1/2 turns (0.60 mm longer)" and the like, without a full stop, and
 * without what remains; says which way the arm has to go when the link's sense is unknown. */
void linkage_cure_order(const struct linkage_arm *arm, struct quantity off,
                        const struct linkage_cure *cure, char *text, size_t size);

/* "turn the link end out by 1 1/2 turns (0.60 mm longer); 0.2 ± 0.4 degrees
 * clockwise remain." and the like, or that no turn which fits is fine enough; says which way the
 * arm has to go when the link's sense is unknown. */
void linkage_cure_say(const struct linkage_arm *arm, struct quantity off,
                      const struct linkage_cure *cure, char *text, size_t size);

/* New reference. */
json_t *linkage_cure_json(const struct linkage_cure *cure);
json_t *linkage_quantity_json(struct quantity quantity);

#endif
