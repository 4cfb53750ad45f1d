/* Which of the edges seen on successive sections across a side of the arm are one and the same. */
#ifndef EDGE_CHAIN_H
#define EDGE_CHAIN_H

#include <stdbool.h>

#define CHAIN_INSIDE 40 /* samples inside the predicted edge: a wall seen at an angle is broad */
#define CHAIN_OUTSIDE 24
#define CHAIN_SAMPLES (CHAIN_INSIDE + 1 + CHAIN_OUTSIDE)

/* One section, from inside the part outwards. */
struct chain_section {
    double predicted_mm; /* distance of sample CHAIN_INSIDE from the axis */
    int tint;            /* or other print behind the edge; -1: the section is not to be used */
    int first, last;     /* samples to be used */
    float rgb[CHAIN_SAMPLES][3]; /* square root of light, relative to paper */
};

/* Finds the strongest smooth run of edges along n sections, in order and evenly spaced.
 *
 * A side of an arm shows several edges close together: where face and wall meet, where the wall
 * ends, where its shadow ends. Any one of them has the direction of the side, for all lie in planes
 * parallel to the card; jumping from one to another has not. So edges are looked for first, all of
 * them, and then the path through them is chosen as a whole, by dynamic programming (R. Bellman,
 * 1957): strong edges, small steps, no change of colours across the edge.
 *
 * step_mm    distance of samples
 * pixel_mm   size of an image pixel there
 * crossing   out, n: sample index of the chain's edge, negative where it has none
 * other      out, n: the same for the best chain clear of the first: a witness of the direction
 * false when memory is short. */
bool edge_chain_find(const struct chain_section *sections, int n, double step_mm, double pixel_mm,
                     double *crossing, double *other);

#define CHAIN_MAX_EDGES 5 /* on one section: shadow, wall, bevel, face and one that is none */

struct chain_edge {
    double at;                   /* sample index */
    float inside[3], outside[3]; /* colours at the feet of its two flanks, as in a section */
};

/* All edges of one section, for who knows better than a chain which of them to follow. Returns
 * their number. */
int edge_chain_edges(const struct chain_section *sections, int n, int at, double step_mm,
                     double pixel_mm, struct chain_edge out[CHAIN_MAX_EDGES]);

#endif
