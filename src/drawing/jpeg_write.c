#include "jpeg_write.h"

#include <stdio.h> /* jpeglib.h needs it and does not include it */

#include <jpeglib.h>
#include <setjmp.h>
#include <stdlib.h>

struct trap {
    struct jpeg_error_mgr manager;
    jmp_buf place;
    /* Here, so that they keep their values when the place is jumped to. A stream of ours, not
     * libjpeg's own buffer: that one frees what it grew out of and tells only at the end. */
    FILE *stream;
    char *bytes;
    size_t size;
};

static void give_up(j_common_ptr info)
{
    longjmp(((struct trap *)(void *)info->err)->place, 1);
}

bool jpeg_write(int width, int height, int quality, jpeg_write_row row, void *context,
                unsigned char **bytes, size_t *size)
{
    struct jpeg_compress_struct info;
    struct trap trap = {.bytes = NULL};
    trap.stream = open_memstream(&trap.bytes, &trap.size);
    if (!trap.stream)
        return false;
    info.err = jpeg_std_error(&trap.manager);
    trap.manager.error_exit = give_up;
    if (setjmp(trap.place)) {
        jpeg_destroy_compress(&info);
        fclose(trap.stream);
        free(trap.bytes);
        return false;
    }
    jpeg_create_compress(&info);
    jpeg_stdio_dest(&info, trap.stream);
    info.image_width = (JDIMENSION)width;
    info.image_height = (JDIMENSION)height;
    info.input_components = 3;
    info.in_color_space = JCS_RGB;
    jpeg_set_defaults(&info);
    jpeg_set_quality(&info, quality, TRUE);
    jpeg_start_compress(&info, TRUE);
    while (info.next_scanline < info.image_height) {
        JSAMPROW line = (JSAMPROW)row(context, (int)info.next_scanline);
        jpeg_write_scanlines(&info, &line, 1);
    }
    jpeg_finish_compress(&info);
    jpeg_destroy_compress(&info);
    if (fclose(trap.stream) != 0) {
        free(trap.bytes);
        return false;
    }
    *bytes = (unsigned char *)trap.bytes;
    *size = trap.size;
    return true;
}
