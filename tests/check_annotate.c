/* src/annotate*.c: what the picture must show and must not hide. How it looks is for eyes. */
#include "check_main.h"
#include "drawing/lettering.h"
#include "job/job_goal.h"
#include "photo_maker.h"
#include "picture/annotate.h"
#include "picture/annotate_internal.h"
#include "picture/picture_record.h"
#include "result/measure_json.h"
#include "result/reasons.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define RAD (3.14159265358979323846 / 180)

/* A result as from a photo of 1600 x 1200, the card of 85.6 x 53.98 mm from straight above at 15
 * pixels per mm, turned by so much, the hub in its middle. */
static struct vision_result result_with_lengths(const double *deg, const double *length_mm,
                                                int count, double turned_deg)
{
    double c = 15 * cos(turned_deg * RAD), s = 15 * sin(turned_deg * RAD);
    struct vision_result result = {.status = VISION_OK,
                                   .photo = {.width_px = 1600, .height_px = 1200},
                                   .card = vision_card_by_name("hand-duo"),
                                   .px_per_mm = 15,
                                   .plane = {.h = {c, -s, 800, -s, -c, 600, 0, 0, 1}},
                                   .arm_count = count};
    /* a reflection scaled by 15 is its own inverse but for 15 squared */
    const double inverse[9] = {c / 225,  -s / 225, (600 * s - 800 * c) / 225,
                               -s / 225, -c / 225, (800 * s + 600 * c) / 225,
                               0,        0,        1};
    memcpy(result.plane.inverse, inverse, sizeof inverse);
    static const double corner[4][2] = {
        {-42.8, -26.99}, {42.8, -26.99}, {42.8, 26.99}, {-42.8, 26.99}};
    for (int i = 0; i < 4; i++)
        result.corners_px[i] = (struct vision_point){800 + c * corner[i][0] - s * corner[i][1],
                                                     600 - s * corner[i][0] - c * corner[i][1]};
    result.reference_px[0] = result.corners_px[0];
    result.reference_px[1] = result.corners_px[1];
    for (int i = 0; i < count; i++) {
        struct vision_arm *arm = &result.arms[i];
        double direction = (deg[i] + turned_deg) * RAD, length_px = 15 * length_mm[i];
        *arm = (struct vision_arm){
            .angle_deg = deg[i],
            .deviation_deg = remainder(deg[i], 90),
            .u_deg = 0.1,
            .length_mm = length_mm[i],
            .hub_px = {800, 600},
            .tip_px = {800 + length_px * cos(direction), 600 - length_px * sin(direction)}};
        snprintf(arm->name, sizeof arm->name, "%c", 'A' + i);
    }
    return result;
}

static struct vision_result result_with_arms(const double *deg, int count, double turned_deg)
{
    static const double alike[VISION_MAX_ARMS] = {12, 12, 12, 12, 12, 12, 12, 12};
    return result_with_lengths(deg, alike, count, turned_deg);
}

/* A white page to draw on, ten pixels a millimetre. */
static cairo_t *start_page(cairo_surface_t *surface)
{
    cairo_t *cr = cairo_create(surface);
    cairo_set_source_rgb(cr, 1, 1, 1);
    cairo_paint(cr);
    cairo_scale(cr, 10, 10);
    lettering_prepare(cr);
    return cr;
}

/* The overlay alone on white, one picture pixel for a photo pixel. */
static cairo_surface_t *draw_overlay(const struct vision_result *result,
                                     const struct annotate_goal *goal)
{
    struct annotate_answer answer;
    annotate_answer_make(result, goal, &answer);
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 1600, 1200);
    cairo_t *cr = start_page(surface);
    struct annotate_view view = {
        .area = {0, 0, 1600, 1200}, .mm_per_px = 0.1, .width_mm = 160, .height_mm = 120};
    annotate_overlay(cr, &view, &answer);
    ck_assert_int_eq(cairo_status(cr), CAIRO_STATUS_SUCCESS);
    cairo_destroy(cr);
    cairo_surface_flush(surface);
    return surface;
}

static uint32_t pixel_at(cairo_surface_t *surface, double x, double y)
{
    const unsigned char *data = cairo_image_surface_get_data(surface);
    size_t stride = (size_t)cairo_image_surface_get_stride(surface);
    uint32_t pixel;
    memcpy(&pixel, data + (size_t)lround(y) * stride + 4 * (size_t)lround(x), sizeof pixel);
    return pixel & 0xffffff;
}

/* Is a label there? Only labels have large dark areas. */
static bool is_label(cairo_surface_t *surface, double x, double y)
{
    int dark = 0;
    for (int dy = -4; dy <= 4; dy++)
        for (int dx = -4; dx <= 4; dx++) {
            uint32_t pixel = pixel_at(surface, x + dx, y + dy);
            dark += (pixel >> 16) < 90 && (pixel >> 8 & 0xff) < 90 && (pixel & 0xff) < 90;
        }
    return dark > 50;
}

/* The arms as 5 mm wide strips from hub to tip. */
static void check_arms_free(const struct vision_result *result, int horn, int turned)
{
    cairo_surface_t *surface = draw_overlay(result, NULL);
    for (int i = 0; i < result->arm_count; i++) {
        const struct vision_arm *arm = &result->arms[i];
        double dx = arm->tip_px.x - 800, dy = arm->tip_px.y - 600, length = hypot(dx, dy);
        for (int along = 20; along <= length + 10; along += 8)
            for (int across = -36; across <= 36; across += 12)
                ck_assert_msg(!is_label(surface, 800 + (along * dx - across * dy) / length,
                                        600 + (along * dy + across * dx) / length),
                              "horn %d turned %d: a label lies on arm %s", horn, turned, arm->name);
    }
    cairo_surface_destroy(surface);
}

/* Many horns turned every way, among them one whose long arm stands where the label of a short one
 * would otherwise go. */
START_TEST(no_label_covers_an_arm)
{
    static const struct {
        double deg[6], length_mm[6];
        int count;
    } horns[] = {
        {{87.1}, {12}, 1},
        {{93, 272.9}, {12, 12}, 2},
        {{2, 92, 181, 272}, {12, 12, 14, 14}, 4},
        {{10, 70, 130, 190, 250, 310}, {9, 9, 9, 9, 9, 9}, 6},
        {{44, 60}, {9, 24}, 2},
        {{350, 4}, {24, 9}, 2},
        {{2, 182}, {26, 26}, 2},
    };
    for (int horn = 0; horn < 7; horn++)
        for (int turned = 0; turned < 360; turned += 45) {
            struct vision_result result = result_with_lengths(
                horns[horn].deg, horns[horn].length_mm, horns[horn].count, turned);
            check_arms_free(&result, horn, turned);
        }
}
END_TEST

/* Sampled every 8 pixels. */
static int label_area(cairo_surface_t *surface)
{
    int count = 0;
    for (int y = 8; y < 1192; y += 8)
        for (int x = 8; x < 1592; x += 8)
            count += is_label(surface, x, y);
    return count;
}

/* However long the arm, and however near the edge its line ends: besides the reference's label,
 * which stands there for a failed arm too (at most 170 samples), there is that of the arm. */
START_TEST(the_arm_that_is_spoken_of_has_its_label)
{
    static const double lengths_mm[] = {9, 18, 24, 27, 36};
    for (int i = 0; i < 5; i++)
        for (int turned = 0; turned < 360; turned += 30) {
            double deg = 87.1;
            struct vision_result result = result_with_lengths(&deg, &lengths_mm[i], 1, turned);
            cairo_surface_t *surface = draw_overlay(&result, NULL);
            ck_assert_msg(label_area(surface) > 300, "%g mm turned %d: %d", lengths_mm[i], turned,
                          label_area(surface));
            cairo_surface_destroy(surface);
        }
}
END_TEST

/* What is as dark as a label or a line's rim, or yellow; no outline of the card, no arrow. */
static bool is_drawn(cairo_surface_t *surface, int x, int y)
{
    return (pixel_at(surface, x, y) & 0xff) < 130;
}

/* Marks what hangs together with the arms' lines near their ends, from pixel to pixel. */
static void mark_from_arms(const struct vision_result *result, cairo_surface_t *surface,
                           bool *marked, int *stack)
{
    int count = 0;
    for (int i = 0; i < result->arm_count; i++) {
        double x = result->arms[i].tip_px.x - 800, y = result->arms[i].tip_px.y - 600;
        double lengths = i == 0 ? 1.72 : 1.42; /* they end at 1.75 and 1.45 */
        stack[count] = (int)lround(600 + lengths * y) * 1600 + (int)lround(800 + lengths * x);
        marked[stack[count++]] = true;
    }
    while (count > 0) {
        int at = stack[--count];
        for (int i = 0; i < 9; i++) {
            int x = at % 1600 + i % 3 - 1, y = at / 1600 + i / 3 - 1, next = y * 1600 + x;
            if (x < 0 || y < 0 || x >= 1600 || y >= 1200 || marked[next] ||
                !is_drawn(surface, x, y))
                continue;
            marked[next] = true;
            stack[count++] = next;
        }
    }
}

/* Where the lines' ends have no room for labels, as of eight arms or beside the markers, they stand
 * elsewhere with a line to their arm. The reference's label alone (at most 170 samples) hangs on
 * none. */
START_TEST(every_label_hangs_on_its_arm)
{
    static const double horns[][8] = {
        {11, 56, 101, 146, 191, 236, 281, 326}, {98, 217}, {101, 281}, {12, 132, 252}};
    static const double mm[8] = {16, 16, 16, 16, 16, 16, 16, 16};
    static const int counts[] = {8, 2, 2, 3};
    bool *marked = malloc((size_t)1600 * 1200 * sizeof *marked);
    int *stack = malloc((size_t)1600 * 1200 * sizeof *stack);
    ck_assert(marked && stack);
    for (int horn = 0; horn < 4; horn++)
        for (int turned = 0; turned < 360; turned += 60) {
            struct vision_result result =
                result_with_lengths(horns[horn], mm, counts[horn], turned);
            cairo_surface_t *surface = draw_overlay(&result, NULL);
            memset(marked, 0, (size_t)1600 * 1200 * sizeof *marked);
            mark_from_arms(&result, surface, marked, stack);
            int loose = 0;
            for (int y = 8; y < 1192; y += 8)
                for (int x = 8; x < 1592; x += 8)
                    loose +=
                        is_label(surface, x, y) && is_drawn(surface, x, y) && !marked[y * 1600 + x];
            ck_assert_msg(loose <= 170, "horn %d turned %d: %d", horn, turned, loose);
            cairo_surface_destroy(surface);
        }
    free(marked);
    free(stack);
}
END_TEST

/* Pixels of nearly this colour. */
static int count_colour(cairo_surface_t *surface, struct annotate_colour colour)
{
    int count = 0;
    for (int y = 0; y < 1200; y++)
        for (int x = 0; x < 1600; x++) {
            uint32_t pixel = pixel_at(surface, x, y);
            count += fabs((pixel >> 16) / 255.0 - colour.r) < 0.02 &&
                     fabs((pixel >> 8 & 0xff) / 255.0 - colour.g) < 0.02 &&
                     fabs((pixel & 0xff) / 255.0 - colour.b) < 0.02;
        }
    return count;
}

/* Degrees about the hub from the arm to the point of the arrow, which is the end where it is
 * widest; NAN where there is none. */
static double cure_end(const struct vision_result *result, const struct annotate_goal *goal)
{
    cairo_surface_t *surface = draw_overlay(result, goal);
    double arm = atan2(600 - result->arms[0].tip_px.y, result->arms[0].tip_px.x - 800);
    double least = INFINITY, most = -INFINITY, furthest = 0, wide = 0;
    for (int y = 0; y < 1200; y++)
        for (int x = 0; x < 1600; x++) {
            uint32_t pixel = pixel_at(surface, x, y);
            if ((pixel >> 16) >= 60 || (pixel & 0xff) <= 150)
                continue;
            double at = remainder(atan2(600 - y, x - 800) - arm, 360 * RAD) / RAD;
            double away = hypot(x - 800, y - 600);
            least = fmin(least, at);
            most = fmax(most, at);
            wide = away > furthest ? at : wide;
            furthest = fmax(furthest, away);
        }
    cairo_surface_destroy(surface);
    return !(furthest > 0) ? NAN : most - wide < wide - least ? most : least;
}

/* It ends where the eye is to stop, at the dashed line. */
START_TEST(the_arrow_leads_back_to_square)
{
    for (int turned = 0; turned < 360; turned += 60) {
        double left = 92.9, right = 87.1, square = 90.1, far = 129;
        struct vision_result result = result_with_arms(&left, 1, turned);
        ck_assert_double_eq_tol(cure_end(&result, NULL), -2.9, 0.5);
        result = result_with_arms(&right, 1, turned);
        ck_assert_double_eq_tol(cure_end(&result, NULL), 2.9, 0.5);
        result = result_with_arms(&far, 1, turned);
        ck_assert_double_eq_tol(cure_end(&result, NULL), -39, 0.5);
        result = result_with_arms(&square, 1, turned);
        ck_assert_double_nan(cure_end(&result, NULL));
        result = result_with_arms(&left, 1, turned);
        result.status = VISION_UNSURE; /* nobody is told to turn on an unsure number */
        ck_assert_double_nan(cure_end(&result, NULL));
    }
}
END_TEST

/* Share of a dashed line's rim that is there along a direction from the hub. */
static double rim_along(cairo_surface_t *surface, double deg)
{
    int dark = 0, all = 0;
    double c = cos(deg * RAD), s = sin(deg * RAD);
    for (int r = 100; r < 170; r++, all++) /* inside the arm's 12 mm, of 15 pixels each */
        for (int side = -1; side <= 1; side += 2) {
            uint32_t pixel =
                pixel_at(surface, 800 + r * c - side * 4.5 * s, 600 - r * s - side * 4.5 * c);
            dark += (pixel & 0xff) < 200;
        }
    return dark / (2.0 * all);
}

/* Against a goal every way of the card shows the wanted direction and none at square. Both are
 * known from the numbers put in. */
START_TEST(the_goal_is_drawn_in_place_of_square)
{
    for (int turned = 0; turned < 360; turned += 40) {
        double deg = 63;
        struct vision_result result = result_with_arms(&deg, 1, turned);
        struct annotate_goal goal = {0,    NULL,  true, "the wanted 55°", 8, 0.2, 0.5, NULL, NULL,
                                     NULL, false, false};
        cairo_surface_t *surface = draw_overlay(&result, &goal);
        ck_assert_double_gt(rim_along(surface, 55 + turned), 0.4);
        ck_assert_double_lt(rim_along(surface, 90 + turned), 0.02);
        cairo_surface_destroy(surface);
        surface = draw_overlay(&result, NULL);
        ck_assert_double_gt(rim_along(surface, 90 + turned), 0.4);
        ck_assert_double_lt(rim_along(surface, 55 + turned), 0.02);
        cairo_surface_destroy(surface);
        goal.judged = false; /* an end of the travel: nothing is wanted of it */
        surface = draw_overlay(&result, &goal);
        ck_assert_double_lt(rim_along(surface, 55 + turned), 0.02);
        ck_assert_double_lt(rim_along(surface, 90 + turned), 0.02);
        cairo_surface_destroy(surface);
    }
}
END_TEST

/* ISO 14253-1: turn when |off| >= T + U, leave when |off| <= T - U; in between
 * nobody is told to turn. Against square both 57 and 53 would be
 * turned counter-clockwise. */
START_TEST(the_arrow_leads_to_the_goal)
{
    static const struct {
        double deg, off;
        bool turn;
    } rows[] = {
        {57, 2, true}, {53, -2, true}, {55.2, 0.2, false}, {55.5, 0.5, false}, {54.6, -0.4, false}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct vision_result result = result_with_arms(&rows[i].deg, 1, 20);
        struct annotate_goal goal = {
            0, NULL, true, "the wanted 55°", rows[i].off, 0.2, 0.5, NULL, NULL, NULL, false, false};
        double end = cure_end(&result, &goal);
        ck_assert_msg(rows[i].turn ? fabs(end + rows[i].off) < 0.5 : isnan(end),
                      "row %d: the arrow ends at %g", (int)i, end);
        goal.judged = false;
        ck_assert_double_nan(cure_end(&result, &goal));
    }
}
END_TEST

/* Between the long arrow and its chord the sector's yellow shows, at any point of the way: half way
 * the chord of 80 degrees lies at 1.36 cos 40 = 1.04 of the arm's 180 pixels, the arrow at 1.36. */
START_TEST(a_long_arrow_is_no_filled_bow)
{
    double deg = 135;
    struct vision_result result = result_with_arms(&deg, 1, 0);
    struct annotate_goal goal = {0,    NULL,  true, "the wanted 55°", 80, 0.2, 0.5, NULL, NULL,
                                 NULL, false, false};
    cairo_surface_t *surface = draw_overlay(&result, &goal);
    double c = cos(95 * RAD), s = sin(95 * RAD), r = 1.2 * 180;
    ck_assert_int_lt((int)(pixel_at(surface, 800 + r * c, 600 - r * s) & 0xff), 200);
    cairo_surface_destroy(surface);
}
END_TEST

/* The arm that is meant need not be the first. */
START_TEST(the_goal_is_about_the_arm_that_is_meant)
{
    static const double deg[] = {40, 100};
    struct vision_result result = result_with_arms(deg, 2, 0);
    struct annotate_goal goal = {1,   NULL, true, "parallel", -10,   0.2,
                                 0.5, NULL, NULL, NULL,       false, false};
    struct annotate_answer answer;
    annotate_answer_make(&result, &goal, &answer);
    ck_assert_str_eq(answer.result.arms[0].name, "B");
    ck_assert_str_eq(answer.result.arms[1].name, "A");
    ck_assert_double_eq(answer.result.arms[0].deviation_deg, -10);
    ck_assert_int_eq(answer.order, ORDER_TURN);
    cairo_surface_t *surface = draw_overlay(&result, &goal);
    ck_assert_double_gt(rim_along(surface, 110), 0.4);
    cairo_surface_destroy(surface);
}
END_TEST

/* Far enough from the border for is_label(). */
static bool in_picture(struct vision_point at)
{
    return at.x > 8 && at.x < 1592 && at.y > 8 && at.y < 1192;
}

/* Where a marker's middle lies in the picture; of a result made here, a photo's pixel is one of the
 * picture. */
static struct vision_point marker_place(const struct vision_result *result, int marker)
{
    return vision_plane_to_photo(&result->plane, result->card->markers[marker].centre_mm);
}

/* Where there is room elsewhere, neither a marker nor the reference's line is covered: the line
 * runs along the dark edge, which must be seen to lie against the case. */
START_TEST(no_label_covers_a_marker_or_the_reference)
{
    static const double degs[] = {93, 272.9, 40, 181};
    for (int horn = 0; horn < 4; horn++)
        for (int turned = 0; turned < 360; turned += 30) {
            struct vision_result result = result_with_arms(&degs[horn], 1, turned);
            cairo_surface_t *surface = draw_overlay(&result, NULL);
            for (int m = 0; m < result.card->marker_count; m++) {
                struct vision_point at = marker_place(&result, m);
                ck_assert_msg(!in_picture(at) || !is_label(surface, at.x, at.y),
                              "horn %d turned %d: marker %d", horn, turned, m);
            }
            for (int i = 1; i < 40; i++) {
                const struct vision_point *end = result.reference_px;
                struct vision_point at = {end[0].x + (end[1].x - end[0].x) * i / 40,
                                          end[0].y + (end[1].y - end[0].y) * i / 40};
                ck_assert_msg(!in_picture(at) || !is_label(surface, at.x, at.y),
                              "horn %d turned %d: the reference at %d of 40", horn, turned, i);
            }
            cairo_surface_destroy(surface);
        }
}
END_TEST

/* Also where the reference is a link at the tip of the arm, along which no place is free. */
START_TEST(every_reference_has_its_label)
{
    double deg = 90;
    for (int turned = 0; turned < 360; turned += 30) {
        struct vision_result result = result_with_arms(&deg, 1, turned);
        cairo_surface_t *surface = draw_overlay(&result, NULL);
        int both = label_area(surface);
        cairo_surface_destroy(surface);
        result.reference = VISION_REFERENCE_LINK;
        result.reference_px[0] = result.arms[0].tip_px;
        result.reference_px[1] =
            (struct vision_point){result.arms[0].tip_px.x + 60 * cos(turned * RAD),
                                  result.arms[0].tip_px.y - 60 * sin(turned * RAD)};
        surface = draw_overlay(&result, NULL);
        ck_assert_msg(label_area(surface) > 0.85 * both, "turned %d: %d of %d", turned,
                      label_area(surface), both);
        cairo_surface_destroy(surface);
    }
}
END_TEST

/* One language of arrows: what is blue says which way to turn, and no other arrow is there. Beside
 * the first arm's, labels differ by their letters alone. */
START_TEST(labels_of_other_arms_carry_no_arrow)
{
    static const double deg[] = {90, 184};
    struct vision_result result = result_with_arms(deg, 2, 0);
    cairo_surface_t *off = draw_overlay(&result, NULL);
    result.arms[1].deviation_deg = -4;
    result.arms[1].angle_deg = 176;
    cairo_surface_t *other_side = draw_overlay(&result, NULL);
    ck_assert_int_lt(abs(count_colour(off, annotate_arm) - count_colour(other_side, annotate_arm)),
                     60);
    cairo_surface_destroy(off);
    cairo_surface_destroy(other_side);
}
END_TEST

/* The panel tells every arm's "±" and its side; of a goal's other arms nothing is asked. */
START_TEST(the_panel_tells_the_other_arms)
{
    static const double deg[] = {92, 179.2, 272, 358};
    struct vision_result result = result_with_arms(deg, 4, 0);
    struct annotate_goal goal = {0,    NULL,  true, "the wanted 90°", 2, 0.2, 0.5, NULL, NULL,
                                 NULL, false, false};
    struct annotate_answer answer;
    char words[200];
    annotate_answer_make(&result, NULL, &answer);
    annotate_other_arms(&answer, true, words, sizeof words);
    ck_assert_str_eq(words, "B\u00a00.8\u00a0±\u00a00.2°, D\u00a02.0\u00a0±\u00a00.2°");
    annotate_other_arms(&answer, false, words, sizeof words);
    ck_assert_str_eq(words, "C\u00a02.0\u00a0±\u00a00.2°");
    annotate_answer_make(&result, &goal, &answer);
    annotate_other_arms(&answer, true, words, sizeof words);
    ck_assert_str_eq(words, "");
    goal.arm = 2; /* by letter, whichever arm is the first */
    goal.all_square = true;
    annotate_answer_make(&result, &goal, &answer);
    annotate_other_arms(&answer, true, words, sizeof words);
    ck_assert_str_eq(words, "B\u00a00.8\u00a0±\u00a00.2°, D\u00a02.0\u00a0±\u00a00.2°");
    ck_assert_str_eq(answer.result.arms[1].name, "A");
    goal.arm = 0;
    annotate_answer_make(&result, &goal, &answer); /* a tolerance was asked for, of square */
    annotate_other_arms(&answer, false, words, sizeof words);
    ck_assert_str_eq(words, "C\u00a02.0\u00a0±\u00a00.2°");
}
END_TEST

/* As in words: 45 degrees may be turned back either way, so no arrow shows one. */
START_TEST(no_arrow_shows_a_way_half_way_between_two_squares)
{
    const double deg = 135;
    struct vision_result result = result_with_arms(&deg, 1, 0);
    struct annotate_goal goal = {0, NULL, true, "square", 45,   0.2,
                                 1, NULL, NULL, NULL,     true, false};
    struct annotate_answer answer;
    annotate_answer_make(&result, NULL, &answer);
    ck_assert_int_eq(answer.order, ORDER_HALF_WAY);
    annotate_answer_make(&result, &goal, &answer);
    ck_assert_int_eq(answer.order, ORDER_HALF_WAY);
    goal.any_square = false; /* somebody named the one that is meant */
    annotate_answer_make(&result, &goal, &answer);
    ck_assert_int_eq(answer.order, ORDER_TURN);
}
END_TEST

/* The picture of a job's photo orders what "measure" does of it, and names no option that "job
 * measure" has not. */
START_TEST(nor_does_that_of_a_job)
{
    const double deg = 134.8;
    struct vision_result result = result_with_arms(&deg, 1, 0);
    const struct plan_station station = {.kind = PLAN_SQUARE, .tolerance = 0.5};
    const struct job_finding finding = {.value = 44.8, .u = 0.15, .coverage = 2, .sure = true};
    const struct job_goal_question question = {
        .station = &station, .finding = &finding, .seen = &result, .readings = 1, .photos = 1};
    struct job_goal goal = {.undecided = ""};
    struct annotate_answer answer;
    job_goal_make(&question, &goal);
    annotate_answer_make(&result, &goal.goal, &answer);
    ck_assert_int_eq(answer.order, ORDER_HALF_WAY);
    ck_assert_str_eq(answer.undecided,
                     "Bring it near the one that is meant by eye, then measure again.");
}
END_TEST

/* Where pointing at hub and tip would help, the picture is a ruler for it; nowhere else. */
START_TEST(pixels_stand_along_the_rim_where_points_are_wanted)
{
    double deg = 87.1;
    struct vision_result result = result_with_arms(&deg, 1, 0);
    struct annotate_answer answer;
    for (int i = VISION_REASON_NONE; i < VISION_REASON_COUNT; i++) {
        result.status = VISION_FAILED;
        result.reason = (enum vision_reason)i;
        annotate_answer_make(&result, NULL, &answer);
        ck_assert_msg(annotate_wants_points(&answer) ==
                          (strstr(reason_sentence(result.reason), "--arm") != NULL ||
                           result.reason == VISION_BAD_HINT || result.reason == VISION_NO_EDGE),
                      "%s", vision_reason_code(result.reason));
        struct annotate_goal meant = {.instead = "This shows something else; do that."};
        annotate_answer_make(&result, &meant, &answer);
        ck_assert(!annotate_wants_points(&answer));
        ck_assert_ptr_eq(annotate_instead(&answer), meant.instead);
    }
    result.status = VISION_OK;
    annotate_answer_make(&result, NULL, &answer);
    ck_assert(!annotate_wants_points(&answer));

    /* Part of a photo from (400, 300) on, at a tenth of a millimetre a pixel: the tick of 600 lies
     * at 20 mm of the upper side, that of 500 at 20 mm of the left one. */
    struct annotate_view view = {
        .area = {400, 300, 1400, 1100}, .mm_per_px = 0.1, .width_mm = 100, .height_mm = 80};
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 1600, 1200);
    cairo_t *cr = start_page(surface);
    annotate_pixel_rim(cr, &view);
    cairo_destroy(cr);
    cairo_surface_flush(surface);
    ck_assert_uint_gt(pixel_at(surface, 200, 4) & 0xff, 200);
    ck_assert_uint_lt(pixel_at(surface, 195, 4) & 0xff, 120);
    ck_assert_uint_gt(pixel_at(surface, 4, 200) & 0xff, 200);
    ck_assert_uint_lt(pixel_at(surface, 4, 195) & 0xff, 120);
    cairo_surface_destroy(surface);
}
END_TEST

/* What was looked at stays bright, the rest is dimmed. */
START_TEST(a_failed_photo_shows_what_was_looked_at)
{
    double deg = 87.1;
    struct vision_result result = result_with_arms(&deg, 1, 0);
    result.status = VISION_FAILED;
    result.reason = VISION_NO_ARM;
    cairo_surface_t *surface = draw_overlay(&result, NULL);
    ck_assert_uint_eq(pixel_at(surface, 800, 600), 0xffffff);
    ck_assert_uint_lt(pixel_at(surface, 60, 1100) & 0xff, 160);
    cairo_surface_destroy(surface);
    result.reason = VISION_NO_LINK; /* looked for elsewhere, too */
    surface = draw_overlay(&result, NULL);
    ck_assert_uint_eq(pixel_at(surface, 60, 1100), 0xffffff);
    cairo_surface_destroy(surface);
}
END_TEST

/* On a white page a line shows by its dark rim. */
static int rim_below(const struct vision_result *result, int x0, int x1, int y)
{
    cairo_surface_t *surface = draw_overlay(result, NULL);
    int found = 0;
    for (int x = x0; x < x1; x++) {
        bool dark = false;
        for (int below = 0; below < 12; below++)
            dark = dark || (pixel_at(surface, x, y + below) & 0xff) < 200;
        found += dark;
    }
    cairo_surface_destroy(surface);
    return found;
}

START_TEST(a_photo_without_an_edge_shows_the_two_points)
{
    double deg = 87.1;
    struct vision_result result = result_with_arms(&deg, 1, 0);
    result.status = VISION_FAILED;
    result.reference_px[0] = (struct vision_point){100, 1100};
    result.reference_px[1] = (struct vision_point){500, 1100};
    result.reason = VISION_NO_EDGE;
    ck_assert_int_eq(rim_below(&result, 120, 480, 1100), 360);
    result.reason = VISION_NO_LINK;
    ck_assert_int_eq(rim_below(&result, 120, 480, 1100), 0);
}
END_TEST

START_TEST(a_failed_photo_shows_no_arm)
{
    double deg = 87.1;
    struct vision_result result = result_with_arms(&deg, 1, 0);
    cairo_surface_t *surface = draw_overlay(&result, NULL);
    ck_assert_int_gt(count_colour(surface, annotate_arm), 500);
    cairo_surface_destroy(surface);
    result.status = VISION_FAILED;
    surface = draw_overlay(&result, NULL);
    ck_assert_int_eq(count_colour(surface, annotate_arm), 0);
    cairo_surface_destroy(surface);
}
END_TEST

/* ---- The whole picture -------------------------------------------------------------------- */

static char path[] = "/tmp/armsquare-annotate-XXXXXX";

static enum annotate_fault write_picture(int width, int height, struct vision_result *result,
                                         const char *name)
{
    struct picture picture = picture_new(width, height);
    struct bytes file = jpeg_encode(&picture, &(struct jpeg_settings){0});
    struct vision_photo *photo;
    ck_assert_int_eq(vision_photo_open_bytes(file.data, file.size, &photo), VISION_REASON_NONE);
    result->photo = *vision_photo_get_info(photo);
    json_t *json = measure_json(name, result);
    enum annotate_fault fault = annotate_write(path, name, photo, result, json, NULL);
    json_decref(json);
    vision_photo_free(photo);
    bytes_free(&file);
    picture_free(&picture);
    return fault;
}

/* Whatever the shape of the photo and the reason, the picture is there, of a width that carries its
 * text, and holds the measurement. */
static void check_picture(int width, int height, struct vision_result *result)
{
    ck_assert_int_eq(write_picture(width, height, result,
                                   "a/\xff"
                                   "photo.jpg"),
                     ANNOTATE_FINE);
    struct picture_record record;
    ck_assert_int_eq(picture_record_read(path, &record), PICTURE_RECORD_FINE);
    ck_assert(!record.pixels_altered && !record.text_altered);
    ck_assert_str_eq(json_string_value(json_object_get(record.measurement, "photo")),
                     "a/?photo.jpg");
    picture_record_clear(&record);
    struct vision_photo *drawn;
    ck_assert_int_eq(vision_photo_open(path, &drawn), VISION_REASON_NONE);
    ck_assert_int_ge(vision_photo_get_info(drawn)->width_px, 1000);
    ck_assert_int_le(vision_photo_get_info(drawn)->width_px, 1600);
    vision_photo_free(drawn);
}

START_TEST(photos_of_every_shape_get_a_picture)
{
    static const int shapes[][2] = {{64, 64}, {1600, 1200}, {1200, 1600}, {3000, 64}, {64, 3000}};
    for (size_t i = 0; i < sizeof shapes / sizeof shapes[0]; i++) {
        struct vision_result result = {.status = VISION_FAILED, .reason = VISION_NO_CARD};
        check_picture(shapes[i][0], shapes[i][1], &result);
    }
}
END_TEST

/* The panel alone on white, 10 pixels to the unit, ABOVE_MM of white above it. */
#define ABOVE_MM 20

static cairo_surface_t *draw_panel(const struct vision_result *result, double *height_mm)
{
    struct annotate_answer answer;
    annotate_answer_make(result, NULL, &answer);
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 1700, 2000);
    cairo_t *cr = start_page(surface);
    *height_mm = annotate_panel_height(cr, &answer);
    annotate_panel(cr, ABOVE_MM, "photo.jpg", &answer);
    ck_assert_int_eq(cairo_status(cr), CAIRO_STATUS_SUCCESS);
    cairo_destroy(cr);
    cairo_surface_flush(surface);
    return surface;
}

/* Pixels of letters in a rectangle of the panel, units from its top left corner. */
static int ink_in(cairo_surface_t *surface, double x0, double y0, double x1, double y1)
{
    int ink = 0;
    for (long y = lround(10 * (ABOVE_MM + y0)); y < lround(10 * (ABOVE_MM + y1)); y++)
        for (long x = lround(10 * x0); x < lround(10 * x1); x++)
            ink += (pixel_at(surface, (double)x, (double)y) & 0xff) < 150;
    return ink;
}

/* The text stands between the block on the left, the margins and the small print at the foot. */
START_TEST(every_reason_fits_the_panel)
{
    const double block = 28, margin = 3, foot = 6.5, wide = ANNOTATE_WIDTH_MM;
    const double deg = 87.1;
    for (int i = 2 * VISION_NO_CARD; i < 2 * VISION_REASON_COUNT; i++) {
        struct vision_result result = result_with_arms(&deg, 1, 20);
        double height;
        result.status = i % 2 ? VISION_UNSURE : VISION_FAILED;
        result.reason = (enum vision_reason)(i / 2);
        const char *code = vision_reason_code(result.reason);
        cairo_surface_t *surface = draw_panel(&result, &height);
        ck_assert_msg(height < 120, "%s: %g high", code, height);
        ck_assert_msg(ink_in(surface, block, margin, wide - margin, height - foot) > 2000,
                      "%s: no text", code);
        ck_assert_msg(ink_in(surface, block, -ABOVE_MM + 1, wide + 9, margin) == 0,
                      "%s: above the panel", code);
        ck_assert_msg(ink_in(surface, wide - margin, margin, wide + 9, height) == 0,
                      "%s: over the right margin", code);
        ck_assert_msg(ink_in(surface, block, height - foot - 1, wide + 9, height - foot) == 0,
                      "%s: into the small print", code);
        ck_assert_msg(ink_in(surface, block, height - 1, wide + 9, height + 40) == 0,
                      "%s: below the panel", code);
        cairo_surface_destroy(surface);
    }
}
END_TEST

/* The picture is what is sent on: it tells as the text does that there are more arms, and that they
 * are oddly spaced. */
START_TEST(the_panel_tells_what_the_text_tells_of_the_arms)
{
    const double deg = 87.1;
    struct vision_result result = result_with_arms(&deg, 1, 0);
    double all, some, odd;
    result.reference = VISION_REFERENCE_EDGE; /* higher than the block beside it */
    cairo_surface_destroy(draw_panel(&result, &all));
    result.untold_arms = 2;
    cairo_surface_destroy(draw_panel(&result, &some));
    ck_assert_double_gt(some, all + 4);
    result.witness.spacing_deg = 90;
    result.witness.verdict = VISION_WITNESS_UNEVEN;
    cairo_surface_destroy(draw_panel(&result, &odd));
    ck_assert_double_gt(odd, some + 8);
}
END_TEST

/* Right end of a tenth of a millimetre of the panel's text; 0 where nothing stands. */
static int row_end_mm(cairo_surface_t *surface, int tenth)
{
    for (int x = 158; x > 28; x--)
        if (ink_in(surface, x, tenth / 10.0, x + 1, (tenth + 1) / 10.0) > 0)
            return x;
    return 0;
}

/* Right end of a line of it, the number's first. */
static int line_end_mm(cairo_surface_t *surface, int line)
{
    int end = 0, tenth = 0;
    for (int i = 0; i <= line; i++) {
        while (row_end_mm(surface, tenth) == 0)
            ck_assert_int_lt(tenth++, 1200);
        for (end = 0; row_end_mm(surface, tenth) > 0; tenth++)
            end = end > row_end_mm(surface, tenth) ? end : row_end_mm(surface, tenth);
    }
    return end;
}

/* "at" stood alone on the next line. */
START_TEST(what_an_arm_is_measured_against_is_not_torn)
{
    static const double degs[] = {87.1, 92.9, 89.9};
    for (int i = 0; i < 3; i++) {
        struct vision_result result = result_with_arms(&degs[i], 1, 0);
        double height;
        result.reference = VISION_REFERENCE_EDGE;
        cairo_surface_t *surface = draw_panel(&result, &height);
        ck_assert_int_gt(line_end_mm(surface, 2), 75);
        cairo_surface_destroy(surface);
    }
}
END_TEST

/* White of sign, word and marker stays off the block's sides. */
START_TEST(the_verdict_has_air_around_it)
{
    static const double degs[] = {87.1, 90, 90.5, 92.9};
    for (int i = 0; i < 8; i++) {
        struct vision_result result = result_with_arms(&degs[i % 4], 1, 0);
        double height;
        result.status = i < 4 ? VISION_OK : i < 6 ? VISION_UNSURE : VISION_FAILED;
        result.reason = i < 4 ? VISION_REASON_NONE : VISION_NO_ARM;
        cairo_surface_t *surface = draw_panel(&result, &height);
        for (int y = 10 * ABOVE_MM; y < 10 * (ABOVE_MM + height); y++)
            for (int x = 0; x < 30; x++)
                for (int side = 0; side < 2; side++)
                    ck_assert_msg(((pixel_at(surface, side ? 268 - x : x, y) >> 8) & 0xff) < 200,
                                  "%d: white at %d, %d", i, x, y);
        cairo_surface_destroy(surface);
    }
}
END_TEST

/* Do the panels of two photos look the same? */
static bool panels_alike(const char *one, const char *other)
{
    double deg = 87.1;
    struct vision_result result = result_with_arms(&deg, 1, 0);
    struct annotate_answer answer;
    cairo_surface_t *drawn[2];
    annotate_answer_make(&result, NULL, &answer);
    for (int i = 0; i < 2; i++) {
        drawn[i] = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 1600, 600);
        cairo_t *cr = start_page(drawn[i]);
        annotate_panel(cr, 0, i ? other : one, &answer);
        cairo_destroy(cr);
        cairo_surface_flush(drawn[i]);
    }
    bool alike = memcmp(cairo_image_surface_get_data(drawn[0]),
                        cairo_image_surface_get_data(drawn[1]), (size_t)1600 * 4 * 600) == 0;
    cairo_surface_destroy(drawn[0]);
    cairo_surface_destroy(drawn[1]);
    return alike;
}

/* Of a name too long for its line the beginning and the end are shown: in the end, photos of one
 * series differ. One of 40 letters fits whole. */
START_TEST(photos_are_told_apart_by_the_end_of_their_names)
{
    char one[160], other[160];
    memset(one, 'a', sizeof one);
    snprintf(one + 140, sizeof one - 140, "1.jpg");
    memcpy(other, one, sizeof one);
    other[140] = '8';
    ck_assert(!panels_alike(one, other));
    other[140] = '1';
    other[70] = 'b';
    ck_assert(panels_alike(one, other));
    ck_assert(!panels_alike("a-name-of-all-but-forty-letters-abcd.jpg",
                            "a-name-of-all-but-forty-lettirs-abcd.jpg"));
}
END_TEST

START_TEST(every_reason_has_a_picture)
{
    double deg = 87.1;
    for (int i = VISION_NO_CARD; i < VISION_REASON_COUNT; i++) {
        struct vision_result result = result_with_arms(&deg, 1, 20);
        result.status = i % 2 ? VISION_UNSURE : VISION_FAILED;
        result.reason = (enum vision_reason)i;
        check_picture(1600, 1200, &result);
    }
}
END_TEST

START_TEST(a_picture_that_cannot_be_written_leaves_nothing)
{
    struct vision_result result = {.status = VISION_FAILED, .reason = VISION_NO_CARD};
    char kept[sizeof path];
    memcpy(kept, path, sizeof kept);
    snprintf(path, sizeof path, "/nowhere/a.png");
    ck_assert_int_eq(write_picture(100, 100, &result, "a.jpg"), ANNOTATE_WRITE);
    memcpy(path, kept, sizeof kept);
}
END_TEST

int main(void)
{
    int fd = mkstemp(path);
    if (fd < 0)
        return EXIT_FAILURE;
    close(fd);
    Suite *suite = suite_create("annotate");
    TCase *tcase = tcase_create("picture");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, no_label_covers_an_arm);
    tcase_add_test(tcase, the_arm_that_is_spoken_of_has_its_label);
    tcase_add_test(tcase, every_label_hangs_on_its_arm);
    tcase_add_test(tcase, no_label_covers_a_marker_or_the_reference);
    tcase_add_test(tcase, every_reference_has_its_label);
    tcase_add_test(tcase, labels_of_other_arms_carry_no_arrow);
    tcase_add_test(tcase, the_panel_tells_the_other_arms);
    tcase_add_test(tcase, no_arrow_shows_a_way_half_way_between_two_squares);
    tcase_add_test(tcase, nor_does_that_of_a_job);
    tcase_add_test(tcase, pixels_stand_along_the_rim_where_points_are_wanted);
    tcase_add_test(tcase, a_failed_photo_shows_what_was_looked_at);
    tcase_add_test(tcase, the_arrow_leads_back_to_square);
    tcase_add_test(tcase, the_goal_is_drawn_in_place_of_square);
    tcase_add_test(tcase, the_arrow_leads_to_the_goal);
    tcase_add_test(tcase, a_long_arrow_is_no_filled_bow);
    tcase_add_test(tcase, the_goal_is_about_the_arm_that_is_meant);
    tcase_add_test(tcase, a_photo_without_an_edge_shows_the_two_points);
    tcase_add_test(tcase, a_failed_photo_shows_no_arm);
    tcase_add_test(tcase, photos_of_every_shape_get_a_picture);
    tcase_add_test(tcase, every_reason_fits_the_panel);
    tcase_add_test(tcase, the_panel_tells_what_the_text_tells_of_the_arms);
    tcase_add_test(tcase, what_an_arm_is_measured_against_is_not_torn);
    tcase_add_test(tcase, the_verdict_has_air_around_it);
    tcase_add_test(tcase, photos_are_told_apart_by_the_end_of_their_names);
    tcase_add_test(tcase, every_reason_has_a_picture);
    tcase_add_test(tcase, a_picture_that_cannot_be_written_leaves_nothing);
    suite_add_tcase(suite, tcase);
    int status = run_suite(suite);
    unlink(path);
    return status;
}
