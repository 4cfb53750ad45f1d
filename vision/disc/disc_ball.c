#include "disc_ball.h"

#include "card/shim.h"
#include "disc_face.h"
#include "maths/angle.h"
#include "photo/sample.h"

#include <math.h>
#include <stdlib.h>

#define PITCH_MM DISC_FACE_PITCH_MM
#define REACH 1.35          /* of the disc's radius: a ball may overhang it */
#define LEAST_RADIUS_MM 1.8 /* usual balls are 4 to 6 mm across (common practice, no source) */
#define MOST_RADIUS_MM 3.0
#define STANDS_OUT 0.1 /* difference of roots of light that shows an edge */

/* How far each cell is from the usual look; half of all there is counts as much as more. */
static uint8_t *draw_difference(const struct disc_face *face, const double usual[3])
{
    const float middle[3] = {(float)usual[0], (float)usual[1], (float)usual[2]};
    const float most = 0.5F;
    const size_t n = (size_t)face->side * (size_t)face->side;
    uint8_t *out = malloc(n);
    for (size_t i = 0; out && i < n; i++) {
        float off = face->look[i][0] < 0 ? 0 : sample_apart(face->look[i], middle);
        out[i] = (uint8_t)(255 * fminf(1, off / most));
    }
    return out;
}

static const float *look_at(const struct disc_face *face, double x, double y)
{
    const long i = lround(x), j = lround(y);
    if (i < 0 || j < 0 || i >= face->side || j >= face->side)
        return NULL;
    const float *look = face->look[j * face->side + i];
    return look[0] < 0 ? NULL : look;
}

/* The share of a circle's rim across which the look changes, at or close to it. */
static double rim_share(const struct disc_face *face, const struct shim_circle *circle)
{
    enum { DIRECTIONS = 72, PLACES = 3 }; /* places: cells to either side of the circle */
    const double across = 3.5;            /* cells from the rim to either look */
    int seen = 0;
    for (int k = 0; k < DIRECTIONS; k++) {
        const double c = cos(k * 2 * PI / DIRECTIONS), s = sin(k * 2 * PI / DIRECTIONS);
        float most = 0;
        for (int place = -PLACES; place <= PLACES; place++) {
            const double r = circle->radius + place;
            const float *in =
                look_at(face, circle->x + (r - across) * c, circle->y + (r - across) * s);
            const float *out =
                look_at(face, circle->x + (r + across) * c, circle->y + (r + across) * s);
            if (in && out)
                most = fmaxf(most, sample_apart(in, out));
        }
        seen += most > STANDS_OUT;
    }
    return (double)seen / DIRECTIONS;
}

/* Mean of the difference over the middle of a circle. */
static double middle_of(const struct disc_face *face, const uint8_t *difference,
                        const struct shim_circle *circle)
{
    const int reach = 10;
    const int x = (int)lround(circle->x), y = (int)lround(circle->y);
    double sum = 0;
    int n = 0;
    for (int j = y - reach; j <= y + reach; j++)
        for (int i = x - reach; i <= x + reach; i++)
            if (i >= 0 && j >= 0 && i < face->side && j < face->side) {
                sum += difference[j * face->side + i];
                n++;
            }
    return n > 0 ? sum / n : 0;
}

/* How far out on the disc it lies, in its radii. */
static double out_on_disc(const struct disc_face *face, const struct shim_circle *circle)
{
    const double middle = (face->side - 1) / 2.0; /* cells */
    return hypot(circle->x - middle, circle->y - middle) / middle * REACH;
}

/* The rim of a ball that mirrors looks like the disc in places, and one's own base shows beside it
 * in a slanting view: between hub and rim, where nothing else is round, less of it will do. */
static bool is_ball(const struct disc_face *face, const uint8_t *difference,
                    const struct shim_circle *circle)
{
    const double all_round = 0.95, unlike = 150, inner = 0.35, outer = 1.1;
    const double mostly_round = 0.85, rather_unlike = 130, mid_inner = 0.6, mid_outer = 1.0;
    const double partly_round = 0.8, quite_unlike = 240;
    const double r = out_on_disc(face, circle);
    const double share = rim_share(face, circle), off = middle_of(face, difference, circle);
    return (r > inner && r < outer && share >= all_round && off > unlike) ||
           (r > mid_inner && r < mid_outer &&
            ((share >= mostly_round && off > rather_unlike) ||
             (share >= partly_round && off > quite_unlike)));
}

/* Holes that show something else than the card are as round, but there are several on their ring.
 */
static bool is_alone(const struct disc_face *face, const struct shim_circle *circles, int count,
                     int which)
{
    const double ring = 0.06, apart = 2; /* radii of the disc; of the circle */
    for (int i = 0; i < count; i++)
        if (i != which &&
            fabs(out_on_disc(face, &circles[i]) - out_on_disc(face, &circles[which])) < ring &&
            hypot(circles[i].x - circles[which].x, circles[i].y - circles[which].y) >
                apart * circles[which].radius)
            return false;
    return true;
}

enum vision_reason disc_balls_find(const struct vision_image *image, const struct card_fix *fix,
                                   const struct silhouette *s, const struct rim *outline,
                                   struct disc_ball out[DISC_MAX_BALLS], int *count)
{
    enum { MOST_CIRCLES = 32 };
    static const float channels[3][3] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
    const double inner = 0.3, outer = 0.95; /* of the radius: neither hub nor rim */
    struct disc_face face = {.look = NULL};
    struct shim_circle circles[MOST_CIRCLES];
    double usual[3];
    uint8_t *difference = NULL;
    int found = 0;
    *count = 0;
    bool good = disc_face_read(image, fix, s, outline, REACH, &face);
    if (good && disc_face_usual(&face, outline, inner, outer, channels, usual, NULL)) {
        difference = draw_difference(&face, usual);
        enum shim_status status = SHIM_NO_MEMORY;
        if (difference)
            status = shim_find_circles(difference, face.side, face.side, (size_t)face.side,
                                       LEAST_RADIUS_MM / PITCH_MM, MOST_RADIUS_MM / PITCH_MM,
                                       circles, MOST_CIRCLES, &found);
        good = status == SHIM_OK || status == SHIM_FULL;
    }
    int balls = 0;
    for (int i = 0; good && i < found && i < MOST_CIRCLES; i++)
        if (is_ball(&face, difference, &circles[i]))
            circles[balls++] = circles[i];
    for (int i = 0; i < balls && *count < DISC_MAX_BALLS; i++)
        if (is_alone(&face, circles, balls, i))
            out[(*count)++] = (struct disc_ball){{face.corner_mm.x + circles[i].x * PITCH_MM,
                                                  face.corner_mm.y + circles[i].y * PITCH_MM},
                                                 circles[i].radius * PITCH_MM};
    free(difference);
    disc_face_clear(&face);
    return good ? VISION_REASON_NONE : VISION_NO_MEMORY;
}
