#include "plan.h"

#include "advice.h"
#include "clean_text.h"
#include "link_pair.h"
#include "number.h"

#include <ctype.h>
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
 * its size, whatever its sign. */
static const struct fact_rule {
    const char *name, *meaning;
    enum fact_form { WORDS, NUMBER, WHOLE, SIGNED } form;
    double least, most;
} fact_rules[] = {
    {"part", "what is fitted here, in your words", WORDS, 0, 0},
    {"teeth", "teeth on the servo's spline", WHOLE, SPLINE_MIN_TEETH, SPLINE_MAX_TEETH},
    {"arms", "arms on the horn", WHOLE, 1, SPLINE_MAX_ARMS},
    {"horn-arm-mm", "horn: hub to ball, mm", NUMBER, 0.5, 500},
    {"crank-arm-mm", "crank: pivot to ball, mm", NUMBER, 0.5, 500},
    {"base-mm", "servo shaft to crank pivot, mm", NUMBER, 0.5, 5000},
    {"link-mm", "link: ball to ball, mm", NUMBER, LINK_LEAST_MM, LINK_MOST_MM},
    {"thread", "thread of the link ends, such as M2", WORDS, 0, 0},
    {"step-turns", "link ends fit every so many turns: 0.5 or 1", NUMBER, 0.01, 10},
    {"degrees-per-percent",
     "turn of the arm per percent of sub-trim, counter-clockwise positive; trim-scale finds it",
     SIGNED, ADVICE_SCALE_MIN, ADVICE_SCALE_MAX},
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

__attribute__((format(printf, 3, 4))) static bool fail(struct plan_trouble *trouble, int line,
                                                       const char *format, ...)
{
    va_list args;
    va_start(args, format);
    trouble->line = line;
    vsnprintf(trouble->text, sizeof trouble->text, format, args);
    va_end(args);
    return false;
}

static bool no_memory(struct plan_trouble *trouble)
{
    return fail(trouble, 0, "there is not enough memory");
}

bool plan_text_is_plain(const char *text)
{
    for (const char *c = text; *c; c++)
        if (((unsigned char)*c < 0x20 && *c != '\n' && *c != '\t') || *c == 0x7F)
            return false;
    return *text && strlen(text) <= PLAN_MAX_TEXT && text_is_utf8(text);
}

/* Whether name is known and value (NULL: any) may stand in a plan's line. */
static bool fact_is_text(const char *name, const char *value, struct plan_trouble *trouble)
{
    if (fact_rank(name) < 0)
        return fail(trouble, 0, "there is no hardware called \"%.40s\"", name);
    if (value && (!plan_text_is_plain(value) || strchr(value, ';')))
        return fail(trouble, 0, "\"%s\" needs a value in plain words, without \";\"", name);
    return true;
}

bool plan_fact_is_sound(const char *name, const char *value, struct plan_trouble *trouble)
{
    if (!fact_is_text(name, value, trouble))
        return false;
    if (!value)
        return true;
    /* A plan keeps all facts of a station in one line, and reads that line back. */
    if (strpbrk(value, "\n\t") || !value[strspn(value, " ")])
        return fail(trouble, 0, "\"%s\" needs a value in one line of plain words", name);
    const struct fact_rule *rule = &fact_rules[fact_rank(name)];
    double number = NAN;
    if (rule->form == WORDS)
        return true;
    bool parsed = number_parse(value, &number);
    double size = parsed && rule->form == SIGNED ? fabs(number) : number;
    if (!parsed || size < rule->least || size > rule->most ||
        (rule->form == WHOLE && number != floor(number)))
        return fail(trouble, 0, "\"%s\" is a %s from %g to %g%s, not \"%.40s\"", rule->name,
                    rule->form == WHOLE ? "whole number" : "number", rule->least, rule->most,
                    rule->form == SIGNED ? ", with either sign" : "", value);
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
        return no_memory(trouble);
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
        return no_memory(trouble);
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

/* A new last station, zeroed. NULL when out of memory or too many. */
static struct plan_station *add_station(struct plan *plan)
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

static bool add_rest(struct plan_station *station, int on)
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

/* ---- Reading ------------------------------------------------------------------------------ */

struct reader {
    struct plan plan;
    struct plan_station *station; /* the one being read; NULL before the first heading */
    int line, station_line;
    bool have_kind, have_tolerance, have_target;
    struct plan_trouble *trouble;
};

static char *trimmed(char *text)
{
    while (isspace((unsigned char)*text))
        text++;
    char *end = text + strlen(text);
    while (end > text && isspace((unsigned char)end[-1]))
        *--end = '\0';
    return text;
}

static bool key_is_sound(const char *key)
{
    if (!*key || *key == '-' || strlen(key) > 60)
        return false;
    for (; *key; key++)
        if (!islower((unsigned char)*key) && !isdigit((unsigned char)*key) && *key != '-')
            return false;
    return true;
}

/* Every run of white space, as folding leaves behind, becomes one space. */
static void squeeze(char *text)
{
    char *to = text;
    for (const char *from = text; *from; from++)
        if (!isspace((unsigned char)*from))
            *to++ = *from;
        else if (to > text && to[-1] != ' ')
            *to++ = ' ';
    *to = '\0';
}

static bool set_text(struct reader *r, char **field, const char *name, const char *value)
{
    if (*field)
        return fail(r->trouble, r->line, "\"%s:\" is given twice", name);
    if (!plan_text_is_plain(value))
        return fail(r->trouble, r->line, "\"%s:\" needs words behind it (at most %d bytes)", name,
                    PLAN_MAX_TEXT);
    *field = strdup(value);
    if (!*field)
        return no_memory(r->trouble);
    squeeze(*field);
    return true;
}

static bool set_kind(struct reader *r, const char *value)
{
    if (r->have_kind)
        return fail(r->trouble, r->line, "\"kind:\" is given twice");
    if (!plan_kind_by_word(value, &r->station->kind))
        return fail(r->trouble, r->line,
                    "\"%.40s\" is no kind; the kinds are square, parallel, level, centred, angle, "
                    "link pair and confirm",
                    value);
    r->have_kind = true;
    return true;
}

static bool set_number(struct reader *r, double *field, bool *have, const char *name,
                       const char *value, double least, double most)
{
    if (*have)
        return fail(r->trouble, r->line, "\"%s:\" is given twice", name);
    if (!number_parse(value, field) || *field < least || *field > most)
        return fail(r->trouble, r->line, "\"%s:\" is a number from %g to %g, not \"%.40s\"", name,
                    least, most, value);
    *have = true;
    return true;
}

static bool set_rests_on(struct reader *r, char *value)
{
    char *rest = value, *word;
    while ((word = strsep(&rest, ","))) {
        word = trimmed(word);
        int on = plan_find(&r->plan, word);
        if (on < 0 || on == r->plan.count - 1)
            return fail(r->trouble, r->line,
                        "there is no station \"%.60s\" above this one to rest on", word);
        if (!add_rest(r->station, on))
            return no_memory(r->trouble);
    }
    return true;
}

static bool set_facts(struct reader *r, char *value)
{
    char *rest = value, *pair;
    while ((pair = strsep(&rest, ";"))) {
        char *equals = strchr(pair, '=');
        if (!equals)
            return fail(r->trouble, r->line, "hardware reads \"name = value\", not \"%.40s\"",
                        trimmed(pair));
        *equals = '\0';
        char *name = trimmed(pair);
        if (plan_fact(r->station, name))
            return fail(r->trouble, r->line, "hardware \"%.40s\" is given twice", name);
        if (!plan_set_fact(r->station, name, trimmed(equals + 1), r->trouble)) {
            r->trouble->line = r->line;
            return false;
        }
    }
    return true;
}

static bool station_field(struct reader *r, const char *name, char *value)
{
    struct plan_station *s = r->station;
    if (strcmp(name, "title") == 0)
        return set_text(r, &s->title, name, value);
    if (strcmp(name, "part") == 0)
        return set_text(r, &s->part, name, value);
    if (strcmp(name, "do") == 0)
        return set_text(r, &s->doing, name, value);
    if (strcmp(name, "kind") == 0)
        return set_kind(r, value);
    if (strcmp(name, "target") == 0)
        return set_number(r, &s->target, &r->have_target, name, value, -360, 360);
    if (strcmp(name, "tolerance") == 0)
        return set_number(r, &s->tolerance, &r->have_tolerance, name, value, 1e-6, 180);
    if (strcmp(name, "rests on") == 0)
        return set_rests_on(r, value);
    if (strcmp(name, "hardware") == 0)
        return set_facts(r, value);
    return fail(r->trouble, r->line,
                "\"%.40s\" is no field of a station; they are title, part, kind, do, rests on, "
                "target, tolerance and hardware",
                name);
}

static bool plan_field(struct reader *r, const char *name, const char *value)
{
    if (strcmp(name, "plan") == 0)
        return set_text(r, &r->plan.name, name, value);
    if (strcmp(name, "about") == 0)
        return set_text(r, &r->plan.about, name, value);
    return fail(r->trouble, r->line,
                "\"%.40s:\" stands before the first station; only plan and about may", name);
}

/* Checks the station that ends here and fills in what it left to defaults. */
static bool finish_station(struct reader *r)
{
    struct plan_station *s = r->station;
    if (!s)
        return true;
    if (!r->have_kind || !s->title)
        return fail(r->trouble, r->station_line, "station \"%s\" needs a title and a kind", s->key);
    if (s->kind == PLAN_ANGLE && !r->have_target)
        return fail(r->trouble, r->station_line, "station \"%s\" is an angle and needs a target",
                    s->key);
    if (r->have_target && s->kind != PLAN_ANGLE && s->kind != PLAN_PAIR)
        return fail(r->trouble, r->station_line,
                    "station \"%s\": only an angle or a link pair has a target", s->key);
    if (r->have_tolerance && s->kind == PLAN_CONFIRM)
        return fail(r->trouble, r->station_line, "station \"%s\": a confirmation has no tolerance",
                    s->key);
    if (!r->have_tolerance)
        s->tolerance = kinds[s->kind].tolerance;
    if (!s->part)
        s->part = strdup("Model");
    if (!s->doing)
        s->doing = strdup("");
    return s->part && s->doing ? true : no_memory(r->trouble);
}

static bool start_station(struct reader *r, char *heading)
{
    size_t length = strlen(heading);
    if (!finish_station(r))
        return false;
    if (heading[length - 1] != ']')
        return fail(r->trouble, r->line, "a station's heading reads \"[key]\"");
    heading[length - 1] = '\0';
    char *key = trimmed(heading + 1);
    if (!key_is_sound(key))
        return fail(r->trouble, r->line,
                    "\"%.60s\" is no key: use a to z, 0 to 9 and \"-\", at most 60", key);
    if (plan_find(&r->plan, key) >= 0)
        return fail(r->trouble, r->line, "there are two stations \"%s\"", key);
    char *copy = strdup(key);
    if (!copy)
        return no_memory(r->trouble);
    r->station = add_station(&r->plan);
    if (!r->station) {
        free(copy);
        return fail(r->trouble, r->line, "a plan holds at most %d stations", PLAN_MAX_STATIONS);
    }
    r->station->key = copy;
    r->station_line = r->line;
    r->have_kind = r->have_target = r->have_tolerance = false;
    return true;
}

/* One whole statement: a heading or a field with its continuation lines joined by spaces. */
static bool read_statement(struct reader *r, char *text)
{
    text = trimmed(text);
    if (!*text)
        return true;
    if (*text == '[')
        return start_station(r, text);
    char *colon = strchr(text, ':');
    if (!colon)
        return fail(r->trouble, r->line, "this line is neither \"[key]\" nor \"field: words\"");
    *colon = '\0';
    char *name = trimmed(text), *value = trimmed(colon + 1);
    return r->station ? station_field(r, name, value) : plan_field(r, name, value);
}

/* Reads line by line, holding each statement back until the next line shows that it is complete.
 * text is cut up in place. */
static bool read_lines(struct reader *r, char *text)
{
    char *statement = NULL, *line;
    int number = 0;
    while ((line = strsep(&text, "\n"))) {
        number++;
        if (*line == '#')
            continue;
        if (statement && isspace((unsigned char)*line) && *trimmed(line)) {
            /* The gap between the two pieces, line ends and notes, becomes spaces. */
            for (char *c = statement + strlen(statement); c < line; c++)
                *c = ' ';
            trimmed(line);
            continue;
        }
        if (statement && !read_statement(r, statement))
            return false;
        statement = line;
        r->line = number;
    }
    return (!statement || read_statement(r, statement)) && finish_station(r);
}

bool plan_read(const char *text, struct plan *out, struct plan_trouble *trouble)
{
    struct reader r = {.trouble = trouble};
    *trouble = (struct plan_trouble){0};
    *out = (struct plan){0};
    if (!text_is_utf8(text))
        return fail(trouble, 0, "the plan is not text in UTF-8");
    char *copy = strdup(text);
    if (!copy)
        return no_memory(trouble);
    bool good = read_lines(&r, copy);
    free(copy);
    if (good && r.plan.count == 0)
        good = fail(trouble, 0, "there is no station in it");
    if (good && !r.plan.name)
        good = (r.plan.name = strdup("Plan without a name")) || no_memory(trouble);
    if (good && !r.plan.about)
        good = (r.plan.about = strdup("")) || no_memory(trouble);
    if (!good) {
        plan_clear(&r.plan);
        return false;
    }
    *out = r.plan;
    return true;
}

/* ---- Writing ------------------------------------------------------------------------------ */

/* "name: words", folded near column 90; nothing when there are no words. */
static void write_field(FILE *to, const char *name, const char *words)
{
    if (!*words)
        return;
    size_t column = (size_t)fprintf(to, "%s:", name);
    while (*words) {
        size_t length = strcspn(words, " \n\t");
        if (length && column + 1 + length > 90)
            column = (size_t)fprintf(to, "\n   ") - 1;
        if (length)
            column += (size_t)fprintf(to, " %.*s", (int)length, words);
        words += length;
        words += strspn(words, " \n\t");
    }
    fputc('\n', to);
}

static void write_station(FILE *to, const struct plan *plan, const struct plan_station *s)
{
    fprintf(to, "\n[%s]\n", s->key);
    write_field(to, "title", s->title);
    write_field(to, "part", s->part);
    write_field(to, "kind", plan_kind_word(s->kind));
    write_field(to, "do", s->doing);
    if (s->rests_on_count)
        fputs("rests on: ", to);
    for (int i = 0; i < s->rests_on_count; i++)
        fprintf(to, "%s%s", plan->stations[s->rests_on[i]].key,
                i + 1 < s->rests_on_count ? ", " : "\n");
    if (s->kind == PLAN_ANGLE || s->target != 0)
        fprintf(to, "target: %.15g\n", s->target);
    if (s->kind != PLAN_CONFIRM)
        fprintf(to, "tolerance: %.15g\n", s->tolerance);
    for (int i = 0; i < s->fact_count; i++)
        fprintf(to, "%s%s = %s%s", i ? "; " : "hardware: ", s->facts[i].name, s->facts[i].value,
                i + 1 < s->fact_count ? "" : "\n");
}

char *plan_write(const struct plan *plan)
{
    char *text = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    if (!to)
        return NULL;
    write_field(to, "plan", plan->name);
    write_field(to, "about", plan->about);
    for (int i = 0; i < plan->count; i++)
        write_station(to, plan, &plan->stations[i]);
    bool good = !ferror(to);
    if (fclose(to) != 0 || !good) {
        free(text);
        return NULL;
    }
    return text;
}

/* ---- Joining ------------------------------------------------------------------------------ */

/* Copies a station of another plan; rests_on is carried over by key. */
static bool copy_station(struct plan *plan, const struct plan *from, const struct plan_station *s,
                         struct plan_trouble *trouble)
{
    struct plan_station *copy = add_station(plan);
    if (!copy)
        return no_memory(trouble);
    copy->kind = s->kind;
    copy->target = s->target;
    copy->tolerance = s->tolerance;
    copy->key = strdup(s->key);
    copy->title = strdup(s->title);
    copy->part = strdup(s->part);
    copy->doing = strdup(s->doing);
    if (!copy->key || !copy->title || !copy->part || !copy->doing)
        return no_memory(trouble);
    for (int i = 0; i < s->rests_on_count; i++)
        if (!add_rest(copy, plan_find(plan, from->stations[s->rests_on[i]].key)))
            return no_memory(trouble);
    for (int i = 0; i < s->fact_count; i++)
        if (!plan_set_fact(copy, s->facts[i].name, s->facts[i].value, trouble))
            return false;
    return true;
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
            good = fail(trouble, 0, "both plans have a station \"%s\", of different kinds", s->key);
        if (!good) {
            while (plan->count > before)
                station_clear(&plan->stations[--plan->count]);
            return false;
        }
    }
    return true;
}

const char *plan_ready_made(const char *name)
{
    const char *each, *text;
    for (int i = 0; plan_ready_made_at(i, &each, &text); i++)
        if (strcmp(each, name) == 0)
            return text;
    return NULL;
}
