/* Opens photos and decodes pieces of them: the format is told from the first bytes, the reader of
 * that format delivers rows as stored, and here they are turned upright. */
#include "large_memory.h"
#include "photo_internal.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define MAX_FILE_BYTES ((size_t)512 << 20) /* no photo is larger; bounds memory */
#define MIN_SIDE_PX 64                     /* eight markers of eight cells each need more */

enum photo_format { FORMAT_JPEG, FORMAT_PNG };

struct vision_photo {
    enum photo_format format;
    const uint8_t *bytes;
    size_t size;
    uint8_t *owned; /* bytes, when we read them ourselves */
    int stored_width, stored_height;
    struct vision_photo_info info;
};

/* ---- Telling the format ---------------------------------------------------------------------- */

static const uint8_t png_signature[8] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'};
static const uint8_t jpeg_signature[3] = {0xff, 0xd8, 0xff};

/* ISO/IEC 14496-12 file type box, with the brands of ISO/IEC 23008-12 (HEIF) and AVIF. */
static bool is_heif(const uint8_t *bytes, size_t size)
{
    static const char brands[][5] = {"heic", "heix", "heim", "heis", "hevc", "hevx",
                                     "mif1", "msf1", "mif2", "avif", "avis"};
    if (size < 12 || memcmp(bytes + 4, "ftyp", 4) != 0)
        return false;
    size_t box = (size_t)bytes[0] << 24 | (size_t)bytes[1] << 16 | (size_t)bytes[2] << 8 | bytes[3];
    if (box > size)
        box = size;
    for (size_t at = 8; at + 4 <= box; at += at == 8 ? 8 : 4) /* after the major brand: a version */
        for (size_t i = 0; i < sizeof brands / sizeof brands[0]; i++)
            if (memcmp(bytes + at, brands[i], 4) == 0)
                return true;
    return false;
}

/* Does the file begin with the signature, or end inside it? */
static bool begins_with(const uint8_t *bytes, size_t size, const uint8_t *signature, size_t length)
{
    return memcmp(bytes, signature, size < length ? size : length) == 0;
}

static enum vision_reason tell_format(const uint8_t *bytes, size_t size, enum photo_format *format)
{
    if (size == 0)
        return VISION_EMPTY_FILE;
    size_t signature = 0;
    if (begins_with(bytes, size, jpeg_signature, sizeof jpeg_signature)) {
        *format = FORMAT_JPEG;
        signature = sizeof jpeg_signature;
    } else if (begins_with(bytes, size, png_signature, sizeof png_signature)) {
        *format = FORMAT_PNG;
        signature = sizeof png_signature;
    } else {
        return is_heif(bytes, size) ? VISION_HEIC_PHOTO : VISION_NOT_A_PHOTO;
    }
    return size < signature ? VISION_TRUNCATED_PHOTO : VISION_REASON_NONE;
}

/* ---- Opening --------------------------------------------------------------------------------- */

static void describe(struct vision_photo *photo, const struct photo_header *header)
{
    const struct photo_exif *exif = &header->exif;
    struct vision_photo_info *info = &photo->info;
    photo->stored_width = header->width;
    photo->stored_height = header->height;
    info->orientation = exif->orientation ? exif->orientation : 1;
    bool turned = info->orientation >= 5;
    info->width_px = turned ? header->height : header->width;
    info->height_px = turned ? header->width : header->height;
    info->focal_mm = exif->focal_mm;
    info->focal_px = photo_exif_focal_px(exif, header->width, header->height);
    memcpy(info->camera, exif->camera, sizeof info->camera);
}

enum vision_reason photo_open_any_size(const uint8_t *bytes, size_t size, struct vision_photo **out)
{
    *out = NULL;
    enum photo_format format = FORMAT_JPEG;
    enum vision_reason reason = tell_format(bytes, size, &format);
    if (reason != VISION_REASON_NONE)
        return reason;
    struct photo_header header = {0};
    reason = format == FORMAT_JPEG ? photo_jpeg_header(bytes, size, &header)
                                   : photo_png_header(bytes, size, &header);
    if (reason != VISION_REASON_NONE)
        return reason;
    struct vision_photo *photo = calloc(1, sizeof *photo);
    if (!photo)
        return VISION_NO_MEMORY;
    photo->format = format;
    photo->bytes = bytes;
    photo->size = size;
    describe(photo, &header);
    *out = photo;
    return VISION_REASON_NONE;
}

enum vision_reason vision_photo_open_bytes(const uint8_t *bytes, size_t size,
                                           struct vision_photo **out)
{
    enum vision_reason reason = photo_open_any_size(bytes, size, out);
    if (reason == VISION_REASON_NONE &&
        ((*out)->info.width_px < MIN_SIDE_PX || (*out)->info.height_px < MIN_SIDE_PX)) {
        vision_photo_free(*out);
        *out = NULL;
        return VISION_TINY_PHOTO;
    }
    return reason;
}

/* Reads until the end or one byte past the limit. Pipes have no size to go by, so it grows. */
static enum vision_reason read_whole(int fd, size_t expected, uint8_t **bytes, size_t *size)
{
    size_t room = expected + 1; /* one more, so that the end shows without growing */
    size_t have = 0;
    uint8_t *data = malloc(room);
    if (!data)
        return VISION_NO_MEMORY;
    for (;;) {
        ssize_t got = read(fd, data + have, room - have);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0 || have > MAX_FILE_BYTES) {
            free(data);
            return got < 0 ? VISION_NO_FILE : VISION_HUGE_PHOTO;
        }
        if (got == 0)
            break;
        have += (size_t)got;
        if (have < room)
            continue;
        uint8_t *more = realloc(data, room * 2);
        if (!more) {
            free(data);
            return VISION_NO_MEMORY;
        }
        data = more;
        room *= 2;
    }
    *bytes = data;
    *size = have;
    return VISION_REASON_NONE;
}

static enum vision_reason read_path(const char *path, uint8_t **bytes, size_t *size)
{
    /* a pipe to which nobody writes would never open; once open it ends at once */
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (fd < 0)
        return VISION_NO_FILE;
    fcntl(fd, F_SETFL, O_RDONLY);
    enum vision_reason reason = VISION_NO_FILE;
    struct stat about;
    if (fstat(fd, &about) == 0) { /* a folder fails when it is read */
        size_t expected = S_ISREG(about.st_mode) ? (size_t)about.st_size : 65536;
        reason =
            expected > MAX_FILE_BYTES ? VISION_HUGE_PHOTO : read_whole(fd, expected, bytes, size);
        if (reason == VISION_REASON_NONE && S_ISFIFO(about.st_mode) && *size == 0) {
            free(*bytes);
            reason = VISION_NO_FILE;
        }
    }
    int saved = errno;
    close(fd);
    errno = saved;
    return reason;
}

enum vision_reason vision_photo_open(const char *path, struct vision_photo **out)
{
    *out = NULL;
    uint8_t *bytes = NULL;
    size_t size = 0;
    enum vision_reason reason = read_path(path, &bytes, &size);
    if (reason != VISION_REASON_NONE)
        return reason;
    reason = vision_photo_open_bytes(bytes, size, out);
    if (reason == VISION_REASON_NONE)
        (*out)->owned = bytes;
    else
        free(bytes);
    return reason;
}

void vision_photo_free(struct vision_photo *photo)
{
    if (!photo)
        return;
    free(photo->owned);
    free(photo);
}

const struct vision_photo_info *vision_photo_get_info(const struct vision_photo *photo)
{
    return &photo->info;
}

const uint8_t *vision_photo_get_bytes(const struct vision_photo *photo, size_t *size)
{
    *size = photo->size;
    return photo->bytes;
}

/* ---- Turning upright ------------------------------------------------------------------------- */

/* How stored becomes viewed: first swap x and y, then mirror. EXIF 2.3, tag 0x0112, names where
 * the stored row 0 and column 0 are seen. */
struct turn {
    bool swap, mirror_x, mirror_y;
};

static const struct turn turns[9] = {
    [1] = {false, false, false}, [2] = {false, true, false}, [3] = {false, true, true},
    [4] = {false, false, true},  [5] = {true, false, false}, [6] = {true, true, false},
    [7] = {true, true, true},    [8] = {true, false, true},
};

/* Rows are gathered in bands before they are laid down as columns, so that each visit to an
 * output row writes a run of pixels rather than one. */
#define BAND_ROWS 16

struct photo_rows {
    struct turn turn;
    struct vision_image *image;
    int width, height; /* of the window, stored */
    int next;          /* stored row that comes next */
    uint8_t *band;     /* only for swap: BAND_ROWS rows */
};

/* Inline, so that the usual three channels become a copy of known length. */
static inline void copy_pixels(uint8_t *to, ptrdiff_t to_step, const uint8_t *from,
                               ptrdiff_t from_step, int n, int channels)
{
    for (int i = 0; i < n; i++)
        memcpy(to + i * to_step, from + i * from_step, (size_t)channels);
}

/* n pixels, each so many bytes after the one before. */
static void spread_pixels(uint8_t *to, ptrdiff_t to_step, const uint8_t *from, ptrdiff_t from_step,
                          int n, int channels)
{
    if (channels == 3)
        copy_pixels(to, to_step, from, from_step, n, 3);
    else
        copy_pixels(to, to_step, from, from_step, n, 1);
}

static void lay_row(struct photo_rows *rows, const uint8_t *row)
{
    struct vision_image *image = rows->image;
    int y = rows->turn.mirror_y ? rows->height - 1 - rows->next : rows->next;
    uint8_t *to = image->pixels + (size_t)y * image->stride;
    size_t channels = (size_t)image->channels;
    size_t width = (size_t)rows->width;
    if (!rows->turn.mirror_x) {
        memcpy(to, row, width * channels);
        return;
    }
    spread_pixels(to + (width - 1) * channels, -(ptrdiff_t)channels, row, (ptrdiff_t)channels,
                  rows->width, image->channels);
}

/* Lays the band, whose last row is stored row rows->next, down as columns. */
static void lay_band(struct photo_rows *rows)
{
    struct vision_image *image = rows->image;
    const ptrdiff_t channels = image->channels, length = rows->width * channels;
    const int first = rows->next / BAND_ROWS * BAND_ROWS;
    const int start = rows->turn.mirror_x ? rows->height - 1 - first : first;
    for (int x = 0; x < rows->width; x++) {
        int y = rows->turn.mirror_y ? rows->width - 1 - x : x;
        uint8_t *line = image->pixels + (size_t)y * image->stride;
        spread_pixels(line + start * channels, rows->turn.mirror_x ? -channels : channels,
                      rows->band + x * channels, length, rows->next - first + 1, image->channels);
    }
}

void photo_rows_put(struct photo_rows *rows, const uint8_t *row)
{
    assert(rows->next < rows->height);
    if (!rows->turn.swap) {
        lay_row(rows, row);
    } else {
        size_t length = (size_t)rows->width * (size_t)rows->image->channels;
        int in_band = rows->next % BAND_ROWS;
        memcpy(rows->band + (size_t)in_band * length, row, length);
        if (in_band == BAND_ROWS - 1 || rows->next == rows->height - 1)
            lay_band(rows);
    }
    rows->next++;
}

/* ---- Decoding -------------------------------------------------------------------------------- */

static int clamp(int value, int low, int high)
{
    return value < low ? low : value > high ? high : value;
}

/* The half-open range of viewed pixels, as stored: mirrored in a photo of this many. */
static void mirror_range(int *from, int *to, int count)
{
    int old = *from;
    *from = count - *to;
    *to = count - old;
}

/* The stored window that covers the viewed area; false when the area misses the photo. */
static bool place_window(const struct vision_photo *photo, const struct vision_rect *area,
                         struct photo_window *window)
{
    int width = photo->info.width_px, height = photo->info.height_px;
    struct vision_rect rect = {0, 0, width, height};
    if (area) {
        rect.x0 = clamp(area->x0, 0, width);
        rect.y0 = clamp(area->y0, 0, height);
        rect.x1 = clamp(area->x1, 0, width);
        rect.y1 = clamp(area->y1, 0, height);
    }
    if (rect.x0 >= rect.x1 || rect.y0 >= rect.y1)
        return false;
    struct turn turn = turns[photo->info.orientation];
    if (turn.mirror_x)
        mirror_range(&rect.x0, &rect.x1, width);
    if (turn.mirror_y)
        mirror_range(&rect.y0, &rect.y1, height);
    if (turn.swap)
        rect = (struct vision_rect){rect.y0, rect.x0, rect.y1, rect.x1};
    int reduce = window->reduce;
    window->x0 = rect.x0 / reduce;
    window->y0 = rect.y0 / reduce;
    window->x1 = (rect.x1 + reduce - 1) / reduce;
    window->y1 = (rect.y1 + reduce - 1) / reduce;
    return true;
}

/* Gives the image its size and place. A mirrored side whose length is no multiple of reduce has
 * its last, partly filled pixel first, so x0_px or y0_px may be as low as 1 - reduce. */
static bool prepare_image(const struct vision_photo *photo, const struct photo_window *window,
                          struct vision_image *image)
{
    struct turn turn = turns[photo->info.orientation];
    int reduce = window->reduce;
    struct vision_rect rect = {window->x0 * reduce, window->y0 * reduce, window->x1 * reduce,
                               window->y1 * reduce};
    if (turn.swap)
        rect = (struct vision_rect){rect.y0, rect.x0, rect.y1, rect.x1};
    if (turn.mirror_x)
        mirror_range(&rect.x0, &rect.x1, photo->info.width_px);
    if (turn.mirror_y)
        mirror_range(&rect.y0, &rect.y1, photo->info.height_px);
    image->width = (rect.x1 - rect.x0) / reduce;
    image->height = (rect.y1 - rect.y0) / reduce;
    image->channels = window->channels;
    image->stride = (size_t)image->width * (size_t)image->channels;
    image->reduce = reduce;
    image->x0_px = rect.x0;
    image->y0_px = rect.y0;
    image->pixels = large_memory(image->stride * (size_t)image->height);
    return image->pixels != NULL;
}

static enum vision_reason decode_rows(const struct vision_photo *photo,
                                      const struct photo_window *window, struct photo_rows *rows)
{
    if (rows->turn.swap) {
        rows->band = malloc((size_t)BAND_ROWS * (size_t)rows->width * (size_t)window->channels);
        if (!rows->band)
            return VISION_NO_MEMORY;
    }
    enum vision_reason reason = photo->format == FORMAT_JPEG
                                    ? photo_jpeg_decode(photo->bytes, photo->size, window, rows)
                                    : photo_png_decode(photo->bytes, photo->size, window, rows);
    free(rows->band);
    return reason;
}

enum vision_reason vision_photo_decode(const struct vision_photo *photo, int reduce,
                                       const struct vision_rect *area, int channels,
                                       struct vision_image *out)
{
    assert(reduce == 1 || reduce == 2 || reduce == 4 || reduce == 8);
    assert(channels == 1 || channels == 3);
    *out = (struct vision_image){0};
    struct photo_window window = {.reduce = reduce, .channels = channels};
    if (!place_window(photo, area, &window))
        return VISION_BAD_HINT;
    struct vision_image image = {0};
    enum vision_reason reason = VISION_NO_MEMORY;
    if (prepare_image(photo, &window, &image)) {
        struct photo_rows rows = {.turn = turns[photo->info.orientation],
                                  .image = &image,
                                  .width = window.x1 - window.x0,
                                  .height = window.y1 - window.y0};
        reason = decode_rows(photo, &window, &rows);
    }
    if (reason == VISION_REASON_NONE)
        *out = image;
    else
        vision_image_clear(&image);
    return reason;
}

void vision_image_clear(struct vision_image *image)
{
    free(image->pixels);
    *image = (struct vision_image){0};
}
