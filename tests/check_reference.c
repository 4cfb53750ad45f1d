/* vision/stage/reference.c: the line of two points, through a pinhole camera written out here: it
 * looks at the card's middle, tilted about the card's x axis, and (X, Y) goes to focal * (right,
 * -up) / depth (Hartley and Zisserman, Multiple View Geometry, 2nd ed. 2004, 6.1; from memory). */
#include "check_main.h"
#include "plane_maker.h"
#include "stage/reference.h"

#include <math.h>

#define FOCAL_PX 4000.0
#define DISTANCE_MM 250.0
#define RAD (3.14159265358979323846 / 180)

static struct vision_point project(double x, double y, double tilt_deg)
{
    double up = y * cos(tilt_deg * RAD), depth = DISTANCE_MM - y * sin(tilt_deg * RAD);
    return (struct vision_point){1000 + FOCAL_PX * x / depth, 750 - FOCAL_PX * up / depth};
}

static struct card_fix fix_seen(double tilt_deg)
{
    const struct vision_point mm[4] = {{-40, -25}, {40, -25}, {40, 25}, {-40, 25}};
    struct card_fix fix = {.card = vision_card_by_name("hand-duo"), .bar_scale_x = 1};
    struct vision_point px[4];
    for (int i = 0; i < 4; i++)
        px[i] = project(mm[i].x, mm[i].y, tilt_deg);
    ck_assert(plane_of_points(mm, px, 4, 0.1, &fix.plane));
    return fix;
}

static struct reference_line line_of(const struct card_fix *fix, const struct vision_point px[2],
                                     double *reference_deg)
{
    const double camera_mm[3] = {0, 0, DISTANCE_MM};
    struct vision_options options = vision_options_default();
    struct vision_result result = {.card = fix->card};
    struct reference_line line;
    options.reference = VISION_REFERENCE_POINTS;
    options.hint_px[0] = px[0];
    options.hint_px[1] = px[1];
    ck_assert_int_eq(
        reference_find(NULL, fix, NULL, NULL, camera_mm, NULL, &options, &result, &line),
        VISION_REASON_NONE);
    *reference_deg = result.reference_deg;
    return line;
}

/* Square on, two points d mm apart and each good to 1.5 px across their line turn it by
 * 1.5 sqrt(2) / (16 d); 16 px make a millimetre. */
START_TEST(two_points_seen_square_on_by_hand)
{
    const struct card_fix fix = fix_seen(0);
    const struct vision_point px[2] = {project(-10, 0, 0), project(10, 0, 0)};
    double deg;
    struct reference_line line = line_of(&fix, px, &deg);
    assert_near(deg, 0, 1e-6);
    assert_near(line.u_deg, 1.5 * sqrt(2) / 320 / RAD, 1e-4);
}
END_TEST

/* Along the axis that the view is tilted about nothing looks shorter, across it all does by the
 * tilt's cosine: a pixel beside the line is so much more of the card. */
START_TEST(what_is_seen_foreshortened_turns_the_line_by_more)
{
    const struct card_fix fix = fix_seen(45);
    const struct vision_point px[2] = {project(-10, 0, 45), project(10, 0, 45)};
    double deg;
    struct reference_line line = line_of(&fix, px, &deg);
    assert_near(line.u_deg, 1.5 * sqrt(2) / 320 / cos(45 * RAD) / RAD, 1e-3);
}
END_TEST

/* From where a hand's scatter of 1.5 px puts the points (JCGM 101:2008, 5.2), all round. */
START_TEST(u_is_the_scatter_of_what_is_pointed_at)
{
    enum { DRAWS = 4000 };
    const struct card_fix fix = fix_seen(35);
    unsigned seed = 7;
    for (int turn_deg = 0; turn_deg < 180; turn_deg += 30) {
        double c = 9 * cos(turn_deg * RAD), s = 9 * sin(turn_deg * RAD), squares = 0, deg, moved;
        const struct vision_point px[2] = {project(5 - c, 4 - s, 35), project(5 + c, 4 + s, 35)};
        struct reference_line line = line_of(&fix, px, &deg);
        assert_near(deg, turn_deg, 1e-6);
        for (int k = 0; k < DRAWS; k++) {
            double off[4];
            for (int i = 0; i < 4; i++) {
                seed = seed * 1103515245U + 12345U;
                off[i] = 1.5 * sqrt(12) * ((seed >> 8) / 16777216.0 - 0.5);
            }
            const struct vision_point at[2] = {{px[0].x + off[0], px[0].y + off[1]},
                                               {px[1].x + off[2], px[1].y + off[3]}};
            line_of(&fix, at, &moved);
            squares += pow(remainder(moved - turn_deg, 360), 2);
        }
        assert_relative(line.u_deg, sqrt(squares / DRAWS), 0.04);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("reference");
    TCase *tc = tcase_create("points");
    tcase_add_test(tc, two_points_seen_square_on_by_hand);
    tcase_add_test(tc, what_is_seen_foreshortened_turns_the_line_by_more);
    tcase_add_test(tc, u_is_the_scatter_of_what_is_pointed_at);
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
