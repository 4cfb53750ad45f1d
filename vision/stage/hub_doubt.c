#include "hub_doubt.h"

#include "maths/angle.h"
#include "part/part_reach.h"

#include <math.h>

#define ASIDE_MM 2.5
#define HIGHEST_MM 14.0 /* of an arm above the card */

static bool is_seen_to_end(const struct part_arm *arm)
{
    return !arm->covered_end && !arm->open_end;
}

/* Where the shaft can stand that a card with its slot cut out was slipped round. aside_mm: for what
 * stands above the card and is seen askew. */
static bool in_slot_zone(const struct stage *s, struct vision_point mm, double aside_mm)
{
    double reach = s->fix.card->slot_half_width_mm + aside_mm;
    return fabs(mm.y) < reach && mm.x < reach;
}

static struct vision_point tip_of(const struct part *part, const struct part_arm *arm)
{
    return (struct vision_point){part->hub_mm.x + arm->tip_mm * cos(arm->direction_rad),
                                 part->hub_mm.y + arm->tip_mm * sin(arm->direction_rad)};
}

/* Whether an arm goes out of sight in line with one that is seen to end: wherever on that line the
 * shaft stands, the other arm leads away from it. */
static bool only_extends(const struct part *part, int i)
{
    const double same_rad = 12 / DEG;
    const struct part_arm *arms = part->arms;
    if (!arms[i].covered_end || arms[i].open_end)
        return false;
    for (int k = 0; k < part->arm_count; k++)
        if (is_seen_to_end(&arms[k]) &&
            angle_apart(arms[k].direction_rad, arms[i].direction_rad + PI) < same_rad)
            return true;
    return false;
}

/* What stands height_mm above the card and is seen at mm has its foot here. */
static struct vision_point foot_of(const struct stage *s, struct vision_point mm, double height_mm)
{
    const double share = height_mm / s->camera_mm[2];
    return (struct vision_point){mm.x + share * (s->camera_mm[0] - mm.x),
                                 mm.y + share * (s->camera_mm[1] - mm.y)};
}

/* Whether at some height the shaft would stand at the tip and not at the hub: seen aslant, a part
 * high above the card has its tip where a low one has its hub. */
static bool may_turn_about(const struct stage *s, struct vision_point tip_mm,
                           struct vision_point hub_mm)
{
    const double tip_aside_mm = 1;
    for (int height_mm = 0; height_mm <= (int)HIGHEST_MM; height_mm++)
        if (in_slot_zone(s, foot_of(s, tip_mm, height_mm), tip_aside_mm) &&
            !in_slot_zone(s, foot_of(s, hub_mm, height_mm), ASIDE_MM))
            return true;
    return false;
}

bool hub_in_slot(const struct stage *s, const struct part *part)
{
    if (!s->silhouette.slot_cut || !in_slot_zone(s, part->hub_mm, ASIDE_MM))
        return false;
    for (int i = 0; i < part->arm_count; i++) {
        const struct vision_point tip_mm = tip_of(part, &part->arms[i]);
        if ((in_slot_zone(s, tip_mm, ASIDE_MM) || may_turn_about(s, tip_mm, part->hub_mm)) &&
            !only_extends(part, i))
            return false;
    }
    return true;
}

/* Whether the only thing that leaves a place goes out of sight on a marker. Under it no shaft can
 * stand. Near an edge of the card the place may be the end of an arm that comes in over that. */
static bool runs_under_marker(const struct stage *s, const struct part *part)
{
    const double near_mm = 8; /* of a hub's rim */
    const struct vision_card *card = s->fix.card;
    const double inside_mm =
        fmin(card->width_mm / 2 - fabs(part->hub_mm.x), card->height_mm / 2 - fabs(part->hub_mm.y));
    return part->arm_count == 1 && !part->joint && part->arms[0].covered_end &&
           !part->arms[0].open_end && inside_mm - part->hub_radius_mm > near_mm;
}

/* Whether arms that go out of sight leave a place at which a shaft can stand two ways, as those of
 * a bellcrank: what bends there is no link. */
static bool turns_in_slot(const struct stage *s, const struct part *part)
{
    const double bent_rad = 30 / DEG;
    return part->arm_count == 2 && !part->joint && s->silhouette.slot_cut &&
           in_slot_zone(s, part->hub_mm, ASIDE_MM) &&
           angle_between_lines(part->arms[0].direction_rad, part->arms[1].direction_rad) > bent_rad;
}

/* Whether no arm is thicker further out than this share of the hub. */
static bool is_thickest(const struct part *part, double share)
{
    for (int i = 0; i < part->arm_count; i++)
        if (!(part->arms[i].far_radius_mm < share * part->hub_radius_mm))
            return false;
    return true;
}

/* Whether every arm has its holes far from the place, as they are far from a hub: they lie near the
 * tip. */
static bool holes_are_far(const struct part *part)
{
    const double outer = 0.55;
    for (int i = 0; i < part->arm_count; i++)
        if (!(part->arms[i].holes_mm > outer * part->arms[i].tip_mm))
            return false;
    return true;
}

/* Whether an arm stands square on two that lie in line, as those of a T and of a cross do. The
 * halves of pliers do not. */
static bool is_square_on_others(const struct part *part)
{
    const double line_rad = 12 / DEG, square_rad = 15 / DEG;
    for (int i = 0; i < part->arm_count; i++)
        for (int k = 0; k < part->arm_count; k++)
            for (int m = 0; m < part->arm_count; m++) {
                double a = part->arms[i].direction_rad, b = part->arms[k].direction_rad;
                if (angle_apart(a, b + PI) < line_rad &&
                    fabs(angle_between_lines(a, part->arms[m].direction_rad) - PI / 2) < square_rad)
                    return true;
            }
    return false;
}

/* Whether the arm's far end is as thick as the arm and the hub is thicker: then the hub is not
 * there. */
static bool ends_plainly(const struct part *part, const struct part_arm *arm)
{
    const double flat = 1.05, boss = 1.12;
    return arm->far_radius_mm < flat * arm->width_mm / 2 &&
           part->hub_radius_mm > boss * arm->width_mm / 2;
}

/* What is seen of the ends of a place's arms. */
struct ends {
    int seen, rounded; /* arms seen to end; that close in, though perhaps at a marker */
    int links;         /* arms not seen to end that may be links */
    double far_mm;     /* radius of the thickest end that may be the hub */
};

static struct ends look_at_ends(const struct part *part)
{
    const bool bare = hub_is_bare_bar(part); /* a bent rod: what leaves its end is more of it */
    struct ends ends = {0};
    for (int i = 0; i < part->arm_count; i++) {
        const struct part_arm *arm = &part->arms[i];
        ends.rounded += arm->round_end;
        if (!is_seen_to_end(arm)) {
            ends.links += arm->holes_mm == 0 && arm->width_mm < PART_THICK_ROD_MM;
            continue;
        }
        ends.seen++;
        if ((bare || arm->far_end != FAR_END_JOINT) && !ends_plainly(part, arm))
            ends.far_mm = fmax(ends.far_mm, arm->far_radius_mm);
    }
    return ends;
}

/* Whether one arm leaves the place and the card, and narrows all the way: a hub's arm does, a rod
 * does not (common practice, no source). The place must be thicker than a joint is, and what holes
 * are seen must not lie nearer to it than to the tip. */
static bool narrows_away(const struct part *part)
{
    const double boss = 1.2, narrower = 2 * PART_REACH_NARROWER;
    const struct part_arm *arm = &part->arms[0];
    return part->arm_count == 1 && (arm->holes_mm == 0 || holes_are_far(part)) && !part->joint &&
           arm->open_end && part->hub_radius_mm > boss * arm->width_mm / 2 &&
           part_reach_narrows(arm) > narrower;
}

/* Whether a place none of whose arms is seen to end is a hub all the same. */
static bool is_plain_unended(const struct stage *s, const struct part *part, double thin)
{
    const double holed = 0.9;
    const bool out_of_sight = runs_under_marker(s, part) || turns_in_slot(s, part);
    return (out_of_sight && is_thickest(part, thin)) || narrows_away(part) ||
           (!part->joint && holes_are_far(part) && is_thickest(part, holed));
}

/* Whether a place has two arms in line and no holes, of which one cannot be followed to its end or
 * is much longer than the other: it may lie anywhere along that. */
static bool is_length_of_bar(const struct part *part)
{
    const double line_rad = 12 / DEG, longer = 1.6;
    const struct part_arm *arms = part->arms;
    const double a = arms[0].tip_mm, b = arms[1].tip_mm;
    return part->arm_count == 2 && arms[0].holes_mm == 0 && arms[1].holes_mm == 0 &&
           (!is_seen_to_end(&arms[0]) || !is_seen_to_end(&arms[1]) ||
            fmax(a, b) > longer * fmin(a, b)) &&
           angle_apart(arms[0].direction_rad, arms[1].direction_rad + PI) < line_rad;
}

/* Whether what is seen about a place, so far to either side along a direction, is but the slot that
 * was cut out. */
static bool is_slot_alone(const struct stage *s, struct vision_point mm, double rad, double left_mm,
                          double right_mm)
{
    const double rim_mm = 0.8, y = sin(rad);
    const double half_mm = s->fix.card->slot_half_width_mm + rim_mm;
    return s->silhouette.slot_cut && mm.x < 0 && fabs(mm.y + left_mm * y) < half_mm &&
           fabs(mm.y - right_mm * y) < half_mm;
}

/* Whether a place with one arm goes on behind it, broader than a rod, to the card's edge: then it
 * is held by something, or is a piece of that. */
static bool goes_on_behind(const struct stage *s, const struct part *part)
{
    const int aside_deg = 50, step_deg = 5;
    const double rim_mm = 1.5, limit_mm = 12;
    const double half_x = s->fix.card->width_mm / 2 - rim_mm;
    const double half_y = s->fix.card->height_mm / 2 - rim_mm;
    for (int turn = -aside_deg; turn <= aside_deg; turn += step_deg) {
        const double rad = part->arms[0].direction_rad + PI + turn / DEG;
        const double c = cos(rad), si = sin(rad);
        const double reach_mm = part_field_reach(s->field, part->hub_mm, rad);
        const double x = part->hub_mm.x + reach_mm * c, y = part->hub_mm.y + reach_mm * si;
        if (fabs(x) < half_x && fabs(y) < half_y)
            continue;
        const struct vision_point middle = {(part->hub_mm.x + x) / 2, (part->hub_mm.y + y) / 2};
        const double left = part_field_walk_out(s->field, middle.x, middle.y, -si, c, limit_mm);
        const double right = part_field_walk_out(s->field, middle.x, middle.y, si, -c, limit_mm);
        if (left + right > PART_ROD_MM && !is_slot_alone(s, middle, rad + PI / 2, left, right))
            return true;
    }
    return false;
}

/* Whether much more part lies on the axis of a lone arm than its body, and no link leaves its end:
 * wires that run on, and what lies over them. */
static bool goes_on_beyond(const struct part *part)
{
    const double most_mm = 15;
    const struct part_arm *arm = &part->arms[0];
    return arm->far_end == FAR_END_FREE && arm->tip_mm - arm->end_mm > most_mm;
}

bool hub_is_plain(const struct stage *s, const struct part *part)
{
    /* one arm says only that it has two ends; a second one that cannot be followed may be a link,
     * and this place its joint */
    const double alike = 0.8, thin = 0.7;
    const struct ends ends = look_at_ends(part);
    if ((part->arm_count == 2 && hub_is_bare_bar(part)) ||
        (part->arm_count == 1 && (goes_on_behind(s, part) || goes_on_beyond(part))))
        return false;
    if (!part->joint && hub_in_slot(s, part))
        return true;
    if (!part->joint && part->arm_count > 2 &&
        (ends.seen > 0 || ends.rounded > 0 || is_square_on_others(part)))
        return true; /* pliers lie across the card */
    if (ends.seen == 0)
        return is_plain_unended(s, part, thin);
    if (ends.seen > 1 && !part->joint)
        return true;
    return ends.far_mm < (part->joint || ends.links > 0 ? thin : alike) * part->hub_radius_mm;
}

/* Whether an arm lies beside another, not along it: by more than they are broad. */
static bool lies_beside(const struct part *chosen, const struct part_arm *arm,
                        const struct part *other, const struct part_arm *its)
{
    const double c = cos(arm->direction_rad), s = sin(arm->direction_rad);
    const double aside = -(other->hub_mm.x - chosen->hub_mm.x) * s +
                         (other->hub_mm.y - chosen->hub_mm.y) * c + its->offset_mm - arm->offset_mm;
    return fabs(aside) > (arm->width_mm + its->width_mm) / 2;
}

/* Whether another place would give another answer: has an arm where the chosen one has none. Places
 * along one arm do not. */
static bool tells_otherwise(const struct part *chosen, const struct part *other)
{
    const double same_rad = 12 / DEG;
    for (int i = 0; i < other->arm_count; i++) {
        bool known = false;
        for (int k = 0; k < chosen->arm_count && !known; k++)
            known = angle_apart(other->arms[i].direction_rad, chosen->arms[k].direction_rad) <
                        same_rad &&
                    !lies_beside(chosen, &chosen->arms[k], other, &other->arms[i]);
        if (!known)
            return true;
    }
    return false;
}

/* Whether a cut slot tells that the shaft stands in the one place and cannot in the other, however
 * high the part lies. */
static bool slot_rules_out(const struct stage *s, const struct part *chosen,
                           const struct part *other)
{
    double aside = ASIDE_MM + HIGHEST_MM * tan(s->out->obliquity_deg / DEG);
    return s->silhouette.slot_cut && in_slot_zone(s, chosen->hub_mm, ASIDE_MM) &&
           !in_slot_zone(s, other->hub_mm, aside);
}

/* Three arms or more make a hub, and a hub is not much thinner than what else is as thick. A place
 * within the hub is that hub again. */
static bool is_rival(const struct stage *s, const struct part *chosen, const struct part *other)
{
    const double close = 0.8, thinner = 0.6;
    const double apart_mm =
        hypot(other->hub_mm.x - chosen->hub_mm.x, other->hub_mm.y - chosen->hub_mm.y);
    return other->score > close * chosen->score && tells_otherwise(chosen, other) &&
           apart_mm > chosen->hub_radius_mm &&
           !(chosen->arm_count > 2 && other->arm_count < chosen->arm_count) &&
           other->hub_radius_mm > thinner * chosen->hub_radius_mm &&
           !slot_rules_out(s, chosen, other);
}

bool hub_has_rival(const struct stage *s, const struct part *places, int count, int used)
{
    for (int i = used + 1; i < count; i++)
        if (is_rival(s, &places[used], &places[i]))
            return true;
    return false;
}

/* In a cut slot the case below and the horn's own post look like one thick place. */
bool hub_is_outdone(const struct stage *s, const struct part *part)
{
    const double thicker = 2;
    const struct lump *lumps = s->field->lumps;
    for (int i = 0; i < s->field->lump_count; i++) {
        double apart_mm =
            hypot(lumps[i].at_mm.x - part->hub_mm.x, lumps[i].at_mm.y - part->hub_mm.y);
        bool below = s->silhouette.slot_cut && in_slot_zone(s, lumps[i].at_mm, ASIDE_MM);
        if (!below && lumps[i].radius_mm > thicker * part->hub_radius_mm &&
            apart_mm < lumps[i].radius_mm + part->hub_radius_mm)
            return true;
    }
    return false;
}

bool hub_is_bare_bar(const struct part *part)
{
    const double boss = 1.1;
    double width_mm = 0;
    for (int i = 0; i < part->arm_count; i++)
        width_mm = fmax(width_mm, part->arms[i].width_mm);
    return (part->arm_count == 1 || is_length_of_bar(part)) &&
           part->hub_radius_mm < boss * width_mm / 2;
}

bool hub_passes_by(const struct part *part)
{
    const double boss = 1.35;
    for (int i = 0; i < part->arm_count; i++)
        if ((part->arms[i].round_end && is_seen_to_end(&part->arms[i])) ||
            part->hub_radius_mm >= boss * part->arms[i].width_mm / 2)
            return false;
    return part->arm_count == 2 && !holes_are_far(part);
}

bool hub_of_another_part(const struct part *places, int count, int used)
{
    const double good = 0.35, clear_mm = 2, thinner = 0.5;
    double reach = 0;
    for (int k = 0; k < places[used].arm_count; k++)
        reach = fmax(reach, places[used].arms[k].tip_mm);
    for (int i = used + 1; i < count; i++) {
        double apart = hypot(places[i].hub_mm.x - places[used].hub_mm.x,
                             places[i].hub_mm.y - places[used].hub_mm.y);
        if (places[i].score > good * places[used].score && apart > reach + clear_mm &&
            places[i].hub_radius_mm > thinner * places[used].hub_radius_mm)
            return true;
    }
    return false;
}

bool hub_arms_in_slot(const struct stage *s, const struct part *part)
{
    if (!s->silhouette.slot_cut || !in_slot_zone(s, part->hub_mm, ASIDE_MM) ||
        hub_is_bare_bar(part))
        return false;
    for (int i = 0; i < part->arm_count; i++)
        if (!in_slot_zone(s, tip_of(part, &part->arms[i]), ASIDE_MM))
            return false;
    return true;
}
