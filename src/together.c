#include "together.h"

#include "direction.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* Backlash and a nudge turn an arm by a few degrees; arms of one part stand further apart. */
#define SAME_ARM_DEG 10.0

struct group {
    double angle_deg; /* of its first arm */
    int count;
    struct combine_reading readings[COMBINE_MAX_PHOTOS];
    int photos[COMBINE_MAX_PHOTOS];
};

static bool is_used(const struct together *t, const struct vision_result *result)
{
    return result->arm_count > 0 &&
           (result->status == VISION_OK || (t->unsure_photos && result->status == VISION_UNSURE));
}

/* Sure photos if there are two; an unsure one among them would only spoil the mean. */
static void choose_photos(const struct together_photo *photos, int count, struct together *t)
{
    int sure = 0;
    for (int i = 0; i < count; i++)
        sure += photos[i].result->status == VISION_OK;
    t->unsure_photos = sure < 2;
    for (int i = 0; i < count; i++) {
        const struct vision_result *result = photos[i].result;
        bool used = is_used(t, result);
        t->used += used;
        if (used && result->status == VISION_UNSURE && t->reason == VISION_REASON_NONE)
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

static int match_arms(const struct together_photo *photos, const struct together *t,
                      struct group *groups)
{
    int count = 0;
    for (int i = 0; i < t->photo_count; i++) {
        const struct vision_result *result = photos[i].result;
        for (int a = 0; is_used(t, result) && a < result->arm_count; a++) {
            const struct vision_arm *arm = &result->arms[a];
            struct group *group = group_for(groups, &count, i, arm->angle_deg);
            if (!group)
                continue;
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

static void combine_groups(const struct group *groups, int count, double card_tilt_deg,
                           struct together *t)
{
    for (int g = 0; g < count; g++) {
        if (!is_enough(&groups[g])) {
            t->lonely++;
            continue;
        }
        struct together_arm *arm = &t->arms[t->arm_count++];
        struct combine_question q = {groups[g].readings, groups[g].count, card_tilt_deg,
                                     t->card_moved};
        combine(&q, &arm->all);
        arm->photo_count = groups[g].count;
        for (int i = 0; i < groups[g].count; i++)
            arm->photos[i] = groups[g].photos[i];
        t->disagree |= arm->all.disagree;
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
    combine_groups(groups, match_arms(photos, out, groups), card_tilt_deg, out);
    if (out->arm_count == 0)
        out->fault = TOGETHER_NO_ARM;
}
