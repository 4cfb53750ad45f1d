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
    struct quantity arm_to_link_deg; /* where the arm is wanted, usually 90 */
    struct quantity link_mm;         /* as it is now, ball to ball; value 0: unknown */
    struct thread_ends ends;
    enum linkage_longer longer; /* known wherever arm_to_link_deg is not 90: away from square the
                                 * one way takes more of the link than the other */
};

struct linkage_cure {
    struct quantity change_mm; /* of the link; positive longer; with LONGER_UNKNOWN without sign */
    bool turnable;
    struct thread_turns turns;
    struct quantity remains_deg; /* off, after the turns (or after the exact change) */
    /* What is in the u of both for not knowing how long the link is: what lies between an endless
     * link and one of LINKAGE_SHORT_ARMS arms, degrees. 0 where it is known. */
    double short_deg;
};

/* A link of unknown length is taken as endless, which the shortest that is likely misses by the
 * most: common practice, no source. As far as that both ways is a rectangular distribution, u =
 * that / sqrt(3) (JCGM 100:2008, 4.3.7). */
#define LINKAGE_SHORT_ARMS 1.5

/* off: measured minus wanted, degrees. false (out unchanged) without an arm length, or when the
 * arm would have to turn past its link. */
bool linkage_cure(const struct linkage_arm *arm, struct quantity off, struct linkage_cure *out);

/* An arm that stands somewhere, and its link, whose other end is held. Angles lie between the arm,
 * from axis to ball, and the direction of the link where the arm stands at wanted_deg. */
struct linkage_triangle {
    double arm_mm, link_mm; /* link_mm 0: endless, so that its direction stays */
    double wanted_deg, stands_deg;
};

/* How much longer the link has to be for the arm to stand as wanted, mm; NAN for a link that does
 * not reach. By the triangle of axis, ball and the link's other end, of which the link is the side
 * across from the angle between arm and link, so that a longer one makes that grow. Of an endless
 * link the ball's way along it: r (cos(stands) - cos(wanted)). */
double linkage_change_of(const struct linkage_triangle *triangle);

/* How far a change of a link's length turns its arm from where it stands, degrees; positive: the
 * angle between them grows. NAN when the arm would pass its link. */
double linkage_turn_of(double change_mm, const struct linkage_triangle *triangle);

/* "turn the link end out by 1 1/2 turns (0.60 mm longer)" and the like, without a full stop, and
 * without what remains; says which way the arm has to go when the link's sense is unknown. */
void linkage_cure_order(const struct linkage_arm *arm, struct quantity off,
                        const struct linkage_cure *cure, char *text, size_t size);

/* "turn the link end out by 1 1/2 turns (0.60 mm longer); 0.2 ± 0.4 degrees
 * clockwise remain." and the like, or that no turn which fits is fine enough; says which way the
 * arm has to go when the link's sense is unknown. */
void linkage_cure_say(const struct linkage_arm *arm, struct quantity off,
                      const struct linkage_cure *cure, char *text, size_t size);

/* "" or, to follow an order, that a link of unknown length makes its ± so large. */
const char *linkage_short_says(double short_deg);

/* New reference. */
json_t *linkage_cure_json(const struct linkage_cure *cure);
json_t *linkage_quantity_json(struct quantity quantity);

#endif
