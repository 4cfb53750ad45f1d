/* Writes small photos of every kind into a folder, as a first corpus for fuzz_photo. */
#include "photo_maker.h"

#include <stdio.h>
#include <stdlib.h>

static void keep(const char *folder, const char *name, struct bytes file)
{
    char *path = NULL;
    if (asprintf(&path, "%s/%s", folder, name) < 0)
        abort();
    bytes_write(&file, path);
    free(path);
    bytes_free(&file);
}

static void write_jpegs(const char *folder, const struct picture *picture)
{
    struct exif_entry ifd0[] = {{.tag = 0x0110, .type = 2, .text = "Snap 3"},
                                {.tag = 0x0112, .type = 3, .value = 6}};
    struct exif_entry values[] = {{.tag = 0x920A, .type = 5, .value = 50, .denominator = 10},
                                  {.tag = 0xA405, .type = 3, .value = 26}};
    struct bytes exif = exif_build(ifd0, 2, values, 2);
    struct jpeg_settings kinds[] = {
        {.h_samp = 2, .v_samp = 2, .exif = exif},
        {.h_samp = 2, .progressive = true},
        {.grey = true},
        {.cmyk = true, .h_samp = 2},
        {.restart_rows = 1},
    };
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        char name[32];
        snprintf(name, sizeof name, "jpeg-%zu.jpg", i);
        keep(folder, name, jpeg_encode(picture, &kinds[i]));
    }
    for (int i = 0; i < 2; i++)
        keep(folder, i ? "png-interlaced.png" : "png.png",
             png_encode(picture, &(struct png_settings){.interlaced = i, .exif = exif}));
    bytes_free(&exif);
}

int main(int argc, char **argv)
{
    if (argc != 2) {
        fputs("usage: make_photo_corpus FOLDER\n", stderr);
        return EXIT_FAILURE;
    }
    struct picture picture = picture_new(75, 49);
    for (size_t i = 0; i < (size_t)75 * 49 * 3; i++)
        picture.rgb[i] = (uint8_t)((i * i / 97 + i / 200) & 0xff);
    write_jpegs(argv[1], &picture);
    picture_free(&picture);
    return EXIT_SUCCESS;
}
