/* Numbers typed on the command line: taken whole or refused. */
#include "arithmetic/number.h"
#include "check_main.h"

static const struct {
    const char *text;
    double value;
} good[] = {{"0", 0},    {"-1.5", -1.5}, {"+2", 2},    {"90", 90},
            {".5", 0.5}, {"1e-3", 1e-3}, {"1E2", 100}, {"007", 7}};

static const char *const bad[] = {"",      " ",    " 1",  "1 ",  "1,5", "nan",    "NaN",
                                  "inf",   "-inf", "0x1", "1e",  "--1", "1.2.3",  "e",
                                  "1e999", "+",    ".",   "ten", "1\n", "\u22121"};

#define COUNT(array) (sizeof(array) / sizeof *(array))

START_TEST(numbers_are_read)
{
    double value = NAN;
    ck_assert_msg(number_parse(good[_i].text, &value), "\"%s\" was refused", good[_i].text);
    assert_near(value, good[_i].value, 0);
}
END_TEST

START_TEST(anything_else_is_refused)
{
    double value = 7;
    ck_assert_msg(!number_parse(bad[_i], &value), "\"%s\" was taken", bad[_i]);
    assert_near(value, 7, 0);
}
END_TEST

/* What stands behind it is for the caller. */
START_TEST(a_number_at_the_start_is_taken)
{
    static const struct {
        const char *text, *rest;
        double value;
    } rows[] = {
        {" -3.25deg", "deg", -3.25},
        {"3x0.35", "x0.35", 3},
        {"12 mm", " mm", 12},
        {"1e1", "", 10},
        {"1ex", "ex", 1},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        const char *text = rows[i].text;
        double value = NAN;
        ck_assert_msg(number_take(&text, &value), "\"%s\" was refused", rows[i].text);
        assert_near(value, rows[i].value, 0);
        ck_assert_str_eq(text, rows[i].rest);
    }
    const char *hexadecimal = "0x1mm", *same = hexadecimal;
    double value = 7;
    ck_assert(!number_take(&same, &value) && same == hexadecimal && value == 7);
}
END_TEST

START_TEST(whole_numbers_keep_to_their_range)
{
    int n = 7;
    ck_assert(number_parse_whole("25", 2, 200, &n) && n == 25);
    ck_assert(!number_parse_whole("1", 2, 200, &n));
    ck_assert(!number_parse_whole("201", 2, 200, &n));
    ck_assert(!number_parse_whole("24.5", 2, 200, &n));
    ck_assert(!number_parse_whole("-25", 2, 200, &n));
    ck_assert_int_eq(n, 25);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("number");
    TCase *t = tcase_create("number");
    tcase_add_loop_test(t, numbers_are_read, 0, COUNT(good));
    tcase_add_loop_test(t, anything_else_is_refused, 0, COUNT(bad));
    tcase_add_test(t, a_number_at_the_start_is_taken);
    tcase_add_test(t, whole_numbers_keep_to_their_range);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
