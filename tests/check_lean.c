/* src/arithmetic/lean.c: the lean of a card, told by photos from different sides. Coverage and
 * false alarms by Monte Carlo (JCGM 101:2008), leans by rays from cameras to parts that lean. */
#include "arithmetic/lean.h"
#include "budget/witness.h"
#include "check_main.h"
#include "lean_scene.h"
#include "result/together.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MAX_PHOTOS 4

/* What is drawn below: a cross, each arm read to 0.1 degrees, each photo turned by 0.05. */
#define OWN_DEG 0.1
#define PHOTO_DEG 0.05
#define TILT_DEG 0.4

static const double gains[MAX_PHOTOS][4][2] = {
    {{0.30, 0.05}, {-0.20, 0.10}, {0.30, 0.05}, {-0.20, 0.10}},
    {{-0.28, 0.02}, {0.22, -0.10}, {-0.28, 0.02}, {0.22, -0.10}},
    {{0.05, 0.25}, {0.02, -0.20}, {0.05, 0.25}, {0.02, -0.20}},
    {{0.00, -0.30}, {0.10, 0.25}, {0.00, -0.30}, {0.10, 0.25}},
};

static struct lean draw(const double slope[2])
{
    static const double photo_deg[MAX_PHOTOS] = {PHOTO_DEG, PHOTO_DEG, PHOTO_DEG, PHOTO_DEG};
    struct lean_reading readings[4 * MAX_PHOTOS];
    struct lean_question q = {readings, 0, 4, MAX_PHOTOS, photo_deg, TILT_DEG};
    for (int p = 0; p < MAX_PHOTOS; p++) {
        double turn = PHOTO_DEG * lean_scene_normal();
        for (int a = 0; a < 4; a++) {
            struct lean_reading *r = &readings[q.count++];
            *r = (struct lean_reading){.level = a,
                                       .photo = p,
                                       .own_deg = OWN_DEG,
                                       .gain = {gains[p][a][0], gains[p][a][1]}};
            /* in [0, 360), about a full turn, where plain means fail */
            r->angle_deg = fmod(719.95 + 91 * a + turn + OWN_DEG * lean_scene_normal() +
                                    r->gain[0] * slope[0] + r->gain[1] * slope[1],
                                360);
        }
    }
    return lean_find(&q);
}

/* (estimate - truth)' cov^-1 (estimate - truth), which is a chi^2 with two degrees of freedom. */
static double squares_off(const struct lean *lean, const double slope[2])
{
    double x = lean->slope_deg[0] - slope[0], y = lean->slope_deg[1] - slope[1];
    const double *c = lean->cov;
    return (c[3] * x * x - 2 * c[1] * x * y + c[0] * y * y) / (c[0] * c[3] - c[1] * c[1]);
}

/* Of slopes as they are before any photo: the mean of such a chi^2 is 2, of 4000 to 0.03. */
START_TEST(the_slope_is_as_sure_as_it_says)
{
    enum { DRAWS = 4000 };
    double sum = 0;
    srand(11);
    for (int i = 0; i < DRAWS; i++) {
        double slope[2] = {TILT_DEG * lean_scene_normal(), TILT_DEG * lean_scene_normal()};
        struct lean lean = draw(slope);
        sum += squares_off(&lean, slope);
    }
    ck_assert_msg(fabs(sum / DRAWS - 2) < 0.12, "mean of squares %.3f", sum / DRAWS);
}
END_TEST

/* One time in a hundred at most; binomial scatter of 4000 draws is 0.16 %. */
START_TEST(a_straight_card_is_seldom_called_leaning)
{
    enum { DRAWS = 4000 };
    const double none[2] = {0, 0}, far[2] = {1.5, 0};
    int alarms = 0, ruled_out = 0, kept = 0;
    srand(12);
    for (int i = 0; i < DRAWS; i++) {
        struct lean lean = draw(none);
        alarms += lean.found;
        ruled_out += lean_rules_out(&lean, far);
        kept += !lean_rules_out(&lean, none);
    }
    ck_assert_msg(alarms > 0.003 * DRAWS && alarms < 0.015 * DRAWS, "%d alarms", alarms);
    ck_assert_msg(ruled_out > 0.99 * DRAWS, "%d ruled out", ruled_out);
    ck_assert_msg(kept > 0.98 * DRAWS, "%d kept", kept);
}
END_TEST

/* With all levels known, least squares of one slope by hand: two readings of one arm, gains 0.4 and
 * -0.4, apart by 0.4 degrees, each to 0.1: slope 0.5 +- 0.1 sqrt(2) / 0.8; the prior of 3 degrees
 * takes 0.35 % off. */
START_TEST(two_photos_make_the_slope_that_a_pencil_makes)
{
    const struct lean_reading readings[2] = {{0, 0, 90.2, 0.1, {0.4, 0}},
                                             {0, 1, 89.8, 0.1, {-0.4, 0}}};
    const double photo_deg[2] = {0, 0}, along[2] = {1, 0}, across[2] = {0, 1};
    struct lean_question q = {readings, 2, 1, 2, photo_deg, 5};
    struct lean lean = lean_find(&q);
    const double u = 0.1 * sqrt(2) / 0.8, shrunk = 25 / (25 + u * u);
    ck_assert_double_eq_tol(lean.slope_deg[0], 0.5 * shrunk, 1e-9);
    ck_assert_double_eq_tol(lean_u_deg(&lean, along), u * sqrt(shrunk), 1e-9);
    ck_assert_double_eq_tol(lean_u_deg(&lean, across), 5, 1e-9);
}
END_TEST

/* Two arms from two sides. By how the arms lie to each other, which no touch changes, the card
 * leans by one slope; by how both turned between the photos, by another, told far better: someone
 * touched the part. In the first row they are one. */
START_TEST(a_touched_part_is_not_taken_for_a_lean)
{
    static const double slopes[][2] = {{-2, -2}, {2, -2}};
    const double apart_gain = 0.05, both_gain = 0.4, photo_deg[2] = {0, 0};
    for (int row = 0; row < 2; row++) {
        struct lean_reading readings[4];
        for (int i = 0; i < 4; i++) {
            const double side = i < 2 ? 1 : -1, apart = i % 2 ? apart_gain : -apart_gain;
            readings[i] = (struct lean_reading){
                i % 2,
                i / 2,
                90 + side * (apart * slopes[row][0] + both_gain * slopes[row][1]),
                0.02,
                {side * (both_gain + apart), 0}};
        }
        const struct lean_question q = {readings, 4, 2, 2, photo_deg, TILT_DEG};
        struct lean lean = lean_find(&q);
        ck_assert_msg(lean.found == (row == 0), "row %d", row);
        ck_assert_msg(lean.perhaps == (row == 1), "row %d", row);
    }
}
END_TEST

/* ---- By rays --------------------------------------------------------------------------------- */

/* A part looked at from these sides, its arms made as they are made. */
static struct lean look_from(struct lean_scene scene, const double *from_deg, int photos,
                             const double *made_deg, struct vision_witness *first)
{
    static struct vision_arm arms[VISION_MAX_ARMS];
    static struct lean_reading readings[MAX_PHOTOS * VISION_MAX_ARMS];
    double photo_deg[MAX_PHOTOS] = {0};
    struct lean_question q = {readings, 0, scene.count, photos, photo_deg, TILT_DEG};
    for (int p = 0; p < photos; p++) {
        scene.from_deg = from_deg[p];
        lean_scene_look(&scene, made_deg, arms);
        if (p == 0)
            witness_judge(arms, scene.count, &lean_scene_plane, (struct vision_point){0, 0}, first);
        for (int a = 0; a < scene.count; a++)
            readings[q.count++] =
                (struct lean_reading){a,
                                      p,
                                      arms[a].angle_deg,
                                      scene.noise_deg,
                                      {arms[a].tilt_gain[0], arms[a].tilt_gain[1]}};
    }
    return lean_find(&q);
}

static const double opposite[2] = {20, 200}, alike[2] = {20, 24};

/* A cross whose arms are made up to 0.6 degrees off, before a card that leans by 1.6. */
START_TEST(a_lean_shows_from_opposite_sides_however_the_arms_are_made)
{
    const struct lean_scene scene = {90, 4, 7, 25, 0, 1.6, 40, 0.1, 0};
    const double made_deg[4] = {0.6, -0.3, 0.1, -0.5};
    const double slope[2] = {1.6 * cos(40 * 3.14159265358979 / 180),
                             1.6 * sin(40 * 3.14159265358979 / 180)};
    int found = 0, near = 0, kept = 0;
    srand(13);
    for (int i = 0; i < 500; i++) {
        struct vision_witness first;
        struct lean lean = look_from(scene, opposite, 2, made_deg, &first);
        found += lean.found;
        near += squares_off(&lean, slope) < 9.21;
        kept += !lean_rules_out(&lean, slope);
    }
    ck_assert_msg(found > 490, "found %d", found);
    ck_assert_msg(near > 475, "near %d", near);
    ck_assert_msg(kept > 480, "kept %d", kept);
}
END_TEST

/* Made so that one photo looks as if the card leant; from the other side it does not. */
START_TEST(uneven_arms_are_told_from_a_lean_by_the_other_side_alone)
{
    const struct lean_scene scene = {90, 4, 7, 25, 0, 0, 0, 0.08, 0};
    const double made_deg[4] = {0.4, -0.4, 0.4, -0.4};
    int suspected = 0, ruled_out = 0, alike_ruled_out = 0;
    srand(14);
    for (int i = 0; i < 500; i++) {
        struct vision_witness first;
        struct lean lean = look_from(scene, opposite, 2, made_deg, &first);
        suspected += first.verdict == VISION_WITNESS_LEANS;
        ruled_out += lean_rules_out(&lean, first.slope_deg);
        lean = look_from(scene, alike, 2, made_deg, &first);
        alike_ruled_out += lean_rules_out(&lean, first.slope_deg);
    }
    ck_assert_msg(suspected > 400, "suspected %d", suspected);
    ck_assert_msg(ruled_out > 490, "ruled out %d", ruled_out);
    ck_assert_msg(alike_ruled_out < 25, "ruled out by much the same view: %d", alike_ruled_out);
}
END_TEST

/* ---- From photos to the answer ----------------------------------------------------------------
 */

/* As a photo is measured: the arms by themselves, and as they tell each other's angle. */
static void photograph(const struct lean_scene *scene, const double *made_deg,
                       struct vision_result *out)
{
    static const double cov[4] = {TILT_DEG * TILT_DEG, 0, 0, TILT_DEG * TILT_DEG};
    *out = (struct vision_result){
        .status = VISION_OK, .plane = lean_scene_plane, .arm_count = scene->count};
    lean_scene_look(scene, made_deg, out->arms);
    for (int i = 0; i < scene->count; i++)
        out->arms[i].hub_px = (struct vision_point){1000, 800};
    witness_judge(out->arms, scene->count, &lean_scene_plane, (struct vision_point){0, 0},
                  &out->witness);
    memcpy(out->told, out->arms, sizeof out->told);
    if (out->witness.verdict == VISION_WITNESS_LEANS) {
        out->status = VISION_UNSURE;
        out->reason = VISION_LEANING_CARD;
    } else {
        out->spaced = vision_space_arms(out->arms, scene->count, cov);
    }
}

struct tally {
    int leaning, unsure, arms, covered;
    double square, u;
};

/* Sets of photos of parts made evenly to 0.15 degrees, before a card that lies straight. */
static struct tally photograph_many(double noise_deg, int photos, int draws)
{
    static struct vision_result results[MAX_PHOTOS];
    static struct together t;
    struct tally tally = {0};
    for (int d = 0; d < draws; d++) {
        struct lean_scene scene = {90, 4, 7, 25, 0, 0, 0, noise_deg, 0};
        struct together_photo shots[MAX_PHOTOS];
        double made_deg[4];
        for (int i = 0; i < 4; i++)
            made_deg[i] = 0.15 * lean_scene_normal();
        for (int p = 0; p < photos; p++) {
            scene.from_deg = 20 + 360.0 * p / photos;
            photograph(&scene, made_deg, &results[p]);
            shots[p] = (struct together_photo){"photo", &results[p], COMBINE_SIDE_UNKNOWN};
        }
        together_make(shots, photos, TILT_DEG, false, &t);
        ck_assert_int_eq(t.fault, TOGETHER_FINE);
        tally.leaning += t.lean.found;
        tally.unsure += t.disagree || t.unsure_photos;
        for (int i = 0; i < t.arm_count; i++) {
            const struct vision_arm *arm = &t.arms[i].all.arm;
            double best = 360;
            for (int k = 0; k < 4; k++)
                best =
                    fmin(best, fabs(remainder(arm->angle_deg - 7 - 90.0 * k - made_deg[k], 360)));
            tally.arms++;
            tally.covered += best <= 2 * arm->u_deg;
            tally.square += best * best;
            tally.u += arm->u_deg;
        }
    }
    return tally;
}

/* One in a hundred called leaning at most, one in twenty unsure; and what is said of the angles
 * holds. */
START_TEST(photos_of_a_straight_card_are_put_together_as_they_say)
{
    static const struct {
        double noise_deg;
        int photos;
    } kinds[] = {{0.1, 2}, {0.2, 3}, {0.3, 3}, {0.2, 4}};
    enum { DRAWS = 2000 };
    srand(15);
    struct tally t = photograph_many(kinds[_i].noise_deg, kinds[_i].photos, DRAWS);
    double rms = sqrt(t.square / t.arms), u = t.u / t.arms;
    ck_assert_msg(t.leaning < 0.017 * DRAWS, "leaning: %d", t.leaning);
    ck_assert_msg(t.unsure < 0.07 * DRAWS, "unsure: %d", t.unsure);
    ck_assert_msg(t.covered > 0.93 * t.arms, "covered: %d of %d", t.covered, t.arms);
    ck_assert_msg(rms < 1.05 * u && rms > 0.5 * u, "scatter %.3f, u %.3f", rms, u);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("lean");
    TCase *t = tcase_create("slope");
    tcase_add_test(t, the_slope_is_as_sure_as_it_says);
    tcase_add_test(t, a_straight_card_is_seldom_called_leaning);
    tcase_add_test(t, two_photos_make_the_slope_that_a_pencil_makes);
    tcase_add_test(t, a_touched_part_is_not_taken_for_a_lean);
    tcase_add_test(t, a_lean_shows_from_opposite_sides_however_the_arms_are_made);
    tcase_add_test(t, uneven_arms_are_told_from_a_lean_by_the_other_side_alone);
    tcase_add_loop_test(t, photos_of_a_straight_card_are_put_together_as_they_say, 0, 4);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
