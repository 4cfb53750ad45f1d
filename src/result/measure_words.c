#include "measure_words.h"

#include "arithmetic/plus_minus.h"
#include "arm_uncertainty.h"
#include "reasons.h"
#include "reference_words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

void measure_numbers(const struct vision_arm *arm, double tolerance_deg, char deviation[16],
                     char expanded[16])
{
    plus_minus(arm->deviation_deg, arm_expanded_deg(arm), tolerance_deg, deviation, expanded);
}

void measure_arm_sentence(const struct vision_arm *arm, enum vision_reference_kind reference,
                          bool unsure, char out[MEASURE_WORDS])
{
    const double expanded_deg = arm_expanded_deg(arm);
    char deviation[PLUS_MINUS_WORDS];
    plus_minus_degrees(arm->deviation_deg, expanded_deg, deviation);
    snprintf(out, MEASURE_WORDS, "Arm %s %s %s %s square%s.", arm->name,
             unsure ? "seems to lie" : "lies", deviation,
             plus_minus_lies(arm->deviation_deg, plus_minus_decimals(expanded_deg)),
             reference_to(reference));
}

/* What is ordered, after "... of square". */
static void write_order(FILE *to, const struct verdict *v)
{
    const double limit_deg = verdict_held_to_deg(v);
    const char *unit = plus_minus_degree_word(limit_deg);
    bool asked = v->asked.tolerance_deg > 0;
    char undecided[VERDICT_UNDECIDED];
    verdict_undecided(v, undecided);
    switch (v->order) {
    case ORDER_TURN:
        if (asked)
            fprintf(to, ", outside the tolerance of %g %s", limit_deg, unit);
        fprintf(to, ". Turn it %s as seen in the photo.", order_cure(v->off_deg));
        break;
    case ORDER_GOOD:
        fprintf(to, ", within the tolerance of %g %s. Leave it.", limit_deg, unit);
        break;
    case ORDER_CANNOT_TELL:
        fprintf(to, ", too near the limit of %g %s to decide. %s", limit_deg, unit, undecided);
        break;
    case ORDER_HALF_WAY:
        fprintf(to, ", nearly half way between two squares. %s", undecided);
        break;
    default:
        fputc('.', to);
    }
}

/* The sentence goes on after a colon. */
static void write_why(FILE *to, const char *why)
{
    bool capital = why[0] >= 'A' && why[0] <= 'Z';
    fprintf(to, ", but check it: %c%s", capital ? why[0] - 'A' + 'a' : why[0], why + 1);
}

void measure_write_verdict(FILE *to, const struct verdict *v, const char *why)
{
    char off[VERDICT_OFF], from[VERDICT_FROM], square[ORDER_SQUARE_WORDS];
    verdict_from(v, " degrees", from);
    if (v->order == ORDER_SQUARE && !v->asked.have_target) {
        order_square(v->off_deg, v->expanded_deg, reference_to(v->reference), square);
        fprintf(to, "Arm %s is %s: %s. Leave it.", v->arm.name, square, verdict_off(v, off));
        return;
    }
    fprintf(to, "Arm %s %s %s %s%s", v->arm.name,
            v->order == ORDER_UNSURE ? "seems to lie" : "lies", verdict_off_from(v, off), from,
            reference_to(v->reference));
    if (v->order == ORDER_UNSURE)
        write_why(to, why);
    else
        write_order(to, v);
}

static void write_sticker(FILE *to, const struct vision_result *result)
{
    const struct vision_arm *arm = &result->arms[0];
    char unused[16], expanded[16];
    measure_numbers(arm, NAN, unused, expanded);
    if (result->status == VISION_UNSURE)
        fprintf(to, "Sticker %s can be read, but check it. %s", arm->name,
                reason_sentence(result->reason));
    else
        fprintf(to,
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

void measure_untold_sentence(const struct vision_result *result, char out[MEASURE_WORDS])
{
    out[0] = '\0';
    if (result->untold_arms == 1)
        snprintf(out, MEASURE_WORDS, "One more arm is seen, but could not be measured.");
    else if (result->untold_arms > 1)
        snprintf(out, MEASURE_WORDS, "%d more arms are seen, but could not be measured.",
                 result->untold_arms);
}

int measure_told(const struct vision_result *result, const struct verdict *verdict)
{
    return verdict ? verdict->index : verdict_arm(result->arms, result->arm_count, &verdict_square);
}

static void write_message(FILE *to, const struct vision_result *result,
                          const struct verdict *verdict)
{
    struct verdict first;
    if (result->status == VISION_FAILED || result->arm_count < 1) {
        char size[REASON_SIZE_NOTE];
        reason_size_note(result->reason, &result->photo, size);
        fprintf(to, "%s%s%s", reason_sentence(result->reason), *size ? " " : "", size);
        return;
    }
    if (result->of_stickers) {
        write_sticker(to, result);
        return;
    }
    verdict_of_photo(result, &verdict_square, &first);
    measure_write_verdict(to, verdict ? verdict : &first, reason_sentence(result->reason));
}

void measure_message(const struct vision_result *result, const struct verdict *verdict,
                     char out[MEASURE_WORDS])
{
    out[0] = '\0';
    FILE *to = fmemopen(out, MEASURE_WORDS, "w");
    if (!to)
        return;
    write_message(to, result, verdict);
    fclose(to);
    out[MEASURE_WORDS - 1] = '\0';
}
