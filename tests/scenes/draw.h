/* Repeatable draws: the same seed gives the same numbers on every machine. */
#ifndef DRAW_H
#define DRAW_H

#include <stdbool.h>
#include <stdint.h>

struct draw {
    uint64_t state;
};

struct draw draw_seeded(uint64_t seed);
/* In [low, high). */
double draw_uniform(struct draw *draw, double low, double high);
/* 0 .. count - 1. */
int draw_below(struct draw *draw, int count);
bool draw_chance(struct draw *draw, double probability);
/* Mean 0, standard deviation 1. */
double draw_normal(struct draw *draw);

#endif
