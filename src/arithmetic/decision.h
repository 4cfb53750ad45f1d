/* Does a measured deviation meet its tolerance? Decided after ISO 14253-1: the tolerance is
 * narrowed by the expanded uncertainty for accepting and widened by it for rejecting. */
#ifndef DECISION_H
#define DECISION_H

/* Where nobody names a tolerance. A practised eye sees about 1 degree: half of that is good work.
 */
#define DECISION_USUAL_DEG 0.5

enum decision {
    DECISION_ACCEPT,      /* |deviation| <= tolerance - U: within tolerance beyond doubt */
    DECISION_REJECT,      /* |deviation| >= tolerance + U: out of tolerance beyond doubt */
    DECISION_CANNOT_TELL, /* in between: measure better */
    DECISION_COUNT
};

/* All three in the same unit; tolerance and expanded (U, 95 %) not negative. An uncertainty that
 * is not known (NAN) never accepts and never rejects. */
enum decision decision_make(double deviation, double expanded, double tolerance);

/* "accept", "reject" or "cannot tell"; NULL outside the enum. */
const char *decision_name(enum decision decision);

#endif
