#include "linkage_file.h"

#include "arithmetic/decision.h"
#include "arithmetic/thread.h"
#include "base/clean_text.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LINE_SIZE 256

struct linkage linkage_empty(void)
{
    return (struct linkage){.low_deg = -40, .high_deg = 40, .tolerance_deg = DECISION_USUAL_DEG};
}

struct key;
struct line_context {
    struct linkage *linkage;
    struct linkage_stage *stage; /* the last one begun; NULL before any */
    const struct key *key;
    const char *words; /* what follows the key */
    char *problem;
    size_t size;
};

struct key {
    const char *words;
    bool (*take)(struct line_context *line);
    int number; /* linkage_kind or linkage_part */
    bool in_stage;
};

#define refuse(line, ...) (snprintf((line)->problem, (line)->size, __VA_ARGS__), false)

static bool take_name_into(struct line_context *line, char *name)
{
    if (!*line->words)
        return refuse(line, "\"%s\" needs a name behind it.", line->key->words);
    if (strlen(line->words) >= LINKAGE_NAME_SIZE)
        return refuse(line, "the name \"%s\" is too long; %d characters are the most.", line->words,
                      LINKAGE_NAME_SIZE - 1);
    if (!text_is_clean(line->words)) /* it ends up in drawings and JSON */
        return refuse(line,
                      "\"%s\": the name holds characters that cannot be shown; write it in "
                      "plain letters (UTF-8).",
                      line->key->words);
    memcpy(name, line->words, strlen(line->words) + 1);
    return true;
}

static bool take_name(struct line_context *line)
{
    return take_name_into(line, line->linkage->name);
}

static bool take_stage(struct line_context *line)
{
    struct linkage *linkage = line->linkage;
    if (linkage->stage_count == LINKAGE_MAX_STAGES)
        return refuse(line, "a linkage can have %d parts at most.", LINKAGE_MAX_STAGES);
    struct linkage_stage *stage = &linkage->stages[linkage->stage_count];
    *stage = linkage_stage_default((enum linkage_kind)line->key->number);
    if (!take_name_into(line, stage->name))
        return false;
    for (int i = 0; i < linkage->stage_count; i++)
        if (strcmp(linkage->stages[i].name, stage->name) == 0)
            return refuse(line,
                          "there is a \"%s\" already; give this part a name of its own, so that "
                          "its link can be told from the other's.",
                          stage->name);
    linkage->stage_count++;
    return true;
}

static bool take_quantity(struct line_context *line, const char *words, enum quantity_kind kind,
                          struct quantity *out)
{
    enum quantity_fault fault = quantity_parse(words, kind, out);
    if (fault == QUANTITY_FINE)
        return true;
    return refuse(line, "%s: \"%s\" %s; write for example \"%s %s\".", line->key->words, words,
                  quantity_fault_says(fault), line->key->words,
                  kind == QUANTITY_ANGLE ? "90 deg" : "12.5 mm u 0.1");
}

static bool take_part(struct line_context *line)
{
    struct linkage_stage *stage = line->stage;
    enum linkage_part part = (enum linkage_part)line->key->number;
    if (linkage_part_use(stage->kind, part) == LINKAGE_UNUSED)
        return refuse(line, "\"%s\" does not belong to %s; leave the line out.", line->key->words,
                      stage->name);
    if (stage->given[part])
        return refuse(line, "\"%s\" of %s is given twice; keep one of the lines.", line->key->words,
                      stage->name);
    if (!take_quantity(line, line->words, linkage_part_kind(stage->kind, part),
                       &stage->parts[part]))
        return false;
    stage->given[part] = true;
    return true;
}

/* One end of the travel, which nobody measures: it is what the figures are asked for. */
static bool take_end(struct line_context *line, const char *words, double *deg)
{
    struct quantity end;
    if (!take_quantity(line, words, QUANTITY_ANGLE, &end))
        return false;
    if (end.u > 0)
        return refuse(line,
                      "travel takes degrees without uncertainty, not \"%s\"; write for example "
                      "\"travel 40 deg\".",
                      words);
    *deg = end.value;
    return true;
}

/* "40 deg": each way; "-35 deg to 42 deg". */
static bool take_travel(struct line_context *line)
{
    char first[LINE_SIZE];
    double low_deg, high_deg;
    const char *to = strstr(line->words, " to ");
    if (!to) {
        if (!take_end(line, line->words, &high_deg))
            return false;
        low_deg = -high_deg;
    } else {
        snprintf(first, sizeof first, "%.*s", (int)(to - line->words), line->words);
        if (!take_end(line, first, &low_deg) || !take_end(line, to + 4, &high_deg))
            return false;
    }
    line->linkage->low_deg = low_deg;
    line->linkage->high_deg = high_deg;
    return true;
}

static bool check_ends(struct line_context *line)
{
    const char *fault = thread_ends_fault(&line->stage->ends);
    return !fault || refuse(line, "%s", fault);
}

static bool take_thread(struct line_context *line)
{
    double *pitch_mm =
        line->key->number ? &line->stage->ends.other_mm : &line->stage->ends.pitch_mm;
    if (thread_pitch(line->words, pitch_mm))
        return check_ends(line);
    return refuse(line, "\"%s\" is not a link's thread; write " THREAD_WRITTEN ".", line->words);
}

bool linkage_take_step(const char *words, double *step_turns)
{
    static const struct {
        const char *words;
        double step;
    } steps[] = {
        {"whole turn", 1}, {"whole", 1}, {"turn", 1}, {"half turn", 0.5}, {"half", 0.5}, {"any", 0},
    };
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++)
        if (strcmp(words, steps[i].words) == 0) {
            *step_turns = steps[i].step;
            return true;
        }
    char *rest;
    long parts;
    if (strncmp(words, "1/", 2) != 0 || !isdigit((unsigned char)words[2]))
        return false;
    parts = strtol(words + 2, &rest, 10);
    if (parts < 1 || parts > 12 || (*rest && strcmp(rest, " turn") != 0))
        return false;
    *step_turns = 1.0 / (double)parts;
    return true;
}

static bool take_step(struct line_context *line)
{
    if (linkage_take_step(line->words, &line->stage->ends.step_turns))
        return true;
    return refuse(line,
                  "fits every: \"%s\" is not known; write half turn, whole turn, 1/6 turn "
                  "or any.",
                  line->words);
}

static bool take_yes(struct line_context *line, bool *out)
{
    *out = strcmp(line->words, "yes") == 0 || !*line->words;
    if (*out || strcmp(line->words, "no") == 0)
        return true;
    return refuse(line, "%s: \"%s\" is neither yes nor no.", line->key->words, line->words);
}

static bool take_turnbuckle(struct line_context *line)
{
    return take_yes(line, &line->stage->ends.turnbuckle) && check_ends(line);
}

static bool take_behind(struct line_context *line)
{
    return take_yes(line, &line->stage->seen_from_behind);
}

/* Longer keys before their own beginnings. */
static const struct key keys[] = {
    {"name", take_name, 0, false},
    {"travel", take_travel, 0, false},
    {"crank", take_stage, LINKAGE_CRANK, false},
    {"slider", take_stage, LINKAGE_SLIDER, false},
    {"yoke", take_stage, LINKAGE_YOKE, false},
    {"pitch arm", take_stage, LINKAGE_PITCH_ARM, false},
    {"horn angle", take_part, LINKAGE_HORN_ANGLE, true},
    {"horn", take_part, LINKAGE_HORN, true},
    {"along", take_part, LINKAGE_ALONG, true},
    {"across", take_part, LINKAGE_ACROSS, true},
    {"arm angle", take_part, LINKAGE_ARM_ANGLE, true},
    {"arm", take_part, LINKAGE_ARM, true},
    {"link", take_part, LINKAGE_LINK, true},
    {"measured", take_part, LINKAGE_MEASURED, true},
    {"thread", take_thread, 0, true},
    {"far thread", take_thread, 1, true},
    {"fits every", take_step, 0, true},
    {"turnbuckle", take_turnbuckle, 0, true},
    {"seen from behind", take_behind, 0, true},
};

/* One blank between words, none around them, remark cut off. false when it does not fit. */
static bool tidy(const char *line, char out[LINE_SIZE])
{
    size_t used = 0;
    bool gap = false;
    for (; *line && *line != '#' && *line != '\n'; line++) {
        if (isspace((unsigned char)*line)) {
            gap = used > 0;
            continue;
        }
        if (used + 3 > LINE_SIZE)
            return false;
        if (gap)
            out[used++] = ' ';
        gap = false;
        out[used++] = *line;
    }
    out[used] = '\0';
    return true;
}

static const struct key *find_key(const char *text)
{
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        size_t length = strlen(keys[i].words);
        if (strncmp(text, keys[i].words, length) == 0 &&
            (text[length] == '\0' || text[length] == ' '))
            return &keys[i];
    }
    return NULL;
}

bool linkage_take_line(struct linkage *linkage, const char *raw, char *problem, size_t size)
{
    char text[LINE_SIZE];
    struct line_context line = {.linkage = linkage, .problem = problem, .size = size};
    if (!tidy(raw, text))
        return refuse(&line, "the line is too long; %d characters are the most.", LINE_SIZE - 1);
    if (!*text)
        return true;
    line.key = find_key(text);
    if (!line.key)
        return refuse(&line,
                      "\"%s\" starts with none of the known words; \"armsquare linkage solve "
                      "--help\" shows them.",
                      text);
    line.words = text + strlen(line.key->words);
    line.words += *line.words == ' ';
    if (linkage->stage_count > 0)
        line.stage = &linkage->stages[linkage->stage_count - 1];
    if (line.key->in_stage && !line.stage)
        return refuse(&line,
                      "\"%s\" belongs to a part; name that first with a line such as "
                      "\"crank front crank\".",
                      line.key->words);
    return line.key->take(&line);
}

bool linkage_take_text(struct linkage *linkage, const char *text, char *problem, size_t size)
{
    char why[LINKAGE_PROBLEM_SIZE];
    for (int number = 1; *text; number++) {
        if (!linkage_take_line(linkage, text, why, sizeof why)) {
            snprintf(problem, size, "line %d: %s", number, why);
            return false;
        }
        text += strcspn(text, "\n");
        text += *text == '\n';
    }
    return true;
}
