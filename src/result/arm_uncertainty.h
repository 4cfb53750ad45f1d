/* How well an arm's angle is known: the one rule behind every "±" of a measurement. */
#ifndef ARM_UNCERTAINTY_H
#define ARM_UNCERTAINTY_H

#include "arithmetic/uncertainty.h"
#include "vision.h"

/* u_deg with its effective degrees of freedom, from the budget (JCGM 100:2008, G.4.1). An arm
 * without a budget was given, not measured: its u_deg counts as well known. */
struct uncertainty arm_uncertainty(const struct vision_arm *arm);

/* U = k u for 95 %, k from Student's t for those degrees of freedom. */
double arm_expanded_deg(const struct vision_arm *arm);

/* The standard uncertainty of a normal distribution with the same U: for what carries on with u
 * alone, so that its "±" is the photo's. Never less than u_deg. */
double arm_normal_u_deg(const struct vision_arm *arm);

#endif
