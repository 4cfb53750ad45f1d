/* The four-bar against a general numeric solver: the GNU Scientific Library's multidimensional root
 * finder works on the bare loop closure and knows nothing of Freudenstein. */
#include "check_main.h"
#include "linkage/fourbar.h"

#include <gsl/gsl_multiroots.h>
#include <gsl/gsl_vector.h>

#define TRIALS 5000

struct loop {
    double a, b, c, d, horn_rad;
};

/* Unknowns: link and crank angle. Residuals: where the two ways round the loop part. */
static int closure(const gsl_vector *x, void *params, gsl_vector *f)
{
    const struct loop *l = params;
    double t3 = gsl_vector_get(x, 0), t4 = gsl_vector_get(x, 1);
    gsl_vector_set(f, 0, l->a * cos(l->horn_rad) + l->b * cos(t3) - l->d - l->c * cos(t4));
    gsl_vector_set(f, 1, l->a * sin(l->horn_rad) + l->b * sin(t3) - l->c * sin(t4));
    return GSL_SUCCESS;
}

/* Newton-like steps from a start up to a tenth of a radian away. false when it did not settle. */
static int referee(struct loop *loop, double start3, double start4, double *t3, double *t4)
{
    gsl_multiroot_function f = {closure, 2, loop};
    gsl_vector *x = gsl_vector_alloc(2);
    gsl_vector_set(x, 0, start3);
    gsl_vector_set(x, 1, start4);
    gsl_multiroot_fsolver *solver = gsl_multiroot_fsolver_alloc(gsl_multiroot_fsolver_hybrids, 2);
    gsl_multiroot_fsolver_set(solver, &f, x);
    int status = GSL_CONTINUE;
    for (int i = 0; i < 200 && status == GSL_CONTINUE; i++) {
        if (gsl_multiroot_fsolver_iterate(solver))
            break;
        status = gsl_multiroot_test_residual(solver->f, 1e-10);
    }
    *t3 = gsl_vector_get(solver->x, 0);
    *t4 = gsl_vector_get(solver->x, 1);
    gsl_multiroot_fsolver_free(solver);
    gsl_vector_free(x);
    return status == GSL_SUCCESS;
}

static double between(double low, double high)
{
    return low + (high - low) * (rand() / (double)RAND_MAX);
}

START_TEST(agrees_with_a_general_root_finder)
{
    srand(7);
    int compared = 0;
    for (int trial = 0; trial < TRIALS; trial++) {
        struct loop loop = {between(5, 40), between(20, 150), between(5, 40), between(20, 150),
                            between(-M_PI, M_PI)};
        struct fourbar mech;
        struct fourbar_pose poses[2];
        if (fourbar_init(&mech, loop.a, loop.b, loop.c, loop.d) != FOURBAR_OK ||
            fourbar_solve(&mech, loop.horn_rad, poses) != FOURBAR_OK ||
            poses[0].transmission_rad < 0.2) /* the two roots would lie in one basin */
            continue;
        for (int i = 0; i < 2; i++) {
            double t3, t4;
            if (!referee(&loop, poses[i].link_rad + between(-0.05, 0.05),
                         poses[i].crank_rad + between(-0.05, 0.05), &t3, &t4))
                continue;
            assert_near(remainder(t3 - poses[i].link_rad, 2 * M_PI), 0, 1e-8);
            assert_near(remainder(t4 - poses[i].crank_rad, 2 * M_PI), 0, 1e-8);
            compared++;
        }
    }
    ck_assert_int_gt(compared, 1000); /* the referee really played */
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("fourbar referee");
    TCase *tc = tcase_create("referee");
    tcase_add_test(tc, agrees_with_a_general_root_finder);
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
