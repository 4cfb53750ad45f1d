/* Readings of one measurement count as independent, so no photo may stand for two of them. */
#ifndef SAME_PHOTO_H
#define SAME_PHOTO_H

#include "vision.h"

#include <stdbool.h>
#include <stddef.h>

/* One file, or a copy equal to the byte. */
bool same_photo(const char *a, const char *b);

/* ---- Copies with the same pixels ---------------------------------------------------------- */
/* A copy in another format, or without its EXIF data, differs in its bytes, but what is measured in
 * it is the same to the last digit. No two photos of one thing agree so far, even from a tripod:
 * their noise moves hub and tip by a tenth of a pixel. Most that a viewer has turned by quarters
 * are told likewise. A copy that was compressed anew is as good as noise, and cannot be told. */

/* What was measured of an arm in a photo. */
struct photo_trace {
    int width_px, height_px;
    struct vision_point corners_px[4], hub_px, tip_px;
    double angle_deg;
};
struct photo_trace photo_trace_of(const struct vision_result *result, const struct vision_arm *arm);
bool photo_trace_same(const struct photo_trace *a, const struct photo_trace *b);
/* Of any arm of one and any arm of the other. */
bool same_measured(const struct vision_result *a, const struct vision_result *b);

/* Why two photos are taken for one, to stand behind "are one photo". */
#define SAME_MEASURED "card and arm lie in the same pixels, turned or not"

struct measured_photo {
    const char *path; /* NULL: passed over */
    const struct vision_result *result;
};
/* EXIT_DONE when no two of count photos, the i-th of which photo_at(context, i) tells, are one
 * photo; otherwise says so and returns EXIT_USAGE. */
int refuse_same_measured(struct measured_photo (*photo_at)(const void *context, size_t i),
                         const void *context, size_t count);

/* ---- Files -------------------------------------------------------------------------------- */

/* EXIT_DONE when no two of the paths are one photo.
 * Otherwise says so and returns EXIT_USAGE. first is the first of count paths (char *), each stride
 * bytes after the one before, so that they may lie in larger structs; one that is NULL is passed
 * over. */
int refuse_same_photo(const void *first, size_t count, size_t stride);

#endif
