/* The printable sheet: where everything stands on the paper, and how it is drawn. */
#ifndef SHEET_H
#define SHEET_H

#include "vision.h"

#include <cairo.h>
#include <stdbool.h>

/* The shortest bar that calipers of 150 mm read comfortably and that fits both papers both ways. */
#define SHEET_BAR_MM 100.0
#define SHEET_BAR_THICK_MM 2.4

#define SHEET_MAX_CARDS 12
#define SHEET_MAX_STICKERS 10

struct sheet_paper {
    const char *name;  /* as given on the command line */
    const char *title; /* as printed */
    double width_mm, height_mm;
};

/* By name ("a4", "letter"), in either case; NULL when there is none. */
const struct sheet_paper *sheet_paper_by_name(const char *name);

/* Paper millimetres from the top left corner, y down. */
struct sheet_rect {
    double x, y, width, height;
};

struct sheet {
    const struct sheet_paper *paper;
    const char *tint;
    int card_count;
    struct {
        const struct vision_card *card;
        struct sheet_rect at;
    } cards[SHEET_MAX_CARDS];
    int sticker_count; /* 0: there was no room for any */
    struct {
        const struct vision_sticker *sticker;
        struct sheet_rect at;
    } stickers[SHEET_MAX_STICKERS];
    struct sheet_rect sticker_block;          /* around them, with their caption */
    struct sheet_rect header, column, footer; /* column: how to use, beside the cards */
    struct sheet_rect bar_x, bar_y;           /* the print-check bars, edge to edge */
    struct sheet_rect picture;                /* the two ways to place a card; width 0: left out */
};

enum sheet_stickers {
    SHEET_STICKERS_SPARE, /* the few that fit beside a low card, if any do */
    SHEET_STICKERS_ALL,   /* every one, in a row of their own */
};

/* Lays out the cards (card_count of them, 1 to SHEET_MAX_CARDS, borrowed, all of one tint) and
 * stickers on the paper. false when they do not fit on one page; out is then of no use. */
bool sheet_lay_out(struct sheet *out, const struct sheet_paper *paper,
                   const struct vision_card *const *cards, int card_count,
                   enum sheet_stickers stickers);

/* Draws a laid-out sheet (subject) in paper millimetres; fits struct drawing. */
void sheet_draw(cairo_t *cr, const void *subject);

#endif
