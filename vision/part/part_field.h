/* The silhouette with small holes filled, and how deep in it each place lies: what every search for
 * hubs, arms, links and discs works on. Points and lengths in true millimetres, the card's frame.
 */
#ifndef PART_FIELD_H
#define PART_FIELD_H

#include "silhouette/silhouette.h"

/* A thick place: hub, joint, disc, fingertip. */
struct lump {
    struct vision_point at_mm;
    double radius_mm; /* of the largest circle about it that is all part */
};

#define PART_FIELD_MIN_LUMP_MM 1.7 /* radius; the smallest tail cranks have hubs of 4 mm across */
#define PART_FIELD_MAX_LUMPS 24

struct part_field {
    const struct silhouette *s;
    uint8_t *solid;  /* 1 where the part is, holes filled */
    float *depth_mm; /* distance to the nearest cell that is not solid */
    /* The thickest places, thickest first, each claiming what lies within its radius. */
    struct lump lumps[PART_FIELD_MAX_LUMPS];
    int lump_count;
};

/* NULL when memory is short. Borrows the silhouette, which must outlive it. */
struct part_field *part_field_new(const struct silhouette *s);
void part_field_free(struct part_field *field);

/* A straight way through the map: where it starts, in cells from the map's corner, and how far one
 * millimetre along it leads. */
struct part_way {
    double i, j, di, dj;
};

struct part_way part_field_way(const struct part_field *f, double x_mm, double y_mm, double dx,
                               double dy);

/* The cell t_mm along the way; -1 off the map. */
static inline long part_field_along(const struct part_field *f, const struct part_way *way,
                                    double t_mm)
{
    double i = way->i + t_mm * way->di, j = way->j + t_mm * way->dj;
    if (!(i >= 0 && j >= 0 && i < f->s->width && j < f->s->height))
        return -1;
    return (long)j * f->s->width + (long)i;
}

/* The cell at a point; -1 off the map. */
long part_field_index(const struct part_field *f, double x_mm, double y_mm);
/* Off the card, or at its very edge. */
bool part_field_off(const struct part_field *f, double x_mm, double y_mm);
/* Cannot tell: off the card, or on a marker. */
bool part_field_blind(const struct part_field *f, double x_mm, double y_mm);

/* How far the part reaches from a point in a direction: up to the first gap wider than gap_mm. */
double part_field_reach_over(const struct part_field *f, struct vision_point from, double rad,
                             double gap_mm);
/* The same up to a gap wider than dirt and noise make. */
double part_field_reach(const struct part_field *f, struct vision_point from, double rad);

/* Distance from a point to the end of the solid part along (dx, dy), of length 1; limit_mm when
 * there is none. */
double part_field_walk_out(const struct part_field *f, double x, double y, double dx, double dy,
                           double limit_mm);

/* All round a place, ray k looks in the direction k 2 pi / PART_FIELD_RAYS. */
#define PART_FIELD_RAYS 360

/* Whether a place lies at the card's rim: things that reach in from outside, fingers and frames,
 * are thickest there. */
bool part_field_at_rim(const struct card_fix *fix, const struct lump *place);

#endif
