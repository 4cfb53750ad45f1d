/* Readings of one measurement count as independent, so no photo may stand for two of them. */
#ifndef SAME_PHOTO_H
#define SAME_PHOTO_H

#include <stddef.h>

/* EXIT_DONE when no two of the paths are one photo: one file, or a copy equal to the byte.
 * Otherwise says so and returns EXIT_USAGE. A path that is NULL is passed over. */
int refuse_same_photo(const char *const *paths, size_t count);

#endif
