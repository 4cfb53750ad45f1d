/* What the demonstration's camera sees: a card held above a bench, a part before it, a lamp.
 * Card frame: origin in the card's middle, x right, y up, z towards the viewer, mm. */
#ifndef JOB_DEMO_WORLD_H
#define JOB_DEMO_WORLD_H

#include "job_demo_photo.h"

struct demo_world;

/* The scene ready to be looked at; NULL when there is not enough memory. scene is copied. */
struct demo_world *demo_world_new(const struct demo_scene *scene);
void demo_world_free(struct demo_world *world);

/* Linear light (R, G, B; 1 would be a white sheet facing the lamp) that reaches eye_mm from the
 * direction ray, which must point downwards (z < 0) and need not be a unit vector. */
void demo_world_look(const struct demo_world *world, const double eye_mm[3], const double ray[3],
                     double light[3]);

/* Uniform in [0, 1); state must not be 0. */
double demo_chance(uint32_t *state);

/* sRGB's transfer curve, of linear light in [0, 1]: IEC 61966-2-1, 5.2. */
double demo_coded(double linear);

#endif
