#include "measure_options.h"

#include "arithmetic/number.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "base/option_value.h"
#include "parallel.h"
#include "sheet/sheet.h"

#include <string.h>

const char measure_options_help[] =
    "      --reference KIND  what to measure against: card (default; its long black edge lies\n"
    "                        against the servo), edge, link or points\n"
    "      --hint X,Y,X,Y    two points on the edge, or the two points themselves; angles and\n"
    "                        letters count from the direction first to second\n"
    "      --arm X,Y,X,Y     where hub and tip of the arm are, hub first\n"
    "                        (pixels from the photo's top left corner; where several photos show\n"
    "                        a card that lay still, in the first)\n" MEASURE_CAMERA_HELP;

static const struct option long_options[] = {MEASURE_LONG_OPTIONS};

struct measure_words_given measure_options_start(void)
{
    struct measure_words_given given = {.options = vision_options_default()};
    given.options.threads = parallel_share(1);
    return given;
}

/* count numbers with commas between them, nothing else. */
static bool parse_list(const char *word, double *out, int count)
{
    for (int i = 0; i < count; i++) {
        char number[40];
        size_t length = strcspn(word, ",");
        bool last = word[length] == '\0';
        if (length >= sizeof number || last != (i == count - 1))
            return false;
        memcpy(number, word, length);
        number[length] = '\0';
        if (!number_parse(number, &out[i]))
            return false;
        word += length + 1;
    }
    return true;
}

bool measure_points_parse(const char *word, struct vision_point out[2])
{
    double v[4];
    if (!parse_list(word, v, 4))
        return false;
    out[0] = (struct vision_point){v[0], v[1]};
    out[1] = (struct vision_point){v[2], v[3]};
    return true;
}

static int take_points(const char *name, const char *word, struct vision_point *a,
                       struct vision_point *b)
{
    struct vision_point points[2];
    if (!measure_points_parse(word, points))
        return fail_usage("--%s takes two points as X,Y,X,Y in pixels, such as 412,300,1630,322, "
                          "not \"%s\".",
                          name, word);
    *a = points[0];
    *b = points[1];
    return EXIT_DONE;
}

static int take_reference(const char *word, enum vision_reference_kind *out)
{
    static const struct {
        const char *name;
        enum vision_reference_kind kind;
    } kinds[] = {{"card", VISION_REFERENCE_CARD},
                 {"edge", VISION_REFERENCE_EDGE},
                 {"link", VISION_REFERENCE_LINK},
                 {"points", VISION_REFERENCE_POINTS}};
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        if (strcmp(word, kinds[i].name) == 0) {
            *out = kinds[i].kind;
            return EXIT_DONE;
        }
    }
    return fail_usage("--reference is card, edge, link or points, not \"%s\".", word);
}

/* Beyond a tenth too long or short the sheet was not printed true to scale at all. */
static int take_bars(const char *word, struct vision_options *options)
{
    const double low = 0.9 * SHEET_BAR_MM, high = 1.1 * SHEET_BAR_MM;
    double v[2];
    if (!parse_list(word, v, 2) || v[0] < low || v[0] > high || v[1] < low || v[1] > high)
        return fail_usage("--bars takes the lengths of both bars in mm, %.0f to %.0f, such as "
                          "99.8,100.1, not \"%s\".",
                          low, high, word);
    options->bar_scale_x = v[0] / SHEET_BAR_MM;
    options->bar_scale_y = v[1] / SHEET_BAR_MM;
    return EXIT_DONE;
}

static int take_lens(const char *word, struct measure_words_given *given)
{
    char problem[LENS_PROFILE_PROBLEM];
    given->lens = MEASURE_LENS_NONE;
    if (strcmp(word, "none") == 0)
        return EXIT_DONE;
    if (!lens_profile_read(word, &given->profile, problem))
        return fail_unusable("\"%s\" %s", word, problem);
    given->lens = MEASURE_LENS_GIVEN;
    return EXIT_DONE;
}

int measure_options_named(const char *name)
{
    for (size_t i = 0; i < sizeof long_options / sizeof long_options[0]; i++)
        if (strcmp(long_options[i].name, name) == 0)
            return long_options[i].val;
    return -1;
}

int measure_options_take(struct measure_words_given *given, int option, const char *word)
{
    struct vision_options *o = &given->options;
    switch (option) {
    case MEASURE_REFERENCE:
        return take_reference(word, &o->reference);
    case MEASURE_HINT:
        given->have_hint = true;
        return take_points("hint", word, &o->hint_px[0], &o->hint_px[1]);
    case MEASURE_ARM:
        o->have_arm_hint = true;
        return take_points("arm", word, &o->hub_hint_px, &o->tip_hint_px);
    case MEASURE_BARS:
        return take_bars(word, o);
    case MEASURE_FOCAL:
        return option_number("focal", word, 100, 1e6, &o->focal_px);
    case MEASURE_LENS:
        return take_lens(word, given);
    default:
        return option_number("tilt", word, 0, 20, &o->card_tilt_deg);
    }
}

int measure_options_idle(void)
{
    return fail_usage("--reference, --hint, --arm, --bars, --focal, --tilt and --lens say how to "
                      "read a photo; give one, or leave them out.");
}

bool measure_options_point(const struct measure_words_given *given)
{
    return given->have_hint || given->options.have_arm_hint;
}

int measure_options_of_one_photo(void)
{
    return fail_usage("--hint and --arm tell places in one photo: measure each by itself, with its "
                      "own. Only \"trim-scale\" and \"measure --together\", where the card lay "
                      "still, carry them over from the first photo.");
}

int measure_options_check(const struct measure_words_given *given)
{
    bool wants = given->options.reference == VISION_REFERENCE_EDGE ||
                 given->options.reference == VISION_REFERENCE_POINTS;
    if (wants && !given->have_hint)
        return fail_usage("--reference edge and points need two points: add --hint X,Y,X,Y.");
    if (!wants && given->have_hint)
        return fail_usage("--hint goes with --reference edge or points: add one of them.");
    return EXIT_DONE;
}
