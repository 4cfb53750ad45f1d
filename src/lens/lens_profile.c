#include "lens_profile.h"

#include "base/input_file.h"
#include "base/safe_file.h"
#include "base/utc_clock.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FORMAT "armsquare lens profile"
#define SAME_FOCAL 0.005 /* EXIF rounds focal lengths to hundredths of a millimetre */
#define SAME_ZOOM 0.01   /* of the 35 mm equivalent, in whole millimetres; zoom steps are larger */
/* A 35 mm equivalent is rounded, by the diagonal or the long side, and forgets how near the lens is
 * focused: some per cent. Further off it is another lens, whatever the profile's photos told. */
#define SAME_LENS 0.15
#define U VISION_LENS_UNKNOWNS

/* ---- Which photos ------------------------------------------------------------------------- */

static bool about(double a, double b, double share)
{
    return fabs(a - b) <= share * fmax(fabs(a), fabs(b));
}

static bool same_size(const struct vision_photo_info *info, int width_px, int height_px)
{
    int width, height;
    vision_sensor_size(info, &width, &height);
    return width == width_px && height == height_px;
}

enum lens_match lens_profile_match(const struct lens_profile *p,
                                   const struct vision_photo_info *info)
{
    bool named = *info->camera && info->focal_mm > 0;
    if (!same_size(info, p->lens.width_px, p->lens.height_px))
        return LENS_MATCH_NOT;
    if ((*info->camera && *p->camera && strcmp(info->camera, p->camera) != 0) ||
        (info->focal_mm > 0 && p->focal_mm > 0 &&
         !about(info->focal_mm, p->focal_mm, SAME_FOCAL)) ||
        (info->focal_px > 0 && p->exif_focal_px > 0 &&
         !about(info->focal_px, p->exif_focal_px, SAME_ZOOM)) ||
        (info->focal_px > 0 && !about(info->focal_px, p->lens.focal_px, SAME_LENS)))
        return LENS_MATCH_NOT;
    if (!named || !*p->camera || !(p->focal_mm > 0) ||
        (info->focal_px > 0) != (p->exif_focal_px > 0))
        return LENS_MATCH_UNKNOWN;
    return LENS_MATCH;
}

const char *lens_profile_difference(const struct vision_photo_info *a,
                                    const struct vision_photo_info *b)
{
    int width, height;
    vision_sensor_size(b, &width, &height);
    if (strcmp(a->camera, b->camera) != 0)
        return "camera";
    if (!about(a->focal_mm, b->focal_mm, SAME_FOCAL))
        return "lens";
    if (!same_size(a, width, height))
        return "size";
    return about(a->focal_px, b->focal_px, SAME_ZOOM) ? NULL : "zoom";
}

void lens_profile_make(const struct vision_photo_info *photo, const struct vision_lens_fit *fit,
                       int photos, struct lens_profile *out)
{
    *out = (struct lens_profile){.lens = fit->lens,
                                 .focal_mm = photo->focal_mm,
                                 .exif_focal_px = photo->focal_px,
                                 .photos = photos,
                                 .rms_px = fit->rms_px,
                                 .held_out_px = fit->held_out_px,
                                 .covered = fit->covered,
                                 .removed_deg = fit->removed_deg};
    snprintf(out->camera, sizeof out->camera, "%s", photo->camera);
    if (*photo->camera && photo->focal_mm > 0)
        snprintf(out->lens.name, sizeof out->lens.name, "%.70s, %.3g mm", photo->camera,
                 photo->focal_mm);
    else
        snprintf(out->lens.name, sizeof out->lens.name, "%.70s",
                 *photo->camera ? photo->camera : "unnamed camera");
    utc_now_text(out->made);
}

/* ---- JSON --------------------------------------------------------------------------------- */

json_t *lens_profile_to_json(const struct lens_profile *p)
{
    const struct vision_lens *lens = &p->lens;
    json_t *covariance = json_array();
    for (int i = 0; i < U * U; i++)
        json_array_append_new(covariance, json_real(lens->cov[i]));
    return json_pack(
        "{s:s, s:i, s:s, s:s, s:s, s:f, s:f, s:i, s:i, s:f, s:[f, f], s:f, s:f, s:o, s:i, s:f, "
        "s:f, s:f, s:f}",
        "format", FORMAT, "version", LENS_PROFILE_VERSION, "name", lens->name, "made", p->made,
        "camera", p->camera, "focal_mm", p->focal_mm, "exif_focal_px", p->exif_focal_px, "width_px",
        lens->width_px, "height_px", lens->height_px, "focal_px", lens->focal_px, "centre_px",
        lens->centre_px.x, lens->centre_px.y, "k1", lens->k1, "k2", lens->k2, "covariance",
        covariance, "photos", p->photos, "rms_px", p->rms_px, "held_out_px", p->held_out_px,
        "covered", p->covered, "removed_deg", p->removed_deg);
}

/* What is read, and the first thing that was wrong with it. */
struct reader {
    const json_t *object;
    const char *wrong; /* NULL: nothing yet */
};

static double number(struct reader *r, const char *key, double low, double high)
{
    const json_t *value = json_object_get(r->object, key);
    double v = json_number_value(value);
    if (!json_is_number(value) || !(v >= low && v <= high)) {
        r->wrong = r->wrong ? r->wrong : key;
        return 0;
    }
    return v;
}

static int whole(struct reader *r, const char *key, int low, int high)
{
    if (!json_is_integer(json_object_get(r->object, key)))
        r->wrong = r->wrong ? r->wrong : key;
    return (int)number(r, key, low, high);
}

/* Names are shown and compared: printable ASCII, as EXIF's are read. */
static void text(struct reader *r, const char *key, char *out, size_t room)
{
    const char *value = json_string_value(json_object_get(r->object, key));
    bool good = value && strlen(value) < room;
    for (const char *c = value; good && *c; c++)
        good = *c >= ' ' && *c <= '~';
    if (!good) {
        r->wrong = r->wrong ? r->wrong : key;
        return;
    }
    snprintf(out, room, "%s", value);
}

static void numbers(struct reader *r, const char *key, double *out, size_t count)
{
    const json_t *list = json_object_get(r->object, key);
    bool good = json_is_array(list) && json_array_size(list) == count;
    for (size_t i = 0; good && i < count; i++) {
        const json_t *value = json_array_get(list, i);
        out[i] = json_number_value(value);
        good = json_is_number(value) && isfinite(out[i]);
    }
    if (!good)
        r->wrong = r->wrong ? r->wrong : key;
}

static void read_fields(struct reader *r, struct lens_profile *p)
{
    struct vision_lens *lens = &p->lens;
    double centre[2] = {0};
    text(r, "name", lens->name, sizeof lens->name);
    text(r, "made", p->made, sizeof p->made);
    text(r, "camera", p->camera, sizeof p->camera);
    p->focal_mm = number(r, "focal_mm", 0, 5000);
    p->exif_focal_px = number(r, "exif_focal_px", 0, 1e7);
    lens->width_px = whole(r, "width_px", 1, 100000);
    lens->height_px = whole(r, "height_px", 1, 100000);
    lens->focal_px = number(r, "focal_px", 1, 1e7);
    numbers(r, "centre_px", centre, 2);
    lens->centre_px = (struct vision_point){centre[0], centre[1]};
    lens->k1 = number(r, "k1", -2, 2);
    lens->k2 = number(r, "k2", -10, 10);
    numbers(r, "covariance", lens->cov, (size_t)U * U);
    p->photos = whole(r, "photos", 0, 100000);
    p->rms_px = number(r, "rms_px", 0, 1000);
    p->held_out_px = number(r, "held_out_px", 0, 1000);
    p->covered = number(r, "covered", 0, 1);
    p->removed_deg = number(r, "removed_deg", 0, 180);
}

static const char *const again = "make it anew with \"armsquare lens\"";

/* What kind of file it is, before what it says. */
static bool is_profile(const json_t *root, char problem[LENS_PROFILE_PROBLEM])
{
    const char *format = json_string_value(json_object_get(root, "format"));
    const json_t *version = json_object_get(root, "version");
    if (!format || strcmp(format, FORMAT) != 0) {
        snprintf(problem, LENS_PROFILE_PROBLEM,
                 "is no lens profile; give the file that \"armsquare lens\" wrote.");
        return false;
    }
    if (json_integer_value(version) > LENS_PROFILE_VERSION) {
        snprintf(problem, LENS_PROFILE_PROBLEM,
                 "was written by a newer armsquare; use that one, or %s.", again);
        return false;
    }
    if (json_integer_value(version) < 1) {
        snprintf(problem, LENS_PROFILE_PROBLEM, "is damaged (\"version\"); %s.", again);
        return false;
    }
    return true;
}

bool lens_profile_parse(const char *bytes, size_t size, struct lens_profile *out,
                        char problem[LENS_PROFILE_PROBLEM])
{
    struct lens_profile p = {0};
    json_error_t error;
    json_t *root = json_loadb(bytes, size, JSON_REJECT_DUPLICATES, &error);
    struct reader r = {.object = root};
    bool good = is_profile(root, problem);
    if (good) {
        read_fields(&r, &p);
        if (!r.wrong && !vision_lens_is_sound(&p.lens))
            r.wrong = "values that no lens has";
        good = !r.wrong;
        if (r.wrong)
            snprintf(problem, LENS_PROFILE_PROBLEM, "is damaged (%s); %s.", r.wrong, again);
    }
    json_decref(root);
    if (good)
        *out = p;
    return good;
}

/* ---- Files -------------------------------------------------------------------------------- */

bool lens_profile_read(const char *path, struct lens_profile *out,
                       char problem[LENS_PROFILE_PROBLEM])
{
    FILE *file = input_file_open(path);
    char *bytes = file ? malloc(LENS_PROFILE_MOST_BYTES + 1) : NULL;
    size_t size = bytes ? fread(bytes, 1, LENS_PROFILE_MOST_BYTES + 1, file) : 0;
    bool good = false;
    if (!bytes || ferror(file))
        snprintf(problem, LENS_PROFILE_PROBLEM, "cannot be read: %s.", input_file_says(errno));
    else if (size > LENS_PROFILE_MOST_BYTES)
        snprintf(problem, LENS_PROFILE_PROBLEM,
                 "is no lens profile; give the file that \"armsquare lens\" wrote.");
    else
        good = lens_profile_parse(bytes, size, out, problem);
    free(bytes);
    if (file)
        fclose(file);
    return good;
}

bool lens_profile_write(const char *path, const struct lens_profile *profile)
{
    json_t *json = lens_profile_to_json(profile);
    struct safe_file file;
    if (!json) {
        errno = ENOMEM;
        return false;
    }
    bool good = safe_file_open(&file, path);
    if (good) {
        if (json_dumpf(json, file.stream, JSON_INDENT(1) | JSON_REAL_PRECISION(12)) == 0 &&
            putc('\n', file.stream) != EOF) {
            good = safe_file_commit(&file);
        } else {
            good = false;
            int saved = errno;
            safe_file_abandon(&file);
            errno = saved;
        }
    }
    json_decref(json);
    return good;
}
