#include "card_picture.h"
#include "photo_file.h"
#include "sheet/card_draw.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SUB 2 /* drawn so many times finer, then averaged in linear light */

#define PAPER 0.95 /* linear reflectance of bare paper */

static void linear_from_srgb(const uint8_t *srgb, double *out)
{
    for (int k = 0; k < 3; k++)
        out[k] = photo_linear(srgb[k] / 255.0);
}

static double distance2(const double *a, const double *b)
{
    double sum = 0;
    for (int k = 0; k < 3; k++)
        sum += (a[k] - b[k]) * (a[k] - b[k]);
    return sum;
}

/* What the printer makes of a colour: it fades, its tints drift, full black reflects a little. */
static void lay_ink(const struct vision_card *card, const struct card_print *print, double *rgb)
{
    double tints[2][3], luma = 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2];
    for (int t = 0; t < 2; t++)
        linear_from_srgb(card->tint_srgb[t], tints[t]);
    int nearest = distance2(rgb, tints[1]) < distance2(rgb, tints[0]);
    double spread = fmax(rgb[0], fmax(rgb[1], rgb[2])) - fmin(rgb[0], fmin(rgb[1], rgb[2]));
    for (int k = 0; k < 3; k++) {
        double tone = spread > 0.05 ? print->tone[nearest][k] : 1;
        double v = fmin(1, (rgb[k] + print->fade * (luma - rgb[k])) * tone);
        rgb[k] = print->black + (PAPER - print->black) * v;
    }
}

/* What is printed: a card, or a sticker with its pointer. */
struct face {
    const struct vision_card *card; /* of a sticker its marker alone */
    const struct vision_sticker *sticker;
    double left_mm, width_mm, height_mm; /* left: from its origin to the left edge */
};

/* As the program prints it, SUB times finer than asked for. NULL when out of memory. */
static cairo_surface_t *draw_fine(const struct face *face, int width, int height)
{
    cairo_surface_t *surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, width * SUB, height * SUB);
    cairo_t *cr = cairo_create(surface);
    /* Cairo would smooth edges in sRGB, which moves them towards the dark side. */
    cairo_set_antialias(cr, CAIRO_ANTIALIAS_NONE);
    cairo_set_source_rgb(cr, 1, 1, 1);
    cairo_paint(cr);
    cairo_scale(cr, width * SUB / face->width_mm, height * SUB / face->height_mm);
    cairo_translate(cr, face->left_mm, face->height_mm / 2);
    if (face->sticker)
        sticker_draw(cr, face->sticker);
    else
        card_draw(cr, face->card, 1);
    bool good = cairo_status(cr) == CAIRO_STATUS_SUCCESS;
    cairo_destroy(cr);
    cairo_surface_flush(surface);
    if (good)
        return surface;
    cairo_surface_destroy(surface);
    return NULL;
}

/* Linear light of every 8-bit sRGB level. */
static const double *linear_table(void)
{
    static double table[256];
    for (int i = 0; i < 256 && table[255] == 0; i++)
        table[i] = photo_linear(i / 255.0);
    return table;
}

static void shrink_row(cairo_surface_t *fine, int j, int width, double *row)
{
    const uint8_t *data = cairo_image_surface_get_data(fine);
    size_t stride = (size_t)cairo_image_surface_get_stride(fine);
    const double *linear = linear_table();
    memset(row, 0, (size_t)width * 3 * sizeof *row);
    for (int s = 0; s < SUB; s++) {
        const uint32_t *from =
            (const uint32_t *)(const void *)(data + ((size_t)j * SUB + s) * stride);
        for (int i = 0; i < width * SUB; i++)
            for (int k = 0; k < 3; k++)
                row[i / SUB * 3 + k] += linear[from[i] >> (16 - 8 * k) & 255] / (SUB * SUB);
    }
}

static bool write_face(const struct face *face, const struct card_print *print, double dpi,
                       const char *path)
{
    int width = (int)lround(face->width_mm / 25.4 * dpi);
    int height = (int)lround(face->height_mm / 25.4 * dpi);
    uint8_t *pixels = malloc((size_t)width * height * 3);
    double *row = malloc((size_t)width * 3 * sizeof *row);
    cairo_surface_t *fine = draw_fine(face, width, height);
    bool good = pixels && row && fine;
    for (int j = 0; good && j < height; j++) {
        shrink_row(fine, j, width, row);
        for (int i = 0; i < width; i++) {
            lay_ink(face->card, print, row + (size_t)i * 3);
            for (int k = 0; k < 3; k++)
                pixels[((size_t)j * width + i) * 3 + k] =
                    (uint8_t)lround(255 * photo_srgb(row[(size_t)i * 3 + k]));
        }
    }
    good = good && photo_write_png(path, pixels, width, height);
    free(pixels);
    free(row);
    if (fine)
        cairo_surface_destroy(fine);
    return good;
}

bool card_picture_write(const struct vision_card *card, const struct card_print *print, double dpi,
                        const char *path)
{
    const struct face face = {card, NULL, card->width_mm / 2, card->width_mm, card->height_mm};
    return write_face(&face, print, dpi, path);
}

bool sticker_picture_write(const struct vision_sticker *sticker, const struct card_print *print,
                           double dpi, const char *path)
{
    const struct face face = {&sticker->face, sticker, -sticker->x0_mm,
                              sticker->x1_mm - sticker->x0_mm, sticker->face.height_mm};
    return write_face(&face, print, dpi, path);
}
