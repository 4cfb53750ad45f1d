#include "measure_photo.h"

#include "lens/lens_shelf.h"
#include "picture/picture_path.h"
#include "picture/picture_record.h"
#include "result/reasons.h"

const char *measure_photo_open(const char *path, struct vision_photo **photo,
                               struct vision_result *out)
{
    *photo = NULL;
    enum vision_reason reason = vision_photo_open(path, photo);
    if (reason != VISION_REASON_NONE) {
        *out = (struct vision_result){.status = VISION_FAILED, .reason = reason};
        return reason_unopened(reason, path);
    }
    if (!picture_record_is_in(*photo))
        return NULL;
    vision_photo_free(*photo);
    *photo = NULL;
    *out = (struct vision_result){.status = VISION_FAILED, .reason = VISION_DRAWN_PHOTO};
    return reason_sentence(VISION_DRAWN_PHOTO);
}

bool measure_photo_is_own_picture(const char *path)
{
    struct vision_photo *photo = NULL;
    const bool own = picture_path_is_one(path) &&
                     vision_photo_open(path, &photo) == VISION_REASON_NONE &&
                     picture_record_is_in(photo);
    vision_photo_free(photo);
    return own;
}

void measure_photo(const struct vision_photo *photo, const struct measure_words_given *given,
                   struct vision_result *out)
{
    const struct vision_photo_info *info = vision_photo_get_info(photo);
    struct vision_options options = given->options;
    const struct lens_profile *profile = NULL;
    options.hint_plane = given->carried ? &given->seen_in : NULL;
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

const char *measure_photo_meant(const struct vision_photo *photo,
                                const struct measure_words_given *given,
                                const struct vision_result *result)
{
    bool cardless = result->reason >= VISION_NO_CARD && result->reason <= VISION_BURNT_PHOTO;
    bool bare = cardless || result->reason == VISION_NO_PART || result->reason == VISION_NO_ARM ||
                result->reason == VISION_ARM_ON_SQUARE;
    if (given->stickers || result->status != VISION_FAILED || !bare)
        return NULL;
    struct measure_words_given other = *given;
    struct vision_result stickers;
    other.stickers = true;
    measure_photo(photo, &other, &stickers);
    return stickers.arm_count > 0
               ? "This photo shows a crank's sticker, which tells turns between "
                 "photos; give it to \"armsquare measure --sticker\", together with another photo."
               : NULL;
}
