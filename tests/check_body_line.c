/* The middle line of an arm's body from edge points of two sides whose shape is known. */
#include "check_main.h"
#include "edge/body_line.h"

#define SECTIONS 120
#define BODY_MM 10.0
#define TURN_DEG 0.4
#define RAD (3.14159265358979 / 180)

/* Sides that bow, and a middle line that bends, by these coefficients of the second Legendre
 * polynomial, mm. The right side is seen from right_from_mm on. */
struct shape {
    double bow_mm, bend_mm, right_from_mm;
};

static struct body_line fitted(struct shape shape)
{
    const struct axis axis = {.direction_rad = 0};
    const double camera_mm[3] = {0, 0, 300};
    const struct arm_shared known = arm_shared_usual(0.08);
    struct sides sides = {.sections = SECTIONS, .to = BODY_MM};
    struct body_line line;
    for (int i = 0; i < SECTIONS; i++) {
        const double u = BODY_MM * (i + 0.5) / SECTIONS, x = 2 * u / BODY_MM - 1;
        const double second = (3 * x * x - 1) / 2;
        const double middle = u * tan(TURN_DEG * RAD) + shape.bend_mm * second;
        const double half = 2 + shape.bow_mm * second;
        sides.u[i] = u;
        sides.edge[0][i] = (struct edge_point){.found = true, .u = u, .v = half + middle};
        sides.edge[1][i] =
            (struct edge_point){.found = u > shape.right_from_mm, .u = u, .v = half - middle};
    }
    ck_assert(body_line_fit(&sides, &axis, 4, camera_mm, &known, 0.03, &line));
    return line;
}

START_TEST(straight_sides_give_their_turn)
{
    const struct body_line line = fitted((struct shape){0, 0, 3});
    assert_near(line.turn_rad / RAD, TURN_DEG, 1e-6);
    ck_assert(line.bend.seen);
    assert_near(line.bend.mm, 0, 1e-9);
}
END_TEST

/* 30 micrometres of bow are well within what passes for straight. Lines along each side by itself
 * turn apart by bow / BODY_MM where one reaches less far: 0.1 degrees. */
START_TEST(sides_that_bow_alike_turn_nothing_though_one_is_seen_less_far)
{
    for (int sign = -1; sign <= 1; sign += 2) {
        const struct body_line line = fitted((struct shape){sign * 0.03, 0, 3});
        assert_near(line.turn_rad / RAD, TURN_DEG, 0.02);
    }
}
END_TEST

/* Root mean square of 12 micrometres in the second order and none in the third. */
START_TEST(a_bend_of_the_middle_line_is_told)
{
    const struct body_line line = fitted((struct shape){0, 0.012, 0});
    ck_assert(line.bend.seen);
    assert_near(line.bend.mm, 0.012 / sqrt(2), 0.001);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("body line");
    TCase *tcase = tcase_create("shapes");
    tcase_add_test(tcase, straight_sides_give_their_turn);
    tcase_add_test(tcase, sides_that_bow_alike_turn_nothing_though_one_is_seen_less_far);
    tcase_add_test(tcase, a_bend_of_the_middle_line_is_told);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
