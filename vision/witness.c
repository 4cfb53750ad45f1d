#include "witness.h"

#include <math.h>

#define DEG (180 / 3.14159265358979323846)

/* Moulded arms keep their spacing to about this (standard uncertainty; judged). */
#define MOULDED_DEG 0.15
/* Arms further than this from even spacing belong to another design. */
#define PATTERN_DEG 3.0
/* A direction of slope that turns the arms by less than this share of the other is not seen. */
#define SEEN_SHARE 0.02

/* Chi-square that chance exceeds one time in a hundred and one time in twenty, for 0 to 7 degrees
 * of freedom: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4. */
static const double rare[VISION_MAX_ARMS] = {0,      6.635,  9.210,  11.345,
                                             13.277, 15.086, 16.812, 18.475};
static const double usual[VISION_MAX_ARMS] = {0,     3.841,  5.991,  7.815,
                                              9.488, 11.070, 12.592, 14.067};

/* Arms less their even spacing, and their tilt gains, all less their weighted means. */
struct contrasts {
    int count;
    double weight[VISION_MAX_ARMS], off_deg[VISION_MAX_ARMS], gain[2][VISION_MAX_ARMS];
};

static double from_multiple(double deg, double step)
{
    return deg - step * floor(deg / step + 0.5);
}

static bool is_spaced(const struct vision_arm *arms, int count, double step, double *off_deg)
{
    double low = INFINITY, high = -INFINITY;
    for (int i = 0; i < count; i++) {
        off_deg[i] = from_multiple(arms[i].angle_deg - arms[0].angle_deg, step);
        low = fmin(low, off_deg[i]);
        high = fmax(high, off_deg[i]);
    }
    return high - low < PATTERN_DEG;
}

/* Everything but the tilt, and how true arms are moulded. Plane, print and bulge turn the arms
 * together and one against the other; taking them as each arm's own errs little. */
static double variance_of(const struct vision_arm *arm)
{
    double variance = MOULDED_DEG * MOULDED_DEG;
    for (int k = 0; k < arm->budget_count; k++)
        if (arm->budget[k].term != VISION_TERM_TILT)
            variance += arm->budget[k].u_deg * arm->budget[k].u_deg;
    return variance;
}

static double product(const struct contrasts *c, const double *a, const double *b)
{
    double sum = 0;
    for (int i = 0; i < c->count; i++)
        sum += c->weight[i] * a[i] * b[i];
    return sum;
}

static void centre(const struct contrasts *c, double *values)
{
    double sum = 0, weights = 0;
    for (int i = 0; i < c->count; i++) {
        sum += c->weight[i] * values[i];
        weights += c->weight[i];
    }
    for (int i = 0; i < c->count; i++)
        values[i] -= sum / weights;
}

/* Slope of least squares along the axes of the 2 x 2 normal matrix that the arms can see; how many
 * those are, and by how much it brings chi-square down. */
static int solve_slope(const struct contrasts *c, double slope[2], double *gained)
{
    double xx = product(c, c->gain[0], c->gain[0]), xy = product(c, c->gain[0], c->gain[1]),
           yy = product(c, c->gain[1], c->gain[1]);
    double right[2] = {product(c, c->gain[0], c->off_deg), product(c, c->gain[1], c->off_deg)};
    double half = hypot((xx - yy) / 2, xy), turn = atan2(2 * xy, xx - yy) / 2;
    int seen = 0;
    slope[0] = slope[1] = *gained = 0;
    for (int axis = 0; axis < 2; axis++) {
        double value = (xx + yy) / 2 + (axis ? -half : half);
        double x = axis ? -sin(turn) : cos(turn), y = axis ? cos(turn) : sin(turn);
        /* 1e-9: a view from straight above turns nothing */
        if (!(value > 1e-9) || value < SEEN_SHARE * ((xx + yy) / 2 + half))
            continue;
        double along = x * right[0] + y * right[1];
        slope[0] += along / value * x;
        slope[1] += along / value * y;
        *gained += along * along / value;
        seen++;
    }
    return seen;
}

/* The gap to the card grows along slope, so the other side of the card stands nearer. */
static enum vision_side nearer_side(const struct vision_plane *plane, struct vision_point hub,
                                    const double slope[2])
{
    double size = hypot(slope[0], slope[1]);
    struct vision_point from = vision_plane_to_photo(plane, hub),
                        to = vision_plane_to_photo(
                            plane, (struct vision_point){hub.x - 5 * slope[0] / size,
                                                         hub.y - 5 * slope[1] / size});
    double x = to.x - from.x, y = to.y - from.y;
    if (fabs(x) > fabs(y))
        return x < 0 ? VISION_SIDE_LEFT : VISION_SIDE_RIGHT;
    return y < 0 ? VISION_SIDE_TOP : VISION_SIDE_BOTTOM;
}

void witness_judge(const struct vision_arm *arms, int count, const struct vision_plane *plane,
                   struct vision_point hub, struct vision_witness *out)
{
    static const int spacings[] = {90, 120, 60};
    struct contrasts c = {.count = count};
    *out = (struct vision_witness){0};
    for (int k = 0; k < 3 && count > 2 && count <= VISION_MAX_ARMS && !out->spacing_deg; k++)
        if (is_spaced(arms, count, spacings[k], c.off_deg))
            out->spacing_deg = spacings[k];
    if (!out->spacing_deg)
        return;
    for (int i = 0; i < count; i++) {
        c.weight[i] = 1 / variance_of(&arms[i]);
        for (int a = 0; a < 2; a++)
            c.gain[a][i] = arms[i].tilt_gain[a];
    }
    centre(&c, c.off_deg);
    centre(&c, c.gain[0]);
    centre(&c, c.gain[1]);
    double gained;
    out->chi_square = product(&c, c.off_deg, c.off_deg);
    out->dof = count - 1;
    out->seen = solve_slope(&c, out->slope_deg, &gained);
    out->chi_square_leaning = fmax(0, out->chi_square - gained);
    out->dof_leaning = out->dof - out->seen;
    bool fits = out->dof_leaning < 1 || out->chi_square_leaning <= usual[out->dof_leaning];
    if (gained > rare[out->seen] && out->seen > 0 && fits)
        out->verdict = VISION_WITNESS_LEANS;
    else
        out->verdict =
            out->chi_square > rare[out->dof] ? VISION_WITNESS_UNEVEN : VISION_WITNESS_AGREES;
    if (out->verdict == VISION_WITNESS_LEANS && out->seen == 2)
        out->nearer = nearer_side(plane, hub, out->slope_deg);
}
