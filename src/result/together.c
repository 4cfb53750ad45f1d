#include "together.h"

#include "arithmetic/direction.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* Backlash and a nudge turn an arm by a few degrees; arms of one part stand further apart. */
#define SAME_ARM_DEG 10.0
/* Of a servo and its links, worn ones too (common practice, no source). */
#define MOST_PLAY_DEG 4.0

struct group {
    double angle_deg; /* of its first arm */
    int count;
    struct combine_reading readings[COMBINE_MAX_PHOTOS];
    int photos[COMBINE_MAX_PHOTOS];
};

/* Whether the photo may be put together with others as it is. That a card which lay still seems to
 * lean is what others can answer. */
static bool is_sure(const struct together *t, const struct vision_result *result)
{
    return result->status == VISION_OK || (!t->card_moved && result->status == VISION_UNSURE &&
                                           result->reason == VISION_LEANING_CARD);
}

static bool is_used(const struct together *t, const struct vision_result *result)
{
    return result->arm_count > 0 &&
           (is_sure(t, result) || (t->unsure_photos && result->status == VISION_UNSURE));
}

/* Sure photos if there are two; an unsure one among them would only spoil the mean. */
static void choose_photos(const struct together_photo *photos, int count, struct together *t)
{
    int sure = 0;
    for (int i = 0; i < count; i++)
        sure += is_sure(t, photos[i].result);
    t->unsure_photos = sure < 2;
    for (int i = 0; i < count; i++) {
        const struct vision_result *result = photos[i].result;
        bool used = is_used(t, result);
        t->used += used;
        if (used && !is_sure(t, result) && t->reason == VISION_REASON_NONE)
            t->reason = result->reason;
    }
    t->unsure_photos = t->reason != VISION_REASON_NONE;
}

/* The group nearest in direction that has no arm of this photo yet, or a new one. */
static struct group *group_for(struct group *groups, int *count, int photo, double angle_deg)
{
    struct group *best = NULL;
    double nearest = SAME_ARM_DEG;
    for (int g = 0; g < *count; g++) {
        double apart = fabs(direction_turn(groups[g].angle_deg - angle_deg));
        bool taken = groups[g].count > 0 && groups[g].photos[groups[g].count - 1] == photo;
        if (taken || apart > nearest)
            continue;
        best = &groups[g];
        nearest = apart;
    }
    if (!best && *count < VISION_MAX_ARMS) {
        best = &groups[(*count)++];
        best->angle_deg = angle_deg;
    }
    return best;
}

static int match_arms(const struct together_photo *photos, struct together *t, struct group *groups)
{
    int count = 0;
    for (int i = 0; i < t->photo_count; i++) {
        const struct vision_result *result = photos[i].result;
        for (int a = 0; is_used(t, result) && a < result->arm_count; a++) {
            const struct vision_arm *arm = result->spaced ? &result->told[a] : &result->arms[a];
            struct group *group = group_for(groups, &count, i, arm->angle_deg);
            if (!group) {
                t->crowded++;
                continue;
            }
            group->readings[group->count] = (struct combine_reading){arm, photos[i].side};
            group->photos[group->count++] = i;
        }
    }
    return count;
}

static bool has_side(const struct group *group, enum combine_side side)
{
    for (int i = 0; i < group->count; i++)
        if (group->readings[i].side == side)
            return true;
    return false;
}

static bool is_enough(const struct group *group)
{
    if (group->count < 2)
        return false;
    return has_side(group, COMBINE_SIDE_UNKNOWN) ||
           (has_side(group, COMBINE_CLOCKWISE) && has_side(group, COMBINE_COUNTER_CLOCKWISE));
}

static int by_angle(const void *left, const void *right)
{
    double a = ((const struct together_arm *)left)->all.arm.angle_deg;
    double b = ((const struct together_arm *)right)->all.arm.angle_deg;
    return (a > b) - (a < b);
}

/* ---- The lean -------------------------------------------------------------------------------- */

/* The squares of what the arm has for itself in its photo, and of what turns all arms there. The
 * card lay still; that the lens and a bulge strike alike from another side is not counted on. */
static void split_budget(const struct vision_arm *arm, double *own, double *photo)
{
    *own = *photo = 0;
    for (int k = 0; k < arm->budget_count; k++) {
        const struct vision_budget_line *line = &arm->budget[k];
        enum combine_share share = combine_share_of(line, false);
        double square = line->u_deg * line->u_deg;
        if (share == COMBINE_PHOTO)
            *photo += square;
        else if (share == COMBINE_OWN || share == COMBINE_PERHAPS)
            *own += square;
    }
}

/* An arm at rest on one side and on the other are two angles to the lean. */
static int level_of(int group, enum combine_side side)
{
    return 2 * group + (side == COMBINE_COUNTER_CLOCKWISE);
}

static void find_lean(const struct group *groups, int count, double card_tilt_deg,
                      struct together *t)
{
    _Static_assert(2 * VISION_MAX_ARMS <= LEAN_MAX_LEVELS, "room for every arm on both sides");
    struct lean_reading readings[VISION_MAX_ARMS * COMBINE_MAX_PHOTOS];
    double photo_deg[COMBINE_MAX_PHOTOS] = {0};
    struct lean_question q = {.readings = readings,
                              .levels = 2 * count,
                              .photos = t->photo_count,
                              .photo_deg = photo_deg,
                              .tilt_deg = card_tilt_deg};
    for (int g = 0; g < count; g++)
        for (int i = 0; i < groups[g].count; i++) {
            const struct combine_reading *reading = &groups[g].readings[i];
            double own, photo;
            split_budget(reading->arm, &own, &photo);
            photo_deg[groups[g].photos[i]] = sqrt(photo);
            readings[q.count++] = (struct lean_reading){
                .level = level_of(g, reading->side),
                .photo = groups[g].photos[i],
                .angle_deg = reading->arm->angle_deg,
                .own_deg = sqrt(own),
                .gain = {reading->arm->tilt_gain[0], reading->arm->tilt_gain[1]}};
        }
    t->lean = lean_find(&q);
}

/* The photos' own suspicion and what they know together. */
static void answer_lean(const struct together_photo *photos, double card_tilt_deg,
                        struct together *t)
{
    const double unusual = 2; /* times what a card may lean anyway */
    double u_deg;
    bool suspected = false, ruled_out = true;
    for (int i = t->photo_count - 1; i >= 0; i--) {
        const struct vision_witness *witness = &photos[i].result->witness;
        if (!is_used(t, photos[i].result))
            continue;
        t->shown_in = i;
        if (witness->verdict != VISION_WITNESS_LEANS)
            continue;
        suspected = true;
        ruled_out = ruled_out && lean_rules_out(&t->lean, witness->slope_deg);
    }
    if (t->lean.found && (suspected || lean_size_deg(&t->lean, &u_deg) > unusual * card_tilt_deg))
        t->leans = LEAN_SO;
    else if (suspected)
        t->leans = ruled_out ? LEAN_MOULDED : LEAN_OPEN;
    if (t->leans == LEAN_SO) {
        const struct vision_result *shown = photos[t->shown_in].result;
        struct vision_point hub = vision_plane_to_card(&shown->plane, shown->arms[0].hub_px);
        t->nearer = vision_nearer_side(&shown->plane, hub, t->lean.slope_deg);
    }
    if (t->leans == LEAN_OPEN && t->reason == VISION_REASON_NONE) {
        t->reason = VISION_LEANING_CARD;
        t->unsure_photos = true;
    }
}

/* ---- All together ---------------------------------------------------------------------------- */

/* Arms of an even part tell each other's angle, as in one photo, if they did in any; not where the
 * photos show that they are made uneven, or cannot tell. */
static void space_arms(const struct together_photo *photos, struct together *t)
{
    struct vision_arm arms[VISION_MAX_ARMS];
    bool spaced = false;
    for (int i = 0; i < t->photo_count; i++)
        spaced = spaced || (is_used(t, photos[i].result) && photos[i].result->spaced);
    for (int i = 0; i < t->arm_count; i++)
        arms[i] = t->arms[i].all.arm;
    if (!spaced || t->disagree || t->leans == LEAN_MOULDED || t->leans == LEAN_OPEN ||
        !vision_space_arms(arms, t->arm_count, t->lean.cov))
        return;
    for (int i = 0; i < t->arm_count; i++) {
        arms[i].deviation_deg = direction_deviation(arms[i].angle_deg);
        t->arms[i].all.arm = arms[i];
    }
}

static int count_enough(const struct group *groups, int count)
{
    int enough = 0;
    for (int g = 0; g < count; g++)
        enough += is_enough(&groups[g]);
    return enough;
}

static void combine_groups(const struct group *groups, int count, struct together *t)
{
    const int tested = count_enough(groups, count);
    t->arm_count = t->lonely = 0;
    t->disagree = t->turned = false;
    for (int g = 0; g < count; g++) {
        if (!is_enough(&groups[g])) {
            t->lonely++;
            continue;
        }
        struct together_arm *arm = &t->arms[t->arm_count++];
        struct combine_question q = {groups[g].readings, groups[g].count,
                                     t->card_moved ? NULL : &t->lean, tested};
        combine(&q, &arm->all);
        arm->photo_count = groups[g].count;
        for (int i = 0; i < groups[g].count; i++)
            arm->photos[i] = groups[g].photos[i];
        t->turned |= arm->all.have_backlash && fabs(arm->all.backlash_deg) > MOST_PLAY_DEG;
        t->disagree |= arm->all.disagree || t->turned;
    }
    qsort(t->arms, (size_t)t->arm_count, sizeof t->arms[0], by_angle);
    for (int i = 0; i < t->arm_count; i++)
        snprintf(t->arms[i].all.arm.name, sizeof t->arms[i].all.arm.name, "%c", 'A' + i);
}

static bool side_is_used(const struct together_photo *photos, const struct together *t,
                         enum combine_side side)
{
    for (int i = 0; i < t->photo_count; i++)
        if (photos[i].side == side && is_used(t, photos[i].result))
            return true;
    return false;
}

const struct combined *together_backlash(const struct together *t)
{
    const struct combined *best = NULL;
    for (int i = 0; i < t->arm_count; i++)
        if (t->arms[i].all.have_backlash &&
            (!best || t->arms[i].all.backlash_u.u < best->backlash_u.u))
            best = &t->arms[i].all;
    return best;
}

/* Apart by some degrees, as sides may be, photos of two parts look like play: what no play does,
 * and no one part, tells them. */
static void judge_sides(const struct together_photo *photos, struct together *t)
{
    const struct combined *backlash = together_backlash(t);
    if (!t->sided || t->fault)
        return;
    for (int i = 0; i < t->photo_count; i++) {
        const struct vision_result *result = photos[i].result;
        int shown = result->arm_count + result->untold_arms;
        if (!is_used(t, result))
            continue;
        t->least_arms = t->most_arms == 0 || shown < t->least_arms ? shown : t->least_arms;
        t->most_arms = shown > t->most_arms ? shown : t->most_arms;
    }
    t->other_parts = t->least_arms != t->most_arms;
    t->backwards = backlash && backlash->backlash_shows && backlash->backlash_deg < 0;
    t->disagree |= t->other_parts || t->backwards;
}

void together_make(const struct together_photo *photos, int count, double card_tilt_deg,
                   bool card_moved, struct together *out)
{
    struct group groups[VISION_MAX_ARMS] = {{0}};
    *out = (struct together){.photo_count = count, .card_moved = card_moved};
    out->sided = photos[0].side != COMBINE_SIDE_UNKNOWN;
    choose_photos(photos, count, out);
    if (out->used < 2) {
        out->fault = TOGETHER_FEW;
        return;
    }
    if (out->sided && !(side_is_used(photos, out, COMBINE_CLOCKWISE) &&
                        side_is_used(photos, out, COMBINE_COUNTER_CLOCKWISE))) {
        out->fault = TOGETHER_ONE_SIDE;
        return;
    }
    int groups_found = match_arms(photos, out, groups);
    if (card_moved) /* each photo's own: in their mean so much is left */
        out->lean = lean_unknown(card_tilt_deg / sqrt(out->used));
    else
        find_lean(groups, groups_found, card_tilt_deg, out);
    combine_groups(groups, groups_found, out);
    if (out->disagree && !card_moved && !out->lean.found) {
        /* of photos between which something moved no slope can be learnt */
        const bool perhaps = out->lean.perhaps;
        out->lean = lean_unknown(card_tilt_deg);
        out->lean.perhaps = perhaps;
        combine_groups(groups, groups_found, out);
    }
    if (out->arm_count == 0) {
        out->fault = TOGETHER_NO_ARM;
        return;
    }
    judge_sides(photos, out);
    if (!card_moved)
        answer_lean(photos, card_tilt_deg, out);
    space_arms(photos, out);
}
