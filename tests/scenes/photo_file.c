#include "photo_file.h"
#include "base/safe_file.h"

#include <math.h>
#include <png.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>
#include <libexif/exif-data.h>

double photo_linear(double srgb)
{
    return srgb <= 0.04045 ? srgb / 12.92 : pow((srgb + 0.055) / 1.055, 2.4);
}

double photo_srgb(double linear)
{
    linear = fmin(fmax(linear, 0), 1);
    return linear <= 0.0031308 ? linear * 12.92 : 1.055 * pow(linear, 1 / 2.4) - 0.055;
}

void light_map_clear(struct light_map *map)
{
    free(map->rgb);
    *map = (struct light_map){0};
}

bool photo_read_linear_png(const char *path, struct light_map *out)
{
    png_image image = {.version = PNG_IMAGE_VERSION};
    *out = (struct light_map){0};
    if (!png_image_begin_read_from_file(&image, path))
        return false;
    image.format = PNG_FORMAT_LINEAR_RGB;
    size_t n = (size_t)image.width * image.height * 3;
    uint16_t *wide = malloc(n * sizeof *wide);
    float *rgb = malloc(n * sizeof *rgb);
    if (!wide || !rgb || !png_image_finish_read(&image, NULL, wide, 0, NULL)) {
        png_image_free(&image);
        free(wide);
        free(rgb);
        return false;
    }
    for (size_t i = 0; i < n; i++)
        rgb[i] = (float)wide[i] / 65535.0f;
    free(wide);
    *out = (struct light_map){(int)image.width, (int)image.height, rgb};
    return true;
}

bool photo_write_png(const char *path, const uint8_t *rgb, int width, int height)
{
    png_image image = {.version = PNG_IMAGE_VERSION,
                       .width = (png_uint_32)width,
                       .height = (png_uint_32)height,
                       .format = PNG_FORMAT_RGB};
    image.flags = PNG_IMAGE_FLAG_FAST;
    return png_image_write_to_file(&image, path, 0, rgb, 0, NULL) != 0;
}

/* ---- EXIF ----------------------------------------------------------------------------------- */

static ExifEntry *new_entry(ExifData *data, ExifIfd ifd, ExifTag tag, ExifFormat format,
                            unsigned count, size_t size)
{
    ExifEntry *entry = exif_entry_new();
    if (!entry)
        return NULL;
    entry->tag = tag;
    entry->format = format;
    entry->components = count;
    entry->size = (unsigned)size;
    entry->data = calloc(1, size);
    exif_content_add_entry(data->ifd[ifd], entry);
    exif_entry_unref(entry);
    return entry->data ? entry : NULL;
}

static void put_text(ExifData *data, ExifTag tag, const char *text)
{
    size_t size = strlen(text) + 1;
    ExifEntry *entry = new_entry(data, EXIF_IFD_0, tag, EXIF_FORMAT_ASCII, (unsigned)size, size);
    if (entry)
        memcpy(entry->data, text, size);
}

static void put_short(ExifData *data, ExifIfd ifd, ExifTag tag, int value)
{
    ExifEntry *entry = new_entry(data, ifd, tag, EXIF_FORMAT_SHORT, 1, 2);
    if (entry)
        exif_set_short(entry->data, EXIF_BYTE_ORDER_INTEL, (ExifShort)value);
}

static void put_rational(ExifData *data, ExifIfd ifd, ExifTag tag, double value)
{
    ExifEntry *entry = new_entry(data, ifd, tag, EXIF_FORMAT_RATIONAL, 1, 8);
    if (entry)
        exif_set_rational(entry->data, EXIF_BYTE_ORDER_INTEL,
                          (ExifRational){(ExifLong)lround(value * 1000), 1000});
}

static void write_exif(struct jpeg_compress_struct *jpeg, const struct jpeg_papers *papers)
{
    ExifData *data = exif_data_new();
    unsigned char *bytes = NULL;
    unsigned size = 0;
    if (!data)
        return;
    exif_data_set_byte_order(data, EXIF_BYTE_ORDER_INTEL);
    put_text(data, EXIF_TAG_MAKE, "Example");
    put_text(data, EXIF_TAG_MODEL, "Example Pocket 3");
    put_short(data, EXIF_IFD_0, EXIF_TAG_ORIENTATION, papers->orientation);
    if (papers->focal_mm > 0)
        put_rational(data, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH, papers->focal_mm);
    if (papers->equivalent_mm > 0)
        put_short(data, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH_IN_35MM_FILM, papers->equivalent_mm);
    exif_data_save_data(data, &bytes, &size);
    if (bytes && size < 65000)
        jpeg_write_marker(jpeg, JPEG_APP0 + 1, bytes, size);
    free(bytes);
    exif_data_unref(data);
}

/* ---- JPEG ----------------------------------------------------------------------------------- */

static void set_up(struct jpeg_compress_struct *jpeg, int width, int height,
                   const struct jpeg_papers *papers)
{
    jpeg->image_width = (JDIMENSION)width;
    jpeg->image_height = (JDIMENSION)height;
    jpeg->input_components = 3;
    jpeg->in_color_space = JCS_RGB;
    jpeg_set_defaults(jpeg);
    jpeg_set_quality(jpeg, papers->quality, TRUE);
    jpeg->optimize_coding = TRUE;
    if (papers->full_chroma)
        jpeg->comp_info[0].h_samp_factor = jpeg->comp_info[0].v_samp_factor = 1;
}

bool photo_write_jpeg(const char *path, const uint8_t *rgb, int width, int height,
                      const struct jpeg_papers *papers)
{
    struct safe_file file;
    if (!safe_file_open(&file, path))
        return false;
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr errors; /* the default handler exits: good enough for a generator */
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_compress(&jpeg);
    jpeg_stdio_dest(&jpeg, file.stream);
    set_up(&jpeg, width, height, papers);
    jpeg_start_compress(&jpeg, TRUE);
    if (papers->exif)
        write_exif(&jpeg, papers);
    while (jpeg.next_scanline < jpeg.image_height) {
        JSAMPROW row = (JSAMPROW)(rgb + (size_t)jpeg.next_scanline * width * 3);
        jpeg_write_scanlines(&jpeg, &row, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    return safe_file_commit(&file);
}
