#include "combine.h"

#include "direction.h"

#include <math.h>
#include <string.h>

/* How probable what is called a disagreement may be, of sound photos: of any of their arms. */
#define AGREE_LEVEL 0.05

/* The lens and a bulge strike every photo, but differently from each view: the mean is given no
 * credit for that, and neither are photos blamed for differing by it. */
enum combine_share combine_share_of(const struct vision_budget_line *line, bool card_moved)
{
    switch (line->scope) {
    case VISION_SCOPE_ARM:
    case VISION_SCOPE_PRINT:
        return COMBINE_ALL;
    case VISION_SCOPE_CAMERA:
        return COMBINE_PERHAPS;
    case VISION_SCOPE_PLACE:
        if (card_moved)
            return COMBINE_OWN;
        return line->term == VISION_TERM_TILT        ? COMBINE_TILT
               : line->term == VISION_TERM_REFERENCE ? COMBINE_ALL
                                                     : COMBINE_PERHAPS;
    case VISION_SCOPE_PHOTO:
        return COMBINE_PHOTO;
    default:
        return COMBINE_OWN;
    }
}

static enum combine_share share_of(const struct combine_question *q,
                                   const struct vision_budget_line *line)
{
    return combine_share_of(line, q->lean == NULL);
}

/* Does averaging over photos reduce it? One arm has one reading in each. */
static bool is_photos_own(enum combine_share share)
{
    return share == COMBINE_OWN || share == COMBINE_PHOTO;
}

/* Variance of one reading from what is its photo's own, and perhaps from what may be. */
static double variance_of(const struct combine_question *q, int i, bool perhaps)
{
    const struct vision_arm *arm = q->readings[i].arm;
    double variance = 0;
    for (int k = 0; k < arm->budget_count; k++) {
        enum combine_share share = share_of(q, &arm->budget[k]);
        if (is_photos_own(share) || (perhaps && share == COMBINE_PERHAPS))
            variance += arm->budget[k].u_deg * arm->budget[k].u_deg;
    }
    return fmax(variance, 1e-12);
}

/* ---- Sums of readings ------------------------------------------------------------------------ */

/* One term of sum c_i angle_i, by what its errors share (JCGM 100:2008, 5.2.2). For a difference
 * (sum c_i = 0) what is perhaps shared counts as not. */
static struct uncertainty term_of_sum(const struct combine_question *q, const double *c,
                                      enum vision_term term, bool difference)
{
    struct uncertainty own[COMBINE_MAX_PHOTOS];
    double all = 0, gain[2] = {0}, all_dof = INFINITY;
    int n = 0;
    bool tilted = false;
    for (int i = 0; i < q->count; i++) {
        const struct vision_arm *arm = q->readings[i].arm;
        for (int k = 0; k < arm->budget_count; k++) {
            const struct vision_budget_line *line = &arm->budget[k];
            if (line->term != term || c[i] == 0)
                continue;
            enum combine_share share = share_of(q, line);
            if (is_photos_own(share) || (share == COMBINE_PERHAPS && difference)) {
                own[n++] = (struct uncertainty){fabs(c[i]) * line->u_deg, line->dof};
                continue;
            }
            tilted |= share == COMBINE_TILT;
            all += c[i] * line->u_deg;
            all_dof = fmin(all_dof, line->dof);
            for (int a = 0; a < 2; a++)
                gain[a] += c[i] * arm->tilt_gain[a];
        }
    }
    if (tilted)
        return (struct uncertainty){lean_u_deg(q->lean, gain), all_dof};
    return n > 0 ? uncertainty_combine(own, (size_t)n) : (struct uncertainty){fabs(all), all_dof};
}

/* ---- Agreement ------------------------------------------------------------------------------- */

/* Angles and tilt gains less the weighted mean of their side. */
struct centred {
    double off_deg[COMBINE_MAX_PHOTOS], gain[COMBINE_MAX_PHOTOS][2], weight[COMBINE_MAX_PHOTOS];
};

static double off_first(const struct combine_question *q, int i)
{
    return direction_turn(q->readings[i].arm->angle_deg - q->readings[0].arm->angle_deg);
}

static void centre(const struct combine_question *q, struct centred *out)
{
    for (int side = COMBINE_SIDE_UNKNOWN; side <= COMBINE_COUNTER_CLOCKWISE; side++) {
        double sum = 0, mean = 0, gain[2] = {0};
        for (int i = 0; i < q->count; i++) {
            if ((int)q->readings[i].side != side)
                continue;
            double w = out->weight[i] = 1 / variance_of(q, i, true);
            sum += w;
            mean += w * off_first(q, i);
            for (int a = 0; a < 2; a++)
                gain[a] += w * q->readings[i].arm->tilt_gain[a];
        }
        for (int i = 0; i < q->count; i++) {
            if ((int)q->readings[i].side != side)
                continue;
            out->off_deg[i] = off_first(q, i) - mean / sum;
            for (int a = 0; a < 2; a++)
                out->gain[i][a] = q->readings[i].arm->tilt_gain[a] - gain[a] / sum;
        }
    }
}

/* The slope of the card that explains this arm's differences best, held by its prior 0 +- tau:
 * (sum w g g^T + I / tau^2) a = sum w g off. */
static void shared_slope(const struct combine_question *q, const struct centred *at,
                         double slope_deg[2])
{
    slope_deg[0] = slope_deg[1] = 0;
    if (!q->lean)
        return;
    double prior = 1 / (q->lean->prior_deg * q->lean->prior_deg);
    double xx = prior, xy = 0, yy = prior, x = 0, y = 0;
    for (int i = 0; i < q->count; i++) {
        const double *g = at->gain[i];
        xx += at->weight[i] * g[0] * g[0];
        xy += at->weight[i] * g[0] * g[1];
        yy += at->weight[i] * g[1] * g[1];
        x += at->weight[i] * g[0] * at->off_deg[i];
        y += at->weight[i] * g[1] * at->off_deg[i];
    }
    double det = xx * yy - xy * xy; /* > 0: the prior stands on the diagonal */
    slope_deg[0] = (yy * x - xy * y) / det;
    slope_deg[1] = (xx * y - xy * x) / det;
}

static int sides_of(const struct combine_question *q)
{
    return q->readings[0].side == COMBINE_SIDE_UNKNOWN ? 1 : 2;
}

/* chi^2 and the Birge ratio: R. T. Birge, Phys. Rev. 40, 207 (1932). */
static void judge(const struct combine_question *q, struct combined *out)
{
    struct centred at = {0};
    double slope[2], worst = -1, square = 0, parts = 0;
    centre(q, &at);
    shared_slope(q, &at, slope);
    out->chi_square = q->lean ? (slope[0] * slope[0] + slope[1] * slope[1]) /
                                    (q->lean->prior_deg * q->lean->prior_deg)
                              : 0;
    for (int i = 0; i < q->count; i++) {
        double rest = at.off_deg[i] - at.gain[i][0] * slope[0] - at.gain[i][1] * slope[1];
        double part = at.weight[i] * rest * rest;
        out->chi_square += part;
        parts += part;
        square += at.off_deg[i] * at.off_deg[i];
        if (part > worst) {
            worst = part;
            out->odd_one = i;
        }
    }
    out->odd_share = parts > 0 ? worst / parts : 0;
    out->dof = q->count - sides_of(q);
    out->spread_deg = out->dof > 0 ? sqrt(square / out->dof) : NAN;
    out->birge = out->dof > 0 ? sqrt(out->chi_square / out->dof) : NAN;
    out->probability = out->dof > 0 ? uncertainty_chi_square_tail(out->chi_square, out->dof) : 1;
    out->disagree = out->probability < uncertainty_level_of_each(AGREE_LEVEL, (size_t)q->tested);
}

/* ---- Mean and backlash ----------------------------------------------------------------------- */

/* c of the mean of one side, weighted by what each photo has for itself: with the lean's doing
 * taken out of each that is the best there is (least squares, level by level). */
static void side_mean(const struct combine_question *q, enum combine_side side, double *c)
{
    double sum = 0;
    for (int i = 0; i < q->count; i++) {
        c[i] = q->readings[i].side == side ? 1 / variance_of(q, i, false) : 0;
        sum += c[i];
    }
    for (int i = 0; i < q->count; i++)
        c[i] /= sum;
}

/* Of the angles since the first, each less what the lean turned it by. */
static double sum_of(const struct combine_question *q, const double *c)
{
    double sum = 0;
    for (int i = 0; i < q->count; i++) {
        const double *gain = q->readings[i].arm->tilt_gain;
        double leant =
            q->lean ? gain[0] * q->lean->slope_deg[0] + gain[1] * q->lean->slope_deg[1] : 0;
        sum += c[i] * (off_first(q, i) - leant);
    }
    return sum;
}

/* Photos that disagree know less than they say: their own errors grow by the Birge ratio, known
 * as well as the spread of so many (as in the CODATA adjustments). */
static struct uncertainty enlarged(const struct combined *out, struct uncertainty u)
{
    return out->disagree ? (struct uncertainty){u.u * out->birge, fmin(u.dof, out->dof)} : u;
}

/* The term as the first reading that has it names it; NULL where none has. */
static const struct vision_budget_line *find_term(const struct combine_question *q,
                                                  enum vision_term term)
{
    for (int i = 0; i < q->count; i++)
        for (int k = 0; k < q->readings[i].arm->budget_count; k++)
            if (q->readings[i].arm->budget[k].term == term)
                return &q->readings[i].arm->budget[k];
    return NULL;
}

/* Photos may differ in what terms they have. */
static void fill_budget(const struct combine_question *q, const double *c, struct combined *out)
{
    const struct vision_arm *first = q->readings[0].arm;
    double square = 0;
    out->arm = *first;
    out->arm.budget_count = 0;
    for (int t = 0; t < VISION_TERM_COUNT; t++) {
        const struct vision_budget_line *like = find_term(q, (enum vision_term)t);
        if (!like)
            continue;
        struct uncertainty u = term_of_sum(q, c, like->term, false);
        if (is_photos_own(share_of(q, like)))
            u = enlarged(out, u);
        struct vision_budget_line *line = &out->arm.budget[out->arm.budget_count++];
        *line = *like;
        line->u_deg = u.u;
        line->dof = fmax(1, u.dof);
        square += u.u * u.u;
    }
    for (int a = 0; a < 2; a++) {
        out->arm.tilt_gain[a] = 0;
        for (int i = 0; i < q->count; i++)
            out->arm.tilt_gain[a] += c[i] * q->readings[i].arm->tilt_gain[a];
    }
    out->arm.u_deg = sqrt(square);
    out->arm.angle_deg = direction_normal(first->angle_deg + sum_of(q, c));
    out->arm.deviation_deg = direction_deviation(out->arm.angle_deg);
}

static void find_backlash(const struct combine_question *q, const double *c, struct combined *out)
{
    struct uncertainty terms[VISION_TERM_COUNT];
    for (int t = 0; t < VISION_TERM_COUNT; t++) {
        const struct vision_budget_line *like = find_term(q, (enum vision_term)t);
        terms[t] = term_of_sum(q, c, (enum vision_term)t, true);
        if (like && is_photos_own(share_of(q, like)))
            terms[t] = enlarged(out, terms[t]);
    }
    out->have_backlash = true;
    out->backlash_deg = sum_of(q, c);
    out->backlash_u = uncertainty_combine(terms, VISION_TERM_COUNT);
    out->backlash_shows = fabs(out->backlash_deg) > uncertainty_expand(out->backlash_u);
}

void combine(const struct combine_question *q, struct combined *out)
{
    double mean[COMBINE_MAX_PHOTOS] = {0};
    *out = (struct combined){0};
    judge(q, out);
    if (sides_of(q) == 1) {
        side_mean(q, COMBINE_SIDE_UNKNOWN, mean);
        fill_budget(q, mean, out);
        return;
    }
    double clockwise[COMBINE_MAX_PHOTOS], counter[COMBINE_MAX_PHOTOS], apart[COMBINE_MAX_PHOTOS];
    side_mean(q, COMBINE_CLOCKWISE, clockwise);
    side_mean(q, COMBINE_COUNTER_CLOCKWISE, counter);
    for (int i = 0; i < q->count; i++) {
        mean[i] = (clockwise[i] + counter[i]) / 2;
        apart[i] = clockwise[i] - counter[i];
    }
    fill_budget(q, mean, out);
    find_backlash(q, apart, out);
}
