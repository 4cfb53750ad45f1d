/* Words of the linkage modes: options in tables, and values that may be negative numbers ("-3 deg"
 * is a value here, never a row of one-letter options). */
#ifndef LINKAGE_OPTION_H
#define LINKAGE_OPTION_H

#include "measure_options.h"
#include "quantity.h"
#include "vision.h"

#include <stdbool.h>
#include <stddef.h>

enum linkage_option_type {
    OPTION_QUANTITY, /* struct quantity, of the kind given */
    OPTION_POSITIVE, /* struct quantity above 0, of the kind given */
    OPTION_NUMBER,   /* double, of the kind given, without uncertainty */
    OPTION_SIZE,     /* the same, not negative */
    OPTION_TEXT,     /* const char *, borrowed from argv */
    OPTION_FLAG,     /* bool */
    OPTION_THREAD,   /* double, pitch in mm */
    OPTION_STEP,     /* double, turns */
    OPTION_PHOTO,    /* struct measure_words_given: how photos are to be measured */
    OPTION_LIST,     /* struct linkage_option_list: may be given several times */
};

#define LINKAGE_OPTION_MOST 64
#define LINKAGE_PHOTO_SAYS 400
struct linkage_option_list {
    int count;
    const char *items[LINKAGE_OPTION_MOST];
};

struct linkage_option {
    const char *name; /* without the dashes */
    enum linkage_option_type type;
    enum quantity_kind kind;
    void *to;
};

/* Reads "--name VALUE", "--name=VALUE" and "-o FILE" into the table; everything else goes to
 * values. Returns EXIT_DONE, or another status after a message. help is set by -h or --help. */
int linkage_options_read(int argc, char **argv, const struct linkage_option *table, size_t n,
                         struct linkage_option_list *values, bool *help);

/* The same, and answers -h and --help with the text given. true: the mode goes on. false: it ends
 * here, with *status. */
bool linkage_options_begin(int argc, char **argv, const struct linkage_option *table, size_t n,
                           struct linkage_option_list *values, const char *help_text, int *status);

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
