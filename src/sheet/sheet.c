/* Lays out the sheet: cards on shelves at the left, text in a column at the right. */
#include "sheet.h"

#include <math.h>
#include <string.h>
#include <strings.h>

/* Printers leave 3 to 6 mm unprinted at each edge (common practice, no source); the cut marks
 * reach 4.2 mm into the margin. */
#define MARGIN_SIDE_MM 9.0
#define MARGIN_TOP_MM 9.5
#define HEADER_MM 12.5
#define FOOTER_MM 4.0
#define COLUMN_GAP_MM 7.0
#define BAR_ROOM_MM 10.0 /* the lying bar with its figures */
/* Room for a caption and the cut marks of two neighbours. */
#define GAP_MIN_MM 8.0
#define GAP_MAX_MM 16.0
#define CARDS_WIDTH_MM 148.0 /* the long card's; shorter shelves line up with it */
#define CAPTION_MM 4.5
#define STICKER_GAP_MM 1.6 /* one cut with scissors leaves this much */
#define PICTURE_WIDTH_MM 80.0
#define PICTURE_HEIGHT_MM 44.0

/* ISO 216; US Letter is 8.5 by 11 inches. */
static const struct sheet_paper papers[] = {
    {"a4", "A4", 210.0, 297.0},
    {"letter", "US Letter", 215.9, 279.4},
};

const struct sheet_paper *sheet_paper_by_name(const char *name)
{
    for (size_t i = 0; i < sizeof papers / sizeof papers[0]; i++)
        if (strcasecmp(papers[i].name, name) == 0)
            return &papers[i];
    return NULL;
}

struct item {
    double width, height;
    struct sheet_rect *at; /* where its place is noted */
    int shelf;
};

struct shelf {
    double height, used; /* used: width of its items and the gaps between them */
    int count;
};

struct rack {
    struct item items[SHEET_MAX_CARDS + 2];
    int item_count;
    struct shelf shelves[SHEET_MAX_CARDS + 2];
    int shelf_count;
};

static void add_item(struct rack *rack, double width, double height, struct sheet_rect *at)
{
    /* Kept sorted, tallest first; equals stay in the order they came. */
    int i = rack->item_count++;
    for (; i > 0 && rack->items[i - 1].height < height; i--)
        rack->items[i] = rack->items[i - 1];
    rack->items[i] = (struct item){width, height, at, 0};
}

/* First fit by falling height: each item goes on the first shelf with room, or starts a shelf. */
static double fill_shelves(struct rack *rack, double width)
{
    double height = 0;
    rack->shelf_count = 0;
    for (int i = 0; i < rack->item_count; i++) {
        struct item *item = &rack->items[i];
        int s = 0;
        while (s < rack->shelf_count && rack->shelves[s].used + GAP_MIN_MM + item->width > width)
            s++;
        if (s == rack->shelf_count) {
            rack->shelves[rack->shelf_count++] = (struct shelf){item->height, 0, 0};
            height += item->height + (s > 0 ? GAP_MIN_MM : 0);
        }
        struct shelf *shelf = &rack->shelves[s];
        shelf->used += item->width + (shelf->count > 0 ? GAP_MIN_MM : 0);
        shelf->count++;
        item->shelf = s;
    }
    return height;
}

/* Notes the places: a shelf's items spread over the whole width, so that both sides line up. */
static double place_items(struct rack *rack, double left, double top, double width, double gap)
{
    double y = top;
    for (int s = 0; s < rack->shelf_count; s++) {
        const struct shelf *shelf = &rack->shelves[s];
        double space = GAP_MIN_MM;
        if (shelf->count > 1)
            space += (width - shelf->used) / (shelf->count - 1);
        double x = left;
        for (int i = 0; i < rack->item_count; i++) {
            const struct item *item = &rack->items[i];
            if (item->shelf != s)
                continue;
            *item->at = (struct sheet_rect){x, y, item->width, item->height};
            x += item->width + space;
        }
        y += shelf->height + gap;
    }
    return y - gap;
}

/* ---- Stickers ------------------------------------------------------------------------------- */

static void add_sticker(struct sheet *sheet, const char *name)
{
    const struct vision_sticker *sticker = vision_sticker_by_name(name);
    struct sheet_rect *block = &sheet->sticker_block;
    int i = sheet->sticker_count++;
    double width = sticker->x1_mm - sticker->x0_mm, height = sticker->face.height_mm;
    double x = block->width + (i > 0 ? STICKER_GAP_MM : 0);
    sheet->stickers[i].sticker = sticker;
    sheet->stickers[i].at = (struct sheet_rect){x, 0, width, height};
    block->width = x + width;
    block->height = fmax(block->height, height);
}

/* One pair of each size: for the crank, and for what it is measured against. */
static void choose_stickers(struct sheet *sheet, enum sheet_stickers which)
{
    static const char *const spare[] = {"A12", "F12", "A8", "B8"};
    if (which == SHEET_STICKERS_ALL)
        for (size_t i = 0; i < vision_sticker_count(); i++)
            add_sticker(sheet, vision_sticker_at(i)->name);
    else
        for (size_t i = 0; i < sizeof spare / sizeof spare[0]; i++)
            add_sticker(sheet, spare[i]);
}

/* Below a low item that stands beside a high one, as far right as that item reaches. */
static bool find_spare(const struct rack *rack, struct sheet_rect *block)
{
    for (int i = 0; i < rack->item_count; i++) {
        const struct sheet_rect *low = rack->items[i].at;
        double left = MARGIN_SIDE_MM, right = low->x + low->width;
        double bottom = low->y + rack->shelves[rack->items[i].shelf].height;
        for (int j = 0; j < i; j++)
            if (rack->items[j].shelf == rack->items[i].shelf)
                left = fmax(left, rack->items[j].at->x + rack->items[j].at->width + GAP_MIN_MM);
        double top = low->y + low->height + CAPTION_MM + 2;
        if (left + block->width <= right && top + block->height <= bottom + 1) {
            block->x = right - block->width;
            block->y = bottom - block->height;
            return true;
        }
    }
    return false;
}

static void place_stickers(struct sheet *sheet)
{
    for (int i = 0; i < sheet->sticker_count; i++) {
        struct sheet_rect *at = &sheet->stickers[i].at;
        at->x += sheet->sticker_block.x;
        at->y = sheet->sticker_block.y + sheet->sticker_block.height - at->height;
    }
}

static void fill_rack(struct rack *rack, struct sheet *sheet, bool with_picture,
                      enum sheet_stickers stickers)
{
    rack->item_count = 0;
    for (int i = 0; i < sheet->card_count; i++)
        add_item(rack, sheet->cards[i].card->width_mm, sheet->cards[i].card->height_mm,
                 &sheet->cards[i].at);
    if (stickers == SHEET_STICKERS_ALL)
        add_item(rack, sheet->sticker_block.width, sheet->sticker_block.height,
                 &sheet->sticker_block);
    if (with_picture)
        add_item(rack, PICTURE_WIDTH_MM, PICTURE_HEIGHT_MM, &sheet->picture);
}

bool sheet_lay_out(struct sheet *out, const struct sheet_paper *paper,
                   const struct vision_card *const *cards, int card_count,
                   enum sheet_stickers stickers)
{
    *out = (struct sheet){.paper = paper, .tint = cards[0]->tint, .card_count = card_count};
    for (int i = 0; i < card_count; i++)
        out->cards[i].card = cards[i];
    choose_stickers(out, stickers);
    double inner_width = paper->width_mm - 2 * MARGIN_SIDE_MM;
    double top = MARGIN_TOP_MM + HEADER_MM + GAP_MIN_MM - 2;
    double bottom = paper->height_mm - MARGIN_TOP_MM - FOOTER_MM;
    double room = bottom - BAR_ROOM_MM - GAP_MIN_MM - top;

    struct rack rack;
    fill_rack(&rack, out, true, stickers);
    double needed = fill_shelves(&rack, CARDS_WIDTH_MM);
    if (needed > room) {
        fill_rack(&rack, out, false, stickers);
        needed = fill_shelves(&rack, CARDS_WIDTH_MM);
    }
    if (needed > room)
        return false;
    double gap = GAP_MIN_MM;
    if (rack.shelf_count > 0)
        gap = fmin(GAP_MAX_MM, GAP_MIN_MM + (room - needed) / rack.shelf_count);
    place_items(&rack, MARGIN_SIDE_MM, top, CARDS_WIDTH_MM, gap);
    if (stickers == SHEET_STICKERS_SPARE && !find_spare(&rack, &out->sticker_block))
        out->sticker_count = 0;
    place_stickers(out);

    double column_x = MARGIN_SIDE_MM + CARDS_WIDTH_MM + COLUMN_GAP_MM;
    out->header = (struct sheet_rect){MARGIN_SIDE_MM, MARGIN_TOP_MM, inner_width, HEADER_MM};
    out->column = (struct sheet_rect){column_x, top, paper->width_mm - MARGIN_SIDE_MM - column_x,
                                      bottom - top};
    out->footer = (struct sheet_rect){MARGIN_SIDE_MM, bottom, inner_width, FOOTER_MM};
    out->bar_y = (struct sheet_rect){column_x, top + 2.5, SHEET_BAR_THICK_MM, SHEET_BAR_MM};
    out->bar_x = (struct sheet_rect){MARGIN_SIDE_MM, bottom - BAR_ROOM_MM + 1, SHEET_BAR_MM,
                                     SHEET_BAR_THICK_MM};
    return true;
}
