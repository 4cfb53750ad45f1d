#include "lean.h"

#include "direction.h"
#include "uncertainty.h"

#include <math.h>

#define RARE 0.01
/* Nobody lays a card more aslant than by about this without seeing it; standard deviation. */
#define WIDE_DEG 3.0
/* What leans by more than this is no card that lay against a part. */
#define MOST_DEG 10.0
/* A part or card that was touched between two photos may have turned by any angle. */
#define TOUCHED_DEG 90.0

/* A slope or angle known better than this is taken for as well known, so that nothing is divided by
 * zero. */
#define LEAST_DEG 1e-6

struct sums {
    double levels[LEAN_MAX_LEVELS][LEAN_MAX_LEVELS], right[LEAN_MAX_LEVELS];
    double mixed[LEAN_MAX_LEVELS][2]; /* level against slope */
    double slope[4], slope_right[2];
};

/* An angle less the first reading of its level, so that none is near a full turn. */
static double off_deg(const struct lean_question *q, const struct lean_reading *reading)
{
    int first = 0;
    while (q->readings[first].level != reading->level)
        first++;
    return direction_turn(reading->angle_deg - q->readings[first].angle_deg);
}

static double weight_of(const struct lean_reading *reading)
{
    const double own_deg = fmax(reading->own_deg, LEAST_DEG);
    return 1 / (own_deg * own_deg);
}

/* Normal equations of one pair of readings of a photo with weight w: angle = level + gain . slope.
 */
static void add_pair(const struct lean_question *q, const struct lean_reading *a,
                     const struct lean_reading *b, double w, struct sums *sums)
{
    double off = off_deg(q, b);
    sums->levels[a->level][b->level] += w;
    sums->right[a->level] += w * off;
    for (int i = 0; i < 2; i++) {
        sums->mixed[a->level][i] += w * b->gain[i];
        sums->slope_right[i] += w * a->gain[i] * off;
        for (int j = 0; j < 2; j++)
            sums->slope[2 * i + j] += w * a->gain[i] * b->gain[j];
    }
}

/* The readings of a photo have the covariance diag(own^2) + u^2, u being what turns them all; its
 * inverse is that of Sherman and Morrison (Ann. Math. Statist. 21, 1950). */
static void add_photo(const struct lean_question *q, int photo, double turned_deg,
                      struct sums *sums)
{
    const double u2 = q->photo_deg[photo] * q->photo_deg[photo] + turned_deg * turned_deg;
    double whole = 0;
    for (int i = 0; i < q->count; i++)
        if (q->readings[i].photo == photo)
            whole += weight_of(&q->readings[i]);
    for (int i = 0; i < q->count; i++)
        for (int j = 0; j < q->count; j++) {
            const struct lean_reading *a = &q->readings[i], *b = &q->readings[j];
            if (a->photo != photo || b->photo != photo)
                continue;
            double shared = weight_of(a) * weight_of(b) * u2 / (1 + u2 * whole);
            add_pair(q, a, b, (i == j ? weight_of(a) : 0) - shared, sums);
        }
}

/* Takes the levels out of the equations one by one, as in Gaussian elimination: what is left is
 * what the photos say of the slope, whatever the levels are. */
static void eliminate_levels(struct sums *sums, int levels)
{
    for (int k = 0; k < levels; k++) {
        double pivot = sums->levels[k][k];
        if (!(pivot > 0))
            continue;
        for (int l = k + 1; l < levels; l++) {
            double f = sums->levels[l][k] / pivot;
            for (int m = k; m < levels; m++)
                sums->levels[l][m] -= f * sums->levels[k][m];
            for (int i = 0; i < 2; i++)
                sums->mixed[l][i] -= f * sums->mixed[k][i];
            sums->right[l] -= f * sums->right[k];
        }
        for (int i = 0; i < 2; i++) {
            double f = sums->mixed[k][i] / pivot;
            for (int j = 0; j < 2; j++)
                sums->slope[2 * i + j] -= f * sums->mixed[k][j];
            sums->slope_right[i] -= f * sums->right[k];
        }
    }
}

static double quadratic(const double m[4], const double v[2])
{
    return m[0] * v[0] * v[0] + (m[1] + m[2]) * v[0] * v[1] + m[3] * v[1] * v[1];
}

/* The slope after the photos, from one before them of 0 +- prior_deg either way. */
static void learn(struct lean *lean, double prior_deg)
{
    double prior = 1 / (prior_deg * prior_deg);
    double xx = lean->information[0] + prior, xy = lean->information[1],
           yy = lean->information[3] + prior, det = xx * yy - xy * xy;
    lean->prior_deg = prior_deg;
    lean->cov[0] = yy / det;
    lean->cov[1] = lean->cov[2] = -xy / det;
    lean->cov[3] = xx / det;
    for (int i = 0; i < 2; i++)
        lean->slope_deg[i] =
            lean->cov[2 * i] * lean->right[0] + lean->cov[2 * i + 1] * lean->right[1];
}

struct lean lean_unknown(double tilt_deg)
{
    struct lean lean = {.found = false};
    learn(&lean, fmax(tilt_deg, LEAST_DEG));
    return lean;
}

/* What the photos say of the slope when each may have been turned by turned_deg besides. */
static struct lean read_slope(const struct lean_question *q, double turned_deg)
{
    struct lean lean = {.found = false};
    struct sums sums = {.right = {0}};
    for (int photo = 0; photo < q->photos; photo++)
        add_photo(q, photo, turned_deg, &sums);
    eliminate_levels(&sums, q->levels);
    for (int i = 0; i < 2; i++) {
        lean.right[i] = sums.slope_right[i];
        for (int j = 0; j < 2; j++)
            lean.information[2 * i + j] = (sums.slope[2 * i + j] + sums.slope[2 * j + i]) / 2;
    }
    learn(&lean, fmax(WIDE_DEG, q->tilt_deg));
    return lean;
}

/* By how much the slope brings chi^2 down: at most a chi^2 with two degrees of freedom when there
 * is none. */
static bool explains(const struct lean *lean)
{
    double gained = lean->slope_deg[0] * lean->right[0] + lean->slope_deg[1] * lean->right[1];
    return uncertainty_chi_square_tail(fmax(0, gained), 2) < RARE;
}

struct lean lean_find(const struct lean_question *q)
{
    const struct lean touched = read_slope(q, TOUCHED_DEG);
    struct lean lean = read_slope(q, 0);
    const bool possible =
        explains(&lean) && hypot(lean.slope_deg[0], lean.slope_deg[1]) <= MOST_DEG;
    lean.found = possible && explains(&touched) && !lean_rules_out(&touched, lean.slope_deg);
    lean.perhaps = possible && !lean.found;
    if (!lean.found)
        learn(&lean, fmax(q->tilt_deg, LEAST_DEG));
    return lean;
}

double lean_u_deg(const struct lean *lean, const double gain[2])
{
    return sqrt(fmax(0, quadratic(lean->cov, gain)));
}

double lean_size_deg(const struct lean *lean, double *u_deg)
{
    double size = hypot(lean->slope_deg[0], lean->slope_deg[1]);
    double along[2] = {size > 0 ? lean->slope_deg[0] / size : 1,
                       size > 0 ? lean->slope_deg[1] / size : 0};
    *u_deg = lean_u_deg(lean, along);
    return size;
}

bool lean_rules_out(const struct lean *lean, const double slope_deg[2])
{
    struct lean alone = *lean;
    learn(&alone, WIDE_DEG);
    double apart[2] = {slope_deg[0] - alone.slope_deg[0], slope_deg[1] - alone.slope_deg[1]};
    return uncertainty_chi_square_tail(quadratic(alone.information, apart), 2) < RARE;
}
