#include "picture_path.h"

#include <stdio.h>
#include <string.h>

#define ENDING ".armsquare.png"

bool picture_path_is_one(const char *path)
{
    const size_t length = strlen(path), ending = sizeof ENDING - 1;
    return length > ending && strcmp(path + length - ending, ENDING) == 0;
}

char *picture_path(const char *photo, const char *folder)
{
    const char *slash = strrchr(photo, '/');
    const char *base = slash ? slash + 1 : photo;
    const char *dot = strrchr(base, '.');
    int stem = (int)(dot && dot > base ? dot - base : (long)strlen(base));
    char *out = NULL;
    int length = folder ? asprintf(&out, "%s/%.*s" ENDING, folder, stem, base)
                        : asprintf(&out, "%.*s%.*s" ENDING, (int)(base - photo), photo, stem, base);
    return length < 0 ? NULL : out;
}
