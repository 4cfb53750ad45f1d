/* The uncertainty of an arm's angle, term by term (JCGM 100:2008). Each formula is derived in
 * docs/method.md, "Budget". */
#ifndef BUDGET_H
#define BUDGET_H

#include "card/plane.h"
#include "maths/bend.h"

/* Degrees of freedom of a value that was judged, not observed, and is trusted to a quarter of
 * itself: 1 / (2 x 0.25^2) (JCGM 100:2008, G.4.2 and its example). */
#define BUDGET_JUDGED_DOF 8.0

struct budget_question {
    const struct vision_plane *plane;
    double plane_dof;
    double camera_mm[3];           /* its centre, card frame */
    double residual_px, px_per_mm; /* of the markers; at the card's centre */
    double card_tilt_deg;          /* see vision_options */
    /* the arm */
    struct vision_point hub_mm;
    double direction_rad;
    double body_mm;            /* stretch that carries edge points; 0 for a hole, see disc.c */
    struct bend bend;          /* of its middle line, as seen */
    double edge_deg, edge_dof; /* from its edges alone */
    /* the reference: the card's x axis, or a line in the photo */
    bool line_reference;
    struct vision_point line_mm; /* its middle; line_reference only, as all below */
    double line_deg;             /* card frame */
    double line_u_deg, line_dof;
    bool line_shared; /* the same places of the card in several photos: amiss by the same in all */
};

/* Fills u_deg, tilt_gain and budget of arm, nothing else. */
void budget_make(const struct budget_question *question, struct vision_arm *arm);

/* Adds a line; sums u_deg over all of them. */
void budget_add(struct vision_arm *arm, enum vision_term term, double u_deg, double dof);
void budget_sum(struct vision_arm *arm);
/* The line of a term; NULL where there is none. */
struct vision_budget_line *budget_line(struct vision_arm *arm, enum vision_term term);
/* The print-scale term for a direction against another; against a printed axis: 0. Degrees. */
double budget_print_deg(double direction_rad, double against_rad);

#endif
