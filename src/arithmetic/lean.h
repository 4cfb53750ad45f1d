/* How a card that lay still leans against the part, told by photos from different sides: what a
 * lean does to an arm's angle changes with the view, what the arm was made like does not. Pure
 * arithmetic. Method: docs/method.md, "Several photos together". */
#ifndef LEAN_H
#define LEAN_H

#include <stdbool.h>

#define LEAN_MAX_LEVELS 16

/* One arm's angle in one photo. */
struct lean_reading {
    int level; /* which true angle it is a reading of: an arm, or an arm at rest on one side */
    int photo;
    double angle_deg;
    double own_deg; /* standard uncertainty: what neither photo nor level shares */
    double gain[2]; /* turn of the arm per slope of the part, see struct vision_arm */
};

struct lean_question {
    const struct lean_reading *readings;
    int count, levels, photos; /* levels: 1 to LEAN_MAX_LEVELS */
    const double *photo_deg;   /* photos: standard uncertainty of what turns all arms of one */
    double tilt_deg;           /* standard uncertainty of the slope before any photo */
};

struct lean {
    bool found;   /* a lean explains the photos and chance does not, one time in a hundred, nor does
                   * a part that was turned between them: arms of one photo show it against each other
                   */
    bool perhaps; /* a lean would explain them, but so may a part or card that was turned */
    /* What is now known of the slope, towards the camera along the card's x and y, degrees. */
    double slope_deg[2], cov[4];
    double prior_deg; /* that went into it: tilt_deg; far more where a lean was found */
    /* The photos' part of that alone: slope = information^-1 right. */
    double information[4], right[2];
};

/* What one photo, or a card laid anew for each, says: nothing. The prior stays. */
struct lean lean_unknown(double tilt_deg);
struct lean lean_find(const struct lean_question *question);

/* Standard uncertainty of what a slope still unknown does to an angle with this gain. */
double lean_u_deg(const struct lean *lean, const double gain[2]);
/* Size of the slope, and the standard uncertainty of that. */
double lean_size_deg(const struct lean *lean, double *u_deg);
/* Whether the photos speak against a slope: it fits them worse than the best one by more than
 * chance does one time in a hundred. */
bool lean_rules_out(const struct lean *lean, const double slope_deg[2]);

#endif
