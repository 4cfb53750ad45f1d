/* Shared by the parts of the annotated picture: annotate.c composes it, annotate_overlay.c draws on
 * the photo, annotate_panel.c writes below it.
 *
 * Lengths are in units of 1/160 of the picture's width, called mm here as lettering.h calls them:
 * the picture is drawn like a print 160 mm wide, so that it reads the same whatever its pixels. */
#ifndef ANNOTATE_INTERNAL_H
#define ANNOTATE_INTERNAL_H

#include "annotate.h"
#include "order.h"
#include "vision.h"

#include <cairo.h>

#define ANNOTATE_WIDTH_MM 160.0

struct annotate_colour {
    double r, g, b;
};

/* One colour, one meaning, in photo and panel. */
extern const struct annotate_colour annotate_arm;    /* the arm as it lies */
extern const struct annotate_colour annotate_action; /* what to do */
extern const struct annotate_colour annotate_ink;    /* text, and the halo around lines */

/* What there is to show. The first arm is the one that is meant, and the deviation of each judged
 * arm is the one from where it should be. */
struct annotate_answer {
    struct vision_result result;
    const struct annotate_goal *goal; /* NULL: square, for every arm */
    enum order order;
};
void annotate_answer_make(const struct vision_result *result, const struct annotate_goal *goal,
                          struct annotate_answer *out);

void annotate_set(cairo_t *cr, struct annotate_colour colour, double alpha);

/* Where the photo lies in the picture. */
struct annotate_view {
    struct vision_rect area;    /* the part of the photo that is shown */
    double mm_per_px;           /* picture lengths per photo pixel */
    double x_mm, y_mm;          /* of the area's top left corner */
    double width_mm, height_mm; /* of the area */
};

struct vision_point annotate_place(const struct annotate_view *view, struct vision_point px);

/* An arrowhead with its point at (x, y), heading along angle. */
void annotate_arrowhead(cairo_t *cr, double x, double y, double angle, double size);

/* Has the arm's label a sign that tells how it lies? Of the first arm the panel says it, and beside
 * the arrow of its cure a second one would be one too many. What shows as zero lies on no side. */
bool annotate_has_sign(const struct annotate_answer *answer, int arm);

/* How an arm lies, in the colours of the photo: an arrow over the top, from the white of where it
 * should lie to the yellow of where it does. In a square of that size about (x, y). */
void annotate_lie_sign(cairo_t *cr, double x, double y, double size, double deviation_deg);

void annotate_overlay(cairo_t *cr, const struct annotate_view *view,
                      const struct annotate_answer *answer);

/* Height the panel needs; cr is any context of the picture's kind. */
double annotate_panel_height(cairo_t *cr, const struct annotate_answer *answer);
/* Draws the panel with its top at y_mm. name is clean text. */
void annotate_panel(cairo_t *cr, double y_mm, const char *name,
                    const struct annotate_answer *answer);

#endif
