/* The face of a disc and a little around it, cell by cell, as holes and balls are looked for in it.
 */
#ifndef DISC_FACE_H
#define DISC_FACE_H

#include "rim.h"

#define DISC_FACE_PITCH_MM 0.1 /* the smallest hole seen aslant is six cells wide */

struct disc_face {
    struct vision_point corner_mm; /* of the first cell's centre */
    int side;         /* cells along x and along y; the disc's centre is the middle one */
    float (*look)[3]; /* square root of light against the paper's; look[0] < 0: not seen */
};

/* Reads the square about the outline's centre, so many radii to each side. false when memory is
 * short. */
bool disc_face_read(const struct vision_image *image, const struct card_fix *fix,
                    const struct silhouette *s, const struct rim *outline, double radii,
                    struct disc_face *out);
void disc_face_clear(struct disc_face *face);

/* Centre of a cell; row by row from the corner. */
struct vision_point disc_face_point(const struct disc_face *face, size_t at);

/* Whether a cell was seen and lies between two shares of the outline's radius from its centre. */
bool disc_face_has(const struct disc_face *face, const struct rim *outline, size_t at, double from,
                   double to);

/* Medians of the looks of some thousand of those cells along three axes, and where spread is wanted
 * the scatter about them. false where too little is seen. */
bool disc_face_usual(const struct disc_face *face, const struct rim *outline, double from,
                     double to, const float axes[3][3], double middle[3], double spread[3]);

#endif
