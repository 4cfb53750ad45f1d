#include "message.h"

#include "clean_text.h"
#include "exit_status.h"
#include "safe_file.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Names and words from outside stand in it, so it is made clean here, once for all. */
static void say(const char *format, va_list args)
{
    char *sentence, *clean = NULL;
    if (vasprintf(&sentence, format, args) >= 0) {
        clean = clean_text(sentence);
        free(sentence);
    }
    const char *text = clean ? clean : "there is not enough memory to say what is wrong.";
    fprintf(stderr, "armsquare: %s\n",
            text + (strncmp(text, ": ", 2) == 0 ? 2 : 0)); /* of no name */
    free(clean);
}

void message_note(const char *format, ...)
{
    va_list args;
    va_start(args, format);
    say(format, args);
    va_end(args);
}

int fail_usage(const char *format, ...)
{
    va_list args;
    va_start(args, format);
    say(format, args);
    va_end(args);
    return EXIT_USAGE;
}

int fail_unusable(const char *format, ...)
{
    va_list args;
    va_start(args, format);
    say(format, args);
    va_end(args);
    return EXIT_UNUSABLE;
}

int fail_trouble(const char *format, ...)
{
    va_list args;
    va_start(args, format);
    say(format, args);
    va_end(args);
    return EXIT_TROUBLE;
}

int fail_kept(const char *path, const char *kept, const char *option)
{
    return fail_usage("\"%s\" %s, which is never replaced; name another place with %s.", path, kept,
                      option);
}

static const char *why(int reason)
{
    return reason == EACCES    ? "you have no right to write there"
           : reason == ENOTDIR ? "what it is to lie in is a file, not a folder"
                               : strerror(reason);
}

int fail_unwritten(const char *path, int reason, const char *option)
{
    const char *kept = safe_file_keeps(path);
    if (kept)
        return fail_kept(path, kept, option);
    if (reason == ENOENT)
        return fail_trouble(
            "\"%s\" could not be written: its folder is not there; make it first, or "
            "name another place with %s.",
            path, option);
    return fail_trouble("\"%s\" could not be written: %s; name another place with %s.", path,
                        why(reason), option);
}

int fail_unmade(const char *path, int reason, const char *option)
{
    if (!*path)
        return fail_trouble("the folder's name is empty; name a folder%s.", option);
    if (reason == EEXIST || (reason == ENOTDIR && access(path, F_OK) == 0))
        return fail_trouble("\"%s\" is a file, not a folder; name a folder%s.", path, option);
    return fail_trouble("the folder \"%s\" could not be made: %s; name another%s.", path,
                        reason == ENOENT ? "the one it is to lie in is not there" : why(reason),
                        option);
}
