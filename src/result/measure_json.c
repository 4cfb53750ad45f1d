#include "measure_json.h"

#include "arithmetic/direction.h"
#include "arithmetic/quantity.h"
#include "arm_uncertainty.h"
#include "base/clean_text.h"
#include "measure_words.h"
#include "reference_words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Rounded to what the measurement can carry, so that a diff of two answers shows what matters. */
static json_t *number(double value, int decimals)
{
    return json_real(quantity_rounded(value, decimals));
}

static json_t *point(struct vision_point at)
{
    return json_pack("[o, o]", number(at.x, 2), number(at.y, 2));
}

/* Angles lie in [0, 360): 359.9996 must not become 360. */
static json_t *angle(double deg)
{
    double rounded = quantity_rounded(deg, 3);
    return json_real(rounded >= 360 ? 0 : rounded);
}

static const char *const scopes[] = {
    [VISION_SCOPE_OWN] = "none",    [VISION_SCOPE_PHOTO] = "photo",
    [VISION_SCOPE_ARM] = "arm",     [VISION_SCOPE_CAMERA] = "camera",
    [VISION_SCOPE_PRINT] = "print", [VISION_SCOPE_PLACE] = "place"};

static json_t *card_json(const struct vision_result *result)
{
    if (!result->card || !(result->px_per_mm > 0))
        return json_null(); /* markers alone make no card: there is no plane yet */
    const struct vision_point *c = result->corners_px;
    return json_pack("{s:s, s:o, s:o, s:[o, o, o, o], s:o}", "type", result->card->name,
                     "obliquity_deg", number(result->obliquity_deg, 2), "px_per_mm",
                     number(result->px_per_mm, 3), "corners_px", point(c[0]), point(c[1]),
                     point(c[2]), point(c[3]), "residual_px", number(result->residual_px, 3));
}

json_t *measure_reference_json(const struct vision_result *result)
{
    if (result->status == VISION_FAILED)
        return json_null();
    if (result->of_stickers)
        return json_pack("{s:s, s:s, s:o}", "kind", result->fixed ? "sticker" : "card", "name",
                         result->fixed ? result->fixed->name : result->card->name, "angle_deg",
                         number(0, 3));
    return json_pack("{s:s, s:o}", "kind", reference_name(result->reference), "angle_deg",
                     number(result->reference_deg, 3));
}

/* The lens that the photo was measured with: a profile, or with profile null one term that the card
 * itself showed. Pixels of the photo; formula: docs/method.md, "The lens". */
static json_t *lens_json(const struct vision_result *result)
{
    const struct vision_plane *plane = &result->plane;
    if (!result->card || !(result->px_per_mm > 0))
        return json_null();
    return json_pack("{s:s?, s:o, s:o, s:o, s:o}", "profile", *result->lens ? result->lens : NULL,
                     "k1", number(plane->k1, 5), "k2", number(plane->k2, 5), "centre_px",
                     point(plane->centre_px), "radius_px", number(plane->radius_px, 2));
}

/* Degrees of freedom without end are null: JSON has no infinity. */
static json_t *dof_json(double dof)
{
    return isfinite(dof) ? number(dof, 1) : json_null();
}

static json_t *budget_json(const struct vision_arm *arm)
{
    json_t *list = json_array();
    for (int i = 0; i < arm->budget_count; i++) {
        const struct vision_budget_line *line = &arm->budget[i];
        char type[2] = {line->type, '\0'};
        json_array_append_new(list, json_pack("{s:s, s:o, s:s, s:o, s:s}", "term", line->name,
                                              "u_deg", number(line->u_deg, 4), "type", type, "dof",
                                              dof_json(line->dof), "shared", scopes[line->scope]));
    }
    return list;
}

json_t *measure_arm_json(const struct vision_arm *arm)
{
    struct uncertainty u = arm_uncertainty(arm);
    return json_pack("{s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "name", arm->name,
                     "angle_deg", angle(arm->angle_deg), "deviation_deg",
                     number(arm->deviation_deg, 3), "u_deg", number(arm->u_deg, 3), "dof",
                     dof_json(u.dof), "k", number(uncertainty_coverage(0.95, u.dof), 3), "U_deg",
                     number(uncertainty_expand(u), 3), "hub_px", point(arm->hub_px), "tip_px",
                     point(arm->tip_px), "length_mm", number(arm->length_mm, 2), "budget",
                     budget_json(arm));
}

/* Directions of prints, which are no arms' angles and go by another name. */
static json_t *sticker_json(const struct vision_arm *arm, const struct vision_slope *slope)
{
    struct uncertainty u = arm_uncertainty(arm);
    return json_pack("{s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "name", arm->name,
                     "direction_deg", angle(arm->angle_deg), "u_deg", number(arm->u_deg, 3), "dof",
                     dof_json(u.dof), "k", number(uncertainty_coverage(0.95, u.dof), 3), "U_deg",
                     number(uncertainty_expand(u), 3), "middle_px", point(arm->hub_px), "slope_deg",
                     number(slope->deg, 2), "slope_u_deg", number(slope->u_deg, 2), "budget",
                     budget_json(arm));
}

static json_t *stickers_json(const struct vision_result *result)
{
    json_t *list = json_array();
    for (int i = 0; i < result->arm_count && result->status != VISION_FAILED; i++)
        json_array_append_new(list, sticker_json(&result->arms[i], &result->slopes[i]));
    return list;
}

static json_t *arms_json(const struct vision_result *result)
{
    json_t *list = json_array();
    int count = result->status == VISION_FAILED || result->of_stickers ? 0 : result->arm_count;
    for (int i = 0; i < count; i++)
        json_array_append_new(list, measure_arm_json(&result->arms[i]));
    return list;
}

/* The first arm's budget, which most readers want. */
static json_t *first_budget_json(const struct vision_result *result)
{
    bool any = result->status != VISION_FAILED && result->arm_count > 0 && !result->of_stickers;
    return any ? budget_json(&result->arms[0]) : json_array();
}

/* What the spacing of the arms says of the card; null for a part that cannot tell. */
static json_t *witness_json(const struct vision_result *result)
{
    static const char *const verdicts[] = {"agrees", "uneven-arms", "leans"};
    const struct vision_witness *w = &result->witness;
    if (result->status == VISION_FAILED || !w->spacing_deg)
        return json_null();
    return json_pack("{s:i, s:s, s:o, s:i, s:o, s:i, s:s?}", "spacing_deg", w->spacing_deg,
                     "verdict", verdicts[w->verdict], "chi_square", number(w->chi_square, 2), "dof",
                     w->dof, "chi_square_leaning", number(w->chi_square_leaning, 2), "dof_leaning",
                     w->dof_leaning, "nearer_side", measure_side(w->nearer));
}

static json_t *photo_json(const char *photo, const struct vision_result *result,
                          const struct verdict *verdict)
{
    static const char *const statuses[] = {"ok", "unsure", "failed"};
    char message[MEASURE_WORDS];
    measure_message(result, verdict, message);
    char *name = clean_text(photo);
    if (!name)
        return NULL;
    json_t *out =
        json_pack("{s:s, s:[i, i], s:s, s:s?, s:s, s:o, s:o, s:o, s:o, s:i, s:o, s:o, s:o}",
                  "photo", name, "size_px", result->photo.width_px, result->photo.height_px,
                  "status", statuses[result->status], "reason", vision_reason_code(result->reason),
                  "message", message, "card", card_json(result), "lens", lens_json(result),
                  "reference", measure_reference_json(result), "arms", arms_json(result),
                  "arms_not_measured", result->untold_arms, "budget", first_budget_json(result),
                  "witness", witness_json(result), "elapsed_ms", number(result->elapsed_ms, 1));
    free(name);
    if (out && result->of_stickers)
        json_object_set_new(out, "stickers", stickers_json(result));
    return out;
}

json_t *measure_json(const char *photo, const struct vision_result *result)
{
    return photo_json(photo, result, NULL);
}

json_t *measure_decision_json(const struct verdict *verdict)
{
    char *words = verdict_words(verdict);
    json_t *out = verdict_json(verdict);
    size_t length = words ? strlen(words) : 0;
    if (out && length > 0) /* without the last line's end */
        json_object_set_new(out, "message", json_stringn(words, length - 1));
    free(words);
    return out;
}

json_t *measure_judged_json(const char *photo, const struct vision_result *result,
                            const struct verdict *verdict)
{
    json_t *out = photo_json(photo, result, verdict);
    if (out)
        json_object_set_new(out, "decision",
                            verdict ? measure_decision_json(verdict) : json_null());
    return out;
}

static double number_in(const json_t *object, const char *key)
{
    return json_number_value(json_object_get(object, key));
}

static struct vision_point point_from(const json_t *pair)
{
    return (struct vision_point){json_number_value(json_array_get(pair, 0)),
                                 json_number_value(json_array_get(pair, 1))};
}

static bool says(const json_t *from, const char *key, const char *word)
{
    const char *text = json_string_value(json_object_get(from, key));
    return text && strcmp(text, word) == 0;
}

/* name NULL: no line of ours. */
static struct vision_budget_line line_from_json(const json_t *from)
{
    double dof = number_in(from, "dof");
    struct vision_budget_line line = {.u_deg = number_in(from, "u_deg"),
                                      .type = says(from, "type", "A") ? 'A' : 'B',
                                      .dof = dof >= 1 ? dof : INFINITY};
    for (int term = 0; term < VISION_TERM_COUNT; term++)
        if (says(from, "term", vision_term_name((enum vision_term)term))) {
            line.term = (enum vision_term)term;
            line.name = vision_term_name(line.term);
        }
    for (int scope = VISION_SCOPE_OWN; scope <= VISION_SCOPE_PLACE; scope++)
        if (says(from, "shared", scopes[scope]))
            line.scope = (enum vision_scope)scope;
    return line;
}

static void arm_from_json(const json_t *from, struct vision_arm *arm)
{
    const json_t *lines = json_object_get(from, "budget");
    const char *name = json_string_value(json_object_get(from, "name"));
    *arm = (struct vision_arm){.angle_deg = number_in(from, "angle_deg"),
                               .deviation_deg = number_in(from, "deviation_deg"),
                               .u_deg = number_in(from, "u_deg"),
                               .hub_px = point_from(json_object_get(from, "hub_px")),
                               .tip_px = point_from(json_object_get(from, "tip_px"))};
    snprintf(arm->name, sizeof arm->name, "%s", name ? name : "");
    arm->name[text_cut(arm->name, sizeof arm->name)] = '\0';
    for (size_t i = 0; i < json_array_size(lines) && i < VISION_MAX_BUDGET; i++) {
        const struct vision_budget_line line = line_from_json(json_array_get(lines, i));
        if (line.name)
            arm->budget[arm->budget_count++] = line;
    }
}

bool measure_from_json(const json_t *record, struct vision_result *out)
{
    const json_t *card = json_object_get(record, "card"),
                 *size = json_object_get(record, "size_px");
    const json_t *corners = json_object_get(card, "corners_px");
    const json_t *arms = json_object_get(record, "arms");
    const char *kind =
        json_string_value(json_object_get(json_object_get(record, "reference"), "kind"));
    *out =
        (struct vision_result){.obliquity_deg = number_in(card, "obliquity_deg"),
                               .px_per_mm = number_in(card, "px_per_mm"),
                               .reference = reference_by_name(kind),
                               .of_stickers = json_is_array(json_object_get(record, "stickers"))};
    out->photo.width_px = (int)json_integer_value(json_array_get(size, 0));
    out->photo.height_px = (int)json_integer_value(json_array_get(size, 1));
    for (size_t k = 0; k < 4; k++)
        out->corners_px[k] = point_from(json_array_get(corners, k));
    for (size_t i = 0; i < json_array_size(arms) && i < VISION_MAX_ARMS; i++)
        arm_from_json(json_array_get(arms, i), &out->arms[out->arm_count++]);
    out->untold_arms = (int)json_integer_value(json_object_get(record, "arms_not_measured"));
    return out->arm_count > 0;
}

bool measure_from_record(const char *record, struct vision_result *out)
{
    json_t *json = record ? json_loads(record, 0, NULL) : NULL;
    bool good = measure_from_json(json, out);
    json_decref(json);
    return good;
}

int measure_arm_read(const struct vision_result *recorded, double angle_deg)
{
    int nearest = -1;
    double least = 1e-3; /* angle() moves an angle by half of that */
    for (int i = 0; i < recorded->arm_count; i++) {
        double off = fabs(direction_turn(recorded->arms[i].angle_deg - angle_deg));
        if (off < least) {
            least = off;
            nearest = i;
        }
    }
    return nearest;
}
