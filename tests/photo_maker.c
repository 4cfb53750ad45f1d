#include "photo_maker.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>
#include <png.h>
#include <sys/resource.h>
#include <zlib.h>

static void *must(void *pointer)
{
    if (!pointer) {
        fputs("photo_maker: out of memory or unreadable\n", stderr);
        abort();
    }
    return pointer;
}

struct picture picture_new(int width, int height)
{
    return (struct picture){width, height, must(calloc((size_t)width * (size_t)height, 3))};
}

void picture_free(struct picture *picture)
{
    free(picture->rgb);
    *picture = (struct picture){0};
}

/* Where the viewed pixel (x, y) of a w x h photo stands in the file, row by row of the EXIF table:
 * for value 6, row 0 is the right side and column 0 the top, so the stored row counts from the
 * right and the stored column from the top. */
static void stored_place(int orientation, int x, int y, int w, int h, int *column, int *row)
{
    int left = x, right = w - 1 - x, top = y, bottom = h - 1 - y;
    const int rows[9] = {0, top, top, bottom, bottom, left, right, right, left};
    const int columns[9] = {0, left, right, right, left, top, top, bottom, bottom};
    *row = rows[orientation];
    *column = columns[orientation];
}

struct picture picture_stored(const struct picture *viewed, int orientation)
{
    bool turned = orientation >= 5;
    struct picture out = picture_new(turned ? viewed->height : viewed->width,
                                     turned ? viewed->width : viewed->height);
    for (int y = 0; y < viewed->height; y++) {
        for (int x = 0; x < viewed->width; x++) {
            int column, row;
            stored_place(orientation, x, y, viewed->width, viewed->height, &column, &row);
            memcpy(out.rgb + ((size_t)row * (size_t)out.width + (size_t)column) * 3,
                   viewed->rgb + ((size_t)y * (size_t)viewed->width + (size_t)x) * 3, 3);
        }
    }
    return out;
}

/* ---- JPEG --------------------------------------------------------------------------------- */

static void set_up_jpeg(struct jpeg_compress_struct *jpeg, const struct picture *picture,
                        const struct jpeg_settings *settings)
{
    jpeg->image_width = (JDIMENSION)picture->width;
    jpeg->image_height = (JDIMENSION)picture->height;
    jpeg->input_components = settings->cmyk ? 4 : 3;
    jpeg->in_color_space = settings->cmyk ? JCS_CMYK : JCS_RGB;
    jpeg_set_defaults(jpeg);
    jpeg_set_quality(jpeg, settings->quality ? settings->quality : 95, TRUE);
    if (settings->cmyk)
        jpeg_set_colorspace(jpeg, JCS_YCCK);
    else
        jpeg_set_colorspace(jpeg, settings->grey ? JCS_GRAYSCALE : JCS_YCbCr);
    jpeg->comp_info[0].h_samp_factor = settings->h_samp ? settings->h_samp : 1;
    jpeg->comp_info[0].v_samp_factor = settings->v_samp ? settings->v_samp : 1;
    if (settings->cmyk) {
        jpeg->comp_info[3].h_samp_factor = jpeg->comp_info[0].h_samp_factor;
        jpeg->comp_info[3].v_samp_factor = jpeg->comp_info[0].v_samp_factor;
    }
    jpeg->restart_in_rows = settings->restart_rows;
    if (settings->progressive)
        jpeg_simple_progression(jpeg);
}

/* Inks of a colour with all the black it can take, stored inverted as the Adobe marker implies. */
static void to_inks(const uint8_t *rgb, uint8_t *cmyk)
{
    int light = rgb[0] > rgb[1] ? rgb[0] : rgb[1];
    light = rgb[2] > light ? rgb[2] : light;
    for (int c = 0; c < 3; c++)
        cmyk[c] = (uint8_t)(light ? (rgb[c] * 255 + light / 2) / light : 255);
    cmyk[3] = (uint8_t)light;
}

struct bytes jpeg_encode(const struct picture *picture, const struct jpeg_settings *settings)
{
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr errors;
    unsigned char *data = NULL;
    unsigned long size = 0;
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_compress(&jpeg);
    jpeg_mem_dest(&jpeg, &data, &size);
    set_up_jpeg(&jpeg, picture, settings);
    jpeg_start_compress(&jpeg, TRUE);
    if (settings->exif.size)
        jpeg_write_marker(&jpeg, JPEG_APP0 + 1, settings->exif.data, (unsigned)settings->exif.size);
    uint8_t *inks = must(malloc((size_t)picture->width * 4));
    while (jpeg.next_scanline < jpeg.image_height) {
        uint8_t *row = picture->rgb + (size_t)jpeg.next_scanline * (size_t)picture->width * 3;
        if (settings->cmyk) {
            for (int x = 0; x < picture->width; x++)
                to_inks(row + (size_t)x * 3, inks + (size_t)x * 4);
            row = inks;
        }
        jpeg_write_scanlines(&jpeg, &row, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    free(inks);
    return (struct bytes){data, size};
}

/* ---- PNG ---------------------------------------------------------------------------------- */

static void append(png_structp png, png_bytep data, size_t size)
{
    struct bytes *out = png_get_io_ptr(png);
    out->data = must(realloc(out->data, out->size + size));
    memcpy(out->data + out->size, data, size);
    out->size += size;
}

struct bytes png_encode(const struct picture *picture, const struct png_settings *settings)
{
    struct bytes out = {0};
    png_structp png = must(png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL));
    png_infop info = must(png_create_info_struct(png));
    png_set_write_fn(png, &out, append, NULL);
    png_set_IHDR(png, info, (png_uint_32)picture->width, (png_uint_32)picture->height, 8,
                 PNG_COLOR_TYPE_RGB,
                 settings->interlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE,
                 PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    if (settings->exif.size)
        png_set_eXIf_1(png, info, (png_uint_32)settings->exif.size - 6, settings->exif.data + 6);
    png_bytepp rows = must(malloc((size_t)picture->height * sizeof *rows));
    for (int y = 0; y < picture->height; y++)
        rows[y] = picture->rgb + (size_t)y * (size_t)picture->width * 3;
    png_set_rows(png, info, rows);
    png_write_png(png, info, PNG_TRANSFORM_IDENTITY, NULL);
    png_destroy_write_struct(&png, &info);
    free(rows);
    return out;
}

/* Keyword with its end, the way it is packed, text (PNG 1.2, 4.2.3). */
struct bytes png_with_texts(const struct bytes *png)
{
    enum { UNPACKED = 7999000, BEFORE = 8 + 25, TEXT = 6 };
    struct bytes out = {0};
    uLongf packed = compressBound(UNPACKED);
    uint8_t *chunk = must(calloc(1, TEXT + packed)), *text = must(malloc(UNPACKED));
    memcpy(chunk, "note\0", TEXT);
    memset(text, 'a', UNPACKED);
    compress2(chunk + TEXT, &packed, text, UNPACKED, 9);
    png_structp writer = must(png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL));
    png_set_write_fn(writer, &out, append, NULL);
    append(writer, png->data, BEFORE);
    for (int i = 0; i < 60; i++)
        png_write_chunk(writer, (png_const_bytep) "zTXt", chunk, TEXT + packed);
    append(writer, png->data + BEFORE, png->size - BEFORE);
    png_destroy_write_struct(&writer, NULL);
    free(chunk);
    free(text);
    return out;
}

double peak_megabytes(void)
{
    struct rusage used;
    getrusage(RUSAGE_SELF, &used);
    return (double)used.ru_maxrss / 1024;
}

/* ---- EXIF --------------------------------------------------------------------------------- */

struct writer {
    uint8_t data[4096];
    size_t size;  /* of the TIFF block so far */
    size_t extra; /* where the next value too long for its entry goes */
};

static void put16(struct writer *w, size_t at, unsigned value)
{
    w->data[at] = (uint8_t)(value >> 8);
    w->data[at + 1] = (uint8_t)value;
}

static void put32(struct writer *w, size_t at, uint32_t value)
{
    put16(w, at, value >> 16);
    put16(w, at + 2, value & 0xffff);
}

static void put_entry(struct writer *w, const struct exif_entry *entry)
{
    size_t at = w->size;
    put16(w, at, entry->tag);
    put16(w, at + 2, entry->type);
    put32(w, at + 4, 1);
    if (entry->type == 2) {
        size_t length = strlen(entry->text) + 1;
        put32(w, at + 4, (uint32_t)length);
        size_t to = length > 4 ? w->extra : at + 8;
        memcpy(w->data + to, entry->text, length);
        if (length > 4) {
            put32(w, at + 8, (uint32_t)w->extra);
            w->extra += (length + 1) & ~(size_t)1;
        }
    } else if (entry->type == 5) {
        put32(w, at + 8, (uint32_t)w->extra);
        put32(w, w->extra, entry->value);
        put32(w, w->extra + 4, entry->denominator);
        w->extra += 8;
    } else if (entry->type == 3) {
        put16(w, at + 8, entry->value);
    } else {
        put32(w, at + 8, entry->value);
    }
    w->size += 12;
}

static void put_ifd(struct writer *w, const struct exif_entry *entries, int count)
{
    put16(w, w->size, (unsigned)count);
    w->size += 2;
    for (int i = 0; i < count; i++)
        put_entry(w, &entries[i]);
    w->size += 4; /* no next IFD */
}

struct bytes exif_build(const struct exif_entry *ifd0, int ifd0_count,
                        const struct exif_entry *exif, int exif_count)
{
    struct writer w = {.data = "MM\0\x2a\0\0\0\x08", .size = 8};
    size_t ifd0_size = 2 + 12 * (size_t)(ifd0_count + (exif_count ? 1 : 0)) + 4;
    size_t exif_at = 8 + ifd0_size;
    w.extra = exif_at + 2 + 12 * (size_t)exif_count + 4;
    struct exif_entry all[16];
    for (int i = 0; i < ifd0_count; i++)
        all[i] = ifd0[i];
    if (exif_count)
        all[ifd0_count++] =
            (struct exif_entry){.tag = 0x8769, .type = 4, .value = (uint32_t)exif_at};
    put_ifd(&w, all, ifd0_count);
    if (exif_count)
        put_ifd(&w, exif, exif_count);
    size_t size = w.extra;
    struct bytes out = {must(malloc(size + 6)), size + 6};
    static const uint8_t head[6] = {'E', 'x', 'i', 'f', 0, 0};
    memcpy(out.data, head, sizeof head);
    memcpy(out.data + 6, w.data, size);
    return out;
}

struct bytes exif_with_orientation(int orientation)
{
    struct exif_entry entry = {.tag = 0x0112, .type = 3, .value = (uint32_t)orientation};
    return exif_build(&entry, 1, NULL, 0);
}

/* ---- Bytes -------------------------------------------------------------------------------- */

void bytes_free(struct bytes *bytes)
{
    free(bytes->data);
    *bytes = (struct bytes){0};
}

struct bytes bytes_read(const char *path)
{
    struct bytes out = {0};
    FILE *file = fopen(path, "rb");
    if (!file)
        return out;
    uint8_t chunk[65536];
    size_t got;
    while ((got = fread(chunk, 1, sizeof chunk, file)) > 0) {
        out.data = must(realloc(out.data, out.size + got));
        memcpy(out.data + out.size, chunk, got);
        out.size += got;
    }
    fclose(file);
    return out;
}

void bytes_write(const struct bytes *bytes, const char *path)
{
    FILE *file = must(fopen(path, "wb"));
    if ((bytes->size > 0 && fwrite(bytes->data, 1, bytes->size, file) != bytes->size) ||
        fclose(file) != 0)
        must(NULL);
}
