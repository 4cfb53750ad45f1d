#include "slot.h"

#include "parallel.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The slot where no hub can cover it. */
static bool in_far_slot(const struct vision_card *card, struct vision_point at)
{
    const double hub_mm = 9.0;
    return at.x < 0 && cells_in_slot(card, at) && hypot(at.x, at.y) > hub_mm;
}

/* Where most of the slot, or of what should be one of its tints, shows something else than the card
 * it was cut out, unless pieces of it show the card all across: then an arm lies along the rest. A
 * bench seen through a cut slot may have the colour of one tint but not of both, and a piece holds
 * both. */
void slot_find_out(struct silhouette *s, const struct vision_card *card, const struct look *looks)
{
    enum { MOST_PIECES = 32 };
    const double piece_mm = 4, bare = 0.97;
    int tint[MOST_PIECES] = {0}, other[MOST_PIECES] = {0}, all_tint[2] = {0}, all_other[2] = {0};
    int whole = 0;
    for (int j = 0; j < s->height; j++)
        for (int i = 0; i < s->width; i++) {
            size_t at = (size_t)j * (size_t)s->width + (size_t)i;
            int piece = (int)(i * s->pitch_mm / piece_mm);
            if (!in_far_slot(card, cells_centre(s, i, j)) || piece >= MOST_PIECES)
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

/* ---- By the colours on both sides ------------------------------------------------------------
 *
 * In a slot that has been cut out the part stands before the servo or the bench, of which nothing
 * is known beforehand. But what shows along the slot's rim where the card beside it is bare is not
 * part, and where part lies beside the rim it goes on across it. From both kinds of place the slot
 * is filled inwards: each cell falls to those from which the way to it is shorter, where a way is
 * the longer the more it leads through colours of the other kind and across edges (P. J. Toivanen,
 * "New geodesic distance transforms for gray-scale images", Pattern Recognition Letters 17, 1996;
 * colours as in X. Bai, G. Sapiro, "A geodesic framework for fast interactive image and video
 * segmentation and matting", ICCV 2007). */

enum kind { KIND_OUTSIDE, KIND_FREE, KIND_PART, KIND_OPEN };

/* How often cells of one kind have each colour, spread to the colours next to it. */
struct density {
    float of[PART_COLOURS_COUNT];
    int total;
};

/* The cells of the slot and around it, its left end at the map's. */
struct band {
    const struct silhouette *s;
    const struct look *looks;
    int first_row, width, height;
    uint8_t *kind;            /* enum kind: what a cell is known to be, later what it is */
    float *in_favour;         /* of part, by its colour: logarithm of the likelihoods' ratio */
    float *to_part, *to_open; /* lengths of ways */
    float *step[4];           /* of colour, from each cell to the ones on its right and above */
};

/* The map's cell in a column and row of the band; of the band's k-th cell. */
static size_t map_cell(const struct band *b, int i, int j)
{
    return (size_t)(b->first_row + j) * (size_t)b->s->width + (size_t)i;
}

static size_t map_index(const struct band *b, size_t k)
{
    return map_cell(b, (int)(k % (size_t)b->width), (int)(k / (size_t)b->width));
}

static struct vision_point centre_of(const struct band *b, size_t k)
{
    return cells_centre(b->s, (int)(k % (size_t)b->width),
                        b->first_row + (int)(k / (size_t)b->width));
}

/* What the card shows beside the slot's rim, at the place nearest to at and a little to either side
 * of it alike; else CELL_UNKNOWN. */
static enum cell beside_rim(const struct silhouette *s, const struct vision_card *card,
                            struct vision_point at)
{
    const double beyond_mm = 0.7, aside_mm = 0.5;
    const double r = hypot(at.x, at.y), out = cells_slot_depth(card, at) + beyond_mm;
    double nx = 0, ny = at.y > 0 ? 1 : -1;
    if (at.x > 0 && r > 0) {
        nx = at.x / r;
        ny = at.y / r;
    }
    const double x = at.x + out * nx, y = at.y + out * ny;
    enum cell here = cells_at(s, (struct vision_point){x, y});
    for (int side = -1; side <= 1; side += 2)
        if (cells_at(s, (struct vision_point){x - side * aside_mm * ny,
                                              y + side * aside_mm * nx}) != here)
            return CELL_UNKNOWN;
    return here;
}

/* Whether part lies on both sides of the slot, so far beyond its edge: then it lies between them.
 */
static bool is_crossed(const struct silhouette *s, const struct vision_card *card, double x,
                       double beyond_mm)
{
    const double y = card->slot_half_width_mm + beyond_mm;
    return x < 0 && cells_at(s, (struct vision_point){x, y}) == CELL_PART &&
           cells_at(s, (struct vision_point){x, -y}) == CELL_PART;
}

static bool band_start(struct band *b, const struct vision_card *card)
{
    const struct silhouette *s = b->s;
    const double half = card->slot_half_width_mm + CELLS_SLOT_RIM_MM;
    b->first_row = (int)((-half - s->y0_mm) / s->pitch_mm) - 1;
    b->height = (int)(2 * half / s->pitch_mm) + 4;
    b->width = (int)((half - s->x0_mm) / s->pitch_mm) + 2;
    if (b->width > s->width)
        b->width = s->width;
    const size_t n = (size_t)b->width * (size_t)b->height;
    b->kind = malloc(n);
    b->in_favour = malloc(n * sizeof *b->in_favour);
    b->to_part = malloc(n * sizeof *b->to_part);
    b->to_open = malloc(n * sizeof *b->to_open);
    bool good = b->kind && b->in_favour && b->to_part && b->to_open;
    for (int k = 0; k < 4; k++)
        good = (b->step[k] = malloc(n * sizeof *b->step[k])) && good;
    return good;
}

static void band_clear(struct band *b)
{
    free(b->kind);
    free(b->in_favour);
    free(b->to_part);
    free(b->to_open);
    for (int k = 0; k < 4; k++)
        free(b->step[k]);
}

static void take_colour(struct density *d, const struct look *look)
{
    d->of[part_colours_of(look)]++;
    d->total++;
}

/* A step to either side along each channel, weights 1 2 1. */
static void spread_colours(struct density *d)
{
    enum { N = PART_COLOURS_SHADES };
    for (int stride = 1; stride < PART_COLOURS_COUNT; stride *= N)
        for (int start = 0; start < PART_COLOURS_COUNT; start++) {
            float line[N];
            if (start / stride % N != 0)
                continue;
            for (int k = 0; k < N; k++)
                line[k] = d->of[start + k * stride];
            for (int k = 0; k < N; k++)
                d->of[start + k * stride] =
                    (line[k > 0 ? k - 1 : k] + 2 * line[k] + line[k + 1 < N ? k + 1 : k]) / 4;
        }
}

static float share_of(const struct density *d, int colour)
{
    const float least = 0.0005F; /* a colour that was not met may be all the same */
    return least + (d->total > 0 ? d->of[colour] / (float)d->total : 0);
}

/* The part's colours about the slot. */
static void learn_part(const struct band *b, const struct vision_card *card, struct density *out)
{
    const double clear_mm = 0.3, near_mm = 15;
    for (int j = 0; j < b->s->height; j++)
        for (int i = 0; i < b->s->width; i++) {
            size_t at = (size_t)j * (size_t)b->s->width + (size_t)i;
            double depth = cells_slot_depth(card, cells_centre(b->s, i, j));
            if (b->s->cells[at] == CELL_PART && b->looks[at].rgb[0] >= 0 && depth < -clear_mm &&
                depth > -near_mm)
                take_colour(out, &b->looks[at]);
        }
    spread_colours(out);
}

/* What is known along the rim, and the colours of the open slot there. A little inside, clear of
 * the cut and its shade. */
static void learn_rim(struct band *b, const struct vision_card *card, struct density *open)
{
    const double cut_mm = 0.4, deepest_mm = 1.0;
    for (size_t k = 0; k < (size_t)b->width * (size_t)b->height; k++) {
        const struct look *look = &b->looks[map_index(b, k)];
        double depth = cells_slot_depth(card, centre_of(b, k));
        b->kind[k] = depth < -CELLS_SLOT_RIM_MM || look->rgb[0] < 0 ? KIND_OUTSIDE : KIND_FREE;
        if (b->kind[k] == KIND_OUTSIDE || depth > deepest_mm)
            continue;
        enum cell card_shows = beside_rim(b->s, card, centre_of(b, k));
        if (card_shows == CELL_PART) {
            b->kind[k] = KIND_PART;
        } else if (card_shows == CELL_TINT && depth > cut_mm) {
            b->kind[k] = KIND_OPEN;
            take_colour(open, look);
        }
    }
    spread_colours(open);
}

/* Weighs each cell's colour, and leaves what is not clear open: an arm along the slot lies inside a
 * bare rim too. A shaft mostly stands at the slot's end. Returns the share of the rim whose colours
 * the part has as well. */
static double weigh_colours(struct band *b, const struct vision_card *card,
                            const struct density *part, const struct density *open)
{
    const double shaft_mm = 7, beyond_mm = 0.6;
    const float alike = -0.7F, unlike = -1.5F;
    int rim = 0, both = 0;
    for (size_t k = 0; k < (size_t)b->width * (size_t)b->height; k++) {
        if (b->kind[k] == KIND_OUTSIDE)
            continue;
        struct vision_point at = centre_of(b, k);
        int colour = part_colours_of(&b->looks[map_index(b, k)]);
        float by_colour = logf(share_of(part, colour) / share_of(open, colour));
        b->in_favour[k] = by_colour + (float)exp(-pow(hypot(at.x, at.y) / shaft_mm, 2));
        if (b->kind[k] == KIND_FREE && by_colour > unlike &&
            is_crossed(b->s, card, at.x, beyond_mm))
            b->kind[k] = KIND_PART;
        if (b->kind[k] != KIND_OPEN)
            continue;
        rim++;
        both += by_colour > alike;
        if (b->in_favour[k] > 0)
            b->kind[k] = KIND_FREE;
    }
    return rim > 0 ? (double)both / rim : 1;
}

/* From a cell to four of its neighbours, and with both signs turned to the other four. */
static const int right[4] = {1, 0, 1, -1}, up[4] = {0, 1, 1, 1};

static bool in_box(const struct band *b, int i, int j)
{
    return i >= 0 && j >= 0 && i < b->width && j < b->height;
}

/* In root of light. */
static float step_between(const struct look *a, const struct look *b)
{
    float square = 0;
    for (int c = 0; c < 3; c++) {
        float d = sqrtf(fmaxf(0, a->rgb[c])) - sqrtf(fmaxf(0, b->rgb[c]));
        square += d * d;
    }
    return sqrtf(square);
}

static void measure_steps(struct band *b)
{
    const float grain = 0.06F; /* smaller steps are noise */
    for (int j = 0; j < b->height; j++)
        for (int i = 0; i < b->width; i++)
            for (int k = 0; k < 4; k++) {
                const int x = i + right[k], y = j + up[k];
                if (!in_box(b, x, y))
                    continue;
                float step =
                    step_between(&b->looks[map_cell(b, i, j)], &b->looks[map_cell(b, x, y)]);
                b->step[k][(size_t)j * (size_t)b->width + (size_t)i] = fmaxf(0, step - grain);
            }
}

/* Shortens the way to a cell by what leads over the four neighbours that a sweep has been to:
 * those on its right and above (to = 1), or the others (to = -1). */
static bool shorten(const struct band *b, int i, int j, int to, float sign, float *way)
{
    const float usual = 0.02F, most = 3, hardly = 1e-3F;
    const int at = j * b->width + i;
    const float against = fmaxf(0, fminf(most, sign * b->in_favour[at]));
    bool shorter = false;
    for (int k = 0; k < 4; k++) {
        const int x = i + to * right[k], y = j + to * up[k], from = y * b->width + x;
        if (!in_box(b, x, y) || way[from] >= way[at] || b->kind[from] == KIND_OUTSIDE)
            continue;
        float length = (float)b->s->pitch_mm * (k < 2 ? 1 : 1.41421F);
        float total = way[from] + length * (usual + against) + b->step[k][to > 0 ? at : from];
        if (total + hardly < way[at]) {
            way[at] = total;
            shorter = true;
        }
    }
    return shorter;
}

#define NO_WAY 1e9F

/* Lengths of the shortest ways from all cells of one kind; sign: +1 where colours of the part
 * lengthen them, -1 where others do. Sweeps to and fro until hardly anything changes. */
static void measure_ways(const struct band *b, enum kind from, float sign, float *way)
{
    const int most_rounds = 4;
    bool shorter = true;
    for (size_t k = 0; k < (size_t)b->width * (size_t)b->height; k++)
        way[k] = b->kind[k] == from ? 0 : NO_WAY;
    for (int round = 0; round < most_rounds && shorter; round++) {
        shorter = false;
        for (int to = -1; to <= 1; to += 2)
            for (int jj = 0; jj < b->height; jj++)
                for (int ii = 0; ii < b->width; ii++) {
                    const int i = to < 0 ? ii : b->width - 1 - ii;
                    const int j = to < 0 ? jj : b->height - 1 - jj;
                    if (b->kind[j * b->width + i] != KIND_OUTSIDE)
                        shorter |= shorten(b, i, j, to, sign, way);
                }
    }
}

static void measure_ways_of(void *context, size_t which)
{
    const struct band *b = context;
    if (which == 0)
        measure_ways(b, KIND_PART, -1, b->to_part);
    else
        measure_ways(b, KIND_OPEN, 1, b->to_open);
}

/* Each cell to the nearer kind. */
static void share_out(struct band *b)
{
    for (size_t k = 0; k < (size_t)b->width * (size_t)b->height; k++)
        if (b->kind[k] != KIND_OUTSIDE)
            b->kind[k] = b->to_part[k] < b->to_open[k] ? KIND_PART : KIND_OPEN;
}

/* Open is only what hangs together with the open rim: screws and bosses may have colours of the
 * bench. The rest becomes free. queue is working space. */
static void keep_joined(struct band *b, size_t *queue)
{
    static const int di[4] = {1, -1, 0, 0}, dj[4] = {0, 0, 1, -1};
    size_t waiting = 0;
    for (size_t k = 0; k < (size_t)b->width * (size_t)b->height; k++) {
        if (b->kind[k] != KIND_OPEN)
            continue;
        if (b->to_open[k] > 0)
            b->kind[k] = KIND_FREE;
        else
            queue[waiting++] = k;
    }
    for (size_t next = 0; next < waiting; next++)
        for (int k = 0; k < 4; k++) {
            int x = (int)(queue[next] % (size_t)b->width) + di[k];
            int y = (int)(queue[next] / (size_t)b->width) + dj[k];
            size_t at = (size_t)y * (size_t)b->width + (size_t)x;
            if (x < 0 || y < 0 || x >= b->width || y >= b->height || b->kind[at] != KIND_FREE)
                continue;
            b->kind[at] = KIND_OPEN;
            queue[waiting++] = at;
        }
}

/* What most cells about one are, itself included: 5 x 5. */
static enum kind kind_about(const struct band *b, const uint8_t *kind, int i, int j)
{
    int part = 0, open = 0;
    for (int y = j - 2; y <= j + 2; y++)
        for (int x = i - 2; x <= i + 2; x++) {
            size_t at = (size_t)y * (size_t)b->width + (size_t)x;
            uint8_t cell = b->s->cells[map_cell(b, x, y)];
            bool outside = kind[at] == KIND_OUTSIDE;
            part += outside ? cell == CELL_PART : kind[at] != KIND_OPEN;
            open += outside ? cell == CELL_TINT : kind[at] == KIND_OPEN;
        }
    return part > open ? KIND_PART : open > part ? KIND_OPEN : kind[j * b->width + i];
}

/* Highlights along bevels and dust leave lines and dots: what most neighbours are, twice. before is
 * working space. */
static void smooth_kinds(struct band *b, uint8_t *before)
{
    for (int round = 0; round < 2; round++) {
        memcpy(before, b->kind, (size_t)b->width * (size_t)b->height);
        for (int j = 2; j + 2 < b->height; j++)
            for (int i = 2; i + 2 < b->width; i++)
                if (before[j * b->width + i] != KIND_OUTSIDE)
                    b->kind[j * b->width + i] = (uint8_t)kind_about(b, before, i, j);
    }
}

static bool fill_from_both_sides(struct silhouette *s, struct band *b, size_t threads)
{
    const size_t n = (size_t)b->width * (size_t)b->height;
    size_t *queue = calloc(n, sizeof *queue);
    uint8_t *before = calloc(n, 1);
    bool good = queue && before;
    if (good) {
        measure_steps(b);
        parallel_pieces(threads, 2, measure_ways_of, b);
        share_out(b);
        smooth_kinds(b, before);
        keep_joined(b, queue);
        for (size_t k = 0; k < n; k++)
            if (b->kind[k] != KIND_OUTSIDE)
                s->cells[map_index(b, k)] = b->kind[k] == KIND_OPEN ? CELL_TINT : CELL_PART;
    }
    free(queue);
    free(before);
    return good;
}

static int count_kind(const struct band *b, enum kind kind)
{
    int count = 0;
    for (size_t k = 0; k < (size_t)b->width * (size_t)b->height; k++)
        count += b->kind[k] == kind;
    return count;
}

/* *told: false where the open slot has too many of the part's colours, or no part comes to its rim
 * that can be seen beside it, and nothing was done. */
static bool class_by_both(struct silhouette *s, const struct vision_card *card,
                          const struct look *looks, size_t threads, bool *told)
{
    const double much_alike = 0.35;
    const int least_part = 30; /* cells, half a square millimetre */
    struct band b = {.s = s, .looks = looks};
    struct density *known = calloc(2, sizeof *known); /* of the part, of the open slot */
    bool good = known && band_start(&b, card);
    *told = false;
    if (good) {
        learn_part(&b, card, &known[0]);
        learn_rim(&b, card, &known[1]);
        *told = known[0].total >= PART_COLOURS_LEAST &&
                weigh_colours(&b, card, &known[0], &known[1]) < much_alike &&
                count_kind(&b, KIND_PART) >= least_part;
    }
    if (*told)
        good = fill_from_both_sides(s, &b, threads);
    free(known);
    band_clear(&b);
    return good;
}

/* ---- By the part's colours alone -------------------------------------------------------------
 *
 * What has none of them and hangs together with the open slot is not part. Where much of the open
 * slot has them too, a black servo behind a black horn say, what lies there stays unknown. */

/* Classes the far slot by the part's colours. queue gets the cells that are not part; returns how
 * many. */
static size_t class_far_slot(struct silhouette *s, const struct vision_card *card,
                             const struct look *looks, const struct part_colours *colours,
                             size_t *queue)
{
    const double much_alike = 0.35; /* of the far slot */
    size_t alike = 0, other = 0;
    for (int pass = 0; pass < 2; pass++) {
        bool telling = colours->total >= PART_COLOURS_LEAST &&
                       (double)alike < much_alike * (double)(alike + other);
        for (int j = 0; j < s->height; j++)
            for (int i = 0; i < s->width; i++) {
                size_t at = (size_t)j * (size_t)s->width + (size_t)i;
                if (!in_far_slot(card, cells_centre(s, i, j)) || looks[at].rgb[0] < 0)
                    continue;
                bool part = part_colours_has(colours, &looks[at]);
                if (pass == 0) {
                    alike += part;
                    queue[other] = at;
                    other += !part;
                } else if (colours->total < PART_COLOURS_LEAST || (part && !telling)) {
                    s->cells[at] = CELL_UNKNOWN;
                } else {
                    s->cells[at] = part ? CELL_PART : CELL_TINT;
                }
            }
    }
    return colours->total < PART_COLOURS_LEAST ? 0 : other;
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
            if (x < 0 || y < 0 || x >= s->width || y >= s->height ||
                !cells_in_slot(card, cells_centre(s, x, y)))
                continue;
            size_t at = (size_t)y * (size_t)s->width + (size_t)x;
            if (s->cells[at] != CELL_PART || part_colours_has(colours, &looks[at]))
                continue;
            s->cells[at] = CELL_TINT;
            queue[waiting++] = at;
        }
    }
}

/* The rows and columns of the map that the slot lies in. */
struct slot_span {
    int first_row, last_row, columns;
};

static struct slot_span span_of(const struct silhouette *s, const struct vision_card *card)
{
    const double half = card->slot_half_width_mm + CELLS_SLOT_RIM_MM;
    const int columns = (int)((half - s->x0_mm) / s->pitch_mm) + 1;
    return (struct slot_span){(int)((-half - s->y0_mm) / s->pitch_mm),
                              (int)((half - s->y0_mm) / s->pitch_mm) + 1,
                              columns < s->width ? columns : s->width};
}

/* What a part that crosses the slot has on both of its sides is part between them too. */
static void bridge_slot(struct silhouette *s, const struct vision_card *card,
                        const struct look *looks, const struct part_colours *colours)
{
    const double beyond_mm = CELLS_SLOT_RIM_MM + 2.5 * s->pitch_mm;
    const double edge_mm = card->slot_half_width_mm + beyond_mm;
    const int above = (int)lround((edge_mm - s->y0_mm) / s->pitch_mm);
    const int below = (int)lround((-edge_mm - s->y0_mm) / s->pitch_mm);
    for (int i = 0; i < s->width; i++) {
        if (!is_crossed(s, card, cells_centre(s, i, 0).x, beyond_mm))
            continue;
        for (int j = below; j <= above; j++) {
            size_t at = (size_t)j * (size_t)s->width + (size_t)i;
            if (s->cells[at] == CELL_UNKNOWN && part_colours_has(colours, &looks[at]))
                s->cells[at] = CELL_PART;
        }
    }
}

/* Holes of a part beside the slot leave gaps in what crosses it: what is told on both sides of a
 * short gap is told in it. */
static void close_gaps(struct silhouette *s, const struct vision_card *card,
                       const struct look *looks, const struct part_colours *colours)
{
    const int longest = (int)(3.5 / s->pitch_mm);
    const struct slot_span span = span_of(s, card);
    for (int j = span.first_row; j <= span.last_row; j++) {
        int gap = 0;
        for (int i = 0; i < span.columns && cells_centre(s, i, j).x < 0; i++) {
            const size_t at = (size_t)j * (size_t)s->width + (size_t)i;
            if (s->cells[at] == CELL_UNKNOWN && cells_in_slot(card, cells_centre(s, i, j)) &&
                part_colours_has(colours, &looks[at])) {
                gap++;
                continue;
            }
            const bool bridged = s->cells[at] == CELL_PART && gap > 0 && gap < i &&
                                 gap <= longest && s->cells[at - (size_t)gap - 1] == CELL_PART;
            for (int k = 1; bridged && k <= gap; k++)
                s->cells[at - (size_t)k] = CELL_PART;
            gap = 0;
        }
    }
}

/* ---- What the part closes in -----------------------------------------------------------------
 *
 * The hub's screw and what lies in its shadow may look like neither part nor slot. Where the part
 * shuts them off from all that is open, they are part. Openings of a wheel lead out of the slot. */

/* The cells of the slot that hang together with start and are not part, marked as seen. Returns
 * whether part is all about them. */
static bool is_closed_in(const struct silhouette *s, const struct vision_card *card, size_t start,
                         uint8_t *seen, size_t *queue, size_t *count)
{
    static const int di[4] = {1, -1, 0, 0}, dj[4] = {0, 0, 1, -1};
    bool closed = true;
    *count = 0;
    queue[(*count)++] = start;
    seen[start] = 1;
    for (size_t next = 0; next < *count; next++) {
        int i = (int)(queue[next] % (size_t)s->width), j = (int)(queue[next] / (size_t)s->width);
        for (int k = 0; k < 4; k++) {
            int x = i + di[k], y = j + dj[k];
            if (x < 0 || y < 0 || x >= s->width || y >= s->height) {
                closed = false;
                continue;
            }
            size_t at = (size_t)y * (size_t)s->width + (size_t)x;
            if (s->cells[at] == CELL_PART || seen[at])
                continue;
            if (s->cells[at] == CELL_OFF || !cells_in_slot(card, cells_centre(s, x, y))) {
                closed = false;
                continue;
            }
            seen[at] = 1;
            queue[(*count)++] = at;
        }
    }
    return closed;
}

static bool fill_closed_in(struct silhouette *s, const struct vision_card *card)
{
    const size_t cells = (size_t)s->width * (size_t)s->height;
    uint8_t *seen = calloc(cells, 1);
    size_t *queue = malloc(cells * sizeof *queue);
    const bool good = seen && queue;
    const struct slot_span span = span_of(s, card);
    for (int j = span.first_row; good && j <= span.last_row; j++)
        for (int i = 0; i < span.columns; i++) {
            const size_t at = (size_t)j * (size_t)s->width + (size_t)i;
            size_t count;
            if (seen[at] || s->cells[at] == CELL_PART || s->cells[at] == CELL_OFF ||
                !cells_in_slot(card, cells_centre(s, i, j)) ||
                !is_closed_in(s, card, at, seen, queue, &count))
                continue;
            for (size_t k = 0; k < count; k++)
                s->cells[queue[k]] = CELL_PART;
        }
    free(seen);
    free(queue);
    return good;
}

bool slot_class(struct silhouette *s, const struct vision_card *card, const struct look *looks,
                const struct part_colours *colours, size_t threads)
{
    bool told = false;
    if (!s->slot_cut)
        return true;
    if (!class_by_both(s, card, looks, threads, &told))
        return false;
    if (told)
        return fill_closed_in(s, card);
    size_t *queue = malloc((size_t)s->width * (size_t)s->height * sizeof *queue);
    if (!queue)
        return false;
    size_t waiting = class_far_slot(s, card, looks, colours, queue);
    clear_towards_hub(s, card, looks, colours, queue, waiting);
    bridge_slot(s, card, looks, colours);
    close_gaps(s, card, looks, colours);
    free(queue);
    return fill_closed_in(s, card);
}
