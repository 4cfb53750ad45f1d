/* What each reason of vision means to the person at the bench. */
#ifndef REASONS_H
#define REASONS_H

#include "vision.h"

/* Two parts in one sentence: what is wrong; what to do next. It fits both a photo that failed and
 * one that is unsure. Static text. "" for VISION_REASON_NONE and for values outside the enum. */
const char *reason_sentence(enum vision_reason reason);

/* The same of a photo that could not be opened, where a look at the file tells more: a folder, a
 * wrong name, no right to read it. */
const char *reason_unopened(enum vision_reason reason, const char *path);

#define REASON_SIZE_NOTE 80
/* A sentence more, for who counts pixels: how many the photo has, where points lay outside it; ""
 * for all other reasons. */
void reason_size_note(enum vision_reason reason, const struct vision_photo_info *photo,
                      char out[REASON_SIZE_NOTE]);

#endif
