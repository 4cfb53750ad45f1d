#include "lens_words.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

#define LEAN_DEG 12.0   /* less of a slant tells little about the focal length */
#define GOOD_COVER 0.75 /* of the fields; corners of the picture are looked at by themselves */
#define WORTH_DEG 0.02  /* below, no answer of armsquare changes */

__attribute__((format(printf, 2, 3))) static void wish(struct lens_wishes *out, const char *format,
                                                       ...)
{
    va_list args;
    if (out->count == LENS_MAX_WANTED)
        return;
    va_start(args, format);
    vsnprintf(out->items[out->count++], LENS_WORDS, format, args);
    va_end(args);
}

static void wish_slants(const struct vision_lens_fit *fit, int n, struct lens_wishes *out)
{
    static const char *const from[4] = {"the left", "the right", "below", "above"};
    bool seen[4] = {false};
    for (int i = 0; i < n; i++) {
        seen[0] |= fit->views[i].lean_right_deg > LEAN_DEG;
        seen[1] |= fit->views[i].lean_right_deg < -LEAN_DEG;
        seen[2] |= fit->views[i].lean_up_deg > LEAN_DEG;
        seen[3] |= fit->views[i].lean_up_deg < -LEAN_DEG;
    }
    for (int k = 0; k < 4; k++)
        if (!seen[k])
            wish(out, "one taken from %s, slanting by about 25 degrees", from[k]);
}

/* Is a corner of the picture, two fields by two, without any marker? right, bottom: of the sensor.
 */
static bool is_bare(const struct vision_lens_fit *fit, int right, int bottom)
{
    int x0 = right ? VISION_LENS_GRID_X - 2 : 0, y0 = bottom ? VISION_LENS_GRID_Y - 2 : 0;
    for (int y = y0; y < y0 + 2; y++)
        for (int x = x0; x < x0 + 2; x++)
            if (fit->field[y][x])
                return false;
    return true;
}

/* Corners as the first photo shows them. */
static void wish_corners(const struct vision_card_view *first, const struct vision_lens_fit *fit,
                         struct lens_wishes *out)
{
    static const char *const names[2][2] = {{"top left", "top right"},
                                            {"bottom left", "bottom right"}};
    for (int y = 0; y < 2; y++)
        for (int x = 0; x < 2; x++) {
            struct vision_point corner = {x ? first->photo.width_px : 0,
                                          y ? first->photo.height_px : 0};
            struct vision_point at = vision_sensor_point(&first->photo, corner);
            if (is_bare(fit, at.x > 1, at.y > 1))
                wish(out, "one with the card in the %s corner of the picture", names[y][x]);
        }
}

void lens_wishes_make(const struct vision_card_view *views, int n, enum vision_lens_fault fault,
                      const struct vision_lens_fit *fit, struct lens_wishes *out)
{
    *out = (struct lens_wishes){.count = 0};
    int lacking = VISION_LENS_LEAST_VIEWS - n;
    if (lacking > 0)
        wish(out, "%d more, %d or more in all", lacking, VISION_LENS_LEAST_VIEWS);
    if (fault == VISION_LENS_FEW && !(fit->spread_deg > 0))
        wish(out, "some slanting by about 25 degrees: from the left, the right, above and below");
    else if (fault != VISION_LENS_MIXED && fault != VISION_LENS_FAILED)
        wish_slants(fit, n, out);
    if (n > 0)
        wish_corners(&views[0], fit, out);
    if (out->count == 0 && fit->covered < GOOD_COVER)
        wish(out, "some with the card near each side of the picture");
}

const char *lens_fault_sentence(enum vision_lens_fault fault)
{
    switch (fault) {
    case VISION_LENS_FEW:
        return "There are too few photos of the card for a lens profile.";
    case VISION_LENS_PARALLEL:
        return "All photos were taken from about the same direction, which tells nothing of the "
               "focal length.";
    case VISION_LENS_UNCERTAIN:
        return "These photos leave the lens too uncertain.";
    case VISION_LENS_MISFIT:
        return "One lens and a flat card do not explain these photos: glue the card to something "
               "flat, leave zoom and focus as they are, and take them anew.";
    case VISION_LENS_FAILED:
        return "No lens explains these photos; take them anew with the card glued to something "
               "flat.";
    case VISION_LENS_MIXED:
        return "The photos have different sizes; give photos of one camera and one setting.";
    case VISION_LENS_FINE:
        break;
    }
    return "";
}

void lens_worth(const struct vision_lens_fit *fit, char out[LENS_WORDS])
{
    if (fit->removed_deg < WORTH_DEG)
        snprintf(out, LENS_WORDS,
                 "This lens hardly bends: with the profile no angle in photos like these changes "
                 "by more than %.2f degrees.",
                 fmax(0.01, fit->removed_deg));
    else
        snprintf(out, LENS_WORDS,
                 "In photos like these it removes errors of up to %.2f degrees that measuring "
                 "without it would make.",
                 fit->removed_deg);
}
