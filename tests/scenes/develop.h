/* From a render in linear light to a photo as a phone would save it. */
#ifndef DEVELOP_H
#define DEVELOP_H

#include "case.h"
#include "photo_file.h"

/* Only the lens: from the render to the photo's pixels, in linear light. Free `out` with
 * light_map_clear. */
bool develop_geometry(const struct photo_case *c, const char *render_png, struct light_map *out);
/* Reads the render, writes the JPEG. false when it cannot. */
bool develop_photo(const struct photo_case *c, const char *render_png, const char *photo_jpg);
/* Radius in pixels by which a narrow depth of field blurs the arm's tip that it blurs most. */
double develop_depth_blur_px(const struct photo_case *c);

#endif
