#include "same_photo.h"

#include "commands.h"
#include "message.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

static bool is_one_file(const struct stat *a, const struct stat *b)
{
    return a->st_dev == b->st_dev && a->st_ino == b->st_ino;
}

bool same_file(const char *a, const char *b)
{
    struct stat one, two;
    return stat(a, &one) == 0 && stat(b, &two) == 0 && is_one_file(&one, &two);
}

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
    if (strcmp(a, b) == 0)
        return true;
    if (stat(a, &one) != 0 || stat(b, &two) != 0)
        return false;
    bool plain = S_ISREG(one.st_mode) && S_ISREG(two.st_mode);
    return is_one_file(&one, &two) ||
           (plain && one.st_size > 0 && one.st_size == two.st_size && is_copy(a, b));
}

int refuse_same_photo(const char *const *paths, size_t count)
{
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < i; j++) {
            if (!paths[i] || !paths[j] || !is_same_photo(paths[i], paths[j]))
                continue;
            if (strcmp(paths[i], paths[j]) == 0)
                return fail_usage("%s is given twice; each reading needs a photo of its own.",
                                  paths[i]);
            return fail_usage("%s and %s are one and the same photo; each reading needs a photo of "
                              "its own.",
                              paths[j], paths[i]);
        }
    return EXIT_DONE;
}
