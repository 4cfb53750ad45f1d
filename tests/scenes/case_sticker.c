/* Series of photos of a crank that shows nothing but its sticker: the same model, light and camera
 * three times, at both ends and at neutral, the camera held anew for each. */
#include "case_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define RAD (3.14159265358979323846 / 180)
#define COUNT(a) ((int)(sizeof(a) / sizeof(a)[0]))

/* What is measured against what: docs/decisions.md, "Stickers". */
static const struct {
    const char *sticker, *fixed; /* fixed: a sticker's or a card's name */
} pairs[] = {{"A12", "mini-duo"},  {"A12", "F12"}, {"B8", "mini-duo"}, {"A8", "F12"},
             {"C12", "frame-duo"}, {"B12", "G12"}, {"C8", "hand-duo"}, {"A8", "F8"}};

/* Their number shares no factor with that of the pairs. */
static const enum light_kind lights[] = {LIGHT_WINDOW,    LIGHT_RAKING, LIGHT_LAMP,  LIGHT_FLASH,
                                         LIGHT_TWO_LAMPS, LIGHT_DIM,    LIGHT_RAKING};

/* ---- where things are ----------------------------------------------------------------------- */

static struct vec3 about_z(struct vec3 v, double deg)
{
    double c = cos(deg * RAD), s = sin(deg * RAD);
    return (struct vec3){c * v.x - s * v.y, s * v.x + c * v.y, v.z};
}

/* Glued once: its axes against the crank's, of which the x axis leans as the paper does, then all
 * turned with the crank. */
void case_sticker_frame(const struct photo_case *c, struct vec3 frame[4])
{
    const struct hidden_crank *crank = &c->crank;
    double lean = crank->lean_deg * RAD;
    struct vec3 z = about_z((struct vec3){sin(lean), 0, cos(lean)}, crank->lean_to_deg);
    struct vec3 x = about_z((struct vec3){1, 0, 0}, crank->glued_deg);
    x = vec3_unit(vec3_add(x, vec3_scale(z, -vec3_dot(x, z))));
    struct vec3 middle = about_z((struct vec3){crank->radius_mm, 0, crank->height_mm},
                                 crank->at_deg + crank->turned_deg);
    const struct vec3 local[3] = {x, vec3_cross(z, x), z};
    frame[3] = case_part_to_card(c, middle);
    for (int i = 0; i < 3; i++) {
        struct vec3 axis = about_z(local[i], crank->turned_deg);
        frame[i] = vec3_add(vec3_scale(c->axis_x, axis.x),
                            vec3_add(vec3_scale(c->axis_y, axis.y), vec3_scale(c->axis_z, axis.z)));
    }
}

struct vec3 case_sticker_to_card(const struct photo_case *c, double x_mm, double y_mm)
{
    struct vec3 frame[4];
    case_sticker_frame(c, frame);
    return vec3_add(frame[3], vec3_add(vec3_scale(frame[0], x_mm), vec3_scale(frame[1], y_mm)));
}

/* ---- what the photos of a series have in common --------------------------------------------- */

static void draw_print(struct photo_case *c, struct draw *d)
{
    struct hidden_crank *crank = &c->crank;
    bool shiny = draw_chance(d, 0.35); /* gloss paper, or clear tape over it */
    c->card_thick_mm = crank->fixed ? 0.1 : draw_uniform(d, 0.22, 0.35);
    c->sheen = draw_uniform(d, 0, 0.06);
    crank->paper_sheen = shiny ? draw_uniform(d, 0.2, 0.6) : draw_uniform(d, 0, 0.06);
    crank->paper_roughness = shiny ? draw_uniform(d, 0.01, 0.04) : 0.12;
    c->ink_black = draw_uniform(d, 0.03, 0.06);
    c->ink_fade = draw_uniform(d, 0, 0.2);
    for (int t = 0; t < 2; t++)
        for (int k = 0; k < 3; k++)
            c->ink_tone[t][k] = draw_uniform(d, 0.9, 1.08);
    if (shiny)
        case_add_cause(c, "sheen");
}

/* Glued by eye: some degrees off, and not quite flat, as glue and paper are. */
static void draw_gluing(struct photo_case *c, struct draw *d)
{
    struct hidden_crank *crank = &c->crank;
    double half = crank->sticker->face.height_mm / 2;
    crank->at_deg = draw_uniform(d, 0, 360);
    crank->radius_mm = draw_uniform(d, 0, 5);
    crank->glued_deg = crank->at_deg + draw_uniform(d, -6, 6);
    crank->lean_deg = draw_uniform(d, 0, 1.5);
    crank->lean_to_deg = draw_uniform(d, 0, 360);
    /* clear of the face, which bulges a little where boss and plate blend */
    crank->height_mm = c->shape.thick_mm / 2 + 0.4 + sin(crank->lean_deg * RAD) * 2 * half;
}

static void draw_crank(struct photo_case *c, struct draw *d)
{
    static const char *const finishes[] = {"carbon", "silver", "black_matt", "brushed",
                                           "black_gloss"};
    static const char *const designs[] = {"crank90", "crankodd", "single", "double"};
    c->has_part = true;
    snprintf(c->design, sizeof c->design, "%s", designs[draw_below(d, COUNT(designs))]);
    snprintf(c->finish, sizeof c->finish, "%s", finishes[draw_below(d, COUNT(finishes))]);
    case_draw_shape(c, d);
    c->shape.boss_up_mm = 0.02; /* the sticker lies on a flat face */
    c->shape.bore_mm = c->screw_mm = 0;
    c->post_mm = draw_uniform(d, 1.2, 2);
    draw_gluing(c, d);
}

/* Fixed things lie round the origin, the crank beside them in one of the four directions; its
 * print a few millimetres above or below theirs. */
static void place_crank(struct photo_case *c, struct draw *d)
{
    struct hidden_crank *crank = &c->crank;
    int side = draw_below(d, 4);
    double room = (side & 1 ? c->card->height_mm : c->card->width_mm) / 2 + (crank->fixed ? 3 : 0);
    double sweep = crank->radius_mm + 0.9 * crank->sticker->face.height_mm;
    crank->boom = draw_chance(d, 0.4);
    crank->along_deg = 90 * (side + 1) + draw_uniform(d, -3, 3);
    crank->material = draw_below(d, 3);
    crank->opening_mm = sweep + draw_uniform(d, 2, 5);
    double away = room + draw_uniform(d, 1, 4) + (crank->boom ? sweep : crank->opening_mm);
    double level = crank->boom ? draw_uniform(d, 1.5, 6) : draw_uniform(d, -9, -2.5);
    c->hub = (struct vec3){away * cos(side * 90 * RAD), away * sin(side * 90 * RAD),
                           level - crank->height_mm};
    crank->floor_mm = -c->card_thick_mm;
    if (crank->boom && !crank->fixed)
        crank->floor_mm = c->hub.z - c->shape.thick_mm / 2 - c->shape.boss_down_mm - 0.2;
    if (crank->boom && crank->fixed) /* the crank stands clear of the face that both are on */
        c->hub.z = fmax(c->hub.z, c->shape.thick_mm / 2 + c->shape.boss_down_mm + 0.2);
    c->tilt_deg = draw_uniform(d, 0, 1.5);
    c->tilt_toward_deg = draw_uniform(d, 0, 360);
    case_add_cause(c, crank->boom ? "boom" : "frame");
}

/* From neutral to both ends, seldom as far both ways. */
static void turn_crank(struct photo_case *c, struct draw *d)
{
    double neutral = draw_uniform(d, -180, 180);
    double ends[CRANK_SHOTS] = {draw_uniform(d, 18, 45), -draw_uniform(d, 18, 45), 0};
    c->crank.turned_deg = neutral + ends[c->crank.shot];
    for (int i = 0; i < c->shape.arm_count; i++)
        c->shape.arms[i].angle_deg += c->crank.turned_deg;
}

/* Half of the series in part shade: a hand, a wire, the phone itself. */
static void draw_shade(struct photo_case *c, struct draw *d)
{
    struct vec3 frame[4];
    bool shaded = draw_chance(d, 0.5);
    double aside = draw_uniform(d, 17, 23);
    if (!shaded || c->light == LIGHT_FLASH)
        return;
    case_sticker_frame(c, frame);
    struct vec3 to_lamp = vec3_unit(vec3_add(c->lamp[0], vec3_scale(frame[3], -1)));
    struct vec3 across = vec3_unit(vec3_cross(to_lamp, c->axis_x));
    c->crank.shaded = true;
    c->crank.shade = vec3_add(c->hub, vec3_add(vec3_scale(to_lamp, 70), vec3_scale(across, aside)));
    case_add_cause(c, "shade");
}

/* ---- the view of one photo ------------------------------------------------------------------ */

/* Whether plates hide none of the sticker: people move until they see it. */
static bool sees_sticker(const struct photo_case *c)
{
    const struct vision_sticker *s = c->crank.sticker;
    for (int i = 0; i < 4 && !c->crank.boom; i++) {
        double half = s->face.height_mm / 2;
        struct vec3 at = case_sticker_to_card(c, i & 1 ? half : -half, i & 2 ? half : -half);
        struct vec3 to = vec3_add(c->camera.position, vec3_scale(at, -1));
        struct vec3 through = vec3_add(at, vec3_scale(to, (c->crank.floor_mm - at.z) / to.z));
        if (hypot(through.x - c->hub.x, through.y - c->hub.y) > c->crank.opening_mm - 0.3)
            return false;
    }
    return true;
}

static void look(struct photo_case *c, struct draw *d, double tilt, double toward)
{
    struct vec3 frame[4],
        from = about_z((struct vec3){sin(tilt * RAD), 0, cos(tilt * RAD)}, toward);
    case_sticker_frame(c, frame);
    struct vec3 at = vec3_scale(frame[3], 0.5);
    at.x += draw_uniform(d, -3, 3);
    at.y += draw_uniform(d, -3, 3);
    case_stand_back(c, from, at, c->roll_deg);
}

/* From about where the first photo was taken, or from anywhere else. */
static void hold_camera(struct photo_case *c, struct draw *series, struct draw *d)
{
    double base = draw_uniform(series, 0, 30), way = draw_uniform(series, 0, 360);
    double fill = draw_uniform(series, 0.4, 0.8), roll = draw_uniform(series, -180, 180);
    bool anywhere = draw_chance(series, 0.35);
    for (int tries = 0; tries < 40; tries++) {
        double up = anywhere ? draw_uniform(d, 0, 35) : base,
               to = anywhere ? draw_uniform(d, 0, 360) : way;
        struct vec3 lean = about_z((struct vec3){up, 0, 0}, to);
        lean.x += draw_uniform(d, -8, 8);
        lean.y += draw_uniform(d, -8, 8);
        c->fill = fill * draw_uniform(d, 0.85, 1.1);
        c->roll_deg = roll + draw_uniform(d, -12, 12);
        look(c, d, fmin(hypot(lean.x, lean.y), 35) * (1 - tries / 40.0),
             atan2(lean.y, lean.x) / RAD);
        if (sees_sticker(c))
            break;
    }
    if (camera_obliquity_deg(&c->camera) > 24)
        case_add_cause(c, "oblique");
    case_place_flash(c, d);
}

/* Cameras write the focal length at infinity; focused at d the image stands at f (1 + f / d), by
 * the thin lens equation: so much nearer than EXIF tells. 7.0 mm is the diagonal of the
 * sensor, 43.27 mm that of film. */
static void focus(struct photo_case *c, struct draw *series)
{
    double focal_mm = c->equivalent_mm * 7.0 / 43.27;
    c->equivalent_mm /= 1 + focal_mm / draw_uniform(series, 110, 250);
}

static void name_photo(struct photo_case *c, int pair)
{
    static const char *const shots[CRANK_SHOTS] = {"one-end", "other-end", "neutral"};
    snprintf(c->name, sizeof c->name, "crank-%02d-%s-by-%s-%s", c->crank.series,
             pairs[pair].sticker, pairs[pair].fixed, shots[c->crank.shot]);
}

void case_draw_sticker(struct photo_case *c, int index, const struct set_options *options)
{
    struct hidden_crank *crank = &c->crank;
    c->index = index + 1; /* 0 would be the example of the standing set */
    crank->series = index / CRANK_SHOTS;
    crank->shot = (enum crank_shot)(index % CRANK_SHOTS);
    int pair = crank->series % COUNT(pairs);
    struct draw d = draw_seeded(c->seed);
    struct draw series = draw_seeded(options->seed * 1000003u + crank->series * 7919u + 0x571c);
    c->quick = true;
    c->kept = (crank->series + crank->series / COUNT(pairs)) % 2 == 1;
    c->light = lights[crank->series % COUNT(lights)];
    crank->sticker = vision_sticker_by_name(pairs[pair].sticker);
    crank->fixed = vision_sticker_by_name(pairs[pair].fixed);
    c->card = crank->fixed ? &crank->fixed->face : vision_card_by_name(pairs[pair].fixed);
    draw_print(c, &series);
    draw_crank(c, &series);
    place_crank(c, &series);
    turn_crank(c, &series);
    case_orient_part(c);
    case_draw_light(c, &series);
    draw_shade(c, &series);
    case_draw_frame(c, &series, false);
    c->bench = draw_below(&series, 8);
    c->bench_z_mm = -45;
    hold_camera(c, &series, &d);
    focus(c, &series);
    case_draw_development(c, &d, false);
    name_photo(c, pair);
}
