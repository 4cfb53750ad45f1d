#include "photo_arms.h"

#include "base/answer.h"
#include "base/clean_text.h"
#include "base/message.h"
#include "measure_photo.h"
#include "result/measure_json.h"
#include "result/reasons.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

const char *photo_arms_fault(struct vision_result *result)
{
    if (result->status == VISION_FAILED)
        return reason_sentence(result->reason);
    if (result->arm_count > 0)
        return NULL;
    *result = (struct vision_result){.status = VISION_FAILED, .reason = VISION_NO_ARM};
    return reason_sentence(result->reason);
}

const char *photo_arms_measure(const char *path, const struct measure_words_given *given,
                               struct vision_result *out)
{
    struct vision_photo *photo;
    const char *trouble = measure_photo_open(path, &photo, out);
    if (trouble)
        return trouble;
    measure_photo(photo, given, out);
    trouble = measure_photo_meant(photo, given, out);
    vision_photo_free(photo);
    return trouble ? trouble : photo_arms_fault(out);
}

/* Of two arms' lengths: photos of one arm tell it within a few per cent of each other, seldom
 * within 25 % (docs/advice.md). */
#define LONGER 1.33

struct arm_shown photo_arm_shown(const struct vision_result *result, int arm)
{
    return (struct arm_shown){result->arm_count + result->untold_arms, result->arms[arm].length_mm};
}

bool photo_arms_may_be_one(const struct arm_shown *a, const struct arm_shown *b)
{
    double longer = fmax(a->length_mm, b->length_mm), shorter = fmin(a->length_mm, b->length_mm);
    bool as_many = a->arms == b->arms || a->arms == 0 || b->arms == 0;
    return as_many && longer <= LONGER * shorter;
}

int photo_arms_find(const struct vision_result *result, const char *name)
{
    for (int i = 0; i < result->arm_count; i++)
        if (strcasecmp(result->arms[i].name, name) == 0)
            return i;
    return -1;
}

bool photo_arms_word(const char *word, char path[PHOTO_PATH], const char **arm)
{
    const char *colon = strrchr(word, ':');
    size_t length = strlen(word);
    *arm = word + length;
    if (access(word, F_OK) != 0 && colon) {
        length = (size_t)(colon - word);
        *arm = colon + 1;
    }
    if (length >= PHOTO_PATH)
        return false;
    memcpy(path, word, length);
    path[length] = '\0';
    return true;
}

bool photo_arms_like_file(const char *path)
{
    const char *dot = strrchr(path, '.');
    return access(path, F_OK) == 0 || strchr(path, '/') || (dot && isalpha((unsigned char)dot[1]));
}

int photo_arms_refuse(const char *path, const struct vision_result *result, const char *sentence)
{
    char size[REASON_SIZE_NOTE];
    reason_size_note(result->reason, &result->photo, size);
    const char *gap = *size ? " " : "";
    return result->reason == VISION_NO_MEMORY
               ? fail_trouble("%s: %s", path, sentence)
               : fail_unusable("%s: %s%s%s", path, sentence, gap, size);
}

int photo_arms_refuse_answer(const char *path, const struct vision_result *result,
                             const char *sentence, bool as_json)
{
    json_t *json = as_json ? measure_json(path, result) : NULL;
    if (json && sentence != reason_sentence(result->reason)) /* else with its size note */
        json_object_set_new(json, "message", json_string(sentence));
    if (as_json)
        answer_print_json(json, JSON_INDENT(2) | JSON_REAL_PRECISION(10));
    return photo_arms_refuse(path, result, sentence);
}

int photo_arms_missing(const char *path, const char *first, const char *last, const char *name,
                       bool as_json)
{
    char arms[60];
    bool stickers = vision_sticker_by_name(first) != NULL; /* no arm goes by such a name */
    const char *what = stickers ? "sticker" : "arm";
    if (strcmp(first, last) == 0)
        snprintf(arms, sizeof arms, "%s %s alone", what, first);
    else
        snprintf(arms, sizeof arms, "%ss %s to %s", what, first, last);
    return answer_refuse(as_json, "%s: there is no %s %.*s in this photo; it shows %s.", path, what,
                         text_cut(name, 40), name, arms);
}
