/* Series of horns that reach over the butt edge: the card lies beside the servo, its dark edge
 * against the case. The hub stands beyond that edge, off the card, and an arm reaches out over the
 * edge onto the tints. One in ten photos shows something else there, and no horn. */
#include "case_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define RAD (3.14159265358979323846 / 180)
#define COUNT(a) ((int)(sizeof(a) / sizeof(a)[0]))

#define MOST_OBLIQUE_DEG 30
/* Shares of an arm's length that are seen before the card. Arms between the two are not drawn:
 * whether they should be told would be a matter of taste. */
#define SHARE_TOLD 0.4
#define SHARE_UNTOLD 0.15

/* Photos take these by turns. The counts are odd and have no factor in common, so that both sets,
 * which alternate too, meet everything. */
static const struct {
    const char *design, *outline; /* outline: NULL as drawn */
} horns[] = {{"single", NULL},      {"double", NULL},     {"single", "slotted"}, {"cross", NULL},
             {"single", "paddle"},  {"double", NULL},     {"three", NULL},       {"tail", NULL},
             {"double", "slotted"}, {"double", "paddle"}, {"single", NULL}};
static const char *const finishes[] = {
    "black_matt", "white",      "natural", "grey",   "black_gloss", "silver",
    "red",        "black_matt", "printed", "carbon", "white",       "blue",
    "brushed",    "black_matt", "tint_b",  "gold",   "tint_a"};
static const enum light_kind lights[] = {
    LIGHT_WINDOW,    LIGHT_CEILING, LIGHT_LAMP,  LIGHT_OVERCAST, LIGHT_RAKING,
    LIGHT_TWO_LAMPS, LIGHT_WINDOW,  LIGHT_FLASH, LIGHT_CEILING,  LIGHT_SUN,
    LIGHT_OVERCAST,  LIGHT_DIM,     LIGHT_LAMP};

/* Cards, and half the width of the servos that people hold them to. */
static const struct {
    const char *size;
    double half_low_mm, half_high_mm;
} cards[] = {{"hand", 5.2, 12}, {"frame", 4.5, 9}, {"hand", 5.2, 12}, {"long", 8, 12},
             {"hand", 5.2, 12}, {"mini", 4, 7},    {"frame", 4.5, 9}};

/* ---- the card ------------------------------------------------------------------------------- */

/* Beside the servo nothing needs the slot, but some cards have it cut from another use. */
static void lay_card(struct photo_case *c, struct draw *d, const char *size,
                     const struct set_options *options)
{
    static const char *const tints[] = {"duo", "duo", "duo", "duo", "green", "pink"};
    const char *tint = tints[draw_below(d, COUNT(tints))];
    char name[32];
    snprintf(name, sizeof name, "%s-%s", size, options->tint ? options->tint : tint);
    c->card = vision_card_by_name(name);
    c->cut = draw_chance(d, 0.2);
    c->card_thick_mm = draw_uniform(d, 0.22, 0.35);
    c->sheen = draw_uniform(d, 0, 0.06);
    c->ink_black = draw_uniform(d, 0.03, 0.06);
    c->ink_fade = draw_uniform(d, 0, 0.2);
    for (int t = 0; t < 2; t++)
        for (int k = 0; k < 3; k++)
            c->ink_tone[t][k] = draw_uniform(d, 0.92, 1.06);
    if (!c->cut && draw_chance(d, 0.12)) {
        double half = c->card->width_mm / 2;
        c->bend_per_mm = draw_uniform(d, 0.1, 0.5) / (half * half);
        c->bend_deg = draw_uniform(d, 80, 100);
        case_add_cause(c, "bent-card");
    }
}

/* ---- horn and servo ------------------------------------------------------------------------- */

/* Arms that are alike get another length and stay alike; their holes stay where they are as seen
 * from the tip. */
static void stretch_arms(struct shape *shape, double reach_mm)
{
    for (int i = 0; i < shape->arm_count; i++) {
        struct shape_arm *arm = &shape->arms[i];
        double grow = reach_mm - arm->reach_mm;
        arm->reach_mm = reach_mm;
        for (int h = 0; h < arm->hole_count; h++)
            arm->hole_at_mm[h] += grow;
        while (arm->hole_count > 1 && arm->hole_at_mm[arm->hole_count - 1] < shape->hub_mm + 1.5)
            arm->hole_count--;
    }
}

/* Long enough to lie over the card, and not so long that it reaches the far row of markers. */
static double draw_reach(const struct photo_case *c, struct draw *d, double angle_deg)
{
    double rise = sin(angle_deg * RAD), half = c->servo.half_mm;
    double deepest = c->card->height_mm - 1.25 * c->card->marker_mm - 4;
    double low = fmax(fmax(14, 3.2 * c->shape.hub_mm), half / ((1 - SHARE_TOLD) * rise) + 0.5);
    double high = fmax(fmin(35, (half + deepest) / rise), low);
    return draw_uniform(d, strcmp(c->design, "tail") == 0 ? (low + high) / 2 : low, high);
}

/* The first arm reaches over the card. */
static void draw_horn(struct photo_case *c, struct draw *d, int kind)
{
    double angle = 90 + draw_uniform(d, -35, 35);
    snprintf(c->design, sizeof c->design, "%s", horns[kind].design);
    case_draw_shape(c, d);
    double turn = angle - c->shape.arms[0].angle_deg, slim = draw_uniform(d, 0.75, 0.9);
    stretch_arms(&c->shape, draw_reach(c, d, angle));
    for (int i = 0; i < c->shape.arm_count; i++) {
        c->shape.arms[i].angle_deg += turn;
        if (strcmp(c->design, "tail") == 0)
            c->shape.arms[i].root_mm =
                fmax(slim * c->shape.arms[i].root_mm, c->shape.arms[i].tip_mm);
    }
    if (horns[kind].outline)
        case_reshape(c, d, horns[kind].outline);
    c->has_part = true;
    c->screw_drive = draw_below(d, 3);
    c->screw_turn_deg = draw_uniform(d, 0, 180);
    if (draw_chance(d, 0.15))
        c->screw_mm = 0;
}

static void draw_servo(struct photo_case *c, struct draw *d, int card)
{
    struct butted_servo *servo = &c->servo;
    double half_mm = draw_uniform(d, cards[card].half_low_mm, cards[card].half_high_mm);
    servo->there = true;
    servo->half_mm = half_mm;
    servo->length_mm = half_mm * draw_uniform(d, 3.8, 4.4);
    servo->depth_mm = 10 + 2.2 * half_mm;
    servo->lug_mm = 4 + 0.5 * half_mm;
    servo->end_on = draw_chance(d, 0.25);
    servo->turn_deg = draw_chance(d, 0.5) ? 0 : 180;
    servo->turn_deg = servo->end_on ? 90 : servo->turn_deg;
    servo->material = draw_below(d, 3);
    servo->mounted = draw_chance(d, 0.45);
    servo->block = draw_chance(d, 0.6) && !servo->mounted;
}

/* The horn turns 1 to 8 mm above the case and less than 10 mm before the card. */
static void place_horn(struct photo_case *c, struct draw *d)
{
    struct butted_servo *servo = &c->servo;
    const struct shape *shape = &c->shape;
    double gap = draw_uniform(d, fmax(1, shape->boss_down_mm + 0.4), 8);
    double aside = c->card->width_mm * (draw_chance(d, 0.5) ? 0.1 : 0.32);
    servo->top_mm = draw_uniform(d, 0.1, fmin(fmin(4.5, servo->lug_mm - 2), 10 - gap));
    servo->boss_mm = fmin(servo->half_mm - 0.4, shape->boss_mm * draw_uniform(d, 0.95, 1.4));
    servo->boss_up_mm = (gap - shape->boss_down_mm) * draw_uniform(d, 0.5, 0.95);
    servo->shaft_up_mm = gap + shape->thick_mm / 2;
    c->hub = (struct vec3){draw_uniform(d, -aside, aside), -c->card->height_mm / 2 - servo->half_mm,
                           servo->top_mm + gap + shape->thick_mm / 2};
    c->beyond_mm = servo->half_mm + shape->hub_mm + 1;
    c->tilt_deg = draw_chance(d, 0.1) ? draw_uniform(d, 0.5, 1.2) : draw_uniform(d, 0, 0.15);
    c->tilt_toward_deg = draw_uniform(d, 0, 360);
    if (c->tilt_deg > 0.3)
        case_add_cause(c, "tilted-card");
    case_orient_part(c);
}

/* ---- the view ------------------------------------------------------------------------------- */

static void look(struct photo_case *c, struct draw *d)
{
    double tilt = draw_uniform(d, 0, MOST_OBLIQUE_DEG) * RAD,
           toward = draw_uniform(d, 0, 360) * RAD;
    struct vec3 from = {sin(tilt) * cos(toward), sin(tilt) * sin(toward), cos(tilt)};
    struct vec3 at = {draw_uniform(d, -0.04, 0.04) * c->card->width_mm,
                      draw_uniform(d, -0.04, 0.04) * c->card->height_mm - c->beyond_mm / 2, 0};
    c->fill = draw_uniform(d, 0.65, 0.94);
    c->roll_deg = draw_chance(d, 0.7) ? draw_uniform(d, -15, 15) : draw_uniform(d, -180, 180);
    case_stand_back(c, from, at, c->roll_deg);
}

/* The point of the card that a point before it hides. */
static struct vision_point hidden_by(const struct photo_case *c, struct vec3 at)
{
    struct vec3 eye = c->camera.position;
    double k = eye.z / (eye.z - at.z);
    return (struct vision_point){eye.x + k * (at.x - eye.x), eye.y + k * (at.y - eye.y)};
}

/* A point of an arm: from the hub along it, and to its left. */
static struct vec3 on_arm(const struct photo_case *c, int arm, double along_mm, double left_mm)
{
    double a = c->shape.arms[arm].angle_deg * RAD;
    return case_part_to_card(c, (struct vec3){along_mm * cos(a) - left_mm * sin(a),
                                              along_mm * sin(a) + left_mm * cos(a), 0});
}

/* How much of an arm's length is seen before the card. */
static double share_before_card(const struct photo_case *c, int arm)
{
    enum { STEPS = 200 };
    int before = 0;
    for (int i = 0; i < STEPS; i++) {
        double along = c->shape.arms[arm].reach_mm * (i + 0.5) / STEPS;
        struct vision_point p = hidden_by(c, on_arm(c, arm, along, 0));
        before += fabs(p.x) < c->card->width_mm / 2 && fabs(p.y) < c->card->height_mm / 2;
    }
    return (double)before / STEPS;
}

static bool is_tinted(const struct photo_case *c, struct vision_point p)
{
    enum vision_print print = vision_card_print_at(c->card, p);
    bool in_slot =
        c->cut && p.x < c->card->slot_half_width_mm && fabs(p.y) < c->card->slot_half_width_mm;
    return (print == VISION_PRINT_TINT_A || print == VISION_PRINT_TINT_B) && !in_slot;
}

static bool tip_before_tint(const struct photo_case *c, int arm)
{
    static const double round[5][2] = {{0, 0}, {1, 0}, {-1, 0}, {0, 1}, {0, -1}};
    double tip = c->shape.arms[arm].tip_mm, middle = c->shape.arms[arm].reach_mm - tip;
    for (int i = 0; i < 5; i++) {
        struct vec3 at = on_arm(c, arm, middle + tip * round[i][0], tip * round[i][1]);
        if (!is_tinted(c, hidden_by(c, at)))
            return false;
    }
    return camera_shows(&c->camera, on_arm(c, arm, middle + tip, 0));
}

/* Whether `wanted` arms can be told and the others clearly cannot, as people hold a card and a
 * camera. */
static bool shows_arms(struct photo_case *c, int wanted)
{
    int told = 0;
    for (int i = 0; i < c->shape.arm_count; i++) {
        double share = share_before_card(c, i);
        bool tells = share >= SHARE_TOLD && tip_before_tint(c, i);
        if (!tells && share > SHARE_UNTOLD)
            return false;
        c->off_card[i] = !tells;
        told += tells;
    }
    return told == wanted && camera_shows(&c->camera, c->hub) &&
           camera_obliquity_deg(&c->camera) <= MOST_OBLIQUE_DEG;
}

/* Draws servo, horn, place and view until an arm lies over the card as it should. */
static void draw_placement(struct photo_case *c, struct draw *d, int kind, int card)
{
    const struct photo_case before = *c;
    bool many =
        strcmp(horns[kind].design, "three") == 0 || strcmp(horns[kind].design, "cross") == 0;
    int wanted = draw_chance(d, 0.2) && many ? 2 : 1;
    for (int tries = 0; tries < 5000; tries++) {
        if (tries > 2000) /* on some cards hardly any horn reaches over with two arms */
            wanted = 1;
        *c = before;
        draw_servo(c, d, card);
        draw_horn(c, d, kind);
        place_horn(c, d);
        look(c, d);
        if (shows_arms(c, wanted))
            break;
    }
    case_place_flash(c, d);
    if (camera_obliquity_deg(&c->camera) > 24)
        case_add_cause(c, "oblique");
    if (wanted > 1)
        case_add_cause(c, "two-arms-told");
}

/* A third of the horns have a ball at the tip, half of these a link on it. */
static void draw_ball(struct photo_case *c, struct draw *d)
{
    if (!draw_chance(d, 1.0 / 3))
        return;
    struct ball_link *link = &c->links[0];
    case_draw_link(c, d, 0);
    link->cup = draw_chance(d, 0.5);
    if (link->ball_below && c->hub.z + link->ball_z_mm < link->ball_mm + 0.3) {
        link->ball_below = false; /* no room before the card */
        link->ball_z_mm = -link->ball_z_mm;
    }
    case_add_cause(c, link->cup ? "link" : link->ball_below ? "ball-below" : "ball");
}

/* ---- round about ---------------------------------------------------------------------------- */

/* Whether a point of the bench is taken: by the case, or by what carries the card. */
static bool is_taken(const struct photo_case *c, double x, double y, double room_mm)
{
    const struct butted_servo *servo = &c->servo;
    double k = cos(servo->turn_deg * RAD), s = sin(servo->turn_deg * RAD);
    double dx = x - c->hub.x, dy = y - c->hub.y, along = k * dx + s * dy, across = k * dy - s * dx;
    bool in_case = along < servo->half_mm + room_mm &&
                   along > servo->half_mm - servo->length_mm - room_mm &&
                   fabs(across) < servo->half_mm + room_mm;
    return in_case || (servo->block && fabs(x) < c->card->width_mm / 2 + room_mm &&
                       fabs(y) < c->card->height_mm / 2 + room_mm);
}

/* Whether a thing would lie inside of those; long ones reach 105 mm both ways. */
static bool is_in_the_way(const struct photo_case *c, const struct item *item)
{
    bool small =
        item->kind == ITEM_LOOSE_SCREW || item->kind == ITEM_NUT || item->kind == ITEM_WASHER;
    double half = small ? item->size_mm : 105, room = small ? 3 : 13;
    double k = cos(item->turn_deg * RAD), s = sin(item->turn_deg * RAD);
    enum { STEPS = 70 };
    for (int i = 0; i <= STEPS; i++) {
        double along = half * (2.0 * i / STEPS - 1);
        if (is_taken(c, item->at.x + k * along, item->at.y + s * along, room))
            return true;
    }
    return false;
}

static void lay_bench(struct photo_case *c, struct draw *d)
{
    double lower = draw_uniform(d, 14, 30);
    c->bench = draw_below(d, 8);
    c->bench_turn_deg = draw_uniform(d, 0, 360);
    c->bench_z_mm = c->servo.there
                        ? c->servo.top_mm - c->servo.depth_mm - (c->servo.mounted ? lower : 0)
                        : -c->card_thick_mm - 0.05;
    case_scatter(c, d);
    int kept = 0;
    for (int i = 0; i < c->item_count && c->servo.there; i++)
        if (!is_in_the_way(c, &c->items[i]))
            c->items[kept++] = c->items[i];
    c->item_count = c->servo.there ? kept : c->item_count;
    if (c->card->width_mm > 80) /* dust lies where such a card is */
        case_add_dust(c, d);
}

/* A finger holds the card at its far border, clear of the tip. */
static void add_holding_finger(struct photo_case *c, struct draw *d)
{
    double tip = on_arm(c, 0, c->shape.arms[0].reach_mm, 0).x, in = draw_uniform(d, 2, 7);
    double x = tip + (tip > 0 ? -1 : 1) * draw_uniform(d, 16, 22);
    struct item *item =
        case_add_item(c, ITEM_FINGER, (struct vec3){x, c->card->height_mm / 2 - in, 0.05},
                      270 + draw_uniform(d, -20, 20));
    case_paint(item->colour, 0.88, 0.67, 0.56, draw_uniform(d, 0.55, 1));
    case_add_cause(c, "finger");
}

/* ---- what is not to be measured ------------------------------------------------------------- */

/* Lays a thing so that it comes over the butt edge beside the bare shaft, leaning away from it;
 * `tip_mm` of it lies beyond its origin, `over_mm` of that over the card. */
static struct item *lay_over_edge(struct photo_case *c, struct draw *d, enum item_kind kind,
                                  double tip_mm, double over_mm)
{
    double turn = 90 + draw_uniform(d, -35, 35), back = tip_mm - over_mm;
    double side = turn < 90 ? 1 : -1, clear = c->servo.boss_mm + draw_uniform(d, 8, 12);
    double x = c->servo.there ? c->hub.x - side * clear : c->hub.x;
    struct vec3 at = {x - back * cos(turn * RAD), -c->card->height_mm / 2 - back * sin(turn * RAD),
                      c->servo.there ? c->servo.top_mm + 0.05 : 0.05};
    return case_add_item(c, kind, at, turn);
}

static void lay_negative(struct photo_case *c, struct draw *d)
{
    static const double colours[][3] = {{0.75, 0.1, 0.1}, {0.1, 0.25, 0.6}, {0.12, 0.12, 0.13}};
    const double *colour = colours[draw_below(d, COUNT(colours))];
    double over = draw_uniform(d, 0.35, 0.65) * c->card->height_mm;
    struct item *item;
    switch (c->negative) {
    case NEGATIVE_SCREWDRIVER: /* its shank is thinner than its handle and does not touch */
        item = lay_over_edge(c, d, ITEM_SCREWDRIVER, 103, over);
        item->at.z = fmax(item->at.z - 1, 0.05);
        break;
    case NEGATIVE_PENCIL:
        item = lay_over_edge(c, d, ITEM_PENCIL, 80, over);
        break;
    default: /* reaches 75 mm both ways */
        item = lay_over_edge(c, d, ITEM_CABLE, 75, over + draw_uniform(d, 0, 30));
        item->size_mm = 150, item->size2_mm = draw_uniform(d, 0.9, 1.6);
    }
    case_paint(item->colour, colour[0], colour[1], colour[2], 1);
}

/* One photo in ten, by turns of either set; in half of them the horn is off the shaft, in the
 * others there is no servo at all. */
static enum negative choose_negative(int index)
{
    static const enum negative kinds[] = {NEGATIVE_SCREWDRIVER, NEGATIVE_PENCIL, NEGATIVE_CABLE};
    int ten = index / 10;
    return index % 10 == (ten % 2 ? 7 : 4) ? kinds[ten % COUNT(kinds)] : NEGATIVE_NONE;
}

static void take_horn_off(struct photo_case *c, struct draw *d)
{
    c->has_part = false;
    memset(c->off_card, 0, sizeof c->off_card);
    c->servo.there = c->index / 10 % 4 < 2;
    c->servo.top_mm = fmin(c->servo.top_mm, draw_uniform(d, 0.3, 2));
    c->servo.shaft_up_mm = c->servo.boss_up_mm + 3;
}

/* ---- whole cases ---------------------------------------------------------------------------- */

void case_draw_butted(struct photo_case *c, int index, const struct set_options *options)
{
    struct draw d = draw_seeded(c->seed + 0xb077);
    int kind = index % COUNT(horns), card = draw_below(&d, COUNT(cards));
    c->index = index + 1; /* 0 would be the example of the standing set */
    c->kept = index % 2 == 1;
    c->negative = choose_negative(index);
    c->light = lights[index % COUNT(lights)];
    snprintf(c->finish, sizeof c->finish, "%s", finishes[index % COUNT(finishes)]);
    lay_card(c, &d, cards[card].size, options);
    case_mix_plastic(c, &d);
    case_draw_any_light(c, &d);
    case_draw_frame(c, &d, false);
    draw_placement(c, &d, kind, card);
    draw_ball(c, &d);
    if (c->negative)
        take_horn_off(c, &d);
    lay_bench(c, &d);
    if (c->negative)
        lay_negative(c, &d);
    else if (draw_chance(&d, 0.1))
        add_holding_finger(c, &d);
    case_draw_development(c, &d, false);
    case_add_cause(c, "butted");
    case_name(c, options);
}
