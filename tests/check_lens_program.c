/* armsquare lens as a person runs it: photos of a known camera in, a profile out, and measuring
 * with it. */
#include "check_main.h"
#include "flat_scene.h"
#include "program.h"

#include <check.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define CARDS 9
#define DEG (180 / 3.14159265358979323846)

/* A lens that bends about as much as phones do that do not correct it. */
static const struct flat_camera camera = {1360, 1020, 1060, 688, 502, -0.07, 0.02};

static char folder[] = "/tmp/armsquare-lens-XXXXXX";

static const char *in_folder(const char *name)
{
    static char path[300];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

/* Runs "armsquare" with @ in its words standing for the folder, whose "data" is XDG's. */
static void run(struct run *result, const char *words)
{
    char command[8192];
    size_t at = 0;
    for (; *words && at + sizeof folder < sizeof command; words++) {
        if (*words == '@')
            at += (size_t)snprintf(command + at, sizeof command - at, "%s", folder);
        else
            command[at++] = *words;
    }
    command[at] = '\0';
    run_program(command, result);
}

/* EXIF 2.3: make, model, focal length, 35 mm equivalent. f = 4.25 mm; 1060 px of a diagonal of 1700
 * px make 27 mm of 43.27. */
static struct bytes papers(const char *model, uint32_t focal_hundredths)
{
    const struct exif_entry ifd0[] = {{.tag = 0x010f, .type = 2, .text = "Example"},
                                      {.tag = 0x0110, .type = 2, .text = model}};
    const struct exif_entry exif[] = {
        {.tag = 0x920a, .type = 5, .value = focal_hundredths, .denominator = 100},
        {.tag = 0xa405, .type = 3, .value = 27}};
    return exif_build(ifd0, 2, exif, 2);
}

static void keep(const char *name, struct picture picture, struct bytes exif)
{
    struct bytes file = jpeg_encode(&picture, &(struct jpeg_settings){.quality = 92, .exif = exif});
    bytes_write(&file, in_folder(name));
    bytes_free(&file);
    bytes_free(&exif);
    picture_free(&picture);
}

static void keep_card(const char *name, int i, double slant_deg, struct bytes exif)
{
    double a = 40.0 * i / DEG;
    struct flat_pose pose = {.roll_deg = 5.0 * (i - 4),
                             .right_deg = slant_deg * cos(a),
                             .up_deg = slant_deg * sin(a),
                             .x_mm = 33 * (i % 3 - 1),
                             .y_mm = 26 * (i / 3 % 3 - 1),
                             .distance_mm = 136};
    keep(name, flat_scene_through(&camera, &pose, NULL, 0), exif);
}

/* Arms at 83 and 173 degrees, far from the middle of the picture. */
static const double arms[2] = {83, 173};

static const struct flat_pose horn_pose = {
    .right_deg = -6, .up_deg = 5, .x_mm = 27, .y_mm = 21, .distance_mm = 120};

static void keep_horn(const char *name, struct bytes exif)
{
    keep(name, flat_scene_through(&camera, &horn_pose, arms, 2), exif);
}

/* The same arms, 22 degrees aslant. */
static void keep_aslant(const char *name)
{
    const struct flat_pose pose = {.right_deg = 18, .up_deg = 13, .distance_mm = 130};
    keep(name, flat_scene_through(&camera, &pose, arms, 2), (struct bytes){0});
}

static void make_card_photos(void)
{
    char name[40];
    ck_assert_ptr_nonnull(mkdtemp(folder));
    setenv("XDG_DATA_HOME", in_folder("data"), 1);
    for (int i = 0; i < CARDS; i++) {
        snprintf(name, sizeof name, "card%d.jpg", i);
        keep_card(name, i, 24, papers("Pocket 3", 425));
    }
    for (int i = 0; i < 8; i++) {
        snprintf(name, sizeof name, "flat%d.jpg", i);
        /* No two alike: a photo given twice is refused before anything else. */
        keep_card(name, i % 3 == 1 ? 4 : i, 2 + 0.05 * i, papers("Pocket 3", 425));
    }
    keep_card("other.jpg", 1, 24, papers("Pocket 4", 425));
    keep_card("tele.jpg", 1, 24, papers("Pocket 3", 900));
    keep_horn("horn.jpg", papers("Pocket 3", 425));
    keep_horn("strange.jpg", papers("Pocket 4", 425));
    keep_horn("bare.jpg", (struct bytes){0});
    keep_aslant("aslant.jpg");
    struct picture bench = picture_new(camera.width, camera.height);
    keep("bench.jpg", bench, papers("Pocket 3", 425));
}

#define ALL_CARDS                                                                                  \
    "@/card0.jpg @/card1.jpg @/card2.jpg @/card3.jpg @/card4.jpg @/card5.jpg @/card6.jpg "         \
    "@/card7.jpg @/card8.jpg"

#define FLAT_CARDS                                                                                 \
    "@/flat0.jpg @/flat1.jpg @/flat2.jpg @/flat3.jpg @/flat4.jpg @/flat5.jpg @/flat6.jpg "         \
    "@/flat7.jpg"

static struct run r;

static void make_photos(void)
{
    make_card_photos();
    run(&r, "lens -o @/mine.json " ALL_CARDS);
    ck_assert_msg(r.status == 0, "%s", r.err);
    ck_assert_str_eq(r.err, "");
}

static json_t *parse(void)
{
    json_error_t error;
    json_t *json = json_loads(r.out, 0, &error);
    ck_assert_msg(json != NULL, "%s in %s", error.text, r.out);
    return json;
}

static double at(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    ck_assert_msg(json_is_number(value), "no number \"%s\"", key);
    return json_number_value(value);
}

static void ck_within(double found, double want, double u, const char *what)
{
    ck_assert_msg(fabs(found - want) <= 2.5 * u, "%s: %.6g, true %.6g, u %.2g", what, found, want,
                  u);
}

START_TEST(nine_photos_give_the_camera_within_its_uncertainty)
{
    run(&r, "lens --json -o @/again.json " ALL_CARDS);
    ck_assert_msg(r.status == 0, "%s", r.err);
    json_t *json = parse();
    const json_t *profile = json_object_get(json, "profile");
    const json_t *centre = json_object_get(profile, "centre_px");
    ck_within(at(profile, "focal_px"), camera.focal_px, at(json, "u_focal_px"), "focal length");
    ck_within(json_number_value(json_array_get(centre, 0)), camera.centre_x_px,
              at(json, "u_centre_px"), "centre x");
    ck_within(json_number_value(json_array_get(centre, 1)), camera.centre_y_px,
              at(json, "u_centre_px"), "centre y");
    ck_within(at(profile, "k1"), camera.k1, at(json, "u_k1"), "k1");
    ck_within(at(profile, "k2"), camera.k2, at(json, "u_k2"), "k2");
    /* and it tells something */
    ck_assert_msg(at(json, "u_focal_px") < 0.01 * camera.focal_px, "%s", r.out);
    ck_assert_msg(at(json, "u_k1") < 0.01, "%s", r.out);
    ck_assert_msg(at(profile, "held_out_px") < 0.2, "%s", r.out);
    ck_assert_int_eq((int)json_array_size(json_object_get(json, "views")), CARDS);
    json_decref(json);
    run(&r, "lens -o @/again.json " ALL_CARDS);
    ck_assert_msg(strstr(r.out, "Lens profile of Example Pocket 3, 4.25 mm, from 9 photos") != NULL,
                  "%s", r.out);
    ck_assert_msg(strstr(r.out, "removes errors of up to") != NULL, "%s", r.out);
}
END_TEST

/* How far the worst of the card's corners is told from where the camera shows it. */
static double corner_error_px(const json_t *json)
{
    const json_t *corners = json_object_get(json_object_get(json, "card"), "corners_px");
    double worst = 0;
    ck_assert_uint_eq(json_array_size(corners), 4);
    for (size_t i = 0; i < 4; i++) {
        const json_t *corner = json_array_get(corners, i);
        double x, y; /* ISO/IEC 7810 ID-1: 85.60 x 53.98 mm */
        flat_camera_project(&camera, &horn_pose, i == 1 || i == 2 ? 42.8 : -42.8,
                            i >= 2 ? 26.99 : -26.99, &x, &y);
        worst = fmax(worst, hypot(json_number_value(json_array_get(corner, 0)) - x,
                                  json_number_value(json_array_get(corner, 1)) - y));
    }
    return worst;
}

/* Measures a photo; its worst arm's error, and which profile was used ("" none). */
static double error_deg(const char *words, char profile[96], double *u_deg, double *corner_px)
{
    run(&r, words);
    ck_assert_msg(r.status == 0, "%s: %s", words, r.err);
    json_t *json = parse();
    const char *name = json_string_value(json_object_get(json_object_get(json, "lens"), "profile"));
    snprintf(profile, 96, "%s", name ? name : "");
    const json_t *list = json_object_get(json, "arms");
    double worst = 0;
    *corner_px = corner_error_px(json);
    *u_deg = 0;
    ck_assert_uint_eq(json_array_size(list), 2);
    for (size_t i = 0; i < 2; i++) {
        const json_t *arm = json_array_get(list, i);
        double error = fabs(at(arm, "angle_deg") - arms[i]);
        if (error >= worst) {
            worst = error;
            *u_deg = at(arm, "u_deg");
        }
    }
    json_decref(json);
    return worst;
}

START_TEST(measuring_takes_the_profile_of_the_photos_camera)
{
    char profile[96];
    double u, with, without, corner, corner_without;
    without = error_deg("measure --json --no-picture @/horn.jpg", profile, &u, &corner_without);
    ck_assert_str_eq(profile, "");
    run(&r, "lens " ALL_CARDS);
    ck_assert_msg(r.status == 0, "%s", r.err);
    ck_assert_int_eq(
        access(in_folder("data/armsquare/lenses/example-pocket-3-4.25mm-1061-1360x1020.json"),
               R_OK),
        0);
    with = error_deg("measure --json --no-picture @/horn.jpg", profile, &u, &corner);
    ck_assert_str_eq(profile, "Example Pocket 3, 4.25 mm");
    ck_assert_msg(with <= 2 * u, "off by %.3f, u %.3f", with, u);
    ck_assert_msg(corner < 0.25 && corner < corner_without / 2, "corners off by %.3f px, %.3f",
                  corner, corner_without);
    printf("arms off by %.3f degrees with, %.3f without the profile; corners %.3f px, %.3f\n", with,
           without, corner, corner_without);
    error_deg("measure --json --no-picture --lens none @/horn.jpg", profile, &u, &corner);
    ck_assert_str_eq(profile, "");
    error_deg("measure --json --no-picture @/strange.jpg", profile, &u, &corner);
    ck_assert_str_eq(profile, "");
    error_deg("measure --json --no-picture @/bare.jpg", profile, &u, &corner);
    ck_assert_str_eq(profile, "");
    error_deg("measure --json --no-picture --lens "
              "@/data/armsquare/lenses/example-pocket-3-4.25mm-1061-1360x1020.json @/bare.jpg",
              profile, &u, &corner);
    ck_assert_str_eq(profile, "Example Pocket 3, 4.25 mm");
    run(&r, "measure --no-picture @/horn.jpg");
    ck_assert_msg(strstr(r.out, "Lens: profile of Example Pocket 3, 4.25 mm") != NULL, "%s", r.out);
}
END_TEST

static void keep_profile_of(const char *name, double focal_px)
{
    json_t *profile = json_load_file(in_folder("mine.json"), 0, NULL);
    ck_assert_ptr_nonnull(profile);
    json_object_set_new(profile, "focal_px", json_real(focal_px));
    ck_assert_int_eq(json_dump_file(profile, in_folder(name), 0), 0);
    json_decref(profile);
}

/* A photo whose EXIF data is lost: the card in it tells that the profile is of another camera, and
 * nothing is said against the right one, nor against one that is off by what refocusing does. */
START_TEST(the_card_speaks_against_a_profile_of_another_camera)
{
    static const struct {
        double times;
        int status;
    } rows[] = {{1, 0}, {0.96, 0}, {1.04, 0}, {0.5, 3}, {1.5, 3}, {3.1, 3}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        keep_profile_of("changed.json", rows[i].times * camera.focal_px);
        run(&r, "measure --no-picture --lens @/changed.json @/aslant.jpg");
        ck_assert_msg(r.status == rows[i].status, "%g: %d, %s%s", rows[i].times, r.status, r.out,
                      r.err);
        ck_assert_msg(r.status == 0 || (strstr(r.err, "made for another camera") &&
                                        strstr(r.err, "measure with --lens none")),
                      "%g: %s", rows[i].times, r.err);
    }
    unlink(in_folder("changed.json"));
}
END_TEST

START_TEST(the_profile_travels_in_the_picture)
{
    run(&r, "measure --lens @/mine.json -o @/horn.png @/horn.jpg");
    ck_assert_msg(r.status == 0, "%s", r.err);
    run(&r, "read --json @/horn.png");
    ck_assert_msg(strstr(r.out, "\"profile\":\"Example Pocket 3, 4.25 mm\"") != NULL, "%s", r.out);
    unlink(in_folder("horn.png"));
}
END_TEST

START_TEST(every_command_that_measures_takes_a_profile)
{
    run(&r, "advise --lens @/mine.json --teeth 25 @/horn.jpg");
    ck_assert_msg(r.status == 0, "%s", r.err);
    ck_assert_msg(strstr(r.out, "Lens: profile of Example Pocket 3") != NULL, "%s", r.out);
    run(&r, "advise --lens @/nowhere.json --teeth 25 @/horn.jpg");
    ck_assert_int_eq(r.status, 3);
    run(&r, "trim-scale --lens @/nowhere.json a.jpg b.jpg");
    ck_assert_msg(strstr(r.err, "cannot be read") != NULL, "%s", r.err);
    run(&r, "job measure --help");
    ck_assert_msg(strstr(r.out, "--lens") != NULL, "%s", r.out);
    run(&r, "linkage angle --lens @/nowhere.json 90:@/horn.jpg");
    ck_assert_int_eq(r.status, 3);
    ck_assert_msg(strstr(r.err, "cannot be read") != NULL, "%s", r.err);
    run(&r, "linkage angle --lens @/mine.json 90:@/strange.jpg");
    ck_assert_int_eq(r.status, 3);
    ck_assert_msg(strstr(r.err, "another camera") != NULL, "%s", r.err);
}
END_TEST

/* The first arm's angle as measure finds it, or its distance from "wanted 0" as linkage does, with
 * the same words about the photo. */
static void angle_of(const char *command, const char *photo_words, double *deg, double *u_deg)
{
    char words[200];
    snprintf(words, sizeof words, "%s %s", command, photo_words);
    run(&r, words);
    ck_assert_msg(r.status == 0, "%s: %s", words, r.err);
    json_t *json = parse();
    const json_t *off = json_object_get(json, "off_deg");
    const json_t *arm = json_array_get(json_object_get(json, "arms"), 0);
    *deg = off ? at(off, "value") : at(arm, "angle_deg");
    *u_deg = off ? at(off, "u") : at(arm, "u_deg");
    json_decref(json);
}

START_TEST(linkage_measures_as_measure_does)
{
    static const char *const photo_words[] = {"--lens none", "--lens @/mine.json", "--tilt 3",
                                              "--bars 99,101", "--focal 900"};
    double plain, plain_u, deg, u, measured, measured_u;
    angle_of("linkage turns --json --arm 15 --wanted 0 @/horn.jpg", "--lens none", &plain,
             &plain_u);
    for (size_t i = 0; i < sizeof photo_words / sizeof photo_words[0]; i++) {
        angle_of("linkage turns --json --arm 15 --wanted 0 @/horn.jpg", photo_words[i], &deg, &u);
        angle_of("measure --json --no-picture @/horn.jpg", photo_words[i], &measured, &measured_u);
        assert_near(deg, measured, 1e-3); /* measure rounds to so many digits */
        ck_assert_msg(fabs(u - measured_u) < 0.2 * measured_u, "%g, %g", u, measured_u);
        ck_assert_msg(i == 0 || fabs(deg - plain) > 1e-4 || fabs(u - plain_u) > 1e-4, "%s",
                      photo_words[i]);
    }
    run(&r, "linkage turns 91 --arm 15 --focal 3");
    ck_assert_int_eq(r.status, 2);
    run(&r, "linkage solve --horn 12 --along 58 --arm 15 --lens none"); /* takes no photos */
    ck_assert_int_eq(r.status, 2);
    static const char *const modes[] = {"turns", "centre", "parallel", "level", "angle"};
    for (size_t i = 0; i < sizeof modes / sizeof modes[0]; i++) {
        char words[40];
        snprintf(words, sizeof words, "linkage %s --help", modes[i]);
        run(&r, words);
        ck_assert_msg(strstr(r.out, "--lens FILE") != NULL, "%s", r.out);
    }
}
END_TEST

static const struct {
    const char *words, *says;
    int status;
} refusals[] = {
    {"lens", "8 or more", 2},
    {"lens --json", "8 or more", 2},
    {"lens --fast @/card0.jpg", "no option", 2},
    {"lens @/card0.jpg @/card1.jpg @/card1.jpg", "are one photo", 2},
    {"lens @/card0.jpg @/card1.jpg @/card2.jpg", "too few photos", 3},
    {"lens " ALL_CARDS " @/other.jpg", "different cameras", 3},
    {"lens " ALL_CARDS " @/tele.jpg", "different lenses", 3},
    {"lens " FLAT_CARDS, "same direction", 3},
    {"lens -o @/no/such/place.json " ALL_CARDS, "could not be written", 1},
    {"lens -o @/card0.jpg " ALL_CARDS, "must end in .json", 2},
    {"measure --lens @/nowhere.json @/horn.jpg",
     "cannot be read: there is no such file; check its name and where it lies.", 3},
    {"measure --lens @/card0.jpg @/horn.jpg", "no lens profile", 3},
    {"measure --no-picture --lens @/mine.json @/strange.jpg", "another camera", 3},
};

START_TEST(refusals_say_what_is_wrong)
{
    run(&r, refusals[_i].words);
    ck_assert_msg(r.status == refusals[_i].status, "%s: status %d: %s", refusals[_i].words,
                  r.status, r.err);
    ck_assert_msg(strstr(r.err, refusals[_i].says) != NULL, "\"%s\" lacks \"%s\"", r.err,
                  refusals[_i].says);
    ck_assert_msg(run_says_one_sentence(&r), "%s", r.err);
}
END_TEST

START_TEST(too_few_photos_say_which_are_wanted)
{
    run(&r, "lens @/card0.jpg @/card3.jpg @/bench.jpg");
    ck_assert_int_eq(r.status, 3);
    ck_assert_msg(strstr(r.err, "bench.jpg is left out: The photo is too dark") != NULL, "%s",
                  r.err);
    run(&r, "measure -o @/drawn.png @/horn.jpg");
    ck_assert_int_eq(r.status, 0);
    run(&r, "lens @/card0.jpg @/card3.jpg @/drawn.png");
    ck_assert_msg(strstr(r.err, "drawn.png is left out: This is a picture with lines") != NULL,
                  "%s", r.err);
    unlink(in_folder("drawn.png"));
    run(&r, "lens @/card0.jpg @/card3.jpg @/bench.jpg");
    ck_assert_msg(strstr(r.out, "6 more") != NULL, "%s", r.out);
    ck_assert_msg(strstr(r.out, "right corner") != NULL, "%s", r.out);
    /* card0 faces right, card3 left and up */
    ck_assert_msg(!strstr(r.out, "from the") && !strstr(r.out, "from below") &&
                      strstr(r.out, "from above"),
                  "%s", r.out);
    run(&r, "lens @/card0.jpg");
    ck_assert_msg(strstr(r.out, "some slanting by about 25 degrees") != NULL, "%s", r.out);
    run(&r, "lens " FLAT_CARDS);
    ck_assert_msg(strstr(r.out, "from the left") && strstr(r.out, "from above"), "%s", r.out);
}
END_TEST

static void check_null(const json_t *object, const char *key, bool null)
{
    const json_t *value = json_object_get(object, key);
    ck_assert_msg(value && json_is_null(value) == null, "%s in %s", key, r.out);
}

/* Zero would be a lens known without any doubt. */
START_TEST(what_was_not_worked_out_is_null)
{
    static const char *const of_lens[] = {"u_focal_px", "u_centre_px", "u_k1", "u_k2", "plain_px"};
    static const char *const of_view[] = {"rms_px", "held_out_px", "removed_deg"};
    static const struct {
        const char *words;
        bool lens, leans;
    } rows[] = {{"lens --json @/card0.jpg @/card1.jpg @/card2.jpg", false, true},
                {"lens --json @/card0.jpg @/bench.jpg", false, false},
                {"lens --json " FLAT_CARDS, false, true},
                {"lens --json -o @/again.json " ALL_CARDS, true, true}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        run(&r, rows[i].words);
        json_t *json = parse();
        const json_t *view = json_array_get(json_object_get(json, "views"), 0);
        check_null(json, "profile", !rows[i].lens);
        for (size_t k = 0; k < sizeof of_lens / sizeof of_lens[0]; k++)
            check_null(json, of_lens[k], !rows[i].lens);
        for (size_t k = 0; k < sizeof of_view / sizeof of_view[0]; k++)
            check_null(view, of_view[k], !rows[i].lens);
        check_null(json, "spread_deg", !rows[i].leans);
        check_null(view, "lean_right_deg", !rows[i].leans);
        check_null(view, "lean_up_deg", !rows[i].leans);
        json_decref(json);
    }
}
END_TEST

START_TEST(a_broken_profile_on_the_shelf_is_told_and_left_out)
{
    run(&r, "lens " ALL_CARDS);
    struct bytes text = {(uint8_t *)"{}", 2};
    bytes_write(&text, in_folder("data/armsquare/lenses/old.json"));
    run(&r, "measure --no-picture @/horn.jpg");
    ck_assert_int_eq(r.status, 0);
    ck_assert_msg(run_says_one_sentence(&r) && strstr(r.err, "old.json\" is no lens profile"), "%s",
                  r.err);
    ck_assert_msg(strstr(r.out, "Lens: profile of") != NULL, "%s", r.out);
    run(&r, "measure --no-picture --lens none @/horn.jpg");
    ck_assert_str_eq(r.err, "");
}
END_TEST

static void remove_photos(void)
{
    char command[100];
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    ck_assert_int_eq(system(command), 0); /* NOLINT(cert-env33-c): a test's own folder */
}

int main(void)
{
    Suite *suite = suite_create("lens program");
    TCase *tests = tcase_create("lens");
    tcase_set_timeout(tests, 300);
    tcase_add_unchecked_fixture(tests, make_photos, remove_photos);
    tcase_add_test(tests, measuring_takes_the_profile_of_the_photos_camera);
    tcase_add_test(tests, nine_photos_give_the_camera_within_its_uncertainty);
    tcase_add_test(tests, the_card_speaks_against_a_profile_of_another_camera);
    tcase_add_test(tests, the_profile_travels_in_the_picture);
    tcase_add_test(tests, every_command_that_measures_takes_a_profile);
    tcase_add_test(tests, linkage_measures_as_measure_does);
    tcase_add_loop_test(tests, refusals_say_what_is_wrong, 0,
                        (int)(sizeof refusals / sizeof refusals[0]));
    tcase_add_test(tests, too_few_photos_say_which_are_wanted);
    tcase_add_test(tests, what_was_not_worked_out_is_null);
    tcase_add_test(tests, a_broken_profile_on_the_shelf_is_told_and_left_out);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
