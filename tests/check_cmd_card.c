/* armsquare card as people run it: files judged by outside programs, mistakes answered in one
 * sentence. */
#include "check_main.h"
#include "outside.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define PT_PER_MM (72.0 / 25.4)

/* Runs "armsquare card OPTIONS"; DIR in options stands for the scratch directory. */
static int run_card(char *said, size_t said_size, const char *options)
{
    char with_directory[1024] = "";
    const char *rest = options, *found;
    while ((found = strstr(rest, "DIR"))) {
        size_t length = strlen(with_directory);
        snprintf(with_directory + length, sizeof with_directory - length, "%.*s%s",
                 (int)(found - rest), rest, outside_directory());
        rest = found + 3;
    }
    strncat(with_directory, rest, sizeof with_directory - strlen(with_directory) - 1);
    return outside_run(said, said_size, "'%s' card %s", ARMSQUARE_PROGRAM, with_directory);
}

static void must_run(const char *options)
{
    char said[2048];
    int status = run_card(said, sizeof said, options);
    ck_assert_msg(status == 0 && strstr(said, " is written. Print it at 100 %"),
                  "card %s: status %d, %s", options, status, said);
}

/* What an outside program says of a file in the scratch directory; it must be content. */
static void ask(char *said, size_t said_size, const char *program, const char *file)
{
    int status = outside_run(said, said_size, "%s '%s/%s'", program, outside_directory(), file);
    ck_assert_msg(status == 0, "%s: %s", program, said);
}

/* The count numbers in text, whatever stands before and between them: "595.276 x 841.89 pts (A4)".
 */
static void read_numbers(const char *text, double *numbers, int count)
{
    const char *rest = text;
    for (int i = 0; i < count; i++) {
        rest += strcspn(rest, "0123456789");
        char *end;
        numbers[i] = strtod(rest, &end);
        ck_assert_msg(end != rest, "fewer than %d numbers in: %s", count, text);
        rest = end;
    }
}

/* ---- PDF ---------------------------------------------------------------------------------- */

/* A4: 210 by 297 mm (ISO 216). US Letter: 8.5 by 11 inches. ID-1: 85.60 by 53.98 mm (ISO/IEC 7810).
 * A6: 148 by 105 mm (ISO 216), lying. A point is 1/72 inch (ISO 32000-1, 8.3.2.3). */
static const struct {
    const char *options;
    double width_pt, height_pt;
} pages[] = {
    {"-o DIR/page.pdf", 210 * PT_PER_MM, 297 * PT_PER_MM},
    {"--paper letter -o DIR/page.pdf", 612, 792},
    {"--single hand-duo -o DIR/page.pdf", 85.60 * PT_PER_MM, 53.98 * PT_PER_MM},
    {"--single long-green -o DIR/page.pdf", 148 * PT_PER_MM, 105 * PT_PER_MM},
};

START_TEST(pdf_pages_have_their_sizes_in_points)
{
    char said[4096];
    double size_pt[2];
    must_run(pages[_i].options);
    ask(said, sizeof said, "pdfinfo", "page.pdf");
    const char *line = strstr(said, "Page size:");
    ck_assert_ptr_nonnull(line);
    read_numbers(line, size_pt, 2);
    assert_near(size_pt[0], pages[_i].width_pt, 0.006); /* six digits are printed */
    assert_near(size_pt[1], pages[_i].height_pt, 0.006);
    ck_assert_ptr_nonnull(strstr(said, "Pages:           1\n"));
}
END_TEST

/* The update that asks for true size is read by poppler (the version it names is reported) and by
 * Ghostscript, without a complaint. ISO 32000-1, Table 150. */
START_TEST(pdf_asks_for_its_true_size_and_readers_accept_it)
{
    char said[4096];
    must_run("-o DIR/page.pdf");
    ask(said, sizeof said, "pdfinfo", "page.pdf");
    ck_assert_ptr_nonnull(strstr(said, "PDF version:     1.6\n"));
    ck_assert_ptr_null(strstr(said, "rror"));
    ask(said, sizeof said, "gs -q -dNOPAUSE -dBATCH -sDEVICE=nullpage", "page.pdf");
    ck_assert_str_eq(said, "");
    ask(said, sizeof said, "grep -ac '/ViewerPreferences << /PrintScaling /None >>'", "page.pdf");
    ck_assert_str_eq(said, "1\n");
}
END_TEST

/* The words that must be on the sheet, as poppler reads them back. */
START_TEST(the_sheet_says_how_to_print_and_what_to_take_care_of)
{
    static const char *const words[] = {
        "Print at 100 %", "100.0 mm", "--bars 99.6,100.2", "matt paper", "Rotor blades",
        "Horn off before", "national rules", ARMSQUARE_VERSION,
        /* Where the card goes, the two commands, and how stickers are used. */
        "beside the card", "leads away from the arm", "Beside the servo", "Round the shaft",
        "armsquare measure", "armsquare advise photo.jpg --teeth", "--sticker",
        "Photograph both ends"};
    char said[16384];
    must_run("-o DIR/page.pdf");
    outside_run(said, sizeof said, "pdftotext -raw '%s/page.pdf' - | tr '\\n' ' '",
                outside_directory());
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        ck_assert_msg(strstr(said, words[i]) != NULL, "\"%s\" is missing in: %s", words[i], said);
}
END_TEST

/* The caption names the letters that are there, and no other. */
START_TEST(the_caption_of_the_stickers_is_true)
{
    static const char *const rows[][2] = {
        {"-o DIR/page.pdf", "A, B on hidden cranks, F fixed beside"},
        {"--sizes mini,stickers -o DIR/page.pdf", "A, B, C on hidden cranks, F, G fixed beside"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char said[16384];
        must_run(rows[i][0]);
        outside_run(said, sizeof said, "pdftotext -raw '%s/page.pdf' - | tr '\\n' ' '",
                    outside_directory());
        ck_assert_msg(strstr(said, rows[i][1]) != NULL, "%s: %s", rows[i][0], said);
    }
}
END_TEST

/* A word on the page with its box, as poppler tells it (points, y down). */
struct printed_word {
    double x0, y0, x1, y1;
    char text[64];
};

static int read_words(const char *file, struct printed_word *words, int room)
{
    static char said[400000];
    int status =
        outside_run(said, sizeof said, "pdftotext -bbox '%s/%s' -", outside_directory(), file);
    ck_assert_int_eq(status, 0);
    int count = 0;
    for (const char *at = said; (at = strstr(at, "<word ")); at++) {
        ck_assert_int_lt(count, room);
        struct printed_word *w = &words[count++];
        double box[4];
        read_numbers(at, box, 4);
        *w = (struct printed_word){box[0], box[1], box[2], box[3], ""};
        const char *text = strchr(at, '>') + 1;
        snprintf(w->text, sizeof w->text, "%.*s", (int)strcspn(text, "<"), text);
    }
    return count;
}

/* A font's box is higher than its letters: half of it above and below is air. */
static bool words_collide(const struct printed_word *a, const struct printed_word *b)
{
    double air_a = 0.25 * (a->y1 - a->y0), air_b = 0.25 * (b->y1 - b->y0);
    return a->x0 + 0.3 < b->x1 && b->x0 + 0.3 < a->x1 && a->y0 + air_a < b->y1 - air_b &&
           b->y0 + air_b < a->y1 - air_a;
}

/* However the text breaks on a paper and whatever cards are chosen, no word stands on another. */
START_TEST(no_word_on_the_sheet_stands_on_another)
{
    static const char *const options[] = {
        "-o DIR/page.pdf",
        "--paper letter -o DIR/page.pdf",
        "--sizes mini,stickers -o DIR/page.pdf",
        "--paper letter --sizes mini,stickers -o DIR/page.pdf",
        "--paper letter --sizes hand,hand,frame,frame,stickers -o DIR/page.pdf",
        "--sizes mini,mini,mini,mini,mini,mini,mini,mini,mini,mini,mini,mini -o DIR/page.pdf"};
    for (size_t i = 0; i < sizeof options / sizeof *options; i++) {
        struct printed_word words[600];
        must_run(options[i]);
        int count = read_words("page.pdf", words, 600);
        ck_assert_int_gt(count, 100);
        for (int a = 0; a < count; a++)
            for (int b = 0; b < a; b++)
                ck_assert_msg(!words_collide(&words[a], &words[b]), "%s: \"%s\" on \"%s\"",
                              options[i], words[a].text, words[b].text);
    }
}
END_TEST

/* Both bars carry their figures: 100 stands at the right end of the one and at the top of the
 * other, on the page of 297 mm in its lowest and its highest part. */
START_TEST(both_bars_carry_their_figures)
{
    struct printed_word words[600];
    bool low = false, high = false;
    must_run("-o DIR/page.pdf");
    int count = read_words("page.pdf", words, 600);
    for (int i = 0; i < count; i++)
        if (strcmp(words[i].text, "100") == 0) {
            low = low || words[i].y0 > 270 * PT_PER_MM;
            high = high || (words[i].y0 < 35 * PT_PER_MM && words[i].x0 > 160 * PT_PER_MM);
        }
    ck_assert(low);
    ck_assert(high);
}
END_TEST

/* Capitals of the words in the butt strip: on frame and mini nobody could read them, so they are
 * not there; hand and long have them. */
START_TEST(small_cards_carry_no_words_that_nobody_can_read)
{
    static const struct {
        const char *name;
        bool words;
    } rows[] = {{"hand-duo", true}, {"long-duo", true}, {"frame-duo", false}, {"mini-duo", false}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char options[64], said[1024];
        snprintf(options, sizeof options, "--single %s -o DIR/page.pdf", rows[i].name);
        must_run(options);
        outside_run(said, sizeof said, "pdftotext -raw '%s/page.pdf' - | tr -d ' \\n'",
                    outside_directory());
        ck_assert_msg((strstr(said, "SERVOCASE") != NULL) == rows[i].words, "%s: %s", rows[i].name,
                      said);
    }
}
END_TEST

/* ---- SVG, PNG ------------------------------------------------------------------------------- */

START_TEST(svg_is_well_formed_and_measured_in_millimetres)
{
    char said[4096];
    must_run("--paper letter -o DIR/sheet.svg");
    ask(said, sizeof said, "xmllint --noout", "sheet.svg");
    ck_assert_str_eq(said, "");
    ask(said, sizeof said, "xmllint --xpath 'concat(/*/@width,\" \",/*/@height,\" \",/*/@viewBox)'",
        "sheet.svg");
    double n[6]; /* width, height, then the view box: x, y, width, height */
    ck_assert_ptr_nonnull(strstr(said, "mm "));
    read_numbers(said, n, 6);
    assert_near(n[0], 8.5 * 25.4, 1e-6);
    assert_near(n[1], 11 * 25.4, 1e-6);
    assert_near(n[4] / n[0], 1, 1e-9); /* a unit is a millimetre */
    assert_near(n[5] / n[1], 1, 1e-9);
}
END_TEST

/* pHYs: round(dpi / 0.0254) pixels per metre (PNG 1.2, 4.2.4.2). Pixels: the card's size to the
 * nearest. hand: 85.60 by 53.98 mm (ISO/IEC 7810 ID-1). */
static const struct {
    int dpi;
    const char *phys;
    int width, height;
} pictures[] = {
    {72, "2835x2835", 243, 153},  {96, "3780x3780", 324, 204},     {150, "5906x5906", 506, 319},
    {200, "7874x7874", 674, 425}, {300, "11811x11811", 1011, 638}, {600, "23622x23622", 2022, 1275},
};

START_TEST(png_has_the_right_density_and_size)
{
    char options[96], said[4096], expected[64];
    snprintf(options, sizeof options, "--single hand-duo --dpi %d -o DIR/card.png",
             pictures[_i].dpi);
    must_run(options);
    ask(said, sizeof said, "pngcheck -v", "card.png");
    snprintf(expected, sizeof expected, "%s pixels/meter", pictures[_i].phys);
    ck_assert_msg(strstr(said, expected) != NULL, "%d dpi: %s", pictures[_i].dpi, said);
    snprintf(expected, sizeof expected, "%d x %d image, 24-bit RGB", pictures[_i].width,
             pictures[_i].height);
    ck_assert_msg(strstr(said, expected) != NULL, "%d dpi: %s", pictures[_i].dpi, said);
}
END_TEST

/* ---- list ----------------------------------------------------------------------------------- */

START_TEST(the_list_names_every_card_with_its_size)
{
    char said[16384];
    ck_assert_int_eq(run_card(said, sizeof said, "--list --json"), 0);
    ck_assert_ptr_nonnull(strstr(said, "\"name\": \"hand-duo\""));
    ck_assert_ptr_nonnull(strstr(said, "\"tint\": \"duo\""));
    ck_assert_ptr_nonnull(strstr(said, "\"width_mm\": 85.6"));
    ck_assert_ptr_nonnull(strstr(said, "\"height_mm\": 53.98"));
    ck_assert_int_eq(run_card(said, sizeof said, "--list"), 0);
    ck_assert_ptr_nonnull(strstr(said, "mini-pink"));
}
END_TEST

/* ---- mistakes ------------------------------------------------------------------------------- */

static const struct {
    const char *options;
    int status;
    const char *says;
} mistakes[] = {
    {"", 2, "where the file goes"},
    {"--single hand-duo", 2, "where the file goes"},
    {"--single hand-plaid -o DIR/x.png", 2, "no card \"hand-plaid\""},
    {"--tint plaid -o DIR/x.pdf", 2, "no tint \"plaid\""},
    {"--sizes hand,huge -o DIR/x.pdf", 2, "no size \"huge\""},
    {"--sizes '' -o DIR/x.pdf", 2, "a size is missing"},
    {"--sizes hand, -o DIR/x.pdf", 2, "a size is missing"},
    {"--sizes long,long,long -o DIR/x.pdf", 2, "do not fit on one page"},
    {"--sizes mini,mini,mini,mini,mini,mini,mini,mini,mini,mini,mini,mini,mini -o DIR/x.pdf", 2,
     "at most 12 cards"},
    {"--paper a3 -o DIR/x.pdf", 2, "no paper \"a3\""},
    {"-o DIR/x.jpg", 2, ".pdf, .svg or .png"},
    {"-o DIR/x", 2, ".pdf, .svg or .png"},
    {"-o ''", 2, ".pdf, .svg or .png"},
    {"--dpi 49 -o DIR/x.png", 2, "between 50 and 2400"},
    {"--dpi 2401 -o DIR/x.png", 2, "between 50 and 2400"},
    {"--dpi 300,5 -o DIR/x.png", 2, "decimal comma"},
    {"--dpi nan -o DIR/x.png", 2, "is not a number"},
    {"--dpi 300x -o DIR/x.png", 2, "is not a number"},
    {"--dpi '' -o DIR/x.png", 2, "is not a number"},
    {"-o DIR/x.pdf extra", 2, "\"extra\""},
    {"--frobnicate -o DIR/x.pdf", 2, "frobnicate"},
    {"--json -o DIR/x.pdf", 2, "--list"},
    {"-o", 2, "-o wants a value after it"},
    {"--single hand-duo --tint green -o DIR/x.pdf", 2, "leave out --tint"},
    {"--single hand-duo --sizes mini -o DIR/x.pdf", 2, "leave out --sizes"},
    {"--single hand-duo --paper a4 -o DIR/x.pdf", 2, "leave out --paper"},
    {"--list -o DIR/x.pdf", 2, "leave out -o"},
    {"--list --json -o DIR/x.pdf", 2, "leave out -o"},
    {"--list --tint green", 2, "leave out --tint"},
    {"--list --dpi 600", 2, "leave out --dpi"},
    {"--list --single hand-duo", 2, "leave out --single"},
    {"--dpi 300 -o DIR/x.pdf", 2, "--dpi is for .png files"},
    {"--single hand-duo --dpi 300 -o DIR/x.svg", 2, "--dpi is for .png files"},
    {"-o DIR/no/such/place/x.pdf", 1, "its folder is not there; make it first"},
    {"--single hand-duo -o DIR/no/such/place/x.png", 1, "its folder is not there; make it first"},
};

START_TEST(a_mistake_gets_one_sentence_and_no_file)
{
    char said[2048], left[64];
    int status = run_card(said, sizeof said, mistakes[_i].options);
    ck_assert_msg(status == mistakes[_i].status && strstr(said, mistakes[_i].says),
                  "card %s: status %d, %s", mistakes[_i].options, status, said);
    const char *end = strchr(said, '\n');
    ck_assert_msg(end && !end[1], "card %s: more than a line: %s", mistakes[_i].options, said);
    outside_run(left, sizeof left, "ls '%s' | grep -c '^x' || true", outside_directory());
    ck_assert_str_eq(left, "0\n");
}
END_TEST

START_TEST(help_goes_to_standard_output_with_an_example)
{
    char said[4096];
    ck_assert_int_eq(run_card(said, sizeof said, "--help 2>/dev/null"), 0);
    ck_assert_ptr_nonnull(strstr(said, "example:\n  armsquare card"));
}
END_TEST

START_TEST(a_written_sheet_says_what_comes_next)
{
    char said[2048];
    ck_assert_int_eq(run_card(said, sizeof said, "-o DIR/next.pdf"), 0);
    ck_assert_msg(strstr(said, "Print it at 100 %") && strstr(said, "both printed bars"), "%s",
                  said);
    ck_assert_int_eq(run_card(said, sizeof said, "--single hand-duo -o DIR/next.png"), 0);
    ck_assert_msg(strstr(said, "Print it at 100 %") && !strstr(said, "bars"), "%s", said);
}
END_TEST

START_TEST(a_full_disk_is_told)
{
    char said[2048];
    ck_assert_int_eq(run_card(said, sizeof said, "--list > /dev/full"), 1);
    ck_assert_int_eq(run_card(said, sizeof said, "--list --json > /dev/full"), 1);
}
END_TEST

#define ROWS(table) ((int)(sizeof(table) / sizeof *(table)))

int main(void)
{
    outside_directory();
    Suite *suite = suite_create("armsquare card");
    TCase *files = tcase_create("files");
    tcase_set_timeout(files, 60);
    tcase_add_loop_test(files, pdf_pages_have_their_sizes_in_points, 0, ROWS(pages));
    tcase_add_test(files, pdf_asks_for_its_true_size_and_readers_accept_it);
    tcase_add_test(files, the_sheet_says_how_to_print_and_what_to_take_care_of);
    tcase_add_test(files, the_caption_of_the_stickers_is_true);
    tcase_add_test(files, no_word_on_the_sheet_stands_on_another);
    tcase_add_test(files, both_bars_carry_their_figures);
    tcase_add_test(files, small_cards_carry_no_words_that_nobody_can_read);
    tcase_add_test(files, svg_is_well_formed_and_measured_in_millimetres);
    tcase_add_loop_test(files, png_has_the_right_density_and_size, 0, ROWS(pictures));
    suite_add_tcase(suite, files);
    TCase *words = tcase_create("words");
    tcase_add_test(words, the_list_names_every_card_with_its_size);
    tcase_add_loop_test(words, a_mistake_gets_one_sentence_and_no_file, 0, ROWS(mistakes));
    tcase_add_test(words, help_goes_to_standard_output_with_an_example);
    tcase_add_test(words, a_written_sheet_says_what_comes_next);
    tcase_add_test(words, a_full_disk_is_told);
    suite_add_tcase(suite, words);
    return run_suite(suite);
}
