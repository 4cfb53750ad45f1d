/* Link ends on a thread: how far a turn moves them and how many turns a change of length asks for.
 * A longer link is positive: "turn out" unscrews the end and makes the link longer. */
#ifndef THREAD_H
#define THREAD_H

#include <stdbool.h>
#include <stddef.h>

/* What may be written, to follow "write" or "is one such as", without a full stop. */
#define THREAD_WRITTEN                                                                             \
    "M2, \"M3 fine\", M3x0.35, \"0.45 mm\" or \"56 tpi\"; millimetres alone are the pitch, and a " \
    "3 mm "                                                                                        \
    "thread is M3"

/* Pitch in mm from a name as a modeller writes it:
 *   "M2"         ISO metric, coarse pitch          "M3 fine"  the fine pitch, where there is one
 *   "M3x0.35"    ISO metric with its pitch named   "0.45 mm"  a pitch alone
 *   "56 tpi"     threads per inch
 * Blanks and the letter's case do not matter. false (out unchanged) when it cannot be read, or a
 * metric size outside the table has no pitch beside it, or the pitch is coarser than any link's. */
bool thread_pitch(const char *text, double *out_mm);

/* How a link can be made longer or shorter. */
struct thread_ends {
    double pitch_mm;   /* of the end that is turned (0: no thread, the link cannot be turned) */
    double other_mm;   /* pitch of the far end when that may be turned as well; 0 when not */
    double step_turns; /* smallest turn that still fits: 1 whole, 0.5 half; 0 any angle; below 0
                        * not said: then half a turn, any angle for a turnbuckle (common practice,
                        * no source) */
    bool turnbuckle; /* left and right hand: turning the middle moves both ends, twice the pitch */
};

/* What to do for a change of length. */
struct thread_turns {
    double turns;        /* of the end (or the turnbuckle's middle); positive: out, longer */
    double other_turns;  /* of the far end; 0 unless both ends are better than one */
    double exact_turns;  /* of the first end, before rounding */
    double change_mm;    /* what these turns give */
    double remaining_mm; /* wanted minus given */
    double smallest_mm;  /* the smallest change these ends allow; 0 any */
};

/* Why these ends cannot be: a turnbuckle's middle turns both ends at once, and no far end by
 * itself. NULL, else one sentence (static text). */
const char *thread_ends_fault(const struct thread_ends *ends);

/* Change of length per turn, mm: the pitch, or twice the pitch of a turnbuckle. */
double thread_per_turn(const struct thread_ends *ends);

/* The turns that come nearest to change_mm; between equally near ones the fewest turns. The far
 * end is used only when it comes nearer by a quarter of the step that one end alone allows,
 * by more than 3 turns and up to 6 only when that comes nearer by another eighth of it.
 * false when the ends have no usable thread or change_mm is not finite. */
bool thread_turns_for(const struct thread_ends *ends, double change_mm, struct thread_turns *out);

/* Neither end is to be turned. */
bool thread_turns_none(const struct thread_turns *turns);

/* "1 1/2 turns", "1/2 turn", "2 turns", "0.83 turns" for any angle; without a sign. */
void thread_say_turns(double turns, char *text, size_t size);

#endif
