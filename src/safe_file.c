#include "safe_file.h"

#include "drafts.h"
#include "file_mode.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

bool safe_file_open(struct safe_file *file, const char *path)
{
    *file = (struct safe_file){0};
    int fd = -1;
    file->path = strdup(path);
    if (!file->path || asprintf(&file->draft_path, "%s.XXXXXX", path) < 0) {
        file->draft_path = NULL;
        goto fail;
    }
    fd = drafts_make(file->draft_path);
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
