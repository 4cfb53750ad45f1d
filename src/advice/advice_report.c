#include "advice_report.h"

#include "advice_words.h"
#include "arithmetic/direction.h"
#include "base/answer.h"
#include "base/cautions.h"
#include "base/paragraph.h"
#include "result/measure_json.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MAX_OTHERS 5 /* rows below the best: more than anybody tries at the bench */

#define FAR_DEG 45 /* beyond: no longer the square direction that is nearest */

/* ---- Text --------------------------------------------------------------------------------------
 */

/* The horn as found. */
static void print_now(FILE *to, const struct advice_question *q, const struct advice *advice,
                      const struct advice_source *source)
{
    char stands[ADVICE_WORDS];
    char verdict[ADVICE_WORDS];
    if (source->unsure)
        paragraph(to, "", "The photo is unsure: %s", source->unsure);
    if (source->result->lens[0])
        paragraph(to, "", "Lens: profile of %s.", source->result->lens);
    advice_stands(q, advice->now.at.remains_deg, advice->now.expanded_deg, stands);
    advice_verdict(q, advice->now.decision, advice->now.expanded_deg, verdict);
    paragraph(to, "", "Arm %s %s %s.", q->arms[q->used].name, q->unsure ? "seems to lie" : "lies",
              stands);
    paragraph(to, "", "That is %s.", verdict);
}

static void print_remains(FILE *to, const char *mark, const struct advice_question *q,
                          const struct advice_option *option)
{
    const bool about = option->assumed || option->swings;
    char stands[ADVICE_WORDS];
    char verdict[ADVICE_WORDS];
    advice_stands(q, option->at.remains_deg, about ? NAN : option->expanded_deg, stands);
    if (!about)
        advice_verdict(q, option->decision, option->expanded_deg, verdict);
    paragraph(to, mark, "That leaves %s%s, %s.", about ? "about " : "", stands,
              option->assumed  ? "if the arms are evenly moulded"
              : option->swings ? "which swings as the arm turns"
                               : verdict);
}

static void print_best(FILE *to, const struct advice_question *q, const struct advice *advice,
                       const struct advice_source *source)
{
    const struct advice_option *best = &advice->options[0];
    bool leave = advice_is_leave(q, best);
    char words[ADVICE_WORDS];
    fputs("\nDO THIS\n", to);
    if (advice_is_open(q)) {
        paragraph(to, "  ", "%s", advice_action(q, advice, best, words));
        return;
    }
    paragraph(to, "  1. ", "%s", advice_action(q, advice, best, words));
    if (!leave)
        print_remains(to, "     ", q, best);
    paragraph(to, "  2. ", "%s", advice_trim_action(q, best, words));
    if (leave && best->trim.kind == ADVICE_TRIM_NOT_NEEDED)
        return;
    if (leave && *source->undecided && best->trim.kind != ADVICE_TRIM_USE)
        paragraph(to, "  3. ", "%s", source->undecided);
    else if (leave && best->trim.kind == ADVICE_TRIM_NOT_SEEN)
        fputs("  3. Measure again: only a smaller ± can decide.\n", to);
    else
        fputs("  3. Measure again.\n", to);
}

static void print_row(FILE *to, const struct advice_question *q, int number,
                      const struct advice_option *option)
{
    const struct spline_position *at = &option->at;
    char what[60];
    int teeth = abs(at->teeth);
    if (teeth == 0)
        snprintf(what, sizeof what, "%s", at->turned_over ? "turned over" : "as it is");
    else
        snprintf(what, sizeof what, "%d %s %s%s", teeth, teeth == 1 ? "tooth" : "teeth",
                 direction_way(at->turn_deg), at->turned_over ? ", turned over" : "");
    fprintf(to, "%3d  arm %-3s %-40s %+6.1f", number, q->arms[at->arm].name, what, at->remains_deg);
    if (option->trim.percent != 0 && !isnan(option->trim.percent))
        fprintf(to, "   %+6g %%%s", option->trim.percent,
                advice_over_limit(q, option->trim.percent) ? "  too much" : "");
    fputc('\n', to);
}

static void print_others(FILE *to, const struct advice_question *q, const struct advice *advice,
                         const struct advice_source *source)
{
    const struct advice_option *best = &advice->options[0];
    char words[ADVICE_WORDS];
    bool nearer = false;
    int row = 0;
    for (size_t i = 1; i < advice->count && (row < MAX_OTHERS || source->list_all); i++) {
        const struct advice_option *option = &advice->options[i];
        if (!source->list_all && !advice_is_best_tooth(advice, i))
            continue;
        if (row++ == 0) {
            fprintf(to, "\nOR%51s   remains%s\n", "", q->scale.known ? "   sub-trim" : "");
            nearer = best->decision != DECISION_ACCEPT &&
                     fabs(option->at.remains_deg) < fabs(best->at.remains_deg) - 0.05;
        }
        print_row(to, q, row, option);
    }
    if (row > 0)
        fputs("     (remaining degrees: + lies counter-clockwise, - clockwise)\n", to);
    if (nearer)
        fputs("     (1 reads nearer than what is ordered, but not surely so)\n", to);
    if (*advice_trim_alone(q, advice, words) && !advice_is_leave(q, &advice->options[0]))
        paragraph(to, "  ", "%s", words);
}

static int assumed_arms(const struct advice_question *q)
{
    int n = 0;
    for (int i = 0; i < q->arm_count; i++)
        n += q->arms[i].assumed;
    return n;
}

static void note_arms(FILE *to, const struct advice_question *q)
{
    int directions = spline_directions(q->teeth, q->arm_count);
    if (directions == q->teeth)
        paragraph(to, "  - ",
                  "%d evenly spaced arms on %d teeth all land in the same %d places: another arm "
                  "gains nothing unless the arms are moulded unevenly.",
                  q->arm_count, q->teeth, directions);
    else
        paragraph(to, "  - ",
                  "%d evenly spaced arms on %d teeth reach %d places, %.2f degrees apart; moulded "
                  "arms are never quite even, so measure the one you choose.",
                  q->arm_count, q->teeth, directions, 360.0 / directions);
}

/* The least number of arms of a horn of which those told are not all; 0: none is spaced so. */
static int next_even(const struct advice_question *q, int shown)
{
    for (int n = shown + 1; n <= SPLINE_MAX_ARMS; n++) {
        struct advice_question copy = *q;
        if (advice_assume_even_arms(&copy, n))
            return n;
    }
    return 0;
}

/* Where nobody told how many arms the horn has: those that are not weighed. */
static void note_missing(FILE *to, const struct advice_question *q,
                         const struct advice_source *source)
{
    const int untold = source->result->untold_arms, shown = q->arm_count + untold;
    const int even = shown == 1 ? 4 : next_even(q, shown - (untold > 0));
    char more[120] = "take a photo in which all can be measured";
    if (even > 0)
        snprintf(more, sizeof more, "--arms %d (or however many) weighs them all", even);
    if (untold > 0)
        paragraph(to, "  - ",
                  "The photo shows %d more arm%s that could not be measured and weighed here. If "
                  "%s in use, take another photo%s%s.",
                  untold, untold > 1 ? "s" : "", untold > 1 ? "one of them is" : "that one is",
                  even > 0 ? "; if not, " : "", even > 0 ? more : "");
    else if (shown == 1)
        paragraph(to, "  - ", "The horn is taken to have one arm. If it has more, %s.", more);
    else if (source->photo && (shown == 2 || !advice_arms_are_even(q)))
        paragraph(to, "  - ",
                  "Only the %d arms that the photo shows are weighed. If the horn has more, %s.",
                  shown, more);
}

/* What the reading itself leaves open. */
static void note_reading(FILE *to, const struct advice_question *q, const struct advice *advice,
                         const struct advice_source *source)
{
    const char *used = q->arms[q->used].name;
    if (isnan(advice->now.u_deg))
        paragraph(to, "  - ",
                  "Without an uncertainty nothing can be called within tolerance or outside it. "
                  "Write it behind the number, such as 6.8u0.1, or for all numbers --u 0.1, if you "
                  "trust them to 0.2 degrees (it is half of that). A photo brings its own.");
    if (source->arms_by_default)
        note_missing(to, q, source);
    if (source->arm_by_default && q->arm_count > 1)
        paragraph(to, "  - ", "Arm %s is taken as the one in use; --use NAME says otherwise.",
                  used);
    if (q->wanted_named && fabs(advice->now.at.remains_deg) > FAR_DEG)
        paragraph(to, "  - ",
                  "Arm %s lies far from the wanted %.1f degrees; if it is only to stand square, "
                  "leave out --target.",
                  used, q->wanted_deg);
    if (assumed_arms(q) > 0)
        note_arms(to, q);
}

/* What else could be done, and what must hold when it is. */
static void note_next(FILE *to, const struct advice_question *q, const struct advice *advice,
                      const struct advice_source *source)
{
    const struct advice_option *best = &advice->options[0];
    if (source->could_turn_over && best->decision != DECISION_ACCEPT)
        paragraph(
            to, "  - ",
            "Turned over, the horn may come nearer; by how much depends on its teeth, which "
            "cannot be seen. Put it on turned over, on any tooth, take another photo of arm %s "
            "and add --turn-over PHOTO.",
            q->arms[q->used].name);
    if (source->turned_by_number && fabs(direction_turn(q->turned_deg)) <= FAR_DEG &&
        direction_square(q->wanted_deg) != 0)
        paragraph(to, "  - ",
                  "--turn-over takes the angle from the reference, 0 to 360. If %g is how far arm "
                  "%s was off square then, give the photo instead, or the arm's angle in it.",
                  direction_turn(q->turned_deg), q->arms[q->used].name);
    if (best->decision == DECISION_REJECT && !advice_ends_within(best))
        paragraph(to, "  - ",
                  "No arm on any tooth comes within tolerance. Moulds differ: another horn for the "
                  "same spline, or one with more arms, may%s.",
                  source->could_turn_over || q->may_turn_over
                      ? ""
                      : "; so may this one turned over, if nothing on it forbids that (--turn-over "
                        "allowed)");
    if (best->trim.kind == ADVICE_TRIM_NO_SCALE)
        paragraph(to, "  - ",
                  "How many percent of sub-trim that is, three photos tell: armsquare trim-scale "
                  "a.jpg@0 b.jpg@10 c.jpg@-10");
    if (!advice_is_leave(q, best) || best->trim.kind != ADVICE_TRIM_NOT_NEEDED)
        paragraph(to, "  - ",
                  "This holds for the servo at neutral, its sub-trim as it was when measured.");
}

void advice_print(FILE *to, const struct advice_question *q, const struct advice *advice,
                  const struct advice_source *source)
{
    print_now(to, q, advice, source);
    print_best(to, q, advice, source);
    if (!advice_is_open(q)) /* numbered places would be taken for orders */
        print_others(to, q, advice, source);
    fputs("\nNOTE\n", to);
    note_reading(to, q, advice, source);
    note_next(to, q, advice, source);
    paragraph(to, "  - ", CAUTION_POWER);
    paragraph(to, "  - ", CAUTION_RULES);
}

/* ---- JSON --------------------------------------------------------------------------------------
 */

/* What is not ordered is no percent to read, and leaves all as it is. */
static json_t *trim_json(const struct advice_option *option)
{
    static const char *const kinds[ADVICE_TRIM_COUNT] = {
        [ADVICE_TRIM_NOT_NEEDED] = "not needed",
        [ADVICE_TRIM_MEASURE_FIRST] = "measure first",
        [ADVICE_TRIM_NOT_SEEN] = "not seen",
        [ADVICE_TRIM_TOO_FINE] = "too fine",
        [ADVICE_TRIM_USE] = "use",
        [ADVICE_TRIM_OVER_LIMIT] = "over limit",
        [ADVICE_TRIM_NO_SCALE] = "no scale",
    };
    struct advice_trim shown = option->trim;
    const struct advice_trim *trim = &shown;
    if (trim->kind == ADVICE_TRIM_OVER_LIMIT && !isnan(trim->percent)) {
        shown.percent = 0;
        shown.remains_deg = option->at.remains_deg;
        shown.expanded_deg = option->expanded_deg;
        shown.decision = option->decision;
    }
    json_t *decision =
        isnan(trim->percent) ? json_null() : json_string(decision_name(trim->decision));
    return json_pack("{s:s, s:o, s:o, s:o, s:o, s:o}", "kind", kinds[trim->kind], "percent",
                     answer_number(trim->percent), "exact_percent",
                     answer_number(trim->exact_percent), "remains_deg",
                     answer_number(trim->remains_deg), "expanded_deg",
                     answer_number(trim->expanded_deg), "decision", decision);
}

static json_t *option_json(const struct advice_question *q, const struct advice *advice,
                           const struct advice_option *option)
{
    const struct spline_position *at = &option->at;
    char action[ADVICE_WORDS];
    char trim_action[ADVICE_WORDS];
    return json_pack("{s:s, s:s, s:i, s:f, s:b, s:f, s:o, s:o, s:s, s:s, s:o, s:s}", "arm",
                     q->arms[at->arm].name, "side", at->turned_over ? "turned over" : "as it is",
                     "teeth", at->teeth, "turn_deg", at->turn_deg, "assumed", option->assumed,
                     "remains_deg", at->remains_deg, "u_deg", answer_number(option->u_deg),
                     "expanded_deg", answer_number(option->expanded_deg), "decision",
                     decision_name(option->decision), "action",
                     advice_action(q, advice, option, action), "sub_trim", trim_json(option),
                     "sub_trim_action", advice_trim_action(q, option, trim_action));
}

static json_t *others_json(const struct advice_question *q, const struct advice *advice,
                           bool list_all)
{
    json_t *list = json_array();
    for (size_t i = 1; i < advice->count; i++)
        if (list_all || advice_is_best_tooth(advice, i))
            json_array_append_new(list, option_json(q, advice, &advice->options[i]));
    return list;
}

static json_t *arms_json(const struct advice_question *q, bool have_angles)
{
    json_t *list = json_array();
    for (int i = 0; i < q->arm_count; i++)
        json_array_append_new(
            list, json_pack("{s:s, s:o, s:o, s:b}", "name", q->arms[i].name, "angle_deg",
                            answer_number(have_angles ? q->arms[i].angle_deg : NAN), "u_deg",
                            answer_number(q->arms[i].u_deg), "assumed", q->arms[i].assumed));
    return list;
}

static json_t *scale_json(const struct advice_question *q)
{
    if (!q->scale.known)
        return json_null();
    return json_pack("{s:f, s:f}", "deg_per_percent", q->scale.deg_per_percent, "u", q->scale.u.u);
}

json_t *advice_to_json(const struct advice_question *q, const struct advice *advice,
                       const struct advice_source *source)
{
    return json_pack(
        "{s:o, s:s?, s:s, s:s?, s:o, s:i, s:s, s:o, s:o, s:f, s:o, s:f, s:f, s:o, s:o, s:o, "
        "s:[s, s]}",
        "photo", source->photo ? answer_text(source->photo) : json_null(), "lens",
        source->result->lens[0] ? source->result->lens : NULL, "status",
        source->unsure ? "unsure" : "ok", "reason", source->unsure_code, "reference",
        source->photo ? measure_reference_json(source->result) : json_null(), "teeth", q->teeth,
        "arm", q->arms[q->used].name, "wanted_deg",
        answer_number(source->arms_have_angles ? q->wanted_deg : NAN), "arms",
        arms_json(q, source->arms_have_angles), "tolerance_deg", q->tolerance_deg, "scale",
        scale_json(q), "step_percent", q->step_percent, "limit_percent", q->limit_percent, "now",
        option_json(q, advice, &advice->now), "best", option_json(q, advice, &advice->options[0]),
        "others", others_json(q, advice, source->list_all), "cautions", CAUTION_POWER,
        CAUTION_RULES);
}
