/* Where the pictures of many photos go: none on a photo, no two on one place. */
#ifndef MEASURE_PLACES_H
#define MEASURE_PLACES_H

#include "measure_batch.h"

/* Of shots that all have a picture_path. EXIT_DONE, or the exit status of the message that is out:
 * EXIT_USAGE for a picture that would be a folder, fall on a photo or on another picture (as that
 * of a photo given twice does). Each file is asked about once, however many there are. */
int measure_places_check(const struct measure_shot *shots, size_t count);

#endif
