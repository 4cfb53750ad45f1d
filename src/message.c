#include "message.h"

#include "commands.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static void say(const char *format, va_list args)
{
    flockfile(stderr);
    fputs("armsquare: ", stderr);
    vfprintf(stderr, format, args);
    fputc('\n', stderr);
    funlockfile(stderr);
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

int fail_unwritten(const char *path, int reason, const char *option)
{
    return fail_trouble("\"%s\" could not be written: %s; name another place with %s.", path,
                        strerror(reason), option);
}
