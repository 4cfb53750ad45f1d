#include "picture_record.h"

#include <errno.h>
#include <nettle/sha2.h>
#include <png.h>
#include <stdlib.h>
#include <string.h>

#define KEYWORD "armsquare"
#define DIGEST_KEYWORD "armsquare-sha256"
#define HEX_SIZE (2 * SHA256_DIGEST_SIZE + 1)

/* ---- Digests ------------------------------------------------------------------------------ */

static void finish_hex(struct sha256_ctx *sha, char hex[HEX_SIZE])
{
    uint8_t digest[SHA256_DIGEST_SIZE];
    sha256_digest(sha, sizeof digest, digest);
    for (size_t i = 0; i < sizeof digest; i++)
        snprintf(hex + 2 * i, 3, "%02x", digest[i]);
}

static void digest_text(const char *text, char hex[HEX_SIZE])
{
    struct sha256_ctx sha;
    sha256_init(&sha);
    sha256_update(&sha, strlen(text), (const uint8_t *)text);
    finish_hex(&sha, hex);
}

static void begin_pixels(struct sha256_ctx *sha, int width, int height)
{
    char head[40];
    int length = snprintf(head, sizeof head, "P6\n%d %d\n255\n", width, height);
    sha256_init(sha);
    sha256_update(sha, (size_t)length, (const uint8_t *)head);
}

static bool digest_xrgb(int width, int height, const uint8_t *xrgb, size_t stride,
                        char hex[HEX_SIZE])
{
    struct sha256_ctx sha;
    size_t row_size = (size_t)width * 3;
    uint8_t *row = malloc(row_size);
    if (!row)
        return false;
    begin_pixels(&sha, width, height);
    for (int y = 0; y < height; y++) {
        for (int x = 0; x < width; x++) {
            uint32_t pixel;
            memcpy(&pixel, xrgb + (size_t)y * stride + 4 * (size_t)x, sizeof pixel);
            row[3 * x] = (uint8_t)(pixel >> 16);
            row[3 * x + 1] = (uint8_t)(pixel >> 8);
            row[3 * x + 2] = (uint8_t)pixel;
        }
        sha256_update(&sha, row_size, row);
    }
    free(row);
    finish_hex(&sha, hex);
    return true;
}

static void digest_image(const struct vision_image *image, char hex[HEX_SIZE])
{
    struct sha256_ctx sha;
    begin_pixels(&sha, image->width, image->height);
    for (int y = 0; y < image->height; y++)
        sha256_update(&sha, (size_t)image->width * 3, image->pixels + (size_t)y * image->stride);
    finish_hex(&sha, hex);
}

/* ---- Writing ------------------------------------------------------------------------------ */

bool picture_record_write(const char *path, int width_px, int height_px, const uint8_t *xrgb,
                          size_t stride_bytes, const json_t *measurement)
{
    char pixels_hex[HEX_SIZE], text_hex[HEX_SIZE], digests[2 * HEX_SIZE + 20];
    /* ASCII survives programs that keep texts as Latin-1. */
    char *text = json_dumps(measurement, JSON_COMPACT | JSON_REAL_PRECISION(9) | JSON_ENSURE_ASCII);
    if (!text || !digest_xrgb(width_px, height_px, xrgb, stride_bytes, pixels_hex)) {
        free(text);
        errno = ENOMEM;
        return false;
    }
    digest_text(text, text_hex);
    snprintf(digests, sizeof digests, "pixels=%s text=%s", pixels_hex, text_hex);
    const struct png_text texts[] = {{KEYWORD, text}, {DIGEST_KEYWORD, digests}};
    struct png_header header = {.width_px = width_px,
                                .height_px = height_px,
                                .pixels = PNG_PIXELS_XRGB,
                                .quick = true,
                                .texts = texts,
                                .text_count = 2};
    bool written = png_write_file(path, &header, xrgb, stride_bytes);
    int saved = errno;
    free(text);
    errno = saved;
    return written;
}

/* ---- Reading ------------------------------------------------------------------------------ */

/* What a chunk of the file holds. */
enum text { TEXT_RECORD, TEXT_DIGESTS, TEXT_OTHER, TEXT_NONE };

static const char *const keywords[] = {[TEXT_RECORD] = KEYWORD, [TEXT_DIGESTS] = DIGEST_KEYWORD};

static enum text text_of(const uint8_t *type, const uint8_t *data, size_t length)
{
    const bool is_text = memcmp(type, "tEXt", 4) == 0 || memcmp(type + 1, "TXt", 3) == 0;
    for (int i = 0; is_text && i < TEXT_OTHER; i++)
        if (length > strlen(keywords[i]) && memcmp(data, keywords[i], strlen(keywords[i]) + 1) == 0)
            return (enum text)i;
    return is_text ? TEXT_OTHER : TEXT_NONE;
}

struct chunk {
    const uint8_t *bytes;
    size_t size;
    enum text text;
};

/* Length, type, data, CRC (PNG 1.2, 3.2). false at the end, and where a chunk is cut. */
static bool next_chunk(const uint8_t *bytes, size_t size, size_t *at, struct chunk *out)
{
    const size_t head = 8, crc = 4;
    if (size - *at < head)
        return false;
    const uint8_t *b = bytes + *at;
    const size_t length = (size_t)b[0] << 24 | (size_t)b[1] << 16 | (size_t)b[2] << 8 | b[3];
    if (length + crc > size - *at - head)
        return false;
    *out = (struct chunk){b, head + length + crc, text_of(b + 4, b + head, length)};
    *at += out->size;
    return true;
}

/* A copy of the file with the first text of each kind that is ours and no other: libpng unpacks
 * each, 8 MB of 8 kB. The caller's; NULL without memory. */
static uint8_t *without_other_texts(const uint8_t *bytes, size_t size, size_t *kept)
{
    bool has[TEXT_NONE + 1] = {[TEXT_OTHER] = true};
    size_t at = 8;
    struct chunk chunk;
    uint8_t *out = malloc(size);
    if (!out)
        return NULL;
    memcpy(out, bytes, *kept = at);
    while (next_chunk(bytes, size, &at, &chunk)) {
        if (has[chunk.text])
            continue;
        has[chunk.text] = chunk.text != TEXT_NONE;
        memcpy(out + *kept, chunk.bytes, chunk.size);
        *kept += chunk.size;
    }
    memcpy(out + *kept, bytes + at, size - at); /* what is cut is libpng's to judge */
    *kept += size - at;
    return out;
}

/* libpng's own would print. */
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

struct text_reader {
    png_structp png;
    png_infop before, after; /* texts may stand before and after the pixels */
    png_bytep row;
};

static void text_reader_free(struct text_reader *reader)
{
    if (reader->png)
        png_free(reader->png, reader->row);
    png_destroy_read_struct(&reader->png, &reader->before, &reader->after);
    free(reader);
}

/* Whatever kind of text chunk another program may have turned ours into. */
static char *copy_text(png_structp png, png_infop info, const char *keyword)
{
    png_textp texts = NULL;
    int count = png_get_text(png, info, &texts, NULL);
    for (int i = 0; i < count; i++)
        if (strcmp(texts[i].key, keyword) == 0)
            return strdup(texts[i].text ? texts[i].text : "");
    return NULL;
}

/* The pixels must be passed over to reach the texts behind them. */
static void read_through(struct text_reader *reader, FILE *file)
{
    png_init_io(reader->png, file);
    png_read_info(reader->png, reader->before);
    int passes = png_set_interlace_handling(reader->png);
    png_read_update_info(reader->png, reader->before);
    reader->row = png_malloc(reader->png, png_get_rowbytes(reader->png, reader->before));
    png_uint_32 rows = png_get_image_height(reader->png, reader->before) * (png_uint_32)passes;
    for (png_uint_32 y = 0; y < rows; y++)
        png_read_row(reader->png, reader->row, NULL);
    png_read_end(reader->png, reader->after);
}

/* Both texts, each NULL when it is not there; owned by the caller. */
static bool read_texts(FILE *file, char **text, char **digests)
{
    /* On the heap: read_through() changes it between setjmp() and a jump back (C11, 7.13.2.1). */
    struct text_reader *reader = calloc(1, sizeof *reader);
    if (!reader)
        return false;
    reader->png = png_create_read_struct(PNG_LIBPNG_VER_STRING, NULL, on_error, on_warning);
    if (reader->png) {
        reader->before = png_create_info_struct(reader->png);
        reader->after = png_create_info_struct(reader->png);
    }
    if (!reader->before || !reader->after || setjmp(png_jmpbuf(reader->png))) {
        text_reader_free(reader);
        return false;
    }
    read_through(reader, file);
    char **const wanted[] = {[TEXT_RECORD] = text, [TEXT_DIGESTS] = digests};
    for (int i = 0; i < TEXT_OTHER; i++) {
        *wanted[i] = copy_text(reader->png, reader->before, keywords[i]);
        if (!*wanted[i])
            *wanted[i] = copy_text(reader->png, reader->after, keywords[i]);
    }
    text_reader_free(reader);
    return true;
}

static bool pixels_match(const struct vision_photo *photo, const char *expected_hex)
{
    struct vision_image image = {0};
    char hex[HEX_SIZE] = "";
    if (vision_photo_decode(photo, 1, NULL, 3, &image) == VISION_REASON_NONE)
        digest_image(&image, hex);
    vision_image_clear(&image);
    return strcmp(hex, expected_hex) == 0;
}

static void judge(const struct vision_photo *photo, const char *text, const char *digests,
                  struct picture_record *out)
{
    char pixels_hex[HEX_SIZE] = "", text_hex[HEX_SIZE] = "", found_hex[HEX_SIZE];
    /* 64 = 2 * SHA256_DIGEST_SIZE */
    bool have = digests && sscanf(digests, "pixels=%64s text=%64s", pixels_hex, text_hex) == 2;
    digest_text(text, found_hex);
    json_t *measurement = json_loads(text, 0, NULL);
    if (!json_is_object(measurement)) {
        json_decref(measurement);
        measurement = NULL;
    }
    *out = (struct picture_record){.measurement = measurement,
                                   .text_altered = !have || strcmp(found_hex, text_hex) != 0,
                                   .pixels_altered = !have || !pixels_match(photo, pixels_hex)};
}

static bool is_png(const uint8_t *bytes, size_t size)
{
    return size >= 8 && png_sig_cmp(bytes, 0, 8) == 0;
}

static enum picture_record_fault read_photo(const struct vision_photo *photo,
                                            struct picture_record *out)
{
    char *text = NULL, *digests = NULL;
    size_t size, kept;
    const uint8_t *bytes = vision_photo_get_bytes(photo, &size);
    uint8_t *copy = is_png(bytes, size) ? without_other_texts(bytes, size, &kept) : NULL;
    FILE *file = copy ? fmemopen(copy, kept, "rb") : NULL;
    bool readable = file && read_texts(file, &text, &digests);
    if (file)
        fclose(file);
    free(copy);
    enum picture_record_fault fault = PICTURE_RECORD_NO_PNG;
    if (readable)
        fault = text ? PICTURE_RECORD_FINE : PICTURE_RECORD_NONE;
    if (fault == PICTURE_RECORD_FINE)
        judge(photo, text, digests, out);
    free(text);
    free(digests);
    return fault;
}

enum picture_record_fault picture_record_read(const char *path, struct picture_record *out)
{
    *out = (struct picture_record){0};
    struct vision_photo *photo = NULL;
    enum vision_reason reason = vision_photo_open(path, &photo);
    switch (reason) {
    case VISION_NO_FILE:
        return PICTURE_RECORD_NO_FILE;
    case VISION_EMPTY_FILE:
        return PICTURE_RECORD_EMPTY;
    case VISION_TINY_PHOTO:
        return PICTURE_RECORD_NONE;
    case VISION_REASON_NONE:
        break;
    default:
        return PICTURE_RECORD_NO_PNG;
    }
    enum picture_record_fault fault = read_photo(photo, out);
    vision_photo_free(photo);
    return fault;
}

void picture_record_clear(struct picture_record *record)
{
    json_decref(record->measurement);
    *record = (struct picture_record){0};
}

/* Texts may stand behind the pixels as well. */
bool picture_record_is_in(const struct vision_photo *photo)
{
    size_t size, at = 8;
    const uint8_t *bytes = vision_photo_get_bytes(photo, &size);
    struct chunk chunk;
    while (is_png(bytes, size) && next_chunk(bytes, size, &at, &chunk))
        if (chunk.text == TEXT_RECORD)
            return true;
    return false;
}
