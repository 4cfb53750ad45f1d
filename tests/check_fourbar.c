/* The four-bar against a textbook's worked example, exact identities and Grashof's classes. */
#include "check_main.h"
#include "linkage/fourbar.h"

#define DEG (M_PI / 180)

static struct fourbar made(double a, double b, double c, double d)
{
    struct fourbar mech;
    ck_assert_int_eq(fourbar_init(&mech, a, b, c, d), FOURBAR_OK);
    return mech;
}

/* R. L. Norton, Design of Machinery, Example 4-1: a 40, b 120, c 80, d 100 mm, theta2 40 degrees.
 * Printed to two decimals (57.33, -98.01, 20.30, -60.98; from memory of the book, and the book
 * rounds on the way); the eight digits were worked out by two methods outside this project. */
START_TEST(norton_example_4_1_both_assemblies)
{
    struct fourbar mech = made(40, 120, 80, 100);
    struct fourbar_pose poses[2];
    ck_assert_int_eq(fourbar_solve(&mech, 40 * DEG, poses), FOURBAR_OK);
    ck_assert_double_eq_tol(mech.k1, 2.5, 1e-12);
    ck_assert_double_eq_tol(mech.k2, 1.25, 1e-12);
    ck_assert_double_eq_tol(mech.k3, 0.5625, 1e-12);
    ck_assert_double_eq_tol(poses[FOURBAR_OPEN].crank_rad / DEG, 57.33, 0.01);
    ck_assert_double_eq_tol(poses[FOURBAR_CROSSED].crank_rad / DEG, -98.01, 0.01);
    ck_assert_double_eq_tol(poses[FOURBAR_OPEN].link_rad / DEG, 20.30, 0.01);
    ck_assert_double_eq_tol(poses[FOURBAR_CROSSED].link_rad / DEG, -60.98, 0.01);
    ck_assert_double_eq_tol(poses[FOURBAR_OPEN].crank_rad / DEG, 57.32488007, 1e-8);
    ck_assert_double_eq_tol(poses[FOURBAR_CROSSED].crank_rad / DEG, -98.00496408, 1e-8);
    ck_assert_double_eq_tol(poses[FOURBAR_OPEN].link_rad / DEG, 20.29788279, 1e-8);
    ck_assert_double_eq_tol(poses[FOURBAR_CROSSED].link_rad / DEG, -60.97796680, 1e-8);
    /* Transmission angle, Norton 4.10: |theta3 - theta4|. */
    ck_assert_double_eq_tol(poses[FOURBAR_OPEN].transmission_rad / DEG, 57.32488007 - 20.29788279,
                            1e-8);
}
END_TEST

/* More points of the same mechanism, worked out outside this project by two methods. */
static const double points[][3] = {
    {30, 55.26777722, -89.29624062},
    {90, 80.25691283, -123.85973180},
    {150, 110.45938427, -127.35761100},
};

START_TEST(norton_mechanism_at_other_angles)
{
    struct fourbar mech = made(40, 120, 80, 100);
    struct fourbar_pose poses[2];
    ck_assert_int_eq(fourbar_solve(&mech, points[_i][0] * DEG, poses), FOURBAR_OK);
    ck_assert_double_eq_tol(poses[FOURBAR_OPEN].crank_rad / DEG, points[_i][1], 1e-8);
    ck_assert_double_eq_tol(poses[FOURBAR_CROSSED].crank_rad / DEG, points[_i][2], 1e-8);
}
END_TEST

/* Own example of an unequal pair, worked out outside this project. */
START_TEST(unequal_arms_throw_unequally)
{
    struct fourbar mech = made(10, 60, 15, 60.208);
    static const double in[3] = {90, 45, 135}, out[3] = {91.5900, 64.2507, 120.2998};
    struct fourbar_pose poses[2];
    for (int i = 0; i < 3; i++) {
        ck_assert_int_eq(fourbar_solve(&mech, in[i] * DEG, poses), FOURBAR_OK);
        ck_assert_double_eq_tol(poses[FOURBAR_OPEN].crank_rad / DEG, out[i], 5e-5);
    }
}
END_TEST

static double random_between(double low, double high)
{
    return low + (high - low) * (rand() / (double)RAND_MAX);
}

/* Loop closure a + b = d + c in x and y, and Freudenstein's equation itself (1955), for whatever
 * closes. */
START_TEST(loops_close_and_freudenstein_holds)
{
    srand(1);
    int solved = 0;
    while (solved < 20000) {
        double a = random_between(1, 50), b = random_between(1, 150), c = random_between(1, 50),
               d = random_between(1, 150), t2 = random_between(-M_PI, M_PI);
        struct fourbar mech;
        struct fourbar_pose poses[2];
        if (fourbar_init(&mech, a, b, c, d) != FOURBAR_OK ||
            fourbar_solve(&mech, t2, poses) != FOURBAR_OK)
            continue;
        for (int i = 0; i < 2; i++) {
            double t3 = poses[i].link_rad, t4 = poses[i].crank_rad;
            ck_assert_double_eq_tol(a * cos(t2) + b * cos(t3) - d - c * cos(t4), 0, 1e-9);
            ck_assert_double_eq_tol(a * sin(t2) + b * sin(t3) - c * sin(t4), 0, 1e-9);
            ck_assert_double_eq_tol(mech.k1 * cos(t4) - mech.k2 * cos(t2) + mech.k3 - cos(t2 - t4),
                                    0, 1e-9 * (1 + mech.k1 + mech.k2));
        }
        solved++;
    }
}
END_TEST

/* The gain against the difference quotient of the positions themselves. */
START_TEST(the_gain_is_the_derivative_of_the_position)
{
    struct fourbar mech = made(12, 61, 15, 60);
    const double h = 1e-6;
    for (int deg = -70; deg <= 130; deg += 10) {
        struct fourbar_pose here[2], up[2], down[2];
        if (fourbar_solve(&mech, deg * DEG, here) != FOURBAR_OK)
            continue;
        ck_assert_int_eq(fourbar_solve(&mech, deg * DEG + h, up), FOURBAR_OK);
        ck_assert_int_eq(fourbar_solve(&mech, deg * DEG - h, down), FOURBAR_OK);
        for (int i = 0; i < 2; i++) {
            double turn = remainder(up[i].crank_rad - down[i].crank_rad, 2 * M_PI);
            ck_assert_double_eq_tol(here[i].gain, turn / (2 * h), 1e-5);
        }
    }
}
END_TEST

/* A parallelogram (a = c, b = d) stays one at every angle: the crank turns with the horn. Above the
 * base line it is the open assembly, below it the crossed one; at 0 and 180 degrees all lie in one
 * line. */
START_TEST(parallelogram_turns_one_to_one)
{
    struct fourbar mech = made(15, 60, 15, 60);
    for (int deg = -179; deg < 180; deg++) {
        struct fourbar_pose poses[2];
        if (deg == 0)
            continue;
        const struct fourbar_pose *pose = &poses[deg > 0 ? FOURBAR_OPEN : FOURBAR_CROSSED];
        ck_assert_int_eq(fourbar_solve(&mech, deg * DEG, poses), FOURBAR_OK);
        ck_assert_double_eq_tol(pose->crank_rad, deg * DEG, 1e-12);
        ck_assert_double_eq_tol(pose->gain, 1, 1e-9);
        ck_assert_double_eq_tol(pose->link_rad, 0, 1e-12);
    }
}
END_TEST

/* Open: the crank turns counter-clockwise from its link, at every angle of the horn; crossed is its
 * mirror image. Norton's Example 4-1 is above the base line, where open keeps the link from it. */
START_TEST(assemblies_are_told_apart_by_the_side_of_the_crank)
{
    struct fourbar mech = made(40, 120, 80, 100), small = made(1, 4, 1, 4);
    struct fourbar_pose poses[2], mirrored[2];
    for (int deg = -180; deg <= 180; deg += 5) {
        ck_assert_int_eq(fourbar_solve(&mech, deg * DEG, poses), FOURBAR_OK);
        ck_assert_double_gt(sin(poses[FOURBAR_OPEN].crank_rad - poses[FOURBAR_OPEN].link_rad), 0);
        ck_assert_double_lt(sin(poses[FOURBAR_CROSSED].crank_rad - poses[FOURBAR_CROSSED].link_rad),
                            0);
        ck_assert_int_eq(fourbar_solve(&mech, -deg * DEG, mirrored), FOURBAR_OK);
        ck_assert_double_eq_tol(poses[FOURBAR_OPEN].crank_rad, -mirrored[FOURBAR_CROSSED].crank_rad,
                                1e-12);
    }
    /* By the cosine rule: the diagonal is sqrt(17), and lies 14.04 degrees off the base line,
     * 104.04 off the crank of the parallelogram; its mirror image stands at 2 x 14.04 + 90. */
    ck_assert_int_eq(fourbar_solve(&small, -90 * DEG, poses), FOURBAR_OK);
    ck_assert_double_eq_tol(poses[FOURBAR_CROSSED].crank_rad, -90 * DEG, 1e-12);
    ck_assert_double_eq_tol(poses[FOURBAR_OPEN].crank_rad, 2 * atan(0.25) + 90 * DEG, 1e-12);
}
END_TEST

START_TEST(link_for_inverts_the_solution)
{
    struct fourbar mech = made(12, 57, 15, 60);
    struct fourbar_pose poses[2];
    ck_assert_int_eq(fourbar_solve(&mech, 80 * DEG, poses), FOURBAR_OK);
    for (int i = 0; i < 2; i++)
        ck_assert_double_eq_tol(fourbar_link_for(12, 15, 60, 80 * DEG, poses[i].crank_rad), 57,
                                1e-12);
}
END_TEST

/* Link lengths of Norton's chapter 2 problems; the condition is his 2.12 (Grashof). Which bar is
 * the shortest then tells the kind. */
static const struct {
    double a, b, c, d;
    enum fourbar_class is;
} grashof[] = {
    {2, 9, 7, 4.5, FOURBAR_CRANK_ROCKER},     /* 2 + 9 < 4.5 + 7, shortest is the input */
    {9, 7, 4.5, 2, FOURBAR_DOUBLE_CRANK},     /* shortest is the base */
    {9, 7, 2, 4.5, FOURBAR_ROCKER_CRANK},     /* shortest is the output */
    {4.5, 2, 7, 9, FOURBAR_DOUBLE_ROCKER},    /* shortest is the link */
    {2, 9, 7, 3.5, FOURBAR_TRIPLE_ROCKER},    /* 2 + 9 > 3.5 + 7 */
    {2, 8, 6, 4, FOURBAR_CHANGE_POINT},       /* 2 + 8 = 4 + 6 */
    {40, 120, 80, 100, FOURBAR_CRANK_ROCKER}, /* 40 + 120 < 80 + 100 */
};

START_TEST(grashof_classes)
{
    struct fourbar mech = made(grashof[_i].a, grashof[_i].b, grashof[_i].c, grashof[_i].d);
    ck_assert_int_eq(fourbar_class_of(&mech), grashof[_i].is);
}
END_TEST

/* A Grashof crank-rocker closes at every horn angle; a triple rocker does not somewhere. That is
 * what the classes mean. */
START_TEST(grashof_class_tells_who_can_turn)
{
    struct fourbar_pose poses[2];
    struct fourbar turns = made(2, 9, 7, 4.5), swings = made(2, 9, 7, 3.5);
    int closed = 0;
    for (int deg = 0; deg < 360; deg++) {
        ck_assert_int_eq(fourbar_solve(&turns, deg * DEG, poses), FOURBAR_OK);
        closed += fourbar_solve(&swings, deg * DEG, poses) == FOURBAR_OK;
    }
    ck_assert_int_lt(closed, 360);
}
END_TEST

/* Link and crank in one line, 35 + 15 from the horn's ball to the crank's axis: cos t2 = (20^2 +
 * 50^2
 * - 50^2) / (2 20 50). There the transmission angle is 0 and a hair further nothing closes (Norton
 * 4.11, toggle positions). */
START_TEST(at_a_dead_point_the_link_stops_reaching)
{
    struct fourbar mech = made(20, 35, 15, 50);
    for (int way = -1; way <= 1; way += 2) {
        struct fourbar_pose poses[2];
        double dead_rad = way * acos(0.2), hair = way * 1e-4;
        ck_assert_int_eq(fourbar_solve(&mech, dead_rad, poses), FOURBAR_OK);
        ck_assert_double_lt(poses[0].transmission_rad, 1e-5);
        ck_assert_int_eq(fourbar_solve(&mech, dead_rad + hair, poses), FOURBAR_OUT_OF_REACH);
        ck_assert_int_eq(fourbar_solve(&mech, dead_rad - hair, poses), FOURBAR_OK);
    }
}
END_TEST

/* Horn and link in one line, 20 + 50 from the horn's axis to the crank's ball: the crank turns
 * back.
 */
START_TEST(where_horn_and_link_are_in_line_the_gain_is_zero)
{
    struct fourbar mech = made(20, 50, 35, 60);
    struct fourbar_pose poses[2];
    double turning_rad = acos((70.0 * 70 + 60 * 60 - 35 * 35) / (2 * 70 * 60));
    ck_assert_int_eq(fourbar_solve(&mech, turning_rad, poses), FOURBAR_OK);
    ck_assert_double_lt(fmin(fabs(poses[0].gain), fabs(poses[1].gain)), 1e-9);
}
END_TEST

static const struct {
    double a, b, c, d;
    enum fourbar_status is;
} impossible[] = {
    {0, 60, 15, 60, FOURBAR_BAD_LENGTH},     {-12, 60, 15, 60, FOURBAR_BAD_LENGTH},
    {12, NAN, 15, 60, FOURBAR_BAD_LENGTH},   {12, 60, INFINITY, 60, FOURBAR_BAD_LENGTH},
    {12, 60, 15, 100, FOURBAR_CANNOT_CLOSE}, {100, 60, 15, 10, FOURBAR_CANNOT_CLOSE},
};

START_TEST(impossible_lengths_are_refused)
{
    struct fourbar mech;
    ck_assert_int_eq(
        fourbar_init(&mech, impossible[_i].a, impossible[_i].b, impossible[_i].c, impossible[_i].d),
        impossible[_i].is);
}
END_TEST

START_TEST(ball_on_the_crank_axis_has_no_direction)
{
    struct fourbar mech = made(30, 20, 20, 30);
    struct fourbar_pose poses[2];
    ck_assert_int_eq(fourbar_solve(&mech, 0, poses), FOURBAR_NO_DIRECTION);
    ck_assert_int_eq(fourbar_solve(&mech, NAN, poses), FOURBAR_NO_DIRECTION);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("fourbar");
    TCase *tc = tcase_create("fourbar");
    tcase_add_test(tc, norton_example_4_1_both_assemblies);
    tcase_add_loop_test(tc, norton_mechanism_at_other_angles, 0, 3);
    tcase_add_test(tc, unequal_arms_throw_unequally);
    tcase_add_test(tc, loops_close_and_freudenstein_holds);
    tcase_add_test(tc, the_gain_is_the_derivative_of_the_position);
    tcase_add_test(tc, parallelogram_turns_one_to_one);
    tcase_add_test(tc, assemblies_are_told_apart_by_the_side_of_the_crank);
    tcase_add_test(tc, link_for_inverts_the_solution);
    tcase_add_loop_test(tc, grashof_classes, 0, sizeof grashof / sizeof *grashof);
    tcase_add_test(tc, grashof_class_tells_who_can_turn);
    tcase_add_test(tc, at_a_dead_point_the_link_stops_reaching);
    tcase_add_test(tc, where_horn_and_link_are_in_line_the_gain_is_zero);
    tcase_add_loop_test(tc, impossible_lengths_are_refused, 0,
                        sizeof impossible / sizeof *impossible);
    tcase_add_test(tc, ball_on_the_crank_axis_has_no_direction);
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
