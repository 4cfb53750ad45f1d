/* Where the arms of a horn can point on a splined shaft. Directions in degrees, counter-clockwise
 * positive as seen in the photo; a shift of teeth is positive counter-clockwise too.
 *
 * The shaft stands still and the horn is lifted, turned by whole teeth and pressed on again: all
 * arms turn by 360 / teeth for each tooth. Turned over, the horn is its own mirror image; where its
 * arms then land depends on how the teeth lie against the arms. An outline does not show that, one
 * reading of the horn turned over, on any tooth, does: mirrored arms keep the sum
 * (before + turned over) the same for each arm, up to whole teeth. */
#ifndef SPLINE_H
#define SPLINE_H

#include <stdbool.h>
#include <stddef.h>

#define SPLINE_MIN_TEETH 2
#define SPLINE_MAX_TEETH 200
#define SPLINE_MAX_ARMS 8

struct spline_horn {
    int teeth;                       /* SPLINE_MIN_TEETH to SPLINE_MAX_TEETH */
    int arm_count;                   /* 1 to SPLINE_MAX_ARMS */
    double arm_deg[SPLINE_MAX_ARMS]; /* as the horn sits now */
    bool may_turn_over;              /* and one arm was read turned over: */
    int turned_arm;                  /* the arm that was read with the horn turned over, */
    double turned_deg;               /* on any tooth */
};

/* One way to put the horn on. */
struct spline_position {
    int arm;            /* the arm that is to be used */
    bool turned_over;   /* false: the side that faces the viewer now */
    int teeth;          /* shift, in (-teeth / 2, teeth / 2]; turned over: from where turned_deg
                           was read */
    double turn_deg;    /* the same in degrees */
    double remains_deg; /* that arm's direction minus the wanted one, in (-180, 180] */
};

/* Distinct directions that arms spaced evenly reach: lcm(teeth, arms). Both at least 1. */
int spline_directions(int teeth, int arms);

/* Directions of arm in its present or its turned-over place; the latter needs turned_deg. */
double spline_arm_deg(const struct spline_horn *horn, int arm, bool turned_over);

/* Every arm on every tooth on every side allowed: arms x teeth x 1 or 2. Stores at most cap of
 * them and returns how many there are. */
size_t spline_positions(const struct spline_horn *horn, double wanted_deg,
                        struct spline_position *out, size_t cap);

#endif
