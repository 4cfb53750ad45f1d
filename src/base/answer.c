#include "answer.h"

#include "clean_text.h"
#include "exit_status.h"
#include "message.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

json_t *answer_text(const char *text)
{
    char *clean = clean_text(text);
    json_t *string = clean ? json_string(clean) : NULL;
    free(clean);
    return string;
}

json_t *answer_number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

int answer_print_json(json_t *json, size_t flags)
{
    char *text = json ? json_dumps(json, flags) : NULL;
    json_decref(json);
    if (!text)
        return fail_trouble("there is not enough memory for the answer.");
    puts(text);
    free(text);
    return EXIT_DONE;
}

int answer_refuse(bool as_json, const char *format, ...)
{
    char *sentence;
    va_list args;
    va_start(args, format);
    const bool said = vasprintf(&sentence, format, args) >= 0;
    va_end(args);
    if (!said)
        return fail_trouble("there is not enough memory for the answer.");
    int status = EXIT_DONE;
    if (as_json)
        status = answer_print_json(
            json_pack("{s:s, s:o}", "status", "failed", "message", answer_text(sentence)),
            JSON_COMPACT);
    status = status == EXIT_DONE ? fail_unusable("%s", sentence) : status;
    free(sentence);
    return status;
}

int answer_print_help(const char *text)
{
    fputs(text, stdout);
    return EXIT_DONE;
}

int answer_overview(int argc, char **argv, void (*print)(FILE *to))
{
    if (argc < 2) {
        print(stderr);
        return EXIT_USAGE;
    }
    if (strcmp(argv[1], "--help") != 0 && strcmp(argv[1], "-h") != 0)
        return -1;
    print(stdout);
    return EXIT_DONE;
}

int answer_end(int status)
{
    bool failed = ferror(stdout) != 0; /* of an earlier write, whose errno is gone */
    if (fflush(stdout) != 0)
        return fail_trouble("the answer could not be written: %s.", strerror(errno));
    return failed ? fail_trouble("the answer could not be written.") : status;
}
