#include "safe_file.h"

#include "drafts.h"
#include "file_mode.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* ---- What is never replaced --------------------------------------------------------------- */

/* What an ordinary file of such a beginning is. */
static const struct {
    size_t at, length;
    const char *bytes, *says;
} never[] = {
    {0, 16, "SQLite format 3", "is a job file"}, /* with its zero: SQLite, "Database File Format" */
    {0, 3, "\xff\xd8\xff", "is a photo"},        /* JPEG: ITU-T T.81, B.1.1.3 */
    {4, 4, "ftyp", "is a photo or a film"},      /* HEIF: ISO/IEC 14496-12, 4.3 */
};

/* Each PNG of this program bears its name in a text before the pixels; any other may be a photo. */
static bool is_foreign_png(const unsigned char *start, size_t size)
{
    static const unsigned char signature[8] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'};
    return size >= sizeof signature && memcmp(start, signature, sizeof signature) == 0 &&
           !memmem(start, size, "armsquare", 9);
}

static const char *keeps_content(const char *path)
{
    unsigned char start[4096];
    FILE *file = fopen(path, "rb");
    if (!file) /* what cannot be read cannot be judged either */
        return "cannot be read, so may be a photo or a job";
    size_t size = fread(start, 1, sizeof start, file);
    fclose(file);
    for (size_t i = 0; i < sizeof never / sizeof never[0]; i++)
        if (size >= never[i].at + never[i].length &&
            memcmp(start + never[i].at, never[i].bytes, never[i].length) == 0)
            return never[i].says;
    return is_foreign_png(start, size) ? "is a photo, or a picture not made by this program" : NULL;
}

const char *safe_file_keeps(const char *path)
{
    struct stat about;
    if (lstat(path, &about) != 0)
        return NULL;
    if (S_ISDIR(about.st_mode))
        return "is a folder";
    if (S_ISLNK(about.st_mode))
        return "is a link to another place";
    return S_ISREG(about.st_mode) ? keeps_content(path) : "is a device or a pipe";
}

/* ---- Files -------------------------------------------------------------------------------- */

bool safe_file_open(struct safe_file *file, const char *path)
{
    *file = (struct safe_file){0};
    int fd = -1;
    if (safe_file_keeps(path)) {
        errno = EEXIST;
        return false;
    }
    file->path = strdup(path);
    if (!file->path || asprintf(&file->draft_path, "%s.XXXXXX", path) < 0) {
        file->draft_path = NULL;
        goto fail;
    }
    fd = drafts_make(file->draft_path, 0);
    if (fd < 0)
        goto fail;
    (void)fchmod(fd, file_mode(0666)); /* mkstemp makes files private */
    file->stream = fdopen(fd, "wb");
    if (!file->stream)
        goto fail;
    return true;
fail:;
    int saved = errno;
    if (fd >= 0) {
        close(fd);
        unlink(file->draft_path);
    }
    free(file->path);
    drafts_forget(file->draft_path);
    *file = (struct safe_file){0};
    errno = saved;
    return false;
}

bool safe_file_commit(struct safe_file *file)
{
    bool good =
        !ferror(file->stream) && fflush(file->stream) == 0 && fsync(fileno(file->stream)) == 0;
    int saved = errno;
    if (fclose(file->stream) != 0 && good) {
        good = false;
        saved = errno;
    }
    file->stream = NULL;
    if (good && rename(file->draft_path, file->path) != 0) {
        good = false;
        saved = errno;
    }
    if (!good)
        unlink(file->draft_path);
    free(file->path);
    drafts_forget(file->draft_path);
    *file = (struct safe_file){0};
    errno = saved;
    return good;
}

void safe_file_abandon(struct safe_file *file)
{
    if (file->stream)
        fclose(file->stream);
    if (file->draft_path)
        unlink(file->draft_path);
    free(file->path);
    drafts_forget(file->draft_path);
    *file = (struct safe_file){0};
}
