/* Text from outside, made fit to show. */
#include "base/clean_text.h"
#include "base/text_end.h"
#include "check_main.h"

#include <stdio.h>
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

/* Lengths of sequences after The Unicode Standard, table 3-6: 1, 2, 3 and 4 bytes. */
START_TEST(text_is_cut_between_characters)
{
    static const char text[] = "aé€🚁z"; /* whole at 0, 1, 3, 6, 10 and 11 */
    static const int whole[] = {0, 1, 1, 3, 3, 3, 6, 6, 6, 6, 10, 11, 11};
    for (size_t most = 0; most < sizeof whole / sizeof whole[0]; most++) {
        char buffer[32], *full = NULL;
        ck_assert_int_eq(text_cut(text, most), whole[most]);
        /* what a small buffer holds of it ends there, too */
        snprintf(buffer, most + 1, "%s", text);
        buffer[text_cut(buffer, sizeof buffer)] = '\0';
        ck_assert_uint_eq(strlen(buffer), (size_t)whole[most]);
        ck_assert(text_is_utf8(buffer));
        ck_assert_int_gt(asprintf(&full, "%.*s", text_cut(text, most), text), -1);
        ck_assert_str_eq(full, buffer);
        free(full);
    }
}
END_TEST

/* Bytes that are no characters have no whole ones to keep. */
START_TEST(what_is_no_text_is_cut_where_asked)
{
    ck_assert_int_eq(text_cut("\x80\x80\x80\x80\x80\x80", 5), 5);
    ck_assert_int_eq(text_cut("ab\x80\x80", 4), 4);
    ck_assert_int_eq(text_cut("", 5), 0);
}
END_TEST

START_TEST(text_that_is_not_whole_is_none)
{
    char *text = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    fprintf(to, "%d of %d", 3, 7);
    ck_assert_str_eq(text_end(to, &text), "3 of 7");
    to = fopen("/dev/full", "w");
    fputs("3 of", to);
    ck_assert_ptr_null(text_end(to, &text));
    ck_assert_ptr_null(text);
    ck_assert_ptr_null(text_end(NULL, &text));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("clean_text");
    TCase *t = tcase_create("text");
    tcase_add_test(t, text_is_made_fit_to_show);
    tcase_add_test(t, what_is_utf8_need_not_be_clean);
    tcase_add_test(t, text_is_cut_between_characters);
    tcase_add_test(t, what_is_no_text_is_cut_where_asked);
    tcase_add_test(t, text_that_is_not_whole_is_none);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
