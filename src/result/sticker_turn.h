/* How far cranks turned between photos of their stickers. The direction in which a sticker was
 * glued is in every photo of it and cancels in the difference. */
#ifndef STICKER_TURN_H
#define STICKER_TURN_H

#include "arithmetic/station.h"
#include "vision.h"

#include <jansson.h>

#define STICKER_MAX_PHOTOS 16

struct sticker_photo {
    const char *name;
    const struct vision_result *result; /* of vision_measure_stickers */
};

enum sticker_fault {
    STICKER_FINE,
    STICKER_FEW, /* fewer than two photos, or not all three of a centred station, gave an answer */
    STICKER_OTHERS,  /* the photos were not measured against one and the same thing */
    STICKER_NO_PAIR, /* no sticker shows in every photo that gave an answer */
};

/* One sticker through all photos that gave an answer. Where these are of one camera, what is
 * doubted of its lens turns the sticker in all of them at once and partly cancels in what is told
 * here, or adds up; where photos do not say of which camera they are, the worse of both counts. */
struct sticker_track {
    const char *name;
    bool unsure; /* some photo was */
    /* centred only, for a budget of the offset: u of each photo's direction but for the lens, and
     * of the offset by the lens alone */
    double own_u_deg[3], lens_u_deg;
    struct quantity turns[STICKER_MAX_PHOTOS]; /* since the first of those, degrees; u for 1.96 */
    struct station_centre centre;              /* centred only; likewise */
};

struct sticker_turn {
    enum sticker_fault fault; /* else nothing below is filled but used */
    int used;                 /* photos that gave an answer */
    int photos[STICKER_MAX_PHOTOS];
    bool centred;
    int track_count;
    struct sticker_track tracks[VISION_MAX_ARMS];
};

/* photos: 2 to STICKER_MAX_PHOTOS. centred: three, one end, the other end, neutral. */
void sticker_turn_make(const struct sticker_photo *photos, int count, bool centred,
                       struct sticker_turn *out);

/* What went wrong and what to do: one sentence. */
const char *sticker_fault_says(enum sticker_fault fault);

/* Why a sticker of a centred station tells nothing of a middle: a sentence for the person, naming
 * the first such sticker in *name. NULL where all tell, or no centre was asked for. */
const char *sticker_turn_centre_fault(const struct sticker_turn *turn, const char **name);

/* A line for each turn, and for a centred station the command that tells what to do. The caller's;
 * NULL without memory. */
char *sticker_turn_words(const struct sticker_turn *turn, const struct sticker_photo *photos);
/* {"turned": {...}}, the caller's; NULL without memory. */
json_t *sticker_turn_json(const struct sticker_turn *turn, const struct sticker_photo *photos);

#endif
