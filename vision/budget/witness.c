#include "witness.h"

#include "maths/chi_square.h"
#include "spacing.h"

#include <math.h>

/* A direction of slope that turns the arms by less than this share of the other is not seen. */
#define SEEN_SHARE 0.02

/* A card that leans by more stands off by 5 mm from one side to the other, which nobody overlooks:
 * then the arms are made that way. */
#define OVERLOOKED_DEG 6.0

/* Arms less their even spacing, and their tilt gains, all less their weighted means. */
struct contrasts {
    int count;
    double weight[VISION_MAX_ARMS], off_deg[VISION_MAX_ARMS], gain[2][VISION_MAX_ARMS];
};

/* Everything but the tilt, and how true arms are moulded. Plane, print and bulge turn the arms
 * together and one against the other; taking them as each arm's own errs little. */
static double variance_of(const struct vision_arm *arm)
{
    double variance = SPACING_MOULDED_DEG * SPACING_MOULDED_DEG;
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
enum vision_side vision_nearer_side(const struct vision_plane *plane, struct vision_point hub,
                                    const double slope[2])
{
    double size = hypot(slope[0], slope[1]);
    if (!(size > 0))
        return VISION_SIDE_UNKNOWN;
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
    struct contrasts c = {.count = count};
    *out = (struct vision_witness){0};
    if (count > 2)
        out->spacing_deg = spacing_of(arms, count, c.off_deg);
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
    bool fits =
        hypot(out->slope_deg[0], out->slope_deg[1]) < OVERLOOKED_DEG &&
        (out->dof_leaning < 1 || out->chi_square_leaning <= chi_square_usual(out->dof_leaning));
    if (gained > chi_square_rare(out->seen) && out->seen > 0 && fits)
        out->verdict = VISION_WITNESS_LEANS;
    else
        out->verdict = out->chi_square > chi_square_rare(out->dof) ? VISION_WITNESS_UNEVEN
                                                                   : VISION_WITNESS_AGREES;
    if (out->verdict == VISION_WITNESS_LEANS && out->seen == 2)
        out->nearer = vision_nearer_side(plane, hub, out->slope_deg);
}
