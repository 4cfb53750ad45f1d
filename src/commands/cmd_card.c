/* armsquare card: the printable sheet of cards, one card alone, the list of cards. */
#include "base/answer.h"
#include "base/clean_text.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "base/option_value.h"
#include "commands.h"
#include "drawing/drawing_file.h"
#include "sheet/card_draw.h"
#include "sheet/sheet.h"

#include <errno.h>
#include <getopt.h>
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MIN_DPI 50.0   /* below, marker cells shrink under two pixels */
#define MAX_DPI 2400.0 /* finer than common printers place ink */

static const char help[] =
    "usage: armsquare card -o FILE [--paper PAPER] [--tint TINT] [--sizes SIZE,...] [--dpi N]\n"
    "       armsquare card --single NAME -o FILE [--dpi N]\n"
    "       armsquare card --list [--json]\n"
    "\n"
    "Writes a sheet of cards to print, with bars that check the print and how to use them.\n"
    "\n"
    "  -o, --output FILE   where to write; the suffix says how: .pdf, .svg or .png\n"
    "      --paper PAPER   a4 (default) or letter\n"
    "      --tint TINT     duo (default), green, pink\n"
    "      --sizes LIST    which cards, such as hand,mini,mini (default long,hand,mini,frame);\n"
    "                      the word stickers adds all stickers for hidden cranks\n"
    "      --dpi N         dots per inch of a PNG, 50 to 2400 (default 300)\n"
    "      --single NAME   one card or sticker alone, edge to edge, such as hand-duo or A12\n"
    "      --list          the cards and stickers: name, size, tint, millimetres\n"
    "      --json          with --list: as JSON\n"
    "  -h, --help          this text\n"
    "\n"
    "example:\n"
    "  armsquare card --paper letter -o cards.pdf\n";

static const char default_sizes[] = "long,hand,mini,frame";

/* As given: NULL, NAN and false where nothing was. */
struct card_words {
    const char *output, *single, *paper, *tint, *sizes;
    double dpi;
    bool list, json;
};

static const char *size_of_sticker(const struct vision_sticker *sticker)
{
    return sticker->fixed ? "fixed sticker" : "sticker";
}

static int list_json(void)
{
    json_t *list = json_array();
    for (size_t i = 0; i < vision_card_count(); i++) {
        const struct vision_card *card = vision_card_at(i);
        json_array_append_new(list, json_pack("{s:s, s:s, s:s, s:f, s:f}", "name", card->name,
                                              "size", card->size, "tint", card->tint, "width_mm",
                                              card->width_mm, "height_mm", card->height_mm));
    }
    for (size_t i = 0; i < vision_sticker_count(); i++) {
        const struct vision_sticker *sticker = vision_sticker_at(i);
        json_array_append_new(list, json_pack("{s:s, s:s, s:n, s:f, s:f}", "name", sticker->name,
                                              "size", size_of_sticker(sticker), "tint", "width_mm",
                                              sticker->x1_mm - sticker->x0_mm, "height_mm",
                                              sticker->face.height_mm));
    }
    return answer_print_json(list, JSON_INDENT(2) | JSON_REAL_PRECISION(6));
}

static int list_plain(void)
{
    printf("%-14s %-7s %-7s %s\n", "name", "size", "tint", "mm");
    for (size_t i = 0; i < vision_card_count(); i++) {
        const struct vision_card *card = vision_card_at(i);
        printf("%-14s %-7s %-7s %.2f x %.2f\n", card->name, card->size, card->tint, card->width_mm,
               card->height_mm);
    }
    for (size_t i = 0; i < vision_sticker_count(); i++) {
        const struct vision_sticker *sticker = vision_sticker_at(i);
        printf("%-14s %-15s %.2f x %.2f\n", sticker->name, size_of_sticker(sticker),
               sticker->x1_mm - sticker->x0_mm, sticker->face.height_mm);
    }
    return EXIT_DONE;
}

static void draw_sticker_alone(cairo_t *cr, const void *subject)
{
    const struct vision_sticker *sticker = subject;
    cairo_translate(cr, -sticker->x0_mm, sticker->face.height_mm / 2);
    sticker_draw(cr, sticker);
}

static void draw_single(cairo_t *cr, const void *subject)
{
    const struct vision_card *card = subject;
    cairo_translate(cr, card->width_mm / 2, card->height_mm / 2);
    card_draw(cr, card, 0.5); /* past the outline, so that pixels cut by it are full of tint */
}

static int write_drawing(const struct card_words *words, const struct drawing *drawing)
{
    enum drawing_format format = drawing_format_of(words->output);
    if (!drawing_file_write(words->output, format, drawing, words->dpi))
        return fail_unwritten(words->output, errno, "-o FILE");
    printf("%s is written. Print it at 100 %%, not \"fit to page\"%s\n", words->output,
           words->single ? "."
                         : ", and check with calipers that both printed bars are 100.0 mm long.");
    return EXIT_DONE;
}

static int write_single(const struct card_words *words)
{
    const struct vision_card *card = vision_card_by_name(words->single);
    const struct vision_sticker *sticker = vision_sticker_by_name(words->single);
    if (sticker) {
        struct drawing alone = {sticker->x1_mm - sticker->x0_mm, sticker->face.height_mm,
                                draw_sticker_alone, sticker, sticker->name};
        return write_drawing(words, &alone);
    }
    if (!card)
        return fail_usage("there is no card \"%s\"; \"armsquare card --list\" shows them all.",
                          words->single);
    struct drawing drawing = {card->width_mm, card->height_mm, draw_single, card, card->name};
    return write_drawing(words, &drawing);
}

/* Is it the size, or else the tint, of any card? */
static bool is_of_any_card(const char *word, bool tint)
{
    for (size_t i = 0; i < vision_card_count(); i++)
        if (strcmp(tint ? vision_card_at(i)->tint : vision_card_at(i)->size, word) == 0)
            return true;
    return false;
}

/* Which of the two words is at fault. */
static int refuse_card(const char *size, const char *tint)
{
    static const char ask[] = "\"armsquare card --list\" shows all sizes and tints.";
    if (!is_of_any_card(tint, true))
        return fail_usage("--tint: there is no tint \"%s\"; %s", tint, ask);
    if (!*size)
        return fail_usage("--sizes: a size is missing, as in \"hand,mini\"; %s", ask);
    if (!is_of_any_card(size, false))
        return fail_usage("--sizes: there is no size \"%s\"; %s", size, ask);
    return fail_usage("there is no card of size \"%s\" with the tint \"%s\"; %s", size, tint, ask);
}

/* The cards that a list of sizes names, all of one tint. Returns EXIT_DONE or says what is wrong.
 */
static int choose_cards(const char *sizes, const char *tint, const struct vision_card **cards,
                        int *count, enum sheet_stickers *stickers)
{
    *count = 0;
    *stickers = SHEET_STICKERS_SPARE;
    for (const char *word = sizes;; word++) {
        int length = (int)strcspn(word, ",");
        char size[64], name[80];
        snprintf(size, sizeof size, "%.*s", length, word);
        size[text_cut(size, sizeof size)] = '\0';
        snprintf(name, sizeof name, "%s-%.12s", size, tint);
        const struct vision_card *card = vision_card_by_name(name);
        if (strcmp(size, "stickers") == 0)
            *stickers = SHEET_STICKERS_ALL;
        else if (!card)
            return refuse_card(size, tint);
        else if (*count == SHEET_MAX_CARDS)
            return fail_usage("a sheet holds at most %d cards; name fewer with --sizes.",
                              SHEET_MAX_CARDS);
        else
            cards[(*count)++] = card;
        word += length;
        if (!*word)
            break;
    }
    if (*count < 1)
        return fail_usage("stickers want a card beside them, such as --sizes mini,stickers.");
    return EXIT_DONE;
}

static int write_sheet(const struct card_words *words)
{
    const struct sheet_paper *paper = sheet_paper_by_name(words->paper);
    if (!paper)
        return fail_usage("there is no paper \"%s\"; choose a4 or letter.", words->paper);
    const struct vision_card *cards[SHEET_MAX_CARDS];
    int count;
    enum sheet_stickers stickers;
    int status = choose_cards(words->sizes, words->tint, cards, &count, &stickers);
    if (status != EXIT_DONE)
        return status;
    struct sheet sheet;
    if (!sheet_lay_out(&sheet, paper, cards, count, stickers))
        return fail_usage("these cards do not fit on one page of %s; name fewer with --sizes.",
                          paper->title);
    struct drawing drawing = {paper->width_mm, paper->height_mm, sheet_draw, &sheet,
                              "armsquare cards"};
    return write_drawing(words, &drawing);
}

static int parse(int argc, char **argv, struct card_words *words)
{
    enum { SINGLE = 256, PAPER, TINT, SIZES, DPI, LIST, JSON };
    static const struct option options[] = {
        {"output", required_argument, NULL, 'o'},  {"single", required_argument, NULL, SINGLE},
        {"paper", required_argument, NULL, PAPER}, {"tint", required_argument, NULL, TINT},
        {"sizes", required_argument, NULL, SIZES}, {"dpi", required_argument, NULL, DPI},
        {"list", no_argument, NULL, LIST},         {"json", no_argument, NULL, JSON},
        {"help", no_argument, NULL, 'h'},          {NULL, 0, NULL, 0},
    };
    bool seen[sizeof options / sizeof *options] = {false};
    int option, index = 0, status = EXIT_DONE;
    opterr = 0;
    while (status == EXIT_DONE &&
           (option = getopt_long(argc, argv, ":o:h", options, &index)) != -1) {
        status = option_taken(options, option, &index, seen);
        if (status != EXIT_DONE)
            return status;
        if (option == 'o')
            words->output = optarg;
        else if (option == SINGLE)
            words->single = optarg;
        else if (option == PAPER)
            words->paper = optarg;
        else if (option == TINT)
            words->tint = optarg;
        else if (option == SIZES)
            words->sizes = optarg;
        else if (option == DPI)
            status = option_number("dpi", optarg, MIN_DPI, MAX_DPI, &words->dpi);
        else if (option == LIST)
            words->list = true;
        else if (option == JSON)
            words->json = true;
        else if (option == 'h') {
            answer_print_help(help);
            return -1;
        } else if (option == '?' || option == ':')
            return usage_unknown_option("card", option, argv);
    }
    if (status == EXIT_DONE && optind < argc)
        return fail_usage("\"%s\" is one word too many; see \"armsquare card --help\".",
                          argv[optind]);
    return status;
}

/* Nothing that was asked for may be left out in silence. */
static int check_words(const struct card_words *words)
{
    const char *of_sheet = words->paper   ? "--paper"
                           : words->tint  ? "--tint"
                           : words->sizes ? "--sizes"
                                          : NULL;
    const char *of_file = words->output        ? "-o"
                          : words->single      ? "--single"
                          : !isnan(words->dpi) ? "--dpi"
                                               : of_sheet;
    if (words->json && !words->list)
        return fail_usage("--json belongs to --list: a sheet of cards has no data to show.");
    if (words->list && of_file)
        return fail_usage("--list only shows what cards there are: leave out %s, or --list.",
                          of_file);
    if (words->single && of_sheet)
        return fail_usage("--single writes one card alone, whose name says its size and tint, such "
                          "as hand-green: leave out %s.",
                          of_sheet);
    if (!isnan(words->dpi) && words->output && drawing_format_of(words->output) != DRAWING_PNG &&
        drawing_format_of(words->output) != DRAWING_UNKNOWN)
        return fail_usage("--dpi is for .png files; .pdf and .svg are sharp at any size: leave it "
                          "out.");
    if (!words->list && !words->output)
        return fail_usage("say where the file goes, for example: armsquare card -o cards.pdf");
    return words->output ? option_output("-o FILE", words->output, DRAWING_SUFFIXES) : EXIT_DONE;
}

static void fill_defaults(struct card_words *words)
{
    words->paper = words->paper ? words->paper : "a4";
    words->tint = words->tint ? words->tint : "duo";
    words->sizes = words->sizes ? words->sizes : default_sizes;
    words->dpi = isnan(words->dpi) ? 300 : words->dpi;
}

int cmd_card(int argc, char **argv)
{
    struct card_words words = {.dpi = NAN};
    int status = parse(argc, argv, &words);
    if (status != EXIT_DONE)
        return status < 0 ? EXIT_DONE : status;
    status = check_words(&words);
    if (status != EXIT_DONE)
        return status;
    if (words.list)
        return words.json ? list_json() : list_plain();
    fill_defaults(&words);
    return words.single ? write_single(&words) : write_sheet(&words);
}
