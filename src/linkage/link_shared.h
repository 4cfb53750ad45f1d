/* One arm at several wanted angles: one link serves them all, so at most one change of its length
 * is right, and what it leaves at each angle is for end points or another hole.
 *
 * The link's direction is taken to stay while the arm goes through the angles, so the angle between
 * arm and link changes as the arm's does; what a link of its length may be off from that is in u.
 * linkage_arm's arm_to_link_deg is the one half way between the smallest and the largest wanted
 * angle. */
#ifndef LINK_SHARED_H
#define LINK_SHARED_H

#include "linkage_cure.h"

#define LINK_SHARED_MOST 64

struct link_position {
    double wanted_deg;
    struct quantity off; /* measured minus wanted, degrees */
};

struct link_shared {
    /* How far all are off together: the change of the link that leaves least turns the arm by minus
     * this, half way between the wanted angles. */
    struct quantity all_deg;
    /* The same in mm, positive longer (with LONGER_UNKNOWN: counter-clockwise); without an arm
     * length in arm lengths. */
    struct quantity change_mm;
    bool turnable;
    struct thread_turns turns;                     /* the nearest to change_mm */
    struct quantity remains_deg[LINK_SHARED_MOST]; /* off, after the turns (or the exact change) */
    double short_deg; /* as of linkage_cure, the largest of all angles */
    /* Between the smallest and the largest wanted angle, by their places in the list. */
    int first, last;
    double throw_deg;          /* wanted, not negative */
    struct quantity throw_off; /* of the measured one: positive too large */
};

/* The change that makes the sum of the squares of what is left least, each weighed by its
 * uncertainty (alike when one is taken as exact; the u of the others stay in that of the change).
 * The u of the arm's length and of its angle to the link are in that of the change too; that of the
 * readings as if it were one error of all, which more of them do not reduce.
 * arm->arm_mm.value 0: not known, then not turnable, and link_mm is not asked. false (out
 * unchanged) when arm and link come near one line at one of the angles, or may by their u. count is
 * 1 to LINK_SHARED_MOST. */
bool link_shared(const struct linkage_arm *arm, const struct link_position *positions, int count,
                 struct link_shared *out);

/* Surely something, and not less than the smallest turn can mend? */
bool link_shared_wants_change(const struct link_shared *shared);

#endif
