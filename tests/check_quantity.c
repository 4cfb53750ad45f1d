/* Numbers as a person writes them, and what their uncertainty makes of others. */
#include "arithmetic/quantity.h"
#include "check_main.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

static const struct {
    const char *text;
    enum quantity_kind kind;
    double value, u;
} written[] = {
    {"12", QUANTITY_LENGTH, 12, 0},
    {" 12.5 mm ", QUANTITY_LENGTH, 12.5, 0},
    {"0.5 in", QUANTITY_LENGTH, 12.7, 0},            /* 25.4 mm exactly */
    {"1 inch u 0.1 mm", QUANTITY_LENGTH, 25.4, 0.1}, /* a unit of its own behind u */
    {"-3.25deg", QUANTITY_ANGLE, -3.25, 0},
    {"91.3u0.2", QUANTITY_ANGLE, 91.3, 0.2},
    {"90 deg +- 0.5", QUANTITY_ANGLE, 90, 0.288675134594813}, /* 0.5/sqrt 3 */
    {"90 U 0.98", QUANTITY_ANGLE, 90, 0.500009},              /* k = 1.95996 */
    {"90 ° ± 0.98 °", QUANTITY_ANGLE, 90, 0.500009},          /* as printed */
    {"-90.0 ± 0.98 degrees", QUANTITY_ANGLE, -90, 0.500009},
    /* one unit behind both is of both, as printed (plus_minus.h; common practice, no source) */
    {"0.5 ± 0.01 in", QUANTITY_LENGTH, 12.7, 0.129594},
    {"0.5U0.01inch", QUANTITY_LENGTH, 12.7, 0.129594},
    {"0.5 u 0.01 in", QUANTITY_LENGTH, 12.7, 0.254},
    {"0.5 +- 0.01 in", QUANTITY_LENGTH, 12.7, 0.146647}, /* 0.254/sqrt 3 */
    {"0.5 in ± 0.01", QUANTITY_LENGTH, 12.7, 0.129594},
    {"12.7 mm ± 0.01 in", QUANTITY_LENGTH, 12.7, 0.129594},
    {"2.9±0.98 mm", QUANTITY_LENGTH, 2.9, 0.500009},
    {"75 %", QUANTITY_PERCENT, 75, 0},
    {"-.5", QUANTITY_NUMBER, -0.5, 0},
};

START_TEST(quantities_are_read_as_written)
{
    struct quantity read;
    ck_assert_int_eq(quantity_parse(written[_i].text, written[_i].kind, &read), QUANTITY_FINE);
    assert_near(read.value, written[_i].value, 1e-12);
    assert_near(read.u, written[_i].u, 1e-6);
}
END_TEST

static const struct {
    const char *text;
    enum quantity_fault fault;
} miswritten[] = {
    {"", QUANTITY_NO_NUMBER},
    {"mm", QUANTITY_NO_NUMBER},
    {"nan", QUANTITY_NO_NUMBER},
    {"inf", QUANTITY_NO_NUMBER},
    {"0x12", QUANTITY_NO_NUMBER},
    {"1e999", QUANTITY_NO_NUMBER},
    {"--3", QUANTITY_NO_NUMBER},
    {"12 deg", QUANTITY_WRONG_UNIT},
    {"12 mm long", QUANTITY_WRONG_UNIT},
    {"12 13", QUANTITY_WRONG_UNIT},
    {"0,4", QUANTITY_COMMA},
    {"-51,0 u 0.2", QUANTITY_COMMA},
    {"12 mm u 0,1", QUANTITY_COMMA},
    {"12, 13", QUANTITY_WRONG_UNIT},
    {"12 u", QUANTITY_BAD_UNCERTAINTY},
    {"12 u -1", QUANTITY_BAD_UNCERTAINTY},
    {"12 +- x", QUANTITY_BAD_UNCERTAINTY},
    {"12 u 1e308", QUANTITY_WIDE_UNCERTAINTY}, /* its square overflows */
    {"12 in u 40 in", QUANTITY_WIDE_UNCERTAINTY},
};

START_TEST(miswritten_quantities_are_refused)
{
    struct quantity read = {42, 42};
    ck_assert_msg(quantity_parse(miswritten[_i].text, QUANTITY_LENGTH, &read) ==
                      miswritten[_i].fault,
                  "%s", miswritten[_i].text);
    assert_near(read.value, 42, 0);
    ck_assert_str_ne(quantity_fault_says(miswritten[_i].fault), "");
}
END_TEST

static double ratio(const double *v, const void *unused)
{
    (void)unused;
    return v[0] / v[1];
}

/* u of a quotient of independent numbers: relative uncertainties add in squares (GUM 5.1.6). */
START_TEST(carried_uncertainty_of_a_quotient)
{
    const struct quantity inputs[] = {{120, 0.6}, {40, 0.1}};
    struct quantity out = quantity_carry(ratio, inputs, 2, NULL);
    assert_near(out.value, 3, 1e-12);
    assert_relative(out.u, 3 * hypot(0.6 / 120, 0.1 / 40), 1e-5);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("quantity");
    TCase *t = tcase_create("quantity");
    tcase_add_loop_test(t, quantities_are_read_as_written, 0, COUNT(written));
    tcase_add_loop_test(t, miswritten_quantities_are_refused, 0, COUNT(miswritten));
    tcase_add_test(t, carried_uncertainty_of_a_quotient);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
