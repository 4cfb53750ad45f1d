#include "paragraph.h"

#include "clean_text.h"

#include <stdarg.h>
#include <string.h>

#define LINE_COLUMNS 78

/* Columns of the first length bytes of UTF-8: every byte but the continuation bytes 10xxxxxx. */
static int columns(const char *text, size_t length)
{
    int n = 0;
    for (size_t i = 0; i < length; i++)
        n += ((unsigned char)text[i] & 0xC0) != 0x80;
    return n;
}

void paragraph_text(FILE *to, const char *mark, const char *text)
{
    int indent = columns(mark, strlen(mark));
    int column = indent;
    fputs(mark, to);
    for (const char *word = text; *word;) {
        size_t length = strcspn(word, " \n");
        int wide = columns(word, length);
        if (column > indent && column + 1 + wide > LINE_COLUMNS) {
            fprintf(to, "\n%*s", indent, "");
            column = indent;
        } else if (column > indent) {
            fputc(' ', to);
            column++;
        }
        fprintf(to, "%.*s", (int)length, word);
        column += wide;
        word += length;
        word += strspn(word, " \n");
    }
    fputc('\n', to);
}

void paragraph(FILE *to, const char *mark, const char *format, ...)
{
    char text[1024];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    text[text_cut(text, sizeof text)] = '\0';
    paragraph_text(to, mark, text);
}
