/* Where every station of a job stands: a pure function of the plan and of what happened, in order.
 * Nothing about the state is stored, so undoing an event undoes all that followed from it. */
#ifndef JOB_STATE_H
#define JOB_STATE_H

#include "base/utc_clock.h"
#include "plan.h"
#include "result/reference_words.h"

#include <stdint.h>

enum job_event_kind {
    JOB_MEASURED,  /* a finding, with uncertainty */
    JOB_CONFIRMED, /* holds, or does not */
    JOB_REFITTED,  /* other hardware was fitted at the station (plan_fact_is_refit()) */
    JOB_RECHECK,   /* somebody asks for the station to be done again, as after a crash */
    JOB_EVENT_KIND_COUNT
};

struct job_event {
    int64_t entry;     /* the job file's number for it */
    char at[UTC_TEXT]; /* when it was recorded, "" unknown */
    enum job_event_kind kind;
    int station;               /* index in the plan */
    double value, u, coverage; /* JOB_MEASURED: deg or mm; U = coverage * u */
    bool sure;                 /* JOB_MEASURED: the measurement vouches for its number */
    /* JOB_MEASURED: what its photos were measured against; has_reference: a photo says so, and
     * otherwise it is taken for what square is usually from. */
    enum vision_reference_kind reference;
    bool has_reference;
    bool of_sticker; /* JOB_MEASURED: from photos of a sticker */
    bool holds;      /* JOB_CONFIRMED */
    bool first;      /* JOB_REFITTED: nothing was entered there before */
    bool servo;      /* JOB_REFITTED: plan_fact_is_servo() */
};

/* Whether numbers can be a finding's: angles and lengths of models, and factors for 95 %, lie far
 * within. So no file makes anything that is computed from them overflow. */
#define JOB_VALUE_MOST 1e4 /* deg or mm, value and u */
#define JOB_COVERAGE_MOST 1e3
bool job_finding_fits(double value, double u, double coverage);

/* Whether a finding of this kind is told from what its photos were measured against, and not from
 * another arm, link or end. */
bool job_kind_has_reference(enum plan_kind kind);
/* Whether it is told from the nearest right angle, whichever that is. */
bool job_kind_any_square(enum plan_kind kind);
/* Whether two findings of one kind are told from the same: only then does their difference tell
 * that anything moved. */
bool job_same_reference(enum plan_kind kind, const struct job_event *a, const struct job_event *b);

enum job_state {
    JOB_WAITS,       /* something it rests on is not good yet */
    JOB_OPEN,        /* may be done now */
    JOB_GOOD,        /* within tolerance even at the edge of the uncertainty, or confirmed */
    JOB_ADJUST,      /* out of tolerance, or confirmed not to hold */
    JOB_CANNOT_TELL, /* the uncertainty spans the limit, or the measurement was unsure */
    JOB_CHECK_AGAIN, /* was done; what it rests on has changed since */
    JOB_STATE_COUNT
};

/* The words a person reads, "check again". */
const char *job_state_words(enum job_state state);

struct job_standing {
    enum job_state state;
    bool ready;  /* all it rests on is good: it may be measured or confirmed */
    int blocker; /* index of a station that is to be good first; -1 when ready */
    int latest;  /* index of the event that counts, -1 when there is none */
    double off;  /* found minus target, deg or mm; 0 without a measurement */
    /* JOB_CHECK_AGAIN: why. */
    int cause;      /* index of the event that did it; -1: station "missing" lost its own */
    int missing;    /* index of a station that is not done, or of which nothing sure is known; -1
                     * otherwise */
    double moved;   /* by how much cause's station moved since this one was done; NAN: n/a */
    bool elsewhere; /* it was measured against something else, so that nobody knows */
};

/* A station is ready when all it rests on directly are good, and what holds for the moment
 * (plan_is_momentary) is good wherever it stands above it: with blades on nothing is measured.
 *
 * Replays n events in order. out holds one standing per station of the plan. A station is marked
 * to be checked again when one it rests on, directly or through others, is measured anew and lies
 * more than that station's tolerance, and more than the U of both findings together, from what it
 * was when this one was done; is found not to hold; or gets other hardware. A measurement that is
 * unsure moves nothing: the next sure one is compared with what was there before it. Measured
 * against something else it may have moved by as much as it seems, so it counts as moved, but by
 * how much is not told (elsewhere). Its own new
 * measurement or confirmation clears the mark; moving back does not, because nobody knows what was
 * turned meanwhile. A confirmation of the moment (plan_is_momentary) that is found not to hold
 * marks nothing: it tells nothing of the model. Another servo (plan_is_servo) marks the
 * confirmations above it, too: it may run the other way. Hardware that is told for the first time
 * of a station never done marks nothing. false when out of memory; out is then undefined. */
bool job_replay(const struct plan *plan, const struct job_event *events, int n,
                struct job_standing *out);

/* Index of the station to do next: the first in order that is not good and rests on good ones
 * alone. -1 when all is done. */
int job_next(const struct plan *plan, const struct job_standing *standing);

/* a - b; for angles the shorter way round, in half a turn of what the kind's finding repeats after:
 * (-45, 45] for square and level, where -44.9 and 44.9 are 0.2 apart; (-90, 90] for parallel;
 * (-180, 180] for centred and angle. */
double job_difference(enum plan_kind kind, double a, double b);

#endif
