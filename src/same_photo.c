#include "same_photo.h"

#include "commands.h"
#include "message.h"
#include "same_file.h"

#include <stdbool.h>
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

static bool is_same_photo(const char *a, const char *b)
{
    struct stat one, two;
    if (same_file(a, b))
        return true;
    return stat(a, &one) == 0 && stat(b, &two) == 0 && S_ISREG(one.st_mode) &&
           S_ISREG(two.st_mode) && one.st_size > 0 && one.st_size == two.st_size && is_copy(a, b);
}

int refuse_same_photo(const char *const *paths, size_t count)
{
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < i; j++)
            if (paths[i] && paths[j] && is_same_photo(paths[i], paths[j]))
                return fail_usage("\"%s\" and \"%s\" are one photo; each reading needs a photo of "
                                  "its own.",
                                  paths[j], paths[i]);
    return EXIT_DONE;
}
