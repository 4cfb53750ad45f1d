#include "spacing.h"

#include "budget.h"
#include "maths/chi_square.h"
#include "maths/linalg.h"
#include "maths/median.h"

#include <math.h>
#include <string.h>

/* Arms further than this from even spacing belong to another design. */
#define PATTERN_DEG 3.0
/* An arm that would be drawn in further may as well be made that way; of what one is drawn in by,
 * so much is left open (both judged on rendered parts, even and uneven). */
#define MOST_DRAWN_DEG 0.6
#define DRAWN_SHARE 0.3
/* Arms told worse than this are likelier to be told wrong than to be made uneven. */
#define VAGUE_DEG 0.35

static bool is_spaced(const struct vision_arm *arms, int count, double step, double within_deg,
                      double *off_deg)
{
    double low = INFINITY, high = -INFINITY;
    for (int i = 0; i < count; i++) {
        off_deg[i] = remainder(arms[i].angle_deg - arms[0].angle_deg, step);
        low = fmin(low, off_deg[i]);
        high = fmax(high, off_deg[i]);
    }
    return high - low < within_deg;
}

static int find_spacing(const struct vision_arm *arms, int count, double within_deg,
                        double off_deg[VISION_MAX_ARMS])
{
    /* two arms 72 or 144 degrees apart are a crank, three are a wheel with five */
    static const struct {
        int deg, least_arms;
    } spacings[] = {{90, 2}, {120, 2}, {60, 2}, {72, 3}};
    for (int k = 0; k < 4 && count <= VISION_MAX_ARMS; k++)
        if (count >= spacings[k].least_arms &&
            is_spaced(arms, count, spacings[k].deg, within_deg, off_deg))
            return spacings[k].deg;
    return 0;
}

int spacing_of(const struct vision_arm *arms, int count, double off_deg[VISION_MAX_ARMS])
{
    return find_spacing(arms, count, PATTERN_DEG, off_deg);
}

static double variance_of(struct vision_arm *arm, enum vision_term term)
{
    const struct vision_budget_line *line = budget_line(arm, term);
    return line ? line->u_deg * line->u_deg : 0;
}

/* The arms' errors against their common turn, and what is made of them. With R the covariance of
 * the measured angles, m^2 that of how arms are made, S = R + m^2 and 1 the vector of ones:
 *
 *     turn   = 1' S^-1 off / (1' S^-1 1)
 *     angles = measured - R S^-1 (off - turn 1) = A measured
 */
struct even_part {
    int count;
    double off_deg[VISION_MAX_ARMS], turn_deg, chi_square;
    double r[VISION_MAX_ARMS * VISION_MAX_ARMS];
    double inverse[VISION_MAX_ARMS * VISION_MAX_ARMS]; /* of S */
    double ones[VISION_MAX_ARMS];                      /* 1' S^-1 / (1' S^-1 1) */
    double a[VISION_MAX_ARMS * VISION_MAX_ARMS];
    double drawn_deg[VISION_MAX_ARMS];
};

/* Covariance of what an unknown slope does to two arms. */
static double shared_tilt(const double slope_cov[4], const double a[2], const double b[2])
{
    return a[0] * (slope_cov[0] * b[0] + slope_cov[1] * b[1]) +
           a[1] * (slope_cov[2] * b[0] + slope_cov[3] * b[1]);
}

static bool weigh(struct vision_arm *arms, const double slope_cov[4], struct even_part *p)
{
    const int n = p->count;
    double sum[VISION_MAX_ARMS * VISION_MAX_ARMS] = {0}, whole = 0;
    for (int i = 0; i < n; i++)
        for (int j = 0; j < n; j++) {
            p->r[i * n + j] = shared_tilt(slope_cov, arms[i].tilt_gain, arms[j].tilt_gain);
            if (i == j)
                p->r[i * n + j] += variance_of(&arms[i], VISION_TERM_EDGE) +
                                   variance_of(&arms[i], VISION_TERM_STRAIGHTNESS);
            sum[i * n + j] =
                p->r[i * n + j] + (i == j ? SPACING_MOULDED_DEG * SPACING_MOULDED_DEG : 0);
        }
    if (!linalg_invert(n, sum, p->inverse))
        return false;
    p->turn_deg = 0;
    for (int j = 0; j < n; j++) {
        p->ones[j] = 0;
        for (int i = 0; i < n; i++)
            p->ones[j] += p->inverse[i * n + j];
        whole += p->ones[j];
    }
    for (int j = 0; j < n; j++) {
        p->ones[j] /= whole;
        p->turn_deg += p->ones[j] * p->off_deg[j];
    }
    return true;
}

static void agree(struct even_part *p)
{
    const int n = p->count;
    double gain[VISION_MAX_ARMS * VISION_MAX_ARMS]; /* R S^-1 */
    p->chi_square = 0;
    for (int i = 0; i < n; i++)
        for (int j = 0; j < n; j++) {
            gain[i * n + j] = 0;
            for (int k = 0; k < n; k++)
                gain[i * n + j] += p->r[i * n + k] * p->inverse[k * n + j];
            p->chi_square += (p->off_deg[i] - p->turn_deg) * p->inverse[i * n + j] *
                             (p->off_deg[j] - p->turn_deg);
        }
    for (int i = 0; i < n; i++) {
        double row = 0;
        for (int k = 0; k < n; k++)
            row += gain[i * n + k];
        for (int j = 0; j < n; j++)
            p->a[i * n + j] = (i == j) - gain[i * n + j] + row * p->ones[j];
        p->drawn_deg[i] = -p->off_deg[i];
        for (int j = 0; j < n; j++)
            p->drawn_deg[i] += p->a[i * n + j] * p->off_deg[j];
    }
}

static bool is_even(const struct even_part *p)
{
    for (int i = 0; i < p->count; i++)
        if (fabs(p->drawn_deg[i]) > MOST_DRAWN_DEG)
            return false;
    return p->chi_square <= chi_square_usual(p->count - 1);
}

/* A term that each arm has for itself, as it comes through. */
static void mix_own_term(const struct even_part *p, int i, struct vision_arm *before,
                         enum vision_term term, struct vision_arm *arm)
{
    struct vision_budget_line *line = budget_line(arm, term);
    double variance = 0, fourth = 0;
    if (!line)
        return;
    for (int j = 0; j < p->count; j++) {
        const struct vision_budget_line *from = budget_line(&before[j], term);
        double part = from ? pow(p->a[i * p->count + j] * from->u_deg, 2) : 0;
        variance += part;
        fourth += from ? part * part / from->dof : 0;
    }
    line->u_deg = sqrt(variance);
    if (fourth > 0)
        line->dof = variance * variance / fourth; /* Welch-Satterthwaite: JCGM 100, G.4.1 */
}

static void mix_tilt(const struct even_part *p, int i, const struct vision_arm *before,
                     const double slope_cov[4], struct vision_arm *arm)
{
    struct vision_budget_line *line = budget_line(arm, VISION_TERM_TILT);
    double had = shared_tilt(slope_cov, arm->tilt_gain, arm->tilt_gain);
    arm->tilt_gain[0] = arm->tilt_gain[1] = 0;
    for (int j = 0; j < p->count; j++)
        for (int axis = 0; axis < 2; axis++)
            arm->tilt_gain[axis] += p->a[i * p->count + j] * before[j].tilt_gain[axis];
    double has = shared_tilt(slope_cov, arm->tilt_gain, arm->tilt_gain);
    if (line) /* what is of second order stays */
        line->u_deg = sqrt(fmax(0, line->u_deg * line->u_deg - had) + has);
}

static void mix_arm(const struct even_part *p, int i, struct vision_arm *before,
                    const double slope_cov[4], struct vision_arm *arm)
{
    double made = 0;
    for (int j = 0; j < p->count; j++)
        made += pow(p->a[i * p->count + j] - (i == j), 2);
    arm->angle_deg += p->drawn_deg[i];
    mix_own_term(p, i, before, VISION_TERM_EDGE, arm);
    mix_own_term(p, i, before, VISION_TERM_STRAIGHTNESS, arm);
    mix_tilt(p, i, before, slope_cov, arm);
    budget_add(arm, VISION_TERM_SPACING,
               hypot(SPACING_MOULDED_DEG * sqrt(made), DRAWN_SHARE * p->drawn_deg[i]),
               BUDGET_JUDGED_DOF);
    budget_sum(arm);
}

static bool combine_all(struct vision_arm *arms, int count, const double slope_cov[4])
{
    struct vision_arm before[VISION_MAX_ARMS];
    struct even_part part = {.count = count};
    if (!spacing_of(arms, count, part.off_deg) || !weigh(arms, slope_cov, &part))
        return false;
    agree(&part);
    if (!is_even(&part))
        return false;
    for (int i = 0; i < count; i++)
        before[i] = arms[i];
    for (int i = 0; i < count; i++)
        mix_arm(&part, i, before, slope_cov, &arms[i]);
    return true;
}

static void add_doubt(struct vision_arm *arm, double apart_deg)
{
    struct vision_budget_line *edge = budget_line(arm, VISION_TERM_EDGE);
    edge->u_deg = hypot(edge->u_deg, apart_deg);
    budget_sum(arm);
}

/* The arm that is told worst, if that is poorly; -1 else. */
static int worst_told(struct vision_arm *arms, int count)
{
    int worst = 0;
    for (int i = 1; i < count; i++)
        if (variance_of(&arms[i], VISION_TERM_EDGE) > variance_of(&arms[worst], VISION_TERM_EDGE))
            worst = i;
    return variance_of(&arms[worst], VISION_TERM_EDGE) > VAGUE_DEG * VAGUE_DEG ? worst : -1;
}

/* Arms in line are made in one piece to a fraction of a degree, a crank's to whatever it is for.
 * Of two either may be the wrong one. */
static void doubt_both(struct vision_arm arms[2], double apart_deg)
{
    const double in_line_deg = 10;
    if (fabs(remainder(arms[0].angle_deg - arms[1].angle_deg, 360)) < 180 - in_line_deg)
        return;
    add_doubt(&arms[0], apart_deg);
    add_doubt(&arms[1], apart_deg);
}

static void swap_arms(struct vision_arm *a, struct vision_arm *b)
{
    struct vision_arm kept = *a;
    *a = *b;
    *b = kept;
}

bool vision_space_arms(struct vision_arm *arms, int count, const double slope_cov[4])
{
    double off_deg[VISION_MAX_ARMS];
    if (combine_all(arms, count, slope_cov))
        return true;
    const int worst = worst_told(arms, count), spacing_deg = spacing_of(arms, count, off_deg);
    if (count < 2 || worst < 0 || spacing_deg == 0)
        return false;
    if (count == 2) {
        doubt_both(arms, off_deg[1]);
        return false;
    }
    swap_arms(&arms[worst], &arms[count - 1]);
    bool even = vision_space_arms(arms, count - 1, slope_cov);
    if (even) { /* against another arm, now drawn in; that may have put this one beyond a pattern */
        double off = remainder(arms[count - 1].angle_deg - arms[0].angle_deg, spacing_deg);
        add_doubt(&arms[count - 1], off);
    }
    swap_arms(&arms[worst], &arms[count - 1]);
    return even;
}

void spacing_doubt_holes(struct vision_arm *arms, int count)
{
    const double usual = 2, within_deg = 6;
    double off_deg[VISION_MAX_ARMS], sorted[VISION_MAX_ARMS];
    if (count < 3 || !find_spacing(arms, count, within_deg, off_deg))
        return;
    memcpy(sorted, off_deg, sizeof sorted);
    const double middle = median_upper(sorted, count);
    for (int i = 0; i < count; i++) {
        double apart = fabs(off_deg[i] - middle);
        if (apart > usual * hypot(arms[i].u_deg, SPACING_DRILLED_DEG))
            add_doubt(&arms[i], apart);
    }
}
