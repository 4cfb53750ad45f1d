#include "measure_words.h"

#include "arm_uncertainty.h"
#include "reasons.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

bool measure_is_square(const struct vision_arm *arm)
{
    return fabs(arm->deviation_deg) <= arm_expanded_deg(arm);
}

const char *measure_lies(const struct vision_arm *arm)
{
    return arm->deviation_deg > 0 ? "counter-clockwise" : "clockwise";
}

const char *measure_cure(const struct vision_arm *arm)
{
    return arm->deviation_deg > 0 ? "clockwise" : "counter-clockwise";
}

void measure_round(double deg, double expanded_deg, char size[16], char expanded[16])
{
    int decimals = expanded_deg >= 0.095 ? 1 : 2;
    double unit = pow(10, -decimals);
    /* Up, lest it promise more than was found, unless down takes no more than a twentieth (EA-4/02
     * M:2022, 6.3; from memory). */
    double up = fmax(unit, unit * ceil(0.95 * expanded_deg / unit));
    snprintf(size, 16, "%.*f", decimals, fabs(deg));
    snprintf(expanded, 16, "%.*f", decimals, up);
}

void measure_numbers(const struct vision_arm *arm, char deviation[16], char expanded[16])
{
    measure_round(arm->deviation_deg, arm_expanded_deg(arm), deviation, expanded);
}

void measure_arm_sentence(const struct vision_arm *arm, char out[MEASURE_WORDS])
{
    char deviation[16], expanded[16];
    measure_numbers(arm, deviation, expanded);
    snprintf(out, MEASURE_WORDS, "Arm %s lies %s ± %s degrees %s of square.", arm->name, deviation,
             expanded, measure_lies(arm));
}

static void ok_message(const struct vision_arm *arm, char out[MEASURE_WORDS])
{
    char deviation[16], expanded[16];
    if (!measure_is_square(arm)) {
        measure_arm_sentence(arm, out);
        size_t length = strlen(out);
        snprintf(out + length, MEASURE_WORDS - length, " Turn it %s as seen in the photo.",
                 measure_cure(arm));
        return;
    }
    measure_numbers(arm, deviation, expanded);
    snprintf(out, MEASURE_WORDS,
             "Arm %s is square as far as the photo can tell: %s ± %s degrees %s. Leave it.",
             arm->name, deviation, expanded, measure_lies(arm));
}

static void unsure_message(const struct vision_result *result, char out[MEASURE_WORDS])
{
    const struct vision_arm *arm = &result->arms[0];
    char deviation[16], expanded[16];
    measure_numbers(arm, deviation, expanded);
    snprintf(out, MEASURE_WORDS,
             "Arm %s seems to lie %s ± %s degrees %s of square, but check it: %s", arm->name,
             deviation, expanded, measure_lies(arm), reason_sentence(result->reason));
    /* The reason's sentence goes on after the colon. */
    char *start = strstr(out, "check it: ");
    if (start && start[10] >= 'A' && start[10] <= 'Z')
        start[10] = (char)(start[10] - 'A' + 'a');
}

static void sticker_message(const struct vision_result *result, char out[MEASURE_WORDS])
{
    const struct vision_arm *arm = &result->arms[0];
    char unused[16], expanded[16];
    measure_numbers(arm, unused, expanded);
    if (result->status == VISION_UNSURE)
        snprintf(out, MEASURE_WORDS, "Sticker %s can be read, but check it. %s", arm->name,
                 reason_sentence(result->reason));
    else
        snprintf(out, MEASURE_WORDS,
                 "Sticker %s is read, ± %s degrees. Alone it does not tell where the arm points: "
                 "only changes between photos count.",
                 arm->name, expanded);
}

const char *measure_side(enum vision_side side)
{
    static const char *const sides[] = {NULL, "left", "right", "top", "bottom"};
    return sides[side];
}

void measure_witness_sentence(const struct vision_witness *witness, char out[MEASURE_WORDS])
{
    const char *nearer = measure_side(witness->nearer);
    char side[80] = "";
    out[0] = '\0';
    if (!witness->spacing_deg || witness->verdict == VISION_WITNESS_AGREES)
        return;
    if (witness->verdict == VISION_WITNESS_UNEVEN) {
        snprintf(
            out, MEASURE_WORDS,
            "The arms are not quite %d degrees apart, and no lean of the card explains it: "
            "the part is made so, or an arm was read wrongly; look at the lines in the picture.",
            witness->spacing_deg);
        return;
    }
    if (nearer)
        snprintf(side, sizeof side, ", its %s side (as seen in the photo) too near to the part",
                 nearer);
    snprintf(
        out, MEASURE_WORDS,
        "The arms look other than %d degrees apart: the card leans%s, or the arms were moulded "
        "so. Take another photo from the opposite side, as much aslant, and give both to "
        "armsquare measure --together: that tells.",
        witness->spacing_deg, side);
}

void measure_message(const struct vision_result *result, char out[MEASURE_WORDS])
{
    if (result->status == VISION_FAILED || result->arm_count < 1)
        snprintf(out, MEASURE_WORDS, "%s", reason_sentence(result->reason));
    else if (result->of_stickers)
        sticker_message(result, out);
    else if (result->status == VISION_UNSURE)
        unsure_message(result, out);
    else
        ok_message(&result->arms[0], out);
}
