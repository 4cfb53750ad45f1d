#include "drawing/jpeg_write.h"
#include "report.h"
#include "vision.h"

#include <stdlib.h>
#include <string.h>

#define QUALITY 82 /* lines and small type stay clean; a third of the bytes of 95 */

struct memory {
    unsigned char *bytes;
    size_t used, size;
};

static bool take(void *context, const void *bytes, size_t size)
{
    struct memory *to = context;
    if (size > to->size - to->used)
        return false;
    memcpy(to->bytes + to->used, bytes, size);
    to->used += size;
    return true;
}

static const unsigned char *image_row(void *context, int y)
{
    const struct vision_image *image = context;
    return image->pixels + (size_t)y * image->stride;
}

static bool encode(struct vision_image *image, struct report_picture *out)
{
    unsigned char *bytes;
    size_t size;
    if (!jpeg_write(image->width, image->height, QUALITY, image_row, image, &bytes, &size))
        return false;
    *out = (struct report_picture){
        .jpeg = bytes, .size = size, .width_px = image->width, .height_px = image->height};
    return true;
}

static int reduction_for(const struct vision_photo_info *about)
{
    int longest = about->width_px > about->height_px ? about->width_px : about->height_px;
    int reduce = 1;
    while (reduce < 8 && longest / reduce > REPORT_PICTURE_PX)
        reduce *= 2;
    return reduce;
}

bool report_picture_load(struct job *job, const struct job_photo_row *row,
                         struct report_picture *out)
{
    size_t size = (size_t)job_photo_length(job, row->id);
    struct memory memory = {malloc(size + 1), 0, size};
    struct vision_photo *photo = NULL;
    struct vision_image image = {0};
    bool good = memory.bytes && job_photo_stream(job, row->id, take, &memory) &&
                vision_photo_open_bytes(memory.bytes, memory.used, &photo) == VISION_REASON_NONE &&
                vision_photo_decode(photo, reduction_for(vision_photo_get_info(photo)), NULL, 3,
                                    &image) == VISION_REASON_NONE &&
                encode(&image, out);
    vision_image_clear(&image);
    vision_photo_free(photo);
    free(memory.bytes);
    return good;
}
