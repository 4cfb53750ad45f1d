/* Plans as text: what is read, what is refused, and that writing and reading agree. */
#include "base/clean_text.h"
#include "check_main.h"
#include "job/plan.h"
#include "job/plan_drive.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct plan read_good(const char *text)
{
    struct plan plan;
    struct plan_trouble trouble;
    ck_assert_msg(plan_read(text, &plan, &trouble), "line %d: %s", trouble.line, trouble.text);
    return plan;
}

START_TEST(every_field_is_read)
{
    struct plan plan = read_good("# a note\nplan:  My   plan\nabout: first\n   second\n# between\n"
                                 "   third\n\n[a-1]\ntitle: One\nkind: confirm\n"
                                 "[b]\ntitle: Two\npart: Tail\nkind: angle\ntarget: -30.5\n"
                                 "tolerance: 0.25\nrests on: a-1\ndo: This, then that.\n"
                                 "hardware: thread = M2; teeth = 25\n");
    ck_assert_str_eq(plan.name, "My plan");
    ck_assert_str_eq(plan.about, "first second third");
    ck_assert_int_eq(plan.count, 2);
    const struct plan_station *b = &plan.stations[1];
    ck_assert_str_eq(b->part, "Tail");
    ck_assert_int_eq(b->kind, PLAN_ANGLE);
    assert_near(b->target, -30.5, 0);
    assert_near(b->tolerance, 0.25, 0);
    ck_assert_int_eq(b->rests_on_count, 1);
    ck_assert_str_eq(plan_fact(b, "thread"), "M2");
    assert_near(plan_fact_number(b, "teeth", 0), 25, 0);
    assert_near(plan_fact_number(b, "arms", 4), 4, 0);
    plan_clear(&plan);
}
END_TEST

/* Line 0: the fault belongs to no line. */
static const struct {
    const char *text, *says;
    int line;
} faults[] = {
    {"", "no station", 0},
    {"plan: x\n", "no station", 0},
    {"[a]\nkind: square\n", "needs a title", 1},
    {"[a]\ntitle: A\nkind: round\n", "no kind", 3},
    {"[a]\ntitle: A\nkind: square\nrests on: b\n", "no station \"b\" above", 4},
    {"[a]\ntitle: A\nkind: square\nrests on: a\n", "no station \"a\" above", 4},
    {"[a]\ntitle: A\nkind: square\n[a]\ntitle: A\nkind: square\n", "two stations", 4},
    {"[A b]\n", "is no key", 1},
    {"[a\n", "heading", 1},
    {"[a]\ntitle: A\ntitle: B\n", "twice", 3},
    {"[a]\ntitle: A\nkind: square\ntolerance: 0\n", "number from", 4},
    {"[a]\ntitle: A\nkind: square\ntolerance: nan\n", "number from", 4},
    {"[a]\ntitle: A\nkind: confirm\ntolerance: 1\n", "no tolerance", 1},
    {"[a]\ntitle: A\nkind: angle\n", "needs a target", 1},
    {"[a]\ntitle: A\nkind: square\ntarget: 90\n", "only an angle", 1},
    {"[a]\ntitle: A\nkind: square\nhardware: wheels = 4\n", "no hardware called", 4},
    {"[a]\ntitle: A\nkind: square\nhardware: teeth = 2.5\n", "whole number", 4},
    {"[a]\ntitle: A\nkind: square\nhardware: teeth = 1\n", "from 2 to 200", 4},
    {"[a]\ntitle: A\nkind: square\nhardware: teeth = 201\n", "from 2 to 200", 4},
    {"[a]\ntitle: A\nkind: square\nhardware: degrees-per-percent = -4\n", "either sign", 4},
    {"[a]\ntitle: A\nkind: square\nhardware: degrees-per-percent = 0\n", "either sign", 4},
    {"[a]\ntitle: A\nkind: square\nhardware: teeth 25\n", "name = value", 4},
    {"[a]\ntitle: A\nkind: square\ncolour: red\n", "no field", 4},
    {"[a]\ntitle: A\nwords without a colon\n", "neither", 3},
    {"title: A\n", "before the first station", 1},
    {"[a]\ntitle: \xff\nkind: square\n", "UTF-8", 0},
    {"[a]\ntitle: \xe0\x80\xaf\nkind: square\n", "UTF-8",
     0}, /* overlong: no export could hold it */
    {"[a]\ntitle: \x01\nkind: square\n", "needs plain words", 2},
    {"[a]\ntitle: \xc2\x9b"
     "31mred\nkind: square\n",
     "needs plain words", 2}, /* C1 */
    {"[a]\ntitle: A\nkind: square\nhardware: part = \xc2\x9b"
     "2J\n",
     "plain words", 4},
};

START_TEST(faults_are_named_with_their_line)
{
    struct plan plan;
    struct plan_trouble trouble;
    ck_assert(!plan_read(faults[_i].text, &plan, &trouble));
    ck_assert_msg(strstr(trouble.text, faults[_i].says), "\"%s\" does not say \"%s\"", trouble.text,
                  faults[_i].says);
    ck_assert_int_eq(trouble.line, faults[_i].line);
    ck_assert_int_eq(plan.count, 0);
}
END_TEST

#define TEN_LETTERS "éééééééééé"
#define MANY_LETTERS                                                                               \
    TEN_LETTERS TEN_LETTERS TEN_LETTERS TEN_LETTERS TEN_LETTERS TEN_LETTERS TEN_LETTERS

/* What it quotes of a long line ends with a whole letter, wherever its two bytes fall. */
START_TEST(what_a_fault_quotes_is_cut_between_characters)
{
    static const char *const starts[] = {"kind: ",
                                         "kind: square\ntolerance: ",
                                         "kind: square\nrests on: ",
                                         "kind: square\nhardware: ",
                                         "kind: square\nhardware: teeth = ",
                                         ""};
    for (size_t i = 0; i < sizeof starts / sizeof starts[0]; i++)
        for (int ahead = 0; ahead < 2; ahead++) {
            char *text = NULL;
            struct plan plan;
            struct plan_trouble trouble;
            ck_assert_int_gt(asprintf(&text, "[a]\ntitle: A\n%s%s" MANY_LETTERS ": b", starts[i],
                                      ahead ? "a" : ""),
                             0);
            ck_assert(!plan_read(text, &plan, &trouble));
            ck_assert_msg(text_is_utf8(trouble.text), "\"%s\"", trouble.text);
            free(text);
        }
}
END_TEST

/* What is known of models (common practice, no source): a horn sits on its servo's spline; a crank,
 * a surface or a throttle arm is pulled by one link; a crank between two links by both; a plate on
 * three servos by three. */
static const struct {
    const char *plan, *key;
    enum plan_drive drive;
} drives[] = {
    {"rudder", "rudder-horn", PLAN_DRIVE_SPLINE},
    {"rudder", "rudder-neutral", PLAN_DRIVE_LINK},
    {"rudder", "rudder-throw", PLAN_DRIVE_OTHER},
    {"rudder", "drive-safe", PLAN_DRIVE_OTHER},
    {"aileron", "aileron-right-neutral", PLAN_DRIVE_LINK},
    {"aileron", "aileron-horns-parallel", PLAN_DRIVE_SPLINES},
    {"throttle", "throttle-parallel", PLAN_DRIVE_LINK},
    {"throttle", "throttle-idle", PLAN_DRIVE_OTHER},
    {"tail-pushrod", "front-crank", PLAN_DRIVE_LINK},
    {"tail-pushrod", "rear-crank", PLAN_DRIVE_LINK},
    {"swashplate-bellcranks", "links-left", PLAN_DRIVE_OTHER},
    {"swashplate-bellcranks", "crank-left", PLAN_DRIVE_PAIR},
    {"swashplate-bellcranks", "plate-level", PLAN_DRIVE_SEVERAL},
    {"swashplate-direct", "plate-level", PLAN_DRIVE_PAIR},
};

START_TEST(a_plan_tells_what_moves_its_parts)
{
    struct plan plan = read_good(plan_ready_made(drives[_i].plan));
    int at = plan_find(&plan, drives[_i].key);
    ck_assert_msg(at >= 0 && plan_drive(&plan, at) == drives[_i].drive, "%s: %s: %d",
                  drives[_i].plan, drives[_i].key, at < 0 ? -1 : (int)plan_drive(&plan, at));
    plan_clear(&plan);
}
END_TEST

/* One chain of work is one link, whatever else of it a station rests on. */
START_TEST(a_horn_and_the_crank_behind_it_are_one_chain)
{
    struct plan plan = read_good("[horn]\ntitle: A\nkind: square\n"
                                 "[crank]\ntitle: B\nkind: square\nrests on: horn\n"
                                 "[edge]\ntitle: C\nkind: level\nrests on: horn, crank\n");
    ck_assert_int_eq(plan_drive(&plan, 2), PLAN_DRIVE_LINK);
    plan_clear(&plan);
}
END_TEST

START_TEST(what_sets_a_part_is_told)
{
    struct plan plan = read_good(plan_ready_made("aileron"));
    int at = plan_find(&plan, "aileron-horns-parallel");
    ck_assert(plan_is_set_at(&plan, at, plan_find(&plan, "aileron-left-horn")));
    ck_assert(plan_is_set_at(&plan, at, plan_find(&plan, "aileron-right-horn")));
    ck_assert(!plan_is_set_at(&plan, at, plan_find(&plan, "aileron-right-neutral")));
    plan_clear(&plan);
}
END_TEST

/* A servo that runs the other way turns the horn clockwise for positive percent. */
START_TEST(a_scale_may_be_negative_and_a_spline_fine)
{
    struct plan plan = read_good("[a]\ntitle: A\nkind: square\n"
                                 "hardware: teeth = 200; degrees-per-percent = -0.45\n");
    assert_near(plan_fact_number(&plan.stations[0], "degrees-per-percent", 0), -0.45, 0);
    assert_near(plan_fact_number(&plan.stations[0], "teeth", 0), 200, 0);
    plan_clear(&plan);
}
END_TEST

/* A fact that is taken can be written and read back. */
START_TEST(a_fact_is_one_line)
{
    static const char *const refused[] = {"one\ntwo: three", "one\ttwo", "one\x1b[31m",
                                          "one\xc2\x9b[31m", " ",        ""};
    struct plan plan = read_good("[a]\ntitle: A\nkind: square\n"), again;
    struct plan_trouble trouble;
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        ck_assert_msg(!plan_set_fact(&plan.stations[0], "part", refused[i], &trouble), "\"%s\"",
                      refused[i]);
        ck_assert_ptr_nonnull(strstr(trouble.text, "plain words"));
    }
    ck_assert(plan_set_fact(&plan.stations[0], "part", "[one]: two # = three", &trouble));
    char *text = plan_write(&plan);
    ck_assert_msg(plan_read(text, &again, &trouble), "%s in\n%s", trouble.text, text);
    ck_assert_str_eq(plan_fact(&again.stations[0], "part"), "[one]: two # = three");
    free(text);
    plan_clear(&plan);
    plan_clear(&again);
}
END_TEST

/* What older versions took is kept: it must come back, if not to the letter. */
START_TEST(facts_that_were_kept_are_read_back)
{
    static const struct plan_fact facts[] = {
        {"part", " two\n\tlines "}, {"teeth", "9999"}, {"arms", " "}, {"base-mm", "1"}};
    struct plan plan = read_good("[a]\ntitle: A\nkind: square\n"), again;
    struct plan_trouble trouble;
    for (size_t i = 0; i < sizeof facts / sizeof *facts; i++)
        ck_assert(plan_keep_fact(&plan.stations[0], facts[i].name, facts[i].value, &trouble));
    char *text = plan_write(&plan);
    ck_assert(!plan_read(text, &again, &trouble));
    ck_assert_msg(plan_read_kept(text, &again, &trouble), "%s in\n%s", trouble.text, text);
    ck_assert_int_eq(again.stations[0].fact_count, 3);
    ck_assert_str_eq(plan_fact(&again.stations[0], "part"), "two lines");
    ck_assert_str_eq(plan_fact(&again.stations[0], "teeth"), "9999");
    ck_assert_str_eq(plan_fact(&again.stations[0], "base-mm"), "1");
    ck_assert_ptr_null(plan_fact(&again.stations[0], "arms"));
    free(text);
    plan_clear(&plan);
    plan_clear(&again);
}
END_TEST

/* A line end or tab within words is a space, whatever system wrote it. */
START_TEST(words_are_one_line_whatever_ends_the_lines)
{
    struct plan plan = read_good("about: first\r\n   second\tthird\r\n"
                                 "[a]\r\ntitle: A\r\nkind: square\r\n");
    ck_assert_str_eq(plan.about, "first second third");
    ck_assert_str_eq(plan.stations[0].title, "A");
    plan_clear(&plan);
    ck_assert(plan_text_is_plain("Grüße"));
    ck_assert(!plan_text_is_plain("one\ntwo"));
    ck_assert(!plan_text_is_plain("one\xc2\x85two"));
}
END_TEST

START_TEST(a_plan_from_elsewhere_keeps_the_rules)
{
    struct plan plan = read_good("[a]\ntitle: A\nkind: angle\ntarget: 30\n"
                                 "[b]\ntitle: B\nkind: confirm\n");
    struct plan_trouble trouble;
    struct plan_station *a = &plan.stations[0], *b = &plan.stations[1];
    ck_assert(plan_is_sound(&plan, &trouble));
    a->target = 1e308;
    ck_assert(!plan_is_sound(&plan, &trouble));
    ck_assert_ptr_nonnull(strstr(trouble.text, "target"));
    a->target = 0;
    a->tolerance = -5;
    ck_assert(!plan_is_sound(&plan, &trouble));
    ck_assert_ptr_nonnull(strstr(trouble.text, "tolerance"));
    a->tolerance = 1;
    b->tolerance = 1; /* a confirmation has none */
    ck_assert(!plan_is_sound(&plan, &trouble));
    b->tolerance = 0;
    b->target = 90; /* nor a target */
    ck_assert(!plan_is_sound(&plan, &trouble));
    b->target = 0;
    *b->key = '\x1b';
    ck_assert(!plan_is_sound(&plan, &trouble));
    ck_assert_str_eq(trouble.text, "the key of station 2 is none");
    *b->key = 'b';
    *a->title = '\x7f';
    ck_assert(!plan_is_sound(&plan, &trouble));
    *a->title = 'A';
    ck_assert(plan_is_sound(&plan, &trouble));
    plan_clear(&plan);
    ck_assert(!plan_is_sound(&plan, &trouble));
}
END_TEST

START_TEST(a_written_plan_reads_back_to_the_same_text)
{
    const char *name, *text;
    for (int i = 0; plan_ready_made_at(i, &name, &text); i++) {
        struct plan plan = read_good(text);
        char *once = plan_write(&plan);
        struct plan again = read_good(once);
        char *twice = plan_write(&again);
        ck_assert_str_eq(once, twice);
        ck_assert_int_eq(plan.count, again.count);
        for (int s = 0; s < plan.count; s++) {
            ck_assert_str_eq(plan.stations[s].doing, again.stations[s].doing);
            assert_near(plan.stations[s].tolerance, again.stations[s].tolerance, 0);
        }
        free(once);
        free(twice);
        plan_clear(&plan);
        plan_clear(&again);
    }
}
END_TEST

/* The layouts that issue and guide promise, and the order that safety asks for: nothing is powered
 * before the blades are off, no horn squared before directions are right (common practice, no
 * source). */
START_TEST(ready_made_plans_begin_with_safety_and_directions)
{
    static const char *const names[] = {"swashplate-direct",
                                        "swashplate-bellcranks",
                                        "tail-pushrod",
                                        "throttle",
                                        "aileron",
                                        "elevator",
                                        "rudder",
                                        "steering"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        ck_assert_msg(plan_ready_made(names[i]), "%s is missing", names[i]);
        struct plan plan = read_good(plan_ready_made(names[i]));
        ck_assert_str_eq(plan.stations[0].key, "drive-safe");
        int directions = plan_find(&plan, "servo-directions");
        for (int s = 0; s < plan.count; s++) {
            ck_assert(plan.stations[s].kind == PLAN_CONFIRM || s > directions);
            ck_assert(s == 0 || plan.stations[s].rests_on_count > 0);
            ck_assert_str_ne(plan.stations[s].doing, "");
        }
        plan_clear(&plan);
    }
}
END_TEST

START_TEST(joined_plans_share_stations_of_the_same_key)
{
    struct plan_trouble trouble;
    struct plan plan = read_good(plan_ready_made("tail-pushrod"));
    struct plan more = read_good(plan_ready_made("throttle"));
    int expected = plan.count + more.count - 3; /* safety, settings and directions are shared */
    ck_assert(plan_append(&plan, &more, &trouble));
    ck_assert_int_eq(plan.count, expected);
    int horn = plan_find(&plan, "throttle-horn");
    ck_assert_int_eq(plan.stations[horn].rests_on[0], plan_find(&plan, "servo-directions"));
    plan_clear(&more);
    more = read_good("[x]\ntitle: X\nkind: confirm\n[tail-horn]\ntitle: T\nkind: level\n");
    ck_assert(!plan_append(&plan, &more, &trouble));
    ck_assert_int_eq(plan.count, expected);
    plan_clear(&more);
    plan_clear(&plan);
}
END_TEST

/* Whatever bytes come, reading answers or refuses; with the sanitizers this is a small fuzz run. */
START_TEST(damaged_plans_never_crash)
{
    const char *whole = plan_ready_made("swashplate-bellcranks");
    size_t size = strlen(whole);
    srand(7);
    for (int run = 0; run < 3000; run++) {
        char *text = strdup(whole);
        for (int i = 0; i < 1 + run % 20; i++)
            text[(size_t)rand() % size] = (char)(rand() % 255 + 1);
        text[(size_t)rand() % size] = run % 2 ? '\n' : ':';
        struct plan plan;
        struct plan_trouble trouble;
        if (plan_read(text, &plan, &trouble))
            plan_clear(&plan);
        else
            ck_assert_str_ne(trouble.text, "");
        free(text);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("plan");
    TCase *all = tcase_create("text");
    tcase_add_test(all, every_field_is_read);
    tcase_add_loop_test(all, a_plan_tells_what_moves_its_parts, 0, sizeof drives / sizeof *drives);
    tcase_add_test(all, a_horn_and_the_crank_behind_it_are_one_chain);
    tcase_add_test(all, what_sets_a_part_is_told);
    tcase_add_loop_test(all, faults_are_named_with_their_line, 0,
                        (int)(sizeof faults / sizeof *faults));
    tcase_add_test(all, a_scale_may_be_negative_and_a_spline_fine);
    tcase_add_test(all, what_a_fault_quotes_is_cut_between_characters);
    tcase_add_test(all, a_fact_is_one_line);
    tcase_add_test(all, facts_that_were_kept_are_read_back);
    tcase_add_test(all, words_are_one_line_whatever_ends_the_lines);
    tcase_add_test(all, a_plan_from_elsewhere_keeps_the_rules);
    tcase_add_test(all, a_written_plan_reads_back_to_the_same_text);
    tcase_add_test(all, ready_made_plans_begin_with_safety_and_directions);
    tcase_add_test(all, joined_plans_share_stations_of_the_same_key);
    tcase_add_test(all, damaged_plans_never_crash);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
