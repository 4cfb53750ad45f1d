#include "linkage_words.h"

#include "arithmetic/decision.h"
#include "arithmetic/plus_minus.h"
#include "result/order.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define MOST_TURNS 6.0 /* common practice, no source: beyond this look how much thread is left */

const char *linkage_unit(enum linkage_kind kind)
{
    return linkage_slides(kind) ? "mm" : "degrees";
}

#define NO_SHARE 1e-4 /* no more than rounding errors make: as good as exact */

int linkage_decimals(struct quantity quantity, bool slides)
{
    double expanded = quantity_expanded(quantity);
    if (slides)
        return 2;
    return expanded > NO_SHARE ? plus_minus_decimals(expanded) : 1;
}

const char *linkage_part_name(enum linkage_part part)
{
    switch (part) {
    case LINKAGE_HORN:
        return "length of the horn";
    case LINKAGE_HORN_ANGLE:
        return "angle of the horn";
    case LINKAGE_ALONG:
        return "distance along";
    case LINKAGE_ACROSS:
        return "distance across";
    case LINKAGE_ARM:
        return "length of the arm";
    case LINKAGE_ARM_ANGLE:
        return "angle of the arm";
    case LINKAGE_LINK:
        return "length of the link";
    case LINKAGE_MEASURED:
        return "measured position";
    case LINKAGE_PART_COUNT:
        break;
    }
    return "";
}

/* "out by 1 1/2 turns" */
static void say_one_end(double turns, char *text, size_t size)
{
    char amount[32];
    thread_say_turns(turns, amount, sizeof amount);
    snprintf(text, size, "%s by %s", turns > 0 ? "out" : "in", amount);
}

void linkage_say_turns(const struct thread_ends *ends, const struct thread_turns *turns, char *text,
                       size_t size)
{
    char near_end[48] = "", far_end[48] = "";
    const char *way = turns->change_mm > 0 ? "longer" : "shorter";
    if (thread_turns_none(turns)) {
        snprintf(text, size, "leave the link as it is");
        return;
    }
    say_one_end(turns->turns, near_end, sizeof near_end);
    say_one_end(turns->other_turns, far_end, sizeof far_end);
    if (ends->turnbuckle) {
        thread_say_turns(turns->turns, near_end, sizeof near_end);
        snprintf(text, size, "turn the turnbuckle by %s the way that makes it %s (%.2f mm)",
                 near_end, way, fabs(turns->change_mm));
    } else if (fabs(turns->other_turns) < 1e-9) {
        snprintf(text, size, "turn the link end %s (%.2f mm %s)", near_end, fabs(turns->change_mm),
                 way);
    } else if (fabs(turns->turns) < 1e-9) {
        snprintf(text, size, "turn the far end %s (%.2f mm %s)", far_end, fabs(turns->change_mm),
                 way);
    } else {
        snprintf(text, size, "turn the link end %s and the far end %s (%.2f mm %s)", near_end,
                 far_end, fabs(turns->change_mm), way);
    }
}

void linkage_say_off(struct quantity off, bool slides, int decimals, char *text, size_t size)
{
    char amount[PLUS_MINUS_WORDS];
    const char *side = "";
    if (quantity_rounded(off.value, decimals) != 0)
        side = !slides         ? order_lies(off.value)
               : off.value > 0 ? "too far along"
                               : "not far enough along";
    snprintf(text, size, "%s%s%s",
             plus_minus_quantity(quantity_size(off), decimals, slides ? "mm" : "degrees", amount),
             *side ? " " : "", side);
}

void linkage_say_remains(struct quantity remains, bool slides, int decimals, char *text,
                         size_t size)
{
    char off[PLUS_MINUS_WORDS + 32];
    linkage_say_off(remains, slides, decimals, off, sizeof off);
    snprintf(text, size, "%s remain", off);
}

#define MANY_TURNS                                                                                 \
    "so many turns may leave too little thread in the end, or run out of it; check the lengths "   \
    "first."

static bool are_many(const struct thread_turns *turns)
{
    return fabs(turns->turns) > MOST_TURNS || fabs(turns->other_turns) > MOST_TURNS;
}

const char *linkage_many_turns(const struct thread_turns *turns)
{
    return are_many(turns) ? " Watch: " MANY_TURNS : "";
}

const char *linkage_too_much_remains(struct quantity remains, double tolerance_deg,
                                     const struct thread_turns *turns,
                                     char text[LINKAGE_TOO_MUCH_WORDS])
{
    bool sure =
        decision_make(remains.value, quantity_expanded(remains), tolerance_deg) == DECISION_REJECT;
    text[0] = '\0';
    if ((sure || fabs(remains.value) > tolerance_deg) && turns->smallest_mm > 0)
        snprintf(
            text, LINKAGE_TOO_MUCH_WORDS,
            " That %s more than the %g %s allowed, and no turn that fits (the smallest is %.2f "
            "mm) leaves clearly less: a longer arm, a finer thread or a far end of another pitch "
            "may.",
            sure ? "is" : "may be", tolerance_deg, plus_minus_degree_word(tolerance_deg),
            turns->smallest_mm);
    return text;
}

#define NOTHING_MM 0.005 /* would be said as 0.00 */

/* The part's name; where nobody knows how good the number is that its link is judged by, with what
 * to do first, so that an order behind it is what the number would ask for. */
static void say_whose(const struct linkage_stage *stage, const struct linkage_stage_result *it,
                      char *text, size_t size)
{
    enum linkage_part part = linkage_judged_by(stage);
    bool is_angle = part == LINKAGE_MEASURED && !linkage_slides(stage->kind);
    if (!it->bare)
        snprintf(text, size, "%s", stage->name);
    else
        snprintf(text, size,
                 "%s: change nothing yet: write behind the %s how well it is known, such as "
                 "\"%g u %g\". If it is right",
                 stage->name, linkage_part_name(part), stage->parts[part].value,
                 is_angle ? 0.2 : 0.05);
}

/* Without a thread to turn: how long the link has to be. */
static void say_length(const struct linkage_stage *stage, const struct linkage_stage_result *it,
                       char *text, size_t size)
{
    double change = it->link_wanted_mm.value - it->link_mm.value;
    double wanted_mm = it->link_wanted_mm.value, expanded = quantity_expanded(it->link_wanted_mm);
    char spread[40] = ""; /* apart from the length: it is no tolerance to make the link to */
    bool known = stage->given[linkage_judged_by(stage)];
    char whose[LINKAGE_NAME_SIZE + 160];
    say_whose(stage, it, whose, sizeof whose);
    if (expanded > 0)
        snprintf(spread, sizeof spread, " (known to ± %.2f mm)", plus_minus_rounded(expanded, 2));
    if (known && fabs(change) < NOTHING_MM)
        snprintf(text, size, "%s: leave the link as it is, %.2f mm between ball centres%s.", whose,
                 wanted_mm, spread);
    else if (known)
        snprintf(text, size,
                 "%s: make the link %.2f mm %s, %.2f mm between ball centres%s; it is %.1f %s off "
                 "now.",
                 whose, fabs(change), change > 0 ? "longer" : "shorter", wanted_mm, spread,
                 fabs(it->off.value), linkage_unit(stage->kind));
    else
        snprintf(text, size, "%s: make the link %.2f mm long between ball centres%s.", stage->name,
                 wanted_mm, spread);
}

/* Of a link that is left because its part is within the tolerance, or may be off by nothing. */
static void say_left(const struct linkage *linkage, const struct linkage_stage *stage,
                     const struct linkage_stage_result *it, char *text, size_t size)
{
    char off[PLUS_MINUS_WORDS + 32], whose[LINKAGE_NAME_SIZE + 160];
    bool slides = linkage_slides(stage->kind);
    int decimals = slides ? 2
                          : plus_minus_decimals_judged(it->due.value, quantity_expanded(it->due),
                                                       linkage->tolerance_deg);
    say_whose(stage, it, whose, sizeof whose);
    linkage_say_off(it->due, slides, decimals, off, sizeof off);
    if (it->within)
        snprintf(text, size, "%s: leave its link: %s is within the tolerance of %g %s.", whose, off,
                 linkage->tolerance_deg, plus_minus_degree_word(linkage->tolerance_deg));
    else if (isnan(it->due.u))
        snprintf(text, size,
                 "%s: leave its link for now: a dead point is so near that nobody can tell how far "
                 "it is off; some of the lengths that the uncertainties allow would jam. Measure "
                 "again, better, first.",
                 stage->name);
    else
        snprintf(text, size,
                 "%s: leave its link for now: %s may be nothing at all. Measure again, better, "
                 "first.",
                 stage->name, off);
}

static void say_turns(const struct linkage *linkage, const struct linkage_stage *stage,
                      const struct linkage_stage_result *it, char *text, size_t size)
{
    char whose[LINKAGE_NAME_SIZE + 160], turns[160], rest[LINKAGE_SENTENCE_SIZE / 4];
    char too_much[LINKAGE_TOO_MUCH_WORDS] = "";
    bool slides = linkage_slides(stage->kind);
    say_whose(stage, it, whose, sizeof whose);
    linkage_say_turns(&stage->ends, &it->turns, turns, sizeof turns);
    linkage_say_remains(it->remaining, slides, linkage_decimals(it->remaining, slides), rest,
                        sizeof rest);
    if (!it->bare && !slides)
        linkage_too_much_remains(it->remaining, linkage->tolerance_deg, &it->turns, too_much);
    snprintf(text, size, "%s: %s%s%s.%s", whose, turns, it->bare ? "" : "; ", it->bare ? "" : rest,
             too_much);
}

bool linkage_say_action(const struct linkage *linkage, const struct linkage_result *result,
                        int stage_index, char *text, size_t size)
{
    const struct linkage_stage *stage = &linkage->stages[stage_index];
    const struct linkage_stage_result *it = &result->stages[stage_index];
    bool as_built = stage->given[linkage_judged_by(stage)];
    text[0] = '\0';
    if (!linkage_has_wish(stage))
        return false;
    if (it->within || it->measure_first)
        say_left(linkage, stage, it, text, size);
    else if (!it->turnable || !as_built)
        say_length(stage, it, text, size);
    else
        say_turns(linkage, stage, it, text, size);
    return true;
}

#define NOTHING_DEG 0.05 /* would be said as 0.0 */

bool linkage_say_horn(const struct linkage *linkage, const struct linkage_result *result, int index,
                      char *text, size_t size)
{
    const struct linkage_stage *stage = &linkage->stages[index];
    text[0] = '\0';
    if (index == 0 || linkage_part_use(stage->kind, LINKAGE_HORN_ANGLE) == LINKAGE_UNUSED ||
        fabs(result->stages[index - 1].off.value) < NOTHING_DEG)
        return false;
    const char *carrier = linkage->stages[index - 1].name;
    if (stage->given[LINKAGE_HORN_ANGLE])
        snprintf(text, size,
                 "%s: its horn angle of %g degrees is taken as measured with %s as it stands now.",
                 stage->name, stage->parts[LINKAGE_HORN_ANGLE].value, carrier);
    else
        snprintf(text, size,
                 "%s: its horn is taken to be square where %s stands as wanted, so at %.1f degrees "
                 "now; a line \"horn angle\" says what was measured.",
                 stage->name, carrier, result->stages[index].horn_deg);
    return true;
}

/* ---- Warnings --------------------------------------------------------------------------------*/

struct warnings {
    const struct linkage *linkage;
    const struct linkage_result *result;
    int wanted, seen; /* which one the caller asked for; how many there were so far */
    char *text;
    size_t size;
};

static bool is_this_one(struct warnings *w)
{
    return w->seen++ == w->wanted;
}

static bool near_travel(const struct linkage *linkage, const struct linkage_limit *limit)
{
    return limit->found && limit->servo_deg > linkage->low_deg - LINKAGE_MARGIN_DEG &&
           limit->servo_deg < linkage->high_deg + LINKAGE_MARGIN_DEG;
}

static bool warn_dead_points(struct warnings *w)
{
    for (int side = 0; side < 2; side++) {
        const struct linkage_limit *dead = &w->result->dead[side];
        if (!near_travel(w->linkage, dead) || !is_this_one(w))
            continue;
        double end = side ? w->linkage->high_deg : w->linkage->low_deg;
        snprintf(w->text, w->size,
                 "%s jams at its dead point with the servo at %+.1f degrees, only %.1f degrees "
                 "beyond the "
                 "end of the travel: a servo that pushes on there stalls. Shorten the horn or "
                 "the travel.",
                 w->linkage->stages[dead->stage].name, dead->servo_deg,
                 fabs(dead->servo_deg - end));
        return true;
    }
    return false;
}

static bool warn_turning(struct warnings *w)
{
    for (int i = 0; i < w->linkage->stage_count; i++)
        for (int side = 0; side < 2; side++) {
            const struct linkage_limit *turning = &w->result->stages[i].turning[side];
            if (!near_travel(w->linkage, turning) || !is_this_one(w))
                continue;
            snprintf(w->text, w->size,
                     "%s turns back with the servo at %+.1f degrees (horn and link in one line): "
                     "more servo travel gives less movement there.",
                     w->linkage->stages[i].name, turning->servo_deg);
            return true;
        }
    return false;
}

static bool warn_transmission(struct warnings *w, bool harsh)
{
    for (int i = 0; i < w->linkage->stage_count; i++) {
        const struct linkage_stage_result *it = &w->result->stages[i];
        double deg = it->least_transmission_deg;
        bool is_harsh = deg < LINKAGE_HARSH_DEG;
        if (deg >= LINKAGE_SMOOTH_DEG || is_harsh != harsh || !is_this_one(w))
            continue;
        snprintf(w->text, w->size,
                 "%s: link and arm come within %.0f degrees of one line with the servo at %+.1f "
                 "degrees; "
                 "%s",
                 w->linkage->stages[i].name, deg, it->least_transmission_at_deg,
                 harsh ? "the link pushes on the axis instead of turning the arm, and it may bind. "
                         "Bring both nearer to square."
                       : "above 40 degrees it runs more smoothly.");
        return true;
    }
    return false;
}

static bool warn_many_turns(struct warnings *w)
{
    for (int i = 0; i < w->linkage->stage_count; i++) {
        const struct linkage_stage_result *it = &w->result->stages[i];
        if (!it->turnable || !are_many(&it->turns) || !is_this_one(w))
            continue;
        snprintf(w->text, w->size, "%s: " MANY_TURNS, w->linkage->stages[i].name);
        return true;
    }
    return false;
}

static bool warn_unknown_uncertainty(struct warnings *w)
{
    int last = w->linkage->stage_count - 1;
    if (!isnan(w->result->stages[last].high.u + w->result->stages[last].low.u) || !is_this_one(w))
        return false;
    snprintf(w->text, w->size,
             "a dead point is so near that some uncertainties cannot be told: "
             "some of the lengths they allow would jam.");
    return true;
}

bool linkage_say_warning(const struct linkage *linkage, const struct linkage_result *result,
                         int index, char *text, size_t size)
{
    struct warnings w = {linkage, result, index, 0, text, size};
    return warn_dead_points(&w) || warn_turning(&w) || warn_transmission(&w, true) ||
           warn_unknown_uncertainty(&w) || warn_many_turns(&w) || warn_transmission(&w, false);
}

/* ---- Faults ------------------------------------------------------------------------------- */

static const char *part_says(enum linkage_kind kind, enum linkage_part part)
{
    switch (part) {
    case LINKAGE_HORN:
        return "length of the driving arm (horn)";
    case LINKAGE_HORN_ANGLE:
        return "horn angle";
    case LINKAGE_ALONG:
        return linkage_slides(kind) ? "place of the slider (along)"
                                    : "distance from axis to axis (along)";
    case LINKAGE_ACROSS:
        return "distance across";
    case LINKAGE_ARM:
        return "length of the crank's arm (arm)";
    case LINKAGE_ARM_ANGLE:
        return "arm angle";
    case LINKAGE_LINK:
        return "length of the link";
    case LINKAGE_MEASURED:
        return "measured position";
    case LINKAGE_PART_COUNT:
        break;
    }
    return "number";
}

/* Faults of what was given. false for those of the mechanism. */
static bool say_given(const struct linkage_fault *fault, const char *name, const char *part,
                      char *text, size_t size)
{
    switch (fault->status) {
    case LINKAGE_EMPTY:
        snprintf(text, size,
                 "no horn, link and crank are described; start with a line such as "
                 "\"crank front crank\".");
        return true;
    case LINKAGE_BAD_TRAVEL:
        snprintf(text, size,
                 "the servo's travel must reach from below 0 to above 0 and stay within 180 "
                 "degrees; a usual one is \"travel 40 deg\".");
        return true;
    case LINKAGE_MISSING:
        snprintf(text, size, "%s: the %s is missing; measure it and add its line.", name, part);
        return true;
    case LINKAGE_CLASH:
        snprintf(text, size,
                 "%s: give either the link's length or the measured position: the one follows "
                 "from the other.",
                 name);
        return true;
    case LINKAGE_BAD_LENGTH:
        snprintf(text, size,
                 "%s: the %s is not a possible length; lengths are in millimetres, above 0 and at "
                 "most %.0f.",
                 name, part, LINKAGE_LONGEST_MM);
        return true;
    case LINKAGE_BAD_ANGLE:
        snprintf(text, size, "%s: the %s is beyond a full circle; angles are in degrees.", name,
                 part);
        return true;
    case LINKAGE_BAD_ORDER:
        snprintf(text, size,
                 "%s: a pitch arm follows a slider, and only a pitch arm can follow one; check the "
                 "order of the parts.",
                 name);
        return true;
    default:
        return false;
    }
}

static void say_dead_point(const struct linkage_fault *fault, const char *name, char *text,
                           size_t size)
{
    if (fault->servo_deg == 0)
        snprintf(text, size,
                 "%s: at servo neutral the link cannot reach from ball to ball; check the lengths "
                 "and angles.",
                 name);
    else
        snprintf(text, size,
                 "%s jams at its dead point with the servo at %+.1f degrees, inside the travel; "
                 "shorten the travel or the horn, or check the lengths.",
                 name, fault->servo_deg);
}

void linkage_say_fault(const struct linkage *linkage, const struct linkage_fault *fault, char *text,
                       size_t size)
{
    bool staged = fault->stage >= 0 && fault->stage < linkage->stage_count;
    enum linkage_kind kind = staged ? linkage->stages[fault->stage].kind : LINKAGE_CRANK;
    const char *name = staged ? linkage->stages[fault->stage].name : linkage->name;
    if (say_given(fault, name, part_says(kind, fault->part), text, size))
        return;
    if (fault->status == LINKAGE_SAME_AXIS)
        snprintf(text, size,
                 "%s: its axis lies on the axis of the horn; \"along\" and \"across\" cannot both "
                 "be 0.",
                 name);
    else if (fault->status == LINKAGE_CANNOT_CLOSE)
        snprintf(text, size,
                 "%s: these lengths never meet: one is longer than the other three together; check "
                 "horn, link, arm and distance.",
                 name);
    else if (fault->status == LINKAGE_DEAD_POINT)
        say_dead_point(fault, name, text, size);
    else if (fault->status == LINKAGE_NO_DIRECTION)
        snprintf(text, size,
                 "%s: the horn's ball lies on the crank's axis, so the crank can stand anywhere; "
                 "check the lengths.",
                 name);
    else if (fault->status == LINKAGE_OUT_OF_RANGE)
        snprintf(text, size,
                 "%s: with the servo %+.1f degrees from neutral the slider moves further than the "
                 "arm is long; check the lengths.",
                 name, fault->servo_deg);
    else
        snprintf(text, size, "%s: nothing is wrong.", name);
}
