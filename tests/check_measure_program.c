/* armsquare measure and read as a person runs them: answers, exit statuses, pictures, refusals. */
#include "check_main.h"
#include "flat_scene.h"
#include "outside.h"
#include "program.h"
#include "truth_file.h"

#include <dirent.h>
#include <jansson.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define FOLDER "/tmp/armsquare-measure-XXXXXX"

static char folder[] = FOLDER;

/* Runs "armsquare" with words in which @ stands for the folder of photos, and % for @. */
static void run(struct run *result, const char *words)
{
    char command[4096];
    size_t at = 0;
    for (; *words && at + sizeof folder < sizeof command; words++) {
        if (*words == '@')
            at += (size_t)snprintf(command + at, sizeof command - at, "%s", folder);
        else
            command[at++] = *words == '%' ? '@' : *words;
    }
    command[at] = '\0';
    run_program(command, result);
}

static const char *in_folder(const char *name)
{
    static char path[200];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

static void keep(const char *name, struct bytes file)
{
    bytes_write(&file, in_folder(name));
    bytes_free(&file);
}

static struct bytes encode(struct picture *picture)
{
    struct bytes file = jpeg_encode(picture, &(struct jpeg_settings){.h_samp = 2, .v_samp = 2});
    picture_free(picture);
    return file;
}

static void keep_photo(const char *name, struct picture picture)
{
    keep(name, encode(&picture));
}

static void keep_text(const char *name, const char *text, size_t size)
{
    struct bytes bytes = {(uint8_t *)text, size};
    bytes_write(&bytes, in_folder(name));
}

static void make_broken_files(void)
{
    struct bytes whole = bytes_read(in_folder("right.jpg"));
    struct bytes half = {whole.data, whole.size / 2};
    bytes_write(&half, in_folder("half.jpg"));
    bytes_free(&whole);
    keep_text("empty.jpg", "", 0);
    keep_text("text.jpg", "This is a shopping list.", 24);
    keep_text("photo.heic",
              "\0\0\0\x18"
              "ftypheic\0\0\0\0mif1heic",
              24);
    struct picture dot = picture_new(1, 1);
    keep("dot.png", png_encode(&dot, &(struct png_settings){0}));
    picture_free(&dot);
    /* IHDR of 20000 x 12000 with its CRC, and acTL before the pixels (see check_photo.c) */
    keep_text(
        "huge.png",
        "\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR\0\0\x4e\x20\0\0\x2e\xe0\x08\x02\0\0\0\xf6\x4c\x83\x3f"
        "\0\0\0\0IEND\xae\x42\x60\x82",
        45);
    keep_text("moving.png",
              "\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR\0\0\0\x40\0\0\0\x40\x08\x02\0\0\0\x25\x0b\xe6\x89"
              "\0\0\0\x08"
              "acTL\0\0\0\x02\0\0\0\0\xf3\x8d\x93\x70\0\0\0\0IEND\xae\x42\x60\x82",
              65);
}

/* Drawn once, and laid into the folder of each test. */
static struct {
    const char *name;
    struct bytes file;
} made[] = {{.name = "right.jpg"},
            {.name = "square.jpg"},
            {.name = "cross.jpg"},
            {.name = "bare.jpg"},
            {.name = "bench.jpg"}};
#define MADE (sizeof made / sizeof *made)

static void draw_photos(void)
{
    static const double right[] = {87.1}, square[] = {90.0}, cross[] = {4, 94, 184, 274};
    struct picture drawn[MADE] = {flat_scene(right, 1), flat_scene(square, 1), flat_scene(cross, 4),
                                  flat_scene_bare_card(), flat_scene_bench()};
    for (size_t i = 0; i < MADE; i++)
        made[i].file = encode(&drawn[i]);
}

static void drop_photos(void)
{
    for (size_t i = 0; i < MADE; i++)
        bytes_free(&made[i].file);
}

static void set_up(void)
{
    ck_assert_ptr_nonnull(mkdtemp(folder));
    for (size_t i = 0; i < MADE; i++)
        bytes_write(&made[i].file, in_folder(made[i].name));
    make_broken_files();
}

static void tear_down(void)
{
    char command[100];
    snprintf(command, sizeof command, "chmod -R u+w '%s' && rm -r '%s'", folder, folder);
    if (system(command) != 0) /* NOLINT(cert-env33-c): our own folder */
        perror(folder);
    snprintf(folder, sizeof folder, "%s", FOLDER);
}

/* Names in a folder that begin with prefix. */
static int count_files(const char *path, const char *prefix)
{
    DIR *dir = opendir(path);
    int count = 0;
    for (struct dirent *entry; dir && (entry = readdir(dir)) != NULL;)
        count += strncmp(entry->d_name, prefix, strlen(prefix)) == 0 && entry->d_name[0] != '.';
    if (dir)
        closedir(dir);
    return count;
}

static void check_gone(const char *name)
{
    ck_assert_msg(access(in_folder(name), F_OK) != 0, "%s is there", name);
}

/* The i-th line of text as JSON; owned by the caller. */
static json_t *json_line(const char *text, int i)
{
    for (; i > 0; i--)
        text = strchr(text, '\n') + 1;
    size_t length = strcspn(text, "\n");
    json_t *json = json_loadb(text, length, 0, NULL);
    ck_assert_msg(json != NULL, "no JSON: %.*s", (int)length, text);
    return json;
}

static const char *member(const json_t *json, const char *key)
{
    return json_string_value(json_object_get(json, key));
}

static double deviation(const json_t *json, size_t arm)
{
    const json_t *one = json_array_get(json_object_get(json, "arms"), arm);
    return json_number_value(json_object_get(one, "deviation_deg"));
}

/* ---- Answers ------------------------------------------------------------------------------ */

START_TEST(a_photo_is_answered_with_angle_cure_and_picture)
{
    struct run result;
    run(&result, "measure @/right.jpg");
    ck_assert_int_eq(result.status, 0);
    ck_assert_str_eq(result.err, "");
    ck_assert_msg(strstr(result.out, "right.jpg: Arm A lies 2.9") ||
                      strstr(result.out, "right.jpg: Arm A lies 2.8") ||
                      strstr(result.out, "right.jpg: Arm A lies 3.0"),
                  "%s", result.out);
    ck_assert_ptr_nonnull(strstr(result.out, "degrees clockwise of square. Turn it "
                                             "counter-clockwise as seen in the photo.\n"));
    ck_assert_ptr_nonnull(strstr(result.out, "    Picture: "));
    ck_assert_int_eq(access(in_folder("right.armsquare.png"), R_OK), 0);
    ck_assert_int_eq(count_files(folder, "right.armsquare.png"), 1); /* no draft beside it */
}
END_TEST

START_TEST(json_gives_one_line_a_photo_in_the_order_given)
{
    struct run result;
    run(&result, "measure --json --no-picture @/cross.jpg @/right.jpg @/square.jpg @/right.jpg");
    ck_assert_int_eq(result.status, 0);
    static const char *const names[] = {"cross.jpg", "right.jpg", "square.jpg", "right.jpg"};
    static const double wanted[] = {4, -2.9, 0, -2.9}; /* as drawn by flat_scene */
    for (int i = 0; i < 4; i++) {
        json_t *json = json_line(result.out, i);
        ck_assert_ptr_nonnull(strstr(member(json, "photo"), names[i]));
        ck_assert_str_eq(member(json, "status"), "ok");
        ck_assert_double_eq_tol(deviation(json, 0), wanted[i], 0.15);
        json_decref(json);
    }
    check_gone("right.armsquare.png");
}
END_TEST

START_TEST(every_arm_of_a_cross_is_told)
{
    struct run result;
    run(&result, "measure --json --no-picture @/cross.jpg");
    json_t *json = json_line(result.out, 0);
    ck_assert_uint_eq(json_array_size(json_object_get(json, "arms")), 4);
    for (size_t i = 0; i < 4; i++)
        ck_assert_double_eq_tol(deviation(json, i), 4, 0.15);
    json_decref(json);
}
END_TEST

/* ---- Ray-traced photos: the hub on the servo, beside the card -------------------------------- */

static struct truth truth_of(const char *photo)
{
    char path[400];
    struct truth truth;
    snprintf(path, sizeof path, "%s/butted/%s.json", TEST_DATA, photo);
    ck_assert_msg(truth_read(path, &truth), "%s", path);
    return truth;
}

static json_t *measured_beside_card(const char *photo)
{
    struct run result;
    char words[500];
    snprintf(words, sizeof words, "measure --json --no-picture %s/butted/%s.jpg", TEST_DATA, photo);
    run(&result, words);
    return json_line(result.out, 0);
}

static double pair_member(const json_t *arm, const char *name, size_t i)
{
    return json_number_value(json_array_get(json_object_get(arm, name), i));
}

START_TEST(an_arm_from_beside_the_card_is_told_with_its_hub)
{
    static const char *const photos[] = {"tune-23-single-silver", "kept-24-double-red"};
    const double hub_px = 25; /* the screw's head stands some millimetres above the hub's middle */
    const struct truth truth = truth_of(photos[_i]);
    json_t *json = measured_beside_card(photos[_i]);
    ck_assert_str_eq(member(json, "status"), "ok");
    const json_t *arm = json_array_get(json_object_get(json, "arms"), 0);
    double off = json_number_value(json_object_get(arm, "angle_deg")) - truth.arms[0].angle_deg;
    ck_assert_double_le(fabs(remainder(off, 360)),
                        3 * json_number_value(json_object_get(arm, "u_deg")));
    ck_assert_double_le(hypot(pair_member(arm, "hub_px", 0) - truth.hub_px.x,
                              pair_member(arm, "hub_px", 1) - truth.hub_px.y),
                        hub_px);
    json_decref(json);
}
END_TEST

/* Its link lies over the card like a horn with two arms. */
START_TEST(a_link_over_the_card_is_not_taken_for_the_horn_beside_it)
{
    const char *photo = "tune-17-double-tint-a";
    const struct truth truth = truth_of(photo);
    json_t *json = measured_beside_card(photo);
    const json_t *arm = json_array_get(json_object_get(json, "arms"), 0);
    double off = json_number_value(json_object_get(arm, "angle_deg")) - truth.arms[0].angle_deg;
    ck_assert(strcmp(member(json, "status"), "ok") != 0 || fabs(remainder(off, 360)) < 1);
    json_decref(json);
}
END_TEST

START_TEST(a_square_arm_is_left_alone)
{
    struct run result;
    run(&result, "measure --no-picture @/square.jpg");
    ck_assert_ptr_nonnull(strstr(result.out, "Leave it."));
    ck_assert_ptr_null(strstr(result.out, "Turn it"));
}
END_TEST

START_TEST(pictures_go_where_they_are_sent)
{
    struct run result;
    run(&result, "measure --out @/new @/right.jpg @/square.jpg");
    ck_assert_int_eq(result.status, 0);
    ck_assert_int_eq(count_files(in_folder("new"), ""), 2);
    run(&result, "measure -o @/here.png @/right.jpg");
    ck_assert_int_eq(result.status, 0);
    ck_assert_int_eq(access(in_folder("here.png"), R_OK), 0);
    check_gone("right.armsquare.png");
}
END_TEST

/* "*" finds the pictures of the run before, and a photo that is only named like one. */
START_TEST(pictures_of_an_earlier_run_are_left_out)
{
    static struct run result;
    ck_assert_int_eq(symlink("square.jpg", in_folder("new.armsquare.png")), 0);
    for (int again = 0; again < 2; again++) {
        run(&result, "measure @/right.jpg @/cross.jpg $(ls @/*.armsquare.png)");
        ck_assert_msg(result.status == 0, "%s", result.err);
        ck_assert_msg(strstr(result.out, "right.jpg: Arm A") && strstr(result.out, "new.armsquare"),
                      "%s", result.out);
    }
    ck_assert_msg(strstr(result.err, "cross.armsquare.png\" and 2 more are pictures that this"),
                  "%s", result.err);
    run(&result, "measure --no-picture @/right.armsquare.png");
    ck_assert_msg(result.status == 3 && strstr(result.err, "lines already drawn in"), "%s",
                  result.err);
}
END_TEST

START_TEST(many_photos_show_progress_and_fail_one_by_one)
{
    char words[2000] = "measure --json --no-picture";
    for (int i = 0; i < 20; i++)
        snprintf(words + strlen(words), sizeof words - strlen(words), " @/%s.jpg",
                 i % 5 == 4 ? "bench" : "empty");
    struct run result;
    run(&result, words);
    ck_assert_int_eq(result.status, 3);
    ck_assert_ptr_nonnull(strstr(result.err, "armsquare: 10 of 20 photos are done.\n"));
    ck_assert_ptr_nonnull(strstr(result.err, "armsquare: 0 of 20 photos gave an answer; what is"));
    for (int i = 0; i < 20; i++) {
        json_t *json = json_line(result.out, i);
        ck_assert_str_eq(member(json, "reason"), i % 5 == 4 ? "no-card" : "empty-file");
        json_decref(json);
    }
}
END_TEST

/* What "armsquare measure" with these options tells of one photo; owned by the caller. */
static json_t *measured(const char *options, const char *photo)
{
    struct run result;
    char words[300];
    snprintf(words, sizeof words, "measure --json --no-picture %s @/%s", options, photo);
    run(&result, words);
    ck_assert_msg(result.status == 0, "%s: %s%s", words, result.out, result.err);
    return json_line(result.out, 0);
}

/* A number of the photo's first arm. */
static double arm_number(const char *options, const char *photo, const char *key)
{
    json_t *json = measured(options, photo);
    const json_t *arm = json_array_get(json_object_get(json, "arms"), 0);
    double value = json_number_value(json_object_get(arm, key));
    json_decref(json);
    return value;
}

START_TEST(the_reference_is_the_line_of_the_points)
{
    json_t *json = measured("--reference points --hint 200,900,1300,920", "right.jpg");
    const json_t *reference = json_object_get(json, "reference");
    ck_assert_str_eq(member(reference, "kind"), "points");
    /* the line falls to the right by atan(20 / 1100), 1.04 degrees clockwise */
    assert_near(json_number_value(json_object_get(reference, "angle_deg")), -1.04, 0.05);
    json_decref(json);
    assert_near(arm_number("--reference points --hint 200,900,1300,920", "right.jpg", "angle_deg"),
                87.1 + 1.04, 0.2);
}
END_TEST

/* Of four arms, at 4, 94, 184 and 274 degrees, the one whose hub and tip are given, however
 * roughly: these lie 3 degrees off. */
START_TEST(the_arm_is_the_one_pointed_at)
{
    json_t *json = measured("--arm 750,500,540,525", "cross.jpg");
    ck_assert_uint_eq(json_array_size(json_object_get(json, "arms")), 1);
    json_decref(json);
    assert_near(arm_number("--arm 750,500,540,525", "cross.jpg", "angle_deg"), 184, 0.2);
    assert_near(arm_number("--arm 750,500,775,710", "cross.jpg", "angle_deg"), 274, 0.2);
}
END_TEST

/* x printed too long and y too short: an arm that looks like 45 degrees lies flatter, or steeper
 * with the bars swapped. */
START_TEST(the_bars_put_the_angle_right)
{
    const double arm[] = {45}, deg = 180 / 3.14159265358979;
    keep_photo("slant.jpg", flat_scene(arm, 1));
    assert_near(arm_number("--bars 103,97", "slant.jpg", "angle_deg"), deg * atan2(97, 103), 0.15);
    assert_near(arm_number("--bars 97,103", "slant.jpg", "angle_deg"), deg * atan2(103, 97), 0.15);
}
END_TEST

static double tilt_u_deg(const char *options)
{
    json_t *json = measured(options, "side.jpg");
    const json_t *arm = json_array_get(json_object_get(json, "arms"), 0), *line;
    double u = -1;
    size_t i;
    json_array_foreach(json_object_get(arm, "budget"), i, line)
    {
        if (strcmp(member(line, "term"), "card tilted to the arm") == 0)
            u = json_number_value(json_object_get(line, "u_deg"));
    }
    json_decref(json);
    return u;
}

static double obliquity_deg(const char *options)
{
    json_t *json = measured(options, "side.jpg");
    double found =
        json_number_value(json_object_get(json_object_get(json, "card"), "obliquity_deg"));
    json_decref(json);
    return found;
}

/* A card that faces 30 degrees aside, seen with 1300 pixels of focal length. The obliquity goes
 * with the focal length that is told: a long lens needs more of a slant for the same picture. */
START_TEST(tilt_and_focal_length_reach_what_depends_on_them)
{
    const struct flat_camera camera = {1360, 1020, 1300, 679.5, 509.5, 0, 0};
    const struct flat_pose pose = {.right_deg = 30, .distance_mm = 160};
    const double arms[] = {55, 235};
    keep_photo("side.jpg", flat_scene_through(&camera, &pose, arms, 2));
    assert_near(obliquity_deg("--focal 1300"), 30, 1);
    ck_assert_double_gt(obliquity_deg("--focal 1400"), 31);
    double usual = tilt_u_deg("--focal 1300");
    ck_assert_double_gt(usual, 0.05);
    assert_relative(tilt_u_deg("--focal 1300 --tilt 2"), 5 * usual, 0.01); /* 0.4 else */
    ck_assert_double_eq(tilt_u_deg("--focal 1300 --tilt 0"), 0);
}
END_TEST

/* ---- Refusals ----------------------------------------------------------------------------- */

START_TEST(a_photo_that_cannot_be_measured_is_refused_in_one_sentence)
{
    static const char *const rows[][3] = {
        {"absent.jpg", "no-file", "no such file"},
        {"empty.jpg", "empty-file", "empty"},
        {"text.jpg", "not-a-photo", "neither a JPEG nor a PNG"},
        {"half.jpg", "truncated-photo", "ends before"},
        {"photo.heic", "heic-photo", "save JPEG"},
        {"dot.png", "tiny-photo", "too small"},
        {"huge.png", "huge-photo", "too many pixels"},
        {"moving.png", "animated-photo", "animation"},
        {"", "no-file", "folder"},
        {"bare.jpg", "no-part", "in front of the card"},
        {"bench.jpg", "no-card", "No card"},
        {"preview.png", "shrunk-photo", "in its full size"},
        {"preview.jpg", "shrunk-photo", "in its full size"},
        {"dark.png", "dark-photo", "with more light"},
        {"burnt.png", "burnt-photo", "with less light"},
    };
    char said[300];
    ck_assert_int_eq(outside_run(said, sizeof said,
                                 "cd '%s' && convert right.jpg -resize 180x preview.png && "
                                 "convert bench.jpg -resize 600x preview.jpg && convert right.jpg "
                                 "-evaluate multiply 0.03 dark.png && convert right.jpg -evaluate "
                                 "add 95%% burnt.png",
                                 folder),
                     0);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct run result;
        char words[200];
        snprintf(words, sizeof words, "measure --json --out @/out @/%s", rows[i][0]);
        run(&result, words);
        ck_assert_msg(result.status == 3, "%s: exit status %d", rows[i][0], result.status);
        ck_assert_msg(run_says_one_sentence(&result), "%s: %s", rows[i][0], result.err);
        ck_assert_msg(strstr(result.err, rows[i][2]) != NULL, "%s: %s", rows[i][0], result.err);
        json_t *json = json_line(result.out, 0);
        ck_assert_str_eq(member(json, "status"), "failed");
        ck_assert_str_eq(member(json, "reason"), rows[i][1]);
        ck_assert(json_is_null(json_object_get(json, "reference")));
        json_decref(json);
    }
    struct run told;
    run(&told, "measure --out @/out @/bench.jpg @/empty.jpg");
    const char *line = strstr(told.out, "/bench.jpg: no answer"); /* the reason is in told.err */
    ck_assert_msg(line && strstr(line, "out/bench.armsquare.png\n"), "%s", told.out);
    ck_assert_msg(!strstr(told.out, "empty"), "%s", told.out);
    /* Only what could be decoded has a picture that says why. */
    ck_assert_int_eq(count_files(in_folder("out"), ""), 5);
    ck_assert_int_eq(count_files(in_folder("out"), "b"), 3);
}
END_TEST

START_TEST(one_bad_photo_spoils_no_other)
{
    struct run result;
    run(&result, "measure --no-picture @/empty.jpg @/right.jpg");
    ck_assert_int_eq(result.status, 3);
    ck_assert_ptr_nonnull(strstr(result.out, "right.jpg: Arm A lies"));
    ck_assert(run_says_one_sentence(&result));
}
END_TEST

START_TEST(wrong_words_are_refused_and_nothing_is_written)
{
    static const char *const rows[] = {
        "measure",
        "measure --nonsense @/right.jpg",
        "measure -x @/right.jpg",
        "measure @/right.jpg -o",
        "measure --out",
        "measure -o @/a.jpg @/right.jpg",
        "measure -o @/a.png @/right.jpg @/square.jpg",
        "measure -o @/a.png --no-picture @/right.jpg",
        "measure --out @/new --no-picture @/right.jpg",
        "measure --reference sideways @/right.jpg",
        "measure --reference edge @/right.jpg",
        "measure --hint 1,2,3,4 @/right.jpg",
        "measure --reference edge --hint 1,2,3 @/right.jpg",
        "measure --arm 1,2,3,4,5 @/right.jpg",
        "measure --arm 1,2,3,x @/right.jpg",
        "measure --bars 100 @/right.jpg",
        "measure --bars 100,50 @/right.jpg",
        "measure --focal -3 @/right.jpg",
        "measure --focal nan @/right.jpg",
        "measure --tilt 45 @/right.jpg",
        "read",
        "read a b",
        "read --nonsense @/right.jpg",
    };
    int before = count_files(folder, "");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct run result;
        run(&result, rows[i]);
        ck_assert_msg(result.status == 2, "%s: exit status %d", rows[i], result.status);
        ck_assert_msg(run_says_one_sentence(&result), "%s: %s", rows[i], result.err);
        ck_assert_msg(result.out[0] == '\0', "%s: %s", rows[i], result.out);
    }
    ck_assert_int_eq(count_files(folder, ""), before);
}
END_TEST

START_TEST(a_picture_never_lands_on_a_photo_or_another_picture)
{
    struct bytes before = bytes_read(in_folder("right.jpg"));
    bytes_write(&before, in_folder("right.armsquare.png")); /* a photo with an odd name */
    bytes_write(&before, in_folder("right.png"));
    ck_assert_int_eq(symlink("right.jpg", in_folder("alias.png")), 0);
    static const char *const rows[][2] = {
        {"measure @/right.jpg @/right.armsquare.png", "would overwrite"},
        {"measure -o @/alias.png @/right.jpg", "is a link"},
        {"measure -o @/right.png @/right.png", "is a photo"},
        {"measure -o @/right.png @/square.jpg", "is a photo"},
        {"measure --out @ @/square.jpg @/cross.jpg @/right.jpg", "is a photo"},
        {"measure @/right.jpg @/./right.png", "would both be"},
        {"measure --out @/new @/right.jpg @/right.jpg", "right.jpg\" is given twice"},
        {"measure @/square.jpg @/cross.jpg @/./square.jpg", "are one photo, given twice"},
        {"measure --out @/new @/square.jpg @/cross.jpg @/./square.jpg", "given twice"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct run result;
        run(&result, rows[i][0]);
        ck_assert_msg(strstr(result.err, rows[i][1]) != NULL, "%s: %s", rows[i][0], result.err);
        ck_assert_msg(result.status == 2, "%s: exit status %d", rows[i][0], result.status);
        ck_assert_msg(run_says_one_sentence(&result), "%s: %s", rows[i][0], result.err);
    }
    static const char *const kept[] = {"right.jpg", "right.armsquare.png", "right.png"};
    for (size_t i = 0; i < 3; i++) {
        struct bytes after = bytes_read(in_folder(kept[i]));
        ck_assert_uint_eq(after.size, before.size);
        ck_assert(memcmp(after.data, before.data, before.size) == 0);
        bytes_free(&after);
    }
    bytes_free(&before);
}
END_TEST

START_TEST(a_place_that_cannot_be_written_is_trouble_but_the_answer_stands)
{
    struct run result;
    keep_text("file", "x", 1);
    static const char *const folders[][2] = {
        {"@/file", "/file\" is a file, not a folder; name a folder with --out DIR."},
        {"@/file/a", "what it is to lie in is a file"},
        {"@/absent/a", "the one it is to lie in is not there; name another with --out DIR."},
        {"''", "the folder's name is empty; name a folder with --out DIR."},
    };
    for (int i = 0; i < 4; i++) {
        char words[80];
        snprintf(words, sizeof words, "measure --out %s @/right.jpg", folders[i][0]);
        run(&result, words);
        ck_assert_int_eq(result.status, 1);
        ck_assert(run_says_one_sentence(&result));
        ck_assert_msg(strstr(result.err, folders[i][1]) != NULL, "%s", result.err);
    }
    run(&result, "measure ''");
    ck_assert_int_eq(result.status, 3);
    ck_assert_str_eq(result.err, "armsquare: The photo's name is empty; name its file.\n");
    run(&result, "measure -o @/absent/a.png @/right.jpg");
    ck_assert_int_eq(result.status, 1);
    ck_assert(run_says_one_sentence(&result));
    ck_assert_ptr_nonnull(strstr(result.out, "right.jpg: Arm A lies"));
    ck_assert_ptr_nonnull(strstr(result.err, "name another place with -o FILE."));
    ck_assert_ptr_null(strstr(result.out, "Picture:"));
    run(&result, "measure -o @ @/right.jpg");
    ck_assert_int_eq(result.status, 2);
    run(&result, "measure --no-picture @/right.jpg > /dev/full 2> /dev/null #");
    ck_assert_int_eq(result.status, 1);
}
END_TEST

/* ---- Reading back ------------------------------------------------------------------------- */

START_TEST(read_gives_the_measurement_back)
{
    struct run measured, result;
    run(&measured, "measure --json -o @/a.png @/right.jpg");
    run(&result, "read --json @/a.png");
    ck_assert_int_eq(result.status, 0);
    json_t *before = json_line(measured.out, 0), *after = json_line(result.out, 0);
    json_t *picture = json_incref(json_object_get(after, "picture"));
    ck_assert_str_eq(member(picture, "pixels"), "unaltered");
    ck_assert_str_eq(member(picture, "text"), "unaltered");
    json_object_del(after, "picture");
    ck_assert(json_equal(before, after));
    json_decref(picture);
    json_decref(after);
    json_decref(before);
    run(&result, "read @/a.png");
    ck_assert_int_eq(result.status, 0);
    ck_assert_ptr_nonnull(strstr(result.out, "right.jpg: Arm A lies"));
    ck_assert_ptr_nonnull(strstr(result.out, "as they were written"));
}
END_TEST

/* All that measure told of the arms, whichever of them the headline speaks of. */
START_TEST(read_tells_every_arm)
{
    static const char *const options[] = {"", "--tolerance 1 --target 92"};
    for (size_t i = 0; i < sizeof options / sizeof options[0]; i++) {
        static struct run measured, result;
        char words[200];
        snprintf(words, sizeof words, "measure %s -o @/c.png @/cross.jpg", options[i]);
        run(&measured, words);
        run(&result, "read @/c.png");
        int lines = 0;
        for (char *line = strtok(measured.out, "\n"); line; line = strtok(NULL, "\n")) {
            if (strncmp(line, "    Arm ", 8) != 0)
                continue;
            lines++;
            ck_assert_msg(strstr(result.out, line) != NULL, "no \"%s\" in %s", line, result.out);
        }
        ck_assert_int_eq(lines, 3);
    }
}
END_TEST

START_TEST(read_tells_a_change_and_refuses_other_files)
{
    struct run result;
    run(&result, "measure -o @/a.png @/right.jpg");
    struct bytes file = bytes_read(in_folder("a.png"));
    uint8_t *name = memmem(file.data, file.size, "armsquare-sha256", 16);
    ck_assert_ptr_nonnull(name);
    name[0] = 'A'; /* its CRC is wrong now: libpng drops the chunk, and with it the digests */
    bytes_write(&file, in_folder("a.png"));
    bytes_free(&file);
    run(&result, "read @/a.png");
    ck_assert_int_eq(result.status, 3);
    ck_assert(run_says_one_sentence(&result));
    static const char *const rows[][2] = {
        {"right.jpg", "is no still PNG picture, or a damaged one"},
        {"dot.png", "carries no measurement"},
        {"absent.png", "no such file"},
        {"empty.jpg", "is empty; "},
        {"half.jpg", "is no still PNG picture"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char words[100];
        snprintf(words, sizeof words, "read @/%s", rows[i][0]);
        run(&result, words);
        ck_assert_msg(result.status == 3, "%s: exit status %d", rows[i][0], result.status);
        ck_assert_msg(run_says_one_sentence(&result), "%s: %s", rows[i][0], result.err);
        ck_assert_msg(strstr(result.err, rows[i][1]) != NULL, "%s", result.err);
        ck_assert_str_eq(result.out, "");
    }
    run(&result, "read @");
    ck_assert_msg(strstr(result.err, "is a folder; name one of the pictures") != NULL, "%s",
                  result.err);
}
END_TEST

/* Lines drawn over an arm would be measured in place of its edges. */
START_TEST(a_drawn_picture_is_not_measured_again)
{
    struct run result;
    run(&result, "measure -o @/a.png @/right.jpg");
    run(&result, "measure --json --no-picture @/a.png");
    ck_assert_int_eq(result.status, 3);
    ck_assert(run_says_one_sentence(&result));
    ck_assert_ptr_nonnull(strstr(result.err, "lines already drawn"));
}
END_TEST

/* The same when only the pixels are left: as a messenger or a gallery sends it on, here by
 * ImageMagick, of the whole picture down to a thumbnail. */
START_TEST(nor_is_it_when_it_was_sent_on)
{
    static const int sides[] = {4000, 1600, 600, 400};
    struct run result;
    run(&result, "measure -o @/a.png '" PHOTOS_FOLDER "/dunlin-rudder.jpg'");
    ck_assert_msg(result.status == 0, "%s", result.err);
    for (size_t i = 0; i < sizeof sides / sizeof *sides; i++) {
        char said[400];
        ck_assert_msg(outside_run(said, sizeof said,
                                  "convert %s/a.png -strip -resize '%dx%d>' -quality 70 %s/a.jpg",
                                  folder, sides[i], sides[i], folder) == 0,
                      "%s", said);
        run(&result, "measure --json --no-picture @/a.jpg");
        ck_assert_msg(result.status == 3 && strstr(result.out, "\"drawn-photo\""), "%d px: %s",
                      sides[i], result.out);
        run(&result, "measure --sticker --no-picture @/a.jpg @/right.jpg");
        ck_assert_msg(result.status == 3 && strstr(result.err, "lines already drawn"), "%d px: %s",
                      sides[i], result.err);
    }
    unlink(in_folder("a.jpg"));
    unlink(in_folder("a.png"));
}
END_TEST

/* What a grey photo or a card from a printer without colour lacks is named, beside the light. */
START_TEST(a_photo_without_colour_is_not_blamed_on_the_light_alone)
{
    struct run result;
    char said[400];
    ck_assert_msg(outside_run(said, sizeof said,
                              "convert '%s/dunlin-rudder.jpg' -colorspace gray "
                              "%s/a.jpg",
                              PHOTOS_FOLDER, folder) == 0,
                  "%s", said);
    run(&result, "measure --no-picture @/a.jpg");
    ck_assert_int_eq(result.status, 3);
    ck_assert_msg(strstr(result.err, "without colour"), "%s", result.err);
    unlink(in_folder("a.jpg"));
}
END_TEST

/* From here on the program's standard input is a pipe with the file in it. */
static void pipe_in(const char *name)
{
    int ends[2];
    struct bytes file = bytes_read(in_folder(name));
    ck_assert_int_eq(pipe(ends), 0);
    pid_t writer = fork();
    ck_assert_int_ge(writer, 0);
    if (writer == 0) {
        close(ends[0]);
        for (size_t done = 0; done < file.size;) {
            ssize_t put = write(ends[1], file.data + done, file.size - done);
            if (put <= 0)
                _exit(1);
            done += (size_t)put;
        }
        _exit(0);
    }
    close(ends[1]);
    ck_assert_int_eq(dup2(ends[0], STDIN_FILENO), STDIN_FILENO);
    close(ends[0]);
    bytes_free(&file);
}

/* As from "cat right.jpg | armsquare measure /dev/stdin": what was read is gone. */
START_TEST(photos_and_pictures_come_through_pipes)
{
    struct run result;
    pipe_in("right.jpg");
    run(&result, "measure -o @/a.png /dev/stdin");
    ck_assert_msg(result.status == 0, "%s", result.err);
    ck_assert_ptr_nonnull(strstr(result.out, "Arm A lies"));
    pipe_in("a.png");
    run(&result, "read /dev/stdin");
    ck_assert_msg(result.status == 0, "%s", result.err);
    ck_assert_ptr_nonnull(strstr(result.out, "as they were written"));
    pipe_in("a.png");
    run(&result, "measure --no-picture /dev/stdin");
    ck_assert_int_eq(result.status, 3);
    ck_assert_ptr_nonnull(strstr(result.err, "lines already drawn"));
}
END_TEST

/* From "mkfifo": a pipe of a name, to which nobody writes. */
START_TEST(an_empty_pipe_is_no_photo)
{
    static const char *const rows[] = {"measure @/pipe.jpg", "read @/pipe.jpg",
                                       "linkage turns @/pipe.jpg --arm 15"};
    static const char *const others[] = {"measure --no-picture --lens @/pipe.jpg @/right.jpg",
                                         "linkage solve @/pipe.jpg"};
    ck_assert_int_eq(mkfifo(in_folder("pipe.jpg"), 0600), 0);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct run result;
        run(&result, rows[i]);
        ck_assert_int_eq(result.status, 3);
        ck_assert_msg(run_says_one_sentence(&result) && strstr(result.err, "a pipe with nothing"),
                      "%s", result.err);
    }
    for (size_t i = 0; i < sizeof others / sizeof *others; i++) {
        struct run result;
        run(&result, others[i]);
        ck_assert_msg(result.status != 0 && run_says_one_sentence(&result), "%s: %s", others[i],
                      result.err);
    }
    unlink(in_folder("pipe.jpg"));
}
END_TEST

/* By the truth beside them 11, 5 and 32 degrees aslant. The second
 * photo contradicts by its EXIF data alone, the others by the slant of the card. */
START_TEST(a_wrong_focal_length_is_named)
{
    static const struct {
        const char *photo;
        int focal_px, exit;
        const char *code;
    } rows[] = {{"dunlin-rudder", 20000, 3, "\"other-focal\""},
                {"dunlin-rudder", 500, 3, "\"other-focal\""},
                {"tune-105-crank90-black-matt", 600, 0, "\"other-focal\""},
                {"dunlin-rudder", 1600, 0, "\"ok\""},
                {"tune-40-crank90-tint-b", 750, 3, "\"other-focal\""}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct run result;
        char line[300];
        snprintf(line, sizeof line,
                 "measure --no-picture --json --focal %d '" PHOTOS_FOLDER "/%s.jpg'",
                 rows[i].focal_px, rows[i].photo);
        run(&result, line);
        ck_assert_int_eq(result.status, rows[i].exit);
        ck_assert_msg(strstr(result.out, rows[i].code), "%s: %s", line, result.out);
    }
}
END_TEST

START_TEST(help_explains_with_an_example)
{
    static const char *const commands[] = {"measure --help", "measure -h", "read --help"};
    for (int i = 0; i < 3; i++) {
        struct run result;
        run(&result, commands[i]);
        ck_assert_int_eq(result.status, 0);
        ck_assert_str_eq(result.err, "");
        ck_assert_ptr_nonnull(strstr(result.out, "example"));
        for (const char *line = result.out; *line; line += strcspn(line, "\n") + 1)
            ck_assert_msg(strcspn(line, "\n") <= 92, "wide: %.*s", (int)strcspn(line, "\n"), line);
    }
}
END_TEST

/* ---- Together ------------------------------------------------------------------------------ */

static void keep_horn(const char *name, double first_deg)
{
    const double arms[2] = {first_deg, first_deg + 180};
    keep_photo(name, flat_scene(arms, 2));
}

static json_t *last_line(const struct run *result)
{
    const char *line = strstr(result->out, "{\"together\"");
    ck_assert_msg(line != NULL, "no together in %s%s", result->out, result->err);
    json_t *json = json_loads(line, JSON_DISABLE_EOF_CHECK, NULL);
    ck_assert_ptr_nonnull(json);
    return json;
}

static double number_in(const json_t *object, const char *name)
{
    return json_number_value(json_object_get(object, name));
}

/* The horn stands 2 degrees off, with U of about 0.3: in, out, and too near to tell. */
START_TEST(a_tolerance_is_decided)
{
    static const struct {
        const char *options, *says, *decision;
    } rows[] = {
        {"--tolerance 3", "yes (accept)", "accept"},
        {"--tolerance 1", "no (reject)", "reject"},
        {"--tolerance 2", "cannot tell", "cannot tell"},
        {"--tolerance 1 --target 92", "yes (accept)", "accept"},
        {"--target 90", "Within 0.5 degrees of the wanted 90 degrees? Arm A: no", "reject"}};
    struct run result;
    char words[200];
    keep_horn("j.jpg", 92);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        snprintf(words, sizeof words, "measure --no-picture %s @/j.jpg", rows[i].options);
        run(&result, words);
        ck_assert_int_eq(result.status, 0);
        ck_assert_msg(strstr(result.out, rows[i].says) != NULL, "%s: %s", words, result.out);
        snprintf(words, sizeof words, "measure --json --no-picture %s @/j.jpg", rows[i].options);
        run(&result, words);
        json_t *json = json_loads(result.out, 0, NULL);
        const json_t *decision = json_object_get(json, "decision");
        ck_assert_str_eq(json_string_value(json_object_get(decision, "decision")),
                         rows[i].decision);
        json_decref(json);
    }
    run(&result, "measure --no-picture --tolerance 2.1 @/j.jpg");
    ck_assert_ptr_nonnull(strstr(result.out, "three photos with measure --together: "));
    run(&result, "measure --no-picture --tolerance 2 @/j.jpg");
    ck_assert_ptr_nonnull(strstr(result.out, "A better photo would not settle it"));
    ck_assert_ptr_null(strstr(result.out, "What helps"));
    run(&result, "measure --no-picture --tolerance 0 @/j.jpg");
    ck_assert_int_eq(result.status, 2);
    keep_horn("j2.jpg", 92.03);
    run(&result, "measure --no-picture --tolerance 2 --together @/j.jpg @/j2.jpg");
    ck_assert_ptr_nonnull(strstr(strstr(result.out, "Together:"), "Within 2 degrees of square?"));
}
END_TEST

/* right.jpg lies at 87.1: 2.9 clockwise of square and 2.1 counter-clockwise of 85, so that the
 * order is another with each of these. */
START_TEST(text_json_and_read_give_the_order_of_the_decision)
{
    static const struct {
        const char *words, *order;
    } rows[] = {{"--tolerance 1", "Turn it counter-clockwise"},
                {"--tolerance 4", "Leave it."},
                {"--tolerance 1 --target 85", "Turn it clockwise"},
                {"--tolerance 3 --target 85", "Leave it."}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        static struct run text, json, read;
        char words[200];
        snprintf(words, sizeof words, "measure %s -o @/order.png @/right.jpg", rows[i].words);
        run(&text, words);
        snprintf(words, sizeof words, "measure --json --no-picture %s @/right.jpg", rows[i].words);
        run(&json, words);
        run(&read, "read @/order.png");
        json_t *object = json_line(json.out, 0);
        const char *message = json_string_value(json_object_get(object, "message"));
        ck_assert_msg(strstr(message, rows[i].order) != NULL, "%s: %s", rows[i].words, message);
        ck_assert_msg(strstr(text.out, message) != NULL, "%s: %s", rows[i].words, text.out);
        ck_assert_msg(strstr(read.out, message) != NULL, "%s: %s", rows[i].words, read.out);
        json_decref(object);
    }
}
END_TEST

START_TEST(photos_together_give_one_answer)
{
    struct run result;
    keep_horn("t1.jpg", 92.00);
    keep_horn("t2.jpg", 92.04);
    keep_horn("t3.jpg", 91.97);
    run(&result, "measure --no-picture --together @/t1.jpg @/t2.jpg @/t3.jpg");
    ck_assert_int_eq(result.status, 0);
    ck_assert_ptr_nonnull(strstr(result.out, "Together: Arm A lies 2.0 ± "));
    ck_assert_ptr_nonnull(strstr(result.out, ", no more than such photos do."));
    ck_assert_ptr_nonnull(strstr(result.out, "a card that lay still"));
    run(&result, "measure --json --no-picture --together @/t1.jpg @/t2.jpg @/t3.jpg");
    json_t *json = last_line(&result), *all = json_object_get(json, "together");
    const json_t *arm = json_array_get(json_object_get(all, "arms"), 0);
    ck_assert_str_eq(json_string_value(json_object_get(all, "status")), "ok");
    ck_assert_uint_eq(json_array_size(json_object_get(all, "arms")), 2);
    ck_assert_double_eq_tol(number_in(arm, "angle_deg"), 92, 0.15);
    ck_assert_int_eq((int)number_in(arm, "photos"), 3);
    ck_assert(json_is_null(json_object_get(arm, "backlash")));
    /* smaller than one photo's, but never below what its shape and the card put into all */
    json_t *one = json_loads(result.out, JSON_DISABLE_EOF_CHECK, NULL);
    const json_t *alone = json_array_get(json_object_get(one, "arms"), 0);
    const json_t *shape = json_array_get(json_object_get(arm, "budget"), 3);
    ck_assert_str_eq(json_string_value(json_object_get(shape, "term")), "straightness of the arm");
    ck_assert(number_in(arm, "u_deg") < number_in(alone, "u_deg"));
    ck_assert(number_in(arm, "u_deg") > number_in(shape, "u_deg"));
    json_decref(one);
    json_decref(json);
}
END_TEST

START_TEST(photos_that_disagree_are_unsure)
{
    struct run result;
    keep_horn("d1.jpg", 92.0);
    keep_horn("d2.jpg", 92.05);
    keep_horn("d3.jpg", 93.4);
    run(&result, "measure --no-picture --together @/d1.jpg @/d2.jpg @/d3.jpg");
    ck_assert_int_eq(result.status, 0);
    ck_assert_ptr_nonnull(strstr(result.out, "Together: Arm A seems to lie"));
    ck_assert_ptr_nonnull(strstr(result.out, "disagree by more than their ± explains"));
    ck_assert_ptr_nonnull(strstr(result.out, "d3.jpg stands out"));
    ck_assert_ptr_null(strstr(strstr(result.out, "Together:"), "Turn it"));
    ck_assert_ptr_nonnull(strstr(strstr(result.out, "Together:"), "    Arm B seems to lie"));
    run(&result, "measure --json --no-picture --together @/d1.jpg @/d2.jpg @/d3.jpg");
    json_t *json = last_line(&result), *all = json_object_get(json, "together");
    ck_assert_str_eq(json_string_value(json_object_get(all, "status")), "unsure");
    ck_assert_str_eq(json_string_value(json_object_get(all, "reason")), "photos-disagree");
    json_decref(json);
}
END_TEST

START_TEST(marked_photos_tell_backlash)
{
    struct run result;
    keep_horn("b1.jpg", 92.6);
    keep_horn("b2.jpg", 91.4);
    keep_horn("b3.jpg", 92.62);
    keep_horn("b4.jpg", 91.43);
    run(&result,
        "measure --no-picture --together @/b1.jpg%cw @/b2.jpg%ccw @/b3.jpg%cw @/b4.jpg%ccw");
    ck_assert_int_eq(result.status, 0);
    ck_assert_ptr_nonnull(strstr(result.out, "Together: Arm A lies 2.0 ± "));
    ck_assert_ptr_nonnull(strstr(result.out, "Backlash: 1.2 ± "));
    ck_assert_ptr_nonnull(strstr(result.out, "The angle above is the middle"));
    run(&result, "measure --no-picture --together @/b1.jpg%cw @/b3.jpg%ccw");
    ck_assert_ptr_nonnull(strstr(result.out, "Backlash: none that shows"));
    run(&result, "measure --no-picture --together @/b1.jpg%ccw @/b2.jpg%cw");
    ck_assert_ptr_nonnull(strstr(result.out, "swapped?"));
    const char *all = strstr(result.out, "Together: ");
    ck_assert_msg(all && strstr(all, "seems to lie") && !strstr(all, "Turn it"), "%s", result.out);
    run(&result, "measure --no-picture --together @/b1.jpg%cw @/cross.jpg%ccw");
    all = strstr(result.out, "Together: ");
    ck_assert_msg(all && strstr(all, "of different parts") && !strstr(all, "Turn it"), "%s%s",
                  result.out, result.err);
    /* a file whose name ends like a mark is that file */
    keep_horn("b5.jpg@cw", 92.63);
    run(&result, "measure --no-picture --together @/b5.jpg%cw @/b1.jpg");
    ck_assert_int_eq(result.status, 0);
    ck_assert_ptr_null(strstr(result.out, "Backlash"));
}
END_TEST

/* Whatever the path: six times one photo would halve its "±". */
START_TEST(one_photo_counts_once)
{
    static const char *const rows[] = {
        "measure --no-picture --together @/right.jpg @/cross.jpg @/right.jpg",
        "measure --no-picture --together @/right.jpg%cw @/./right.jpg%ccw",
        "measure --no-picture --together @/right.jpg @/link.jpg",
        "measure --no-picture --sticker @/right.jpg @/right.jpg",
        "linkage parallel @/cross.jpg:B @/cross.jpg:B",
        "linkage parallel @/cross.jpg @/link2.jpg:A",
        "linkage centre @/cross.jpg:A @/cross.jpg:B @/cross.jpg:A",
        "linkage centre 40 140 @/right.jpg --at 50:@/right.jpg",
        "trim-scale @/right.jpg%0 @/link.jpg%10 @/cross.jpg%20",
    };
    ck_assert_int_eq(symlink("right.jpg", in_folder("link.jpg")), 0);
    ck_assert_int_eq(symlink("cross.jpg", in_folder("link2.jpg")), 0);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        static struct run result;
        run(&result, rows[i]);
        ck_assert_msg(result.status == 2, "%s: %d %s", rows[i], result.status, result.out);
        ck_assert_msg(run_says_one_sentence(&result), "%s: %s", rows[i], result.err);
        ck_assert_msg(strstr(result.err, "one photo") || strstr(result.err, "the same photo"),
                      "%s: %s", rows[i], result.err);
    }
    static struct run result;
    run(&result, "linkage centre @/cross.jpg:A @/cross.jpg:C @/cross.jpg:B");
    ck_assert_msg(result.status == 0, "%s", result.err);
}
END_TEST

/* The same pixels in another format or turned are other bytes, and still one photo; the same scene
 * with noise of its own (0.4 % of full scale, a phone's in good light) is another one, tripod or
 * not. */
START_TEST(a_copy_with_other_bytes_counts_once)
{
    static const char *const rows[] = {
        "measure --no-picture --together @/right.jpg @/copy.png",
        "measure --no-picture --together @/right.jpg%cw @/copy.png%ccw",
        "linkage parallel @/right.jpg @/copy.png",
        "trim-scale @/right.jpg%0 @/copy.png%10",
        "measure --no-picture --together @/right.jpg @/turned.png",
        "measure --no-picture --together @/turned.png%cw @/under.png%ccw",
    };
    char said[500];
    ck_assert_int_eq(outside_run(said, sizeof said,
                                 "cd '%s' && convert right.jpg copy.png && convert right.jpg -seed "
                                 "1 -attenuate 0.05 +noise Gaussian other.jpg && convert right.jpg "
                                 "-rotate 90 -chop 8x0 turned.png && convert right.jpg -rotate 180 "
                                 "under.png",
                                 folder),
                     0);
    static struct run result;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        run(&result, rows[i]);
        ck_assert_msg(result.status == 2, "%s: %d %s", rows[i], result.status, result.out);
        ck_assert_msg(run_says_one_sentence(&result), "%s: %s", rows[i], result.err);
        ck_assert_msg(strstr(result.err, "one photo: card and arm lie in the same pixels"),
                      "%s: %s", rows[i], result.err);
        ck_assert_msg(!strstr(result.out, "Together"), "%s: %s", rows[i], result.out);
    }
    run(&result, "measure --no-picture --together @/right.jpg @/other.jpg");
    ck_assert_msg(result.status == 0, "%s", result.err);
}
END_TEST

/* Who counted pixels in a smaller copy sees at once what is wrong. */
START_TEST(points_beside_the_photo_are_answered_with_its_size)
{
    static const char *const rows[] = {"measure --no-picture --arm 10000,2,1,2 @/right.jpg",
                                       "advise --teeth 25 --arm 10000,2,1,2 @/right.jpg"};
    struct picture picture = flat_scene_bare_card(); /* as large as all of them */
    char size[60];
    snprintf(size, sizeof size, "This photo has %d x %d pixels.", picture.width, picture.height);
    picture_free(&picture);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        static struct run result;
        run(&result, rows[i]);
        ck_assert_int_eq(result.status, 3);
        ck_assert_msg(strstr(result.err, size) != NULL, "%s: %s", rows[i], result.err);
        ck_assert_msg(run_says_one_sentence(&result), "%s", result.err);
    }
}
END_TEST

/* Also where a tolerance was asked for: the decision, and the arms beside the one judged. */
START_TEST(a_picture_says_all_that_its_answer_said)
{
    static const char *const asked[] = {"", "--tolerance 1", "--tolerance 1 --target 180"};
    for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++) {
        static struct run said, back;
        char words[100];
        snprintf(words, sizeof words, "measure %s -o @/told.png @/cross.jpg", asked[i]);
        run(&said, words);
        run(&back, "read @/told.png");
        const char *end = strstr(said.out, "    Picture: ");
        ck_assert_msg(end && strncmp(said.out, back.out, (size_t)(end - said.out)) == 0,
                      "%s\n%s\n%s", asked[i], said.out, back.out);
        ck_assert_msg((strstr(back.out, "    Within 1 degree of ") != NULL) == (*asked[i] != 0),
                      "%s: %s", asked[i], back.out);
    }
}
END_TEST

#define POINTS "--reference points --hint 200,900,1300,920"

static double term_u_deg(const json_t *arm, const char *term)
{
    size_t i;
    const json_t *line;
    json_array_foreach(json_object_get(arm, "budget"), i,
                       line) if (strcmp(member(line, "term"), term) == 0) return number_in(line,
                                                                                           "u_deg");
    return NAN;
}

/* The same scene by a camera rolled by 3 degrees: the pixels of the points are others there. */
static void keep_rolled(const char *name, double roll_deg)
{
    const struct flat_camera camera = {1500, 1000, 1300, 749.5, 499.5, 0, 0};
    const double arms[] = {92, 272};
    const struct flat_pose pose = {.roll_deg = roll_deg, .x_mm = 2, .distance_mm = 125};
    keep_photo(name, flat_scene_through(&camera, &pose, arms, 2));
}

START_TEST(points_of_the_first_photo_hold_for_others_by_the_card)
{
    static const char *const refused[] = {
        "measure --no-picture " POINTS " @/level.jpg @/rolled.jpg",
        "measure --no-picture --arm 750,500,750,300 @/level.jpg @/rolled.jpg",
        "measure --no-picture --together --card-moved " POINTS " @/level.jpg @/rolled.jpg"};
    static struct run result;
    keep_rolled("level.jpg", 0);
    keep_rolled("rolled.jpg", 3);
    run(&result, "measure --json --no-picture --together " POINTS " @/level.jpg @/rolled.jpg");
    ck_assert_msg(result.status == 0, "%s", result.err);
    json_t *photos[] = {json_line(result.out, 0), json_line(result.out, 1)};
    json_t *together = last_line(&result);
    const json_t *all =
        json_array_get(json_object_get(json_object_get(together, "together"), "arms"), 0);
    for (int i = 0; i < 2; i++) {
        const json_t *reference = json_object_get(photos[i], "reference");
        const json_t *arm = json_array_get(json_object_get(photos[i], "arms"), 0);
        assert_near(number_in(reference, "angle_deg"), -1.04, 0.1); /* 20 down on 1100 */
        assert_near(number_in(arm, "angle_deg"), 93.04, 0.2);
        /* pointed at once: photos do not average it */
        assert_near(term_u_deg(all, "reference line"), term_u_deg(arm, "reference line"), 1e-4);
        json_decref(photos[i]);
    }
    json_decref(together);
    run(&result, "trim-scale " POINTS " @/level.jpg%0 @/rolled.jpg%10");
    ck_assert_msg(result.status == 3 && strstr(result.err, "does not visibly move"), "%s%s",
                  result.out, result.err);
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++) {
        run(&result, refused[i]);
        ck_assert_msg(result.status == 2 && strstr(result.err, "tell places in one photo"),
                      "%s: %d %s", refused[i], result.status, result.err);
    }
    run(&result, "measure --no-picture --together " POINTS " @/bench.jpg @/rolled.jpg");
    ck_assert_msg(result.status == 3 && strstr(result.err, "card, which was not found"), "%s",
                  result.err);
}
END_TEST

START_TEST(a_mark_without_together_asks_for_it)
{
    struct run result;
    run(&result, "measure --no-picture @/right.jpg%cw");
    ck_assert_int_eq(result.status, 2);
    ck_assert_msg(strstr(result.err, "add --together") != NULL, "%s", result.err);
    run(&result, "measure --no-picture @/right.jpg%CW");
    ck_assert_msg(strstr(result.err, "add --together") != NULL, "%s", result.err);
    ck_assert_int_eq(symlink("right.jpg", in_folder("odd@cw")), 0);
    run(&result, "measure --no-picture @/odd%cw");
    ck_assert_msg(result.status == 0, "%s", result.err);
}
END_TEST

START_TEST(read_says_what_a_picture_must_be)
{
    struct run result;
    run(&result, "read @/moving.png");
    ck_assert_int_eq(result.status, 3);
    ck_assert_msg(strstr(result.err, "is no still PNG picture") != NULL, "%s", result.err);
    run(&result, "read @/absent.png");
    ck_assert_int_eq(result.status, 3);
    ck_assert_msg(strstr(result.err, "There is no such file; check its name") != NULL, "%s",
                  result.err);
}
END_TEST

START_TEST(together_refuses_what_does_not_belong_together)
{
    struct run result;
    keep_horn("w1.jpg", 92);
    keep_horn("w2.jpg", 120);
    run(&result, "measure --no-picture --together @/w1.jpg @/w2.jpg");
    ck_assert_int_eq(result.status, 3);
    ck_assert_ptr_nonnull(strstr(result.err, "no arm points the same way"));
    run(&result, "measure --no-picture --together @/w1.jpg @/none.jpg");
    ck_assert_int_eq(result.status, 3);
    ck_assert_ptr_nonnull(strstr(result.err, "fewer than two of the photos"));
    run(&result, "measure --json --no-picture --together @/w1.jpg @/none.jpg");
    ck_assert_int_eq(result.status, 3);
    json_t *json = last_line(&result);
    ck_assert_str_eq(
        json_string_value(json_object_get(json_object_get(json, "together"), "status")), "failed");
    json_decref(json);
    run(&result, "measure --no-picture --together @/w1.jpg%cw @/none.jpg%ccw @/w2.jpg%cw");
    ck_assert_int_eq(result.status, 3);
    ck_assert_ptr_nonnull(strstr(result.err, "only photos from one side"));
    static const char *const wrong[] = {
        "measure --together @/w1.jpg",
        "measure --card-moved @/w1.jpg @/w2.jpg",
        "measure --no-picture --together @/w1.jpg%cw @/w2.jpg",
        "measure --no-picture --together @/w1.jpg%cw @/w2.jpg%cw",
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        run(&result, wrong[i]);
        ck_assert_msg(result.status == 2, "%s: %d", wrong[i], result.status);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("measure_program");
    TCase *tcase = tcase_create("program");
    tcase_set_timeout(tcase, 120);
    tcase_add_unchecked_fixture(tcase, draw_photos, drop_photos);
    tcase_add_checked_fixture(tcase, set_up, tear_down);
    tcase_add_test(tcase, a_photo_is_answered_with_angle_cure_and_picture);
    tcase_add_test(tcase, json_gives_one_line_a_photo_in_the_order_given);
    tcase_add_test(tcase, every_arm_of_a_cross_is_told);
    tcase_add_loop_test(tcase, an_arm_from_beside_the_card_is_told_with_its_hub, 0, 2);
    tcase_add_test(tcase, a_link_over_the_card_is_not_taken_for_the_horn_beside_it);
    tcase_add_test(tcase, a_square_arm_is_left_alone);
    tcase_add_test(tcase, pictures_go_where_they_are_sent);
    tcase_add_test(tcase, pictures_of_an_earlier_run_are_left_out);
    tcase_add_test(tcase, many_photos_show_progress_and_fail_one_by_one);
    tcase_add_test(tcase, the_reference_is_the_line_of_the_points);
    tcase_add_test(tcase, the_arm_is_the_one_pointed_at);
    tcase_add_test(tcase, the_bars_put_the_angle_right);
    tcase_add_test(tcase, tilt_and_focal_length_reach_what_depends_on_them);
    tcase_add_test(tcase, a_photo_that_cannot_be_measured_is_refused_in_one_sentence);
    tcase_add_test(tcase, one_bad_photo_spoils_no_other);
    tcase_add_test(tcase, wrong_words_are_refused_and_nothing_is_written);
    tcase_add_test(tcase, a_picture_never_lands_on_a_photo_or_another_picture);
    tcase_add_test(tcase, a_place_that_cannot_be_written_is_trouble_but_the_answer_stands);
    tcase_add_test(tcase, read_gives_the_measurement_back);
    tcase_add_test(tcase, read_tells_every_arm);
    tcase_add_test(tcase, read_tells_a_change_and_refuses_other_files);
    tcase_add_test(tcase, a_drawn_picture_is_not_measured_again);
    tcase_add_test(tcase, nor_is_it_when_it_was_sent_on);
    tcase_add_test(tcase, a_photo_without_colour_is_not_blamed_on_the_light_alone);
    tcase_add_test(tcase, photos_and_pictures_come_through_pipes);
    tcase_add_test(tcase, an_empty_pipe_is_no_photo);
    tcase_add_test(tcase, a_wrong_focal_length_is_named);
    tcase_add_test(tcase, help_explains_with_an_example);
    tcase_add_test(tcase, a_tolerance_is_decided);
    tcase_add_test(tcase, text_json_and_read_give_the_order_of_the_decision);
    tcase_add_test(tcase, photos_together_give_one_answer);
    tcase_add_test(tcase, one_photo_counts_once);
    tcase_add_test(tcase, a_copy_with_other_bytes_counts_once);
    tcase_add_test(tcase, a_picture_says_all_that_its_answer_said);
    tcase_add_test(tcase, points_beside_the_photo_are_answered_with_its_size);
    tcase_add_test(tcase, photos_that_disagree_are_unsure);
    tcase_add_test(tcase, marked_photos_tell_backlash);
    tcase_add_test(tcase, a_mark_without_together_asks_for_it);
    tcase_add_test(tcase, points_of_the_first_photo_hold_for_others_by_the_card);
    tcase_add_test(tcase, read_says_what_a_picture_must_be);
    tcase_add_test(tcase, together_refuses_what_does_not_belong_together);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
