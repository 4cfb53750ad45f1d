/* What is known about a test photo, from the JSON beside it (fields: testimages/README.md). */
#ifndef TRUTH_FILE_H
#define TRUTH_FILE_H

#include "vision.h"

#include <stdbool.h>

#define TRUTH_MAX_TAGS 16
#define TRUTH_NO_BALL 1e9
#define TRUTH_MAX_REASONS 8

struct truth_arm {
    double angle_deg; /* hub to tip against the card's x axis, [0, 360) */
    double length_mm;
    struct vision_point tip_px;
    double ball_over_mm; /* the ball's centre over the hub's mid plane; TRUTH_NO_BALL: none */
};

struct truth {
    char photo[96];                      /* file name */
    char set[8];                         /* "tune", "kept", "fresh" */
    bool measurable;                     /* false: a refusal is the right answer */
    char reasons[TRUTH_MAX_REASONS][24]; /* reason codes that would be right; "" ends the list */
    char card[24];
    double px_per_mm, obliquity_deg;
    int width_px, height_px, orientation;
    double focal_px, k1, k2;           /* Brown's radial terms, at unit distance */
    double tilt_deg;                   /* of the arms' plane against the card */
    struct vision_point corners_px[4]; /* bottom left, bottom right, top right, top left */
    enum vision_reference_kind reference;
    double reference_deg;           /* card frame; of a line, so 180 more is the same */
    struct vision_point hint_px[2]; /* for EDGE and LINK */
    struct vision_point hub_px;
    int arm_count;
    struct truth_arm arms[VISION_MAX_ARMS];
    int tag_count;
    double height_mm; /* the part's underside over the card */
    double blur_px;   /* radius of defocus or half the length of a movement, the larger */
    double noise;     /* 1: a phone by day */
    int jpeg_quality; /* 0: not said, 82 and more */
    char tags[TRUTH_MAX_TAGS][32]; /* what makes the photo what it is: "finish:chrome", "finger" */
};

/* Reads a truth file. false when it cannot be read or a field is missing; out is then undefined. */
bool truth_read(const char *path, struct truth *out);
bool truth_has_tag(const struct truth *truth, const char *tag);
bool truth_allows_reason(const struct truth *truth, const char *code);

#endif
