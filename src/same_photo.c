#include "same_photo.h"

#include "commands.h"
#include "message.h"
#include "same_file.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

static bool same_bytes(FILE *a, FILE *b)
{
    char one[4096], two[sizeof one];
    size_t size;
    do {
        size = fread(one, 1, sizeof one, a);
        if (fread(two, 1, sizeof two, b) != size || memcmp(one, two, size) != 0)
            return false;
    } while (size == sizeof one);
    return !ferror(a) && !ferror(b);
}

/* A copy: files that differ, as good as all do, differ in size or in the first block. */
static bool is_copy(const char *a, const char *b)
{
    FILE *one = fopen(a, "rb"), *two = one ? fopen(b, "rb") : NULL;
    bool same = one && two && same_bytes(one, two);
    if (one)
        fclose(one);
    if (two)
        fclose(two);
    return same;
}

bool same_photo(const char *a, const char *b)
{
    struct stat one, two;
    if (same_file(a, b))
        return true;
    return stat(a, &one) == 0 && stat(b, &two) == 0 && S_ISREG(one.st_mode) &&
           S_ISREG(two.st_mode) && one.st_size > 0 && one.st_size == two.st_size && is_copy(a, b);
}

static const char *path_at(const void *first, size_t i, size_t stride)
{
    const char *path;
    memcpy(&path, (const char *)first + i * stride, sizeof path);
    return path;
}

int refuse_same_photo(const void *first, size_t count, size_t stride)
{
    for (size_t i = 0; i < count; i++) {
        const char *path = path_at(first, i, stride);
        for (size_t j = 0; path && j < i; j++) {
            const char *before = path_at(first, j, stride);
            if (before && same_photo(path, before))
                return fail_usage("\"%s\" and \"%s\" are one photo; each reading needs a photo of "
                                  "its own.",
                                  before, path);
        }
    }
    return EXIT_DONE;
}
