/* Work on many things at once. */
#ifndef PARALLEL_H
#define PARALLEL_H

#include <stddef.h>

/* How many threads can run at once in this process. */
size_t parallel_processors(void);
/* How many of them each of so many things may use that are worked on together: at least 1. */
size_t parallel_share(size_t things);

/* Calls work(context, i) for each i from first to below end, spread over the processors this
 * program may use, and done(context, i) on the calling thread, for i in order, as soon as i and all
 * before it are worked. With one item, or when no thread can be had, everything runs on the calling
 * thread. */
void parallel_in_order(size_t first, size_t end, void (*work)(void *context, size_t i),
                       void (*done)(void *context, size_t i), void *context);

/* Calls work(context, i) for each i below count on so many threads, and returns when all are
 * worked: for pieces of one thing, each of which writes what no other reads. */
void parallel_pieces(size_t threads, size_t count, void (*work)(void *context, size_t i),
                     void *context);

#endif
