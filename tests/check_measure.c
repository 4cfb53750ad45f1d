/* The whole measurement on made-up photos whose truth is exact. Flat pictures, so these tests say
 * that the stages fit together, not how accurate they are; that is the error table's business. */
#include "check_main.h"
#include "flat_scene.h"
#include "vision.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static void measure(struct picture picture, const struct vision_options *options,
                    struct vision_result *out)
{
    struct vision_options usual = vision_options_default();
    struct jpeg_settings settings = {.quality = 92, .h_samp = 2, .v_samp = 2};
    struct bytes file = jpeg_encode(&picture, &settings);
    struct vision_photo *photo = NULL;
    ck_assert_int_eq(vision_photo_open_bytes(file.data, file.size, &photo), VISION_REASON_NONE);
    vision_measure(photo, options ? options : &usual, out);
    vision_photo_free(photo);
    bytes_free(&file);
    picture_free(&picture);
}

static void ck_angle(double found_deg, double want_deg, double tolerance_deg)
{
    double off = remainder(found_deg - want_deg, 360);
    ck_assert_msg(fabs(off) <= tolerance_deg, "%.3f degrees, expected %.3f", found_deg, want_deg);
}

static const double horns[][4] = {
    {87, 267}, {93.1, 272.9}, {45, 225}, {10, 100, 190, 280}, {172.9, 353}, {0, 120, 240}, {91},
};
static const int horn_arms[] = {2, 2, 2, 4, 2, 3, 1};

START_TEST(every_arm_is_found_where_it_is)
{
    struct vision_result r;
    measure(flat_scene(horns[_i], horn_arms[_i]), NULL, &r);
    ck_assert_msg(r.status == VISION_OK, "horn %d: %s", _i, vision_reason_code(r.reason));
    ck_assert_int_eq(r.arm_count, horn_arms[_i]);
    for (int a = 0; a < r.arm_count; a++) {
        double nearest = 999;
        for (int k = 0; k < horn_arms[_i]; k++)
            if (fabs(remainder(r.arms[a].angle_deg - horns[_i][k], 360)) < fabs(nearest))
                nearest = remainder(r.arms[a].angle_deg - horns[_i][k], 360);
        ck_assert_msg(fabs(nearest) < 0.15, "horn %d arm %s: off by %.3f", _i, r.arms[a].name,
                      nearest);
        ck_assert_msg(fabs(nearest) <= 3 * r.arms[a].u_deg, "horn %d arm %s: off by %.3f, u %.3f",
                      _i, r.arms[a].name, nearest, r.arms[a].u_deg);
    }
}
END_TEST

START_TEST(more_threads_give_the_same_answer)
{
    struct vision_options options = vision_options_default();
    struct vision_result one, many;
    measure(flat_scene(horns[3], horn_arms[3]), &options, &one);
    options.threads = 5;
    measure(flat_scene(horns[3], horn_arms[3]), &options, &many);
    ck_assert_int_eq(one.arm_count, horn_arms[3]);
    ck_assert_int_eq(many.arm_count, one.arm_count);
    for (int a = 0; a < one.arm_count; a++) {
        ck_assert_double_eq(many.arms[a].angle_deg, one.arms[a].angle_deg);
        ck_assert_double_eq(many.arms[a].u_deg, one.arms[a].u_deg);
    }
}
END_TEST

/* Which of two horns is meant nobody can tell, unless one stands at the slot's end, where the shaft
 * goes through, or is pointed at. */
START_TEST(two_parts_are_refused_unless_one_is_told)
{
    const double horn[2] = {93.1, 272.9}, aside[2] = {-15, 15}, one_in_the_middle[2] = {0, 26};
    struct vision_result r;
    measure(flat_scene_two_parts(horn, 2, one_in_the_middle), NULL, &r);
    ck_assert_int_eq(r.status, VISION_OK);
    measure(flat_scene_two_parts(horn, 2, aside), NULL, &r);
    ck_assert_int_eq(r.status, VISION_FAILED);
    ck_assert_int_eq(r.reason, VISION_TWO_PARTS);
    struct vision_options options = vision_options_default();
    options.have_arm_hint = true;
    options.hub_hint_px.x = (r.corners_px[0].x + r.corners_px[2].x) / 2 + aside[1] * r.px_per_mm;
    options.hub_hint_px.y = (r.corners_px[0].y + r.corners_px[2].y) / 2;
    options.tip_hint_px = options.hub_hint_px;
    options.tip_hint_px.y -= 14 * r.px_per_mm;
    measure(flat_scene_two_parts(horn, 2, aside), &options, &r);
    ck_assert_int_eq(r.arm_count, 1);
    ck_angle(r.arms[0].angle_deg, horn[0], 0.3);
}
END_TEST

/* The joint is thicker than the arm and stands beside its middle line, as a ball high above the arm
 * does in a slanting view; the rod tells that this end is not the hub. */
START_TEST(a_link_neither_turns_the_arm_nor_makes_its_tip_the_hub)
{
    static const struct flat_link links[] = {
        {.along_mm = 12.5, .aside_mm = 1.6, .radius_mm = 4, .rod_mm = 2.2, .rod_deg = 5},
        {.along_mm = 13.5, .aside_mm = -2, .radius_mm = 4, .rod_mm = 4.2, .rod_deg = 178},
        {.along_mm = 12, .aside_mm = 3, .radius_mm = 4, .rod_mm = 0.1, .rod_deg = 178},
        {.along_mm = 11, .aside_mm = 4, .radius_mm = 3.5, .rod_mm = 0.1, .rod_deg = 178},
        {.along_mm = 10, .aside_mm = 3, .radius_mm = 3.5, .rod_mm = 0.1, .rod_deg = 178},
    };
    const double arms[1] = {91};
    struct vision_result r;
    measure(flat_scene_with_link(arms, 1, &links[_i]), NULL, &r);
    ck_assert_msg(r.status == VISION_OK, "link %d: %s", _i, vision_reason_code(r.reason));
    ck_assert_int_eq(r.arm_count, 1);
    ck_angle(r.arms[0].angle_deg, 91, 0.3);
}
END_TEST

/* What the arm is measured against is the rod, or nothing: never the horn's own arms. */
START_TEST(a_link_is_measured_against_and_arms_are_no_links)
{
    const struct flat_link link = {
        .along_mm = 12.5, .aside_mm = 0, .radius_mm = 3.5, .rod_mm = 2.2, .rod_deg = 5};
    const double arms[2] = {91, 271};
    struct vision_options options = vision_options_default();
    struct vision_result r;
    options.reference = VISION_REFERENCE_LINK;
    measure(flat_scene_with_link(arms, 2, &link), &options, &r);
    ck_assert_msg(r.status == VISION_OK, "%s", vision_reason_code(r.reason));
    ck_angle(r.reference_deg, 5, 0.2);
    for (size_t i = 0; i < sizeof horn_arms / sizeof horn_arms[0]; i++) {
        measure(flat_scene(horns[i], horn_arms[i]), &options, &r);
        ck_assert_int_eq(r.status, VISION_FAILED);
        ck_assert_int_eq(r.reason, VISION_NO_LINK);
    }
}
END_TEST

/* Ray-traced horns without a link, of which an arm or a ball was once taken for one. */
START_TEST(photos_without_a_link_are_refused_as_that)
{
    static const char *const photos[] = {TEST_DATA "/tune-45-cross-white.jpg",
                                         TEST_DATA "/tune-102-double-brushed.jpg",
                                         TEST_DATA "/tune-135-double-silver.jpg"};
    struct vision_options options = vision_options_default();
    options.reference = VISION_REFERENCE_LINK;
    struct vision_photo *photo = NULL;
    struct vision_result r;
    ck_assert_int_eq(vision_photo_open(photos[_i], &photo), VISION_REASON_NONE);
    vision_measure(photo, &options, &r);
    vision_photo_free(photo);
    ck_assert_int_eq(r.status, VISION_FAILED);
    ck_assert_int_eq(r.reason, VISION_NO_LINK);
}
END_TEST

/* A green horn before the green stripes: the advice is another card, not another photo. */
START_TEST(a_part_in_a_colour_of_the_card_asks_for_another_card)
{
    struct vision_options options = vision_options_default();
    struct vision_photo *photo = NULL;
    struct vision_result r;
    ck_assert_int_eq(vision_photo_open(TEST_DATA "/tune-33-single-green.jpg", &photo),
                     VISION_REASON_NONE);
    vision_measure(photo, &options, &r);
    vision_photo_free(photo);
    ck_assert_int_eq(r.status, VISION_FAILED);
    ck_assert_int_eq(r.reason, VISION_CARD_COLOURED);
}
END_TEST

/* The arm covers most of a slot that was not cut out. */
START_TEST(an_arm_along_the_printed_slot_is_measured)
{
    const double arms[2] = {0.8, 180.8}, aside[2] = {-19, -19};
    struct vision_result r;
    measure(flat_scene_two_parts(arms, 2, aside), NULL, &r);
    ck_assert_msg(r.status == VISION_OK, "%s", vision_reason_code(r.reason));
    ck_assert_int_eq(r.arm_count, 2);
    ck_angle(r.arms[0].angle_deg, 0.8, 0.15);
}
END_TEST

START_TEST(hub_and_deviation_come_with_the_angle)
{
    const double arms[2] = {87, 267};
    struct vision_result r;
    measure(flat_scene(arms, 2), NULL, &r);
    ck_assert_int_eq(r.arm_count, 2);
    ck_angle(r.arms[0].deviation_deg, -3, 0.15);
    ck_assert_double_eq_tol(r.arms[0].hub_px.x, 749.5, 0.4 * FLAT_SCENE_PX_PER_MM);
    ck_assert_double_eq_tol(r.arms[0].hub_px.y, 499.5, 0.4 * FLAT_SCENE_PX_PER_MM);
    ck_assert_double_eq_tol(r.px_per_mm, FLAT_SCENE_PX_PER_MM, 0.05);
    ck_assert(r.obliquity_deg < 1);
}
END_TEST

START_TEST(budget_adds_up_to_the_uncertainty)
{
    const double arms[3] = {10, 91, 300};
    struct vision_result r;
    measure(flat_scene(arms, 3), NULL, &r);
    ck_assert_int_eq(r.arm_count, 3);
    for (int a = 0; a < 3; a++) {
        double sum = 0;
        ck_assert(r.arms[a].budget_count > 3);
        for (int i = 0; i < r.arms[a].budget_count; i++) {
            sum += r.arms[a].budget[i].u_deg * r.arms[a].budget[i].u_deg;
            ck_assert(r.arms[a].budget[i].dof >= 1);
        }
        ck_assert_double_eq_tol(sqrt(sum), r.arms[a].u_deg, 1e-9);
    }
}
END_TEST

START_TEST(points_make_a_reference_of_their_own)
{
    const double arms[2] = {87, 267};
    struct vision_options options = vision_options_default();
    struct vision_result r;
    options.reference = VISION_REFERENCE_POINTS;
    options.hint_px[0] = (struct vision_point){300, 800};
    options.hint_px[1] = (struct vision_point){1100, 800 - 800 * tan(5 * 3.14159265358979 / 180)};
    measure(flat_scene(arms, 2), &options, &r);
    ck_assert_int_eq(r.status, VISION_OK);
    ck_angle(r.arms[0].angle_deg, 82, 0.2);
}
END_TEST

#define CARD_BOTTOM_PX (499.5 + 53.98 / 2 * FLAT_SCENE_PX_PER_MM)

/* A dark servo case that shows below the card, down to a straight edge that passes middle_px below
 * the card's, turned counter-clockwise by edge_deg; grey is its brightness. */
static void paint_case(struct picture *p, double middle_px, double edge_deg, uint8_t grey)
{
    double slope = -tan(edge_deg * 3.14159265358979 / 180);
    for (int y = (int)ceil(CARD_BOTTOM_PX + 1); y < p->height; y++)
        for (int x = 200; x < 1300; x++)
            if (y < CARD_BOTTOM_PX + middle_px + slope * (x - 750))
                memset(&p->rgb[3 * ((size_t)y * (size_t)p->width + (size_t)x)], grey, 3);
}

static void measure_against_edge(struct picture picture, double below_px, struct vision_result *out)
{
    struct vision_options options = vision_options_default();
    options.reference = VISION_REFERENCE_EDGE;
    options.hint_px[0] = (struct vision_point){300, CARD_BOTTOM_PX + below_px};
    options.hint_px[1] = (struct vision_point){1200, CARD_BOTTOM_PX + below_px};
    measure(picture, &options, out);
}

/* The card's own edge lies nearer to the points, and is straight and clear. */
START_TEST(the_edge_is_that_of_the_case_and_not_of_the_card)
{
    const double arms[2] = {87, 267};
    struct picture picture = flat_scene(arms, 2);
    struct vision_result r;
    paint_case(&picture, 40, 1.5, 60);
    measure_against_edge(picture, 15, &r);
    ck_assert_int_eq(r.status, VISION_OK);
    ck_angle(r.arms[0].angle_deg, 85.5, 0.2);
    measure_against_edge(flat_scene(arms, 2), 2, &r);
    ck_assert_int_eq(r.status, VISION_FAILED);
    ck_assert_int_eq(r.reason, VISION_NO_EDGE);
}
END_TEST

START_TEST(two_edges_that_differ_leave_the_answer_unsure)
{
    const double arms[2] = {87, 267};
    struct picture picture = flat_scene(arms, 2);
    struct vision_result r;
    paint_case(&picture, 55, 2, 110);
    paint_case(&picture, 25, 0.5, 40);
    measure_against_edge(picture, 40, &r);
    ck_assert_int_eq(r.status, VISION_UNSURE);
    ck_assert_int_eq(r.reason, VISION_TWO_EDGES);
}
END_TEST

/* A line of the bench that runs another way than the points is not the edge they lie on. */
START_TEST(an_edge_far_from_the_way_of_the_points_is_not_theirs)
{
    const double arms[2] = {87, 267};
    for (int turned = 0; turned < 2; turned++) {
        struct picture picture = flat_scene(arms, 2);
        struct vision_result r;
        paint_case(&picture, 55, turned ? 8 : 3, 110);
        measure_against_edge(picture, 40, &r);
        ck_assert_int_eq(r.status, turned ? VISION_FAILED : VISION_OK);
        ck_assert_int_eq(r.reason, turned ? VISION_NO_EDGE : VISION_REASON_NONE);
    }
}
END_TEST

/* From the hub of a flat scene to a place near the tip of an arm at this angle, each a few pixels
 * beside where it should be. */
static struct vision_options point_along(double angle_deg)
{
    const double rad = angle_deg / 180 * 3.14159265358979, length_px = 15 * FLAT_SCENE_PX_PER_MM;
    struct vision_options options = vision_options_default();
    options.have_arm_hint = true;
    options.hub_hint_px = (struct vision_point){749.5 + 3, 499.5 - 3};
    options.tip_hint_px =
        (struct vision_point){749.5 + length_px * cos(rad) - 3, 499.5 - length_px * sin(rad) - 3};
    return options;
}

START_TEST(an_arm_that_is_pointed_at_is_the_one_measured)
{
    for (int i = 0; i < horn_arms[_i]; i++) {
        struct vision_options options = point_along(horns[_i][i]);
        struct vision_result r;
        measure(flat_scene(horns[_i], horn_arms[_i]), &options, &r);
        ck_assert_msg(r.status == VISION_OK, "%s", vision_reason_code(r.reason));
        ck_assert_int_eq(r.arm_count, 1);
        ck_angle(r.arms[0].angle_deg, horns[_i][i], 0.15);
    }
}
END_TEST

/* Neither the arm next to it nor nothing: the angle of the points, unsure by what a person misses.
 */
START_TEST(pointing_at_no_arm_gives_the_angle_of_the_points)
{
    const double arms[2] = {93.1, 272.9};
    struct vision_options options = point_along(50);
    struct vision_result r;
    for (int bare = 0; bare < 2; bare++) {
        measure(bare ? flat_scene_bare_card() : flat_scene(arms, 2), &options, &r);
        ck_assert_int_eq(r.status, VISION_UNSURE);
        ck_assert_int_eq(r.reason, VISION_POINTS_ONLY);
        ck_assert_int_eq(r.arm_count, 1);
        ck_assert_double_lt(r.arms[0].u_deg, 2);
        ck_angle(r.arms[0].angle_deg, 50, 2 * r.arms[0].u_deg);
    }
}
END_TEST

START_TEST(hints_off_the_photo_are_refused)
{
    const double arms[1] = {91};
    struct vision_options options = vision_options_default();
    struct vision_result r;
    options.reference = VISION_REFERENCE_POINTS;
    options.hint_px[1] = (struct vision_point){9000, 10};
    measure(flat_scene(arms, 1), &options, &r);
    ck_assert_int_eq(r.status, VISION_FAILED);
    ck_assert_int_eq(r.reason, VISION_BAD_HINT);
    options = point_along(arms[0]);
    options.hub_hint_px.y = -1;
    measure(flat_scene(arms, 1), &options, &r);
    ck_assert_int_eq(r.reason, VISION_BAD_HINT);
}
END_TEST

/* A print stretched along x by 2 % makes an arm at 45 degrees read atan(1 / 1.02): what calipers
 * tell about the bars must take that out. Here the picture is true, so the correction shows. */
START_TEST(bars_correct_the_scale_of_the_print)
{
    const double arms[2] = {45, 225};
    struct vision_options options = vision_options_default();
    struct vision_result r;
    options.bar_scale_x = 1.02;
    measure(flat_scene(arms, 2), &options, &r);
    ck_angle(r.arms[0].angle_deg, atan2(1, 1.02) * 180 / 3.14159265358979, 0.15);
}
END_TEST

START_TEST(a_bare_card_and_a_bench_are_refused)
{
    struct vision_result r;
    measure(flat_scene_bare_card(), NULL, &r);
    ck_assert_int_eq(r.status, VISION_FAILED);
    ck_assert_int_eq(r.reason, VISION_NO_PART);
    ck_assert_str_eq(r.card->name, "hand-duo");
    measure(flat_scene_bench(), NULL, &r);
    ck_assert_int_eq(r.status, VISION_FAILED);
    ck_assert_int_eq(r.reason, VISION_NO_CARD);
    ck_assert_ptr_null(r.card);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("measure");
    TCase *tests = tcase_create("flat scenes");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, two_parts_are_refused_unless_one_is_told);
    tcase_add_test(tests, more_threads_give_the_same_answer);
    tcase_add_loop_test(tests, every_arm_is_found_where_it_is, 0,
                        sizeof horn_arms / sizeof horn_arms[0]);
    tcase_add_loop_test(tests, a_link_neither_turns_the_arm_nor_makes_its_tip_the_hub, 0, 5);
    tcase_add_test(tests, a_link_is_measured_against_and_arms_are_no_links);
    tcase_add_loop_test(tests, photos_without_a_link_are_refused_as_that, 0, 3);
    tcase_add_test(tests, a_part_in_a_colour_of_the_card_asks_for_another_card);
    tcase_add_test(tests, an_arm_along_the_printed_slot_is_measured);
    tcase_add_test(tests, hub_and_deviation_come_with_the_angle);
    tcase_add_test(tests, budget_adds_up_to_the_uncertainty);
    tcase_add_test(tests, points_make_a_reference_of_their_own);
    tcase_add_test(tests, the_edge_is_that_of_the_case_and_not_of_the_card);
    tcase_add_test(tests, two_edges_that_differ_leave_the_answer_unsure);
    tcase_add_test(tests, an_edge_far_from_the_way_of_the_points_is_not_theirs);
    tcase_add_loop_test(tests, an_arm_that_is_pointed_at_is_the_one_measured, 0,
                        sizeof horn_arms / sizeof horn_arms[0]);
    tcase_add_test(tests, pointing_at_no_arm_gives_the_angle_of_the_points);
    tcase_add_test(tests, hints_off_the_photo_are_refused);
    tcase_add_test(tests, bars_correct_the_scale_of_the_print);
    tcase_add_test(tests, a_bare_card_and_a_bench_are_refused);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
