/* Several photos of one part that was not moved: its arms matched by direction and combined. */
#ifndef TOGETHER_H
#define TOGETHER_H

#include "arithmetic/combine.h"

#include "verdict.h"

#include <jansson.h>

struct together_photo {
    const char *name;
    const struct vision_result *result;
    enum combine_side side;
};

enum together_fault {
    TOGETHER_FINE,
    TOGETHER_FEW,      /* fewer than two photos gave an answer */
    TOGETHER_ONE_SIDE, /* sides were marked, and only one side's photos gave an answer */
    TOGETHER_NO_ARM,   /* no arm shows in as many photos as it takes */
};

struct together_arm {
    struct combined all;
    int photos[COMBINE_MAX_PHOTOS]; /* indexes into the question's photos */
    int photo_count;
};

struct together {
    enum together_fault fault; /* else only the photo counts are filled */
    int photo_count, used;     /* used: photos that were sure of themselves, or all of them when
                                * fewer than two were */
    bool sided;                /* photos are marked with sides */
    bool card_moved;
    bool unsure_photos; /* used although unsure of themselves */
    bool disagree;      /* of any arm, or any of the three below */
    bool turned;        /* both sides are further apart than play is */
    bool backwards;     /* they surely lie beyond each other, which no play does */
    bool other_parts;   /* photos marked with sides show different numbers of arms: */
    int least_arms, most_arms;
    enum vision_reason reason;
    struct lean lean; /* how the card leans; where it moved, what the mean leaves open of that */
    enum lean_answer {
        LEAN_NOT_ASKED, /* no photo looks as if it did, and the photos together do not either */
        LEAN_SO,        /* it leans, and its doing is taken out */
        LEAN_MOULDED,   /* a photo looked so, but the part is made uneven */
        LEAN_OPEN,      /* a photo looks so, and the others cannot tell */
    } leans;
    enum vision_side nearer; /* as seen in the photo shown_in, for LEAN_SO */
    int shown_in;
    int arm_count;
    struct together_arm arms[VISION_MAX_ARMS]; /* "A", "B", ... counter-clockwise */
    int lonely;  /* arms left out: seen in one photo, or from one side, only */
    int crowded; /* arms of single photos left out: each in a direction beyond VISION_MAX_ARMS */
};

/* photos: 2 to COMBINE_MAX_PHOTOS; sides marked on all or none. card_tilt_deg as they were measured
 * with. Arms within 10 degrees of each other are the same one. */
void together_make(const struct together_photo *photos, int count, double card_tilt_deg,
                   bool card_moved, struct together *out);

/* All arms of a part have the same backlash: the best-known one stands for them. NULL: none. */
const struct combined *together_backlash(const struct together *together);

/* What went wrong and what to do: one sentence, for out->fault. */
const char *together_fault_says(enum together_fault fault);

/* The answer in a sentence or two, on the arm of verdict. The string is the caller's; NULL without
 * memory. */
char *together_message(const struct together *together, const struct together_photo *photos,
                       const struct verdict *verdict);
/* The lines below it: the arms but the one told of already (an index), agreement, lean, backlash,
 * what was assumed. Likewise. */
char *together_details(const struct together *together, const struct together_photo *photos,
                       int told);

/* {"together": {...}}, owned by the caller; NULL without memory. verdict as above. */
json_t *together_json(const struct together *together, const struct together_photo *photos,
                      const struct verdict *verdict);

#endif
