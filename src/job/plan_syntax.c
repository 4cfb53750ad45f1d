/* A plan as text: how it is read and written. */
#include "plan_internal.h"

#include "arithmetic/number.h"
#include "arithmetic/quantity.h"
#include "base/clean_text.h"
#include "base/text_end.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Degrees, or mm for link pairs. */
#define TARGET_MOST 360.0
#define TOLERANCE_LEAST 1e-6
#define TOLERANCE_MOST 180.0

/* ---- Reading ------------------------------------------------------------------------------ */

struct reader {
    struct plan plan;
    struct plan_station *station; /* the one being read; NULL before the first heading */
    int line, station_line;
    bool have_kind, have_tolerance, have_target;
    bool kept; /* facts may be out of range */
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

static bool has_target(enum plan_kind kind)
{
    return kind == PLAN_ANGLE || kind == PLAN_PAIR;
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
        return plan_fail(r->trouble, r->line, "\"%s:\" is given twice", name);
    *field = strdup(value);
    if (!*field)
        return plan_no_memory(r->trouble);
    squeeze(*field);
    if (!plan_text_is_plain(*field))
        return plan_fail(r->trouble, r->line,
                         "\"%s:\" needs plain words behind it (at most %d bytes)", name,
                         PLAN_MAX_TEXT);
    return true;
}

static bool set_kind(struct reader *r, const char *value)
{
    if (r->have_kind)
        return plan_fail(r->trouble, r->line, "\"kind:\" is given twice");
    if (!plan_kind_by_word(value, &r->station->kind))
        return plan_fail(
            r->trouble, r->line,
            "\"%.*s\" is no kind; the kinds are square, parallel, level, centred, angle, "
            "link pair and confirm",
            text_cut(value, 40), value);
    r->have_kind = true;
    return true;
}

static bool set_number(struct reader *r, double *field, bool *have, const char *name,
                       const char *value, double least, double most)
{
    if (*have)
        return plan_fail(r->trouble, r->line, "\"%s:\" is given twice", name);
    if (quantity_has_comma(value))
        return plan_fail(r->trouble, r->line, "\"%s:\" \"%.*s\" %s", name, text_cut(value, 40),
                         value, quantity_fault_says(QUANTITY_COMMA));
    if (!number_parse(value, field) || *field < least || *field > most)
        return plan_fail(r->trouble, r->line, "\"%s:\" is a number from %g to %g, not \"%.*s\"",
                         name, least, most, text_cut(value, 40), value);
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
            return plan_fail(r->trouble, r->line,
                             "there is no station \"%.*s\" above this one to rest on",
                             text_cut(word, 60), word);
        if (!plan_add_rest(r->station, on))
            return plan_no_memory(r->trouble);
    }
    return true;
}

static bool set_facts(struct reader *r, char *value)
{
    char *rest = value, *pair;
    while ((pair = strsep(&rest, ";"))) {
        char *equals = strchr(pair, '=');
        pair = trimmed(pair);
        if (!equals)
            return plan_fail(r->trouble, r->line, "hardware reads \"name = value\", not \"%.*s\"",
                             text_cut(pair, 40), pair);
        *equals = '\0';
        char *name = trimmed(pair);
        if (plan_fact(r->station, name))
            return plan_fail(r->trouble, r->line, "hardware \"%.*s\" is given twice",
                             text_cut(name, 40), name);
        char *words = trimmed(equals + 1);
        if (!(r->kept ? plan_keep_fact(r->station, name, words, r->trouble)
                      : plan_set_fact(r->station, name, words, r->trouble))) {
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
        return set_number(r, &s->target, &r->have_target, name, value, -TARGET_MOST, TARGET_MOST);
    if (strcmp(name, "tolerance") == 0)
        return set_number(r, &s->tolerance, &r->have_tolerance, name, value, TOLERANCE_LEAST,
                          TOLERANCE_MOST);
    if (strcmp(name, "rests on") == 0)
        return set_rests_on(r, value);
    if (strcmp(name, "hardware") == 0)
        return set_facts(r, value);
    return plan_fail(r->trouble, r->line,
                     "\"%.*s\" is no field of a station; they are title, part, kind, do, rests on, "
                     "target, tolerance and hardware",
                     text_cut(name, 40), name);
}

static bool plan_field(struct reader *r, const char *name, const char *value)
{
    if (strcmp(name, "plan") == 0)
        return set_text(r, &r->plan.name, name, value);
    if (strcmp(name, "about") == 0)
        return set_text(r, &r->plan.about, name, value);
    return plan_fail(r->trouble, r->line,
                     "\"%.*s:\" stands before the first station; only plan and about may",
                     text_cut(name, 40), name);
}

/* Checks the station that ends here and fills in what it left to defaults. */
static bool finish_station(struct reader *r)
{
    struct plan_station *s = r->station;
    if (!s)
        return true;
    if (!r->have_kind || !s->title)
        return plan_fail(r->trouble, r->station_line, "station \"%s\" needs a title and a kind",
                         s->key);
    if (s->kind == PLAN_ANGLE && !r->have_target)
        return plan_fail(r->trouble, r->station_line,
                         "station \"%s\" is an angle and needs a target", s->key);
    if (r->have_target && !has_target(s->kind))
        return plan_fail(r->trouble, r->station_line,
                         "station \"%s\": only an angle or a link pair has a target", s->key);
    if (r->have_tolerance && s->kind == PLAN_CONFIRM)
        return plan_fail(r->trouble, r->station_line,
                         "station \"%s\": a confirmation has no tolerance", s->key);
    if (!r->have_tolerance)
        s->tolerance = plan_kind_tolerance(s->kind);
    if (!s->part)
        s->part = strdup("Model");
    if (!s->doing)
        s->doing = strdup("");
    return s->part && s->doing ? true : plan_no_memory(r->trouble);
}

static bool start_station(struct reader *r, char *heading)
{
    size_t length = strlen(heading);
    if (!finish_station(r))
        return false;
    if (heading[length - 1] != ']')
        return plan_fail(r->trouble, r->line, "a station's heading reads \"[key]\"");
    heading[length - 1] = '\0';
    char *key = trimmed(heading + 1);
    if (!key_is_sound(key))
        return plan_fail(r->trouble, r->line,
                         "\"%.*s\" is no key: use a to z, 0 to 9 and \"-\", at most 60",
                         text_cut(key, 60), key);
    if (plan_find(&r->plan, key) >= 0)
        return plan_fail(r->trouble, r->line, "there are two stations \"%s\"", key);
    char *copy = strdup(key);
    if (!copy)
        return plan_no_memory(r->trouble);
    r->station = plan_add_station(&r->plan);
    if (!r->station) {
        free(copy);
        return plan_fail(r->trouble, r->line, "a plan holds at most %d stations",
                         PLAN_MAX_STATIONS);
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
        return plan_fail(r->trouble, r->line,
                         "this line is neither \"[key]\" nor \"field: words\"");
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

static bool read_plan(const char *text, bool kept, struct plan *out, struct plan_trouble *trouble)
{
    struct reader r = {.trouble = trouble, .kept = kept};
    *trouble = (struct plan_trouble){0};
    *out = (struct plan){0};
    if (!text_is_utf8(text))
        return plan_fail(trouble, 0, "the plan is not text in UTF-8");
    char *copy = strdup(text);
    if (!copy)
        return plan_no_memory(trouble);
    bool good = read_lines(&r, copy);
    free(copy);
    if (good && r.plan.count == 0)
        good = plan_fail(trouble, 0, "there is no station in it");
    if (good && !r.plan.name)
        good = (r.plan.name = strdup("Plan without a name")) || plan_no_memory(trouble);
    if (good && !r.plan.about)
        good = (r.plan.about = strdup("")) || plan_no_memory(trouble);
    if (!good) {
        plan_clear(&r.plan);
        return false;
    }
    *out = r.plan;
    return true;
}

bool plan_read(const char *text, struct plan *out, struct plan_trouble *trouble)
{
    return read_plan(text, false, out, trouble);
}

bool plan_read_kept(const char *text, struct plan *out, struct plan_trouble *trouble)
{
    return read_plan(text, true, out, trouble);
}

/* ---- Plans from elsewhere ----------------------------------------------------------------- */

static bool may_be_empty(const char *text)
{
    return !*text || plan_text_is_plain(text);
}

static bool station_is_sound(const struct plan_station *s, int number, struct plan_trouble *trouble)
{
    bool measured = s->kind != PLAN_CONFIRM;
    if (!key_is_sound(s->key))
        return plan_fail(trouble, 0, "the key of station %d is none", number);
    if (!plan_text_is_plain(s->title) || !plan_text_is_plain(s->part) || !may_be_empty(s->doing))
        return plan_fail(trouble, 0, "the words of station \"%s\" are not plain text", s->key);
    if (!(fabs(s->target) <= (has_target(s->kind) ? TARGET_MOST : 0)))
        return plan_fail(trouble, 0, "station \"%s\" cannot have the target %g", s->key, s->target);
    if (measured ? !(s->tolerance >= TOLERANCE_LEAST && s->tolerance <= TOLERANCE_MOST)
                 : s->tolerance != 0)
        return plan_fail(trouble, 0, "station \"%s\" cannot have the tolerance %g", s->key,
                         s->tolerance);
    return true;
}

bool plan_is_sound(const struct plan *plan, struct plan_trouble *trouble)
{
    *trouble = (struct plan_trouble){0};
    if (plan->count < 1 || plan->count > PLAN_MAX_STATIONS)
        return plan_fail(trouble, 0, "a plan has 1 to %d stations, not %d", PLAN_MAX_STATIONS,
                         plan->count);
    if (!plan_text_is_plain(plan->name) || !may_be_empty(plan->about))
        return plan_fail(trouble, 0, "the name of the plan is not plain text");
    for (int i = 0; i < plan->count; i++)
        if (!station_is_sound(&plan->stations[i], i + 1, trouble))
            return false;
    return true;
}

/* ---- Writing ------------------------------------------------------------------------------ */

/* "name = words", in one line; nothing when there are no words. first: the line's beginning. */
static bool write_fact(FILE *to, const char *first, const struct plan_fact *fact)
{
    const char *words = fact->value + strspn(fact->value, " \n\t");
    if (!*words)
        return false;
    fprintf(to, "%s%s =", first, fact->name);
    while (*words) {
        size_t length = strcspn(words, " \n\t");
        fprintf(to, " %.*s", (int)length, words);
        words += length;
        words += strspn(words, " \n\t");
    }
    return true;
}

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
    bool any = false;
    for (int i = 0; i < s->fact_count; i++)
        any |= write_fact(to, any ? "; " : "hardware: ", &s->facts[i]);
    if (any)
        fputc('\n', to);
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
    return text_end(to, &text);
}
