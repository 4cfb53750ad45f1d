#include "hub_beyond.h"

#include "card/card_line.h"
#include "card/shim.h"
#include "maths/angle.h"
#include "photo/sample.h"

#include <math.h>
#include <stdlib.h>

#define PITCH_MM 0.1
#define LEAST_RADIUS_MM 1.4 /* the arm's own holes are smaller; so are most screws of the case */
#define MOST_RADIUS_MM 6.5
#define DEPTH_MM 36.0 /* how far beyond the edge is looked: long arms are 35 mm */
#define ASIDE_MM 11.0 /* and to either side of the axis */
#define STANDS_OUT                                                                                 \
    0.035F /* difference of roots of light, 1 as bright as can be, that shows an edge */

/* ---- The picture beyond the edge ------------------------------------------------------------- */

/* Seen from straight above and turned, so that the arm's axis runs up its middle and the butt edge
 * lies along its upper end. */
struct view {
    int width, height;
    double half_width;                          /* of the arm, pixels */
    struct vision_point origin_mm, right, down; /* of pixel (0, 0); steps of one pixel, mm */
    float (*look)[3];                           /* roots of light; look[0] < 0: not seen */
};

/* The column of the axis. */
static double middle_of(const struct view *v)
{
    return (v->width - 1) / 2.0;
}

static struct view view_of(const struct part_reach *reach)
{
    const struct part_arm *arm = &reach->part.arms[0];
    const double c = cos(arm->direction_rad), s = sin(arm->direction_rad);
    struct view v = {.width = 2 * (int)(ASIDE_MM / PITCH_MM) + 1,
                     .height = (int)(DEPTH_MM / PITCH_MM),
                     .half_width = arm->width_mm / 2 / PITCH_MM};
    v.right = (struct vision_point){s * PITCH_MM, -c * PITCH_MM};
    v.down = (struct vision_point){-c * PITCH_MM, -s * PITCH_MM};
    v.origin_mm = (struct vision_point){reach->part.hub_mm.x - v.right.x * middle_of(&v),
                                        reach->part.hub_mm.y - v.right.y * middle_of(&v)};
    return v;
}

static struct vision_point point_at(const struct view *v, double i, double j)
{
    return (struct vision_point){v->origin_mm.x + i * v->right.x + j * v->down.x,
                                 v->origin_mm.y + i * v->right.y + j * v->down.y};
}

/* The piece of the photo that shows it. */
static struct vision_rect area_of(const struct view *v, const struct card_fix *fix)
{
    const int margin = 4;
    double x0 = INFINITY, y0 = INFINITY, x1 = -INFINITY, y1 = -INFINITY;
    for (int k = 0; k < 4; k++) {
        struct vision_point px = vision_plane_to_photo(
            &fix->plane, point_at(v, k & 1 ? v->width : 0, k & 2 ? v->height : 0));
        x0 = fmin(x0, px.x);
        x1 = fmax(x1, px.x);
        y0 = fmin(y0, px.y);
        y1 = fmax(y1, px.y);
    }
    const double most = 1e6; /* keeps what the horizon makes of a corner within int */
    return (struct vision_rect){(int)fmax(-most, x0) - margin, (int)fmax(-most, y0) - margin,
                                (int)fmin(most, x1) + margin, (int)fmin(most, y1) + margin};
}

static bool read_view(struct view *v, const struct vision_image *image, const struct card_fix *fix)
{
    v->look = calloc((size_t)v->width * (size_t)v->height, sizeof *v->look);
    if (!v->look)
        return false;
    for (int j = 0; j < v->height; j++) {
        const struct card_line line =
            card_line_start(image, &fix->plane, point_at(v, 0, j), v->right);
        for (int i = 0; i < v->width; i++) {
            float rgb[3], *look = v->look[j * v->width + i];
            const bool seen = card_line_sample(&line, i, rgb);
            for (int c = 0; c < 3; c++)
                look[c] = seen ? sqrtf(fmaxf(0, rgb[c])) : -1;
        }
    }
    return true;
}

static uint8_t *brightness(const struct view *v)
{
    const float luminance[3] = SAMPLE_LUMINANCE;
    const size_t n = (size_t)v->width * (size_t)v->height;
    uint8_t *out = malloc(n);
    for (size_t i = 0; out && i < n; i++)
        out[i] = (uint8_t)(255 * fmaxf(0, fminf(1, sample_dot(v->look[i], luminance))));
    return out;
}

/* ---- Rings ----------------------------------------------------------------------------------- */

static const float *look_at(const struct view *v, double x, double y)
{
    const long i = lround(x), j = lround(y);
    if (i < 0 || j < 0 || i >= v->width || j >= v->height)
        return NULL;
    const float *look = v->look[j * v->width + i];
    return look[0] < 0 ? NULL : look;
}

/* How much the look changes across a point in a direction; below 0 where that is not seen. */
static float step_across(const struct view *v, double x, double y, double c, double s)
{
    const double across = 2;
    const float *a = look_at(v, x - across * c, y - across * s);
    const float *b = look_at(v, x + across * c, y + across * s);
    return a && b ? sample_apart(a, b) : -1;
}

/* Whether a point of a ring that is wider than the arm lies where this arm, or one opposite to it,
 * leaves the ring. */
static bool is_on_arm(const struct view *v, const struct shim_circle *circle, double x)
{
    return circle->radius > v->half_width && fabs(x - middle_of(v)) < v->half_width;
}

/* The share of a circle's rim across which the look changes, at or close to it, and changes less
 * along it: of all of the rim, or of what lies beside the arms where that is more. */
static double rim_share(const struct view *v, const struct shim_circle *circle)
{
    enum { DIRECTIONS = 72, PLACES = 2 };
    const float along_share = 0.6F;
    const double least_seen = 0.4;    /* the photo may end there, and arms leave */
    int seen[2] = {0}, told[2] = {0}; /* on an arm; beside them */
    for (int k = 0; k < DIRECTIONS; k++) {
        const double c = cos(k * 2 * PI / DIRECTIONS), s = sin(k * 2 * PI / DIRECTIONS);
        const bool beside = !is_on_arm(v, circle, circle->x + circle->radius * c);
        float across = -1, along = 0;
        for (int place = -PLACES; place <= PLACES; place++) {
            const double x = circle->x + (circle->radius + place) * c;
            const double y = circle->y + (circle->radius + place) * s;
            const float step = step_across(v, x, y, c, s);
            if (step > across) {
                across = step;
                along = step_across(v, x, y, -s, c);
            }
        }
        seen[beside] += across >= 0;
        told[beside] += across > STANDS_OUT && along < along_share * across;
    }
    const double least = least_seen * DIRECTIONS;
    return fmax((told[0] + told[1]) / fmax(seen[0] + seen[1], least),
                told[1] / fmax(seen[1], least));
}

/* A screw or boss stands some millimetres above or below the arm's sides, and a slanting view shows
 * it that much off their axis. */
static double most_aside_mm(const double camera_mm[3], const struct part_reach *reach)
{
    const double placed_mm = 0.5, height_mm = 3;
    const struct part_arm *arm = &reach->part.arms[0];
    const double away_x = reach->part.hub_mm.x - camera_mm[0];
    const double away_y = reach->part.hub_mm.y - camera_mm[1];
    const double across =
        fabs(-away_x * sin(arm->direction_rad) + away_y * cos(arm->direction_rad));
    return placed_mm + (camera_mm[2] > 0 ? height_mm * across / camera_mm[2] : 0);
}

/* How well a circle serves as the hub's ring: the share of its rim, less for what lies further from
 * the edge than shafts do from the side of a servo's case. */
static double ring_score(const struct view *v, const struct shim_circle *circle)
{
    const double usual_mm = 16, each_mm = 0.01;
    return rim_share(v, circle) - each_mm * fmax(0, circle->y * PITCH_MM - usual_mm);
}

/* What a ring's score leaves of doubt: chance makes rings of up to some 0.7, and large ones meet
 * more edges that they have nothing to do with. docs/decisions.md, "A hub beyond the card". */
static enum hub_certainty certainty_of(double score, double radius_mm)
{
    const double plain = 0.8, small = 0.7, small_mm = 4, each_mm = 0.02;
    if (score > plain)
        return HUB_PLAIN;
    return score > small + each_mm * fmax(0, radius_mm - small_mm) ? HUB_LIKELY : HUB_MAYBE;
}

static bool find_ring(const struct view *v, double aside_mm, struct hub_beyond *out)
{
    enum { MOST_CIRCLES = 48 };
    /* a whole ring is its own witness, also where the axis of a short arm is told poorly */
    const double round_about = 0.67, whole = 0.9, further = 1.5;
    struct shim_circle circles[MOST_CIRCLES];
    int found = 0;
    uint8_t *grey = brightness(v);
    double best = round_about;
    if (!grey ||
        shim_find_circles(grey, v->width, v->height, (size_t)v->width, LEAST_RADIUS_MM / PITCH_MM,
                          MOST_RADIUS_MM / PITCH_MM, circles, MOST_CIRCLES, &found) == SHIM_FAILED)
        found = 0;
    free(grey);
    bool good = false;
    for (int i = 0; i < found && i < MOST_CIRCLES; i++) {
        double score = ring_score(v, &circles[i]);
        const double most_mm = score > whole ? further * aside_mm : aside_mm;
        if (fabs(circles[i].x - middle_of(v)) * PITCH_MM > most_mm || score < best)
            continue;
        good = true;
        best = score;
        *out = (struct hub_beyond){.at_mm = point_at(v, circles[i].x, circles[i].y),
                                   .radius_mm = circles[i].radius * PITCH_MM,
                                   .certainty = certainty_of(score, circles[i].radius * PITCH_MM)};
    }
    return good;
}

bool hub_beyond_find(const struct vision_photo *photo, const struct card_fix *fix,
                     const double camera_mm[3], int reduce, const struct part_reach *reach,
                     struct hub_beyond *out)
{
    struct view v = view_of(reach);
    const struct vision_rect area = area_of(&v, fix);
    struct vision_image image;
    if (vision_photo_decode(photo, reduce, &area, 3, &image) != VISION_REASON_NONE)
        return false; /* beyond the photo */
    bool good = read_view(&v, &image, fix) && find_ring(&v, most_aside_mm(camera_mm, reach), out);
    free(v.look);
    vision_image_clear(&image);
    return good;
}
