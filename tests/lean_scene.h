/* A part with evenly spaced arms before a card that leans against it, seen by rays from a camera:
 * the angles a photo would show, with the budget the program gives them. */
#ifndef LEAN_SCENE_H
#define LEAN_SCENE_H

#include "vision.h"

struct lean_scene {
    int spacing_deg, count;
    double first_deg, oblique_deg, from_deg; /* where the camera stands */
    double slope_deg, toward_deg;            /* the part rises towards the camera that way */
    double noise_deg, moulded_deg;           /* of edges, of how arms are made: standard */
};

/* Ten pixels a millimetre, the card's y upwards in the photo. */
extern const struct vision_plane lean_scene_plane;

/* Normally distributed by rand(), standard deviation 1. */
double lean_scene_normal(void);

/* arms: count are filled, in order of their angles from first_deg on, errors drawn with rand().
 * made_deg: by how much each arm is made off its place; NULL: drawn as well */
void lean_scene_look(const struct lean_scene *s, const double *made_deg, struct vision_arm *arms);

#endif
