/* Checks the truth from outside: renders known points and bare silhouettes with POV-Ray and
 * looks where they come out. */
#ifndef CHECK_H
#define CHECK_H

#include "case.h"

#include <stdbool.h>

/* Renders a scene file; as make_photos does it. */
typedef bool render_fn(const struct photo_case *c, bool fine, const char *scene, const char *png,
                       const char *log);

struct check_result {
    int beads, arms;      /* how many were looked at */
    double worst_px;      /* bead in the photo against camera_project */
    double worst_arm_deg; /* arm from its silhouette's edges against case_arm_angle_deg */
    double worst_arm_px;  /* the same as a shift over the length of edge used */
};

/* work_dir is at most 600 bytes long. false when it cannot render. */
bool check_case(const struct photo_case *c, const char *work_dir, render_fn *render,
                struct check_result *out);

#endif
