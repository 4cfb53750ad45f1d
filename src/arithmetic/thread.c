#include "thread.h"

#include "inch.h"
#include "number.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* ISO 261, first and second choice sizes up to what links are made of; the pitches of M1.6 to M3
 * were compared with a published chart of the standard, the others are from memory of it. */
static const struct {
    double diameter_mm, coarse_mm, fine_mm;
} sizes[] = {
    {1.0, 0.25, 0.2}, {1.2, 0.25, 0.2},  {1.4, 0.3, 0.2},   {1.6, 0.35, 0.2}, {1.8, 0.35, 0.2},
    {2.0, 0.4, 0.25}, {2.2, 0.45, 0.25}, {2.5, 0.45, 0.35}, {3.0, 0.5, 0.35}, {3.5, 0.6, 0.35},
    {4.0, 0.7, 0.5},  {5.0, 0.8, 0.5},   {6.0, 1.0, 0.75},  {8.0, 1.25, 1.0},
};

/* Coarser than any link's: M8, the largest in the table, has 1.25 mm, M10 1.5 mm (ISO 261). "3 mm"
 * means M3, whose pitch is a sixth of that. */
#define LARGEST_PITCH_MM 1.5
#define FAR_TURNS 3.0      /* of the far end, each way: as far as anyone goes gladly */
#define MOST_FAR_TURNS 6.0 /* as far as for what comes clearly nearer; beyond, thread runs out */
#define MOST_TURNS 1000.0  /* a link end has far fewer threads than this */

static bool pitch_of_size(double diameter_mm, bool fine, double *out_mm)
{
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        double pitch = fine ? sizes[i].fine_mm : sizes[i].coarse_mm;
        if (fabs(sizes[i].diameter_mm - diameter_mm) < 1e-9 && pitch > 0) {
            *out_mm = pitch;
            return true;
        }
    }
    return false;
}

static bool keep_pitch(double pitch_mm, double *out_mm)
{
    if (!(pitch_mm > 0) || !(pitch_mm <= LARGEST_PITCH_MM))
        return false;
    *out_mm = pitch_mm;
    return true;
}

/* "M3", "M3x0.35" or "M3fine", without blanks and in small letters; text stands after the m. */
static bool metric_pitch(const char *text, double *out_mm)
{
    double diameter, pitch;
    if (!number_take(&text, &diameter) || !(diameter > 0))
        return false;
    if (*text == '\0' || strcmp(text, "coarse") == 0)
        return pitch_of_size(diameter, false, out_mm);
    if (strcmp(text, "fine") == 0)
        return pitch_of_size(diameter, true, out_mm);
    return *text == 'x' && number_parse(text + 1, &pitch) && pitch < diameter &&
           keep_pitch(pitch, out_mm);
}

bool thread_pitch(const char *text, double *out_mm)
{
    char word[32];
    size_t used = 0;
    for (; *text; text++) {
        if (isspace((unsigned char)*text))
            continue;
        if (used + 1 >= sizeof word)
            return false;
        word[used++] = (char)tolower((unsigned char)*text);
    }
    word[used] = '\0';
    if (word[0] == 'm')
        return metric_pitch(word + 1, out_mm);
    const char *unit = word;
    double number;
    if (!number_take(&unit, &number) || !(number > 0))
        return false;
    if (strcmp(unit, "mm") == 0)
        return keep_pitch(number, out_mm);
    if (strcmp(unit, "tpi") == 0)
        return keep_pitch(MM_PER_INCH / number, out_mm);
    return false;
}

const char *thread_ends_fault(const struct thread_ends *ends)
{
    if (ends->turnbuckle && ends->other_mm > 0)
        return "a turnbuckle turns both its ends at once, with one pitch: leave out the far "
               "thread, "
               "or the turnbuckle.";
    return NULL;
}

double thread_per_turn(const struct thread_ends *ends)
{
    return ends->turnbuckle ? 2 * ends->pitch_mm : ends->pitch_mm;
}

static double step_of(const struct thread_ends *ends)
{
    if (ends->step_turns >= 0)
        return ends->step_turns;
    return ends->turnbuckle ? 0 : 0.5;
}

/* Half way between two steps: the one with fewer turns, which leaves no more and is less to do. */
static double round_to_step(double turns, double step)
{
    if (!(step > 0))
        return turns;
    return copysign(step * ceil(fabs(turns) / step - 0.5 - 1e-9), turns) + 0.0; /* never -0 */
}

/* Turns of the first end once the far end has been turned. */
static void try_far_turns(const struct thread_ends *ends, double change_mm, double far_turns,
                          double share, struct thread_turns *best)
{
    double step = step_of(ends);
    double given_far = far_turns * ends->other_mm;
    double turns = round_to_step((change_mm - given_far) / ends->pitch_mm, step);
    double given = turns * ends->pitch_mm + given_far;
    double gain = fabs(best->remaining_mm) - fabs(change_mm - given);
    bool fewer = fabs(turns) + fabs(far_turns) < fabs(best->turns) + fabs(best->other_turns);
    double worth = fmax(step * ends->pitch_mm * share, 1e-9);
    if (!(gain > worth || (best->other_turns != 0 && fewer && gain > -1e-9)))
        return;
    best->turns = turns;
    best->other_turns = far_turns;
    best->change_mm = given;
    best->remaining_mm = change_mm - given;
}

bool thread_turns_for(const struct thread_ends *ends, double change_mm, struct thread_turns *out)
{
    double per_turn = thread_per_turn(ends), step = step_of(ends);
    if (!(per_turn > 0) || !isfinite(change_mm) || !(fabs(change_mm / per_turn) <= MOST_TURNS))
        return false;
    double exact = change_mm / per_turn;
    double turns = round_to_step(exact, step);
    *out = (struct thread_turns){
        .turns = turns,
        .exact_turns = exact,
        .change_mm = turns * per_turn,
        .remaining_mm = change_mm - turns * per_turn,
        .smallest_mm = step * per_turn,
    };
    /* Two different pitches in steps: a few turns of the one against the other reach lengths
     * between the steps of either. */
    if (ends->other_mm > 0 && !ends->turnbuckle && step > 0)
        for (int i = -(int)(FAR_TURNS / step); i <= (int)(FAR_TURNS / step); i++)
            try_far_turns(ends, change_mm, i * step, out->other_turns == 0 ? 1.0 / 4 : 0, out);
    if (ends->other_mm > 0 && !ends->turnbuckle && step > 0)
        for (int i = (int)(FAR_TURNS / step) + 1; i <= (int)(MOST_FAR_TURNS / step); i++) {
            try_far_turns(ends, change_mm, i * step, 1.0 / 8, out);
            try_far_turns(ends, change_mm, -i * step, 1.0 / 8, out);
        }
    return true;
}

bool thread_turns_none(const struct thread_turns *turns)
{
    return fabs(turns->turns) < 1e-9 && fabs(turns->other_turns) < 1e-9;
}

/* Fractions that a person turns by eye; anything else is said in hundredths. */
static const struct {
    double part;
    const char *text;
} parts[] = {
    {0, ""},      {1.0 / 6, "1/6"}, {0.25, "1/4"}, {1.0 / 3, "1/3"},
    {0.5, "1/2"}, {2.0 / 3, "2/3"}, {0.75, "3/4"}, {5.0 / 6, "5/6"},
};

void thread_say_turns(double turns, char *text, size_t size)
{
    double whole = floor(fabs(turns) + 1e-9);
    double part = fabs(turns) - whole;
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        if (fabs(part - parts[i].part) > 1e-6)
            continue;
        if (whole == 0 && i > 0)
            snprintf(text, size, "%s turn", parts[i].text);
        else
            snprintf(text, size, "%.0f%s%s turn%s", whole, i ? " " : "", parts[i].text,
                     whole == 1 && i == 0 ? "" : "s");
        return;
    }
    snprintf(text, size, "%.2f turns", fabs(turns));
}
