#include "input_file.h"

#include <errno.h>
#include <fcntl.h>
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
