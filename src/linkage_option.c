#include "linkage_option.h"

#include "arm_uncertainty.h"
#include "commands.h"
#include "linkage_file.h"
#include "message.h"
#include "photo_arms.h"
#include "reasons.h"
#include "same_file.h"
#include "thread.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static int take_quantity(const struct linkage_option *option, const char *value)
{
    struct quantity read;
    enum quantity_fault fault = quantity_parse(value, option->kind, &read);
    if (fault != QUANTITY_FINE)
        return fail_usage("--%s: \"%s\" %s.", option->name, value, quantity_fault_says(fault));
    if (option->type == OPTION_POSITIVE && !(read.value > 0))
        return fail_usage("--%s must be above 0, not \"%s\".", option->name, value);
    bool plain = option->type == OPTION_NUMBER || option->type == OPTION_SIZE;
    if (option->type == OPTION_SIZE && read.value < 0)
        return fail_usage("--%s cannot be negative, and \"%s\" is.", option->name, value);
    if (plain && read.u > 0)
        return fail_usage("--%s takes a number without uncertainty, not \"%s\".", option->name,
                          value);
    if (plain)
        *(double *)option->to = read.value;
    else
        *(struct quantity *)option->to = read;
    return EXIT_DONE;
}

static int take_list(const struct linkage_option *option, const char *value)
{
    struct linkage_option_list *list = option->to;
    if (list->count == LINKAGE_OPTION_MOST)
        return fail_usage("--%s can be given %d times at most.", option->name, LINKAGE_OPTION_MOST);
    list->items[list->count++] = value;
    return EXIT_DONE;
}

static int take_value(const struct linkage_option *option, const char *value)
{
    switch (option->type) {
    case OPTION_QUANTITY:
    case OPTION_POSITIVE:
    case OPTION_NUMBER:
    case OPTION_SIZE:
        return take_quantity(option, value);
    case OPTION_TEXT:
        *(const char **)option->to = value;
        return EXIT_DONE;
    case OPTION_THREAD:
        return thread_pitch(value, option->to)
                   ? EXIT_DONE
                   : fail_usage("--%s: \"%s\" is not a thread this program knows; write M2, "
                                "\"M3 fine\", M3x0.35, \"0.45 mm\" or \"56 tpi\".",
                                option->name, value);
    case OPTION_STEP:
        return linkage_take_step(value, option->to)
                   ? EXIT_DONE
                   : fail_usage("--%s: \"%s\" is not known; write \"half turn\", \"whole turn\", "
                                "\"1/6 turn\" or any.",
                                option->name, value);
    case OPTION_PHOTO:
        return measure_options_take(option->to, measure_options_named(option->name), value);
    case OPTION_LIST:
        return take_list(option, value);
    case OPTION_FLAG:
        break;
    }
    *(bool *)option->to = true;
    return EXIT_DONE;
}

static const struct linkage_option *find(const struct linkage_option *table, size_t n,
                                         const char *name, size_t length)
{
    for (size_t i = 0; i < n; i++)
        if (strlen(table[i].name) == length && strncmp(table[i].name, name, length) == 0)
            return &table[i];
    return NULL;
}

static bool is_value(const char *word)
{
    return word[0] != '-' || isdigit((unsigned char)word[1]) || word[1] == '.' || !word[1];
}

/* One option at argv[*at]; steps *at over a value that follows it. */
static int take_option(int argc, char **argv, int *at, const struct linkage_option *table, size_t n)
{
    const char *word = argv[*at];
    const char *name = strcmp(word, "-o") == 0 ? "output" : word + 2;
    size_t length = strcspn(name, "=");
    const struct linkage_option *option =
        word[1] == '-' || strcmp(word, "-o") == 0 ? find(table, n, name, length) : NULL;
    if (!option)
        return fail_usage("there is no option \"%s\"; \"armsquare linkage %s --help\" lists them.",
                          word, argv[0]);
    const char *value = name[length] == '=' ? name + length + 1 : NULL;
    if (option->type == OPTION_FLAG)
        return value ? fail_usage("--%s takes no word after it: leave out \"=%s\".", option->name,
                                  value)
                     : take_value(option, NULL);
    if (!value && *at + 1 >= argc)
        return fail_usage(
            "%.*s wants a word after it; \"armsquare linkage %s --help\" tells which.",
            (int)strcspn(word, "="), word, argv[0]);
    return take_value(option, value ? value : argv[++*at]);
}

int linkage_options_read(int argc, char **argv, const struct linkage_option *table, size_t n,
                         struct linkage_option_list *values, bool *help)
{
    for (int at = 1; at < argc; at++) {
        if (strcmp(argv[at], "--help") == 0 || strcmp(argv[at], "-h") == 0) {
            *help = true;
            return EXIT_DONE;
        }
        int status = EXIT_DONE;
        if (!is_value(argv[at]))
            status = take_option(argc, argv, &at, table, n);
        else if (values->count == LINKAGE_OPTION_MOST)
            status = fail_usage("\"%s\" is one value too many.", argv[at]);
        else
            values->items[values->count++] = argv[at];
        if (status != EXIT_DONE)
            return status;
    }
    return EXIT_DONE;
}

bool linkage_options_begin(int argc, char **argv, const struct linkage_option *table, size_t n,
                           struct linkage_option_list *values, const char *help_text, int *status)
{
    bool help = false;
    *status = linkage_options_read(argc, argv, table, n, values, &help);
    if (*status == EXIT_DONE && help)
        fputs(help_text, stdout);
    return *status == EXIT_DONE && !help;
}

/* ---- Angles, given or photographed ----------------------------------------------------------- */

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

/* The first arm is always called A. */
static bool same_arm(const char *a, const char *b)
{
    return strcmp(*a ? a : "A", *b ? b : "A") == 0;
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
                same_file(path, other))
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
