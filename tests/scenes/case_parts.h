/* What sets and series draw alike; the files case*.c alone use it. */
#ifndef CASE_PARTS_H
#define CASE_PARTS_H

#include "case.h"

/* A tag for the error table; more than fit are dropped. */
void case_add_cause(struct photo_case *c, const char *cause);
struct item *case_add_item(struct photo_case *c, enum item_kind kind, struct vec3 at,
                           double turn_deg);

/* The steps of a drawing, in this order; each takes what it needs from those before. */
void case_mix_plastic(struct photo_case *c, struct draw *d);
void case_draw_shape(struct photo_case *c, struct draw *d);
void case_place_part(struct photo_case *c, struct draw *d);
void case_orient_part(struct photo_case *c);
/* Makes another outline of the arms or hub drawn; the design has its name then. */
void case_reshape(struct photo_case *c, struct draw *d, const char *outline);
/* A ball at an arm's outermost hole, and where a rod would leave it. */
void case_draw_link(struct photo_case *c, struct draw *d, int arm);
void case_draw_links(struct photo_case *c, struct draw *d);
void case_draw_light(struct photo_case *c, struct draw *d);
/* The same, and the lights that the second part of the set brought. */
void case_draw_any_light(struct photo_case *c, struct draw *d);
/* Sensor, lens and EXIF data. */
void case_draw_frame(struct photo_case *c, struct draw *d, bool large);
void case_draw_development(struct photo_case *c, struct draw *d, bool large);
/* Where a flash sits: by the lens. */
void case_place_flash(struct photo_case *c, struct draw *d);
/* Moves the camera away from `at` along the unit vector until the card, with the sticker of a
 * hidden crank and what must show beyond the butt edge, fills c->fill. */
void case_stand_back(struct photo_case *c, struct vec3 toward, struct vec3 at, double roll_deg);
void case_refer_to_edge(struct photo_case *c, struct draw *d);
void case_refer_to_link(struct photo_case *c, struct draw *d);
void case_draw_bench(struct photo_case *c, struct draw *d);
void case_name(struct photo_case *c, const struct set_options *options);

/* Things that cover or surround the card. */
void case_add_finger(struct photo_case *c, struct draw *d);
void case_add_plate(struct photo_case *c, struct draw *d);
void case_add_tape(struct photo_case *c, struct draw *d);
void case_scatter_one(struct photo_case *c, struct draw *d, enum item_kind kind);
/* What lies about on an ordinary bench. */
void case_scatter(struct photo_case *c, struct draw *d);
void case_add_dust(struct photo_case *c, struct draw *d);

struct vec3 case_around(struct draw *d, double low_deg, double high_deg, double far_mm);
void case_paint(double *rgb, double r, double g, double b, double k);
void case_set_room(struct photo_case *c, double r, double g, double b, double low, double high);

/* The set's second part: case_second.c. */
int case_second_size(void);
/* Row `row` of it; beyond the last row it starts again, with other draws. */
void case_draw_second(struct photo_case *c, int row, const struct set_options *options);

/* Photo `index` of the series of hidden cranks: case_sticker.c. */
void case_draw_sticker(struct photo_case *c, int index, const struct set_options *options);

/* Photo `index` of a series of horns that reach over the butt edge: case_butted.c. */
void case_draw_butted(struct photo_case *c, int index, const struct set_options *options);

#endif
