#include "bar.h"

#include "maths/angle.h"
#include "maths/linalg.h"
#include "maths/median.h"

#include <math.h>

#define STEP_MM 0.2
#define MAX_SECTIONS 400

/* ---- Across a bar ---------------------------------------------------------------------------- */

struct section {
    double u, left, right; /* along the axis; distances to the edges on either side */
};

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

/* Whether a section ends where nothing can be told, on either side. */
static bool ends_blind(const struct part_field *f, struct vision_point hub,
                       const struct part_arm *arm, const struct section *cut)
{
    const double beyond_mm = 0.4;
    double c = cos(arm->direction_rad), s = sin(arm->direction_rad);
    for (int side = -1; side <= 1; side += 2) {
        double v = arm->offset_mm + (side > 0 ? cut->left + beyond_mm : -cut->right - beyond_mm);
        if (part_field_blind(f, hub.x + cut->u * c - v * s, hub.y + cut->u * s + v * c))
            return true;
    }
    return false;
}

/* The section through a point of an axis of direction (c, s), u along it. */
static struct section cut_at(const struct part_field *f, double u, double x, double y, double c,
                             double s)
{
    return (struct section){u, part_field_walk_out(f, x, y, -s, c, BAR_MAX_WIDTH_MM),
                            part_field_walk_out(f, x, y, s, -c, BAR_MAX_WIDTH_MM)};
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
        long at = part_field_index(f, x, y);
        if (at < 0 || !f->solid[at]) {
            if (part_field_off(f, x, y))
                *open_end = true;
            else if (part_field_blind(f, x, y))
                *covered = true;
            gap += STEP_MM;
            if (gap > 0.8 || *open_end || *covered)
                break;
            continue;
        }
        gap = 0;
        out[n++] = cut_at(f, u, x, y, c, s);
    }
    *covered = *covered || (n > 0 && ends_blind(f, hub, arm, &out[n - 1]));
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
        const struct part_way way = part_field_way(f, hub.x + u * c, hub.y + u * s, -s, c);
        for (int j = -aside; j <= aside; j++) {
            double left = arm->offset_mm + j * step;
            long at = part_field_along(f, &way, left);
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

double bar_thickest(const struct part_field *f, struct vision_point place_mm,
                    const struct part_arm *bar, double from_mm, double to_mm)
{
    return thickest_between(f, place_mm, bar, from_mm, to_mm, 0).radius_mm;
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
    return cut->left < BAR_MAX_WIDTH_MM && cut->right < BAR_MAX_WIDTH_MM;
}

/* The longest stretch of sections both of whose sides are straight: what fillet, ball and link
 * leave of an arm. Its first section and how many; 0 where there is none. */
static int straight_stretch(const struct section *cut, int n, int *first)
{
    const double most_taper = 0.4; /* of the width */
    const double hopeless = 3;     /* no further sections make that straight */
    const int least = (int)(BAR_MIN_BODY_MM / STEP_MM);
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
    arm->clear_mm = fmax(bulge.u_mm - bulge.radius_mm, arm->start_mm + BAR_MIN_BODY_MM);
    return true;
}

/* How far out, in the middle, the card shows through round holes along a bar's axis, as arms have
 * them for balls and links; 0 where it has none. The gap of a clevis is longer. */
static double find_holes(const struct part_field *f, struct vision_point place_mm,
                         const struct part_arm *bar)
{
    const double least_mm = 0.8, most_mm = 3.6, step_mm = 0.1;
    const double c = cos(bar->direction_rad), s = sin(bar->direction_rad);
    const int steps = (int)((bar->tip_mm - bar->start_mm) / step_mm);
    double open_mm = 0, sum_mm = 0;
    int holes = 0;
    for (int k = 0; k <= steps; k++) {
        const double u = bar->start_mm + k * step_mm;
        long at = part_field_index(f, place_mm.x + u * c - bar->offset_mm * s,
                                   place_mm.y + u * s + bar->offset_mm * c);
        if (at >= 0 && f->solid[at] && f->s->cells[at] == CELL_TINT) {
            open_mm += step_mm;
            continue;
        }
        if (open_mm > least_mm && open_mm < most_mm) {
            sum_mm += u - open_mm / 2;
            holes++;
        }
        open_mm = 0;
    }
    return holes > 0 ? sum_mm / holes : 0;
}

/* Turns and shifts the axis onto the middle of the body, a few times over. */
bool bar_align(const struct part_field *f, struct vision_point hub, double r0, struct part_arm *arm)
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
    arm->holes_mm = find_holes(f, hub, arm);
    return true;
}

/* Whether a bar that leads away from the slot's mouth is the slot's own round end, with something
 * dark behind it: as broad, and it ends where that does. */
static bool is_slots_end(double hub_x, const struct part_arm *arm, double half_width_mm,
                         double slack_mm)
{
    return fabs(arm->width_mm - 2 * half_width_mm) < slack_mm && hub_x < 0 &&
           fabs(hub_x + arm->tip_mm - half_width_mm) < slack_mm;
}

/* The slot cut out of the card looks like a bar 2 x half width wide along the negative x axis. What
 * shows in it and ends there may be narrower by the shadow of the card's rim, but its end is never
 * as round as an arm's. */
bool bar_is_slot(const struct part_field *f, const struct card_fix *fix, struct vision_point hub,
                 const struct part_arm *arm)
{
    const double shadow_mm = 2.5, slack_mm = 1.2, along_rad = 0.06;
    const double half_width_mm = fix->card->slot_half_width_mm;
    double y = hub.y + arm->offset_mm * cos(arm->direction_rad);
    double wider_mm = arm->width_mm - 2 * half_width_mm;
    if (f->s->slot_cut && angle_apart(arm->direction_rad, 0) < along_rad && fabs(y) < 1.0)
        return is_slots_end(hub.x, arm, half_width_mm, slack_mm);
    bool along = angle_apart(arm->direction_rad, PI) < along_rad &&
                 hub.x < fix->card->width_mm / 4 && fabs(y) < 1.0;
    bool runs_out = arm->open_end || arm->covered_end;
    return along && wider_mm < slack_mm &&
           (runs_out ? wider_mm > -slack_mm : !arm->round_end && wider_mm > -shadow_mm);
}

/* Whether a section is about as broad as the bar. */
static bool is_like(const struct part_arm *bar, const struct section *cut)
{
    const double thin = 0.5, thick = 1.6;
    return width_of(cut) > thin * bar->width_mm && width_of(cut) < thick * bar->width_mm;
}

bool bar_runs_on(const struct part_field *f, struct vision_point place_mm,
                 const struct part_arm *bar)
{
    const double much = 0.35, least_mm = 5, furthest_mm = 90, step_mm = 0.4;
    double c = cos(bar->direction_rad), s = sin(bar->direction_rad);
    const int steps = (int)((furthest_mm - bar->tip_mm) / step_mm);
    int like = 0, all = 0;
    for (int k = 1; k < steps; k++, all++) {
        const double u = bar->tip_mm + k * step_mm;
        const double x = place_mm.x + u * c - bar->offset_mm * s;
        const double y = place_mm.y + u * s + bar->offset_mm * c;
        long at = part_field_index(f, x, y);
        if (at < 0 || f->s->cells[at] == CELL_OFF)
            break;
        if (!f->solid[at])
            continue;
        const struct section cut = cut_at(f, u, x, y, c, s);
        like += is_like(bar, &cut);
    }
    return all * step_mm > least_mm && like > much * all;
}

/* ---- Markers --------------------------------------------------------------------------------- */

/* The marker under the place at u along a bar, an index of the card's; -1 where there is none. */
static int marker_under(const struct card_fix *fix, struct vision_point place_mm,
                        const struct part_arm *bar, double u)
{
    double c = cos(bar->direction_rad), s = sin(bar->direction_rad), v = bar->offset_mm;
    const struct vision_point at = {place_mm.x + u * c - v * s, place_mm.y + u * s + v * c};
    return markers_at(fix, at, 0);
}

/* Whether bare card is seen all about a bar's end and beyond it, be it on a marker: what runs on
 * there would show some of itself. */
static bool is_end_seen(const struct part_field *f, struct vision_point place_mm,
                        const struct part_arm *bar)
{
    const double from_mm = 0.4, to_mm = 2.4, aside_mm = 0.5, most = 0.1;
    const double c = cos(bar->direction_rad), s = sin(bar->direction_rad), step = f->s->pitch_mm;
    const int along = (int)((to_mm - from_mm) / step);
    const int across = (int)((bar->width_mm / 2 + aside_mm) / step);
    int bare = 0, all = 0;
    for (int i = 0; i <= along; i++)
        for (int j = -across; j <= across; j++, all++) {
            const double u = bar->tip_mm + from_mm + i * step, left = bar->offset_mm + j * step;
            long at =
                part_field_index(f, place_mm.x + u * c - left * s, place_mm.y + u * s + left * c);
            bare += at >= 0 && !f->solid[at] && f->s->cells[at] == CELL_TINT;
        }
    return bar->round_end && !bar->open_end && bare > (1 - most) * all;
}

void bar_look_for_marker(const struct part_field *f, const struct card_fix *fix,
                         struct vision_point place_mm, struct part_arm *bar)
{
    const double near_mm = 1.0;
    int beyond = marker_under(fix, place_mm, bar, bar->tip_mm + near_mm);
    int within = marker_under(fix, place_mm, bar, bar->tip_mm - near_mm);
    const bool spoils = bar->tip_width_mm > PART_ROD_MM; /* a marker; across a rod it is read */
    if (beyond >= 0 && markers_was_read(fix, beyond) && spoils)
        bar->covered_end = false;
    else if (beyond >= 0 || within >= 0)
        bar->covered_end = !is_end_seen(f, place_mm, bar);
}

/* ---- Around a place -------------------------------------------------------------------------- */

/* Directions in which the part reaches beyond the hub: middles of the runs of rays longer than a
 * threshold, looked for at growing thresholds so that close arms come apart. */
int bar_directions(const struct part_field *f, const struct lump *hub, double out[PART_FIELD_RAYS])
{
    double extent[PART_FIELD_RAYS];
    int n = 0;
    for (int k = 0; k < PART_FIELD_RAYS; k++)
        extent[k] = part_field_reach(f, hub->at_mm, k * 2 * PI / PART_FIELD_RAYS);
    static const double beyond[4] = {1.5, 3.0, 5.0, 9.0};
    for (int level = 0; level < 4; level++) {
        double threshold = 1.25 * hub->radius_mm + beyond[level];
        int first = 0;
        while (first < PART_FIELD_RAYS && extent[first] > threshold)
            first++;
        if (first == PART_FIELD_RAYS)
            continue;
        for (int k = 1, run = 0; k <= PART_FIELD_RAYS; k++) {
            if (extent[(first + k) % PART_FIELD_RAYS] > threshold) {
                run++;
                continue;
            }
            if (run >= 2 && run < 100)
                out[n++] = (first + k - (run + 1) / 2.0) * 2 * PI / PART_FIELD_RAYS;
            run = 0;
            if (n == PART_FIELD_RAYS)
                return n;
        }
    }
    return n;
}

/* The thickest place within reach of an arm's tip: the joint, where ball or clevis sits. */
bool bar_end_lump(const struct part_field *f, struct vision_point hub_mm,
                  const struct part_arm *arm, struct lump *out)
{
    const double near_mm = 3;
    struct spot spot =
        thickest_between(f, hub_mm, arm, arm->tip_mm - 2 * near_mm, arm->tip_mm + near_mm, near_mm);
    *out = (struct lump){spot.at_mm, spot.radius_mm};
    return out->radius_mm > 0.8;
}
