#include "spline.h"

#include "direction.h"

#include <math.h>
#include <stdlib.h>

static int greatest_common_divisor(int a, int b)
{
    while (b != 0) {
        int rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

/* Arm i on tooth j points to i / arms + j / teeth turns: multiples of 1 / lcm, and by Bezout's
 * identity all of them. */
int spline_directions(int teeth, int arms)
{
    return teeth / greatest_common_divisor(teeth, arms) * arms;
}

double spline_arm_deg(const struct spline_horn *horn, int arm, bool turned_over)
{
    if (!turned_over)
        return horn->arm_deg[arm];
    return horn->turned_deg + horn->arm_deg[horn->turned_arm] - horn->arm_deg[arm];
}

static struct spline_position position(const struct spline_horn *horn, int arm, bool turned_over,
                                       int shift, double wanted_deg)
{
    double turn = 360.0 * shift / horn->teeth;
    double now = spline_arm_deg(horn, arm, turned_over);
    return (struct spline_position){arm, turned_over, shift, turn,
                                    direction_turn(now + turn - wanted_deg)};
}

size_t spline_positions(const struct spline_horn *horn, double wanted_deg,
                        struct spline_position *out, size_t cap)
{
    int lowest = -((horn->teeth - 1) / 2);
    int sides = horn->may_turn_over ? 2 : 1;
    size_t n = 0;
    for (int side = 0; side < sides; side++)
        for (int arm = 0; arm < horn->arm_count; arm++)
            for (int shift = lowest; shift < lowest + horn->teeth; shift++, n++)
                if (n < cap)
                    out[n] = position(horn, arm, side == 1, shift, wanted_deg);
    return n;
}
