/* The panel below the photo: a block that shows the verdict by colour, sign and word, then the
 * number and what to do, in type that a phone at arm's length still shows. */
#include "annotate_internal.h"
#include "arithmetic/direction.h"
#include "arithmetic/plus_minus.h"
#include "base/clean_text.h"
#include "drawing/lettering.h"
#include "result/arm_uncertainty.h"
#include "result/measure_words.h"
#include "result/reasons.h"
#include "result/reference_words.h"
#include "sheet/card_draw.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define BLOCK_MM 27.0  /* width of the coloured block */
#define MARGIN_MM 6.0  /* around the text */
#define FOOT_MM 5.0    /* small print */
#define MARKER_MM 7.2  /* black edge to black edge; 9 with its quiet zone */
#define MIN_TEXT_MM 41 /* sign, word and marker want as much */
#define TEXT_X_MM (BLOCK_MM + MARGIN_MM)
#define TEXT_WIDTH_MM (ANNOTATE_WIDTH_MM - TEXT_X_MM - MARGIN_MM)

static const struct {
    struct annotate_colour colour;
    const char *word, *below; /* below: NULL, or a second line, for the width of the block */
} blocks[] = {
    [ORDER_TURN] = {{0.07, 0.36, 0.80}, "TURN", NULL},
    [ORDER_SQUARE] = {{0.07, 0.50, 0.27}, "SQUARE", NULL},
    [ORDER_GOOD] = {{0.07, 0.50, 0.27}, "GOOD", NULL},
    [ORDER_CANNOT_TELL] = {{0.80, 0.47, 0.00}, "CANNOT", "TELL"},
    [ORDER_HALF_WAY] = {{0.80, 0.47, 0.00}, "WHICH", "ONE?"},
    [ORDER_NOTED] = {{0.36, 0.40, 0.45}, "NOTED", NULL},
    [ORDER_UNSURE] = {{0.80, 0.47, 0.00}, "UNSURE", NULL},
    [ORDER_NONE] = {{0.72, 0.14, 0.12}, "NO", "ANSWER"},
};

/* ---- Signs -------------------------------------------------------------------------------- */

/* Part of a circle from start (radians, clockwise on the page) through sweep, with an arrowhead at
 * its end. */
static void draw_turn_arrow(cairo_t *cr, double x, double y, double radius, double start,
                            double sweep, double line_width)
{
    double size = line_width * 3.2;
    double head = size / radius; /* radians that the head covers */
    double end = start + sweep, stop = end - copysign(head * 0.8, sweep);
    cairo_new_sub_path(cr);
    if (sweep > 0)
        cairo_arc(cr, x, y, radius, start, stop);
    else
        cairo_arc_negative(cr, x, y, radius, start, stop);
    cairo_set_line_width(cr, line_width);
    cairo_stroke(cr);
    double heading = end + copysign(90 * RAD_PER_DEG - head / 2, sweep);
    annotate_arrowhead(cr, x + radius * cos(end), y + radius * sin(end), heading, size);
}

static void draw_tick(cairo_t *cr, double x, double y, double r)
{
    cairo_move_to(cr, x - r * 0.85, y + r * 0.05);
    cairo_line_to(cr, x - r * 0.2, y + r * 0.7);
    cairo_line_to(cr, x + r * 0.95, y - r * 0.65);
    cairo_set_line_width(cr, r * 0.36);
    cairo_stroke(cr);
}

static void draw_cross(cairo_t *cr, double x, double y, double r)
{
    for (int side = -1; side <= 1; side += 2) {
        cairo_move_to(cr, x - r * 0.7, y - side * r * 0.7);
        cairo_line_to(cr, x + r * 0.7, y + side * r * 0.7);
    }
    cairo_set_line_width(cr, r * 0.36);
    cairo_stroke(cr);
}

/* A dot in a ring: this is where it stood. */
static void draw_mark(cairo_t *cr, double x, double y, double r)
{
    cairo_new_sub_path(cr);
    cairo_arc(cr, x, y, r * 0.85, 0, 360 * RAD_PER_DEG);
    cairo_set_line_width(cr, r * 0.24);
    cairo_stroke(cr);
    cairo_arc(cr, x, y, r * 0.34, 0, 360 * RAD_PER_DEG);
    cairo_fill(cr);
}

static void draw_sign(cairo_t *cr, const struct annotate_answer *answer, double x, double y,
                      double r)
{
    static const struct lettering_style query = {.bold = true, .level = 255};
    cairo_set_source_rgb(cr, 1, 1, 1);
    cairo_set_line_cap(cr, CAIRO_LINE_CAP_ROUND);
    cairo_set_line_join(cr, CAIRO_LINE_JOIN_ROUND);
    switch (answer->order) {
    case ORDER_TURN:
        if ((answer->goal ? answer->goal->off_deg : answer->result.arms[0].deviation_deg) > 0)
            draw_turn_arrow(cr, x, y, r, 15 * RAD_PER_DEG, 290 * RAD_PER_DEG, r * 0.3);
        else
            draw_turn_arrow(cr, x, y, r, 165 * RAD_PER_DEG, -290 * RAD_PER_DEG, r * 0.3);
        break;
    case ORDER_SQUARE:
    case ORDER_GOOD:
        draw_tick(cr, x, y, r);
        break;
    case ORDER_NOTED:
        draw_mark(cr, x, y, r);
        break;
    case ORDER_CANNOT_TELL:
    case ORDER_HALF_WAY:
    case ORDER_UNSURE:
        lettering_fitted(cr, &query, x, y, 2 * r, 2.1 * r, "?");
        break;
    case ORDER_NONE:
        draw_cross(cr, x, y, r);
        break;
    }
}

/* The marker at its foot tells "measure" not to measure the picture: vision.h. */
static void draw_block(cairo_t *cr, double y_mm, double height,
                       const struct annotate_answer *answer)
{
    enum order order = answer->order;
    annotate_set(cr, blocks[order].colour, 1);
    cairo_rectangle(cr, 0, y_mm, BLOCK_MM, height);
    cairo_fill(cr);
    const double gap = 2;
    struct vision_point foot = {BLOCK_MM / 2, -(y_mm + height - 1 - gap - MARKER_MM * 5 / 8)};
    marker_draw(cr, VISION_DRAWN_MARKER_ID, foot, MARKER_MM);
    double middle = y_mm + (height - 1 - gap - MARKER_MM * 10 / 8) / 2;
    const char *first = blocks[order].word, *second = blocks[order].below;
    struct lettering_style style = {.size_pt = 9.5, .bold = true, .level = 255};
    middle -= second ? 2.2 : 0;
    draw_sign(cr, answer, BLOCK_MM / 2, middle - 3.2, 7.2);
    lettering_draw(cr, &style, LETTERING_MIDDLE, BLOCK_MM / 2, middle + 11, first);
    if (second)
        lettering_draw(cr, &style, LETTERING_MIDDLE, BLOCK_MM / 2, middle + 15.4, second);
}

/* ---- Text --------------------------------------------------------------------------------- */

static const struct lettering_style big = {.size_pt = 35, .bold = true, .level = 22};
static const struct lettering_style beside_big = {.size_pt = 19, .level = 95};
static const struct lettering_style said = {.size_pt = 16.5, .level = 22};
static const struct lettering_style do_this = {.size_pt = 18.5, .bold = true, .level = 22};
static const struct lettering_style why = {.size_pt = 15, .bold = true, .level = 22};
static const struct lettering_style then = {.size_pt = 15, .level = 22};
static const struct lettering_style others = {.size_pt = 12.5, .level = 60};
static const struct lettering_style aside = {.size_pt = 10.5, .level = 95};
static const struct lettering_style small = {.size_pt = 9, .level = 110};

/* Draws or, with draw false, only measures the lines below each other. */
struct pen {
    cairo_t *cr;
    bool draw;
    double y; /* bottom of the last line */
};

static double capital_mm(const struct lettering_style *style)
{
    return style->size_pt * MM_PER_POINT * ANNOTATE_CAPITAL;
}

static double below_baseline_mm(const struct lettering_style *style)
{
    return style->size_pt * MM_PER_POINT * 0.3;
}

static void line(struct pen *pen, const struct lettering_style *style, double gap_mm,
                 const char *text)
{
    pen->y += gap_mm + capital_mm(style);
    if (pen->draw)
        lettering_draw(pen->cr, style, LETTERING_LEFT, TEXT_X_MM, pen->y, text);
    pen->y += below_baseline_mm(style);
}

/* lettering_paragraph always draws: to measure it does so where nothing shows. */
static void paragraph(struct pen *pen, const struct lettering_style *style, double gap_mm,
                      const char *text)
{
    cairo_save(pen->cr);
    if (!pen->draw) {
        cairo_rectangle(pen->cr, 0, 0, 0, 0);
        cairo_clip(pen->cr);
    }
    double first = pen->y + gap_mm + capital_mm(style);
    double next = lettering_paragraph(pen->cr, style, TEXT_X_MM, first, TEXT_WIDTH_MM, text);
    cairo_restore(pen->cr);
    pen->y = next - style->size_pt * MM_PER_POINT; /* leading is more than the size */
}

/* How far the arm is off, or where it points when it is not judged. A number that must be checked
 * first is shown paler. */
static void number_line(struct pen *pen, const struct annotate_answer *answer)
{
    const struct vision_arm *arm = &answer->result.arms[0];
    char deviation[16], expanded[16], text[32], beside[32];
    struct lettering_style number = big;
    number.level = answer->order != ORDER_UNSURE ? big.level : 105;
    measure_numbers(arm, annotate_limit_deg(answer, arm), deviation, expanded);
    bool noted = answer->goal && !answer->goal->judged, sticker = answer->result.of_stickers;
    if (noted && sticker) /* its direction says nothing of where the arm points */
        snprintf(text, sizeof text, "%s", arm->name);
    else if (noted)
        snprintf(text, sizeof text, "%.*f°", plus_minus_decimals(arm_expanded_deg(arm)),
                 arm->angle_deg);
    else
        snprintf(text, sizeof text, "%s°", deviation);
    if (noted && sticker)
        snprintf(beside, sizeof beside, "± %s°   sticker", expanded);
    else
        snprintf(beside, sizeof beside, "± %s°   %s %s", expanded, sticker ? "sticker" : "arm",
                 arm->name);
    line(pen, &number, 0, text);
    if (!pen->draw)
        return;
    double x = TEXT_X_MM + lettering_width(pen->cr, &number, text) + 4;
    lettering_draw(pen->cr, &beside_big, LETTERING_LEFT, x, pen->y - below_baseline_mm(&number),
                   beside);
}

/* What only the command line can do is told apart, in small print: who reads the picture on a phone
 * can do without. The last way out of a sentence, ", or give hub and tip with --arm X,Y,X,Y.", is
 * cut off it; true when there was one. */
static bool cut_pointing(char *todo)
{
    char *option = strstr(todo, "--arm"), *cut = NULL;
    for (char *at = todo; option && (at = strstr(at, ", or ")) && at < option; at++)
        cut = at;
    if (!cut)
        return false;
    memcpy(cut, ".", 2);
    return true;
}

/* What is wrong, and what to do, as sentences of their own. */
static void write_reason(struct pen *pen, const struct annotate_answer *answer, double gap_mm,
                         const struct lettering_style *wrong_style,
                         const struct lettering_style *todo_style)
{
    const struct vision_result *result = &answer->result;
    const char *instead = annotate_instead(answer);
    const char *sentence = instead ? instead : reason_sentence(result->reason);
    const char *middle = strstr(sentence, "; ");
    char wrong[MEASURE_WORDS], todo[MEASURE_WORDS];
    snprintf(wrong, sizeof wrong, "%.*s.", middle ? (int)(middle - sentence) : 0, sentence);
    snprintf(todo, sizeof todo, "%s", middle ? middle + 2 : sentence);
    if (todo[0] >= 'a' && todo[0] <= 'z')
        todo[0] = (char)(todo[0] - 'a' + 'A');
    bool pointing = cut_pointing(todo);
    paragraph(pen, wrong_style, gap_mm, wrong);
    paragraph(pen, todo_style, 2, todo);
    if (pointing)
        paragraph(pen, &aside, 2.4,
                  "At a computer: point at hub and tip with --arm X,Y,X,Y. The rim of the picture "
                  "counts the photo's pixels, X to the right and Y down.");
    reason_size_note(result->reason, &result->photo, todo);
    if (*todo)
        paragraph(pen, &aside, 2.4, todo);
}

void annotate_other_arms(const struct annotate_answer *answer, bool clockwise, char *out,
                         size_t size)
{
    const struct vision_result *result = &answer->result;
    char deviation[16], expanded[16];
    out[0] = '\0';
    if (!annotate_all_square(answer) || result->of_stickers)
        return;
    for (int i = 1; i < result->arm_count; i++) {
        const struct vision_arm *arm = &result->arms[i];
        size_t length = strlen(out);
        if ((arm->deviation_deg <= 0) != clockwise)
            continue;
        measure_numbers(arm, NAN, deviation, expanded);
        snprintf(out + length, size - length, "%s%s\u00a0%s\u00a0±\u00a0%s°",
                 length > 0 ? ", " : "", arm->name, deviation, expanded);
    }
}

/* The arms beside the first, by the side on which they lie. */
static void write_others(struct pen *pen, const struct annotate_answer *answer)
{
    char arms[2][MEASURE_WORDS], text[2 * MEASURE_WORDS + 80];
    for (int clockwise = 0; clockwise <= 1; clockwise++)
        annotate_other_arms(answer, clockwise, arms[clockwise], sizeof arms[0]);
    if (!*arms[0] && !*arms[1])
        return;
    snprintf(text, sizeof text, "Other arms, %s%s%s%s%s", *arms[0] ? "counter-clockwise: " : "",
             arms[0], *arms[0] && *arms[1] ? "; " : "", *arms[1] ? "clockwise: " : "", arms[1]);
    paragraph(pen, &others, 3, text);
}

/* What was asked for, where that decides. */
static void write_tolerance(struct pen *pen, const struct annotate_answer *answer)
{
    const struct annotate_goal *goal = answer->goal;
    char text[80];
    if (!goal || !goal->judged || (answer->order != ORDER_TURN && answer->order != ORDER_GOOD))
        return;
    snprintf(text, sizeof text, "%s the tolerance of %g°.",
             answer->order == ORDER_GOOD ? "Within" : "Outside", goal->tolerance_deg);
    paragraph(pen, &others, 3, text);
}

/* The decimals of the number that is shown of the first arm. */
static int first_decimals(const struct annotate_answer *answer)
{
    const struct vision_arm *arm = &answer->result.arms[0];
    return plus_minus_decimals_judged(arm->deviation_deg, arm_expanded_deg(arm),
                                      annotate_limit_deg(answer, arm));
}

/* How the arm lies. What it is measured against stands on one line, whole: no "at" alone below. */
static void lies_paragraph(struct pen *pen, const struct annotate_answer *answer, const char *text)
{
    const char *to = reference_to(answer->result.reference);
    const char *whole = *to ? strstr(text, to) : NULL;
    char out[MEASURE_WORDS];
    size_t length = 0;
    for (const char *at = text; *at && length + 3 < sizeof out; at++) {
        bool tie = whole && at > whole && *at == ' ';
        length += (size_t)snprintf(out + length, sizeof out - length, tie ? "\u00a0" : "%c", *at);
    }
    paragraph(pen, &said, 1.2, out);
}

/* And from what. */
static void lies_line(struct pen *pen, const struct annotate_answer *answer)
{
    const struct annotate_goal *goal = answer->goal;
    char text[MEASURE_WORDS];
    if (goal && !goal->judged)
        snprintf(text, sizeof text, "%s", goal->role);
    else
        snprintf(text, sizeof text, "%s %s%s",
                 plus_minus_lies(answer->result.arms[0].deviation_deg, first_decimals(answer)),
                 goal ? goal->from : "square", reference_to(answer->result.reference));
    lies_paragraph(pen, answer, text);
}

/* A pair of links: which one is longer, and what to do. */
static void write_links(struct pen *pen, const struct annotate_answer *answer)
{
    const struct annotate_goal *goal = answer->goal;
    char text[MEASURE_WORDS];
    snprintf(text, sizeof text, "%.2f mm", fabs(goal->off_deg));
    line(pen, &big, 0, text);
    if (pen->draw) {
        double x = TEXT_X_MM + lettering_width(pen->cr, &big, text) + 4;
        snprintf(text, sizeof text, "± %.2f mm", goal->expanded_deg);
        lettering_draw(pen->cr, &beside_big, LETTERING_LEFT, x, pen->y - below_baseline_mm(&big),
                       text);
    }
    snprintf(text, sizeof text, "Link 1 is on the %s side.", goal->off_deg > 0 ? "long" : "short");
    paragraph(pen, &said, 1.2, text);
    if (answer->order == ORDER_GOOD)
        snprintf(text, sizeof text, "Leave both.");
    else if (answer->order == ORDER_TURN)
        snprintf(text, sizeof text, "Make link 1 %s, or link 2 %s.",
                 goal->off_deg > 0 ? "shorter" : "longer",
                 goal->off_deg > 0 ? "longer" : "shorter");
    else
        snprintf(text, sizeof text,
                 "Too near the limit of %g mm to decide in a photo. Use calipers.",
                 goal->tolerance_deg);
    paragraph(pen, answer->order == ORDER_CANNOT_TELL ? &why : &do_this, 1.6, text);
}

static void square_line(struct pen *pen, const struct annotate_answer *answer)
{
    const struct vision_arm *arm = &answer->result.arms[0];
    char text[MEASURE_WORDS], square[ORDER_SQUARE_WORDS];
    order_square(arm->deviation_deg, arm_expanded_deg(arm), reference_to(answer->result.reference),
                 square);
    if (quantity_rounded(arm->deviation_deg, first_decimals(answer)) != 0) /* plus_minus_side() */
        snprintf(text, sizeof text, "%s, %s", order_lies(arm->deviation_deg), square);
    else
        snprintf(text, sizeof text, "%s", square);
    lies_paragraph(pen, answer, text);
}

static void write_text(struct pen *pen, const struct annotate_answer *answer)
{
    const struct vision_arm *arm = &answer->result.arms[0];
    char text[MEASURE_WORDS];
    if (answer->goal && answer->goal->balls_px) {
        write_links(pen, answer);
        return;
    }
    if (answer->order == ORDER_NONE) {
        write_reason(pen, answer, 0, &do_this, &said);
        return;
    }
    number_line(pen, answer);
    if (answer->order == ORDER_SQUARE)
        square_line(pen, answer);
    else
        lies_line(pen, answer);
    switch (answer->order) {
    case ORDER_SQUARE:
    case ORDER_GOOD:
        line(pen, &do_this, 1.6, "Leave it.");
        break;
    case ORDER_CANNOT_TELL:
        snprintf(text, sizeof text, "Too near the limit of %g° to decide. %s",
                 annotate_limit_deg(answer, arm), answer->undecided);
        paragraph(pen, &why, 2.4, text);
        break;
    case ORDER_HALF_WAY:
        snprintf(text, sizeof text, "Nearly half way between two squares. %s", answer->undecided);
        paragraph(pen, &why, 2.4, text);
        break;
    case ORDER_TURN:
        snprintf(text, sizeof text, "Turn it %s.", order_cure(arm->deviation_deg));
        line(pen, &do_this, 1.6, text);
        break;
    case ORDER_UNSURE:
        write_reason(pen, answer, 4, &why, &then);
        break;
    default:
        break;
    }
    write_tolerance(pen, answer);
    write_others(pen, answer);
    measure_untold_sentence(&answer->result, text);
    if (*text)
        paragraph(pen, &others, 3, text);
    measure_witness_sentence(&answer->result.witness, text);
    if (*text)
        paragraph(pen, &others, 3, text);
}

static double text_height(cairo_t *cr, const struct annotate_answer *answer)
{
    struct pen pen = {.cr = cr};
    write_text(&pen, answer);
    return pen.y;
}

double annotate_panel_height(cairo_t *cr, const struct annotate_answer *answer)
{
    return fmax(MIN_TEXT_MM, text_height(cr, answer) + 2 * MARGIN_MM) + FOOT_MM;
}

/* The byte at which the character that holds this byte begins. */
static size_t character_start(const char *text, size_t at)
{
    while (at > 0 && ((unsigned char)text[at] & 0xc0) == 0x80)
        at--;
    return at;
}

/* The name, or as much of its beginning and its end as fits, with dots between: photos of one
 * series often differ in the end only. */
static void fit_name(cairo_t *cr, const char *name, double width_mm, char *out, size_t size)
{
    size_t full = strlen(name);
    snprintf(out, size, "%s", name);
    out[text_cut(out, size)] = '\0';
    for (size_t kept = full; kept > 0 && lettering_width(cr, &small, out) > width_mm; kept--) {
        size_t tail = character_start(name, full - (kept - kept / 2));
        snprintf(out, size, "%.*s…%s", text_cut(name, kept / 2), name, name + tail);
    }
}

static void write_foot(cairo_t *cr, double y_mm, const char *name,
                       const struct annotate_answer *answer)
{
    const char *note = answer->order == ORDER_NONE ? "" : "directions as in the photo";
    double right = ANNOTATE_WIDTH_MM - MARGIN_MM;
    lettering_draw(cr, &small, LETTERING_RIGHT, right, y_mm, note);
    char shown[300];
    fit_name(cr, name, TEXT_WIDTH_MM - lettering_width(cr, &small, note) - 4, shown, sizeof shown);
    lettering_draw(cr, &small, LETTERING_LEFT, TEXT_X_MM, y_mm, shown);
}

void annotate_panel(cairo_t *cr, double y_mm, const char *name,
                    const struct annotate_answer *answer)
{
    double height = annotate_panel_height(cr, answer);
    cairo_set_source_rgb(cr, 0.975, 0.975, 0.97);
    cairo_rectangle(cr, 0, y_mm, ANNOTATE_WIDTH_MM, height + 1);
    cairo_fill(cr);
    draw_block(cr, y_mm, height + 1, answer);
    double free = height - FOOT_MM - text_height(cr, answer);
    struct pen pen = {.cr = cr, .draw = true, .y = y_mm + free / 2};
    write_text(&pen, answer);
    write_foot(cr, y_mm + height - 3.4, name, answer);
}
