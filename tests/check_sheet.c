/* The sheet's layout and its files, as far as the library itself can tell. */
#include "base/clean_text.h"
#include "check_main.h"
#include "drawing/drawing_file.h"
#include "drawing/lettering.h"
#include "drawing/plot.h"
#include "outside.h"
#include "sheet/sheet.h"

#include <cairo.h>
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static const char *const papers[] = {"a4", "letter"};

/* Lays out cards given by name; the array ends with NULL. */
static bool lay_out(struct sheet *sheet, const char *paper, const char *const *names)
{
    const struct vision_card *cards[SHEET_MAX_CARDS];
    int count = 0;
    for (; names[count]; count++) {
        cards[count] = vision_card_by_name(names[count]);
        ck_assert_ptr_nonnull(cards[count]);
    }
    return sheet_lay_out(sheet, sheet_paper_by_name(paper), cards, count, SHEET_STICKERS_SPARE);
}

static const char *const all_sizes[] = {"long-duo", "hand-duo", "mini-duo", "frame-duo", NULL};

/* ISO 216, A4: 210 by 297 mm. US Letter: 8.5 by 11 inches of 25.4 mm. */
START_TEST(papers_have_their_published_sizes)
{
    assert_near(sheet_paper_by_name("a4")->width_mm, 210, 1e-9);
    assert_near(sheet_paper_by_name("A4")->height_mm, 297, 1e-9);
    assert_near(sheet_paper_by_name("letter")->width_mm, 8.5 * 25.4, 1e-9);
    assert_near(sheet_paper_by_name("Letter")->height_mm, 11 * 25.4, 1e-9);
    ck_assert_ptr_null(sheet_paper_by_name("a3"));
}
END_TEST

static bool apart(const struct sheet_rect *a, const struct sheet_rect *b, double gap)
{
    return a->x + a->width + gap <= b->x || b->x + b->width + gap <= a->x ||
           a->y + a->height + gap <= b->y || b->y + b->height + gap <= a->y;
}

/* Cut marks reach 4.2 mm past a card and belong to nobody else's place. */
START_TEST(everything_lies_on_the_paper_and_clear_of_the_rest)
{
    struct sheet sheet;
    ck_assert(lay_out(&sheet, papers[_i], all_sizes));
    const struct sheet_rect *places[24];
    int count = 0;
    for (int i = 0; i < sheet.card_count; i++)
        places[count++] = &sheet.cards[i].at;
    ck_assert_int_gt(sheet.sticker_count, 0);
    places[count++] = &sheet.sticker_block;
    places[count++] = &sheet.picture;
    places[count++] = &sheet.bar_x;
    places[count++] = &sheet.header;
    places[count++] = &sheet.footer;
    places[count++] = &sheet.column;
    ck_assert_double_gt(sheet.picture.width, 0);
    for (int i = 0; i < count; i++) {
        const struct sheet_rect *r = places[i];
        ck_assert_double_ge(r->x, 8);
        ck_assert_double_ge(r->y, 8);
        ck_assert_double_le(r->x + r->width, sheet.paper->width_mm - 8);
        ck_assert_double_le(r->y + r->height, sheet.paper->height_mm - 8);
        for (int j = 0; j < i; j++) {
            bool card = j < sheet.card_count || i < sheet.card_count;
            ck_assert_msg(apart(r, places[j], card ? 4.2 : 0), "places %d and %d", j, i);
        }
    }
}
END_TEST

/* All of them, once each and in order from left to right, in their block and clear of each other.
 */
START_TEST(every_sticker_comes_where_it_is_asked_for)
{
    const struct vision_card *cards[] = {vision_card_by_name("hand-duo"),
                                         vision_card_by_name("mini-duo")};
    struct sheet sheet;
    ck_assert(sheet_lay_out(&sheet, sheet_paper_by_name(papers[_i]), cards, 2, SHEET_STICKERS_ALL));
    ck_assert_int_eq(sheet.sticker_count, (int)vision_sticker_count());
    for (int i = 0; i < sheet.sticker_count; i++) {
        const struct sheet_rect *at = &sheet.stickers[i].at, *block = &sheet.sticker_block;
        ck_assert(at->x >= block->x - 1e-9 && at->x + at->width <= block->x + block->width + 1e-9);
        ck_assert(at->y >= block->y - 1e-9 &&
                  at->y + at->height <= block->y + block->height + 1e-9);
        ck_assert_ptr_eq(sheet.stickers[i].sticker, vision_sticker_at((size_t)i));
        for (int j = 0; j < i; j++) {
            ck_assert(apart(at, &sheet.stickers[j].at, 1.5));
            ck_assert_double_gt(at->x, sheet.stickers[j].at.x);
        }
        for (int c = 0; c < 2; c++)
            ck_assert(apart(block, &sheet.cards[c].at, 4.2));
    }
}
END_TEST

START_TEST(bars_are_a_hundred_millimetres_one_each_way)
{
    struct sheet sheet;
    ck_assert(lay_out(&sheet, papers[_i], all_sizes));
    assert_near(sheet.bar_x.width, 100, 1e-9);
    assert_near(sheet.bar_y.height, 100, 1e-9);
    ck_assert_double_lt(sheet.bar_x.height, 5);
    ck_assert_double_lt(sheet.bar_y.width, 5);
}
END_TEST

START_TEST(cards_keep_their_sizes_whatever_is_chosen)
{
    static const char *const choices[][9] = {
        {"mini-pink", "mini-pink", "mini-pink", "hand-pink", "hand-pink", NULL},
        {"frame-green", NULL},
        {"hand-pink", "hand-pink", "frame-pink", NULL},
    };
    for (int c = 0; c < 3; c++) {
        struct sheet sheet;
        ck_assert(lay_out(&sheet, papers[_i], choices[c]));
        for (int i = 0; i < sheet.card_count; i++) {
            assert_near(sheet.cards[i].at.width, sheet.cards[i].card->width_mm, 1e-9);
            assert_near(sheet.cards[i].at.height, sheet.cards[i].card->height_mm, 1e-9);
            for (int j = 0; j < i; j++)
                ck_assert(apart(&sheet.cards[i].at, &sheet.cards[j].at, 4.2));
        }
    }
}
END_TEST

START_TEST(more_than_a_page_is_refused)
{
    static const char *const names[] = {"long-duo", "long-duo", "long-duo", NULL};
    struct sheet sheet;
    ck_assert(!lay_out(&sheet, papers[_i], names));
}
END_TEST

/* The face that the installation brings: the system's "sans-serif" may lack signs, and shows boxes.
 */
START_TEST(sheets_and_plots_use_one_face)
{
    static const struct lettering_style style = {.size_pt = 10};
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 1, 1);
    cairo_t *cr = cairo_create(surface);
    lettering_width(cr, &style, "1");
    ck_assert_str_eq(cairo_toy_font_face_get_family(cairo_get_font_face(cr)), "DejaVu Sans");
    cairo_select_font_face(cr, "serif", CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_NORMAL);
    plot_text_width(cr, 3, PLOT_BOLD, "1");
    ck_assert_str_eq(cairo_toy_font_face_get_family(cairo_get_font_face(cr)), "DejaVu Sans");
    cairo_destroy(cr);
    cairo_surface_destroy(surface);
}
END_TEST

/* A line holds what fits; a word that is wider is cut between characters, never inside one. */
START_TEST(lines_of_running_text_never_pass_the_width)
{
    static const char *const texts[] = {"a few words, then  two blanks and an end\nof a line",
                                        "Donaudampfschifffahrtsgesellschaftskapitän äöüäöüäöüäöü",
                                        "  indented", "\n\nempty lines first", "ends in blanks   "};
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
    cairo_t *cr = cairo_create(surface);
    lettering_font(cr, false, false, 3);
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        char line[LETTERING_LINE];
        const char *rest = texts[i], *left = texts[i];
        while (*rest) {
            lettering_line(cr, &rest, 20, line);
            ck_assert_msg(lettering_advance(cr, line) <= 20, "\"%s\" is too wide", line);
            ck_assert_msg(text_is_utf8(line), "\"%s\" ends inside a character", line);
            /* Nothing between two lines is left out but blanks and the line's end. */
            left += strspn(left, " \n");
            size_t blanks = strspn(line, " ");
            ck_assert_int_eq(strncmp(left, line + blanks, strlen(line + blanks)), 0);
            left += strlen(line + blanks);
        }
        ck_assert_uint_eq(strspn(left, " \n"), strlen(left));
    }
    cairo_destroy(cr);
    cairo_surface_destroy(surface);
}
END_TEST

START_TEST(formats_go_by_the_suffix)
{
    static const struct {
        const char *path;
        enum drawing_format format;
    } cases[] = {
        {"a.pdf", DRAWING_PDF},    {"dir.svg/a.PDF", DRAWING_PDF}, {"b.svg", DRAWING_SVG},
        {"c.Png", DRAWING_PNG},    {"c.jpg", DRAWING_UNKNOWN},     {"png", DRAWING_UNKNOWN},
        {".pdf", DRAWING_UNKNOWN}, {"", DRAWING_UNKNOWN},          {"a.pdf.gz", DRAWING_UNKNOWN}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        ck_assert_msg(drawing_format_of(cases[i].path) == cases[i].format, "%s", cases[i].path);
}
END_TEST

/* A PNG is drawn in bands: the joints must not show. The same page drawn at once is the judge. */
START_TEST(a_picture_drawn_in_bands_is_the_picture_drawn_at_once)
{
    const double dpi = 300;
    struct sheet sheet;
    ck_assert(lay_out(&sheet, "a4", all_sizes));
    struct drawing drawing = {210, 297, sheet_draw, &sheet, "sheet"};
    char path[128];
    snprintf(path, sizeof path, "%s/bands.png", outside_directory());
    ck_assert(drawing_file_write(path, DRAWING_PNG, &drawing, dpi));
    cairo_surface_t *bands = cairo_image_surface_create_from_png(path);
    int width = cairo_image_surface_get_width(bands),
        height = cairo_image_surface_get_height(bands);
    ck_assert_int_eq(width, 2480); /* 210 mm and 297 mm at 300 dpi, to the nearest */
    ck_assert_int_eq(height, 3508);

    cairo_surface_t *whole = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    cairo_t *cr = cairo_create(whole);
    cairo_set_source_rgb(cr, 1, 1, 1);
    cairo_paint(cr);
    double scale = dpi / 25.4;
    cairo_translate(cr, (width - 210 * scale) / 2, (height - 297 * scale) / 2);
    cairo_scale(cr, scale, scale);
    sheet_draw(cr, &sheet);
    cairo_destroy(cr);
    cairo_surface_flush(whole);
    long differing = 0;
    for (int y = 0; y < height; y++) {
        const unsigned char *a = cairo_image_surface_get_data(bands) +
                                 (ptrdiff_t)y * cairo_image_surface_get_stride(bands);
        const unsigned char *b = cairo_image_surface_get_data(whole) +
                                 (ptrdiff_t)y * cairo_image_surface_get_stride(whole);
        for (int x = 0; x < 4 * width; x++)
            differing += x % 4 != 3 && abs(a[x] - b[x]) > 2;
    }
    /* cairo 1.18 draws a few letters otherwise near where two bands meet: 78 values of 26 million
     */
    ck_assert_int_le(differing, (long)width * height / 100000);
    cairo_surface_destroy(whole);
    cairo_surface_destroy(bands);
}
END_TEST

static void draw_broken(cairo_t *cr, const void *subject)
{
    (void)subject;
    cairo_restore(cr); /* without a save: cairo refuses from here on */
}

START_TEST(a_drawing_that_fails_leaves_no_file)
{
    struct drawing drawing = {10, 10, draw_broken, NULL, "broken"};
    static const char *const suffixes[] = {"pdf", "svg", "png"};
    for (int i = 0; i < 3; i++) {
        char path[128];
        snprintf(path, sizeof path, "%s/broken.%s", outside_directory(), suffixes[i]);
        errno = 0;
        ck_assert(!drawing_file_write(path, (enum drawing_format)i, &drawing, 100));
        ck_assert_int_ne(errno, 0);
        ck_assert_int_ne(access(path, F_OK), 0);
    }
}
END_TEST

/* "0.3 ± 0.4 degrees" is one number: its parts stand on one line wherever the line is wide enough
 * for them. */
START_TEST(a_figure_stays_with_its_unit_and_its_plus_minus)
{
    static const char *const whole[] = {"0.3 ± 0.4 degrees", "(known to ± 0.07 mm)", "9.60 mm"};
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
    cairo_t *cr = cairo_create(surface);
    lettering_font(cr, false, false, 3);
    for (size_t i = 0; i < sizeof whole / sizeof *whole; i++) {
        char text[200], line[LETTERING_LINE];
        const char *kept = strstr(whole[i], "to ") ? whole[i] + strlen("(known ") : whole[i];
        snprintf(text, sizeof text, "make the link longer by %s, which is the most that fits",
                 whole[i]);
        double least = lettering_advance(cr, kept) + lettering_advance(cr, ",");
        for (int step = 0; 0.5 * step < 2 * least; step++) {
            const double width = least + 0.5 * step;
            bool found = false;
            for (const char *rest = text; *rest;) {
                lettering_line(cr, &rest, width, line);
                found = found || strstr(line, kept);
            }
            ck_assert_msg(found, "\"%s\" is broken at %.1f mm", kept, width);
        }
    }
    cairo_destroy(cr);
    cairo_surface_destroy(surface);
}
END_TEST

int main(void)
{
    outside_directory();
    Suite *suite = suite_create("sheet");
    TCase *layout = tcase_create("layout");
    tcase_add_test(layout, papers_have_their_published_sizes);
    tcase_add_loop_test(layout, everything_lies_on_the_paper_and_clear_of_the_rest, 0, 2);
    tcase_add_loop_test(layout, every_sticker_comes_where_it_is_asked_for, 0, 2);
    tcase_add_loop_test(layout, bars_are_a_hundred_millimetres_one_each_way, 0, 2);
    tcase_add_loop_test(layout, cards_keep_their_sizes_whatever_is_chosen, 0, 2);
    tcase_add_loop_test(layout, more_than_a_page_is_refused, 0, 2);
    suite_add_tcase(suite, layout);
    TCase *file = tcase_create("file");
    tcase_set_timeout(file, 60);
    tcase_add_test(file, sheets_and_plots_use_one_face);
    tcase_add_test(file, lines_of_running_text_never_pass_the_width);
    tcase_add_test(file, a_figure_stays_with_its_unit_and_its_plus_minus);
    tcase_add_test(file, formats_go_by_the_suffix);
    tcase_add_test(file, a_picture_drawn_in_bands_is_the_picture_drawn_at_once);
    tcase_add_test(file, a_drawing_that_fails_leaves_no_file);
    suite_add_tcase(suite, file);
    return run_suite(suite);
}
