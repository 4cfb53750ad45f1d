/* The whole way to paper: armsquare card writes the sheet, poppler prints it into pixels, and
 * libapriltag - another family's own detector - must find every marker where the description puts
 * it. Outside judges for the rest: pdfinfo, Ghostscript, xmllint, pngcheck. */
#include "card/markers.h"
#include "check_main.h"
#include "drawing/png_write.h"
#include "outside.h"
#include "sheet/sheet.h"

#include <apriltag/apriltag.h>
#include <apriltag/tag36h11.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#define MM_PER_INCH 25.4

static const char *const tints[] = {"duo", "green", "pink"};
#define TINT_COUNT (sizeof tints / sizeof tints[0])

/* Must succeed in silence. */
static void run_card(const char *options, const char *path)
{
    char said[2048];
    int status =
        outside_run(said, sizeof said, "'%s' card %s -o '%s'", ARMSQUARE_PROGRAM, options, path);
    ck_assert_msg(status == 0, "card %s: status %d, %s", options, status, said);
}

static void make_path(char path[128], const char *name)
{
    snprintf(path, 128, "%s/%s", outside_directory(), name);
}

/* ---- pictures ------------------------------------------------------------------------------ */

/* A picture in colour, and the same in grey; rows without padding. */
struct picture {
    int width, height;
    uint8_t *rgb, *grey;
};

static struct picture picture_read(const char *path)
{
    cairo_surface_t *surface = cairo_image_surface_create_from_png(path);
    ck_assert_int_eq(cairo_surface_status(surface), CAIRO_STATUS_SUCCESS);
    struct picture p = {.width = cairo_image_surface_get_width(surface),
                        .height = cairo_image_surface_get_height(surface)};
    size_t count = (size_t)p.width * (size_t)p.height, i = 0;
    p.rgb = malloc(3 * count);
    p.grey = malloc(count);
    ck_assert(p.rgb && p.grey);
    for (int y = 0; y < p.height; y++) {
        const unsigned char *row = cairo_image_surface_get_data(surface) +
                                   (ptrdiff_t)y * cairo_image_surface_get_stride(surface);
        for (int x = 0; x < p.width; x++, i++) {
            uint32_t pixel;
            memcpy(&pixel, row + 4 * (ptrdiff_t)x, sizeof pixel);
            uint32_t r = pixel >> 16 & 255, g = pixel >> 8 & 255, b = pixel & 255;
            p.rgb[3 * i] = (uint8_t)r;
            p.rgb[3 * i + 1] = (uint8_t)g;
            p.rgb[3 * i + 2] = (uint8_t)b;
            p.grey[i] = (uint8_t)((299 * r + 587 * g + 114 * b + 500) / 1000); /* Rec. 601 */
        }
    }
    cairo_surface_destroy(surface);
    return p;
}

static void picture_clear(struct picture *p)
{
    free(p->rgb);
    free(p->grey);
}

static double linear_of(uint8_t code) /* IEC 61966-2-1 */
{
    double v = code / 255.0;
    return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

static uint8_t code_of(double linear)
{
    double v = linear <= 0.0031308 ? 12.92 * linear : 1.055 * pow(linear, 1 / 2.4) - 0.055;
    return (uint8_t)lround(255 * v);
}

/* What a scanner or camera of half the resolution makes of a page: each pixel gathers the light of
 * two by two. Printers shade cut pixels in code values, which no camera does. */
static struct picture picture_scan(const struct picture *page)
{
    double linear[256];
    for (int i = 0; i < 256; i++)
        linear[i] = linear_of((uint8_t)i);
    struct picture out = {.width = page->width / 2, .height = page->height / 2};
    out.rgb = malloc(3 * (size_t)out.width * (size_t)out.height);
    ck_assert_ptr_nonnull(out.rgb);
    size_t stride = 3 * (size_t)page->width;
    for (int y = 0; y < out.height; y++)
        for (int x = 0; x < 3 * out.width; x++) {
            const uint8_t *from =
                page->rgb + 2 * (size_t)y * stride + 6 * (size_t)(x / 3) + (size_t)(x % 3);
            double light =
                linear[from[0]] + linear[from[3]] + linear[from[stride]] + linear[from[stride + 3]];
            out.rgb[3 * (size_t)y * (size_t)out.width + (size_t)x] = code_of(light / 4);
        }
    return out;
}

/* A PDF's page in pixels, by one of poppler's printers: pdftoppm or pdftocairo. */
static void print_pdf(const char *printer, const char *pdf, int dpi, char png[160])
{
    char root[128], said[512];
    make_path(root, "printed");
    int status = outside_run(said, sizeof said, "%s -png -singlefile -r %d '%s' '%s'", printer, dpi,
                             pdf, root);
    ck_assert_msg(status == 0 && !said[0], "%s: %s", printer, said);
    snprintf(png, 160, "%s.png", root);
}

static struct sheet lay_out(const char *paper, const char *tint)
{
    static const char *const sizes[] = {"long", "hand", "mini", "frame"};
    const struct vision_card *cards[4];
    for (int i = 0; i < 4; i++) {
        char name[32];
        snprintf(name, sizeof name, "%s-%s", sizes[i], tint);
        cards[i] = vision_card_by_name(name);
    }
    struct sheet sheet;
    ck_assert(sheet_lay_out(&sheet, sheet_paper_by_name(paper), cards, 4, SHEET_STICKERS_SPARE));
    return sheet;
}

/* ---- markers ------------------------------------------------------------------------------- */

/* A page in pixels: origin_px is where the paper's top left corner lies, (0, 0) being the corner of
 * the first pixel. */
struct page {
    struct sheet sheet;
    struct picture picture;
    double px_per_mm;
    struct vision_point origin_px;
};

/* Corner k of a marker, as the sheet's layout and the card's description say, in pixels. k: bottom
 * left, bottom right, top right, top left: the order in which libapriltag names the corners of an
 * upright tag. */
static struct vision_point marker_corner(const struct vision_card *card, int marker, int k)
{
    double half = card->marker_mm / 2;
    struct vision_point centre = card->markers[marker].centre_mm;
    return (struct vision_point){centre.x + (k == 1 || k == 2 ? half : -half),
                                 centre.y + (k >= 2 ? half : -half)};
}

static struct vision_point expected_corner(const struct page *page, int card, int marker, int k)
{
    const struct sheet_rect *at = &page->sheet.cards[card].at;
    struct vision_point p = marker_corner(page->sheet.cards[card].card, marker, k);
    return (struct vision_point){
        page->origin_px.x + (at->x + at->width / 2 + p.x) * page->px_per_mm,
        page->origin_px.y + (at->y + at->height / 2 - p.y) * page->px_per_mm};
}

static struct vision_point sticker_corner(const struct page *page, int i, int k)
{
    const struct sheet_rect *at = &page->sheet.stickers[i].at;
    const struct vision_sticker *sticker = page->sheet.stickers[i].sticker;
    struct vision_point p = marker_corner(&sticker->face, 0, k);
    return (struct vision_point){
        page->origin_px.x + (at->x - sticker->x0_mm + p.x) * page->px_per_mm,
        page->origin_px.y + (at->y + at->height / 2 - p.y) * page->px_per_mm};
}

struct agreement {
    int corners;
    double sum_px, max_px, sum_x_px, sum_y_px;
};

static void add_corner(struct agreement *a, struct vision_point found, struct vision_point expected)
{
    double dx = found.x - expected.x, dy = found.y - expected.y, off = hypot(dx, dy);
    a->corners++;
    a->sum_px += off;
    a->sum_x_px += dx;
    a->sum_y_px += dy;
    a->max_px = fmax(a->max_px, off);
}

static void tell(const struct agreement *a, const char *what, const char *who)
{
    printf("%-32s %s: %d corners, mean %.3f px, max %.3f px, shift (%+.3f, %+.3f) px\n", what, who,
           a->corners, a->sum_px / a->corners, a->max_px, a->sum_x_px / a->corners,
           a->sum_y_px / a->corners);
    fflush(stdout);
}

/* ---- the print itself ----------------------------------------------------------------------- */

/* Where black turns to white along a short run of pixels from (x, y) in steps of (dx, dy), starting
 * on the one side and ending on the other: the share of black is a length, so this is exact for any
 * position of the side among the pixels, as long as the printer shades the pixel that it cuts. */
static double black_length(const struct picture *p, int x, int y, int dx, int dy, int count)
{
    double black = 0;
    for (int i = 0; i < count; i++)
        black +=
            1 - p->grey[(size_t)(y + i * dy) * (size_t)p->width + (size_t)(x + i * dx)] / 255.0;
    return black;
}

/* Largest distance of a marker's printed sides from the description, in pixels. Sides are read in
 * the black border, half a cell from the corner. */
static double worst_side(const struct page *page, int card, int marker)
{
    const int reach = 4;
    double half_cell = page->sheet.cards[card].card->marker_mm / 16 * page->px_per_mm;
    struct vision_point bottom_left = expected_corner(page, card, marker, 0);
    struct vision_point top_right = expected_corner(page, card, marker, 2);
    int across = (int)(bottom_left.x + half_cell), down = (int)(top_right.y + half_cell);
    int left = (int)bottom_left.x - reach, right = (int)top_right.x + reach;
    int top = (int)top_right.y - reach, bottom = (int)bottom_left.y + reach;
    const struct picture *p = &page->picture;
    double off[4] = {
        left + 2 * reach - black_length(p, left, down, 1, 0, 2 * reach) - bottom_left.x,
        right - 2 * reach + black_length(p, right - 1, down, -1, 0, 2 * reach) - top_right.x,
        top + 2 * reach - black_length(p, across, top, 0, 1, 2 * reach) - top_right.y,
        bottom - 2 * reach + black_length(p, across, bottom - 1, 0, -1, 2 * reach) - bottom_left.y,
    };
    double worst = 0;
    for (int i = 0; i < 4; i++)
        worst = fmax(worst, fabs(off[i]));
    return worst;
}

static double worst_side_of_page(const struct page *page)
{
    double worst = 0;
    for (int c = 0; c < page->sheet.card_count; c++)
        for (int m = 0; m < page->sheet.cards[c].card->marker_count; m++)
            worst = fmax(worst, worst_side(page, c, m));
    return worst;
}

/* ---- libapriltag ---------------------------------------------------------------------------- */

struct finder {
    apriltag_detector_t *detector;
    apriltag_family_t *family;
    zarray_t *found;
};

static struct finder find_markers(const struct picture *p)
{
    struct finder f = {.family = tag36h11_create(), .detector = apriltag_detector_create()};
    apriltag_detector_add_family(f.detector, f.family);
    f.detector->quad_decimate = 1;
    f.detector->refine_edges = 1;
    image_u8_t image = {.width = p->width, .height = p->height, .stride = p->width, .buf = p->grey};
    f.found = apriltag_detector_detect(f.detector, &image);
    return f;
}

static void finder_free(struct finder *f)
{
    apriltag_detections_destroy(f->found);
    apriltag_detector_destroy(f->detector);
    tag36h11_destroy(f->family);
}

static const apriltag_detection_t *detection_of(const struct finder *f, int id)
{
    for (int i = 0; i < zarray_size(f->found); i++) {
        apriltag_detection_t *d;
        zarray_get(f->found, i, &d);
        if (d->id == id)
            return d;
    }
    ck_abort_msg("marker %d not found", id);
}

/* Every marker of every card, each once, upright, and nothing else. */
static struct agreement judge_by_libapriltag(const struct page *page, const struct finder *f)
{
    struct agreement a = {0};
    int markers = 0;
    for (int c = 0; c < page->sheet.card_count; c++) {
        const struct vision_card *card = page->sheet.cards[c].card;
        for (int m = 0; m < card->marker_count; m++, markers++) {
            const apriltag_detection_t *d = detection_of(f, card->markers[m].id);
            ck_assert_int_eq(d->hamming, 0);
            for (int k = 0; k < 4; k++)
                add_corner(&a, (struct vision_point){d->p[k][0], d->p[k][1]},
                           expected_corner(page, c, m, k));
        }
    }
    for (int i = 0; i < page->sheet.sticker_count; i++, markers++) {
        const struct vision_card *face = &page->sheet.stickers[i].sticker->face;
        const apriltag_detection_t *d = detection_of(f, face->markers[0].id);
        ck_assert_int_eq(d->hamming, 0);
        for (int k = 0; k < 4; k++)
            add_corner(&a, (struct vision_point){d->p[k][0], d->p[k][1]},
                       sticker_corner(page, i, k));
    }
    ck_assert_int_gt(page->sheet.sticker_count, 0);
    ck_assert_int_eq(zarray_size(f->found), markers);
    return a;
}

/* ---- our own finder ------------------------------------------------------------------------- */

/* The page holds four cards, a photo one: a photo's worth of page around one card, as PNG. */
static void cut_out(const struct page *page, int card, int *x0, int *y0, char **png, size_t *size)
{
    const struct sheet_rect *at = &page->sheet.cards[card].at;
    const double margin_mm = 3;
    *x0 = (int)(page->origin_px.x + (at->x - margin_mm) * page->px_per_mm);
    *y0 = (int)(page->origin_px.y + (at->y - margin_mm) * page->px_per_mm);
    struct png_header header = {
        .width_px = (int)((at->width + 2 * margin_mm) * page->px_per_mm),
        .height_px = (int)((at->height + 2 * margin_mm) * page->px_per_mm),
        .pixels = PNG_PIXELS_RGB8,
    };
    ck_assert(*x0 >= 0 && *y0 >= 0 && *x0 + header.width_px <= page->picture.width &&
              *y0 + header.height_px <= page->picture.height);
    FILE *memory = open_memstream(png, size);
    ck_assert(png_write_stream(memory, &header,
                               page->picture.rgb +
                                   3 * ((size_t)*y0 * (size_t)page->picture.width + (size_t)*x0),
                               3 * (size_t)page->picture.width));
    fclose(memory);
}

/* Coarse in a reduced picture, fine in the full one, as for any photo, but on paper the lens is
 * known: there is none. */
static struct card_fix find_card(const struct page *page, int card, int *x0, int *y0)
{
    char *png;
    size_t size;
    cut_out(page, card, x0, y0, &png, &size);
    struct vision_photo *photo;
    ck_assert_int_eq(vision_photo_open_bytes((const uint8_t *)png, size, &photo),
                     VISION_REASON_NONE);
    struct vision_options options = vision_options_default();
    struct vision_image coarse, fine;
    struct card_fix fix;
    int reduce = page->px_per_mm > 15 ? 2 : 1;
    ck_assert_int_eq(vision_photo_decode(photo, reduce, NULL, 1, &coarse), VISION_REASON_NONE);
    ck_assert_int_eq(vision_photo_decode(photo, 1, NULL, 3, &fine), VISION_REASON_NONE);
    const char *name = page->sheet.cards[card].card->name;
    enum vision_reason reason = markers_find(&coarse, MARKERS_THOROUGH, &options, &fix);
    ck_assert_msg(reason == VISION_REASON_NONE, "%s not found: %s", name,
                  vision_reason_code(reason));
    struct plane_lens none = {.radius_px = 1};
    reason = markers_refine(&fine, &none, &fix);
    ck_assert_msg(reason == VISION_REASON_NONE, "%s not refined: %s", name,
                  vision_reason_code(reason));
    vision_image_clear(&coarse);
    vision_image_clear(&fine);
    vision_photo_free(photo);
    free(png);
    return fix;
}

/* f may be NULL: nothing is then said about libapriltag. */
static void judge_by_our_finder(const struct page *page, const struct finder *f,
                                struct agreement *with_description,
                                struct agreement *with_libapriltag)
{
    for (int c = 0; c < page->sheet.card_count; c++) {
        const struct vision_card *card = page->sheet.cards[c].card;
        int x0, y0;
        struct card_fix fix = find_card(page, c, &x0, &y0);
        ck_assert_msg(fix.card == card, "%s: found %s", card->name, fix.card->name);
        for (int m = 0; m < card->marker_count; m++) {
            const apriltag_detection_t *d = f ? detection_of(f, card->markers[m].id) : NULL;
            for (int k = 0; k < 4; k++) {
                struct vision_point ours =
                    vision_plane_to_photo(&fix.plane, marker_corner(card, m, k));
                /* The finder's (0, 0) is the middle of the first pixel. */
                ours.x += x0 + 0.5;
                ours.y += y0 + 0.5;
                add_corner(with_description, ours, expected_corner(page, c, m, k));
                if (d)
                    add_corner(with_libapriltag, ours,
                               (struct vision_point){d->p[k][0], d->p[k][1]});
            }
        }
    }
}

/* ---- the ways to pixels --------------------------------------------------------------------- */

/* How a page gets into pixels, and how well things must then agree, in pixels. */
static const struct way {
    const char *by;
    double side_limit_px;     /* printed sides against the description */
    double apriltag_limit_px; /* libapriltag against the description */
    double own_limit_px;      /* our finder against the description, and on a scan of the page */
    double own_scan_limit_px;
} ways[] = {
    /* Works in quarters of a pixel and inks every quarter that a side touches. */
    {"pdftoppm", 0.30, 0.75, 0.9, 0.6},
    /* Shades the pixels that a side cuts. */
    {"pdftocairo", 0.03, 0.4, 0.5, 0.2},
    /* Our own picture of the page, from the same drawing without a PDF between. */
    {"armsquare", 0.02, 0.4, 0.5, 0.2},
};
#define WAY_COUNT 3

static void make_page(struct page *page, const char *paper, const char *tint, int dpi,
                      const struct way *way)
{
    char file[128], png[160], options[80];
    bool own = strcmp(way->by, "armsquare") == 0;
    int length = snprintf(options, sizeof options, "--paper %s --tint %s", paper, tint);
    if (own)
        snprintf(options + length, sizeof options - (size_t)length, " --dpi %d", dpi);
    make_path(file, own ? "sheet.png" : "sheet.pdf");
    run_card(options, file);
    if (own)
        snprintf(png, sizeof png, "%s", file);
    else
        print_pdf(way->by, file, dpi, png);
    page->sheet = lay_out(paper, tint);
    page->picture = picture_read(png);
    page->px_per_mm = dpi / MM_PER_INCH;
    page->origin_px = (struct vision_point){0, 0};
    if (own) /* its middle is the paper's middle */
        page->origin_px = (struct vision_point){
            (page->picture.width - page->sheet.paper->width_mm * page->px_per_mm) / 2,
            (page->picture.height - page->sheet.paper->height_mm * page->px_per_mm) / 2};
}

static void judge(const char *paper, const char *tint, int dpi, const struct way *way)
{
    struct page page;
    char what[80];
    make_page(&page, paper, tint, dpi, way);
    double side_px = worst_side_of_page(&page);
    struct finder f = find_markers(&page.picture);
    struct agreement theirs = judge_by_libapriltag(&page, &f);
    snprintf(what, sizeof what, "%s %s, %s, %d dpi", paper, tint, way->by, dpi);
    printf("%-32s printed sides and description: max %.3f px\n", what, side_px);
    tell(&theirs, what, "libapriltag and description");
    struct agreement ours = {0}, both = {0};
    judge_by_our_finder(&page, &f, &ours, &both);
    tell(&ours, what, "our finder and description");
    tell(&both, what, "our finder and libapriltag");
    ck_assert_double_le(ours.max_px, way->own_limit_px);
    ck_assert_double_le(side_px, way->side_limit_px);
    ck_assert_double_le(theirs.max_px, way->apriltag_limit_px);
    finder_free(&f);
    picture_clear(&page.picture);
}

/* The whole way of a photo: a page at 600 dpi seen by a scanner of 300. */
static void judge_scan(const char *paper, const char *tint, const struct way *way)
{
    struct page page;
    char what[80];
    make_page(&page, paper, tint, 600, way);
    struct page scan = {.sheet = page.sheet,
                        .picture = picture_scan(&page.picture),
                        .px_per_mm = page.px_per_mm / 2,
                        .origin_px = {page.origin_px.x / 2, page.origin_px.y / 2}};
    picture_clear(&page.picture);
    struct agreement ours = {0}, unused = {0};
    judge_by_our_finder(&scan, NULL, &ours, &unused);
    snprintf(what, sizeof what, "%s %s, %s, scanned", paper, tint, way->by);
    tell(&ours, what, "our finder and description");
    ck_assert_double_le(ours.max_px, way->own_scan_limit_px);
    picture_clear(&scan.picture);
}

START_TEST(our_finder_agrees_with_the_description_on_a_scan)
{
    judge_scan("a4", "duo", &ways[_i]);
    if (strcmp(ways[_i].by, "pdftocairo") == 0)
        judge_scan("letter", "pink", &ways[_i]);
}
END_TEST

START_TEST(every_marker_of_every_tint_is_found_where_the_description_says)
{
    judge("a4", tints[_i], 300, &ways[0]);
}
END_TEST

START_TEST(every_marker_is_found_on_both_papers_at_both_resolutions)
{
    judge("a4", "duo", 300, &ways[_i]);
    judge("letter", "duo", 600, &ways[_i]);
}
END_TEST

/* From the first to the last black of a bar, along it; each end in the half that is black there.
 * ISO 32000-1, 8.3.2.3: a point is 1/72 inch, so that 100 mm on paper is 100 mm. */
static double printed_bar_mm(const struct page *page, const struct sheet_rect *bar, bool lying)
{
    const int reach = 6;
    double s = page->px_per_mm;
    double start = (lying ? bar->x : bar->y) * s;
    double end = (lying ? bar->x + bar->width : bar->y + bar->height) * s;
    double thick = SHEET_BAR_THICK_MM * s, side = (lying ? bar->y : bar->x) * s;
    int first = (int)start - reach, last = (int)end + reach;
    /* Black begins in the upper half where the bar lies, in the right half where it stands. */
    int at_start = (int)(side + thick * (lying ? 0.25 : 0.75));
    int at_end = (int)(side + thick * (lying ? 0.75 : 0.25));
    const struct picture *p = &page->picture;
    double black_start = lying ? black_length(p, first, at_start, 1, 0, 2 * reach)
                               : black_length(p, at_start, first, 0, 1, 2 * reach);
    double black_end = lying ? black_length(p, last - 1, at_end, -1, 0, 2 * reach)
                             : black_length(p, at_end, last - 1, 0, -1, 2 * reach);
    return (last - first - 4 * reach + black_start + black_end) / s;
}

START_TEST(bars_are_printed_a_hundred_millimetres_long)
{
    static const char *const papers[] = {"a4", "letter"};
    struct page page;
    make_page(&page, papers[_i], "duo", 600, &ways[1]);
    double x_mm = printed_bar_mm(&page, &page.sheet.bar_x, true);
    double y_mm = printed_bar_mm(&page, &page.sheet.bar_y, false);
    printf("%-32s bars: x %.4f mm, y %.4f mm\n", papers[_i], x_mm, y_mm);
    fflush(stdout);
    assert_near(x_mm, 100, 0.005);
    assert_near(y_mm, 100, 0.005);
    picture_clear(&page.picture);
}
END_TEST

/* Each alone, as cut out and stuck on, read by another family's own detector. */
START_TEST(every_sticker_alone_is_read_by_libapriltag)
{
    const struct vision_sticker *sticker = vision_sticker_at((size_t)_i);
    char options[64], path[128];
    make_path(path, "sticker.png");
    snprintf(options, sizeof options, "--single %s --dpi 300", sticker->name);
    run_card(options, path);
    struct picture picture = picture_read(path);
    struct finder f = find_markers(&picture);
    ck_assert_int_eq(zarray_size(f.found), 1);
    const apriltag_detection_t *d = detection_of(&f, sticker->face.markers[0].id);
    double s = 300 / MM_PER_INCH;
    double side = hypot(d->p[1][0] - d->p[0][0], d->p[1][1] - d->p[0][1]) / s;
    ck_assert_int_eq(d->hamming, 0);
    ck_assert_msg(d->p[1][0] > d->p[0][0] && fabs(d->p[1][1] - d->p[0][1]) < 1, "it is upright");
    assert_near(side, sticker->face.marker_mm, 0.06);
    finder_free(&f);
    picture_clear(&picture);
}
END_TEST

int main(void)
{
    outside_directory();
    Suite *suite = suite_create("print");
    TCase *markers = tcase_create("markers");
    tcase_set_timeout(markers, 1200); /* ten seconds of work, on a machine that may be busy */
    tcase_add_loop_test(markers, every_marker_of_every_tint_is_found_where_the_description_says, 1,
                        TINT_COUNT);
    tcase_add_loop_test(markers, every_marker_is_found_on_both_papers_at_both_resolutions, 0,
                        WAY_COUNT);
    tcase_add_loop_test(markers, our_finder_agrees_with_the_description_on_a_scan, 0, WAY_COUNT);
    tcase_add_loop_test(markers, bars_are_printed_a_hundred_millimetres_long, 0, 2);
    tcase_add_loop_test(markers, every_sticker_alone_is_read_by_libapriltag, 0,
                        (int)vision_sticker_count());
    suite_add_tcase(suite, markers);
    return run_suite(suite);
}
