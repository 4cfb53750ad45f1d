#include "part_colours.h"

#include <math.h>
#include <string.h>

int part_colours_of(const struct look *look)
{
    int colour = 0;
    for (int c = 0; c < 3; c++) {
        float root = sqrtf(fmaxf(0, look->rgb[c])); /* white paper is 1, glare a little more */
        int shade = (int)(root * (PART_COLOURS_SHADES / 1.3F));
        if (shade >= PART_COLOURS_SHADES)
            shade = PART_COLOURS_SHADES - 1;
        colour = colour * PART_COLOURS_SHADES + shade;
    }
    return colour;
}

/* Cells from left to right and from bottom to top, both ends included. */
struct block {
    int left, right, bottom, top;
};

static struct block block_about(const struct silhouette *s, struct vision_point centre,
                                double reach_mm)
{
    double i = (centre.x - s->x0_mm) / s->pitch_mm, j = (centre.y - s->y0_mm) / s->pitch_mm;
    double reach = reach_mm / s->pitch_mm;
    return (struct block){(int)fmax(0, ceil(i - reach)), (int)fmin(s->width - 1, floor(i + reach)),
                          (int)fmax(0, ceil(j - reach)),
                          (int)fmin(s->height - 1, floor(j + reach))};
}

static void learn_block(const struct silhouette *s, const struct vision_card *card,
                        const struct look *looks, const struct block *b, double near_mm,
                        struct part_colours *out)
{
    memset(out, 0, sizeof *out);
    for (int j = b->bottom; j <= b->top; j++)
        for (int i = b->left; i <= b->right; i++) {
            size_t at = (size_t)j * (size_t)s->width + (size_t)i;
            struct vision_point mm = cells_centre(s, i, j);
            if (s->cells[at] != CELL_PART || looks[at].rgb[0] < 0 || cells_in_slot(card, mm) ||
                hypot(mm.x, mm.y) > near_mm)
                continue;
            out->count[part_colours_of(&looks[at])]++;
            out->total++;
        }
}

void part_colours_learn(const struct silhouette *s, const struct vision_card *card,
                        const struct look *looks, struct part_colours *out)
{
    const double near_mm = 25;
    const struct block all = {0, s->width - 1, 0, s->height - 1};
    learn_block(s, card, looks, &all, near_mm, out);
}

bool part_colours_has(const struct part_colours *colours, const struct look *look)
{
    const double least = 0.003;
    return colours->count[part_colours_of(look)] > least * colours->total;
}

/* ---- Over the markers ------------------------------------------------------------------------
 *
 * An arm's tip that runs onto a marker can be followed, since the print is known: where the print
 * shows as expected and has no colour of the part, it is bare; where it does not and has, it is
 * part. Where both or neither hold, a black arm over a black cell, the cell goes by its neighbours.
 */

/* colours: NULL where too little of the part is seen to know them. Then what is not as expected is
 * part, and ink may be a dark part as well. */
static enum cell class_print(enum vision_print print, const struct look *look,
                             const struct part_colours *colours)
{
    const float bright = 0.3F, dark = 0.2F, neutral = 1.3F; /* relative to lit paper */
    float low = fminf(look->rgb[0], fminf(look->rgb[1], look->rgb[2]));
    float high = fmaxf(look->rgb[0], fmaxf(look->rgb[1], look->rgb[2]));
    bool expected =
        print == VISION_PRINT_WHITE ? low > bright && high < neutral * low : high < dark;
    bool part =
        colours ? part_colours_has(colours, look) : !expected || print == VISION_PRINT_BLACK;
    if (expected == part)
        return CELL_UNKNOWN;
    return part ? CELL_PART : CELL_TINT;
}

/* Whether part lies in the block. */
static bool reaches_block(const struct silhouette *s, const struct block *b)
{
    for (int j = b->bottom; j <= b->top; j++)
        for (int i = b->left; i <= b->right; i++)
            if (s->cells[(size_t)j * (size_t)s->width + (size_t)i] == CELL_PART)
                return true;
    return false;
}

/* Of a marker that no part comes near nothing needs to be known. */
void part_colours_on_markers(struct silhouette *s, const struct card_fix *fix,
                             const struct look *looks, const struct part_colours *colours,
                             uint8_t *thin)
{
    const struct vision_card *card = fix->card;
    const double reach_mm = markers_half_mm(card) + 0.4; /* and the blur about it */
    const double beside_mm = 1.6; /* further than an arm is followed beyond its end */
    const double learn_mm = 12, clear_mm = 0.25;
    for (int m = 0; m < card->marker_count; m++) {
        struct vision_point centre = card->markers[m].centre_mm;
        struct block b = block_about(s, centre, reach_mm);
        struct block about = block_about(s, centre, reach_mm + beside_mm);
        if (!reaches_block(s, &about))
            continue;
        /* the part may shine elsewhere, and other things lie there */
        struct part_colours local;
        struct block near = block_about(s, centre, reach_mm + learn_mm);
        learn_block(s, card, looks, &near, INFINITY, &local);
        const struct part_colours *known = local.total < PART_COLOURS_LEAST ? colours : &local;
        if (known->total < PART_COLOURS_LEAST)
            known = NULL;
        if (!known && markers_was_read(fix, m))
            continue;
        for (int j = b.bottom; j <= b.top; j++)
            for (int i = b.left; i <= b.right; i++) {
                size_t at = (size_t)j * (size_t)s->width + (size_t)i;
                if (s->cells[at] != CELL_UNKNOWN || looks[at].rgb[0] < 0)
                    continue;
                enum vision_print print = cells_plain_print(card, cells_centre(s, i, j), clear_mm);
                thin[at] = 1;
                if (print == VISION_PRINT_WHITE || print == VISION_PRINT_BLACK)
                    s->cells[at] = (uint8_t)class_print(print, &looks[at], known);
            }
    }
}
