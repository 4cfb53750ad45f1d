/* JPEG through libjpeg-turbo: reduced sizes come from its scaled inverse DCT, and of an area only
 * the rows and blocks that it touches are transformed. */
#include "photo_internal.h"

#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>

#include <jerror.h> /* after jpeglib.h: some of its codes depend on that */

/* Progressive files keep all coefficients in memory, 3 bytes a pixel with halved chroma, 8 at most:
 * more than this, of 60 megapixels or more, is refused rather than swapped. */
#define MAX_COEFFICIENT_BYTES (512L << 20)
/* Encoders write about 10 scans. Thousands, each of a few bytes, are an attack on our time. */
#define MAX_SCANS 100
/* Fancy chroma upsampling looks one chroma sample, two pixels, beyond the edge of what it makes. */
#define CROP_MARGIN_PX 2

struct reader {
    struct jpeg_decompress_struct jpeg;
    struct jpeg_error_mgr errors;
    struct jpeg_progress_mgr progress;
    jmp_buf escape;
    bool too_many_scans;
    bool ended_early; /* the file ended before its end marker */
    bool damaged;     /* entropy-coded data is wrong or missing */
    uint8_t *row;
};

/* ---- Errors ---------------------------------------------------------------------------------- */

static _Noreturn void on_error(j_common_ptr common)
{
    struct reader *reader = common->client_data;
    longjmp(reader->escape, 1);
}

/* Warnings come here with level -1. Some camera files draw harmless ones, such as stray bytes
 * before a marker; only those that mean wrong pixels count. */
static void on_message(j_common_ptr common, int level)
{
    struct reader *reader = common->client_data;
    if (level >= 0)
        return;
    switch (common->err->msg_code) {
    case JWRN_JPEG_EOF:
        reader->ended_early = true;
        break;
    case JWRN_HIT_MARKER:
    case JWRN_HUFF_BAD_CODE:
    case JWRN_ARITH_BAD_CODE:
    case JWRN_MUST_RESYNC:
        reader->damaged = true;
        break;
    default:
        break;
    }
}

static void on_progress(j_common_ptr common)
{
    struct reader *reader = common->client_data;
    if (reader->jpeg.input_scan_number > MAX_SCANS) {
        reader->too_many_scans = true;
        longjmp(reader->escape, 1);
    }
}

/* The reason behind an error that libjpeg-turbo could not go on from. */
static enum vision_reason reason_of_error(const struct reader *reader)
{
    if (reader->too_many_scans)
        return VISION_BROKEN_PHOTO;
    switch (reader->errors.msg_code) {
    case JERR_OUT_OF_MEMORY:
        return VISION_NO_MEMORY;
    case JERR_IMAGE_TOO_BIG:
    case JERR_WIDTH_OVERFLOW:
    case JERR_NO_BACKING_STORE: /* coefficients beyond max_memory_to_use */
        return VISION_HUGE_PHOTO;
    default:
        return reader->ended_early ? VISION_TRUNCATED_PHOTO : VISION_BROKEN_PHOTO;
    }
}

/* ---- Start and end --------------------------------------------------------------------------- */

/* Everything that cannot fail; the rest runs under setjmp. */
static void reader_init(struct reader *reader)
{
    memset(reader, 0, sizeof *reader);
    reader->jpeg.err = jpeg_std_error(&reader->errors);
    reader->errors.error_exit = on_error;
    reader->errors.emit_message = on_message;
    reader->progress.progress_monitor = on_progress;
    reader->jpeg.client_data = reader;
}

static void reader_clear(struct reader *reader)
{
    jpeg_destroy_decompress(&reader->jpeg);
    free(reader->row);
}

static void start(struct reader *reader, const uint8_t *bytes, size_t size)
{
    jpeg_create_decompress(&reader->jpeg);
    reader->jpeg.progress = &reader->progress;
    reader->jpeg.mem->max_memory_to_use = MAX_COEFFICIENT_BYTES;
    jpeg_mem_src(&reader->jpeg, bytes, size);
}

/* ---- Header ---------------------------------------------------------------------------------- */

static void find_exif(const struct jpeg_decompress_struct *jpeg, struct photo_exif *exif)
{
    for (jpeg_saved_marker_ptr marker = jpeg->marker_list; marker; marker = marker->next) {
        if (marker->data_length >= 6 && memcmp(marker->data, "Exif\0\0", 6) == 0) {
            photo_exif_parse(marker->data, marker->data_length, exif);
            return;
        }
    }
}

/* What is changed between setjmp() and a jump back lies in the callers of the functions that have
 * the setjmp(): of objects of their own it would be lost (C11, 7.13.2.1). */
static enum vision_reason read_header(struct reader *reader, const uint8_t *bytes, size_t size,
                                      struct photo_header *out)
{
    if (setjmp(reader->escape))
        return reason_of_error(reader);
    start(reader, bytes, size);
    jpeg_save_markers(&reader->jpeg, JPEG_APP0 + 1, 0xffff);
    jpeg_read_header(&reader->jpeg, TRUE);
    *out = (struct photo_header){.width = (int)reader->jpeg.image_width,
                                 .height = (int)reader->jpeg.image_height};
    if ((double)out->width * out->height > VISION_MAX_PIXELS)
        return VISION_HUGE_PHOTO;
    find_exif(&reader->jpeg, &out->exif);
    return VISION_REASON_NONE;
}

enum vision_reason photo_jpeg_header(const uint8_t *bytes, size_t size, struct photo_header *out)
{
    struct reader reader;
    reader_init(&reader);
    enum vision_reason reason = read_header(&reader, bytes, size, out);
    reader_clear(&reader);
    return reason;
}

/* ---- Rows ------------------------------------------------------------------------------------ */

static void choose_settings(struct jpeg_decompress_struct *jpeg, const struct photo_window *window)
{
    bool inks = jpeg->jpeg_color_space == JCS_CMYK || jpeg->jpeg_color_space == JCS_YCCK;
    jpeg->scale_num = 8 / (unsigned)window->reduce;
    jpeg->scale_denom = 8;
    jpeg->dct_method = JDCT_ISLOW;
    /* Smooth chroma matters where edges are measured; a reduced photo is only searched. */
    jpeg->do_fancy_upsampling = window->reduce == 1;
    jpeg->do_block_smoothing = FALSE; /* would invent pixels that a cut-off file lacks */
    if (inks)
        jpeg->out_color_space = JCS_CMYK;
    else
        jpeg->out_color_space = window->channels == 1 ? JCS_GRAYSCALE : JCS_RGB;
}

/* Narrows the rows to the window and a margin. Returns the column at which they now start; it lies
 * left of the window since cropping goes by whole blocks. */
static int crop_columns(struct jpeg_decompress_struct *jpeg, const struct photo_window *window)
{
    int full = (int)jpeg->output_width;
    int from = window->x0 < CROP_MARGIN_PX ? 0 : window->x0 - CROP_MARGIN_PX;
    int to = window->x1 + CROP_MARGIN_PX > full ? full : window->x1 + CROP_MARGIN_PX;
    if (from == 0 && to == full)
        return 0;
    JDIMENSION offset = (JDIMENSION)from, width = (JDIMENSION)(to - from);
    jpeg_crop_scanline(jpeg, &offset, &width);
    return (int)offset;
}

/* Inks to RGB or grey, in place. Files by the usual image programs, told by their Adobe marker,
 * store the inks inverted (255 is no ink). A plain product: no ink profile is applied. */
static void inks_to_channels(const struct reader *reader, uint8_t *row, int count, int channels)
{
    int flip = reader->jpeg.saw_Adobe_marker ? 0 : 255;
    for (int i = 0; i < count; i++) {
        const uint8_t *ink = row + (size_t)i * 4;
        int light = ink[3] ^ flip;
        int r = ((ink[0] ^ flip) * light + 127) / 255;
        int g = ((ink[1] ^ flip) * light + 127) / 255;
        int b = ((ink[2] ^ flip) * light + 127) / 255;
        uint8_t *to = row + (size_t)i * (size_t)channels;
        if (channels == 1) {
            to[0] = photo_luma(r, g, b);
        } else {
            to[0] = (uint8_t)r;
            to[1] = (uint8_t)g;
            to[2] = (uint8_t)b;
        }
    }
}

static void read_rows(struct reader *reader, const struct photo_window *window,
                      struct photo_rows *rows)
{
    struct jpeg_decompress_struct *jpeg = &reader->jpeg;
    int first_column = crop_columns(jpeg, window);
    size_t components = (size_t)jpeg->output_components;
    reader->row = malloc((size_t)jpeg->output_width * components);
    if (!reader->row)
        ERREXIT1(jpeg, JERR_OUT_OF_MEMORY, 0);
    if (window->y0 > 0)
        jpeg_skip_scanlines(jpeg, (JDIMENSION)window->y0);
    uint8_t *start = reader->row + (size_t)(window->x0 - first_column) * components;
    while ((int)jpeg->output_scanline < window->y1) {
        jpeg_read_scanlines(jpeg, &reader->row, 1);
        if (jpeg->out_color_space == JCS_CMYK)
            inks_to_channels(reader, start, window->x1 - window->x0, window->channels);
        photo_rows_put(rows, start);
    }
}

/* A progressive file that lost only its end marker still has every bit of every coefficient. */
static bool coefficients_missing(const struct jpeg_decompress_struct *jpeg)
{
    if (!jpeg->coef_bits)
        return false;
    for (int component = 0; component < jpeg->num_components; component++)
        for (int k = 0; k < DCTSIZE2; k++)
            if (jpeg->coef_bits[component][k] != 0)
                return true;
    return false;
}

static enum vision_reason verdict(const struct reader *reader)
{
    if (reader->ended_early && (reader->damaged || coefficients_missing(&reader->jpeg)))
        return VISION_TRUNCATED_PHOTO;
    return reader->damaged ? VISION_BROKEN_PHOTO : VISION_REASON_NONE;
}

static enum vision_reason decode(struct reader *reader, const uint8_t *bytes, size_t size,
                                 const struct photo_window *window, struct photo_rows *rows)
{
    if (setjmp(reader->escape))
        return reason_of_error(reader);
    start(reader, bytes, size);
    jpeg_read_header(&reader->jpeg, TRUE);
    choose_settings(&reader->jpeg, window);
    jpeg_start_decompress(&reader->jpeg);
    read_rows(reader, window, rows);
    return verdict(reader);
}

enum vision_reason photo_jpeg_decode(const uint8_t *bytes, size_t size,
                                     const struct photo_window *window, struct photo_rows *rows)
{
    struct reader reader;
    reader_init(&reader);
    enum vision_reason reason = decode(&reader, bytes, size, window, rows);
    reader_clear(&reader);
    return reason;
}
