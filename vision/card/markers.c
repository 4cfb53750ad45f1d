#include "markers.h"

#include "card_line.h"
#include "maths/angle.h"
#include "maths/linalg.h"
#include "maths/median.h"
#include "shim.h"
#include "tag36h11.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define USUAL_FOUND 64 /* room at first; more when several sheets lie about */
#define SIDE_SAMPLES 48
#define PROFILE_SAMPLES 33
#define USUAL_REACH 0.8 /* cells that a profile reaches either way across a side */
#define SHORT_REACH 0.5 /* stays within the black ring though the side lies half a cell off */

/* A plane needs three markers: two leave the tilt about the line between them to single corners.
 * Two on opposite sides still give a usable, unsure, plane. */
#define MIN_MARKERS 2

struct marker_corners {
    int which;
    struct vision_point px[4];
    double scatter_px; /* of the points along its sides, rms; once refined */
    double white[2];   /* darkest and brightest stretch of white round it; likewise */
};

static void corner_mm(const struct card_fix *fix, int which, int corner, struct vision_point *out)
{
    static const int sx[4] = {-1, 1, 1, -1}, sy[4] = {1, 1, -1, -1};
    double half = fix->card->marker_mm / 2 + fix->swell_mm;
    struct vision_point centre = fix->card->markers[which].centre_mm;
    out->x = (centre.x + sx[corner] * half) * fix->bar_scale_x;
    out->y = (centre.y + sy[corner] * half) * fix->bar_scale_y;
}

struct vision_point markers_corner_mm(const struct card_fix *fix, int i, int k)
{
    struct vision_point mm;
    corner_mm(fix, fix->which[i], k, &mm);
    return mm;
}

int markers_at(const struct card_fix *fix, struct vision_point mm, double clear_mm)
{
    const double reach = markers_half_mm(fix->card) + clear_mm;
    for (int i = 0; i < fix->card->marker_count; i++) {
        const struct vision_point at = fix->card->markers[i].centre_mm;
        if (fabs(mm.x / fix->bar_scale_x - at.x) < reach &&
            fabs(mm.y / fix->bar_scale_y - at.y) < reach)
            return i;
    }
    return -1;
}

static bool fit_plane(struct card_fix *fix, const struct marker_corners *m, int n,
                      const struct plane_lens *lens)
{
    struct vision_point mm[MARKERS_MAX_CORNERS], px[MARKERS_MAX_CORNERS];
    for (int i = 0; i < n; i++)
        for (int k = 0; k < 4; k++) {
            corner_mm(fix, m[i].which, k, &mm[4 * i + k]);
            px[4 * i + k] = m[i].px[k];
        }
    return plane_fit(mm, px, 4 * n, 0, lens, &fix->plane);
}

/* What the swelling still lacks, by least squares over what the plane leaves: swelling by one
 * millimetre moves each corner by the photo's picture of its outward diagonal. */
static double swell_lacking(const struct card_fix *fix, const struct marker_corners *m, int n)
{
    const double step_mm = 0.1;
    struct card_fix swollen = *fix;
    swollen.swell_mm += step_mm;
    double along = 0, square = 0;
    for (int i = 0; i < n; i++)
        for (int k = 0; k < 4; k++) {
            struct vision_point mm, out_mm;
            corner_mm(fix, m[i].which, k, &mm);
            corner_mm(&swollen, m[i].which, k, &out_mm);
            struct vision_point at = vision_plane_to_photo(&fix->plane, mm);
            struct vision_point out = vision_plane_to_photo(&fix->plane, out_mm);
            double dx = (out.x - at.x) / step_mm, dy = (out.y - at.y) / step_mm;
            along += dx * (m[i].px[k].x - at.x) + dy * (m[i].px[k].y - at.y);
            square += dx * dx + dy * dy;
        }
    return square > 0 ? along / square : 0;
}

/* Plane and swelling in turn. The plane can only feign a little of what swelling does (markers grow
 * about their own centres, a plane about one), so each round gains a digit or more. */
static bool fit_markers(struct card_fix *fix, const struct marker_corners *m, int n,
                        const struct plane_lens *lens)
{
    const int rounds = 3;
    const double most = 1.0 / 8 / 4; /* of a side: a quarter of a cell; beyond, it is not print */
    double limit_mm = most * fix->card->marker_mm;
    for (int i = 0; i < rounds; i++) {
        if (!fit_plane(fix, m, n, lens))
            return false;
        double swell_mm = fix->swell_mm + swell_lacking(fix, m, n);
        fix->swell_mm = fmin(limit_mm, fmax(-limit_mm, swell_mm));
    }
    return fit_plane(fix, m, n, lens);
}

static double marker_rms(const struct card_fix *fix, const struct marker_corners *m)
{
    double sum = 0;
    for (int k = 0; k < 4; k++) {
        struct vision_point mm;
        corner_mm(fix, m->which, k, &mm);
        struct vision_point at = vision_plane_to_photo(&fix->plane, mm);
        sum +=
            (at.x - m->px[k].x) * (at.x - m->px[k].x) + (at.y - m->px[k].y) * (at.y - m->px[k].y);
    }
    return sqrt(sum / 8);
}

/* The marker that fits worst, if it is far worse than the others: half hidden, say, so that its
 * sides are read beside what hides it. -1 when all are alike. */
static int odd_marker(const struct card_fix *fix, const struct marker_corners *m, int n)
{
    const double alike_px = 0.12;
    double rms[VISION_CARD_MAX_MARKERS] = {0}, sorted[VISION_CARD_MAX_MARKERS] = {0};
    int worst = 0;
    for (int i = 0; i < n; i++) {
        rms[i] = sorted[i] = marker_rms(fix, &m[i]);
        if (rms[i] > rms[worst])
            worst = i;
    }
    return rms[worst] > fmax(alike_px, 2.5 * median_upper(sorted, n)) ? worst : -1;
}

/* Fits the plane without markers that disagree: the worst one while the residual is above
 * limit_px, down to three; an odd one out, down to four. */
static bool fit_consistent(struct card_fix *fix, struct marker_corners *m, int *n,
                           const struct plane_lens *lens, double limit_px)
{
    for (;;) {
        if (*n < MIN_MARKERS || !fit_markers(fix, m, *n, lens))
            return false;
        int drop = *n > 4 ? odd_marker(fix, m, *n) : -1;
        if (drop < 0 && fix->plane.rms_px > limit_px && *n > 3) {
            drop = 0;
            for (int i = 1; i < *n; i++)
                if (marker_rms(fix, &m[i]) > marker_rms(fix, &m[drop]))
                    drop = i;
        }
        if (drop < 0)
            break;
        m[drop] = m[--*n];
    }
    fix->markers = *n;
    for (int i = 0; i < *n; i++) {
        fix->which[i] = m[i].which;
        memcpy(&fix->corners_px[4 * i], m[i].px, sizeof m[i].px);
    }
    return true;
}

/* The card with most markers in view; VISION_MIXED_CARDS when a second one competes. */
static enum vision_reason choose_card(const struct shim_marker *found, int n,
                                      const struct vision_card **out)
{
    int best = 0, second = 0;
    *out = NULL;
    for (size_t c = 0; c < vision_card_count(); c++) {
        const struct vision_card *card = vision_card_at(c);
        int count = 0;
        for (int i = 0; i < n; i++)
            count += vision_card_by_marker(found[i].id, NULL) == card;
        if (count > best) {
            second = best;
            best = count;
            *out = card;
        } else if (count > second) {
            second = count;
        }
    }
    if (best == 0)
        return VISION_NO_CARD;
    return second >= 3 || second == best ? VISION_MIXED_CARDS : VISION_REASON_NONE;
}

static struct vision_point found_corner(const struct vision_image *grey,
                                        const struct shim_marker *found, int k)
{
    return (struct vision_point){grey->x0_px + (found->x[k] + 0.5) * grey->reduce - 0.5,
                                 grey->y0_px + (found->y[k] + 0.5) * grey->reduce - 0.5};
}

/* Within half a side of each other. */
static bool same_place(const struct vision_image *grey, const struct marker_corners *a,
                       const struct shim_marker *b)
{
    double side = hypot(a->px[1].x - a->px[0].x, a->px[1].y - a->px[0].y);
    struct vision_point p = found_corner(grey, b, 0);
    return hypot(p.x - a->px[0].x, p.y - a->px[0].y) < side / 2;
}

/* The markers of one card, each once. VISION_MIXED_CARDS when an id stands in two places: two
 * prints of one card are in view. */
static enum vision_reason gather(const struct vision_image *grey, const struct shim_marker *found,
                                 int n, const struct vision_card *card, struct marker_corners *out,
                                 int *count)
{
    *count = 0;
    for (int i = 0; i < n; i++) {
        int which, same = 0;
        if (vision_card_by_marker(found[i].id, &which) != card)
            continue;
        while (same < *count && out[same].which != which)
            same++;
        if (same < *count && !same_place(grey, &out[same], &found[i]))
            return VISION_MIXED_CARDS;
        if (same < *count)
            continue; /* the same square, seen twice */
        out[*count].which = which;
        for (int k = 0; k < 4; k++)
            out[*count].px[k] = found_corner(grey, &found[i], k);
        ++*count;
    }
    return VISION_REASON_NONE;
}

static const struct shim_windows windows[] = {
    [MARKERS_QUICK] = {7, 7}, [MARKERS_THOROUGH] = {3, 23}};

/* Of three markers or less nothing tells whether the card is bent or one of them amiss. */
static enum vision_reason why_misfit(const struct card_fix *fix)
{
    const int few = 3;
    return fix->markers > few ? VISION_BENT_CARD : VISION_FEW_MARKERS;
}

/* Every marker in the photo with an id below id_count, and how many: 0 of a picture that OpenCV
 * will not take. Returns VISION_REASON_NONE or VISION_NO_MEMORY. *found is the caller's to free,
 * and NULL when there are none. */
static enum vision_reason find_all(const struct vision_image *grey, enum markers_effort effort,
                                   int id_count, struct shim_marker **found, int *n)
{
    int cap = USUAL_FOUND;
    enum shim_status status = SHIM_FULL;
    *found = NULL;
    while (status == SHIM_FULL) {
        struct shim_marker *more = realloc(*found, (size_t)cap * sizeof *more);
        if (more) {
            *found = more;
            status = shim_find_markers(grey->pixels, grey->width, grey->height, grey->stride,
                                       windows[effort], id_count, more, cap, n);
            cap = *n;
        } else {
            status = SHIM_NO_MEMORY;
        }
    }
    if (status == SHIM_OK && *n > 0)
        return VISION_REASON_NONE;
    free(*found);
    *found = NULL;
    *n = 0;
    return status == SHIM_NO_MEMORY ? VISION_NO_MEMORY : VISION_REASON_NONE;
}

static bool is_drawn(const struct shim_marker *found, int n)
{
    for (int i = 0; i < n; i++)
        if (found[i].id == VISION_DRAWN_MARKER_ID)
            return true;
    return false;
}

enum vision_reason markers_find(const struct vision_image *grey, enum markers_effort effort,
                                const struct vision_options *options, struct card_fix *out)
{
    struct shim_marker *found;
    struct marker_corners m[VISION_CARD_MAX_MARKERS];
    int count, n;
    *out =
        (struct card_fix){.bar_scale_x = options->bar_scale_x, .bar_scale_y = options->bar_scale_y};
    enum vision_reason reason = find_all(grey, effort, TAG36H11_COUNT, &found, &n);
    if (reason == VISION_REASON_NONE)
        reason = is_drawn(found, n) ? VISION_DRAWN_PHOTO : choose_card(found, n, &out->card);
    if (reason == VISION_REASON_NONE)
        reason = gather(grey, found, n, out->card, m, &count);
    free(found);
    if (reason != VISION_REASON_NONE)
        return reason;
    out->markers = count;
    struct plane_lens none = {.radius_px = 1};
    if (count < MIN_MARKERS || !fit_consistent(out, m, &count, &none, 2.0 * grey->reduce))
        return VISION_FEW_MARKERS;
    return out->plane.rms_px > 4.0 * grey->reduce ? why_misfit(out) : VISION_REASON_NONE;
}

/* ---- Refinement ------------------------------------------------------------------------------ */

struct line {
    double x, y, dx, dy; /* a point and the unit direction */
    double rms_px;       /* of the points that made it, across */
};

/* Darkest and brightest white that was met, in stretches of so many profiles. */
#define WHITE_STRETCH 8
struct white {
    double low, high, sum;
    int count;
};

static void meet_white(struct white *white, double v)
{
    white->sum += v / WHITE_STRETCH;
    if (++white->count < WHITE_STRETCH)
        return;
    white->low = fmin(white->low, white->sum);
    white->high = fmax(white->high, white->sum);
    white->sum = 0;
    white->count = 0;
}

/* Where a profile rises through a level between v[from] and v[to], as an index, nearest to near;
 * negative when it does not. */
static double rises_through(const float *v, int from, int to, double level, double near)
{
    double best = -1;
    for (int i = from; i < to; i++) {
        if (!(v[i] < level && v[i + 1] >= level))
            continue;
        double at = i + (level - v[i]) / (v[i + 1] - v[i]);
        if (best < 0 || fabs(at - near) < fabs(best - near))
            best = at;
    }
    return best;
}

/* Where a profile crosses the middle between its ends, as an index; negative when it does not
 * rise clearly from dark to light. The crossing nearest the middle counts. */
static double dark_to_light(const float *v, int n)
{
    const int end = 3;
    double low = 0, high = 0;
    for (int i = 0; i < end; i++) {
        low += v[i] / end;
        high += v[n - 1 - i] / end;
    }
    if (!(high > 1.6 * low + 0.004))
        return -1;
    return rises_through(v, 0, n - 1, (low + high) / 2, (n - 1) / 2.0);
}

/* What the straight line through v[from] to v[to] is at `at`; NAN through a single one. */
static double trend_at(const float *v, int from, int to, double at)
{
    struct linalg_line line = {0};
    double level, slope;
    for (int i = from; i <= to; i++)
        linalg_line_add(&line, i - at, v[i]);
    return linalg_line_fit(&line, &level, &slope) ? level : NAN;
}

/* The crossing of dark to light near `at` where the light changes across the side, as at the rim of
 * a shadow: black and white are what both go on to be at the side, as what lies further from it
 * than `blur` samples tells. Where there are fewer than `least` of that, `at` stays. */
static double in_uneven_light(const float *v, int n, double at, double blur, int least)
{
    for (int round = 0; round < 2; round++) {
        int inside = (int)floor(at - blur), outside = (int)ceil(at + blur);
        if (inside < least - 1 || outside > n - least)
            return at;
        double middle = (trend_at(v, 0, inside, at) + trend_at(v, outside, n - 1, at)) / 2;
        double crossing = rises_through(v, inside, outside, middle, at);
        if (crossing < 0)
            return at;
        at = crossing;
    }
    return at;
}

/* Samples across the side from a to b, at fraction f of its length, from -reach (inside the black
 * square) to +reach; mm frame. */
static bool side_profile(const struct vision_image *image, const struct vision_plane *plane,
                         struct vision_point a, struct vision_point b, double f, double reach,
                         float *out)
{
    double length = hypot(b.x - a.x, b.y - a.y);
    /* corners run clockwise as seen, so the outside lies to the left of a -> b */
    double nx = -(b.y - a.y) / length, ny = (b.x - a.x) / length;
    const double step = 2 * reach / (PROFILE_SAMPLES - 1);
    const struct vision_point from = {a.x + f * (b.x - a.x) - reach * nx,
                                      a.y + f * (b.y - a.y) - reach * ny};
    const struct card_line line =
        card_line_start(image, plane, from, (struct vision_point){step * nx, step * ny});
    float light[PROFILE_SAMPLES][3];
    card_line_read(&line, 0, PROFILE_SAMPLES, light);
    for (int i = 0; i < PROFILE_SAMPLES; i++) {
        const float *rgb = light[i];
        if (rgb[0] < 0)
            return false;
        out[i] =
            image->channels == 3 ? 0.2126F * rgb[0] + 0.7152F * rgb[1] + 0.0722F * rgb[2] : rgb[0];
    }
    return true;
}

static double off_line(const struct line *l, struct vision_point p)
{
    return (p.x - l->x) * l->dy - (p.y - l->y) * l->dx;
}

static bool fit_line(const struct vision_point *p, int n, struct line *out)
{
    double direction, u;
    if (!vision_line_fit(p, n, &direction, &u))
        return false;
    direction /= DEG;
    *out = (struct line){.dx = cos(direction), .dy = sin(direction)};
    for (int i = 0; i < n; i++) {
        out->x += p[i].x / n;
        out->y += p[i].y / n;
    }
    double sum = 0;
    for (int i = 0; i < n; i++)
        sum += off_line(out, p[i]) * off_line(out, p[i]);
    out->rms_px = sqrt(sum / n);
    return true;
}

/* Fits twice, the second time without points off by more than three scaled median deviations. */
static bool fit_line_robust(struct vision_point *p, int n, struct line *out)
{
    double off[SIDE_SAMPLES];
    if (n < 8 || !fit_line(p, n, out))
        return false;
    for (int i = 0; i < n; i++)
        off[i] = fabs(off_line(out, p[i]));
    double limit = fmax(0.05, 3 * 1.4826 * median_upper(off, n));
    int kept = 0;
    for (int i = 0; i < n; i++)
        if (fabs(off_line(out, p[i])) <= limit)
            p[kept++] = p[i];
    return kept >= 6 && fit_line(p, kept, out);
}

/* How sides are read. With trend_px, allowing for uneven light, of which what lies further than
 * blur_px from a side tells, if that is at least trend_px long. Not with cards: their cells may be
 * no larger than the blur, and their many markers make up for each other. */
struct reading {
    double reach_cells, blur_px, trend_px;
};

static const struct reading usual = {USUAL_REACH, 0, 0}, first_guess = {SHORT_REACH, 0, 0};
/* What a phone's blur and sharpening make of a side reaches some 4 px. With less than 6 px beyond
 * them the trend is noise, which turns a square more than uneven light does; it still tells how
 * much there is to doubt. docs/decisions.md, "Stickers". */
static const struct reading of_large_sticker = {USUAL_REACH, 4, 6},
                            of_doubt = {USUAL_REACH, 2.5, 1.5};

/* The line of a side, where a lens without distortion would show it. */
static bool refine_side(const struct vision_image *image, const struct card_fix *fix, int which,
                        int side, struct reading how, struct white *white, struct line *out)
{
    struct vision_point a, b, points[SIDE_SAMPLES];
    corner_mm(fix, which, side, &a);
    corner_mm(fix, which, (side + 1) % 4, &b);
    double reach = how.reach_cells * fix->card->marker_mm / 8;
    double sample_px = 2 * reach / (PROFILE_SAMPLES - 1) * plane_px_per_mm(&fix->plane, a);
    int n = 0;
    for (int i = 0; i < SIDE_SAMPLES; i++) {
        float profile[PROFILE_SAMPLES];
        double f = 0.1 + 0.8 * i / (SIDE_SAMPLES - 1);
        if (!side_profile(image, &fix->plane, a, b, f, reach, profile))
            return false;
        double at = dark_to_light(profile, PROFILE_SAMPLES);
        if (at < 0)
            continue;
        meet_white(white, profile[PROFILE_SAMPLES - 1]);
        if (how.trend_px > 0)
            at = in_uneven_light(profile, PROFILE_SAMPLES, at, how.blur_px / sample_px,
                                 1 + (int)ceil(how.trend_px / sample_px));
        double t = reach * (2 * at / (PROFILE_SAMPLES - 1) - 1);
        double length = hypot(b.x - a.x, b.y - a.y);
        struct vision_point mm = {a.x + f * (b.x - a.x) - t * (b.y - a.y) / length,
                                  a.y + f * (b.y - a.y) + t * (b.x - a.x) / length};
        points[n++] = plane_pinhole(&fix->plane, mm);
    }
    return n >= SIDE_SAMPLES / 2 && fit_line_robust(points, n, out);
}

static bool intersect(const struct line *a, const struct line *b, struct vision_point *out)
{
    double det = a->dx * b->dy - a->dy * b->dx;
    if (fabs(det) < 0.1)
        return false;
    double t = ((b->x - a->x) * b->dy - (b->y - a->y) * b->dx) / det;
    *out = (struct vision_point){a->x + t * a->dx, a->y + t * a->dy};
    return true;
}

static bool refine_marker(const struct vision_image *image, const struct card_fix *fix, int which,
                          struct reading how, struct marker_corners *out)
{
    struct line sides[4];
    struct white white = {.low = INFINITY};
    for (int s = 0; s < 4; s++)
        if (!refine_side(image, fix, which, s, how, &white, &sides[s]))
            return false;
    out->which = which;
    out->white[0] = white.low;
    out->white[1] = white.high;
    out->scatter_px = 0;
    for (int k = 0; k < 4; k++) {
        struct vision_point corner;
        out->scatter_px += sides[k].rms_px / 4;
        if (!intersect(&sides[(k + 3) % 4], &sides[k], &corner))
            return false;
        out->px[k] = plane_bend(&fix->plane, corner);
    }
    return true;
}

enum vision_reason markers_refine(const struct vision_image *image, const struct plane_lens *lens,
                                  struct card_fix *fix)
{
    /* The first round pulls the prediction from a coarse pixel to within a fine one, two more
     * settle it. All markers are tried, also those the coarse picture missed: the print check in
     * refine_side turns away those that are hidden. */
    for (int round = 0; round < 3; round++) {
        struct marker_corners m[VISION_CARD_MAX_MARKERS];
        int n = 0;
        if (round == 0) {
            for (int i = 0; i < fix->markers; i++)
                n += refine_marker(image, fix, fix->which[i], usual, &m[n]) ||
                     refine_marker(image, fix, fix->which[i], first_guess, &m[n]);
        } else {
            for (int i = 0; i < fix->card->marker_count; i++)
                n += refine_marker(image, fix, i, usual, &m[n]);
        }
        double limit_px = fmax(0.35, 0.03 * plane_px_per_mm(&fix->plane, (struct vision_point){0}));
        if (!fit_consistent(fix, m, &n, lens, limit_px))
            return VISION_FEW_MARKERS;
    }
    double tolerance_px =
        fmax(1.0, 0.12 * plane_px_per_mm(&fix->plane, (struct vision_point){0, 0}));
    return fix->plane.rms_px > tolerance_px ? why_misfit(fix) : VISION_REASON_NONE;
}

/* ---- Stickers -------------------------------------------------------------------------------- */

enum vision_reason markers_find_stickers(const struct vision_image *grey,
                                         enum markers_effort effort,
                                         struct sticker_fix out[MARKERS_MAX_STICKERS], int *count,
                                         bool *twice)
{
    struct shim_marker *found;
    int n;
    *count = 0;
    *twice = false;
    enum vision_reason reason = find_all(grey, effort, vision_sticker_id_end(), &found, &n);
    for (int i = 0; i < n; i++) {
        const struct vision_sticker *sticker = vision_sticker_by_marker(found[i].id);
        int same = 0;
        if (!sticker)
            continue;
        while (same < *count && out[same].sticker != sticker)
            same++;
        if (same < *count) {
            struct marker_corners known = {0};
            memcpy(known.px, out[same].corners_px, sizeof known.px);
            *twice = *twice || !same_place(grey, &known, &found[i]);
        } else if (*count < MARKERS_MAX_STICKERS) {
            out[*count] = (struct sticker_fix){.sticker = sticker};
            for (int k = 0; k < 4; k++)
                out[*count].corners_px[k] = found_corner(grey, &found[i], k);
            ++*count;
        }
    }
    free(found);
    return reason;
}

double markers_side_px(const struct vision_point corners_px[4])
{
    double sum = 0;
    for (int k = 0; k < 4; k++) {
        const struct vision_point *from = &corners_px[k], *to = &corners_px[(k + 1) % 4];
        sum += hypot(to->x - from->x, to->y - from->y);
    }
    return sum / 4;
}

/* A corner is where two lines meet that were fitted to the middle 0.8 of their sides: the variance
 * of a line's end, half a side from its middle, is (1 + 0.5^2 / (0.8^2 / 12)) = 5.7 times that of
 * its mean (least squares; Draper and Smith, Applied Regression Analysis, 1.4, from memory).
 * Bilinear samples share pixels, so one in two pixels counts. What the pixel grid does to a whole
 * side no scatter shows: docs/decisions.md, "Stickers". */
static double corner_sigma_px(const struct marker_corners *m)
{
    const double grid_px = 0.07;
    double points = fmin(SIDE_SAMPLES, fmax(2, 0.8 * markers_side_px(m->px) / 2));
    return hypot(grid_px, m->scatter_px * sqrt(5.7 / points));
}

/* How far corners are moved by what uneven light may be, root mean square of a coordinate. That all
 * move outwards alike is how blur shows black and white, and turns nothing. */
static double moved_px(const struct vision_point a[4], const struct vision_point b[4])
{
    struct vision_point middle = {0}, out[4];
    double along = 0, square = 0, sum = 0;
    for (int k = 0; k < 4; k++) {
        middle.x += a[k].x / 4;
        middle.y += a[k].y / 4;
    }
    for (int k = 0; k < 4; k++) {
        out[k] = (struct vision_point){a[k].x - middle.x, a[k].y - middle.y};
        along += out[k].x * (b[k].x - a[k].x) + out[k].y * (b[k].y - a[k].y);
        square += out[k].x * out[k].x + out[k].y * out[k].y;
    }
    for (int k = 0; k < 4; k++) {
        double dx = b[k].x - a[k].x - along / square * out[k].x;
        double dy = b[k].y - a[k].y - along / square * out[k].y;
        sum += (dx * dx + dy * dy) / 8;
    }
    return sqrt(sum);
}

/* A sticker too small for its light to be told is doubted by as much as uneven light might do to
 * it: 0 when it is not. */
static double light_sigma_px(const struct vision_image *image, const struct card_fix *fix,
                             const struct marker_corners *m)
{
    const double uneven = 1.5; /* brightest white by darkest */
    const double large_px =
        8 * (of_large_sticker.blur_px + of_large_sticker.trend_px) / USUAL_REACH;
    struct marker_corners other = {0};
    if (m->white[1] <= uneven * m->white[0] || markers_side_px(m->px) > large_px ||
        !refine_marker(image, fix, 0, of_doubt, &other))
        return 0;
    return moved_px(m->px, other.px);
}

bool markers_refine_sticker(const struct vision_image *image, const struct plane_lens *lens,
                            struct sticker_fix *sticker)
{
    struct card_fix fix = {
        .card = &sticker->sticker->face, .markers = 1, .bar_scale_x = 1, .bar_scale_y = 1};
    struct plane_lens as_known = *lens;
    struct marker_corners m = {0}; /* four corners tell a homography and nothing of the lens */
    as_known.unknowns = 0;
    memcpy(m.px, sticker->corners_px, sizeof m.px);
    /* The finder may place a corner some pixels inside. A short reach then still meets neither the
     * white cells beyond the black border nor the edge of the paper. */
    for (int round = 0; round < 4; round++)
        if (!fit_plane(&fix, &m, 1, &as_known) ||
            !refine_marker(image, &fix, 0, round == 0 ? first_guess : of_large_sticker, &m))
            return false;
    memcpy(sticker->corners_px, m.px, sizeof m.px);
    double light_px = light_sigma_px(image, &fix, &m);
    sticker->sigma_px = hypot(corner_sigma_px(&m), light_px);
    sticker->uneven_light = light_px > 0;
    return true;
}
