#include "arm_lines.h"
#include "reference.h"
#include "stage.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define MIN_PX_PER_MM 2.5
#define MAX_OBLIQUITY_DEG 55.0

/* Of plane_misfit. Half a percent of print scale between across and along makes 0.01, refocusing by
 * 4 % 0.04 at 45 degrees; before their true lens 74 test photos have 0.0025 at most. A focal length
 * that is half, or one and a half times, the true one makes this much at 16 degrees and more. */
#define MAX_LENS_MISFIT 0.06

struct vision_options vision_options_default(void)
{
    return (struct vision_options){.reference = VISION_REFERENCE_CARD,
                                   .bar_scale_x = 1,
                                   .bar_scale_y = 1,
                                   .card_tilt_deg = 0.4,
                                   .threads = 1};
}

bool stage_in_photo(const struct stage *s, struct vision_point px)
{
    const struct vision_photo_info *photo = &s->out->photo;
    return px.x >= 0 && px.y >= 0 && px.x < photo->width_px && px.y < photo->height_px;
}

/* Whether a marker in view was not found, but for those in the corners, where fingers hold the
 * card. */
static bool hides_square(const struct stage *s)
{
    const double corner = 0.3; /* of width and height, from the middle */
    const struct vision_card *card = s->fix.card;
    for (int i = 0; i < card->marker_count; i++) {
        const struct vision_point mm = card->markers[i].centre_mm;
        bool found = fabs(mm.x) > corner * card->width_mm && fabs(mm.y) > corner * card->height_mm;
        for (int k = 0; k < s->fix.markers && !found; k++)
            found = s->fix.which[k] == i;
        if (!found && stage_in_photo(s, vision_plane_to_photo(&s->fix.plane, mm)))
            return true;
    }
    return false;
}

enum vision_reason stage_blame(const struct stage *s, enum vision_reason reason)
{
    if (silhouette_is_blind(&s->silhouette))
        return VISION_CARD_COLOURED;
    const bool none = reason == VISION_NO_PART || reason == VISION_NO_ARM;
    return none && hides_square(s) ? VISION_ARM_ON_SQUARE : reason;
}

void stage_note(struct vision_result *out, enum vision_status status, enum vision_reason reason)
{
    if (status <= out->status)
        return; /* the first of the gravest counts */
    out->status = status;
    out->reason = reason;
}

bool stage_fail(struct vision_result *out, enum vision_reason reason)
{
    out->status = VISION_FAILED;
    out->reason = reason;
    return false;
}

struct stage stage_start(const struct vision_photo *photo, const struct vision_options *options,
                         struct vision_result *out)
{
    *out = (struct vision_result){.status = VISION_OK, .photo = *vision_photo_get_info(photo)};
    struct stage s = {
        .photo = photo,
        .options = options,
        .out = out,
        .middle_px = {(out->photo.width_px - 1) / 2.0, (out->photo.height_px - 1) / 2.0}};
    clock_gettime(CLOCK_MONOTONIC, &s.begin);
    return s;
}

void stage_end(struct stage *s)
{
    struct timespec end;
    arm_lines_forget(s);
    part_field_free(s->field);
    silhouette_clear(&s->silhouette);
    vision_image_clear(&s->image);
    clock_gettime(CLOCK_MONOTONIC, &end);
    s->out->elapsed_ms = (double)(end.tv_sec - s->begin.tv_sec) * 1e3 +
                         (double)(end.tv_nsec - s->begin.tv_nsec) / 1e6;
}

/* ---- Finding it ------------------------------------------------------------------------------ */

int stage_reduce_for(double has, double wanted)
{
    int reduce = 1;
    while (reduce < 8 && has / (reduce * 2) >= wanted)
        reduce *= 2;
    return reduce;
}

int stage_long_side_px(const struct stage *s)
{
    int width = s->out->photo.width_px, height = s->out->photo.height_px;
    return width > height ? width : height;
}

static enum vision_reason search(const struct stage *s, int reduce, enum markers_effort effort,
                                 struct card_fix *out)
{
    struct vision_image grey;
    enum vision_reason reason = vision_photo_decode(s->photo, reduce, NULL, 1, &grey);
    if (reason != VISION_REASON_NONE)
        return reason;
    reason = markers_find(&grey, effort, s->options, out);
    vision_image_clear(&grey);
    return reason;
}

bool stage_is_file_reason(enum vision_reason reason)
{
    return reason > VISION_REASON_NONE && reason <= VISION_NO_MEMORY;
}

static bool card_is_found(enum vision_reason reason, const struct card_fix *fix)
{
    const int enough = 4;
    return reason == VISION_REASON_NONE && fix->markers >= enough;
}

static enum vision_reason find_card(struct stage *s)
{
    int side = stage_long_side_px(s);
    int reduce = stage_reduce_for(side, STAGE_SEARCH_SIDE_PX), finer = reduce > 1 ? reduce / 2 : 1;
    enum vision_reason best = search(s, reduce, MARKERS_QUICK, &s->fix);
    for (; finer > 0 && side / finer <= STAGE_FINEST_SIDE_PX; finer /= 2) {
        if (card_is_found(best, &s->fix) || stage_is_file_reason(best) ||
            best == VISION_MIXED_CARDS)
            break;
        struct card_fix fix = {0};
        enum vision_reason reason = search(s, finer, MARKERS_THOROUGH, &fix);
        if (stage_is_file_reason(reason))
            return reason;
        if (fix.markers < s->fix.markers)
            continue;
        s->fix = fix;
        best = reason;
    }
    return best;
}

/* What the whole photo is to be blamed for, where it shows no card, or too little of one. */
static enum vision_reason blame_photo(const struct stage *s, enum vision_reason reason)
{
    const int camera_side = 640; /* no camera takes fewer pixels along its long side */
    const int dark = 25, white = 250;
    const double most = 0.9, much = 1 / 3.0; /* 16 and 18 % at most in 157 other test photos */
    struct vision_image grey;
    const int side = stage_long_side_px(s);
    if (reason != VISION_NO_CARD && reason != VISION_FEW_MARKERS && reason != VISION_SMALL_CARD)
        return reason;
    if (side < camera_side)
        return VISION_SHRUNK_PHOTO;
    if (vision_photo_decode(s->photo, stage_reduce_for(side, STAGE_SEARCH_SIDE_PX), NULL, 1,
                            &grey) != VISION_REASON_NONE)
        return reason;
    long count[2] = {0};
    for (int y = 0; y < grey.height; y++)
        for (int x = 0; x < grey.width; x++) {
            const uint8_t code = grey.pixels[(size_t)y * grey.stride + (size_t)x];
            count[0] += code <= dark;
            count[1] += code >= white;
        }
    const double all = (double)grey.width * grey.height;
    vision_image_clear(&grey);
    return (double)count[0] > most * all   ? VISION_DARK_PHOTO
           : (double)count[1] > much * all ? VISION_BURNT_PHOTO
                                           : reason;
}

/* Points that were looked up in another photo, where this one shows the same places of the card. */
static void carry_points(struct stage *s, const struct vision_options *asked)
{
    const struct vision_plane *from = asked->hint_plane;
    if (!from || !(from->h[8] > 0))
        return;
    s->carried = *asked;
    enum { POINTS = 4 };
    struct vision_point *points[POINTS] = {&s->carried.hint_px[0], &s->carried.hint_px[1],
                                           &s->carried.hub_hint_px, &s->carried.tip_hint_px};
    for (int i = 0; i < POINTS; i++)
        *points[i] = vision_plane_to_photo(&s->fix.plane, vision_plane_to_card(from, *points[i]));
    s->options = &s->carried;
}

/* The piece of the photo that holds the card, a margin, and the hints. */
static struct vision_rect area_of_interest(const struct stage *s)
{
    double w = s->fix.card->width_mm / 2 + 3, h = s->fix.card->height_mm / 2 + 3;
    double x0 = 1e9, y0 = 1e9, x1 = -1e9, y1 = -1e9;
    struct vision_point p[8];
    int n = 0;
    for (int k = 0; k < 4; k++)
        p[n++] = vision_plane_to_photo(
            &s->fix.plane, (struct vision_point){k == 1 || k == 2 ? w : -w, k >= 2 ? h : -h});
    if (s->options->reference == VISION_REFERENCE_EDGE)
        for (int k = 0; k < 4; k++) {
            const double reach = k & 1 ? REFERENCE_REACH_PX : -REFERENCE_REACH_PX;
            const struct vision_point *hint = &s->options->hint_px[k / 2];
            p[n++] = (struct vision_point){hint->x + reach, hint->y + reach};
        }
    for (int k = 0; k < n; k++) {
        x0 = fmin(x0, p[k].x);
        y0 = fmin(y0, p[k].y);
        x1 = fmax(x1, p[k].x);
        y1 = fmax(y1, p[k].y);
    }
    const double margin = 24;
    struct vision_rect area = {(int)fmax(0, x0 - margin), (int)fmax(0, y0 - margin),
                               (int)fmin(s->out->photo.width_px, x1 + margin),
                               (int)fmin(s->out->photo.height_px, y1 + margin)};
    return area;
}

bool stage_choose_lens(struct stage *s, struct plane_lens *out)
{
    const struct vision_lens *lens = s->options->lens;
    if (!lens) {
        *out = lens_unknown(s->out->photo.width_px, s->out->photo.height_px);
        return true;
    }
    if (!lens_in_photo(lens, &s->out->photo, out))
        return false;
    s->middle_px = out->centre_px;
    snprintf(s->out->lens, sizeof s->out->lens, "%s", lens->name);
    return true;
}

/* Under another focal length a card that was photographed aslant looks unlike a card. The residuals
 * would not tell: a card that bulges leaves up to twice as much before the lens it was taken with
 * as before one that may bend to it. */
static bool speaks_against(const struct stage *s, double focal_px)
{
    const int enough = 4;
    double e[2];
    return s->fix.markers >= enough && plane_misfit(&s->fix.plane, focal_px, s->middle_px, e) &&
           hypot(e[0], e[1]) > MAX_LENS_MISFIT;
}

/* Its relative standard uncertainty is that of a profile with its refocusing, of EXIF's whole
 * millimetres and cropping, or of a guess. */
static double choose_focal_px(const struct stage *s, double *relative_u)
{
    const double given = s->options->focal_px, told = s->out->photo.focal_px;
    *relative_u = 0.02;
    if (given > 0)
        return given;
    if (s->options->lens)
        return s->options->lens->focal_px;
    *relative_u = 0.04;
    if (told > 0 && !speaks_against(s, told))
        return told;
    *relative_u = 0.25;
    double long_side = stage_long_side_px(s);
    double estimate = plane_focal_px(&s->fix.plane, s->middle_px);
    /* a single view tells the focal length poorly: keep it within what cameras have */
    return fmin(3 * long_side, fmax(0.55 * long_side, estimate > 0 ? estimate : 0.8 * long_side));
}

void stage_describe_view(struct stage *s)
{
    struct vision_result *out = s->out;
    const struct vision_point middle = {0, 0};
    out->plane = s->fix.plane;
    out->px_per_mm = plane_px_per_mm(&out->plane, middle);
    s->focal_px = choose_focal_px(s, &s->focal_u);
    if (!plane_obliquity(&out->plane, s->focal_px, s->middle_px, middle, &out->obliquity_deg,
                         s->camera_mm))
        out->obliquity_deg = 90;
}

bool stage_is_too_steep(struct stage *s)
{
    if (s->out->obliquity_deg > MAX_OBLIQUITY_DEG)
        return true;
    if (s->out->obliquity_deg > VISION_UNSURE_OBLIQUITY_DEG)
        stage_note(s->out, VISION_UNSURE, VISION_STEEP_VIEW);
    return false;
}

static void describe_card(struct stage *s)
{
    struct vision_result *out = s->out;
    const struct vision_plane *plane = &s->fix.plane;
    const struct vision_card *card = s->fix.card;
    double w = card->width_mm / 2 * s->fix.bar_scale_x,
           h = card->height_mm / 2 * s->fix.bar_scale_y;
    out->card = card;
    out->markers_found = s->fix.markers;
    out->residual_px = plane->rms_px;
    for (int k = 0; k < 4; k++)
        out->corners_px[k] = vision_plane_to_photo(
            plane, (struct vision_point){k == 1 || k == 2 ? w : -w, k >= 2 ? h : -h});
    stage_describe_view(s);
}

/* What was said of the camera against what the card and the photo's own EXIF data say. */
static enum vision_reason doubt_camera(struct stage *s)
{
    const double alike = 1.3;
    const double widest = 0.3; /* of the long side: no camera sees 118 degrees of it in a plane */
    const double given = s->options->focal_px, told = s->out->photo.focal_px;
    if (given > 0 && (given < widest * stage_long_side_px(s) || speaks_against(s, given)))
        return VISION_OTHER_FOCAL;
    if (given > 0 && told > 0 && fmax(given / told, told / given) > alike)
        stage_note(s->out, VISION_UNSURE, VISION_OTHER_FOCAL);
    if (s->options->lens && !s->lens_is_guess && speaks_against(s, s->options->lens->focal_px))
        return VISION_OTHER_LENS;
    return VISION_REASON_NONE;
}

bool stage_card(struct stage *s)
{
    const struct vision_options *asked = s->options;
    struct plane_lens lens;
    if (!stage_choose_lens(s, &lens))
        return stage_fail(s->out, VISION_OTHER_LENS);
    enum vision_reason reason = find_card(s);
    s->out->card = s->fix.card;
    s->out->markers_found = s->fix.markers;
    if (reason != VISION_REASON_NONE)
        return stage_fail(s->out, blame_photo(s, reason));
    carry_points(s, asked);
    double px_per_mm = plane_px_per_mm(&s->fix.plane, (struct vision_point){0, 0});
    int reduce = stage_reduce_for(px_per_mm, STAGE_FINE_PX_PER_MM);
    struct vision_rect area = area_of_interest(s);
    if (area.x0 >= area.x1 || area.y0 >= area.y1)
        return stage_fail(s->out, VISION_FEW_MARKERS);
    reason = vision_photo_decode(s->photo, reduce, &area, 3, &s->image);
    if (reason != VISION_REASON_NONE)
        return stage_fail(s->out, reason);
    reason = markers_refine(&s->image, &lens, &s->fix);
    describe_card(s);
    carry_points(s, asked);
    if (reason == VISION_REASON_NONE || reason == VISION_BENT_CARD) {
        const enum vision_reason doubt = doubt_camera(s);
        if (doubt != VISION_REASON_NONE)
            reason = doubt;
    }
    if (reason == VISION_REASON_NONE && s->out->px_per_mm < MIN_PX_PER_MM)
        reason = VISION_SMALL_CARD;
    if (reason != VISION_REASON_NONE)
        return stage_fail(s->out, blame_photo(s, reason));
    if (stage_is_too_steep(s))
        return stage_fail(s->out, VISION_STEEP_VIEW);
    if (s->fix.markers < 3)
        stage_note(s->out, VISION_UNSURE, VISION_FEW_MARKERS);
    return true;
}

enum vision_reason vision_card_view(const struct vision_photo *photo,
                                    const struct vision_options *options,
                                    struct vision_card_view *out)
{
    struct vision_result result;
    struct stage s = stage_start(photo, options, &result);
    s.lens_is_guess = true;
    bool good = stage_card(&s);
    stage_end(&s);
    if (!good)
        return result.reason;
    *out = (struct vision_card_view){.photo = result.photo,
                                     .count = 4 * s.fix.markers,
                                     .half_width_mm = result.card->width_mm / 2,
                                     .half_height_mm = result.card->height_mm / 2};
    for (int i = 0; i < out->count; i++) {
        out->mm[i] = markers_corner_mm(&s.fix, i / 4, i % 4);
        out->px[i] = vision_sensor_point(&result.photo, s.fix.corners_px[i]);
    }
    return VISION_REASON_NONE;
}
