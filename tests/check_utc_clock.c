/* Times as text, and the one that documents can be made again with. */
#include "base/exit_status.h"
#include "base/utc_clock.h"
#include "check_main.h"
#include "lens/lens_profile.h"

#include <string.h>

/* The seconds are those of "date -u -d @N". */
static const struct {
    const char *epoch, *text;
} sound[] = {
    {"0", "1970-01-01T00:00:00Z"},
    {"951782400", "2000-02-29T00:00:00Z"},
    {"253402300799", "9999-12-31T23:59:59Z"},
};

START_TEST(documents_can_be_given_a_time)
{
    char text[UTC_TEXT];
    ck_assert_int_eq(setenv("SOURCE_DATE_EPOCH", sound[_i].epoch, 1), 0);
    ck_assert_int_eq(utc_check_epoch(), EXIT_DONE);
    utc_now_text(text);
    ck_assert_str_eq(text, sound[_i].text);
}
END_TEST

static const char *const faults[] = {"abc", "-5000000000000", "253402300800",        "1e9", "1.5",
                                     " 1",  "0x10",           "99999999999999999999"};

START_TEST(what_is_no_time_is_refused_and_not_used)
{
    char text[UTC_TEXT];
    ck_assert_int_eq(setenv("SOURCE_DATE_EPOCH", faults[_i], 1), 0);
    ck_assert_int_eq(utc_check_epoch(), EXIT_USAGE);
    utc_now_text(text);
    ck_assert_msg(strncmp(text, "20", 2) == 0, "%s made it %s", faults[_i], text);
}
END_TEST

START_TEST(an_empty_one_is_none)
{
    ck_assert_int_eq(setenv("SOURCE_DATE_EPOCH", "", 1), 0);
    ck_assert_int_eq(utc_check_epoch(), EXIT_DONE);
    ck_assert_int_eq(unsetenv("SOURCE_DATE_EPOCH"), 0);
    ck_assert_int_eq(utc_check_epoch(), EXIT_DONE);
}
END_TEST

START_TEST(years_have_four_digits)
{
    char text[UTC_TEXT] = "as it was";
    ck_assert(!utc_text(-1, text));
    ck_assert(!utc_text(253402300800, text));
    ck_assert_str_eq(text, "as it was");
}
END_TEST

/* Dates that the Gregorian calendar lacks (ISO 8601-1:2019, 4.2.1), other forms of that standard,
 * and what runs past a buffer that is taken to hold a time. */
static const char *const no_times[] = {
    "",
    "x",
    "2026-03-01",
    "2026-03-01 14:05:00Z",
    "2026-03-01T14:05:00",
    "2026-03-01T14:05:00+00:00",
    "2026-03-01T14:05:00Zx",
    " 2026-03-01T14:05:00Z",
    "2026-3-01T14:05:00Z",
    "2026-02-29T14:05:00Z",
    "2026-13-01T14:05:00Z",
    "2026-03-01T24:05:00Z",
    "2026-03-01T14:05:60Z",
    "1969-12-31T23:59:59Z",
};

START_TEST(only_what_it_writes_is_a_time)
{
    char text[UTC_SHOWN];
    for (size_t i = 0; i < sizeof sound / sizeof sound[0]; i++)
        ck_assert(utc_is_text(sound[i].text));
    for (size_t i = 0; i < sizeof no_times / sizeof no_times[0]; i++) {
        ck_assert_msg(!utc_is_text(no_times[i]), "\"%s\"", no_times[i]);
        ck_assert_str_eq(utc_shown(no_times[i], text), no_times[i]);
    }
    ck_assert_str_eq(utc_shown("2000-02-29T14:05:59Z", text), "2000-02-29 14:05 UTC");
}
END_TEST

START_TEST(lens_profiles_go_by_the_same_clock)
{
    struct vision_photo_info photo = {0};
    struct vision_lens_fit fit = {0};
    struct lens_profile profile;
    ck_assert_int_eq(setenv("SOURCE_DATE_EPOCH", sound[1].epoch, 1), 0);
    lens_profile_make(&photo, &fit, 8, &profile);
    ck_assert_str_eq(profile.made, sound[1].text);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("utc_clock");
    TCase *t = tcase_create("text");
    tcase_add_loop_test(t, documents_can_be_given_a_time, 0, (int)(sizeof sound / sizeof *sound));
    tcase_add_loop_test(t, what_is_no_time_is_refused_and_not_used, 0,
                        (int)(sizeof faults / sizeof *faults));
    tcase_add_test(t, an_empty_one_is_none);
    tcase_add_test(t, years_have_four_digits);
    tcase_add_test(t, only_what_it_writes_is_a_time);
    tcase_add_test(t, lens_profiles_go_by_the_same_clock);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
