#include "input_file.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

FILE *input_file_open(const char *path)
{
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (fd < 0)
        return NULL;
    fcntl(fd, F_SETFL, O_RDONLY); /* a pipe that has a writer is waited for, as ever */
    FILE *file = fdopen(fd, "rb");
    if (!file) {
        int saved = errno;
        close(fd);
        errno = saved;
    }
    return file;
}

const char *input_file_says(int error)
{
    switch (error) {
    case ENOENT:
    case ENOTDIR:
        return "there is no such file; check its name and where it lies";
    case EACCES:
        return "you have no right to; change its permissions or copy it";
    case EISDIR:
        return "it is a folder; name the file in it";
    default:
        return strerror(error);
    }
}
