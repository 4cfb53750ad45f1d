/* src/picture/picture_record.c: what is written comes back, and what was changed is told. The
 * digests are checked with sha256sum of Debian's coreutils over a PPM file made by libpng alone. */
#include "check_main.h"
#include "photo_maker.h"
#include "picture/picture_record.h"

#include <errno.h>
#include <png.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define WIDTH 160
#define HEIGHT 120

#define FOLDER "/tmp/armsquare-record-XXXXXX"

static char folder[] = FOLDER;
static char path[64], other[64];

static void set_up(void)
{
    ck_assert_ptr_nonnull(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/a.png", folder);
    snprintf(other, sizeof other, "%s/b", folder);
}

static void tear_down(void)
{
    unlink(path);
    unlink(other);
    rmdir(folder);
    snprintf(folder, sizeof folder, "%s", FOLDER);
}

/* A picture with a measurement whose text is not plain ASCII. */
static void write_one(void)
{
    static uint32_t pixels[WIDTH * HEIGHT];
    for (uint32_t i = 0; i < WIDTH * HEIGHT; i++)
        pixels[i] = (i * 2654435761u) >> 8; /* every channel differs */
    json_t *measurement = json_pack("{s:s, s:f}", "message", "2.9 ± 0.2 degrees", "u", 0.125);
    ck_assert(
        picture_record_write(path, WIDTH, HEIGHT, (const uint8_t *)pixels, WIDTH * 4, measurement));
    json_decref(measurement);
}

/* A PNG through libpng alone: pixels as RGB, and every text chunk. */
struct plain_png {
    png_image image;
    uint8_t rgb[WIDTH * HEIGHT * 3];
};

static void read_plain(struct plain_png *out)
{
    memset(&out->image, 0, sizeof out->image);
    out->image.version = PNG_IMAGE_VERSION;
    ck_assert(png_image_begin_read_from_file(&out->image, path));
    out->image.format = PNG_FORMAT_RGB;
    ck_assert(png_image_finish_read(&out->image, NULL, out->rgb, 0, NULL));
}

static bool is_in(const char *file)
{
    struct vision_photo *photo = NULL;
    bool found =
        vision_photo_open(file, &photo) == VISION_REASON_NONE && picture_record_is_in(photo);
    vision_photo_free(photo);
    return found;
}

static void expect(bool pixels_altered, bool text_altered)
{
    struct picture_record record;
    ck_assert_int_eq(picture_record_read(path, &record), PICTURE_RECORD_FINE);
    ck_assert_int_eq(record.pixels_altered, pixels_altered);
    ck_assert_int_eq(record.text_altered, text_altered);
    picture_record_clear(&record);
}

START_TEST(what_is_written_comes_back)
{
    write_one();
    struct picture_record record;
    ck_assert_int_eq(picture_record_read(path, &record), PICTURE_RECORD_FINE);
    ck_assert(!record.pixels_altered && !record.text_altered);
    ck_assert_str_eq(json_string_value(json_object_get(record.measurement, "message")),
                     "2.9 ± 0.2 degrees");
    ck_assert_double_eq(json_real_value(json_object_get(record.measurement, "u")), 0.125);
    picture_record_clear(&record);
    ck_assert(is_in(path));
}
END_TEST

/* Replaces text in the file and mends the chunk's CRC, as a text editor for PNG would. */
static void replace_in_chunk(const char *from, const char *to)
{
    struct bytes file = bytes_read(path);
    uint8_t *at = memmem(file.data, file.size, from, strlen(from));
    ck_assert_ptr_nonnull(at);
    for (size_t i = 0; to[i]; i++)
        at[i] = (uint8_t)to[i];
    for (size_t i = 8; i + 12 <= file.size;) {
        size_t length = (size_t)file.data[i] << 24 | (size_t)file.data[i + 1] << 16 |
                        (size_t)file.data[i + 2] << 8 | file.data[i + 3];
        uint32_t crc = 0xffffffff; /* PNG 1.2, appendix 15: the CRC's own algorithm */
        for (size_t k = i + 4; k < i + 8 + length; k++) {
            crc ^= file.data[k];
            for (int bit = 0; bit < 8; bit++)
                crc = crc & 1 ? 0xedb88320 ^ (crc >> 1) : crc >> 1;
        }
        crc = ~crc;
        for (size_t k = 0; k < 4; k++)
            file.data[i + 8 + length + k] = (uint8_t)(crc >> (24 - 8 * k));
        i += length + 12;
    }
    bytes_write(&file, path);
    bytes_free(&file);
}

START_TEST(a_changed_text_is_told)
{
    write_one();
    replace_in_chunk("0.125", "0.225");
    expect(false, true);
    write_one();
    replace_in_chunk("\"u\":0.125}", "\"u\":0.125 ");
    struct picture_record record;
    ck_assert_int_eq(picture_record_read(path, &record), PICTURE_RECORD_FINE);
    ck_assert(record.text_altered);
    ck_assert_ptr_null(record.measurement);
    picture_record_clear(&record);
}
END_TEST

/* PNG 1.2, 4.2.3: a text may be of any of three kinds, and stand behind the pixels. Here the texts
 * are the chunks between the header of 25 bytes and the first IDAT, and IEND is the last 12 bytes.
 */
START_TEST(a_text_is_known_whatever_its_kind_and_place)
{
    write_one();
    replace_in_chunk("iTXtarmsquare", "tEXtarmsquare");
    ck_assert(is_in(path));
    replace_in_chunk("armsquare", "Armsquare");
    ck_assert(!is_in(path));
    write_one();
    struct bytes file = bytes_read(path);
    const size_t head = 8 + 25, end = 12;
    uint8_t *idat = memmem(file.data, file.size, "IDAT", 4);
    ck_assert_ptr_nonnull(idat);
    size_t texts = (size_t)(idat - 4 - file.data) - head, rest = file.size - head - texts - end;
    uint8_t *kept = malloc(texts);
    ck_assert_ptr_nonnull(kept);
    memcpy(kept, file.data + head, texts);
    memmove(file.data + head, file.data + head + texts, rest);
    memcpy(file.data + head + rest, kept, texts);
    free(kept);
    bytes_write(&file, path);
    bytes_free(&file);
    expect(false, false);
    ck_assert(is_in(path));
}
END_TEST

START_TEST(a_lost_digest_vouches_for_nothing)
{
    write_one();
    replace_in_chunk("armsquare-sha256", "armsquare-sha257");
    expect(true, true);
}
END_TEST

/* The picture written anew with its texts, by libpng alone. */
static void write_again(const uint8_t *rgb, bool interlaced)
{
    struct bytes file = bytes_read(path);
    png_structp in = png_create_read_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(in);
    FILE *from = fmemopen(file.data, file.size, "rb");
    png_init_io(in, from);
    png_read_info(in, info);
    png_textp texts;
    int count = png_get_text(in, info, &texts, NULL);
    ck_assert_int_eq(count, 2);
    png_structp out = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop out_info = png_create_info_struct(out);
    FILE *to = fopen(path, "wb");
    png_init_io(out, to);
    png_set_IHDR(out, out_info, WIDTH, HEIGHT, 8, PNG_COLOR_TYPE_RGB,
                 interlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE, 0, 0);
    png_bytep rows[HEIGHT];
    for (size_t y = 0; y < HEIGHT; y++)
        rows[y] = (png_bytep)rgb + y * WIDTH * 3;
    png_write_info(out, out_info);
    png_write_image(out, rows);
    png_set_text(out, out_info, texts, count); /* behind the pixels this time */
    png_write_end(out, out_info);
    png_destroy_write_struct(&out, &out_info);
    png_destroy_read_struct(&in, &info, NULL);
    fclose(to);
    fclose(from);
    bytes_free(&file);
}

START_TEST(pixels_are_told_by_value_not_by_how_they_are_packed)
{
    static struct plain_png plain;
    write_one();
    read_plain(&plain);
    write_again(plain.rgb, true);
    expect(false, false);
    plain.rgb[WIDTH * 50 + 7] ^= 1;    /* the least change there is */
    ck_assert_int_eq(unlink(path), 0); /* a picture from elsewhere is not replaced */
    write_one();
    write_again(plain.rgb, true);
    expect(true, false);
}
END_TEST

/* The first 64 characters that sha256sum prints about the file. */
static void outside_digest(const char *file, char hex[65])
{
    char command[128];
    snprintf(command, sizeof command, "sha256sum '%s'", file);
    FILE *pipe = popen(command, "r"); /* NOLINT(cert-env33-c): an outside judge */
    ck_assert_ptr_nonnull(pipe);
    ck_assert_uint_eq(fread(hex, 1, 64, pipe), 64);
    hex[64] = '\0';
    pclose(pipe);
}

static void check_in_file(const char *prefix, const char *hex)
{
    char wanted[80];
    snprintf(wanted, sizeof wanted, "%s%s", prefix, hex);
    struct bytes file = bytes_read(path);
    ck_assert_msg(memmem(file.data, file.size, wanted, strlen(wanted)) != NULL, "no %s", wanted);
    bytes_free(&file);
}

START_TEST(the_digests_are_those_of_common_tools)
{
    static struct plain_png plain;
    char hex[65];
    write_one();
    read_plain(&plain);
    FILE *ppm = fopen(other, "wb");
    fprintf(ppm, "P6\n%d %d\n255\n", WIDTH, HEIGHT);
    fwrite(plain.rgb, 1, sizeof plain.rgb, ppm);
    fclose(ppm);
    outside_digest(other, hex);
    check_in_file("pixels=", hex);

    static const char text[] = "{\"message\":\"2.9 \\u00B1 0.2 degrees\",\"u\":0.125}";
    struct bytes bytes = {(uint8_t *)text, sizeof text - 1};
    bytes_write(&bytes, other);
    outside_digest(other, hex);
    check_in_file("text=", hex);
}
END_TEST

START_TEST(other_files_are_told_apart)
{
    struct picture_record record;
    ck_assert_int_eq(picture_record_read("/nowhere", &record), PICTURE_RECORD_NO_FILE);
    ck_assert_int_eq(errno, ENOENT);
    ck_assert_int_eq(picture_record_read("/tmp", &record), PICTURE_RECORD_NO_FILE);
    ck_assert_int_eq(errno, EISDIR);
    struct picture picture = picture_new(80, 80);
    struct bytes jpeg = jpeg_encode(&picture, &(struct jpeg_settings){0});
    struct bytes png = png_encode(&picture, &(struct png_settings){0});
    bytes_write(&jpeg, path);
    ck_assert_int_eq(picture_record_read(path, &record), PICTURE_RECORD_NO_PNG);
    ck_assert(!is_in(path));
    bytes_write(&png, path);
    ck_assert_int_eq(picture_record_read(path, &record), PICTURE_RECORD_NONE);
    ck_assert(!is_in(path));
    ck_assert_ptr_null(record.measurement);
    struct picture dot = picture_new(20, 20); /* too small to measure, yet a sound PNG */
    struct bytes small = png_encode(&dot, &(struct png_settings){0}), none = {0};
    bytes_write(&small, path);
    ck_assert_int_eq(picture_record_read(path, &record), PICTURE_RECORD_NONE);
    bytes_write(&none, path);
    ck_assert_int_eq(picture_record_read(path, &record), PICTURE_RECORD_EMPTY);
    picture_free(&dot);
    bytes_free(&small);
    bytes_free(&png);
    bytes_free(&jpeg);
    picture_free(&picture);
}
END_TEST

/* Ours is found behind 480 MB of others that stand in 470 kB. */
START_TEST(texts_of_others_cost_no_memory)
{
    struct picture_record record;
    write_one();
    struct bytes file = bytes_read(path), full = png_with_texts(&file);
    bytes_write(&full, path);
    const double before = peak_megabytes();
    ck_assert_int_eq(picture_record_read(path, &record), PICTURE_RECORD_FINE);
    ck_assert_double_lt(peak_megabytes(), before + 50);
    ck_assert(!record.pixels_altered && !record.text_altered);
    ck_assert(is_in(path));
    picture_record_clear(&record);
    bytes_free(&full);
    bytes_free(&file);
}
END_TEST

/* Cut anywhere, it is a damaged PNG; the sanitizers watch. */
START_TEST(a_cut_picture_is_damaged)
{
    write_one();
    struct bytes file = bytes_read(path);
    for (size_t cut = 8; cut < file.size; cut += file.size / 60) {
        struct picture_record record;
        struct bytes part = {file.data, cut};
        bytes_write(&part, path);
        ck_assert_int_eq(picture_record_read(path, &record), PICTURE_RECORD_NO_PNG);
        is_in(path);
    }
    bytes_free(&file);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("picture_record");
    TCase *tcase = tcase_create("record");
    tcase_set_timeout(tcase, 120); /* sanitizers on a busy machine */
    tcase_add_checked_fixture(tcase, set_up, tear_down);
    tcase_add_test(tcase, what_is_written_comes_back);
    tcase_add_test(tcase, a_changed_text_is_told);
    tcase_add_test(tcase, a_text_is_known_whatever_its_kind_and_place);
    tcase_add_test(tcase, a_lost_digest_vouches_for_nothing);
    tcase_add_test(tcase, pixels_are_told_by_value_not_by_how_they_are_packed);
    tcase_add_test(tcase, the_digests_are_those_of_common_tools);
    tcase_add_test(tcase, texts_of_others_cost_no_memory);
    tcase_add_test(tcase, other_files_are_told_apart);
    tcase_add_test(tcase, a_cut_picture_is_damaged);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
