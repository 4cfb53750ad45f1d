/* Discs: their rims, and the directions to their holes, on pictures ray-cast from closed formulas.
 * Truth is section 1 of docs/method.md: a point (X, Y) at height h is seen on the card at
 * s (X, Y) - (s - 1) C, s = Cz / (Cz - h), with C the camera's centre. */
#include "check_main.h"
#include "disc/disc.h"
#include "plane_maker.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846
#define DEG (180 / PI)

#define WIDTH_PX 1060
#define HEIGHT_PX 700
#define PX_PER_MM 12.0
#define CAMERA_HEIGHT_MM 160.0
#define MAX_HOLES 12

/* A disc about a hub, with straight holes, parallel to the card. */
struct scene {
    double camera_mm[3];
    struct vision_point hub_mm;
    double radius_mm, low_mm, high_mm; /* heights of its faces */
    int holes;
    struct vision_point hole_mm[MAX_HOLES]; /* from the hub */
    double hole_radius_mm;
    uint8_t face[3]; /* its colour */
    bool slot_cut;   /* the bench shows through the card's slot */
    uint8_t bench[3];
    double noise; /* of 8-bit values */
};

struct shot {
    struct vision_image image;
    struct card_fix fix;
    struct silhouette silhouette;
    struct part_field *field;
};

/* Where the ray through card point p passes height h. */
static struct vision_point at_height(const struct scene *s, struct vision_point p, double h)
{
    double t = h / s->camera_mm[2];
    return (struct vision_point){p.x + t * (s->camera_mm[0] - p.x),
                                 p.y + t * (s->camera_mm[1] - p.y)};
}

static struct vision_point seen_at(const struct scene *s, struct vision_point p, double h)
{
    double scale = s->camera_mm[2] / (s->camera_mm[2] - h);
    return (struct vision_point){scale * p.x - (scale - 1) * s->camera_mm[0],
                                 scale * p.y - (scale - 1) * s->camera_mm[1]};
}

static double distance(struct vision_point a, struct vision_point b)
{
    return hypot(a.x - b.x, a.y - b.y);
}

static double distance_to_stretch(struct vision_point p, struct vision_point a,
                                  struct vision_point b)
{
    double dx = b.x - a.x, dy = b.y - a.y, square = dx * dx + dy * dy;
    double t = square > 0 ? ((p.x - a.x) * dx + (p.y - a.y) * dy) / square : 0;
    t = fmin(1, fmax(0, t));
    return distance(p, (struct vision_point){a.x + t * dx, a.y + t * dy});
}

/* 0 card, 1 face, 2 wall. Between the faces a ray moves along a straight stretch; it passes when
 * all of that lies outside the disc, or all within one hole, both being convex. */
static int what_is_seen(const struct scene *s, struct vision_point p)
{
    struct vision_point top = at_height(s, p, s->high_mm), bottom = at_height(s, p, s->low_mm);
    if (distance_to_stretch(s->hub_mm, top, bottom) > s->radius_mm)
        return 0;
    bool on_face = distance(s->hub_mm, top) < s->radius_mm;
    for (int i = 0; i < s->holes; i++) {
        struct vision_point hole = {s->hub_mm.x + s->hole_mm[i].x, s->hub_mm.y + s->hole_mm[i].y};
        bool above = distance(hole, top) < s->hole_radius_mm;
        if (above && distance(hole, bottom) < s->hole_radius_mm)
            return 0;
        on_face = on_face && !above;
    }
    return on_face ? 1 : 2;
}

static double to_linear(double code)
{
    double v = code / 255;
    return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

static double to_code(double linear)
{
    return 255 * (linear <= 0.0031308 ? 12.92 * linear : 1.055 * pow(linear, 1 / 2.4) - 0.055);
}

/* From the card's left side to a round end about its middle. */
static bool in_slot(const struct vision_card *card, struct vision_point mm)
{
    double aside = mm.x < 0 ? fabs(mm.y) : hypot(mm.x, mm.y);
    return aside < card->slot_half_width_mm;
}

static const uint8_t *colour_at(const struct scene *s, const struct vision_card *card,
                                struct vision_point mm)
{
    static const uint8_t wall[3] = {25, 25, 28}, white[3] = {255, 255, 255},
                         black[3] = {15, 15, 15};
    int seen = what_is_seen(s, mm);
    if (seen)
        return seen == 1 ? s->face : wall;
    if (s->slot_cut && in_slot(card, mm))
        return s->bench;
    switch (vision_card_print_at(card, mm)) {
    case VISION_PRINT_TINT_A:
        return card->tint_srgb[0];
    case VISION_PRINT_TINT_B:
        return card->tint_srgb[1];
    case VISION_PRINT_BLACK:
        return black;
    default:
        return white;
    }
}

/* The pinhole camera of the scene, looking at the middle of the card; its homography by pairs. */
static void set_plane(const struct scene *s, struct card_fix *fix)
{
    const struct vision_point mm[4] = {{-20, -15}, {20, -15}, {20, 15}, {-20, 15}};
    double c[3],
        length = sqrt(s->camera_mm[0] * s->camera_mm[0] + s->camera_mm[1] * s->camera_mm[1] +
                      s->camera_mm[2] * s->camera_mm[2]);
    for (int i = 0; i < 3; i++)
        c[i] = s->camera_mm[i] / length; /* from the card to the camera */
    /* right = y axis of the card x c, made unit; up = c x right */
    double norm = hypot(c[0], c[2]), right[3] = {c[2] / norm, 0, -c[0] / norm};
    double up[3] = {c[1] * right[2], c[2] * right[0] - c[0] * right[2], -c[1] * right[0]};
    struct vision_point px[4];
    for (int i = 0; i < 4; i++) {
        double x = mm[i].x, y = mm[i].y, depth = length - (c[0] * x + c[1] * y);
        double f = PX_PER_MM * length / depth;
        px[i].x = WIDTH_PX / 2.0 + f * (right[0] * x + right[1] * y);
        px[i].y = HEIGHT_PX / 2.0 - f * (up[0] * x + up[1] * y);
    }
    ck_assert(plane_of_points(mm, px, 4, 0.05, &fix->plane));
}

/* Light that falls into a pixel: many rays about the disc, few elsewhere. */
static void expose(const struct scene *s, const struct shot *shot, int i, int j, double light[3])
{
    const double about_mm = 14;
    struct vision_point middle =
        vision_plane_to_card(&shot->fix.plane, (struct vision_point){i, j});
    int fine = distance(middle, s->hub_mm) < about_mm ? 5 : 2;
    memset(light, 0, 3 * sizeof *light);
    for (int k = 0; k < fine * fine; k++) {
        int across = k % fine, down = k / fine;
        struct vision_point px = {i + (across + 0.5) / fine - 0.5, j + (down + 0.5) / fine - 0.5};
        const uint8_t *rgb =
            colour_at(s, shot->fix.card, vision_plane_to_card(&shot->fix.plane, px));
        for (int c = 0; c < 3; c++)
            light[c] += to_linear(rgb[c]) / (fine * fine);
    }
}

static void draw(const struct scene *s, struct shot *shot)
{
    for (int j = 0; j < HEIGHT_PX; j++)
        for (int i = 0; i < WIDTH_PX; i++) {
            double light[3];
            uint8_t *out = shot->image.pixels + (size_t)j * shot->image.stride + 3 * (size_t)i;
            expose(s, shot, i, j, light);
            for (int c = 0; c < 3; c++)
                out[c] = (uint8_t)fmin(255, fmax(0, to_code(light[c]) + s->noise * noise() + 0.5));
        }
}

static void take(const struct scene *s, struct shot *shot)
{
    *shot = (struct shot){.image = {.width = WIDTH_PX,
                                    .height = HEIGHT_PX,
                                    .channels = 3,
                                    .stride = 3 * WIDTH_PX,
                                    .reduce = 1}};
    shot->image.pixels = malloc((size_t)3 * WIDTH_PX * HEIGHT_PX);
    ck_assert_ptr_nonnull(shot->image.pixels);
    shot->fix = (struct card_fix){
        .card = vision_card_by_name("hand-duo"), .bar_scale_x = 1, .bar_scale_y = 1};
    ck_assert_ptr_nonnull(shot->fix.card);
    shot->fix.markers = shot->fix.card->marker_count;
    for (int i = 0; i < shot->fix.markers; i++)
        shot->fix.which[i] = i;
    set_plane(s, &shot->fix);
    draw(s, shot);
    ck_assert_int_eq(silhouette_build(&shot->image, &shot->fix, 1, &shot->silhouette),
                     VISION_REASON_NONE);
    shot->field = part_field_new(&shot->silhouette);
    ck_assert_ptr_nonnull(shot->field);
}

static void clear(struct shot *shot)
{
    part_field_free(shot->field);
    silhouette_clear(&shot->silhouette);
    vision_image_clear(&shot->image);
}

static struct scene disc_seen_from(double obliquity_deg, double toward_deg)
{
    struct scene s = {.hub_mm = {0.6, -0.4},
                      .radius_mm = 8,
                      .low_mm = 3,
                      .high_mm = 4.6,
                      .hole_radius_mm = 0.8,
                      .face = {70, 72, 80},
                      .noise = 1.5};
    double away = CAMERA_HEIGHT_MM * tan(obliquity_deg / DEG);
    s.camera_mm[0] = away * cos(toward_deg / DEG);
    s.camera_mm[1] = away * sin(toward_deg / DEG);
    s.camera_mm[2] = CAMERA_HEIGHT_MM;
    return s;
}

static void drill(struct scene *s, double direction_deg, double at_mm)
{
    ck_assert_int_lt(s->holes, MAX_HOLES);
    struct vision_point *hole = &s->hole_mm[s->holes++];
    hole->x = at_mm * cos(direction_deg / DEG);
    hole->y = at_mm * sin(direction_deg / DEG);
}

static const struct {
    double obliquity_deg, toward_deg;
} views[] = {{0, 0}, {4, 200}, {12, 70}, {22, -30}, {32, 140}};

#define VIEWS (int)(sizeof views / sizeof views[0])

/* The outline seen aslant joins the upper rim on the far side to the lower one on the near side; a
 * circle through it is off by several hundredths of a millimetre. */
START_TEST(the_outline_is_centred_between_the_faces)
{
    struct scene s = disc_seen_from(views[_i].obliquity_deg, views[_i].toward_deg);
    struct shot shot;
    take(&s, &shot);
    struct vision_point want = seen_at(&s, s.hub_mm, (s.low_mm + s.high_mm) / 2);
    struct rim rim = {.centre_mm = {want.x + 0.3, want.y - 0.2},
                      .radius_mm = 8.3,
                      .rise = {1.5 / CAMERA_HEIGHT_MM, 0.6 / CAMERA_HEIGHT_MM}};
    ck_assert_int_eq(
        rim_fit(&shot.image, &shot.fix, &shot.silhouette, s.camera_mm, RIM_OUTLINE, &rim),
        VISION_REASON_NONE);
    double off = distance(rim.centre_mm, want);
    ck_assert_msg(off < 0.025 && off < 3.5 * rim.centre_u_mm + 0.005,
                  "%.0f degrees: centre off by %.4f mm, u %.4f", views[_i].obliquity_deg, off,
                  rim.centre_u_mm);
    clear(&shot);
}
END_TEST

/* Looks for the disc's arms and holds each against the one of these directions that it is nearest
 * to, no two against the same. */
static void check_arms(const struct scene *s, const double *want_deg, int count)
{
    struct shot shot;
    struct disc disc;
    bool met[MAX_HOLES] = {false};
    take(s, &shot);
    ck_assert_int_eq(shot.silhouette.slot_cut, s->slot_cut);
    ck_assert_int_eq(
        disc_find(&shot.image, &shot.fix, &shot.silhouette, shot.field, s->camera_mm, &disc),
        VISION_REASON_NONE);
    clear(&shot);
    ck_assert_int_eq(disc.arm_count, count);
    for (int k = 0; k < disc.arm_count; k++) {
        const struct disc_arm *arm = &disc.arms[k];
        double off_rad = 9;
        int nearest = 0;
        for (int i = 0; i < count; i++) {
            double off = fabs(remainder(arm->direction_rad - want_deg[i] / DEG, 2 * PI));
            nearest = off < off_rad ? i : nearest;
            off_rad = fmin(off_rad, off);
        }
        ck_assert_msg(!met[nearest], "two arms at %.1f", want_deg[nearest]);
        met[nearest] = true;
        ck_assert_msg(off_rad * DEG < 0.25 && off_rad < 2.5 * arm->u_rad,
                      "arm at %.1f off by %.3f, u %.3f", want_deg[nearest], off_rad * DEG,
                      arm->u_rad * DEG);
    }
}

START_TEST(directions_to_holes_are_right_from_any_side)
{
    static const double arms[4] = {3.4, 92.9, 183.1, 273.8};
    struct scene s = disc_seen_from(views[_i].obliquity_deg, views[_i].toward_deg);
    for (int i = 0; i < 4; i++)
        drill(&s, arms[i], 6.3);
    check_arms(&s, arms, 4);
}
END_TEST

/* Where the card's slot was cut out, a hole over it shows the bench and is none that could be told;
 * the others are, and the outline that crosses the slot leads none astray. */
START_TEST(holes_over_a_slot_that_was_cut_are_left_out)
{
    static const double arms[4] = {3.4, 92.9, 273.8, 183.1};
    static const uint8_t benches[2][3] = {{150, 140, 120}, {60, 62, 68}};
    const int view = _i / 2;
    struct scene s = disc_seen_from(views[view].obliquity_deg, views[view].toward_deg);
    s.slot_cut = true;
    memcpy(s.bench, benches[_i % 2], sizeof s.bench);
    for (int i = 0; i < 4; i++)
        drill(&s, arms[i], 6.3);
    check_arms(&s, arms, 3);
}
END_TEST

/* A face that looks like the card in shadow: dark, and over one tint of that tint's hue. */
START_TEST(a_rim_that_may_be_a_shadows_counts_in_part)
{
    double seen[2];
    for (int shady = 0; shady < 2; shady++) {
        struct scene s = disc_seen_from(0, 0);
        struct shot shot;
        const struct vision_card *card = vision_card_by_name("hand-duo");
        for (int c = 0; c < 3 && shady; c++) /* a quarter of the light */
            s.face[c] = (uint8_t)to_code(to_linear(card->tint_srgb[0][c]) / 4);
        s.low_mm = s.high_mm = 0.1; /* no wall to tell it by */
        take(&s, &shot);
        struct rim rim = {.centre_mm = s.hub_mm, .radius_mm = 8, .rise = {0, 0.01}};
        ck_assert_int_eq(
            rim_fit(&shot.image, &shot.fix, &shot.silhouette, s.camera_mm, RIM_OUTLINE, &rim),
            VISION_REASON_NONE);
        seen[shady] = rim.seen;
        clear(&shot);
    }
    ck_assert_msg(seen[0] > 0.85 && seen[1] < 0.75, "%.3f, shady %.3f", seen[0], seen[1]);
}
END_TEST

START_TEST(a_disc_without_holes_has_no_direction)
{
    struct scene s = disc_seen_from(10, 45);
    if (_i)
        drill(&s, 0, 0); /* a washer */
    struct shot shot;
    struct disc disc;
    take(&s, &shot);
    ck_assert_int_eq(
        disc_find(&shot.image, &shot.fix, &shot.silhouette, shot.field, s.camera_mm, &disc),
        VISION_NO_ARM);
    clear(&shot);
}
END_TEST

/* ---- Hub and directions from given rims ------------------------------------------------------ */

static struct disc disc_with(int arms, int rows, double u_mm)
{
    struct disc disc = {.outline = {.radius_mm = 12, .centre_u_mm = u_mm}};
    for (int i = 0; i < arms; i++)
        for (int k = 0; k < rows; k++) {
            double rad = 2 * PI * i / arms + 0.03, r = 10 - 2.6 * k;
            disc.holes[disc.hole_count++] = (struct rim){.centre_mm = {r * cos(rad), r * sin(rad)},
                                                         .radius_mm = 0.8,
                                                         .centre_u_mm = u_mm,
                                                         .seen = 1};
        }
    return disc;
}

static void shake(struct rim *rim, double u_mm)
{
    rim->centre_mm.x += u_mm * noise();
    rim->centre_mm.y += u_mm * noise();
}

/* JCGM 101:2008: the spread of the answers over random draws of the inputs is their uncertainty.
 * disc_join allows on top of centre_u_mm for how true holes are drilled, 0.015 mm, and for the
 * outline against all holes, as much again as for one: both are drawn. */
START_TEST(stated_uncertainty_is_the_spread_over_draws)
{
    enum { DRAWS = 1500 };
    static const struct {
        int arms, rows;
    } patterns[] = {{4, 1}, {4, 3}, {2, 2}, {6, 1}, {1, 1}};
    const double u_mm = 0.02, hole_mm = hypot(u_mm, 0.015);
    srand(5);
    double square = 0, misfit = 0;
    for (int k = 0; k < DRAWS; k++) {
        struct disc disc = disc_with(patterns[_i].arms, patterns[_i].rows, u_mm);
        shake(&disc.outline, hypot(u_mm, hole_mm));
        for (int i = 0; i < disc.hole_count; i++)
            shake(&disc.holes[i], hole_mm);
        ck_assert(disc_join(&disc, 0));
        ck_assert_int_eq(disc.arm_count, patterns[_i].arms);
        /* Birge's factor only ever enlarges; taken out, to compare */
        double z = remainder(disc.arms[0].direction_rad - 0.03, 2 * PI) /
                   (disc.arms[0].u_rad / sqrt(fmax(1, disc.misfit)));
        square += z * z / DRAWS;
        misfit += disc.misfit / DRAWS;
    }
    ck_assert_msg(sqrt(square) > 0.93 && sqrt(square) < 1.07, "%d arms of %d: spread %.3f u",
                  patterns[_i].arms, patterns[_i].rows, sqrt(square));
    if (patterns[_i].arms > 1)
        ck_assert_msg(misfit > 0.9 && misfit < 1.1, "mean misfit %.3f", misfit);
}
END_TEST

/* Two witnesses that contradict each other must not pass for certain. */
START_TEST(a_hole_out_of_place_shows)
{
    struct disc disc = disc_with(4, 1, 0.02);
    ck_assert(disc_join(&disc, 0));
    double before = disc.arms[0].u_rad;
    ck_assert_double_lt(disc.misfit, 0.1);
    disc.holes[1].centre_mm.y += 0.18;
    ck_assert(disc_join(&disc, 0));
    ck_assert_double_gt(disc.misfit, 4);
    ck_assert_double_gt(disc.arms[0].u_rad, 2 * before);
}
END_TEST

START_TEST(holes_one_behind_the_other_are_one_arm)
{
    struct disc disc = disc_with(3, 3, 0.02);
    ck_assert(disc_join(&disc, 0));
    ck_assert_int_eq(disc.arm_count, 3);
    ck_assert_int_eq(disc.arms[0].holes, 3);
    assert_near(disc.arms[0].reach_mm, 10, 1e-6);
    assert_near(disc.arms[0].direction_rad, 0.03, 1e-9);
}
END_TEST

/* Eight directions find room; that there are more is told. */
START_TEST(rows_of_holes_beyond_eight_are_counted)
{
    struct disc disc = disc_with(8, 3, 0.02);
    ck_assert(disc_join(&disc, 0));
    ck_assert_int_eq(disc.arm_count, 8);
    ck_assert_int_eq(disc.untold_arms, 0);
    disc = disc_with(12, 3, 0.02);
    ck_assert(disc_join(&disc, 0));
    ck_assert_int_eq(disc.arm_count, 8);
    ck_assert_int_eq(disc.untold_arms, 4);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("disc");
    TCase *tc = tcase_create("pictures");
    tcase_set_timeout(tc, 120);
    tcase_add_loop_test(tc, the_outline_is_centred_between_the_faces, 0, VIEWS);
    tcase_add_loop_test(tc, directions_to_holes_are_right_from_any_side, 0, VIEWS);
    tcase_add_loop_test(tc, holes_over_a_slot_that_was_cut_are_left_out, 0, 2 * VIEWS);
    tcase_add_test(tc, a_rim_that_may_be_a_shadows_counts_in_part);
    tcase_add_loop_test(tc, a_disc_without_holes_has_no_direction, 0, 2);
    suite_add_tcase(suite, tc);
    tc = tcase_create("join");
    tcase_add_loop_test(tc, stated_uncertainty_is_the_spread_over_draws, 0, 5);
    tcase_add_test(tc, a_hole_out_of_place_shows);
    tcase_add_test(tc, holes_one_behind_the_other_are_one_arm);
    tcase_add_test(tc, rows_of_holes_beyond_eight_are_counted);
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
