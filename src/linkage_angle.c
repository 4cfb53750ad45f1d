#include "linkage_angle.h"

#include "arm_uncertainty.h"
#include "commands.h"
#include "message.h"
#include "photo_arms.h"
#include "reasons.h"
#include "same_photo.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

struct linkage_photos linkage_photos_start(void)
{
    return (struct linkage_photos){.given = measure_options_start()};
}

/* Here --arm is a length: what a reason says of it holds for the command that measures. */
const char *linkage_photo_says(enum vision_reason reason, char text[LINKAGE_PHOTO_SAYS])
{
    const char *sentence = reason_sentence(reason);
    snprintf(text, LINKAGE_PHOTO_SAYS, "%s%s", sentence,
             strstr(sentence, "--arm") ? " (\"armsquare measure\" takes that --arm; give the angle "
                                         "it tells in place of the photo.)"
                                       : "");
    return text;
}

static void note_unsure(struct linkage_photos *photos, const char *word, enum vision_reason reason)
{
    if (photos->unsure_count < LINKAGE_OPTION_MOST)
        photos->unsure[photos->unsure_count++] = (struct linkage_unsure){word, reason};
}

/* The arm named, or the first one, in the photo that the word means. */
static int measure(const char *word, const char *path, const char *arm_name,
                   struct linkage_photos *photos, struct quantity *out)
{
    struct vision_result result;
    char text[LINKAGE_PHOTO_SAYS];
    const char *trouble = photo_arms_measure(path, &photos->given, &result);
    if (trouble == reason_sentence(result.reason))
        trouble = linkage_photo_says(result.reason, text);
    if (trouble)
        return photo_arms_refuse(path, &result, trouble);
    int at = *arm_name ? photo_arms_find(&result, arm_name) : 0;
    if (at < 0)
        return photo_arms_missing(path, &result, arm_name);
    if (result.status == VISION_UNSURE)
        note_unsure(photos, word, result.reason);
    const struct vision_arm *arm = &result.arms[at];
    *out = (struct quantity){arm->angle_deg, arm_normal_u_deg(arm)};
    return EXIT_DONE;
}

#define PATH_SIZE 4096

/* "photo.jpg" or "photo.jpg:B" taken apart; *arm is "" for the first arm, and lies in word. false
 * when no such file can be read. */
static bool take_photo(const char *word, char path[PATH_SIZE], const char **arm)
{
    const char *colon = strrchr(word, ':');
    size_t length = strlen(word);
    *arm = word + length;
    if (access(word, R_OK) != 0 && colon) {
        length = (size_t)(colon - word);
        *arm = colon + 1;
    }
    if (length >= PATH_SIZE)
        return false;
    memcpy(path, word, length);
    path[length] = '\0';
    return access(path, R_OK) == 0;
}

/* The first arm is always called A; letters of either size will do. */
static bool same_arm(const char *a, const char *b)
{
    return strcasecmp(*a ? a : "A", *b ? b : "A") == 0;
}

int linkage_angles_differ(const char *const *words, int n)
{
    struct quantity number;
    char path[PATH_SIZE], other[PATH_SIZE];
    const char *arm, *other_arm;
    for (int i = 0; i < n; i++) {
        if (quantity_parse(words[i], QUANTITY_ANGLE, &number) == QUANTITY_FINE ||
            !take_photo(words[i], path, &arm))
            continue;
        for (int j = 0; j < i; j++)
            if (take_photo(words[j], other, &other_arm) && same_arm(arm, other_arm) &&
                same_photo(path, other))
                return fail_usage("\"%s\" and \"%s\" are the same arm in the same photo; give "
                                  "another photo, or another arm such as \"%s:B\".",
                                  words[j], words[i], path);
    }
    return EXIT_DONE;
}

int linkage_angle_read(const char *word, struct linkage_photos *photos, struct quantity *out)
{
    char path[PATH_SIZE];
    const char *arm;
    enum quantity_fault fault = quantity_parse(word, QUANTITY_ANGLE, out);
    if (fault == QUANTITY_FINE)
        return EXIT_DONE;
    if (take_photo(word, path, &arm))
        return measure(word, path, arm, photos, out);
    if (isdigit((unsigned char)word[0]) && fault != QUANTITY_NO_NUMBER && !strchr(word, '.'))
        return fail_usage("\"%s\" %s.", word, quantity_fault_says(fault));
    return fail_usage("\"%s\" is neither an angle such as \"91.3 u 0.2\" nor a photo that can be "
                      "read.",
                      word);
}
