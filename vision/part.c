#include "part.h"

#include "linalg.h"
#include "median.h"
#include "parallel.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846

#define MIN_HUB_RADIUS_MM 1.7 /* the smallest tail cranks have hubs of 4 mm */
#define MAX_HUB_RADIUS_MM 11.0
#define MIN_PART_MM2 12.0 /* less in front of the card is dirt */
#define MAX_HOLE_MM2 14.0 /* screw and link holes are smaller; gaps between arms larger */
#define MAX_ARM_WIDTH_MM 11.0
#define MIN_ARM_WIDTH_MM 1.2
#define MIN_BODY_MM 2.5
#define STUB 0.75 /* of its width: what sticks out less is a lobe; the shortest arms reach 0.82 */
#define JOINT_SCORE 0.3 /* of a place where a rod is joined on */
#define MAX_CANDIDATES 24
#define RAYS 360
#define STEP_MM 0.2
#define MAX_SECTIONS 400

/* ---- The solid part: small holes filled ---------------------------------------------------- */

struct part_field {
    const struct silhouette *s;
    uint8_t *solid;  /* 1 where the part is, holes filled */
    float *depth_mm; /* distance to the nearest cell that is not solid */
};

/* Labels the connected patch of cells equal to want that contains start and returns its size;
 * *touches is set when it meets cells of class other than want and PART (so is not a hole). */
static size_t flood(const struct silhouette *s, size_t start, uint8_t want, uint8_t *seen,
                    size_t *stack, bool *touches)
{
    size_t n = 0, top = 0, width = (size_t)s->width;
    stack[top++] = start;
    seen[start] = 1;
    while (n < top) {
        size_t at = stack[n++];
        size_t i = at % width, j = at / width;
        const long step[4] = {-1, 1, -(long)width, (long)width};
        const bool inside[4] = {i > 0, i + 1 < width, j > 0, j + 1 < (size_t)s->height};
        for (int k = 0; k < 4; k++) {
            if (!inside[k]) {
                *touches = true;
                continue;
            }
            size_t next = (size_t)((long)at + step[k]);
            if (s->cells[next] == want) {
                if (!seen[next]) {
                    seen[next] = 1;
                    stack[top++] = next;
                }
            } else if (s->cells[next] != CELL_PART && s->cells[next] != CELL_TINT) {
                *touches = true;
            }
        }
    }
    return n;
}

static bool fill_solid(struct part_field *f)
{
    const struct silhouette *s = f->s;
    size_t n = (size_t)s->width * (size_t)s->height;
    uint8_t *seen = calloc(n, 1);
    size_t *stack = malloc(n * sizeof *stack);
    bool good = seen && stack;
    double cell_mm2 = s->pitch_mm * s->pitch_mm;
    for (size_t i = 0; good && i < n; i++) {
        if (s->cells[i] == CELL_PART)
            f->solid[i] = 1;
        if (seen[i] || (s->cells[i] != CELL_TINT && s->cells[i] != CELL_PART))
            continue;
        bool touches = false;
        size_t size = flood(s, i, s->cells[i], seen, stack, &touches);
        bool hole = s->cells[i] == CELL_TINT && !touches && (double)size * cell_mm2 < MAX_HOLE_MM2;
        bool dirt = s->cells[i] == CELL_PART && (double)size * cell_mm2 < 1.0;
        for (size_t k = 0; (hole || dirt) && k < size; k++)
            f->solid[stack[k]] = hole ? 1 : 2;
    }
    for (size_t i = 0; good && i < n; i++)
        if (f->solid[i] == 2)
            f->solid[i] = 0;
    free(seen);
    free(stack);
    return good;
}

/* Two-pass chamfer distance with weights 5, 7, 11 (G. Borgefors, "Distance transformations in
 * digital images", CVGIP 34, 1986): within 2 % of Euclid. */
static void measure_depth(struct part_field *f)
{
    const int w = f->s->width, h = f->s->height;
    static const int near[8][2] = {{-1, 0},  {0, -1}, {-1, -1}, {1, -1},
                                   {-1, -2}, {1, -2}, {-2, -1}, {2, -1}};
    static const float cost[8] = {5, 5, 7, 7, 11, 11, 11, 11};
    for (int i = 0; i < w * h; i++)
        f->depth_mm[i] = f->solid[i] ? 1e9F : 0;
    for (int pass = 0; pass < 2; pass++) {
        int sign = pass ? -1 : 1;
        for (int jj = 0; jj < h; jj++)
            for (int ii = 0; ii < w; ii++) {
                int i = pass ? w - 1 - ii : ii, j = pass ? h - 1 - jj : jj;
                float *d = &f->depth_mm[j * w + i];
                for (int k = 0; k < 8 && *d > 0; k++) {
                    int ni = i + sign * near[k][0], nj = j + sign * near[k][1];
                    /* beyond the map counts as not solid */
                    float from =
                        ni < 0 || nj < 0 || ni >= w || nj >= h ? 0 : f->depth_mm[nj * w + ni];
                    if (from + cost[k] < *d)
                        *d = from + cost[k];
                }
            }
    }
    float to_mm = (float)(f->s->pitch_mm / 5);
    for (int i = 0; i < w * h; i++)
        f->depth_mm[i] *= to_mm;
}

void part_field_free(struct part_field *field)
{
    if (!field)
        return;
    free(field->solid);
    free(field->depth_mm);
    free(field);
}

struct part_field *part_field_new(const struct silhouette *s)
{
    size_t n = (size_t)s->width * (size_t)s->height;
    struct part_field *f = calloc(1, sizeof *f);
    if (!f)
        return NULL;
    f->s = s;
    f->solid = calloc(n, 1);
    f->depth_mm = calloc(n, sizeof(float));
    if (!f->solid || !f->depth_mm || !fill_solid(f)) {
        part_field_free(f);
        return NULL;
    }
    measure_depth(f);
    return f;
}

/* A straight way through the map: where it starts, in cells from the map's corner, and how far one
 * millimetre along it leads. */
struct way {
    double i, j, di, dj;
};

static struct way way_from(const struct part_field *f, double x_mm, double y_mm, double dx,
                           double dy)
{
    const struct silhouette *s = f->s;
    return (struct way){(x_mm / s->scale_x - s->x0_mm) / s->pitch_mm + 0.5,
                        (y_mm / s->scale_y - s->y0_mm) / s->pitch_mm + 0.5,
                        dx / s->scale_x / s->pitch_mm, dy / s->scale_y / s->pitch_mm};
}

/* The cell t_mm along the way; -1 off the map. */
static inline long cell_along(const struct part_field *f, const struct way *way, double t_mm)
{
    double i = way->i + t_mm * way->di, j = way->j + t_mm * way->dj;
    if (!(i >= 0 && j >= 0 && i < f->s->width && j < f->s->height))
        return -1;
    return (long)j * f->s->width + (long)i;
}

static long index_at(const struct part_field *f, double x_mm, double y_mm)
{
    struct way here = way_from(f, x_mm, y_mm, 0, 0);
    return cell_along(f, &here, 0);
}

/* Off the card, or at its very edge. */
static bool off_at(const struct part_field *f, double x_mm, double y_mm)
{
    const double edge_mm = 1.5;
    const struct silhouette *s = f->s;
    double x = fabs(x_mm / s->scale_x), y = fabs(y_mm / s->scale_y);
    long at = index_at(f, x_mm, y_mm);
    return at < 0 || s->cells[at] == CELL_OFF || x > -s->x0_mm - edge_mm || y > -s->y0_mm - edge_mm;
}

/* Cannot tell: off the card, or on a marker. */
static bool blind_at(const struct part_field *f, double x_mm, double y_mm)
{
    long at = index_at(f, x_mm, y_mm);
    return at < 0 || f->s->cells[at] == CELL_OFF || f->s->cells[at] == CELL_UNKNOWN;
}

/* ---- Candidate hubs: the thickest places ---------------------------------------------------- */

struct candidate {
    struct vision_point at_mm;
    double radius_mm;
};

static int thicker_first(const void *a, const void *b)
{
    double d = ((const struct candidate *)b)->radius_mm - ((const struct candidate *)a)->radius_mm;
    return (d > 0) - (d < 0);
}

static bool is_local_maximum(const struct part_field *f, int i, int j)
{
    const int w = f->s->width, h = f->s->height;
    float d = f->depth_mm[j * w + i];
    for (int dj = -2; dj <= 2; dj++)
        for (int di = -2; di <= 2; di++) {
            int ni = i + di, nj = j + dj;
            if (ni >= 0 && nj >= 0 && ni < w && nj < h && f->depth_mm[nj * w + ni] > d)
                return false;
        }
    return true;
}

/* Local maxima of depth, thickest first, each claiming the places within its radius. */
static int find_candidates(const struct part_field *f, struct candidate out[MAX_CANDIDATES])
{
    enum { POOL = 2048 };
    struct candidate pool[POOL] = {0};
    int n = 0, kept = 0;
    const struct silhouette *s = f->s;
    for (int j = 0; j < s->height; j++)
        for (int i = 0; i < s->width; i++) {
            double r = f->depth_mm[j * s->width + i];
            if (r < MIN_HUB_RADIUS_MM || n == POOL || !is_local_maximum(f, i, j))
                continue;
            pool[n++] = (struct candidate){{(s->x0_mm + i * s->pitch_mm) * s->scale_x,
                                            (s->y0_mm + j * s->pitch_mm) * s->scale_y},
                                           r};
        }
    qsort(pool, (size_t)n, sizeof *pool, thicker_first);
    for (int i = 0; i < n && kept < MAX_CANDIDATES; i++) {
        bool claimed = false;
        for (int k = 0; k < kept && !claimed; k++)
            claimed = hypot(pool[i].at_mm.x - out[k].at_mm.x, pool[i].at_mm.y - out[k].at_mm.y) <
                      0.8 * out[k].radius_mm;
        if (!claimed)
            out[kept++] = pool[i];
    }
    return kept;
}

/* ---- Arms of a candidate -------------------------------------------------------------------- */

/* How far one may go on from a solid cell without leaving the part. Depth is right to 2 % and told
 * between centres of cells, of which the point and what it meets may each lie most of a cell off.
 */
static inline double solid_ahead_mm(const struct part_field *f, long at)
{
    return 0.97 * f->depth_mm[at] - 2 * f->s->pitch_mm;
}

/* How far the part reaches from a point in a direction: up to the first gap wider than gap_mm. */
static double reach_over(const struct part_field *f, struct vision_point from, double rad,
                         double gap_mm)
{
    double last = 0;
    const int most = (int)(90 / f->s->pitch_mm);
    const struct way way = way_from(f, from.x, from.y, cos(rad), sin(rad));
    for (int k = 0; k < most; k++) {
        double r = k * f->s->pitch_mm;
        long at = cell_along(f, &way, r);
        if (at < 0)
            break;
        if (f->solid[at]) {
            const int ahead = (int)(solid_ahead_mm(f, at) / f->s->pitch_mm);
            k += ahead > 0 ? ahead : 0;
            last = k * f->s->pitch_mm;
        } else if (r - last > gap_mm) {
            break;
        }
    }
    return last;
}

static double reach(const struct part_field *f, struct vision_point from, double rad)
{
    return reach_over(f, from, rad, 0.6);
}

struct section {
    double u, left, right; /* along the axis; distances to the edges on either side */
};

/* Distance from an axis point sideways to the end of the solid part; limit when there is none. */
static double walk_out(const struct part_field *f, double x, double y, double dx, double dy,
                       double limit_mm)
{
    const struct way way = way_from(f, x, y, dx, dy);
    double step = f->s->pitch_mm / 2, last = 0;
    for (int k = 0; k * step < limit_mm; k++) {
        double t = k * step;
        long at = cell_along(f, &way, t);
        if (at >= 0 && f->solid[at]) {
            const int ahead = (int)(solid_ahead_mm(f, at) / step);
            k += ahead > 0 ? ahead : 0;
            last = k * step;
        } else if (t - last > 0.3) {
            return last + step;
        }
    }
    return limit_mm;
}

static double width_of(const struct section *cut)
{
    return cut->left + cut->right;
}

/* Whether the sections close in on a round end, as a bar that only goes out of sight does not. */
static bool closes(const struct section *cut, int n)
{
    const double share = 0.55, over_mm = 1.6;
    const int over = (int)(over_mm / STEP_MM);
    return n > over && width_of(&cut[n - 1]) < share * width_of(&cut[n - 1 - over]);
}

/* Cross-sections along the axis from r0 outwards, to where the axis leaves the part. */
static int cut_sections(const struct part_field *f, struct vision_point hub,
                        const struct part_arm *arm, double r0, struct section out[MAX_SECTIONS],
                        bool *open_end, bool *covered)
{
    double c = cos(arm->direction_rad), s = sin(arm->direction_rad);
    int n = 0;
    double gap = 0;
    *open_end = *covered = false;
    for (int k = 0; n < MAX_SECTIONS; k++) {
        double u = r0 + k * STEP_MM;
        double x = hub.x + u * c - arm->offset_mm * s, y = hub.y + u * s + arm->offset_mm * c;
        long at = index_at(f, x, y);
        if (at < 0 || !f->solid[at]) {
            if (off_at(f, x, y))
                *open_end = true;
            else if (blind_at(f, x, y))
                *covered = true;
            gap += STEP_MM;
            if (gap > 0.8 || *open_end || *covered)
                break;
            continue;
        }
        gap = 0;
        out[n].u = u;
        out[n].left = walk_out(f, x, y, -s, c, MAX_ARM_WIDTH_MM);
        out[n].right = walk_out(f, x, y, s, -c, MAX_ARM_WIDTH_MM);
        n++;
    }
    return n;
}

static double median_width(const struct section *cut, int n)
{
    double w[MAX_SECTIONS] = {0};
    for (int i = 0; i < n; i++)
        w[i] = width_of(&cut[i]);
    return median_mean(w, n);
}

/* The body: the sections whose width stays near their own median, so without hub fillet, tip, ball
 * link or anything that crosses. */
static int body_of(const struct section *cut, int n, struct section out[MAX_SECTIONS])
{
    double width = median_width(cut, n);
    int kept = 0;
    for (int round = 0; round < 2; round++) {
        kept = 0;
        for (int i = 0; i < n; i++) {
            double w = width_of(&cut[i]);
            if (w > 0.72 * width && w < 1.35 * width)
                out[kept++] = cut[i];
        }
        width = median_width(out, kept);
    }
    return kept;
}

/* Line v = a + b u by medians of the slopes of pairs half the points apart, the ones that tell most
 * of those of P. K. Sen, "Estimates of the regression coefficient based on Kendall's tau", JASA 63,
 * 1968. Returns the scatter about it. */
static double sen_line(const double *u, const double *v, int n, double line[2])
{
    double values[MAX_SECTIONS] = {0};
    int half = n / 2;
    for (int i = 0; i + half < n; i++)
        values[i] = (v[i + half] - v[i]) / (u[i + half] - u[i]);
    line[1] = median_mean(values, n - half);
    for (int i = 0; i < n; i++)
        values[i] = v[i] - line[1] * u[i];
    line[0] = median_mean(values, n);
    for (int i = 0; i < n; i++)
        values[i] = fabs(v[i] - line[1] * u[i] - line[0]);
    return 1.4826 * median_mean(values, n);
}

/* Middle line of the sections, to the left of the axis, and its scatter. */
static bool middle_line(const struct section *cut, int n, double middle[2], double *spread_mm)
{
    double u[MAX_SECTIONS], mid[MAX_SECTIONS];
    if (n < 6)
        return false;
    for (int i = 0; i < n; i++) {
        u[i] = cut[i].u;
        mid[i] = (cut[i].left - cut[i].right) / 2;
    }
    *spread_mm = sen_line(u, mid, n, middle);
    return true;
}

static void take_body(const struct section *body, int n, struct part_arm *arm)
{
    arm->start_mm = body[0].u;
    arm->end_mm = arm->clear_mm = body[n - 1].u;
    arm->width_mm = median_width(body, n);
    arm->outline_count = n < PART_MAX_OUTLINE ? n : PART_MAX_OUTLINE;
    for (int i = 0; i < arm->outline_count; i++) {
        arm->outline[i].u_mm = (float)body[i].u;
        arm->outline[i].left_mm = (float)body[i].left;
        arm->outline[i].right_mm = (float)body[i].right;
    }
}

/* The thickest place between two points of an arm's axis, and up to aside_mm beside it. Depth grows
 * by no more than the way gone, so where it is far from the most yet seen a step may be long. */
struct spot {
    double u_mm, left_mm; /* along the axis and to its left */
    double radius_mm;
    struct vision_point at_mm;
};

static struct spot thickest_between(const struct part_field *f, struct vision_point hub,
                                    const struct part_arm *arm, double from_u, double to_u,
                                    double aside_mm)
{
    double c = cos(arm->direction_rad), s = sin(arm->direction_rad), step = f->s->pitch_mm;
    const int along = (int)((to_u - from_u) / step), aside = (int)(aside_mm / step);
    struct spot best = {.radius_mm = 0};
    for (int i = 0; i <= along; i++) {
        double u = from_u + i * step;
        const struct way way = way_from(f, hub.x + u * c, hub.y + u * s, -s, c);
        for (int j = -aside; j <= aside; j++) {
            double left = arm->offset_mm + j * step;
            long at = cell_along(f, &way, left);
            double depth = at >= 0 ? f->depth_mm[at] : 0;
            if (depth > best.radius_mm)
                best = (struct spot){
                    u, j * step, depth, {hub.x + u * c - left * s, hub.y + u * s + left * c}};
            const int ahead = (int)(0.97 * (best.radius_mm - depth) / step) - 2;
            j += ahead > 0 ? ahead : 0;
        }
    }
    return best;
}

static double narrow_width(const struct section *cut, int n)
{
    double w[MAX_SECTIONS] = {0};
    for (int i = 0; i < n; i++)
        w[i] = width_of(&cut[i]);
    return n ? median_select(w, n, n / 4) : 0;
}

/* A round thing at the arm's end and wider than its neck: a ball, cup or link end, which may stand
 * well above the arm and so, in a slanting view, off its middle line. */
static bool find_bulge(const struct part_field *f, struct vision_point hub,
                       const struct part_arm *arm, const struct section *cut, int n,
                       struct spot *out)
{
    const double aside_mm = 2, wider = 1.25, from_u = 0.5 * arm->tip_mm, own_mm = 0.3;
    int clear = 0;
    *out = thickest_between(f, hub, arm, from_u, arm->tip_mm, aside_mm);
    while (clear < n && cut[clear].u < out->u_mm - out->radius_mm)
        clear++;
    double neck_mm = narrow_width(cut, clear > 2 ? clear : n);
    return out->u_mm > from_u + own_mm && out->u_mm + 1.5 * out->radius_mm > arm->tip_mm &&
           out->radius_mm > wider * neck_mm / 2;
}

#define ROUGH_MM 0.07 /* scatter about a straight edge, to what cells tell */

/* The slope of one side's edge and how far it scatters about its line. */
static double bend(const struct linalg_line *side, double *slope)
{
    double level;
    return linalg_line_fit(side, &level, slope) ? linalg_line_scatter(side, level, *slope)
                                                : INFINITY;
}

/* Whether both sides end within reach. */
static bool has_edges(const struct section *cut)
{
    return cut->left < MAX_ARM_WIDTH_MM && cut->right < MAX_ARM_WIDTH_MM;
}

/* The longest stretch of sections both of whose sides are straight: what fillet, ball and link
 * leave of an arm. Its first section and how many; 0 where there is none. */
static int straight_stretch(const struct section *cut, int n, int *first)
{
    const double most_taper = 0.4; /* of the width */
    const double hopeless = 3;     /* no further sections make that straight */
    const int least = (int)(MIN_BODY_MM / STEP_MM);
    int longest = 0;
    for (int i = 0; i + longest < n; i++) {
        struct linalg_line left = {0}, right = {0};
        for (int k = i; k < n; k++) {
            const int count = k - i + 1;
            double slope[2];
            if (!has_edges(&cut[k]))
                break;
            linalg_line_add(&left, cut[k].u - cut[i].u, cut[k].left);
            linalg_line_add(&right, cut[k].u - cut[i].u, cut[k].right);
            if (count < least || count <= longest)
                continue;
            double bent = fmax(bend(&left, &slope[0]), bend(&right, &slope[1]));
            if (bent > hopeless * ROUGH_MM)
                break;
            if (bent < ROUGH_MM && fabs(slope[0] + slope[1]) < most_taper) {
                longest = count;
                *first = i;
            }
        }
    }
    return longest;
}

/* The straight stretch as the body. */
static bool find_straight_body(const struct section *cut, int n, struct part_arm *arm,
                               double middle[2])
{
    int first = 0, count = straight_stretch(cut, n, &first);
    if (count == 0 || !middle_line(&cut[first], count, middle, &arm->spread_mm))
        return false;
    take_body(&cut[first], count, arm);
    return true;
}

/* The body among the sections of an arm, and its middle line. Where that wanders, a ball, a shadow
 * or another bar has drawn it aside, and what counts is the straight part. What a bulge covers does
 * not count for the line; where it leaves too little, the line leads to its centre. */
static bool find_body(const struct part_field *f, struct vision_point hub,
                      const struct section *cut, int n, struct part_arm *arm, double middle[2])
{
    const double wanders_mm = 0.2;
    const int few = 8;
    struct section body[MAX_SECTIONS] = {0};
    struct spot bulge;
    int kept = body_of(cut, n, body), clear = 0;
    if (!middle_line(body, kept, middle, &arm->spread_mm))
        return find_straight_body(cut, n, arm, middle);
    take_body(body, kept, arm);
    if (arm->spread_mm > wanders_mm && find_straight_body(cut, n, arm, middle))
        return true;
    if (!find_bulge(f, hub, arm, cut, n, &bulge))
        return true;
    while (clear < n && cut[clear].u < bulge.u_mm - bulge.radius_mm)
        clear++;
    int inner = body_of(cut, clear, body);
    if (inner >= few && middle_line(body, inner, middle, &arm->spread_mm)) {
        arm->clear_mm = body[inner - 1].u;
        return true;
    }
    middle[0] = 0;
    middle[1] = bulge.left_mm / bulge.u_mm;
    arm->clear_mm = fmax(bulge.u_mm - bulge.radius_mm, arm->start_mm + MIN_BODY_MM);
    return true;
}

/* Turns and shifts the axis onto the middle of the body, a few times over. */
static bool align_arm(const struct part_field *f, struct vision_point hub, double r0,
                      struct part_arm *arm)
{
    struct section cut[MAX_SECTIONS] = {0};
    for (int round = 0; round < 4; round++) {
        int n = cut_sections(f, hub, arm, r0, cut, &arm->open_end, &arm->covered_end);
        double middle[2];
        arm->tip_mm = n ? cut[n - 1].u : 0;
        if (!find_body(f, hub, cut, n, arm, middle))
            return false;
        if (round < 3) { /* the last round only measures */
            arm->direction_rad += atan(middle[1]);
            arm->offset_mm += middle[0] * cos(atan(middle[1]));
        }
        arm->round_end = closes(cut, n);
        int tail = n < 8 ? n : 8;
        arm->tip_width_mm = median_width(&cut[n - tail], tail);
    }
    return true;
}

/* The slot cut out of the card looks like a bar 2 x half width wide along the negative x axis. */
static bool is_slot(const struct card_fix *fix, struct vision_point hub, const struct part_arm *arm)
{
    double away = fabs(remainder(arm->direction_rad - PI, 2 * PI));
    double y = hub.y + arm->offset_mm;
    bool open = arm->open_end || arm->covered_end;
    return away < 0.06 && hub.x < fix->card->width_mm / 4 && fabs(y) < 1.0 && open &&
           fabs(arm->width_mm - 2 * fix->card->slot_half_width_mm) < 1.2;
}

/* The thickest place along the axis from u on. */
static double thickest_along(const struct part_field *f, const struct candidate *hub,
                             const struct part_arm *arm, double from_u)
{
    double c = cos(arm->direction_rad), s = sin(arm->direction_rad), thickest = 0;
    int steps = (int)fmax(0, (arm->tip_mm - from_u) / f->s->pitch_mm);
    for (int k = 0; k < steps; k++) {
        double u = from_u + k * f->s->pitch_mm;
        long at = index_at(f, hub->at_mm.x + u * c - arm->offset_mm * s,
                           hub->at_mm.y + u * s + arm->offset_mm * c);
        if (at >= 0)
            thickest = fmax(thickest, f->depth_mm[at]);
    }
    return thickest;
}

/* Whether the bar leaves the hub's middle. */
static bool is_centred(const struct candidate *hub, const struct part_arm *arm)
{
    return fabs(arm->offset_mm) <= 0.3 * hub->radius_mm + 0.3;
}

/* What makes a bar that leaves the hub's middle an arm: it is narrower than the hub and not as thin
 * as a rod that runs out of the picture. */
static bool is_shaped_like_arm(const struct candidate *hub, const struct part_arm *arm)
{
    double body = arm->end_mm - arm->start_mm;
    if (arm->width_mm < MIN_ARM_WIDTH_MM || arm->width_mm > MAX_ARM_WIDTH_MM)
        return false;
    if (arm->width_mm > 2.25 * hub->radius_mm || body < MIN_BODY_MM)
        return false;
    if (arm->start_mm > 3.2 * hub->radius_mm + 3)
        return false;
    if (arm->tip_mm - hub->radius_mm < STUB * arm->width_mm)
        return false;
    return arm->spread_mm <= 0.35;
}

/* Whether the bar leads to a thicker place: then the hub lies there. */
static bool leads_to_hub(const struct part_field *f, const struct candidate *hub,
                         const struct part_arm *arm)
{
    return arm->far_end == FAR_END_FREE &&
           thickest_along(f, hub, arm, 1.5 * hub->radius_mm) > 1.05 * hub->radius_mm;
}

/* Directions in which the part reaches beyond the hub: middles of the runs of rays longer than a
 * threshold, looked for at growing thresholds so that close arms come apart. */
static int find_directions(const struct part_field *f, const struct candidate *hub,
                           double out[RAYS])
{
    double extent[RAYS];
    int n = 0;
    for (int k = 0; k < RAYS; k++)
        extent[k] = reach(f, hub->at_mm, k * 2 * PI / RAYS);
    static const double beyond[4] = {1.5, 3.0, 5.0, 9.0};
    for (int level = 0; level < 4; level++) {
        double threshold = 1.25 * hub->radius_mm + beyond[level];
        int first = 0;
        while (first < RAYS && extent[first] > threshold)
            first++;
        if (first == RAYS)
            continue;
        for (int k = 1, run = 0; k <= RAYS; k++) {
            if (extent[(first + k) % RAYS] > threshold) {
                run++;
                continue;
            }
            if (run >= 2 && run < 100)
                out[n++] = (first + k - (run + 1) / 2.0) * 2 * PI / RAYS;
            run = 0;
            if (n == RAYS)
                return n;
        }
    }
    return n;
}

static bool same_direction(double a_rad, double b_rad)
{
    return fabs(remainder(a_rad - b_rad, 2 * PI)) < 0.21; /* 12 degrees: six arms stand 60 apart */
}

static bool is_known(const struct part_arm *arms, int count, double direction_rad)
{
    bool known = false;
    for (int i = 0; i < count; i++)
        known = known || same_direction(direction_rad, arms[i].direction_rad);
    return known;
}

/* ---- What an arm's far end carries ---------------------------------------------------------- */

/* The thickest place within reach of an arm's tip: the joint, where ball or clevis sits. */
static bool find_joint(const struct part_field *f, struct vision_point hub_mm,
                       const struct part_arm *arm, struct candidate *out)
{
    const double near_mm = 3;
    struct spot spot =
        thickest_between(f, hub_mm, arm, arm->tip_mm - 2 * near_mm, arm->tip_mm + near_mm, near_mm);
    *out = (struct candidate){spot.at_mm, spot.radius_mm};
    return out->radius_mm > 0.8;
}

/* A rod that leaves the place's middle and runs out of what can be followed still as thin as a rod:
 * this is where a link is joined on, not where arms begin. A bar that a marker covers may be one.
 */
static enum far_end rod_at(const struct candidate *place, const struct part_arm *bar)
{
    const double rod_mm = 2.9, thick_rod_mm = 5.2;
    if (!is_centred(place, bar) || !(bar->open_end || bar->covered_end))
        return FAR_END_FREE;
    if (bar->tip_width_mm < rod_mm || (bar->open_end && bar->width_mm < thick_rod_mm))
        return FAR_END_JOINT;
    return bar->width_mm < thick_rod_mm ? FAR_END_MAYBE_JOINT : FAR_END_FREE;
}

/* Whether a bar leaves the far end at an angle to the arm, so is no part of it. */
static enum far_end look_at_far_end(const struct part_field *f, const struct card_fix *fix,
                                    struct vision_point hub_mm, const struct part_arm *arm)
{
    const double sideways_rad = 0.35;
    enum far_end found = FAR_END_FREE;
    struct candidate end = {0};
    double directions[RAYS] = {0};
    if (!find_joint(f, hub_mm, arm, &end))
        return FAR_END_FREE;
    int n = find_directions(f, &end, directions);
    for (int i = 0; i < n && found != FAR_END_JOINT; i++) {
        struct part_arm bar = {.direction_rad = directions[i]};
        if (fabs(remainder(directions[i] - arm->direction_rad, PI)) < sideways_rad ||
            !align_arm(f, end.at_mm, 0.9 * end.radius_mm, &bar) || is_slot(fix, end.at_mm, &bar))
            continue;
        enum far_end rod = rod_at(&end, &bar);
        found = rod > found ? rod : found;
    }
    return found;
}

/* The marker under the place at u along an arm, an index of the card's; -1 where there is none. */
static int marker_under(const struct card_fix *fix, struct vision_point hub_mm,
                        const struct part_arm *arm, double u)
{
    const double half = fix->card->marker_mm * (0.5 + 1.0 / 8);
    double c = cos(arm->direction_rad), s = sin(arm->direction_rad), v = arm->offset_mm;
    double x = (hub_mm.x + u * c - v * s) / fix->bar_scale_x;
    double y = (hub_mm.y + u * s + v * c) / fix->bar_scale_y;
    for (int i = 0; i < fix->card->marker_count; i++) {
        struct vision_point at = fix->card->markers[i].centre_mm;
        if (fmax(fabs(x - at.x), fabs(y - at.y)) < half)
            return i;
    }
    return -1;
}

static bool was_read(const struct card_fix *fix, int marker)
{
    for (int i = 0; i < fix->markers; i++)
        if (fix->which[i] == marker)
            return true;
    return false;
}

/* Where an arm runs onto a marker that was read, it ends in the marker's white rim: nothing lies on
 * the marker itself. On one that was not read its end may be seen in pieces only. */
static void look_for_marker(const struct card_fix *fix, struct vision_point hub_mm,
                            struct part_arm *arm)
{
    const double near_mm = 1.0;
    int beyond = marker_under(fix, hub_mm, arm, arm->tip_mm + near_mm);
    int within = marker_under(fix, hub_mm, arm, arm->tip_mm - near_mm);
    if (beyond >= 0 && was_read(fix, beyond))
        arm->covered_end = false;
    else if (beyond >= 0 || within >= 0)
        arm->covered_end = true;
}

/* Where nothing else leaves a place, what looked like a rod may be its arm: if it is seen to end,
 * is thicker than rods are, and the place is where a shaft stands; a link's end lies further off.
 */
static void take_lone_arms(const struct part_field *f, const struct candidate *hub,
                           struct part_arm *rods, int count, struct part *out)
{
    const double rod_mm = 2.9, near_mm = 6, thin = 0.7;
    const bool shaft = hypot(hub->at_mm.x, hub->at_mm.y) < near_mm;
    int left = 0;
    for (int i = 0; i < count; i++) {
        struct part_arm *arm = &rods[i];
        arm->far_radius_mm = thickest_along(f, hub, arm, 0.6 * arm->tip_mm);
        if (!shaft || !arm->round_end || arm->width_mm < rod_mm || !is_shaped_like_arm(hub, arm) ||
            arm->far_radius_mm > thin * hub->radius_mm) {
            left++;
            continue;
        }
        arm->open_end = arm->covered_end = false;
        out->arms[out->arm_count++] = *arm;
    }
    out->joint = left > 0;
}

/* The arms of a hub. aside: those that pass its middle by, which what lies beside a hub and looks
 * like one with it may move; their number. */
static int find_arms(const struct part_field *f, const struct card_fix *fix,
                     const struct candidate *hub, struct part *out,
                     struct part_arm aside[VISION_MAX_ARMS])
{
    double directions[RAYS] = {0};
    struct part_arm rods[VISION_MAX_ARMS];
    int n = find_directions(f, hub, directions), aside_count = 0, rod_count = 0;
    out->arm_count = 0;
    for (int i = 0; i < n && out->arm_count < VISION_MAX_ARMS; i++) {
        struct part_arm arm = {.direction_rad = directions[i]};
        if (!align_arm(f, hub->at_mm, 0.9 * hub->radius_mm, &arm))
            continue;
        look_for_marker(fix, hub->at_mm, &arm);
        if (rod_at(hub, &arm) == FAR_END_JOINT && !is_slot(fix, hub->at_mm, &arm)) {
            out->joint = true;
            if (rod_count < VISION_MAX_ARMS && !is_known(rods, rod_count, arm.direction_rad))
                rods[rod_count++] = arm;
            continue;
        }
        if (!is_shaped_like_arm(hub, &arm) || is_slot(fix, hub->at_mm, &arm))
            continue;
        arm.far_end = look_at_far_end(f, fix, hub->at_mm, &arm);
        if (leads_to_hub(f, hub, &arm))
            continue;
        if (!is_centred(hub, &arm)) {
            if (aside_count < VISION_MAX_ARMS && !is_known(aside, aside_count, arm.direction_rad))
                aside[aside_count++] = arm;
            continue;
        }
        arm.far_radius_mm = thickest_along(f, hub, &arm, 0.6 * arm.tip_mm);
        if (same_direction(arm.direction_rad, directions[i]) &&
            !is_known(out->arms, out->arm_count, arm.direction_rad))
            out->arms[out->arm_count++] = arm;
    }
    if (out->arm_count == 0)
        take_lone_arms(f, hub, rods, rod_count, out);
    return aside_count;
}

/* How well a place serves as hub: long clean arms, a boss thicker than they are, and near the
 * slot's end in the card's middle, where the shaft stands. */
static double hub_score(const struct candidate *hub, const struct part *part)
{
    const double usual_mm = 8; /* more than height above the card displaces in a slanting view */
    double away = hypot(hub->at_mm.x, hub->at_mm.y) / usual_mm, score = 0;
    for (int i = 0; i < part->arm_count; i++) {
        const struct part_arm *arm = &part->arms[i];
        double boss = fmin(1.4, fmax(0.15, 2 * hub->radius_mm / arm->width_mm - 0.7));
        double centred = 1 / (1 + pow(arm->offset_mm / 0.5, 2));
        double clean = 1 / (1 + pow(arm->spread_mm / 0.15, 2));
        double ends = arm->open_end ? 0.12 : arm->covered_end ? 0.6 : 1;
        score += fmin(25, arm->tip_mm) * boss * centred * clean * ends;
    }
    score /= 1 + away * away;
    return part->joint ? JOINT_SCORE * score : score;
}

/* ---- Round outlines: hubs and discs --------------------------------------------------------- */

/* Circle through points by linear least squares on x^2 + y^2 = 2 a x + 2 b y + c (I. Kasa, "A
 * circle fitting procedure and its error analysis", IEEE Trans. Instr. Meas. 25, 1976). */
static bool fit_circle(const struct vision_point p[RAYS], const bool use[RAYS],
                       struct part_circle *out)
{
    double m[9] = {0}, r[3] = {0};
    for (int i = 0; i < RAYS; i++) {
        if (!use[i])
            continue;
        double row[3] = {2 * p[i].x, 2 * p[i].y, 1}, v = p[i].x * p[i].x + p[i].y * p[i].y;
        for (int j = 0; j < 3; j++) {
            r[j] += row[j] * v;
            for (int k = 0; k < 3; k++)
                m[3 * j + k] += row[j] * row[k];
        }
    }
    if (!linalg_solve(3, m, r, r))
        return false;
    out->centre_mm = (struct vision_point){r[0], r[1]};
    out->radius_mm = sqrt(r[2] + r[0] * r[0] + r[1] * r[1]);
    return isfinite(out->radius_mm);
}

/* Circle through the outline, extent[] away from a point inside, first through the rays that use
 * allows, then without those that stick out of it or fall short: balls, links, fingers, fillets. */
static bool outline_circle(const struct part_field *f, struct vision_point from,
                           const double extent[RAYS], const bool allow[RAYS], int least,
                           struct part_circle *out)
{
    struct vision_point p[RAYS];
    bool use[RAYS];
    memcpy(use, allow, sizeof use);
    for (int k = 0; k < RAYS; k++) {
        double rad = k * 2 * PI / RAYS, r = extent[k] + f->s->pitch_mm / 2;
        p[k] = (struct vision_point){from.x + r * cos(rad), from.y + r * sin(rad)};
    }
    for (int round = 0; round < 6; round++) {
        double off[RAYS], used_off[RAYS] = {0};
        int n = 0;
        if (!fit_circle(p, use, out))
            return false;
        for (int k = 0; k < RAYS; k++) {
            off[k] =
                fabs(hypot(p[k].x - out->centre_mm.x, p[k].y - out->centre_mm.y) - out->radius_mm);
            if (allow[k])
                used_off[n++] = off[k];
        }
        out->scatter_mm = n ? 1.4826 * median_mean(used_off, n) : 1e9;
        out->used = 0;
        for (int k = 0; k < RAYS; k++) {
            use[k] = allow[k] && off[k] < fmax(0.15, 2.5 * out->scatter_mm);
            out->used += use[k];
        }
        if (out->used < least)
            return false;
    }
    return true;
}

/* The boss as a circle through the outline between the arms. */
static bool boss_circle(const struct part_field *f, const struct part *part,
                        struct part_circle *out)
{
    double extent[RAYS];
    bool allow[RAYS];
    int n = 0;
    for (int k = 0; k < RAYS; k++) {
        double rad = k * 2 * PI / RAYS;
        extent[k] = reach(f, part->hub_mm, rad);
        allow[k] = extent[k] < 1.35 * part->hub_radius_mm;
        for (int i = 0; i < part->arm_count && allow[k]; i++) {
            double half = asin(fmin(1, 0.5 * part->arms[i].width_mm / part->hub_radius_mm));
            allow[k] = fabs(remainder(rad - part->arms[i].direction_rad, 2 * PI)) > half + 0.3;
        }
        n += allow[k];
    }
    const int least = RAYS / 6; /* less of an arc does not fix its centre */
    if (n < least || !outline_circle(f, part->hub_mm, extent, allow, least, out))
        return false;
    double moved = hypot(out->centre_mm.x - part->hub_mm.x, out->centre_mm.y - part->hub_mm.y);
    return out->scatter_mm < 0.2 && moved < 0.6 * part->hub_radius_mm;
}

/* Where the axes of arms meet, from the hub they were found from; at is where it else would be,
 * good to at_mm. */
static bool axes_meet(const struct part_arm *arms, int count, struct vision_point at, double at_mm,
                      double shift[2])
{
    const double axis_mm = 0.15, w = 1 / (axis_mm * axis_mm);
    double w0 = 1 / (at_mm * at_mm), m[4] = {w0, 0, 0, w0}, r[2] = {w0 * at.x, w0 * at.y};
    for (int i = 0; i < count; i++) {
        double nx = -sin(arms[i].direction_rad), ny = cos(arms[i].direction_rad);
        m[0] += w * nx * nx;
        m[1] += w * nx * ny;
        m[2] += w * nx * ny;
        m[3] += w * ny * ny;
        r[0] += w * nx * arms[i].offset_mm;
        r[1] += w * ny * arms[i].offset_mm;
    }
    return linalg_solve(2, m, r, shift);
}

/* The hub's place from its arms' axes, and from its boss where enough of it is seen between them;
 * else from the thickest place. */
static void settle_hub(const struct part_field *f, struct part *part)
{
    struct part_circle boss;
    struct vision_point at = {0, 0};
    bool seen = boss_circle(f, part, &boss);
    double shift[2];
    if (seen)
        at = (struct vision_point){boss.centre_mm.x - part->hub_mm.x,
                                   boss.centre_mm.y - part->hub_mm.y};
    if (!axes_meet(part->arms, part->arm_count, at, seen ? 0.3 : 0.7, shift))
        return;
    part->hub_mm.x += shift[0];
    part->hub_mm.y += shift[1];
    for (int i = 0; i < part->arm_count; i++) {
        struct part_arm *arm = &part->arms[i];
        double c = cos(arm->direction_rad), s = sin(arm->direction_rad);
        double along = shift[0] * c + shift[1] * s;
        arm->offset_mm -= -shift[0] * s + shift[1] * c;
        arm->start_mm -= along;
        arm->end_mm -= along;
        arm->clear_mm -= along;
        arm->tip_mm -= along;
        for (int k = 0; k < arm->outline_count; k++)
            arm->outline[k].u_mm -= (float)along;
    }
}

static int by_direction(const void *a, const void *b)
{
    const struct part_arm *p = a, *q = b;
    double d = fmod(p->direction_rad + 4 * PI, 2 * PI) - fmod(q->direction_rad + 4 * PI, 2 * PI);
    return (d > 0) - (d < 0);
}

/* Keeps the best places, best first. */
static void rank(const struct part *part, struct part out[PART_MAX_PLACES], int *count)
{
    int at = *count;
    while (at > 0 && out[at - 1].score < part->score)
        at--;
    if (at >= PART_MAX_PLACES)
        return;
    int last = *count < PART_MAX_PLACES ? (*count)++ : PART_MAX_PLACES - 1;
    memmove(&out[at + 1], &out[at], (size_t)(last - at) * sizeof *out);
    out[at] = *part;
}

/* Things that reach in from outside, fingers and frames, are thickest at the card's rim. */
static bool at_the_rim(const struct card_fix *fix, const struct candidate *c)
{
    double x = fix->card->width_mm / 2 - fabs(c->at_mm.x / fix->bar_scale_x);
    double y = fix->card->height_mm / 2 - fabs(c->at_mm.y / fix->bar_scale_y);
    return fmin(x, y) < c->radius_mm + 1.5;
}

/* Whether an arm of hub ends in the other place. */
static bool ends_in(const struct part_arm *arm, struct vision_point hub_mm,
                    const struct part *other)
{
    double c = cos(arm->direction_rad), s = sin(arm->direction_rad);
    double x = other->hub_mm.x - hub_mm.x, y = other->hub_mm.y - hub_mm.y;
    double along = x * c + y * s, aside = -x * s + y * c - arm->offset_mm;
    return fabs(along - arm->tip_mm + other->hub_radius_mm) < other->hub_radius_mm &&
           fabs(aside) < 0.7 * other->hub_radius_mm;
}

/* Where one place has an arm that ends in another, and a bar that may be a rod leaves that one
 * sideways, either may be the hub. The one clearly nearer to the slot's end is taken for it, the
 * other for a joint. */
static void tell_joints(struct part *places, int count)
{
    const double clearly_mm = 3;
    for (int i = 0; i < count; i++)
        for (int j = 0; j < count; j++) {
            double near = hypot(places[i].hub_mm.x, places[i].hub_mm.y);
            double far = hypot(places[j].hub_mm.x, places[j].hub_mm.y);
            if (places[j].joint || near + clearly_mm > far)
                continue;
            for (int k = 0; k < places[i].arm_count && !places[j].joint; k++) {
                struct part_arm *arm = &places[i].arms[k];
                if (arm->far_end != FAR_END_MAYBE_JOINT ||
                    !ends_in(arm, places[i].hub_mm, &places[j]))
                    continue;
                arm->far_end = FAR_END_JOINT;
                places[j].joint = true;
                places[j].score *= JOINT_SCORE;
            }
        }
}

static int better_first(const void *a, const void *b)
{
    double d = ((const struct part *)b)->score - ((const struct part *)a)->score;
    return (d > 0) - (d < 0);
}

/* A hub in front of the servo's own case, or beside a shadow that passes for part, is not where the
 * silhouette is thickest: then its arms' axes tell where they meet. */
static bool recentre(const struct part_field *f, const struct part *part,
                     const struct part_arm *aside, int aside_count, struct candidate *hub)
{
    const double vague_mm = 2;
    struct part_arm arms[2 * VISION_MAX_ARMS];
    double shift[2];
    int n = 0;
    for (int i = 0; i < part->arm_count; i++)
        arms[n++] = part->arms[i];
    for (int i = 0; i < aside_count; i++)
        if (fabs(aside[i].offset_mm) < 0.7 * hub->radius_mm)
            arms[n++] = aside[i];
    if (n < 2 || !axes_meet(arms, n, (struct vision_point){0, 0}, vague_mm, shift) ||
        hypot(shift[0], shift[1]) > 0.7 * hub->radius_mm)
        return false;
    hub->at_mm.x += shift[0];
    hub->at_mm.y += shift[1];
    long at = index_at(f, hub->at_mm.x, hub->at_mm.y);
    if (at < 0 || f->depth_mm[at] < MIN_HUB_RADIUS_MM)
        return false;
    hub->radius_mm = f->depth_mm[at];
    return true;
}

static struct part part_at(const struct part_field *f, const struct card_fix *fix,
                           struct candidate hub)
{
    struct part_arm aside[VISION_MAX_ARMS];
    struct part part = {.hub_mm = hub.at_mm, .hub_radius_mm = hub.radius_mm};
    int aside_count = find_arms(f, fix, &hub, &part, aside);
    part.score = hub_score(&hub, &part);
    if (aside_count == 0 || !recentre(f, &part, aside, aside_count, &hub))
        return part;
    struct part moved = {.hub_mm = hub.at_mm, .hub_radius_mm = hub.radius_mm};
    find_arms(f, fix, &hub, &moved, aside);
    moved.score = hub_score(&hub, &moved);
    return moved.score > part.score ? moved : part;
}

/* What each candidate for the hub is tried with, and what came of it. */
struct trials {
    const struct part_field *f;
    const struct card_fix *fix;
    struct candidate candidates[MAX_CANDIDATES];
    struct part parts[MAX_CANDIDATES]; /* without arms where it can be no hub */
};

static void try_candidate(void *context, size_t i)
{
    struct trials *t = context;
    const struct candidate *c = &t->candidates[i];
    struct part *part = &t->parts[i];
    if (c->radius_mm > MAX_HUB_RADIUS_MM || at_the_rim(t->fix, c))
        return;
    *part = part_at(t->f, t->fix, *c);
    if (part->arm_count == 0)
        return;
    settle_hub(t->f, part);
    qsort(part->arms, (size_t)part->arm_count, sizeof part->arms[0], by_direction);
}

enum vision_reason part_find(const struct part_field *f, const struct card_fix *fix, size_t threads,
                             struct part out[PART_MAX_PLACES], int *count)
{
    const struct silhouette *s = f->s;
    *count = 0;
    size_t n = (size_t)s->width * (size_t)s->height, cells = 0;
    for (size_t i = 0; i < n; i++)
        cells += f->solid[i];
    struct trials *trials = calloc(1, sizeof *trials);
    if (!trials)
        return VISION_NO_MEMORY;
    trials->f = f;
    trials->fix = fix;
    int found = find_candidates(f, trials->candidates);
    parallel_pieces(threads, (size_t)found, try_candidate, trials);
    for (int i = 0; i < found; i++)
        if (trials->parts[i].arm_count > 0)
            rank(&trials->parts[i], out, count);
    free(trials);
    tell_joints(out, *count);
    qsort(out, (size_t)*count, sizeof *out, better_first);
    if ((double)cells * s->pitch_mm * s->pitch_mm < MIN_PART_MM2)
        return VISION_NO_PART;
    return *count > 0 ? VISION_REASON_NONE : VISION_NO_ARM;
}

/* ---- With a person's help ------------------------------------------------------------------- */

enum vision_reason part_find_hinted(const struct part_field *f, struct vision_point hub_mm,
                                    struct vision_point tip_mm, struct part *out)
{
    double length = hypot(tip_mm.x - hub_mm.x, tip_mm.y - hub_mm.y);
    if (!(length > MIN_BODY_MM) || !isfinite(length))
        return VISION_BAD_HINT;
    struct part_arm arm = {.direction_rad = atan2(tip_mm.y - hub_mm.y, tip_mm.x - hub_mm.x)};
    bool good = align_arm(f, hub_mm, 0.2 * length, &arm);
    if (!good || arm.end_mm - arm.start_mm < MIN_BODY_MM)
        return VISION_NO_ARM;
    arm.end_mm = fmin(arm.end_mm, 0.95 * length);
    arm.clear_mm = fmin(arm.clear_mm, arm.end_mm);
    arm.tip_mm = length;
    *out = (struct part){.hub_mm = hub_mm, .arm_count = 1, .score = 1};
    out->arms[0] = arm;
    return VISION_REASON_NONE;
}

/* ---- The link ------------------------------------------------------------------------------- */

/* A rod leaves the joint sideways, and passes the hub by: what leads to that is an arm. */
static bool may_be_link(const struct part *part, const struct part_arm *arm,
                        const struct candidate *joint, const struct part_arm *bar)
{
    const double sideways_rad = 0.35, beside_hub = 0.6;
    double c = cos(bar->direction_rad), s = sin(bar->direction_rad);
    double x = part->hub_mm.x - joint->at_mm.x, y = part->hub_mm.y - joint->at_mm.y;
    double body = bar->end_mm - bar->start_mm;
    bool thin = bar->width_mm > 0.8 && bar->width_mm < 7 && body > 2 * bar->width_mm;
    return thin && fabs(bar->offset_mm) < 2.5 &&
           fabs(remainder(bar->direction_rad - arm->direction_rad, PI)) > sideways_rad &&
           fabs(-x * s + y * c - bar->offset_mm) > beside_hub * part->hub_radius_mm;
}

static void try_links(const struct part_field *f, const struct card_fix *fix,
                      const struct part *part, const struct part_arm *arm,
                      const struct candidate *joint, struct vision_point *from_mm,
                      struct part_arm *link)
{
    double directions[RAYS] = {0};
    int n = find_directions(f, joint, directions);
    for (int i = 0; i < n; i++) {
        struct part_arm bar = {.direction_rad = directions[i]};
        if (!align_arm(f, joint->at_mm, joint->radius_mm, &bar) ||
            !may_be_link(part, arm, joint, &bar) || is_slot(fix, joint->at_mm, &bar))
            continue;
        if (bar.end_mm - bar.start_mm > link->end_mm - link->start_mm) {
            *link = bar;
            *from_mm = joint->at_mm;
        }
    }
}

/* Whether what lies between hub and joint is part, as an arm is. */
static bool hangs_together(const struct part_field *f, struct vision_point hub_mm,
                           struct vision_point joint_mm)
{
    enum { STEPS = 40 };
    const int least = 34; /* an arm has holes */
    int solid = 0;
    for (int k = 1; k <= STEPS; k++) {
        double share = (k - 0.5) / STEPS;
        long at = index_at(f, hub_mm.x + share * (joint_mm.x - hub_mm.x),
                           hub_mm.y + share * (joint_mm.y - hub_mm.y));
        solid += at >= 0 && f->solid[at];
    }
    return solid >= least;
}

/* Joints on arms that were not made out, as one whose cup covers most of it: thick places beyond
 * the hub. What leads from there back to the hub is no link. */
static void try_joints_alone(const struct part_field *f, const struct card_fix *fix,
                             const struct part *part, struct vision_point *from_mm,
                             struct part_arm *link)
{
    const double beyond_mm = 3, furthest_mm = 45, least_mm = 0.8;
    struct candidate places[MAX_CANDIDATES] = {0};
    int n = find_candidates(f, places);
    for (int i = 0; i < n; i++) {
        double x = places[i].at_mm.x - part->hub_mm.x, y = places[i].at_mm.y - part->hub_mm.y;
        double away = hypot(x, y) - part->hub_radius_mm;
        struct part_arm arm = {.direction_rad = atan2(y, x)};
        if (away > beyond_mm && away < furthest_mm && places[i].radius_mm > least_mm &&
            !at_the_rim(fix, &places[i]) && hangs_together(f, part->hub_mm, places[i].at_mm))
            try_links(f, fix, part, &arm, &places[i], from_mm, link);
    }
}

enum vision_reason part_find_link(const struct part_field *f, const struct card_fix *fix,
                                  const struct part *part, struct vision_point *from_mm,
                                  struct part_arm *link)
{
    *link = (struct part_arm){0};
    for (int i = 0; i < part->arm_count; i++) {
        struct candidate joint = {0};
        if (find_joint(f, part->hub_mm, &part->arms[i], &joint))
            try_links(f, fix, part, &part->arms[i], &joint, from_mm, link);
    }
    if (!(link->end_mm > link->start_mm))
        try_joints_alone(f, fix, part, from_mm, link);
    return link->end_mm > link->start_mm ? VISION_REASON_NONE : VISION_NO_LINK;
}

/* ---- Discs ---------------------------------------------------------------------------------- */

#define MIN_DISC_RADIUS_MM 5.0
#define MAX_DISC_RADIUS_MM 35.0

/* Good when most of the outline is round. Rays pass over holes. From a place off the middle the
 * first circle is drawn by things that stick out, so twice more from the middle found. */
static bool round_outline(const struct part_field *f, struct vision_point from,
                          struct part_circle *out)
{
    const double hole_mm = 2.4, unlike = 0.3, scatter = 0.055;
    for (int round = 0; round < 3; round++) {
        double extent[RAYS], sorted[RAYS];
        bool allow[RAYS];
        int allowed = 0;
        for (int k = 0; k < RAYS; k++)
            sorted[k] = extent[k] = reach_over(f, from, k * 2 * PI / RAYS, hole_mm);
        double middle = median_mean(sorted, RAYS);
        for (int k = 0; k < RAYS; k++) {
            allow[k] = fabs(extent[k] - middle) < unlike * middle;
            allowed += allow[k];
        }
        const int least = (int)((round < 2 ? 0.4 : 0.6) * RAYS);
        if (allowed < least || !outline_circle(f, from, extent, allow, least, out))
            return false;
        from = out->centre_mm;
    }
    return out->scatter_mm < scatter * out->radius_mm;
}

static bool is_disc(const struct card_fix *fix, const struct part_circle *circle)
{
    struct candidate place = {circle->centre_mm, 0};
    return circle->radius_mm > MIN_DISC_RADIUS_MM && circle->radius_mm < MAX_DISC_RADIUS_MM &&
           !at_the_rim(fix, &place);
}

bool part_find_round(const struct part_field *f, const struct card_fix *fix,
                     struct part_circle *out)
{
    struct candidate candidates[MAX_CANDIDATES] = {0};
    int n = find_candidates(f, candidates);
    for (int i = 0; i < n; i++)
        if (!at_the_rim(fix, &candidates[i]) && round_outline(f, candidates[i].at_mm, out) &&
            is_disc(fix, out))
            return true;
    return false;
}
