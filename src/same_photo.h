/* Readings of one measurement count as independent, so no photo may stand for two of them. */
#ifndef SAME_PHOTO_H
#define SAME_PHOTO_H

#include <stdbool.h>
#include <stddef.h>

/* One file, or a copy equal to the byte. */
bool same_photo(const char *a, const char *b);

/* EXIT_DONE when no two of the paths are one photo.
 * Otherwise says so and returns EXIT_USAGE. first is the first of count paths (char *), each stride
 * bytes after the one before, so that they may lie in larger structs; one that is NULL is passed
 * over. */
int refuse_same_photo(const void *first, size_t count, size_t stride);

#endif
