/* The part as witness of the card: arms that are made evenly spaced look unevenly spaced where the
 * card leans against them. docs/method.md, "What the arms say of the card". */
#ifndef WITNESS_H
#define WITNESS_H

#include "vision.h"

/* Judges the spacing of arms (angle_deg, u_deg, budget and tilt_gain filled) whose hub lies at
 * hub_mm; plane is the photo's. Fewer than three arms, or none of the patterns: out->spacing 0. */
void witness_judge(const struct vision_arm *arms, int count, const struct vision_plane *plane,
                   struct vision_point hub_mm, struct vision_witness *out);

#endif
