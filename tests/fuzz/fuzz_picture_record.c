/* Fuzz target: any bytes as an annotated picture, read back. CRCs are mended first, for otherwise
 * libpng drops nearly every changed chunk unseen. */
#include "picture/picture_record.h"

#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>
#include <zlib.h>

#define MAX_INPUT_BYTES 65536 /* larger inputs find nothing new and take long */

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static size_t big_endian(const uint8_t *b)
{
    return (size_t)b[0] << 24 | (size_t)b[1] << 16 | (size_t)b[2] << 8 | b[3];
}

static void mend_crcs(uint8_t *data, size_t size)
{
    for (size_t at = 8; size >= 12 && at <= size - 12;) {
        size_t length = big_endian(data + at);
        if (length > size - 12 - at)
            return;
        uLong crc = crc32(0, data + at + 4, (uInt)length + 4);
        for (size_t i = 0; i < 4; i++)
            data[at + 8 + length + i] = (uint8_t)(crc >> (24 - 8 * i));
        at += length + 12;
    }
}

static void read_back(const uint8_t *data, size_t size)
{
    int fd = memfd_create("picture", MFD_CLOEXEC);
    if (fd < 0 || write(fd, data, size) != (ssize_t)size)
        abort();
    char path[40];
    snprintf(path, sizeof path, "/proc/self/fd/%d", fd);
    struct picture_record record;
    enum picture_record_fault fault = picture_record_read(path, &record);
    if (fault != PICTURE_RECORD_FINE && record.measurement)
        abort();
    picture_record_clear(&record);
    close(fd);
    struct vision_photo *photo = NULL;
    if (vision_photo_open_bytes(data, size, &photo) == VISION_REASON_NONE)
        picture_record_is_in(photo);
    vision_photo_free(photo);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size > MAX_INPUT_BYTES)
        return 0;
    uint8_t *copy = malloc(size + 1);
    if (!copy)
        abort();
    memcpy(copy, data, size);
    mend_crcs(copy, size);
    read_back(copy, size);
    free(copy);
    return 0;
}
