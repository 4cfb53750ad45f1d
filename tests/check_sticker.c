/* Stickers on hidden cranks: the arithmetic against poses known by construction, and the program as
 * a person runs it, on pictures rendered from such poses. */
#include "arithmetic/direction.h"
#include "card/lens.h"
#include "check_main.h"
#include "flat_scene.h"
#include "plane_maker.h"
#include "program.h"
#include "result/sticker_turn.h"
#include "stage/stage.h"
#include "stage/sticker.h"

#include <jansson.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* ---- Corners without pictures ---------------------------------------------------------------- */

static const struct flat_camera phone = {1200, 900, 1000, 599.5, 449.5, 0, 0};
static const struct flat_pose aslant = {20, 24, -15, 3, -2, 120};
static const struct flat_crank crank = {{0, 0}, {0, 0}, {4, -3, 9}, 6, 33};

static struct vision_point shown(const struct flat_plate *plate, double x_mm, double y_mm)
{
    double p[3];
    for (int i = 0; i < 3; i++)
        p[i] = plate->axes[0][i] * x_mm + plate->axes[1][i] * y_mm + plate->axes[2][i];
    return (struct vision_point){phone.centre_x_px + phone.focal_px * p[0] / p[2],
                                 phone.centre_y_px + phone.focal_px * p[1] / p[2]};
}

static void corners_of(const struct flat_plate *plate, double marker_mm, struct vision_point mm[4],
                       struct vision_point px[4])
{
    for (int k = 0; k < 4; k++) {
        mm[k] = (struct vision_point){(k == 1 || k == 2 ? 0.5 : -0.5) * marker_mm,
                                      (k < 2 ? 0.5 : -0.5) * marker_mm};
        px[k] = shown(plate, mm[k].x, mm[k].y);
    }
}

/* Sticker A12 on a crank that turned so far, against F12 or, with spread above 1, against a square
 * so many times as large, as a card is. */
static struct sticker_question question(const struct flat_pose *pose, const struct flat_crank *on,
                                        double turned_deg, double spread, struct sticker_fix *fix)
{
    struct vision_point unused[4];
    struct sticker_question q = {.lens = lens_unknown(phone.width, phone.height),
                                 .focal_px = phone.focal_px,
                                 .focal_u = 0.02,
                                 .count = 4,
                                 .sigma_px = 0.05,
                                 .sticker = fix,
                                 .tilt_deg = 3};
    const struct vision_sticker *own = vision_sticker_by_name("A12");
    struct flat_plate base = flat_plate_at(&vision_sticker_by_name("F12")->face, pose);
    struct flat_plate plate = flat_plate_on_crank(&base, &own->face, on, turned_deg);
    *fix = (struct sticker_fix){.sticker = own, .sigma_px = 0.05};
    corners_of(&base, spread * base.face->marker_mm, q.mm, q.px);
    corners_of(&plate, own->face.marker_mm, unused, fix->corners_px);
    return q;
}

/* By construction the direction is the turn and how it was glued, whatever the height and view. */
START_TEST(a_parallel_sticker_is_read_exactly_from_any_height_and_side)
{
    static const struct flat_pose poses[] = {
        {0, 0, 0, 0, 0, 120}, {20, 24, -15, 3, -2, 120}, {-130, -30, 20, 10, 5, 90}};
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 7; k++) {
            double turned = -170 + 50 * k;
            struct sticker_fix fix;
            struct sticker_answer answer;
            struct sticker_question q = question(&poses[i], &crank, turned, i + 1, &fix);
            ck_assert(sticker_solve(&q, &answer));
            assert_near(direction_turn(answer.direction_deg - turned - crank.glued_deg), 0, 1e-4);
            ck_assert_double_lt(answer.slope_deg, 0.01);
        }
}
END_TEST

/* A sticker that leans by 3 degrees, seen from 28 degrees aside, misleads the plain homography by
 * up to 3 tan 28 = 1.6 degrees; its own square tells of the lean, so little of that may stay. */
START_TEST(a_leaning_sticker_is_put_right_by_its_own_shape)
{
    struct flat_crank leaning = crank;
    leaning.own_lean_deg[0] = 2;
    leaning.own_lean_deg[1] = -2.2;
    for (int k = 0; k < 14; k++) {
        double turned = -170 + 25 * k;
        struct sticker_fix fix;
        struct sticker_answer answer;
        struct sticker_question q = question(&aslant, &leaning, turned, 5, &fix);
        ck_assert(sticker_solve(&q, &answer));
        double off = direction_turn(answer.direction_deg - turned - crank.glued_deg);
        double u = sqrt(answer.corners_deg * answer.corners_deg +
                        answer.tilt_u_deg * answer.tilt_u_deg + answer.lens_deg * answer.lens_deg);
        ck_assert_msg(fabs(off) < 0.25 && fabs(off) < 2 * u, "turned %g: off %g, u %g", turned, off,
                      u);
        ck_assert_msg(fabs(answer.slope_deg - hypot(2, 2.2)) < 1, "slope %g", answer.slope_deg);
    }
}
END_TEST

/* docs/method.md, 11: 4 % by EXIF, 25 % for a guess. */
START_TEST(a_focal_length_that_the_card_rules_out_is_a_guess)
{
    static const double rows[][2] = {{0, 0.25}, {1000, 0.04}, {1900, 0.25}}; /* px, u */
    struct flat_plate plate = flat_plate_at(&vision_sticker_by_name("F12")->face, &aslant);
    struct vision_result out = {.photo = {.width_px = phone.width, .height_px = phone.height}};
    const struct vision_options options = vision_options_default();
    struct stage s = {.out = &out,
                      .options = &options,
                      .fix.markers = 4,
                      .middle_px = {phone.centre_x_px, phone.centre_y_px}};
    static const struct vision_point mm[] = {{-30, -18}, {30, -18}, {30, 18}, {-30, 18}};
    struct vision_point px[4];
    for (int i = 0; i < 4; i++)
        px[i] = shown(&plate, mm[i].x, mm[i].y);
    ck_assert(plane_of_points(mm, px, 4, 0.1, &s.fix.plane));
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        out.photo.focal_px = rows[i][0];
        stage_describe_view(&s);
        assert_near(s.focal_px, phone.focal_px, 1);
        assert_near(s.focal_u, rows[i][1], 1e-9);
    }
}
END_TEST

static uint64_t state = 5;

static double normal(void)
{
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        state = state * 6364136223846793005U + 1442695040888963407U;
        sum += (double)(state >> 11) / 9007199254740992.0;
    }
    return sum;
}

/* JCGM 101:2008: random draws of the corners, and of the lean as its prior has it, against u. */
START_TEST(the_scatter_of_random_draws_is_what_the_budget_says)
{
    enum { DRAWS = 400 };
    static const double spreads[] = {1, 5};
    double squares = 0, expected = 0, lean_deg = 3;
    for (int i = 0; i < DRAWS; i++) {
        struct flat_crank drawn = crank;
        struct sticker_fix fix;
        struct sticker_answer a;
        drawn.own_lean_deg[0] = lean_deg * normal();
        drawn.own_lean_deg[1] = lean_deg * normal();
        struct sticker_question q = question(&aslant, &drawn, 40, spreads[_i], &fix);
        for (int k = 0; k < 4; k++) {
            q.px[k].x += 0.05 * normal();
            q.px[k].y += 0.05 * normal();
            fix.corners_px[k].x += 0.05 * normal();
            fix.corners_px[k].y += 0.05 * normal();
        }
        ck_assert(sticker_solve(&q, &a));
        double off = direction_turn(a.direction_deg - 40 - crank.glued_deg);
        squares += off * off / DRAWS;
        expected += (a.corners_deg * a.corners_deg + a.tilt_u_deg * a.tilt_u_deg) / DRAWS;
    }
    printf("scatter %.4f degrees, budget %.4f (reference %g times as large)\n", sqrt(squares),
           sqrt(expected), spreads[_i]);
    ck_assert_double_lt(sqrt(squares), 1.15 * sqrt(expected));
    ck_assert_double_gt(sqrt(squares), 0.5 * sqrt(expected));
}
END_TEST

/* Prior knowledge that is off by one standard uncertainty moves the answer by shared_deg: from
 * solving again with the focal length or k1 moved by a tenth of it either way. */
START_TEST(what_the_lens_shares_is_how_far_it_moves_the_direction)
{
    const struct flat_crank aside = {{2, 1}, {1, -2}, {24, -3, -8}, 2, 33};
    const double u[2] = {0.15, 0.03}, step = 0.1;
    struct sticker_fix fix;
    struct sticker_answer here, moved[2];
    struct sticker_question q = question(&aslant, &aside, 40, 1, &fix);
    q.focal_u = u[0];
    q.lens.unknowns = 1;
    q.lens.cov[0] = u[1] * u[1];
    ck_assert(sticker_solve(&q, &here));
    for (int side = 0; side < 2; side++) {
        struct sticker_question other = q;
        double by = side ? step : -step;
        other.focal_px *= _i == 0 ? exp(by * u[0]) : 1;
        other.lens.k1 += _i == 1 ? by * u[1] : 0;
        ck_assert(sticker_solve(&other, &moved[side]));
    }
    double slope = direction_turn(moved[1].direction_deg - moved[0].direction_deg) / (2 * step);
    printf("shared %.4f degrees, found %.4f\n", here.shared_deg[_i], slope);
    ck_assert_double_gt(fabs(slope), 1e-3);
    assert_near(here.shared_deg[_i], slope, 0.1 * fabs(slope) + 1e-4);
}
END_TEST

static struct vision_result seen(double direction_deg, double lens_deg)
{
    struct vision_result r = {.status = VISION_OK, .arm_count = 1, .of_stickers = true};
    snprintf(r.arms[0].name, sizeof r.arms[0].name, "A12");
    r.arms[0].angle_deg = direction_deg;
    r.arms[0].u_deg = 0.13; /* 0.05 by itself */
    r.slopes[0].lens_deg[0] = lens_deg;
    r.fixed = vision_sticker_by_name("F12");
    return r;
}

/* Seen from one side the lens turns both alike and its share cancels; from two sides it adds up; of
 * two cameras each has its own. Where photos do not tell, the worse counts. By hand: u = hypot of
 * 0.05 sqrt 2 and 0, 0.24, or 0.12 sqrt 2. */
START_TEST(the_lens_is_one_for_all_photos_of_a_camera)
{
    static const struct {
        double first, second;
        const char *camera, *other;
        double u;
    } rows[] = {
        {0.12, 0.12, "One", "One", 0.0707},   {0.12, -0.12, "One", "One", 0.2502},
        {0.12, 0.12, "One", "Other", 0.1838}, {0.12, -0.12, "One", "Other", 0.1838},
        {0.12, 0.12, "", "One", 0.1838}, /* nothing is known of the first */
        {0.12, 0.12, "", "", 0.1838},    /* may be two */
        {0.12, -0.12, "", "", 0.2502},   /* may be one */
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct vision_result a = seen(20, rows[i].first), b = seen(57, rows[i].second);
        struct sticker_turn turn;
        const struct sticker_photo photos[2] = {{"a.jpg", &a}, {"b.jpg", &b}};
        snprintf(a.photo.camera, sizeof a.photo.camera, "%s", rows[i].camera);
        snprintf(b.photo.camera, sizeof b.photo.camera, "%s", rows[i].other);
        sticker_turn_make(photos, 2, false, &turn);
        assert_near(turn.tracks[0].turns[1].value, 37, 1e-9);
        assert_near(turn.tracks[0].turns[1].u, rows[i].u, 5e-4);
    }
    /* neutral less the middle of the ends: -1/2, -1/2, 1 */
    struct vision_result one = seen(20, 0.12), other = seen(57, -0.12), neutral = seen(40, 0.06);
    strcpy(one.photo.camera, "One");
    strcpy(other.photo.camera, "One");
    strcpy(neutral.photo.camera, "One");
    struct sticker_turn turn;
    const struct sticker_photo photos[3] = {
        {"a.jpg", &one}, {"b.jpg", &other}, {"c.jpg", &neutral}};
    sticker_turn_make(photos, 3, true, &turn);
    const struct sticker_track *t = &turn.tracks[0];
    assert_near(t->lens_u_deg, 0.06, 1e-9);
    assert_near(t->own_u_deg[0], 0.05, 1e-9);
    double own = t->own_u_deg[2] * t->own_u_deg[2] + 0.5 * 0.05 * 0.05;
    assert_near(t->centre.offset.u, sqrt(own + 0.06 * 0.06), 1e-9);
}
END_TEST

/* ---- The program ----------------------------------------------------------------------------- */

static char folder[] = "/tmp/armsquare-sticker-XXXXXX";

static void keep(const char *name, const struct flat_plate *plates, int count)
{
    char path[200];
    struct picture picture = flat_scene_plates(&phone, plates, count, 0.7, 1.5, state++);
    struct bytes file = jpeg_encode(&picture, &(struct jpeg_settings){.quality = 92});
    snprintf(path, sizeof path, "%s/%s", folder, name);
    bytes_write(&file, path);
    bytes_free(&file);
    picture_free(&picture);
}

/* Ends 21 degrees and -17 from neutral, so that neutral lies 2 degrees off the middle, clockwise.
 */
static void make_photos(void)
{
    static const struct {
        const char *name;
        double turned_deg;
        struct flat_pose pose;
    } shots[] = {{"one.jpg", 121, {20, 14, -10, 3, -2, 110}},
                 {"other.jpg", 83, {25, 12, -12, 2, 0, 115}},
                 {"neutral.jpg", 100, {15, -8, 9, 0, 1, 105}},
                 {"again.jpg", 121, {25, 12, -12, 2, 0, 115}}};
    const struct vision_card *card = &vision_sticker_by_name("F12")->face;
    const struct vision_card *own = &vision_sticker_by_name("A12")->face;
    struct flat_crank drawn = {{1, -1}, {1, 1.5}, {20, 3, 6}, 5, 33};
    for (size_t i = 0; i < sizeof shots / sizeof shots[0]; i++) {
        struct flat_plate plates[2] = {flat_plate_at(card, &shots[i].pose)};
        plates[1] = flat_plate_on_crank(&plates[0], own, &drawn, shots[i].turned_deg);
        keep(shots[i].name, plates, 2);
        if (i == 0) {
            keep("alone.jpg", &plates[1], 1);
            keep("fixed.jpg", plates, 1);
            plates[0].face = &vision_sticker_by_name("G12")->face;
            keep("others.jpg", plates, 2);
        }
    }
}

static void run(struct run *result, const char *words, ...)
{
    char command[1024], filled[2048];
    size_t at = 0;
    va_list list;
    va_start(list, words);
    vsnprintf(command, sizeof command, words, list);
    va_end(list);
    for (const char *from = command; *from && at + sizeof folder < sizeof filled; from++) {
        if (*from == '@')
            at += (size_t)snprintf(filled + at, sizeof filled - at, "%s", folder);
        else
            filled[at++] = *from;
    }
    filled[at] = '\0';
    run_program(filled, result);
}

static double number_at(const json_t *json, const char *a, const char *b)
{
    const json_t *value = json_object_get(json_object_get(json, a), b);
    ck_assert_msg(json_is_number(value), "no number at %s.%s", a, b);
    return json_number_value(value);
}

START_TEST(three_photos_tell_that_neutral_is_off_the_middle)
{
    struct run result;
    run(&result, "measure --no-picture --sticker --centred @/one.jpg @/other.jpg @/neutral.jpg");
    ck_assert_msg(result.status == 0, "%s", result.err);
    ck_assert_msg(
        strstr(result.out, "clockwise of the middle of the travel as seen in the photo.\n") != NULL,
        "%s", result.out);
    ck_assert_ptr_null(strstr(result.out, "Arm "));
    /* A turn of the link takes the servo's ends along (docs/linkage.md): none is ordered before the
     * command that is told here has asked what made them. */
    ck_assert_ptr_null(strstr(result.out, "Turn it"));
    char *command = strstr(result.out, "armsquare linkage centre ");
    ck_assert_msg(command && strchr(command, '"'), "%s", result.out);
    *strchr(command, '"') = '\0';
    char pasted[256];
    snprintf(pasted, sizeof pasted, "%s", command + strlen("armsquare "));
    run(&result, "%s", pasted);
    ck_assert_msg(strstr(result.out, "off the middle: 2.0") &&
                      strstr(result.out, "find out what ends the travel"),
                  "%s: %s%s", pasted, result.out, result.err);
    run(&result, "measure --no-picture --json --sticker --centred @/one.jpg @/other.jpg "
                 "@/neutral.jpg");
    char *last = strstr(result.out, "{\"turned\"");
    ck_assert_ptr_nonnull(last);
    json_t *json = json_loads(last, 0, NULL);
    json_t *track = json_array_get(json_object_get(json_object_get(json, "turned"), "stickers"), 0);
    json_t *centre = json_object_get(track, "centre");
    double offset = number_at(centre, "offset", "deg"),
           spread = number_at(centre, "offset", "U_deg");
    ck_assert_msg(fabs(offset + 2) < spread && spread < 1, "offset %g U %g, not -2", offset,
                  spread);
    assert_near(number_at(centre, "travel", "deg"), 38, number_at(centre, "travel", "U_deg"));
    ck_assert_str_eq(json_string_value(json_object_get(track, "status")), "ok");
    json_decref(json);
}
END_TEST

/* 0.8 off the middle may be more than what its U or ISO 14253-1 allows: the words give no order,
 * and no angle of the command has less than its U, 1.96 u (JCGM 100:2008, G.3.2 with table G.2). */
START_TEST(what_to_do_is_told_by_the_command_alone)
{
    static const double own_u[] = {0.45, 0.0225, 0.0069};
    for (size_t i = 0; i < 2 * sizeof own_u / sizeof *own_u; i++) {
        const double u = own_u[i / 2];
        struct sticker_turn t = {.used = 3, .photos = {0, 1, 2}, .centred = true, .track_count = 1};
        t.tracks[0] = (struct sticker_track){.name = "A",
                                             .unsure = i % 2,
                                             .own_u_deg = {u, u, u},
                                             .centre = station_centre((struct quantity){30, u},
                                                                      (struct quantity){-31.6, u},
                                                                      (struct quantity){0, u})};
        const struct sticker_photo photos[3] = {{"one", NULL}, {"other", NULL}, {"neutral", NULL}};
        char *text = sticker_turn_words(&t, photos);
        ck_assert_msg(text && strstr(text, "0.8") && !strstr(text, "Leave"), "%s", text);
        const char *command = strstr(text, "linkage centre ");
        ck_assert_msg(!command == t.tracks[0].unsure, "%s", text);
        for (int k = 0; k < 3 && command; k++) {
            command = strstr(command, "±");
            ck_assert_msg(command && strtod(command += strlen("±"), NULL) >= 1.9599 * u, "%s",
                          text);
        }
        free(text);
    }
}
END_TEST

START_TEST(where_arms_are_wanted_sticker_photos_are_sent_to_their_command)
{
    static const char *const commands[] = {"advise --teeth 25 @/one.jpg",
                                           "linkage centre @/one.jpg @/other.jpg @/neutral.jpg"};
    struct run result;
    for (size_t i = 0; i < sizeof commands / sizeof *commands; i++) {
        run(&result, commands[i]);
        ck_assert_msg(result.status == 3 && strstr(result.err, "\"armsquare measure --sticker\""),
                      "%s: %s", commands[i], result.err);
    }
}
END_TEST

/* Darkens what lies to the left of a line, all round the picture, softly: light falls from all to
 * an eighth within soft_px. A code value goes with light as its 2.2nd root, about. */
static void shade(struct picture *picture, double x_px, double y_px, double deg, double soft_px)
{
    double c = cos(deg * 0.0174532925), s = sin(deg * 0.0174532925);
    for (int j = 0; j < picture->height; j++)
        for (int i = 0; i < picture->width; i++) {
            double out = ((i - x_px) * c + (j - y_px) * s) / soft_px + 0.5;
            double light = 0.125 + 0.875 * fmin(1, fmax(0, out));
            uint8_t *rgb = picture->rgb + ((size_t)j * picture->width + i) * 3;
            for (int k = 0; k < 3; k++)
                rgb[k] = (uint8_t)lround(rgb[k] * pow(light, 1 / 2.2));
        }
}

/* F12 and, 24 mm to its right, a crank's sticker level with it, seen square on from so far; shaded:
 * the rim of a shadow slants across the middle of its right side. */
static struct vision_result measured_in_shade(const char *own, double distance_mm, bool shaded,
                                              double soft_px)
{
    const struct flat_pose pose = {20, 0, 0, -12, 0, distance_mm};
    const struct flat_crank level = {{0, 0}, {0, 0}, {24, 0, 0}, 0, 0};
    const struct vision_card *face = &vision_sticker_by_name(own)->face;
    struct flat_plate plates[2] = {flat_plate_at(&vision_sticker_by_name("F12")->face, &pose)};
    struct vision_options options = vision_options_default();
    struct vision_photo *photo = NULL;
    struct vision_result result;
    double x, y;
    plates[1] = flat_plate_on_crank(&plates[0], face, &level, 0);
    flat_camera_project(&phone, &pose, 24 + face->marker_mm / 2, 0, &x, &y);
    struct picture picture = flat_scene_plates(&phone, plates, 2, 0.6, 1, 8);
    if (shaded)
        shade(&picture, x, y, 10 - pose.roll_deg, soft_px);
    struct bytes file = jpeg_encode(&picture, &(struct jpeg_settings){.quality = 95});
    ck_assert_int_eq(vision_photo_open_bytes(file.data, file.size, &photo), VISION_REASON_NONE);
    vision_measure_stickers(photo, &options, &result);
    vision_photo_free(photo);
    bytes_free(&file);
    picture_free(&picture);
    return result;
}

/* Its square is 137 px long, the cells 17 px: light within the profile across a side can be told.
 */
START_TEST(the_rim_of_a_shadow_does_not_turn_a_sticker)
{
    struct vision_result lit = measured_in_shade("A12", 70, false, 40),
                         shaded = measured_in_shade("A12", 70, true, 40);
    ck_assert_msg(shaded.status == VISION_OK, "%s", vision_reason_code(shaded.reason));
    double turned = direction_turn(shaded.arms[0].angle_deg - lit.arms[0].angle_deg);
    ck_assert_msg(fabs(turned) < 0.03, "turned by %.3f degrees", turned);
}
END_TEST

/* Of a square of 58 px only the white round it tells that its corners may be off. */
START_TEST(a_small_sticker_in_uneven_light_is_unsure)
{
    struct vision_result lit = measured_in_shade("A8", 110, false, 20),
                         shaded = measured_in_shade("A8", 110, true, 20);
    ck_assert_msg(lit.status == VISION_OK, "%s", vision_reason_code(lit.reason));
    ck_assert_int_eq(shaded.status, VISION_UNSURE);
    ck_assert_int_eq(shaded.reason, VISION_SMALL_STICKER);
}
END_TEST

/* ---- Ray-traced photos, as docs/measure.md has it -------------------------------------------- */

static double turned_in_truth(const char *shot)
{
    char path[400];
    snprintf(path, sizeof path, "%s/stickers/crank-00-A12-by-mini-duo-%s.json", TEST_DATA, shot);
    json_t *truth = json_load_file(path, 0, NULL);
    double deg = number_at(truth, "crank", "turned_deg");
    json_decref(truth);
    return deg;
}

static void assert_told(const json_t *centre, const char *what, double truth_deg)
{
    double deg = number_at(centre, what, "deg"), within = number_at(centre, what, "U_deg");
    ck_assert_msg(fabs(deg - truth_deg) < within && within < 0.4, "%s %g U %g, truth %g", what, deg,
                  within, truth_deg);
}

START_TEST(ray_traced_photos_of_a_hidden_crank_are_measured_as_they_are)
{
    static const char words[] =
        "measure --no-picture %s --sticker --centred %s/stickers/crank-00-A12-by-mini-duo-one-end"
        ".jpg %s/stickers/crank-00-A12-by-mini-duo-other-end.jpg "
        "%s/stickers/crank-00-A12-by-mini-duo-neutral.jpg";
    double one = turned_in_truth("one-end"), other = turned_in_truth("other-end"),
           neutral = turned_in_truth("neutral");
    struct run result;
    run(&result, words, "--json", TEST_DATA, TEST_DATA, TEST_DATA);
    ck_assert_msg(result.status == 0, "%s", result.err);
    char *last = strstr(result.out, "{\"turned\"");
    ck_assert_ptr_nonnull(last);
    json_t *json = json_loads(last, 0, NULL);
    json_t *track = json_array_get(json_object_get(json_object_get(json, "turned"), "stickers"), 0);
    const json_t *centre = json_object_get(track, "centre");
    ck_assert_str_eq(json_string_value(json_object_get(track, "status")), "ok");
    assert_told(centre, "first_throw", one - neutral);
    assert_told(centre, "second_throw", other - neutral);
    assert_told(centre, "offset", neutral - (one + other) / 2);
    json_decref(json);
    run(&result, words, "", TEST_DATA, TEST_DATA, TEST_DATA);
    char says[80];
    snprintf(says, sizeof says, "degrees %s of the middle",
             neutral > (one + other) / 2 ? "counter-clockwise" : "clockwise");
    ck_assert_msg(result.status == 0 && strstr(result.out, says), "%s", result.out);
}
END_TEST

/* Paper glued by hand leans by up to three times 3 degrees, common practice; a sticker that surely
 * leans by more is none that tells the crank's turn. */
START_TEST(a_sticker_glued_aslant_is_unsure)
{
    static const struct {
        double lean_deg;
        enum vision_status status;
    } rows[] = {{10, VISION_OK}, {13, VISION_UNSURE}};
    const struct flat_pose pose = {20, 14, -10, 3, -2, 110};
    for (int i = 0; i < 2; i++) {
        const struct flat_crank leaning = {{0, 0}, {0, rows[i].lean_deg}, {20, 3, 6}, 5, 33};
        struct flat_plate plates[2] = {flat_plate_at(&vision_sticker_by_name("F12")->face, &pose)};
        struct vision_options options = vision_options_default();
        struct vision_photo *photo = NULL;
        struct vision_result r;
        plates[1] =
            flat_plate_on_crank(&plates[0], &vision_sticker_by_name("A12")->face, &leaning, 40);
        struct picture picture = flat_scene_plates(&phone, plates, 2, 0.7, 1.5, 8);
        struct bytes file = jpeg_encode(&picture, &(struct jpeg_settings){.quality = 92});
        ck_assert_int_eq(vision_photo_open_bytes(file.data, file.size, &photo), VISION_REASON_NONE);
        vision_measure_stickers(photo, &options, &r);
        ck_assert_msg(r.status == rows[i].status, "%g degrees: %s", rows[i].lean_deg,
                      vision_reason_code(r.reason));
        if (r.status == VISION_UNSURE)
            ck_assert_int_eq(r.reason, VISION_TILTED_STICKER);
        vision_photo_free(photo);
        bytes_free(&file);
        picture_free(&picture);
    }
}
END_TEST

/* The sticker's own direction is nobody's arm. */
START_TEST(no_photo_gives_an_arm)
{
    struct run result;
    run(&result, "measure --no-picture --json --sticker @/one.jpg @/other.jpg");
    ck_assert_int_eq(result.status, 0);
    json_t *json = json_loads(result.out, JSON_DISABLE_EOF_CHECK, NULL);
    ck_assert_int_eq((int)json_array_size(json_object_get(json, "arms")), 0);
    ck_assert_int_eq((int)json_array_size(json_object_get(json, "budget")), 0);
    json_t *sticker = json_array_get(json_object_get(json, "stickers"), 0);
    ck_assert_str_eq(json_string_value(json_object_get(sticker, "name")), "A12");
    ck_assert_int_gt((int)json_array_size(json_object_get(sticker, "budget")), 2);
    json_decref(json);
    run(&result, "measure --no-picture --sticker @/one.jpg @/other.jpg");
    ck_assert_msg(strstr(result.out, "Sticker A12 turned 38.") || strstr(result.out, "turned 37."),
                  "%s", result.out);
    ck_assert_ptr_nonnull(strstr(result.out, " clockwise as seen in the photo"));
}
END_TEST

START_TEST(what_cannot_be_told_is_refused_with_a_cure)
{
    static const struct {
        const char *words, *says;
        int status;
    } cases[] = {
        {"@/one.jpg", "only a change does", 2},
        {"--together @/one.jpg @/other.jpg", "--sticker goes without", 2},
        {"--centred @/one.jpg @/other.jpg", "three photos", 2},
        {"@/one.jpg @/alone.jpg", "nothing fixed to measure the sticker against", 3},
        {"@/one.jpg @/fixed.jpg", "No crank's sticker", 3},
        {"@/one.jpg @/others.jpg", "measured against different things", 3},
        {"--centred @/neutral.jpg @/other.jpg @/one.jpg", "not lie between the two ends", 3},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct run result;
        run(&result, "measure --no-picture --sticker %s", cases[i].words);
        ck_assert_msg(result.status == cases[i].status && strstr(result.err, cases[i].says),
                      "%s: status %d, %s", cases[i].words, result.status, result.err);
    }
}
END_TEST

/* Who forgot the option is told of it. */
START_TEST(a_photo_of_a_sticker_asks_for_the_option)
{
    static struct run result;
    run(&result, "measure --no-picture --json @/one.jpg");
    ck_assert_int_eq(result.status, 3);
    ck_assert_msg(strstr(result.err, "armsquare measure --sticker") != NULL, "%s", result.err);
    ck_assert_msg(strstr(result.out, "armsquare measure --sticker") != NULL, "%s", result.out);
    run(&result,
        "measure --no-picture " TEST_DATA "/stickers/crank-00-A12-by-mini-duo-neutral.jpg");
    ck_assert_int_eq(result.status, 3);
    ck_assert_msg(strstr(result.err, "armsquare measure --sticker") != NULL, "%s", result.err);
    run(&result, "measure -o @/asks.png @/one.jpg"); /* and so does its picture */
    run(&result, "read @/asks.png");
    ck_assert_msg(strstr(result.out, "armsquare measure --sticker") != NULL, "%s", result.out);
}
END_TEST

/* Without the lines and indents of the text. */
START_TEST(the_message_for_a_program_is_plain_sentences)
{
    static const struct {
        const char *words, *reason, *says;
        int status;
    } cases[] = {
        {"--centred @/one.jpg @/other.jpg @/neutral.jpg", NULL, ". Travel ", 0},
        {"@/one.jpg @/other.jpg", NULL, "Sticker A12 turned ", 0},
        {"--centred @/neutral.jpg @/other.jpg @/one.jpg", "neutral-outside",
         "Sticker A12: neutral does not lie between", 3},
        {"--centred @/one.jpg @/again.jpg @/neutral.jpg", "no-travel", "not visibly move", 3},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct run result;
        run(&result, "measure --no-picture --json --sticker %s", cases[i].words);
        ck_assert_msg(result.status == cases[i].status, "%s: %s", cases[i].words, result.err);
        json_t *json = json_loads(strstr(result.out, "{\"turned\""), 0, NULL);
        const json_t *turned = json_object_get(json, "turned");
        const char *message = json_string_value(json_object_get(turned, "message"));
        const char *reason = json_string_value(json_object_get(turned, "reason"));
        ck_assert_msg(strstr(message, cases[i].says) && !strchr(message, '\n') &&
                          !strstr(message, "  ") && message[strlen(message) - 1] == '.',
                      "%s: \"%s\"", cases[i].words, message);
        ck_assert_pstr_eq(reason, cases[i].reason);
        json_decref(json);
    }
}
END_TEST

START_TEST(a_job_keeps_a_centred_station_by_stickers)
{
    static const char plan[] = "plan: Hidden crank\nabout: For a test.\n\n"
                               "[middle]\ntitle: Crank in the middle\npart: Tail\nkind: centred\n"
                               "do: Move it from end to end.\ntolerance: 0.5\n\n"
                               "[square]\ntitle: Crank square\npart: Tail\nkind: square\n"
                               "do: Look at it.\ntolerance: 0.5\n";
    struct bytes bytes = {(uint8_t *)plan, sizeof plan - 1};
    char path[200];
    struct run result;
    snprintf(path, sizeof path, "%s/my.plan", folder);
    bytes_write(&bytes, path);
    run(&result, "job new @/d.job --model Dunlin --plan @/my.plan");
    ck_assert_msg(result.status == 0, "%s", result.err);
    run(&result, "job measure @/d.job middle --sticker @/one.jpg @/others.jpg @/neutral.jpg");
    ck_assert_msg(result.status == 3 && strstr(result.err, "Nothing was recorded"), "%s",
                  result.err);
    run(&result, "job measure @/d.job square --sticker @/one.jpg");
    ck_assert_msg(result.status == 2 && strstr(result.err, "centred stations"), "%s", result.err);
    run(&result, "job measure @/d.job middle --sticker @/one.jpg @/other.jpg @/neutral.jpg");
    ck_assert_msg(result.status == 0, "%s", result.err);
    run(&result, "job export @/d.job @/kept");
    ck_assert_msg(result.status == 0, "%s", result.err);
    snprintf(path, sizeof path, "%s/kept/job.json", folder);
    json_t *job = json_load_file(path, 0, NULL);
    ck_assert_ptr_nonnull(job);
    char *text = json_dumps(job, JSON_COMPACT);
    ck_assert_msg(strstr(text, "stickers") && strstr(text, "A12") &&
                      strstr(text, "neutral.jpg.armsquare.png"),
                  "%s", text);
    free(text);
    /* Contributions add as squares to the square of u (JCGM 100:2008, 5.1.2). */
    double squares = 0;
    size_t line;
    json_t *row;
    json_array_foreach(json_object_get(job, "budget"), line, row) squares +=
        pow(json_number_value(json_object_get(row, "u")), 2);
    row = json_array_get(json_object_get(job, "measurement"), 0);
    assert_near(sqrt(squares), json_number_value(json_object_get(row, "u")), 1e-9);
    json_decref(job);
    /* the same "±" as measure tells */
    run(&result, "measure --no-picture --json --sticker --centred @/one.jpg @/other.jpg "
                 "@/neutral.jpg");
    json_t *told = json_loads(strstr(result.out, "{\"turned\""), 0, NULL);
    json_t *track = json_array_get(json_object_get(json_object_get(told, "turned"), "stickers"), 0);
    run(&result, "job status @/d.job --json");
    json_t *status = json_loads(result.out, 0, NULL);
    json_t *station = json_array_get(json_object_get(status, "stations"), 0);
    assert_near(json_number_value(json_object_get(station, "U")),
                number_at(json_object_get(track, "centre"), "offset", "U_deg"), 6e-4);
    json_decref(told);
    json_decref(status);
    run(&result, "job status @/d.job");
    ck_assert_msg(strstr(result.out, "2.0") || strstr(result.out, "1.9") ||
                      strstr(result.out, "2.1") || strstr(result.out, "1.8"),
                  "%s", result.out);
}
END_TEST

int main(void)
{
    if (!mkdtemp(folder))
        return 1;
    make_photos();
    Suite *suite = suite_create("sticker");
    TCase *arithmetic = tcase_create("arithmetic");
    tcase_add_test(arithmetic, a_parallel_sticker_is_read_exactly_from_any_height_and_side);
    tcase_add_test(arithmetic, a_leaning_sticker_is_put_right_by_its_own_shape);
    tcase_add_test(arithmetic, a_focal_length_that_the_card_rules_out_is_a_guess);
    tcase_add_loop_test(arithmetic, the_scatter_of_random_draws_is_what_the_budget_says, 0, 2);
    tcase_add_loop_test(arithmetic, what_the_lens_shares_is_how_far_it_moves_the_direction, 0, 2);
    tcase_add_test(arithmetic, the_lens_is_one_for_all_photos_of_a_camera);
    suite_add_tcase(suite, arithmetic);
    TCase *pictures = tcase_create("pictures");
    tcase_set_timeout(pictures, 120);
    tcase_add_test(pictures, a_sticker_glued_aslant_is_unsure);
    tcase_add_test(pictures, the_rim_of_a_shadow_does_not_turn_a_sticker);
    tcase_add_test(pictures, a_small_sticker_in_uneven_light_is_unsure);
    suite_add_tcase(suite, pictures);
    TCase *program = tcase_create("program");
    tcase_set_timeout(program, 120);
    tcase_add_test(program, three_photos_tell_that_neutral_is_off_the_middle);
    tcase_add_test(program, what_to_do_is_told_by_the_command_alone);
    tcase_add_test(program, where_arms_are_wanted_sticker_photos_are_sent_to_their_command);
    tcase_add_test(program, ray_traced_photos_of_a_hidden_crank_are_measured_as_they_are);
    tcase_add_test(program, no_photo_gives_an_arm);
    tcase_add_test(program, what_cannot_be_told_is_refused_with_a_cure);
    tcase_add_test(program, a_photo_of_a_sticker_asks_for_the_option);
    tcase_add_test(program, the_message_for_a_program_is_plain_sentences);
    tcase_add_test(program, a_job_keeps_a_centred_station_by_stickers);
    suite_add_tcase(suite, program);
    int status = run_suite(suite);
    char command[100];
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    return system(command) == 0 ? status : 1;
}
