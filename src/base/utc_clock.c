#include "utc_clock.h"

#include "exit_status.h"
#include "message.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LAST_SECOND 253402300799LL /* 9999-12-31T23:59:59Z: a year of four digits */

bool utc_text(time_t when, char text[UTC_TEXT])
{
    struct tm utc;
    return when >= 0 && when <= LAST_SECOND && gmtime_r(&when, &utc) &&
           strftime(text, UTC_TEXT, "%Y-%m-%dT%H:%M:%SZ", &utc) > 0;
}

bool utc_is_text(const char *text)
{
    struct tm utc = {0};
    char again[UTC_TEXT];
    const char *end = strptime(text, "%Y-%m-%dT%H:%M:%SZ", &utc);
    return end && utc_text(timegm(&utc), again) && strcmp(text, again) == 0;
}

const char *utc_shown(const char *at, char text[UTC_SHOWN])
{
    if (!utc_is_text(at))
        return at;
    snprintf(text, UTC_SHOWN, "%.10s %.5s UTC", at, at + 11);
    return text;
}

/* false when it is not set, or not sound. */
static bool fixed_time(const char *word, time_t *out)
{
    size_t length = word ? strlen(word) : 0;
    if (length == 0 || length > 12 || strspn(word, "0123456789") != length)
        return false;
    *out = (time_t)strtoll(word, NULL, 10);
    return *out <= LAST_SECOND;
}

void utc_now_text(char text[UTC_TEXT])
{
    time_t now;
    if (!fixed_time(getenv("SOURCE_DATE_EPOCH"), &now))
        now = time(NULL);
    if (!utc_text(now, text))
        (void)utc_text(0, text); /* a bench without a set clock */
}

int utc_check_epoch(void)
{
    time_t unused;
    const char *word = getenv("SOURCE_DATE_EPOCH");
    if (!word || !*word || fixed_time(word, &unused))
        return EXIT_DONE;
    return fail_usage("SOURCE_DATE_EPOCH is \"%s\" and must be whole seconds since 1970, such as "
                      "1767225600; set it to that, or take it away (unset SOURCE_DATE_EPOCH).",
                      word);
}
