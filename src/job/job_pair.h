/* A pair of links from one photo of the card: the ends of both as a person pointed at them. */
#ifndef JOB_PAIR_H
#define JOB_PAIR_H

#include "arithmetic/quantity.h"
#include "vision.h"

struct job_links {
    bool given;
    struct vision_point balls_px[4]; /* ball centres: first link's two, then the second's */
    struct quantity height_mm;       /* of both links in front of the card */
    struct quantity distance_mm;     /* camera to card */
};

/* Whether the photo may be used for lengths on its card, and, unless VISION_OK, why not (*reason).
 * What failed of the card fails, what failed of arms alone does not matter, and a photo that is
 * unsure of anything, or seen too much from the side, is unsure. */
enum vision_status job_pair_status(const struct vision_result *result, enum vision_reason *reason);

/* Lengths of both links as on the card's own plane brought to their height. u of each is such that
 * the difference of the two, taken as independent, has its own true u. result: of the photo; its
 * arms do not matter. NULL, else one sentence (static text) that says what is wrong. */
const char *job_pair_lengths(const struct job_links *links, const struct vision_result *result,
                             struct quantity out_mm[2]);

#endif
