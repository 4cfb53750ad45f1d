/* Text from outside, made fit to show. */
#include "base/clean_text.h"
#include "check_main.h"

#include <stdlib.h>
#include <string.h>

/* Well-formed and ill-formed sequences after The Unicode Standard, table 3-7. */
START_TEST(text_is_made_fit_to_show)
{
    static const char *const rows[][2] = {
        {"rudder.jpg", "rudder.jpg"},
        {"Höhe \xe2\x82\xac \xf0\x9f\x9a\x81", "Höhe \xe2\x82\xac \xf0\x9f\x9a\x81"},
        {"a\nb\tc\x1b[31m", "a?b?c?[31m"},
        {"\xc2\x9b"
         "31m",
         "?31m"},                     /* C1 control CSI */
        {"\xff\xc0\xaf", "???"},      /* never valid; overlong */
        {"\xed\xa0\x80", "???"},      /* surrogate */
        {"\xf4\x90\x80\x80", "????"}, /* beyond U+10FFFF */
        {"ab\xe2\x82", "ab??"},       /* cut off */
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char *clean = clean_text(rows[i][0]);
        ck_assert_str_eq(clean, rows[i][1]);
        ck_assert(text_is_clean(clean));
        ck_assert_int_eq(text_is_clean(rows[i][0]), strcmp(rows[i][0], clean) == 0);
        free(clean);
    }
}
END_TEST

/* Controls are well-formed, yet not fit to show. */
START_TEST(what_is_utf8_need_not_be_clean)
{
    ck_assert(text_is_utf8("a\nb\x1b\xc2\x9b"));
    ck_assert(!text_is_clean("a\nb"));
    ck_assert(!text_is_utf8("\xed\xa0\x80"));
    ck_assert(!text_is_utf8("ab\xe2\x82"));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("clean_text");
    TCase *t = tcase_create("text");
    tcase_add_test(t, text_is_made_fit_to_show);
    tcase_add_test(t, what_is_utf8_need_not_be_clean);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
