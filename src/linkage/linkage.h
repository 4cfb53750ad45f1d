/* A linkage from the servo to its last part: horn, link and crank, one stage after the other.
 *
 * Each stage is plane. Its own frame: origin at the axis of the driving arm (for the first stage
 * the servo's shaft), x along the stage's reference line (the servo case, the boom, the mast:
 * whatever 0 degrees is measured from), y across it, counter-clockwise positive.
 * The driving arm is the servo's horn in the first stage; later it is the second arm of the crank
 * before it, and turns with that crank. Angles are those at servo neutral: the wanted ones of the
 * linkage as it should be, all others as it stands. So a later stage's horn angle has in it
 * whatever the crank that carries the arm is off; where it is not given, the arm is taken to be
 * square where that crank stands as wanted.
 *
 * Lengths in mm, angles in degrees, unless a name says otherwise. Pure arithmetic. */
#ifndef LINKAGE_H
#define LINKAGE_H

#include "arithmetic/quantity.h"
#include "arithmetic/thread.h"
#include "fourbar.h"

#include <stdbool.h>
#include <stddef.h>

#define LINKAGE_MAX_STAGES 8
#define LINKAGE_NAME_SIZE 48

enum linkage_kind {
    LINKAGE_CRANK,     /* link to a crank: in turns, out turns */
    LINKAGE_SLIDER,    /* link to a slider: in turns, out moves along x */
    LINKAGE_YOKE,      /* pin of the driving arm straight in the slider's slot, no link */
    LINKAGE_PITCH_ARM, /* arm that a slider swings: in moves, out turns */
};

/* The numbers of a stage. Which of them a kind uses, and which must be given, linkage_part_use
 * tells. */
enum linkage_part {
    LINKAGE_HORN,       /* mm, driving arm, axis to ball */
    LINKAGE_HORN_ANGLE, /* degrees, driving arm at neutral, as it stands */
    LINKAGE_ALONG,      /* mm, crank: axis of the crank along x; slider: wanted place of its pin */
    LINKAGE_ACROSS,     /* mm, crank: axis of the crank along y; slider: its line's y */
    LINKAGE_ARM,        /* mm, driven arm, axis to ball */
    LINKAGE_ARM_ANGLE,  /* degrees, wanted angle of the driven arm at neutral */
    LINKAGE_LINK,       /* mm, ball centre to ball centre */
    LINKAGE_MEASURED,   /* degrees (slider: mm), how the driven part really stands at neutral */
    LINKAGE_PART_COUNT
};

enum linkage_use {
    LINKAGE_UNUSED,
    LINKAGE_OPTIONAL,
    LINKAGE_NEEDED,
};
enum linkage_use linkage_part_use(enum linkage_kind kind, enum linkage_part part);
enum quantity_kind linkage_part_kind(enum linkage_kind kind, enum linkage_part part);

struct linkage_stage {
    char name[LINKAGE_NAME_SIZE];
    enum linkage_kind kind;
    struct quantity parts[LINKAGE_PART_COUNT];
    bool given[LINKAGE_PART_COUNT];
    bool seen_from_behind; /* this stage is looked at from the other side than the one before */
    struct thread_ends ends;
};

struct linkage {
    char name[LINKAGE_NAME_SIZE];
    double low_deg, high_deg; /* the servo's travel from neutral, low < 0 < high */
    double tolerance_deg;     /* a turning part off by no more is left */
    int stage_count;
    struct linkage_stage stages[LINKAGE_MAX_STAGES];
};

/* Is there a place where the part is wanted, so that its link can be right or wrong? A slider whose
 * place (along) nobody gave stands where its link puts it. */
bool linkage_has_wish(const struct linkage_stage *stage);

/* What tells how its link is built, where that is given: its length, else where the part was
 * measured. */
enum linkage_part linkage_judged_by(const struct linkage_stage *stage);

/* A stage without numbers, angles square: 90 degrees for both arms, nothing else given. */
struct linkage_stage linkage_stage_default(enum linkage_kind kind);

enum linkage_status {
    LINKAGE_OK,
    LINKAGE_EMPTY,        /* no stage */
    LINKAGE_BAD_TRAVEL,   /* not low < 0 < high, or beyond 180 degrees */
    LINKAGE_MISSING,      /* a needed part is not given */
    LINKAGE_CLASH,        /* both a link length and a measured angle are given */
    LINKAGE_BAD_LENGTH,   /* a length is not above 0, or absurd (LINKAGE_LONGEST_MM) */
    LINKAGE_BAD_ANGLE,    /* an angle beyond a full circle */
    LINKAGE_BAD_ORDER,    /* a pitch arm without a slider before it, or a crank after a slider */
    LINKAGE_SAME_AXIS,    /* the crank's axis lies on the horn's */
    LINKAGE_CANNOT_CLOSE, /* lengths that never make a loop */
    LINKAGE_DEAD_POINT,   /* the servo position asked for lies beyond a dead point */
    LINKAGE_NO_DIRECTION, /* the horn's ball passes through the crank's axis */
    LINKAGE_OUT_OF_RANGE, /* the slider moves the pitch arm further than the arm is long */
    LINKAGE_STATUS_COUNT
};

#define LINKAGE_LONGEST_MM 10000.0 /* ten metres: longer than any model */

/* Where it failed. */
struct linkage_fault {
    enum linkage_status status;
    int stage;              /* index, -1 when it is not about one stage */
    enum linkage_part part; /* for MISSING and BAD_LENGTH */
    double servo_deg;       /* for DEAD_POINT and after */
};

/* A stage made ready for posing. */
struct linkage_ready_stage {
    enum linkage_kind kind;
    double sign; /* -1 when seen from behind */
    double horn_mm, horn_rad;
    double link_mm; /* as it stands: given, or worked out */
    double arm_mm;
    double base_mm, base_rad; /* from the driving axis to the driven one; crank only */
    double across_mm;
    double wanted;                  /* radians, or mm for sliders */
    double neutral;                 /* where it stands at servo neutral; same unit */
    double carries_from;            /* where it stands while the arm that it carries is at the next
                                     * stage's horn_rad; likewise */
    double turned_rad;              /* whole turns that bring neutral next to wanted; crank only */
    enum fourbar_assembly assembly; /* sliders: OPEN has the pin further along than the ball */
    struct fourbar bar;             /* crank only */
};

struct linkage_ready {
    int stage_count;
    struct linkage_ready_stage stages[LINKAGE_MAX_STAGES];
};

/* Works out the links as they stand: a given length is kept; otherwise the length that fits the
 * measured position; otherwise the one that puts the driven part where it is wanted. The assembly
 * is the one nearest to the measured, else the wanted, position.
 * ready is filled only on LINKAGE_OK; fault (may be NULL) always. */
enum linkage_status linkage_prepare(const struct linkage *linkage, struct linkage_ready *ready,
                                    struct linkage_fault *fault);

/* The same mechanism with every link made longer by change_mm[stage]. */
enum linkage_status linkage_adjust(struct linkage_ready *ready, const double *change_mm,
                                   struct linkage_fault *fault);

/* The link length that brings a stage to its wanted position, the stages before it as they are. */
double linkage_link_wanted(const struct linkage_ready *ready, int stage);

/* One stage at one servo position. */
struct linkage_pose {
    double horn_rad;         /* driving arm */
    double out;              /* radians, or mm for sliders; continuous through the travel */
    double moved;            /* out minus its value at servo neutral */
    double gain;             /* out per radian (per mm for a pitch arm) of what drives the stage */
    double servo_gain;       /* out per radian of the servo */
    double transmission_rad; /* [0, pi/2]: link against arm, or link against the slider's square */
};

/* All stages at servo_deg from neutral. poses has room for ready->stage_count; those before a
 * failing stage are filled. */
enum linkage_status linkage_pose(const struct linkage_ready *ready, double servo_deg,
                                 struct linkage_pose *poses, struct linkage_fault *fault);

/* Does the stage's output move in mm rather than turn? */
bool linkage_slides(enum linkage_kind kind);

/* For showing: degrees for turning parts, mm as it is for sliding ones. */
double linkage_shown(enum linkage_kind kind, double out);

#endif
