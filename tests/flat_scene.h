/* A made-up photo with known truth: a card from straight above, drawn by the program's own print
 * code, and before it a horn of one or several arms. No perspective, no shadow, no noise: enough to
 * run the whole program, not to judge its accuracy. */
#ifndef FLAT_SCENE_H
#define FLAT_SCENE_H

#include "photo_maker.h"

#define FLAT_SCENE_PX_PER_MM 14.0

/* The hand card with its x axis to the right, the horn's hub in its middle, black arms of 15 mm at
 * these angles from the x axis, counter-clockwise. Stops the test program on failure. */
struct picture flat_scene(const double *arm_deg, int arm_count);
/* What hides a part of the first arm: a round joint off its middle line, and a rod that leads from
 * there out of the picture. */
struct flat_link {
    double along_mm, aside_mm; /* of the joint, from the hub */
    double radius_mm, rod_mm;  /* width */
    double rod_deg;            /* from the x axis */
};
struct picture flat_scene_with_link(const double *arm_deg, int arm_count,
                                    const struct flat_link *link);

/* The same photo without a horn, and one of a bench without a card. */
struct picture flat_scene_bare_card(void);
struct picture flat_scene_bench(void);

#endif
