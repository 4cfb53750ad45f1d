/* A bar of the silhouette that leaves a place: arm, rod or slot, its sides roughly. Card frame. */
#ifndef BAR_H
#define BAR_H

#include "part.h"

#define BAR_MAX_WIDTH_MM 12.0
#define BAR_MIN_BODY_MM 2.5

/* Directions in which the part reaches beyond a place, into out; their number. */
int bar_directions(const struct part_field *f, const struct lump *place,
                   double out[PART_FIELD_RAYS]);

/* Lays a bar's axis along the middle of its body, from about where direction_rad and offset_mm of
 * *bar say, and measures it beyond from_mm from the place. false when there is none. */
bool bar_align(const struct part_field *f, struct vision_point place_mm, double from_mm,
               struct part_arm *bar);

/* How thick the part is, as a radius, at its thickest along a bar's axis between two distances from
 * the place. */
double bar_thickest(const struct part_field *f, struct vision_point place_mm,
                    const struct part_arm *bar, double from_mm, double to_mm);

/* The thickest place within reach of a bar's far end: where ball or clevis sits. false when it is
 * too thin for one. */
bool bar_end_lump(const struct part_field *f, struct vision_point place_mm,
                  const struct part_arm *bar, struct lump *out);

/* Whether a bar goes on beyond where it was lost, as a rod does that a marker breaks into pieces:
 * much of the way from there to the card's edge is part, as broad as the bar. */
bool bar_runs_on(const struct part_field *f, struct vision_point place_mm,
                 const struct part_arm *bar);

/* Where a bar runs onto a marker that was read, it ends in the marker's white rim: nothing lies on
 * the marker itself. On one that was not read its end may be seen in pieces only. Settles
 * bar->covered_end by that. */
void bar_look_for_marker(const struct part_field *f, const struct card_fix *fix,
                         struct vision_point place_mm, struct part_arm *bar);

/* Whether a bar is the slot, where that has been cut out of the card. */
bool bar_is_slot(const struct part_field *f, const struct card_fix *fix,
                 struct vision_point place_mm, const struct part_arm *bar);

#endif
