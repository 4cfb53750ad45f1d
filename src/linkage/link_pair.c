#include "link_pair.h"

#include "arithmetic/direction.h"
#include "linkage_result.h"

#include <math.h>
#include <stddef.h>

/* Nothing known that would say what matters: common practice, no source. */
#define EQUAL_ENOUGH_MM 0.1

/* ---- The two loops --------------------------------------------------------------------------- */

struct loops {
    double first_mm, second_mm, arm_mm, base_mm;
};

/* Room for each link, ball to ball, with the horn at t and the crank at t + e. */
static void rooms(const struct loops *l, double t, double e, double *first, double *second)
{
    double dx = l->arm_mm * (cos(t + e) - cos(t)), dy = l->arm_mm * (sin(t + e) - sin(t));
    *first = hypot(l->base_mm + dx, dy);
    *second = hypot(l->base_mm - dx, -dy);
}

/* Torque of both strained links on the crank, up to their stiffness: strain times lever. Levers are
 * d(room)/de with the chain rule, since virtual work of a strain is strain x d(room). */
static double unbalance(const struct loops *l, double t, double e)
{
    double first, second, up1, up2, down1, down2;
    const double h = 1e-6;
    rooms(l, t, e, &first, &second);
    rooms(l, t, e + h, &up1, &up2);
    rooms(l, t, e - h, &down1, &down2);
    return ((l->first_mm - first) * (up1 - down1) + (l->second_mm - second) * (up2 - down2)) /
           (2 * h);
}

/* Where the crank settles between two equally stiff links: the unbalance is 0. Secant steps from
 * the small-angle answer e = -(L1 - L2) / (2 r sin t). NAN when it does not settle. */
static double settle(const struct loops *l, double t)
{
    double lever = 2 * l->arm_mm * sin(t);
    double e0 = fabs(lever) > 1e-9 ? -(l->first_mm - l->second_mm) / lever : 0;
    double e1 = e0 + 1e-4, f0 = unbalance(l, t, e0), f1 = unbalance(l, t, e1);
    for (int i = 0; i < 60 && fabs(e1 - e0) > 1e-14 && f1 != f0; i++) {
        double e2 = e1 - f1 * (e1 - e0) / (f1 - f0);
        e0 = e1;
        f0 = f1;
        e1 = e2;
        f1 = unbalance(l, t, e1);
    }
    return fabs(e1) < 1 && fabs(f1) < 1e-7 * l->arm_mm ? e1 : NAN;
}

/* The distance of the axes that leaves no strain on the mean of both links at neutral. */
static double fitting_base(const struct loops *given, double t)
{
    struct loops l = *given;
    l.base_mm = (l.first_mm + l.second_mm) / 2;
    for (int i = 0; i < 20; i++) {
        double first, second;
        rooms(&l, t, settle(&l, t), &first, &second);
        l.base_mm += (l.first_mm + l.second_mm - first - second) / 2;
    }
    return l.base_mm;
}

static double bias_of(const double *v, const void *context)
{
    const double *horn_rad = context;
    struct loops l = {v[0], v[1], v[2], v[3]};
    if (!(l.base_mm > 0))
        l.base_mm = fitting_base(&l, *horn_rad);
    return settle(&l, *horn_rad) / RAD_PER_DEG;
}

static double force_of(const struct link_pair *pair, double strain_mm)
{
    return pair->stiffness_n_per_mm * fmax(0, fabs(strain_mm) - pair->play_mm);
}

static enum link_pair_line line_at(const struct link_pair *pair, double servo_deg)
{
    double neutral = pair->horn_deg / 180, there = (pair->horn_deg + servo_deg) / 180;
    double from_line_deg = fabs(remainder(pair->horn_deg + servo_deg, 180));
    if (floor(neutral) != floor(there) || ceil(neutral) != ceil(there))
        return LINK_PAIR_THROUGH_LINE;
    return from_line_deg < LINKAGE_MARGIN_DEG ? LINK_PAIR_NEAR_LINE : LINK_PAIR_CLEAR;
}

static struct link_pair_pose pose_at(const struct link_pair *pair, const struct loops *l,
                                     double servo_deg)
{
    double t = (pair->horn_deg + servo_deg) * RAD_PER_DEG, e = settle(l, t), first, second;
    rooms(l, t, e, &first, &second);
    struct link_pair_pose pose = {
        .line = line_at(pair, servo_deg),
        .bias_deg = e / RAD_PER_DEG,
        .first_strain_mm = l->first_mm - first,
        .second_strain_mm = l->second_mm - second,
    };
    pose.force_n = force_of(pair, fmax(fabs(pose.first_strain_mm), fabs(pose.second_strain_mm)));
    return pose;
}

/* ---- The judgement --------------------------------------------------------------------------- */

static void choose_limit(const struct link_pair *pair, struct link_pair_result *out)
{
    struct thread_turns turns;
    out->within_mm = EQUAL_ENOUGH_MM;
    out->within_why = "common practice";
    if (pair->equal_within_mm > 0) {
        out->within_mm = pair->equal_within_mm;
        out->within_why = "as asked";
    } else if (pair->play_mm > 0) {
        out->within_mm = pair->play_mm;
        out->within_why = "the play of the ball links";
    } else if (thread_turns_for(&pair->ends, 0, &turns) && turns.smallest_mm > 0) {
        out->within_mm = turns.smallest_mm / 2;
        out->within_why = "half the smallest turn of the link end";
    }
}

/* The link that is further from the distance of the axes; without one, the longer comes in. */
static void choose_turn(const struct link_pair *pair, struct link_pair_result *out)
{
    double d = out->difference_mm.value;
    out->turn_first = d > 0;
    out->change_mm = out->turn_first ? -d : d;
    if (pair->base_mm.value > 0) {
        double first_off = pair->first_mm.value - pair->base_mm.value;
        double second_off = pair->second_mm.value - pair->base_mm.value;
        out->turn_first = fabs(first_off) > fabs(second_off);
        out->change_mm = out->turn_first ? -d : d;
    }
    out->turnable = thread_turns_for(&pair->ends, out->change_mm, &out->turns);
    double moved = out->turnable ? out->turns.change_mm : 0;
    out->remaining_mm =
        (struct quantity){out->turn_first ? d + moved : d - moved, out->difference_mm.u};
}

bool link_pair_wants_change(const struct link_pair_result *result)
{
    return result->equal == DECISION_REJECT &&
           !(result->turnable && thread_turns_none(&result->turns));
}

/* Some arm must be longer than the difference and shorter than the shorter link. */
bool link_pair_fits(double first_mm, double second_mm, double arm_mm)
{
    double shorter = fmin(first_mm, second_mm), difference = fabs(first_mm - second_mm);
    return arm_mm > 0 ? shorter > arm_mm && difference < arm_mm : difference < shorter;
}

static bool usable(const struct link_pair *p)
{
    double shorter = fmin(p->first_mm.value, p->second_mm.value);
    return p->arm_mm.value > 0 &&
           link_pair_fits(p->first_mm.value, p->second_mm.value, p->arm_mm.value) &&
           isfinite(p->first_mm.value) && isfinite(p->second_mm.value) && p->base_mm.value >= 0 &&
           isfinite(p->base_mm.value) &&
           (p->base_mm.value == 0 || fabs(p->base_mm.value - shorter) < p->arm_mm.value);
}

bool link_pair_judge(const struct link_pair *pair, struct link_pair_result *out)
{
    if (!usable(pair))
        return false;
    double horn_rad = pair->horn_deg * RAD_PER_DEG;
    const struct quantity inputs[] = {pair->first_mm, pair->second_mm, pair->arm_mm, pair->base_mm};
    struct loops l = {pair->first_mm.value, pair->second_mm.value, pair->arm_mm.value,
                      pair->base_mm.value};
    if (l.base_mm == 0)
        l.base_mm = fitting_base(&l, horn_rad);
    struct link_pair_result made = {
        .difference_mm = {l.first_mm - l.second_mm, hypot(pair->first_mm.u, pair->second_mm.u)},
        .equal = DECISION_CANNOT_TELL,
        .bias_deg = quantity_carry(bias_of, inputs, 4, &horn_rad),
        .low = pose_at(pair, &l, pair->low_deg),
        .neutral = pose_at(pair, &l, 0),
        .high = pose_at(pair, &l, pair->high_deg),
    };
    if (!isfinite(made.low.bias_deg + made.neutral.bias_deg + made.high.bias_deg))
        return false;
    made.held_force_n = force_of(pair, made.difference_mm.value / 2);
    choose_limit(pair, &made);
    made.bare = !(pair->first_mm.u > 0 && pair->second_mm.u > 0);
    if (!made.bare)
        made.equal = decision_make(made.difference_mm.value, quantity_expanded(made.difference_mm),
                                   made.within_mm);
    choose_turn(pair, &made);
    *out = made;
    return true;
}

/* ---- From a photo ---------------------------------------------------------------------------- */

enum { SEEN_FIRST, SEEN_SECOND, HEIGHT, DISTANCE };

static double true_first(const double *v, const void *unused)
{
    (void)unused;
    return v[SEEN_FIRST] * (1 - v[HEIGHT] / v[DISTANCE]);
}

static double true_second(const double *v, const void *unused)
{
    (void)unused;
    return v[SEEN_SECOND] * (1 - v[HEIGHT] / v[DISTANCE]);
}

static double true_difference(const double *v, const void *unused)
{
    return true_first(v, unused) - true_second(v, unused);
}

/* The longer side of a picture, in distances from camera to card: 36 mm of film behind the widest
 * lens of phones, 13 mm (common practice, no source). */
#define WIDEST_LENS (36.0 / 13)

bool link_pair_lens_could(const struct link_pair_photo *photo)
{
    double links_mm = fmax(photo->first_seen_mm.value, photo->second_seen_mm.value);
    return fmax(links_mm, photo->across_mm) <= WIDEST_LENS * photo->distance_mm.value;
}

bool link_pair_from_photo(const struct link_pair_photo *photo, struct link_pair_lengths *out)
{
    if (!(photo->distance_mm.value > photo->height_mm.value) || !(photo->height_mm.value >= 0) ||
        !(photo->first_seen_mm.value > 0) || !(photo->second_seen_mm.value > 0))
        return false;
    const struct quantity inputs[] = {photo->first_seen_mm, photo->second_seen_mm, photo->height_mm,
                                      photo->distance_mm};
    out->first_mm = quantity_carry(true_first, inputs, 4, NULL);
    out->second_mm = quantity_carry(true_second, inputs, 4, NULL);
    out->difference_mm = quantity_carry(true_difference, inputs, 4, NULL);
    return true;
}
