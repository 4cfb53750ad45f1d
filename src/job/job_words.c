#include "job_words.h"

#include "arithmetic/plus_minus.h"
#include "arithmetic/station.h"
#include "base/text_end.h"
#include "result/order.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

__attribute__((format(printf, 1, 2))) static char *words(const char *format, ...)
{
    char *text = NULL;
    va_list args;
    va_start(args, format);
    if (vasprintf(&text, format, args) < 0)
        text = NULL;
    va_end(args);
    return text;
}

char *job_sentence(char *text)
{
    if (!text || !*text)
        return text;
    size_t length = strlen(text);
    char *grown = realloc(text, length + 2);
    if (!grown) {
        free(text);
        return NULL;
    }
    grown[0] = (char)toupper((unsigned char)grown[0]);
    if (grown[length - 1] != '.')
        memcpy(grown + length, ".", 2);
    return grown;
}

static const char *unit_of(enum plan_kind kind)
{
    return kind == PLAN_PAIR ? "mm" : "degrees";
}

/* As it follows a number on a page. */
static const char *page_unit_of(enum plan_kind kind)
{
    return kind == PLAN_PAIR ? "\u202Fmm" : "°";
}

/* A hyphen reads as a minus on a terminal; on a page it is too short. What is shown as zero has no
 * sign. */
static const char *sign_of(double value, int decimals, bool signed_too, enum job_script script)
{
    double shown = round(value * pow(10, decimals));
    if (shown < 0)
        return script == JOB_PAGE ? "−" : "-";
    return signed_too && shown > 0 ? "+" : "";
}

static char *with_unit(enum plan_kind kind, const char *sign, const char *digits,
                       enum job_script script)
{
    return script == JOB_PAGE ? words("%s%s%s", sign, digits, page_unit_of(kind))
                              : words("%s%s %s", sign, digits, unit_of(kind));
}

char *job_value_words(enum plan_kind kind, double value, double expanded, bool signed_too,
                      enum job_script script)
{
    char digits[32];
    int decimals = plus_minus_decimals(expanded);
    snprintf(digits, sizeof digits, "%.*f", decimals, fabs(value));
    return with_unit(kind, sign_of(value, decimals, signed_too, script), digits, script);
}

#define GIVEN_DECIMALS 6 /* of what a person enters */
/* Of a U that is to be reached: 0.42 may settle what 0.44 does not. */
#define EXPANDED_DECIMALS 2

char *job_given_words(enum plan_kind kind, double value, bool signed_too, enum job_script script)
{
    char digits[32];
    snprintf(digits, sizeof digits, "%.*g", GIVEN_DECIMALS, fabs(value));
    return with_unit(kind, sign_of(value, GIVEN_DECIMALS, signed_too, script), digits, script);
}

char *job_expanded_words(enum plan_kind kind, double expanded, enum job_script script)
{
    return job_given_words(kind, plus_minus_rounded(expanded, EXPANDED_DECIMALS), false, script);
}

static char *number(enum plan_kind kind, double value, double expanded, int decimals, bool plus,
                    enum job_script script)
{
    char text[PLUS_MINUS_WORDS];
    const char *sign = sign_of(value, decimals, plus, script);
    if (script == JOB_PAGE) /* the unit follows each number, and no line ends before its ± */
        return words("%s%.*f%s\u00A0±\u00A0%.*f%s", sign, decimals, fabs(value), page_unit_of(kind),
                     decimals, plus_minus_rounded(expanded, decimals), page_unit_of(kind));
    return words("%s%s", sign,
                 plus_minus_words(fabs(value), expanded, decimals, unit_of(kind), text));
}

/* Off what a station asks, by which it was judged. */
static int decimals_of(const struct plan_station *s, double off, double expanded)
{
    return plus_minus_decimals_judged(off, expanded, s->tolerance);
}

char *job_deviation_words(const struct plan_station *s, double off, double expanded,
                          enum job_script script)
{
    return number(s->kind == PLAN_ANGLE ? PLAN_SQUARE : s->kind, off, expanded,
                  decimals_of(s, off, expanded), true, script);
}

char *job_number_words(enum plan_kind kind, double value, double expanded, enum job_script script)
{
    return number(kind, value, expanded, plus_minus_decimals(expanded), kind != PLAN_ANGLE, script);
}

char *job_size_words(enum plan_kind kind, double value, double expanded, enum job_script script)
{
    return number(kind, fabs(value), expanded, plus_minus_decimals(expanded), false, script);
}

char *job_reading_words(enum plan_kind kind, double value, double expanded, enum job_script script)
{
    return number(kind, value, expanded, plus_minus_decimals(expanded), false, script);
}

char *job_moved_words(enum plan_kind kind, double moved, double expanded, int decimals,
                      enum job_script script)
{
    return number(kind, moved, expanded, decimals, true, script);
}

char *job_sure_words(char *text, bool sure)
{
    if (!text || sure)
        return text;
    char *said = words("unsure, seems %s", text);
    free(text);
    return said;
}

static const char *against(enum plan_kind kind, enum vision_reference_kind reference)
{
    return job_kind_has_reference(kind) ? reference_to(reference) : "";
}

char *job_against_words(char *text, enum plan_kind kind, enum vision_reference_kind reference)
{
    if (!text || !*against(kind, reference))
        return text;
    char *said = words("%s,%s", text, against(kind, reference));
    free(text);
    return said;
}

char *job_found_words(const struct job_view *view, int station, enum job_script script)
{
    const struct job_standing *standing = &view->standing[station];
    if (standing->latest < 0)
        return strdup("");
    const struct job_event *e = &view->events[standing->latest];
    if (e->kind == JOB_CONFIRMED)
        return strdup(e->holds ? "confirmed" : "does not hold");
    const struct plan_station *s = &view->plan.stations[station];
    double expanded = e->coverage * e->u;
    int decimals = decimals_of(s, job_difference(s->kind, e->value, s->target), expanded);
    char *text = number(s->kind, e->value, expanded, decimals, s->kind != PLAN_ANGLE, script);
    return job_sure_words(job_against_words(text, s->kind, e->reference), e->sure);
}

char *job_lies_words(const struct job_view *view, int station, enum job_script script)
{
    const struct job_standing *standing = &view->standing[station];
    const struct plan_station *s = &view->plan.stations[station];
    if (standing->latest < 0 || s->kind == PLAN_CONFIRM)
        return job_found_words(view, station, script);
    const struct job_event *e = &view->events[standing->latest];
    return job_sure_words(job_off_words(s, e, script), e->sure);
}

const char *job_zero_words(enum plan_kind kind)
{
    static const char *const zero[PLAN_KIND_COUNT] = {[PLAN_SQUARE] = "square",
                                                      [PLAN_PARALLEL] = "the first arm",
                                                      [PLAN_LEVEL] = "level",
                                                      [PLAN_CENTRED] = "mid travel"};
    return zero[kind] ? zero[kind] : "";
}

const struct job_takes *job_takes(enum plan_kind kind)
{
    static const struct job_takes takes[PLAN_KIND_COUNT] = {
        [PLAN_SQUARE] = {" PHOTO", "a photo", "--angle DEG", "--angle DEG±U"},
        [PLAN_PARALLEL] = {" PHOTO-OF-FIRST PHOTO-OF-SECOND", "a photo of each part",
                           "--angle DEG --angle DEG, one of each arm",
                           "--angle DEG±U --angle DEG±U"},
        [PLAN_LEVEL] = {" PHOTO", "a photo", "--angle DEG", "--angle DEG±U"},
        [PLAN_CENTRED] = {" PHOTO-ONE-END PHOTO-OTHER-END PHOTO-NEUTRAL",
                          "photos of one end, the other and neutral",
                          "--ends DEG,DEG --neutral DEG", "--ends DEG±U,DEG±U --neutral DEG±U"},
        [PLAN_ANGLE] = {" PHOTO", "a photo", "--angle DEG", "--angle DEG±U"},
        [PLAN_PAIR] = {" --lengths MM,MM --u MM", "a photo of both links", "--lengths MM,MM", NULL},
        [PLAN_CONFIRM] = {"", NULL, NULL, NULL},
    };
    return &takes[kind];
}

static char *longer_words(const struct plan_station *s, double off, double expanded,
                          enum job_script script)
{
    int decimals = decimals_of(s, off, expanded);
    bool zero = round(off * pow(10, decimals)) == 0;
    char *size = number(s->kind, fabs(off), expanded, decimals, false, script);
    char *text = !size  ? NULL
                 : zero ? words("%s apart%s", size, s->target != 0 ? " from what is asked" : "")
                        : words("%s, the %s link %s", size, off > 0 ? "first" : "second",
                                s->target != 0 ? "too long" : "longer");
    free(size);
    return text;
}

char *job_off_words(const struct plan_station *s, const struct job_event *e, enum job_script script)
{
    double off = job_difference(s->kind, e->value, s->target), expanded = e->coverage * e->u;
    int decimals = decimals_of(s, off, expanded);
    double shown = round(off * pow(10, decimals));
    if (s->kind == PLAN_PAIR)
        return longer_words(s, off, expanded, script);
    char *size = number(s->kind, fabs(off), expanded, decimals, false, script);
    char *target = s->kind == PLAN_ANGLE ? job_given_words(s->kind, s->target, false, script)
                                         : strdup(job_zero_words(s->kind));
    char *text = size && target ? words("%s %s %s%s%s", size,
                                        shown > 0   ? "counter-clockwise of"
                                        : shown < 0 ? "clockwise of"
                                                    : "from",
                                        s->kind == PLAN_ANGLE ? "the wanted " : "", target,
                                        against(s->kind, e->reference))
                                : NULL;
    free(size);
    free(target);
    return text;
}

char *job_asked_words(const struct plan_station *s, enum job_script script)
{
    static const char *const asked[PLAN_KIND_COUNT] = {
        [PLAN_SQUARE] = "square",
        [PLAN_PARALLEL] = "parallel",
        [PLAN_LEVEL] = "level",
        [PLAN_CENTRED] = "centred",
        [PLAN_ANGLE] = "",
        [PLAN_PAIR] = "equal",
        [PLAN_CONFIRM] = "confirmation",
    };
    if (s->kind == PLAN_CONFIRM)
        return strdup(asked[s->kind]);
    char *tolerance = job_given_words(s->kind, s->tolerance, false, script);
    char *target = job_given_words(s->kind, s->target, s->kind == PLAN_PAIR, script);
    bool has_target = s->kind == PLAN_ANGLE || s->target != 0;
    char *text = tolerance && target
                     ? words("%s, within %s", has_target ? target : asked[s->kind], tolerance)
                     : NULL;
    free(tolerance);
    free(target);
    return text;
}

static char *refit_words(const struct job_refit *refit)
{
    if (!*refit->before)
        return words("%s is now %s", refit->name, refit->after);
    if (!*refit->after)
        return words("%s is no longer given", refit->name);
    return words("%s went from %s to %s", refit->name, refit->before, refit->after);
}

static char *why_hardware(struct job *job, const struct job_event *e, const char *title, bool own)
{
    struct job_refit refit;
    char *what = job_refit(job, e->entry, &refit) ? refit_words(&refit) : NULL;
    char *text = own ? words("its hardware changed: %s", what ? what : "")
                     : words("the hardware of \"%s\" changed: %s", title, what ? what : "");
    free(what);
    job_refit_clear(&refit);
    return text;
}

/* How what is known to be more compares in the digits shown: "0.5 (more than its 0.5)" would read
 * as a slip. */
static const char *more_than(double moved, double expanded, double tolerance)
{
    double unit = pow(10, -plus_minus_decimals(expanded));
    return unit * round(fabs(moved) / unit) > tolerance + 1e-9 ? "more than" : "just more than";
}

static char *why_recheck(struct job *job, const struct job_event *e)
{
    char *note = job_note_of(job, e->entry);
    char *text = !note   ? NULL
                 : *note ? words("it is to be checked again: %s", note)
                         : words("somebody asked for it to be checked again");
    free(note);
    return text;
}

static char *why_not_held(struct job *job, const struct job_event *e)
{
    char *note = job_note_of(job, e->entry);
    char *text = !note ? NULL : *note ? words("it does not hold: %s", note) : strdup("");
    free(note);
    return text;
}

static char *why(struct job *job, const struct job_view *view, int station, enum job_script script)
{
    const struct job_standing *s = &view->standing[station];
    if (s->state == JOB_ADJUST && view->events[s->latest].kind == JOB_CONFIRMED)
        return why_not_held(job, &view->events[s->latest]);
    if (s->state != JOB_CHECK_AGAIN)
        return strdup("");
    if (s->cause < 0)
        return words("it rests on \"%s\", which counts as not done",
                     view->plan.stations[s->missing].title);
    const struct job_event *e = &view->events[s->cause];
    const struct plan_station *from = &view->plan.stations[e->station];
    if (e->kind == JOB_REFITTED)
        return why_hardware(job, e, from->title, e->station == station);
    if (e->kind == JOB_RECHECK)
        return why_recheck(job, e);
    if (e->kind == JOB_CONFIRMED)
        return words("\"%s\" was found not to hold", from->title);
    if (s->elsewhere)
        return words("\"%s\" was measured against something else and seems to lie elsewhere: "
                     "whether it moved cannot be told",
                     from->title);
    if (isnan(s->moved))
        return words("\"%s\" was measured after it", from->title);
    double expanded = e->coverage * e->u;
    char *moved = job_value_words(from->kind, fabs(s->moved), expanded, false, script);
    char *tolerance = job_given_words(from->kind, from->tolerance, false, script);
    char *text = moved && tolerance
                     ? words("\"%s\" was measured again and moved by %s (%s its %s)", from->title,
                             moved, more_than(s->moved, expanded, from->tolerance), tolerance)
                     : NULL;
    free(moved);
    free(tolerance);
    return text;
}

char *job_why_words(struct job *job, const struct job_view *view, int station,
                    enum job_script script)
{
    return job_sentence(why(job, view, station, script));
}

/* Ends that the servo drives are made even in the radio: neutral was squared before, and turning
 * the link moves both ends with it. off > 0: neutral lies counter-clockwise of their middle, and so
 * the clockwise one is further. */
static char *centred_cure(double off, double expanded, enum job_script script)
{
    char *further = job_value_words(PLAN_CENTRED, 2 * fabs(off), expanded, false, script);
    char *move = job_value_words(PLAN_CENTRED, fabs(off), expanded, false, script);
    char *text =
        further && move
            ? words("the %s end lies %s further from neutral than the other, as seen in the "
                    "photo: lower its end point in the radio, or raise the other's. Only "
                    "where both ends are stops of the model (power and link off, it goes no "
                    "further by hand), move neutral %s %s instead",
                    order_cure(off), further, move, order_cure(off))
            : NULL;
    free(further);
    free(move);
    return text;
}

/* Which end of an edge is too high and by how much, whatever lies between them. */
static char *rise_words(double off_deg)
{
    const struct quantity off = {off_deg, 0}, span = {10, 0};
    return words(" %s by %.2f mm against its left end on every %g mm between them",
                 off_deg > 0 ? "down" : "up", fabs(station_rise(off, span).value), span.value);
}

/* The cure is the turn against the deviation; off > 0 lies counter-clockwise. */
char *job_cure_words(const struct plan_station *s, double off, double expanded,
                     enum job_script script)
{
    /* one link serves neutral and both ends */
    static const struct {
        const char *order, *means;
    } turns[PLAN_KIND_COUNT] = {
        [PLAN_SQUARE] = {"turn the arm", ""},
        [PLAN_PARALLEL] = {"turn the second arm", ""},
        [PLAN_LEVEL] = {"tilt it", ": looked at with the edge level, its right end has to go"},
        [PLAN_ANGLE] = {"bring the arm", ": at neutral by the link; at an end of the travel by its "
                                         "end point in the radio or another hole in the arm, for "
                                         "the link would move neutral, too"},
    };
    if (s->kind == PLAN_CENTRED)
        return centred_cure(off, expanded, script);
    char *amount = job_value_words(s->kind, fabs(off), expanded, false, script);
    char *rise = s->kind == PLAN_LEVEL ? rise_words(off) : NULL, *text = NULL;
    if (amount && s->kind == PLAN_PAIR)
        text = words("make the first link %s %s, or the second one %s", amount,
                     off > 0 ? "shorter" : "longer", off > 0 ? "longer" : "shorter");
    else if (amount)
        text = words("%s %s %s as seen in the photo%s%s", turns[s->kind].order, amount,
                     order_cure(off), turns[s->kind].means, rise ? rise : "");
    free(rise);
    free(amount);
    return text;
}

char *job_action_words(const struct job_view *view, int station)
{
    bool confirmed = view->plan.stations[station].kind == PLAN_CONFIRM;
    switch (view->standing[station].state) {
    case JOB_ADJUST:
        return strdup(confirmed ? "put it right, then confirm it" : "");
    case JOB_CHECK_AGAIN:
        return strdup(confirmed ? "look again and confirm" : "measure again");
    default:
        return strdup("");
    }
}

char *job_count_words(const struct job_view *view)
{
    static const char *const are[JOB_STATE_COUNT] = {
        [JOB_WAITS] = "waiting",
        [JOB_OPEN] = "to do",
        [JOB_ADJUST] = "to adjust",
        [JOB_CANNOT_TELL] = "undecided",
        [JOB_CHECK_AGAIN] = "to check again",
    };
    int count[JOB_STATE_COUNT] = {0};
    char *text = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    if (!to)
        return NULL;
    for (int i = 0; i < view->plan.count; i++)
        count[view->standing[i].state]++;
    fprintf(to, "%d of %d good", count[JOB_GOOD], view->plan.count);
    for (int s = JOB_STATE_COUNT - 1; s >= 0; s--)
        if (s != JOB_GOOD && count[s])
            fprintf(to, ", %d %s", count[s], are[s]);
    return text_end(to, &text);
}
