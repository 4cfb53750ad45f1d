/* The part as witness of the card, against rays from a camera to a part that leans: false alarms,
 * leans found, and the side named. Critical values: NIST/SEMATECH e-Handbook, 1.3.6.7.4. */
#include "budget.h"
#include "check_main.h"
#include "witness.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RAD (3.14159265358979323846 / 180)
#define DRAWS 4000

/* Ten pixels a millimetre, the card's y upwards in the photo. */
static const struct vision_plane plane = {.h = {10, 0, 1000, 0, -10, 800, 0, 0, 1},
                                          .inverse = {0.1, 0, -100, 0, -0.1, 80, 0, 0, 1},
                                          .radius_px = 1250};

struct scene {
    int spacing_deg, count;
    double first_deg, oblique_deg, from_deg; /* where the camera stands */
    double slope_deg, toward_deg;            /* the part rises towards the camera that way */
    double noise_deg, moulded_deg;
};

static double uniform(void)
{
    return (rand() + 0.5) / ((double)RAND_MAX + 1);
}

static double normal(void)
{
    return sqrt(-2 * log(uniform())) * cos(360 * RAD * uniform());
}

/* Where the ray from the camera through a point of the part meets the card. */
static struct vision_point on_card(const double camera[3], const double p[3])
{
    double s = camera[2] / (camera[2] - p[2]);
    return (struct vision_point){camera[0] + s * (p[0] - camera[0]),
                                 camera[1] + s * (p[1] - camera[1])};
}

/* The direction in which an arm that lies along psi in the leaning plane is seen. */
static double seen_deg(const struct scene *s, const double camera[3], double psi_deg)
{
    double t = s->slope_deg * RAD, a = s->toward_deg * RAD, d = psi_deg * RAD - a;
    /* along the slope the plane rises, across it lies level */
    double along = cos(d) * cos(t), across = sin(d), rise = cos(d) * sin(t);
    double hub[3] = {0, 0, 5}, tip[3] = {10 * (along * cos(a) - across * sin(a)),
                                         10 * (along * sin(a) + across * cos(a)), 5 + 10 * rise};
    struct vision_point from = on_card(camera, hub), to = on_card(camera, tip);
    return atan2(to.y - from.y, to.x - from.x) / RAD;
}

static struct vision_witness look(const struct scene *s)
{
    static struct vision_arm arms[VISION_MAX_ARMS];
    struct vision_witness w;
    double d = 250 * tan(s->oblique_deg * RAD);
    double camera[3] = {d * cos(s->from_deg * RAD), d * sin(s->from_deg * RAD), 255};
    for (int i = 0; i < s->count; i++) {
        double psi = s->first_deg + i * s->spacing_deg + s->moulded_deg * normal();
        struct budget_question q = {.plane = &plane,
                                    .plane_dof = 64,
                                    .px_per_mm = 10,
                                    .card_tilt_deg = 0.4,
                                    .body_mm = 1e6,
                                    .edge_deg = s->noise_deg,
                                    .edge_dof = 40};
        memcpy(q.camera_mm, camera, sizeof camera);
        q.direction_rad = psi * RAD;
        budget_make(&q, &arms[i]);
        arms[i].angle_deg = seen_deg(s, camera, psi) + s->noise_deg * normal();
        for (int k = 0; k < arms[i].budget_count; k++) /* the print is true here */
            if (arms[i].budget[k].term == VISION_TERM_PRINT)
                arms[i].budget[k].u_deg = 0;
    }
    witness_judge(arms, s->count, &plane, (struct vision_point){0, 0}, &w);
    return w;
}

static const struct scene kinds[] = {
    {90, 4, 7, 30, 20, 0, 0, 0.1, 0.15},
    {120, 3, -8, 30, 250, 0, 0, 0.1, 0.15},
    {60, 6, 11, 20, 130, 0, 0, 0.1, 0.15},
    {90, 3, 2, 35, 75, 0, 0, 0.1, 0.15},
};
#define KINDS ((int)(sizeof kinds / sizeof kinds[0]))

/* One in a hundred at most; binomial scatter of 4000 draws is 0.16 %. */
START_TEST(a_straight_card_is_called_leaning_one_time_in_a_hundred)
{
    int alarms = 0;
    srand(5);
    for (int i = 0; i < DRAWS; i++) {
        struct vision_witness w = look(&kinds[_i]);
        ck_assert_int_eq(w.spacing_deg, kinds[_i].count == 6           ? 60
                                        : kinds[_i].spacing_deg == 120 ? 120
                                                                       : 90);
        alarms += w.verdict == VISION_WITNESS_LEANS;
    }
    double share = (double)alarms / DRAWS;
    ck_assert_msg(share > 0.005 && share < 0.0155, "%d of %d", alarms, DRAWS);
}
END_TEST

/* A star seen from well aside tells which side of the card is near, all round. */
START_TEST(a_star_tells_which_side_of_the_card_is_nearer)
{
    static const enum vision_side sides[4] = {VISION_SIDE_LEFT, VISION_SIDE_BOTTOM,
                                              VISION_SIDE_RIGHT, VISION_SIDE_TOP};
    int side = _i % 4, from = _i / 4;
    struct scene s = {60, 6, 11, 35, 60.0 * from, 3, 90.0 * side, 0.1, 0.15};
    int found = 0, right = 0, wrong = 0;
    srand(6);
    for (int i = 0; i < 400; i++) {
        struct vision_witness w = look(&s);
        if (w.verdict != VISION_WITNESS_LEANS)
            continue;
        found++;
        right += w.nearer == sides[side];
        wrong += w.nearer != sides[side];
    }
    ck_assert_msg(found > 340, "found %d of 400", found);
    ck_assert_msg(right > 0.95 * found, "side right in %d of %d", right, right + wrong);
}
END_TEST

/* Arms of a star off by 0.7 degrees each look like a lean by chance one time in sixteen (binomial
 * scatter of a thousand: 0.8 %); a cross names no side. */
START_TEST(uneven_arms_are_told_from_a_lean)
{
    struct scene s = {60, 6, 11, 30, 40, 0, 0, 0.1, 0.7};
    int uneven = 0, leans = 0;
    srand(7);
    for (int i = 0; i < 1000; i++) {
        struct vision_witness w = look(&s);
        uneven += w.verdict == VISION_WITNESS_UNEVEN;
        leans += w.verdict == VISION_WITNESS_LEANS;
    }
    ck_assert_msg(uneven > 850 && leans < 80, "uneven %d, leans %d", uneven, leans);
    s = (struct scene){90, 4, 7, 35, 20, 3, 40, 0.1, 0.1};
    struct vision_witness w = look(&s);
    ck_assert_int_eq(w.seen, 1);
    ck_assert_int_eq(w.nearer, VISION_SIDE_UNKNOWN);
}
END_TEST

START_TEST(other_parts_are_no_witnesses)
{
    struct scene pair = {180, 2, 7, 30, 20, 0, 0, 0.1, 0}, odd = {77, 4, 7, 30, 20, 0, 0, 0.1, 0},
                 above = {90, 4, 7, 0, 0, 1, 0, 0.01, 0};
    ck_assert_int_eq(look(&pair).spacing_deg, 0);
    ck_assert_int_eq(look(&odd).spacing_deg, 0);
    struct vision_witness w = look(&above);
    ck_assert_int_eq(w.verdict, VISION_WITNESS_AGREES);
    ck_assert_int_eq(w.seen, 0);
}
END_TEST

/* The example of docs/method.md: 1.5 degrees seen at 30, nothing random. */
START_TEST(the_worked_example_of_the_method_page_holds)
{
    struct scene s = {60, 6, 0, 30, 0, 1.5, 90, 0, 0};
    s.noise_deg = 1e-9;
    struct vision_witness w = look(&s);
    char want[80];
    static char text[100000];
    FILE *from = fopen(METHOD_PAGE, "r");
    ck_assert_ptr_nonnull(from);
    text[fread(text, 1, sizeof text - 1, from)] = '\0';
    fclose(from);
    snprintf(want, sizeof want, "chi^2 is %.1f with 5 degrees of freedom, and %.1f with 3",
             w.chi_square, w.chi_square_leaning);
    ck_assert_msg(strstr(text, want) != NULL, "the page lacks \"%s\"", want);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("witness");
    TCase *t = tcase_create("spacing");
    tcase_add_loop_test(t, a_straight_card_is_called_leaning_one_time_in_a_hundred, 0, KINDS);
    tcase_add_loop_test(t, a_star_tells_which_side_of_the_card_is_nearer, 0, 24);
    tcase_add_test(t, uneven_arms_are_told_from_a_lean);
    tcase_add_test(t, other_parts_are_no_witnesses);
    tcase_add_test(t, the_worked_example_of_the_method_page_holds);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
