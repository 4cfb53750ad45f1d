/* Work on many things at once, answers in order. */
#ifndef PARALLEL_H
#define PARALLEL_H

#include <stddef.h>

/* Calls work(context, i) for each i below count, spread over the processors this program may use,
 * and done(context, i) on the calling thread, for i in order, as soon as i and all before it are
 * worked. With one item, or when no thread can be had, everything runs on the calling thread. */
void parallel_in_order(size_t count, void (*work)(void *context, size_t i),
                       void (*done)(void *context, size_t i), void *context);

#endif
