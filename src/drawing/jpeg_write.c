#include "jpeg_write.h"

#include <stdio.h> /* jpeglib.h needs it and does not include it */

#include <jpeglib.h>
#include <setjmp.h>
#include <stdlib.h>

struct trap {
    struct jpeg_error_mgr manager;
    jmp_buf place;
};

static void give_up(j_common_ptr info)
{
    longjmp(((struct trap *)(void *)info->err)->place, 1);
}

struct picture {
    int width, height, quality;
    jpeg_write_row row;
    void *context;
};

/* info lies in the caller: of objects of this function what is changed between setjmp() and a jump
 * back would be lost (C11, 7.13.2.1). */
static bool compress(struct jpeg_compress_struct *info, const struct picture *picture, FILE *stream)
{
    struct trap *trap = (struct trap *)(void *)info->err;
    if (setjmp(trap->place))
        return false;
    jpeg_create_compress(info);
    jpeg_stdio_dest(info, stream);
    info->image_width = (JDIMENSION)picture->width;
    info->image_height = (JDIMENSION)picture->height;
    info->input_components = 3;
    info->in_color_space = JCS_RGB;
    jpeg_set_defaults(info);
    jpeg_set_quality(info, picture->quality, TRUE);
    jpeg_start_compress(info, TRUE);
    while (info->next_scanline < info->image_height) {
        JSAMPROW line = (JSAMPROW)picture->row(picture->context, (int)info->next_scanline);
        jpeg_write_scanlines(info, &line, 1);
    }
    jpeg_finish_compress(info);
    return true;
}

bool jpeg_write(int width, int height, int quality, jpeg_write_row row, void *context,
                unsigned char **bytes, size_t *size)
{
    const struct picture picture = {width, height, quality, row, context};
    struct trap trap;
    struct jpeg_compress_struct info = {.err = jpeg_std_error(&trap.manager)};
    char *text = NULL;
    size_t length;
    /* A stream of ours, not libjpeg's own buffer: that one frees what it grew out of and tells only
     * at the end. */
    FILE *stream = open_memstream(&text, &length);
    if (!stream)
        return false;
    trap.manager.error_exit = give_up;
    bool good = compress(&info, &picture, stream);
    jpeg_destroy_compress(&info);
    if (fclose(stream) != 0 || !good) {
        free(text);
        return false;
    }
    *bytes = (unsigned char *)text;
    *size = length;
    return true;
}
