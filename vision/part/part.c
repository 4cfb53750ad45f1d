#include "part.h"

#include "bar.h"
#include "maths/angle.h"
#include "maths/linalg.h"
#include "parallel.h"
#include "part_rank.h"
#include "part_round.h"

#include <math.h>
#include <stdlib.h>

#define MAX_HUB_RADIUS_MM 11.0
#define MIN_PART_MM2 12.0 /* less in front of the card is dirt */
#define MIN_ARM_WIDTH_MM 1.2
#define STUB 0.75 /* of its width: what sticks out less is a lobe; the shortest arms reach 0.82 */

/* ---- What is an arm -------------------------------------------------------------------------- */

/* How thick it is from from_mm on, but for its very end. */
static double thickest_along(const struct part_field *f, const struct lump *hub,
                             const struct part_arm *arm, double from_mm)
{
    return bar_thickest(f, hub->at_mm, arm, from_mm, arm->tip_mm - f->s->pitch_mm);
}

/* Whether the bar leaves the hub's middle. */
static bool is_centred(const struct lump *hub, const struct part_arm *arm)
{
    return fabs(arm->offset_mm) <= 0.3 * hub->radius_mm + 0.3;
}

/* What makes a bar that leaves the hub's middle an arm: it is narrower than the hub and not as thin
 * as a rod that runs out of the picture. */
static bool is_shaped_like_arm(const struct lump *hub, const struct part_arm *arm)
{
    double body = arm->end_mm - arm->start_mm;
    if (arm->width_mm < MIN_ARM_WIDTH_MM || arm->width_mm > BAR_MAX_WIDTH_MM)
        return false;
    if (arm->width_mm > 2.25 * hub->radius_mm || body < BAR_MIN_BODY_MM)
        return false;
    if (arm->start_mm > 3.2 * hub->radius_mm + 3)
        return false;
    if (arm->tip_mm - hub->radius_mm < STUB * arm->width_mm)
        return false;
    return arm->spread_mm <= 0.35;
}

/* Whether the bar leads to a thicker place: then the hub lies there. */
static bool leads_to_hub(const struct part_field *f, const struct lump *hub,
                         const struct part_arm *arm)
{
    return arm->far_end == FAR_END_FREE &&
           thickest_along(f, hub, arm, 1.5 * hub->radius_mm) > 1.05 * hub->radius_mm;
}

static bool same_direction(double a_rad, double b_rad)
{
    return angle_apart(a_rad, b_rad) < 0.21; /* 12 degrees: six arms stand 60 apart */
}

static bool is_known(const struct part_arm *arms, int count, double direction_rad)
{
    bool known = false;
    for (int i = 0; i < count; i++)
        known = known || same_direction(direction_rad, arms[i].direction_rad);
    return known;
}

/* As far to one side, too. */
static bool is_among(const struct part_arm *arms, int count, const struct part_arm *arm)
{
    const double same_mm = 1;
    for (int i = 0; i < count; i++)
        if (same_direction(arm->direction_rad, arms[i].direction_rad) &&
            fabs(arm->offset_mm - arms[i].offset_mm) < same_mm)
            return true;
    return false;
}

/* ---- What an arm's far end carries ----------------------------------------------------------- */

/* A rod that leaves the place's middle and runs out of what can be followed still as thin as a rod:
 * this is where a link is joined on, not where arms begin. A bar that a marker covers may be one,
 * one with round holes is not, nor the wall of a slot that was cut, which is thinner than any. */
static enum far_end rod_at(const struct lump *place, const struct part_arm *bar)
{
    const double link_end_mm = 8;
    if (!is_centred(place, bar) || !(bar->open_end || bar->covered_end) ||
        bar->width_mm < PART_THIN_ROD_MM || bar->width_mm > link_end_mm || bar->holes_mm > 0)
        return FAR_END_FREE;
    if (bar->tip_width_mm < PART_ROD_MM || (bar->open_end && bar->width_mm < PART_THICK_ROD_MM))
        return FAR_END_JOINT;
    return bar->width_mm < PART_THICK_ROD_MM ? FAR_END_MAYBE_JOINT : FAR_END_FREE;
}

/* Whether a bar leaves the far end at an angle to the arm, so is no part of it. Where two of them
 * leave that are no rods, that end is the hub. */
static enum far_end look_at_far_end(const struct part_field *f, const struct card_fix *fix,
                                    struct vision_point hub_mm, const struct part_arm *arm)
{
    const double sideways_rad = 0.35;
    double broad_rad = NAN; /* direction of the one that is no rod, once there is one */
    enum far_end found = FAR_END_FREE;
    struct lump end = {0};
    double directions[PART_FIELD_RAYS] = {0};
    if (!bar_end_lump(f, hub_mm, arm, &end))
        return FAR_END_FREE;
    int n = bar_directions(f, &end, directions);
    for (int i = 0; i < n; i++) {
        struct part_arm bar = {.direction_rad = directions[i]};
        if (angle_between_lines(directions[i], arm->direction_rad) < sideways_rad ||
            !bar_align(f, end.at_mm, 0.9 * end.radius_mm, &bar) ||
            bar_is_slot(f, fix, end.at_mm, &bar))
            continue;
        enum far_end rod = rod_at(&end, &bar);
        found = rod > found ? rod : found;
        if (!(bar.width_mm > PART_ROD_MM) || !is_centred(&end, &bar))
            continue;
        if (isnan(broad_rad))
            broad_rad = bar.direction_rad;
        else if (!same_direction(bar.direction_rad, broad_rad))
            return FAR_END_FREE;
    }
    return found;
}

/* Where nothing else leaves a place, what looked like a rod may be its arm: if it is seen to end,
 * is thicker than rods are, and the place is where a shaft stands; a link's end lies further off.
 */
static void take_lone_arms(const struct part_field *f, const struct lump *hub,
                           struct part_arm *rods, int count, struct part *out)
{
    const double near_mm = 6, thin = 0.7;
    const bool shaft = hypot(hub->at_mm.x, hub->at_mm.y) < near_mm;
    int left = 0;
    for (int i = 0; i < count; i++) {
        struct part_arm *arm = &rods[i];
        arm->far_radius_mm = thickest_along(f, hub, arm, 0.6 * arm->tip_mm);
        if (!shaft || !arm->round_end || arm->width_mm < PART_ROD_MM ||
            !is_shaped_like_arm(hub, arm) || arm->far_radius_mm > thin * hub->radius_mm) {
            left++;
            continue;
        }
        arm->open_end = arm->covered_end = false;
        out->arms[out->arm_count++] = *arm;
    }
    out->joint = left > 0;
}

/* Whether any of the rods leaves where no arm does that is broad to its end: looked at a little
 * aside one bar may be both. */
static bool any_unknown(const struct part_arm *rods, int count, const struct part *part)
{
    for (int i = 0; i < count; i++) {
        bool known = false;
        for (int k = 0; k < part->arm_count && !known; k++)
            known = part->arms[k].tip_width_mm > PART_ROD_MM &&
                    same_direction(rods[i].direction_rad, part->arms[k].direction_rad);
        if (!known)
            return true;
    }
    return false;
}

/* Lugs of a clamp hub, drawn together by a screw, stick out by less than three quarters of its
 * radius (common practice, no source), and its arms by more than twice as far. */
static void drop_lugs(const struct lump *hub, struct part *part)
{
    const double lug = 0.75, longer = 2.2;
    double furthest = 0;
    int kept = 0;
    for (int i = 0; i < part->arm_count; i++)
        furthest = fmax(furthest, part->arms[i].tip_mm - hub->radius_mm);
    for (int i = 0; i < part->arm_count; i++) {
        const double out_mm = part->arms[i].tip_mm - hub->radius_mm;
        if (out_mm > lug * hub->radius_mm || longer * out_mm > furthest)
            part->arms[kept++] = part->arms[i];
    }
    part->arm_count = kept;
}

/* Whether two of the bars that pass a place's middle by do so on either side of it, the same way,
 * and run off the card. */
static bool are_handles(const struct part_arm *aside, int count)
{
    const double alike_rad = 25 / DEG;
    for (int i = 0; i < count; i++)
        for (int k = 0; k < i; k++)
            if (aside[i].open_end && aside[k].open_end &&
                fmin(aside[i].width_mm, aside[k].width_mm) > PART_ROD_MM &&
                aside[i].offset_mm * aside[k].offset_mm < 0 &&
                angle_apart(aside[i].direction_rad, aside[k].direction_rad) < alike_rad)
                return true;
    return false;
}

/* The arms of a hub. aside: those that pass its middle by, which what lies beside a hub and looks
 * like one with it may move; their number. */
static int find_arms(const struct part_field *f, const struct card_fix *fix, const struct lump *hub,
                     struct part *out, struct part_arm aside[VISION_MAX_ARMS])
{
    double directions[PART_FIELD_RAYS] = {0};
    struct part_arm rods[VISION_MAX_ARMS];
    int n = bar_directions(f, hub, directions), aside_count = 0, rod_count = 0;
    out->arm_count = 0;
    for (int i = 0; i < n && out->arm_count < VISION_MAX_ARMS; i++) {
        struct part_arm arm = {.direction_rad = directions[i]};
        if (!bar_align(f, hub->at_mm, 0.9 * hub->radius_mm, &arm))
            continue;
        bar_look_for_marker(f, fix, hub->at_mm, &arm);
        arm.open_end = arm.open_end || (!arm.round_end && bar_runs_on(f, hub->at_mm, &arm));
        if (rod_at(hub, &arm) == FAR_END_JOINT && !bar_is_slot(f, fix, hub->at_mm, &arm)) {
            out->joint = true;
            if (rod_count < VISION_MAX_ARMS && !is_known(rods, rod_count, arm.direction_rad))
                rods[rod_count++] = arm;
            continue;
        }
        if (!is_shaped_like_arm(hub, &arm) || bar_is_slot(f, fix, hub->at_mm, &arm))
            continue;
        arm.far_end = look_at_far_end(f, fix, hub->at_mm, &arm);
        if (leads_to_hub(f, hub, &arm))
            continue;
        if (!is_centred(hub, &arm)) {
            if (aside_count < VISION_MAX_ARMS && !is_among(aside, aside_count, &arm))
                aside[aside_count++] = arm;
            continue;
        }
        arm.far_radius_mm = thickest_along(f, hub, &arm, 0.6 * arm.tip_mm);
        if (same_direction(arm.direction_rad, directions[i]) &&
            !is_known(out->arms, out->arm_count, arm.direction_rad))
            out->arms[out->arm_count++] = arm;
    }
    out->gripped = are_handles(aside, aside_count);
    drop_lugs(hub, out);
    if (out->arm_count == 0)
        take_lone_arms(f, hub, rods, rod_count, out);
    else if (rod_count > 0)
        out->joint = any_unknown(rods, rod_count, out);
    return aside_count;
}

/* How well a place serves as hub: long clean arms, a boss thicker than they are, and near the
 * slot's end in the card's middle, where the shaft stands. */
static double hub_score(const struct lump *hub, const struct part *part)
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
    return part->joint ? PART_JOINT_SCORE * score : score;
}

/* ---- Where the hub is ------------------------------------------------------------------------ */

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

void part_move_hub(struct part *part, double x_mm, double y_mm)
{
    part->hub_mm.x += x_mm;
    part->hub_mm.y += y_mm;
    for (int i = 0; i < part->arm_count; i++) {
        struct part_arm *arm = &part->arms[i];
        double c = cos(arm->direction_rad), s = sin(arm->direction_rad);
        double along = x_mm * c + y_mm * s;
        arm->offset_mm -= -x_mm * s + y_mm * c;
        arm->start_mm -= along;
        arm->end_mm -= along;
        arm->clear_mm -= along;
        arm->tip_mm -= along;
        for (int k = 0; k < arm->outline_count; k++)
            arm->outline[k].u_mm -= (float)along;
    }
}

/* The hub's place from its arms' axes, and from its boss where enough of it is seen between them;
 * else from the thickest place. */
static void settle_hub(const struct part_field *f, struct part *part)
{
    struct part_circle boss;
    struct vision_point at = {0, 0};
    bool seen = part_boss_circle(f, part, &boss);
    double shift[2];
    if (seen)
        at = (struct vision_point){boss.centre_mm.x - part->hub_mm.x,
                                   boss.centre_mm.y - part->hub_mm.y};
    if (!axes_meet(part->arms, part->arm_count, at, seen ? 0.3 : 0.7, shift))
        return;
    part_move_hub(part, shift[0], shift[1]);
}

static int by_direction(const void *a, const void *b)
{
    const struct part_arm *p = a, *q = b;
    double d = fmod(p->direction_rad + 4 * PI, 2 * PI) - fmod(q->direction_rad + 4 * PI, 2 * PI);
    return (d > 0) - (d < 0);
}

/* A hub in front of the servo's own case, or beside a shadow that passes for part, is not where the
 * silhouette is thickest: then its arms' axes tell where they meet. */
static bool recentre(const struct part_field *f, const struct part *part,
                     const struct part_arm *aside, int aside_count, struct lump *hub)
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
    long at = part_field_index(f, hub->at_mm.x, hub->at_mm.y);
    if (at < 0 || f->depth_mm[at] < PART_FIELD_MIN_LUMP_MM)
        return false;
    hub->radius_mm = f->depth_mm[at];
    return true;
}

/* A web between arms makes the silhouette thickest beside where their axes meet: they all pass it
 * by. */
static bool is_off_its_arms(const struct part *part)
{
    const double off_mm = 0.5;
    for (int i = 0; i < part->arm_count; i++)
        if (fabs(part->arms[i].offset_mm) < off_mm)
            return false;
    return part->arm_count > 1;
}

static struct part part_at(const struct part_field *f, const struct card_fix *fix, struct lump hub)
{
    struct part_arm aside[VISION_MAX_ARMS];
    struct part part = {.hub_mm = hub.at_mm, .hub_radius_mm = hub.radius_mm};
    int aside_count = find_arms(f, fix, &hub, &part, aside);
    part.score = hub_score(&hub, &part);
    if ((aside_count == 0 && !is_off_its_arms(&part)) ||
        !recentre(f, &part, aside, aside_count, &hub))
        return part;
    struct part moved = {.hub_mm = hub.at_mm, .hub_radius_mm = hub.radius_mm};
    find_arms(f, fix, &hub, &moved, aside);
    moved.score = hub_score(&hub, &moved);
    bool keeps_arms = aside_count > 0 || moved.arm_count >= part.arm_count;
    return moved.score > part.score && keeps_arms ? moved : part;
}

/* What each candidate for the hub is tried with, and what came of it. */
struct trials {
    const struct part_field *f;
    const struct card_fix *fix;
    struct part parts[PART_FIELD_MAX_LUMPS]; /* without arms where it can be no hub */
};

static void try_candidate(void *context, size_t i)
{
    struct trials *t = context;
    const struct lump *c = &t->f->lumps[i];
    struct part *part = &t->parts[i];
    if (c->radius_mm > MAX_HUB_RADIUS_MM || part_field_at_rim(t->fix, c))
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
    int found = f->lump_count;
    parallel_pieces(threads, (size_t)found, try_candidate, trials);
    part_rank(f, trials->parts, found, out, count);
    free(trials);
    if ((double)cells * s->pitch_mm * s->pitch_mm < MIN_PART_MM2)
        return VISION_NO_PART;
    return *count > 0 ? VISION_REASON_NONE : VISION_NO_ARM;
}

/* ---- With a person's help -------------------------------------------------------------------- */

enum vision_reason part_find_hinted(const struct part_field *f, struct vision_point hub_mm,
                                    struct vision_point tip_mm, struct part *out)
{
    double length = hypot(tip_mm.x - hub_mm.x, tip_mm.y - hub_mm.y);
    if (!(length > BAR_MIN_BODY_MM) || !isfinite(length))
        return VISION_BAD_HINT;
    struct part_arm arm = {.direction_rad = atan2(tip_mm.y - hub_mm.y, tip_mm.x - hub_mm.x)};
    bool good = bar_align(f, hub_mm, 0.2 * length, &arm);
    if (!good || arm.end_mm - arm.start_mm < BAR_MIN_BODY_MM)
        return VISION_NO_ARM;
    arm.end_mm = fmin(arm.end_mm, 0.95 * length);
    arm.clear_mm = fmin(arm.clear_mm, arm.end_mm);
    arm.tip_mm = length;
    *out = (struct part){.hub_mm = hub_mm, .arm_count = 1, .score = 1};
    out->arms[0] = arm;
    return VISION_REASON_NONE;
}
