/* vision/photo/photo.c and its readers: geometry of every way to decode, EXIF, refusals. */
#include "check_main.h"
#include "photo/photo_internal.h"
#include "photo_maker.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const int reduces[] = {1, 2, 4, 8};

static struct vision_photo *must_open(const struct bytes *file)
{
    struct vision_photo *photo = NULL;
    enum vision_reason reason = photo_open_any_size(file->data, file->size, &photo);
    ck_assert_msg(reason == VISION_REASON_NONE, "open: %s", vision_reason_code(reason));
    return photo;
}

static struct vision_image must_decode(const struct vision_photo *photo, int reduce,
                                       const struct vision_rect *area, int channels)
{
    struct vision_image image;
    enum vision_reason reason = vision_photo_decode(photo, reduce, area, channels, &image);
    ck_assert_msg(reason == VISION_REASON_NONE, "decode: %s", vision_reason_code(reason));
    return image;
}

/* ---- Geometry ----------------------------------------------------------------------------- */

#define BLOB_SIGMA_PX 7.0

/* A bright round blob on dark ground with its middle at (cx, cy). */
static double blob_value(double x, double y, double cx, double cy)
{
    double r2 = (x - cx) * (x - cx) + (y - cy) * (y - cy);
    return 20 + 210 * exp(-r2 / (2 * BLOB_SIGMA_PX * BLOB_SIGMA_PX));
}

static struct picture blob_picture(int width, int height, double cx, double cy)
{
    struct picture picture = picture_new(width, height);
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++)
            memset(picture.rgb + ((size_t)y * (size_t)width + (size_t)x) * 3,
                   (int)lround(blob_value(x, y, cx, cy)), 3);
    return picture;
}

/* What image pixel (i, j) should hold by the contract of vision_image, for a blob at (cx, cy). */
static double blob_mean(const struct vision_image *image, int i, int j, double cx, double cy)
{
    double sum = 0;
    for (int v = 0; v < image->reduce; v++)
        for (int u = 0; u < image->reduce; u++)
            sum += blob_value(image->x0_px + i * image->reduce + u,
                              image->y0_px + j * image->reduce + v, cx, cy);
    return sum / (image->reduce * image->reduce);
}

/* How far the blob lies from (cx, cy), to first order by least squares: the difference of the
 * image from what it should be, projected on the change that a shift would make. */
static struct vision_point blob_shift(const struct vision_image *image, double cx, double cy)
{
    double x_dot = 0, y_dot = 0, xx = 0, yy = 0;
    for (int j = 0; j < image->height; j++) {
        for (int i = 0; i < image->width; i++) {
            double value = image->pixels[(size_t)j * image->stride + (size_t)(i * image->channels)];
            double error = value - blob_mean(image, i, j, cx, cy);
            double gx = blob_mean(image, i, j, cx + 0.5, cy) - blob_mean(image, i, j, cx - 0.5, cy);
            double gy = blob_mean(image, i, j, cx, cy + 0.5) - blob_mean(image, i, j, cx, cy - 0.5);
            x_dot += gx * error;
            y_dot += gy * error;
            xx += gx * gx;
            yy += gy * gy;
        }
    }
    return (struct vision_point){x_dot / xx, y_dot / yy};
}

static void check_covers(const struct vision_image *image, const struct vision_photo *photo,
                         const struct vision_rect *area)
{
    const struct vision_photo_info *info = vision_photo_get_info(photo);
    struct vision_rect want = {0, 0, info->width_px, info->height_px};
    if (area)
        want = *area;
    ck_assert_int_le(image->x0_px, want.x0);
    ck_assert_int_le(image->y0_px, want.y0);
    ck_assert_int_ge(image->x0_px + image->width * image->reduce, want.x1);
    ck_assert_int_ge(image->y0_px + image->height * image->reduce, want.y1);
}

static void check_blob(const struct vision_photo *photo, int reduce, const struct vision_rect *area,
                       double cx, double cy, const char *what)
{
    for (int channels = 1; channels <= 3; channels += 2) {
        struct vision_image image = must_decode(photo, reduce, area, channels);
        struct vision_point shift = blob_shift(&image, cx, cy);
        ck_assert_msg(fabs(shift.x) < 0.05 && fabs(shift.y) < 0.05,
                      "%s, reduce %d, %s, %d channels: blob off by %.3f %.3f px", what, reduce,
                      area ? "area" : "whole", channels, shift.x, shift.y);
        check_covers(&image, photo, area);
        vision_image_clear(&image);
    }
}

/* Sides that no block size divides, a blob off every grid. */
static void check_file_geometry(const struct bytes *file, double cx, double cy, const char *what)
{
    struct vision_photo *photo = must_open(file);
    struct vision_rect area = {(int)cx - 37, (int)cy - 35, (int)cx + 41, (int)cy + 38};
    for (size_t i = 0; i < sizeof reduces / sizeof reduces[0]; i++) {
        check_blob(photo, reduces[i], NULL, cx, cy, what);
        check_blob(photo, reduces[i], &area, cx, cy, what);
    }
    vision_photo_free(photo);
}

START_TEST(every_decode_puts_a_point_where_it_is)
{
    int orientation = _i;
    const double cx = 121.3, cy = 71.7;
    struct picture viewed = blob_picture(203, 147, cx, cy);
    struct picture stored = picture_stored(&viewed, orientation);
    struct bytes exif = exif_with_orientation(orientation);
    for (int kind = 0; kind < 6; kind++) {
        struct jpeg_settings settings = {.quality = 97,
                                         .h_samp = kind == 1 || kind == 2 || kind == 4 ? 2 : 1,
                                         .v_samp = kind == 2 || kind == 4 ? 2 : 1,
                                         .grey = kind == 3,
                                         .progressive = kind == 4 || kind == 5,
                                         .exif = exif};
        struct bytes file = jpeg_encode(&stored, &settings);
        char what[80];
        snprintf(what, sizeof what, "JPEG kind %d, orientation %d", kind, orientation);
        check_file_geometry(&file, cx, cy, what);
        bytes_free(&file);
    }
    for (int interlaced = 0; interlaced < 2; interlaced++) {
        struct png_settings settings = {.interlaced = interlaced, .exif = exif};
        struct bytes file = png_encode(&stored, &settings);
        char what[80];
        snprintf(what, sizeof what, "PNG %d, orientation %d", interlaced, orientation);
        check_file_geometry(&file, cx, cy, what);
        bytes_free(&file);
    }
    bytes_free(&exif);
    picture_free(&stored);
    picture_free(&viewed);
}
END_TEST

/* Colour edges everywhere, so that a column or row off by one, or chroma smoothed differently at
 * the edge of an area, shows. */
static struct picture busy_picture(int width, int height)
{
    struct picture picture = picture_new(width, height);
    uint32_t state = 12345;
    for (size_t i = 0; i < (size_t)width * (size_t)height * 3; i++) {
        state = state * 1664525u + 1013904223u; /* Numerical Recipes' generator */
        size_t x = i / 3 % (size_t)width, y = i / 3 / (size_t)width;
        int block = (x / 5 + y / 7 + i % 3) % 3 == 0 ? 180 : 40;
        picture.rgb[i] = (uint8_t)(block + (int)(state >> 27));
    }
    return picture;
}

static void check_piece(const struct vision_image *whole, const struct vision_image *piece,
                        const char *what)
{
    int dx = (piece->x0_px - whole->x0_px) / whole->reduce;
    int dy = (piece->y0_px - whole->y0_px) / whole->reduce;
    for (int j = 0; j < piece->height; j++) {
        const uint8_t *a = piece->pixels + (size_t)j * piece->stride;
        const uint8_t *b =
            whole->pixels + (size_t)(j + dy) * whole->stride + (size_t)dx * (size_t)whole->channels;
        ck_assert_msg(memcmp(a, b, piece->stride) == 0, "%s: row %d differs from the whole", what,
                      j);
    }
}

static void check_pieces(const struct bytes *file, const char *name)
{
    static const struct vision_rect areas[] = {
        {0, 0, 9, 9},     {16, 16, 64, 64}, {61, 47, 130, 100}, {180, 120, 203, 147},
        {15, 31, 17, 33}, {0, 60, 203, 61}, {100, 0, 101, 147}};
    struct vision_photo *photo = must_open(file);
    for (size_t r = 0; r < sizeof reduces / sizeof reduces[0]; r++) {
        for (int channels = 1; channels <= 3; channels += 2) {
            struct vision_image whole = must_decode(photo, reduces[r], NULL, channels);
            for (size_t a = 0; a < sizeof areas / sizeof areas[0]; a++) {
                struct vision_image piece = must_decode(photo, reduces[r], &areas[a], channels);
                char what[120];
                snprintf(what, sizeof what, "%s, reduce %d, %d channels, area %zu", name,
                         reduces[r], channels, a);
                check_piece(&whole, &piece, what);
                vision_image_clear(&piece);
            }
            vision_image_clear(&whole);
        }
    }
    vision_photo_free(photo);
}

START_TEST(a_piece_has_the_pixels_of_the_whole)
{
    struct picture picture = busy_picture(203, 147);
    static const int sampling[][2] = {{1, 1}, {2, 1}, {2, 2}, {1, 2}, {4, 1}};
    for (size_t s = 0; s < sizeof sampling / sizeof sampling[0]; s++) {
        for (int progressive = 0; progressive < 2; progressive++) {
            struct jpeg_settings settings = {.h_samp = sampling[s][0],
                                             .v_samp = sampling[s][1],
                                             .progressive = progressive,
                                             .restart_rows = progressive ? 0 : 1};
            struct bytes file = jpeg_encode(&picture, &settings);
            char name[80];
            snprintf(name, sizeof name, "JPEG %dx%d%s", sampling[s][0], sampling[s][1],
                     progressive ? ", progressive" : "");
            check_pieces(&file, name);
            bytes_free(&file);
        }
    }
    for (int interlaced = 0; interlaced < 2; interlaced++) {
        struct bytes file = png_encode(&picture, &(struct png_settings){.interlaced = interlaced});
        check_pieces(&file, interlaced ? "interlaced PNG" : "PNG");
        bytes_free(&file);
    }
    picture_free(&picture);
}
END_TEST

/* The test pattern of jpegexiforient(1), Debian package libjpeg-turbo-progs: what a viewer sees
 * of a letter F stored with each value when it ignores the value. */
static const char *const stored_f[9][10] = {
    {NULL},
    {"######", "##    ", "####  ", "##    ", "##    "},
    {"######", "    ##", "  ####", "    ##", "    ##"},
    {"    ##", "    ##", "  ####", "    ##", "######"},
    {"##    ", "##    ", "####  ", "##    ", "######"},
    {"##########", "##  ##    ", "##        "},
    {"##        ", "##  ##    ", "##########"},
    {"        ##", "    ##  ##", "##########"},
    {"##########", "    ##  ##", "        ##"},
};

/* Each sign becomes 16 x 32 pixels where the letter stands and 32 x 16 where it lies: signs are
 * printed twice as tall as wide. */
static struct picture picture_of_f(int orientation)
{
    int rows = 0;
    while (rows < 10 && stored_f[orientation][rows])
        rows++;
    int columns = (int)strlen(stored_f[orientation][0]);
    struct picture picture = picture_new(columns * 16, rows * 32);
    for (int y = 0; y < picture.height; y++)
        for (int x = 0; x < picture.width; x++)
            if (stored_f[orientation][y / 32][x / 16] == '#')
                memset(picture.rgb + ((size_t)y * (size_t)picture.width + (size_t)x) * 3, 255, 3);
    return picture;
}

START_TEST(each_orientation_shows_the_letter_upright)
{
    int orientation = _i;
    struct picture stored = picture_of_f(orientation);
    struct bytes exif = exif_with_orientation(orientation);
    struct bytes jpeg = jpeg_encode(&stored, &(struct jpeg_settings){.exif = exif});
    struct bytes png = png_encode(&stored, &(struct png_settings){.exif = exif});
    const struct bytes *files[] = {&jpeg, &png};
    for (int f = 0; f < 2; f++) {
        struct vision_photo *photo = must_open(files[f]);
        struct vision_image image = must_decode(photo, 1, NULL, 1);
        ck_assert_int_eq(vision_photo_get_info(photo)->orientation, orientation);
        ck_assert_int_eq(image.width, 96);
        ck_assert_int_eq(image.height, 160);
        for (int y = 0; y < 160; y++)
            for (int x = 0; x < 96; x++) {
                bool white = stored_f[1][y / 32][x / 16] == '#';
                ck_assert_msg(white == (image.pixels[(size_t)y * image.stride + (size_t)x] > 127),
                              "orientation %d, file %d, pixel %d %d", orientation, f, x, y);
            }
        vision_image_clear(&image);
        vision_photo_free(photo);
    }
    bytes_free(&png);
    bytes_free(&jpeg);
    bytes_free(&exif);
    picture_free(&stored);
}
END_TEST

/* ---- Colour ------------------------------------------------------------------------------- */

static struct picture colour_fields(void)
{
    static const uint8_t colours[6][3] = {{230, 40, 30},   {40, 200, 60},   {30, 60, 210},
                                          {250, 250, 250}, {128, 128, 128}, {10, 12, 8}};
    struct picture picture = picture_new(192, 128);
    for (int y = 0; y < 128; y++)
        for (int x = 0; x < 192; x++)
            memcpy(picture.rgb + ((size_t)y * 192 + (size_t)x) * 3, colours[y / 64 * 3 + x / 64],
                   3);
    return picture;
}

/* The middle of each field, within what JPEG at quality 95 does to flat colours. */
static void check_colours(const struct bytes *file, const struct picture *picture, int reduce,
                          const char *what)
{
    struct vision_photo *photo = must_open(file);
    struct vision_image image = must_decode(photo, reduce, NULL, 3);
    struct vision_image grey = must_decode(photo, reduce, NULL, 1);
    for (int field = 0; field < 6; field++) {
        int x = field % 3 * 64 + 32, y = field / 3 * 64 + 32;
        const uint8_t *want = picture->rgb + ((size_t)y * 192 + (size_t)x) * 3;
        const uint8_t *is =
            image.pixels + (size_t)(y / reduce) * image.stride + (size_t)(x / reduce * 3);
        for (int c = 0; c < 3; c++)
            ck_assert_msg(abs(is[c] - want[c]) <= 3, "%s, field %d, channel %d: %d not %d", what,
                          field, c, is[c], want[c]);
        /* ITU-R BT.601: Y = 0.299 R + 0.587 G + 0.114 B */
        double luma = 0.299 * want[0] + 0.587 * want[1] + 0.114 * want[2];
        int light = grey.pixels[(size_t)(y / reduce) * grey.stride + (size_t)(x / reduce)];
        ck_assert_msg(fabs(light - luma) <= 3, "%s, field %d: grey %d not %.1f", what, field, light,
                      luma);
    }
    vision_image_clear(&grey);
    vision_image_clear(&image);
    vision_photo_free(photo);
}

START_TEST(colours_survive_every_kind_of_file)
{
    struct picture picture = colour_fields();
    struct bytes files[] = {
        jpeg_encode(&picture, &(struct jpeg_settings){.h_samp = 2, .v_samp = 2}),
        jpeg_encode(&picture, &(struct jpeg_settings){.progressive = true}),
        jpeg_encode(&picture, &(struct jpeg_settings){.cmyk = true}),
        png_encode(&picture, &(struct png_settings){0}),
        png_encode(&picture, &(struct png_settings){.interlaced = true}),
    };
    static const char *const names[] = {"JPEG 4:2:0", "progressive JPEG", "CMYK JPEG", "PNG",
                                        "interlaced PNG"};
    for (int f = 0; f < 5; f++) {
        for (int r = 0; r < 4; r++)
            check_colours(&files[f], &picture, reduces[r], names[f]);
        bytes_free(&files[f]);
    }
    picture_free(&picture);
}
END_TEST

/* ---- EXIF --------------------------------------------------------------------------------- */

static struct vision_photo_info info_of(int width, int height, struct bytes exif)
{
    struct picture picture = picture_new(width, height);
    struct bytes file = jpeg_encode(&picture, &(struct jpeg_settings){.exif = exif});
    struct vision_photo *photo = must_open(&file);
    struct vision_photo_info info = *vision_photo_get_info(photo);
    vision_photo_free(photo);
    bytes_free(&file);
    picture_free(&picture);
    bytes_free(&exif);
    return info;
}

/* CIPA DCG-001 (from memory): the 35 mm equivalent has the same diagonal angle of view as 36 mm x
 * 24 mm film. A 4:3 photo of 400 x 300 has a diagonal of 500; 43.2666 mm is that of the film. */
START_TEST(focal_length_follows_the_diagonal_of_film)
{
    struct exif_entry entry = {.tag = 0xA405, .type = 3, .value = 26};
    struct vision_photo_info info = info_of(400, 300, exif_build(NULL, 0, &entry, 1));
    ck_assert_double_eq_tol(info.focal_px, 26 * 500 / 43.2666153, 1e-3);
    /* 3:2 is the film's own shape: both ways of reckoning agree, f_35 / 36 x long side. */
    info = info_of(360, 240, exif_build(NULL, 0, &entry, 1));
    ck_assert_double_eq_tol(info.focal_px, 26 * 360 / 36.0, 1e-9);
}
END_TEST

/* 5 mm lens, 2000 pixels per centimetre (unit 3) on a 400 pixel row: 1000 pixels. The same photo
 * brought down to half its size: 500. With inches (unit 2): 5080 per inch. */
START_TEST(focal_length_follows_the_sensor_when_film_is_not_given)
{
    struct exif_entry entries[] = {{.tag = 0x920A, .type = 5, .value = 50, .denominator = 10},
                                   {.tag = 0xA002, .type = 4, .value = 400},
                                   {.tag = 0xA003, .type = 4, .value = 300},
                                   {.tag = 0xA20E, .type = 5, .value = 2000, .denominator = 1},
                                   {.tag = 0xA210, .type = 3, .value = 3}};
    struct vision_photo_info info = info_of(400, 300, exif_build(NULL, 0, entries, 5));
    ck_assert_double_eq_tol(info.focal_px, 1000, 1e-9);
    ck_assert_double_eq_tol(info.focal_mm, 5, 1e-9);
    info = info_of(200, 150, exif_build(NULL, 0, entries, 5));
    ck_assert_double_eq_tol(info.focal_px, 500, 1e-9);
    entries[1].value = 40; /* shrunk by a program that left the rest: a sensor of 0.2 mm */
    entries[2].value = 30;
    ck_assert_double_eq(info_of(400, 300, exif_build(NULL, 0, entries, 5)).focal_px, 0);
    entries[1].value = 400;
    entries[2].value = 300;
    entries[3].value = 5080;
    entries[4].value = 2;
    info = info_of(400, 300, exif_build(NULL, 0, entries, 5));
    ck_assert_double_eq_tol(info.focal_px, 1000, 1e-9);
}
END_TEST

START_TEST(a_cropped_photo_has_no_focal_length_in_pixels)
{
    struct exif_entry entries[] = {{.tag = 0xA002, .type = 4, .value = 400},
                                   {.tag = 0xA003, .type = 4, .value = 300},
                                   {.tag = 0xA405, .type = 3, .value = 26}};
    ck_assert_double_eq(info_of(300, 300, exif_build(NULL, 0, entries, 3)).focal_px, 0);
    ck_assert_double_gt(info_of(300, 400, exif_build(NULL, 0, entries, 3)).focal_px, 0);
}
END_TEST

START_TEST(camera_is_clean_text)
{
    struct exif_entry entries[] = {
        {.tag = 0x010F, .type = 2, .text = "  Acme\tWorks\n"},
        {.tag = 0x0110, .type = 2, .text = "ACME WORKS \x1b[31mSnap 3\xff  "}};
    struct vision_photo_info info = info_of(80, 80, exif_build(entries, 2, NULL, 0));
    ck_assert_str_eq(info.camera, "ACME WORKS [31mSnap 3");
    entries[1].text = "Snap 3";
    info = info_of(80, 80, exif_build(entries, 2, NULL, 0));
    ck_assert_str_eq(info.camera, "Acme Works Snap 3");
    char longest[400];
    memset(longest, 'x', sizeof longest - 1);
    longest[sizeof longest - 1] = '\0';
    entries[1].text = longest;
    info = info_of(80, 80, exif_build(entries, 2, NULL, 0));
    ck_assert_uint_eq(strlen(info.camera), sizeof info.camera - 1);
}
END_TEST

START_TEST(nonsense_in_exif_is_left_out)
{
    struct exif_entry orientation = {.tag = 0x0112, .type = 3, .value = 9};
    struct exif_entry values[] = {{.tag = 0x920A, .type = 5, .value = 5, .denominator = 0},
                                  {.tag = 0xA20E, .type = 5, .value = 0, .denominator = 1},
                                  {.tag = 0xA405, .type = 3, .value = 0}};
    struct vision_photo_info info = info_of(80, 80, exif_build(&orientation, 1, values, 3));
    ck_assert_int_eq(info.orientation, 1);
    ck_assert_double_eq(info.focal_px, 0);
    ck_assert_double_eq(info.focal_mm, 0);
    ck_assert_str_eq(info.camera, "");
}
END_TEST

/* Every cut and every flipped byte of EXIF data leaves the photo readable; the sanitizers watch. */
START_TEST(damaged_exif_never_harms)
{
    struct exif_entry ifd0[] = {{.tag = 0x010F, .type = 2, .text = "Acme Works"},
                                {.tag = 0x0112, .type = 3, .value = 6}};
    struct exif_entry values[] = {{.tag = 0x920A, .type = 5, .value = 50, .denominator = 10},
                                  {.tag = 0xA405, .type = 3, .value = 26}};
    struct bytes whole = exif_build(ifd0, 2, values, 2);
    for (size_t i = 0; i < whole.size; i++) {
        struct photo_exif exif;
        uint8_t *cut = malloc(i + 1); /* its own block, so that a read past the end shows */
        memcpy(cut, whole.data, i + 1);
        photo_exif_parse(cut, i + 1, &exif);
        free(cut);
        uint8_t kept = whole.data[i];
        for (int bit = 0; bit < 8; bit++) {
            whole.data[i] = (uint8_t)(kept ^ 1 << bit);
            photo_exif_parse(whole.data, whole.size, &exif);
            ck_assert_int_le(exif.orientation, 8);
            ck_assert_int_ge(exif.orientation, 0);
        }
        whole.data[i] = kept;
    }
    bytes_free(&whole);
}
END_TEST

/* ---- Refusals ----------------------------------------------------------------------------- */

/* Opens and decodes all of it: the first reason met. */
static enum vision_reason try_bytes(const uint8_t *data, size_t size, int reduce)
{
    struct vision_photo *photo = NULL;
    enum vision_reason reason = vision_photo_open_bytes(data, size, &photo);
    if (reason != VISION_REASON_NONE) {
        ck_assert_ptr_null(photo);
        return reason;
    }
    struct vision_image image;
    reason = vision_photo_decode(photo, reduce, NULL, 3, &image);
    if (reason != VISION_REASON_NONE)
        ck_assert_ptr_null(image.pixels);
    vision_image_clear(&image);
    vision_photo_free(photo);
    return reason;
}

static void check_refused(const char *what, const void *data, size_t size, enum vision_reason want)
{
    enum vision_reason reason = try_bytes(data, size, 1);
    ck_assert_msg(reason == want, "%s: %s, not %s", what, vision_reason_code(reason),
                  vision_reason_code(want));
}

#define CHECK_REFUSED(what, literal, want) check_refused(what, (literal), sizeof(literal) - 1, want)

START_TEST(what_is_no_photo_is_named)
{
    check_refused("nothing", "", 0, VISION_EMPTY_FILE);
    CHECK_REFUSED("text", "Squaring a horn begins with the servo in the middle.",
                  VISION_NOT_A_PHOTO);
    CHECK_REFUSED("GIF", "GIF89a\x40\0\x40\0\x80\0\0\0\0\0\xff\xff\xff", VISION_NOT_A_PHOTO);
    CHECK_REFUSED("JPEG, two bytes", "\xff\xd8", VISION_TRUNCATED_PHOTO);
    CHECK_REFUSED("PNG, five bytes", "\x89PNG\r", VISION_TRUNCATED_PHOTO);
    CHECK_REFUSED("JPEG of nothing", "\xff\xd8\xff\xd9", VISION_BROKEN_PHOTO);
    CHECK_REFUSED("PNG of nothing",
                  "\x89PNG\r\n\x1a\n\0\0\0\0IEND\xae\x42\x60\x82hello, wide world",
                  VISION_BROKEN_PHOTO);
    /* ISO/IEC 14496-12 file type boxes: size, ftyp, major brand, version, compatible brands. */
    CHECK_REFUSED("HEIC",
                  "\0\0\0\x18"
                  "ftypheic\0\0\0\0mif1heic",
                  VISION_HEIC_PHOTO);
    CHECK_REFUSED("HEIC by compatible brand",
                  "\0\0\0\x18"
                  "ftypxxxx\0\0\0\0mif1heic",
                  VISION_HEIC_PHOTO);
    CHECK_REFUSED("AVIF",
                  "\0\0\0\x14"
                  "ftypavif\0\0\0\0avif",
                  VISION_HEIC_PHOTO);
    CHECK_REFUSED("MP4",
                  "\0\0\0\x14"
                  "ftypisom\0\0\0\0mp42heic",
                  VISION_NOT_A_PHOTO);
}
END_TEST

static struct vision_rect pixel_rect(int x0, int y0, int x1, int y1)
{
    return (struct vision_rect){x0, y0, x1, y1};
}

START_TEST(an_area_outside_the_photo_is_refused_and_one_across_the_edge_clipped)
{
    struct picture picture = picture_new(100, 80);
    struct bytes file = png_encode(&picture, &(struct png_settings){0});
    struct vision_photo *photo = must_open(&file);
    struct vision_image image;
    struct vision_rect outside = pixel_rect(100, 0, 120, 20);
    ck_assert_int_eq(vision_photo_decode(photo, 1, &outside, 1, &image), VISION_BAD_HINT);
    ck_assert_ptr_null(image.pixels);
    struct vision_rect across = pixel_rect(-50, 70, 10, 500);
    image = must_decode(photo, 1, &across, 1);
    ck_assert_int_eq(image.width, 10);
    ck_assert_int_eq(image.height, 10);
    ck_assert_int_eq(image.x0_px, 0);
    ck_assert_int_eq(image.y0_px, 70);
    vision_image_clear(&image);
    vision_photo_free(photo);
    bytes_free(&file);
    picture_free(&picture);
}
END_TEST

START_TEST(files_that_cannot_be_read_are_named)
{
    struct vision_photo *photo = (struct vision_photo *)&photo;
    ck_assert_int_eq(vision_photo_open("/nowhere/at/all.jpg", &photo), VISION_NO_FILE);
    ck_assert_ptr_null(photo);
    ck_assert_int_eq(vision_photo_open("/", &photo), VISION_NO_FILE);
    ck_assert_int_eq(vision_photo_open("/dev/null", &photo), VISION_EMPTY_FILE);
    vision_photo_free(NULL);
}
END_TEST

START_TEST(sizes_beyond_use_are_refused_by_the_header)
{
    struct picture small = picture_new(63, 200);
    struct bytes png = png_encode(&small, &(struct png_settings){0});
    struct bytes jpeg = jpeg_encode(&small, &(struct jpeg_settings){0});
    check_refused("63 px wide PNG", png.data, png.size, VISION_TINY_PHOTO);
    check_refused("63 px wide JPEG", jpeg.data, jpeg.size, VISION_TINY_PHOTO);
    /* Frame header of ISO/IEC 10918-1 B.2.2: FF C0, length, precision, height, width. */
    size_t frame = 0;
    while (frame + 9 < jpeg.size && (jpeg.data[frame] != 0xff || jpeg.data[frame + 1] != 0xc0))
        frame++;
    static const uint8_t huge[4] = {0x2e, 0xe0, 0x47, 0x9e}; /* 12000 x 18334 */
    memcpy(jpeg.data + frame + 5, huge, 4);
    check_refused("220 megapixel JPEG", jpeg.data, jpeg.size, VISION_HUGE_PHOTO);
    static const uint8_t phone[4] = {0x2f, 0xd0, 0x3f, 0xc0}; /* 12240 x 16320, as phones have */
    memcpy(jpeg.data + frame + 5, phone, 4);
    vision_photo_free(must_open(&jpeg));
    /* IHDR with its CRC (PNG 1.2, 3.4 and 4.1.1), 22000 x 10000, as any checker confirms it. */
    CHECK_REFUSED(
        "220 megapixel PNG",
        "\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR\0\0\x55\xf0\0\0\x27\x10\x08\x02\0\0\0\xa4\x80\x13\x33"
        "\0\0\0\0IEND\xae\x42\x60\x82",
        VISION_HUGE_PHOTO);
    bytes_free(&jpeg);
    bytes_free(&png);
    picture_free(&small);
}
END_TEST

/* 480 MB of them in 470 kB: only pixels are asked for, as often as a photo is decoded. */
START_TEST(texts_in_a_png_cost_no_memory)
{
    struct picture picture = picture_new(64, 64);
    struct bytes png = png_encode(&picture, &(struct png_settings){0});
    struct bytes full = png_with_texts(&png);
    const double before = peak_megabytes();
    struct vision_photo *photo = must_open(&full);
    struct vision_image image = must_decode(photo, 1, NULL, 3);
    ck_assert_double_lt(peak_megabytes(), before + 50);
    vision_image_clear(&image);
    vision_photo_free(photo);
    bytes_free(&full);
    bytes_free(&png);
    picture_free(&picture);
}
END_TEST

START_TEST(an_animated_png_is_refused)
{
    struct picture picture = picture_new(64, 64);
    struct bytes png = png_encode(&picture, &(struct png_settings){0});
    /* acTL of two frames, after IHDR (APNG specification; PNG third edition, 11.3.6.1). */
    static const uint8_t actl[] = "\0\0\0\x08"
                                  "acTL\0\0\0\x02\0\0\0\0\xf3\x8d\x93\x70";
    size_t length = sizeof actl - 1, after = 8 + 25;
    uint8_t *animated = malloc(png.size + length);
    memcpy(animated, png.data, after);
    memcpy(animated + after, actl, length);
    memcpy(animated + after + length, png.data + after, png.size - after);
    check_refused("APNG", animated, png.size + length, VISION_ANIMATED_PHOTO);
    free(animated);
    bytes_free(&png);
    picture_free(&picture);
}
END_TEST

/* A file cut anywhere is told as cut; only the end mark may be missing without harm. */
static void check_cuts(const struct bytes *file, size_t end_mark, const char *what)
{
    size_t step = file->size / 300 + 1;
    for (size_t cut = 8; cut < file->size - end_mark; cut += step) {
        for (int reduce = 1; reduce <= 8; reduce *= 8) {
            enum vision_reason reason = try_bytes(file->data, cut, reduce);
            ck_assert_msg(reason == VISION_TRUNCATED_PHOTO, "%s cut at %zu of %zu: %s", what, cut,
                          file->size,
                          reason ? vision_reason_code(reason) : "taken for a whole photo");
        }
    }
    ck_assert_int_eq(try_bytes(file->data, file->size - end_mark, 1), VISION_REASON_NONE);
}

START_TEST(a_cut_file_is_never_taken_for_whole)
{
    struct picture picture = busy_picture(203, 147);
    struct bytes files[] = {
        jpeg_encode(&picture, &(struct jpeg_settings){.h_samp = 2, .v_samp = 2}),
        jpeg_encode(&picture, &(struct jpeg_settings){.grey = true}),
        jpeg_encode(&picture, &(struct jpeg_settings){.restart_rows = 1}),
        jpeg_encode(&picture, &(struct jpeg_settings){.progressive = true}),
    };
    static const char *const names[] = {"JPEG", "grey JPEG", "JPEG with restarts",
                                        "progressive JPEG"};
    for (int f = 0; f < 4; f++) {
        check_cuts(&files[f], 2, names[f]);
        bytes_free(&files[f]);
    }
    for (int interlaced = 0; interlaced < 2; interlaced++) {
        struct bytes png = png_encode(&picture, &(struct png_settings){.interlaced = interlaced});
        check_cuts(&png, 12, interlaced ? "interlaced PNG" : "PNG");
        bytes_free(&png);
    }
    picture_free(&picture);
}
END_TEST

/* One flipped bit in the coded pixels of a PNG fails its CRC. */
START_TEST(a_png_with_a_wrong_bit_is_broken)
{
    struct picture picture = busy_picture(100, 100);
    struct bytes png = png_encode(&picture, &(struct png_settings){0});
    png.data[png.size / 2] ^= 0x10;
    check_refused("PNG", png.data, png.size, VISION_BROKEN_PHOTO);
    bytes_free(&png);
    picture_free(&picture);
}
END_TEST

/* A restart marker out of turn (ISO/IEC 10918-1, E.1.4) means rows in the wrong place. */
START_TEST(a_jpeg_with_rows_lost_in_the_middle_is_broken)
{
    struct picture picture = busy_picture(203, 147);
    struct bytes jpeg = jpeg_encode(&picture, &(struct jpeg_settings){.restart_rows = 1});
    size_t marks[8], count = 0;
    for (size_t i = 0; i + 1 < jpeg.size && count < 8; i++)
        if (jpeg.data[i] == 0xff && (jpeg.data[i + 1] & 0xf8) == 0xd0)
            marks[count++] = i;
    ck_assert_uint_ge(count, 6);
    memmove(jpeg.data + marks[2], jpeg.data + marks[5], jpeg.size - marks[5]);
    check_refused("JPEG", jpeg.data, jpeg.size - (marks[5] - marks[2]), VISION_BROKEN_PHOTO);
    bytes_free(&jpeg);
    picture_free(&picture);
}
END_TEST

START_TEST(every_reason_has_a_code_of_its_own)
{
    ck_assert_ptr_null(vision_reason_code(VISION_REASON_NONE));
    ck_assert_ptr_null(vision_reason_code(VISION_REASON_COUNT));
    ck_assert_ptr_null(vision_reason_code((enum vision_reason) - 1));
    for (int i = VISION_REASON_NONE + 1; i < VISION_REASON_COUNT; i++) {
        const char *code = vision_reason_code((enum vision_reason)i);
        ck_assert_msg(code != NULL, "reason %d has no code", i);
        ck_assert_uint_eq(strspn(code, "abcdefghijklmnopqrstuvwxyz-"), strlen(code));
        for (int j = VISION_REASON_NONE + 1; j < i; j++)
            ck_assert_str_ne(code, vision_reason_code((enum vision_reason)j));
    }
}
END_TEST

static TCase *refusals(void)
{
    TCase *tcase = tcase_create("refusals");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, what_is_no_photo_is_named);
    tcase_add_test(tcase, an_area_outside_the_photo_is_refused_and_one_across_the_edge_clipped);
    tcase_add_test(tcase, files_that_cannot_be_read_are_named);
    tcase_add_test(tcase, sizes_beyond_use_are_refused_by_the_header);
    tcase_add_test(tcase, texts_in_a_png_cost_no_memory);
    tcase_add_test(tcase, an_animated_png_is_refused);
    tcase_add_test(tcase, a_cut_file_is_never_taken_for_whole);
    tcase_add_test(tcase, a_png_with_a_wrong_bit_is_broken);
    tcase_add_test(tcase, a_jpeg_with_rows_lost_in_the_middle_is_broken);
    tcase_add_test(tcase, every_reason_has_a_code_of_its_own);
    return tcase;
}

static TCase *exif(void)
{
    TCase *tcase = tcase_create("exif");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, focal_length_follows_the_diagonal_of_film);
    tcase_add_test(tcase, focal_length_follows_the_sensor_when_film_is_not_given);
    tcase_add_test(tcase, a_cropped_photo_has_no_focal_length_in_pixels);
    tcase_add_test(tcase, camera_is_clean_text);
    tcase_add_test(tcase, nonsense_in_exif_is_left_out);
    tcase_add_test(tcase, damaged_exif_never_harms);
    return tcase;
}

int main(void)
{
    Suite *suite = suite_create("photo");
    TCase *geometry = tcase_create("geometry");
    tcase_set_timeout(geometry, 120);
    tcase_add_loop_test(geometry, every_decode_puts_a_point_where_it_is, 1, 9);
    tcase_add_test(geometry, a_piece_has_the_pixels_of_the_whole);
    tcase_add_loop_test(geometry, each_orientation_shows_the_letter_upright, 1, 9);
    tcase_add_test(geometry, colours_survive_every_kind_of_file);
    suite_add_tcase(suite, geometry);
    suite_add_tcase(suite, exif());
    suite_add_tcase(suite, refusals());
    return run_suite(suite);
}
