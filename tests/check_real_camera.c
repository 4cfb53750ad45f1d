/* Photographs of a real camera: thirteen views of a printed chessboard, as shipped with OpenCV's
 * documentation (Debian package opencv-doc, examples/data/left01.jpg to left14.jpg, with the lens
 * published beside them in left_intrinsics.yml). On a chessboard a row of corners stands at 90
 * degrees to a column, and every error must lie within what our own uncertainty allows: with the
 * published lens, with the one found in each photo, and with a profile made from other photos. */
#include "card/lens.h"
#include "card/plane.h"
#include "check_main.h"
#include "opencv_peer.h"
#include "plane_maker.h"
#include "vision.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COLUMNS 9
#define ROWS 6
#define CORNERS (COLUMNS * ROWS)
#define SQUARE_MM 25.0
#define SKIPPED 77 /* what CTest calls a skipped test */

struct view {
    struct vision_point mm[CORNERS], px[CORNERS];
    int width, height;
};

/* The numbers after a name in OpenCV's YAML file: rows of "data: [ a, b, ... ]". */
static bool read_numbers(const char *name, double *out, int n)
{
    FILE *file = fopen(CAMERA_PHOTOS "/left_intrinsics.yml", "r");
    char text[4096] = "";
    if (!file)
        return false;
    size_t size = fread(text, 1, sizeof text - 1, file);
    fclose(file);
    text[size] = '\0';
    char *at = strstr(text, name);
    at = at ? strstr(at, "data: [") : NULL;
    if (!at)
        return false;
    at += strlen("data: [");
    for (int i = 0; i < n; i++) {
        char *end;
        out[i] = strtod(at, &end);
        if (end == at)
            return false;
        at = end + strspn(end, ", \n");
    }
    return true;
}

static bool load_view(int number, struct view *out)
{
    char path[256];
    struct vision_photo *photo = NULL;
    struct vision_image grey;
    double corners[2 * CORNERS];
    snprintf(path, sizeof path, CAMERA_PHOTOS "/left%02d.jpg", number);
    if (vision_photo_open(path, &photo) != VISION_REASON_NONE)
        return false;
    bool good = vision_photo_decode(photo, 1, NULL, 1, &grey) == VISION_REASON_NONE;
    vision_photo_free(photo);
    if (!good)
        return false;
    ck_assert_uint_eq(grey.stride, (size_t)grey.width);
    good = opencv_chessboard(grey.pixels, grey.width, grey.height, COLUMNS, ROWS, corners);
    out->width = grey.width;
    out->height = grey.height;
    vision_image_clear(&grey);
    for (int i = 0; good && i < CORNERS; i++) {
        const int row = i / COLUMNS;
        out->px[i] = (struct vision_point){corners[2 * i], corners[2 * i + 1]};
        out->mm[i] = (struct vision_point){SQUARE_MM * (i % COLUMNS), -SQUARE_MM * row};
    }
    return good;
}

static void undistort(struct view *view)
{
    double camera[9], k[5], xy[2 * CORNERS];
    ck_assert(read_numbers("camera_matrix", camera, 9));
    ck_assert(read_numbers("distortion_coefficients", k, 5));
    for (int i = 0; i < CORNERS; i++) {
        xy[2 * i] = view->px[i].x;
        xy[2 * i + 1] = view->px[i].y;
    }
    opencv_undistort(xy, CORNERS, camera, k);
    for (int i = 0; i < CORNERS; i++)
        view->px[i] = (struct vision_point){xy[2 * i], xy[2 * i + 1]};
}

/* Direction of the corners first, first + step, ... in the board's plane, and its u. */
static double line_direction(const struct view *view, const struct vision_plane *plane, int first,
                             int step, int n, double *u_deg)
{
    struct vision_point points[COLUMNS];
    double deg;
    for (int i = 0; i < n; i++)
        points[i] = vision_plane_to_card(plane, view->px[first + i * step]);
    ck_assert(vision_line_fit(points, n, &deg, u_deg));
    *u_deg = hypot(*u_deg, plane_direction_u(plane, points[n / 2], deg));
    return deg;
}

/* Third row against fifth column, through the plane of the outermost corners, which the two lines
 * share but for their four ends. */
static double row_against_column(const struct view *view, const struct plane_lens *lens,
                                 double *u_deg)
{
    struct vision_point mm[CORNERS], px[CORNERS];
    struct vision_plane plane;
    int n = 0;
    for (int i = 0; i < CORNERS; i++) {
        int column = i % COLUMNS, row = i / COLUMNS;
        if (column > 0 && column < COLUMNS - 1 && row > 0 && row < ROWS - 1)
            continue;
        mm[n] = view->mm[i];
        px[n++] = view->px[i];
    }
    ck_assert(plane_fit(mm, px, n, 0, lens, &plane));
    double u_row, u_column;
    double row = line_direction(view, &plane, 2 * COLUMNS, 1, COLUMNS, &u_row);
    double column = line_direction(view, &plane, 4, COLUMNS, ROWS, &u_column);
    *u_deg = hypot(u_row, u_column);
    return fabs(remainder(row - column, 180));
}

static const int numbers[13] = {1, 2, 3, 4, 5, 6, 7, 8, 9, 11, 12, 13, 14};

/* 95 % of 13 allows one beyond 2 u; view 02 is the hard one (1.2 px in the published poses). */
static void check_views(bool published_lens)
{
    int beyond = 0;
    for (int i = 0; i < 13; i++) {
        struct view view;
        double u;
        ck_assert_msg(load_view(numbers[i], &view), "left%02d.jpg: no chessboard", numbers[i]);
        struct plane_lens lens = {.centre_px = {(view.width - 1) / 2.0, (view.height - 1) / 2.0},
                                  .radius_px = hypot(view.width, view.height) / 2,
                                  .unknowns = published_lens ? 0 : 1,
                                  .cov = {0.3 * 0.3}};
        if (published_lens)
            undistort(&view);
        double angle = row_against_column(&view, &lens, &u);
        printf("left%02d %s: %.3f degrees, u %.3f\n", numbers[i],
               published_lens ? "published lens" : "own lens term", angle, u);
        beyond += fabs(angle - 90) > 2 * u;
        ck_assert_msg(fabs(angle - 90) <= 4 * u, "left%02d.jpg: %.3f is beyond 4 u = %.3f",
                      numbers[i], angle - 90, 4 * u);
        ck_assert_msg(u < 0.25, "left%02d.jpg: u %.3f tells nothing", numbers[i], u);
    }
    ck_assert_msg(beyond <= 1, "%d of 13 views beyond 2 u", beyond);
}

START_TEST(rows_stand_square_to_columns_with_the_published_lens)
{
    check_views(true);
}
END_TEST

START_TEST(rows_stand_square_to_columns_with_the_lens_found_in_each_photo)
{
    check_views(false);
}
END_TEST

/* ---- A profile from some of the photos ------------------------------------------------------- */

/* Eight for the profile, chosen without looking: every second one and the last. The others, among
 * them the hard one, are measured. */
static const int for_profile[8] = {1, 3, 5, 7, 9, 11, 13, 14}, held_out[5] = {2, 4, 6, 8, 12};

/* A card has at most VISION_VIEW_CORNERS corners: the rim of the board, and every second inside. */
static void to_card_view(const struct view *view, struct vision_card_view *out)
{
    *out = (struct vision_card_view){
        .photo = {.width_px = view->width, .height_px = view->height, .orientation = 1},
        .half_width_mm = SQUARE_MM * COLUMNS / 2,
        .half_height_mm = SQUARE_MM * ROWS / 2};
    for (int i = 0; i < CORNERS; i++) {
        int column = i % COLUMNS, row = i / COLUMNS;
        bool rim = column == 0 || column == COLUMNS - 1 || row == 0 || row == ROWS - 1;
        if ((!rim && (column + row) % 2 == 0) || out->count == VISION_VIEW_CORNERS)
            continue;
        out->mm[out->count] = view->mm[i];
        out->px[out->count++] = view->px[i];
    }
}

static void load_card_views(const int *which, int n, struct vision_card_view *out)
{
    for (int i = 0; i < n; i++) {
        static struct view view;
        ck_assert_msg(load_view(which[i], &view), "left%02d.jpg: no chessboard", which[i]);
        to_card_view(&view, &out[i]);
    }
}

static double published_rms_px(void)
{
    FILE *file = fopen(CAMERA_PHOTOS "/left_intrinsics.yml", "r");
    char line[256];
    double rms = 0;
    while (file && fgets(line, sizeof line, file)) {
        const char *at = strstr(line, "avg_reprojection_error:");
        if (at)
            rms = strtod(at + strlen("avg_reprojection_error:"), NULL);
    }
    if (file)
        fclose(file);
    ck_assert(rms > 0);
    return rms;
}

/* The published lens comes from the same camera and 13 views; how uncertain it is the file does not
 * say, only that its corners miss by 0.393 px a point (ours by about half of that: view 02 misses
 * by 1.18 px there). At like views, uncertainty goes with the misses. The five published terms of
 * distortion differ one by one from our two, as k2 and k3 stand in for each other: what the
 * distortion does is compared, out to where the corners lie. */
START_TEST(the_profile_agrees_with_the_published_lens)
{
    static struct vision_card_view views[8];
    static struct vision_lens_fit fit;
    double k[9], d[5];
    load_card_views(for_profile, 8, views);
    ck_assert_int_eq(vision_lens_fit(views, 8, &fit), VISION_LENS_FINE);
    ck_assert(read_numbers("camera_matrix", k, 9));
    ck_assert(read_numbers("distortion_coefficients", d, 5));
    double worse = published_rms_px() / (sqrt(2) * fit.rms_px);
    double share = hypot(1, worse);
    const struct {
        const char *name;
        double ours, published, u;
    } rows[] = {{"focal length", fit.lens.focal_px, k[0], fit.u_focal_px},
                {"centre x", fit.lens.centre_px.x, k[2], fit.u_centre_px},
                {"centre y", fit.lens.centre_px.y, k[5], fit.u_centre_px}};
    for (int i = 0; i < 3; i++) {
        printf("%s: %.2f, published %.2f, u %.2f, combined %.2f\n", rows[i].name, rows[i].ours,
               rows[i].published, rows[i].u, rows[i].u * share);
        ck_assert_msg(fabs(rows[i].ours - rows[i].published) <= 2 * rows[i].u * share,
                      "%s: %.2f, published %.2f, combined u %.2f", rows[i].name, rows[i].ours,
                      rows[i].published, rows[i].u * share);
    }
    for (int i = 1; i <= 5; i++) {
        double r = 0.1 * i, q = r * r, ours = q * (fit.lens.k1 + q * fit.lens.k2);
        double published = q * (d[0] + q * (d[1] + q * d[4]));
        double u = q * fit.u_k1 * share + r * fit.u_focal_px * share / fit.lens.focal_px;
        ck_assert_msg(fabs(ours - published) <= 2 * u, "at %.1f: %.5f, published %.5f, u %.5f", r,
                      ours, published, u);
    }
}
END_TEST

/* The photos that had no part in it, with the profile and without. */
START_TEST(rows_stand_square_to_columns_with_a_profile_of_other_photos)
{
    static struct vision_card_view views[8];
    static struct vision_lens_fit fit;
    double with_square = 0, without_square = 0, with_u = 0, without_u = 0;
    load_card_views(for_profile, 8, views);
    ck_assert_int_eq(vision_lens_fit(views, 8, &fit), VISION_LENS_FINE);
    for (int i = 0; i < 5; i++) {
        static struct view view;
        struct plane_lens profile;
        double u, own_u;
        ck_assert(load_view(held_out[i], &view));
        struct vision_photo_info info = {
            .width_px = view.width, .height_px = view.height, .orientation = 1};
        ck_assert(lens_in_photo(&fit.lens, &info, &profile));
        struct plane_lens own = {.centre_px = {(view.width - 1) / 2.0, (view.height - 1) / 2.0},
                                 .radius_px = hypot(view.width, view.height) / 2,
                                 .unknowns = 1,
                                 .cov = {0.3 * 0.3}};
        double with = row_against_column(&view, &profile, &u);
        double without = row_against_column(&view, &own, &own_u);
        printf("left%02d: with the profile %.3f degrees, u %.3f; without %.3f, u %.3f\n",
               held_out[i], with, u, without, own_u);
        ck_assert_msg(fabs(with - 90) <= 2 * u, "left%02d.jpg: %.3f is beyond 2 u = %.3f",
                      held_out[i], with - 90, 2 * u);
        ck_assert_msg(fabs(without - 90) <= 2 * own_u, "left%02d.jpg: %.3f is beyond 2 u = %.3f",
                      held_out[i], without - 90, 2 * own_u);
        with_square += pow(with - 90, 2) / 5;
        without_square += pow(without - 90, 2) / 5;
        with_u += u / 5;
        without_u += own_u / 5;
    }
    printf("rms %.3f with, %.3f without; mean u %.3f, %.3f\n", sqrt(with_square),
           sqrt(without_square), with_u, without_u);
}
END_TEST

int main(void)
{
    FILE *file = fopen(CAMERA_PHOTOS "/left01.jpg", "rb");
    if (!file) {
        puts("skipped: the photographs (Debian package opencv-doc) are not installed");
        return SKIPPED;
    }
    fclose(file);
    Suite *suite = suite_create("real camera");
    TCase *tests = tcase_create("chessboard");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, rows_stand_square_to_columns_with_the_published_lens);
    tcase_add_test(tests, rows_stand_square_to_columns_with_the_lens_found_in_each_photo);
    tcase_add_test(tests, the_profile_agrees_with_the_published_lens);
    tcase_add_test(tests, rows_stand_square_to_columns_with_a_profile_of_other_photos);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
