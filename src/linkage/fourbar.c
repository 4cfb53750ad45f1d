#include "fourbar.h"

#include <math.h>
#include <stdbool.h>

static bool usable_length(double mm)
{
    return isfinite(mm) && mm > 0;
}

enum fourbar_status fourbar_init(struct fourbar *mech, double horn_mm, double link_mm,
                                 double crank_mm, double base_mm)
{
    if (!usable_length(horn_mm) || !usable_length(link_mm) || !usable_length(crank_mm) ||
        !usable_length(base_mm))
        return FOURBAR_BAD_LENGTH;
    double longest = fmax(fmax(horn_mm, link_mm), fmax(crank_mm, base_mm));
    double sum = horn_mm + link_mm + crank_mm + base_mm;
    if (longest > sum - longest)
        return FOURBAR_CANNOT_CLOSE;
    /* Norton, Design of Machinery, 4.5, after Freudenstein 1955: K1 = d/a, K2 = d/c,
     * K3 = (a^2 - b^2 + c^2 + d^2) / (2 a c). */
    *mech = (struct fourbar){
        .horn_mm = horn_mm,
        .link_mm = link_mm,
        .crank_mm = crank_mm,
        .base_mm = base_mm,
        .k1 = base_mm / horn_mm,
        .k2 = base_mm / crank_mm,
        .k3 = (horn_mm * horn_mm - link_mm * link_mm + crank_mm * crank_mm + base_mm * base_mm) /
              (2 * horn_mm * crank_mm),
    };
    return FOURBAR_OK;
}

/* Everything about one assembly once the crank's direction (cos, sin) is known. Cross products of
 * the bars stand for the sines of the angles between them:
 *   gain = a sin(t2 - t3) / (c sin(t4 - t3))       Norton, 6.7, equation (6.18b) */
static void fill_pose(const struct fourbar *mech, double horn_x, double horn_y, double cos_crank,
                      double sin_crank, struct fourbar_pose *pose)
{
    double crank_x = mech->crank_mm * cos_crank, crank_y = mech->crank_mm * sin_crank;
    double link_x = mech->base_mm + crank_x - horn_x, link_y = crank_y - horn_y;
    double cross_crank = link_x * crank_y - link_y * crank_x;
    double cross_horn = link_x * horn_y - link_y * horn_x;
    double dot_crank = link_x * crank_x + link_y * crank_y;
    pose->crank_rad = atan2(sin_crank, cos_crank);
    pose->link_rad = atan2(link_y, link_x);
    pose->transmission_rad = atan2(fabs(cross_crank), fabs(dot_crank));
    pose->gain = cross_crank != 0 ? cross_horn / cross_crank : INFINITY;
}

/* Freudenstein's equation K1 cos t4 - K2 cos t2 + K3 = cos(t2 - t4) is linear in cos t4 and
 * sin t4:  P cos t4 + Q sin t4 = R  with  P = K1 - cos t2, Q = -sin t2, R = K2 cos t2 - K3.
 * Solved as a line cutting the unit circle: unlike the half-tangent form it has no pole at
 * t4 = 180 degrees. The root S of the discriminant is 0 at a dead point. */
enum fourbar_status fourbar_solve(const struct fourbar *mech, double horn_rad,
                                  struct fourbar_pose poses[2])
{
    double cos_horn = cos(horn_rad), sin_horn = sin(horn_rad);
    double p = mech->k1 - cos_horn, q = -sin_horn, r = mech->k2 * cos_horn - mech->k3;
    double norm2 = p * p + q * q;
    if (!(norm2 > 1e-24))
        return FOURBAR_NO_DIRECTION;
    double s2 = norm2 - r * r;
    /* Rounding of K3 and R: a mechanism exactly at its dead point must still close. */
    if (!(s2 > -1e-12 * (norm2 + r * r)))
        return FOURBAR_OUT_OF_REACH;
    double s = s2 > 0 ? sqrt(s2) : 0;
    double horn_x = mech->horn_mm * cos_horn, horn_y = mech->horn_mm * sin_horn;
    for (int i = 0; i < 2; i++) {
        double side = i == FOURBAR_OPEN ? s : -s;
        fill_pose(mech, horn_x, horn_y, (p * r - q * side) / norm2, (q * r + p * side) / norm2,
                  &poses[i]);
    }
    return FOURBAR_OK;
}

double fourbar_link_for(double horn_mm, double crank_mm, double base_mm, double horn_rad,
                        double crank_rad)
{
    return hypot(base_mm + crank_mm * cos(crank_rad) - horn_mm * cos(horn_rad),
                 crank_mm * sin(crank_rad) - horn_mm * sin(horn_rad));
}

/* Norton, 2.12: S + L against P + Q; the kind follows from which bar is the shortest. */
enum fourbar_class fourbar_class_of(const struct fourbar *mech)
{
    double shortest = fmin(fmin(mech->horn_mm, mech->link_mm), fmin(mech->crank_mm, mech->base_mm));
    double longest = fmax(fmax(mech->horn_mm, mech->link_mm), fmax(mech->crank_mm, mech->base_mm));
    double sum = mech->horn_mm + mech->link_mm + mech->crank_mm + mech->base_mm;
    double excess = 2 * (shortest + longest) - sum;
    if (fabs(excess) <= 1e-9 * sum)
        return FOURBAR_CHANGE_POINT;
    if (excess > 0)
        return FOURBAR_TRIPLE_ROCKER;
    if (shortest == mech->base_mm)
        return FOURBAR_DOUBLE_CRANK;
    if (shortest == mech->horn_mm)
        return FOURBAR_CRANK_ROCKER;
    if (shortest == mech->crank_mm)
        return FOURBAR_ROCKER_CRANK;
    return FOURBAR_DOUBLE_ROCKER;
}
