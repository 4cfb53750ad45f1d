#include "measure_photo.h"

#include "lens_shelf.h"

void measure_photo(const struct vision_photo *photo, const struct measure_words_given *given,
                   struct vision_result *out)
{
    const struct vision_photo_info *info = vision_photo_get_info(photo);
    struct vision_options options = given->options;
    const struct lens_profile *profile = NULL;
    if (given->lens == MEASURE_LENS_GIVEN) {
        profile = &given->profile;
        if (lens_profile_match(profile, info) == LENS_MATCH_NOT) {
            *out = (struct vision_result){
                .status = VISION_FAILED, .reason = VISION_OTHER_LENS, .photo = *info};
            return;
        }
    } else if (given->lens == MEASURE_LENS_MATCHING) {
        profile = lens_shelf_pick(lens_shelf_own(), info);
    }
    options.lens = profile ? &profile->lens : NULL;
    if (given->stickers)
        vision_measure_stickers(photo, &options, out);
    else
        vision_measure(photo, &options, out);
}
