/* The lens: formulas, uncertainty, and what a fit finds, against published formulas, a known camera
 * and a real one. */
#include "card/lens.h"
#include "card/plane.h"
#include "check_main.h"
#include "flat_scene.h"
#include "maths/linalg.h"
#include "plane_maker.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DEG (180 / 3.14159265358979323846)

static void ck_near(double found, double want, double tolerance, const char *what)
{
    ck_assert_msg(fabs(found - want) <= tolerance, "%s: %.12g, expected %.12g within %g", what,
                  found, want, tolerance);
}

/* ---- Formulas ------------------------------------------------------------------------------ */

/* D. C. Brown, "Close-range camera calibration", Photogrammetric Engineering 37 (1971), radial
 * terms, by hand: at (0.3, 0.4), r^2 = 0.25, k1 = -0.25, k2 = 0.1: 1 - 0.0625 + 0.00625 = 0.94375,
 * so (0.283125, 0.3775). */
START_TEST(radial_terms_are_those_of_brown)
{
    struct vision_plane plane = {.h = {1000, 0, 1600, 0, 1000, 1200, 0, 0, 1},
                                 .k1 = -0.25,
                                 .k2 = 0.1,
                                 .centre_px = {1600, 1200},
                                 .radius_px = 1000};
    struct vision_point p = vision_plane_to_photo(&plane, (struct vision_point){0.3, 0.4});
    ck_near(p.x, 1600 + 283.125, 1e-9, "x");
    ck_near(p.y, 1200 + 377.5, 1e-9, "y");
    struct lens_camera camera = {.focal_px = 1000,
                                 .k1 = -0.25,
                                 .k2 = 0.1,
                                 .centre_px = {1600, 1200},
                                 .pose = {{0, 0, 0, 0, 0, 1}}};
    p = lens_project(&camera, 0, (struct vision_point){0.3, 0.4});
    ck_near(p.x, 1600 + 283.125, 1e-9, "x by pose");
    ck_near(p.y, 1200 + 377.5, 1e-9, "y by pose");
}
END_TEST

START_TEST(undoing_the_lens_is_exact_over_the_whole_photo)
{
    const double terms[][2] = {{-0.29, 0.11}, {0.06, -0.01}, {-0.06, 0.02}, {0.2, 0.1}, {-0.1, 0}};
    for (size_t t = 0; t < sizeof terms / sizeof terms[0]; t++) {
        struct vision_plane plane = {.h = {20, 1, 2010, -0.5, -19, 1490, 1e-4, 2e-4, 1},
                                     .k1 = terms[t][0],
                                     .k2 = terms[t][1],
                                     .centre_px = {2005, 1515},
                                     .radius_px = 3100};
        ck_assert(linalg_invert3(plane.h, plane.inverse));
        for (int i = 0; i <= 20; i++)
            for (int j = 0; j <= 15; j++) {
                struct vision_point px = {4032.0 * i / 20, 3024.0 * j / 15};
                struct vision_point mm = vision_plane_to_card(&plane, px);
                struct vision_point back = vision_plane_to_photo(&plane, mm);
                ck_near(hypot(back.x - px.x, back.y - px.y), 0, 1e-6, "pixels there and back");
            }
    }
}
END_TEST

/* ---- Turned photos ------------------------------------------------------------------------- */

/* The EXIF table (JEITA CP-3451, tag 0x0112): value 6, row 0 is the right side and column 0 the
 * top; 8, left and bottom; 3, bottom and right. */
START_TEST(points_of_turned_photos_go_to_the_sensor)
{
    const struct {
        int orientation, w, h;
        double x, y, column, row;
    } cases[] = {{1, 40, 30, 5, 7, 5, 7},
                 {3, 40, 30, 5, 7, 34, 22},
                 {6, 30, 40, 5, 7, 7, 24},
                 {8, 30, 40, 5, 7, 32, 5}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct vision_photo_info info = {
            .width_px = cases[i].w, .height_px = cases[i].h, .orientation = cases[i].orientation};
        struct vision_point p =
            vision_sensor_point(&info, (struct vision_point){cases[i].x, cases[i].y});
        ck_near(p.x, cases[i].column, 1e-12, "column");
        ck_near(p.y, cases[i].row, 1e-12, "row");
    }
}
END_TEST

static struct vision_lens some_lens(void)
{
    struct vision_lens lens = {.name = "test",
                               .width_px = 1600,
                               .height_px = 1200,
                               .focal_px = 1300,
                               .centre_px = {812, 590},
                               .k1 = -0.08,
                               .k2 = 0.02};
    const double u[VISION_LENS_UNKNOWNS] = {3, 2, 2.5, 0.002, 0.003};
    for (int j = 0; j < VISION_LENS_UNKNOWNS; j++)
        lens.cov[j * VISION_LENS_UNKNOWNS + j] = u[j] * u[j];
    lens.cov[3 * VISION_LENS_UNKNOWNS + 4] = lens.cov[4 * VISION_LENS_UNKNOWNS + 3] =
        -0.8 * u[3] * u[4];
    return lens;
}

/* Bending in the turned photo is bending on the sensor, turned. */
START_TEST(a_profile_turns_with_the_photo)
{
    struct vision_lens lens = some_lens();
    ck_assert(vision_lens_is_sound(&lens));
    for (int orientation = 1; orientation <= 8; orientation++) {
        bool turned = orientation >= 5;
        struct vision_photo_info info = {.width_px = turned ? 1200 : 1600,
                                         .height_px = turned ? 1600 : 1200,
                                         .orientation = orientation};
        struct vision_photo_info plain = {.width_px = 1600, .height_px = 1200, .orientation = 1};
        struct plane_lens in_photo, on_sensor;
        ck_assert(lens_in_photo(&lens, &info, &in_photo));
        ck_assert(lens_in_photo(&lens, &plain, &on_sensor));
        struct vision_point centre = vision_sensor_point(&info, in_photo.centre_px);
        ck_near(centre.x, on_sensor.centre_px.x, 1e-9, "centre x");
        ck_near(centre.y, on_sensor.centre_px.y, 1e-9, "centre y");
        int x = turned ? 3 : 2; /* which of the two the sensor's x becomes */
        ck_near(in_photo.cov[x * 4 + x], on_sensor.cov[2 * 4 + 2], 1e-12, "variance");
        info.width_px++;
        ck_assert(!lens_in_photo(&lens, &info, &in_photo));
    }
}
END_TEST

START_TEST(lenses_that_cannot_be_are_told)
{
    struct vision_lens lens = some_lens();
    lens.k1 = -0.9; /* folds the picture before its corners */
    lens.k2 = 0;
    ck_assert(!vision_lens_is_sound(&lens));
    lens = some_lens();
    lens.cov[0] = 0;
    ck_assert(!vision_lens_is_sound(&lens));
    lens = some_lens();
    lens.cov[4] = 1;
    ck_assert_msg(!vision_lens_is_sound(&lens), "a covariance that is not symmetric");
    lens = some_lens();
    lens.focal_px = NAN;
    ck_assert(!vision_lens_is_sound(&lens));
    lens = some_lens();
    lens.centre_px.x = 1700;
    ck_assert(!vision_lens_is_sound(&lens));
}
END_TEST

/* ---- A known camera ------------------------------------------------------------------------ */

static const struct flat_camera camera = {1600, 1200, 1310, 812, 590, -0.062, 0.018};

/* Nine views: all over the picture, slanting every way. */
static struct flat_pose pose_of(int i, double slant_deg)
{
    double a = 40.0 * i / DEG;
    return (struct flat_pose){.roll_deg = 7.0 * (i - 4),
                              .right_deg = slant_deg * cos(a),
                              .up_deg = slant_deg * sin(a),
                              .x_mm = 36 * (i % 3 - 1),
                              .y_mm = 27 * (i / 3 % 3 - 1),
                              .distance_mm = 140 + 3 * (i % 4)};
}

/* The corners of a card's markers as the camera shows them, each off by sigma_px. */
static void make_view(const struct flat_pose *pose, double sigma_px, struct vision_card_view *out)
{
    const struct vision_card *card = vision_card_by_name("hand-duo");
    *out = (struct vision_card_view){
        .photo = {.width_px = camera.width, .height_px = camera.height, .orientation = 1},
        .half_width_mm = card->width_mm / 2,
        .half_height_mm = card->height_mm / 2};
    for (int i = 0; i < card->marker_count; i++)
        for (int k = 0; k < 4; k++, out->count++) {
            double half = card->marker_mm / 2;
            struct vision_point mm = {card->markers[i].centre_mm.x +
                                          (k == 1 || k == 2 ? half : -half),
                                      card->markers[i].centre_mm.y + (k >= 2 ? -half : half)};
            double x, y;
            flat_camera_project(&camera, pose, mm.x, mm.y, &x, &y);
            out->mm[out->count] = mm;
            out->px[out->count] =
                (struct vision_point){x + sigma_px * noise(), y + sigma_px * noise()};
        }
}

static void make_views(struct vision_card_view *views, int n, double slant_deg, double sigma_px)
{
    for (int i = 0; i < n; i++) {
        struct flat_pose pose = pose_of(i, slant_deg);
        make_view(&pose, sigma_px, &views[i]);
    }
}

static void camera_values(double out[VISION_LENS_UNKNOWNS])
{
    const double values[VISION_LENS_UNKNOWNS] = {camera.focal_px, camera.centre_x_px,
                                                 camera.centre_y_px, camera.k1, camera.k2};
    memcpy(out, values, sizeof values);
}

static void lens_values(const struct vision_lens *lens, double out[VISION_LENS_UNKNOWNS])
{
    const double values[VISION_LENS_UNKNOWNS] = {lens->focal_px, lens->centre_px.x,
                                                 lens->centre_px.y, lens->k1, lens->k2};
    memcpy(out, values, sizeof values);
}

START_TEST(a_fit_of_exact_corners_gives_the_camera_back)
{
    static struct vision_card_view views[9];
    static struct vision_lens_fit fit;
    double want[VISION_LENS_UNKNOWNS], found[VISION_LENS_UNKNOWNS];
    make_views(views, 9, 25, 0);
    /* single precision inside OpenCV leaves some 1e-4 px on each corner */
    ck_assert_int_eq(vision_lens_fit(views, 9, &fit), VISION_LENS_FINE);
    camera_values(want);
    lens_values(&fit.lens, found);
    const double tolerance[VISION_LENS_UNKNOWNS] = {0.01, 0.01, 0.01, 1e-5, 5e-5};
    for (int j = 0; j < VISION_LENS_UNKNOWNS; j++)
        ck_near(found[j], want[j], tolerance[j], "camera");
    ck_near(fit.rms_px, 0, 1e-3, "rms");
    ck_assert_msg(fit.plain_px > 0.3, "without the lens %.3f px", fit.plain_px);
    ck_assert_msg(fit.spread_deg > 45 && fit.spread_deg < 55, "spread %.1f", fit.spread_deg);
}
END_TEST

/* Scaled by its stated u, each unknown's error must scatter by 1; JCGM 101:2008. */
START_TEST(the_stated_uncertainty_is_that_of_many_draws)
{
    enum { DRAWS = 12 };
    static struct vision_card_view views[9];
    static struct vision_lens_fit fit;
    double want[VISION_LENS_UNKNOWNS], sum = 0;
    camera_values(want);
    srand(11);
    for (int d = 0; d < DRAWS; d++) {
        double found[VISION_LENS_UNKNOWNS];
        make_views(views, 9, 25, 0.08);
        ck_assert_int_eq(vision_lens_fit(views, 9, &fit), VISION_LENS_FINE);
        lens_values(&fit.lens, found);
        for (int j = 0; j < VISION_LENS_UNKNOWNS; j++) {
            double u = sqrt(fit.lens.cov[j * VISION_LENS_UNKNOWNS + j]);
            ck_assert_msg(fabs(found[j] - want[j]) < 4 * u, "unknown %d: off by %.3g, u %.3g", j,
                          found[j] - want[j], u);
            sum += pow((found[j] - want[j]) / u, 2) / (DRAWS * VISION_LENS_UNKNOWNS);
        }
    }
    /* never below plain least squares, so u is too large rather than too small */
    ck_assert_msg(sqrt(sum) > 0.5 && sqrt(sum) < 1.2, "errors scatter by %.2f u", sqrt(sum));
}
END_TEST

/* A lens that focuses from 110 to 300 mm stands 2 to 6 % further out than at infinity (lens.c); a
 * profile leaves half of that spread as limits of a uniform distribution, 0.02 / sqrt(3) of the
 * focal length. The plane keeps the focal length, so it shows in k1 by 2 k1 and in k2 by 4 k2 times
 * as much: d^2 and d^4 are measured in focal lengths. */
START_TEST(a_profile_without_doubt_leaves_focusing_open)
{
    struct vision_lens lens = some_lens();
    struct vision_photo_info info = {.width_px = 1600, .height_px = 1200, .orientation = 1};
    struct plane_lens out;
    const double refocus = 0.02 / sqrt(3);
    memset(lens.cov, 0, sizeof lens.cov);
    ck_assert(lens_in_photo(&lens, &info, &out));
    ck_assert_int_eq(out.unknowns, PLANE_LENS_UNKNOWNS);
    assert_relative(sqrt(out.cov[0]), 2 * fabs(lens.k1) * refocus, 0.05);
    assert_relative(sqrt(out.cov[PLANE_LENS_UNKNOWNS + 1]), 4 * fabs(lens.k2) * refocus, 0.05);
}
END_TEST

/* Draws of lenses from a profile's covariance: photos by those lenses, measured with the profile,
 * err as the plane says. JCGM 101:2008. */
START_TEST(an_uncertain_profile_shows_in_the_direction)
{
    enum { DRAWS = 400 };
    struct vision_lens lens = some_lens();
    struct vision_photo_info info = {.width_px = 1600, .height_px = 1200, .orientation = 1};
    struct plane_lens prior, drawn;
    ck_assert(lens_in_photo(&lens, &info, &prior));
    struct flat_pose pose = pose_of(8, 20);
    static struct vision_card_view view;
    double square = 0, u = 0;
    srand(4);
    make_view(&pose, 0, &view);
    for (int d = 0; d < DRAWS; d++) {
        /* the correlated pair k1, k2 by its Cholesky factor, the others by themselves */
        double z = noise(), s1 = sqrt(prior.cov[0]), b = prior.cov[1] / s1;
        drawn = prior;
        drawn.unknowns = 0;
        drawn.k1 += s1 * z;
        drawn.k2 += b * z + sqrt(prior.cov[5] - b * b) * noise();
        drawn.centre_px.x += sqrt(prior.cov[10]) * noise();
        drawn.centre_px.y += sqrt(prior.cov[15]) * noise();
        struct vision_plane truth, found;
        ck_assert(plane_fit(view.mm, view.px, view.count, 0.05, &drawn, &truth));
        struct vision_point px[VISION_VIEW_CORNERS];
        for (int i = 0; i < view.count; i++)
            px[i] = vision_plane_to_photo(&truth, view.mm[i]);
        ck_assert(plane_fit(view.mm, px, view.count, 0.05, &prior, &found));
        const struct vision_point from = {12, 8}, to = {24, 9};
        struct vision_point a = vision_plane_to_card(&found, vision_plane_to_photo(&truth, from));
        struct vision_point c = vision_plane_to_card(&found, vision_plane_to_photo(&truth, to));
        double deg = atan2(1, 12) * DEG;
        square += pow((atan2(c.y - a.y, c.x - a.x) * DEG - deg), 2) / DRAWS;
        if (d == 0)
            u = plane_direction_u(&found, (struct vision_point){18, 8.5}, deg);
    }
    /* u holds the corners' noise of 0.05 px too, which these draws have not */
    ck_assert_msg(sqrt(square) < 1.1 * u && sqrt(square) > 0.15 * u,
                  "errors of %.4f degrees, u %.4f", sqrt(square), u);
}
END_TEST

START_TEST(views_that_tell_too_little_are_refused)
{
    static struct vision_card_view views[10];
    static struct vision_lens_fit fit;
    srand(3);
    make_views(views, 10, 25, 0.05);
    ck_assert_int_eq(vision_lens_fit(views, 7, &fit), VISION_LENS_FEW);
    ck_assert_int_eq(vision_lens_fit(views, 0, &fit), VISION_LENS_FEW);
    ck_assert_int_eq(vision_lens_fit(views, 8, &fit), VISION_LENS_FINE);
    views[3].photo.width_px = 1200;
    views[3].photo.height_px = 1600;
    ck_assert_int_eq(vision_lens_fit(views, 10, &fit), VISION_LENS_MIXED);
    make_views(views, 10, 3, 0.05);
    ck_assert_int_eq(vision_lens_fit(views, 10, &fit), VISION_LENS_PARALLEL);
    ck_assert(fit.spread_deg > 3 && fit.spread_deg < 12); /* that, and no lens */
    ck_assert(fit.lens.focal_px == 0 && fit.u_focal_px == 0 && fit.rms_px == 0);
    make_views(views, 10, 0, 0.05);
    ck_assert_int_eq(vision_lens_fit(views, 10, &fit), VISION_LENS_PARALLEL);
    make_views(views, 10, 25, 3);
    enum vision_lens_fault fault = vision_lens_fit(views, 10, &fit);
    ck_assert_msg(fault == VISION_LENS_MISFIT || fault == VISION_LENS_FAILED, "fault %d", fault);
}
END_TEST

/* A camera held upright: the same views, turned by EXIF, give the same lens. */
START_TEST(turned_photos_give_the_same_lens)
{
    static struct vision_card_view views[9];
    static struct vision_lens_fit fit, turned;
    srand(9);
    make_views(views, 9, 25, 0.05);
    ck_assert_int_eq(vision_lens_fit(views, 9, &fit), VISION_LENS_FINE);
    for (int i = 0; i < 9; i += 2) /* corners are already the sensor's */
        views[i].photo = (struct vision_photo_info){
            .width_px = camera.height, .height_px = camera.width, .orientation = 6};
    ck_assert_int_eq(vision_lens_fit(views, 9, &turned), VISION_LENS_FINE);
    ck_near(turned.lens.focal_px, fit.lens.focal_px, 1e-9, "focal length");
    /* turned clockwise, what faced up on the sensor faces right in the photo */
    ck_near(turned.views[0].lean_right_deg, fit.views[0].lean_up_deg, 1e-9, "lean");
    ck_near(turned.views[1].lean_right_deg, fit.views[1].lean_right_deg, 1e-9, "lean");
}
END_TEST

START_TEST(leans_are_told_as_the_photo_shows_them)
{
    static struct vision_card_view views[8];
    static struct vision_lens_fit fit;
    srand(9);
    make_views(views, 8, 25, 0.02);
    struct flat_pose right = {.right_deg = 20, .distance_mm = 150};
    struct flat_pose up = {.up_deg = 20, .distance_mm = 150};
    make_view(&right, 0.02, &views[0]);
    make_view(&up, 0.02, &views[1]);
    for (int n = 2; n <= 8; n++) { /* too few for a lens, and enough for one */
        ck_assert_int_eq(vision_lens_fit(views, n, &fit),
                         n < 8 ? VISION_LENS_FEW : VISION_LENS_FINE);
        ck_near(fit.views[0].lean_right_deg, 20, 0.3, "right");
        ck_near(fit.views[0].lean_up_deg, 0, 0.3, "not up");
        ck_near(fit.views[1].lean_up_deg, 20, 0.3, "up");
        ck_near(fit.views[1].lean_right_deg, 0, 0.3, "not right");
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("lens");
    TCase *tests = tcase_create("lens");
    tcase_add_test(tests, radial_terms_are_those_of_brown);
    tcase_add_test(tests, undoing_the_lens_is_exact_over_the_whole_photo);
    tcase_add_test(tests, points_of_turned_photos_go_to_the_sensor);
    tcase_add_test(tests, a_profile_turns_with_the_photo);
    tcase_add_test(tests, lenses_that_cannot_be_are_told);
    tcase_add_test(tests, a_fit_of_exact_corners_gives_the_camera_back);
    tcase_add_test(tests, the_stated_uncertainty_is_that_of_many_draws);
    tcase_add_test(tests, a_profile_without_doubt_leaves_focusing_open);
    tcase_add_test(tests, an_uncertain_profile_shows_in_the_direction);
    tcase_add_test(tests, views_that_tell_too_little_are_refused);
    tcase_add_test(tests, turned_photos_give_the_same_lens);
    tcase_add_test(tests, leans_are_told_as_the_photo_shows_them);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
