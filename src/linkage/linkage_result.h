/* What a linkage does and what it needs: throws, limits, uncertainties, sensitivities and turns. */
#ifndef LINKAGE_RESULT_H
#define LINKAGE_RESULT_H

#include "linkage.h"

/* Where the travel ends, in degrees of the servo from neutral, looking outward to 180. */
struct linkage_limit {
    bool found;
    double servo_deg;
    int stage; /* the one that causes it */
};

/* Turning parts in degrees, sliding ones in mm. The uncertainties are carried through the chain
 * from every given number; NAN when a dead point is so near that they cannot be told: of what
 * stands at neutral one near neutral, of the throws one near an end of the travel as well. */
struct linkage_stage_result {
    struct quantity neutral;        /* where the part stands at servo neutral */
    struct quantity off;            /* neutral minus wanted */
    struct quantity low, high;      /* moved from neutral at the two ends of the servo's travel */
    struct quantity differential;   /* percent: differential() */
    struct quantity link_mm;        /* as it stands; NAN without a link */
    struct quantity link_wanted_mm; /* that puts the part where it is wanted, the links before it
                                     * having been turned; NAN without a link, and where nobody
                                     * says where the part is wanted (linkage_has_wish) */
    double horn_deg; /* its driving arm at servo neutral, the links as they are; 0 of a pitch arm */
    double gain_low, gain_neutral, gain_high; /* out per degree of servo: degrees or mm */
    double least_transmission_deg, least_transmission_at_deg; /* and the servo angle of it */
    struct linkage_limit turning[2]; /* the part turns back: below and above neutral */
    /* turns of the link, worked out in order from the servo: each with those before it done */
    struct quantity due; /* off, with those before it done; 0 of a link that is yet to be made */
    bool bare;           /* nobody knows how good the number is that it is judged by: what is said
                          * below holds if that is right, and is no order that others count on */
    bool within;         /* due, of a part that turns, is surely within the tolerance: its link
                          * is left alone */
    bool measure_first;  /* else turns would fit, and due may be nothing, by its uncertainty, or
                          * that cannot be told: likewise */
    bool turnable;
    struct thread_turns turns;
    struct quantity remaining; /* off, once all turns up to this stage are done */
};

/* What an error costs at the last part: change of its position at neutral and of its two throws. */
struct linkage_cost {
    int stage;
    enum linkage_part part; /* LINKAGE_HORN_ANGLE: by one degree; LINKAGE_LINK: by link_mm */
    double link_mm;         /* half a turn of the link's end, longer */
    double neutral, low, high;
};

/* One line of the uncertainty budget of the last part at neutral. */
struct linkage_share {
    int stage;
    enum linkage_part part;
    double u;
};

#define LINKAGE_MAX_SHARES (LINKAGE_MAX_STAGES * LINKAGE_PART_COUNT)

struct linkage_result {
    struct linkage_ready ready;
    struct linkage_stage_result stages[LINKAGE_MAX_STAGES];
    struct linkage_limit dead[2]; /* the servo cannot go further: below and above neutral */
    int cost_count;
    struct linkage_cost costs[2 * LINKAGE_MAX_STAGES];
    int share_count;
    struct linkage_share shares[LINKAGE_MAX_SHARES];
};

/* Everything about a linkage. The travel must be free of dead points (else LINKAGE_DEAD_POINT with
 * the servo angle that cannot be reached). result is filled only on LINKAGE_OK. */
enum linkage_status linkage_analyse(const struct linkage *linkage, struct linkage_result *result,
                                    struct linkage_fault *fault);

/* A textbook's floor for smooth running, and ours for "it may stall": in degrees. */
#define LINKAGE_SMOOTH_DEG                                                                         \
    40.0                        /* Norton, Design of Machinery, 3.3: keep above about 40 (memory)  \
                                 */
#define LINKAGE_HARSH_DEG 25.0  /* common practice, no source: forces on the balls double */
#define LINKAGE_MARGIN_DEG 10.0 /* common practice, no source: servo travel kept before a limit */

#endif
