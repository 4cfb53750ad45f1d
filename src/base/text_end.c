#include "text_end.h"

#include <stdbool.h>
#include <stdlib.h>

char *text_end(FILE *to, char **text)
{
    bool whole = to && !ferror(to);
    if (to && fclose(to) != 0)
        whole = false;
    if (!whole) {
        free(*text);
        *text = NULL;
    }
    return *text;
}
