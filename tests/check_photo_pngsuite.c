/* vision/photo/photo_png.c against PngSuite by Willem van Schaik, in the copy that Debian's package
 * golang-src carries with a text dump (.sng) of every picture. The dumps were made by another
 * program and are read here by our own few lines: every colour type and depth, transparency and
 * interlacing. */
#include "check_main.h"
#include "photo/photo_internal.h"
#include "photo_maker.h"

#include <ctype.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SKIPPED 77 /* to CTest: SKIP_RETURN_CODE */

struct dump {
    int width, height, depth;
    bool colour, palette, alpha;
    int palette_size;
    int entries[256][4]; /* r, g, b, alpha */
    int clear[3];        /* the transparent colour; -1 none */
    const char *pixels;  /* hex digits and blanks */
};

/* The number after a name such as "width:"; missing when the name is not there. */
static int number_after(const char *text, const char *name, int missing)
{
    const char *at = strstr(text, name);
    return at ? (int)strtol(at + strlen(name), NULL, 10) : missing;
}

static void read_palette(const char *text, struct dump *dump)
{
    const char *at = strstr(text, "PLTE {");
    const char *end = at ? strchr(at, '}') : NULL;
    while (at && (at = strchr(at, '(')) != NULL && at < end) {
        char *next;
        int *entry = dump->entries[dump->palette_size++];
        entry[0] = (int)strtol(at + 1, &next, 10);
        entry[1] = (int)strtol(next + 1, &next, 10);
        entry[2] = (int)strtol(next + 1, &next, 10);
        entry[3] = 255;
        at = strchr(next, '\n'); /* past the remark, which has brackets too */
    }
}

static void read_transparency(const char *text, struct dump *dump)
{
    dump->clear[0] = -1;
    const char *at = strstr(text, "tRNS {");
    if (!at)
        return;
    if (!dump->palette) {
        dump->clear[0] = number_after(at, dump->colour ? "red:" : "gray:", -1);
        dump->clear[1] = number_after(at, "green:", -1);
        dump->clear[2] = number_after(at, "blue:", -1);
        return;
    }
    at += strlen("tRNS {");
    for (int i = 0; i < dump->palette_size; i++) {
        char *next;
        long alpha = strtol(at, &next, 10);
        if (next == at)
            return;
        dump->entries[i][3] = (int)alpha;
        at = next;
    }
}

static struct dump read_dump(const char *text)
{
    struct dump dump = {.width = number_after(text, "width:", 0),
                        .height = number_after(text, "height:", 0),
                        .depth = number_after(text, "bitdepth:", 0)};
    const char *kind = strstr(text, "using");
    const char *end = strchr(kind, ';');
    const char *word;
    dump.colour = (word = strstr(kind, "color")) != NULL && word < end;
    dump.palette = (word = strstr(kind, "palette")) != NULL && word < end;
    dump.alpha = (word = strstr(kind, "alpha")) != NULL && word < end;
    if (dump.palette)
        read_palette(text, &dump);
    read_transparency(text, &dump);
    dump.pixels = strstr(text, "pixels hex") + strlen("pixels hex");
    return dump;
}

/* The next sample: depth bits of the hex digits; pending holds what is left of a digit. */
struct samples {
    const char *at;
    unsigned pending;
    int bits;
};

static int next_sample(struct samples *samples, int depth)
{
    while (samples->bits < depth) {
        while (isspace((unsigned char)*samples->at))
            samples->at++;
        char digit[2] = {*samples->at++, '\0'};
        ck_assert(isxdigit((unsigned char)digit[0]));
        samples->pending = samples->pending << 4 | (unsigned)strtoul(digit, NULL, 16);
        samples->bits += 4;
    }
    samples->bits -= depth;
    int value = (int)(samples->pending >> samples->bits & ((1u << depth) - 1));
    return value;
}

/* One pixel as it should look: samples by the PNG specification (1.2, 2.1 and 4.2.1.1), scaled to
 * 0 to 255, over white. */
static void expected_pixel(const struct dump *dump, struct samples *samples, double rgb[3])
{
    int value[4] = {0};
    double scale = 255.0 / ((1 << dump->depth) - 1), alpha = 1;
    if (dump->palette) {
        int index = next_sample(samples, dump->depth);
        ck_assert_int_lt(index, dump->palette_size);
        memcpy(value, dump->entries[index], sizeof value);
        alpha = value[3] / 255.0;
        scale = 1;
    } else {
        int channels = (dump->colour ? 3 : 1) + dump->alpha;
        for (int c = 0; c < channels; c++)
            value[c] = next_sample(samples, dump->depth);
        if (dump->alpha)
            alpha = value[channels - 1] * scale / 255;
        else if (value[0] == dump->clear[0] &&
                 (!dump->colour || (value[1] == dump->clear[1] && value[2] == dump->clear[2])))
            alpha = 0;
        if (!dump->colour)
            value[1] = value[2] = value[0];
    }
    for (int c = 0; c < 3; c++)
        rgb[c] = value[c] * scale * alpha + 255 * (1 - alpha);
}

static void compare(const char *name, const struct dump *dump, const struct vision_image *rgb,
                    const struct vision_image *grey)
{
    struct samples samples = {.at = dump->pixels};
    for (int y = 0; y < dump->height; y++) {
        samples.at += strcspn(samples.at, "\n"); /* a row a line, filled up to a byte */
        samples.bits = 0;
        for (int x = 0; x < dump->width; x++) {
            double want[3];
            expected_pixel(dump, &samples, want);
            const uint8_t *is = rgb->pixels + (size_t)y * rgb->stride + (size_t)x * 3;
            for (int c = 0; c < 3; c++)
                ck_assert_msg(is[c] >= want[c] - 1 && is[c] <= want[c] + 1,
                              "%s at %d %d, channel %d: %d not %.2f", name, x, y, c, is[c],
                              want[c]);
            double luma = 0.299 * want[0] + 0.587 * want[1] + 0.114 * want[2];
            int light = grey->pixels[(size_t)y * grey->stride + (size_t)x];
            ck_assert_msg(light >= luma - 1.5 && light <= luma + 1.5,
                          "%s at %d %d: grey %d not %.2f", name, x, y, light, luma);
        }
    }
}

static void check_picture(const char *png_name)
{
    char path[512];
    int stem = (int)strlen(png_name) - 4;
    snprintf(path, sizeof path, "%s/pngsuite/%s", PNGSUITE, png_name);
    struct bytes png = bytes_read(path);
    snprintf(path, sizeof path, "%s/pngsuite/%.*s.sng", PNGSUITE, stem, png_name);
    struct bytes text = bytes_read(path);
    ck_assert_msg(png.size > 0 && text.size > 0, "%s", path);
    text.data = realloc(text.data, text.size + 1);
    text.data[text.size] = '\0';
    struct dump dump = read_dump((const char *)text.data);
    struct vision_photo *photo = NULL;
    ck_assert_msg(photo_open_any_size(png.data, png.size, &photo) == VISION_REASON_NONE, "%s",
                  png_name);
    struct vision_image rgb, grey;
    ck_assert_int_eq(vision_photo_decode(photo, 1, NULL, 3, &rgb), VISION_REASON_NONE);
    ck_assert_int_eq(vision_photo_decode(photo, 1, NULL, 1, &grey), VISION_REASON_NONE);
    ck_assert_int_eq(rgb.width, dump.width);
    ck_assert_int_eq(rgb.height, dump.height);
    compare(png_name, &dump, &rgb, &grey);
    vision_image_clear(&grey);
    vision_image_clear(&rgb);
    vision_photo_free(photo);
    bytes_free(&text);
    bytes_free(&png);
}

START_TEST(every_picture_of_the_suite_is_read_right)
{
    DIR *folder = opendir(PNGSUITE "/pngsuite");
    ck_assert_ptr_nonnull(folder);
    int count = 0;
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        size_t length = strlen(entry->d_name);
        if (length > 4 && strcmp(entry->d_name + length - 4, ".png") == 0) {
            check_picture(entry->d_name);
            count++;
        }
    }
    closedir(folder);
    ck_assert_int_ge(count, 35);
}
END_TEST

static enum vision_reason decode_reason(const char *name)
{
    char path[512];
    snprintf(path, sizeof path, "%s/%s", PNGSUITE, name);
    struct bytes file = bytes_read(path);
    struct vision_photo *photo = NULL;
    struct vision_image image = {0};
    enum vision_reason reason = photo_open_any_size(file.data, file.size, &photo);
    if (reason == VISION_REASON_NONE)
        reason = vision_photo_decode(photo, 1, NULL, 3, &image);
    vision_image_clear(&image);
    vision_photo_free(photo);
    bytes_free(&file);
    return reason;
}

/* The package's invalid-*.png. Without its end chunk, or the last byte of that
 * (invalid-trunc.png), a picture is still whole. A colour index past
 * the palette (invalid-palette.png) is shown black, as libpng does: no camera writes palettes. */
START_TEST(invalid_pictures_are_told_apart)
{
    ck_assert_int_eq(decode_reason("invalid-crc32.png"), VISION_BROKEN_PHOTO);
    ck_assert_int_eq(decode_reason("invalid-noend.png"), VISION_REASON_NONE);
    ck_assert_int_eq(decode_reason("invalid-trunc.png"), VISION_REASON_NONE);
    ck_assert_int_eq(decode_reason("invalid-zlib.png"), VISION_BROKEN_PHOTO);
}
END_TEST

int main(void)
{
    DIR *folder = opendir(PNGSUITE "/pngsuite");
    if (!folder) {
        puts("skipped: PngSuite is not here; Debian's package golang-src brings it");
        return SKIPPED;
    }
    closedir(folder);
    Suite *suite = suite_create("photo_pngsuite");
    TCase *tcase = tcase_create("pngsuite");
    tcase_set_timeout(tcase, 120); /* sanitizers on a busy machine */
    tcase_add_test(tcase, every_picture_of_the_suite_is_read_right);
    tcase_add_test(tcase, invalid_pictures_are_told_apart);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
