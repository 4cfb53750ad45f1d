#include "advice_words.h"

#include "arithmetic/direction.h"
#include "arithmetic/plus_minus.h"
#include "arithmetic/quantity.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

static const char *say(char *out, const char *format, ...) __attribute__((format(printf, 2, 3)));

static const char *say(char *out, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    vsnprintf(out, ADVICE_WORDS, format, args);
    va_end(args);
    return out;
}

static bool wants_square(const struct advice_question *q)
{
    return !q->wanted_named && direction_deviation(q->wanted_deg) == 0;
}

const char *advice_stands(const struct advice_question *q, double deviation_deg,
                          double expanded_deg, char *out)
{
    char off[PLUS_MINUS_WORDS];
    char place[40] = "square";
    if (!wants_square(q))
        snprintf(place, sizeof place, "the wanted %.1f degrees", q->wanted_deg);
    plus_minus_judged(deviation_deg, expanded_deg, q->tolerance_deg, off);
    int decimals = plus_minus_decimals_judged(deviation_deg, expanded_deg, q->tolerance_deg);
    return say(out, "%s %s %s%s", off, plus_minus_lies(deviation_deg, decimals), place,
               q->from ? q->from : "");
}

const char *advice_verdict(const struct advice_question *q, enum decision decision,
                           double expanded_deg, char *out)
{
    static const char *const verdicts[DECISION_COUNT] = {
        [DECISION_ACCEPT] = "within the tolerance of",
        [DECISION_REJECT] = "outside the tolerance of",
        [DECISION_CANNOT_TELL] = "too close to call against a tolerance of",
    };
    if (q->unsure)
        return say(out, "in doubt, as the photo is unsure");
    if (q->half_way)
        return say(out, "nearly half way between two squares");
    if (isnan(expanded_deg))
        return say(out, "not to be judged against a tolerance of %g without an uncertainty",
                   q->tolerance_deg);
    return say(out, "%s %g", verdicts[decision], q->tolerance_deg);
}

/* "turn it 1 tooth clockwise as seen in the photo (14.4 degrees)" */
static const char *turn_words(const struct spline_position *at, char *out)
{
    int teeth = abs(at->teeth);
    return say(out, "%d %s %s as seen in the photo (%.1f degrees)", teeth,
               teeth == 1 ? "tooth" : "teeth", direction_way(at->turn_deg), fabs(at->turn_deg));
}

/* The horn left alone. Whether another position comes nearer is seen only beside the others. */
static const char *leave_words(const struct advice_question *q, const struct advice *advice,
                               const struct advice_option *option, char *out)
{
    if (!advice_is_leave(q, &advice->options[0]))
        return say(out, "Leave the horn as it is; another position comes nearer.");
    if (option->trim.kind != ADVICE_TRIM_NOT_NEEDED)
        return say(out, "Leave the horn as it is: no arm on any tooth is surely nearer.");
    return say(out, "Leave the horn as it is.");
}

const char *advice_action(const struct advice_question *q, const struct advice *advice,
                          const struct advice_option *option, char *out)
{
    const struct spline_position *at = &option->at;
    char turn[ADVICE_WORDS];
    char use[ADVICE_WORDS] = "";
    if (q->unsure)
        return say(out, "Change nothing yet, for the photo is unsure: photograph the same arm "
                        "again, and mend first what made it so.");
    if (q->half_way)
        return say(out,
                   "Change nothing yet: say which square is meant with --target %g or %g, or bring "
                   "arm %s near it by eye and measure again.",
                   q->wanted_deg, direction_next_square(q->arms[q->used].angle_deg),
                   q->arms[q->used].name);
    turn_words(at, turn);
    if (at->arm != q->used)
        say(use, " Use arm %s in place of arm %s, pointing the same way.", q->arms[at->arm].name,
            q->arms[q->used].name);
    if (at->turned_over && at->teeth == 0)
        return say(out, "Put the horn on turned over, on the tooth where you read it.%s", use);
    if (at->turned_over)
        return say(out, "Put the horn on turned over, %s from the tooth where you read it.%s", turn,
                   use);
    if (advice_is_leave(q, option))
        return leave_words(q, advice, option, out);
    if (at->teeth == 0)
        return say(out, "Leave the horn as it is.%s", use);
    return say(out, "Lift the horn, turn it %s and press it back on.%s", turn, use);
}

const char *advice_trim_change(const struct advice_option *option, char *out)
{
    return say(out, "Change sub-trim by %+g %%: the arm must move %s (if it does not, use %+g %%).",
               option->trim.percent, direction_way(-option->at.remains_deg), -option->trim.percent);
}

static const char *trim_use(const struct advice_question *q, const struct advice_option *option,
                            char *out)
{
    const struct advice_trim *trim = &option->trim;
    char change[ADVICE_WORDS];
    char stands[ADVICE_WORDS];
    char verdict[ADVICE_WORDS];
    advice_trim_change(option, change);
    advice_stands(q, trim->remains_deg, trim->expanded_deg, stands);
    advice_verdict(q, trim->decision, trim->expanded_deg, verdict);
    return say(out, "%s That leaves %s, %s%s.", change, stands, verdict,
               advice_scale_is_bare(&q->scale) && !isnan(option->expanded_deg) ? " of the scale"
                                                                               : "");
}

/* Of what remains, as advice_stands() shows it. */
static int decimals_of(const struct advice_question *q, const struct advice_option *option)
{
    return plus_minus_decimals_judged(option->at.remains_deg, option->expanded_deg,
                                      q->tolerance_deg);
}

/* Degrees per percent are not known, but what is usual is. */
static const char *trim_unscaled(const struct advice_question *q,
                                 const struct advice_option *option, char *out)
{
    const double remains = option->at.remains_deg;
    const double most = q->limit_percent * ADVICE_SCALE_USUAL;
    int decimals = decimals_of(q, option);
    char move[80];
    while (advice_over_usual_limit(q, remains) && decimals < 6 &&
           quantity_rounded(fabs(remains), decimals) <= most + 1e-9)
        decimals++; /* those that decide */
    snprintf(move, sizeof move, "ub-trim would have to move the arm %.*f degrees %s", decimals,
             fabs(remains), direction_way(-remains));
    if (!advice_over_usual_limit(q, remains))
        return say(out, "S%s.", move);
    return say(out,
               "Check that the servo is centred (neutral, no sub-trim). If it is, another horn may "
               "come nearer: s%s, and on most servos %g %% move it no more than %.2g.",
               move, q->limit_percent, most);
}

const char *advice_trim_action(const struct advice_question *q, const struct advice_option *option,
                               char *out)
{
    double remains = option->at.remains_deg;
    switch (option->trim.kind) {
    case ADVICE_TRIM_NOT_NEEDED:
        return say(out, "No sub-trim is needed.");
    case ADVICE_TRIM_NOT_SEEN:
        return say(out, "No sub-trim: what remains is no more than the measurement may be wrong.");
    case ADVICE_TRIM_MEASURE_FIRST:
        if (q->unsure)
            return say(out, "No sub-trim yet: the photo is unsure.");
        if (q->half_way)
            return say(out, "No sub-trim yet: say first which square is meant.");
        if (!option->assumed)
            return say(out, "No sub-trim yet: measure first, the link lies elsewhere then.");
        return say(out, "No sub-trim yet: measure first, arm %s was only taken as evenly spaced.",
                   q->arms[option->at.arm].name);
    case ADVICE_TRIM_TOO_FINE:
        return say(out, "No sub-trim: what remains is less than half a step of %g %%.",
                   q->step_percent);
    case ADVICE_TRIM_USE:
        return trim_use(q, option, out);
    case ADVICE_TRIM_OVER_LIMIT:
        if (!q->scale.known)
            return say(out,
                       "Check that the servo is centred (neutral, no sub-trim). If it is, another "
                       "horn may come nearer: the %.*f degrees that remain are more than sub-trim "
                       "should do.",
                       decimals_of(q, option), fabs(remains));
        return say(out,
                   "Check that the servo is centred (neutral, no sub-trim). If it is, another horn "
                   "may come nearer: sub-trim would take %+g %%, more than %g %%.",
                   option->trim.percent, q->limit_percent);
    default:
        return trim_unscaled(q, option, out);
    }
}

const char *advice_trim_alone(const struct advice_question *q, const struct advice *advice,
                              char *out)
{
    const struct advice_trim *trim = &advice->now.trim;
    out[0] = '\0';
    if (trim->kind == ADVICE_TRIM_OVER_LIMIT && q->scale.known)
        return say(out,
                   "Sub-trim alone would take %+g %% with the horn left as it is: more than %g %%, "
                   "so another tooth or arm comes first.",
                   trim->percent, q->limit_percent);
    if (trim->kind == ADVICE_TRIM_USE)
        return say(out, "Sub-trim alone would take %+g %% with the horn left as it is.",
                   trim->percent);
    return out;
}
