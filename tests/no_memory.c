/* Preloaded into the program: the N-th string that it makes with asprintf() and its kin finds no
 * memory, N in NO_MEMORY_AT; all others do. What is made of that is the program's own affair. */
#include <errno.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>

static atomic_long made;

static int make(char **out, const char *format, va_list args)
{
    const char *at = getenv("NO_MEMORY_AT");
    char *text = NULL;
    size_t size = 0;
    if (at && atomic_fetch_add(&made, 1) + 1 == strtol(at, NULL, 10)) {
        errno = ENOMEM;
        return -1;
    }
    FILE *to = open_memstream(&text, &size);
    if (!to)
        return -1;
    int length = vfprintf(to, format, args);
    fclose(to);
    *out = text;
    return length;
}

/* Both names that a build may call: ISO/IEC TR 24731-2, 3.2, and what checked builds make of it
 * (Linux Standard Base, __asprintf_chk). */
int vasprintf(char **out, const char *format, va_list args)
{
    return make(out, format, args);
}

int __vasprintf_chk(char **out, int flag, const char *format, va_list args);
int __vasprintf_chk(char **out, int flag, const char *format, va_list args)
{
    (void)flag;
    return make(out, format, args);
}

int asprintf(char **out, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    int length = make(out, format, args);
    va_end(args);
    return length;
}

int __asprintf_chk(char **out, int flag, const char *format, ...);
int __asprintf_chk(char **out, int flag, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    int length = make(out, format, args);
    va_end(args);
    (void)flag;
    return length;
}
