/* The hub of an arm that reaches in over the butt edge, where it shows beyond the card. */
#ifndef HUB_BEYOND_H
#define HUB_BEYOND_H

#include "part_reach.h"

enum hub_certainty { HUB_MAYBE, HUB_LIKELY, HUB_PLAIN };

struct hub_beyond {
    struct vision_point at_mm; /* where it is seen on the card's plane */
    double radius_mm;          /* of its broadest plain ring, else its best: screw, bore or boss */
    enum hub_certainty certainty;
};

/* Looks for rings about the arm's axis on the far side of the edge. Nothing is known there of part
 * and background, but what is round and lies on the axis is the hub. camera_mm is the camera's
 * centre in the card frame. false where there is none in sight, or memory is short. */
bool hub_beyond_find(const struct vision_photo *photo, const struct card_fix *fix,
                     const double camera_mm[3], int reduce, const struct part_reach *reach,
                     struct hub_beyond *out);

#endif
