/* Runs a fuzz target without libFuzzer: once on each file named, or on each file of a folder, and
 * on copies of it with bytes changed by a fixed generator. So a corpus is an ordinary test. */
#include "photo_maker.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CHANGED_COPIES 40

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static uint32_t next_random(uint32_t *state)
{
    *state = *state * 1664525u + 1013904223u; /* Numerical Recipes' generator */
    return *state >> 8;
}

/* A cut, a changed byte, or a stretch overwritten by another. */
static size_t change(uint8_t *data, size_t size, uint32_t *state)
{
    size_t at = next_random(state) % size;
    switch (next_random(state) % 4) {
    case 0:
        return at;
    case 1: {
        size_t from = next_random(state) % size;
        size_t length = next_random(state) % 16;
        if (at + length <= size && from + length <= size)
            memmove(data + at, data + from, length);
        return size;
    }
    default:
        data[at] = (uint8_t)next_random(state);
        return size;
    }
}

static int run_file(const char *path)
{
    struct bytes file = bytes_read(path);
    if (file.size == 0)
        return 0;
    LLVMFuzzerTestOneInput(file.data, file.size);
    uint32_t state = (uint32_t)file.size;
    for (int i = 0; i < CHANGED_COPIES; i++) {
        uint8_t *copy = malloc(file.size);
        if (!copy)
            abort();
        memcpy(copy, file.data, file.size);
        size_t size = file.size;
        for (int changes = 1 + i % 3; changes > 0 && size > 0; changes--)
            size = change(copy, size, &state);
        LLVMFuzzerTestOneInput(copy, size);
        free(copy);
    }
    bytes_free(&file);
    return 1;
}

static int run_folder(const char *path)
{
    DIR *folder = opendir(path);
    if (!folder)
        return run_file(path);
    int count = 0;
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        char *file = NULL;
        if (entry->d_name[0] == '.')
            continue;
        if (asprintf(&file, "%s/%s", path, entry->d_name) < 0)
            abort();
        count += run_file(file);
        free(file);
    }
    closedir(folder);
    return count;
}

int main(int argc, char **argv)
{
    int count = 0;
    for (int i = 1; i < argc; i++)
        count += run_folder(argv[i]);
    printf("%d files\n", count);
    return count > 0 ? EXIT_SUCCESS : EXIT_FAILURE; /* an empty corpus tests nothing */
}
