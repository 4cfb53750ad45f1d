/* vision/photo.c and its readers: geometry of every way to decode, EXIF, refusals. */
#include "photo_internal.h"
#include "photo_maker.h"

#include <check.h>
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

int main(void)
{
    Suite *suite = suite_create("photo");
    TCase *geometry = tcase_create("geometry");
    tcase_set_timeout(geometry, 120);
    tcase_add_loop_test(geometry, every_decode_puts_a_point_where_it_is, 1, 9);
    tcase_add_test(geometry, a_piece_has_the_pixels_of_the_whole);
    tcase_add_loop_test(geometry, each_orientation_shows_the_letter_upright, 1, 9);
    suite_add_tcase(suite, geometry);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
