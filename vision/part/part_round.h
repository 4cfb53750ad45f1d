/* Round outlines in the silhouette: discs, and the boss of a hub between its arms. Card frame. */
#ifndef PART_ROUND_H
#define PART_ROUND_H

#include "part.h"

struct part_circle {
    struct vision_point centre_mm;
    double radius_mm, scatter_mm; /* of the outline about it */
    int used;                     /* of PART_FIELD_RAYS directions */
};

/* Circle through points, first through all that are allowed, then without those that stick out of
 * it or fall short: balls, links, fingers, fillets. false where fewer than least are left. */
bool part_circle_through(const struct vision_point p[PART_FIELD_RAYS],
                         const bool allow[PART_FIELD_RAYS], int least, struct part_circle *out);

/* The thickest place whose outline is round but for a few things that stick out: a disc, to a
 * cell or two. false when there is none. */
bool part_find_round(const struct part_field *f, const struct card_fix *fix,
                     struct part_circle *out);

/* The boss as a circle through the outline between the arms. false where too little of it shows. */
bool part_boss_circle(const struct part_field *f, const struct part *part, struct part_circle *out);

#endif
