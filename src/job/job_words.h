/* Sentences about a job for a person: what was found, why to check again, what to do. */
#ifndef JOB_WORDS_H
#define JOB_WORDS_H

#include "job_store.h"

/* How units and signs are written. */
enum job_script {
    JOB_TEXT, /* "+0.3 ± 0.2 degrees" for terminals, with commands that name the job's file */
    JOB_DATA, /* the same without such commands, for what is to be the same wherever it is kept */
    JOB_PAGE, /* "+0.3° ± 0.2°" for pages */
};

/* Each answers a string that the caller frees, NULL when out of memory. */

/* What was measured has the decimals that its expanded uncertainty warrants (plus_minus.h), here as
 * in the pictures. "+0.3 ± 0.2 degrees": what was found, with that uncertainty in the unit of kind.
 */
char *job_number_words(enum plan_kind kind, double value, double expanded, enum job_script script);
/* "+0.3 ± 0.4 degrees": how far off what a station asks something lies, in digits that decide as it
 * was decided. */
char *job_deviation_words(const struct plan_station *station, double off, double expanded,
                          enum job_script script);
/* "0.3 ± 0.2 degrees": its size alone, without a sign. */
char *job_size_words(enum plan_kind kind, double value, double expanded, enum job_script script);
/* "-90.3 ± 0.2 degrees": a reading as it was taken, whose sign is its own and no direction. */
char *job_reading_words(enum plan_kind kind, double value, double expanded, enum job_script script);
/* The value without its "±", "0.3 degrees"; one decimal where expanded is NAN. signed_too writes a
 * plus. */
char *job_value_words(enum plan_kind kind, double value, double expanded, bool signed_too,
                      enum job_script script);
/* What somebody asked for, as it was entered: "0.5 degrees", "0.15 degrees". */
char *job_given_words(enum plan_kind kind, double value, bool signed_too, enum job_script script);
/* An expanded uncertainty that is to be reached, "0.42 degrees", rounded as plus_minus.h has it. */
char *job_expanded_words(enum plan_kind kind, double expanded, enum job_script script);
/* How far a station moved, in figures that are rounded already (job_compare.h). */
char *job_moved_words(enum plan_kind kind, double moved, double expanded, int decimals,
                      enum job_script script);
/* Takes the words of what was measured and, where the measurement is not sure of itself, says so:
 * "unsure, seems +7.3 ± 0.3 degrees". NULL stays, and without memory text is freed. */
char *job_sure_words(char *text, bool sure);
/* What was found at a station: a number, "confirmed", "does not hold"; "" when not done. Angles
 * (PLAN_ANGLE) as found, all others as the deviation. As job_sure_words() has it. */
char *job_found_words(const struct job_view *view, int station, enum job_script script);
/* The same in words: of what was measured, how far it lies from what is asked and to which side
 * (job_off_words, job_sure_words). */
char *job_lies_words(const struct job_view *view, int station, enum job_script script);
/* How far what was measured lies from what is asked, and to which side: "0.1 ± 0.2 degrees
 * clockwise of square to the link" (reference_to); "0.02 ± 0.03 mm, the first link longer". */
char *job_off_words(const struct plan_station *station, const struct job_event *event,
                    enum job_script script);
/* Takes the words of a figure and, where it is told from something else than square usually is,
 * says so: "+0.3 ± 0.2 degrees, to the link". NULL stays, and without memory text is freed. */
char *job_against_words(char *text, enum plan_kind kind, enum vision_reference_kind reference);
/* What the deviation is told from: "square", "the first arm"; "" for an angle that the plan names,
 * link pairs and confirmations. */
const char *job_zero_words(enum plan_kind kind);
/* What a station of this kind takes on the command line; words in capitals are the person's. */
struct job_takes {
    const char *command; /* behind the station in the command that does it: " PHOTO" */
    const char *photos;  /* "a photo"; NULL for confirmations, as what follows */
    const char *numbers; /* "--angle DEG" */
    const char *means;   /* the same of what several photos come to; NULL for link pairs, too */
};
const struct job_takes *job_takes(enum plan_kind kind);
/* What is asked: "square, within 0.5 degrees". */
char *job_asked_words(const struct plan_station *station, enum job_script script);
/* Why a station is to be checked again, or what a confirmation was found not to hold for, a
 * sentence; "" when neither is so. */
char *job_why_words(struct job *job, const struct job_view *view, int station,
                    enum job_script script);
/* What to do at the bench now, in words for job_sentence(); "" when there is nothing, it cannot be
 * told yet (job_undecided_words), or something is to be moved (job_drive_words). */
char *job_action_words(const struct job_view *view, int station);
/* How a station that lies so far off is brought to what is asked, in words for job_sentence(). */
char *job_cure_words(const struct plan_station *station, double off, double expanded,
                     enum job_script script);
/* "5 of 14 good, 1 to check again, 8 waiting". */
char *job_count_words(const struct job_view *view);

/* What to do where an arm lies half way between two squares. */
#define JOB_BRING_NEAR "Bring it near the one that is meant by eye, then measure again."

/* What the sign of a figure in JOB_TEXT means. */
#define JOB_SIGNS_MEAN                                                                             \
    "+ is counter-clockwise, - clockwise, as seen in the photo; of links, + is the first longer."

/* Takes text that the caller owns and makes it a sentence: a capital, a full stop. "" and NULL
 * stay. NULL without memory; text is then freed. */
char *job_sentence(char *text);

#endif
