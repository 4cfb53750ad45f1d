#include "flat_scene.h"

#include "card_draw.h"
#include "vision.h"

#include <cairo.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WIDTH_PX 1500
#define HEIGHT_PX 1000
#define RAD (3.14159265358979323846 / 180)
#define ARM_MM 15.0

static cairo_t *new_bench(void)
{
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, WIDTH_PX, HEIGHT_PX);
    cairo_t *cr = cairo_create(surface);
    cairo_surface_destroy(surface); /* the context keeps it */
    cairo_set_source_rgb(cr, 0.45, 0.36, 0.28);
    cairo_paint(cr);
    return cr;
}

static void draw_card(cairo_t *cr)
{
    const struct vision_card *card = vision_card_by_name("hand-duo");
    cairo_save(cr);
    cairo_translate(cr, WIDTH_PX / 2.0, HEIGHT_PX / 2.0);
    cairo_scale(cr, FLAT_SCENE_PX_PER_MM, FLAT_SCENE_PX_PER_MM);
    card_draw(cr, card, 0);
    cairo_restore(cr);
}

/* Millimetres from the card's middle, y up. */
static void use_card_frame(cairo_t *cr)
{
    cairo_translate(cr, WIDTH_PX / 2.0, HEIGHT_PX / 2.0);
    cairo_scale(cr, FLAT_SCENE_PX_PER_MM, -FLAT_SCENE_PX_PER_MM);
}

/* A plain tapered arm with a round end, around a round hub, in the present colour. */
static void draw_horn(cairo_t *cr, const double *arm_deg, int arm_count)
{
    cairo_save(cr);
    use_card_frame(cr);
    cairo_arc(cr, 0, 0, 4.2, 0, 360 * RAD);
    cairo_fill(cr);
    for (int i = 0; i < arm_count; i++) {
        cairo_save(cr);
        cairo_rotate(cr, arm_deg[i] * RAD);
        cairo_move_to(cr, 0, -3);
        cairo_line_to(cr, ARM_MM - 2, -2);
        cairo_arc(cr, ARM_MM - 2, 0, 2, -90 * RAD, 90 * RAD);
        cairo_line_to(cr, 0, 3);
        cairo_close_path(cr);
        cairo_fill(cr);
        cairo_restore(cr);
    }
    cairo_restore(cr);
}

static void draw_link(cairo_t *cr, double arm_deg, const struct flat_link *link)
{
    double c = cos(arm_deg * RAD), s = sin(arm_deg * RAD);
    double x = link->along_mm * c - link->aside_mm * s;
    double y = link->along_mm * s + link->aside_mm * c;
    cairo_save(cr);
    use_card_frame(cr);
    cairo_set_line_width(cr, link->rod_mm);
    cairo_move_to(cr, x, y);
    cairo_rel_line_to(cr, 90 * cos(link->rod_deg * RAD), 90 * sin(link->rod_deg * RAD));
    cairo_stroke(cr);
    cairo_arc(cr, x, y, link->radius_mm, 0, 360 * RAD);
    cairo_fill(cr);
    cairo_restore(cr);
}

static struct picture take(cairo_t *cr)
{
    cairo_surface_t *surface = cairo_get_target(cr);
    cairo_surface_flush(surface);
    if (cairo_status(cr) != CAIRO_STATUS_SUCCESS) {
        fputs("flat_scene: cannot draw\n", stderr);
        abort();
    }
    const uint8_t *data = cairo_image_surface_get_data(surface);
    size_t stride = (size_t)cairo_image_surface_get_stride(surface);
    struct picture picture = picture_new(WIDTH_PX, HEIGHT_PX);
    for (size_t y = 0; y < HEIGHT_PX; y++) {
        for (size_t x = 0; x < WIDTH_PX; x++) {
            uint32_t pixel;
            memcpy(&pixel, data + y * stride + 4 * x, sizeof pixel);
            uint8_t *to = picture.rgb + (y * WIDTH_PX + x) * 3;
            to[0] = (uint8_t)(pixel >> 16);
            to[1] = (uint8_t)(pixel >> 8);
            to[2] = (uint8_t)pixel;
        }
    }
    cairo_destroy(cr);
    return picture;
}

struct picture flat_scene(const double *arm_deg, int arm_count)
{
    return flat_scene_with_link(arm_deg, arm_count, NULL);
}

struct picture flat_scene_with_link(const double *arm_deg, int arm_count,
                                    const struct flat_link *link)
{
    cairo_t *cr = new_bench();
    draw_card(cr);
    cairo_set_source_rgb(cr, 0.06, 0.06, 0.07);
    draw_horn(cr, arm_deg, arm_count);
    if (link)
        draw_link(cr, arm_deg[0], link);
    return take(cr);
}

struct picture flat_scene_bare_card(void)
{
    cairo_t *cr = new_bench();
    draw_card(cr);
    return take(cr);
}

struct picture flat_scene_bench(void)
{
    return take(new_bench());
}
