/* The annotated picture: the photo around the card with reference, arms and the wanted position
 * drawn in, and below it a panel with the answer. The measurement travels inside
 * (picture_record.h). */
#ifndef ANNOTATE_H
#define ANNOTATE_H

#include "vision.h"

#include <jansson.h>
#include <stdbool.h>

enum annotate_fault {
    ANNOTATE_FINE,
    ANNOTATE_PHOTO,  /* the photo cannot be decoded */
    ANNOTATE_MEMORY, /* not enough memory to draw */
    ANNOTATE_WRITE,  /* the file cannot be written; errno */
};

/* What is asked of one of the arms, where that is not simply "square". */
struct annotate_goal {
    int arm;          /* the arm that is meant: index in the result */
    const char *role; /* what the photo is for, "One end of the travel."; shown when not judged */
    bool judged;      /* false: its angle alone is wanted, there is nothing to turn */
    const char *from; /* completes "0.5 degrees clockwise of ...": "level", "the wanted 55°" */
    double off_deg;   /* from the wanted position, counter-clockwise positive */
    double expanded_deg;  /* U of off_deg, 95 % */
    double tolerance_deg; /* decides after ISO 14253-1 (decision.h) */
    /* What to do where that cannot be told, a sentence; NULL: measure again, better. */
    const char *undecided;
    /* Where there is no answer: what to tell in place of the reason, a sentence; NULL: the reason.
     */
    const char *instead;
    /* NULL, or the ends of two links, the first link's first: they are shown in place of arms, and
     * off_deg (first longer than second), expanded_deg and tolerance_deg are millimetres. */
    const struct vision_point *balls_px;
    bool any_square; /* off_deg is from the nearest square, which nobody named (order.h) */
    bool all_square; /* the other arms are wanted square, too, and told of */
};

/* Draws photo with its result, however it ended, and writes it as PNG to path: whole or not at
 * all. name is shown as the photo's name; measurement is what measure_json made of result. goal
 * NULL: every arm is judged against square. */
enum annotate_fault annotate_write(const char *path, const char *name,
                                   const struct vision_photo *photo,
                                   const struct vision_result *result, const json_t *measurement,
                                   const struct annotate_goal *goal);

#endif
