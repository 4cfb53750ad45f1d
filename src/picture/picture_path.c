#include "picture_path.h"

#include <stdio.h>
#include <string.h>

char *picture_path(const char *photo, const char *folder)
{
    const char *slash = strrchr(photo, '/');
    const char *base = slash ? slash + 1 : photo;
    const char *dot = strrchr(base, '.');
    int stem = (int)(dot && dot > base ? dot - base : (long)strlen(base));
    char *out = NULL;
    int length =
        folder ? asprintf(&out, "%s/%.*s.armsquare.png", folder, stem, base)
               : asprintf(&out, "%.*s%.*s.armsquare.png", (int)(base - photo), photo, stem, base);
    return length < 0 ? NULL : out;
}
