#include "budget.h"

#include "maths/angle.h"

#include <math.h>

/* Printers stretch paper by about 0.1 % more one way than the other. */
#define PRINT_STRETCH 0.001
/* What the markers' corners miss the plane by, beyond noise, comes from a card that is not flat;
 * from marker to marker, some 10 mm, that is a turn. */
#define CORNER_NOISE_PX 0.06
#define BULGE_MM 10.0

static const struct {
    const char *name;
    char type;
    enum vision_scope scope;
} kinds[VISION_TERM_COUNT] = {
    [VISION_TERM_EDGE] = {"edge noise", 'A', VISION_SCOPE_OWN},
    [VISION_TERM_PLANE] = {"card plane", 'A', VISION_SCOPE_PHOTO},
    [VISION_TERM_LENS] = {"lens", 'B', VISION_SCOPE_CAMERA},
    [VISION_TERM_STRAIGHTNESS] = {"straightness of the arm", 'B', VISION_SCOPE_ARM},
    [VISION_TERM_TILT] = {"card tilted to the arm", 'B', VISION_SCOPE_PLACE},
    [VISION_TERM_FLATNESS] = {"card not flat", 'B', VISION_SCOPE_PLACE},
    [VISION_TERM_PRINT] = {"print scale", 'B', VISION_SCOPE_PRINT},
    [VISION_TERM_REFERENCE] = {"reference line", 'A', VISION_SCOPE_PHOTO},
    [VISION_TERM_CORNERS] = {"marker corners", 'A', VISION_SCOPE_OWN},
    [VISION_TERM_SPACING] = {"spacing of the arms", 'B', VISION_SCOPE_ARM},
    [VISION_TERM_STICKER_TILT] = {"sticker tilted to the reference", 'B', VISION_SCOPE_OWN},
};

const char *vision_term_name(enum vision_term term)
{
    return term < VISION_TERM_COUNT ? kinds[term].name : NULL;
}

void budget_add(struct vision_arm *arm, enum vision_term term, double u_deg, double dof)
{
    arm->budget[arm->budget_count++] = (struct vision_budget_line){
        kinds[term].name, u_deg, kinds[term].type, fmax(1, dof), term, kinds[term].scope};
}

struct vision_budget_line *budget_line(struct vision_arm *arm, enum vision_term term)
{
    for (int k = 0; k < arm->budget_count; k++)
        if (arm->budget[k].term == term)
            return &arm->budget[k];
    return NULL;
}

/* Paper longer by e along x turns a line by -e sin(2 direction) / 2. */
double budget_print_deg(double direction_rad, double against_rad)
{
    return PRINT_STRETCH / 2 * fabs(sin(2 * direction_rad) - sin(2 * against_rad)) * DEG;
}

void budget_sum(struct vision_arm *arm)
{
    double sum = 0;
    for (int k = 0; k < arm->budget_count; k++)
        sum += arm->budget[k].u_deg * arm->budget[k].u_deg;
    arm->u_deg = sqrt(sum);
}

/* Edges of moulded and cut arms wander by some hundredths of a millimetre. What turns the middle
 * line, the first Legendre coefficient over the body, cannot be told from the arm's direction; the
 * next two can be seen. Taken for three normal ones of one unknown variance, these tell how large
 * the first may be: a scaled inverse chi-squared prior of one degree of freedom and its posterior
 * (A. Gelman et al., Bayesian Data Analysis, 2.6; from memory). What bends by more than arms
 * usually do is in the edge noise already. */
static void add_straightness(const struct budget_question *q, struct vision_arm *arm)
{
    const double prior_mm = 0.006, prior_dof = 1, unseen_mm = 0.009, seen = 2;
    const double sum = prior_dof * prior_mm * prior_mm + seen * q->bend.mm * q->bend.mm;
    const double turn_mm = sqrt(sum / (prior_dof + seen));
    const bool told = q->bend.seen && turn_mm < unseen_mm;
    budget_add(arm, VISION_TERM_STRAIGHTNESS,
               2 * (told ? turn_mm : unseen_mm) / fmax(2, q->body_mm) * DEG,
               told ? prior_dof + seen : BUDGET_JUDGED_DOF);
}

/* From the covariance of the card's plane: for a line as reference, of the angle between both. */
static void add_plane(const struct budget_question *q, struct vision_arm *arm)
{
    double gradient[VISION_PLANE_UNKNOWNS], line[VISION_PLANE_UNKNOWNS] = {0}, plain = 90, lens = 0;
    if (plane_direction_gradient(q->plane, q->hub_mm, q->direction_rad * DEG, gradient) &&
        (!q->line_reference || plane_direction_gradient(q->plane, q->line_mm, q->line_deg, line))) {
        for (int j = 0; j < VISION_PLANE_UNKNOWNS; j++)
            gradient[j] -= line[j];
        plane_gradient_u(q->plane, gradient, &plain, &lens);
    }
    budget_add(arm, VISION_TERM_PLANE, plain, q->plane_dof);
    budget_add(arm, VISION_TERM_LENS, lens, BUDGET_JUDGED_DOF);
}

/* A line along d at P, n to its left, in a plane that slopes by a towards the camera at C:
 * its image on the card turns by -(a.d) n.(C - P) / Cz. gain is what stands before a. */
static void add_tilt_gain(const struct budget_question *q, struct vision_point at,
                          double direction_rad, double sign, double gain[2])
{
    double c = cos(direction_rad), s = sin(direction_rad);
    double across = (-s * (q->camera_mm[0] - at.x) + c * (q->camera_mm[1] - at.y));
    double turn = across / q->camera_mm[2];
    gain[0] -= sign * c * turn;
    gain[1] -= sign * s * turn;
}

/* Second order, bound: a slope tau shortens one way by tau^2 / 2, which turns a line at 45 degrees
 * to it by tau^2 / 4. */
static void add_tilt(const struct budget_question *q, struct vision_arm *arm)
{
    double *gain = arm->tilt_gain;
    gain[0] = gain[1] = 0;
    add_tilt_gain(q, q->hub_mm, q->direction_rad, 1, gain);
    if (q->line_reference)
        add_tilt_gain(q, q->line_mm, q->line_deg / DEG, -1, gain);
    double foreshortened = q->card_tilt_deg / DEG / 4;
    double whole = sqrt(gain[0] * gain[0] + gain[1] * gain[1] + foreshortened * foreshortened);
    budget_add(arm, VISION_TERM_TILT, q->card_tilt_deg * whole, BUDGET_JUDGED_DOF);
}

void budget_make(const struct budget_question *q, struct vision_arm *arm)
{
    arm->budget_count = 0;
    /* Where few points count as independent the residuals are not noise but the edge's own steps,
     * and the term, though large, varies little: tests/check_edge_noise.c */
    budget_add(arm, VISION_TERM_EDGE, q->edge_deg, fmax(BUDGET_JUDGED_DOF, q->edge_dof));
    add_plane(q, arm);
    if (q->body_mm > 0)
        add_straightness(q, arm);
    add_tilt(q, arm);
    double bulge_mm = fmax(0, q->residual_px - CORNER_NOISE_PX) / q->px_per_mm;
    budget_add(arm, VISION_TERM_FLATNESS, bulge_mm / BULGE_MM * DEG, 2); /* trusted to a half */
    double against_rad = q->line_reference ? q->line_deg / DEG : 0;
    budget_add(arm, VISION_TERM_PRINT, budget_print_deg(q->direction_rad, against_rad),
               BUDGET_JUDGED_DOF);
    if (q->line_reference)
        budget_add(arm, VISION_TERM_REFERENCE, q->line_u_deg, q->line_dof);
    if (q->line_reference && q->line_shared)
        budget_line(arm, VISION_TERM_REFERENCE)->scope = VISION_SCOPE_PLACE;
    budget_sum(arm);
}
