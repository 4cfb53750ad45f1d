#include "reaching.h"

#include "edge/edge_fit.h"
#include "hub_doubt.h"
#include "maths/angle.h"
#include "part/hub_beyond.h"

#include <math.h>

#define NARROWER PART_REACH_NARROWER
#define BROADER 1.15 /* a hub than its arm; no hole and no round end is */

static bool explain(const struct part_reach *reaches, int n, const struct part *place)
{
    bool explained = false;
    for (int k = 0; k < n; k++)
        explained = explained || part_reach_explains(&reaches[k], place);
    return explained;
}

/* Whether the places on the card that are nearly as good as the best are but pieces of these arms,
 * or joints of links. */
static bool explain_all(const struct part_reach *reaches, int n, const struct part *places,
                        int count)
{
    const double good = 0.35;
    for (int i = 0; i < count; i++)
        if (!places[i].joint && places[i].score >= good * places[0].score &&
            !explain(reaches, n, &places[i]))
            return false;
    return true;
}

/* Where the axes of two arms meet, if that is beyond the edge: two bars that point to one place are
 * arms of one horn. */
static bool meet_beyond(const struct card_fix *fix, const struct part_reach *one,
                        const struct part_reach *other, struct vision_point *out)
{
    const struct part *a = &one->part, *b = &other->part;
    const double apart_rad = 20 / DEG, nearest_mm = 3, furthest_mm = 40;
    const double ca = cos(a->arms[0].direction_rad), sa = sin(a->arms[0].direction_rad);
    const double cb = cos(b->arms[0].direction_rad), sb = sin(b->arms[0].direction_rad);
    const double cross = ca * sb - sa * cb;
    if (fabs(cross) < sin(apart_rad))
        return false;
    const double x = b->hub_mm.x - a->hub_mm.x, y = b->hub_mm.y - a->hub_mm.y;
    const double along = (x * sb - y * cb) / cross;
    *out = (struct vision_point){a->hub_mm.x + along * ca, a->hub_mm.y + along * sa};
    const double beyond = part_reach_beyond_mm(fix, one->side, *out);
    return beyond > nearest_mm && beyond < furthest_mm;
}

/* A bar with its axis where its edges in the photo say, if they tell: the rough one of a short arm
 * is off by some degrees, and its hub's ring lies well beyond it. */
static struct part_reach sharpened(const struct stage *s, const struct part_reach *bar)
{
    const double told_rad = 1 / DEG;
    const struct edge_view view = {&s->image, &s->fix, &s->silhouette, s->camera_mm};
    const struct arm_shared usual = arm_shared_usual(s->image.reduce / s->out->px_per_mm);
    struct part_reach sharp = *bar;
    struct part_arm *arm = &sharp.part.arms[0];
    struct arm_fit fit;
    struct arm_edges *edges = edge_fit_read(&view, bar->part.hub_mm, arm, &usual);
    if (edges && edge_fit_line(edges, &usual, &fit) && fit.clean && fit.u_rad < told_rad) {
        arm->direction_rad = fit.direction_rad;
        arm->offset_mm = 0;
        sharp.part.hub_mm.x -= fit.offset_mm * sin(fit.direction_rad);
        sharp.part.hub_mm.y += fit.offset_mm * cos(fit.direction_rad);
    }
    edge_fit_free(edges);
    return sharp;
}

/* The hub of the first arm that shows one, else where two arms meet; radius 0: seen by its arms. */
static bool find_hub(const struct stage *s, const struct part_reach *reaches, int n,
                     struct hub_beyond *out)
{
    for (int i = 0; i < n; i++) {
        const struct part_reach sharp = sharpened(s, &reaches[i]);
        if (hub_beyond_find(s->photo, &s->fix, s->camera_mm, s->image.reduce, &sharp, out))
            return true;
    }
    out->radius_mm = 0;
    out->certainty = HUB_LIKELY;
    for (int i = 0; i < n; i++)
        for (int k = i + 1; k < n; k++)
            if (meet_beyond(&s->fix, &reaches[i], &reaches[k], &out->at_mm))
                return true;
    return false;
}

/* Whether the end before the card is the hub by its looks: thick, and the arm narrows away from it,
 * as arms do from their hub to the tip (common practice, no source). */
static bool ends_in_hub(const struct part_reach *reach)
{
    return reach->knob && !reach->holed && reach->narrows < -2 * NARROWER;
}

/* Whether a ring is broader than the bar on whose axis it lies. */
static bool is_broad(const struct hub_beyond *hub, const struct part_reach *reach)
{
    return hub->certainty == HUB_PLAIN &&
           hub->radius_mm > BROADER * reach->part.arms[0].width_mm / 2;
}

/* Whether the end before the card may be the hub all the same: a thick one, or one that the arm
 * grows broader towards; a little where no servo is expected beyond the edge, much where holes show
 * near that end. */
static bool may_end_in_hub(const struct part_reach *reach, const struct hub_beyond *hub)
{
    const double broader = NARROWER * (reach->side != CARD_BUTT ? 1 : reach->holed ? 4 : 2);
    if (is_broad(hub, reach)) /* and the arm narrows towards its ball */
        return reach->hub_like && reach->narrows < 0;
    return reach->hub_like || reach->narrows < -broader;
}

/* Whether a bar may be the sleeve of a link, from its cup on: as thin, and as thin everywhere
 * (common practice, no source). */
static bool may_be_sleeve(const struct part_reach *reach, const struct hub_beyond *hub)
{
    return reach->knob && reach->part.arms[0].width_mm < PART_THICK_ROD_MM &&
           reach->narrows < NARROWER && !is_broad(hub, reach);
}

/* Whether it is the other half of an arm that is known, which a slot along its middle splits. */
static bool is_gathered(const struct part *part, const struct part_arm *arm)
{
    const double same_rad = 8 / DEG;
    for (int i = 0; i < part->arm_count; i++)
        if (angle_apart(part->arms[i].direction_rad, arm->direction_rad) < same_rad)
            return true;
    return false;
}

/* All arms that point to the hub, as the arms of one part. Whether it is one of which it is in
 * doubt what its end on the card is. */
static bool gather(struct part_reach *reaches, int n, const struct hub_beyond *hub,
                   struct part *out)
{
    const double aside_mm = 2.5; /* height turns into that much in a slanting view */
    bool doubtful = false;
    *out = (struct part){.arm_count = 0};
    for (int i = 0; i < n; i++) {
        struct part *part = &reaches[i].part;
        part_move_hub(part, hub->at_mm.x - part->hub_mm.x, hub->at_mm.y - part->hub_mm.y);
        if (fabs(part->arms[0].offset_mm) > aside_mm || is_gathered(out, &part->arms[0]))
            continue;
        doubtful = may_end_in_hub(&reaches[i], hub) || may_be_sleeve(&reaches[i], hub);
        if (out->arm_count == 0)
            *out = *part;
        else
            out->arms[out->arm_count++] = part->arms[0];
    }
    out->hub_mm = hub->at_mm;
    out->hub_radius_mm = fmax(hub->radius_mm, out->hub_radius_mm);
    return doubtful && out->arm_count == 1;
}

static enum reaching arms_of_hub(struct part_reach *reaches, int n, const struct hub_beyond *hub,
                                 struct part *out)
{
    const bool doubtful = gather(reaches, n, hub, out);
    if (out->arm_count == 0)
        return REACHING_NONE;
    return doubtful || hub->certainty == HUB_MAYBE ? REACHING_MAYBE : REACHING_ARM;
}

/* Without a hub in sight: pierced near its tip, or narrower towards a ball on it. Screwdrivers and
 * pencils may narrow too, and a thick end alone may be the hub. Where the axis goes on over
 * something else after the body's end, as over a cable that bends, the end is none. */
static bool is_plain(const struct part_reach *reach)
{
    const struct part_arm *arm = &reach->part.arms[0];
    const bool ends = arm->tip_mm - arm->end_mm < arm->width_mm;
    return reach->knob ? reach->narrows > NARROWER : reach->holed && ends;
}

/* A thick end in the slot that was cut out stands where the shaft is meant to. A horn's arm narrows
 * from its hub to its tip (common practice, no source), and a hub is thicker than its arm, which
 * tells whether that is the hub of the bar that comes in. */
static enum reaching doubt_by_slot(const struct part *bar, const struct part *in_slot)
{
    const double back_rad = bar->arms[0].direction_rad + PI;
    const struct part_arm *arm = &in_slot->arms[0];
    for (int k = 1; k < in_slot->arm_count; k++)
        if (angle_apart(in_slot->arms[k].direction_rad, back_rad) <
            angle_apart(arm->direction_rad, back_rad))
            arm = &in_slot->arms[k];
    const double narrows = part_reach_narrows(arm);
    if (narrows < -NARROWER)
        return REACHING_ARM;
    const bool thicker = in_slot->hub_radius_mm > BROADER * arm->width_mm / 2 &&
                         bar->hub_radius_mm < BROADER * bar->arms[0].width_mm / 2;
    return thicker || narrows > NARROWER ? REACHING_NONE : REACHING_EITHER;
}

/* Leaves out rods that lead from the servo to a horn on the card: thin, and with a cup at the end.
 */
static int leave_out_rods(struct part_reach *reaches, int n)
{
    int kept = 0;
    for (int i = 0; i < n; i++)
        if (reaches[i].part.arms[0].width_mm > PART_ROD_MM || !reaches[i].knob)
            reaches[kept++] = reaches[i];
    return kept;
}

/* Whether one of the bars is itself an arm of the place. */
static bool belong_to(const struct part_reach *reaches, int n, const struct part *place)
{
    const double along_rad = 8 / DEG, aside_mm = 1.5;
    for (int i = 0; i < n; i++) {
        const struct part *bar = &reaches[i].part;
        const double rad = bar->arms[0].direction_rad;
        const double aside = -(place->hub_mm.x - bar->hub_mm.x) * sin(rad) +
                             (place->hub_mm.y - bar->hub_mm.y) * cos(rad);
        for (int k = 0; k < place->arm_count; k++)
            if (fabs(aside) < aside_mm &&
                angle_apart(place->arms[k].direction_rad, rad + PI) < along_rad)
                return true;
    }
    return false;
}

/* Whether the arms of a place do not all lie in one line, as a rod and its cup would. */
static bool is_bent(const struct part *place)
{
    const double line_rad = 20 / DEG;
    for (int k = 1; k < place->arm_count; k++)
        if (angle_between_lines(place->arms[k].direction_rad, place->arms[0].direction_rad) >
            line_rad)
            return true;
    return false;
}

/* Whether a place may be where a link hangs on an arm: two arms in line may be that arm, a third
 * one the link. */
static bool may_be_link_end(const struct part *place)
{
    const double line_rad = 12 / DEG;
    const struct part_arm *arms = place->arms;
    for (int k = 0; k < 3 && place->arm_count == 3; k++)
        if (angle_apart(arms[k].direction_rad, arms[(k + 1) % 3].direction_rad + PI) < line_rad)
            return true;
    return place->arm_count < 3;
}

/* An arm of a place on the card that runs out over the edge to a ring, or grows much broader that
 * way: its hub may be there, and the place its ball link. The ring may as well be a screw of the
 * servo's lugs. */
static enum reaching doubt_beyond(const struct stage *s, const struct part_reach *reaches, int n)
{
    struct hub_beyond hub;
    if (reaches[0].narrows > 2 * NARROWER)
        return REACHING_EITHER;
    return reaches[0].narrows > -NARROWER && find_hub(s, reaches, n, &hub) &&
                   hub.certainty != HUB_MAYBE
               ? REACHING_EITHER
               : REACHING_NONE;
}

/* Without a hub in sight: the longest bar that is plainly an arm. */
static enum reaching find_plain(const struct part_reach *reaches, int n, const struct part *places,
                                int count, struct part *out)
{
    bool knob = false, hub_like = false;
    for (int i = 0; i < n; i++) {
        knob = knob || reaches[i].knob;
        if (is_plain(&reaches[i]) &&
            (out->arm_count == 0 || reaches[i].part.arms[0].tip_mm > out->arms[0].tip_mm)) {
            *out = reaches[i].part;
            hub_like = reaches[i].hub_like;
        }
    }
    if (out->arm_count > 0)
        return hub_like ? REACHING_MAYBE : REACHING_ARM;
    if (count > 0 && !explain(reaches, n, &places[0]))
        return REACHING_BOTH; /* a joint of something else */
    return knob ? REACHING_NONE : REACHING_BAR;
}

/* Over the butt edge nothing else is expected, so that any bar there is of weight. Over the others
 * come rods, cables and fingers too: what shows no hub says nothing. */
static enum reaching find_over(const struct stage *s, enum card_side side,
                               const struct part *places, int count, struct part *out)
{
    struct part_reach reaches[PART_REACH_MAX];
    struct hub_beyond hub;
    int n = part_reach_find(s->field, &s->fix, side, reaches);
    const bool explained = explain_all(reaches, n, places, count);
    *out = (struct part){.arm_count = 0};
    if (!explained)
        n = leave_out_rods(reaches, n);
    if (n == 0)
        return REACHING_NONE;
    if (!explained && belong_to(reaches, n, &places[0]))
        return side == CARD_BUTT && may_be_link_end(&places[0]) ? doubt_beyond(s, reaches, n)
                                                                : REACHING_NONE;
    if (!explained && is_bent(&places[0]))
        return REACHING_NONE;
    const bool ends_here = n == 1 && ends_in_hub(&reaches[0]);
    if (ends_here && count == 0 && reaches[0].hub_like &&
        part_reach_turn(s->field, &s->fix, &reaches[0], out)) {
        if (out->arms[0].tip_width_mm > PART_ROD_MM)
            return hub_in_slot(s, out) ? REACHING_ARM : REACHING_MAYBE;
        out->arm_count = 0; /* a link's sleeve and rod */
    }
    const bool found = find_hub(s, reaches, n, &hub);
    if (ends_here && count > 0) /* a hole near the tip is a ring as well */
        return found && hub.certainty == HUB_PLAIN ? REACHING_EITHER : REACHING_NONE;
    if (found && (side == CARD_BUTT || hub.certainty == HUB_PLAIN))
        return arms_of_hub(reaches, n, &hub, out);
    if (side != CARD_BUTT)
        return REACHING_NONE;
    return explained ? find_plain(reaches, n, places, count, out) : REACHING_BOTH;
}

enum reaching reaching_find(const struct stage *s, const struct part *places, int count,
                            struct part *out)
{
    enum reaching found = REACHING_NONE;
    for (int side = 0; side < CARD_SIDES && found == REACHING_NONE; side++)
        found = find_over(s, (enum card_side)side, places, count, out);
    if (count == 0 || !hub_in_slot(s, &places[0]))
        return found;
    if (found == REACHING_BOTH) /* the part is what stands round the shaft: a finger, say */
        return REACHING_NONE;
    return found == REACHING_ARM ? doubt_by_slot(out, &places[0]) : found;
}
