#include "truth.h"
#include "base/safe_file.h"
#include "develop.h"

#include <jansson.h>
#include <math.h>
#include <string.h>

#define RAD (3.14159265358979323846 / 180)

/* Numbers keep four decimals: a ten-thousandth of a degree, pixel or millimetre. */
static json_t *number(double value)
{
    return json_real(round(value * 1e4) / 1e4 + 0.0);
}

static json_t *pair(struct vision_point p)
{
    return json_pack("[o, o]", number(p.x), number(p.y));
}

static json_t *triple(struct vec3 v)
{
    return json_pack("[o, o, o]", number(v.x), number(v.y), number(v.z));
}

static double bend_at(const struct photo_case *c, double x, double y)
{
    double across = x * sin(c->bend_deg * RAD) - y * cos(c->bend_deg * RAD);
    return c->bend_per_mm * across * across;
}

static json_t *card_truth(const struct photo_case *c)
{
    double w = c->card->width_mm / 2, h = c->card->height_mm / 2;
    const double corners[4][2] = {{-w, -h}, {w, -h}, {w, h}, {-w, h}};
    json_t *corners_px = json_array();
    for (int i = 0; i < 4; i++) {
        struct vec3 at = {corners[i][0], corners[i][1], bend_at(c, corners[i][0], corners[i][1])};
        json_array_append_new(corners_px, pair(camera_project(&c->camera, at)));
    }
    struct vision_point px[4];
    for (int i = 0; i < 4; i++)
        px[i] =
            camera_project(&c->camera, (struct vec3){(i == 1) - (i == 0), (i == 3) - (i == 2), 0});
    double per_mm = sqrt(hypot(px[1].x - px[0].x, px[1].y - px[0].y) / 2 *
                         (hypot(px[3].x - px[2].x, px[3].y - px[2].y) / 2));
    return json_pack("{s:s, s:b, s:o, s:o, s:o, s:o, s:o}", "name",
                     c->crank.fixed ? c->crank.fixed->name : c->card->name, "cut", (int)c->cut,
                     "corners_px", corners_px, "px_per_mm", number(per_mm), "tilt_deg",
                     number(c->tilt_deg), "tilt_toward_deg", number(c->tilt_toward_deg), "lift_mm",
                     number(bend_at(c, w, h)));
}

static json_t *camera_truth(const struct photo_case *c)
{
    const struct camera *camera = &c->camera;
    return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:i, s:i, s:i}", "position_mm",
                     triple(camera->position), "obliquity_deg",
                     number(camera_obliquity_deg(camera)), "roll_deg", number(c->roll_deg),
                     "focal_px", number(camera->focal_px), "k1", number(camera->k1), "k2",
                     number(camera->k2), "width_px", camera->width_px, "height_px",
                     camera->height_px, "orientation", c->orientation);
}

static json_t *place(const struct photo_case *c, struct vec3 local)
{
    struct vec3 at = case_part_to_card(c, local);
    return json_pack("{s:o, s:o}", "px", pair(camera_project(&c->camera, at)), "mm", triple(at));
}

static double turn(double deg)
{
    double a = fmod(deg, 360);
    return a < 0 ? a + 360 : a;
}

static json_t *arm_truth(const struct photo_case *c, int i)
{
    const struct shape_arm *arm = &c->shape.arms[i];
    double a = arm->angle_deg * RAD;
    struct vec3 tip = {arm->reach_mm * cos(a), arm->reach_mm * sin(a), 0};
    struct vision_point px = camera_project(&c->camera, case_part_to_card(c, tip));
    json_t *truth =
        json_pack("{s:o, s:o, s:o, s:o}", "angle_deg", number(case_arm_angle_deg(c, i)),
                  "reference_angle_deg", number(turn(arm->angle_deg - c->reference_deg)), "tip_px",
                  pair(px), "length_mm", number(arm->reach_mm));
    const struct ball_link *link = &c->links[i];
    if (link->ball) {
        struct vec3 ball = {link->at_mm * cos(a), link->at_mm * sin(a), link->ball_z_mm};
        json_object_set_new(truth, "ball", place(c, ball));
    }
    if (link->cup)
        json_object_set_new(truth, "link_deg", number(turn(link->link_deg)));
    return truth;
}

static json_t *arms_truth(const struct photo_case *c)
{
    json_t *arms = json_array();
    for (int i = 0; c->has_part && i < c->shape.arm_count; i++)
        if (!c->off_card[i])
            json_array_append_new(arms, arm_truth(c, i));
    return arms;
}

static json_t *reference_truth(const struct photo_case *c)
{
    static const char *const kinds[] = {"card", "edge", "link", "points"};
    json_t *truth = json_pack("{s:s, s:o}", "kind", kinds[c->reference], "angle_deg",
                              number(turn(c->reference_deg)));
    if (c->reference != VISION_REFERENCE_CARD)
        json_object_set_new(truth, "hint_px",
                            json_pack("[o, o]", pair(c->hint_px[0]), pair(c->hint_px[1])));
    return truth;
}

/* Which reasons would be right. Several where the honest answer depends on how far one gets. */
static json_t *reasons_truth(const struct photo_case *c)
{
    static const char *const right[NEGATIVE_COUNT][6] = {
        [NEGATIVE_NO_CARD] = {"no-card"},
        [NEGATIVE_NO_CARD_NO_PART] = {"no-card"},
        [NEGATIVE_NO_PART] = {"no-part", "no-arm"},
        [NEGATIVE_FAR] = {"small-card", "no-card", "few-markers"},
        [NEGATIVE_BLURRED] = {"no-card", "few-markers"},
        [NEGATIVE_HIDDEN_MARKERS] = {"few-markers", "no-card"},
        [NEGATIVE_WASHER] = {"no-arm", "no-hole", "no-part"},
        [NEGATIVE_BLOB] = {"no-arm", "no-part", "unsure-part"},
        [NEGATIVE_CABLE] = {"no-arm", "no-part", "unsure-hub", "unsure-part", "arm-on-square"},
        [NEGATIVE_DARK] = {"bad-light", "dark-photo", "no-card", "few-markers"},
        [NEGATIVE_BURNT] = {"bad-light", "burnt-photo", "no-card", "few-markers"},
        [NEGATIVE_STEEP] = {"steep-view", "no-card", "few-markers"},
        [NEGATIVE_MIXED_CARDS] = {"mixed-cards"},
        [NEGATIVE_SCREWDRIVER] = {"no-arm", "no-part", "unsure-hub", "unsure-part", "few-markers",
                                  "arm-on-square"},
        [NEGATIVE_HAND] = {"no-arm", "no-part", "unsure-hub", "unsure-part", "few-markers",
                           "no-card"},
        [NEGATIVE_KNOB] = {"no-arm", "no-hole", "no-part", "unsure-part"},
        [NEGATIVE_CABLE_WASHER] = {"no-arm", "no-part", "unsure-hub", "unsure-part",
                                   "arm-on-square"},
        [NEGATIVE_PRINTED_PAPER] = {"no-card"},
        [NEGATIVE_FACE_DOWN] = {"no-card"},
        [NEGATIVE_TWO_PARTS] = {"two-parts", "unsure-part", "unsure-hub", "no-arm"},
        [NEGATIVE_ELSEWHERE] = {"no-card"},
        [NEGATIVE_CUT_OFF] = {"few-markers", "no-card"},
        [NEGATIVE_PENCIL] = {"no-arm", "no-part", "unsure-hub", "unsure-part", "few-markers",
                             "arm-on-square"},
    };
    json_t *reasons = json_array();
    for (int i = 0; i < 6 && right[c->negative][i]; i++)
        json_array_append_new(reasons, json_string(right[c->negative][i]));
    return reasons;
}

static json_t *causes_truth(const struct photo_case *c)
{
    static const char *const lights[LIGHT_COUNT] = {
        "window",  "lamp", "two-lamps", "overcast", "flash",  "dim",  "raking",
        "ceiling", "sun",  "ring",      "coloured", "screen", "mixed"};
    json_t *tags = json_array();
    for (int i = 0; i < c->cause_count; i++)
        json_array_append_new(tags, json_string(c->causes[i]));
    json_t *truth = json_pack(
        "{s:s, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "design",
        c->has_part ? c->design : "none", "finish", c->finish, "light", lights[c->light],
        "height_mm", number(c->has_part ? c->hub.z - c->shape.thick_mm / 2 : 0), "defocus_px",
        number(c->defocus_px), "motion_px", number(c->motion_px), "noise", number(c->noise),
        "stops", number(c->stops), "fill", number(c->fill), "tags", tags);
    if (c->second) {
        json_object_set_new(truth, "depth_blur_px", number(develop_depth_blur_px(c)));
        json_object_set_new(truth, "jpeg_quality", json_integer(c->quality));
    }
    return truth;
}

static const char *set_of(const struct photo_case *c)
{
    return c->fresh ? "fresh" : c->kept ? "kept" : "tune";
}

/* The crank's turn is exact: all that is on it turns about one axis. */
static json_t *crank_truth(const struct photo_case *c)
{
    static const char *const shots[CRANK_SHOTS] = {"one-end", "other-end", "neutral"};
    const struct hidden_crank *crank = &c->crank;
    double half = crank->sticker->face.marker_mm / 2;
    static const double square[4][2] = {{-1, -1}, {1, -1}, {1, 1}, {-1, 1}};
    json_t *corners_px = json_array();
    for (int i = 0; i < 4; i++) {
        struct vec3 at = case_sticker_to_card(c, half * square[i][0], half * square[i][1]);
        json_array_append_new(corners_px, pair(camera_project(&c->camera, at)));
    }
    return json_pack("{s:i, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o}", "series", crank->series,
                     "shot", shots[crank->shot], "sticker", crank->sticker->name, "turned_deg",
                     number(crank->turned_deg), "glued_deg", number(crank->glued_deg), "lean_deg",
                     number(crank->lean_deg), "middle_mm", triple(case_sticker_to_card(c, 0, 0)),
                     "corners_px", corners_px, "axis",
                     place(c, (struct vec3){0, 0, crank->height_mm}));
}

static bool write_json(const json_t *root, const char *path)
{
    struct safe_file file;
    bool good = root && safe_file_open(&file, path);
    if (good) {
        good = json_dumpf(root, file.stream,
                          JSON_INDENT(1) | JSON_PRESERVE_ORDER | JSON_REAL_PRECISION(10)) == 0;
        fputc('\n', file.stream);
        good = safe_file_commit(&file) && good;
    }
    return good;
}

bool truth_write(const struct photo_case *c, const char *path)
{
    char photo[80];
    snprintf(photo, sizeof photo, "%s.jpg", c->name);
    if (c->crank.sticker) {
        json_t *root = json_pack("{s:s, s:s, s:o, s:o, s:o, s:o}", "photo", photo, "set", set_of(c),
                                 "camera", camera_truth(c), "card", card_truth(c), "crank",
                                 crank_truth(c), "causes", causes_truth(c));
        bool good = write_json(root, path);
        json_decref(root);
        return good;
    }
    bool wrong_shape =
        c->negative == NEGATIVE_WASHER || c->negative == NEGATIVE_CABLE_WASHER || !c->has_part;
    json_t *root =
        json_pack("{s:s, s:s, s:b, s:o, s:o, s:o, s:o, s:o, s:o}", "photo", photo, "set", set_of(c),
                  "measurable", c->negative == NEGATIVE_NONE, "reasons", reasons_truth(c), "camera",
                  camera_truth(c), "card", card_truth(c), "reference", reference_truth(c), "arms",
                  wrong_shape ? json_array() : arms_truth(c), "causes", causes_truth(c));
    if (root && c->has_part)
        json_object_set_new(root, "hub", place(c, (struct vec3){0, 0, 0}));
    bool good = write_json(root, path);
    json_decref(root);
    return good;
}
