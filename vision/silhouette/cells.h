/* What the steps that make a silhouette share: how its cells look, and small helpers over them. */
#ifndef CELLS_H
#define CELLS_H

#include "silhouette.h"

#include <math.h>

/* What a cell of the map looks like. */
struct look {
    float rgb[3];  /* relative to the light; rgb[0] < 0: not seen */
    int tint;      /* 0, 1; -1 none */
    bool burnt[3]; /* as bright as the photo can show: the light may have been more */
};

/* In print: as the card is described, before the printer stretched it. */
static inline struct vision_point cells_centre(const struct silhouette *s, int i, int j)
{
    return (struct vision_point){s->x0_mm + i * s->pitch_mm, s->y0_mm + j * s->pitch_mm};
}

/* How deep inside the slot's printed outline; negative outside. Point in print. */
static inline double cells_slot_depth(const struct vision_card *card, struct vision_point print)
{
    const double from_middle = sqrt(print.x * print.x + print.y * print.y); /* hypot is slow */
    return card->slot_half_width_mm - (print.x > 0 ? from_middle : fabs(print.y));
}

/* The slot with its rim. */
#define CELLS_SLOT_RIM_MM 0.2

static inline bool cells_in_slot(const struct vision_card *card, struct vision_point print)
{
    return cells_slot_depth(card, print) > -CELLS_SLOT_RIM_MM;
}

/* What alone is printed within clear_mm of a point in print, less than a marker's cell;
 * VISION_PRINT_MARK where different prints meet. */
static inline enum vision_print cells_plain_print(const struct vision_card *card,
                                                  struct vision_point at, double clear_mm)
{
    const enum vision_print middle = vision_card_print_at(card, at);
    for (int k = 0; k < 4; k++) {
        const struct vision_point beside = {at.x + (k & 1 ? clear_mm : -clear_mm),
                                            at.y + (k & 2 ? clear_mm : -clear_mm)};
        if (vision_card_print_at(card, beside) != middle)
            return VISION_PRINT_MARK;
    }
    return middle;
}

/* Class at a point in print; CELL_OFF outside the map. */
static inline enum cell cells_at(const struct silhouette *s, struct vision_point print)
{
    double i = floor((print.x - s->x0_mm) / s->pitch_mm + 0.5);
    double j = floor((print.y - s->y0_mm) / s->pitch_mm + 0.5);
    if (!(i >= 0 && j >= 0 && i < s->width && j < s->height))
        return CELL_OFF;
    return (enum cell)s->cells[(size_t)j * (size_t)s->width + (size_t)i];
}

/* Rows of cells that one thread works on at a time, and how many times that. */
#define CELLS_STRIP_ROWS 16

static inline size_t cells_strips(const struct silhouette *s)
{
    return ((size_t)s->height + CELLS_STRIP_ROWS - 1) / CELLS_STRIP_ROWS;
}

static inline float cells_length(const float rgb[3])
{
    return sqrtf(rgb[0] * rgb[0] + rgb[1] * rgb[1] + rgb[2] * rgb[2]);
}

/* Between a colour and one of unit length, rad: what is left when brightness does not count. */
static inline float cells_angle(const float rgb[3], const float unit[3])
{
    float along = rgb[0] * unit[0] + rgb[1] * unit[1] + rgb[2] * unit[2];
    float square = rgb[0] * rgb[0] + rgb[1] * rgb[1] + rgb[2] * rgb[2] - along * along;
    return atan2f(sqrtf(fmaxf(0, square)), along);
}

#endif
