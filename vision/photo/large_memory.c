#include "large_memory.h"

#include <stdlib.h>
#include <sys/mman.h>

void *large_memory(size_t bytes)
{
    const size_t huge = (size_t)2 << 20;
    if (bytes < 2 * huge)
        return malloc(bytes);
    const size_t whole = (bytes + huge - 1) / huge * huge;
    void *memory = aligned_alloc(huge, whole);
#ifdef MADV_HUGEPAGE
    if (memory)
        madvise(memory, whole, MADV_HUGEPAGE); /* nothing is lost where the advice is not taken */
#endif
    return memory;
}
