#include "linkage_export.h"

#include "arithmetic/direction.h"
#include "arithmetic/plus_minus.h"
#include "base/answer.h"
#include "linkage_cure.h"
#include "linkage_words.h"

#include <math.h>
#include <string.h>

static bool has_link(enum linkage_kind kind)
{
    return kind == LINKAGE_CRANK || kind == LINKAGE_SLIDER;
}

/* ---- Text ----------------------------------------------------------------------------------- */

static void print_head(const struct linkage *linkage, FILE *to)
{
    fprintf(to, "%s: servo", *linkage->name ? linkage->name : "Linkage");
    for (int i = 0; i < linkage->stage_count; i++)
        fprintf(to, " - %s", linkage->stages[i].name);
    fprintf(to, "\nServo travel %+.1f to %+.1f degrees.\n", linkage->low_deg, linkage->high_deg);
}

static void print_actions(const struct linkage *linkage, const struct linkage_result *result,
                          FILE *to)
{
    char text[LINKAGE_SENTENCE_SIZE];
    int count = 0;
    for (int i = 0; i < linkage->stage_count; i++) {
        if (!linkage_say_action(linkage, result, i, text, sizeof text))
            continue;
        fprintf(to, "%s  %d. %s\n", count ? "" : "\nDo, in this order\n", count + 1, text);
        count++;
    }
    for (int i = 0; linkage_say_warning(linkage, result, i, text, sizeof text); i++)
        fprintf(to, "%s  %s\n", i ? "" : "\nWatch\n", text);
}

static void print_taken(const struct linkage *linkage, const struct linkage_result *result,
                        FILE *to)
{
    char text[LINKAGE_SENTENCE_SIZE];
    bool any = false;
    for (int i = 0; i < linkage->stage_count; i++) {
        if (!linkage_say_horn(linkage, result, i, text, sizeof text))
            continue;
        fprintf(to, "%s  %s\n", any ? "" : "\nTaken so\n", text);
        any = true;
    }
}

/* In a text (UTF-8), not bytes. */
static int characters_of(const char *text)
{
    int characters = 0;
    for (; *text; text++)
        characters += ((unsigned char)*text & 0xc0) != 0x80;
    return characters;
}

/* A column of that many characters, not bytes: text (UTF-8) is cut between two of them, or filled
 * up with blanks, behind it or before. */
static void print_column(FILE *to, const char *text, int width, bool right)
{
    int bytes = 0, characters = 0;
    for (; text[bytes]; bytes++) {
        bool begins = ((unsigned char)text[bytes] & 0xc0) != 0x80;
        if (begins && characters == width)
            break;
        characters += begins;
    }
    int blanks = width - characters;
    fprintf(to, "%*s%.*s%*s", right ? blanks : 0, "", bytes, text, right ? 0 : blanks, "");
}

#define NAME_WIDTH 20

/* The beginning of a line about a part. */
static void print_part(FILE *to, const char *name)
{
    fputs("  ", to);
    print_column(to, name, NAME_WIDTH, false);
}

#define NUMBER_WIDTH 13 /* "639.92 ± 1.07" */
#define UNIT_WIDTH 8    /* " degrees" */

/* A column with a number, its uncertainty where it has one, and its unit where that is not "". It
 * is rather too wide than cut, which would leave another number. */
static void print_quantity(FILE *to, struct quantity quantity, int decimals, const char *unit)
{
    char text[PLUS_MINUS_WORDS];
    plus_minus_quantity(quantity, decimals, "", text);
    int characters = characters_of(text);
    fputc(' ', to);
    print_column(to, text, characters > NUMBER_WIDTH ? characters : NUMBER_WIDTH, true);
    if (*unit) {
        fputc(' ', to);
        print_column(to, unit, UNIT_WIDTH - 1, false);
    }
}

static void print_throws(const struct linkage *linkage, const struct linkage_result *result,
                         FILE *to)
{
    fprintf(to, "\nThrow from neutral\n  %-*s %*s %*s %*s %*s\n", NAME_WIDTH, "", NUMBER_WIDTH,
            "stands at", NUMBER_WIDTH + UNIT_WIDTH, "servo at low end", NUMBER_WIDTH + UNIT_WIDTH,
            "servo at high end", NUMBER_WIDTH + 2, "differential");
    for (int i = 0; i < linkage->stage_count; i++) {
        const struct linkage_stage_result *it = &result->stages[i];
        const char *unit = linkage_unit(linkage->stages[i].kind);
        bool slides = linkage_slides(linkage->stages[i].kind);
        print_part(to, linkage->stages[i].name);
        print_quantity(to, it->neutral, linkage_decimals(it->neutral, slides), "");
        print_quantity(to, it->low, linkage_decimals(it->low, slides), unit);
        print_quantity(to, it->high, linkage_decimals(it->high, slides), unit);
        print_quantity(to, it->differential, linkage_decimals(it->differential, false), "");
        fputs(" %\n", to);
    }
    fputs("  (degrees: + is counter-clockwise, - clockwise; mm: + is further along)\n", to);
}

static void print_links(const struct linkage *linkage, const struct linkage_result *result,
                        FILE *to)
{
    bool any = false;
    for (int i = 0; i < linkage->stage_count; i++) {
        const struct linkage_stage_result *it = &result->stages[i];
        if (!has_link(linkage->stages[i].kind))
            continue;
        if (!any)
            fprintf(to, "\nLinks, ball centre to ball centre\n  %-*s %*s %*s\n", NAME_WIDTH, "",
                    NUMBER_WIDTH, "as it is", NUMBER_WIDTH + 3, "wanted");
        any = true;
        print_part(to, linkage->stages[i].name);
        print_quantity(to, it->link_mm, 2, "");
        if (linkage_has_wish(&linkage->stages[i]))
            print_quantity(to, it->link_wanted_mm, 2, "");
        else
            fprintf(to, " %*s", NUMBER_WIDTH, "-");
        fputs(" mm\n", to);
    }
}

static void print_forces(const struct linkage *linkage, const struct linkage_result *result,
                         FILE *to)
{
    fprintf(to,
            "\nMovement per degree of servo, and what the servo's torque becomes\n"
            "  %-20s %8s %8s %8s   %-26s %s\n",
            "", "low end", "neutral", "high end", "at neutral, no friction",
            "link against arm, least");
    for (int i = 0; i < linkage->stage_count; i++) {
        const struct linkage_stage_result *it = &result->stages[i];
        bool slides = linkage_slides(linkage->stages[i].kind);
        double per_rad = it->gain_neutral * (slides ? 1 / RAD_PER_DEG : 1);
        char gain[40];
        /* Power in = power out: torque ratio 1 / (dout / din); a slider gets F = T / (dx / dt),
         * and 1 N cm is 10 N mm. */
        snprintf(gain, sizeof gain, slides ? "%.2f N per N cm" : "%.2f times the torque",
                 (slides ? 10 : 1) / fabs(per_rad));
        print_part(to, linkage->stages[i].name);
        fprintf(to, " %8.3f %8.3f %8.3f   %-26s %.0f degrees at %+.1f\n", it->gain_low,
                it->gain_neutral, it->gain_high, gain, it->least_transmission_deg,
                it->least_transmission_at_deg);
    }
}

#define COST_WIDTH 46
#define COST_NUMBER_WIDTH 8

static void print_costs(const struct linkage *linkage, const struct linkage_result *result,
                        FILE *to)
{
    int last = linkage->stage_count - 1;
    const char *unit = linkage_unit(linkage->stages[last].kind);
    int width = COST_NUMBER_WIDTH + 1 + (int)strlen(unit);
    fprintf(to, "\nWhat an error costs at the %s\n  %-*s %*s %*s %*s\n", linkage->stages[last].name,
            COST_WIDTH, "", width, "neutral", width, "low throw", width, "high throw");
    for (int i = 0; i < result->cost_count; i++) {
        const struct linkage_cost *cost = &result->costs[i];
        const char *what =
            cost->part == LINKAGE_LINK ? "half a turn longer, " : "one degree at the horn, ";
        fprintf(to, "  %s", what);
        print_column(to, linkage->stages[cost->stage].name, COST_WIDTH - (int)strlen(what), false);
        const double moves[] = {cost->neutral, cost->low, cost->high};
        for (int k = 0; k < 3; k++)
            if (isfinite(moves[k]))
                fprintf(to, " %+*.2f %s", COST_NUMBER_WIDTH, quantity_rounded(moves[k], 2), unit);
            else
                fprintf(to, " %*s", width, "-");
        fputc('\n', to);
    }
}

static void print_shares(const struct linkage *linkage, const struct linkage_result *result,
                         FILE *to)
{
    int last = linkage->stage_count - 1;
    if (result->share_count == 0)
        return;
    fprintf(to, "\nWhere the uncertainty of the %s at neutral comes from (standard, %s)\n",
            linkage->stages[last].name, linkage_unit(linkage->stages[last].kind));
    for (int i = 0; i < result->share_count; i++) {
        print_part(to, linkage->stages[result->shares[i].stage].name);
        fprintf(to, " %-20s ", linkage_part_name(result->shares[i].part));
        if (isfinite(result->shares[i].u))
            fprintf(to, "%8.3f\n", result->shares[i].u);
        else
            fprintf(to, "%8s\n", "-");
    }
}

void linkage_print(const struct linkage *linkage, const struct linkage_result *result, FILE *to)
{
    print_head(linkage, to);
    print_actions(linkage, result, to);
    print_taken(linkage, result, to);
    print_throws(linkage, result, to);
    print_links(linkage, result, to);
    print_forces(linkage, result, to);
    print_costs(linkage, result, to);
    print_shares(linkage, result, to);
}

/* ---- JSON ----------------------------------------------------------------------------------- */

static json_t *limit(const struct linkage *linkage, const struct linkage_limit *at)
{
    if (!at->found)
        return json_null();
    return json_pack("{s:s, s:o}", "part", linkage->stages[at->stage].name, "servo_deg",
                     answer_number(at->servo_deg));
}

/* The code in "unit" and "by_unit". */
static const char *unit_name(bool length)
{
    return length ? "mm" : "deg";
}

static const char *kind_name(enum linkage_kind kind)
{
    static const char *const names[] = {"crank", "slider", "yoke", "pitch arm"};
    return names[kind];
}

static const char *class_name(enum fourbar_class class)
{
    static const char *const names[] = {"crank-rocker",  "double-crank",  "rocker-crank",
                                        "double-rocker", "triple-rocker", "change-point"};
    return names[class];
}

static json_t *turns_json(const struct linkage_stage_result *it)
{
    if (!it->turnable || it->bare)
        return json_null();
    return json_pack("{s:o, s:o, s:o, s:o, s:o}", "turns_out", answer_number(it->turns.turns),
                     "far_turns_out", answer_number(it->turns.other_turns), "exact_turns_out",
                     answer_number(it->turns.exact_turns), "longer_mm",
                     answer_number(it->turns.change_mm), "remaining",
                     linkage_quantity_json(it->remaining));
}

static json_t *stage_json(const struct linkage *linkage, const struct linkage_result *result, int i)
{
    const struct linkage_stage *stage = &linkage->stages[i];
    const struct linkage_stage_result *it = &result->stages[i];
    char action[LINKAGE_SENTENCE_SIZE];
    bool acts = linkage_say_action(linkage, result, i, action, sizeof action);
    json_t *json = json_pack(
        "{s:s, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "name", stage->name, "kind",
        kind_name(stage->kind), "unit", unit_name(linkage_slides(stage->kind)), "neutral",
        linkage_quantity_json(it->neutral), "off", linkage_quantity_json(it->off), "throw_low",
        linkage_quantity_json(it->low), "throw_high", linkage_quantity_json(it->high),
        "differential_percent", linkage_quantity_json(it->differential), "link_mm",
        linkage_quantity_json(it->link_mm), "link_wanted_mm",
        linkage_quantity_json(it->link_wanted_mm), "turns", turns_json(it));
    if (!json)
        return NULL;
    bool turned = linkage_part_use(stage->kind, LINKAGE_HORN_ANGLE) != LINKAGE_UNUSED;
    json_object_set_new(json, "horn_deg", answer_number(turned ? it->horn_deg : NAN));
    json_object_set_new(json, "per_servo_deg",
                        json_pack("{s:o, s:o, s:o}", "low", answer_number(it->gain_low), "neutral",
                                  answer_number(it->gain_neutral), "high",
                                  answer_number(it->gain_high)));
    json_object_set_new(json, "least_transmission",
                        json_pack("{s:o, s:o}", "deg", answer_number(it->least_transmission_deg),
                                  "servo_deg", answer_number(it->least_transmission_at_deg)));
    json_object_set_new(
        json, "turns_back",
        json_pack("[o, o]", limit(linkage, &it->turning[0]), limit(linkage, &it->turning[1])));
    if (stage->kind == LINKAGE_CRANK)
        json_object_set_new(
            json, "grashof",
            json_string(class_name(fourbar_class_of(&result->ready.stages[i].bar))));
    json_object_set_new(json, "action", acts ? json_string(action) : json_null());
    json_object_set_new(json, "bare", json_boolean(it->bare));
    json_object_set_new(json, "within_tolerance", json_boolean(it->within && !it->bare));
    json_object_set_new(json, "measure_first", json_boolean(it->measure_first));
    return json;
}

static json_t *costs_json(const struct linkage *linkage, const struct linkage_result *result)
{
    json_t *list = json_array();
    for (int i = 0; i < result->cost_count; i++) {
        const struct linkage_cost *cost = &result->costs[i];
        bool link = cost->part == LINKAGE_LINK;
        json_array_append_new(
            list, json_pack("{s:s, s:s, s:o, s:s, s:o, s:o, s:o}", "part",
                            linkage->stages[cost->stage].name, "error", link ? "link" : "horn",
                            "by", answer_number(link ? cost->link_mm : 1), "by_unit",
                            unit_name(link), "neutral", answer_number(cost->neutral), "throw_low",
                            answer_number(cost->low), "throw_high", answer_number(cost->high)));
    }
    return list;
}

static json_t *shares_json(const struct linkage *linkage, const struct linkage_result *result)
{
    json_t *list = json_array();
    for (int i = 0; i < result->share_count; i++)
        json_array_append_new(list, json_pack("{s:s, s:s, s:o}", "part",
                                              linkage->stages[result->shares[i].stage].name,
                                              "number", linkage_part_name(result->shares[i].part),
                                              "u", answer_number(result->shares[i].u)));
    return list;
}

json_t *linkage_to_json(const struct linkage *linkage, const struct linkage_result *result)
{
    char text[LINKAGE_SENTENCE_SIZE];
    json_t *stages = json_array(), *warnings = json_array();
    for (int i = 0; i < linkage->stage_count; i++)
        json_array_append_new(stages, stage_json(linkage, result, i));
    for (int i = 0; linkage_say_warning(linkage, result, i, text, sizeof text); i++)
        json_array_append_new(warnings, json_string(text));
    return json_pack("{s:s, s:o, s:o, s:[o, o], s:o, s:o, s:o, s:o}", "name", linkage->name,
                     "travel_low_deg", answer_number(linkage->low_deg), "travel_high_deg",
                     answer_number(linkage->high_deg), "jams", limit(linkage, &result->dead[0]),
                     limit(linkage, &result->dead[1]), "parts", stages, "errors_cost",
                     costs_json(linkage, result), "uncertainty_of_last",
                     shares_json(linkage, result), "warnings", warnings);
}

/* ---- CSV ------------------------------------------------------------------------------------ */

/* RFC 4180: quoted, quotes doubled. */
static void print_csv_name(FILE *to, const char *name, const char *what)
{
    fputc('"', to);
    for (; *name; name++) {
        if (*name == '"')
            fputc('"', to);
        fputc(*name, to);
    }
    fprintf(to, " %s\"", what);
}

static void print_csv_head(const struct linkage *linkage, FILE *to)
{
    fputs("servo_deg", to);
    for (int i = 0; i < linkage->stage_count; i++) {
        bool slides = linkage_slides(linkage->stages[i].kind);
        const char *what[] = {slides ? "at_mm" : "at_deg", slides ? "moved_mm" : "moved_deg",
                              slides ? "mm_per_servo_deg" : "deg_per_servo_deg",
                              "transmission_deg"};
        for (size_t k = 0; k < sizeof what / sizeof *what; k++) {
            fputc(',', to);
            print_csv_name(to, linkage->stages[i].name, what[k]);
        }
    }
    fputs("\r\n", to);
}

void linkage_print_csv(const struct linkage *linkage, const struct linkage_ready *ready,
                       double step_deg, FILE *to)
{
    print_csv_head(linkage, to);
    int steps = (int)ceil((linkage->high_deg - linkage->low_deg) / step_deg - 1e-9);
    for (int k = 0; k <= steps; k++) {
        struct linkage_pose poses[LINKAGE_MAX_STAGES];
        double servo_deg = fmin(linkage->low_deg + k * step_deg, linkage->high_deg);
        if (linkage_pose(ready, servo_deg, poses, NULL) != LINKAGE_OK)
            continue; /* linkage_analyse has seen the whole travel already */
        fprintf(to, "%.4f", servo_deg);
        for (int i = 0; i < ready->stage_count; i++) {
            enum linkage_kind kind = ready->stages[i].kind;
            double scale = linkage_slides(kind) ? RAD_PER_DEG : 1;
            fprintf(to, ",%.5f,%.5f,%.6f,%.3f", linkage_shown(kind, poses[i].out),
                    linkage_shown(kind, poses[i].moved), poses[i].servo_gain * scale,
                    poses[i].transmission_rad / RAD_PER_DEG);
        }
        fputs("\r\n", to);
    }
}
