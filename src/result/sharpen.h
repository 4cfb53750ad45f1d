/* What would make a measured angle surer, and by how much: from its budget. */
#ifndef SHARPEN_H
#define SHARPEN_H

#include "vision.h"

#include <stdbool.h>

enum sharpen_way {
    SHARPEN_TOGETHER, /* three photos put together, from about the same side */
    SHARPEN_CLOSER,   /* the card fills the photo */
    SHARPEN_SQUARER,  /* SHARPEN_SQUARE_DEG aslant */
    SHARPEN_FLATTER,  /* a card that lies flat */
    SHARPEN_WAY_COUNT
};

#define SHARPEN_SQUARE_DEG 5.0 /* what a hand manages when told to hold the phone square on */

struct sharpen_question {
    const struct vision_arm *arm; /* as measured, or the mean of several photos */
    double obliquity_deg;
    double closer;    /* how many times larger the card could be in the photo; 1: not at all */
    bool is_together; /* more photos are no news */
    double off_deg;   /* deviation that is judged */
    double tolerance_deg;
};

struct sharpen_step {
    enum sharpen_way way;
    double expanded_deg; /* U after it, all else as it is */
    bool settles;        /* the same deviation would then be accepted or rejected */
};

/* The ways that gain 3 % or more, most gain first. Returns how many. all gets U and settles of all
 * of them at once. */
int sharpen_steps(const struct sharpen_question *question,
                  struct sharpen_step out[SHARPEN_WAY_COUNT], struct sharpen_step *all);

/* Whether better photos may well settle what cannot be told with U expanded_deg: by the same
 * deviation, or as they will tell another one, where this U is more than the tolerance and theirs
 * would not be. all: of sharpen_steps(), which found a way. */
bool sharpen_may_settle(const struct sharpen_step *all, double expanded_deg, double tolerance_deg);

/* "closer, so that the card fills the photo" and so on: what to do. Static text. */
const char *sharpen_says(enum sharpen_way way);

#define SHARPEN_ALL_WORDS 96 /* bytes */
/* Of n steps, one at least: whether the best of them is enough where they are to settle the same
 * deviation. If not, all are to be taken at once: sharpen_all(), "closer, squarer on and three
 * photos with measure --together". Returns out. */
bool sharpen_one_settles(const struct sharpen_step *steps, int n);
const char *sharpen_all(const struct sharpen_step *steps, int n, char out[SHARPEN_ALL_WORDS]);

/* How much larger a photo of this result could show the card, at least 1; the program uses no more
 * than 36 pixels a millimetre. */
double sharpen_closer(const struct vision_result *result);

#endif
