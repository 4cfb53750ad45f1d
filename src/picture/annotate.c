#include "annotate.h"

#include "annotate_internal.h"
#include "arithmetic/uncertainty.h"
#include "base/clean_text.h"
#include "drawing/lettering.h"
#include "picture_record.h"
#include "result/arm_uncertainty.h"
#include "result/verdict.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LONG_SIDE_PX 1600 /* of the photo's share: sharp on any phone, small enough to send */
#define MIN_WIDTH_PX 1000 /* tall, narrow photos get side bars, so that the text stays readable */

#define DRAWN_LENGTHS 1.9 /* of an arm: how far from the hub there is something to see */

/* Chosen to differ from every tint of the cards and from each other in the eyes of most people,
 * colour-blind ones included. */
const struct annotate_colour annotate_arm = {1.0, 0.80, 0.0};
const struct annotate_colour annotate_action = {0.07, 0.36, 0.80};
const struct annotate_colour annotate_ink = {0.08, 0.09, 0.11};

void annotate_set(cairo_t *cr, struct annotate_colour colour, double alpha)
{
    cairo_set_source_rgba(cr, colour.r, colour.g, colour.b, alpha);
}

void annotate_arrowhead(cairo_t *cr, double x, double y, double angle, double size)
{
    cairo_save(cr);
    cairo_translate(cr, x, y);
    cairo_rotate(cr, angle);
    cairo_move_to(cr, 0, 0);
    cairo_line_to(cr, -size, -size * 0.55);
    cairo_line_to(cr, -size, size * 0.55);
    cairo_close_path(cr);
    cairo_fill(cr);
    cairo_restore(cr);
}

struct vision_point annotate_place(const struct annotate_view *view, struct vision_point px)
{
    /* The centre of the first pixel is (0, 0); its corner is half a pixel before. */
    return (struct vision_point){view->x_mm + (px.x + 0.5 - view->area.x0) * view->mm_per_px,
                                 view->y_mm + (px.y + 0.5 - view->area.y0) * view->mm_per_px};
}

/* ---- The answer --------------------------------------------------------------------------- */

static enum order order_of(const struct vision_result *result, const struct annotate_goal *goal)
{
    bool unsure = !goal->balls_px && result->status == VISION_UNSURE;
    if (!goal->judged)
        return unsure ? ORDER_UNSURE : ORDER_NOTED;
    return order_make(&(struct order_question){unsure, goal->any_square, goal->off_deg,
                                               goal->expanded_deg, goal->tolerance_deg});
}

/* The others stay in the order of their letters. */
static void put_first(struct vision_result *result, int arm)
{
    struct vision_arm first = result->arms[arm];
    memmove(&result->arms[1], &result->arms[0], (size_t)arm * sizeof first);
    result->arms[0] = first;
}

/* Against square, as the words have it. */
static void judge_by_itself(const struct vision_result *result, struct annotate_answer *out)
{
    struct verdict verdict;
    verdict_of_photo(result, &verdict_square, &verdict);
    verdict_undecided(&verdict, out->undecided);
    out->order = verdict.order;
    put_first(&out->result, verdict.index);
}

bool annotate_all_square(const struct annotate_answer *answer)
{
    return !answer->goal || answer->goal->all_square;
}

double annotate_limit_deg(const struct annotate_answer *answer, const struct vision_arm *arm)
{
    if (arm != &answer->result.arms[0] || (answer->goal && !answer->goal->judged))
        return NAN;
    return answer->goal ? answer->goal->tolerance_deg : DECISION_USUAL_DEG;
}

const char *annotate_instead(const struct annotate_answer *answer)
{
    return answer->order == ORDER_NONE && answer->goal ? answer->goal->instead : NULL;
}

void annotate_answer_make(const struct vision_result *result, const struct annotate_goal *goal,
                          struct annotate_answer *out)
{
    const bool links = goal && goal->balls_px; /* whatever the arms are like */
    *out = (struct annotate_answer){.result = *result, .goal = goal, .order = ORDER_NONE};
    if (!links && (result->status == VISION_FAILED || result->arm_count < 1))
        return;
    if (!goal) {
        judge_by_itself(result, out);
        return;
    }
    out->order = order_of(result, goal);
    snprintf(out->undecided, sizeof out->undecided, "%s",
             goal->undecided ? goal->undecided : "Measure again, better.");
    if (links)
        out->result.arm_count = 0;
    if (links || goal->arm < 0 || goal->arm >= result->arm_count)
        return;
    put_first(&out->result, goal->arm);
    if (goal->judged) {
        struct vision_arm *meant = &out->result.arms[0];
        meant->deviation_deg = goal->off_deg;
        meant->u_deg = goal->expanded_deg / uncertainty_normal_coverage();
        meant->budget_count = 0; /* this u is known as well as the goal knows it */
    }
}

/* ---- What part of the photo --------------------------------------------------------------- */

static void take_in(struct vision_rect *rect, struct vision_point px)
{
    rect->x0 = (int)fmin(rect->x0, floor(px.x));
    rect->y0 = (int)fmin(rect->y0, floor(px.y));
    rect->x1 = (int)fmax(rect->x1, ceil(px.x));
    rect->y1 = (int)fmax(rect->y1, ceil(px.y));
}

/* The card, the arms and the reference with some room around them; all of the photo when there is
 * no card. A phone's screen is small: bench around the card would cost the arm its size. */
static struct vision_rect choose_area(const struct annotate_answer *answer)
{
    const struct vision_result *result = &answer->result;
    int width = result->photo.width_px, height = result->photo.height_px;
    struct vision_rect whole = {0, 0, width, height};
    if (!(result->px_per_mm > 0) || annotate_instead(answer)) /* what is meant may lie anywhere */
        return whole;
    const struct vision_point *corner = result->corners_px;
    struct vision_rect area = {(int)corner[0].x, (int)corner[0].y, (int)corner[0].x,
                               (int)corner[0].y};
    for (int i = 1; i < 4; i++)
        take_in(&area, corner[i]);
    for (int i = 0; i < result->arm_count; i++) {
        const struct vision_arm *arm = &result->arms[i];
        take_in(&area, arm->hub_px); /* may stand beside the card */
        /* with the lines and labels beyond the tip */
        take_in(&area, (struct vision_point){
                           arm->hub_px.x + DRAWN_LENGTHS * (arm->tip_px.x - arm->hub_px.x),
                           arm->hub_px.y + DRAWN_LENGTHS * (arm->tip_px.y - arm->hub_px.y)});
        double reach = hypot(arm->tip_px.x - arm->hub_px.x, arm->tip_px.y - arm->hub_px.y);
        for (int side = -1; side <= 1 && result->of_stickers; side += 2) /* need not be on a card */
            take_in(&area, (struct vision_point){arm->hub_px.x + side * 0.8 * reach,
                                                 arm->hub_px.y + side * 0.8 * reach});
    }
    if (result->arm_count > 0 || annotate_shows_hint(result))
        for (int i = 0; i < 2; i++)
            take_in(&area, result->reference_px[i]);
    if (answer->goal && answer->goal->balls_px)
        for (int i = 0; i < 4; i++)
            take_in(&area, answer->goal->balls_px[i]);
    int room = (int)(0.08 * fmax(area.x1 - area.x0, area.y1 - area.y0));
    area.x0 = area.x0 - room < 0 ? 0 : area.x0 - room;
    area.y0 = area.y0 - room < 0 ? 0 : area.y0 - room;
    area.x1 = area.x1 + room > width ? width : area.x1 + room;
    area.y1 = area.y1 + room > height ? height : area.y1 + room;
    return area.x1 - area.x0 < 16 || area.y1 - area.y0 < 16 ? whole : area;
}

static int long_side(const struct vision_rect *area)
{
    int width = area->x1 - area->x0, height = area->y1 - area->y0;
    return width > height ? width : height;
}

/* As coarse as still gives every pixel of the picture one of its own. */
static int choose_reduce(const struct vision_rect *area)
{
    int reduce = 1;
    while (reduce < 8 && long_side(area) / (reduce * 2) >= LONG_SIDE_PX)
        reduce *= 2;
    return reduce;
}

/* ---- The photo ---------------------------------------------------------------------------- */

static cairo_surface_t *surface_of(const struct vision_image *image)
{
    cairo_surface_t *surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, image->width, image->height);
    if (cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS)
        return surface;
    unsigned char *data = cairo_image_surface_get_data(surface);
    size_t stride = (size_t)cairo_image_surface_get_stride(surface);
    for (int y = 0; y < image->height; y++) {
        const uint8_t *from = image->pixels + (size_t)y * image->stride;
        uint32_t *to = (uint32_t *)(void *)(data + (size_t)y * stride);
        for (int x = 0; x < image->width; x++, from += 3)
            to[x] = (uint32_t)from[0] << 16 | (uint32_t)from[1] << 8 | from[2];
    }
    cairo_surface_mark_dirty(surface);
    return surface;
}

static void paint_photo(cairo_t *cr, const struct annotate_view *view,
                        const struct vision_image *image, cairo_surface_t *surface)
{
    cairo_save(cr);
    cairo_rectangle(cr, view->x_mm, view->y_mm, view->width_mm, view->height_mm);
    cairo_clip(cr);
    cairo_translate(cr, view->x_mm + (image->x0_px - view->area.x0) * view->mm_per_px,
                    view->y_mm + (image->y0_px - view->area.y0) * view->mm_per_px);
    double scale = image->reduce * view->mm_per_px;
    cairo_scale(cr, scale, scale);
    cairo_set_source_surface(cr, surface, 0, 0);
    cairo_pattern_set_extend(cairo_get_source(cr), CAIRO_EXTEND_PAD);
    cairo_pattern_set_filter(cairo_get_source(cr), CAIRO_FILTER_GOOD);
    cairo_paint(cr);
    cairo_restore(cr);
}

/* ---- The picture -------------------------------------------------------------------------- */

struct canvas {
    int width_px, height_px;
    double px_per_mm;
    struct annotate_view view;
};

/* The panel's height depends on how its text breaks, which a context of one pixel can tell. */
static double measure_panel(const struct annotate_answer *answer)
{
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 1, 1);
    cairo_t *cr = cairo_create(surface);
    lettering_prepare(cr);
    double height = annotate_panel_height(cr, answer);
    cairo_destroy(cr);
    cairo_surface_destroy(surface);
    return height;
}

static struct canvas lay_out(const struct annotate_answer *answer)
{
    struct canvas canvas = {.view.area = choose_area(answer)};
    const struct vision_rect *area = &canvas.view.area;
    double scale = (double)LONG_SIDE_PX / long_side(area);
    double shown_width = fmax(1, round((area->x1 - area->x0) * scale));
    double shown_height = fmax(1, round((area->y1 - area->y0) * scale));
    canvas.width_px = (int)fmax(shown_width, MIN_WIDTH_PX);
    canvas.px_per_mm = canvas.width_px / ANNOTATE_WIDTH_MM;
    double panel_px = ceil(measure_panel(answer) * canvas.px_per_mm);
    canvas.height_px = (int)(shown_height + panel_px);
    canvas.view.mm_per_px = scale / canvas.px_per_mm;
    canvas.view.width_mm = shown_width / canvas.px_per_mm;
    canvas.view.height_mm = shown_height / canvas.px_per_mm;
    canvas.view.x_mm = (ANNOTATE_WIDTH_MM - canvas.view.width_mm) / 2;
    return canvas;
}

static void draw(cairo_t *cr, const struct canvas *canvas, const struct vision_image *image,
                 cairo_surface_t *photo, const char *name, const struct annotate_answer *answer)
{
    cairo_scale(cr, canvas->px_per_mm, canvas->px_per_mm);
    lettering_prepare(cr);
    annotate_set(cr, annotate_ink, 1);
    cairo_paint(cr);
    paint_photo(cr, &canvas->view, image, photo);
    annotate_overlay(cr, &canvas->view, answer);
    if (annotate_wants_points(answer))
        annotate_pixel_rim(cr, &canvas->view);
    annotate_panel(cr, canvas->view.height_mm, name, answer);
}

static enum annotate_fault write_surface(const char *path, cairo_surface_t *surface,
                                         const json_t *measurement)
{
    cairo_surface_flush(surface);
    if (cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS)
        return ANNOTATE_MEMORY;
    bool written = picture_record_write(
        path, cairo_image_surface_get_width(surface), cairo_image_surface_get_height(surface),
        cairo_image_surface_get_data(surface), (size_t)cairo_image_surface_get_stride(surface),
        measurement);
    return written ? ANNOTATE_FINE : ANNOTATE_WRITE;
}

static enum annotate_fault compose(const char *path, const char *name, const struct canvas *canvas,
                                   struct vision_image *image, const struct annotate_answer *answer,
                                   const json_t *measurement)
{
    cairo_surface_t *photo = surface_of(image);
    cairo_surface_t *surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, canvas->width_px, canvas->height_px);
    cairo_t *cr = cairo_create(surface);
    draw(cr, canvas, image, photo, name, answer);
    bool drawn = cairo_status(cr) == CAIRO_STATUS_SUCCESS;
    cairo_destroy(cr);
    cairo_surface_destroy(photo);
    vision_image_clear(image);
    enum annotate_fault fault = drawn ? write_surface(path, surface, measurement) : ANNOTATE_MEMORY;
    int saved = errno;
    cairo_surface_destroy(surface);
    errno = saved;
    return fault;
}

enum annotate_fault annotate_write(const char *path, const char *name,
                                   const struct vision_photo *photo,
                                   const struct vision_result *result, const json_t *measurement,
                                   const struct annotate_goal *goal)
{
    struct annotate_answer answer;
    annotate_answer_make(result, goal, &answer);
    struct canvas canvas = lay_out(&answer);
    struct vision_image image;
    enum vision_reason reason =
        vision_photo_decode(photo, choose_reduce(&canvas.view.area), &canvas.view.area, 3, &image);
    if (reason != VISION_REASON_NONE)
        return reason == VISION_NO_MEMORY ? ANNOTATE_MEMORY : ANNOTATE_PHOTO;
    const char *slash = strrchr(name, '/');
    char *clean = clean_text(slash ? slash + 1 : name);
    if (!clean) {
        vision_image_clear(&image);
        return ANNOTATE_MEMORY;
    }
    enum annotate_fault fault = compose(path, clean, &canvas, &image, &answer, measurement);
    int saved = errno;
    free(clean);
    errno = saved;
    return fault;
}
