/* Words on the command line that are wrong: every command says what, in one sentence of its own. */
#include "check_main.h"
#include "program.h"

#include <stdio.h>
#include <string.h>

/* What stands before the wrong word, so that it is the first thing wrong. */
static const char *const commands[] = {
    "card", "measure", "advise", "trim-scale", "lens", "read", "linkage solve", "linkage turns",
};

static void check_refused(const char *words, const char *says)
{
    static struct run run;
    run_program(words, &run);
    ck_assert_msg(run.status == 2, "%s: exit status %d", words, run.status);
    ck_assert_msg(run_says_one_sentence(&run), "%s: %s", words, run.err);
    ck_assert_msg(strstr(run.err, says) != NULL, "%s: %s", words, run.err);
    ck_assert_str_eq(run.out, "");
}

static void check_word(const char *command, const char *word, const char *says)
{
    char words[200], wanted[200];
    snprintf(words, sizeof words, "%s %s", command, word);
    check_refused(words, says);
    snprintf(wanted, sizeof wanted, "\"armsquare %s --help\"", command);
    check_refused(words, wanted);
}

START_TEST(an_unknown_option_is_named)
{
    const char *command = commands[_i];
    check_word(command, "--nonsense", "there is no option \"--nonsense\"");
    check_word(command, "--nonsense=3", "there is no option \"--nonsense=3\"");
    check_word(command, "-x", "there is no option \"-x\"");
    if (strcmp(command, "linkage turns") == 0) /* its numbers may begin with "-": no bundles */
        return;
    check_word(command, "-xyz.jpg", "there is no option \"-x\"");
    check_word(command, "word -xyz.jpg", "there is no option \"-x\"");
    check_word(command, "-\xc3\xa4", "there is no option \"-\xc3\xa4\"");
}
END_TEST

START_TEST(a_missing_word_is_asked_for)
{
    static const char *const rows[][2] = {{"card", "-o"},
                                          {"card", "--paper"},
                                          {"measure", "-o"},
                                          {"measure", "--tilt"},
                                          {"advise", "--teeth"},
                                          {"trim-scale", "--use"},
                                          {"lens", "-o"},
                                          {"lens", "--bars"},
                                          {"linkage solve", "-o"},
                                          {"linkage solve", "--horn"},
                                          {"linkage turns", "--arm"},
                                          {"linkage turns", "-o"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char says[80];
        snprintf(says, sizeof says, "%s wants a value after it", rows[i][1]);
        check_word(rows[i][0], rows[i][1], says);
    }
}
END_TEST

START_TEST(a_word_too_many_is_told)
{
    static const char *const with_json[] = {"card", "measure", "advise",        "trim-scale",
                                            "lens", "read",    "linkage solve", "linkage turns"};
    for (size_t i = 0; i < sizeof with_json / sizeof with_json[0]; i++) {
        char words[80];
        snprintf(words, sizeof words, "%s --json=yes", with_json[i]);
        check_refused(words, "--json takes no word after it");
    }
}
END_TEST

/* Of two values the one would be left out in silence; after -o, whose name getopt_long() does not
 * tell, too. */
START_TEST(an_option_given_twice_is_refused)
{
    static const char *const rows[][2] = {
        {"card --dpi 99 -o a.png --output b.png", "--output is given twice; give it once."},
        {"measure --tolerance 1 --tilt 1 --tolerance 2 a.jpg", "--tolerance is given twice"},
        {"measure -o a.png -o b.png a.jpg", "--output is given twice"},
        {"lens --json -o a.json -o b.json a.jpg", "--output is given twice"},
        {"job report a.job -o a.pdf -o b.pdf", "--output is given twice"},
        {"job new a.job --model A --model B", "--model is given twice"},
        {"linkage solve --horn 12 -o a.svg --horn 13", "--horn is given twice"},
        {"advise --teeth 24 --teeth 25", "--teeth is given twice"},
        {"trim-scale 90@0 91@10 --u 0.1 --u 0.5", "--u is given twice"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        check_refused(rows[i][0], rows[i][1]);
}
END_TEST

/* "linkage --help" lists modes; the words of a description stand in "linkage solve --help". */
START_TEST(an_unknown_word_of_a_description_leads_to_the_right_help)
{
    static struct run run;
    run_program("linkage solve '" TEST_DATA "/README.md'", &run); /* prose */
    ck_assert_int_eq(run.status, 3);
    ck_assert_msg(strstr(run.err, "\"armsquare linkage solve --help\" shows them") != NULL, "%s",
                  run.err);
}
END_TEST

/* All commands take what a person writes by one rule. */
START_TEST(a_decimal_comma_is_named)
{
    check_refused("measure --tolerance 0,4 a.jpg",
                  "\"0,4\" is written with a decimal comma; use a point");
    check_refused("advise --deviation 6,8 --teeth 25", "decimal comma");
    check_refused("advise --deviation 6.8 --u 0,1 --teeth 25", "decimal comma");
    check_refused("trim-scale 90,2@0 94.9@10", "\"90,2\" is written with a decimal comma");
    check_refused("trim-scale 90.2@0 94.9@1,5", "\"1,5\" is written with a decimal comma");
    check_refused("linkage turns 91,8 --arm 15", "decimal comma");
    check_refused("linkage turns 91.8 --arm 15,2", "decimal comma");
    check_refused("linkage solve --horn 12,5", "decimal comma");
}
END_TEST

/* "±" of such a number would be too long for its place, or infinite. */
START_TEST(an_uncertainty_without_bounds_is_refused)
{
    static const char *const says = "has an uncertainty too large to tell anything";
    check_refused("advise --deviation 1u1e308 --teeth 25", says);
    check_refused("advise --deviation 1 --teeth 25 --scale 0.45u300", says);
    check_refused("advise --arms 1,90u46 --teeth 25", says);
    check_refused("trim-scale 90u1e200@0 94@10 86@-10", says);
    check_refused("linkage turns 91u1e308 --arm 15", says);
    check_refused("linkage turns 91.8 --arm 15u1e308", says);
    check_refused("linkage angle 90u99:91.8 --arm 15", says);
    check_refused("linkage pair 58u1e5 58", says);
}
END_TEST

/* A folder, a wrong name: the same sentence whatever the command. */
START_TEST(a_photo_that_cannot_be_opened_is_explained_alike)
{
    static const char *const around[][2] = {{"measure --no-picture ", ""},
                                            {"advise ", " --teeth 25"},
                                            {"trim-scale ", "@0 9@9"},
                                            {"linkage turns ", " --arm 15"},
                                            {"linkage parallel 90 ", ":B"}};
    for (size_t i = 0; i < sizeof around / sizeof around[0]; i++) {
        for (int folder = 0; folder < 2; folder++) {
            static struct run run;
            char words[200];
            snprintf(words, sizeof words, "%s%s%s", around[i][0], folder ? "/tmp" : "absent.jpg",
                     around[i][1]);
            run_program(words, &run);
            ck_assert_msg(run.status == 3 && run_says_one_sentence(&run), "%s: %s", words, run.err);
            ck_assert_msg(strstr(run.err, folder ? "This is a folder; name the photos in it."
                                                 : "There is no such file; check its name"),
                          "%s: %s", words, run.err);
        }
    }
}
END_TEST

/* Names and lines of files come from anywhere: a terminal obeys what follows an escape. */
START_TEST(a_message_shows_words_from_outside_clean)
{
    static const char *const rows[] = {
        "job status \"$(printf '\\033[31mred.job')\"",
        "measure -o \"$(printf '\\033[31mred.pdf')\" a.jpg",
        "measure --no-picture \"$(printf '\\033[31mred.jpg')\"",
        "advise --teeth 25 \"$(printf '\\033[31mred.jpg')\"",
        "lens \"$(printf '\\033[31mred.jpg')\" \"$(printf '\\302\\23331mred.jpg')\"",
        "\"$(printf '\\033[31mred')\"",
        "linkage solve \"$(printf '\\033[31mred 3\\n' >r; echo r)\" 2>err; s=$?; rm r; exit $s #",
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        static struct run run;
        run_program(rows[i], &run);
        ck_assert_msg(run.status > 0 && strstr(run.err, "31mred"), "%s: %s", rows[i], run.err);
        ck_assert_msg(!strchr(run.err, '\033') && !strstr(run.err, "\302\233"), "%s", rows[i]);
    }
}
END_TEST

/* Every command that can answer without a photo, and the help of all. */
START_TEST(an_answer_that_cannot_be_written_is_trouble)
{
    static const char *const rows[] = {
        "--help",
        "--version",
        "card --list",
        "card --list --json",
        "advise --deviation 6.8u0.1 --teeth 25",
        "advise --deviation 6.8u0.1 --teeth 25 --json",
        "advise --deviation 6.8u0.1 --teeth 25 --all --arms 4 --json", /* more than a buffer */
        "advise --help",
        "trim-scale 90@0 94.5@10 85.5@-10 --u 0.1",
        "trim-scale 90@0 94.5@10 85.5@-10 --u 0.1 --json",
        "linkage level 0.8",
        "linkage level 0.8 --json",
        "linkage turns 91.8 --arm 15",
        "linkage solve --horn 12 --along 58 --arm 15",
        "linkage solve --horn 12 --along 58 --arm 15 --json",
        "read --help",
        "measure --help",
        "lens --help",
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        static struct run run;
        char words[400];
        snprintf(words, sizeof words, "%s >/dev/full 2>err #", rows[i]);
        run_program(words, &run);
        ck_assert_msg(run.status == 1, "%s: exit status %d", rows[i], run.status);
        ck_assert_msg(run_says_one_sentence(&run) && strstr(run.err, "could not be written"),
                      "%s: %s", rows[i], run.err);
    }
}
END_TEST

/* The same with a picture that carries a measurement. */
START_TEST(a_measurement_read_back_that_cannot_be_written_is_trouble)
{
    static struct run run;
    char words[400];
    snprintf(words, sizeof words,
             "measure -o p.png '" TEST_DATA "/dunlin-rudder.jpg' >/dev/null; '%s' read p.png "
             ">/dev/full 2>err; status=$?; rm p.png; exit $status #",
             PROGRAM);
    run_program(words, &run);
    ck_assert_int_eq(run.status, 1);
    ck_assert_msg(run_says_one_sentence(&run), "%s", run.err);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("usage");
    TCase *t = tcase_create("words");
    tcase_add_loop_test(t, an_unknown_option_is_named, 0,
                        (int)(sizeof commands / sizeof commands[0]));
    tcase_add_test(t, a_missing_word_is_asked_for);
    tcase_add_test(t, a_word_too_many_is_told);
    tcase_add_test(t, an_option_given_twice_is_refused);
    tcase_add_test(t, an_unknown_word_of_a_description_leads_to_the_right_help);
    tcase_add_test(t, a_decimal_comma_is_named);
    tcase_add_test(t, an_uncertainty_without_bounds_is_refused);
    tcase_add_test(t, a_photo_that_cannot_be_opened_is_explained_alike);
    tcase_add_test(t, a_message_shows_words_from_outside_clean);
    tcase_add_test(t, an_answer_that_cannot_be_written_is_trouble);
    tcase_add_test(t, a_measurement_read_back_that_cannot_be_written_is_trouble);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
