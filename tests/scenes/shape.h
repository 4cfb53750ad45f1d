/* The shape of a horn or crank: an outline extruded with rounded edges, with bosses and holes.
 * Local frame: millimetres, hub axis = z axis, z = 0 in the middle of the plate's thickness,
 * angles counter-clockwise from x. Every arm is symmetric about its axis, so that the axis is
 * what an exact measurement of its side edges finds. */
#ifndef SHAPE_H
#define SHAPE_H

#include <stdio.h>

#define SHAPE_MAX_ARMS 8
#define SHAPE_MAX_HOLES 6

struct shape_arm {
    double angle_deg;
    double reach_mm;        /* hub axis to the very tip */
    double root_mm, tip_mm; /* half widths at the hub axis and at the tip's round end */
    double concave_mm;      /* how much each side curves in, at the middle */
    int hole_count;         /* along the axis */
    double hole_at_mm[SHAPE_MAX_HOLES];
    double hole_radius_mm;
    double slot_from_mm, slot_to_mm, slot_half_mm; /* a slot along the axis; half 0: none */
};

struct shape {
    int arm_count; /* 0: a plain disc or washer */
    struct shape_arm arms[SHAPE_MAX_ARMS];
    double thick_mm, edge_mm;   /* plate; radius of its rounded edges */
    double hub_mm;              /* radius of the plate round the hub axis */
    double blend_mm;            /* size of the fillets between arms */
    double disc_mm;             /* radius of a disc horn, 0: none; arms are then holes */
    double rim_mm, rim_wide_mm; /* outer radius of a wheel's rim, 0: none; arms are its spokes */
    /* A clamp's ear: from the hub outwards to reach, split in the middle. Half 0: none. */
    double ear_deg, ear_reach_mm, ear_half_mm, slit_half_mm;
    double boss_mm, boss_up_mm, boss_down_mm; /* radius; height over and under the plate */
    double bore_mm, bore_deep_mm;             /* recess for the screw's head, from the boss's top */
};

/* Distance-like value of the outline at a point of the plane: negative inside. */
double shape_outline(const struct shape *shape, double x_mm, double y_mm);
/* Writes the surface as a POV-Ray mesh2 without texture: "mesh2 { ... " left open, so that the
 * caller adds texture and transform and closes it. cell_mm is the size of a facet.
 * Returns the number of faces, 0 when out of memory. */
int shape_write_mesh(const struct shape *shape, double cell_mm, FILE *to);

#endif
