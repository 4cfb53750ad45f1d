/* src/job/job_pair.c against a pinhole camera written out here: a point at (X, Y, h) over the card
 * goes to focal * (right, -up) / depth (Hartley and Zisserman, Multiple View Geometry, 2nd ed.
 * 2004, 6.1; from memory). */
#include "check_main.h"
#include "job/job_pair.h"
#include "plane_maker.h"

#include <math.h>
#include <string.h>

#define FOCAL_PX 4000.0
#define DISTANCE_MM 250.0
#define RAD (3.14159265358979323846 / 180)

/* The camera looks at the card's middle, tilted about the card's x axis. */
static struct vision_point project(double x, double y, double h, double tilt_deg)
{
    double c = cos(tilt_deg * RAD), s = sin(tilt_deg * RAD);
    double up = y * c + h * -s, depth = DISTANCE_MM - (y * s + h * c);
    return (struct vision_point){1000 + FOCAL_PX * x / depth, 750 - FOCAL_PX * up / depth};
}

static struct vision_result see(double tilt_deg)
{
    static const double corner[4][2] = {
        {-42.8, -26.99}, {42.8, -26.99}, {42.8, 26.99}, {-42.8, 26.99}};
    struct vision_result result = {.card = vision_card_by_name("hand-duo"),
                                   .px_per_mm = FOCAL_PX / DISTANCE_MM,
                                   .markers_found = 9};
    struct vision_point mm[4];
    for (int i = 0; i < 4; i++) {
        mm[i] = (struct vision_point){corner[i][0], corner[i][1]};
        result.corners_px[i] = project(mm[i].x, mm[i].y, 0, tilt_deg);
    }
    ck_assert(plane_of_points(mm, result.corners_px, 4, 0.1, &result.plane));
    return result;
}

/* Links of 41.3 and 40.8 mm along x, 8 mm in front of the card. */
static struct job_links links_seen(double tilt_deg)
{
    struct job_links links = {.given = true, .height_mm = {8, 0}, .distance_mm = {DISTANCE_MM, 0}};
    links.balls_px[0] = project(-20, 5, 8, tilt_deg);
    links.balls_px[1] = project(21.3, 5, 8, tilt_deg);
    links.balls_px[2] = project(-20, -5, 8, tilt_deg);
    links.balls_px[3] = project(20.8, -5, 8, tilt_deg);
    return links;
}

/* From straight above the factor 1 - height / distance is exact. Four pointed ends of 1.5 px each
 * and two heights of 0.25 mm each make the difference's u (JCGM 100:2008, 5.1.2). */
START_TEST(lengths_come_back)
{
    struct vision_result result = see(0);
    struct job_links links = links_seen(0);
    struct quantity mm[2];
    ck_assert_ptr_null(job_pair_lengths(&links, &result, mm));
    assert_near(mm[0].value, 41.3, 1e-6);
    assert_near(mm[1].value, 40.8, 1e-6);
    double pointed = 2 * 1.5 / 16 * (1 - 8 / DISTANCE_MM);
    double uneven = sqrt(2) * 0.25 * 41.3 / DISTANCE_MM;
    assert_near(hypot(mm[0].u, mm[1].u), hypot(pointed, uneven), 1e-3);
}
END_TEST

/* Obliquely the height shifts and stretches both alike: the difference stays, well inside its u. */
START_TEST(an_oblique_view_leaves_the_difference)
{
    for (int tilt_deg = -20; tilt_deg <= 20; tilt_deg += 5) {
        struct vision_result result = see(tilt_deg);
        struct job_links links = links_seen(tilt_deg);
        struct quantity mm[2];
        ck_assert_ptr_null(job_pair_lengths(&links, &result, mm));
        double u = hypot(mm[0].u, mm[1].u);
        ck_assert_msg(fabs(mm[0].value - mm[1].value - 0.5) < 0.1 * u, "tilt %d: %g +- %g",
                      tilt_deg, mm[0].value - mm[1].value, u);
    }
}
END_TEST

/* Links up and down the card, which the tilt foreshortens: u is the scatter of what a hand's 1.5 px
 * make of the difference (JCGM 101:2008, 5.2), and of the heights by themselves. */
START_TEST(foreshortened_links_are_told_as_well_as_they_scatter)
{
    enum { DRAWS = 4000 };
    const double tilt_deg = 40;
    struct vision_result result = see(tilt_deg);
    struct job_links links = links_seen(tilt_deg), moved = links_seen(tilt_deg);
    struct quantity mm[2], drawn[2];
    double squares = 0;
    unsigned seed = 7;
    for (int i = 0; i < 4; i++)
        links.balls_px[i] = project(i < 2 ? -5 : 5, i % 2 ? 20 : -20, 8, tilt_deg);
    ck_assert_ptr_null(job_pair_lengths(&links, &result, mm));
    for (int k = 0; k < DRAWS; k++) {
        for (int i = 0; i < 8; i++) {
            seed = seed * 1103515245U + 12345U;
            double off = 1.5 * sqrt(12) * ((seed >> 8) / 16777216.0 - 0.5);
            if (i % 2)
                moved.balls_px[i / 2].y = links.balls_px[i / 2].y + off;
            else
                moved.balls_px[i / 2].x = links.balls_px[i / 2].x + off;
        }
        ck_assert_ptr_null(job_pair_lengths(&moved, &result, drawn));
        squares += pow(drawn[0].value - drawn[1].value, 2);
    }
    double uneven = sqrt(2) * 0.25 * mm[0].value / DISTANCE_MM;
    assert_relative(hypot(mm[0].u, mm[1].u), hypot(sqrt(squares / DRAWS), uneven), 0.04);
}
END_TEST

START_TEST(what_cannot_be_measured_is_refused)
{
    struct vision_result result = see(0);
    struct job_links links = links_seen(0);
    struct quantity mm[2];
    links.height_mm.value = DISTANCE_MM + 1;
    ck_assert_ptr_nonnull(job_pair_lengths(&links, &result, mm));
    links = links_seen(0);
    links.balls_px[1] = links.balls_px[0];
    ck_assert_ptr_nonnull(job_pair_lengths(&links, &result, mm));
    /* one link pointed at twice, from either end, to within a hand's few pixels */
    for (int turned = 0; turned < 2; turned++) {
        links = links_seen(0);
        links.balls_px[2] = links.balls_px[turned];
        links.balls_px[3] = links.balls_px[1 - turned];
        links.balls_px[3].x += 3;
        const char *wrong = job_pair_lengths(&links, &result, mm);
        ck_assert_ptr_nonnull(wrong);
        ck_assert_ptr_nonnull(strstr(wrong, "four different ones"));
    }
    /* 250 mm given as 25 cm: 36 mm of film behind a 13 mm lens show 25 x 36 / 13 = 69 mm of the
     * card's plane from there, and this picture is 2016 / 16 = 126 wide. Hand arithmetic. */
    result.photo.width_px = 1512;
    result.photo.height_px = 2016;
    links = links_seen(0);
    ck_assert_ptr_null(job_pair_lengths(&links, &result, mm));
    links.distance_mm.value = 25;
    const char *near = job_pair_lengths(&links, &result, mm);
    ck_assert_ptr_nonnull(near);
    ck_assert_ptr_nonnull(strstr(near, "in mm"));
    links.distance_mm.value = 46; /* 126 x 13 / 36 = 45.5 */
    ck_assert_ptr_null(job_pair_lengths(&links, &result, mm));
    links = links_seen(0);
    result.markers_found = 2;
    ck_assert_ptr_nonnull(job_pair_lengths(&links, &result, mm));
    result = (struct vision_result){.status = VISION_FAILED, .reason = VISION_NO_CARD};
    ck_assert_ptr_nonnull(job_pair_lengths(&links, &result, mm));
}
END_TEST

/* Lengths rest on the card; arms do not matter, but a photo that is unsure decides nothing. */
static const struct {
    enum vision_status status;
    enum vision_reason reason;
    double obliquity_deg;
    enum vision_status expected;
    enum vision_reason because;
} photos[] = {
    {VISION_OK, VISION_REASON_NONE, 10, VISION_OK, VISION_REASON_NONE},
    {VISION_FAILED, VISION_NO_CARD, 0, VISION_FAILED, VISION_NO_CARD},
    {VISION_FAILED, VISION_STEEP_VIEW, 60, VISION_FAILED, VISION_STEEP_VIEW},
    {VISION_FAILED, VISION_BAD_LIGHT, 10, VISION_FAILED, VISION_BAD_LIGHT},
    {VISION_FAILED, VISION_OTHER_LENS, 0, VISION_FAILED, VISION_OTHER_LENS},
    {VISION_FAILED, VISION_NO_MEMORY, 0, VISION_FAILED, VISION_NO_MEMORY},
    {VISION_FAILED, VISION_NO_ARM, 10, VISION_OK, VISION_STEEP_VIEW},
    {VISION_FAILED, VISION_NO_ARM, 50, VISION_UNSURE, VISION_STEEP_VIEW},
    {VISION_UNSURE, VISION_FEW_MARKERS, 10, VISION_UNSURE, VISION_FEW_MARKERS},
    {VISION_UNSURE, VISION_UNSURE_HUB, 10, VISION_UNSURE, VISION_UNSURE_HUB},
};

START_TEST(a_photo_counts_as_its_card_does)
{
    struct vision_result result = see(0);
    enum vision_reason reason;
    result.status = photos[_i].status;
    result.reason = photos[_i].reason;
    result.obliquity_deg = photos[_i].obliquity_deg;
    ck_assert_int_eq(job_pair_status(&result, &reason), photos[_i].expected);
    if (photos[_i].expected != VISION_OK)
        ck_assert_int_eq(reason, photos[_i].because);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("job pair");
    TCase *tcase = tcase_create("photo");
    tcase_add_test(tcase, lengths_come_back);
    tcase_add_test(tcase, an_oblique_view_leaves_the_difference);
    tcase_add_test(tcase, foreshortened_links_are_told_as_well_as_they_scatter);
    tcase_add_test(tcase, what_cannot_be_measured_is_refused);
    tcase_add_loop_test(tcase, a_photo_counts_as_its_card_does, 0,
                        sizeof photos / sizeof photos[0]);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
