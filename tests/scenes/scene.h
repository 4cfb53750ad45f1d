/* Writes a case as a POV-Ray scene. */
#ifndef SCENE_H
#define SCENE_H

#include "case.h"

#include <stdbool.h>

/* How far the render reaches beyond the photo on each side, in pixels, so that lens distortion
 * and blur find something there. */
int scene_margin_px(const struct photo_case *c);
/* Parts of a scene, for scenes that check others. */
void scene_write_camera(const struct photo_case *c, FILE *to);
void scene_write_part_matrix(const struct photo_case *c, FILE *to);
/* Writes `path`, a .pov that includes the .inc files of `include_dir` and shows the card's
 * picture `card_png` (and `other_png`: of the second card in the scene, or of the crank's sticker).
 * false: see errno. */
bool scene_write(const struct photo_case *c, const char *path, const char *card_png,
                 const char *other_png);

#endif
