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
    struct item items[SHEET_MAX_CARDS + 1];
    int item_count;
    struct shelf shelves[SHEET_MAX_CARDS + 1];
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

static void fill_rack(struct rack *rack, struct sheet *sheet, bool with_picture)
{
    rack->item_count = 0;
    for (int i = 0; i < sheet->card_count; i++)
        add_item(rack, sheet->cards[i].card->width_mm, sheet->cards[i].card->height_mm,
                 &sheet->cards[i].at);
    if (with_picture)
        add_item(rack, PICTURE_WIDTH_MM, PICTURE_HEIGHT_MM, &sheet->picture);
}

bool sheet_lay_out(struct sheet *out, const struct sheet_paper *paper,
                   const struct vision_card *const *cards, int card_count)
{
    *out = (struct sheet){.paper = paper, .tint = cards[0]->tint, .card_count = card_count};
    for (int i = 0; i < card_count; i++)
        out->cards[i].card = cards[i];
    double inner_width = paper->width_mm - 2 * MARGIN_SIDE_MM;
    double cards_width = 148.0; /* the long card's; shorter shelves line up with it */
    double top = MARGIN_TOP_MM + HEADER_MM + GAP_MIN_MM - 2;
    double bottom = paper->height_mm - MARGIN_TOP_MM - FOOTER_MM;
    double room = bottom - BAR_ROOM_MM - GAP_MIN_MM - top;

    struct rack rack;
    fill_rack(&rack, out, true);
    double needed = fill_shelves(&rack, cards_width);
    if (needed > room) {
        fill_rack(&rack, out, false);
        needed = fill_shelves(&rack, cards_width);
    }
    if (needed > room)
        return false;
    double gap = GAP_MIN_MM;
    if (rack.shelf_count > 0)
        gap = fmin(GAP_MAX_MM, GAP_MIN_MM + (room - needed) / rack.shelf_count);
    place_items(&rack, MARGIN_SIDE_MM, top, cards_width, gap);

    double column_x = MARGIN_SIDE_MM + cards_width + COLUMN_GAP_MM;
    out->header = (struct sheet_rect){MARGIN_SIDE_MM, MARGIN_TOP_MM, inner_width, HEADER_MM};
    out->column = (struct sheet_rect){column_x, top, paper->width_mm - MARGIN_SIDE_MM - column_x,
                                      bottom - top};
    out->footer = (struct sheet_rect){MARGIN_SIDE_MM, bottom, inner_width, FOOTER_MM};
    out->bar_y = (struct sheet_rect){column_x, top + 2.5, SHEET_BAR_THICK_MM, SHEET_BAR_MM};
    out->bar_x = (struct sheet_rect){MARGIN_SIDE_MM, bottom - BAR_ROOM_MM + 1, SHEET_BAR_MM,
                                     SHEET_BAR_THICK_MM};
    return true;
}
