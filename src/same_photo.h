/* Readings of one measurement count as independent, so no photo may stand for two of them. */
#ifndef SAME_PHOTO_H
#define SAME_PHOTO_H

#include <stdbool.h>
#include <stddef.h>

/* Whether both names lead to one file. false when either is not there. */
bool same_file(const char *a, const char *b);

/* EXIT_DONE when no two of the paths are one photo: one name, one file, or a copy equal to the
 * byte. Otherwise says so and returns EXIT_USAGE. A path that is NULL is passed over. */
int refuse_same_photo(const char *const *paths, size_t count);

#endif
