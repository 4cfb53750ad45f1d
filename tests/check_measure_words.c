/* src/result/measure_words.c, src/result/measure_json.c: the answer as a person and as a program
 * read it. */
#include "arithmetic/decision.h"
#include "arithmetic/plus_minus.h"
#include "check_main.h"
#include "picture/picture_path.h"
#include "result/measure_json.h"
#include "result/measure_words.h"
#include "result/reasons.h"

#include <math.h>
#include <string.h>

/* 50 degrees of freedom: k = 2.01 (JCGM 100:2008, table G.2). */
static struct vision_arm arm_of(double deviation_deg, double u_deg)
{
    const double dof = 50;
    return (struct vision_arm){
        .name = "A",
        .angle_deg = 90 + deviation_deg,
        .deviation_deg = deviation_deg,
        .u_deg = u_deg,
        .length_mm = 15,
        .hub_px = {100.123456, 200},
        .tip_px = {300, 400.987654},
        .budget_count = 1,
        .budget = {{.name = "edge noise", .u_deg = u_deg, .type = 'A', .dof = dof}}};
}

static struct vision_result result_of(enum vision_status status, enum vision_reason reason,
                                      double deviation_deg, double u_deg)
{
    return (struct vision_result){.status = status,
                                  .reason = reason,
                                  .card = vision_card_by_name("hand-duo"),
                                  .px_per_mm = 12.34567,
                                  .obliquity_deg = 11,
                                  .arm_count = 1,
                                  .arms = {arm_of(deviation_deg, u_deg)}};
}

/* ---- Words -------------------------------------------------------------------------------- */

/* JCGM 100:2008, 7.2.6: an uncertainty with at most two significant digits and the value to the
 * same place; here one decimal, below 0.1 two. To the nearest, unless that takes more than 5 % off
 * the uncertainty, then up (EA-4/02 M:2022, 6.3; from memory). U = 2.01 u. */
START_TEST(numbers_have_the_decimals_that_the_uncertainty_carries)
{
    static const struct {
        double deviation_deg, u_deg;
        const char *deviation, *expanded;
    } rows[] = {
        {-2.94, 0.1, "2.9", "0.2"},
        {-2.94, 0.106, "2.9", "0.3"},
        {2.9449, 0.04, "2.94", "0.08"},
        {12.06, 0.6, "12.1", "1.2"},
        {0.004, 0.001, "0.00", "0.01"},
        {0.5, 0.046, "0.50", "0.09"},
        {0.5, 0.0465, "0.50", "0.09"},
        {0.5, 0.0476, "0.5", "0.1"},
        {0.5, 1.661 / 2.00856, "0.5", "1.7"},
        {0.5, 1.62 / 2.01, "0.5", "1.6"},
        {0.5, 5.628 / 2.00856, "0.5", "5.6"},
        {0.5, 12.743 / 2.01, "0.5", "12.7"},
        {0.5, 12.751 / 2.00856, "0.5", "12.8"},
        {0.5, 0.949 / 2.01, "0.5", "1.0"},
        {0.5, 0.649 / 2.00856, "0.5", "0.7"},
        {0.5, 0.0649 / 2.01, "0.50", "0.07"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct vision_arm arm = arm_of(rows[i].deviation_deg, rows[i].u_deg);
        char deviation[16], expanded[16];
        measure_numbers(&arm, NAN, deviation, expanded);
        ck_assert_msg(strcmp(deviation, rows[i].deviation) == 0 &&
                          strcmp(expanded, rows[i].expanded) == 0,
                      "row %zu: %s ± %s", i, deviation, expanded);
    }
}
END_TEST

/* Who reckons with what is shown, or types it back, comes to the decision that was made: ISO
 * 14253-1 on the numbers as they are and as they are read again. 0.37 + 0.106 is within 0.5, 0.4 +
 * 0.2 is not; neither is 0.46 + 0.05, though 0.4551 + 0.0446 is. Hand arithmetic. */
START_TEST(numbers_shown_decide_as_they_were_decided)
{
    const double tolerance = 0.5;
    char text[PLUS_MINUS_WORDS];
    ck_assert_str_eq(plus_minus_judged(0.37, 0.106, tolerance, text), "0.37 ± 0.11 degrees");
    ck_assert_str_eq(plus_minus_judged(-0.166, 0.332, tolerance, text), "0.17 ± 0.33 degrees");
    ck_assert_str_eq(plus_minus_judged(-0.166, 0.332, NAN, text), "0.2 ± 0.4 degrees");
    ck_assert_str_eq(plus_minus_judged(0.4551, 0.0446, tolerance, text), "0.455 ± 0.045 degrees");
    for (int i = 0; i <= 400; i++)
        for (int k = 1; k <= 400; k++) {
            const double off = i * 0.00293, expanded = k * 0.00217;
            struct quantity back;
            plus_minus_judged(off, expanded, tolerance, text);
            ck_assert_int_eq(quantity_parse(text, QUANTITY_ANGLE, &back), QUANTITY_FINE);
            ck_assert_msg(decision_make(back.value, quantity_expanded(back), tolerance) ==
                              decision_make(off, expanded, tolerance),
                          "%g, %g: %s", off, expanded, text);
        }
}
END_TEST

/* The same rule for words; an exact value, one of unknown uncertainty and one that only rounding
 * errors blur stand alone, and what rounds to 0 has no sign. */
START_TEST(a_number_is_worded_with_its_uncertainty_or_alone)
{
    static const struct {
        double value, expanded;
        int decimals;
        const char *unit, *want;
    } rows[] = {
        {-1.1, 0.43, 1, "%", "-1.1 ± 0.5 %"},    {58.6, 0.098, 2, "mm", "58.60 ± 0.10 mm"},
        {2.94, 0.2, 1, "", "2.9 ± 0.2"},         {90, 0, 1, "degrees", "90.0 degrees"},
        {90, NAN, 1, "degrees", "90.0 degrees"}, {12, 1e-9, 2, "mm", "12.00 mm"},
        {-0.04, 0.2, 1, "mm", "0.0 ± 0.2 mm"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[PLUS_MINUS_WORDS];
        ck_assert_str_eq(
            plus_minus_words(rows[i].value, rows[i].expanded, rows[i].decimals, rows[i].unit, text),
            rows[i].want);
    }
}
END_TEST

/* What is not known is no small number. */
START_TEST(an_unknown_uncertainty_is_shown_as_none)
{
    char size[16], expanded[16];
    ck_assert(isnan(plus_minus_rounded(NAN, 1)));
    plus_minus(2.34, NAN, 0.5, size, expanded);
    ck_assert_str_eq(size, "2.3");
    ck_assert_str_eq(expanded, "?");
    plus_minus(2.34, 0, 0.5, size, expanded); /* exact is no last digit */
    ck_assert_str_eq(size, "2.34");
    ck_assert_str_eq(expanded, "0.00");
}
END_TEST

static void check_message(const struct vision_result *result, const char *want)
{
    char text[MEASURE_WORDS];
    measure_message(result, NULL, text);
    ck_assert_str_eq(text, want);
}

/* Positive is counter-clockwise of square, so the cure is clockwise. */
START_TEST(the_cure_turns_back)
{
    struct vision_result result = result_of(VISION_OK, VISION_REASON_NONE, -2.9, 0.1);
    check_message(&result, "Arm A lies 2.9 ± 0.2 degrees clockwise of square. Turn it "
                           "counter-clockwise as seen in the photo.");
    result = result_of(VISION_OK, VISION_REASON_NONE, 2.9, 0.1);
    check_message(&result, "Arm A lies 2.9 ± 0.2 degrees counter-clockwise of square. Turn it "
                           "clockwise as seen in the photo.");
}
END_TEST

/* ISO 14253-1 by hand, against the usual half a degree: with U = 0.196 accepted up to 0.304,
 * rejected from 0.696. */
START_TEST(nothing_is_to_be_turned_by_less_than_half_a_degree)
{
    struct vision_result result = result_of(VISION_OK, VISION_REASON_NONE, 0.15, 0.1);
    check_message(&result, "Arm A is square as far as the photo can tell: 0.1 ± 0.2 degrees "
                           "counter-clockwise. Leave it.");
    result = result_of(VISION_OK, VISION_REASON_NONE, -0.004, 0.1); /* to no side */
    check_message(&result, "Arm A is square as far as the photo can tell: 0.0 ± 0.2 degrees off. "
                           "Leave it.");
    result = result_of(VISION_OK, VISION_REASON_NONE, 0.29, 0.1);
    check_message(&result, "Arm A is as good as square: 0.3 ± 0.2 degrees counter-clockwise. Leave "
                           "it.");
    result = result_of(VISION_OK, VISION_REASON_NONE, -0.71, 0.1);
    check_message(&result, "Arm A lies 0.7 ± 0.2 degrees clockwise of square. Turn it "
                           "counter-clockwise as seen in the photo.");
}
END_TEST

/* Square from what is said wherever it is not the card. */
START_TEST(the_answer_says_what_it_counts_from)
{
    struct vision_result result = result_of(VISION_OK, VISION_REASON_NONE, -2.9, 0.2);
    char text[MEASURE_WORDS];
    result.reference = VISION_REFERENCE_LINK;
    check_message(&result, "Arm A lies 2.9 ± 0.4 degrees clockwise of square to the link. Turn it "
                           "counter-clockwise as seen in the photo.");
    measure_arm_sentence(&result.arms[0], VISION_REFERENCE_EDGE, false, text);
    ck_assert_str_eq(text,
                     "Arm A lies 2.9 ± 0.4 degrees clockwise of square to the edge pointed at.");
    measure_arm_sentence(&result.arms[0], VISION_REFERENCE_POINTS, false, text);
    ck_assert_str_eq(
        text, "Arm A lies 2.9 ± 0.4 degrees clockwise of square to the line of the two points.");
    json_t *json = measure_json("a.jpg", &result); /* and so does a picture that is read again */
    struct vision_result back;
    ck_assert(measure_from_json(json, &back));
    ck_assert_int_eq(back.reference, VISION_REFERENCE_LINK);
    json_decref(json);
}
END_TEST

START_TEST(what_is_told_too_poorly_is_not_called_square)
{
    struct vision_result result = result_of(VISION_OK, VISION_REASON_NONE, -0.8, 0.6);
    check_message(&result, "Arm A lies 0.8 ± 1.2 degrees clockwise of square, too near the limit "
                           "of 0.5 degrees to decide. A better photo would not settle it: leave "
                           "it, or allow a larger limit.");
    result = result_of(VISION_OK, VISION_REASON_NONE, -0.3, 0.24);
    check_message(&result,
                  "Arm A lies 0.3 ± 0.5 degrees clockwise of square, too near the limit "
                  "of 0.5 degrees to decide. A better photo would not settle it: leave it, "
                  "or allow a larger limit.");
}
END_TEST

/* The same photo, the same answer: half a degree is the limit that counts where none is named. */
START_TEST(naming_the_usual_tolerance_changes_no_order)
{
    static const double off_deg[] = {0, 0.25, -0.45, 0.6, -0.95, 2};
    static const double u_deg[] = {0.05, 0.1, 0.2, 0.6};
    for (size_t i = 0; i < 6; i++)
        for (size_t k = 0; k < 4; k++) {
            struct vision_result result =
                result_of(VISION_OK, VISION_REASON_NONE, off_deg[i], u_deg[k]);
            struct verdict named, plain;
            char is[VERDICT_UNDECIDED] = "", want[VERDICT_UNDECIDED] = "";
            verdict_of_photo(&result, &verdict_square, &plain);
            verdict_of_photo(&result, &(struct verdict_asked){.tolerance_deg = 0.5}, &named);
            ck_assert_int_eq(plain.order == ORDER_SQUARE ? ORDER_GOOD : plain.order, named.order);
            if (plain.order == ORDER_CANNOT_TELL) {
                verdict_undecided(&plain, is);
                verdict_undecided(&named, want);
            }
            ck_assert_str_eq(is, want);
        }
}
END_TEST

/* ISO 14253-1 with U = 0.2 by hand. Against square the first arm would be turned clockwise each
 * time; with a target the nearest arm counts, whose cure is the other way. */
START_TEST(with_a_tolerance_the_order_is_that_of_the_decision)
{
    static const struct {
        struct verdict_asked asked;
        const char *want;
    } rows[] = {
        {{8, false, 0},
         "Arm A lies 7.3 ± 0.2 degrees counter-clockwise of square, within the tolerance of 8 "
         "degrees. Leave it."},
        {{1, false, 0},
         "Arm A lies 7.3 ± 0.2 degrees counter-clockwise of square, outside the tolerance of 1 "
         "degree. Turn it clockwise as seen in the photo."},
        {{7.4, false, 0},
         "Arm A lies 7.3 ± 0.2 degrees counter-clockwise of square, too near the limit of 7.4 "
         "degrees to decide. Measure again, all at once: closer and three photos with measure "
         "--together; or set it nearer, clockwise."},
        {{7.3, false, 0},
         "Arm A lies 7.3 ± 0.2 degrees counter-clockwise of square, too near the limit of 7.3 "
         "degrees to decide. A better photo would not settle it: set it nearer, clockwise, or "
         "allow "
         "a larger limit."},
        {{1, true, -80},
         "Arm B lies 2.9 ± 0.2 degrees clockwise of the wanted -80 degrees, outside the tolerance "
         "of 1 degree. Turn it counter-clockwise as seen in the photo."},
    };
    struct vision_result result = result_of(VISION_OK, VISION_REASON_NONE, 7.3, 0.1);
    result.arms[0].budget[0].term = VISION_TERM_EDGE; /* which a closer photo makes smaller */
    result.arms[1] = result.arms[0];
    result.arms[1].angle_deg = 277.1;
    result.arms[1].deviation_deg = 7.1;
    strcpy(result.arms[1].name, "B");
    result.arm_count = 2;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct verdict verdict;
        char text[MEASURE_WORDS];
        verdict_make(result.arms, 2, false, 11, 2, false, &rows[i].asked, &verdict);
        measure_message(&result, &verdict, text);
        ck_assert_str_eq(text, rows[i].want);
        json_t *json = measure_judged_json("a.jpg", &result, &verdict);
        ck_assert_str_eq(json_string_value(json_object_get(json, "message")), rows[i].want);
        ck_assert(json_is_object(json_object_get(json, "decision")));
        json_decref(json);
    }
}
END_TEST

/* 44.8 to one square is 45.2 to the other, which 0.3 does not tell apart; 42 is plainly nearer, but
 * the other may be meant as well. Whoever names one gets the way to it. */
START_TEST(half_way_between_two_squares_no_way_is_ordered)
{
    struct vision_result result = result_of(VISION_OK, VISION_REASON_NONE, 44.8, 0.15);
    static const char *const says =
        "Arm A lies 44.8 ± 0.3 degrees counter-clockwise of square, nearly half way between two "
        "squares. Say which one is meant with --target 90 or 180, or bring it near that by eye and "
        "measure "
        "again.";
    check_message(&result, says);
    struct verdict verdict;
    verdict_of_photo(&result, &(struct verdict_asked){.tolerance_deg = 1}, &verdict);
    ck_assert_int_eq(verdict.order, ORDER_HALF_WAY);
    ck_assert_int_eq(verdict.decision, DECISION_REJECT);
    char text[MEASURE_WORDS];
    measure_message(&result, &verdict, text);
    ck_assert_str_eq(text, says);
    verdict_of_photo(&result, &(struct verdict_asked){1, true, 180}, &verdict);
    ck_assert_int_eq(verdict.order, ORDER_TURN);
    result = result_of(VISION_OK, VISION_REASON_NONE, -42, 0.15);
    check_message(&result, "Arm A lies 42.0 ± 0.3 degrees clockwise of square, nearly half way "
                           "between two squares. Say which one is meant with --target 90 or 0, or "
                           "bring it near that by eye and measure again.");
}
END_TEST

/* The arm that is judged is named and held against the target, but nothing is ordered. */
START_TEST(an_unsure_answer_on_a_target_orders_no_turn)
{
    struct vision_result result = result_of(VISION_UNSURE, VISION_EDGES_DISAGREE, 2, 0.1);
    struct verdict_asked asked = {1, true, 45};
    struct verdict verdict;
    verdict_make(result.arms, 1, true, 11, 2, false, &asked, &verdict);
    char text[MEASURE_WORDS];
    measure_message(&result, &verdict, text);
    ck_assert_ptr_nonnull(strstr(text, "Arm A seems to lie 47.0 ± 0.2 degrees counter-clockwise of "
                                       "the wanted 45 degrees, but check it: the two sides"));
    ck_assert_ptr_null(strstr(text, "Turn it"));
}
END_TEST

/* What makes one arm doubtful makes its neighbours so. */
START_TEST(the_other_arms_of_an_unsure_answer_are_in_doubt_too)
{
    struct vision_result result = result_of(VISION_OK, VISION_REASON_NONE, 2, 0.1);
    char text[MEASURE_WORDS];
    measure_arm_sentence(&result.arms[0], VISION_REFERENCE_CARD, true, text);
    ck_assert_str_eq(text, "Arm A seems to lie 2.0 ± 0.2 degrees counter-clockwise of square.");
    measure_arm_sentence(&result.arms[0], VISION_REFERENCE_CARD, false, text);
    ck_assert_str_eq(text, "Arm A lies 2.0 ± 0.2 degrees counter-clockwise of square.");
}
END_TEST

START_TEST(an_unsure_answer_says_why_and_orders_no_turn)
{
    for (int i = VISION_REASON_NONE + 1; i < VISION_REASON_COUNT; i++) {
        struct vision_result result = result_of(VISION_UNSURE, (enum vision_reason)i, -44.95, 10.0);
        char text[MEASURE_WORDS];
        measure_message(&result, NULL, text);
        ck_assert_ptr_nonnull(strstr(text, "seems to lie"));
        ck_assert_ptr_null(strstr(text, "Turn it"));
        /* whole, but for the capital */
        ck_assert_ptr_nonnull(strstr(text, reason_sentence(result.reason) + 1));
    }
}
END_TEST

START_TEST(a_failed_photo_gives_its_reason_and_no_number)
{
    struct vision_result result = result_of(VISION_FAILED, VISION_NO_CARD, 2, 0.1);
    check_message(&result, reason_sentence(VISION_NO_CARD));
}
END_TEST

START_TEST(what_the_arms_say_of_the_card_names_the_side_and_the_doubt)
{
    struct vision_witness w = {.spacing_deg = 60, .verdict = VISION_WITNESS_AGREES};
    char text[MEASURE_WORDS];
    measure_witness_sentence(&w, text);
    ck_assert_str_eq(text, "");
    w.verdict = VISION_WITNESS_LEANS;
    measure_witness_sentence(&w, text);
    ck_assert_ptr_null(strstr(text, "side (as seen"));
    w.nearer = VISION_SIDE_TOP;
    measure_witness_sentence(&w, text);
    ck_assert_ptr_nonnull(strstr(text, "its top side (as seen in the photo) too near to the part"));
    ck_assert_ptr_nonnull(strstr(text, "or the arms were moulded so"));
    w.verdict = VISION_WITNESS_UNEVEN;
    measure_witness_sentence(&w, text);
    ck_assert_ptr_nonnull(strstr(text, "an arm was read wrongly"));
    w.spacing_deg = 0;
    measure_witness_sentence(&w, text);
    ck_assert_str_eq(text, "");
}
END_TEST

/* ---- JSON --------------------------------------------------------------------------------- */

static void check_keys(const json_t *object, const char *const *keys, size_t count)
{
    ck_assert_uint_eq(json_object_size(object), count);
    for (size_t i = 0; i < count; i++)
        ck_assert_msg(json_object_get(object, keys[i]) != NULL, "no \"%s\"", keys[i]);
}

#define CHECK_KEYS(object, ...)                                                                    \
    do {                                                                                           \
        static const char *const keys_[] = {__VA_ARGS__};                                          \
        check_keys((object), keys_, sizeof keys_ / sizeof keys_[0]);                               \
    } while (0)

/* Through the record that travels in the picture as well. */
START_TEST(arms_that_are_seen_but_not_measured_are_told)
{
    struct vision_result result = result_of(VISION_OK, VISION_REASON_NONE, 1, 0.1), again;
    char text[MEASURE_WORDS];
    measure_untold_sentence(&result, text);
    ck_assert_str_eq(text, "");
    result.untold_arms = 2;
    json_t *json = measure_json("a.jpg", &result);
    ck_assert(measure_from_json(json, &again));
    json_decref(json);
    measure_untold_sentence(&again, text);
    ck_assert_str_eq(text, "2 more arms are seen, but could not be measured.");
}
END_TEST

START_TEST(json_has_every_member_and_no_other)
{
    struct vision_result result = result_of(VISION_UNSURE, VISION_STEEP_VIEW, 1, 0.1);
    json_t *json = measure_json("a.jpg", &result);
    CHECK_KEYS(json, "photo", "size_px", "status", "reason", "message", "card", "lens", "reference",
               "arms", "arms_not_measured", "budget", "witness", "elapsed_ms");
    ck_assert_str_eq(json_string_value(json_object_get(json, "status")), "unsure");
    ck_assert_str_eq(json_string_value(json_object_get(json, "reason")), "steep-view");
    CHECK_KEYS(json_object_get(json, "card"), "type", "obliquity_deg", "px_per_mm", "corners_px",
               "residual_px");
    CHECK_KEYS(json_object_get(json, "reference"), "kind", "angle_deg");
    CHECK_KEYS(json_array_get(json_object_get(json, "arms"), 0), "name", "angle_deg",
               "deviation_deg", "u_deg", "dof", "k", "U_deg", "hub_px", "tip_px", "length_mm",
               "budget");
    CHECK_KEYS(json_array_get(json_object_get(json, "budget"), 0), "term", "u_deg", "type", "dof",
               "shared");
    json_decref(json);
}
END_TEST

START_TEST(json_of_a_failure_has_nulls_and_no_number)
{
    struct vision_result result = result_of(VISION_FAILED, VISION_NO_CARD, 1, 0.1);
    result.card = NULL;
    json_t *json = measure_json("a.jpg", &result);
    ck_assert(json_is_null(json_object_get(json, "card")));
    ck_assert(json_is_null(json_object_get(json, "reference")));
    ck_assert_uint_eq(json_array_size(json_object_get(json, "arms")), 0);
    ck_assert_uint_eq(json_array_size(json_object_get(json, "budget")), 0);
    ck_assert_str_eq(json_string_value(json_object_get(json, "message")),
                     reason_sentence(VISION_NO_CARD));
    json_decref(json);
    result = result_of(VISION_OK, VISION_REASON_NONE, 1, 0.1);
    json = measure_json("a.jpg", &result);
    ck_assert(json_is_null(json_object_get(json, "reason")));
    json_decref(json);
}
END_TEST

START_TEST(json_gives_back_what_advice_needs)
{
    struct vision_result result = result_of(VISION_OK, VISION_REASON_NONE, 1, 0.1), back;
    result.photo.width_px = 4000;
    result.arms[0].budget[0].term = VISION_TERM_REFERENCE;
    result.arms[0].budget[0].name = vision_term_name(VISION_TERM_REFERENCE);
    json_t *json = measure_json("a.jpg", &result);
    ck_assert(measure_from_json(json, &back));
    ck_assert_int_eq(back.arm_count, 1);
    ck_assert_int_eq(back.photo.width_px, 4000);
    ck_assert_int_eq(back.arms[0].budget_count, 1);
    ck_assert_int_eq(back.arms[0].budget[0].term, VISION_TERM_REFERENCE);
    ck_assert_double_eq_tol(back.arms[0].budget[0].u_deg, 0.1, 1e-4);
    ck_assert_double_eq_tol(back.arms[0].budget[0].dof, 50, 0.1);
    ck_assert_double_eq_tol(back.obliquity_deg, 11, 0.01);
    json_decref(json);
    for (int scope = VISION_SCOPE_OWN; scope <= VISION_SCOPE_PLACE; scope++) {
        result.arms[0].budget[0].scope = (enum vision_scope)scope;
        json = measure_json("a.jpg", &result);
        ck_assert(measure_from_json(json, &back));
        ck_assert_int_eq(back.arms[0].budget[0].scope, scope);
        ck_assert_int_eq(back.arms[0].budget[0].type, 'A');
        json_decref(json);
    }
    json = json_object();
    ck_assert(!measure_from_json(json, &back));
    json_decref(json);
}
END_TEST

/* A record is a text that anybody can write; the longest name of ours has three letters. */
START_TEST(a_name_too_long_for_an_arm_is_cut_between_letters)
{
    json_t *json = json_pack("{s:[{s:s}, {s:s}]}", "arms", "name", "éé", "name", "aéé");
    struct vision_result back;
    ck_assert(measure_from_json(json, &back));
    ck_assert_str_eq(back.arms[0].name, "é");
    ck_assert_str_eq(back.arms[1].name, "aé");
    json_decref(json);
}
END_TEST

/* Whatever rounding did to the angle, also across 360; and no arm a hundredth off. */
START_TEST(the_arm_that_was_read_is_found_in_the_record)
{
    static const double angles[] = {11.29049, 101.29951, 191.2905, 359.99961};
    struct vision_result result = result_of(VISION_OK, VISION_REASON_NONE, 1, 0.1), back;
    result.arm_count = 4;
    for (int i = 0; i < 4; i++) {
        result.arms[i] = result.arms[0];
        result.arms[i].angle_deg = angles[i];
    }
    json_t *json = measure_json("a.jpg", &result);
    ck_assert(measure_from_json(json, &back));
    json_decref(json);
    for (int i = 0; i < 4; i++) {
        ck_assert_int_eq(measure_arm_read(&back, angles[i]), i);
        ck_assert_int_eq(measure_arm_read(&back, angles[i] + 0.01), -1);
    }
    back.arm_count = 0;
    ck_assert_int_eq(measure_arm_read(&back, 0), -1);
}
END_TEST

START_TEST(json_numbers_are_rounded_and_stay_in_range)
{
    struct vision_result result = result_of(VISION_OK, VISION_REASON_NONE, -0.00001, 0.12345);
    result.arms[0].angle_deg = 359.99999;
    json_t *json = measure_json("a.jpg", &result);
    char *text = json_dumps(json, MEASURE_JSON_FLAGS);
    static const char *const parts[] = {"\"angle_deg\":0.0,",        "\"deviation_deg\":0.0,",
                                        "\"u_deg\":0.123,",          "\"hub_px\":[100.12,200.0]",
                                        "\"tip_px\":[300.0,400.99]", "\"px_per_mm\":12.346"};
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
        ck_assert_msg(strstr(text, parts[i]) != NULL, "no %s in %s", parts[i], text);
    ck_assert_ptr_null(strchr(text, '\n'));
    free(text);
    json_decref(json);
}
END_TEST

/* ---- Names -------------------------------------------------------------------------------- */

START_TEST(names_are_made_fit_to_show)
{
    struct vision_result result = {.status = VISION_FAILED, .reason = VISION_NO_FILE};
    json_t *json = measure_json("\xff.jpg", &result);
    ck_assert_str_eq(json_string_value(json_object_get(json, "photo")), "?.jpg");
    json_decref(json);
}
END_TEST

START_TEST(pictures_stand_beside_their_photo_or_in_the_folder)
{
    static const char *const rows[][3] = {
        {"rudder.jpg", NULL, "rudder.armsquare.png"},
        {"shed/rudder.jpeg", NULL, "shed/rudder.armsquare.png"},
        {"/a.b/rudder", NULL, "/a.b/rudder.armsquare.png"},
        {"shed/.hidden", NULL, "shed/.hidden.armsquare.png"},
        {"shed/two.dots.JPG", "out", "out/two.dots.armsquare.png"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char *path = picture_path(rows[i][0], rows[i][1]);
        ck_assert_str_eq(path, rows[i][2]);
        free(path);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("measure_words");
    TCase *tcase = tcase_create("words");
    tcase_set_timeout(tcase, 120); /* sanitizers on a busy machine */
    tcase_add_test(tcase, numbers_have_the_decimals_that_the_uncertainty_carries);
    tcase_add_test(tcase, a_number_is_worded_with_its_uncertainty_or_alone);
    tcase_add_test(tcase, an_unknown_uncertainty_is_shown_as_none);
    tcase_add_test(tcase, numbers_shown_decide_as_they_were_decided);
    tcase_add_test(tcase, the_answer_says_what_it_counts_from);
    tcase_add_test(tcase, the_cure_turns_back);
    tcase_add_test(tcase, nothing_is_to_be_turned_by_less_than_half_a_degree);
    tcase_add_test(tcase, arms_that_are_seen_but_not_measured_are_told);
    tcase_add_test(tcase, what_is_told_too_poorly_is_not_called_square);
    tcase_add_test(tcase, naming_the_usual_tolerance_changes_no_order);
    tcase_add_test(tcase, with_a_tolerance_the_order_is_that_of_the_decision);
    tcase_add_test(tcase, half_way_between_two_squares_no_way_is_ordered);
    tcase_add_test(tcase, an_unsure_answer_on_a_target_orders_no_turn);
    tcase_add_test(tcase, the_other_arms_of_an_unsure_answer_are_in_doubt_too);
    tcase_add_test(tcase, an_unsure_answer_says_why_and_orders_no_turn);
    tcase_add_test(tcase, a_failed_photo_gives_its_reason_and_no_number);
    tcase_add_test(tcase, what_the_arms_say_of_the_card_names_the_side_and_the_doubt);
    tcase_add_test(tcase, json_has_every_member_and_no_other);
    tcase_add_test(tcase, json_of_a_failure_has_nulls_and_no_number);
    tcase_add_test(tcase, json_gives_back_what_advice_needs);
    tcase_add_test(tcase, a_name_too_long_for_an_arm_is_cut_between_letters);
    tcase_add_test(tcase, the_arm_that_was_read_is_found_in_the_record);
    tcase_add_test(tcase, json_numbers_are_rounded_and_stay_in_range);
    tcase_add_test(tcase, names_are_made_fit_to_show);
    tcase_add_test(tcase, pictures_stand_beside_their_photo_or_in_the_folder);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
