#include "linkage_result.h"

#include "arithmetic/decision.h"
#include "arithmetic/direction.h"

#include <math.h>

#define SCAN_STEP_DEG 0.25 /* fine against any travel; the limits themselves are bisected */

/* How much smaller the smaller throw is than the larger one, in percent of the larger: 0 equal,
 * 50 half. Positive when the throw above neutral is the larger. 0 when nothing moves. */
static double differential(double low, double high)
{
    double larger = fmax(fabs(low), fabs(high));
    return larger > 0 ? 100 * (fabs(high) - fabs(low)) / larger : 0;
}

/* ---- The numbers that carry an uncertainty ------------------------------------------------- */

enum output {
    OUT_NEUTRAL,
    OUT_OFF,
    OUT_LOW,
    OUT_HIGH,
    OUT_DIFFERENTIAL,
    OUT_LINK,
    OUT_LINK_WANTED,
    OUT_REMAINING,
    OUT_COUNT
};

struct outputs {
    double at[LINKAGE_MAX_STAGES][OUT_COUNT];
};

/* Of everything nothing is known. */
static struct outputs outputs_unknown(void)
{
    struct outputs out;
    for (int i = 0; i < LINKAGE_MAX_STAGES; i++)
        for (int o = 0; o < OUT_COUNT; o++)
            out.at[i][o] = NAN;
    return out;
}

static void neutral_outputs(const struct linkage_ready *ready, struct outputs *out)
{
    for (int i = 0; i < ready->stage_count; i++) {
        const struct linkage_ready_stage *stage = &ready->stages[i];
        double *at = out->at[i];
        bool linked = stage->kind == LINKAGE_CRANK || stage->kind == LINKAGE_SLIDER;
        at[OUT_NEUTRAL] = linkage_shown(stage->kind, stage->neutral);
        at[OUT_OFF] = linkage_shown(stage->kind, stage->neutral - stage->wanted);
        at[OUT_LINK] = linked ? stage->link_mm : NAN;
    }
}

static enum linkage_status end_outputs(const struct linkage *linkage,
                                       const struct linkage_ready *ready, struct outputs *out,
                                       struct linkage_fault *fault)
{
    struct linkage_pose low[LINKAGE_MAX_STAGES], high[LINKAGE_MAX_STAGES];
    enum linkage_status status = linkage_pose(ready, linkage->low_deg, low, fault);
    if (status == LINKAGE_OK)
        status = linkage_pose(ready, linkage->high_deg, high, fault);
    for (int i = 0; i < ready->stage_count && status == LINKAGE_OK; i++) {
        double *at = out->at[i];
        at[OUT_LOW] = linkage_shown(ready->stages[i].kind, low[i].moved);
        at[OUT_HIGH] = linkage_shown(ready->stages[i].kind, high[i].moved);
        at[OUT_DIFFERENTIAL] = differential(at[OUT_LOW], at[OUT_HIGH]);
    }
    return status;
}

/* All outputs of one set of numbers; change_mm is what the turns do to each link. After a failure
 * those are NAN that cannot be told: a jam at an end of the travel takes nothing from neutral. */
static enum linkage_status evaluate(const struct linkage *linkage, const double *change_mm,
                                    struct linkage_ready *ready, struct outputs *out,
                                    struct linkage_fault *fault)
{
    *out = outputs_unknown();
    enum linkage_status status = linkage_prepare(linkage, ready, fault);
    if (status != LINKAGE_OK)
        return status;
    neutral_outputs(ready, out);
    struct linkage_ready turned = *ready;
    status = linkage_adjust(&turned, change_mm, fault);
    for (int i = 0; i < ready->stage_count && status == LINKAGE_OK; i++) {
        out->at[i][OUT_REMAINING] = linkage_shown(
            turned.stages[i].kind, turned.stages[i].neutral - turned.stages[i].wanted);
        out->at[i][OUT_LINK_WANTED] =
            linkage_has_wish(&linkage->stages[i]) ? linkage_link_wanted(&turned, i) : NAN;
    }
    return status == LINKAGE_OK ? end_outputs(linkage, ready, out, fault) : status;
}

/* Adds what one given number does to every output: half the difference between the number one
 * standard uncertainty up and down, JCGM 100:2008, 5.1.4, note 2. Returns its share of the last
 * part at neutral, NAN when it cannot be told. */
static double add_share(const struct linkage *linkage, const double *change_mm, int stage, int part,
                        struct outputs *sum_of_squares)
{
    struct linkage moved = *linkage;
    struct quantity *number = &moved.stages[stage].parts[part];
    struct linkage_ready ready;
    struct outputs up, down;
    double u = number->u, value = number->value;
    number->value = value + u;
    evaluate(&moved, change_mm, &ready, &up, NULL);
    number->value = value - u;
    evaluate(&moved, change_mm, &ready, &down, NULL);
    for (int i = 0; i < linkage->stage_count; i++)
        for (int o = 0; o < OUT_COUNT; o++) {
            double half = (up.at[i][o] - down.at[i][o]) / 2;
            sum_of_squares->at[i][o] += half * half;
        }
    int last = linkage->stage_count - 1;
    return fabs(up.at[last][OUT_NEUTRAL] - down.at[last][OUT_NEUTRAL]) / 2;
}

/* The squares of the standard uncertainties of all outputs. shares (may be NULL) takes each given
 * number's share of the last part. */
static struct outputs carry(const struct linkage *linkage, const double *change_mm,
                            struct linkage_result *shares)
{
    struct outputs square = {{{0}}};
    for (int i = 0; i < linkage->stage_count; i++)
        for (int p = 0; p < LINKAGE_PART_COUNT; p++) {
            if (!(linkage->stages[i].parts[p].u > 0))
                continue;
            double share = add_share(linkage, change_mm, i, p, &square);
            if (shares && !(share <= 1e-9))
                shares->shares[shares->share_count++] =
                    (struct linkage_share){.stage = i, .part = (enum linkage_part)p, .u = share};
        }
    return square;
}

static struct quantity carried(const struct outputs *value, const struct outputs *square, int stage,
                               enum output o)
{
    return (struct quantity){value->at[stage][o], sqrt(square->at[stage][o])};
}

static void carry_uncertainty(const struct linkage *linkage, const double *change_mm,
                              const struct outputs *value, struct linkage_result *result)
{
    struct outputs square = carry(linkage, change_mm, result);
    for (int i = 0; i < linkage->stage_count; i++) {
        struct linkage_stage_result *stage = &result->stages[i];
        stage->neutral = carried(value, &square, i, OUT_NEUTRAL);
        stage->off = carried(value, &square, i, OUT_OFF);
        stage->low = carried(value, &square, i, OUT_LOW);
        stage->high = carried(value, &square, i, OUT_HIGH);
        stage->differential = carried(value, &square, i, OUT_DIFFERENTIAL);
        stage->link_mm = carried(value, &square, i, OUT_LINK);
        stage->link_wanted_mm = carried(value, &square, i, OUT_LINK_WANTED);
        stage->remaining = carried(value, &square, i, OUT_REMAINING);
    }
}

/* ---- Turns, from the servo outwards -------------------------------------------------------- */

#define NOTHING_MM 1e-9 /* a rounding error of a length */

/* How far a part is off, the links before it being done and its own not. */
static struct quantity due(const struct linkage *linkage, const double *change_mm, int index)
{
    struct linkage_ready ready;
    struct outputs value;
    evaluate(linkage, change_mm, &ready, &value, NULL);
    struct outputs square = carry(linkage, change_mm, NULL);
    return carried(&value, &square, index, OUT_REMAINING);
}

/* What is to be done to one link, the links before it being done: turns as far as they fit; the
 * exact length for a link that is only being planned; else nothing. change_mm is what was done to
 * those before. */
static double plan_link(const struct linkage *linkage, const struct linkage_ready *ready, int index,
                        const double *change_mm, struct linkage_stage_result *stage)
{
    const struct linkage_stage *given = &linkage->stages[index];
    if (!linkage_has_wish(given))
        return 0;
    double change = linkage_link_wanted(ready, index) - ready->stages[index].link_mm;
    enum linkage_part judged_by = linkage_judged_by(given);
    if (!given->given[judged_by])
        return change;
    stage->turnable =
        given->ends.pitch_mm > 0 && thread_turns_for(&given->ends, change, &stage->turns);
    bool stays = stage->turnable ? thread_turns_none(&stage->turns) : fabs(change) < NOTHING_MM;
    stage->bare = !(given->parts[judged_by].u > 0);
    stage->due = due(linkage, change_mm, index);
    double expanded = quantity_expanded(stage->due);
    stage->within =
        !linkage_slides(given->kind) &&
        decision_make(stage->due.value, expanded, linkage->tolerance_deg) == DECISION_ACCEPT;
    bool surely_off = fabs(stage->due.value) >= expanded; /* false where either is NAN */
    stage->measure_first = !stays && !stage->within && !surely_off;
    stage->turnable = stage->turnable && !stage->within && !stage->measure_first;
    return stage->turnable && !stage->bare ? stage->turns.change_mm : 0;
}

static void plan_turns(const struct linkage *linkage, struct linkage_result *result,
                       double *change_mm)
{
    struct linkage_ready ready = result->ready;
    for (int i = 0; i < linkage->stage_count; i++) {
        struct linkage_stage_result *stage = &result->stages[i];
        double only_this[LINKAGE_MAX_STAGES] = {0};
        only_this[i] = plan_link(linkage, &ready, i, change_mm, stage);
        change_mm[i] = only_this[i];
        if (linkage_adjust(&ready, only_this, NULL) == LINKAGE_OK)
            continue;
        change_mm[i] = 0;
        stage->turnable = false;
    }
}

/* ---- Limits of the travel ------------------------------------------------------------------- */

static bool reaches(const struct linkage_ready *ready, double servo_deg, struct linkage_pose *poses,
                    int *stage)
{
    struct linkage_fault fault;
    bool good = linkage_pose(ready, servo_deg, poses, &fault) == LINKAGE_OK;
    if (!good)
        *stage = fault.stage;
    return good;
}

/* The last servo angle that can be reached between one that can and one that cannot. */
static double bisect_dead(const struct linkage_ready *ready, double good_deg, double bad_deg)
{
    struct linkage_pose poses[LINKAGE_MAX_STAGES];
    int stage;
    for (int i = 0; i < 50; i++) {
        double middle = (good_deg + bad_deg) / 2;
        if (reaches(ready, middle, poses, &stage))
            good_deg = middle;
        else
            bad_deg = middle;
    }
    return good_deg;
}

/* Where the gain of a stage goes through 0 between two reachable servo angles. */
static double bisect_turning(const struct linkage_ready *ready, int stage, double near_deg,
                             double far_deg, bool positive)
{
    struct linkage_pose poses[LINKAGE_MAX_STAGES];
    int unread;
    for (int i = 0; i < 50; i++) {
        double middle = (near_deg + far_deg) / 2;
        if (reaches(ready, middle, poses, &unread) && (poses[stage].gain > 0) == positive)
            near_deg = middle;
        else
            far_deg = middle;
    }
    return near_deg;
}

/* Looks outward from neutral, side -1 or +1, for the first turning point of each stage and the
 * first dead point of any. */
static void find_limits(const struct linkage_ready *ready, int side, struct linkage_result *result)
{
    struct linkage_pose start[LINKAGE_MAX_STAGES], poses[LINKAGE_MAX_STAGES];
    struct linkage_limit *dead = &result->dead[side > 0];
    if (!reaches(ready, 0, start, &dead->stage))
        return;
    double before = 0;
    for (int step = 1; step * SCAN_STEP_DEG <= 180; step++) {
        double servo_deg = side * step * SCAN_STEP_DEG;
        if (!reaches(ready, servo_deg, poses, &dead->stage)) {
            dead->found = true;
            dead->servo_deg = bisect_dead(ready, before, servo_deg);
            return;
        }
        for (int i = 0; i < ready->stage_count; i++) {
            struct linkage_limit *turning = &result->stages[i].turning[side > 0];
            bool positive = start[i].gain > 0;
            if (turning->found || (poses[i].gain > 0) == positive)
                continue;
            *turning = (struct linkage_limit){
                true, bisect_turning(ready, i, before, servo_deg, positive), i};
        }
        before = servo_deg;
    }
}

/* ---- Gain and transmission through the travel ------------------------------------------------ */

static void read_gain(const struct linkage *linkage, struct linkage_result *result)
{
    const struct linkage_ready *ready = &result->ready;
    struct linkage_pose low[LINKAGE_MAX_STAGES], mid[LINKAGE_MAX_STAGES], high[LINKAGE_MAX_STAGES];
    linkage_pose(ready, linkage->low_deg, low, NULL);
    linkage_pose(ready, 0, mid, NULL);
    linkage_pose(ready, linkage->high_deg, high, NULL);
    for (int i = 0; i < ready->stage_count; i++) {
        /* radians per radian are degrees per degree; mm per radian are not mm per degree */
        double scale = linkage_slides(ready->stages[i].kind) ? RAD_PER_DEG : 1;
        result->stages[i].horn_deg = mid[i].horn_rad / RAD_PER_DEG;
        result->stages[i].gain_low = low[i].servo_gain * scale;
        result->stages[i].gain_neutral = mid[i].servo_gain * scale;
        result->stages[i].gain_high = high[i].servo_gain * scale;
    }
}

static enum linkage_status read_transmission(const struct linkage *linkage,
                                             struct linkage_result *result,
                                             struct linkage_fault *fault)
{
    struct linkage_pose poses[LINKAGE_MAX_STAGES];
    int steps = (int)ceil((linkage->high_deg - linkage->low_deg) / SCAN_STEP_DEG);
    for (int i = 0; i < linkage->stage_count; i++)
        result->stages[i].least_transmission_deg = 90;
    for (int k = 0; k <= steps; k++) {
        double servo_deg = linkage->low_deg + (linkage->high_deg - linkage->low_deg) * k / steps;
        enum linkage_status status = linkage_pose(&result->ready, servo_deg, poses, fault);
        if (status != LINKAGE_OK)
            return status;
        for (int i = 0; i < linkage->stage_count; i++) {
            double deg = poses[i].transmission_rad / RAD_PER_DEG;
            if (deg >= result->stages[i].least_transmission_deg)
                continue;
            result->stages[i].least_transmission_deg = deg;
            result->stages[i].least_transmission_at_deg = servo_deg;
        }
    }
    return LINKAGE_OK;
}

/* ---- What an error costs at the far end ------------------------------------------------------ */

static bool read_last(const struct linkage *linkage, const struct linkage_ready *ready,
                      double values[3])
{
    struct outputs out = outputs_unknown();
    neutral_outputs(ready, &out);
    if (end_outputs(linkage, ready, &out, NULL) != LINKAGE_OK)
        return false;
    int last = linkage->stage_count - 1;
    values[0] = out.at[last][OUT_NEUTRAL];
    values[1] = out.at[last][OUT_LOW];
    values[2] = out.at[last][OUT_HIGH];
    return true;
}

/* The links keep their lengths: only the horn turns on its shaft, or only one link grows. */
static void add_cost(const struct linkage *linkage, struct linkage_result *result, int stage,
                     enum linkage_part part, double link_mm)
{
    struct linkage_ready moved = result->ready;
    double change_mm[LINKAGE_MAX_STAGES] = {0}, before[3] = {0}, after[3] = {0};
    if (part == LINKAGE_HORN_ANGLE)
        moved.stages[stage].horn_rad += RAD_PER_DEG;
    else
        change_mm[stage] = link_mm;
    struct linkage_cost cost = {
        .stage = stage, .part = part, .link_mm = link_mm, .neutral = NAN, .low = NAN, .high = NAN};
    if (linkage_adjust(&moved, change_mm, NULL) == LINKAGE_OK &&
        read_last(linkage, &result->ready, before) && read_last(linkage, &moved, after)) {
        cost.neutral = after[0] - before[0];
        cost.low = after[1] - before[1];
        cost.high = after[2] - before[2];
    }
    result->costs[result->cost_count++] = cost;
}

static void read_costs(const struct linkage *linkage, struct linkage_result *result)
{
    for (int i = 0; i < linkage->stage_count; i++) {
        enum linkage_kind kind = linkage->stages[i].kind;
        if (kind != LINKAGE_PITCH_ARM)
            add_cost(linkage, result, i, LINKAGE_HORN_ANGLE, 0);
        bool linked = kind == LINKAGE_CRANK || kind == LINKAGE_SLIDER;
        if (linked && linkage->stages[i].ends.pitch_mm > 0)
            add_cost(linkage, result, i, LINKAGE_LINK,
                     thread_per_turn(&linkage->stages[i].ends) / 2);
    }
}

enum linkage_status linkage_analyse(const struct linkage *linkage, struct linkage_result *result,
                                    struct linkage_fault *fault)
{
    struct linkage_fault unread = {0};
    struct linkage_result made = {.share_count = 0};
    struct outputs value;
    double change_mm[LINKAGE_MAX_STAGES] = {0};
    fault = fault ? fault : &unread;
    enum linkage_status status = linkage_prepare(linkage, &made.ready, fault);
    if (status != LINKAGE_OK)
        return status;
    status = read_transmission(linkage, &made, fault);
    if (status != LINKAGE_OK) {
        int side = fault->servo_deg < 0 ? -1 : 1;
        find_limits(&made.ready, side, &made);
        if (made.dead[side > 0].found)
            fault->servo_deg = made.dead[side > 0].servo_deg;
        return status;
    }
    plan_turns(linkage, &made, change_mm);
    status = evaluate(linkage, change_mm, &made.ready, &value, fault);
    if (status != LINKAGE_OK)
        return status;
    carry_uncertainty(linkage, change_mm, &value, &made);
    read_gain(linkage, &made);
    read_costs(linkage, &made);
    find_limits(&made.ready, -1, &made);
    find_limits(&made.ready, 1, &made);
    *result = made;
    return LINKAGE_OK;
}
