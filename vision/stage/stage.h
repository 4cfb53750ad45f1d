/* What one measurement knows so far, and its first two stages: the card, and the part before it. */
#ifndef STAGE_H
#define STAGE_H

#include "card/lens.h"
#include "card/markers.h"
#include "disc/rim.h"
#include "edge/edge_fit.h"
#include "part/part.h"
#include "silhouette/silhouette.h"
#include "vision.h"

#include <time.h>

/* Markers are looked for quickly in a picture of this many pixels or up to twice as many on its
 * long side; where that finds too few, thoroughly in finer ones up to STAGE_FINEST_SIDE_PX. */
#define STAGE_SEARCH_SIDE_PX 1000
#define STAGE_FINEST_SIDE_PX 6000
/* Enough for the edges: more pixels cost time and show the same blur. docs/decisions.md. */
#define STAGE_FINE_PX_PER_MM 18.0

struct stage {
    const struct vision_photo *photo;
    const struct vision_options *options; /* the caller's, or carried */
    struct vision_options carried;        /* with the points where this photo shows them */
    struct vision_result *out;
    struct timespec begin;
    struct card_fix fix;
    struct vision_image image; /* the card's surroundings, RGB */
    struct silhouette silhouette;
    struct part_field *field;
    struct part part;                         /* arms in the order of fits, poor ones left out */
    struct part whole;                        /* as found, for links that leave an arm left out */
    struct arm_edges *edges[VISION_MAX_ARMS]; /* of its arms, while lines are fitted */
    struct arm_fit fits[VISION_MAX_ARMS];
    struct rim outline;       /* of a disc or a round hub, where one was seen: seen > 0 */
    bool is_disc;             /* the arms run to its holes and balls */
    bool by_balls;            /* to balls alone */
    int disc_untold;          /* its arms beyond those in part */
    double focal_px, focal_u; /* focal_u: relative standard uncertainty */
    double camera_mm[3];      /* card frame */
    struct vision_point middle_px;
    bool lens_is_guess; /* it is being looked for, so the card cannot speak against it */
};

/* Everything of the stage is borrowed but image, silhouette, field and edges. */
struct stage stage_start(const struct vision_photo *photo, const struct vision_options *options,
                         struct vision_result *out);
/* Frees these and says how long it took. */
void stage_end(struct stage *s);

/* Why no arm, or a poor one, was told: where the part has a colour of the card, that; where none
 * was found and something hides a printed square, that; else reason. */
enum vision_reason stage_blame(const struct stage *s, enum vision_reason reason);
/* Lowers the result to unsure, unless something as grave came before. */
void stage_note(struct vision_result *out, enum vision_status status, enum vision_reason reason);
/* Makes it failed; returns false. */
bool stage_fail(struct vision_result *out, enum vision_reason reason);
/* Whether the reason is the photo's file, not what it shows. */
bool stage_is_file_reason(enum vision_reason reason);

/* Whether a point (pixels) lies in the photo. */
bool stage_in_photo(const struct stage *s, struct vision_point px);

int stage_long_side_px(const struct stage *s);
/* The largest of 1, 2, 4, 8 that divides what there is, pixels or pixels for a millimetre, into no
 * less than is wanted. */
int stage_reduce_for(double has, double wanted);
/* The lens of the profile, if there is one; false when that is of other photos. */
bool stage_choose_lens(struct stage *s, struct plane_lens *out);
/* How the plane is seen: focal length, scale, slant and the camera's place. */
void stage_describe_view(struct stage *s);
/* Whether the view is too slanting for use; marks it unsure where it nearly is. */
bool stage_is_too_steep(struct stage *s);

/* Finds the card and its plane, and decodes its surroundings. false: the result has failed. */
bool stage_card(struct stage *s);
/* Finds the part, and fits its arms. false: the result has failed. */
bool stage_part(struct stage *s);

#endif
