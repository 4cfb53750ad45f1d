/* Shared by the parts of the annotated picture: annotate.c composes it, annotate_overlay.c draws on
 * the photo, annotate_labels.c puts labels to that, for which annotate_place.c finds room, and
 * annotate_looked.c shows what was looked at where there is no answer; annotate_panel.c writes
 * below the photo.
 *
 * Lengths are in units of 1/160 of the picture's width, called mm here as lettering.h calls them:
 * the picture is drawn like a print 160 mm wide, so that it reads the same whatever its pixels. */
#ifndef ANNOTATE_INTERNAL_H
#define ANNOTATE_INTERNAL_H

#include "annotate.h"
#include "arithmetic/inch.h"
#include "drawing/lettering.h"
#include "result/order.h"
#include "result/verdict.h"
#include "vision.h"

#include <cairo.h>

#define ANNOTATE_WIDTH_MM 160.0
#define ANNOTATE_CAPITAL 0.73 /* height of capitals in sizes of type */

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
    char undecided[VERDICT_UNDECIDED]; /* what to do where it cannot be told */
};
void annotate_answer_make(const struct vision_result *result, const struct annotate_goal *goal,
                          struct annotate_answer *out);
/* The tolerance that an arm of the answer was held to; NAN where it was not judged. */
double annotate_limit_deg(const struct annotate_answer *answer, const struct vision_arm *arm);
/* What is told in place of the reason that the photo gives no answer; NULL: the reason is. */
const char *annotate_instead(const struct annotate_answer *answer);

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

/* ---- On the photo ------------------------------------------------------------------------- */

/* How far things reach from the hub, in lengths of the arm. */
#define ANNOTATE_WEDGE_FROM 1.10 /* clear of the tip */
#define ANNOTATE_WEDGE_TO 1.62

struct annotate_scene {
    cairo_t *cr;
    const struct annotate_view *view;
    const struct annotate_answer *answer;
    const struct vision_result *result; /* the answer's */
};

/* The picture's point at a direction (card frame) and distance from the arm's hub. */
struct vision_point annotate_from_hub(const struct annotate_scene *o, const struct vision_arm *arm,
                                      double card_deg, double lengths);
/* Where the arm points, card frame. */
double annotate_arm_direction(const struct annotate_scene *o, const struct vision_arm *arm);
/* How far the arm's lines are drawn, in lengths of it; where its own ends, its label follows. */
double annotate_reach(const struct annotate_scene *o, const struct vision_arm *arm);
struct vision_point annotate_line_end(const struct annotate_scene *o, const struct vision_arm *arm);
/* Where the arrow of the cure begins, card frame; it ends where the arm should lie. */
double annotate_cure_from(const struct annotate_scene *o, const struct vision_arm *arm);

/* The current path with a dark rim, so that it shows on any photo. */
void annotate_stroke(cairo_t *cr, struct annotate_colour colour, double width_mm);

struct annotate_box {
    double x, y, width, height;
};

/* The height that a label has for letters of such a size. */
double annotate_pill_height(double size_pt);

/* A label for words: its size, and the label itself with the words in its middle. */
struct annotate_box annotate_words_box(cairo_t *cr, const struct lettering_style *style,
                                       const char *text);
void annotate_words(cairo_t *cr, const struct lettering_style *style, struct annotate_box box,
                    const char *text);

/* The labels of all arms and of the reference. */
void annotate_label_all(const struct annotate_scene *scene);

/* Whether two points that were given are all there is to show of a reference. */
bool annotate_shows_hint(const struct vision_result *result);
/* What was looked at and brought no answer: the card stands out, the rest of the photo steps back.
 */
void annotate_looked_at(const struct annotate_scene *scene);
/* Pixels of the photo along its rim, for who must tell the program two points of it. */
void annotate_pixel_rim(cairo_t *cr, const struct annotate_view *view);
/* Is that called for: can the answer be helped by pointing? */
bool annotate_wants_points(const struct annotate_answer *answer);

/* ---- Room for labels (annotate_place.c) --------------------------------------------------- */

/* How much one wants to see what a label would cover. */
enum annotate_sight {
    ANNOTATE_RATHER_NOT, /* markers, the reference, the dark edge, lines of other arms */
    ANNOTATE_HARDLY,     /* which way to turn */
    ANNOTATE_NEVER,      /* arms, and other labels */
};

#define ANNOTATE_MAX_OBSTACLES 700

struct annotate_labels {
    const struct annotate_scene *scene;
    struct annotate_obstacle {
        struct annotate_box box;
        enum annotate_sight sight;
        const struct vision_arm *line_of; /* a piece of this arm's line; NULL: something else */
    } obstacles[ANNOTATE_MAX_OBSTACLES];
    int count;
};

/* Takes note of all that is drawn and all that one wants to see; the scene is borrowed. */
void annotate_labels_init(struct annotate_labels *labels, const struct annotate_scene *scene);
/* Where there is a rim of pixels, it stays free. */
void annotate_keep_rim_clear(struct annotate_labels *labels);
/* Nothing is put there from now on. */
void annotate_keep_clear(struct annotate_labels *labels, enum annotate_sight sight,
                         struct annotate_box box);
/* Is the box within the photo, and clear of all that counts for so much or more? The line of own,
 * if there is one, may run into it. */
bool annotate_is_free(const struct annotate_labels *labels, enum annotate_sight clear_of,
                      const struct vision_arm *own, struct annotate_box box);
/* How far a label with this box ends before a point; not positive where it covers it. */
double annotate_gap(struct annotate_box box, struct vision_point at);
/* These keep the box's size and set where it stands; false when there is no such place. A free
 * place that covers the end of the arm's own line, beyond it, then ever further aside; and the one
 * nearest to a point, wherever that is. */
bool annotate_find_near(const struct annotate_labels *labels, enum annotate_sight clear_of,
                        const struct vision_arm *arm, struct annotate_box *box);
bool annotate_find_any(const struct annotate_labels *labels, enum annotate_sight clear_of,
                       struct vision_point near_to, struct annotate_box *box);
/* As near to the end of the arm's line as the picture allows, whatever lies below. */
void annotate_force_place(const struct annotate_labels *labels, const struct vision_arm *arm,
                          struct annotate_box *box);

/* ---- Parts -------------------------------------------------------------------------------- */

void annotate_overlay(cairo_t *cr, const struct annotate_view *view,
                      const struct annotate_answer *answer);

/* Is every arm held against square, not only the one that is meant? */
bool annotate_all_square(const struct annotate_answer *answer);

/* "B 0.8 ± 0.5°, D 2.2 ± 0.6°": the arms beside the first that lie clockwise, or
 * counter-clockwise, of square; "" where there are none or nothing is asked of them. */
void annotate_other_arms(const struct annotate_answer *answer, bool clockwise, char *out,
                         size_t size);

/* Height the panel needs; cr is any context of the picture's kind. */
double annotate_panel_height(cairo_t *cr, const struct annotate_answer *answer);
/* Draws the panel with its top at y_mm. name is clean text. */
void annotate_panel(cairo_t *cr, double y_mm, const char *name,
                    const struct annotate_answer *answer);

#endif
