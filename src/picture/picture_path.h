/* Where the annotated picture of a photo goes. */
#ifndef PICTURE_PATH_H
#define PICTURE_PATH_H

#include <stdbool.h>

/* "shed/rudder.jpg" -> "shed/rudder.armsquare.png", or "FOLDER/rudder.armsquare.png". folder NULL:
 * beside the photo. Owned by the caller (free); NULL when there is no memory. */
char *picture_path(const char *photo, const char *folder);

/* Whether a path is named like one. */
bool picture_path_is_one(const char *path);

#endif
