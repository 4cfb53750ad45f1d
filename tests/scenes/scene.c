#include "scene.h"

#include <math.h>
#include <string.h>

#define RAD (3.14159265358979323846 / 180)

int scene_margin_px(const struct photo_case *c)
{
    const struct camera *camera = &c->camera;
    double most = 0;
    for (int i = 0; i < 8; i++) {
        /* Corners and mid-sides: barrel distortion reaches furthest at a corner, pincushion
         * nowhere beyond the photo. */
        struct vision_point edge = {(i & 1) * (camera->width_px - 1),
                                    (i >> 1 & 1) * (camera->height_px - 1)};
        if (i >= 4)
            edge = (struct vision_point){i < 6 ? edge.x : (camera->width_px - 1) / 2.0,
                                         i < 6 ? (camera->height_px - 1) / 2.0 : edge.y};
        struct vision_point p = camera_undistort(camera, edge);
        most = fmax(most, fmax(fabs(p.x - edge.x), fabs(p.y - edge.y)));
    }
    double blur = c->soft_px * 4 + c->defocus_px * 2 + c->motion_px;
    if (c->depth_blur_px > 0)
        blur += 12;
    return (int)ceil(most + blur) + 6;
}

static void put_vec(FILE *to, struct vec3 v)
{
    fprintf(to, "<%.9g, %.9g, %.9g>", v.x, v.y, v.z);
}

void scene_write_camera(const struct photo_case *c, FILE *to)
{
    const struct camera *camera = &c->camera;
    int margin = scene_margin_px(c);
    fputs("camera { perspective location ", to);
    put_vec(to, camera->position);
    fputs(" direction ", to);
    put_vec(to, camera->forward);
    fputs(" right ", to);
    put_vec(to, vec3_scale(camera->right, (camera->width_px + 2 * margin) / camera->focal_px));
    fputs(" up ", to);
    put_vec(to, vec3_scale(camera->up, (camera->height_px + 2 * margin) / camera->focal_px));
    fputs(" }\n", to);
}

/* Eight small lamps round the lens. */
static void write_ring(const struct photo_case *c, FILE *to)
{
    const double *rgb = c->lamp_rgb[0];
    for (int i = 0; i < 8; i++) {
        struct vec3 right = vec3_scale(c->camera.right, 55 * cos(i * 45 * RAD));
        struct vec3 up = vec3_scale(c->camera.up, 55 * sin(i * 45 * RAD));
        struct vec3 at = vec3_add(c->camera.position, vec3_add(right, up));
        fputs("Hard_light(", to);
        put_vec(to, at);
        fprintf(to, ", <%g, %g, %g>)\nGlow(", rgb[0] / 8, rgb[1] / 8, rgb[2] / 8);
        put_vec(to, at);
        fprintf(to, ", <%g, %g, %g>, 14)\n", 8 * rgb[0], 8 * rgb[1], 8 * rgb[2]);
    }
}

static void write_lights(const struct photo_case *c, FILE *to)
{
    fprintf(to, "Room(<%g, %g, %g>, <%g, %g, %g>)\n", c->room_low[0], c->room_low[1],
            c->room_low[2], c->room_high[0], c->room_high[1], c->room_high[2]);
    if (c->light == LIGHT_RING) {
        write_ring(c, to);
        return;
    }
    bool two = c->light == LIGHT_TWO_LAMPS || c->light == LIGHT_MIXED;
    for (int i = 0; i < (two ? 2 : 1); i++) {
        const double *rgb = c->lamp_rgb[i];
        bool hard = c->lamp_size_mm[i] <= 1;
        fputs(hard ? "Hard_light(" : "Soft_light(", to);
        put_vec(to, c->lamp[i]);
        fprintf(to, ", <%g, %g, %g>", rgb[0], rgb[1], rgb[2]);
        if (hard)
            fputs(")\n", to);
        else
            fprintf(to, ", %g, %d)\n", c->lamp_size_mm[i], c->light == LIGHT_OVERCAST ? 5 : 4);
        double size = fmax(c->lamp_size_mm[i], 8), k = size > 300 ? 3 : 8;
        fputs("Glow(", to);
        put_vec(to, c->lamp[i]);
        fprintf(to, ", <%g, %g, %g>, %g)\n", k * rgb[0], k * rgb[1], k * rgb[2], size);
    }
}

/* Its frame's axes and origin as rows. */
static void put_matrix(FILE *to, const struct vec3 rows[4])
{
    fputs("matrix <", to);
    for (int i = 0; i < 4; i++)
        fprintf(to, "%s%.12g, %.12g, %.12g", i ? ", " : "", rows[i].x, rows[i].y, rows[i].z);
    fputs(">\n", to);
}

static void write_sticker(const struct photo_case *c, const struct vision_sticker *sticker,
                          const char *png, const struct vec3 frame[4], FILE *to)
{
    fprintf(to, "object { Sticker(\"%s\", %g, %g, %g, %g, %g)\n", png, sticker->x0_mm,
            sticker->x1_mm, sticker->face.height_mm, c->crank.paper_sheen,
            c->crank.paper_roughness);
    put_matrix(to, frame);
    fputs("}\n", to);
}

static void write_card(const struct photo_case *c, FILE *to, const char *png)
{
    static const struct vec3 level[4] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}, {0, 0, 0}};
    const struct vision_card *card = c->card;
    if (c->crank.fixed)
        write_sticker(c, c->crank.fixed, png, level, to);
    else if (c->bend_per_mm > 0)
        fprintf(to, "object { Bent_card(\"%s\", %g, %g, %.9g, %g, %g) }\n", png, card->width_mm,
                card->height_mm, c->bend_per_mm, c->bend_deg, c->sheen);
    else
        fprintf(to, "object { Card(\"%s\", %g, %g, %g, %g, %g) }\n", png, card->width_mm,
                card->height_mm, c->card_thick_mm, c->cut ? card->slot_half_width_mm : 0.0,
                c->sheen);
}

static void write_second_card(const struct photo_case *c, FILE *to, const char *png)
{
    const struct vision_card *frame = vision_card_by_name("frame-duo");
    if (c->negative != NEGATIVE_MIXED_CARDS || !png)
        return;
    fprintf(
        to,
        "object { Card(\"%s\", %g, %g, 0.3, 0, 0.02) rotate z * 24 translate <%g, %g, 0.35> }\n",
        png, frame->width_mm, frame->height_mm, c->card->width_mm * 0.42,
        -c->card->height_mm * 0.45);
}

static const char *const ball_textures[] = {"Steel", "Brass", "Black_steel"};
static const char *const rod_textures[] = {"Steel", "Black_steel", "Finish_carbon"};

static void write_link(const struct photo_case *c, FILE *to, int arm)
{
    const struct ball_link *link = &c->links[arm];
    double angle = c->shape.arms[arm].angle_deg * RAD, half = c->shape.thick_mm / 2;
    if (!link->ball)
        return;
    char where[96];
    snprintf(where, sizeof where, "<%.9g, %.9g, %.9g>", link->at_mm * cos(angle),
             link->at_mm * sin(angle), link->ball_z_mm);
    fprintf(to, "object { Ball(%s, %g, %g, %s) }\n", where, link->ball_mm,
            link->ball_below ? -half : half, ball_textures[link->ball_texture]);
    if (link->cup)
        fprintf(to,
                "object { Link(%s, %g, %.9g, %g, %g, texture { %s }, texture { Link_plastic }) }\n",
                where, link->ball_mm, link->link_deg, link->rod_mm, link->rod_reach_mm,
                rod_textures[link->rod_texture]);
}

static void write_finish(const struct photo_case *c, FILE *to)
{
    if (strncmp(c->finish, "tint", 4) == 0)
        fprintf(to, "Finish_plastic(<%g, %g, %g>)\n", c->plastic[0], c->plastic[1], c->plastic[2]);
    else
        fprintf(to, "texture { Finish_%s }\n", c->finish);
}

void scene_write_part_matrix(const struct photo_case *c, FILE *to)
{
    const struct vec3 rows[4] = {c->axis_x, c->axis_y, c->axis_z, c->hub};
    put_matrix(to, rows);
}

/* An alloy ring on top of the hub with two small screws, and the screw that closes the ear. */
static void write_clamp(const struct photo_case *c, FILE *to)
{
    const struct shape *shape = &c->shape;
    double half = shape->thick_mm / 2, wide = shape->ear_half_mm + 0.9;
    fprintf(to,
            "difference { cylinder { <0, 0, %g>, <0, 0, %g>, %g } cylinder { <0, 0, 0>, <0, 0, 9>, "
            "%g } texture { Case_alloy } }\n",
            half, half + shape->boss_up_mm + 0.02, shape->boss_mm + 0.45, shape->bore_mm);
    for (int i = -1; i <= 1; i += 2)
        fprintf(to,
                "sphere { 0, 0.55 scale <1, 1, 0.6> translate <0, %g, %g> texture { Black_steel } "
                "rotate z * %g }\n",
                i * (shape->boss_mm + shape->bore_mm + 0.45) / 2, half + shape->boss_up_mm,
                shape->ear_deg);
    fprintf(
        to,
        "union { cylinder { <%g, %g, 0>, <%g, %g, 0>, 0.6 } cylinder { <%g, %g, 0>, <%g, %g, 0>, "
        "1.1 } rotate z * %g texture { Black_steel } }\n",
        shape->ear_reach_mm - 1.6, -wide, shape->ear_reach_mm - 1.6, wide,
        shape->ear_reach_mm - 1.6, shape->ear_half_mm, shape->ear_reach_mm - 1.6, wide + 0.6,
        shape->ear_deg);
}

/* The same part again beside the first, turned, for a photo that shows two. */
static void write_second_part(const struct photo_case *c, FILE *to)
{
    double aside = c->card->width_mm * 0.42;
    fputs("object { Horn ", to);
    write_finish(c, to);
    fprintf(to, "rotate z * 67 translate <%g, %g, %g> }\n",
            c->hub.x > 0 ? c->hub.x - aside : c->hub.x + aside, c->hub.y, c->hub.z);
}

static bool write_part(const struct photo_case *c, FILE *to)
{
    if (!c->has_part)
        return true;
    double cell = strcmp(c->card->size, "long") == 0 ? 0.24 : 0.15;
    fputs("#declare Horn =\n", to);
    if (shape_write_mesh(&c->shape, cell, to) == 0)
        return false;
    fputs("}\nunion {\nobject { Horn ", to);
    write_finish(c, to);
    fputs("}\n", to);
    double top = c->shape.thick_mm / 2 + c->shape.boss_up_mm;
    if (c->screw_mm > 0)
        fprintf(to, "object { Screw(%g, %g, %d, %g) }\n", top - c->shape.bore_deep_mm + 1.1,
                c->screw_mm, c->screw_drive, c->screw_turn_deg);
    for (int i = 0; i < c->shape.arm_count; i++)
        write_link(c, to, i);
    if (c->clamp)
        write_clamp(c, to);
    scene_write_part_matrix(c, to);
    fputs("}\n", to);
    if (c->negative == NEGATIVE_TWO_PARTS)
        write_second_part(c, to);
    if (c->post_mm > 0)
        fprintf(to, "cylinder { <%g, %g, %g>, <%g, %g, %g>, %g texture { %s } }\n", c->hub.x,
                c->hub.y, c->bench_z_mm, c->hub.x, c->hub.y, c->hub.z, c->post_mm,
                c->seed & 16 ? "Steel" : "Brass");
    return true;
}

static const char *const plates[] = {"Finish_carbon", "Finish_black_matt", "Finish_silver"};

static void write_shade(const struct photo_case *c, FILE *to)
{
    if (!c->crank.shaded)
        return;
    fputs("object { Shade(", to);
    put_vec(to, c->crank.shade);
    fputs(", ", to);
    put_vec(to, vec3_add(c->lamp[0], vec3_scale(c->crank.shade, -1)));
    fputs(", 20) }\n", to);
}

/* Carries the card: from the bench up to it, standing back from its borders, from the butt edge by
 * `back_mm`. */
static void write_block(const struct photo_case *c, double bench_z_mm, double back_mm, FILE *to)
{
    double w = c->card->width_mm / 2 - 2, h = c->card->height_mm / 2;
    fprintf(to,
            "object { Round_box(<%g, %g, %g>, <%g, %g, %g>, 0.5) texture { Bench_cardboard } }\n",
            -w, -h + back_mm, bench_z_mm, w, h - 2, -c->card_thick_mm);
}

/* What a hidden crank sits in: plates of a frame, or the gear case at the end of a boom, with a
 * block under the card where the case does not carry it. */
static void write_crank_place(const struct photo_case *c, FILE *to)
{
    const struct hidden_crank *crank = &c->crank;
    const char *texture = plates[crank->material];
    double away = hypot(c->hub.x, c->hub.y), share = crank->boom && !crank->fixed ? 1 : 0.5;
    struct vec3 at = {c->hub.x * share, c->hub.y * share, crank->floor_mm};
    fputs("union {\n", to);
    if (crank->boom)
        fprintf(to, "Boom_end(13, %g, texture { %s })\n", crank->fixed ? away / 2 + 12 : 13.0,
                texture);
    else
        fprintf(to, "Frame_plates(%g, <0, %g, 0>, %g, texture { %s })\n",
                away / 2 + crank->opening_mm + 30, -away / 2, crank->opening_mm, texture);
    fprintf(to, "rotate z * %g translate ", crank->along_deg);
    put_vec(to, at);
    fputs("}\n", to);
    if (crank->boom && !crank->fixed)
        write_block(c, -40, 2, to);
    write_shade(c, to);
}

/* The servo beside the card, and what carries the two. */
static void write_butted_servo(const struct photo_case *c, FILE *to)
{
    static const char *const cases[] = {"Case_plastic", "Case_blue", "Case_grey"};
    const struct butted_servo *servo = &c->servo;
    if (!servo->there)
        return;
    fprintf(to, "union {\nobject { Butted_servo(%.9g, %g, %g, %g, texture { %s }) }\n",
            servo->half_mm, servo->length_mm, servo->depth_mm, servo->lug_mm,
            cases[servo->material]);
    fprintf(to, "object { Servo_shaft(%g, %g, %g, %d, texture { %s }) }\n", servo->boss_mm,
            servo->boss_up_mm, servo->shaft_up_mm, servo->half_mm < 7, cases[servo->material]);
    if (servo->mounted)
        fprintf(to, "object { Servo_plate(%g, %g, %g, texture { %s }) }\n", servo->half_mm,
                servo->length_mm, servo->lug_mm, plates[c->seed % 3]);
    fprintf(to, "rotate z * %g translate <%.9g, %.9g, %.9g> }\n", servo->turn_deg, c->hub.x,
            c->hub.y, servo->top_mm);
    if (servo->block) /* clear of the lug where the case's end touches the card */
        write_block(c, c->bench_z_mm, servo->end_on ? 12 : 2, to);
}

static void write_item(const struct item *item, FILE *to)
{
    static const char *const cases[] = {"Case_plastic", "Case_blue", "Case_alloy"};
    char colour[64];
    snprintf(colour, sizeof colour, "<%g, %g, %g>", item->colour[0], item->colour[1],
             item->colour[2]);
    double a = item->size_mm, b = item->size2_mm;
    fputs("object { ", to);
    switch (item->kind) {
    case ITEM_SCREWDRIVER:
        fprintf(to, "Screwdriver(%s)", colour);
        break;
    case ITEM_HEX_KEY:
        fputs("Hex_key()", to);
        break;
    case ITEM_LOOSE_SCREW:
        fprintf(to, "Loose_screw(%g)", a);
        break;
    case ITEM_NUT:
        fputs("Nut()", to);
        break;
    case ITEM_WASHER:
        fprintf(to, "Washer(%g, %g, 0.8)", a * 0.5, a * 0.25);
        break;
    case ITEM_CABLE:
        fprintf(to, "Cable(%s, %g, %g, %g)", colour, b, a < 100 ? 160.0 : a, a < 100 ? a : 3.0);
        break;
    case ITEM_PENCIL:
        fputs("Pencil()", to);
        break;
    case ITEM_TAPE:
        fprintf(to, "Tape(%g, %g)", a, b);
        break;
    case ITEM_FINGER:
        fprintf(to, "Finger(%s)", colour);
        break;
    case ITEM_FRAME_PLATE:
        fprintf(to, "Frame_plate(0, 170, %g, 1.6, texture { %s })", a, plates[(int)b]);
        break;
    case ITEM_EDGE_BLOCK:
        fprintf(to, "Edge_block(0, %g, %g, 16, texture { Case_plastic })", a, b);
        break;
    case ITEM_SERVO:
        fprintf(to, "Servo(0, %g, %g, 36, texture { %s })", b * 2, b, cases[(int)a]);
        break;
    case ITEM_PAPER:
        fprintf(to, "box { <%g, %g, 0>, <%g, %g, 0.1> texture { Paper } }", -a / 2, -b / 2, a / 2,
                b / 2);
        break;
    case ITEM_DUST:
        fprintf(to, "union { Dust(90, 56, %d, %d) }", (int)a, (int)b);
        break;
    case ITEM_BLOB:
        fprintf(to,
                "blob { threshold 0.4 sphere { <0, 0, 2>, %g, 1 } sphere { <5, 4, 1>, %g, 1 } "
                "sphere { <-4, 3, 1>, %g, 1 } texture { Finish_natural } }",
                a, a * 0.7, a * 0.8);
        break;
    case ITEM_KNOB:
        fprintf(to, "Knob(%g, %g)", a, b);
        break;
    case ITEM_TEXT_SHEET:
        fprintf(to, "Text_sheet(%g, %g)", a, b);
        break;
    case ITEM_CHEQUERS:
        fprintf(to, "Chequers(%g, %g)", a, b);
        break;
    case ITEM_CUP:
        fprintf(to, "Cup(%s)", colour);
        break;
    }
    fprintf(to, " rotate z * %g translate <%.9g, %.9g, %.9g> }\n", item->turn_deg, item->at.x,
            item->at.y, item->at.z);
}

static void write_surroundings(const struct photo_case *c, FILE *to)
{
    static const char *const benches[] = {"Bench_wood",      "Bench_grey",     "Bench_green_mat",
                                          "Bench_dark_wood", "Bench_white",    "Bench_blue_mat",
                                          "Bench_black",     "Bench_cardboard"};
    fprintf(to, "object { Bench(%g, %s, %g) }\n", c->bench_z_mm, benches[c->bench],
            c->bench_turn_deg);
    for (int i = 0; i < c->item_count; i++)
        write_item(&c->items[i], to);
}

/* Light that has gone round the room: traced in a few photos, where it costs a third of the time;
 * the same everywhere in the others. */
static void write_globals(const struct photo_case *c, FILE *to)
{
    bool traced = c->index % 29 == 0;
    fputs("#version 3.7;\nglobal_settings {\n    assumed_gamma 1.0 max_trace_level 5\n", to);
    if (traced)
        fputs("    radiosity { count 40 nearest_count 4 error_bound 1.6 recursion_limit 1\n"
              "        pretrace_start 0.08 pretrace_end 0.02 low_error_factor 0.6\n"
              "        gray_threshold 0.4 minimum_reuse 0.015 }\n",
              to);
    fputs("    ambient_light rgb <", to);
    for (int k = 0; k < 3; k++)
        fprintf(to, "%s%g", k ? ", " : "",
                traced ? 0 : 0.35 * c->room_low[k] + 0.45 * c->room_high[k]);
    fputs(">\n}\n#default { finish { ambient 0.8 diffuse 0.8 } }\n"
          "#include \"finishes.inc\"\n#include \"parts.inc\"\n#include \"card.inc\"\n"
          "#include \"lights.inc\"\n#include \"bench.inc\"\n#include \"crank.inc\"\n"
          "#include \"butted.inc\"\n",
          to);
}

bool scene_write(const struct photo_case *c, const char *path, const char *card_png,
                 const char *other_png)
{
    FILE *to = fopen(path, "w");
    if (!to)
        return false;
    write_globals(c, to);
    scene_write_camera(c, to);
    write_lights(c, to);
    write_surroundings(c, to);
    write_butted_servo(c, to);
    if (case_shows_card(c))
        write_card(c, to, card_png);
    else if (c->negative == NEGATIVE_FACE_DOWN)
        fprintf(to, "box { <%g, %g, %g>, <%g, %g, 0> texture { Paper } }\n", -c->card->width_mm / 2,
                -c->card->height_mm / 2, -c->card_thick_mm, c->card->width_mm / 2,
                c->card->height_mm / 2);
    write_second_card(c, to, other_png);
    if (c->crank.sticker) {
        struct vec3 frame[4];
        case_sticker_frame(c, frame);
        write_sticker(c, c->crank.sticker, other_png, frame, to);
        write_crank_place(c, to);
    }
    bool good = write_part(c, to);
    good = !ferror(to) && good;
    return fclose(to) == 0 && good;
}
