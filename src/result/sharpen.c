#include "sharpen.h"

#include "arithmetic/decision.h"
#include "arithmetic/direction.h"
#include "arm_uncertainty.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define PHOTOS 3
#define WORTH_SAYING 0.97

const char *sharpen_says(enum sharpen_way way)
{
    switch (way) {
    case SHARPEN_TOGETHER:
        return "three photos with measure --together";
    case SHARPEN_CLOSER:
        return "closer, so that the card fills the photo";
    case SHARPEN_SQUARER:
        return "squarer on, the phone parallel to the card";
    case SHARPEN_FLATTER:
        return "a card that lies flat, on stiff backing";
    case SHARPEN_WAY_COUNT:
        break;
    }
    return "";
}

bool sharpen_one_settles(const struct sharpen_step *steps, int n)
{
    return n == 1 || steps[0].settles; /* a smaller U never undoes a decision */
}

const char *sharpen_all(const struct sharpen_step *steps, int n, char out[SHARPEN_ALL_WORDS])
{
    static const char *const ways[SHARPEN_WAY_COUNT] = {
        [SHARPEN_TOGETHER] = "three photos with measure --together",
        [SHARPEN_CLOSER] = "closer",
        [SHARPEN_SQUARER] = "squarer on",
        [SHARPEN_FLATTER] = "a card that lies flat",
    };
    int length = 0;
    for (int i = 0; i < n; i++)
        length += snprintf(out + length, SHARPEN_ALL_WORDS - (size_t)length, "%s%s",
                           i == 0       ? ""
                           : i == n - 1 ? " and "
                                        : ", ",
                           ways[steps[i].way]);
    return out;
}

/* By what a term shrinks. Edges and corners scatter by a share of a pixel, so their terms go with
 * the size of a pixel on the card (slopes even gain more: more points); tilt goes with tan of the
 * obliquity; what a photo has for itself goes with the root of the number of photos. */
static double factor(const struct sharpen_question *q, const struct vision_budget_line *line,
                     enum sharpen_way way)
{
    bool pixels = line->term == VISION_TERM_EDGE || line->term == VISION_TERM_PLANE ||
                  line->term == VISION_TERM_REFERENCE;
    switch (way) {
    case SHARPEN_TOGETHER:
        return pixels && !q->is_together ? 1 / sqrt(PHOTOS) : 1;
    case SHARPEN_CLOSER:
        return pixels ? 1 / fmax(1, q->closer) : 1;
    case SHARPEN_SQUARER:
        return line->term == VISION_TERM_TILT && q->obliquity_deg > SHARPEN_SQUARE_DEG
                   ? tan(SHARPEN_SQUARE_DEG * RAD_PER_DEG) / tan(q->obliquity_deg * RAD_PER_DEG)
                   : 1;
    case SHARPEN_FLATTER:
        return line->term == VISION_TERM_FLATNESS ? 0 : 1;
    case SHARPEN_WAY_COUNT:
        break;
    }
    return 1;
}

/* U with each way taken whose bit is set. */
static struct sharpen_step after(const struct sharpen_question *q, unsigned ways)
{
    struct vision_arm arm = *q->arm;
    double square = 0;
    for (int k = 0; k < arm.budget_count; k++) {
        for (int way = 0; way < SHARPEN_WAY_COUNT; way++)
            if (ways >> way & 1)
                arm.budget[k].u_deg *= factor(q, &q->arm->budget[k], (enum sharpen_way)way);
        square += arm.budget[k].u_deg * arm.budget[k].u_deg;
    }
    arm.u_deg = sqrt(square);
    double expanded = arm_expanded_deg(&arm);
    enum decision decision = decision_make(q->off_deg, expanded, q->tolerance_deg);
    return (struct sharpen_step){SHARPEN_WAY_COUNT, expanded, decision != DECISION_CANNOT_TELL};
}

static int by_expanded(const void *a, const void *b)
{
    double d = ((const struct sharpen_step *)a)->expanded_deg -
               ((const struct sharpen_step *)b)->expanded_deg;
    return (d > 0) - (d < 0);
}

int sharpen_steps(const struct sharpen_question *q, struct sharpen_step out[SHARPEN_WAY_COUNT],
                  struct sharpen_step *all)
{
    double now = after(q, 0).expanded_deg;
    int n = 0;
    unsigned useful = 0;
    for (int way = 0; way < SHARPEN_WAY_COUNT; way++) {
        struct sharpen_step step = after(q, 1U << way);
        step.way = (enum sharpen_way)way;
        if (!(step.expanded_deg < WORTH_SAYING * now))
            continue;
        useful |= 1U << way;
        out[n++] = step;
    }
    qsort(out, (size_t)n, sizeof out[0], by_expanded);
    *all = after(q, useful);
    return n;
}

bool sharpen_may_settle(const struct sharpen_step *all, double expanded_deg, double tolerance_deg)
{
    return all->settles || (expanded_deg > tolerance_deg && all->expanded_deg < tolerance_deg);
}

double sharpen_closer(const struct vision_result *result)
{
    const double most_px_per_mm = 36, fill = 0.95;
    const struct vision_point *c = result->corners_px;
    double x0 = INFINITY, x1 = -INFINITY, y0 = INFINITY, y1 = -INFINITY;
    for (int k = 0; k < 4; k++) {
        x0 = fmin(x0, c[k].x);
        x1 = fmax(x1, c[k].x);
        y0 = fmin(y0, c[k].y);
        y1 = fmax(y1, c[k].y);
    }
    if (!(result->px_per_mm > 0) || result->photo.width_px < 1 || result->photo.height_px < 1)
        return 1;
    double share = fmax((x1 - x0) / result->photo.width_px, (y1 - y0) / result->photo.height_px);
    return fmax(1, fmin(fill / share, most_px_per_mm / result->px_per_mm));
}
