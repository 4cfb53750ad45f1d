/* "armsquare advise" and "armsquare trim-scale" as a person runs them. */
#include "check_main.h"
#include "flat_scene.h"
#include "program.h"

#include <jansson.h>
#include <string.h>
#include <unistd.h>

static struct run run;

/* Line breaks fall where they may: runs of blanks and newlines become one blank. */
static void unwrap(char *text)
{
    char *to = text;
    for (const char *from = text; *from; from++) {
        bool blank = *from == ' ' || *from == '\n';
        if (!blank || (to > text && to[-1] != ' '))
            *to++ = blank ? ' ' : *from;
    }
    *to = '\0';
}

static void assert_says(const char *arguments, const char *expected)
{
    run_program(arguments, &run);
    ck_assert_msg(run.status == 0, "%s: exit %d, %s", arguments, run.status, run.err);
    unwrap(run.out);
    ck_assert_msg(strstr(run.out, expected), "%s does not say \"%s\" but\n%s", arguments, expected,
                  run.out);
}

static json_t *json_of(const char *arguments)
{
    run_program(arguments, &run);
    ck_assert_msg(run.status == 0, "%s: exit %d, %s", arguments, run.status, run.err);
    json_error_t error;
    json_t *json = json_loads(run.out, 0, &error);
    ck_assert_msg(json, "%s: %s in\n%s", arguments, error.text, run.out);
    return json;
}

static double number_at(json_t *json, const char *object, const char *key)
{
    json_t *value = json_object_get(object ? json_object_get(json, object) : json, key);
    ck_assert_msg(json_is_number(value), "no number \"%s\"", key);
    return json_number_value(value);
}

static const char *text_at(json_t *json, const char *object, const char *key)
{
    const char *text =
        json_string_value(json_object_get(object ? json_object_get(json, object) : json, key));
    ck_assert_msg(text, "no text \"%s\"", key);
    return text;
}

/* ---- advise */

/* Sentences as a person meets them; the numbers are worked out by hand from 14.4 degrees a tooth.
 */
static const struct {
    const char *arguments, *expected;
} sayings[] = {
    {"--deviation 14.5u0.05 --teeth 25", "turn it 1 tooth clockwise as seen in the photo"},
    {"--deviation -14.5u0.05 --teeth 25", "turn it 1 tooth counter-clockwise"},
    {"--deviation 14.5u0.05 --teeth 25", "That leaves 0.1 ± 0.1 degrees counter-clockwise"},
    {"--deviation 0.2u0.1 --teeth 25", "Leave the horn as it is."},
    {"--deviation 0.2u0.1 --teeth 25", "within the tolerance of"},
    {"--deviation 0.2u0.1 --teeth 25", "No sub-trim is needed."},
    {"--deviation 0.2 --teeth 25", "Write it behind the number, such as 6.8u0.1"},
    {"--deviation 6.8 --teeth 25",
     "That is not to be judged against a tolerance of 0.5 without an uncertainty."},
    {"--deviation 6.8 --teeth 25", "The horn is taken to have one arm."},
    {"--deviation 0 --teeth 25",
     "DO THIS 1. Leave the horn as it is. 2. No sub-trim is needed. NOTE"},
    {"--deviation 0.04 --teeth 25", "No sub-trim is needed."},
    {"--deviation -0.06 --teeth 25", "move the arm 0.1 degrees counter-clockwise"},
    {"--deviation 0.04u0.005 --teeth 25 --tolerance 0.01", "move the arm 0.04 degrees clockwise"},
    {"--deviation 3.26u0.02 --teeth 25", "lies 3.26 ± 0.04 degrees"},
    {"--deviation 3.26u0.2 --teeth 25", "lies 3.3 ± 0.4 degrees"},
    {"--deviation 0.2 --u 0.1 --teeth 25", "0.2 ± 0.2 degrees"},
    /* 0.4 + 0.2 would not be within 0.5 */
    {"--deviation 0.37u0.0541 --teeth 25", "lies 0.37 ± 0.11 degrees counter-clockwise"},
    /* rounded as measure does it (check_measure_words.c) */
    {"--deviation 3.26U1.62 --teeth 25", "lies 3.3 ± 1.6 degrees"},
    {"--deviation 3.26U1.661 --teeth 25", "lies 3.3 ± 1.7 degrees"},
    {"--deviation 0.9u0.05 --teeth 25 --scale 0.45u0.005", "Change sub-trim by -2 %"},
    {"--deviation 0.9u0.05 --teeth 25 --scale 0.45u0.005",
     "the arm must move clockwise (if it does not, use +2 %)"},
    {"--deviation -0.9u0.05 --teeth 25 --scale 0.45u0.005",
     "the arm must move counter-clockwise (if it does not, use -2 %)"},
    {"--deviation 0.9u0.05 --teeth 25 --scale -0.45u0.005", "Change sub-trim by +2 %"},
    {"--deviation 0.9u0.05 --teeth 25 --deg-per-us 0.09 --us-per-percent 5",
     "Change sub-trim by -2 %"},
    {"--deviation 0.9u0.05 --teeth 25 --deg-per-us 0.09 --us-per-percent -5",
     "Change sub-trim by +2 %"},
    {"--deviation 0.9u0.05 --teeth 25 --scale 0.45 --step 0.5", "by -2 %"},
    {"--deviation 1.1u0.05 --teeth 25 --scale 0.45 --step 0.5 --limit 3", "by -2.5 %"},
    {"--deviation 6u0.05 --teeth 25 --scale 0.45", "sub-trim would take -13 %, more than 2 %"},
    {"--deviation 14.5u0.05 --teeth 25 --scale 0.45", "Sub-trim alone would take -32 %"},
    {"--deviation 0.9u0.05 --teeth 25", "move the arm 0.9 degrees clockwise"},
    {"--deviation 0.9u0.05 --teeth 25", "trim-scale"},
    /* 2 % at 0.6 degrees each, which is much for a servo, are 1.2 */
    {"--deviation 1.1u0.1 --teeth 25", "2. Sub-trim would have to move the arm 1.1 degrees"},
    {"--arms 97.0u0.1 --teeth 24 --turn-over 86.0",
     "2. Check that the servo is centred (neutral, no sub-trim). If it is, another horn may come "
     "nearer: sub-trim would have to move the arm 4.0 degrees counter-clockwise, and on most "
     "servos 2 % move it no more than 1.2."},
    {"--deviation 3.1u0.1 --teeth 25 --json", "\"kind\": \"no scale\""},
    /* 2 % of 0.6 degrees are 1.2 and just do */
    {"--deviation 1.2u0.1 --teeth 24",
     "2. Sub-trim would have to move the arm 1.2 degrees clockwise."},
    {"--deviation 1.21u0.1 --teeth 24", "move the arm 1.21 degrees clockwise, and on most servos"},
    /* what is not ordered is no percent to set */
    {"--deviation 0.3U0.1 --teeth 25 --scale 0.45U0.01 --json",
     "\"kind\": \"not needed\", \"percent\": 0.0, \"exact_percent\": -0.6666666667, "
     "\"remains_deg\": 0.3,"},
    {"--deviation 6u0.05 --teeth 25 --scale 0.45 --json",
     "\"kind\": \"over limit\", \"percent\": 0.0, \"exact_percent\": -13.33333333, "
     "\"remains_deg\": 6.0,"},
    /* half a tooth of 25 is 7.2; 2 % of the 3 degrees that a percent turns at most are 6 */
    {"--deviation 7.3u0.1 --teeth 25", "the 7.3 degrees that remain are more than sub-trim should"},
    {"--deviation 7.3u0.1 --teeth 25 --json", "\"kind\": \"over limit\", \"percent\": null"},
    {"--deviation 1.2u0.05 --teeth 24 --scale 0.6",
     "That leaves 0.0 degrees off square, not to be judged against a tolerance of 0.5 without an "
     "uncertainty of the scale."},
    {"--deviation 1.0u0.1 --teeth 25 --scale 0.45u0.01 --step 0.1",
     "Change sub-trim by -2 %: the arm must move clockwise (if it does not, use +2 %). That leaves "
     "0.1 ± 0.2 degrees"},
    {"--arms 97,277 --u 0.1 --teeth 25 --target 0", "Arm B lies 83.0 ± 0.2 degrees clockwise of "
                                                    "the wanted 0.0 degrees"},
    {"--deviation 0.3u0.2 --teeth 25", "no more than the measurement may be wrong"},
    {"--deviation 0.2u0.05 --teeth 25 --tolerance 0.1 --scale 0.45",
     "less than half a step of 1 %"},
    {"--deviation 3.6u0.05 --teeth 25 --arms 4", "measure first, arm D"},
    {"--deviation 3.6u0.05 --teeth 25 --arms 4", "arm D in place of arm A"},
    {"--deviation 3.6u0.05 --teeth 25 --arms 4", "100 places, 3.60 degrees apart"},
    {"--deviation 3.6u0.05 --teeth 24 --arms 4", "same 24 places"},
    /* the deviation is that of the arm in use, by whatever letter it goes: hand arithmetic. From
     * where arm C is wanted D lies at 95, A at 185, B at -85; 6 teeth are 86.4, 7 are 100.8, 13 are
     * 187.2: B leaves 1.4, A -2.2, D -5.8 and C 5 */
    {"--deviation 0.2u0.1 --teeth 25 --arms 4 --use B",
     "Arm B lies 0.2 ± 0.2 degrees counter-clockwise of square. That is within the tolerance of "
     "0.5. DO THIS 1. Leave the horn as it is. 2. No sub-trim"},
    {"--deviation 5u0.1 --teeth 25 --arms 4 --use c",
     "Arm C lies 5.0 ± 0.2 degrees counter-clockwise of square. That is outside"},
    {"--deviation 5u0.1 --teeth 25 --arms 4 --use C",
     "turn it 6 teeth counter-clockwise as seen in the photo (86.4 degrees) and press it back on. "
     "Use arm B in place of arm C, pointing the same way. That leaves about 1.4 degrees counter-"},
    {"--deviation 5u0.1 --teeth 25 --arms 4 --use C --json",
     "\"name\": \"C\", \"angle_deg\": null, "
     "\"u_deg\": 0.1, \"assumed\": false"},
    {"--arms 93.6,180 --u 0.05 --teeth 25 --use B", "Arm B lies 0.0 ± 0.1 degrees off square"},
    {"--arms 93.6,180.4 --u 0.05 --teeth 25 --target 75", "of the wanted 75.0 degrees"},
    {"--arms 93.6,180.4 --u 0.05 --teeth 25 --target 183", "Arm B lies 2.6"},
    {"--arms 93.6,180 --u 0.05 --teeth 25", "Arm A is taken as the one in use"},
    {"--arms 97,187,277,7.0 --u 0.05 --teeth 25", "Arm A lies 7.0 ± 0.1 degrees"},
    /* one number, one rounding: 0.96 and 0.461 would be outside */
    {"--arms 89.042U0.461 --teeth 24", "2. Sub-trim would have to move the arm 0.958 degrees"},
    /* as measure and job have it: no tooth, whose way hangs on which square is meant */
    {"--arms 133.0 --u 0.05 --teeth 25",
     "Arm A lies 43.0 ± 0.1 degrees counter-clockwise of square. That is nearly half way between "
     "two squares. DO THIS Change nothing yet: say which square is meant with --target 90 or 180, "
     "or bring arm A near it by eye and measure again. NOTE"},
    {"--arms 47.0 --teeth 25 --json", "\"sub_trim_action\": \"No sub-trim yet: say first which"},
    {"--arms 133.0 --u 0.05 --teeth 25 --target 180", "DO THIS 1. Lift the horn, turn it 3 teeth"},
    {"--deviation 43u0.1 --teeth 25", "DO THIS 1. Lift the horn, turn it 3 teeth clockwise"},
    /* 176 is far from 0, and 4 degrees from square */
    {"--arms 86,176,266,356 --u 0.1 --teeth 25 --use B --target 0",
     "NOTE - Arm B lies far from the wanted 0.0 degrees; if it is only "
     "to stand square, leave out --target. - "},
    /* 1.96 hypot(1, 0.05) = 1.96 */
    {"--arms 90.2u0.05 --target 90u1 --teeth 25",
     "0.2 ± 2.0 degrees counter-clockwise of the wanted 90.0 degrees. That is too close to call"},
    {"--arms 96.0 --u 0.05 --teeth 25 --turn-over allowed", "and add --turn-over PHOTO."},
    /* 2 degrees off square as measure tells it, or nearly along the reference */
    {"--arms 96.0 --u 0.05 --teeth 25 --turn-over 2U0.3",
     "If 2 is how far arm A was off square then, give the photo instead"},
    {"--arms 96.0 --u 0.05 --teeth 25 --turn-over 104.5",
     "turned over, 1 tooth clockwise as seen in the photo"},
    {"--arms 96.0 --u 0.05 --teeth 25 --turn-over 90.1", "on the tooth where you read it"},
    {"--arms 96.0,270 --u 0.05 --teeth 25", "Rotor blades and propeller off"},
    {"--arms 359.0,270 --u 0.05 --teeth 25", "Arm A lies 1.0 ± 0.1 degrees clockwise"},
    {"--arms -1,270 --u 0.05 --teeth 25", "Arm A lies 1.0 ± 0.1 degrees clockwise"},
    {"--help", "armsquare advise --deviation"},
    {"--help", "91.3±0.2, as this program"},
};

START_TEST(advise_says_what_to_do)
{
    char arguments[512];
    snprintf(arguments, sizeof arguments, "advise %s", sayings[_i].arguments);
    assert_says(arguments, sayings[_i].expected);
}
END_TEST

/* docs/measure.md: an unsure answer gives its number and its reason but orders no turn. The photo's
 * "±" of 5.6 degrees leaves open which tooth; by the truth beside it 2 teeth are right. */
START_TEST(advise_orders_nothing_of_an_unsure_photo)
{
    assert_says("advise '" PHOTOS_FOLDER "/tune-22-single-grey.jpg' --teeth 25 --scale 0.45",
                "Arm A seems to lie 26.6");
    assert_says(
        "advise '" PHOTOS_FOLDER "/tune-22-single-grey.jpg' --teeth 25 --scale 0.45",
        "DO THIS Change nothing yet, for the photo is unsure: photograph the same arm again");
    ck_assert_msg(!strstr(run.out, "1.") || strstr(run.out, "1.") > strstr(run.out, "NOTE"), "%s",
                  run.out);
    ck_assert_msg(!strstr(run.out, "Lift") && !strstr(run.out, "tooth") && !strstr(run.out, "by "),
                  "%s", run.out);
    json_t *json = json_of("advise '" PHOTOS_FOLDER "/tune-22-single-grey.jpg' --teeth 25 --json");
    ck_assert_str_eq(text_at(json, NULL, "status"), "unsure");
    ck_assert_ptr_nonnull(strstr(text_at(json, "best", "action"), "Change nothing yet"));
    json_decref(json);
}
END_TEST

/* Remaining degrees under each other from the first row to the last. */
START_TEST(advise_keeps_its_columns)
{
    run_program("advise --arms 97.3,187.1,277.0 --u 0.1 --teeth 25 --scale 0.45 --all", &run);
    ck_assert_int_eq(run.status, 0);
    int rows = 0;
    size_t column = 0;
    for (char *line = strtok(run.out, "\n"); line; line = strtok(NULL, "\n")) {
        const char *arm = strstr(line, "  arm "), *percent = strstr(line, " %");
        if (!arm || !percent || strspn(line, " 0123456789") != (size_t)(arm + 2 - line))
            continue;
        if (rows++ > 0)
            ck_assert_msg((size_t)(percent - line) == column, "%s", line);
        column = (size_t)(percent - line);
    }
    ck_assert_int_gt(rows, 70);
}
END_TEST

START_TEST(advise_takes_the_number_of_arms_as_told)
{
    static const char *const told[] = {"--deviation 6.8 --arms 1", "--deviation 6.8 --arms 4",
                                       "--arms 96.8"};
    for (size_t i = 0; i < sizeof told / sizeof told[0]; i++) {
        char arguments[100];
        snprintf(arguments, sizeof arguments, "advise %s --teeth 25", told[i]);
        run_program(arguments, &run);
        ck_assert_int_eq(run.status, 0);
        ck_assert_msg(!strstr(run.out, "taken to have"), "%s: %s", arguments, run.out);
    }
}
END_TEST

START_TEST(advise_answers_in_json)
{
    json_t *json = json_of("advise --arms 97.5,181.5,270.4,2.0 --u 0.05 --teeth 25 "
                           "--scale 0.8u0.01 --json");
    ck_assert_str_eq(text_at(json, NULL, "status"), "ok");
    ck_assert_str_eq(text_at(json, NULL, "arm"), "A");
    assert_near(number_at(json, NULL, "teeth"), 25, 0);
    assert_near(number_at(json, NULL, "wanted_deg"), 90, 0);
    assert_near(number_at(json, "now", "remains_deg"), 7.5, 1e-9);
    ck_assert_str_eq(text_at(json, "now", "decision"), "reject");
    ck_assert_str_eq(text_at(json, "best", "arm"), "D");
    ck_assert_str_eq(text_at(json, "now", "action"),
                     "Leave the horn as it is; another position comes nearer.");
    assert_near(number_at(json, "best", "teeth"), 6, 0);
    assert_near(number_at(json, "best", "turn_deg"), 86.4, 1e-9);
    assert_near(number_at(json, "best", "remains_deg"), -1.6, 1e-9);
    json_t *trim = json_object_get(json_object_get(json, "best"), "sub_trim");
    assert_near(json_number_value(json_object_get(trim, "percent")), 2, 0);
    ck_assert_str_eq(json_string_value(json_object_get(trim, "kind")), "use");
    ck_assert_uint_eq(json_array_size(json_object_get(json, "others")), 3);
    ck_assert_uint_eq(json_array_size(json_object_get(json, "cautions")), 2);
    json_decref(json);
}
END_TEST

START_TEST(advise_lists_every_position_when_asked)
{
    json_t *json = json_of("advise --arms 97.5,181.5,270.4 --teeth 23 --turn-over 80 --all --json");
    ck_assert_uint_eq(json_array_size(json_object_get(json, "others")), 3 * 23 * 2 - 1);
    ck_assert(json_is_null(json_object_get(json_object_get(json, "now"), "u_deg")));
    ck_assert_str_eq(text_at(json, "now", "decision"), "cannot tell");
    json_decref(json);
}
END_TEST

/* 11.3 and 1.0 are printed as "11.3 ± 1.0 degrees"; given back, that is what they are. */
START_TEST(advise_takes_back_what_it_printed)
{
    static const char *const rows[][3] = {
        {"11.3 ± 1.0 degrees", "11.3 ± 1.0 degrees", "1.0000"},
        {"11.3±1", "11.3 ± 1.0 degrees", "1.0000"},
        {"11.3U1.0", "11.3 ± 1.0 degrees", "1.0000"},
        {"11.3+-1.0", "11.3 ± 1.1 degrees", "1.1316"}, /* 1.95996 / sqrt 3 */
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char arguments[200], expanded[20];
        snprintf(arguments, sizeof arguments, "advise --deviation '%s' --teeth 25", rows[i][0]);
        assert_says(arguments, rows[i][1]);
        snprintf(arguments, sizeof arguments, "advise --deviation '%s' --teeth 25 --json",
                 rows[i][0]);
        json_t *json = json_of(arguments);
        snprintf(expanded, sizeof expanded, "%.4f",
                 json_real_value(json_object_get(json_object_get(json, "now"), "expanded_deg")));
        ck_assert_str_eq(expanded, rows[i][2]);
        json_decref(json);
    }
}
END_TEST

START_TEST(advise_gives_no_angles_it_was_not_given)
{
    json_t *json = json_of("advise --deviation 3 --teeth 25 --json");
    ck_assert(json_is_null(json_object_get(json, "wanted_deg")));
    ck_assert(json_is_null(json_object_get(json, "scale")));
    json_decref(json);
}
END_TEST

/* ---- trim-scale */

START_TEST(trim_scale_says_how_far_and_which_way)
{
    assert_says("trim-scale 90@0 94.5@10 85.5@-10 --u 0.1", "0.450 ± 0.014 degrees");
    assert_says("trim-scale 90@0 94.5@10 85.5@-10 --u 0.1", "counter-clockwise as seen");
    assert_says("trim-scale 90@0 94.5@10 85.5@-10 --u 0.1", "--scale 0.450U0.014");
    assert_says("trim-scale 90@0 85.5@10 94.5@-10 --u 0.1", "turns it clockwise as seen");
    assert_says("trim-scale 90@0 85.5@10 94.5@-10 --u 0.1", "--scale -0.450U0.014");
    assert_says("trim-scale 2.5@0 -2.1@-10 7@10%", "counter-clockwise as seen");
    assert_says("trim-scale -2@0 -7@-10 3.1@10", "lies 2.0");
    assert_says("trim-scale 90@0 95@10", "nothing checks");
    assert_says("trim-scale 90@0 95@10", "CHECK IT FIRST (NOTE)");
    assert_says("trim-scale 90u0.1@0 95@10", "write it behind each number, such as 95u0.1");
    assert_says("trim-scale 90@0 95@10", "(off the line: + is counter-clockwise, - clockwise)");
    assert_says("trim-scale 90@0 94.5@10 85.5@-10 90.6@0 --u 0.1", "backlash");
    assert_says("trim-scale 90@0 90.9@2 89.2@-2 --u 0.2", "only roughly known");
    assert_says("trim-scale --help", "PHOTO@PERCENT");
    /* what "measure" says of the same photo (docs/measure.md, "The answer") */
    assert_says("advise --teeth 25 '" PHOTOS_FOLDER "/tune-111-slotted-black-matt.jpg'",
                "3. Measure again: three photos with measure --together; or set it nearer, "
                "clockwise.");
    /* 0.455 degrees a percent swapped, and 50 microseconds that are some 10 percent; what most
     * servos turn is common practice, no source */
    assert_says("trim-scale 0@90.3 10@94.9 -10@85.8 --u 0.1", "CHECK IT FIRST (NOTE)");
    assert_says("trim-scale 0@90.3 10@94.9 -10@85.8 --u 0.1", "Were angle and percent swapped,");
    assert_says("trim-scale 90@90 94.5@100 85.5@80 --u 0.1", "settings lie far from 0 %");
    ck_assert_ptr_null(strstr(run.out, "At 0 %"));
    assert_says("trim-scale 90.3@0 94.9@50 85.8@-50 --u 0.1", "microseconds given for percent");
    assert_says("trim-scale 90@0 94.5@10 85.5@-10 --u 0.1", "USE IT armsquare advise");
    ck_assert_ptr_null(strstr(run.out, "NOTE"));
}
END_TEST

/* Not a line: a stop at one end, at both, and a servo that turns less and less. The slope near 0 is
 * 0.5 in all of them and the line's own U holds it in none. Play scatters as well, and is none. */
START_TEST(trim_scale_of_a_bend_is_not_for_use)
{
    static const struct {
        const char *arguments, *says;
    } rows[] = {
        {"90.2@0 94@10 99@20 102@30 102.5@40 102.6@50 --u 0.1", "From 30 % on the arm no longer"},
        {"90.2@0 94@10 99@20 102@30 102.5@40 102.6@50", "From 30 % on the arm no longer"},
        {"90@0 95@10 90@0 85@-10 85.1@-20 85@-30 --u 0.1", "From -10 % on the arm no longer"},
        {"85.2@-20 85@-10 90@0 95@10 95.1@20 --u 0.1", "From 10 % on the arm no longer"},
        {"85.2@-20 85@-10 90@0 95@10 95.1@20 --u 0.1", "From -10 % on the arm no longer"},
        {"90@0 95@10 99.5@20 103.5@30 107@40 --u 0.1", "lie on a curve, not on a line"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char words[200];
        snprintf(words, sizeof words, "trim-scale %s", rows[i].arguments);
        assert_says(words, rows[i].says);
        ck_assert_msg(strstr(run.out, "DO NOT USE IT YET") != NULL, "%s", words);
        ck_assert_msg(strstr(run.out, "advise PHOTO") == NULL, "%s", words);
        ck_assert_msg(strstr(run.out, "lies far from the line") == NULL, "%s", words);
        snprintf(words, sizeof words, "trim-scale %s --json", rows[i].arguments);
        assert_says(words, "\"status\": \"unsure\"");
    }
    assert_says("trim-scale 90@0 95@10 100@20 95.6@10 90.6@0 85.6@-10 --u 0.1", "USE IT");
    assert_says("trim-scale 90@0 94.5@10 85.5@-10 90.6@0 --u 0.1", "USE IT");
}
END_TEST

/* What it prints to be used is understood where it is to be used. */
/* By the truth beside the photos: two arms and four, and arms of 27 and of 15 mm. */
START_TEST(trim_scale_of_two_parts_is_not_for_use)
{
    static const char *const rows[] = {
        "trim-scale '" PHOTOS_FOLDER "/dunlin-rudder.jpg'@0 " PHOTOS_FOLDER
        "/tune-12-cross-white.jpg@10",
        "trim-scale 97.4u0.1@5 '" PHOTOS_FOLDER "/tune-96-double-black-gloss.jpg'@0 " PHOTOS_FOLDER
        "/tune-102-double-brushed.jpg@-5",
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char arguments[1024];
        assert_says(rows[i], "DO NOT USE IT YET");
        assert_says(rows[i], "show different parts, or an arm hidden in one of them");
        ck_assert_msg(!strstr(run.out, "--scale"), "%s", run.out);
        snprintf(arguments, sizeof arguments, "%s --json", rows[i]);
        json_t *json = json_of(arguments);
        ck_assert_str_eq(text_at(json, NULL, "status"), "unsure");
        json_decref(json);
    }
}
END_TEST

START_TEST(trim_scale_hands_over_to_advise)
{
    run_program("trim-scale 90@0 94.5@10 85.5@-10 --u 0.1", &run);
    const char *scale = strstr(run.out, "--scale ");
    ck_assert_ptr_nonnull(scale);
    char arguments[512];
    snprintf(arguments, sizeof arguments, "advise --deviation 0.9u0.05 --teeth 25 %.*s --json",
             (int)strcspn(scale, "\n"), scale);
    json_t *json = json_of(arguments);
    assert_near(number_at(json, "scale", "deg_per_percent"), 0.45, 1e-12);
    assert_near(number_at(json, "scale", "u"), 0.1 / sqrt(200), 2e-4);
    json_decref(json);
}
END_TEST

/* What stands behind an option is the option's, whatever is in it. */
START_TEST(a_word_of_an_option_is_no_reading)
{
    run_program("trim-scale 90@0 95@10 --lens my@1", &run);
    ck_assert_int_eq(run.status, 3);
    ck_assert_msg(strstr(run.err, "\"my@1\" cannot be read"), "%s", run.err);
    run_program("trim-scale 90@0 --lens=my@1 95@10", &run);
    ck_assert_msg(strstr(run.err, "\"my@1\" cannot be read"), "%s", run.err);
    assert_says("trim-scale --u 0.1 -5@-10 0@0 -- 5@10", "0.5");
}
END_TEST

START_TEST(trim_scale_answers_in_json)
{
    json_t *json = json_of("trim-scale 359.5@0 4@10 355@-10 359.5@0 --json");
    assert_near(number_at(json, NULL, "deg_per_percent"), 0.45, 1e-9);
    assert_near(number_at(json, NULL, "dof"), 2, 0);
    assert_near(number_at(json, NULL, "angle_at_0_deg"), 359.5, 1e-9);
    assert_near(number_at(json, NULL, "backlash_deg"), 0, 1e-9);
    ck_assert_str_eq(text_at(json, NULL, "positive_percent_turns"), "counter-clockwise");
    ck_assert_uint_eq(json_array_size(json_object_get(json, "readings")), 4);
    json_decref(json);
}
END_TEST

/* ---- Photos */

/* The made-up photos have known angles; how exactly they are measured is judged elsewhere. */
static char folder[] = "/tmp/armsquare-advise-XXXXXX";
static const char *const photo_names[] = {"horn.jpg", "mid.jpg",    "up.jpg",
                                          "half.jpg", "turned.jpg", "bench.jpg"};
#define COUNT(array) (sizeof(array) / sizeof *(array))

static const char *in_folder(const char *name)
{
    static char path[100];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

static void keep_photo(const char *name, struct picture picture)
{
    struct bytes file = jpeg_encode(&picture, &(struct jpeg_settings){.h_samp = 2, .v_samp = 2});
    bytes_write(&file, in_folder(name));
    bytes_free(&file);
    picture_free(&picture);
}

/* A double horn; another one moved by sub-trim across the card's axis, so that its arms change
 * their names; one arm alone; no card. */
static void make_photos(void)
{
    const double here[] = {97.4, 276.5}, alone[] = {97.4};
    const double mid[] = {177.4, 357.5}, up[] = {181.9, 2.0}, half[] = {179.6, 359.7};
    ck_assert_ptr_nonnull(mkdtemp(folder));
    keep_photo("horn.jpg", flat_scene(here, 2));
    keep_photo("mid.jpg", flat_scene(mid, 2));
    keep_photo("up.jpg", flat_scene(up, 2));
    keep_photo("half.jpg", flat_scene(half, 2));
    keep_photo("turned.jpg", flat_scene(alone, 1));
    keep_photo("bench.jpg", flat_scene_bench());
}

static void remove_photos(void)
{
    for (size_t i = 0; i < COUNT(photo_names); i++)
        unlink(in_folder(photo_names[i]));
    rmdir(folder);
}

/* "... #/horn.jpg ..." with the folder in the place of #. */
static const char *with_folder(const char *words)
{
    static char command[1000];
    size_t at = 0;
    for (; *words && at + sizeof folder < sizeof command; words++) {
        if (words[0] == '#')
            at += (size_t)snprintf(command + at, sizeof command - at, "%s", folder);
        else
            command[at++] = *words;
    }
    command[at] = '\0';
    return command;
}

/* 14.4 degrees a tooth: A on the next one leaves 97.4 - 90 - 14.4 = -7.0; B turned by 13 = -12
 * teeth leaves 276.5 - 90 - 187.2 = -0.7. */
START_TEST(advise_takes_the_arms_from_a_photo)
{
    json_t *json = json_of(with_folder("advise #/horn.jpg --teeth 25 --json"));
    ck_assert_str_eq(text_at(json, NULL, "arm"), "A");
    assert_near(number_at(json, NULL, "wanted_deg"), 90, 0);
    assert_near(number_at(json, "now", "remains_deg"), 7.4, 0.3);
    ck_assert(number_at(json, "now", "u_deg") > 0);
    ck_assert_str_eq(text_at(json, "best", "arm"), "B");
    assert_near(number_at(json, "best", "teeth"), 12, 0);
    assert_near(number_at(json, "best", "remains_deg"), -0.7, 0.3);
    json_decref(json);
}
END_TEST

/* One photo, one answer: what "measure" says of a photo that cannot tell, "advise" says, too. */
START_TEST(advise_asks_for_the_photo_that_measure_asks_for)
{
    static const char *const photos[] = {"kept-127-single-black-matt",
                                         "tune-111-slotted-black-matt"};
    static const char *const both[] = {"A better photo would not settle it: ", "Measure again: "};
    char arguments[300], way[200];
    for (size_t i = 0; i < COUNT(photos); i++) {
        snprintf(arguments, sizeof arguments,
                 "measure --no-picture --tolerance 0.5 " PHOTOS_FOLDER "/%s.jpg", photos[i]);
        run_program(arguments, &run);
        const char *at = strstr(run.out, both[i]);
        ck_assert_msg(at, "%s: %s", photos[i], run.out);
        snprintf(way, sizeof way, "%.*s", (int)strcspn(at, ".\n"), at);
        snprintf(arguments, sizeof arguments, "measure --no-picture " PHOTOS_FOLDER "/%s.jpg",
                 photos[i]);
        assert_says(arguments, way);
        snprintf(arguments, sizeof arguments, "advise " PHOTOS_FOLDER "/%s.jpg --teeth 25",
                 photos[i]);
        assert_says(arguments, "That is too close to call against a tolerance of 0.5.");
        assert_says(arguments, strstr(way, "set it nearer") ? "Sub-trim would have to move" : way);
    }
}
END_TEST

/* Its arm at 97.4, and a tooth of 14.4 degrees, leave -7.0; B of two arms as above. */
START_TEST(advise_reads_the_horn_turned_over_from_its_photo)
{
    json_t *json = json_of(with_folder("advise --arms 103.0u0.1 --teeth 25 --json --turn-over "
                                       "#/turned.jpg"));
    ck_assert_str_eq(text_at(json, "best", "side"), "as it is");
    json_t *other = json_array_get(json_object_get(json, "others"), 0);
    assert_near(number_at(other, NULL, "remains_deg"), -7.0, 0.3);
    json_decref(json);
    json = json_of(with_folder("advise #/turned.jpg --teeth 25 --json --turn-over #/horn.jpg:b"));
    ck_assert_str_eq(text_at(json, "best", "side"), "turned over");
    assert_near(number_at(json, "best", "remains_deg"), -0.7, 0.3);
    json_decref(json);
    run_program(with_folder("advise #/turned.jpg --teeth 25 --turn-over #/horn.jpg"), &run);
    ck_assert_msg(run.status == 2 && strstr(run.err, "shows 2 arms"), "%s", run.err);
    run_program(with_folder("advise #/turned.jpg --teeth 25 --turn-over #/turned.jpg"), &run);
    ck_assert_msg(run.status == 2 && strstr(run.err, "another photo"), "%s", run.err);
}
END_TEST

START_TEST(advise_counts_arms_that_the_photo_does_not_show)
{
    json_t *json = json_of(with_folder("advise #/turned.jpg --teeth 25 --arms 4 --json"));
    ck_assert_uint_eq(json_array_size(json_object_get(json, "arms")), 4);
    json_decref(json);
    json = json_of(with_folder("advise #/horn.jpg --teeth 25 --arms 4 --json"));
    ck_assert_uint_eq(json_array_size(json_object_get(json, "arms")), 4);
    json_decref(json);
    run_program(with_folder("advise #/horn.jpg --teeth 25 --arms 3"), &run);
    ck_assert_int_eq(run.status, 2);
    ck_assert_msg(strstr(run.err, "do not lie as those of 3 evenly spaced ones"), "%s", run.err);
    run_program(with_folder("advise #/horn.jpg --teeth 25 --arms 4 --use C"), &run);
    ck_assert_msg(run.status == 3 && strstr(run.err, "it shows arms A to B"), "%s", run.err);
    assert_says("advise " PHOTOS_FOLDER "/tune-42-three-black-matt.jpg --teeth 25",
                "Only the 2 arms that the photo shows are weighed. If the horn has more, --arms 3");
}
END_TEST

START_TEST(advise_measures_against_another_reference_when_told)
{
    json_t *json = json_of(with_folder("advise #/horn.jpg --teeth 25 --json --reference points "
                                       "--hint 100,500,900,500"));
    assert_near(number_at(json, "now", "remains_deg"), 7.4, 0.3);
    ck_assert_str_eq(text_at(json, "reference", "kind"), "points");
    json_decref(json);
}
END_TEST

START_TEST(trim_scale_follows_one_arm_through_photos)
{
    const char *words = "trim-scale #/mid.jpg@0 #/up.jpg@10 #/half.jpg@5 --json";
    json_t *json = json_of(with_folder(words));
    assert_near(number_at(json, NULL, "deg_per_percent"), 0.45, 0.03);
    assert_near(number_at(json, NULL, "angle_at_0_deg"), 177.4, 0.3);
    json_decref(json);
    json = json_of(with_folder("trim-scale #/mid.jpg@0 #/up.jpg@10 #/half.jpg@5 --use b --json"));
    assert_near(number_at(json, NULL, "deg_per_percent"), 0.45, 0.03);
    assert_near(number_at(json, NULL, "angle_at_0_deg"), 357.5, 0.3);
    json_decref(json);
}
END_TEST

/* Latin-1 in a name is no UTF-8, which JSON is (RFC 8259, 8.1): shown with '?', never left out. */
START_TEST(a_name_that_is_no_utf_8_stays_in_the_answer)
{
    char odd[sizeof folder + 20];
    snprintf(odd, sizeof odd, "%s/x\xe9.jpg", folder);
    ck_assert_int_eq(symlink("mid.jpg", odd), 0);
    json_t *json =
        json_of(with_folder("trim-scale '#/x\xe9.jpg@0' #/up.jpg@10 #/half.jpg@5 --json"));
    json_t *readings = json_object_get(json, "readings");
    ck_assert_uint_eq(json_array_size(readings), 3);
    const char *name = json_string_value(json_object_get(json_array_get(readings, 0), "reading"));
    ck_assert_msg(name && strstr(name, "/x?.jpg@0"), "%s", name);
    json_decref(json);
    json = json_of(with_folder("advise '#/x\xe9.jpg' --teeth 25 --json"));
    ck_assert_ptr_nonnull(strstr(text_at(json, NULL, "photo"), "/x?.jpg"));
    json_decref(json);
    json = json_of("linkage angle 'a\xe9=45:47.2u0.1' --json");
    ck_assert_str_eq(text_at(json_array_get(json, 0), NULL, "name"), "a?");
    json_decref(json);
    unlink(odd);
}
END_TEST

static const struct {
    int status;
    const char *arguments;
} photo_refusals[] = {
    {3, "advise #/bench.jpg --teeth 25"},
    {3, "advise #/horn.jpg --teeth 25 --use C"},
    {3, "trim-scale #/horn.jpg@0 #/bench.jpg@10"},
    {3, "trim-scale #/horn.jpg@0 #/up.jpg@10"},
    {3, "trim-scale #/horn.jpg@0 #/up.jpg@10 --use C"},
    {2, "trim-scale #/horn.jpg@0 #/up.jpg@10 #/horn.jpg@0"},
};

START_TEST(photos_that_cannot_serve_are_refused_in_one_sentence)
{
    run_program(with_folder(photo_refusals[_i].arguments), &run);
    ck_assert_msg(run.status == photo_refusals[_i].status && run_says_one_sentence(&run),
                  "%s: exit %d, says\n%s", photo_refusals[_i].arguments, run.status, run.err);
    ck_assert_str_eq(run.out, "");
}
END_TEST

/* What a program reads where there is no answer, of a photo as from measure. */
START_TEST(a_photo_that_cannot_serve_is_answered_in_json)
{
    static const char *const rows[][2] = {
        {"advise #/bench.jpg --teeth 25 --json", "no-card"},
        {"trim-scale #/none.jpg@0 91@1 92@2 --json", "no-file"},
        {"trim-scale 90@0 90@10 --u 0.1 --json", NULL},
        {"trim-scale 90@0 94.5@10 87@-10 --u 0.1 --json", NULL},
        {"trim-scale #/horn.jpg@0 91@1 --use Z --json", NULL},
        {"advise #/horn.jpg --teeth 25 --use Z --json", NULL},
        {"read #/bench.jpg --json", NULL},
        {"read #/none.png --json", NULL},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        run_program(with_folder(rows[i][0]), &run);
        ck_assert_int_eq(run.status, 3);
        json_t *json = json_loads(run.out, 0, NULL);
        ck_assert_msg(json != NULL, "%s: %s", rows[i][0], run.out);
        ck_assert_str_eq(text_at(json, NULL, "status"), "failed");
        if (rows[i][1])
            ck_assert_str_eq(text_at(json, NULL, "reason"), rows[i][1]);
        ck_assert_msg(strstr(run.err, text_at(json, NULL, "message")) != NULL, "%s", run.out);
        json_decref(json);
    }
}
END_TEST

/* ---- Refusals */

static const struct {
    int status;
    const char *arguments;
} refusals[] = {
    {2, "advise"},
    {2, "advise --teeth 25"},
    {2, "advise --deviation 3"},
    {2, "advise --deviation 3 --teeth 0"},
    {2, "advise --deviation 3 --teeth -25"},
    {2, "advise --deviation 3 --teeth 24.5"},
    {2, "advise --deviation 3 --teeth 1"},
    {2, "advise --deviation 3 --teeth 100000000000"},
    {2, "advise --deviation 3 --teeth many"},
    {2, "advise --deviation 3 --teeth ''"},
    {2, "advise --deviation nan --teeth 25"},
    {2, "advise --deviation inf --teeth 25"},
    {2, "advise --deviation 45.1 --teeth 25"},
    {2, "advise --deviation -97 --teeth 25"},
    {2, "advise --deviation 3mm --teeth 25"},
    {2, "advise --deviation 3u-1 --teeth 25"},
    {2, "advise --deviation 3 --teeth 25 --u 0"},
    {2, "advise --deviation 3 --teeth 25 --u -1"},
    {2, "advise --deviation 3 --teeth 25 --u nan"},
    {2, "advise --deviation 3 --teeth 25 --teeth 24"},
    {2, "advise --deviation 3 --teeth 25 --arms 9"},
    {2, "advise --deviation 3 --teeth 25 --arms 0"},
    {2, "advise --deviation 3 --teeth 25 --arms 90,180"},
    {2, "advise --deviation 3 --teeth 25 --target 90"},
    {2, "advise --deviation 3 --teeth 25 --turn-over 90"},
    {2, "advise --deviation 3 --teeth 25 --turn-over maybe"},
    {2, "advise --deviation 3 --teeth 25 --scale 0"},
    {2, "advise --deviation 3 --teeth 25 --scale 0.4 --deg-per-us 0.1 --us-per-percent 5"},
    {2, "advise --deviation 3 --teeth 25 --deg-per-us 0.1"},
    {2, "advise --deviation 3 --teeth 25 --step 0"},
    {2, "advise --deviation 3 --teeth 25 --limit -1"},
    {2, "advise --deviation 3 --teeth 25 --tolerance -0.5"},
    {2, "advise --deviation 3 --teeth 25 --use C"},
    {2, "advise --deviation 3 --teeth"},
    {2, "advise --deviation 3 --teeth 25 --colour"},
    {2, "advise --arms 4 --teeth 25"},
    {2, "advise --arms '' --teeth 25"},
    {2, "advise --arms 90,,180 --teeth 25"},
    {2, "advise --arms 90,180, --teeth 25"},
    {2, "advise --arms 90,91 --teeth 25"},
    {2, "advise --arms 96.0,80.0 --teeth 25"}, /* 16 degrees apart */
    {2, "advise --arms 0.5,359.5 --teeth 25"},
    {2, "advise --arms 0,40,80,120,160,200,240,280,320 --teeth 25"},
    {2, "advise --arms 90,abc --teeth 25"},
    {2, "advise --arms 90,361 --teeth 25"},
    {2, "advise --arms 90.5 --teeth 25 --reference card"},
    {2, "advise --arms 90.5 --teeth 25 --tilt 1"},
    {2, "advise a.jpg --teeth 25 --reference edge"},
    {2, "advise a.jpg --teeth 25 --reference sky"},
    {2, "trim-scale a.jpg@0 b.jpg@10 --reference edge"},
    {2, "advise a.jpg b.jpg --teeth 25"},
    {2, "advise a.jpg --teeth 25 --deviation 3"},
    {2, "advise a.jpg --teeth 25 --arms 90,180"},
    {3, "advise missing.jpg --teeth 25"},
    {2, "trim-scale"},
    {2, "trim-scale 90@0"},
    {2, "trim-scale 90 91 92"},
    {2, "trim-scale 90@ 91@5"},
    {2, "trim-scale @0 91@5"},
    {2, "trim-scale 90@ten 91@5"},
    {2, "trim-scale 90@0 91@nan"},
    {2, "trim-scale 90@0 91@201"},
    {2, "trim-scale 361@0 91@5"},
    {2, "trim-scale 90@5 91@5 92@5"},
    {2, "trim-scale a.jpg@5 b.jpg@0 a.jpg@-5"},
    {2, "trim-scale 90@0 95@10 --u 0"},
    {2, "trim-scale 90@0 95@10 --use"},
    {2, "trim-scale 90@0 95@10 --fast"},
    {2, "trim-scale 90@0 95@10 word@"},
    {3, "trim-scale missing.jpg@0 also-missing.jpg@10"},
    {3, "trim-scale 90@0 90@10 90@-10"},
    {3, "trim-scale 90@0 90.1@10 89.9@-10 --u 0.2"},
    {3, "trim-scale 90@0 180@10 270@20"},
    {3, "trim-scale 90@0 95@0.001"},
};

/* What would change nothing is not what the person meant. */
static const struct {
    const char *arguments, *says;
} idle[] = {
    {"advise a.jpg --teeth 25 --u 3", "leave out --u"},
    {"advise --deviation 3 --teeth 25 --limit 4", "which takes --scale"},
    {"advise --deviation 3 --teeth 25 --step 0.5", "which takes --scale"},
    {"advise --deviation 3 --teeth 25 --lens none", "and --lens say how to read a photo"},
    {"trim-scale 90@0 91@10 --use B", "--use names an arm in a photo"},
    {"trim-scale 90@0 91@10 --tilt 1", "say how to read a photo"},
    {"trim-scale a.jpg@0 b.jpg@10 --u 0.1", "--u is for angles given as numbers"},
};

START_TEST(a_word_without_effect_is_refused)
{
    run_program(idle[_i].arguments, &run);
    ck_assert_msg(run.status == 2 && run_says_one_sentence(&run), "%s: %s", idle[_i].arguments,
                  run.err);
    ck_assert_msg(strstr(run.err, idle[_i].says) != NULL, "%s: %s", idle[_i].arguments, run.err);
}
END_TEST

/* Two arms at 96.8 and 187.1, or one of them whole, as a person writes them whose keyboard has a
 * decimal comma; two decimals, which make arms that lie too near to each other. */
START_TEST(a_decimal_comma_among_arms_is_no_further_arm)
{
    static const char *const lists[] = {"96,8,187,1", "96,8,187",       "96,187,1",
                                        "96,8",       "96,8u0,1,187,1", "96,85,187,12"};
    for (size_t i = 0; i < sizeof lists / sizeof lists[0]; i++) {
        char arguments[100];
        snprintf(arguments, sizeof arguments, "advise --arms '%s' --teeth 25 --u 0.1 --json",
                 lists[i]);
        run_program(arguments, &run);
        ck_assert_msg(run.status == 2 && !run.out[0], "%s: %d, %s", arguments, run.status, run.out);
        ck_assert_msg(strstr(run.err, "with a point") || strstr(run.err, "a point in each angle"),
                      "%s: %s", arguments, run.err);
    }
}
END_TEST

START_TEST(nonsense_is_refused_in_one_sentence)
{
    const char *arguments = refusals[_i].arguments;
    run_program(arguments, &run);
    ck_assert_msg(run.status == refusals[_i].status, "%s: exit %d, not %d; %s", arguments,
                  run.status, refusals[_i].status, run.err);
    ck_assert_msg(run_says_one_sentence(&run), "%s says\n%s", arguments, run.err);
    ck_assert_msg(run.out[0] == '\0', "%s answers\n%s", arguments, run.out);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("advise and trim-scale");
    TCase *t = tcase_create("program");
    tcase_add_loop_test(t, advise_says_what_to_do, 0, COUNT(sayings));
    tcase_add_test(t, advise_orders_nothing_of_an_unsure_photo);
    tcase_add_test(t, advise_keeps_its_columns);
    tcase_add_test(t, advise_takes_the_number_of_arms_as_told);
    tcase_add_test(t, advise_answers_in_json);
    tcase_add_test(t, advise_lists_every_position_when_asked);
    tcase_add_test(t, advise_takes_back_what_it_printed);
    tcase_add_test(t, advise_gives_no_angles_it_was_not_given);
    tcase_add_test(t, trim_scale_says_how_far_and_which_way);
    tcase_add_test(t, trim_scale_of_a_bend_is_not_for_use);
    tcase_add_test(t, trim_scale_of_two_parts_is_not_for_use);
    tcase_add_test(t, trim_scale_hands_over_to_advise);
    tcase_add_test(t, a_word_of_an_option_is_no_reading);
    tcase_add_test(t, trim_scale_answers_in_json);
    tcase_add_loop_test(t, a_word_without_effect_is_refused, 0, sizeof idle / sizeof *idle);
    tcase_add_test(t, a_decimal_comma_among_arms_is_no_further_arm);
    tcase_add_loop_test(t, nonsense_is_refused_in_one_sentence, 0, COUNT(refusals));
    tcase_set_timeout(t, 60);
    suite_add_tcase(suite, t);
    t = tcase_create("photos");
    tcase_add_unchecked_fixture(t, make_photos, remove_photos);
    tcase_add_test(t, advise_takes_the_arms_from_a_photo);
    tcase_add_test(t, advise_asks_for_the_photo_that_measure_asks_for);
    tcase_add_test(t, advise_reads_the_horn_turned_over_from_its_photo);
    tcase_add_test(t, advise_counts_arms_that_the_photo_does_not_show);
    tcase_add_test(t, advise_measures_against_another_reference_when_told);
    tcase_add_test(t, trim_scale_follows_one_arm_through_photos);
    tcase_add_test(t, a_name_that_is_no_utf_8_stays_in_the_answer);
    tcase_add_test(t, a_photo_that_cannot_serve_is_answered_in_json);
    tcase_add_loop_test(t, photos_that_cannot_serve_are_refused_in_one_sentence, 0,
                        COUNT(photo_refusals));
    tcase_set_timeout(t, 60);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
