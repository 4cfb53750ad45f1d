#include "advice.h"

#include "arithmetic/direction.h"

#include <math.h>
#include <stdlib.h>

/* Degrees below which two deviations are the same number that was reached by other rounding. */
static const double same_deg = 1e-9;

struct advice_question advice_question_default(void)
{
    return (struct advice_question){
        .tolerance_deg = DECISION_USUAL_DEG,
        .turned_u_deg = NAN,
        .scale.u.dof = INFINITY,
        .step_percent = ADVICE_TRIM_STEP,
        .limit_percent = ADVICE_TRIM_LIMIT,
    };
}

static struct spline_horn horn_of(const struct advice_question *q)
{
    struct spline_horn horn = {.teeth = q->teeth,
                               .arm_count = q->arm_count,
                               .may_turn_over = q->may_turn_over,
                               .turned_arm = q->used,
                               .turned_deg = q->turned_deg};
    for (int i = 0; i < q->arm_count; i++)
        horn.arm_deg[i] = q->arms[i].angle_deg;
    return horn;
}

/* Work at the bench, in an order rather than a unit: turning over also swaps the side of the ball,
 * another arm moves the link, a tooth only turns the horn. */
static int work_of(const struct advice_question *q, const struct spline_position *at)
{
    int tooth = 1;
    int arm = tooth * SPLINE_MAX_TEETH;
    int side = arm * 2;
    return at->turned_over * side + (at->arm != q->used) * arm + abs(at->teeth) * tooth;
}

/* Of where the arm then points. As it sits, an arm was read directly. Turned over, arm j lies at
 * turned + used - j: the arm in use was read directly, the others carry three readings. Two of one
 * photo share its reference the one way, print and tilt either way: their u add up at the most. */
static double arm_u(const struct advice_question *q, const struct spline_position *at)
{
    double u = q->arms[at->arm].u_deg;
    if (!at->turned_over)
        return u;
    if (at->arm == q->used)
        return q->turned_u_deg;
    return hypot(q->turned_u_deg, q->arms[q->used].u_deg + u);
}

bool advice_is_open(const struct advice_question *q)
{
    return q->unsure || q->half_way;
}

/* A doubtful reading decides nothing, nor does where a link lay before, and an arm that nobody
 * measured is never accepted. */
static enum decision decide(const struct advice_question *q, const struct advice_option *option,
                            double deviation, double expanded)
{
    enum decision decision = decision_make(deviation, expanded, q->tolerance_deg);
    bool too_soon = option->swings || (option->assumed && decision == DECISION_ACCEPT);
    return advice_is_open(q) || too_soon ? DECISION_CANNOT_TELL : decision;
}

/* Without an uncertainty an angle is shown to a tenth (src/arithmetic/plus_minus.h), and less is no
 * order. */
static bool reads_as_nothing(const struct advice_option *option)
{
    return isnan(option->expanded_deg) && fabs(option->at.remains_deg) < 0.05;
}

#define ROUNDING 1e-9 /* of percents in whole steps */

bool advice_over_limit(const struct advice_question *q, double percent)
{
    return fabs(percent) > q->limit_percent + ROUNDING;
}

bool advice_over_usual_limit(const struct advice_question *q, double remains_deg)
{
    return fabs(remains_deg) > q->limit_percent * ADVICE_SCALE_USUAL + ROUNDING;
}

/* More than the limit even where one percent does as much as it can. */
static bool is_over_any_limit(const struct advice_question *q, const struct advice_option *option)
{
    return fabs(option->at.remains_deg) > q->limit_percent * ADVICE_SCALE_MAX;
}

static enum advice_trim_kind trim_kind(const struct advice_question *q,
                                       const struct advice_option *option, double percent)
{
    if (option->decision == DECISION_ACCEPT)
        return ADVICE_TRIM_NOT_NEEDED;
    if (option->assumed || option->swings || advice_is_open(q))
        return ADVICE_TRIM_MEASURE_FIRST;
    if (reads_as_nothing(option))
        return ADVICE_TRIM_NOT_NEEDED;
    if (fabs(option->at.remains_deg) <= option->expanded_deg)
        return ADVICE_TRIM_NOT_SEEN;
    if (!q->scale.known)
        return is_over_any_limit(q, option) ? ADVICE_TRIM_OVER_LIMIT : ADVICE_TRIM_NO_SCALE;
    if (percent == 0)
        return ADVICE_TRIM_TOO_FINE;
    return advice_over_limit(q, percent) ? ADVICE_TRIM_OVER_LIMIT : ADVICE_TRIM_USE;
}

bool advice_scale_is_bare(const struct advice_scale *scale)
{
    return scale->known && !(scale->u.u > 0);
}

/* remains' = remains + scale percent; with percent exact, u'^2 = u^2 + (percent u(scale))^2. By a
 * scale that nobody knows how good it is, nobody knows what that leaves. */
static void set_percent(const struct advice_question *q, const struct advice_option *option,
                        double percent, struct advice_trim *trim)
{
    struct uncertainty terms[] = {
        {option->u_deg, INFINITY},
        {percent * q->scale.u.u, q->scale.u.dof},
    };
    bool bare = percent != 0 && advice_scale_is_bare(&q->scale);
    trim->percent = percent;
    trim->remains_deg = option->at.remains_deg + q->scale.deg_per_percent * percent;
    trim->expanded_deg = bare ? NAN : uncertainty_expand(uncertainty_combine(terms, 2));
    trim->decision = decide(q, option, trim->remains_deg, trim->expanded_deg);
}

/* The last whole step within the limit, towards percent. 0 where there is none. */
static double within_limit(const struct advice_question *q, double percent)
{
    return copysign(q->step_percent * floor(q->limit_percent / q->step_percent + ROUNDING),
                    percent);
}

static struct advice_trim trim_for(const struct advice_question *q,
                                   const struct advice_option *option)
{
    struct advice_trim trim = {.exact_percent = NAN,
                               .percent = NAN,
                               .remains_deg = NAN,
                               .expanded_deg = NAN,
                               .decision = DECISION_CANNOT_TELL};
    if (q->scale.known) {
        trim.exact_percent = -option->at.remains_deg / q->scale.deg_per_percent;
        set_percent(q, option, q->step_percent * round(trim.exact_percent / q->step_percent) + 0.0,
                    &trim);
        struct advice_trim less = trim;
        set_percent(q, option, within_limit(q, trim.percent), &less);
        if (advice_over_limit(q, trim.percent) && less.decision == DECISION_ACCEPT)
            trim = less;
    }
    trim.kind = trim_kind(q, option, trim.percent);
    if (q->scale.known && trim.kind != ADVICE_TRIM_USE && trim.kind != ADVICE_TRIM_OVER_LIMIT)
        set_percent(q, option, 0, &trim);
    return trim;
}

static struct advice_option judge(const struct advice_question *q, struct spline_position at)
{
    struct advice_option option = {.at = at, .u_deg = hypot(arm_u(q, &at), q->wanted_u_deg)};
    option.assumed = q->arms[at.arm].assumed;
    option.expanded_deg = uncertainty_expand((struct uncertainty){option.u_deg, INFINITY});
    option.swings = q->link_swings && work_of(q, &at) != 0;
    option.decision = decide(q, &option, at.remains_deg, option.expanded_deg);
    option.trim = trim_for(q, &option);
    return option;
}

static int compare(const void *left, const void *right, void *context)
{
    const struct spline_position *a = &((const struct advice_option *)left)->at;
    const struct spline_position *b = &((const struct advice_option *)right)->at;
    /* Whole nanodegrees: a comparison with a tolerance would not be an order. */
    double da = round(fabs(a->remains_deg) / same_deg);
    double db = round(fabs(b->remains_deg) / same_deg);
    if (da != db)
        return da < db ? -1 : 1;
    int work = work_of(context, a) - work_of(context, b);
    return work != 0 ? work : a->arm - b->arm;
}

/* U (95 %) of |a| - |b|. The same arm on another tooth moves with it, and the wanted direction is
 * the same for all: what two share drops out where both lie on the same side of the wanted
 * direction and counts twice where they do not. How much two arms share nobody tells: at most, u
 * add up. */
static double expanded_difference(const struct advice_question *q, const struct advice_option *a,
                                  const struct advice_option *b)
{
    const double shared = a->at.remains_deg * b->at.remains_deg < 0 ? 2 : 0;
    const double u_a = arm_u(q, &a->at);
    const bool same = a->at.arm == b->at.arm && a->at.turned_over == b->at.turned_over;
    double u = hypot(same ? shared * u_a : u_a + arm_u(q, &b->at), shared * q->wanted_u_deg);
    double expanded = uncertainty_expand((struct uncertainty){u, INFINITY});
    return isnan(expanded) ? 0 : expanded;
}

/* accept, cannot tell, reject: from good to bad. */
static int badness(enum decision decision)
{
    return decision == DECISION_ACCEPT ? 0 : decision == DECISION_CANNOT_TELL ? 1 : 2;
}

bool advice_ends_within(const struct advice_option *option)
{
    const struct advice_trim *trim = &option->trim;
    return option->decision == DECISION_ACCEPT ||
           (trim->kind == ADVICE_TRIM_USE && trim->decision == DECISION_ACCEPT);
}

/* What it comes to, from good to bad: within tolerance, if need be by sub-trim, or the arm in use
 * of which nothing shows that it is off; to be seen; more than sub-trim should do. */
static int end_of(const struct advice_question *q, const struct advice_option *option)
{
    const enum advice_trim_kind kind = option->trim.kind;
    if (advice_ends_within(option) || (kind == ADVICE_TRIM_NOT_SEEN && advice_is_leave(q, option)))
        return 0;
    return kind == ADVICE_TRIM_OVER_LIMIT || (kind == ADVICE_TRIM_NO_SCALE &&
                                              advice_over_usual_limit(q, option->at.remains_deg))
               ? 2
               : 1;
}

static bool is_better(const struct advice_question *q, const struct advice_option *a,
                      const struct advice_option *b)
{
    const int end = end_of(q, a) - end_of(q, b);
    const int bad = badness(a->decision) - badness(b->decision);
    if (end != 0 || bad != 0)
        return end != 0 ? end < 0 : bad < 0;
    return work_of(q, &a->at) < work_of(q, &b->at);
}

/* Index, in the list sorted by what remains, of the option to act on. */
static size_t choose(const struct advice_question *q, const struct advice *sorted)
{
    const struct advice_option *least = &sorted->options[0];
    size_t chosen = 0;
    for (size_t i = 0; i < sorted->count; i++) {
        const struct advice_option *option = &sorted->options[i];
        if (advice_is_leave(q, option) && option->decision == DECISION_ACCEPT)
            return i;
        double more = fabs(option->at.remains_deg) - fabs(least->at.remains_deg);
        if (more <= expanded_difference(q, option, least) &&
            is_better(q, option, &sorted->options[chosen]))
            chosen = i;
    }
    return chosen;
}

static void move_to_front(struct advice *advice, size_t index)
{
    struct advice_option option = advice->options[index];
    for (; index > 0; index--)
        advice->options[index] = advice->options[index - 1];
    advice->options[0] = option;
}

bool advice_make(const struct advice_question *q, struct advice *out)
{
    *out = (struct advice){0};
    struct spline_horn horn = horn_of(q);
    size_t count = spline_positions(&horn, q->wanted_deg, NULL, 0);
    struct spline_position *positions = calloc(count, sizeof *positions);
    out->options = calloc(count, sizeof *out->options);
    if (!positions || !out->options) {
        free(positions);
        advice_clear(out);
        return false;
    }
    out->count = spline_positions(&horn, q->wanted_deg, positions, count);
    for (size_t i = 0; i < count; i++) {
        out->options[i] = judge(q, positions[i]);
        if (advice_is_leave(q, &out->options[i]))
            out->now = out->options[i];
    }
    free(positions);
    qsort_r(out->options, count, sizeof *out->options, compare, (void *)q);
    move_to_front(out, choose(q, out));
    return true;
}

void advice_clear(struct advice *advice)
{
    free(advice->options);
    *advice = (struct advice){0};
}

bool advice_is_leave(const struct advice_question *q, const struct advice_option *option)
{
    return work_of(q, &option->at) == 0;
}

bool advice_is_best_tooth(const struct advice *advice, size_t index)
{
    const struct spline_position *at = &advice->options[index].at;
    for (size_t i = 0; i < index; i++) {
        const struct spline_position *other = &advice->options[i].at;
        if (other->arm == at->arm && other->turned_over == at->turned_over)
            return false;
    }
    return true;
}

bool advice_assume_even_arms(struct advice_question *q, int count)
{
    const double step_deg = 360.0 / count;
    const int known = q->arm_count;
    bool taken[SPLINE_MAX_ARMS] = {false};
    double off_deg = 0; /* of the even horn that fits best, from the first arm */
    for (int i = 0; i < known; i++) {
        double turn_deg = direction_normal(q->arms[i].angle_deg - q->arms[0].angle_deg);
        int place = (int)round(turn_deg / step_deg) % count;
        double uneven_deg = direction_turn(turn_deg - place * step_deg);
        if (taken[place] || fabs(uneven_deg) > step_deg / 6)
            return false;
        taken[place] = true;
        off_deg += uneven_deg / known;
    }
    for (int place = 0; place < count; place++) {
        struct advice_arm *arm = &q->arms[q->arm_count];
        if (taken[place])
            continue;
        *arm = q->arms[0];
        arm->name[0] = (char)('A' + q->arm_count++);
        arm->name[1] = '\0';
        arm->angle_deg = direction_normal(arm->angle_deg + off_deg + place * step_deg);
        arm->assumed = true;
    }
    return true;
}

bool advice_arms_are_even(const struct advice_question *q)
{
    struct advice_question copy = *q;
    return advice_assume_even_arms(&copy, q->arm_count);
}
