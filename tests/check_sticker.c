/* Stickers on hidden cranks: the arithmetic against poses known by construction, and the program as
 * a person runs it, on pictures rendered from such poses. */
#include "check_main.h"
#include "direction.h"
#include "flat_scene.h"
#include "lens.h"
#include "program.h"
#include "sticker.h"
#include "sticker_turn.h"

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
                 {"neutral.jpg", 100, {15, -8, 9, 0, 1, 105}}};
    const struct vision_card *card = &vision_sticker_by_name("F12")->face;
    const struct vision_card *own = &vision_sticker_by_name("A12")->face;
    struct flat_crank drawn = {{1, -1}, {1, 1.5}, {20, 3, 6}, 5, 33};
    for (int i = 0; i < 3; i++) {
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
    ck_assert_msg(strstr(result.out, "clockwise of the middle of the travel as seen in the photo. "
                                     "Turn it counter-clockwise.") != NULL,
                  "%s", result.out);
    ck_assert_ptr_null(strstr(result.out, "Arm "));
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
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct run result;
        run(&result, "measure --no-picture --sticker %s", cases[i].words);
        ck_assert_msg(result.status == cases[i].status && strstr(result.err, cases[i].says),
                      "%s: status %d, %s", cases[i].words, result.status, result.err);
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
    json_decref(job);
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
    tcase_add_loop_test(arithmetic, the_scatter_of_random_draws_is_what_the_budget_says, 0, 2);
    suite_add_tcase(suite, arithmetic);
    TCase *pictures = tcase_create("pictures");
    tcase_add_test(pictures, a_sticker_glued_aslant_is_unsure);
    suite_add_tcase(suite, pictures);
    TCase *program = tcase_create("program");
    tcase_add_test(program, three_photos_tell_that_neutral_is_off_the_middle);
    tcase_add_test(program, ray_traced_photos_of_a_hidden_crank_are_measured_as_they_are);
    tcase_add_test(program, no_photo_gives_an_arm);
    tcase_add_test(program, what_cannot_be_told_is_refused_with_a_cure);
    tcase_add_test(program, a_job_keeps_a_centred_station_by_stickers);
    suite_add_tcase(suite, program);
    int status = run_suite(suite);
    char command[100];
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    return system(command) == 0 ? status : 1;
}
