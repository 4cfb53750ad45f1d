#include "plan_internal.h"

#include "advice/advice.h"
#include "arithmetic/number.h"
#include "arithmetic/quantity.h"
#include "arithmetic/thread.h"
#include "base/clean_text.h"
#include "linkage/link_pair.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- Kinds and facts ---------------------------------------------------------------------- */

/* Default tolerances in the absence of anything better in the plan. An arm that looks square to a
 * practised eye is within about a degree; half of that is what the splines and a trimmed link
 * reach. 0.1 mm of link length is a fifth of a turn on an M2.5 thread. Common practice, no source.
 */
static const struct {
    const char *word, *unit;
    double tolerance;
} kinds[PLAN_KIND_COUNT] = {
    [PLAN_SQUARE] = {"square", "deg", 0.5}, [PLAN_PARALLEL] = {"parallel", "deg", 0.5},
    [PLAN_LEVEL] = {"level", "deg", 0.5},   [PLAN_CENTRED] = {"centred", "deg", 0.5},
    [PLAN_ANGLE] = {"angle", "deg", 1.0},   [PLAN_PAIR] = {"link pair", "mm", 0.1},
    [PLAN_CONFIRM] = {"confirm", "", 0.0},
};

/* A number from least to most, or else free words. whole: no fractions; signed: the limits are of
 * its size, whatever its sign. fitted: says what is fitted and where, so that another value means
 * other hardware; the others are figures for the advice. servo: at a servo's horn that is another
 * servo. label and unit: as a page shows it. */
static const struct fact_rule {
    const char *name, *meaning, *label, *unit;
    enum fact_form { WORDS, NUMBER, WHOLE, SIGNED } form;
    double least, most;
    bool fitted, servo;
} fact_rules[] = {
    {"part", "what is fitted here, in your words", "Part", "", WORDS, 0, 0, true, true},
    {"teeth", "teeth on the servo's spline", "Teeth on the servo's spline", "", WHOLE,
     SPLINE_MIN_TEETH, SPLINE_MAX_TEETH, true, true},
    {"arms", "arms on the horn", "Arms on the horn", "", WHOLE, 1, SPLINE_MAX_ARMS, true, false},
    {"horn-arm-mm", "horn: hub to ball, mm", "Horn, hub to ball", "mm", NUMBER, 0.5, 500, true,
     false},
    {"crank-arm-mm", "crank, surface or plate: pivot to ball, mm", "Crank, pivot to ball", "mm",
     NUMBER, 0.5, 500, true, false},
    {"base-mm", "servo shaft to crank pivot, mm", "Servo shaft to crank pivot", "mm", NUMBER, 0.5,
     5000, true, false},
    {"link-mm", "link: ball to ball, mm", "Link, ball to ball", "mm", NUMBER, LINK_LEAST_MM,
     LINK_MOST_MM, true, false},
    {"thread", "thread of the link ends, such as M2", "Thread of the link ends", "", WORDS, 0, 0,
     true, false},
    {"step-turns", "link ends fit every so many turns: 0.5 or 1", "Link ends fit every", "turn",
     NUMBER, 0.01, 10, false, false},
    {"degrees-per-percent",
     "turn of the arm per percent of sub-trim, counter-clockwise positive; trim-scale finds it",
     "Turn of the arm per percent of sub-trim", "degrees", SIGNED, ADVICE_SCALE_MIN,
     ADVICE_SCALE_MAX, false, false},
};
#define FACT_COUNT ((int)(sizeof fact_rules / sizeof *fact_rules))

const char *plan_kind_word(enum plan_kind kind)
{
    return kinds[kind].word;
}

bool plan_kind_by_word(const char *word, enum plan_kind *kind)
{
    for (int k = 0; k < PLAN_KIND_COUNT; k++)
        if (strcmp(kinds[k].word, word) == 0) {
            *kind = (enum plan_kind)k;
            return true;
        }
    return false;
}

const char *plan_kind_unit(enum plan_kind kind)
{
    return kinds[kind].unit;
}

double plan_kind_tolerance(enum plan_kind kind)
{
    return kinds[kind].tolerance;
}

const char *plan_fact_name_at(int index)
{
    return index >= 0 && index < FACT_COUNT ? fact_rules[index].name : NULL;
}

const char *plan_fact_meaning_at(int index)
{
    return index >= 0 && index < FACT_COUNT ? fact_rules[index].meaning : NULL;
}

static int fact_rank(const char *name)
{
    for (int i = 0; i < FACT_COUNT; i++)
        if (strcmp(fact_rules[i].name, name) == 0)
            return i;
    return -1;
}

const char *plan_fact_label(const char *name, const char **unit)
{
    int rank = fact_rank(name);
    *unit = rank >= 0 ? fact_rules[rank].unit : "";
    return rank >= 0 ? fact_rules[rank].label : name;
}

bool plan_fail(struct plan_trouble *trouble, int line, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    trouble->line = line;
    vsnprintf(trouble->text, sizeof trouble->text, format, args);
    va_end(args);
    trouble->text[text_cut(trouble->text, sizeof trouble->text)] = '\0';
    return false;
}

bool plan_no_memory(struct plan_trouble *trouble)
{
    return plan_fail(trouble, 0, "there is not enough memory");
}

bool plan_text_is_plain(const char *text)
{
    return *text && strlen(text) <= PLAN_MAX_TEXT && text_is_clean(text);
}

/* Names all there are: a slip is then seen beside what was meant. */
static bool no_such_fact(const char *name, struct plan_trouble *trouble)
{
    char names[sizeof trouble->text] = "";
    for (int i = 0; i < FACT_COUNT; i++) {
        size_t length = strlen(names);
        snprintf(names + length, sizeof names - length, "%s%s", i ? ", " : "", fact_rules[i].name);
    }
    return plan_fail(trouble, 0, "there is no hardware called \"%.*s\"; there are %s",
                     text_cut(name, 40), name, names);
}

/* Whether name is known and value (NULL: any) can be kept. Older facts may have several lines. */
static bool fact_is_text(const char *name, const char *value, struct plan_trouble *trouble)
{
    if (fact_rank(name) < 0)
        return no_such_fact(name, trouble);
    if (value && (!*value || strlen(value) > PLAN_MAX_TEXT || !text_is_clean_lines(value) ||
                  strchr(value, ';')))
        return plan_fail(trouble, 0, "\"%s\" needs a value in plain words, without \";\"", name);
    return true;
}

/* What no turn can be worked out for is a slip. */
static bool is_thread(const char *value, struct plan_trouble *trouble)
{
    double pitch_mm;
    return thread_pitch(value, &pitch_mm) ||
           plan_fail(trouble, 0, "\"thread\" is one such as " THREAD_WRITTEN ", not \"%.*s\"",
                     text_cut(value, 40), value);
}

static bool is_step(double turns, const char *value, struct plan_trouble *trouble)
{
    return turns == 0.5 || turns == 1 ||
           plan_fail(trouble, 0, "\"step-turns\" is 0.5 or 1, not \"%.*s\"", text_cut(value, 40),
                     value);
}

bool plan_fact_is_sound(const char *name, const char *value, struct plan_trouble *trouble)
{
    if (!fact_is_text(name, value, trouble))
        return false;
    if (!value)
        return true;
    /* A plan keeps all facts of a station in one line, and reads that line back. */
    if (!plan_text_is_plain(value) || !value[strspn(value, " ")])
        return plan_fail(trouble, 0, "\"%s\" needs a value in one line of plain words", name);
    const struct fact_rule *rule = &fact_rules[fact_rank(name)];
    double number = NAN;
    if (rule->form == WORDS)
        return strcmp(name, "thread") != 0 || is_thread(value, trouble);
    bool parsed = number_parse(value, &number);
    if (!parsed && quantity_has_comma(value))
        return plan_fail(trouble, 0, "\"%s\": \"%.*s\" %s", name, text_cut(value, 40), value,
                         quantity_fault_says(QUANTITY_COMMA));
    double size = parsed && rule->form == SIGNED ? fabs(number) : number;
    if (!parsed || size < rule->least || size > rule->most ||
        (rule->form == WHOLE && number != floor(number)))
        return plan_fail(trouble, 0, "\"%s\" is a %s from %g to %g%s, not \"%.*s\"", rule->name,
                         rule->form == WHOLE ? "whole number" : "number", rule->least, rule->most,
                         rule->form == SIGNED ? ", with either sign" : "", text_cut(value, 40),
                         value);
    return strcmp(name, "step-turns") != 0 || is_step(number, value, trouble);
}

bool plan_fact_same_value(const char *a, const char *b)
{
    double one, two;
    return strcmp(a, b) == 0 || (number_parse(a, &one) && number_parse(b, &two) && one == two);
}

bool plan_fact_is_refit(const char *name, const char *before, const char *after)
{
    bool named = strcmp(name, "part") == 0;
    return plan_fact_is_fitted(name) && (*before || named) && *after &&
           !plan_fact_same_value(before, after);
}

bool plan_fact_is_fitted(const char *name)
{
    int rank = fact_rank(name);
    return rank >= 0 && fact_rules[rank].fitted;
}

bool plan_fact_is_servo(const char *name)
{
    int rank = fact_rank(name);
    return rank >= 0 && fact_rules[rank].servo;
}

/* Stations rest on those above them alone, so this ends. */
static bool rests_on_confirmations(const struct plan *plan, int station)
{
    const struct plan_station *s = &plan->stations[station];
    for (int i = 0; i < s->rests_on_count; i++)
        if (plan->stations[s->rests_on[i]].kind != PLAN_CONFIRM ||
            !rests_on_confirmations(plan, s->rests_on[i]))
            return false;
    return true;
}

bool plan_is_servo(const struct plan *plan, int station)
{
    return plan->stations[station].kind == PLAN_SQUARE && rests_on_confirmations(plan, station);
}

bool plan_rests_directly(const struct plan_station *s, int on)
{
    for (int i = 0; i < s->rests_on_count; i++)
        if (s->rests_on[i] == on)
            return true;
    return false;
}

/* A station rests on earlier ones alone, so one pass from it upwards meets them all. */
void plan_above(const struct plan *plan, int station, bool *above)
{
    for (int a = 0; a < plan->count; a++)
        above[a] = false;
    for (int s = station; s >= 0; s--)
        for (int i = 0; (s == station || above[s]) && i < plan->stations[s].rests_on_count; i++)
            above[plan->stations[s].rests_on[i]] = true;
}

bool plan_is_momentary(const struct plan *plan, int station)
{
    if (plan->stations[station].kind != PLAN_CONFIRM || plan->stations[station].rests_on_count)
        return false;
    for (int i = station + 1; i < plan->count; i++)
        if (plan->stations[i].kind != PLAN_CONFIRM &&
            plan_rests_directly(&plan->stations[i], station))
            return false;
    return true;
}

const char *plan_fact(const struct plan_station *station, const char *name)
{
    for (int i = 0; i < station->fact_count; i++)
        if (strcmp(station->facts[i].name, name) == 0)
            return station->facts[i].value;
    return NULL;
}

double plan_fact_number(const struct plan_station *station, const char *name, double otherwise)
{
    const char *value = plan_fact(station, name);
    struct plan_trouble trouble;
    double number;
    return value && plan_fact_is_sound(name, value, &trouble) && number_parse(value, &number)
               ? number
               : otherwise;
}

bool plan_keep_fact(struct plan_station *station, const char *name, const char *value,
                    struct plan_trouble *trouble)
{
    int rank = fact_rank(name), at = 0;
    if (!fact_is_text(name, value, trouble))
        return false;
    char *copy = strdup(value);
    if (!copy)
        return plan_no_memory(trouble);
    while (at < station->fact_count && fact_rank(station->facts[at].name) < rank)
        at++;
    if (at < station->fact_count && fact_rank(station->facts[at].name) == rank) {
        free(station->facts[at].value);
        station->facts[at].value = copy;
        return true;
    }
    char *name_copy = strdup(name);
    struct plan_fact *grown =
        realloc(station->facts, (size_t)(station->fact_count + 1) * sizeof *grown);
    if (grown)
        station->facts = grown;
    if (!grown || !name_copy) {
        free(copy);
        free(name_copy);
        return plan_no_memory(trouble);
    }
    memmove(grown + at + 1, grown + at, (size_t)(station->fact_count - at) * sizeof *grown);
    grown[at] = (struct plan_fact){name_copy, copy};
    station->fact_count++;
    return true;
}

bool plan_set_fact(struct plan_station *station, const char *name, const char *value,
                   struct plan_trouble *trouble)
{
    return plan_fact_is_sound(name, value, trouble) &&
           plan_keep_fact(station, name, value, trouble);
}

/* ---- Memory ------------------------------------------------------------------------------- */

static void station_clear(struct plan_station *station)
{
    for (int i = 0; i < station->fact_count; i++) {
        free(station->facts[i].name);
        free(station->facts[i].value);
    }
    free(station->facts);
    free(station->rests_on);
    free(station->key);
    free(station->title);
    free(station->part);
    free(station->doing);
}

void plan_clear(struct plan *plan)
{
    for (int i = 0; i < plan->count; i++)
        station_clear(&plan->stations[i]);
    free(plan->stations);
    free(plan->name);
    free(plan->about);
    *plan = (struct plan){0};
}

int plan_find(const struct plan *plan, const char *key)
{
    for (int i = 0; i < plan->count; i++)
        if (strcmp(plan->stations[i].key, key) == 0)
            return i;
    return -1;
}

struct plan_station *plan_add_station(struct plan *plan)
{
    if (plan->count >= PLAN_MAX_STATIONS)
        return NULL;
    struct plan_station *grown = realloc(plan->stations, (size_t)(plan->count + 1) * sizeof *grown);
    if (!grown)
        return NULL;
    plan->stations = grown;
    grown[plan->count] = (struct plan_station){0};
    return &grown[plan->count++];
}

bool plan_add_rest(struct plan_station *station, int on)
{
    int at = station->rests_on_count;
    while (at > 0 && station->rests_on[at - 1] > on)
        at--;
    if (at > 0 && station->rests_on[at - 1] == on)
        return true;
    int *grown = realloc(station->rests_on, (size_t)(station->rests_on_count + 1) * sizeof *grown);
    if (!grown)
        return false;
    station->rests_on = grown;
    memmove(grown + at + 1, grown + at, (size_t)(station->rests_on_count - at) * sizeof *grown);
    grown[at] = on;
    station->rests_on_count++;
    return true;
}

/* ---- Joining ------------------------------------------------------------------------------ */

/* Copies a station of another plan; rests_on is carried over by key. */
static bool copy_station(struct plan *plan, const struct plan *from, const struct plan_station *s,
                         struct plan_trouble *trouble)
{
    struct plan_station *copy = plan_add_station(plan);
    if (!copy)
        return plan_no_memory(trouble);
    copy->kind = s->kind;
    copy->target = s->target;
    copy->tolerance = s->tolerance;
    copy->key = strdup(s->key);
    copy->title = strdup(s->title);
    copy->part = strdup(s->part);
    copy->doing = strdup(s->doing);
    if (!copy->key || !copy->title || !copy->part || !copy->doing)
        return plan_no_memory(trouble);
    for (int i = 0; i < s->rests_on_count; i++)
        if (!plan_add_rest(copy, plan_find(plan, from->stations[s->rests_on[i]].key)))
            return plan_no_memory(trouble);
    for (int i = 0; i < s->fact_count; i++)
        if (!plan_set_fact(copy, s->facts[i].name, s->facts[i].value, trouble))
            return false;
    return true;
}

/* The words of both, while a plan can hold them; the caller puts them in place. NULL without
 * memory.
 */
static char *joined(const char *first, const char *between, const char *second)
{
    char *text = NULL;
    bool fits = strlen(first) + strlen(between) + strlen(second) <= PLAN_MAX_TEXT;
    if (!*first || !*second || !fits)
        return strdup(*first || !fits ? first : second);
    return asprintf(&text, "%s%s%s", first, between, second) < 0 ? NULL : text;
}

/* A plan joined of several is called by all their names. */
static bool join_names(struct plan *plan, const struct plan *more, struct plan_trouble *trouble)
{
    char *name = joined(plan->name, "; ", more->name);
    char *about = joined(plan->about, " ", more->about);
    if (!name || !about) {
        free(name);
        free(about);
        return plan_no_memory(trouble);
    }
    free(plan->name);
    free(plan->about);
    plan->name = name;
    plan->about = about;
    return true;
}

static void drop_stations(struct plan *plan, int from)
{
    while (plan->count > from)
        station_clear(&plan->stations[--plan->count]);
}

bool plan_append(struct plan *plan, const struct plan *more, struct plan_trouble *trouble)
{
    int before = plan->count;
    for (int i = 0; i < more->count; i++) {
        const struct plan_station *s = &more->stations[i];
        int same = plan_find(plan, s->key);
        bool good = true;
        if (same < 0)
            good = copy_station(plan, more, s, trouble);
        else if (plan->stations[same].kind != s->kind)
            good = plan_fail(trouble, 0, "both plans have a station \"%s\", of different kinds",
                             s->key);
        if (!good) {
            drop_stations(plan, before);
            return false;
        }
    }
    if (plan->count == before || join_names(plan, more, trouble))
        return true;
    drop_stations(plan, before);
    return false;
}

const char *plan_ready_made(const char *name)
{
    const char *each, *text;
    for (int i = 0; plan_ready_made_at(i, &each, &text); i++)
        if (strcmp(each, name) == 0)
            return text;
    return NULL;
}
