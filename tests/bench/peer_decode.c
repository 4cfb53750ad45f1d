/* The least that any program must do with a JPEG, for comparison: decodes it whole into memory with
 * the JPEG library's own settings, and nothing else. */
#include <stdio.h>
#include <stdlib.h>

#include <jpeglib.h> /* after stdio.h, whose names it uses */

static unsigned char *decode(FILE *file, size_t *size)
{
    struct jpeg_error_mgr errors;
    struct jpeg_decompress_struct jpeg = {.err = jpeg_std_error(&errors)}; /* exits on errors */
    jpeg_create_decompress(&jpeg);
    jpeg_stdio_src(&jpeg, file);
    jpeg_read_header(&jpeg, TRUE);
    jpeg.out_color_space = JCS_RGB;
    jpeg_start_decompress(&jpeg);
    const size_t stride = (size_t)jpeg.output_width * 3;
    *size = stride * jpeg.output_height;
    unsigned char *pixels = calloc(*size, 1);
    while (pixels && jpeg.output_scanline < jpeg.output_height) {
        JSAMPROW row = pixels + stride * jpeg.output_scanline;
        jpeg_read_scanlines(&jpeg, &row, 1);
    }
    if (pixels)
        jpeg_finish_decompress(&jpeg);
    jpeg_destroy_decompress(&jpeg);
    return pixels;
}

int main(int argc, char **argv)
{
    FILE *file = argc == 2 ? fopen(argv[1], "rb") : NULL;
    if (!file) {
        fprintf(stderr, "usage: %s PHOTO.jpg\n", argv[0]);
        return 2;
    }
    size_t size = 0;
    unsigned char *pixels = decode(file, &size);
    fclose(file);
    if (!pixels)
        return 1;
    unsigned sum = 0;
    for (size_t i = 0; i < size; i += 4099) /* a few, so that the work cannot be dropped */
        sum += pixels[i]; /* NOLINT: the JPEG library wrote them, unseen by the analyser */
    printf("%zu bytes, %u\n", size, sum);
    free(pixels);
    return 0;
}
