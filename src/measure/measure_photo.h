/* Measuring a photo as the command line asks, with the lens that belongs to it. */
#ifndef MEASURE_PHOTO_H
#define MEASURE_PHOTO_H

#include "measure_options.h"
#include "vision.h"

/* Opens a photo that is to be measured. NULL, and *photo is the caller's to free; else one sentence
 * (static text) that says what is wrong and what to do, *photo is NULL and out failed with the
 * reason. A picture that this program drew lines into is refused: they would be measured in place
 * of the arm's edges. Safe from several threads. */
const char *measure_photo_open(const char *path, struct vision_photo **photo,
                               struct vision_result *out);

/* A picture that this program drew beside a photo, by its name and its record: "*" finds it. */
bool measure_photo_is_own_picture(const char *path);

/* vision_measure, or what given->stickers asks for, with the lens profile that was named, or the
 * person's own that matches the photo, or none. A named profile that speaks against the photo's
 * EXIF data fails it (VISION_OTHER_LENS), and so does one that the card in the photo contradicts.
 * Safe from several threads. */
void measure_photo(const struct vision_photo *photo, const struct measure_words_given *given,
                   struct vision_result *out);

/* Why a photo without an answer may well have been meant another way: it shows a crank's sticker
 * and was not measured for one. A sentence (static text), NULL where it is nothing of the kind. */
const char *measure_photo_meant(const struct vision_photo *photo,
                                const struct measure_words_given *given,
                                const struct vision_result *result);

#endif
