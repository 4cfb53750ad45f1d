/* The arms in a photo, for commands that advise on them. */
#ifndef PHOTO_ARMS_H
#define PHOTO_ARMS_H

#include "measure_options.h"
#include "vision.h"

/* Measures a photo as the words ask. NULL when out is ok or unsure and has at least one arm;
 * otherwise one sentence (static text) that says what is wrong and what to do. Safe from several
 * threads. */
const char *photo_arms_measure(const char *path, const struct measure_words_given *given,
                               struct vision_result *out);

/* What keeps a measured photo from telling of arms, as above; NULL when nothing does. A result
 * without arms then says that it failed. */
const char *photo_arms_fault(struct vision_result *result);

/* Whether two photos may show one part: as many arms, seen at all, and the arms followed about as
 * long. */
struct arm_shown {
    int arms;         /* that the photo shows, measured or not; 0: not known */
    double length_mm; /* of the arm followed */
};
struct arm_shown photo_arm_shown(const struct vision_result *result, int arm);
bool photo_arms_may_be_one(const struct arm_shown *a, const struct arm_shown *b);

/* Index of the arm a person named, in capitals or not; -1 when the photo shows none of that name.
 */
int photo_arms_find(const struct vision_result *result, const char *name);

#define PHOTO_PATH 4096
/* "photo.jpg" or "photo.jpg:B" taken apart; *arm, what stands behind the colon, lies in word, and
 * is "" for the first arm. false when the path is too long for any file. */
bool photo_arms_word(const char *word, char path[PHOTO_PATH], const char **arm);
/* A file that is there, or what is written like the name of one: with a folder or a suffix. */
bool photo_arms_like_file(const char *path);

/* Says on stderr why the photo cannot be used and returns the exit status. */
int photo_arms_refuse(const char *path, const struct vision_result *result, const char *sentence);
/* The same with, as JSON, the failed answer that measure gives on stdout. */
int photo_arms_refuse_answer(const char *path, const struct vision_result *result,
                             const char *sentence, bool as_json);
/* The same of an arm that is named and not there: first and last name those that are. What a photo
 * shows is no matter of words, so this is EXIT_UNUSABLE. as_json: see answer_refuse(). */
int photo_arms_missing(const char *path, const char *first, const char *last, const char *name,
                       bool as_json);

#endif
