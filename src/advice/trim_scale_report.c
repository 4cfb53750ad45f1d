#include "trim_scale_report.h"

#include "advice.h"
#include "advice_words.h"
#include "arithmetic/direction.h"
#include "arithmetic/plus_minus.h"
#include "base/answer.h"
#include "base/clean_text.h"
#include "base/paragraph.h"

#include <jansson.h>
#include <math.h>
#include <stdarg.h>

#define COARSE_SHARE 0.2 /* U above this share of the scale: another photo is worth its minute */

/* ---- Warnings: everything that makes the scale worth less than it looks -------------------- */

#define MAX_WARNINGS 10
#define NAME_SHOWN 80 /* bytes of a name: two, and what is to be said of them, fit ADVICE_WORDS */

struct warnings {
    char text[MAX_WARNINGS][ADVICE_WORDS];
    int count;
};

static void warn(struct warnings *w, const char *format, ...) __attribute__((format(printf, 2, 3)));

static void warn(struct warnings *w, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    vsnprintf(w->text[w->count], ADVICE_WORDS, format, args);
    va_end(args);
    w->count++;
}

static void warn_of_repeats(struct warnings *w, const struct trim_scale *s)
{
    if (s->backlash_shows)
        warn(w,
             "Readings at %g %% differ by %.2f degrees, more than their uncertainty: backlash or "
             "play. Approach each setting from the same side.",
             s->backlash_percent, s->backlash_deg);
    else if (s->repeated && !s->u_known)
        warn(w, "Readings at %g %% differ by %.2f degrees: noise, backlash or play.",
             s->backlash_percent, s->backlash_deg);
}

/* From a third of what most servos turn at the most to twice that; common practice, no source.
 * Angle and percent swapped make the scale its inverse, microseconds a tenth or a fifth of it. */
static bool is_usual(const struct trim_scale *s)
{
    double usual = fabs(s->fit.slope) / ADVICE_SCALE_USUAL;
    return usual >= 1.0 / 3 && usual <= 2;
}

/* Whether 0 % lies further from all settings than they do from each other. */
static bool is_far_from_zero(const struct trim_scale_source *from)
{
    double least = INFINITY, most = -INFINITY;
    for (size_t i = 0; i < from->count; i++) {
        least = fmin(least, from->readings[i].percent);
        most = fmax(most, from->readings[i].percent);
    }
    return fmax(least, -most) > most - least;
}

/* Some readings have their uncertainty and some have not. */
static bool is_known_in_part(const struct trim_scale_source *from)
{
    size_t known = 0;
    for (size_t i = 0; i < from->count; i++)
        known += from->readings[i].u_deg > 0;
    return known > 0 && known < from->count;
}

/* Nothing is to be worked out from it. */
static bool is_held_back(const struct trim_scale *s, const struct trim_scale_source *from)
{
    return from->one || !trim_scale_is_straight(s);
}

static bool is_doubtful(const struct trim_scale *s, const struct trim_scale_source *from)
{
    return !is_usual(s) || is_far_from_zero(from) || isnan(s->expanded);
}

static void warn_of_bend(struct warnings *w, const struct trim_scale *s)
{
    for (int end = 0; end < 2; end++)
        if (s->stops[end])
            warn(w,
                 "From %g %% on the arm no longer follows: it or its link meets a stop, or the "
                 "servo its end, or a reading is wrong. Leave out what lies beyond, and take "
                 "others nearer to 0 %%.",
                 s->stops_percent[end]);
    if (s->bent && !s->stops[0] && !s->stops[1])
        warn(w, "The readings lie on a curve, not on a line: what one percent does changes on the "
                "way. Take readings within a few percent of where it is to be used.");
}

static struct warnings warnings_of(const struct trim_scale *s, const struct trim_scale_source *from)
{
    struct warnings w = {.count = 0};
    if (from->one)
        warn(&w,
             "%.*s and %.*s show different parts, or an arm hidden in one of them: the number of "
             "arms or the length of this one differs. Take both again, with nothing changed but "
             "the percent.",
             text_cut(from->one, NAME_SHOWN), from->one, text_cut(from->other, NAME_SHOWN),
             from->other);
    warn_of_bend(&w, s);
    if (!is_usual(s))
        warn(&w,
             "Most servos turn 0.4 to %g degrees for one percent. Were angle and percent swapped, "
             "microseconds given for percent, or different horns read?",
             ADVICE_SCALE_USUAL);
    if (is_far_from_zero(from))
        warn(&w, "All settings lie far from 0 %% of sub-trim: were angle and percent swapped? If "
                 "not, take one at 0 %%.");
    if (is_known_in_part(from))
        warn(&w,
             "Of some readings nobody knows how good they are, so that of the others cannot count: "
             "write it behind each number, such as 95u0.1, or add --u.");
    if (from->count < 3)
        warn(&w, "Two readings give a scale that nothing checks: add a third, far from both.");
    if (trim_scale_is_straight(s) && s->expanded > COARSE_SHARE * fabs(s->fit.slope))
        warn(&w, "The scale is only roughly known: take readings further apart, or more of them.");
    if (from->unsure > 0)
        warn(&w, "%zu of the photos %s unsure, and so is the scale.", from->unsure,
             from->unsure == 1 ? "is" : "are");
    if (trim_scale_is_straight(s) && s->u_known && trim_scale_stands_out(s)) {
        const char *word = from->words[s->worst];
        if (s->tied)
            warn(&w, "The readings lie far from one line, and so few do not tell which of them is "
                     "wrong: check the percents, or add one.");
        else
            warn(&w, "%.*s lies far from the line: check its percent, or take it again.",
                 text_cut(word, NAME_SHOWN), word);
    }
    warn_of_repeats(&w, s);
    return w;
}

/* ---- Text ---------------------------------------------------------------------------------- */

/* Decimals that show two digits of U; three where U is not known. */
static int decimals_for(double expanded)
{
    if (!(expanded > 0))
        return 3;
    int decimals = 1 - (int)floor(log10(expanded));
    if (decimals < 2)
        return 2;
    return decimals > 6 ? 6 : decimals;
}

static void print_scale(FILE *to, const struct trim_scale *s)
{
    char scale[PLUS_MINUS_WORDS];
    if (!trim_scale_is_straight(s)) {
        fputs("The readings do not lie on a line: one percent does not do the same everywhere.\n",
              to);
        return;
    }
    plus_minus_words(fabs(s->fit.slope), s->expanded, decimals_for(s->expanded), "degrees", scale);
    fprintf(to,
            "One percent of sub-trim turns the horn %s.\n"
            "Positive percent turns it %s as seen in the photos.\n",
            scale, direction_way(s->fit.slope));
}

static void print_readings(FILE *to, const struct trim_scale *s,
                           const struct trim_scale_source *from)
{
    fputs("\n  percent   degrees   off the line\n", to);
    for (size_t i = 0; i < from->count; i++)
        fprintf(to, "  %7g   %7.2f   %+7.2f\n", from->readings[i].percent,
                direction_normal(from->readings[i].angle_deg), s->residuals_deg[i]);
    fputs("  (off the line: + is counter-clockwise, - clockwise)\n", to);
}

/* What the same line says about the arm itself: how it stands at 0 %, and where it is square. */
static void print_square(FILE *to, const struct trim_scale *s)
{
    struct uncertainty at_zero;
    struct uncertainty at_square;
    double off;
    trim_scale_at_zero(s, &at_zero);
    double percent = trim_scale_square(s, &off, &at_square);
    if (isnan(s->expanded))
        return;
    char lies[PLUS_MINUS_WORDS];
    plus_minus_degrees(off, uncertainty_expand(at_zero), lies);
    fputc('\n', to);
    paragraph(to, "",
              "At 0 %% the arm lies %s %s of square; sub-trim alone would make it square at "
              "%+.1f ± %.1f %%.",
              lies, direction_way(off), percent,
              plus_minus_rounded(uncertainty_expand(at_square), 1));
}

static void print_use(FILE *to, const struct trim_scale *s, const struct trim_scale_source *from)
{
    int decimals = decimals_for(s->expanded);
    if (is_held_back(s, from)) {
        fputs("\nDO NOT USE IT YET\n", to);
        return;
    }
    fprintf(to, "\n%s\n  armsquare advise PHOTO --teeth N --scale %.*f",
            is_doubtful(s, from) ? "CHECK IT FIRST (NOTE), THEN USE IT" : "USE IT", decimals,
            s->fit.slope);
    if (!isnan(s->expanded))
        fprintf(to, "U%.*f", decimals, s->expanded);
    fputc('\n', to);
}

void trim_scale_print(FILE *to, const struct trim_scale *s, const struct trim_scale_source *from)
{
    struct warnings warnings = warnings_of(s, from);
    print_scale(to, s);
    print_readings(to, s, from);
    if (!is_held_back(s, from) && !is_far_from_zero(from))
        print_square(to, s);
    print_use(to, s, from);
    if (warnings.count > 0 && !is_held_back(s, from))
        fputs("\nNOTE\n", to);
    for (int i = 0; i < warnings.count; i++)
        paragraph(to, "  - ", "%s", warnings.text[i]);
}

/* ---- JSON ---------------------------------------------------------------------------------- */

static json_t *readings_json(const struct trim_scale *s, const struct trim_scale_source *from)
{
    json_t *list = json_array();
    for (size_t i = 0; i < from->count; i++) {
        const struct trim_reading *reading = &from->readings[i];
        json_array_append_new(
            list, json_pack("{s:o, s:f, s:f, s:o, s:f}", "reading", answer_text(from->words[i]),
                            "percent", reading->percent, "angle_deg",
                            direction_normal(reading->angle_deg), "u_deg",
                            answer_number(reading->u_deg), "residual_deg", s->residuals_deg[i]));
    }
    return list;
}

json_t *trim_scale_json(const struct trim_scale *s, const struct trim_scale_source *from)
{
    struct warnings warnings = warnings_of(s, from);
    struct uncertainty at_zero;
    trim_scale_at_zero(s, &at_zero);
    json_t *notes = json_array();
    for (int i = 0; i < warnings.count; i++)
        json_array_append_new(notes, answer_text(warnings.text[i]));
    return json_pack("{s:s, s:f, s:o, s:o, s:o, s:s, s:f, s:o, s:o, s:o, s:o}", "status",
                     from->unsure || is_held_back(s, from) ? "unsure" : "ok", "deg_per_percent",
                     s->fit.slope, "u", answer_number(s->u_slope.u), "dof",
                     s->u_slope.dof > 0 ? answer_number(s->u_slope.dof) : json_null(), "expanded",
                     answer_number(s->expanded), "positive_percent_turns",
                     direction_way(s->fit.slope), "angle_at_0_deg",
                     direction_normal(s->fit.intercept), "angle_at_0_u_deg",
                     answer_number(at_zero.u), "backlash_deg",
                     s->repeated ? json_real(s->backlash_deg) : json_null(), "readings",
                     readings_json(s, from), "notes", notes);
}
