/* Ray-traced series of hidden cranks (tests/scenes, "make_photos --stickers") with their truth:
 * three photos each, measured as the program measures them, and how far each answer is off. */
#ifndef STICKER_SERIES_H
#define STICKER_SERIES_H

#include "result/sticker_turn.h"
#include "vision.h"

#include <stdbool.h>
#include <stddef.h>

enum { SERIES_ONE_END, SERIES_OTHER_END, SERIES_NEUTRAL, SERIES_SHOTS };
/* What a series tells: from neutral to each end, and how far neutral lies off their middle. */
enum { SERIES_FIRST_THROW, SERIES_SECOND_THROW, SERIES_OFFSET, SERIES_TOLD };

struct sticker_series {
    int number;
    char folder[480], set[8], sticker[8], fixed[24];
    bool by_card, boom, shaded, raking, shiny;
    double steepest_deg; /* view of its photos */
    char photos[SERIES_SHOTS][96];
    double turned_deg[SERIES_SHOTS]; /* truth */
    double lean_deg;                 /* truth: the sticker on the crank, and the crank's own */
    struct vision_result results[SERIES_SHOTS];
    struct sticker_turn turn;
    bool ok, unsure; /* neither: no answer */
    struct quantity told[SERIES_TOLD];
    double error_deg[SERIES_TOLD]; /* NAN without an answer */
    bool silent_wrong;
};

/* All series of a folder by number, not yet measured. NULL, with a message on stderr, when the
 * folder or a truth cannot be read or a series is not whole. Free with free(). */
struct sticker_series *sticker_series_read(const char *folder, size_t *count);
/* Measures and judges them, on every processor. */
void sticker_series_measure(struct sticker_series *series, size_t count);

#endif
