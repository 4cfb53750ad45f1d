/* Angles of the linkage modes, each a number or a photo. */
#ifndef LINKAGE_ANGLE_H
#define LINKAGE_ANGLE_H

#include "linkage_option.h"
#include "measure_options.h"
#include "quantity.h"
#include "vision.h"

/* How photos are to be measured, and which of those measured so far were unsure: their angles may
 * be shown, but nothing is to be decided on them. */
struct linkage_photos {
    struct measure_words_given given;
    int unsure_count;
    struct linkage_unsure {
        const char *word; /* as given on the command line */
        enum vision_reason reason;
    } unsure[LINKAGE_OPTION_MOST];
};
struct linkage_photos linkage_photos_start(void);

#define LINKAGE_PHOTO_SAYS 400
/* What the reason means, for someone who gave the photo to linkage. Returns text. */
const char *linkage_photo_says(enum vision_reason reason, char text[LINKAGE_PHOTO_SAYS]);

/* An angle from a word: a number such as "91.3 u 0.2", or a photo of the part before the card,
 * "photo.jpg", with ":B" behind it for another arm than the first; an unsure one is added to
 * photos, which borrows the word. Returns EXIT_DONE, EXIT_USAGE for a word that is neither,
 * EXIT_UNUSABLE for a photo that gives no angle; the message is out. */
int linkage_angle_read(const char *word, struct linkage_photos *photos, struct quantity *out);

/* Refuses words of linkage_angle_read of which two mean the same arm of the same photo: compared
 * with itself an arm agrees, whatever it is like. EXIT_DONE, or EXIT_USAGE after a message. */
int linkage_angles_differ(const char *const *words, int n);

#endif
