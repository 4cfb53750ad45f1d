/* The truth about a photo, computed from the numbers the scene was made with. */
#ifndef TRUTH_H
#define TRUTH_H

#include "case.h"

#include <stdbool.h>

/* Writes the truth file of a case; its fields are described in testimages/README.md. */
bool truth_write(const struct photo_case *c, const char *path);

#endif
