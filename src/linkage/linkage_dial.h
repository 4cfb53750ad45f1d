/* A station as a picture: the arms as they stand, where they should stand, and which way to go. */
#ifndef LINKAGE_DIAL_H
#define LINKAGE_DIAL_H

#include "drawing/drawing_file.h"
#include "drawing/plot.h"

#include <stdbool.h>

#define LINKAGE_DIAL_RAYS 12
#define LINKAGE_DIAL_LINES 4
#define LINKAGE_DIAL_TEXT 4096

struct linkage_dial_ray {
    double deg; /* counter-clockwise from the reference, as seen in the photo */
    struct plot_colour colour;
    bool wanted; /* where something should stand: dashed, without an arm */
    bool edge;   /* a line without a head, through the middle */
    char label[64];
};

struct linkage_dial {
    const char *title; /* static or borrowed */
    int ray_count;
    struct linkage_dial_ray rays[LINKAGE_DIAL_RAYS];
    bool has_turn; /* an arrow from the tip of rays[turn_ray] the way of the cure */
    int turn_ray;
    double off_deg; /* that ray minus wanted */
    int line_count;
    char lines[LINKAGE_DIAL_LINES][LINKAGE_DIAL_TEXT]; /* what to do, under the picture */
    const char *last; /* under these, of any length; borrowed, or NULL */
};

/* Adds a ray, or a line of text; silently nothing when there is no more room for it. */
void linkage_dial_add(struct linkage_dial *dial, double deg, struct plot_colour colour,
                      const char *label);
void linkage_dial_say(struct linkage_dial *dial, const char *text);

/* The drawing; dial is borrowed. */
struct drawing linkage_dial_drawing(const struct linkage_dial *dial);

#endif
