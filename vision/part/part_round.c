#include "part_round.h"

#include "maths/angle.h"
#include "maths/linalg.h"
#include "maths/median.h"

#include <math.h>
#include <string.h>

/* Circle through points by linear least squares on x^2 + y^2 = 2 a x + 2 b y + c (I. Kasa, "A
 * circle fitting procedure and its error analysis", IEEE Trans. Instr. Meas. 25, 1976). */
static bool fit_circle(const struct vision_point p[PART_FIELD_RAYS],
                       const bool use[PART_FIELD_RAYS], struct part_circle *out)
{
    double m[9] = {0}, r[3] = {0};
    for (int i = 0; i < PART_FIELD_RAYS; i++) {
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

bool part_circle_through(const struct vision_point p[PART_FIELD_RAYS],
                         const bool allow[PART_FIELD_RAYS], int least, struct part_circle *out)
{
    bool use[PART_FIELD_RAYS];
    memcpy(use, allow, sizeof use);
    for (int round = 0; round < 6; round++) {
        double off[PART_FIELD_RAYS], used_off[PART_FIELD_RAYS] = {0};
        int n = 0;
        if (!fit_circle(p, use, out))
            return false;
        for (int k = 0; k < PART_FIELD_RAYS; k++) {
            off[k] =
                fabs(hypot(p[k].x - out->centre_mm.x, p[k].y - out->centre_mm.y) - out->radius_mm);
            if (allow[k])
                used_off[n++] = off[k];
        }
        out->scatter_mm = n ? 1.4826 * median_mean(used_off, n) : 1e9;
        out->used = 0;
        for (int k = 0; k < PART_FIELD_RAYS; k++) {
            use[k] = allow[k] && off[k] < fmax(0.15, 2.5 * out->scatter_mm);
            out->used += use[k];
        }
        if (out->used < least)
            return false;
    }
    return true;
}

/* Circle through the outline, extent[] away from a point inside, by the rays that are allowed. */
static bool outline_circle(const struct part_field *f, struct vision_point from,
                           const double extent[PART_FIELD_RAYS], const bool allow[PART_FIELD_RAYS],
                           int least, struct part_circle *out)
{
    struct vision_point p[PART_FIELD_RAYS];
    for (int k = 0; k < PART_FIELD_RAYS; k++) {
        double rad = k * 2 * PI / PART_FIELD_RAYS, r = extent[k] + f->s->pitch_mm / 2;
        p[k] = (struct vision_point){from.x + r * cos(rad), from.y + r * sin(rad)};
    }
    return part_circle_through(p, allow, least, out);
}

/* The boss as a circle through the outline between the arms. */
bool part_boss_circle(const struct part_field *f, const struct part *part, struct part_circle *out)
{
    double extent[PART_FIELD_RAYS];
    bool allow[PART_FIELD_RAYS];
    int n = 0;
    for (int k = 0; k < PART_FIELD_RAYS; k++) {
        double rad = k * 2 * PI / PART_FIELD_RAYS;
        extent[k] = part_field_reach(f, part->hub_mm, rad);
        allow[k] = extent[k] < 1.35 * part->hub_radius_mm;
        for (int i = 0; i < part->arm_count && allow[k]; i++) {
            double half = asin(fmin(1, 0.5 * part->arms[i].width_mm / part->hub_radius_mm));
            allow[k] = angle_apart(rad, part->arms[i].direction_rad) > half + 0.3;
        }
        n += allow[k];
    }
    const int least = PART_FIELD_RAYS / 6; /* less of an arc does not fix its centre */
    if (n < least || !outline_circle(f, part->hub_mm, extent, allow, least, out))
        return false;
    double moved = hypot(out->centre_mm.x - part->hub_mm.x, out->centre_mm.y - part->hub_mm.y);
    return out->scatter_mm < 0.2 && moved < 0.6 * part->hub_radius_mm;
}
/* ---- Discs ----------------------------------------------------------------------------------- */

#define MIN_DISC_RADIUS_MM 5.0
#define MAX_DISC_RADIUS_MM 35.0

/* Good when most of the outline is round. Rays pass over holes. From a place off the middle the
 * first circle is drawn by things that stick out, so twice more from the middle found. */
static bool round_outline(const struct part_field *f, struct vision_point from,
                          struct part_circle *out)
{
    const double hole_mm = 2.4, unlike = 0.3, scatter = 0.055;
    for (int round = 0; round < 3; round++) {
        double extent[PART_FIELD_RAYS], sorted[PART_FIELD_RAYS];
        bool allow[PART_FIELD_RAYS];
        int allowed = 0;
        for (int k = 0; k < PART_FIELD_RAYS; k++)
            sorted[k] = extent[k] =
                part_field_reach_over(f, from, k * 2 * PI / PART_FIELD_RAYS, hole_mm);
        double middle = median_mean(sorted, PART_FIELD_RAYS);
        for (int k = 0; k < PART_FIELD_RAYS; k++) {
            allow[k] = fabs(extent[k] - middle) < unlike * middle;
            allowed += allow[k];
        }
        const int least = (int)((round < 2 ? 0.4 : 0.6) * PART_FIELD_RAYS);
        if (allowed < least || !outline_circle(f, from, extent, allow, least, out))
            return false;
        from = out->centre_mm;
    }
    return out->scatter_mm < scatter * out->radius_mm;
}

static bool is_disc(const struct card_fix *fix, const struct part_circle *circle)
{
    struct lump place = {circle->centre_mm, 0};
    return circle->radius_mm > MIN_DISC_RADIUS_MM && circle->radius_mm < MAX_DISC_RADIUS_MM &&
           !part_field_at_rim(fix, &place);
}

bool part_find_round(const struct part_field *f, const struct card_fix *fix,
                     struct part_circle *out)
{
    for (int i = 0; i < f->lump_count; i++)
        if (!part_field_at_rim(fix, &f->lumps[i]) && round_outline(f, f->lumps[i].at_mm, out) &&
            is_disc(fix, out))
            return true;
    return false;
}
