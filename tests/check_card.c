/* The cards' description: published sizes, markers that cannot be confused, and a drawing that
 * shows exactly what the description says. */
#include "check_main.h"
#include "sheet/card_draw.h"
#include "tag36h11.h"
#include "vision.h"

#include <stdint.h>
#include <string.h>

static const struct vision_card *card_of_loop(int index)
{
    const struct vision_card *card = vision_card_at((size_t)index);
    ck_assert_ptr_nonnull(card);
    return card;
}

struct box {
    double x0, y0, x1, y1;
};

static bool overlap(struct box a, struct box b)
{
    const double eps = 1e-9; /* boxes may touch */
    return a.x0 < b.x1 - eps && b.x0 < a.x1 - eps && a.y0 < b.y1 - eps && b.y0 < a.y1 - eps;
}

/* With its quiet zone, an eighth of the black square on each side. */
static struct box marker_block(const struct vision_card *card, int which)
{
    double half = card->marker_mm * 10 / 8 / 2;
    struct vision_point c = card->markers[which].centre_mm;
    return (struct box){c.x - half, c.y - half, c.x + half, c.y + half};
}

static struct box mark_box(const struct vision_card *card, int which)
{
    const struct vision_card_mark *m = &card->marks[which];
    return (struct box){m->x0_mm, m->y0_mm, m->x1_mm, m->y1_mm};
}

static struct box slot_box(const struct vision_card *card)
{
    double half = card->slot_half_width_mm;
    return (struct box){-card->width_mm / 2, -half, half, half};
}

static bool inside(const struct vision_card *card, struct box b)
{
    double w = card->width_mm / 2 + 1e-9, h = card->height_mm / 2 + 1e-9;
    return b.x0 >= -w && b.x1 <= w && b.y0 >= -h && b.y1 <= h;
}

/* ISO/IEC 7810:2003, ID-1: 85.60 by 53.98 mm. ISO 216, A6: 105 by 148 mm. */
START_TEST(sizes_are_the_published_ones)
{
    static const struct {
        const char *name;
        double width_mm, height_mm;
    } published[] = {{"hand-duo", 85.60, 53.98}, {"long-duo", 148, 105}};
    for (size_t i = 0; i < 2; i++) {
        const struct vision_card *card = vision_card_by_name(published[i].name);
        ck_assert_ptr_nonnull(card);
        assert_near(card->width_mm, published[i].width_mm, 1e-9);
        assert_near(card->height_mm, published[i].height_mm, 1e-9);
    }
}
END_TEST

START_TEST(no_two_markers_of_any_cards_share_an_id)
{
    static bool used[TAG36H11_COUNT];
    for (size_t c = 0; c < vision_card_count(); c++) {
        const struct vision_card *card = vision_card_at(c);
        for (int i = 0; i < card->marker_count; i++) {
            int id = card->markers[i].id;
            ck_assert_msg(id >= 0 && id < TAG36H11_COUNT && !used[id], "%s: id %d", card->name, id);
            used[id] = true;
        }
    }
    for (size_t i = 0; i < vision_sticker_count(); i++) {
        const struct vision_sticker *sticker = vision_sticker_at(i);
        int id = sticker->face.markers[0].id;
        ck_assert_msg(id >= 0 && id < TAG36H11_COUNT && !used[id], "%s: id %d", sticker->name, id);
        used[id] = true;
    }
}
END_TEST

START_TEST(a_sticker_is_found_by_its_name_and_by_its_marker)
{
    for (size_t i = 0; i < vision_sticker_count(); i++) {
        const struct vision_sticker *sticker = vision_sticker_at(i);
        ck_assert_ptr_eq(vision_sticker_by_name(sticker->name), sticker);
        ck_assert_ptr_eq(vision_sticker_by_marker(sticker->face.markers[0].id), sticker);
        ck_assert_int_lt(sticker->face.markers[0].id, vision_sticker_id_end());
        /* room for a quiet zone of one cell, which the family asks for, and for the pointer */
        ck_assert_double_ge(sticker->face.height_mm, sticker->face.marker_mm * 10 / 8 - 1e-9);
        ck_assert_double_gt(sticker->x1_mm, sticker->face.marker_mm * 10 / 16 + 1);
    }
    ck_assert_ptr_null(vision_sticker_by_name("hand-duo"));
    ck_assert_ptr_null(vision_sticker_by_marker(vision_sticker_id_end()));
    ck_assert_ptr_null(vision_sticker_by_marker(0));
    ck_assert_ptr_null(vision_sticker_at(vision_sticker_count()));
}
END_TEST

START_TEST(a_card_is_found_by_its_name_and_by_each_marker)
{
    const struct vision_card *card = card_of_loop(_i);
    ck_assert_ptr_eq(vision_card_by_name(card->name), card);
    for (int i = 0; i < card->marker_count; i++) {
        int which = -1;
        ck_assert_ptr_eq(vision_card_by_marker(card->markers[i].id, &which), card);
        ck_assert_int_eq(which, i);
    }
}
END_TEST

START_TEST(what_is_no_card_is_not_found)
{
    int which;
    ck_assert_ptr_null(vision_card_by_name("hand-plaid"));
    ck_assert_ptr_null(vision_card_at(vision_card_count()));
    ck_assert_ptr_null(vision_card_by_marker(-1, &which));
    ck_assert_ptr_null(vision_card_by_marker(586, &which));
}
END_TEST

/* With three markers hidden, three must remain. */
START_TEST(markers_are_six_to_ten_of_six_to_ten_millimetres)
{
    const struct vision_card *card = card_of_loop(_i);
    ck_assert_int_ge(card->marker_count, 6);
    ck_assert_int_le(card->marker_count, VISION_CARD_MAX_MARKERS);
    ck_assert_double_ge(card->marker_mm, 6.0);
    ck_assert_double_le(card->marker_mm, 10.0);
}
END_TEST

START_TEST(markers_marks_and_slot_lie_inside_and_clear_of_each_other)
{
    const struct vision_card *card = card_of_loop(_i);
    struct box boxes[VISION_CARD_MAX_MARKERS + VISION_CARD_MAX_MARKS + 1];
    int count = 0;
    for (int i = 0; i < card->marker_count; i++)
        boxes[count++] = marker_block(card, i);
    for (int i = 0; i < card->mark_count; i++)
        boxes[count++] = mark_box(card, i);
    boxes[count++] = slot_box(card);
    for (int i = 0; i < count; i++) {
        ck_assert_msg(inside(card, boxes[i]), "%s: part %d sticks out", card->name, i);
        for (int j = 0; j < i; j++)
            ck_assert_msg(!overlap(boxes[i], boxes[j]), "%s: parts %d and %d overlap", card->name,
                          j, i);
    }
}
END_TEST

START_TEST(the_butt_strip_runs_along_the_whole_bottom_edge)
{
    const struct vision_card *card = card_of_loop(_i);
    int strips = 0;
    for (int i = 0; i < card->mark_count; i++) {
        const struct vision_card_mark *m = &card->marks[i];
        if (m->kind != VISION_MARK_BUTT)
            continue;
        strips++;
        assert_near(m->y0_mm, -card->height_mm / 2, 1e-9);
        assert_near(m->x0_mm, -card->width_mm / 2, 1e-9);
        assert_near(m->x1_mm, card->width_mm / 2, 1e-9);
    }
    ck_assert_int_eq(strips, 1);
}
END_TEST

/* ---- the drawing against the description ------------------------------------------------- */

#define PX_PER_MM 10
#define SAMPLE_PX 2 /* every second pixel of every second row */

struct render {
    cairo_surface_t *surface;
    int width, height;
};

static struct render render_card(const struct vision_card *card)
{
    struct render r = {.width = (int)ceil(card->width_mm * PX_PER_MM),
                       .height = (int)ceil(card->height_mm * PX_PER_MM)};
    r.surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, r.width, r.height);
    cairo_t *cr = cairo_create(r.surface);
    cairo_scale(cr, PX_PER_MM, PX_PER_MM);
    cairo_translate(cr, card->width_mm / 2, card->height_mm / 2);
    card_draw(cr, card, 0.5);
    ck_assert_int_eq(cairo_status(cr), CAIRO_STATUS_SUCCESS);
    cairo_destroy(cr);
    cairo_surface_flush(r.surface);
    return r;
}

static uint32_t pixel_at(const struct render *r, int x, int y)
{
    uint32_t pixel;
    const unsigned char *row = cairo_image_surface_get_data(r->surface) +
                               (ptrdiff_t)y * cairo_image_surface_get_stride(r->surface);
    memcpy(&pixel, row + 4 * (ptrdiff_t)x, 4);
    return pixel & 0xffffff;
}

static uint32_t srgb(const uint8_t c[3])
{
    return (uint32_t)c[0] << 16 | (uint32_t)c[1] << 8 | c[2];
}

/* Distance from the slot's outline, mm: it is the only print that the description leaves to the
 * drawing, apart from words. */
static double slot_distance(const struct vision_card *card, struct vision_point p)
{
    double half = card->slot_half_width_mm;
    return p.x > 0 ? fabs(hypot(p.x, p.y) - half) : fabs(fabs(p.y) - half);
}

/* The colour a point must have; false where words may stand. */
static bool expected_colour(const struct vision_card *card, struct vision_point p, uint32_t *out)
{
    switch (vision_card_print_at(card, p)) {
    case VISION_PRINT_TINT_A:
        *out = srgb(card->tint_srgb[0]);
        return slot_distance(card, p) > 0.2;
    case VISION_PRINT_TINT_B:
        *out = srgb(card->tint_srgb[1]);
        return slot_distance(card, p) > 0.2;
    case VISION_PRINT_BLACK:
        *out = 0x000000;
        return true;
    case VISION_PRINT_WHITE:
        *out = 0xffffff;
        return true;
    case VISION_PRINT_MARK:
        for (int i = 0; i < card->mark_count; i++) {
            const struct vision_card_mark *m = &card->marks[i];
            if (p.x < m->x0_mm || p.x > m->x1_mm || p.y < m->y0_mm || p.y > m->y1_mm)
                continue;
            *out = m->kind == VISION_MARK_WHITE  ? 0xffffff
                   : m->kind == VISION_MARK_GREY ? 0x808080
                                                 : 0x202020;
            return m->kind <= VISION_MARK_DARK;
        }
        return false;
    default:
        return false;
    }
}

/* Pixels cut by a border are mixtures: only those whose surroundings are alike are compared. */
static bool far_from_borders(const struct vision_card *card, struct vision_point p)
{
    enum vision_print here = vision_card_print_at(card, p);
    const double reach = 1.0 / PX_PER_MM;
    for (int i = -1; i <= 1; i++)
        for (int j = -1; j <= 1; j++) {
            struct vision_point near = {p.x + i * reach, p.y + j * reach};
            uint32_t a, b;
            if (vision_card_print_at(card, near) != here)
                return false;
            if (here == VISION_PRINT_MARK &&
                (!expected_colour(card, p, &a) || !expected_colour(card, near, &b) || a != b))
                return false;
        }
    return true;
}

START_TEST(the_drawing_shows_what_the_description_says)
{
    const struct vision_card *card = card_of_loop(_i);
    struct render r = render_card(card);
    int compared = 0;
    for (int y = 0; y < r.height; y += SAMPLE_PX) {
        for (int x = 0; x < r.width; x += SAMPLE_PX) {
            struct vision_point p = {(x + 0.5) / PX_PER_MM - card->width_mm / 2,
                                     card->height_mm / 2 - (y + 0.5) / PX_PER_MM};
            uint32_t expected;
            if (!far_from_borders(card, p) || !expected_colour(card, p, &expected))
                continue;
            compared++;
            ck_assert_msg(pixel_at(&r, x, y) == expected, "%s at (%.2f, %.2f) mm: %06x, not %06x",
                          card->name, p.x, p.y, pixel_at(&r, x, y), expected);
        }
    }
    /* Most of the card must have been compared, or the test says nothing. */
    ck_assert_int_gt(compared, r.width * r.height / (SAMPLE_PX * SAMPLE_PX) / 2);
    cairo_surface_destroy(r.surface);
}
END_TEST

START_TEST(print_is_nothing_off_the_card)
{
    const struct vision_card *card = card_of_loop(_i);
    struct vision_point off[] = {{card->width_mm / 2 + 0.01, 0}, {0, -card->height_mm / 2 - 0.01}};
    for (int i = 0; i < 2; i++)
        ck_assert_int_eq(vision_card_print_at(card, off[i]), VISION_PRINT_NONE);
}
END_TEST

int main(void)
{
    int cards = (int)vision_card_count();
    Suite *suite = suite_create("card");
    TCase *description = tcase_create("description");
    tcase_add_test(description, sizes_are_the_published_ones);
    tcase_add_test(description, no_two_markers_of_any_cards_share_an_id);
    tcase_add_test(description, a_sticker_is_found_by_its_name_and_by_its_marker);
    tcase_add_loop_test(description, a_card_is_found_by_its_name_and_by_each_marker, 0, cards);
    tcase_add_test(description, what_is_no_card_is_not_found);
    tcase_add_loop_test(description, markers_are_six_to_ten_of_six_to_ten_millimetres, 0, cards);
    tcase_add_loop_test(description, markers_marks_and_slot_lie_inside_and_clear_of_each_other, 0,
                        cards);
    tcase_add_loop_test(description, the_butt_strip_runs_along_the_whole_bottom_edge, 0, cards);
    tcase_add_loop_test(description, print_is_nothing_off_the_card, 0, cards);
    suite_add_tcase(suite, description);
    TCase *drawing = tcase_create("drawing");
    tcase_set_timeout(drawing, 60); /* slow under the sanitizers */
    tcase_add_loop_test(drawing, the_drawing_shows_what_the_description_says, 0, cards);
    suite_add_tcase(suite, drawing);
    return run_suite(suite);
}
