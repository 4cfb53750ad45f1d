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

enum { FIRST, SECOND, ARM, BASE, INPUTS };

/* v[BASE] 0: whatever suits both links best. */
static struct loops loops_of(const double v[INPUTS], double horn_rad)
{
    struct loops l = {v[FIRST], v[SECOND], v[ARM], v[BASE]};
    if (!(l.base_mm > 0))
        l.base_mm = fitting_base(&l, horn_rad);
    return l;
}

static double misfit_of(const double *v, const void *context)
{
    const double *horn_rad = context;
    const struct loops l = {v[FIRST], v[SECOND], v[ARM], v[BASE]};
    return fitting_base(&l, *horn_rad) - l.base_mm;
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
    return pose;
}

/* By lengths that came without theirs nobody knows how good the answers are, whatever the base has.
 */
static void forget_u(struct link_pair_pose *pose)
{
    pose->bias_u_deg = pose->first_strain_u_mm = pose->second_strain_u_mm = NAN;
    pose->least_force_n = pose->most_force_n = NAN;
}

static double half_squared(double up, double down)
{
    return pow((up - down) / 2, 2);
}

/* Each number moved up and down by its u while the others stay (JCGM 100:2008, 5.1.4, note 2). */
static struct link_pair_pose pose_with_u(const struct link_pair *pair,
                                         const struct quantity inputs[INPUTS], double servo_deg)
{
    double horn_rad = pair->horn_deg * RAD_PER_DEG, v[INPUTS];
    double bias = 0, first = 0, second = 0;
    for (int i = 0; i < INPUTS; i++)
        v[i] = inputs[i].value;
    struct loops l = loops_of(v, horn_rad);
    struct link_pair_pose pose = pose_at(pair, &l, servo_deg);
    for (int i = 0; i < INPUTS; i++) {
        if (!(inputs[i].u > 0))
            continue;
        v[i] = inputs[i].value + inputs[i].u;
        l = loops_of(v, horn_rad);
        const struct link_pair_pose up = pose_at(pair, &l, servo_deg);
        v[i] = inputs[i].value - inputs[i].u;
        l = loops_of(v, horn_rad);
        const struct link_pair_pose down = pose_at(pair, &l, servo_deg);
        v[i] = inputs[i].value;
        bias += half_squared(up.bias_deg, down.bias_deg);
        first += half_squared(up.first_strain_mm, down.first_strain_mm);
        second += half_squared(up.second_strain_mm, down.second_strain_mm);
    }
    pose.bias_u_deg = sqrt(bias);
    pose.first_strain_u_mm = sqrt(first);
    pose.second_strain_u_mm = sqrt(second);
    return pose;
}

static void fill_forces(const struct link_pair *pair, struct link_pair_pose *pose)
{
    const struct quantity strains[] = {{pose->first_strain_mm, pose->first_strain_u_mm},
                                       {pose->second_strain_mm, pose->second_strain_u_mm}};
    for (int i = 0; i < 2; i++) {
        double size = fabs(strains[i].value), expanded = quantity_expanded(strains[i]);
        pose->force_n = fmax(pose->force_n, force_of(pair, size));
        pose->least_force_n = fmax(pose->least_force_n, force_of(pair, fmax(0, size - expanded)));
        pose->most_force_n = fmax(pose->most_force_n, force_of(pair, size + expanded));
    }
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
    const struct quantity inputs[INPUTS] = {pair->first_mm, pair->second_mm, pair->arm_mm,
                                            pair->base_mm};
    struct link_pair_result made = {
        .difference_mm = {pair->first_mm.value - pair->second_mm.value,
                          hypot(pair->first_mm.u, pair->second_mm.u)},
        .equal = DECISION_CANNOT_TELL,
        .low = pose_with_u(pair, inputs, pair->low_deg),
        .neutral = pose_with_u(pair, inputs, 0),
        .high = pose_with_u(pair, inputs, pair->high_deg),
    };
    made.bias_deg = (struct quantity){made.neutral.bias_deg, made.neutral.bias_u_deg};
    fill_forces(pair, &made.low);
    fill_forces(pair, &made.neutral);
    fill_forces(pair, &made.high);
    if (pair->base_mm.value > 0)
        made.misfit_mm = quantity_carry(misfit_of, inputs, INPUTS, &horn_rad);
    if (!isfinite(made.low.bias_deg + made.neutral.bias_deg + made.high.bias_deg))
        return false;
    double half = fabs(made.difference_mm.value) / 2;
    double half_expanded = quantity_expanded(made.difference_mm) / 2;
    made.held_force_n = force_of(pair, half);
    made.least_held_n = force_of(pair, fmax(0, half - half_expanded));
    made.most_held_n = force_of(pair, half + half_expanded);
    choose_limit(pair, &made);
    made.bare = !(pair->first_mm.u > 0 && pair->second_mm.u > 0);
    if (!made.bare)
        made.equal = decision_make(made.difference_mm.value, quantity_expanded(made.difference_mm),
                                   made.within_mm);
    choose_turn(pair, &made);
    if (made.bare) {
        forget_u(&made.low);
        forget_u(&made.neutral);
        forget_u(&made.high);
        made.bias_deg.u = made.misfit_mm.u = made.least_held_n = made.most_held_n = NAN;
    }
    *out = made;
    return true;
}

bool link_pair_is_absurd(const struct link_pair_result *result)
{
    double expanded = fmax(0, quantity_expanded(result->misfit_mm)); /* 0 where it is NAN */
    return fabs(result->misfit_mm.value) - expanded > LINK_PAIR_MISFIT_MM;
}

struct quantity link_pair_misfit_left(const struct link_pair_result *result)
{
    double turned = result->turnable ? result->turns.change_mm : result->change_mm;
    double gone = link_pair_wants_change(result) ? turned / 2 : 0;
    return (struct quantity){result->misfit_mm.value + gone, result->misfit_mm.u};
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
