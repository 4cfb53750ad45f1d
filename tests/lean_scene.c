#include "lean_scene.h"

#include "budget/budget.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RAD (3.14159265358979323846 / 180)

const struct vision_plane lean_scene_plane = {.h = {10, 0, 1000, 0, -10, 800, 0, 0, 1},
                                              .inverse = {0.1, 0, -100, 0, -0.1, 80, 0, 0, 1},
                                              .radius_px = 1250};

static double uniform(void)
{
    return (rand() + 0.5) / ((double)RAND_MAX + 1);
}

double lean_scene_normal(void)
{
    return sqrt(-2 * log(uniform())) * cos(360 * RAD * uniform());
}

/* Where the ray from the camera through a point of the part meets the card. */
static struct vision_point on_card(const double camera[3], const double p[3])
{
    double s = camera[2] / (camera[2] - p[2]);
    return (struct vision_point){camera[0] + s * (p[0] - camera[0]),
                                 camera[1] + s * (p[1] - camera[1])};
}

/* The direction in which an arm that lies along psi in the leaning plane is seen. */
static double seen_deg(const struct lean_scene *s, const double camera[3], double psi_deg)
{
    double t = s->slope_deg * RAD, a = s->toward_deg * RAD, d = psi_deg * RAD - a;
    /* along the slope the plane rises, across it lies level */
    double along = cos(d) * cos(t), across = sin(d), rise = cos(d) * sin(t);
    double hub[3] = {0, 0, 5}, tip[3] = {10 * (along * cos(a) - across * sin(a)),
                                         10 * (along * sin(a) + across * cos(a)), 5 + 10 * rise};
    struct vision_point from = on_card(camera, hub), to = on_card(camera, tip);
    return atan2(to.y - from.y, to.x - from.x) / RAD;
}

void lean_scene_look(const struct lean_scene *s, const double *made_deg, struct vision_arm *arms)
{
    double d = 250 * tan(s->oblique_deg * RAD);
    double camera[3] = {d * cos(s->from_deg * RAD), d * sin(s->from_deg * RAD), 255};
    for (int i = 0; i < s->count; i++) {
        double made = made_deg ? made_deg[i] : s->moulded_deg * lean_scene_normal();
        double psi = s->first_deg + i * s->spacing_deg + made;
        struct budget_question q = {.plane = &lean_scene_plane,
                                    .plane_dof = 64,
                                    .px_per_mm = 10,
                                    .card_tilt_deg = 0.4,
                                    .body_mm = 1e6,
                                    .edge_deg = s->noise_deg,
                                    .edge_dof = 40};
        memcpy(q.camera_mm, camera, sizeof camera);
        q.direction_rad = psi * RAD;
        budget_make(&q, &arms[i]);
        arms[i].angle_deg = seen_deg(s, camera, psi) + s->noise_deg * lean_scene_normal();
        for (int k = 0; k < arms[i].budget_count; k++) /* the print is true here */
            if (arms[i].budget[k].term == VISION_TERM_PRINT)
                arms[i].budget[k].u_deg = 0;
    }
}
