#include "drawing_file.h"

#include "arithmetic/inch.h"
#include "base/safe_file.h"
#include "cairo_good.h"
#include "pdf_true_size.h"
#include "png_write.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

/* A PNG is drawn in bands of at most so many bytes: a sheet at 2400 dpi would need 2 GB at once. */
#define BAND_BYTES (16u << 20)

enum drawing_format drawing_format_of(const char *path)
{
    static const char *const suffixes[] = {".pdf", ".svg", ".png"};
    size_t length = strlen(path);
    for (int i = 0; i < 3; i++)
        if (length > 4 && strcasecmp(path + length - 4, suffixes[i]) == 0)
            return (enum drawing_format)i;
    return DRAWING_UNKNOWN;
}

static cairo_status_t write_to_stream(void *stream, const unsigned char *bytes, unsigned int size)
{
    return fwrite(bytes, 1, size, stream) == size ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

/* Draws on a vector surface, ends and frees it. */
static bool draw_vector(cairo_surface_t *surface, const struct drawing *drawing,
                        double units_per_mm)
{
    cairo_t *cr = cairo_create(surface);
    cairo_scale(cr, units_per_mm, units_per_mm);
    drawing->draw(cr, drawing->subject);
    cairo_status_t status = cairo_status(cr);
    cairo_destroy(cr);
    cairo_surface_finish(surface);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    return cairo_is_good(status);
}

static bool draw_pdf(FILE *to, const struct drawing *drawing)
{
    double points_per_mm = 1 / MM_PER_POINT;
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(
        write_to_stream, to, drawing->width_mm * points_per_mm, drawing->height_mm * points_per_mm);
    /* As plain a file as cairo makes: pdf_true_size_write reads it. */
    cairo_pdf_surface_restrict_to_version(surface, CAIRO_PDF_VERSION_1_4);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, drawing->title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR,
                                   "armsquare " ARMSQUARE_VERSION);
    return draw_vector(surface, drawing, points_per_mm);
}

static bool write_pdf(FILE *to, const struct drawing *drawing)
{
    char *bytes = NULL;
    size_t size = 0;
    FILE *memory = open_memstream(&bytes, &size);
    if (!memory)
        return false;
    bool good = draw_pdf(memory, drawing);
    if (fclose(memory) != 0)
        good = false;
    good = good && pdf_true_size_write(to, bytes, size);
    int saved = errno;
    free(bytes);
    errno = saved;
    return good;
}

static bool write_svg(FILE *to, const struct drawing *drawing)
{
    cairo_surface_t *surface = cairo_svg_surface_create_for_stream(
        write_to_stream, to, drawing->width_mm, drawing->height_mm);
    cairo_svg_surface_set_document_unit(surface, CAIRO_SVG_UNIT_MM);
    return draw_vector(surface, drawing, 1);
}

static bool draw_bands(struct png_writer *writer, const struct drawing *drawing, int width_px,
                       int height_px, double px_per_mm)
{
    int band_px = (int)(BAND_BYTES / (4 * (unsigned)width_px)) + 1;
    if (band_px > height_px)
        band_px = height_px;
    cairo_surface_t *band = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width_px, band_px);
    bool good = true;
    for (int top_px = 0; good && top_px < height_px; top_px += band_px) {
        cairo_t *cr = cairo_create(band);
        cairo_set_source_rgb(cr, 1, 1, 1);
        cairo_paint(cr);
        cairo_translate(cr, (width_px - drawing->width_mm * px_per_mm) / 2,
                        (height_px - drawing->height_mm * px_per_mm) / 2 - top_px);
        cairo_scale(cr, px_per_mm, px_per_mm);
        drawing->draw(cr, drawing->subject);
        good = cairo_is_good(cairo_status(cr));
        cairo_destroy(cr);
        cairo_surface_flush(band);
        int rows = height_px - top_px < band_px ? height_px - top_px : band_px;
        good = good && png_writer_rows(writer, cairo_image_surface_get_data(band),
                                       (size_t)cairo_image_surface_get_stride(band), rows);
    }
    int saved = errno;
    cairo_surface_destroy(band);
    errno = saved;
    return good;
}

static bool write_png(FILE *to, const struct drawing *drawing, double dpi)
{
    double px_per_mm = dpi / MM_PER_INCH;
    struct png_header header = {
        .width_px = (int)lround(drawing->width_mm * px_per_mm),
        .height_px = (int)lround(drawing->height_mm * px_per_mm),
        .pixels = PNG_PIXELS_XRGB,
        .dpi = dpi,
        .texts = (struct png_text[]){{"Title", drawing->title},
                                     {"Software", "armsquare " ARMSQUARE_VERSION}},
        .text_count = 2,
    };
    struct png_writer *writer = png_writer_new(to, &header);
    if (!writer)
        return false;
    if (draw_bands(writer, drawing, header.width_px, header.height_px, px_per_mm))
        return png_writer_finish(writer);
    int saved = errno;
    png_writer_free(writer);
    errno = saved;
    return false;
}

bool drawing_file_write(const char *path, enum drawing_format format, const struct drawing *drawing,
                        double dpi)
{
    struct safe_file file;
    if (!safe_file_open(&file, path))
        return false;
    errno = 0;
    bool good = format == DRAWING_PDF   ? write_pdf(file.stream, drawing)
                : format == DRAWING_SVG ? write_svg(file.stream, drawing)
                                        : write_png(file.stream, drawing, dpi);
    if (good)
        return safe_file_commit(&file);
    int saved = errno;
    safe_file_abandon(&file);
    errno = saved;
    return false;
}
