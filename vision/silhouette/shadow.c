#include "shadow.h"

#include "maths/median.h"
#include "photo/sample.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MAX_PAIRS 4000
#define LEAST_PAIRS 8
#define CROSSED_MM 1.6 /* across a stripe border, not along it */

/* Light that reaches the card in a cell, of what lights it fully; per channel. */
static void share_of_light(const struct silhouette *s, const struct look *look, float out[3])
{
    const struct tint_look *tint = &s->tints[look->tint];
    for (int c = 0; c < 3; c++)
        out[c] = look->rgb[c] / (tint->unit[c] * tint->strength);
}

/* How unlike two colours are: 0 the same, 1 nothing in common. */
static float unlike(const float a[3], const float b[3])
{
    return sample_apart(a, b) / (sqrtf(sample_dot(a, a)) + sqrtf(sample_dot(b, b)) + 1e-6F);
}

struct pairs {
    double removes[3][MAX_PAIRS]; /* by a shadow, of the light */
    int count;
};

/* A pair of neighbours over the two tints: shadow where both get the same share of light and do not
 * look alike. A part looks alike. */
static void take_pair(const struct silhouette *s, const struct look *a, const struct look *b,
                      struct pairs *out)
{
    const float same = 0.06F, clearly = 0.5F, deep = 0.15F;
    float first[3], second[3], removed[3];
    share_of_light(s, a, first);
    share_of_light(s, b, second);
    float as_part = unlike(a->rgb, b->rgb), as_shadow = unlike(first, second);
    if (!(as_shadow < same && as_shadow < clearly * as_part) || out->count == MAX_PAIRS)
        return;
    for (int c = 0; c < 3; c++) {
        removed[c] = 1 - (first[c] + second[c]) / 2;
        if (removed[c] < -0.05F)
            return; /* no shadow brightens */
    }
    float length = sqrtf(sample_dot(removed, removed));
    if (length < deep)
        return;
    for (int c = 0; c < 3; c++)
        out->removes[c][out->count] = removed[c] / length;
    out->count++;
}

/* Pairs along a run of cells: first, step to the next, number. */
static void scan(const struct silhouette *s, const struct look *looks, size_t first, size_t step,
                 int count, int most_apart, struct pairs *out)
{
    int last = -1;
    for (int k = 0; k < count; k++) {
        size_t at = first + (size_t)k * step;
        const struct look *here = &looks[at];
        if (here->tint < 0 && s->cells[at] == CELL_UNKNOWN)
            continue; /* a stripe border */
        if (here->tint < 0 || here->rgb[0] < 0) {
            last = -1;
            continue;
        }
        size_t before = first + (size_t)(last < 0 ? k : last) * step;
        if (looks[before].tint != here->tint && k - last <= most_apart &&
            (s->cells[at] == CELL_PART || s->cells[before] == CELL_PART))
            take_pair(s, &looks[before], here, out);
        last = k;
    }
}

void shadow_learn(const struct silhouette *s, const struct look *looks, struct shadow *out)
{
    const int most_apart = (int)(CROSSED_MM / s->pitch_mm);
    *out = (struct shadow){.seen = false};
    struct pairs *pairs = calloc(1, sizeof *pairs);
    if (!pairs)
        return;
    for (int j = 0; j < s->height; j++)
        scan(s, looks, (size_t)j * (size_t)s->width, 1, s->width, most_apart, pairs);
    for (int i = 0; i < s->width; i++)
        scan(s, looks, (size_t)i, (size_t)s->width, s->height, most_apart, pairs);
    out->seen = pairs->count >= LEAST_PAIRS;
    for (int c = 0; c < 3; c++)
        out->removes[c] = (float)median_upper(pairs->removes[c], pairs->count);
    float length = sqrtf(sample_dot(out->removes, out->removes));
    for (int c = 0; c < 3 && out->seen; c++)
        out->removes[c] /= length;
    free(pairs);
}

static bool explains(const struct shadow *shadow, const struct silhouette *s,
                     const struct look *look)
{
    const float alike = 0.25F, least = 0.03F, deepest = 1.45F;
    float share[3], removed[3];
    if (look->tint < 0 || look->rgb[0] < 0)
        return false;
    share_of_light(s, look, share);
    for (int c = 0; c < 3; c++) {
        removed[c] = 1 - share[c];
        if (share[c] < least)
            return false; /* too dark to tell */
    }
    float along = sample_dot(removed, shadow->removes);
    float across = sqrtf(fmaxf(0, sample_dot(removed, removed) - along * along));
    /* deep in a shadow the hue must be that of what light is left: black has lost all alike */
    float left = sqrtf(sample_dot(share, share));
    return along > 0 && along < deepest && across < alike * fminf(along, left);
}

/* Cells on the way from bare card, and how many of a stripe border each has come through. */
struct front {
    size_t *queue, waiting;
    uint8_t *come; /* 0: not reached; else 1 + the number */
};

static void reach(struct front *front, size_t at, int through)
{
    front->come[at] = (uint8_t)(1 + through);
    front->queue[front->waiting++] = at;
}

static void spread(const struct shadow *shadow, const struct look *looks, const uint8_t *thin,
                   struct silhouette *s, struct front *front)
{
    const int most_through = (int)(CROSSED_MM / s->pitch_mm);
    const size_t width = (size_t)s->width;
    for (size_t k = 0; k < front->waiting; k++) {
        const size_t at = front->queue[k], i = at % width, j = at / width;
        const size_t next[4] = {at - 1, at + 1, at - width, at + width};
        const bool inside[4] = {i > 0, i + 1 < width, j > 0, j + 1 < (size_t)s->height};
        for (int d = 0; d < 4; d++) {
            if (!inside[d] || front->come[next[d]])
                continue;
            int through = front->come[at];
            if (s->cells[next[d]] == CELL_PART && explains(shadow, s, &looks[next[d]])) {
                s->cells[next[d]] = CELL_TINT;
                reach(front, next[d], 0);
            } else if (s->cells[next[d]] == CELL_UNKNOWN && thin[next[d]] &&
                       through <= most_through) {
                reach(front, next[d], through);
            }
        }
    }
}

bool shadow_clear(const struct shadow *shadow, const struct look *looks, const uint8_t *thin,
                  struct silhouette *s)
{
    const size_t n = (size_t)s->width * (size_t)s->height;
    if (!shadow->seen)
        return true;
    struct front front = {malloc(n * sizeof *front.queue), 0, calloc(n, 1)};
    bool good = front.queue && front.come;
    for (size_t at = 0; good && at < n; at++)
        if (s->cells[at] == CELL_TINT)
            reach(&front, at, 0);
    if (good)
        spread(shadow, looks, thin, s, &front);
    free(front.queue);
    free(front.come);
    return good;
}
