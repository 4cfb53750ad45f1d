/* The planar four-bar: horn, link, crank arm and the base between their axes. Pure arithmetic.
 *
 * Frame: the horn turns about (0, 0), the crank about (base, 0); angles in radians,
 * counter-clockwise from the base line; the link's direction runs from the horn's ball to the
 * crank's ball. Lengths in millimetres (any one unit does).
 * Terms: R. L. Norton, Design of Machinery, chapters 2 and 4 (a horn, b link, c crank, d base). */
#ifndef FOURBAR_H
#define FOURBAR_H

enum fourbar_status {
    FOURBAR_OK,
    FOURBAR_BAD_LENGTH,   /* a length is not a positive, finite number */
    FOURBAR_CANNOT_CLOSE, /* one length is longer than the other three together */
    FOURBAR_OUT_OF_REACH, /* at this horn angle the link cannot span the gap */
    FOURBAR_NO_DIRECTION, /* the horn's ball lies on the crank's axis: any crank angle fits */
};

/* The two ways to assemble the same four lengths at one horn angle, mirrored in the line from the
 * horn's ball to the crank's axis. Open: the crank stands to the left of that line as one looks
 * along it, and turns counter-clockwise from its link: sin(crank - link) >= 0; crossed: <= 0. Each
 * stays itself while the horn turns, but at a dead point, where both are one. With the horn above
 * the base line (0 to 180 degrees) open is the assembly that Norton calls so, whose link does not
 * cross the base line; below it the crossed one takes that place, as the mirror image has it. */
enum fourbar_assembly {
    FOURBAR_OPEN,
    FOURBAR_CROSSED,
};

struct fourbar {
    double horn_mm, link_mm, crank_mm, base_mm;
    double k1, k2, k3; /* Freudenstein's constants, set by fourbar_init */
};

struct fourbar_pose {
    double crank_rad, link_rad; /* (-pi, pi] */
    double transmission_rad;    /* between link and crank, [0, pi/2]; 0 is a dead point */
    double gain;                /* crank angle per horn angle; infinite at a dead point */
};

/* Checks the lengths and prepares for fourbar_solve. FOURBAR_OK, FOURBAR_BAD_LENGTH or
 * FOURBAR_CANNOT_CLOSE; mech is filled only on FOURBAR_OK. */
enum fourbar_status fourbar_init(struct fourbar *mech, double horn_mm, double link_mm,
                                 double crank_mm, double base_mm);

/* Both assemblies at one horn angle: poses[FOURBAR_OPEN] and poses[FOURBAR_CROSSED]. At a dead
 * point they coincide. FOURBAR_OK, FOURBAR_OUT_OF_REACH or FOURBAR_NO_DIRECTION; poses are
 * unchanged unless FOURBAR_OK. */
enum fourbar_status fourbar_solve(const struct fourbar *mech, double horn_rad,
                                  struct fourbar_pose poses[2]);

/* The link length that puts horn and crank at these angles (any lengths and angles). */
double fourbar_link_for(double horn_mm, double crank_mm, double base_mm, double horn_rad,
                        double crank_rad);

/* Grashof's classes. */
enum fourbar_class {
    FOURBAR_CRANK_ROCKER,  /* the horn can turn full circle, the crank swings */
    FOURBAR_DOUBLE_CRANK,  /* both can turn full circle */
    FOURBAR_ROCKER_CRANK,  /* the crank can turn full circle, the horn swings */
    FOURBAR_DOUBLE_ROCKER, /* only the link can turn full circle */
    FOURBAR_TRIPLE_ROCKER, /* not Grashof: nothing can turn full circle */
    FOURBAR_CHANGE_POINT,  /* the sums are equal: all four can fall into one line */
};
enum fourbar_class fourbar_class_of(const struct fourbar *mech);

#endif
