/* Photos that "armsquare measure" holds against each other: several of one part as one answer, or a
 * sticker's turn from photo to photo. */
#ifndef MEASURE_SEVERAL_H
#define MEASURE_SEVERAL_H

#include "measure_batch.h"

/* Before photos are measured: takes the marks ("a.jpg@cw") off the paths of those that are put
 * together, and refuses marks that do not go together, a mark where none are put
 * together, and a photo given twice. EXIT_DONE,
 * or another status, the message being out. */
int measure_several_start(struct measure_batch *batch);

/* After measure_batch_run: what the photos say together, printed. EXIT_DONE, EXIT_UNUSABLE when
 * they say nothing, or EXIT_TROUBLE; the message is out. */
int measure_several_answer(const struct measure_batch *batch);

#endif
