/* The annotated picture: the photo around the card with reference, arms and the square position
 * drawn in, and below it a panel with the answer. The measurement travels inside
 * (picture_record.h). */
#ifndef ANNOTATE_H
#define ANNOTATE_H

#include "vision.h"

#include <jansson.h>

enum annotate_fault {
    ANNOTATE_FINE,
    ANNOTATE_PHOTO,  /* the photo cannot be decoded */
    ANNOTATE_MEMORY, /* not enough memory to draw */
    ANNOTATE_WRITE,  /* the file cannot be written; errno */
};

/* Draws photo with its result, however it ended, and writes it as PNG to path: whole or not at
 * all. name is shown as the photo's name; measurement is what measure_json made of result. */
enum annotate_fault annotate_write(const char *path, const char *name,
                                   const struct vision_photo *photo,
                                   const struct vision_result *result, const json_t *measurement);

#endif
