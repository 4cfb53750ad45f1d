/* The stages in order: decode, card, light and silhouette, part, edges, reference, budget. */
#include "budget/budget.h"
#include "budget/spacing.h"
#include "budget/witness.h"
#include "maths/angle.h"
#include "pointing.h"
#include "reference.h"
#include "stage.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- Budget ---------------------------------------------------------------------------------- */

static struct budget_question budget_of(const struct stage *s, const struct reference_line *line)
{
    const struct vision_result *out = s->out;
    const struct vision_point *ends = out->reference_px;
    struct vision_point a = vision_plane_to_card(&s->fix.plane, ends[0]),
                        b = vision_plane_to_card(&s->fix.plane, ends[1]);
    struct budget_question q = {.plane = &s->fix.plane,
                                /* eight coordinates a marker, eight unknowns; k1 has its prior */
                                .plane_dof = 8.0 * s->fix.markers - 8,
                                .residual_px = out->residual_px,
                                .px_per_mm = out->px_per_mm,
                                .card_tilt_deg = s->options->card_tilt_deg,
                                .hub_mm = s->part.hub_mm,
                                .line_reference = out->reference != VISION_REFERENCE_CARD,
                                .line_mm = {(a.x + b.x) / 2, (a.y + b.y) / 2},
                                .line_deg = out->reference_deg,
                                .line_u_deg = line->u_deg,
                                .line_dof = line->dof,
                                .line_shared = line->shared};
    memcpy(q.camera_mm, s->camera_mm, sizeof q.camera_mm);
    return q;
}

/* ---- Result ---------------------------------------------------------------------------------- */

/* As its own edges tell it. */
static void describe_arm(const struct stage *s, int i, double reference_deg, struct vision_arm *arm)
{
    const struct arm_fit *fit = &s->fits[i];
    struct vision_point hub = s->part.hub_mm;
    hub.x -= fit->offset_mm * sin(fit->direction_rad);
    hub.y += fit->offset_mm * cos(fit->direction_rad);
    arm->angle_deg = angle_wrap_360(fit->direction_rad * DEG - reference_deg);
    arm->length_mm = s->part.arms[i].tip_mm;
    arm->hub_px = vision_plane_to_photo(&s->fix.plane, hub);
}

static int by_angle(const void *a, const void *b)
{
    double d =
        ((const struct vision_arm *)a)->angle_deg - ((const struct vision_arm *)b)->angle_deg;
    return (d > 0) - (d < 0);
}

/* What the arm's own edges leave open. */
static double edge_deg(struct vision_arm *arm)
{
    return budget_line(arm, VISION_TERM_EDGE)->u_deg;
}

#define POOR_DEG 0.6

/* The arm that a person pointed at, -1 when nobody did. */
static int pointed_arm(const struct stage *s, const struct vision_arm *arms, int count)
{
    double best = INFINITY;
    int pointed = -1;
    for (int i = 0; i < count && s->options->have_arm_hint; i++) {
        double aside = pointing_aside_rad(s, (arms[i].angle_deg + s->out->reference_deg) / DEG);
        if (aside < best) {
            best = aside;
            pointed = i;
        }
    }
    return pointed;
}

/* An arm much worse told than the best one would only cloud the answer, unless it is the one
 * wanted. Returns how many are kept. */
static int drop_poor_arms(const struct stage *s, struct vision_arm *arms, int count)
{
    const double good_deg = 0.35;
    const int pointed = pointed_arm(s, arms, count);
    double best = INFINITY;
    int kept = 0;
    for (int i = 0; i < count; i++)
        best = fmin(best, edge_deg(&arms[i]));
    double limit = fmin(fmax(good_deg, 2.5 * best), fmax(POOR_DEG, best));
    for (int i = 0; i < count; i++)
        if (!(edge_deg(&arms[i]) > limit) || i == pointed)
            arms[kept++] = arms[i];
    return kept;
}

/* Keeps beside each arm what it told by itself, with any doubt that the others cast on it. */
static void keep_told(struct vision_result *out, const struct vision_arm *told, int count)
{
    for (int i = 0; i < out->arm_count; i++) {
        struct vision_arm *own = &out->told[i];
        double nearest = INFINITY;
        for (int k = 0; k < count; k++) {
            double apart = fabs(remainder(told[k].angle_deg - out->arms[i].angle_deg, 360));
            if (apart < nearest) {
                nearest = apart;
                *own = told[k];
            }
        }
        struct vision_budget_line *edge = budget_line(own, VISION_TERM_EDGE);
        edge->u_deg = fmax(edge->u_deg, edge_deg(&out->arms[i]));
        budget_sum(own);
    }
    out->spaced = true;
}

/* What the arms say of the card and of each other, and which of them are told well enough. */
static void settle_arms(const struct stage *s)
{
    struct vision_result *out = s->out;
    struct vision_arm told[VISION_MAX_ARMS], good[VISION_MAX_ARMS];
    const int all = out->arm_count;
    const double variance = s->options->card_tilt_deg * s->options->card_tilt_deg;
    const double slope_cov[4] = {variance, 0, 0, variance};
    memcpy(told, out->arms, sizeof told);
    memcpy(good, out->arms, sizeof good);
    int count = drop_poor_arms(s, good, out->arm_count);
    if (s->is_disc) {
        spacing_doubt_holes(good, count);
        count = drop_poor_arms(s, good, count);
    }
    witness_judge(good, count, &s->fix.plane, s->part.hub_mm, &out->witness);
    const bool leans = out->witness.verdict == VISION_WITNESS_LEANS;
    const bool even = !s->is_disc && !leans; /* holes of discs are spaced less evenly */
    if (leans)
        stage_note(out, VISION_UNSURE, VISION_LEANING_CARD);
    bool spaced = even && vision_space_arms(out->arms, out->arm_count, slope_cov);
    if (spaced) {
        out->arm_count = drop_poor_arms(s, out->arms, out->arm_count);
    } else {
        spaced = even && vision_space_arms(good, count, slope_cov);
        memcpy(out->arms, good, sizeof good);
        out->arm_count = count;
    }
    if (spaced)
        keep_told(out, told, all);
}

/* The arm's place in the photo and its deviation, once its angle is settled. */
static void place_arm(const struct stage *s, struct vision_arm *arm)
{
    struct vision_point hub = vision_plane_to_card(&s->fix.plane, arm->hub_px);
    double direction = (arm->angle_deg + s->out->reference_deg) / DEG;
    struct vision_point tip = {hub.x + arm->length_mm * cos(direction),
                               hub.y + arm->length_mm * sin(direction)};
    arm->angle_deg = angle_wrap_360(arm->angle_deg);
    arm->deviation_deg = angle_from_square(arm->angle_deg);
    arm->tip_px = vision_plane_to_photo(&s->fix.plane, tip);
}

/* The arm that the link hangs on, -1 when that one could not be measured. */
static int linked_arm(const struct stage *s, const struct reference_line *line)
{
    const double same_rad = 12 / DEG; /* a cup stands off its arm's axis, seen askew */
    const struct vision_result *out = s->out;
    double x = line->joint_mm.x - s->part.hub_mm.x, y = line->joint_mm.y - s->part.hub_mm.y;
    double nearest = same_rad;
    int linked = -1;
    for (int i = 0; i < out->arm_count; i++) {
        double direction = (out->arms[i].angle_deg + out->reference_deg) / DEG;
        double aside = angle_apart(atan2(y, x), direction);
        if (aside < nearest) {
            nearest = aside;
            linked = i;
        }
    }
    return linked;
}

/* Names go counter-clockwise from the reference, or from the arm that the link hangs on: the angle
 * between those two is what the mechanism feels. */
static void name_arms(const struct stage *s, const struct reference_line *line)
{
    struct vision_result *out = s->out;
    struct vision_arm sorted[VISION_MAX_ARMS];
    qsort(out->arms, (size_t)out->arm_count, sizeof out->arms[0], by_angle);
    int first = line->joined ? linked_arm(s, line) : 0;
    if (first < 0) {
        stage_note(out, VISION_UNSURE, VISION_LINKS_ARM);
        first = 0;
    }
    memcpy(sorted, out->arms, sizeof sorted);
    for (int i = 0; i < out->arm_count; i++) {
        out->arms[i] = sorted[(first + i) % out->arm_count];
        snprintf(out->arms[i].name, sizeof out->arms[i].name, "%c", 'A' + i);
    }
}

static void result_stage(struct stage *s)
{
    struct vision_result *out = s->out;
    struct reference_line line;
    enum vision_reason reason = reference_find(&s->image, &s->fix, &s->silhouette, s->field,
                                               s->camera_mm, &s->whole, s->options, out, &line);
    if (reason != VISION_REASON_NONE) {
        stage_fail(out, reason);
        return;
    }
    if (line.doubt != VISION_REASON_NONE)
        stage_note(out, VISION_UNSURE, line.doubt);
    struct budget_question q = budget_of(s, &line);
    out->arm_count = s->part.arm_count;
    for (int i = 0; i < out->arm_count; i++) {
        const struct arm_fit *fit = &s->fits[i];
        q.direction_rad = fit->direction_rad;
        q.body_mm = fit->body_mm;
        q.bend = fit->bend;
        q.edge_deg = fit->u_rad * DEG;
        q.edge_dof = fit->dof;
        describe_arm(s, i, out->reference_deg, &out->arms[i]);
        budget_make(&q, &out->arms[i]);
    }
    settle_arms(s);
    const int seen = s->is_disc ? s->part.arm_count + s->disc_untold : s->whole.arm_count;
    out->untold_arms = s->options->have_arm_hint ? 0 : seen - out->arm_count;
    const int pointed = pointed_arm(s, out->arms, out->arm_count);
    if (pointed >= 0) {
        out->arms[0] = out->arms[pointed];
        out->told[0] = out->told[pointed];
        out->arm_count = 1;
    }
    double best = INFINITY;
    for (int i = 0; i < out->arm_count; i++) {
        place_arm(s, &out->arms[i]);
        best = fmin(best, edge_deg(&out->arms[i]));
    }
    if (!(best < POOR_DEG))
        stage_note(out, VISION_UNSURE,
                   s->by_balls ? VISION_BALL_ASKEW
                               : stage_blame(s, s->is_disc ? VISION_POOR_HOLES : VISION_SHORT_ARM));
    name_arms(s, &line);
}

static bool hints_hold(const struct stage *s)
{
    const struct vision_options *o = s->options;
    const bool line =
        o->reference == VISION_REFERENCE_EDGE || o->reference == VISION_REFERENCE_POINTS;
    const bool hold =
        (!line || (stage_in_photo(s, o->hint_px[0]) && stage_in_photo(s, o->hint_px[1]))) &&
        (!o->have_arm_hint ||
         (stage_in_photo(s, o->hub_hint_px) && stage_in_photo(s, o->tip_hint_px)));
    return hold || stage_fail(s->out, VISION_BAD_HINT);
}

void vision_measure(const struct vision_photo *photo, const struct vision_options *options,
                    struct vision_result *out)
{
    struct stage s = stage_start(photo, options, out);
    if (stage_card(&s) && hints_hold(&s) && stage_part(&s))
        result_stage(&s);
    stage_end(&s);
}
