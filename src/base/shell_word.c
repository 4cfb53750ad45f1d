#include "shell_word.h"

#include "clean_text.h"
#include "text_end.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What no POSIX shell gives a meaning of its own inside a word; bytes beyond ASCII are letters. */
static bool is_plain(const char *name)
{
    static const char plain[] = "abcdefghijklmnopqrstuvwxyz"
                                "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                "0123456789_./,:@%+-";
    for (; *name; name++)
        if ((unsigned char)*name < 0x80 && !strchr(plain, *name))
            return false;
    return true;
}

char *shell_word(const char *name)
{
    char *clean = clean_text(name), *word = NULL;
    size_t size = 0;
    FILE *to = clean ? open_memstream(&word, &size) : NULL;
    if (!to) {
        free(clean);
        return NULL;
    }
    const char *quote = *clean && is_plain(clean) ? "" : "'";
    fprintf(to, "%s%s", quote, *clean == '-' ? "./" : "");
    for (const char *c = clean; *c; c++)
        if (*c == '\'')
            fputs("'\\''", to); /* out of the quotes, a quote, and in again */
        else
            fputc(*c, to);
    fputs(quote, to);
    free(clean);
    return text_end(to, &word);
}
