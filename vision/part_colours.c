#include "part_colours.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_CELLS 300 /* of the part over the card, to know its colours by */

static int colour_of(const struct look *look)
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

/* The slot's outline and what lies in it, up to where the shaft may stand. */
static bool in_band(const struct silhouette *s, const struct vision_card *card, int i, int j)
{
    struct vision_point at = cells_centre(s, i, j);
    double half = card->slot_half_width_mm + 0.2;
    return fabs(at.y) < half && (at.x < 0 || hypot(at.x, at.y) < half);
}

void part_colours_learn(const struct silhouette *s, const struct vision_card *card,
                        const struct look *looks, struct part_colours *out)
{
    const double near_mm = 25;
    memset(out, 0, sizeof *out);
    for (int j = 0; j < s->height; j++)
        for (int i = 0; i < s->width; i++) {
            size_t at = (size_t)j * (size_t)s->width + (size_t)i;
            struct vision_point mm = cells_centre(s, i, j);
            if (s->cells[at] != CELL_PART || looks[at].rgb[0] < 0 || in_band(s, card, i, j) ||
                hypot(mm.x, mm.y) > near_mm)
                continue;
            out->count[colour_of(&looks[at])]++;
            out->total++;
        }
}

/* Whether the part shows this colour elsewhere, on more than its odd cell. */
static bool has_its_colour(const struct part_colours *colours, const struct look *look)
{
    const double least = 0.003;
    return colours->count[colour_of(look)] > least * colours->total;
}

/* ---- The slot ---------------------------------------------------------------------------------
 *
 * In a slot that has been cut out the part stands before the servo or the bench, of which nothing
 * is known but what of it shows. So the part is told there by its own colours, as seen over the
 * card: what has none of them and hangs together with the open slot is not part. Where much of the
 * open slot has them too, a black servo behind a black horn say, what lies there stays unknown. */

/* The slot where no hub can cover it. */
static bool in_slot(const struct silhouette *s, const struct vision_card *card, int i, int j)
{
    const double hub_mm = 9.0;
    struct vision_point at = cells_centre(s, i, j);
    return at.x < 0 && fabs(at.y) < card->slot_half_width_mm + 0.2 && hypot(at.x, at.y) > hub_mm;
}

/* Where most of the slot, or of what should be one of its tints, shows something else than the card
 * it was cut out, unless pieces of it show the card all across: then an arm lies along the rest. A
 * bench seen through a cut slot may have the colour of one tint but not of both, and a piece holds
 * both. */
void part_colours_slot_cut(struct silhouette *s, const struct vision_card *card,
                           const struct look *looks)
{
    enum { MOST_PIECES = 32 };
    const double piece_mm = 4, bare = 0.97;
    int tint[MOST_PIECES] = {0}, other[MOST_PIECES] = {0}, all_tint[2] = {0}, all_other[2] = {0};
    int whole = 0;
    for (int j = 0; j < s->height; j++)
        for (int i = 0; i < s->width; i++) {
            size_t at = (size_t)j * (size_t)s->width + (size_t)i;
            int piece = (int)(i * s->pitch_mm / piece_mm);
            if (!in_slot(s, card, i, j) || piece >= MOST_PIECES)
                continue;
            const bool bare_card = s->cells[at] == CELL_TINT, shows = s->cells[at] == CELL_PART;
            tint[piece] += bare_card;
            other[piece] += shows;
            if (looks[at].tint >= 0) {
                all_tint[looks[at].tint] += bare_card;
                all_other[looks[at].tint] += shows;
            }
        }
    const double least = piece_mm * card->slot_half_width_mm / (s->pitch_mm * s->pitch_mm);
    for (int k = 0; k < MOST_PIECES; k++)
        whole += tint[k] > fmax(least, bare * (tint[k] + other[k]));
    bool hides = all_tint[0] + all_tint[1] <= all_other[0] + all_other[1];
    for (int t = 0; t < 2; t++)
        hides = hides || (all_other[t] > 0 && all_tint[t] <= all_other[t]);
    s->slot_cut = hides && whole < 2;
}

/* Classes the far slot by the part's colours. queue gets the cells that are not part; returns how
 * many. */
static size_t class_far_slot(struct silhouette *s, const struct vision_card *card,
                             const struct look *looks, const struct part_colours *colours,
                             size_t *queue)
{
    const double much_alike = 0.35; /* of the far slot */
    size_t alike = 0, other = 0;
    for (int pass = 0; pass < 2; pass++) {
        bool telling =
            colours->total >= LEAST_CELLS && (double)alike < much_alike * (double)(alike + other);
        for (int j = 0; j < s->height; j++)
            for (int i = 0; i < s->width; i++) {
                size_t at = (size_t)j * (size_t)s->width + (size_t)i;
                if (!in_slot(s, card, i, j) || looks[at].rgb[0] < 0)
                    continue;
                bool part = has_its_colour(colours, &looks[at]);
                if (pass == 0) {
                    alike += part;
                    queue[other] = at;
                    other += !part;
                } else if (colours->total < LEAST_CELLS || (part && !telling)) {
                    s->cells[at] = CELL_UNKNOWN;
                } else {
                    s->cells[at] = part ? CELL_PART : CELL_TINT;
                }
            }
    }
    return colours->total < LEAST_CELLS ? 0 : other;
}

/* From the open slot towards the hub, as far as it is not of the part's colours. */
static void clear_towards_hub(struct silhouette *s, const struct vision_card *card,
                              const struct look *looks, const struct part_colours *colours,
                              size_t *queue, size_t waiting)
{
    static const int di[4] = {1, -1, 0, 0}, dj[4] = {0, 0, 1, -1};
    for (size_t next = 0; next < waiting; next++) {
        int i = (int)(queue[next] % (size_t)s->width), j = (int)(queue[next] / (size_t)s->width);
        for (int k = 0; k < 4; k++) {
            int x = i + di[k], y = j + dj[k];
            if (x < 0 || y < 0 || x >= s->width || y >= s->height || !in_band(s, card, x, y))
                continue;
            size_t at = (size_t)y * (size_t)s->width + (size_t)x;
            if (s->cells[at] != CELL_PART || has_its_colour(colours, &looks[at]))
                continue;
            s->cells[at] = CELL_TINT;
            queue[waiting++] = at;
        }
    }
}

/* What a part that crosses the slot has on both of its sides is part between them too. */
static void bridge_slot(struct silhouette *s, const struct vision_card *card,
                        const struct look *looks, const struct part_colours *colours)
{
    const double beside_mm = card->slot_half_width_mm + 0.2 + 2.5 * s->pitch_mm;
    const int above = (int)lround((beside_mm - s->y0_mm) / s->pitch_mm);
    const int below = (int)lround((-beside_mm - s->y0_mm) / s->pitch_mm);
    for (int i = 0; i < s->width && cells_centre(s, i, 0).x < 0; i++) {
        if (s->cells[(size_t)above * (size_t)s->width + (size_t)i] != CELL_PART ||
            s->cells[(size_t)below * (size_t)s->width + (size_t)i] != CELL_PART)
            continue;
        for (int j = below; j <= above; j++) {
            size_t at = (size_t)j * (size_t)s->width + (size_t)i;
            if (s->cells[at] == CELL_UNKNOWN && has_its_colour(colours, &looks[at]))
                s->cells[at] = CELL_PART;
        }
    }
}

bool part_colours_in_slot(struct silhouette *s, const struct vision_card *card,
                          const struct look *looks, const struct part_colours *colours)
{
    if (!s->slot_cut)
        return true;
    size_t *queue = malloc((size_t)s->width * (size_t)s->height * sizeof *queue);
    if (!queue)
        return false;
    size_t waiting = class_far_slot(s, card, looks, colours, queue);
    clear_towards_hub(s, card, looks, colours, queue, waiting);
    bridge_slot(s, card, looks, colours);
    free(queue);
    return true;
}

/* ---- Over the markers ------------------------------------------------------------------------
 *
 * An arm's tip that runs onto a marker can be followed, since the print is known: where the print
 * shows as expected and has no colour of the part, it is bare; where it does not and has, it is
 * part. Where both or neither hold, a black arm over a black cell, the cell goes by its neighbours.
 */

/* Paper or ink, alone within the blur; PRINT_MARK where they meet. */
static enum vision_print plain_print(const struct vision_card *card, struct vision_point at)
{
    const double clear_mm = 0.25;
    enum vision_print middle = vision_card_print_at(card, at);
    for (int k = 0; k < 4; k++) {
        struct vision_point beside = {at.x + (k & 1 ? clear_mm : -clear_mm),
                                      at.y + (k & 2 ? clear_mm : -clear_mm)};
        if (vision_card_print_at(card, beside) != middle)
            return VISION_PRINT_MARK;
    }
    return middle;
}

static enum cell class_print(enum vision_print print, const struct look *look,
                             const struct part_colours *colours)
{
    const float bright = 0.3F, dark = 0.2F, neutral = 1.5F; /* relative to lit paper */
    float low = fminf(look->rgb[0], fminf(look->rgb[1], look->rgb[2]));
    float high = fmaxf(look->rgb[0], fmaxf(look->rgb[1], look->rgb[2]));
    bool expected =
        print == VISION_PRINT_WHITE ? low > bright && high < neutral * low : high < dark;
    bool part = has_its_colour(colours, look);
    if (expected == part)
        return CELL_UNKNOWN;
    return part ? CELL_PART : CELL_TINT;
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
void part_colours_on_markers(struct silhouette *s, const struct vision_card *card,
                             const struct look *looks, const struct part_colours *colours,
                             uint8_t *thin)
{
    const double reach_mm = card->marker_mm * 0.625 + 0.4; /* quiet zone and the blur about it */
    const double beside_mm = 1.6; /* further than an arm is followed beyond its end */
    if (colours->total < LEAST_CELLS)
        return;
    for (int m = 0; m < card->marker_count; m++) {
        struct vision_point centre = card->markers[m].centre_mm;
        struct block b = block_about(s, centre, reach_mm);
        struct block about = block_about(s, centre, reach_mm + beside_mm);
        if (!reaches_block(s, &about))
            continue;
        for (int j = b.bottom; j <= b.top; j++)
            for (int i = b.left; i <= b.right; i++) {
                size_t at = (size_t)j * (size_t)s->width + (size_t)i;
                if (s->cells[at] != CELL_UNKNOWN || looks[at].rgb[0] < 0)
                    continue;
                enum vision_print print = plain_print(card, cells_centre(s, i, j));
                thin[at] = 1;
                if (print == VISION_PRINT_WHITE || print == VISION_PRINT_BLACK)
                    s->cells[at] = (uint8_t)class_print(print, &looks[at], colours);
            }
    }
}
