#include "disc_ball.h"

#include "angle.h"
#include "card_line.h"
#include "median.h"
#include "shim.h"

#include <math.h>
#include <stdlib.h>

#define PITCH_MM 0.1
#define REACH 1.35          /* of the disc's radius: a ball may overhang it */
#define LEAST_RADIUS_MM 1.8 /* usual balls are 4 to 6 mm across (common practice, no source) */
#define MOST_RADIUS_MM 3.0
#define STANDS_OUT 0.1 /* difference of roots of light that shows an edge */

/* The disc and a little around it, cell by cell; roots of light against the paper's. */
struct face {
    struct vision_point corner_mm;
    int side;
    float (*look)[3]; /* look[0] < 0: not seen */
};

static bool face_read(const struct vision_image *image, const struct card_fix *fix,
                      const struct silhouette *s, const struct rim *outline, struct face *face)
{
    const int reach = (int)ceil(REACH * outline->radius_mm / PITCH_MM);
    face->side = 2 * reach + 1;
    face->corner_mm = (struct vision_point){outline->centre_mm.x - reach * PITCH_MM,
                                            outline->centre_mm.y - reach * PITCH_MM};
    face->look = calloc((size_t)face->side * (size_t)face->side, sizeof *face->look);
    if (!face->look)
        return false;
    for (int j = 0; j < face->side; j++) {
        const struct vision_point from = {face->corner_mm.x, face->corner_mm.y + j * PITCH_MM};
        const struct card_line line =
            card_line_start(image, &fix->plane, from, (struct vision_point){PITCH_MM, 0});
        double paper[3], factor[3];
        silhouette_paper(s, from, paper);
        silhouette_paper(s, (struct vision_point){from.x + PITCH_MM, from.y}, factor);
        for (int c = 0; c < 3; c++)
            factor[c] /= paper[c];
        for (int i = 0; i < face->side; i++) {
            float rgb[3], *look = face->look[j * face->side + i];
            const bool seen = card_line_sample(&line, i, rgb);
            for (int c = 0; c < 3; c++) {
                look[c] = seen ? sqrtf(fmaxf(0, rgb[c]) / (float)paper[c]) : -1;
                paper[c] *= factor[c];
            }
        }
    }
    return true;
}

/* What most of the face looks like, between hub and rim. false where too little is seen. */
static bool usual_look(const struct face *face, float out[3])
{
    enum { MOST = 4000 };
    const double inner = 0.3, outer = 0.95;
    const int side = face->side, stride = side * side / MOST + 1;
    double values[3][MOST];
    int n = 0;
    for (int at = 0; at < side * side && n < MOST; at += stride) {
        const int row = at / side, column = at % side, middle = side / 2;
        double r = hypot(column - middle, row - middle) / middle * REACH;
        if (r < inner || r > outer || face->look[at][0] < 0)
            continue;
        for (int c = 0; c < 3; c++)
            values[c][n] = face->look[at][c];
        n++;
    }
    for (int c = 0; c < 3 && n > 0; c++)
        out[c] = (float)median_upper(values[c], n);
    return n > 100;
}

static float apart(const float a[3], const float b[3])
{
    float square = 0;
    for (int c = 0; c < 3; c++)
        square += (a[c] - b[c]) * (a[c] - b[c]);
    return sqrtf(square);
}

/* How far each cell is from the usual look; half of all there is counts as much as more. */
static uint8_t *draw_difference(const struct face *face, const float usual[3])
{
    const float most = 0.5F;
    const size_t n = (size_t)face->side * (size_t)face->side;
    uint8_t *out = malloc(n);
    for (size_t i = 0; out && i < n; i++) {
        float off = face->look[i][0] < 0 ? 0 : apart(face->look[i], usual);
        out[i] = (uint8_t)(255 * fminf(1, off / most));
    }
    return out;
}

static const float *look_at(const struct face *face, double x, double y)
{
    const long i = lround(x), j = lround(y);
    if (i < 0 || j < 0 || i >= face->side || j >= face->side)
        return NULL;
    const float *look = face->look[j * face->side + i];
    return look[0] < 0 ? NULL : look;
}

/* The share of a circle's rim across which the look changes, at or close to it. */
static double rim_share(const struct face *face, const struct shim_circle *circle)
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
                most = fmaxf(most, apart(in, out));
        }
        seen += most > STANDS_OUT;
    }
    return (double)seen / DIRECTIONS;
}

/* Mean of the difference over the middle of a circle. */
static double middle_of(const struct face *face, const uint8_t *difference,
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

static bool is_ball(const struct face *face, const uint8_t *difference,
                    const struct shim_circle *circle)
{
    const double all_round = 0.95, unlike = 150, inner = 0.35, outer = 1.1;
    const double middle = (face->side - 1) / 2.0; /* cells */
    const double r = hypot(circle->x - middle, circle->y - middle) / middle * REACH;
    return r > inner && r < outer && rim_share(face, circle) >= all_round &&
           middle_of(face, difference, circle) > unlike;
}

enum vision_reason disc_balls_find(const struct vision_image *image, const struct card_fix *fix,
                                   const struct silhouette *s, const struct rim *outline,
                                   struct disc_ball out[DISC_MAX_BALLS], int *count)
{
    enum { MOST_CIRCLES = 32 };
    struct face face = {.look = NULL};
    struct shim_circle circles[MOST_CIRCLES];
    float usual[3];
    uint8_t *difference = NULL;
    int found = 0;
    *count = 0;
    bool good = face_read(image, fix, s, outline, &face);
    if (good && usual_look(&face, usual)) {
        difference = draw_difference(&face, usual);
        good =
            difference && shim_find_circles(difference, face.side, face.side, (size_t)face.side,
                                            LEAST_RADIUS_MM / PITCH_MM, MOST_RADIUS_MM / PITCH_MM,
                                            circles, MOST_CIRCLES, &found) != SHIM_FAILED;
    }
    for (int i = 0; good && i < found && i < MOST_CIRCLES && *count < DISC_MAX_BALLS; i++)
        if (is_ball(&face, difference, &circles[i]))
            out[(*count)++] = (struct disc_ball){{face.corner_mm.x + circles[i].x * PITCH_MM,
                                                  face.corner_mm.y + circles[i].y * PITCH_MM},
                                                 circles[i].radius * PITCH_MM};
    free(difference);
    free(face.look);
    return good ? VISION_REASON_NONE : VISION_NO_MEMORY;
}
