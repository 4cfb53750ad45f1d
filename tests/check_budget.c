/* The uncertainty budget: each formula against a computation of its own, and the worked example of
 * docs/method.md against the program. */
#include "budget/budget.h"
#include "check_main.h"
#include "result/arm_uncertainty.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RAD (3.14159265358979323846 / 180)

/* Ten pixels a millimetre, square on; of the covariance only the shear is not nothing. */
static struct vision_plane plain_plane(double shear_u)
{
    struct vision_plane plane = {.h = {10, 0, 1000, 0, -10, 800, 0, 0, 1},
                                 .inverse = {0.1, 0, -100, 0, -0.1, 80, 0, 0, 1},
                                 .radius_px = 1250};
    plane.cov[1 * VISION_PLANE_UNKNOWNS + 1] = shear_u * shear_u;
    return plane;
}

/* The worked example: an upright arm of 12 mm, the camera 12 degrees aside of it. */
static struct budget_question example(const struct vision_plane *plane)
{
    return (struct budget_question){.plane = plane,
                                    .plane_dof = 8 * 9 - 8,
                                    .camera_mm = {-300 * tan(12 * RAD), 0, 300},
                                    .residual_px = 0.10,
                                    .px_per_mm = 10,
                                    .card_tilt_deg = 0.4,
                                    .direction_rad = 90 * RAD,
                                    .body_mm = 12,
                                    .bend = {true, 0.003},
                                    .edge_deg = 0.05,
                                    .edge_dof = 40};
}

static const struct vision_budget_line *line_of(const struct vision_arm *arm, enum vision_term term)
{
    for (int i = 0; i < arm->budget_count; i++)
        if (arm->budget[i].term == term)
            return &arm->budget[i];
    ck_abort_msg("no term %d", term);
    return NULL;
}

static void near(double found, double want, double tolerance, const char *what)
{
    ck_assert_msg(fabs(found - want) <= tolerance, "%s: %.9g, expected %.9g", what, found, want);
}

/* ---- The worked example --------------------------------------------------------------------- */

/* A row of the table: "| edge noise | 0.050 | 40 | none |". */
static bool table_row(const char *text, const char *name, double *u_deg, double *dof)
{
    char start[64];
    snprintf(start, sizeof start, "\n| %s | ", name);
    const char *row = strstr(text, start);
    if (!row)
        return false;
    char *end;
    *u_deg = strtod(row + strlen(start), &end);
    *dof = strtod(end + strlen(" | "), NULL);
    return true;
}

static char *worked_example(void)
{
    FILE *from = fopen(METHOD_PAGE, "r");
    ck_assert_ptr_nonnull(from);
    static char text[100000];
    text[fread(text, 1, sizeof text - 1, from)] = '\0';
    fclose(from);
    char *example_text = strstr(text, "Worked example");
    ck_assert_msg(example_text != NULL, "the page has no worked example");
    return example_text;
}

/* Half a unit of the last printed digit. */
START_TEST(the_worked_example_of_the_method_page_is_what_the_program_computes)
{
    struct vision_plane plane = plain_plane(10 * 0.01 * RAD);
    struct budget_question q = example(&plane);
    struct vision_arm arm = {0};
    budget_make(&q, &arm);
    const char *text = worked_example();
    double u_deg, dof;
    ck_assert_int_eq(arm.budget_count, 7);
    for (int i = 0; i < arm.budget_count; i++) {
        const struct vision_budget_line *line = &arm.budget[i];
        ck_assert_msg(table_row(text, line->name, &u_deg, &dof), "no row \"%s\"", line->name);
        near(line->u_deg, u_deg, 0.00051, line->name);
        near(line->dof, dof, 0.5, line->name);
    }
    ck_assert(table_row(text, "combined", &u_deg, &dof));
    struct uncertainty u = arm_uncertainty(&arm);
    near(u.u, u_deg, 0.00051, "combined");
    near(u.dof, dof, 0.051, "effective degrees of freedom");
    ck_assert(table_row(text, "expanded", &u_deg, &dof));
    near(uncertainty_expand(u), u_deg, 0.00051, "expanded");
}
END_TEST

/* The same by hand, term by term, from the formulas of the page. */
START_TEST(each_term_is_its_formula)
{
    struct vision_plane plane = plain_plane(10 * 0.01 * RAD);
    struct budget_question q = example(&plane);
    struct vision_arm arm = {0};
    budget_make(&q, &arm);
    near(line_of(&arm, VISION_TERM_PLANE)->u_deg, 0.01, 1e-6, "a shear turns an upright line");
    near(line_of(&arm, VISION_TERM_LENS)->u_deg, 0, 1e-12, "lens");
    near(line_of(&arm, VISION_TERM_STRAIGHTNESS)->u_deg, 2 * sqrt(18e-6) / 12 / RAD, 1e-9,
         "straightness, from 6 micrometres beforehand and two of 3 seen");
    near(line_of(&arm, VISION_TERM_TILT)->u_deg, 0.4 * hypot(tan(12 * RAD), 0.4 * RAD / 4), 1e-9,
         "tilt");
    near(line_of(&arm, VISION_TERM_FLATNESS)->u_deg, 0.04 / 10 / 10 / RAD, 1e-9, "flatness");
    near(line_of(&arm, VISION_TERM_PRINT)->u_deg, 0, 1e-9, "print");
    q.direction_rad = 45 * RAD;
    budget_make(&q, &arm);
    near(line_of(&arm, VISION_TERM_PRINT)->u_deg, 0.0005 / RAD, 1e-9, "print at 45 degrees");
}
END_TEST

/* ---- Tilt against the rays themselves -------------------------------------------------------- */

/* Where the ray from the camera through (x, y, z) meets the card. */
static struct vision_point on_card(const double camera[3], double x, double y, double z)
{
    double s = camera[2] / (camera[2] - z);
    return (struct vision_point){camera[0] + s * (x - camera[0]), camera[1] + s * (y - camera[1])};
}

/* How an arm at hub, in a plane that slopes by slope towards the camera, seems to lie. */
static double seen_deg(const double camera[3], const struct vision_point hub, double direction_rad,
                       const double slope[2])
{
    const double r = 1e-3;
    double c = cos(direction_rad), s = sin(direction_rad);
    struct vision_point a = on_card(camera, hub.x, hub.y, 3);
    struct vision_point b =
        on_card(camera, hub.x + r * c, hub.y + r * s, 3 + r * (c * slope[0] + s * slope[1]));
    return atan2(b.y - a.y, b.x - a.x) / RAD;
}

START_TEST(tilt_gain_is_what_the_rays_do)
{
    static const double directions_deg[4] = {0, 30, 90, 200};
    struct vision_plane plane = plain_plane(0);
    struct budget_question q = example(&plane);
    const double camera[3] = {-82.95, -148.29, 365.18};
    memcpy(q.camera_mm, camera, sizeof camera);
    q.hub_mm = (struct vision_point){10, 10};
    for (int i = 0; i < 8; i++) {
        const double slope[2] = {i % 2 ? 0.001 : 0, i % 2 ? 0 : 0.001};
        struct vision_arm arm = {0};
        q.direction_rad = directions_deg[i / 2] * RAD;
        budget_make(&q, &arm);
        double turn = seen_deg(camera, q.hub_mm, q.direction_rad, slope) - directions_deg[i / 2];
        double want = (arm.tilt_gain[0] * slope[0] + arm.tilt_gain[1] * slope[1]) / RAD;
        near(remainder(turn, 360), want, 0.0006, "turn"); /* 1 % of what 0.001 can do */
    }
}
END_TEST

/* A plane tilted 1 degree about x, vertex (10, 10, 5) away from the camera: the angle of 30 degrees
 * between two arms reads 29.87336760 (computed independently with the camera above). */
START_TEST(tilt_gain_agrees_with_an_outside_figure)
{
    struct vision_plane plane = plain_plane(0);
    struct budget_question q = example(&plane);
    const double camera[3] = {-82.95048251, -148.28558156, 365.17886542 + 5};
    double slope = -tan(1 * RAD), turn[2];
    memcpy(q.camera_mm, camera, sizeof camera);
    q.hub_mm = (struct vision_point){10, 10};
    for (int i = 0; i < 2; i++) {
        struct vision_arm arm = {0};
        q.direction_rad = i * 30 * RAD;
        budget_make(&q, &arm);
        turn[i] = arm.tilt_gain[1] * slope / RAD;
    }
    /* less the second order, which the budget keeps as a bound: tau^2 / 4 is 0.0044 degrees here */
    near(30 + turn[1] - turn[0], 29.87336760, 0.0044, "seen angle");
}
END_TEST

START_TEST(opposite_views_have_opposite_tilt_gains)
{
    struct vision_plane plane = plain_plane(0);
    struct budget_question q = example(&plane);
    struct vision_arm left = {0}, right = {0};
    budget_make(&q, &left);
    q.camera_mm[0] = -q.camera_mm[0];
    budget_make(&q, &right);
    near(left.tilt_gain[1], -right.tilt_gain[1], 1e-12, "gain");
    ck_assert(fabs(left.tilt_gain[1]) > 0.2);
}
END_TEST

/* Seen along the arm, a slope along it lies in the line of sight and turns nothing. */
START_TEST(a_view_along_the_arm_is_blind_to_tilt)
{
    struct vision_plane plane = plain_plane(0);
    struct budget_question q = example(&plane);
    struct vision_arm arm = {0};
    q.camera_mm[0] = 0;
    q.camera_mm[1] = 150;
    budget_make(&q, &arm);
    near(hypot(arm.tilt_gain[0], arm.tilt_gain[1]), 0, 1e-12, "gain");
}
END_TEST

/* A line as reference that lies as the arm does shares card and tilt with it. */
START_TEST(what_arm_and_reference_line_share_cancels)
{
    struct vision_plane plane = plain_plane(10 * 0.2 * RAD);
    struct budget_question q = example(&plane);
    struct vision_arm arm = {0};
    q.line_reference = true;
    q.line_deg = 90;
    q.line_u_deg = 0.03;
    q.line_dof = 12;
    budget_make(&q, &arm);
    near(line_of(&arm, VISION_TERM_PLANE)->u_deg, 0, 1e-9, "plane");
    near(line_of(&arm, VISION_TERM_TILT)->u_deg, 0.4 * 0.4 * RAD / 4, 1e-9, "tilt");
    near(line_of(&arm, VISION_TERM_REFERENCE)->u_deg, 0.03, 1e-12, "line");
    ck_assert_int_eq(arm.budget_count, 8);
    ck_assert_int_le(arm.budget_count, VISION_MAX_BUDGET);
}
END_TEST

/* What knowing the lens takes away and what stays make up the whole. */
START_TEST(the_lens_term_is_what_knowing_k1_takes_away)
{
    struct vision_plane plane = plain_plane(0);
    enum { N = VISION_PLANE_UNKNOWNS };
    double gradient[N] = {0, 0.1, 0, 0, 0, 0, 0, 0, 0.5}, known, lens;
    const double u1 = 0.02, u8 = 0.04, r = -0.6;
    plane.cov[1 * N + 1] = u1 * u1;
    plane.cov[8 * N + 8] = u8 * u8;
    plane.cov[1 * N + 8] = plane.cov[8 * N + 1] = r * u1 * u8;
    plane_gradient_u(&plane, gradient, &known, &lens);
    double a = 0.1 * u1, b = 0.5 * u8;
    near(hypot(known, lens) * RAD, sqrt(a * a + b * b + 2 * r * a * b), 1e-12, "whole");
    near(known * RAD, a * sqrt(1 - r * r), 1e-12, "with k1 known");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("budget");
    TCase *t = tcase_create("terms");
    tcase_add_test(t, the_worked_example_of_the_method_page_is_what_the_program_computes);
    tcase_add_test(t, each_term_is_its_formula);
    tcase_add_test(t, tilt_gain_is_what_the_rays_do);
    tcase_add_test(t, tilt_gain_agrees_with_an_outside_figure);
    tcase_add_test(t, opposite_views_have_opposite_tilt_gains);
    tcase_add_test(t, a_view_along_the_arm_is_blind_to_tilt);
    tcase_add_test(t, what_arm_and_reference_line_share_cancels);
    tcase_add_test(t, the_lens_term_is_what_knowing_k1_takes_away);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
