/* What stands in front of the card: a map of the card's face, cell by cell, in the card frame. */
#ifndef SILHOUETTE_H
#define SILHOUETTE_H

#include "light.h"

/* What the camera makes of a tint after dividing by the light. */
struct tint_look {
    float unit[3];    /* direction in RGB */
    float strength;   /* length of a fully lit tint */
    float spread_rad; /* typical angle of its cells to that direction */
    float pale; /* how far it is from white paper's hue against a full print: 1, less when pale */
    int cells;  /* that carry the estimate; 0: the tint was nowhere seen */
    bool burnt[3]; /* most of it is as bright as the photo can show: less than it should be */
};

enum cell {
    CELL_OFF,     /* beyond the card or the photo */
    CELL_TINT,    /* bare card, or what is behind it in the open slot */
    CELL_PART,    /* something in front */
    CELL_UNKNOWN, /* marker, mark or open slot: cannot tell */
};

struct silhouette {
    double pitch_mm, x0_mm, y0_mm; /* cell (i, j) has its centre at x0 + i pitch, y0 + j pitch, */
    double scale_x, scale_y;       /* in print; times these in true millimetres */
    int width, height;
    uint8_t *cells; /* enum cell, row j = 0 at the bottom */
    struct light light;
    struct tint_look tints[2];
    bool slot_cut;      /* the slot has been cut out: what shows in it is unknown */
    int blind_tint;     /* tint in whose colour the part is; -1: none */
    double blind_share; /* of what is seen over the other tint, in that colour */
    double part_share;  /* of the tellable cells */
};

/* Builds the map from a decoded RGB piece of the photo that covers the card, on so many threads.
 * Returns VISION_REASON_NONE, VISION_BAD_LIGHT or VISION_NO_MEMORY; on failure out is zeroed. */
enum vision_reason silhouette_build(const struct vision_image *image, const struct card_fix *fix,
                                    size_t threads, struct silhouette *out);
void silhouette_clear(struct silhouette *s);

/* Whether the part has the colour of a tint, over which it is then told poorly. Fingers and gold
 * have some of it. */
static inline bool silhouette_is_blind(const struct silhouette *s)
{
    const double much = 0.17;
    return s->blind_tint >= 0 && s->blind_share > much;
}

/* Card points here and below are in true millimetres, the plane's frame. */

/* Class at a card point; CELL_OFF outside the map. */
enum cell silhouette_at(const struct silhouette *s, struct vision_point mm);

/* Linear RGB of bare paper in the light at a card point. Its logarithm is linear in the point, so
 * along a straight line in even steps it changes by the same factor. */
void silhouette_paper(const struct silhouette *s, struct vision_point mm, double out[3]);

/* Index 0 or 1 of the tint at a card point, SILHOUETTE_SLOT in a slot that was cut out, -1 where
 * there is none of these alone within clear_mm. */
enum { SILHOUETTE_SLOT = 2, SILHOUETTE_PAPER, SILHOUETTE_INK };
int silhouette_tint_at(const struct silhouette *s, const struct card_fix *fix,
                       struct vision_point mm, double clear_mm);

/* The same, and SILHOUETTE_PAPER or SILHOUETTE_INK where of a marker these alone lie there. */
int silhouette_print_at(const struct silhouette *s, const struct card_fix *fix,
                        struct vision_point mm, double clear_mm);

/* Whether a card point lies within clear_mm of where two stripes meet. */
bool silhouette_is_at_border(const struct silhouette *s, const struct card_fix *fix,
                             struct vision_point mm, double clear_mm);

#endif
