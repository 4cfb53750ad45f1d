#include "case.h"
#include "case_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define RAD (3.14159265358979323846 / 180)

/* ---- what there is to choose from ----------------------------------------------------------- */

static const char *const designs[] = {
    "single",  "double",   "unequal", "three",  "cross", "star",
    "crank90", "crankodd", "disc",    "uneven", "tail",
};
/* In the order in which the standing set goes through them. */
static const char *const finishes[] = {
    "black_matt", "white",  "silver", "black_gloss", "red",   "grey",   "chrome",
    "natural",    "blue",   "carbon", "titanium",    "gold",  "tint_a", "black_matt",
    "purple",     "orange", "tint_b", "green",       "white",
};
/* The plain finishes a model most often has come again at hand. */
static const char *const hard_finishes[] = {"tint_a", "tint_b", "chrome",
                                            "white",  "silver", "carbon"};

#define COUNT(a) ((int)(sizeof(a) / sizeof(a)[0]))

#define GOOD_COUNT 67 /* measurable photos; the first is the README's example */
/* The set's first part stands as it was drawn: it knows no later lights and faults. */
#define FIRST_LIGHTS (LIGHT_RAKING + 1)
#define FIRST_NEGATIVES NEGATIVE_MIXED_CARDS
#define EXTRA_NEGATIVES 1
#define FIRST_COUNT (GOOD_COUNT + FIRST_NEGATIVES + EXTRA_NEGATIVES)

int case_set_size(void)
{
    return FIRST_COUNT + case_second_size();
}

void case_add_cause(struct photo_case *c, const char *cause)
{
    for (int i = 0; i < c->cause_count; i++)
        if (strcmp(c->causes[i], cause) == 0)
            return;
    if (c->cause_count < COUNT(c->causes))
        snprintf(c->causes[c->cause_count++], sizeof c->causes[0], "%s", cause);
}

struct item *case_add_item(struct photo_case *c, enum item_kind kind, struct vec3 at,
                           double turn_deg)
{
    static struct item spill; /* more than fit are dropped */
    if (c->item_count == CASE_MAX_ITEMS)
        return &spill;
    struct item *item = &c->items[c->item_count++];
    *item = (struct item){.kind = kind, .at = at, .turn_deg = turn_deg};
    return item;
}

/* ---- the card ------------------------------------------------------------------------------- */

static void draw_card(struct photo_case *c, struct draw *d, const struct set_options *options)
{
    static const char *const sizes[] = {"hand", "hand",  "hand", "long",
                                        "hand", "frame", "hand", "mini"};
    char name[32];
    const char *size = c->index == 0 || options->lens ? "hand" : sizes[draw_below(d, COUNT(sizes))];
    if (c->negative)
        size = "hand";
    snprintf(name, sizeof name, "%s-%s", size, options->tint ? options->tint : "duo");
    c->card = vision_card_by_name(name);
    c->cut = draw_chance(d, 0.6);
    c->card_thick_mm = draw_uniform(d, 0.22, 0.35);
    c->sheen = draw_chance(d, 0.25) ? draw_uniform(d, 0.06, 0.15) : draw_uniform(d, 0.0, 0.04);
    c->ink_black = draw_uniform(d, 0.03, 0.06);
    c->ink_fade = draw_uniform(d, 0.0, 0.2);
    for (int t = 0; t < 2; t++)
        for (int k = 0; k < 3; k++)
            c->ink_tone[t][k] = draw_uniform(d, 0.9, 1.08);
    if (!c->cut && c->index != 0 && draw_chance(d, 0.25)) {
        /* Lifted by up to half a millimetre at the edges. */
        double half = c->card->width_mm / 2;
        c->bend_per_mm = draw_uniform(d, 0.1, 0.5) / (half * half);
        c->bend_deg = draw_chance(d, 0.6) ? draw_uniform(d, 80, 100) : draw_uniform(d, 0, 180);
        case_add_cause(c, "bent-card");
    }
}

/* ---- the part ------------------------------------------------------------------------------- */

struct scale {
    double reach_low, reach_high; /* of arms */
    double root, tip;             /* typical half widths */
    double hub, ball;
};

static struct scale scale_for(const struct photo_case *c)
{
    if (strcmp(c->card->size, "long") == 0)
        return (struct scale){20, 40, 4.2, 2.8, 6.0, 2.5};
    if (strcmp(c->card->size, "frame") == 0)
        return (struct scale){9, 14.5, 2.6, 1.8, 3.8, 2.3};
    if (strcmp(c->card->size, "mini") == 0)
        return (struct scale){7.5, 11, 2.0, 1.5, 3.0, 2.0};
    return (struct scale){11, 19, 3.0, 2.1, 4.4, 2.4};
}

static double off_square(struct draw *d)
{
    return draw_chance(d, 0.85) ? draw_uniform(d, -12, 12) : draw_uniform(d, -45, 45);
}

static void draw_arm(struct shape_arm *arm, struct draw *d, struct scale s, double angle_deg)
{
    *arm = (struct shape_arm){.angle_deg = angle_deg};
    arm->reach_mm = draw_uniform(d, s.reach_low, s.reach_high);
    arm->root_mm = s.root * draw_uniform(d, 0.85, 1.15);
    double taper = draw_chance(d, 0.25) ? 0 : draw_uniform(d, 0.5, 4.0);
    arm->tip_mm = fmax(arm->root_mm - tan(taper * RAD) * arm->reach_mm, s.tip * 0.75);
    if (arm->tip_mm > arm->root_mm)
        arm->tip_mm = arm->root_mm;
    arm->concave_mm = 0;
    double bottom = s.hub + 1.5, top = arm->reach_mm - arm->tip_mm;
    arm->hole_radius_mm = fmin(arm->tip_mm - 0.6, draw_uniform(d, 0.55, 0.95));
    arm->hole_count = draw_chance(d, 0.25) ? 1 : 2 + draw_below(d, 4);
    double pitch = fmax(arm->hole_radius_mm * 2 + 0.7, draw_uniform(d, 1.9, 3.2));
    for (int i = 0; i < arm->hole_count; i++) {
        arm->hole_at_mm[i] = top - i * pitch;
        if (arm->hole_at_mm[i] < bottom && i > 0)
            arm->hole_count = i;
    }
}

static void arms_alike(struct shape *shape)
{
    for (int i = 1; i < shape->arm_count; i++) {
        double angle = shape->arms[i].angle_deg;
        shape->arms[i] = shape->arms[0];
        shape->arms[i].angle_deg = angle;
    }
}

/* Designs of more than one arm; some vary, see arms_of. */
static const struct {
    const char *design;
    int arms;
    double step_deg;
} layouts[] = {{"double", 2, 180}, {"unequal", 2, 180}, {"three", 3, 120},
               {"cross", 4, 90},   {"star", 6, 60},     {"crank90", 2, 90},
               {"crankodd", 2, 0}, {"uneven", 4, 90},   {"disc", 4, 90}};

static int arms_of(const char *design, struct draw *d, double *angles)
{
    double base = 90 * draw_below(d, 4) + off_square(d);
    int n = 1;
    double step = 0;
    for (int i = 0; i < COUNT(layouts); i++) {
        if (strcmp(design, layouts[i].design) == 0) {
            n = layouts[i].arms;
            step = layouts[i].step_deg;
        }
    }
    if (strcmp(design, "three") == 0 && !draw_chance(d, 0.5))
        step = 90;
    else if (strcmp(design, "crankodd") == 0)
        step = draw_chance(d, 0.5) ? draw_uniform(d, 100, 140) : draw_uniform(d, 62, 84);
    else if (strcmp(design, "uneven") == 0 && !draw_chance(d, 0.5)) {
        n = 2;
        step = 180;
    }
    double spread = strcmp(design, "uneven") == 0 ? 1.5 : 0.25;
    for (int i = 0; i < n; i++)
        angles[i] = base + i * step + (n > 1 ? draw_uniform(d, -spread, spread) : 0);
    return n;
}

static void draw_disc(struct shape *shape, struct draw *d, struct scale s)
{
    shape->disc_mm = fmin(draw_uniform(d, s.reach_low, s.reach_high) * 0.8, s.reach_high * 0.75);
    shape->arms[0].hole_count = 1 + draw_below(d, 3);
    shape->arms[0].hole_radius_mm = draw_uniform(d, 0.7, 1.0);
    for (int i = 0; i < 3; i++)
        shape->arms[0].hole_at_mm[i] = shape->disc_mm - 1.6 - i * 2.6;
    shape->arms[0].reach_mm = shape->arms[0].hole_at_mm[0];
    arms_alike(shape);
}

void case_draw_shape(struct photo_case *c, struct draw *d)
{
    struct scale s = scale_for(c);
    struct shape *shape = &c->shape;
    double angles[SHAPE_MAX_ARMS] = {0};
    shape->arm_count = arms_of(c->design, d, angles);
    shape->thick_mm = draw_uniform(d, 1.5, 2.5);
    shape->edge_mm = draw_uniform(d, 0.15, shape->thick_mm * 0.35);
    for (int i = 0; i < shape->arm_count; i++)
        draw_arm(&shape->arms[i], d, s, angles[i]);
    if (strcmp(c->design, "unequal") != 0 && strncmp(c->design, "crank", 5) != 0)
        arms_alike(shape);
    double curve = draw_chance(d, 0.35) ? draw_uniform(d, 0.0004, 0.0012) : 0;
    for (int i = 0; i < shape->arm_count; i++) {
        struct shape_arm *arm = &shape->arms[i];
        arm->concave_mm = fmin(curve * arm->reach_mm * arm->reach_mm, arm->tip_mm * 0.2);
    }
    if (strcmp(c->design, "star") == 0)
        for (int i = 0; i < shape->arm_count; i++)
            shape->arms[i].root_mm *= 0.8, shape->arms[i].tip_mm *= 0.85;
    shape->hub_mm = s.hub * draw_uniform(d, 0.9, 1.1);
    shape->blend_mm = draw_uniform(d, 0.6, 0.4 * s.hub);
    shape->boss_mm = shape->hub_mm * draw_uniform(d, 0.8, 0.95);
    double boss = draw_uniform(d, 2.4, 3.6);
    shape->boss_up_mm = draw_chance(d, 0.5) ? draw_uniform(d, 0.3, 0.8) : draw_uniform(d, 0.8, 2.2);
    shape->boss_down_mm = fmax(boss - shape->boss_up_mm, 0.4);
    c->screw_mm = draw_uniform(d, 1.6, 2.4) * (s.hub < 4 ? 0.8 : 1);
    shape->bore_mm = c->screw_mm + 0.35;
    shape->bore_deep_mm = draw_uniform(d, 0.5, 1.6);
    if (strcmp(c->design, "disc") == 0)
        draw_disc(shape, d, s);
}

/* The slot comes from the left, so that a part on a cut card turns about the card's centre;
 * on one that is not cut it may stand anywhere near. A card's height limits arms up and down. */
void case_place_part(struct photo_case *c, struct draw *d)
{
    double slack = c->cut ? 1.0 : fmin(6, c->card->height_mm * 0.1);
    c->hub.x = draw_uniform(d, -slack, slack) * (c->cut ? 1 : 1.6);
    c->hub.y = draw_uniform(d, -slack, slack);
    c->post_mm = c->card->slot_half_width_mm - draw_uniform(d, 0.9, 1.3);
    double underside = draw_chance(d, 0.5) ? draw_uniform(d, 1.2, 4) : draw_uniform(d, 4, 12);
    underside = fmax(underside, c->shape.boss_down_mm + 0.4);
    if (draw_chance(d, 0.12))
        c->tilt_deg = draw_uniform(d, 0.5, 1.5);
    else
        c->tilt_deg = draw_uniform(d, 0, 0.2);
    if (c->tilt_deg > 0.3)
        case_add_cause(c, "tilted-card");
    c->tilt_toward_deg = draw_uniform(d, 0, 360);
    c->hub.z = underside + c->shape.thick_mm / 2;
    if (underside > 7)
        case_add_cause(c, "high-part");
}

/* Local axes: z leans by tilt_deg toward tilt_toward_deg; x is the card's x projected into the
 * arm plane, so that a local angle is exactly the angle against the card's x axis. */
void case_orient_part(struct photo_case *c)
{
    double t = c->tilt_deg * RAD, a = c->tilt_toward_deg * RAD;
    struct vec3 n = {sin(t) * cos(a), sin(t) * sin(a), cos(t)};
    struct vec3 x = {1, 0, 0};
    c->axis_x = vec3_unit(vec3_add(x, vec3_scale(n, -n.x)));
    c->axis_y = vec3_cross(n, c->axis_x);
    c->axis_z = n;
}

struct vec3 case_part_to_card(const struct photo_case *c, struct vec3 p)
{
    return vec3_add(c->hub,
                    vec3_add(vec3_scale(c->axis_x, p.x),
                             vec3_add(vec3_scale(c->axis_y, p.y), vec3_scale(c->axis_z, p.z))));
}

bool case_shows_card(const struct photo_case *c)
{
    switch (c->negative) {
    case NEGATIVE_NO_CARD:
    case NEGATIVE_NO_CARD_NO_PART:
    case NEGATIVE_PRINTED_PAPER:
    case NEGATIVE_FACE_DOWN:
    case NEGATIVE_ELSEWHERE:
        return false;
    default:
        return true;
    }
}

double case_arm_angle_deg(const struct photo_case *c, int arm)
{
    double a = fmod(c->shape.arms[arm].angle_deg, 360);
    return a < 0 ? a + 360 : a;
}

void case_draw_link(struct photo_case *c, struct draw *d, int arm)
{
    struct scale s = scale_for(c);
    struct ball_link *link = &c->links[arm];
    link->ball = true;
    link->ball_mm = s.ball * draw_uniform(d, 0.95, 1.05);
    link->at_mm = c->shape.arms[arm].hole_at_mm[0];
    link->ball_below = draw_chance(d, 0.2) && c->hub.z > 7;
    double rise = c->shape.thick_mm / 2 + link->ball_mm + draw_uniform(d, 0.3, 1.2);
    link->ball_z_mm = link->ball_below ? -rise : rise;
    link->ball_texture = draw_below(d, 3);
    link->rod_texture = draw_below(d, 3);
    link->rod_mm = draw_uniform(d, 0.75, 1.25);
    link->rod_reach_mm = draw_uniform(d, 60, 110);
    link->link_deg = c->shape.arms[arm].angle_deg + (draw_chance(d, 0.5) ? 90 : -90) +
                     (draw_chance(d, 0.7) ? draw_uniform(d, -20, 20) : draw_uniform(d, -80, 80));
}

void case_draw_links(struct photo_case *c, struct draw *d)
{
    bool any = draw_chance(d, 0.5);
    int cups = draw_chance(d, 0.45) ? 1 : 0;
    for (int i = 0; i < c->shape.arm_count && any; i++) {
        if (!draw_chance(d, i == 0 ? 0.9 : 0.4))
            continue;
        case_draw_link(c, d, i);
        if (cups > 0 && draw_chance(d, 0.7)) {
            c->links[i].cup = true;
            case_add_cause(c, "link");
            cups--;
        } else {
            case_add_cause(c, c->links[i].ball_below ? "ball-below" : "ball");
        }
    }
}

void case_mix_plastic(struct photo_case *c, struct draw *d)
{
    bool a = strcmp(c->finish, "tint_a") == 0, b = strcmp(c->finish, "tint_b") == 0;
    if (a || b) {
        for (int k = 0; k < 3; k++)
            c->plastic[k] = c->card->tint_srgb[b][k] / 255.0 * draw_uniform(d, 0.95, 1.03);
        case_add_cause(c, "part-like-tint");
    }
}

static void draw_part(struct photo_case *c, struct draw *d)
{
    c->has_part = true;
    case_draw_shape(c, d);
    case_place_part(c, d);
    case_orient_part(c);
    case_draw_links(c, d);
    c->screw_drive = draw_below(d, 3);
    c->screw_turn_deg = draw_uniform(d, 0, 180);
    if (draw_chance(d, 0.1))
        c->screw_mm = 0;
}

/* ---- the light ------------------------------------------------------------------------------ */

struct vec3 case_around(struct draw *d, double low_deg, double high_deg, double far_mm)
{
    double a = draw_uniform(d, 0, 360) * RAD, e = draw_uniform(d, low_deg, high_deg) * RAD;
    return (struct vec3){far_mm * cos(e) * cos(a), far_mm * cos(e) * sin(a), far_mm * sin(e)};
}

void case_paint(double *rgb, double r, double g, double b, double k)
{
    rgb[0] = r * k;
    rgb[1] = g * k;
    rgb[2] = b * k;
}

void case_set_room(struct photo_case *c, double r, double g, double b, double low, double high)
{
    case_paint(c->room_low, r, g, b, low);
    case_paint(c->room_high, r, g, b, high);
}

void case_draw_light(struct photo_case *c, struct draw *d)
{
    c->lamp_size_mm[0] = c->lamp_size_mm[1] = 1;
    switch (c->light) {
    case LIGHT_WINDOW:
        c->lamp[0] = case_around(d, 30, 60, 900);
        case_paint(c->lamp_rgb[0], 0.96, 0.99, 1.04, 0.46);
        c->lamp_size_mm[0] = draw_uniform(d, 350, 700);
        case_set_room(c, 1, 0.98, 0.95, 0.10, 0.20);
        break;
    case LIGHT_LAMP:
        c->lamp[0] = case_around(d, 35, 70, draw_uniform(d, 280, 500));
        case_paint(c->lamp_rgb[0], 1.12, 0.92, 0.66, 0.52);
        c->lamp_size_mm[0] = draw_uniform(d, 40, 90);
        case_set_room(c, 1, 0.9, 0.78, 0.05, 0.12);
        break;
    case LIGHT_TWO_LAMPS:
        for (int i = 0; i < 2; i++) {
            c->lamp[i] = case_around(d, 35, 70, draw_uniform(d, 300, 600));
            c->lamp_size_mm[i] = draw_uniform(d, 30, 110);
        }
        case_paint(c->lamp_rgb[0], 1.10, 0.93, 0.72, 0.34);
        case_paint(c->lamp_rgb[1], 0.95, 1.0, 1.05, 0.26);
        case_set_room(c, 1, 0.95, 0.88, 0.06, 0.12);
        break;
    case LIGHT_OVERCAST:
        c->lamp[0] = case_around(d, 55, 80, 1200);
        case_paint(c->lamp_rgb[0], 0.97, 1, 1.04, 0.18);
        c->lamp_size_mm[0] = 1100;
        case_set_room(c, 0.97, 1, 1.04, 0.22, 0.42);
        break;
    case LIGHT_FLASH: /* sits by the lens: placed once the camera is */
        case_paint(c->lamp_rgb[0], 1, 1, 1, 0.42);
        case_set_room(c, 1, 0.9, 0.8, 0.04, 0.10);
        case_add_cause(c, "flash");
        break;
    case LIGHT_DIM:
        c->lamp[0] = case_around(d, 40, 75, draw_uniform(d, 700, 1200));
        case_paint(c->lamp_rgb[0], 1.2, 0.9, 0.55, 0.30);
        c->lamp_size_mm[0] = draw_uniform(d, 60, 200);
        case_set_room(c, 1.1, 0.9, 0.65, 0.06, 0.14);
        case_add_cause(c, "dim");
        break;
    default:
        c->lamp[0] = case_around(d, 12, 22, draw_uniform(d, 250, 500));
        case_paint(c->lamp_rgb[0], 1.08, 0.95, 0.78, 1.1);
        c->lamp_size_mm[0] = draw_uniform(d, 25, 80);
        case_set_room(c, 1, 0.95, 0.88, 0.07, 0.15);
        case_add_cause(c, "raking-light");
    }
}

/* ---- the view ------------------------------------------------------------------------------- */

#define NEAREST_MM 110 /* phones cannot focus nearer */

/* Largest share of the photo's width or height that the card takes up, with a crank's sticker and
 * what must show beyond the butt edge. */
static double card_fill(const struct photo_case *c)
{
    double w = c->card->width_mm / 2, h = c->card->height_mm / 2;
    double low_x = 1e9, high_x = -1e9, low_y = 1e9, high_y = -1e9;
    for (int i = 0; i < (c->crank.sticker ? 8 : 4); i++) {
        double half = i < 4 ? 0 : c->crank.sticker->face.height_mm / 2;
        struct vec3 corner = {i & 1 ? w : -w, i & 2 ? h : -h - c->beyond_mm, 0};
        if (i >= 4)
            corner = case_sticker_to_card(c, i & 1 ? half : -half, i & 2 ? half : -half);
        struct vision_point p = camera_project(&c->camera, corner);
        low_x = fmin(low_x, p.x), high_x = fmax(high_x, p.x);
        low_y = fmin(low_y, p.y), high_y = fmax(high_y, p.y);
    }
    return fmax((high_x - low_x) / c->camera.width_px, (high_y - low_y) / c->camera.height_px);
}

void case_stand_back(struct photo_case *c, struct vec3 toward, struct vec3 at, double roll_deg)
{
    double far = 300;
    for (int i = 0; i < 30; i++) {
        c->camera.position = vec3_add(at, vec3_scale(toward, far));
        camera_aim(&c->camera, at, roll_deg);
        far = fmax(far * card_fill(c) / c->fill, NEAREST_MM);
    }
    c->fill = card_fill(c);
}

void case_place_flash(struct photo_case *c, struct draw *d)
{
    if (c->light == LIGHT_FLASH)
        c->lamp[0] = vec3_add(c->camera.position,
                              vec3_add(vec3_scale(c->camera.right, draw_uniform(d, -9, 9)),
                                       vec3_scale(c->camera.up, draw_uniform(d, 6, 12))));
}

/* The camera of a whole series: drawn from the seed alone, not from the photo's number. Of every
 * third seed the lens is a long one. */
static void use_one_camera(struct photo_case *c, const struct set_options *options)
{
    struct draw d = draw_seeded(options->seed ^ 0x1e45ULL);
    struct camera *camera = &c->camera;
    c->quick = true;
    camera->width_px = 2016;
    camera->height_px = 1512;
    c->orientation = 1;
    c->equivalent_mm = options->seed % 3 == 0 ? 52 : 26;
    camera->focal_px =
        c->equivalent_mm * draw_uniform(&d, 0.99, 1.01) * hypot(2016, 1512) / hypot(36, 24);
    camera->k1 = draw_uniform(&d, 0.045, 0.06) * (draw_chance(&d, 0.5) ? 1 : -1);
    camera->k2 = draw_uniform(&d, -0.01, 0.01);
    c->exif_any = c->exif_focal = true;
}

void case_draw_frame(struct photo_case *c, struct draw *d, bool large)
{
    static const double lenses[] = {26, 26, 28, 24.5, 35, 50, 52};
    struct camera *camera = &c->camera;
    camera->width_px = large ? 4032 : 2016;
    camera->height_px = large ? 3024 : 1512;
    bool portrait = c->index != 0 && draw_chance(d, 0.3);
    c->orientation = 1;
    if (draw_chance(d, 0.35) && c->index != 0)
        c->orientation =
            draw_chance(d, 0.7) ? (int[]){6, 8, 3}[draw_below(d, 3)] : 2 + draw_below(d, 7);
    if (portrait) {
        int swap = camera->width_px;
        camera->width_px = camera->height_px;
        camera->height_px = swap;
    }
    c->equivalent_mm = lenses[draw_below(d, COUNT(lenses))];
    /* 35 mm equivalent by diagonal: CIPA DCG-001; 43.27 mm is the diagonal of 36 x 24 mm. */
    camera->focal_px = c->equivalent_mm * draw_uniform(d, 0.99, 1.01) *
                       hypot(camera->width_px, camera->height_px) / 43.27;
    camera->k1 = draw_chance(d, 0.5) ? draw_uniform(d, -0.06, 0.06) : draw_uniform(d, -0.01, 0.01);
    camera->k2 = draw_uniform(d, -0.01, 0.01);
    if (fabs(camera->k1) > 0.03)
        case_add_cause(c, "distortion");
    c->exif_any = draw_chance(d, 0.8) || c->orientation != 1;
    c->exif_focal = c->exif_any && draw_chance(d, 0.75);
}

static void draw_view(struct photo_case *c, struct draw *d, const struct set_options *options,
                      bool large)
{
    case_draw_frame(c, d, large);
    if (options->lens)
        use_one_camera(c, options);
    double tilt = draw_chance(d, 0.6) ? draw_uniform(d, 0, 18) : draw_uniform(d, 18, 35);
    double toward = draw_uniform(d, 0, 360);
    c->fill = draw_chance(d, 0.8) ? draw_uniform(d, 0.5, 0.9) : draw_uniform(d, 0.3, 0.5);
    c->roll_deg = draw_chance(d, 0.6) ? draw_uniform(d, -15, 15) : draw_uniform(d, -180, 180);
    if (c->index == 0 && !options->lens) {
        tilt = 11, toward = 250, c->fill = 0.74, c->roll_deg = 4;
        c->camera.k1 *= 0.3;
    }
    if (c->negative == NEGATIVE_STEEP)
        tilt = 71, c->fill = 0.6;
    if (c->negative == NEGATIVE_FAR)
        c->fill = 0.055;
    if (tilt > 24)
        case_add_cause(c, "oblique");
    if (options->lens) {
        c->fill = 0.56, c->roll_deg = draw_uniform(d, -8, 8);
        tilt = c->index < CASE_LENS_CARDS ? 27 : draw_uniform(d, 2, 18), toward = 80 * c->index;
    }
    double t = tilt * RAD, a = toward * RAD;
    struct vec3 from = {sin(t) * cos(a), sin(t) * sin(a), cos(t)};
    struct vec3 at = {draw_uniform(d, -0.06, 0.06) * c->card->width_mm,
                      draw_uniform(d, -0.06, 0.06) * c->card->height_mm, 0};
    if (options->lens) { /* off the middle, where lenses bend most */
        double side_x = c->index % 3 - 1, side_y = c->index / 3 % 3 - 1;
        at = (struct vec3){-0.36 * side_x * c->card->width_mm, -0.5 * side_y * c->card->height_mm,
                           0};
    }
    case_stand_back(c, from, at, c->roll_deg);
    if (c->fill < 0.4)
        case_add_cause(c, "small-in-frame");
    case_place_flash(c, d);
}

/* ---- round about ---------------------------------------------------------------------------- */

/* A direction from the card's centre that no arm and no rod points to. */
static double free_side_deg(const struct photo_case *c, struct draw *d)
{
    double best = 0, best_gap = -1;
    for (int tries = 0; tries < 24; tries++) {
        double a = draw_uniform(d, 0, 360), gap = 180;
        for (int i = 0; i < c->shape.arm_count && c->has_part; i++) {
            gap = fmin(gap, fabs(remainder(a - c->shape.arms[i].angle_deg, 360)));
            if (c->links[i].cup)
                gap = fmin(gap, fabs(remainder(a - c->links[i].link_deg, 360)));
        }
        if (gap > best_gap)
            best_gap = gap, best = a;
    }
    return best;
}

/* The point of the card's border in a direction. */
static struct vec3 border(const struct photo_case *c, double angle_deg, double z)
{
    double x = cos(angle_deg * RAD), y = sin(angle_deg * RAD);
    double k = fmin(c->card->width_mm / 2 / fmax(fabs(x), 1e-9),
                    c->card->height_mm / 2 / fmax(fabs(y), 1e-9));
    return (struct vec3){x * k, y * k, z};
}

static double distance_to_arm(const struct photo_case *c, int arm, struct vec3 at)
{
    const struct shape_arm *a = &c->shape.arms[arm];
    double x = at.x - c->hub.x, y = at.y - c->hub.y;
    double s = x * cos(a->angle_deg * RAD) + y * sin(a->angle_deg * RAD);
    double n = -x * sin(a->angle_deg * RAD) + y * cos(a->angle_deg * RAD);
    return hypot(s - fmin(fmax(s, 0), a->reach_mm), n);
}

static bool clear_of_arms(const struct photo_case *c, struct vec3 at, double room_mm)
{
    for (int i = 0; c->has_part && i < c->shape.arm_count; i++)
        if (distance_to_arm(c, i, at) < room_mm)
            return false;
    return true;
}

/* A fingertip reaches in over the border, but touches no arm: 7 mm of finger, 5 mm clear. */
void case_add_finger(struct photo_case *c, struct draw *d)
{
    double side = free_side_deg(c, d), in = draw_uniform(d, 3, 10);
    struct vec3 edge = border(c, side, 0.05), at = edge;
    double length = hypot(edge.x, edge.y);
    for (int tries = 0; tries < 20 && in > 1; tries++) {
        at = (struct vec3){edge.x * (1 - in / length), edge.y * (1 - in / length), edge.z};
        if (clear_of_arms(c, at, 12))
            break;
        in -= 0.5;
    }
    struct item *item = case_add_item(c, ITEM_FINGER, at, side + 180 + draw_uniform(d, -20, 20));
    case_paint(item->colour, 0.88, 0.67, 0.56, draw_uniform(d, 0.55, 1));
    case_add_cause(c, "finger");
}

/* How far the part reaches from the card's centre in a direction. */
static double part_reach(const struct photo_case *c, double angle_deg)
{
    double reach = 0, along = c->hub.x * cos(angle_deg * RAD) + c->hub.y * sin(angle_deg * RAD);
    for (int i = 0; c->has_part && i < c->shape.arm_count; i++)
        reach = fmax(reach, c->shape.arms[i].reach_mm *
                                cos((c->shape.arms[i].angle_deg - angle_deg) * RAD));
    return fmax(reach, c->shape.disc_mm) + along;
}

/* Overlaps the border on one side, hiding markers there. */
void case_add_plate(struct photo_case *c, struct draw *d)
{
    int side = (int)lround(free_side_deg(c, d) / 90) & 3;
    double half = (side & 1 ? c->card->height_mm : c->card->width_mm) / 2;
    double over =
        fmin(c->card->marker_mm * draw_uniform(d, 0.5, 1.3), half - part_reach(c, side * 90) - 3);
    struct vec3 at = {cos(side * 90 * RAD) * (half - over), sin(side * 90 * RAD) * (half - over),
                      draw_uniform(d, 0.1, 2.0)};
    struct item *item =
        case_add_item(c, ITEM_FRAME_PLATE, at, side * 90 + 90 + draw_uniform(d, -4, 4));
    item->size_mm = draw_uniform(d, 16, 30);
    item->size2_mm = draw_below(d, 3);
    if (over > 1)
        case_add_cause(c, "frame-over-border");
}

void case_add_tape(struct photo_case *c, struct draw *d)
{
    double side = free_side_deg(c, d);
    struct item *item =
        case_add_item(c, ITEM_TAPE, border(c, side, 0), side + draw_uniform(d, -25, 25));
    item->size_mm = draw_uniform(d, 14, 22);
    item->size2_mm = draw_uniform(d, 10, 15);
    case_add_cause(c, "tape");
}

/* One thing lying beside the card. Long things lie across the direction outwards, so that they
 * do not reach the card when it lies on the bench too. */
void case_scatter_one(struct photo_case *c, struct draw *d, enum item_kind kind)
{
    static const double colours[][3] = {{0.75, 0.1, 0.1}, {0.1, 0.25, 0.6}, {0.9, 0.6, 0.1},
                                        {0.1, 0.1, 0.1},  {0.2, 0.5, 0.25}, {0.85, 0.85, 0.8}};
    bool small = kind == ITEM_LOOSE_SCREW || kind == ITEM_NUT || kind == ITEM_WASHER;
    double a = draw_uniform(d, 0, 360),
           out = small ? draw_uniform(d, 1.2, 2.0) : draw_uniform(d, 1.3, 2.4);
    struct vec3 at = border(c, a, c->bench_z_mm);
    at.x *= out;
    at.y *= out;
    double turn = small ? draw_uniform(d, 0, 360) : a + 90 + draw_uniform(d, -35, 35);
    if (!small && c->bench_z_mm > -5) {
        double push = (kind == ITEM_SCREWDRIVER ? 30 : 20) / hypot(at.x, at.y);
        at.x *= 1 + push;
        at.y *= 1 + push;
    }
    struct item *item = case_add_item(c, kind, at, turn);
    memcpy(item->colour, colours[draw_below(d, COUNT(colours))], sizeof item->colour);
    item->size_mm = draw_uniform(d, 5, 12);
    item->size2_mm = draw_uniform(d, 0.6, 2.0);
}

void case_scatter(struct photo_case *c, struct draw *d)
{
    static const enum item_kind small[] = {ITEM_LOOSE_SCREW, ITEM_LOOSE_SCREW, ITEM_NUT,
                                           ITEM_WASHER};
    static const struct {
        enum item_kind kind;
        double chance;
    } large[] = {{ITEM_SCREWDRIVER, 0.45},
                 {ITEM_PENCIL, 0.25},
                 {ITEM_HEX_KEY, 0.5},
                 {ITEM_CABLE, 0.5},
                 {ITEM_CABLE, 0.25}};
    int n = 3 + draw_below(d, 6);
    for (int i = 0; i < n; i++)
        case_scatter_one(c, d, small[draw_below(d, COUNT(small))]);
    for (int i = 0; i < COUNT(large); i++)
        if (draw_chance(d, large[i].chance))
            case_scatter_one(c, d, large[i].kind);
}

void case_add_dust(struct photo_case *c, struct draw *d)
{
    if (!draw_chance(d, 0.7))
        return;
    struct item *item = case_add_item(c, ITEM_DUST, (struct vec3){0, 0, 0}, 0);
    item->size_mm = draw_uniform(d, 20, 120);
    item->size2_mm = draw_below(d, 10000);
}

void case_draw_bench(struct photo_case *c, struct draw *d)
{
    c->bench = draw_below(d, 8);
    c->bench_turn_deg = draw_uniform(d, 0, 360);
    double pick = draw_uniform(d, 0, 1);
    bool servo = c->cut && c->has_part;
    c->bench_z_mm = servo        ? -38 - c->card_thick_mm
                    : pick < 0.6 ? -c->card_thick_mm - 0.05
                                 : -draw_uniform(d, 3, 20);
    if (c->reference == VISION_REFERENCE_EDGE)
        c->bench_z_mm = fmin(c->bench_z_mm, -18);
    if (servo) {
        struct item *item = case_add_item(
            c, ITEM_SERVO,
            (struct vec3){c->hub.x, c->hub.y, -c->card_thick_mm - draw_uniform(d, 0.05, 0.8)},
            90 * draw_below(d, 4) + draw_uniform(d, -3, 3));
        item->size_mm = draw_below(d, 3);
        item->size2_mm = c->card->height_mm < 50 ? 12 : 20;
    }
    case_scatter(c, d);
    case_add_dust(c, d);
}

static void draw_cover(struct photo_case *c, struct draw *d)
{
    double pick = draw_uniform(d, 0, 1);
    if (pick < 0.2)
        case_add_finger(c, d);
    else if (pick < 0.36)
        case_add_plate(c, d);
    else if (pick < 0.5)
        case_add_tape(c, d);
}

/* ---- the reference -------------------------------------------------------------------------- */

static struct vision_point roughly(const struct photo_case *c, struct draw *d, struct vec3 at)
{
    struct vision_point p = camera_project(&c->camera, at);
    double miss = c->camera.width_px * 0.006;
    return (struct vision_point){p.x + draw_uniform(d, -miss, miss),
                                 p.y + draw_uniform(d, -miss, miss)};
}

/* A block with a straight edge lies under the card's butt edge and beyond, a little turned. */
void case_refer_to_edge(struct photo_case *c, struct draw *d)
{
    double turn = draw_uniform(d, -5, 5), out = c->card->height_mm / 2 + draw_uniform(d, 4, 9);
    double length = c->card->width_mm * 0.9, z = -c->card_thick_mm - 0.05;
    struct item *item = case_add_item(c, ITEM_EDGE_BLOCK, (struct vec3){0, -out, z}, turn);
    item->size_mm = length;
    item->size2_mm = 16;
    c->reference = VISION_REFERENCE_EDGE;
    c->reference_deg = turn;
    double reach = length * 0.4;
    for (int i = 0; i < 2; i++) {
        double s = i ? reach : -reach;
        c->reference_ends[i] = (struct vec3){s * cos(turn * RAD), -out + s * sin(turn * RAD), z};
        c->hint_px[i] = roughly(c, d, c->reference_ends[i]);
    }
    case_add_cause(c, "edge-reference");
}

void case_refer_to_link(struct photo_case *c, struct draw *d)
{
    for (int i = 0; i < c->shape.arm_count; i++) {
        const struct ball_link *link = &c->links[i];
        if (!link->cup)
            continue;
        const struct shape_arm *arm = &c->shape.arms[i];
        struct vec3 ball = {link->at_mm * cos(arm->angle_deg * RAD),
                            link->at_mm * sin(arm->angle_deg * RAD), link->ball_z_mm};
        struct vec3 along = {cos(link->link_deg * RAD), sin(link->link_deg * RAD), 0};
        c->reference = VISION_REFERENCE_LINK;
        c->reference_deg = link->link_deg;
        for (int e = 0; e < 2; e++) {
            c->reference_ends[e] =
                case_part_to_card(c, vec3_add(ball, vec3_scale(along, e ? 40 : 10)));
            c->hint_px[e] = roughly(c, d, c->reference_ends[e]);
        }
        case_add_cause(c, "link-reference");
        return;
    }
}

/* ---- the development ------------------------------------------------------------------------ */

void case_draw_development(struct photo_case *c, struct draw *d, bool large)
{
    c->soft_px = draw_uniform(d, 0.45, 0.75) * (large ? 1.3 : 1);
    double pick = draw_uniform(d, 0, 1), scale = large ? 2 : 1;
    if (c->index != 0 && pick < 0.14) {
        c->defocus_px = draw_uniform(d, 1.2, 3.2) * scale;
        case_add_cause(c, "defocus");
    } else if (c->index != 0 && pick < 0.24) {
        c->motion_px = draw_uniform(d, 2, 6) * scale;
        c->motion_deg = draw_uniform(d, 0, 180);
        case_add_cause(c, "motion");
    }
    c->noise = c->light == LIGHT_DIM ? draw_uniform(d, 2.0, 4.0) : draw_uniform(d, 0.4, 1.6);
    c->stops = draw_uniform(d, -0.45, 0.25) - (c->light == LIGHT_DIM ? 0.5 : 0);
    c->white_balance = draw_uniform(d, 0.65, 1.05);
    c->sharpen = draw_chance(d, 0.5) ? draw_uniform(d, 0.2, 0.7) : 0;
    c->tone = draw_chance(d, 0.6) ? draw_uniform(d, 0.05, 0.35) : 0;
    c->quality = large ? 82 + draw_below(d, 5) : 82 + draw_below(d, 12);
    c->full_chroma = draw_chance(d, 0.12);
}

/* ---- whole cases ---------------------------------------------------------------------------- */

static void cover_all_but_one_marker(struct photo_case *c)
{
    double w = c->card->width_mm, h = c->card->height_mm;
    double block = c->card->marker_mm * 1.25 + 3;
    struct item *item = case_add_item(c, ITEM_PAPER, (struct vec3){0, h / 2 - block / 2, 0.1}, 2);
    item->size_mm = w + 20, item->size2_mm = block + 6;
    item = case_add_item(c, ITEM_PAPER, (struct vec3){w / 2 - block / 2 + 2, 0, 0.25}, 91);
    item->size_mm = h + 30, item->size2_mm = block + 6;
    item = case_add_item(c, ITEM_PAPER, (struct vec3){w * 0.22, -h / 2 + block / 2, 0.4}, -3);
    item->size_mm = w * 0.8, item->size2_mm = block + 6;
}

static void make_negative(struct photo_case *c, struct draw *d)
{
    switch (c->negative) {
    case NEGATIVE_NO_CARD_NO_PART:
    case NEGATIVE_NO_PART:
        c->has_part = false;
        break;
    case NEGATIVE_BLURRED:
        c->defocus_px = 26;
        break;
    case NEGATIVE_HIDDEN_MARKERS:
        cover_all_but_one_marker(c);
        break;
    case NEGATIVE_WASHER:
        c->shape = (struct shape){.thick_mm = 1.6,
                                  .edge_mm = 0.3,
                                  .hub_mm = 7.5,
                                  .blend_mm = 1,
                                  .boss_mm = 3.6,
                                  .boss_up_mm = 0.4,
                                  .boss_down_mm = 1,
                                  .bore_mm = 2.6,
                                  .bore_deep_mm = 9};
        memset(c->links, 0, sizeof c->links);
        c->screw_mm = 0;
        break;
    case NEGATIVE_BLOB:
        c->has_part = false;
        case_add_item(c, ITEM_BLOB, (struct vec3){2, -1, 0}, draw_uniform(d, 0, 360))->size_mm = 8;
        break;
    case NEGATIVE_CABLE: {
        c->has_part = false;
        struct item *item = case_add_item(c, ITEM_CABLE, (struct vec3){0, 2, 0.1}, 12);
        case_paint(item->colour, 0.12, 0.12, 0.13, 1);
        item->size_mm = 150, item->size2_mm = 1.4;
        break;
    }
    case NEGATIVE_DARK:
        c->stops = -7.5, c->noise = 6;
        break;
    case NEGATIVE_BURNT:
        c->stops = 4.5;
        break;
    default:
        break;
    }
}

void case_name(struct photo_case *c, const struct set_options *options)
{
    static const char *const negatives[NEGATIVE_COUNT] = {
        "",          "no-card",        "bench-only",   "no-part",       "far",
        "blurred",   "hidden-markers", "washer",       "blob",          "cable",
        "dark",      "burnt",          "steep",        "mixed-cards",   "screwdriver",
        "hand",      "knob",           "cable-washer", "printed-paper", "face-down",
        "two-parts", "elsewhere",      "cut-off",      "pencil"};
    const char *set = options->fresh ? "fresh" : c->kept ? "kept" : "tune";
    char finish[24];
    snprintf(finish, sizeof finish, "%s", c->finish);
    for (char *p = finish; *p; p++)
        if (*p == '_')
            *p = '-';
    if (c->index == 0 && !options->fresh)
        snprintf(c->name, sizeof c->name, "dunlin-rudder");
    else if (c->negative)
        snprintf(c->name, sizeof c->name, "%s-%02d-%s", set, c->index, negatives[c->negative]);
    else
        snprintf(c->name, sizeof c->name, "%s-%02d-%s-%s", set, c->index, c->design, finish);
}

static void choose_subject(struct photo_case *c, struct draw *d, const struct set_options *options)
{
    /* The standing set steps through designs, finishes and lights with steps that share no
     * factor with each other's counts or with three, so that every third photo (the kept ones)
     * meets them all. */
    int i = c->index;
    const char *design = designs[i * 4 % COUNT(designs)];
    const char *finish = finishes[i * 8 % COUNT(finishes)];
    c->light = (enum light_kind)((i * 3 + i / 7) % FIRST_LIGHTS);
    if (options->fresh) {
        design = designs[draw_below(d, COUNT(designs))];
        finish = finishes[draw_below(d, COUNT(finishes))];
        c->light = (enum light_kind)draw_below(d, FIRST_LIGHTS);
        static const enum light_kind hard_lights[] = {LIGHT_RAKING, LIGHT_FLASH, LIGHT_LAMP,
                                                      LIGHT_DIM};
        if (options->hard)
            c->light = hard_lights[draw_below(d, COUNT(hard_lights))];
        if (options->hard && draw_chance(d, 0.6))
            finish = hard_finishes[draw_below(d, COUNT(hard_finishes))];
    } else if (i >= GOOD_COUNT) {
        c->negative = (enum negative)(1 + (i - GOOD_COUNT) % FIRST_NEGATIVES);
        c->light = LIGHT_WINDOW;
    }
    if (options->lens) {
        c->light = i < CASE_LENS_CARDS ? LIGHT_OVERCAST : LIGHT_WINDOW;
        c->negative = i < CASE_LENS_CARDS ? NEGATIVE_NO_PART : NEGATIVE_NONE;
        finish = i % 2 ? "black_matt" : "red";
    } else if (options->fresh && draw_chance(d, 0.12))
        c->negative = (enum negative)(1 + draw_below(d, FIRST_NEGATIVES));
    snprintf(c->design, sizeof c->design, "%s", design);
    snprintf(c->finish, sizeof c->finish, "%s", finish);
}

static void make_example(struct photo_case *c)
{
    snprintf(c->design, sizeof c->design, "double");
    snprintf(c->finish, sizeof c->finish, "black_matt");
    c->light = LIGHT_WINDOW;
    c->bench = 0;
}

static void settle_example(struct photo_case *c)
{
    c->cut = true;
    c->shape.arms[0].reach_mm = c->shape.arms[1].reach_mm = 18.5;
    for (int i = 0; i < 2; i++) {
        struct shape_arm *arm = &c->shape.arms[i];
        double grow = 18.5 - arm->tip_mm - arm->hole_at_mm[0];
        for (int h = 0; h < arm->hole_count; h++)
            arm->hole_at_mm[h] += grow;
        c->links[i].at_mm = arm->hole_at_mm[0];
    }
    c->shape.arms[0].angle_deg = 97.3; /* half of a 25th: arm B, 12 teeth on, is square */
    c->shape.arms[1].angle_deg = 277.1;
    c->tilt_deg = 0.05;
    case_orient_part(c);
}

/* The first part of the standing set, and photos drawn like it. */
static void draw_first(struct photo_case *c, const struct set_options *options)
{
    c->kept = c->index % 3 == 2;
    struct draw d = draw_seeded(c->seed);
    bool large = !options->fresh && c->index > 0 && c->index < 48 && c->index % 8 == 5;
    choose_subject(c, &d, options);
    bool example = c->index == 0 && !options->fresh;
    if (example)
        make_example(c);
    draw_card(c, &d, options);
    case_mix_plastic(c, &d);
    draw_part(c, &d);
    if (example)
        settle_example(c);
    case_draw_light(c, &d);
    if (large || options->lens) /* small bright lamps only: soft shadows cost most of the time */
        c->lamp_size_mm[0] = c->lamp_size_mm[1] = 1;
    draw_view(c, &d, options, large);
    if (!c->negative && c->index % 11 == 7)
        case_refer_to_edge(c, &d);
    else if (!c->negative && !example && draw_chance(&d, 0.35))
        case_refer_to_link(c, &d);
    case_draw_bench(c, &d);
    if (example)
        c->bench = 0;
    else if (!c->negative)
        draw_cover(c, &d);
    case_draw_development(c, &d, large);
    if (c->negative)
        make_negative(c, &d);
    if (strcmp(c->design, "disc") == 0 && !c->negative)
        case_add_cause(c, "disc");
    case_name(c, options);
}

/* The same photo in more pixels. What the lens blurs grows with them; a phone's sharpness at 12
 * megapixels is somewhat worse by the pixel. */
static void enlarge(struct photo_case *c)
{
    const double softer = 1.3, by = 4032.0 / fmax(c->camera.width_px, c->camera.height_px);
    c->camera.width_px = (int)lround(c->camera.width_px * by);
    c->camera.height_px = (int)lround(c->camera.height_px * by);
    c->camera.focal_px *= by;
    c->soft_px *= softer;
    c->defocus_px *= by;
    c->motion_px *= by;
    c->depth_blur_px *= by;
    for (int i = 0; i < 2; i++) {
        c->hint_px[i].x *= by;
        c->hint_px[i].y *= by;
    }
}

void case_draw(struct photo_case *c, int index, const struct set_options *options)
{
    memset(c, 0, sizeof *c);
    c->index = index;
    c->seed = options->seed * 1000003u + (uint64_t)index * 7919u;
    c->fresh = options->fresh;
    if (options->stickers)
        case_draw_sticker(c, index, options);
    else if (options->butted)
        case_draw_butted(c, index, options);
    else if (options->fresh ? options->second : index >= FIRST_COUNT)
        case_draw_second(c, options->fresh ? index : index - FIRST_COUNT, options);
    else
        draw_first(c, options);
    if (options->large)
        enlarge(c);
}
