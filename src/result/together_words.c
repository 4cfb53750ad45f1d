#include "arithmetic/plus_minus.h"
#include "arithmetic/quantity.h"
#include "arm_uncertainty.h"
#include "base/answer.h"
#include "base/clean_text.h"
#include "base/text_end.h"
#include "measure_json.h"
#include "measure_words.h"
#include "together.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char *together_fault_says(enum together_fault fault)
{
    switch (fault) {
    case TOGETHER_FEW:
        return "fewer than two of the photos gave an answer; take more of them.";
    case TOGETHER_ONE_SIDE:
        return "only photos from one side gave an answer, so backlash cannot be told; take those "
               "of the other side again.";
    case TOGETHER_NO_ARM:
        return "no arm points the same way in two photos, within 10 degrees: the part was turned, "
               "or these are photos of different parts.";
    case TOGETHER_FINE:
        break;
    }
    return "";
}

/* ---- Text --------------------------------------------------------------------------------- */

/* What no play does, and no one part. */
static void write_other_part(FILE *to, const struct together *t)
{
    if (t->other_parts)
        fprintf(
            to,
            "the photos show %d and %d arms, so they are of different parts, or an arm is hidden "
            "in one. Take them again of one part, all its arms showing.",
            t->least_arms, t->most_arms);
    else
        fputs(
            "the part came to rest beyond where play would leave it: @cw and @ccw are swapped, "
            "or it was turned between the photos, or they are of different parts. Check the marks, "
            "else take them again and touch nothing in between.",
            to);
}

/* The arm on which the photos agree least. */
static const struct together_arm *worst_arm(const struct together *t)
{
    const struct together_arm *worst = &t->arms[0];
    for (int i = 1; i < t->arm_count; i++)
        if (t->arms[i].all.probability < worst->all.probability)
            worst = &t->arms[i];
    return worst;
}

/* A photo stands out when it makes most of the disagreement. */
static void write_disagreement(FILE *to, const struct together *t,
                               const struct together_photo *photos)
{
    const struct together_arm *worst = worst_arm(t);
    if (t->other_parts || t->backwards) {
        write_other_part(to, t);
        return;
    }
    if (t->turned)
        fputs("the part came to rest several degrees apart, which is more than play: it was turned "
              "between the photos",
              to);
    else
        fprintf(to,
                "%s disagree by more than their ± explains: %sthe part or the card moved "
                "between them%s",
                t->sided ? "photos from the same side" : "the photos",
                t->sided ? "" : "backlash, or ",
                t->lean.perhaps ? ", or the card leans against the part" : "");
    if (worst->all.dof > 1 && worst->all.odd_share > 0.5) {
        char *name = clean_text(photos[worst->photos[worst->all.odd_one]].name);
        fprintf(to, "; %s stands out", name ? name : "one photo");
        free(name);
    }
    fprintf(to, ". Take them again%s and touch nothing in between",
            t->lean.perhaps ? ", lay the card parallel to the part" : "");
    if (!t->sided)
        fputs(", or mark from which side the part came to rest: a.jpg@cw b.jpg@ccw", to);
    fputc('.', to);
}

/* The caller's; NULL without memory. */
static char *disagreement(const struct together *t, const struct together_photo *photos)
{
    char *text = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    if (!to)
        return NULL;
    write_disagreement(to, t, photos);
    return text_end(to, &text);
}

/* The sentence of a photo, for the mean. */
static void write_answer(FILE *to, const struct together *t, const struct together_photo *photos,
                         const struct verdict *verdict)
{
    struct vision_result mean = {.status = t->unsure_photos ? VISION_UNSURE : VISION_OK,
                                 .reason = t->reason,
                                 .arm_count = 1,
                                 .arms = {t->arms[0].all.arm}};
    char text[MEASURE_WORDS];
    if (!t->disagree) {
        measure_message(&mean, verdict, text);
        fputs(text, to);
        return;
    }
    char *why = disagreement(t, photos);
    measure_write_verdict(to, verdict, why ? why : "the photos disagree.");
    free(why);
}

char *together_message(const struct together *t, const struct together_photo *photos,
                       const struct verdict *verdict)
{
    char *text = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    if (!to)
        return NULL;
    write_answer(to, t, photos, verdict);
    return text_end(to, &text);
}

static void write_backlash(FILE *to, const struct together *t)
{
    const struct combined *c = together_backlash(t);
    if (!c)
        return;
    char size[PLUS_MINUS_WORDS];
    plus_minus_degrees(c->backlash_deg, uncertainty_expand(c->backlash_u), size);
    if (t->turned)
        fprintf(to, "The part came to rest %s apart: more than play.\n", size);
    else if (!c->backlash_shows)
        fprintf(to, "Backlash: none that shows, %s.\n", size);
    else if (t->other_parts)
        fprintf(to, "Both sides lie %s apart.\n", size);
    else if (c->backlash_deg > 0)
        fprintf(to,
                "Backlash: %s. The angle above is the middle; the arm comes to rest half of that "
                "on either side.\n",
                size);
    else
        fprintf(to,
                "The arm came to rest %s beyond where play would leave it: are @cw "
                "and @ccw swapped?\n",
                size);
}

/* Of the arm told, or, where photos disagree on another, of the one they disagree on most. */
static void write_agreement(FILE *to, const struct together *t, int told)
{
    const struct together_arm *worst = worst_arm(t);
    const struct together_arm *arm = worst->all.disagree ? worst : &t->arms[told];
    const struct combined *c = &arm->all;
    fprintf(to, "%d photos", arm->photo_count);
    if (c->dof > 0) {
        fprintf(to, "; they scatter by %.2f degrees", c->spread_deg);
        if (t->arm_count > 1)
            fprintf(to, " in arm %s", c->arm.name);
        fprintf(to, ", %s",
                c->disagree           ? "more than such photos do"
                : t->leans == LEAN_SO ? "as such photos do of a card that leans"
                                      : "no more than such photos do");
    }
    fputs(".\n", to);
}

static void write_lean(FILE *to, const struct together *t, const struct together_photo *photos)
{
    double u_deg, size_deg = lean_size_deg(&t->lean, &u_deg);
    switch (t->leans) {
    case LEAN_SO: {
        char *name = clean_text(photos[t->shown_in].name);
        const char *side = measure_side(t->nearer);
        char size[PLUS_MINUS_WORDS];
        plus_minus_degrees(size_deg, uncertainty_normal_coverage() * u_deg, size);
        fprintf(to, "The card leans against the part by %s", size);
        if (side)
            fprintf(to, ", its %s side (as seen in %s) too near", side, name ? name : "the photo");
        fputs(". That is taken out of the angles; a card that lies parallel makes them surer.\n",
              to);
        free(name);
        break;
    }
    case LEAN_MOULDED:
        fputs(
            "The arms are made unevenly: they look the same from the other side, so the card does "
            "not lean. The angles are as they were made.\n",
            to);
        break;
    case LEAN_OPEN:
        fputs("Whether the card leans or the arms were made so these photos cannot tell: add one "
              "from the opposite side, as much aslant.\n",
              to);
        break;
    case LEAN_NOT_ASKED:
        break;
    }
}

char *together_details(const struct together *t, const struct together_photo *photos, int told)
{
    char *text = NULL, arm[MEASURE_WORDS];
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    if (!to)
        return NULL;
    for (int i = 0; i < t->arm_count; i++) {
        if (i == told)
            continue;
        measure_arm_sentence(&t->arms[i].all.arm, photos[0].result->reference,
                             t->disagree || t->unsure_photos, arm);
        fprintf(to, "%s\n", arm);
    }
    write_agreement(to, t, told);
    write_lean(to, t, photos);
    write_backlash(to, t);
    if (t->used < t->photo_count)
        fprintf(to, "Left out: %d photo%s without a sure answer.\n", t->photo_count - t->used,
                t->photo_count - t->used > 1 ? "s" : "");
    if (t->lonely > 0)
        fprintf(to, "Left out: %d arm%s seen in too few of the photos.\n", t->lonely,
                t->lonely > 1 ? "s" : "");
    if (t->crowded > 0)
        fprintf(to,
                "Left out: %d arm%s beyond the %d directions that one part can have; leave out "
                "photos of another part, or of one that was turned.\n",
                t->crowded, t->crowded > 1 ? "s" : "", VISION_MAX_ARMS);
    fputs(t->card_moved ? "Taken as a card laid anew for each photo.\n"
                        : "Taken as a card that lay still: where it is bent or misprinted it "
                          "misleads all photos alike. If it was laid anew for each, add "
                          "--card-moved.\n",
          to);
    return text_end(to, &text);
}

/* ---- JSON --------------------------------------------------------------------------------- */

static json_t *rounded_or_null(double value, int decimals)
{
    return answer_number(quantity_rounded(value, decimals));
}

static json_t *backlash_json(const struct combined *c)
{
    if (!c->have_backlash)
        return json_null();
    return json_pack("{s:o, s:o, s:o, s:b}", "deg", rounded_or_null(c->backlash_deg, 3), "u_deg",
                     rounded_or_null(c->backlash_u.u, 3), "U_deg",
                     rounded_or_null(uncertainty_expand(c->backlash_u), 3), "more_than_noise",
                     (int)c->backlash_shows);
}

static json_t *arm_json(const struct together_arm *arm)
{
    const struct combined *c = &arm->all;
    json_t *out = measure_arm_json(&c->arm);
    /* a mean has no place in a photo */
    json_object_del(out, "hub_px");
    json_object_del(out, "tip_px");
    json_object_set_new(out, "photos", json_integer(arm->photo_count));
    json_object_set_new(out, "spread_deg", rounded_or_null(c->spread_deg, 4));
    json_object_set_new(out, "chi_square", rounded_or_null(c->chi_square, 3));
    json_object_set_new(out, "chi_square_dof", json_integer(c->dof));
    json_object_set_new(out, "birge_ratio", rounded_or_null(c->birge, 3));
    json_object_set_new(out, "probability", rounded_or_null(c->probability, 6));
    json_object_set_new(out, "disagree", json_boolean(c->disagree));
    json_object_set_new(out, "backlash", backlash_json(c));
    return out;
}

static json_t *lean_json(const struct together *t)
{
    static const char *const answers[] = {[LEAN_NOT_ASKED] = "none",
                                          [LEAN_SO] = "leans",
                                          [LEAN_MOULDED] = "uneven-arms",
                                          [LEAN_OPEN] = "cannot-tell"};
    if (t->card_moved || t->fault)
        return json_null();
    double u_deg, size_deg = lean_size_deg(&t->lean, &u_deg);
    const char *side = t->leans == LEAN_SO ? measure_side(t->nearer) : NULL;
    return json_pack("{s:s, s:o, s:o, s:[o, o], s:s?}", "answer", answers[t->leans], "deg",
                     rounded_or_null(size_deg, 3), "u_deg", rounded_or_null(u_deg, 3), "slope_deg",
                     rounded_or_null(t->lean.slope_deg[0], 3),
                     rounded_or_null(t->lean.slope_deg[1], 3), "nearer_side", side);
}

static json_t *names_json(const struct together *t, const struct together_photo *photos)
{
    json_t *list = json_array();
    for (int i = 0; i < t->photo_count; i++) {
        char *name = clean_text(photos[i].name);
        json_array_append_new(list, json_string(name ? name : ""));
        free(name);
    }
    return list;
}

json_t *together_json(const struct together *t, const struct together_photo *photos,
                      const struct verdict *verdict)
{
    json_t *arms = json_array();
    for (int i = 0; i < t->arm_count; i++)
        json_array_append_new(arms, arm_json(&t->arms[i]));
    char *message = t->fault ? NULL : together_message(t, photos, verdict);
    const char *status = t->fault ? "failed" : t->disagree || t->unsure_photos ? "unsure" : "ok";
    static const char *const faults[] = {NULL, "few-photos", "one-side", "no-common-arm"};
    const char *reason = t->fault      ? faults[t->fault]
                         : t->disagree ? "photos-disagree"
                                       : vision_reason_code(t->reason);
    json_t *out = json_pack("{s:{s:o, s:i, s:s, s:s, s:s?, s:s, s:o, s:o}}", "together", "photos",
                            names_json(t, photos), "used", t->used, "card",
                            t->card_moved ? "moved" : "still", "status", status, "reason", reason,
                            "message", message ? message : together_fault_says(t->fault), "lean",
                            lean_json(t), "arms", arms);
    free(message);
    return out;
}
