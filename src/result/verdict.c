#include "verdict.h"

#include "arithmetic/direction.h"
#include "arithmetic/plus_minus.h"
#include "arithmetic/quantity.h"
#include "arm_uncertainty.h"
#include "base/text_end.h"
#include "reference_words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const struct verdict_asked verdict_square = {.tolerance_deg = 0};

static double off_of(const struct vision_arm *arm, const struct verdict_asked *asked)
{
    return asked->have_target ? direction_turn(arm->angle_deg - asked->target_deg)
                              : arm->deviation_deg;
}

int verdict_arm(const struct vision_arm *arms, int count, const struct verdict_asked *asked)
{
    double off_deg[VISION_MAX_ARMS];
    int nearest = 0;
    for (int i = 0; i < count; i++) {
        off_deg[i] = off_of(&arms[i], asked);
        if (fabs(off_deg[i]) < fabs(off_deg[nearest]))
            nearest = i;
    }
    return asked->have_target ? nearest : order_first(off_deg, count);
}

double verdict_held_to_deg(const struct verdict *v)
{
    return v->asked.tolerance_deg > 0 ? v->asked.tolerance_deg : DECISION_USUAL_DEG;
}

void verdict_make(const struct vision_arm *arms, int count, bool unsure, double obliquity_deg,
                  double closer, bool is_together, const struct verdict_asked *asked,
                  struct verdict *out)
{
    const int index = verdict_arm(arms, count, asked);
    const struct vision_arm *arm = &arms[index];
    *out = (struct verdict){.arm = *arm, .index = index, .asked = *asked, .unsure = unsure};
    out->off_deg = off_of(arm, asked);
    out->expanded_deg = arm_expanded_deg(arm);
    out->order = order_make(&(struct order_question){unsure, !asked->have_target, out->off_deg,
                                                     out->expanded_deg, asked->tolerance_deg});
    out->decision = DECISION_CANNOT_TELL;
    if (asked->tolerance_deg > 0 && !unsure)
        out->decision = decision_make(out->off_deg, out->expanded_deg, asked->tolerance_deg);
    if (out->order != ORDER_CANNOT_TELL)
        return;
    struct sharpen_question q = {arm,         obliquity_deg, closer,
                                 is_together, out->off_deg,  verdict_held_to_deg(out)};
    out->step_count = sharpen_steps(&q, out->steps, &out->all);
}

void verdict_of_photo(const struct vision_result *result, const struct verdict_asked *asked,
                      struct verdict *out)
{
    verdict_make(result->arms, result->arm_count, result->status != VISION_OK,
                 result->obliquity_deg, sharpen_closer(result), false, asked, out);
    out->reference = result->reference;
}

void verdict_from(const struct verdict *v, const char *unit, char out[VERDICT_FROM])
{
    if (v->asked.have_target)
        snprintf(out, VERDICT_FROM, "the wanted %g%s", v->asked.target_deg, unit);
    else
        snprintf(out, VERDICT_FROM, "square");
}

static const char *off_words(const struct verdict *v, const char *(*lies)(double, int), char *out)
{
    const double limit_deg = verdict_held_to_deg(v);
    char off[PLUS_MINUS_WORDS];
    plus_minus_judged(v->off_deg, v->expanded_deg, limit_deg, off);
    int decimals = plus_minus_decimals_judged(v->off_deg, v->expanded_deg, limit_deg);
    snprintf(out, VERDICT_OFF, "%s %s", off, lies(v->off_deg, decimals));
    return out;
}

const char *verdict_off(const struct verdict *v, char out[VERDICT_OFF])
{
    return off_words(v, plus_minus_side, out);
}

const char *verdict_off_from(const struct verdict *v, char out[VERDICT_OFF])
{
    return off_words(v, plus_minus_lies, out);
}

static bool may_settle(const struct verdict *v)
{
    return v->step_count > 0 &&
           sharpen_may_settle(&v->all, v->expanded_deg, verdict_held_to_deg(v));
}

void verdict_undecided(const struct verdict *v, char out[VERDICT_UNDECIDED])
{
    const bool off = fabs(v->off_deg) > v->expanded_deg;
    char cure[48] = "";
    if (v->order == ORDER_HALF_WAY) {
        snprintf(out, VERDICT_UNDECIDED,
                 "Say which one is meant with --target %g or %g, or bring it near that by eye and "
                 "measure again.",
                 direction_square(v->arm.angle_deg), direction_next_square(v->arm.angle_deg));
        return;
    }
    if (off)
        snprintf(cure, sizeof cure, "set it nearer, %s", order_cure(v->off_deg));
    else if (!v->all.settles)
        snprintf(cure, sizeof cure, "leave it");
    if (may_settle(v)) {
        const bool one = sharpen_one_settles(v->steps, v->step_count);
        char all[SHARPEN_ALL_WORDS];
        snprintf(out, VERDICT_UNDECIDED, "Measure again%s%s: %s%s%s.", one ? "" : ", all at once",
                 v->all.settles ? "" : ", which may settle it",
                 one ? sharpen_says(v->steps[0].way) : sharpen_all(v->steps, v->step_count, all),
                 *cure ? "; or " : "", cure);
    } else
        snprintf(out, VERDICT_UNDECIDED,
                 "A better photo would not settle it: %s%sallow a larger limit.", cure,
                 *cure ? ", or " : "");
}

/* Rounded as the answer is; a small gain shows in no digit. */
static void write_step(FILE *to, const struct verdict *v, const char *what,
                       const struct sharpen_step *step, const char *settles)
{
    char off[16], now[16], then[16];
    plus_minus(v->off_deg, v->expanded_deg, verdict_held_to_deg(v), off, now);
    plus_minus(v->off_deg, step->expanded_deg, verdict_held_to_deg(v), off, then);
    bool shows = strcmp(now, then) != 0;
    fprintf(to, "  %s: %s%s%s\n", what, shows ? "± " : "a little less", shows ? then : "", settles);
}

/* Where a better photo decides nothing it is not asked for. */
static void write_steps(FILE *to, const struct verdict *v)
{
    char off[16], now[16], best[16];
    plus_minus(v->off_deg, v->expanded_deg, verdict_held_to_deg(v), off, now);
    plus_minus(v->off_deg, v->all.expanded_deg, verdict_held_to_deg(v), off, best);
    if (v->step_count == 0) {
        fputs("What remains is the arm's own shape and the print, which no better photo changes.\n",
              to);
        return;
    }
    if (!may_settle(v)) {
        fprintf(to, "The best that photos could do is ± %s (± %s now), still too near the limit.\n",
                best, now);
        return;
    }
    fprintf(to, "What helps, best first (± %s now, and as it would be):\n", now);
    for (int i = 0; i < v->step_count; i++)
        write_step(to, v, sharpen_says(v->steps[i].way), &v->steps[i],
                   v->steps[i].settles ? ", should settle it" : "");
    if (v->step_count > 1)
        write_step(to, v, "all of these", &v->all,
                   v->all.settles ? ", should settle it" : ", may settle it");
}

static void write_verdict(FILE *to, const struct verdict *v)
{
    static const char *const answers[DECISION_COUNT] = {
        [DECISION_ACCEPT] = "yes (accept)",
        [DECISION_REJECT] = "no (reject)",
        [DECISION_CANNOT_TELL] = "cannot tell",
    };
    char off[VERDICT_OFF], from[VERDICT_FROM];
    verdict_from(v, " degrees", from);
    fprintf(to, "Within %g %s of %s%s? Arm %s: %s, %s it.\n", v->asked.tolerance_deg,
            plus_minus_degree_word(v->asked.tolerance_deg), from, reference_to(v->reference),
            v->arm.name, answers[v->decision], verdict_off_from(v, off));
    if (v->unsure)
        fputs("The measurement is unsure, so nothing is decided on it.\n", to);
    else if (v->order == ORDER_CANNOT_TELL)
        write_steps(to, v);
}

char *verdict_words(const struct verdict *v)
{
    char *text = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    if (!to)
        return NULL;
    write_verdict(to, v);
    return text_end(to, &text);
}

static double rounded(double deg)
{
    return quantity_rounded(deg, 3);
}

json_t *verdict_json(const struct verdict *v)
{
    static const char *const ways[SHARPEN_WAY_COUNT] = {"together", "closer", "squarer", "flatter"};
    json_t *steps = json_array();
    for (int i = 0; i < v->step_count; i++)
        json_array_append_new(steps, json_pack("{s:s, s:s, s:f, s:b}", "way", ways[v->steps[i].way],
                                               "do", sharpen_says(v->steps[i].way), "U_deg",
                                               rounded(v->steps[i].expanded_deg), "settles",
                                               (int)v->steps[i].settles));
    return json_pack("{s:s, s:f, s:o, s:f, s:f, s:s, s:o}", "arm", v->arm.name, "tolerance_deg",
                     v->asked.tolerance_deg, "target_deg",
                     v->asked.have_target ? json_real(v->asked.target_deg) : json_null(), "off_deg",
                     rounded(v->off_deg), "U_deg", rounded(v->expanded_deg), "decision",
                     decision_name(v->decision), "advice", steps);
}
