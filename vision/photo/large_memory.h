/* Memory for a picture's worth of values. */
#ifndef LARGE_MEMORY_H
#define LARGE_MEMORY_H

#include <stddef.h>

/* As malloc, to be freed like it. From a few megabytes on it lies in huge pages where the system
 * has them: the first touch of a page costs microseconds on virtual machines, and 24 MB are 6,000
 * pages of the usual size. */
void *large_memory(size_t bytes);

#endif
