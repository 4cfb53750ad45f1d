/* Orientation, focal length and camera from EXIF, through libexif. */
#include "photo_internal.h"

#include <libexif/exif-data.h>
#include <math.h>
#include <string.h>

#define MIN_SENSOR_MM 2.0  /* the smallest phones' are over 3 mm wide */
#define MAX_SENSOR_MM 60.0 /* medium format: 54 mm */

/* One number of an entry as a double; NAN when the entry holds none. Counts are libexif's own, but
 * the data may still be shorter than they promise. */
static double entry_number(const ExifEntry *entry, ExifByteOrder order)
{
    if (!entry || !entry->data || entry->components < 1)
        return NAN;
    size_t need = exif_format_get_size(entry->format);
    if (need == 0 || entry->size < need)
        return NAN;
    switch (entry->format) {
    case EXIF_FORMAT_SHORT:
        return exif_get_short(entry->data, order);
    case EXIF_FORMAT_LONG:
        return exif_get_long(entry->data, order);
    case EXIF_FORMAT_RATIONAL: {
        ExifRational ratio = exif_get_rational(entry->data, order);
        return ratio.denominator ? (double)ratio.numerator / ratio.denominator : NAN;
    }
    default:
        return NAN;
    }
}

/* The number of a tag when it lies in [low, high], otherwise 0. */
static double tag_number(ExifData *data, ExifIfd ifd, ExifTag tag, double low, double high)
{
    double value =
        entry_number(exif_content_get_entry(data->ifd[ifd], tag), exif_data_get_byte_order(data));
    return value >= low && value <= high ? value : 0; /* false for NAN */
}

/* Appends the words of a text tag: printable ASCII, single spaces, nothing at the ends. */
static void append_text(const ExifData *data, ExifTag tag, char *text, size_t room)
{
    const ExifEntry *entry = exif_content_get_entry(data->ifd[EXIF_IFD_0], tag);
    if (!entry || !entry->data || entry->format != EXIF_FORMAT_ASCII)
        return;
    size_t length = strlen(text);
    bool gap = length > 0;
    for (size_t i = 0; i < entry->size && entry->data[i]; i++) {
        unsigned char c = entry->data[i];
        if (c <= ' ' || c > '~') {
            gap = length > 0;
            continue;
        }
        if (length + 2 + (gap ? 1 : 0) > room)
            break;
        if (gap)
            text[length++] = ' ';
        gap = false;
        text[length++] = (char)c;
    }
    text[length] = '\0';
}

/* Some cameras repeat the maker at the start of the model: keep it once. */
static void read_camera(const ExifData *data, char *camera, size_t room)
{
    char maker[96] = "", model[96] = "";
    append_text(data, EXIF_TAG_MAKE, maker, sizeof maker);
    append_text(data, EXIF_TAG_MODEL, model, sizeof model);
    camera[0] = '\0';
    if (strncasecmp(model, maker, strlen(maker)) != 0 || model[0] == '\0')
        append_text(data, EXIF_TAG_MAKE, camera, room);
    append_text(data, EXIF_TAG_MODEL, camera, room);
}

/* Millimetres in a unit of tag 0xA210: EXIF 2.3 knows inch and centimetre; millimetre and
 * micrometre are written by some cameras (from memory). The default is the inch. */
static double focal_plane_unit_mm(double unit)
{
    if (unit == 3)
        return 10;
    if (unit == 4)
        return 1;
    if (unit == 5)
        return 0.001;
    return 25.4;
}

void photo_exif_parse(const uint8_t *bytes, size_t size, struct photo_exif *out)
{
    *out = (struct photo_exif){0};
    if (size < 14 || size > 65536 * 4) /* shorter than a TIFF header, or no camera's */
        return;
    ExifData *data = exif_data_new();
    if (!data)
        return;
    exif_data_unset_option(data, EXIF_DATA_OPTION_FOLLOW_SPECIFICATION); /* else it adds tags */
    exif_data_load_data(data, bytes, (unsigned)size);
    double orientation = tag_number(data, EXIF_IFD_0, EXIF_TAG_ORIENTATION, 1, 8);
    out->orientation = orientation == floor(orientation) ? (int)orientation : 0;
    out->focal_mm = tag_number(data, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH, 0.1, 5000);
    out->focal_35mm = tag_number(data, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH_IN_35MM_FILM, 1, 20000);
    double unit = tag_number(data, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_PLANE_RESOLUTION_UNIT, 1, 5);
    out->sensor_px_per_mm =
        tag_number(data, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_PLANE_X_RESOLUTION, 1e-3, 1e8) /
        focal_plane_unit_mm(unit);
    out->exif_width = tag_number(data, EXIF_IFD_EXIF, EXIF_TAG_PIXEL_X_DIMENSION, 1, 1e6);
    out->exif_height = tag_number(data, EXIF_IFD_EXIF, EXIF_TAG_PIXEL_Y_DIMENSION, 1, 1e6);
    read_camera(data, out->camera, sizeof out->camera);
    exif_data_unref(data);
}

/* Has the photo another shape than when EXIF was written? Then it was cropped, and no focal length
 * in pixels follows. Two pixels of slack for rounding after resizing. */
static bool was_cropped(const struct photo_exif *exif, double width, double height)
{
    if (exif->exif_width <= 0 || exif->exif_height <= 0)
        return false;
    double scale = width / exif->exif_width;
    bool same = fabs(exif->exif_height * scale - height) <= 2;
    /* Some programs turn the pixels and leave these two as they were. */
    double scale_turned = width / exif->exif_height;
    bool same_turned = fabs(exif->exif_width * scale_turned - height) <= 2;
    return !same && !same_turned;
}

/* The 35 mm equivalent has the same *diagonal* angle of view as on film of 36 mm x 24 mm, whose
 * diagonal is 43.27 mm (CIPA DCG-001, "35 mm film equivalent focal length"; from memory). So
 *   f_px / diagonal_px = f_35 / 43.27.
 * Going by the long side instead (f_35 / 36) would be 4 % too long for a 4:3 sensor. Whole
 * millimetres are stored, 2 % at 25 mm: a start for a pose, no calibration. */
double photo_exif_focal_px(const struct photo_exif *exif, double width, double height)
{
    if (was_cropped(exif, width, height))
        return 0;
    if (exif->focal_35mm > 0)
        return exif->focal_35mm * hypot(width, height) / hypot(36, 24);
    if (exif->focal_mm > 0 && exif->sensor_px_per_mm > 0) {
        double side_px = fmax(width, height);
        double sensor_px =
            exif->exif_width > 0 ? fmax(exif->exif_width, exif->exif_height) : side_px;
        double sensor_mm = sensor_px / exif->sensor_px_per_mm;
        /* No camera's sensor is so narrow or wide: a program that shrank the photo left the
         * resolution as it was. */
        if (sensor_mm < MIN_SENSOR_MM || sensor_mm > MAX_SENSOR_MM)
            return 0;
        return exif->focal_mm * exif->sensor_px_per_mm * side_px / sensor_px;
    }
    return 0;
}
