/* The set's second part: a table of what each photo shows, drawn out of what that leaves open.
 *
 * The first part has most hard things at once. Here more than four photos in ten are what people
 * take: an ordinary horn in ordinary light, from nearly above; each of the others has one thing
 * that the first part lacks. Rows come in threes: one to tune on, two kept aside. */
#include "case_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define RAD (3.14159265358979323846 / 180)
#define COUNT(a) ((int)(sizeof(a) / sizeof(a)[0]))

/* What one photo has beyond an ordinary one. */
enum trouble {
    OBLIQUE = 1 << 0, /* 25 to 36 degrees */
    SMALL = 1 << 1,   /* the card fills little of the photo */
    BENT = 1 << 2,
    TILTED = 1 << 3,
    HIGH = 1 << 4, /* the part well above the card */
    FINGER = 1 << 5,
    TAPE = 1 << 6,
    PLATE = 1 << 7,
    CLUTTER = 1 << 8,
    HALF_OUT = 1 << 9, /* a part of the card lies outside the photo */
    NIGHT = 1 << 10,   /* noise of a phone in the evening */
    PRESSED = 1 << 11, /* strong JPEG compression */
    DEFOCUS = 1 << 12,
    MOTION = 1 << 13,
    DEPTH = 1 << 14, /* narrow depth of field */
    BARREL = 1 << 15,
    EDGE = 1 << 16,  /* shows an edge to measure against */
    LARGE = 1 << 17, /* 2016 x 1512 instead of 1600 x 1200 */
    BARE = 1 << 18,  /* neither ball nor link */
};

struct row {
    const char *design;  /* a layout of case.c: how many arms and where */
    const char *outline; /* what is made of it; NULL: as drawn */
    const char *finish;
    enum light_kind light;
    const char *card;
    unsigned trouble;
    enum negative negative;
};

#define PLAIN 0
#define HAND_CARD "hand-duo"

static const struct row rows[] = {
    /* ordinary photos */
    {"single", NULL, "black_matt", LIGHT_WINDOW, HAND_CARD, LARGE, 0},
    {"double", NULL, "white", LIGHT_CEILING, HAND_CARD, LARGE, 0},
    {"cross", NULL, "black_matt", LIGHT_LAMP, HAND_CARD, PLAIN, 0},
    {"double", NULL, "grey", LIGHT_CEILING, HAND_CARD, PLAIN, 0},
    {"single", NULL, "black_gloss", LIGHT_WINDOW, HAND_CARD, PLAIN, 0},
    {"three", NULL, "white", LIGHT_OVERCAST, HAND_CARD, BARE, 0},
    {"star", NULL, "black_matt", LIGHT_WINDOW, HAND_CARD, BARE, 0},
    {"double", NULL, "natural", LIGHT_LAMP, HAND_CARD, PLAIN, 0},
    {"single", NULL, "silver", LIGHT_CEILING, HAND_CARD, PLAIN, 0},
    {"single", NULL, "white", LIGHT_LAMP, "hand-green", PLAIN, 0},
    {"double", NULL, "black_matt", LIGHT_WINDOW, "hand-pink", PLAIN, 0},
    {"single", NULL, "red", LIGHT_OVERCAST, HAND_CARD, LARGE, 0},
    {"cross", NULL, "grey", LIGHT_OVERCAST, HAND_CARD, BARE, 0},
    {"star", NULL, "white", LIGHT_CEILING, HAND_CARD, BARE, 0},
    {"unequal", NULL, "black_matt", LIGHT_WINDOW, HAND_CARD, PLAIN, 0},
    {"double", NULL, "black_gloss", LIGHT_TWO_LAMPS, "long-duo", PLAIN, 0},
    {"single", NULL, "blue", LIGHT_WINDOW, HAND_CARD, PLAIN, 0},
    {"double", NULL, "black_matt", LIGHT_CEILING, "long-duo", PLAIN, 0},
    {"double", "paddle", "black_matt", LIGHT_CEILING, HAND_CARD, PLAIN, 0},
    {"single", "hourglass", "white", LIGHT_WINDOW, HAND_CARD, PLAIN, 0},
    {"single", NULL, "printed", LIGHT_LAMP, HAND_CARD, PLAIN, 0},
    {"double", NULL, "brushed", LIGHT_WINDOW, HAND_CARD, PLAIN, 0},
    {"single", NULL, "natural", LIGHT_CEILING, HAND_CARD, BARE, 0},
    {"single", "paddle", "grey", LIGHT_OVERCAST, HAND_CARD, PLAIN, 0},
    {"crank90", NULL, "black_matt", LIGHT_WINDOW, "frame-duo", PLAIN, 0},
    {"tee", NULL, "natural", LIGHT_CEILING, HAND_CARD, PLAIN, 0},
    {"crank90", NULL, "white", LIGHT_OVERCAST, "frame-duo", PLAIN, 0},
    {"single", NULL, "black_matt", LIGHT_OVERCAST, "mini-duo", BARE, 0},
    {"tail", NULL, "grey", LIGHT_WINDOW, "mini-duo", BARE, 0},
    {"double", NULL, "black_matt", LIGHT_LAMP, "frame-duo", PLAIN, 0},
    {"single", "slotted", "black_matt", LIGHT_WINDOW, HAND_CARD, BARE, 0},
    {"double", "slotted", "silver", LIGHT_CEILING, HAND_CARD, BARE, 0},
    {"double", NULL, "red", LIGHT_WINDOW, HAND_CARD, PLAIN, 0},
    {"single", NULL, "white", LIGHT_WINDOW, HAND_CARD, PLAIN, 0},
    {"single", "clamp", "black_matt", LIGHT_CEILING, HAND_CARD, PLAIN, 0},
    {"cross", NULL, "white", LIGHT_WINDOW, "hand-pink", BARE, 0},
    /* lights */
    {"single", NULL, "black_matt", LIGHT_SUN, HAND_CARD, FINGER, 0},
    {"double", NULL, "white", LIGHT_SUN, HAND_CARD, PLAIN, 0},
    {"cross", NULL, "red", LIGHT_SUN, HAND_CARD, BARE, 0},
    {"double", NULL, "brushed", LIGHT_RING, HAND_CARD, PLAIN, 0},
    {"single", NULL, "chrome", LIGHT_RING, HAND_CARD, BARE, 0},
    {"star", NULL, "black_gloss", LIGHT_RING, HAND_CARD, BARE, 0},
    {"single", NULL, "natural", LIGHT_COLOURED, HAND_CARD, PLAIN, 0},
    {"double", NULL, "white", LIGHT_SCREEN, HAND_CARD, MOTION, 0},
    {"cross", NULL, "grey", LIGHT_COLOURED, HAND_CARD, BARE, 0},
    {"three", NULL, "blue", LIGHT_MIXED, HAND_CARD, DEFOCUS | BARE, 0},
    {"single", NULL, "black_matt", LIGHT_SCREEN, HAND_CARD, BARREL, 0},
    {"double", NULL, "gold", LIGHT_MIXED, HAND_CARD, EDGE, 0},
    /* the camera */
    {"double", NULL, "grey", LIGHT_DIM, HAND_CARD, NIGHT, 0},
    {"single", NULL, "white", LIGHT_DIM, HAND_CARD, NIGHT | BARE, 0},
    {"cross", NULL, "black_matt", LIGHT_LAMP, HAND_CARD, NIGHT | BARE, 0},
    {"single", NULL, "red", LIGHT_WINDOW, HAND_CARD, PRESSED, 0},
    {"double", NULL, "carbon", LIGHT_LAMP, HAND_CARD, PRESSED | BARREL, 0},
    {"star", NULL, "natural", LIGHT_OVERCAST, HAND_CARD, PRESSED | BARE, 0},
    {"double", NULL, "silver", LIGHT_WINDOW, "long-duo", DEPTH, 0},
    {"single", NULL, "white", LIGHT_CEILING, HAND_CARD, DEPTH | OBLIQUE, 0},
    {"crank90", NULL, "black_matt", LIGHT_LAMP, HAND_CARD, DEPTH, 0},
    /* the card and what lies about it */
    {"single", NULL, "translucent", LIGHT_WINDOW, "hand-green", CLUTTER | BARE, 0},
    {"cross", NULL, "printed", LIGHT_LAMP, "hand-pink", CLUTTER | BARE, 0},
    {"double", NULL, "worn", LIGHT_CEILING, HAND_CARD, CLUTTER | SMALL, 0},
    {"single", NULL, "black_matt", LIGHT_WINDOW, HAND_CARD, HALF_OUT | BARE, 0},
    {"single", NULL, "white", LIGHT_OVERCAST, HAND_CARD, HALF_OUT | BARE, 0},
    {"crank90", NULL, "two_tone", LIGHT_LAMP, HAND_CARD, HALF_OUT | BARE, 0},
    /* the part */
    {"cross", "wheel", "grey", LIGHT_CEILING, HAND_CARD, BARE, 0},
    {"single", "clamp", "two_colour", LIGHT_WINDOW, HAND_CARD, TAPE, 0},
    {"three", "wheel", "white", LIGHT_LAMP, HAND_CARD, BARE, 0},
    {"double", "thin", "titanium", LIGHT_WINDOW, HAND_CARD, OBLIQUE | HIGH, 0},
    {"double", "thick", "natural", LIGHT_TWO_LAMPS, "frame-green", TILTED | PLATE, 0},
    {"single", "bulged", "translucent", LIGHT_LAMP, HAND_CARD, OBLIQUE | BENT | BARE, 0},
    /* not to be measured */
    {"double", NULL, "black_matt", LIGHT_WINDOW, HAND_CARD, BARE, NEGATIVE_SCREWDRIVER},
    {"double", NULL, "black_matt", LIGHT_CEILING, HAND_CARD, BARE, NEGATIVE_HAND},
    {"double", NULL, "black_matt", LIGHT_LAMP, HAND_CARD, BARE, NEGATIVE_KNOB},
    {"double", NULL, "silver", LIGHT_CEILING, HAND_CARD, BARE, NEGATIVE_CABLE_WASHER},
    {"double", NULL, "white", LIGHT_WINDOW, HAND_CARD, BARE, NEGATIVE_PRINTED_PAPER},
    {"single", NULL, "black_matt", LIGHT_LAMP, HAND_CARD, BARE, NEGATIVE_FACE_DOWN},
    {"double", NULL, "white", LIGHT_CEILING, HAND_CARD, BARE, NEGATIVE_TWO_PARTS},
    {"double", NULL, "black_matt", LIGHT_WINDOW, HAND_CARD, BARE, NEGATIVE_ELSEWHERE},
    {"single", NULL, "black_matt", LIGHT_OVERCAST, HAND_CARD, BARE, NEGATIVE_CUT_OFF},
};

int case_second_size(void)
{
    return COUNT(rows);
}

static bool is_plain(const struct row *row)
{
    return !row->negative && (row->trouble & ~(unsigned)(LARGE | BARE)) == 0 &&
           row->light != LIGHT_SUN && row->light != LIGHT_RING && row->light != LIGHT_COLOURED &&
           row->light != LIGHT_SCREEN && row->light != LIGHT_MIXED &&
           (!row->outline || strcmp(row->outline, "wheel") != 0);
}

/* ---- the card ------------------------------------------------------------------------------- */

static void lay_card(struct photo_case *c, struct draw *d, const struct row *row,
                     const struct set_options *options)
{
    char name[32];
    int size = (int)strcspn(row->card, "-");
    snprintf(name, sizeof name, "%.*s-%s", size, row->card,
             options->tint ? options->tint : row->card + size + 1);
    c->card = vision_card_by_name(name);
    c->cut = draw_chance(d, 0.6);
    c->card_thick_mm = draw_uniform(d, 0.22, 0.35);
    c->sheen = draw_uniform(d, 0.0, 0.06);
    c->ink_black = draw_uniform(d, 0.03, 0.06);
    c->ink_fade = draw_uniform(d, 0.0, 0.2);
    for (int t = 0; t < 2; t++)
        for (int k = 0; k < 3; k++)
            c->ink_tone[t][k] = draw_uniform(d, 0.92, 1.06);
    if (row->trouble & BENT) {
        double half = c->card->width_mm / 2;
        c->cut = false;
        c->bend_per_mm = draw_uniform(d, 0.2, 0.5) / (half * half);
        c->bend_deg = draw_uniform(d, 70, 110);
        case_add_cause(c, "bent-card");
    }
}

/* ---- the part ------------------------------------------------------------------------------- */

static void holes_from_tip(struct shape_arm *arm, double pitch_mm, int count)
{
    arm->hole_count = count;
    for (int i = 0; i < count; i++)
        arm->hole_at_mm[i] = arm->reach_mm - arm->tip_mm - i * pitch_mm;
}

static void split_hub(struct photo_case *c, struct draw *d)
{
    struct shape *shape = &c->shape;
    shape->thick_mm = draw_uniform(d, 3.0, 4.0);
    shape->edge_mm = 0.25;
    shape->hub_mm *= 1.1;
    shape->ear_deg = shape->arms[0].angle_deg + (draw_chance(d, 0.5) ? 180 : 90);
    shape->ear_reach_mm = shape->hub_mm + draw_uniform(d, 3.2, 4.2);
    shape->ear_half_mm = draw_uniform(d, 1.8, 2.3);
    shape->slit_half_mm = 0.3;
    shape->boss_up_mm = draw_uniform(d, 0.8, 1.4);
    c->clamp = true;
}

static void make_wheel(struct photo_case *c, struct draw *d)
{
    struct shape *shape = &c->shape;
    shape->rim_mm = shape->arms[0].reach_mm;
    shape->rim_wide_mm = draw_uniform(d, 1.8, 2.6);
    for (int i = 0; i < shape->arm_count; i++) {
        struct shape_arm *arm = &shape->arms[i];
        *arm = (struct shape_arm){.angle_deg = arm->angle_deg,
                                  .reach_mm = shape->rim_mm,
                                  .root_mm = shape->hub_mm * 0.4,
                                  .tip_mm = shape->hub_mm * 0.32};
    }
}

static void reshape_arm(struct shape_arm *arm, struct draw *d, const char *outline, double hub_mm)
{
    if (strcmp(outline, "paddle") == 0) { /* wider at the tip than at the root */
        arm->tip_mm = arm->root_mm * 1.12;
        arm->root_mm *= 0.85;
        arm->concave_mm = 0;
        holes_from_tip(arm, 2.6, 2);
    } else if (strcmp(outline, "hourglass") == 0) {
        arm->concave_mm = arm->tip_mm * 0.35;
        holes_from_tip(arm, 2.6, 1);
    } else if (strcmp(outline, "bulged") == 0) {
        arm->concave_mm = -arm->tip_mm * 0.3;
    } else if (strcmp(outline, "thin") == 0) {
        arm->root_mm *= 0.62;
        arm->tip_mm = arm->root_mm * 0.85;
        arm->hole_radius_mm = 0.5;
        arm->concave_mm = 0;
    } else if (strcmp(outline, "thick") == 0) {
        arm->root_mm *= 1.25;
        arm->tip_mm = arm->root_mm * 0.9;
    } else if (strcmp(outline, "slotted") == 0) {
        arm->concave_mm = 0;
        holes_from_tip(arm, 2.4, 2);
        arm->slot_half_mm = 0.75;
        arm->slot_from_mm = hub_mm + 1.6;
        arm->slot_to_mm = fmax(arm->hole_at_mm[1] - draw_uniform(d, 2.4, 3.0), arm->slot_from_mm);
    }
}

void case_reshape(struct photo_case *c, struct draw *d, const char *outline)
{
    struct shape *shape = &c->shape;
    for (int i = 0; i < shape->arm_count; i++) {
        /* Arms that are alike stay alike. */
        struct draw same = *d;
        reshape_arm(&shape->arms[i], &same, outline, shape->hub_mm);
    }
    if (strcmp(outline, "thin") == 0)
        shape->thick_mm = draw_uniform(d, 0.8, 1.1), shape->edge_mm = 0.12;
    else if (strcmp(outline, "thick") == 0)
        shape->thick_mm = draw_uniform(d, 4.0, 5.0), shape->edge_mm = 0.5;
    else if (strcmp(outline, "clamp") == 0)
        split_hub(c, d);
    else if (strcmp(outline, "wheel") == 0)
        make_wheel(c, d);
    snprintf(c->design, sizeof c->design, "%s", outline);
}

static void make_washer(struct photo_case *c)
{
    c->shape = (struct shape){.thick_mm = 1.2,
                              .edge_mm = 0.2,
                              .hub_mm = 8,
                              .blend_mm = 1,
                              .boss_mm = 4.4,
                              .boss_up_mm = 0.1,
                              .boss_down_mm = 0.1,
                              .bore_mm = 3.4,
                              .bore_deep_mm = 9};
    c->screw_mm = 0;
    c->post_mm = 0;
    c->hub.z = 0.8;
}

/* Ordinary photos: level parts at ordinary height; what differs stands in the row. */
static void set_part(struct photo_case *c, struct draw *d, const struct row *row)
{
    double low = row->trouble & HIGH ? 8 : 1.5, high = row->trouble & HIGH ? 12 : 6;
    double underside = fmax(draw_uniform(d, low, high), c->shape.boss_down_mm + 0.4);
    c->cause_count = 0;
    c->hub.z = underside + c->shape.thick_mm / 2;
    c->tilt_deg = row->trouble & TILTED ? draw_uniform(d, 0.6, 1.4) : draw_uniform(d, 0, 0.15);
    if (row->trouble & TILTED)
        case_add_cause(c, "tilted-card");
    if (underside > 7)
        case_add_cause(c, "high-part");
}

/* Two parts must both stand on the card. */
static void make_room(struct photo_case *c)
{
    c->hub.x = -c->card->width_mm * 0.21;
    c->cut = false;
    for (int i = 0; i < c->shape.arm_count; i++) {
        struct shape_arm *arm = &c->shape.arms[i];
        double shrink = fmin(1, 13 / arm->reach_mm);
        arm->reach_mm *= shrink;
        for (int h = 0; h < arm->hole_count; h++)
            arm->hole_at_mm[h] *= shrink;
    }
}

static void make_part(struct photo_case *c, struct draw *d, const struct row *row)
{
    c->has_part = true;
    case_draw_shape(c, d);
    if (strcmp(row->design, "tee") == 0) { /* three arms of a cross: two in line, one square */
        c->shape.arm_count = 3;
        for (int i = 1; i < 3; i++) {
            c->shape.arms[i] = c->shape.arms[0];
            c->shape.arms[i].angle_deg += i * 90;
        }
    }
    if (row->outline)
        case_reshape(c, d, row->outline);
    case_place_part(c, d);
    set_part(c, d, row);
    if (row->negative == NEGATIVE_TWO_PARTS)
        make_room(c);
    if (row->negative == NEGATIVE_CABLE_WASHER)
        make_washer(c);
    case_orient_part(c);
    if (!(row->trouble & BARE))
        case_draw_links(c, d);
    c->screw_drive = draw_below(d, 3);
    c->screw_turn_deg = draw_uniform(d, 0, 180);
}

/* ---- the light ------------------------------------------------------------------------------ */

static void light_sun(struct photo_case *c, struct draw *d)
{
    c->lamp[0] = case_around(d, 14, 30, 2800);
    case_paint(c->lamp_rgb[0], 1.12, 1.0, 0.84, 1.3);
    c->lamp_size_mm[0] = 26; /* half a degree wide, as the sun is */
    case_set_room(c, 0.9, 0.97, 1.1, 0.08, 0.20);
}

static void light_coloured(struct photo_case *c, struct draw *d)
{
    static const double strips[][3] = {{0.5, 1.15, 0.6}, {1.2, 0.5, 0.9}, {0.5, 0.75, 1.3}};
    const double *lamp = strips[draw_below(d, 3)], *room = strips[draw_below(d, 3)];
    c->lamp[0] = case_around(d, 35, 70, draw_uniform(d, 300, 600));
    case_paint(c->lamp_rgb[0], lamp[0], lamp[1], lamp[2], 0.45);
    c->lamp_size_mm[0] = draw_uniform(d, 80, 200);
    case_set_room(c, room[0], room[1], room[2], 0.06, 0.14);
}

static void light_screen(struct photo_case *c, struct draw *d)
{
    c->lamp[0] = case_around(d, 22, 42, draw_uniform(d, 300, 450));
    case_paint(c->lamp_rgb[0], 0.78, 0.92, 1.25, 0.6);
    c->lamp_size_mm[0] = draw_uniform(d, 250, 350);
    case_set_room(c, 0.85, 0.95, 1.15, 0.03, 0.07);
}

static void light_mixed(struct photo_case *c, struct draw *d)
{
    c->lamp[0] = case_around(d, 30, 55, 900);
    case_paint(c->lamp_rgb[0], 0.85, 0.97, 1.2, 0.34);
    c->lamp_size_mm[0] = draw_uniform(d, 350, 600);
    c->lamp[1] = case_around(d, 35, 65, draw_uniform(d, 280, 450));
    case_paint(c->lamp_rgb[1], 1.25, 0.85, 0.5, 0.34);
    c->lamp_size_mm[1] = draw_uniform(d, 40, 90);
    case_set_room(c, 1, 0.95, 0.9, 0.06, 0.12);
}

void case_draw_any_light(struct photo_case *c, struct draw *d)
{
    switch (c->light) {
    case LIGHT_CEILING:
        c->lamp[0] = case_around(d, 58, 85, 1500);
        case_paint(c->lamp_rgb[0], 1.02, 1, 0.95, 0.36);
        c->lamp_size_mm[0] = draw_uniform(d, 400, 700);
        case_set_room(c, 1, 0.98, 0.95, 0.13, 0.26);
        break;
    case LIGHT_SUN:
        light_sun(c, d);
        break;
    case LIGHT_RING: /* sits round the lens: scene.c */
        case_paint(c->lamp_rgb[0], 1, 1, 1.02, 0.44);
        case_set_room(c, 1, 0.97, 0.93, 0.06, 0.13);
        break;
    case LIGHT_COLOURED:
        light_coloured(c, d);
        break;
    case LIGHT_SCREEN:
        light_screen(c, d);
        break;
    case LIGHT_MIXED:
        light_mixed(c, d);
        break;
    default:
        case_draw_light(c, d);
    }
}

/* ---- the view ------------------------------------------------------------------------------- */

static void choose_camera(struct photo_case *c, struct draw *d, const struct row *row)
{
    static const double lenses[] = {24, 24.5, 26, 26, 28, 28, 35, 50};
    struct camera *camera = &c->camera;
    bool portrait = draw_chance(d, 0.3);
    int wide = row->trouble & LARGE ? 2016 : 1600, narrow = row->trouble & LARGE ? 1512 : 1200;
    camera->width_px = portrait ? narrow : wide;
    camera->height_px = portrait ? wide : narrow;
    c->orientation = draw_chance(d, 0.25) ? (int[]){6, 8, 3}[draw_below(d, 3)] : 1;
    c->equivalent_mm = lenses[draw_below(d, COUNT(lenses))];
    /* 35 mm equivalent by diagonal: CIPA DCG-001. */
    camera->focal_px = c->equivalent_mm * draw_uniform(d, 0.99, 1.01) *
                       hypot(camera->width_px, camera->height_px) / 43.27;
    camera->k1 =
        row->trouble & BARREL ? draw_uniform(d, -0.07, -0.045) : draw_uniform(d, -0.02, 0.02);
    camera->k2 = draw_uniform(d, -0.005, 0.005);
    if (row->trouble & BARREL)
        case_add_cause(c, "distortion");
    c->exif_any = draw_chance(d, 0.9) || c->orientation != 1;
    c->exif_focal = c->exif_any && draw_chance(d, 0.9);
}

/* Moves the camera, which looks at the card's middle, sideways along the first arm by a share of
 * the card's size, so that the other end of the card goes out of the photo. */
static void step_aside(struct photo_case *c, struct vec3 from, struct vec3 miss, double share)
{
    double a = c->shape.arm_count > 0 ? c->shape.arms[0].angle_deg * RAD : 0;
    struct vec3 aside = {share * c->card->width_mm * cos(a), share * c->card->height_mm * sin(a),
                         0};
    struct vec3 at = vec3_add(miss, aside);
    c->camera.position = vec3_add(from, at);
    camera_aim(&c->camera, at, c->roll_deg);
}

static int whole_markers(const struct photo_case *c)
{
    double half = c->card->marker_mm / 2;
    int count = 0;
    for (int i = 0; i < c->card->marker_count; i++) {
        struct vision_point m = c->card->markers[i].centre_mm;
        bool whole = true;
        for (int k = 0; k < 4; k++)
            whole &= camera_shows(&c->camera, (struct vec3){m.x + (k & 1 ? half : -half),
                                                            m.y + (k & 2 ? half : -half), 0});
        count += whole;
    }
    return count;
}

static void aim(struct photo_case *c, struct draw *d, const struct row *row)
{
    struct vec3 from = c->camera.position;
    struct vec3 miss = {draw_uniform(d, -0.05, 0.05) * c->card->width_mm,
                        draw_uniform(d, -0.05, 0.05) * c->card->height_mm, 0};
    double share = row->trouble & HALF_OUT ? 0.3 : 0;
    step_aside(c, from, miss, share);
    /* Two markers carry no plane. */
    while (row->negative == NEGATIVE_CUT_OFF && whole_markers(c) > 2 && share < 3)
        step_aside(c, from, miss, share += 0.05);
}

static void look(struct photo_case *c, struct draw *d, const struct row *row)
{
    double tilt = row->trouble & OBLIQUE ? draw_uniform(d, 25, 36) : draw_uniform(d, 0, 25);
    double toward = draw_uniform(d, 0, 360) * RAD;
    choose_camera(c, d, row);
    c->fill = row->trouble & SMALL ? draw_uniform(d, 0.32, 0.42) : draw_uniform(d, 0.6, 0.95);
    if (row->trouble & HALF_OUT)
        c->fill = draw_uniform(d, 0.95, 1.05);
    c->roll_deg = draw_chance(d, 0.75) ? draw_uniform(d, -12, 12) : draw_uniform(d, -180, 180);
    struct vec3 from = {sin(tilt * RAD) * cos(toward), sin(tilt * RAD) * sin(toward),
                        cos(tilt * RAD)};
    /* The distance is found with the card in the middle; then the camera moves aside with its aim.
     */
    case_stand_back(c, from, (struct vec3){0, 0, 0}, c->roll_deg);
    aim(c, d, row);
    if (tilt > 24)
        case_add_cause(c, "oblique");
    if (row->trouble & SMALL)
        case_add_cause(c, "small-in-frame");
    if (row->trouble & HALF_OUT)
        case_add_cause(c, "half-out");
}

/* ---- round about ---------------------------------------------------------------------------- */

static void clutter(struct photo_case *c, struct draw *d)
{
    static const enum item_kind things[] = {ITEM_LOOSE_SCREW, ITEM_NUT,         ITEM_WASHER,
                                            ITEM_HEX_KEY,     ITEM_LOOSE_SCREW, ITEM_CABLE};
    double under = c->bench_z_mm + 0.05;
    struct item *sheet = case_add_item(c, ITEM_TEXT_SHEET, (struct vec3){25, -18, under - 0.1},
                                       draw_uniform(d, -40, 40));
    sheet->size_mm = 210, sheet->size2_mm = 148;
    sheet = case_add_item(c, ITEM_CHEQUERS, (struct vec3){-55, 35, under - 0.05},
                          draw_uniform(d, 0, 90));
    sheet->size_mm = 80, sheet->size2_mm = 64;
    for (int i = 0; i < 14; i++)
        case_scatter_one(c, d, things[draw_below(d, COUNT(things))]);
    case_add_cause(c, "clutter");
}

static void surround(struct photo_case *c, struct draw *d, const struct row *row)
{
    /* Fingers, plates and tape keep off the arms by themselves. */
    if (row->trouble & CLUTTER) {
        c->cut = false; /* on the bench, so that clutter comes up to its edge */
        c->post_mm = 0;
    }
    case_draw_bench(c, d);
    if (row->trouble & CLUTTER) {
        c->bench_z_mm = -c->card_thick_mm - 0.4;
        clutter(c, d);
    }
    if (row->trouble & FINGER)
        case_add_finger(c, d);
    if (row->trouble & PLATE)
        case_add_plate(c, d);
    if (row->trouble & TAPE)
        case_add_tape(c, d);
}

/* ---- the development ------------------------------------------------------------------------ */

static void set_focus(struct photo_case *c, struct draw *d, const struct row *row)
{
    struct vec3 to_hub = vec3_add(c->hub, vec3_scale(c->camera.position, -1));
    c->focus_mm = vec3_dot(to_hub, c->camera.forward);
    if (row->trouble & DEFOCUS) {
        c->defocus_px = draw_uniform(d, 1.2, 2.6);
        case_add_cause(c, "defocus");
    }
    if (row->trouble & MOTION) {
        c->motion_px = draw_uniform(d, 2, 4.5);
        c->motion_deg = draw_uniform(d, 0, 180);
        case_add_cause(c, "motion");
    }
    if (row->trouble & DEPTH) { /* focused in front of the part or behind it */
        c->focus_mm *=
            draw_chance(d, 0.5) ? draw_uniform(d, 0.92, 0.97) : draw_uniform(d, 1.03, 1.08);
        c->depth_blur_px = draw_uniform(d, 25, 45);
        case_add_cause(c, "narrow-depth");
    }
}

static void set_development(struct photo_case *c, struct draw *d, const struct row *row)
{
    bool dim = c->light == LIGHT_DIM || c->light == LIGHT_SCREEN;
    c->soft_px = draw_uniform(d, 0.45, 0.75);
    set_focus(c, d, row);
    c->noise = dim ? draw_uniform(d, 1.5, 2.5) : draw_uniform(d, 0.4, 1.3);
    if (row->trouble & NIGHT) {
        c->noise = draw_uniform(d, 4.5, 7);
        case_add_cause(c, "night-noise");
    }
    c->stops = draw_uniform(d, -0.3, 0.2);
    c->white_balance = c->light == LIGHT_COLOURED || c->light == LIGHT_MIXED
                           ? draw_uniform(d, 0.3, 0.7)
                           : draw_uniform(d, 0.75, 1.05);
    c->sharpen = draw_chance(d, 0.5) ? draw_uniform(d, 0.2, 0.6) : 0;
    c->tone = draw_chance(d, 0.6) ? draw_uniform(d, 0.05, 0.3) : 0;
    c->quality = row->trouble & NIGHT ? 72 : 80 + draw_below(d, 5);
    if (row->trouble & PRESSED) {
        c->quality = 38 + draw_below(d, 15);
        case_add_cause(c, "strong-jpeg");
    }
}

/* ---- what is not to be measured ------------------------------------------------------------- */

static void lay_hand(struct photo_case *c, struct draw *d)
{
    double side = draw_chance(d, 0.5) ? 90 : 270, middle = draw_uniform(d, -4, 4);
    for (int i = -1; i <= 1; i++) {
        /* The middle finger reaches a little further than its neighbours. */
        struct vec3 tip = {middle + i * 17, sin(side * RAD) * (i ? -1 : -4), 0.05};
        struct item *item = case_add_item(c, ITEM_FINGER, tip, side + 180 + i * 5);
        case_paint(item->colour, 0.88, 0.67, 0.56, 0.85);
    }
}

static void lay_elsewhere(struct photo_case *c, struct draw *d)
{
    struct item *item = case_add_item(c, ITEM_CHEQUERS, (struct vec3){-12, 8, c->bench_z_mm + 0.02},
                                      draw_uniform(d, 0, 90));
    item->size_mm = 64, item->size2_mm = 48;
    item = case_add_item(c, ITEM_CUP, (struct vec3){48, -30, c->bench_z_mm}, 40);
    case_paint(item->colour, 0.75, 0.15, 0.12, 1);
    item = case_add_item(c, ITEM_TEXT_SHEET, (struct vec3){30, 40, c->bench_z_mm + 0.01}, 20);
    item->size_mm = 150, item->size2_mm = 100;
    case_add_item(c, ITEM_PENCIL, (struct vec3){-20, -32, c->bench_z_mm + 0.1}, 15);
}

static void lay_negative(struct photo_case *c, struct draw *d)
{
    struct item *item;
    switch (c->negative) {
    case NEGATIVE_SCREWDRIVER: /* its shank and tip over the window */
        item = case_add_item(c, ITEM_SCREWDRIVER, (struct vec3){-62, -30, 0.1},
                             draw_uniform(d, 22, 30));
        case_paint(item->colour, 0.1, 0.25, 0.6, 1);
        break;
    case NEGATIVE_HAND:
        lay_hand(c, d);
        break;
    case NEGATIVE_KNOB:
        item = case_add_item(c, ITEM_KNOB, (struct vec3){3, -1, 0.02}, draw_uniform(d, 0, 360));
        item->size_mm = 10, item->size2_mm = 7;
        break;
    case NEGATIVE_CABLE_WASHER:
        item = case_add_item(c, ITEM_CABLE, (struct vec3){2, 9, 0.1}, draw_uniform(d, -25, 25));
        case_paint(item->colour, 0.7, 0.12, 0.1, 1);
        item->size_mm = 150, item->size2_mm = 1.1;
        break;
    case NEGATIVE_PRINTED_PAPER:
        item =
            case_add_item(c, ITEM_TEXT_SHEET, (struct vec3){0, 0, -0.11}, draw_uniform(d, -9, 9));
        item->size_mm = 148, item->size2_mm = 105;
        break;
    case NEGATIVE_ELSEWHERE:
        lay_elsewhere(c, d);
        break;
    default:
        break;
    }
}

static bool needs_no_part(enum negative negative)
{
    return negative == NEGATIVE_SCREWDRIVER || negative == NEGATIVE_HAND ||
           negative == NEGATIVE_KNOB || negative == NEGATIVE_ELSEWHERE;
}

/* ---- whole cases ---------------------------------------------------------------------------- */

void case_draw_second(struct photo_case *c, int number, const struct set_options *options)
{
    const struct row *row = &rows[number % COUNT(rows)];
    struct draw d = draw_seeded(c->seed);
    c->second = true;
    c->kept = c->index % 3 != 0;
    c->negative = row->negative;
    c->light = row->light;
    snprintf(c->design, sizeof c->design, "%s", row->design);
    snprintf(c->finish, sizeof c->finish, "%s", row->finish);
    lay_card(c, &d, row, options);
    case_mix_plastic(c, &d);
    make_part(c, &d, row);
    case_draw_any_light(c, &d);
    look(c, &d, row);
    if (needs_no_part(row->negative))
        c->has_part = false;
    if (row->trouble & EDGE)
        case_refer_to_edge(c, &d);
    else if (!row->negative && draw_chance(&d, 0.35))
        case_refer_to_link(c, &d);
    surround(c, &d, row);
    set_development(c, &d, row);
    lay_negative(c, &d);
    if (is_plain(row))
        case_add_cause(c, "plain");
    case_name(c, options);
}
