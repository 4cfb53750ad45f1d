/* A lens fit in words: how good it is, and which photos are still wanted. */
#ifndef LENS_WORDS_H
#define LENS_WORDS_H

#include "vision.h"

#include <stddef.h>

#define LENS_WORDS 400    /* bytes that hold any sentence */
#define LENS_MAX_WANTED 8 /* wishes at most */

struct lens_wishes {
    char items[LENS_MAX_WANTED][LENS_WORDS];
    int count;
};

/* What further photos would help, the most needed first, each as a phrase such as "one taken from
 * the left, leaning by about 25 degrees". views: those of the fit. */
void lens_wishes_make(const struct vision_card_view *views, int n, enum vision_lens_fault fault,
                      const struct vision_lens_fit *fit, struct lens_wishes *out);

/* Why there is no profile: one sentence, without what further photos are needed. "" for none. */
const char *lens_fault_sentence(enum vision_lens_fault fault);

/* What the profile is worth: one or two sentences. */
void lens_worth(const struct vision_lens_fit *fit, char out[LENS_WORDS]);

#endif
