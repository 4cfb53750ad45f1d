#include "link_shared.h"

#include "arithmetic/direction.h"

#include <math.h>

#define CLEAR_DEG 15.0 /* of one line; there a link turns its arm four times as much as square */
#define STEPS 30       /* Gauss-Newton on a nearly straight curve: a few are enough */

/* One arm at its angles, turned round where need be so that a longer link turns it counter-
 * clockwise. */
struct angles {
    int count;
    double arm_mm, link_deg;             /* between arm and link, half way */
    double link_mm;                      /* 0: endless */
    double wanted_deg[LINK_SHARED_MOST]; /* from half way; the arm stands off_deg further */
    double off_deg[LINK_SHARED_MOST], weight[LINK_SHARED_MOST];
};

/* Without a length all is told in arm lengths. */
static double arm_length_u(const struct linkage_arm *arm)
{
    return arm->arm_mm.value > 0 ? arm->arm_mm.u : 0;
}

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
        a.wanted_deg[i] = way * (wanted - middle);
        a.weight[i] = alike ? 1 : 1 / (positions[i].off.u * positions[i].off.u);
    }
    return a;
}

/* The link lies as half way, wherever along its line its other end is. */
static double turn_of(const struct angles *a, double change_mm, double from_middle_deg)
{
    const struct linkage_triangle triangle = {a->arm_mm, a->link_mm, a->link_deg,
                                              a->link_deg + from_middle_deg};
    return linkage_turn_of(change_mm, &triangle);
}

/* Degrees of the arm per mm of a long link, when it stands so far from the middle. */
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

/* Least squares of what is left. */
static bool fit_change(const struct angles *a, double *change_mm)
{
    double change = 0;
    for (int step = 0; step < STEPS; step++) {
        double slope = 0, left = 0;
        for (int i = 0; i < a->count; i++) {
            double stands_deg = a->wanted_deg[i] + a->off_deg[i];
            double turn = turn_of(a, change, stands_deg);
            if (!is_clear(a, stands_deg) || !isfinite(turn) || !is_clear(a, stands_deg + turn))
                return false;
            double per_mm = gain(a, stands_deg + turn);
            slope += a->weight[i] * per_mm * per_mm;
            left += a->weight[i] * per_mm * (a->off_deg[i] + turn);
        }
        change -= left / slope;
    }
    *change_mm = change;
    return isfinite(change);
}

/* The change, and how far all are off together by it, with the arm's length, its angle and the
 * readings as given. */
struct fitted {
    double change_mm, all_deg;
};

static bool fit(const struct angles *a, struct fitted *out)
{
    if (!is_clear(a, 0) || !fit_change(a, &out->change_mm))
        return false;
    out->all_deg = -turn_of(a, out->change_mm, 0);
    return isfinite(out->all_deg);
}

/* Fits anew with *input, which lies in a, moved by u up and down, and adds the squares of what that
 * moves the answers by (JCGM 100:2008, 5.1.4, note 2). */
static bool add_squares(const struct angles *a, double *input, double u, struct fitted *squares)
{
    struct fitted up, down;
    const double value = *input;
    if (u == 0)
        return true;
    *input = value + u;
    bool fine = fit(a, &up);
    *input = value - u;
    fine = fine && fit(a, &down);
    *input = value;
    if (!fine)
        return false;
    squares->change_mm += pow((up.change_mm - down.change_mm) / 2, 2);
    squares->all_deg += pow((up.all_deg - down.all_deg) / 2, 2);
    return true;
}

/* Readings of one arm share how straight it is, the print, the card's tilt: most of their u.
 * Averaging takes nothing of that away, so they are taken as wholly shared. */
static bool add_readings(struct angles *a, const struct link_position *positions,
                         struct fitted *squares)
{
    struct fitted sum = {0, 0};
    for (int i = 0; i < a->count; i++) {
        struct fitted one = {0, 0};
        if (!add_squares(a, &a->off_deg[i], positions[i].off.u, &one))
            return false;
        sum.change_mm += sqrt(one.change_mm);
        sum.all_deg += sqrt(one.all_deg);
    }
    squares->change_mm += sum.change_mm * sum.change_mm;
    squares->all_deg += sum.all_deg * sum.all_deg;
    return true;
}

/* How far the link's direction changes while the arm goes through the angles nobody knows: not at
 * all where the horn's ball goes sideways as the arm's does, as much as that of a link of link_mm
 * whose other end keeps to its line where it does not, and twice that where it goes the other way.
 * Rectangular in between, JCGM 100:2008, 4.3.7. */
static bool add_short_link(const struct angles *a, double link_mm, const struct fitted *best,
                           struct fitted *squares)
{
    struct angles shorter = *a;
    struct fitted other;
    shorter.link_mm = link_mm;
    if (!fit(&shorter, &other))
        return false;
    squares->change_mm += pow(other.change_mm - best->change_mm, 2) / 3;
    squares->all_deg += pow(other.all_deg - best->all_deg, 2) / 3;
    return true;
}

static double shortest_link(const struct linkage_arm *arm, const struct angles *a)
{
    bool known = arm->arm_mm.value > 0 && arm->link_mm.value > 0;
    return known ? arm->link_mm.value : LINKAGE_SHORT_ARMS * a->arm_mm;
}

/* One arm has one length and one angle to its link, which more readings do not make surer. a comes
 * back as it was. */
static bool fit_with_uncertainty(struct angles *a, const struct linkage_arm *arm,
                                 const struct link_position *positions, struct link_shared *out)
{
    struct fitted best, squares = {0, 0};
    if (!fit(a, &best) || !add_squares(a, &a->arm_mm, arm_length_u(arm), &squares) ||
        !add_squares(a, &a->link_deg, arm->arm_to_link_deg.u, &squares) ||
        !add_short_link(a, shortest_link(arm, a), &best, &squares) ||
        !add_readings(a, positions, &squares))
        return false;
    out->change_mm = (struct quantity){best.change_mm, sqrt(squares.change_mm)};
    out->all_deg = (struct quantity){best.all_deg, sqrt(squares.all_deg)};
    return true;
}

struct given {
    double change_mm, wanted_deg, link_mm;
};

/* v: off, arm length, angle between arm and link half way. */
static double remains(const double *v, const void *context)
{
    const struct given *given = context;
    const struct linkage_triangle triangle = {v[1], given->link_mm, v[2],
                                              v[2] + given->wanted_deg + v[0]};
    return v[0] + linkage_turn_of(given->change_mm, &triangle);
}

static void leave(const struct linkage_arm *arm, const struct link_position *positions,
                  const struct angles *a, struct link_shared *out)
{
    double way = arm->longer == LONGER_CW ? -1 : 1;
    struct quantity arm_mm = {a->arm_mm, arm_length_u(arm)};
    for (int i = 0; i < a->count; i++) {
        struct given given = {out->turnable ? out->turns.change_mm : out->change_mm.value,
                              a->wanted_deg[i], 0};
        const double v[] = {a->off_deg[i], a->arm_mm, a->link_deg};
        const struct quantity inputs[] = {
            {a->off_deg[i], positions[i].off.u}, arm_mm, arm->arm_to_link_deg};
        out->remains_deg[i] = quantity_carry(remains, inputs, 3, &given);
        given.link_mm = shortest_link(arm, a);
        double wrong = fabs(remains(v, &given) - out->remains_deg[i].value);
        out->remains_deg[i].u = hypot(out->remains_deg[i].u, wrong / sqrt(3));
        if (!(arm->link_mm.value > 0) && !(wrong <= out->short_deg))
            out->short_deg = wrong;
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
    if (!fit_with_uncertainty(&a, arm, positions, &made))
        return false;
    made.all_deg.value *= way;
    made.turnable =
        arm->arm_mm.value > 0 && thread_turns_for(&arm->ends, made.change_mm.value, &made.turns);
    leave(arm, positions, &a, &made);
    *out = made;
    return true;
}

bool link_shared_wants_change(const struct link_shared *shared)
{
    return fabs(shared->all_deg.value) > quantity_expanded(shared->all_deg) &&
           !(shared->turnable && thread_turns_none(&shared->turns));
}
