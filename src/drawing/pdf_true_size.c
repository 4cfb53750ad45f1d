/* An incremental update (ISO 32000-1, 7.5.6): the file as it is, then the catalogue anew with one
 * more entry, a cross-reference section for it and a trailer pointing at the one before. Readers
 * take the newest object of each number. PrintScaling came with PDF 1.6, so the catalogue also
 * names that version, which overrides the file's first line (7.2.2 and Table 28).
 *
 * Looks only at files that cairo has just made, yet takes nothing for granted: any surprise means
 * no update. */
#include "pdf_true_size.h"

#include <stdlib.h>
#include <string.h>

#define XREF_ENTRY_BYTES 20 /* 7.5.4: each entry is exactly so long */

/* What the update needs to know of the file. */
struct trailer {
    long xref;                /* where the cross-reference section starts */
    long root, info, entries; /* object numbers of catalogue and information; entries in all */
    const char *catalogue;    /* after its "<<" */
    size_t catalogue_size;    /* up to "endobj" */
};

/* The number after the first mention of key at or after from; -1 when there is none. */
static long number_after(const char *from, const char *key)
{
    const char *found = strstr(from, key);
    if (!found)
        return -1;
    char *end;
    long number = strtol(found + strlen(key), &end, 10);
    return end == found + strlen(key) ? -1 : number;
}

static const char *find_last(const char *text, size_t size, const char *word)
{
    const char *last = NULL;
    const char *at = text;
    while ((at = memmem(at, (size_t)(text + size - at), word, strlen(word)))) {
        last = at;
        at++;
    }
    return last;
}

static bool find_catalogue(const char *text, size_t size, struct trailer *out)
{
    if (out->xref <= 0 || out->root <= 0 || out->info <= 0 || out->root >= out->entries)
        return false;
    char head[48];
    int length = snprintf(head, sizeof head, "xref\n0 %ld\n", out->entries);
    size_t entry = (size_t)out->xref + (size_t)length + (size_t)out->root * XREF_ENTRY_BYTES;
    if (entry + XREF_ENTRY_BYTES > size || strncmp(text + out->xref, head, (size_t)length) != 0)
        return false;
    size_t start = strtoul(text + entry, NULL, 10);
    length = snprintf(head, sizeof head, "%ld 0 obj\n<<", out->root);
    if (start + (size_t)length > size || strncmp(text + start, head, (size_t)length) != 0)
        return false;
    out->catalogue = text + start + length;
    const char *end = memmem(out->catalogue, (size_t)(text + size - out->catalogue), "endobj", 6);
    out->catalogue_size = end ? (size_t)(end - out->catalogue) : 0;
    return end != NULL;
}

/* text is NUL-terminated after size bytes. */
static bool read_trailer(const char *text, size_t size, struct trailer *out)
{
    const char *trailer = find_last(text, size, "trailer");
    if (!trailer)
        return false;
    out->entries = number_after(trailer, "/Size ");
    out->root = number_after(trailer, "/Root ");
    out->info = number_after(trailer, "/Info ");
    out->xref = number_after(trailer, "startxref\n");
    return find_catalogue(text, size, out);
}

bool pdf_true_size_write(FILE *to, const char *bytes, size_t size)
{
    if (fwrite(bytes, 1, size, to) != size)
        return false;
    struct trailer old;
    if (!read_trailer(bytes, size, &old))
        return true;
    int object = fprintf(to,
                         "%ld 0 obj\n<< /Version /1.6\n"
                         "   /ViewerPreferences << /PrintScaling /None >>%.*sendobj\n",
                         old.root, (int)old.catalogue_size, old.catalogue);
    return object > 0 && fprintf(to,
                                 "xref\n%ld 1\n%010zu 00000 n \n"
                                 "trailer\n<< /Size %ld /Root %ld 0 R /Info %ld 0 R /Prev %ld >>\n"
                                 "startxref\n%zu\n%%%%EOF\n",
                                 old.root, size, old.entries, old.root, old.info, old.xref,
                                 size + (size_t)object) > 0;
}
