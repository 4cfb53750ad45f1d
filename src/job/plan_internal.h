/* What plan.c, the plan in memory, lends plan_syntax.c. */
#ifndef PLAN_INTERNAL_H
#define PLAN_INTERNAL_H

#include "plan.h"

/* Says what is wrong, in that line (0: the whole); always false. */
__attribute__((format(printf, 3, 4))) bool plan_fail(struct plan_trouble *trouble, int line,
                                                     const char *format, ...);
bool plan_no_memory(struct plan_trouble *trouble);

/* The tolerance of stations that give none, in the unit of their kind. */
double plan_kind_tolerance(enum plan_kind kind);

/* A new last station, zeroed. NULL when out of memory or too many. */
struct plan_station *plan_add_station(struct plan *plan);
/* Keeps rests_on in order, each station once. false when out of memory. */
bool plan_add_rest(struct plan_station *station, int on);

#endif
