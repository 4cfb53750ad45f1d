/* src/result/reasons.c: every reason has a sentence of its own that says what to do. */
#include "check_main.h"
#include "result/reasons.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

START_TEST(every_reason_says_what_is_wrong_and_what_to_do)
{
    for (int i = VISION_REASON_NONE + 1; i < VISION_REASON_COUNT; i++) {
        const char *sentence = reason_sentence((enum vision_reason)i);
        const char *code = vision_reason_code((enum vision_reason)i);
        ck_assert_msg(sentence && *sentence, "%s has no sentence", code);
        size_t length = strlen(sentence);
        ck_assert_msg(isupper((unsigned char)sentence[0]) && sentence[length - 1] == '.', "%s: %s",
                      code, sentence);
        /* what is wrong; what to do */
        const char *middle = strstr(sentence, "; ");
        ck_assert_msg(middle && strstr(middle + 1, "; ") == NULL, "%s: %s", code, sentence);
        ck_assert_msg(length <= 160, "%s is too long to read at the bench: %zu", code, length);
        for (int j = VISION_REASON_NONE + 1; j < i; j++)
            ck_assert_str_ne(sentence, reason_sentence((enum vision_reason)j));
    }
}
END_TEST

/* A sentence that wants points says by which option they are given. */
START_TEST(who_is_to_point_learns_how)
{
    static const enum vision_reason pointing[] = {VISION_NO_ARM, VISION_UNSURE_HUB,
                                                  VISION_TWO_PARTS};
    for (size_t i = 0; i < sizeof pointing / sizeof pointing[0]; i++)
        ck_assert_ptr_nonnull(strstr(reason_sentence(pointing[i]), "--arm X,Y,X,Y"));
    for (int i = VISION_REASON_NONE + 1; i < VISION_REASON_COUNT; i++)
        ck_assert_ptr_null(strstr(reason_sentence((enum vision_reason)i), "point at hub"));
}
END_TEST

/* What usually keeps a card from being found: from too far, in the dark, face down, mirrored. */
START_TEST(a_missing_card_names_its_usual_causes)
{
    static const char *const causes[] = {"closer", "light", "glare", "printed side", "mirrored"};
    for (size_t i = 0; i < sizeof causes / sizeof causes[0]; i++)
        ck_assert_ptr_nonnull(strstr(reason_sentence(VISION_NO_CARD), causes[i]));
}
END_TEST

/* Neither a printer without colour nor a grey photo is mended by light. */
START_TEST(a_face_that_cannot_be_told_is_not_blamed_on_light_alone)
{
    static const char *const causes[] = {
        "dark", "bright", "unevenly", "without colour", "printed in colour", "colour photo"};
    for (size_t i = 0; i < sizeof causes / sizeof causes[0]; i++)
        ck_assert_ptr_nonnull(strstr(reason_sentence(VISION_BAD_LIGHT), causes[i]));
}
END_TEST

/* Closer is no way out where the card fills the photo. */
START_TEST(a_short_arm_is_told_more_than_to_go_closer)
{
    ck_assert_ptr_nonnull(strstr(reason_sentence(VISION_SHORT_ARM), "smaller card"));
    ck_assert_ptr_nonnull(strstr(reason_sentence(VISION_SHORT_ARM), "ball link off"));
}
END_TEST

/* The limit named is the one that holds. */
START_TEST(a_huge_photo_is_told_the_limit)
{
    char limit[40];
    snprintf(limit, sizeof limit, "%g megapixels or fewer", VISION_MAX_PIXELS / 1e6);
    ck_assert_ptr_nonnull(strstr(reason_sentence(VISION_HUGE_PHOTO), limit));
}
END_TEST

/* Photos without any part end there too: it must not claim to see something. */
START_TEST(no_arm_claims_no_part)
{
    ck_assert_ptr_null(strstr(reason_sentence(VISION_NO_ARM), "omething lies"));
}
END_TEST

START_TEST(no_reason_has_no_sentence)
{
    ck_assert_str_eq(reason_sentence(VISION_REASON_NONE), "");
    ck_assert_str_eq(reason_sentence(VISION_REASON_COUNT), "");
    ck_assert_str_eq(reason_sentence((enum vision_reason) - 1), "");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("reasons");
    TCase *tcase = tcase_create("sentences");
    tcase_add_test(tcase, every_reason_says_what_is_wrong_and_what_to_do);
    tcase_add_test(tcase, who_is_to_point_learns_how);
    tcase_add_test(tcase, a_missing_card_names_its_usual_causes);
    tcase_add_test(tcase, a_face_that_cannot_be_told_is_not_blamed_on_light_alone);
    tcase_add_test(tcase, a_short_arm_is_told_more_than_to_go_closer);
    tcase_add_test(tcase, a_huge_photo_is_told_the_limit);
    tcase_add_test(tcase, no_arm_claims_no_part);
    tcase_add_test(tcase, no_reason_has_no_sentence);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
