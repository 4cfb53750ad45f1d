#include "station.h"

#include "direction.h"
#include "travel.h"
#include "uncertainty.h"

#include <math.h>
#include <stdlib.h>

/* (-90, 90] for lines without a head. */
static double line_turn(double deg)
{
    return direction_turn(2 * deg) / 2;
}

static struct quantity apart(double value, double u1, double u2)
{
    return (struct quantity){value, hypot(u1, u2)};
}

struct quantity station_parallel(struct quantity first, struct quantity second, double reference_u)
{
    struct quantity out = apart(line_turn(first.value - second.value), first.u, second.u);
    out.u = hypot(out.u, sqrt(2) * reference_u);
    return out;
}

bool station_parallel_fits(struct quantity apart_deg)
{
    return fabs(apart_deg.value) <= STATION_MOST_APART_DEG;
}

struct quantity station_level(struct quantity edge)
{
    return (struct quantity){direction_deviation(edge.value), edge.u};
}

bool station_level_fits(struct quantity off_level)
{
    return !direction_is_half_way(off_level.value);
}

static double rise(const double *v, const void *unused)
{
    (void)unused;
    return v[1] * sin(v[0] * RAD_PER_DEG);
}

struct quantity station_rise(struct quantity off_level, struct quantity span_mm)
{
    const struct quantity inputs[] = {off_level, span_mm};
    return quantity_carry(rise, inputs, 2, NULL);
}

struct quantity station_off(struct quantity measured, struct quantity wanted)
{
    return apart(direction_turn(measured.value - wanted.value), measured.u, wanted.u);
}

/* With throws a = first - neutral and b = second - neutral: middle - neutral = (a + b) / 2, so
 * offset = neutral - (first + second) / 2 and u^2 = u_n^2 + (u_1^2 + u_2^2) / 4. */
struct station_centre station_centre(struct quantity first_end, struct quantity second_end,
                                     struct quantity neutral)
{
    double a = direction_turn(first_end.value - neutral.value);
    double b = direction_turn(second_end.value - neutral.value);
    double half_u = hypot(first_end.u, second_end.u) / 2;
    return (struct station_centre){
        .first_throw = apart(a, first_end.u, neutral.u),
        .second_throw = apart(b, second_end.u, neutral.u),
        .travel = apart(fabs(a - b), first_end.u, second_end.u),
        .middle = {direction_normal(neutral.value + (a + b) / 2), half_u},
        .offset = apart(-(a + b) / 2, neutral.u, half_u),
        .between = a * b < 0,
    };
}

static bool is_still(const struct station_centre *centre)
{
    return !(centre->travel.value > quantity_expanded(centre->travel));
}

/* Servos turn what they move by half a turn from end to end at most, some a little more (common
 * practice, no source). Neutral read from the other end of the arm makes 360 degrees less the
 * travel of it. */
#define MOST_TRAVEL_DEG 200.0

static bool is_too_far(const struct station_centre *centre)
{
    return centre->travel.value > MOST_TRAVEL_DEG;
}

const char *station_centre_fault(const struct station_centre *centre)
{
    if (is_still(centre))
        return "the part does not visibly move from one end to the other; move it to each end and "
               "to neutral, and read it at each.";
    if (!centre->between)
        return "neutral does not lie between the two ends; check the order: one end, the other "
               "end, neutral.";
    if (is_too_far(centre))
        return "the part would travel more than 200 degrees from end to end, with neutral between; "
               "check whether neutral was read from the other end of the arm, which is 180 degrees "
               "off.";
    return NULL;
}

const char *station_centre_fault_code(const struct station_centre *centre)
{
    return is_still(centre)     ? "no-travel"
           : !centre->between   ? "neutral-outside"
           : is_too_far(centre) ? "travel-too-far"
                                : NULL;
}

/* ---- End points ------------------------------------------------------------------------------ */

/* One side of neutral. */
struct end {
    double per_percent;      /* degrees */
    double own_u, neutral_u; /* of it: its readings' own, and what neutral's error puts in */
    double limit_percent;    /* largest end point: the radio's, or what lies surely before a stop */
};

/* What lies surely before the stop, to a whole step. */
static double before_stop(struct quantity stop, double step)
{
    double before = stop.value - quantity_expanded(stop);
    if (step > 0)
        before = step * (ceil(before / step - 1e-9) - 1);
    return fmax(before, step);
}

static struct end end_of(const struct station_ends_question *q, struct quantity throw_deg,
                         double percent, const struct station_stop *stop)
{
    struct quantity each = {fabs(throw_deg.value) / percent, throw_deg.u / percent};
    double share = 1 / percent, limit = q->limit_percent;
    if (stop->found) { /* it went no further from the stop on, however much was commanded */
        each = stop->per_percent;
        share = stop->neutral_share;
        limit = fmin(limit, before_stop(quantity_size(stop->percent), q->step_percent));
    }
    double neutral_u = share * q->neutral_u;
    return (struct end){.per_percent = each.value,
                        .own_u = sqrt(fmax(0, each.u * each.u - neutral_u * neutral_u)),
                        .neutral_u = neutral_u,
                        .limit_percent = limit};
}

/* Percent for a throw, in whole steps, at most the limit; cut tells that the limit is in the way.
 */
static double set_percent(const struct end *end, double step, double wanted, bool *cut)
{
    double percent = wanted / end->per_percent;
    double set = travel_step(percent, step, end->limit_percent);
    *cut = set < travel_step(percent, step, INFINITY);
    return set;
}

static struct quantity throw_at(const struct end *end, double percent)
{
    return (struct quantity){end->per_percent * percent,
                             percent * hypot(end->own_u, end->neutral_u)};
}

/* First less second: what neutral is off by is in both, the one way and the other (JCGM 100:2008,
 * 5.2.2). */
static struct quantity unequal_by(const struct end *first, double first_percent,
                                  const struct end *second, double second_percent)
{
    double own = hypot(first_percent * first->own_u, second_percent * second->own_u);
    double both = first_percent * first->neutral_u + second_percent * second->neutral_u;
    return (struct quantity){first->per_percent * first_percent -
                                 second->per_percent * second_percent,
                             hypot(own, both)};
}

bool station_ends(const struct station_ends_question *q, struct station_ends *out)
{
    if (!(fabs(q->first_throw.value) > 0 && fabs(q->second_throw.value) > 0 &&
          q->first_percent > 0 && q->second_percent > 0 && q->limit_percent > 0))
        return false;
    struct end first = end_of(q, q->first_throw, q->first_percent, &q->first_stop);
    struct end second = end_of(q, q->second_throw, q->second_percent, &q->second_stop);
    double wanted = q->wanted_deg;
    if (!(wanted > 0)) /* the smaller of what was measured, as far as no stop is in its way */
        wanted = fmin(first.per_percent * fmin(q->first_percent, first.limit_percent),
                      second.per_percent * fmin(q->second_percent, second.limit_percent));
    struct station_ends made = {0};
    made.first_percent = set_percent(&first, q->step_percent, wanted, &made.first_short);
    made.second_percent = set_percent(&second, q->step_percent, wanted, &made.second_short);
    made.first_throw = throw_at(&first, made.first_percent);
    made.second_throw = throw_at(&second, made.second_percent);
    made.unequal = unequal_by(&first, made.first_percent, &second, made.second_percent);
    *out = made;
    return true;
}

/* ---- Binding --------------------------------------------------------------------------------- */

static int by_distance(const void *a, const void *b)
{
    double x = fabs(((const struct station_reading *)a)->percent);
    double y = fabs(((const struct station_reading *)b)->percent);
    return (x > y) - (x < y);
}

/* Neutral and the readings of one side, nearest first. Returns how many; 0 when unusable. */
static size_t pick_side(const struct station_reading *readings, size_t n, int side,
                        struct station_reading *out)
{
    size_t count = 0;
    bool neutral = false;
    for (size_t i = 0; i < n; i++)
        if (readings[i].percent == 0 || readings[i].percent * side > 0) {
            neutral = neutral || readings[i].percent == 0;
            out[count++] = readings[i];
        }
    qsort(out, count, sizeof *out, by_distance);
    for (size_t i = 1; i < count; i++)
        if (out[i].percent == out[i - 1].percent)
            return 0;
    return neutral ? count : 0;
}

/* Angles come as v: of neutral, of the last reading that followed, of the one asked about. */

/* Where the line from neutral through the reading that followed reaches the stopped angle. */
static double stop_percent(const double *v, const void *followed)
{
    return direction_turn(v[2] - v[0]) / (direction_turn(v[1] - v[0]) / *(const double *)followed);
}

static double slope_before(const double *v, const void *followed)
{
    return fabs(direction_turn(v[1] - v[0]) / *(const double *)followed);
}

struct commands {
    double followed, at;
};

static double shortfall(const double *v, const void *context)
{
    const struct commands *percents = context;
    double slope = direction_turn(v[1] - v[0]) / percents->followed;
    double expected = slope * percents->at, got = direction_turn(v[2] - v[0]);
    return fabs(expected) - fabs(got);
}

/* The last reading before the stopped one that still followed. One that may stand at the stop
 * already would bend the line, and at 95 % one in twenty of them would: so 3 u. Never neutral. */
static size_t last_followed(const struct station_reading *line, size_t stopped)
{
    size_t at = stopped - 1;
    while (at > 1) {
        double gap = direction_turn(line[stopped].angle.value - line[at].angle.value);
        double u = hypot(line[stopped].angle.u, line[at].angle.u);
        if (fabs(gap) > 3 * u + 1e-9)
            break;
        at--;
    }
    return at;
}

/* Does the part hardly follow from reading i - 1 to any from i on? Where it goes on later, one was
 * merely read short. */
static bool stands_from(const struct station_reading *line, size_t i, size_t count)
{
    const struct station_reading *from = &line[i - 1];
    double slope = direction_turn(from->angle.value - line[0].angle.value) / from->percent;
    for (size_t j = i; j < count; j++) {
        double promised = slope * (line[j].percent - from->percent);
        double got = direction_turn(line[j].angle.value - from->angle.value);
        if (got * promised > 0 && fabs(got) >= STATION_FOLLOWS * fabs(promised))
            return false;
    }
    return true;
}

static struct quantity short_at(const struct station_reading *line,
                                const struct station_reading *followed,
                                const struct station_reading *at)
{
    const struct quantity angles[] = {line->angle, followed->angle, at->angle};
    const struct commands percents = {followed->percent, at->percent};
    return quantity_carry(shortfall, angles, 3, &percents);
}

/* The stop that reading i is the first to stand at. Any of count - 2 may be: 95 % of all together.
 */
static bool stops_at(const struct station_reading *line, size_t i, size_t count,
                     struct station_stop *stop)
{
    const struct station_reading *followed = &line[last_followed(line, i)];
    const struct quantity lost = short_at(line, followed, &line[i]);
    const double level = 1 - uncertainty_level_of_each(0.05, count - 2);
    if (!stands_from(line, i, count) ||
        !(lost.value > uncertainty_coverage(level, INFINITY) * lost.u))
        return false;
    const struct quantity angles[] = {line->angle, followed->angle, line[i].angle};
    const double percent = followed->percent;
    *stop = (struct station_stop){.found = true,
                                  .percent = quantity_carry(stop_percent, angles, 3, &percent),
                                  .per_percent = quantity_carry(slope_before, angles, 2, &percent),
                                  .neutral_share = 1 / fabs(percent),
                                  .lost = short_at(line, followed, &line[count - 1])};
    return true;
}

bool station_find_stop(const struct station_reading *readings, size_t n, int side,
                       struct station_stop *out)
{
    struct station_reading line[STATION_MOST_READINGS] = {{0}};
    if (n > STATION_MOST_READINGS)
        return false;
    size_t count = pick_side(readings, n, side, line);
    if (count < 3)
        return false;
    *out = (struct station_stop){0};
    for (size_t i = 2; i < count; i++)
        if (stops_at(line, i, count, out))
            break;
    return true;
}

static double percent_of_throw(const double *v, const void *unused)
{
    (void)unused;
    return fabs(v[0]) / fabs(v[1]);
}

static double scale_shortfall(const double *v, const void *percent)
{
    return fabs(v[1]) * fabs(*(const double *)percent) - fabs(v[0]);
}

struct station_stop station_stop_from_scale(struct quantity throw_deg, double percent,
                                            struct quantity deg_per_percent)
{
    struct station_stop stop = {0};
    const struct quantity inputs[] = {throw_deg, deg_per_percent};
    struct quantity lost = quantity_carry(scale_shortfall, inputs, 2, &percent);
    if (!(fabs(deg_per_percent.value) > 0) || !(lost.value > quantity_expanded(lost)))
        return stop;
    stop.lost = lost;
    if (fabs(throw_deg.value) >= STATION_FOLLOWS * fabs(deg_per_percent.value * percent)) {
        stop.open = true;
        return stop;
    }
    stop.found = true;
    stop.percent = quantity_carry(percent_of_throw, inputs, 2, NULL);
    stop.per_percent = quantity_size(deg_per_percent);
    if (percent < 0)
        stop.percent.value = -stop.percent.value;
    return stop;
}
