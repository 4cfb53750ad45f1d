/* The rim of something round and flat, a disc or a hole through it, to a fraction of a pixel. */
#ifndef RIM_H
#define RIM_H

#include "edge/arm_shared.h"
#include "part/part.h"

enum rim_kind {
    RIM_OUTLINE, /* the disc lies inside */
    RIM_HOLE,    /* the card is seen inside */
};

struct rim {
    struct vision_point centre_mm; /* half way between upper and lower face, as seen on the card */
    double radius_mm;
    struct estimate rise;  /* in: what is known of the distance between the faces, as a share of the
                              camera's height; out: the same and what this rim shows */
    struct estimate usual; /* in: what is known of the radius, mm; u = 0: nothing */
    bool rise_shown;       /* out: this rim tells about the rise */
    double centre_u_mm;    /* out: of each coordinate of the centre */
    double scatter_mm;     /* out: robust standard deviation of the edge points */
    double seen; /* out: share of the rim that was seen and agrees, 0 to 1; edges that may be
                    a shadow's or a bevel's count in part */
};

/* Places the rim from its edge in the photo.
 * rim        in: centre and radius to half a millimetre or a third of the radius; rise
 * camera_mm  the camera's centre in the card frame
 * Returns VISION_REASON_NONE, VISION_NO_ARM (no round rim there; rim is then undefined) or
 * VISION_NO_MEMORY. Model: docs/method.md, "Discs". */
enum vision_reason rim_fit(const struct vision_image *image, const struct card_fix *fix,
                           const struct silhouette *s, const double camera_mm[3],
                           enum rim_kind kind, struct rim *rim);

#endif
