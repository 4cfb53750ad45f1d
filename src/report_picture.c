#include "report.h"
#include "vision.h"

#include <jpeglib.h>
#include <setjmp.h>
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

struct trap {
    struct jpeg_error_mgr manager;
    jmp_buf place;
    unsigned char *bytes; /* here, so that it keeps its value when the place is jumped to */
    unsigned long size;
};

static void give_up(j_common_ptr info)
{
    longjmp(((struct trap *)(void *)info->err)->place, 1);
}

static bool encode(const struct vision_image *image, struct report_picture *out)
{
    struct jpeg_compress_struct info;
    struct trap trap = {.bytes = NULL};
    info.err = jpeg_std_error(&trap.manager);
    trap.manager.error_exit = give_up;
    if (setjmp(trap.place)) {
        jpeg_destroy_compress(&info);
        free(trap.bytes);
        return false;
    }
    jpeg_create_compress(&info);
    jpeg_mem_dest(&info, &trap.bytes, &trap.size);
    info.image_width = (JDIMENSION)image->width;
    info.image_height = (JDIMENSION)image->height;
    info.input_components = 3;
    info.in_color_space = JCS_RGB;
    jpeg_set_defaults(&info);
    jpeg_set_quality(&info, QUALITY, TRUE);
    jpeg_start_compress(&info, TRUE);
    while (info.next_scanline < info.image_height) {
        JSAMPROW row = image->pixels + (size_t)info.next_scanline * image->stride;
        jpeg_write_scanlines(&info, &row, 1);
    }
    jpeg_finish_compress(&info);
    jpeg_destroy_compress(&info);
    *out = (struct report_picture){trap.bytes, trap.size, image->width, image->height, NULL};
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
    struct memory memory = {malloc((size_t)row->size + 1), 0, (size_t)row->size};
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
