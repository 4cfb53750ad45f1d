/* The PNG writer, read back by libpng itself and judged by pngcheck. */
#include "drawing/png_write.h"

#include "check_main.h"
#include "outside.h"

#include <errno.h>
#include <png.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* Pixels per metre: one inch is exactly 0.0254 m (PNG 1.2, 4.2.4.2), so round(dpi / 0.0254). The
 * 600 dpi row is printed in "PNG: The Definitive Guide", chapter 11 (23,622.05); the others follow.
 */
static const struct {
    double dpi;
    png_uint_32 per_metre;
} densities[] = {{72, 2835}, {96, 3780}, {150, 5906}, {200, 7874}, {300, 11811}, {600, 23622}};

static const char *scratch(const char *name)
{
    static char path[128];
    snprintf(path, sizeof path, "%s/%s", outside_directory(), name);
    return path;
}

/* A small picture with every byte different from its neighbours. */
#define WIDTH 13
#define HEIGHT 7
static uint8_t sample(int x, int y, int channel)
{
    return (uint8_t)(17 * x + 31 * y + 77 * channel + 5);
}

static void fill_rgb(uint8_t rgb[HEIGHT][WIDTH][3])
{
    for (int y = 0; y < HEIGHT; y++)
        for (int x = 0; x < WIDTH; x++)
            for (int c = 0; c < 3; c++)
                rgb[y][x][c] = sample(x, y, c);
}

struct picture_read {
    png_structp png;
    png_infop info;
};

/* Errors inside libpng abort, which fails the test. */
static struct picture_read read_back(const char *path)
{
    struct picture_read r;
    FILE *file = fopen(path, "rb");
    ck_assert_ptr_nonnull(file);
    r.png = png_create_read_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    r.info = png_create_info_struct(r.png);
    if (setjmp(png_jmpbuf(r.png)))
        ck_abort_msg("libpng cannot read %s", path);
    png_init_io(r.png, file);
    png_read_png(r.png, r.info, PNG_TRANSFORM_IDENTITY, NULL);
    fclose(file);
    return r;
}

static void read_free(struct picture_read *r)
{
    png_destroy_read_struct(&r->png, &r->info, NULL);
}

static void assert_pngcheck_accepts(const char *path)
{
    char said[1024];
    int status = outside_run(said, sizeof said, "pngcheck -q '%s'", path);
    ck_assert_msg(status == 0, "pngcheck: %s", said);
}

START_TEST(density_is_rounded_to_whole_pixels_per_metre)
{
    uint8_t rgb[HEIGHT][WIDTH][3];
    fill_rgb(rgb);
    struct png_header header = {.width_px = WIDTH,
                                .height_px = HEIGHT,
                                .pixels = PNG_PIXELS_RGB8,
                                .dpi = densities[_i].dpi};
    char name[40];
    snprintf(name, sizeof name, "density-%d.png", _i);
    const char *path = scratch(name);
    ck_assert(png_write_file(path, &header, &rgb[0][0][0], sizeof rgb[0]));
    struct picture_read r = read_back(path);
    png_uint_32 x, y;
    int unit;
    ck_assert_uint_eq(png_get_pHYs(r.png, r.info, &x, &y, &unit), PNG_INFO_pHYs);
    ck_assert_int_eq(unit, PNG_RESOLUTION_METER);
    ck_assert_uint_eq(x, densities[_i].per_metre);
    ck_assert_uint_eq(y, densities[_i].per_metre);
    read_free(&r);
    assert_pngcheck_accepts(path);
}
END_TEST

START_TEST(without_a_density_none_is_written)
{
    uint8_t grey[4] = {1, 2, 3, 4};
    struct png_header header = {.width_px = 2, .height_px = 2, .pixels = PNG_PIXELS_GREY8};
    const char *path = scratch("plain.png");
    ck_assert(png_write_file(path, &header, grey, 2));
    struct picture_read r = read_back(path);
    ck_assert(!png_get_valid(r.png, r.info, PNG_INFO_pHYs));
    ck_assert_int_eq(png_get_color_type(r.png, r.info), PNG_COLOR_TYPE_GRAY);
    png_bytepp rows = png_get_rows(r.png, r.info);
    ck_assert(rows[0][0] == 1 && rows[0][1] == 2 && rows[1][0] == 3 && rows[1][1] == 4);
    read_free(&r);
}
END_TEST

static void assert_sample_pixels(const char *path)
{
    struct picture_read r = read_back(path);
    ck_assert_int_eq(png_get_color_type(r.png, r.info), PNG_COLOR_TYPE_RGB);
    ck_assert_int_eq(png_get_image_width(r.png, r.info), WIDTH);
    ck_assert_int_eq(png_get_image_height(r.png, r.info), HEIGHT);
    png_bytepp rows = png_get_rows(r.png, r.info);
    for (int y = 0; y < HEIGHT; y++)
        for (int x = 0; x < WIDTH; x++)
            for (int c = 0; c < 3; c++)
                ck_assert_uint_eq(rows[y][3 * x + c], sample(x, y, c));
    read_free(&r);
}

START_TEST(rgb_pixels_come_back_unchanged)
{
    uint8_t rgb[HEIGHT][WIDTH][3];
    fill_rgb(rgb);
    struct png_header header = {.width_px = WIDTH, .height_px = HEIGHT, .pixels = PNG_PIXELS_RGB8};
    const char *path = scratch("rgb.png");
    ck_assert(png_write_file(path, &header, &rgb[0][0][0], sizeof rgb[0]));
    assert_sample_pixels(path);
}
END_TEST

/* In three pieces, with rows longer than their pixels. */
START_TEST(packed_pixels_in_pieces_come_back_unchanged)
{
    uint32_t packed[HEIGHT][WIDTH + 3];
    for (int y = 0; y < HEIGHT; y++)
        for (int x = 0; x < WIDTH; x++)
            packed[y][x] = 0xab000000u | (uint32_t)sample(x, y, 0) << 16 |
                           (uint32_t)sample(x, y, 1) << 8 | sample(x, y, 2);
    struct png_header header = {.width_px = WIDTH, .height_px = HEIGHT, .pixels = PNG_PIXELS_XRGB};
    const char *path = scratch("packed.png");
    FILE *file = fopen(path, "wb");
    struct png_writer *writer = png_writer_new(file, &header);
    ck_assert_ptr_nonnull(writer);
    static const int pieces[] = {3, 1, 3};
    for (int i = 0, y = 0; i < 3; y += pieces[i++])
        ck_assert(png_writer_rows(writer, (const uint8_t *)packed[y], sizeof packed[y], pieces[i]));
    ck_assert(png_writer_finish(writer));
    ck_assert_int_eq(fclose(file), 0);
    assert_sample_pixels(path);
}
END_TEST

START_TEST(texts_travel_as_itxt_before_the_pixels)
{
    static const struct png_text texts[] = {{"Title", "\u03b1 = 90\u00b0"},
                                            {"armsquare measurement", "{\"angle_deg\": 90.1}\n"}};
    uint8_t grey[1] = {9};
    struct png_header header = {
        .width_px = 1, .height_px = 1, .pixels = PNG_PIXELS_GREY8, .texts = texts, .text_count = 2};
    const char *path = scratch("text.png");
    ck_assert(png_write_file(path, &header, grey, 1));
    struct picture_read r = read_back(path);
    png_textp read;
    ck_assert_int_eq(png_get_text(r.png, r.info, &read, NULL), 2);
    for (int i = 0; i < 2; i++) {
        ck_assert_int_eq(read[i].compression, PNG_ITXT_COMPRESSION_NONE);
        ck_assert_str_eq(read[i].key, texts[i].keyword);
        ck_assert_str_eq(read[i].text, texts[i].text);
    }
    read_free(&r);
    assert_pngcheck_accepts(path);
    char said[2048];
    outside_run(said, sizeof said, "pngcheck -v '%s'", path);
    const char *last_text = strstr(strstr(said, "iTXt") + 1, "iTXt");
    ck_assert_ptr_nonnull(last_text);
    ck_assert(last_text < strstr(said, "IDAT"));
}
END_TEST

/* The rule for keywords: PNG 1.2, 4.2.3. */
START_TEST(impossible_headers_are_refused)
{
    static const char *const keywords[] = {
        "",
        " x",
        "x ",
        "a  b",
        "a\nb",
        "\x7f",
        "12345678901234567890123456789012345678901234567890123456789012345678901234567890"};
    uint8_t grey[1] = {0};
    const char *path = scratch("refused.png");
    for (size_t i = 0; i < sizeof keywords / sizeof *keywords; i++) {
        struct png_text text = {keywords[i], "x"};
        struct png_header header = {.width_px = 1, .height_px = 1, .texts = &text, .text_count = 1};
        errno = 0;
        ck_assert_msg(!png_write_file(path, &header, grey, 1), "keyword \"%s\"", keywords[i]);
        ck_assert_int_eq(errno, EINVAL);
    }
    static const struct png_header headers[] = {
        {.width_px = 0, .height_px = 1},
        {.width_px = 1, .height_px = -1},
        {.width_px = 1, .height_px = 1, .dpi = -1},
        {.width_px = 1, .height_px = 1, .dpi = NAN},
    };
    for (size_t i = 0; i < sizeof headers / sizeof *headers; i++)
        ck_assert_msg(!png_write_file(path, &headers[i], grey, 1), "header %zu", i);
    ck_assert_int_ne(access(path, F_OK), 0);
}
END_TEST

START_TEST(too_many_or_too_few_rows_are_refused)
{
    uint8_t grey[4] = {0};
    struct png_header header = {.width_px = 2, .height_px = 2, .pixels = PNG_PIXELS_GREY8};
    FILE *file = fopen(scratch("rows.png"), "wb");
    struct png_writer *writer = png_writer_new(file, &header);
    ck_assert(png_writer_rows(writer, grey, 2, 1));
    ck_assert(!png_writer_rows(writer, grey, 2, 2));
    ck_assert(!png_writer_finish(writer));
    writer = png_writer_new(file, &header);
    ck_assert(png_writer_rows(writer, grey, 2, 1));
    ck_assert(!png_writer_finish(writer));
    ck_assert_int_eq(errno, EINVAL);
    png_writer_free(NULL);
    fclose(file);
}
END_TEST

/* /dev/full takes nothing: the errno of a full disk must reach the caller. */
START_TEST(a_full_disk_is_told)
{
    static uint8_t grey[512 * 512];
    for (size_t i = 0; i < sizeof grey; i++)
        grey[i] = (uint8_t)(i * 2654435761u >> 13);
    struct png_header header = {.width_px = 512, .height_px = 512, .pixels = PNG_PIXELS_GREY8};
    FILE *full = fopen("/dev/full", "wb");
    ck_assert_ptr_nonnull(full);
    ck_assert(!png_write_stream(full, &header, grey, 512));
    ck_assert_int_eq(errno, ENOSPC);
    fclose(full);
    ck_assert(!png_write_file("/nowhere/at/all.png", &header, grey, 512));
    ck_assert_int_eq(errno, ENOENT);
}
END_TEST

int main(void)
{
    outside_directory();
    Suite *suite = suite_create("png_write");
    TCase *tcase = tcase_create("writer");
    tcase_add_loop_test(tcase, density_is_rounded_to_whole_pixels_per_metre, 0,
                        (int)(sizeof densities / sizeof *densities));
    tcase_add_test(tcase, without_a_density_none_is_written);
    tcase_add_test(tcase, rgb_pixels_come_back_unchanged);
    tcase_add_test(tcase, packed_pixels_in_pieces_come_back_unchanged);
    tcase_add_test(tcase, texts_travel_as_itxt_before_the_pixels);
    tcase_add_test(tcase, impossible_headers_are_refused);
    tcase_add_test(tcase, too_many_or_too_few_rows_are_refused);
    tcase_add_test(tcase, a_full_disk_is_told);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
