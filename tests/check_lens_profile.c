/* Lens profiles: the file there and back, which photos one belongs to, and what is no profile. */
#include "check_main.h"
#include "lens/lens_profile.h"
#include "lens/lens_shelf.h"

#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static struct lens_profile some_profile(void)
{
    struct lens_profile p = {.lens = {.name = "Example Pocket 3, 4.2 mm",
                                      .width_px = 2016,
                                      .height_px = 1512,
                                      .focal_px = 1514.3728191,
                                      .centre_px = {1011.25, 750.125},
                                      .k1 = -0.0533217,
                                      .k2 = 0.01234567},
                             .camera = "Example Pocket 3",
                             .focal_mm = 4.2,
                             .exif_focal_px = 1514.2,
                             .made = "2026-11-25T10:00:00Z",
                             .photos = 9,
                             .rms_px = 0.0712,
                             .held_out_px = 0.0811,
                             .covered = 0.83,
                             .removed_deg = 0.21};
    const double u[VISION_LENS_UNKNOWNS] = {3, 2, 2.5, 0.002, 0.003};
    for (int j = 0; j < VISION_LENS_UNKNOWNS; j++)
        p.lens.cov[j * VISION_LENS_UNKNOWNS + j] = u[j] * u[j];
    return p;
}

static struct vision_photo_info some_photo(void)
{
    struct vision_photo_info info = {
        .width_px = 2016, .height_px = 1512, .orientation = 1, .focal_px = 1514.2, .focal_mm = 4.2};
    snprintf(info.camera, sizeof info.camera, "Example Pocket 3");
    return info;
}

static char *text_of(const struct lens_profile *p)
{
    json_t *json = lens_profile_to_json(p);
    ck_assert_ptr_nonnull(json);
    char *text = json_dumps(json, JSON_COMPACT);
    json_decref(json);
    ck_assert_ptr_nonnull(text);
    return text;
}

START_TEST(a_profile_comes_back_as_it_was)
{
    struct lens_profile p = some_profile(), q;
    char problem[LENS_PROFILE_PROBLEM], path[] = "/tmp/armsquare-lens-XXXXXX";
    int fd = mkstemp(path);
    ck_assert(fd >= 0);
    close(fd);
    ck_assert(lens_profile_write(path, &p));
    ck_assert_msg(lens_profile_read(path, &q, problem), "%s", problem);
    ck_assert_str_eq(q.lens.name, p.lens.name);
    ck_assert_str_eq(q.camera, p.camera);
    ck_assert_str_eq(q.made, p.made);
    ck_assert_int_eq(q.lens.width_px, p.lens.width_px);
    ck_assert_int_eq(q.lens.height_px, p.lens.height_px);
    ck_assert_int_eq(q.photos, p.photos);
    ck_assert_double_eq_tol(q.lens.focal_px, p.lens.focal_px, 1e-8);
    ck_assert_double_eq_tol(q.lens.centre_px.x, p.lens.centre_px.x, 1e-8);
    ck_assert_double_eq_tol(q.lens.centre_px.y, p.lens.centre_px.y, 1e-8);
    ck_assert_double_eq_tol(q.lens.k1, p.lens.k1, 1e-12);
    ck_assert_double_eq_tol(q.lens.k2, p.lens.k2, 1e-12);
    for (int i = 0; i < VISION_LENS_UNKNOWNS * VISION_LENS_UNKNOWNS; i++)
        ck_assert_double_eq_tol(q.lens.cov[i], p.lens.cov[i], 1e-9 * p.lens.cov[0]);
    ck_assert_double_eq_tol(q.removed_deg, p.removed_deg, 1e-9);
    unlink(path);
}
END_TEST

/* One string replaced in a sound profile, and what the sentence must say. */
static const struct {
    const char *from, *to, *says;
} faults[] = {
    {"armsquare lens profile", "holiday plans", "is no lens profile"},
    {"\"format\":", "\"form\":", "is no lens profile"},
    {"\"version\":1", "\"version\":2", "newer armsquare"},
    {"\"version\":1", "\"version\":\"1\"", "version"},
    {"\"k1\":", "\"k9\":", "k1"},
    {"\"k1\":-0.05", "\"k1\":-50.05", "k1"},
    {"\"width_px\":2016", "\"width_px\":2016.5", "width_px"},
    {"\"width_px\":2016", "\"width_px\":-1", "width_px"},
    {"\"focal_px\":1514.37", "\"focal_px\":14.37", "no lens has"},
    {"[1011.25,", "[9011.25,", "no lens has"},
    {"[1011.25,", "[", "centre_px"},
    {"\"covariance\":[9.0", "\"covariance\":[-9.0", "no lens has"},
    {"\"covariance\":[9.0,", "\"covariance\":[", "covariance"},
    {"\"covariance\":[9.0,0.0", "\"covariance\":[9.0,5.0", "no lens has"},
    {"Example Pocket 3, 4.2 mm", "\\u001b[31m", "name"},
    {"\"photos\":9", "\"photos\":null", "photos"},
};

START_TEST(what_is_no_sound_profile_gives_one_sentence)
{
    struct lens_profile p = some_profile(), q = {.photos = 77};
    char *text = text_of(&p), *broken, problem[LENS_PROFILE_PROBLEM];
    char *at = strstr(text, faults[_i].from);
    ck_assert_msg(at != NULL, "no %s in %s", faults[_i].from, text);
    ck_assert(asprintf(&broken, "%.*s%s%s", (int)(at - text), text, faults[_i].to,
                       at + strlen(faults[_i].from)) > 0);
    ck_assert_msg(!lens_profile_parse(broken, strlen(broken), &q, problem), "taken: %s", broken);
    ck_assert_msg(strstr(problem, faults[_i].says) != NULL, "\"%s\" lacks \"%s\"", problem,
                  faults[_i].says);
    ck_assert(problem[strlen(problem) - 1] == '.');
    ck_assert_int_eq(q.photos, 77);
    free(broken);
    free(text);
}
END_TEST

START_TEST(what_is_no_json_is_no_profile)
{
    static const char *const texts[] = {"", "{", "[]", "null", "{}", "\xff\xfe", "12"};
    struct lens_profile q;
    char problem[LENS_PROFILE_PROBLEM];
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        ck_assert(!lens_profile_parse(texts[i], strlen(texts[i]), &q, problem));
        ck_assert_msg(strstr(problem, "is no lens profile") != NULL, "%s: %s", texts[i], problem);
    }
    ck_assert(!lens_profile_read("/nonexistent/lens.json", &q, problem));
    ck_assert(strstr(problem, "cannot be read") != NULL);
    ck_assert(!lens_profile_read("/tmp", &q, problem));
    ck_assert(strstr(problem, "cannot be read") != NULL);
}
END_TEST

/* ---- Which photos ------------------------------------------------------------------------- */

START_TEST(a_profile_is_for_photos_of_its_camera_lens_zoom_and_size)
{
    struct lens_profile p = some_profile();
    struct vision_photo_info photo = some_photo();
    ck_assert_int_eq(lens_profile_match(&p, &photo), LENS_MATCH);
    photo.focal_mm = 4.201; /* EXIF rounds */
    ck_assert_int_eq(lens_profile_match(&p, &photo), LENS_MATCH);
    photo = some_photo();
    photo.focal_mm = 6.8;
    ck_assert_int_eq(lens_profile_match(&p, &photo), LENS_MATCH_NOT);
    photo = some_photo();
    photo.focal_px *= 1.5; /* digital zoom */
    ck_assert_int_eq(lens_profile_match(&p, &photo), LENS_MATCH_NOT);
    photo = some_photo();
    photo.width_px = 1008;
    photo.height_px = 756;
    ck_assert_int_eq(lens_profile_match(&p, &photo), LENS_MATCH_NOT);
    photo = some_photo();
    snprintf(photo.camera, sizeof photo.camera, "Example Pocket 4");
    ck_assert_int_eq(lens_profile_match(&p, &photo), LENS_MATCH_NOT);
    photo.camera[0] = '\0'; /* says nothing: only when asked for by name */
    ck_assert_int_eq(lens_profile_match(&p, &photo), LENS_MATCH_UNKNOWN);
    photo = some_photo();
    photo.focal_px = 0; /* zoom cannot be ruled out */
    ck_assert_int_eq(lens_profile_match(&p, &photo), LENS_MATCH_UNKNOWN);
    /* a profile of photos without EXIF data, and a photo that tells another focal length */
    p.exif_focal_px = 0;
    photo = some_photo();
    photo.focal_px = p.lens.focal_px / 2;
    ck_assert_int_eq(lens_profile_match(&p, &photo), LENS_MATCH_NOT);
}
END_TEST

START_TEST(an_upright_photo_has_the_same_lens)
{
    struct lens_profile p = some_profile();
    struct vision_photo_info photo = some_photo();
    photo.width_px = 1512;
    photo.height_px = 2016;
    photo.orientation = 6;
    ck_assert_int_eq(lens_profile_match(&p, &photo), LENS_MATCH);
    photo.orientation = 1; /* turned by a program, and nobody knows which way */
    ck_assert_int_eq(lens_profile_match(&p, &photo), LENS_MATCH_NOT);
}
END_TEST

START_TEST(photos_of_two_kinds_are_told_apart)
{
    struct vision_photo_info a = some_photo(), b = some_photo();
    ck_assert_ptr_null(lens_profile_difference(&a, &b));
    b.camera[0] = '\0';
    ck_assert_str_eq(lens_profile_difference(&a, &b), "camera");
    b = some_photo();
    b.focal_mm = 0;
    ck_assert_str_eq(lens_profile_difference(&a, &b), "lens");
    b = some_photo();
    b.width_px = 3024;
    ck_assert_str_eq(lens_profile_difference(&a, &b), "size");
    b = some_photo();
    b.focal_px = 3000;
    ck_assert_str_eq(lens_profile_difference(&a, &b), "zoom");
}
END_TEST

static int complaints;

static void count_complaint(const char *sentence)
{
    ck_assert_msg(strstr(sentence, "broken.json") || strstr(sentence, "cannot be read"), "%s",
                  sentence);
    complaints++;
}

START_TEST(the_shelf_gives_the_newest_that_matches_and_tells_what_is_broken)
{
    char folder[] = "/tmp/armsquare-shelf-XXXXXX", path[200];
    struct lens_profile p = some_profile();
    struct vision_photo_info photo = some_photo();
    struct lens_shelf shelf;
    ck_assert_ptr_nonnull(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/b-new.json", folder);
    p.photos = 2;
    ck_assert(lens_profile_write(path, &p));
    snprintf(path, sizeof path, "%s/a-old.json", folder);
    p.photos = 1;
    snprintf(p.made, sizeof p.made, "2025-01-01T10:00:00Z");
    ck_assert(lens_profile_write(path, &p));
    snprintf(path, sizeof path, "%s/c-other.json", folder);
    p = some_profile();
    snprintf(p.made, sizeof p.made, "2030-01-01T10:00:00Z");
    p.focal_mm = 9;
    ck_assert(lens_profile_write(path, &p));
    snprintf(path, sizeof path, "%s/broken.json", folder);
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    fputs("{\"format\": ", file);
    fclose(file);
    ck_assert(lens_shelf_load(folder, count_complaint, &shelf));
    ck_assert_uint_eq(shelf.count, 3);
    ck_assert_int_eq(complaints, 1);
    const struct lens_profile *found = lens_shelf_pick(&shelf, &photo);
    ck_assert_ptr_nonnull(found);
    ck_assert_int_eq(found->photos, 2);
    photo.focal_mm = 5;
    ck_assert_ptr_null(lens_shelf_pick(&shelf, &photo));
    lens_shelf_clear(&shelf);
    ck_assert(lens_shelf_load("/nonexistent", count_complaint, &shelf));
    ck_assert_uint_eq(shelf.count, 0);
    const char *const names[] = {"a-old", "b-new", "c-other", "broken"};
    for (int i = 0; i < 4; i++) {
        snprintf(path, sizeof path, "%s/%s.json", folder, names[i]);
        unlink(path);
    }
    rmdir(folder);
}
END_TEST

/* A folder as people fill it in the course of years: the newest may be last by its name. */
START_TEST(no_profile_is_one_too_many)
{
    enum { MANY = 300 };
    char folder[] = "/tmp/armsquare-shelf-XXXXXX", path[200];
    struct lens_profile p = some_profile();
    const struct vision_photo_info photo = some_photo();
    struct lens_shelf shelf;
    ck_assert_ptr_nonnull(mkdtemp(folder));
    for (p.photos = 0; p.photos < MANY; p.photos++) {
        snprintf(p.made, sizeof p.made, "%d-01-01T10:00:00Z", 2000 + p.photos);
        snprintf(path, sizeof path, "%s/%03d.json", folder, p.photos);
        ck_assert(lens_profile_write(path, &p));
    }
    ck_assert(lens_shelf_load(folder, count_complaint, &shelf));
    const struct lens_profile *found = lens_shelf_pick(&shelf, &photo);
    ck_assert_ptr_nonnull(found);
    ck_assert_int_eq(found->photos, MANY - 1);
    ck_assert_int_eq(complaints, 0);
    lens_shelf_clear(&shelf);
    /* a file where the folder should be: neither can be listed by anyone */
    ck_assert(lens_shelf_load(path, count_complaint, &shelf));
    ck_assert_uint_eq(shelf.count, 0);
    ck_assert_int_eq(complaints, 1);
    for (int i = 0; i < MANY; i++) {
        snprintf(path, sizeof path, "%s/%03d.json", folder, i);
        unlink(path);
    }
    rmdir(folder);
}
END_TEST

/* XDG Base Directory Specification 0.8: "If an implementation encounters a relative path ... it
 * should consider the path invalid and ignore it." */
START_TEST(profiles_lie_where_xdg_says)
{
    setenv("HOME", "/home/dunlin", 1);
    setenv("XDG_DATA_HOME", "/data", 1);
    char *folder = lens_shelf_folder();
    ck_assert_str_eq(folder, "/data/armsquare/lenses");
    free(folder);
    setenv("XDG_DATA_HOME", "data", 1);
    folder = lens_shelf_folder();
    ck_assert_str_eq(folder, "/home/dunlin/.local/share/armsquare/lenses");
    free(folder);
    unsetenv("XDG_DATA_HOME");
    unsetenv("HOME");
    ck_assert_ptr_null(lens_shelf_folder());
    struct lens_profile p = some_profile();
    snprintf(p.camera, sizeof p.camera, "../Ex/am ple");
    char *path = lens_shelf_path("/x", &p);
    ck_assert_str_eq(path, "/x/..-ex-am-ple-4.20mm-1514-2016x1512.json");
    free(path);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("lens profile");
    TCase *tests = tcase_create("profile");
    tcase_add_test(tests, a_profile_comes_back_as_it_was);
    tcase_add_loop_test(tests, what_is_no_sound_profile_gives_one_sentence, 0,
                        (int)(sizeof faults / sizeof faults[0]));
    tcase_add_test(tests, what_is_no_json_is_no_profile);
    tcase_add_test(tests, a_profile_is_for_photos_of_its_camera_lens_zoom_and_size);
    tcase_add_test(tests, an_upright_photo_has_the_same_lens);
    tcase_add_test(tests, photos_of_two_kinds_are_told_apart);
    tcase_add_test(tests, the_shelf_gives_the_newest_that_matches_and_tells_what_is_broken);
    tcase_add_test(tests, no_profile_is_one_too_many);
    tcase_add_test(tests, profiles_lie_where_xdg_says);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
