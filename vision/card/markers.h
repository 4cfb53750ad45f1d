/* From a photo to the card's plane: markers found coarsely, their corners refined finely. */
#ifndef MARKERS_H
#define MARKERS_H

#include "plane.h"
#include "vision.h"

#define MARKERS_MAX_CORNERS (4 * VISION_CARD_MAX_MARKERS)

struct card_fix {
    const struct vision_card *card;
    int markers; /* that carry the plane */
    int which[VISION_CARD_MAX_MARKERS];
    struct vision_point corners_px[MARKERS_MAX_CORNERS]; /* four of each of these markers */
    struct vision_plane plane;
    double bar_scale_x, bar_scale_y;
    double swell_mm; /* how far each side of a printed square lies outside its nominal place */
};

/* Half of what a marker takes of the card's face, its white quiet zone included. */
static inline double markers_half_mm(const struct vision_card *card)
{
    return card->marker_mm * (0.5 + 1.0 / 8);
}

/* Whether one of the card's markers, by its index, carries the plane. */
static inline bool markers_was_read(const struct card_fix *fix, int marker)
{
    for (int i = 0; i < fix->markers; i++)
        if (fix->which[i] == marker)
            return true;
    return false;
}

/* The marker of the card, by its index, whose square or white rim lies within clear_mm of a place
 * on the card; -1: none. */
int markers_at(const struct card_fix *fix, struct vision_point mm, double clear_mm);

enum markers_effort {
    MARKERS_QUICK,    /* finds what is plain to see, in a third of the time */
    MARKERS_THOROUGH, /* small markers, and those in uneven light, as well */
};

/* Finds a card in a grey picture of the whole photo. Corners are good to about a picture pixel.
 * Returns VISION_REASON_NONE, VISION_NO_CARD, VISION_FEW_MARKERS, VISION_MIXED_CARDS,
 * VISION_BENT_CARD, VISION_DRAWN_PHOTO or VISION_NO_MEMORY; with VISION_FEW_MARKERS out->card is
 * set when one marker at least was seen. */
enum vision_reason markers_find(const struct vision_image *grey, enum markers_effort effort,
                                const struct vision_options *options, struct card_fix *out);

/* Where corner k (clockwise from the top left) of marker i of fix->which was printed, as far as its
 * swelling is known. */
struct vision_point markers_corner_mm(const struct card_fix *fix, int i, int k);

/* Refines every marker corner on a finer picture by intersecting straight lines fitted to the
 * sides of its black square, and fits the plane anew with what is unknown of the lens. Ink spreads
 * and cameras sharpen: that all squares are a little larger or smaller than drawn is one more
 * unknown. Returns VISION_REASON_NONE, VISION_FEW_MARKERS or VISION_BENT_CARD. */
enum vision_reason markers_refine(const struct vision_image *image, const struct plane_lens *lens,
                                  struct card_fix *fix);

/* The mean side of a marker with these corners, going round. */
double markers_side_px(const struct vision_point corners_px[4]);

#define MARKERS_MAX_STICKERS 10 /* room for each there is (card.c sees to it) once */

/* A sticker in a photo. */
struct sticker_fix {
    const struct vision_sticker *sticker;
    struct vision_point corners_px[4]; /* clockwise from the top left of the upright marker */
    double sigma_px;                   /* standard uncertainty of a coordinate; 0 until refined */
    bool uneven_light; /* too small for what that does to be told: corners may be off by more */
};

/* Finds every sticker in a grey picture of the whole photo, corners good to about a picture pixel.
 * One that is seen twice in one place comes once; *twice tells that a name stands in two places.
 * Returns VISION_REASON_NONE, even when there are none, or VISION_NO_MEMORY. */
enum vision_reason markers_find_stickers(const struct vision_image *grey,
                                         enum markers_effort effort,
                                         struct sticker_fix out[MARKERS_MAX_STICKERS], int *count,
                                         bool *twice);

/* Refines its corners as markers_refine does, bending straight lines as the lens does. false when
 * a side cannot be followed; the corners are then unchanged. */
bool markers_refine_sticker(const struct vision_image *image, const struct plane_lens *lens,
                            struct sticker_fix *fix);

#endif
