#include "part_reach.h"

#include "bar.h"
#include "maths/angle.h"
#include "maths/linalg.h"
#include "part_round.h"

#include <math.h>

#define LEAST_BODY_MM 4.0 /* of arm over the card */
#define LEAST_WIDTH_MM 1.5
#define MOST_LEAN_RAD (60 / DEG) /* of an arm from straight over the edge */

/* ---- Where bars come in ---------------------------------------------------------------------- */

/* Straight in over a side's edge. */
static double inward_rad(enum card_side side)
{
    static const double inward[CARD_SIDES] = {
        [CARD_BUTT] = PI / 2, [CARD_RIGHT] = PI, [CARD_TOP] = -PI / 2, [CARD_LEFT] = 0};
    return inward[side];
}

/* From the card's middle to the edge, in print and as it lies; and half the edge's length. */
static double half_mm(const struct card_fix *fix, enum card_side side)
{
    const bool across = side == CARD_BUTT || side == CARD_TOP;
    return across ? fix->card->height_mm / 2 * fix->bar_scale_y
                  : fix->card->width_mm / 2 * fix->bar_scale_x;
}

static double half_length_mm(const struct card_fix *fix, enum card_side side)
{
    return half_mm(fix, side == CARD_BUTT || side == CARD_TOP ? CARD_RIGHT : CARD_BUTT);
}

double part_reach_beyond_mm(const struct card_fix *fix, enum card_side side, struct vision_point mm)
{
    const double in = inward_rad(side);
    return -(mm.x * cos(in) + mm.y * sin(in)) - half_mm(fix, side);
}

/* The strip along the butt edge, of which nothing is known. */
static double strip_mm(const struct card_fix *fix, enum card_side side)
{
    const struct vision_card *card = fix->card;
    for (int i = 0; i < card->mark_count && side == CARD_BUTT; i++)
        if (card->marks[i].kind == VISION_MARK_BUTT)
            return (card->marks[i].y1_mm + card->height_mm / 2) * fix->bar_scale_y;
    return 0;
}

/* The direction in which the part reaches furthest from a place near the edge. */
static double furthest_rad(const struct part_field *f, enum card_side side,
                           struct vision_point from)
{
    enum { DIRECTIONS = 61 };
    double furthest = 0, best = inward_rad(side);
    for (int k = 0; k < DIRECTIONS; k++) {
        double rad = inward_rad(side) + MOST_LEAN_RAD * (2.0 * k / (DIRECTIONS - 1) - 1);
        double reach = part_field_reach(f, from, rad);
        if (reach > furthest) {
            furthest = reach;
            best = rad;
        }
    }
    return best;
}

/* The part moved to where the axis of its arm crosses the edge. */
static void begin_at_edge(const struct card_fix *fix, enum card_side side, struct part *part)
{
    const struct part_arm *arm = &part->arms[0];
    const double c = cos(arm->direction_rad), s = sin(arm->direction_rad);
    const double aside = arm->offset_mm;
    const struct vision_point on_axis = {part->hub_mm.x - aside * s, part->hub_mm.y + aside * c};
    const double along =
        part_reach_beyond_mm(fix, side, on_axis) / cos(arm->direction_rad - inward_rad(side));
    part_move_hub(part, -aside * s + along * c, aside * c + along * s);
}

/* ---- What comes in --------------------------------------------------------------------------- */

double part_reach_narrows(const struct part_arm *arm)
{
    struct linalg_line width = {0};
    double level, slope, first = 0, last = 0;
    for (int i = 0; i < arm->outline_count; i++) {
        double u = arm->outline[i].u_mm;
        if (u > arm->clear_mm)
            break;
        first = width.n > 0 ? first : u;
        last = u;
        linalg_line_add(&width, u, arm->outline[i].left_mm + arm->outline[i].right_mm);
    }
    return linalg_line_fit(&width, &level, &slope) ? -slope * (last - first) / arm->width_mm : 0;
}

/* The thickest place along the axis between two shares of the arm's length over the card. */
static double thickest(const struct part_field *f, const struct part *part, double from, double to)
{
    const struct part_arm *arm = &part->arms[0];
    const double begin = arm->start_mm, length = arm->tip_mm - begin;
    return bar_thickest(f, part->hub_mm, arm, begin + from * length, begin + to * length);
}

/* Whether the card shows through its outer part: the holes that links are hung into. */
static bool is_holed(const struct part_field *f, const struct part *part)
{
    const double outer = 0.4, middle = 0.6, least_mm2 = 0.3;
    const struct part_arm *arm = &part->arms[0];
    const double c = cos(arm->direction_rad), s = sin(arm->direction_rad), step = f->s->pitch_mm;
    const double from = arm->start_mm + outer * (arm->tip_mm - arm->start_mm);
    const int along = (int)((arm->tip_mm - from) / step);
    const int across = (int)(middle * arm->width_mm / 2 / step);
    int open = 0;
    for (int i = 0; i < along; i++)
        for (int j = -across; j <= across; j++) {
            const double u = from + i * step, left = arm->offset_mm + j * step;
            long at = part_field_index(f, part->hub_mm.x + u * c - left * s,
                                       part->hub_mm.y + u * s + left * c);
            open += at >= 0 && f->solid[at] && f->s->cells[at] == CELL_TINT;
        }
    return open * step * step > least_mm2;
}

/* Whether it is straight, ends on the card, and has no hub on the way there. */
static bool is_arm(const struct part_field *f, const struct part *part)
{
    const double crooked_mm = 0.35, hub = 1.3, inner = 0.6;
    const struct part_arm *arm = &part->arms[0];
    return !arm->open_end && !arm->covered_end && arm->spread_mm < crooked_mm &&
           arm->end_mm - arm->start_mm > LEAST_BODY_MM && arm->width_mm > LEAST_WIDTH_MM &&
           arm->width_mm < BAR_MAX_WIDTH_MM &&
           thickest(f, part, 0, inner) < hub * arm->width_mm / 2;
}

/* The outermost part to either side of a point, no further than reach_mm. false: none. */
static bool sides_at(const struct part_field *f, struct vision_point at, double rad,
                     double reach_mm, double *right_mm, double *left_mm)
{
    const double c = cos(rad), s = sin(rad);
    const int steps = (int)(2 * reach_mm / f->s->pitch_mm);
    *right_mm = reach_mm;
    *left_mm = -reach_mm;
    for (int k = 0; k <= steps; k++) {
        const double v = k * f->s->pitch_mm - reach_mm;
        const long index = part_field_index(f, at.x - v * s, at.y + v * c);
        if (index < 0 || !f->solid[index])
            continue;
        *right_mm = fmin(*right_mm, v);
        *left_mm = fmax(*left_mm, v);
    }
    return *left_mm >= *right_mm;
}

/* Whether it goes on beyond its end and leaves its axis, as broad: a cable that bends. It is
 * followed along its middle. */
static bool bends_away(const struct part_field *f, const struct part *part)
{
    const double step_mm = 0.4, thinner = 0.5, broader = 1.6, follow = 0.25, beyond = 5;
    const struct part_arm *arm = &part->arms[0];
    const double width = arm->width_mm, c = cos(arm->direction_rad), s = sin(arm->direction_rad);
    const double from = arm->end_mm - width;
    const int steps = (int)((1 + beyond) * width / step_mm);
    double rad = arm->direction_rad, right, left, off = 0;
    struct vision_point at = {part->hub_mm.x + from * c - arm->offset_mm * s,
                              part->hub_mm.y + from * s + arm->offset_mm * c};
    for (int k = 0; k < steps && fabs(off) < width; k++) {
        at.x += step_mm * cos(rad);
        at.y += step_mm * sin(rad);
        if (!sides_at(f, at, rad, width, &right, &left) || left - right < thinner * width ||
            left - right > broader * width)
            return false;
        const double aside = (left + right) / 2;
        at.x -= aside * sin(rad);
        at.y += aside * cos(rad);
        rad += follow * fmax(-1, fmin(1, aside / step_mm));
        off = -(at.x - part->hub_mm.x) * s + (at.y - part->hub_mm.y) * c - arm->offset_mm;
    }
    return fabs(off) >= width;
}

/* Whether what comes in from the left is the slot that was cut out, or what shows in it. */
static bool fills_slot(const struct part_field *f, const struct card_fix *fix, enum card_side side,
                       struct vision_point base_mm)
{
    return side == CARD_LEFT && f->s->slot_cut && fabs(base_mm.y) < fix->card->slot_half_width_mm;
}

/* The bar that stands on a place near the edge, if it may be an arm. */
static bool take_bar(const struct part_field *f, const struct card_fix *fix, enum card_side side,
                     struct vision_point base_mm, struct part_reach *out)
{
    const double from_mm = 0.4, knob = 1.2, hub_like = 1.4, outer = 0.6;
    const double slender = 16; /* no arm is that many times as long as broad; rods and wires are */
    struct part *part = &out->part;
    *part = (struct part){.hub_mm = base_mm, .arm_count = 1, .score = 1};
    struct part_arm *arm = &part->arms[0];
    out->side = side;
    arm->direction_rad = furthest_rad(f, side, base_mm);
    if (!bar_align(f, base_mm, from_mm, arm))
        return false;
    bar_look_for_marker(f, fix, base_mm, arm);
    if (angle_apart(arm->direction_rad, inward_rad(side)) > MOST_LEAN_RAD || !is_arm(f, part))
        return false;
    out->narrows = part_reach_narrows(arm);
    const double end_mm = thickest(f, part, outer, 1);
    out->knob = end_mm > knob * arm->width_mm / 2;
    out->holed = is_holed(f, part);
    if (!out->knob && bends_away(f, part))
        return false;
    out->hub_like = !out->holed && end_mm > hub_like * arm->width_mm / 2;
    part->hub_radius_mm = arm->width_mm / 2;
    begin_at_edge(fix, side, part);
    return arm->tip_mm < slender * arm->width_mm;
}

/* Share of the way from the edge to the bar, so far to the left of its axis, that may be part: that
 * is, or is a marker or the strip, of which nothing is known. */
static double may_be_part(const struct part_field *f, const struct part *part, double left_mm)
{
    const struct part_arm *arm = &part->arms[0];
    const double step = f->s->pitch_mm, left = arm->offset_mm + left_mm;
    const double c = cos(arm->direction_rad), s = sin(arm->direction_rad);
    const int steps = (int)(arm->start_mm / step);
    int may_be = 0;
    for (int k = 0; k < steps; k++) {
        const double u = k * step;
        long at = part_field_index(f, part->hub_mm.x + u * c - left * s,
                                   part->hub_mm.y + u * s + left * c);
        may_be += at < 0 || f->solid[at] || f->s->cells[at] != CELL_TINT;
    }
    return steps > 0 ? (double)may_be / steps : 1;
}

/* Along its middle or either half: holes may break one, a marker that was not read another. */
static bool comes_from_edge(const struct part_field *f, const struct part *part)
{
    const double most = 0.9, half_mm = part->arms[0].width_mm / 4;
    for (int side = -1; side <= 1; side++)
        if (may_be_part(f, part, side * half_mm) >= most)
            return true;
    return false;
}

/* Which of the bars this is; count: none. */
static int same_bar(const struct part_reach *reaches, int count, const struct part *part)
{
    const double same_rad = 12 / DEG, same_mm = 2;
    for (int i = 0; i < count; i++) {
        const struct part *other = &reaches[i].part;
        if (angle_apart(other->arms[0].direction_rad, part->arms[0].direction_rad) < same_rad &&
            hypot(other->hub_mm.x - part->hub_mm.x, other->hub_mm.y - part->hub_mm.y) < same_mm)
            return i;
    }
    return count;
}

/* Whether a bar runs over a marker or close beside one. */
static bool meets_marker(const struct card_fix *fix, const struct part *part)
{
    const double near_mm = 0.5;
    const struct part_arm *arm = &part->arms[0];
    const double c = cos(arm->direction_rad), s = sin(arm->direction_rad);
    const double reach = markers_half_mm(fix->card) + near_mm;
    for (int i = 0; i < fix->card->marker_count; i++) {
        const struct vision_point at = fix->card->markers[i].centre_mm;
        const double x = at.x * fix->bar_scale_x - part->hub_mm.x;
        const double y = at.y * fix->bar_scale_y - part->hub_mm.y;
        const double u = x * c + y * s, left = -x * s + y * c - arm->offset_mm;
        if (u > 0 && u < arm->tip_mm && fabs(left) < reach + arm->width_mm / 2)
            return true;
    }
    return false;
}

/* Whether a marker took something from a bar or lent it its white rim: seen from beyond the marker
 * the bar is broader, or lies another way. */
static bool spoilt_by_marker(const struct card_fix *fix, const struct part *whole,
                             const struct part_arm *beyond)
{
    const double narrower = 0.85, turned_rad = 2.5 / DEG, told_mm = 6;
    const struct part_arm *arm = &whole->arms[0];
    return beyond->end_mm - beyond->start_mm > told_mm &&
           (arm->width_mm < narrower * beyond->width_mm ||
            angle_apart(arm->direction_rad, beyond->direction_rad) > turned_rad) &&
           meets_marker(fix, whole);
}

/* Adds a bar, the last of these but not yet counted. One that was lost beside a marker, whose white
 * rim looked like part of it, is seen whole from beyond that. Their number. */
static int add_bar(const struct card_fix *fix, struct part_reach *reaches, int count)
{
    const double longer_mm = 2;
    const struct part_arm *arm = &reaches[count].part.arms[0];
    const int same = same_bar(reaches, count, &reaches[count].part);
    if (same == count)
        return count + 1;
    const struct part *known = &reaches[same].part;
    if (arm->tip_mm > known->arms[0].tip_mm + longer_mm || spoilt_by_marker(fix, known, arm))
        reaches[same] = reaches[count];
    return count;
}

/* A place so far in from the edge, so far along it from its middle. */
static struct vision_point place_at(const struct card_fix *fix, enum card_side side, double in_mm,
                                    double along_mm)
{
    const double c = cos(inward_rad(side)), s = sin(inward_rad(side));
    const double in = in_mm - half_mm(fix, side);
    return (struct vision_point){in * c + along_mm * s, in * s - along_mm * c};
}

/* Adds the bars that pass a line so far in from the edge. */
static int find_along(const struct part_field *f, const struct card_fix *fix, enum card_side side,
                      double in_mm, struct part_reach out[PART_REACH_MAX], int count)
{
    const double step = f->s->pitch_mm, half = half_length_mm(fix, side);
    const int steps = (int)(2 * half / step);
    for (int i = 0, first = 0; i <= steps && count < PART_REACH_MAX; i++) {
        const struct vision_point at = place_at(fix, side, in_mm, i * step - half);
        const long index = i < steps ? part_field_index(f, at.x, at.y) : -1;
        if (index >= 0 && f->solid[index])
            continue;
        const double run_mm = (i - first) * step;
        const struct vision_point base =
            place_at(fix, side, in_mm, (first + i - 1) / 2.0 * step - half);
        first = i + 1;
        if (run_mm > LEAST_WIDTH_MM && run_mm < 2 * BAR_MAX_WIDTH_MM &&
            !fills_slot(f, fix, side, base) && take_bar(f, fix, side, base, &out[count]) &&
            comes_from_edge(f, &out[count].part))
            count = add_bar(fix, out, count);
    }
    return count;
}

int part_reach_find(const struct part_field *f, const struct card_fix *fix, enum card_side side,
                    struct part_reach out[PART_REACH_MAX])
{
    const double clear_mm = 0.8; /* of the soft borders of strip and markers */
    const double strip = strip_mm(fix, side), markers_mm = 2 * markers_half_mm(fix->card);
    int count = find_along(f, fix, side, strip + clear_mm, out, 0);
    if (count == 0) /* the case may show on the card's edge, with its shadow */
        count = find_along(f, fix, side, strip + markers_mm / 3 + clear_mm, out, count);
    return find_along(f, fix, side, strip + markers_mm + clear_mm, out, count);
}

bool part_reach_turn(const struct part_field *f, const struct card_fix *fix,
                     const struct part_reach *reach, struct part *out)
{
    struct lump end;
    if (!bar_end_lump(f, reach->part.hub_mm, &reach->part.arms[0], &end))
        return false;
    struct part_arm arm = {.direction_rad = reach->part.arms[0].direction_rad + PI};
    if (!bar_align(f, end.at_mm, 0.9 * end.radius_mm, &arm) ||
        arm.end_mm - arm.start_mm <= LEAST_BODY_MM)
        return false;
    bar_look_for_marker(f, fix, end.at_mm, &arm);
    *out = (struct part){.hub_mm = end.at_mm,
                         .hub_radius_mm = end.radius_mm,
                         .arm_count = 1,
                         .arms = {arm},
                         .score = 1};
    return true;
}

/* How far in from the edge the part reaches at a place along it; 0 where nothing comes in. */
static double reaches_in(const struct part_field *f, const struct card_fix *fix,
                         enum card_side side, double along_mm)
{
    const double step = f->s->pitch_mm;
    const int steps =
        (int)(1.2 * half_mm(fix, side) / step); /* what lies further is another thing */
    int furthest = 0;
    for (int k = 1; k <= steps; k++) {
        const struct vision_point at = place_at(fix, side, k * step, along_mm);
        const long index = part_field_index(f, at.x, at.y);
        if (index >= 0 && f->solid[index])
            furthest = k;
    }
    return furthest * step;
}

/* The outline, seen from within the card, is an arc of most of what comes in: a bar's is two sides
 * and an end. */
bool part_reach_is_round(const struct part_field *f, const struct card_fix *fix,
                         enum card_side side)
{
    /* over the other edges come fingertips (common practice, no source) */
    const double least_mm = side == CARD_BUTT ? 6 : 11, most_mm = 36;
    const double most = 0.8, scatter_mm = 0.2, least_arc_rad = 60 / DEG, inside_mm = 2;
    struct vision_point p[PART_FIELD_RAYS];
    bool seen[PART_FIELD_RAYS];
    struct part_circle circle;
    int first = -1, last = 0, count = 0;
    for (int k = 0; k < PART_FIELD_RAYS; k++) {
        const double along = half_length_mm(fix, side) * (2.0 * k / (PART_FIELD_RAYS - 1) - 1);
        const double in = reaches_in(f, fix, side, along);
        p[k] = place_at(fix, side, in, along);
        seen[k] = in > strip_mm(fix, side) + LEAST_WIDTH_MM;
        first = seen[k] && first < 0 ? k : first;
        last = seen[k] ? k : last;
        count += seen[k];
    }
    if (count < PART_FIELD_RAYS / 12 ||
        !part_circle_through(p, seen, (int)(most * count), &circle) ||
        circle.scatter_mm > scatter_mm || circle.radius_mm < least_mm ||
        circle.radius_mm > most_mm ||
        part_reach_beyond_mm(fix, side, circle.centre_mm) < -inside_mm)
        return false;
    const double wide_mm = hypot(p[last].x - p[first].x, p[last].y - p[first].y);
    return 2 * asin(fmin(1, wide_mm / 2 / circle.radius_mm)) > least_arc_rad;
}

bool part_reach_explains(const struct part_reach *reach, const struct part *place)
{
    const double along_rad = 15 / DEG;
    const struct part_arm *arm = &reach->part.arms[0];
    const double c = cos(arm->direction_rad), s = sin(arm->direction_rad);
    const double x = place->hub_mm.x - reach->part.hub_mm.x;
    const double y = place->hub_mm.y - reach->part.hub_mm.y;
    if (fabs(-x * s + y * c) > arm->width_mm / 2 || x * c + y * s > arm->tip_mm + arm->width_mm)
        return false;
    for (int i = 0; i < place->arm_count; i++)
        if (angle_between_lines(place->arms[i].direction_rad, arm->direction_rad) > along_rad)
            return false;
    return true;
}
