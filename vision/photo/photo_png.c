/* PNG through libpng: every kind is brought to 8 bits, laid over white and averaged into boxes. */
#include "photo_internal.h"

#include <limits.h>
#include <setjmp.h>
#include <stdlib.h>
#include <string.h>

#include <png.h>
#include <zlib.h>

struct reader {
    png_structp png;
    png_infop info;
    const uint8_t *bytes;
    size_t size, at;
    bool ended_early;
    bool out_of_memory;
    uint8_t *row;   /* one row as libpng gives it */
    uint16_t *sums; /* per channel of a reduced pixel; at most 64 x 255 */
    uint8_t *line;  /* one finished row */
};

/* ---- Errors and bytes ------------------------------------------------------------------------ */

static _Noreturn void on_error(png_structp png, png_const_charp text)
{
    (void)text;
    png_longjmp(png, 1);
}

static void on_warning(png_structp png, png_const_charp text)
{
    (void)png;
    (void)text;
}

static void on_read(png_structp png, png_bytep to, size_t count)
{
    struct reader *reader = png_get_io_ptr(png);
    if (count > reader->size - reader->at) {
        reader->ended_early = true;
        png_error(png, "end of file");
    }
    memcpy(to, reader->bytes + reader->at, count);
    reader->at += count;
}

static enum vision_reason reason_of_error(const struct reader *reader)
{
    if (reader->out_of_memory)
        return VISION_NO_MEMORY;
    return reader->ended_early ? VISION_TRUNCATED_PHOTO : VISION_BROKEN_PHOTO;
}

static bool reader_init(struct reader *reader, const uint8_t *bytes, size_t size)
{
    *reader = (struct reader){.bytes = bytes, .size = size};
    reader->png = png_create_read_struct(PNG_LIBPNG_VER_STRING, NULL, on_error, on_warning);
    if (!reader->png)
        return false;
    reader->info = png_create_info_struct(reader->png);
    if (!reader->info) {
        png_destroy_read_struct(&reader->png, NULL, NULL);
        return false;
    }
    png_set_read_fn(reader->png, reader, on_read);
    png_set_user_limits(reader->png, INT_MAX, INT_MAX); /* the header judged the size before */
    png_set_chunk_malloc_max(reader->png, 0); /* nor is a chunk too long that is passed over */
    return true;
}

static void reader_clear(struct reader *reader)
{
    png_free(reader->png, reader->row);
    png_free(reader->png, reader->sums);
    png_free(reader->png, reader->line);
    png_destroy_read_struct(&reader->png, &reader->info, NULL);
}

/* ---- Header ---------------------------------------------------------------------------------- */

static uint32_t big_endian(const uint8_t *b)
{
    return (uint32_t)b[0] << 24 | (uint32_t)b[1] << 16 | (uint32_t)b[2] << 8 | b[3];
}

static void read_exif_chunk(const uint8_t *data, size_t length, struct photo_exif *exif)
{
    static const uint8_t prefix[6] = {'E', 'x', 'i', 'f', 0, 0}; /* as JPEG has it; PNG leaves it */
    if (length > 65536)
        return;
    uint8_t *whole = malloc(sizeof prefix + length);
    if (!whole)
        return;
    memcpy(whole, prefix, sizeof prefix);
    memcpy(whole + sizeof prefix, data, length);
    photo_exif_parse(whole, sizeof prefix + length, exif);
    free(whole);
}

/* Looks through the chunks for EXIF (PNG third edition: eXIf may also stand after the pixels) and
 * for the animation mark (acTL, before the pixels). libpng reads the pixels later. */
static enum vision_reason scan_chunks(const uint8_t *bytes, size_t size, struct photo_exif *exif)
{
    bool pixels_seen = false;
    for (size_t at = 8; size - at >= 12;) {
        size_t length = big_endian(bytes + at);
        const uint8_t *type = bytes + at + 4;
        if (length > size - at - 12)
            break;
        const uint8_t *data = type + 4;
        if (memcmp(type, "IDAT", 4) == 0)
            pixels_seen = true;
        else if (memcmp(type, "acTL", 4) == 0 && !pixels_seen)
            return VISION_ANIMATED_PHOTO;
        else if (memcmp(type, "eXIf", 4) == 0 &&
                 crc32(0, type, (uInt)length + 4) == big_endian(data + length))
            read_exif_chunk(data, length, exif);
        at += length + 12;
    }
    return VISION_REASON_NONE;
}

enum vision_reason photo_png_header(const uint8_t *bytes, size_t size, struct photo_header *out)
{
    *out = (struct photo_header){0};
    if (size < 8 + 12 + 13)
        return VISION_TRUNCATED_PHOTO;
    const uint8_t *ihdr = bytes + 8;
    uint32_t width = big_endian(ihdr + 8), height = big_endian(ihdr + 12);
    if (big_endian(ihdr) != 13 || memcmp(ihdr + 4, "IHDR", 4) != 0 ||
        crc32(0, ihdr + 4, 17) != big_endian(ihdr + 21) || width == 0 || height == 0 ||
        width > INT_MAX || height > INT_MAX)
        return VISION_BROKEN_PHOTO;
    if ((double)width * height > VISION_MAX_PIXELS)
        return VISION_HUGE_PHOTO;
    out->width = (int)width;
    out->height = (int)height;
    return scan_chunks(bytes, size, &out->exif);
}

/* ---- Pixels ---------------------------------------------------------------------------------- */

/* The share of a photo's pixels that one pass of an interlaced file carries; all of them without.
 */
struct pass {
    int first_x, first_y, step_x, step_y;
};

static uint8_t over_white(int value, int alpha)
{
    return (uint8_t)((value * alpha + 255 * (255 - alpha) + 127) / 255);
}

/* A pixel of 1 to 4 channels as libpng gives it, to grey or RGB. */
static inline void convert_pixel(const uint8_t *from, int from_channels, uint8_t *to, int channels)
{
    int r = from[0];
    int g = from_channels >= 3 ? from[1] : r;
    int b = from_channels >= 3 ? from[2] : r;
    if (from_channels == 2 || from_channels == 4) {
        int alpha = from[from_channels - 1];
        r = over_white(r, alpha);
        g = over_white(g, alpha);
        b = over_white(b, alpha);
    }
    if (channels == 1) {
        to[0] = from_channels >= 3 ? photo_luma(r, g, b) : (uint8_t)r;
    } else {
        to[0] = (uint8_t)r;
        to[1] = (uint8_t)g;
        to[2] = (uint8_t)b;
    }
}

/* Adds one row of a pass to the sums of the row of boxes that it falls into. */
static void add_row(struct reader *reader, const struct photo_window *window, struct pass pass,
                    int width, uint16_t *sums)
{
    int from_channels = png_get_channels(reader->png, reader->info);
    int x_end = window->x1 * window->reduce < width ? window->x1 * window->reduce : width;
    const uint8_t *from = reader->row;
    for (int x = pass.first_x; x < x_end; x += pass.step_x, from += from_channels) {
        int box = x / window->reduce - window->x0;
        if (box < 0)
            continue;
        uint8_t pixel[PHOTO_MAX_CHANNELS];
        convert_pixel(from, from_channels, pixel, window->channels);
        uint16_t *sum = sums + (size_t)box * (size_t)window->channels;
        sum[0] = (uint16_t)(sum[0] + pixel[0]);
        if (window->channels == 3) {
            sum[1] = (uint16_t)(sum[1] + pixel[1]);
            sum[2] = (uint16_t)(sum[2] + pixel[2]);
        }
    }
}

/* How many of the photo's pixels lie in a box along one side: the last may be partly filled, but
 * no window reaches past it. */
static int box_side(int box, int reduce, int side)
{
    int left = side - box * reduce;
    return left < 1 ? 1 : left < reduce ? left : reduce;
}

/* Turns the sums of box row y into means and hands them on. */
static void finish_row(struct reader *reader, const struct photo_window *window, int y,
                       const uint16_t *sums, struct photo_rows *rows)
{
    int width = (int)png_get_image_width(reader->png, reader->info);
    int height = (int)png_get_image_height(reader->png, reader->info);
    int tall = box_side(y, window->reduce, height);
    size_t at = 0;
    for (int box = window->x0; box < window->x1; box++) {
        int count = tall * box_side(box, window->reduce, width);
        for (int c = 0; c < window->channels; c++, at++)
            reader->line[at] = (uint8_t)((sums[at] + count / 2) / count);
    }
    photo_rows_put(rows, reader->line);
}

/* Rows from the top, one row of boxes at a time; stops below the window. */
static void read_sequential(struct reader *reader, const struct photo_window *window,
                            struct photo_rows *rows)
{
    static const struct pass whole = {0, 0, 1, 1};
    int width = (int)png_get_image_width(reader->png, reader->info);
    int height = (int)png_get_image_height(reader->png, reader->info);
    int reduce = window->reduce;
    size_t sums_size =
        (size_t)(window->x1 - window->x0) * (size_t)window->channels * sizeof *reader->sums;
    for (int y = 0; y < window->y1 * reduce && y < height; y++) {
        png_read_row(reader->png, reader->row, NULL);
        if (y / reduce < window->y0)
            continue;
        if (y % reduce == 0)
            memset(reader->sums, 0, sums_size);
        add_row(reader, window, whole, width, reader->sums);
        if (y % reduce == reduce - 1 || y == height - 1)
            finish_row(reader, window, y / reduce, reader->sums, rows);
    }
}

/* An interlaced file spreads every box over its seven passes, so the sums of the whole window are
 * kept until the last. */
static void read_interlaced(struct reader *reader, const struct photo_window *window,
                            struct photo_rows *rows)
{
    int width = (int)png_get_image_width(reader->png, reader->info);
    int height = (int)png_get_image_height(reader->png, reader->info);
    size_t length = (size_t)(window->x1 - window->x0) * (size_t)window->channels;
    for (int i = 0; i < PNG_INTERLACE_ADAM7_PASSES; i++) {
        struct pass pass = {(int)PNG_PASS_START_COL(i), (int)PNG_PASS_START_ROW(i),
                            (int)PNG_PASS_COL_OFFSET(i), (int)PNG_PASS_ROW_OFFSET(i)};
        if (pass.first_x >= width)
            continue;
        for (int y = pass.first_y; y < height; y += pass.step_y) {
            png_read_row(reader->png, reader->row, NULL);
            int box = y / window->reduce;
            if (box >= window->y0 && box < window->y1)
                add_row(reader, window, pass, width,
                        reader->sums + (size_t)(box - window->y0) * length);
        }
    }
    for (int y = window->y0; y < window->y1; y++)
        finish_row(reader, window, y, reader->sums + (size_t)(y - window->y0) * length, rows);
}

/* Brings every kind of PNG to 8-bit grey or RGB, with alpha where there is any. Gamma is left
 * alone: cameras and screens write sRGB whatever gAMA says. */
static void choose_transforms(struct reader *reader)
{
    png_structp png = reader->png;
    png_set_expand(png); /* palette to RGB, fewer bits to 8, tRNS to alpha */
    png_set_scale_16(png);
    png_set_crc_action(png, PNG_CRC_ERROR_QUIT, PNG_CRC_WARN_DISCARD);
    png_read_update_info(png, reader->info);
}

static bool allocate(struct reader *reader, const struct photo_window *window, bool interlaced)
{
    size_t length = (size_t)(window->x1 - window->x0) * (size_t)window->channels;
    size_t kept_rows = interlaced ? (size_t)(window->y1 - window->y0) : 1;
    size_t sums_size = length * kept_rows * sizeof *reader->sums;
    reader->row = png_malloc_warn(reader->png, png_get_rowbytes(reader->png, reader->info));
    reader->sums = png_malloc_warn(reader->png, sums_size);
    reader->line = png_malloc_warn(reader->png, length);
    if (!reader->row || !reader->sums || !reader->line)
        return false;
    memset(reader->sums, 0, sums_size);
    return true;
}

static void read_pixels(struct reader *reader, const struct photo_window *window,
                        struct photo_rows *rows)
{
    /* All but palette and transparency: libpng would unpack every text, 8 MB of each 8 kB. */
    png_set_keep_unknown_chunks(reader->png, PNG_HANDLE_CHUNK_NEVER, NULL, -1);
    png_read_info(reader->png, reader->info);
    bool interlaced = png_get_interlace_type(reader->png, reader->info) == PNG_INTERLACE_ADAM7;
    choose_transforms(reader);
    if (!allocate(reader, window, interlaced)) {
        reader->out_of_memory = true;
        png_error(reader->png, "memory");
    }
    if (interlaced)
        read_interlaced(reader, window, rows);
    else
        read_sequential(reader, window, rows);
}

/* The reader lies in the caller: of objects of this function what is changed between setjmp() and a
 * jump back would be lost (C11, 7.13.2.1). */
static enum vision_reason decode(struct reader *reader, const struct photo_window *window,
                                 struct photo_rows *rows)
{
    if (setjmp(png_jmpbuf(reader->png)))
        return reason_of_error(reader);
    read_pixels(reader, window, rows);
    return VISION_REASON_NONE;
}

enum vision_reason photo_png_decode(const uint8_t *bytes, size_t size,
                                    const struct photo_window *window, struct photo_rows *rows)
{
    struct reader reader;
    if (!reader_init(&reader, bytes, size))
        return VISION_NO_MEMORY;
    enum vision_reason reason = decode(&reader, window, rows);
    reader_clear(&reader);
    return reason;
}
