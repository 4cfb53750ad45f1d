/* The report and the comparison: what they say, read back by other programs (poppler's pdfinfo,
 * pdftotext, pdffonts; skipped where they are not installed). */
#include "check_main.h"
#include "job/job_advice.h"
#include "job/job_compare.h"
#include "job/job_demo_photo.h"
#include "job/job_finding.h"
#include "job/job_rows.h"
#include "job_maker.h"
#include "report/report.h"

#include <errno.h>
#include <math.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char *const plan_text =
    "plan: small\n"
    "[safe]\ntitle: Safe\nkind: confirm\n"
    "[horn]\ntitle: Horn <script>alert(1)</script> & \"quotes\"\nkind: square\nrests on: safe\n"
    "hardware: teeth = 25; horn-arm-mm = 12; base-mm = 48; crank-arm-mm = 14\n"
    "[crank]\ntitle: Crank\nkind: parallel\nrests on: horn\n"
    "[pair]\ntitle: Pair\nkind: link pair\nrests on: horn\n";
static const char *folder;
static char *path, *photo, *photo_folder;
static struct job *job;
static struct job_signature by;

static void measure(const char *key, double value, double u, bool with_photo)
{
    struct job_reading reading = {"arm", value, u, "{}"};
    struct job_photo kept = {0, "annotated", "a.jpg", "image/jpeg", photo, NULL, 0};
    struct job_finding finding = {value,    u, 2,    true, "photo", "",
                                  &reading, 1, NULL, 0,    &kept,   with_photo};
    ck_assert(job_record_finding(job, &by, key, &finding, ""));
}

/* Once, before the tests part into processes of their own. */
static void take_photo(void)
{
    struct demo_scene scene = {1, 90, 20, 8, DEMO_BLACK, 8, 30, 5, 3, DEMO_HORN};
    photo_folder = strdup(job_maker_folder());
    photo = job_maker_path(photo_folder, "a.jpg");
    ck_assert(job_demo_photo(&scene, photo));
}

static void drop_photo(void)
{
    job_maker_clean(photo_folder);
    free(photo_folder);
    free(photo);
}

static void set_up(void)
{
    folder = job_maker_folder();
    path = job_maker_path(folder, "a.job");
    by = job_sign("tester");
    job_maker_new(path, plan_text);
    job = job_maker_open(path, JOB_WRITE);
    ck_assert(job_record_confirmation(job, &by, "safe", true, ""));
    measure("horn", 0.1, 0.05, true);
    measure("crank", 0.3, 0.01, false);
    measure("pair", 0.01, 0.01, false);
}

static void tear_down(void)
{
    job_close(job);
    job_maker_clean(folder);
    free(path);
}

static char *read_all(FILE *from)
{
    char *text = NULL;
    size_t size = 0, room = 0, got;
    do {
        if (size + 65536 > room) {
            char *more = realloc(text, room = room * 2 + 131072);
            ck_assert_ptr_nonnull(more);
            text = more;
        }
        got = fread(text + size, 1, 65536, from);
        size += got;
    } while (got);
    text[size] = '\0';
    return text;
}

static char *html_of_job(void)
{
    char *file = job_maker_path(folder, "r.html");
    FILE *to = fopen(file, "wb+");
    ck_assert(report_write(job, report_html_open(to, "Title"), false, NULL));
    rewind(to);
    char *text = read_all(to);
    fclose(to);
    free(file);
    return text;
}

static int count_of(const char *text, const char *word)
{
    int count = 0;
    for (const char *at = text; (at = strstr(at, word)); at += strlen(word))
        count++;
    return count;
}

/* What a program says about the PDF; NULL when the program is not there. */
static char *ask(const char *program, const char *file, const char *rest)
{
    char command[600];
    snprintf(command, sizeof command, "command -v %s >/dev/null", program);
    if (system(command) != 0)
        return NULL;
    snprintf(command, sizeof command, "%s '%s' %s 2>/dev/null", program, file, rest);
    FILE *from = popen(command, "r");
    char *text = read_all(from);
    ck_assert_int_eq(pclose(from), 0);
    return text;
}

static char *pdf_of_job(void)
{
    int pages = 0;
    char *file = job_maker_path(folder, "r.pdf");
    ck_assert(report_write(job, report_pdf_count("Title", &pages), false, NULL));
    FILE *to = fopen(file, "wb");
    ck_assert(report_write(job, report_pdf_open(to, "Title", pages), false, NULL));
    ck_assert_int_eq(fclose(to), 0);
    return file;
}

/* ---- HTML --------------------------------------------------------------------------------- */

START_TEST(nothing_in_a_job_becomes_markup)
{
    char *html = html_of_job();
    ck_assert_ptr_null(strstr(html, "<script"));
    ck_assert(strstr(html, "Horn &lt;script&gt;alert(1)&lt;/script&gt; &amp; &quot;quotes&quot;"));
    free(html);
}
END_TEST

START_TEST(the_page_needs_nothing_beside_it)
{
    char *html = html_of_job();
    int pictures = 0;
    for (char *at = html; (at = strstr(at, " src=\"")); at += 6, pictures++)
        ck_assert_int_eq(strncmp(at + 6, "data:image/", 11), 0);
    ck_assert_int_ge(pictures, 3);
    ck_assert_ptr_null(strstr(html, "url("));
    ck_assert_ptr_null(strstr(html, "<link"));
    free(html);
}
END_TEST

/* RFC 4648, section 4: the base64 of a JPEG, which begins FF D8 FF, begins "/9j/". */
START_TEST(photos_are_inside_as_jpeg)
{
    char *html = html_of_job();
    ck_assert(strstr(html, "data:image/jpeg;base64,/9j/"));
    free(html);
}
END_TEST

static void change_tables(const char *sql)
{
    sqlite3 *db;
    ck_assert_int_eq(sqlite3_open(path, &db), SQLITE_OK);
    ck_assert_int_eq(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
}

/* What a row says of its photo's length is no length: a file may come from elsewhere. */
START_TEST(a_photo_is_as_long_as_its_bytes)
{
    static const char *const sizes[] = {"-1", "1", "9223372036854775807"};
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        char sql[80];
        snprintf(sql, sizeof sql, "UPDATE photo SET size = %s", sizes[i]);
        change_tables(sql);
        char *html = html_of_job();
        ck_assert_msg(strstr(html, "data:image/jpeg;base64,/9j/"), "size %s", sizes[i]);
        free(html);
        ck_assert(!job_photos_fit(job));
        ck_assert_int_eq(job_trouble(job), JOB_UNFIT);
        ck_assert(strstr(job_trouble_detail(job), "photo \"a.jpg\" of entry 3"));
        job_clear_trouble(job);
    }
}
END_TEST

START_TEST(every_station_and_every_entry_is_told)
{
    char *html = html_of_job();
    static const char *const words[] = {
        "Set-up complete", "Crank",       "Pair",  "Demonstration", "Before power is applied",
        "History",         "ISO 14253-1", "+0.1°", "+0.01\u202Fmm", "Horn, hub to ball"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        ck_assert_msg(strstr(html, words[i]), "\"%s\" is missing", words[i]);
    ck_assert(strstr(html, "4 of 4 good"));
    free(html);
}
END_TEST

/* However many they are: a file from elsewhere may hold more than the program writes. */
START_TEST(every_reading_and_every_term_of_the_budget_is_told)
{
    enum { MANY = 90 };
    struct job_reading readings[MANY];
    struct job_budget_line budget[MANY];
    char roles[MANY][16], terms[MANY][24];
    for (int i = 0; i < MANY; i++) {
        snprintf(roles[i], sizeof roles[i], "arm %d", i);
        snprintf(terms[i], sizeof terms[i], "cause %d", i);
        readings[i] = (struct job_reading){roles[i], 0.1, 0.05, "{}"};
        budget[i] = (struct job_budget_line){terms[i], 0.01, 'B'};
    }
    struct job_finding finding = {0.1,      0.05, 2,      true, "by eye", "",
                                  readings, MANY, budget, MANY, NULL,     0};
    ck_assert(job_record_finding(job, &by, "horn", &finding, ""));
    char *html = html_of_job();
    for (int i = 0; i < MANY; i++) {
        char words[32];
        snprintf(words, sizeof words, "arm %d 0.1°", i);
        ck_assert_msg(strstr(html, words) != NULL, "reading %d is missing", i);
        snprintf(words, sizeof words, "cause %d 0.02°", i);
        ck_assert_msg(strstr(html, words) != NULL, "term %d is missing", i);
    }
    free(html);
}
END_TEST

/* One quantity has one number of digits, that of the picture: U of 0.1 warrants one decimal
 * (plus_minus.h). Measured with u 0.05 and k 2: 0.1 in the table, the history, the text and beside
 * the photo. */
START_TEST(a_figure_looks_the_same_wherever_it_stands)
{
    char *html = html_of_job();
    ck_assert_int_eq(count_of(html, "+0.1°\u00A0±\u00A00.1°"), 3); /* table, ruler, history */
    ck_assert(strstr(html, "<dd>0.1°\u00A0±\u00A00.1° counter-clockwise of square</dd>"));
    ck_assert(strstr(html, "<b>0.1°\u00A0±\u00A00.1° counter-clockwise of square</b>"));
    ck_assert(
        strstr(html, "<dd>0.01\u202Fmm\u00A0±\u00A00.02\u202Fmm, the first link longer</dd>"));
    ck_assert_ptr_null(strstr(html, "0.10°"));
    ck_assert_ptr_null(strstr(html, ">U<"));
    free(html);
}
END_TEST

/* A horn a tooth off whose reading is gone is not at 0 degrees: 360 / 25 are 14.4. */
START_TEST(no_tooth_is_ordered_without_a_reading)
{
    static const char *const changes[] = {"SELECT 1", "DELETE FROM reading"};
    struct job_view view;
    measure("horn", 14.4, 0.1, false);
    for (int i = 0; i < 2; i++) {
        change_tables(changes[i]);
        ck_assert(job_view_load(job, 0, &view));
        char *words = job_advice_words(job, &view, 1, JOB_TEXT);
        ck_assert_msg(words && !strstr(words, "Leave"), "%s", words);
        ck_assert_msg((strstr(words, "1 tooth") != NULL) == (i == 0), "%s", words);
        free(words);
        job_view_clear(&view);
    }
    ck_assert(!job_check(job));
    ck_assert_int_eq(job_trouble(job), JOB_UNFIT);
}
END_TEST

START_TEST(what_is_found_has_its_sign)
{
    measure("crank", -0.3, 0.01, false);
    char *html = html_of_job();
    ck_assert(strstr(html, "data-name=\"Found\">+0.1°"));
    ck_assert(strstr(html, "data-name=\"Found\">\u22120.30°"));
    ck_assert(strstr(html, "0.30°\u00A0±\u00A00.02° clockwise of the first arm"));
    free(html);
}
END_TEST

/* 12 + 14 + 48 mm do not reach 90 (hand arithmetic): a drawing that is missing says why. */
START_TEST(lengths_that_never_meet_are_told)
{
    static const struct plan_fact link = {"link-mm", "90"};
    ck_assert(job_record_facts(job, &by, "horn", &link, 1, ""));
    char *html = html_of_job();
    ck_assert(strstr(html, "so none is drawn. crank: these lengths never meet"));
    free(html);
}
END_TEST

/* Who checks the record by hand needs what was read: -90.3 is clockwise of square, 90.3 would be
 * counter-clockwise (hand arithmetic). */
START_TEST(a_reading_keeps_its_minus)
{
    struct job_reading reading[2] = {{"first arm", -90.3, 0.05, ""},
                                     {"second arm", -90.1, 0.05, ""}};
    struct job_finding finding = {0.2,     0.0707, 1.96, true, "by eye", "",
                                  reading, 2,      NULL, 0,    NULL,     0};
    ck_assert(job_record_finding(job, &by, "crank", &finding, ""));
    char *html = html_of_job();
    ck_assert(strstr(html, "first arm \u221290.3°\u00A0±"));
    ck_assert(strstr(html, "second arm \u221290.1°\u00A0±"));
    ck_assert_ptr_null(strstr(html, "arm 90"));
    free(html);
}
END_TEST

/* How a sticker was glued is unknown (README.md): its direction is no angle of the crank's. */
START_TEST(a_stickers_direction_is_told_as_such)
{
    static const char record[] = "{\"arms\":[],\"stickers\":[{\"name\":\"A12\"}]}";
    struct job_reading reading = {"neutral", 158.2, 0.05, record};
    struct job_finding finding = {0.2,      0.05, 1.96, true, "photo", "",
                                  &reading, 1,    NULL, 0,    NULL,    0};
    ck_assert(job_record_finding(job, &by, "crank", &finding, ""));
    char *html = html_of_job();
    ck_assert(strstr(html, "neutral (as the sticker was glued) 158.2°"));
    free(html);
}
END_TEST

/* Before the table, and what to do about it with it. */
START_TEST(the_cover_says_what_is_next)
{
    measure("crank", 1.5, 0.1, false);
    char *html = html_of_job();
    const char *next = strstr(html, "<em>Next</em><b><a href=\"#station-3\">Crank</a></b>"
                                    "<span>Turn the second arm 1.5° clockwise");
    ck_assert_ptr_nonnull(next);
    ck_assert(next < strstr(html, "<h2>"));
    ck_assert(strstr(html, "id=\"station-3\""));
    ck_assert_int_eq(count_of(html, "class=\"more r"), 1); /* the good ones have nothing to do */
    free(html);
}
END_TEST

/* The photo's own tick stays in its pixels: the page says that it counts no longer. */
START_TEST(a_photo_from_before_a_change_is_stamped)
{
    struct plan_fact teeth = {"teeth", "24"};
    char *before = html_of_job();
    ck_assert_ptr_null(strstr(before, "out of date"));
    free(before);
    ck_assert(job_record_facts(job, &by, "horn", &teeth, 1, ""));
    char *html = html_of_job();
    ck_assert(strstr(html, "<p class=\"t5\">out of date</p>"));
    ck_assert(strstr(html, "Measure again. Its hardware changed: teeth went from 25 to 24."));
    free(html);
    char *file = pdf_of_job(), *text = ask("pdftotext", file, "-layout -");
    if (text)
        ck_assert(strstr(text, "out of date"));
    free(text);
    free(file);
}
END_TEST

/* What a pair's readings told with their ± is not told again, nor called by a type of its own. */
START_TEST(what_a_plus_minus_is_from_is_told_once)
{
    struct job_reading readings[2] = {{"first arm", 90.1, 0.03, "{}"},
                                      {"second arm", 90.3, 0.04, "{}"}};
    struct job_budget_line budget[3] = {
        {"first arm", 0.03, 'B'}, {"second arm", 0.04, 'B'}, {"lens", 0.012, 'B'}};
    struct job_finding finding = {0.2, 0.05, 2, true, "photo", "", readings, 2, budget, 3, NULL, 0};
    ck_assert(job_record_finding(job, &by, "crank", &finding, ""));
    char *html = html_of_job();
    ck_assert(strstr(html, "first arm 90.10°\u00A0±\u00A00.06°"));
    ck_assert(strstr(html, "<dd>lens 0.02°</dd>"));
    ck_assert_int_eq(count_of(html, "first arm 0.0"), 0);
    ck_assert_ptr_null(strstr(html, "(B)"));
    free(html);
}
END_TEST

/* A name each, to be found by the eye, where a sentence would hide them. */
START_TEST(what_was_not_done_again_is_a_list)
{
    struct job_view then, now;
    struct job_comparison c;
    char *html = NULL;
    size_t size = 0;
    ck_assert(job_view_load(job, 0, &then));
    measure("horn", 0.2, 0.05, false);
    ck_assert(job_view_load(job, 0, &now));
    ck_assert(job_compare(&then, &now, "before", false, &c));
    FILE *to = open_memstream(&html, &size);
    ck_assert(report_write(job, report_html_open(to, "Title"), false, &c));
    fclose(to);
    ck_assert(strstr(html, "<li>Crank</li>\n<li>Pair</li>"));
    free(html);
    FILE *sink = fopen("/dev/null", "wb");
    ck_assert(report_write(job, report_pdf_open(sink, "Title", 0), false, &c));
    fclose(sink);
    job_comparison_clear(&c);
    job_view_clear(&then);
    job_view_clear(&now);
}
END_TEST

/* What moved by most is what the comparison is read for. */
START_TEST(what_moved_is_counted_and_comes_first)
{
    struct job_view then, now;
    struct job_comparison c;
    char *html = NULL;
    size_t size = 0;
    ck_assert(job_view_load(job, 0, &then));
    measure("horn", 0.12, 0.05, false);
    measure("crank", 1.9, 0.01, false); /* 1.6 of 0.5 */
    ck_assert(job_view_load(job, 0, &now));
    ck_assert(job_compare(&then, &now, "before", false, &c));
    FILE *to = open_memstream(&html, &size);
    ck_assert(report_write(job, report_html_open(to, "Title"), false, &c));
    fclose(to);
    char *at =
        strstr(html, "<li>1 moved by more than its tolerance</li>\n<li>1 shows no movement</li>"
                     "\n<li>2 were not done again</li>");
    ck_assert_ptr_nonnull(at);
    at = strstr(at, "class=\"compared\"");
    ck_assert_ptr_nonnull(at);
    ck_assert(strstr(at, ">Crank<") < strstr(at, ">Horn &lt;script"));
    free(html);
    job_comparison_clear(&c);
    job_view_clear(&then);
    job_view_clear(&now);
}
END_TEST

START_TEST(nothing_found_has_no_findings)
{
    char *file = job_maker_path(folder, "begun.job");
    job_maker_new(file, plan_text);
    job_close(job);
    job = job_maker_open(file, JOB_WRITE);
    free(file);
    char *html = html_of_job();
    ck_assert(strstr(html, "<h2>Stations</h2>"));
    ck_assert(!strstr(html, "Findings") && !strstr(html, "The ruler"));
    free(html);
}
END_TEST

START_TEST(a_full_disk_shows)
{
    FILE *to = fopen("/dev/full", "wb");
    if (!to)
        return;
    ck_assert(!report_write(job, report_html_open(to, "Title"), false, NULL));
    ck_assert_int_eq(errno, ENOSPC);
    ck_assert(!report_write(job, report_pdf_open(to, "Title", 0), false, NULL));
    ck_assert_int_eq(errno, ENOSPC);
    fclose(to);
}
END_TEST

/* The name of a mark, as long as one may be, in letters of two bytes: at any length before them, it
 * stands whole in the heading. */
START_TEST(a_long_name_stands_whole_in_the_pdf)
{
    char name[PLAN_MAX_TEXT + 1] = "";
    struct job_view view;
    struct job_comparison c;
    ck_assert(job_view_load(job, 0, &view));
    for (int ahead = 0; ahead < 2; ahead++) {
        size_t length = (size_t)snprintf(name, sizeof name, "%s", ahead ? "a" : "");
        for (; length + 2 <= PLAN_MAX_TEXT; length += 2)
            memcpy(name + length, "é", 3);
        ck_assert(job_compare(&view, &view, name, false, &c));
        FILE *sink = fopen("/dev/null", "wb");
        errno = 0;
        ck_assert_msg(report_write(job, report_pdf_open(sink, "Title", 0), false, &c), "%s",
                      strerror(errno));
        fclose(sink);
        job_comparison_clear(&c);
    }
    job_view_clear(&view);
}
END_TEST

/* What is wrong is told, and not what went wrong before it. */
START_TEST(text_that_no_pdf_holds_is_told_as_such)
{
    FILE *sink = fopen("/dev/null", "wb");
    errno = ENOENT;
    ck_assert(!report_write(job, report_pdf_open(sink, "Title \xc3", 0), false, NULL));
    ck_assert_int_eq(errno, EILSEQ);
    fclose(sink);
}
END_TEST

/* ---- PDF ---------------------------------------------------------------------------------- */

/* ISO 216: A4 is 210 x 297 mm, 595.276 x 841.89 points of 1/72 inch (ISO 32000-1, 8.3.2.3). */
START_TEST(poppler_reads_the_pdf)
{
    char *file = pdf_of_job(), last[32];
    char *about = ask("pdfinfo", file, ""), *text = ask("pdftotext", file, "-layout -");
    char *fonts = ask("pdffonts", file, ""), *images = ask("pdfimages", file, "-list");
    if (about && text && fonts && images) {
        int pages = (int)strtol(strstr(about, "Pages:") + 6, NULL, 10);
        ck_assert(strstr(about, "595.276 x 841.89 pts (A4)"));
        snprintf(last, sizeof last, "Page %d of %d", pages, pages);
        ck_assert_msg(strstr(text, last), "%s is missing", last);
        ck_assert(strstr(text, "4 of 4 good"));
        ck_assert(strstr(text, "History"));
        ck_assert(strstr(text, "+0.1°"));
        ck_assert_ptr_null(strstr(fonts, " no  yes")); /* embedded: no */
        ck_assert(strstr(images, "jpeg"));
    }
    free(about);
    free(text);
    free(fonts);
    free(images);
    free(file);
}
END_TEST

/* The cover leaves most of the first page to the table: it begins in its upper half, 148.5 mm of
 * 297. */
START_TEST(the_table_begins_high_on_the_first_page)
{
    char *file = pdf_of_job(), *words = ask("pdftotext", file, "-bbox -f 1 -l 1 -");
    if (words) {
        char *at = strstr(words, ">Stations</word>");
        ck_assert_ptr_nonnull(at);
        *at = '\0';
        double top_pt = strtod(strstr(strrchr(words, '<'), "yMin=\"") + 6, NULL);
        ck_assert_double_lt(top_pt, 148.5 * 72 / 25.4);
        ck_assert_double_gt(top_pt, 0);
    }
    free(words);
    free(file);
}
END_TEST

/* Three stations were measured; the first draws a linkage below its text. */
START_TEST(a_drawing_leaves_the_text_above_it)
{
    char *file = pdf_of_job(), *text = ask("pdftotext", file, "-layout -");
    if (text)
        ck_assert_int_eq(count_of(text, "Readings"), 3);
    free(text);
    free(file);
}
END_TEST

/* How far down the text of a page reaches, its footer apart, mm. page: of pdftotext -bbox. */
static double text_bottom_mm(const char *page)
{
    const double footer_mm = 277;
    const char *end = strstr(page, "</page>");
    double lowest = 0;
    for (const char *at = page; (at = strstr(at, "yMax=\"")) && at < end; at++) {
        double mm = strtod(at + 6, NULL) * 25.4 / 72;
        lowest = mm < footer_mm ? fmax(lowest, mm) : lowest;
    }
    return lowest;
}

/* No page of findings before the drawing is left blank by more than that takes, and the closing
 * list is not torn apart. */
static void assert_pages_are_filled(const char *pdf)
{
    const double drawing_mm = 115; /* 0.8 of its sheet, with its caption */
    char *words = ask("pdftotext", pdf, "-bbox -"), *text = ask("pdftotext", pdf, "-layout -");
    char *drawing = words ? strstr(words, ">Linkage</word>") : NULL;
    char *page = words ? strstr(words, ">Findings</word>") : NULL;
    while (page && drawing && (page = strstr(page, "</page>")) && page < drawing) {
        char *top = page;
        while (strncmp(top, "<page ", 6) != 0)
            top--;
        ck_assert_double_gt(text_bottom_mm(top), 277 - drawing_mm);
        page++;
    }
    char *closing = text ? strstr(text, "How it was measured") : NULL;
    ck_assert(!text || closing);
    ck_assert(!text ||
              strcspn(closing, "\f") > (size_t)(strstr(closing, "Check again:") - closing));
    free(words);
    free(text);
}

/* Wherever on a page its station begins: with up to five stations above it. */
START_TEST(a_linkage_is_drawn_on_its_station_s_page)
{
    char *plan = NULL, key[16], last[64];
    size_t size = 0;
    struct plan_fact facts[] = {{"horn-arm-mm", "12"}, {"base-mm", "48"}, {"crank-arm-mm", "14"}};
    FILE *to = open_memstream(&plan, &size);
    fputs("plan: small\n", to);
    for (int i = 0; i < _i; i++)
        fprintf(to, "[s%d]\ntitle: Filling\nkind: level\n", i);
    fputs("[drawn]\ntitle: Drawn one\nkind: square\n", to);
    fclose(to);
    char *file = job_maker_path(folder, "many.job");
    job_maker_new(file, plan);
    free(plan);
    job_close(job);
    job = job_maker_open(file, JOB_WRITE);
    free(file);
    for (int i = 0; i < _i; i++) {
        snprintf(key, sizeof key, "s%d", i);
        measure(key, 0, 0.05, true);
    }
    ck_assert(job_record_facts(job, &by, "drawn", facts, 3, ""));
    measure("drawn", 0, 0.05, true);
    char *pdf = pdf_of_job();
    bool found = false;
    for (int page = 1; page < 6 && !found; page++) {
        snprintf(last, sizeof last, "-f %d -l %d -layout -", page, page);
        char *text = ask("pdftotext", pdf, last);
        const char *drawing = text ? strstr(text, "Linkage at station") : NULL;
        found = !text || drawing;
        if (drawing) { /* its title and its figures, below the station's own title */
            const char *title = strstr(text, "Drawn one");
            ck_assert_msg(title && title < drawing, "page %d", page);
            ck_assert(strstr(text, "horn 12 mm"));
        }
        free(text);
    }
    ck_assert(found);
    assert_pages_are_filled(pdf);
    free(pdf);
}
END_TEST

/* ---- Comparison and findings -------------------------------------------------------------- */

static const struct job_comparison_row *row_of(const struct job_comparison *c, const char *key)
{
    for (int i = 0; i < c->count; i++)
        if (strcmp(c->rows[i].key, key) == 0)
            return &c->rows[i];
    ck_abort_msg("no row");
    return NULL;
}

/* JCGM 100:2008, 5.1.2: the uncertainty of a difference of independent findings is the root of the
 * sum of squares; ISO 14253-1 decides whether it is more than the tolerance. */
START_TEST(a_comparison_tells_moved_from_uncertain)
{
    struct job_view then, now;
    struct job_comparison c;
    ck_assert(job_view_load(job, 0, &then));
    measure("horn", 0.4, 0.05, false);  /* moved 0.3, U = sqrt(0.1^2 + 0.1^2) = 0.1414 */
    measure("crank", 1.9, 0.01, false); /* moved 1.6, tolerance 0.5 */
    ck_assert(job_view_load(job, 0, &now));
    ck_assert(job_compare(&then, &now, "x", false, &c));
    const struct job_comparison_row *horn = row_of(&c, "horn");
    assert_near(horn->moved, 0.3, 1e-12);
    assert_near(horn->moved_expanded, 0.14142135623731, 1e-12);
    ck_assert_int_eq(horn->change, JOB_MOVED);
    ck_assert_int_eq(row_of(&c, "crank")->change, JOB_MOVED_FAR);
    ck_assert_int_eq(row_of(&c, "pair")->change, JOB_UNTOUCHED);
    job_comparison_clear(&c);
    /* The same numbers at another time, in another file, were measured by somebody. */
    for (int i = 0; i < then.event_count; i++)
        strcpy(then.events[i].at, "2001-01-01T00:00:00Z");
    ck_assert(job_compare(&then, &now, "x", true, &c));
    ck_assert_int_eq(row_of(&c, "pair")->change, JOB_SAME);
    /* Less than U is no proof of standing still. */
    ck_assert_str_eq(job_change_words(JOB_SAME, false, 1), "shows no movement");
    ck_assert_int_eq(row_of(&c, "safe")->change, JOB_HOLDS);
    job_comparison_clear(&c);
    job_view_clear(&then);
    job_view_clear(&now);
}
END_TEST

START_TEST(no_movement_is_told_between_two_references)
{
    struct job_view then, now;
    struct job_comparison c;
    struct job_reading reading = {"arm", 92.1, 0.05, "{\"reference\":{\"kind\":\"points\"}}"};
    struct job_finding finding = {2.1, 0.05, 2, true, "photo", "", &reading, 1, NULL, 0, NULL, 0};
    ck_assert(job_view_load(job, 0, &then));
    ck_assert(job_record_finding(job, &by, "horn", &finding, ""));
    ck_assert(job_view_load(job, 0, &now));
    ck_assert(job_compare(&then, &now, "x", false, &c));
    const struct job_comparison_row *horn = row_of(&c, "horn");
    ck_assert_int_eq(horn->change, JOB_AGAINST);
    ck_assert(isnan(horn->moved));
    char *found = job_since_words(horn, JOB_TEXT), *before = job_then_words(horn, JOB_TEXT);
    ck_assert_str_eq(found, "+2.1 degrees, to the line of the two points");
    ck_assert_str_eq(before, "+0.1 degrees");
    free(found);
    free(before);
    job_comparison_clear(&c);
    job_view_clear(&then);
    job_view_clear(&now);
    char *html = html_of_job();
    ck_assert(strstr(html, "counter-clockwise of square to the line of the two points</dd>"));
    ck_assert_int_ge(count_of(html, "±\u00A00.1°, to the line of the two points"), 2);
    ck_assert(strstr(html, "was measured against something else and seems to lie elsewhere"));
    free(html);
}
END_TEST

/* How an old part had moved can be told only as long as it is there (what a finding is of; common
 * practice, no source). */
START_TEST(another_part_has_not_moved)
{
    static const struct plan_fact part = {"part", "another"};
    struct job_view then, now;
    struct job_comparison c;
    ck_assert(job_view_load(job, 0, &then));
    measure("crank", 14.3, 0.05, false); /* found so before it was replaced: that has moved */
    ck_assert(job_record_facts(job, &by, "horn", &part, 1, ""));
    ck_assert(job_record_facts(job, &by, "crank", &part, 1, ""));
    ck_assert(job_view_load(job, 0, &now)); /* nothing is known of the new horn yet */
    ck_assert(job_compare(&then, &now, "x", false, &c));
    ck_assert_int_eq(row_of(&c, "horn")->change, JOB_UNTOUCHED);
    job_comparison_clear(&c);
    job_view_clear(&now);
    ck_assert(job_record_confirmation(job, &by, "safe", true, ""));
    measure("horn", 14.3, 0.05, false);
    measure("horn", 0.1, 0.05, false);
    measure("crank", 0.1, 0.05, false);
    ck_assert(job_view_load(job, 0, &now));
    ck_assert(job_compare(&then, &now, "x", false, &c));
    const struct job_comparison_row *horn = row_of(&c, "horn");
    ck_assert_int_eq(horn->change, JOB_REPLACED);
    ck_assert(isnan(horn->moved) && isnan(horn->moved_expanded));
    assert_near(horn->now, 0.1, 1e-12);
    ck_assert_int_eq(row_of(&c, "crank")->change, JOB_MOVED_FAR);
    assert_near(row_of(&c, "crank")->found, 14.3, 1e-12);
    job_comparison_clear(&c);
    job_view_clear(&then);
    job_view_clear(&now);
}
END_TEST

/* A crank stands where its horn puts it: once that was set, nobody knows what a crash had done to
 * the crank (what a finding is of; common practice, no source). A link's length is its own. */
START_TEST(what_hangs_on_a_part_that_was_set_is_not_told_as_moved)
{
    static const struct plan_fact part = {"part", "another"};
    static const struct {
        bool replaced;
        int count;
        double horn[2], crank;
        enum job_change change;
    } rows[] = {{true, 1, {0.1}, 2.2, JOB_SET_ANEW},
                {false, 2, {7.0, 0.1}, 2.2, JOB_SET_ANEW},
                {false, 2, {7.0, 0.1}, 0.3, JOB_SET_ANEW},
                {false, 1, {0.15}, 2.2, JOB_MOVED_FAR},
                {false, 2, {0.15, 0.1}, 0.3, JOB_SAME}};
    struct job_view then, now;
    struct job_comparison c;
    ck_assert(job_view_load(job, 0, &then));
    if (rows[_i].replaced)
        ck_assert(job_record_facts(job, &by, "horn", &part, 1, "") &&
                  job_record_confirmation(job, &by, "safe", true, ""));
    for (int i = 0; i < rows[_i].count; i++)
        measure("horn", rows[_i].horn[i], 0.05, false);
    measure("crank", rows[_i].crank, 0.01, false);
    measure("pair", 0.9, 0.01, false);
    ck_assert(job_view_load(job, 0, &now));
    ck_assert(job_compare(&then, &now, "x", false, &c));
    const struct job_comparison_row *crank = row_of(&c, "crank");
    ck_assert_str_eq(job_change_code(crank->change), job_change_code(rows[_i].change));
    ck_assert_int_eq(isnan(crank->moved), rows[_i].change == JOB_SET_ANEW);
    assert_near(crank->found, rows[_i].crank, 1e-12);
    ck_assert_int_eq(row_of(&c, "pair")->change, JOB_MOVED_FAR);
    job_comparison_clear(&c);
    job_view_clear(&then);
    job_view_clear(&now);
}
END_TEST

static const struct {
    double then, now, u;          /* both with this u, k = 2 */
    double shown_then, shown_now; /* to the decimals of U */
    double shown_moved, shown_u;
    enum job_change change;
} moves[] = {
    /* unrounded it moved by 0.12, which would stand as -0.1 between +0.3 and +0.1 */
    {0.26, 0.14, 0.08, 0.3, 0.1, -0.2, 0.3, JOB_SAME},
    {-0.13, 0.06, 0.11, -0.1, 0.1, 0.2, 0.3, JOB_SAME},
    /* past the end of what can be off square */
    {44.9, -44.9, 0.1, 44.9, -44.9, 0.2, 0.3, JOB_SAME},
    /* a tie is rounded as it is printed: 0.25 is shown as 0.2 */
    {0.25, 0.75, 0.25, 0.2, 0.8, 0.6, 0.7, JOB_SAME},
    /* U = sqrt(2) 0.184 = 0.2602: 0.262 is more, but nobody should call it */
    {0.16, -0.102, 0.092, 0.2, -0.1, -0.3, 0.3, JOB_MAY_HAVE},
    {0.16, -0.096, 0.092, 0.2, -0.1, -0.3, 0.3, JOB_MAY_HAVE},
    {0.16, -0.31, 0.092, 0.2, -0.3, -0.5, 0.3, JOB_MOVED},
    {0.16, 1.31, 0.092, 0.2, 1.3, 1.1, 0.3, JOB_MOVED_FAR},
};

/* The row adds up in the figures that are shown, and its verdict holds in them. */
START_TEST(a_row_of_the_comparison_adds_up)
{
    struct job_view then, now;
    struct job_comparison c;
    measure("horn", moves[_i].then, moves[_i].u, false);
    ck_assert(job_view_load(job, 0, &then));
    measure("horn", moves[_i].now, moves[_i].u, false);
    ck_assert(job_view_load(job, 0, &now));
    ck_assert(job_compare(&then, &now, "x", false, &c));
    const struct job_comparison_row *row = row_of(&c, "horn");
    double difference = moves[_i].shown_now - moves[_i].shown_then;
    assert_near(row->shown_moved, remainder(difference, 90), 1e-9); /* off square: mod 90 */
    assert_near(row->shown_moved, moves[_i].shown_moved, 1e-9);
    assert_near(row->shown_expanded, moves[_i].shown_u, 1e-9);
    ck_assert_str_eq(job_change_words(row->change, false, 1),
                     job_change_words(moves[_i].change, false, 1));
    job_comparison_clear(&c);
    job_view_clear(&then);
    job_view_clear(&now);
}
END_TEST

static const struct {
    enum plan_kind kind;
    int count;
    double readings[3], u[3], value, expected_u;
} findings[] = {
    {PLAN_SQUARE, 1, {271.5}, {0.1}, 1.5, 0.1},
    {PLAN_SQUARE, 1, {359}, {0.1}, -1, 0.1},
    {PLAN_LEVEL, 1, {179.5}, {0.1}, -0.5, 0.1},
    {PLAN_ANGLE, 1, {-10}, {0.1}, 350, 0.1},
    /* lines without a head: 179 and 1 lie 2 apart */
    {PLAN_PARALLEL, 2, {179, 1}, {0.3, 0.4}, 2, 0.5},
    /* 350 and 40: the middle is 15; u^2 = 0.1^2 + (0.2^2 + 0.2^2) / 4 (JCGM 100:2008, 5.1.2) */
    {PLAN_CENTRED, 3, {350, 40, 16}, {0.2, 0.2, 0.1}, 1, 0.17320508075689},
    {PLAN_PAIR, 2, {41.2, 41.3}, {0.03, 0.04}, -0.1, 0.05},
};

START_TEST(a_finding_follows_from_its_readings)
{
    struct plan_station station = {.kind = findings[_i].kind};
    struct job_reading r[3];
    struct job_finding f = {0};
    for (int i = 0; i < findings[_i].count; i++)
        r[i] = (struct job_reading){"", findings[_i].readings[i], findings[_i].u[i], ""};
    ck_assert_ptr_null(job_finding_from_readings(&station, r, findings[_i].count, &f));
    assert_near(f.value, findings[_i].value, 1e-9);
    assert_near(f.u, findings[_i].expected_u, 1e-9);
    ck_assert_ptr_nonnull(job_finding_from_readings(&station, r, 0, &f));
    ck_assert(job_finding_follows(station.kind, r, findings[_i].count, f.value, f.u));
    ck_assert(!job_finding_follows(station.kind, r, findings[_i].count, f.value + 0.1, f.u));
    ck_assert(!job_finding_follows(station.kind, r, findings[_i].count, f.value, f.u / 2));
    ck_assert(!job_finding_follows(station.kind, r, 0, f.value, f.u));
    r[0].record = "{}"; /* of a photo, whose sticker has a U of its own */
    ck_assert(job_finding_follows(station.kind, r, findings[_i].count, f.value, f.u / 2));
}
END_TEST

/* Links of 41.3 and 20 mm hold no crank: it would need arms longer than 21.3 and shorter than 20.
 * With arms of 13.5 mm, neither do 41.3 and 27. */
START_TEST(links_that_hold_no_crank_are_refused)
{
    struct plan_fact arm = {"horn-arm-mm", "13.5"};
    static const struct {
        double readings[2];
        int count, arms;
        bool fits;
    } rows[] = {{{41.3, 41.2}, 2, 0, true}, {{41.3, 20}, 2, 0, false},   {{41.3, 27}, 2, 0, true},
                {{41.3, 27}, 2, 1, false},  {{41.3, 4160}, 2, 0, false}, {{-0.2}, 1, 0, true},
                {{14}, 1, 1, false},        {{6000}, 1, 0, false}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct plan_station station = {
            .kind = PLAN_PAIR, .facts = &arm, .fact_count = rows[i].arms};
        struct job_reading r[2] = {{"", rows[i].readings[0], 0.01, ""},
                                   {"", rows[i].readings[1], 0.01, ""}};
        struct job_finding f = {0};
        ck_assert_msg(!job_finding_from_readings(&station, r, rows[i].count, &f) == rows[i].fits,
                      "row %zu", i);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("report");
    TCase *all = tcase_create("pages");
    tcase_add_unchecked_fixture(all, take_photo, drop_photo);
    tcase_add_checked_fixture(all, set_up, tear_down);
    tcase_set_timeout(all, 120);
    tcase_add_test(all, nothing_in_a_job_becomes_markup);
    tcase_add_test(all, the_page_needs_nothing_beside_it);
    tcase_add_test(all, photos_are_inside_as_jpeg);
    tcase_add_test(all, a_photo_is_as_long_as_its_bytes);
    tcase_add_test(all, no_tooth_is_ordered_without_a_reading);
    tcase_add_test(all, every_station_and_every_entry_is_told);
    tcase_add_test(all, every_reading_and_every_term_of_the_budget_is_told);
    tcase_add_test(all, what_is_found_has_its_sign);
    tcase_add_test(all, a_reading_keeps_its_minus);
    tcase_add_test(all, lengths_that_never_meet_are_told);
    tcase_add_test(all, a_stickers_direction_is_told_as_such);
    tcase_add_test(all, what_a_plus_minus_is_from_is_told_once);
    tcase_add_test(all, a_figure_looks_the_same_wherever_it_stands);
    tcase_add_test(all, the_cover_says_what_is_next);
    tcase_add_test(all, a_photo_from_before_a_change_is_stamped);
    tcase_add_loop_test(all, a_linkage_is_drawn_on_its_station_s_page, 0, 6);
    tcase_add_test(all, what_was_not_done_again_is_a_list);
    tcase_add_test(all, the_table_begins_high_on_the_first_page);
    tcase_add_test(all, what_moved_is_counted_and_comes_first);
    tcase_add_test(all, nothing_found_has_no_findings);
    tcase_add_test(all, a_full_disk_shows);
    tcase_add_test(all, a_long_name_stands_whole_in_the_pdf);
    tcase_add_test(all, text_that_no_pdf_holds_is_told_as_such);
    tcase_add_test(all, poppler_reads_the_pdf);
    tcase_add_test(all, a_drawing_leaves_the_text_above_it);
    tcase_add_test(all, a_comparison_tells_moved_from_uncertain);
    tcase_add_test(all, another_part_has_not_moved);
    tcase_add_loop_test(all, what_hangs_on_a_part_that_was_set_is_not_told_as_moved, 0, 5);
    tcase_add_test(all, no_movement_is_told_between_two_references);
    tcase_add_loop_test(all, a_row_of_the_comparison_adds_up, 0,
                        (int)(sizeof moves / sizeof *moves));
    suite_add_tcase(suite, all);
    TCase *pure = tcase_create("findings");
    tcase_add_test(pure, links_that_hold_no_crank_are_refused);
    tcase_add_loop_test(pure, a_finding_follows_from_its_readings, 0,
                        (int)(sizeof findings / sizeof *findings));
    suite_add_tcase(suite, pure);
    return run_suite(suite);
}
