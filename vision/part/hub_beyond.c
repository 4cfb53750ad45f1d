#include "hub_beyond.h"

#include "card/card_line.h"
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
        float(*row)[3] = &v->look[j * v->width];
        card_line_read(&line, 0, v->width, row);
        for (int i = 0; i < v->width; i++)
            for (int c = 0; c < 3; c++)
                row[i][c] = row[i][0] >= 0 ? sqrtf(row[i][c]) : -1;
    }
    return true;
}

/* ---- Rings ----------------------------------------------------------------------------------- */

#define WAYS 36               /* across a rim */
#define DIRECTIONS (2 * WAYS) /* on it; opposite ones are one way */
#define PLAIN 0.9             /* share of a rim that leaves no doubt of a ring */
#define NO_EDGE (-1)          /* the look does not change */
#define UNSEEN (-2)

struct ring {
    int x, y, radius; /* pixels of the view */
    double score;
};

/* For each pixel of a view the way in which its look changes most, or NO_EDGE or UNSEEN. */
struct rims {
    const struct view *v;
    int16_t *way;
    int dx[DIRECTIONS], dy[DIRECTIONS]; /* of the rim's directions, in 1024ths */
};

static int16_t way_of_change(const struct view *v, int i, int j)
{
    const int reach = 2;
    if (i < reach || j < reach || i >= v->width - reach || j >= v->height - reach)
        return UNSEEN;
    const float(*at)[3] = &v->look[j * v->width + i];
    const float *left = at[-reach], *right = at[reach];
    const float *up = at[-reach * v->width], *down = at[reach * v->width];
    if (left[0] < 0 || right[0] < 0 || up[0] < 0 || down[0] < 0)
        return UNSEEN;
    float most = STANDS_OUT * STANDS_OUT;
    int16_t way = NO_EDGE;
    for (int c = 0; c < 3; c++) {
        const float x = right[c] - left[c], y = down[c] - up[c], square = x * x + y * y;
        if (square <= most)
            continue;
        most = square;
        way = (int16_t)((lround((double)atan2f(y, x) / PI * WAYS) + WAYS) % WAYS);
    }
    return way;
}

static bool rims_init(struct rims *rims, const struct view *v)
{
    *rims = (struct rims){.v = v,
                          .way = malloc((size_t)v->width * (size_t)v->height * sizeof *rims->way)};
    if (!rims->way)
        return false;
    for (int j = 0; j < v->height; j++)
        for (int i = 0; i < v->width; i++)
            rims->way[j * v->width + i] = way_of_change(v, i, j);
    for (int k = 0; k < DIRECTIONS; k++) {
        rims->dx[k] = (int)lround(1024 * cos(k * 2 * PI / DIRECTIONS));
        rims->dy[k] = (int)lround(1024 * sin(k * 2 * PI / DIRECTIONS));
    }
    return true;
}

/* How far a place so many directions round a circle lies from its middle, pixels. */
static int rim_step(int radius, int in_1024ths)
{
    return (radius * in_1024ths + 512) >> 10;
}

/* Whether a circle's rim is seen in a direction, and whether the look changes across it there. */
static bool rim_seen(const struct rims *rims, const struct ring *ring, int k, bool *told)
{
    enum { PLACES = 1, ASKEW = 4 }; /* pixels that a circle may be off; ways */
    const struct view *v = rims->v;
    bool seen = false;
    *told = false;
    for (int place = -PLACES; place <= PLACES; place++) {
        const int x = ring->x + rim_step(ring->radius + place, rims->dx[k]);
        const int y = ring->y + rim_step(ring->radius + place, rims->dy[k]);
        if (x < 0 || y < 0 || x >= v->width || y >= v->height)
            continue;
        const int way = rims->way[y * v->width + x], askew = abs(way - k % WAYS);
        seen = seen || way != UNSEEN;
        *told = *told || (way >= 0 && (askew <= ASKEW || askew >= WAYS - ASKEW));
    }
    return seen;
}

/* Parts of a rim: where the arm leaves it, where one opposite may, and what is clear of both. */
enum rim_part { RIM_CLEAR, RIM_OPPOSITE, RIM_ARM, RIM_PARTS };

static enum rim_part part_of_rim(const struct rims *rims, const struct ring *ring, int k)
{
    const int x = ring->x + rim_step(ring->radius, rims->dx[k]);
    if (fabs(x - middle_of(rims->v)) > rims->v->half_width)
        return RIM_CLEAR;
    return rims->dy[k] > 0 ? RIM_OPPOSITE : RIM_ARM;
}

/* The share of a circle's rim across which the look changes: of all of it, or, of a boss broader
 * than the arm, of what the arm leaves. Unless nothing shows of its far side: then the bar may pass
 * over something round. */
static double rim_share(const struct rims *rims, const struct ring *ring)
{
    const double least = 0.4 * DIRECTIONS; /* of it must be seen: the photo may end there */
    const double passed = 0.4;
    int seen[RIM_PARTS] = {0}, told[RIM_PARTS] = {0};
    for (int k = 0; k < DIRECTIONS; k++) {
        bool is_told;
        const enum rim_part part = part_of_rim(rims, ring, k);
        seen[part] += rim_seen(rims, ring, k, &is_told);
        told[part] += is_told;
    }
    const int rest_seen = seen[RIM_CLEAR] + seen[RIM_OPPOSITE];
    const int rest_told = told[RIM_CLEAR] + told[RIM_OPPOSITE];
    const double all = (rest_told + told[RIM_ARM]) / fmax(rest_seen + seen[RIM_ARM], least);
    if (ring->radius < rims->v->half_width || told[RIM_OPPOSITE] < passed * seen[RIM_OPPOSITE])
        return all;
    return fmax(all, rest_told / fmax(rest_seen, least));
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
static double ring_score(const struct rims *rims, const struct ring *ring)
{
    const double usual_mm = 16, each_mm = 0.01;
    return rim_share(rims, ring) - each_mm * fmax(0, ring->y * PITCH_MM - usual_mm);
}

/* What a ring's score leaves of doubt: chance makes rings of up to some 0.75.
 * docs/decisions.md, "A hub beyond the card". */
static enum hub_certainty certainty_of(double score)
{
    const double likely = 0.79;
    return score >= PLAIN ? HUB_PLAIN : score > likely ? HUB_LIKELY : HUB_MAYBE;
}

/* A hub is a ring within a ring: screw, bore, boss. Of those that are plain the broadest says most:
 * holes and round ends of arms are not broader than the arm. */
static bool is_better(const struct ring *a, const struct ring *b)
{
    const double as = fmin(a->score, PLAIN), bs = fmin(b->score, PLAIN);
    return as > bs || (as == bs && a->radius > b->radius);
}

/* The best ring about a place, by steps of one pixel. */
static struct ring refine_ring(const struct rims *rims, const struct ring *about)
{
    struct ring best = *about, tried;
    for (tried.y = about->y - 1; tried.y <= about->y + 1; tried.y++)
        for (tried.x = about->x - 1; tried.x <= about->x + 1; tried.x++)
            for (tried.radius = about->radius - 1; tried.radius <= about->radius + 1;
                 tried.radius++) {
                tried.score = ring_score(rims, &tried);
                if (is_better(&tried, &best))
                    best = tried;
            }
    return best;
}

/* Whether every sixth direction of a rim shows enough for the rest to be worth a look: most do not.
 */
static bool may_be_ring(const struct rims *rims, const struct ring *ring)
{
    const int stride = 6, least = DIRECTIONS / stride / 2;
    int told = 0;
    for (int k = 0; k < DIRECTIONS; k += stride) {
        bool is_told;
        rim_seen(rims, ring, k, &is_told);
        told += is_told;
    }
    return told >= least;
}

/* The best of all circles about the axis, in steps that the breadth of an edge allows for. */
static struct ring best_ring(const struct rims *rims, int aside_px)
{
    const int step = 2, middle = (int)middle_of(rims->v);
    struct ring best = {.score = 0}, tried;
    for (tried.radius = (int)(LEAST_RADIUS_MM / PITCH_MM); tried.radius < MOST_RADIUS_MM / PITCH_MM;
         tried.radius += step)
        for (tried.y = 0; tried.y + tried.radius < rims->v->height; tried.y += step)
            for (tried.x = middle - aside_px; tried.x <= middle + aside_px; tried.x += step) {
                if (!may_be_ring(rims, &tried))
                    continue;
                tried.score = ring_score(rims, &tried);
                if (is_better(&tried, &best))
                    best = tried;
            }
    return best.score > 0 ? refine_ring(rims, &best) : best;
}

static bool find_ring(const struct view *v, double aside_mm, struct hub_beyond *out)
{
    const double round_about = 0.76;
    struct rims rims;
    if (!rims_init(&rims, v))
        return false;
    const struct ring best = best_ring(&rims, (int)(aside_mm / PITCH_MM));
    free(rims.way);
    *out = (struct hub_beyond){.at_mm = point_at(v, best.x, best.y),
                               .radius_mm = best.radius * PITCH_MM,
                               .certainty = certainty_of(best.score)};
    return best.score > round_about;
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
