#include "linkage_cure.h"

#include "arithmetic/direction.h"
#include "arithmetic/plus_minus.h"
#include "base/answer.h"
#include "linkage_words.h"
#include "result/order.h"

#include <math.h>
#include <stdio.h>

/* From axis to the link's other end along the wanted direction of the link, and the ball beside the
 * wanted one across it: x along the link, ball at r (cos, sin), link l^2 = (far_x - ball_x)^2 +
 * across^2. */
static double far_end_x(const struct linkage_triangle *t, double *across_mm)
{
    double wanted = t->wanted_deg * RAD_PER_DEG, stands = t->stands_deg * RAD_PER_DEG;
    *across_mm = t->arm_mm * (sin(stands) - sin(wanted));
    return t->arm_mm * cos(stands) + sqrt(t->link_mm * t->link_mm - *across_mm * *across_mm);
}

double linkage_change_of(const struct linkage_triangle *t)
{
    double wanted = t->wanted_deg * RAD_PER_DEG, stands = t->stands_deg * RAD_PER_DEG, across_mm;
    if (!(t->link_mm > 0))
        return t->arm_mm * (cos(stands) - cos(wanted));
    return far_end_x(t, &across_mm) - t->arm_mm * cos(wanted) - t->link_mm;
}

/* Endless: cos(m + turn) = cos(m) - change / r. Else the law of cosines in the triangle of axis,
 * ball and other end, whose two fixed corners lie apart_mm apart. */
double linkage_turn_of(double change_mm, const struct linkage_triangle *t)
{
    double stands = t->stands_deg * RAD_PER_DEG, to_far = 0, across_mm;
    double cosine = cos(stands) - change_mm / t->arm_mm;
    if (t->link_mm > 0) {
        double x = far_end_x(t, &across_mm), y = t->arm_mm * sin(t->wanted_deg * RAD_PER_DEG);
        double apart_mm = hypot(x, y), link_mm = t->link_mm + change_mm;
        cosine = (apart_mm * apart_mm + t->arm_mm * t->arm_mm - link_mm * link_mm) /
                 (2 * apart_mm * t->arm_mm);
        to_far = atan2(y, x);
    }
    return fabs(cosine) <= 1 ? (to_far + acos(cosine) - stands) / RAD_PER_DEG : NAN;
}

/* Whether the angle between arm and link grows (1) or shrinks (-1) as the arm turns
 * counter-clockwise. Where nobody knows, as if a longer link were the cure: square to its link the
 * arm turns as far for a shorter one. */
static double way_of(enum linkage_longer longer, double off_deg)
{
    if (longer == LONGER_UNKNOWN)
        return off_deg < 0 ? 1 : -1;
    return longer == LONGER_CCW ? 1 : -1;
}

static bool is_between(double arm_to_link_deg)
{
    return arm_to_link_deg > 0 && arm_to_link_deg < 180;
}

/* What is done to the link: so much longer, of an arm that turns this way. */
struct given {
    double change_mm, way;
};

/* v: off, arm length, angle between arm and link where the arm is wanted, link length. */
enum { OFF, ARM, WANTED, LINK, INPUTS };

static struct linkage_triangle triangle_of(const double *v, const struct given *given)
{
    return (struct linkage_triangle){v[ARM], v[LINK], v[WANTED], v[WANTED] + given->way * v[OFF]};
}

static double change(const double *v, const void *context)
{
    const struct linkage_triangle triangle = triangle_of(v, context);
    return linkage_change_of(&triangle);
}

static double remains(const double *v, const void *context)
{
    const struct given *given = context;
    const struct linkage_triangle triangle = triangle_of(v, given);
    return v[OFF] + given->way * linkage_turn_of(given->change_mm, &triangle);
}

/* What a link of unknown length, taken as endless, may be wrong by. Returns it. */
static double add_short_link(double (*f)(const double *, const void *), double v[INPUTS],
                             const struct given *given, struct quantity *out)
{
    if (v[LINK] > 0)
        return 0;
    v[LINK] = LINKAGE_SHORT_ARMS * v[ARM];
    double wrong = fabs(f(v, given) - out->value);
    out->u = hypot(out->u, wrong / sqrt(3));
    v[LINK] = 0;
    return wrong;
}

bool linkage_cure(const struct linkage_arm *arm, struct quantity off, struct linkage_cure *out)
{
    double way = way_of(arm->longer, off.value), wanted = arm->arm_to_link_deg.value;
    if (!(arm->arm_mm.value > 0) || !is_between(wanted) || !is_between(wanted + way * off.value))
        return false;
    const struct quantity inputs[INPUTS] = {off, arm->arm_mm, arm->arm_to_link_deg, arm->link_mm};
    double v[INPUTS];
    for (int i = 0; i < INPUTS; i++)
        v[i] = inputs[i].value;
    struct given given = {0, way};
    struct linkage_cure made = {.change_mm = quantity_carry(change, inputs, INPUTS, &given)};
    add_short_link(change, v, &given, &made.change_mm);
    made.turnable = thread_turns_for(&arm->ends, made.change_mm.value, &made.turns);
    given.change_mm = made.turnable ? made.turns.change_mm : made.change_mm.value;
    made.remains_deg = quantity_carry(remains, inputs, INPUTS, &given);
    made.short_deg = add_short_link(remains, v, &given, &made.remains_deg);
    if (!isfinite(made.remains_deg.value) || !isfinite(made.change_mm.value))
        return false;
    *out = made;
    return true;
}

static const char *name_of(const struct linkage_arm *arm)
{
    return arm->name ? arm->name : "the arm";
}

/* Which of the two ends goes out nobody can say, but whether both go alike; the end that moves the
 * link more shows by the arm which way is right. */
static void say_both_ends(const struct linkage_arm *arm, const struct linkage_cure *cure,
                          double off_deg, char *text, size_t size)
{
    const struct thread_turns *turns = &cure->turns;
    double near_mm = turns->turns * arm->ends.pitch_mm;
    double far_mm = turns->other_turns * arm->ends.other_mm;
    bool far_leads = fabs(far_mm) > fabs(near_mm);
    char near_end[32], far_end[32];
    thread_say_turns(turns->turns, near_end, sizeof near_end);
    thread_say_turns(turns->other_turns, far_end, sizeof far_end);
    snprintf(text, size,
             "turn the %s by %s, the way that moves %s %s as seen in the photo, and the %s by "
             "%s %s (%.2f mm in all)",
             far_leads ? "far end" : "link end", far_leads ? far_end : near_end, name_of(arm),
             order_cure(off_deg), far_leads ? "link end" : "far end",
             far_leads ? near_end : far_end,
             near_mm * far_mm < 0 ? "the other way, the one out and the other in"
                                  : "likewise, both out or both in",
             fabs(turns->change_mm));
}

static void say_without_sense(const struct linkage_arm *arm, const struct linkage_cure *cure,
                              double off_deg, char *text, size_t size)
{
    const struct thread_turns *turns = &cure->turns;
    bool far_only = turns->turns == 0;
    char amount[32];
    if (turns->turns != 0 && turns->other_turns != 0) {
        say_both_ends(arm, cure, off_deg, text, size);
        return;
    }
    thread_say_turns(far_only ? turns->other_turns : turns->turns, amount, sizeof amount);
    snprintf(text, size,
             "turn the %s by %s (%.2f mm), the way that moves %s %s as seen in the photo",
             arm->ends.turnbuckle ? "turnbuckle"
             : far_only           ? "far end"
                                  : "link end",
             amount, fabs(turns->change_mm), name_of(arm), order_cure(off_deg));
}

/* Would be said as 0.00 mm. */
static bool is_nothing(const struct linkage_cure *cure)
{
    return !cure->turnable && fabs(cure->change_mm.value) < 0.005;
}

void linkage_cure_order(const struct linkage_arm *arm, struct quantity off,
                        const struct linkage_cure *cure, char *text, size_t size)
{
    char amount[PLUS_MINUS_WORDS];
    if (is_nothing(cure)) {
        snprintf(text, size, "leave the link as it is");
    } else if (!cure->turnable) {
        const char *way = arm->longer == LONGER_UNKNOWN ? "longer or shorter"
                          : cure->change_mm.value > 0   ? "longer"
                                                        : "shorter";
        snprintf(text, size, "make the link %.2f mm %s: %s has to go %s %s as seen in the photo",
                 fabs(cure->change_mm.value), way, name_of(arm),
                 plus_minus_angle(quantity_size(off), amount), order_cure(off.value));
    } else if (arm->longer == LONGER_UNKNOWN && !thread_turns_none(&cure->turns)) {
        say_without_sense(arm, cure, off.value, text, size);
    } else {
        linkage_say_turns(&arm->ends, &cure->turns, text, size);
    }
}

/* No turn that fits brings the arm nearer: why, and what else may. */
static void say_too_coarse(const struct linkage_arm *arm, struct quantity off,
                           const struct linkage_cure *cure, char *text, size_t size)
{
    char off_by[PLUS_MINUS_WORDS], moves[48] = "past its link";
    double smallest_mm = cure->turns.smallest_mm;
    const struct linkage_triangle triangle = {arm->arm_mm.value, arm->link_mm.value,
                                              arm->arm_to_link_deg.value,
                                              arm->arm_to_link_deg.value};
    double step_deg =
        fabs(linkage_turn_of(copysign(smallest_mm, cure->change_mm.value), &triangle));
    if (isfinite(step_deg))
        snprintf(moves, sizeof moves, "%.1f degrees", step_deg);
    snprintf(text, size,
             "leave the link as it is: the smallest turn that fits, %.2f mm, moves %s %s, too "
             "coarse for the %s that it is off. A longer arm, a finer thread or one of another "
             "pitch at the far end (--far-thread) can do it.",
             smallest_mm, name_of(arm), moves, plus_minus_angle(quantity_size(off), off_by));
}

#define SEEN_DEG 0.05 /* less would be said as 0.0 */

const char *linkage_short_says(double short_deg)
{
    return short_deg < SEEN_DEG ? ""
                                : " The ± allows for any link from 1.5 arm lengths on; its "
                                  "length (--link) makes it smaller.";
}

void linkage_cure_say(const struct linkage_arm *arm, struct quantity off,
                      const struct linkage_cure *cure, char *text, size_t size)
{
    char order[LINKAGE_SENTENCE_SIZE], rest[LINKAGE_SENTENCE_SIZE];
    linkage_cure_order(arm, off, cure, order, sizeof order);
    if (is_nothing(cure)) {
        snprintf(text, size, "%s: %s is %s off.", order, name_of(arm),
                 plus_minus_angle(quantity_size(off), rest));
    } else if (!cure->turnable) {
        snprintf(text, size, "%s.%s", order, linkage_short_says(cure->short_deg));
    } else if (thread_turns_none(&cure->turns)) {
        say_too_coarse(arm, off, cure, text, size);
    } else {
        linkage_say_remains(cure->remains_deg, false, 1, rest, sizeof rest);
        snprintf(text, size, "%s; %s.%s%s", order, rest, linkage_short_says(cure->short_deg),
                 linkage_many_turns(&cure->turns));
    }
}

json_t *linkage_quantity_json(struct quantity q)
{
    return json_pack("{s:o, s:o}", "value", answer_number(q.value), "u", answer_number(q.u));
}

json_t *linkage_cure_json(const struct linkage_cure *cure)
{
    json_t *json = json_pack("{s:o, s:o}", "change_mm", linkage_quantity_json(cure->change_mm),
                             "remains_deg", linkage_quantity_json(cure->remains_deg));
    if (json && cure->turnable) {
        json_object_set_new(json, "turns_out", json_real(cure->turns.turns));
        json_object_set_new(json, "far_turns_out", json_real(cure->turns.other_turns));
        json_object_set_new(json, "exact_turns_out", json_real(cure->turns.exact_turns));
    }
    return json;
}
