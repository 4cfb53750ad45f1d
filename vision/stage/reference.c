#include "reference.h"

#include "budget/budget.h"
#include "edge/edge_fit.h"
#include "maths/angle.h"
#include "maths/median.h"
#include "part/part_link.h"
#include "photo/sample.h"

#include <math.h>
#include <string.h>

static void use_card_axis(const struct card_fix *fix, struct vision_result *out)
{
    double half = fix->card->width_mm / 2 * fix->bar_scale_x;
    double y = -fix->card->height_mm / 2 * fix->bar_scale_y;
    out->reference_deg = 0;
    out->reference_px[0] = vision_plane_to_photo(&fix->plane, (struct vision_point){-half, y});
    out->reference_px[1] = vision_plane_to_photo(&fix->plane, (struct vision_point){half, y});
}

/* Direction on the card from the first photo point to the second. Never turned round to lie nearest
 * some axis: near the axis that it is turned round at, a pixel would decide which arm is A. */
static double direction_deg(const struct vision_plane *plane, const struct vision_point px[2])
{
    struct vision_point a = vision_plane_to_card(plane, px[0]);
    struct vision_point b = vision_plane_to_card(plane, px[1]);
    return angle_wrap_180(atan2(b.y - a.y, b.x - a.x) * DEG);
}

/* A line's direction without head or tail, in (-90, 90], as an arrow that points as forward_deg. */
static double direction_along(double line_deg, double forward_deg)
{
    return angle_wrap_180(cos((line_deg - forward_deg) / DEG) < 0 ? line_deg + 180 : line_deg);
}

/* What pointing amiss turns the direction of the line by: a pixel is more of the card where that is
 * seen foreshortened. Each coordinate is moved by its u, JCGM 100:2008, 5.1.4, note 2. */
static double pointed_u_deg(const struct vision_plane *plane, const struct vision_point px[2])
{
    double squares = 0;
    for (int i = 0; i < 4; i++) {
        const bool across = i % 2;
        double deg[2];
        for (int side = 0; side < 2; side++) {
            struct vision_point at[2] = {px[0], px[1]};
            double *moved = across ? &at[i / 2].y : &at[i / 2].x;
            *moved += side ? VISION_POINTED_PX : -VISION_POINTED_PX;
            deg[side] = direction_deg(plane, at);
        }
        double half = remainder(deg[1] - deg[0], 360) / 2;
        squares += half * half;
    }
    return sqrt(squares);
}

static enum vision_reason use_points(const struct card_fix *fix,
                                     const struct vision_options *options,
                                     struct vision_result *out, struct reference_line *line)
{
    const struct vision_point *p = options->hint_px;
    double apart = hypot(p[1].x - p[0].x, p[1].y - p[0].y);
    if (!(apart >= 20))
        return VISION_BAD_HINT;
    out->reference_px[0] = p[0];
    out->reference_px[1] = p[1];
    out->reference_deg = direction_deg(&fix->plane, p);
    const struct vision_plane *seen = options->hint_plane && options->hint_plane->h[8] > 0
                                          ? options->hint_plane /* of the photo pointed at */
                                          : &fix->plane;
    struct vision_point pointed[2];
    for (int i = 0; i < 2; i++)
        pointed[i] = vision_plane_to_photo(seen, vision_plane_to_card(&fix->plane, p[i]));
    *line = (struct reference_line){.u_deg = pointed_u_deg(seen, pointed),
                                    .dof = BUDGET_JUDGED_DOF,
                                    .shared = options->hint_plane != NULL};
    return VISION_REASON_NONE;
}

/* ---- A straight edge of the servo case ------------------------------------------------------- */

#define EDGE_PROFILES 160
#define EDGE_SAMPLES 121
#define EDGE_PEAKS 3
#define LEAST_STEP 0.035 /* root of light: twice the noise of a dim photo */

struct edge_peak {
    double along, across; /* px along the hint and to its left */
    float step[3];        /* change of colour to the left, roots of light */
};

struct hint_frame {
    struct vision_point from;
    double dx, dy, length;
};

static struct vision_point hint_point(const struct hint_frame *h, double along, double across)
{
    return (struct vision_point){h->from.x + along * h->dx + across * h->dy,
                                 h->from.y + along * h->dy - across * h->dx};
}

/* Root of the light: steps of reflectance in the dark count as much as in the light. Of all
 * colours, since a grey case on a blue mat may be as bright as that. */
static bool root_at(const struct vision_image *image, struct vision_point px, float out[3])
{
    if (!sample_at(image, px, out))
        return false;
    for (int c = 0; c < 3; c++)
        out[c] = sqrtf(fmaxf(0, out[c]));
    return true;
}

/* What edges of the case are looked for in. */
struct edge_scene {
    const struct vision_image *image;
    const struct card_fix *fix;
    const struct silhouette *silhouette;
};

/* Whether a step is the card's own: its rim or its print, where nothing lies in front. The rim
 * stands out more than a dark case on a dark bench, and often lies close by. */
static bool is_of_card(const struct edge_scene *scene, struct vision_point px)
{
    const double beside_mm = 1, rim_mm = 0.6;
    const struct card_fix *fix = scene->fix;
    struct vision_point mm = vision_plane_to_card(&fix->plane, px);
    double pixel_mm = scene->image->reduce / plane_px_per_mm(&fix->plane, mm);
    double rim = rim_mm + 2 * pixel_mm;
    if (fabs(mm.x / fix->bar_scale_x) > fix->card->width_mm / 2 + rim ||
        fabs(mm.y / fix->bar_scale_y) > fix->card->height_mm / 2 + rim)
        return false;
    for (int k = 0; k < 8; k++) {
        double rad = k * 45 / DEG;
        struct vision_point near = {mm.x + beside_mm * cos(rad), mm.y + beside_mm * sin(rad)};
        if (silhouette_at(scene->silhouette, near) == CELL_PART)
            return false;
    }
    return true;
}

/* The strongest steps of one profile across the hint. */
static int profile_peaks(const struct edge_scene *scene, const struct hint_frame *h, double along,
                         double middle, double reach, struct edge_peak out[EDGE_PEAKS])
{
    const int tries = 8;
    const struct vision_image *image = scene->image;
    float v[EDGE_SAMPLES][3], change[EDGE_SAMPLES][3] = {{0}};
    double g[EDGE_SAMPLES] = {0};
    double step = 2 * reach / (EDGE_SAMPLES - 1);
    for (int i = 0; i < EDGE_SAMPLES; i++)
        if (!root_at(image, hint_point(h, along, middle - reach + i * step), v[i]))
            return 0;
    int half = (int)fmax(1, fmin(8, 1.5 * image->reduce / step));
    for (int i = half; i + half < EDGE_SAMPLES; i++) {
        for (int c = 0; c < 3; c++)
            change[i][c] = v[i + half][c] - v[i - half][c];
        g[i] = sqrtf(sample_dot(change[i], change[i]));
    }
    int n = 0;
    for (int k = 0; k < tries && n < EDGE_PEAKS; k++) {
        int best = 0;
        for (int i = 1; i + 1 < EDGE_SAMPLES; i++)
            if (g[i] > g[best] && g[i] >= g[i - 1] && g[i] >= g[i + 1])
                best = i;
        if (g[best] < LEAST_STEP)
            break;
        double a = g[best - 1], b = g[best], c = g[best + 1];
        double bend = a - 2 * b + c, shift = bend < 0 ? 0.5 * (a - c) / bend : 0;
        out[n] =
            (struct edge_peak){.along = along, .across = middle - reach + (best + shift) * step};
        memcpy(out[n].step, change[best], sizeof out[n].step);
        n += !is_of_card(scene, hint_point(h, along, out[n].across));
        for (int i = best - 2 * half; i <= best + 2 * half; i++)
            if (i >= 0 && i < EDGE_SAMPLES)
                g[i] = 0;
    }
    return n;
}

/* A line across = a + b along, and how many peaks lie on it. */
struct voted_line {
    double a, b;
    int votes;
};

static bool lies_on(const struct voted_line *line, const struct edge_peak *p, double tolerance)
{
    return fabs(p->across - line->a - line->b * p->along) < tolerance;
}

/* The same way round, as far as colours tell. */
static bool is_alike(const struct edge_peak *p, const struct edge_peak *q)
{
    return sample_dot(p->step, q->step) > 0;
}

/* The line through most peaks of one sign, by trying pairs of them. */
static struct voted_line vote_line(const struct edge_peak *p, int n, double tolerance,
                                   double length)
{
    struct voted_line best = {0};
    unsigned seed = 12345; /* fixed: the same photo gives the same answer */
    for (int trial = 0; trial < 3000 && n > 1; trial++) {
        seed = seed * 1103515245U + 12345U;
        const struct edge_peak *s = &p[(seed >> 8) % (unsigned)n];
        seed = seed * 1103515245U + 12345U;
        const struct edge_peak *t = &p[(seed >> 8) % (unsigned)n];
        if (fabs(t->along - s->along) < 0.3 * length || !is_alike(s, t))
            continue;
        struct voted_line line = {.b = (t->across - s->across) / (t->along - s->along)};
        line.a = s->across - line.b * s->along;
        for (int i = 0; i < n; i++)
            line.votes += is_alike(&p[i], s) && lies_on(&line, &p[i], tolerance);
        if (line.votes > best.votes)
            best = line;
    }
    return best;
}

/* Mean colour of a stretch across the hint, from so many pixels beyond middle to so many. */
static bool mean_root(const struct edge_scene *scene, const struct hint_frame *h, double along,
                      double middle, const double beyond_px[2], float out[3])
{
    enum { STEPS = 8 };
    memset(out, 0, 3 * sizeof *out);
    for (int k = 0; k < STEPS; k++) {
        double px = beyond_px[0] + (beyond_px[1] - beyond_px[0]) * k / (STEPS - 1);
        float root[3];
        if (!root_at(scene->image, hint_point(h, along, middle + px * scene->image->reduce), root))
            return false;
        for (int c = 0; c < 3; c++)
            out[c] += root[c] / STEPS;
    }
    return true;
}

/* Share of the step at an edge that is still there beyond it: 1 and more where two things meet, 0
 * where a thin line is drawn on one thing, as on a cutting mat; negative at a rim that shines.
 * Where nothing so far beyond can be seen, as close to the photo's rim, 0 as well: it may be such a
 * line. */
static double share_beyond(const struct edge_scene *scene, const struct hint_frame *h,
                           const struct voted_line *line)
{
    static const double left[2][2] = {{1, 2}, {5, 12}}, right[2][2] = {{-1, -2}, {-5, -12}};
    double share[EDGE_PROFILES];
    int n = 0;
    for (int i = 0; i < EDGE_PROFILES; i++) {
        double along = h->length * (i + 0.5) / EDGE_PROFILES, middle = line->a + line->b * along;
        float step[2][3];
        bool seen = true;
        for (int far = 0; far < 2 && seen; far++) {
            float l[3] = {0}, r[3] = {0};
            seen = mean_root(scene, h, along, middle, left[far], l) &&
                   mean_root(scene, h, along, middle, right[far], r);
            for (int c = 0; c < 3; c++)
                step[far][c] = l[c] - r[c];
        }
        if (seen)
            share[n++] = sample_dot(step[1], step[0]) / fmax(sample_dot(step[0], step[0]), 1e-6);
    }
    return n > 0 ? median_upper(share, n) : 0;
}

/* Whether another edge, in another direction, shows nearly as well: then which one is meant cannot
 * be told. Takes away the peaks of the line. */
static bool has_rival(const struct voted_line *line, struct edge_peak *p, int n, double tolerance,
                      double length)
{
    const double nearly = 0.6, other_rad = 0.5 / DEG;
    int kept = 0;
    for (int i = 0; i < n; i++)
        if (!lies_on(line, &p[i], 2 * tolerance))
            p[kept++] = p[i];
    struct voted_line other = vote_line(p, kept, tolerance, length);
    return other.votes > nearly * line->votes && fabs(atan(other.b) - atan(line->b)) > other_rad;
}

static int gather_peaks(const struct edge_scene *scene, const struct hint_frame *h, double reach,
                        struct edge_peak out[EDGE_PROFILES * EDGE_PEAKS])
{
    int n = 0;
    for (int i = 0; i < EDGE_PROFILES; i++)
        n += profile_peaks(scene, h, h->length * (i + 0.5) / EDGE_PROFILES, 0, reach, &out[n]);
    return n;
}

/* Sub-pixel points along the voted line, in card millimetres. */
static int edge_points(const struct edge_scene *scene, const struct hint_frame *h,
                       const struct voted_line *line, struct vision_point *out)
{
    const int reduce = scene->image->reduce;
    int n = 0;
    for (int i = 0; i < EDGE_PROFILES; i++) {
        double along = h->length * (i + 0.5) / EDGE_PROFILES, middle = line->a + line->b * along;
        struct edge_peak peak[EDGE_PEAKS];
        int found = profile_peaks(scene, h, along, middle, 4.0 * reduce, peak);
        if (found > 0 && fabs(peak[0].across - middle) < 2.0 * reduce)
            out[n++] =
                vision_plane_to_card(&scene->fix->plane, hint_point(h, along, peak[0].across));
    }
    return n;
}

static enum vision_reason use_edge(const struct edge_scene *scene,
                                   const struct vision_options *options, struct vision_result *out,
                                   struct reference_line *line)
{
    struct hint_frame h = {.from = options->hint_px[0]};
    h.dx = options->hint_px[1].x - h.from.x;
    h.dy = options->hint_px[1].y - h.from.y;
    h.length = hypot(h.dx, h.dy);
    if (!(h.length >= 40))
        return VISION_BAD_HINT;
    for (int k = 0; k < 2; k++)
        out->reference_px[k] = options->hint_px[k];
    h.dx /= h.length;
    h.dy /= h.length;
    struct edge_peak peaks[EDGE_PROFILES * EDGE_PEAKS];
    struct vision_point points[EDGE_PROFILES];
    const double reach = fmax(12, fmin(0.12 * h.length, REFERENCE_REACH_PX));
    const double tolerance = 1.2 * scene->image->reduce, astray_rad = 5 / DEG;
    const double pointed_at = 0.7, thin = 0.25;
    int n = gather_peaks(scene, &h, reach, peaks);
    struct voted_line voted = vote_line(peaks, n, tolerance, h.length);
    /* two points on an edge tell its direction to a degree or two: this is another edge */
    if (voted.votes < EDGE_PROFILES / 3 || fabs(atan(voted.b)) > astray_rad)
        return VISION_NO_EDGE;
    if (fmax(fabs(voted.a), fabs(voted.a + voted.b * h.length)) > pointed_at * reach)
        return VISION_NO_EDGE;
    enum vision_reason doubt = VISION_REASON_NONE;
    if (fabs(share_beyond(scene, &h, &voted)) < thin)
        doubt = VISION_THIN_LINE;
    else if (has_rival(&voted, peaks, n, tolerance, h.length))
        doubt = VISION_TWO_EDGES;
    n = edge_points(scene, &h, &voted, points);
    double direction, scatter_deg;
    if (n < EDGE_PROFILES / 3 || !vision_line_fit(points, n, &direction, &scatter_deg))
        return VISION_NO_EDGE;
    out->reference_px[0] = hint_point(&h, 0, voted.a);
    out->reference_px[1] = hint_point(&h, h.length, voted.a + voted.b * h.length);
    out->reference_deg =
        direction_along(direction, direction_deg(&scene->fix->plane, options->hint_px));
    /* neighbouring profiles share pixels and the edge's own waviness: four count as one */
    *line = (struct reference_line){
        .u_deg = hypot(2 * scatter_deg, 0.02), .dof = n / 4.0 - 2, .doubt = doubt};
    return VISION_REASON_NONE;
}

/* ---- The link or pushrod --------------------------------------------------------------------- */

static enum vision_reason use_link(const struct vision_image *image, const struct card_fix *fix,
                                   const struct silhouette *silhouette,
                                   const struct part_field *field, const double camera_mm[3],
                                   const struct part *part, struct vision_result *out,
                                   struct reference_line *line)
{
    struct vision_point joint;
    struct part_arm link;
    struct arm_fit fit;
    enum vision_reason reason = part_find_link(field, fix, part, &joint, &link);
    if (reason != VISION_REASON_NONE)
        return reason;
    struct arm_shared usual = arm_shared_usual(image->reduce / plane_px_per_mm(&fix->plane, joint));
    const struct edge_view view = {image, fix, silhouette, camera_mm};
    struct arm_edges *edges = edge_fit_read(&view, joint, &link, &usual);
    bool good = edges && edge_fit_line(edges, &usual, &fit);
    edge_fit_free(edges);
    if (!good)
        return VISION_NO_LINK;
    double c = cos(fit.direction_rad), s = sin(fit.direction_rad);
    for (int k = 0; k < 2; k++) {
        double u = k ? link.end_mm : 0;
        struct vision_point mm = {joint.x + u * c - fit.offset_mm * s,
                                  joint.y + u * s + fit.offset_mm * c};
        out->reference_px[k] = vision_plane_to_photo(&fix->plane, mm);
    }
    out->reference_deg = angle_wrap_180(fit.direction_rad * DEG);
    /* a thin rod bends: by a twentieth of a millimetre over its visible length */
    *line =
        (struct reference_line){.u_deg = hypot(fit.u_rad * DEG, 0.05 / fmax(4, fit.body_mm) * DEG),
                                .dof = BUDGET_JUDGED_DOF,
                                .joined = true,
                                .joint_mm = joint};
    return VISION_REASON_NONE;
}

enum vision_reason reference_find(const struct vision_image *image, const struct card_fix *fix,
                                  const struct silhouette *silhouette,
                                  const struct part_field *field, const double camera_mm[3],
                                  const struct part *part, const struct vision_options *options,
                                  struct vision_result *out, struct reference_line *line)
{
    *line = (struct reference_line){.dof = 1};
    out->reference = options->reference;
    switch (options->reference) {
    case VISION_REFERENCE_CARD:
        use_card_axis(fix, out);
        return VISION_REASON_NONE;
    case VISION_REFERENCE_POINTS:
        return use_points(fix, options, out, line);
    case VISION_REFERENCE_EDGE:
        return use_edge(&(struct edge_scene){image, fix, silhouette}, options, out, line);
    case VISION_REFERENCE_LINK:
        return use_link(image, fix, silhouette, field, camera_mm, part, out, line);
    }
    return VISION_BAD_HINT;
}
