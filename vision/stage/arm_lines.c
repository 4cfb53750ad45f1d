#include "arm_lines.h"

#include "edge/profile.h"
#include "maths/angle.h"
#include "maths/linalg.h"
#include "maths/median.h"
#include "parallel.h"

#include <math.h>

/* Whether a section of the rough outline lies clear of what may have drawn its middle aside: a
 * marker beside it, whose white rim looks like part, a ball or a link. */
static bool is_clear_section(const struct card_fix *fix, const struct axis *axis,
                             const struct part_arm *arm, int i)
{
    const double near_mm = 0.5;
    const double u = arm->outline[i].u_mm;
    return u < arm->clear_mm &&
           markers_at(fix, axis_point(axis, u, arm->outline[i].left_mm), near_mm) < 0 &&
           markers_at(fix, axis_point(axis, u, -arm->outline[i].right_mm), near_mm) < 0;
}

/* The middle of the outline along the fine line: of its inner part, which no ball or link on the
 * arm's end draws aside; beside a marker, of what is clear of both. */
static struct linalg_line outline_middle(const struct stage *s, const struct part_arm *arm,
                                         double turn, bool clear_alone)
{
    const double inner = 0.6;
    const struct axis axis = {s->part.hub_mm, arm->direction_rad, arm->offset_mm, false};
    const double first = arm->outline[0].u_mm;
    const double last = arm->outline[arm->outline_count - 1].u_mm;
    struct linalg_line middle = {0};
    for (int i = 0; i < arm->outline_count; i++) {
        const double x = arm->outline[i].u_mm;
        if (clear_alone ? !is_clear_section(&s->fix, &axis, arm, i)
                        : x > first + inner * (last - first))
            continue;
        const double y = (arm->outline[i].left_mm - arm->outline[i].right_mm) / 2;
        linalg_line_add(&middle, x, y - x * tan(turn));
    }
    return middle;
}

/* How far the fine line turns from the middle of the rough outline. Least squares. */
static double turned_from_outline(const struct stage *s, const struct part_arm *arm,
                                  const struct arm_fit *fit)
{
    const double enough = 0.4;
    double turn = remainder(fit->direction_rad - arm->direction_rad, 360 / DEG);
    double level, slope, clear_slope;
    if (arm->outline_count == 0)
        return fabs(turn);
    struct linalg_line middle = outline_middle(s, arm, turn, false);
    struct linalg_line clear = outline_middle(s, arm, turn, true);
    if (!linalg_line_fit(&middle, &level, &slope))
        return fabs(turn);
    if (clear.n > enough * arm->outline_count && linalg_line_fit(&clear, &level, &clear_slope))
        slope = fmin(fabs(slope), fabs(clear_slope));
    return fabs(atan(slope));
}

/* The fine line may leave the rough one where a ball had drawn that aside, but it must lead through
 * the hub or along the outline's inner part; and edges softer than 0.7 mm belong to another
 * picture. */
static bool fits_the_part(const struct stage *s, int i, const struct arm_fit *fit)
{
    const double far_rad = 3.5 / DEG, along_rad = 1.5 / DEG;
    const double off_mm = fmax(0.5, 0.15 * s->part.hub_radius_mm);
    const struct part_arm *arm = &s->part.arms[i];
    double moved = angle_apart(fit->direction_rad, arm->direction_rad);
    bool astray = moved > far_rad && fabs(fit->offset_mm) > off_mm &&
                  turned_from_outline(s, arm, fit) > along_rad;
    return !astray && fit->blur_mm < 0.7;
}

/* The rough line is mostly good to the share of a cell at the ends of the body. The further the
 * fine one leaves it, the likelier that its edges are those of something else that lies along the
 * arm: a share of that is uncertainty. Unless the outline's inner part agrees with the fine line:
 * then the rough one was drawn aside. */
static void heed_rough_line(const struct stage *s, const struct part_arm *arm, struct arm_fit *fit)
{
    const double usual_mm = 0.05, share = 0.3;
    const double usual_rad = fmin(1 / DEG, usual_mm / fmax(1, fit->body_mm));
    double moved = angle_apart(fit->direction_rad, arm->direction_rad);
    moved = fmin(moved, turned_from_outline(s, arm, fit));
    fit->u_rad = hypot(fit->u_rad, share * fmax(0, moved - usual_rad));
}

/* Moves an arm and its fit to the end of those kept. */
static void keep_arm(struct stage *s, int arm, int *kept)
{
    s->part.arms[*kept] = s->part.arms[arm];
    s->fits[(*kept)++] = s->fits[arm];
}

void arm_lines_forget(struct stage *s)
{
    for (int i = 0; i < VISION_MAX_ARMS; i++) {
        edge_fit_free(s->edges[i]);
        s->edges[i] = NULL;
    }
}

struct reading {
    struct stage *stage;
    const struct arm_shared *usual;
};

static void read_arm(void *context, size_t i)
{
    const struct reading *reading = context;
    struct stage *s = reading->stage;
    const struct edge_view view = {&s->image, &s->fix, &s->silhouette, s->camera_mm};
    s->edges[i] = edge_fit_read(&view, s->part.hub_mm, &s->part.arms[i], reading->usual);
}

/* Reads the edges of every arm of s->part; drops those that have none. */
static void read_arms(struct stage *s, const struct arm_shared *usual)
{
    struct reading reading = {s, usual};
    int kept = 0;
    arm_lines_forget(s);
    parallel_pieces(s->options->threads, (size_t)s->part.arm_count, read_arm, &reading);
    for (int i = 0; i < s->part.arm_count; i++) {
        struct arm_edges *edges = s->edges[i];
        s->edges[i] = NULL;
        if (!edges)
            continue;
        s->edges[kept] = edges;
        s->part.arms[kept++] = s->part.arms[i];
    }
    s->part.arm_count = kept;
}

/* Fits lines to the edges of every arm; drops those that make none. */
static void fit_arms(struct stage *s, const struct arm_shared *known)
{
    int kept = 0;
    for (int i = 0; i < s->part.arm_count; i++) {
        struct arm_edges *edges = s->edges[i];
        struct arm_fit fit;
        s->edges[i] = NULL;
        if (!edge_fit_line(edges, known, &fit)) {
            edge_fit_free(edges);
            continue;
        }
        fit.clean = fit.clean && fits_the_part(s, i, &fit);
        heed_rough_line(s, &s->part.arms[i], &fit);
        s->edges[kept] = edges;
        s->part.arms[kept] = s->part.arms[i];
        s->fits[kept++] = fit;
    }
    s->part.arm_count = kept;
}

/* Arms of one moulding taper alike. Where most of three or more do and one does not, one of its
 * sides is not the arm's, and its middle line is off by as much as its taper is. */
static void heed_common_taper(struct stage *s)
{
    const double alike_rad = 0.4 / DEG;
    double sorted[VISION_MAX_ARMS];
    int n = 0, agree = 0;
    for (int i = 0; i < s->part.arm_count; i++)
        if (isfinite(s->fits[i].taper_rad))
            sorted[n++] = s->fits[i].taper_rad;
    double common = median_mean(sorted, n);
    for (int i = 0; i < s->part.arm_count; i++)
        agree += fabs(s->fits[i].taper_rad - common) < hypot(alike_rad, s->fits[i].u_rad);
    if (n < 3 || 2 * agree <= n)
        return;
    for (int i = 0; i < s->part.arm_count; i++) {
        struct arm_fit *fit = &s->fits[i];
        double off = fabs(fit->taper_rad - common);
        if (off > fit->u_rad)
            fit->u_rad = hypot(fit->u_rad, off - fit->u_rad);
    }
}

/* Sides that converge as no moulded arm's do are not both the arm's, and the middle line is off by
 * as much as that is too much; unless another arm of the part does the same. */
static void heed_odd_taper(struct stage *s)
{
    const double odd_rad = 8 / DEG, usual_rad = 6 / DEG, alike_rad = 2 / DEG;
    for (int i = 0; i < s->part.arm_count; i++) {
        struct arm_fit *fit = &s->fits[i];
        bool alike = false;
        for (int k = 0; k < s->part.arm_count; k++)
            alike = alike || (k != i && fabs(s->fits[k].taper_rad - fit->taper_rad) < alike_rad);
        if (fabs(fit->taper_rad) > odd_rad && !alike)
            fit->u_rad = hypot(fit->u_rad, fabs(fit->taper_rad) - usual_rad);
    }
}

/* Prior knowledge and what all arms show, together. */
static struct arm_shared shared_by_all(const struct stage *s, struct arm_shared usual)
{
    for (int i = 0; i < s->part.arm_count; i++) {
        estimate_combine(&usual.thickness_mm, s->fits[i].shown.thickness_mm);
        estimate_combine(&usual.tint_step_mm, s->fits[i].shown.tint_step_mm);
        estimate_combine(&usual.shade_shift_mm, s->fits[i].shown.shade_shift_mm);
    }
    /* arms are not that equal, nor the model that true */
    usual.thickness_mm.u = fmax(usual.thickness_mm.u, 0.15);
    return usual;
}

/* Unknowns: the meeting point and one turn per arm; each arm contributes its offset at the middle
 * of its body and its direction, each with its u, and the meeting itself is held to concentric_mm,
 * which is how true arms are moulded. */
void arm_lines_join(struct stage *s)
{
    const double concentric_mm = 0.06;
    int n = s->part.arm_count, size = 2 + n;
    double normal[LINALG_MAX * LINALG_MAX] = {0}, right[LINALG_MAX] = {0};
    double inverse[LINALG_MAX * LINALG_MAX];
    if (n < 2)
        return;
    for (int i = 0; i < n; i++) {
        const struct arm_fit *f = &s->fits[i];
        double nx = -sin(f->direction_rad), ny = cos(f->direction_rad);
        double middle_u = (s->part.arms[i].start_mm + s->part.arms[i].end_mm) / 2;
        /* the line with its turn t about the body's middle meets the hub at offset - t middle_u */
        double w = 1 / (concentric_mm * concentric_mm + f->offset_u_mm * f->offset_u_mm);
        double row[3] = {nx, ny, middle_u};
        int at[3] = {0, 1, 2 + i};
        for (int j = 0; j < 3; j++) {
            right[at[j]] += w * row[j] * f->offset_mm;
            for (int k = 0; k < 3; k++)
                normal[at[j] * size + at[k]] += w * row[j] * row[k];
        }
        normal[(2 + i) * size + 2 + i] += 1 / (f->u_rad * f->u_rad);
    }
    normal[0] += 1e-6; /* two opposite arms leave the point free along them */
    normal[size + 1] += 1e-6;
    if (!linalg_solve(size, normal, right, right) || !linalg_invert(size, normal, inverse))
        return;
    for (int i = 0; i < n; i++) {
        struct arm_fit *f = &s->fits[i];
        double middle_u = (s->part.arms[i].start_mm + s->part.arms[i].end_mm) / 2;
        f->direction_rad += right[2 + i];
        f->offset_mm -= right[2 + i] * middle_u;
        f->u_rad = sqrt(inverse[(2 + i) * size + 2 + i]);
    }
}

/* What edges that do not hang together leave open: the median error of such answers on rendered
 * photos, about. */
#define UNCLEAN_RAD (3 / DEG)

/* Leaves out the arms whose edges do not hang together, unless that were all. */
static bool drop_unclean_arms(struct stage *s)
{
    int kept = 0;
    for (int i = 0; i < s->part.arm_count; i++)
        kept += s->fits[i].clean;
    if (kept == 0) {
        for (int i = 0; i < s->part.arm_count; i++)
            s->fits[i].u_rad = hypot(s->fits[i].u_rad, UNCLEAN_RAD);
        return false;
    }
    kept = 0;
    for (int i = 0; i < s->part.arm_count; i++) {
        if (s->fits[i].clean)
            keep_arm(s, i, &kept);
    }
    s->part.arm_count = kept;
    return true;
}

bool arm_lines_try(struct stage *s, const struct part *place, const struct arm_shared *usual)
{
    s->part = s->whole = *place;
    read_arms(s, usual);
    fit_arms(s, usual);
    return s->part.arm_count > 0;
}

bool arm_lines_refine(struct stage *s, const struct arm_shared *usual)
{
    struct arm_shared shared = shared_by_all(s, *usual);
    fit_arms(s, &shared);
    arm_lines_forget(s);
    heed_common_taper(s);
    heed_odd_taper(s);
    return drop_unclean_arms(s);
}

/* Edges are read where one print alone lies from a little inside the part to a quarter of a
 * millimetre beyond it: profile.c. */
static bool is_on_stripe(const struct stage *s, const struct part *part, const struct part_arm *arm)
{
    const double beyond_mm = 0.15, clear_mm = 0.4, share = 0.5;
    const struct axis axis = {part->hub_mm, arm->direction_rad, arm->offset_mm, false};
    for (int side = 1; side >= -1; side -= 2) {
        int bad = 0;
        for (int i = 0; i < arm->outline_count; i++) {
            double v = side > 0 ? arm->outline[i].left_mm : arm->outline[i].right_mm;
            struct vision_point mm =
                axis_point(&axis, arm->outline[i].u_mm, side * (v + beyond_mm));
            bad += silhouette_is_at_border(&s->silhouette, &s->fix, mm, clear_mm);
        }
        if (bad > share * arm->outline_count)
            return true;
    }
    return false;
}

bool arm_lines_on_stripes(const struct stage *s, const struct part *part)
{
    int bad = 0;
    for (int i = 0; i < part->arm_count; i++)
        bad += is_on_stripe(s, part, &part->arms[i]);
    return part->arm_count > 0 && bad == part->arm_count;
}
