/* The plane of the card: homography, pose, directions, against outside values. */
#include "card/plane.h"
#include "check_main.h"
#include "opencv_peer.h"
#include "plane_maker.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>

#define PI 3.14159265358979323846
#define DEG (180 / PI)

static void ck_near(double found, double want, double tolerance, const char *what)
{
    ck_assert_msg(fabs(found - want) <= tolerance, "%s: %.12g, expected %.12g within %g", what,
                  found, want, tolerance);
}

/* R. Hartley and A. Zisserman, Multiple View Geometry, 2nd ed., 2004, 4.1: four pairs fix the
 * homography. Exact solution by hand: H = [4 2 0; 0 4 0; 0 1 1]; the centre of the square goes to
 * where the diagonals of its image cross. */
START_TEST(plane_fit_gives_the_exact_four_point_homography)
{
    const struct vision_point from[4] = {{0, 0}, {1, 0}, {1, 1}, {0, 1}};
    const struct vision_point to[4] = {{0, 0}, {4, 0}, {3, 2}, {1, 2}};
    const double want[9] = {4, 2, 0, 0, 4, 0, 0, 1, 1};
    struct vision_plane plane;
    ck_assert(plane_of_points(from, to, 4, 1, &plane));
    for (int i = 0; i < 9; i++)
        ck_near(plane.h[i], want[i], 1e-9, "h");
    struct vision_point centre = vision_plane_to_photo(&plane, (struct vision_point){0.5, 0.5});
    ck_near(centre.x, 2, 1e-9, "centre x");
    ck_near(centre.y, 4.0 / 3, 1e-9, "centre y");
}
END_TEST

/* The published homography of the "graffiti" pair 1 to 3 (Oxford affine covariant regions, as
 * shipped with OpenCV's documentation, H1to3p.xml): corners map the fifth point. */
START_TEST(plane_fit_recovers_the_published_graffiti_homography)
{
    const struct vision_point from[4] = {{0, 0}, {799, 0}, {799, 639}, {0, 639}};
    const struct vision_point to[4] = {{225.67123, -76.999973},
                                       {654.05087052, 148.95819738},
                                       {507.96546895, 661.32073510},
                                       {34.78298430, 576.48683367}};
    const double want[9] = {0.76285898, -0.29922929,   225.67123,       0.33443473, 1.0143901,
                            -76.999973, 0.00034663091, -0.000014364524, 1};
    struct vision_plane plane;
    ck_assert(plane_of_points(from, to, 4, 1, &plane));
    for (int i = 0; i < 9; i++)
        ck_near(plane.h[i], want[i], 1e-6 * fmax(1, fabs(want[i])), "h");
    struct vision_point p = vision_plane_to_photo(&plane, (struct vision_point){400, 320});
    ck_near(p.x, 383.63322272, 1e-5, "fifth point x");
    ck_near(p.y, 336.29630847, 1e-5, "fifth point y");
}
END_TEST

/* A view of the card from a camera tilted and rolled: fx = 3000, middle (2000, 1500). */
static struct vision_point view(double x, double y, double z)
{
    static const double a = 25 / DEG, b = -18 / DEG, c = 7 / DEG;
    double x1 = x, y1 = y * cos(a) - z * sin(a), z1 = y * sin(a) + z * cos(a);
    double x2 = x1 * cos(b) + z1 * sin(b), y2 = y1, z2 = -x1 * sin(b) + z1 * cos(b);
    double x3 = x2 * cos(c) - y2 * sin(c), y3 = x2 * sin(c) + y2 * cos(c), z3 = z2;
    x3 += -40;
    y3 += -25;
    z3 += 400;
    return (struct vision_point){3000 * x3 / z3 + 2000, 3000 * y3 / z3 + 1500};
}

static int grid(struct vision_point *mm, struct vision_point *px, double sigma_px)
{
    int n = 0;
    for (int i = 0; i < 6; i++)
        for (int j = 0; j < 4; j++, n++) {
            mm[n] = (struct vision_point){17.12 * i, 17.993333 * j};
            px[n] = view(mm[n].x, mm[n].y, 0);
            px[n].x += sigma_px * noise();
            px[n].y += sigma_px * noise();
        }
    return n;
}

/* ISO/IEC 7810 ID-1 corners in this view, computed independently. */
START_TEST(the_test_view_puts_an_id1_card_where_it_should)
{
    const double want[4][2] = {{1700, 1312.5},
                               {2287.04494741, 1393.92544622},
                               {2186.39653608, 1718.36619237},
                               {1623.24180643, 1661.48138232}};
    const double mm[4][2] = {{0, 0}, {85.6, 0}, {85.6, 53.98}, {0, 53.98}};
    for (int k = 0; k < 4; k++) {
        struct vision_point p = view(mm[k][0], mm[k][1], 0);
        ck_near(p.x, want[k][0], 1e-6, "x");
        ck_near(p.y, want[k][1], 1e-6, "y");
    }
}
END_TEST

/* Points of a plane parallel to the card at height h lie, seen through the card's homography, on
 * a copy scaled about the camera's foot: angles survive exactly, lengths grow by D / (D - h).
 * Closed form; the heights here run away from the camera, so the scales are below one. */
START_TEST(angles_in_a_parallel_plane_survive_at_any_height)
{
    struct vision_point mm[24], px[24];
    struct vision_plane plane;
    ck_assert(plane_of_points(mm, px, grid(mm, px, 0), 1, &plane));
    const double heights[3] = {0, 5, 20}, scales[3] = {1, 0.98649302, 0.94807608};
    for (int k = 0; k < 3; k++) {
        struct vision_point hub = vision_plane_to_card(&plane, view(10, 10, heights[k]));
        struct vision_point tip = vision_plane_to_card(
            &plane, view(10 + 50 * cos(30 / DEG), 10 + 50 * sin(30 / DEG), heights[k]));
        ck_near(atan2(tip.y - hub.y, tip.x - hub.x) * DEG, 30, 1e-9, "angle");
        ck_near(hypot(tip.x - hub.x, tip.y - hub.y) / 50, scales[k], 1e-8, "scale");
    }
}
END_TEST

START_TEST(pose_gives_back_the_camera_centre)
{
    struct vision_point mm[24], px[24];
    struct vision_plane plane;
    double obliquity, camera[3];
    ck_assert(plane_of_points(mm, px, grid(mm, px, 0), 1, &plane));
    const struct vision_point middle = {2000, 1500}, at = {0, 0};
    ck_assert(plane_obliquity(&plane, 3000, middle, at, &obliquity, camera));
    ck_near(camera[0], -82.95048251, 1e-5, "camera x");
    ck_near(camera[1], -148.28558156, 1e-5, "camera y");
    ck_near(camera[2], 365.17886542, 1e-5, "camera distance");
    ck_near(plane_focal_px(&plane, middle), 3000, 1e-3, "focal length");
    double e[2]; /* the card is one under this focal length and under no other */
    ck_assert(plane_misfit(&plane, 3000, middle, e));
    ck_near(hypot(e[0], e[1]), 0, 1e-6, "misfit");
    ck_assert(plane_misfit(&plane, 4500, middle, e));
    ck_assert_double_gt(hypot(e[0], e[1]), 0.1);
}
END_TEST

START_TEST(noisy_fit_agrees_with_opencv)
{
    struct vision_point mm[24], px[24];
    double from[48], to[48], h[9];
    srand(3);
    int n = grid(mm, px, 0.3);
    for (int i = 0; i < n; i++) {
        from[2 * i] = mm[i].x;
        from[2 * i + 1] = mm[i].y;
        to[2 * i] = px[i].x;
        to[2 * i + 1] = px[i].y;
    }
    struct vision_plane plane;
    ck_assert(plane_of_points(mm, px, n, 0, &plane));
    ck_assert(opencv_homography(from, to, n, h));
    /* OpenCV refines with its own stopping rule: compare where the points land */
    for (int i = 0; i < n; i++) {
        struct vision_point p = vision_plane_to_photo(&plane, mm[i]);
        double w = h[6] * mm[i].x + h[7] * mm[i].y + h[8];
        ck_near(p.x, (h[0] * mm[i].x + h[1] * mm[i].y + h[2]) / w, 2e-3, "x");
        ck_near(p.y, (h[3] * mm[i].x + h[4] * mm[i].y + h[5]) / w, 2e-3, "y");
    }
}
END_TEST

/* JCGM 101:2008: propagate by random draws and compare with the law of propagation. */
START_TEST(direction_uncertainty_agrees_with_monte_carlo)
{
    enum { DRAWS = 1500 };
    struct vision_point mm[24], px[24];
    double sum = 0, square = 0, u = 0;
    srand(5);
    struct vision_point a = view(30, 20, 0), b = view(39, 23, 0);
    for (int k = 0; k < DRAWS; k++) {
        struct vision_plane plane;
        ck_assert(plane_of_points(mm, px, grid(mm, px, 0.25), 0.25, &plane));
        struct vision_point p = vision_plane_to_card(&plane, a),
                            q = vision_plane_to_card(&plane, b);
        double deg = atan2(q.y - p.y, q.x - p.x) * DEG;
        sum += deg;
        square += deg * deg;
        if (k == 0)
            u = plane_direction_u(&plane, (struct vision_point){34.5, 21.5}, deg);
    }
    double spread = sqrt(square / DRAWS - sum / DRAWS * (sum / DRAWS));
    ck_near(u / spread, 1, 0.12, "propagated over simulated");
}
END_TEST

START_TEST(radial_distortion_is_found_and_undone)
{
    struct vision_point mm[24], px[24];
    int n = grid(mm, px, 0);
    struct plane_lens lens = {
        .centre_px = {2000, 1500}, .radius_px = 2500, .unknowns = 1, .cov = {0.01}};
    for (int i = 0; i < n; i++) {
        double dx = (px[i].x - 2000) / 2500, dy = (px[i].y - 1500) / 2500;
        double stretch = 1 + 0.05 * (dx * dx + dy * dy);
        px[i] = (struct vision_point){2000 + 2500 * dx * stretch, 1500 + 2500 * dy * stretch};
    }
    struct vision_plane plane;
    ck_assert(plane_fit(mm, px, n, 0.01, &lens, &plane));
    ck_near(plane.k1, 0.05, 2e-3, "k1");
    for (int i = 0; i < n; i++) {
        struct vision_point p = vision_plane_to_card(&plane, px[i]);
        ck_near(p.x, mm[i].x, 1e-3, "x");
        ck_near(p.y, mm[i].y, 1e-3, "y");
    }
}
END_TEST

START_TEST(degenerate_points_are_refused)
{
    struct vision_point line[6], px[6];
    struct vision_plane plane;
    for (int i = 0; i < 6; i++)
        line[i] = px[i] = (struct vision_point){i, 2 * i};
    ck_assert(!plane_of_points(line, px, 6, 1, &plane));
    ck_assert(!plane_of_points(line, px, 3, 1, &plane));
    px[2].x = NAN;
    ck_assert(!plane_of_points(line, px, 6, 1, &plane));
}
END_TEST

START_TEST(line_fit_gives_direction_and_refuses_a_round_cloud)
{
    struct vision_point p[40];
    double deg, u;
    for (int i = 0; i < 40; i++)
        p[i] = (struct vision_point){i * cos(2.0), i * sin(2.0)};
    ck_assert(vision_line_fit(p, 40, &deg, &u));
    ck_near(deg, 2.0 * DEG - 180, 1e-9, "direction");
    ck_near(u, 0, 1e-6, "u");
    for (int i = 0; i < 40; i++)
        p[i] = (struct vision_point){cos(i * PI / 20), sin(i * PI / 20)};
    ck_assert(!vision_line_fit(p, 40, &deg, &u));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("plane");
    TCase *tests = tcase_create("plane");
    tcase_add_test(tests, plane_fit_gives_the_exact_four_point_homography);
    tcase_add_test(tests, plane_fit_recovers_the_published_graffiti_homography);
    tcase_add_test(tests, the_test_view_puts_an_id1_card_where_it_should);
    tcase_add_test(tests, angles_in_a_parallel_plane_survive_at_any_height);
    tcase_add_test(tests, pose_gives_back_the_camera_centre);
    tcase_add_test(tests, noisy_fit_agrees_with_opencv);
    tcase_add_test(tests, direction_uncertainty_agrees_with_monte_carlo);
    tcase_add_test(tests, radial_distortion_is_found_and_undone);
    tcase_add_test(tests, degenerate_points_are_refused);
    tcase_add_test(tests, line_fit_gives_direction_and_refuses_a_round_cloud);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
