/* The cards: sizes, tints, markers and marks. Printing and finding both read this. */
#include "markers.h"
#include "maths/angle.h"
#include "tag36h11.h"
#include "vision.h"

#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <string.h>

struct size_row {
    const char *name;
    double width_mm, height_mm;
    double marker_mm;
    double margin_mm; /* card edge to quiet zone: cutting tolerance */
    double inner_mm;  /* x of the markers inside the top and bottom rows; 0: none */
    bool bottom_mid;  /* one marker in the middle of the bottom row */
    double slot_half_width_mm;
    double patch_mm;
};

/* hand: ISO/IEC 7810 ID-1. long: ISO 216 A6. The others are cut to fit where those do not. The
 * middle of the top row stays free on every card: there stands the arm that points away from the
 * butt edge. The slot takes the place of a marker in the middle of the left side. */
static const struct size_row sizes[] = {
    {"hand", 85.60, 53.98, 7.2, 1.0, 13.0, false, 3.5, 2.6},
    {"long", 148.0, 105.0, 10.0, 1.2, 24.0, false, 4.0, 4.0},
    {"frame", 60.0, 44.0, 6.0, 0.8, 10.0, false, 3.0, 2.2},
    {"mini", 40.0, 32.0, 6.0, 0.8, 0.0, true, 2.5, 1.6},
};

struct tint_row {
    const char *name;
    uint8_t a[3], b[3];
};

/* Why these: docs/decisions.md, "Tints". */
static const struct tint_row tints[] = {
    {"duo", {90, 200, 80}, {235, 80, 165}},
    {"green", {90, 200, 80}, {90, 200, 80}},
    {"pink", {235, 80, 165}, {235, 80, 165}},
};

#define SIZE_COUNT (sizeof sizes / sizeof sizes[0])
#define TINT_COUNT (sizeof tints / sizeof tints[0])
#define CARD_COUNT (SIZE_COUNT * TINT_COUNT)

/* Marker ids are dealt out by tens: TINT_SLOTS tens to a size, so that printed cards keep their
 * ids when a tint is added. */
#define TINT_SLOTS 5
#define IDS_PER_CARD VISION_CARD_MAX_MARKERS

static struct vision_card cards[CARD_COUNT];
static pthread_once_t cards_once = PTHREAD_ONCE_INIT;

static void add_marker(struct vision_card *card, int first_id, double x_mm, double y_mm)
{
    card->markers[card->marker_count].id = first_id + card->marker_count;
    card->markers[card->marker_count].centre_mm = (struct vision_point){x_mm, y_mm};
    card->marker_count++;
}

static void add_mark(struct vision_card *card, enum vision_mark_kind kind, double x0_mm,
                     double y0_mm, double x1_mm, double y1_mm)
{
    card->marks[card->mark_count++] = (struct vision_card_mark){kind, x0_mm, y0_mm, x1_mm, y1_mm};
}

static void lay_markers(struct vision_card *card, const struct size_row *size, int first_id)
{
    double half_block = size->marker_mm * 1.25 / 2;
    double x = size->width_mm / 2 - size->margin_mm - half_block;
    double y = size->height_mm / 2 - size->margin_mm - half_block;
    add_marker(card, first_id, -x, y);
    if (size->inner_mm > 0) {
        add_marker(card, first_id, -size->inner_mm, y);
        add_marker(card, first_id, size->inner_mm, y);
    }
    add_marker(card, first_id, x, y);
    add_marker(card, first_id, x, 0);
    add_marker(card, first_id, x, -y);
    if (size->inner_mm > 0) {
        add_marker(card, first_id, size->inner_mm, -y);
        add_marker(card, first_id, -size->inner_mm, -y);
    }
    if (size->bottom_mid)
        add_marker(card, first_id, 0, -y);
    add_marker(card, first_id, -x, -y);
}

/* Patches and name sit in the top row between the corner marker and the next, at the very edge,
 * where they cost the window least. */
static void lay_marks(struct vision_card *card, const struct size_row *size)
{
    double block = size->marker_mm * 1.25;
    double top = size->height_mm / 2 - size->margin_mm;
    double bottom = -size->height_mm / 2;
    double right_of_corner = size->width_mm / 2 - size->margin_mm - block;
    double inner_edge = size->inner_mm > 0 ? size->inner_mm + block / 2 : 3.0;
    double middle = (right_of_corner + inner_edge) / 2;
    double p = size->patch_mm;
    static const enum vision_mark_kind kinds[3] = {VISION_MARK_WHITE, VISION_MARK_GREY,
                                                   VISION_MARK_DARK};
    for (int i = 0; i < 3; i++) {
        double x0 = -middle + (i - 1.5) * p;
        add_mark(card, kinds[i], x0, top - p, x0 + p, top);
    }
    add_mark(card, VISION_MARK_NAME, inner_edge + 0.3, top - p, right_of_corner - 0.3, top);
    add_mark(card, VISION_MARK_BUTT, -size->width_mm / 2, bottom, size->width_mm / 2,
             bottom + size->margin_mm);
}

static void build_cards(void)
{
    for (size_t s = 0; s < SIZE_COUNT; s++) {
        for (size_t t = 0; t < TINT_COUNT; t++) {
            size_t index = s * TINT_COUNT + t;
            struct vision_card *card = &cards[index];
            snprintf(card->name, sizeof card->name, "%s-%s", sizes[s].name, tints[t].name);
            snprintf(card->size, sizeof card->size, "%s", sizes[s].name);
            snprintf(card->tint, sizeof card->tint, "%s", tints[t].name);
            card->width_mm = sizes[s].width_mm;
            card->height_mm = sizes[s].height_mm;
            card->marker_mm = sizes[s].marker_mm;
            memcpy(card->tint_srgb[0], tints[t].a, 3);
            memcpy(card->tint_srgb[1], tints[t].b, 3);
            card->stripe_mm = sizes[s].slot_half_width_mm * 1.8;
            card->stripe_deg = 45;
            card->stripe_cos = cos(card->stripe_deg / DEG);
            card->stripe_sin = sin(card->stripe_deg / DEG);
            card->slot_half_width_mm = sizes[s].slot_half_width_mm;
            lay_markers(card, &sizes[s], (int)(s * TINT_SLOTS + t) * IDS_PER_CARD);
            lay_marks(card, &sizes[s]);
        }
    }
}

size_t vision_card_count(void)
{
    return CARD_COUNT;
}

const struct vision_card *vision_card_at(size_t index)
{
    pthread_once(&cards_once, build_cards);
    return index < CARD_COUNT ? &cards[index] : NULL;
}

const struct vision_card *vision_card_by_name(const char *name)
{
    for (size_t i = 0; i < CARD_COUNT; i++) {
        const struct vision_card *card = vision_card_at(i);
        if (strcmp(card->name, name) == 0)
            return card;
    }
    return NULL;
}

const struct vision_card *vision_card_by_marker(int id, int *which)
{
    if (id < 0)
        return NULL;
    size_t slot = (size_t)(id / IDS_PER_CARD), size = slot / TINT_SLOTS, tint = slot % TINT_SLOTS;
    if (size >= SIZE_COUNT || tint >= TINT_COUNT)
        return NULL;
    const struct vision_card *card = vision_card_at(size * TINT_COUNT + tint);
    if (id % IDS_PER_CARD >= card->marker_count)
        return NULL;
    if (which)
        *which = id % IDS_PER_CARD;
    return card;
}

/* ---- Stickers -------------------------------------------------------------------------------- */

/* Letters for cranks and for what is fixed, in each height. Marker ids start beyond those that a
 * further six sizes of card would take. */
static const struct {
    const char *letter;
    bool fixed;
} letters[] = {{"A", false}, {"B", false}, {"C", false}, {"F", true}, {"G", true}};
static const double heights_mm[] = {8, 12};

#define LETTER_COUNT (sizeof letters / sizeof letters[0])
#define STICKER_COUNT (LETTER_COUNT * sizeof heights_mm / sizeof heights_mm[0])
#define FIRST_STICKER_ID 500
#define POINTER_SHARE 0.22 /* of the height: room for pointer and name beside the quiet zone */

_Static_assert(FIRST_STICKER_ID >= SIZE_COUNT * TINT_SLOTS * IDS_PER_CARD, "beyond all cards");
_Static_assert(STICKER_COUNT <= MARKERS_MAX_STICKERS, "a photo may show each of them");

static struct vision_sticker stickers[STICKER_COUNT];
static pthread_once_t stickers_once = PTHREAD_ONCE_INIT;

static void build_stickers(void)
{
    for (size_t i = 0; i < STICKER_COUNT; i++) {
        struct vision_sticker *sticker = &stickers[i];
        double height_mm = heights_mm[i / LETTER_COUNT];
        snprintf(sticker->name, sizeof sticker->name, "%s%.0f", letters[i % LETTER_COUNT].letter,
                 height_mm);
        sticker->fixed = letters[i % LETTER_COUNT].fixed;
        sticker->x0_mm = -height_mm / 2;
        sticker->x1_mm = height_mm * (0.5 + POINTER_SHARE);
        sticker->face.width_mm = sticker->face.height_mm = height_mm;
        sticker->face.marker_mm = height_mm / 1.25; /* the quiet zone reaches the edge */
        add_marker(&sticker->face, FIRST_STICKER_ID + (int)i, 0, 0);
    }
}

size_t vision_sticker_count(void)
{
    return STICKER_COUNT;
}

const struct vision_sticker *vision_sticker_at(size_t index)
{
    pthread_once(&stickers_once, build_stickers);
    return index < STICKER_COUNT ? &stickers[index] : NULL;
}

const struct vision_sticker *vision_sticker_by_name(const char *name)
{
    for (size_t i = 0; i < STICKER_COUNT; i++)
        if (strcmp(vision_sticker_at(i)->name, name) == 0)
            return &stickers[i];
    return NULL;
}

const struct vision_sticker *vision_sticker_by_marker(int id)
{
    return id < FIRST_STICKER_ID ? NULL : vision_sticker_at((size_t)(id - FIRST_STICKER_ID));
}

int vision_sticker_id_end(void)
{
    return FIRST_STICKER_ID + (int)STICKER_COUNT;
}

/* ---- What is printed where ------------------------------------------------------------------- */

static bool marker_cell_at(const struct vision_card *card, int which, struct vision_point at,
                           enum vision_print *out)
{
    double cell = card->marker_mm / 8;
    struct vision_point centre = card->markers[which].centre_mm;
    double column = floor((at.x - centre.x) / cell + 5);
    double row = floor((centre.y - at.y) / cell + 5);
    if (column < 0 || column > 9 || row < 0 || row > 9)
        return false;
    *out = tag36h11_cell_is_white(card->markers[which].id, (int)row, (int)column)
               ? VISION_PRINT_WHITE
               : VISION_PRINT_BLACK;
    return true;
}

double vision_card_stripe_at(const struct vision_card *card, struct vision_point at)
{
    return (at.x * card->stripe_cos + at.y * card->stripe_sin) / card->stripe_mm;
}

enum vision_print vision_card_print_at(const struct vision_card *card, struct vision_point at)
{
    if (fabs(at.x) > card->width_mm / 2 || fabs(at.y) > card->height_mm / 2)
        return VISION_PRINT_NONE;
    enum vision_print cell;
    for (int i = 0; i < card->marker_count; i++)
        if (marker_cell_at(card, i, at, &cell))
            return cell;
    for (int i = 0; i < card->mark_count; i++) {
        const struct vision_card_mark *m = &card->marks[i];
        if (at.x >= m->x0_mm && at.x <= m->x1_mm && at.y >= m->y0_mm && at.y <= m->y1_mm)
            return VISION_PRINT_MARK;
    }
    double along = vision_card_stripe_at(card, at);
    return ((long)floor(along) & 1) == 0 ? VISION_PRINT_TINT_A : VISION_PRINT_TINT_B;
}
