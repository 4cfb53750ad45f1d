#include "photo_arms.h"

#include "clean_text.h"
#include "measure_photo.h"
#include "message.h"
#include "picture_record.h"
#include "reasons.h"

#include <stdlib.h>
#include <strings.h>

static const char *fail(struct vision_result *out, enum vision_reason reason)
{
    *out = (struct vision_result){.status = VISION_FAILED, .reason = reason};
    return reason_sentence(reason);
}

const char *photo_arms_measure(const char *path, const struct measure_words_given *given,
                               struct vision_result *out)
{
    struct vision_photo *photo = NULL;
    enum vision_reason reason = vision_photo_open(path, &photo);
    if (reason != VISION_REASON_NONE) {
        fail(out, reason);
        return reason_unopened(reason, path);
    }
    const bool drawn = picture_record_is_in(photo);
    if (!drawn)
        measure_photo(photo, given, out);
    vision_photo_free(photo);
    if (drawn) {
        fail(out, VISION_NOT_A_PHOTO);
        return "This is a picture with lines already drawn in; give the photo it was made from.";
    }
    if (out->status == VISION_FAILED)
        return reason_sentence(out->reason);
    return out->arm_count > 0 ? NULL : fail(out, VISION_NO_ARM);
}

int photo_arms_find(const struct vision_result *result, const char *name)
{
    for (int i = 0; i < result->arm_count; i++)
        if (strcasecmp(result->arms[i].name, name) == 0)
            return i;
    return -1;
}

int photo_arms_refuse(const char *path, const struct vision_result *result, const char *sentence)
{
    char *name = clean_text(path);
    const char *shown = name ? name : "photo";
    int status = result->reason == VISION_NO_MEMORY ? fail_trouble("%s: %s", shown, sentence)
                                                    : fail_unusable("%s: %s", shown, sentence);
    free(name);
    return status;
}
