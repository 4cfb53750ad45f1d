#include "link_shared.h"

#include "arithmetic/direction.h"

#include <math.h>

#define CLEAR_DEG 15.0 /* of one line; there a link turns its arm four times as much as square */
#define STEPS 30       /* Gauss-Newton on a nearly straight curve: a few are enough */

/* One arm at its angles, turned round where need be so that a longer link turns it counter-
 * clockwise. */
struct angles {
    int count;
    double arm_mm, link_deg;                  /* between arm and link, half way */
    double from_middle_deg[LINK_SHARED_MOST]; /* where the arm stands */
    double off_deg[LINK_SHARED_MOST], u_deg[LINK_SHARED_MOST], weight[LINK_SHARED_MOST];
};

static bool is_exact(const struct link_position *positions, int count)
{
    for (int i = 0; i < count; i++)
        if (!(positions[i].off.u > 0))
            return true;
    return false;
}

/* Smallest and largest wanted angle, counted from the first one; returns what lies half way. */
static double find_ends(const struct link_position *positions, int count, struct link_shared *out)
{
    double low = 0, high = 0;
    for (int i = 1; i < count; i++) {
        double wanted = direction_turn(positions[i].wanted_deg - positions[0].wanted_deg);
        if (wanted < low) {
            low = wanted;
            out->first = i;
        }
        if (wanted > high) {
            high = wanted;
            out->last = i;
        }
    }
    const struct quantity first = positions[out->first].off, last = positions[out->last].off;
    out->throw_deg = high - low;
    out->throw_off = (struct quantity){last.value - first.value, hypot(last.u, first.u)};
    return (low + high) / 2;
}

static struct angles take_angles(const struct linkage_arm *arm,
                                 const struct link_position *positions, int count, double middle)
{
    struct angles a = {.count = count,
                       .arm_mm = arm->arm_mm.value > 0 ? arm->arm_mm.value : 1,
                       .link_deg = arm->arm_to_link_deg.value};
    double way = arm->longer == LONGER_CW ? -1 : 1;
    bool alike = is_exact(positions, count);
    for (int i = 0; i < count; i++) {
        double wanted = direction_turn(positions[i].wanted_deg - positions[0].wanted_deg);
        a.off_deg[i] = way * positions[i].off.value;
        a.u_deg[i] = positions[i].off.u;
        a.from_middle_deg[i] = way * (wanted - middle) + a.off_deg[i];
        a.weight[i] = alike ? 1 : 1 / (positions[i].off.u * positions[i].off.u);
    }
    return a;
}

/* Degrees of the arm per mm of the link, when it stands so far from the middle. */
static double gain(const struct angles *a, double from_middle_deg)
{
    return 1 / (a->arm_mm * sin((a->link_deg + from_middle_deg) * RAD_PER_DEG)) / RAD_PER_DEG;
}

/* The arm must not come near one line with its link: there it turns by more than anyone can say. */
static bool is_clear(const struct angles *a, double from_middle_deg)
{
    double angle = a->link_deg + from_middle_deg;
    return angle > CLEAR_DEG && angle < 180 - CLEAR_DEG;
}

/* Least squares of what is left. With weights w and gains g the change is -sum(w g off) / sum(w
 * g^2): u^2 = sum((w g u)^2) / sum(w g^2)^2, whatever the weights (JCGM 100:2008, 5.1.2). */
static bool fit_change(const struct angles *a, struct quantity *change_mm)
{
    double change = 0, slope = 0, left = 0, squares = 0;
    for (int step = 0; step < STEPS; step++) {
        slope = left = squares = 0;
        for (int i = 0; i < a->count; i++) {
            double link_deg = a->link_deg + a->from_middle_deg[i];
            double turn = linkage_turn_of(change, a->arm_mm, link_deg);
            if (!is_clear(a, a->from_middle_deg[i]) || !isfinite(turn) ||
                !is_clear(a, a->from_middle_deg[i] + turn))
                return false;
            double per_mm = gain(a, a->from_middle_deg[i] + turn);
            slope += a->weight[i] * per_mm * per_mm;
            left += a->weight[i] * per_mm * (a->off_deg[i] + turn);
            squares += pow(a->weight[i] * per_mm * a->u_deg[i], 2);
        }
        change -= left / slope;
    }
    *change_mm = (struct quantity){change, sqrt(squares) / slope};
    return isfinite(change);
}

struct given {
    double change_mm, from_middle_deg;
};

/* v: off, arm length, angle between arm and link half way. */
static double remains(const double *v, const void *context)
{
    const struct given *given = context;
    return v[0] + linkage_turn_of(given->change_mm, v[1], v[2] + given->from_middle_deg);
}

static void leave(const struct linkage_arm *arm, const struct link_position *positions,
                  const struct angles *a, struct link_shared *out)
{
    double way = arm->longer == LONGER_CW ? -1 : 1;
    struct quantity arm_mm = {a->arm_mm, arm->arm_mm.value > 0 ? arm->arm_mm.u : 0};
    for (int i = 0; i < a->count; i++) {
        struct given given = {out->turnable ? out->turns.change_mm : out->change_mm.value,
                              a->from_middle_deg[i]};
        const struct quantity inputs[] = {
            {a->off_deg[i], positions[i].off.u}, arm_mm, arm->arm_to_link_deg};
        out->remains_deg[i] = quantity_carry(remains, inputs, 3, &given);
        out->remains_deg[i].value *= way;
    }
}

bool link_shared(const struct linkage_arm *arm, const struct link_position *positions, int count,
                 struct link_shared *out)
{
    struct link_shared made = {.first = 0};
    double way = arm->longer == LONGER_CW ? -1 : 1;
    double middle = find_ends(positions, count, &made);
    struct angles a = take_angles(arm, positions, count, middle);
    if (!is_clear(&a, 0) || !fit_change(&a, &made.change_mm))
        return false;
    made.all_deg.value = -way * linkage_turn_of(made.change_mm.value, a.arm_mm, a.link_deg);
    made.all_deg.u = made.change_mm.u * gain(&a, 0);
    made.turnable =
        arm->arm_mm.value > 0 && thread_turns_for(&arm->ends, made.change_mm.value, &made.turns);
    leave(arm, positions, &a, &made);
    *out = made;
    return isfinite(made.all_deg.value);
}

bool link_shared_wants_change(const struct link_shared *shared)
{
    return fabs(shared->all_deg.value) > quantity_expanded(shared->all_deg) &&
           !(shared->turnable && thread_turns_none(&shared->turns));
}
