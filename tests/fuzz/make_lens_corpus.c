/* Writes lens profiles for fuzz_lens to start from: a sound one, and some that are none. */
#include "lens/lens_profile.h"

#include <stdio.h>

static bool keep(const char *folder, const char *name, const char *text)
{
    char path[600];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "w");
    return file && fputs(text, file) >= 0 && fclose(file) == 0;
}

int main(int argc, char **argv)
{
    if (argc != 2)
        return 2;
    char path[600];
    struct lens_profile p = {.lens = {.name = "Example Pocket 3, 4.2 mm",
                                      .width_px = 2016,
                                      .height_px = 1512,
                                      .focal_px = 1514,
                                      .centre_px = {1011, 750},
                                      .k1 = -0.05,
                                      .k2 = 0.01},
                             .camera = "Example Pocket 3",
                             .focal_mm = 4.2,
                             .exif_focal_px = 1514.2,
                             .made = "2026-11-25T10:00:00Z",
                             .photos = 9};
    const double u[VISION_LENS_UNKNOWNS] = {3, 2, 2.5, 0.002, 0.003};
    for (int j = 0; j < VISION_LENS_UNKNOWNS; j++)
        p.lens.cov[j * VISION_LENS_UNKNOWNS + j] = u[j] * u[j];
    snprintf(path, sizeof path, "%s/sound.json", argv[1]);
    bool good =
        lens_profile_write(path, &p) && keep(argv[1], "empty.json", "{}") &&
        keep(argv[1], "newer.json", "{\"format\": \"armsquare lens profile\", \"version\": 2}") &&
        keep(argv[1], "deep.json", "[[[[[[[[[[[[[[[[");
    return good ? 0 : 1;
}
