/* Angles of the linkage modes, each a number or a photo. */
#ifndef LINKAGE_ANGLE_H
#define LINKAGE_ANGLE_H

#include "arithmetic/quantity.h"
#include "linkage_option.h"
#include "measure/measure_options.h"
#include "measure/photo_arms.h"
#include "measure/same_photo.h"
#include "result/verdict.h"
#include "vision.h"

#define LINKAGE_MOST_READINGS (LINKAGE_OPTION_MOST + 3) /* of "centre" with all its --at */

#define LINKAGE_MOST_UNSURE (2 * LINKAGE_MOST_READINGS) /* by itself, and beside the first */

/* Where they are kept: the caller's, as long as any linkage_photos of them. */
struct linkage_photos_room {
    struct linkage_reading {
        const char *word; /* as given on the command line */
        struct photo_trace trace;
        struct vision_arm arm;
        double obliquity_deg, closer; /* as in sharpen_question */
        struct arm_shown shown;
        bool pointed, chosen; /* the word points at the arm; it neither does nor names it */
    } readings[LINKAGE_MOST_READINGS];
    struct linkage_unsure {
        const char *word; /* as given on the command line */
        enum vision_reason reason;
        const char *unlike; /* not NULL: it shows another part than this photo, as given */
    } unsure[LINKAGE_MOST_UNSURE];
};

/* How photos are to be measured, which arms were so far, which photos were unsure, and whether an
 * angle came without its uncertainty: those may be shown, but nothing is to be decided on them. */
struct linkage_photos {
    struct measure_words_given given;
    int reading_count;
    struct linkage_reading *readings; /* borrowed, as unsure is */
    int unsure_count;
    struct linkage_unsure *unsure;
    const char *bare; /* the first number without an uncertainty, as given; NULL for none */
    double share;     /* U of what is off where that of each angle is 1; 0 where there is one */
};
/* Whether something may be accepted or rejected by these angles. */
bool linkage_photos_decide(const struct linkage_photos *photos);
struct linkage_photos linkage_photos_start(struct linkage_photos_room *room);
/* Those read since photos was as in before, to be judged alone. Only to look at: what is read next
 * goes to photos, to be held against all of them. */
struct linkage_photos linkage_photos_since(const struct linkage_photos *photos,
                                           const struct linkage_photos *before);

#define LINKAGE_PHOTO_SAYS 400
/* Why the photo is unsure, for someone who gave it to linkage. Returns text. */
const char *linkage_unsure_says(const struct linkage_unsure *unsure, char text[LINKAGE_PHOTO_SAYS]);
/* The same for programs: the code of vision's reason, or "different-parts". */
const char *linkage_unsure_code(const struct linkage_unsure *unsure);

/* Whether two words, as given on the command line, name one photo. */
bool linkage_words_same_photo(const char *one, const char *other);

/* For a mode whose photos all show one part: of the readings from the one given on, one that hardly
 * does, beside the first of all, is unsure. */
void linkage_photos_of_one_part(struct linkage_photos *photos, int from);

/* An angle from a word: a number such as "91.3 u 0.2", or a photo of the part before the card,
 * "photo.jpg", with ":B" behind it for the arm of that name, or ":X,Y,X,Y", its hub and tip in
 * photo pixels, for the one pointed at. Of several arms none of which is named it is the one that
 * measure would judge, asked so: verdict_arm(); asked NULL: the first. photos borrows the word.
 * Returns EXIT_DONE; EXIT_USAGE for a word that is neither, an angle beyond LINKAGE_MOST_DEG, or an
 * arm that photos has had from the same photo; EXIT_UNUSABLE for a photo that gives no angle. The
 * message is out. */
int linkage_angle_read(const char *word, const struct verdict_asked *asked,
                       struct linkage_photos *photos, struct quantity *out);

/* What to do about an arm of which they cannot tell whether it is within the tolerance, a sentence
 * to follow "Do: ": what measure says of it where one photo alone tells how far it is off. nearer:
 * turning it back is a way out, too. */
void linkage_photos_undecided(const struct linkage_photos *photos, struct quantity off,
                              double tolerance_deg, bool nearer, char *text, size_t size);

/* " C" where the only photo's arm was chosen among several, to stand behind "arm"; else "". */
const char *linkage_photos_arm(const struct linkage_photos *photos, char text[8]);
/* "In star.jpg this is arm C, one of 6; for another write :A behind the photo's name." of reading
 * i, where its arm was chosen among several. The caller's; NULL where it was not, or without
 * memory. */
char *linkage_photos_chosen(const struct linkage_photos *photos, int i);

#endif
