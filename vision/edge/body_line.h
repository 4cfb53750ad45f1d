/* The middle line of an arm's body from the edge points of its two sides, be they straight or
 * waisted. In the arm's present axis: u along it from the hub, v outwards. */
#ifndef BODY_LINE_H
#define BODY_LINE_H

#include "arm_shared.h"
#include "maths/bend.h"
#include "maths/robust_line.h"
#include "profile.h"

/* An arm cut across in sections from..to, and where each side's edge was found. */
struct sides {
    int sections;
    int first; /* sections before this one are left out of the fit */
    double from, to, u[PROFILE_MAX_SECTIONS];
    struct edge_point edge[2][PROFILE_MAX_SECTIONS]; /* left, right */
    struct robust_point points[2][PROFILE_MAX_SECTIONS];
};

/* What a fit of the body says: the middle line against the present axis. */
struct body_line {
    double turn_rad, offset_mm; /* at the hub */
    double taper_rad;           /* NAN where the sides bend */
    double u_rad, dof, scale_mm;
    struct bend bend; /* of the middle line */
    double first_u, last_u;
    int used;
    bool symmetric;          /* the middle line does not bend */
    double bow_mm, bow_u_mm; /* how far both sides bow out or in alike; 0: no matter */
    struct arm_shared shown;
};

/* Straight where both edges say so and do not bow alike; else waisted, if the middle line is
 * straight; else the same without the inner fifth or two, where a fillet to the next arm may spoil
 * one side; else whatever straight pieces there are. width_mm of the arm, camera_mm in the card
 * frame (3). Sets sides->first and the points' weights. false when there is no line; out is then
 * undefined. */
bool body_line_fit(struct sides *sides, const struct axis *axis, double width_mm,
                   const double camera_mm[3], const struct arm_shared *known, double tolerance_mm,
                   struct body_line *out);

#endif
