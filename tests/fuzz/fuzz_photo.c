/* Fuzz target: any bytes as a photo. Opens them and decodes at each reduction, whole and in part;
 * the sanitizers judge. Built with clang's -fsanitize=fuzzer it explores by itself
 * (-DARMSQUARE_FUZZ=ON), otherwise fuzz_driver.c feeds it a corpus. */
#include "photo/photo_internal.h"

#include <stdio.h>
#include <stdlib.h>

#define MAX_INPUT 65536          /* larger inputs find nothing new and take long */
#define MAX_PIXELS (512 * 512.0) /* a few bytes can claim megapixels; keep each run short */

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* A decoded image must be where and as large as its contract says. */
static void check_image(const struct vision_image *image, int reduce, int channels)
{
    if (!image->pixels || image->width < 1 || image->height < 1 || image->reduce != reduce ||
        image->channels != channels ||
        image->stride < (size_t)image->width * (size_t)image->channels)
        abort();
    volatile uint8_t last =
        image->pixels[(size_t)image->height * image->stride - 1]; /* reads the far end */
    (void)last;
}

static void decode(const struct vision_photo *photo, int reduce, const struct vision_rect *area)
{
    for (int channels = 1; channels <= 3; channels += 2) {
        struct vision_image image;
        if (vision_photo_decode(photo, reduce, area, channels, &image) == VISION_REASON_NONE)
            check_image(&image, reduce, channels);
        else if (image.pixels)
            abort();
        vision_image_clear(&image);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size > MAX_INPUT)
        return 0;
    struct vision_photo *photo = NULL;
    if (photo_open_any_size(data, size, &photo) != VISION_REASON_NONE) {
        if (photo)
            abort();
        return 0;
    }
    const struct vision_photo_info *info = vision_photo_get_info(photo);
    if ((double)info->width_px * info->height_px <= MAX_PIXELS) {
        struct vision_rect area = {info->width_px / 3, info->height_px / 4, info->width_px / 3 + 20,
                                   info->height_px / 4 + 9};
        for (int reduce = 1; reduce <= 8; reduce *= 2) {
            decode(photo, reduce, NULL);
            decode(photo, reduce, &area);
        }
    }
    vision_photo_free(photo);
    return 0;
}
