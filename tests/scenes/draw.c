#include "draw.h"

#include <math.h>

/* SplitMix64 (G. Steele, D. Lea, C. Flood, "Fast splittable pseudorandom number generators",
 * OOPSLA 2014): short, no bad seeds, the same on every machine. */
static uint64_t next(struct draw *draw)
{
    uint64_t z = (draw->state += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

struct draw draw_seeded(uint64_t seed)
{
    struct draw draw = {seed};
    next(&draw);
    return draw;
}

double draw_uniform(struct draw *draw, double low, double high)
{
    return low + (high - low) * ((double)(next(draw) >> 11) / 9007199254740992.0);
}

int draw_below(struct draw *draw, int count)
{
    return (int)(draw_uniform(draw, 0, 1) * count);
}

bool draw_chance(struct draw *draw, double probability)
{
    return draw_uniform(draw, 0, 1) < probability;
}

double draw_normal(struct draw *draw)
{
    /* Box and Muller; the second value is thrown away to keep the state one number. */
    double u = draw_uniform(draw, 1e-12, 1), v = draw_uniform(draw, 0, 6.283185307179586);
    return sqrt(-2 * log(u)) * cos(v);
}
