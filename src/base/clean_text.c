#include "clean_text.h"

#include <stdlib.h>
#include <string.h>

/* Length of the valid UTF-8 sequence at s, 0 when there is none (Unicode 15, table 3-7). */
static size_t sequence_length(const unsigned char *s)
{
    if (s[0] < 0x80)
        return 1;
    size_t length = s[0] >= 0xf0 ? 4 : s[0] >= 0xe0 ? 3 : 2;
    if (s[0] < 0xc2 || s[0] > 0xf4)
        return 0;
    unsigned low = s[0] == 0xe0 ? 0xa0 : s[0] == 0xf0 ? 0x90 : 0x80;
    unsigned high = s[0] == 0xed ? 0x9f : s[0] == 0xf4 ? 0x8f : 0xbf;
    if (s[1] < low || s[1] > high)
        return 0;
    for (size_t i = 2; i < length; i++)
        if ((s[i] & 0xc0) != 0x80)
            return 0;
    return length;
}

/* C0 controls, DEL, and C1 controls (U+0080 to U+009F, C2 80 to C2 9F). */
static bool is_control(const unsigned char *s)
{
    return s[0] < 0x20 || s[0] == 0x7f || (s[0] == 0xc2 && s[1] < 0xa0);
}

bool text_is_utf8(const char *text)
{
    const unsigned char *s = (const unsigned char *)text;
    for (size_t length; *s; s += length)
        if ((length = sequence_length(s)) == 0)
            return false;
    return true;
}

static bool is_fit(const unsigned char *s, bool lines)
{
    return !is_control(s) || (lines && (*s == '\n' || *s == '\t'));
}

static bool is_clean(const char *text, bool lines)
{
    for (const char *s = text; *s; s++)
        if (!is_fit((const unsigned char *)s, lines))
            return false;
    return text_is_utf8(text);
}

static char *cleaned(const char *text, bool lines)
{
    char *out = malloc(strlen(text) + 1);
    if (!out)
        return NULL;
    char *to = out;
    for (const unsigned char *s = (const unsigned char *)text; *s;) {
        size_t length = sequence_length(s);
        if (length == 0 || !is_fit(s, lines)) {
            *to++ = '?';
        } else {
            memcpy(to, s, length);
            to += length;
        }
        s += length ? length : 1;
    }
    *to = '\0';
    return out;
}

bool text_is_clean(const char *text)
{
    return is_clean(text, false);
}

bool text_is_clean_lines(const char *text)
{
    return is_clean(text, true);
}

char *clean_text(const char *text)
{
    return cleaned(text, false);
}

char *clean_lines(const char *text)
{
    return cleaned(text, true);
}

/* Bytes of the character that a first byte begins; 1 for what begins none. */
static size_t begun_length(unsigned char first)
{
    return first >= 0xf0 ? 4 : first >= 0xe0 ? 3 : first >= 0xc0 ? 2 : 1;
}

int text_cut(const char *text, size_t most)
{
    size_t end = strnlen(text, most);
    for (size_t back = 1; back <= 3 && back <= end; back++) {
        unsigned char byte = (unsigned char)text[end - back];
        if ((byte & 0xc0) != 0x80)
            return (int)(begun_length(byte) > back ? end - back : end);
    }
    return (int)end;
}
